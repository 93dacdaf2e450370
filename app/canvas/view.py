"""Where millimetres lie on the screen: one scale and one offset, never changed in place."""

from __future__ import annotations

from dataclasses import dataclass

MIN_SCALE = 0.19
"""Pixels a millimetre at the farthest zoom by hand: 5 % at 96 dots an inch, 4 m on a screen."""

MAX_SCALE = 151.0
"""Pixels a millimetre at the nearest zoom: 4000 % at 96 dots an inch, a ring fills the window."""

FIT_SCALE = 0.005
"""The farthest that fitting goes, for an outline no zoom by hand would show whole."""


@dataclass(frozen=True, slots=True)
class View:
    """A mapping between the panel frame (mm, y down) and a widget's logical pixels (y down).

    Attributes:
        scale: pixels per millimetre.
        offset: (x, y) in pixels of the panel frame's zero; px = mm * scale + offset.
    """

    scale: float = 4.0
    offset: tuple[float, float] = (0.0, 0.0)

    def to_px(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """The pixel place of a point of the panel frame."""
        return x_mm * self.scale + self.offset[0], y_mm * self.scale + self.offset[1]

    def to_mm(self, x_px: float, y_px: float) -> tuple[float, float]:
        """The panel-frame place under a pixel."""
        return (x_px - self.offset[0]) / self.scale, (y_px - self.offset[1]) / self.scale

    def zoomed_at(self, factor: float, x_px: float, y_px: float) -> View:
        """The view magnified by `factor`; what lies under the given pixel stays there."""
        # A fitted view may lie farther out than zooming goes: it then only comes nearer.
        scale = min(MAX_SCALE, max(min(MIN_SCALE, self.scale), self.scale * factor))
        if scale == self.scale:
            return self
        x_mm, y_mm = self.to_mm(x_px, y_px)
        return View(scale, (x_px - x_mm * scale, y_px - y_mm * scale))

    def panned(self, dx_px: float, dy_px: float) -> View:
        """The view with everything moved by that many pixels."""
        return View(self.scale, (self.offset[0] + dx_px, self.offset[1] + dy_px))

    @staticmethod
    def fitted(
        box_mm: tuple[float, float, float, float], area_px: tuple[float, float, float, float]
    ) -> View:
        """The view that shows a box (x0, y0, x1, y1 in mm) whole, centred in an area.

        Args:
            box_mm: the box to show; one without width and height is centred at 4 px a mm.
            area_px: x0, y0, x1, y1 of the area, in pixels.
        """
        x0, y0, x1, y1 = box_mm
        left, top, right, bottom = area_px
        ratios = [
            max(have, 1.0) / need
            for have, need in ((right - left, x1 - x0), (bottom - top, y1 - y0))
            if need > 0
        ]
        scale = min(MAX_SCALE, max(FIT_SCALE, min(ratios, default=4.0)))
        return View(
            scale,
            (
                (left + right) / 2 - scale * (x0 + x1) / 2,
                (top + bottom) / 2 - scale * (y0 + y1) / 2,
            ),
        )
