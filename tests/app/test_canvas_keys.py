"""The canvas by keyboard alone, and numbers typed over what is shown."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from core.edits import set_unit
from core.outline import edge_ids
from tests.app.canvas_board import SHIFT, Hands

K = Qt.Key
ALT = Qt.KeyboardModifier.AltModifier
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hands(qtbot, caplog):
    made = Hands(qtbot)
    yield made
    assert not [r for r in caplog.records if r.levelname == "ERROR"], "a handler failed"


def test_tab_walks_points_then_lines_then_leaves(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    box = QVBoxLayout(window)
    after = QLineEdit()
    box.addWidget(after)
    hands = Hands(qtbot, box=box)
    QWidget.setTabOrder(hands.canvas, after)
    seen = []
    for _ in range(8):
        hands.key(K.Key_Tab)
        assert hands.canvas.hasFocus()
        seen.append((set(hands.document.node_ids), hands.document.edge_id))
    assert seen == [
        ({11}, None),
        ({12}, None),
        ({13}, None),
        ({14}, None),
        (set(), 11),
        (set(), 12),
        (set(), 13),
        (set(), 14),
    ]
    hands.key(K.Key_Tab)
    assert after.hasFocus()
    hands.key(K.Key_Backtab)
    assert hands.canvas.hasFocus()
    hands.key(K.Key_Backtab)
    assert hands.document.edge_id == 14


def test_arrows_nudge_in_one_merged_step_a_run(hands):
    hands.key(K.Key_Tab)
    for _ in range(3):
        hands.key(K.Key_Left)
    hands.key(K.Key_Up, SHIFT)
    hands.key(K.Key_Down, ALT)
    assert hands.node(11) == pytest.approx((-3, -9.9))
    assert hands.document.undo_stack.count() == 1
    hands.key(K.Key_Tab)
    hands.key(K.Key_Right)
    assert hands.node(12) == (101, 0)
    assert hands.document.undo_stack.count() == 2
    hands.document.undo_stack.undo()
    hands.document.undo_stack.undo()
    assert hands.node(11) == (0, 0)


def test_a_run_of_nudges_ends_when_another_point_is_chosen(hands):
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Left)
    hands.document.select_nodes(frozenset({12}))
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Left)
    assert hands.document.undo_stack.count() == 2


def test_nudging_into_a_crossing_is_refused(hands):
    hands.document.select_nodes(frozenset({11}))
    for _ in range(15):
        hands.key(K.Key_Down, SHIFT)
    assert hands.node(11)[1] <= 100
    assert "crosses" in hands.said[-1]


def test_arrows_pan_when_nothing_is_chosen(hands):
    before = hands.canvas.view.offset
    hands.key(K.Key_Left)
    assert hands.canvas.view.offset[0] == before[0] + 40
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Left, CTRL)
    assert hands.canvas.view.offset[0] == before[0] + 80
    assert not hands.document.dirty


def test_typed_coordinates_with_units(hands):
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Return)
    field = QApplication.focusWidget()
    assert field.accessibleName() == "x, to the right"
    assert field.text() == "0.0\u00a0mm"
    hands.type("-1 in")
    assert hands.document.shown.panels[0].outline.node(11).x_mm == pytest.approx(-25.4)
    hands.key(K.Key_Tab)
    assert QApplication.focusWidget().accessibleName() == "y, downward"
    hands.type("-12.5")
    assert hands.node(11) == (0, 0)
    hands.key(K.Key_Return)
    assert hands.node(11) == pytest.approx((-25.4, -12.5))
    assert hands.document.undo_stack.count() == 1
    assert hands.canvas.hasFocus()
    hands.key(K.Key_Return)
    assert QApplication.focusWidget().text() == "\u221225.4\u00a0mm"


def test_esc_restores_typed_coordinates(hands):
    start = hands.rings()
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Return)
    hands.type("-40")
    assert hands.rings() > start
    hands.key(K.Key_Escape)
    assert hands.rings() == start
    assert hands.node(11) == (0, 0)
    assert hands.document.undo_stack.count() == 0
    assert hands.canvas.hasFocus()
    assert hands.document.node_ids == {11}


def test_a_click_elsewhere_drops_what_was_typed(hands):
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Return)
    hands.type("-40")
    hands.click(50, 50)
    assert not hands.document.previewing
    assert hands.node(11) == (0, 0)


def test_bad_coordinates_are_said_and_stay_open(hands):
    hands.document.select_nodes(frozenset({11}))
    hands.key(K.Key_Return)
    hands.type("seven")
    hands.key(K.Key_Return)
    field = QApplication.focusWidget()
    assert field.property("bad") is True
    assert "seven" in hands.said[-1]
    assert field.accessibleDescription() == hands.said[-1]
    hands.key(K.Key_Escape)
    assert hands.node(11) == (0, 0)


def test_the_card_keeps_the_exact_place_of_what_is_not_typed(hands):
    hands.canvas.snap_mm = 0
    hands.drag((0, 0), (-10.4, -7.4))
    exact = hands.node(11)
    hands.key(K.Key_Return)
    hands.key(K.Key_Tab)
    hands.type("-3")
    hands.key(K.Key_Return)
    assert hands.node(11) == (exact[0], -3)


def test_coordinates_in_inches(hands):
    hands.document.apply(set_unit("in"), "Inches")
    hands.document.select_nodes(frozenset({12}))
    hands.key(K.Key_Return)
    hands.type("4 1/2")
    hands.key(K.Key_Return)
    assert hands.node(12)[0] == pytest.approx(114.3)


def test_f_cycles_the_edging(hands):
    hands.click(50, 0)
    rings = hands.rings()
    hands.key(K.Key_F)
    assert hands.document.project.panels[0].finish(11).edging == "edged"
    assert hands.rings() > rings
    hands.key(K.Key_F)
    assert hands.document.project.panels[0].finish(11).edging == "plain"
    assert hands.document.undo_stack.count() == 2


def test_a_adds_and_delete_removes_points(hands):
    hands.click(50, 0)
    hands.key(K.Key_A)
    (new,) = hands.document.node_ids
    assert hands.node(new) == (50, 0)
    hands.key(K.Key_Up, SHIFT)
    assert hands.node(new) == (50, -10)
    hands.key(K.Key_Delete)
    assert len(hands.outline.rim.nodes) == 4
    assert hands.document.undo_stack.count() == 3


def test_an_outline_keeps_three_points(hands):
    hands.key(K.Key_A, CTRL)
    assert len(hands.document.node_ids) == 4
    hands.key(K.Key_Delete)
    assert len(hands.outline.rim.nodes) == 4
    assert "three points" in hands.said[-1]


def test_c_turns_corners_and_changes_the_edges(hands):
    hands.document.select_nodes(frozenset({12}))
    hands.key(K.Key_C)
    assert edge_ids(hands.outline) == (11, 13, 14)
    hands.key(K.Key_C)
    assert edge_ids(hands.outline) == (11, 12, 13, 14)


def test_b_bends_outward_and_straightens(hands):
    from core.outline import polygon

    before = polygon(hands.outline).area
    hands.click(0, 50)
    hands.key(K.Key_B)
    assert hands.outline.node(14).curve is not None
    assert polygon(hands.outline).area > before * 1.05
    hands.key(K.Key_B)
    assert hands.outline.node(14).curve is None
    assert polygon(hands.outline).area == pytest.approx(before)


def test_keys_without_anything_chosen_say_what_to_do(hands):
    for key in (K.Key_F, K.Key_B, K.Key_A, K.Key_C, K.Key_Delete, K.Key_Return):
        hands.said.clear()
        hands.key(key)
        assert hands.said and hands.said[-1]
    assert not hands.document.dirty


def test_the_first_chosen_point_says_how_to_type_its_place(hands):
    hands.click(100, 100)
    assert "Enter" in hands.said[-1] and "ouble" in hands.said[-1]
    assert "Enter" in hands.canvas.accessibleDescription()
    assert hands.warned == []
    hands.said.clear()
    hands.click(0, 100)
    assert not any(hands.said), "said once is enough"


def test_refusals_are_cautions_and_not_remarks(hands):
    remarks = []
    hands.canvas.status.connect(remarks.append)
    hands.click(0, 0)
    hands.click(100, 0, SHIFT)
    hands.key(K.Key_Delete)
    assert "three points" in hands.warned[-1]
    assert "three points" not in " ".join(remarks)


def test_esc_clears_the_selection(hands):
    hands.click(50, 0)
    hands.key(K.Key_Escape)
    assert hands.document.edge_id is None


def test_accessible_description_follows_the_selection(hands):
    assert hands.canvas.accessibleName() == "Panel drawing"
    hands.key(K.Key_Tab)
    assert "point 1 of 4" in hands.canvas.accessibleDescription()
    hands.key(K.Key_Left)
    assert "\u22121.0" in hands.canvas.accessibleDescription()
    hands.click(50, 100)
    assert "edged" in hands.canvas.accessibleDescription()


def test_focus_shows_for_the_keyboard_not_for_the_mouse(hands):
    hands.click(50, 50)
    assert not hands.canvas.shows_focus
    hands.key(K.Key_Tab)
    assert hands.canvas.shows_focus
