"""Edits of panels: what they are woven from, how their mail lies, how many there are."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import count

from core.edits.common import Edit, finite, swap_panel
from core.errors import BadValue
from core.outline import Loop, Outline, edge_ids, polygon
from core.panel import MAX_COPIES, EdgeFinish, Edging, Holding, Panel, PlacingRule, sheet_of
from core.placing import with_rows_centred
from core.project import Project
from core.ring import resolve
from core.texts import _
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay

MAX_PANELS = 500


def add_panel(panel: Panel) -> Edit:
    """Add a panel at the end of the list; panel and node ids are given here."""
    polygon(panel.outline)

    def edit(project: Project) -> Project:
        project.rings_of(panel)
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
    return lambda p: swap_panel(p, panel_id, lambda x: replace(x, name=name.strip()))


def set_panel_ring(panel_id: int, ring_id: int) -> Edit:
    """Weave the panel from another ring; raises when its weave cannot be made from it.

    A swatch tells about the ring it was woven from, so a panel measured on one is laid again.
    """
    return _woven(panel_id, lambda x: replace(x, ring_id=ring_id))


def set_upright_ring(panel_id: int, ring_id: int | None) -> Edit:
    """Stand another ring upright between the flat ones; None for the same ring as those.

    Raises when the weave cannot be made from it. A measured panel is laid again.
    """
    return _woven(
        panel_id,
        lambda x: replace(x, upright_ring_id=None if ring_id == x.ring_id else ring_id),
    )


def set_weave(panel_id: int, weave_id: str) -> Edit:
    """Weave the panel another way; raises when its rings cannot make that weave.

    A measured panel, or one held to a width, is laid again.
    """
    find_weave(weave_id)

    def change(panel: Panel) -> Panel:
        lay = Lay("laid") if panel.lay.kind == "held" else panel.lay
        return replace(panel, weave=weave_id, lay=lay)

    return _woven(panel_id, change)


def set_woven(panel_id: int, ring_id: int, weave_id: str, upright_ring_id: int | None) -> Edit:
    """Give the panel ring, weave and upright ring at once; raises when they do not go together.

    A measured panel is laid again, as is one held to a width when its weave changes.
    """
    find_weave(weave_id)

    def change(panel: Panel) -> Panel:
        held = panel.lay.kind == "held" and panel.weave != weave_id
        return replace(
            panel,
            ring_id=ring_id,
            weave=weave_id,
            upright_ring_id=None if upright_ring_id == ring_id else upright_ring_id,
            lay=Lay("laid") if held else panel.lay,
        )

    return _woven(panel_id, change)


def set_lay(panel_id: int, lay: Lay) -> Edit:
    """Open the panel's mail by another lay; raises when the ring does not allow it."""
    return _woven(panel_id, lambda x: replace(x, lay=lay))


def _woven(panel_id: int, change: Callable[[Panel], Panel]) -> Edit:
    """Change what a panel is woven from or how, once its rings are known to allow it."""

    def edit(project: Project) -> Project:
        before = project.panel(panel_id)
        after = change(before)
        if after == before:
            return project
        same = (after.ring_ids, after.weave) == (before.ring_ids, before.weave)
        if after.lay.kind == "swatch" and not same:
            after = replace(after, lay=Lay("laid"))
        sheet_of(after, tuple(resolve(spec) for spec in project.rings_of(after)))
        return swap_panel(project, panel_id, lambda _before: after)

    return edit


def set_grain(panel_id: int, grain_deg: float) -> Edit:
    """Turn the rows; the angle is kept in -90 < angle <= 90, where it means the same rows."""
    if not math.isfinite(grain_deg) or abs(grain_deg) > 3600:
        raise BadValue(_("The grain must be an angle"), do=_("Type degrees such as 45"))
    # Just above 90 the remainder may round up to 180 itself.
    turned = 90.0 - (90.0 - grain_deg) % 180.0 % 180.0
    return lambda p: swap_panel(p, panel_id, lambda x: replace(x, grain_deg=turned))


def set_rule(panel_id: int, rule: PlacingRule) -> Edit:
    """Keep whole rings inside the outline, or their centres."""
    return lambda p: swap_panel(p, panel_id, lambda x: replace(x, rule=rule))


def set_copies(panel_id: int, copies: int, mirrored: bool) -> Edit:
    """How many to make; as mirrored pairs the count must be even."""
    if not 1 <= copies <= MAX_COPIES:
        raise BadValue(
            _("Copies must lie between 1 and {n}").format(n=MAX_COPIES), do=_("Type a count")
        )
    if mirrored and copies % 2:
        raise BadValue(_("Mirrored pairs need an even count"), do=_("Type 2 for one pair"))
    return lambda p: swap_panel(p, panel_id, lambda x: replace(x, copies=copies, mirrored=mirrored))


def set_holding(panel_id: int, holding: Holding) -> Edit:
    """Say what holds the panel when it is worn; its lay stays, whatever the new use suggests."""
    return lambda p: swap_panel(p, panel_id, lambda x: replace(x, holding=holding))


def set_origin(panel_id: int, x_mm: float, y_mm: float) -> Edit:
    """Place a ring of row 0 there by hand; the whole mesh of rings moves with it."""
    finite(x_mm, y_mm)
    return lambda p: swap_panel(
        p,
        panel_id,
        lambda x: replace(x, origin_x_mm=x_mm, origin_y_mm=y_mm, placing="by hand"),
    )


def centre_rows(panel_id: int) -> Edit:
    """Place the rows evenly about the panel's middle, where most rings lie, now and from now on.

    Rows that were centred before and lie off the middle since the outline changed are moved, too.
    """

    def edit(project: Project) -> Project:
        def change(panel: Panel) -> Panel:
            free = panel if panel.placing == "centred" else replace(panel, placing="centred")
            return with_rows_centred(free, project.rings_of(free))

        return swap_panel(project, panel_id, change)

    return edit


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

    return lambda p: swap_panel(p, panel_id, change)
