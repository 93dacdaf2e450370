"""The fill against hand counts, other libraries and a ring-by-ring graph."""

from __future__ import annotations

import math

import matplotlib.path
import networkx as nx
import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import assume, given
from hypothesis import strategies as st

from core.errors import BadOutline, BadValue
from core.fill import BODY, DROPPED, EDGE, MIN_LINKS, fill_panel, sites
from core.outline import Loop, Node, Outline, edge_ids, flatten, polygon
from core.panel import EdgeFinish, Panel
from core.weave.lay import Lay, solve_lay
from tests.core.shapes import (
    WEAVE,
    all_edged,
    circle_loop,
    lattice_sites,
    outlines,
    rectangle,
)

SHEET = solve_lay(WEAVE, 1.0, 5.0, Lay("spread"))
P, Q = SHEET.along_mm, SHEET.across_mm


def fill(outline, edges=(), grain=0.0, origin=(0.0, 0.0), rule="whole", solved=SHEET):
    x, y = origin
    panel = Panel(
        1, "", outline, 1, WEAVE, grain_deg=grain, origin_x_mm=x, origin_y_mm=y, rule=rule,
        edges=edges,
    )  # fmt: skip
    return fill_panel(panel, solved)


def ring_keys(result, roles=(BODY, EDGE, DROPPED)):
    """Each ring as (row, k)."""
    keys = []
    for run, row in zip(result.runs.tolist(), result.rows.tolist(), strict=True):
        if run[2] in roles:
            keys += [(row, run[3] + i) for i in range(run[4])]
    return keys


def linked_sites(row, k):
    """European 4-in-1 by hand: a ring's four neighbours on the lattice."""
    near = (k - 1, k) if row % 2 == 0 else (k, k + 1)
    return [(row + step, n) for step in (-1, 1) for n in near]


def graph_of(keys):
    graph = nx.Graph()
    graph.add_nodes_from(keys)
    inside = set(keys)
    graph.add_edges_from(
        (key, other) for key in keys for other in linked_sites(*key) if other in inside
    )
    return graph


# --- hand counts -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "body", "links", "dangling", "edge", "all_links"),
    [(10, 95, 160, 4, 28, 216), (10.5, 99, 168, 2, 27, 222)],
    ids=["11 and 10 in turn", "rows of 11, staggered"],
)
def test_rectangles_counted_by_hand(width, body, links, dangling, edge, all_links):
    """Nine rows counted on paper, plain and then edged all round."""
    outline = rectangle(width * P, 8 * Q)
    plain = fill(outline, rule="centre")
    assert plain.count(BODY) + plain.count(DROPPED) == body
    assert (plain.links(), plain.count(DROPPED), plain.count(EDGE)) == (links, dangling, 0)
    edged = fill(outline, all_edged(outline), rule="centre")
    assert (edged.count(BODY), edged.count(EDGE), edged.count(DROPPED)) == (body, edge, 0)
    assert edged.links() == all_links


def test_edge_rings_of_the_hand_counted_rectangle_by_edge():
    outline = rectangle(10 * P, 8 * Q)
    result = fill(outline, all_edged(outline), rule="centre")
    per_edge = [
        int(result.runs[(result.runs[:, 2] == EDGE) & (result.edge_of == i), 4].sum())
        for i in edge_ids(outline)
    ]
    assert per_edge == [10, 4, 10, 4]


def test_only_the_edged_edge_gets_rings():
    outline = rectangle(10 * P, 8 * Q)
    result = fill(outline, (EdgeFinish(1, "edged"),), rule="centre")
    assert result.count(EDGE) == 10
    assert set(result.edge_of[result.runs[:, 2] == EDGE].tolist()) == {1}
    # The bottom corners still dangle, the top ones are held now.
    assert result.count(DROPPED) == 2


def test_a_lone_ring_dangles_and_is_left_out():
    result = fill(rectangle(2.0, 2.0, -1.0, -1.0), rule="centre")
    assert (result.count(BODY), result.count(DROPPED)) == (0, 1)


def test_a_strap_one_ring_wide_unravels_from_both_ends():
    """Each ring holds two others, so only the ends dangle: one after the other they all do."""
    result = fill(rectangle(0.9 * P, 400 * Q), rule="centre")
    assert (result.count(BODY), result.count(DROPPED), result.links()) == (0, 401, 400)


# --- outside: shapely and matplotlib -----------------------------------------------------------


def near_line(outline, x, y, reach_mm=2e-6):
    return shapely.distance(polygon(outline).boundary, shapely.points(x, y)) < reach_mm


@given(outlines(), st.floats(-90, 90), st.floats(-9, 9), st.floats(-9, 9))
def test_centre_rule_equals_shapely_and_matplotlib(outline, grain, ox, oy):
    """Source: shapely.contains_xy (GEOS) and matplotlib.path, two other point-in-polygon codes."""
    try:
        shape = polygon(outline)
    except BadOutline:
        assume(False)
    found = set(ring_keys(fill(outline, grain=grain, origin=(ox, oy), rule="centre")))
    row, k, x, y = lattice_sites(SHEET, grain, (ox, oy), 80.0)
    sure = ~near_line(outline, x, y)
    keys = list(zip(row.tolist(), k.tolist(), strict=True))
    shapely.prepare(shape)
    by_shapely = shapely.contains_xy(shape, x, y)
    by_path = np.zeros(len(x), dtype=bool)
    for loop in outline.loops():
        by_path ^= matplotlib.path.Path(flatten(loop).points).contains_points(
            np.column_stack([x, y])
        )
    for inside in (by_shapely, by_path):
        expected = {key for key, yes, clear in zip(keys, inside, sure, strict=True) if yes & clear}
        unsure = {key for key, clear in zip(keys, sure, strict=True) if not clear}
        assert found - unsure == expected


@given(outlines(), st.floats(-90, 90), st.sampled_from(["laid", "spread", "along", "across"]))
def test_whole_rule_keeps_exactly_the_rings_whose_footprint_lies_inside(outline, grain, kind):
    """The footprint ellipse becomes a disc when stretched; shapely measures its clearance."""
    solved = solve_lay(WEAVE, 1.0, 4.0, Lay(kind))
    try:
        shape = polygon(outline)
    except BadOutline:
        assume(False)
    found = set(ring_keys(fill(outline, grain=grain, solved=solved)))
    row, k, x, y = lattice_sites(solved, grain, (0.0, 0.0), 80.0)
    reach = solved.centreline_mm + solved.wire_mm / 2
    stretch = reach / solved.half_along_mm

    def stretched(geometry):
        level = shapely.affinity.rotate(geometry, -grain, origin=(0, 0))
        return shapely.affinity.scale(level, stretch, 1.0, origin=(0, 0))

    spots = shapely.points(x, y)
    level = np.array([stretched(p) for p in spots[shapely.contains(shape, spots)]])
    inside = np.flatnonzero(shapely.contains(shape, spots))
    gap = shapely.distance(stretched(shape).boundary, level) if len(level) else np.zeros(0)
    keys = list(zip(row.tolist(), k.tolist(), strict=True))
    clear = {keys[i] for i, g in zip(inside, gap, strict=True) if g > reach + 1e-7}
    close = {keys[i] for i, g in zip(inside, gap, strict=True) if g > reach - 2e-6}
    assert clear <= found <= close


def test_areas_and_counts_agree_on_a_large_circle():
    """Source: area πr², analytic; a circle of many rings holds area ÷ area per ring."""
    outline = Outline(circle_loop(600.0))
    result = fill(outline, rule="centre")
    expected = math.pi * 600.0**2 / SHEET.area_per_ring_mm2
    assert result.count(BODY) == pytest.approx(expected, rel=2e-3)


# --- outside: the ring-by-ring graph -----------------------------------------------------------


def graph_from_ties(result):
    graph = nx.Graph()
    graph.add_nodes_from(ring_keys(result))
    for a, b, i, j, n in result.ties.tolist():
        for m in range(n):
            one = (int(result.rows[a]), int(result.runs[a, 3]) + i + m)
            two = (int(result.rows[b]), int(result.runs[b, 3]) + j + m)
            assert not graph.has_edge(one, two), "a link stands twice"
            graph.add_edge(one, two)
    return graph


@given(outlines(), st.floats(-90, 90), st.sampled_from(["whole", "centre"]), st.data())
def test_runs_and_ties_equal_the_graph_built_ring_by_ring(outline, grain, rule, data):
    """Source: networkx, a general graph library; links, seats and dangling rings by brute force."""
    try:
        polygon(outline)
    except BadOutline:
        assume(False)
    edges = tuple(e for e in all_edged(outline) if data.draw(st.booleans()))
    result = fill(outline, edges, grain=grain, rule=rule)
    body = set(ring_keys(fill(outline, grain=grain, rule=rule)))

    # Seats: vacant sites that would link two body rings or more.
    around = {site for key in body for site in linked_sites(*key)} - body
    seats = {s for s in around if sum(n in body for n in linked_sites(*s)) >= MIN_LINKS}
    row, k, x, y = lattice_sites(SHEET, grain, (0.0, 0.0), 90.0)
    place = {(r, c): (a, b) for r, c, a, b in zip(row, k, x, y, strict=True)}
    lines = {
        i: shapely.MultiLineString(
            [
                [f.points[c], f.points[(c + 1) % len(f.points)]]
                for c in np.flatnonzero(f.edge_ids == i)
            ]
        )
        for loop in outline.loops()
        for f in [flatten(loop)]
        for i in set(f.edge_ids.tolist())
    }
    edged = {e.node_id for e in edges}
    taken, unsure = set(), set()
    for seat in seats:
        gaps = {i: shapely.distance(line, shapely.Point(place[seat])) for i, line in lines.items()}
        best = min(gaps.values())
        near = {i for i, gap in gaps.items() if gap < best + 1e-9}
        if near <= edged:
            taken.add(seat)
        elif near & edged:
            unsure.add(seat)
    found = set(ring_keys(result))
    assert taken | body <= found <= taken | body | unsure

    # Dangling: taken out one at a time until every ring has links enough.
    graph = graph_of(list(found))
    assert nx.utils.graphs_equal(graph_from_ties(result), graph)
    alive = graph.copy()
    while loose := [n for n, degree in alive.degree if degree < MIN_LINKS]:
        alive.remove_node(loose[0])
    assert set(ring_keys(result, (BODY, EDGE))) == set(alive)
    assert set(ring_keys(result, (EDGE,))) == (found - body) & set(alive)


@given(outlines(), st.floats(-90, 90))
def test_invariants_of_a_fill(outline, grain):
    try:
        polygon(outline)
    except BadOutline:
        assume(False)
    result = fill(outline, all_edged(outline), grain=grain)
    order = list(zip(result.rows.tolist(), result.runs[:, 3].tolist(), strict=True))
    assert order == sorted(order)
    keys = ring_keys(result)
    assert len(keys) == len(set(keys)) == result.runs[:, 4].sum()
    a, b, i, j, n = result.ties.T
    assert (i >= 0).all() and (j >= 0).all() and (n > 0).all()
    assert (i + n <= result.runs[a, 4]).all() and (j + n <= result.runs[b, 4]).all()
    assert result.place.shape == (len(result.runs), 4)


# --- laws --------------------------------------------------------------------------------------


def moved(outline, dx, dy):
    def shift(loop):
        return Loop(
            tuple(Node(n.id, n.x_mm + dx, n.y_mm + dy, n.corner, n.curve) for n in loop.nodes)
        )

    return Outline(shift(outline.rim), tuple(shift(h) for h in outline.holes))


def test_counts_do_not_change_when_panel_and_origin_move_together():
    outline = Outline(circle_loop(40.0))
    here = fill(outline, all_edged(outline), origin=(1.0, 2.0))
    there = fill(moved(outline, 31.7, -12.9), all_edged(outline), origin=(32.7, -10.9))
    assert np.array_equal(here.runs, there.runs)
    assert np.array_equal(here.ties, there.ties)


@given(st.floats(-90, 90))
def test_counts_do_not_change_when_outline_and_grain_turn_together(turn):
    def turned(outline):
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        return Outline(
            Loop(
                tuple(
                    Node(n.id, c * n.x_mm - s * n.y_mm, s * n.x_mm + c * n.y_mm)
                    for n in outline.rim.nodes
                )
            )
        )

    outline = rectangle(61.3, 47.9, -30.0, -20.0)
    here = fill(outline, all_edged(outline), grain=10.0)
    there = fill(turned(outline), all_edged(outline), grain=10.0 + turn)
    assert np.array_equal(here.runs, there.runs)


@given(outlines(), st.floats(1.0, 1.5))
def test_a_larger_outline_never_holds_fewer_places(outline, factor):
    def grown(loop):
        return Loop(tuple(Node(n.id, n.x_mm * factor, n.y_mm * factor) for n in loop.nodes))

    straight = Outline(Loop(tuple(Node(n.id, n.x_mm, n.y_mm) for n in outline.rim.nodes)))
    larger = Outline(grown(straight.rim))
    try:
        inner, outer = polygon(straight), polygon(larger)
    except BadOutline:
        assume(False)
    assume(outer.covers(inner))
    assert set(ring_keys(fill(straight))) <= set(ring_keys(fill(larger)))


def test_a_symmetric_outline_fills_symmetrically():
    """A row of sites exactly on the edges: both sides must decide alike."""
    outline = rectangle(12 * P, 10 * Q, -6 * P, -5 * Q)
    result = fill(outline, rule="centre")
    keys = set(ring_keys(result))
    assert keys == {(row, -k if row % 2 == 0 else -k - 1) for row, k in keys}
    assert keys == {(-row, k) for row, k in keys}


# --- edges against length ÷ pitch ---------------------------------------------------------------


def edge_rings(outline, origin):
    result = fill(outline, all_edged(outline), origin=origin, rule="centre")
    return {
        i: int(result.runs[(result.runs[:, 2] == EDGE) & (result.edge_of == i), 4].sum())
        for i in edge_ids(outline)
    }


@given(st.floats(30, 200), st.floats(30, 200))
def test_edge_rings_from_a_corner_on_follow_length_over_pitch_within_one(w, h):
    """A row edge takes one ring a pitch along; a row-end edge one every second row."""
    made = edge_rings(rectangle(w, h), (0.0, 0.0))
    assert abs(made[1] - w / P) <= 1
    assert abs(made[4] - h / (2 * Q)) <= 1


@given(st.floats(30, 200), st.floats(30, 200), st.floats(0, 1), st.floats(0, 1))
def test_edge_rings_wherever_the_rows_fall_lose_at_most_one_more(w, h, fx, fy):
    """Where rows stop short of both corners a seat goes at each end: two in all."""
    made = edge_rings(rectangle(w, h), (fx * P, fy * Q))
    for i in (1, 3):
        assert -2 < made[i] - w / P <= 1
    for i in (2, 4):
        assert -2 < made[i] - h / (2 * Q) <= 1


# --- places and limits --------------------------------------------------------------------------


@given(outlines(), st.floats(-90, 90), st.floats(-40, 30), st.floats(-40, 30))
def test_sites_lists_every_ring_and_a_box_takes_its_own(outline, grain, x0, y0):
    try:
        polygon(outline)
    except BadOutline:
        assume(False)
    result = fill(outline, grain=grain, origin=(0.3, 0.7))
    every = sites(result)
    row, k, x, y = lattice_sites(SHEET, grain, (0.3, 0.7), 80.0)
    place = {(r, c): (a, b) for r, c, a, b in zip(row, k, x, y, strict=True)}
    expected = np.array([place[key] for key in ring_keys(result)]).reshape(-1, 2)
    got = np.column_stack([every.x_mm, every.y_mm])
    assert np.allclose(got, expected, atol=1e-9)
    box = (x0, y0, x0 + 25.0, y0 + 19.0)
    some = sites(result, box)
    inside = (
        (every.x_mm >= box[0])
        & (every.x_mm <= box[2])
        & (every.y_mm >= box[1])
        & (every.y_mm <= box[3])
    )
    assert np.allclose(some.x_mm, every.x_mm[inside]) and np.allclose(some.y_mm, every.y_mm[inside])
    assert np.array_equal(some.role, every.role[inside])


def test_too_many_rings_are_refused_in_words():
    with pytest.raises(BadValue, match="5 million rings"):
        fill(rectangle(19_000.0, 9_000.0, -9_500.0, -4_500.0))


def test_a_crossing_outline_is_refused_in_words():
    bow = Outline(Loop((Node(1, 0, 0), Node(2, 50, 50), Node(3, 50, 0), Node(4, 0, 50))))
    with pytest.raises(BadOutline, match=r"near x 25\.0 mm, y 25\.0 mm"):
        fill(bow)
