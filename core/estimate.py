"""What to buy and how long it takes: weight, wire, coils, spools, cost and hours."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from core.errors import BadValue, RingloftError
from core.labour import PACES, making_s, weaving_s
from core.labour import how as how_hours
from core.memo import memo_by_identity
from core.panel import Panel
from core.project import Practice, Project
from core.ring import Ring, RingSpec, Spool, resolve
from core.tally import PanelTally, tally_panel
from core.texts import _
from core.units import format_count, format_hours, format_mass, format_wire_length

SPARE_PERCENT: dict[Practice, float] = {"practised": 5.0, "novice": 12.0}
"""Source: common practice, no source (5 % practised, 10 to 15 % novice)."""

SPARE_AT_LEAST: dict[Practice, int] = {"practised": 0, "novice": 50}
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


@dataclass(frozen=True, slots=True)
class RingEstimate:
    """What one of the costume's rings needs: woven and spare rings, coils, wire, spools, cost."""

    ring_id: int
    rings: int
    spare: int
    coils: CoilPlan
    spool_mm: float
    spools: int
    cost: float | None


@dataclass(frozen=True, eq=False)
class PanelEstimate:
    """One panel, all copies, without spare rings and tails.

    Attributes:
        mass_g: as worn.
        wire_mm: wire in its rings.
        making_h: hours to wind and cut its rings.
        weaving_h: hours to open, close and weave them.
        fixing_h: hours to glue or sew it to its pad; 0 when it hangs free.
    """

    tally: PanelTally
    mass_g: float
    wire_mm: float
    making_h: float
    weaving_h: float
    fixing_h: float

    @property
    def hours(self) -> float:
        """All hours for this panel."""
        return self.making_h + self.weaving_h + self.fixing_h

    def how(self, unit: str) -> tuple[str, ...]:
        """Sentences that say how weight, wire and hours came about, in the unit "mm" or "in"."""
        ring, rings = self.tally.ring, format_count(self.tally.total)
        return (
            _("{n} rings × {each} = {all}, as worn, without spare rings.").format(
                n=rings, each=format_mass(ring.mass_g, unit), all=format_mass(self.mass_g, unit)
            ),
            _("{n} rings × {each} of wire = {all}, before tails and spare rings.").format(
                n=rings,
                each=format_wire_length(ring.wire_per_ring_mm, unit),
                all=format_wire_length(self.wire_mm, unit),
            ),
            _(
                "{making:.1f} h to wind and cut + {weaving:.1f} h to open, close and weave +"
                " {fixing:.1f} h to fix to the pad = {all:.1f} h."
            ).format(
                making=self.making_h,
                weaving=self.weaving_h,
                fixing=self.fixing_h,
                all=self.hours,
            ),
        )


@dataclass(frozen=True, slots=True)
class Totals:
    """The costume as a whole.

    `rings` are woven; `wire_mm` is the wire to buy, `mass_g` the mail as worn; `cost` is None while
    a price is missing; `hours` include making the spare rings.
    """

    rings: int
    spare: int
    area_mm2: float
    edge: int
    wire_mm: float
    spools: int
    mass_g: float
    cost: float | None
    hours: float


@dataclass(frozen=True, eq=False)
class Estimate:
    """Everything to know before buying."""

    panels: tuple[PanelEstimate, ...]
    rings: tuple[RingEstimate, ...]
    totals: Totals

    @cached_property
    def range(self) -> tuple[int, int] | None:
        """The fewest and most rings by lay; None when swatches settle every panel's."""
        ranges = [p.tally.range for p in self.panels]
        if not any(ranges):
            return None
        sure = sum(p.tally.total for p in self.panels if p.tally.range is None)
        return (
            sure + sum(r[0] for r in ranges if r is not None),
            sure + sum(r[1] for r in ranges if r is not None),
        )


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


def spare_rings(rings: int, project: Project) -> int:
    """Spare for a number of rings: the maker's own share, else the practice's default."""
    if rings == 0:
        return 0
    if project.spare_percent is not None:
        return math.ceil(rings * project.spare_percent / 100 - 1e-9)
    share = math.ceil(rings * SPARE_PERCENT[project.practice] / 100 - 1e-9)
    return max(share, SPARE_AT_LEAST[project.practice])


@memo_by_identity
def estimate_panel(panel: Panel, spec: RingSpec, practice: Practice) -> PanelEstimate:
    """Weight, wire and hours of one panel, all copies. Raises as `tally_panel` does."""
    tally = tally_panel(panel, spec)
    pace = PACES[practice]
    coil = coil_plan(tally.ring, 0, practice)
    copies = panel.copies
    body = (tally.body - tally.dangling) * copies
    weaving_h = weaving_s(pace, body, tally.edge * copies, tally.weave.weave_time_factor) / 3600
    return PanelEstimate(
        tally,
        mass_g=tally.total * tally.ring.mass_g,
        wire_mm=tally.total * tally.ring.wire_per_ring_mm,
        making_h=making_s(pace, tally.total, coil.rings_per_coil) / 3600,
        weaving_h=weaving_h,
        fixing_h=tally.area_mm2 * copies * pace.fix_s_per_mm2 / 3600 if panel.glued else 0.0,
    )


def panel_estimate(project: Project, panel: Panel) -> PanelEstimate:
    """One panel of a project; the words of an error name the panel.

    Raises:
        RingloftError: as `tally_panel`.
    """
    try:
        return estimate_panel(panel, project.ring(panel.ring_id), project.practice)
    except RingloftError as error:
        where = f"{panel.name}, {error.where}" if error.where else panel.name
        raise type(error)(error.what, where, error.do) from error


def estimate(project: Project) -> Estimate:
    """The whole costume. Raises RingloftError, naming the panel, when one cannot be counted."""
    return estimate_for(project, project.panels)


def estimate_for(project: Project, wanted: tuple[Panel, ...]) -> Estimate:
    """Some panels of the costume, as if they alone were made: spare, wire and spools are theirs.

    Raises RingloftError, naming the panel, when one cannot be counted.
    """
    panels = tuple(panel_estimate(project, p) for p in wanted)
    rings = tuple(
        ring_estimate(project, spec, tuple(p for p in panels if p.tally.panel.ring_id == spec.id))
        for spec in project.rings
    )
    used = [r for r in rings if r.rings]
    costs = [r.cost for r in used]
    pace = PACES[project.practice]
    spare_hours = sum(making_s(pace, r.spare, r.coils.rings_per_coil) / 3600 for r in used)
    tallies = [p.tally for p in panels]
    return Estimate(
        panels,
        rings,
        Totals(
            rings=sum(t.total for t in tallies),
            spare=sum(r.spare for r in rings),
            area_mm2=sum(t.area_mm2 * t.panel.copies for t in tallies),
            edge=sum(t.edge * t.panel.copies for t in tallies),
            wire_mm=sum(r.coils.wire_mm for r in rings),
            spools=sum(r.spools for r in rings),
            mass_g=sum(p.mass_g for p in panels),
            cost=None if None in costs or not used else sum(c for c in costs if c is not None),
            hours=sum(p.hours for p in panels) + spare_hours,
        ),
    )


def ring_estimate(
    project: Project, spec: RingSpec, panels: tuple[PanelEstimate, ...]
) -> RingEstimate:
    """Spare, coils, wire and spools of one ring for the panels woven from it.

    Raises:
        RingloftError: the ring cannot be wound, or its spool is too short; the words name it.
    """
    rings = sum(p.tally.total for p in panels)
    spare = spare_rings(rings, project)
    try:
        ring = resolve(spec)
        plan = coil_plan(ring, rings + spare, project.practice)
        spool_mm = spool_length_mm(spec.spool, ring)
        spools = spools_needed(plan, spool_mm)
    except RingloftError as error:
        raise type(error)(error.what, error.where or spec.name, error.do) from error
    cost = None if spec.spool.price is None else spools * spec.spool.price
    return RingEstimate(spec.id, rings, spare, plan, spool_mm, spools, cost)


def how_alone(project: Project, panel: Panel) -> tuple[str, ...]:
    """Sentences that say what one panel takes when it alone is made, spare rings included.

    Raises:
        RingloftError: the panel cannot be counted, or its ring cannot be wound.
    """
    alone, unit = estimate_for(project, (panel,)), project.unit
    lines = [
        _(
            "This panel alone, with {spare} spare rings: {coils} coils of {turns} turns take"
            " {wire}; spools of {spool} without a join inside a coil: {spools}."
        ).format(
            spare=format_count(need.spare),
            coils=format_count(need.coils.coils),
            turns=need.coils.turns,
            wire=format_wire_length(need.coils.wire_mm, unit),
            spools=format_count(need.spools),
            spool=format_wire_length(need.spool_mm, unit),
        )
        for need in alone.rings
        if need.rings
    ]
    if len(project.panels) > 1:
        lines.append(_("Made together, panels may take fewer spare rings and spools."))
    hours = format_hours(alone.totals.hours)
    lines.append(
        _("{hours} to wind, cut, weave and fix it, spare rings wound and cut.").format(hours=hours)
        if panel.glued
        else _("{hours} to wind, cut and weave it, spare rings wound and cut.").format(hours=hours)
    )
    return tuple(lines)


def how_totals(project: Project, result: Estimate) -> tuple[str, ...]:
    """Sentences that say how wire, spools, weight and hours came about."""
    lines = [_how_spare(project)]
    for need in result.rings:
        if not need.rings:
            continue
        spec = project.ring(need.ring_id)
        plan = need.coils
        lines.append(
            _(
                "{name}: {rings} rings + {spare} spare; a coil of {turns} turns, once released and"
                " less {end} end ring, gives {per} rings and takes {feed:.0f} mm of wire with"
                " tails; coils: {coils}, wire: {wire:.1f} m; spools of {spool:.1f} m without a join"
                " inside a coil: {spools}."
            ).format(
                name=spec.name,
                rings=need.rings,
                spare=need.spare,
                turns=plan.turns,
                end=END_RINGS,
                per=plan.rings_per_coil,
                feed=plan.feed_mm,
                coils=plan.coils,
                wire=plan.wire_mm / 1000,
                spools=need.spools,
                spool=need.spool_mm / 1000,
            )
        )
    lines.append(
        _(
            "Usable mandrel {rod:g} mm and tails {tails:g} mm a coil: common practice, no source."
        ).format(rod=MANDREL_USABLE_MM[project.practice], tails=TAILS_MM[project.practice])
    )
    lines.append(_("Weight is the mail as worn, without spare rings."))
    lines.append(how_hours(project.practice))
    return tuple(lines)


def _how_spare(project: Project) -> str:
    if project.spare_percent is not None:
        return _("Spare: {share:g} % of the rings, as you set it.").format(
            share=project.spare_percent
        )
    return _(
        "Spare: {share:g} % of the rings, at least {least}: common practice, no source."
    ).format(share=SPARE_PERCENT[project.practice], least=SPARE_AT_LEAST[project.practice])
