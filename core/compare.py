"""The same panel or costume in two to four rings, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace

from core.errors import BadValue, RingloftError
from core.estimate import Totals, estimate
from core.memo import memo_by_identity
from core.panel import Panel
from core.placing import with_rows_centred
from core.project import Project
from core.ring import Ring, RingSpec, resolve
from core.texts import _
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay, SolvedLay, solve_lay

MEASURES = (
    "rings",
    "mass_g",
    "wire_mm",
    "spools",
    "cost",
    "hours",
    "cover",
    "thickness_mm",
    "cut_effort",
    "close_effort",
    "opening_pull_n",
)
"""What is compared, in the order shown. Efforts have no unit of their own: only ratios count."""


@dataclass(frozen=True, eq=False)
class Column:
    """One ring's answers.

    Attributes:
        spec: the ring as the maker states it.
        weave: the weave of the first panel compared.
        lay: how the mail of the first panel is opened.
        ring: None when it cannot be wound.
        solved: the sheet of the first panel; None when the ring cannot make the weave.
        problem: why there are no answers, else None.
        values: by measure; None where unknown.
    """

    spec: RingSpec
    weave: Weave
    lay: Lay
    ring: Ring | None
    solved: SolvedLay | None
    problem: RingloftError | None
    values: dict[str, float | None]


def ratios(columns: tuple[Column, ...], measure: str) -> tuple[float | None, ...]:
    """That measure of every column over the first column's; None where it cannot be formed."""
    first = columns[0].values.get(measure)
    return tuple(
        None if not first or (value := c.values.get(measure)) is None else value / first
        for c in columns
    )


def scope_panels(project: Project, panel_id: int | None) -> tuple[Panel, ...]:
    """The panel of that id, or all panels of the costume when it is None."""
    panels = project.panels if panel_id is None else (project.panel(panel_id),)
    if not panels:
        raise BadValue(
            _("There is no panel to compare yet"), do=_("Draw a panel, or open a sample")
        )
    return panels


def compare(
    project: Project, specs: tuple[RingSpec, ...], panel_id: int | None = None
) -> tuple[Column, ...]:
    """Answer for each ring, as if all the panels in question were woven from it.

    A panel measured on a swatch keeps that measure only in its own ring; in another it is laid.

    Args:
        project: the costume.
        specs: two to four rings, in the order shown; they need not be in the costume.
        panel_id: the panel in question, or None for the whole costume.

    Raises:
        BadValue: there is no panel, or not two to four rings.
    """
    if not 2 <= len(specs) <= 4:
        raise BadValue(_("Compare takes two to four rings"), do=_("Name another ring"))
    panels = scope_panels(project, panel_id)
    return tuple(_column(project, panels, spec) for spec in specs)


def _column(project: Project, panels: tuple[Panel, ...], spec: RingSpec) -> Column:
    nothing: dict[str, float | None] = dict.fromkeys(MEASURES)
    woven = tuple(_woven_from(panel, spec) for panel in panels)
    weave, lay = find_weave(woven[0].weave), woven[0].lay
    ring: Ring | None = None
    try:
        ring = resolve(spec)
        solved = solve_lay(weave.id, ring.wire_mm, ring.inner_mm, lay)
        totals = estimate(replace(project, rings=(spec,), panels=woven)).totals
    except RingloftError as problem:
        return Column(spec, weave, lay, ring, None, problem, nothing)
    return Column(spec, weave, lay, ring, solved, None, _values(ring, solved, totals))


def _values(ring: Ring, solved: SolvedLay, totals: Totals) -> dict[str, float | None]:
    return {
        "rings": totals.rings,
        "mass_g": totals.mass_g,
        "wire_mm": totals.wire_mm,
        "spools": totals.spools,
        "cost": totals.cost,
        "hours": totals.hours,
        "cover": solved.cover,
        "thickness_mm": solved.thickness_mm,
        "cut_effort": ring.cut_effort,
        "close_effort": ring.close_effort,
        "opening_pull_n": ring.opening_pull_n,
    }


@memo_by_identity
def _woven_from(panel: Panel, spec: RingSpec) -> Panel:
    """The panel in another ring; the same object each time, so that its count is remembered.

    Centred rows are placed anew, as they would be if the panel were given that ring: otherwise the
    ring whose pitch happens to suit the old place would win.
    """
    if panel.ring_id == spec.id:
        return panel
    lay = Lay("laid") if panel.lay.kind == "swatch" else panel.lay
    other = replace(panel, ring_id=spec.id, lay=lay)
    return with_rows_centred(other, spec) if panel.placing == "centred" else other
