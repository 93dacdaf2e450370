"""Where the rows of a panel start: placings that lie evenly about the middle of its outline."""

from __future__ import annotations

import numpy as np

from core.fill import count_rings
from core.outline import Outline, flatten
from core.panel import EdgeFinish, PlacingRule
from core.rows import lattice_of
from core.weave.cells import Weave
from core.weave.lay import SolvedLay

STEPS = 8
"""Heights tried from one row to the next."""


def centred_origins(
    outline: Outline, weave: Weave, solved: SolvedLay, grain_deg: float
) -> tuple[tuple[float, float], ...]:
    """Origins whose rows end alike left and right of the middle of the outline's box.

    Args:
        outline: panel frame, mm.
        weave: how rings are linked.
        solved: pitch of the rings.
        grain_deg: angle of the rows; the box is taken along and across them.

    Returns:
        Panel frame. The first two, a ring and a gap of a row in the middle, are even across the
        rows, too; the others raise those by parts of the way to the next row.
    """
    lattice = lattice_of(weave, solved, grain_deg, 0.0, 0.0)
    points = lattice.to_lattice(flatten(outline.rim).points)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    shifts = [
        (share * solved.along_mm, step / STEPS * solved.across_mm)
        for step in range(STEPS)
        for share in (0.0, 0.5)
    ]
    placed = lattice.to_panel(middle + np.array(shifts))
    return tuple((float(x), float(y)) for x, y in placed)


def best_centred_origin(
    outline: Outline,
    weave: Weave,
    solved: SolvedLay,
    grain_deg: float,
    rule: PlacingRule,
    edges: tuple[EdgeFinish, ...] = (),
) -> tuple[float, float]:
    """The centred origin that holds most rings; the evenest of equals.

    Raises as `core.fill.fill_panel`.
    """
    origins = centred_origins(outline, weave, solved, grain_deg)
    counts = [count_rings(outline, edges, weave, solved, grain_deg, x, y, rule) for x, y in origins]
    return origins[counts.index(max(counts))]
