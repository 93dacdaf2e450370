"""Tables of solved sheets: true between their nodes, and the laws that every sheet keeps."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.weave.cells import WEAVES, weave
from core.weave.contact import clearance
from core.weave.families import family_of
from core.weave.lay import FURTHEST, Lay, held_percent_range, limit_aspect_ratio, solve_lay
from core.weave.solve import STARTS, State, equal_rings, limit, solve
from core.weave.table import table_of
from tests.core.sheets import JAPANESE, LAYS, ROW_BUILT, Case

KINDS = ("spread", "along", "across")
TRUE = 2e-4
OVERLAP = 2e-3
"""Wires by which rings of an interpolated sheet may cut into each other."""

weaves = st.sampled_from(sorted(WEAVES))
row_built = st.sampled_from(ROW_BUILT)
unit = st.floats(0.0, 1.0)


def ratio_at(weave_id, part):
    """An aspect ratio between the limit (0) and the last (1), as the tables count."""
    low = limit_aspect_ratio(weave_id)
    return min(low + part * part * (FURTHEST - low), FURTHEST * (1 - 1e-12))


# --- against a fresh solve -------------------------------------------------------------------


@pytest.mark.parametrize("weave_id", ROW_BUILT)
def test_the_limit_of_the_table_is_solved_again(weave_id):
    assert limit(WEAVES[weave_id]).aspect == pytest.approx(limit_aspect_ratio(weave_id), abs=1e-6)


@pytest.mark.parametrize(
    ("weave_id", "kind", "place"),
    [
        (w, kind, place)
        for w in ROW_BUILT
        for kind in KINDS
        for place in ((0.13, 0.5, 0.83) if w != "doubled-4-in-1" else (0.5,))
    ],
)
def test_between_nodes_the_table_is_true_to_a_fiftieth_of_a_percent(weave_id, kind, place):
    mine, table = WEAVES[weave_id], table_of(WEAVES[weave_id])
    for segment in table.lays[kind][1]:
        i = int(place * (len(segment.s) - 1))
        s = 0.5 * (segment.s[i] + segment.s[i + 1])
        aspect = table.limit + s * s
        state = table.state(kind, aspect)
        nudged = [v * f for v, f in zip(state, (0.98, 0.99, 1.02, 1.01, 0.98), strict=False)]
        again = solve(mine, kind, aspect, [State(aspect, tuple(nudged))])
        assert state[0] == pytest.approx(again.unknowns[0], rel=TRUE)
        assert state[1] == pytest.approx(again.unknowns[1], rel=TRUE)
        assert state[0] * state[1] == pytest.approx(again.area, rel=TRUE)


def held_places(seed, count):
    """Parts of the way from limit to last, and from drawn across to drawn along; both ends too."""
    rng = np.random.default_rng(seed)
    for i in range(count):
        s = rng.uniform(*((0.001, 0.02), (0.02, 0.12), (0.12, 1.0))[i % 3])
        share = rng.uniform(*((0.0, 0.04), (0.96, 1.0), (0.0, 1.0), (0.0, 1.0))[i % 4])
        yield s, share


@pytest.mark.parametrize("weave_id", ROW_BUILT)
def test_a_held_sheet_is_the_longest_at_its_width(weave_id):
    mine, table = WEAVES[weave_id], table_of(WEAVES[weave_id])
    for part, share in held_places(4, 8 if weave_id == "doubled-4-in-1" else 24):
        aspect = ratio_at(weave_id, part)
        narrow, wide = (table.state(kind, aspect)[0] for kind in ("across", "along"))
        along = narrow + share * (wide - narrow)
        state = table.held(aspect, along)
        again = solve(mine, "across", aspect, [State(aspect, state)], along)
        assert state[0] == along
        assert state[1] == pytest.approx(again.unknowns[1], rel=TRUE), (aspect, share)


@pytest.mark.parametrize("weave_id", ROW_BUILT)
def test_held_sheets_at_the_very_end_of_the_table_are_those_just_before(weave_id):
    table = table_of(WEAVES[weave_id])
    for share in (0.0, 0.3, 1.0):
        last, before = (
            table.held(aspect, narrow + share * (table.state("along", aspect)[0] - narrow))
            for aspect in (table.furthest, table.furthest - 1e-6)
            for narrow in [table.state("across", aspect)[0]]
        )
        assert last == pytest.approx(before, abs=1e-4)


@given(row_built, unit, st.lists(unit, min_size=1, max_size=3), st.sampled_from(LAYS))
@settings(deadline=None, max_examples=80)
def test_rings_of_a_sheet_read_from_a_table_do_not_cut_into_each_other(w, part, shares, lay):
    mine, table, aspect = WEAVES[w], table_of(WEAVES[w]), ratio_at(w, part)
    rings = equal_rings(mine, aspect)
    states = [Case(w, aspect, lay).solve().unknowns]
    narrow, wide = (table.state(kind, aspect)[0] for kind in ("across", "along"))
    states += [table.held(aspect, narrow + share * (wide - narrow)) for share in shares]
    for state in states:
        room = clearance(mine, family_of(mine), np.array(state), rings)
        assert room >= -OVERLAP, (aspect, state)


# --- laws ------------------------------------------------------------------------------------


@given(weaves, unit, st.sampled_from(LAYS), st.floats(0.2, 5.0))
@settings(deadline=None)
def test_only_the_aspect_ratio_matters(w, part, lay, wire):
    one = Case(w, ratio_at(w, 0.01 + 0.98 * part), lay).solve()
    width = 100 * one.along_mm / Case(w, one.aspect_ratio, "spread").solve().along_mm
    given_lay = Lay(one.kind, width_percent=width if one.kind == "held" else None)
    other = solve_lay(w, wire, wire * one.aspect_ratio, given_lay)
    assert other.along_mm == pytest.approx(one.along_mm * wire, rel=1e-8)
    assert other.across_mm == pytest.approx(one.across_mm * wire, rel=1e-6)
    assert other.thickness_mm == pytest.approx(one.thickness_mm * wire, rel=1e-4)
    assert other.lean_rad == pytest.approx(one.lean_rad, abs=1e-4)


@given(weaves, unit)
@settings(deadline=None)
def test_each_lay_is_the_most_of_its_kind(w, part):
    aspect = ratio_at(w, part)
    sheets = {lay: Case(w, aspect, lay).solve() for lay in LAYS}
    slack = 1 + TRUE
    for other in sheets.values():
        assert other.area_per_ring_mm2 <= sheets["spread"].area_per_ring_mm2 * slack
        assert other.along_mm <= sheets["along"].along_mm * slack
        assert other.across_mm <= sheets["across"].across_mm * slack


@given(weaves, unit, st.floats(1e-3, 0.2), st.sampled_from(["laid", "spread"]))
@settings(deadline=None)
def test_a_wider_ring_never_covers_less(w, part, more, kind):
    part *= 0.8
    small, large = (Case(w, ratio_at(w, p), kind).solve() for p in (part, part + more))
    assert large.area_per_ring_mm2 > small.area_per_ring_mm2


@given(weaves, st.floats(0.0, 0.999), st.sampled_from(LAYS))
@settings(deadline=None)
def test_pitches_change_without_a_jump(w, part, lay):
    # the steepest place is a square root at the limit: in these parts that is even, too
    one, other = (Case(w, ratio_at(w, p), lay).solve() for p in (part, part + 1e-6))
    for name in ("along_mm", "across_mm", "lean_rad"):
        near = 5e-4 if name != "lean_rad" else 5e-3
        assert getattr(other, name) == pytest.approx(getattr(one, name), abs=near)


def linked_apart(solved):
    """How far centres of linked sites are apart: the longest, over what is possible."""
    mine = weave(solved.weave)
    courses, worst = len(mine.courses), 0.0
    for link in mine.links:
        cell, there = divmod(link.course + link.row_step, courses)
        a, b = mine.courses[link.course], mine.courses[there]
        apart = math.hypot(
            (b.phase + link.site_shift - a.phase) * solved.along_mm,
            (b.rise + cell * mine.height - a.rise) * solved.across_mm,
        )
        one, other = solved.rings_mm[a.kind], solved.rings_mm[b.kind]
        most = one.radius + other.radius - (one.wire + other.wire) / 2
        worst = max(worst, apart / most)
    return worst


@given(weaves, unit, st.sampled_from(LAYS))
@settings(deadline=None)
def test_linked_centres_are_at_most_an_inner_diameter_apart(w, part, lay):
    """So area is bounded; pairs of rings, whose sites lie between them, keep to it as well."""
    solved = Case(w, ratio_at(w, part), lay).solve()
    assert linked_apart(solved) <= 1 + 1e-6
    if w == "european-4-in-1":
        assert solved.area_per_ring_mm2 <= solved.aspect_ratio**2


@given(weaves, unit)
@example("european-4-in-1", 0.125)  # near the limit, where the widest sheet is the spread one
@example("european-6-in-1", 0.02734375)
@settings(deadline=None)
def test_held_runs_from_drawn_across_through_spread_to_drawn_along(w, part):
    aspect = ratio_at(w, 0.005 + 0.99 * part)
    spread, along, across = (Case(w, aspect, kind).solve() for kind in KINDS)
    low, high = held_percent_range(w, 1.0, aspect)

    def held(percent):
        return solve_lay(w, 1.0, aspect, Lay("held", width_percent=percent))

    def same(one, other):
        assert one.along_mm == pytest.approx(other.along_mm, rel=TRUE)
        assert one.across_mm == pytest.approx(other.across_mm, rel=TRUE)

    same(held(100 * along.along_mm / spread.along_mm), along)
    same(held(100.0), spread)
    same(held(high), along)
    assert low - 1e-9 <= 100 * across.along_mm / spread.along_mm
    same(held(100 * across.along_mm / spread.along_mm), across)
    last = math.inf
    for percent in np.linspace(100 * across.along_mm / spread.along_mm, high, 7):
        now = held(float(percent))
        assert now.across_mm <= last * (1 + 1e-9)
        last = now.across_mm


def test_the_tables_know_every_row_built_weave_and_no_other():
    assert set(STARTS) == set(ROW_BUILT) == set(WEAVES) - set(JAPANESE)
    for weave_id, kind in itertools.product(ROW_BUILT, KINDS):
        table = table_of(WEAVES[weave_id])
        assert table.furthest == FURTHEST
        state = table.state(kind, 8.0)
        assert len(state) == len(family_of(WEAVES[weave_id]).unknowns)
