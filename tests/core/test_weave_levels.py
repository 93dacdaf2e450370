"""Over and under: every crossing of a patch is drawn the right way up."""

import itertools
import math

import numpy as np
import pytest

from core.weave.cells import EUROPEAN_4_IN_1, leaning_rows
from core.weave.lay import LAY_KINDS, Lay, Swatch, solve_lay
from core.weave.levels import ring_levels

E41 = "european-4-in-1"


def level_at(arcs, angle):
    found = [
        level
        for level, start, end in arcs
        for turn in (-2 * math.pi, 0, 2 * math.pi)
        if start <= angle + turn < end
    ]
    assert len(found) == 1  # the arcs cover the ring once
    return found[0]


def crossings(lay):
    """Every projected crossing of a 5 x 5 patch: (course, angle, height) of both rings.

    All rings look like the same ellipse, so stretched by 1/cos(lean) along x they are circles,
    and two circles of radius R a distance D apart cross at their midpoint, sqrt(R^2 - D^2/4) to
    either side.
    """
    rows, sites = (g.ravel() for g in np.meshgrid(np.arange(5), np.arange(5), indexing="ij"))
    r, lean = lay.centreline_mm, lay.lean_rad
    placed = leaning_rows(EUROPEAN_4_IN_1, lay.along_mm, lay.across_mm, lean, r, rows, sites)
    flat = placed.centre[:, :2] / (math.cos(lean), 1)
    for i in range(25):
        for j in range(i):
            gap = flat[i] - flat[j]
            size = float(np.hypot(*gap))
            if size >= 2 * r * (1 - 1e-9):
                continue
            side = np.array([-gap[1], gap[0]]) / size * math.sqrt(r * r - size * size / 4)
            for sign in (1, -1):
                at = (flat[i] + flat[j]) / 2 + sign * side
                pair = []
                for k in (i, j):
                    x, y = at - flat[k]
                    angle = math.atan2(y, x)
                    height = r * math.cos(angle) * placed.u[k, 2]
                    pair.append((int(rows[k]) % 2, angle, height))
                yield pair


def check(lay):
    arcs = ring_levels(lay)
    seen = 0
    for (course_a, angle_a, height_a), (course_b, angle_b, height_b) in crossings(lay):
        a, b = level_at(arcs[course_a], angle_a), level_at(arcs[course_b], angle_b)
        assert height_a != pytest.approx(height_b, abs=1e-6)
        assert (a > b) == (height_a > height_b)
        assert a != b
        seen += 1
    return seen


@pytest.mark.parametrize("kind", LAY_KINDS[:4])
@pytest.mark.parametrize("aspect", [2.99, 3.2, 3.6, 4.0, 5.0, 6.3, 8.0, 10.0, 25.0])
def test_the_higher_arc_is_drawn_later(kind, aspect):
    lay = solve_lay(E41, 1.3, 1.3 * aspect, Lay(kind))
    assert check(lay) > 50
    assert 1 + max(level for arcs in ring_levels(lay) for level, _, _ in arcs) <= 3


@pytest.mark.parametrize("along,across", [(3.0, 4.0), (2.6, 3.6), (4.4, 4.0), (5.3, 3.55)])
def test_also_on_measured_sheets(along, across):
    lay = solve_lay(E41, 1.0, 5.0, Lay("swatch", Swatch(10, 10, 10 * along, 10 * across)))
    assert lay.feasible
    assert check(lay) > 50


def test_arcs_cover_the_ring_once():
    for aspect in (3.1, 5.0, 9.0):
        for arcs in ring_levels(solve_lay(E41, 1.0, aspect, Lay("spread"))):
            assert sum(end - start for _level, start, end in arcs) == pytest.approx(2 * math.pi)
            for (_a, _s, end), (_b, start, _e) in itertools.pairwise(arcs):
                assert start == pytest.approx(end)
                assert _a != _b


def test_impossible_sheets_are_still_drawn():
    lay = solve_lay(E41, 1.0, 5.0, Lay("swatch", Swatch(10, 10, 12, 12)))
    assert not lay.feasible
    for arcs in ring_levels(lay):
        assert sum(end - start for _level, start, end in arcs) == pytest.approx(2 * math.pi)
