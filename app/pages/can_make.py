"""What a ring can make: where it stands above a weave's limit, and what a sheet takes."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QPoint, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPaintEvent, QPen, QPolygon, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app import theme as look
from app.pages.bench import Bench, size_text
from app.widgets.explain import explain
from core import units
from core.errors import RingloftError
from core.ring import Ring, RingSpec, mandrel_for_inner, resolve
from core.texts import _
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.wire import MM_PER_IN

WEAVE = "european-4-in-1"
COMFORT = (("tight", 0.0, 3.6), ("easy", 3.8, 5.8), ("loose", 6.0, math.inf))
"""Aspect ratios a maker calls tight, easy and loose. Source: common practice, no source."""

LB_FT2_PER_KG_M2 = 2.2046226 * 0.3048**2


def comfort_name(key: str) -> str:
    """A band of aspect ratios in words."""
    return {"tight": _("tight"), "easy": _("easy"), "loose": _("loose")}[key]


def mandrel_that_would(
    spec: RingSpec, ring: Ring, limit: float, step_mm: float = 0.1
) -> float | None:
    """The thinnest rod, in whole steps, whose ring the weave can be made from; None if none."""
    wanted = limit * spec.wire_mm + spec.kerf_mm / math.pi
    try:
        stress, modulus = ring.winding_yield_mpa, ring.metal.modulus_gpa
        rod = mandrel_for_inner(wanted, spec.wire_mm, stress, modulus)
        for steps in range(math.ceil(rod / step_mm - 1e-9), math.ceil(rod / step_mm) + 3):
            rod_mm = round(steps * step_mm, 6)
            made = resolve(replace(spec, mandrel_mm=rod_mm, inner_measured_mm=None))
            if made.aspect_ratio >= limit:
                return rod_mm
    except RingloftError:
        return None
    return None


class Ladder(QWidget):
    """Aspect ratios from 2 to 9: what the weave cannot do, tight, easy, loose, and this ring."""

    LOW, HIGH = 2.0, 9.0

    def __init__(self) -> None:
        super().__init__()
        self.setMinimumWidth(240)
        self.setFixedHeight(56)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._limit = self.LOW
        self._ratio: float | None = None

    def put(self, limit: float, ratio: float | None) -> None:
        """Show a weave's limit and a ring."""
        self._limit, self._ratio = limit, ratio
        self.setAccessibleName(
            _("From inner ÷ wire {limit:.2f}; this ring —").format(limit=limit)
            if ratio is None
            else _("From inner ÷ wire {limit:.2f}; this ring {ratio:.2f}").format(
                limit=limit, ratio=ratio
            )
        )
        self.update()

    def _x(self, ratio: float) -> int:
        share = (min(max(ratio, self.LOW), self.HIGH) - self.LOW) / (self.HIGH - self.LOW)
        return round(8 + share * (self.width() - 17))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """The bar, its words, the ticks and the ring's mark."""
        theme = look.current()
        painter = QPainter(self)
        top, height = 30, 20
        left, right, limit = self._x(self.LOW), self._x(self.HIGH), self._x(self._limit)
        painter.setFont(look.font(look.PX_LABEL))
        centre = Qt.AlignmentFlag.AlignCenter
        for ratio in range(math.ceil(self.LOW), math.floor(self.HIGH) + 1):
            x = self._x(ratio)
            painter.fillRect(x, top - 4, 1, height + 8, theme.line)
            near = self._ratio is not None and abs(self._x(self._ratio) - x) < 62
            if not near:
                painter.setPen(theme.ink3)
                painter.drawText(QRect(x - 20, 6, 40, 16), centre, str(ratio))
        painter.fillRect(limit, top, right - limit, height, theme.accent_wash)
        painter.fillRect(left, top, limit - left, height,
                         QBrush(theme.line2, Qt.BrushStyle.BDiagPattern))  # fmt: skip
        painter.setPen(QPen(theme.line, 1))
        painter.drawRect(QRectF(left + 0.5, top + 0.5, right - left - 1, height - 1))
        painter.fillRect(limit - 1, top - 3, 2, height + 6, theme.accent)
        for key, low, high in COMFORT:
            start, end = self._x(max(low, self._limit)), self._x(high)
            if key != "tight":
                painter.fillRect(start, top, 1, height, theme.line2)
            mark = self._x(self._ratio) if self._ratio is not None else start
            if start < mark < end:
                # The word stands in the wider part, beside the ring's mark.
                start, end = (start, mark) if mark - start > end - mark else (mark, end)
            painter.setPen(theme.ink2)
            painter.drawText(QRect(start, top, end - start, height), centre, comfort_name(key))
        if self._ratio is not None:
            self._mark(painter, theme, top, height)
        painter.end()

    def _mark(self, painter: QPainter, theme: look.Theme, top: int, height: int) -> None:
        x = self._x(self._ratio or 0.0)
        painter.fillRect(x - 1, top - 6, 2, height + 10, theme.ink)
        painter.setBrush(theme.ink)
        painter.setPen(Qt.PenStyle.NoPen)
        tips = ((x - 5, top - 12), (x + 5, top - 12), (x, top - 5))
        painter.drawPolygon(QPolygon([QPoint(*tip) for tip in tips]))
        text = _("this ring {ratio:.2f}").format(ratio=self._ratio)
        width = painter.fontMetrics().horizontalAdvance(text)
        at = min(max(x - width // 2, 0), self.width() - width)
        painter.setPen(theme.ink)
        painter.drawText(at, 14, text)


class CanMake(QWidget):
    """What the ring in hand can make: for each weave the limit, and what a sheet takes."""

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self.bench = bench
        column = self._column = QVBoxLayout(self)
        column.setContentsMargins(24, 10, 24, 8)
        column.setSpacing(2)
        head = QHBoxLayout()
        title = QLabel(_("What this ring can make"))
        title.setFont(look.font(look.PX_SECTION, bold=True))
        head.addWidget(title)
        self._title = title
        self.which = QLabel()
        self.which.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.which.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.which.setProperty("kind", "note")
        self.which.setFont(look.font(look.PX_UNIT))
        head.addWidget(self.which, 1)
        column.addLayout(head)
        row = QHBoxLayout()
        row.setSpacing(16)
        names = QVBoxLayout()
        names.setSpacing(1)
        names.addStretch(1)
        self.weave = QLabel(_(find_weave(WEAVE).name))
        self.from_text = QLabel()
        self.from_text.setProperty("kind", "note")
        self.from_text.setFont(look.font(look.PX_UNIT))
        self.how = QPushButton(_("How?"))
        self.how.setProperty("kind", "link")
        self.how.setAccessibleName(_("Where the limit and the bands come from"))
        self.how.clicked.connect(self._explain)
        names.addWidget(self.weave)
        second = QHBoxLayout()
        second.setSpacing(4)
        second.addWidget(self.from_text)
        second.addWidget(self.how)
        second.addStretch(1)
        names.addLayout(second)
        row.addLayout(names)
        self.ladder = Ladder()
        row.addWidget(self.ladder, 1)
        numbers = QVBoxLayout()
        numbers.setSpacing(1)
        numbers.addStretch(1)
        self.rings, self.weight = QLabel(), QLabel()
        self.trouble = QLabel()
        self.trouble.setWordWrap(True)
        self.trouble.setFixedWidth(230)
        self.trouble.setProperty("kind", "warn")
        self.offer = QPushButton()
        self.offer.setProperty("kind", "link")
        self.offer.clicked.connect(self._take_offer)
        for label in (self.rings, self.weight):
            label.setAlignment(Qt.AlignmentFlag.AlignRight)
            label.setMinimumWidth(150)
            numbers.addWidget(label)
        numbers.addWidget(self.trouble)
        numbers.addWidget(self.offer, 0, Qt.AlignmentFlag.AlignLeft)
        row.addLayout(numbers)
        column.addLayout(row)
        self._rod: float | None = None
        self._named = ("", "")
        bench.changed.connect(self.follow)
        self.follow()

    def follow(self) -> None:
        """Show the ring in hand."""
        self.setVisible(self.bench.ring_id is not None)
        if self.bench.ring_id is None:
            return
        spec, unit = self.bench.spec(self.bench.ring_id), self.bench.project.unit
        limit = limit_aspect_ratio(WEAVE)
        self.from_text.setText(_("from {limit:.2f}").format(limit=limit))
        self._rod = None
        ring: Ring | None = None
        trouble = ""
        try:
            ring = resolve(spec)
            solved = solve_lay(WEAVE, ring.wire_mm, ring.inner_mm, Lay("laid"))
            self._show_density(ring, solved.area_per_ring_mm2, unit)
        except RingloftError as error:
            trouble = str(error)
            if ring is not None and ring.aspect_ratio < limit:
                least = units.format_length(limit * ring.wire_mm, unit)
                trouble = _("Too tight: needs inner ⌀ {least} or more").format(least=least)
                self._rod = mandrel_that_would(
                    spec, ring, limit, MM_PER_IN / 64 if unit == "in" else 0.1
                )
        self._named = (spec.name, "")
        if ring is not None:
            facts = _("{size}, inner ÷ wire {ratio:.2f}").format(
                size=size_text(spec, unit), ratio=ring.aspect_ratio
            )
            self._named = (spec.name, facts)
        self._name_ring()
        self.ladder.put(limit, None if ring is None else ring.aspect_ratio)
        self.rings.setVisible(not trouble)
        self.weight.setVisible(not trouble)
        self.trouble.setVisible(bool(trouble))
        self.trouble.setText(f"⚠ {trouble}")
        self.offer.setVisible(self._rod is not None)
        if self._rod is not None:
            rod = units.format_length(self._rod, unit)
            self.offer.setText(_("Use mandrel {rod}").format(rod=rod))
            self.offer.setAccessibleName(_("Use mandrel {rod}").format(rod=rod))

    def _name_ring(self) -> None:
        """Name and size of the ring; where room is short, the name gives way."""
        name, facts = self._named
        if not facts:
            self.which.setText("")
            return
        words = _("{name}: {facts}")
        self.which.setToolTip(words.format(name=name, facts=facts))
        metrics = self.which.fontMetrics()
        margins = self._column.contentsMargins()
        room = self.width() - margins.left() - margins.right() - self._title.sizeHint().width()
        room -= 24 + metrics.horizontalAdvance(words.format(name="", facts=facts))
        short = metrics.elidedText(name, Qt.TextElideMode.ElideRight, max(room, 40))
        self.which.setText(words.format(name=short, facts=facts))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The ring's name fits the width."""
        super().resizeEvent(event)
        self._name_ring()

    def _show_density(self, ring: Ring, area_mm2: float, unit: str) -> None:
        weight = ring.mass_g / area_mm2 * 1000
        if unit == "in":
            self.rings.setText(_("{n:.1f} rings per in², laid").format(n=MM_PER_IN**2 / area_mm2))
            self.weight.setText(_("{w:.2f} lb per ft²").format(w=weight * LB_FT2_PER_KG_M2))
        else:
            self.rings.setText(_("{n:.0f} rings per dm², laid").format(n=10_000 / area_mm2))
            self.weight.setText(_("{w:.2f} kg per m²").format(w=weight))

    def _take_offer(self) -> None:
        if self.bench.ring_id is not None and self._rod is not None:
            spec = self.bench.spec(self.bench.ring_id)
            self.bench.change(replace(spec, mandrel_mm=self._rod, inner_measured_mm=None))

    def _explain(self) -> None:
        lines = (
            _("The limit is solved from contact: below it no two rings of a sheet stay clear."),
            _("Rings and weight are for the lay “laid”: opened with a little play, as on a pad."),
            _("Tight to 3.6, easy 3.8 to 5.8, loose above 6: common practice, no source."),
        )
        explain(self.how, _("Where the limit and the bands come from"), lines)
