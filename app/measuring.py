"""Opens the swatch card for the ring in hand: that of the page in front."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.document import Document
from app.messages import Remarks
from app.pages import swatch_words as words
from app.pages.bench import Bench
from app.pages.swatch_card import SwatchCard
from core.errors import BadValue
from core.swatches import SwatchTrial
from core.texts import _
from core.weave.cells import WEAVES


class Measuring(QObject):
    """What the window's menu calls, whichever of its pages holds this."""

    def __init__(self, document: Document, remarks: Remarks, page: QWidget) -> None:
        super().__init__(page)
        self._document, self._remarks, self._page = document, remarks, page

    def measure(self) -> None:
        """Measure a swatch of the ring in hand on the Rings page, else of the panel's ring."""
        panel = self._document.selected_panel
        ring_id = None if panel is None else panel.ring_id
        bench = self._page.window().findChild(Bench)
        page = bench.parent() if bench is not None else None
        if bench is not None and isinstance(page, QWidget) and page.isVisible():
            ring_id = bench.ring_id
        self.measure_ring(ring_id)

    def measure_ring(self, ring_id: int | None) -> None:
        """Measure a swatch of that ring, in the weave it is used for."""
        project, panel = self._document.project, self._document.selected_panel
        if ring_id is None or all(r.id != ring_id for r in project.rings):
            self._remarks.warn(
                BadValue(
                    _("A swatch is kept for a ring of the costume"),
                    do=_("Add the ring to the costume, or draw a panel first"),
                )
            )
            return
        users = [p for p in project.panels if p.ring_id == ring_id]
        if panel is not None and panel.ring_id == ring_id:
            users.insert(0, panel)
        weave = next((p.weave for p in users if p.weave in WEAVES), next(iter(WEAVES)))
        measure_swatch(self._document, ring_id, weave, self._page.window(), self._remarks)


def measure_swatch(
    document: Document,
    ring_id: int,
    weave_id: str,
    parent: QWidget,
    remarks: Remarks | None = None,
    panel_id: int | None = None,
) -> SwatchCard:
    """Open the card over a window; `remarks` then says what came of it."""
    card = SwatchCard(document, ring_id, weave_id, parent, panel_id)

    def told(trial: SwatchTrial) -> None:
        if remarks is not None and trial.hold in ("lifts", "off"):
            remarks.say(words.hold_answer(document.project, ring_id, trial.hold))

    card.kept.connect(told)
    card.open()
    return card
