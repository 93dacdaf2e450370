"""Lays: how far a sheet of mail is opened, and the sheet that follows.

A lay and a ring give a `SolvedLay`: pitches, lean, thickness, cover. Model lays are read from
tables solved from contact (`core.weave.solve`); a swatch gives measured pitches.
"""

from __future__ import annotations

import json
import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

from core.errors import BadValue, RingTooTight
from core.texts import _
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave

LayKind = Literal["laid", "spread", "along", "across", "swatch"]
LAY_KINDS: tuple[LayKind, ...] = ("laid", "spread", "along", "across", "swatch")
PLAY = 0.05  # wire diameters left free at each contact by someone laying mail on a pad


@dataclass(frozen=True, slots=True)
class Swatch:
    """A small woven piece, measured.

    Args:
        rings_along: n, rings counted along a row from a ring to the like ring.
        rows: m, rows counted across from a ring to the like ring.
        width_mm: W, from the first ring to the one n further along.
        height_mm: H, from the first row to the one m further across.
    """

    rings_along: int
    rows: int
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Lay:
    """How far the mail is opened; a swatch belongs to the kind "swatch" only."""

    kind: LayKind = "laid"
    swatch: Swatch | None = None


@dataclass(frozen=True, slots=True)
class SolvedLay:
    """A sheet of mail, solved.

    Args:
        along_mm: pitch in a row.
        across_mm: pitch from row to row.
        lean_rad: tilt of a ring out of the sheet, 0 flat.
        wire_mm: wire diameter.
        centreline_mm: centreline radius of the ring.
        kind: the lay.
        weave: the weave's id.
        feasible: False for a swatch whose pitches no sheet of such rings can have; `lean_rad` is
            then that of the nearest sheet.
        nearest_mm: along and across of that nearest sheet; None when feasible.
    """

    along_mm: float
    across_mm: float
    lean_rad: float
    wire_mm: float
    centreline_mm: float
    kind: LayKind
    weave: str = "european-4-in-1"
    feasible: bool = True
    nearest_mm: tuple[float, float] | None = None

    @property
    def aspect_ratio(self) -> float:
        """Inner diameter over wire."""
        return (2 * self.centreline_mm - self.wire_mm) / self.wire_mm

    @property
    def area_per_ring_mm2(self) -> float:
        """Sheet area each ring takes up."""
        return self.along_mm * self.across_mm

    @property
    def thickness_mm(self) -> float:
        """Height of the sheet, 2 R sin(lean) + d."""
        return 2 * self.centreline_mm * math.sin(self.lean_rad) + self.wire_mm

    @property
    def half_along_mm(self) -> float:
        """Half the length of a ring's outline along the row, seen from the front."""
        return self.centreline_mm * math.cos(self.lean_rad) + self.wire_mm / 2

    @property
    def half_across_mm(self) -> float:
        """Half the length of a ring's outline across the rows."""
        return self.centreline_mm + self.wire_mm / 2

    @property
    def cover(self) -> float:
        """Share of the sheet hidden by metal, seen from the front, 0 to 1."""
        return _cover(self)


def limit_aspect_ratio(weave_id: str) -> float:
    """The smallest aspect ratio with which the weave can be made at all.

    Raises:
        BadValue: there is no such weave.
    """
    return _table(weave_id).limit


@lru_cache(maxsize=4096)
def solve_lay(weave_id: str, wire_mm: float, inner_mm: float, lay: Lay) -> SolvedLay:
    """The sheet a ring makes in that lay.

    "laid" is the spread sheet solved with `PLAY` wire diameters between rings: the spread sheet
    of a wire that much thicker on the same circles. Very near the limit so much play leaves no
    sheet at all; there the largest play that still has one is used, which falls to none at the
    limit, so that pitches change without a jump.

    Args:
        weave_id: the weave.
        wire_mm: wire diameter, more than 0.
        inner_mm: inner diameter of the ring, more than 0.
        lay: the lay.

    Raises:
        RingTooTight: the ring's aspect ratio is below the weave's limit.
        BadValue: a number that cannot be, a ring beyond the tables, or a bad swatch.
    """
    table = _table(weave_id)
    for name, value in ((_("wire"), wire_mm), (_("inner diameter"), inner_mm)):
        if not (math.isfinite(value) and value > 0):
            raise BadValue(
                _("the {name} must be a length greater than zero").format(name=name),
                do=_("Type a length such as 1.6 mm"),
            )
    aspect = inner_mm / wire_mm
    if aspect < table.limit * (1 - 1e-12):
        raise _too_tight(weave_id, wire_mm, inner_mm, table.limit)
    if aspect > table.furthest * (1 + 1e-12):
        raise BadValue(
            _("a ring {ratio:.0f} times as wide as its wire is beyond what can be solved").format(
                ratio=aspect
            ),
            do=_("Use an inner diameter up to {inner:.1f} mm with this wire").format(
                inner=table.furthest * wire_mm
            ),
        )
    radius = (inner_mm + wire_mm) / 2
    if lay.kind == "swatch":
        return _solve_swatch(weave_id, wire_mm, radius, lay.swatch)
    if lay.kind == "laid":
        thick = min(1 + PLAY, (aspect + 1) / (table.limit + 1))
        state = table.state("spread", (aspect + 1) / thick - 1)
        unit = wire_mm * thick
    elif lay.kind in table.lays:
        state, unit = table.state(lay.kind, aspect), wire_mm
    else:
        raise BadValue(
            _("there is no lay called “{name}”").format(name=lay.kind),
            do=_("Use one of: {names}").format(names=", ".join(LAY_KINDS)),
        )
    along, across, lean = state
    return SolvedLay(along * unit, across * unit, lean, wire_mm, radius, lay.kind, weave_id)


def _too_tight(weave_id: str, wire_mm: float, inner_mm: float, limit: float) -> RingTooTight:
    least = math.ceil(limit * wire_mm * 100) / 100
    most = math.floor(inner_mm / limit * 100) / 100
    return RingTooTight(
        _(
            "the ring is {ratio:.2f} times as wide as its wire, and {weave} needs {limit:.2f}"
        ).format(ratio=inner_mm / wire_mm, weave=_(find_weave(weave_id).name), limit=limit),
        do=_(
            "Use an inner diameter of at least {inner:.2f} mm, or wire up to {wire:.2f} mm"
        ).format(inner=least, wire=most),
    )


def _solve_swatch(weave_id: str, wire_mm: float, radius: float, swatch: Swatch | None) -> SolvedLay:
    if swatch is None:
        raise BadValue(
            _("this lay needs a measured swatch"),
            do=_("Measure a small woven piece, or choose another lay"),
        )
    sizes = (swatch.width_mm, swatch.height_mm)
    if (
        swatch.rings_along < 1
        or swatch.rows < 1
        or not all(math.isfinite(v) and v > 0 for v in sizes)
    ):
        raise BadValue(
            _("the swatch needs counts of at least 1 and sizes greater than zero"),
            do=_("Count the rings and rows again and measure the piece"),
        )
    from core.weave.measured import nearest_sheet, widest_lean

    weave = find_weave(weave_id)
    along, across = swatch.width_mm / swatch.rings_along, swatch.height_mm / swatch.rows
    _refuse_slip(weave, along, across, wire_mm, 2 * radius - wire_mm)
    unit = wire_mm
    found = widest_lean(weave, along / unit, across / unit, radius / unit)
    if found is not None and found[1] >= 1 - 1e-6:
        return SolvedLay(along, across, found[0], wire_mm, radius, "swatch", weave_id)
    table = _table(weave_id)
    aspect = 2 * radius / wire_mm - 1
    starts = [table.state(kind, aspect) for kind in table.lays]
    near = nearest_sheet(weave, along / unit, across / unit, radius / unit, starts)
    best = widest_lean(weave, near[0], near[1], radius / unit)
    lean = best[0] if best is not None else near[2]
    return SolvedLay(
        along,
        across,
        lean,
        wire_mm,
        radius,
        "swatch",
        weave_id,
        feasible=False,
        nearest_mm=(near[0] * unit, near[1] * unit),
    )


def _refuse_slip(
    weave: Weave, along: float, across: float, wire_mm: float, inner_mm: float
) -> None:
    """Refuse a swatch so far from any mail that a count or a unit must be wrong.

    Centres of linked rings are at most an inner diameter apart; rings in a row, and rows, are at
    least a wire apart. A half is added for hasty rulers: what lies between is shown and asked.
    """
    phases = [c.phase for c in weave.courses]
    widest = max(
        math.hypot(
            (phases[(k.course + k.row_step) % len(phases)] + k.site_shift - phases[k.course])
            * along,
            k.row_step * across,
        )
        for k in weave.links
    )
    if widest > 1.5 * inner_mm or min(along, across) < wire_mm / 1.5:
        raise BadValue(
            _(
                "the swatch gives {along:.2f} mm from ring to ring and {across:.2f} mm from row to"
                " row, which rings of {inner:.2f} mm inside cannot have"
            ).format(along=along, across=across, inner=inner_mm),
            do=_("Count the rings and rows again and check the unit"),
        )


@dataclass(frozen=True, slots=True)
class _Segment:
    """Nodes between two changes of contact: s, then values and slopes for each unknown."""

    s: tuple[float, ...]
    columns: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]

    def at(self, s: float) -> tuple[float, float, float]:
        """Along, across and lean at s by cubic Hermite."""
        i = min(max(bisect_right(self.s, s) - 1, 0), len(self.s) - 2)
        h = self.s[i + 1] - self.s[i]
        t = (s - self.s[i]) / h
        u = 1 - t
        a, b = u * u * (1 + 2 * t), t * t * (3 - 2 * t)
        c, e = h * t * u * u, -h * t * t * u
        along, across, lean = (
            a * v[i] + b * v[i + 1] + c * m[i] + e * m[i + 1] for v, m in self.columns
        )
        return along, across, lean


@dataclass(frozen=True, slots=True)
class _Table:
    limit: float
    furthest: float
    lays: dict[str, tuple[tuple[float, ...], tuple[_Segment, ...]]]

    def state(self, kind: str, aspect: float) -> tuple[float, float, float]:
        """Along and across in wire diameters, and lean."""
        s = math.sqrt(max(aspect - self.limit, 0.0))
        begins, segments = self.lays[kind]
        return segments[max(bisect_right(begins, s) - 1, 0)].at(s)


@lru_cache(maxsize=16)
def _table(weave_id: str) -> _Table:
    find_weave(weave_id)
    text = resources.files("resources").joinpath("weaves", f"{weave_id}.json").read_text("utf-8")
    data: dict[str, Any] = json.loads(text)
    lays = {}
    for kind, rows in data["lays"].items():
        segments = tuple(
            _Segment(
                tuple(row["s"]),
                tuple(
                    (tuple(row[n]), tuple(row[n + "_slope"]))
                    for n in ("along", "across", "lean_rad")
                ),
            )
            for row in rows
            if len(row["s"]) > 1
        )
        lays[kind] = (tuple(s.s[0] for s in segments), segments)
    return _Table(float(data["limit"]), float(data["furthest"]), lays)


@lru_cache(maxsize=256)
def _cover(solved: SolvedLay) -> float:
    """Union of a cell's rings, each the set of points within half a wire of its flattened
    centreline (a tube looks like the union of its discs), over the cell's area.
    """
    import numpy as np
    import shapely

    from core.weave.cells import FAMILIES
    from core.weave.contact import points

    weave = find_weave(solved.weave)
    rows = int(2 * solved.half_across_mm // solved.across_mm) + 1
    sites = int(2 * solved.half_along_mm // solved.along_mm) + 2
    height = len(weave.courses)
    row, site = np.meshgrid(
        np.arange(-rows, height + rows + 1), np.arange(-sites, sites + 2), indexing="ij"
    )
    placed = FAMILIES[weave.family](
        weave,
        solved.along_mm,
        solved.across_mm,
        solved.lean_rad,
        solved.centreline_mm,
        row.ravel().astype(np.int64),
        site.ravel().astype(np.int64),
    )
    lines = shapely.linearrings(points(placed, 180)[:, :, :2])
    metal = shapely.union_all(shapely.buffer(lines, solved.wire_mm / 2, quad_segs=16))
    cell = shapely.box(0.0, 0.0, solved.along_mm, height * solved.across_mm)
    return float(shapely.area(shapely.intersection(metal, cell)) / shapely.area(cell))
