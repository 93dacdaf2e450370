"""The count strip: what the panel or the costume takes, following every change within a frame."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app import theme as look
from app.document import Document
from app.figures import (
    CELLS,
    Figure,
    all_ranges_known,
    difference,
    figures,
    how_costume,
    how_panel,
    how_panel_numbers,
    labels,
)
from app.ranges import range_counter
from app.widgets.explain import explain
from app.widgets.segment import ScopeSegment
from core.project import Project
from core.texts import _

NOTES_FROM = 1180
AREA_FROM = 1080

# Shares of the strip's width: the longest note stands beside the hours.
STRETCH = {"rings": 29, "area": 17, "edge": 17, "mass": 18, "spools": 18, "hours": 22}


class Cell(QAbstractButton):
    """One number; a click says how it came about."""

    def __init__(self, key: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.key = key
        self.figure = Figure(None, "—")
        self.note = ""
        self.changing = False
        self.notes_shown = True
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setMinimumWidth(74)

    def sizeHint(self) -> QSize:
        """Room for a five-digit count and its note."""
        return QSize(150, look.STRIP_HEIGHT - 2)

    @property
    def brief(self) -> str:
        """The note in fewer words; while the number changes there is none."""
        return "" if self.changing else self.figure.brief

    def put(self, figure: Figure, note: str, changing: bool) -> None:
        """Show a number and its note; repaint only when something differs."""
        if (figure, note, changing) == (self.figure, self.note, self.changing):
            return
        self.figure, self.note, self.changing = figure, note, changing
        said = " ".join(p for p in (figure.text, figure.unit, note or figure.why) if p)
        self.setAccessibleName(f"{labels()[self.key]}: {said}")
        self.setToolTip(figure.why)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Label and note above, the number and its unit below."""
        theme = look.current()
        painter = QPainter(self)
        width, height = self.width(), self.height()
        if self.underMouse():
            painter.fillRect(self.rect(), theme.hover)
        painter.setPen(theme.line)
        painter.drawLine(0, 0, 0, height)
        room = QRect(12, 9, width - 20, 16)
        painter.setFont(look.font(look.PX_LABEL))
        painter.setPen(theme.ink2)
        label = labels()[self.key]
        painter.drawText(room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, label)
        metrics = QFontMetrics(look.font(look.PX_LABEL))
        free = room.width() - metrics.horizontalAdvance(label) - 4
        note = next(
            (n for n in (self.note, self.brief) if n and metrics.horizontalAdvance(n) <= free), ""
        )
        if note and self.notes_shown:
            painter.setPen(theme.accent if self.changing else theme.ink2)
            right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(room, right, note)
        painter.setFont(look.font(look.PX_STRIP))
        painter.setPen(theme.ink if self.figure.value is not None else theme.ink2)
        painter.drawText(12, 53, self.figure.text)
        x = 12 + QFontMetrics(look.font(look.PX_STRIP)).horizontalAdvance(self.figure.text) + 5
        painter.setFont(look.font(look.PX_BODY))
        painter.setPen(theme.ink2)
        painter.drawText(x, 53, self.figure.unit)
        if self.hasFocus():
            pen = painter.pen()
            pen.setColor(theme.accent)
            pen.setWidth(2)
            painter.setPen(pen)
            painter.drawRoundedRect(QRectF(2, 2, width - 4, height - 4), 4, 4)
        painter.end()


class CountStrip(QWidget):
    """The strip at the foot of every page."""

    def __init__(self, document: Document, hub: look.ThemeHub) -> None:
        super().__init__()
        self._document = document
        self._whole = False
        self._trouble = ""
        self._before: tuple[Project, tuple[int | None, bool], dict[str, Figure]] | None = None
        self.setFixedHeight(look.STRIP_HEIGHT)
        self.setAccessibleName(_("Count"))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 0, 0)
        row.setSpacing(0)
        head = QWidget(self)
        head.setFixedWidth(look.LIST_WIDTH)
        column = QVBoxLayout(head)
        column.setContentsMargins(16, 6, 4, 8)
        column.setSpacing(3)
        label = QLabel(_("Count for"), head)
        label.setFont(look.font(look.PX_LABEL))
        label.setProperty("kind", "note")
        self.scope = ScopeSegment(_("Count for"), _("Count for {name}"), 86)
        self.scope.button("panel").setMaximumWidth(108)
        self.scope.chosen.connect(self._choose)
        column.addWidget(label)
        column.addWidget(self.scope, 0, Qt.AlignmentFlag.AlignLeft)
        row.addWidget(head)
        self.cells = {key: Cell(key, self) for key in CELLS}
        for key, cell in self.cells.items():
            row.addWidget(cell, STRETCH.get(key, 20))
            cell.clicked.connect(self._explainer(key))
        document.changed.connect(self.refresh)
        range_counter(document).counted.connect(self._range_counted)
        document.selection_changed.connect(self.refresh)
        hub.theme_changed.connect(self.update)
        self.refresh()

    @property
    def whole(self) -> bool:
        """Whether the costume is counted rather than the selected panel."""
        return self._whole

    @property
    def trouble(self) -> str:
        """Why what is asked for cannot be counted; empty when it can, or when nothing is there."""
        return self._trouble

    def _choose(self, key: str) -> None:
        self._whole = key == "costume"
        self.refresh()

    def refresh(self) -> None:
        """Show the numbers of what is shown now, with their change during a gesture."""
        document = self._document
        still = not document.previewing
        now = figures(document.shown, document.shown_panel_id, self._whole, ranges=still)
        some = bool(document.shown.panels) and (self._whole or document.panel_id is not None)
        self._trouble = next((f.why for f in now.values() if f.value is None and some), "")
        before = self._settled() if document.previewing else None
        for key, cell in self.cells.items():
            figure = now[key]
            note = difference(figure, before[key]) if before else figure.fact
            cell.put(figure, note, before is not None)
        self._name_scope()

    def _settled(self) -> dict[str, Figure]:
        """The numbers before the gesture, counted once for each gesture."""
        document = self._document
        project, key = document.project, (document.shown_panel_id, self._whole)
        if self._before is None or self._before[0] is not project or self._before[1] != key:
            self._before = (project, key, figures(project, *key))
        return self._before[2]

    def _range_counted(self) -> None:
        """The costume's range is the last to be known."""
        if self._whole and all_ranges_known(self._document.shown):
            self.refresh()

    def _name_scope(self) -> None:
        document = self._document
        panel = next((p for p in document.shown.panels if p.id == document.shown_panel_id), None)
        self.scope.name_panel(panel.name if panel else None)

    def _explainer(self, key: str) -> Callable[[], None]:
        def show() -> None:
            document = self._document
            project = document.shown
            lines: tuple[str, ...] = ()
            if not self._whole and document.panel_id is not None:
                lines = how_panel(project, project.panel(document.panel_id))
                if key not in ("rings", "area", "edge"):
                    lines = how_panel_numbers(project, project.panel(document.panel_id))
            elif project.panels:
                lines = how_costume(project)
            title = _("{label}: how this came about").format(label=labels()[key])
            explain(self.cells[key], title, lines)

        return show

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In a narrow window the notes go first, then the area."""
        super().resizeEvent(event)
        for cell in self.cells.values():
            cell.notes_shown = self.width() >= NOTES_FROM
        self.cells["area"].setVisible(self.width() >= AREA_FROM)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """The ground, a heavy rule and a hairline, as in a drawing's title block."""
        theme = look.current()
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.panel)
        painter.fillRect(0, 0, self.width(), 1, theme.line2)
        painter.fillRect(0, 2, self.width(), 1, theme.line)
        painter.end()
