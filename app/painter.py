"""Draws a display list of ring arcs with a QPainter: close-ups on screen, and on paper.

Each arc is laid in short pieces whose colours run across the wire as a gradient; each piece
reaches under the next and past the outline below it, so no seam shows. Pieces of like rings are
the same and are made once.
"""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QLinearGradient, QPainter, QPen, QPolygonF

from app import ring_sprites as sprites
from app.ring_sprites import Floats, Palette
from app.theme import Theme
from core.drawing import ArcList
from core.fill import DROPPED, EDGE

PIECES = 160
"""Pieces in a whole ring."""

_STOPS = 13

Piece = tuple[QPolygonF, QBrush]


def draw_arcs(
    painter: QPainter, arcs: ArcList, look: str, theme: Theme, px_per_mm: float,
    shadow: bool = True,
) -> None:
    """Draw rings, lowest level first.

    Args:
        painter: in mm of the panel frame; its pen and brush are left changed.
        arcs: the list.
        look: the metal's look, a key of ``theme.metals``.
        theme: the colours.
        px_per_mm: device pixels a mm, for lines that keep their width on screen.
        shadow: whether rings throw a shadow on the ground.
    """
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if shadow:
        _draw_shadows(painter, arcs, theme)
    palette = Palette.of(tuple(theme.metals[look]))
    role = sprites.rgb(theme.role_edged)
    made: dict[tuple[int, int, float, float], list[Piece]] = {}
    painter.setPen(Qt.PenStyle.NoPen)
    for i in range(len(arcs)):
        if arcs.role[i] == DROPPED:
            _draw_dropped(painter, arcs, i, theme, px_per_mm)
            painter.setPen(Qt.PenStyle.NoPen)
            continue
        edged = int(arcs.role[i] == EDGE)
        key = (int(arcs.course[i]), edged, float(arcs.from_rad[i]), float(arcs.to_rad[i]))
        if key not in made:
            if edged:
                outline = sprites.edge_outline(palette, role)
                made[key] = _pieces(arcs, i, palette.lighter(), outline, px_per_mm)
            else:
                made[key] = _pieces(arcs, i, palette, palette.edge, px_per_mm)
        painter.translate(arcs.x_mm[i], arcs.y_mm[i])
        for polygon, brush in made[key]:
            painter.setBrush(brush)
            painter.drawPolygon(polygon)
        painter.translate(-arcs.x_mm[i], -arcs.y_mm[i])


def _draw_shadows(painter: QPainter, arcs: ArcList, theme: Theme) -> None:
    """The whole ring's shadow under every ring, once each."""
    real = arcs.role != DROPPED
    places = np.unique(np.column_stack([arcs.x_mm[real], arcs.y_mm[real]]), axis=0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(_colour(sprites.shadow_on(theme)), 2 * sprites.OUTER * arcs.wire_mm))
    dx, dy = (part * arcs.wire_mm for part in sprites.SHADOW_SHIFT)
    for x, y in places.tolist():
        _ellipse(painter, arcs, x + dx, y + dy)


def _draw_dropped(
    painter: QPainter, arcs: ArcList, i: int, theme: Theme, px_per_mm: float
) -> None:
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


def _pieces(
    arcs: ArcList, i: int, metal: Palette, outline: Floats, px_per_mm: float
) -> list[Piece]:
    """Polygons and gradients of one arc, about its ring's centre."""
    start, end = float(arcs.from_rad[i]), float(arcs.to_rad[i])
    count = max(2, math.ceil((end - start) / (2 * math.pi) * PIECES))
    step = (end - start) / count
    a, b, wire = arcs.half_along_mm, arcs.half_across_mm, arcs.wire_mm
    sign = arcs.lean_signs[arcs.course[i]]
    outer = sprites.OUTER * wire
    inner = outer - sprites.rim_width(wire * px_per_mm) / px_per_mm
    middle = start + step * (np.arange(count) + 0.5)
    across = np.linspace(-1.0, 1.0, _STOPS) * inner
    f, q = (grid.ravel() for grid in np.meshgrid(middle, across / (0.5 * wire), indexing="ij"))
    normal = sprites.tube_normals(f, q, a, b, arcs.lean_rad, sign, arcs.grain_rad)
    rgb = sprites.tube_colours(normal, 0.5 + 0.5 * sign * np.cos(f), metal)
    rgb = rgb.reshape(count, _STOPS, 3)
    stops = (across + inner) / (2 * inner)
    c, s = math.cos(arcs.grain_rad), math.sin(arcs.grain_rad)

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
    return made
