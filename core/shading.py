"""A bent wire as flat shapes: its silhouette, and within it a shape for every tone of the metal.

A wire is a tube. Across it, seen from the front, the part of the surface's normal that points at
the light is a cosine, so what is brighter than a given tone is one stretch across the wire at each
place along it. Those stretches, followed along, are the shapes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from core.weave.sheet import Pose

Floats = NDArray[np.float64]
Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255."""

TONES = 6
RIM = 0.05
"""Width of the dark outline within the silhouette, in wires."""

LIGHT = (-0.50, -0.66, 0.86)
"""Towards the light: upper left and in front (x right, y down, z towards the viewer)."""

_FINE_MM = 0.003  # farthest that a side of a polygon may lie from the curve
_OVERLAP = 0.006  # wires: each shape of an arc reaches so much further over the next arc than
# the shape under it, so that no seam shows where their soft edges meet
_UPRIGHT = 1e-6
_GLEAMS = (0.2, 0.5, 0.8)  # shares of the lightest colour in the highlight

# How metal is toned; rings on screen (`app.rings.ring_sprites`) follow the same numbers.
LIT, STEP = (-0.30, 0.22, 0.66, 0.96), (0.35, 1.0, 2.0, 2.4)
"""Brightness (normal · light) and the colour there, in steps of a metal's four colours."""

GLEAM_FORCE, GLEAM_POWER = 0.9, 24
"""The highlight: how much of the lightest colour, and how soon that falls off."""

DEEP, DEEP_POWER, DEEP_STEP = 0.46, 1.2, 0.5
"""How low parts darken, and towards which step."""

LIGHTER, OUTLINED = 0.4, 0.75
"""An edge ring: how much nearer its colours are to the next, and its outline to the edge role."""


@dataclass(frozen=True, slots=True)
class Ink:
    """The colours one metal is drawn with, darkest first."""

    edge: Colour
    shade: Colour
    body: Colour
    light: Colour

    def at(self, step: float) -> Colour:
        """A colour between: 0 is `edge`, 1 `shade`, 2 `body`, 3 `light`."""
        four = np.array([self.edge, self.shade, self.body, self.light], dtype=np.float64)
        return _rounded([np.interp(step, np.arange(4.0), part) for part in four.T])

    def lighter(self) -> Ink:
        """The same metal for an edge ring."""
        return Ink(
            self.edge,
            mix(self.shade, self.body, LIGHTER),
            mix(self.body, self.light, LIGHTER),
            self.light,
        )


def _ink(text: str) -> Ink:
    return Ink(*(colour(part) for part in text.split()))


def colour(code: str) -> Colour:
    """A colour from “#RRGGBB”."""
    return int(code[1:3], 16), int(code[3:5], 16), int(code[5:7], 16)


INKS: Mapping[str, Ink] = MappingProxyType(
    {
        "steel": _ink("#3A3E42 #6E747A #969CA2 #DDE1E4"),
        "stainless": _ink("#44484B #878C90 #B3B8BB #F4F6F7"),
        "aluminium": _ink("#555A5D #A3A8AB #CDD1D3 #FFFFFF"),
        "brass": _ink("#4E3A10 #96742A #C9A148 #FBE7A8"),
        "copper": _ink("#4A2513 #94522F #C37B50 #F8CDB0"),
        "black": _ink("#0B0B0C #232426 #3B3D41 #8A8E95"),
    }
)
"""By a metal's look, on a light ground: on paper, and in the window's light theme."""

EDGED = colour("#0067A3")
"""What the outline of an edge ring is mixed with."""


def mix(a: Colour, b: Colour, part: float) -> Colour:
    """`a` with `part` of `b`."""
    return _rounded([x + (y - x) * part for x, y in zip(a, b, strict=True)])


def _rounded(parts: Sequence[float]) -> Colour:
    red, green, blue = (int(v + 0.5) for v in parts)
    return red, green, blue


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A filled shape, or a line where `width_mm` is not 0; mm about the ring's centre.

    Args:
        colour: of the fill or the line.
        loops: closed polygons, each (n, 2); together they are filled by the non-zero rule.
        width_mm: of the line.
        dash_mm: lengths of dash and gap; empty for a whole line.
    """

    colour: Colour
    loops: tuple[Floats, ...]
    width_mm: float = 0.0
    dash_mm: tuple[float, ...] = ()


def arc_shapes(
    pose: Pose,
    ends: tuple[float, float],
    grain_rad: float,
    ink: Ink,
    edged: bool,
    deep_mm: float,
) -> tuple[Shape, ...]:
    """An arc of a ring about the ring's centre, x to the right and y down.

    Args:
        pose: how the ring lies.
        ends: where on it the arc begins and ends, radians, as in `core.drawing.RingArc`.
        grain_rad: direction of the rows, clockwise on screen.
        ink: the metal.
        edged: whether it is an edge ring.
        deep_mm: farthest that a centreline of the sheet lies over or under its middle.

    Returns:
        shapes in drawing order; none for an arc that the rest of its own ring hides.
    """
    tube = _Tube(pose, grain_rad)
    outline = mix(ink.edge, EDGED, OUTLINED) if edged else ink.edge
    metal = ink.lighter() if edged else ink
    return tuple(
        shape
        for piece in tube.pieces(*ends)
        for shape in _tube_shapes(tube, piece, metal, outline, deep_mm)
    )


def centreline(pose: Pose, grain_rad: float) -> Floats:
    """A ring's centreline as seen from the front, about the ring's centre, (n, 2)."""
    tube = _Tube(pose, grain_rad)
    return tube.centre(tube.angles(0.0, 2 * math.pi)[:-1])[:, :2]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of a ring that nowhere hides itself; `open_ends`: where it merely goes on."""

    start: float
    end: float
    open_ends: tuple[bool, bool] = (True, True)


class _Tube:
    """A ring in the list's frame, about its centre; angles are those of its pose."""

    def __init__(self, pose: Pose, grain_rad: float) -> None:
        self._u, self._v = (np.array(axis) for axis in pose.turned(grain_rad))
        self.radius, self.half = pose.radius_mm, pose.wire_mm / 2
        self.lift = pose.centre[2]
        # Half axes of the flattened centreline, over the radius: the longer is 1.
        self.slant = abs(float(self._u[0] * self._v[1] - self._u[1] * self._v[0]))

    @property
    def upright(self) -> bool:
        return self.slant < _UPRIGHT

    def centre(self, f: Floats) -> Floats:
        """Points of the centreline, (n, 3)."""
        out: Floats = self.radius * (np.outer(np.cos(f), self._u) + np.outer(np.sin(f), self._v))
        return out

    def frame(self, f: Floats) -> tuple[Floats, Floats]:
        """Unit vectors across the wire, (n, 3) each: level and to the side; and rising to the
        viewer. A point of the surface with the angle q between is ``sin q`` and ``cos q`` of them.
        """
        ahead = np.outer(-np.sin(f), self._u) + np.outer(np.cos(f), self._v)
        flat = np.hypot(ahead[:, 0], ahead[:, 1])
        side = np.column_stack([ahead[:, 1], -ahead[:, 0], np.zeros(len(f))]) / flat[:, None]
        return side, np.cross(side, ahead)

    def angles(self, start: float, end: float) -> Floats:
        """Angles from start to end so near each other that chords pass for the curve."""
        f = np.linspace(start, end, 1441)
        middle = (f[1:] + f[:-1]) / 2
        side, _rise = self.frame(middle)
        turn = np.abs(np.diff(np.unwrap(np.arctan2(side[:, 1], side[:, 0])), prepend=np.nan))
        turn[0] = turn[1]
        # A sharp flip, as at the tips of an upright ring, is no curve to follow.
        turn = np.minimum(turn, 0.05)
        large = 2 * math.acos(1 - min(0.5, _FINE_MM / (self.radius + self.half)))
        small = 2 * math.acos(1 - min(0.5, _FINE_MM / self.half))
        along = np.concatenate([[0.0], np.cumsum(np.maximum(np.diff(f) / large, turn / small))])
        count = max(3, math.ceil(float(along[-1])) + 1)
        return np.interp(np.linspace(0.0, along[-1], count), along, f)

    def pieces(self, start: float, end: float) -> list[_Piece]:
        """An arc as it is, or for an upright ring its parts above the middle: those show, and
        hide the parts below.
        """
        if not self.upright:
            return [_Piece(start, end)]
        # The tips of the flattened ring lie where the tangent points at the viewer.
        top = math.atan2(float(self._v[2]), float(self._u[2]))
        made = []
        for turn in range(-2, 3):
            at = top + 2 * math.pi * turn
            low, high = at - math.pi / 2, at + math.pi / 2
            a, b = max(start, low), min(end, high)
            if b - a > 1e-6:
                tiny = 1e-7
                made.append(
                    _Piece(
                        a + (tiny if a == low else 0.0),
                        b - (tiny if b == high else 0.0),
                        (a != low, b != high),
                    )
                )
        return made

    def spread(self, piece: _Piece, over: float, shape: int) -> tuple[float, float]:
        """The ends of a piece, moved on where it merely goes on, so that a tube thinner by `over`
        reaches past the full tube's end, and each shape past the one before.
        """
        out = []
        for angle, open_end in zip((piece.start, piece.end), piece.open_ends, strict=True):
            _side, rise = self.frame(np.array([angle]))
            flat = max(0.2, float(rise[0, 2]))
            bulge = over * math.hypot(float(rise[0, 0]), float(rise[0, 1])) * self.upright
            past = bulge + (1 + shape) * _OVERLAP * 2 * self.half
            out.append(past / (self.radius * flat) if open_end else 0.0)
        return piece.start - out[0], piece.end + out[1]


Bounds = Callable[[Floats], tuple[Floats, Floats]]
"""From angles f to bounds of q; the lower exceeds the upper where there is nothing."""


def _tube_shapes(tube: _Tube, piece: _Piece, ink: Ink, outline: Colour, deep: float) -> list[Shape]:
    def whole(f: Floats) -> tuple[Floats, Floats]:
        return np.full(len(f), -math.pi / 2), np.full(len(f), math.pi / 2)

    def dark(f: Floats) -> Floats:
        height = 0.5 + 0.5 * (tube.centre(f)[:, 2] + tube.lift) / deep
        out: Floats = DEEP * np.maximum(0.0, 1.0 - height) ** DEEP_POWER
        return out

    rim = 2 * RIM * tube.half
    thin = tube.half - rim
    steps = np.linspace(STEP[0], STEP[-1], TONES + 1)
    base = _loops(tube, thin, tube.spread(piece, rim, 0), whole)
    shapes = [
        Shape(outline, _loops(tube, tube.half, (piece.start, piece.end), whole)),
        Shape(ink.at(float(steps[:2].mean())), base),
    ]
    light = np.array(LIGHT) / np.linalg.norm(LIGHT)
    for k in range(1, TONES):

        def toned(f: Floats, step: float = float(steps[k])) -> tuple[Floats, Floats]:
            d = dark(f)
            need = (step - DEEP_STEP * d) / (1 - d)
            lit = np.where(need > STEP[-1], 2.0, np.interp(need, STEP, LIT))
            return _brighter(tube, f, light, lit)

        loops = _loops(tube, thin, tube.spread(piece, rim, k), toned)
        shapes.append(Shape(ink.at(float(steps[k : k + 2].mean())), loops))
    half = light + np.array([0.0, 0.0, 1.0])
    half /= np.linalg.norm(half)
    for k, gleam in enumerate(_GLEAMS, TONES):

        def gleaming(f: Floats, gleam: float = gleam) -> tuple[Floats, Floats]:
            need = gleam / (GLEAM_FORCE * (1 - dark(f)))
            return _brighter(tube, f, half, np.minimum(2.0, need ** (1 / GLEAM_POWER)))

        loops = _loops(tube, thin, tube.spread(piece, rim, k), gleaming)
        shapes.append(Shape(mix(ink.at(STEP[-1]), ink.light, min(1.0, gleam + 0.1)), loops))
    return [shape for shape in shapes if shape.loops]


def _brighter(tube: _Tube, f: Floats, towards: Floats, least: Floats) -> tuple[Floats, Floats]:
    """Where across the wire the normal's part `towards` a direction exceeds `least`: as q goes
    round, that part is a cosine.
    """
    side, rise = tube.frame(f)
    a, b = side @ towards, rise @ towards
    size = np.hypot(a, b)
    at = np.arctan2(a, b)
    half = np.arccos(np.clip(least / np.maximum(size, 1e-12), -1.0, 1.0))
    half = np.where(least >= size, -1.0, half)
    low, high = np.maximum(at - half, -math.pi / 2), np.minimum(at + half, math.pi / 2)
    return low, high


def _loops(
    tube: _Tube, half: float, ends: tuple[float, float], bounds: Bounds
) -> tuple[Floats, ...]:
    """Closed polygons round the part of a tube's surface between bounds, as seen, (n, 2) each."""
    f = tube.angles(*ends)
    low, high = bounds(f)
    there = np.concatenate([[False], low < high, [False]])
    edges = np.flatnonzero(np.diff(there.astype(np.int8)))
    made = []
    for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        at = [f[first:after]]
        if first > 0:
            at.insert(0, _opening(bounds, float(f[first - 1]), float(f[first])))
        if after < len(f):
            at.append(_opening(bounds, float(f[after]), float(f[after - 1]))[::-1])
        g = np.concatenate(at)
        a, b = bounds(g)
        a, b = np.minimum(a, (a + b) / 2), np.maximum(b, (a + b) / 2)
        loop = np.concatenate(
            [
                _seen(tube, half, g, a),
                _section(tube, half, float(g[-1]), float(a[-1]), float(b[-1])),
                _seen(tube, half, g, b)[::-1],
                _section(tube, half, float(g[0]), float(b[0]), float(a[0])),
            ]
        )
        gone = np.linalg.norm(np.diff(loop, axis=0, append=loop[:1]), axis=1) < 5e-4
        if len(loop) - int(gone.sum()) >= 3:
            made.append(loop[~gone])
    return tuple(made)


def _opening(bounds: Bounds, without: float, with_: float) -> Floats:
    """Angles at which a shape begins, between one where it is not and one where it is: the very
    place, and some near it, for it opens as blunt as a root.
    """
    empty, full = without, with_
    for _turn in range(24):
        middle = (empty + full) / 2
        low, high = bounds(np.array([middle]))
        if low[0] < high[0]:
            full = middle
        else:
            empty = middle
    return full + (with_ - full) * np.array([0.0, 0.03, 0.12, 0.3, 0.6])


def _seen(tube: _Tube, half: float, f: Floats, q: Floats) -> Floats:
    """Points of the surface as seen from the front, (n, 2).

    A leaning ring's are left where they lie beside its flattened centreline, so that arcs end
    straight across the wire and reach over no crossing; the tones, which change slowly along the
    wire, are out by less than half a wire for it.
    """
    side, rise = tube.frame(f)
    seen = tube.centre(f) + half * np.sin(q)[:, None] * side
    if tube.upright:
        seen += half * np.cos(q)[:, None] * rise
    out: Floats = seen[:, :2]
    return out


def _section(tube: _Tube, half: float, f: float, start: float, end: float) -> Floats:
    """The surface across the wire at one angle, from one q to another, ends left out."""
    small = 2 * math.acos(1 - min(0.5, _FINE_MM / half))
    count = max(2, math.ceil(abs(end - start) / small) + 1)
    q = np.linspace(start, end, count)[1:-1]
    return _seen(tube, half, np.full(len(q), f), q)
