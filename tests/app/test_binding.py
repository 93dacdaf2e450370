"""The Qt binding itself."""

import sys

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter, QPolygonF


def test_painter_calls_keep_the_references_to_none(qapp):
    """PySide6 6.12.0 loses a reference to None at each such call and aborts after a while (found
    by trial); this fails long before that."""
    image = QImage(64, 64, QImage.Format.Format_ARGB32_Premultiplied)
    painter = QPainter(image)
    line = QPolygonF([QPointF(0, 0), QPointF(9, 9)])
    colour = QColor("black")
    before = sys.getrefcount(None)
    for _ in range(500):
        painter.setPen(colour)
        painter.drawPolyline(line)
        painter.fillRect(QRectF(0, 0, 4, 4), colour)
        painter.drawEllipse(QPointF(20, 20), 5.0, 5.0)
    after = sys.getrefcount(None)
    painter.end()
    assert after > before - 50
