"""The rings that lie on a panel, as runs and ties.

A weave puts rings on the sites of a lattice: rows of evenly spaced places, each of one ring or of
as many as the weave has plies. An outline cuts each
row into a few *runs*; a *tie* says that a stretch of one run is linked, ring by ring, to a stretch
of another. Counts, links, edge rings and dangling rings all follow from runs and ties, so the work
grows with rows and outline points, never with rings; only `sites` lists places.

Results are in the panel frame (mm, x right, y down); rows and sites are those of `core.rows`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.errors import BadValue
from core.outline import Outline, flatten, polygon
from core.panel import Panel
from core.rows import Floats, Ints, Lattice, Rows, chords_of, counted_out, cut_rows, lattice_of
from core.texts import _
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.sheet import Footprint, SolvedLay

BODY, EDGE, JOIN, HANG, DROPPED = range(5)
"""Roles of a run. DROPPED places lie on the panel but stay empty: a ring there would dangle."""

MIN_LINKS = 2
"""A ring held by fewer links dangles; a vacant site with as many body links is a seat."""

MAX_RINGS = 5_000_000


@dataclass(frozen=True, eq=False)
class Fill:
    """All rings of one panel; derived, compared by identity.

    Attributes:
        runs: int32 (R, 5): course, kind, role, first (lattice index k of its first site), count of
            sites; sorted by row, then by first; disjoint.
        rows: int32 (R,): the row each run lies in.
        place: float64 (R, 4): x0, y0, step_x, step_y in mm, panel frame; site i of the run,
            0 <= i < count, is centred at (x0, y0) + i * step.
        ties: int32 (T, 5): run a, run b, i, j, n: site i + m of a is linked to site j + m of b
            for 0 <= m < n. Each link stands once; ties to DROPPED places are listed, too.
        edge_of: int64 (R,): for EDGE runs the edge (id of its first node), else -1.
        plies: rings at each site.
    """

    runs: NDArray[np.int32]
    rows: NDArray[np.int32]
    place: Floats
    ties: NDArray[np.int32]
    edge_of: Ints
    plies: int = 1

    def count(self, role: int, kind: int | None = None) -> int:
        """How many rings have that role, of one ring kind or of all."""
        mine = self.runs[:, 2] == role
        if kind is not None:
            mine &= self.runs[:, 1] == kind
        return int(self.runs[mine, 4].sum()) * self.plies

    def edge_rings(self) -> dict[int, int]:
        """How many rings are set along each edge that has any, by the id of its first node."""
        runs = self.runs[:, 2] == EDGE
        edges, which = np.unique(self.edge_of[runs], return_inverse=True)
        counts = np.bincount(which, self.runs[runs, 4], len(edges)).astype(np.int64) * self.plies
        return dict(zip(edges.tolist(), counts.tolist(), strict=True))

    def links(self) -> int:
        """How many pairs of rings are linked, those of DROPPED places included."""
        return int(self.ties[:, 4].sum()) * self.plies**2


@dataclass(frozen=True, eq=False)
class Sites:
    """Sites in the panel frame: x_mm, y_mm float64 (n,); course, role int8 (n,)."""

    x_mm: Floats
    y_mm: Floats
    course: NDArray[np.int8]
    role: NDArray[np.int8]


@dataclass(frozen=True, eq=False)
class _Laid:
    """The runs to weave, the edge of each (-1 for body), and the places left empty."""

    kept: Rows
    owner: Ints
    dropped: Rows


def fill_panel(panel: Panel, solved: SolvedLay) -> Fill:
    """Lay rings on a panel: body, edge rings in the seats of edged edges, dangling dropped.

    Args:
        panel: its outline, edges, weave, grain, origin and placing rule matter.
        solved: pitch and footprint of its rings.

    Raises:
        BadOutline: the outline encloses no clear area.
        BadValue: it would hold more rings than a panel may.
    """
    weave = find_weave(panel.weave)
    lattice = _lattice(panel, weave, solved)
    return _assembled(_laid(panel, weave, solved, lattice), weave, lattice)


def count_rings(panel: Panel, solved: SolvedLay) -> int:
    """How many rings `fill_panel` would weave, without placing or linking them.

    Raises as `fill_panel`.
    """
    weave = find_weave(panel.weave)
    kept = _laid(panel, weave, solved, _lattice(panel, weave, solved)).kept
    return int((kept.last - kept.first + 1).sum()) * weave.plies


def _lattice(panel: Panel, weave: Weave, solved: SolvedLay) -> Lattice:
    return lattice_of(weave, solved, panel.grain_deg, panel.origin_x_mm, panel.origin_y_mm)


def _laid(panel: Panel, weave: Weave, solved: SolvedLay, lattice: Lattice) -> _Laid:
    outline = panel.outline
    if polygon(outline).area / solved.area_per_ring_mm2 > MAX_RINGS:
        raise BadValue(
            _("The panel would hold more than {n} million rings").format(n=MAX_RINGS // 10**6),
            do=_("Check the unit of the outline, or split the panel"),
        )
    body = _body(panel, weave, solved, chords_of(outline, lattice), lattice)
    made, owner = body, np.full(len(body.row), -1, dtype=np.int64)
    edged = {e.node_id for e in panel.edges if e.edging == "edged"}
    if edged:
        seats, seat_edge = _seats(body, outline, lattice, weave)
        keep = np.isin(seat_edge, np.fromiter(edged, np.int64))
        made, owner = _merged(body, seats.where(keep), seat_edge[keep])
    return _without_dangling(made, owner, weave)


def _body(panel: Panel, weave: Weave, solved: SolvedLay, chords: Floats, lattice: Lattice) -> Rows:
    """The sites that the panel's rule keeps; an upright ring goes with both its flat rings."""
    alike: dict[Footprint | None, list[int]] = {}
    for course in range(len(weave.courses)):
        shape = solved.footprint(course) if panel.rule == "whole" else None
        alike.setdefault(shape, []).append(course)
    parts = [cut_rows(chords, lattice, tuple(mine), shape) for shape, mine in alike.items()]
    body = parts[0] if len(parts) == 1 else _sorted(parts)
    if len(weave.kinds) == 1:
        return body
    stretch, links, taken = _degrees(body, weave)
    upright = np.array([c.kind > 0 for c in weave.courses])[stretch.row % len(weave.courses)]
    alone = stretch.where(taken & upright & (links < MIN_LINKS))
    return _cut_out(body, np.full(len(body.row), -1, dtype=np.int64), alone)[0]


def _sorted(parts: list[Rows]) -> Rows:
    row, first, last = (
        np.concatenate([getattr(p, name) for p in parts]) for name in ("row", "first", "last")
    )
    order = np.argsort((row << 32) + first)
    return Rows(row[order], first[order], last[order])


# --- links -----------------------------------------------------------------------------------


def _neighbours(weave: Weave) -> list[tuple[int, int, int]]:
    """Every link seen from both of its rings: (course, row step, site shift)."""
    courses = len(weave.courses)
    both = []
    for link in weave.links:
        both.append((link.course, link.row_step, link.site_shift))
        back = (link.course + link.row_step) % courses
        both.append((back, -link.row_step, -link.site_shift))
    return both


def _degrees(rows: Rows, weave: Weave) -> tuple[Rows, Ints, NDArray[np.bool_]]:
    """How many links each site has to the given rings.

    Returns:
        Stretches of sites, taken or vacant, the number of links of each, and whether taken.
        Vacant sites without any link are left out.
    """
    courses = len(weave.courses)
    course = rows.row % courses
    parts = [(rows.row, rows.first, rows.last + 1, np.zeros(len(rows.row), np.int64))]
    for of_course, row_step, shift in _neighbours(weave):
        own = (course == of_course).nonzero()[0]
        parts.append(
            (
                rows.row[own] + row_step,
                rows.first[own] + shift,
                rows.last[own] + shift + 1,
                np.ones(len(own), np.int64),
            )
        )
    row = np.concatenate([p[0] for p in parts])
    begin = np.concatenate([p[1] for p in parts])
    end = np.concatenate([p[2] for p in parts])
    link = np.concatenate([p[3] for p in parts])
    at_row = np.concatenate([row, row])
    at = np.concatenate([begin, end])
    order = np.argsort((at_row << 32) + at, kind="stable")
    at_row, at = at_row[order], at[order]
    links = np.cumsum(np.concatenate([link, -link])[order])
    taken = np.cumsum(np.concatenate([1 - link, link - 1])[order])
    filled = ((links > 0) | (taken > 0))[:-1]
    filled &= (at_row[1:] == at_row[:-1]) & (at[1:] > at[:-1])
    i = filled.nonzero()[0]
    return Rows(at_row[i], at[i], at[i + 1] - 1), links[i], taken[i] > 0


def _ties(rows: Rows, weave: Weave) -> NDArray[np.int32]:
    """Every link between the given runs, once: int32 (T, 5) as in `Fill.ties`."""
    courses = len(weave.courses)
    course = rows.row % courses
    found = []
    for link in weave.links:
        own = (course == link.course).nonzero()[0]
        low, high = rows.first[own] + link.site_shift, rows.last[own] + link.site_shift
        base = (rows.row[own] + link.row_step) << 32
        start = np.searchsorted((rows.row << 32) + rows.last, base + low)
        stop = np.searchsorted((rows.row << 32) + rows.first, base + high, side="right")
        which, other = counted_out(start, np.maximum(stop - start, 0))
        a = own[which]
        begin = np.maximum(low[which], rows.first[other])
        end = np.minimum(high[which], rows.last[other])
        i = begin - link.site_shift - rows.first[a]
        found.append(np.column_stack([a, other, i, begin - rows.first[other], end - begin + 1]))
    ties = np.concatenate(found)
    return ties[np.lexsort((ties[:, 1], ties[:, 0]))].astype(np.int32)


# --- edges and dangling rings ----------------------------------------------------------------


def _seats(body: Rows, outline: Outline, lattice: Lattice, weave: Weave) -> tuple[Rows, Ints]:
    """Vacant sites that would link two body rings or more, one by one, and the edge of each."""
    stretch, links, taken = _degrees(body, weave)
    vacant = stretch.where(~taken & (links >= MIN_LINKS))
    which, k = counted_out(vacant.first, vacant.last - vacant.first + 1)
    row = vacant.row[which]
    return Rows(row, k, k), _nearest_edge(outline, lattice.centres(row, k))


def _nearest_edge(outline: Outline, points: Floats) -> Ints:
    """The edge nearest to each point, by the id of its first node; the earlier one at a draw."""
    flats = [flatten(loop) for loop in outline.loops()]
    owner = np.concatenate([f.edge_ids for f in flats])
    lines = shapely.linestrings(
        np.concatenate([np.stack([f.points, np.roll(f.points, -1, axis=0)], axis=1) for f in flats])
    )
    # The tree is asked for all nearest chords, so that the draw does not hang on its shape.
    spots, chords = shapely.STRtree(lines).query_nearest(shapely.points(points), all_matches=True)
    nearest = np.full(len(points), len(lines), dtype=np.int64)
    np.minimum.at(nearest, spots, chords)
    return owner[nearest]


def _merged(body: Rows, seats: Rows, seat_edge: Ints) -> tuple[Rows, Ints]:
    """Body runs and edge rings in one sorted list, with the edge of each run (-1 for body)."""
    row = np.concatenate([body.row, seats.row])
    first = np.concatenate([body.first, seats.first])
    last = np.concatenate([body.last, seats.last])
    owner = np.concatenate([np.full(len(body.row), -1, dtype=np.int64), seat_edge])
    order = np.argsort((row << 32) + first)
    rows, owner = Rows(row[order], first[order], last[order]), owner[order]
    if len(rows.row) < 2:
        return rows, owner
    gap = (
        (rows.row[1:] != rows.row[:-1])
        | (rows.first[1:] != rows.last[:-1] + 1)
        | (owner[1:] != owner[:-1])
    )
    starts, ends = np.concatenate([[True], gap]), np.concatenate([gap, [True]])
    return Rows(rows.row[starts], rows.first[starts], rows.last[ends]), owner[starts]


def _without_dangling(rows: Rows, owner: Ints, weave: Weave) -> _Laid:
    """Take out rings with too few links, again and again until nothing changes."""
    gone: list[Rows] = []
    reach = max(abs(link.row_step) for link in weave.links)
    around = np.arange(-reach, reach + 1)
    loose = _loose(rows, weave)
    while len(loose.row):
        gone.append(loose)
        rows, owner = _cut_out(rows, owner, loose)
        # Only rows next to what went can have lost links; counting those needs their neighbours.
        touched = np.unique(loose.row[:, None] + around)
        near = np.isin(rows.row, np.unique(touched[:, None] + around))
        loose = _loose(rows.where(near), weave)
        loose = loose.where(np.isin(loose.row, touched))
    none = rows.where(np.zeros(len(rows.row), dtype=np.bool_))
    return _Laid(rows, owner, _sorted([none, *gone]))


def _loose(rows: Rows, weave: Weave) -> Rows:
    """The stretches of the given rings that have too few links among themselves."""
    stretch, links, taken = _degrees(rows, weave)
    return stretch.where(taken & (links < MIN_LINKS))


def _cut_out(rows: Rows, owner: Ints, loose: Rows) -> tuple[Rows, Ints]:
    """The runs without the loose stretches, each of which lies within one run."""
    if not len(loose.row):
        return rows, owner
    run = np.searchsorted((rows.row << 32) + rows.first, (loose.row << 32) + loose.first, "right")
    run = run - 1
    row = np.concatenate([rows.row, loose.row])
    first = np.concatenate([rows.first, loose.last + 1])
    owner = np.concatenate([owner, owner[run]])
    end = np.concatenate([rows.last, rows.last[run]])
    order = np.argsort((row << 32) + first, kind="stable")
    row, first, owner, end = row[order], first[order], owner[order], end[order]
    # A piece ends before the next loose stretch of its run, or where the run ended.
    after = np.searchsorted((loose.row << 32) + loose.first, (row << 32) + first)
    safe = np.minimum(after, len(loose.row) - 1)
    cut = (after < len(loose.row)) & (loose.row[safe] == row) & (loose.first[safe] <= end)
    last = np.where(cut, loose.first[safe] - 1, end)
    keep = last >= first
    return Rows(row, first, last).where(keep), owner[keep]


def _assembled(laid: _Laid, weave: Weave, lattice: Lattice) -> Fill:
    kept, owner, dropped = laid.kept, laid.owner, laid.dropped
    row = np.concatenate([kept.row, dropped.row])
    first = np.concatenate([kept.first, dropped.first])
    last = np.concatenate([kept.last, dropped.last])
    edge = np.concatenate([owner, np.full(len(dropped.row), -1, dtype=np.int64)])
    role = np.concatenate([np.where(owner < 0, BODY, EDGE), np.full(len(dropped.row), DROPPED)])
    order = np.argsort((row << 32) + first)
    rows = Rows(row[order], first[order], last[order])
    course = rows.row % len(weave.courses)
    kind = np.array([c.kind for c in weave.courses])[course]
    runs = np.column_stack([course, kind, role[order], rows.first, rows.last - rows.first + 1])
    place = np.empty((len(runs), 4))
    place[:, :2] = lattice.centres(rows.row, rows.first)
    place[:, 2] = lattice.along_mm * math.cos(lattice.grain_rad)
    place[:, 3] = lattice.along_mm * math.sin(lattice.grain_rad)
    return Fill(
        runs.astype(np.int32),
        rows.row.astype(np.int32),
        place,
        _ties(rows, weave),
        edge[order],
        weave.plies,
    )


# --- places ----------------------------------------------------------------------------------


def sites(fill: Fill, box: tuple[float, float, float, float] | None = None) -> Sites:
    """Sites of rings, optionally only those inside a box (x0, y0, x1, y1) of the panel frame."""
    count = fill.runs[:, 4].astype(np.int64)
    first = np.zeros_like(count)
    if box is not None:
        low, high = np.zeros(len(count)), count - 1.0
        for axis in (0, 1):
            start, step = fill.place[:, axis], fill.place[:, axis + 2]
            level = np.abs(step) < 1e-12
            safe = np.where(level, 1.0, step)
            a, b = (box[axis] - start) / safe, (box[axis + 2] - start) / safe
            outside = (start < box[axis]) | (start > box[axis + 2])
            low = np.where(level, np.where(outside, np.inf, low), np.maximum(low, np.minimum(a, b)))
            high = np.where(level, high, np.minimum(high, np.maximum(a, b)))
        met = low <= high
        first = np.ceil(np.where(met, low, 0.0)).astype(np.int64)
        count = np.where(met, np.floor(np.where(met, high, -1.0)).astype(np.int64) - first + 1, 0)
        count = np.maximum(count, 0)
    i = np.arange(int(count.sum()), dtype=np.float64)
    i -= np.repeat((np.cumsum(count) - count).astype(np.float64), count)
    start = fill.place[:, :2] + first[:, None] * fill.place[:, 2:]
    x_mm, y_mm = (
        np.repeat(start[:, axis], count) + i * np.repeat(fill.place[:, axis + 2], count)
        for axis in (0, 1)
    )
    return Sites(
        x_mm,
        y_mm,
        np.repeat(fill.runs[:, 0].astype(np.int8), count),
        np.repeat(fill.runs[:, 2].astype(np.int8), count),
    )
