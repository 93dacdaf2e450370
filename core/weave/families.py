"""Families: how a few unknowns become circles in space, for every weave of one make.

The first two unknowns of every family are the pitch along a row and the pitch from row to row.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.weave.cells import Weave

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class RingSize:
    """A ring kind's wire diameter and centreline radius, in one unit."""

    wire: float
    radius: float

    @property
    def aspect_ratio(self) -> float:
        """Inner diameter over wire."""
        return 2 * self.radius / self.wire - 1


Rings = tuple[RingSize, ...]
"""The size of each of a weave's ring kinds."""


@dataclass(frozen=True, slots=True)
class Places:
    """Which rings of an endless sheet: row, site in the row, ply at the site; int64, each (n,)."""

    row: Ints
    site: Ints
    ply: Ints


@dataclass(frozen=True, slots=True)
class Circles:
    """Centrelines of n rings: points ``centre + radius * (cos f * u + sin f * v)``.

    Arrays are float64 (n, 3), or (n,) for `radius` and `wire`; lattice frame, z to the viewer.
    """

    centre: Floats
    u: Floats
    v: Floats
    radius: Floats
    wire: Floats


Place = Callable[[Weave, Floats, Rings, Places], Circles]
"""From the unknowns, (k,) or (k, n), to the circles of n places."""


@dataclass(frozen=True, slots=True)
class Family:
    """A way to place rings.

    Args:
        unknowns: what each unknown is; the first two are "along" and "across".
        place: places rings; where their centres lie and how they lean must not hang on radii.
    """

    unknowns: tuple[str, ...]
    place: Place


def cross(a: Floats, b: Floats) -> Floats:
    """Vector products of rows, (n, 3); numpy's own is several times slower for a few rows."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    for k, (i, j) in enumerate(((1, 2), (2, 0), (0, 1))):
        out[..., k] = a[..., i] * b[..., j] - a[..., j] * b[..., i]
    return out


def _course_values(weave: Weave, places: Places) -> tuple[Ints, Floats, Floats]:
    """Course of each place, and its phase and height in pitches."""
    courses = len(weave.courses)
    cell, course = np.divmod(places.row, courses)
    phase = np.array([c.phase for c in weave.courses])[course]
    rise = np.array([c.rise for c in weave.courses])[course] + cell * weave.height
    return course, places.site + phase, rise


def _sizes(weave: Weave, rings: Rings, course: Ints) -> tuple[Floats, Floats]:
    kind = np.array([c.kind for c in weave.courses])[course]
    radius = np.array([r.radius for r in rings])[kind]
    wire = np.array([r.wire for r in rings])[kind]
    return radius, wire


def leaning_rows(weave: Weave, unknowns: Floats, rings: Rings, places: Places) -> Circles:
    """Rings of one size that lean about the axis across their rows; along, across, lean."""
    along, across, lean = unknowns[:3]
    course, x, y = _course_values(weave, places)
    sign = np.array([c.lean_sign for c in weave.courses], dtype=np.float64)[course]
    flat = np.zeros(len(course))
    radius, wire = _sizes(weave, rings, course)
    return Circles(
        np.column_stack([x * along, y * across, flat]),
        np.column_stack([flat + np.cos(lean), flat, sign * np.sin(lean)]),
        np.column_stack([flat, flat + 1.0, flat]),
        radius,
        wire,
    )


def paired_rows(weave: Weave, unknowns: Floats, rings: Rings, places: Places) -> Circles:
    """Leaning rows with two rings at each site, apart by `gap` along their common axis and by
    `slip` along their own leaning diameter; along, across, lean, gap, slip.
    """
    one = leaning_rows(weave, unknowns[:3], rings, places)
    gap, slip = unknowns[3], unknowns[4]
    course = places.row % len(weave.courses)
    sign = np.array([c.lean_sign for c in weave.courses], dtype=np.float64)[course]
    side = places.ply - 0.5
    # The axis that points towards the viewer, so that rows that lean either way are alike.
    axis = cross(one.u, one.v)
    shift = axis * (side * gap)[:, None] + one.u * (sign * side * slip)[:, None]
    return Circles(one.centre + shift, one.u, one.v, one.radius, one.wire)


def flat_and_upright(weave: Weave, unknowns: Floats, rings: Rings, places: Places) -> Circles:
    """Rings that lie flat, and rings that stand upright midway between two of them."""
    along, across = unknowns[:2]
    course, x, y = _course_values(weave, places)
    spans = [c.span for c in weave.courses]
    upright = np.array([s is not None for s in spans])[course]
    span = np.array([s or (1.0, 0.0) for s in spans])[course]
    flat = np.zeros(len(course))
    u = np.column_stack([span[:, 0] * along, span[:, 1] * across, flat])
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    up = np.column_stack([flat, flat, flat + 1.0])
    v = np.where(upright[:, None], up, cross(up, u))
    radius, wire = _sizes(weave, rings, course)
    return Circles(np.column_stack([x * along, y * across, flat]), u, v, radius, wire)


FAMILIES: dict[str, Family] = {
    "leaning rows": Family(("along", "across", "lean_rad"), leaning_rows),
    "paired rows": Family(("along", "across", "lean_rad", "gap", "slip"), paired_rows),
    "flat and upright": Family(("along", "across"), flat_and_upright),
}


def family_of(weave: Weave) -> Family:
    """The family that places a weave's rings."""
    return FAMILIES[weave.family]
