"""How a number came about: a small sheet that opens beside it."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from app import theme as look
from core.texts import _

WIDTH = 400
TALLEST = 0.7
"""Share of the screen the sheet may take before it scrolls."""


class Explanation(QFrame):
    """Sentences on a small sheet; Esc or a click elsewhere closes it."""

    def __init__(self, title: str, lines: tuple[str, ...], parent: QWidget) -> None:
        super().__init__(parent, Qt.WindowType.Popup)
        self.setProperty("kind", "sheet")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setAccessibleName(title)
        self.setFixedWidth(WIDTH)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(1, 12, 1, 12)
        head = QLabel(title, self)
        head.setFont(look.font(look.PX_BODY, bold=True))
        head.setContentsMargins(16, 0, 16, 4)
        outer.addWidget(head)
        area = QScrollArea(self)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setAccessibleName(title)
        body = QWidget(area)
        body.setProperty("kind", "panel")
        column = QVBoxLayout(body)
        column.setContentsMargins(16, 0, 16, 0)
        column.setSpacing(8)
        for line in lines:
            label = QLabel(line, body)
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
            label.setTextInteractionFlags(
                Qt.TextInteractionFlag.TextSelectableByMouse
                | Qt.TextInteractionFlag.TextSelectableByKeyboard
            )
            label.setAccessibleName(line)
            column.addWidget(label)
        area.setWidget(body)
        # The keys scroll at once, and Esc still reaches the sheet.
        self.setFocusProxy(area)
        outer.addWidget(area)
        inner = WIDTH - 2
        height = column.heightForWidth(inner) if column.hasHeightForWidth() else 200
        highest = round(parent.screen().availableGeometry().height() * TALLEST)
        area.setFixedHeight(min(highest, height + 4))


def explain(beside: QWidget, title: str, lines: tuple[str, ...]) -> Explanation:
    """Open the sheet beside a widget, on the screen's free side."""
    sheet = Explanation(title, lines or (_("Nothing to explain yet."),), beside)
    sheet.adjustSize()
    screen = beside.screen().availableGeometry()
    corner = beside.mapToGlobal(QPoint(0, beside.height() + 4))
    if corner.y() + sheet.height() > screen.bottom():
        corner.setY(beside.mapToGlobal(QPoint(0, 0)).y() - sheet.height() - 4)
    corner.setX(max(screen.left(), min(corner.x(), screen.right() - sheet.width())))
    corner.setY(max(screen.top(), corner.y()))
    sheet.move(corner)
    sheet.show()
    sheet.setFocus()
    return sheet
