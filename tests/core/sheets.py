"""Sheets to try checks on: every weave at four aspect ratios in every lay."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from core.weave.cells import WEAVES
from core.weave.families import Places, RingSize, family_of
from core.weave.lay import PLAY, Lay, held_percent_range, limit_aspect_ratio, solve_lay
from core.weave.sheet import SolvedLay

ROW_BUILT = tuple(w for w, weave in WEAVES.items() if weave.family != "flat and upright")
JAPANESE = tuple(w for w, weave in WEAVES.items() if weave.family == "flat and upright")
LAYS = ("laid", "spread", "along", "across", "held narrow", "held wide")
ABOVE_LIMIT = (1.02, 1.2, 1.6, 2.4)
"""Aspect ratios to try, as multiples of the weave's limit."""

STRETCH = {
    # the way in which a lay is extreme, in parts of the pitches along and across
    "laid": (1.01, 1.01),
    "spread": (1.01, 1.01),
    "along": (1.01, 1.0),
    "across": (1.0, 1.01),
    "held": (1.0, 1.01),
}


def links_of(weave, course):
    """How many rings each ring of a course is linked to."""
    seen = sum(link.course == course for link in weave.links)
    seen += sum(weave.course_of(link.course + link.row_step) == course for link in weave.links)
    return seen * weave.plies


@dataclass(frozen=True)
class Case:
    """A ring in a weave in a lay; wire 1 unless the upright ring differs."""

    weave: str
    ratio: float
    lay: str
    upright: tuple[float, float] | None = None

    def __str__(self):
        second = f"-upright-{self.upright[0]}-{self.upright[1]}" if self.upright else ""
        return f"{self.weave}-{self.ratio:.2f}-{self.lay}{second}"

    def solve(self) -> SolvedLay:
        """The sheet."""
        kind, *width = self.lay.split()
        lay = Lay(kind)
        if width:
            low, high = held_percent_range(self.weave, 1.0, self.ratio, self.upright)
            part = 0.3 if width == ["narrow"] else 0.75
            lay = Lay("held", width_percent=low + part * (high - low))
        return solve_lay(self.weave, 1.0, self.ratio, lay, self.upright)


def cases(lays=LAYS, above=ABOVE_LIMIT):
    """Every weave in those lays; weaves of two ring kinds also with a second size."""
    found = []
    for weave, times, lay in itertools.product(WEAVES, above, lays):
        ratio = limit_aspect_ratio(weave) * times
        found.append(Case(weave, ratio, lay))
        if weave in JAPANESE and times > 1.1:
            found.append(Case(weave, ratio, lay, (0.8, 0.8 * 2.8)))
    return found


def play_of(solved: SolvedLay) -> float:
    """Wires that lie free at each contact of a laid sheet; 0 in the others.

    Near the limit there is less play to have (see `solve_lay`).
    """
    if solved.kind != "laid":
        return 0.0
    if solved.weave in ROW_BUILT:
        limit = limit_aspect_ratio(solved.weave)
        return min(PLAY, (solved.aspect_ratio + 1) / (limit + 1) - 1)
    spread = solve_lay(
        solved.weave,
        1.0,
        solved.aspect_ratio,
        Lay("spread"),
        (solved.rings_mm[1].wire, solved.rings_mm[1].aspect_ratio * solved.rings_mm[1].wire),
    )
    return (spread.along_mm - solved.along_mm) / 2


def stretched(solved: SolvedLay, along: float, across: float) -> SolvedLay:
    """The same rings with other pitches, as if they could pass through each other."""
    one, other, *rest = solved.unknowns
    return replace(solved, unknowns=(one * along, other * across, *rest))


def ring_sizes(solved: SolvedLay, wire: float) -> tuple[RingSize, ...]:
    """The rings on the same centrelines of a wire that many times as thick."""
    return tuple(RingSize(r.wire * wire, r.radius) for r in solved.rings_mm)


def placed(solved: SolvedLay, places: Places, wire: float = 1.0):
    """The circles of some places of a sheet."""
    weave = WEAVES[solved.weave]
    sizes = ring_sizes(solved, wire)
    return family_of(weave).place(weave, np.array(solved.unknowns), sizes, places)


def cell_and_around(solved: SolvedLay) -> tuple[Places, np.ndarray]:
    """Every ring near one cell, and which of them are the cell's own: indices."""
    weave = WEAVES[solved.weave]
    far = max(2 * r.radius + r.wire for r in solved.rings_mm) * 1.02
    cells = int(far / (solved.across_mm * weave.height)) + 2
    sites = int(far / solved.along_mm) + 3
    courses = len(weave.courses)
    row, site, ply = (
        grid.ravel().astype(np.int64)
        for grid in np.meshgrid(
            np.arange(-cells * courses, (cells + 1) * courses),
            np.arange(-sites, sites + 1),
            np.arange(weave.plies),
            indexing="ij",
        )
    )
    return Places(row, site, ply), np.nonzero((site == 0) & (row >= 0) & (row < courses))[0]
