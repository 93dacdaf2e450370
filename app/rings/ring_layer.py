"""Paints the rings of a panel on the canvas, at every zoom.

Near, the arcs of the few rings in view; else sprites, level by level; with hair-thin wire one
sprite a ring; farthest a tint of the same brightness. See `app.rings.ring_sprites` for the sprites.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QTransform

from app.canvas.view import View
from app.rings import ring_sprites as sprites
from app.rings.fragments import draw_fragments
from app.rings.painter import draw_arcs
from app.rings.ring_changes import changed_places, rects_around, rects_exposed
from app.theme import Theme
from core.drawing import RingArc, fill_arcs, ring_arcs, sheet_sites
from core.fill import DROPPED, EDGE, Fill, sites
from core.weave.cells import Weave
from core.weave.lay import SolvedLay

Floats = NDArray[np.float64]

LEVELS_FROM_WIRE_PX = 1.5
"""Thinner wire than this shows no over and under."""

TINT_BELOW_WIRE_PX = 0.5
"""Thinner wire than this shows no rings."""

SHADOW_FROM_WIRE_PX = 3.0

ARCS_FROM_RING_PX = 450.0
"""Larger rings are drawn directly: sprites would be large, and few rings are in view."""

KEPT_ATLASES = 6

_KIND_OF_ROLE = np.full(DROPPED + 1, sprites.BODY, dtype=np.int8)
_KIND_OF_ROLE[EDGE] = sprites.EDGED
_KIND_OF_ROLE[DROPPED] = sprites.DROPPED


@dataclass(frozen=True, slots=True)
class Rings:
    """Rings to paint: centres in device pixels, and which kind of sprite; arrays (n,)."""

    x: Floats
    y: Floats
    course: NDArray[np.int8]
    kind: NDArray[np.int8]


def fragments_of(atlas: sprites.Atlas, rings: Rings, room: Floats | None = None) -> Floats:
    """The fragments that show rings, lowest layer first, float64 (n, 10).

    Args:
        atlas: the sprites.
        rings: what to show.
        room: an earlier result to overwrite where it is large enough: fresh memory is slow.
    """
    # A hair more, so that rings meant for one and the same phase do not fall to both its sides.
    place = np.column_stack([rings.x, rings.y]) + 1e-6
    whole = np.floor(place)
    phases = atlas.phases
    which = rings.kind.astype(np.intp) * atlas.cells.shape[1] + rings.course
    present = np.bincount(which, minlength=len(atlas.cells) * atlas.cells.shape[1]) > 0
    cell = which.copy()
    which *= phases
    place -= whole
    place *= phases
    phase = place.astype(np.intp)
    which += phase[:, 1]
    which *= phases
    which += phase[:, 0]
    picks: list[tuple[int, NDArray[np.intp] | slice, int]] = []
    for layer in range(atlas.cells.shape[2]):
        shown = atlas.cells[:, :, layer, 2].ravel() > 0
        if (shown | ~present).all():
            picks.append((layer, slice(None), len(cell)))
        elif (shown & present).any():
            mine = np.nonzero(shown[cell])[0]
            picks.append((layer, mine, len(mine)))
    need = sum(count for _layer, _pick, count in picks)
    base = room.base if room is not None and isinstance(room.base, np.ndarray) else room
    if base is None or len(base) < need:
        base = np.empty((need + need // 8, 10))
    begin = 0
    for layer, pick, count in picks:
        part = base[begin : begin + count]
        np.take(atlas.fragments(layer), which[pick], axis=0, out=part, mode="clip")
        part[:, :2] += whole[pick]
        begin += count
    return base[:need]


@dataclass(frozen=True, slots=True)
class _Scene:
    """Everything but place and fill that decides what rings look like."""

    solved: SolvedLay
    weave: Weave
    grain_deg: float
    look: str
    scheme: str
    scale: float
    whole: QRect

    @property
    def wire_px(self) -> float:
        return self.solved.wire_mm * self.scale

    @property
    def reach_mm(self) -> float:
        """Farthest that a ring's paint lies from its centre, shadow included."""
        return self.solved.centreline_mm + self.solved.wire_mm + 2.0 / self.scale

    def box_mm(self, rect: QRect, offset: tuple[float, float]) -> tuple[float, float, float, float]:
        """Where centres of rings lie that show in a rectangle: x0, y0, x1, y1, mm."""
        x0, y0 = (rect.left() - offset[0]) / self.scale, (rect.top() - offset[1]) / self.scale
        x1, y1 = x0 + rect.width() / self.scale, y0 + rect.height() / self.scale
        r = self.reach_mm
        return x0 - r, y0 - r, x1 + r, y1 + r


class RingLayer:
    """Paints a panel's rings.

    The second time a scene is asked for, its picture is kept; from then on only what changes is
    painted: rings that come and go while an outline is dragged, strips that come into view.
    """

    def __init__(self) -> None:
        self._atlases: OrderedDict[tuple[object, ...], sprites.Atlas] = OrderedDict()
        self._room: Floats | None = None
        self._scene: _Scene | None = None
        self._picture: QImage | None = None
        self._shown: tuple[Fill, tuple[float, float]] | None = None

    def paint(
        self,
        painter: QPainter,
        view: View,
        size_px: tuple[float, float],
        dpr: float,
        fill: Fill,
        solved: SolvedLay,
        weave: Weave,
        grain_deg: float,
        look: str,
        theme: Theme,
    ) -> None:
        """Paint the rings of one panel.

        Args:
            painter: in logical pixels of the widget, untransformed.
            view: where mm lie on the widget.
            size_px: width and height of the widget, logical pixels.
            dpr: device pixels in a logical one.
            fill: the rings.
            solved: their sheet.
            weave: their weave.
            grain_deg: the panel's grain.
            look: the metal's look, a key of ``theme.metals``.
            theme: the colours.
        """
        whole = QRect(0, 0, math.ceil(size_px[0] * dpr), math.ceil(size_px[1] * dpr))
        scale = view.scale * dpr
        scene = _Scene(solved, weave, grain_deg, look, theme.scheme, scale, whole)
        offset = (view.offset[0] * dpr, view.offset[1] * dpr)
        painter.save()
        # Work in device pixels: sprites are blitted as they are.
        painter.setWorldTransform(QTransform.fromScale(1 / dpr, 1 / dpr) * painter.worldTransform())
        if scene == self._scene:
            painter.drawImage(0, 0, self._brought_up(scene, offset, fill, theme))
        else:  # zooming, perhaps: a picture would not be used again
            self._scene, self._picture = scene, None
            self._draw(painter, scene, offset, fill, theme, whole)
        self._shown = (fill, offset)
        painter.restore()

    def _brought_up(
        self, scene: _Scene, offset: tuple[float, float], fill: Fill, theme: Theme
    ) -> QImage:
        """The scene's picture, painted where it is not yet right."""
        rects = None
        if self._picture is not None and self._shown is not None:
            rects = self._stale(scene, offset, fill)
        if self._picture is None or rects is None:
            form = QImage.Format.Format_ARGB32_Premultiplied
            if self._picture is None or self._picture.size() != scene.whole.size():
                self._picture = QImage(scene.whole.size(), form)
            rects = [scene.whole]
        if rects:
            painter = QPainter(self._picture)
            for rect in rects:
                painter.setClipRect(rect)
                painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Clear)
                painter.fillRect(rect, Qt.GlobalColor.transparent)
                painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
                self._draw(painter, scene, offset, fill, theme, rect)
            painter.end()
        return self._picture

    def _stale(self, scene: _Scene, offset: tuple[float, float], fill: Fill) -> list[QRect] | None:
        """Where the kept picture, moved along with the view, is wrong; None for everywhere."""
        assert self._picture is not None and self._shown is not None
        old, before = self._shown
        dx, dy = offset[0] - before[0], offset[1] - before[1]
        whole_dx, whole_dy = round(dx), round(dy)
        far = abs(whole_dx) > scene.whole.width() // 2 or abs(whole_dy) > scene.whole.height() // 2
        if far or abs(dx - whole_dx) > 1e-6 or abs(dy - whole_dy) > 1e-6:
            return None
        places = changed_places(old, fill, scene.solved, scene.weave, math.radians(scene.grain_deg))
        if places is None:
            return None
        rects = []
        if len(places):
            x, y = places[:, 0] * scene.scale + offset[0], places[:, 1] * scene.scale + offset[1]
            rects = rects_around(x, y, scene.reach_mm * scene.scale, scene.whole)
        if whole_dx or whole_dy:
            moved = QImage(self._picture.size(), self._picture.format())
            painter = QPainter(moved)
            painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
            painter.drawImage(whole_dx, whole_dy, self._picture)
            painter.end()
            self._picture = moved
            rects += rects_exposed(whole_dx, whole_dy, scene.whole)
        return rects

    def _draw(
        self,
        painter: QPainter,
        scene: _Scene,
        offset: tuple[float, float],
        fill: Fill,
        theme: Theme,
        rect: QRect,
    ) -> None:
        """Draw the rings that show in a rectangle, in device pixels."""
        if len(fill.runs) == 0:
            return
        box = scene.box_mm(rect, offset)
        if scene.wire_px < TINT_BELOW_WIRE_PX:
            self._tint(painter, scene, offset, fill, theme, box)
        elif 2 * scene.solved.half_across_mm * scene.scale > ARCS_FROM_RING_PX:
            painter.save()
            painter.translate(*offset)
            painter.scale(scene.scale, scene.scale)
            arcs = fill_arcs(fill, scene.solved, scene.weave, scene.grain_deg, box)
            r = scene.reach_mm
            seen = (box[0] + r, box[1] + r, box[2] - r, box[3] - r)
            draw_arcs(painter, arcs, scene.look, theme, scene.scale, seen)
            painter.restore()
        else:
            at = sites(fill, box)
            kind = _KIND_OF_ROLE[at.role]
            x, y = at.x_mm * scene.scale + offset[0], at.y_mm * scene.scale + offset[1]
            atlas = self.atlas(
                scene.solved,
                scene.weave,
                scene.scale,
                math.radians(scene.grain_deg),
                scene.look,
                theme,
                frozenset(np.nonzero(np.bincount(kind))[0].tolist()),
            )
            self._room = fragments_of(atlas, Rings(x, y, at.course, kind), self._room)
            draw_fragments(painter, self._room, atlas.pixmap)

    def paint_sheet(
        self,
        painter: QPainter,
        size_px: tuple[float, float],
        dpr: float,
        px_per_mm: float,
        solved: SolvedLay,
        weave: Weave,
        look: str,
        theme: Theme,
    ) -> None:
        """Fill a rectangle at the painter's zero with an even sheet, rows along x.

        Args:
            painter: in logical pixels.
            size_px: width and height, logical pixels.
            dpr: device pixels in a logical one.
            px_per_mm: logical pixels a mm.
            solved: the sheet.
            weave: its weave.
            look: the metal's look, a key of ``theme.metals``.
            theme: the colours.
        """
        scale = px_per_mm * dpr
        reach = solved.half_across_mm + solved.wire_mm
        margin_x = math.ceil(reach / solved.along_mm) + 1
        margin_y = math.ceil(reach / solved.across_mm)
        courses = len(weave.courses)
        margin_y += -margin_y % courses
        rings = math.ceil(size_px[0] / px_per_mm / solved.along_mm) + 2 * margin_x
        rows = math.ceil(size_px[1] / px_per_mm / solved.across_mm) + 2 * margin_y
        x, y, course = sheet_sites(solved, weave, rings, rows)
        x, y = x - margin_x * solved.along_mm, y - margin_y * solved.across_mm
        atlas = self.atlas(solved, weave, scale, 0.0, look, theme, frozenset({sprites.BODY}))
        kind = np.zeros(len(x), dtype=np.int8)
        painter.save()
        painter.setWorldTransform(QTransform.fromScale(1 / dpr, 1 / dpr) * painter.worldTransform())
        shown = fragments_of(atlas, Rings(x * scale, y * scale, course, kind))
        draw_fragments(painter, shown, atlas.pixmap)
        painter.restore()

    def atlas(
        self,
        solved: SolvedLay,
        weave: Weave,
        scale: float,
        grain_rad: float,
        look: str,
        theme: Theme,
        kinds: frozenset[int],
    ) -> sprites.Atlas:
        """The sprites of a ring at a scale in device pixels a mm, made or remembered.

        Those of `kinds` are sure to be there; large ones that nothing shows are left out.
        """
        key = (solved, weave, scale, grain_rad, look, theme.scheme)
        atlas = self._atlases.get(key)
        if atlas is None or not kinds <= atlas.kinds:
            if atlas is not None:
                kinds |= atlas.kinds
            wire = solved.wire_mm * scale
            arcs: tuple[RingArc, ...] = ()
            if wire >= LEVELS_FROM_WIRE_PX:
                arcs = ring_arcs(solved)
            shape = sprites.RingShape(
                solved.centreline_mm * math.cos(solved.lean_rad) * scale,
                solved.centreline_mm * scale,
                wire,
                solved.lean_rad,
                grain_rad,
            )
            atlas = sprites.make_atlas(
                shape,
                tuple(c.lean_sign for c in weave.courses),
                arcs,
                sprites.Palette.of(theme.metals[look]),
                sprites.rgb(theme.role_edged),
                sprites.rgb(theme.ink3),
                sprites.shadow_on(theme) if wire >= SHADOW_FROM_WIRE_PX else None,
                kinds,
            )
            self._atlases[key] = atlas
            if len(self._atlases) > KEPT_ATLASES:
                self._atlases.popitem(last=False)
        else:
            self._atlases.move_to_end(key)
        return atlas

    @staticmethod
    def _tint(
        painter: QPainter,
        scene: _Scene,
        offset: tuple[float, float],
        fill: Fill,
        theme: Theme,
        box: tuple[float, float, float, float],
    ) -> None:
        """Each run as a strip as wide as the rows lie apart, metal and ground mixed."""
        solved, scale = scene.solved, scene.scale
        ground = sprites.rgb(theme.canvas)
        metal = sprites.mean_colour(solved, sprites.Palette.of(theme.metals[scene.look]))
        r, g, b = sprites.mix(ground, metal, solved.cover)
        ends = fill.place[:, :2] + fill.place[:, 2:] * (fill.runs[:, 4] - 1.0)[:, None]
        low, high = np.minimum(ends, fill.place[:, :2]), np.maximum(ends, fill.place[:, :2])
        seen = ((high >= box[:2]) & (low <= box[2:])).all(axis=1)
        real = (fill.runs[:, 2] != DROPPED) & seen
        place, count = fill.place[real], fill.runs[real, 4]
        step = place[:, 2:] * scale
        start = place[:, :2] * scale + np.array(offset) - 0.5 * step
        end = start + step * count[:, None]
        # Half a row to each side, and a little more so that rows meet.
        side = np.column_stack([-step[:, 1], step[:, 0]]) / (solved.along_mm * scale)
        side *= 0.5 * solved.across_mm * scale + 0.1
        corners = np.stack([start - side, end - side, end + side, start + side], axis=1)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor.fromRgbF(r / 255, g / 255, b / 255))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for four in corners.tolist():
            painter.drawConvexPolygon([QPointF(x, y) for x, y in four])
