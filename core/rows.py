"""Rows of lattice sites, and what an outline leaves of them.

A weave puts rings on the sites of a lattice. Lattice frame: the panel frame moved to the panel's
origin and turned by minus its grain, so that rows are level; row j lies at v = j * across and its
ring k at u = (k + phase) * along, the phase that of course j mod courses.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.outline import Outline, flatten
from core.weave.cells import Weave
from core.weave.lay import SolvedLay

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
        phases = np.array(self.phases, dtype=np.float64)
        return phases[row % len(self.phases)]

    def centres(self, row: Ints, k: Ints) -> Floats:
        """Ring centres in the panel frame, float64 (n, 2)."""
        u = (k + self.phase(row)) * self.along_mm
        return self.to_panel(np.column_stack([u, row * self.across_mm]))


def lattice_of(
    weave: Weave, solved: SolvedLay, grain_deg: float, origin_x_mm: float, origin_y_mm: float
) -> Lattice:
    """The lattice of a weave laid on a panel."""
    return Lattice(
        solved.along_mm,
        solved.across_mm,
        tuple(c.phase for c in weave.courses),
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


def cut_rows(chords: Floats, lattice: Lattice, *, stretch: float, reach_mm: float) -> Rows:
    """The stretches of sites that lie inside and at least `reach_mm` from every chord.

    The footprint of a leaning ring is an ellipse; stretching u by the ratio of its axes makes it a
    disc of radius `reach_mm`, and a disc lies inside exactly when its centre does and no chord is
    nearer than the radius. Along a row the places too near to one chord form one interval (the
    chord's buffer is convex), known in closed form; a row keeps what those intervals leave.
    With `reach_mm` 0 the centre alone counts, and the line's tolerance is added, not taken away.
    """
    scaled = chords * (stretch, 1.0, stretch, 1.0)
    band_mm = max(reach_mm - LINE_TOLERANCE_MM, LINE_TOLERANCE_MM)
    low = np.minimum(scaled[:, 1], scaled[:, 3])
    high = np.maximum(scaled[:, 1], scaled[:, 3])
    which, row = _rows_met(low - band_mm, high + band_mm, lattice.across_mm)
    near = scaled[which]
    v = row.astype(np.float64) * lattice.across_mm
    left, right = _buffer_span(near, v, band_mm)
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
    free = (inside & (cover == 0)) if reach_mm else (inside | (cover > 0))
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


def _rows_met(low: Floats, high: Floats, across_mm: float) -> tuple[Ints, Ints]:
    """Every row that meets each span of v: indices into the spans, and row numbers."""
    first = np.ceil(low / across_mm).astype(np.int64)
    last = np.floor(high / across_mm).astype(np.int64)
    return counted_out(first, np.maximum(last - first + 1, 0))


def counted_out(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Count out ranges: for each i, i repeated count[i] times, with first[i], first[i] + 1, ..."""
    which = np.repeat(np.arange(len(first)), count)
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return which, np.arange(total) - np.repeat(ends - count, count) + first[which]


def _buffer_span(chords: Floats, v: Floats, reach_mm: float) -> tuple[Floats, Floats]:
    """Where the line at height v meets each chord's buffer of radius `reach_mm`: u from, u to.

    The buffer is a stadium: two end discs and the strip between its offset lines. The line meets
    it in one interval, whose ends are the outermost of the places where it meets those parts.
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
    missed = left > right
    middle = (u1 + u2) / 2
    return np.where(missed, middle, left), np.where(missed, middle, right)
