"""An SVG picture read back by another hand: its polygons in drawing order, placed, in mm."""

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"


@dataclass
class Used:
    """One stamp at one place; `shapes` pairs each fill with its polygon about the place."""

    name: str
    x: float
    y: float
    level: str

    @property
    def pose(self):
        return int(re.match(r"[a-z]+(\d+)", self.name)[1])


NEAR = 0.01
"""Mm within which a place is the same place: they are written to a micrometre."""


def rings_of(used):
    """The rings that stamps belong to, each once: pose, x, y, sorted."""
    found = []
    for pose, x, y in sorted((u.pose, u.x, u.y) for u in used):
        if not any(
            pose == p and abs(x - a) < NEAR and abs(y - b) < NEAR for p, a, b in found[-40:]
        ):
            found.append((pose, x, y))
    return found


def ring_number(rings, used):
    """Which of rings, rows of pose, x, y, a stamp belongs to."""
    rings = np.asarray(rings)
    off = np.hypot(rings[:, 1] - used.x, rings[:, 2] - used.y) + 1e6 * (rings[:, 0] != used.pose)
    assert off.min() < NEAR
    return int(off.argmin())


class Drawn:
    """What a file shows.

    Attributes:
        root: its root element.
        stamps: by name, pairs of fill and polygon, in drawing order.
        used: every stamp at every place, in drawing order.
    """

    def __init__(self, text):
        self.root = ET.fromstring(text)
        self.defs = {g.get("id"): g for g in self.root.find(f"{SVG}defs").iter(f"{SVG}g")}
        self.stamps = {
            name: [(p.get("fill"), polygon(p.get("d"))) for p in g.findall(f"{SVG}path")]
            for name, g in self.defs.items()
            if g.find(f"{SVG}path") is not None
        }
        self.used = []
        for level in self.root.find(f"{SVG}g"):
            self._walk(level, 0.0, 0.0, level.get("id"))

    def _walk(self, element, x, y, level):
        for use in element.findall(f"{SVG}use"):
            name = use.get(HREF).removeprefix("#")
            at = x + float(use.get("x")), y + float(use.get("y"))
            if name in self.stamps:
                self.used.append(Used(name, *at, level))
            else:
                self._walk(self.defs[name], *at, level)

    @property
    def size(self):
        """Width and height with their units, and the view box."""
        root = self.root
        return (
            root.get("width"), root.get("height"),
            tuple(float(v) for v in root.get("viewBox").split()),
        )  # fmt: skip

    def metal(self):
        """Every stamp of a ring, in drawing order."""
        return [u for u in self.used if u.level.startswith("level-")]

    def silhouette(self, used):
        """The outer shape of a stamp at its place: the one that all its others lie on."""
        return shapely.affinity.translate(self.stamps[used.name][0][1], used.x, used.y)


def polygon(path):
    """A path of closed polygons, given by steps, filled by the non-zero rule."""
    made = []
    for part in path.split("z"):
        if part:
            head, tail = part.removeprefix("M").split("l")
            steps = [np.array(text.split(), dtype=float).reshape(-1, 2) for text in (head, tail)]
            corners = np.cumsum(np.concatenate(steps), axis=0)
            # A whole ring is one strip whose ends overlap: mend it as one band of two halves.
            made.append(shapely.make_valid(shapely.Polygon(corners)))
    return shapely.union_all(made)


def hashes_under_other_seeds(code):
    """What a piece of Python prints when run anew under two hash seeds."""
    found = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(p for p in sys.path if p)},
        )  # fmt: skip
        found.add(done.stdout.strip())
    return found
