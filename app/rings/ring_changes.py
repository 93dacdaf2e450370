"""What changed between two pictures of a fill, so that only that is painted again."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRect

from core.fill import Fill
from core.weave.cells import weave as find_weave
from core.weave.sheet import SolvedLay

Floats = NDArray[np.float64]

MOST_CHANGED = 6000
"""With more changed rings than this, painting all is as quick."""

LEAST_TILE_PX = 96


def changed_places(old: Fill, new: Fill, solved: SolvedLay, grain_rad: float) -> Floats | None:
    """The sites whose rings came, went or took another role, mm, (n, 2).

    Args:
        old: a fill of that sheet and grain.
        new: another.
        solved: the sheet.
        grain_rad: the grain.

    Returns:
        None when the two do not lie on one lattice, or too much changed to be worth telling.
    """
    if old is new:
        return np.empty((0, 2))
    step = solved.along_mm * np.array([math.cos(grain_rad), math.sin(grain_rad)])
    down = solved.across_mm * np.array([-math.sin(grain_rad), math.cos(grain_rad)])
    weave = find_weave(solved.weave)
    phases = np.array([c.phase for c in weave.courses])
    rises = np.array([c.rise for c in weave.courses])

    def level(row: NDArray[np.int64]) -> Floats:
        cell, course = np.divmod(row, len(rises))
        out: Floats = cell * weave.height + rises[course]
        return out

    origins = [
        fill.place[:, :2]
        - (fill.runs[:, 3] + phases[fill.runs[:, 0]])[:, None] * step
        - level(fill.rows.astype(np.int64))[:, None] * down
        for fill in (old, new)
    ]
    every = np.concatenate(origins)
    if len(every) == 0:
        return np.empty((0, 2))
    if np.abs(every - every[0]).max() > 1e-6:
        return None
    at: list[NDArray[np.int64]] = []
    here: list[NDArray[np.int64]] = []
    there: list[NDArray[np.int64]] = []
    for fill, mark in ((old, here), (new, there)):
        line = (fill.rows.astype(np.int64) << 3 | fill.runs[:, 2]) << 32
        line = line + (1 << 31) + fill.runs[:, 3]
        at += [line, line + fill.runs[:, 4]]
        other = there if mark is here else here
        for sign in (1, -1):
            mark.append(np.full(len(line), sign))
            other.append(np.zeros(len(line), dtype=np.int64))
    place = np.concatenate(at)
    order = np.argsort(place, kind="stable")
    place = place[order]
    one = np.cumsum(np.concatenate(here)[order])
    two = np.cumsum(np.concatenate(there)[order])
    differ = np.nonzero((one != two)[:-1])[0]
    first, count = place[differ], place[differ + 1] - place[differ]
    total = int(count.sum())
    if total > MOST_CHANGED:
        return None
    which = np.repeat(np.arange(len(first)), count)
    ring = first[which] + np.arange(total) - (np.cumsum(count) - count)[which]
    row = ring >> 35
    k = (ring & 0xFFFFFFFF) - (1 << 31) + phases[row % len(phases)]
    out: Floats = every[0] + k[:, None] * step + level(row)[:, None] * down
    return out


def rects_around(x: Floats, y: Floats, reach: float, whole: QRect) -> list[QRect]:
    """Rectangles that cover everything within `reach` of the points, and do not overlap.

    Args:
        x: (n,), pixels.
        y: (n,).
        reach: pixels.
        whole: what is in view; the rectangles keep inside it.
    """
    tile = max(LEAST_TILE_PX, math.ceil(2 * reach) + 1)
    wide, high = -(-whole.width() // tile), -(-whole.height() // tile)
    marked = np.zeros((high, wide), dtype=bool)
    for dx in (-reach, reach):
        for dy in (-reach, reach):
            columns = np.floor((x + dx) / tile).astype(np.int64)
            rows = np.floor((y + dy) / tile).astype(np.int64)
            seen = (columns >= 0) & (columns < wide) & (rows >= 0) & (rows < high)
            marked[rows[seen], columns[seen]] = True
    if marked.sum() > 0.6 * marked.size:
        return [whole]
    rects: list[QRect] = []
    above: dict[tuple[int, int], int] = {}
    for row in range(high):
        line = np.flatnonzero(np.diff(np.concatenate([[0], marked[row], [0]])))
        now: dict[tuple[int, int], int] = {}
        for start, end in zip(line[::2].tolist(), line[1::2].tolist(), strict=True):
            rect = QRect(start * tile, row * tile, (end - start) * tile, tile)
            if (start, end) in above:  # the same stretch as in the row above: one rectangle
                now[start, end] = above[start, end]
                rects[now[start, end]] = rects[now[start, end]].united(rect)
            else:
                now[start, end] = len(rects)
                rects.append(rect)
        above = now
    return [rect.intersected(whole) for rect in rects]


def rects_exposed(dx: int, dy: int, whole: QRect) -> list[QRect]:
    """What a picture moved by whole pixels leaves bare."""
    rects = []
    if dy:
        top = 0 if dy > 0 else whole.height() + dy
        rects.append(QRect(0, top, whole.width(), abs(dy)))
    if dx:
        left = 0 if dx > 0 else whole.width() + dx
        top = max(dy, 0)
        rects.append(QRect(left, top, abs(dx), whole.height() - abs(dy)))
    return [r for r in (rect.intersected(whole) for rect in rects) if not r.isEmpty()]
