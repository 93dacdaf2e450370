"""Bending segments: what dragging a handle does, and the bend a straight line starts with."""

from __future__ import annotations

import math
from dataclasses import replace

from app.canvas import hits
from app.canvas.panel_item import clockwise
from core.edits import with_curve
from core.outline import Curve, Node, Outline


def moved_handle(
    outline: Outline, handle: hits.Handle, x_mm: float, y_mm: float, *, alone: bool
) -> Outline:
    """The outline with the knob of a curve handle put at a place.

    At a smooth node the handle on its other side turns along and keeps its length, unless `alone`.
    """
    start = outline.node(handle.node_id)
    curve = start.curve
    if curve is None:
        return outline
    if handle.end == "out":
        node = start
        new = replace(curve, out_x_mm=x_mm - node.x_mm, out_y_mm=y_mm - node.y_mm)
        other_id = hits.before(outline, node.id)
    else:
        node = outline.node(hits.after(outline, start.id))
        new = replace(curve, in_x_mm=x_mm - node.x_mm, in_y_mm=y_mm - node.y_mm)
        other_id = node.id
    result = with_curve(outline, start.id, new)
    other = result.node(other_id).curve
    dx, dy = x_mm - node.x_mm, y_mm - node.y_mm
    reach = math.hypot(dx, dy)
    if alone or node.corner or other is None or reach < 1e-9:
        return result
    if handle.end == "out":
        keep = math.hypot(other.in_x_mm, other.in_y_mm) / reach
        turned = replace(other, in_x_mm=-dx * keep, in_y_mm=-dy * keep)
    else:
        keep = math.hypot(other.out_x_mm, other.out_y_mm) / reach
        turned = replace(other, out_x_mm=-dx * keep, out_y_mm=-dy * keep)
    return with_curve(result, other_id, turned)


def bulge(outline: Outline, a: Node, b: Node) -> Curve:
    """Handles that bend a straight segment gently outward, by about a seventh of its length."""
    loop = hits.loop_of(outline, a.id)
    dx, dy = b.x_mm - a.x_mm, b.y_mm - a.y_mm
    side = 1.0 if clockwise(loop) else -1.0
    nx, ny = dy * side * 0.2, -dx * side * 0.2
    return Curve(dx / 3 + nx, dy / 3 + ny, -dx / 3 + nx, -dy / 3 + ny)
