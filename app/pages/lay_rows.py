"""The inspector's rows about the lay: a held width, and the lay that is usual for the use."""

from __future__ import annotations

import math
import re

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app import theme as look
from app.widgets import fields
from app.widgets.columns import LABEL_WIDTH, note
from core import units
from core.errors import BadValue, RingloftError
from core.texts import _
from core.weave.lay import Lay, whole_percents
from core.wire import MM_PER_IN

HALF_SHOWN = 0.05
"""Half of the last digit a share is shown to: an end may be typed as it is shown."""


class OutOfReach(BadValue):
    """A width that mail of these rings cannot be held to."""


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
        self._spread_mm, self._between = 0.0, (0.0, math.inf)
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
        below = self._below = QVBoxLayout(self.notes)
        below.setSpacing(2)
        self.pitch, self.possible = note(""), note("")
        for label in (self.pitch, self.possible):
            label.setFont(look.font(look.PX_UNIT))
            below.addWidget(label)
        self._lay_notes(False)
        self.field.valued.connect(self.valued)
        self.field.refused.connect(self.refused)
        self.setFocusProxy(self.field)

    def _read(self, text: str, unit: str) -> float:
        number = text.strip().removesuffix("%").strip()
        # A bare number is a share; what names a unit is a length.
        share = re.fullmatch(r"[+\-\u2212]?[\d.,\s]+", number) is not None
        try:
            if share:
                return self._share(units.parse_length(number, "mm"))
            pitch_mm = units.parse_length(number, unit)
        except OutOfReach:
            raise
        except RingloftError as error:
            raise BadValue(
                _("“{text}” is no width to hold mail to").format(text=text.strip()),
                do=_("Type a share of the spread width such as 90 %, or a pitch such as 8 mm"),
            ) from error
        return self._pitched(pitch_mm, unit)

    def _lay_notes(self, long: bool) -> None:
        """Long notes need the whole row: right-aligned they still end where the field does."""
        self._below.setContentsMargins(0 if long else LABEL_WIDTH + 12, 0, 0, 2)
        side = Qt.AlignmentFlag.AlignRight if long else Qt.AlignmentFlag.AlignLeft
        for label in (self.pitch, self.possible):
            label.setAlignment(side)

    def _share(self, percent: float) -> float:
        """A share the rings can have, or the end it is shown as."""
        low, high = self._between
        if not low - HALF_SHOWN <= percent <= high + HALF_SHOWN:
            raise OutOfReach(
                _("these rings cannot be held to {percent} % of their spread width").format(
                    percent=f"{percent:g}"
                ),
                do=self._possible(),
            )
        return min(max(percent, low), high)

    def _pitched(self, pitch_mm: float, unit: str) -> float:
        """The share that a pitch along is, told in the pitch's unit when it cannot be had."""
        ends = [self._spread_mm * share / 100.0 for share in self._between]
        per, sign, places = (MM_PER_IN, "in", 3) if unit == "in" else (1.0, "mm", 2)
        half = 0.5 * per / 10**places
        if self._spread_mm <= 0 or not ends[0] - half <= pitch_mm <= ends[1] + half:
            low, high = (f"{end / per:.{places}f}" for end in ends)
            raise OutOfReach(
                _("these rings cannot be {pitch} apart along a row").format(
                    pitch=f"{pitch_mm / per:.{places}f}".rstrip("0").rstrip(".")
                    + f"{units.SPACE}{sign}"
                ),
                do=_("{low} to {high} is possible").format(
                    low=low, high=f"{high}{units.SPACE}{sign}"
                ),
            )
        return 100.0 * min(max(pitch_mm, ends[0]), ends[1]) / self._spread_mm

    def _possible(self) -> str:
        low, high = whole_percents(*self._between)
        if low < high:
            return _("{low} to {high} % is possible").format(low=low, high=high)
        return _("only {percent} % is possible").format(percent=_shown(self._between[1], ""))

    def put(
        self,
        percent: float,
        spread_mm: float,
        between: tuple[float, float],
        unit: str,
        flat: bool = False,
    ) -> None:
        """Show a width.

        Args:
            percent: of the spread width.
            spread_mm: the pitch along when spread.
            between: the narrowest and widest these rings allow, in percent.
            unit: of the costume.
            flat: whether the pitch leads from flat ring to flat ring.
        """
        self._spread_mm, self._between = spread_mm, between
        self.field.show_value(percent, unit)
        along = units.format_length(spread_mm * percent / 100.0, unit)
        words = _("{pitch} flat ring to flat ring") if flat else _("{pitch} from ring to ring")
        self._lay_notes(flat)
        self.pitch.setText(words.format(pitch=along))
        self.possible.setText(self._possible())
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
