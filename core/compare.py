"""The same panel or costume in two to four rings or weaves, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from core.errors import BadValue, RingloftError
from core.estimate import Estimate, Totals, estimate
from core.memo import memo_by_identity
from core.panel import Panel, sheet_of
from core.placing import with_rows_centred
from core.project import Project
from core.ring import Ring, RingSpec, resolve
from core.texts import _
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay, solve_lay
from core.weave.sheet import LayKind, SolvedLay

MEASURES = (
    "rings",
    "mass_g",
    "wire_mm",
    "spools",
    "cost",
    "hours",
    "cover",
    "thickness_mm",
    "stretch_across",
    "stretch_along",
    "cut_effort",
    "close_effort",
    "opening_pull_n",
)
"""What is compared, in the order shown. Efforts have no unit of their own: only ratios count."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is compared with others.

    Attributes:
        spec: the ring; it need not be in the costume.
        weave: the weave's id; None leaves every panel its own.
        upright: the ring that stands upright, in weaves that have such; None leaves every panel
            its own, or where it names none takes `spec`.
    """

    spec: RingSpec
    weave: str | None = None
    upright: RingSpec | None = None


@dataclass(frozen=True, eq=False)
class Column:
    """One choice's answers.

    Attributes:
        choice: the ring and weave asked about.
        weave: the weave of the first panel compared.
        lay: how the mail of the first panel is opened.
        ring: None when it cannot be wound.
        solved: the sheet of the first panel; None when the ring cannot make the weave.
        problem: why there are no answers, else None.
        values: by measure; None where unknown.
        counted: all that was worked out for it; None with a problem.
    """

    choice: Choice
    weave: Weave
    lay: Lay
    ring: Ring | None
    solved: SolvedLay | None
    problem: RingloftError | None
    values: dict[str, float | None]
    counted: Estimate | None = None

    @property
    def lays(self) -> tuple[LayKind, ...]:
        """The lays of the panels compared, each once; none with a problem."""
        panels = () if self.counted is None else self.counted.panels
        return tuple(dict.fromkeys(p.tally.panel.lay.kind for p in panels))

    @property
    def range(self) -> tuple[int, int] | None:
        """The fewest and most rings by lay; None when swatches settle it or with a problem.

        It takes a few times as long as the comparison itself, once.
        """
        return None if self.counted is None else self.counted.range

    @property
    def spec(self) -> RingSpec:
        """The ring as the maker states it."""
        return self.choice.spec


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
    project: Project, choices: tuple[Choice, ...], panel_id: int | None = None
) -> tuple[Column, ...]:
    """Answer for each choice, as if all the panels in question were woven so.

    A panel measured on a swatch keeps that measure only in its own ring and weave, and one held to
    a width keeps that only in its own weave; otherwise it is laid.

    Args:
        project: the costume.
        choices: two to four, in the order shown.
        panel_id: the panel in question, or None for the whole costume.

    Raises:
        BadValue: there is no panel, or not two to four choices.
    """
    if not 2 <= len(choices) <= 4:
        raise BadValue(
            _("Compare takes two to four rings or weaves"),
            do=_("Name another ring or another weave"),
        )
    panels = scope_panels(project, panel_id)
    return tuple(_column(project, panels, choice) for choice in choices)


def _column(project: Project, panels: tuple[Panel, ...], choice: Choice) -> Column:
    nothing: dict[str, float | None] = dict.fromkeys(MEASURES)
    spec = choice.spec
    given = _given(project, choice)
    woven = tuple(woven_from(project, panel, choice) for panel in panels)
    weave, lay = find_weave(woven[0].weave), woven[0].lay
    ring: Ring | None = None
    used = {ring_id for panel in woven for ring_id in panel.ring_ids}
    try:
        ring = resolve(spec)
        asked = replace(project, rings=tuple(given[i] for i in given if i in used), panels=woven)
        rings = tuple(resolve(s) for s in asked.rings_of(woven[0]))
        solved = sheet_of(woven[0], rings)
        counted = estimate(asked)
    except RingloftError as problem:
        return Column(choice, weave, lay, ring, None, problem, nothing)
    values = _values(rings, solved, counted.totals)
    return Column(choice, weave, lay, ring, solved, None, values, counted)


def _given(project: Project, choice: Choice) -> dict[int, RingSpec]:
    """The costume's rings and those of the choice, which come before their like."""
    extra = () if choice.upright is None else (choice.upright,)
    return {s.id: s for s in (*project.rings, *extra, choice.spec)}


def woven_from(project: Project, panel: Panel, choice: Choice) -> Panel:
    """A panel as it would be with the choice; the panel itself when it is so already."""
    given = _given(project, choice)
    upright = choice.upright or given.get(panel.upright_ring_id or choice.spec.id, choice.spec)
    return _woven_from(panel, choice.spec, choice.weave or panel.weave, upright)


def _values(rings: tuple[Ring, ...], solved: SolvedLay, totals: Totals) -> dict[str, float | None]:
    across, along = stretch(solved)
    return {
        "rings": totals.rings,
        "mass_g": totals.mass_g,
        "wire_mm": totals.wire_mm,
        "spools": totals.spools,
        "cost": totals.cost,
        "hours": totals.hours,
        "cover": solved.cover,
        "thickness_mm": solved.thickness_mm,
        "stretch_across": across,
        "stretch_along": along,
        "cut_effort": max(r.cut_effort for r in rings),
        "close_effort": max(r.close_effort for r in rings),
        "opening_pull_n": min(r.opening_pull_n for r in rings),
    }


def sheet_kg_m2(solved: SolvedLay, rings: tuple[Ring, ...]) -> float:
    """Mass of a square metre of a sheet without ends, kg.

    Args:
        solved: the sheet.
        rings: the ring of each of its weave's ring kinds.
    """
    weave = find_weave(solved.weave)
    mean_g = sum(weave.share(kind) * ring.mass_g for kind, ring in enumerate(rings))
    # g per mm² is 1000 kg per m².
    return 1000.0 * mean_g / solved.area_per_ring_mm2


@lru_cache(maxsize=256)
def stretch(solved: SolvedLay) -> tuple[float, float]:
    """How much longer mail gets when drawn out across and along its rows than it is laid.

    Both are the pitch drawn that way over the pitch laid, less 1, whatever the lay of `solved`.
    """
    one, *others = ((r.wire, r.aspect_ratio * r.wire) for r in solved.rings_mm)
    laid, across, along = (solve_lay(solved.weave, *one, Lay(kind), *others) for kind in _DRAWN)
    return across.across_mm / laid.across_mm - 1.0, along.along_mm / laid.along_mm - 1.0


_DRAWN: tuple[LayKind, ...] = ("laid", "across", "along")


@memo_by_identity
def _woven_from(panel: Panel, spec: RingSpec, weave: str, upright: RingSpec) -> Panel:
    """The panel in another ring; the same object each time, so that its count is remembered.

    Centred rows are placed anew, as they would be if the panel were given that ring: otherwise the
    ring whose pitch happens to suit the old place would win.
    """
    other_id = None if upright.id == spec.id else upright.id
    if len(find_weave(weave).kinds) == 1:
        other_id = panel.upright_ring_id
    now = replace(panel, ring_id=spec.id, weave=weave, upright_ring_id=other_id)
    if (now.ring_ids, now.weave) == (panel.ring_ids, panel.weave):
        return panel
    lay = Lay("laid") if panel.lay.kind == "swatch" else panel.lay
    if lay.kind == "held" and weave != panel.weave:
        lay = Lay("laid")
    other = replace(panel, ring_id=spec.id, weave=weave, upright_ring_id=other_id, lay=lay)
    specs = (spec,) if len(find_weave(weave).kinds) == 1 else (spec, upright)
    return with_rows_centred(other, specs) if panel.placing == "centred" else other
