"""A maker's first evening: draw a panel, watch the count while dragging, save, reopen."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.starter import new_costume
from core import units
from core.estimate import panel_estimate
from tests.app.canvas_board import Hands
from tests.app.shell_board import Shell

CTRL = Qt.KeyboardModifier.ControlModifier
CORNERS = ((-60.0, -40.0), (60.0, -40.0), (70.0, 50.0), (-70.0, 50.0))


class WindowHands(Hands):
    """Hands on the canvas of the whole window."""

    def __init__(self, shell):
        self.document = shell.document
        self.canvas = shell.window.panels.canvas
        self.qtbot = shell.qtbot


def counted(shell):
    shown = shell.document.shown
    return panel_estimate(shown, shown.panel(shell.document.panel_id)).tally


def test_draw_watch_the_count_save_and_reopen(qtbot, monkeypatch, tmp_path):
    shell = Shell(qtbot, monkeypatch, new_costume())
    hands, cells = WindowHands(shell), shell.window.strip.cells

    # Draw: the empty card starts the tool, four clicks and Enter make a panel.
    shell.click(hands.canvas._empty.button)
    assert hands.canvas.tool_name == "outline"
    for corner in CORNERS:
        hands.click(*corner)
    QTest.keyClick(hands.canvas, Qt.Key.Key_Return)
    panel = shell.panel
    assert [(n.x_mm, n.y_mm) for n in panel.outline.rim.nodes] == list(CORNERS)
    settled = counted(shell).total
    assert settled > 0
    assert cells["rings"].figure.text == units.format_count(settled)
    assert shell.window.panels.list.panel_model.rowCount() == 1
    assert shell.body.isVisible()

    # Watch: while a corner is dragged the strip, the inspector and the list follow each move.
    shell.press(Qt.Key.Key_V, Qt.KeyboardModifier.NoModifier)
    hands.press(70.0, 50.0)
    seen = []
    for x in (80.0, 90.0, 110.0):
        hands.move(x, 60.0)
        now = counted(shell).total
        seen.append(now)
        assert cells["rings"].figure.text == units.format_count(now)
        assert cells["rings"].note == f"+{now - settled}"
        assert cells["rings"].changing
        assert shell.body.total.text("all") == units.format_count(now)
        assert units.format_count(now) in shell.window.panels.list.panel_model.count_text(
            shell.document.shown.panels[0]
        )
    assert seen == sorted(seen)
    assert seen[0] > settled, "a larger outline holds more rings"
    hands.release(110.0, 60.0)
    # Released, the rows stay, or are placed anew where more rings lie.
    kept = counted(shell).total
    assert kept >= seen[-1]
    assert not cells["rings"].changing
    # Undo takes the whole drag back, redo makes it again.
    shell.press(Qt.Key.Key_Z)
    assert counted(shell).total == settled
    shell.press(Qt.Key.Key_Z, CTRL | Qt.KeyboardModifier.ShiftModifier)
    assert counted(shell).total == kept

    # Finish: name, edging and a mirrored pair, all where they are shown.
    shell.write(shell.body.name, "Shoulder")
    shell.document.select_edge(shell.panel.outline.rim.nodes[2].id)
    shell.key(shell.body.edges, Qt.Key.Key_F)
    shell.click(shell.body.mirrored)
    assert counted(shell).edge > 0
    assert counted(shell).total == 2 * counted(shell).per_copy

    # Save, close, reopen: equal, and counted alike.
    path = tmp_path / "evening.ringloft"
    shell.answers = [str(path)]
    shell.press(Qt.Key.Key_S)
    saved, rings = shell.document.project, cells["rings"].figure.text
    assert shell.window.close()
    again = Shell(qtbot, monkeypatch, new_costume())
    again.answers = [str(path)]
    again.press(Qt.Key.Key_O)
    assert again.document.project == saved
    assert again.window.strip.cells["rings"].figure.text == rings
    assert again.window.panels.list.currentIndex().data() == "Shoulder"


def test_esc_during_a_drag_restores_every_number(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch)
    hands, cells = WindowHands(shell), shell.window.strip.cells
    before, project = cells["rings"].figure, shell.document.project
    hands.canvas.setFocus()
    hands.press(100.0, 100.0)
    hands.move(140.0, 130.0)
    assert cells["rings"].figure != before
    QTest.keyClick(hands.canvas, Qt.Key.Key_Escape)
    hands.release(140.0, 130.0)
    QApplication.processEvents()
    assert shell.document.project is project
    assert cells["rings"].figure == before


def test_a_line_that_crosses_itself_is_refused_in_words_and_the_panel_stays(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch)
    hands, project = WindowHands(shell), shell.document.project
    hands.drag((100.0, 100.0), (50.0, 50.0), (-60.0, -70.0))
    assert shell.document.project is project
    said = " ".join(text for text, _bad in shell.remarks)
    assert "crosses" in said
    assert not shell.document.dirty
