"""Hit testing, bends and edge marks: pure functions over outlines."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.canvas import hits
from app.canvas.bends import moved_handle
from app.canvas.drafts import Draft, draft_loop, squared
from app.canvas.panel_item import BEAD_EVERY_PX, beads, clockwise, edge_points
from core.outline import Curve, Loop, Node, Outline, edge_ids, edge_lengths_mm, flatten
from tests.app.canvas_board import square_panel

coords = st.floats(-200, 200)


@st.composite
def outlines(draw):
    """Loops of three to nine nodes at any place, corners or not; they may cross."""
    loops, next_id = [], 1
    for _ in range(draw(st.integers(1, 2))):
        nodes = []
        for _ in range(draw(st.integers(3, 9))):
            curve = draw(st.none() | st.builds(Curve, coords, coords, coords, coords))
            nodes.append(Node(next_id, draw(coords), draw(coords), draw(st.booleans()), curve))
            next_id += 1
        loops.append(Loop(tuple(nodes)))
    return Outline(loops[0], tuple(loops[1:]))


@given(outlines())
def test_segments_of_all_edges_are_all_segments_once(outline):
    edges = edge_ids(outline)
    segments = [s for e in edges for s in hits.edge_segments(outline, e)]
    assert sorted(segments) == sorted(n.id for n in outline.nodes())
    for edge in edges:
        for segment in hits.edge_segments(outline, edge):
            assert hits.edge_of(outline, segment) == edge


@given(outlines())
def test_after_and_before_undo_each_other(outline):
    for node in outline.nodes():
        assert hits.before(outline, hits.after(outline, node.id)) == node.id
        assert hits.loop_of(outline, node.id) is hits.loop_of(outline, hits.after(outline, node.id))


@given(outlines(), coords, coords, st.floats(0.1, 50))
def test_a_hit_node_is_the_nearest_within_tolerance(outline, x, y, tolerance):
    gaps = {n.id: math.hypot(n.x_mm - x, n.y_mm - y) for n in outline.nodes()}
    found = hits.hit_node(outline, x_mm=x, y_mm=y, tolerance_mm=tolerance)
    near = {i: gap for i, gap in gaps.items() if gap <= tolerance}
    assert (found is None) == (not near)
    if found is not None:
        assert gaps[found] == min(near.values())


@given(outlines(), coords, coords, coords, coords)
def test_a_box_holds_the_nodes_inside_it_whichever_corners_give_it(outline, x0, y0, x1, y1):
    box = {"x0_mm": x0, "y0_mm": y0, "x1_mm": x1, "y1_mm": y1}
    turned = {"x0_mm": x1, "y0_mm": y0, "x1_mm": x0, "y1_mm": y1}
    found = hits.nodes_in_box(outline, **box)
    assert found == hits.nodes_in_box(outline, **turned)
    for node in outline.nodes():
        inside = min(x0, x1) <= node.x_mm <= max(x0, x1) and (
            min(y0, y1) <= node.y_mm <= max(y0, y1)
        )
        assert (node.id in found) == inside


@given(outlines(), st.data())
def test_a_point_of_the_line_hits_its_edge(outline, data):
    loop = data.draw(st.sampled_from(outline.loops()))
    flat = flatten(loop)
    at = data.draw(st.integers(0, len(flat.points) - 1))
    x, y = flat.points[at]
    found = hits.hit_line(outline, x_mm=float(x), y_mm=float(y), tolerance_mm=0.5)
    assert found is not None
    assert found.edge_id == hits.edge_of(outline, found.node_id)
    assert 0 <= found.t <= 1


def test_a_line_out_of_reach_is_not_hit():
    outline = square_panel().outline
    assert hits.hit_line(outline, x_mm=50, y_mm=50, tolerance_mm=10) is None
    found = hits.hit_line(outline, x_mm=50, y_mm=3, tolerance_mm=10)
    assert (found.node_id, found.edge_id) == (11, 11)
    assert found.t == pytest.approx(0.5)


def test_handles_show_at_chosen_points_and_segments_only():
    outline = square_panel().outline
    place = {"x_mm": 110.0, "y_mm": 33.0, "tolerance_mm": 2.0}
    none = frozenset()
    assert hits.hit_handle(outline, **place, node_ids=none) is None
    assert hits.hit_handle(outline, **place, node_ids=frozenset({13})) is None
    assert hits.hit_handle(outline, **place, node_ids=frozenset({12})) == hits.Handle(12, "out")
    chosen = hits.hit_handle(outline, **place, node_ids=none, segment_ids=frozenset({12}))
    assert chosen == hits.Handle(12, "out")
    place["y_mm"] = 67.0
    assert hits.hit_handle(outline, **place, node_ids=frozenset({13})) == hits.Handle(12, "in")


@given(outlines())
def test_points_of_each_edge_run_its_length_to_the_next_edge(outline):
    lengths = edge_lengths_mm(outline)
    for loop in outline.loops():
        assume(any(n.corner for n in loop.nodes))
        starts = [n.id for n in loop.nodes if n.corner]
        for i, edge in enumerate(starts):
            points = edge_points(loop, edge)
            assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(lengths[edge])
            if len(starts) > 1:
                a, b = outline.node(edge), outline.node(starts[(i + 1) % len(starts)])
                assert tuple(points[0]) == (a.x_mm, a.y_mm)
                assert tuple(points[-1]) == (b.x_mm, b.y_mm)


def test_beads_stand_outside_whichever_way_the_loop_runs():
    corners = ((0.0, 0.0), (120.0, 0.0), (120.0, 120.0), (0.0, 120.0))
    for order in (corners, corners[::-1]):
        loop = Loop(tuple(Node(i, x, y) for i, (x, y) in enumerate(order, start=1)))
        outward = 1.0 if clockwise(loop) else -1.0
        for edge in (1, 2, 3, 4):
            found = list(beads(edge_points(loop, edge), outward))
            assert len(found) == 120 // BEAD_EVERY_PX
            assert all(not (0 <= x <= 120 and 0 <= y <= 120) for x, y in found)
            steps = np.hypot(*np.diff(np.array(found), axis=0).T)
            assert steps == pytest.approx(BEAD_EVERY_PX)


def test_a_handle_of_a_smooth_point_turns_its_partner():
    rim = Loop(
        (
            Node(1, 0, 0),
            Node(2, 100, 0, curve=Curve(0, 20, 0, -20)),
            Node(3, 100, 80, corner=False, curve=Curve(0, 10, 20, 0)),
            Node(4, 0, 120),
        )
    )
    outline = Outline(rim)
    moved = moved_handle(outline, hits.Handle(2, "in"), 140.0, 80.0, alone=False)
    assert (moved.node(2).curve.in_x_mm, moved.node(2).curve.in_y_mm) == (40, 0)
    assert moved.node(3).curve.out_x_mm == pytest.approx(-10)
    assert moved.node(3).curve.out_y_mm == pytest.approx(0)
    moved = moved_handle(outline, hits.Handle(3, "out"), 130.0, 120.0, alone=False)
    # 20 mm long as before, and opposite to (30, 40).
    assert moved.node(2).curve.in_x_mm == pytest.approx(-12)
    assert moved.node(2).curve.in_y_mm == pytest.approx(-16)
    alone = moved_handle(outline, hits.Handle(2, "in"), 140.0, 80.0, alone=True)
    assert alone.node(3) == outline.node(3)


@given(coords, coords)
def test_squared_lines_are_level_upright_or_square_to_the_last(x, y):
    last, before = Draft(10, 10), Draft(-20, -30)
    assume(math.hypot(x - 10, y - 10) > 1e-3)
    sx, sy = squared(x, y, last, before)
    dx, dy = sx - last.x_mm, sy - last.y_mm
    bx, by = last.x_mm - before.x_mm, last.y_mm - before.y_mm
    slack = 1e-9 * (abs(dx) + abs(dy) + 1)
    assert (
        min(abs(dx), abs(dy)) <= slack
        or min(abs(dx * bx + dy * by), abs(dx * by - dy * bx)) / math.hypot(bx, by) <= slack
    )
    # The nearest such line: never more than an eighth of a turn off.
    off = math.hypot(sx - x, sy - y) / math.hypot(x - 10, y - 10)
    assert off <= math.sin(math.pi / 4) + 1e-9


def test_drawn_handles_mirror_at_their_point():
    loop = draft_loop([Draft(0, 0), Draft(50, 0, (0.0, 12.0)), Draft(0, 50)])
    a, b, c = loop.nodes
    assert (a.curve.in_x_mm, a.curve.in_y_mm) == (0, -12)
    assert (b.curve.out_x_mm, b.curve.out_y_mm) == (0, 12)
    assert c.curve is None
    assert (a.corner, b.corner, c.corner) == (True, False, True)
