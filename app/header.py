"""The bar under the menus: pages, the message line, the saved state, undo and redo, the unit."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QAction,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from app import theme as look
from app.widgets.segment import Segment
from core.texts import _

HEIGHT = 44


def action_button(action: QAction, parent: QWidget | None = None) -> QToolButton:
    """A flat button for an action, shown by its icon."""
    button = QToolButton(parent)
    button.setDefaultAction(action)
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)
    button.setAccessibleName(action.text().replace("&", "").rstrip("…"))
    button.setFixedSize(look.CONTROL_HEIGHT + 2, look.CONTROL_HEIGHT + 2)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    return button


class MessageLine(QLabel):
    """Two lines at most; cautions carry the triangle and their own ground."""

    def __init__(self) -> None:
        super().__init__()
        self.setFont(look.font(look.PX_UNIT))
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        self.setIndent(8)
        self.setAccessibleName(_("Message"))
        self._caution = False

    @property
    def caution(self) -> bool:
        """Whether what is shown is a caution."""
        return self._caution

    def show_text(self, text: str, caution: bool) -> None:
        """Show a remark or a caution; an empty text clears the line."""
        kind = ("caution" if caution else "remark") if text else ""
        self._caution = caution and bool(text)
        if self.property("kind") != kind:
            self.setProperty("kind", kind)
            self.style().unpolish(self)
            self.style().polish(self)
        self.setText(f"⚠ {text}" if self._caution else text)
        self.setToolTip(text)
        if text and text != self.accessibleDescription() and QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))
        self.setAccessibleDescription(text)


class Header(QWidget):
    """The bar every page has.

    Signals:
        page_chosen: a page's id.
        unit_chosen: "mm" or "in".
    """

    page_chosen = Signal(str)
    unit_chosen = Signal(str)

    def __init__(self, pages: tuple[tuple[str, str], ...], undo: QAction, redo: QAction) -> None:
        super().__init__()
        self.setFixedHeight(HEIGHT)
        self.setAccessibleName(_("Pages"))
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 16, 1)
        row.setSpacing(0)
        group = QButtonGroup(self)
        group.setExclusive(True)
        self.pages: dict[str, QToolButton] = {}
        for at, (key, text) in enumerate(pages, start=1):
            button = QToolButton()
            button.setText(text)
            button.setFont(look.font(look.PX_TAB))
            button.setCheckable(True)
            button.setProperty("kind", "page")
            button.setAccessibleName(_("{page} page").format(page=text))
            button.setToolTip(_("{page} (Ctrl+{n})").format(page=text, n=at))
            button.setFixedHeight(HEIGHT - 1)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(lambda _on=False, key=key: self.page_chosen.emit(key))
            group.addButton(button)
            self.pages[key] = button
            row.addWidget(button)
        row.addSpacing(16)
        self.message = MessageLine()
        self.message.setFixedHeight(34)
        row.addWidget(self.message, 1)
        row.addSpacing(16)
        self.saved = QLabel()
        self.saved.setFont(look.font(look.PX_UNIT))
        self.saved.setProperty("kind", "note")
        self.saved.setAccessibleName(_("Saved state"))
        row.addWidget(self.saved)
        row.addSpacing(12)
        self.undo, self.redo = action_button(undo), action_button(redo)
        row.addWidget(self.undo)
        row.addWidget(self.redo)
        row.addSpacing(12)
        self.unit = Segment(_("Unit"), (("mm", _("mm")), ("in", _("in"))))
        self.unit.chosen.connect(self.unit_chosen)
        row.addWidget(self.unit)

    def put_saved(self, text: str) -> None:
        """Say whether everything is saved."""
        self.saved.setText(text)
        self.saved.setAccessibleDescription(text)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Panel ground with a hairline under it."""
        theme = look.current()
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.panel)
        painter.fillRect(0, self.height() - 1, self.width(), 1, theme.line)
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In a narrow window the saved state gives way to the message."""
        super().resizeEvent(event)
        self.saved.setVisible(self.width() >= 900)
