"""The drawing of one panel: grid, rulers, rings, outline; and where tools get their input.

The canvas shows `Document.shown` and never changes the document itself; its tools do, through
edits.
"""

from __future__ import annotations

import logging
import time
from typing import Literal

from PySide6.QtCore import QEvent, QPointF, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QWidget

from app.canvas.draw_tools import DrawTool, HoleTool, OutlineTool
from app.canvas.guard import guarded
from app.canvas.hits import box_mm
from app.canvas.panel_picture import PanelPicture
from app.canvas.rulers import RULER
from app.canvas.select_tool import SelectTool
from app.canvas.tools import ARROWS, Pointer, Tool
from app.canvas.typed_places import CanvasCards
from app.canvas.view import View
from app.canvas.viewport import Viewport
from app.canvas.words import EmptyCard, described
from app.document import Document
from app.theme import ThemeHub, current
from core.panel import Panel
from core.texts import _
from core.wire import MM_PER_IN

log = logging.getLogger("ringloft.canvas")

ShowMode = Literal["rings", "rows", "outline"]

FRAME_S = 0.012
"""Mouse moves closer together than this are taken as one, so that a frame recounts once."""


_Key = Qt.Key
_Mod = Qt.KeyboardModifier
_Reason = Qt.FocusReason

OWN_KEYS = frozenset(
    {
        *ARROWS,
        *(_Key.Key_Space, _Key.Key_Escape, _Key.Key_Return, _Key.Key_Enter),
        *(_Key.Key_Delete, _Key.Key_Backspace, _Key.Key_Plus, _Key.Key_Minus, _Key.Key_Equal),
        *(_Key(_Key.Key_0 + n) for n in range(10)),
        *(_Key.Key_Period, _Key.Key_Comma, _Key.Key_F, _Key.Key_A, _Key.Key_B, _Key.Key_C),
    }
)
"""Keys without Ctrl or Alt that mean something on the canvas itself."""

LOST = frozenset({QEvent.Type.FocusOut, QEvent.Type.WindowDeactivate, QEvent.Type.Hide})
"""After these a button may go up where the canvas does not hear of it."""


class Canvas(Viewport):
    """Draws the selected panel and routes input to the current tool.

    Signals:
        tool_changed: another tool was chosen; its name.
        status: a message for the maker, empty when there is none.
        caution: why something was refused.
    """

    tool_changed = Signal(str)
    status = Signal(str)
    caution = Signal(str)

    def __init__(
        self, document: Document, hub: ThemeHub | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.document = document
        self.snap_on = True
        self._views: dict[int, View] = {}
        self._shown_panel: int | None = document.panel_id
        self._show_mode: ShowMode = "rings"
        self._picture = PanelPicture()
        self._pointer: QPointF | None = None
        self._marks: tuple[float, float] | None = None
        self._waiting: Pointer | None = None
        self._last_move = 0.0
        self._said = ""
        self._hinted = False
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._flush)
        self._project_seen = document.project

        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumSize(240, 200)
        self.setAccessibleName(_("Panel drawing"))

        self._empty = EmptyCard(self)
        self._empty.button.clicked.connect(lambda: self._begin_outline())

        self.select_tool = SelectTool(self)
        self._tools: dict[str, Tool] = {
            "select": self.select_tool,
            "outline": OutlineTool(self),
            "hole": HoleTool(self),
        }
        self._tool: Tool = self.select_tool

        self._cards = CanvasCards(self)
        document.changed.connect(self._document_changed)
        document.selection_changed.connect(self._selection_changed)
        document.loaded.connect(self._loaded)
        if hub is not None:
            hub.theme_changed.connect(self.update)
        self._describe()
        self._place_empty()

    # --- what others set and read ------------------------------------------------------------

    @property
    def tool(self) -> Tool:
        """The tool in hand."""
        return self._tool

    @property
    def tool_name(self) -> str:
        """The name of the tool in hand."""
        return self._tool.name

    @property
    def show_mode(self) -> ShowMode:
        """What fills the outline: rings, lines along their rows, or nothing."""
        return self._show_mode

    @show_mode.setter
    def show_mode(self, mode: ShowMode) -> None:
        self._show_mode = mode
        self.update()

    @property
    def snap_mm(self) -> float:
        """Spacing of the snapping grid in mm, 0 when it is off."""
        if not self.snap_on:
            return 0.0
        return MM_PER_IN / 16 if self.document.project.unit == "in" else 1.0

    @snap_mm.setter
    def snap_mm(self, step: float) -> None:
        self.snap_on = step > 0

    @property
    def marks(self) -> tuple[float, float] | None:
        """Where the rulers mark the pointer, in mm."""
        return self._marks

    def set_tool(self, name: str) -> None:
        """Take up another tool; the gesture under way is dropped."""
        if name == self._tool.name:
            return
        self._flush()
        self._tool.cancel()
        self._cards.close()
        self._tool = self._tools[name]
        self.setCursor(self.resting_cursor())
        self.say("")
        self._tool.start()
        self.tool_changed.emit(name)
        self._place_empty()
        self.update()

    def drop(self) -> bool:
        """Drop what is being drawn or dragged, as Esc does; whether there was anything."""
        dropped = self._tool.cancel()
        if dropped:
            self._waiting = None
            self._cards.close()
        return dropped

    def sizeHint(self) -> QSize:  # noqa: N802
        """Room for a panel at true size."""
        return QSize(900, 640)

    # --- the view ----------------------------------------------------------------------------

    def box_mm(self) -> tuple[float, float, float, float]:
        """What to fit: the panel, or room for a small one."""
        panel = self.shown_panel()
        return (-100.0, -80.0, 100.0, 80.0) if panel is None else box_mm(panel.outline.rim)

    def set_view(self, view: View) -> None:
        """Look from elsewhere; each panel keeps its own view."""
        super().set_view(view)
        if self._shown_panel is not None:
            self._views[self._shown_panel] = view
        self._mark_pointer()

    # --- what tools ask of the canvas --------------------------------------------------------

    def snap(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """The nearest place of the snapping grid."""
        step = self.snap_mm
        if not step:
            return x_mm, y_mm
        return round(x_mm / step) * step, round(y_mm / step) * step

    def step_mm(self, shift: bool, alt: bool) -> float:
        """How far an arrow key moves things: 1 mm, 10 with Shift, 0.1 with Alt."""
        if self.document.project.unit == "in":
            return MM_PER_IN / (2 if shift else 128 if alt else 16)
        return 10.0 if shift else 0.1 if alt else 1.0

    def say(self, text: str) -> None:
        """Show a message in the status line."""
        self._said = text
        self.status.emit(text)

    def warn(self, text: str) -> None:
        """Show in the status line why something was refused."""
        self._said = text
        self.caution.emit(text)

    def show_place(self, x_mm: float, y_mm: float) -> None:
        """Show a place beside the pointer while something is dragged there."""
        self._cards.show_place(x_mm, y_mm)

    def open_place_card(self) -> None:
        """Let the maker type the place of the chosen point."""
        self._cards.open_place()

    def open_length_card(self, first: str) -> None:
        """Let the maker type the length and angle of the line being drawn."""
        self._cards.open_length(first)

    # --- following the document --------------------------------------------------------------

    def shown_panel(self) -> Panel | None:
        """The panel on the canvas: the one being drawn, else the selected one."""
        shown = self.document.shown
        if self._tool.name == "outline":
            known = {p.id for p in self.document.project.panels}
            return next((p for p in shown.panels if p.id not in known), None)
        return self.document.selected_panel

    @guarded
    def _document_changed(self) -> None:
        project = self.document.project
        if project is not self._project_seen:
            self._project_seen = project
            # Undo, or an edit from elsewhere, pulled the ground from under the gesture.
            if self._tool is self.select_tool and self._tool.active:
                self._tool.cancel()
            self._cards.close()
            self._describe()
        self._place_empty()
        self.update()

    @guarded
    def _selection_changed(self) -> None:
        self.select_tool.selection_changed()
        if not self._tool.active:
            self._cards.close()
        panel_id = self.document.panel_id
        if panel_id != self._shown_panel:
            self._shown_panel = panel_id
            self._show_other_panel(panel_id)
        picked = self._tool is self.select_tool and len(self.document.node_ids) == 1
        if picked and not self._hinted:
            self._hinted = True
            self.say(_("Double-click the point, or press Enter, to type its place."))
        self._describe()
        self._place_empty()
        self.update()

    def _show_other_panel(self, panel_id: int | None) -> None:
        tool = self._tool
        if isinstance(tool, DrawTool):
            if tool.finishing and panel_id is not None:
                self._views[panel_id] = self.view
                return
            self.set_tool("select")
        else:
            tool.cancel()
        if panel_id is not None and panel_id in self._views:
            self.set_view(self._views[panel_id])
        else:
            self.fit()

    @guarded
    def _loaded(self) -> None:
        """Another costume was opened: its panels may have the ids of the last one's."""
        self._views.clear()
        self._shown_panel = self.document.panel_id
        self.set_tool("select")
        self.fit()

    def _describe(self) -> None:
        text = described(self.document, self.shown_panel())
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)

    def _place_empty(self) -> None:
        empty = not self.document.project.panels and self._tool.name == "select"
        if empty:
            self._empty.adjustSize()
            x, y = self.middle()
            self._empty.move(int(x - self._empty.width() / 2), int(y - self._empty.height() / 2))
        self._empty.setVisible(empty)

    def _begin_outline(self) -> None:
        self.set_tool("outline")
        self.setFocus(_Reason.OtherFocusReason)

    # --- input -------------------------------------------------------------------------------

    def resting_cursor(self) -> Qt.CursorShape:
        """An arrow to pick with, a cross to draw with."""
        if self._tool.name == "select":
            return Qt.CursorShape.ArrowCursor
        return Qt.CursorShape.CrossCursor

    def _at(self, event: QMouseEvent) -> Pointer:
        at, held = event.position(), event.modifiers()
        x, y = self.view.to_mm(at.x(), at.y())
        return Pointer(
            x, y, at.x(), at.y(), bool(held & _Mod.ShiftModifier), bool(held & _Mod.AltModifier)
        )

    @guarded
    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Start a pan, or hand the press to the tool."""
        self._flush()
        self._show_key_focus(False)
        self._pointer = event.position()
        if self.pan_press(event):
            return
        if event.button() == Qt.MouseButton.LeftButton:
            self._cards.close()
            if self._said and self._tool is self.select_tool:
                self.say("")
            self._tool.press(self._at(event))

    @guarded
    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pan, or let the tool follow, at most once a frame."""
        self._pointer = event.position()
        self._mark_pointer()
        if not event.buttons() & Qt.MouseButton.LeftButton:
            self._let_go(pan=event.buttons() == Qt.MouseButton.NoButton)
        if self.pan_move(event):
            return
        self._waiting = self._at(event)
        wait = FRAME_S - (time.monotonic() - self._last_move)
        if wait <= 0:
            self._flush()
        elif not self._timer.isActive():
            self._timer.start(max(1, int(wait * 1000)))

    @guarded
    def _flush(self) -> None:
        """Hand the latest pointer place to the tool."""
        self._timer.stop()
        at, self._waiting = self._waiting, None
        if at is not None:
            self._tool.move(at)
            # Counted from the end, so that slow work leaves room for painting.
            self._last_move = time.monotonic()

    def _let_go(self, pan: bool = True) -> None:
        """The button went up elsewhere, or soon will: no gesture may hang on it."""
        if pan:
            self.pan_release()
        if self._tool.let_go():
            self._waiting = None
            self._cards.hide_place()
            self.update()

    @guarded
    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a pan, or let the tool finish."""
        if self.pan_release():
            return
        # The button may go up somewhere no move was told of.
        self._waiting = self._at(event)
        self._flush()
        if event.button() == Qt.MouseButton.LeftButton:
            self._cards.hide_place()
            self._tool.release(self._at(event))

    @guarded
    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Hand a double click to the tool."""
        self._flush()
        if event.button() == Qt.MouseButton.LeftButton and not self.space_held:
            self._tool.double(self._at(event))
        else:
            self.mousePressEvent(event)

    @guarded
    def leaveEvent(self, event: QEvent) -> None:
        """Take the pointer's marks off the rulers."""
        self._pointer = None
        self._mark_pointer()

    def _mark_pointer(self) -> None:
        at = self._pointer
        self._marks = None if at is None else self.view.to_mm(at.x(), at.y())
        self.update(QRect(0, 0, self.width(), RULER))
        self.update(QRect(0, 0, RULER, self.height()))

    @guarded
    def event(self, event: QEvent) -> bool:
        """Take plain keys for the canvas before the window's shortcuts see them."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            held = event.modifiers() & ~(_Mod.ShiftModifier | _Mod.KeypadModifier)
            back = (
                event.key() == _Key.Key_Z
                and event.modifiers() == _Mod.ControlModifier
                and self._tool.active
            )
            if (held == _Mod.NoModifier and event.key() in OWN_KEYS) or back:
                event.accept()
                return True
        if event.type() in LOST:
            self._let_go()
        return super().event(event)

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys of the tool, then those of the view."""
        self._flush()
        key, held = event.key(), event.modifiers()
        self._show_key_focus(True)
        if self.space_press(event):
            return
        if key == _Key.Key_Escape:
            self._cards.hide_place()
        if self._tool.key(event):
            return
        arrow_pans = bool(held & _Mod.ControlModifier) or not self._tool.active
        if not self.view_key(event, arrow_pans):
            super().keyPressEvent(event)

    @guarded
    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Space let go: the end of a pan, or a tap."""
        tapped = self.space_release(event)
        if tapped:
            self._tool.tap()
        elif tapped is None:
            super().keyReleaseEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: N802
        """Tab walks points and edges first, then leaves."""
        if self.hasFocus() and self._tool.walk(forward):
            self._show_key_focus(True)
            return True
        return super().focusNextPrevChild(forward)

    @guarded
    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Forget a held Space, whose release will go elsewhere."""
        self.forget_space()
        self.update()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep a fitted panel fitted."""
        super().resizeEvent(event)
        self._place_empty()

    # --- picture -----------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw what needs drawing; the rulers alone while only the pointer moves."""
        painter = QPainter(self)
        try:
            inside = QRect(RULER, RULER, self.width() - RULER, self.height() - RULER)
            self._picture.paint(painter, self, current(), table=event.region().intersects(inside))
        except Exception:
            log.exception("while painting the canvas")
        finally:
            painter.end()
