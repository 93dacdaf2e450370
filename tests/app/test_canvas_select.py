"""Picking and moving with the mouse: the document first, then what is shown."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor

from app import theme
from core.panel import EdgeFinish
from tests.app.canvas_board import SHIFT, Hands


@pytest.fixture
def hands(qtbot, caplog):
    made = Hands(qtbot)
    yield made
    assert not [r for r in caplog.records if r.levelname == "ERROR"], "a handler failed"


def test_dragging_a_point_recounts_on_the_way_and_is_one_step(hands):
    start = hands.rings()
    hands.press(0, 0)
    counts = []
    for x in (-10, -20, -30):
        hands.move(x, -10)
        counts.append(hands.rings())
        assert hands.document.previewing
        assert hands.node(11) == (0, 0)
    assert start < counts[0] < counts[1] < counts[2]
    hands.release(-30, -10)
    assert hands.node(11) == (-30, -10)
    # Released, the rows stay, or are placed anew where more rings lie.
    assert hands.rings() >= counts[-1]
    assert hands.document.undo_stack.count() == 1
    assert not hands.document.previewing
    hands.document.undo_stack.undo()
    assert hands.node(11) == (0, 0)
    assert hands.rings() == start
    hands.document.undo_stack.redo()
    assert hands.node(11) == (-30, -10)


def test_many_moves_within_a_frame_recount_once(hands, monkeypatch):
    hands.press(0, 0)
    hands.move(-5, -5)
    shown = []
    hands.document.changed.connect(lambda: shown.append(hands.document.shown))
    monkeypatch.setattr("app.canvas.canvas.time.monotonic", lambda: hands.canvas._last_move + 0.001)
    from PySide6.QtTest import QTest

    for x in range(-6, -26, -1):
        QTest.mouseMove(hands.canvas, hands.px(x, -5))
    assert shown == []
    hands.qtbot.waitUntil(lambda: len(shown) == 1)
    assert shown[0].panels[0].outline.node(11).x_mm == -25
    hands.release(-25, -5)
    assert hands.document.undo_stack.count() == 1


def test_release_lands_where_the_button_went_up(hands):
    hands.press(0, 0)
    hands.move(-5, -5)
    hands.release(-20, -12)
    assert hands.node(11) == (-20, -12)


def test_a_click_moves_nothing(hands):
    hands.drag((0, 0), (0.4, 0.2))
    assert hands.document.undo_stack.count() == 0
    assert hands.document.node_ids == {11}


def test_esc_in_a_drag_puts_everything_back(hands):
    start = hands.rings()
    hands.press(0, 0)
    hands.move(-30, -30)
    assert hands.rings() != start
    hands.key(Qt.Key.Key_Escape)
    assert hands.rings() == start
    hands.release(-30, -30)
    assert hands.node(11) == (0, 0)
    assert hands.document.undo_stack.count() == 0


def test_undo_during_a_drag_ends_the_drag(hands):
    hands.drag((0, 0), (-20, -20))
    hands.press(-20, -20)
    hands.move(-40, -40)
    hands.document.undo_stack.undo()
    hands.move(-50, -50)
    hands.release(-50, -50)
    assert hands.node(11) == (0, 0)


def test_points_snap_to_whole_mm_unless_alt_or_snapping_is_off(hands):
    hands.drag((0, 0), (-10.37, -7.41))
    assert hands.node(11) == (-10, -7)
    hands.document.undo_stack.undo()
    hands.canvas.snap_mm = 0
    hands.drag((0, 0), (-10.4, -7.4))
    x, y = hands.node(11)
    assert x % 1 != 0 and y % 1 != 0
    assert (x, y) == pytest.approx((-10.4, -7.4), abs=0.4)


def test_shift_keeps_a_drag_level_or_upright(hands):
    hands.press(0, 0)
    hands.move(-20, -5, SHIFT)
    hands.release(-20, -5, SHIFT)
    assert hands.node(11) == (-20, 0)
    hands.drag((-20, 0), (-25, -30), held=SHIFT)
    assert hands.node(11) == (-20, -30)


def test_shift_click_adds_and_takes_away(hands):
    hands.click(0, 0)
    hands.click(100, 0, SHIFT)
    assert hands.document.node_ids == {11, 12}
    hands.click(0, 0, SHIFT)
    assert hands.document.node_ids == {12}


def test_a_drag_of_one_chosen_point_moves_all_chosen(hands):
    hands.click(0, 0)
    hands.click(0, 100, SHIFT)
    assert hands.document.node_ids == {11, 14}
    hands.drag((0, 0), (-15, 5))
    assert hands.node(11) == (-15, 5)
    assert hands.node(14) == (-15, 105)
    assert hands.node(12) == (100, 0)
    assert hands.document.undo_stack.count() == 1


def test_a_click_on_one_of_several_keeps_only_that_one(hands):
    hands.document.select_nodes(frozenset({11, 14}))
    hands.click(0, 0)
    assert hands.document.node_ids == {11}


def test_clicking_an_edge_selects_it_and_empty_ground_nothing(hands):
    hands.click(50, 0)
    assert hands.document.edge_id == 11
    hands.click(50, 100)
    assert hands.document.edge_id == 13
    hands.click(50, 50)
    assert hands.document.edge_id is None
    assert hands.document.undo_stack.count() == 0


def test_dragging_an_edge_moves_its_two_points(hands):
    hands.drag((50, 0), (50, -20))
    assert hands.node(11) == (0, -20)
    assert hands.node(12) == (100, -20)
    assert hands.node(13) == (100, 100)


def test_box_selects_points(hands):
    hands.drag((-20, -20), (20, 120))
    assert hands.document.node_ids == {11, 14}
    hands.press(80, -20, SHIFT)
    hands.move(120, 20)
    hands.release(120, 20, SHIFT)
    assert hands.document.node_ids == {11, 12, 14}
    assert hands.document.undo_stack.count() == 0


def test_dragging_a_curve_handle_bends_the_line(hands):
    hands.click(107.5, 50)
    assert hands.document.edge_id == 12
    hands.drag((110, 33), (130, 30))
    curve = hands.outline.node(12).curve
    assert (curve.out_x_mm, curve.out_y_mm) == (30, 30)
    assert (curve.in_x_mm, curve.in_y_mm) == (10, -33)
    assert hands.document.undo_stack.count() == 1
    hands.document.undo_stack.undo()
    assert hands.outline.node(12).curve.out_x_mm == 10


def test_an_outline_that_crosses_itself_is_refused_with_words(hands):
    start, before = hands.rings(), hands.document.project
    hands.press(0, 0)
    hands.move(-10, 0)
    good = hands.rings()
    hands.move(150, 50)
    assert hands.canvas.tool.bad_outline is not None
    assert "crosses" in hands.said[-1]
    assert hands.rings() == good
    warn = theme.current().warn
    image = hands.picture()
    at = hands.px(75, 75)
    found = any(
        QColor(image.pixel(at.x() + i, at.y() + j)) == warn
        for i in range(-40, 40)
        for j in range(-40, 40)
    )
    assert found, "the crossing line is not shown in the warning colour"
    hands.release(150, 50)
    assert hands.document.project is before
    assert hands.rings() == start
    assert "crosses" in hands.said[-1]
    assert hands.document.undo_stack.count() == 0


def test_a_drag_back_from_a_crossing_goes_on(hands):
    hands.press(0, 0)
    hands.move(150, 50)
    hands.move(-10, -10)
    assert hands.canvas.tool.bad_outline is None
    assert hands.said[-1] == ""
    hands.release(-10, -10)
    assert hands.node(11) == (-10, -10)


def test_double_click_adds_a_point_where_the_line_is(hands):
    hands.double(40, 0)
    assert len(hands.outline.rim.nodes) == 5
    (new,) = hands.document.node_ids
    assert hands.node(new) == pytest.approx((40, 0), abs=0.3)
    assert hands.document.undo_stack.count() == 1
    hands.document.undo_stack.undo()
    assert len(hands.outline.rim.nodes) == 4


def test_double_click_on_a_curve_leaves_its_shape(hands):
    from core.outline import polygon

    before = polygon(hands.outline).area
    hands.double(107.3, 50)
    assert len(hands.outline.rim.nodes) == 5
    assert polygon(hands.outline).area == pytest.approx(before, rel=1e-4)


def test_edges_keep_their_finish_through_a_drag(hands):
    hands.drag((100, 100), (110, 110))
    assert hands.document.project.panels[0].edges == (EdgeFinish(13, "edged"),)


def test_old_outline_is_dashed_while_dragging(hands):
    hands.canvas.show_mode = "outline"
    hands.press(0, 100)
    hands.move(-40, 100)
    image = hands.picture()
    # Down the old left side: drawn and blank pixels take turns.
    column = hands.px(0, 50)
    marks = [
        any(QColor(image.pixel(column.x() + i, y)).lightness() < 180 for i in (-1, 0, 1))
        for y in range(column.y() - 30, column.y() + 30)
    ]
    assert 20 < sum(marks) < 40
    hands.release(-40, 100)
    image = hands.picture()
    assert not any(
        QColor(image.pixel(column.x(), y)).lightness() < 180
        for y in range(column.y() - 30, column.y() + 30)
    )


def test_edged_and_plain_edges_differ_by_more_than_colour(hands):
    """Beads stand outside an edged edge and nowhere else."""
    hands.canvas.show_mode = "outline"
    image, colour = hands.picture(), theme.current().role_edged

    def inked(x_mm, y_mm, dx, dy):
        at = hands.px(x_mm, y_mm)
        return sum(
            abs(
                QColor(image.pixel(at.x() + dx * k + dy * i, at.y() + dy * k + dx * i)).hue()
                - colour.hue()
            )
            < 12
            and QColor(image.pixel(at.x() + dx * k + dy * i, at.y() + dy * k + dx * i)).saturation()
            > 120
            for k in range(4, 8)
            for i in range(-30, 30)
        )

    assert inked(50, 100, 0, 1) > 20
    assert inked(50, 100, 0, -1) == 0
    assert inked(50, 0, 0, -1) == 0


def test_beads_of_a_hole_stand_in_the_hole(hands):
    from core.edits import add_hole, set_edge
    from core.outline import Loop, Node

    corners = ((30, 30), (70, 30), (70, 70), (30, 70))
    for order in (corners, corners[::-1]):
        hole = Loop(tuple(Node(i, x, y) for i, (x, y) in enumerate(order)))
        hands.document.apply(add_hole(2, hole), "Cut")
        ids = [n.id for n in hands.outline.holes[0].nodes]
        for node_id in ids:
            hands.document.apply(set_edge(2, node_id, "edged"), "Edge")
        hands.canvas.show_mode = "outline"
        image, colour = hands.picture(), theme.current().role_edged

        def inked(y_mm, shift, image=image, colour=colour):
            at = hands.px(50, y_mm)
            return sum(
                QColor(image.pixel(at.x() + i, at.y() + shift)).saturation() > 120
                and abs(QColor(image.pixel(at.x() + i, at.y() + shift)).hue() - colour.hue()) < 12
                for i in range(-40, 40)
            )

        assert inked(30, 6) > 10 and inked(30, -6) == 0
        assert inked(70, -6) > 10 and inked(70, 6) == 0
        while hands.document.undo_stack.canUndo():
            hands.document.undo_stack.undo()


def test_a_panel_that_cannot_be_counted_says_why(hands):
    from dataclasses import replace

    project = hands.document.project
    tight = replace(project.rings[0], inner_measured_mm=2.0, mandrel_mm=2.0)
    hands.document.load(replace(project, rings=(tight,)), None)
    warn = theme.current().warn_wash
    image = hands.picture()
    found = [QColor(image.pixel(x, 40)) == warn for x in range(40, 400, 4)]
    assert any(found)
    hands.drag((0, 0), (-20, -20))
    assert hands.node(11) == (-20, -20)


def test_hovering_repaints_the_rulers_only(hands, monkeypatch):
    hands.picture()
    hands.qtbot.wait(1)
    from PySide6.QtWidgets import QApplication

    QApplication.processEvents()
    tables = []
    real = hands.canvas._picture.paint

    def paint(*args, table):
        tables.append(table)
        real(*args, table=table)

    monkeypatch.setattr(hands.canvas._picture, "paint", paint)
    hands.move(50, 40)
    hands.move(52, 42)
    QApplication.processEvents()
    assert tables and not any(tables)
    assert hands.canvas.marks == pytest.approx((52, 42), abs=0.3)
