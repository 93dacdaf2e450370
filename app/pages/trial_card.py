"""The trial coil: rings of one winding, measured one after another, and what they tell."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from app import messages
from app import theme as look
from app.figures import split_unit
from app.messages import Question
from app.pages.ring_cards import RingCard, Take, keep_room, tidy_length
from app.pages.trial_plot import TrialPlot
from app.widgets import fields
from app.widgets.columns import add_row, form_layout, note
from core import units
from core.errors import BadValue, RingloftError
from core.ring import GROWTH_SPREAD, Ring, RingSpec, ring_from_mandrel, spring_yield_mpa
from core.texts import _, ngettext
from core.trial_coil import (
    LARGE_SPREAD,
    MIN_RINGS,
    TrialCoil,
    check_coil,
    check_span_mm,
    check_trial_coil,
)
from core.wire import MM_PER_IN, metal

FIELDS, PER_ROW, WIDTH = 10, 5, 660
REMARK_PX = 12
"""What the sheet pads a caution with, above and below."""


def _show_caliper(mm: float, unit: str) -> str:
    """As a caliper reads: 0.01 mm or 0.0001 in, without noughts at the end."""
    text = f"{mm / MM_PER_IN:.4f}" if unit == "in" else f"{mm:.2f}"
    return text.rstrip("0").rstrip(".")


CALIPER = replace(fields.LENGTH, show=_show_caliper, step=0.01)


class RingField(fields.QuantityField):
    """The inner diameter of one ring; Enter goes on to the next, and in an empty one to "Use".

    Signals:
        done: Enter was pressed on a ring that can be read.
    """

    done = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keep Enter from the window's button while there is a ring in the field."""
        super().keyPressEvent(event)
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.text().strip():
            event.accept()
            if not self.bad:
                self.done.emit()


class Facts(QWidget):
    """What follows from the rings, a line each."""

    KEYS = ("mean", "spread", "growth", "yield", "here")

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(4)
        grid.setHorizontalSpacing(16)
        names = (_("Mean inner ⌀"), _("Spread"), _("Growth"), _("Yield"), _("This ring"))
        self.values: dict[str, QLabel] = {}
        for row, (key, name) in enumerate(zip(self.KEYS, names, strict=True)):
            value = QLabel("—")
            value.setTextFormat(Qt.TextFormat.PlainText)
            value.setFont(look.font(look.PX_BODY, bold=key == "mean"))
            value.setAccessibleName(name)
            grid.addWidget(note(name), row, 0)
            grid.addWidget(value, row, 1)
            self.values[key] = value
        grid.setColumnStretch(1, 1)

    def put(self, texts: dict[str, str]) -> None:
        """Show texts; a dash where there is none."""
        for key, value in self.values.items():
            value.setText(texts.get(key, "—"))
            value.setAccessibleDescription(value.text())


class TrialCard(RingCard):
    """Asks for a rod and for rings; "Use" keeps them with the ring."""

    def __init__(self, parent: QWidget, spec: RingSpec, unit: str, take: Take) -> None:
        super().__init__(parent, _("Trial coil"), spec, unit, take)
        how = QLabel(
            _(
                "Wind one coil of {wire} {metal}, let it spring back and cut it. Measure across"
                " the rings as they fall, before you close them: {n} at least."
            ).format(wire=self._wire(spec.wire_mm), metal=_(metal(spec.metal).name), n=MIN_RINGS)
        )
        how.setWordWrap(True)
        self.column.addWidget(how)
        form = form_layout()
        self.mandrel = fields.QuantityField(
            _("Mandrel of the trial coil"), fields.LENGTH, optional=True
        )
        add_row(form, _("Mandrel"), self.mandrel)
        self.rings = tuple(
            RingField(_("Ring {n}, inner diameter").format(n=n), CALIPER, optional=True)
            for n in range(1, FIELDS + 1)
        )
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(6)
        for at, field in enumerate(self.rings):
            field.setPlaceholderText(str(at + 1))
            grid.addWidget(field, at // PER_ROW, at % PER_ROW)
        box = QWidget()
        box.setLayout(grid)
        box.setFocusProxy(self.rings[0])
        add_row(form, _("Inner ⌀"), box)
        self.column.addLayout(form)
        self.kept = note("")
        self.kept.setWordWrap(True)
        self.column.addWidget(self.kept)
        self.plot = TrialPlot()
        self.column.addWidget(self.plot)
        self.facts = Facts()
        self.column.addWidget(self.facts)
        self.remark = QLabel()
        self.remark.setProperty("kind", "caution")
        self.remark.setWordWrap(True)
        keep_room(self.remark, REMARK_PX)
        self.column.addWidget(self.remark)
        self.column.addStretch(1)
        self.forget = QPushButton(_("Forget the trial coil"))
        self.forget.setAccessibleName(_("Forget the trial coil"))
        self.forget.setVisible(spec.trial is not None)
        self.forget.clicked.connect(lambda: self.give(replace(self.spec, trial=None)))
        self.add_foot(_("Use"), self.forget)
        self.use.setAccessibleName(_("Use the trial coil"))
        self._begin()
        self._connect()
        self.resize(WIDTH, self.sizeHint().height())
        self.grow()

    def _wire(self, mm: float) -> str:
        return units.format_wire(mm, "", self.unit)

    def _begin(self) -> None:
        spec, trial = self.spec, self.spec.trial
        rod = spec.mandrel_mm
        same = trial is not None and trial.winds(rod, spec.wire_mm, spec.metal)
        shown: tuple[float, ...] = ()
        if trial is not None and same:
            rod, shown = trial.mandrel_mm, trial.inner_mm
        self.mandrel.show_value(rod, self.unit)
        for at, field in enumerate(self.rings):
            field.show_value(shown[at] if at < len(shown) else None, self.unit)
        # A file may hold more rings than there are fields: those stay unless one is changed.
        self._more = shown[FIELDS:]
        self._start = self._texts()
        self.kept.setVisible(trial is not None and not same)
        if trial is not None and not same:
            self.kept.setText(
                _(
                    "Kept now: a trial coil of {wire} {metal} on {rod}, mean {mean}. A new one"
                    " takes its place."
                ).format(
                    wire=self._wire(trial.wire_mm),
                    metal=_(metal(trial.metal).name),
                    rod=tidy_length(trial.mandrel_mm, self.unit),
                    mean=units.format_length(trial.mean_mm, self.unit),
                )
            )
        self.remark.hide()
        self._derive()
        first = self.mandrel if rod is None else self.rings[0]
        first.setFocus(Qt.FocusReason.OtherFocusReason)
        first.selectAll()

    def _connect(self) -> None:
        for edit in (self.mandrel, *self.rings):
            edit.textEdited.connect(self._derive)
            edit.valued.connect(self._derive)
            edit.refused.connect(self._derive)
        for field, following in zip(self.rings, self.rings[1:], strict=False):
            field.done.connect(lambda to=following: self._go_on(to))
        self.rings[-1].done.connect(lambda: self.use.setFocus(Qt.FocusReason.TabFocusReason))

    def _go_on(self, to: RingField) -> None:
        to.setFocus(Qt.FocusReason.TabFocusReason)
        to.selectAll()

    def _texts(self) -> tuple[str, ...]:
        return tuple(field.text().strip() for field in (self.mandrel, *self.rings))

    # --- what follows --------------------------------------------------------------------------

    def _rod(self) -> float:
        rod = self.mandrel.read()
        if rod is None:
            raise BadValue(
                _("no rod is given"),
                where=_("mandrel of the trial coil"),
                do=_("Type the diameter of the rod the coil was wound on"),
            )
        check_span_mm(rod, _("mandrel of the trial coil"))
        return rod

    def _ring(self, at: int, rod_mm: float) -> float | None:
        """One ring; None for an empty field. Raises with the ring's number."""
        where = _("ring {n} of the trial coil").format(n=at + 1)
        try:
            mm = self.rings[at].read()
        except RingloftError as error:
            raise BadValue(error.what, where, error.do) from error
        if mm is not None:
            check_coil(mm, rod_mm, where)
        return mm

    def trial(self) -> TrialCoil:
        """The trial as it stands; raises BadValue with the first thing that is wrong."""
        rod = self._rod()
        found = [self._ring(at, rod) for at in range(FIELDS)]
        rings = (*(mm for mm in found if mm is not None), *self._more)
        return check_trial_coil(TrialCoil(rod, rings, self.spec.wire_mm, self.spec.metal))

    def _derive(self, *_ignored: object) -> None:
        """Follow what is typed; a ring still being typed is not judged yet."""
        trouble: RingloftError | None = None
        rings: list[float] = []
        rod: float | None = None
        try:
            rod = self._rod()
        except RingloftError as error:
            trouble = error if self.mandrel.text().strip() and not self.mandrel.hasFocus() else None
        for at, field in enumerate(self.rings):
            try:
                mm = self._ring(at, rod or 0.0)
            except RingloftError as error:
                trouble = trouble or (None if field.hasFocus() and not field.bad else error)
                continue
            if mm is not None:
                rings.append(mm)
        self.say_trouble(trouble)
        self._show(rod, (*rings, *self._more))

    def _show(self, rod: float | None, rings: tuple[float, ...]) -> None:
        model = None if rod is None else self._modelled(rod)
        band = None if model is None or not rings else model.inner_range_mm
        self.plot.put(rod, rings, band, self.unit)
        self.remark.hide()
        if rod is None or not rings:
            self.facts.put({})
            return
        trial = TrialCoil(rod, rings, self.spec.wire_mm, self.spec.metal)
        texts = {"mean": self._mean_text(trial)}
        if trial.count >= MIN_RINGS:
            texts |= self._told(trial, model)
            self._show_remark(trial)
        self.facts.put(texts)

    def _modelled(self, rod_mm: float, trial: TrialCoil | None = None) -> Ring | None:
        """The coil on a rod before any kerf, by the metal's table or as a trial calibrates it."""
        spec = self.spec
        try:
            return ring_from_mandrel(spec.wire_mm, rod_mm, metal(spec.metal), trial=trial)
        except RingloftError:
            return None

    def _length(self, mm: float) -> str:
        """A length to compare with others: no fractions, and a place more than a caliper."""
        if self.unit == "in":
            return f"{mm / MM_PER_IN:.4f}{units.SPACE}in"
        return units.format_length(mm, "mm", 3)

    def _read(self, mm: float) -> str:
        """A diameter as a caliper shows it."""
        return units.format_length(mm, self.unit, 4 if self.unit == "in" else 2)

    def _mean_text(self, trial: TrialCoil) -> str:
        mean = self._read(trial.mean_mm)
        if trial.count >= MIN_RINGS:
            words = ngettext("{mean}, of {n} ring", "{mean}, of {n} rings", trial.count)
        else:
            words = ngettext(
                "{mean}, of {n} ring; measure {least} at least",
                "{mean}, of {n} rings; measure {least} at least",
                trial.count,
            )
        return words.format(mean=mean, n=trial.count, least=MIN_RINGS)

    def _told(self, trial: TrialCoil, model: Ring | None) -> dict[str, str]:
        low, high = trial.range_mm
        texts = {
            "spread": _("{sd} standard deviation; {low} to {high}, {p:.1f} % of the mean").format(
                sd=self._length(trial.sd_mm),
                low=split_unit(self._read(low))[0],
                high=self._read(high),
                p=trial.spread_ratio * 100,
            )
        }
        grown = self._length(trial.mean_mm - trial.mandrel_mm).replace("-", units.MINUS)
        if model is None:
            texts["growth"] = _("{mm}; the metal’s table says it makes no ring").format(mm=grown)
        else:
            texts["growth"] = _("{mm}; model {model} ± {p:.0f} %").format(
                mm=grown, model=self._length(model.growth_mm), p=GROWTH_SPREAD * 100
            )
        of = metal(self.spec.metal)
        found = spring_yield_mpa(trial, of)
        low, high = of.yield_range_mpa
        if found is None:
            texts["yield"] = _("no spring-back to learn from; the metal’s {y:g} MPa stays").format(
                y=of.yield_mpa
            )
        else:
            words = _(
                "{y:.0f} MPa; the metal’s table {table:g}, soft to hard {low:g} to {high:g} MPa"
            )
            texts["yield"] = words.format(y=found, table=of.yield_mpa, low=low, high=high)
        texts["here"] = self._here(trial)
        return texts

    def _here(self, trial: TrialCoil) -> str:
        """What the trial makes of the ring in hand, beside what the model alone makes of it."""
        rod_mm = self.spec.mandrel_mm or trial.mandrel_mm
        found, model = self._modelled(rod_mm, trial), self._modelled(rod_mm)
        if found is None:
            return _("on {rod} it makes no ring").format(rod=tidy_length(rod_mm, self.unit))
        less = self.spec.kerf_mm / math.pi
        words = _("{inner} inside on {rod}; model {model}")
        if self.spec.inner_measured_mm is not None and not found.measured:
            words = _("{inner} inside on {rod}; model {model}; the typed measure comes first")
        return words.format(
            inner=self._read(found.inner_mm - less),
            rod=tidy_length(rod_mm, self.unit),
            model="—" if model is None else self._read(model.inner_mm - less),
        )

    def _show_remark(self, trial: TrialCoil) -> None:
        text = self._doubt(trial)
        if not text:
            return
        self.remark.setText(f"⚠ {text}")
        self.remark.setAccessibleName(self.remark.text())
        self.remark.show()
        self.grow()

    def _doubt(self, trial: TrialCoil) -> str:
        """What is unlikely about the rings, the first thing first; empty when nothing is."""
        if trial.odd_at is not None:
            words = _("Ring {n}, {mm}, is far from the others: is it a slip? Measure it again.")
            return words.format(n=trial.odd_at + 1, mm=self._read(trial.inner_mm[trial.odd_at]))
        if trial.uneven:
            return _(
                "The rings differ by more than {p:.0f} % (common practice, no source): measure"
                " again, or clamp the rod and wind another coil."
            ).format(p=LARGE_SPREAD * 100)
        of = metal(self.spec.metal)
        found, (low, high) = spring_yield_mpa(trial, of), of.yield_range_mpa
        if found is not None and not low <= found <= high:
            return _(
                "A yield of {y:.0f} MPa is outside soft to hard for this metal: is it another"
                " metal, wire or rod?"
            ).format(y=found)
        return ""

    # --- the answer ----------------------------------------------------------------------------

    def made(self) -> RingSpec:
        """The ring with this trial; a ring without a rod gets the trial's."""
        try:
            trial = self.trial()
        except RingloftError:
            self._to_what_is_wrong()
            raise
        spec = replace(self.spec, trial=trial)
        if spec.mandrel_mm is None:
            spec = replace(spec, mandrel_mm=trial.mandrel_mm)
        if trial.winds(spec.mandrel_mm, spec.wire_mm, spec.metal):
            # The trial says it better than the one number typed before.
            spec = replace(spec, inner_measured_mm=None)
        return spec

    def _to_what_is_wrong(self) -> None:
        try:
            rod = self._rod()
        except RingloftError:
            self.mandrel.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        for at, field in enumerate(self.rings):
            try:
                empty = self._ring(at, rod) is None
            except RingloftError:
                empty = True
            if empty:
                field.setFocus(Qt.FocusReason.OtherFocusReason)
                field.selectAll()
                return

    def reject(self) -> None:
        """Esc and Cancel; rings that were typed are not thrown away without a question."""
        typed = self._texts()
        if typed != self._start and any(typed[1:]):
            question = Question(
                "choice",
                self.windowTitle(),
                _("Throw the measured rings away?"),
                choices=(("away", _("Throw away")), ("stay", _("Keep measuring"))),
            )
            if messages.ask(self, question) != "away":
                return
        super().reject()
