"""A widget that looks at a plane in mm: zoom, pan, fit, true size, by mouse and by keyboard."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QWidget

from app import true_size
from app.canvas.guard import guarded
from app.canvas.rulers import RULER
from app.canvas.tools import ARROWS
from app.canvas.view import View

FIT_MARGIN_PX = 40.0
SCALE_BAR_PX = 16.0
ZOOM_STEP = 1.25
PAN_PX = 40.0
WHEEL_BASE = 1.0015
"""Zoom for each eighth of a degree of the wheel: a notch of 120 makes a fifth."""

_Key = Qt.Key
_Reason = Qt.FocusReason

BY_KEY = (_Reason.TabFocusReason, _Reason.BacktabFocusReason, _Reason.ShortcutFocusReason)
LENT = (_Reason.ActiveWindowFocusReason, _Reason.PopupFocusReason, _Reason.MenuBarFocusReason)
"""Why the focus comes back from a dialog, a sheet or a menu."""


class Viewport(QWidget):
    """Holds a `View` and changes it; subclasses paint through it and say what to fit.

    Signals:
        view_changed: zoom or place changed.
    """

    view_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._view = View()
        self._fitted = True
        self._pan_from: QPointF | None = None
        self._space = False
        self._space_used = False
        self._key_focus = False
        self._true_px_per_mm = self.true_scale()
        true_size.hub().changed.connect(self._true_scale_changed)

    @property
    def view(self) -> View:
        """Where mm lie on the widget."""
        return self._view

    def set_view(self, view: View) -> None:
        """Look from elsewhere."""
        if view == self._view:
            return
        self._view = view
        self._fitted = False
        self.view_changed.emit()
        self.update()

    def box_mm(self) -> tuple[float, float, float, float]:
        """What `fit` shows: x0, y0, x1, y1 in mm."""
        raise NotImplementedError

    def resting_cursor(self) -> Qt.CursorShape:
        """The cursor while nothing is panned."""
        return Qt.CursorShape.ArrowCursor

    # --- commands ----------------------------------------------------------------------------

    def true_scale(self) -> float:
        """Pixels per mm at which this screen shows things at their own size."""
        return true_size.px_per_mm(self)

    def _true_scale_changed(self) -> None:
        """What is shown at its own size stays so; for the rest the ratio alone is another."""
        before, self._true_px_per_mm = self._true_px_per_mm, self.true_scale()
        if not self._fitted and math.isclose(self._view.scale, before, rel_tol=1e-9):
            self.true_size()
        self.view_changed.emit()

    def zoom_ratio(self) -> float:
        """Size on screen over true size."""
        return self._view.scale / self.true_scale()

    def middle(self) -> tuple[float, float]:
        """The middle of the drawing beside its rulers, in pixels."""
        return (RULER + self.width()) / 2, (RULER + self.height()) / 2

    def zoom_by(self, factor: float) -> None:
        """Zoom about the middle of the drawing."""
        self.set_view(self._view.zoomed_at(factor, *self.middle()))

    def true_size(self) -> None:
        """Show things at their own size."""
        self.zoom_by(self.true_scale() / self._view.scale)

    def fit(self) -> None:
        """Show everything."""
        m = min(FIT_MARGIN_PX, self.width() / 8, self.height() / 8)
        # Below, the scale bar wants room of its own.
        below = m + min(SCALE_BAR_PX, self.height() / 16)
        area = (RULER + m, RULER + m, self.width() - m, self.height() - below)
        self.set_view(View.fitted(self.box_mm(), area))
        self._fitted = True

    def reveal(self, x_mm: float, y_mm: float) -> None:
        """Pan just far enough to bring a place into sight."""
        x, y = self._view.to_px(x_mm, y_mm)
        left, top, right, bottom = RULER + 16, RULER + 16, self.width() - 16, self.height() - 16
        dx = max(0.0, left - x) + min(0.0, right - x)
        dy = max(0.0, top - y) + min(0.0, bottom - y)
        if dx or dy:
            self.set_view(self._view.panned(dx, dy))

    # --- mouse -------------------------------------------------------------------------------

    @property
    def space_held(self) -> bool:
        """Whether Space is down, so that a drag pans."""
        return self._space

    def _show_cursor(self) -> None:
        if self._pan_from is not None:
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
        elif self._space:
            self.setCursor(Qt.CursorShape.OpenHandCursor)
        else:
            self.setCursor(self.resting_cursor())

    def pan_press(self, event: QMouseEvent) -> bool:
        """Start a pan with the middle button, or with Space held; whether it did."""
        left = event.button() == Qt.MouseButton.LeftButton
        if event.button() != Qt.MouseButton.MiddleButton and not (left and self._space):
            return False
        self._pan_from = event.position()
        self._space_used = True
        self._show_cursor()
        return True

    def pan_move(self, event: QMouseEvent) -> bool:
        """Follow a pan; whether there is one."""
        if self._pan_from is None:
            return False
        step = event.position() - self._pan_from
        self._pan_from = event.position()
        self.set_view(self._view.panned(step.x(), step.y()))
        return True

    def pan_release(self) -> bool:
        """End a pan; whether there was one."""
        if self._pan_from is None:
            return False
        self._pan_from = None
        self._show_cursor()
        return True

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer."""
        at = event.position()
        turn = event.angleDelta().y() or event.angleDelta().x()
        if turn:
            self.set_view(self._view.zoomed_at(WHEEL_BASE**turn, at.x(), at.y()))
        event.accept()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep what was fitted fitted."""
        if self._fitted:
            self.fit()

    # --- keys --------------------------------------------------------------------------------

    def space_press(self, event: QKeyEvent) -> bool:
        """Hold Space for a pan; whether the key was Space."""
        if event.key() != _Key.Key_Space:
            return False
        if not event.isAutoRepeat():
            self._space, self._space_used = True, False
            self._show_cursor()
        return True

    def space_release(self, event: QKeyEvent) -> bool | None:
        """Let Space go: True when it was a tap, False after a pan, None for another key."""
        if event.key() != _Key.Key_Space:
            return None
        if event.isAutoRepeat() or not self._space:
            return False
        self.forget_space()
        return not self._space_used

    def forget_space(self) -> None:
        """Space is no longer held, or its release will go elsewhere."""
        self._space = False
        self._show_cursor()

    def view_key(self, event: QKeyEvent, arrow_pans: bool) -> bool:
        """Keys that change the view; whether this was one."""
        key = event.key()
        if key in ARROWS and arrow_pans:
            way = ARROWS[key]
            self.set_view(self._view.panned(-way[0] * PAN_PX, -way[1] * PAN_PX))
        elif key in (_Key.Key_Plus, _Key.Key_Equal):
            self.zoom_by(ZOOM_STEP)
        elif key in (_Key.Key_Minus, _Key.Key_Underscore):
            self.zoom_by(1 / ZOOM_STEP)
        elif key == _Key.Key_1:
            self.true_size()
        elif key == _Key.Key_0:
            self.fit()
        else:
            return False
        return True

    # --- the keyboard's place ----------------------------------------------------------------

    @property
    def shows_focus(self) -> bool:
        """Whether to draw the frame that shows the keyboard's place."""
        return self._key_focus and self.hasFocus()

    def _show_key_focus(self, show: bool) -> None:
        if show != self._key_focus:
            self._key_focus = show
            self.update()

    @guarded
    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus to those who came by keyboard; one only lent comes back as it was."""
        if event.reason() not in LENT:
            self._key_focus = event.reason() in BY_KEY
        # The frame went with the focus, whoever had come before.
        self.update()
