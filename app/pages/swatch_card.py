"""The swatch card: one guided step from a small woven piece to lay, pace, spare and hold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app import messages
from app.document import Document
from app.messages import Question, sentence
from app.pages import swatch_words as words
from app.pages.swatch_parts import CardHead, HoldPart, PacePart, Part, RejectsPart, SizePart
from app.widgets.columns import rule, scrolled
from core import edits
from core.errors import BadValue, RingloftError
from core.panel import Panel
from core.swatches import SwatchTrial, check_trial
from core.texts import _
from core.weave.cells import WEAVES

WIDTH, TALLEST = 560, 860
FRAME_PX = (16, 64)
SIZE_DELAY_MS = 120
"""The nearest sheet takes a while to find: not at every key."""


class SwatchCard(QDialog):
    """Measures one ring in one weave; nothing is kept until it is saved, then in one step.

    Each part may be left empty. What is refused stays as it was typed.

    Args:
        document: the costume.
        ring_id: one of its rings.
        weave_id: the weave to begin with.
        parent: the window.
        panel_id: a panel to offer the size to at once.

    Signals:
        kept: the SwatchTrial that was saved.
    """

    kept = Signal(object)

    def __init__(
        self,
        document: Document,
        ring_id: int,
        weave_id: str,
        parent: QWidget | None,
        panel_id: int | None = None,
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(_("Measure a swatch"))
        self.setAccessibleName(_("Measure a swatch"))
        self._document, self._panel_id = document, panel_id
        self.ring_id = ring_id
        self._begun: tuple[object, ...] = ()
        self.size_part, self.pace_part = SizePart(), PacePart()
        self.rejects_part, self.hold_part = RejectsPart(), HoldPart()
        self.parts: tuple[Part, ...] = (
            self.size_part,
            self.pace_part,
            self.rejects_part,
            self.hold_part,
        )
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(SIZE_DELAY_MS)
        self._later.timeout.connect(self._answer_size)
        self._build(weave_id)
        self._load()
        for part, answer in (
            (self.size_part, self._later.start),
            (self.pace_part, self._answer_pace),
            (self.rejects_part, self._answer_rejects),
            (self.hold_part, self._answer_hold),
        ):
            part.edited.connect(answer)
            part.edited.connect(self._edited)
        self.size_part.nearest.clicked.connect(self._take_nearest)
        self.size_part.swatch.rings.setFocus(Qt.FocusReason.OtherFocusReason)

    # --- building ------------------------------------------------------------------------------

    def _build(self, weave_id: str) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(0)
        self.head = CardHead(self._document.project, self.ring_id)
        self.head.weave.put(weave_id)
        self.head.weave.chosen.connect(self._choose_weave)
        self.head.upright.chosen.connect(self._choose_upright)
        outer.addWidget(self.head)
        outer.addWidget(rule())
        self.area, column = scrolled(_("What to measure"))
        column.setContentsMargins(24, 12, 24, 12)
        column.setSpacing(12)
        for at, part in enumerate(self.parts):
            if at:
                column.addWidget(rule())
            column.addWidget(part)
        column.addStretch(1)
        outer.addWidget(self.area, 1)
        outer.addWidget(rule())
        outer.addLayout(self._foot())
        screen = (self.parentWidget() or self).screen().availableGeometry()
        height = column.sizeHint().height() + 260
        self.resize(
            min(WIDTH, screen.width() - FRAME_PX[0]),
            min(height, TALLEST, screen.height() - FRAME_PX[1]),
        )

    def _foot(self) -> QVBoxLayout:
        foot = QVBoxLayout()
        foot.setContentsMargins(24, 12, 24, 16)
        foot.setSpacing(8)
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "warn")
        self.trouble.setWordWrap(True)
        self.trouble.setTextFormat(Qt.TextFormat.PlainText)
        self.trouble.hide()
        foot.addWidget(self.trouble)
        row = QHBoxLayout()
        row.setSpacing(8)
        self.save = QPushButton(_("Save the swatch"))
        self.save.setDefault(True)
        self.forget = QPushButton(_("Forget it"))
        self.cancel = QPushButton(_("Cancel"))
        for button, slot in (
            (self.save, self._save),
            (self.forget, self._forget),
            (self.cancel, self.reject),
        ):
            button.setAutoDefault(button is self.save)
            button.clicked.connect(slot)
            button.setAccessibleName(button.text())
        self.forget.setAccessibleName(_("Forget what was measured on this swatch"))
        row.addWidget(self.save)
        row.addWidget(self.forget)
        row.addStretch(1)
        row.addWidget(self.cancel)
        foot.addLayout(row)
        return foot

    # --- showing -------------------------------------------------------------------------------

    @property
    def weave_id(self) -> str:
        """The weave the swatch is of."""
        return str(self.head.weave.key())

    def _blank(self) -> SwatchTrial:
        """A trial of the rings and the weave chosen, without any measure."""
        upright = self.head.upright.key() if self._has_upright() else None
        other = upright if isinstance(upright, int) and upright != self.ring_id else None
        return SwatchTrial(self.ring_id, self.weave_id, upright_ring_id=other)

    def _has_upright(self) -> bool:
        return len(WEAVES[self.weave_id].kinds) > 1

    def _panels(self) -> tuple[Panel, ...]:
        """Panels of these rings and this weave."""
        blank = self._blank()
        return tuple(
            p
            for p in self._document.project.panels
            if (p.ring_ids, p.weave) == (blank.ring_ids, blank.weave)
        )

    def _first_upright(self, trial: SwatchTrial | None) -> int:
        """Which ring to show as the upright one: as measured, else as in a panel like it."""
        if trial is not None:
            return trial.ring_ids[-1]
        alike = [
            p
            for p in self._document.project.panels
            if (p.ring_id, p.weave) == (self.ring_id, self.weave_id)
        ]
        alike.sort(key=lambda p: p.id != self._panel_id)
        return alike[0].ring_ids[-1] if alike else self.ring_id

    def _load(self) -> None:
        """Show what is known of this ring in this weave."""
        project = self._document.project
        trial = project.swatch(self.ring_id, self.weave_id)
        self.forget.setVisible(trial is not None)
        self.head.upright.put(self._first_upright(trial))
        self.head.show_upright(self._has_upright())
        shown = trial or self._blank()
        size, unit = shown.swatch, project.unit
        if size is None:
            # A size typed beside a panel is as good a beginning.
            size = next((p.lay.swatch for p in self._panels() if p.id == self._panel_id), None)
        self.size_part.swatch.forget()
        self.size_part.swatch.show_swatch(size, unit)
        for field, value in (
            (self.pace_part.rings, shown.rings_woven),
            (self.pace_part.minutes, shown.minutes),
            (self.rejects_part.bad, shown.bad),
            (self.rejects_part.inspected, shown.inspected),
        ):
            field.show_value(None if value is None else float(value), unit)
            field.restore()
        self.hold_part.hold.put(shown.hold)
        self._show_uses()
        self._begun = self._state()
        self.answer()

    def _show_uses(self) -> None:
        """Offer the size to each panel of this ring and weave; those laid by a swatch have it."""
        self.size_part.uses.put(
            tuple(
                (p.id, p.name, p.lay.kind == "swatch" or p.id == self._panel_id)
                for p in self._panels()
            ),
            after=self.size_part.nearest,
        )

    def _state(self) -> tuple[object, ...]:
        """All that can be lost by leaving."""
        texts = tuple(f.text().strip() for part in self.parts for f in part.entries())
        return (self.weave_id, *texts, self.hold_part.key, self._blank().upright_ring_id)

    @property
    def touched(self) -> bool:
        """Whether leaving would lose anything."""
        return self.pace_part.running or self._state() != self._begun

    def _choose_weave(self, _key: object) -> None:
        """What was typed goes along to the other weave; else what is known of it is shown."""
        if self.pace_part.running or self._state()[1:-1] != self._begun[1:-1]:
            known = self._document.project.swatch(self.ring_id, self.weave_id)
            self.forget.setVisible(known is not None)
            self.head.show_upright(self._has_upright())
            self._show_uses()
            self.answer()
        else:
            self._load()

    def _choose_upright(self, _key: object) -> None:
        self._show_uses()
        self.answer()

    def _edited(self) -> None:
        self._say_trouble(None)

    # --- live answers --------------------------------------------------------------------------

    def answer(self) -> None:
        """Answer all parts now."""
        self._answer_size()
        self._answer_pace()
        self._answer_rejects()
        self._answer_hold()

    def _answer_size(self) -> None:
        self._later.stop()
        answer: words.SizeAnswer | None = None
        try:
            size = self.size_part.swatch.read()
            answer = words.size_answer(self._document.project, replace(self._blank(), swatch=size))
        except RingloftError as error:
            self.size_part.say_error(error)
        else:
            text = answer.text if answer else _("Over ten rings and ten rows a ruler reads best.")
            self.size_part.say(text, warn=answer is not None and answer.nearest is not None)
        self.size_part.uses.setEnabled(answer is not None)
        self.size_part.nearest.setVisible(answer is not None and answer.nearest is not None)

    def _answer(self, part: Part, ready: Callable[[], str], missing: str) -> None:
        """Show an answer once all the part's fields are filled."""
        try:
            every = all(f.read() is not None for f in part.entries())
            part.say(ready() if every else missing if part.filled else "")
        except RingloftError as error:
            part.say_error(error)

    def _answer_pace(self) -> None:
        if self.pace_part.running:
            self.pace_part.say(_("Weave, then stop the time and count the rings."))
            return
        self._answer(
            self.pace_part,
            lambda: words.pace_answer(self._document.project, self._pace_trial()),
            _("Rings and minutes give your pace."),
        )
        if not self.pace_part.said[1] and (doubt := self._pace_doubt()):
            self.pace_part.say(doubt, warn=True)

    def _pace_doubt(self) -> str:
        """What is unlikely about the pace; empty while it cannot be read."""
        try:
            return words.pace_doubt(self._pace_trial())
        except RingloftError:
            return ""

    def _answer_rejects(self) -> None:
        self._answer(
            self.rejects_part,
            lambda: words.rejects_answer(self._document.project, self._rejects_trial()),
            _("Bad and inspected rings give your spare share."),
        )

    def _answer_hold(self) -> None:
        text = words.hold_answer(self._document.project, self.ring_id, self.hold_part.key)
        self.hold_part.say(text, warn=self.hold_part.key in ("lifts", "off"))

    # --- what was typed ------------------------------------------------------------------------

    def _pace_trial(self) -> SwatchTrial:
        rings, minutes = self.pace_part.rings.read(), self.pace_part.minutes.read()
        return replace(
            self._blank(),
            minutes=minutes,
            rings_woven=None if rings is None else int(rings),
        )

    def _rejects_trial(self) -> SwatchTrial:
        bad, inspected = (f.read() for f in self.rejects_part.entries())
        return replace(
            self._blank(),
            bad=None if bad is None else int(bad),
            inspected=None if inspected is None else int(inspected),
        )

    def _read(self) -> SwatchTrial | None:
        """The trial the card stands for; None when a part was refused, which then says why."""
        part: Part = self.size_part
        try:
            size = self.size_part.swatch.read()
            if size is None and not self.size_part.swatch.empty():
                raise BadValue(
                    _("A size needs rings, rows, width and height"),
                    where=_("size"),
                    do=_("Fill in all four, or empty them"),
                )
            sized = replace(self._blank(), swatch=size, hold=self.hold_part.key)
            # Refuses what no mail can have; what is merely unlikely is asked about.
            words.size_answer(self._document.project, sized)
            part = self.pace_part
            pace = self._pace_trial()
            if self.pace_part.filled:
                check_trial(pace)
            part = self.rejects_part
            rejects = self._rejects_trial()
            if self.rejects_part.filled:
                check_trial(rejects)
        except RingloftError as error:
            self._refuse(part, error)
            return None
        return replace(
            sized,
            minutes=pace.minutes,
            rings_woven=pace.rings_woven,
            bad=rejects.bad,
            inspected=rejects.inspected,
        )

    def _refuse(self, part: Part, error: RingloftError) -> None:
        part.say_error(error)
        part.focus_trouble()
        self.area.ensureWidgetVisible(part)

    def _say_trouble(self, error: RingloftError | None) -> None:
        text = "" if error is None else sentence(str(error))
        self.trouble.setText(f"⚠ {text}" if text else "")
        self.trouble.setAccessibleName(text)
        self.trouble.setVisible(bool(text))

    # --- keeping -------------------------------------------------------------------------------

    def _take_nearest(self) -> None:
        """Put the nearest size that can be into the fields."""
        size = self.size_part.swatch.read()
        found = words.size_answer(self._document.project, replace(self._blank(), swatch=size))
        if found is not None and found.nearest is not None:
            self.size_part.swatch.show_swatch(found.nearest, self._document.project.unit)
            self.size_part.swatch.width_mm.setFocus()
            self._answer_size()

    def _size_settled(self, trial: SwatchTrial) -> bool:
        """Whether the size can be, or the maker wants it nevertheless."""
        found = words.size_answer(self._document.project, trial)
        old = self._document.project.swatch(self.ring_id, self.weave_id)
        if found is None or found.nearest is None:
            return True
        if old is not None and (old.swatch, old.ring_ids) == (trial.swatch, trial.ring_ids):
            return True
        answer = messages.ask(
            self,
            Question(
                "choice",
                _("A size that cannot be"),
                found.text,
                _("Measured again, a count or a length may prove wrong; or the ring is another."),
                (
                    ("nearest", _("Use the nearest")),
                    ("keep", _("Keep it as measured")),
                    ("again", _("Measure again")),
                ),
                warning=True,
            ),
        )
        if answer == "nearest":
            self._take_nearest()
        elif answer != "keep":
            self.size_part.swatch.width_mm.setFocus()
            self.size_part.swatch.width_mm.selectAll()
        return answer in ("nearest", "keep")

    def _pace_settled(self, trial: SwatchTrial) -> bool:
        """Whether the pace is likely, as it was before, or the maker wants it nevertheless."""
        doubt = words.pace_doubt(trial)
        old = self._document.project.swatch(self.ring_id, self.weave_id)
        if not doubt or (old is not None and old.ring_s == trial.ring_s):
            return True
        question = Question(
            "choice",
            _("An unlikely pace"),
            doubt,
            choices=(("keep", _("Keep it as timed")), ("again", _("Change it"))),
            warning=True,
        )
        if messages.ask(self, question) == "keep":
            return True
        self.pace_part.rings.setFocus()
        self.pace_part.rings.selectAll()
        return False

    def _save(self) -> None:
        self.pace_part.stop()
        trial = self._read()
        if trial is None or not self._size_settled(trial) or not self._pace_settled(trial):
            return
        trial = self._read() or trial
        if trial.empty and self.forget.isVisibleTo(self):
            self._forget()
            return
        uses = self.size_part.uses.chosen() if trial.swatch else ()
        try:
            self._document.apply(edits.put_swatch(trial, uses), _("swatch"))
        except RingloftError as error:
            self._say_trouble(error)
            return
        self.accept()
        self.kept.emit(trial)

    def _forget(self) -> None:
        """Remove the trial of this ring and weave."""
        self._document.apply(edits.remove_swatch(self.ring_id, self.weave_id), _("forget swatch"))
        self.accept()

    def reject(self) -> None:
        """Leave; what was typed is asked about first."""
        if self.touched:
            answer = messages.ask(
                self,
                Question(
                    "choice",
                    _("Measure a swatch"),
                    _("Save what you measured first?"),
                    _("What is not saved is lost."),
                    (("save", _("Save")), ("drop", _("Discard")), ("back", _("Cancel"))),
                ),
            )
            if answer == "save":
                self._save()
                return
            if answer != "drop":
                return
        super().reject()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter presses the button that has the focus, and saves from anywhere else."""
        focus = self.focusWidget()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and isinstance(focus, QPushButton):
            focus.click()
            event.accept()
            return
        super().keyPressEvent(event)
