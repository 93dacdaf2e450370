"""The drafting table under and around a panel: grid, rulers, scale bar.

Everything takes the view and draws in the widget's logical pixels; hairlines land on whole device
pixels.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPolygonF

from app.canvas.view import View
from app.theme import PX_LABEL, PX_RULER, Theme, font
from core.texts import _
from core.wire import MM_PER_IN

RULER = 22
"""Width of a ruler in pixels."""

LABEL_PX, LABEL_GAP_PX = 50.0, 8.0
"""Least distance of a ruler's labels, and least room between two of them, in pixels."""

_LADDER_MM = tuple(10.0**power * v for power in range(-1, 5) for v in (1.0, 2.0, 5.0))
_LADDER_IN = tuple(
    MM_PER_IN * v
    for v in (
        *(1 / 64, 1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0, 6.0, 12.0, 24.0, 72.0),
        *(144.0, 360.0, 720.0, 1440.0),
    )
)
_FRACTIONS = {0.25: "¼", 0.5: "½", 0.75: "¾", 0.125: "⅛", 0.375: "⅜", 0.625: "⅝", 0.875: "⅞"}


def ladder_mm(unit: str) -> tuple[float, ...]:
    """Steps a scale may have in that unit ("mm" or "in"), in mm, rising."""
    return _LADDER_IN if unit == "in" else _LADDER_MM


def grid_steps_mm(unit: str, scale: float) -> tuple[float, float, float]:
    """Fine, middle and coarse spacing of the grid, in mm: 5, 10 and 50 unless far out."""
    base, growth = (
        (MM_PER_IN / 4, (1, 4, 24, 96, 960)) if unit == "in" else (5.0, (1, 10, 100, 1000))
    )
    ratio = (1.0, 2.0, 8.0) if unit == "in" else (1.0, 2.0, 10.0)
    for factor in growth:
        if base * factor * scale >= 6:
            break
    return base * factor * ratio[0], base * factor * ratio[1], base * factor * ratio[2]


def snapped(px: float, dpr: float) -> float:
    """The nearest edge of a device pixel, in logical pixels."""
    return round(px * dpr) / dpr


def _steps(first_mm: float, last_mm: float, step_mm: float) -> Iterator[int]:
    return iter(range(math.ceil(first_mm / step_mm), math.floor(last_mm / step_mm) + 1))


def _fill(painter: QPainter, bars: list[QRectF], colour: QColor) -> None:
    """Fill many bars of one colour; one call costs less than one each."""
    if bars:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawRects(bars)


def paint_grid(
    painter: QPainter, view: View, area: QRectF, unit: str, theme: Theme, dpr: float
) -> None:
    """Draw the grid over an area, coarse lines last."""
    x0, y0 = view.to_mm(area.left(), area.top())
    x1, y1 = view.to_mm(area.right(), area.bottom())
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    steps = grid_steps_mm(unit, view.scale)
    colours = (theme.grid1, theme.grid2, theme.grid3)
    wide = max(1.0, round(dpr)) / dpr
    for level, (step, colour) in enumerate(zip(steps, colours, strict=True)):
        skip = round(steps[level + 1] / step) if level < 2 else 0
        lines: list[QRectF] = []
        for k in _steps(x0, x1, step):
            if not skip or k % skip:
                x = snapped(view.to_px(k * step, 0)[0], dpr)
                lines.append(QRectF(x, area.top(), wide, area.height()))
        for k in _steps(y0, y1, step):
            if not skip or k % skip:
                y = snapped(view.to_px(0, k * step)[1], dpr)
                lines.append(QRectF(area.left(), y, area.width(), wide))
        _fill(painter, lines, colour)


def label(mm: float, unit: str) -> str:
    """A ruler's number: mm, or inches with fractions, with a true minus; never an exponent."""
    if unit == "in":
        whole, part = divmod(round(abs(mm) / MM_PER_IN * 64), 64)
        text = str(whole) if whole or not part else ""
        if part:
            sign = _FRACTIONS.get(part / 64)
            ratio = Fraction(part, 64)
            space = " " if text else ""
            text += sign or f"{space}{ratio.numerator}/{ratio.denominator}"
    else:
        text = f"{abs(mm):.1f}".removesuffix(".0")
    return f"−{text}" if mm < -1e-9 else text


def ruler_steps_mm(
    unit: str, scale: float, room_px: float = LABEL_PX
) -> tuple[float, float, float]:
    """Spacing of small ticks, middle ticks and labels, in mm; labels at least `room_px` apart."""
    ladder = ladder_mm(unit)
    text = next((s for s in ladder if s * scale >= room_px), ladder[-1])

    def divides(small: float, large: float) -> bool:
        return abs(large / small - round(large / small)) < 1e-6

    small = next((s for s in ladder if s * scale >= 3.4 and divides(s, text)), text)
    middle = next((s for s in ladder if s >= 4 * small - 1e-9 and divides(s, text)), text)
    return small, middle, text


def label_steps_mm(
    unit: str, scale: float, first_mm: float, last_mm: float, metrics: QFontMetrics
) -> tuple[float, float, float]:
    """Spacing as in `ruler_steps_mm`, wide enough for every label between two places."""
    steps = ruler_steps_mm(unit, scale)
    while True:
        text = steps[2]
        widest = max(
            (metrics.horizontalAdvance(label(k * text, unit))
             for k in _steps(first_mm - text, last_mm + text, text)),
            default=0,
        )  # fmt: skip
        if text * scale >= widest + LABEL_GAP_PX or text == ladder_mm(unit)[-1]:
            return steps
        steps = ruler_steps_mm(unit, scale, text * scale * 1.01)


def paint_rulers(
    painter: QPainter,
    view: View,
    width: float,
    height: float,
    unit: str,
    theme: Theme,
    dpr: float,
    pointer_mm: tuple[float, float] | None,
    extent_mm: tuple[float, float, float, float] | None,
) -> None:
    """Draw both rulers along the top and left of a widget.

    Args:
        painter: active, in logical pixels.
        view: the widget's view.
        width: of the widget, in pixels.
        height: of the widget, in pixels.
        unit: "mm" or "in".
        theme: colours.
        dpr: device pixels per logical pixel.
        pointer_mm: where to put the marks of the pointer.
        extent_mm: x0, y0, x1, y1 of the panel, marked along the rulers.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setFont(font(PX_RULER))
    wide = max(1.0, round(dpr)) / dpr
    painter.fillRect(QRectF(0, 0, width, RULER), theme.panel)
    painter.fillRect(QRectF(0, 0, RULER, height), theme.panel)
    _ruler(painter, view, width, unit, theme, dpr, False)
    _ruler(painter, view, height, unit, theme, dpr, True)
    if extent_mm is not None:
        stripe = QColor(theme.accent)
        stripe.setAlpha(120)
        a, b = (max(RULER, view.to_px(v, 0)[0]) for v in (extent_mm[0], extent_mm[2]))
        painter.fillRect(QRectF(a, RULER - 3, max(0.0, b - a), 2), stripe)
        a, b = (max(RULER, view.to_px(0, v)[1]) for v in (extent_mm[1], extent_mm[3]))
        painter.fillRect(QRectF(RULER - 3, a, 2, max(0.0, b - a)), stripe)
    painter.fillRect(QRectF(0, RULER - wide, width, wide), theme.line)
    painter.fillRect(QRectF(RULER - wide, 0, wide, height), theme.line)
    painter.fillRect(QRectF(0, 0, RULER - wide, RULER - wide), theme.panel)
    painter.setPen(theme.ink2)
    painter.drawText(QRectF(0, 0, RULER, RULER), Qt.AlignmentFlag.AlignCenter, _unit_name(unit))
    if pointer_mm is not None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.accent)
        x, y = view.to_px(*pointer_mm)
        tip = RULER - 1.0
        if x > RULER:
            painter.drawPolygon(
                QPolygonF([QPointF(x - 5, tip - 8), QPointF(x + 5, tip - 8), QPointF(x, tip)])
            )
        if y > RULER:
            painter.drawPolygon(
                QPolygonF([QPointF(tip - 8, y - 5), QPointF(tip - 8, y + 5), QPointF(tip, y)])
            )
    painter.restore()


def _unit_name(unit: str) -> str:
    return _("in") if unit == "in" else _("mm")


def _ruler(
    painter: QPainter,
    view: View,
    length: float,
    unit: str,
    theme: Theme,
    dpr: float,
    upright: bool,
) -> None:
    first = view.to_mm(RULER, RULER)[upright]
    last = view.to_mm(length, length)[upright]
    small, middle, text = label_steps_mm(unit, view.scale, first, last, painter.fontMetrics())
    wide = max(1.0, round(dpr)) / dpr
    per_middle, per_text = round(middle / small), round(text / small)
    strong: list[QRectF] = []
    faint: list[QRectF] = []
    for k in _steps(first, last, small):
        at = snapped(view.to_px(k * small, k * small)[upright], dpr)
        tall = 8 if k % per_text == 0 else 5 if k % per_middle == 0 else 3
        bar = QRectF(at, RULER - tall, wide, tall)
        if upright:
            bar = QRectF(RULER - tall, at, tall, wide)
        (strong if tall > 3 else faint).append(bar)
    _fill(painter, faint, theme.line2)
    _fill(painter, strong, theme.ink3)
    painter.setPen(theme.ink2)
    for k in _steps(first - text, last + text, text):
        at = view.to_px(k * text, k * text)[upright]
        if at < RULER + 12:
            continue
        words = label(k * text, unit)
        if upright:
            painter.save()
            painter.translate(1, at)
            painter.rotate(-90)
            painter.drawText(QRectF(-40, 0, 80, 13), Qt.AlignmentFlag.AlignCenter, words)
            painter.restore()
        else:
            painter.drawText(QRectF(at - 40, 1, 80, 13), Qt.AlignmentFlag.AlignCenter, words)


def scale_bar_mm(unit: str, scale: float) -> float:
    """Length of the scale bar: the longest round one of at most 220 px."""
    return max((s for s in ladder_mm(unit) if s * scale <= 220), default=ladder_mm(unit)[0])


def paint_scale_bar(
    painter: QPainter, view: View, height: float, unit: str, theme: Theme, dpr: float
) -> None:
    """Draw the scale bar at the lower left."""
    long_mm = scale_bar_mm(unit, view.scale)
    left, bottom = snapped(RULER + 16, dpr), snapped(height - 20, dpr)
    right = snapped(left + long_mm * view.scale, dpr)
    words = f"{label(long_mm, unit)} {_unit_name(unit)}"
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setFont(font(PX_LABEL))
    room = painter.fontMetrics().horizontalAdvance(words) + 8
    middle = (left + right) / 2
    box = QRectF(middle - room / 2, bottom - 17, room, 15)
    ground = QColor(theme.canvas)
    ground.setAlpha(210)
    painter.fillRect(box, ground)
    for bar in (
        QRectF(left, bottom, right - left, 1.5),
        QRectF(left, bottom - 5, 1.5, 6.5),
        QRectF(right - 1.5, bottom - 5, 1.5, 6.5),
    ):
        painter.fillRect(bar, theme.ink)
    painter.setPen(theme.ink)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
    painter.restore()
