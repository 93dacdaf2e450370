"""How many logical pixels make a millimetre on a screen: what was measured, or what it says.

A screen's own word on its size is often wrong. The maker corrects it once by laying a card or a
ruler on it; the correction is kept for that screen alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Literal

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QScreen
from PySide6.QtWidgets import QWidget

from app import settings
from core.errors import BadValue
from core.texts import _
from core.wire import MM_PER_IN

LIMITS_PX_PER_MM = (1.0, 40.0)
"""Scales that can be meant: 25 to 1016 logical pixels an inch."""

BELIEVED_DPI = (40.0, 600.0)
"""Screens that report a density outside this do not know their size."""

Origin = Literal["checked", "screen", "system"]
"""Who says so: the maker's ruler, the screen, or the system's setting for text."""


@dataclass(frozen=True, slots=True)
class ScreenFacts:
    """What a screen says of itself.

    Attributes:
        name: as the system calls it, such as its socket.
        maker: its manufacturer, "" when it does not say.
        model: its model, "" when it does not say.
        serial: its serial number, "" when it does not say.
        size_px: width and height in logical pixels.
        ratio: device pixels a logical pixel.
        physical_dpi: logical pixels an inch, from the size the screen says it has.
        logical_dpi: logical pixels an inch, as the system sets text.
    """

    name: str
    maker: str
    model: str
    serial: str
    size_px: tuple[int, int]
    ratio: float
    physical_dpi: float
    logical_dpi: float

    @property
    def key(self) -> str:
        """What tells this screen, as it is set now, from others."""
        width, height = self.size_px
        size = f"{width}x{height}@{self.ratio:g}"
        parts = (self.name, self.maker, self.model, self.serial, size)
        return "|".join(part.replace("|", "/").strip() for part in parts)


@dataclass(frozen=True, slots=True)
class TrueScale:
    """Logical pixels a mm, and who says so."""

    px_per_mm: float
    origin: Origin

    @property
    def checked(self) -> bool:
        """Whether a card or a ruler was laid on the screen."""
        return self.origin == "checked"


class Hub(QObject):
    """Tells every view at true size when to look again.

    Signals:
        changed: a correction came or went, or a watched window stands on another screen.
    """

    changed = Signal()

    def watch(self, window: QWidget) -> None:
        """Follow a window from screen to screen."""
        window.installEventFilter(self)
        self._follow(window)

    def _follow(self, window: QWidget) -> None:
        handle = window.windowHandle()
        if handle is not None and handle.property("ringloft_followed") is None:
            handle.setProperty("ringloft_followed", True)
            handle.screenChanged.connect(self._moved)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A window has its handle from its first showing on."""
        if event.type() == QEvent.Type.Show and isinstance(watched, QWidget):
            self._follow(watched)
        elif event.type() == QEvent.Type.DevicePixelRatioChange:
            self.changed.emit()
        return False

    def _moved(self, _screen: QScreen) -> None:
        self.changed.emit()


@cache
def hub() -> Hub:
    """The one hub."""
    return Hub()


def facts(screen: QScreen) -> ScreenFacts:
    """What a screen says of itself."""
    size = screen.size()
    return ScreenFacts(
        screen.name(),
        screen.manufacturer(),
        screen.model(),
        screen.serialNumber(),
        (size.width(), size.height()),
        screen.devicePixelRatio(),
        screen.physicalDotsPerInch(),
        screen.logicalDotsPerInch(),
    )


def own_scale(told: ScreenFacts) -> TrueScale:
    """The scale as the screen has it, or as the system has it when the screen does not know."""
    if BELIEVED_DPI[0] <= told.physical_dpi <= BELIEVED_DPI[1]:
        return TrueScale(told.physical_dpi / MM_PER_IN, "screen")
    return TrueScale(told.logical_dpi / MM_PER_IN, "system")


def scale_of(told: ScreenFacts) -> TrueScale:
    """The scale of a screen: corrected, or its own."""
    kept = settings.screen_scale(told.key)
    if kept is not None and LIMITS_PX_PER_MM[0] <= kept <= LIMITS_PX_PER_MM[1]:
        return TrueScale(kept, "checked")
    return own_scale(told)


def scale_for(widget: QWidget) -> TrueScale:
    """The scale of the screen a widget is on."""
    return scale_of(facts(widget.screen()))


def px_per_mm(widget: QWidget) -> float:
    """Logical pixels a mm at which the widget's screen shows things at their own size."""
    return scale_for(widget).px_per_mm


def check_scale(scale: float) -> float:
    """The scale, if a screen can have it. Raises BadValue otherwise."""
    low, high = LIMITS_PX_PER_MM
    if not (math.isfinite(scale) and low <= scale <= high):
        raise BadValue(
            _("a millimetre cannot be {n:.3g} pixels on a screen; {low:g} to {high:g} can be")
            .format(n=scale, low=low, high=high),
            do=_("Measure the bar again"),
        )  # fmt: skip
    return scale


def measured_mm(length_px: float, scale: float) -> float:
    """What a ruler reads along a bar of `length_px` where a mm is `scale` logical pixels."""
    return length_px / scale


def scale_from_measure(length_px: float, measured: float) -> float:
    """Logical pixels a mm, from what a ruler reads in mm along a bar of `length_px`.

    Raises:
        BadValue: no screen has such a scale, or nothing was measured.
    """
    if not measured > 0:
        raise BadValue(
            _("a bar of no length cannot be measured"), do=_("Type what the ruler reads")
        )
    return check_scale(length_px / measured)


def use(told: ScreenFacts, scale: float) -> None:
    """Keep a correction for a screen. Raises BadValue when no screen has such a scale."""
    settings.keep_screen_scale(told.key, check_scale(scale))
    hub().changed.emit()


def forget(told: ScreenFacts) -> None:
    """Believe the screen's own word again."""
    settings.keep_screen_scale(told.key, None)
    hub().changed.emit()
