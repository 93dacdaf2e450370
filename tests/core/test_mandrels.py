"""The mandrel finder: rods that exist, against published spring-back and plain inversion."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import mandrels
from core.errors import BadValue
from core.mandrels import SERIES, find_mandrels, inner_for_ratio
from core.ring import GROWTH_SPREAD, RingSpec, released_inner_mm, resolve
from core.trial_coil import TrialCoil
from core.wire import custom_metal, metal, metals
from tests.core.costumes import SPRING_BACK

STEEL = metal("steel-galvanized")


def spec(**changes):
    values = {"id": 1, "name": "test", "metal": "steel-galvanized", "wire_mm": 1.6}
    return RingSpec(**{**values, "mandrel_mm": None, **changes})


@pytest.mark.parametrize(
    ("wire_mm", "mandrel_mm", "yield_mpa", "modulus_gpa", "inner_mm"),
    SPRING_BACK,
)
def test_the_spring_back_table_read_backwards(
    wire_mm, mandrel_mm, yield_mpa, modulus_gpa, inner_mm, monkeypatch
):
    # Source: derived, the round-bar analogue of Gardiner 1957 (Trans. ASME 79), its stress block
    # summed by quadrature; the table has three decimals.
    of = custom_metal(yield_mpa, modulus_gpa, 7.85)
    monkeypatch.setattr(mandrels, "metal", lambda _key: of)
    monkeypatch.setattr("core.ring.metal", lambda _key: of)
    found = find_mandrels(spec(wire_mm=wire_mm), inner_mm)
    assert found.exact_mm == pytest.approx(mandrel_mm, abs=6e-4)
    best = found.fits[0]
    assert best.rod.mm == mandrel_mm
    assert best.ring.inner_mm == pytest.approx(inner_mm, abs=5e-4)
    assert abs(best.error_mm) <= 5e-4


def test_rods_of_every_series_have_the_sizes_of_a_rule():
    # The inch is 25.4 mm exactly (international yard and pound agreement of 1959).
    sizes = {series.key: [rod.mm for rod in series.rods()] for series in SERIES}
    assert all(mm == int(mm) for mm in sizes["whole"])
    assert all(mm % 1 == 0.5 for mm in sizes["half"])
    for n, mm in enumerate(sizes["sixteenth"], start=1):
        assert mm == pytest.approx(n * 25.4 / 16, rel=1e-15)
    assert sizes["sixteenth"][4] == 7.9375
    assert sizes["sixteenth"][31] == 50.8


wishes = st.tuples(
    st.sampled_from(sorted(metals())),
    st.floats(0.8, 2.5),
    st.floats(2.8, 8.0),
    st.sampled_from([0.0, 0.4, 0.8]),
)


@given(wishes)
def test_winding_on_the_exact_rod_gives_the_wish(wish):
    key, wire_mm, ratio, kerf_mm = wish
    inner_mm = inner_for_ratio(ratio, wire_mm)
    base = spec(metal=key, wire_mm=wire_mm, kerf_mm=kerf_mm)
    found = find_mandrels(base, inner_mm)
    made = resolve(spec(metal=key, wire_mm=wire_mm, kerf_mm=kerf_mm, mandrel_mm=found.exact_mm))
    assert made.inner_mm == pytest.approx(inner_mm, rel=1e-9)
    assert made.aspect_ratio == pytest.approx(ratio, rel=1e-9)


@given(wishes)
def test_the_list_brackets_the_exact_rod_and_no_rod_that_exists_is_nearer(wish):
    key, wire_mm, ratio, kerf_mm = wish
    inner_mm = ratio * wire_mm
    base = spec(metal=key, wire_mm=wire_mm, kerf_mm=kerf_mm)
    found = find_mandrels(base, inner_mm)
    errors = [abs(fit.error_mm) for fit in found.fits]
    assert errors == pytest.approx(sorted(errors), abs=1e-8)
    of = metal(key)
    for series in SERIES:
        offered = {fit.rod.mm for fit in found.fits if fit.rod.series == series.key}
        rods = [rod.mm for rod in series.rods()]
        below = [mm for mm in rods if mm < found.exact_mm - 1e-6]
        above = [mm for mm in rods if mm > found.exact_mm + 1e-6]
        assert not below or max(below) in offered
        assert not above or min(above) in offered
        for mm in rods:
            # Tried one by one, without the inversion.
            if 0 < mm < 2.5 * inner_mm:
                try:
                    coil = released_inner_mm(mm, wire_mm, of.yield_mpa, of.modulus_gpa)
                except Exception:
                    continue
                off = abs(coil - kerf_mm / math.pi - inner_mm)
                assert off >= errors[0] - 1e-9
    for fit in found.fits:
        assert fit.error_mm == pytest.approx(fit.ring.inner_mm - inner_mm)
        assert fit.error_ratio == pytest.approx(fit.ring.inner_mm / inner_mm - 1)
        assert (fit.error_mm > 0) == (fit.rod.mm > found.exact_mm) or abs(fit.error_mm) < 1e-5


def test_the_band_is_forty_per_cent_of_the_growth():
    fit = find_mandrels(spec(), 8.174).fits[0]
    low, high = fit.ring.inner_range_mm
    assert GROWTH_SPREAD == 0.4
    assert (low, high) == pytest.approx((8 + 0.6 * 0.1742, 8 + 1.4 * 0.1742), abs=1e-3)


def test_five_sixteenths_is_offered_where_it_is_nearest():
    # 350 MPa, 200 GPa: 7.9375 + 0.17 mm of growth, between the 7.5 and the 8 mm rod.
    wish = released_inner_mm(5 / 16 * 25.4, 1.6, STEEL.yield_mpa, STEEL.modulus_gpa)
    found = find_mandrels(spec(), wish)
    assert found.fits[0].rod.mm == 7.9375
    assert found.fits[0].rod.series == "sixteenth"
    assert abs(found.fits[0].error_mm) < 1e-9
    beside = {fit.rod.mm for fit in found.fits if fit.rod.series == "sixteenth"}
    assert sorted(beside) == pytest.approx([6.35, 7.9375, 9.525])


def test_a_trial_coil_of_the_metal_replaces_its_yield():
    # 550 MPa gives 8.277 on 8.00 (the table above); the metal's own 350 MPa would give 8.174.
    trial = TrialCoil(8.0, (8.277, 8.276, 8.278), 1.6, "steel-galvanized")
    found = find_mandrels(spec(trial=trial), 8.277)
    assert found.calibrated and found.yield_mpa == pytest.approx(550, abs=2)
    assert found.exact_mm == pytest.approx(8.0, abs=1e-9)
    best = found.fits[0]
    assert best.rod.mm == 8.0 and best.ring.measured
    other = find_mandrels(spec(trial=trial, metal="copper"), 8.277)
    assert not other.calibrated and other.yield_mpa == metal("copper").yield_mpa


@given(st.floats(100, 900), st.floats(0.8, 2.0), st.floats(3.5, 7.0), st.floats(0.8, 2.0))
def test_after_a_trial_another_wire_of_the_metal_is_found_by_its_yield(
    yield_mpa, wire_mm, ratio, other_mm
):
    inner = released_inner_mm(ratio * wire_mm, wire_mm, yield_mpa, STEEL.modulus_gpa)
    trial = TrialCoil(ratio * wire_mm, (inner,) * 3, wire_mm, "steel-galvanized")
    found = find_mandrels(spec(wire_mm=other_mm, trial=trial), 5 * other_mm)
    assert found.yield_mpa == pytest.approx(yield_mpa, rel=1e-6)
    wound = released_inner_mm(found.exact_mm, other_mm, yield_mpa, STEEL.modulus_gpa)
    assert wound == pytest.approx(5 * other_mm, rel=1e-6)


def test_a_wish_no_rod_can_make_is_refused_in_one_line():
    for wish, what in ((0.0, "cannot be used"), (float("nan"), "cannot be used")):
        with pytest.raises(BadValue, match=what) as caught:
            find_mandrels(spec(), wish)
        assert caught.value.do and "\n" not in str(caught.value)
    # A kerf makes the coil wider than the ring, but no ring is made of the kerf alone.
    for wish in (0.0, -0.1):
        with pytest.raises(BadValue, match="cannot be used"):
            find_mandrels(spec(kerf_mm=1.0), wish)
    for ratio in (0.0, -1.0, 500.0, float("nan"), float("inf")):
        with pytest.raises(BadValue, match="no ratio") as caught:
            inner_for_ratio(ratio, 1.6)
        assert caught.value.do and "\n" not in str(caught.value)
    with pytest.raises(BadValue, match="no rod is thin enough"):
        find_mandrels(spec(trial=TrialCoil(1.0, (150.0,) * 3, 1.6, "steel-galvanized")), 0.2)


def test_a_ring_wider_than_any_rod_is_offered_the_thickest():
    found = find_mandrels(spec(wire_mm=5.0), 90.0)
    assert found.exact_mm > 50.8
    assert found.fits[0].rod.mm == 50.8 and found.fits[0].error_mm < 0


def test_a_rod_on_which_the_wire_stays_elastic_is_left_out():
    # 2500 MPa in a 0.5 mm wire: just beyond the exact rod the coil opens past any ring.
    inner = released_inner_mm(5.0, 0.5, 2500, STEEL.modulus_gpa)
    trial = TrialCoil(5.0, (inner,) * 3, 0.5, "steel-galvanized")
    found = find_mandrels(spec(wire_mm=0.5, trial=trial), 198.0)
    assert found.fits
    assert all(fit.rod.mm < found.exact_mm for fit in found.fits)
