"""A shown window over an invented costume, with every question answered by the test."""

from PySide6.QtCore import QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import messages
from app.document import Document
from app.main_window import MainWindow
from app.theme import ThemeHub
from core.project import Project
from tests.app.canvas_board import RING, square_panel


def costume():
    """One square panel of body rings."""
    return Project("Heron guard", (RING,), (square_panel(),), next_id=50)


class Shell:
    """The window; `answers` are given to questions in turn, `asked` keeps the questions."""

    def __init__(self, qtbot, monkeypatch, project=None, path=None):
        self.qtbot = qtbot
        self.answers = []
        self.asked = []
        monkeypatch.setattr(messages, "ask", self._answer)
        self.hub = ThemeHub(QApplication.instance(), "light")
        self.document = Document(costume() if project is None else project, path)
        self.window = MainWindow(self.document, self.hub)
        self.remarks = []
        self.window.remarks.said.connect(lambda text, bad: self.remarks.append((text, bad)))
        self.window.resize(1280, 800)
        qtbot.addWidget(self.window, before_close_func=self._settle)
        with qtbot.waitExposed(self.window):
            self.window.show()
        self.window.activateWindow()

    def _answer(self, _parent, question):
        self.asked.append(question)
        return self.answers.pop(0) if self.answers else None

    def _settle(self, _window):
        """Let the window close without asking, and let what was put off be deleted now."""
        self.document.undo_stack.setClean()
        self.hub.deleteLater()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    @property
    def inspector(self):
        return self.window.panels.inspector

    @property
    def body(self):
        return self.inspector.body

    @property
    def panel(self):
        return self.document.project.panel(self.document.panel_id)

    @property
    def cautions(self):
        return [text for text, bad in self.remarks if bad]

    def key(self, widget, key, modifier=Qt.KeyboardModifier.NoModifier):
        widget.setFocus()
        QTest.keyClick(widget, key, modifier)

    def press(self, sequence_key, modifier=Qt.KeyboardModifier.ControlModifier):
        """A key of the window, whatever has the focus."""
        QTest.keyClick(self.window, sequence_key, modifier)

    def click(self, widget):
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton)

    def write(self, field, text, end=Qt.Key.Key_Return):
        """Type over a field and leave it by a key."""
        field.setFocus()
        field.selectAll()
        QTest.keyClicks(field, text)
        QTest.keyClick(field, end)

    def choose(self, combo, key):
        """Choose from a list with the keyboard alone."""
        keys = [k for k, _text in combo._choices]
        combo.setFocus()
        QTest.keyClick(combo, Qt.Key.Key_Home)
        for _step in range(keys.index(key)):
            QTest.keyClick(combo, Qt.Key.Key_Down)
