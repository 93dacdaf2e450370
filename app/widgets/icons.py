"""Icons drawn by QPainterPath on a grid of 16, so that they follow the theme."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPainterPath, QPen, QPixmap

from app.theme import Theme

GRID = 16.0


def _lines(*runs: tuple[tuple[float, float], ...]) -> QPainterPath:
    path = QPainterPath()
    for run in runs:
        path.moveTo(QPointF(*run[0]))
        for point in run[1:]:
            path.lineTo(QPointF(*point))
    return path


def _select() -> QPainterPath:
    path = _lines(((4, 2.5), (4, 12.5), (6.7, 10), (8.6, 14), (10.5, 13.1), (8.6, 9.2), (12.2, 9)))
    path.closeSubpath()
    return path


def _outline() -> QPainterPath:
    corners = ((3.5, 4), (12.5, 3), (13, 12), (3, 12.5))
    path = _lines(corners)
    path.closeSubpath()
    for x, y in corners:
        path.addEllipse(QPointF(x, y), 1.3, 1.3)
    return path


def _hole() -> QPainterPath:
    path = QPainterPath()
    path.addRoundedRect(QRectF(2, 3, 12, 10), 1.5, 1.5)
    path.addEllipse(QPointF(8, 8), 2.6, 2.6)
    return path


def _undo() -> QPainterPath:
    path = _lines(((5.8, 2.8), (2.8, 5.8), (5.8, 8.8)), ((2.8, 5.8), (9, 5.8)))
    path.arcTo(QRectF(5.4, 5.8, 7.4, 7.4), 90, -180)
    path.lineTo(QPointF(6.5, 13.2))
    return path


def _redo() -> QPainterPath:
    path = _lines(((10.2, 2.8), (13.2, 5.8), (10.2, 8.8)), ((13.2, 5.8), (7, 5.8)))
    path.arcTo(QRectF(3.2, 5.8, 7.4, 7.4), 90, 180)
    path.lineTo(QPointF(9.5, 13.2))
    return path


def _copy() -> QPainterPath:
    path = QPainterPath()
    path.addRoundedRect(QRectF(5.5, 5.5, 8, 8), 1.2, 1.2)
    path.moveTo(10.5, 2.5)
    path.lineTo(3.7, 2.5)
    path.quadTo(2.5, 2.5, 2.5, 3.7)
    path.lineTo(2.5, 10.5)
    return path


def _delete() -> QPainterPath:
    path = _lines(
        ((2.5, 4.2), (13.5, 4.2)),
        ((4, 4.2), (4.6, 13.5), (11.4, 13.5), (12, 4.2)),
        ((6.2, 4.2), (6.2, 2.4), (9.8, 2.4), (9.8, 4.2)),
    )
    return path


def _rename() -> QPainterPath:
    path = _lines(((3, 13), (3.6, 10.2), (10.8, 3), (13, 5.2), (5.8, 12.4)))
    path.closeSubpath()
    return path


def _fit() -> QPainterPath:
    return _lines(
        ((2.5, 6), (2.5, 2.5), (6, 2.5)),
        ((10, 2.5), (13.5, 2.5), (13.5, 6)),
        ((13.5, 10), (13.5, 13.5), (10, 13.5)),
        ((6, 13.5), (2.5, 13.5), (2.5, 10)),
    )


def _true() -> QPainterPath:
    return _lines(
        ((1.5, 10.5), (14.5, 10.5)),
        ((1.5, 6), (1.5, 10.5)),
        ((5.8, 8), (5.8, 10.5)),
        ((10.2, 8), (10.2, 10.5)),
        ((14.5, 6), (14.5, 10.5)),
    )


def _info() -> QPainterPath:
    path = QPainterPath()
    path.addEllipse(QPointF(8, 8), 5.8, 5.8)
    path.moveTo(8, 7.4)
    path.lineTo(8, 11)
    path.moveTo(8, 5)
    path.lineTo(8, 5.1)
    return path


def _ring() -> QPainterPath:
    path = QPainterPath()
    path.addEllipse(QPointF(8, 8), 5.8, 5.8)
    path.addEllipse(QPointF(8, 8), 3.4, 3.4)
    return path


def _page(with_arrow: bool) -> QPainterPath:
    path = _lines(((3.5, 2), (9.5, 2), (12.5, 5), (12.5, 14), (3.5, 14)))
    path.closeSubpath()
    if with_arrow:
        path.addPath(_lines(((8, 6), (8, 11)), ((6, 9), (8, 11), (10, 9))))
    return path


def _warn() -> QPainterPath:
    path = _lines(((8, 2.2), (14.4, 13.4), (1.6, 13.4)))
    path.closeSubpath()
    path.addPath(_lines(((8, 6.4), (8, 9.8)), ((8, 11.5), (8, 11.6))))
    return path


_DRAW: dict[str, Callable[[], QPainterPath]] = {
    "select": _select,
    "outline": _outline,
    "hole": _hole,
    "undo": _undo,
    "redo": _redo,
    "add": lambda: _lines(((8, 3), (8, 13)), ((3, 8), (13, 8))),
    "remove": lambda: _lines(((3, 8), (13, 8))),
    "copy": _copy,
    "delete": _delete,
    "rename": _rename,
    "fit": _fit,
    "true-size": _true,
    "info": _info,
    "ring": _ring,
    "new": lambda: _page(False),
    "save": lambda: _page(True),
    "open": lambda: _lines(
        ((2, 13), (2, 3.5), (6, 3.5), (7.5, 5.2), (13, 5.2), (13, 7.5)),
        ((2, 13), (4.2, 7.5), (14.8, 7.5), (12.6, 13), (2, 13)),
    ),
    "warn": _warn,
}

NAMES = tuple(_DRAW)


def path(name: str) -> QPainterPath:
    """The icon's lines on a grid of 16; raises KeyError for an unknown name."""
    return _DRAW[name]()


def _pixmap(name: str, colour: QColor, ratio: float) -> QPixmap:
    made = QPixmap(QSize(round(GRID * ratio), round(GRID * ratio)))
    made.setDevicePixelRatio(ratio)
    made.fill(Qt.GlobalColor.transparent)
    painter = QPainter(made)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(colour, 1.5)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.drawPath(path(name))
    painter.end()
    return made


def pixmap(name: str, colour: QColor, ratio: float = 1.0) -> QPixmap:
    """One icon in one colour, at a device pixel ratio."""
    return _pixmap(name, colour, ratio)


def icon(name: str, theme: Theme) -> QIcon:
    """An icon in ink; accent when chosen, ink3 when off."""
    made = QIcon()
    shades = (
        (QIcon.Mode.Normal, QIcon.State.Off, theme.ink),
        (QIcon.Mode.Normal, QIcon.State.On, theme.accent),
        (QIcon.Mode.Active, QIcon.State.On, theme.accent),
        (QIcon.Mode.Disabled, QIcon.State.Off, theme.ink3),
    )
    for ratio in (1.0, 2.0):
        for mode, state, colour in shades:
            made.addPixmap(_pixmap(name, colour, ratio), mode, state)
    return made
