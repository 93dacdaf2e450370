"""Four fields for a measured swatch: rings along and their width, rows and their height."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from app.pages.ring_form import note
from app.widgets import fields
from core.errors import RingloftError
from core.texts import _
from core.weave.lay import Swatch


class SwatchFields(QWidget):
    """Counts and sizes of a swatch, from a ring to the like ring.

    Signals:
        measured: a Swatch, once all four fields are filled.
        refused: why a field was not taken.
    """

    measured = Signal(object)
    refused = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(6)
        self.rings = fields.QuantityField(
            _("Rings along the swatch"), fields.count(1, 10_000), optional=True
        )
        self.width_mm = fields.QuantityField(_("Width of the swatch"), fields.LENGTH, optional=True)
        self.rows = fields.QuantityField(
            _("Rows of the swatch"), fields.count(1, 10_000), optional=True
        )
        self.height_mm = fields.QuantityField(
            _("Height of the swatch"), fields.LENGTH, optional=True
        )
        self._fields = (self.rings, self.width_mm, self.rows, self.height_mm)
        texts = (_("Rings along"), _("over"), _("Rows"), _("over"))
        for i, (text, field) in enumerate(zip(texts, self._fields, strict=True)):
            label = note(text)
            label.setBuddy(field)
            grid.addWidget(label, i // 2, i % 2 * 2)
            grid.addWidget(field, i // 2, i % 2 * 2 + 1)
            field.valued.connect(self._taken)
            field.refused.connect(self.refused)
        grid.setColumnMinimumWidth(0, 72)
        hint = note(_("Measure from a ring to the like ring so many further on."))
        hint.setWordWrap(True)
        grid.addWidget(hint, 2, 0, 1, 4)
        grid.setColumnStretch(1, 2)
        grid.setColumnStretch(3, 3)
        self._panel_id: int | None = None
        self.setFocusProxy(self.rings)

    def show_swatch(self, swatch: Swatch | None, unit: str, panel_id: int) -> None:
        """Show a panel's swatch; what is half typed stays while the panel stays."""
        if swatch is None:
            fresh = panel_id != self._panel_id
            for field in self._fields:
                field.show_value(None if fresh else field.value, unit)
        else:
            self.rings.show_value(float(swatch.rings_along), unit)
            self.width_mm.show_value(swatch.width_mm, unit)
            self.rows.show_value(float(swatch.rows), unit)
            self.height_mm.show_value(swatch.height_mm, unit)
        self._panel_id = panel_id

    def _taken(self, _value: object) -> None:
        try:
            rings, width, rows, height = (field.read() for field in self._fields)
        except RingloftError as error:
            self.refused.emit(error)
            return
        if rings is None or width is None or rows is None or height is None:
            return
        self.measured.emit(Swatch(int(rings), int(rows), width, height))
