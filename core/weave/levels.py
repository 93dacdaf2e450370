"""Over and under: the order in which arcs of rings are drawn to look as they lie.

Each ring is cut into arcs, each arc given a level; drawing level 0 of all rings, then level 1,
and so on, shows every crossing the right way up.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.weave.cells import weave as find_weave
from core.weave.contact import points
from core.weave.families import Floats
from core.weave.sheet import SolvedLay, patch

Arc = tuple[int, float, float]
_OVERLAP = 0.9  # of a wire: nearer than this, seen from the front, one hides the other
_DRAWN = 1.06  # of a wire: how wide it is drawn, outline included
_CLEAR = 0.15  # wires: of parts that only touch, side by side, the higher one must be so by this
_APART = 0.25  # of a turn: only parts of a ring this far apart are ordered, not one steep bend
_SPACING = 0.15  # wire diameters between the points looked at
# Spacings from a point to the ends of what it stands for. Half would do in a straight wire; in a
# bent one cross-sections fan out, and the outlines of paired rings show that.
_THIN, _THIN_PAIRED = 0.55, 0.65
_DEEPEST = 12
_SLIGHT, _TOUCH, _HIDE = 0, 1, 2  # how much an order matters
_MOST_ARCS = 8  # of a ring, for the sake of parts that only touch


@lru_cache(maxsize=64)
def ring_levels(solved: SolvedLay) -> tuple[tuple[Arc, ...], ...]:
    """Arcs of a ring of each pose with their levels.

    Points of the rings that hide one another give "this one above that one", alike in all rings
    of a pose; the longest chain of points sets how many levels there are. Among levels that
    keep every such order, those with the fewest arcs are taken. Cuts fall midway between
    neighbouring crossings.

    Args:
        solved: the sheet.

    Returns:
        per pose of `core.weave.sheet.poses`, arcs ``(level, start, end)``: level 0 is drawn
        first; angles in radians as in ``centre + R (cos f u + sin f v)``, start < end, covering
        the ring once. Where rings
        cannot be ordered (measured pitches at which they would run through each other), arcs
        follow height alone.
    """
    finest = max(r.radius / r.wire for r in solved.rings_mm)
    count = 4 * max(12, math.ceil(2 * math.pi * finest / _SPACING / 4))
    height, pairs, hold = _overlaps(solved, count)
    touch = pairs[hold > _SLIGHT]
    # Bottom, middle, top makes the fewest arcs where it is true.
    plain = [
        np.digitize(height.ravel(), [-step, step]).astype(np.int64)
        for step in (math.tan(solved.lean_rad) * solved.along_mm / 4, 0.01 * solved.wire_mm)
    ]
    tries = [(touch, pairs[hold == _SLIGHT])]
    if (hold == _TOUCH).any():
        tries.insert(0, (pairs[hold == _HIDE], pairs[hold == _TOUCH]))
    found = [
        rings
        for kept, rest in tries
        if (rings := _ordered(kept, rest, height.shape, plain)) is not None
    ]
    if not found:
        top = float(np.max(np.abs(height))) or 1.0
        level = np.clip((height.ravel() / top + 1) * 3, 0, 5).astype(np.int64)
        return _cut(level, np.ones(height.size, dtype=bool), height.shape, pairs[:0])
    least = min(reversed(found), key=_effort)
    whole = found[-1]
    # Parts that only touch are kept in order, too, where that takes no more arcs, or few: out of
    # order, the outline of one shows in the other as a notch.
    if max(map(len, whole)) <= _MOST_ARCS and _breaks(least, touch, count):
        return whole
    return least


def _breaks(rings: tuple[tuple[Arc, ...], ...], pairs: NDArray[np.int64], count: int) -> bool:
    """Whether arcs leave any point that lies over another on no higher level."""
    at = (np.arange(count) + 1e-6) * (2 * math.pi / count)
    level = []
    for arcs in rings:
        first = arcs[0][1]
        ends = np.array([end for _level, _start, end in arcs])
        which = np.searchsorted(ends, (at - first) % (2 * math.pi) + first, side="right")
        level.append(np.array([level for level, _start, _end in arcs])[which])
    levels = np.concatenate(level)
    return bool((levels[pairs[:, 0]] >= levels[pairs[:, 1]]).any())


def _effort(rings: tuple[tuple[Arc, ...], ...]) -> tuple[int, int]:
    """How many arcs, and how many levels."""
    return sum(map(len, rings)), max(arc[0] for arcs in rings for arc in arcs)


def _ordered(
    pairs: NDArray[np.int64],
    rest: NDArray[np.int64],
    shape: tuple[int, ...],
    plain: list[NDArray[np.int64]],
) -> tuple[tuple[Arc, ...], ...] | None:
    """The fewest arcs found that keep all orders, `plain` levels preferred; None without any.
    Cuts go where most of the `rest` of the orders are kept, too.
    """
    size = math.prod(shape)
    held = np.zeros(size, dtype=bool)
    held[pairs.ravel()] = True
    low, above = _chains(pairs, size), _chains(pairs[:, ::-1], size)
    if low is None or above is None:
        return None
    high = int(low.max()) - above
    choices = [*plain, low, high]
    if held.any():
        choices.append(_joined(low, high, pairs, held, shape))
    cut = [
        _cut(level, held, shape, rest)
        for level in choices
        if np.all(level[pairs[:, 1]] > level[pairs[:, 0]])
    ]
    return min(cut, key=_effort)


def _cut(
    level: NDArray[np.int64],
    held: NDArray[np.bool_],
    shape: tuple[int, ...],
    rest: NDArray[np.int64],
) -> tuple[tuple[Arc, ...], ...]:
    levels, holds = level.reshape(shape), held.reshape(shape)
    every = np.concatenate([_filled(*ring) for ring in zip(levels, holds, strict=True)])
    return tuple(
        _arcs(levels[ring], holds[ring], _Cutter(ring * shape[1], shape[1], every, rest))
        for ring in range(shape[0])
    )


def _filled(level: NDArray[np.int64], held: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Levels of all points of a ring: of those not held, the level of the nearest that is."""
    at, count = np.nonzero(held)[0], len(level)
    if len(at) == 0:
        return np.zeros_like(level)
    turns = np.concatenate([at - count, at, at + count])
    where = np.arange(count)
    after = np.searchsorted(turns, where)
    nearer = np.where(turns[after] - where < where - turns[after - 1], after, after - 1)
    filled: NDArray[np.int64] = level[turns[nearer] % count]
    return filled


class _Cutter:
    """Finds where to cut between two levels of one ring."""

    def __init__(
        self, first: int, count: int, level: NDArray[np.int64], rest: NDArray[np.int64]
    ) -> None:
        self._count = count
        # Of each order with a point of this ring: the point, the other's level, which is over.
        own = [rest[(rest[:, side] >= first) & (rest[:, side] < first + count)] for side in (0, 1)]
        self._point = np.concatenate([own[0][:, 0], own[1][:, 1]]) - first
        self._other = level[np.concatenate([own[0][:, 1], own[1][:, 0]])]
        self._is_over = np.repeat([False, True], [len(own[0]), len(own[1])])

    def between(self, here: int, after: int, before: int, then: int) -> float:
        """Where to cut: midway, unless fewer orders are broken elsewhere.

        Args:
            here: the last point held before.
            after: the first held after.
            before: the level up to the cut.
            then: the level from there.
        """
        gap = (after - here) % self._count or self._count
        step = (self._point - here) % self._count
        inside = (step > 0) & (step < gap)
        if not inside.any():
            return here + gap / 2
        step, other, is_over = step[inside], self._other[inside], self._is_over[inside]

        def broken(level: int) -> NDArray[np.int64]:
            wrong = np.where(is_over, level <= other, level >= other)
            return np.bincount(step, wrong, gap + 1).astype(np.int64)

        early, late = np.cumsum(broken(before)), np.cumsum(broken(then))
        cost = early + late[-1] - late  # of a cut behind each point
        last = np.arange(gap)
        cost = cost[:gap]
        if cost[gap // 2] == cost.min() and cost[(gap - 1) // 2] == cost.min():
            return here + gap / 2
        best = np.nonzero(cost == cost.min())[0]
        return float(here + last[best[np.argmin(np.abs(best + 0.5 - gap / 2))]] + 0.5)


def _overlaps(solved: SolvedLay, count: int) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
    """Heights of `count` points on a ring of each pose, (poses, count); which lie over which,
    (m, 2): under, over, as indices into the heights laid flat; and, (m,), which of these hide one
    another, which only touch, and which of those lie about as high.

    A point stands for the wire's cross-section there, as wide as it is drawn; cross-sections that
    meet are ordered. Where a ring doubles back, as upright ones do, any points that are near.
    """
    import shapely

    near = patch(solved)
    spots = points(near.circles, count)
    flat = spots.reshape(-1, 3)
    mine = spots[near.base].reshape(-1, 3)
    within = _DRAWN * float(np.max(near.circles.wire))
    low, high = mine[:, :2].min(axis=0) - within, mine[:, :2].max(axis=0) + within
    reached = np.nonzero(((flat[:, :2] >= low) & (flat[:, :2] <= high)).all(axis=1))[0]
    tree = shapely.STRtree(shapely.points(flat[reached, :2]))
    a, b = tree.query(shapely.points(mine[:, :2]), predicate="dwithin", distance=within)
    over = mine[a, 2] - flat[reached[b], 2]
    a, b, over = a[over > 0], reached[b[over > 0]], over[over > 0]
    ring_a, ring_b = near.base[a // count], b // count
    turn = np.abs(a % count - b % count) / count
    keep = (ring_a != ring_b) | (np.minimum(turn, 1 - turn) > _APART)
    a, b, ring_a, ring_b, over = a[keep], b[keep], ring_a[keep], ring_b[keep], over[keep]

    wire = near.circles.wire
    between = (wire[ring_a] + wire[ring_b]) / 2
    apart = flat[b, :2] - mine[a, :2]
    gap = np.linalg.norm(apart, axis=1)
    slant = np.abs(
        near.circles.u[:, 0] * near.circles.v[:, 1] - near.circles.u[:, 1] * near.circles.v[:, 0]
    )
    folded = near.circles.radius * slant**2 < 0.5 * wire
    along = np.roll(spots, -1, axis=1) - np.roll(spots, 1, axis=1)
    along = along[:, :, :2] / np.maximum(
        np.linalg.norm(along[:, :, :2], axis=2, keepdims=True), 1e-9
    )
    one, two = along[ring_a, a % count], along[ring_b, b % count]
    thin = _SPACING * (_THIN if find_weave(solved.weave).plies == 1 else _THIN_PAIRED)
    halves = _DRAWN / 2 * wire[ring_a], _DRAWN / 2 * wire[ring_b]
    meet = _sections_meet(apart, one, two, *halves, thin)
    hides = gap < _OVERLAP * between
    keep = np.where(folded[ring_a] | folded[ring_b], hides, meet)
    hold = np.where(hides, _HIDE, np.where(over > _CLEAR * between, _TOUCH, _SLIGHT))[keep]
    a, b = a[keep], b[keep]
    under = near.pose[b // count] * count + b % count
    found, which = np.unique(under * len(mine) + a, return_inverse=True)
    most = np.full(len(found), _SLIGHT)
    np.maximum.at(most, which.ravel(), hold)
    pairs = np.column_stack(np.divmod(found, len(mine))).astype(np.int64)
    return spots[near.base][:, :, 2], pairs, most


def _sections_meet(
    apart: Floats, one: Floats, two: Floats, half_one: Floats, half_two: Floats, thin: float
) -> NDArray[np.bool_]:
    """Whether pairs of thin rectangles across two wires meet, seen from the front.

    Args:
        apart: (n, 2), from the middle of the first to that of the second.
        one: (n, 2), unit vector along the first wire.
        two: (n, 2), along the second.
        half_one: (n,), half the first rectangle's length.
        half_two: (n,).
        thin: half a rectangle's width over half its length.
    """
    cosine = np.abs((one * two).sum(axis=1))
    sine = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    meet = np.ones(len(apart), dtype=bool)
    for axis, here, there in ((one, half_one, half_two), (two, half_two, half_one)):
        # Along the wire, then across it: the rectangles' shadows must overlap on each axis.
        forth = np.abs((apart * axis).sum(axis=1))
        aside = np.abs(apart[:, 0] * axis[:, 1] - apart[:, 1] * axis[:, 0])
        meet &= forth < 2 * thin * here + there * sine + 2 * thin * there * cosine
        meet &= aside < here + there * cosine + 2 * thin * there * sine
    return meet


def _joined(
    low: NDArray[np.int64],
    high: NDArray[np.int64],
    pairs: NDArray[np.int64],
    held: NDArray[np.bool_],
    shape: tuple[int, ...],
) -> NDArray[np.int64]:
    """Levels that change seldom along a ring: each is kept for as long as every order allows.

    Args:
        low: the least level each point can have.
        high: the greatest.
        pairs: which lie under and over which.
        held: which points are in any pair.
        shape: poses, points.
    """
    # Neighbours with the same bounds go together: given their least levels, no order is broken.
    at = np.nonzero(held)[0]
    ring = at // shape[1]
    fresh = np.ones(len(at), dtype=bool)
    fresh[1:] = (low[at[1:]] != low[at[:-1]]) | (high[at[1:]] != high[at[:-1]])
    fresh[1:] |= ring[1:] != ring[:-1]
    block = np.cumsum(fresh) - 1
    of_point = np.zeros(len(low), dtype=np.int64)
    of_point[at] = block
    order = _Orders(np.unique(of_point[pairs], axis=0), int(block[-1]) + 1, int(low.max()))
    rings = ring[fresh]
    for pose in range(shape[0]):
        mine = np.nonzero(rings == pose)[0]
        if len(mine):
            _join_ring(order, _from_a_break(order, mine).tolist())
    return order.low[of_point]


class _Orders:
    """Blocks to be given levels: the bounds of each, kept true while some are settled."""

    def __init__(self, pairs: NDArray[np.int64], count: int, top: int) -> None:
        self._under, self._over = pairs.T
        self.low = np.zeros(count, dtype=np.int64)
        self.high = np.full(count, top, dtype=np.int64)
        self._spread(self.low, self.high)

    def _spread(self, low: NDArray[np.int64], high: NDArray[np.int64]) -> bool:
        """Tighten bounds to what the orders imply; False when nothing is left for a block."""
        while True:
            before = int(low.sum() - high.sum())
            np.maximum.at(low, self._over, low[self._under] + 1)
            np.minimum.at(high, self._under, high[self._over] - 1)
            if (low > high).any():
                return False
            if int(low.sum() - high.sum()) == before:
                return True

    def settle(self, blocks: list[int], level: int) -> bool:
        """Give blocks a level if that leaves levels for all others."""
        low, high = self.low.copy(), self.high.copy()
        if (low[blocks] > level).any() or (high[blocks] < level).any():
            return False
        low[blocks] = high[blocks] = level
        if not self._spread(low, high):
            return False
        self.low, self.high = low, high
        return True


def _from_a_break(order: _Orders, mine: NDArray[np.int64]) -> NDArray[np.int64]:
    """A ring's blocks, in turn, from one that cannot go with the one before."""
    low, high = order.low[mine], order.high[mine]
    apart = (low > np.roll(high, 1)) | (high < np.roll(low, 1))
    return np.roll(mine, -int(np.argmax(apart)))


def _join_ring(order: _Orders, blocks: list[int]) -> None:
    """Settle a ring's blocks in stretches, each as long as some level allows."""
    begin = 0
    while begin < len(blocks):
        start = order.low, order.high
        best = (begin, start)
        for level in range(int(start[0][blocks[begin]]), int(start[1][blocks[begin]]) + 1):
            order.low, order.high = start
            end = begin
            while end < len(blocks) and order.settle(blocks[begin : end + 1], level):
                end += 1
            if end > best[0]:
                best = (end, (order.low, order.high))
        end, (order.low, order.high) = best
        if end == begin:  # cannot be: bounds that are kept true leave each block a level
            return
        begin = end


def _chains(pairs: NDArray[np.int64], size: int) -> NDArray[np.int64] | None:
    """Length of the longest chain below each point, or None when chains never end."""
    level = np.zeros(size, dtype=np.int64)
    for _turn in range(_DEEPEST):
        raised = level.copy()
        np.maximum.at(raised, pairs[:, 1], level[pairs[:, 0]] + 1)
        if np.array_equal(raised, level):
            return level
        level = raised
    return None


def _arcs(level: NDArray[np.int64], held: NDArray[np.bool_], cutter: _Cutter) -> tuple[Arc, ...]:
    """Arcs from the levels of a ring's points; points that cross nothing join their nearer
    neighbour that does.
    """
    count = len(level)
    step = 2 * math.pi / count
    at = np.nonzero(held)[0]
    if len(at) == 0:
        return ((0, 0.0, 2 * math.pi),)
    cuts: list[tuple[float, int]] = []  # (where a new level begins, the level)
    for here, after in zip(at, np.roll(at, -1), strict=True):
        if level[here] != level[after]:
            place = cutter.between(int(here), int(after), int(level[here]), int(level[after]))
            cuts.append((place * step, int(level[after])))
    if not cuts:
        return ((int(level[at[0]]), 0.0, 2 * math.pi),)
    ends = [start for start, _level in cuts[1:]] + [cuts[0][0] + 2 * math.pi]
    return tuple((lv, start, end) for (start, lv), end in zip(cuts, ends, strict=True))
