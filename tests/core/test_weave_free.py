"""No sheet without symmetry is larger than the spread one; the long form is a benchmark.

``python -m tests.bench.bench_weaves`` searches every weave at three aspect ratios.
"""

import numpy as np
import pytest

from core.weave.cells import WEAVES
from core.weave.contact import distances, place_pairs, unlike_pairs
from core.weave.families import family_of
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.solve import equal_rings
from tests.bench.free_sheets import best_free, bound, embedded, free_family, twice
from tests.core.sheets import JAPANESE


def spread(weave_id, times=1.4):
    aspect = limit_aspect_ratio(weave_id) * times
    return aspect, solve_lay(weave_id, 1.0, aspect, Lay("spread")).unknowns


@pytest.mark.parametrize("weave_id", sorted(WEAVES))
def test_the_free_family_holds_the_weaves_own_sheets(weave_id):
    weave = WEAVES[weave_id]
    aspect, own = spread(weave_id)
    rings, which = equal_rings(weave, aspect), unlike_pairs(weave, 3, 2)
    here = place_pairs(weave, family_of(weave), which, np.array(own), rings)
    at = embedded(weave, np.array(own), aspect)
    there = place_pairs(weave, free_family(weave), which, at, rings)
    assert distances(*there) == pytest.approx(distances(*here), abs=1e-6)


@pytest.mark.parametrize("weave_id", ["european-4-in-1", "european-6-in-1", "japanese-square"])
def test_a_search_without_symmetry_finds_no_larger_sheet(weave_id):
    aspect, own = spread(weave_id)
    best, reached = best_free(WEAVES[weave_id], own, aspect, starts=4)
    assert reached > 0
    assert 0.99 < best <= 1.0002


def test_a_search_would_find_a_larger_sheet():
    """From a sheet a tenth smaller it does."""
    aspect, own = spread("european-4-in-1")
    smaller = (own[0] * 0.95, own[1] * 0.95, *own[2:])
    assert best_free(WEAVES["european-4-in-1"], smaller, aspect, starts=3)[0] > 1.05


def test_a_cell_of_four_rows_is_no_larger_either():
    aspect, own = spread("european-4-in-1")
    best, reached = best_free(twice(WEAVES["european-4-in-1"]), own, aspect, starts=2)
    assert reached > 0
    assert 0.99 < best <= 1.0002


@pytest.mark.parametrize("weave_id", JAPANESE)
def test_flat_and_upright_rings_reach_what_their_links_allow(weave_id):
    aspect, own = spread(weave_id)
    most = bound(WEAVES[weave_id], equal_rings(WEAVES[weave_id], aspect))
    # the bound is per flat ring, and a row has one flat ring per pitch along and across
    assert own[0] * own[1] == pytest.approx(most, rel=1e-9)
