"""Save picture…: the selected panel, or on the Rings page a piece of the ring in hand."""

from __future__ import annotations

import logging
import math
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice, QObject, QPointF, Qt
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QApplication, QWidget

from app import messages, pictures, settings
from app.document import Document
from app.messages import Question, Remarks
from app.pages.bench import Bench
from core.errors import BadValue, RingloftError
from core.picture import Picture
from core.shading import Shape
from core.texts import _, ngettext
from core.units import format_count
from core.weave.cells import WEAVES
from core.weave.lay import Lay
from core.whole_file import write_whole

log = logging.getLogger("ringloft.pictures")

PNG_PX_PER_MM = 300 / 25.4
MOST_PIXELS = 60e6


class Pictures(QObject):
    """What the File menu calls."""

    def __init__(self, document: Document, remarks: Remarks, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._remarks, self._window = document, remarks, window

    def save(self) -> None:
        """Ask for a place and save the picture of what is in front."""
        try:
            shown = self.shown()
        except RingloftError as error:
            messages.tell(self._window, _("There is no picture to save"), error)
            return
        title = shown.words["title"]
        name = "".join(c if c.isalnum() or c in " -_" else "_" for c in title).strip()
        start = Path(settings.get("files/folder")) / f"{name or _('Picture')}.svg"
        question = Question("save", _("Save the picture"), str(start), files=kinds())
        found = messages.ask(self._window, question)
        if found:
            self._write(shown, Path(found))

    def shown(self) -> Picture:
        """The picture of what is in front.

        Raises:
            RingloftError: nothing is selected, or it cannot be woven.
        """
        panel, bench = self._document.selected_panel, self._window.findChild(Bench)
        page = bench.parent() if bench is not None else None
        if bench is not None and isinstance(page, QWidget) and page.isVisible():
            if bench.ring_id is None:
                raise BadValue(_("There is no ring yet"), do=_("Add a ring"))
            weave = next(iter(WEAVES)) if panel is None else panel.weave
            return pictures.swatch_picture((bench.spec(bench.ring_id),), weave, Lay("laid"))
        if panel is None:
            raise BadValue(_("No panel is selected"), do=_("Select or draw a panel"))
        return pictures.panel_picture(self._document.project, panel)

    def _write(self, shown: Picture, path: Path) -> None:
        QApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
        try:
            suffix = pictures.suffix_of(path)
            data = png_picture(shown) if suffix == ".png" else pictures.picture_bytes(shown, suffix)
            write_whole(path, data)
        except RingloftError as error:
            QApplication.restoreOverrideCursor()
            messages.tell(self._window, _("The picture was not saved"), error)
            return
        QApplication.restoreOverrideCursor()
        settings.put("files/folder", str(path.resolve().parent))
        rings = ngettext("{n} ring", "{n} rings", shown.rings).format(n=format_count(shown.rings))
        self._remarks.say(
            _("Saved the picture as “{name}”: {rings}, at true size.").format(
                name=path.name, rings=rings
            )
        )
        log.info("saved picture %s", path)


def kinds() -> tuple[tuple[str, str], ...]:
    """The kinds of picture, in words and by suffix."""
    return (
        (_("Scalable drawing, SVG"), ".svg"),
        (_("Page to print, PDF"), ".pdf"),
        (_("Pixels, PNG"), ".png"),
    )


def png_picture(shown: Picture) -> bytes:
    """A picture as PNG on white, 300 pixels an inch or as many as fit, and says how many.

    Raises:
        BadValue: there is no room for so many pixels.
    """
    width, height = shown.size_mm
    scale = min(PNG_PX_PER_MM, math.sqrt(MOST_PIXELS / (width * height)))
    image = QImage(
        max(1, round(width * scale)), max(1, round(height * scale)), QImage.Format.Format_RGB32
    )
    if image.isNull():
        raise BadValue(_("There is no room for so many pixels"), do=_("Save it as SVG or PDF"))
    image.fill(QColor("white"))
    image.setDotsPerMeterX(round(scale * 1000))
    image.setDotsPerMeterY(round(scale * 1000))
    painter = QPainter(image)
    painter.scale(scale, scale)
    painter.translate(-shown.box_mm[0], -shown.box_mm[1])
    paint_picture(painter, shown)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, b"png")
    if not writer.write(image):
        raise BadValue(
            _("The picture could not be made ({reason})").format(reason=writer.errorString()),
            do=_("Save it as SVG or PDF"),
        )
    return bytes(buffer.data().data())


def paint_picture(painter: QPainter, shown: Picture) -> None:
    """Draw a picture; the painter is in mm of its frame."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for layer in shown.layers:
        shapes = [(shape, _path(shape)) for shape in layer.stamp.shapes]
        for x, y in zip(layer.x_mm.tolist(), layer.y_mm.tolist(), strict=True):
            painter.translate(x, y)
            for shape, path in shapes:
                _paint(painter, shape, path)
            painter.translate(-x, -y)


def _path(shape: Shape) -> QPainterPath:
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.WindingFill)
    for loop in shape.loops:
        path.addPolygon(QPolygonF([QPointF(x, y) for x, y in loop.tolist()]))
        path.closeSubpath()
    return path


def _paint(painter: QPainter, shape: Shape, path: QPainterPath) -> None:
    colour = QColor(*shape.colour)
    if not shape.width_mm:
        painter.fillPath(path, colour)
        return
    pen = QPen(colour, shape.width_mm)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if shape.dash_mm:
        pen.setDashPattern([part / shape.width_mm for part in shape.dash_mm])
    painter.strokePath(path, pen)
