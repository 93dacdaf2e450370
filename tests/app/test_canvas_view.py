"""The view: laws of the mapping, and zooming and panning by wheel, mouse and keys."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest

from app.canvas.rulers import grid_steps_mm, label, label_steps_mm, ruler_steps_mm, scale_bar_mm
from app.canvas.view import FIT_SCALE, MAX_SCALE, MIN_SCALE, View
from app.theme import PX_RULER, font
from tests.app.canvas_board import Hands

places = st.floats(-5000, 5000)
pixels = st.floats(-4000, 4000)
views = st.builds(View, st.floats(MIN_SCALE, MAX_SCALE), st.tuples(pixels, pixels))


@given(views, places, places)
def test_to_mm_undoes_to_px(view, x, y):
    assert view.to_mm(*view.to_px(x, y)) == pytest.approx((x, y), abs=1e-6)


@given(views, st.floats(0.01, 100), pixels, pixels)
def test_zoom_keeps_what_lies_under_the_pointer(view, factor, x, y):
    zoomed = view.zoomed_at(factor, x, y)
    assert MIN_SCALE <= zoomed.scale <= MAX_SCALE
    assert zoomed.to_px(*view.to_mm(x, y)) == pytest.approx((x, y), abs=1e-5)


@given(views, pixels, pixels, places, places)
def test_pan_moves_everything_alike(view, dx, dy, x, y):
    before, after = view.to_px(x, y), view.panned(dx, dy).to_px(x, y)
    moved = (after[0] - before[0], after[1] - before[1])
    assert moved == pytest.approx((dx, dy), abs=1e-5)


@given(places, places, st.floats(1, 3000), st.floats(1, 3000))
def test_fit_shows_the_whole_box_in_the_middle(x, y, width, height):
    view = View.fitted((x, y, x + width, y + height), (20, 30, 820, 630))
    left, top = view.to_px(x, y)
    right, bottom = view.to_px(x + width, y + height)
    slack = 1e-6
    assert 20 - slack <= left and right <= 820 + slack
    assert 30 - slack <= top and bottom <= 630 + slack
    assert (left + right) / 2 == pytest.approx(420, abs=1e-5)
    assert (top + bottom) / 2 == pytest.approx(330, abs=1e-5)
    assert min(left - 20, top - 30) == pytest.approx(0, abs=1e-5) or view.scale == MAX_SCALE


@given(st.floats(MIN_SCALE, MAX_SCALE), st.sampled_from(["mm", "in"]))
def test_rulers_and_grid_never_crowd(scale, unit):
    small, middle, text = ruler_steps_mm(unit, scale)
    assert small * scale >= 3.4 or small == text
    assert small <= middle <= text
    assert text / small == pytest.approx(round(text / small))
    assert text / middle == pytest.approx(round(text / middle))
    fine, mid, coarse = grid_steps_mm(unit, scale)
    assert fine < mid < coarse
    assert mid / fine == pytest.approx(round(mid / fine))
    assert coarse / mid == pytest.approx(round(coarse / mid))


def test_grid_is_5_10_50_mm_at_working_zoom():
    assert grid_steps_mm("mm", 3.8) == (5.0, 10.0, 50.0)


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [
        (-100, "mm", "−100"),
        (0, "mm", "0"),
        (0.5, "mm", "0.5"),
        (12.7, "in", "½"),
        (-38.1, "in", "−1½"),
        (50.8, "in", "2"),
        (25.4 / 16, "in", "1/16"),
        (-25.4 * 3.0625, "in", "−3 1/16"),
        (20_000, "mm", "20000"),
        (-1_234_000, "mm", "−1234000"),
    ],
)
def test_ruler_labels(mm, unit, text):
    assert label(mm, unit) == text


@given(
    st.floats(FIT_SCALE, MAX_SCALE),
    st.floats(-3e5, 3e5),
    st.integers(100, 4000),
    st.sampled_from(["mm", "in"]),
)
def test_labels_of_a_ruler_are_plain_numbers_that_never_overlap(qapp, scale, first, long_px, unit):
    metrics = QFontMetrics(font(PX_RULER))
    last = first + long_px / scale
    step = label_steps_mm(unit, scale, first, last, metrics)[2]
    texts = [label(k * step, unit) for k in range(int(first / step) - 1, int(last / step) + 2)]
    assert not [t for t in texts if "e" in t]
    assert len(set(texts)) == len(texts)
    assert max(map(metrics.horizontalAdvance, texts)) <= step * scale


def test_an_outline_wider_than_the_farthest_zoom_still_fits_and_only_comes_nearer():
    view = View.fitted((0, 0, 20_000, 1), (0, 0, 800, 600))
    assert view.to_px(20_000, 0)[0] <= 800.001
    assert view.zoomed_at(0.5, 0, 0) == view
    assert view.zoomed_at(1.5, 0, 0).scale > view.scale


def test_scale_bar_is_the_longest_round_length_that_fits():
    assert scale_bar_mm("mm", 3.6) == 50.0
    assert scale_bar_mm("in", 3.6) == pytest.approx(50.8)


@pytest.fixture
def hands(qtbot):
    return Hands(qtbot)


def test_wheel_zooms_at_the_pointer(hands):
    before = hands.canvas.view.to_mm(300, 200)
    scale = hands.canvas.view.scale
    hands.wheel(300, 200, 240)
    assert hands.canvas.view.scale > scale
    assert hands.canvas.view.to_mm(300, 200) == pytest.approx(before)
    hands.wheel(300, 200, -240)
    assert hands.canvas.view.scale == pytest.approx(scale)


def test_the_wheel_stops_at_5_and_at_4000_percent(hands):
    # At 96 dots an inch, whatever this screen says of itself.
    for turn, percent in ((-120, 5), (120, 4000)):
        for _notch in range(80):
            hands.wheel(300, 200, turn)
        assert hands.canvas.view.scale * 25.4 / 96 * 100 == pytest.approx(percent, rel=0.02)


def test_middle_button_pans(hands):
    before = hands.canvas.view.offset
    middle = Qt.MouseButton.MiddleButton
    QTest.mousePress(hands.canvas, middle, pos=QPoint(300, 300))
    QTest.mouseMove(hands.canvas, QPoint(340, 280))
    QTest.mouseRelease(hands.canvas, middle, pos=QPoint(340, 280))
    after = hands.canvas.view.offset
    assert (after[0] - before[0], after[1] - before[1]) == pytest.approx((40, -20))
    QTest.mouseMove(hands.canvas, QPoint(400, 400))
    assert hands.canvas.view.offset == after


def test_space_drag_pans_and_changes_nothing_else(hands):
    before = hands.canvas.view.offset
    QTest.keyPress(hands.canvas, Qt.Key.Key_Space)
    hands.press(0, 0)
    hands.move(10, 10)
    QTest.mouseRelease(hands.canvas, Qt.MouseButton.LeftButton, pos=QPoint(300, 300))
    QTest.keyRelease(hands.canvas, Qt.Key.Key_Space)
    assert hands.canvas.view.offset != before
    assert not hands.document.dirty
    assert hands.document.node_ids == frozenset()


def test_keys_zoom_fit_and_show_true_size(hands):
    fitted = hands.canvas.view
    hands.key(Qt.Key.Key_Plus)
    assert hands.canvas.view.scale == pytest.approx(fitted.scale * 1.25)
    hands.key(Qt.Key.Key_Minus)
    assert hands.canvas.view.scale == pytest.approx(fitted.scale)
    hands.key(Qt.Key.Key_1)
    assert hands.canvas.view.scale == pytest.approx(hands.canvas.true_scale())
    assert hands.canvas.zoom_ratio() == pytest.approx(1)
    hands.key(Qt.Key.Key_0)
    assert hands.canvas.view == fitted


def test_a_fitted_panel_stays_fitted_when_the_window_grows(hands):
    hands.canvas.resize(1000, 900)
    left, _ = hands.canvas.view.to_px(0, 0)
    right, _ = hands.canvas.view.to_px(107, 0)
    assert left > 22 and right < 1000
    assert right - left > 700


def test_each_panel_keeps_its_own_view(hands):
    from core.edits import duplicate_panel

    hands.key(Qt.Key.Key_Plus)
    mine = hands.canvas.view
    hands.document.apply(duplicate_panel(2, "Cape back"), "Duplicate")
    assert hands.document.panel_id != 2
    assert hands.canvas.view != mine
    hands.document.select_panel(2)
    assert hands.canvas.view == mine
