"""Counts for the views: what core derives, or the reason why it cannot."""

from __future__ import annotations

from dataclasses import dataclass

from core.errors import RingloftError
from core.estimate import (
    Estimate,
    PanelEstimate,
    estimate,
    how_totals,
    panel_estimate,
    ring_estimate,
)
from core.labour import how as how_hours
from core.panel import Panel
from core.project import Project
from core.texts import _
from core.units import SPACE, format_count, format_hours, format_mass, format_wire_length


@dataclass(frozen=True, slots=True)
class Unknown:
    """A number that cannot be had, and why."""

    why: str


def panel_figures(project: Project, panel: Panel) -> PanelEstimate | Unknown:
    """What one panel takes; remembered by core while panel and ring stay."""
    try:
        return panel_estimate(project, panel)
    except RingloftError as error:
        return Unknown(str(error))


def costume_figures(project: Project) -> Estimate | Unknown:
    """What the whole costume takes."""
    try:
        return estimate(project)
    except RingloftError as error:
        return Unknown(str(error))


def split_unit(text: str) -> tuple[str, str]:
    """Number and unit of a formatted quantity."""
    number, gap, unit = text.rpartition(SPACE)
    return (number, unit) if gap else (text, "")


def count_range(low: int, high: int) -> str:
    """Both ends of a range, or the one number when they are alike."""
    if low == high:
        return format_count(low)
    return _("{low} to {high}").format(low=format_count(low), high=format_count(high))


def how_panel(project: Project, panel: Panel) -> tuple[str, ...]:
    """Sentences that say how a panel's count came about, or why there is none."""
    found = panel_figures(project, panel)
    return (found.why,) if isinstance(found, Unknown) else found.tally.how()


def how_costume(project: Project) -> tuple[str, ...]:
    """Sentences that say how the costume's totals came about, or why there are none."""
    found = costume_figures(project)
    return (found.why,) if isinstance(found, Unknown) else how_totals(project, found)


def how_panel_numbers(project: Project, panel: Panel) -> tuple[str, ...]:
    """Sentences that say how a panel's weight, wire, spools and hours came about."""
    found = panel_figures(project, panel)
    if isinstance(found, Unknown):
        return (found.why,)
    ring, rings = found.tally.ring, found.tally.total
    lines = [
        _("{n} rings × {each} = {all}, as worn, without spare rings.").format(
            n=format_count(rings), each=format_mass(ring.mass_g), all=format_mass(found.mass_g)
        ),
        _("{n} rings × {each} of wire = {all}, before tails and spare rings.").format(
            n=format_count(rings),
            each=format_wire_length(ring.wire_per_ring_mm, project.unit),
            all=format_wire_length(found.wire_mm, project.unit),
        ),
    ]
    try:
        need = ring_estimate(project, project.ring(panel.ring_id), (found,))
    except RingloftError as error:
        lines.append(str(error))
    else:
        lines.append(
            _(
                "This panel alone, with {spare} spare rings: {coils} coils of {turns} turns,"
                " {wire} from {spools} spools of {spool}, without a join inside a coil."
            ).format(
                spare=format_count(need.spare),
                coils=format_count(need.coils.coils),
                turns=need.coils.turns,
                wire=format_wire_length(need.coils.wire_mm, project.unit),
                spools=format_count(need.spools),
                spool=format_wire_length(need.spool_mm, project.unit),
            )
        )
    lines.append(
        _("{hours} to wind, cut, weave and fix it.").format(hours=format_hours(found.hours))
        if panel.glued
        else _("{hours} to wind, cut and weave it.").format(hours=format_hours(found.hours))
    )
    return (*lines, how_hours(project.practice))
