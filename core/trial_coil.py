"""The trial coil: rings of one winding on a known rod, measured, and what they say together.

Diameters in mm. What the coil tells about the wire's spring-back is worked out in `core.ring`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median

from core.errors import BadValue
from core.texts import _, ngettext
from core.wire import check_wire_mm

MAX_INNER_MM = 200.0
MIN_RINGS, MAX_RINGS = 3, 100
LARGE_SPREAD = 0.02
"""Range over mean from which the rings are too uneven to trust. Common practice, no source."""
ODD_RING = 0.05
"""How far a ring may lie from the median of the others, over that, before it is named. Our rule,
no source: far more than one winding varies, as little as one slip of a digit makes."""
WORN = 0.98
"""Least coil over rod that is believed: 2 % covers a worn rod and a hasty caliper."""
SAME_ROD_MM = 0.005
"""Rods closer than this are one rod: half of what a caliper shows."""
SAME_WIRE = 0.02
"""Wires closer than this, over the thinner, are one wire named twice, as 1.6 mm and 16 ga US steel
are; neighbouring gauges lie further apart."""


@dataclass(frozen=True, slots=True)
class TrialCoil:
    """Rings cut from one coil and measured as they fall, before they are closed.

    Attributes:
        mandrel_mm: rod the coil was wound on.
        inner_mm: inner diameter of each ring measured, in the order of measuring.
        wire_mm: wire it was wound from.
        metal: key into `core.wire.metals`.
    """

    mandrel_mm: float
    inner_mm: tuple[float, ...]
    wire_mm: float
    metal: str

    @property
    def count(self) -> int:
        """How many rings were measured."""
        return len(self.inner_mm)

    @property
    def mean_mm(self) -> float:
        """Mean inner diameter."""
        return math.fsum(self.inner_mm) / len(self.inner_mm)

    @property
    def sd_mm(self) -> float:
        """Sample standard deviation, n − 1 in the divisor; 0 for a single ring."""
        mean, n = self.mean_mm, len(self.inner_mm)
        squares = math.fsum((mm - mean) ** 2 for mm in self.inner_mm)
        return math.sqrt(squares / (n - 1)) if n > 1 else 0.0

    @property
    def range_mm(self) -> tuple[float, float]:
        """Narrowest and widest ring."""
        return min(self.inner_mm), max(self.inner_mm)

    @property
    def spread_ratio(self) -> float:
        """Range over mean."""
        low, high = self.range_mm
        return (high - low) / self.mean_mm

    @property
    def uneven(self) -> bool:
        """Whether the rings differ by more than `LARGE_SPREAD`."""
        return self.spread_ratio > LARGE_SPREAD + 1e-9

    @property
    def odd_at(self) -> int | None:
        """Which ring, from 0, lies farthest beyond `ODD_RING` from the median of the others."""
        worst: tuple[float, int] | None = None
        for at, mm in enumerate(self.inner_mm):
            others = (*self.inner_mm[:at], *self.inner_mm[at + 1 :])
            if others:
                off = abs(mm / median(others) - 1)
                worst = max(worst or (ODD_RING, -1), (off, at))
        return None if worst is None or worst[1] < 0 else worst[1]

    def winds(self, mandrel_mm: float | None, wire_mm: float, metal: str) -> bool:
        """Whether rings of that rod, wire and metal are the very rings measured here."""
        return (
            mandrel_mm is not None
            and abs(mandrel_mm - self.mandrel_mm) < SAME_ROD_MM
            and same_wire(wire_mm, self.wire_mm)
            and metal == self.metal
        )


def same_wire(one_mm: float, other_mm: float) -> bool:
    """Whether two diameters name one wire; see `SAME_WIRE`."""
    return abs(one_mm - other_mm) <= SAME_WIRE * min(one_mm, other_mm)


def check_span_mm(value_mm: float, where: str) -> None:
    """Raise BadValue unless it is a diameter a rod or a ring can have."""
    if not (math.isfinite(value_mm) and 0.0 < value_mm < MAX_INNER_MM):
        raise BadValue(
            _("{mm:.4g} mm cannot be used").format(mm=value_mm),
            where=where,
            do=_("Give a diameter above 0 and below {high:g} mm").format(high=MAX_INNER_MM),
        )


def check_coil(inner_mm: float, mandrel_mm: float, where: str) -> None:
    """Raise BadValue when a released coil is narrower than its rod by more than wear explains."""
    check_span_mm(inner_mm, where)
    if inner_mm < WORN * mandrel_mm:
        raise BadValue(
            _("a coil of {inner:.2f} mm is narrower than its mandrel of {mandrel:.2f} mm").format(
                inner=inner_mm, mandrel=mandrel_mm
            ),
            where=where,
            do=_("Measure the released coil and the rod again with a caliper"),
        )


def check_trial_coil(trial: TrialCoil) -> TrialCoil:
    """The trial itself when something can be learnt from it.

    Raises:
        BadValue: fewer than `MIN_RINGS` rings or more than `MAX_RINGS`, a diameter that cannot
            be, or a ring narrower than the rod; the sentence names the ring.
    """
    check_span_mm(trial.mandrel_mm, _("mandrel of the trial coil"))
    check_wire_mm(trial.wire_mm)
    if not MIN_RINGS <= trial.count <= MAX_RINGS:
        raise BadValue(
            ngettext("{n} ring is measured", "{n} rings are measured", trial.count).format(
                n=trial.count
            ),
            where=_("trial coil"),
            do=_("Measure from {low} to {high} rings of one coil").format(
                low=MIN_RINGS, high=MAX_RINGS
            ),
        )
    for at, mm in enumerate(trial.inner_mm, start=1):
        check_coil(mm, trial.mandrel_mm, _("ring {n} of the trial coil").format(n=at))
    return trial
