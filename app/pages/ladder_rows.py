"""The rows of the ladder: their model, and how a row's width is shared out."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, Qt

from app.pages.ladder import Rung, axis
from app.pages.weave_pictures import PICTURE
from app.widgets.lists import Index
from core.texts import _

RUNG_ROLE = Qt.ItemDataRole.UserRole + 1
LOWEST_ROW, FULL_ROW, TALLEST_ROW = 23, 30, 37
LEAST_ROWS = 2
"""Rows in sight, however little room there is; the others are a turn of the wheel away."""

NAME_PX, START_PX = 16, 14
"""The two lines of a full row."""

HEAD_PX = 26
INSET, GAP = 8, 12
WORD_PX, NUMBER_PX = 96, 84
MOST_ANSWER = 40
"""The share of a row its offers may take, in percent."""

LINK_GAP = 16
BAR_PX = 16
LEAST_BAR_PX = 170


@dataclass(frozen=True, slots=True)
class Columns:
    """Where a row's parts begin and end, px; and the aspect ratios at the bar's ends."""

    names: tuple[int, int]
    bar: tuple[int, int]
    word: tuple[int, int]
    rings: tuple[int, int]
    weight: tuple[int, int]
    low: float
    high: float

    def x(self, ratio: float) -> int:
        """Where an aspect ratio lies on the bar."""
        share = (min(max(ratio, self.low), self.high) - self.low) / (self.high - self.low)
        return round(self.bar[0] + share * (self.bar[1] - self.bar[0]))


def columns(
    width: int, full: bool, longest_px: int, answer_px: int, ratio: float | None
) -> Columns:
    """Share out a width.

    Args:
        width: of the row.
        full: whether rows are high enough for pictures and two lines.
        longest_px: what the longest name takes.
        answer_px: what the longest offers take.
        ratio: the ring's.
    """
    right = width - INSET
    weight, rings = (right - NUMBER_PX, right), (right - 2 * NUMBER_PX, right - NUMBER_PX)
    word = (min(rings[0] - WORD_PX, right - min(answer_px, MOST_ANSWER * width // 100)), rings[0])
    start = INSET + (PICTURE.width() + GAP if full else 0)
    room = word[0] - GAP - start
    name_px = max(min(longest_px, room - LEAST_BAR_PX - GAP), 96)
    bar_from = start + name_px + GAP
    return Columns(
        (start, start + name_px),
        (bar_from, max(word[0] - GAP, bar_from + 60)),
        word,
        rings,
        weight,
        *axis(ratio),
    )


class LadderModel(QAbstractListModel):
    """The rungs of the ring in hand."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.rungs: tuple[Rung, ...] = ()
        self.unit = "mm"

    def put(self, rungs: tuple[Rung, ...], unit: str) -> None:
        """Show other rungs; the current row stays."""
        if len(rungs) != len(self.rungs):
            self.beginResetModel()
            self.rungs, self.unit = rungs, unit
            self.endResetModel()
            return
        self.rungs, self.unit = rungs, unit
        if rungs:
            self.dataChanged.emit(self.index(0), self.index(len(rungs) - 1))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """One for each weave."""
        return 0 if parent.isValid() else len(self.rungs)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Name, the rung itself, and all of it in words."""
        if not index.isValid() or index.row() >= len(self.rungs):
            return None
        rung = self.rungs[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return _(rung.weave.name)
        if role == RUNG_ROLE:
            return rung
        if role == Qt.ItemDataRole.ToolTipRole:
            return rung.words(self.unit)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return _("{words}. {enter}").format(
                words=rung.words(self.unit), enter=self._enter(rung)
            )
        return None

    @staticmethod
    def _enter(rung: Rung) -> str:
        if rung.can:
            return _("Enter compares it")
        if len(rung.offers) > 1:
            return _("Enter takes the first offer, Right and Enter the second")
        return _("Enter takes the offer") if rung.offers else ""


def action_texts(rung: Rung) -> tuple[str, ...]:
    """The links in a row."""
    return tuple(offer.text for offer in rung.offers) if not rung.can else (_("Compare"),)
