"""What the pointer and the keys do on the canvas: one class per gesture.

A tool keeps its own state and preview, and pushes one edit when the gesture ends. This module has
what tools share; `select_tool` picks and moves, `draw_tools` draws.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QPainter

from app.canvas.view import View
from app.document import Document
from app.theme import Theme
from core.edits import Edit
from core.errors import RingloftError
from core.outline import Outline
from core.panel import Panel

PICK_PX = 8.0
"""How near the pointer must come to what it picks."""

DRAG_PX = 4.0
"""How far the pointer moves before a press becomes a drag."""

_Key = Qt.Key

ARROWS: dict[int, tuple[int, int]] = {
    _Key.Key_Left: (-1, 0),
    _Key.Key_Right: (1, 0),
    _Key.Key_Up: (0, -1),
    _Key.Key_Down: (0, 1),
}


@dataclass(frozen=True, slots=True)
class Pointer:
    """Where the pointer is, in mm of the panel frame and in pixels, and what is held down."""

    x_mm: float
    y_mm: float
    x_px: float
    y_px: float
    shift: bool = False
    alt: bool = False


class Board(Protocol):
    """What a tool needs of the canvas."""

    document: Document

    @property
    def view(self) -> View:
        """Where mm lie on the widget."""
        ...

    def snap(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """The nearest place of the snapping grid."""
        ...

    def say(self, text: str) -> None:
        """Show a message in the status line."""
        ...

    def warn(self, text: str) -> None:
        """Say why something was refused."""
        ...

    def step_mm(self, shift: bool, alt: bool) -> float:
        """How far an arrow key moves things."""
        ...

    def set_tool(self, name: str) -> None:
        """Change to another tool."""
        ...

    def open_place_card(self) -> None:
        """Let the maker type the place of the chosen point."""
        ...

    def open_length_card(self, first: str) -> None:
        """Let the maker type the length and angle of the line being drawn."""
        ...

    def show_place(self, x_mm: float, y_mm: float) -> None:
        """Show a place beside the pointer while something is dragged there."""
        ...

    def reveal(self, x_mm: float, y_mm: float) -> None:
        """Bring a place into sight."""
        ...

    def update(self) -> None:
        """Ask for a repaint."""
        ...


class Tool:
    """A gesture: start, mouse, keys, end, cancel. Handlers return whether they did anything."""

    name = ""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.document = board.document

    @property
    def active(self) -> bool:
        """Whether a gesture is under way, one that Esc would cancel."""
        return False

    @property
    def bad_outline(self) -> Outline | None:
        """An outline being dragged that encloses no clear area."""
        return None

    @property
    def refusing(self) -> bool:
        """Whether the tool is saying what is wrong with what it shows."""
        return False

    def start(self) -> None:
        """The tool was chosen."""

    def press(self, at: Pointer) -> None:
        """The main button went down."""

    def move(self, at: Pointer) -> None:
        """The pointer moved, with or without a button."""

    def release(self, at: Pointer) -> None:
        """The main button went up."""

    def double(self, at: Pointer) -> None:
        """The main button went down again at once."""
        self.press(at)

    def key(self, event: QKeyEvent) -> bool:
        """A key went down."""
        return False

    def tap(self) -> bool:
        """Space was struck without dragging."""
        return False

    def walk(self, forward: bool) -> bool:
        """Tab, or Shift+Tab: go to the next thing; False lets the focus leave the canvas."""
        return False

    def cancel(self) -> bool:
        """Drop the gesture; the document is as before."""
        return False

    def let_go(self) -> bool:
        """The held button was lost without a release; whether a gesture hung on it."""
        return False

    def paint(self, painter: QPainter, view: View, theme: Theme) -> None:
        """Draw what the gesture adds, in pixels, above the panel."""

    @property
    def tolerance_mm(self) -> float:
        """Picking distance in mm at the present zoom."""
        return PICK_PX / self.board.view.scale

    def panel(self) -> Panel | None:
        """The selected panel as edited so far."""
        if self.document.panel_id is None:
            return None
        return self.document.project.panel(self.document.panel_id)

    def do(self, edit: Edit, text: str, merge_key: str | None = None, settle: bool = True) -> bool:
        """Apply an edit; what it refuses is said, and nothing changes."""
        try:
            return self.document.apply(edit, text, merge_key, settle)
        except RingloftError as error:
            self.board.warn(str(error))
            return False
