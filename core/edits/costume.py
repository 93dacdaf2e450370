"""Edits of the costume as a whole: its name, its unit and how its makers count."""

from __future__ import annotations

from dataclasses import replace

from core.edits.common import Edit
from core.errors import BadValue
from core.project import Practice, Unit
from core.texts import _


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
