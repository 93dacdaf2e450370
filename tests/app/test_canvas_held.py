"""A button held on the canvas whose release goes elsewhere; and the frame that shows the focus."""

import pytest
from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from app.starter import new_costume
from app.widgets.explain import explain
from tests.app.canvas_board import NONE, Hands
from tests.app.shell_board import Shell

K = Qt.Key
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hands(qtbot, caplog):
    window = QWidget()
    qtbot.addWidget(window)
    box = QVBoxLayout(window)
    made = Hands(qtbot, box=box)
    made.other = QLineEdit()
    box.addWidget(made.other)
    yield made
    assert not [r for r in caplog.records if r.levelname == "ERROR"], "a handler failed"


def hover(hands, x, y):
    """Move with no button down."""
    at = QPointF(hands.px(x, y))
    none = Qt.MouseButton.NoButton
    event = QMouseEvent(QEvent.Type.MouseMove, at, hands.canvas.mapToGlobal(at), none, none, NONE)
    QApplication.sendEvent(hands.canvas, event)
    hands.canvas._flush()


def lost_release(hands):
    hover(hands, -30, -30)


def other_part(hands):
    hands.other.setFocus(Qt.FocusReason.TabFocusReason)


def a_sheet(hands):
    explain(hands.canvas, "Keys", ("Undo: Ctrl+Z",))


def hidden(hands):
    hands.canvas.hide()


@pytest.mark.parametrize("loss", [lost_release, other_part, a_sheet, hidden])
@pytest.mark.parametrize("start", [(0, 0), (50, 0), (50, 50)], ids=["point", "line", "box"])
def test_a_drag_ends_when_its_button_is_lost(hands, loss, start):
    hands.press(*start)
    hands.move(start[0] - 20, start[1] - 20)
    loss(hands)
    assert not hands.document.previewing
    assert not hands.canvas.tool.active
    hover(hands, -40, -40)
    assert not hands.document.previewing
    hands.release(-40, -40)
    assert hands.node(11) == (0, 0)
    assert hands.document.undo_stack.count() == 0


def test_a_pan_ends_when_its_button_is_lost(hands):
    hands.press(50, 50, button=Qt.MouseButton.MiddleButton)
    hands.move(60, 60)
    at = hands.canvas.view
    other_part(hands)
    hover(hands, 90, 90)
    assert hands.canvas.view == at


@pytest.mark.parametrize("loss", [lost_release, other_part, a_sheet, hidden])
def test_a_drawing_outlives_a_lost_button(hands, loss):
    hands.canvas.set_tool("outline")
    hands.click(0, -60)
    hands.click(40, -60)
    hands.press(40, -20)
    hands.move(30, -20)
    loss(hands)
    hands.canvas.show()
    bent = hands.canvas.tool.points[-1].out
    hover(hands, 0, -20)
    assert hands.canvas.tool.points[-1].out == bent
    assert len(hands.canvas.tool.points) == 3
    assert hands.document.previewing


def test_typing_a_length_outlives_the_change_of_focus(hands):
    hands.canvas.set_tool("outline")
    hands.click(0, -60)
    hands.type("4")
    card = hands.canvas._cards.length
    assert card.isVisible() and card.fields[0].hasFocus()
    other_part(hands)
    hover(hands, 10, -60)
    assert card.isVisible()
    assert len(hands.canvas.tool.points) == 1


class Paints(QObject):
    """Counts the paintings that reach the frame's place below the rulers."""

    def __init__(self, canvas):
        super().__init__()
        self.count = 0
        canvas.installEventFilter(self)

    def eventFilter(self, canvas, event):  # noqa: N802
        if event.type() == QEvent.Type.Paint:
            self.count += event.region().contains(canvas.rect().center())
        return False


@pytest.mark.parametrize(
    "reason", [Qt.FocusReason.TabFocusReason, Qt.FocusReason.ShortcutFocusReason]
)
def test_coming_back_by_keyboard_paints_the_frame_again(hands, reason):
    hands.key(K.Key_Tab)
    assert hands.canvas.shows_focus
    hands.other.setFocus(reason)
    hands.qtbot.wait(50)
    paints = Paints(hands.canvas)
    hands.canvas.setFocus(reason)
    assert hands.canvas.shows_focus
    hands.qtbot.waitUntil(lambda: paints.count > 0, timeout=1000)


def test_the_frame_is_still_there_after_a_sheet_closes(hands):
    hands.key(K.Key_Tab)
    sheet = explain(hands.canvas, "Keys", ("Undo: Ctrl+Z",))
    QTest.keyClick(sheet, K.Key_Escape)
    hands.canvas.activateWindow()
    hands.qtbot.waitUntil(hands.canvas.hasFocus)
    assert hands.canvas.shows_focus


def test_f6_passes_over_a_list_without_rows(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch, new_costume())
    page = shell.window.panels
    page.canvas.setFocus()
    seen = []
    for _step in range(3):
        shell.press(K.Key_F6, NONE)
        seen.append(QApplication.focusWidget())
    assert page.list not in seen
    assert seen[0] is shell.window.strip.scope.button("panel")
    assert seen[1] is page.canvas
