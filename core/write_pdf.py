"""A picture as PDF at true size, on a page as large as it and its border.

Each stamp is one form of the file, drawn at every place. The file asks the viewer not to scale
it when it is printed. The same picture gives the same bytes.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from core.errors import BadValue
from core.picture import STRING, Box, Layer, Picture, Stamp, strings
from core.shading import Colour
from core.texts import _

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PT_PER_MM = 72 / 25.4
MAX_PAGE_MM = 5080.0
"""Source: ISO 32000-1, annex C.2: pages up to 14,400 units of 1/72 inch."""


def pdf_picture(picture: Picture, margin_mm: float = 0.0) -> bytes:
    """The bytes of a PDF file of one page.

    Args:
        picture: what to draw.
        margin_mm: empty border round it.

    Raises:
        BadValue: no page is so large.
    """
    from reportlab.pdfgen.canvas import Canvas

    width, height = picture.size_mm
    page = width + 2 * margin_mm, height + 2 * margin_mm
    if max(page) > MAX_PAGE_MM:
        raise BadValue(
            _("The picture is larger than a PDF page can be"),
            do=_("Save it as SVG, or save a smaller piece"),
        )
    file = io.BytesIO()
    canvas = Canvas(
        file,
        pagesize=(page[0] * PT_PER_MM, page[1] * PT_PER_MM),
        pageCompression=1,
        invariant=1,
        initialFontName="Helvetica",
    )
    canvas.setTitle(picture.words.get("title") or _("Picture"))
    canvas.setSubject(picture.words.get("about") or "")
    canvas.setCreator("Ringloft")
    canvas.setAuthor("")
    canvas.setViewerPreference("PrintScaling", "None")
    _draw(canvas, picture, page)
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, picture: Picture, page: tuple[float, float]) -> None:
    shown = []
    for layer in picture.layers:
        _define(canvas, layer.stamp)
        shown += _strung(canvas, layer)
    x0, y0, x1, y1 = picture.box_mm
    canvas.saveState()
    # From here on mm, y down, the picture in the middle of the page.
    canvas.scale(PT_PER_MM, -PT_PER_MM)
    canvas.translate((page[0] - x0 - x1) / 2, -(page[1] + y0 + y1) / 2)
    _clip(canvas, picture.box_mm)
    for name, places in shown:
        _place(canvas, name, places)
    canvas.restoreState()


def _clip(canvas: Canvas, box: Box) -> None:
    x0, y0, x1, y1 = box
    path = canvas.beginPath()
    path.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.clipPath(path, stroke=0, fill=0)


def _define(canvas: Canvas, stamp: Stamp) -> None:
    canvas.beginForm(stamp.name, *_roomy(stamp))
    for shape in stamp.shapes:
        path = canvas.beginPath()
        for loop in shape.loops:
            corners = loop.tolist()
            path.moveTo(*corners[0])
            for corner in corners[1:]:
                path.lineTo(*corner)
            path.close()
        if shape.width_mm:
            canvas.setStrokeColorRGB(*_parts(shape.colour))
            canvas.setLineWidth(shape.width_mm)
            canvas.setLineJoin(1)
            canvas.setDash(list(shape.dash_mm))
            canvas.drawPath(path, stroke=1, fill=0)
        else:
            canvas.setFillColorRGB(*_parts(shape.colour))
            canvas.drawPath(path, stroke=0, fill=1, fillMode=1)
    canvas.endForm()


def _parts(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = colour
    return red / 255, green / 255, blue / 255


def _strung(canvas: Canvas, layer: Layer) -> list[tuple[str, NDArray[np.float64]]]:
    """Define a form for the layer's strings; which forms to draw, and where."""
    name, found = layer.stamp.name, strings(layer)
    if not len(found.starts):
        return [(name, found.singles)]
    along = np.arange(STRING)[:, None] * np.array(found.step_mm)
    x0, y0, x1, y1 = _roomy(layer.stamp)
    (dx, dy), row = along[-1].tolist(), f"{name}-row"
    canvas.beginForm(
        row, x0 + min(0.0, dx), y0 + min(0.0, dy), x1 + max(0.0, dx), y1 + max(0.0, dy)
    )
    _place(canvas, name, along)
    canvas.endForm()
    return [(row, found.starts), (name, found.singles)]


def _roomy(stamp: Stamp) -> Box:
    x0, y0, x1, y1 = stamp.box_mm
    room = 0.05
    return x0 - room, y0 - room, x1 + room, y1 + room


def _place(canvas: Canvas, name: str, places: NDArray[np.float64]) -> None:
    for x, y in places.tolist():
        canvas.saveState()
        canvas.translate(x, y)
        canvas.doForm(name)
        canvas.restoreState()
