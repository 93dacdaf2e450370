"""The display list of a ring sheet: arcs in millimetres, in the order they are drawn.

Every ring of European 4-in-1 passes over some neighbours and under others, so no order of whole
rings is right. Each ring is cut into arcs, and the arcs are drawn level by level, lowest first.
One list serves close-ups on screen, printed pages and SVG.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.fill import DROPPED, Fill, sites
from core.weave.cells import Weave
from core.weave.lay import SolvedLay
from core.weave.levels import ring_levels

Floats = NDArray[np.float64]
Small = NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class RingArc:
    """A part of every ring of one course that is drawn at one level.

    Args:
        course: which course of the weave.
        level: 0 is drawn first.
        from_rad: angle f where it begins; a ring's points are
            ``centre + R (cos f cos lean, sin f, sign cos f sin lean)`` in the lattice frame.
        to_rad: angle where it ends, more than `from_rad` and at most a turn further.
    """

    course: int
    level: int
    from_rad: float
    to_rad: float


def ring_arcs(solved: SolvedLay) -> tuple[RingArc, ...]:
    """Where the rings of each course are cut, and the level of each part, lowest first."""
    arcs = [
        RingArc(course, level, start, end)
        for course, parts in enumerate(ring_levels(solved))
        for level, start, end in parts
    ]
    return tuple(sorted(arcs, key=lambda a: (a.level, a.course, a.from_rad)))


@dataclass(frozen=True, slots=True, eq=False)
class ArcList:
    """Arcs of rings, lowest level first; arrays of one length n, panel frame, mm.

    Args:
        x_mm, y_mm: centre of the arc's ring.
        course, level, role: of the arc; roles are those of `core.fill`. A dropped ring is one
            whole turn at level 0: a place without metal.
        from_rad, to_rad: where on the ring it begins and ends.
        half_along_mm: half axis of a ring's centreline along the rows, as seen.
        half_across_mm: half axis across.
        wire_mm: wire diameter.
        lean_rad: lean of the rings.
        grain_rad: direction of the rows, clockwise on screen.
        lean_signs: of each course.
    """

    x_mm: Floats
    y_mm: Floats
    course: Small
    level: Small
    role: Small
    from_rad: Floats
    to_rad: Floats
    half_along_mm: float
    half_across_mm: float
    wire_mm: float
    lean_rad: float
    grain_rad: float
    lean_signs: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.x_mm)

    def points(self, arc: int, count: int, past_rad: float = 0.0) -> Floats:
        """Points along one arc's centreline, (count, 3); z is towards the viewer.

        Args:
            arc: its place in the list.
            count: how many points, evenly in angle, ends included.
            past_rad: how far to go on past both ends.
        """
        f = np.linspace(self.from_rad[arc] - past_rad, self.to_rad[arc] + past_rad, count)
        along = self.half_along_mm * np.cos(f)
        across = self.half_across_mm * np.sin(f)
        c, s = math.cos(self.grain_rad), math.sin(self.grain_rad)
        sign = self.lean_signs[self.course[arc]]
        return np.column_stack(
            [
                self.x_mm[arc] + along * c - across * s,
                self.y_mm[arc] + along * s + across * c,
                sign * self.half_across_mm * math.sin(self.lean_rad) * np.cos(f),
            ]
        )

    def levels(self) -> Iterator[tuple[int, slice]]:
        """Each level with its stretch of the list, lowest first."""
        found, starts = np.unique(self.level, return_index=True)
        ends = [*starts[1:], len(self.level)]
        for level, start, end in zip(found, starts, ends, strict=True):
            yield int(level), slice(int(start), int(end))


def place_arcs(
    solved: SolvedLay,
    weave: Weave,
    grain_rad: float,
    x_mm: Floats,
    y_mm: Floats,
    course: Small,
    role: Small,
) -> ArcList:
    """Arcs of rings at given centres.

    Args:
        solved: the sheet.
        weave: its weave.
        grain_rad: direction of the rows, clockwise on screen.
        x_mm: (n,) centres, panel frame.
        y_mm: (n,).
        course: (n,).
        role: (n,).
    """
    gone = np.nonzero(role == DROPPED)[0]
    rings = [gone]
    levels = [np.zeros(len(gone), dtype=np.int8)]
    starts, ends = [np.zeros(len(gone))], [np.full(len(gone), 2 * math.pi)]
    for arc in ring_arcs(solved):
        mine = np.nonzero((course == arc.course) & (role != DROPPED))[0]
        rings.append(mine)
        levels.append(np.full(len(mine), arc.level, dtype=np.int8))
        starts.append(np.full(len(mine), arc.from_rad))
        ends.append(np.full(len(mine), arc.to_rad))
    ring = np.concatenate(rings)
    return ArcList(
        x_mm[ring],
        y_mm[ring],
        course[ring],
        np.concatenate(levels),
        role[ring],
        np.concatenate(starts),
        np.concatenate(ends),
        solved.centreline_mm * math.cos(solved.lean_rad),
        solved.centreline_mm,
        solved.wire_mm,
        solved.lean_rad,
        grain_rad,
        tuple(c.lean_sign for c in weave.courses),
    )


def fill_arcs(
    fill: Fill,
    solved: SolvedLay,
    weave: Weave,
    grain_deg: float,
    box: tuple[float, float, float, float] | None = None,
) -> ArcList:
    """Arcs of the rings that lie on a panel.

    Args:
        fill: the panel's rings.
        solved: its sheet.
        weave: its weave.
        grain_deg: its grain.
        box: x0, y0, x1, y1 in mm of the panel frame: leave out rings that do not show in it.
    """
    if box is not None:
        r = solved.half_across_mm
        box = (box[0] - r, box[1] - r, box[2] + r, box[3] + r)
    at = sites(fill, box)
    return place_arcs(solved, weave, math.radians(grain_deg), at.x_mm, at.y_mm, at.course, at.role)


def sheet_sites(
    solved: SolvedLay, weave: Weave, rings_along: int, rows: int
) -> tuple[Floats, Floats, Small]:
    """Centres and courses of an even piece of the sheet: x_mm, y_mm, course, each (n,).

    Ring 0 of row 0 lies at zero; the rows run along x.
    """
    row, ring = np.divmod(np.arange(rings_along * rows), rings_along)
    course = (row % len(weave.courses)).astype(np.int8)
    phase = np.array([c.phase for c in weave.courses])
    return (ring + phase[course]) * solved.along_mm, row * solved.across_mm, course
