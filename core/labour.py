"""Hours: what each operation takes, by the default paces of the craft.

The paces are common practice without a published source, and every screen that shows hours says
so; a maker's own trials replace them.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.project import Practice
from core.texts import _


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds for each operation; `edge_factor` times the weaving of a body ring for an edge ring.

    Source: common practice, no source.
    """

    coil_setup_s: float
    wind_turn_s: float
    cut_ring_s: float
    open_close_s: float
    weave_ring_s: float
    edge_factor: float
    fix_s_per_mm2: float


PACES: dict[Practice, Pace] = {
    "practised": Pace(90, 0.4, 1.8, 3.5, 10, 1.5, 1800 / 50_000),
    "novice": Pace(200, 1.0, 4.0, 7.0, 25, 2.0, 3600 / 50_000),
}


def weaving_s(pace: Pace, body: int, edge: int, weave_factor: float) -> float:
    """Seconds to open, close and weave that many rings; edge rings go slower."""
    each = pace.weave_ring_s * weave_factor
    return (body + edge) * pace.open_close_s + (body + pace.edge_factor * edge) * each


def making_s(pace: Pace, rings: float, rings_per_coil: int) -> float:
    """Seconds to wind and cut that many rings, with their share of setting up coils."""
    each = pace.wind_turn_s + pace.cut_ring_s + pace.coil_setup_s / rings_per_coil
    return rings * each


def how(practice: Practice) -> str:
    """A sentence that says where the hours come from."""
    pace = PACES[practice]
    name = _("novice") if practice == "novice" else _("practised")
    return _(
        "Hours by common practice, no source ({name}): coil {setup:g} s, turn {turn:g} s, cut"
        " {cut:g} s, open or close {close:g} s, weave {weave:g} s, edge ring × {edge:g}, fix"
        " {fix:g} min per 500 cm². Not yet your pace."
    ).format(
        name=name,
        setup=pace.coil_setup_s,
        turn=pace.wind_turn_s,
        cut=pace.cut_ring_s,
        close=pace.open_close_s,
        weave=pace.weave_ring_s,
        edge=pace.edge_factor,
        fix=pace.fix_s_per_mm2 * 50_000 / 60,
    )
