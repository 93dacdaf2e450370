"""What every edit is, and the two parts many of them share."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from core.errors import BadValue
from core.outline import MAX_SPAN_MM
from core.panel import Panel
from core.project import Project
from core.texts import _

Edit = Callable[[Project], Project]


def swap_panel(project: Project, panel_id: int, change: Callable[[Panel], Panel]) -> Project:
    """The project with one panel changed; itself when the panel stays equal."""
    before = project.panel(panel_id)
    after = change(before)
    if after == before:
        return project
    return replace(project, panels=tuple(after if p.id == panel_id else p for p in project.panels))


def finite(*values: float) -> None:
    """Refuse places, in mm, that no panel reaches."""
    if not all(math.isfinite(v) and abs(v) <= MAX_SPAN_MM for v in values):
        raise BadValue(
            _("A place must lie within {n} mm of the middle").format(n=f"{MAX_SPAN_MM:.0f}"),
            do=_("Check the number and its unit"),
        )
