"""The surface of a ring as it is seen: for a point of the picture, what of the ring lies there.

A ring is a tube, and a tube is what a ball sweeps along the centreline. Seen from the front it
hides every point within half a wire of the flattened centreline, an ellipse; what shows at such a
point is the ball that rises highest there. So a ring that stands upright, whose ellipse is a mere
line, is as good as one that lies flat.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.weave.sheet import Pose, Vector

Samples = NDArray[np.floating]
"""Floats of either width: samples of a picture are float32, where half the memory counts."""

_NEAREST_TURNS = 5
_HIGHEST_TURNS = 3
_STEEP_TURNS = 8
_WITHIN = 0.995


@dataclass(frozen=True, slots=True)
class Tube:
    """A ring on screen: x to the right, y down, z towards the viewer, about the ring's centre.

    Args:
        u, v: its centreline is ``radius * (cos f * u + sin f * v)``.
        radius: of the centreline.
        wire: wire diameter.
    """

    u: Vector
    v: Vector
    radius: float
    wire: float

    @classmethod
    def of(cls, pose: Pose, grain_rad: float = 0.0, scale: float = 1.0) -> Tube:
        """A pose turned by the grain, in pixels of `scale` a mm."""
        return cls(*pose.turned(grain_rad), pose.radius_mm * scale, pose.wire_mm * scale)

    @property
    def half_sizes(self) -> tuple[float, float]:
        """Half axes of the flattened centreline, the shorter first."""
        slant = min(1.0, abs(self.u[0] * self.v[1] - self.u[1] * self.v[0]))
        return self.radius * slant, self.radius

    @property
    def rising(self) -> tuple[float, float]:
        """Which way the ring rises out of the sheet, a unit vector on screen: along the shorter
        half axis.
        """
        x = self.u[0] * self.u[2] + self.v[0] * self.v[2]
        y = self.u[1] * self.u[2] + self.v[1] * self.v[2]
        size = math.hypot(x, y)
        if size > 1e-9:
            return x / size, y / size
        # Flat rings rise nowhere; upright ones rise straight up, to either side of their line.
        top = math.hypot(self.u[2], self.v[2])
        if top < 0.5:
            return 1.0, 0.0
        line = (
            (self.u[0] * self.v[2] - self.v[0] * self.u[2]) / top,
            (self.u[1] * self.v[2] - self.v[1] * self.u[2]) / top,
        )
        return -line[1], line[0]

    @property
    def turn(self) -> tuple[float, int]:
        """The ring's own angle f where the flattened line's angle g is 0, and +1 or -1: f is
        that angle plus or minus g. Points of the line are ``short * cos g`` along `rising` and
        ``long * sin g`` at a right angle to it, clockwise.
        """
        rx, ry = self.rising
        # The long half axis lies in the sheet; at a right angle to it the ring climbs.
        long_u, long_v = rx * self.u[1] - ry * self.u[0], rx * self.v[1] - ry * self.v[0]
        climbs = long_u * self.v[2] - long_v * self.u[2]
        if abs(climbs) < 1e-9:
            climbs = rx * (long_u * self.v[0] - long_v * self.u[0])
            climbs += ry * (long_u * self.v[1] - long_v * self.u[1])
        sense = -1 if climbs > 0 else 1
        return math.atan2(-sense * long_u, sense * long_v), sense

    @property
    def extent(self) -> tuple[float, float]:
        """How far its centreline reaches along x and along y."""
        return (
            self.radius * math.hypot(self.u[0], self.v[0]),
            self.radius * math.hypot(self.u[1], self.v[1]),
        )

    @property
    def hides_itself(self) -> bool:
        """Whether one part of the ring lies over another."""
        short, long = self.half_sizes
        return short * short < 0.5 * self.wire * long

    def at(self, angle: Samples) -> Samples:
        """Points of the centreline, (3, n)."""
        c, s = np.cos(angle) * self.radius, np.sin(angle) * self.radius
        out: Samples = np.stack([c * a + s * b for a, b in zip(self.u, self.v, strict=True)])
        return out


@dataclass(frozen=True, slots=True)
class Surface:
    """What a ring is at each of n points of the picture.

    Args:
        where: which of the points asked about lie near the wire.
        dist: how far each lies from the flattened centreline.
        angle: where along the ring the wire is nearest; where the ring hides itself, the part
            that shows.
        normal: the surface's unit normal, (n, 3).
        height: how high the centreline lies there, over the ring's centre.
    """

    where: NDArray[np.intp]
    dist: Samples
    angle: Samples
    normal: Samples
    height: Samples


def surface(tube: Tube, x: Samples, y: Samples, near: float) -> Surface:
    """The ring at points of the picture.

    Args:
        tube: the ring.
        x: (n,), about its centre.
        y: (n,).
        near: points farther from the flattened centreline than this may be left out.
    """
    short, long = tube.half_sizes
    rx, ry = tube.rising
    p, q = x * rx + y * ry, y * rx - x * ry
    # Bounds that are quick to find: a box, or the ellipse grown, and shrunk where it has a hole.
    if short * short < 2 * near * long:
        inside = (np.abs(p) < short + near) & (np.abs(q) < long + near)
    else:
        inside = (p / (short + near)) ** 2 + (q / (long + near)) ** 2 < 1.0
        if short > 1.5 * near:
            hole = (p / (short - 1.25 * near)) ** 2 + (q / (long - 1.25 * near)) ** 2 < 1.0
            inside &= ~hole
    where = np.nonzero(inside)[0]
    p, q = p[where], q[where]
    c, s = _nearest(short, long, p, q)
    over, along = p - short * c, q - long * s
    dist = np.hypot(over, along)
    # What lies at the silhouette is what lies a hair within it.
    hair = np.minimum(1.0, _WITHIN * 0.5 * tube.wire / np.maximum(dist, 1e-6))
    p, q = short * c + over * hair, long * s + along * hair
    if tube.hides_itself:
        # Where the rising half is within reach it lies on top.
        sine = np.clip(q / long, -1.0, 1.0)
        cosine = np.sqrt(1.0 - sine * sine)
        reached = np.hypot(p - short * cosine, q - long * sine) < 0.5 * tube.wire
        hidden = reached & (np.copysign(1.0, c) < 0.0)
        c, s = np.where(hidden, cosine, c), np.where(hidden, sine, s)
    start, sense = tube.turn
    cos, sin = math.cos(start), math.sin(start)
    c, s = c * cos - sense * s * sin, c * sin + sense * s * cos
    highest, normal, height = _highest(tube, p * rx - q * ry, p * ry + q * rx, c, s)
    angle = highest if tube.hides_itself else np.arctan2(s, c)
    return Surface(where, dist, angle, normal, height)


def _nearest(short: float, long: float, p: Samples, q: Samples) -> tuple[Samples, Samples]:
    """Cosine and sine of where an ellipse is nearest to points, by Newton's method on the
    multiplier, which climbs to its root from below and needs no angles.

    Source: D. Eberly, "Distance from a Point to an Ellipse, an Ellipsoid, or a Hyperellipsoid".
    """
    apart = long * long - short * short
    one, two = short * np.abs(p), long * np.abs(q)
    tau = np.maximum(np.maximum(one, two - apart), 1e-6)
    for _turn in range(_NEAREST_TURNS):
        a, b = one / tau, two / (tau + apart)
        over = a * a + b * b - 1.0
        slope = a * a / tau + b * b / (tau + apart)
        tau = np.maximum(tau + 0.5 * over / np.maximum(slope, 1e-12), 1e-6)
    b = np.minimum(two / (tau + apart), 1.0)
    return np.copysign(np.sqrt(1.0 - b * b), p), np.copysign(b, q)


def _highest(
    tube: Tube, x: Samples, y: Samples, c: Samples, s: Samples
) -> tuple[Samples, Samples, Samples]:
    """Angle, normal and height of the highest ball at points, from a ball that reaches them.

    By turns: how high the ball reaches, and which ball is nearest to what was reached. Each turn
    rises, since a nearer ball reaches over the point.
    """
    (ux, uy, uz), (vx, vy, vz) = tube.u, tube.v
    half = 0.5 * tube.wire
    short, long = tube.half_sizes
    turns = _STEEP_TURNS if short * short < tube.wire * long else _HIGHEST_TURNS
    for turn in range(turns + 1):
        dx = x - tube.radius * (c * ux + s * vx)
        dy = y - tube.radius * (c * uy + s * vy)
        height = tube.radius * (c * uz + s * vz)
        rise = np.sqrt(np.maximum(half * half - dx * dx - dy * dy, 0.0))
        if turn == turns:
            break
        z = height + rise
        c, s = ux * x + uy * y + uz * z, vx * x + vy * y + vz * z
        size = np.maximum(np.hypot(c, s), 1e-6)
        c, s = c / size, s / size
    normal = np.column_stack([dx, dy, rise])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-6)[:, None]
    return np.arctan2(s, c), normal, height
