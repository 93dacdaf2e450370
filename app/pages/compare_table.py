"""The comparison in numbers: a table whose rows say how they came about."""

from __future__ import annotations

import math

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QRect,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QFontMetrics,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QSizePolicy,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app import theme as look
from app.compare_report import measure_text
from app.pages.compare_words import ROWS, how_measure, lay_range, row_name
from app.pages.slots import LETTERS
from app.widgets.lists import Index
from core.compare import MEASURES, Column, ratios
from core.project import Project
from core.texts import _

TEXT_INSET = 6
HEAD_PX = 25
LOWEST_ROW, TALLEST_ROW = 17, 30
LEAST_WIDTH, NARROW_WIDTH, LEAST_BAR = 400, 320, 72
# --- the table ---------------------------------------------------------------------------------

BAR_ROLE = Qt.ItemDataRole.UserRole + 1


class CompareModel(QAbstractTableModel):
    """A row for each measure; a column for each ring, and its ratio to the first."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._columns: tuple[Column, ...] = ()
        self._project = Project()
        self._texts: list[list[str]] = []
        self._ratios: dict[str, tuple[float | None, ...]] = {}

    @property
    def columns(self) -> tuple[Column, ...]:
        """What is compared."""
        return self._columns

    def put(self, columns: tuple[Column, ...], project: Project) -> None:
        """Show a comparison."""
        self.beginResetModel()
        self._columns, self._project = columns, project
        self._ratios = {m: ratios(columns, m) for m in MEASURES} if columns else {}
        self._texts = [self._row(m) for m in ROWS] if columns else []
        self.endResetModel()

    def put_ranges(self) -> None:
        """Work out and show the fewest and most rings by lay, which takes a while."""
        if self._texts:
            row = ROWS.index("lay")
            self._texts[row] = self._lay_row(known=True)
            self.dataChanged.emit(self.index(row, 0), self.index(row, self.columnCount() - 1))

    def _lay_row(self, known: bool) -> list[str]:
        row = [row_name("lay", self._columns)]
        for i, column in enumerate(self._columns):
            row += [lay_range(column, known), ""] if i else [lay_range(column, known)]
        return row

    def _row(self, measure: str) -> list[str]:
        if measure == "lay":
            return self._lay_row(known=False)
        first = self._columns[0].values[measure]
        row = [row_name(measure, self._columns)]
        for i, column in enumerate(self._columns):
            row.append(measure_text(measure, column.values[measure], first, self._project))
            if i:
                ratio = self._ratios[measure][i]
                row.append("—" if ratio is None else f"{ratio:.2f}")
        return row

    @property
    def with_bars(self) -> bool:
        """Whether there is room for bars: with two rings only."""
        return len(self._columns) == 2

    def heads(self) -> list[str]:
        """The words above the columns."""
        heads = [""]
        for i, letter in enumerate(LETTERS[: len(self._columns)]):
            heads += [letter] if not i else [letter, _("{letter} ÷ A").format(letter=letter)]
        return [*heads, ""] if self.with_bars else heads

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """One row for each measure."""
        return 0 if parent.isValid() else len(self._texts)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Names, values and ratios."""
        return 0 if parent.isValid() or not self._columns else len(self.heads())

    def bar_span(self) -> float:
        """The greatest distance of a ratio from 1, as a logarithm; the half width of the bars."""
        logs = [abs(math.log(r)) for row in self._ratios.values() for r in row if r]
        return max([math.log(2.0), *logs])

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Texts, their side, and the ratio behind a bar."""
        if not index.isValid():
            return None
        row, at = index.row(), index.column()
        texts = self._texts[row]
        if role == Qt.ItemDataRole.DisplayRole:
            return texts[at] if at < len(texts) else ""
        if role == BAR_ROLE and at == len(texts):
            return self._ratios[ROWS[row]][1] if ROWS[row] in self._ratios else None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if at else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.AccessibleTextRole:
            what = texts[at] if at < len(texts) else texts[-1]
            return f"{texts[0]}, {self.heads()[at]}: {what}" if at else texts[0]
        if role == Qt.ItemDataRole.ToolTipRole and not at:
            return how_measure(ROWS[row], self._columns, self._project)[0]
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Letters and ratios."""
        if orientation is not Qt.Orientation.Horizontal or section >= len(self.heads()):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.heads()[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None


def _px(model: object) -> int:
    """Smaller type when there are more than two rings."""
    return look.PX_BODY if isinstance(model, CompareModel) and model.with_bars else look.PX_UNIT


class CompareDelegate(QStyledItemDelegate):
    """Paints names with a dotted line under them, numbers, and bars either side of 1."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """One cell."""
        theme, rect = look.current(), option.rect
        painter.fillRect(rect, theme.canvas)
        view = option.widget
        focused = (
            isinstance(view, QTableView)
            and view.hasFocus()
            and view.currentIndex().row() == index.row()
        )
        if focused:
            painter.fillRect(rect, theme.accent_wash)
            if not index.column():
                painter.fillRect(rect.left(), rect.top(), 3, rect.height(), theme.accent)
        painter.fillRect(rect.left(), rect.bottom(), rect.width(), 1, theme.line)
        model = index.model()
        if isinstance(model, CompareModel) and index.data(BAR_ROLE) is not None:
            self._bar(painter, rect, index.data(BAR_ROLE), model.bar_span(), theme)
            return
        text = str(index.data() or "")
        painter.setFont(look.font(_px(model)))
        painter.setPen(theme.ink if index.column() else theme.ink2)
        box = rect.adjusted(TEXT_INSET, 0, -TEXT_INSET, 0)
        flags = index.data(Qt.ItemDataRole.TextAlignmentRole)
        painter.drawText(box, int(flags), text)
        if not index.column():
            width = painter.fontMetrics().horizontalAdvance(text)
            y = rect.center().y() + 8
            painter.setPen(QPen(theme.ink3, 1, Qt.PenStyle.DotLine))
            painter.drawLine(box.left(), y, box.left() + width, y)

    @staticmethod
    def _bar(painter: QPainter, rect: QRect, ratio: float, span: float, theme: look.Theme) -> None:
        middle, half = rect.center().x(), rect.width() / 2 - 8
        length = round(half * math.log(ratio) / span) if ratio > 0 else 0
        top, height = rect.center().y() - 4, 9
        left = middle + min(length, 0)
        painter.fillRect(left, top, abs(length), height, theme.ink3)
        painter.fillRect(middle, rect.top() + 3, 1, rect.height() - 6, theme.ink2)


class CompareHeader(QHeaderView):
    """Letters in bold, ratios plain, over a heavier rule."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setSectionsClickable(False)
        self.setHighlightSections(False)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setMinimumSectionSize(30)
        self.setFixedHeight(HEAD_PX)
        self.setAccessibleName(_("Heads of the comparison"))
        # The window's sheet pads heads, which would shift them off their columns.
        self.setStyleSheet("QHeaderView { padding: 0px; }")

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        """One head."""
        theme = look.current()
        text = str(self.model().headerData(section, Qt.Orientation.Horizontal) or "")
        painter.fillRect(rect, theme.canvas)
        painter.fillRect(rect.left(), rect.bottom(), rect.width(), 1, theme.line2)
        painter.setFont(look.font(_px(self.model()), bold=len(text) == 1))
        painter.setPen(theme.ink2)
        box = rect.adjusted(TEXT_INSET, 0, -TEXT_INSET, 0)
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)


class CompareTable(QTableView):
    """The numbers; a click on a name, or Enter, says how they came about.

    Signals:
        asked: a measure.
    """

    asked = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.compare_model = CompareModel(self)
        self.setModel(self.compare_model)
        self.setItemDelegate(CompareDelegate(self))
        self.setAccessibleName(_("Comparison"))
        self.setAccessibleDescription(_("Enter says how a number came about"))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(LOWEST_ROW)
        self.setHorizontalHeader(CompareHeader(self))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(LEAST_WIDTH, HEAD_PX + LOWEST_ROW * len(ROWS))
        self.setMaximumHeight(HEAD_PX + TALLEST_ROW * len(ROWS))
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.clicked.connect(self._clicked)

    def _clicked(self, index: QModelIndex) -> None:
        if index.column() == 0:
            self._ask(index.row())

    def _ask(self, row: int) -> None:
        if 0 <= row < len(ROWS):
            self.asked.emit(ROWS[row])

    def set_narrow(self, narrow: bool) -> None:
        """Make do with less width, without the bars if need be."""
        self.setMinimumWidth(NARROW_WIDTH if narrow else LEAST_WIDTH)

    def fit(self) -> None:
        """Rows share the height and columns the width; too narrow, the table scrolls sideways."""
        model = self.compare_model
        room = self.viewport()
        px = room.height() // len(ROWS)
        self.verticalHeader().setDefaultSectionSize(min(max(px, LOWEST_ROW), TALLEST_ROW))
        columns = model.columnCount()
        if not columns:
            return
        metrics = QFontMetrics(look.font(_px(model)))
        bold = QFontMetrics(look.font(_px(model), bold=True))
        needs = []
        for at, head in enumerate(model.heads()):
            texts = [str(model.index(row, at).data()) for row in range(model.rowCount())]
            widest = max(metrics.horizontalAdvance(text) for text in texts)
            needs.append(max(widest, bold.horizontalAdvance(head)) + 2 * TEXT_INSET)
        heads = model.heads()
        if model.with_bars:
            needs[-1] = LEAST_BAR
        # Where room is short, what follows from the values goes: bars, then ratios.
        ratios_at = {i for i, head in enumerate(heads) if "÷" in head}
        hidden: set[int] = set()
        for derived in ({columns - 1} if model.with_bars else set(), ratios_at):
            if sum(need for i, need in enumerate(needs) if i not in hidden) > room.width():
                hidden |= derived
        for at in range(columns):
            self.setColumnHidden(at, at in hidden)
            needs[at] = 0 if at in hidden else needs[at]
        spare = max(room.width() - sum(needs), 0)
        # Ratios need no more room than they have.
        shares = [0 if "÷" in head or not need else 1
                  for head, need in zip(heads, needs, strict=True)]  # fmt: skip
        widths = [n + spare * s // sum(shares) for n, s in zip(needs, shares, strict=True)]
        widths[0] += max(room.width() - sum(widths), 0)
        # The bar to scroll sideways by takes no row's room.
        bar = self.horizontalScrollBar().sizeHint().height() if sum(widths) > room.width() else 0
        self.setMinimumHeight(HEAD_PX + LOWEST_ROW * len(ROWS) + bar)
        for at, width in enumerate(widths):
            if not self.isColumnHidden(at):
                self.setColumnWidth(at, width)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The page's own ground below the last row."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), look.current().canvas)
        painter.end()
        super().paintEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter explains the current row."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._ask(self.currentIndex().row())
            event.accept()
            return
        super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns follow the width."""
        super().resizeEvent(event)
        self.fit()
