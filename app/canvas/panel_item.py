"""A panel's outline on the canvas: lines and marks of its edges, points and curve handles.

Roles are told apart by their mark first and by colour second, so the marks are never left out.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from app.canvas import hits
from app.canvas.view import View
from app.theme import Theme
from core.outline import Loop, Outline, edge_starts, flatten
from core.panel import Panel
from core.tally import has_edge_rings

BEAD_EVERY_PX = 12.0
BEAD_RADIUS_PX = 2.8
BEAD_OUT_PX = 4.6
HALO_PX = 9.0
HALO_ALPHA = 52
LINE_PX = 1.6
NODE_PX = 8.0
KNOB_PX = 6.0
MANY_NODES = 600

Points = NDArray[np.float64]


def _pen(colour: QColor, width: float, dashes: tuple[float, ...] = ()) -> QPen:
    pen = QPen(colour, width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashes:
        pen.setDashPattern([d / width for d in dashes])
    return pen


def _in_px(points: Points, view: View) -> Points:
    placed: Points = points * view.scale + np.array(view.offset)
    return placed


def _line(points: Points) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in points.tolist()])


def edge_points(loop: Loop, edge_id: int) -> Points:
    """Points of one edge in order, its end included: float64 (n, 2), mm."""
    flat = flatten(loop)
    at = np.flatnonzero(flat.edge_ids == edge_id)
    if not len(at):
        return np.empty((0, 2))
    gap = np.flatnonzero(np.diff(at) > 1)
    if len(gap):
        at = np.roll(at, -int(gap[0] + 1))
    at = np.append(at, (at[-1] + 1) % len(flat.points))
    points: Points = flat.points[at]
    return points


def clockwise(loop: Loop) -> bool:
    """Whether the loop runs clockwise on screen."""
    x, y = flatten(loop).points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0


def path(outline: Outline, view: View) -> QPainterPath:
    """The outline with its holes as one path, in pixels."""
    made = QPainterPath()
    for loop in outline.loops():
        made.addPolygon(_line(_in_px(flatten(loop).points, view)))
        made.closeSubpath()
    return made


def beads(points_px: Points, outward: float) -> Iterator[tuple[float, float]]:
    """Centres of an edged edge's beads, in pixels: every 12 px, beside the line.

    Args:
        points_px: the edge, float64 (n, 2).
        outward: +1 when outside lies to the left of the way the points run, else -1.
    """
    steps = np.diff(points_px, axis=0)
    lengths = np.hypot(*steps.T)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    total = float(ends[-1])
    count = int(total // BEAD_EVERY_PX)
    if count < 1:
        return
    # The same room at both ends, so that beads of neighbouring edges keep clear of the corner.
    where = (total - (count - 1) * BEAD_EVERY_PX) / 2 + np.arange(count) * BEAD_EVERY_PX
    at = np.clip(np.searchsorted(ends, where, side="right") - 1, 0, len(steps) - 1)
    safe = np.maximum(lengths[at], 1e-12)[:, None]
    unit = steps[at] / safe
    centre = points_px[at] + unit * (where - ends[at])[:, None]
    normal = np.stack([unit[:, 1], -unit[:, 0]], axis=1) * outward
    yield from (centre + normal * BEAD_OUT_PX).tolist()


def paint_before(painter: QPainter, view: View, outline: Outline, theme: Theme) -> None:
    """The outline as it was before the running change."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(theme.ink2, 1.0, (4, 4)))
    painter.drawPath(path(outline, view))


def paint_crossing(painter: QPainter, view: View, outline: Outline, theme: Theme) -> None:
    """An outline that encloses no clear area."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(theme.warn, 2.0))
    painter.drawPath(path(outline, view))


def paint_edges(
    painter: QPainter,
    view: View,
    panel: Panel,
    theme: Theme,
    area: QRectF,
    edge_id: int | None,
) -> None:
    """Every edge with the mark of its edging, and the halo of the chosen one.

    Args:
        painter: active, anti-aliased, in logical pixels.
        view: the widget's view.
        panel: whose outline to draw.
        theme: colours.
        area: the part of the widget that shows, in pixels; marks outside it are left out.
        edge_id: the chosen edge.
    """
    seen, seats = area.adjusted(-20, -20, 20, 20), has_edge_rings(panel)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for hole, loop in enumerate(panel.outline.loops()):
        outward = 1.0 if clockwise(loop) else -1.0
        if hole:
            outward = -outward
        for start in edge_starts(loop):
            points = _in_px(edge_points(loop, start), view)
            line = _line(points)
            if not line.boundingRect().adjusted(-1, -1, 1, 1).intersects(seen):
                continue
            edged = seats and panel.finish(start).edging == "edged"
            if start == edge_id:
                halo = QColor(theme.accent)
                halo.setAlpha(HALO_ALPHA)
                painter.setPen(_pen(halo, HALO_PX))
                painter.drawPolyline(line)
            colour = theme.role_edged if edged else theme.ink
            painter.setPen(_pen(colour, LINE_PX))
            painter.drawPolyline(line)
            if edged:
                painter.setPen(_pen(colour, 1.4))
                for x, y in beads(points, outward):
                    if seen.contains(x, y):
                        painter.drawEllipse(QPointF(x, y), BEAD_RADIUS_PX, BEAD_RADIUS_PX)


def _mark(painter: QPainter, x: float, y: float, size: float, square: bool) -> None:
    if square:
        painter.drawRect(QRectF(x - size / 2, y - size / 2, size, size))
    else:
        painter.drawEllipse(QPointF(x, y), size / 2, size / 2)


def paint_handles(
    painter: QPainter,
    view: View,
    outline: Outline,
    theme: Theme,
    node_ids: frozenset[int],
    segment_ids: frozenset[int],
) -> None:
    """Curve handles of the chosen points and segments."""
    for _handle, (ax, ay), (kx, ky) in hits.handles(
        outline, node_ids=node_ids, segment_ids=segment_ids
    ):
        a, k = QPointF(*view.to_px(ax, ay)), QPointF(*view.to_px(kx, ky))
        painter.setPen(_pen(theme.accent, 1.0))
        painter.drawLine(a, k)
        painter.setPen(_pen(theme.accent, 1.5))
        painter.setBrush(theme.field)
        painter.drawEllipse(k, KNOB_PX / 2, KNOB_PX / 2)


def paint_nodes(
    painter: QPainter,
    view: View,
    outline: Outline,
    theme: Theme,
    area: QRectF,
    node_ids: frozenset[int],
    hovered: int | None = None,
    dragged: frozenset[int] = frozenset(),
) -> None:
    """Points: corners are squares, smooth points round; chosen ones are filled."""
    seen = area.adjusted(-10, -10, 10, 10)
    nodes = list(outline.nodes())
    if len(nodes) > MANY_NODES:
        # A traced outline would be a smear of marks; its points show where they are wanted.
        nodes = [n for n in nodes if n.id in node_ids or n.id == hovered]
    for node in nodes:
        x, y = view.to_px(node.x_mm, node.y_mm)
        if not seen.contains(x, y):
            continue
        chosen = node.id in node_ids
        painter.setPen(_pen(theme.accent, 1.5))
        painter.setBrush(
            theme.accent if chosen else theme.accent_wash if node.id == hovered else theme.field
        )
        size = NODE_PX + (1.0 if chosen else 0.0)
        if not node.corner:
            size += 0.5
        _mark(painter, x, y, size, node.corner)
        if node.id in dragged:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF(x, y), 11.0, 11.0)


def paint_old_places(
    painter: QPainter, view: View, before: Outline, theme: Theme, node_ids: frozenset[int]
) -> None:
    """Where dragged points came from: dashed and hollow."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(theme.accent, 1.0, (2, 2)))
    for node in before.nodes():
        if node.id in node_ids:
            _mark(painter, *view.to_px(node.x_mm, node.y_mm), NODE_PX - 1, node.corner)
