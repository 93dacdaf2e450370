"""Pitches measured on a swatch: the sheet that has them, or the nearest that is possible.

Lengths are in wire diameters.
"""

from __future__ import annotations

import math

import numpy as np

from core.weave.cells import Weave
from core.weave.contact import (
    Pair,
    chosen,
    contact_distances,
    contacts,
    distances,
    linked,
    place_pairs,
    reach,
    unlike_pairs,
)
from core.weave.families import Circles, Floats, Ints, Places, Rings, family_of
from core.weave.table import State

_STEEPEST = 1.5
_TURNS = 60
_TOUCHING = 1e-6
_HIDDEN = {
    # For the unknowns no ruler shows: least, most, and how many steps at first.
    "lean_rad": (0.01, _STEEPEST, 100),
    "slip": (-1.2, 1.2, 13),
}
_ZOOM = 4
_NEAR = 0.5
"""Rings farther apart than this do not decide anything, in wires."""


def _apart(a: Circles, b: Circles) -> Floats:
    """A bound from below on the gap between the wires of each pair, from their centres, (n,)."""
    out: Floats = np.linalg.norm(a.centre - b.centre, axis=1) - a.radius - b.radius
    out -= contact_distances(a, b)
    return out


def _gaps(weave: Weave, states: Floats, rings: Rings) -> Floats:
    """Least gap between wires in each of n states, (k, n); -1 where the wrong rings are linked.

    Pairs too far apart to matter are not looked at, nor are states with wrong links.
    """
    count = states.shape[1]
    widest = np.array([np.min(states[0]), np.min(states[1]), *np.max(np.abs(states[2:]), axis=1)])
    which = unlike_pairs(weave, *reach(weave, widest, rings))
    wanted = np.array([weave.linked(*p[:3]) for p in which])
    every = np.tile(np.arange(len(which)), count)
    state = np.repeat(np.arange(count), len(which))
    a, b = _circles(weave, which, every, states[:, state], rings)
    gap = _apart(a, b)
    near = np.nonzero(gap < _NEAR)[0]
    right = np.ones(count, dtype=bool)
    right[state[(gap >= 0) & wanted[every]]] = False
    wrong = linked(chosen(a, near), chosen(b, near)) != wanted[every[near]]
    right[state[near[wrong]]] = False
    near = near[right[state[near]]]
    if len(near):
        one, other = chosen(a, near), chosen(b, near)
        gap[near] = distances(one, other) - contact_distances(one, other)
    out: Floats = np.where(right, gap.reshape(count, -1).min(axis=1), -1.0)
    return out


def _circles(
    weave: Weave, which: tuple[Pair, ...], every: Ints, states: Floats, rings: Rings
) -> tuple[Circles, Circles]:
    """The rings of pairs ``which[every]``, each in a state of its own, (k, n)."""
    row, step, shift, ply, other = np.array(which, dtype=np.int64)[every].T
    place = family_of(weave).place
    return (
        place(weave, states, rings, Places(row, np.zeros_like(row), ply)),
        place(weave, states, rings, Places(row + step, shift, other)),
    )


def roomiest(weave: Weave, along: float, across: float, rings: Rings) -> tuple[State, float] | None:
    """The sheet of these pitches whose wires keep farthest apart, and their least gap.

    Rings side by side at one site touch. None when no sheet links the rings as the weave wants.
    """
    family = family_of(weave)
    far = max(2 * r.radius + r.wire for r in rings)
    if not (0.5 <= along <= 2 * far and 0.5 <= across <= 2 * far):
        return None
    hidden = [n for n in family.unknowns[2:] if n in _HIDDEN]
    fixed = {"along": along, "across": across, "gap": 1.0}
    ranges = [np.linspace(*_HIDDEN[n]) for n in hidden]
    if len(hidden) > 1:
        ranges = [r[:: max(1, len(r) // 25)] for r in ranges]
    step = [float(r[1] - r[0]) for r in ranges]
    best: dict[str, float] = dict.fromkeys(hidden, 0.0)
    room = -1.0
    for _turn in range(8 if hidden else 1):
        grid = np.stack([g.ravel() for g in np.meshgrid(*ranges)]) if hidden else np.zeros((0, 1))
        states = np.array(
            [
                grid[hidden.index(n)] if n in hidden else np.full(grid.shape[1], fixed[n])
                for n in family.unknowns
            ]
        )
        found = _gaps(weave, states, rings)
        i = int(np.argmax(found))
        if found[i] < -0.5:
            return None
        if found[i] >= room:
            best, room = {n: float(grid[k, i]) for k, n in enumerate(hidden)}, float(found[i])
        ranges = []
        for k, n in enumerate(hidden):
            low, high, _count = _HIDDEN[n]
            near = np.linspace(best[n] - step[k], best[n] + step[k], 2 * _ZOOM + 1)
            ranges.append(np.clip(near, low, high))
            step[k] /= _ZOOM
    return tuple({**fixed, **best}[n] for n in family.unknowns), room


def sheet_of_pitches(
    weave: Weave, along: float, across: float, rings: Rings, starts: list[State]
) -> tuple[State, tuple[float, float] | None]:
    """The sheet that has those pitches, and None; or where none has, the nearest one's pitches.

    Args:
        weave: the weave.
        along: pitch measured.
        across: pitch measured.
        rings: the size of each ring kind.
        starts: possible sheets to search the nearest from; at least one.

    Returns:
        The unknowns: pitches as measured, the others of the roomiest or the nearest sheet. Then
        the pitches of the nearest sheet, or None.
    """
    found = roomiest(weave, along, across, rings)
    if found is not None and found[1] >= -_TOUCHING:
        return found[0], None
    near = nearest_sheet(weave, along, across, rings, starts)
    best = roomiest(weave, near[0], near[1], rings)
    hidden = best[0][2:] if best is not None else near[2:]
    return (along, across, *hidden), (near[0], near[1])


def _balanced(square: Floats, lead: Floats, force: Floats) -> Floats | None:
    """The forces at the end of Hildreth's method, once it is known which walls push."""
    on = force > 0
    out = np.zeros(len(force))
    out[on] = np.linalg.lstsq(square[np.ix_(on, on)], lead[on], rcond=1e-12)[0]
    done = out.min(initial=0.0) >= 0 and (lead - square @ out).max(initial=0.0) < 1e-12
    return out if done else None


def _push(g: Floats, h: Floats, walls: Floats, need: Floats) -> Floats:
    """The step z with least z.h.z/2 + g.z and walls z >= need, by Hildreth's method."""
    w = walls / h
    square = w @ walls.T
    rows, own = square.tolist(), np.maximum(np.diag(square), 1e-12).tolist()
    lead: Floats = need + w @ g
    left = lead.tolist()  # what each wall still asks for
    force = [0.0] * len(left)
    for turn in range(400):
        most = 0.0
        for i, row in enumerate(rows):
            step = max(-force[i], left[i] / own[i])
            if step:  # few walls push: most have nothing to change
                force[i] += step
                left = [rest - step * part for rest, part in zip(left, row, strict=True)]
                most = max(most, abs(step))
        if most < 1e-12:
            break
        if turn % 8 == 7 and (found := _balanced(square, lead, np.array(force))) is not None:
            force = found.tolist()
            break
    out: Floats = (np.array(force) @ walls - g) / h
    return out


def nearest_sheet(
    weave: Weave, along: float, across: float, rings: Rings, starts: list[State]
) -> State:
    """The possible sheet whose pitches are nearest, in proportion, to those given.

    It is found by stepping from each start towards the wish with the contacts as walls.
    """
    family = family_of(weave)
    count = len(family.unknowns)
    wish = np.array([math.log(along), math.log(across)])
    best, best_off = starts[0], math.inf
    ease = np.array([1.0, 1.0, *[0.1] * (count - 2)])

    def state_of(z: Floats) -> Floats:
        out: Floats = np.concatenate([np.exp(z[:2]), z[2:]])
        return out

    for start in starts:
        z = np.array([math.log(start[0]), math.log(start[1]), *start[2:]])
        calm, last = 0.0, np.zeros(count)
        for turn in range(_TURNS):
            x = state_of(z)
            which = unlike_pairs(weave, *reach(weave, x, rings))
            apart = _apart(*place_pairs(weave, family, which, x, rings))
            which = tuple(p for p, gap in zip(which, apart, strict=True) if gap < _NEAR)
            touch = contacts(weave, family, which, x, rings)
            close = touch.gap < 0.5
            walls = touch.slope[close][:, :count]
            walls[:, :2] *= x[:2]
            need = 1e-9 - touch.gap[close]
            pull = np.zeros(count)
            if turn < _TURNS - 4:  # the last steps only clear what contact is left
                pull[:2] = z[:2] - wish
            step = _push(pull, ease + calm, walls, need)
            if float(step @ last) < 0:  # it swings about the answer: shorten its steps
                calm = 2 * calm + 0.1
            step *= min(1.0, 0.1 / max(float(np.max(np.abs(step))), 1e-12))
            last = step
            z = z + step
            if count > 2:
                z[2] = min(max(z[2], 0.02), _STEEPEST)
            if float(np.max(np.abs(step))) < 1e-7 and float(np.max(need, initial=0.0)) < 1e-7:
                break
        x = state_of(z)
        off = math.hypot(z[0] - wish[0], z[1] - wish[1])
        if off < best_off and _gaps(weave, x[:, None], rings)[0] >= -_TOUCHING:
            best, best_off = tuple(float(v) for v in x), off
    return best
