"""How the costume is counted: whose paces and spare share apply."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app import messages
from app.document import Document
from app.messages import Question, Remarks
from core import edits
from core.errors import BadValue, RingloftError
from core.estimate import SPARE_PERCENT
from core.texts import _


def read_percent(text: str) -> float | None:
    """A share in percent, or None for an empty text; raises BadValue with words."""
    bare = text.replace("%", "").replace(",", ".").strip()
    if not bare:
        return None
    try:
        return float(bare)
    except ValueError:
        raise BadValue(
            _("“{text}” is not a share").format(text=text.strip()[:20]),
            where=_("spare rings"),
            do=_("Type a share in percent such as 10"),
        ) from None


class Counting(QObject):
    """Edits of the costume's practice and spare share."""

    def __init__(self, document: Document, remarks: Remarks, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._remarks, self._window = document, remarks, window

    def novice(self) -> None:
        """Count with the paces and spare of a novice."""
        self._document.apply(edits.set_practice("novice"), _("practice"))

    def practised(self) -> None:
        """Count with the paces and spare of a practised maker."""
        self._document.apply(edits.set_practice("practised"), _("practice"))

    def ask_spare(self) -> None:
        """Ask for the maker's own share of spare rings; empty takes the practice's default."""
        project = self._document.project
        own = project.spare_percent
        question = Question(
            "text",
            _("Spare rings"),
            "" if own is None else f"{own:g}",
            _("Share in percent; empty takes {n:g} % (common practice, no source)").format(
                n=SPARE_PERCENT[project.practice]
            ),
        )
        typed = messages.ask(self._window, question)
        if typed is None:
            return
        try:
            self._document.apply(edits.set_spare(read_percent(typed)), _("spare rings"))
        except RingloftError as error:
            self._remarks.warn(error)
