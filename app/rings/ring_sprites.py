"""Ring sprites: small pictures of one ring, cut into the levels it is drawn in.

`app.rings.tube` tells what of a ring shows at each sample: light, depth and level follow.
Colours are opaque; only the silhouette is soft, so the levels of a ring join without a seam.
No Qt painter is used: an atlas of a small ring takes a few milliseconds.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage, QPixmap

from app.rings.tube import Samples, Surface, Tube, surface
from app.theme import MetalLook, Theme
from core import shading
from core.weave.levels import Arc
from core.weave.sheet import Pose

Floats = NDArray[np.float64]

BODY, EDGED, DROPPED = 0, 1, 2
"""Kinds of sprite: plain metal, metal of an edge ring, the dotted place of a dropped ring."""

SHADOW_SHIFT = (0.25, 0.38)
"""Where the shadow falls, in wires, on screen."""

OUTER = 0.53
"""Half the width a ring is drawn with, its outline included, in wires."""


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours of one metal on one ground, float64 (3,), 0 to 255."""

    edge: Floats
    shade: Floats
    body: Floats
    light: Floats

    @classmethod
    def of(cls, metal: MetalLook) -> Palette:
        """From a theme's colours of a metal."""
        return cls(*(rgb(c) for c in metal))

    def at(self, step: float) -> Floats:
        """A colour between, as of `core.shading.Ink`: 0 is `edge`, 3 `light`."""
        four = (self.edge, self.shade, self.body, self.light)
        first = min(int(step), 2)
        return mix(four[first], four[first + 1], step - first)

    def lighter(self) -> Palette:
        """The same metal for an edge ring."""
        return Palette(
            self.edge,
            mix(self.shade, self.body, shading.LIGHTER),
            mix(self.body, self.light, shading.LIGHTER),
            self.light,
        )


@dataclass(frozen=True, slots=True)
class Paints:
    """The colours rings are painted in, float64 (3,) each.

    Args:
        metals: of each ring kind; the last is that of all further kinds.
        role: of the edge role.
        dotted: of a dropped ring.
        shadow: of the shadow on the ground; None to leave it out.
    """

    metals: tuple[Palette, ...]
    role: Floats
    dotted: Floats
    shadow: Floats | None

    @classmethod
    def of(cls, theme: Theme, looks: tuple[str, ...], shadow: bool) -> Paints:
        """From a theme and the look of each ring kind, keys of ``theme.metals``."""
        return cls(
            tuple(Palette.of(theme.metals[look]) for look in looks),
            rgb(theme.role_edged),
            rgb(theme.ink3),
            shadow_on(theme) if shadow else None,
        )

    def metal(self, ring_kind: int) -> Palette:
        """The metal of a ring kind."""
        return self.metals[min(ring_kind, len(self.metals) - 1)]


def rgb(colour: QColor) -> Floats:
    """A colour as float64 (3,), 0 to 255."""
    return np.array([colour.red(), colour.green(), colour.blue()], dtype=np.float64)


def mix(a: Floats, b: Floats, part: float | Samples) -> Floats:
    """`a` with `part` of `b`."""
    out: Floats = a + (b - a) * part
    return out


def edge_outline(palette: Palette, role: Floats) -> Floats:
    """Colour of the outline of an edge ring."""
    return mix(palette.edge, role, shading.OUTLINED)


def rim_width(wire_px: float) -> float:
    """Width of the dark outline on each side of the wire, in the wire's pixels."""
    return min(0.14 * wire_px, max(0.7, 0.3 + 0.05 * wire_px))


def shadow_on(theme: Theme) -> Floats:
    """Colour of a ring's shadow on the canvas: opaque, as alpha would add up where rings meet."""
    black = np.zeros(3)
    return mix(rgb(theme.canvas), black, 0.40 if theme.dark else 0.13)


def tube_colours(normal: Samples, height: Samples, palette: Palette) -> Floats:
    """Colour of the metal, (n, 3), by the tones of `core.shading`.

    Args:
        normal: (n, 3), the surface's unit normal on screen.
        height: (n,), 0 at the lowest place of any ring, 1 at the highest.
        palette: the metal.
    """
    light = np.array(shading.LIGHT) / np.linalg.norm(shading.LIGHT)
    half = light + np.array([0.0, 0.0, 1.0])
    half /= np.linalg.norm(half)
    lit = normal @ light
    ramp = [palette.at(step) for step in shading.STEP]
    out = np.column_stack([np.interp(lit, shading.LIT, [c[i] for c in ramp]) for i in range(3)])
    shine = np.maximum(normal @ half, 0.0) ** shading.GLEAM_POWER
    out += (palette.light - out) * (shading.GLEAM_FORCE * shine)[:, None]
    dark = shading.DEEP * (1.0 - height) ** shading.DEEP_POWER
    out += (palette.at(shading.DEEP_STEP) - out) * dark[:, None]
    return out


@dataclass(frozen=True, slots=True)
class Atlas:
    """Every sprite of one ring at one zoom, in one pixmap.

    Args:
        pixmap: the pictures; its device pixel ratio is 1.
        phases: sub-pixel places per axis; a ring at pixel n + t uses phase floor(t * phases).
        cells: int32 (kinds, poses, layers, 6): left and top of phase 0, width, height, and
            where its corner lies from the whole pixel of the ring's centre. Phase i, of
            ``phase_y * phases + phase_x``, lies i * (width + 1) further right. A cell without a
            picture has width 0.
        kinds: the kinds it holds.
    """

    pixmap: QPixmap
    phases: int
    cells: NDArray[np.int32]
    kinds: frozenset[int]

    def fragments(self, layer: int) -> Floats:
        """How to show each sprite of a layer at pixel 0, (kinds * poses * phases**2, 10).

        Columns as in a PixmapFragment: x, y of its middle, left, top, width, height in the
        pixmap, x scale, y scale, rotation, opacity.
        """
        left, top, width, height, dx, dy = self.cells[:, :, layer].reshape(-1, 6).T[..., None]
        phase = np.arange(self.phases**2)
        columns = (
            dx + width / 2,
            dy + height / 2,
            left + phase * (width + 1),
            top,
            width,
            height,
            1.0,
            1.0,
            0.0,
            1.0,
        )
        shape = (len(left), len(phase))
        return np.stack([np.broadcast_to(c, shape).ravel() for c in columns], axis=1).astype(float)


def phases_for(ring_px: float) -> int:
    """Sub-pixel places per axis: small rings need them to lie evenly, large ones cost memory."""
    return 4 if ring_px < 44 else 2 if ring_px < 130 else 1


def depths(poses: tuple[Pose, ...]) -> float:
    """Farthest that any centreline of a sheet lies over its middle, mm; never 0."""
    return max(1e-9, *(abs(p.centre[2]) + p.radius_mm * math.hypot(p.u[2], p.v[2]) for p in poses))


def make_atlas(
    poses: tuple[Pose, ...],
    levels: tuple[tuple[Arc, ...], ...],
    scale: float,
    grain_rad: float,
    paints: Paints,
    kinds: frozenset[int],
) -> Atlas:
    """Paint the atlas of the rings of one sheet.

    Args:
        poses: how they lie.
        levels: where those of each pose are cut; empty for whole rings in one layer.
        scale: device pixels a mm.
        grain_rad: the grain, clockwise on screen.
        paints: the colours. With a shadow, layer 0 is the shadow and the levels follow.
        kinds: which kinds to paint.
    """
    largest = max(2 * p.radius_mm + p.wire_mm for p in poses) * scale
    phases = phases_for(largest)
    deep = depths(poses)
    first = 0 if paints.shadow is None else 1
    layers = first + 1 + max((arc[0] for arcs in levels for arc in arcs), default=0)
    pictures: dict[tuple[int, int, int], _Picture] = {}
    like: dict[tuple[object, ...], int] = {}
    for number, pose in enumerate(poses):
        arcs = levels[number] if levels else ()
        looks = (pose.u, pose.v, pose.radius_mm, pose.wire_mm, pose.centre[2], pose.kind, arcs)
        same = like.setdefault(looks, number)
        if same != number:
            for key in [key for key in pictures if key[1] == same]:
                pictures[key[0], number, key[2]] = pictures[key]
            continue
        sprite = _Sprite(Tube.of(pose, grain_rad, scale), phases, paints.shadow is not None)
        for (kind, layer), made in sprite.pictures(
            pose, deep / pose.radius_mm, arcs, paints, kinds
        ):
            pictures[kind, number, first + layer] = made
    return _pack(pictures, len(poses), layers, phases, kinds)


@dataclass(frozen=True, slots=True, eq=False)
class _Picture:
    """Pixels uint8 (phases**2, height, width, 4), premultiplied BGRA, and where the corner lies
    from the whole pixel of the ring's centre.
    """

    pixels: NDArray[np.uint8]
    left: int
    top: int


class _Sprite:
    """Samples of one ring, and pictures from them."""

    def __init__(self, tube: Tube, phases: int, shadow: bool) -> None:
        self._tube, self._phases = tube, phases
        room = 0.56 * tube.wire + 1.5 + (0.4 * tube.wire if shadow else 0.0)
        half_x, half_y = (math.ceil(reach + room) for reach in tube.extent)
        self._half = half_x, half_y
        self._size = size_x, size_y = 2 * half_x + 3, 2 * half_y + 3
        # One picture finer than pixels holds every phase: each is its mean over other squares.
        self._wide, self._high = (n * phases + phases - 1 for n in (size_x, size_y))
        steps = [
            ((np.arange(n) - (phases - 1)) / phases - size // 2).astype(np.float32)
            for n, size in ((self._wide, size_x), (self._high, size_y))
        ]
        self._x, self._y = (g.ravel() for g in np.meshgrid(*steps))

    def pictures(
        self,
        pose: Pose,
        deep: float,
        arcs: tuple[Arc, ...],
        paints: Paints,
        kinds: frozenset[int],
    ) -> Iterator[tuple[tuple[int, int], _Picture]]:
        """Each kind and layer, with its picture; a shadow is layer -1.

        Args:
            pose: of the ring.
            deep: half the depth of the sheet's centrelines, over the ring's radius.
            arcs: where it is cut; empty for one layer.
            paints: the colours.
            kinds: which kinds to paint.
        """
        tube = self._tube
        outer = OUTER * tube.wire
        inner = outer - rim_width(tube.wire)
        on = surface(tube, self._x, self._y, 0.58 * tube.wire + 1.0)
        alpha = self._cover(outer - on.dist)
        rim = self._cover(on.dist - inner)[:, None]
        lift = pose.centre[2] / pose.radius_mm
        height = 0.5 + 0.5 * (on.height / tube.radius + lift) / deep
        metal = paints.metal(pose.kind)
        metals = {
            BODY: (metal, metal.edge),
            EDGED: (metal.lighter(), edge_outline(metal, paints.role)),
        }
        levels = sorted({level for level, _start, _end in arcs}) if len(arcs) > 1 else []
        parts = self._levels(on, arcs) if levels else np.zeros((1, 1, 1), dtype=np.int8)
        for kind in sorted(kinds & metals.keys()):
            palette, outline = metals[kind]
            colour = mix(tube_colours(on.normal, height, palette), outline, rim)
            whole = self._coloured(colour, alpha, on.where)
            if not levels:
                yield (kind, arcs[0][0] if arcs else 0), self._cropped(whole)
            for level in levels:
                yield (kind, level), self._cropped(whole * (parts == level)[..., None])
        if paints.shadow is not None and kinds & metals.keys():
            dx, dy = (part * tube.wire for part in SHADOW_SHIFT)
            under = surface(tube, self._x - dx, self._y - dy, 0.58 * tube.wire + 1.0)
            fall = self._flat(paints.shadow, self._cover(outer - under.dist), under.where)
            shade = self._cropped(fall)
            for kind in sorted(kinds & metals.keys()):
                yield (kind, -1), shade
        if DROPPED in kinds:
            short, long = tube.half_sizes
            dots = max(6, round(math.pi * (short + long) / max(4.0, 0.5 * tube.wire)))
            shown = (on.angle * (dots / (2 * math.pi))) % 1.0 < 0.5
            line = self._cover(max(0.6, 0.06 * tube.wire) - on.dist) * shown
            yield (DROPPED, 0), self._cropped(self._flat(paints.dotted, line, on.where))

    def _cover(self, inside: Samples) -> Samples:
        """How much of a sample lies inside, from its distance inside in pixels."""
        out: Samples = np.clip(inside * self._phases + 0.5, 0.0, 1.0)
        return out

    def _coloured(
        self, colour: Floats, alpha: Samples, where: NDArray[np.intp]
    ) -> NDArray[np.uint8]:
        """Pixels of coloured samples."""
        sheet = np.zeros((self._wide * self._high, 4), dtype=np.float32)
        sheet[where, 3] = 255.0 * alpha
        sheet[where, :3] = (colour * alpha[:, None])[:, ::-1]
        return (self._means(sheet) + 0.5).astype(np.uint8)

    def _flat(self, colour: Floats, alpha: Samples, where: NDArray[np.intp]) -> NDArray[np.uint8]:
        """Pixels of samples of one colour."""
        sheet = np.zeros((self._wide * self._high, 1), dtype=np.float32)
        sheet[where, 0] = alpha
        bgra = np.array([*colour[::-1], 255.0], dtype=np.float32)
        return (self._means(sheet) * bgra + 0.5).astype(np.uint8)

    def _means(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """Pixels (phases**2, height, width, m) of samples (n, m)."""
        phases = self._phases
        sheet = samples.reshape(self._high, self._wide, -1)
        wide, high = self._size[0], self._size[1]
        out = np.empty((phases * phases, high, wide, sheet.shape[2]), dtype=np.float32)
        for j in range(phases):
            at = phases - 1 - j
            rows = sheet[at : at + high * phases : phases].copy()
            for k in range(1, phases):
                rows += sheet[at + k : at + k + high * phases : phases]
            for i in range(phases):
                at = phases - 1 - i
                part = rows[:, at : at + wide * phases : phases].copy()
                for k in range(1, phases):
                    part += rows[:, at + k : at + k + wide * phases : phases]
                np.multiply(part, 1 / phases**2, out=out[j * phases + i])
        return out

    def _levels(self, on: Surface, arcs: tuple[Arc, ...]) -> NDArray[np.int8]:
        """The level of each pixel of each phase, (phases**2, height, width): each has one, so
        that no seam shows.
        """
        starts = np.array([start for _level, start, _end in arcs]) % (2 * math.pi)
        order = np.argsort(starts)
        level = np.array([level for level, _start, _end in arcs], dtype=np.int8)[order]
        found = np.searchsorted(starts[order], on.angle % (2 * math.pi), side="right") - 1
        flat = np.full(self._wide * self._high, -1, dtype=np.int8)
        flat[on.where] = level[found]
        sheet = flat.reshape(self._high, self._wide)
        phases, (wide, high) = self._phases, self._size
        out = np.empty((phases * phases, high, wide), dtype=np.int8)
        near = (phases - 1) // 2  # the sample by the pixel's middle
        for j in range(phases):
            for i in range(phases):
                y, x = phases - 1 - j + near, phases - 1 - i + near
                out[j * phases + i] = sheet[y::phases, x::phases][:high, :wide]
        return out

    def _cropped(self, pixels: NDArray[np.uint8]) -> _Picture:
        painted = pixels[..., 3].max(axis=0) > 0
        rows, columns = np.nonzero(painted.any(axis=1))[0], np.nonzero(painted.any(axis=0))[0]
        if len(rows) == 0:
            return _Picture(pixels[:, :0, :0], 0, 0)
        top, left = int(rows[0]), int(columns[0])
        return _Picture(
            pixels[:, top : rows[-1] + 1, left : columns[-1] + 1],
            left - self._size[0] // 2,
            top - self._size[1] // 2,
        )


def _pack(
    pictures: dict[tuple[int, int, int], _Picture],
    poses: int,
    layers: int,
    phases: int,
    kinds: frozenset[int],
) -> Atlas:
    """Set every picture out in one pixmap, like ones once."""
    cells = np.zeros((3, poses, layers, 6), dtype=np.int32)
    at: dict[int, int] = {}
    width, bottom = 1, 0
    for key, picture in pictures.items():
        _count, high, wide, _four = picture.pixels.shape
        if not high:
            continue
        if id(picture.pixels) not in at:
            at[id(picture.pixels)] = bottom
            width = max(width, phases * phases * (wide + 1))
            bottom += high + 1
        cells[key] = (0, at[id(picture.pixels)], wide, high, picture.left, picture.top)
    image = QImage(width, max(1, bottom), QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(0)
    pixels = np.frombuffer(image.bits(), dtype=np.uint8)
    pixels = pixels.reshape(image.height(), image.bytesPerLine() // 4, 4)
    for picture in pictures.values():
        _count, high, wide, _four = picture.pixels.shape
        top = at.pop(id(picture.pixels), None)
        if top is None:
            continue
        for i, part in enumerate(picture.pixels):
            left = i * (wide + 1)
            pixels[top : top + high, left : left + wide] = part
    return Atlas(QPixmap.fromImage(image), phases, cells, kinds)
