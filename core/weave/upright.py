"""Sheets of flat rings joined by upright ones, solved at once.

A flat ring and the next hold one upright ring between them. Pulled taut, the inside of the upright
ring lies on both their wires, so linked flat rings are at most 2R + 2Rc - 2d apart (R flat, Rc
upright, d half the sum of the wires). They come no nearer than flat rings that touch, or upright
rings that touch inside a flat one.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from core.weave.cells import Weave
from core.weave.families import Rings

PLIES_THROUGH = 2
"""Wires that pass through an upright ring."""


class Span(NamedTuple):
    """From a flat ring to a linked one, in pitches along and across."""

    along: float
    across: float

    def length(self, along: float, across: float) -> float:
        """Its length at those pitches."""
        return math.hypot(self.along * along, self.across * across)


def spans(weave: Weave) -> tuple[Span, ...]:
    """The spans of a weave's upright rings, each direction once."""
    return tuple(dict.fromkeys(Span(*c.span) for c in weave.courses if c.span is not None))


def taut(rings: Rings, play: float = 0.0) -> float:
    """The farthest that linked flat rings can be, with `play` left free at each contact."""
    flat, upright = rings
    return 2 * flat.radius + 2 * upright.radius - (flat.wire + upright.wire) - 2 * play


def most_play(weave: Weave, rings: Rings) -> float:
    """The most that can be left free at every contact at once, all spans equally far."""
    flat, upright = rings
    wide = taut(rings) - 2 * flat.radius - flat.wire
    lean = 1 / _spread_of_wires(weave)
    inside = (taut(rings) - 2 * upright.radius) * lean - upright.wire
    return max(min(wide / 3, inside / (1 + 2 * lean)), 0.0)


def closest(weave: Weave, rings: Rings) -> float:
    """The nearest that linked flat rings can be when all are equally far."""
    flat, upright = rings
    return max(
        2 * flat.radius + flat.wire, 2 * upright.radius + upright.wire * _spread_of_wires(weave)
    )


def _spread_of_wires(weave: Weave) -> float:
    """How far across the flat ring's middle upright wires lie that just touch, in wires."""
    return 1 / math.sin(math.pi / (2 * len(spans(weave))))


def least_inner(weave: Weave, rings: Rings) -> tuple[float, float]:
    """The smallest inner diameters of the flat and of the upright ring, by their wires.

    The upright rings' wires stand side by side inside the flat ring, and two flat wires pass
    through each upright ring. For k of equal wire the first is 1 + 1/sin(pi/k) wires.
    """
    flat, upright = rings
    return upright.wire * (1 + _spread_of_wires(weave)), PLIES_THROUGH * flat.wire


def fits(weave: Weave, rings: Rings, along: float, across: float, play: float = 0.0) -> bool:
    """Whether a sheet can have those pitches.

    Upright rings stand midway between their flat rings; where two come near, inside a flat ring,
    they do so at its height.
    """
    flat, upright = rings
    far, room = taut(rings, play) + 1e-9, 1e-9
    inner: list[tuple[float, float]] = []
    for span in spans(weave):
        length = span.length(along, across)
        if not 2 * flat.radius + flat.wire - room <= length <= far:
            return False
        reach = length / 2 - upright.radius
        if 2 * reach < upright.wire - room:
            return False
        x, y = span.along * along / length * reach, span.across * across / length * reach
        inner += [(x, y), (-x, -y)]
    return all(
        math.dist(p, q) >= upright.wire - room for i, p in enumerate(inner) for q in inner[:i]
    )


def longest_across(weave: Weave, rings: Rings, along: float, play: float = 0.0) -> float:
    """The longest pitch across at a pitch along: its upright rings are taut."""
    far = taut(rings, play)
    return min(
        math.sqrt(max(far**2 - (s.along * along) ** 2, 0.0)) / abs(s.across)
        for s in spans(weave)
        if s.across
    )


def narrowest(weave: Weave, rings: Rings) -> float:
    """The shortest pitch along of a sheet that is taut across."""
    wide = taut(rings)
    low, high = 0.0, wide
    for _turn in range(60):
        middle = (low + high) / 2
        if fits(weave, rings, middle, longest_across(weave, rings, middle)):
            high = middle
        else:
            low = middle
    return high


def drawn(weave: Weave, rings: Rings, kind: str, play: float = 0.0) -> tuple[float, float]:
    """Pitches along and across of a sheet "spread", or drawn "along" or "across"."""
    along = taut(rings, play)
    if kind == "across":
        narrow = narrowest(weave, rings)
        # Where narrowing gains no length, the sheet stays as wide as it is.
        if longest_across(weave, rings, narrow) > longest_across(weave, rings, along) + 1e-9:
            along = narrow
    return along, longest_across(weave, rings, along, play)
