"""Edits of outlines, and the same changes on an outline alone, for previews."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from core.edits.common import Edit, finite, swap_panel
from core.errors import BadValue
from core.outline import (
    Curve,
    Loop,
    Node,
    Outline,
    edge_ids,
    edge_starts,
    polygon,
    split_segment,
)
from core.panel import Panel
from core.project import Project
from core.texts import _


def set_outline(panel_id: int, outline: Outline) -> Edit:
    """Replace a panel's outline; edges keep their finish while their first node stays.

    The only edge of a boundary keeps its finish even when another node comes to name it.

    Raises BadOutline when the new outline encloses no clear area.
    """
    polygon(outline)

    def change(panel: Panel) -> Panel:
        ids = edge_ids(outline)
        renamed = {i: i for i in ids} | _renamed_only_edges(panel.outline, outline)
        kept = {renamed[e.node_id]: e for e in panel.edges if e.node_id in renamed}
        edges = tuple(replace(kept[i], node_id=i) for i in ids if i in kept)
        return replace(panel, outline=outline, edges=panel.edges if edges == panel.edges else edges)

    def edit(project: Project) -> Project:
        after = swap_panel(project, panel_id, change)
        next_id = max(project.next_id, *(n.id + 1 for n in outline.nodes()))
        return after if next_id == after.next_id else replace(after, next_id=next_id)

    return edit


def _renamed_only_edges(before: Outline, after: Outline) -> dict[int, int]:
    """New names of edges that are the whole of their boundary, by their old ones."""
    renamed: dict[int, int] = {}
    owner = {n.id: loop for loop in after.loops() for n in loop.nodes}
    for loop in before.loops():
        now = next((owner[n.id] for n in loop.nodes if n.id in owner), None)
        if now is not None and len(edge_starts(loop)) == len(edge_starts(now)) == 1:
            renamed[edge_starts(loop)[0]] = edge_starts(now)[0]
    return renamed


def _map_loops(outline: Outline, change: Callable[[Loop], Loop]) -> Outline:
    rim, *holes = (change(loop) for loop in outline.loops())
    return Outline(rim, tuple(holes))


def moved_nodes(outline: Outline, node_ids: frozenset[int], dx_mm: float, dy_mm: float) -> Outline:
    """The outline with some nodes moved; handles move with their nodes."""
    finite(dx_mm, dy_mm)

    def change(loop: Loop) -> Loop:
        if not any(n.id in node_ids for n in loop.nodes):
            return loop
        return Loop(
            tuple(
                replace(n, x_mm=n.x_mm + dx_mm, y_mm=n.y_mm + dy_mm) if n.id in node_ids else n
                for n in loop.nodes
            )
        )

    return outline if dx_mm == dy_mm == 0 else _map_loops(outline, change)


def with_curve(outline: Outline, node_id: int, curve: Curve | None) -> Outline:
    """The outline with the segment that leaves a node bent, or made straight."""
    if curve is not None:
        finite(curve.out_x_mm, curve.out_y_mm, curve.in_x_mm, curve.in_y_mm)
    return _map_loops(
        outline,
        lambda loop: (
            Loop(tuple(replace(n, curve=curve) if n.id == node_id else n for n in loop.nodes))
            if any(n.id == node_id for n in loop.nodes)
            else loop
        ),
    )


def with_corner(outline: Outline, node_id: int, corner: bool) -> Outline:
    """The outline with a node marked as a corner, or not: edges run from corner to corner."""
    return _map_loops(
        outline,
        lambda loop: (
            Loop(tuple(replace(n, corner=corner) if n.id == node_id else n for n in loop.nodes))
            if any(n.id == node_id and n.corner != corner for n in loop.nodes)
            else loop
        ),
    )


def with_added_node(outline: Outline, start_id: int, t: float, new_id: int) -> Outline:
    """The outline with the segment after `start_id` split at t; the line itself stays."""

    def change(loop: Loop) -> Loop:
        nodes = list(loop.nodes)
        for i, a in enumerate(nodes):
            if a.id == start_id:
                b = nodes[(i + 1) % len(nodes)]
                first, new, _rest = split_segment(a, b, t, new_id)
                nodes[i : i + 1] = [first, new]
                return Loop(tuple(nodes))
        return loop

    return _map_loops(outline, change)


def without_nodes(outline: Outline, node_ids: frozenset[int]) -> Outline:
    """The outline without some nodes; a hole left with fewer than three goes, too.

    Raises BadValue when the rim would keep fewer than three.
    """

    def keep(loop: Loop) -> tuple[Node, ...]:
        kept: list[Node] = []
        lead: list[Node] = []
        for node in loop.nodes:
            if node.id not in node_ids:
                kept.append(node)
            elif kept:
                kept[-1] = _joined(kept[-1], node)
            else:
                lead.append(node)
        for node in lead if kept else ():
            kept[-1] = _joined(kept[-1], node)
        return tuple(kept)

    rim = keep(outline.rim)
    if len(rim) < 3:
        raise BadValue(_("An outline needs three points or more"), do=_("Delete the panel instead"))
    holes = []
    for hole in outline.holes:
        nodes = keep(hole)
        if nodes == hole.nodes:
            holes.append(hole)
        elif len(nodes) >= 3:
            holes.append(Loop(nodes))
    return Outline(outline.rim if rim == outline.rim.nodes else Loop(rim), tuple(holes))


def _joined(before: Node, gone: Node) -> Node:
    """The node before a removed one, its segment now reaching to the node after."""
    if before.curve is None and gone.curve is None:
        return before
    first, last = before.curve or Curve(0, 0, 0, 0), gone.curve or Curve(0, 0, 0, 0)
    return replace(before, curve=Curve(first.out_x_mm, first.out_y_mm, last.in_x_mm, last.in_y_mm))


def add_node(panel_id: int, start_id: int, t: float) -> Edit:
    """Add a point on the segment after `start_id` at parameter t."""
    if not 0 < t < 1:
        raise BadValue(_("A new point must lie between two points"), do=_("Click on the line"))

    def edit(project: Project) -> Project:
        panel = project.panel(panel_id)
        panel.outline.node(start_id)
        outline = with_added_node(panel.outline, start_id, t, project.next_id)
        after = set_outline(panel_id, outline)(project)
        return replace(after, next_id=project.next_id + 1)

    return edit


def add_hole(panel_id: int, hole: Loop) -> Edit:
    """Cut a hole into a panel; node ids are given here."""

    def edit(project: Project) -> Project:
        panel = project.panel(panel_id)
        fresh = tuple(replace(n, id=project.next_id + i) for i, n in enumerate(hole.nodes))
        outline = replace(panel.outline, holes=(*panel.outline.holes, Loop(fresh)))
        after = set_outline(panel_id, outline)(project)
        return replace(after, next_id=project.next_id + len(fresh))

    return edit
