"""Where the rows of a panel start: placings that lie evenly about the middle of its outline."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.errors import RingloftError
from core.fill import count_rings
from core.outline import Outline, flatten
from core.panel import Panel, sheet_of
from core.project import Project
from core.ring import RingSpec, resolve
from core.rows import lattice_of
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.sheet import SolvedLay

STEPS = 4
"""Heights tried from one row to the next."""

EVEN_ORIGINS = 2
"""How many of the centred origins, the first ones, are even across the rows, too."""

EVEN_ENOUGH = 0.98
"""Share of the most rings at which rows that are even across, too, are preferred."""


def centred_origins(
    outline: Outline, weave: Weave, solved: SolvedLay, grain_deg: float
) -> tuple[tuple[float, float], ...]:
    """Origins whose rows end alike left and right of the middle of the outline's box.

    Args:
        outline: panel frame, mm.
        weave: how rings are linked.
        solved: pitch of the rings.
        grain_deg: angle of the rows; the box is taken along and across them.

    Returns:
        Panel frame. The first two, a ring and a gap of a row in the middle, are even across the
        rows, too; the others raise those by parts of the way to the next row.
    """
    lattice = lattice_of(weave, solved, grain_deg, 0.0, 0.0)
    points = lattice.to_lattice(flatten(outline.rim).points)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    shifts = [
        (share * solved.along_mm, step / STEPS * solved.across_mm)
        for step in range(STEPS)
        for share in (0.0, 0.5)
    ]
    placed = lattice.to_panel(middle + np.array(shifts))
    return tuple((float(x), float(y)) for x, y in placed)


def best_centred_origin(panel: Panel, solved: SolvedLay) -> tuple[float, float]:
    """The centred origin with which the panel holds most body rings.

    A panel that is even top and bottom, too, is worth a few rings (`EVEN_ENOUGH`). Edge rings do
    not count here, so that finishing an edge never moves the rows.

    Raises as `core.fill.fill_panel`.
    """
    origins = centred_origins(panel.outline, find_weave(panel.weave), solved, panel.grain_deg)
    counts = [_body_rings(replace(panel, origin_x_mm=x, origin_y_mm=y), solved) for x, y in origins]
    even = max(counts[:EVEN_ORIGINS])
    wanted = even if even >= EVEN_ENOUGH * max(counts) else max(counts)
    return origins[counts.index(wanted)]


def _body_rings(panel: Panel, solved: SolvedLay) -> int:
    return count_rings(replace(panel, edges=()), solved)


def centred(panel: Panel, solved: SolvedLay) -> Panel:
    """The panel with its best centred origin; itself when it has that already.

    Raises as `core.fill.fill_panel`.
    """
    x, y = best_centred_origin(panel, solved)
    if (x, y) == (panel.origin_x_mm, panel.origin_y_mm):
        return panel
    return replace(panel, origin_x_mm=x, origin_y_mm=y)


def with_rows_centred(
    panel: Panel, specs: tuple[RingSpec, ...], unless_fewer: bool = False
) -> Panel:
    """The panel with its best centred origin; itself when it cannot be counted or nothing moves.

    Args:
        panel: the panel.
        specs: the ring of each of its weave's ring kinds.
        unless_fewer: leave the rows where they are unless centring them gains rings.
    """
    try:
        solved = sheet_of(panel, tuple(resolve(spec) for spec in specs))
        moved = centred(panel, solved)
        if unless_fewer and _body_rings(panel, solved) >= _body_rings(moved, solved):
            return panel
    except RingloftError:
        return panel
    return moved


def settled(before: Project, after: Project) -> Project:
    """`after`, with rows placed anew on centred panels where the edit calls for it.

    Another ring, lay, grain or rule moves every ring, so the rows are centred again. Another
    outline moves none of itself: its rows stay unless centring gains rings. A gesture's previews
    are not settled, so rings never swim under the hand.
    """
    known = {p.id: (p.outline, _pattern(before, p)) for p in before.panels}

    def settle(panel: Panel) -> Panel:
        outline, pattern = known.get(panel.id, (None, None))
        same = pattern == _pattern(after, panel)
        if panel.placing != "centred" or (same and outline is panel.outline):
            return panel
        return with_rows_centred(panel, after.rings_of(panel), unless_fewer=same)

    panels = tuple(settle(panel) for panel in after.panels)
    if all(new is old for new, old in zip(panels, after.panels, strict=True)):
        return after
    return replace(after, panels=panels)


def _pattern(project: Project, panel: Panel) -> tuple[object, ...]:
    """What decides where the rings of an unbounded sheet lie, but for the origin."""
    made = tuple(
        (s.metal, s.wire_mm, s.mandrel_mm, s.inner_measured_mm, s.trial, s.kerf_mm)
        for s in project.rings_of(panel)
    )
    return panel.weave, panel.lay, panel.grain_deg, panel.rule, panel.placing, made
