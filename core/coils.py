"""Coils and spools: how much wire to wind, how often, and how much to buy."""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.errors import BadValue
from core.project import Practice
from core.ring import Ring, Spool
from core.texts import _

MANDREL_USABLE_MM: dict[Practice, float] = {"practised": 200.0, "novice": 150.0}
"""Usable length of a rod held in a drill. Source: common practice, no source."""

TAILS_MM: dict[Practice, float] = {"practised": 60.0, "novice": 120.0}
"""Wire lost at the ends of each coil. Source: common practice, no source."""

END_RINGS = 1
"""Rings lost per coil: the turn that holds the bent end. Source: common practice, no source."""


@dataclass(frozen=True, slots=True)
class CoilPlan:
    """Coils for a number of rings.

    Attributes:
        turns: turns of a full coil on the mandrel.
        rings_per_coil: good rings a full coil gives.
        feed_mm: wire to feed for a full coil, tails included.
        coils: how many coils, the last one perhaps short.
        last_feed_mm: wire to feed for the last coil.
    """

    turns: int
    rings_per_coil: int
    feed_mm: float
    coils: int
    last_feed_mm: float

    @property
    def wire_mm(self) -> float:
        """Wire for all coils."""
        return 0.0 if not self.coils else (self.coils - 1) * self.feed_mm + self.last_feed_mm


def coil_plan(ring: Ring, rings: int, practice: Practice) -> CoilPlan:
    """Close-wound coils on the usable length of a mandrel, enough for `rings` good rings."""
    kept = ring.turns_kept
    turns = max(1, math.floor(MANDREL_USABLE_MM[practice] / ring.wire_mm))
    per_coil = math.floor(turns * kept + 1e-9) - END_RINGS
    if per_coil < 1:
        raise BadValue(
            _("A coil on this mandrel gives no whole ring"),
            do=_("Use a longer mandrel or a thinner wire"),
        )
    tails = TAILS_MM[practice]
    feed = turns * ring.turn_on_mandrel_mm + tails
    if rings <= 0:
        return CoilPlan(turns, per_coil, feed, 0, 0.0)
    coils = -(-rings // per_coil)
    last = rings - (coils - 1) * per_coil
    last_turns = min(turns, math.ceil((last + END_RINGS) / kept - 1e-9))
    return CoilPlan(turns, per_coil, feed, coils, last_turns * ring.turn_on_mandrel_mm + tails)


def spool_length_mm(spool: Spool, ring: Ring) -> float:
    """Wire on one spool, from its length or, when sold by mass, from the metal's density."""
    if spool.length_mm is not None:
        length = spool.length_mm
    elif spool.mass_g is not None:
        section_mm2 = math.pi * ring.wire_mm**2 / 4
        length = spool.mass_g * 1000 / (section_mm2 * ring.metal.density_g_cm3)
    else:
        raise BadValue(_("The spool has neither a length nor a mass"), do=_("Type one of them"))
    if not (math.isfinite(length) and length > 0):
        raise BadValue(_("A spool must hold some wire"), do=_("Type its length or its mass"))
    return length


def spools_needed(plan: CoilPlan, spool_mm: float) -> int:
    """Spools for those coils, without a join inside a coil.

    The last, short coil comes from what is left on the last spool when that is long enough.
    """
    if not plan.coils:
        return 0
    per_spool = math.floor(spool_mm / plan.feed_mm + 1e-9)
    if plan.coils == 1 and plan.last_feed_mm <= spool_mm + 1e-9:
        return 1
    if per_spool < 1:
        raise BadValue(
            _("One spool of {spool:.1f} m is shorter than one coil of {feed:.1f} m").format(
                spool=spool_mm / 1000, feed=plan.feed_mm / 1000
            ),
            do=_("Choose a longer spool"),
        )
    full = plan.coils - 1
    spools = -(-full // per_spool)
    on_the_last = full - (spools - 1) * per_spool if spools else 0
    fits = spools and plan.last_feed_mm <= spool_mm - on_the_last * plan.feed_mm + 1e-9
    return spools if fits else spools + 1
