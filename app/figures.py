"""Counts for the views: what core derives, or the reason why it cannot."""

from __future__ import annotations

from dataclasses import dataclass

from app.messages import sentence
from core.errors import RingloftError
from core.estimate import (
    Estimate,
    PanelEstimate,
    estimate,
    estimate_for,
    how_alone,
    how_totals,
    panel_estimate,
)
from core.labour import how as how_hours
from core.panel import Panel
from core.project import Project
from core.texts import _
from core.units import SPACE, format_count


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
    try:
        alone = how_alone(project, panel)
    except RingloftError as error:
        return (*found.how(project.unit), sentence(str(error)))
    return (*found.how(project.unit), *alone, how_hours(project.practice))
