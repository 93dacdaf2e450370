"""Rows of lattice sites, and what an outline leaves of them.

A weave puts rings on the sites of a lattice. Lattice frame: the panel frame moved to the panel's
origin and turned by minus its grain, so that rows are level. Row j is of course j mod courses; it
lies at v = (cell * height + rise) * across, cell = j div courses, and its site k at
u = (k + phase) * along.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.outline import Outline, flatten
from core.weave.cells import Weave
from core.weave.sheet import Footprint, SolvedLay

LINE_TOLERANCE_MM = 1e-6
"""Sites this close to the line count as inside, on both sides alike."""

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Rows:
    """Stretches of lattice sites: row, first and last index k, int64 (n,) each, sorted."""

    row: Ints
    first: Ints
    last: Ints

    def where(self, keep: NDArray[np.bool_]) -> Rows:
        """Only the stretches to keep."""
        return Rows(self.row[keep], self.first[keep], self.last[keep])


@dataclass(frozen=True, slots=True)
class Lattice:
    """Where the sites of a weave lie on a panel."""

    along_mm: float
    across_mm: float
    phases: tuple[float, ...]
    rises: tuple[float, ...]
    height: int
    grain_rad: float
    origin_x_mm: float
    origin_y_mm: float

    def to_lattice(self, points: Floats) -> Floats:
        """Panel frame to lattice frame, float64 (n, 2)."""
        c, s = math.cos(self.grain_rad), math.sin(self.grain_rad)
        moved = points - np.array([self.origin_x_mm, self.origin_y_mm])
        turned: Floats = moved @ np.array([[c, -s], [s, c]])
        return turned

    def to_panel(self, points: Floats) -> Floats:
        """Lattice frame to panel frame, float64 (n, 2)."""
        c, s = math.cos(self.grain_rad), math.sin(self.grain_rad)
        origin = np.array([self.origin_x_mm, self.origin_y_mm])
        placed: Floats = points @ np.array([[c, s], [-s, c]]) + origin
        return placed

    def phase(self, row: Ints) -> Floats:
        """Phase of each row, in units of along."""
        return np.array(self.phases, dtype=np.float64)[row % len(self.phases)]

    def level_mm(self, row: Ints) -> Floats:
        """Where each row lies, v in mm."""
        cell, course = np.divmod(row, len(self.rises))
        rise = np.array(self.rises, dtype=np.float64)[course]
        level: Floats = (cell * self.height + rise) * self.across_mm
        return level

    def centres(self, row: Ints, k: Ints) -> Floats:
        """Sites in the panel frame, float64 (n, 2)."""
        u = (k + self.phase(row)) * self.along_mm
        return self.to_panel(np.column_stack([u, self.level_mm(row)]))


def lattice_of(
    weave: Weave, solved: SolvedLay, grain_deg: float, origin_x_mm: float, origin_y_mm: float
) -> Lattice:
    """The lattice of a weave laid on a panel."""
    return Lattice(
        solved.along_mm,
        solved.across_mm,
        tuple(c.phase for c in weave.courses),
        tuple(c.rise for c in weave.courses),
        weave.height,
        math.radians(grain_deg),
        origin_x_mm,
        origin_y_mm,
    )


def chords_of(outline: Outline, lattice: Lattice) -> Floats:
    """All chords of the outline in the lattice frame: float64 (n, 4), u1 v1 u2 v2."""
    parts = []
    for loop in outline.loops():
        points = lattice.to_lattice(flatten(loop).points)
        parts.append(np.hstack([points, np.roll(points, -1, axis=0)]))
    return np.concatenate(parts)


def cut_rows(
    chords: Floats, lattice: Lattice, courses: tuple[int, ...], footprint: Footprint | None
) -> Rows:
    """The stretches of sites of some courses whose footprint lies wholly inside.

    Stretched along u, a leaning ring's footprint is a disc, and one that is longer is a disc moved
    along an arm. It lies inside exactly when the site does and no chord comes nearer than the
    radius to the arm. Along a row the places too near to one chord form one interval (the sum of
    chord, arm and disc is convex), known in closed form; a row keeps what those intervals leave.
    Without a footprint the site alone counts, and the line's tolerance is added, not taken away.
    """
    stretch = footprint.stretch if footprint else 1.0
    reach_mm = footprint.reach_mm if footprint else 0.0
    arm = footprint.arm_mm if footprint else (0.0, 0.0)
    scaled = chords * (stretch, 1.0, stretch, 1.0)
    band_mm = max(reach_mm - LINE_TOLERANCE_MM, LINE_TOLERANCE_MM)
    low = np.minimum(scaled[:, 1], scaled[:, 3])
    high = np.maximum(scaled[:, 1], scaled[:, 3])
    beyond_mm = band_mm + abs(arm[1])
    which, row = _rows_met(low - beyond_mm, high + beyond_mm, lattice, courses)
    near = scaled[which]
    v = lattice.level_mm(row)
    left, right = _kept_off(near, v, band_mm, arm)
    crossed = ((near[:, 1] <= v) != (near[:, 3] <= v)).nonzero()[0]
    u1, v1, u2, v2 = near[crossed].T
    cross_u = u1 + (v[crossed] - v1) * (u2 - u1) / (v2 - v1)

    # Walk each row from left to right: `cover` counts the buffers we are in, `parity` crossings.
    n, m = len(row), len(crossed)
    at = np.concatenate([left, right, cross_u])
    at_row = np.concatenate([row, row, row[crossed]])
    step = np.zeros(2 * n + m, dtype=np.int64)
    step[:n], step[n : 2 * n] = 1, -1
    flip = np.zeros(2 * n + m, dtype=np.int64)
    flip[2 * n :] = 1
    order = np.lexsort((at, at_row))
    at, at_row = at[order], at_row[order]
    cover = np.cumsum(step[order])
    inside = np.cumsum(flip[order]) % 2 == 1
    free = (inside & (cover == 0)) if footprint else (inside | (cover > 0))
    free[:-1] &= at_row[:-1] == at_row[1:]
    free[-1:] = False
    start = free.nonzero()[0]

    row = at_row[start]
    phase = lattice.phase(row)
    pitch = lattice.along_mm * stretch
    first = np.ceil(at[start] / pitch - phase).astype(np.int64)
    last = np.floor(at[start + 1] / pitch - phase).astype(np.int64)
    return _joined_runs(Rows(row, first, last).where(last >= first))


def _joined_runs(rows: Rows) -> Rows:
    """Runs of a row that follow each other without a gap become one."""
    if not len(rows.row):
        return rows
    gap = (rows.row[1:] != rows.row[:-1]) | (rows.first[1:] > rows.last[:-1] + 1)
    starts = np.concatenate([[True], gap])
    ends = np.concatenate([gap, [True]])
    return Rows(rows.row[starts], rows.first[starts], rows.last[ends])


def _rows_met(
    low: Floats, high: Floats, lattice: Lattice, courses: tuple[int, ...]
) -> tuple[Ints, Ints]:
    """Every row of some courses that meets each span of v: indices into the spans, and rows."""
    cell_mm = lattice.height * lattice.across_mm
    rise = np.array([lattice.rises[c] for c in courses]) * lattice.across_mm
    first = np.ceil((low[:, None] - rise) / cell_mm).astype(np.int64).ravel()
    last = np.floor((high[:, None] - rise) / cell_mm).astype(np.int64).ravel()
    which, cell = counted_out(first, np.maximum(last - first + 1, 0))
    span, course = np.divmod(which, len(courses))
    return span, cell * len(lattice.rises) + np.array(courses, dtype=np.int64)[course]


def counted_out(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Count out ranges: for each i, i repeated count[i] times, with first[i], first[i] + 1, ..."""
    which = np.repeat(np.arange(len(first)), count)
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return which, np.arange(total) - np.repeat(ends - count, count) + first[which]


def _kept_off(
    chords: Floats, v: Floats, reach_mm: float, arm: tuple[float, float]
) -> tuple[Floats, Floats]:
    """Where on the line at height v a footprint comes too near to each chord: u from, u to."""
    if arm == (0.0, 0.0):
        left, right = _buffer_span(chords, v, reach_mm)
    else:
        # The sum of chord and arm is a parallelogram; its buffer is that of its four sides and
        # what they enclose.
        shift = np.array(arm)
        start, end = chords[:, :2], chords[:, 2:]
        sides = (
            (start - shift, end - shift),
            (start + shift, end + shift),
            (start - shift, start + shift),
            (end - shift, end + shift),
        )
        spans = [_buffer_span(np.hstack(side), v, reach_mm) for side in sides]
        left = np.minimum.reduce([s[0] for s in spans])
        right = np.maximum.reduce([s[1] for s in spans])
    missed = left > right
    middle = (chords[:, 0] + chords[:, 2]) / 2
    return np.where(missed, middle, left), np.where(missed, middle, right)


def _buffer_span(chords: Floats, v: Floats, reach_mm: float) -> tuple[Floats, Floats]:
    """Where the line at height v meets each chord's buffer of radius `reach_mm`: u from, u to.

    The buffer is a stadium: two end discs and the strip between its offset lines. The line meets
    it in one interval, whose ends are the outermost of the places where it meets those parts; a
    line that misses it gets an interval that ends before it begins.
    """
    u1, v1, u2, v2 = chords.T
    du, dv = u2 - u1, v2 - v1
    length = np.hypot(du, dv)
    sizes = np.where(length > 0, length, 1.0)
    left = np.full(len(v), np.inf)
    right = np.full(len(v), -np.inf)
    for u_end, v_end in ((u1, v1), (u2, v2)):
        half2 = reach_mm**2 - (v - v_end) ** 2
        half = np.sqrt(np.maximum(half2, 0.0))
        met = half2 >= 0
        left = np.where(met, np.minimum(left, u_end - half), left)
        right = np.where(met, np.maximum(right, u_end + half), right)
    slanted = np.abs(dv) > 1e-12 * sizes
    safe_dv = np.where(slanted, dv, 1.0)
    for side in (reach_mm, -reach_mm):
        t = (v - v1 - side * du / sizes) / safe_dv
        u = u1 + t * du - side * dv / sizes
        met = slanted & (t >= 0) & (t <= 1)
        left = np.where(met, np.minimum(left, u), left)
        right = np.where(met, np.maximum(right, u), right)
    return left, right
