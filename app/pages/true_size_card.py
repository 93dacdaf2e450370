"""Check the size on screen: fit a drawn card or bar to a real card or ruler, once a screen."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app import true_size
from app.document import Document
from app.pages.ring_cards import keep_room
from app.pages.true_size_sheet import TrueSizeSheet
from app.true_size import TrueScale
from app.widgets.fields import LENGTH, QuantityField
from app.widgets.segment import Segment
from core.errors import BadValue, RingloftError
from core.texts import _

WIDEST_PX, FRAME_PX = 1100, (32, 80)
"""How wide the window opens, and the room to leave round it for the system's frame."""


def state_words(scale: TrueScale) -> str:
    """Whether the size on this screen has been checked, in one line."""
    return {
        "checked": _("The size on this screen has been checked."),
        "screen": _("Not checked yet: the size is what the screen says of itself."),
        "system": _("Not checked yet: the screen does not know its size, so this is a guess."),
    }[scale.origin]


class _MeasureField(QuantityField):
    """Enter takes the measure only; what comes of it wants to be seen before it is used."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keep Enter from the window's default button."""
        super().keyPressEvent(event)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.accept()


class TrueSizeCard(QDialog):
    """A card and a bar to fit; nothing is kept until it is used."""

    def __init__(self, parent: QWidget, unit: str) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(_("Check the size on screen"))
        self._told = true_size.facts(parent.screen())
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 16, 24, 16)
        column.setSpacing(12)
        self.state = QLabel()
        self.state.setFont(look.font(look.PX_BODY, bold=True))
        column.addWidget(self.state)
        how = QLabel(
            _(
                "Lay a bank card on the outline, or a ruler along the bar."
                " Drag a handle or use the arrow keys until it fits,"
                " or type what the ruler reads."
            )
        )
        how.setWordWrap(True)
        column.addWidget(how)
        self.sheet = TrueSizeSheet(unit)
        self.sheet.scaled.connect(self._scaled)
        self.sheet.refused.connect(self._refuse)
        column.addWidget(self.sheet, 1)
        self.tried = QLabel()
        self.tried.setProperty("kind", "note")
        self.tried.setFont(look.font(look.PX_UNIT))
        self.tried.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        column.addWidget(self.tried)
        column.addLayout(self._measure_row(unit))
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "caution")
        self.trouble.setWordWrap(True)
        self.trouble.setTextFormat(Qt.TextFormat.PlainText)
        keep_room(self.trouble, padding_px=12)
        self.trouble.hide()
        column.addWidget(self.trouble)
        column.addLayout(self._buttons())
        true_size.hub().watch(self)
        true_size.hub().changed.connect(self._follow)
        self.try_scale(true_size.scale_of(self._told).px_per_mm)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)
        free = parent.screen().availableGeometry()
        hint = self.sizeHint()
        self.resize(
            min(hint.width(), WIDEST_PX, free.width() - FRAME_PX[0]),
            min(hint.height(), free.height() - FRAME_PX[1]),
        )

    def _measure_row(self, unit: str) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        label = QLabel(_("The bar measures"))
        self.measure = _MeasureField(_("What the bar measures"), LENGTH, optional=True)
        self.measure.show_value(None, unit)
        self.measure.setFixedWidth(132)
        self.measure.valued.connect(self._measured)
        self.measure.refused.connect(self._refuse)
        label.setBuddy(self.measure)
        self.unit = Segment(_("Unit of the bar"), (("mm", "mm"), ("in", "in")))
        self.unit.put(unit)
        self.unit.chosen.connect(self._use_unit)
        for part in (label, self.measure, self.unit):
            row.addWidget(part)
        row.addStretch(1)
        return row

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        self.use = QPushButton(_("Use this size"))
        self.use.setDefault(True)
        self.use.clicked.connect(self._use)
        self.own = QPushButton(_("Put back the screen’s own"))
        self.own.clicked.connect(self._put_back)
        self.cancel = QPushButton(_("Cancel"))
        self.cancel.clicked.connect(self.reject)
        for button in (self.use, self.own, self.cancel):
            button.setAccessibleName(button.text())
        row.addWidget(self.use)
        row.addWidget(self.own)
        row.addStretch(1)
        row.addWidget(self.cancel)
        return row

    # --- showing -------------------------------------------------------------------------------

    @property
    def scale(self) -> float:
        """The logical pixels a mm tried now."""
        return self.sheet.scale

    def try_scale(self, scale: float) -> None:
        """Draw card and bar at a scale; nothing is kept."""
        self.sheet.put(scale)
        self._scaled()

    def _scaled(self) -> None:
        self.measure.show_value(None)
        self._say("")
        kept, own = true_size.scale_of(self._told), true_size.own_scale(self._told)
        self.state.setText(state_words(kept))
        self.state.setAccessibleName(self.state.text())
        self.tried.setText(self._tried_words(own))
        self.tried.setToolTip(self.tried.text())
        self.tried.setAccessibleName(self.tried.text())
        self.own.setEnabled(kept.checked or self.scale != own.px_per_mm)

    def _tried_words(self, own: TrueScale) -> str:
        percent = (self.scale / own.px_per_mm - 1) * 100
        pixels = f"{self.scale:.3f}"
        if abs(percent) < 0.05:
            return _("1 mm is {n} pixels, as the screen says").format(n=pixels)
        if percent > 0:
            words = _("1 mm is {n} pixels, {p:.1f} % larger than the screen says")
        else:
            words = _("1 mm is {n} pixels, {p:.1f} % smaller than the screen says")
        return words.format(n=pixels, p=abs(percent))

    def _say(self, text: str) -> None:
        self.trouble.setText(f"⚠ {text}" if text else "")
        self.trouble.setAccessibleName(text)
        self.trouble.setVisible(bool(text))

    def _refuse(self, error: RingloftError) -> None:
        self._say(str(error))

    def _follow(self) -> None:
        """On another screen, begin with what is known of that one."""
        told = true_size.facts(self.screen())
        if told.key != self._told.key:
            self._told = told
            self.try_scale(true_size.scale_of(told).px_per_mm)

    # --- what the maker does -------------------------------------------------------------------

    def _use_unit(self, unit: str) -> None:
        self.measure.show_value(None, unit)
        self.sheet.set_unit(unit)
        self._say("")

    def _measured(self, mm: float | None) -> None:
        if mm is None:
            return
        try:
            scale = true_size.scale_from_measure(self.sheet.bar_px, mm)
        except BadValue as error:
            self.measure.refuse(error)
            return
        self.try_scale(scale)

    def _use(self) -> None:
        if self.measure.bad:
            self.measure.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        try:
            true_size.use(self._told, self.scale)
        except BadValue as error:
            self._refuse(error)
            return
        self.accept()

    def _put_back(self) -> None:
        # The button is about to be disabled; the keyboard goes on with the drawing.
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)
        true_size.forget(self._told)
        self.try_scale(true_size.own_scale(self._told).px_per_mm)
        # What was put back is done, and no longer to be cancelled.
        self.cancel.setText(_("Close"))
        self.cancel.setAccessibleName(self.cancel.text())


def check_size(window: QWidget, unit: str) -> TrueSizeCard:
    """Open the card over a window, or bring the one that is open to the front."""
    for card in window.findChildren(TrueSizeCard):
        if card.isVisible():
            card.raise_()
            card.activateWindow()
            return card
    card = TrueSizeCard(window, unit)
    card.open()
    return card


class SizeOnScreen:
    """What the window's menu calls; follows the window from screen to screen."""

    def __init__(self, window: QWidget, document: Document) -> None:
        self._window, self._document = window, document
        true_size.hub().watch(window)

    def check(self) -> TrueSizeCard:
        """Lay a card or a ruler on the screen."""
        return check_size(self._window, self._document.shown.unit)
