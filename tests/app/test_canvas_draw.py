"""Drawing outlines and holes: rings appear while drawing, one step when done."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import count_strip, theme
from app.canvas.drafts import Draft
from core import edits
from core.estimate import panel_estimate
from core.fill import sites
from core.outline import Loop, Node, Outline, polygon
from core.placing import centred_origins
from core.project import Project
from tests.app.canvas_board import RING, SHIFT, Hands, costume
from tests.app.shell_board import Shell

K = Qt.Key
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hands(qtbot, caplog):
    made = Hands(qtbot)
    yield made
    assert not [r for r in caplog.records if r.levelname == "ERROR"], "a handler failed"


@pytest.fixture
def blank(qtbot, caplog):
    made = Hands(qtbot, Project())
    yield made
    assert not [r for r in caplog.records if r.levelname == "ERROR"], "a handler failed"


def drawn(hands):
    """The panel being drawn as shown, or None."""
    known = {p.id for p in hands.document.project.panels}
    return next((p for p in hands.document.shown.panels if p.id not in known), None)


def drawn_rings(hands):
    return panel_estimate(hands.document.shown, drawn(hands)).tally.per_copy


def test_first_panel_of_an_empty_costume(blank):
    hands = blank
    button = hands.canvas._empty.button
    assert button.isVisible()
    hands.qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert hands.canvas.tool_name == "outline"
    assert not button.isVisible()
    hands.click(-60, -40)
    hands.click(60, -40)
    assert drawn(hands) is None
    hands.move(60, 0)
    few = drawn_rings(hands)
    assert few > 0
    hands.move(60, 40)
    assert drawn_rings(hands) > few
    hands.click(60, 40)
    hands.click(-60, 40)
    assert not hands.document.dirty
    hands.click(-60, -40)
    (panel,) = hands.document.project.panels
    assert panel.name == "Panel 1"
    assert polygon(panel.outline).area == pytest.approx(120 * 80)
    assert abs(panel.origin_y_mm) < 10 and abs(panel.origin_x_mm) < 10
    (ring,) = hands.document.project.rings
    assert panel.ring_id == ring.id
    assert (ring.metal, ring.wire_mm, ring.mandrel_mm) == ("steel-galvanized", 1.6, 8.0)
    assert hands.document.panel_id == panel.id
    assert hands.document.undo_stack.count() == 1
    assert hands.canvas.tool_name == "select"
    hands.document.undo_stack.undo()
    assert hands.document.project.panels == () and hands.document.project.rings == ()


def test_a_second_panel_takes_the_ring_of_the_chosen_one(hands):
    hands.canvas.set_tool("outline")
    for x, y in ((0, 0), (50, 0), (50, 30)):
        hands.click(x, y)
    hands.key(K.Key_Return)
    new = hands.document.project.panels[-1]
    assert new.ring_id == RING.id
    assert hands.document.panel_id == new.id
    assert all(n.corner and n.curve is None for n in new.outline.nodes())
    ids = [n.id for p in hands.document.project.panels for n in p.outline.nodes()]
    assert len(ids) == len(set(ids))


def test_a_drawn_panel_starts_where_it_holds_most_rings(hands):
    hands.canvas.set_tool("outline")
    for x, y in ((0, 0), (120, 0), (120, 43), (0, 43)):
        hands.click(x, y)
    hands.key(K.Key_Return)
    panel = hands.document.project.panels[-1]

    def rings(x, y):
        moved = replace(panel, origin_x_mm=x, origin_y_mm=y)
        return panel_estimate(hands.document.project, moved).tally.per_copy

    tally = panel_estimate(hands.document.project, panel).tally
    origins = centred_origins(panel.outline, tally.weave, tally.solved, 0.0)
    assert tally.per_copy == max(rings(*at) for at in origins) > rings(60, 21.5)
    sites_of = sites(tally.fill, None)
    assert sites_of.x_mm.min() == pytest.approx(120 - sites_of.x_mm.max())


def test_the_view_stays_when_a_drawn_panel_is_kept(hands):
    hands.canvas.set_tool("outline")
    view = hands.canvas.view
    for x, y in ((0, 0), (30, 0), (30, 30)):
        hands.click(x, y)
    hands.key(K.Key_Return)
    assert hands.canvas.view == view


def test_press_and_drag_makes_a_smooth_curved_point(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.click(80, 0)
    hands.press(80, 60)
    hands.move(60, 80)
    hands.release(60, 80)
    hands.click(0, 60)
    hands.key(K.Key_Return)
    a, b, c, d = hands.document.project.panels[-1].outline.rim.nodes
    assert a.corner and b.corner and d.corner and not c.corner
    assert a.curve is None and d.curve is None
    assert (b.curve.out_x_mm, b.curve.out_y_mm) == (0, 0)
    assert (b.curve.in_x_mm, b.curve.in_y_mm) == (20, -20)
    assert (c.curve.out_x_mm, c.curve.out_y_mm) == (-20, 20)


def test_backspace_and_ctrl_z_take_points_back_and_esc_drops_all(hands):
    hands.canvas.set_tool("outline")
    for x, y in ((0, 0), (50, 0), (50, 30), (0, 30)):
        hands.click(x, y)
    tool = hands.canvas.tool
    hands.key(K.Key_Backspace)
    assert len(tool.points) == 3
    hands.key(K.Key_Z, CTRL)
    assert len(tool.points) == 2
    hands.key(K.Key_Escape)
    assert tool.points == []
    assert not hands.document.previewing
    assert len(hands.document.project.panels) == 1
    assert hands.canvas.tool_name == "outline"
    hands.key(K.Key_Escape)
    assert hands.canvas.tool_name == "select"


def test_a_typed_length_places_the_next_point(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.move(30, 0)
    hands.type("2 in")
    assert QApplication.focusWidget().accessibleName() == "Length of the next line"
    hands.key(K.Key_Return)
    assert hands.canvas.hasFocus()
    last = hands.canvas.tool.points[-1]
    assert (last.x_mm, last.y_mm) == pytest.approx((50.8, 0))
    hands.type("40")
    hands.key(K.Key_Tab)
    hands.type("90")
    hands.key(K.Key_Return)
    last = hands.canvas.tool.points[-1]
    assert (last.x_mm, last.y_mm) == pytest.approx((50.8, 40))
    assert len(hands.canvas.tool.points) == 3


def test_esc_in_the_length_card_keeps_the_drawing(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.click(50, 0)
    hands.type("7")
    hands.key(K.Key_Escape)
    assert hands.canvas.hasFocus()
    assert len(hands.canvas.tool.points) == 2


def test_a_bad_length_is_said(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.type("7 bananas")
    hands.key(K.Key_Return)
    assert "bananas" in hands.said[-1]
    assert len(hands.canvas.tool.points) == 1


def test_shift_draws_square_to_the_last_line(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.click(60, 5, SHIFT)
    assert hands.canvas.tool.points[-1].y_mm == 0
    hands.click(57, 40, SHIFT)
    assert hands.canvas.tool.points[-1].x_mm == 60


def test_keyboard_alone_draws_a_panel(blank):
    hands = blank
    hands.canvas.set_tool("outline")
    hands.key(K.Key_A)
    for way, times in ((K.Key_Right, 4), (K.Key_Down, 3), (K.Key_Left, 4)):
        for _ in range(times):
            hands.key(way, SHIFT)
        hands.key(K.Key_Space)
    assert len(hands.canvas.tool.points) == 4
    hands.key(K.Key_Return)
    (panel,) = hands.document.project.panels
    assert polygon(panel.outline).area == pytest.approx(40 * 30)


def test_a_crossing_drawing_is_not_closed(hands):
    hands.canvas.set_tool("outline")
    for x, y in ((0, 0), (60, 60), (60, 0), (0, 60)):
        hands.click(x, y)
    hands.key(K.Key_Return)
    assert len(hands.document.project.panels) == 1
    assert "crosses" in hands.said[-1]
    assert len(hands.canvas.tool.points) == 4
    hands.key(K.Key_Backspace)
    hands.key(K.Key_Return)
    assert len(hands.document.project.panels) == 2


def test_a_crossing_drawing_holds_no_rings_and_is_counted_by_nobody(hands):
    hands.canvas.set_tool("outline")
    for x, y in ((0, 0), (60, 0), (60, 60)):
        hands.click(x, y)
    assert drawn_rings(hands) > 0
    hands.move(30, -40)
    shown, panel = hands.document.shown, drawn(hands)
    assert len(panel.outline.rim.nodes) == 4
    strip = count_strip.figures(shown, hands.document.shown_panel_id, False)
    assert strip["rings"].text == "—" and "crosses" in strip["rings"].why
    assert count_strip.figures(shown, None, True)["rings"].text == "—"
    assert "crosses" in hands.warned[-1]
    warn, image = theme.current().warn, hands.picture()
    at = hands.px(30, 0)
    near = range(-30, 30)
    assert any(QColor(image.pixel(at.x() + i, at.y() + j)) == warn for i in near for j in near)
    hands.move(0, 60)
    assert drawn_rings(hands) > 0 and hands.said[-1] == hands.canvas.tool._hint()


def test_a_crossing_drawing_upsets_no_view(qtbot, monkeypatch, caplog):
    shell = Shell(qtbot, monkeypatch, costume())
    tool = shell.window.panels.canvas
    tool.set_tool("outline")
    for x, y in ((0, 0), (60, 0), (60, 60), (30, -40)):
        tool.tool.add(x, y)
    shell.window.grab()
    assert shell.window.strip.cells["rings"].figure.text == "—"
    assert not [r for r in caplog.records if r.levelname == "ERROR"]
    assert tool.tool.cancel()
    assert shell.window.strip.cells["rings"].figure.text != "—"


def test_the_hint_stays_after_a_typed_length(hands):
    hands.canvas.set_tool("outline")
    hint = hands.said[-1]
    assert "Enter closes" in hint
    hands.click(0, 0)
    hands.type("7 bananas")
    hands.key(K.Key_Return)
    assert "bananas" in hands.warned[-1] and hands.said[-1] != hint
    hands.key(K.Key_Escape)
    assert hands.said[-1] == hint
    hands.type("40")
    hands.key(K.Key_Return)
    assert hands.said[-1] == hint
    hands.key(K.Key_Return)
    assert "three points" in hands.warned[-1]
    hands.click(40, 40)
    assert hands.said[-1] == hint


def test_two_points_are_no_outline(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.click(60, 60)
    hands.key(K.Key_Return)
    assert "three points" in hands.said[-1]
    assert not hands.document.dirty


def test_double_click_closes(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.click(60, 0)
    hands.double(60, 60)
    assert len(hands.document.project.panels) == 2
    assert len(hands.document.project.panels[-1].outline.rim.nodes) == 3


def test_a_hole_takes_rings_away_while_it_is_drawn(hands):
    full = hands.rings()
    hands.canvas.set_tool("hole")
    for x, y in ((30, 30), (70, 30), (70, 70)):
        hands.click(x, y)
    part = hands.rings()
    assert part < full
    hands.click(30, 70)
    assert hands.rings() < part
    assert hands.outline.holes == ()
    hands.key(K.Key_Return)
    assert len(hands.outline.holes) == 1
    assert hands.document.undo_stack.count() == 1
    assert hands.canvas.tool_name == "select"
    hands.document.undo_stack.undo()
    assert hands.rings() == full


def test_a_hole_outside_is_refused(hands):
    hands.canvas.set_tool("hole")
    for x, y in ((-40, 10), (-10, 10), (-10, 40)):
        hands.click(x, y)
    hands.key(K.Key_Return)
    assert hands.outline.holes == ()
    assert "hole" in hands.said[-1].lower()


def test_hole_needs_a_panel(blank):
    blank.canvas.set_tool("hole")
    blank.click(0, 0)
    assert not blank.canvas.tool.active
    assert "panel" in blank.said[-1]


def test_changing_the_tool_drops_the_drawing(hands):
    hands.canvas.set_tool("outline")
    for x, y in ((0, 0), (50, 0), (50, 30)):
        hands.click(x, y)
    assert hands.document.previewing
    hands.canvas.set_tool("select")
    assert not hands.document.previewing
    assert len(hands.document.project.panels) == 1


def test_choosing_another_panel_ends_the_drawing(hands):
    from core.edits import duplicate_panel

    hands.document.apply(duplicate_panel(2, "Cape back"), "Duplicate")
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    hands.document.select_panel(2)
    assert hands.canvas.tool_name == "select"
    assert hands.canvas.shown_panel().id == 2


def test_opening_another_file_starts_afresh(hands):
    hands.key(K.Key_Plus)
    zoomed = hands.canvas.view
    hands.canvas.set_tool("outline")
    hands.click(0, 0)
    other = costume()
    small = replace(
        other.panels[0],
        id=1,
        outline=Outline(Loop((Node(3, 0, 0), Node(4, 20, 0), Node(5, 20, 20)))),
        edges=(),
    )
    hands.document.load(replace(other, panels=(small, *other.panels)), None)
    assert hands.canvas.tool_name == "select"
    assert hands.document.panel_id == 1
    assert hands.canvas.view.scale > 2 * zoomed.scale
    hands.document.select_panel(2)
    assert hands.canvas.view != zoomed
    assert not hands.document.previewing


def test_no_handler_fails_on_a_storm_of_input(hands):
    """Every key and button in every tool: nothing may raise (the fixture looks at the log)."""
    keys = [
        K.Key_A,
        K.Key_B,
        K.Key_C,
        K.Key_F,
        K.Key_Tab,
        K.Key_Delete,
        K.Key_Space,
        K.Key_0,
        K.Key_1,
        K.Key_Plus,
        K.Key_Left,
        K.Key_Up,
        K.Key_Backspace,
        K.Key_Return,
    ]
    for tool in ("select", "outline", "hole"):
        hands.canvas.set_tool(tool)
        for i, key in enumerate(keys * 2):
            QTest.mousePress(hands.canvas, Qt.MouseButton.LeftButton, pos=hands.px(i * 7, i * 3))
            QTest.keyClick(hands.canvas, key)
            hands.move(i * 5, 60 - i)
            QTest.mouseRelease(hands.canvas, Qt.MouseButton.LeftButton, pos=hands.px(i * 5, i))
            hands.key(K.Key_Escape)
    hands.picture()


def test_a_hole_drawn_while_its_panel_goes_is_dropped_quietly(hands):
    hands.canvas.set_tool("hole")
    hands.click(20, 20)
    hands.click(40, 20)
    hands.click(40, 40)
    tool = hands.canvas.tool
    hands.document.apply(edits.remove_panel(2), "remove the panel")
    # A move that was held back for its frame may still arrive.
    tool.points = tool.points or [Draft(20.0, 20.0), Draft(40.0, 20.0), Draft(40.0, 40.0)]
    tool._show()
    assert not hands.document.previewing
