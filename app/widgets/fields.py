"""Fields that know their unit: one line to type in, the unit shown at its right end.

Any unit may be typed. Enter or leaving the field commits, Esc restores, Up and Down (and the
wheel, when the field has the focus) step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from PySide6.QtCore import QEvent, QRect, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetrics,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QComboBox,
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionComboBox,
    QStyleOptionViewItem,
    QStylePainter,
    QWidget,
)

from app import theme as look
from app.widgets.lists import Index
from core import units
from core.errors import RingloftError

T = TypeVar("T")

LIST_LINE, LIST_LINES = 26, 16


@dataclass(frozen=True, slots=True)
class Quantity:
    """How a kind of number is read and shown.

    Attributes:
        read: from text and the unit shown to the value; raises RingloftError with words.
        show: from the value and the unit shown to text without the unit.
        unit: from "mm" or "in" to the unit at the field's right end.
        step: how far Up and Down go, in the value's own unit.
    """

    read: Callable[[str, str], float]
    show: Callable[[float, str], str]
    unit: Callable[[str], str]
    step: float = 1.0


def _bare(text: str) -> str:
    return text.rsplit(units.SPACE, 1)[0]


def _show_length(mm: float, unit: str) -> str:
    places = None if unit == "in" else 2
    text = _bare(units.format_length(mm, unit, places))
    if unit != "in" and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text


LENGTH = Quantity(
    lambda text, unit: units.parse_length(text, unit),
    _show_length,
    lambda unit: unit,
    step=0.1,
)
ANGLE = Quantity(
    lambda text, _unit: units.parse_angle(text),
    lambda value, _unit: f"{value:.2f}".rstrip("0").rstrip(".").replace("-", units.MINUS),
    lambda _unit: "°",
    step=5.0,
)


def wire_length() -> Quantity:
    """Metres of wire, or feet."""

    def read(text: str, unit: str) -> float:
        return units.parse_length(text, "ft" if unit == "in" else "m")

    def show(mm: float, unit: str) -> str:
        return f"{mm / (units.MM_PER_FT if unit == 'in' else 1000.0):.2f}".rstrip("0").rstrip(".")

    return Quantity(read, show, lambda unit: "ft" if unit == "in" else "m", 1000.0)


def mass() -> Quantity:
    """Mass of wire, in g or lb."""
    return Quantity(
        lambda text, unit: units.parse_mass(text, "lb" if unit == "in" else "g"),
        lambda value, unit: (
            f"{value / units.G_PER_OZ / 16:.3f}".rstrip("0").rstrip(".")
            if unit == "in"
            else f"{value:.1f}".rstrip("0").rstrip(".")
        ),
        lambda unit: "lb" if unit == "in" else "g",
        10.0,
    )


def count(low: int, high: int) -> Quantity:
    """A whole number."""
    return Quantity(
        lambda text, _unit: float(units.parse_count(text, low, high)),
        lambda value, _unit: f"{value:.0f}",
        lambda _unit: "",
    )


class TextField(QLineEdit):
    """A line to type in that commits once: on Enter, or when left with a changed text.

    Signals:
        committed: the new text.
    """

    committed = Signal(str)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self._kept = ""
        self._hint = ""
        self.returnPressed.connect(self._commit)

    def put(self, text: str) -> None:
        """Show a text, unless the maker is typing another one."""
        if self._kept == text and not self.bad:
            return
        typing = self.hasFocus() and self.text() != self._kept
        self._kept = text
        if not typing or self.bad:
            self.setText(text)
            self.set_bad(False)
            self.setCursorPosition(0)

    @property
    def bad(self) -> bool:
        """Whether what stands in the field was refused."""
        return bool(self.property("bad"))

    def set_bad(self, bad: bool) -> None:
        """Mark the field as refused, or not."""
        if bad != self.bad:
            self.setProperty("bad", bad)
            self.style().unpolish(self)
            self.style().polish(self)

    def restore(self) -> None:
        """Show the last good text."""
        self.setText(self._kept)
        self.set_bad(False)

    def put_hint(self, text: str) -> None:
        """Say a little more at the right end, as long as the line leaves room for it."""
        if text != self._hint:
            self._hint = text
            self.setAccessibleDescription(text)
            self.update()

    @property
    def hint_fits(self) -> bool:
        """Whether the hint is shown beside what stands in the line."""
        small = QFontMetrics(look.font(look.PX_UNIT))
        taken = self.fontMetrics().horizontalAdvance(self.text())
        return taken + small.horizontalAdvance(self._hint) + 26 <= self.width()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The line, then the hint at its right end."""
        super().paintEvent(event)
        if self._hint and self.hint_fits:
            self.paint_end(self._hint)

    def paint_end(self, text: str) -> None:
        """Paint a few words at the right end."""
        theme = look.current()
        painter = QPainter(self)
        painter.setFont(look.font(look.PX_UNIT))
        painter.setPen(theme.ink2 if self.isEnabled() else theme.ink3)
        box = QRect(0, 0, self.width() - 9, self.height())
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
        painter.end()

    def event(self, event: QEvent) -> bool:
        """Undo and redo belong to the costume unless something is being typed."""
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and self.text() == self._kept
            and (
                event.matches(QKeySequence.StandardKey.Undo)
                or event.matches(QKeySequence.StandardKey.Redo)
            )
        ):
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc restores what stood there."""
        if event.key() == Qt.Key.Key_Escape and (self.text() != self._kept or self.bad):
            self.restore()
            self.selectAll()
            event.accept()
            return
        super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Leaving commits what was typed."""
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self._commit()
        super().focusOutEvent(event)

    def _commit(self) -> None:
        # A refused field is read again even with its old text, so that its mark goes.
        if self.text() != self._kept or self.bad:
            self._take(self.text())

    def _take(self, text: str) -> None:
        self._kept = text
        self.committed.emit(text)


class CheckedField(TextField):
    """A text that must be understood; one that is not is marked and stays to be mended.

    Signals:
        refused: why the text cannot be used.
    """

    refused = Signal(object)

    def __init__(self, name: str, check: Callable[[str], object]) -> None:
        super().__init__(name)
        self._check = check

    def _take(self, text: str) -> None:
        try:
            self._check(text)
        except RingloftError as error:
            self.set_bad(True)
            self.refused.emit(error)
            return
        self.set_bad(False)
        super()._take(text)


class QuantityField(TextField):
    """A number with its unit.

    Signals:
        valued: the new value, in mm, g, degrees or as a count; None when emptied and optional.
        refused: why the text cannot be used.
    """

    valued = Signal(object)
    refused = Signal(object)

    def __init__(
        self,
        name: str,
        quantity: Quantity,
        parent: QWidget | None = None,
        optional: bool = False,
    ) -> None:
        super().__init__(name, parent)
        self._quantity = quantity
        self._optional = optional
        self._unit = "mm"
        self._value: float | None = None
        self._margin()

    @property
    def value(self) -> float | None:
        """The last good value."""
        return self._value

    def use(self, quantity: Quantity) -> None:
        """Read and show another kind of number from now on."""
        self._quantity = quantity
        self._margin()

    def show_value(self, value: float | None, unit: str | None = None) -> None:
        """Show a value in the unit of the costume ("mm" or "in")."""
        if unit is not None and unit != self._unit:
            self._unit = unit
            self._margin()
        self._value = value
        self.put("" if value is None else self._quantity.show(value, self._unit))

    def read(self) -> float | None:
        """The value of what stands in the field now; raises RingloftError when it is none."""
        text = self.text().strip()
        if not text and self._optional:
            return None
        if text == self._kept and self._value is not None and not self.bad:
            return self._value
        return self._quantity.read(text, self._unit)

    def refuse(self, error: RingloftError) -> None:
        """Mark the field and say why; the text stays to be mended."""
        self.set_bad(True)
        self.refused.emit(error)

    def _margin(self) -> None:
        unit = self._quantity.unit(self._unit)
        room = QFontMetrics(look.font(look.PX_UNIT)).horizontalAdvance(unit) + 8 if unit else 0
        self.setTextMargins(0, 0, room, 0)
        self.update()

    def _take(self, text: str) -> None:
        try:
            value = self.read()
        except RingloftError as error:
            self.refuse(error)
            return
        self.set_bad(False)
        self._value = value
        # Shown as it will be shown from now on, so that the same text is not committed twice.
        self._kept = "" if value is None else self._quantity.show(value, self._unit)
        self.setText(self._kept)
        self.valued.emit(value)

    def step(self, times: float) -> None:
        """Go up or down by the field's step."""
        try:
            value = self.read()
        except RingloftError:
            return
        if value is None:
            return
        self.setText(self._quantity.show(value + times * self._quantity.step, self._unit))
        self._commit()
        self.selectAll()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down step; Shift ten times as far."""
        way = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}.get(Qt.Key(event.key()))
        if way is None or self.isReadOnly():
            super().keyPressEvent(event)
            return
        self.step(way * (10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1))
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel steps a field that has the focus, and scrolls the page otherwise."""
        turns = event.angleDelta().y() / 120.0
        if not self.hasFocus() or not turns:
            event.ignore()
            return
        self.step(turns)
        event.accept()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The line, then the unit at its right end."""
        super().paintEvent(event)
        unit = self._quantity.unit(self._unit)
        if unit:
            self.paint_end(unit)


class _ListLines(QStyledItemDelegate):
    """Lines of a drop-down list, of one height before the sheet has reached them as after.

    The style's own delegate draws a menu, which the sheet does not reach.
    """

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """One line."""
        return QSize(super().sizeHint(option, index).width(), LIST_LINE)


class Combo(QComboBox):
    """A list to choose from, by key; the wheel changes it only when it has the focus.

    Signals:
        chosen: the key the maker chose.

    Attributes:
        line_height: of each line of the open list, px.
        picture_width: room for what is painted before a line's words, px.
    """

    chosen = Signal(object)
    line_height = LIST_LINE
    picture_width = 0

    def __init__(
        self,
        name: str,
        choices: Iterable[tuple[object, str]] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(6)
        self.setItemDelegate(_ListLines(self))
        self.setMaxVisibleItems(LIST_LINES)
        self._choices: tuple[tuple[object, str], ...] = ()
        self.set_choices(tuple(choices))
        self.activated.connect(lambda at: self.chosen.emit(self._choices[at][0]))

    def set_choices(self, choices: tuple[tuple[object, str], ...]) -> bool:
        """Offer other choices, the current one kept when among them; whether they differ."""
        if choices == self._choices:
            return False
        now = self.key()
        self._choices = choices
        self.clear()
        self.addItems([text for _key, text in choices])
        self.put(now)
        return True

    def key(self) -> object:
        """The key shown."""
        at = self.currentIndex()
        return self._choices[at][0] if 0 <= at < len(self._choices) else None

    def put(self, key: object) -> None:
        """Show a choice without emitting `chosen`."""
        keys = [k for k, _text in self._choices]
        at = keys.index(key) if key in keys else -1
        if at != self.currentIndex():
            self.setCurrentIndex(at)

    def event(self, event: QEvent) -> bool:
        """Letters go to a line that begins with them before the window's shortcuts see them."""
        plain = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and not event.modifiers() & ~plain
            and event.text().isprintable()
            and event.text()
        ):
            event.accept()
            return True
        return super().event(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scrolling past must not change anything."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """The frame, then the text, shortened with an ellipsis when it is too long."""
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        room = self.width() - 40
        elide = Qt.TextElideMode.ElideRight
        option.currentText = option.fontMetrics.elidedText(option.currentText, elide, room)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        painter.end()

    def showPopup(self) -> None:
        """Open the list as wide as its longest line and exactly as high as its lines."""
        super().showPopup()
        if not self.count():
            return
        metrics, view = self.fontMetrics(), self.view()
        widest = max(metrics.horizontalAdvance(self.itemText(i)) for i in range(self.count()))
        sheet = view.window()
        frame = sheet.height() - view.viewport().height()
        lines = min(self.count(), self.maxVisibleItems())
        free = self.screen().availableGeometry()
        height = min(lines * self.line_height + frame, free.height())
        width = min(max(self.width(), widest + 40 + self.picture_width), free.width())
        under = self.mapToGlobal(self.rect().bottomLeft()).y() + 1
        above = self.mapToGlobal(self.rect().topLeft()).y() - height
        fits = under + height <= free.bottom() + 1
        top = under if fits else max(free.top(), above)
        left = min(self.mapToGlobal(self.rect().topLeft()).x(), free.right() + 1 - width)
        sheet.setGeometry(max(free.left(), left), top, width, height)
        view.scrollTo(self.model().index(self.currentIndex(), self.modelColumn()))
