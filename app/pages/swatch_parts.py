"""The head and the four parts of the swatch card: size, pace, rejects and how it holds on the pad.

Each part has a head, a line that says what it feeds, its fields and a live answer.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import cast

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.messages import sentence
from app.pages.swatch_fields import COUNT_WIDTH, SwatchFields
from app.widgets import fields
from app.widgets.columns import add_row, form_layout, note, section
from app.widgets.segment import Segment
from core import units
from core.errors import BadValue, RingloftError
from core.project import Project
from core.ring import RingSpec, resolve
from core.swatches import MOST_COUNT, MOST_MINUTES, Hold
from core.texts import _
from core.weave.cells import WEAVES

LENGTH_WIDTH = 132


def read_minutes(text: str) -> float:
    """Minutes from "9", "9.5", "9,5 min" or "9:30"; raises BadValue with words."""
    bare = text.strip().lower().removesuffix("min").strip().replace(",", ".")
    clock = re.fullmatch(r"(\d{1,5}):([0-5]?\d)", bare, re.ASCII)
    if clock:
        minutes = int(clock[1]) + int(clock[2]) / 60
    elif re.fullmatch(r"\d{1,9}(\.\d{0,9})?|\.\d{1,9}", bare, re.ASCII):
        minutes = float(bare)
    else:
        raise BadValue(
            _("“{text}” is not a time in minutes").format(text=text.strip()[:20]),
            do=_("Type minutes such as 9, 9.5 or 9:30"),
        )
    if not 0 < minutes <= MOST_MINUTES:
        raise BadValue(
            _("The time must be more than nothing"), do=_("Type minutes such as 9, 9.5 or 9:30")
        )
    return minutes


MINUTES = fields.Quantity(
    lambda text, _unit: read_minutes(text),
    lambda value, _unit: f"{value:.2f}".rstrip("0").rstrip("."),
    lambda _unit: _("min"),
)


class CardHead(QWidget):
    """Which ring, in which weave; in weaves of flat and upright rings, which ring stands."""

    def __init__(self, project: Project, ring_id: int) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 16, 24, 12)
        column.setSpacing(8)
        spec = project.ring(ring_id)
        self._said = _("Ring: {name}").format(name=spec.name)
        self.ring = QLabel(self._said)
        self.ring.setAccessibleName(self._said)
        self.ring.setTextFormat(Qt.TextFormat.PlainText)
        self.ring.setFont(look.font(look.PX_BODY, bold=True))
        self.ring.setToolTip(spec.name)
        # A long name is cut short rather than widening the card.
        self.ring.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        first = QHBoxLayout()
        first.setSpacing(12)
        first.addWidget(self.ring, 1)
        first.addWidget(note(ring_facts(project, spec)))
        column.addLayout(first)
        self.weave = fields.Combo(_("Weave"), tuple((w.id, _(w.name)) for w in WEAVES.values()))
        self.upright = fields.Combo(_("Upright ring"), tuple((r.id, r.name) for r in project.rings))
        form = form_layout()
        column.addLayout(form)
        for text, combo in ((_("Weave"), self.weave), (_("Upright ring"), self.upright)):
            combo.setMinimumHeight(look.CONTROL_HEIGHT)
            add_row(form, text, combo)
        self._form = form
        how = note(
            _("Weave a small piece, lay it on a bit of the pad, and fill in what you measured.")
        )
        how.setWordWrap(True)
        column.addWidget(how)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The ring's name takes what room there is."""
        super().resizeEvent(event)
        room, elide = self.ring.width(), Qt.TextElideMode.ElideRight
        self.ring.setText(self.ring.fontMetrics().elidedText(self._said, elide, room))

    def show_upright(self, on: bool) -> None:
        """Offer the upright ring, or not."""
        self._form.setRowVisible(self.upright, on)


def ring_facts(project: Project, spec: RingSpec) -> str:
    """Wire and inner diameter, in short."""
    wire = units.format_wire(spec.wire_mm, spec.wire_label, project.unit)
    try:
        inner = units.format_length(resolve(spec).inner_mm, project.unit)
    except RingloftError:
        return wire
    return _("{wire}, {inner} inside").format(wire=wire, inner=inner)


class Part(QWidget):
    """One section of the card.

    Attributes:
        said: the live answer, and whether it is a caution.

    Signals:
        edited: something else stands in it.
    """

    edited = Signal()

    def __init__(self, number: int, title: str, feeds: str) -> None:
        super().__init__()
        self.setAccessibleName(title)
        self.said = ("", False)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(6)
        head = QHBoxLayout()
        head.setSpacing(8)
        self.head = section(_("{n}  {title}").format(n=number, title=title))
        self.feeds = note(feeds)
        self.feeds.setFont(look.font(look.PX_UNIT))
        head.addWidget(self.head)
        head.addStretch(1)
        head.addWidget(self.feeds)
        self.column.addLayout(head)
        self.answer = note("")
        self.caution = QLabel()
        self.caution.setProperty("kind", "warn")
        self.caution.hide()
        for label in (self.answer, self.caution):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)

    def add_answer(self) -> None:
        """Put the live answer at the end; it keeps room for a line, so that little jumps."""
        self.answer.setMinimumHeight(self.answer.fontMetrics().lineSpacing() + 2)
        self.column.addWidget(self.answer)
        self.column.addWidget(self.caution)

    def say(self, text: str, warn: bool = False) -> None:
        """Show an answer, or a caution."""
        if self.said != (text, warn):
            label = self.caution if warn else self.answer
            label.setText(f"⚠ {text}" if warn else text)
            label.setAccessibleName(text)
            self.said = (text, warn)
        self.answer.setVisible(not warn)
        self.caution.setVisible(warn)

    def say_error(self, error: RingloftError) -> None:
        """Say why what stands there cannot be used."""
        self.say(sentence(str(error)), warn=True)

    def entries(self) -> tuple[fields.QuantityField, ...]:
        """The fields to type in."""
        return ()

    @property
    def filled(self) -> bool:
        """Whether anything stands in it."""
        return any(field.text().strip() for field in self.entries())

    def focus_trouble(self) -> None:
        """Carry the keyboard to the field that cannot be used: a bad one, else an empty one."""
        every = self.entries()
        for field in every:
            try:
                if field.read() is None:
                    break
            except RingloftError as error:
                field.refuse(error)
                break
        else:
            field = every[0]
        field.setFocus()
        field.selectAll()


class PanelUses(QWidget):
    """A box for each panel that may take the size as its lay."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(_("Use this size for"))
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(2)
        self._boxes: dict[int, QCheckBox] = {}

    def put(self, panels: tuple[tuple[int, str, bool], ...], after: QWidget) -> None:
        """Show panels by id, name and whether they are ticked; Tab comes to them from `after`."""
        while (item := self._column.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self._boxes = {}
        self.setVisible(bool(panels))
        if panels:
            self._column.addWidget(note(_("Use this size for:")))
        for panel_id, name, ticked in panels:
            box = QCheckBox(name.replace("&", "&&"))
            box.setAccessibleName(_("Use this size for {panel}").format(panel=name))
            box.setChecked(ticked)
            self._column.addWidget(box)
            self._boxes[panel_id] = box
            QWidget.setTabOrder(after, box)
            after = box

    def box(self, panel_id: int) -> QCheckBox:
        """The box of a panel."""
        return self._boxes[panel_id]

    def chosen(self) -> tuple[int, ...]:
        """Ids of the ticked panels."""
        return tuple(i for i, box in self._boxes.items() if box.isChecked())


class SizePart(Part):
    """How large a piece of so many rings is."""

    def __init__(self) -> None:
        super().__init__(1, _("Size"), _("feeds the lay: how many rings a panel takes"))
        self.swatch = SwatchFields(link=False)
        self.swatch.edited.connect(self.edited)
        for field in (self.swatch.width_mm, self.swatch.height_mm):
            field.setFixedWidth(LENGTH_WIDTH)
        self.column.addWidget(self.swatch)
        self.nearest = QPushButton(_("Use the nearest that can be"))
        self.nearest.setProperty("kind", "link")
        self.nearest.setAutoDefault(False)
        self.nearest.setAccessibleName(_("Use the nearest size that can be"))
        self.nearest.hide()
        self.add_answer()
        row = QHBoxLayout()
        row.addWidget(self.nearest)
        row.addStretch(1)
        self.column.addLayout(row)
        self.uses = PanelUses()
        self.column.addWidget(self.uses)

    def entries(self) -> tuple[fields.QuantityField, ...]:
        """Rings, width, rows, height."""
        return self.swatch.entries()


class PacePart(Part):
    """How many rings are woven in how many minutes, with a stopwatch.

    `clock` gives seconds that only ever grow.
    """

    def __init__(self) -> None:
        super().__init__(2, _("Pace"), _("feeds the hours: opening, closing and weaving"))
        self.clock: Callable[[], float] = time.monotonic
        self._began: float | None = None
        self._before_min = 0.0
        self.rings = fields.QuantityField(
            _("Rings woven"), fields.count(1, MOST_COUNT), optional=True
        )
        self.minutes = fields.QuantityField(_("Minutes for those rings"), MINUTES, optional=True)
        self.minutes.setFixedWidth(LENGTH_WIDTH)
        self.watch = QPushButton()
        self.watch.setAutoDefault(False)
        self.watch.clicked.connect(self.toggle)
        self._tick = QTimer(self)
        self._tick.setInterval(250)
        self._tick.timeout.connect(self._show_watch)
        row = counted_row(self.rings, _("rings in"), self.minutes)
        row.addWidget(self.watch)
        row.addStretch(1)
        self.column.addLayout(row)
        self.add_answer()
        for field in self.entries():
            field.textChanged.connect(self.edited)
        self.minutes.textChanged.connect(self._show_watch)
        # As wide as it gets, so that nothing moves while the time runs.
        self.watch.setText(_("Stop at {time}").format(time="000:00"))
        self.watch.setFixedWidth(self.watch.sizeHint().width() + 24)
        self._show_watch()

    def entries(self) -> tuple[fields.QuantityField, ...]:
        """Rings and minutes."""
        return self.rings, self.minutes

    @property
    def running(self) -> bool:
        """Whether the stopwatch runs."""
        return self._began is not None

    def toggle(self) -> None:
        """Start the stopwatch, or stop it and fill in the minutes; started again it goes on."""
        if self._began is None:
            try:
                self._before_min = self.minutes.read() or 0.0
            except RingloftError as error:
                self.minutes.refuse(error)
                return
            self._began = self.clock()
            self._tick.start()
        else:
            total = self._passed_min()
            self._began = None
            self._tick.stop()
            if total > 0:
                self.minutes.show_value(round(total, 2) or 0.01)
        self.minutes.setReadOnly(self.running)
        self._show_watch()
        self.edited.emit()

    def stop(self) -> None:
        """Stop the stopwatch if it runs."""
        if self.running:
            self.toggle()

    def _passed_min(self) -> float:
        passed_s = 0.0 if self._began is None else self.clock() - self._began
        return self._before_min + passed_s / 60

    def _show_watch(self) -> None:
        if self.running:
            minutes, seconds = divmod(int(self._passed_min() * 60), 60)
            text = _("Stop at {time}").format(time=f"{minutes}:{seconds:02d}")
            name = _("Stop the stopwatch and fill in the minutes")
        elif self.minutes.text().strip():
            text, name = _("Go on timing"), _("Start the stopwatch and add to the minutes")
        else:
            text, name = _("Start timing"), _("Start the stopwatch")
        self.watch.setText(text)
        if self.watch.accessibleName() != name:
            self.watch.setAccessibleName(name)


class RejectsPart(Part):
    """How many of the rings looked at were bad."""

    def __init__(self) -> None:
        super().__init__(3, _("Rejects"), _("feeds the spare rings"))
        self.bad = fields.QuantityField(_("Bad rings"), fields.count(0, MOST_COUNT), optional=True)
        self.inspected = fields.QuantityField(
            _("Rings inspected"), fields.count(1, MOST_COUNT), optional=True
        )
        self.inspected.setFixedWidth(COUNT_WIDTH)
        row = counted_row(self.bad, _("bad of"), self.inspected)
        row.addWidget(note(_("inspected")))
        row.addStretch(1)
        self.column.addLayout(row)
        self.add_answer()
        for field in self.entries():
            field.textChanged.connect(self.edited)

    def entries(self) -> tuple[fields.QuantityField, ...]:
        """Bad and inspected."""
        return self.bad, self.inspected


class HoldPart(Part):
    """How the swatch holds when it was fixed to a piece of the pad."""

    def __init__(self) -> None:
        super().__init__(4, _("On the pad"), _("feeds the plan: how to fix the panel"))
        self.hold = Segment(
            _("How it holds on the pad"),
            (
                ("not tried", _("Not tried")),
                ("firm", _("Holds firmly")),
                ("lifts", _("Lifts in places")),
                ("off", _("Comes off")),
            ),
        )
        self.hold.put("not tried")
        self.hold.chosen.connect(lambda _key: self.edited.emit())
        self.column.addWidget(self.hold)
        self.add_answer()

    @property
    def key(self) -> Hold:
        """The answer chosen."""
        return cast(Hold, self.hold.key() or "not tried")

    @property
    def filled(self) -> bool:
        """Whether it was tried."""
        return self.key != "not tried"


def counted_row(counted: QWidget, text: str, other: QWidget) -> QHBoxLayout:
    """A count, what is counted and another field, read as one line."""
    row = QHBoxLayout()
    row.setSpacing(8)
    label = note(text)
    label.setBuddy(other)
    counted.setFixedWidth(COUNT_WIDTH)
    for part in (counted, other):
        part.setMinimumHeight(look.CONTROL_HEIGHT)
    row.addWidget(counted)
    row.addWidget(label)
    row.addWidget(other)
    return row
