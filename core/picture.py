"""A display list as filled shapes: what SVG, PDF and PNG draw, in mm.

Each kind of arc is drawn once, about its ring's centre, as a stamp (see `core.shading`); a picture
says where each stamp goes, in drawing order. So a file holds few shapes and many places.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.drawing import ArcList
from core.fill import DROPPED, EDGE
from core.shading import Colour, Floats, Ink, Shape, arc_shapes, centreline, colour
from core.weave.sheet import Pose

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1, mm."""

GONE = colour("#746B5C")
_DASH = (0.3, 0.35)  # of the place of a dropped ring: dash and gap, in wires


@dataclass(frozen=True, slots=True, eq=False)
class Stamp:
    """What every arc of one kind looks like, about its ring's centre.

    Args:
        name: short and unlike the others: what kind of thing, pose and arc.
        shapes: in drawing order.
        box_mm: what they reach.
    """

    name: str
    shapes: tuple[Shape, ...]
    box_mm: Box


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One stamp at many places: x_mm, y_mm float64 (n,), the list's frame. They do not overlap."""

    level: int
    stamp: Stamp
    x_mm: Floats
    y_mm: Floats


STRING = 16
"""Places that stand in line as even steps are written this many at a time."""


@dataclass(frozen=True, slots=True, eq=False)
class Strings:
    """The places of a layer, those in line taken together; mm.

    Args:
        step_mm: from one place of a string to the next.
        starts: (s, 2), the first place of each string of `STRING`.
        singles: (n, 2), the places left over.
    """

    step_mm: tuple[float, float]
    starts: Floats
    singles: Floats


def strings(layer: Layer) -> Strings:
    """Take the places of a layer together that follow each other by even steps, as rings in a
    row do; files become about ten times smaller.
    """
    places = np.column_stack([layer.x_mm, layer.y_mm])
    steps = np.rint(np.diff(places, axis=0) * 1e6).astype(np.int64)
    none = np.zeros((0, 2))
    if len(places) < STRING:
        return Strings((0.0, 0.0), none, places)
    kinds, counts = np.unique(steps, axis=0, return_counts=True)
    common = kinds[int(np.argmax(counts))]
    even = np.abs(steps - common).max(axis=1) <= 1
    starts, singles = [], []
    ends = np.concatenate([np.flatnonzero(~even) + 1, [len(places)]])
    first = 0
    for end in ends.tolist():
        whole = (end - first) // STRING * STRING
        starts.append(places[first : first + whole : STRING])
        singles.append(places[first + whole : end])
        first = end
    step = float(common[0]) / 1e6, float(common[1]) / 1e6
    return Strings(step, np.concatenate(starts), np.concatenate(singles))


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """Layers in drawing order.

    Args:
        box_mm: what is shown of them.
        layers: lowest first; the level of places without a ring is -1.
        rings: how many rings there are, whole or in part.
        words: what to say of it: "title" and "about".
    """

    box_mm: Box
    layers: tuple[Layer, ...]
    rings: int
    words: Mapping[str, str] = field(default_factory=dict)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        x0, y0, x1, y1 = self.box_mm
        return x1 - x0, y1 - y0

    def levels(self) -> list[tuple[int, list[Layer]]]:
        """Each level with its layers, in drawing order."""
        found: list[tuple[int, list[Layer]]] = []
        for layer in self.layers:
            if not found or found[-1][0] != layer.level:
                found.append((layer.level, []))
            found[-1][1].append(layer)
        return found


def picture(
    arcs: ArcList,
    inks: Sequence[Ink],
    box: Box | None = None,
    title: str = "",
    about: str = "",
) -> Picture:
    """Turn a display list into shapes and places.

    Args:
        arcs: the list.
        inks: for each of the weave's ring kinds; the last one serves kinds past the end.
        box: show this much, and leave out what lies beside it; None for all there is.
        title: what it shows, in few words.
        about: more of the same.
    """
    deep = max(
        [1e-9, *(abs(p.centre[2]) + p.radius_mm * math.hypot(p.u[2], p.v[2]) for p in arcs.poses)]
    )
    layers: list[Layer] = []
    for i, at in enumerate(_alike(arcs)):
        first = int(at[0])
        number, role = int(arcs.pose[first]), int(arcs.role[first])
        pose = arcs.poses[number]
        if role == DROPPED:
            stamp = _line_stamp(
                f"gone{number}", pose, arcs.grain_rad, GONE, 0.08 * pose.wire_mm, _DASH
            )
            layers.append(Layer(-1, stamp, arcs.x_mm[at], arcs.y_mm[at]))
            continue
        shapes = arc_shapes(
            pose,
            (float(arcs.from_rad[first]), float(arcs.to_rad[first])),
            arcs.grain_rad,
            inks[min(pose.kind, len(inks) - 1)],
            role == EDGE,
            deep,
        )
        if shapes:
            name = f"{'edge' if role == EDGE else 'ring'}{number}-{i}"
            # The tube's ends go a hair past the silhouette, under the next arc.
            stamp = Stamp(name, shapes, _box(shapes[:1]))
            layers.append(Layer(int(arcs.level[first]), stamp, arcs.x_mm[at], arcs.y_mm[at]))
    if box is None:
        box = _reach(layers)
    else:
        layers = [kept for layer in layers if (kept := _within(layer, box)) is not None]
    words = {"title": title, "about": about}
    return Picture(box, tuple(layers), _count(layers), words)


def _alike(arcs: ArcList) -> list[NDArray[np.intp]]:
    """Places in the list of arcs that look alike, in drawing order; dropped rings come first."""
    gone = arcs.role == DROPPED
    edged = arcs.role == EDGE
    codes = np.zeros(len(arcs), dtype=np.int64)
    for part in (np.where(gone, -1, arcs.level), arcs.pose, edged, arcs.from_rad, arcs.to_rad):
        found, code = np.unique(part, return_inverse=True)
        codes = codes * len(found) + code.ravel()
    order = np.argsort(codes, kind="stable")
    starts = np.flatnonzero(np.diff(codes[order])) + 1
    return np.split(order, starts) if len(order) else []


def _box(shapes: tuple[Shape, ...]) -> Box:
    points = np.concatenate([loop for shape in shapes for loop in shape.loops])
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return x0, y0, x1, y1


def _count(layers: list[Layer]) -> int:
    """Rings with any part shown; each pose has stamps of its own, and places of its own."""
    real = [layer for layer in layers if layer.level >= 0]
    poses = sorted({layer.stamp.name.partition("-")[0] for layer in real})
    total = 0
    for pose in poses:
        mine = [m for m in real if m.stamp.name.partition("-")[0] == pose]
        total += len(np.unique(np.concatenate([m.x_mm + 1j * m.y_mm for m in mine])))
    return total


def _reach(layers: list[Layer]) -> Box:
    boxes = [
        (
            float(m.x_mm.min()) + m.stamp.box_mm[0],
            float(m.y_mm.min()) + m.stamp.box_mm[1],
            float(m.x_mm.max()) + m.stamp.box_mm[2],
            float(m.y_mm.max()) + m.stamp.box_mm[3],
        )
        for m in layers
    ]
    if not boxes:
        return 0.0, 0.0, 1.0, 1.0
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _within(layer: Layer, box: Box) -> Layer | None:
    """What shows of a layer in a box."""
    x0, y0, x1, y1 = layer.stamp.box_mm
    x, y = layer.x_mm, layer.y_mm
    seen = (x + x0 < box[2]) & (x + x1 > box[0]) & (y + y0 < box[3]) & (y + y1 > box[1])
    return Layer(layer.level, layer.stamp, x[seen], y[seen]) if seen.any() else None


# --- stamps ----------------------------------------------------------------------------------


def _line_stamp(
    name: str,
    pose: Pose,
    grain_rad: float,
    ink: Colour,
    width_mm: float,
    dash_wires: tuple[float, ...] = (),
) -> Stamp:
    """A ring's centreline, flattened, as a line."""
    line = centreline(pose, grain_rad)
    dash = tuple(part * pose.wire_mm for part in dash_wires)
    shape = Shape(ink, (line,), width_mm, dash)
    reach = width_mm / 2
    (x0, y0), (x1, y1) = line.min(axis=0) - reach, line.max(axis=0) + reach
    return Stamp(name, (shape,), (float(x0), float(y0), float(x1), float(y1)))
