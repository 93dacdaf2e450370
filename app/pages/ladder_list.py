"""The ladder as a list: a row for each weave, the ring in hand marked across all of them."""

from __future__ import annotations

import math

from PySide6.QtCore import (
    QEvent,
    QPoint,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetrics,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygon,
)
from PySide6.QtWidgets import (
    QListView,
    QSizePolicy,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app import theme as look
from app.pages.ladder import Rung, bands, heads
from app.pages.ladder_rows import (
    BAR_PX,
    FULL_ROW,
    HEAD_PX,
    INSET,
    LEAST_ROWS,
    LINK_GAP,
    LOWEST_ROW,
    NAME_PX,
    RUNG_ROLE,
    START_PX,
    TALLEST_ROW,
    Columns,
    LadderModel,
    action_texts,
    columns,
)
from app.pages.weave_pictures import PICTURE, weave_icon
from app.widgets.lists import Index, draw_words, paint_ground
from core.texts import _

V_CENTRE, LEFT = Qt.AlignmentFlag.AlignVCenter, Qt.AlignmentFlag.AlignLeft
RIGHT, CENTRE = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignCenter


def _first_line(rect: QRect) -> int:
    """Where the first of a full row's two lines begins."""
    return rect.top() + (rect.height() - NAME_PX - START_PX) // 2


def _second_line(rung: Rung) -> str:
    """What stands below a weave's name in a full row."""
    start = _("from {limit:.2f}").format(limit=rung.limit)
    return f"{start}; {rung.upright_short}" if rung.upright else start


class LadderDelegate(QStyledItemDelegate):
    """Paints a row: picture, name, bar with its bands, the ring's mark, and the answer."""

    def __init__(self, ladder: Ladder) -> None:
        super().__init__(ladder)
        self._ladder = ladder

    def sizeHint(self, _option: QStyleOptionViewItem, _index: Index) -> QSize:
        """One row."""
        return QSize(200, self._ladder.row_px)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """One row."""
        rung = index.data(RUNG_ROLE)
        if not isinstance(rung, Rung):
            return
        theme, rect, ladder = look.current(), option.rect, self._ladder
        if not ladder.hasFocus():
            option.state &= ~QStyle.StateFlag.State_HasFocus
        paint_ground(painter, option)
        spread, full = ladder.columns(), ladder.full
        ink = theme.ink if rung.can else theme.ink2
        if full:
            self._picture(painter, rect, rung)
        self._name(painter, rect, spread, rung, ink)
        self._bar(painter, rect, spread, rung, theme)
        x = spread.x(rung.ratio)
        painter.fillRect(x - 1, rect.top(), 2, rect.height(), theme.ink)
        if rung.can:
            self._answer(painter, rect, spread, rung, theme)
        elif full:
            width = spread.weight[1] - spread.word[0]
            room = QRect(spread.word[0], _first_line(rect), width, NAME_PX)
            draw_words(painter, room, f"⚠ {rung.needs}", look.PX_UNIT, theme.warn)
        for at, (box, text) in enumerate(ladder.links(index.row(), rect)):
            chosen = ladder.hasFocus() and ladder.currentIndex() == index and ladder.link == at
            self._link(painter, box, text, chosen and len(action_texts(rung)) > 1, theme)

    def _picture(self, painter: QPainter, rect: QRect, rung: Rung) -> None:
        pixmap = self._ladder.picture(rung)
        box = QRect(QPoint(INSET, 0), PICTURE)
        box.moveTop(rect.top() + (rect.height() - PICTURE.height()) // 2)
        painter.save()
        painter.setClipRect(rect.adjusted(0, 2, 0, -2), Qt.ClipOperation.IntersectClip)
        painter.setOpacity(1.0 if rung.can else 0.45)
        painter.drawPixmap(box, pixmap)
        painter.restore()

    def _name(
        self, painter: QPainter, rect: QRect, spread: Columns, rung: Rung, ink: QColor
    ) -> None:
        left, right = spread.names
        theme = look.current()
        if self._ladder.full:
            top = _first_line(rect)
            box = QRect(left, top, right - left, NAME_PX)
            draw_words(painter, box, _(rung.weave.name), look.PX_BODY, ink)
            box = QRect(left, top + NAME_PX, right - left, START_PX)
            draw_words(painter, box, _second_line(rung), look.PX_LABEL, theme.ink2)
            return
        start = _("from {limit:.2f}").format(limit=rung.limit)
        metrics = QFontMetrics(look.font(look.PX_LABEL))
        width = metrics.horizontalAdvance(start)
        box = QRect(left, rect.top(), right - left - width - 6, rect.height())
        draw_words(painter, box, _(rung.weave.name), look.PX_UNIT, ink)
        box = QRect(right - width, rect.top(), width + 2, rect.height())
        draw_words(painter, box, start, look.PX_LABEL, theme.ink2)

    @staticmethod
    def _bar(
        painter: QPainter, rect: QRect, spread: Columns, rung: Rung, theme: look.Theme
    ) -> None:
        for ratio in range(math.ceil(spread.low), math.floor(spread.high) + 1):
            painter.fillRect(spread.x(ratio), rect.top(), 1, rect.height(), theme.line)
        top = rect.top() + (rect.height() - BAR_PX) // 2
        (left, right), limit = spread.bar, spread.x(rung.limit)
        painter.fillRect(left, top, right - left, BAR_PX, theme.canvas)
        painter.fillRect(
            left, top, limit - left, BAR_PX, QBrush(theme.line2, Qt.BrushStyle.BDiagPattern)
        )
        ground = theme.accent_wash if rung.can else theme.hover
        painter.fillRect(limit, top, right - limit, BAR_PX, ground)
        painter.setFont(look.font(look.PX_RULER))
        mark = spread.x(rung.ratio)
        metrics = painter.fontMetrics()
        for word, low, high in bands(rung.weave, rung.limit):
            start, end = spread.x(low), spread.x(high)
            easy = word == _("easy")
            if easy:
                strong = QColor(theme.accent if rung.can else theme.ink3)
                strong.setAlphaF(0.30 if rung.can else 0.16)
                painter.fillRect(start, top, end - start, BAR_PX, strong)
            if start < mark < end:
                # The word stands in the wider part, beside the ring's mark.
                start, end = (start, mark) if mark - start > end - mark else (mark, end)
            if metrics.horizontalAdvance(word) + 6 <= end - start:
                painter.setPen(theme.ink if rung.can and easy else theme.ink2)
                painter.drawText(QRect(start, top, end - start, BAR_PX), CENTRE, word)
        painter.setPen(QPen(theme.line, 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRect(left, top, right - left - 1, BAR_PX - 1))
        edge = theme.accent if rung.can else theme.line2
        painter.fillRect(limit - 1, top - 2, 2, BAR_PX + 4, edge)

    def _answer(
        self, painter: QPainter, rect: QRect, spread: Columns, rung: Rung, theme: look.Theme
    ) -> None:
        ladder, height = self._ladder, rect.height()
        linked = ladder.full and rung is ladder.rung()
        left, right = spread.word
        box = QRect(left, rect.top(), right - left, height)
        if linked:
            box = QRect(left, _first_line(rect), right - left, NAME_PX)
        px = look.PX_BODY if ladder.full else look.PX_UNIT
        draw_words(painter, box, rung.word, px, theme.ink)
        painter.setFont(look.font(px))
        painter.setPen(theme.ink)
        for (start, end), text in ((spread.rings, rung.rings), (spread.weight, rung.weight)):
            room = QRect(start, rect.top(), end - start, height)
            painter.drawText(room, RIGHT | V_CENTRE, text)

    @staticmethod
    def _link(painter: QPainter, box: QRect, text: str, chosen: bool, theme: look.Theme) -> None:
        font = look.font(look.PX_UNIT)
        font.setUnderline(chosen)
        painter.setFont(font)
        painter.setPen(theme.accent)
        cut = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, box.width() + 1)
        painter.drawText(box, LEFT | V_CENTRE, cut)


class LadderHead(QWidget):
    """The scale above the rows, the ring's mark, and what the numbers are called."""

    def __init__(self, ladder: Ladder) -> None:
        super().__init__()
        self._ladder = ladder
        self.setFixedHeight(HEAD_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Ticks, the ring's ratio over its mark, and heads."""
        theme, spread, ratio = look.current(), self._ladder.columns(), self._ladder.ratio
        painter = QPainter(self)
        painter.setFont(look.font(look.PX_LABEL))
        metrics = painter.fontMetrics()
        text = "" if ratio is None else _("this ring {ratio:.2f}").format(ratio=ratio)
        width = metrics.horizontalAdvance(text)
        mark = -1000 if ratio is None else spread.x(ratio)
        left = min(max(mark - width // 2, spread.names[0]), spread.bar[1] - width + 8)
        bottom = self.height()
        for tick in range(math.ceil(spread.low), math.floor(spread.high) + 1):
            x = spread.x(tick)
            painter.fillRect(x, bottom - 5, 1, 5, theme.line)
            if not left - 10 < x < left + width + 10:
                painter.setPen(theme.ink3)
                painter.drawText(QRect(x - 20, bottom - 22, 40, 16), CENTRE, str(tick))
        if ratio is not None:
            painter.setPen(theme.ink)
            painter.drawText(QRect(left, bottom - 22, width + 2, 16), LEFT | V_CENTRE, text)
            painter.setBrush(theme.ink)
            painter.setPen(Qt.PenStyle.NoPen)
            tips = ((mark - 5, bottom - 6), (mark + 5, bottom - 6), (mark, bottom))
            painter.drawPolygon(QPolygon([QPoint(*tip) for tip in tips]))
        painter.setPen(theme.ink2)
        names = (_("this ring"), *heads(self._ladder.ladder_model.unit))
        for (start, end), name, side in zip(
            (spread.word, spread.rings, spread.weight), names, (LEFT, RIGHT, RIGHT), strict=True
        ):
            painter.drawText(QRect(start, bottom - 22, end - start, 16), side | V_CENTRE, name)
        painter.end()


class Ladder(QListView):
    """A row for each weave; Enter takes what a row offers.

    Up and Down go from weave to weave, Left and Right between a row's two offers.

    Signals:
        offered: an `Offer` to take.
        compare: a weave's id, to be compared.
    """

    offered = Signal(object)
    compare = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.ladder_model = LadderModel(self)
        self.setModel(self.ladder_model)
        self.setItemDelegate(LadderDelegate(self))
        self.setAccessibleName(_("What this ring can make"))
        self.setMouseTracking(True)
        self.setUniformItemSizes(True)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QListView.EditTrigger.NoEditTriggers)
        self.setProperty("kind", "canvas")
        self.row_px, self.link = TALLEST_ROW, 0
        self.head = LadderHead(self)
        self._pressed: tuple[int, int] | None = None
        self.selectionModel().currentChanged.connect(self._moved)
        self.doubleClicked.connect(lambda index: self._do(index.row(), 0))

    # --- what is shown -------------------------------------------------------------------------

    @property
    def full(self) -> bool:
        """Whether rows are high enough for pictures and two lines."""
        return self.row_px >= FULL_ROW

    @property
    def ratio(self) -> float | None:
        """The ring's aspect ratio."""
        rungs = self.ladder_model.rungs
        return rungs[0].ratio if rungs else None

    def put(self, rungs: tuple[Rung, ...], unit: str) -> None:
        """Show the rungs of a ring."""
        self.ladder_model.put(rungs, unit)
        if rungs and not self.currentIndex().isValid():
            self.setCurrentIndex(self.ladder_model.index(0))
        self.head.update()

    def rung(self) -> Rung | None:
        """The current row's."""
        at = self.currentIndex().row()
        return self.ladder_model.rungs[at] if 0 <= at < len(self.ladder_model.rungs) else None

    def set_room(self, room_px: int) -> None:
        """Share a height among the rows; too little, they scroll."""
        count = max(len(self.ladder_model.rungs), 1)
        self.row_px = min(max(room_px // count, LOWEST_ROW), TALLEST_ROW)
        shown = min(count, max(room_px // self.row_px, LEAST_ROWS))
        self.setFixedHeight(shown * self.row_px + 2 * self.frameWidth())
        self.scheduleDelayedItemsLayout()
        if self.currentIndex().isValid():
            self.scrollTo(self.currentIndex())

    def columns(self) -> Columns:
        """Where the parts of a row lie."""
        name = QFontMetrics(look.font(look.PX_BODY if self.full else look.PX_UNIT))
        small = QFontMetrics(look.font(look.PX_LABEL))
        more = (
            0 if self.full else small.horizontalAdvance(_("from {limit:.2f}").format(limit=1)) + 8
        )
        rungs = self.ladder_model.rungs
        longest = max((name.horizontalAdvance(_(r.weave.name)) for r in rungs), default=0)
        if self.full:
            below = (small.horizontalAdvance(_second_line(r)) for r in rungs)
            longest = max(longest, *below, 0)
        unit = QFontMetrics(look.font(look.PX_UNIT))
        answers = [
            sum(unit.horizontalAdvance(o.text) + LINK_GAP for o in r.offers) - LINK_GAP + 4
            for r in rungs
        ]
        return columns(
            self.viewport().width(),
            self.full,
            longest + more + 2,
            max(answers, default=0),
            self.ratio,
        )

    def picture(self, rung: Rung) -> QPixmap:
        """A picture of the weave in this ring, or a wider one where it cannot be made."""
        icon = weave_icon(rung.weave.id, rung.ring, rung.ring.metal.look, self.devicePixelRatioF())
        return icon.pixmap(PICTURE, self.devicePixelRatioF())

    def links(self, row: int, rect: QRect) -> list[tuple[QRect, str]]:
        """The links of a row and where they lie."""
        rung, spread = self.ladder_model.rungs[row], self.columns()
        metrics = QFontMetrics(look.font(look.PX_UNIT))
        right = spread.weight[1]
        top, height = rect.top(), rect.height()
        if self.full:
            top, height = _first_line(rect) + NAME_PX, START_PX
        boxes: list[tuple[QRect, str]] = []
        x = spread.word[0]
        if rung.can and not self.full:
            # Beside the word, as far as the number leaves room.
            x += metrics.horizontalAdvance(rung.word) + LINK_GAP // 2
            right = spread.rings[1] - metrics.horizontalAdvance(rung.rings) - LINK_GAP // 2
        for text in action_texts(rung):
            if rung.can and row != self.currentIndex().row():
                break
            width = min(metrics.horizontalAdvance(text), right - x)
            if width > 20:
                boxes.append((QRect(x, top, width, height), text))
            x += width + LINK_GAP
        return boxes

    # --- what the maker does -------------------------------------------------------------------

    def _moved(self, *_ignored: object) -> None:
        self.link = 0

    def _do(self, row: int, link: int) -> None:
        if not 0 <= row < len(self.ladder_model.rungs):
            return
        rung = self.ladder_model.rungs[row]
        if rung.can:
            self.compare.emit(rung.weave.id)
        elif link < len(rung.offers):
            self.offered.emit(rung.offers[link])

    def _link_at(self, at: QPoint) -> tuple[int, int] | None:
        index = self.indexAt(at)
        if not index.isValid():
            return None
        for i, (box, _text) in enumerate(self.links(index.row(), self.visualRect(index))):
            if box.adjusted(-2, -1, 2, 1).contains(at):
                return index.row(), i
        return None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter takes the offer, Left and Right choose between two."""
        rung = self.rung()
        if rung is not None and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._do(self.currentIndex().row(), self.link)
        elif rung is not None and event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            most = max(len(rung.offers) - 1, 0)
            self.link = min(1, most) if event.key() == Qt.Key.Key_Right else 0
            self.viewport().update()
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A press on a link takes it when let go there."""
        self._pressed = self._link_at(event.position().toPoint())
        super().mousePressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Take the link that was pressed."""
        super().mouseReleaseEvent(event)
        pressed, self._pressed = self._pressed, None
        if pressed is not None and pressed == self._link_at(event.position().toPoint()):
            self._do(*pressed)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """A hand over links."""
        over = self._link_at(event.position().toPoint()) is not None
        shape = Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor
        self.viewport().setCursor(shape)
        super().mouseMoveEvent(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """The head follows the width."""
        if event.type() == QEvent.Type.Resize:
            self.head.update()
        return super().viewportEvent(event)
