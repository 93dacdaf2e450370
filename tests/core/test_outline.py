"""Outlines: lengths and areas against analytic shapes, flattening, splitting, clear refusals."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.errors import BadOutline
from core.outline import (
    FLATTEN_TOLERANCE_MM,
    Curve,
    Loop,
    Node,
    Outline,
    edge_ids,
    edge_lengths_mm,
    flatten,
    nearest_on,
    polygon,
    split_segment,
)
from tests.core.shapes import circle_loop, outlines, rectangle, star_loops


def ellipse(a_mm, b_mm):
    circle = circle_loop(1.0)
    return Loop(
        tuple(
            Node(
                n.id,
                n.x_mm * a_mm,
                n.y_mm * b_mm,
                curve=Curve(
                    n.curve.out_x_mm * a_mm,
                    n.curve.out_y_mm * b_mm,
                    n.curve.in_x_mm * a_mm,
                    n.curve.in_y_mm * b_mm,
                ),
            )
            for n in circle.nodes
        )
    )


def cubic(a, b, t):
    """Points of the segment from a to b by Bernstein's form, (n, 2)."""
    c = a.curve or Curve(
        (b.x_mm - a.x_mm) / 3, (b.y_mm - a.y_mm) / 3, (a.x_mm - b.x_mm) / 3, (a.y_mm - b.y_mm) / 3
    )
    p = np.array(
        [
            (a.x_mm, a.y_mm),
            (a.x_mm + c.out_x_mm, a.y_mm + c.out_y_mm),
            (b.x_mm + c.in_x_mm, b.y_mm + c.in_y_mm),
            (b.x_mm, b.y_mm),
        ]
    )
    t = np.asarray(t)[:, None]
    return (
        (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
    )


handles = st.floats(-80, 80)
spots = st.floats(-100, 100).map(lambda mm: round(mm, 3))
curves = st.builds(Curve, handles, handles, handles, handles)


@st.composite
def segments(draw):
    return (
        Node(1, draw(spots), draw(spots), curve=draw(st.none() | curves)),
        Node(2, draw(spots), draw(spots)),
    )


# --- analytic shapes --------------------------------------------------------------------------


@pytest.mark.parametrize("radius", [2.0, 30.0, 400.0])
def test_circle_of_four_cubics(radius):
    # Source: circle area and circumference; four cubics with handle 0.5522847498 r stray from the
    # circle by at most 2.73e-4 r outwards (Goldapp 1991, Computer Aided Geometric Design 8,
    # figure from memory), and chords run inside the curve by at most the tolerance.
    outline = Outline(circle_loop(radius))
    out, back = 2.8e-4 * radius, FLATTEN_TOLERANCE_MM
    area = polygon(outline).area
    assert math.pi * (radius - back) ** 2 <= area <= math.pi * (radius + out) ** 2
    lengths = edge_lengths_mm(outline)
    assert list(lengths) == [1, 2, 3, 4]
    for length in lengths.values():
        assert length == pytest.approx(math.pi * radius / 2, abs=(out + back) * math.pi / 2)


def test_ellipse():
    # Source: area of an ellipse, and Ramanujan's second formula for its length (error below 1e-6
    # at this shape).
    a, b = 80.0, 50.0
    outline = Outline(ellipse(a, b))
    h = ((a - b) / (a + b)) ** 2
    around = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert polygon(outline).area == pytest.approx(math.pi * a * b, rel=6e-4)
    assert sum(edge_lengths_mm(outline).values()) == pytest.approx(around, rel=6e-4)


def test_rectangle_with_a_hole():
    outline = Outline(rectangle(100, 60).rim, (rectangle(20, 10, 30, 25, first_id=11).rim,))
    assert polygon(outline).area == 100 * 60 - 20 * 10
    assert edge_lengths_mm(outline) == {
        1: 100, 2: 60, 3: 100, 4: 60, 11: 20, 12: 10, 13: 20, 14: 10,
    }  # fmt: skip


def test_edges_run_from_corner_to_corner_even_past_the_first_point():
    nodes = rectangle(100, 60).rim.nodes
    smooth = [Node(n.id, n.x_mm, n.y_mm, corner=n.id in (2, 4)) for n in nodes]
    outline = Outline(Loop(tuple(smooth)))
    assert edge_ids(outline) == (2, 4)
    assert edge_lengths_mm(outline) == {2: 160, 4: 160}


def test_a_loop_without_corners_is_one_edge():
    nodes = tuple(Node(n.id, n.x_mm, n.y_mm, corner=False) for n in rectangle(100, 60).rim.nodes)
    assert edge_lengths_mm(Outline(Loop(nodes))) == {1: 320}


@given(star_loops())
def test_lengths_of_edges_add_up_to_the_length_of_the_boundary(loop):
    total = sum(edge_lengths_mm(Outline(loop)).values())
    assert total == pytest.approx(shapely.LinearRing(flatten(loop).points).length)


# --- flattening -------------------------------------------------------------------------------


@given(segments(), st.sampled_from([0.02, 0.3, 2.0]))
def test_chords_stay_within_the_tolerance_of_the_curve(segment, tolerance):
    a, b = segment
    flat = flatten(Loop((a, b)), tolerance).points
    chords = shapely.LineString(flat)
    if a.curve is None:
        assert flat.tolist() == [[a.x_mm, a.y_mm], [b.x_mm, b.y_mm]]
    points = shapely.points(cubic(a, b, np.linspace(0, 1, 1500)))
    assert shapely.distance(points, chords).max() <= tolerance * (1 + 1e-9) + 1e-9


@given(st.floats(5, 500))
def test_flattening_is_not_wasteful(radius):
    # Source: the sagitta of a chord, s = r(1 - cos(a/2)); no polygon within the tolerance of a
    # circle has fewer corners than this, and a bound by control points costs at most half again.
    chords = len(flatten(circle_loop(radius)).points)
    fewest = math.pi / math.acos(1 - FLATTEN_TOLERANCE_MM / radius)
    assert chords <= 1.6 * fewest + 4


# --- splitting and finding --------------------------------------------------------------------


@given(segments(), st.floats(0.02, 0.98))
def test_splitting_does_not_move_the_line(segment, t):
    a, b = segment
    first, new, rest = split_segment(a, b, t, 9)
    assert (first.id, new.id, first.corner, new.corner) == (1, 9, True, False)
    assert new.curve == rest
    s = np.linspace(0, 1, 40)
    np.testing.assert_allclose(cubic(first, new, s), cubic(a, b, s * t), atol=1e-9)
    np.testing.assert_allclose(cubic(new, b, s), cubic(a, b, t + s * (1 - t)), atol=1e-9)


@given(outlines(), spots, spots)
def test_nearest_place_on_an_outline(outline, x, y):
    # Against a dense sampling of the exact curves, and shapely's distance to the chords.
    node_id, t, gap = nearest_on(outline, x, y)
    chords = shapely.MultiLineString(
        [[*flatten(loop).points, flatten(loop).points[0]] for loop in outline.loops()]
    )
    assert gap == pytest.approx(shapely.distance(chords, shapely.Point(x, y)), abs=1e-9)
    dense, here = math.inf, None
    for loop in outline.loops():
        for a, b in zip(loop.nodes, [*loop.nodes[1:], loop.nodes[0]], strict=True):
            points = cubic(a, b, np.linspace(0, 1, 300))
            dense = min(dense, float(np.hypot(*(points - (x, y)).T).min()))
            if a.id == node_id:
                here = cubic(a, b, [t])[0]
    assert abs(gap - dense) < 1.0
    assert 0 <= t <= 1
    assert math.hypot(here[0] - x, here[1] - y) == pytest.approx(gap, abs=0.15)


# --- refusals ---------------------------------------------------------------------------------

HUGE = Node(2, 1e308, 0.0, curve=Curve(1e308, -1e308, 0, 0))

BAD = {
    "bow tie": ([(0, 0), (20, 10), (10, 0), (0, 10)], (), "near x 6.7 mm, y 3.3 mm", "crosses"),
    "even bow tie": ([(0, 0), (10, 10), (10, 0), (0, 10)], (), "near x 5.0 mm", "crosses"),
    "line": ([(0, 0), (10, 0), (20, 0)], (), "", "no area"),
    "two points": ([(0, 0), (10, 0)], (), "", "no area"),
    "no points": ([], (), "", "no area"),
    "tiny": ([(0, 0), (0.1, 0), (0, 0.1)], (), "", "no area"),
    "spike": ([(0, 0), (50, 0), (50, 50), (50, 90), (50, 50), (0, 50)], (), "near x 50", "touches"),
    "hole outside": ([(0, 0), (50, 0), (50, 50)], [rectangle(9, 9, 80, 80)], "near x 80", "hole"),
    "huge hole outside": (
        [(0, 0), (50, 0), (50, 50)], [rectangle(99, 99, 80, 80)], "near x 80", "hole",
    ),
    "hole across": ([(0, 0), (50, 0), (50, 50)], [rectangle(30, 9, 30, 3)], "near x", "crosses"),
    "hole in a hole": (
        [(0, 0), (90, 0), (90, 90), (0, 90)],
        [rectangle(50, 50, 10, 10), rectangle(9, 9, 20, 20)], "near x 20", "hole",
    ),
    "empty hole": ([(0, 0), (90, 0), (90, 90)], [Outline(Loop(()))], "", "no area"),
    "flat hole": (
        [(0, 0), (90, 0), (90, 90), (0, 90)],
        [Outline(Loop((Node(5, 10, 10), Node(6, 20, 20), Node(7, 30, 30))))], "near x", "touches",
    ),
    "not a number": ([(0, 0), (math.nan, 0), (0, 50)], (), "", "farther out than 10000 mm"),
    "inf": ([(0, 0), (math.inf, 0), (0, 50)], (), "", "farther out than 10000 mm"),
    "absurd unit": ([(0, 0), (80_000, 0), (0, 50_000)], (), "", "farther out than 10000 mm"),
}  # fmt: skip


def outline_of(points, holes=()):
    rim = Loop(tuple(Node(i, float(x), float(y)) for i, (x, y) in enumerate(points, start=1)))
    return Outline(rim, tuple(h.rim for h in holes))


@pytest.mark.parametrize("name", BAD)
def test_an_outline_without_clear_area_is_refused_in_one_sentence(name):
    points, holes, where, what = BAD[name]
    with pytest.raises(BadOutline) as caught:
        polygon(outline_of(points, holes))
    assert caught.value.where.startswith(where)
    assert what in caught.value.what
    assert caught.value.do
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 1e308, 1e200, 30_000.0])
def test_absurd_handles_are_refused_without_a_warning(value):
    a, b, c = outline_of([(0, 0), (50, 0), (0, 50)]).rim.nodes
    for curve in (Curve(value, 0, 0, 0), Curve(0, 1, 1, value), Curve(value, 0, 0, -value)):
        bent = Node(a.id, a.x_mm, a.y_mm, curve=curve)
        with pytest.raises(BadOutline, match="farther out"):
            polygon(Outline(Loop((bent, b, c))))


def test_too_many_points_are_refused():
    turn = np.linspace(0, 2 * math.pi, 20_001, endpoint=False)
    with pytest.raises(BadOutline, match="more than 20000 points"):
        polygon(outline_of(np.column_stack([np.cos(turn), np.sin(turn)]) * 100))


def test_doubled_points_do_no_harm():
    assert polygon(outline_of([(0, 0), (10, 0), (10, 0), (10, 10), (0, 10)])).area == 100


@given(outlines())
def test_either_a_valid_shape_or_a_sentence(outline):
    try:
        shape = polygon(outline)
    except BadOutline as error:
        assert str(error).count(". ") >= 1
    else:
        assert shape.is_valid
        assert shape.area > 0
