"""Circles in space: how near two come, and whether they are linked.

Distances are between centrelines. Two rings touch when their centrelines come within half the sum
of their wires of each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.weave.cells import Weave
from core.weave.families import FAMILIES, Circles, Family, Floats, Places, Rings, RingSize, cross

_SAMPLES = 128
_ANGLES = np.arange(_SAMPLES) * (2 * math.pi / _SAMPLES)
_COS, _SIN = np.cos(_ANGLES), np.sin(_ANGLES)


class _Squared:
    """Squared distance from points of n circles a to the like circles b."""

    def __init__(self, a: Circles, b: Circles) -> None:
        gap = a.centre - b.centre
        normal = cross(b.u, b.v)
        r = a.radius
        u2, v2 = a.u * r[:, None], a.v * r[:, None]

        def dot(p: Floats, q: Floats) -> Floats:
            out: Floats = np.einsum("ij,ij->i", p, q)[:, None]
            return out

        self._height = dot(gap, normal), dot(u2, normal), dot(v2, normal)
        self._gap = dot(gap, u2), dot(gap, v2)
        self._far = dot(gap, gap) + (r * r)[:, None]
        self._radius = b.radius[:, None]

    def at(self, cos_f: Floats, sin_f: Floats) -> Floats:
        """The squared distance, (n, m).

        Args:
            cos_f: (n, m) or (m,), cosine of the angle on a.
            sin_f: likewise, sine.
        """
        h, rho = self._parts(cos_f, sin_f)
        out = rho - self._radius
        return out * out + h * h

    def slope(self, cos_f: Floats, sin_f: Floats) -> Floats:
        """Half its slope in f; arguments as of `at`."""
        (_level, hu, hv), (gu, gv) = self._height, self._gap
        h, rho = self._parts(cos_f, sin_f)
        dh = hv * cos_f - hu * sin_f
        dfar2 = 2 * (gv * cos_f - gu * sin_f)
        return (rho - self._radius) * (0.5 * dfar2 - h * dh) / rho + h * dh

    def _parts(self, cos_f: Floats, sin_f: Floats) -> tuple[Floats, Floats]:
        """Height over b's plane and distance from its axis."""
        (level, hu, hv), (gu, gv) = self._height, self._gap
        h = level + hu * cos_f + hv * sin_f
        far2 = self._far + 2 * (gu * cos_f + gv * sin_f)
        return h, np.sqrt(np.maximum(far2 - h * h, 1e-30))


@dataclass(frozen=True, slots=True)
class Near:
    """Every local least distance of n pairs.

    pair: int64 (m,), which pair; distance: (m,); angle: (m,), where on the first circle.
    """

    pair: NDArray[np.int64]
    distance: Floats
    angle: Floats


def chosen(c: Circles, which: NDArray[np.int64]) -> Circles:
    """Some of the circles, by index."""
    return Circles(c.centre[which], c.u[which], c.v[which], c.radius[which], c.wire[which])


def near_places(a: Circles, b: Circles) -> Near:
    """Find every local least distance from each circle of a to the like circle of b.

    A point at angle f on circle a lies ``sqrt((rho - R)^2 + h^2)`` from circle b, with h its
    height over b's plane and rho its distance from b's axis. Minima are bracketed on a dense
    sample of f and polished by bisected Newton steps on the exact slope, to 1e-12.

    Source: D. Eberly, Distance to Circles in 3D, Geometric Tools.
    """
    d2 = _Squared(a, b).at(_COS, _SIN)
    low = (d2 <= np.roll(d2, 1, axis=1)) & (d2 < np.roll(d2, -1, axis=1))
    pair, at = np.nonzero(low)
    even = np.nonzero(~low.any(axis=1))[0]  # a constant distance: coaxial circles
    pair, at = np.concatenate([pair, even]), np.concatenate([at, np.zeros_like(even)])
    squared = _Squared(chosen(a, pair), chosen(b, pair))
    step = 2 * math.pi / _SAMPLES
    f = np.asarray(_ANGLES[at], dtype=np.float64)
    lo, hi = f - step, f + step
    eps = 1e-6

    aside = np.array([0.0, eps, -eps])
    for _turn in range(40):
        three = f[:, None] + aside
        s, after, before = squared.slope(np.cos(three), np.sin(three)).T
        hi = np.where(s > 0, f, hi)
        lo = np.where(s > 0, lo, f)
        bend = (after - before) / (2 * eps)
        with np.errstate(divide="ignore", invalid="ignore"):
            newton = f - s / bend
        fine = np.isfinite(newton) & (newton > lo - 1e-7) & (newton < hi + 1e-7)
        nxt = np.where(fine, newton, 0.5 * (lo + hi)).astype(np.float64)
        if np.max(np.abs(nxt - f), initial=0.0) < 1e-9:
            f = nxt
            break
        f = nxt
    d2 = squared.at(np.cos(f)[:, None], np.sin(f)[:, None])[:, 0]
    return Near(pair.astype(np.int64), np.sqrt(d2), f)


def distances(a: Circles, b: Circles) -> Floats:
    """Least distance between each circle of a and the like circle of b, (n,)."""
    near = near_places(a, b)
    out = np.full(len(a.radius), np.inf)
    np.minimum.at(out, near.pair, near.distance)
    return out


def linking_number(a: Floats, b: Floats) -> float:
    """Linking number of two closed polygons, (n, 3) and (m, 3): the exact Gauss integral.

    Source: K. Klenin and J. Langowski, Computation of writhe in modeling of supercoiled DNA,
    Biopolymers 54 (2000), method 1a.
    """
    p1, p2 = a[:, None, :], np.roll(a, -1, axis=0)[:, None, :]
    p3, p4 = b[None, :, :], np.roll(b, -1, axis=0)[None, :, :]
    r13, r14, r23, r24 = p3 - p1, p4 - p1, p3 - p2, p4 - p2

    def unit(x: Floats) -> Floats:
        size = np.linalg.norm(x, axis=-1, keepdims=True)
        out: Floats = np.divide(x, size, out=np.zeros_like(x), where=size > 0)
        return out

    n1, n2 = unit(np.cross(r13, r14)), unit(np.cross(r14, r24))
    n3, n4 = unit(np.cross(r24, r23)), unit(np.cross(r23, r13))

    def arc(x: Floats, y: Floats) -> Floats:
        out: Floats = np.arcsin(np.clip(np.einsum("...i,...i->...", x, y), -1.0, 1.0))
        return out

    solid = arc(n1, n2) + arc(n2, n3) + arc(n3, n4) + arc(n4, n1)
    turn = np.einsum("...i,...i->...", np.cross(p4 - p3, p2 - p1), r13)
    return float(np.sum(solid * np.sign(turn)) / (4 * math.pi))


def points(circles: Circles, count: int) -> Floats:
    """Points on each circle, (n, count, 3)."""
    f = np.arange(count) * (2 * math.pi / count)
    ring = np.cos(f)[None, :, None] * circles.u[:, None, :]
    ring = ring + np.sin(f)[None, :, None] * circles.v[:, None, :]
    out: Floats = circles.centre[:, None, :] + circles.radius[:, None, None] * ring
    return out


Pair = tuple[int, int, int, int, int]
"""Two rings of a sheet: row of the first (its site is 0), rows and sites on to the second, and
the ply of each."""


@lru_cache(maxsize=64)
def pairs(weave: Weave, reach_rows: int, reach_sites: int) -> tuple[Pair, ...]:
    """Every pair that can meet, once per cell."""
    plies = range(weave.plies)
    found: list[Pair] = []
    for row in range(len(weave.courses)):
        for step in range(reach_rows + 1):
            for shift in range(-reach_sites, reach_sites + 1):
                if step > 0 or shift > 0:
                    found += [(row, step, shift, a, b) for a in plies for b in plies]
        found += [(row, 0, 0, a, b) for a in plies for b in plies if a < b]
    return tuple(found)


@lru_cache(maxsize=64)
def unlike_pairs(weave: Weave, reach_rows: int = 6, reach_sites: int = 4) -> tuple[Pair, ...]:
    """One of each set of `pairs` that are alike by symmetry.

    Alike means that the two circles lie to each other in the same way in three arbitrary states;
    found by number so that no weave needs its symmetries spelled out.
    """
    which = pairs(weave, reach_rows, reach_sites)
    family = FAMILIES[weave.family]
    states = (
        (3.17, 2.71, 0.53, 1.13, 0.17, 2.9),
        (2.31, 3.07, 0.71, 1.41, -0.23, 2.45),
        (4.43, 3.91, 0.29, 1.07, 0.31, 3.77),
    )
    seen: dict[tuple[float, ...], Pair] = {}
    prints = []
    for state in states:
        sizes = tuple(
            RingSize(1.0, state[-1] * (1 - 0.2 * kind)) for kind in range(len(weave.kinds))
        )
        unknowns = np.array(state[: len(family.unknowns)])
        prints.append(_stance(*place_pairs(weave, family, which, unknowns, sizes)))
    for pair, mark in zip(which, np.round(np.concatenate(prints), 8).T + 0.0, strict=True):
        seen.setdefault(tuple(float(m) for m in mark), pair)
    return tuple(seen.values())


def _stance(a: Circles, b: Circles) -> Floats:
    """Numbers that are equal for two pairs of circles just when a turn or a mirror brings one
    pair to lie on the other, (7, n).

    They are the radii, how far apart the centres are, the angle between the planes, how far each
    centre lies from the other's plane, and whether they lie to like sides.
    """
    one, other = cross(a.u, a.v), cross(b.u, b.v)
    gap = b.centre - a.centre
    tilt, rise_a, rise_b = (
        np.einsum("ij,ij->i", p, q) for p, q in ((one, other), (gap, one), (gap, other))
    )
    ends = np.array([[a.radius, np.abs(rise_a)], [b.radius, np.abs(rise_b)]])
    # Which of the two comes first says nothing.
    swap = (ends[0, 0] > ends[1, 0] + 1e-9) | (
        (np.abs(ends[0, 0] - ends[1, 0]) < 1e-9) & (ends[0, 1] > ends[1, 1])
    )
    ends = np.where(swap, ends[::-1], ends)
    out: Floats = np.array(
        [*ends.reshape(4, -1), np.linalg.norm(gap, axis=1), np.abs(tilt), tilt * rise_a * rise_b]
    )
    return out


def place_pairs(
    weave: Weave, family: Family, which: tuple[Pair, ...], unknowns: Floats, rings: Rings
) -> tuple[Circles, Circles]:
    """The two rings of every pair in `which`.

    Args:
        weave: the weave.
        family: what places its rings; usually its own.
        which: n pairs.
        unknowns: (k,), or (k, n) where they differ from pair to pair.
        rings: the size of each ring kind.
    """
    row, step, shift, ply, other = np.array(which, dtype=np.int64).reshape(-1, 5).T
    first = family.place(weave, unknowns, rings, Places(row, np.zeros_like(row), ply))
    second = family.place(weave, unknowns, rings, Places(row + step, shift, other))
    return first, second


def contact_distances(a: Circles, b: Circles) -> Floats:
    """How near the centrelines of each pair come when they touch, (n,)."""
    return (a.wire + b.wire) / 2


def reach(weave: Weave, unknowns: Floats, rings: Rings) -> tuple[int, int]:
    """How many rows and sites away a ring can still touch: (rows, sites)."""
    far = max(2 * r.radius + r.wire for r in rings) + float(np.sum(np.abs(unknowns[3:])))
    per_pitch = len(weave.courses) / weave.height
    rows = (int(far // unknowns[1]) + 1) * per_pitch
    return math.ceil(rows), int(far // unknowns[0]) + 2


def clearance(weave: Weave, family: Family, unknowns: Floats, rings: Rings) -> float:
    """Least gap between the wires of any two rings of the sheet, negative where they overlap.

    The sheet is free of contact when this is at least 0. Linking is not looked at.

    Args:
        weave: which rings there are.
        family: what places them; usually the weave's own.
        unknowns: (k,), the family's unknowns.
        rings: the size of each ring kind, in the same unit.
    """
    a, b = place_pairs(weave, family, pairs(weave, *reach(weave, unknowns, rings)), unknowns, rings)
    return float(np.min(distances(a, b) - contact_distances(a, b)))


def rightly_linked(weave: Weave, family: Family, unknowns: Floats, rings: Rings) -> bool:
    """Whether the linked pairs, and only those, have linking number plus or minus one."""
    which = pairs(weave, *reach(weave, unknowns, rings))
    a, b = place_pairs(weave, family, which, unknowns, rings)
    for pair, p, q in zip(which, points(a, 48), points(b, 48), strict=True):
        wanted = 1.0 if weave.linked(*pair[:3]) else 0.0
        if abs(abs(linking_number(p, q)) - wanted) > 1e-6:
            return False
    return True


def linked(a: Circles, b: Circles) -> NDArray[np.bool_]:
    """Whether each circle of a is linked to the like circle of b, (n,).

    Circle a crosses the plane of b at no more than two points; they are linked when exactly one
    of these lies inside b. (`linking_number` is the general, slower answer.)
    """
    normal = cross(b.u, b.v)
    gap = a.centre - b.centre
    r = a.radius
    level = np.einsum("ij,ij->i", gap, normal)
    rise_u = r * np.einsum("ij,ij->i", a.u, normal)
    rise_v = r * np.einsum("ij,ij->i", a.v, normal)
    size = np.hypot(rise_u, rise_v)
    crosses = size > np.abs(level) + 1e-12
    turn = np.arccos(np.where(crosses, -level / np.where(crosses, size, 1.0), 0.0))
    middle = np.arctan2(rise_v, rise_u)
    inside = []
    for f in (middle - turn, middle + turn):
        at = gap + r[:, None] * (np.cos(f)[:, None] * a.u + np.sin(f)[:, None] * a.v)
        inside.append(np.einsum("ij,ij->i", at, at) < b.radius**2)
    out: NDArray[np.bool_] = crosses & (inside[0] != inside[1])
    return out


@dataclass(frozen=True, slots=True)
class Contacts:
    """Local gaps of a state and how they change.

    pair: int64 (m,), index into the pairs asked for; gap: (m,), between the wires; slope:
    (m, k + 1), change of the gap with each unknown and with all radii together.
    """

    pair: NDArray[np.int64]
    gap: Floats
    slope: Floats


def contacts(
    weave: Weave, family: Family, which: tuple[Pair, ...], unknowns: Floats, rings: Rings
) -> Contacts:
    """Local least gaps of the pairs `which`, with slopes.

    A least distance changes only as its two fixed nearest points move (envelope theorem), so the
    slope needs no second search, whatever the weave's family.
    """
    a, b = place_pairs(weave, family, which, unknowns, rings)
    near = near_places(a, b)
    fa = near.angle
    pair = near.pair

    def spin(c: Circles, f: Floats, of: NDArray[np.int64]) -> Floats:
        out: Floats = np.cos(f)[:, None] * c.u[of] + np.sin(f)[:, None] * c.v[of]
        return out

    def point(c: Circles, f: Floats, of: NDArray[np.int64]) -> Floats:
        out: Floats = c.centre[of] + c.radius[of][..., None] * spin(c, f, of)
        return out

    pa = point(a, fa, pair)
    rel = pa - b.centre[pair]
    fb = np.arctan2(np.einsum("ij,ij->i", rel, b.v[pair]), np.einsum("ij,ij->i", rel, b.u[pair]))
    toward = pa - point(b, fb, pair)
    toward /= np.maximum(np.linalg.norm(toward, axis=1, keepdims=True), 1e-30)
    count = len(unknowns)
    slope = np.empty((len(pair), count + 1))
    step = 1e-5
    # Every unknown moved either way, all in one go.
    moves = np.concatenate([np.eye(count), -np.eye(count)]) * step
    moved = np.repeat((unknowns + moves).T, len(which), axis=1)
    x, y = place_pairs(weave, family, which * len(moves), moved, rings)
    places = pair + np.arange(len(moves))[:, None] * len(which)
    ends = np.einsum("ij,kij->ki", toward, point(x, fa, places) - point(y, fb, places))
    slope[:, :count] = ((ends[:count] - ends[count:]) / (2 * step)).T
    # Wider rings keep their places.
    slope[:, count] = np.einsum("ij,ij->i", toward, spin(a, fa, pair) - spin(b, fb, pair))
    return Contacts(pair, near.distance - contact_distances(a, b)[pair], slope)
