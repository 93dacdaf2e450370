"""Over and under: every crossing of a sheet is drawn the right way up, in every weave."""

import itertools
import math
from functools import cache

import numpy as np
import pytest

from core.errors import RingloftError
from core.weave.cells import WEAVES
from core.weave.contact import points
from core.weave.lay import Lay, Swatch, limit_aspect_ratio, solve_lay
from core.weave.levels import ring_levels
from core.weave.sheet import patch

E41 = "european-4-in-1"
LAYS = {
    "laid": Lay("laid"),
    "spread": Lay("spread"),
    "along": Lay("along"),
    "across": Lay("across"),
    "held": Lay("held", width_percent=90.0),
}
ASPECTS = ("limit", 5.5, 7.0, 12.0)
SMALL = (0.9, 3.1)
"""Wire and inner diameter of an upright ring that is not like the others."""


def sheets():
    """Every weave, lay and aspect ratio that can be."""
    for weave_id, weave in WEAVES.items():
        for aspect in ASPECTS:
            ratio = 1.05 * limit_aspect_ratio(weave_id) if aspect == "limit" else aspect
            for second in (None, SMALL)[: len(weave.kinds)]:
                for name, lay in LAYS.items():
                    try:
                        solved = solve_lay(weave_id, 1.2, 1.2 * ratio, lay, second)
                    except RingloftError:
                        continue
                    more = " small" if second else ""
                    yield pytest.param(solved, id=f"{weave_id} {aspect} {name}{more}")


SHEETS = list(sheets())


def level_at(arcs, angle):
    found = [
        level
        for level, start, end in arcs
        for turn in (-2 * math.pi, 0, 2 * math.pi)
        if start <= angle + turn < end
    ]
    assert len(found) == 1  # the arcs cover the ring once
    return found[0]


def crossings(p, q):
    """Where two closed polylines (n, 3) cross in the picture: index and height on each."""
    a, b = p, np.roll(p, -1, axis=0)
    c, d = q, np.roll(q, -1, axis=0)
    r, s = (b - a)[:, None], (d - c)[None, :]
    gap = c[None, :] - a[:, None]
    area = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[..., 0] * s[..., 1] - gap[..., 1] * s[..., 0]) / area
        u = (gap[..., 0] * r[..., 1] - gap[..., 1] * r[..., 0]) / area
    i, j = np.nonzero((t >= 0) & (t < 1) & (u >= 0) & (u < 1))
    t, u = t[i, j], u[i, j]
    return zip(i + t, j + u, a[i, 2] + t * (b - a)[i, 2], c[j, 2] + u * (d - c)[j, 2], strict=True)


def check_crossings(solved, clear=0.9):
    """Compare levels with heights wherever a ring of the cell crosses another; how many."""
    near, arcs, n, seen = patch(solved), ring_levels(solved), 120, 0
    rings = points(near.circles, n)
    middle, reach = near.circles.centre, near.circles.radius
    for me in near.base:
        apart = np.linalg.norm(middle[:, :2] - middle[me, :2], axis=1)
        for other in np.nonzero(apart < reach + reach[me])[0]:
            if other == me:
                continue
            wire = (near.circles.wire[me] + near.circles.wire[other]) / 2
            for i, j, z, z_other in crossings(rings[me], rings[other]):
                assert abs(z - z_other) > clear * wire  # rings do not run through each other
                mine = level_at(arcs[near.pose[me]], 2 * math.pi * i / n)
                its = level_at(arcs[near.pose[other]], 2 * math.pi * j / n)
                assert (mine > its) == (z > z_other)
                assert mine != its
                seen += 1
    return seen


@pytest.mark.parametrize("solved", SHEETS)
def test_at_every_crossing_the_higher_ring_is_drawn_later(solved):
    # Each linked ring is crossed twice at least, and every ring of the cell is linked.
    assert check_crossings(solved) >= 4 * len(patch(solved).base)


def metal_at(spot, rings, half, near, arcs):
    """Of each ring with metal at a spot: how high it reaches, and the level it is drawn at."""
    away = np.hypot(rings[:, :, 0] - spot[0], rings[:, :, 1] - spot[1])
    for ring in np.nonzero(away.min(axis=1) < 0.9 * half)[0]:
        inside = np.nonzero(away[ring] < half[ring])[0]
        rise = np.sqrt(half[ring] ** 2 - away[ring, inside] ** 2)
        # Both ways past the spot where a ring stands upright, else the one that is nearest.
        at = inside[np.isin(inside, nearest_angles(away[ring]))]
        angles = 2 * math.pi * at / rings.shape[1] + 1e-9
        level = max(level_at(arcs[near.pose[ring]], angle) for angle in angles)
        yield float((rings[ring, inside, 2] + rise).max()), level


@pytest.mark.parametrize("solved", SHEETS[::3])
def test_what_shows_at_any_point_is_the_highest_metal_there(solved):
    near, arcs = patch(solved), ring_levels(solved)
    rings, half = points(near.circles, 720), near.circles.wire / 2
    random = np.random.default_rng(1)
    seen = 0
    for _each in range(150):
        ring = random.choice(near.base)
        spot = rings[ring, random.integers(720), :2] + random.uniform(-0.6, 0.6, 2) * half[ring]
        tops = sorted(metal_at(spot, rings, half, near, arcs), reverse=True)
        if len(tops) < 2 or tops[0][0] - tops[1][0] < 0.1 * half[0]:
            continue
        assert tops[0][1] > max(level for _top, level in tops[1:])
        seen += 1
    assert seen > 10


def nearest_angles(away):
    """Where a ring comes nearest, going round."""
    return np.nonzero((away <= np.roll(away, 1)) & (away <= np.roll(away, -1)))[0]


@pytest.mark.parametrize("along,across", [(3.0, 4.0), (2.6, 3.6), (4.4, 4.0), (5.3, 3.55)])
def test_also_on_measured_sheets(along, across):
    lay = solve_lay(E41, 1.0, 5.0, Lay("swatch", Swatch(10, 10, 10 * along, 10 * across)))
    assert lay.feasible
    assert check_crossings(lay) >= 8 * 2


@cache
def most_arcs(weave_id):
    """Arcs of a ring, by counting which neighbours it passes over and under in turn."""
    return {"european-4-in-1": 4, "japanese-square": 2, "japanese-hexagonal": 2}.get(weave_id, 8)


@pytest.mark.parametrize("solved", SHEETS)
def test_rings_are_cut_no_more_than_their_neighbours_ask(solved):
    arcs = ring_levels(solved)
    assert max(len(parts) for parts in arcs) <= most_arcs(solved.weave)
    for parts in arcs:
        assert sum(end - start for _level, start, end in parts) == pytest.approx(2 * math.pi)
        for (level, _start, end), (following, start, _end) in itertools.pairwise(parts):
            assert start == pytest.approx(end)
            assert level != following


def test_impossible_sheets_are_still_drawn():
    lay = solve_lay(E41, 1.0, 5.0, Lay("swatch", Swatch(10, 10, 12, 12)))
    assert not lay.feasible
    for arcs in ring_levels(lay):
        assert sum(end - start for _level, start, end in arcs) == pytest.approx(2 * math.pi)


def side_by_side(solved, count=720):
    """Places where two outlines overlap and two wires hardly do: (ring, angle) over, and under."""
    near = patch(solved)
    rings, wire = points(near.circles, count), near.circles.wire
    for me in near.base:
        for other in range(len(rings)):
            if other == me:
                continue
            apart = np.linalg.norm(rings[me, ::4, None, :2] - rings[other, None, ::4, :2], axis=2)
            for i, j in zip(*np.nonzero(apart < 1.02 * wire[me]), strict=True):
                spot = (rings[me, 4 * i, :2] + rings[other, 4 * j, :2]) / 2
                a, b = (
                    int(np.argmin(np.linalg.norm(rings[ring, :, :2] - spot, axis=1)))
                    for ring in (me, other)
                )
                gap = rings[me, a] - rings[other, b]
                far = math.hypot(gap[0], gap[1])
                # Cross-sections through the spot, both of them near their edge.
                if 0.92 * wire[me] < far < 1.02 * wire[me] and gap[2] > 0.3 * wire[me]:
                    yield (me, 2 * math.pi * a / count), (other, 2 * math.pi * b / count)


@pytest.mark.parametrize(("inner_mm", "lay"), [(8.0, "spread"), (8.25, "laid")])
def test_outlines_of_pairs_that_lie_side_by_side_are_in_order_too(lay, inner_mm):
    # Out of order, an outline ends in a black notch in the ring beside it.
    solved = solve_lay("doubled-4-in-1", 1.6, inner_mm, LAYS[lay])
    pose, arcs = patch(solved).pose, ring_levels(solved)
    seen = 0
    for (over, at_over), (under, at_under) in side_by_side(solved):
        assert level_at(arcs[pose[over]], at_over) > level_at(arcs[pose[under]], at_under)
        seen += 1
    assert seen > 50
