"""The drawing of the card that checks the size on screen: a card's outline and a ruler's bar."""

from __future__ import annotations

import math
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme as look
from app import true_size
from core.errors import BadValue
from core.texts import _
from core.wire import MM_PER_IN

CARD_MM = (85.60, 53.98)
"""Width and height of a bank card. Source: ISO/IEC 7810, format ID-1."""

CARD_CORNER_MM = 3.18
"""Radius of its corners. Source: ISO/IEC 7810, format ID-1, from memory; only drawn."""

BARS_MM = {
    "mm": (100.0, 50.0, 20.0, 10.0),
    "in": tuple(n * MM_PER_IN for n in (4.0, 2.0, 1.0, 0.5)),
}
"""Lengths of the bar; the longest that fits is drawn."""

TICKS_MM = {
    "mm": (1.0, 5.0, 10.0),
    "in": tuple(MM_PER_IN / n for n in (16.0, 8.0, 4.0, 2.0, 1.0)),
}
"""Steps of the ticks, each a multiple of the one before."""

MARGIN, GAP, BAR_HEIGHT, HANDLE = 20.0, 28.0, 52.0, 10.0
TICK_ROOM_PX = 3.0
SMALLEST = QSize(420, 250)
ROOM_TO_GROW = 1.3

Handle = Literal["card", "bar"]
_Key = Qt.Key
_ARROWS = {_Key.Key_Right: 1, _Key.Key_Up: 1, _Key.Key_Left: -1, _Key.Key_Down: -1}


class TrueSizeSheet(QWidget):
    """Draws both at the scale tried, and lets the hand or the keys change it.

    Signals:
        scaled: hand or keys changed the scale.
        refused: why the keys go no further, a RingloftError.
    """

    scaled = Signal()
    refused = Signal(object)

    def __init__(self, unit: str) -> None:
        super().__init__()
        self._unit = unit
        self._scale = true_size.px_per_mm(self)
        self._held: tuple[Handle, QPointF, float] | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(SMALLEST)
        self.setAccessibleName(_("Card and bar at the size tried"))
        self._describe()

    # --- what is drawn -------------------------------------------------------------------------

    @property
    def scale(self) -> float:
        """Logical pixels a mm."""
        return self._scale

    def put(self, scale: float) -> None:
        """Draw at another scale."""
        self._scale = scale
        self._describe()
        self.update()

    def set_unit(self, unit: str) -> None:
        """Draw the bar in "mm" or "in"."""
        self._unit = unit
        self._describe()
        self.update()

    @property
    def bar_mm(self) -> float:
        """Length of the bar drawn: the longest that fits."""
        if self._held is not None and self._held[0] == "bar":
            return self._held[2]
        room = self.width() - 2 * MARGIN
        lengths = BARS_MM[self._unit]
        return next((mm for mm in lengths if mm * self._scale <= room), lengths[-1])

    @property
    def bar_px(self) -> float:
        """Length of the bar drawn, in logical pixels."""
        return self.bar_mm * self._scale

    def bar_words(self) -> str:
        """Length of the bar, as a ruler has it."""
        if self._unit == "mm":
            return _("{n:g} mm").format(n=self.bar_mm)
        inches = self.bar_mm / MM_PER_IN
        return _("½ in") if inches < 1 else _("{n:g} in").format(n=round(inches))

    def _bar_top(self) -> float:
        return self.height() - BAR_HEIGHT - 8

    def _card_room(self) -> float:
        """The largest scale at which the card can be drawn whole."""
        wide, high = self.width() - 2 * MARGIN, self._bar_top() - MARGIN - GAP
        return max(0.0, min(wide / CARD_MM[0], high / CARD_MM[1]))

    @property
    def card_fits(self) -> bool:
        """Whether there is room for the card."""
        return self._scale <= self._card_room()

    def card_px(self) -> QRectF:
        """Where the card lies."""
        return QRectF(MARGIN, MARGIN, CARD_MM[0] * self._scale, CARD_MM[1] * self._scale)

    def handle_px(self, handle: Handle) -> QRectF:
        """The square to drag, just outside what it sizes, where no real card covers it."""
        if handle == "card":
            corner = self.card_px().bottomRight()
            return QRectF(corner.x() + 1, corner.y() + 1, HANDLE, HANDLE)
        x = MARGIN + self.bar_px
        return QRectF(x + 4, self._bar_top() + 4, HANDLE, HANDLE)

    def sizeHint(self) -> QSize:
        """Room for both, and to grow."""
        wide = max(CARD_MM[0], BARS_MM[self._unit][0]) * self._scale * ROOM_TO_GROW
        high = CARD_MM[1] * self._scale * ROOM_TO_GROW + GAP + BAR_HEIGHT + 8
        return QSize(math.ceil(max(640.0, wide + 2 * MARGIN)), math.ceil(high + MARGIN))

    def _describe(self) -> None:
        self.setAccessibleDescription(
            _(
                "1 mm is {n:.3f} pixels. Right and Up make it larger, Left and Down smaller;"
                " Shift ten steps, Alt a tenth. Enter uses it."
            ).format(n=self._scale)
        )

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Ground, card, bar, handles, and the frame that shows the keyboard's place."""
        theme = look.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        focus = self.hasFocus()
        width = 2.0 if focus else 1.0
        painter.setPen(QPen(theme.accent if focus else theme.line2, width))
        painter.setBrush(theme.canvas)
        half = width / 2
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(half, half, -half, -half), 4, 4)
        self._paint_card(painter, theme)
        self._paint_bar(painter, theme)
        painter.setPen(QPen(theme.accent, 1.5))
        painter.setBrush(theme.field)
        for handle in self._handles():
            painter.drawRect(self.handle_px(handle).adjusted(0.75, 0.75, -0.75, -0.75))
        painter.end()

    def _paint_card(self, painter: QPainter, theme: look.Theme) -> None:
        painter.setFont(look.font(look.PX_UNIT))
        if not self.card_fits:
            painter.setPen(theme.ink2)
            box = QRectF(MARGIN, MARGIN, self.width() - 2 * MARGIN, self._bar_top() - MARGIN - GAP)
            words = _("A card does not fit here: use the bar.")
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
            return
        card, line = self.card_px(), 1.5
        painter.setPen(QPen(theme.ink, line))
        painter.setBrush(theme.field)
        radius = CARD_CORNER_MM * self._scale - line / 2
        # The outer edge of the line is the card's edge.
        inner = card.adjusted(line / 2, line / 2, -line / 2, -line / 2)
        painter.drawRoundedRect(inner, radius, radius)
        painter.setPen(theme.ink2)
        words = _("Bank card") + "\n" + _("85.60 × 53.98 mm")
        room = painter.fontMetrics().horizontalAdvance(_("85.60 × 53.98 mm")) + 16
        if card.width() >= room:
            painter.drawText(card, Qt.AlignmentFlag.AlignCenter, words)

    def _paint_bar(self, painter: QPainter, theme: look.Theme) -> None:
        top, bar = self._bar_top(), self.bar_mm
        steps = [s for s in TICKS_MM[self._unit] if s * self._scale >= TICK_ROOM_PX]
        painter.setPen(QPen(theme.ink, 1.0))
        base = top + 18
        painter.drawLine(QPointF(MARGIN, base), QPointF(MARGIN + self.bar_px, base))
        for rank, step in enumerate(steps):
            length = 18.0 * (rank + 1) / len(steps)
            for n in range(round(bar / step) + 1):
                x = MARGIN + n * step * self._scale
                painter.drawLine(QPointF(x, base), QPointF(x, base - length))
        for x in (MARGIN, MARGIN + self.bar_px):
            painter.drawLine(QPointF(x, top), QPointF(x, base + 6))
        painter.setFont(look.font(look.PX_LABEL))
        painter.setPen(theme.ink2)
        whole = TICKS_MM[self._unit][-1]
        per = 10.0 / whole if self._unit == "mm" else 1 / whole
        skip = 1 if whole * self._scale >= 26 else 5
        for n in range(0, math.floor(bar / whole + 1e-9) + 1, skip):
            x = MARGIN + n * whole * self._scale
            if MARGIN + self.bar_px - x > 34:
                box = QRectF(x - 20, base + 6, 40, 16)
                painter.drawText(box, Qt.AlignmentFlag.AlignHCenter, f"{n * whole * per:g}")
        painter.setPen(theme.ink)
        end = QRectF(MARGIN + self.bar_px - 40, base + 6, 80, 16)
        painter.drawText(end, Qt.AlignmentFlag.AlignHCenter, self.bar_words())

    # --- hand ----------------------------------------------------------------------------------

    def _handles(self) -> tuple[Handle, ...]:
        return ("card", "bar") if self.card_fits else ("bar",)

    def _handle_at(self, place: QPointF) -> Handle | None:
        for handle in self._handles():
            if self.handle_px(handle).adjusted(-6, -6, 6, 6).contains(place):
                return handle
        return None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a handle."""
        handle = self._handle_at(event.position())
        if event.button() != Qt.MouseButton.LeftButton or handle is None:
            event.ignore()
            return
        bar = self.bar_mm
        corner = self.card_px().bottomRight()
        end = corner if handle == "card" else QPointF(MARGIN + self.bar_px, 0)
        self._held = (handle, event.position() - end, bar)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand, as far as there is room."""
        if self._held is None:
            handle = self._handle_at(event.position())
            shapes = {"card": Qt.CursorShape.SizeFDiagCursor, "bar": Qt.CursorShape.SizeHorCursor}
            self.setCursor(shapes[handle] if handle else Qt.CursorShape.ArrowCursor)
            return
        handle, grip, bar = self._held
        to = event.position() - grip - QPointF(MARGIN, MARGIN)
        if handle == "card":
            wide, high = CARD_MM
            wanted = (to.x() * wide + to.y() * high) / (wide * wide + high * high)
            room = self._card_room()
        else:
            wanted, room = to.x() / bar, (self.width() - 2 * MARGIN) / bar
        low, high_limit = true_size.LIMITS_PX_PER_MM
        self._set(max(low, min(high_limit, room, wanted)))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if event.button() == Qt.MouseButton.LeftButton and self._held is not None:
            self._held = None
            self.update()

    # --- keys ----------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The arrows size by a pixel of the screen along the bar; Shift ten, Alt a tenth."""
        way = _ARROWS.get(_Key(event.key()))
        if way is None:
            super().keyPressEvent(event)
            return
        step = 1.0 / self.devicePixelRatioF() / self.bar_mm
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            step *= 10
        elif event.modifiers() & Qt.KeyboardModifier.AltModifier:
            step /= 10
        try:
            self._set(true_size.check_scale(self._scale + way * step))
        except BadValue as error:
            self.refused.emit(error)

    def _set(self, scale: float) -> None:
        if scale != self._scale:
            self.put(scale)
            self.scaled.emit()
