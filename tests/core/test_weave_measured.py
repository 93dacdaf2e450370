"""Swatches: measured pitches, the sheet that has them, or the nearest that is possible."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import nnls

from core.errors import BadValue
from core.weave.cells import WEAVES
from core.weave.contact import clearance, rightly_linked
from core.weave.families import RingSize, family_of
from core.weave.lay import Lay, Swatch, limit_aspect_ratio, solve_lay
from core.weave.measured import _push, nearest_sheet, roomiest
from core.weave.table import table_of
from tests.core.sheets import Case

E41 = "european-4-in-1"


def swatch(along, across, n=10, m=8):
    return Lay("swatch", Swatch(n, m, n * along, m * across))


def room(solved, pitches=None):
    weave = WEAVES[solved.weave]
    unknowns = (*(pitches or solved.unknowns[:2]), *solved.unknowns[2:])
    return clearance(weave, family_of(weave), np.array(unknowns), solved.rings_mm)


MODEL = [(w, times) for w in WEAVES for times in ((1.1, 1.7) if w != "doubled-4-in-1" else (1.3,))]


@pytest.mark.parametrize(("weave_id", "times"), MODEL)
def test_a_swatch_of_model_mail_is_the_model(weave_id, times):
    ratio = limit_aspect_ratio(weave_id) * times
    for kind in ("laid", "spread", "along", "across"):
        wire = 1.2
        model = solve_lay(weave_id, wire, wire * ratio, Lay(kind))
        # a hair towards laid, so that round-off decides nothing
        laid = solve_lay(weave_id, wire, wire * ratio, Lay("laid"))
        along, across = (
            m + 0.02 * (other - m)
            for m, other in zip(model.unknowns[:2], laid.unknowns[:2], strict=True)
        )
        lay = solve_lay(weave_id, wire, wire * ratio, swatch(along, across))
        assert lay.feasible and lay.nearest_mm is None, kind
        assert (lay.along_mm, lay.across_mm) == pytest.approx((along, across))
        # No ruler shows how far the rings of a pair have slipped.
        near = 0.12 if weave_id == "doubled-4-in-1" else 0.09
        assert lay.thickness_mm == pytest.approx(model.thickness_mm, rel=near)
        assert room(lay) >= -1e-6 * wire
        assert rightly_linked(
            WEAVES[weave_id], family_of(WEAVES[weave_id]), np.array(lay.unknowns), lay.rings_mm
        )


WISHES = [
    (E41, (1.09, 1.02)),
    (E41, (0.67, 1.35)),
    (E41, (1.12, 0.93)),
    (E41, (0.76, 0.86)),
    (E41, (1.33, 1.13)),
    ("european-6-in-1", (1.1, 1.05)),
    ("european-6-in-1", (0.8, 0.8)),
    ("european-8-in-1", (1.06, 1.1)),
    ("doubled-4-in-1", (1.08, 1.04)),
    ("japanese-square", (1.1, 1.05)),
    ("japanese-square", (0.7, 0.75)),
    ("japanese-hexagonal", (1.05, 1.1)),
    ("japanese-hexagonal", (0.72, 0.8)),
]


@pytest.mark.parametrize(("weave_id", "times"), WISHES, ids=str)
def test_an_impossible_swatch_names_the_nearest_that_is_possible(weave_id, times):
    ratio = 5.0 if weave_id == E41 else limit_aspect_ratio(weave_id) * 1.3
    model = solve_lay(weave_id, 1.0, ratio, Lay("spread"))
    along, across = model.along_mm * times[0], model.across_mm * times[1]
    lay = solve_lay(weave_id, 1.0, ratio, swatch(along, across))
    assert not lay.feasible
    assert lay.along_mm == pytest.approx(along) and lay.across_mm == pytest.approx(across)
    p, q = lay.nearest_mm
    assert room(lay, (p, q)) >= -2e-6
    off = math.hypot(math.log(p / along), math.log(q / across))
    # a ring of other wishes, a twentieth nearer, all around: none of them fits
    count = 12 if weave_id == "doubled-4-in-1" else 30
    for turn in np.linspace(0, 2 * math.pi, count, endpoint=False):
        x = along * math.exp(0.95 * off * math.cos(turn))
        y = across * math.exp(0.95 * off * math.sin(turn))
        found = roomiest(WEAVES[weave_id], x, y, lay.rings_mm)
        assert found is None or found[1] < 0, (turn, found)


@pytest.mark.parametrize("weave_id", [E41, "japanese-hexagonal"])
def test_roomiest_is_as_roomy_as_a_fine_search(weave_id):
    weave = WEAVES[weave_id]
    model = Case(weave_id, limit_aspect_ratio(weave_id) * 1.4, "laid").solve()
    state, space = roomiest(weave, model.along_mm, model.across_mm, model.rings_mm)
    assert space == pytest.approx(
        clearance(weave, family_of(weave), np.array(state), model.rings_mm), abs=1e-9
    )
    for lean in np.linspace(0.1, 1.2, 56) if weave_id == E41 else ():
        other = np.array([model.along_mm, model.across_mm, lean])
        if rightly_linked(weave, family_of(weave), other, model.rings_mm):
            assert clearance(weave, family_of(weave), other, model.rings_mm) <= space + 1e-4


def test_hasty_swatches_still_get_an_answer():
    for along, across in ((2, 2.2), (7, 5), (0.8, 4.5), (9, 1)):
        lay = solve_lay(E41, 1.0, 5.0, swatch(along, across))
        assert not lay.feasible
        assert room(lay, lay.nearest_mm) >= -2e-6


@pytest.mark.parametrize("weave_id", sorted(WEAVES))
def test_a_swatch_that_no_mail_can_have_is_refused_in_words(weave_id):
    """Linked centres lie at most an inner diameter apart, neighbours at least a wire."""
    ratio = limit_aspect_ratio(weave_id) * 1.3
    model = solve_lay(weave_id, 1.0, ratio, Lay("spread"))
    for along, across in ((1.8, 2.2), (0.01, 5), (1.0, 0.01)):
        wish = swatch(model.along_mm * along, model.across_mm * across)
        with pytest.raises(BadValue, match="check the unit"):
            solve_lay(weave_id, 1.0, ratio, wish)


@pytest.mark.parametrize("weave_id", sorted(WEAVES))
def test_a_swatch_of_one_ring_is_refused_in_words(weave_id):
    for n, m in ((1, 8), (8, 1), (1, 1), (0, 5)):
        with pytest.raises(BadValue, match="at least 2 rings along and 2 rows") as caught:
            solve_lay(weave_id, 1.0, 7.0, swatch(5.0, 4.0, n, m))
        assert caught.value.do


@pytest.mark.parametrize("piece", [None, Swatch(5, 5, -1, 10), Swatch(5, 5, 10, math.nan)])
def test_bad_swatches_are_refused(piece):
    with pytest.raises(BadValue):
        solve_lay(E41, 1.0, 5.0, Lay("swatch", piece))


def test_nearest_sheet_leaves_a_possible_wish_alone():
    start = table_of(WEAVES[E41]).state("spread", 5.0)
    near = nearest_sheet(WEAVES[E41], 5.0, 3.7, (RingSize(1.0, 3.0),), [start])
    assert near[:2] == pytest.approx((5.0, 3.7), abs=1e-6)


@given(st.integers(1, 4), st.integers(0, 10**6))
def test_a_push_clears_every_wall_by_the_least_move(walls, seed):
    # Least moves are known by what holds them: forces out of the walls that are touched.
    random = np.random.default_rng(seed)
    wall = random.normal(size=(walls, 5))
    need = np.minimum(wall @ random.normal(size=5), random.normal(size=walls))  # can be met
    pull, stiff = random.normal(size=5), random.uniform(0.1, 2.0, 5)
    move = _push(pull, stiff, wall, need)
    over = wall @ move - need
    assert over.min() > -1e-6
    touched = wall[over < 1e-5]
    held = stiff * move + pull
    unheld = nnls(touched.T, held)[1] if len(touched) else np.linalg.norm(held)
    assert unheld == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize("weave_id", [E41, "doubled-4-in-1"])
def test_a_swatch_is_refused_where_linked_rings_would_be_half_again_too_far_apart(weave_id):
    # Rings of 6 wires inside, linked: centres at most 2 R - d = 6 wires apart; pairs no farther.
    for along_by_across in (0.6, 1.0, 1.5):
        for apart, is_refused in ((8.9, False), (9.1, True)):
            across = apart / math.hypot(along_by_across / 2, 1.0)
            lay = swatch(along_by_across * across, across)
            if is_refused:
                with pytest.raises(BadValue, match="cannot have"):
                    solve_lay(weave_id, 1.0, 6.0, lay)
            else:
                assert not solve_lay(weave_id, 1.0, 6.0, lay).feasible
    for kind in ("laid", "spread", "along", "across"):
        sheet = solve_lay(weave_id, 1.0, 6.0, Lay(kind))
        assert math.hypot(sheet.along_mm / 2, sheet.across_mm) <= 6.0 + 1e-9
