"""A solved sheet of mail: where its rings lie, how thick it is and how much it hides.

`core.weave.lay` solves sheets; everything that draws, fills or measures one reads it here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.families import Circles, Floats, Places, Rings, family_of

LayKind = Literal["laid", "spread", "along", "across", "held", "swatch"]

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Pose:
    """A ring as it lies at its site; mm, lattice frame, z towards the viewer.

    Its centreline is ``centre + radius_mm * (cos f * u + sin f * v)``.

    Args:
        course: of its row.
        kind: which of the weave's ring kinds.
        centre: from its site.
        u, v: unit vectors at right angles; u lies along the row in rings that lean, and v
            points at the viewer in rings that stand upright.
    """

    course: int
    kind: int
    centre: Vector
    u: Vector
    v: Vector
    radius_mm: float
    wire_mm: float

    def turned(self, grain_rad: float) -> tuple[Vector, Vector]:
        """The axes u and v where the rows run along the grain: on screen, x right, y down."""
        c, s = math.cos(grain_rad), math.sin(grain_rad)
        u, v = ((x * c - y * s, x * s + y * c, z) for x, y, z in (self.u, self.v))
        return u, v


@dataclass(frozen=True, slots=True)
class Footprint:
    """What a site's rings cover, seen from the front: a disc of radius `reach_mm` moved from
    -arm to +arm, once lengths along the row are multiplied by `stretch`.

    A leaning ring's true outline, a wire swept along an ellipse, is no ellipse: it lies outside
    this one by up to 0.4 % of a wire.

    Args:
        stretch: for a leaning ring, how much narrower it looks along its row.
        reach_mm: radius of the disc.
        arm_mm: along and across, the stretch applied.
    """

    stretch: float
    reach_mm: float
    arm_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class SolvedLay:
    """A sheet of mail, solved.

    Args:
        weave: the weave's id.
        kind: the lay.
        rings_mm: the size of each ring kind, mm.
        unknowns: of the weave's family, mm and radians; pitch along and across come first.
        feasible: False for a swatch whose pitches no sheet of such rings can have; the other
            unknowns are then those of the nearest sheet.
        nearest_mm: along and across of that nearest sheet; None when feasible.
    """

    weave: str
    kind: LayKind
    rings_mm: Rings
    unknowns: tuple[float, ...]
    feasible: bool = True
    nearest_mm: tuple[float, float] | None = None

    @property
    def along_mm(self) -> float:
        """Pitch in a row."""
        return self.unknowns[0]

    @property
    def across_mm(self) -> float:
        """Pitch from row to row."""
        return self.unknowns[1]

    @property
    def lean_rad(self) -> float:
        """Tilt of the rings out of the sheet; 0 in weaves of flat and upright rings."""
        return self.unknowns[2] if len(self.unknowns) > 2 else 0.0

    @property
    def wire_mm(self) -> float:
        """Wire of the first ring kind."""
        return self.rings_mm[0].wire

    @property
    def centreline_mm(self) -> float:
        """Centreline radius of the first ring kind."""
        return self.rings_mm[0].radius

    @property
    def aspect_ratio(self) -> float:
        """Inner diameter over wire, of the first ring kind."""
        return self.rings_mm[0].aspect_ratio

    @property
    def area_per_ring_mm2(self) -> float:
        """Sheet area each ring takes up, all kinds alike."""
        weave = find_weave(self.weave)
        return self.along_mm * self.across_mm * weave.height / weave.rings_per_cell

    @property
    def thickness_mm(self) -> float:
        """Height of the sheet from its lowest metal to its highest."""
        tops = [
            p.centre[2] + p.radius_mm * math.hypot(p.u[2], p.v[2]) + p.wire_mm / 2
            for p in poses(self)
        ]
        lows = [
            p.centre[2] - p.radius_mm * math.hypot(p.u[2], p.v[2]) - p.wire_mm / 2
            for p in poses(self)
        ]
        return max(tops) - min(lows)

    @property
    def half_along_mm(self) -> float:
        """Half the length of a ring's outline along the row, seen from the front."""
        return self.centreline_mm * math.cos(self.lean_rad) + self.wire_mm / 2

    @property
    def reach_mm(self) -> float:
        """Farthest that any of a site's metal lies from the site, seen from the front."""
        return max(
            math.hypot(p.centre[0], p.centre[1]) + p.radius_mm + p.wire_mm / 2 for p in poses(self)
        )

    @property
    def cover(self) -> float:
        """Share of the sheet hidden by metal, seen from the front, 0 to 1."""
        return _cover(self)

    def footprint(self, course: int) -> Footprint:
        """What the rings at a site of that course cover."""
        mine = [p for p in poses(self) if p.course == course]
        one = mine[0]
        if find_weave(self.weave).courses[course].span is not None:
            arm = one.radius_mm * one.u[0], one.radius_mm * one.u[1]
            return Footprint(1.0, one.wire_mm / 2, arm)
        reach = one.radius_mm + one.wire_mm / 2
        stretch = reach / (one.radius_mm * math.hypot(one.u[0], one.u[1]) + one.wire_mm / 2)
        side = max(abs(p.centre[0]) for p in mine)
        return Footprint(stretch, reach, (side * stretch, 0.0))


@lru_cache(maxsize=1024)
def poses(solved: SolvedLay) -> tuple[Pose, ...]:
    """The rings at one site of each course, by course and ply."""
    weave = find_weave(solved.weave)
    course = np.repeat(np.arange(len(weave.courses)), weave.plies)
    ply = np.tile(np.arange(weave.plies), len(weave.courses))
    rings = _placed(solved, weave, Places(course, np.zeros_like(course), ply))
    site = np.array(
        [(c.phase * solved.along_mm, c.rise * solved.across_mm, 0.0) for c in weave.courses]
    )
    centre = rings.centre - site[course]
    made = []
    for i, at in enumerate(course.tolist()):
        made.append(
            Pose(
                at,
                weave.courses[at].kind,
                _vector(centre[i]),
                _vector(rings.u[i]),
                _vector(rings.v[i]),
                float(rings.radius[i]),
                float(rings.wire[i]),
            )
        )
    return tuple(made)


def _vector(row: Floats) -> Vector:
    x, y, z = row.tolist()
    return x, y, z


def _placed(solved: SolvedLay, weave: Weave, places: Places) -> Circles:
    return family_of(weave).place(weave, np.array(solved.unknowns), solved.rings_mm, places)


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """The rings that can show in or touch one cell of a sheet; mm, lattice frame.

    places, circles: n rings; base: int64 (p,), those of the cell itself, in the order of `poses`;
    pose: int64 (n,), which pose each ring has; size_mm: the cell, along and across.
    """

    places: Places
    circles: Circles
    base: np.ndarray[tuple[int], np.dtype[np.int64]]
    pose: np.ndarray[tuple[int], np.dtype[np.int64]]
    size_mm: tuple[float, float]


def patch(solved: SolvedLay) -> Patch:
    """The rings of one cell and all whose outlines reach over them."""
    weave = find_weave(solved.weave)
    courses, plies = len(weave.courses), weave.plies
    cells = math.ceil(2 * solved.reach_mm / (solved.across_mm * weave.height)) + 1
    sites = math.ceil(2 * solved.reach_mm / solved.along_mm) + 1
    row, site, ply = (
        grid.ravel().astype(np.int64)
        for grid in np.meshgrid(
            np.arange(-cells * courses, (cells + 1) * courses),
            np.arange(-sites, sites + 1),
            np.arange(plies),
            indexing="ij",
        )
    )
    places = Places(row, site, ply)
    base = np.nonzero((site == 0) & (row >= 0) & (row < courses))[0].astype(np.int64)
    return Patch(
        places,
        _placed(solved, weave, places),
        base,
        (row % courses) * plies + ply,
        (solved.along_mm, solved.across_mm * weave.height),
    )


@lru_cache(maxsize=256)
def _cover(solved: SolvedLay) -> float:
    """Union of a cell's rings, each the set of points within half a wire of its flattened
    centreline (a tube looks like the union of its discs), over the cell's area.
    """
    import shapely

    from core.weave.contact import points

    near = patch(solved)
    around = points(near.circles, 180)[:, :, :2]
    lines = shapely.linestrings(np.concatenate([around, around[:, :1]], axis=1))
    metal = shapely.union_all(shapely.buffer(lines, near.circles.wire / 2, quad_segs=16))
    cell = shapely.box(0.0, 0.0, *near.size_mm)
    return float(shapely.area(shapely.intersection(metal, cell)) / shapely.area(cell))
