"""Ranges by lay, counted one panel at a time while nothing else is to be done."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

from app.document import Document
from app.figures import Unknown, panel_figures


class RangeCounter(QObject):
    """Counts the ranges that are not known yet; never during a gesture.

    Signals:
        counted: the id of a panel whose range is known now.
    """

    counted = Signal(int)

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._document = document
        self._idle = QTimer(self)
        self._idle.setSingleShot(True)
        self._idle.setInterval(0)
        self._idle.timeout.connect(self._next)
        document.changed.connect(self._idle.start)
        self._idle.start()

    def _next(self) -> None:
        document = self._document
        if document.previewing:
            return  # the end of the gesture is a change, too
        for panel in document.shown.panels:
            found = panel_figures(document.shown, panel)
            if not isinstance(found, Unknown) and not found.tally.range_known:
                _counted = found.tally.range
                self.counted.emit(panel.id)
                self._idle.start()
                return


def range_counter(document: Document) -> RangeCounter:
    """The one counter of a document."""
    return document.findChild(RangeCounter) or RangeCounter(document)
