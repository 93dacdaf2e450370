"""Draws a display list of ring arcs with a QPainter: close-ups on screen, and on paper.

Each arc is laid in short pieces whose colours run across the wire as a gradient; each piece
reaches under the next and past the outline below it, so no seam shows. Pieces of like rings are
the same and are made once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QLinearGradient, QPainter, QPen, QPolygonF

from app.rings import ring_sprites as sprites
from app.rings.ring_sprites import Floats, Palette
from app.theme import Theme
from core.drawing import ArcList
from core.fill import DROPPED, EDGE

PIECES = 160
"""Pieces in a whole ring."""

_STOPS = 13

Piece = tuple[QPolygonF, QBrush]


def draw_arcs(
    painter: QPainter,
    arcs: ArcList,
    look: str,
    theme: Theme,
    px_per_mm: float,
    box: tuple[float, float, float, float] | None = None,
    shadow: bool = True,
) -> None:
    """Draw rings, lowest level first.

    Args:
        painter: in mm of the panel frame; its pen and brush are left changed.
        arcs: the list.
        look: the metal's look, a key of ``theme.metals``.
        theme: the colours.
        px_per_mm: device pixels a mm, for lines that keep their width on screen.
        box: x0, y0, x1, y1 in mm: what lies outside need not be drawn.
        shadow: whether rings throw a shadow on the ground.
    """
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if shadow:
        _draw_shadows(painter, arcs, theme)
    palette = Palette.of(theme.metals[look])
    paints = (
        _paint(palette, palette.edge),
        _paint(palette.lighter(), sprites.edge_outline(palette, sprites.rgb(theme.role_edged))),
    )
    made: dict[tuple[int, int, float, float], tuple[list[Piece], Floats]] = {}
    painter.setPen(Qt.PenStyle.NoPen)
    for i in range(len(arcs)):
        if arcs.role[i] == DROPPED:
            _draw_dropped(painter, arcs, i, theme, px_per_mm)
            painter.setPen(Qt.PenStyle.NoPen)
            continue
        edged = int(arcs.role[i] == EDGE)
        key = (int(arcs.course[i]), edged, float(arcs.from_rad[i]), float(arcs.to_rad[i]))
        if key not in made:
            arc = _Arc(
                key[2],
                key[3],
                arcs.half_along_mm,
                arcs.half_across_mm,
                arcs.wire_mm,
                arcs.lean_rad,
                arcs.lean_signs[key[0]],
                arcs.grain_rad,
            )
            made[key] = _pieces(arc, paints[edged], px_per_mm)
        x, y = float(arcs.x_mm[i]), float(arcs.y_mm[i])
        pieces, bounds = made[key]
        if box is not None:
            low, high = (box[0] - x, box[1] - y), (box[2] - x, box[3] - y)
            shown = ((bounds[:, 2:] >= low) & (bounds[:, :2] <= high)).all(axis=1)
            pieces = [pieces[k] for k in np.flatnonzero(shown)]
        painter.translate(x, y)
        for polygon, brush in pieces:
            painter.setBrush(brush)
            painter.drawPolygon(polygon)
        painter.translate(-x, -y)


def _draw_shadows(painter: QPainter, arcs: ArcList, theme: Theme) -> None:
    """The whole ring's shadow under every ring, once each."""
    real = arcs.role != DROPPED
    places = np.unique(np.column_stack([arcs.x_mm[real], arcs.y_mm[real]]), axis=0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(_colour(sprites.shadow_on(theme)), 2 * sprites.OUTER * arcs.wire_mm))
    dx, dy = (part * arcs.wire_mm for part in sprites.SHADOW_SHIFT)
    for x, y in places.tolist():
        _ellipse(painter, arcs, x + dx, y + dy)


def _draw_dropped(painter: QPainter, arcs: ArcList, i: int, theme: Theme, px_per_mm: float) -> None:
    pen = QPen(theme.ink3, max(1.2 / px_per_mm, 0.08 * arcs.wire_mm))
    pen.setDashPattern([2.0, 2.5])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _ellipse(painter, arcs, float(arcs.x_mm[i]), float(arcs.y_mm[i]))


def _ellipse(painter: QPainter, arcs: ArcList, x: float, y: float) -> None:
    a, b = arcs.half_along_mm, arcs.half_across_mm
    painter.save()
    painter.translate(x, y)
    painter.rotate(math.degrees(arcs.grain_rad))
    painter.drawEllipse(QRectF(-a, -b, 2 * a, 2 * b))
    painter.restore()


def _colour(rgb: Floats) -> QColor:
    return QColor(*(int(v + 0.5) for v in rgb))


@dataclass(frozen=True, slots=True)
class _Arc:
    """One arc of a ring about its centre; lengths in mm, angles in radians."""

    start: float
    end: float
    half_along: float
    half_across: float
    wire: float
    lean: float
    lean_sign: int
    grain: float


Paint = tuple[tuple[float, ...], ...]
"""Edge, shade, body, light and outline."""


def _paint(metal: Palette, outline: Floats) -> Paint:
    parts = (metal.edge, metal.shade, metal.body, metal.light, outline)
    return tuple(tuple(part.tolist()) for part in parts)


@lru_cache(maxsize=64)
def _pieces(arc: _Arc, paint: Paint, px_per_mm: float) -> tuple[list[Piece], Floats]:
    """Polygons and gradients of one arc about its ring's centre, and their boxes, (n, 4)."""
    *metal, outline = (np.array(part) for part in paint)
    start, end = arc.start, arc.end
    count = max(2, math.ceil((end - start) / (2 * math.pi) * PIECES))
    step = (end - start) / count
    a, b, wire, sign = arc.half_along, arc.half_across, arc.wire, arc.lean_sign
    outer = sprites.OUTER * wire
    inner = outer - sprites.rim_width(wire * px_per_mm) / px_per_mm
    middle = start + step * (np.arange(count) + 0.5)
    across = np.linspace(-1.0, 1.0, _STOPS) * inner
    f, q = (grid.ravel() for grid in np.meshgrid(middle, across / (0.5 * wire), indexing="ij"))
    normal = sprites.tube_normals(f, q, a, b, arc.lean, sign, arc.grain)
    rgb = sprites.tube_colours(normal, 0.5 + 0.5 * sign * np.cos(f), Palette(*metal))
    rgb = rgb.reshape(count, _STOPS, 3)
    stops = (across + inner) / (2 * inner)
    c, s = math.cos(arc.grain), math.sin(arc.grain)

    def at(angle: float, off: float) -> QPointF:
        size = math.hypot(b * math.cos(angle), a * math.sin(angle))
        u = a * math.cos(angle) + off * b * math.cos(angle) / size
        v = b * math.sin(angle) + off * a * math.sin(angle) / size
        return QPointF(u * c - v * s, u * s + v * c)

    past = 0.3 * step
    edges = np.linspace(start - past, end + past, 2 * count + 1).tolist()
    rim = [at(f, outer) for f in edges] + [at(f, -outer) for f in reversed(edges)]
    made = [(QPolygonF(rim), QBrush(_colour(outline)))]
    for k in range(count):
        gradient = QLinearGradient(at(middle[k], -inner), at(middle[k], inner))
        for stop, colour in zip(stops.tolist(), rgb[k], strict=True):
            gradient.setColorAt(stop, _colour(colour))
        # Reach on under the next piece, and a little past the outline's ends, which this hides.
        low = start + k * step - (2 * past if k == 0 else 0.0)
        high = start + (k + 1) * step + (2 * past if k == count - 1 else past)
        angles = [low, (low + high) / 2, high]
        ring = [at(f, inner) for f in angles] + [at(f, -inner) for f in reversed(angles)]
        made.append((QPolygonF(ring), QBrush(gradient)))
    bounds = [polygon.boundingRect().getCoords() for polygon, _brush in made]
    return made, np.array(bounds)
