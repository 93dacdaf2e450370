"""What a weave is: courses of rings, the links between them, and the family that places them.

A weave holds no pitch. Its family turns a few unknowns into places and leans; contact between
the rings settles the unknowns (`core.weave.solve` ahead of time, `core.weave.lay` at run time).
To add a weave: add its data here, and its table with ``python -m core.weave.solve``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import BadValue
from core.texts import _, mark

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Course:
    """One kind of row.

    Args:
        phase: where ring 0 sits along the row, in units of the pitch along.
        lean_sign: +1 when the ring's +x side is nearer the viewer, -1 when its -x side is.
    """

    phase: float
    lean_sign: int


@dataclass(frozen=True, slots=True)
class Link:
    """Ring k of a row in `course` is linked to ring k + `site_shift`, `row_step` rows further."""

    course: int
    row_step: int
    site_shift: int


@dataclass(frozen=True, slots=True)
class Weave:
    """A weave: row j is of course ``j % len(courses)``.

    Args:
        id: the name used in files.
        name: the name people read (English; translate where it is shown).
        courses: the kinds of row, in turn.
        links: every link once, from the row nearer the start.
        weave_time_factor: time to weave one ring, relative to European 4-in-1.
        family: the key in `FAMILIES` of the function that places the rings.
    """

    id: str
    name: str
    courses: tuple[Course, ...]
    links: tuple[Link, ...]
    weave_time_factor: float
    family: str = "leaning rows"

    def course_of(self, row: int) -> int:
        """The index of the course that row belongs to (any integer row)."""
        return row % len(self.courses)

    def linked(self, row: int, row_step: int, site_shift: int) -> bool:
        """Whether ring k of `row` is linked to ring k + site_shift of row + row_step."""
        if row_step < 0:
            return self.linked(row + row_step, -row_step, -site_shift)
        return Link(self.course_of(row), row_step, site_shift) in self.links


@dataclass(frozen=True, slots=True)
class Circles:
    """Centrelines of n rings: points ``centre + radius * (cos f * u + sin f * v)``.

    Arrays are float64 (n, 3), or (n,) for `radius`; lattice frame, mm, z towards the viewer.
    """

    centre: Floats
    u: Floats
    v: Floats
    radius: Floats


def leaning_rows(
    weave: Weave,
    along: float | Floats,
    across: float | Floats,
    lean_rad: float | Floats,
    radius: float,
    rows: NDArray[np.int64],
    sites: NDArray[np.int64],
) -> Circles:
    """Place rings of one size that lean about the axis across their rows.

    Args:
        weave: the weave.
        along: pitch in a row; like the next two, a number or an array (n,).
        across: pitch from row to row.
        lean_rad: tilt of the rings out of the sheet.
        radius: centreline radius, in the unit of the pitches.
        rows: int64 (n,), the row of each ring wanted.
        sites: int64 (n,), its number in that row.
    """
    course = rows % len(weave.courses)
    phase = np.array([c.phase for c in weave.courses], dtype=np.float64)[course]
    sign = np.array([c.lean_sign for c in weave.courses], dtype=np.float64)[course]
    flat = np.zeros(len(rows))
    centre = np.column_stack([(sites + phase) * along, rows * across, flat])
    u = np.column_stack([flat + np.cos(lean_rad), flat, sign * np.sin(lean_rad)])
    v = np.column_stack([flat, flat + 1.0, flat])
    return Circles(centre, u, v, flat + radius)


Placing = Callable[
    [
        Weave,
        float | Floats,
        float | Floats,
        float | Floats,
        float,
        NDArray[np.int64],
        NDArray[np.int64],
    ],
    Circles,
]

FAMILIES: dict[str, Placing] = {"leaning rows": leaning_rows}

EUROPEAN_4_IN_1 = Weave(
    id="european-4-in-1",
    name=mark("European 4-in-1"),
    courses=(Course(0.0, 1), Course(0.5, -1)),
    links=(Link(0, 1, -1), Link(0, 1, 0), Link(1, 1, 0), Link(1, 1, 1)),
    weave_time_factor=1.0,
)

WEAVES: dict[str, Weave] = {w.id: w for w in (EUROPEAN_4_IN_1,)}


def weave(weave_id: str) -> Weave:
    """The weave of that id.

    Raises:
        BadValue: there is no such weave.
    """
    try:
        return WEAVES[weave_id]
    except KeyError:
        raise BadValue(
            _("there is no weave called “{name}”").format(name=weave_id),
            do=_("Use one of: {names}").format(names=", ".join(sorted(WEAVES))),
        ) from None
