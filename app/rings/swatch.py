"""A piece of mail at true scale, for looking at rings side by side."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme as themes
from app import true_size
from app.rings.ring_layer import RingLayer, Sheet
from core.texts import _
from core.weave.sheet import SolvedLay

RADIUS_PX = 4


class SwatchView(QWidget):
    """A framed swatch that fills the widget, at true scale."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._layer = RingLayer()
        self._sheet: tuple[SolvedLay, tuple[str, ...]] | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(48, 40)
        self.clear()
        true_size.hub().changed.connect(self.update)

    @property
    def px_per_mm(self) -> float:
        """Logical pixels a mm, at true size on this screen."""
        return true_size.px_per_mm(self)

    def set_sheet(self, solved: SolvedLay, looks: str | tuple[str, ...], caption: str) -> None:
        """Show a sheet.

        Args:
            solved: the sheet.
            looks: the metal's look, a key of ``theme.metals``, or one for each ring kind.
            caption: what it is, for those who cannot see it.
        """
        self._sheet = (solved, (looks,) if isinstance(looks, str) else looks)
        self.setAccessibleName(_("Swatch at true size: {caption}").format(caption=caption))
        self.setToolTip(caption)
        self.update()

    def clear(self) -> None:
        """Show no sheet."""
        self._sheet = None
        self.setAccessibleName(_("Swatch: nothing to show"))
        self.setToolTip("")
        self.update()

    def sizeHint(self) -> QSize:
        """A hand's breadth."""
        return QSize(260, 340)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint ground, rings and frame."""
        theme = themes.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.canvas)
        painter.drawRoundedRect(frame, RADIUS_PX, RADIUS_PX)
        if self._sheet is not None:
            clip = QPainterPath()
            clip.addRoundedRect(frame, RADIUS_PX, RADIUS_PX)
            painter.save()
            painter.setClipPath(clip)
            solved, looks = self._sheet
            self._layer.paint_sheet(
                painter,
                (self.width(), self.height()),
                self.devicePixelRatioF(),
                self.px_per_mm,
                Sheet(solved, looks, theme),
            )
            painter.restore()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.line2, 1.0))
        painter.drawRoundedRect(frame, RADIUS_PX, RADIUS_PX)
        painter.end()
