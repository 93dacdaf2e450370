"""The tools that draw: an outline of a new panel, and a hole in the selected one.

A click places a corner; pressing and dragging places a smooth point with curve handles; a typed
number gives the next line's length. From three points on, what the drawing would hold is shown.
"""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPen

from app.canvas.drafts import (
    Draft,
    draft_loop,
    draft_paths,
    new_panel,
    squared,
    unsound_panel,
)
from app.canvas.tools import ARROWS, DRAG_PX, PICK_PX, Board, Pointer, Tool
from app.canvas.view import View
from app.theme import Theme
from core.edits import Edit, add_hole
from core.errors import RingloftError
from core.outline import Loop, Outline
from core.texts import _

_Key = Qt.Key
_Mod = Qt.KeyboardModifier


class DrawTool(Tool):
    """Collects the points of a loop; subclasses say what becomes of it."""

    def __init__(self, board: Board) -> None:
        super().__init__(board)
        self.points: list[Draft] = []
        self.at: tuple[float, float] | None = None
        self._press: Pointer | None = None
        self._bending = False
        self._trouble = ""
        self._odd = False
        self.finishing = False
        """Whether the edit is being made now, so that the new panel keeps the view."""

    @property
    def active(self) -> bool:
        """See `Tool.active`."""
        return bool(self.points)

    @property
    def refusing(self) -> bool:
        """See `Tool.refusing`."""
        return bool(self._trouble)

    # --- what a subclass says ----------------------------------------------------------------

    def _edit(self, loop: Loop) -> Edit:
        raise NotImplementedError

    def _unsound(self, loop: Loop) -> Edit | None:
        """What to show while the drawing encloses no clear area: by default none of it."""
        return None

    def _hint(self) -> str:
        raise NotImplementedError

    def _step(self) -> str:
        raise NotImplementedError

    def _ready(self) -> bool:
        return True

    # --- pointer -----------------------------------------------------------------------------

    def start(self) -> None:
        """See `Tool.start`."""
        self.remark()

    def remark(self) -> None:
        """Say what is wrong with the drawing, else how to go on."""
        self._odd = False
        if self._trouble:
            self.board.warn(self._trouble)
        else:
            self.board.say(self._hint())

    def _refuse(self, text: str) -> None:
        """Say once why something was not done; the next point brings the hint back."""
        self._odd = True
        self.board.warn(text)

    def _place(self, at: Pointer) -> tuple[float, float]:
        if self._on_first(at.x_mm, at.y_mm):
            return self.points[0].x_mm, self.points[0].y_mm
        x, y = at.x_mm, at.y_mm
        if at.shift and self.points:
            x, y = squared(x, y, self.points[-1], self.points[-2] if len(self.points) > 1 else None)
            sx, sy = self.board.snap(x, y)
            last = self.points[-1]
            if abs(x - last.x_mm) < 1e-9:
                return x, sy
            return (sx, y) if abs(y - last.y_mm) < 1e-9 else (x, y)
        return (x, y) if at.alt else self.board.snap(x, y)

    def _on_first(self, x_mm: float, y_mm: float) -> bool:
        if len(self.points) < 3:
            return False
        first = self.points[0]
        return math.hypot(x_mm - first.x_mm, y_mm - first.y_mm) <= self.tolerance_mm

    def press(self, at: Pointer) -> None:
        """See `Tool.press`."""
        if not self._ready():
            self.board.say(self._hint())
            return
        if self._on_first(at.x_mm, at.y_mm):
            self.finish()
            return
        if self.add(*self._place(at)):
            self._press = at

    def double(self, at: Pointer) -> None:
        """See `Tool.double`."""
        # The first click of the two has placed a point here.
        if len(self.points) >= 3 and self.at == (self.points[-1].x_mm, self.points[-1].y_mm):
            self.finish()
        else:
            self.press(at)

    def move(self, at: Pointer) -> None:
        """See `Tool.move`."""
        if self._press is not None and self.points:
            far = math.hypot(at.x_px - self._press.x_px, at.y_px - self._press.y_px)
            if self._bending or far >= DRAG_PX:
                self._bending = True
                last = self.points[-1]
                x, y = (at.x_mm, at.y_mm) if at.alt else self.board.snap(at.x_mm, at.y_mm)
                self.points[-1] = replace(last, out=(x - last.x_mm, y - last.y_mm))
                self._show()
            return
        self.at = self._place(at)
        if self.points:
            self._show()
        else:
            self.board.update()

    def release(self, at: Pointer) -> None:
        """See `Tool.release`."""
        self._press = None
        self._bending = False

    def let_go(self) -> bool:
        """See `Tool.let_go`: the curve being pulled stays as it is, and so does the drawing."""
        held, self._press, self._bending = self._press is not None, None, False
        return held

    # --- the drawing -------------------------------------------------------------------------

    def add(self, x_mm: float, y_mm: float) -> bool:
        """Place a point; one on top of the last is left out. Returns whether it was placed."""
        last = self.points[-1] if self.points else None
        if last is not None and math.hypot(x_mm - last.x_mm, y_mm - last.y_mm) < 1e-6:
            return False
        self.points.append(Draft(x_mm, y_mm))
        self.at = (x_mm, y_mm)
        if self._odd:
            self.remark()
        self._show()
        return True

    def add_by_length(self, length_mm: float, angle_deg: float) -> bool:
        """Place a point at a distance from the last; angles run clockwise from the right."""
        if not self.points:
            return False
        last, angle = self.points[-1], math.radians(angle_deg)
        placed = self.add(
            last.x_mm + length_mm * math.cos(angle), last.y_mm + length_mm * math.sin(angle)
        )
        if placed:
            self.board.reveal(self.points[-1].x_mm, self.points[-1].y_mm)
        return placed

    def heading_deg(self) -> float:
        """The angle of the line from the last point to the pointer, clockwise from the right."""
        if not self.points or self.at is None:
            return 0.0
        last = self.points[-1]
        dx, dy = self.at[0] - last.x_mm, self.at[1] - last.y_mm
        return math.degrees(math.atan2(dy, dx)) if (dx or dy) else 0.0

    def _sketch(self) -> list[Draft]:
        """The points, and the pointer as the next one while it is somewhere else."""
        last = self.points[-1]
        away = self.at is not None and self.at not in (
            (last.x_mm, last.y_mm),
            (self.points[0].x_mm, self.points[0].y_mm),
        )
        if self.at is None or not away or self._press is not None:
            return self.points
        return [*self.points, Draft(*self.at)]

    def _show(self) -> None:
        sketch = self._sketch() if self.points else []
        said, self._trouble = self._trouble, ""
        if len(sketch) < 3 or not self._ready():
            self.document.show_preview(None)
        else:
            try:
                self.document.show_preview(self._edit(draft_loop(sketch)))
            except RingloftError as error:
                self._trouble = str(error)
                self._show_unsound(draft_loop(sketch))
        if self._trouble != said:
            self.remark()
        self.board.update()

    def _show_unsound(self, loop: Loop) -> None:
        # What was counted for an earlier shape would pass for this one's.
        try:
            self.document.show_preview(self._unsound(loop))
        except RingloftError:
            self.document.show_preview(None)

    def finish(self) -> None:
        """Close the loop and make the edit; what is refused stays on the table to be mended."""
        if not self.points:
            return
        if len(self.points) < 3:
            self._refuse(_("Place three points or more, then close."))
            return
        try:
            edit = self._edit(draft_loop(self.points))
        except RingloftError as error:
            self._refuse(str(error))
            return
        points = list(self.points)
        self.points.clear()
        self.finishing = True
        done = self.do(edit, self._step())
        self.finishing = False
        if done:
            self._drop()
            self.board.set_tool("select")
        else:
            self.points.extend(points)
            # A refused edit has taken the preview away.
            self._show()

    def _drop(self) -> None:
        self.points.clear()
        self._press = None
        self._bending = False
        self._trouble = ""

    def back(self) -> bool:
        """Take the last point back."""
        if not self.points:
            return False
        self.points.pop()
        self._press = None
        self._show()
        return True

    def cancel(self) -> bool:
        """See `Tool.cancel`."""
        if not self.points:
            return False
        self._drop()
        self.document.show_preview(None)
        self.board.say(self._hint())
        self.board.update()
        return True

    # --- keys --------------------------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        """See `Tool.key`."""
        key, held, text = event.key(), event.modifiers(), event.text()
        if key == _Key.Key_Escape:
            if not self.cancel():
                self.board.set_tool("select")
            return True
        if held & _Mod.ControlModifier:
            return key == _Key.Key_Z and not held & _Mod.ShiftModifier and self.back()
        if key in (_Key.Key_Backspace, _Key.Key_Delete):
            return self.back()
        if key in (_Key.Key_Return, _Key.Key_Enter):
            if self.points:
                self.finish()
            return bool(self.points) or self.document.panel_id is not None
        if key == _Key.Key_A:
            return self.tap()
        if key in ARROWS:
            shift, alt = bool(held & _Mod.ShiftModifier), bool(held & _Mod.AltModifier)
            step = self.board.step_mm(shift, alt)
            x, y = self.at or (0.0, 0.0)
            self.at = (x + ARROWS[key][0] * step, y + ARROWS[key][1] * step)
            self.board.reveal(*self.at)
            self._show()
            return True
        if self.points and text and text in "0123456789.,":
            self.board.open_length_card(text)
            return True
        return False

    def tap(self) -> bool:
        """See `Tool.tap`."""
        if not self._ready():
            self.board.say(self._hint())
            return True
        x, y = self.at or (0.0, 0.0)
        if self.points and (x, y) == (self.points[0].x_mm, self.points[0].y_mm):
            self.finish()
        else:
            self.add(x, y)
        return True

    # --- picture -----------------------------------------------------------------------------

    def paint(self, painter: QPainter, view: View, theme: Theme) -> None:
        """See `Tool.paint`."""
        at = None if self.at is None else QPointF(*view.to_px(*self.at))
        if not self.points:
            if at is not None:
                painter.setPen(QPen(theme.accent, 1.5))
                painter.drawLine(at - QPointF(6, 0), at + QPointF(6, 0))
                painter.drawLine(at - QPointF(0, 6), at + QPointF(0, 6))
            return
        colour = theme.warn if self._trouble else theme.accent
        sketch = self._sketch()
        line, closing = draft_paths(sketch, view)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, 2.0 if self._trouble else 1.6))
        painter.drawPath(line)
        if len(sketch) > 2:
            pen = QPen(colour, 1.2)
            pen.setDashPattern([4, 4])
            painter.setPen(pen)
            painter.drawPath(closing)
        self._paint_points(painter, view, theme, at)

    def _paint_points(
        self, painter: QPainter, view: View, theme: Theme, at: QPointF | None
    ) -> None:
        for i, point in enumerate(self.points):
            centre = QPointF(*view.to_px(point.x_mm, point.y_mm))
            painter.setPen(QPen(theme.accent, 1.5))
            painter.setBrush(theme.field)
            if any(point.out):
                reach = QPointF(point.out[0] * view.scale, point.out[1] * view.scale)
                if i == len(self.points) - 1:
                    painter.drawLine(centre - reach, centre + reach)
                    painter.drawEllipse(centre - reach, 3, 3)
                    painter.drawEllipse(centre + reach, 3, 3)
                painter.drawEllipse(centre, 4.2, 4.2)
            else:
                painter.drawRect(QRectF(centre.x() - 4, centre.y() - 4, 8, 8))
        first = self.points[0]
        if len(self.points) > 2 and self.at == (first.x_mm, first.y_mm):
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(
                QPointF(*view.to_px(first.x_mm, first.y_mm)), PICK_PX + 3, PICK_PX + 3
            )
        elif at is not None and self._press is None:
            painter.setBrush(theme.accent)
            painter.drawEllipse(at, 2.5, 2.5)


class OutlineTool(DrawTool):
    """Draws the outline of a new panel."""

    name = "outline"

    def _hint(self) -> str:
        return _(
            "Click, or use the arrows and A, to place points; press and drag for curves, type"
            " a length; Enter closes, Backspace takes back."
        )

    def _step(self) -> str:
        return _("Draw panel")

    def _edit(self, loop: Loop) -> Edit:
        # While it is drawn the rings keep to the first point, so that they do not swim.
        x, y = self.points[0].x_mm, self.points[0].y_mm
        return new_panel(self.document.project, self.document.panel_id, Outline(loop), x, y)

    def _unsound(self, loop: Loop) -> Edit:
        """The panel with the outline as it is: it has no rings, and every count says so."""
        return unsound_panel(self.document.project, self.document.panel_id, loop)


class HoleTool(DrawTool):
    """Cuts a hole into the selected panel."""

    name = "hole"

    def _ready(self) -> bool:
        return self.document.panel_id is not None

    def _hint(self) -> str:
        if not self._ready():
            return _("Draw a panel first; a hole is cut into one.")
        return _(
            "Click, or use the arrows and A, to place the points of the hole inside the panel;"
            " Enter closes."
        )

    def _step(self) -> str:
        return _("Cut hole")

    def _edit(self, loop: Loop) -> Edit:
        panel_id = self.document.panel_id
        assert panel_id is not None
        return add_hole(panel_id, loop)
