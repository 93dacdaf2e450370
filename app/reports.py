"""Answers in text and in JSON, for the command line.

JSON carries numbers unrounded, with the unit in each key, beside ``schema``; keys are only ever
added under one schema number.
"""

from __future__ import annotations

import math
from typing import Any

from app.measured import hold_data, pace_data, spare_source, swatch_data
from core.estimate import Estimate, PanelEstimate, how_hold, how_totals
from core.labour import how as how_hours
from core.labour import own_pace
from core.project import Project
from core.ring import Ring
from core.tally import lay_names
from core.texts import _, ngettext
from core.units import (
    format_area,
    format_count,
    format_count_range,
    format_hours,
    format_length,
    format_mass,
    format_wire,
    format_wire_length,
)
from core.weave.cells import WEAVES
from core.weave.lay import limit_aspect_ratio
from core.wire import metal

SCHEMA = 1

# --- ring -----------------------------------------------------------------------------------


def ring_data(ring: Ring) -> dict[str, Any]:
    """A ring's numbers for JSON."""
    low, high = ring.inner_range_mm
    return {
        "wire_mm": ring.wire_mm,
        "mandrel_mm": ring.mandrel_mm,
        "inner_mm": ring.inner_mm,
        "inner_low_mm": low,
        "inner_high_mm": high,
        "outer_mm": ring.outer_mm,
        "aspect_ratio": ring.aspect_ratio,
        "wire_per_ring_mm": ring.wire_per_ring_mm,
        "mass_g": ring.mass_g,
    }


def ring_text(ring: Ring) -> str:
    """A ring's numbers as lines."""
    low, high = ring.inner_range_mm
    rows = [
        (_("Wire"), format_length(ring.wire_mm, places=3)),
        (_("Mandrel"), format_length(ring.mandrel_mm or math.nan, places=3)),
        (
            _("Inner ⌀"),
            _("{mm} expected, {low:.2f} to {high:.2f} likely").format(
                mm=format_length(ring.inner_mm, places=3), low=low, high=high
            ),
        ),
        (_("Outer ⌀"), format_length(ring.outer_mm, places=3)),
        (_("Inner ÷ wire"), f"{ring.aspect_ratio:.2f}{_too_tight(ring)}"),
        (_("Wire in one ring"), format_length(ring.wire_per_ring_mm)),
        (_("Mass of one ring"), format_mass(ring.mass_g)),
    ]
    return as_table([list(row) for row in rows])


def _too_tight(ring: Ring) -> str:
    """A remark beside a ring too narrow for any weave of rings like it."""
    limit = min(limit_aspect_ratio(key) for key in WEAVES)
    if ring.aspect_ratio >= limit:
        return ""
    words = _("(too tight: no weave of like rings can be made below {limit:.2f})")
    return " " + words.format(limit=limit)


# --- tally -----------------------------------------------------------------------------------


def _kinds_data(project: Project, panel: PanelEstimate) -> list[dict[str, Any]]:
    tally = panel.tally
    return [
        {
            "kind": kind,
            "ring": project.ring(ring_id).name,
            "ring_id": ring_id,
            "rings": rings,
        }
        for kind, ring_id, rings in zip(
            tally.weave.kinds, tally.panel.ring_ids, tally.by_kind, strict=True
        )
    ]


def _panel_data(project: Project, panel: PanelEstimate) -> dict[str, Any]:
    tally = panel.tally
    return {
        "name": tally.panel.name,
        "copies": tally.panel.copies,
        "area_mm2": tally.area_mm2,
        "perimeter_mm": tally.perimeter_mm,
        "rings": {
            "body": tally.body,
            "edge": tally.edge,
            "dangling": tally.dangling,
            "per_copy": tally.per_copy,
            "total": tally.total,
            "low": tally.range and tally.range[0],
            "high": tally.range and tally.range[1],
        },
        "links": tally.fill.links(),
        "edges": [
            {
                "name": edge.name,
                "length_mm": edge.length_mm,
                "edging": edge.edging,
                "rings": edge.rings,
            }
            for edge in tally.edges
        ],
        "mass_g": panel.mass_g,
        "wire_mm": panel.wire_mm,
        "hours": panel.hours,
        "weaving_hours": panel.weaving_h,
        "pace": pace_data(panel.pace),
        "hold": hold_data(project, tally.panel),
        "weave": tally.weave.id,
        "lay": tally.panel.lay.kind,
        "width_percent": tally.panel.lay.width_percent,
        "kinds": _kinds_data(project, panel),
    }


def tally_data(project: Project, result: Estimate) -> dict[str, Any]:
    """A costume's counts for JSON.

    Of a panel, `rings.body` are the places on the panel and `rings.dangling` those left empty, so
    per_copy = body + edge - dangling; `mass_g`, `wire_mm` and `hours` are for all its copies,
    without spare and tails. `totals.wire_mm` is the wire to buy, spare and tails included.
    """
    totals = result.totals
    return {
        "project": project.name,
        "panels": [_panel_data(project, panel) for panel in result.panels],
        "seams": [],
        "swatches": [swatch_data(project, trial) for trial in project.swatches],
        "totals": {
            "rings": totals.rings,
            "low": (result.range or (totals.rings,) * 2)[0],
            "high": (result.range or (totals.rings,) * 2)[1],
            "spare": totals.spare,
            "wire_mm": totals.wire_mm,
            "spools": totals.spools,
            "mass_g": totals.mass_g,
            "cost": totals.cost,
            "hours": totals.hours,
        },
    }


def tally_text(project: Project, result: Estimate) -> str:
    """A costume's counts as a table."""
    unit = project.unit
    head = [_("Panel"), _("copies"), _("rings"), _("edge"), _("left out"), _("area"), _("weight"),
            _("wire"), _("hours")]  # fmt: skip
    rows = [head]
    for panel in result.panels:
        tally = panel.tally
        copies = tally.panel.copies
        rows.append(
            [
                tally.panel.name,
                f"× {copies}",
                format_count(tally.total),
                format_count(tally.edge * copies),
                format_count(tally.dangling * copies),
                format_area(tally.area_mm2 * copies, unit),
                format_mass(panel.mass_g, unit),
                format_wire_length(panel.wire_mm, unit),
                format_hours(panel.hours),
            ]
        )
    totals = result.totals
    lines = [project.name or _("Costume without a name"), "", as_table(rows, right_from=1), ""]
    if result.panels:
        lines += [*(_woven_line(project, panel) for panel in result.panels), ""]
    lines.append(
        _("All: {rings} rings ({range} by lay, until a swatch is measured)").format(
            rings=format_count(totals.rings), range=format_count_range(*result.range)
        )
        if result.range and result.range[0] < result.range[1]
        else _("All: {rings} rings").format(rings=format_count(totals.rings))
    )
    lines.append(
        _(
            "{mass} as worn; needs {wire} of wire, {spare} spare rings included: buy {spools}"
        ).format(
            mass=format_mass(totals.mass_g, unit),
            wire=format_wire_length(totals.wire_mm, unit),
            spools=spools_text(totals.spools),
            spare=format_count(totals.spare),
        )
    )
    cost = "—" if totals.cost is None else f"{project.currency}{totals.cost:.2f}"
    about = (
        _(
            "Wire cost {cost}; about {hours} of work: woven at your pace, the rest by common"
            " practice, not yet your pace"
        )
        if own_pace(project)
        else _("Wire cost {cost}; about {hours} of work by common practice, not yet your pace")
    )
    lines.append(about.format(cost=cost, hours=format_hours(totals.hours)))
    return "\n".join(lines)


def _woven_line(project: Project, panel: PanelEstimate) -> str:
    """How a panel is woven: its weave and lay, and its rings by kind where there are two."""
    tally = panel.tally
    lay = lay_names()[tally.panel.lay.kind]
    if tally.panel.lay.width_percent is not None:
        lay = _("{lay}, {percent:g} % of the spread width").format(
            lay=lay, percent=tally.panel.lay.width_percent
        )
    line = _("{panel}: {weave}, {lay}").format(
        panel=tally.panel.name, weave=_(tally.weave.name), lay=lay
    )
    if len(tally.rings) == 1:
        return line
    kinds = [
        _("{n} × {kind} ({ring})").format(
            n=format_count(rings), kind=_(kind), ring=project.ring(ring_id).name
        )
        for kind, ring_id, rings in zip(
            tally.weave.kinds, tally.panel.ring_ids, tally.by_kind, strict=True
        )
    ]
    return f"{line}; {', '.join(kinds)}"


def explain(project: Project, result: Estimate) -> list[str]:
    """How each number came about, one sentence an entry."""
    lines: list[str] = []
    for panel in result.panels:
        lines.append(f"{panel.tally.panel.name}:")
        rings = dict.fromkeys(line for ring in panel.tally.rings for line in ring.how())
        how = (*rings, *panel.tally.how(project.unit), *panel.how(project.unit))
        lines += [f"  {line}" for line in how]
    lines += [_("Costume:"), *(f"  {line}" for line in how_totals(project, result))]
    return lines


# --- plan ------------------------------------------------------------------------------------


def plan_data(project: Project, result: Estimate) -> dict[str, Any]:
    """Counts and what to buy, for JSON."""
    data = tally_data(project, result)
    data["buy"] = [
        {
            "ring": project.ring(need.ring_id).name,
            "rings": need.rings,
            "spare": need.spare,
            "spare_source": spare_source(project, need),
            "turns_per_coil": need.coils.turns,
            "rings_per_coil": need.coils.rings_per_coil,
            "feed_mm": need.coils.feed_mm,
            "coils": need.coils.coils,
            "last_feed_mm": need.coils.last_feed_mm,
            "wire_mm": need.coils.wire_mm,
            "spool_mm": need.spool_mm,
            "spools": need.spools,
            "cost": need.cost,
        }
        for need in result.rings
        if need.rings
    ]
    return data


def plan_text(project: Project, result: Estimate) -> str:
    """Counts, then for each ring what to buy and how to wind it."""
    lines = [tally_text(project, result)]
    for need in result.rings:
        if not need.rings:
            continue
        spec = project.ring(need.ring_id)
        plan = need.coils
        shown = format_wire(spec.wire_mm, spec.wire_label, project.unit)
        cost = "" if need.cost is None else f", {project.currency}{need.cost:.2f}"
        lines += [
            "",
            _("{name}: {metal}, wire {wire}").format(
                name=spec.name,
                metal=_(metal(spec.metal).name),
                wire=shown,
            ),
            _("  buy   {spools} of {spool}{cost}").format(
                spools=spools_text(need.spools),
                spool=format_wire_length(need.spool_mm, project.unit),
                cost=cost,
            ),
            ngettext(
                "  wind  {coils} coil, {turns} turns at most; feed {last} of wire",
                "  wind  {coils} coils of {turns} turns; feed {feed} of wire for each, {last} for"
                " the last",
                plan.coils,
            ).format(
                coils=plan.coils,
                turns=plan.turns,
                feed=format_wire_length(plan.feed_mm, project.unit),
                last=format_wire_length(plan.last_feed_mm, project.unit),
            ),
            _("  cut   {per} rings from a coil: {rings} to weave and {spare} spare").format(
                per=plan.rings_per_coil,
                rings=format_count(need.rings),
                spare=format_count(need.spare),
            ),
        ]
    used = tuple(p.tally.panel for p in result.panels)
    lines += ["", how_hours(project, used), *how_hold(project, used), "", *cautions()]
    return "\n".join(lines)


def spools_text(spools: int) -> str:
    """A number of spools in words."""
    return ngettext("{n} spool", "{n} spools", spools).format(n=format_count(spools))


def cautions() -> list[str]:
    """The usual cautions for winding and cutting; local rules and licensed practice come first."""
    return [
        _("Winding: no gloves, loose sleeves or hair near a turning mandrel; the free end whips."),
        _("Cutting: wear eye protection and clip the ends inside a bag or box."),
        _("Zinc: never heat or weld galvanized wire. Follow local rules and licensed practice."),
        _("Costume mail is not protective equipment."),
    ]


def as_table(rows: list[list[str]], right_from: int = 99) -> str:
    """Rows as columns of text, right-aligned from a column on."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell.rjust(width) if i >= right_from else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)
