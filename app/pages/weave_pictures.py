"""Small pictures of the weaves, in the panel's own rings where those can make them."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from functools import lru_cache

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon, QImage, QPainter, QPainterPath, QPixmap

from app import theme as look
from app.rings.ring_layer import RingLayer, Sheet
from core.errors import RingloftError
from core.panel import Panel, sheet_of
from core.project import Project
from core.ring import Ring, resolve
from core.weave.cells import WEAVES, Weave
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.sheet import SolvedLay

PICTURE = QSize(48, 30)
RING_PX, PITCH_PX = 19.0, 17.0
"""How wide the widest ring and the pitch along may be, so that rows and their links are seen."""

RADIUS_PX = 3.0
ABOVE_LIMIT = 1.2
"""A weave that the rings cannot make is shown in a ring so much wider than its limit."""


def pictures(project: Project, panel: Panel, dpr: float) -> dict[str, QIcon]:
    """A picture of each weave, by its id; spread, so that one sees how its rings hold.

    Args:
        project: the panel's costume.
        panel: what its rings are, and of which metals.
        dpr: device pixels in a logical one.
    """
    return {key: _icon(*_sheet(project, panel, weave), dpr) for key, weave in WEAVES.items()}


def weave_icon(weave_id: str, ring: Ring | None, look_key: str, dpr: float) -> QIcon:
    """A picture of a weave in a ring, or a wider one where that cannot make it; spread.

    Args:
        weave_id: the weave.
        ring: of every ring kind; None for a sample.
        look_key: the metal's look, a key of ``theme.metals``.
        dpr: device pixels in a logical one.
    """
    solved = _sample(weave_id)
    if ring is not None:
        with suppress(RingloftError):
            solved = solve_lay(weave_id, ring.wire_mm, ring.inner_mm, Lay("spread"))
    return _icon(solved, (look_key,), dpr)


def _sample(weave_id: str) -> SolvedLay:
    return solve_lay(weave_id, 1.0, ABOVE_LIMIT * limit_aspect_ratio(weave_id), Lay("spread"))


def _sheet(project: Project, panel: Panel, weave: Weave) -> tuple[SolvedLay, tuple[str, ...]]:
    other = replace(panel, weave=weave.id, lay=Lay("spread"))
    try:
        rings = tuple(resolve(spec) for spec in project.rings_of(other))
        return sheet_of(other, rings), tuple(ring.metal.look for ring in rings)
    except RingloftError:
        return _sample(weave.id), ("steel",)


def _icon(solved: SolvedLay, looks: tuple[str, ...], dpr: float) -> QIcon:
    pixmap = QPixmap.fromImage(_picture(solved, looks, look.current().scheme, dpr))
    icon = QIcon(pixmap)
    # Metal keeps its colour on the line in hand.
    icon.addPixmap(pixmap, QIcon.Mode.Selected)
    return icon


@lru_cache(maxsize=60)
def _picture(solved: SolvedLay, looks: tuple[str, ...], _scheme: str, dpr: float) -> QImage:
    """Painted in the theme of now, whose scheme is part of what is remembered by."""
    theme = look.current()
    sheet = Sheet(solved, looks, theme)
    image = QImage(PICTURE * dpr, QImage.Format.Format_ARGB32_Premultiplied)
    image.setDevicePixelRatio(dpr)
    image.fill(Qt.GlobalColor.transparent)
    size = float(PICTURE.width()), float(PICTURE.height())
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    frame = QPainterPath()
    frame.addRoundedRect(0.0, 0.0, *size, RADIUS_PX, RADIUS_PX)
    painter.setClipPath(frame)
    painter.fillRect(0, 0, PICTURE.width(), PICTURE.height(), theme.canvas)
    px_per_mm = min(RING_PX / sheet.ring_mm, PITCH_PX / solved.along_mm)
    RingLayer().paint_sheet(painter, size, dpr, px_per_mm, sheet)
    painter.end()
    return image
