"""Keys of the window: who gets a letter, what deletes what, what the sheet of keys says."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QScrollArea

from app.starter import copy_name
from app.widgets.explain import Explanation, explain
from app.widgets.fields import Combo
from tests.app.shell_board import Shell

K = Qt.Key
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch)


@pytest.fixture
def combo(shell):
    made = Combo("Metal", ((1, "Iron"), (2, "Ore"), (3, "Veneer"), (4, "Hide")), shell.window)
    made.resize(120, 26)
    made.show()
    made.setFocus()
    return made


@pytest.mark.parametrize(("letter", "key"), [(K.Key_O, 2), (K.Key_V, 3), (K.Key_H, 4)])
def test_letters_in_a_combo_choose_and_take_no_tool(shell, combo, letter, key):
    QTest.keyClick(combo, letter)
    assert combo.key() == key
    assert shell.window.panels.canvas.tool_name == "select"


def test_letters_in_an_open_combo_take_no_tool(shell, combo):
    combo.showPopup()
    QTest.keyClick(combo.view(), K.Key_O)
    assert shell.window.panels.canvas.tool_name == "select"
    assert combo.view().currentIndex().row() == 1
    combo.hidePopup()


def test_shortcuts_still_work_in_a_combo(shell, combo):
    QTest.keyClick(combo, K.Key_D, CTRL)
    assert len(shell.document.project.panels) == 2


def test_deleting_while_drawing_drops_the_drawing_alone(shell):
    canvas = shell.window.panels.canvas
    panels = shell.document.project.panels
    canvas.set_tool("outline")
    for place in ((0.0, -90.0), (40.0, -90.0), (40.0, -60.0)):
        canvas.tool.add(*place)
    assert shell.document.previewing
    canvas.setFocus()
    QTest.keyClick(canvas, K.Key_Delete, CTRL)
    assert shell.document.project.panels == panels
    assert not shell.document.previewing
    assert not canvas.tool.active
    assert canvas.tool_name == "outline"
    assert shell.document.undo_stack.count() == 0
    canvas.set_tool("select")
    QTest.keyClick(canvas, K.Key_Delete, CTRL)
    assert shell.document.project.panels == ()


def test_a_copy_of_a_copy_is_numbered(shell):
    for _time in range(3):
        shell.press(K.Key_D)
        newest = shell.document.project.panels[-1]
        shell.document.select_panel(newest.id)
    names = [p.name for p in shell.document.project.panels]
    assert names == ["Cape front", "Cape front copy", "Cape front copy 2", "Cape front copy 3"]


@pytest.mark.parametrize(
    ("name", "copied"),
    [("Yoke", "Yoke copy"), ("Yoke copy", "Yoke copy 2"), ("Yoke 2", "Yoke 2 copy")],
)
def test_names_of_copies(shell, name, copied):
    panel = replace(shell.panel, name=name)
    assert copy_name((panel,), name) == copied


def test_the_sheet_of_keys_has_those_of_the_drawing(shell):
    shell.press(K.Key_F1)
    sheet = shell.window.header.findChild(Explanation)
    text = "\n".join(label.text() for label in sheet.findChildren(QLabel))
    for words in (
        *("Arrows", "Shift", "Alt", "Space", "Enter", "Backspace", "Tab", "Delete", "Esc"),
        *(": F\n", ": B\n", ": C\n", ": A or Space", ": +, −, 1, 0", "Ctrl+1", "Ctrl+2"),
    ):
        assert words in text, words
    sheet.close()


@pytest.mark.parametrize("key", [K.Key_Down, K.Key_PageDown])
def test_a_long_sheet_scrolls_by_key_at_once(shell, key):
    sheet = explain(shell.window.header, "Long", tuple(f"Line {n}" for n in range(90)))
    bar = sheet.findChild(QScrollArea).verticalScrollBar()
    shell.qtbot.waitUntil(lambda: bar.maximum() > 0)
    assert bar.value() == 0
    QTest.keyClick(QApplication.focusWidget(), key)
    assert bar.value() > 0
    QTest.keyClick(QApplication.focusWidget(), K.Key_Escape)
    assert not sheet.isVisible()


def test_the_hint_of_drawing_names_its_keys(shell):
    shell.press(K.Key_O, Qt.KeyboardModifier.NoModifier)
    said = shell.remarks[-1][0]
    for word in ("arrows", "A", "Enter", "Backspace"):
        assert word in said.replace(",", "").split(), word
    shell.window.resize(shell.window.minimumSize())
    line = shell.window.header.message
    assert line.text() == said
    assert line.heightForWidth(line.width()) <= line.height(), "both lines are seen whole"
