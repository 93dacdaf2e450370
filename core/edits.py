"""Every change to a costume, as a pure function from project to project.

Untouched parts stay the same object, and an edit that changes nothing returns the project itself,
so that identity tells views and memos what to redo. An edit refuses bad input by raising before
anything has changed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import count

from core.errors import BadValue
from core.estimate import spool_length_mm
from core.outline import (
    MAX_SPAN_MM,
    Curve,
    Loop,
    Node,
    Outline,
    edge_ids,
    edge_starts,
    polygon,
    split_segment,
)
from core.panel import MAX_COPIES, EdgeFinish, Edging, Panel, PlacingRule
from core.project import Practice, Project, Unit
from core.ring import Ring, RingSpec, resolve
from core.texts import _, ngettext
from core.weave.lay import Lay, solve_lay

Edit = Callable[[Project], Project]

MAX_PANELS = 500


def _swap_panel(project: Project, panel_id: int, change: Callable[[Panel], Panel]) -> Project:
    before = project.panel(panel_id)
    after = change(before)
    if after == before:
        return project
    return replace(project, panels=tuple(after if p.id == panel_id else p for p in project.panels))


def _finite(*values: float) -> None:
    if not all(math.isfinite(v) and abs(v) <= MAX_SPAN_MM for v in values):
        raise BadValue(
            _("A place must lie within {n} mm of the middle").format(n=f"{MAX_SPAN_MM:.0f}"),
            do=_("Check the number and its unit"),
        )


# --- the costume -----------------------------------------------------------------------------


def rename_project(name: str) -> Edit:
    """Give the costume a name."""
    return lambda project: project if project.name == name else replace(project, name=name)


def set_unit(unit: Unit) -> Edit:
    """Show lengths in mm or in."""
    return lambda project: project if project.unit == unit else replace(project, unit=unit)


def set_practice(practice: Practice) -> Edit:
    """Count with the default paces and spare of a novice or a practised maker."""
    return lambda p: p if p.practice == practice else replace(p, practice=practice)


def set_spare(spare_percent: float | None) -> Edit:
    """Set the spare share in percent; None takes the practice's default."""
    if spare_percent is not None and not 0 <= spare_percent <= 100:
        raise BadValue(_("Spare must lie between 0 and 100 %"), do=_("Type a share such as 10"))
    return lambda p: (
        p if p.spare_percent == spare_percent else replace(p, spare_percent=spare_percent)
    )


# --- rings -----------------------------------------------------------------------------------


def add_ring(ring: RingSpec) -> Edit:
    """Add a ring; its id is given here. Raises when it cannot be wound, or its spool is empty."""
    _check_spool(ring, resolve(ring))

    def edit(project: Project) -> Project:
        new = replace(ring, id=project.next_id)
        return replace(project, rings=(*project.rings, new), next_id=project.next_id + 1)

    return edit


def set_ring(ring: RingSpec) -> Edit:
    """Replace the ring of the same id.

    Raises when it cannot be wound, or when a panel's weave cannot be made from it.
    """
    made = resolve(ring)
    _check_spool(ring, made)

    def edit(project: Project) -> Project:
        if project.ring(ring.id) == ring:
            return project
        for panel in project.panels:
            if panel.ring_id == ring.id:
                solve_lay(panel.weave, made.wire_mm, made.inner_mm, panel.lay)
        return replace(project, rings=tuple(ring if r.id == ring.id else r for r in project.rings))

    return edit


def _check_spool(ring: RingSpec, made: Ring) -> None:
    spool_length_mm(ring.spool, made)
    price = ring.spool.price
    if price is not None and not (math.isfinite(price) and price >= 0):
        raise BadValue(_("A price cannot be below zero"), do=_("Type what one spool costs"))


def remove_ring(ring_id: int) -> Edit:
    """Remove a ring no panel is woven from."""

    def edit(project: Project) -> Project:
        project.ring(ring_id)
        users = [p.name for p in project.panels if p.ring_id == ring_id]
        if users:
            raise BadValue(
                _("The ring is used by {panels}").format(panels=_listed(users)),
                do=ngettext(
                    "Give that panel another ring first",
                    "Give those panels another ring first",
                    len(users),
                ),
            )
        return replace(project, rings=tuple(r for r in project.rings if r.id != ring_id))

    return edit


def _listed(names: list[str]) -> str:
    """Up to three names, and how many more there are."""
    shown = ", ".join(names[:3])
    rest = len(names) - 3
    if rest <= 0:
        return shown
    return ngettext("{names} and {n} more", "{names} and {n} more", rest).format(
        names=shown, n=rest
    )


# --- panels ----------------------------------------------------------------------------------


def add_panel(panel: Panel) -> Edit:
    """Add a panel at the end of the list; panel and node ids are given here."""
    polygon(panel.outline)

    def edit(project: Project) -> Project:
        project.ring(panel.ring_id)
        if len(project.panels) >= MAX_PANELS:
            raise BadValue(
                _("A costume holds at most {n} panels").format(n=MAX_PANELS),
                do=_("Start a second costume for the rest"),
            )
        new, next_id = _with_fresh_ids(panel, project.next_id)
        return replace(project, panels=(*project.panels, new), next_id=next_id)

    return edit


def _with_fresh_ids(panel: Panel, next_id: int) -> tuple[Panel, int]:
    fresh = count(next_id + 1)
    loops = [
        Loop(tuple(replace(n, id=next(fresh)) for n in loop.nodes))
        for loop in panel.outline.loops()
    ]
    outline = Outline(loops[0], tuple(loops[1:]))
    starts = set(edge_ids(outline))
    new_ids = {
        old.id: new.id
        for old, new in zip(panel.outline.nodes(), outline.nodes(), strict=True)
        if new.id in starts
    }
    edges = tuple(
        replace(e, node_id=new_ids[e.node_id]) for e in panel.edges if e.node_id in new_ids
    )
    return replace(panel, id=next_id, outline=outline, edges=edges), next(fresh)


def remove_panel(panel_id: int) -> Edit:
    """Remove a panel."""

    def edit(project: Project) -> Project:
        gone = project.panel(panel_id)
        return replace(project, panels=tuple(x for x in project.panels if x is not gone))

    return edit


def duplicate_panel(panel_id: int, name: str) -> Edit:
    """Add a copy of a panel, under a name of its own, at the end of the list."""
    return lambda project: add_panel(replace(project.panel(panel_id), name=name))(project)


def rename_panel(panel_id: int, name: str) -> Edit:
    """Give a panel a name; an empty one is refused."""
    if not name.strip():
        raise BadValue(_("A panel needs a name"), do=_("Type a name"))
    return lambda p: _swap_panel(p, panel_id, lambda x: replace(x, name=name.strip()))


def set_panel_ring(panel_id: int, ring_id: int) -> Edit:
    """Weave the panel from another ring; raises when its weave cannot be made from it.

    A swatch tells about the ring it was woven from, so a panel measured on one is laid again.
    """

    def edit(project: Project) -> Project:
        ring = resolve(project.ring(ring_id))
        panel = project.panel(panel_id)
        if panel.ring_id == ring_id:
            return project
        lay = Lay("laid") if panel.lay.kind == "swatch" else panel.lay
        solve_lay(panel.weave, ring.wire_mm, ring.inner_mm, lay)
        return _swap_panel(project, panel_id, lambda x: replace(x, ring_id=ring_id, lay=lay))

    return edit


def set_lay(panel_id: int, lay: Lay) -> Edit:
    """Open the panel's mail by another lay; raises when the ring does not allow it."""

    def edit(project: Project) -> Project:
        panel = project.panel(panel_id)
        ring = resolve(project.ring(panel.ring_id))
        solve_lay(panel.weave, ring.wire_mm, ring.inner_mm, lay)
        return _swap_panel(project, panel_id, lambda x: replace(x, lay=lay))

    return edit


def set_grain(panel_id: int, grain_deg: float) -> Edit:
    """Turn the rows; the angle is kept in -90 < angle <= 90, where it means the same rows."""
    if not math.isfinite(grain_deg) or abs(grain_deg) > 3600:
        raise BadValue(_("The grain must be an angle"), do=_("Type degrees such as 45"))
    # Just above 90 the remainder may round up to 180 itself.
    turned = 90.0 - (90.0 - grain_deg) % 180.0 % 180.0
    return lambda p: _swap_panel(p, panel_id, lambda x: replace(x, grain_deg=turned))


def set_rule(panel_id: int, rule: PlacingRule) -> Edit:
    """Keep whole rings inside the outline, or their centres."""
    return lambda p: _swap_panel(p, panel_id, lambda x: replace(x, rule=rule))


def set_copies(panel_id: int, copies: int, mirrored: bool) -> Edit:
    """How many to make; as mirrored pairs the count must be even."""
    if not 1 <= copies <= MAX_COPIES:
        raise BadValue(
            _("Copies must lie between 1 and {n}").format(n=MAX_COPIES), do=_("Type a count")
        )
    if mirrored and copies % 2:
        raise BadValue(_("Mirrored pairs need an even count"), do=_("Type 2 for one pair"))
    return lambda p: _swap_panel(
        p, panel_id, lambda x: replace(x, copies=copies, mirrored=mirrored)
    )


def set_glued(panel_id: int, glued: bool) -> Edit:
    """Say whether the panel is glued or sewn all over a pad, or hangs free."""
    return lambda p: _swap_panel(p, panel_id, lambda x: replace(x, glued=glued))


def set_origin(panel_id: int, x_mm: float, y_mm: float) -> Edit:
    """Place a ring of row 0 there by hand; the whole mesh of rings moves with it."""
    _finite(x_mm, y_mm)
    return lambda p: _swap_panel(
        p,
        panel_id,
        lambda x: replace(x, origin_x_mm=x_mm, origin_y_mm=y_mm, placing="by hand"),
    )


def centre_rows(panel_id: int) -> Edit:
    """Let the rows be placed evenly about the panel's middle, where most rings lie."""

    def change(panel: Panel) -> Panel:
        return panel if panel.placing == "centred" else replace(panel, placing="centred")

    return lambda p: _swap_panel(p, panel_id, change)


def set_edge(panel_id: int, node_id: int, edging: Edging, name: str | None = None) -> Edit:
    """Finish the edge that starts at that node; `name` None keeps its name."""

    def change(panel: Panel) -> Panel:
        ids = edge_ids(panel.outline)
        if node_id not in ids:
            raise KeyError(node_id)
        old = panel.finish(node_id)
        new = replace(old, edging=edging, name=old.name if name is None else name)
        kept = {e.node_id: e for e in panel.edges} | {node_id: new}
        order = [kept[i] for i in ids if i in kept]
        return replace(panel, edges=tuple(e for e in order if e != EdgeFinish(e.node_id)))

    return lambda p: _swap_panel(p, panel_id, change)


# --- outlines --------------------------------------------------------------------------------


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
        after = _swap_panel(project, panel_id, change)
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
    _finite(dx_mm, dy_mm)

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
        _finite(curve.out_x_mm, curve.out_y_mm, curve.in_x_mm, curve.in_y_mm)
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
