"""The Rings page: the rings at the left, what one can make and how several compare at the right."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.document import Document
from app.pages.bench import Bench
from app.pages.can_make import CanMake
from app.pages.compare_view import CompareView
from app.pages.ring_form import RingForm, gauge_text
from app.pages.ring_list import RingList
from app.starter import first_ring
from app.widgets import icons
from app.widgets.columns import rule, scrolled, section, upright
from app.widgets.explain import explain
from core import units
from core.errors import RingloftError
from core.ring import Ring, RingSpec, resolve
from core.texts import _
from core.wire import GAUGE_SYSTEMS, nearest_gauge

COLUMN_WIDTH = 324
COMPARE_HEIGHT, EMPTY_HEIGHT = 430, 180
"""What the comparison takes where there is room, and what it takes without a panel.

The same for two rings as for four, so that nothing moves under the mouse as one is added."""

LADDER_SHARE = 0.28
"""What the ladder has at least."""


class Readouts(QWidget):
    """What follows from the ring in the form, a line each."""

    KEYS = ("inner", "outer", "ratio", "wire", "mass")

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(3)
        names = (
            _("Inner ⌀"), _("Outer ⌀"), _("Inner ÷ wire"),
            _("Wire in one ring"), _("Mass of one ring"),
        )  # fmt: skip
        self.values: dict[str, QLabel] = {}
        for row, (key, name) in enumerate(zip(self.KEYS, names, strict=True)):
            label, value = QLabel(name), QLabel("—")
            label.setProperty("kind", "note")
            value.setAlignment(Qt.AlignmentFlag.AlignRight)
            value.setFont(look.font(look.PX_BODY, bold=key == "ratio"))
            value.setAccessibleName(name)
            grid.addWidget(label, row, 0)
            grid.addWidget(value, row, 1)
            self.values[key] = value
        grid.setColumnStretch(1, 1)
        self.gauge = QLabel()
        self.gauge.setProperty("kind", "note")
        self.gauge.setFont(look.font(look.PX_UNIT))
        self.gauge.setAccessibleName(_("Nearest gauge"))
        self.how = QPushButton(_("How?"))
        self.how.setProperty("kind", "link")
        self.how.setAccessibleName(_("How the ring’s numbers came about"))
        foot = QHBoxLayout()
        foot.setSpacing(4)
        foot.addWidget(self.gauge, 1)
        foot.addWidget(self.how)
        grid.addLayout(foot, len(names), 0, 1, 2)
        self._lines: tuple[str, ...] = ()
        self.how.clicked.connect(self._explain)

    def put(self, ring: Ring | None, unit: str) -> None:
        """Show a ring; None when there is none."""
        if ring is None:
            for value in self.values.values():
                value.setText("—")
            self.gauge.setText("")
            self.how.setEnabled(False)
            return
        low, high = ring.inner_range_mm
        inner = units.format_length(ring.inner_mm, unit)
        if ring.measured:
            inner = _("{inner}, measured").format(inner=inner)
        elif high - low > 1e-9:
            inner = _("{inner} ± {play}, expected").format(
                inner=units.format_length(ring.inner_mm, unit).rpartition(units.SPACE)[0],
                play=units.format_length((high - low) / 2, unit),
            )
        texts = {
            "inner": inner,
            "outer": units.format_length(ring.outer_mm, unit),
            "ratio": f"{ring.aspect_ratio:.2f}",
            "wire": units.format_length(ring.wire_per_ring_mm, unit, 2 if unit == "in" else 1),
            "mass": units.format_mass(ring.mass_g, unit),
        }
        for key, text in texts.items():
            self.values[key].setText(text)
            self.values[key].setAccessibleDescription(text)
        self.gauge.setText(gauge_text(nearest_gauge(ring.wire_mm, "us-steel"), unit))
        each = "; ".join(
            gauge_text(nearest_gauge(ring.wire_mm, system), unit) for system in GAUGE_SYSTEMS
        )
        self._lines = (*ring.how(), _("Nearest gauges: {each}.").format(each=each))
        self.gauge.setToolTip(each)
        self.how.setEnabled(True)

    def _explain(self) -> None:
        explain(self.how, _("How the ring’s numbers came about"), self._lines)


class RingsPage(QWidget):
    """Make rings, see what they can make, compare them.

    Signals:
        wanted: the page is to come to the front.
    """

    wanted = Signal()

    def __init__(self, document: Document, hub: look.ThemeHub) -> None:
        super().__init__()
        self._document = document
        self.bench = Bench(document, self)
        self._shown: tuple[RingSpec, str] | None = None
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._left())
        row.addWidget(upright())
        right = QWidget()
        right.setProperty("kind", "canvas")
        right.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self.can_make = CanMake(self.bench)
        self.compare = CompareView(self.bench, hub)
        self.can_make.compare.connect(self.compare.show_woven)
        self.can_make.refused.connect(self._refuse)
        self.compare.another.connect(self._to_wire)
        column.addWidget(self.can_make)
        column.addWidget(rule())
        column.addWidget(self.compare, 1)
        row.addWidget(right, 1)
        self.bench.changed.connect(self.follow)
        hub.theme_changed.connect(self._paint_icons)
        self._paint_icons()
        self.follow()

    def _left(self) -> QWidget:
        left = QWidget()
        left.setProperty("kind", "panel")
        left.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        left.setFixedWidth(COLUMN_WIDTH)
        # Made first, so that the keyboard starts here when the page comes to the front.
        self.list = RingList(self.bench, left)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        head = QHBoxLayout()
        head.setContentsMargins(16, 5, 8, 5)
        head.addWidget(section(_("Rings")))
        head.addStretch(1)
        self.keep = QPushButton(_("Add it to the costume"))
        self.keep.setAccessibleName(_("Add the compared ring to the costume"))
        self.keep.setFixedHeight(look.CONTROL_HEIGHT + 2)
        self.keep.clicked.connect(self._keep)
        head.addWidget(self.keep)
        self.add, self.remove = QToolButton(), QToolButton()
        for button, name in (
            (self.add, _("Add a ring to the costume")), (self.remove, _("Remove the ring")),
        ):  # fmt: skip
            button.setAccessibleName(name)
            button.setToolTip(name)
            button.setFixedSize(look.CONTROL_HEIGHT + 2, look.CONTROL_HEIGHT + 2)
            head.addWidget(button)
        self.add.clicked.connect(self._add)
        self.remove.clicked.connect(self._remove)
        column.addLayout(head)
        column.addWidget(rule())
        column.addWidget(self.list)
        area, self._column = scrolled(_("The ring in hand"))
        self._column.setContentsMargins(16, 6, 16, 6)
        self._column.setSpacing(8)
        self._fill_column()
        column.addWidget(area, 1)
        return left

    def _fill_column(self) -> None:
        column = self._column
        self.none = QLabel(_("There is no ring yet. Press + to add one."))
        self.none.setProperty("kind", "note")
        self.none.setWordWrap(True)
        column.addWidget(self.none)
        self.form = RingForm(first_ring(), currency=self._document.project.currency)
        # The read-outs below say the same, and more.
        self.form.ratio.hide()
        self.form.facts.hide()
        column.addWidget(self.form)
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "warn")
        self.trouble.setWordWrap(True)
        self.trouble.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.trouble)
        self.put_back = QPushButton(_("Put back what was"))
        self.put_back.setProperty("kind", "link")
        self.put_back.clicked.connect(self._restore)
        column.addWidget(self.put_back, 0, Qt.AlignmentFlag.AlignLeft)
        self.readouts_rule = rule()
        column.addWidget(self.readouts_rule)
        self.readouts = Readouts()
        column.addWidget(self.readouts)
        column.addStretch(1)
        self._refuse("")
        form = self.form
        form.edited.connect(self._edited)
        form.taker = self._take
        for field in (form.wire, form.mandrel, form.inner, form.kerf):
            field.textEdited.connect(self._typed)
        form.metal.chosen.connect(self._typed)

    # --- following -----------------------------------------------------------------------------

    def _paint_icons(self) -> None:
        for button, name in ((self.add, "add"), (self.remove, "delete")):
            button.setIcon(icons.icon(name, look.current()))

    def parts(self) -> tuple[QWidget, ...]:
        """The parts F6 goes through."""
        return (
            self.list,
            self.form.wire,
            self.can_make.ladder,
            self.compare.cards[0].ring,
            self.compare.table,
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Read the form anew."""
        super().showEvent(event)
        self.follow()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The ladder takes what the comparison leaves."""
        super().resizeEvent(event)
        self._share_height()

    def _share_height(self) -> None:
        least = round(LADDER_SHARE * self.height())
        rest = self.height() - (COMPARE_HEIGHT if self.bench.project.panels else EMPTY_HEIGHT)
        self.can_make.set_room(max(rest, least))

    def follow(self) -> None:
        """Show the ring in hand."""
        self._share_height()
        ring_id, unit = self.bench.ring_id, self.bench.project.unit
        has = ring_id is not None
        for widget in (self.form, self.readouts, self.readouts_rule):
            widget.setVisible(has)
        self.none.setVisible(not has)
        self.remove.setEnabled(has)
        self.keep.setVisible(has and not self.bench.in_costume(ring_id or 0))
        if ring_id is None:
            self._shown = None
            self._refuse("")
            return
        spec = self.bench.spec(ring_id)
        if self._shown is None or self._shown[0] is not spec or self._shown[1] != unit:
            self._shown = (spec, unit)
            self._refuse("")
            self.form.show_spec(spec, unit)
            self._typed()

    def _typed(self, *_ignored: object) -> None:
        """The read-outs follow what stands in the fields, committed or not."""
        try:
            ring: Ring | None = resolve(self.form.spec())
        except RingloftError:
            ring = None
        self.readouts.put(ring, self.bench.project.unit)

    def _refuse(self, text: str) -> None:
        self.trouble.setText(f"⚠ {text}")
        self.trouble.setVisible(bool(text))
        self.put_back.setVisible(bool(text))

    # --- what the maker does -------------------------------------------------------------------

    def _edited(self, spec: RingSpec) -> None:
        self._refuse("")
        try:
            self.bench.change(spec)
        except RingloftError as error:
            self._refuse(str(error))

    def _take(self, spec: RingSpec) -> None:
        """A ring made in a card: one step of its own; a refusal stays in the card."""
        self.bench.change(spec, alone=True)
        self._refuse("")
        # The bench may hold an equal ring, and yet the fields say something else.
        self._shown = None
        self.follow()

    def find_mandrel(self) -> None:
        """Open the mandrel finder for the ring in hand."""
        if self.bench.ring_id is not None:
            self.wanted.emit()
            self.form.find_mandrel()

    def trial_coil(self) -> None:
        """Open the trial coil of the ring in hand."""
        if self.bench.ring_id is not None:
            self.wanted.emit()
            self.form.trial_coil()

    def _restore(self) -> None:
        self._shown = None
        self.follow()
        self.form.wire.setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self) -> None:
        try:
            self.bench.add()
        except RingloftError as error:
            self._refuse(str(error))
            return
        self.form.name.setFocus(Qt.FocusReason.OtherFocusReason)
        self.form.name.selectAll()

    def _remove(self) -> None:
        if self.bench.ring_id is None:
            return
        try:
            self.bench.remove(self.bench.ring_id)
        except RingloftError as error:
            self._refuse(str(error))
            self.put_back.hide()

    def _keep(self) -> None:
        if self.bench.ring_id is not None:
            try:
                self.bench.keep(self.bench.ring_id)
            except RingloftError as error:
                self._refuse(str(error))

    def _to_wire(self) -> None:
        self.form.wire.setFocus(Qt.FocusReason.OtherFocusReason)
        self.form.wire.selectAll()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Delete in the list removes the ring; Enter goes to its fields."""
        if self.list.hasFocus() and event.key() == Qt.Key.Key_Delete:
            self._remove()
        elif self.list.hasFocus() and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._to_wire()
        else:
            super().keyPressEvent(event)
            return
        event.accept()
