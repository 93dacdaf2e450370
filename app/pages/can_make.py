"""What the ring in hand can make: every weave as a ladder, and what a sheet of it takes."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app import theme as look
from app.measuring import measure_swatch
from app.pages.bench import Bench, size_text
from app.pages.ladder import Offer, rungs
from app.pages.ladder_list import Ladder
from app.widgets.explain import explain
from core.errors import RingloftError
from core.ring import resolve
from core.texts import _
from core.weave.cells import WEAVES

TITLE_PX, FOOT_PX = 26, 26


class CanMake(QWidget):
    """The ladder of weaves, with its title and foot.

    Signals:
        compare: a weave's id, to be compared with the ring in hand.
        refused: why an offer could not be taken.
    """

    compare = Signal(str)
    refused = Signal(str)

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self.bench = bench
        column = self._column = QVBoxLayout(self)
        column.setContentsMargins(24, 8, 24, 4)
        column.setSpacing(0)
        column.addLayout(self._head())
        self.ladder = Ladder()
        column.addWidget(self.ladder.head)
        column.addWidget(self.ladder)
        self.trouble = QLabel()
        self.trouble.setWordWrap(True)
        self.trouble.setProperty("kind", "warn")
        self.trouble.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.trouble)
        self.foot = self._foot()
        column.addWidget(self.foot)
        self.ladder.offered.connect(self._take)
        self.ladder.compare.connect(self.compare)
        self._named = ("", "")
        self._folded(False)
        bench.changed.connect(self.follow)
        self.follow()

    def _head(self) -> QHBoxLayout:
        head = QHBoxLayout()
        head.setSpacing(8)
        title = self._title = QLabel(_("What this ring can make"))
        title.setFont(look.font(look.PX_SECTION, bold=True))
        head.addWidget(title)
        self.how = QPushButton(_("How?"))
        self.how.setProperty("kind", "link")
        self.how.setAccessibleName(_("Where the limits and the bands come from"))
        self.how.clicked.connect(self._explain)
        head.addWidget(self.how)
        self.fold = QPushButton()
        self.fold.setProperty("kind", "link")
        self.fold.setCheckable(True)
        self.fold.toggled.connect(self._folded)
        head.addWidget(self.fold)
        self.which = QLabel()
        self.which.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.which.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.which.setProperty("kind", "note")
        self.which.setFont(look.font(look.PX_UNIT))
        self.which.setFixedHeight(TITLE_PX)
        head.addWidget(self.which, 1)
        return head

    def _foot(self) -> QWidget:
        whole = QWidget()
        foot = QHBoxLayout(whole)
        foot.setContentsMargins(0, 0, 0, 0)
        text = QLabel(_("Not sure? Weave a hand-sized swatch and measure it."))
        text.setProperty("kind", "note")
        text.setFont(look.font(look.PX_UNIT))
        text.setFixedHeight(FOOT_PX)
        foot.addWidget(text)
        foot.addStretch(1)
        self.measure = QPushButton(_("Measure a swatch…"))
        self.measure.setProperty("kind", "link")
        self.measure.clicked.connect(self._measure)
        foot.addWidget(self.measure)
        return whole

    # --- following -----------------------------------------------------------------------------

    def follow(self) -> None:
        """Show the ring in hand."""
        self.setVisible(self.bench.ring_id is not None)
        if self.bench.ring_id is None:
            return
        spec, unit = self.bench.spec(self.bench.ring_id), self.bench.project.unit
        trouble, self._named = "", (spec.name, "")
        try:
            ring = resolve(spec)
            facts = _("{size}, inner ÷ wire {ratio:.2f}").format(
                size=size_text(spec, unit), ratio=ring.aspect_ratio
            )
            self._named = (spec.name, facts)
        except RingloftError as error:
            trouble = str(error)
        found = rungs(spec, unit)
        self.ladder.put(found, unit)
        self._show_parts()
        self.trouble.setText(f"⚠ {trouble}")
        self.trouble.setVisible(bool(trouble))
        kept = self.bench.in_costume(spec.id)
        self.measure.setEnabled(kept and bool(found))
        self.measure.setToolTip(
            "" if kept else _("A swatch is kept for a ring of the costume: add this one first")
        )
        self._name_ring()

    def _show_parts(self) -> None:
        """The ladder and its foot, unless folded or there is no ring."""
        shown = not self.fold.isChecked()
        found = bool(self.ladder.ladder_model.rungs)
        for widget in (self.ladder, self.ladder.head):
            widget.setVisible(shown and found)
        self.foot.setVisible(shown)

    def _folded(self, folded: bool) -> None:
        self.fold.setText(_("Unfold") if folded else _("Fold"))
        self.fold.setAccessibleName(
            _("Unfold what this ring can make") if folded else _("Fold what this ring can make")
        )
        self._show_parts()

    def set_room(self, height_px: int) -> None:
        """Fit a height, the least that still serves where it is too little."""
        margins = self._column.contentsMargins()
        rest = margins.top() + margins.bottom() + TITLE_PX + FOOT_PX + self.ladder.head.height()
        self.ladder.set_room(height_px - rest)

    def _name_ring(self) -> None:
        """Name and size of the ring; where room is short, the name gives way."""
        name, facts = self._named
        if not facts:
            self.which.setText("")
            return
        words = _("{name}: {facts}")
        self.which.setToolTip(words.format(name=name, facts=facts))
        metrics = self.which.fontMetrics()
        margins = self._column.contentsMargins()
        room = self.width() - margins.left() - margins.right() - self._title.sizeHint().width()
        room -= 40 + self.how.sizeHint().width() + self.fold.sizeHint().width()
        room -= metrics.horizontalAdvance(words.format(name="", facts=facts))
        short = metrics.elidedText(name, Qt.TextElideMode.ElideRight, max(room, 40))
        self.which.setText(words.format(name=short, facts=facts))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The ring's name fits the width."""
        super().resizeEvent(event)
        self._name_ring()

    # --- what the maker does -------------------------------------------------------------------

    def _take(self, offer: Offer) -> None:
        try:
            self.bench.change(offer.spec, alone=True)
        except RingloftError as error:
            self.refused.emit(str(error))

    def _measure(self) -> None:
        rung = self.ladder.rung()
        if rung is not None and self.bench.ring_id is not None:
            measure_swatch(self.bench.document, self.bench.ring_id, rung.weave.id, self.window())

    def _explain(self) -> None:
        lines = [
            _(
                "The limit is solved from contact: below it no two rings of a sheet stay clear."
                " Of weaves with flat and upright rings it follows from circles that touch: k"
                " wires side by side in a ring ask for 1 + 1 ÷ sin(π ÷ k)."
            ),
            _(
                "Rings and weight are for the lay “laid”: opened with a little play, as on a pad."
                " In weaves with upright rings, this ring serves as both."
            ),
            _(
                "Rods offered are whole and half millimetres, or sixteenths of an inch, wound with"
                " the spring-back of the ring in hand; wires are those of its gauge, else preferred"
                " diameters (ISO 3, series R20; from memory)."
            ),
            _("How inner ÷ wire feels is common practice, no source:"),
        ]
        for weave in WEAVES.values():
            comfort = weave.comfort
            lines.append(
                _("{weave}: tight to {tight:g}, easy {low:g} to {high:g}, loose from {loose:g}.")
                .format(
                    weave=_(weave.name),
                    tight=comfort.tight_to,
                    low=comfort.easy_from,
                    high=comfort.easy_to,
                    loose=comfort.loose_from,
                )
            )  # fmt: skip
        explain(self.how, _("Where the limits and the bands come from"), tuple(lines))
