"""Counts for the views: what core derives, or why it cannot; and the strip's numbers as shown."""

from __future__ import annotations

from dataclasses import dataclass

from app.messages import sentence
from core import units
from core.errors import RingloftError
from core.estimate import (
    Estimate,
    PanelEstimate,
    Totals,
    estimate,
    estimate_for,
    how_alone,
    how_hold,
    how_totals,
    panel_estimate,
)
from core.labour import how as how_hours
from core.labour import own_pace
from core.panel import Panel
from core.project import Project
from core.tally import PanelTally, lay_text
from core.texts import _, ngettext
from core.wire import MM_PER_IN


@dataclass(frozen=True, slots=True)
class Unknown:
    """A number that cannot be had, and why."""

    why: str


def panel_figures(project: Project, panel: Panel) -> PanelEstimate | Unknown:
    """What one panel takes; remembered by core while panel and ring stay."""
    try:
        return panel_estimate(project, panel)
    except RingloftError as error:
        return Unknown(sentence(str(error)))


def estimate_figures(project: Project, panels: tuple[Panel, ...]) -> Estimate | Unknown:
    """What some panels take, as if they alone were made."""
    try:
        return estimate_for(project, panels)
    except RingloftError as error:
        return Unknown(sentence(str(error)))


def costume_figures(project: Project) -> Estimate | Unknown:
    """What the whole costume takes."""
    try:
        return estimate(project)
    except RingloftError as error:
        return Unknown(sentence(str(error)))


def split_unit(text: str) -> tuple[str, str]:
    """Number and unit of a formatted quantity."""
    number, gap, unit = text.rpartition(units.SPACE)
    return (number, unit) if gap else (text, "")


# --- how they came about ----------------------------------------------------------------------


def how_panel(project: Project, panel: Panel) -> tuple[str, ...]:
    """Sentences that say how a panel's count came about, or why there is none."""
    found = panel_figures(project, panel)
    return (found.why,) if isinstance(found, Unknown) else found.tally.how(project.unit)


def how_costume(project: Project) -> tuple[str, ...]:
    """Sentences that say how the costume's totals came about, or why there are none."""
    found = costume_figures(project)
    return (found.why,) if isinstance(found, Unknown) else how_totals(project, found)


def how_panel_numbers(project: Project, panel: Panel) -> tuple[str, ...]:
    """Sentences that say how a panel's weight, wire, spools and hours came about."""
    found = panel_figures(project, panel)
    if isinstance(found, Unknown):
        return (found.why,)
    try:
        alone = how_alone(project, panel)
    except RingloftError as error:
        return (*found.how(project.unit), sentence(str(error)))
    told = how_hold(project, (panel,))
    return (*found.how(project.unit), *alone, how_hours(project, (panel,)), *told)


# --- the strip's numbers ----------------------------------------------------------------------

_IN_BASE = {
    "mm²": 1.0,
    "cm²": 100.0,
    "m²": 1e6,
    "in²": MM_PER_IN**2,
    "ft²": units.MM_PER_FT**2,
    "mm": 1.0,
    "m": 1000.0,
    "in": MM_PER_IN,
    "ft": units.MM_PER_FT,
    "g": 1.0,
    "kg": 1000.0,
    "oz": units.G_PER_OZ,
    "lb": units.G_PER_OZ * 16.0,
    "min": 1.0 / 60.0,
    "h": 1.0,
    "": 1.0,
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of the strip: its value in base units, as shown, and one short fact.

    `brief` says the same in fewer words, where there is no room for the fact.
    """

    value: float | None
    text: str
    unit: str = ""
    fact: str = ""
    why: str = ""
    brief: str = ""


CELLS: tuple[str, ...] = ("rings", "area", "edge", "mass", "wire", "spools", "hours")


def labels() -> dict[str, str]:
    """What each cell is called."""
    return {
        "rings": _("Rings"),
        "area": _("Area"),
        "edge": _("Edge rings"),
        "mass": _("Weight"),
        "wire": _("Wire"),
        "spools": _("Spools"),
        "hours": _("Hours"),
    }


def _figure(value: float, shown: str, fact: str = "", brief: str = "") -> Figure:
    text, unit = split_unit(shown)
    return Figure(value, text, unit, fact, brief=brief)


def _hours(project: Project, hours: float) -> Figure:
    fact = _("woven at your pace") if own_pace(project) else _("common practice")
    return _figure(hours, units.format_hours(hours), fact)


def _bought(project: Project, totals: Totals) -> dict[str, Figure]:
    """The cells that read alike for a panel made alone and for the costume."""
    unit = project.unit
    spare = _("with {n} spare").format(n=units.format_count(totals.spare))
    cost = _("no price yet") if totals.cost is None else f"{project.currency}{totals.cost:.2f}"
    return {
        "mass": _figure(totals.mass_g, units.format_mass(totals.mass_g, unit), _("as worn")),
        "wire": _figure(totals.wire_mm, units.format_wire_length(totals.wire_mm, unit), spare),
        "spools": _figure(totals.spools, units.format_count(totals.spools), cost),
        "hours": _hours(project, totals.hours),
    }


def figures(
    project: Project, panel_id: int | None, whole: bool, ranges: bool = True
) -> dict[str, Figure]:
    """The strip's numbers for one panel, or for the whole costume.

    Without `ranges` the count's range by lay is left out, as during a gesture.
    """
    if whole:
        return _costume(project, ranges)
    if panel_id is None or all(p.id != panel_id for p in project.panels):
        return _none(_("No panel is selected"))
    panel = project.panel(panel_id)
    found = panel_figures(project, panel)
    if isinstance(found, Unknown):
        return _none(found.why)
    tally, copies, unit = found.tally, panel.copies, project.unit
    fact, brief = lay_facts(tally, ranges)
    times = _("× {n}").format(n=copies) if copies > 1 else ""
    alone = estimate_figures(project, (panel,))
    if isinstance(alone, Unknown):
        bought = {key: Figure(None, "—", why=alone.why) for key in ("wire", "spools", "hours")}
        bought["mass"] = _figure(found.mass_g, units.format_mass(found.mass_g, unit), _("as worn"))
    else:
        bought = _bought(project, alone.totals)
    area = tally.area_mm2 * copies
    return {
        "rings": _figure(tally.total, units.format_count(tally.total), fact, brief),
        "area": _figure(area, units.format_area(area, unit), times),
        "edge": _figure(tally.edge * copies, units.format_count(tally.edge * copies), times),
        **bought,
    }


def lay_facts(counted: PanelTally | Estimate, ranges: bool = True) -> tuple[str, str]:
    """What stands beside a count: its lay and its range by lay, and the same in fewer words.

    Panels of different lays have none in common; then the range stands alone. Without `ranges`
    it is left out, as it takes long to count; of several panels, too, until each one's is known.
    """
    tallies = [counted] if isinstance(counted, PanelTally) else [p.tally for p in counted.panels]
    lays = {lay_text(t.panel.lay) for t in tallies}
    lay = lays.pop() if len(lays) == 1 else _("by lay")
    known = len(tallies) == 1 or all(t.range_known for t in tallies)
    both = counted.range if ranges and known else None
    if both is None or both[0] == both[1]:
        return lay, lay
    between = units.format_count_range(*both)
    return _("{lay}, {range}").format(lay=lay, range=between), between


def all_ranges_known(project: Project) -> bool:
    """Whether the range by lay of every panel that can be counted was counted already."""
    found = (panel_figures(project, panel) for panel in project.panels)
    return all(isinstance(each, Unknown) or each.tally.range_known for each in found)


def _costume(project: Project, ranges: bool) -> dict[str, Figure]:
    if not project.panels:
        return _none(_("There is no panel yet"))
    found = costume_figures(project)
    if isinstance(found, Unknown):
        return _none(found.why)
    totals, unit = found.totals, project.unit
    count = len(project.panels)
    panels = ngettext("{n} panel", "{n} panels", count).format(n=count)
    fact, brief = lay_facts(found, ranges)
    return {
        "rings": _figure(totals.rings, units.format_count(totals.rings), fact, brief),
        "area": _figure(totals.area_mm2, units.format_area(totals.area_mm2, unit), panels),
        "edge": _figure(totals.edge, units.format_count(totals.edge), panels),
        **_bought(project, totals),
    }


def _none(why: str) -> dict[str, Figure]:
    return {key: Figure(None, "—", why=why) for key in CELLS}


def _number(text: str) -> float:
    return float(text.replace("\u202f", "").replace(units.MINUS, "-"))


def difference(now: Figure, before: Figure) -> str:
    """The signed change, in the unit the number is shown in; empty when one is not known.

    It is the difference of the two numbers as they are shown, where both have the same unit.
    """
    if now.value is None or before.value is None:
        return ""
    if now.unit == before.unit:
        change = _number(now.text) - _number(before.text)
    else:
        change = (now.value - before.value) / _IN_BASE.get(now.unit, 1.0)
    places = len(now.text.partition(".")[2])
    text = f"{abs(change):.{places}f}"
    if float(text) == 0.0:
        return "±0"
    return ("+" if change > 0 else units.MINUS) + text
