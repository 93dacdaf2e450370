"""Outlines: closed boundaries of straight and cubic segments, with holes, in millimetres.

Frame: the panel frame, x to the right, y down, as on screen. A node names the segment and, when
it is a corner, the edge that start at it, so names survive moves, splits and undo.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from core.errors import BadOutline
from core.memo import memo_by_identity
from core.texts import _

FLATTEN_TOLERANCE_MM = 0.02
"""Largest distance between a cubic segment and the chords that stand for it."""

MIN_AREA_MM2 = 1.0
"""Below this an outline holds no ring anyone could wind."""

MAX_NODES = 20_000
MAX_SPAN_MM = 10_000.0

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Curve:
    """Handles of a cubic segment, in mm, each relative to its own end of the segment."""

    out_x_mm: float
    out_y_mm: float
    in_x_mm: float
    in_y_mm: float


@dataclass(frozen=True, slots=True)
class Node:
    """A point of an outline and the segment that leaves it; `curve` None means straight."""

    id: int
    x_mm: float
    y_mm: float
    corner: bool = True
    curve: Curve | None = None


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed boundary: the last node's segment returns to the first node."""

    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """The boundary of a panel: an outer rim and any holes."""

    rim: Loop
    holes: tuple[Loop, ...] = ()

    def loops(self) -> tuple[Loop, ...]:
        """The rim, then the holes."""
        return (self.rim, *self.holes)

    def nodes(self) -> Iterator[Node]:
        """Every node, loop by loop."""
        for loop in self.loops():
            yield from loop.nodes

    def node(self, node_id: int) -> Node:
        """The node of that id; raises KeyError when there is none."""
        for node in self.nodes():
            if node.id == node_id:
                return node
        raise KeyError(node_id)


@dataclass(frozen=True, eq=False)
class Flat:
    """A flattened loop.

    Attributes:
        points: float64 (n, 2) in mm, not closed; chord i runs from point i to point i + 1.
        edge_ids: int64 (n,): the edge each chord lies on.
    """

    points: FloatArray
    edge_ids: NDArray[np.int64]


def edge_starts(loop: Loop) -> tuple[int, ...]:
    """Ids of the nodes at which the loop's edges start: its corners, or its first node."""
    corners = tuple(node.id for node in loop.nodes if node.corner)
    return corners or (loop.nodes[0].id,)


def edge_ids(outline: Outline) -> tuple[int, ...]:
    """Ids of all edges, rim first, in drawing order."""
    return tuple(i for loop in outline.loops() for i in edge_starts(loop))


def _cubic(a: Node, b: Node, tolerance_mm: float) -> FloatArray:
    """Points of the cubic segment from a (included) to b (left out), float64 (n, 2).

    The number of chords follows from the largest second difference of the control points.
    Source: Wang's bound as given in Goldman, Pyramid Algorithms (2003); the bound for a cubic is
    max|P(i) - 2 P(i+1) + P(i+2)| * 6 / 8 / n**2 (from memory, checked by a test).
    """
    curve = a.curve
    assert curve is not None
    p = np.array(
        [
            (a.x_mm, a.y_mm),
            (a.x_mm + curve.out_x_mm, a.y_mm + curve.out_y_mm),
            (b.x_mm + curve.in_x_mm, b.y_mm + curve.in_y_mm),
            (b.x_mm, b.y_mm),
        ]
    )
    bend = float(np.hypot(*np.diff(p, n=2, axis=0).T).max())
    n = max(1, min(2000, math.ceil(math.sqrt(0.75 * bend / tolerance_mm))))
    t = np.arange(n)[:, None] / n
    s = 1.0 - t
    points: FloatArray = s**3 * p[0] + 3 * s**2 * t * p[1] + 3 * s * t**2 * p[2] + t**3 * p[3]
    return points


@memo_by_identity
def flatten(loop: Loop, tolerance_mm: float = FLATTEN_TOLERANCE_MM) -> Flat:
    """The loop as chords, each within `tolerance_mm` of its segment."""
    nodes = loop.nodes
    starts = edge_starts(loop)
    edge = starts[-1] if nodes[0].id not in starts else nodes[0].id
    parts: list[FloatArray] = []
    owners: list[int] = []
    counts: list[int] = []
    for i, node in enumerate(nodes):
        if node.id in starts:
            edge = node.id
        if node.curve is None:
            part: FloatArray = np.array([(node.x_mm, node.y_mm)])
        else:
            part = _cubic(node, nodes[(i + 1) % len(nodes)], tolerance_mm)
        parts.append(part)
        owners.append(edge)
        counts.append(len(part))
    return Flat(np.concatenate(parts), np.repeat(np.array(owners, dtype=np.int64), counts))


@memo_by_identity
def polygon(outline: Outline) -> shapely.Polygon:
    """The outline as a shapely polygon, holes included; raises BadOutline with words."""
    if sum(len(loop.nodes) for loop in outline.loops()) > MAX_NODES:
        raise BadOutline(
            _("The outline has more than {n} points").format(n=MAX_NODES),
            do=_("Remove points that are not needed"),
        )
    check_reach(outline)
    rings = []
    for loop in outline.loops():
        flat = flatten(loop).points if loop.nodes else ()
        if len(flat) < 3:
            raise BadOutline(
                _("The outline encloses no area"),
                do=_("Add a point so that it has three or more"),
            )
        rings.append(flat)
    shape = shapely.Polygon(rings[0], rings[1:])
    if shape.is_valid and shape.area >= MIN_AREA_MM2:
        return shape
    # A bow tie's two halves cancel: only its hull tells it from a line.
    if shape.is_valid or shape.convex_hull.area < MIN_AREA_MM2:
        raise BadOutline(
            _("The outline encloses no area"), do=_("Move a point so that it opens up")
        )
    raise BadOutline(*_crossing_words(shape))


def check_reach(outline: Outline) -> None:
    """Raise BadOutline unless every point and handle is a number within reach of the middle."""
    for node in outline.nodes():
        bend = node.curve or Curve(0.0, 0.0, 0.0, 0.0)
        handles = (bend.out_x_mm, bend.out_y_mm, bend.in_x_mm, bend.in_y_mm)
        if not (
            abs(node.x_mm) <= MAX_SPAN_MM
            and abs(node.y_mm) <= MAX_SPAN_MM
            and all(abs(h) <= 2 * MAX_SPAN_MM for h in handles)
        ):
            raise BadOutline(
                _("A point lies farther out than {n} mm").format(n=f"{MAX_SPAN_MM:.0f}"),
                do=_("Check the unit of the outline"),
            )


def _crossing_words(shape: shapely.Polygon) -> tuple[str, str, str]:
    reason = shapely.is_valid_reason(shape)
    place = ""
    if "[" in reason:
        x, y = (float(v) for v in reason.split("[")[1].rstrip("]").split()[:2])
        x_text, y_text = (f"{v:.1f}".replace("-", "−") for v in (x, y))
        place = _("near x {x} mm, y {y} mm").format(x=x_text, y=y_text)
    if "Hole" in reason or "Nested" in reason:
        return (
            _("A hole lies outside the outline or over another hole"),
            place,
            _("Move the hole inside"),
        )
    return (
        _("The outline crosses or touches itself"),
        place,
        _("Move a point until the lines no longer cross"),
    )


@memo_by_identity
def edge_lengths_mm(outline: Outline) -> dict[int, float]:
    """Length of each edge in mm, by the id of its first node."""
    lengths: dict[int, float] = dict.fromkeys(edge_ids(outline), 0.0)
    for loop in outline.loops():
        flat = flatten(loop)
        steps = np.hypot(*(np.roll(flat.points, -1, axis=0) - flat.points).T)
        for edge in edge_starts(loop):
            lengths[edge] = float(steps[flat.edge_ids == edge].sum())
    return lengths


def split_segment(a: Node, b: Node, t: float, new_id: int) -> tuple[Node, Node, Curve | None]:
    """Split the segment from a to b at parameter t without moving the line (de Casteljau).

    Returns:
        a with its shortened segment, the new node (not a corner when the segment is a curve)
        with the rest, and the new curve of that rest.
    """
    if a.curve is None:
        x, y = a.x_mm + t * (b.x_mm - a.x_mm), a.y_mm + t * (b.y_mm - a.y_mm)
        return a, Node(new_id, x, y, corner=False), None
    c = a.curve
    p = np.array(
        [
            (a.x_mm, a.y_mm),
            (a.x_mm + c.out_x_mm, a.y_mm + c.out_y_mm),
            (b.x_mm + c.in_x_mm, b.y_mm + c.in_y_mm),
            (b.x_mm, b.y_mm),
        ]
    )
    q = p[:-1] + t * np.diff(p, axis=0)
    r = q[:-1] + t * np.diff(q, axis=0)
    mid = r[0] + t * (r[1] - r[0])
    first = Curve(*map(float, (*(q[0] - p[0]), *(r[0] - mid))))
    rest = Curve(*map(float, (*(r[1] - mid), *(q[2] - p[3]))))
    return (
        replace(a, curve=first),
        Node(new_id, float(mid[0]), float(mid[1]), corner=False, curve=rest),
        rest,
    )


def nearest_on(outline: Outline, x_mm: float, y_mm: float) -> tuple[int, float, float]:
    """The place on the outline nearest to a point.

    Returns:
        Id of the node that starts the nearest segment, the parameter t in 0..1 on it, and the
        distance in mm.
    """
    best = (-1, 0.0, math.inf)
    target = np.array([x_mm, y_mm])
    for loop in outline.loops():
        for i, a in enumerate(loop.nodes):
            b = loop.nodes[(i + 1) % len(loop.nodes)]
            end = [(b.x_mm, b.y_mm)]
            start = [(a.x_mm, a.y_mm)] if a.curve is None else _cubic(a, b, FLATTEN_TOLERANCE_MM)
            points = np.concatenate([np.array(start), np.array(end)])
            step = np.diff(points, axis=0)
            along = ((target - points[:-1]) * step).sum(axis=1)
            length2 = np.maximum((step**2).sum(axis=1), 1e-18)
            u = np.clip(along / length2, 0.0, 1.0)
            gap = np.hypot(*(points[:-1] + u[:, None] * step - target).T)
            k = int(gap.argmin())
            if gap[k] < best[2]:
                best = (a.id, float((k + u[k]) / len(step)), float(gap[k]))
    return best
