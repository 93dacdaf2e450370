"""The small sample of an edge's mark shown in lists; the canvas draws the same marks large."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from app.theme import Theme
from core.panel import Edging


def draw_mark(painter: QPainter, box: QRectF, edging: Edging, theme: Theme) -> None:
    """Draw the mark of an edging level through the middle of a box, beads above the line."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    y = round(box.center().y()) + 0.5
    if edging == "edged":
        colour, y = theme.role_edged, y + 3
    else:
        colour = theme.ink
    painter.setPen(QPen(colour, 1.6))
    painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
    if edging == "edged":
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, 1.4))
        count = max(1, int(box.width() // 12))
        gap = box.width() / count
        for i in range(count):
            painter.drawEllipse(QPointF(box.left() + (i + 0.5) * gap, y - 4), 3, 3)
    painter.restore()
