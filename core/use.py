"""How a panel is worn, and the lay that follows from it: offered, never forced."""

from __future__ import annotations

import math
from typing import Literal

from core.panel import Panel, sheet_of
from core.ring import Ring
from core.texts import _
from core.weave.lay import Lay, held_percent_range, whole_percents
from core.weave.sheet import LayKind

RowsWorn = Literal["level", "upright", "slanted"]

WIDTH_PERCENT = 90.0
"""The share of the spread width that mail held to a width begins with, where it can have it."""

NEARLY_DEG = 22.5
"""Rows within so much of level, or of upright, are called so."""


def _from_level(grain_deg: float) -> float:
    return abs((grain_deg + 90.0) % 180.0 - 90.0)


def rows_as_worn(grain_deg: float) -> RowsWorn:
    """How rows of that grain run as worn; a panel's y points down, as it is worn."""
    from_level = _from_level(grain_deg)
    if from_level <= NEARLY_DEG:
        return "level"
    return "upright" if from_level >= 90.0 - NEARLY_DEG else "slanted"


def rows_text(grain_deg: float) -> str:
    """How rows of that grain run as worn, in two words."""
    return {
        "level": _("rows level"),
        "upright": _("rows upright"),
        "slanted": _("rows slanted"),
    }[rows_as_worn(grain_deg)]


def _nearer_level(grain_deg: float) -> bool:
    return _from_level(grain_deg) <= 45.0 + 1e-9


def proposed_kind(panel: Panel) -> LayKind:
    """The kind of lay that is usual for mail held like that.

    On a pad nobody pulls mail quite taut. Hanging free its own weight draws it down: from row to
    row where rows lie within 45 degrees of level, along them where they stand nearer upright.
    Source: common practice, no source.
    """
    if panel.holding == "glued":
        return "laid"
    if panel.holding == "held":
        return "held"
    return "across" if _nearer_level(panel.grain_deg) else "along"


def width_range_percent(panel: Panel, rings: tuple[Ring, ...]) -> tuple[float, float]:
    """The narrowest and widest the panel's mail can be held to, in percent of its spread width.

    Raises as `core.weave.lay.solve_lay`.
    """
    sizes = [(ring.wire_mm, ring.inner_mm) for ring in rings]
    return held_percent_range(panel.weave, *sizes[0], *sizes[1:])


def first_width_percent(panel: Panel, rings: tuple[Ring, ...]) -> float:
    """The width that mail held to one begins with: `WIDTH_PERCENT`, or the nearest it can have.

    Raises as `core.weave.lay.solve_lay`.
    """
    low, high = width_range_percent(panel, rings)
    whole = whole_percents(low, high)[0]
    return min(max(WIDTH_PERCENT, whole if whole <= high else low), high)


def proposed_lay(panel: Panel, rings: tuple[Ring, ...]) -> Lay:
    """The lay that is usual for mail held like that; a held width that is set stays.

    Args:
        panel: its holding, grain, weave and lay matter.
        rings: the ring of each of its weave's ring kinds.

    Raises as `core.weave.lay.solve_lay`.
    """
    kind = proposed_kind(panel)
    if kind != "held":
        return Lay(kind)
    if panel.lay.kind == "held":
        return panel.lay
    return Lay("held", width_percent=first_width_percent(panel, rings))


def offered_lay(panel: Panel, rings: tuple[Ring, ...]) -> Lay | None:
    """The lay to offer instead of the panel's; None when that agrees, or was measured.

    Another name for the same sheet agrees: where mail cannot be drawn any longer, for one.
    Raises as `core.weave.lay.solve_lay`.
    """
    lay = proposed_lay(panel, rings)
    if panel.lay.kind in ("swatch", lay.kind):
        return None
    now, then = sheet_of(panel, rings), sheet_of(panel, rings, lay)
    alike = all(
        math.isclose(a, b, rel_tol=1e-9)
        for a, b in ((now.along_mm, then.along_mm), (now.across_mm, then.across_mm))
    )
    return None if alike else lay


def why_lay(panel: Panel) -> str:
    """One sentence: which lay is usual for mail held like that, and why."""
    if panel.holding == "glued":
        return _("Glued or sewn all over: laid is usual.")
    if panel.holding == "held":
        return _("Hung from a held width: held to that width is usual.")
    worn = rows_as_worn(panel.grain_deg)
    if _nearer_level(panel.grain_deg):
        if worn == "level":
            return _("Hanging, rows level: drawn across is usual.")
        if _from_level(panel.grain_deg) >= 45.0 - 1e-9:
            return _("Hanging, rows slanted: drawn across is usual.")
        return _("Hanging, rows nearer level: drawn across is usual.")
    if worn == "upright":
        return _("Hanging, rows upright: drawn along is usual.")
    return _("Hanging, rows nearer upright: drawn along is usual.")
