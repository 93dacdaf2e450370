"""Solve a weave's lays from contact and keep them as a table.

Run ``python -m core.weave.solve`` to renew ``resources/weaves``. Needs scipy; nothing at run
time does. Everything is in units of the wire, so a state depends on the aspect ratio alone.
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

from core.weave.cells import WEAVES, Floats, Weave
from core.weave.contact import contacts, distances, linked, pairs, place_pairs, unlike_pairs

FURTHEST = 40.0
SLOTS = 2  # local least distances looked at per pair
CLOSE = 1e-6
Pairs = tuple[tuple[int, int, int], ...]
GOALS: dict[str, tuple[float, float]] = {
    # weights of log(along), log(across) in what is made largest
    "spread": (1.0, 1.0),
    "along": (1.0, 0.0),
    "across": (0.0, 1.0),
}


@dataclass(frozen=True, slots=True)
class State:
    """A solved sheet in units of the wire: pitches, lean, and the pairs in contact."""

    aspect: float
    along: float
    across: float
    lean_rad: float
    touching: Pairs

    @property
    def area(self) -> float:
        """Area per ring, in wire diameters squared."""
        return self.along * self.across


def fits(weave: Weave, state: State, wire: float = 1.0) -> bool:
    """Whether no two rings are nearer than the wire and exactly the right pairs are linked."""
    radius = (state.aspect + 1) / 2
    rows = int((2 * radius + 2) // state.across) + 1
    sites = int((2 * radius + 2) // state.along) + 2
    which = pairs(weave, rows, sites)
    a, b = place_pairs(weave, which, state.along, state.across, state.lean_rad, radius)
    right = np.array([weave.linked(*p) for p in which])
    near = float(np.min(distances(a, b)))
    return near >= wire - 1e-7 and bool(np.all(linked(a, b) == right))


def _optimise(
    weave: Weave,
    which: Pairs,
    goal: Callable[[Floats], tuple[float, Floats]],
    start: Floats,
    aspect: float | None,
) -> Floats | None:
    """Least `goal` over (along, across, lean, aspect) with every pair a wire apart, or None.

    A given `aspect` is held; None frees it.
    """
    from scipy.optimize import minimize

    free = 3 if aspect is not None else 4
    kept: dict[bytes, tuple[Floats, Floats]] = {}

    def walls(x: Floats) -> tuple[Floats, Floats]:
        key = x.tobytes()
        if key not in kept:
            ratio = aspect if aspect is not None else float(x[3])
            found = contacts(weave, which, float(x[0]), float(x[1]), float(x[2]), (ratio + 1) / 2)
            gap = np.full((len(which), SLOTS), 10.0)
            slope = np.zeros((len(which), SLOTS, 4))
            used = [0] * len(which)
            for i in np.argsort(found.distance, kind="stable"):
                pair = int(found.pair[i])
                if used[pair] < SLOTS:
                    gap[pair, used[pair]] = found.distance[i] - 1.0
                    slope[pair, used[pair]] = found.slope[i] * (1, 1, 1, 0.5)
                    used[pair] += 1
            kept.clear()
            kept[key] = (gap.ravel(), slope.reshape(-1, 4)[:, :free])
        return kept[key]

    top = (aspect if aspect is not None else float(start[3])) + 2
    limits = [(0.2, 2 * top), (0.2, 2 * top), (0.02, 1.5), (1.0, 100.0)][:free]
    answer = minimize(
        goal,
        start[:free],
        jac=True,
        method="SLSQP",
        bounds=limits,
        constraints=[{"type": "ineq", "fun": lambda x: walls(x)[0], "jac": lambda x: walls(x)[1]}],
        options={"ftol": 1e-14, "maxiter": 300},
    )
    x: Floats = np.asarray(answer.x, dtype=np.float64)
    if not np.all(np.isfinite(x)) or np.min(walls(x)[0]) < -1e-7:
        return None
    return x


def limit(weave: Weave, start: tuple[float, float, float, float] = (2.5, 2.5, 0.58, 3.1)) -> State:
    """The smallest aspect ratio at which any state fits, and that state."""
    which = unlike_pairs(weave)

    def goal(x: Floats) -> tuple[float, Floats]:
        return float(x[3]), np.array([0.0, 0.0, 0.0, 1.0])

    rng = np.random.default_rng(1)
    best: State | None = None
    for turn in range(6):
        seed = np.array(start) * (1 + (rng.uniform(-0.1, 0.1, 4) if turn else 0))
        x = _optimise(weave, which, goal, seed, None)
        if x is None:
            continue
        state = _state(weave, which, x, float(x[3]))
        if fits(weave, state) and (best is None or state.aspect < best.aspect):
            best = state
    if best is None:
        raise ArithmeticError(f"{weave.id}: no state found from {start}")
    return best


def _state(weave: Weave, which: Pairs, x: Floats, aspect: float) -> State:
    along, across, lean = (float(v) for v in x[:3])
    gaps = distances(*place_pairs(weave, which, along, across, lean, (aspect + 1) / 2))
    touching = tuple(p for p, g in zip(which, gaps, strict=True) if g < 1 + CLOSE)
    return State(aspect, along, across, lean, touching)


def solve(weave: Weave, kind: str, aspect: float, starts: list[State]) -> State:
    """The state of that lay at that aspect ratio, best of what is reached from the starts.

    Args:
        weave: the weave.
        kind: "spread", "along" or "across".
        aspect: inner diameter over wire.
        starts: states near by (of other aspect ratios too); more starts, surer answer.

    Raises:
        ArithmeticError: nothing that fits was reached.
    """
    which = unlike_pairs(weave)
    weights = GOALS[kind]

    def goal(x: Floats) -> tuple[float, Floats]:
        value = -weights[0] * math.log(x[0]) - weights[1] * math.log(x[1])
        return value, np.array([-weights[0] / x[0], -weights[1] / x[1], 0.0])

    best: State | None = None
    best_value = math.inf
    for start in starts:
        scale = (aspect + 1) / (start.aspect + 1)
        for shrink in (1.0, 0.93):
            seed = np.array([start.along * scale * shrink, start.across * scale, start.lean_rad])
            x = _optimise(weave, which, goal, seed, aspect)
            if x is None:
                continue
            state, value = _state(weave, which, x, aspect), goal(x)[0]
            if value < best_value - 1e-13 and fits(weave, state):
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


def table(weave: Weave, furthest: float = FURTHEST) -> dict[str, Any]:
    """The weave's table: per lay, segments of nodes in s = sqrt(aspect - limit) with slopes.

    In s even the first stretch, where pitches leave the limit like a square root, is smooth.
    """
    from scipy.interpolate import CubicSpline

    first = limit(weave)
    lays: dict[str, Any] = {}
    for kind in GOALS:
        segments = []
        for states in trace(weave, kind, first, furthest):
            s = np.sqrt(np.maximum([x.aspect - first.aspect for x in states], 0.0))
            columns: dict[str, Any] = {"s": [round(float(v), 10) for v in s]}
            for name in ("along", "across", "lean_rad"):
                values = np.array([getattr(x, name) for x in states])
                slope = CubicSpline(s, values)(s, 1)
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
    }


def main() -> int:
    """Renew every weave's table."""
    folder = Path(__file__).resolve().parents[2] / "resources" / "weaves"
    folder.mkdir(parents=True, exist_ok=True)
    for weave in WEAVES.values():
        text = json.dumps(table(weave), indent=None, separators=(",", ":"))
        text = text.replace('{"touching"', '\n{"touching"').replace(',"along', ',\n"along')
        path = folder / f"{weave.id}.json"
        path.write_text(text.replace(',"across', ',\n"across') + "\n", encoding="utf-8")
        sys.stdout.write(f"{path.name}: {path.stat().st_size} bytes\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
