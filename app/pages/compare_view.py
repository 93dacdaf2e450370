"""Rings and weaves side by side: mail at one true scale, the numbers, what they come to."""

from __future__ import annotations

import html

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.pages.bench import ANOTHER, Bench
from app.pages.compare_card import SlotCard, small_label
from app.pages.compare_table import TEXT_INSET, CompareTable
from app.pages.compare_words import how_measure, pace_note, row_name, verdict, weave_text
from app.pages.scale_bar import ScaleBar
from app.pages.slots import LETTERS, MOST_COMPARED
from app.pages.true_size_card import check_size
from app.widgets.explain import explain
from app.widgets.segment import ScopeSegment
from core.compare import Column, compare, scope_panels, woven_from
from core.errors import RingloftError
from core.panel import Panel
from core.project import Project
from core.tally import lay_names
from core.texts import _, ngettext

NARROW = 780
"""Width below which the parts stack."""

NARROW_CARD_PX = 144
"""The least height of a card with its caption beside the mail."""

LEAST_NUMBERS_PX = 372
"""The least height of the numbers, the verdict in two lines and the buttons."""

LOW = 620
"""Height below which two rows of rings have room for few words."""

RANGE_DELAY_MS = 200


def _begin_words() -> str:
    """How to begin, each way a link."""
    return _("There is no panel to compare yet. {draw}, or {sample}.").format(
        draw=f'<a href="panel.outline">{html.escape(_("Draw a panel"))}</a>',
        sample=f'<a href="file.sample">{html.escape(_("open a sample"))}</a>',
    )


class _Body(QWidget):
    """The parts; they scroll only where even their least height does not fit.

    Attributes:
        least_px: a height they are never given less than.
    """

    least_px = 0

    def heightForWidth(self, _width: int) -> int:
        """The least height, where a scroll area would ask for the preferred one."""
        layout = self.layout()
        return -1 if layout is None else max(layout.minimumSize().height(), self.least_px)


class CompareView(QWidget):
    """Two to four rings side by side, for the selected panel or the costume.

    Signals:
        another: a new ring to compare was asked for and is in hand.
        begun: the key of an action to begin with, where there is nothing to compare yet.
    """

    another = Signal()
    begun = Signal(str)

    def __init__(self, bench: Bench, hub: look.ThemeHub) -> None:
        super().__init__()
        self.bench = bench
        self.columns: tuple[Column, ...] = ()
        self._after: tuple[str, Project] | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 6, 24, 6)
        column.setSpacing(6)
        column.addLayout(self._head())
        self.empty = QLabel()
        self.empty.setProperty("kind", "card")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self.empty.setFixedHeight(96)
        self.empty.setTextFormat(Qt.TextFormat.RichText)
        self.empty.setTextInteractionFlags(
            Qt.TextInteractionFlag.LinksAccessibleByMouse
            | Qt.TextInteractionFlag.LinksAccessibleByKeyboard
        )
        self.empty.linkActivated.connect(self.begun)
        column.addWidget(self.empty)
        self.body = _Body()
        row = QHBoxLayout(self.body)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(24)
        row.addLayout(self._swatches(), 53)
        row.addLayout(self._numbers(), 47)
        self._sides = row
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.body.setProperty("kind", "canvas")
        self.area.setAccessibleName(_("The compared rings and their numbers"))
        self.area.setWidget(self.body)
        column.addWidget(self.area, 1)
        self._filler = QWidget()
        column.addWidget(self._filler, 1)
        self._stale = True
        # Ranges take a few times as long as the rest: not while something is still changing.
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(RANGE_DELAY_MS)
        self._later.timeout.connect(self._show_ranges)
        bench.changed.connect(self.follow)
        hub.theme_changed.connect(self.follow)
        self.follow()

    def _head(self) -> QHBoxLayout:
        head = QHBoxLayout()
        head.setSpacing(12)
        title = QLabel(_("Compare"))
        title.setFont(look.font(look.PX_SECTION, bold=True))
        head.addWidget(title)
        self.scope = ScopeSegment(_("Compare for"), _("Compare for {name}"), 140)
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
        self._grid.setHorizontalSpacing(16)
        self._grid.setVerticalSpacing(8)
        self.cards: list[SlotCard] = []
        for at in range(MOST_COMPARED):
            card = SlotCard(LETTERS[at])
            card.chosen.connect(lambda key, at=at: self._chosen(at, key))
            card.weave_chosen.connect(lambda key, at=at: self.bench.choose_weave(at, key))
            card.upright_chosen.connect(lambda key, at=at: self._upright_chosen(at, key))
            card.dropped.connect(lambda at=at: self.bench.drop_slot(at))
            self._grid.addWidget(card, at // 2, at % 2)
            self.cards.append(card)
        for at in range(2):
            self._grid.setColumnStretch(at, 1)
        column.addLayout(self._grid, 1)
        self.bar = ScaleBar()
        self.bar.check_asked.connect(self._check_size)
        column.addWidget(self.bar)
        return column

    def _numbers(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(6)
        self.table = CompareTable()
        self.table.asked.connect(self._explain)
        column.addWidget(self.table, 1)
        self.note = QLabel()
        self.note.setProperty("kind", "note")
        self.note.setFont(look.font(look.PX_LABEL))
        self.note.setContentsMargins(TEXT_INSET, 0, 0, 0)
        column.addWidget(self.note)
        self.verdict = QLabel()
        self.verdict.setWordWrap(True)
        self.verdict.setContentsMargins(TEXT_INSET, 0, 0, 0)
        self.verdict.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.verdict)
        self.why = small_label()
        self.why.setContentsMargins(TEXT_INSET, 0, 0, 0)
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self.why, 1)
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
        choices = bench.choices()
        trouble = ""
        self.columns = ()
        try:
            scope_panels(project, self.panel_id)
            self.columns = compare(project, choices, self.panel_id)
        except RingloftError as error:
            trouble = html.escape(str(error)) if project.panels else _begin_words()
        self.empty.setText(trouble)
        self.empty.setVisible(bool(trouble))
        self.area.setVisible(not trouble)
        self.add.setEnabled(not trouble and len(choices) < MOST_COMPARED)
        self._filler.setVisible(bool(trouble))
        self.subtitle.setText("")
        if trouble:
            return
        first, panels = self.columns[0], scope_panels(project, self.panel_id)
        # A swatch holds only in its own ring, so the columns may lie differently.
        unlike = any(c.lay.kind != first.lay.kind for c in self.columns)
        words = [] if len({c.weave.id for c in self.columns}) > 1 else [weave_text(first)]
        words += [] if unlike else [lay_names()[first.lay.kind]]
        self.subtitle.setText(", ".join(words))
        for at, card in enumerate(self.cards):
            card.setVisible(at < len(self.columns))
            if at < len(self.columns):
                used = any(self._woven_so(p, at) for p in panels)
                card.show_column(self.columns[at], bench, at, panels, used=used, with_lay=unlike)
        self.bar.put(project.unit)
        self.table.compare_model.put(self.columns, project)
        self.note.setText(pace_note(self.columns))
        self._later.start()
        self._arrange()
        self._say(verdict(self.columns, project))
        self._name_buttons()

    def _show_ranges(self) -> None:
        self.table.compare_model.put_ranges()
        self.table.fit()

    def _woven_so(self, panel: Panel, at: int) -> bool:
        """Whether a panel is woven now as compared in a place."""
        return woven_from(self.bench.project, panel, self.columns[at].choice) is panel

    def _arrange(self) -> None:
        """In a narrow window the rings stand one below another, their captions beside the mail."""
        count = len(self.columns)
        if not count:
            return
        narrow = self.width() < NARROW
        low = count > 2 and self.height() < LOW
        self.table.set_narrow(narrow)
        self.body.least_px = max(count * NARROW_CARD_PX if narrow else 0, LEAST_NUMBERS_PX)
        self.body.updateGeometry()
        for at, card in enumerate(self.cards):
            place = (at, 0) if narrow else (at // 2, at % 2)
            if self._grid.itemAtPosition(*place) is not self._grid.itemAt(self._grid.indexOf(card)):
                self._grid.addWidget(card, *place)
            card.set_beside(narrow, brief=count > 2 if narrow else low)
            pair = self.cards[at // 2 * 2 : at // 2 * 2 + 2]
            aligned = not narrow and card.problem.isHidden()
            card.reserve(aligned and any(not c.upright.isHidden() for c in pair))
        rows = count if narrow else (count + 1) // 2
        for at in range(MOST_COMPARED):
            self._grid.setRowStretch(at, 1 if at < rows else 0)
        self._grid.setColumnStretch(1, 0 if narrow else 1)
        # With more rings the numbers need more room, and the swatches less.
        share = {2: 56, 3: 58, 4: 67}[count] if narrow else {2: 47, 3: 54, 4: 58}[count]
        self._sides.setStretch(0, 100 - share)
        self._sides.setStretch(1, share)
        self.table.fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The parts fit the width."""
        super().resizeEvent(event)
        self._arrange()

    def _name_scope(self) -> None:
        panel = self.bench.panel()
        self.scope.name_panel(panel.name if panel else None)
        self.scope.button("panel").setEnabled(panel is not None)
        if panel is None:
            self.scope.put("costume")

    def _say(self, text: str) -> None:
        self.verdict.setText(text)
        self.verdict.setAccessibleName(_("Verdict: {text}").format(text=text))

    def _name_buttons(self) -> None:
        project = self.bench.project
        panels = scope_panels(project, self.panel_id)
        able = sum(column.problem is None for column in self.columns)
        reasons = []
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
            used = all(self._woven_so(p, at) for p in panels)
            button.setEnabled(column.problem is None and not used)
            button.setToolTip(full)
            if column.problem is not None:
                button.setToolTip(str(column.problem))
                if able < 2:
                    # The verdict says it.
                    continue
                reasons.append(_("{letter} cannot be woven here.").format(letter=letter))
            elif used:
                who = _("Every panel") if self.panel_id is None else panels[0].name
                reasons.append(
                    _("{panel} is woven as {letter} now.").format(panel=who, letter=letter)
                )
        if self._after is not None and self._after[1] is project:
            reasons.append(self._after[0])
        self.why.setText(" ".join(reasons))

    # --- what the maker does -------------------------------------------------------------------

    def _scope_chosen(self, _key: str) -> None:
        self.follow()

    def _chosen(self, at: int, key: object) -> None:
        if key == ANOTHER:
            self.bench.choose(at, None)
            self.another.emit()
        elif isinstance(key, int):
            self.bench.choose(at, key)

    def _upright_chosen(self, at: int, key: object) -> None:
        if key is None or isinstance(key, int | str):
            self.bench.choose_upright(at, key)
        if key == ANOTHER:
            self.another.emit()

    def show_woven(self, weave_id: str) -> None:
        """Compare the ring in hand in a weave, and go there."""
        at = self.bench.compare_woven(weave_id)
        self.cards[at].weave.setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self) -> None:
        before = set(self.bench.slots)
        self.bench.add_slot()
        added = [i for i in self.bench.slots if i not in before]
        if added and not self.bench.in_costume(added[0]):
            self.bench.take(added[0])
            self.another.emit()

    def _use(self, at: int) -> None:
        panels = scope_panels(self.bench.project, self.panel_id)
        # The button is about to be disabled; the keyboard must not fall into some field.
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)
        try:
            relaid = self.bench.use(at, panels)
        except RingloftError as error:
            self.verdict.setText(f"⚠ {error}")
            return
        if relaid:
            words = ngettext(
                "{panel} is laid now: its swatch told only about how it was woven before.",
                "{n} panels are laid now: their swatches told only about how they were woven"
                " before.",
                len(relaid),
            )
            text = words.format(panel=relaid[0].name, n=len(relaid))
            self._after = (text, self.bench.project)
            self._name_buttons()

    def _check_size(self) -> None:
        check_size(self.window(), self.bench.project.unit)

    def _explain(self, measure: str) -> None:
        lines = how_measure(measure, self.columns, self.bench.project)
        explain(self.table, row_name(measure, self.columns), lines)
