"""Lays: how far a sheet of mail is opened, and the sheet that follows from the rings.

A lay and the rings give a `SolvedLay`. Row-built weaves read it from tables solved from contact
(`core.weave.solve`); weaves of flat and upright rings are solved at once (`core.weave.upright`);
a swatch gives measured pitches (`core.weave.measured`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from core.errors import BadValue, RingTooTight
from core.texts import _
from core.weave import upright
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.families import Rings, RingSize, family_of
from core.weave.sheet import LayKind, SolvedLay
from core.weave.table import State, table_of

LAY_KINDS: tuple[LayKind, ...] = ("laid", "spread", "along", "across", "held", "swatch")
PLAY = 0.05  # wire diameters left free at each contact by someone laying mail on a pad
FURTHEST = 40.0
"""The greatest aspect ratio that is solved for, in any weave."""

_LEAST_COUNT = 2  # rings and rows a swatch must span: over one, a ruler's error is the whole
# answer. New swatches are asked for more (`core.swatches`); files may hold such small ones.


@dataclass(frozen=True, slots=True)
class Swatch:
    """A small woven piece, measured.

    Args:
        rings_along: n, rings counted along a row from a ring to the like ring.
        rows: m, rows counted across from a ring to the like ring; rows of the first ring kind.
        width_mm: W, from the first ring to the one n further along.
        height_mm: H, from the first row to the one m further across.
    """

    rings_along: int
    rows: int
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Lay:
    """How far the mail is opened.

    Args:
        kind: which lay.
        swatch: what was measured; of the kind "swatch" only.
        width_percent: of the kind "held" only: the width the sheet is held to, in percent of the
            width it has when spread.
    """

    kind: LayKind = "laid"
    swatch: Swatch | None = None
    width_percent: float | None = None


def limit_aspect_ratio(weave_id: str) -> float:
    """The smallest aspect ratio with which the weave can be made, all kinds of ring alike.

    Raises:
        BadValue: there is no such weave.
    """
    weave = find_weave(weave_id)
    return max(least_inner_mm(weave, (RingSize(1.0, 1.0),) * len(weave.kinds)))


def least_inner_mm(weave: Weave, rings: Rings) -> tuple[float, ...]:
    """The smallest inner diameter of each ring kind, given the wires of all.

    Args:
        weave: the weave.
        rings: the size of each of its ring kinds; only wires matter.
    """
    if _flat(weave):
        return upright.least_inner(weave, rings)
    return (table_of(weave).limit * rings[0].wire,)


def _flat(weave: Weave) -> bool:
    return weave.family == "flat and upright"


@lru_cache(maxsize=4096)
def solve_lay(
    weave_id: str,
    wire_mm: float,
    inner_mm: float,
    lay: Lay,
    upright_mm: tuple[float, float] | None = None,
) -> SolvedLay:
    """The sheet rings make in that lay.

    "laid" is the spread sheet solved with `PLAY` wire diameters between rings: the spread sheet
    of a wire that much thicker on the same circles. Very near the limit so much play leaves no
    sheet at all; there the largest play that still has one is used, which falls to none at the
    limit, so that pitches change without a jump.

    Args:
        weave_id: the weave.
        wire_mm: wire diameter, more than 0.
        inner_mm: inner diameter of the ring, more than 0.
        lay: the lay.
        upright_mm: wire and inner diameter of the second ring kind, where the weave has one;
            None for rings of one size.

    Raises:
        RingTooTight: a ring is too narrow for the weave.
        BadValue: a number that cannot be, a ring beyond the tables, a bad swatch, or a width the
            sheet cannot be held to.
    """
    weave = find_weave(weave_id)
    sizes = [(wire_mm, inner_mm)]
    if len(weave.kinds) > 1:
        sizes.append(upright_mm or sizes[0])
    rings = tuple(_ring_size(*size) for size in sizes)
    if _flat(weave):
        _refuse_tight_flat(weave, rings)
        solve = _solve_flat
    else:
        _refuse_tight(weave, rings)
        solve = _solve_rows
    if lay.kind == "swatch":
        return _solve_swatch(weave, rings, lay.swatch)
    return SolvedLay(weave_id, lay.kind, rings, solve(weave, rings, lay))


def _ring_size(wire_mm: float, inner_mm: float) -> RingSize:
    for name, value in ((_("wire"), wire_mm), (_("inner diameter"), inner_mm)):
        if not (math.isfinite(value) and value > 0):
            raise BadValue(
                _("the {name} must be a length greater than zero").format(name=name),
                do=_("Type a length such as 1.6 mm"),
            )
    if inner_mm / wire_mm > FURTHEST * (1 + 1e-12):
        raise BadValue(
            _("a ring {ratio:.0f} times as wide as its wire is beyond what can be solved").format(
                ratio=inner_mm / wire_mm
            ),
            do=_("Use an inner diameter up to {inner:.1f} mm with this wire").format(
                inner=FURTHEST * wire_mm
            ),
        )
    return RingSize(wire_mm, (inner_mm + wire_mm) / 2)


# --- row-built weaves ------------------------------------------------------------------------


def _refuse_tight(weave: Weave, rings: Rings) -> None:
    limit, aspect = table_of(weave).limit, rings[0].aspect_ratio
    wire_mm, inner_mm = rings[0].wire, aspect * rings[0].wire
    if aspect < limit * (1 - 1e-12):
        least = math.ceil(limit * wire_mm * 100) / 100
        most = math.floor(inner_mm / limit * 100) / 100
        raise RingTooTight(
            _(
                "the ring is {ratio:.2f} times as wide as its wire, and {weave} needs {limit:.2f}"
            ).format(ratio=aspect, weave=_(weave.name), limit=limit),
            do=_(
                "Use an inner diameter of at least {inner:.2f} mm, or wire up to {wire:.2f} mm"
            ).format(inner=least, wire=most),
        )


def _solve_rows(weave: Weave, rings: Rings, lay: Lay) -> State:
    table, (ring,) = table_of(weave), rings
    aspect, wire_mm = ring.aspect_ratio, ring.wire
    if lay.kind == "laid":
        thick = min(1 + PLAY, (aspect + 1) / (table.limit + 1))
        state = table.state("spread", (aspect + 1) / thick - 1)
        return _scaled(weave, state, wire_mm * thick)
    if lay.kind == "held":
        along_mm = _held_along(lay, *_widths(weave, rings))
        return _scaled(weave, table.held(aspect, along_mm / wire_mm), wire_mm)
    _refuse_unknown(lay.kind)
    return _scaled(weave, table.state(lay.kind, aspect), wire_mm)


def _scaled(weave: Weave, state: State, unit_mm: float) -> State:
    """A state in wire diameters as one in mm; angles stay."""
    names = family_of(weave).unknowns
    return tuple(
        v if n.endswith("_rad") else v * unit_mm for n, v in zip(names, state, strict=True)
    )


def _refuse_unknown(kind: str) -> None:
    if kind not in ("spread", "along", "across"):
        raise BadValue(
            _("there is no lay called “{name}”").format(name=kind),
            do=_("Use one of: {names}").format(names=", ".join(LAY_KINDS)),
        )


def _held_along(lay: Lay, spread: float, narrow: float, wide: float) -> float:
    """The pitch along that a held width asks for, once it is sure that the sheet can have it."""
    low, high = 100 * narrow / spread, 100 * wide / spread
    percent, (least, most) = lay.width_percent, whole_percents(low, high)
    if percent is None or not math.isfinite(percent):
        raise BadValue(
            _("this lay needs the width the mail is held to"),
            do=_("Type a share of the spread width, from {low:.0f} to {high:.0f} %").format(
                low=least, high=most
            ),
        )
    if not low - 1e-6 <= percent <= high + 1e-6:
        raise BadValue(
            _("these rings cannot be held to {percent:g} % of their spread width").format(
                percent=percent
            ),
            do=_("Type a share from {low:.0f} to {high:.0f} %").format(low=least, high=most),
        )
    return min(max(percent / 100 * spread, narrow), wide)


def whole_percents(narrow: float, wide: float) -> tuple[int, int]:
    """The whole percents between two widths, ends included: both can be had, as rounded cannot."""
    return math.ceil(narrow - 1e-7), math.floor(wide + 1e-7)


def _widths(weave: Weave, rings: Rings) -> tuple[float, float, float]:
    """The pitch along, mm, of the spread sheet, and of the narrowest and widest ones held."""
    if _flat(weave):
        wide_mm = upright.taut(rings)
        return wide_mm, upright.narrowest(weave, rings), wide_mm
    table, ring = table_of(weave), rings[0]
    spread, narrow, wide = (
        table.state(kind, ring.aspect_ratio)[0] * ring.wire
        for kind in ("spread", "across", "along")
    )
    # Near the limit they are one sheet, read from three tables.
    return spread, min(narrow, spread), max(wide, spread)


@lru_cache(maxsize=1024)
def held_percent_range(
    weave_id: str, wire_mm: float, inner_mm: float, upright_mm: tuple[float, float] | None = None
) -> tuple[float, float]:
    """The narrowest and widest a sheet can be held to, in percent of its spread width.

    Raises as `solve_lay`.
    """
    rings = solve_lay(weave_id, wire_mm, inner_mm, Lay("spread"), upright_mm).rings_mm
    spread, narrow, wide = _widths(find_weave(weave_id), rings)
    return 100 * narrow / spread, 100 * wide / spread


# --- weaves of flat and upright rings --------------------------------------------------------


def _refuse_tight_flat(weave: Weave, rings: Rings) -> None:
    least = least_inner_mm(weave, rings)
    for kind, ring, least_mm in zip(weave.kinds, rings, least, strict=True):
        inner_mm = ring.aspect_ratio * ring.wire
        if inner_mm < least_mm * (1 - 1e-9):
            raise RingTooTight(
                _("the {kind} is {inner:.2f} mm inside, and {weave} needs {least:.2f} mm").format(
                    kind=_(kind), inner=inner_mm, weave=_(weave.name), least=least_mm
                ),
                do=_("Use a wider one, at least {least:.2f} mm inside, or thinner wire").format(
                    least=math.ceil(least_mm * 100) / 100
                ),
            )


def _solve_flat(weave: Weave, rings: Rings, lay: Lay) -> State:
    if lay.kind == "laid":
        contact_mm = (rings[0].wire + rings[1].wire) / 2
        play = min(PLAY * contact_mm, upright.most_play(weave, rings))
        return upright.drawn(weave, rings, "spread", play)
    if lay.kind == "held":
        along = _held_along(lay, *_widths(weave, rings))
        return along, upright.longest_across(weave, rings, along)
    _refuse_unknown(lay.kind)
    return upright.drawn(weave, rings, lay.kind)


# --- a measured swatch -----------------------------------------------------------------------


def _solve_swatch(weave: Weave, rings: Rings, swatch: Swatch | None) -> SolvedLay:
    if swatch is None:
        raise BadValue(
            _("this lay needs a measured swatch"),
            do=_("Measure a small woven piece, or choose another lay"),
        )
    if min(swatch.rings_along, swatch.rows) < _LEAST_COUNT:
        raise BadValue(
            _("a swatch needs at least {n} rings along and {n} rows").format(n=_LEAST_COUNT),
            do=_("Weave a piece of ten or so each way and measure over all of it"),
        )
    if not all(math.isfinite(v) and v > 0 for v in (swatch.width_mm, swatch.height_mm)):
        raise BadValue(
            _("the swatch needs a width and a height greater than zero"),
            do=_("Measure the piece again"),
        )
    from core.weave.measured import sheet_of_pitches

    along, across = swatch.width_mm / swatch.rings_along, swatch.height_mm / swatch.rows
    _refuse_slip(weave, rings, along, across)
    unit = rings[0].wire
    wide = Lay("spread"), Lay("along"), Lay("across")
    solve = _solve_flat if _flat(weave) else _solve_rows
    starts = [solve(weave, rings, lay) for lay in wide]
    small = tuple(RingSize(r.wire / unit, r.radius / unit) for r in rings)
    state, near = sheet_of_pitches(
        weave,
        along / unit,
        across / unit,
        small,
        [_scaled(weave, s, 1 / unit) for s in starts],
    )
    found = _scaled(weave, state, unit)
    if near is None:
        return SolvedLay(weave.id, "swatch", rings, found)
    nearest = near[0] * unit, near[1] * unit
    return SolvedLay(weave.id, "swatch", rings, found, feasible=False, nearest_mm=nearest)


def _refuse_slip(weave: Weave, rings: Rings, along: float, across: float) -> None:
    """Refuse a swatch so far from any mail that a count or a unit must be wrong.

    Centres of linked rings are at most R1 + R2 less the mean wire apart. So are linked sites of
    two rings each: a site is the middle of its rings, and each is linked to each of the other
    site's. Rings in a row, and rows, are at least a wire apart. A half is added for hasty rulers:
    what lies between is shown and asked.
    """
    courses = weave.courses
    widest = 0.0
    for link in weave.links:
        row = link.course + link.row_step
        cell, course = divmod(row, len(courses))
        here, there = courses[link.course], courses[course]
        apart = math.hypot(
            (there.phase + link.site_shift - here.phase) * along,
            (there.rise + cell * weave.height - here.rise) * across,
        )
        one, other = rings[here.kind], rings[there.kind]
        most = one.radius + other.radius - (one.wire + other.wire) / 2
        widest = max(widest, apart / most)
    if widest > 1.5 or min(along, across) < min(r.wire for r in rings) / 1.5:
        raise BadValue(
            _(
                "the swatch gives {along:.2f} mm from ring to ring and {across:.2f} mm from row to"
                " row, which rings of {inner:.2f} mm inside cannot have"
            ).format(along=along, across=across, inner=rings[0].aspect_ratio * rings[0].wire),
            do=_("Count the rings and rows again and check the unit"),
        )
