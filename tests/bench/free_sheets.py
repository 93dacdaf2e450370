"""Sheets without symmetry: every ring of a cell has a place and two angles of its own.

A second opinion on the families of `core.weave.families`: that no freer arrangement of the same
links has more area. Lengths in wire diameters.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from core.weave.cells import Weave
from core.weave.contact import distances, linked, pairs, place_pairs
from core.weave.families import Circles, Family, Floats, Places, Rings, family_of
from core.weave.lay import Lay, solve_lay
from core.weave.solve import equal_rings, largest, optimise


def twice(weave: Weave) -> Weave:
    """The same weave with a cell of twice as many rows."""
    courses = len(weave.courses)
    more = tuple(replace(c, rise=c.rise + weave.height) for c in weave.courses)
    links = tuple(replace(link, course=link.course + courses) for link in weave.links)
    return replace(
        weave, courses=weave.courses + more, height=2 * weave.height, links=weave.links + links
    )


def free_family(weave: Weave) -> Family:
    """A family of along, across and skew of the cell, then places and angles ring by ring."""
    count = len(weave.courses) * weave.plies

    def place(weave: Weave, unknowns: Floats, rings: Rings, places: Places) -> Circles:
        along, across, skew = unknowns[:3]
        cell, course = np.divmod(places.row, len(weave.courses))
        ring = course * weave.plies + places.ply
        spots = np.vstack([np.zeros(3), unknowns[3 : 3 * count].reshape(-1, 3)])
        lean, roll = unknowns[3 * count :].reshape(-1, 2)[ring].T
        centre = spots[ring].copy()
        centre[:, 0] += places.site * along + cell * skew
        centre[:, 1] += cell * across * weave.height
        flat = np.zeros(len(ring))
        u = np.column_stack([np.cos(lean), flat, np.sin(lean)])
        up = np.column_stack([-np.sin(lean), flat, np.cos(lean)])
        v = up * np.sin(roll)[:, None]
        v[:, 1] += np.cos(roll)
        kind = [weave.courses[c].kind for c in course]
        radius = np.array([rings[k].radius for k in kind])
        wire = np.array([rings[k].wire for k in kind])
        return Circles(centre, u, v, radius, wire)

    names = ["along", "across", "skew"]
    names += [f"place {i}" for i in range(3 * (count - 1))]
    names += [f"angle {i}" for i in range(2 * count)]
    return Family(tuple(names), place)


def embedded(weave: Weave, unknowns: Floats, aspect: float) -> Floats:
    """A sheet of the weave's own family as one of the free family."""
    count = len(weave.courses) * weave.plies
    row = np.repeat(np.arange(len(weave.courses)), weave.plies)
    ply = np.tile(np.arange(weave.plies), len(weave.courses))
    places = Places(row, np.zeros_like(row), ply)
    own = family_of(weave).place(weave, unknowns, equal_rings(weave, aspect), places)
    # u must lie in the plane of x and z here, so each ring's own axes are turned about its normal.
    normal = np.cross(own.u, own.v)
    roll = -np.arcsin(np.clip(normal[:, 1], -1, 1))
    lean = np.arctan2(-normal[:, 0], normal[:, 2])
    spots = (own.centre - own.centre[0])[1:]
    assert count == len(lean)
    angles = np.column_stack([lean, roll]).ravel()
    return np.concatenate([unknowns[:2], [0.0], spots.ravel(), angles])


ROUNDS = 40
LOOSENED = (1.3, 1.15, 1.06, 1.0)
"""Rings this many times as wide for their wire, in turn: shaken while they hang loosely, they keep
their links, and the wire is grown back step by step."""


def best_free(
    weave: Weave, unknowns: tuple[float, ...], aspect: float, starts: int, seed: int = 5
) -> tuple[float, int]:
    """The most area that is found from shaken sheets, as a share of the given sheet's, and how
    many sheets with the right links were reached; each is compared at its own ratio.
    """
    family, rings = free_family(weave), equal_rings(weave, aspect)
    origin = embedded(weave, np.array(unknowns), aspect)
    rows = 3 * math.ceil(len(weave.courses) / weave.height)
    which = pairs(weave, rows, 5)
    a, b = place_pairs(weave, family, which, origin, rings)
    apart = np.linalg.norm(a.centre - b.centre, axis=1) - a.radius - b.radius
    near = tuple(p for p, gap in zip(which, apart, strict=True) if gap < 3.0)
    wanted = np.array([weave.linked(*p[:3]) for p in which])
    lengths = np.arange(len(origin)) < len(origin) - 2 * len(weave.courses) * weave.plies

    def right(x: Floats, at: float) -> bool:
        one, other = place_pairs(weave, family, which, x, equal_rings(weave, at))
        clear = float(np.min(distances(one, other) - (one.wire + other.wire) / 2)) > -1e-6
        return clear and bool(np.all(linked(one, other) == wanted))

    def grown(x: Floats, at: float) -> Floats | None:
        """The largest sheet reached from x in steps too short to pass rings through each other."""
        area = 0.0
        for _turn in range(ROUNDS):
            bounds = [(float(v - p), float(v + p)) for v, p in zip(x, step, strict=True)]
            found = optimise(weave, family, near, largest((1.0, 1.0)), x, at, bounds)
            if found is None:
                return None
            x = found
            if float(x[0] * x[1]) < area * (1 + 1e-7):
                break
            area = float(x[0] * x[1])
        return x if right(x, at) else None

    def most(at: float) -> float:
        """The area of the sheet to beat at another ratio: the spread one, as the given one is."""
        there, here = (
            solve_lay(weave.id, 1.0, ratio, Lay("spread")).unknowns for ratio in (at, aspect)
        )
        return unknowns[0] * unknowns[1] * (there[0] * there[1]) / (here[0] * here[1])

    radius = (aspect + 1) / 2
    step = np.where(lengths, 0.4, 0.4 / radius)
    rng, best, reached = np.random.default_rng(seed), 0.0, 0
    for turn in range(starts):
        shake = (0.0, 0.05, 0.1, 0.2)[min(turn, 1 + turn % 3)]
        x = origin + rng.normal(0.0, 1.0, len(origin)) * shake * np.where(lengths, 1, 1 / radius)
        before = 1.0
        for loose in LOOSENED[-1:] if turn == 0 else LOOSENED:
            start = np.where(lengths, x * (loose / before), x)
            for shrink in (1.0, 0.97, 0.94):
                start[:2] = x[:2] * (loose / before) * shrink
                found = grown(start, (aspect + 1) * loose - 1)
                if found is not None:
                    break
            if found is None:
                break
            x, before = found, loose
            reached += 1
            best = max(best, float(x[0] * x[1]) / most((aspect + 1) * loose - 1))
    return best, reached


def bound(weave: Weave, rings: Rings) -> float:
    """The most area per site and row that links allow in a weave of flat and upright rings.

    Linked centres are at most R + Rc - d apart, so flat rings at most twice that; the most area of
    a square of that side, or of two triangles of it.
    """
    flat, upright = rings
    side = 2 * (flat.radius + upright.radius - (flat.wire + upright.wire) / 2)
    spans = {c.span for c in weave.courses if c.span is not None}
    return side**2 * (1.0 if len(spans) == 2 else math.sqrt(3) / 2)
