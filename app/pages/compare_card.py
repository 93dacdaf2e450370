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
from app.pages.bench import (
    ANOTHER,
    Bench,
    gauge_lead,
    metal_look,
    metal_name,
    ring_size_text,
    size_text,
)
from app.pages.ring_list import badge
from app.pages.weave_combo import LINE, PICTURE_ROLE, WeaveLines
from app.pages.weave_pictures import PICTURE, weave_icon
from app.rings.swatch import SwatchView
from app.widgets import icons
from app.widgets.fields import Combo
from core.compare import Column
from core.errors import RingTooTight
from core.panel import Panel
from core.ring import Ring
from core.tally import lay_names
from core.texts import _
from core.weave.cells import WEAVES
from core.weave.lay import limit_aspect_ratio

BADGE = 20


class Badge(QWidget):
    """The letter of a compared ring."""

    def __init__(self, letter: str) -> None:
        super().__init__()
        self._letter = letter
        self.setFixedSize(BADGE, BADGE)
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


def weave_choices(panels: tuple[Panel, ...]) -> tuple[tuple[str | None, str], ...]:
    """The weaves to compare in: first as the panels are woven, then all."""
    woven = {p.weave for p in panels}
    own = _("As each panel is woven")
    if len(woven) == 1 and (known := WEAVES.get(next(iter(woven)))) is not None:
        words = _("{weave}, as now")
        own = words.format(weave=_(known.name))
    return (None, own), *((w.id, _(w.name)) for w in WEAVES.values())


def upright_choices(
    panels: tuple[Panel, ...], bench: Bench
) -> tuple[tuple[int | str | None, str], ...]:
    """The rings that may stand upright: first as the panels have it, then all."""
    named = {p.upright_ring_id for p in panels if len(p.ring_ids) > 1}
    own = _("Upright: the same ring")
    if named - {None}:
        own = _("Upright: as each panel has it")
    rings = ((r.id, _("Upright: {ring}").format(ring=r.name)) for r in bench.rings())
    return (None, own), *rings, (ANOTHER, _("Upright: another ring…"))


def upright_ring(column: Column) -> Ring | None:
    """The ring that stands upright, where it is not the one compared."""
    if column.counted is None:
        return None
    rings = column.counted.panels[0].tally.rings
    return rings[1] if len(rings) > 1 and rings[1] != rings[0] else None


class _WeaveList(Combo):
    """Weaves, each with a small picture in the ring compared."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.line_height, self.picture_width = LINE, PICTURE.width() + 8
        self.setItemDelegate(WeaveLines(self))
        self.column: Column | None = None

    def showPopup(self) -> None:
        """Open the list, its pictures made by then."""
        if self.column is not None:
            metal = metal_look(self.column.spec)
            for row, (key, _text) in enumerate(self._choices):
                weave_id = key if isinstance(key, str) else self.column.weave.id
                icon = weave_icon(weave_id, self.column.ring, metal, self.devicePixelRatioF())
                self.setItemData(row, icon if key is not None else None, PICTURE_ROLE)
        super().showPopup()


def _problem_texts(column: Column) -> tuple[str, str]:
    """Why there are no answers: in full, and where there is little room."""
    problem, ring = column.problem, column.ring
    if problem is None:
        return "", ""
    short = problem.what
    if isinstance(problem, RingTooTight) and ring is not None and len(column.weave.kinds) == 1:
        short = _("Too tight: {ratio:.2f}, needs {limit:.2f}").format(
            ratio=ring.aspect_ratio, limit=limit_aspect_ratio(column.weave.id)
        )
    return f"⚠ {problem}", f"⚠ {short}"


class SlotCard(QWidget):
    """One thing compared: its ring, weave and upright ring, its mail, its caption.

    Signals:
        chosen: a ring's id, or `ANOTHER` for a new one.
        weave_chosen: a weave's id, or None as the panels are woven.
        upright_chosen: a ring's id, `ANOTHER` for a new one, or None as the panels have it.
        dropped: compare without this one.
    """

    chosen = Signal(object)
    weave_chosen = Signal(object)
    upright_chosen = Signal(object)
    dropped = Signal()

    def __init__(self, letter: str) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
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
        self.weave = _WeaveList(_("Weave of {letter}").format(letter=letter))
        self.weave.chosen.connect(self.weave_chosen)
        self.upright = Combo(_("Upright ring of {letter}").format(letter=letter))
        self.upright.chosen.connect(self.upright_chosen)
        # Its place stays free where a card beside has such a ring, so that the mail lines up.
        self.reserve(False)
        self._woven = QWidget()
        lines = QVBoxLayout(self._woven)
        lines.setSpacing(4)
        for combo in (self.weave, self.upright):
            combo.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            lines.addWidget(combo)
        column.addWidget(self._woven)
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
        self._beside = False
        self._problem, self._state = ("", ""), ("", "")
        text = self._text = QVBoxLayout()
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
        self._column = column
        self._put_woven(beside=False)

    def reserve(self, kept: bool) -> None:
        """Whether the place of the upright ring stays free when there is none."""
        policy = self.upright.sizePolicy()
        policy.setRetainSizeWhenHidden(kept)
        self.upright.setSizePolicy(policy)

    def set_beside(self, beside: bool, *, brief: bool = False) -> None:
        """Put the caption beside the mail instead of below it.

        Args:
            beside: whether to.
            brief: leave out what the list of rings says, too: size, metal, that it is not kept.
        """
        way = QBoxLayout.Direction
        self._brief, self._beside = brief, beside
        self._mail.setDirection(way.LeftToRight if beside else way.TopToBottom)
        self._mail.setSpacing(12 if beside else 6)
        self._mail.setStretch(0, 2 if beside else 1)
        self._mail.setStretch(1, (5 if brief else 3) if beside else 0)
        old, new = (self._foot, self._head) if beside else (self._head, self._foot)
        if new.indexOf(self.drop) < 0:
            old.removeWidget(self.drop)
            new.addWidget(self.drop, 0, Qt.AlignmentFlag.AlignVCenter)
        self._put_woven(beside)
        self._show_captions()

    def _put_woven(self, beside: bool) -> None:
        """Weave and upright ring stand above the mail, or above the caption beside it."""
        new, at = (self._text, 0) if beside else (self._column, 1)
        if new.indexOf(self._woven) < 0:
            (self._column if beside else self._text).removeWidget(self._woven)
            new.insertWidget(at, self._woven)
        inset = 0 if beside else BADGE + 6
        self._woven.setContentsMargins(0, 0, 0, 0)
        layout = self._woven.layout()
        assert layout is not None
        layout.setContentsMargins(inset, 0, 0, 0)

    def _show_captions(self) -> None:
        self.problem.setText(self._problem[self._brief])
        self.state.setText(self._state[self._brief])
        for label in self._labels:
            spared = self._brief and label in (self.caption, self.more, self.trial)
            crowded = self._brief and self._beside and not self.upright.isHidden()
            label.setVisible(bool(label.text()) and not spared and not crowded)

    def show_column(
        self,
        column: Column,
        bench: Bench,
        at: int,
        panels: tuple[Panel, ...],
        *,
        used: bool,
        with_lay: bool,
    ) -> None:
        """Show what is compared in a place, and whether the panels are woven so now."""
        spec, unit, slot = column.spec, bench.project.unit, bench.held[at]
        choices = [(r.id, r.name) for r in bench.rings()]
        self.ring.set_choices((*choices, (ANOTHER, _("Another ring…"))))
        self.ring.put(spec.id)
        self.weave.set_choices(weave_choices(panels))
        self.weave.put(slot.weave)
        self.weave.column = column
        self.weave.setToolTip(self.weave.currentText())
        self.upright.set_choices(upright_choices(panels, bench))
        self.upright.put(slot.upright_id)
        self.upright.setToolTip(self.upright.currentText())
        self.upright.setVisible(len(column.weave.kinds) > 1)
        self.ring.setToolTip(spec.name)
        self.drop.setVisible(len(bench.held) > 2)
        self.drop.setIcon(icons.icon("remove", look.current()))
        ratio = "—" if column.ring is None else f"{column.ring.aspect_ratio:.2f}"
        state = short = _("inner ÷ wire {ratio}").format(ratio=ratio)
        if used:
            short = _("woven\u00a0now")
            state = _("{state}, woven\u00a0now").format(state=state)
        self._state = (state, short)
        trial = "" if bench.in_costume(spec.id) else _("not yet in the costume")
        if bench.suggested(spec.id):
            trial = _("a suggestion, not yet in the costume")
        stands = upright_ring(column)
        upright = (
            "" if stands is None else _("upright {size}").format(size=ring_size_text(stands, unit))
        )
        texts = (
            size_text(spec, unit),
            ", ".join(t for t in (gauge_lead(spec) + metal_name(spec), upright) if t),
            lay_names()[column.lay.kind] if with_lay else "",
            trial,
            state,
        )
        for label, text in zip(self._labels, texts, strict=True):
            label.setText(text)
        if column.solved is not None:
            self.swatch.set_sheet(
                column.solved,
                metal_look(spec) if stands is None else (metal_look(spec), stands.metal.look),
                ", ".join(t for t in texts if t),
            )
        else:
            self.swatch.clear()
        self._problem = _problem_texts(column)
        self.problem.setToolTip("" if column.problem is None else str(column.problem))
        self.problem.setVisible(column.problem is not None)
        self.swatch.setVisible(column.problem is None)
        self._filler.setVisible(column.problem is not None)
        self._show_captions()
