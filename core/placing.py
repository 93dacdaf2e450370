"""Where the rows of a panel start: placings that lie evenly about the middle of its outline."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.fill import count_rings
from core.outline import Outline, flatten
from core.panel import Panel
from core.rows import lattice_of
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
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


def best_centred_origin(panel: Panel, solved: SolvedLay) -> tuple[float, float]:
    """The centred origin with which the panel holds most rings; the evenest of equals.

    Raises as `core.fill.fill_panel`.
    """
    weave = find_weave(panel.weave)
    origins = centred_origins(panel.outline, weave, solved, panel.grain_deg)
    counts = [count_rings(replace(panel, origin_x_mm=x, origin_y_mm=y), solved) for x, y in origins]
    return origins[counts.index(max(counts))]
