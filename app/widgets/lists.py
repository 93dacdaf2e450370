"""What the program's lists share: how a row looks, how its name is typed, what it mirrors."""

from __future__ import annotations

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QLineEdit,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app import theme as look

Index = QModelIndex | QPersistentModelIndex

BAR_PX = 3
FOCUS_PX = 2


def paint_ground(painter: QPainter, option: QStyleOptionViewItem, hairline: bool = True) -> bool:
    """Paint what lies behind a row: a wash and a bar when chosen, a line below, the focus.

    Returns:
        Whether the row is chosen.
    """
    theme, rect = look.current(), option.rect
    chosen = bool(option.state & QStyle.StateFlag.State_Selected)
    if chosen:
        painter.fillRect(rect, theme.accent_wash)
    elif option.state & QStyle.StateFlag.State_MouseOver:
        painter.fillRect(rect, theme.hover)
    if hairline:
        painter.fillRect(rect.left(), rect.bottom(), rect.width(), 1, theme.line)
    if chosen:
        painter.fillRect(rect.left(), rect.top(), BAR_PX, rect.height(), theme.accent)
    if option.state & QStyle.StateFlag.State_HasFocus:
        painter.setPen(QPen(theme.accent, FOCUS_PX))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(rect.adjusted(1, 1, -1, -2))
    return chosen


def draw_words(painter: QPainter, box: QRect, text: str, px: int, colour: QColor) -> None:
    """Draw a line at the left of a box, cut short where the box ends."""
    painter.setFont(look.font(px))
    painter.setPen(colour)
    cut = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, box.width())
    painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, cut)


class NameDelegate(QStyledItemDelegate):
    """A delegate whose rows have a name that is typed over in place.

    Args:
        parent: the list.
        asked: what the line to type in is called.
    """

    def __init__(self, parent: QWidget, asked: str) -> None:
        super().__init__(parent)
        self._asked = asked

    def editor_rect(self, row: QRect) -> QRect:
        """Where the line to type in lies, given the row's rectangle."""
        return row

    def createEditor(
        self, parent: QWidget, _option: QStyleOptionViewItem, _index: Index
    ) -> QWidget:
        """A line to type the name in."""
        editor = QLineEdit(parent)
        editor.setAccessibleName(self._asked)
        return editor

    def updateEditorGeometry(
        self, editor: QWidget, option: QStyleOptionViewItem, _index: Index
    ) -> None:
        """Lay the line over the name."""
        editor.setGeometry(self.editor_rect(option.rect))

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        """Take the name."""
        if isinstance(editor, QLineEdit):
            model.setData(index, editor.text())


class MirrorList(QListView):
    """A list whose current row mirrors a choice kept elsewhere.

    Subclasses show that choice with `show_row`, and hear in `moved` of rows the maker goes to;
    neither `show_row` nor a reset of the model counts as such a move.

    Args:
        name: what the list is called.
        model: its rows.
        renames: whether F2 and a double click type over a name.
    """

    def __init__(
        self, name: str, model: QAbstractItemModel, renames: bool, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._following = False
        self.setAccessibleName(name)
        self.setModel(model)
        self.setMouseTracking(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(
            triggers.EditKeyPressed | triggers.DoubleClicked if renames else triggers.NoEditTriggers
        )
        model.modelAboutToBeReset.connect(lambda: self._follow(True))
        model.modelReset.connect(lambda: self._follow(False))
        self.selectionModel().currentChanged.connect(self._current_changed)

    def moved(self, now: QModelIndex) -> None:
        """Do what follows when the maker goes to a row; it may be no row."""

    def show_row(self, row: int) -> None:
        """Make a row the current one; a negative one means none."""
        self._follow(True)
        try:
            if row < 0:
                self.clearSelection()
                self.setCurrentIndex(QModelIndex())
            else:
                self.setCurrentIndex(self.model().index(row, 0))
        finally:
            self._follow(False)

    def _follow(self, following: bool) -> None:
        self._following = following

    def _current_changed(self, now: QModelIndex, _before: QModelIndex) -> None:
        if not self._following:
            self.moved(now)
