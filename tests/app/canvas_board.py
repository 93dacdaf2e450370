"""A shown canvas over an invented panel, and hands that press real buttons and keys."""

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.canvas.canvas import Canvas
from app.document import Document
from core.estimate import panel_estimate
from core.outline import Curve, Loop, Node, Outline
from core.panel import EdgeFinish, Panel
from core.project import Project
from core.ring import RingSpec

LEFT = Qt.MouseButton.LeftButton
NONE = Qt.KeyboardModifier.NoModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier

RING = RingSpec(1, "Body", "steel-galvanized", 1.25, 6.0, 6.25)


def square_panel():
    """A 100 mm square, its right side bent, one edge edged; ids 11 to 14, clockwise."""
    rim = Loop(
        (
            Node(11, 0.0, 0.0),
            Node(12, 100.0, 0.0, curve=Curve(10.0, 33.0, 10.0, -33.0)),
            Node(13, 100.0, 100.0),
            Node(14, 0.0, 100.0),
        )
    )
    return Panel(
        2,
        "Cape front",
        Outline(rim),
        1,
        origin_x_mm=50.0,
        origin_y_mm=50.0,
        edges=(EdgeFinish(13, "edged"),),
    )


def costume():
    return Project("Heron guard", (RING,), (square_panel(),), next_id=50)


class Hands:
    """One canvas on the offscreen screen; places are in mm of the panel."""

    def __init__(self, qtbot, project=None, box=None):
        self.document = Document(costume() if project is None else project)
        self.canvas = Canvas(self.document)
        self.said = []
        self.warned = []
        self.canvas.status.connect(self.said.append)
        for heard in (self.said, self.warned):
            self.canvas.caution.connect(heard.append)
        self.qtbot = qtbot
        self.canvas.resize(800, 640)
        if box is None:
            qtbot.addWidget(self.canvas)
        else:
            box.insertWidget(0, self.canvas)
        with qtbot.waitExposed(self.canvas):
            self.canvas.window().show()
        self.canvas.activateWindow()
        self.canvas.setFocus()
        qtbot.waitUntil(self.canvas.hasFocus)

    @property
    def outline(self):
        return self.document.project.panels[0].outline

    def node(self, node_id):
        node = self.outline.node(node_id)
        return node.x_mm, node.y_mm

    def rings(self):
        """How many rings the first panel holds as shown."""
        shown = self.document.shown
        return panel_estimate(shown, shown.panels[0]).tally.per_copy

    def px(self, x_mm, y_mm):
        return QPoint(*(round(v) for v in self.canvas.view.to_px(x_mm, y_mm)))

    def press(self, x, y, held=NONE, button=LEFT):
        QTest.mousePress(self.canvas, button, held, self.px(x, y))

    def move(self, x, y, held=NONE):
        at = QPointF(self.px(x, y))
        event = QMouseEvent(
            QEvent.Type.MouseMove,
            at,
            self.canvas.mapToGlobal(at),
            Qt.MouseButton.NoButton,
            LEFT,
            held,
        )
        QApplication.sendEvent(self.canvas, event)
        # Moves of one frame are taken together; what waits is handed on now.
        self.canvas._flush()

    def release(self, x, y, held=NONE, button=LEFT):
        QTest.mouseRelease(self.canvas, button, held, self.px(x, y))

    def click(self, x, y, held=NONE):
        self.press(x, y, held)
        self.release(x, y, held)

    def double(self, x, y):
        self.click(x, y)
        QTest.mouseDClick(self.canvas, LEFT, NONE, self.px(x, y))

    def drag(self, start, *places, held=NONE):
        self.press(*start, held)
        for place in places:
            self.move(*place, held)
        self.release(*places[-1], held)

    def key(self, key, held=NONE):
        QTest.keyClick(QApplication.focusWidget(), key, held)

    def type(self, text):
        for sign in text:
            QTest.keyClick(QApplication.focusWidget(), sign)

    def wheel(self, x_px, y_px, turn):
        at = QPointF(x_px, y_px)
        event = QWheelEvent(
            at,
            self.canvas.mapToGlobal(at),
            QPoint(),
            QPoint(0, turn),
            Qt.MouseButton.NoButton,
            NONE,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(self.canvas, event)

    def picture(self):
        return self.canvas.grab().toImage()
