"""The bar under the compared rings: a known length at true size, and whether to believe it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from app import theme as look
from app import true_size
from core.texts import _
from core.wire import MM_PER_IN

BAR_MM = 20.0
HEIGHT, GAP = 24, 8


class _Bar(QWidget):
    """The bar itself."""

    def __init__(self) -> None:
        super().__init__()
        self.length_mm = BAR_MM

    @property
    def length_px(self) -> int:
        """Its length on this screen."""
        return round(self.length_mm * true_size.px_per_mm(self))

    def put(self, length_mm: float) -> None:
        """Show a length; no layout may squeeze it."""
        self.length_mm = length_mm
        self.setFixedSize(self.length_px, HEIGHT)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """A line between two stems."""
        theme, length, y = look.current(), self.length_px, HEIGHT // 2
        painter = QPainter(self)
        painter.fillRect(0, y, length, 1, theme.ink2)
        for x in (0, length - 1):
            painter.fillRect(x, y - 4, 1, 9, theme.ink2)
        painter.end()


class ScaleBar(QWidget):
    """Twenty millimetres, or one inch, at the scale of the swatches, and the way to check it.

    Signals:
        check_asked: the maker wants to check the size on screen.
    """

    check_asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._unit = "mm"
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self.bar = _Bar()
        self.caption = QLabel()
        self.caption.setProperty("kind", "note")
        self.link = QPushButton()
        self.link.setProperty("kind", "link")
        self.link.setAccessibleName(_("Check the size on screen"))
        self.link.setToolTip(_("Check the size on screen"))
        self.link.clicked.connect(self.check_asked)
        for part in (self.caption, self.link):
            part.setFont(look.font(look.PX_LABEL))
        row.addWidget(self.bar)
        row.addSpacing(GAP)
        row.addWidget(self.caption)
        row.addSpacing(4)
        row.addWidget(self.link)
        row.addStretch(1)
        true_size.hub().changed.connect(self._show)
        self.put("mm")

    def put(self, unit: str) -> None:
        """Choose the unit of the bar."""
        self._unit = unit
        self._show()

    def text(self) -> str:
        """The words beside the bar; where its size is unchecked, the link ends the sentence."""
        inches = self._unit == "in"
        if true_size.scale_for(self).checked:
            return _("1 in, true size") if inches else _("20 mm, true size")
        if inches:
            return _("1 in, by the screen’s own word:")
        return _("20 mm, by the screen’s own word:")

    def _brief(self) -> tuple[str, ...]:
        """The same in fewer words, ever fewer."""
        inches = self._unit == "in"
        length = _("1 in") if inches else _("20 mm")
        if true_size.scale_for(self).checked:
            return (length,)
        return (_("1 in, unchecked:") if inches else _("20 mm, unchecked:"), f"{length}?")

    def _show(self) -> None:
        checked = true_size.scale_for(self).checked
        self.bar.put(MM_PER_IN if self._unit == "in" else BAR_MM)
        self.link.setText(_("check again") if checked else _("check it"))
        full = self.text()
        self.setAccessibleName(full if checked else f"{full} {self.link.text()}")
        self.caption.setToolTip(full)
        self._fit()

    def _fit(self) -> None:
        metrics = QFontMetrics(self.caption.font())
        room = self.width() - self.bar.length_px - GAP - 4 - self.link.sizeHint().width()
        texts = (self.text(), *self._brief())
        fits = (text for text in texts if metrics.horizontalAdvance(text) <= room)
        self.caption.setText(next(fits, texts[-1]))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In a narrow place the words are fewer."""
        super().resizeEvent(event)
        self._fit()

    def showEvent(self, _event: QShowEvent) -> None:
        """The screen is known for certain only now."""
        self._show()
