"""The list of a panel's edges: mark, name, edging and rings; a mirror of what the canvas shows."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QStyleOptionViewItem,
    QWidget,
)

from app import theme as look
from app.document import Document
from app.pages.edge_marks import draw_mark
from app.widgets.lists import Index, MirrorList, NameDelegate, draw_words, paint_ground
from core import edits, units
from core.panel import Edging, next_edging
from core.tally import EdgeTally, has_edge_rings, no_edge_rings_text
from core.texts import _

EDGE_ROLE = Qt.ItemDataRole.UserRole + 1
ROW = 27


def edging_name(edging: Edging) -> str:
    """The word for an edging."""
    return _("Edged") if edging == "edged" else _("Plain")


class EdgeModel(QAbstractListModel):
    """The edges of the selected panel, in drawing order."""

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._edges: tuple[EdgeTally, ...] = ()
        self._counted = True

    @property
    def edges(self) -> tuple[EdgeTally, ...]:
        """What is listed."""
        return self._edges

    @property
    def counted(self) -> bool:
        """Whether the edges' rings are known."""
        return self._counted

    @property
    def seats(self) -> bool:
        """Whether the panel's weave has edge rings at all."""
        panel = self._document.selected_panel
        return panel is None or has_edge_rings(panel)

    def rings(self, edge: EdgeTally) -> str:
        """The edge's rings as shown."""
        return units.format_count(edge.rings) if self._counted and self.seats else "—"

    def edging(self, edge: EdgeTally) -> str:
        """The word for the edge's edging; none where the weave leaves no choice."""
        return edging_name(edge.edging) if self.seats else ""

    def put(self, edges: tuple[EdgeTally, ...], counted: bool = True) -> None:
        """List these edges; the rows stay when the edges are the same ones."""
        if edges == self._edges and counted == self._counted:
            return
        self._counted = counted
        alike = [e.node_id for e in edges] == [e.node_id for e in self._edges]
        if alike:
            self._edges = edges
            self.dataChanged.emit(self.index(0), self.index(len(edges) - 1))
        else:
            self.beginResetModel()
            self._edges = edges
            self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """How many edges there are."""
        return 0 if parent.isValid() else len(self._edges)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Name, the edge itself, and the words a screen reader says."""
        if not index.isValid() or index.row() >= len(self._edges):
            return None
        edge = self._edges[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return edge.name
        if role == EDGE_ROLE:
            return edge
        if role == Qt.ItemDataRole.AccessibleTextRole:
            if not self.seats:
                return _("{name}, {length}").format(name=edge.name, length=self.length(edge))
            return _("{name}, {edging}, {length}, {n} rings").format(
                name=edge.name,
                edging=edging_name(edge.edging),
                length=self.length(edge),
                n=self.rings(edge),
            )
        return None

    def length(self, edge: EdgeTally) -> str:
        """The edge's length in the costume's unit."""
        unit = self._document.shown.unit
        return units.format_length(edge.length_mm, unit, 0 if unit == "mm" else 2)

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Rename an edge."""
        panel_id = self._document.panel_id
        if role != Qt.ItemDataRole.EditRole or panel_id is None:
            return False
        edge = self._edges[index.row()]
        name = str(value).strip()
        if name == edge.name:
            return False
        edit = edits.set_edge(panel_id, edge.node_id, edge.edging, name)
        return self._document.apply(edit, _("rename edge"))

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Names can be typed over."""
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable


def _boxes(row: QRect) -> tuple[QRectF, QRect, QRect, QRect]:
    """Mark, name, edging and rings of a row."""
    left, right, top, height = row.left() + 16, row.right() - 5, row.top(), row.height()
    mark = QRectF(left, top, 34, height)
    rings = QRect(right - 40, top, 40, height)
    edging = QRect(right - 98, top, 58, height)
    name = QRect(left + 44, top, edging.left() - left - 48, height)
    return mark, name, edging, rings


class EdgeDelegate(NameDelegate):
    """Paints a row and edits its name in place."""

    def sizeHint(self, _option: QStyleOptionViewItem, _index: Index) -> QSize:
        """One table row."""
        return QSize(200, ROW)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Mark, name, edging, rings; chosen by wash and bar."""
        edge = index.data(EDGE_ROLE)
        theme = look.current()
        paint_ground(painter, option, hairline=False)
        mark, name, edging, rings = _boxes(option.rect)
        model = index.model()
        assert isinstance(model, EdgeModel)
        draw_mark(painter, mark, edge.edging if model.seats else "plain", theme)
        draw_words(painter, name, edge.name, look.PX_BODY, theme.ink)
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(rings, right, model.rings(edge))
        draw_words(painter, edging, model.edging(edge), look.PX_UNIT, theme.ink2)

    def editor_rect(self, row: QRect) -> QRect:
        """Over the name and the edging."""
        _mark, name, edging, _rings = _boxes(row)
        return QRect(name.left() - 8, row.top(), edging.right() - name.left(), ROW)


class EdgeList(MirrorList):
    """Edges of the selected panel; F cycles the edging, F2 renames.

    Signals:
        said: why there is no edging to choose.
    """

    said = Signal(str)

    def __init__(self, document: Document, parent: QWidget | None = None) -> None:
        self.edge_model = EdgeModel(document)
        super().__init__(_("Edges"), self.edge_model, renames=True, parent=parent)
        self.edge_model.setParent(self)
        self._document = document
        self.setItemDelegate(EdgeDelegate(self, _("Name of the edge")))
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        document.selection_changed.connect(self.follow)

    def put(self, edges: tuple[EdgeTally, ...], counted: bool = True) -> None:
        """List these edges, as high as they need."""
        self.edge_model.put(edges, counted)
        self.setFixedHeight(max(1, len(edges)) * ROW + 2)
        self.follow()

    def follow(self) -> None:
        """Show the document's selected edge as the current row."""
        ids = [e.node_id for e in self.edge_model.edges]
        wanted = self._document.edge_id
        self.show_row(ids.index(wanted) if wanted in ids else -1)

    def moved(self, now: QModelIndex) -> None:
        """Select the edge, or none."""
        edge = now.data(EDGE_ROLE) if now.isValid() else None
        self._document.select_edge(edge.node_id if edge else None)

    def cycle(self) -> None:
        """Give the current edge the next edging."""
        panel_id, edge = self._document.panel_id, self.currentIndex().data(EDGE_ROLE)
        if panel_id is None or edge is None:
            return
        if not self.edge_model.seats:
            self.said.emit(no_edge_rings_text())
            return
        edit = edits.set_edge(panel_id, edge.node_id, next_edging(edge.edging))
        self._document.apply(edit, _("edging of an edge"))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """F and Enter cycle the edging."""
        keys = (Qt.Key.Key_F, Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if (
            event.key() in keys
            and not event.modifiers()
            and self.state() != QAbstractItemView.State.EditingState
        ):
            self.cycle()
            event.accept()
            return
        super().keyPressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click on the mark or the edging's word cycles it."""
        super().mouseReleaseEvent(event)
        place = event.position().toPoint()
        index = self.indexAt(place)
        if not index.isValid() or event.button() != Qt.MouseButton.LeftButton:
            return
        mark, _name, edging, _rings = _boxes(self.visualRect(index))
        if edging.contains(place) or mark.toRect().contains(place):
            self.setCurrentIndex(index)
            self.cycle()
