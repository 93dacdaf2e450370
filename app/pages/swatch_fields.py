"""Four fields for a measured swatch: rings along and their width, rows and their height."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from app import theme as look
from app.widgets import fields
from app.widgets.columns import note
from core.errors import RingloftError
from core.swatches import MOST_COUNT, check_counts
from core.texts import _
from core.weave.lay import Swatch

COUNT_WIDTH = 60


class SwatchFields(QWidget):
    """Counts and sizes of a swatch, from a ring to the like ring.

    Signals:
        measured: a Swatch, once all four fields are filled.
        refused: why a field, or what the four say together, was not taken.
        edited: something else stands in a field.
        card_wanted: the maker would rather be led through it.

    Args:
        link: whether to offer the card that leads through a whole swatch.
    """

    measured = Signal(object)
    refused = Signal(object)
    edited = Signal()
    card_wanted = Signal()

    def __init__(self, link: bool = True) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(6)
        self.rings = fields.QuantityField(
            _("Rings along the swatch"), fields.count(1, MOST_COUNT), optional=True
        )
        self.width_mm = fields.QuantityField(_("Width of the swatch"), fields.LENGTH, optional=True)
        self.rows = fields.QuantityField(
            _("Rows of the swatch"), fields.count(1, MOST_COUNT), optional=True
        )
        self.height_mm = fields.QuantityField(
            _("Height of the swatch"), fields.LENGTH, optional=True
        )
        self._fields = (self.rings, self.width_mm, self.rows, self.height_mm)
        # A count, what is counted, and the length they take: read as one line.
        for row, (counted, text, length) in enumerate(
            (
                (self.rings, _("rings over"), self.width_mm),
                (self.rows, _("rows over"), self.height_mm),
            )
        ):
            label = note(text)
            label.setBuddy(length)
            counted.setFixedWidth(COUNT_WIDTH)
            grid.addWidget(counted, row, 0)
            grid.addWidget(label, row, 1)
            grid.addWidget(length, row, 2)
        for field in self._fields:
            field.setMinimumHeight(look.CONTROL_HEIGHT)
            field.valued.connect(self._taken)
            field.returnPressed.connect(self._entered)
            field.refused.connect(self.refused)
            field.textChanged.connect(self.edited)
        hint = note(_("Measure from a ring to the like ring so many further on."))
        hint.setWordWrap(True)
        # A wrapped label that was never shown asks for one line only.
        hint.setMinimumHeight((2 if link else 1) * hint.fontMetrics().lineSpacing())
        grid.addWidget(hint, 2, 0, 1, 4)
        self.card = QPushButton(_("Measure a whole swatch…"))
        self.card.setProperty("kind", "link")
        self.card.setAccessibleName(_("Measure a whole swatch: size, pace, rejects and hold"))
        self.card.clicked.connect(self.card_wanted)
        if link:
            grid.addWidget(self.card, 3, 0, 1, 3, Qt.AlignmentFlag.AlignLeft)
        else:
            self.card.setParent(self)
            self.card.hide()
        grid.setColumnStretch(2 if link else 3, 1)
        self._swatch: Swatch | None = None
        self.setFocusProxy(self.rings)

    def show_swatch(self, swatch: Swatch | None, unit: str) -> None:
        """Show a panel's swatch; without one, what is half typed stays until `forget`."""
        self._swatch = swatch
        if swatch is None:
            for field in self._fields:
                field.show_value(field.value, unit)
            return
        self.rings.show_value(float(swatch.rings_along), unit)
        self.width_mm.show_value(swatch.width_mm, unit)
        self.rows.show_value(float(swatch.rows), unit)
        self.height_mm.show_value(swatch.height_mm, unit)

    def forget(self) -> None:
        """Empty the fields: what stood there belongs to no panel that is shown."""
        self._swatch = None
        for field in self._fields:
            field.show_value(None)
            field.restore()

    def _entered(self) -> None:
        """Enter takes the four numbers even when none of them was typed over."""
        if self._swatch is None and not any(field.bad for field in self._fields):
            self._taken(None)

    def entries(self) -> tuple[fields.QuantityField, ...]:
        """The four fields, in the order they are gone through."""
        return self._fields

    def empty(self) -> bool:
        """Whether nothing stands in any field."""
        return not any(field.text().strip() for field in self._fields)

    def read(self) -> Swatch | None:
        """What stands in the fields; None while one of them is empty.

        Raises:
            RingloftError: a text that cannot be read, or counts too small to tell anything.
        """
        rings, width, rows, height = (field.read() for field in self._fields)
        if rings is None or width is None or rows is None or height is None:
            return None
        swatch = Swatch(int(rings), int(rows), width, height)
        check_counts(swatch)
        return swatch

    def _taken(self, _value: object) -> None:
        try:
            swatch = self.read()
        except RingloftError as error:
            self.refused.emit(error)
            return
        if swatch is not None:
            self.measured.emit(swatch)
