"""The ring: what a wire wound on a mandrel becomes once it is released, cut and closed.

Lengths in mm, mass in g, stress in MPa, modulus in GPa.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

from core.errors import BadValue, WireNeverYields
from core.texts import _, ngettext
from core.trial_coil import MAX_INNER_MM, TrialCoil, check_coil, check_span_mm, check_trial_coil
from core.wire import Metal, check_wire_mm, metal

MAX_KERF_MM = 3.0
GROWTH_SPREAD = 0.4
"""Relative uncertainty of the modelled growth: hardening raises it, winding tension lowers it."""
CALIBRATED_SPREAD = 0.4
"""Relative uncertainty of how much more or less a coil grows on another rod or wire than a trial
coil did. Our own rule, no source: what the two have in common, the trial has settled."""


@dataclass(frozen=True, slots=True)
class Spool:
    """How the wire is sold: by length (mm) or by mass (g), and the price of one spool."""

    length_mm: float | None = 50_000.0
    mass_g: float | None = None
    price: float | None = None


@dataclass(frozen=True, slots=True)
class RingSpec:
    """A ring as the maker states it; part of the project.

    Attributes:
        id: number within the project.
        name: the maker's name for it.
        metal: key into `core.wire.metals`.
        wire_mm: wire diameter.
        mandrel_mm: rod diameter, None when only a measured ring is known.
        inner_measured_mm: inner diameter of a released coil; overrides trial and model.
        kerf_mm: width the saw takes out of each turn; 0 for cutters that pinch.
        wire_label: the gauge as typed ("16 ga US steel"), shown beside the mm.
        spool: how the wire is sold.
        trial: a measured trial coil; on its own rod it is the ring, on another it calibrates the
            spring-back of the same metal.
    """

    id: int
    name: str
    metal: str
    wire_mm: float
    mandrel_mm: float | None
    inner_measured_mm: float | None = None
    kerf_mm: float = 0.0
    wire_label: str = ""
    spool: Spool = field(default_factory=Spool)
    trial: TrialCoil | None = None


def yield_ratio(mandrel_mm: float, wire_mm: float, yield_mpa: float, modulus_gpa: float) -> float:
    """The ratio x = 2·σy·R_w/(E·d): elastic share of the wire's radius as wound.

    Source: bending of a round elastic-perfectly-plastic bar, strain r/R_w at height r.
    """
    wound_mm = (mandrel_mm + wire_mm) / 2.0
    return 2.0 * yield_mpa * wound_mm / (modulus_gpa * 1000.0 * wire_mm)


def growth_ratio(x: float) -> float:
    """R_w/R: centreline radius on the mandrel over that of the released coil, 0 < ratio <= 1.

    Args:
        x: share of the wire's radius that stays elastic, 0 <= x < 1.

    Raises:
        WireNeverYields: x >= 1.

    Source: R_w/R = 1 − (2/3π)[x(5 − 2x²)√(1 − x²) + 3·asin x]; derived, the round-bar analogue of
    the sheet cubic of Gardiner 1957, Trans. ASME 79.
    """
    if not x < 1.0:
        raise WireNeverYields(
            _("the wire springs back to straight and makes no ring"),
            where=_("winding"),
            do=_("Use a thinner mandrel, thicker wire or a softer temper"),
        )
    bracket = x * (5.0 - 2.0 * x * x) * math.sqrt(1.0 - x * x) + 3.0 * math.asin(x)
    return 1.0 - 2.0 / (3.0 * math.pi) * bracket


def released_inner_mm(
    mandrel_mm: float, wire_mm: float, yield_mpa: float, modulus_gpa: float
) -> float:
    """Inner diameter of the coil after it is released from the mandrel.

    Raises:
        BadValue: a wire or mandrel outside the sensible range.
        WireNeverYields: the wire stays elastic, or opens to more than `MAX_INNER_MM`.

    Source: `growth_ratio`.
    """
    check_wire_mm(wire_mm)
    check_span_mm(mandrel_mm, _("mandrel diameter"))
    kept = growth_ratio(yield_ratio(mandrel_mm, wire_mm, yield_mpa, modulus_gpa))
    inner = (mandrel_mm + wire_mm) / kept - wire_mm if kept > 0.0 else math.inf
    if inner > MAX_INNER_MM:
        raise WireNeverYields(
            _("the wire springs back almost straight, wider than {mm:g} mm").format(
                mm=MAX_INNER_MM
            ),
            where=_("winding"),
            do=_("Use a thinner mandrel, thicker wire or a softer temper"),
        )
    return inner


def yield_from_trial(
    mandrel_mm: float, wire_mm: float, inner_mm: float, modulus_gpa: float
) -> float:
    """The yield stress in MPa that explains a trial coil; use it for the next mandrel.

    Args:
        mandrel_mm: rod the trial was wound on.
        wire_mm: wire diameter.
        inner_mm: inner diameter measured on the released coil.
        modulus_gpa: elastic modulus.

    Raises:
        BadValue: the coil is not wider than the mandrel, so it tells nothing about the wire.
    """
    check_wire_mm(wire_mm)
    check_span_mm(mandrel_mm, _("mandrel diameter"))
    check_span_mm(inner_mm, _("measured inner diameter"))
    if inner_mm <= mandrel_mm:
        raise BadValue(
            _("a coil of {inner:.2f} mm is not wider than its mandrel of {mandrel:.2f} mm").format(
                inner=inner_mm, mandrel=mandrel_mm
            ),
            where=_("trial coil"),
            do=_("Measure the released coil and the rod again with a caliper"),
        )
    wanted = (mandrel_mm + wire_mm) / (inner_mm + wire_mm)
    x = _bisect_falling(growth_ratio, wanted, 0.0, math.nextafter(1.0, 0.0))
    return x * modulus_gpa * 1000.0 * wire_mm / (mandrel_mm + wire_mm)


def mandrel_for_inner(
    inner_mm: float, wire_mm: float, yield_mpa: float, modulus_gpa: float
) -> float:
    """The mandrel diameter whose released coil has the wanted inner diameter.

    Raises:
        BadValue: a value outside the sensible range, or no rod is thin enough.
    """
    check_wire_mm(wire_mm)
    check_span_mm(inner_mm, _("inner diameter"))

    def shortfall(mandrel_mm: float) -> float:
        x = yield_ratio(mandrel_mm, wire_mm, yield_mpa, modulus_gpa)
        if x >= 1.0:
            return -math.inf
        return growth_ratio(x) * (inner_mm + wire_mm) - (mandrel_mm + wire_mm)

    if shortfall(0.0) <= 0.0:
        raise BadValue(
            _("no rod is thin enough to wind this wire to {mm:.2f} mm").format(mm=inner_mm),
            where=_("inner diameter"),
            do=_("Use thicker wire, a softer temper or a wider ring"),
        )
    return _bisect_falling(shortfall, 0.0, 0.0, inner_mm)


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring as it is woven: cut and closed, ends meeting.

    Attributes:
        wire_mm: wire diameter d.
        inner_mm: inner diameter of the closed ring; the released coil's less kerf/π.
        metal: what it is made of.
        kerf_mm: taken out of each turn by the saw.
        mandrel_mm: rod it was wound on, None when unknown.
        measured: the inner diameter comes from a trial coil, not from the model.
        trial: the trial coil the diameter rests on: its mean, or the model calibrated by it.
        spring_yield_mpa: the yield stress that explains the trial; None for the metal's own. It
            serves the spring-back alone, for it holds the winder's tension too.

    Raises:
        BadValue: at construction, for a value outside the sensible range.
    """

    wire_mm: float
    inner_mm: float
    metal: Metal
    kerf_mm: float = 0.0
    mandrel_mm: float | None = None
    measured: bool = False
    trial: TrialCoil | None = None
    spring_yield_mpa: float | None = None

    def __post_init__(self) -> None:
        """Refuse values no ring can have."""
        check_wire_mm(self.wire_mm)
        check_span_mm(self.inner_mm, _("inner diameter"))
        if self.mandrel_mm is not None:
            check_span_mm(self.mandrel_mm, _("mandrel diameter"))
        _check_kerf(self.kerf_mm)

    @property
    def outer_mm(self) -> float:
        """Outer diameter."""
        return self.inner_mm + 2.0 * self.wire_mm

    @property
    def centreline_mm(self) -> float:
        """Centreline radius R = (inner + d)/2."""
        return (self.inner_mm + self.wire_mm) / 2.0

    @property
    def aspect_ratio(self) -> float:
        """Inner diameter over wire diameter."""
        return self.inner_mm / self.wire_mm

    @property
    def coil_inner_mm(self) -> float:
        """Inner diameter of the released coil, before the saw."""
        return self.inner_mm + self.kerf_mm / math.pi

    @property
    def wire_per_ring_mm(self) -> float:
        """Wire that one ring takes from the spool: one turn of the released, close-wound coil."""
        return helix_turn_mm(self.coil_inner_mm + self.wire_mm, self.wire_mm)

    @property
    def turn_on_mandrel_mm(self) -> float:
        """One turn as wound, before release; the released turn when no mandrel is known."""
        if self.mandrel_mm is None:
            return self.wire_per_ring_mm
        return helix_turn_mm(self.mandrel_mm + self.wire_mm, self.wire_mm)

    @property
    def turns_kept(self) -> float:
        """Turns of the released coil for each turn wound, R_w/R; 1 when no mandrel is known."""
        if self.mandrel_mm is None:
            return 1.0
        return (self.mandrel_mm + self.wire_mm) / (self.coil_inner_mm + self.wire_mm)

    @property
    def mass_g(self) -> float:
        """Mass of the closed ring: π(inner + d) · πd²/4 · density, the kerf already gone.

        Source: Pappus, volume of a torus 2π²Rr².
        """
        area_mm2 = math.pi * self.wire_mm**2 / 4.0
        length_mm = math.pi * (self.inner_mm + self.wire_mm)
        return length_mm * area_mm2 * self.metal.density_g_cm3 / 1000.0

    @property
    def growth_mm(self) -> float:
        """Growth of the inner diameter on release; 0 when no mandrel is known."""
        return 0.0 if self.mandrel_mm is None else self.coil_inner_mm - self.mandrel_mm

    @property
    def winding_yield_mpa(self) -> float:
        """The yield stress the spring-back is worked out with."""
        return self.metal.yield_mpa if self.spring_yield_mpa is None else self.spring_yield_mpa

    @property
    def inner_range_mm(self) -> tuple[float, float]:
        """Least and greatest likely inner diameter; both the value when it was measured.

        ±`GROWTH_SPREAD` of a modelled growth. After a trial coil ±`CALIBRATED_SPREAD` of what the
        growth differs from the trial's, and the trial's standard deviation.
        """
        if self.measured:
            return (self.inner_mm, self.inner_mm)
        if self.trial is None:
            play = GROWTH_SPREAD * max(self.growth_mm, 0.0)
        else:
            grown_mm = self.trial.mean_mm - self.trial.mandrel_mm
            play = CALIBRATED_SPREAD * abs(self.growth_mm - grown_mm) + self.trial.sd_mm
        return (self.inner_mm - play, self.inner_mm + play)

    @property
    def cut_effort(self) -> float:
        """Strength · d² (N): only ratios between rings mean anything."""
        return self.metal.strength_mpa * self.wire_mm**2

    @property
    def close_effort(self) -> float:
        """Yield · d³ (N·mm): only ratios between rings mean anything."""
        return self.metal.yield_mpa * self.wire_mm**3

    @property
    def opening_pull_n(self) -> float:
        """Pull in newtons that opens a butted ring, σy·d³/(6R), gap at right angles to the pull.

        Source: full plastic moment of a round bar σy·d³/6 over the lever arm R; an upper bound
        for other places of the gap.
        """
        return self.close_effort / (6.0 * self.centreline_mm)

    def how(self) -> tuple[str, ...]:
        """Sentences that say how the ring's numbers came about."""
        lines = [
            _("Wire {d:.3f} mm; {metal}, {rho:g} g/cm³.").format(
                d=self.wire_mm, metal=_(self.metal.name), rho=self.metal.density_g_cm3
            )
        ]
        if self.measured:
            lines.append(self._how_measured())
        elif self.mandrel_mm is not None:
            lines.append(self._how_wound(self.mandrel_mm))
        else:
            lines.append(_("Inner diameter {mm:.3f} mm as given.").format(mm=self.inner_mm))
        if self.kerf_mm > 0.0:
            lines.append(
                _("A saw kerf of {k:g} mm closes the ring to {mm:.3f} mm inside.").format(
                    k=self.kerf_mm, mm=self.inner_mm
                )
            )
        lines.append(
            _(
                "Each ring takes one turn of the released coil, {mm:.2f} mm, and weighs {g:.4f} g."
            ).format(mm=self.wire_per_ring_mm, g=self.mass_g)
        )
        lines.append(_("Metal figures: {source}").format(source=self.metal.source))
        return tuple(lines)

    def _how_measured(self) -> str:
        if self.trial is None:
            return _("Inner diameter of the coil {mm:.3f} mm, measured on a trial coil.").format(
                mm=self.coil_inner_mm
            )
        low, high = self.trial.range_mm
        return ngettext(
            "Inner diameter of the coil {mm:.3f} mm: the mean of {n} ring of the trial coil on"
            " {mandrel:.3f} mm, {low:.2f} to {high:.2f} mm.",
            "Inner diameter of the coil {mm:.3f} mm: the mean of {n} rings of the trial coil on"
            " {mandrel:.3f} mm, {low:.2f} to {high:.2f} mm.",
            self.trial.count,
        ).format(
            mm=self.coil_inner_mm,
            n=self.trial.count,
            mandrel=self.trial.mandrel_mm,
            low=low,
            high=high,
        )

    def _how_wound(self, mandrel_mm: float) -> str:
        if self.trial is None:
            text = _(
                "Wound on {mandrel:.3f} mm the coil springs back to {inner:.3f} mm inside"
                " (yield {y:g} MPa, modulus {e:g} GPa); between {low:.2f} and {high:.2f} mm"
                " is likely until a trial coil is measured."
            )
        else:
            text = _(
                "Wound on {mandrel:.3f} mm the coil springs back to {inner:.3f} mm inside"
                " (yield {y:.0f} MPa as the trial coil of {wire:.2f} mm wire on {rod:.3f} mm"
                " shows, modulus {e:g} GPa); between {low:.2f} and {high:.2f} mm is likely until"
                " a coil is measured on this rod: ± {p:.0f} % of the difference to the trial’s"
                " growth and the trial’s standard deviation (our rule, no source)."
            )
        low, high = (mm + self.kerf_mm / math.pi for mm in self.inner_range_mm)
        return text.format(
            mandrel=mandrel_mm,
            inner=self.coil_inner_mm,
            y=self.winding_yield_mpa,
            e=self.metal.modulus_gpa,
            low=low,
            high=high,
            p=CALIBRATED_SPREAD * 100,
            wire=self.trial.wire_mm if self.trial else 0.0,
            rod=self.trial.mandrel_mm if self.trial else 0.0,
        )


def helix_turn_mm(diameter_mm: float, pitch_mm: float) -> float:
    """Length of one turn of a helix of that centreline diameter and pitch."""
    return math.hypot(math.pi * diameter_mm, pitch_mm)


def ring_from_mandrel(
    wire_mm: float,
    mandrel_mm: float,
    of: Metal,
    kerf_mm: float = 0.0,
    inner_measured_mm: float | None = None,
    trial: TrialCoil | None = None,
) -> Ring:
    """The ring wound on a mandrel: the measured coil when there is one, else the model.

    Args:
        wire_mm: wire diameter.
        mandrel_mm: rod diameter.
        of: the metal.
        kerf_mm: what a saw takes out of each turn.
        inner_measured_mm: inner diameter of a coil of this wire on this rod.
        trial: a trial coil, perhaps of another wire, rod or metal; what it tells is used.

    Raises:
        BadValue: a value outside the sensible range, or a measured coil narrower than its mandrel.
        WireNeverYields: the model says that the wire makes no ring.
    """
    check_wire_mm(wire_mm)
    _check_kerf(kerf_mm)
    check_span_mm(mandrel_mm, _("mandrel diameter"))
    spring_yield = None
    if trial is not None:
        check_trial_coil(trial)
        spring_yield = spring_yield_mpa(trial, of)
    if inner_measured_mm is not None:
        check_coil(inner_measured_mm, mandrel_mm, _("measured inner diameter"))
        coil_mm, measured, trial = inner_measured_mm, True, None
    elif trial is not None and trial.winds(mandrel_mm, wire_mm, of.key):
        coil_mm, measured = trial.mean_mm, True
    else:
        yield_mpa = of.yield_mpa if spring_yield is None else spring_yield
        coil_mm = released_inner_mm(mandrel_mm, wire_mm, yield_mpa, of.modulus_gpa)
        measured, trial = False, None if spring_yield is None else trial
    inner_mm = coil_mm - kerf_mm / math.pi
    return Ring(wire_mm, inner_mm, of, kerf_mm, mandrel_mm, measured, trial, spring_yield)


@lru_cache(maxsize=64)
def spring_yield_mpa(trial: TrialCoil, of: Metal) -> float | None:
    """The yield stress that explains a trial coil's mean.

    None when it tells nothing of that metal: it was wound from another, or it is no wider than
    its rod.
    """
    if trial.metal != of.key or trial.mean_mm <= trial.mandrel_mm:
        return None
    return yield_from_trial(trial.mandrel_mm, trial.wire_mm, trial.mean_mm, of.modulus_gpa)


def resolve(spec: RingSpec) -> Ring:
    """The ring a specification stands for.

    A measured inner diameter comes first; then the mean of a trial coil of this very wire on this
    rod; then the model, with the yield a trial coil of the same metal shows, else the metal's.

    Raises:
        BadValue: unknown metal, a value outside the sensible range, or neither mandrel nor
            measured inner diameter.
        WireNeverYields: the model says that the wire makes no ring.
    """
    of = metal(spec.metal)
    if spec.mandrel_mm is not None:
        return ring_from_mandrel(
            spec.wire_mm, spec.mandrel_mm, of, spec.kerf_mm, spec.inner_measured_mm, spec.trial
        )
    if spec.inner_measured_mm is None:
        raise BadValue(
            _("neither a mandrel nor a measured inner diameter is given"),
            where=_("ring “{name}”").format(name=spec.name),
            do=_("Give the rod's diameter, or measure one ring"),
        )
    check_span_mm(spec.inner_measured_mm, _("measured inner diameter"))
    _check_kerf(spec.kerf_mm)
    inner_mm = spec.inner_measured_mm - spec.kerf_mm / math.pi
    return Ring(spec.wire_mm, inner_mm, of, spec.kerf_mm, None, True)


def _check_kerf(kerf_mm: float) -> None:
    if not (math.isfinite(kerf_mm) and 0.0 <= kerf_mm <= MAX_KERF_MM):
        raise BadValue(
            _("a kerf of {mm:.4g} mm cannot be used").format(mm=kerf_mm),
            where=_("saw kerf"),
            do=_("Give 0 for cutters that pinch, or the saw's width up to {mm:g} mm").format(
                mm=MAX_KERF_MM
            ),
        )


def _bisect_falling(law: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Where a falling function reaches a value, to the last bit; the end when it lies outside."""
    while True:
        middle = (low + high) / 2.0
        if middle in (low, high):
            return middle
        if law(middle) > wanted:
            low = middle
        else:
            high = middle
