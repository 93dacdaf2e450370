"""Small cards on the canvas for numbers typed at the pointer: a place, or a length and an angle.

Enter takes what was typed, Esc drops it, Tab goes to the other field. A card never changes the
document itself; it hands numbers to whoever opened it.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QLineEdit, QWidget

from core.errors import RingloftError
from core.texts import _
from core.units import format_angle, format_length, parse_angle, parse_length

FIELD_WIDTH = 112


class Card(QFrame):
    """Two labelled fields; `entered` carries their texts.

    Signals:
        entered: Enter was pressed; the texts of both fields.
        edited: something was typed; the texts of both fields.
        dropped: Esc was pressed.
    """

    entered = Signal(str, str)
    edited = Signal(str, str)
    dropped = Signal()

    def __init__(self, parent: QWidget, name: str, labels: tuple[tuple[str, str], ...]) -> None:
        """Args:
        parent: the canvas.
        name: accessible name of the card.
        labels: for each field its label and its accessible name.
        """
        super().__init__(parent)
        self._board = parent
        self.setProperty("kind", "sheet")
        self.setAccessibleName(name)
        grid = self._grid = QGridLayout(self)
        grid.setContentsMargins(10, 8, 10, 8)
        grid.setSpacing(6)
        self.fields: list[QLineEdit] = []
        for row, (text, accessible) in enumerate(labels):
            caption = QLabel(text, self)
            caption.setProperty("kind", "note")
            field = QLineEdit(self)
            field.setFixedWidth(FIELD_WIDTH)
            field.setAccessibleName(accessible)
            field.textEdited.connect(self._typed)
            field.returnPressed.connect(self._enter)
            caption.setBuddy(field)
            grid.addWidget(caption, row, 0)
            grid.addWidget(field, row, 1)
            self.fields.append(field)
        self.hide()

    def texts(self) -> tuple[str, str]:
        """What the fields hold."""
        return self.fields[0].text(), self.fields[1].text()

    def set_bad(self, field: int | None, why: str = "") -> None:
        """Mark a field as wrong, with the reason for those who cannot see the mark; or none."""
        for i, edit in enumerate(self.fields):
            bad = i == field
            if bool(edit.property("bad")) != bad:
                edit.setProperty("bad", bad)
                edit.style().unpolish(edit)
                edit.style().polish(edit)
            edit.setAccessibleDescription(why if bad else "")

    def open_at(self, at: QPoint, texts: tuple[str, str], *, focus: bool) -> None:
        """Show the card near a place, inside its parent.

        Args:
            at: pixel place in the parent; the card stands below and to its right.
            texts: what the fields show.
            focus: take the keyboard, for typing over the first field at once.
        """
        for edit, text in zip(self.fields, texts, strict=True):
            edit.setText(text)
            edit.setReadOnly(not focus)
            edit.setFocusPolicy(Qt.FocusPolicy.StrongFocus if focus else Qt.FocusPolicy.NoFocus)
        self.set_bad(None)
        size = self._size()
        self.resize(size)
        room = self._board.size()
        x, y = at.x() + 18, at.y() + 18
        if x + size.width() > room.width():
            x = at.x() - 18 - size.width()
        if y + size.height() > room.height():
            y = at.y() - 18 - size.height()
        x, y = min(x, room.width() - size.width()), min(y, room.height() - size.height())
        self.move(max(0, x), max(0, y))
        # Under the pointer of a running drag the card must not catch the mouse.
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents, not focus)
        self.show()
        self.raise_()
        if focus:
            self.fields[0].setFocus(Qt.FocusReason.OtherFocusReason)
            self.fields[0].selectAll()

    def _size(self) -> QSize:
        self._grid.activate()
        return self.sizeHint()

    def _typed(self, _text: str) -> None:
        self.set_bad(None)
        self.edited.emit(*self.texts())

    def _enter(self) -> None:
        self.entered.emit(*self.texts())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc drops; every other key stays here."""
        if event.key() == Qt.Key.Key_Escape:
            self.dropped.emit()
        event.accept()

    def event(self, event: QEvent) -> bool:
        """Keep Esc and Enter for the card when the window has shortcuts for them."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Return, Qt.Key.Key_Enter)
        ):
            event.accept()
            return True
        return super().event(event)

    def focusNextPrevChild(self, _next: bool) -> bool:  # noqa: N802
        """Tab goes round the card's two fields."""
        other = self.fields[0] if self.fields[1].hasFocus() else self.fields[1]
        other.setFocus(Qt.FocusReason.TabFocusReason)
        other.selectAll()
        return True

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A click beside the fields is not one on the canvas."""
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """See `mousePressEvent`."""
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """See `mousePressEvent`."""
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """See `mousePressEvent`."""
        event.accept()

    def read(self, parsers: tuple[Callable[[str], float], ...]) -> tuple[float, float] | str:
        """Both numbers, or the sentence that says what is wrong with the first bad field."""
        found = []
        for i, (text, parse) in enumerate(zip(self.texts(), parsers, strict=True)):
            try:
                found.append(parse(text))
            except RingloftError as error:
                self.set_bad(i, str(error))
                return str(error)
        return found[0], found[1]


def place_card(parent: QWidget) -> Card:
    """A card for x and y."""
    return Card(
        parent,
        _("Place of the point"),
        ((_("x"), _("x, to the right")), (_("y"), _("y, downward"))),
    )


def length_card(parent: QWidget) -> Card:
    """A card for the length and the angle of the next line."""
    return Card(
        parent,
        _("Next line"),
        (
            (_("Length"), _("Length of the next line")),
            (_("Angle"), _("Angle of the next line, clockwise from the right")),
        ),
    )


def place_texts(x_mm: float, y_mm: float, unit: str) -> tuple[str, str]:
    """The two coordinates as shown, in the maker's unit."""
    places = 3 if unit == "in" else 1
    return format_length(x_mm, unit, places), format_length(y_mm, unit, places)


def read_place(card: Card, unit: str) -> tuple[float, float] | str:
    """X and y in mm as typed, with any unit; or what is wrong."""

    def parse(text: str) -> float:
        return parse_length(text, unit, signed=True, where=_("place"))

    return card.read((parse, parse))


def read_line(card: Card, unit: str) -> tuple[float, float] | str:
    """Length in mm and angle in degrees as typed; or what is wrong."""
    return card.read(
        (
            lambda text: parse_length(text, unit, where=_("length")),
            lambda text: parse_angle(text, where=_("angle")),
        )
    )


def line_texts(length_text: str, angle_deg: float) -> tuple[str, str]:
    """What a length card opens with."""
    return length_text, format_angle(angle_deg, 1)
