"""Over and under: the order in which arcs of rings are drawn to look as they lie.

Each ring is cut into arcs, each arc given a level; drawing level 0 of all rings, then level 1,
and so on, shows every crossing the right way up.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.weave.contact import points
from core.weave.families import Floats
from core.weave.sheet import SolvedLay, patch

Arc = tuple[int, float, float]
_OVERLAP = 0.9  # of a wire: nearer than this, seen from the front, one hides the other
_APART = 0.25  # of a turn: only parts of a ring this far apart are ordered, not one steep bend
_SPACING = 0.15  # wire diameters between the points looked at
_DEEPEST = 12


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
        per pose of `core.weave.sheet.poses`, arcs ``(level, start, end)``: level 0 is drawn first; angles in radians as in
        ``centre + R (cos f u + sin f v)``, start < end, covering the ring once. Where rings
        cannot be ordered (measured pitches at which they would run through each other), arcs
        follow height alone.
    """
    finest = max(r.radius / r.wire for r in solved.rings_mm)
    count = 4 * max(12, math.ceil(2 * math.pi * finest / _SPACING / 4))
    height, pairs = _overlaps(solved, count)
    held = np.zeros(height.size, dtype=bool)
    held[pairs.ravel()] = True
    low = _chains(pairs, height.size)
    if low is None:
        top = float(np.max(np.abs(height))) or 1.0
        low = np.clip((height.ravel() / top + 1) * 3, 0, 5).astype(np.int64)
        return _cut(low, np.ones(height.size, dtype=bool), height.shape)
    top_level = int(low.max())
    choices = [low]
    high = _chains(pairs[:, ::-1], height.size)
    if high is not None:
        choices.append(top_level - high)
    # Bottom, middle, top makes the fewest arcs where it is true.
    for step in (math.tan(solved.lean_rad) * solved.along_mm / 4, 0.01 * solved.wire_mm):
        choices.append(np.digitize(height.ravel(), [-step, step]).astype(np.int64))
    cut = [
        _cut(level, held, height.shape)
        for level in choices
        if np.all(level[pairs[:, 1]] > level[pairs[:, 0]])
    ]
    return min(cut, key=lambda rings: sum(len(arcs) for arcs in rings))


def _cut(
    level: NDArray[np.int64], held: NDArray[np.bool_], shape: tuple[int, ...]
) -> tuple[tuple[Arc, ...], ...]:
    return tuple(
        _arcs(lv, hd) for lv, hd in zip(level.reshape(shape), held.reshape(shape), strict=True)
    )


def _overlaps(solved: SolvedLay, count: int) -> tuple[Floats, NDArray[np.int64]]:
    """Heights of `count` points on a ring of each pose, (poses, count), and which lie over which,
    (m, 2): under, over, as indices into the heights laid flat.
    """
    import shapely

    near = patch(solved)
    spots = points(near.circles, count)
    flat = spots.reshape(-1, 3)
    tree = shapely.STRtree(shapely.points(flat[:, :2]))
    mine = spots[near.base].reshape(-1, 3)
    widest = float(np.max(near.circles.wire))
    a, b = tree.query(
        shapely.points(mine[:, :2]), predicate="dwithin", distance=_OVERLAP * widest
    )
    ring_a, ring_b = near.base[a // count], b // count
    wire = (near.circles.wire[ring_a] + near.circles.wire[ring_b]) / 2
    gap = np.linalg.norm(mine[a, :2] - flat[b, :2], axis=1)
    turn = np.abs(a % count - b % count) / count
    keep = (gap < _OVERLAP * wire) & (
        (ring_a != ring_b) | (np.minimum(turn, 1 - turn) > _APART)
    )
    keep &= mine[a, 2] > flat[b, 2]
    a, b = a[keep], b[keep]
    under = near.pose[b // count] * count + b % count
    found = np.unique(np.column_stack([under, a]), axis=0).astype(np.int64)
    return spots[near.base][:, :, 2], found


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


def _arcs(level: NDArray[np.int64], held: NDArray[np.bool_]) -> tuple[Arc, ...]:
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
            middle = here + ((after - here) % count) / 2
            cuts.append((float(middle) * step, int(level[after])))
    if not cuts:
        return ((int(level[at[0]]), 0.0, 2 * math.pi),)
    ends = [start for start, _level in cuts[1:]] + [cuts[0][0] + 2 * math.pi]
    return tuple((lv, start, end) for (start, lv), end in zip(cuts, ends, strict=True))
