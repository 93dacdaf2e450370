"""Pitches measured on a swatch: the lean that allows them, or the nearest that are possible.

Lengths are in wire diameters.
"""

from __future__ import annotations

import math

import numpy as np

from core.weave.cells import Floats, Weave
from core.weave.contact import contacts, distances, linked, place_pairs, reach, unlike_pairs

_STEEPEST = 1.5
_TURNS = 60


def _clearances(weave: Weave, along: float, across: float, leans: Floats, radius: float) -> Floats:
    """Least centreline distance at each lean; -1 where the wrong rings are linked."""
    rows, sites = reach(along, across, radius, 1.0)
    which = unlike_pairs(weave, rows, sites)
    every = which * len(leans)
    lean = np.repeat(leans, len(which))
    a, b = place_pairs(weave, every, along, across, lean, radius)
    near = distances(a, b).reshape(len(leans), len(which)).min(axis=1)
    wanted = np.array([weave.linked(*p) for p in which])
    right = (linked(a, b).reshape(len(leans), -1) == wanted).all(axis=1)
    out: Floats = np.where(right, near, -1.0)
    return out


def widest_lean(
    weave: Weave, along: float, across: float, radius: float
) -> tuple[float, float] | None:
    """The lean that leaves most room at these pitches, and the least centreline distance then.

    None when no lean links the rings as the weave wants.
    """
    far = 2 * radius + 1
    if not (0.5 <= along <= 2 * far and 0.5 <= across <= 2 * far):
        return None
    leans = np.linspace(0.01, _STEEPEST, 100)
    step = float(leans[1] - leans[0])
    best, room = 0.0, -1.0
    for _turn in range(6):
        found = _clearances(weave, along, across, leans, radius)
        i = int(np.argmax(found))
        if found[i] < 0:
            return None
        if found[i] >= room:
            best, room = float(leans[i]), float(found[i])
        leans = np.clip(np.linspace(best - step, best + step, 33), 1e-3, _STEEPEST)
        step /= 16
    return best, room


def _push(g: Floats, h: Floats, walls: Floats, need: Floats) -> Floats:
    """The step z with least z.h.z/2 + g.z and walls z >= need, by Hildreth's method."""
    w = walls / h
    square = w @ walls.T
    lead = need + w @ g
    force = np.zeros(len(need))
    for _turn in range(400):
        before = force.copy()
        for i in range(len(force)):
            pull = lead[i] - float(square[i] @ force)
            force[i] = max(0.0, force[i] + pull / max(float(square[i, i]), 1e-12))
        if np.max(np.abs(force - before), initial=0.0) < 1e-12:
            break
    out: Floats = (force @ walls - g) / h
    return out


def nearest_sheet(
    weave: Weave,
    along: float,
    across: float,
    radius: float,
    starts: list[tuple[float, float, float]],
) -> tuple[float, float, float]:
    """The possible sheet whose pitches are nearest, in proportion, to those given.

    Args:
        weave: the weave.
        along: pitch wanted.
        across: pitch wanted.
        radius: centreline radius.
        starts: along, across and lean of possible sheets to start from; at least one.

    Returns:
        along, across and lean of a sheet free of contact, found by stepping from each start
        towards the wish with the contacts as walls.
    """
    wish = np.array([math.log(along), math.log(across)])
    best, best_off = starts[0], math.inf
    for start in starts:
        z = np.array([math.log(start[0]), math.log(start[1]), start[2]])
        calm, last = 0.0, np.zeros(3)
        for turn in range(_TURNS):
            p, q, lean = math.exp(z[0]), math.exp(z[1]), float(z[2])
            rows, sites = reach(p, q, radius, 1.0)
            touch = contacts(weave, unlike_pairs(weave, rows, sites), p, q, lean, radius)
            close = touch.distance < 1.5
            walls = touch.slope[close][:, :3] * (p, q, 1.0)
            need = 1.0 + 1e-9 - touch.distance[close]
            pull = np.array([z[0] - wish[0], z[1] - wish[1], 0.0])
            if turn >= _TURNS - 4:  # the last steps only clear what contact is left
                pull = np.zeros(3)
            step = _push(pull, np.array([1.0, 1.0, 0.1]) + calm, walls, need)
            if float(step @ last) < 0:  # it swings about the answer: shorten its steps
                calm = 2 * calm + 0.1
            step *= min(1.0, 0.1 / max(float(np.max(np.abs(step))), 1e-12))
            last = step
            z = z + step
            z[2] = min(max(z[2], 0.02), _STEEPEST)
            if float(np.max(np.abs(step))) < 1e-7 and float(np.max(need, initial=0.0)) < 1e-7:
                break
        p, q, lean = math.exp(z[0]), math.exp(z[1]), float(z[2])
        off = math.hypot(z[0] - wish[0], z[1] - wish[1])
        if off < best_off and _clearances(weave, p, q, z[2:], radius)[0] >= 1 - 1e-6:
            best, best_off = (p, q, lean), off
    return best
