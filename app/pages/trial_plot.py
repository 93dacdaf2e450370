"""The rings of a trial coil as dots on a scale, with their rod and their mean."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme as look
from core import units
from core.texts import _
from core.wire import MM_PER_IN

HEIGHT, EDGE = 124, 16
AXIS_Y, TOP_Y = 76, 26
DOT, LEAST_SPAN = 4.0, 0.4
"""Radius of a dot in px; the least stretch of the scale in mm."""


def step_for(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that parts a span at most that often."""
    raw = span / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw - 1e-12)


class TrialPlot(QWidget):
    """Measured rings; nothing but the rod until there is one."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedHeight(HEIGHT)
        self.setMinimumWidth(320)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._unit = "mm"
        self._rod_mm: float | None = None
        self._rings: tuple[float, ...] = ()
        self._model: tuple[float, float] | None = None
        self.put(None, (), None, "mm")

    def put(
        self,
        rod_mm: float | None,
        rings_mm: tuple[float, ...],
        model_mm: tuple[float, float] | None,
        unit: str,
    ) -> None:
        """Show a rod, the rings measured and what the model makes likely, all in mm."""
        self._rod_mm, self._rings, self._model, self._unit = rod_mm, rings_mm, model_mm, unit
        if rod_mm is None or not rings_mm:
            name = _("Rings on a scale: none measured yet")
        else:
            name = _("Rings on a scale: {each}; mean {mean}, mandrel {rod}").format(
                each=", ".join(units.format_length(mm, unit) for mm in rings_mm),
                mean=units.format_length(self.mean_mm, unit),
                rod=units.format_length(rod_mm, unit),
            )
        self.setAccessibleName(name)
        self.update()

    @property
    def mean_mm(self) -> float:
        """Mean of the rings shown."""
        return math.fsum(self._rings) / len(self._rings)

    def span_mm(self) -> tuple[float, float]:
        """Both ends of the scale, all that is marked well inside."""
        marks = [*self._rings, *(self._model or ())]
        if self._rod_mm is not None:
            marks.append(self._rod_mm)
        low, high = min(marks), max(marks)
        spare = max(0.12 * (high - low), (LEAST_SPAN - (high - low)) / 2)
        return low - spare, high + spare

    def x_of(self, mm: float) -> float:
        """Where a diameter stands, in px from the left."""
        low, high = self.span_mm()
        return EDGE + (mm - low) / (high - low) * (self.width() - 2 * EDGE)

    def dots(self) -> tuple[QPointF, ...]:
        """Centres of the dots, in the order of measuring; equal rings stand on one another."""
        placed: list[QPointF] = []
        for mm in self._rings:
            x, y = self.x_of(mm), AXIS_Y - 2 * DOT
            while any(abs(p.x() - x) < 2 * DOT and abs(p.y() - y) < 2 * DOT for p in placed):
                y -= 2 * DOT
            placed.append(QPointF(x, y))
        # Many equal rings must not climb into the words above.
        highest = min((p.y() for p in placed), default=TOP_Y + DOT)
        room, taken = AXIS_Y - 2 * DOT - TOP_Y - DOT, AXIS_Y - 2 * DOT - highest
        if taken > room > 0:
            base = AXIS_Y - 2 * DOT
            placed = [QPointF(p.x(), base - (base - p.y()) * room / taken) for p in placed]
        return tuple(placed)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Scale, model, rod, mean, dots."""
        if self._rod_mm is None and not self._rings:
            return
        theme = look.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(look.font(look.PX_LABEL))
        self._paint_scale(painter, theme)
        if self._model is not None:
            self._paint_model(painter, theme, *self._model)
        if self._rod_mm is not None:
            pen = QPen(theme.ink2, 1.5)
            pen.setDashPattern([4, 3])
            text = _("mandrel {mm}").format(mm=units.format_length(self._rod_mm, self._unit))
            left = not self._rings or self._rod_mm <= self.mean_mm
            self._paint_upright(painter, pen, self._rod_mm, text, left)
        if self._rings:
            text = _("mean {mm}").format(mm=units.format_length(self.mean_mm, self._unit))
            left = self._rod_mm is not None and self._rod_mm > self.mean_mm
            self._paint_upright(painter, QPen(theme.accent, 2), self.mean_mm, text, left)
            painter.setPen(QPen(theme.panel, 1))
            painter.setBrush(theme.ink)
            for dot in self.dots():
                painter.drawEllipse(dot, DOT, DOT)
        painter.end()

    def _paint_scale(self, painter: QPainter, theme: look.Theme) -> None:
        factor = MM_PER_IN if self._unit == "in" else 1.0
        low, high = (mm / factor for mm in self.span_mm())
        step = step_for(high - low, max(3, self.width() // 90))
        places = max(0, -math.floor(math.log10(step) + 1e-9))
        painter.setPen(QPen(theme.ink2, 1))
        painter.drawLine(EDGE, AXIS_Y, self.width() - EDGE, AXIS_Y)
        metrics = QFontMetrics(painter.font())
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        for k in range(first, last + 1):
            x = round(self.x_of(k * step * factor)) + 0.5
            painter.setPen(QPen(theme.ink3, 1))
            painter.drawLine(QPointF(x, AXIS_Y), QPointF(x, AXIS_Y + 4))
            text = f"{k * step:.{places}f}"
            if k == last:
                text += f"{units.SPACE}{self._unit}"
            wide = metrics.horizontalAdvance(text)
            left = min(max(x - wide / 2, 0.0), self.width() - wide)
            painter.setPen(theme.ink2)
            painter.drawText(QPointF(left, AXIS_Y + 17), text)

    def _paint_model(self, painter: QPainter, theme: look.Theme, low: float, high: float) -> None:
        """A bracket below the scale: what the metal's table makes likely."""
        y, a, b = AXIS_Y + 26.5, self.x_of(low), self.x_of(high)
        painter.setPen(QPen(theme.ink2, 1.5))
        painter.drawLine(QPointF(a, y), QPointF(b, y))
        for x in (a, b):
            painter.drawLine(QPointF(x, y - 3), QPointF(x, y + 3))
        text = _("model")
        wide = painter.fontMetrics().horizontalAdvance(text)
        left = min(max((a + b - wide) / 2, 0.0), self.width() - wide)
        painter.drawText(QPointF(left, y + 13), text)

    def _paint_upright(
        self, painter: QPainter, pen: QPen, mm: float, text: str, left: bool
    ) -> None:
        x = self.x_of(mm)
        painter.setPen(pen)
        painter.drawLine(QPointF(x, TOP_Y - 8), QPointF(x, AXIS_Y))
        wide = painter.fontMetrics().horizontalAdvance(text) + 2
        start = x - wide - 3 if left else x + 3
        start = min(max(start, 0.0), self.width() - wide)
        box = QRectF(start, 2, wide, 16)
        painter.setPen(pen.color())
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
