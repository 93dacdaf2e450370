"""Circles in space: distance, linking, and the limit of the weave."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import BadValue
from core.weave.cells import EUROPEAN_4_IN_1, Circles, Link, leaning_rows, weave
from core.weave.contact import (
    clearance,
    contacts,
    distances,
    linked,
    linking_number,
    near_places,
    points,
    rightly_linked,
)
from core.weave.lay import LAY_KINDS, Lay, limit_aspect_ratio, solve_lay

WEAVE = EUROPEAN_4_IN_1


def circle(centre, normal, radius=1.0):
    n = np.array(normal, dtype=float)
    n /= np.linalg.norm(n)
    side = np.array([1.0, 0, 0]) if abs(n[0]) < 0.9 else np.array([0, 1.0, 0])
    u = np.cross(n, side)
    u /= np.linalg.norm(u)
    v = np.cross(n, u)
    return Circles(np.array([centre], float), u[None], v[None], np.array([float(radius)]))


def test_distance_of_circles_whose_distance_is_plain():
    flat = circle((0, 0, 0), (0, 0, 1))
    assert distances(flat, circle((0, 0, 0.7), (0, 0, 1)))[0] == pytest.approx(0.7, abs=1e-12)
    assert distances(flat, circle((3, 0, 0), (0, 0, 1)))[0] == pytest.approx(1.0, abs=1e-12)
    assert distances(flat, circle((0, 0, 0), (0, 0, 1), 0.4))[0] == pytest.approx(0.6, abs=1e-12)
    # each through the other's centre: two tori of tube 0.1 there are exactly 0.8 apart
    assert distances(flat, circle((1, 0, 0), (0, 1, 0)))[0] == pytest.approx(1.0, abs=1e-12)


spot = st.floats(-2.5, 2.5, allow_nan=False)
tilt = st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.05, 1))


@given(st.tuples(spot, spot, spot), tilt, tilt, st.floats(0.3, 2.0))
@settings(deadline=None, max_examples=60)
def test_distance_agrees_with_points_against_points_and_is_mutual(at, n1, n2, radius):
    a, b = circle((0, 0, 0), n1), circle(at, n2, radius)
    found = distances(a, b)[0]
    p, q = points(a, 720)[0], points(b, 720)[0]
    brute = np.sqrt(((p[:, None] - q[None]) ** 2).sum(-1)).min()
    step = math.pi / 720 * (1 + radius)
    assert found <= brute + 1e-9
    assert brute <= found + step
    assert distances(b, a)[0] == pytest.approx(found, abs=1e-10)


def test_linking_number_of_two_linked_200_gons_is_one():
    # Source: K. Klenin and J. Langowski, Biopolymers 54 (2000): the exact polygon form.
    a = points(circle((0, 0, 0), (0, 0, 1)), 200)[0]
    b = points(circle((1, 0, 0.01), (0.1, 1, 0)), 200)[0]
    assert abs(linking_number(a, b)) == pytest.approx(1.0, abs=1e-12)
    assert linking_number(a, b[::-1]) == pytest.approx(-linking_number(a, b), abs=1e-12)
    apart = points(circle((2.5, 0, 0), (0, 1, 0)), 200)[0]
    assert linking_number(a, apart) == pytest.approx(0.0, abs=1e-12)


@given(st.tuples(spot, spot, spot), tilt, tilt, st.floats(0.3, 2.0))
@settings(deadline=None, max_examples=60)
def test_quick_linking_agrees_with_the_gauss_integral(at, n1, n2, radius):
    a, b = circle((0, 0, 0), n1), circle(at, n2, radius)
    if distances(a, b)[0] < 0.02:  # the polygons may pass where the circles do not
        return
    gauss = abs(linking_number(points(a, 120)[0], points(b, 120)[0]))
    assert bool(linked(a, b)[0]) == (round(gauss) == 1)


def test_slopes_of_contacts_are_what_small_moves_show():
    at = (5.3, 3.6, 0.5, 3.0)
    which = ((0, 1, 0), (0, 2, 0), (0, 1, -2), (0, 0, 1))
    found = contacts(WEAVE, which, *at)
    for k in range(4):
        ends = []
        for sign in (1, -1):
            moved = list(at)
            moved[k] += sign * 1e-4
            a, b = (
                leaning_rows(WEAVE, *moved, np.array(rows), np.array(sites))
                for rows, sites in (([0] * 4, [0] * 4), ([1, 2, 1, 0], [0, 0, -2, 1]))
            )
            ends.append(distances(a, b))
        seen = (ends[0] - ends[1]) / 2e-4
        for pair in range(4):
            mine = found.pair == pair
            nearest = np.argmin(np.where(mine, found.distance, np.inf))
            assert found.slope[nearest, k] == pytest.approx(seen[pair], abs=1e-6)


def test_every_ring_of_european_4_in_1_has_four_links():
    for row in (0, 1):
        found = [
            (step, shift)
            for step in range(-3, 4)
            for shift in range(-3, 4)
            if WEAVE.linked(row, step, shift)
        ]
        assert len(found) == 4
        for step, shift in found:  # and each is a link seen from the other ring too
            assert WEAVE.linked(row + step, -step, -shift)
    assert Link(0, 1, 0) in WEAVE.links


def test_an_unknown_weave_is_refused_by_name():
    with pytest.raises(BadValue, match="no-such-weave"):
        weave("no-such-weave")


@pytest.mark.parametrize("aspect", [3.0, 3.6, 5.0, 8.0])
@pytest.mark.parametrize("kind", LAY_KINDS[:4])
def test_on_a_patch_exactly_the_intended_rings_are_linked(kind, aspect):
    # Gauss integral over all pairs of a 5 x 5 patch (Klenin and Langowski 2000)
    lay = solve_lay("european-4-in-1", 1.0, aspect, Lay(kind))
    rows, sites = (g.ravel() for g in np.meshgrid(np.arange(5), np.arange(5), indexing="ij"))
    placed = leaning_rows(
        WEAVE, lay.along_mm, lay.across_mm, lay.lean_rad, lay.centreline_mm, rows, sites
    )
    rings = points(placed, 60)
    for i in range(25):
        for j in range(i):
            step, shift = int(rows[i] - rows[j]), int(sites[i] - sites[j])
            got = linking_number(rings[j], rings[i])
            if WEAVE.linked(int(rows[j]), step, shift):
                assert abs(got) == pytest.approx(1, abs=1e-6)
            else:
                assert got == pytest.approx(0, abs=1e-6)  # round-off where planes coincide


def test_solved_sheets_touch_and_do_not_cut():
    for aspect in (3.2, 4.4, 6.1, 12.0, 33.0):
        for kind in LAY_KINDS[:4]:
            lay = solve_lay("european-4-in-1", 1.0, aspect, Lay(kind))
            state = (lay.along_mm, lay.across_mm, lay.lean_rad, lay.centreline_mm, 1.0)
            wanted = 1.05 if kind == "laid" else 1.0
            assert clearance(WEAVE, *state) == pytest.approx(wanted, abs=2e-5)
            assert rightly_linked(WEAVE, *state)


def test_below_the_limit_a_random_search_finds_no_sheet_and_above_it_does():
    limit = limit_aspect_ratio("european-4-in-1")
    rng = np.random.default_rng(7)

    def widest(aspect, tries=3000):
        radius, best = (aspect + 1) / 2, (0.0, None)
        which = ((0, 1, 0), (0, 2, 0), (0, 1, -2), (0, 0, 1))
        table = np.array(which)
        box = np.array([[1.0, 2.0, 0.1], [4.0, 4.0, 1.3]])
        for _round in range(12):
            at = rng.uniform(box[0], box[1], (tries // 12, 3))
            p, q, t = (np.repeat(c, 4) for c in at.T)
            zero = np.zeros(len(p), dtype=np.int64)
            many = np.tile(table, (len(at), 1))
            a = leaning_rows(WEAVE, p, q, t, radius, many[:, 0], zero)
            b = leaning_rows(WEAVE, p, q, t, radius, many[:, 0] + many[:, 1], many[:, 2])
            right = (linked(a, b).reshape(-1, 4) == (True, False, False, False)).all(axis=1)
            room = np.where(right, distances(a, b).reshape(-1, 4).min(axis=1), 0.0)
            if room.max() > best[0]:
                best = (room.max(), at[room.argmax()])
            half = (box[1] - box[0]) * 0.32
            if best[1] is not None:
                box = np.array([best[1] - half, best[1] + half]).clip([0.5, 1.0, 0.02], None)
        return best[0]

    assert widest(limit - 0.03) < 1.0
    assert widest(limit + 0.03) > 1.0


def test_near_places_finds_both_places_where_linked_neighbours_touch():
    lay = solve_lay("european-4-in-1", 1.0, 5.0, Lay("along"))
    state = (lay.along_mm, lay.across_mm, lay.lean_rad, lay.centreline_mm)
    a = leaning_rows(WEAVE, *state, np.array([0]), np.array([0]))
    b = leaning_rows(WEAVE, *state, np.array([1]), np.array([0]))
    found = near_places(a, b)
    assert np.sum(found.distance < 1.0001) == 2
    assert found.distance[0] == pytest.approx(found.distance[1], abs=1e-12)  # alike by symmetry
