"""The display list of a ring sheet: arcs in millimetres, in the order they are drawn.

Rings pass over some neighbours and under others, so no order of whole rings is right. Each ring
is cut into arcs, and the arcs are drawn level by level, lowest first. One list serves close-ups
on screen, printed pages and SVG.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.fill import DROPPED, Fill, sites
from core.weave.cells import weave as find_weave
from core.weave.levels import ring_levels
from core.weave.sheet import Pose, SolvedLay, poses

Floats = NDArray[np.float64]
Small = NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class RingArc:
    """A part of every ring of one pose that is drawn at one level.

    Args:
        pose: which pose of the sheet.
        level: 0 is drawn first.
        from_rad: angle f where it begins; a ring's points are ``centre + R (cos f u + sin f v)``
            in the lattice frame.
        to_rad: angle where it ends, more than `from_rad` and at most a turn further.
    """

    pose: int
    level: int
    from_rad: float
    to_rad: float


@lru_cache(maxsize=64)
def ring_arcs(solved: SolvedLay) -> tuple[RingArc, ...]:
    """Where the rings of each pose are cut, and the level of each part, lowest first."""
    arcs = [
        RingArc(pose, level, start, end)
        for pose, parts in enumerate(ring_levels(solved))
        for level, start, end in parts
    ]
    return tuple(sorted(arcs, key=lambda a: (a.level, a.pose, a.from_rad)))


@dataclass(frozen=True, slots=True, eq=False)
class ArcList:
    """Arcs of rings, lowest level first; arrays of one length n, panel frame, mm.

    Args:
        x_mm, y_mm: centre of the arc's ring.
        pose, level, role: of the arc; roles are those of `core.fill`. A dropped ring is one
            whole turn at level 0: a place without metal.
        from_rad, to_rad: where on the ring it begins and ends.
        poses: how the rings of each pose lie, lattice frame.
        grain_rad: direction of the rows, clockwise on screen.
    """

    x_mm: Floats
    y_mm: Floats
    pose: Small
    level: Small
    role: Small
    from_rad: Floats
    to_rad: Floats
    poses: tuple[Pose, ...]
    grain_rad: float

    def __len__(self) -> int:
        return len(self.x_mm)

    def points(self, arc: int, count: int, past_rad: float = 0.0) -> Floats:
        """Points along one arc's centreline, (count, 3); z is towards the viewer.

        Args:
            arc: its place in the list.
            count: how many points, evenly in angle, ends included.
            past_rad: how far to go on past both ends.
        """
        pose = self.poses[self.pose[arc]]
        f = np.linspace(self.from_rad[arc] - past_rad, self.to_rad[arc] + past_rad, count)
        ring = np.cos(f)[:, None] * np.array(pose.u) + np.sin(f)[:, None] * np.array(pose.v)
        along, across, height = (pose.radius_mm * ring).T
        c, s = math.cos(self.grain_rad), math.sin(self.grain_rad)
        return np.column_stack(
            [
                self.x_mm[arc] + along * c - across * s,
                self.y_mm[arc] + along * s + across * c,
                pose.centre[2] + height,
            ]
        )

    def levels(self) -> Iterator[tuple[int, slice]]:
        """Each level with its stretch of the list, lowest first."""
        found, starts = np.unique(self.level, return_index=True)
        ends = [*starts[1:], len(self.level)]
        for level, start, end in zip(found, starts, ends, strict=True):
            yield int(level), slice(int(start), int(end))


@dataclass(frozen=True, slots=True, eq=False)
class RingPlaces:
    """Rings by centre and pose: x_mm, y_mm float64 (n,), panel frame; pose, role int8 (n,)."""

    x_mm: Floats
    y_mm: Floats
    pose: Small
    role: Small


def rings_at(
    solved: SolvedLay, grain_rad: float, x_mm: Floats, y_mm: Floats, course: Small, role: Small
) -> RingPlaces:
    """The rings of sites, one or as many as the weave has plies each.

    Args:
        solved: the sheet.
        grain_rad: direction of the rows, clockwise on screen.
        x_mm: (n,) sites, panel frame.
        y_mm: (n,).
        course: (n,).
        role: (n,).
    """
    plies = find_weave(solved.weave).plies
    shift = np.array([pose.centre[:2] for pose in poses(solved)])
    if plies == 1 and not shift.any():
        return RingPlaces(x_mm, y_mm, course, role)
    pose = (course.astype(np.int64)[:, None] * plies + np.arange(plies)).ravel()
    c, s = math.cos(grain_rad), math.sin(grain_rad)
    dx, dy = shift[pose].T
    return RingPlaces(
        np.repeat(x_mm, plies) + dx * c - dy * s,
        np.repeat(y_mm, plies) + dx * s + dy * c,
        pose.astype(np.int8),
        np.repeat(role, plies),
    )


def place_arcs(solved: SolvedLay, grain_rad: float, rings: RingPlaces) -> ArcList:
    """Arcs of rings at given centres.

    Args:
        solved: the sheet.
        grain_rad: direction of the rows, clockwise on screen.
        rings: the rings.
    """
    gone = np.nonzero(rings.role == DROPPED)[0]
    which = [gone]
    levels = [np.zeros(len(gone), dtype=np.int8)]
    starts, ends = [np.zeros(len(gone))], [np.full(len(gone), 2 * math.pi)]
    for arc in ring_arcs(solved):
        mine = np.nonzero((rings.pose == arc.pose) & (rings.role != DROPPED))[0]
        which.append(mine)
        levels.append(np.full(len(mine), arc.level, dtype=np.int8))
        starts.append(np.full(len(mine), arc.from_rad))
        ends.append(np.full(len(mine), arc.to_rad))
    ring = np.concatenate(which)
    return ArcList(
        rings.x_mm[ring],
        rings.y_mm[ring],
        rings.pose[ring],
        np.concatenate(levels),
        rings.role[ring],
        np.concatenate(starts),
        np.concatenate(ends),
        poses(solved),
        grain_rad,
    )


def fill_rings(
    fill: Fill,
    solved: SolvedLay,
    grain_deg: float,
    box: tuple[float, float, float, float] | None = None,
) -> RingPlaces:
    """The rings that lie on a panel.

    Args:
        fill: the panel's rings.
        solved: its sheet.
        grain_deg: its grain.
        box: x0, y0, x1, y1 in mm of the panel frame: leave out rings that do not show in it.
    """
    if box is not None:
        r = solved.reach_mm
        box = (box[0] - r, box[1] - r, box[2] + r, box[3] + r)
    at = sites(fill, box)
    return rings_at(solved, math.radians(grain_deg), at.x_mm, at.y_mm, at.course, at.role)


def fill_arcs(
    fill: Fill,
    solved: SolvedLay,
    grain_deg: float,
    box: tuple[float, float, float, float] | None = None,
) -> ArcList:
    """Arcs of the rings that lie on a panel; arguments as of `fill_rings`."""
    rings = fill_rings(fill, solved, grain_deg, box)
    return place_arcs(solved, math.radians(grain_deg), rings)


def sheet_sites(
    solved: SolvedLay, width_mm: float, height_mm: float
) -> tuple[Floats, Floats, Small]:
    """Sites of an even piece of the sheet that covers a rectangle from 0, 0, and its margins.

    The rows run along x; site 0 of row 0 lies at zero. Returns x_mm, y_mm, course, each (n,).
    """
    weave = find_weave(solved.weave)
    reach = solved.reach_mm
    cell_mm = weave.height * solved.across_mm
    cells = np.arange(
        math.floor(-reach / cell_mm) - 1, math.ceil((height_mm + reach) / cell_mm) + 1
    )
    site = np.arange(
        math.floor(-reach / solved.along_mm) - 1,
        math.ceil((width_mm + reach) / solved.along_mm) + 2,
    )
    cell, course, ring = (
        g.ravel() for g in np.meshgrid(cells, np.arange(len(weave.courses)), site, indexing="ij")
    )
    phase = np.array([c.phase for c in weave.courses])
    rise = np.array([c.rise for c in weave.courses])
    x_mm = (ring + phase[course]) * solved.along_mm
    y_mm = (cell * weave.height + rise[course]) * solved.across_mm
    return x_mm, y_mm, course.astype(np.int8)


def sheet_arcs(solved: SolvedLay, width_mm: float, height_mm: float) -> ArcList:
    """Arcs of an even sheet that covers a rectangle from 0, 0; what reaches past it included."""
    x, y, course = sheet_sites(solved, width_mm, height_mm)
    role = np.zeros(len(x), dtype=np.int8)
    return place_arcs(solved, 0.0, rings_at(solved, 0.0, x, y, course, role))
