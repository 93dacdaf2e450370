"""Gauges and metals against published tables."""

import itertools

import pytest
from fluids.piping import t_from_gauge
from hypothesis import given
from hypothesis import strategies as st

from core import wire
from core.errors import BadValue

# The keys of fluids: its SWG is the US Steel Wire Gauge, its BSWG the British Imperial one.
FLUIDS_KEYS = {"awg": "AWG", "us-steel": "SWG", "imperial": "BSWG", "bwg": "BWG"}
SYSTEMS = sorted(FLUIDS_KEYS)
NUMBERS = range(8, 25)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("number", NUMBERS)
def test_gauges_equal_the_handbook(system, number):
    # Source: Machinery's Handbook, Industrial Press 2012, as carried by fluids.
    table_mm = t_from_gauge(number, SI=True, schedule=FLUIDS_KEYS[system]) * 1000
    if system == "awg":
        # The table is rounded to a tenth of a thousandth of an inch; we use the formula.
        assert wire.gauge_mm(system, number) == pytest.approx(table_mm, rel=0.00185)
    else:
        assert wire.gauge_mm(system, number) == pytest.approx(table_mm, abs=0.0005)


def test_awg_is_geometric_between_its_two_defined_sizes():
    # Source: ASTM B258: number 36 is 0.0050 in, number 0000 is 0.4600 in, 39 equal ratios apart.
    assert wire.awg_mm(36) == pytest.approx(0.005 * 25.4, rel=1e-12)
    assert wire.awg_mm(-3) == pytest.approx(0.46 * 25.4, rel=1e-12)
    assert wire.gauge_mm("awg", 16) / wire.gauge_mm("awg", 22) == pytest.approx(
        92 ** (6 / 39), rel=1e-12
    )


def test_sixteen_gauge_is_four_different_wires():
    # Source: Machinery's Handbook, Industrial Press 2012, as carried by fluids.
    mm = {system: wire.gauge_mm(system, 16) for system in wire.GAUGE_SYSTEMS}
    assert {s: round(d, 4) for s, d in mm.items()} == {
        "awg": 1.2908,
        "us-steel": 1.5875,
        "imperial": 1.6256,
        "bwg": 1.651,
    }
    weight = {system: (d / mm["awg"]) ** 2 for system, d in mm.items()}
    assert {s: round(w, 2) for s, w in weight.items()} == {
        "awg": 1.0,
        "us-steel": 1.51,
        "imperial": 1.59,
        "bwg": 1.64,
    }


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_higher_number_is_never_a_thicker_wire(system):
    sizes = [wire.gauge_mm(system, n) for n in sorted(wire.gauge_numbers(system))]
    assert all(a > b for a, b in itertools.pairwise(sizes))


@given(st.floats(0.25, 7.0), st.sampled_from(SYSTEMS))
def test_nearest_gauge_is_the_nearest_and_says_how_far_off(wire_mm, system):
    near = wire.nearest_gauge(wire_mm, system)
    assert near.gauge_mm == wire.gauge_mm(system, near.number)
    assert near.residual_mm == pytest.approx(near.gauge_mm - wire_mm, abs=1e-12)
    assert near.residual_ratio == pytest.approx(near.gauge_mm / wire_mm - 1, abs=1e-12)
    for number in wire.gauge_numbers(system):
        assert abs(wire.gauge_mm(system, number) - wire_mm) >= abs(near.residual_mm)


def test_a_thinner_nearest_gauge_shows_a_negative_residual():
    near = wire.nearest_gauge(1.6, "us-steel")
    assert (near.number, near.label) == (16, "16 ga US steel")
    assert near.residual_mm == pytest.approx(-0.0125)


@pytest.mark.parametrize("number", [0, 37, -3, 100])
def test_a_number_outside_the_table_is_refused(number):
    with pytest.raises(BadValue, match="from 1 to 36"):
        wire.gauge_mm("bwg", number)


def test_an_unknown_system_is_refused_with_the_known_ones():
    with pytest.raises(BadValue, match="awg, us-steel, imperial, bwg"):
        wire.gauge_mm("swg", 16)


# Source: libraries of element data (periodictable 2.1.0, mendeleev 1.3.0).
@pytest.mark.parametrize(
    ("key", "element_g_cm3"),
    [
        ("copper", 8.96),
        ("aluminium-5056", 2.70),
        ("titanium-2", 4.51),
        ("silver-925", 10.5),
        ("steel-galvanized", 7.87),
    ],
)
def test_an_alloy_is_near_its_main_element(key, element_g_cm3):
    assert wire.metal(key).density_g_cm3 == pytest.approx(element_g_cm3, rel=0.025)


def test_every_metal_is_whole_and_has_a_source():
    looks = {"steel", "stainless", "aluminium", "brass", "copper", "black"}
    assert len(wire.metals()) >= 11
    for key, entry in wire.metals().items():
        assert entry.key == key
        assert entry.look in looks
        assert len(entry.source) > 10
        assert entry.yield_range_mpa[0] <= entry.yield_mpa <= entry.yield_range_mpa[1]
        assert entry.strength_range_mpa[0] <= entry.strength_mpa <= entry.strength_range_mpa[1]
        assert entry.yield_mpa <= entry.strength_mpa
        # Metals yield at a strain between 0.05 % and 1 % (any strength-of-materials handbook).
        assert 0.0005 < entry.yield_mpa / (entry.modulus_gpa * 1000) < 0.01


@pytest.mark.parametrize(
    ("typed", "offered"),
    [("brss", "brass"), ("steel", "steel-galvanized"), ("stainless", "stainless-304")],
)
def test_a_misspelt_metal_is_refused_with_close_names(typed, offered):
    with pytest.raises(BadValue, match=offered) as caught:
        wire.metal(typed)
    assert "titanium" not in str(caught.value)


def test_a_metal_is_found_whatever_its_case():
    assert wire.metal(" Brass ") is wire.metal("brass")


@pytest.mark.parametrize("figures", [(0, 200, 7.85), (350, 2e5, 7.85), (350, 200, float("nan"))])
def test_own_figures_are_checked(figures):
    with pytest.raises(BadValue):
        wire.custom_metal(*figures)


@pytest.mark.parametrize("wire_mm", [0.0, -1.6, 0.19, 10.1, float("inf"), float("nan")])
def test_a_wire_nobody_weaves_is_refused(wire_mm):
    with pytest.raises(BadValue, match="wire diameter"):
        wire.check_wire_mm(wire_mm)
