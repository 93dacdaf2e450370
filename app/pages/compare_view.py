"""Rings side by side: pieces of mail at one true scale, the numbers, and what they come to."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRect, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.pages.bench import LETTERS, MOST_COMPARED, Bench, metal_look, metal_name, size_text
from app.pages.compare_table import TEXT_INSET, CompareTable, how_measure, verdict
from app.pages.ring_list import badge
from app.reports import measure_names
from app.rings.swatch import SwatchView
from app.widgets import icons
from app.widgets.explain import explain
from app.widgets.fields import Combo
from app.widgets.segment import Segment
from core.compare import Column, compare, scope_panels
from core.errors import RingloftError
from core.tally import lay_names
from core.texts import _

MM_PER_IN = 25.4
BAR_MM = 20.0
ANOTHER = "another"


def true_scale(widget: QWidget) -> float:
    """Logical pixels a mm at which the screen shows things at their own size, as it says itself."""
    dpi = widget.screen().physicalDotsPerInch()
    if not 40 <= dpi <= 600:
        dpi = float(widget.logicalDpiX())
    return dpi / MM_PER_IN


# --- the swatches ------------------------------------------------------------------------------


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


class ScaleBar(QWidget):
    """Twenty millimetres, or one inch, at the scale of the swatches."""

    def __init__(self) -> None:
        super().__init__()
        self._unit = "mm"
        self.setFixedHeight(18)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.put("mm")

    def put(self, unit: str) -> None:
        """Choose the unit of the bar."""
        self._unit = unit
        self.setAccessibleName(self.text())
        self.update()

    def text(self) -> str:
        """The words beside the bar."""
        return _("1 in, true size") if self._unit == "in" else _("20 mm, true size")

    def paintEvent(self, _event: QPaintEvent) -> None:
        """The bar and its words."""
        theme = look.current()
        painter = QPainter(self)
        length = round((MM_PER_IN if self._unit == "in" else BAR_MM) * true_scale(self))
        painter.fillRect(0, 9, length, 1, theme.ink2)
        painter.fillRect(0, 5, 1, 9, theme.ink2)
        painter.fillRect(length - 1, 5, 1, 9, theme.ink2)
        painter.setFont(look.font(look.PX_LABEL))
        painter.setPen(theme.ink2)
        box = QRect(length + 8, 0, self.width() - length - 8, 18)
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(box, left, self.text())
        painter.end()


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
        head = QHBoxLayout()
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
        self.problem = QLabel()
        self.problem.setProperty("kind", "warn")
        self.problem.setWordWrap(True)
        self.problem.setTextFormat(Qt.TextFormat.PlainText)
        self.problem.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.problem.setFont(look.font(look.PX_UNIT))
        self.problem.hide()
        column.addWidget(self.problem)
        self._filler = QWidget()
        column.addWidget(self._filler, 1)
        column.addWidget(self.swatch, 1)
        self.caption = QLabel()
        self.caption.setTextFormat(Qt.TextFormat.PlainText)
        self.more = QLabel()
        self.more.setTextFormat(Qt.TextFormat.PlainText)
        self.more.setProperty("kind", "note")
        self.more.setFont(look.font(look.PX_UNIT))
        self.state = QLabel()
        self.state.setProperty("kind", "note")
        self.state.setFont(look.font(look.PX_UNIT))
        self._labels = (self.caption, self.more, self.state)
        for label in self._labels:
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._texts = ("", "", "")
        text = QVBoxLayout()
        text.setSpacing(1)
        text.addWidget(self.caption)
        text.addWidget(self.more)
        foot = QHBoxLayout()
        foot.setSpacing(4)
        foot.addWidget(self.state, 1)
        foot.addWidget(self.drop)
        text.addLayout(foot)
        column.addLayout(text)

    def show_column(self, column: Column, bench: Bench, droppable: bool, used: bool) -> None:
        """Show one ring's mail, and whether what is compared is woven from it now."""
        spec, unit = column.spec, bench.project.unit
        choices = [(r.id, r.name) for r in bench.rings()]
        self.ring.set_choices((*choices, (ANOTHER, _("Another ring…"))))
        self.ring.put(spec.id)
        self.ring.setToolTip(spec.name)
        self.drop.setVisible(droppable)
        self.drop.setIcon(icons.icon("remove", look.current()))
        size = size_text(spec, unit)
        ratio = "—" if column.ring is None else f"{column.ring.aspect_ratio:.2f}"
        state = _("inner ÷ wire {ratio}").format(ratio=ratio)
        if used:
            state = _("{state}, woven now").format(state=state)
        self._texts = (size, metal_name(spec), state)
        self._elide()
        if column.solved is not None:
            self.swatch.set_px_per_mm(true_scale(self))
            self.swatch.set_sheet(
                column.solved, column.weave, metal_look(spec), ", ".join(self._texts)
            )
        else:
            self.swatch.clear()
        self.problem.setText("" if column.problem is None else f"⚠ {column.problem}")
        self.problem.setToolTip("" if column.problem is None else str(column.problem))
        self.problem.setVisible(column.problem is not None)
        self.swatch.setVisible(column.problem is None)
        self._filler.setVisible(column.problem is not None)

    def _elide(self) -> None:
        for label, text in zip(self._labels, self._texts, strict=True):
            metrics = QFontMetrics(label.font())
            room = self.width()
            if label is self.state and not self.drop.isHidden():
                room -= self.drop.width() + 4
            label.setText(metrics.elidedText(text, Qt.TextElideMode.ElideRight, room))
            label.setToolTip(text)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Captions fit the width."""
        super().resizeEvent(event)
        self._elide()


# --- the whole ---------------------------------------------------------------------------------


class CompareView(QWidget):
    """Two to four rings side by side, for the selected panel or the costume.

    Signals:
        another: a new ring to compare was asked for and is in hand.
    """

    another = Signal()

    def __init__(self, bench: Bench, hub: look.ThemeHub) -> None:
        super().__init__()
        self.bench = bench
        self.columns: tuple[Column, ...] = ()
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 10, 24, 10)
        column.setSpacing(10)
        column.addLayout(self._head())
        self.empty = QLabel()
        self.empty.setProperty("kind", "card")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self.empty.setFixedHeight(96)
        column.addWidget(self.empty)
        self.body = QWidget()
        row = QHBoxLayout(self.body)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(24)
        row.addLayout(self._swatches(), 53)
        row.addLayout(self._numbers(), 47)
        self._sides = row
        column.addWidget(self.body, 1)
        self._filler = QWidget()
        column.addWidget(self._filler, 1)
        self._stale = True
        bench.changed.connect(self.follow)
        hub.theme_changed.connect(self.follow)
        self.follow()

    def _head(self) -> QHBoxLayout:
        head = QHBoxLayout()
        head.setSpacing(12)
        title = QLabel(_("Compare"))
        title.setFont(look.font(look.PX_SECTION, bold=True))
        head.addWidget(title)
        self.scope = Segment(_("Compare for"), (("panel", _("Panel")), ("costume", _("Costume"))))
        self.scope.put("panel")
        self.scope.chosen.connect(self._scope_chosen)
        head.addWidget(self.scope)
        self.subtitle = QLabel()
        self.subtitle.setProperty("kind", "note")
        self.subtitle.setFont(look.font(look.PX_UNIT))
        self.subtitle.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        head.addWidget(self.subtitle, 1)
        self.add = QPushButton(_("Add a ring"))
        self.add.setAccessibleName(_("Add a ring to the comparison"))
        self.add.clicked.connect(self._add)
        self.add.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        head.addWidget(self.add)
        return head

    def _swatches(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(6)
        self._grid = QGridLayout()
        self._grid.setSpacing(16)
        self.cards: list[SlotCard] = []
        for at in range(MOST_COMPARED):
            card = SlotCard(LETTERS[at])
            card.chosen.connect(lambda key, at=at: self._chosen(at, key))
            card.dropped.connect(lambda at=at: self.bench.drop_slot(at))
            self._grid.addWidget(card, at // 2, at % 2)
            self.cards.append(card)
        for at in range(2):
            self._grid.setColumnStretch(at, 1)
        column.addLayout(self._grid, 1)
        self.bar = ScaleBar()
        column.addWidget(self.bar)
        return column

    def _numbers(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(6)
        self.table = CompareTable()
        self.table.asked.connect(self._explain)
        column.addWidget(self.table, 1)
        self.note = QLabel(_("Hours are common practice, no source; not yet your pace."))
        self.note.setProperty("kind", "note")
        self.note.setFont(look.font(look.PX_LABEL))
        self.note.setContentsMargins(TEXT_INSET, 0, 0, 0)
        column.addWidget(self.note)
        column.addSpacing(4)
        self.verdict = QLabel()
        self.verdict.setWordWrap(True)
        self.verdict.setContentsMargins(TEXT_INSET, 0, 0, 0)
        self.verdict.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.verdict)
        column.addSpacing(4)
        foot = QHBoxLayout()
        foot.addStretch(1)
        self.use: list[QPushButton] = []
        for at in range(1, MOST_COMPARED):
            button = QPushButton()
            button.clicked.connect(lambda _on=False, at=at: self._use(at))
            foot.addWidget(button)
            self.use.append(button)
        column.addLayout(foot)
        column.addStretch(0)
        return column

    # --- following -----------------------------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what changed while another page was in front."""
        super().showEvent(event)
        if self._stale:
            self._refresh()

    def follow(self) -> None:
        """Compare anew, now or when next seen."""
        self._stale = True
        if self.isVisible():
            self._refresh()

    @property
    def panel_id(self) -> int | None:
        """The panel compared for; None for the whole costume."""
        panel = self.bench.panel()
        return panel.id if panel is not None and self.scope.key() == "panel" else None

    def _refresh(self) -> None:
        self._stale = False
        bench, project = self.bench, self.bench.project
        self._name_scope()
        specs = tuple(bench.spec(i) for i in bench.slots)
        trouble = ""
        self.columns = ()
        try:
            scope_panels(project, self.panel_id)
            self.columns = compare(project, specs, self.panel_id)
        except RingloftError as error:
            trouble = str(error)
        self.empty.setText(trouble)
        self.empty.setVisible(bool(trouble))
        self.body.setVisible(not trouble)
        self.add.setEnabled(not trouble and len(specs) < MOST_COMPARED)
        self._filler.setVisible(bool(trouble))
        self.subtitle.setText("")
        if trouble:
            return
        first, panels = self.columns[0], scope_panels(project, self.panel_id)
        self.subtitle.setText(f"{_(first.weave.name)}, {lay_names()[first.lay.kind]}")
        for at, card in enumerate(self.cards):
            card.setVisible(at < len(self.columns))
            if at < len(self.columns):
                used = any(p.ring_id == specs[at].id for p in panels)
                card.show_column(self.columns[at], bench, len(self.columns) > 2, used)
        self._grid.setRowStretch(0, 1)
        self._grid.setRowStretch(1, 1 if len(self.columns) > 2 else 0)
        self.bar.put(project.unit)
        self.table.compare_model.put(self.columns, project)
        # With more rings the numbers need more room, and the swatches less.
        share = {2: 47, 3: 57, 4: 64}[len(self.columns)]
        self._sides.setStretch(0, 100 - share)
        self._sides.setStretch(1, share)
        self.table.fit()
        self._say(verdict(self.columns, project))
        self._name_buttons()

    def _name_scope(self) -> None:
        panel = self.bench.panel()
        button = self.scope.button("panel")
        name = panel.name if panel else _("Panel")
        button.setText(QFontMetrics(button.font()).elidedText(
            name, Qt.TextElideMode.ElideRight, 140))  # fmt: skip
        button.setToolTip(name)
        button.setAccessibleName(_("Compare for {name}").format(name=name))
        button.setEnabled(panel is not None)
        if panel is None:
            self.scope.put("costume")

    def _say(self, text: str) -> None:
        self.verdict.setText(text)
        self.verdict.setAccessibleName(_("Verdict: {text}").format(text=text))

    def _name_buttons(self) -> None:
        project = self.bench.project
        panels = scope_panels(project, self.panel_id)
        for at, button in enumerate(self.use, start=1):
            button.setVisible(at < len(self.columns))
            if at >= len(self.columns):
                continue
            column, letter = self.columns[at], LETTERS[at]
            if self.panel_id is None:
                full = _("Use {letter} for the costume").format(letter=letter)
            else:
                full = _("Use {letter} for {panel}").format(letter=letter, panel=panels[0].name)
            text = full if len(self.columns) == 2 else _("Use {letter}").format(letter=letter)
            metrics = QFontMetrics(button.font())
            button.setText(metrics.elidedText(text, Qt.TextElideMode.ElideRight, 240))
            button.setAccessibleName(full)
            used = all(p.ring_id == column.spec.id for p in panels)
            button.setEnabled(column.problem is None and not used)
            if column.problem is not None:
                button.setToolTip(str(column.problem))
            else:
                button.setToolTip(_("Woven from this ring already") if used else full)

    # --- what the maker does -------------------------------------------------------------------

    def _scope_chosen(self, _key: str) -> None:
        self.follow()

    def _chosen(self, at: int, key: object) -> None:
        if key == ANOTHER:
            self.bench.choose(at, None)
            self.another.emit()
        elif isinstance(key, int):
            self.bench.choose(at, key)

    def _add(self) -> None:
        before = set(self.bench.slots)
        self.bench.add_slot()
        added = [i for i in self.bench.slots if i not in before]
        if added and not self.bench.in_costume(added[0]):
            self.bench.take(added[0])
            self.another.emit()

    def _use(self, at: int) -> None:
        ring_id = self.bench.slots[at]
        panels = scope_panels(self.bench.project, self.panel_id)
        # The button is about to be disabled; the keyboard must not fall into some field.
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        try:
            self.bench.use(ring_id, panels)
        except RingloftError as error:
            self.verdict.setText(f"⚠ {error}")

    def _explain(self, measure: str) -> None:
        lines = how_measure(measure, self.columns, self.bench.project)
        explain(self.table, measure_names()[measure], lines)
