"""Solve the row-built weaves from contact and keep their lays as tables.

Run ``python -m core.weave.solve [WEAVE ...]`` to renew ``resources/weaves``. Needs scipy; nothing
at run time does. With OPENBLAS_NUM_THREADS=1 it takes minutes, not hours, on a shared machine.
Lengths are in wire diameters, so a state depends on the aspect ratio alone.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from core.weave.cells import WEAVES, Weave
from core.weave.contact import (
    Pair,
    contact_distances,
    contacts,
    distances,
    linked,
    pairs,
    place_pairs,
    reach,
    unlike_pairs,
)
from core.weave.families import Family, Floats, Rings, RingSize, family_of

FURTHEST = 40.0
SLOTS = 2  # local least distances looked at per pair
CLOSE = 1e-6
HELD_ROWS = 25  # aspect ratios at which held widths are solved
LEAST_PART = 5e-4  # nearer to the sheet drawn across, nobody sees a contact go
HELD_SHARES = np.linspace(0.0, 1.0, 25)  # and how many widths in each part
GOALS: dict[str, tuple[float, float]] = {
    # weights of log(along), log(across) in what is made largest
    "spread": (1.0, 1.0),
    "along": (1.0, 0.0),
    "across": (0.0, 1.0),
}
STARTS: dict[str, tuple[float, ...]] = {
    # a sheet near the tightest there is: the family's unknowns, then the aspect ratio
    "european-4-in-1": (2.5, 2.5, 0.58, 3.1),
    "european-6-in-1": (2.4, 3.2, 0.57, 4.5),
    "european-8-in-1": (2.4, 3.9, 0.54, 5.9),
    "doubled-4-in-1": (3.5, 3.4, 0.71, 1.0, 0.1, 4.9),
}
LEAST = (0.2, 0.2, 0.02, 0.5, -5.0)
MOST = (200.0, 200.0, 1.5, 5.0, 5.0)


@dataclass(frozen=True, slots=True)
class State:
    """A solved sheet: the family's unknowns, and the pairs in contact."""

    aspect: float
    unknowns: tuple[float, ...]
    touching: tuple[Pair, ...] = ()

    @property
    def area(self) -> float:
        """Area per site, in wire diameters squared."""
        return self.unknowns[0] * self.unknowns[1]


Goal = Callable[[Floats], tuple[float, Floats]]


def equal_rings(weave: Weave, aspect: float) -> Rings:
    """All kinds of one size, wire 1."""
    return tuple(RingSize(1.0, (aspect + 1) / 2) for _kind in weave.kinds)


def fits(weave: Weave, family: Family, state: State) -> bool:
    """Whether no two rings overlap and exactly the right pairs are linked."""
    unknowns, rings = np.array(state.unknowns), equal_rings(weave, state.aspect)
    which = pairs(weave, *reach(weave, unknowns, rings))
    a, b = place_pairs(weave, family, which, unknowns, rings)
    right = np.array([weave.linked(*p[:3]) for p in which])
    near = float(np.min(distances(a, b) - contact_distances(a, b)))
    return near >= -1e-7 and bool(np.all(linked(a, b) == right))


def optimise(
    weave: Weave,
    family: Family,
    which: tuple[Pair, ...],
    goal: Goal,
    start: Floats,
    aspect: float | None,
    bounds: list[tuple[float, float]],
    along: float | None = None,
) -> Floats | None:
    """Least `goal` over the unknowns with every pair clear, or None.

    Args:
        weave: which rings there are.
        family: what places them.
        which: the pairs kept clear.
        goal: value and gradient in the unknowns (and the aspect ratio last, when that is free).
        start: where to begin.
        aspect: held there; None makes it the last unknown.
        bounds: of each unknown.
        along: hold the first unknown there.
    """
    from scipy.optimize import minimize

    count = len(family.unknowns)
    free = count if aspect is not None else count + 1
    kept: dict[bytes, tuple[Floats, Floats]] = {}

    def walls(x: Floats) -> tuple[Floats, Floats]:
        key = x.tobytes()
        if key not in kept:
            ratio = aspect if aspect is not None else float(x[-1])
            found = contacts(weave, family, which, x[:count].copy(), equal_rings(weave, ratio))
            gap = np.full((len(which), SLOTS), 10.0)
            slope = np.zeros((len(which), SLOTS, count + 1))
            used = [0] * len(which)
            for i in np.argsort(found.gap, kind="stable"):
                pair = int(found.pair[i])
                if used[pair] < SLOTS:
                    gap[pair, used[pair]] = found.gap[i]
                    slope[pair, used[pair]] = found.slope[i]
                    used[pair] += 1
            slope[..., -1] *= 0.5  # the radius is (aspect ratio + 1) / 2
            kept.clear()
            kept[key] = (gap.ravel(), slope.reshape(-1, count + 1)[:, :free])
        return kept[key]

    held: list[dict[str, Any]] = [
        {"type": "ineq", "fun": lambda x: walls(x)[0], "jac": lambda x: walls(x)[1]}
    ]
    if along is not None:
        at = np.eye(free)[:1]
        held.append({"type": "eq", "fun": lambda x: x[:1] - along, "jac": lambda _x: at})
    answer = minimize(
        goal,
        np.clip(start[:free], *np.array(bounds).T),
        jac=True,
        method="SLSQP",
        bounds=bounds,
        constraints=held,
        options={"ftol": 1e-14, "maxiter": 300},
    )
    x: Floats = np.asarray(answer.x, dtype=np.float64)
    if not np.all(np.isfinite(x)) or np.min(walls(x)[0]) < -1e-7:
        return None
    return x


def largest(weights: tuple[float, float]) -> Goal:
    """The goal that makes along and across large, by the weights of their logarithms."""

    def goal(x: Floats) -> tuple[float, Floats]:
        slope = np.zeros(len(x))
        slope[:2] = -weights[0] / x[0], -weights[1] / x[1]
        return -weights[0] * math.log(x[0]) - weights[1] * math.log(x[1]), slope

    return goal


def _tightest(x: Floats) -> tuple[float, Floats]:
    slope = np.zeros(len(x))
    slope[-1] = 1.0
    return float(x[-1]), slope


def _bounds(weave: Weave) -> list[tuple[float, float]]:
    count = len(family_of(weave).unknowns)
    return list(zip(LEAST[:count], MOST[:count], strict=True))


def near_pairs(weave: Weave) -> tuple[Pair, ...]:
    """The unlike pairs that can come near in any sheet solved here."""
    return unlike_pairs(weave, 4, 8)


def limit(weave: Weave) -> State:
    """The smallest aspect ratio at which any state fits, and that state."""
    which, family = near_pairs(weave), family_of(weave)
    rng = np.random.default_rng(1)
    best: State | None = None
    start = np.array(STARTS[weave.id])
    bounds = [*_bounds(weave), (1.0, 100.0)]
    for turn in range(6):
        seed = start * (1 + (rng.uniform(-0.1, 0.1, len(start)) if turn else 0))
        x = optimise(weave, family, which, _tightest, seed, None, bounds)
        if x is None:
            continue
        state = _state(weave, which, x[:-1], float(x[-1]))
        if fits(weave, family, state) and (best is None or state.aspect < best.aspect):
            best = state
    if best is None:
        raise ArithmeticError(f"{weave.id}: no state found from {start}")
    return best


def _state(weave: Weave, which: tuple[Pair, ...], x: Floats, aspect: float) -> State:
    a, b = place_pairs(weave, family_of(weave), which, x, equal_rings(weave, aspect))
    gaps = distances(a, b) - contact_distances(a, b)
    touching = tuple(p for p, g in zip(which, gaps, strict=True) if g < CLOSE)
    return State(aspect, tuple(float(v) for v in x), touching)


def solve(
    weave: Weave, kind: str, aspect: float, starts: list[State], along: float | None = None
) -> State:
    """The state of that lay at that aspect ratio, best of what is reached from the starts.

    Args:
        weave: the weave.
        kind: "spread", "along" or "across".
        aspect: inner diameter over wire.
        starts: states near by (of other aspect ratios too); more starts, surer answer.
        along: hold the pitch along there.

    Raises:
        ArithmeticError: nothing that fits was reached.
    """
    which, family = near_pairs(weave), family_of(weave)
    goal = largest(GOALS[kind])
    best: State | None = None
    best_value = math.inf
    for start in starts:
        scale = (aspect + 1) / (start.aspect + 1)
        for shrink in (1.0, 0.93):
            seed = np.array(start.unknowns)
            seed[:2] *= scale
            seed[1 if along is not None else 0] *= shrink
            if along is not None:
                seed[0] = along
            x = optimise(weave, family, which, goal, seed, aspect, _bounds(weave), along)
            if x is None:
                continue
            state, value = _state(weave, which, x, aspect), goal(x)[0]
            if value < best_value - 1e-13 and fits(weave, family, state):
                best, best_value = state, value
    if best is None:
        raise ArithmeticError(f"{weave.id}, {kind}: nothing found at aspect ratio {aspect}")
    return best


def _bend(weave: Weave, kind: str, low: State, high: State) -> tuple[State, State]:
    """The states just below and above the place where the touching pairs change."""
    while high.aspect - low.aspect > 2e-6:
        middle = solve(weave, kind, 0.5 * (low.aspect + high.aspect), [low, high])
        if middle.touching == low.touching:
            low = middle
        else:
            high = middle
    return low, high


def trace(weave: Weave, kind: str, first: State, furthest: float = FURTHEST) -> list[list[State]]:
    """States from the limit to `furthest`, in segments that break where contacts change."""
    span = math.sqrt(furthest - first.aspect)
    marks = np.concatenate(
        [
            np.linspace(0.0, 0.3, 13)[1:],
            np.linspace(0.3, 3.0, 37)[1:],
            np.linspace(3.0, span, 25)[1:],
        ]
    )
    segments = [[first]]
    last = first
    for mark in marks:
        state = solve(weave, kind, first.aspect + float(mark) ** 2, [last])
        while last is not first and state.touching != last.touching:
            low, high = _bend(weave, kind, last, state)
            segments[-1].append(low)
            segments.append([high])
            last = high
        segments[-1].append(state)
        last = state
    return segments


def held_parts(
    weave: Weave, first: State, bend: float, furthest: float = FURTHEST
) -> list[dict[str, Any]]:
    """Sheets held to a width, from drawn across to drawn along, in smooth parts.

    A pair that touches in the sheet drawn across parts at some width, and until s = `bend` it
    touches in the sheet drawn along too. So there are three parts: all widths before the bend,
    and after it those with that contact and those without. Kept are shares, which change slowly:
    of the way from the one pitch along to the other, and of that from the one pitch across to
    the other.

    Args:
        weave: the weave.
        first: the sheet at the limit.
        bend: where the contacts of the sheet drawn along change, in s.
        furthest: the greatest aspect ratio.
    """
    span = math.sqrt(furthest - first.aspect)
    early = bend * np.array([0.25, 0.45, 0.65, 0.85, 1.0])
    late = bend + (span - bend) * np.linspace(0.0, 1.0, HELD_ROWS) ** 1.7
    narrow, wide = first, first
    parts: dict[str, list[_Row]] = {"all": [], "touching": [], "parted": []}
    for mark in (*early, *late[1:]):
        aspect = first.aspect + float(mark) ** 2
        narrow = solve(weave, "across", aspect, [narrow])
        wide = solve(weave, "along", aspect, [wide])
        if mark <= bend:
            row = _held_row(weave, float(mark), narrow, wide, 0.0, 1.0, narrow)
            parts["all"].append(row)
            if mark < bend:
                continue
            # Where both parts begin, the second has no width yet.
            end = tuple([v[-1]] * len(HELD_SHARES) for v in row[3])
            parts["touching"].append(row)
            parts["parted"].append((float(mark), 1.0, 1.0, end))
            continue
        share, kink = _parting(weave, narrow, wide)
        parts["touching"].append(_held_row(weave, float(mark), narrow, wide, 0.0, share, narrow))
        parts["parted"].append(_held_row(weave, float(mark), narrow, wide, share, 1.0, kink))
    return [
        _part(weave, [_limit_row(first, parts["all"]), *parts["all"]]),
        _part(weave, parts["touching"]),
        _part(weave, parts["parted"]),
    ]


_Row = tuple[float, float, float, tuple[list[float], ...]]
"""Of one aspect ratio: s, the first and the last share of the pitch along, and at `HELD_SHARES`
of the way between them the share of the pitch across and the unknowns from the third."""


def _held_row(
    weave: Weave, mark: float, narrow: State, wide: State, low: float, high: float, start: State
) -> _Row:
    one, other = narrow.unknowns, wide.unknowns
    states = [start]
    for part in HELD_SHARES[1:]:
        share = low + (high - low) * float(part)
        if share >= 1.0:
            states.append(wide)
            continue
        along = one[0] + share * (other[0] - one[0])
        states.append(_held_from(weave, states[-1], along))
    columns = [[(s.unknowns[1] - other[1]) / (one[1] - other[1]) for s in states]]
    columns += [[s.unknowns[i] for s in states] for i in range(2, len(one))]
    return mark, low, high, tuple(columns)


def _held_from(weave: Weave, last: State, along: float, turns: int = 6) -> State:
    """The longest sheet across at a pitch along, from one near by; by halves where that fails."""
    try:
        return solve(weave, "across", last.aspect, [last], along)
    except ArithmeticError:
        if turns == 0:
            raise
    half = _held_from(weave, last, 0.5 * (last.unknowns[0] + along), turns - 1)
    return _held_from(weave, half, along, turns - 1)


def _parting(weave: Weave, narrow: State, wide: State) -> tuple[float, State]:
    """The share of the way from drawn across to drawn along where a contact of the sheet drawn
    across is lost, and the sheet there.
    """
    lost = tuple(p for p in narrow.touching if p not in wide.touching)
    low, high = narrow.unknowns[0], wide.unknowns[0]
    family, sizes = family_of(weave), equal_rings(weave, narrow.aspect)
    share, last, top = 0.0, narrow, 1.0
    parted: list[tuple[float, float]] = []  # share and gap, nearest last; the gap opens evenly
    for _turn in range(60):
        middle = 0.5 * (share + top)
        if share > 0 and len(parted) > 1:
            (s2, g2), (s1, g1) = parted[-2:]
            root = s1 - g1 * (s2 - s1) / (g2 - g1) if g2 > g1 else middle
            if share < root < top:
                if top - root < 2e-5 * top:
                    return root, _held_from(weave, last, low + root * (high - low))
                middle = root + 0.1 * (top - root)
        state = _held_from(weave, last, low + middle * (high - low))
        gap = float(np.min(_gaps(weave, family, lost, np.array(state.unknowns), sizes)))
        if gap < CLOSE:
            share, last = middle, state
        else:
            top = middle
            parted.append((middle, gap))
            if top <= LEAST_PART:
                return top, state
        if top - share < 1e-5 * top:
            break
    return share, last


def _gaps(
    weave: Weave, family: Family, which: tuple[Pair, ...], unknowns: Floats, sizes: Rings
) -> Floats:
    a, b = place_pairs(weave, family, which, unknowns, sizes)
    return distances(a, b) - contact_distances(a, b)


def _limit_row(first: State, rows: list[_Row]) -> _Row:
    """At the limit there is one sheet; the shares there are those they tend to."""
    marks = np.array([r[0] for r in rows[:4]])
    weights = [np.prod([m / (m - o) for m in marks if m != o]) for o in marks]
    shares = [float(np.dot(weights, v)) for v in zip(*(r[3][0] for r in rows[:4]), strict=True)]
    hidden = [[v] * len(shares) for v in first.unknowns[2:]]
    return 0.0, 0.0, 1.0, (shares, *hidden)


def _part(weave: Weave, rows: list[_Row]) -> dict[str, Any]:
    names = ("across_share", *family_of(weave).unknowns[2:])
    return {
        "s": [round(r[0], 10) for r in rows],
        "low": [round(r[1], 10) for r in rows],
        "high": [round(r[2], 10) for r in rows],
        "share": [round(float(v), 10) for v in HELD_SHARES],
        **{n: [[round(v, 9) for v in r[3][i]] for r in rows] for i, n in enumerate(names)},
    }


def table(weave: Weave, furthest: float = FURTHEST) -> dict[str, Any]:
    """The weave's table: per lay, segments of nodes in s = sqrt(aspect - limit) with slopes.

    In s even the first stretch, where pitches leave the limit like a square root, is smooth.
    """
    from scipy.interpolate import CubicSpline

    first = limit(weave)
    names = family_of(weave).unknowns
    lays: dict[str, Any] = {}
    for kind in GOALS:
        segments = []
        for states in trace(weave, kind, first, furthest):
            s = np.sqrt(np.maximum([x.aspect - first.aspect for x in states], 0.0))
            columns: dict[str, Any] = {"s": [round(float(v), 10) for v in s]}
            for i, name in enumerate(names):
                values = np.array([x.unknowns[i] for x in states])
                slope = CubicSpline(s, values)(s, 1) if len(s) > 1 else np.zeros(1)
                columns[name] = [round(float(v), 9) for v in values]
                columns[name + "_slope"] = [round(float(v), 8) for v in slope]
            segments.append({"touching": states[-1].touching, **columns})
        lays[kind] = segments
    return {
        "weave": weave.id,
        "limit": first.aspect,
        "furthest": furthest,
        "about": "lengths in wire diameters; s = sqrt(aspect ratio - limit); "
        "renew with: python -m core.weave.solve",
        "lays": lays,
        "held": held_parts(weave, first, lays["along"][1]["s"][0], furthest),
    }


def main(wanted: list[str]) -> int:
    """Renew the tables of some weaves, or of all that are solved here."""
    folder = Path(__file__).resolve().parents[2] / "resources" / "weaves"
    folder.mkdir(parents=True, exist_ok=True)
    for weave_id in wanted or list(STARTS):
        text = json.dumps(table(WEAVES[weave_id]), indent=None, separators=(",", ":"))
        for key in ("along", "across", "across_share", "held", "share", "gap"):
            text = text.replace(f',"{key}":', f',\n"{key}":')
        path = folder / f"{weave_id}.json"
        path.write_text(text.replace('{"touching"', '\n{"touching"') + "\n", encoding="utf-8")
        sys.stdout.write(f"{path.name}: {path.stat().st_size} bytes\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
