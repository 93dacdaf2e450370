"""Circles in space: distance, linking, and the limit of the weave."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import BadValue
from core.weave.cells import WEAVES, Link, weave
from core.weave.contact import (
    clearance,
    contact_distances,
    contacts,
    distances,
    linked,
    linking_number,
    near_places,
    pairs,
    place_pairs,
    points,
    reach,
    rightly_linked,
    unlike_pairs,
)
from core.weave.families import Circles, Places, RingSize, family_of
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from tests.core.sheets import ROW_BUILT, Case, links_of, placed, play_of

every_weave = pytest.mark.parametrize("weave_id", sorted(WEAVES))


def circle(centre, normal, radius=1.0):
    n = np.array(normal, dtype=float)
    n /= np.linalg.norm(n)
    side = np.array([1.0, 0, 0]) if abs(n[0]) < 0.9 else np.array([0, 1.0, 0])
    u = np.cross(n, side)
    u /= np.linalg.norm(u)
    v = np.cross(n, u)
    sizes = np.array([float(radius)]), np.array([0.2])
    return Circles(np.array([centre], float), u[None], v[None], *sizes)


def test_coaxial_circles_have_a_distance_among_others_too():
    flat, above, aside = (circle(at, (0, 0, 1)) for at in ((0, 0, 0), (0, 0, 0.5), (3, 0, 0)))
    both = Circles(
        *(np.concatenate([getattr(c, n) for c in (above, aside)]) for n in Circles.__slots__)
    )
    twice = Circles(*(np.concatenate([getattr(flat, n)] * 2) for n in Circles.__slots__))
    assert distances(twice, both) == pytest.approx([0.5, 1.0], abs=1e-12)


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


def some_sheet(mine, rng):
    """Unknowns and ring sizes of a sheet that may be impossible."""
    count = len(family_of(mine).unknowns)
    unknowns = np.array(
        [*rng.uniform(2, 9, 2), rng.uniform(0.1, 1.2), rng.uniform(1, 1.4), rng.uniform(-1, 1)]
    )
    sizes = tuple(RingSize(rng.uniform(0.5, 1.5), rng.uniform(2, 4)) for _kind in mine.kinds)
    return unknowns[:count], sizes


@every_weave
def test_slopes_of_contacts_are_what_small_moves_show(weave_id):
    mine = WEAVES[weave_id]
    at, sizes = some_sheet(mine, np.random.default_rng(11))
    which = unlike_pairs(mine, 3, 2)
    found = contacts(mine, family_of(mine), which, at, sizes)
    wires = contact_distances(*place_pairs(mine, family_of(mine), which, at, sizes))
    for k in range(len(at) + 1):
        ends = []
        for move in (1e-4, -1e-4):
            moved, grow = at.copy(), 0.0
            if k < len(at):
                moved[k] += move
            else:
                grow = move
            grown = tuple(RingSize(r.wire, r.radius + grow) for r in sizes)
            a, b = place_pairs(mine, family_of(mine), which, moved, grown)
            ends.append(distances(a, b) - contact_distances(a, b))
        seen = (ends[0] - ends[1]) / 2e-4
        checked = 0
        for pair in range(len(which)):
            gaps = np.where(found.pair == pair, found.gap, np.inf)
            first, second = np.argsort(gaps)[:2]
            if gaps[second] < gaps[first] + 1e-3 or gaps[first] + wires[pair] < 0.05:
                continue  # two places as near as each other, or circles that meet
            assert found.slope[first, k] == pytest.approx(seen[pair], abs=2e-5)
            checked += 1
        assert checked > len(which) // 3


@every_weave
def test_the_unlike_pairs_stand_for_all(weave_id):
    mine, rng = WEAVES[weave_id], np.random.default_rng(3)
    for _try in range(12):
        at, sizes = some_sheet(mine, rng)
        least, links, meet = [], [], False
        for choose in (pairs, unlike_pairs):
            which = choose(mine, *reach(mine, at, sizes))
            a, b = place_pairs(mine, family_of(mine), which, at, sizes)
            least.append(np.min(distances(a, b) - contact_distances(a, b)))
            wanted = np.array([mine.linked(*p[:3]) for p in which])
            links.append(bool(np.all(linked(a, b) == wanted)))
            meet |= bool(np.min(distances(a, b)) < 1e-6)
        assert least[0] == pytest.approx(least[1], abs=1e-9)
        assert links[0] == links[1] or meet  # circles that meet are neither linked nor apart


@every_weave
def test_every_link_is_seen_from_both_rings(weave_id):
    mine = WEAVES[weave_id]
    for course in range(len(mine.courses)):
        found = [
            (step, shift)
            for step in range(-8, 9)
            for shift in range(-4, 5)
            if mine.linked(course, step, shift)
        ]
        assert len(found) * mine.plies == links_of(mine, course)
        for step, shift in found:
            assert mine.linked(course + step, -step, -shift)
            other = mine.courses[mine.course_of(course + step)]
            assert other.kind != mine.courses[course].kind or len(mine.kinds) == 1


@pytest.mark.parametrize(
    ("weave_id", "links"),
    [
        ("european-4-in-1", [4, 4]),
        ("european-6-in-1", [6, 6]),
        ("european-8-in-1", [8, 8]),
        ("doubled-4-in-1", [8, 8]),  # four pairs of rings
        ("japanese-square", [4, 2, 2]),
        ("japanese-hexagonal", [6, 2, 2, 2, 6, 2, 2, 2]),
    ],
)
def test_weaves_link_as_their_names_say(weave_id, links):
    """Common practice, no source."""
    mine = WEAVES[weave_id]
    assert [links_of(mine, c) for c in range(len(mine.courses))] == links
    assert Link(0, 1, 0) in mine.links
    assert sum(mine.share(kind) for kind in range(len(mine.kinds))) == pytest.approx(1)


def test_an_unknown_weave_is_refused_by_name():
    with pytest.raises(BadValue, match="no-such-weave"):
        weave("no-such-weave")


@every_weave
def test_solved_sheets_touch_and_do_not_cut(weave_id):
    for times in (1.02, 1.3, 1.9, 4.0):
        for lay in ("laid", "spread", "along", "across"):
            solved = Case(weave_id, limit_aspect_ratio(weave_id) * times, lay).solve()
            mine, unknowns = WEAVES[weave_id], np.array(solved.unknowns)
            room = clearance(mine, family_of(mine), unknowns, solved.rings_mm)
            assert room == pytest.approx(play_of(solved), abs=5e-5)
        assert rightly_linked(mine, family_of(mine), unknowns, solved.rings_mm)


@pytest.mark.parametrize("weave_id", [w for w in ROW_BUILT if w != "doubled-4-in-1"])
def test_below_the_limit_a_random_search_finds_no_sheet_and_above_it_does(weave_id):
    mine, limit = WEAVES[weave_id], limit_aspect_ratio(weave_id)
    which = unlike_pairs(mine, 3, 4)
    wanted = np.array([mine.linked(*p[:3]) for p in which])
    rng = np.random.default_rng(7)

    def widest(aspect, tries=250):
        sizes = (RingSize(1.0, (aspect + 1) / 2),)
        best, at_best = -1.0, None
        box = np.array([[1.0, 2.0, 0.1], [4.0, 4.6, 1.3]])
        for _round in range(14):
            at = rng.uniform(box[0], box[1], (tries, 3))
            each = np.repeat(at.T, len(which), axis=1)
            a, b = place_pairs(mine, family_of(mine), which * tries, each, sizes)
            right = (linked(a, b).reshape(tries, -1) == wanted).all(axis=1)
            gap = (distances(a, b) - contact_distances(a, b)).reshape(tries, -1).min(axis=1)
            room = np.where(right, gap, -1.0)
            if room.max() > best:
                best, at_best = room.max(), at[room.argmax()]
            half = (box[1] - box[0]) * 0.32
            if at_best is not None:
                box = np.array([at_best - half, at_best + half]).clip([0.5, 1.0, 0.02], None)
        return best

    assert widest(limit - 0.03) < 0
    assert widest(limit + 0.03) > 0


def test_near_places_finds_both_places_where_linked_neighbours_touch():
    solved = solve_lay("european-4-in-1", 1.0, 5.0, Lay("along"))
    zero = np.array([0])
    a = placed(solved, Places(zero, zero, zero))
    b = placed(solved, Places(zero + 1, zero, zero))
    found = near_places(a, b)
    assert np.sum(found.distance < 1.0001) == 2
    assert found.distance[0] == pytest.approx(found.distance[1], abs=1e-12)  # alike by symmetry
