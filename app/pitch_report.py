"""The sheet that rings make, in text and in JSON, for the command line."""

from __future__ import annotations

import math
from typing import Any

from app.reports import as_table
from core.compare import sheet_kg_m2
from core.ring import Ring
from core.tally import lay_names
from core.texts import _
from core.units import MM2_PER_DM2, format_length
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.families import Rings
from core.weave.lay import (
    Lay,
    held_percent_range,
    least_inner_mm,
    limit_aspect_ratio,
    whole_percents,
)
from core.weave.sheet import SolvedLay


def _kinds_data(weave: Weave, sizes: Rings) -> list[dict[str, Any]]:
    least = least_inner_mm(weave, sizes)
    data = []
    for at, (name, size) in enumerate(zip(weave.kinds, sizes, strict=True)):
        inner_mm = size.aspect_ratio * size.wire
        data.append(
            {
                "kind": name,
                "wire_mm": size.wire,
                "inner_mm": inner_mm,
                "aspect_ratio": size.aspect_ratio,
                "least_inner_mm": least[at],
                "limit_aspect_ratio": least[at] / size.wire,
                "feasible": inner_mm >= least[at] * (1 - 1e-9),
                "share": weave.share(at),
            }
        )
    return data


def infeasible_data(weave: Weave, sizes: Rings, lay: Lay) -> dict[str, Any]:
    """The answer for rings of which one is below the weave's limit."""
    return {
        "aspect_ratio": sizes[0].aspect_ratio,
        "limit_aspect_ratio": limit_aspect_ratio(weave.id),
        "feasible": False,
        "along_mm": None,
        "across_mm": None,
        "lean_deg": None,
        "thickness_mm": None,
        "area_per_ring_mm2": None,
        "cover": None,
        "weave": weave.id,
        "lay": lay.kind,
        "width_percent": lay.width_percent,
        "held_percent": None,
        "kinds": _kinds_data(weave, sizes),
        "rings_per_dm2": None,
        "kg_per_m2": None,
    }


def pitch_data(solved: SolvedLay, lay: Lay, rings: tuple[Ring, ...] | None) -> dict[str, Any]:
    """A solved sheet for JSON.

    Args:
        solved: the sheet.
        lay: the lay asked for.
        rings: the ring of each ring kind, or None when the metal is not known.
    """
    weave = find_weave(solved.weave)
    return {
        "aspect_ratio": solved.aspect_ratio,
        "limit_aspect_ratio": limit_aspect_ratio(weave.id),
        "feasible": solved.feasible,
        "along_mm": solved.along_mm,
        "across_mm": solved.across_mm,
        "lean_deg": math.degrees(solved.lean_rad),
        "thickness_mm": solved.thickness_mm,
        "area_per_ring_mm2": solved.area_per_ring_mm2,
        "cover": solved.cover,
        "weave": weave.id,
        "lay": lay.kind,
        "width_percent": lay.width_percent,
        "held_percent": list(_held(solved)),
        "kinds": _kinds_data(weave, solved.rings_mm),
        "rings_per_dm2": MM2_PER_DM2 / solved.area_per_ring_mm2,
        "kg_per_m2": None if rings is None else sheet_kg_m2(solved, rings),
    }


def _held(solved: SolvedLay) -> tuple[float, float]:
    one, *others = ((r.wire, r.aspect_ratio * r.wire) for r in solved.rings_mm)
    return held_percent_range(solved.weave, *one, others[0] if others else None)


def pitch_text(solved: SolvedLay, lay: Lay, rings: tuple[Ring, ...] | None) -> str:
    """A solved sheet as lines; arguments as for `pitch_data`."""
    weave = find_weave(solved.weave)
    shown = lay_names()[lay.kind]
    if lay.width_percent is not None:
        shown = _("{lay}: {percent:g} % of the spread width").format(
            lay=shown, percent=lay.width_percent
        )
    rows = [(_("Weave"), _(weave.name)), (_("Lay"), shown)]
    several = len(weave.kinds) > 1
    least = least_inner_mm(weave, solved.rings_mm)
    for name, size, least_mm in zip(weave.kinds, solved.rings_mm, least, strict=True):
        head = _(name)
        if several:
            inner = format_length(size.aspect_ratio * size.wire, places=3)
            needs = format_length(least_mm, places=3)
            rows.append(
                (
                    head[:1].upper() + head[1:],
                    _("⌀{wire:.3f} × {inner}, needs {least} or more inside").format(
                        wire=size.wire, inner=inner, least=needs
                    ),
                )
            )
    limit = limit_aspect_ratio(weave.id)
    shown_limit = f"{limit:.3f}"
    if several:
        shown_limit = _("{limit:.3f} with like rings").format(limit=limit)
    low, high = whole_percents(*_held(solved))
    rows += [
        (_("Inner ÷ wire"), f"{solved.aspect_ratio:.3f}"),
        (_("Limit of the weave"), shown_limit),
        (_("Along"), format_length(solved.along_mm, places=3)),
        (_("Across"), format_length(solved.across_mm, places=3)),
        (_("Can be held to"), _("{low} to {high} % of the spread width").format(
            low=low, high=high
        )),
        (_("Thickness"), format_length(solved.thickness_mm)),
        (_("Area per ring"), f"{solved.area_per_ring_mm2:.2f} mm²"),
        (_("Rings per dm²"), f"{MM2_PER_DM2 / solved.area_per_ring_mm2:.0f}"),
        (_("Cover"), f"{solved.cover * 100:.0f} %"),
    ]  # fmt: skip
    if not several:
        rows.insert(6, (_("Lean"), f"{math.degrees(solved.lean_rad):.1f}°"))
    if rings is not None:
        rows.append((_("kg per m²"), f"{sheet_kg_m2(solved, rings):.2f}"))
    return as_table([list(row) for row in rows])
