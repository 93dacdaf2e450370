"""What tests of rings on screen share: a sheet, and pictures of it as arrays."""

import numpy as np
from PySide6.QtGui import QImage, QPainter

from app import theme
from app.canvas.view import View
from app.rings.ring_layer import RingLayer, Sheet
from core.weave.cells import EUROPEAN_4_IN_1 as WEAVE
from core.weave.lay import Lay, solve_lay

SOLVED = solve_lay(WEAVE.id, 1.25, 6.25, Lay("laid"))
RING_MM = 2 * SOLVED.centreline_mm + SOLVED.wire_mm


def picture(
    fill,
    view,
    size=(200, 160),
    dpr=1,
    grain=0.0,
    look="brass",
    ground=None,
    layer=None,
    scheme=theme.LIGHT,
    solved=SOLVED,
):
    """The rings painted on a plain ground, (height, width, 3) BGR."""
    image = QImage(round(size[0] * dpr), round(size[1] * dpr), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(dpr)
    image.fill(ground if ground is not None else scheme.canvas)
    painter = QPainter(image)
    sheet = Sheet(solved, (look,) if isinstance(look, str) else look, scheme, grain)
    (layer or RingLayer()).paint(painter, view, size, dpr, fill, sheet)
    painter.end()
    return np.array(image.constBits()).reshape(image.height(), image.width(), 4)[..., :3].copy()


def alike(a, b):
    """Whether two pictures differ by no more than the rounding of a blend."""
    return np.abs(a.astype(int) - b).max() <= 4


def at_ring_px(ring_px, offset=(80.0, 70.0)):
    return View(ring_px / RING_MM, offset)
