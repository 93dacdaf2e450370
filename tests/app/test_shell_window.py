"""The window: actions, names for those who listen, title, unit, pages, empty state."""

import string

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QAccessible, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QMenu,
    QScrollArea,
)

from app import actions, settings
from app.main_window import MainWindow, within
from app.starter import new_costume
from app.widgets.explain import Explanation
from core import edits
from core.estimate import estimate, panel_estimate
from core.fill import sites
from tests.app.shell_board import Shell

CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch)


def test_every_action_leads_somewhere_and_stands_in_its_menu(shell):
    listed = {
        action.objectName()
        for menu in shell.window.menuBar().findChildren(QMenu)
        for action in menu.actions()
    }
    for action in actions.table():
        assert callable(actions.find_slot(shell.window, action.slot)), action.id
        assert action.id in listed
        assert action.menu in {key for key, _text in actions.menus()}


def test_ids_and_keys_of_actions_are_unique_and_real(shell):
    rows = actions.table()
    assert len({a.id for a in rows}) == len(rows)
    keys = [a.shortcut for a in rows if a.shortcut]
    assert len(set(keys)) == len(keys)
    for text in keys:
        assert QKeySequence(text).toString(QKeySequence.SequenceFormat.PortableText) == text


def test_an_unknown_slot_is_an_error(shell):
    with pytest.raises(AttributeError):
        actions.find_slot(shell.window, "files.nothing")


def test_icons_never_stand_without_a_tooltip(shell):
    for action in actions.table():
        if action.icon:
            made = shell.window.actions_made[action.id]
            assert not made.icon().isNull()
            assert action.text.rstrip("…") in made.toolTip()


CONTROLS = (QAbstractButton, QAbstractItemView, QLineEdit, QComboBox, QScrollArea)


def nameless(window):
    """Controls in sight that a screen reader would announce without a name."""
    found = []
    for kind in CONTROLS:
        for widget in window.findChildren(kind):
            if not widget.isVisible():
                continue
            part_of_qt = (
                isinstance(widget, QHeaderView)
                or widget.objectName().startswith("qt_")
                or any(isinstance(parent, QComboBox) for parent in parents(widget))
            )
            spoken = QAccessible.queryAccessibleInterface(widget)
            if not part_of_qt and not spoken.text(QAccessible.Text.Name).strip():
                found.append(widget)
    return found


def parents(widget):
    while (widget := widget.parentWidget()) is not None:
        yield widget


@pytest.mark.parametrize("project", [None, "empty"])
def test_every_control_has_a_name(qtbot, monkeypatch, project):
    shell = Shell(qtbot, monkeypatch, new_costume() if project else None)
    for page in shell.window.pages:
        shell.window.show_page(page.id)
        QApplication.processEvents()
        assert nameless(shell.window) == [], page.id


def test_controls_that_are_shown_on_demand_have_names(shell):
    shell.choose(shell.body.lay, "swatch")
    assert nameless(shell.window) == []
    shell.window.actions_made["ring.new"].trigger()
    assert shell.inspector.new_ring.isVisible()
    assert nameless(shell.window) == []


def test_a_control_without_a_name_would_be_found(shell):
    line = QLineEdit(shell.window)
    line.show()
    assert nameless(shell.window) == [line]


def test_unit_is_one_undoable_edit_shown_everywhere(shell):
    shell.click(shell.window.header.unit.button("in"))
    assert shell.document.project.unit == "in"
    assert shell.window.actions_made["view.in"].isChecked()
    assert shell.window.strip.cells["area"].figure.unit == "in²"
    assert "in" in shell.body.sheet.text("along")
    assert shell.window.panels.snap.text() == "Snap to 1/16 in"
    shell.press(Qt.Key.Key_Z)
    assert shell.document.project.unit == "mm"
    assert shell.window.header.unit.key() == "mm"


def test_undo_names_the_step_and_brings_the_panel_back(shell):
    panel = shell.panel
    undo = shell.window.actions_made["edit.undo"]
    assert not undo.isEnabled()
    shell.press(Qt.Key.Key_Delete)
    assert shell.document.project.panels == ()
    assert "delete the panel" in undo.text()
    shell.click(shell.window.header.undo)
    assert shell.document.project.panels == (panel,)
    shell.press(Qt.Key.Key_Z, CTRL | Qt.KeyboardModifier.ShiftModifier)
    assert shell.document.project.panels == ()


def test_delete_in_the_list_deletes_and_the_list_follows(shell):
    shell.press(Qt.Key.Key_D)
    first = shell.document.project.panels[0]
    shell.key(shell.window.panels.list, Qt.Key.Key_Delete)
    assert shell.document.project.panels == (first,)
    assert shell.document.panel_id == first.id
    assert "Ctrl+Z" in shell.remarks[-1][0]


def test_practice_and_spare_change_what_is_bought(shell):
    def bought():
        return estimate(shell.document.project).totals

    novice = bought()
    shell.window.actions_made["edit.practised"].trigger()
    assert bought().hours < novice.hours
    assert bought().spare < novice.spare
    shell.answers = ["30 %"]
    shell.window.actions_made["edit.spare"].trigger()
    assert shell.document.project.spare_percent == 30
    shell.answers = ["plenty"]
    shell.window.actions_made["edit.spare"].trigger()
    assert shell.document.project.spare_percent == 30
    assert "plenty" in shell.cautions[-1]
    shell.answers = [""]
    shell.window.actions_made["edit.spare"].trigger()
    assert shell.document.project.spare_percent is None
    shell.document.undo_stack.setIndex(0)
    assert shell.window.actions_made["edit.novice"].isChecked()


@pytest.mark.parametrize("action", ["panel.centre_ring", "panel.centre_gap"])
def test_centred_rings_are_symmetric_about_the_middle(shell, action):
    """Source: mirror symmetry of a rectangle; counted from the places themselves."""
    shell.press(Qt.Key.Key_N, CTRL | Qt.KeyboardModifier.ShiftModifier)
    shell.document.apply(edits.set_origin(shell.panel.id, 1.3, -2.1), "move")
    shell.window.actions_made[action].trigger()
    fill = panel_estimate(shell.document.project, shell.panel).tally.fill
    found = sites(fill, None)
    places = sorted((round(x, 4), round(y, 4)) for x, y in zip(found.x_mm, found.y_mm, strict=True))
    assert places == sorted((round(0.0 - x, 4), y) for x, y in places)
    middle = any(abs(x) < 1e-6 and abs(y) < 1e-6 for x, y in places)
    assert middle is (action == "panel.centre_ring")


def test_duplicate_and_rectangle_get_names_of_their_own(shell):
    shell.press(Qt.Key.Key_D)
    shell.press(Qt.Key.Key_N, CTRL | Qt.KeyboardModifier.ShiftModifier)
    shell.press(Qt.Key.Key_N, CTRL | Qt.KeyboardModifier.ShiftModifier)
    names = [p.name for p in shell.document.project.panels]
    assert names == ["Cape front", "Cape front copy", "Panel", "Panel 2"]
    assert shell.panel.name == "Panel 2"
    assert shell.window.panels.list.currentIndex().data() == "Panel 2"


def test_list_selects_the_document_and_follows_it(shell):
    shell.press(Qt.Key.Key_D)
    first, second = shell.document.project.panels
    shell.key(shell.window.panels.list, Qt.Key.Key_Up)
    assert shell.document.panel_id == first.id
    assert shell.body.name.text() == first.name
    shell.document.select_panel(second.id)
    assert shell.window.panels.list.currentIndex().row() == 1


def test_list_renames_in_place_and_refuses_an_empty_name(shell):
    panels = shell.window.panels.list
    shell.press(Qt.Key.Key_F2)
    editor = panels.findChild(QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, "Cape back")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    shell.qtbot.waitUntil(lambda: shell.panel.name == "Cape back")
    shell.qtbot.waitUntil(lambda: panels.findChild(QLineEdit) is None)
    shell.press(Qt.Key.Key_F2)
    editor = panels.findChild(QLineEdit)
    editor.selectAll()
    QTest.keyClick(editor, Qt.Key.Key_Delete)
    QTest.keyClick(editor, Qt.Key.Key_Return)
    shell.qtbot.waitUntil(lambda: bool(shell.cautions))
    assert shell.panel.name == "Cape back"
    assert shell.cautions == ["A panel needs a name. Type a name."]


def test_tools_are_taken_up_by_key_and_by_button(shell):
    canvas = shell.window.panels.canvas
    shell.press(Qt.Key.Key_O, Qt.KeyboardModifier.NoModifier)
    assert canvas.tool_name == "outline"
    assert shell.window.actions_made["panel.outline"].isChecked()
    shell.press(Qt.Key.Key_V, Qt.KeyboardModifier.NoModifier)
    assert canvas.tool_name == "select"
    assert not shell.window.actions_made["panel.outline"].isChecked()


def test_letters_typed_into_a_field_are_not_tools(shell):
    shell.write(shell.body.name, "Hovo")
    assert shell.panel.name == "Hovo"
    assert shell.window.panels.canvas.tool_name == "select"


def test_show_and_snap_are_kept_for_the_next_window(qtbot, monkeypatch, shell):
    shell.click(shell.window.panels.show_segment.button("rows"))
    shell.click(shell.window.panels.snap)
    assert shell.window.panels.canvas.show_mode == "rows"
    assert shell.window.panels.canvas.snap_mm == 0
    again = Shell(qtbot, monkeypatch)
    assert again.window.panels.canvas.show_mode == "rows"
    assert again.window.panels.canvas.snap_mm == 0
    assert not again.window.panels.snap.isChecked()


def test_zoom_buttons_and_their_number(shell):
    panels = shell.window.panels
    shell.window.actions_made["view.true_size"].trigger()
    assert panels.zoom.text() == "100 %"
    shell.press(Qt.Key.Key_Plus)
    assert panels.zoom.text() == "125 %"
    shell.press(Qt.Key.Key_Minus)
    assert panels.zoom.text() == "100 %"


def test_f6_walks_the_parts_of_the_window(shell):
    window = shell.window
    window.panels.list.setFocus()
    seen = []
    for _step in range(4):
        shell.press(Qt.Key.Key_F6, Qt.KeyboardModifier.NoModifier)
        seen.append(QApplication.focusWidget())
    assert seen == [
        window.panels.canvas,
        shell.body.ring,
        window.strip.scope.button("panel"),
        window.panels.list,
    ]


def test_theme_choice_is_kept(shell):
    shell.window.actions_made["view.dark"].trigger()
    assert shell.hub.theme.dark
    assert settings.get("view/theme") == "dark"
    assert shell.window.actions_made["view.dark"].isChecked()


def test_an_empty_costume_offers_the_next_step(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch, new_costume())
    assert shell.window.panels.card.isVisible()
    assert not shell.window.panels.draw.isVisible()
    assert not shell.window.actions_made["panel.duplicate"].isEnabled()
    assert shell.window.strip.cells["rings"].figure.text == "—"
    shell.answers = [str(samples()[0])]
    shell.click(shell.window.panels.sample)
    assert shell.document.project.panels
    assert shell.document.path is None, "a sample must not be saved over"
    assert not shell.window.panels.card.isVisible()


def samples():
    from app.files import sample_files

    return sample_files()


def test_how_opens_beside_the_number_and_closes_with_esc(shell):
    shell.click(shell.body.how)
    sheet = shell.body.how.findChild(Explanation)
    assert sheet.isVisible()
    names = " ".join(w.accessibleName() for w in sheet.findChildren(object) if hasattr(w, "text"))
    assert str(shell.window.strip.cells["rings"].figure.text) in names
    QTest.keyClick(sheet, Qt.Key.Key_Escape)
    assert not sheet.isVisible()


def test_keys_are_listed_from_the_table(shell):
    shell.window.actions_made["help.keys"].trigger()
    sheet = shell.window.header.findChild(Explanation)
    said = [w.accessibleName() for w in sheet.findChildren(object) if hasattr(w, "wordWrap")]
    for action in actions.table():
        if action.shortcut:
            assert any(line.startswith(action.text.rstrip("…")) for line in said), action.id
    sheet.close()


def test_a_first_window_fits_the_screen(shell):
    free = shell.window.screen().availableGeometry()
    fresh = MainWindow(shell.document, shell.hub)
    # The title bar and the borders come on top, and must fit, too.
    assert fresh.height() == min(900, free.height() - 64)
    assert fresh.width() == max(fresh.minimumWidth(), min(1440, free.width() - 16))
    fresh.deleteLater()


def test_a_remembered_window_comes_back_onto_the_screen(shell):
    free = QRect(0, 20, 1366, 748)
    assert within(QRect(100, 50, 1440, 900), free) == free
    assert within(QRect(1300, 700, 800, 600), free) == QRect(566, 168, 800, 600)
    assert within(QRect(-500, -500, 800, 600), free) == QRect(0, 20, 800, 600)
    inside = QRect(10, 30, 1000, 700)
    assert within(inside, free) == inside


@pytest.mark.parametrize("way", ["edit", "esc", "page"])
def test_a_caution_goes_away(shell, way):
    shell.write(shell.body.grain, "abc")
    message = shell.window.header.message
    assert message.caution
    assert message.text().removeprefix("⚠ ")[0] in "“" + string.ascii_uppercase
    if way == "edit":
        shell.document.apply(edits.set_practice("practised"), "practice")
    elif way == "esc":
        QTest.keyClick(shell.window.panels.list, Qt.Key.Key_Escape)
    else:
        shell.click(shell.window.header.pages["rings"])
    assert not message.text()


def test_a_message_begins_with_a_capital(shell):
    shell.window.remarks.warn("wire: no such gauge.")
    assert shell.window.header.message.text() == "⚠ Wire: no such gauge."
    shell.window.remarks.say("saved.")
    assert shell.window.header.message.text() == "Saved."
