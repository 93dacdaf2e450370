"""Draws many pieces of one pixmap at once, from an array; or piece by piece where Qt will not."""

from __future__ import annotations

import logging
from functools import cache
from typing import Any

import numpy as np
import shiboken6
from numpy.typing import NDArray
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPixmap

log = logging.getLogger("ringloft.rings")

Floats = NDArray[np.float64]


def draw_fragments(painter: QPainter, fragments: Floats, pixmap: QPixmap) -> None:
    """Draw many pieces of one pixmap in order.

    Args:
        painter: where; whole pixels stay sharp when it has no scale.
        fragments: float64 (n, 10), C order: x, y of the middle, left, top, width, height in the
            pixmap, x scale, y scale, rotation, opacity: how Qt lays out a PixmapFragment.
        pixmap: the picture.
    """
    if len(fragments) == 0:
        return
    if not array_is_drawn():
        draw_one_by_one(painter, fragments, pixmap)
        return
    _draw_array(painter, np.ascontiguousarray(fragments, dtype=np.float64), pixmap)


def _draw_array(painter: QPainter, fragments: Floats, pixmap: QPixmap) -> None:
    # PySide takes one fragment and a count; the count may run on over an array in memory.
    head: Any = shiboken6.wrapInstance(fragments.ctypes.data, QPainter.PixmapFragment)
    painter.drawPixmapFragments(head, len(fragments), pixmap)


def draw_one_by_one(painter: QPainter, fragments: Floats, pixmap: QPixmap) -> None:
    """The same picture as `draw_fragments`, for unscaled fragments, by plain calls."""
    for x, y, left, top, width, height in fragments[:, :6].tolist():
        at = QPoint(round(x - width / 2), round(y - height / 2))
        painter.drawPixmap(at, pixmap, QRect(int(left), int(top), int(width), int(height)))


@cache
def array_is_drawn() -> bool:
    """Whether this Qt reads a whole array as fragments, tried once on a tiny picture.

    How fragments lie in memory is Qt's own affair; another build might lay them out otherwise.
    """
    pixmap = QPixmap(4, 2)
    pixmap.fill(QColor("red"))
    patch = QPainter(pixmap)
    patch.fillRect(2, 0, 2, 2, QColor("blue"))
    patch.end()
    fragments = np.array(
        [
            [2.0, 2.0, 0.0, 0.0, 2.0, 2.0, 1.0, 1.0, 0.0, 1.0],
            [5.0, 3.0, 2.0, 0.0, 2.0, 2.0, 1.0, 1.0, 0.0, 1.0],
            [6.0, 6.0, 0.0, 0.0, 4.0, 2.0, 1.0, 1.0, 0.0, 1.0],
        ]
    )
    shown = []
    for draw in (_draw_array, draw_one_by_one):
        image = QImage(8, 8, QImage.Format.Format_ARGB32_Premultiplied)
        image.fill(Qt.GlobalColor.transparent)
        painter = QPainter(image)
        try:
            draw(painter, fragments, pixmap)
        except Exception:
            log.exception("rings are drawn one by one")
            return False
        finally:
            painter.end()
        shown.append(image)
    if shown[0] != shown[1]:
        log.warning("rings are drawn one by one: an array of fragments is not read as laid out")
        return False
    return True
