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
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QLinearGradient,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from app.rings import ring_sprites as sprites
from app.rings.ring_sprites import Floats, Paints, Palette
from app.rings.tube import Tube, surface
from app.theme import Theme
from core.drawing import ArcList
from core.fill import DROPPED, EDGE
from core.weave.sheet import Pose

PIECES = 160
"""Pieces in a whole ring."""

_BENDS = 64
"""Pieces in a whole turn of a line that turns on the spot."""

_STOPS = 13
_LINE = 0.05
"""An ellipse narrower than this, by its length, is as good as a line."""

Piece = tuple[QPolygonF, QBrush]


def draw_arcs(
    painter: QPainter,
    arcs: ArcList,
    looks: tuple[str, ...],
    theme: Theme,
    px_per_mm: float,
    box: tuple[float, float, float, float] | None = None,
    shadow: bool = True,
) -> None:
    """Draw rings, lowest level first.

    Args:
        painter: in mm of the panel frame; its pen and brush are left changed.
        arcs: the list.
        looks: the metal's look of each ring kind, keys of ``theme.metals``; the last is that of
            all further kinds.
        theme: the colours.
        px_per_mm: device pixels a mm, for lines that keep their width on screen.
        box: x0, y0, x1, y1 in mm: what lies outside need not be drawn.
        shadow: whether rings throw a shadow on the ground.
    """
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paints = Paints.of(theme, looks, shadow)
    if paints.shadow is not None:
        _draw_shadows(painter, arcs, paints.shadow)
    deep = sprites.depths(arcs.poses)
    made: dict[tuple[int, bool, float, float], tuple[list[Piece], Floats]] = {}
    painter.setPen(Qt.PenStyle.NoPen)
    for i in range(len(arcs)):
        if arcs.role[i] == DROPPED:
            _draw_dropped(painter, arcs, i, theme, px_per_mm)
            painter.setPen(Qt.PenStyle.NoPen)
            continue
        pose = arcs.poses[arcs.pose[i]]
        edged = bool(arcs.role[i] == EDGE)
        key = (int(arcs.pose[i]), edged, float(arcs.from_rad[i]), float(arcs.to_rad[i]))
        if key not in made:
            arc = _Arc(pose, arcs.grain_rad, deep, key[2], key[3])
            made[key] = _pieces(arc, _paint(paints, pose.kind, edged), px_per_mm)
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


def _draw_shadows(painter: QPainter, arcs: ArcList, colour: Floats) -> None:
    """The whole ring's shadow under every ring, once each."""
    real = arcs.role != DROPPED
    rings = np.unique(np.column_stack([arcs.pose[real], arcs.x_mm[real], arcs.y_mm[real]]), axis=0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for pose, x, y in rings.tolist():
        lies = arcs.poses[int(pose)]
        pen = QPen(_colour(colour), 2 * sprites.OUTER * lies.wire_mm)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        dx, dy = (part * lies.wire_mm for part in sprites.SHADOW_SHIFT)
        _draw_line(painter, lies, arcs.grain_rad, x + dx, y + dy)


def _draw_dropped(painter: QPainter, arcs: ArcList, i: int, theme: Theme, px_per_mm: float) -> None:
    lies = arcs.poses[arcs.pose[i]]
    pen = QPen(theme.ink3, max(1.2 / px_per_mm, 0.08 * lies.wire_mm))
    pen.setDashPattern([2.0, 2.5])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _draw_line(painter, lies, arcs.grain_rad, float(arcs.x_mm[i]), float(arcs.y_mm[i]))


def _draw_line(painter: QPainter, pose: Pose, grain_rad: float, x: float, y: float) -> None:
    """A ring's flattened centreline: an ellipse, or the line of an upright ring."""
    tube = Tube.of(pose, grain_rad)
    short, long = tube.half_sizes
    rx, ry = tube.rising
    painter.save()
    painter.setTransform(QTransform(rx, ry, -ry, rx, x, y), True)
    if short < _LINE * long:
        painter.drawLine(QLineF(0.0, -long, 0.0, long))
    else:
        painter.drawEllipse(QPointF(0.0, 0.0), short, long)
    painter.restore()


def _colour(rgb: Floats) -> QColor:
    return QColor(*(int(v + 0.5) for v in rgb))


@dataclass(frozen=True, slots=True)
class _Arc:
    """One arc of a ring about its centre.

    Args:
        pose: how the ring lies.
        grain: direction of the rows.
        deep: half the depth of the sheet's centrelines, mm.
        start, end: angles.
    """

    pose: Pose
    grain: float
    deep: float
    start: float
    end: float


Paint = tuple[tuple[float, ...], ...]
"""Edge, shade, body, light and outline."""


def _paint(paints: Paints, ring_kind: int, edged: bool) -> Paint:
    metal = paints.metal(ring_kind)
    outline = metal.edge
    if edged:
        outline = sprites.edge_outline(metal, paints.role)
        metal = metal.lighter()
    parts = (metal.edge, metal.shade, metal.body, metal.light, outline)
    return tuple(tuple(part.tolist()) for part in parts)


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """Places along a flattened centreline, (n, 2) each: where, and which way is out."""

    spot: Floats
    out: Floats

    def off(self, by: float) -> list[QPointF]:
        """The places moved outwards."""
        return [QPointF(x, y) for x, y in (self.spot + by * self.out).tolist()]


class _Course:
    """The flattened centreline of an arc, divided into pieces: piece k goes from place k to
    k + 1. The first and the last lie past the arc's ends.
    """

    def __init__(self, arc: _Arc, tube: Tube) -> None:
        self._short, self._long = tube.half_sizes
        self._rising = np.array(tube.rising)
        start, sense = tube.turn
        low, high = sorted((sense * (arc.start - start), sense * (arc.end - start)))
        if self._short < _LINE * self._long:
            low, high = self._upper(low, high)
        self.pieces = 0
        if low == high:
            return
        count = max(2, math.ceil((high - low) / (2 * math.pi) * PIECES))
        step = (high - low) / count
        turns: Floats = np.linspace(low, high, count + 1, dtype=np.float64)
        turns = np.concatenate([[low - 0.6 * step], turns, [high + 0.6 * step]])
        if tube.hides_itself:
            # It turns sharply, or on the spot, and that round end needs pieces, too.
            facing: Floats = np.arange(-_BENDS, 3 * _BENDS, dtype=np.float64)
            sharp = self._from_facing(facing * (2 * math.pi / _BENDS))
            turns = np.union1d(turns, sharp[(sharp > turns[0]) & (sharp < turns[-1])])
        self.pieces = len(turns) - 1
        self._turns = turns
        self._rim = (low - 0.3 * step, high + 0.3 * step)

    def _upper(self, low: float, high: float) -> tuple[float, float]:
        """An upright ring's arc, with the whole of a round end that it comes near; empty for one
        that lies under the upper half.
        """
        middle = 2 * math.pi * round((low + high) / (4 * math.pi))
        low, high = low - middle, high - middle
        if abs(low + high) > math.pi:
            return 0.0, 0.0
        end = float(self._from_facing(np.array([math.pi * (1 + 2 / _BENDS)]))[0])
        near = math.pi / 2 - 0.4
        return -end if low < -near else low, end if high > near else high

    def at(self, place: Floats) -> _Line:
        """The line at places, whole or between."""
        return self._line(np.interp(place, np.arange(len(self._turns)), self._turns))

    def piece(self, k: int, half: float) -> QPolygonF:
        """What piece k covers, `half` to each side; it reaches on under the next."""
        end = min(k + 1.3, self.pieces)
        part = self.at(np.array([k, (k + end) / 2, end], dtype=np.float64))
        return QPolygonF(part.off(half) + part.off(-half)[::-1])

    def sharp_ends(self) -> list[int]:
        """The pieces at the tips of the ellipse."""
        low, high = self._turns[0], self._turns[-1]
        tips = math.pi * (np.arange(math.ceil(low / math.pi - 0.5), high / math.pi - 0.5) + 0.5)
        found = np.searchsorted(self._turns, tips, side="right") - 1
        return [int(k) for k in np.clip(found, 0, self.pieces - 1)]

    def rim(self, half: float) -> QPolygonF:
        """What the arc covers from end to end, and a hair past both, `half` to each side."""
        places = np.arange(0.0, self.pieces + 0.25, 0.5)
        turns = np.interp(places, np.arange(len(self._turns)), self._turns)
        low, high = self._rim
        line = self._line(np.concatenate([[low], turns[(turns > low) & (turns < high)], [high]]))
        return QPolygonF(line.off(half) + line.off(-half)[::-1])

    def _line(self, turn: Floats) -> _Line:
        facing = self._facing(turn)
        return _Line(
            self._on_screen(self._short * np.cos(turn), self._long * np.sin(turn)),
            self._on_screen(np.cos(facing), np.sin(facing)),
        )

    def _on_screen(self, up: Floats, along: Floats) -> Floats:
        x, y = self._rising
        return np.column_stack([up * x - along * y, up * y + along * x])

    def _facing(self, turn: Floats) -> Floats:
        """Which way is out at an angle of the ellipse, without a jump."""
        short = max(self._short, 1e-3 * self._long)
        whole = np.round(turn / (2 * math.pi)) * 2 * math.pi
        out: Floats = np.arctan2(short * np.sin(turn), self._long * np.cos(turn)) + whole
        return out

    def _from_facing(self, facing: Floats) -> Floats:
        short = max(self._short, 1e-3 * self._long)
        whole = np.round(facing / (2 * math.pi)) * 2 * math.pi
        out: Floats = np.arctan2(self._long * np.sin(facing), short * np.cos(facing)) + whole
        return out


@lru_cache(maxsize=64)
def _pieces(arc: _Arc, paint: Paint, px_per_mm: float) -> tuple[list[Piece], Floats]:
    """Polygons and gradients of one arc about its ring's centre, and their boxes, (n, 4)."""
    *metal, outline = (np.array(part) for part in paint)
    tube = Tube.of(arc.pose, arc.grain)
    course = _Course(arc, tube)
    if not course.pieces:
        return [], np.empty((0, 4))
    outer = sprites.OUTER * tube.wire
    inner = outer - sprites.rim_width(tube.wire * px_per_mm) / px_per_mm
    stops = np.linspace(0.0, 1.0, _STOPS)
    middles: Floats = np.arange(course.pieces, dtype=np.float64) + 0.5
    middle = course.at(middles)
    spots = middle.spot[:, None] + ((2 * stops - 1) * inner)[:, None] * middle.out[:, None]
    x, y = spots.reshape(-1, 2).T
    on = surface(tube, x, y, tube.wire)
    height = 0.5 + 0.5 * (on.height + arc.pose.centre[2]) / arc.deep
    colours = np.empty((len(x), 3))
    colours[on.where] = sprites.tube_colours(on.normal, height, Palette(*metal))
    rgb = colours.reshape(course.pieces, _STOPS, 3)
    rim = QBrush(_colour(outline))
    if tube.hides_itself:
        # In one polygon the parts that double back would cancel out.
        made = [(course.piece(k, outer), rim) for k in range(course.pieces)]
        # Slivers that turn about one spot leave its middle thin.
        for k in course.sharp_ends():
            spot, colour = QPointF(*middle.spot[k].tolist()), rgb[k, _STOPS // 2]
            disc = QPainterPath()
            disc.addEllipse(spot, 0.9 * inner, 0.9 * inner)
            made.append((disc.toFillPolygon(), QBrush(_colour(colour))))
    else:
        made = [(course.rim(outer), rim)]
    for k, (low, high) in enumerate(zip(middle.off(-inner), middle.off(inner), strict=True)):
        gradient = QLinearGradient(low, high)
        for stop, colour in zip(stops.tolist(), rgb[k], strict=True):
            gradient.setColorAt(stop, _colour(colour))
        made.append((course.piece(k, inner), QBrush(gradient)))
    bounds = [polygon.boundingRect().getCoords() for polygon, _brush in made]
    return made, np.array(bounds)
