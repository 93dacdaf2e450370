"""One compared ring: its letter, which ring it is, its mail at true size, and a caption."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.pages.bench import Bench, gauge_lead, metal_look, metal_name, size_text
from app.pages.ring_list import badge
from app.rings.swatch import SwatchView
from app.widgets import icons
from app.widgets.fields import Combo
from core.compare import Column
from core.tally import lay_names
from core.texts import _

ANOTHER = "another"


class Badge(QWidget):
    """The letter of a compared ring."""

    def __init__(self, letter: str) -> None:
        super().__init__()
        self._letter = letter
        self.setFixedSize(20, 20)
        self.setAccessibleName(letter)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """A disc of ink with the letter."""
        painter = QPainter(self)
        badge(painter, QPointF(10, 10), self._letter, look.current())
        painter.end()


def small_label(kind: str = "note") -> QLabel:
    """A small label of plain words that wraps."""
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("kind", kind)
    label.setFont(look.font(look.PX_UNIT))
    label.setWordWrap(True)
    return label


class SlotCard(QWidget):
    """One compared ring: which one, its mail, its caption.

    Signals:
        chosen: a ring's id, or `ANOTHER` for a new one.
        dropped: compare without this one.
    """

    chosen = Signal(object)
    dropped = Signal()

    def __init__(self, letter: str) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        head = self._head = QHBoxLayout()
        head.setSpacing(6)
        head.addWidget(Badge(letter))
        self.ring = Combo(_("Ring {letter}").format(letter=letter))
        self.ring.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.ring.chosen.connect(self.chosen)
        head.addWidget(self.ring, 1)
        self.drop = QToolButton()
        self.drop.setFixedSize(24, 18)
        self.drop.setAccessibleName(_("Compare without {letter}").format(letter=letter))
        self.drop.setToolTip(_("Compare without {letter}").format(letter=letter))
        self.drop.clicked.connect(self.dropped)
        column.addLayout(head)
        self.swatch = SwatchView()
        self.problem = small_label(kind="warn")
        self.problem.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.problem.hide()
        column.addWidget(self.problem)
        self._filler = QWidget()
        column.addWidget(self._filler, 1)
        self._mail = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self._mail.setSpacing(6)
        self._mail.addWidget(self.swatch, 1)
        self.caption = QLabel()
        self.caption.setTextFormat(Qt.TextFormat.PlainText)
        self.caption.setWordWrap(True)
        self.more, self.lay = small_label(), small_label()
        self.trial, self.state = small_label(), small_label()
        self._labels = (self.caption, self.more, self.lay, self.trial, self.state)
        self._brief = False
        text = QVBoxLayout()
        text.setSpacing(1)
        for label in (self.caption, self.more, self.lay, self.trial):
            text.addWidget(label)
        foot = self._foot = QHBoxLayout()
        foot.setSpacing(4)
        foot.addWidget(self.state, 1)
        foot.addWidget(self.drop, 0, Qt.AlignmentFlag.AlignVCenter)
        text.addLayout(foot)
        text.addStretch(0)
        self._mail.addLayout(text)
        column.addLayout(self._mail, 1)

    def set_beside(self, beside: bool, *, brief: bool = False) -> None:
        """Put the caption beside the mail instead of below it.

        Args:
            beside: whether to.
            brief: leave out what the list of rings says, too: metal, and that it is not kept.
        """
        way = QBoxLayout.Direction
        self._brief = brief
        self._mail.setDirection(way.LeftToRight if beside else way.TopToBottom)
        self._mail.setSpacing(12 if beside else 6)
        self._mail.setStretch(0, 2 if beside else 1)
        self._mail.setStretch(1, (5 if brief else 3) if beside else 0)
        old, new = (self._foot, self._head) if beside else (self._head, self._foot)
        if new.indexOf(self.drop) < 0:
            old.removeWidget(self.drop)
            new.addWidget(self.drop, 0, Qt.AlignmentFlag.AlignVCenter)
        self._show_captions()

    def _show_captions(self) -> None:
        for label in self._labels:
            spared = self._brief and label in (self.more, self.trial)
            label.setVisible(bool(label.text()) and not spared)

    def show_column(
        self, column: Column, bench: Bench, *, droppable: bool, used: bool, with_lay: bool
    ) -> None:
        """Show one ring's mail, and whether what is compared is woven from it now."""
        spec, unit = column.spec, bench.project.unit
        choices = [(r.id, r.name) for r in bench.rings()]
        self.ring.set_choices((*choices, (ANOTHER, _("Another ring…"))))
        self.ring.put(spec.id)
        self.ring.setToolTip(spec.name)
        self.drop.setVisible(droppable)
        self.drop.setIcon(icons.icon("remove", look.current()))
        ratio = "—" if column.ring is None else f"{column.ring.aspect_ratio:.2f}"
        state = _("inner ÷ wire {ratio}").format(ratio=ratio)
        if used:
            state = _("{state}, woven\u00a0now").format(state=state)
        trial = "" if bench.in_costume(spec.id) else _("not yet in the costume")
        if bench.suggested(spec.id):
            trial = _("a suggestion, not yet in the costume")
        texts = (
            size_text(spec, unit),
            gauge_lead(spec) + metal_name(spec),
            lay_names()[column.lay.kind] if with_lay else "",
            trial,
            state,
        )
        for label, text in zip(self._labels, texts, strict=True):
            label.setText(text)
        self._show_captions()
        if column.solved is not None:
            self.swatch.set_sheet(
                column.solved, column.weave, metal_look(spec), ", ".join(t for t in texts if t)
            )
        else:
            self.swatch.clear()
        self.problem.setText("" if column.problem is None else f"⚠ {column.problem}")
        self.problem.setToolTip("" if column.problem is None else str(column.problem))
        self.problem.setVisible(column.problem is not None)
        self.swatch.setVisible(column.problem is None)
        self._filler.setVisible(column.problem is not None)
