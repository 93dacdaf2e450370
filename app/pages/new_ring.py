"""The form for a new ring with its two buttons, shown in place of the inspector's body."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.messages import Remarks
from app.pages.ring_form import RingForm
from app.starter import first_ring
from app.widgets.columns import rule, scrolled
from core.errors import RingloftError
from core.ring import Ring, RingSpec
from core.texts import _


class NewRing(QWidget):
    """Asks for one ring.

    Signals:
        finished: the ring to add, or None when put off.
    """

    finished = Signal(object)

    def __init__(self, remarks: Remarks) -> None:
        super().__init__()
        self._remarks = remarks
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        head = QLabel(_("New ring"))
        head.setFont(look.font(look.PX_SECTION, bold=True))
        head.setContentsMargins(16, 11, 16, 2)
        column.addWidget(head)
        area, box = scrolled(_("New ring"))
        box.setContentsMargins(16, 10, 16, 16)
        self._warning: Callable[[Ring], str] = lambda _ring: ""
        self.form = RingForm(first_ring(), warning=lambda ring: self._warning(ring))
        box.addWidget(self.form)
        box.addStretch(1)
        # Below the lines that come and go, so that the buttons keep their place.
        buttons = QHBoxLayout()
        buttons.setContentsMargins(16, 8, 16, 12)
        buttons.setSpacing(8)
        self.add = QPushButton(_("Add ring"))
        self.add.setProperty("kind", "primary")
        self.add.setAccessibleName(_("Add the ring and weave the panel from it"))
        self.cancel = QPushButton(_("Cancel"))
        self.cancel.setAccessibleName(_("Cancel the new ring"))
        self.add.clicked.connect(self._add)
        self.cancel.clicked.connect(lambda: self.finished.emit(None))
        buttons.addWidget(self.add)
        buttons.addWidget(self.cancel)
        buttons.addStretch(1)
        column.setSpacing(0)
        column.addWidget(area, 1)
        column.addWidget(rule())
        column.addLayout(buttons)

    def begin(
        self,
        like: RingSpec | None,
        unit: str,
        currency: str = "",
        warning: Callable[[Ring], str] = lambda _ring: "",
    ) -> None:
        """Start from a ring of the costume, unmeasured and unnamed.

        Args:
            like: the ring to start from.
            unit: of the costume.
            currency: of the costume.
            warning: what to say of a ring that cannot be used; empty when it can.
        """
        self._warning = warning
        base = replace(like or first_ring(), id=0, name="")
        if base.mandrel_mm is not None:
            base = replace(base, inner_measured_mm=None)
        self.form.show_spec(base, unit, currency)

    def use_unit(self, unit: str) -> None:
        """Show what can be read in another unit; what cannot be read stays to be mended."""
        try:
            spec = replace(self.form.spec(), name=self.form.name.text().strip())
        except RingloftError:
            return
        self.form.show_spec(spec, unit)

    def refuse(self, error: RingloftError) -> None:
        """Say why the ring was not added."""
        self._remarks.warn(error)

    def _add(self) -> None:
        try:
            spec = self.form.spec()
        except RingloftError as error:
            self.refuse(error)
            return
        self.finished.emit(spec)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter adds the ring, Esc puts it off."""
        if event.key() == Qt.Key.Key_Escape:
            self.finished.emit(None)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._add()
        else:
            super().keyPressEvent(event)
