"""What lies under the pointer: pure functions over an outline, all in panel-frame mm.

The caller divides its tolerance in pixels by the view's scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from core.outline import Loop, Outline, edge_starts, flatten, nearest_on


@dataclass(frozen=True, slots=True)
class Handle:
    """A curve handle: `node_id` starts the segment, `end` says which end of it is meant."""

    node_id: int
    end: Literal["out", "in"]


@dataclass(frozen=True, slots=True)
class OnLine:
    """A place on the outline: the segment's first node, its edge, and t in 0..1 along it."""

    node_id: int
    edge_id: int
    t: float


def loop_of(outline: Outline, node_id: int) -> Loop:
    """The loop a node belongs to; raises KeyError when there is none."""
    for loop in outline.loops():
        if any(n.id == node_id for n in loop.nodes):
            return loop
    raise KeyError(node_id)


def after(outline: Outline, node_id: int) -> int:
    """Id of the node at the other end of the segment that leaves `node_id`."""
    nodes = loop_of(outline, node_id).nodes
    at = next(i for i, n in enumerate(nodes) if n.id == node_id)
    return nodes[(at + 1) % len(nodes)].id


def before(outline: Outline, node_id: int) -> int:
    """Id of the node whose segment arrives at `node_id`."""
    nodes = loop_of(outline, node_id).nodes
    at = next(i for i, n in enumerate(nodes) if n.id == node_id)
    return nodes[at - 1].id


def edge_of(outline: Outline, node_id: int) -> int:
    """Id of the edge that the segment leaving `node_id` lies on."""
    loop = loop_of(outline, node_id)
    starts = set(edge_starts(loop))
    # A loop may begin amid an edge, whose name then stands at the end of the list.
    current = [n.id for n in loop.nodes if n.id in starts][-1]
    for node in loop.nodes:
        if node.id in starts:
            current = node.id
        if node.id == node_id:
            return current
    raise KeyError(node_id)


def edge_segments(outline: Outline, edge_id: int) -> tuple[int, ...]:
    """Ids of the nodes that start the segments of an edge, in drawing order."""
    loop = loop_of(outline, edge_id)
    ids = [n.id for n in loop.nodes]
    at = ids.index(edge_id)
    starts = set(edge_starts(loop))
    found = [edge_id]
    for i in range(1, len(ids)):
        node_id = ids[(at + i) % len(ids)]
        if node_id in starts:
            break
        found.append(node_id)
    return tuple(found)


def hit_node(outline: Outline, *, x_mm: float, y_mm: float, tolerance_mm: float) -> int | None:
    """Id of the nearest node within tolerance; of equally near ones, the first."""
    best, found = tolerance_mm, None
    for node in outline.nodes():
        gap = math.hypot(node.x_mm - x_mm, node.y_mm - y_mm)
        if gap < best or (gap == best and found is None):
            best, found = gap, node.id
    return found


def handles(
    outline: Outline, *, node_ids: frozenset[int], segment_ids: frozenset[int] = frozenset()
) -> Iterator[tuple[Handle, tuple[float, float], tuple[float, float]]]:
    """Handles to show: those at chosen nodes, and both of each chosen segment.

    Yields:
        The handle, the place of its node and the place of its knob (x, y in mm).
    """
    for loop in outline.loops():
        for i, a in enumerate(loop.nodes):
            curve = a.curve
            if curve is None:
                continue
            b = loop.nodes[(i + 1) % len(loop.nodes)]
            both = a.id in segment_ids
            if both or a.id in node_ids:
                knob = (a.x_mm + curve.out_x_mm, a.y_mm + curve.out_y_mm)
                yield Handle(a.id, "out"), (a.x_mm, a.y_mm), knob
            if both or b.id in node_ids:
                knob = (b.x_mm + curve.in_x_mm, b.y_mm + curve.in_y_mm)
                yield Handle(a.id, "in"), (b.x_mm, b.y_mm), knob


def hit_handle(
    outline: Outline,
    *,
    x_mm: float,
    y_mm: float,
    tolerance_mm: float,
    node_ids: frozenset[int],
    segment_ids: frozenset[int] = frozenset(),
) -> Handle | None:
    """The nearest shown handle within tolerance."""
    best, found = tolerance_mm, None
    for handle, _node, (kx, ky) in handles(outline, node_ids=node_ids, segment_ids=segment_ids):
        gap = math.hypot(kx - x_mm, ky - y_mm)
        if gap <= best:
            best, found = gap, handle
    return found


def hit_line(outline: Outline, *, x_mm: float, y_mm: float, tolerance_mm: float) -> OnLine | None:
    """The place on the outline nearest to the pointer, if within tolerance."""
    node_id, t, gap = nearest_on(outline, x_mm, y_mm)
    if node_id < 0 or gap > tolerance_mm:
        return None
    return OnLine(node_id, edge_of(outline, node_id), t)


def nodes_in_box(
    outline: Outline, *, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float
) -> frozenset[int]:
    """Ids of the nodes inside a box, given by any two opposite corners."""
    left, right = sorted((x0_mm, x1_mm))
    top, bottom = sorted((y0_mm, y1_mm))
    return frozenset(
        n.id for n in outline.nodes() if left <= n.x_mm <= right and top <= n.y_mm <= bottom
    )


def box_mm(loop: Loop) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 of a loop's flattened line."""
    points = flatten(loop).points
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return x0, y0, x1, y1
