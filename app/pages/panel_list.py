"""The list of panels: a small picture, the name and the count of each."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPointF,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QPainter, QPainterPath, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QStyleOptionViewItem, QWidget

from app import theme as look
from app.document import Document
from app.figures import Unknown, panel_figures
from app.ranges import range_counter
from app.widgets.lists import Index, MirrorList, NameDelegate, draw_words, paint_ground
from core import edits, units
from core.errors import RingloftError
from core.outline import Outline, flatten
from core.panel import Panel
from core.tally import lay_text
from core.texts import _

PANEL_ROLE = Qt.ItemDataRole.UserRole + 1
ROW = 68
PICTURE = QSize(60, 46)


class Pictures:
    """Small outlines, kept while the outline stays the same object."""

    KEPT = 600

    def __init__(self) -> None:
        self._kept: OrderedDict[int, tuple[Outline, QPainterPath]] = OrderedDict()

    def path(self, outline: Outline) -> QPainterPath:
        """The outline scaled into a box of `PICTURE`, centred on zero."""
        held = self._kept.get(id(outline))
        if held is not None:
            return held[1]
        path = QPainterPath()
        for loop in outline.loops():
            points = flatten(loop).points
            path.addPolygon(QPolygonF([QPointF(float(x), float(y)) for x, y in points]))
            path.closeSubpath()
        box = path.boundingRect()
        scale = min(
            PICTURE.width() / max(box.width(), 1e-6), PICTURE.height() / max(box.height(), 1e-6)
        )
        path.translate(-box.center())
        scaled = QTransform.fromScale(scale, scale).map(path)
        self._kept[id(outline)] = (outline, scaled)
        if len(self._kept) > self.KEPT:
            self._kept.popitem(last=False)
        return scaled


class PanelModel(QAbstractListModel):
    """The panels of what the document shows.

    Signals:
        refused: why a name was not taken.
    """

    refused = Signal(object)

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._panels = document.shown.panels
        self._rings = document.shown.rings
        document.changed.connect(self._follow)
        range_counter(document).counted.connect(self._renew)

    @property
    def panels(self) -> tuple[Panel, ...]:
        """What is listed."""
        return self._panels

    def _follow(self) -> None:
        before, now = self._panels, self._document.shown.panels
        rings, self._rings = self._rings, self._document.shown.rings
        if before is now and rings is self._rings:
            return
        if [p.id for p in before] != [p.id for p in now]:
            self.beginResetModel()
            self._panels = now
            self.endResetModel()
            return
        self._panels = now
        for row, (old, new) in enumerate(zip(before, now, strict=True)):
            if old is not new or rings is not self._rings:
                self.dataChanged.emit(self.index(row), self.index(row))

    def _renew(self, panel_id: int) -> None:
        """Show the range that was counted by now."""
        for row, panel in enumerate(self._panels):
            if panel.id == panel_id:
                self.dataChanged.emit(self.index(row), self.index(row))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """How many panels there are."""
        return 0 if parent.isValid() else len(self._panels)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Name, the panel itself, and the words a screen reader says."""
        if not index.isValid() or index.row() >= len(self._panels):
            return None
        panel = self._panels[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return panel.name
        if role == PANEL_ROLE:
            return panel
        if role == Qt.ItemDataRole.AccessibleTextRole:
            said = (panel.name, self.count_text(panel), self.lay_words(panel)[0])
            return ", ".join(part for part in said if part)
        if role == Qt.ItemDataRole.ToolTipRole:
            found = panel_figures(self._document.shown, panel)
            if isinstance(found, Unknown):
                return found.why
            return f"{self.count_text(panel)}, {self.lay_words(panel)[0]}"
        return None

    def count_text(self, panel: Panel) -> str:
        """The count of one copy, and how many copies."""
        found = panel_figures(self._document.shown, panel)
        if isinstance(found, Unknown):
            return _("cannot be counted")
        text = _("{n} rings").format(n=units.format_count(found.tally.per_copy))
        return f"{text} × {panel.copies}" if panel.copies > 1 else text

    def lay_words(self, panel: Panel) -> tuple[str, str]:
        """The lay the count of one copy holds for with its range, and the lay alone.

        A range that was not counted yet is left out: it takes too long for a painter.
        """
        lay, between, _short = self._lay_parts(panel)
        return (_("{lay}, {range}").format(lay=lay, range=between) if between else lay), lay

    def _lay_parts(self, panel: Panel) -> tuple[str, str, str]:
        """The lay, its range in words and the range in fewer signs, the latter perhaps empty."""
        found = panel_figures(self._document.shown, panel)
        if isinstance(found, Unknown):
            return "", "", ""
        lay = lay_text(panel.lay)
        both = found.tally.wide_range if found.tally.range_known else None
        if both is None:
            return lay, "", ""
        low, high = (end // panel.copies for end in both)
        return (
            lay,
            units.format_count_range(low, high),
            units.format_count_range(low, high, _("{low}–{high}")),
        )

    def lines(self, panel: Panel, fits: Callable[[str], bool]) -> tuple[str, ...]:
        """What stands under the name: count, lay and range, on two lines where they have room.

        Args:
            panel: whose.
            fits: whether words have room on a line.
        """
        count, (lay, between, short) = self.count_text(panel), self._lay_parts(panel)
        if not between:
            return count, lay
        for form in (between, short):
            whole = _("{lay}, {range}").format(lay=lay, range=form)
            if fits(whole):
                return count, whole
        return count, lay, between if fits(between) else short

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Rename a panel."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        panel = self._panels[index.row()]
        try:
            edit = edits.rename_panel(panel.id, str(value))
            return self._document.apply(edit, _("rename panel"))
        except RingloftError as error:
            self.refused.emit(error)
            return False

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Names can be typed over."""
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable


class PanelDelegate(NameDelegate):
    """Paints a row and edits its name in place."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, _("Name of the panel"))
        self._pictures = Pictures()

    def sizeHint(self, _option: QStyleOptionViewItem, _index: Index) -> QSize:
        """Room for the picture."""
        return QSize(look.LIST_WIDTH, ROW)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Picture, name, count and lay; chosen by wash and bar."""
        panel: Panel = index.data(PANEL_ROLE)
        theme, rect = look.current(), option.rect
        chosen = paint_ground(painter, option)
        self._picture(painter, rect, panel, theme, chosen)
        text = QRect(rect.left() + 90, rect.top() + 7, rect.width() - 98, 18)
        model, lines, apart = index.model(), tuple[str, ...](), 18
        if isinstance(model, PanelModel):
            metrics = QFontMetrics(look.font(look.PX_UNIT))
            lines = model.lines(panel, lambda w: metrics.horizontalAdvance(w) <= text.width())
        if len(lines) > 2:
            text.moveTop(rect.top() + 2)
            apart = 15
        draw_words(painter, text, panel.name, look.PX_BODY, theme.ink)
        for line, words in enumerate(lines, 1):
            below = text.translated(0, apart * line)
            draw_words(painter, below, words, look.PX_UNIT, theme.ink2)

    def _picture(
        self, painter: QPainter, rect: QRect, panel: Panel, theme: look.Theme, chosen: bool
    ) -> None:
        path = self._pictures.path(panel.outline)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(rect.left() + 16 + PICTURE.width() / 2, rect.center().y())
        dots = QPen(theme.ink3, 1, Qt.PenStyle.DotLine)
        painter.setPen(dots)
        painter.save()
        painter.setClipPath(path)
        painter.rotate(panel.grain_deg)
        half = PICTURE.width()
        for y in range(-half, half, 5):
            painter.drawLine(QPointF(-half, y + 0.5), QPointF(half, y + 0.5))
        painter.restore()
        painter.setPen(QPen(theme.accent if chosen else theme.ink2, 1.5))
        painter.drawPath(path)
        painter.restore()

    def editor_rect(self, row: QRect) -> QRect:
        """Over the name."""
        return QRect(row.left() + 82, row.top() + 2, row.width() - 88, 28)


class PanelList(MirrorList):
    """The costume's panels; the current one is the document's selected panel."""

    def __init__(self, document: Document, parent: QWidget | None = None) -> None:
        self.panel_model = PanelModel(document)
        super().__init__(_("Panels"), self.panel_model, renames=True, parent=parent)
        self.panel_model.setParent(self)
        self._document = document
        self.setItemDelegate(PanelDelegate(self))
        self.panel_model.modelReset.connect(self.follow)
        document.selection_changed.connect(self.follow)
        self.follow()

    def follow(self) -> None:
        """Show the document's selected panel as the current row."""
        ids = [p.id for p in self.panel_model.panels]
        wanted = self._document.panel_id
        self.show_row(ids.index(wanted) if wanted in ids else -1)

    def moved(self, now: QModelIndex) -> None:
        """Select the panel."""
        if now.isValid():
            self._document.select_panel(now.data(PANEL_ROLE).id)

    def rename(self) -> None:
        """Type over the current panel's name."""
        if self.currentIndex().isValid():
            self.setFocus()
            self.edit(self.currentIndex())
