"""Ring sprites: small pictures of one ring, cut into the levels it is drawn in.

A ring is a tube seen from the front. For each pixel the nearest point of its centreline (an
ellipse, as the ring leans) gives the tube's own normal there, and with it light, depth and level.
Colours are opaque; only the silhouette is soft, so the levels of a ring join without a seam.
No Qt painter is used: an atlas of a small ring takes a few milliseconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage, QPixmap

from app.theme import MetalLook, Theme
from core.drawing import RingArc
from core.weave.lay import SolvedLay

Floats = NDArray[np.float64]
Samples = NDArray[np.floating]
"""Floats of either width: samples of a sprite are float32 where half the memory counts."""

BODY, EDGED, DROPPED = 0, 1, 2
"""Kinds of sprite: plain metal, metal of an edge ring, the dotted place of a dropped ring."""

SHADOW_SHIFT = (0.25, 0.38)
"""Where the shadow falls, in wires, on screen."""

OUTER = 0.53
"""Half the width a ring is drawn with, its outline included, in wires."""

LIGHT = np.array([-0.50, -0.66, 0.86])
"""Towards the light: upper left and in front (screen, y down, z towards the viewer)."""


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

    def lighter(self) -> Palette:
        """The same metal for an edge ring."""
        return Palette(
            self.edge, mix(self.shade, self.body, 0.4), mix(self.body, self.light, 0.4), self.light
        )


@dataclass(frozen=True, slots=True)
class RingShape:
    """A ring as it is seen: device pixels, radians.

    Args:
        half_along: half axis of its centreline along the row.
        half_across: half axis across.
        wire: wire diameter.
        lean_rad: how far it leans out of the sheet.
        turn_rad: the grain, clockwise on screen.
    """

    half_along: float
    half_across: float
    wire: float
    lean_rad: float
    turn_rad: float

    @property
    def reach(self) -> float:
        """Farthest that any of its paint lies from its centre."""
        return max(self.half_along, self.half_across) + 0.56 * self.wire + 1.5


def rgb(colour: QColor) -> Floats:
    """A colour as float64 (3,), 0 to 255."""
    return np.array([colour.red(), colour.green(), colour.blue()], dtype=np.float64)


def mix(a: Floats, b: Floats, part: float | Samples) -> Floats:
    """`a` with `part` of `b`."""
    out: Floats = a + (b - a) * part
    return out


def edge_outline(palette: Palette, role: Floats) -> Floats:
    """Colour of the outline of an edge ring."""
    return mix(palette.edge, role, 0.75)


def rim_width(wire_px: float) -> float:
    """Width of the dark outline on each side of the wire, in the wire's pixels."""
    return min(0.14 * wire_px, max(0.7, 0.3 + 0.05 * wire_px))


def shadow_on(theme: Theme) -> Floats:
    """Colour of a ring's shadow on the canvas: opaque, as alpha would add up where rings meet."""
    black = np.zeros(3)
    return mix(rgb(theme.canvas), black, 0.40 if theme.dark else 0.13)


def mean_colour(solved: SolvedLay, palette: Palette) -> Floats:
    """Mean colour of the metal of a sheet, seen from far, (3,)."""
    shape = RingShape(
        24 * math.cos(solved.lean_rad),
        24.0,
        24 * solved.wire_mm / solved.centreline_mm,
        solved.lean_rad,
        0.0,
    )
    x, y = (g.ravel() for g in np.meshgrid(np.arange(-32.0, 33.0), np.arange(-32.0, 33.0)))
    on = _surface(shape, 1, x, y)
    off = np.abs(on.off) / shape.wire
    colour = tube_colours(on.normal, on.height, palette)
    colour[off > OUTER - rim_width(1.0)] = palette.edge
    out: Floats = colour[off < OUTER].mean(axis=0)
    return out


def tube_colours(normal: Samples, height: Samples, palette: Palette) -> Floats:
    """Colour of the metal, (n, 3).

    Args:
        normal: (n, 3), the surface's unit normal on screen.
        height: (n,), 0 at the lowest place of the ring, 1 at the highest.
        palette: the metal.
    """
    light = LIGHT / np.linalg.norm(LIGHT)
    half = light + np.array([0.0, 0.0, 1.0])
    half /= np.linalg.norm(half)
    lit = normal @ light
    stops = [-0.30, 0.22, 0.66, 0.96]
    ramp = (
        mix(palette.edge, palette.shade, 0.35),
        palette.shade,
        palette.body,
        mix(palette.body, palette.light, 0.4),
    )
    out = np.column_stack([np.interp(lit, stops, [c[i] for c in ramp]) for i in range(3)])
    shine = np.maximum(normal @ half, 0.0) ** 24
    out += (palette.light - out) * (0.9 * shine)[:, None]
    dark = 0.46 * (1.0 - height) ** 1.2
    out += (mix(palette.edge, palette.shade, 0.5) - out) * dark[:, None]
    return out


def tube_normals(
    angle: Samples,
    across: Samples,
    half_along: float,
    half_across: float,
    lean_rad: float,
    lean_sign: int,
    turn_rad: float,
) -> Samples:
    """Unit normals of a ring's surface as seen from the front, (n, 3), on screen.

    Args:
        angle: (n,), where along the ring.
        across: (n,), where across the wire as seen, -1 at its inner rim to 1 at its outer.
        half_along: half axis of the centreline along the row.
        half_across: half axis across.
        lean_rad: lean of the ring.
        lean_sign: its sign.
        turn_rad: the grain.
    """
    c, s = np.cos(angle), np.sin(angle)
    size = np.hypot(half_across * c, half_along * s)
    mu, mv = half_across * c / size, half_along * s / size
    q = np.clip(across, -1.0, 1.0)
    rise = np.sqrt(1.0 - q * q)
    # Tangent of the centreline in space, over its length (which is half_across everywhere).
    # The wire's silhouette lies at right angles to it, and so does m x tangent, which rises
    # towards the viewer.
    tu, tv = -half_along / half_across * s, c
    tz = -lean_sign * math.sin(lean_rad) * s
    nu = q * mu + rise * mv * tz
    nv = q * mv - rise * mu * tz
    return np.column_stack(
        [
            nu * math.cos(turn_rad) - nv * math.sin(turn_rad),
            nu * math.sin(turn_rad) + nv * math.cos(turn_rad),
            rise * (mu * tv - mv * tu),
        ]
    )


@dataclass(frozen=True, slots=True)
class _Surface:
    """What a ring is at each of n samples of a picture (see `_surface`)."""

    where: NDArray[np.intp]
    angle: Samples
    off: Samples
    normal: Samples
    height: Samples


def _surface(
    shape: RingShape,
    lean_sign: int,
    x: Samples,
    y: Samples,
    shift: tuple[float, float] = (0.0, 0.0),
) -> _Surface:
    """The ring at the samples near its wire, of all samples (n,) about its centre, on screen."""
    a, b, turn = shape.half_along, shape.half_across, shape.turn_rad
    x, y = x - shift[0], y - shift[1]
    u = x * math.cos(turn) + y * math.sin(turn)
    v = y * math.cos(turn) - x * math.sin(turn)
    # Only samples that can lie on the wire: bounds of the ellipse grown and shrunk by the wire.
    g = 0.58 * shape.wire + 1.0
    inside = (u / (a + g)) ** 2 + (v / (b + g)) ** 2 < 1.0
    if a > 1.5 * g:
        inside &= (u / (a - 1.25 * g)) ** 2 + (v / (b - 1.25 * g)) ** 2 > 1.0
    where = np.nonzero(inside)[0]
    u, v = u[where], v[where]
    f = np.arctan2(v * a, u * b)
    for _turn in range(3):
        c, s = np.cos(f), np.sin(f)
        du, dv = a * c - u, b * s - v
        slope = b * c * dv - a * s * du
        bend = (a * s) ** 2 + (b * c) ** 2 - a * c * du - b * s * dv
        f = f - np.clip(slope / np.maximum(bend, 1e-3 * b * b), -0.5, 0.5)
    c, s = np.cos(f), np.sin(f)
    size = np.hypot(b * c, a * s)
    mu, mv = b * c / size, a * s / size
    off = (u - a * c) * mu + (v - b * s) * mv
    normal = tube_normals(f, off / (0.5 * shape.wire), a, b, shape.lean_rad, lean_sign, turn)
    return _Surface(where, f, off, normal, 0.5 + 0.5 * lean_sign * c)


def _in_arcs(angle: Floats, arcs: list[RingArc]) -> NDArray[np.bool_]:
    """Which angles lie on any of the arcs."""
    out = np.zeros(angle.shape, dtype=bool)
    for arc in arcs:
        past = angle - arc.from_rad
        past -= np.floor(past * (0.5 / math.pi)) * (2 * math.pi)
        out |= past < arc.to_rad - arc.from_rad
    return out


@dataclass(frozen=True, slots=True)
class Atlas:
    """Every sprite of one ring at one zoom, in one pixmap.

    Args:
        pixmap: the pictures; its device pixel ratio is 1.
        phases: sub-pixel places per axis; a ring at pixel n + t uses phase floor(t * phases).
        cells: int32 (kinds, courses, layers, 6): left and top of phase 0, width, height, and
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
        """How to show each sprite of a layer at pixel 0, (kinds * courses * phases**2, 10).

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


def make_atlas(
    shape: RingShape,
    lean_signs: tuple[int, ...],
    arcs: tuple[RingArc, ...],
    palette: Palette,
    role: Floats,
    dotted: Floats,
    shadow: Floats | None,
    kinds: frozenset[int],
) -> Atlas:
    """Paint the atlas of one ring.

    Args:
        shape: the ring, in device pixels.
        lean_signs: of each course.
        arcs: where each course is cut into levels; empty for whole rings in one layer.
        palette: the metal.
        role: colour of the edge role, (3,).
        dotted: colour of a dropped ring, (3,).
        shadow: colour of the shadow on the ground, or None to leave it out. With a shadow,
            layer 0 is the shadow and the levels follow.
        kinds: which kinds to paint.
    """
    phases = phases_for(2 * shape.half_across + shape.wire)
    size = 2 * math.ceil(shape.reach + (0.4 * shape.wire if shadow is not None else 0.0)) + 3
    levels = 1 + max((a.level for a in arcs), default=0)
    first = 0 if shadow is None else 1
    # One picture finer than pixels holds every phase: each is its mean over other squares.
    wide = size * phases + phases - 1
    steps = ((np.arange(wide) - (phases - 1)) / phases - size // 2).astype(np.float32)
    x, y = (g.ravel() for g in np.meshgrid(steps, steps))
    middle = (np.arange(size) + 0.5 - size // 2)[None, :]
    middle = middle - (np.arange(phases)[:, None] + 0.5) / phases

    def means(sheet: NDArray[np.float32]) -> NDArray[np.float32]:
        """Pixels (phases**2, size, size, m) of samples (wide, wide, m)."""
        span = size * phases
        out = np.empty((phases * phases, size, size, sheet.shape[2]), dtype=np.float32)
        for j in range(phases):
            at = phases - 1 - j
            rows = sheet[at : at + span : phases].copy()
            for k in range(1, phases):
                rows += sheet[at + k : at + k + span : phases]
            for i in range(phases):
                at = phases - 1 - i
                part = rows[:, at : at + span : phases].copy()
                for k in range(1, phases):
                    part += rows[:, at + k : at + k + span : phases]
                np.multiply(part, 1 / phases**2, out=out[j * phases + i])
        return out

    def picture(colour: Floats, alpha: Samples, where: NDArray[np.intp]) -> NDArray[np.uint8]:
        """Premultiplied BGRA (phases**2, size, size, 4) of coloured samples."""
        sheet = np.zeros((wide * wide, 4), dtype=np.float32)
        sheet[where, 3] = 255.0 * alpha
        sheet[where, :3] = (colour * alpha[:, None])[:, ::-1]
        return (means(sheet.reshape(wide, wide, 4)) + 0.5).astype(np.uint8)

    def flat_picture(colour: Floats, alpha: Samples, where: NDArray[np.intp]) -> NDArray[np.uint8]:
        """The same of samples of one colour."""
        sheet = np.zeros((wide * wide, 1), dtype=np.float32)
        sheet[where, 0] = alpha
        bgra = np.array([*colour[::-1], 255.0], dtype=np.float32)
        return (means(sheet.reshape(wide, wide, 1)) * bgra + 0.5).astype(np.uint8)

    def cover(inside: Samples) -> Samples:
        """How much of a sample lies inside, from its distance inside in pixels."""
        out: Samples = np.clip(inside * phases + 0.5, 0.0, 1.0)
        return out

    def at_level(level: int, mine: list[RingArc]) -> NDArray[np.bool_]:
        """Which pixels of each phase belong to a level: each to one, so that no seam shows."""
        px = np.broadcast_to(middle[None, :, None, :], (phases, phases, size, size))
        py = np.broadcast_to(middle[:, None, :, None], (phases, phases, size, size))
        u = px * math.cos(shape.turn_rad) + py * math.sin(shape.turn_rad)
        v = py * math.cos(shape.turn_rad) - px * math.sin(shape.turn_rad)
        angle = np.arctan2(v * shape.half_along, u * shape.half_across)
        on = _in_arcs(angle, [a for a in mine if a.level == level])
        return on.reshape(phases * phases, size, size)

    outer = OUTER * shape.wire
    inner = outer - rim_width(shape.wire)
    pictures: dict[tuple[int, int, int], NDArray[np.uint8]] = {}
    for course, sign in enumerate(lean_signs):
        on = _surface(shape, sign, x, y)
        dist = np.abs(on.off)
        alpha = cover(outer - dist)
        rim = cover(dist - inner)[:, None]
        parts = (
            [at_level(n, [a for a in arcs if a.course == course]) for n in range(levels)]
            if arcs
            else []
        )
        metals = {
            BODY: (palette, palette.edge),
            EDGED: (palette.lighter(), edge_outline(palette, role)),
        }
        for kind in kinds & metals.keys():
            metal, outline = metals[kind]
            colour = mix(tube_colours(on.normal, on.height, metal), outline, rim)
            whole = picture(colour, alpha, on.where)
            pictures[kind, course, first] = whole
            for level, part in enumerate(parts):
                pictures[kind, course, first + level] = whole * part[..., None]
        if shadow is not None:
            drop = (SHADOW_SHIFT[0] * shape.wire, SHADOW_SHIFT[1] * shape.wire)
            under = _surface(shape, sign, x, y, drop)
            fall = flat_picture(shadow, cover(outer - np.abs(under.off)), under.where)
            for kind in kinds & metals.keys():
                pictures[kind, course, 0] = fall
        if DROPPED in kinds:
            around = math.pi * (shape.half_along + shape.half_across)
            dots = max(6, round(around / max(4.0, 0.5 * shape.wire)))
            shown = (on.angle * (dots / (2 * math.pi))) % 1.0 < 0.5
            line = cover(max(0.6, 0.06 * shape.wire) - dist) * shown
            pictures[DROPPED, course, first] = flat_picture(dotted, line, on.where)
    return _pack(pictures, len(lean_signs), first + levels, phases, size, kinds)


def _pack(
    pictures: dict[tuple[int, int, int], NDArray[np.uint8]],
    courses: int,
    layers: int,
    phases: int,
    size: int,
    kinds: frozenset[int],
) -> Atlas:
    """Crop every picture to its paint and set them out in one pixmap."""
    cells = np.zeros((3, courses, layers, 6), dtype=np.int32)
    cropped = []
    top = width = 0
    for key, sheet in pictures.items():
        painted = sheet[..., 3].max(axis=0) > 0
        rows, columns = np.nonzero(painted.any(axis=1))[0], np.nonzero(painted.any(axis=0))[0]
        if len(rows) == 0:
            continue
        y0, y1, x0, x1 = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
        cells[key] = (0, top, x1 - x0, y1 - y0, x0 - size // 2, y0 - size // 2)
        cropped.append((top, sheet[:, y0:y1, x0:x1]))
        width = max(width, phases * phases * (x1 - x0 + 1))
        top += y1 - y0 + 1
    image = QImage(max(1, width), max(1, top), QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(0)
    pixels = np.frombuffer(image.bits(), dtype=np.uint8)
    pixels = pixels.reshape(image.height(), image.bytesPerLine() // 4, 4)
    for at, sheet in cropped:
        _count, high, wide, _four = sheet.shape
        for i, part in enumerate(sheet):
            left = i * (wide + 1)
            pixels[at : at + high, left : left + wide] = part
    return Atlas(QPixmap.fromImage(image), phases, cells, kinds)
