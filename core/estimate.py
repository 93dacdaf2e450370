"""What to buy and how long it takes: weight, wire, coils, spools, cost and hours."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from core.coils import (
    END_RINGS,
    MANDREL_USABLE_MM,
    TAILS_MM,
    CoilPlan,
    coil_plan,
    spool_length_mm,
    spools_needed,
)
from core.errors import RingloftError
from core.labour import PACES, WeavingPace, making_s, weaving_pace
from core.labour import how as how_hours
from core.memo import memo_by_identity
from core.panel import Panel
from core.project import Practice, Project
from core.ring import Ring, RingSpec, resolve
from core.swatches import Hold, Rejects, SwatchTrial, ring_rejects
from core.tally import PanelTally, tally_panel
from core.texts import _, ngettext
from core.units import format_count, format_hours, format_mass, format_wire_length

SPARE_PERCENT: dict[Practice, float] = {"practised": 5.0, "novice": 12.0}
"""Source: common practice, no source (5 % practised, 10 to 15 % novice)."""

SPARE_AT_LEAST: dict[Practice, int] = {"practised": 0, "novice": 50}


@dataclass(frozen=True, slots=True)
class RingCount:
    """Rings of one kind in a panel, all copies, edge rings included."""

    ring_id: int
    ring: Ring
    rings: int


@dataclass(frozen=True, slots=True)
class RingEstimate:
    """What one of the costume's rings needs: woven and spare rings, coils, wire, spools, cost.

    `rejects` are the maker's own, where they decide the spare rings; else None.
    """

    ring_id: int
    rings: int
    spare: int
    coils: CoilPlan
    spool_mm: float
    spools: int
    cost: float | None
    rejects: Rejects | None = None


@dataclass(frozen=True, eq=False)
class PanelEstimate:
    """One panel, all copies, without spare rings and tails.

    Attributes:
        counts: rings of each kind it is woven from.
        mass_g: as worn.
        wire_mm: wire in its rings.
        making_h: hours to wind and cut its rings.
        weaving_h: hours to open, close and weave them.
        fixing_h: hours to glue or sew it to its pad; 0 when it hangs free.
        pace: how long a ring takes to weave, and whether a swatch told so.
    """

    tally: PanelTally
    counts: tuple[RingCount, ...]
    mass_g: float
    wire_mm: float
    making_h: float
    weaving_h: float
    fixing_h: float
    pace: WeavingPace

    def rings_of(self, ring_id: int) -> int:
        """How many rings of that kind it takes, all copies."""
        return sum(c.rings for c in self.counts if c.ring_id == ring_id)

    @property
    def hours(self) -> float:
        """All hours for this panel."""
        return self.making_h + self.weaving_h + self.fixing_h

    def how(self, unit: str) -> tuple[str, ...]:
        """Sentences that say how weight, wire and hours came about, in the unit "mm" or "in"."""
        lines = []
        named = zip(self.tally.weave.kinds, self.counts, strict=True)
        for kind_name, kind in named:
            rings, mass_g = format_count(kind.rings), kind.rings * kind.ring.mass_g
            wire_mm = kind.rings * kind.ring.wire_per_ring_mm
            name = f"{_(kind_name).capitalize()}: " if len(self.counts) > 1 else ""
            lines += [
                name
                + _("{n} rings × {each} = {all}, as worn, without spare rings.").format(
                    n=rings, each=format_mass(kind.ring.mass_g, unit), all=format_mass(mass_g, unit)
                ),
                name
                + _("{n} rings × {each} of wire = {all}, before tails and spare rings.").format(
                    n=rings,
                    each=format_wire_length(kind.ring.wire_per_ring_mm, unit),
                    all=format_wire_length(wire_mm, unit),
                ),
            ]
        if len(self.counts) > 1:
            lines.append(
                _("Together {mass} as worn, and {wire} of wire.").format(
                    mass=format_mass(self.mass_g, unit),
                    wire=format_wire_length(self.wire_mm, unit),
                )
            )
        return (*lines, self._how_hours())

    def _how_hours(self) -> str:
        words = (
            _(
                "{making} to wind and cut + {weaving} to open, close and weave + {fixing} to fix to"
                " the pad = {all}."
            )
            if self.fixing_h
            else _("{making} to wind and cut + {weaving} to open, close and weave = {all}.")
        )
        return words.format(
            making=format_hours(self.making_h),
            weaving=format_hours(self.weaving_h),
            fixing=format_hours(self.fixing_h),
            all=format_hours(self.hours),
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


def spare_rings(rings: int, project: Project, ring_id: int | None = None) -> int:
    """Spare for a number of rings.

    The share the maker set for the costume comes first, then the rejects counted on swatches of
    that ring, then the practice's default.
    """
    if rings == 0:
        return 0
    if project.spare_percent is not None:
        return math.ceil(rings * project.spare_percent / 100 - 1e-9)
    rejects = spare_rejects(project, ring_id)
    if rejects is not None:
        return math.ceil(rings * rejects.spare_share - 1e-9)
    share = math.ceil(rings * SPARE_PERCENT[project.practice] / 100 - 1e-9)
    return max(share, SPARE_AT_LEAST[project.practice])


def spare_rejects(project: Project, ring_id: int | None) -> Rejects | None:
    """The rejects that decide a ring's spare; None when the maker's share or the default does."""
    if ring_id is None or project.spare_percent is not None:
        return None
    return ring_rejects(project.swatches, ring_id)


@memo_by_identity
def estimate_panel(
    panel: Panel,
    practice: Practice,
    swatches: tuple[SwatchTrial, ...],
    *specs: RingSpec,
) -> PanelEstimate:
    """Weight, wire and hours of one panel, all copies. Raises as `tally_panel` does.

    Args:
        panel: the panel.
        practice: whose default paces count where nothing was measured.
        swatches: the project's trials, the tuple itself.
        specs: the ring of each of the weave's ring kinds.
    """
    tally = tally_panel(panel, *specs)
    pace = PACES[practice]
    weaving = weaving_pace(practice, swatches, panel.ring_id, panel.weave)
    counts = tuple(
        RingCount(spec.id, ring, rings)
        for spec, ring, rings in zip(specs, tally.rings, tally.by_kind, strict=True)
    )
    copies = panel.copies
    body = (tally.body - tally.dangling) * copies
    making_h = 0.0
    for kind in counts:
        per_coil = coil_plan(kind.ring, 0, practice).rings_per_coil
        making_h += making_s(pace, kind.rings, per_coil) / 3600
    return PanelEstimate(
        tally,
        counts,
        mass_g=sum(k.rings * k.ring.mass_g for k in counts),
        wire_mm=sum(k.rings * k.ring.wire_per_ring_mm for k in counts),
        making_h=making_h,
        weaving_h=weaving.weaving_s(body, tally.edge * copies) / 3600,
        fixing_h=tally.area_mm2 * copies * pace.fix_s_per_mm2 / 3600 if panel.glued else 0.0,
        pace=weaving,
    )


def panel_estimate(project: Project, panel: Panel) -> PanelEstimate:
    """One panel of a project; the words of an error name the panel.

    Raises:
        RingloftError: as `tally_panel`.
    """
    specs = project.rings_of(panel)
    try:
        return estimate_panel(panel, project.practice, project.swatches, *specs)
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
        ring_estimate(project, spec, sum(p.rings_of(spec.id) for p in panels))
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


def ring_estimate(project: Project, spec: RingSpec, rings: int) -> RingEstimate:
    """Spare, coils, wire and spools of one ring of which so many are woven.

    Raises:
        RingloftError: the ring cannot be wound, or its spool is too short; the words name it.
    """
    spare = spare_rings(rings, project, spec.id)
    try:
        ring = resolve(spec)
        plan = coil_plan(ring, rings + spare, project.practice)
        spool_mm = spool_length_mm(spec.spool, ring)
        spools = spools_needed(plan, spool_mm)
    except RingloftError as error:
        raise type(error)(error.what, error.where or spec.name, error.do) from error
    cost = None if spec.spool.price is None else spools * spec.spool.price
    rejects = spare_rejects(project, spec.id)
    return RingEstimate(spec.id, rings, spare, plan, spool_mm, spools, cost, rejects)


def how_alone(project: Project, panel: Panel) -> tuple[str, ...]:
    """Sentences that say what one panel takes when it alone is made, spare rings included.

    Raises:
        RingloftError: the panel cannot be counted, or its ring cannot be wound.
    """
    alone, unit = estimate_for(project, (panel,)), project.unit
    lines = list(_how_spare(project, alone))
    several = sum(1 for need in alone.rings if need.rings) > 1
    lines += [
        (f"{project.ring(need.ring_id).name}: " if several else "")
        + _(
            "This panel alone, with {spare} spare rings: {coils}; spools of {spool} without a join"
            " inside a coil: {spools}."
        ).format(
            spare=format_count(need.spare),
            coils=_how_coils(need.coils, unit),
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
    lines, unit = list(_how_spare(project, result)), project.unit
    for need in result.rings:
        if not need.rings:
            continue
        spec = project.ring(need.ring_id)
        plan = need.coils
        lines.append(
            _(
                "{name}: {rings} rings + {spare} spare; a coil of {turns} turns, once released and"
                " less {end} end ring, gives {per} rings; {coils}, tails included; spools of"
                " {spool} without a join inside a coil: {spools}."
            ).format(
                name=spec.name,
                rings=format_count(need.rings),
                spare=format_count(need.spare),
                turns=plan.turns,
                end=END_RINGS,
                per=plan.rings_per_coil,
                coils=_how_coils(plan, unit),
                spools=need.spools,
                spool=format_wire_length(need.spool_mm, unit),
            )
        )
    lines.append(
        _("Usable mandrel {rod} and tails {tails} a coil: common practice, no source.").format(
            rod=format_wire_length(MANDREL_USABLE_MM[project.practice], unit),
            tails=format_wire_length(TAILS_MM[project.practice], unit),
        )
    )
    lines.append(_("Weight is the mail as worn, without spare rings."))
    lines.append(how_hours(project, (p.tally.panel for p in result.panels)))
    lines += how_hold(project, (p.tally.panel for p in result.panels))
    return tuple(lines)


def _how_coils(plan: CoilPlan, unit: str) -> str:
    """How coils add up to their wire, the last one shorter, as part of a sentence."""
    feed, last, wire = (
        format_wire_length(mm, unit) for mm in (plan.feed_mm, plan.last_feed_mm, plan.wire_mm)
    )
    if plan.coils == 1:
        return _("1 coil of at most {turns} turns takes {wire}").format(turns=plan.turns, wire=wire)
    words = ngettext(
        "{full} coil of {turns} turns takes {feed}, the last, shorter one {last}: {wire}",
        "{full} coils of {turns} turns take {feed} each, the last, shorter one {last}: {wire}",
        plan.coils - 1,
    )
    return words.format(
        full=format_count(plan.coils - 1), turns=plan.turns, feed=feed, last=last, wire=wire
    )


def _how_spare(project: Project, result: Estimate) -> Iterator[str]:
    if project.spare_percent is not None:
        yield _("Spare: {share:g} % of the rings, as you set it.").format(
            share=project.spare_percent
        )
        return
    used = [need for need in result.rings if need.rings]
    for need in used:
        if need.rejects is not None:
            yield _("{name}: {why}").format(
                name=project.ring(need.ring_id).name, why=how_rejects(need.rejects)
            )
    if not used or any(need.rejects is None for need in used):
        yield _(
            "Spare: {share:g} % of the rings, at least {least}: common practice, no source."
        ).format(share=SPARE_PERCENT[project.practice], least=SPARE_AT_LEAST[project.practice])


def how_rejects(rejects: Rejects) -> str:
    """A sentence that says how rejects give the share of spare rings."""
    return _(
        "{share:.1f} % spare, from your {bad} bad of {all} inspected: the next ring is bad with a"
        " chance p of ({bad} + 1) ÷ ({all} + 2) = {chance:.1f} % (Laplace’s rule of succession),"
        " and spare is p ÷ (1 − p)."
    ).format(
        share=rejects.spare_share * 100,
        bad=rejects.bad,
        all=rejects.inspected,
        chance=rejects.chance * 100,
    )


def how_hold(project: Project, panels: Iterable[Panel]) -> tuple[str, ...]:
    """What swatches told about glue or stitches on the pad, for panels that are fixed to one."""
    names: dict[tuple[int, str], list[str]] = {}
    for panel in panels:
        if panel.glued:
            names.setdefault((panel.ring_id, panel.weave), []).append(panel.name)
    lines = []
    for key, panel_names in names.items():
        trial = project.swatch(*key)
        if trial is not None and trial.hold != "not tried":
            text = hold_text(trial.hold, project.ring(trial.ring_id).metal)
            lines.append(_("{panels}: {text}").format(panels=", ".join(panel_names), text=text))
    return tuple(lines)


def hold_text(hold: Hold, metal: str) -> str:
    """What a swatch on the pad told, and what to do about it; empty when it was not tried."""
    if hold == "not tried":
        return ""
    if hold == "firm":
        return _("your swatch holds firmly on the pad.")
    told = (
        _("your swatch lifts from the pad in places")
        if hold == "lifts"
        else _("your swatch comes off the pad")
    )
    wire = (
        _("Galvanized wire comes oily: degrease it first, as the glue’s maker says.")
        if metal == "steel-galvanized"
        else _("Degrease the rings first, as the glue’s maker says.")
    )
    return _("{told}: try another glue, or sew it down. {wire}").format(told=told, wire=wire)
