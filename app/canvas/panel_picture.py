"""All layers of the canvas in order: table, rings, outline, points, gesture, rulers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.canvas import panel_item, rulers
from app.canvas.hits import box_mm
from app.canvas.rulers import RULER
from app.canvas.view import View
from app.figures import Unknown, panel_figures
from app.rings.ring_layer import RingLayer, Sheet
from app.theme import PX_BODY, Theme, font
from core.fill import DROPPED, Fill
from core.panel import Panel
from core.tally import PanelTally
from core.texts import _

if TYPE_CHECKING:
    from app.canvas.canvas import Canvas


class PanelPicture:
    """Paints a canvas; keeps what the ring layer has cached."""

    def __init__(self) -> None:
        self._rings = RingLayer()

    def paint(self, painter: QPainter, canvas: Canvas, theme: Theme, *, table: bool) -> None:
        """Paint everything, or only the rulers when `table` is false."""
        width, height = canvas.width(), canvas.height()
        dpr = canvas.devicePixelRatioF()
        panel = canvas.shown_panel()
        unit = canvas.document.project.unit
        if table:
            painter.save()
            area = QRectF(RULER, RULER, width - RULER, height - RULER)
            painter.setClipRect(area)
            painter.fillRect(area, theme.canvas)
            rulers.paint_grid(painter, canvas.view, area, unit, theme, dpr)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if panel is not None:
                self._paint_panel(painter, canvas, panel, theme, area, dpr)
            canvas.tool.paint(painter, canvas.view, theme)
            if panel is not None and canvas.show_mode != "outline":
                figures = panel_figures(canvas.document.shown, panel)
                if isinstance(figures, Unknown) and not canvas.tool.refusing:
                    self._paint_reason(painter, canvas, figures.why, theme)
            rulers.paint_scale_bar(painter, canvas.view, height, unit, theme, dpr)
            painter.restore()
        extent = None if panel is None else box_mm(panel.outline.rim)
        rulers.paint_rulers(
            painter, canvas.view, width, height, unit, theme, dpr, canvas.marks, extent
        )
        if canvas.shows_focus:
            painter.setPen(QPen(theme.accent, 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(1, 1, width - 2, height - 2))

    def _paint_panel(
        self,
        painter: QPainter,
        canvas: Canvas,
        panel: Panel,
        theme: Theme,
        area: QRectF,
        dpr: float,
    ) -> None:
        view, document, select = canvas.view, canvas.document, canvas.select_tool
        if canvas.show_mode != "outline":
            self._paint_fill(painter, canvas, panel, theme, dpr)
        picking = canvas.tool is select
        old = next((p for p in document.project.panels if p.id == panel.id), None)
        changing = old is not None and old.outline is not panel.outline
        if old is not None and changing and picking:
            panel_item.paint_before(painter, view, old.outline, theme)
            panel_item.paint_old_places(painter, view, old.outline, theme, select.dragged)
        crossing = canvas.tool.bad_outline
        if not picking:
            # What is being drawn shows its own lines.
            if old is not None:
                panel_item.paint_edges(painter, view, old, theme, area, None)
            return
        if crossing is not None:
            panel_item.paint_crossing(painter, view, crossing, theme)
        else:
            panel_item.paint_edges(painter, view, panel, theme, area, document.edge_id)
        outline = crossing or panel.outline
        panel_item.paint_handles(
            painter, view, outline, theme, document.node_ids, select.segment_ids()
        )
        panel_item.paint_nodes(
            painter,
            view,
            outline,
            theme,
            area,
            document.node_ids,
            hovered=select.hovered,
            dragged=select.dragged,
        )

    def _paint_fill(
        self, painter: QPainter, canvas: Canvas, panel: Panel, theme: Theme, dpr: float
    ) -> None:
        figures = panel_figures(canvas.document.shown, panel)
        if isinstance(figures, Unknown):
            # Said in front of everything else by `paint`.
            return
        tally = figures.tally
        if canvas.show_mode == "rows":
            paint_rows(painter, canvas.view, tally, theme)
            return
        looks = tuple(ring.metal.look for ring in tally.rings)
        self._rings.paint(
            painter,
            canvas.view,
            (canvas.width(), canvas.height()),
            dpr,
            tally.fill,
            Sheet(tally.solved, looks, theme, panel.grain_deg),
        )

    @staticmethod
    def _paint_reason(painter: QPainter, canvas: Canvas, why: str, theme: Theme) -> None:
        """Say why there are no rings, at the top of the drawing."""
        painter.setFont(font(PX_BODY))
        words = "⚠ " + _("No rings. {why}").format(why=why)
        room = painter.fontMetrics().boundingRect(
            0, 0, canvas.width() - RULER - 64, 200, Qt.TextFlag.TextWordWrap, words
        )
        box = QRectF(RULER + 16, RULER + 12, room.width() + 24, room.height() + 12)
        painter.setPen(QPen(theme.warn, 1))
        painter.setBrush(theme.warn_wash)
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(theme.ink)
        painter.drawText(box.adjusted(12, 6, -12, -6), int(Qt.TextFlag.TextWordWrap), words)


def paint_rows(painter: QPainter, view: View, tally: PanelTally, theme: Theme) -> None:
    """A thin line along each run of rings, from the first ring's outer side to the last's."""
    fill = tally.fill
    if not len(fill.runs):
        return
    colour = QColor(theme.ink3)
    pen = QPen(colour, 1.2)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    for dropped in (False, True):
        lines = _row_lines(fill, view, tally.solved.half_along_mm, dropped)
        if dropped:
            pen.setDashPattern([1, 2])
        painter.setPen(pen)
        painter.drawLines(lines)


def _row_lines(fill: Fill, view: View, reach_mm: float, dropped: bool) -> list[QLineF]:
    which = (fill.runs[:, 2] == DROPPED) == dropped
    place, count = fill.place[which], fill.runs[which, 4].astype(float)
    step = place[:, 2:4]
    unit = step / np.maximum(np.hypot(*step.T), 1e-12)[:, None]
    start = place[:, :2] - unit * reach_mm * 0.8
    end = place[:, :2] + step * (count - 1)[:, None] + unit * reach_mm * 0.8
    ends = np.hstack([start, end]) * view.scale + np.array([*view.offset, *view.offset])
    return [QLineF(*row) for row in ends.tolist()]
