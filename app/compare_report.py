"""Rings and weaves compared, in text and in JSON; the words are those of the window, too."""

from __future__ import annotations

from typing import Any

from app.reports import as_table
from core.compare import MEASURES, Column, ratios
from core.project import Project
from core.ring import Ring
from core.tally import lay_names
from core.texts import _
from core.units import (
    format_count,
    format_count_range,
    format_hours,
    format_length,
    format_mass,
    format_wire_length,
)

N_PER_LBF = 4.4482216152605
"""Pound-force in newtons: the exact pound, 0.45359237 kg, times 9.80665 m/s²."""


def measure_names() -> dict[str, str]:
    """What each compared measure is called."""
    return {
        "rings": _("Rings"),
        "mass_g": _("Weight"),
        "wire_mm": _("Wire needed"),
        "spools": _("Spools"),
        "cost": _("Wire cost"),
        "hours": _("Hours"),
        "cover": _("Cover"),
        "thickness_mm": _("Thickness"),
        "stretch_across": _("Stretch across"),
        "stretch_along": _("Stretch along"),
        "cut_effort": _("Effort to cut"),
        "close_effort": _("Effort to close"),
        "opening_pull_n": _("Pull that opens a ring"),
    }


SHEET_MEASURES = ("cover", "thickness_mm", "stretch_across", "stretch_along")
"""What a sheet is like; of several panels, the first one's."""

LONGEST_NAME = 18


def sheet_panel(columns: tuple[Column, ...]) -> str | None:
    """The panel whose sheet is compared, where the panels' sheets differ; else None."""
    for column in columns:
        panels = () if column.counted is None else column.counted.panels
        if len({(p.tally.solved.weave, p.tally.solved.cover) for p in panels}) > 1:
            return panels[0].tally.panel.name
    return None


def measure_name(measure: str, columns: tuple[Column, ...]) -> str:
    """What a row is called; one that speaks of a single panel of several names it."""
    name, of = measure_names()[measure], None
    if measure in SHEET_MEASURES:
        of = sheet_panel(columns)
    if of is None:
        return name
    short = of if len(of) <= LONGEST_NAME else f"{of[: LONGEST_NAME - 1]}…"
    return _("{measure}, {panel}").format(measure=name, panel=short)


def measure_text(measure: str, value: float | None, first: float | None, project: Project) -> str:
    """A compared value as shown; efforts are shown relative to the first ring's."""
    if value is None:
        return "—"
    if measure in ("cut_effort", "close_effort"):
        return f"{value / first:.2f}" if first else "—"
    shown = {
        "rings": lambda: format_count(round(value)),
        "mass_g": lambda: format_mass(value, project.unit),
        "wire_mm": lambda: format_wire_length(value, project.unit),
        "spools": lambda: format_count(round(value)),
        "cost": lambda: f"{project.currency}{value:.2f}",
        "hours": lambda: format_hours(value),
        "cover": lambda: f"{value * 100:.0f} %",
        "thickness_mm": lambda: format_length(value, project.unit),
        "stretch_across": lambda: f"{value * 100:.0f} %",
        "stretch_along": lambda: f"{value * 100:.0f} %",
        "opening_pull_n": lambda: (
            f"{value / N_PER_LBF:.1f} lbf" if project.unit == "in" else f"{value:.0f} N"
        ),
    }
    return shown[measure]()


def lays_text(column: Column) -> str:
    """The lays of what is compared, such as "laid" or "laid and spread"."""
    return listed([lay_names()[kind] for kind in column.lays or (column.lay.kind,)])


def listed(parts: list[str]) -> str:
    """Parts as a list in a sentence: "a", "a and b", "a, b and c"."""
    if len(parts) == 1:
        return parts[0]
    return _("{first} and {last}").format(first=", ".join(parts[:-1]), last=parts[-1])


def range_text(column: Column, words: str = "") -> str:
    """The fewest and most rings by lay, or that they are settled; "—" when there are none.

    Args:
        column: whose.
        words: a text with {low} and {high}, instead of "low to high".
    """
    if column.counted is None:
        return "—"
    if column.range is None:
        return _("measured")
    return format_count_range(*column.range, words)


def compare_data(scope: str, columns: tuple[Column, ...]) -> dict[str, Any]:
    """The comparison for JSON; `ratio` is each column's value over the first column's.

    Of a column, `weave` is None where every panel keeps its own, and `upright` is the ring that
    was named to stand upright, else None; `low` and `high` are the fewest and most rings by lay.
    `sheet_panel` is the panel that cover, thickness and stretch are of, where panels differ.
    """
    every = {m: ratios(columns, m) for m in MEASURES}
    return {
        "compared": scope,
        "weave": columns[0].weave.id,
        "lay": columns[0].lay.kind,
        "sheet_panel": sheet_panel(columns),
        "rings": [
            {
                "name": column.spec.name,
                "metal": column.spec.metal,
                "wire_mm": column.spec.wire_mm,
                "inner_mm": None if column.ring is None else column.ring.inner_mm,
                "aspect_ratio": None if column.ring is None else column.ring.aspect_ratio,
                "problem": None if column.problem is None else str(column.problem),
                "values": column.values,
                "ratio": {m: every[m][i] for m in MEASURES},
                "weave": column.choice.weave,
                "upright": None if column.choice.upright is None else column.choice.upright.name,
                "lays": list(column.lays),
                "low": column.range and column.range[0],
                "high": column.range and column.range[1],
            }
            for i, column in enumerate(columns)
        ],
    }


def compare_text(scope: str, columns: tuple[Column, ...], project: Project) -> str:
    """The comparison as a table: each column's value, then its ratio to the first."""
    letters = "ABCD"[: len(columns)]
    head = ["", "A"]
    for letter in letters[1:]:
        head += [letter, f"{letter} ÷ A"]
    rows = [head]
    for measure in MEASURES:
        first = columns[0].values[measure]
        row = [measure_name(measure, columns), measure_text(measure, first, first, project)]
        over = ratios(columns, measure)
        for i, column in enumerate(columns[1:], start=1):
            ratio = over[i]
            row += [
                measure_text(measure, column.values[measure], first, project),
                "—" if ratio is None else f"{ratio:.2f}",
            ]
        rows.append(row)
        if measure == "rings":
            for name, of in ((_("Lay"), lays_text), (_("Rings by lay"), range_text)):
                texts = [of(column) for column in columns]
                rows.append([name, texts[0], *(t for text in texts[1:] for t in (text, ""))])
    return "\n".join([scope, *_legend(letters, columns), "", as_table(rows, right_from=1)])


def _legend(letters: str, columns: tuple[Column, ...]) -> list[str]:
    """What each letter stands for."""
    lines = []
    for letter, column in zip(letters, columns, strict=True):
        if column.ring is None or column.counted is None:
            continue
        woven = dict.fromkeys(p.tally.weave.name for p in column.counted.panels)
        line = f"{letter}  {ring_line(column.ring)}; " + ", ".join(_(name) for name in woven)
        uprights = {
            (r.wire_mm, r.inner_mm): r
            for p in column.counted.panels
            for r in p.tally.rings[1:]
            if r != column.ring
        }
        for ring in uprights.values():
            line += _("; upright ⌀{wire:.2f} × {inner:.2f} mm").format(
                wire=ring.wire_mm, inner=ring.inner_mm
            )
        lines.append(line)
    return lines


def ring_line(ring: Ring) -> str:
    """One line that names a ring by its measures."""
    return _("⌀{wire:.2f} × {inner:.2f} mm, {metal}, inner ÷ wire {ratio:.2f}").format(
        wire=ring.wire_mm, inner=ring.inner_mm, metal=_(ring.metal.name), ratio=ring.aspect_ratio
    )
