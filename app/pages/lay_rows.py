"""The inspector's rows about the lay: a held width, and the lay that is usual for the use."""

from __future__ import annotations

import re

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app import theme as look
from app.widgets import fields
from app.widgets.columns import LABEL_WIDTH, note
from core import units
from core.errors import BadValue, RingloftError
from core.texts import _
from core.use import whole_percents
from core.weave.lay import Lay


class HeldWidth(QWidget):
    """A width to hold mail to, in percent of its spread width, and the pitch along it gives.

    A length is read as a pitch along. The `notes` are placed under the field by who lays it out.

    Signals:
        valued: the width in percent.
        refused: why the text cannot be used.
    """

    valued = Signal(object)
    refused = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._spread_mm = 0.0
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        percent = fields.Quantity(self._read, _shown, lambda _unit: "%", step=1.0)
        self.field = fields.QuantityField(
            _("Width held to, in percent of the spread width"), percent
        )
        self.field.setMinimumHeight(look.CONTROL_HEIGHT)
        column.addWidget(self.field)
        self.notes = QWidget()
        below = QVBoxLayout(self.notes)
        below.setContentsMargins(LABEL_WIDTH + 12, 0, 0, 2)
        below.setSpacing(2)
        self.pitch, self.possible = note(""), note("")
        for label in (self.pitch, self.possible):
            label.setFont(look.font(look.PX_UNIT))
            below.addWidget(label)
        self.field.valued.connect(self.valued)
        self.field.refused.connect(self.refused)
        self.setFocusProxy(self.field)

    def _read(self, text: str, unit: str) -> float:
        number = text.strip().removesuffix("%").strip()
        # A bare number is a share; what names a unit is a length.
        share = re.fullmatch(r"[+\-\u2212]?[\d.,\s]+", number) is not None
        try:
            if share:
                return units.parse_length(number, "mm")
            pitch_mm = units.parse_length(number, unit)
        except RingloftError as error:
            raise BadValue(
                _("“{text}” is no width to hold mail to").format(text=text.strip()),
                do=_("Type a share of the spread width such as 90 %, or a pitch such as 8 mm"),
            ) from error
        return 100.0 * pitch_mm / self._spread_mm if self._spread_mm > 0 else 0.0

    def put(
        self, percent: float, spread_mm: float, between: tuple[float, float], unit: str
    ) -> None:
        """Show a width.

        Args:
            percent: of the spread width.
            spread_mm: the pitch along when spread.
            between: the narrowest and widest these rings allow, in percent.
            unit: of the costume.
        """
        self._spread_mm = spread_mm
        self.field.show_value(percent, unit)
        along = units.format_length(spread_mm * percent / 100.0, unit)
        self.pitch.setText(_("{pitch} from ring to ring").format(pitch=along))
        low, high = whole_percents(*between)
        self.possible.setText(
            _("{low} to {high} % is possible").format(low=low, high=high)
            if low < high
            else _("only {percent} % is possible").format(percent=_shown(between[1], unit))
        )
        self.field.setAccessibleDescription(f"{self.pitch.text()}, {self.possible.text()}")

    def forget(self) -> None:
        """Drop what is half typed: it belongs to no panel that is shown."""
        self.field.restore()


def _shown(percent: float, _unit: str) -> str:
    return f"{percent:.1f}".rstrip("0").rstrip(".")


class LayOffer(QWidget):
    """One line that says which lay is usual, and a button that takes it.

    Signals:
        taken: the Lay that was offered.
    """

    taken = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._lay: Lay | None = None
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 2)
        row.setSpacing(8)
        self.words = QLabel()
        self.words.setProperty("kind", "note")
        self.words.setFont(look.font(look.PX_UNIT))
        self.words.setWordWrap(True)
        # A wrapped label that was never shown asks for one line only.
        self.words.setMinimumHeight(2 * self.words.fontMetrics().lineSpacing())
        self.words.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.use = QPushButton(_("Use it"))
        self.use.setProperty("kind", "link")
        self.use.clicked.connect(self._take)
        row.addWidget(self.words, 1)
        row.addWidget(self.use, 0, Qt.AlignmentFlag.AlignBottom)

    @property
    def lay(self) -> Lay | None:
        """What is offered."""
        return self._lay

    def put(self, lay: Lay | None, why: str) -> None:
        """Offer a lay, or nothing."""
        self._lay = lay
        if self.words.text() != why:
            self.words.setText(why)
            self.use.setAccessibleName(_("{why} Use it").format(why=why))

    def _take(self) -> None:
        if self._lay is not None:
            self.taken.emit(self._lay)
