"""Weaves of flat and upright rings: closed forms against the general contact engine.

Derived (R flat, Rc upright, d half the sum of the wires): linked flat rings are at most
2R + 2Rc - 2d apart; equally far they come no nearer than max(2R + d, 2Rc + sqrt2 d) in the square
weave and max(2R + d, 2Rc + 2d) in the hexagonal one; a flat ring that holds k connectors side by
side is 1 + 1/sin(pi/k) wires wide inside.
"""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.errors import RingTooTight
from core.weave import upright
from core.weave.cells import WEAVES
from core.weave.contact import clearance, linked, pairs, place_pairs, reach
from core.weave.families import RingSize, family_of
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from tests.core.sheets import JAPANESE

SQRT3 = math.sqrt(3)


def sizes(flat_wire, flat_ratio, up_wire, up_ratio):
    both = (flat_wire, flat_ratio), (up_wire, up_ratio)
    return tuple(RingSize(w, w * (ratio + 1) / 2) for w, ratio in both)


def pitches(weave, apart):
    """Pitches at which all linked flat rings are equally far."""
    return apart, apart * (1.0 if weave.id == "japanese-square" else SQRT3 / 2)


def room(weave, rings, along, across):
    return clearance(weave, family_of(weave), np.array([along, across]), rings)


def free_at(weave, rings, along, across):
    return room(weave, rings, along, across) >= 0 and right(weave, rings, along, across)


def right(weave, rings, along, across):
    """Whether exactly the right rings are linked; `linked` is checked against Gauss's integral."""
    at = np.array([along, across])
    which = pairs(weave, *reach(weave, at, rings))
    found = linked(*place_pairs(weave, family_of(weave), which, at, rings))
    return bool(np.all(found == [weave.linked(*p[:3]) for p in which]))


def edge(free, low, high):
    """Where `free` changes between a place that is and one that is not, to 1e-9."""
    assert free(low) and not free(high)
    while abs(high - low) > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if free(middle) else (low, middle)
    return low


EQUAL = [(1.0, 4.0, 1.0, 4.0), (1.0, 6.0, 1.0, 3.2)]
UNEQUAL = [(1.6, 5.0, 1.0, 5.0), (1.0, 3.4, 0.8, 6.0), (0.8, 6.0, 1.0, 3.0)]


@pytest.mark.parametrize("weave_id", JAPANESE)
@pytest.mark.parametrize("ring", EQUAL + UNEQUAL, ids=str)
def test_taut_and_closest_are_where_the_engine_finds_contact(weave_id, ring):
    weave, rings = WEAVES[weave_id], sizes(*ring)
    flat, up = rings
    middle = 0.5 * (upright.taut(rings) + upright.closest(weave, rings))

    def free(apart):
        return free_at(weave, rings, *pitches(weave, apart))

    taut = edge(free, middle, upright.taut(rings) + 0.4)
    assert taut == pytest.approx(upright.taut(rings), abs=1e-6)
    assert taut == pytest.approx(2 * flat.radius + 2 * up.radius - flat.wire - up.wire, abs=1e-6)
    near = edge(free, middle, upright.closest(weave, rings) - 0.4)
    assert near == pytest.approx(upright.closest(weave, rings), abs=1e-6)
    across = {"japanese-square": math.sqrt(2), "japanese-hexagonal": 2.0}[weave_id]
    wide = max(2 * flat.radius + flat.wire, 2 * up.radius + across * up.wire)
    assert near == pytest.approx(wide, abs=1e-6)


@pytest.mark.parametrize(("weave_id", "count"), [("japanese-square", 4), ("japanese-hexagonal", 6)])
def test_a_flat_ring_holds_that_many_connectors_side_by_side(weave_id, count):
    weave = WEAVES[weave_id]

    def free(ratio):
        # flat rings as near as the engine lets them come with that ring; connectors as wide again
        rings = sizes(1.0, ratio, 1.0, 6.0)
        return any(
            room(weave, rings, *pitches(weave, apart)) >= -1e-9
            for apart in (upright.taut(rings), upright.taut(rings) - 1e-7)
        )

    least = 1 + 1 / math.sin(math.pi / count)
    assert edge(free, least + 0.3, least - 0.3) == pytest.approx(least, abs=1e-6)
    assert limit_aspect_ratio(weave_id) == pytest.approx(least, abs=1e-12)
    assert solve_lay(weave_id, 1.0, least, Lay("spread")).feasible
    with pytest.raises(RingTooTight):
        solve_lay(weave_id, 1.0, least - 1e-3, Lay("spread"))


ratios = st.floats(2.0, 9.0)


@given(st.sampled_from(JAPANESE), ratios, ratios, st.floats(0.4, 2.5), st.data())
@settings(deadline=None, max_examples=150)
def test_fits_says_what_the_engine_says(weave_id, flat_ratio, up_ratio, up_wire, data):
    weave, rings = WEAVES[weave_id], sizes(1.0, flat_ratio, up_wire, up_ratio)
    least = upright.least_inner(weave, rings)
    assume(flat_ratio > least[0] and up_ratio * up_wire > least[1])
    far = upright.taut(rings)
    # mostly where the answer is open: from rings that touch to a little beyond taut
    near = min(upright.closest(weave, rings) / far, 1.0) * 0.9
    part = 1.0 if weave_id == "japanese-square" else data.draw(st.floats(0.5, 1.0))
    along = far * data.draw(st.floats(near, 1.02))
    across = far * part * data.draw(st.floats(near, 1.1))
    space = room(weave, rings, along, across)
    assume(abs(space) > 1e-6)
    general = space >= 0 and right(weave, rings, along, across)
    assert upright.fits(weave, rings, along, across) == general


@pytest.mark.parametrize("weave_id", JAPANESE)
@pytest.mark.parametrize("ring", EQUAL + UNEQUAL, ids=str)
def test_no_sheet_is_longer_across_than_the_one_drawn_across(weave_id, ring):
    """A search over all pitches by the general engine."""
    weave, rings = WEAVES[weave_id], sizes(*ring)
    along, across = upright.drawn(weave, rings, "across")
    assert room(weave, rings, along, across) == pytest.approx(0, abs=1e-6)
    assert right(weave, rings, along, across)
    far = upright.taut(rings)
    best = 0.0
    for p in np.linspace(0.3 * far, 1.02 * far, 24):
        # from long to short: the first that fits is the longest at this pitch along
        for q in np.linspace(1.15 * far, across * 1.001, 5):
            if free_at(weave, rings, p, q):
                best = max(best, q)
                break
    assert best == 0.0, best


@pytest.mark.parametrize("weave_id", JAPANESE)
def test_held_sheets_are_taut_and_run_from_end_to_end(weave_id):
    weave, rings = WEAVES[weave_id], sizes(1.0, 4.5, 1.0, 4.0)
    low, high = upright.narrowest(weave, rings), upright.taut(rings)
    last = math.inf
    for along in np.linspace(low, high, 12):
        across = upright.longest_across(weave, rings, along)
        assert room(weave, rings, along, across) == pytest.approx(0, abs=1e-6)
        assert room(weave, rings, along, across + 1e-3) < 0 or weave_id == "japanese-square"
        assert across <= last + 1e-12
        last = across


def test_advice_for_a_tight_connector_works():
    with pytest.raises(RingTooTight, match="upright ring") as caught:
        solve_lay("japanese-square", 1.6, 8.0, Lay("laid"), (1.0, 3.0))
    assert "3.20 mm" in str(caught.value)
    assert solve_lay("japanese-square", 1.6, 8.0, Lay("laid"), (1.0, 3.2)).feasible


@pytest.mark.parametrize("weave_id", JAPANESE)
@pytest.mark.parametrize("ring", EQUAL + UNEQUAL, ids=str)
def test_narrowest_is_where_the_engine_finds_contact(weave_id, ring):
    weave, rings = WEAVES[weave_id], sizes(*ring)
    low = upright.narrowest(weave, rings)

    def clear(along):
        # a hair short of taut, so that only what narrowing closes is felt
        return free_at(weave, rings, along, upright.longest_across(weave, rings, along) - 1e-5)

    assert clear(low + 1e-4)
    assert not clear(low - 1e-4)
