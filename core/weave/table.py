"""Reads the tables of solved sheets (see `core.weave.solve`) and interpolates in them.

Lengths are in wire diameters; s = sqrt(aspect ratio - limit).
"""

from __future__ import annotations

import json
import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from core.weave.cells import Weave
from core.weave.families import family_of

State = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Segment:
    """Nodes between two changes of contact: s, then values and slopes for each unknown."""

    s: tuple[float, ...]
    columns: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]

    def at(self, s: float) -> State:
        """The unknowns at s by cubic Hermite."""
        i = min(max(bisect_right(self.s, s) - 1, 0), len(self.s) - 2)
        h = self.s[i + 1] - self.s[i]
        t = (s - self.s[i]) / h
        u = 1 - t
        a, b = u * u * (1 + 2 * t), t * t * (3 - 2 * t)
        c, e = h * t * u * u, -h * t * t * u
        return tuple(a * v[i] + b * v[i + 1] + c * m[i] + e * m[i + 1] for v, m in self.columns)


@dataclass(frozen=True, slots=True)
class _Held:
    """Sheets held to a width while their contacts stay the same: values over a grid.

    Args:
        s: of each row.
        low, high: of each row, the first and last share of the way from drawn across to drawn
            along.
        share: of the way between those two.
        columns: first the share of the pitch across, then the unknowns from the third.
    """

    s: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    share: tuple[float, ...]
    columns: tuple[tuple[tuple[float, ...], ...], ...]

    def ends(self, s: float) -> tuple[float, float]:
        """The first and last share there."""
        rows, weights = _cubic(self.s, s)

        def end(nodes: tuple[float, ...]) -> float:
            # Where a contact goes falls like a power of s, so its logarithm is what is even.
            if nodes[0] == 0.0:
                return 0.0
            return math.exp(sum(p * math.log(nodes[i]) for i, p in zip(rows, weights, strict=True)))

        return end(self.low), end(self.high)

    def at(self, s: float, share: float) -> State:
        """Every column there, by cubics through the four nearest nodes each way."""
        low, high = self.ends(s)
        part = min(max((share - low) / (high - low), 0.0), 1.0) if high > low else 1.0
        rows, row_weights = _cubic(self.s, s)
        nodes, weights = _cubic(self.share, part)
        return tuple(
            sum(
                p * sum(q * column[i][j] for j, q in zip(nodes, weights, strict=True))
                for i, p in zip(rows, row_weights, strict=True)
            )
            for column in self.columns
        )


def _cubic(nodes: tuple[float, ...], x: float) -> tuple[range, list[float]]:
    """Lagrange weights of the four nodes about x."""
    first = min(max(bisect_right(nodes, x) - 2, 0), len(nodes) - 4)
    near = range(first, first + 4)
    weights = []
    for i in near:
        weight = 1.0
        for j in near:
            if i != j:
                weight *= (x - nodes[j]) / (nodes[i] - nodes[j])
        weights.append(weight)
    return near, weights


@dataclass(frozen=True, slots=True)
class Table:
    """One weave's solved sheets.

    Args:
        limit: the smallest aspect ratio with any sheet.
        furthest: the greatest aspect ratio in the table.
    """

    limit: float
    furthest: float
    lays: dict[str, tuple[tuple[float, ...], tuple[_Segment, ...]]]
    held_parts: tuple[_Held, ...]

    def state(self, kind: str, aspect: float) -> State:
        """The unknowns of the sheet "spread" or drawn "along" or "across"."""
        s = math.sqrt(max(aspect - self.limit, 0.0))
        begins, segments = self.lays[kind]
        return segments[max(bisect_right(begins, s) - 1, 0)].at(s)

    def held(self, aspect: float, along: float) -> State:
        """The unknowns of the longest sheet across at a pitch along.

        Args:
            aspect: inner diameter over wire.
            along: between those drawn across and drawn along, ends included.
        """
        narrow, wide = self.state("across", aspect), self.state("along", aspect)
        span = wide[0] - narrow[0]
        share = (along - narrow[0]) / span if span > 0 else 0.0
        share = min(max(share, 0.0), 1.0)
        # A ratio at the table's end may round to a hair beyond it.
        furthest = max(p.s[-1] for p in self.held_parts)
        s = min(math.sqrt(max(aspect - self.limit, 0.0)), furthest)
        here = [p for p in self.held_parts if p.s[0] <= s <= p.s[-1]] or [self.held_parts[0]]
        mine = next((p for p in here if share <= p.ends(s)[1]), here[-1])
        part, *rest = mine.at(s, share)
        return (along, wide[1] + part * (narrow[1] - wide[1]), *rest)


@lru_cache(maxsize=16)
def table_of(weave: Weave) -> Table:
    """The table of a row-built weave."""
    text = resources.files("resources").joinpath("weaves", f"{weave.id}.json").read_text("utf-8")
    data: dict[str, Any] = json.loads(text)
    names = family_of(weave).unknowns
    lays = {}
    for kind, rows in data["lays"].items():
        segments = tuple(
            _Segment(
                tuple(row["s"]),
                tuple((tuple(row[n]), tuple(row[n + "_slope"])) for n in names),
            )
            for row in rows
            if len(row["s"]) > 1
        )
        lays[kind] = (tuple(s.s[0] for s in segments), segments)
    held = tuple(
        _Held(
            tuple(part["s"]),
            tuple(part["low"]),
            tuple(part["high"]),
            tuple(part["share"]),
            tuple(tuple(tuple(r) for r in part[n]) for n in ("across_share", *names[2:])),
        )
        for part in data["held"]
    )
    return Table(float(data["limit"]), float(data["furthest"]), lays, held)
