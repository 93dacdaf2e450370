"""The list of rings: those of the costume, then those only compared."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPointF,
    QRect,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import (
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app import theme as look
from app.pages.bench import Bench, gauge_lead, metal_look, metal_name, size_text
from app.widgets.lists import Index, MirrorList, draw_words, paint_ground
from core.errors import RingloftError
from core.ring import RingSpec, resolve
from core.texts import _

ROW = 42
RING_ROLE = Qt.ItemDataRole.UserRole + 1
PICTURE_PX = 26.0


class RingModel(QAbstractListModel):
    """The rings on the bench."""

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.rings = bench.rings()

    def follow(self) -> bool:
        """Read the bench again; True when rows came or went."""
        now = self.bench.rings()
        moved = [r.id for r in now] != [r.id for r in self.rings]
        if moved:
            self.beginResetModel()
        self.rings = now
        if moved:
            self.endResetModel()
        elif now:
            self.dataChanged.emit(self.index(0), self.index(len(now) - 1))
        return moved

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """How many rings there are."""
        return 0 if parent.isValid() else len(self.rings)

    def second_line(self, spec: RingSpec) -> str:
        """Gauge if given, size and metal; first of all whether the ring is only compared."""
        lead = "" if self.bench.in_costume(spec.id) else _("only compared, ")
        if self.bench.suggested(spec.id):
            lead = _("suggested, ")
        size = size_text(spec, self.bench.project.unit)
        return f"{lead}{gauge_lead(spec)}{size}, {metal_name(spec)}"

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Name, the ring itself, and the words a screen reader says."""
        if not index.isValid() or index.row() >= len(self.rings):
            return None
        spec = self.rings[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return spec.name
        if role == RING_ROLE:
            return spec
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return f"{spec.name}, {self.second_line(spec)}"
        return None


class RingDelegate(QStyledItemDelegate):
    """Paints a row: the ring, its name and size, and the letter it is compared under."""

    def sizeHint(self, _option: QStyleOptionViewItem, _index: Index) -> QSize:
        """One row."""
        return QSize(200, ROW)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Chosen by wash and bar."""
        model, spec = index.model(), index.data(RING_ROLE)
        if not isinstance(model, RingModel) or spec is None:
            return
        theme, rect = look.current(), option.rect
        paint_ground(painter, option)
        self._ring(painter, QPointF(rect.left() + 31, rect.center().y()), spec, theme)
        letters = model.bench.letters(spec.id)
        room = rect.width() - 52 - 12 - 22 * len(letters)
        line = QRect(rect.left() + 54, rect.top() + 4, room, 18)
        small = QRect(line.left(), line.bottom(), room, 16)
        draw_words(painter, line, spec.name, look.PX_BODY, theme.ink)
        draw_words(painter, small, model.second_line(spec), look.PX_LABEL, theme.ink2)
        for i, letter in enumerate(reversed(letters)):
            at = QPointF(rect.right() - 18 - 22 * i, rect.center().y())
            badge(painter, at, letter, theme)

    @staticmethod
    def _ring(painter: QPainter, at: QPointF, spec: RingSpec, theme: look.Theme) -> None:
        try:
            made = resolve(spec)
        except RingloftError:
            return
        scale = min(2.4, PICTURE_PX / made.outer_mm)
        colours = theme.metals[metal_look(spec)]
        radius, wire = made.centreline_mm * scale, max(made.wire_mm * scale, 1.5)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((colours.edge, wire + 1), (colours.body, wire - 0.6),
                              (colours.light, wire * 0.25)):  # fmt: skip
            painter.setPen(QPen(colour, width))
            painter.drawEllipse(at, radius, radius)
        painter.restore()


def badge(painter: QPainter, centre: QPointF, letter: str, theme: look.Theme) -> None:
    """The letter of a compared ring on a disc of ink."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.ink)
    painter.drawEllipse(centre, 9.0, 9.0)
    painter.setPen(theme.panel)
    painter.setFont(look.font(look.PX_LABEL, bold=True))
    box = QRectF(centre.x() - 9, centre.y() - 9, 18, 18)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, letter)
    painter.restore()


class RingList(MirrorList):
    """The rings on the bench; the current row is the ring in hand."""

    MOST_ROWS = 4

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        self.ring_model = RingModel(bench)
        super().__init__(_("Rings"), self.ring_model, renames=False, parent=parent)
        self.ring_model.setParent(self)
        self.bench = bench
        self.setItemDelegate(RingDelegate(self))
        bench.changed.connect(self.follow)
        self.follow()

    def follow(self) -> None:
        """Show the ring in hand as the current row."""
        self.ring_model.follow()
        ids = [r.id for r in self.ring_model.rings]
        self.show_row(ids.index(self.bench.ring_id) if self.bench.ring_id in ids else -1)
        self.setFixedHeight(max(1, min(len(ids), self.MOST_ROWS)) * ROW)

    def moved(self, now: QModelIndex) -> None:
        """Take the ring in hand."""
        if now.isValid():
            self.bench.take(now.data(RING_ROLE).id)
