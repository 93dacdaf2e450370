"""The mandrel finder: which rod, of those that exist, winds the ring that is wished for.

Diameters in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from core.errors import BadValue, WireNeverYields
from core.ring import Ring, RingSpec, mandrel_for_inner, resolve, spring_yield_mpa
from core.texts import _
from core.trial_coil import MAX_INNER_MM, check_span_mm, check_trial_coil
from core.wire import MM_PER_IN, check_wire_mm, metal

_EXACT_MM = 1e-6  # a rod so near is the exact one


@dataclass(frozen=True, slots=True)
class RodSeries:
    """Rods of evenly stepped diameters.

    Attributes:
        key: "whole" or "half" millimetres, or "sixteenth" of an inch.
        first_mm: thinnest rod.
        step_mm: from one rod to the next.
        count: how many there are.
    """

    key: str
    first_mm: float
    step_mm: float
    count: int

    def rods(self) -> tuple[Rod, ...]:
        """The rods, thinnest first."""
        return tuple(Rod(self.first_mm + i * self.step_mm, self.key) for i in range(self.count))


@dataclass(frozen=True, slots=True)
class Rod:
    """A rod that can be bought.

    Attributes:
        mm: diameter.
        series: key of its `RodSeries`.
    """

    mm: float
    series: str


SIXTEENTH_MM = MM_PER_IN / 16.0
SERIES = (
    RodSeries("whole", 1.0, 1.0, 50),
    RodSeries("half", 1.5, 1.0, 20),
    RodSeries("sixteenth", SIXTEENTH_MM, SIXTEENTH_MM, 32),
)
"""Sizes of round rod: whole mm to 50, half mm to 20.5, sixteenths of an inch to 2 in. Common
practice, no source; the inch is 25.4 mm exactly."""


@dataclass(frozen=True, slots=True)
class MandrelFit:
    """What one rod makes of the wire.

    Attributes:
        rod: the rod.
        ring: the ring wound on it: inner diameter, aspect ratio, band of the growth.
        error_mm: its inner diameter less the wish; positive when it comes out wider.
        error_ratio: the error over the wish.
    """

    rod: Rod
    ring: Ring
    error_mm: float
    error_ratio: float


@dataclass(frozen=True, slots=True)
class MandrelSearch:
    """Rods about the one that would be exact.

    Attributes:
        inner_mm: wished inner diameter of the closed ring.
        exact_mm: the rod that would give it, whether it exists or not.
        fits: the rods that exist nearest below and above it in each series, best first.
        yield_mpa: yield stress the spring-back is worked out with.
        calibrated: that yield comes from a trial coil.
    """

    inner_mm: float
    exact_mm: float
    fits: tuple[MandrelFit, ...]
    yield_mpa: float
    calibrated: bool


def inner_for_ratio(ratio: float, wire_mm: float) -> float:
    """The inner diameter in mm that a wire must be wound to for an aspect ratio.

    Raises:
        BadValue: a ratio no ring has, or a wire outside the sensible range.
    """
    check_wire_mm(wire_mm)
    if not (math.isfinite(ratio) and 0.0 < ratio * wire_mm < MAX_INNER_MM):
        raise BadValue(
            _("{ratio:g} is no ratio a ring can have").format(ratio=ratio),
            where=_("inner ÷ wire"),
            do=_("Give a number such as 4.5, below {high:g} for this wire").format(
                high=math.floor(MAX_INNER_MM / wire_mm * 10) / 10
            ),
        )
    return ratio * wire_mm


def find_mandrels(spec: RingSpec, inner_mm: float) -> MandrelSearch:
    """The rods that exist about the one that winds a wire to a wished ring.

    Args:
        spec: wire, metal, kerf and, when there is one, trial coil; its own mandrel and measured
            diameter are not looked at.
        inner_mm: wished inner diameter of the closed ring, a saw's kerf already gone.

    Raises:
        BadValue: a value outside the sensible range, or no rod is thin enough.
    """
    check_span_mm(inner_mm, _("inner diameter"))
    of = metal(spec.metal)
    calibrated = None if spec.trial is None else spring_yield_mpa(check_trial_coil(spec.trial), of)
    yield_mpa = of.yield_mpa if calibrated is None else calibrated
    coil_mm = inner_mm + spec.kerf_mm / math.pi
    exact_mm = mandrel_for_inner(coil_mm, spec.wire_mm, yield_mpa, of.modulus_gpa)
    fits = []
    for series in SERIES:
        for rod in _about(series.rods(), exact_mm):
            # A rod thicker than the exact one may leave the wire elastic: it is no candidate.
            try:
                ring = resolve(replace(spec, mandrel_mm=rod.mm, inner_measured_mm=None))
            except WireNeverYields:
                continue
            error_mm = ring.inner_mm - inner_mm
            fits.append(MandrelFit(rod, ring, error_mm, error_mm / inner_mm))
    # Of two equally near, the whole millimetre first, as it is listed.
    fits.sort(key=lambda fit: round(abs(fit.error_mm), 9))
    return MandrelSearch(inner_mm, exact_mm, tuple(fits), yield_mpa, calibrated is not None)


def _about(rods: tuple[Rod, ...], exact_mm: float) -> tuple[Rod, ...]:
    """The nearest rod below, the rod itself when it exists, and the nearest above."""
    below = [rod for rod in rods if rod.mm < exact_mm - _EXACT_MM][-1:]
    same = [rod for rod in rods if abs(rod.mm - exact_mm) <= _EXACT_MM]
    above = [rod for rod in rods if rod.mm > exact_mm + _EXACT_MM][:1]
    return (*below, *same, *above)
