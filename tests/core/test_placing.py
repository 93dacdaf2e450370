"""Centred placings: even left and right, and none of them holds more than the best."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.fill import BODY, count_rings, fill_panel, sites
from core.panel import Panel
from core.placing import best_centred_origin, centred_origins
from core.weave.cells import EUROPEAN_4_IN_1
from core.weave.lay import Lay, solve_lay
from tests.core.shapes import WEAVE, rectangle

SHEET = solve_lay(WEAVE, 1.0, 5.0, Lay("laid"))


def panel(outline, grain, origin=(0.0, 0.0), rule="whole"):
    x, y = origin
    return Panel(
        1, "", outline, 1, WEAVE, grain_deg=grain, origin_x_mm=x, origin_y_mm=y, rule=rule
    )  # fmt: skip


def count(outline, grain, origin):
    return count_rings(panel(outline, grain, origin), SHEET)


@given(st.floats(20, 90), st.floats(20, 90), st.sampled_from([0.0, 90.0, -90.0]))
def test_every_centred_placing_is_even_left_and_right(w, h, grain):
    outline = rectangle(w, h, 3.0, 7.0)
    for origin in centred_origins(outline, EUROPEAN_4_IN_1, SHEET, grain):
        made = fill_panel(panel(outline, grain, origin), SHEET)
        found = sites(made)
        along, across = (found.x_mm, found.y_mm) if grain == 0 else (found.y_mm, found.x_mm)
        middle = 3.0 + w / 2 if grain == 0 else 7.0 + h / 2
        places = {(round(u - middle, 5), round(v, 5)) for u, v in zip(along, across, strict=True)}
        assert places == {(-u + 0.0, v) for u, v in places}


@given(st.floats(20, 90), st.floats(20, 90), st.floats(-90, 90))
def test_the_best_holds_as_many_as_any_centred_placing(w, h, grain):
    outline = rectangle(w, h)
    best = best_centred_origin(panel(outline, grain), SHEET)
    every = [
        count(outline, grain, o) for o in centred_origins(outline, EUROPEAN_4_IN_1, SHEET, grain)
    ]
    assert count(outline, grain, best) == max(every)


def test_rows_lie_flush_where_the_height_just_fits():
    """Seven rows fit exactly; with a row in the middle they do, with a gap there one is lost."""
    height = 6 * SHEET.across_mm + 2 * SHEET.half_across_mm
    outline = rectangle(60.0, height)
    best = best_centred_origin(panel(outline, 0.0), SHEET)
    made = fill_panel(panel(outline, 0.0, best), SHEET)
    assert len(set(made.rows[made.runs[:, 2] == BODY].tolist())) == 7
    assert math.isclose(best[1] % SHEET.across_mm, (height / 2) % SHEET.across_mm)
    x, y = best
    fewer = count(outline, 0.0, (x, y + SHEET.across_mm / 2))
    assert count(outline, 0.0, best) > fewer


@pytest.mark.parametrize("wanted", ["whole", "centre"])
def test_counting_alone_equals_the_fill(wanted):
    outline = rectangle(73.0, 41.0)
    made = fill_panel(panel(outline, 17.0, (1.0, 2.0), wanted), SHEET)
    alone = count_rings(panel(outline, 17.0, (1.0, 2.0), wanted), SHEET)
    assert alone == made.count(BODY)
