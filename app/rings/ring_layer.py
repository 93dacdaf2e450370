"""Paints the rings of a panel on the canvas, at every zoom.

Near, the arcs of the few rings in view; else sprites, level by level; with hair-thin wire one
sprite a ring; farthest a tint of the same brightness. See `app.rings.ring_sprites` for the sprites.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from dataclasses import dataclass, replace

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
from core.drawing import RingPlaces, fill_rings, place_arcs, rings_at, sheet_sites
from core.fill import DROPPED, EDGE, Fill
from core.weave.cells import weave as find_weave
from core.weave.levels import Arc, ring_levels
from core.weave.sheet import SolvedLay, poses

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 in mm of the panel frame."""

LEVELS_FROM_WIRE_PX = 1.5
"""Thinner wire than this shows no over and under."""

TINT_BELOW_WIRE_PX = 0.5
"""Thinner wire than this shows no rings."""

SHADOW_FROM_WIRE_PX = 3.0

ARCS_FROM_RING_PX = 450.0
"""Larger rings are drawn directly: sprites would be large, and few rings are in view."""

KEPT_ATLASES = 6
KEPT_TINTS = 64

_MEAN_OVER_PX = 96

_KIND_OF_ROLE = np.full(DROPPED + 1, sprites.BODY, dtype=np.int8)
_KIND_OF_ROLE[EDGE] = sprites.EDGED
_KIND_OF_ROLE[DROPPED] = sprites.DROPPED


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A sheet of mail, with all that decides what it looks like but scale and place.

    Args:
        solved: the sheet.
        looks: the metal's look of each ring kind, keys of ``theme.metals``; the last is that of
            all further kinds.
        theme: the colours.
        grain_deg: direction of the rows, clockwise on screen.
    """

    solved: SolvedLay
    looks: tuple[str, ...]
    theme: Theme
    grain_deg: float = 0.0

    @property
    def key(self) -> tuple[object, ...]:
        """Equal for sheets that look the same."""
        return self.solved, self.looks, self.theme.scheme, self.grain_deg

    @property
    def grain_rad(self) -> float:
        """The grain in radians."""
        return math.radians(self.grain_deg)

    @property
    def wire_mm(self) -> float:
        """The thickest wire."""
        return max(ring.wire for ring in self.solved.rings_mm)

    @property
    def ring_mm(self) -> float:
        """The widest ring's outer diameter."""
        return max(2 * ring.radius + ring.wire for ring in self.solved.rings_mm)


@dataclass(frozen=True, slots=True)
class Rings:
    """Rings to paint: centres in device pixels, and which kind of sprite; arrays (n,)."""

    x: Floats
    y: Floats
    pose: NDArray[np.int8]
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
    which = rings.kind.astype(np.intp) * atlas.cells.shape[1] + rings.pose
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


def whole_levels(solved: SolvedLay) -> tuple[tuple[Arc, ...], ...]:
    """Levels of rings too thin to cut: those that stand upright lie over the others."""
    courses = find_weave(solved.weave).courses
    return tuple(
        ((int(courses[pose.course].span is not None), 0.0, 2 * math.pi),) for pose in poses(solved)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Scene:
    """Everything but place and fill that decides what rings look like."""

    sheet: Sheet
    scale: float
    whole: QRect

    def like(self, other: _Scene | None) -> bool:
        """Whether rings look the same in both."""
        return (
            other is not None
            and self.scale == other.scale
            and self.whole == other.whole
            and self.sheet.key == other.sheet.key
        )

    @property
    def margin_mm(self) -> float:
        """How far paint may lie outside the metal: shadow and outline."""
        return 0.5 * self.sheet.wire_mm + 2.0 / self.scale

    @property
    def reach_px(self) -> float:
        """Farthest that the paint of a site's rings lies from the site."""
        return (self.sheet.solved.reach_mm + self.margin_mm) * self.scale

    def box_mm(self, rect: QRect, offset: tuple[float, float]) -> Box:
        """What a rectangle of the screen shows."""
        x0, y0 = (rect.left() - offset[0]) / self.scale, (rect.top() - offset[1]) / self.scale
        return x0, y0, x0 + rect.width() / self.scale, y0 + rect.height() / self.scale


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


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
        self._tints: dict[tuple[object, ...], QColor] = {}

    def paint(
        self,
        painter: QPainter,
        view: View,
        size_px: tuple[float, float],
        dpr: float,
        fill: Fill,
        sheet: Sheet,
    ) -> None:
        """Paint the rings of one panel.

        Args:
            painter: in logical pixels of the widget, untransformed.
            view: where mm lie on the widget.
            size_px: width and height of the widget, logical pixels.
            dpr: device pixels in a logical one.
            fill: the rings.
            sheet: how they lie and look.
        """
        whole = QRect(0, 0, math.ceil(size_px[0] * dpr), math.ceil(size_px[1] * dpr))
        scene = _Scene(sheet, view.scale * dpr, whole)
        offset = (view.offset[0] * dpr, view.offset[1] * dpr)
        painter.save()
        # Work in device pixels: sprites are blitted as they are.
        painter.setWorldTransform(QTransform.fromScale(1 / dpr, 1 / dpr) * painter.worldTransform())
        if scene.like(self._scene):
            painter.drawImage(0, 0, self._brought_up(scene, offset, fill))
        else:  # zooming, perhaps: a picture would not be used again
            self._scene, self._picture = scene, None
            self._draw(painter, scene, offset, fill, whole)
        self._shown = (fill, offset)
        painter.restore()

    def _brought_up(self, scene: _Scene, offset: tuple[float, float], fill: Fill) -> QImage:
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
                self._draw(painter, scene, offset, fill, rect)
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
        places = changed_places(old, fill, scene.sheet.solved, scene.sheet.grain_rad)
        if places is None:
            return None
        rects = []
        if len(places):
            x, y = places[:, 0] * scene.scale + offset[0], places[:, 1] * scene.scale + offset[1]
            rects = rects_around(x, y, scene.reach_px, scene.whole)
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
        rect: QRect,
    ) -> None:
        """Draw the rings that show in a rectangle, in device pixels."""
        if len(fill.runs) == 0:
            return
        sheet = scene.sheet
        seen = _grown(scene.box_mm(rect, offset), scene.margin_mm)
        if sheet.wire_mm * scene.scale < TINT_BELOW_WIRE_PX:
            self._tint(painter, scene, offset, fill, seen)
            return
        rings = fill_rings(fill, sheet.solved, sheet.grain_deg, seen)
        self._draw_rings(painter, sheet, rings, scene.scale, offset, seen)

    def _draw_rings(
        self,
        painter: QPainter,
        sheet: Sheet,
        rings: RingPlaces,
        scale: float,
        offset: tuple[float, float],
        seen: Box,
    ) -> None:
        """Draw rings in device pixels: as arcs, or by sprites."""
        if sheet.ring_mm * scale > ARCS_FROM_RING_PX:
            painter.save()
            painter.translate(*offset)
            painter.scale(scale, scale)
            arcs = place_arcs(sheet.solved, sheet.grain_rad, rings)
            draw_arcs(painter, arcs, sheet.looks, sheet.theme, scale, seen)
            painter.restore()
        else:
            self._draw_sprites(painter, sheet, rings, scale, offset)

    def _draw_sprites(
        self,
        painter: QPainter,
        sheet: Sheet,
        rings: RingPlaces,
        scale: float,
        offset: tuple[float, float],
    ) -> None:
        kind = _KIND_OF_ROLE[rings.role]
        kinds = frozenset(np.nonzero(np.bincount(kind))[0].tolist())
        atlas = self.atlas(sheet, scale, kinds)
        x, y = rings.x_mm * scale + offset[0], rings.y_mm * scale + offset[1]
        self._room = fragments_of(atlas, Rings(x, y, rings.pose, kind), self._room)
        draw_fragments(painter, self._room, atlas.pixmap)

    def paint_rings(
        self, painter: QPainter, sheet: Sheet, rings: RingPlaces, px_per_mm: float
    ) -> None:
        """Paint rings by sprites, whatever their size, where the painter is.

        Args:
            painter: in device pixels, moved by whole ones at most.
            sheet: how they lie and look.
            rings: mm.
            px_per_mm: device pixels a mm.
        """
        self._draw_sprites(painter, sheet, rings, px_per_mm, (0.0, 0.0))

    def paint_sheet(
        self,
        painter: QPainter,
        size_px: tuple[float, float],
        dpr: float,
        px_per_mm: float,
        sheet: Sheet,
    ) -> None:
        """Fill a rectangle at the painter's zero with an even sheet, rows along x.

        Args:
            painter: in logical pixels.
            size_px: width and height, logical pixels.
            dpr: device pixels in a logical one.
            px_per_mm: logical pixels a mm.
            sheet: what to show; its grain is left aside.
        """
        level = replace(sheet, grain_deg=0.0)
        width, height = (px / px_per_mm for px in size_px)
        x, y, course = sheet_sites(sheet.solved, width, height)
        role = np.zeros(len(x), dtype=np.int8)
        rings = rings_at(sheet.solved, 0.0, x, y, course, role)
        painter.save()
        painter.setWorldTransform(QTransform.fromScale(1 / dpr, 1 / dpr) * painter.worldTransform())
        seen = (0.0, 0.0, width, height)
        self._draw_rings(painter, level, rings, px_per_mm * dpr, (0.0, 0.0), seen)
        painter.restore()

    def atlas(self, sheet: Sheet, scale: float, kinds: frozenset[int]) -> sprites.Atlas:
        """The sprites of a sheet at a scale in device pixels a mm, made or remembered.

        Those of `kinds` are sure to be there; large ones that nothing shows are left out.
        """
        key = (sheet.key, scale)
        atlas = self._atlases.get(key)
        if atlas is None or not kinds <= atlas.kinds:
            if atlas is not None:
                kinds |= atlas.kinds
            wire, solved = sheet.wire_mm * scale, sheet.solved
            cut = ring_levels if wire >= LEVELS_FROM_WIRE_PX else whole_levels
            atlas = sprites.make_atlas(
                poses(solved),
                cut(solved),
                scale,
                sheet.grain_rad,
                sprites.Paints.of(sheet.theme, sheet.looks, wire >= SHADOW_FROM_WIRE_PX),
                kinds,
            )
            self._atlases[key] = atlas
            if len(self._atlases) > KEPT_ATLASES:
                self._atlases.popitem(last=False)
        else:
            self._atlases.move_to_end(key)
        return atlas

    def _mean(self, sheet: Sheet) -> QColor:
        """Mean colour of the sheet on its ground, seen from far: of a small picture of it."""
        key = replace(sheet, grain_deg=0.0).key
        if key not in self._tints:
            size = _MEAN_OVER_PX
            image = QImage(size, size, QImage.Format.Format_RGB32)
            image.fill(sheet.theme.canvas)
            painter = QPainter(image)
            self.paint_sheet(painter, (size, size), 1.0, TINT_BELOW_WIRE_PX / sheet.wire_mm, sheet)
            painter.end()
            pixels = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(-1, 4)
            b, g, r = (pixels[:, :3].mean(axis=0) / 255).tolist()
            if len(self._tints) >= KEPT_TINTS:
                del self._tints[next(iter(self._tints))]
            self._tints[key] = QColor.fromRgbF(r, g, b)
        return self._tints[key]

    def _tint(
        self,
        painter: QPainter,
        scene: _Scene,
        offset: tuple[float, float],
        fill: Fill,
        box: Box,
    ) -> None:
        """Each run as a strip as wide as rows lie apart, metal and ground mixed. Strips of flat
        rings are as wide as their cells, so upright rings need none of their own.
        """
        solved, scale = scene.sheet.solved, scene.scale
        box = _grown(box, solved.reach_mm)
        lying = np.array([c.span is None for c in find_weave(solved.weave).courses])
        ends = fill.place[:, :2] + fill.place[:, 2:] * (fill.runs[:, 4] - 1.0)[:, None]
        low, high = np.minimum(ends, fill.place[:, :2]), np.maximum(ends, fill.place[:, :2])
        seen = ((high >= box[:2]) & (low <= box[2:])).all(axis=1)
        real = (fill.runs[:, 2] != DROPPED) & lying[fill.runs[:, 0]] & seen
        place, count = fill.place[real], fill.runs[real, 4]
        step = place[:, 2:] * scale
        start = place[:, :2] * scale + np.array(offset) - 0.5 * step
        end = start + step * count[:, None]
        # Half a row to each side, and a little more so that rows meet.
        side = np.column_stack([-step[:, 1], step[:, 0]]) / (solved.along_mm * scale)
        side *= 0.5 * solved.across_mm * scale + 0.1
        corners = np.stack([start - side, end - side, end + side, start + side], axis=1)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._mean(scene.sheet))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for four in corners.tolist():
            painter.drawConvexPolygon([QPointF(x, y) for x, y in four])
