"""What a ring can make, weave by weave: pure values for the ladder of the Rings page."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from core import units
from core.compare import sheet_kg_m2
from core.errors import RingloftError
from core.mandrels import find_mandrels
from core.ring import Ring, RingSpec, resolve
from core.texts import _
from core.weave.cells import WEAVES, Comfort, Weave
from core.weave.families import RingSize
from core.weave.lay import Lay, least_inner_mm, limit_aspect_ratio, solve_lay
from core.weave.sheet import SolvedLay
from core.wire import GAUGE_SYSTEMS, MM_PER_IN, R20_MM, gauge_label, gauge_mm, gauge_numbers

LB_FT2_PER_KG_M2 = 0.3048**2 / 0.45359237
"""Exact, by the 1959 yard and pound agreement."""

SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Offer:
    """A change of the ring with which it could make a weave."""

    text: str
    spec: RingSpec


@dataclass(frozen=True, slots=True)
class Rung:
    """One weave, and what the ring in hand is to it.

    Attributes:
        weave: the weave.
        ring: the ring in hand.
        limit: the least aspect ratio, all ring kinds alike.
        word: "cannot", "tight", "easy", "loose" and what lies between, in words.
        rings: how many are laid on an area, as shown; empty when it cannot.
        weight: what the area weighs, as shown; empty when it cannot.
        needs: what the ring lacks; empty when it can.
        upright: what a ring must have to stand upright beside this one; empty where none does.
        upright_short: the same in fewer words.
        offers: the nearest rings that can, best first.
        solved: the sheet as laid; None when the ring cannot make it.
    """

    weave: Weave
    ring: Ring
    limit: float
    word: str
    rings: str
    weight: str
    needs: str
    upright: str
    upright_short: str
    offers: tuple[Offer, ...]
    solved: SolvedLay | None

    @property
    def ratio(self) -> float:
        """The ring's aspect ratio."""
        return self.ring.aspect_ratio

    @property
    def can(self) -> bool:
        """Whether the ring can make it."""
        return self.solved is not None

    def words(self, unit: str) -> str:
        """All of it in one line, for those who cannot see the ladder."""
        names = heads(unit)
        parts = [_("{weave}, from {limit:.2f}").format(weave=_(self.weave.name), limit=self.limit)]
        parts.append(self.word)
        if self.can:
            parts += [f"{self.rings} {names[0]}", f"{self.weight} {names[1]}"]
        parts += [part for part in (self.needs, self.upright) if part]
        parts += [offer.text for offer in self.offers]
        return ", ".join(parts)


def heads(unit: str) -> tuple[str, str]:
    """What the numbers of a rung are called."""
    if unit == "in":
        return _("rings per in²"), _("lb per ft²")
    return _("rings per dm²"), _("kg per m²")


def comfort_word(ratio: float, comfort: Comfort) -> str:
    """How an aspect ratio feels in a weave it can make."""
    if ratio <= comfort.tight_to:
        return _("tight")
    if ratio < comfort.easy_from:
        return _("tight to easy")
    if ratio <= comfort.easy_to:
        return _("easy")
    return _("easy to loose") if ratio < comfort.loose_from else _("loose")


def bands(weave: Weave, limit: float) -> tuple[tuple[str, float, float], ...]:
    """The bands from the limit up, each a word, where it begins and where it ends."""
    comfort = weave.comfort
    found = (
        (_("tight"), limit, comfort.tight_to),
        (_("easy"), comfort.easy_from, comfort.easy_to),
        (_("loose"), comfort.loose_from, math.inf),
    )
    return tuple(band for band in found if band[1] < band[2])


@lru_cache(maxsize=64)
def rungs(spec: RingSpec, unit: str) -> tuple[Rung, ...]:
    """A rung for each weave, the ring serving as every ring kind; none when it cannot be wound."""
    try:
        ring = resolve(spec)
    except RingloftError:
        return ()
    return tuple(_rung(weave, spec, ring, unit) for weave in WEAVES.values())


def _rung(weave: Weave, spec: RingSpec, ring: Ring, unit: str) -> Rung:
    limit = limit_aspect_ratio(weave.id)
    upright = _upright_words(weave, ring, unit) or ("", "")
    try:
        solved = solve_lay(weave.id, ring.wire_mm, ring.inner_mm, Lay("laid"))
    except RingloftError as error:
        offers: tuple[Offer, ...] = ()
        needs = error.what
        if ring.aspect_ratio < limit:
            needs = _("needs inner ⌀ {least}").format(least=_rounded(limit * ring.wire_mm, unit, 1))
            offers = _offers(spec, limit, unit)
        return Rung(weave, ring, limit, _("cannot"), "", "", needs, *upright, offers, None)
    per_area = units.MM2_PER_DM2 / solved.area_per_ring_mm2
    kg_m2 = sheet_kg_m2(solved, (ring,) * len(weave.kinds))
    rings, weight = f"{per_area:.0f}", f"{kg_m2:.1f}"
    if unit == "in":
        rings = f"{MM_PER_IN**2 / solved.area_per_ring_mm2:.1f}"
        weight = f"{kg_m2 * LB_FT2_PER_KG_M2:.2f}"
    word = comfort_word(ring.aspect_ratio, weave.comfort)
    return Rung(weave, ring, limit, word, rings, weight, "", *upright, (), solved)


def _rounded(mm: float, unit: str, way: int) -> str:
    """A length as shown, rounded up for a least (`way` 1) or down for a most (-1)."""
    step_mm = MM_PER_IN / 1000 if unit == "in" else 0.01
    steps = way * math.ceil(way * mm / step_mm - 1e-6)
    return units.format_length(steps * step_mm, unit)


def _upright_words(weave: Weave, ring: Ring, unit: str) -> tuple[str, str] | None:
    """What another ring must have to stand upright between rings like this one; in short, too."""
    if len(weave.kinds) == 1:
        return None
    size = RingSize(ring.wire_mm, ring.centreline_mm)
    flat_mm, upright_mm = least_inner_mm(weave, (size, size))
    # The flat ring's need grows with the upright ring's wire alone.
    thickest_mm = ring.inner_mm / (flat_mm / ring.wire_mm)
    least, most = _rounded(upright_mm, unit, 1), _rounded(thickest_mm, unit, -1)
    return (
        _("upright ring: inner ⌀ {least} or more, wire {most} or less").format(
            least=least, most=most
        ),
        _("upright from ⌀ {least}").format(least=least),
    )


def _offers(spec: RingSpec, limit: float, unit: str) -> tuple[Offer, ...]:
    found = (_wider(spec, limit, unit), _thinner(spec, limit, unit))
    return tuple(offer for offer in found if offer is not None)


def _wider(spec: RingSpec, limit: float, unit: str) -> Offer | None:
    """The nearest rod that exists, of the unit in use, whose ring reaches the limit."""
    wanted_mm = limit * spec.wire_mm
    try:
        # A little wider, for the rods just above one that falls short.
        searches = [find_mandrels(spec, wanted_mm), find_mandrels(spec, wanted_mm + 1.0)]
    except RingloftError:
        return None
    inch = unit == "in"
    fits = [
        fit
        for search in searches
        for fit in search.fits
        if fit.ring.aspect_ratio >= limit * (1 - SAME) and (fit.rod.series == "sixteenth") == inch
    ]
    if not fits:
        return None
    best = min(fits, key=lambda fit: fit.rod.mm)
    rod = units.format_length(best.rod.mm, unit, None if inch else 1)
    made = replace(spec, mandrel_mm=best.rod.mm, inner_measured_mm=None)
    return Offer(_("Use mandrel {rod}").format(rod=rod), made)


def _thinner(spec: RingSpec, limit: float, unit: str) -> Offer | None:
    """The nearest thinner wire of those sold, on the same rod, whose ring reaches the limit."""
    for wire_mm, label in _wires(spec, unit):
        measured = spec.inner_measured_mm if spec.mandrel_mm is None else None
        made = replace(spec, wire_mm=wire_mm, wire_label=label, inner_measured_mm=measured)
        try:
            reached = resolve(made).aspect_ratio >= limit * (1 - SAME)
        except RingloftError:
            continue
        if reached:
            shown = label or units.format_length(wire_mm, unit, 4 if unit == "in" else 2)
            return Offer(_("Use wire {wire}").format(wire=shown), made)
    return None


def _wires(spec: RingSpec, unit: str) -> list[tuple[float, str]]:
    """Thinner wires, thickest first: of the gauge in use, else preferred diameters."""
    given = [
        system
        for system in GAUGE_SYSTEMS
        if spec.wire_label in {gauge_label(system, n) for n in gauge_numbers(system)}
    ]
    if not given and unit == "in":
        given = ["us-steel"]
    wires = [(mm, "") for mm in R20_MM]
    if given:
        system = given[0]
        wires = [(gauge_mm(system, n), gauge_label(system, n)) for n in gauge_numbers(system)]
    return sorted((w for w in wires if w[0] < spec.wire_mm - SAME), reverse=True)


def axis(ratio: float | None) -> tuple[float, float]:
    """The aspect ratios at both ends of the ladder: 2 to 9, or wider to hold the ring."""
    if ratio is None:
        return 2.0, 9.0
    low = 2.0 if ratio >= 2.0 else 1.0
    return low, 9.0 if ratio <= 8.8 else min(math.ceil(ratio + 0.5), 20.0)
