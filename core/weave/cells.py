"""What a weave is: courses of rings, the links between them, and the family that places them.

A weave holds no pitch. Its family turns a few unknowns into places and leans; contact between
the rings settles the unknowns (`core.weave.solve` ahead of time, `core.weave.lay` at run time).
To add a weave: add its data here, and its table with ``python -m core.weave.solve``.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.errors import BadValue
from core.texts import _, mark


@dataclass(frozen=True, slots=True)
class Course:
    """One kind of row.

    Args:
        phase: where ring 0 sits along the row, in pitches along.
        rise: where the row lies across, in pitches across from the start of its cell.
        lean_sign: +1 when a leaning ring's +x side is nearer the viewer, -1 when its -x side is.
        kind: which of the weave's ring kinds it is made of.
        span: for rings that stand upright: from one linked ring to the other, in pitches along
            and across.
    """

    phase: float
    rise: float
    lean_sign: int = 0
    kind: int = 0
    span: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """Site k of a row in `course` is linked to site k + `site_shift`, `row_step` rows further."""

    course: int
    row_step: int
    site_shift: int


@dataclass(frozen=True, slots=True)
class Comfort:
    """Aspect ratios by feel: tight up to one, easy between two, loose from the last.

    Source: common practice, no source.
    """

    tight_to: float
    easy_from: float
    easy_to: float
    loose_from: float


@dataclass(frozen=True, slots=True)
class Weave:
    """A weave: row j is of course ``j % len(courses)``; a cell is one row of each course.

    Args:
        id: the name used in files.
        name: the name people read (English; translate where it is shown).
        courses: the kinds of row, in turn, by rise.
        height: pitches across from one cell to the next.
        links: every link once, from the row nearer the start.
        weave_time_factor: time to weave one ring, relative to European 4-in-1.
        comfort: how aspect ratios feel in this weave.
        family: the key in `core.weave.families.FAMILIES` of what places the rings.
        plies: rings side by side at each site; all are linked to all of a linked site.
        kinds: the ring kinds by name, first the one the weave is named by.
    """

    id: str
    name: str
    courses: tuple[Course, ...]
    height: int
    links: tuple[Link, ...]
    weave_time_factor: float
    comfort: Comfort
    family: str = "leaning rows"
    plies: int = 1
    kinds: tuple[str, ...] = (mark("ring"),)

    def course_of(self, row: int) -> int:
        """The index of the course that row belongs to (any integer row)."""
        return row % len(self.courses)

    def linked(self, row: int, row_step: int, site_shift: int) -> bool:
        """Whether site k of `row` is linked to site k + site_shift of row + row_step."""
        if row_step < 0:
            return self.linked(row + row_step, -row_step, -site_shift)
        return Link(self.course_of(row), row_step, site_shift) in self.links

    @property
    def rings_per_cell(self) -> int:
        """Rings in one pitch along of one row of each course."""
        return len(self.courses) * self.plies

    def share(self, kind: int) -> float:
        """The share of its rings that are of a kind, in a sheet without ends."""
        return sum(c.kind == kind for c in self.courses) / len(self.courses)


def _leaning_rows(shift: float) -> tuple[Course, Course]:
    """Rows that lean by turns; every other one is shifted by so much of the pitch along."""
    return Course(0.0, 0, lean_sign=1), Course(shift, 1, lean_sign=-1)


def _to_next_row(*shifts: tuple[int, int]) -> tuple[Link, ...]:
    """Links to the next row: from the first course and from the second, each a range of sites."""
    return tuple(
        Link(course, 1, shift)
        for course, (low, high) in enumerate(shifts)
        for shift in range(low, high + 1)
    )


EUROPEAN_4_IN_1 = Weave(
    id="european-4-in-1",
    name=mark("European 4-in-1"),
    courses=_leaning_rows(0.5),
    height=2,
    links=_to_next_row((-1, 0), (0, 1)),
    weave_time_factor=1.0,
    comfort=Comfort(3.6, 3.8, 5.8, 6.0),
)

EUROPEAN_6_IN_1 = Weave(
    id="european-6-in-1",
    name=mark("European 6-in-1"),
    courses=_leaning_rows(0.0),
    height=2,
    links=_to_next_row((-1, 1), (-1, 1)),
    weave_time_factor=1.5,
    comfort=Comfort(5.0, 5.2, 6.5, 7.0),
)

EUROPEAN_8_IN_1 = Weave(
    id="european-8-in-1",
    name=mark("European 8-in-1"),
    courses=_leaning_rows(0.5),
    height=2,
    links=_to_next_row((-2, 1), (-1, 2)),
    weave_time_factor=2.2,
    comfort=Comfort(6.4, 6.6, 8.0, 8.5),
)

DOUBLED_4_IN_1 = Weave(
    id="doubled-4-in-1",
    name=mark("King's mail (doubled 4-in-1)"),
    courses=_leaning_rows(0.5),
    height=2,
    links=_to_next_row((-1, 0), (0, 1)),
    # The second ring of a pair follows the way of the first.
    weave_time_factor=1.2,
    comfort=Comfort(5.2, 5.5, 7.0, 7.5),
    family="paired rows",
    plies=2,
)

JAPANESE_SQUARE = Weave(
    id="japanese-square",
    name=mark("Japanese square"),
    courses=(
        Course(0.0, 0.0),
        Course(0.5, 0.0, kind=1, span=(1.0, 0.0)),
        Course(0.0, 0.5, kind=1, span=(0.0, 1.0)),
    ),
    height=1,
    links=(Link(0, 1, -1), Link(0, 1, 0), Link(0, 2, 0), Link(2, 1, 0)),
    # Flat rings are closed beforehand; each upright one goes through two.
    weave_time_factor=0.6,
    comfort=Comfort(3.0, 3.2, 5.0, 5.5),
    family="flat and upright",
    kinds=(mark("flat ring"), mark("upright ring")),
)

JAPANESE_HEXAGONAL = Weave(
    id="japanese-hexagonal",
    name=mark("Japanese hexagonal"),
    courses=(
        Course(0.0, 0.0),
        Course(0.5, 0.0, kind=1, span=(1.0, 0.0)),
        Course(0.25, 0.5, kind=1, span=(0.5, 1.0)),
        Course(0.75, 0.5, kind=1, span=(-0.5, 1.0)),
        Course(0.5, 1.0),
        Course(0.0, 1.0, kind=1, span=(1.0, 0.0)),
        Course(0.75, 1.5, kind=1, span=(0.5, 1.0)),
        Course(0.25, 1.5, kind=1, span=(-0.5, 1.0)),
    ),
    height=2,
    links=(
        *(Link(0, 1, -1), Link(0, 1, 0), Link(0, 2, 0), Link(0, 3, -1)),
        *(Link(2, 2, 0), Link(3, 1, 0)),
        *(Link(4, 1, 0), Link(4, 1, 1), Link(4, 2, 0), Link(4, 3, 0)),
        *(Link(6, 2, 1), Link(7, 1, 0)),
    ),
    weave_time_factor=0.6,
    comfort=Comfort(3.6, 4.0, 5.5, 6.0),
    family="flat and upright",
    kinds=(mark("flat ring"), mark("upright ring")),
)

WEAVES: dict[str, Weave] = {
    w.id: w
    for w in (
        EUROPEAN_4_IN_1,
        EUROPEAN_6_IN_1,
        EUROPEAN_8_IN_1,
        DOUBLED_4_IN_1,
        JAPANESE_SQUARE,
        JAPANESE_HEXAGONAL,
    )
}


def kind_ring_ids(weave_id: str, ring_id: int, upright_ring_id: int | None) -> tuple[int, ...]:
    """The id of the ring of each of a weave's ring kinds; of an unknown weave, the one ring.

    Args:
        weave_id: the weave.
        ring_id: the ring of the first kind.
        upright_ring_id: that of the second, where the weave has one; None for the same.
    """
    known = WEAVES.get(weave_id)
    if known is None or len(known.kinds) == 1:
        return (ring_id,)
    return ring_id, ring_id if upright_ring_id is None else upright_ring_id


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
