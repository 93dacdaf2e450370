"""The mandrel finder: a wished ring in, rods that can be bought out, best first."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from app import theme as look
from app.pages.ring_cards import RingCard, Take, rod_text
from app.widgets import fields
from app.widgets.columns import add_row, form_layout, note
from app.widgets.lists import Index
from app.widgets.segment import Segment
from core import units
from core.errors import BadValue, RingloftError
from core.mandrels import MandrelFit, MandrelSearch, find_mandrels, inner_for_ratio
from core.ring import CALIBRATED_SPREAD, GROWTH_SPREAD, RingSpec, resolve
from core.texts import _
from core.wire import MM_PER_IN, metal, metals

ROW_HEIGHT, WIDTH = 27, 740
FIRST_RATIO = 4.8
"""Wanted for a ring that cannot be wound as it stands: amid what a 4-in-1 calls easy."""


def read_ratio(text: str) -> float:
    """Inner ÷ wire; raises BadValue with words."""
    try:
        ratio = float(text.replace(",", ".").strip())
    except ValueError:
        ratio = math.nan
    if not 0 < ratio < math.inf:
        raise BadValue(
            _("“{text}” is not a ratio").format(text=text.strip()[:20]),
            where=_("inner ÷ wire"),
            do=_("Type a number such as 4.5"),
        )
    return ratio


RATIO = fields.Quantity(
    lambda text, _unit: read_ratio(text),
    lambda value, _unit: f"{value:.2f}",
    lambda _unit: "",
    step=0.1,
)


def error_texts(fit: MandrelFit, unit: str) -> tuple[str, str]:
    """How far a rod misses the wish, such as "+0.03 mm" and "+0.4 %"."""
    if unit == "in":
        length = f"{abs(fit.error_mm) / MM_PER_IN:.4f}{units.SPACE}in"
    else:
        length = units.format_length(abs(fit.error_mm))
    percent = f"{abs(fit.error_ratio) * 100:.1f}{units.SPACE}%"
    sign = "+" if fit.error_mm > 0 else units.MINUS

    def signed(text: str) -> str:
        return text if float(text.split(units.SPACE)[0]) == 0 else f"{sign}{text}"

    return signed(length), signed(percent)


def fit_cells(fit: MandrelFit, unit: str) -> tuple[str, ...]:
    """A row of the table: rod, inner diameter, likely range, inner ÷ wire, miss in length and %."""
    ring = fit.ring
    low, high = ring.inner_range_mm
    places = 3 if unit == "in" else 2
    if ring.measured:
        band = _("measured")
    else:
        # A fraction beside a decimal is no range to read, so both are decimals.
        divisor = MM_PER_IN if unit == "in" else 1.0
        band = _("{low} to {high}").format(
            low=f"{low / divisor:.{places}f}",
            high=f"{high / divisor:.{places}f}{units.SPACE}{unit}",
        )
    return (
        rod_text(fit.rod, unit),
        units.format_length(ring.inner_mm, unit),
        band,
        f"{ring.aspect_ratio:.2f}",
        *error_texts(fit, unit),
    )


class _Cells(QStyledItemDelegate):
    """Cells with room at both sides; a bar at the left of the chosen row, not colour alone."""

    ROOM = 8

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """The text and its room."""
        return super().sizeHint(option, index) + QSize(2 * self.ROOM, 0)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The chosen row's ground, the cell, then the bar."""
        view, box = self.parent(), QRect(option.rect)
        chosen = isinstance(view, QTableWidget) and view.currentRow() == index.row()
        if chosen:
            painter.fillRect(box, look.current().accent_wash)
        option.rect = box.adjusted(self.ROOM, 0, -self.ROOM, 0)
        super().paint(painter, option, index)
        if chosen and index.column() == 0:
            painter.fillRect(box.left(), box.top(), 3, box.height(), look.current().accent)


def _cell(text: str, at: int) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    side = Qt.AlignmentFlag.AlignLeft if at == 0 else Qt.AlignmentFlag.AlignRight
    item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
    return item


class FitTable(QTableWidget):
    """Rods, best first; Up and Down choose, Enter goes to the window's button."""

    def __init__(self) -> None:
        heads = (
            _("Mandrel"), _("Inner ⌀"), _("Likely"), _("Inner ÷ wire"), _("Off by"), _("Off, %"),
        )  # fmt: skip
        super().__init__(0, len(heads))
        for at, text in enumerate(heads):
            self.setHorizontalHeaderItem(at, _cell(text, at))
        self.setAccessibleName(_("Mandrels, best first"))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(ROW_HEIGHT)
        head = self.horizontalHeader()
        head.setHighlightSections(False)
        # The window's sheet pads heads, which would shift them off their columns.
        head.setStyleSheet("QHeaderView { padding: 0px; }")
        head.setSectionsClickable(False)
        head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        head.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setItemDelegate(_Cells(self))

    def put(self, fits: tuple[MandrelFit, ...], unit: str) -> None:
        """Show rods and choose the best."""
        self.clearContents()
        self.setRowCount(len(fits))
        for row, fit in enumerate(fits):
            for at, text in enumerate(fit_cells(fit, unit)):
                self.setItem(row, at, _cell(text, at))
        if fits:
            self.setCurrentCell(0, 0)
        self._share_width()

    def _share_width(self) -> None:
        """Every column has its words, and a like share of what is left."""
        head = self.horizontalHeader()
        count = self.columnCount()
        needs = [max(self.sizeHintForColumn(i), head.sectionSizeHint(i)) for i in range(count)]
        spare = max(self.viewport().width() - sum(needs), 0)
        for at, need in enumerate(needs):
            self.setColumnWidth(at, need + spare * (at + 1) // count - spare * at // count)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns follow the width."""
        super().resizeEvent(event)
        self._share_width()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter is the window's."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.ignore()
            return
        super().keyPressEvent(event)


class MandrelCard(RingCard):
    """Asks for a ring and offers rods; the chosen one, with wire, metal and kerf, is used."""

    def __init__(self, parent: QWidget, spec: RingSpec, unit: str, take: Take) -> None:
        super().__init__(parent, _("Find a mandrel"), spec, unit, take)
        self._found: MandrelSearch | None = None
        form = form_layout()
        self.kind = Segment(_("Wanted by"), (("ratio", _("Inner ÷ wire")), ("inner", _("Inner ⌀"))))
        self.ratio = fields.QuantityField(_("Wanted inner ÷ wire"), RATIO)
        self.inner = fields.QuantityField(_("Wanted inner diameter"), fields.LENGTH)
        self.metal = fields.Combo(_("Metal"), tuple((k, _(m.name)) for k, m in metals().items()))
        self.wire = fields.CheckedField(
            _("Wire, by diameter or by gauge and system"),
            lambda text: units.parse_wire(text, self.unit, where=_("wire")),
        )
        self.kerf = fields.QuantityField(_("Saw kerf"), fields.LENGTH)
        wish = QWidget()
        row = QHBoxLayout(wish)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.kind)
        row.addWidget(self.ratio, 1)
        row.addWidget(self.inner, 1)
        wish.setFocusProxy(self.ratio)
        for text, field in (
            (_("Wanted"), wish), (_("Metal"), self.metal), (_("Wire"), self.wire),
            (_("Saw kerf"), self.kerf),
        ):  # fmt: skip
            add_row(form, text, field)
        self.column.addLayout(form)
        self.exact = QLabel()
        self.exact.setWordWrap(True)
        self.exact.setTextFormat(Qt.TextFormat.PlainText)
        self.column.addWidget(self.exact)
        self.table = FitTable()
        self.column.addWidget(self.table, 1)
        self.basis = note("")
        self.basis.setWordWrap(True)
        self.basis.setFont(look.font(look.PX_UNIT))
        self.column.addWidget(self.basis)
        self.add_foot(_("Use this mandrel"))
        self._begin()
        self.kind.chosen.connect(self._turn)
        self.metal.chosen.connect(self._find)
        for edit in (self.ratio, self.inner, self.wire, self.kerf):
            edit.textEdited.connect(self._find)
            edit.committed.connect(self._find)
            if isinstance(edit, fields.QuantityField):
                edit.valued.connect(self._find)
        self.table.doubleClicked.connect(self.use.click)
        self.table.setMinimumHeight(
            self.table.horizontalHeader().sizeHint().height() + 7 * ROW_HEIGHT
        )
        self.resize(WIDTH, self.sizeHint().height())
        self.grow()
        self.ratio.setFocus(Qt.FocusReason.OtherFocusReason)
        self.ratio.selectAll()

    def _begin(self) -> None:
        spec, unit = self.spec, self.unit
        self.metal.put(spec.metal)
        self._wire_text = spec.wire_label or units.format_wire(spec.wire_mm, "", unit)
        self.wire.put(self._wire_text)
        self.kerf.show_value(spec.kerf_mm, unit)
        try:
            inner_mm = resolve(spec).inner_mm
        except RingloftError:
            inner_mm = FIRST_RATIO * spec.wire_mm
        self.ratio.show_value(round(inner_mm / spec.wire_mm, 2), unit)
        self.inner.show_value(round(inner_mm, 2), unit)
        self.kind.put("ratio")
        self.inner.hide()
        self._find()

    # --- what follows --------------------------------------------------------------------------

    def wished(self) -> tuple[RingSpec, float]:
        """Wire, metal and kerf as they stand, and the wished inner diameter in mm.

        Raises:
            RingloftError: a field cannot be read.
        """
        wire_mm, label = self.spec.wire_mm, self.spec.wire_label
        if self.wire.text().strip() != self._wire_text:
            read = units.parse_wire(self.wire.text(), self.unit, where=_("wire"))
            wire_mm, label = read.wire_mm, read.label
        spec = replace(
            self.spec,
            metal=str(self.metal.key()),
            wire_mm=wire_mm,
            wire_label=label,
            kerf_mm=self.kerf.read() or 0.0,
        )
        if self.kind.key() == "inner":
            return spec, self.inner.read() or 0.0
        return spec, inner_for_ratio(self.ratio.read() or 0.0, wire_mm)

    def _find(self, *_ignored: object) -> None:
        try:
            spec, inner_mm = self.wished()
            found = find_mandrels(spec, inner_mm)
        except RingloftError as error:
            self._found = None
            self.table.put((), self.unit)
            self.exact.setText(_("No mandrel is known for such a ring."))
            self.basis.setText("")
            self.say_trouble(error)
            self.use.setEnabled(False)
            return
        self.say_trouble(None)
        self._found = found
        self.use.setEnabled(bool(found.fits))
        self.table.put(found.fits, self.unit)
        shown = 4 if self.unit == "in" else 2
        self.exact.setText(
            _("For {inner} inside, a rod of {exact} would be exact. Rods that exist:").format(
                inner=units.format_length(found.inner_mm, self.unit),
                exact=units.format_length(found.exact_mm, self.unit, shown),
            )
        )
        self.basis.setText(self._basis(spec, found))

    def _basis(self, spec: RingSpec, found: MandrelSearch) -> str:
        if found.calibrated:
            first = _("Spring-back as the trial coil shows: yield {y:.0f} MPa.")
        else:
            first = _("Spring-back from the metal’s table: yield {y:.0f} MPa.")
        low, high = metal(spec.metal).yield_range_mpa
        lines = [first.format(y=found.yield_mpa)]
        if not found.calibrated:
            lines.append(
                _(
                    "Soft to hard it is {low:.0f} to {high:.0f} MPa; a trial coil settles it."
                ).format(low=low, high=high)
            )
        if found.calibrated:
            likely = _("Likely: ±{p} of what it grows unlike the trial, and its spread (our rule).")
            share = CALIBRATED_SPREAD
        else:
            likely, share = _("Likely: ±{p} of the growth."), GROWTH_SPREAD
        lines.append(likely.format(p=f"{units.SPACE}{share * 100:.0f}{units.SPACE}%"))
        lines.append(_("Rod sizes: common practice, no source."))
        return " ".join(lines)

    def _turn(self, key: str) -> None:
        """Wish for the other number, the same ring as before."""
        with_ratio = key == "ratio"
        try:
            wire_mm = self.wished()[0].wire_mm
            if with_ratio:
                self.ratio.show_value((self.inner.read() or 0.0) / wire_mm, self.unit)
            else:
                self.inner.show_value((self.ratio.read() or 0.0) * wire_mm, self.unit)
        except RingloftError:
            pass
        self.ratio.setVisible(with_ratio)
        self.inner.setVisible(not with_ratio)
        self._find()

    # --- the answer ----------------------------------------------------------------------------

    def made(self) -> RingSpec:
        """The ring wound on the chosen rod."""
        spec, _inner = self.wished()
        row = self.table.currentRow()
        if self._found is None or not 0 <= row < len(self._found.fits):
            raise BadValue(_("no mandrel is chosen"), do=_("Choose one in the list"))
        return replace(spec, mandrel_mm=self._found.fits[row].rod.mm)
