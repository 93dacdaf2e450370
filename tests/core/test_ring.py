"""The ring: spring-back, wire and mass against independent methods and published figures."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core import edits, project_file, wire
from core.errors import BadValue, FileTrouble, WireNeverYields
from core.placing import settled
from core.project import Project
from core.ring import (
    Ring,
    RingSpec,
    growth_ratio,
    mandrel_for_inner,
    released_inner_mm,
    resolve,
    ring_from_mandrel,
    yield_from_trial,
    yield_ratio,
)
from core.trial_coil import TrialCoil
from tests.core.costumes import SPRING_BACK

STEEL = wire.metal("steel-galvanized")
SAMPLE = Path(__file__).parents[2] / "sample_projects" / "shoulder_pair.ringloft"


def spec(**changes):
    values = {"id": 1, "name": "test", "metal": "steel-galvanized", "wire_mm": 1.6}
    return RingSpec(**{**values, "mandrel_mm": 8.0, **changes})


@pytest.mark.parametrize(
    ("wire_mm", "mandrel_mm", "yield_mpa", "modulus_gpa", "inner_mm"),
    SPRING_BACK,
)
def test_spring_back_table(wire_mm, mandrel_mm, yield_mpa, modulus_gpa, inner_mm):
    # Source: derived, the round-bar analogue of Gardiner 1957 (Trans. ASME 79); the stress block
    # summed by quadrature.
    found = released_inner_mm(mandrel_mm, wire_mm, yield_mpa, modulus_gpa)
    assert found == pytest.approx(inner_mm, abs=1e-3)


def moment_over_yield_moment(x):
    """M/My of a round bar by summing its stress block, elastic within x of the radius.

    With height = r·sin t the strip's width is 2r·cos t; Gauss-Legendre on each smooth part.
    """
    nodes, weights = np.polynomial.legendre.leggauss(60)

    def integral(low, high, stress):
        t = (low + high) / 2 + (high - low) / 2 * nodes
        return (high - low) / 2 * np.sum(weights * stress(t) * np.sin(t) * np.cos(t) ** 2)

    edge = math.asin(x)
    elastic = integral(0.0, edge, lambda t: np.sin(t) / x)
    plastic = integral(edge, math.pi / 2, np.ones_like)
    return 16 / math.pi * (elastic + plastic)


@given(st.floats(0.001, 0.999))
def test_spring_back_equals_the_summed_stress_block(x):
    # Release is elastic: 1/R = 1/R_w - M/(E·I), which is R_w/R = 1 - x·M/My.
    assert growth_ratio(x) == pytest.approx(1 - x * moment_over_yield_moment(x), abs=1e-12)


def test_the_plastic_moment_tends_to_the_shape_factor_of_a_circle():
    # Source: shape factor 16/(3π) of a solid circle, any strength-of-materials handbook.
    assert (1 - growth_ratio(1e-4)) / 1e-4 == pytest.approx(16 / (3 * math.pi), rel=1e-7)
    assert moment_over_yield_moment(1e-4) == pytest.approx(16 / (3 * math.pi), rel=1e-7)


def test_a_sheet_springs_back_some_twelve_per_cent_less():
    # Source: Gardiner 1957, Trans. ASME 79: R_i/R_f = 4z³ - 3z + 1 with z = R_i·Y/(E·T) = x/2.
    for x in (0.01, 0.05, 0.1):
        sheet = 1 - (4 * (x / 2) ** 3 - 3 * (x / 2) + 1)
        assert sheet / (1 - growth_ratio(x)) == pytest.approx(0.88, abs=0.01)


def test_wire_at_the_edge_of_yield_opens_to_straight():
    assert growth_ratio(math.nextafter(1.0, 0.0)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("x", [1.0, 1.5, float("nan")])
def test_wire_that_never_yields_is_refused(x):
    with pytest.raises(WireNeverYields, match="no ring"):
        growth_ratio(x)


def test_thin_hard_wire_on_a_thick_rod_makes_no_ring():
    # x = 2·1100·50.25/(193000·0.5) = 1.146.
    with pytest.raises(WireNeverYields) as caught:
        ring_from_mandrel(0.5, 100.0, wire.custom_metal(1100, 193, 7.9))
    assert caught.value.do
    assert "\n" not in str(caught.value)
    # Just short of that it yields, but opens wider than any ring.
    with pytest.raises(WireNeverYields):
        released_inner_mm(84.0, 0.5, 1100, 193)


winds = st.tuples(
    st.floats(0.5, 3.0), st.floats(3.0, 20.0), st.floats(50.0, 1500.0), st.floats(60.0, 210.0)
)


def winds_to_a_ring(wire_mm, mandrel_mm, yield_mpa, modulus_gpa):
    return yield_ratio(mandrel_mm, wire_mm, yield_mpa, modulus_gpa) < 0.6


@given(winds, st.floats(1.001, 1.5))
def test_harder_wire_and_a_thicker_rod_make_a_wider_ring(wind, more):
    wire_mm, mandrel_mm, yield_mpa, modulus_gpa = wind
    assume(winds_to_a_ring(wire_mm, mandrel_mm * more, yield_mpa * more, modulus_gpa))
    inner = released_inner_mm(mandrel_mm, wire_mm, yield_mpa, modulus_gpa)
    assert inner > mandrel_mm
    assert released_inner_mm(mandrel_mm, wire_mm, yield_mpa * more, modulus_gpa) > inner
    assert released_inner_mm(mandrel_mm * more, wire_mm, yield_mpa, modulus_gpa) > inner
    assert released_inner_mm(mandrel_mm, wire_mm, yield_mpa, modulus_gpa * more) < inner


@given(winds)
def test_a_trial_coil_gives_back_the_yield_and_the_mandrel(wind):
    wire_mm, mandrel_mm, yield_mpa, modulus_gpa = wind
    assume(winds_to_a_ring(*wind))
    inner = released_inner_mm(mandrel_mm, wire_mm, yield_mpa, modulus_gpa)
    found = yield_from_trial(mandrel_mm, wire_mm, inner, modulus_gpa)
    assert found == pytest.approx(yield_mpa, rel=1e-6)
    rod = mandrel_for_inner(inner, wire_mm, yield_mpa, modulus_gpa)
    assert rod == pytest.approx(mandrel_mm, rel=1e-9)


def test_a_trial_no_wider_than_its_rod_tells_nothing():
    with pytest.raises(BadValue, match="not wider than its mandrel"):
        yield_from_trial(8.0, 1.6, 8.0, 200)


def test_no_rod_winds_very_hard_thin_wire_to_a_small_ring():
    with pytest.raises(BadValue, match="no rod is thin enough"):
        mandrel_for_inner(0.2, 1.0, 5000, 1.0)


def test_a_measured_coil_overrides_the_model():
    modelled, measured = resolve(spec()), resolve(spec(inner_measured_mm=8.4))
    assert modelled.inner_mm == pytest.approx(8.174, abs=1e-3)
    assert measured.inner_mm == 8.4
    assert measured.inner_range_mm == (8.4, 8.4)
    assert resolve(spec(mandrel_mm=None, inner_measured_mm=8.4)).inner_mm == 8.4
    assert any("trial coil" in line and "8.400" in line for line in measured.how())


def test_the_modelled_growth_is_shown_with_forty_per_cent():
    low, high = resolve(spec()).inner_range_mm
    assert (low, high) == pytest.approx((8 + 0.6 * 0.1742, 8 + 1.4 * 0.1742), abs=1e-3)


def test_neither_rod_nor_measure_is_refused():
    with pytest.raises(BadValue, match="neither a mandrel nor a measured"):
        resolve(spec(mandrel_mm=None))


@pytest.mark.parametrize(
    "changes",
    [
        {"wire_mm": 0.1},
        {"wire_mm": 12.0},
        {"wire_mm": float("nan")},
        {"mandrel_mm": 0.0},
        {"mandrel_mm": -8.0},
        {"mandrel_mm": 250.0},
        {"inner_measured_mm": 5.0},
        {"inner_measured_mm": float("inf")},
        {"kerf_mm": -0.1},
        {"kerf_mm": 9.0},
        {"kerf_mm": float("nan")},
        {"metal": "wood"},
    ],
)
def test_values_no_ring_has_are_refused_in_one_line(changes):
    with pytest.raises(BadValue) as caught:
        resolve(spec(**changes))
    assert caught.value.what
    assert caught.value.where
    assert caught.value.do
    assert "\n" not in str(caught.value)


@given(st.floats(0.5, 3.0), st.floats(2.0, 12.0))
def test_mass_equals_a_torus_of_the_same_ring(wire_mm, aspect_ratio):
    # Source: volume of a torus 2π²Rr².
    ring = Ring(wire_mm, aspect_ratio * wire_mm, STEEL)
    big, small = (ring.outer_mm - wire_mm) / 2, wire_mm / 2
    volume_mm3 = 2 * math.pi**2 * big * small**2
    assert ring.mass_g == pytest.approx(volume_mm3 * 7.85e-3, rel=1e-12)
    assert ring.aspect_ratio == pytest.approx(aspect_ratio)


def test_mass_equals_a_meshed_torus():
    # Source: trimesh; its mesh of 512 × 256 parts lies 0.0125 % inside the torus.
    creation = pytest.importorskip("trimesh.creation")
    mesh = creation.torus(4.8, 0.8, major_sections=512, minor_sections=256)
    ring = Ring(1.6, 8.0, STEEL)
    assert ring.centreline_mm == 4.8
    assert ring.mass_g == pytest.approx(mesh.volume * 7.85e-3, rel=2e-4)


def test_a_saw_takes_its_kerf_once_from_turn_mass_and_diameter():
    clean, sawn = resolve(spec()), resolve(spec(kerf_mm=0.5))
    assert sawn.inner_mm == pytest.approx(clean.inner_mm - 0.5 / math.pi)
    lost_g = 0.5 * math.pi * 0.8**2 * 7.85e-3
    assert sawn.mass_g == pytest.approx(clean.mass_g - lost_g)
    assert sawn.wire_per_ring_mm == pytest.approx(clean.wire_per_ring_mm)
    assert sawn.turns_kept == pytest.approx(clean.turns_kept)


@given(winds)
def test_release_keeps_the_wire_and_loses_turns(wind):
    wire_mm, mandrel_mm, yield_mpa, modulus_gpa = wind
    assume(winds_to_a_ring(*wind))
    ring = ring_from_mandrel(wire_mm, mandrel_mm, wire.custom_metal(yield_mpa, modulus_gpa, 7.85))
    assert 0 < ring.turns_kept < 1
    assert ring.turn_on_mandrel_mm < ring.wire_per_ring_mm
    # Turns times their flat length is the same before and after.
    before = math.pi * (mandrel_mm + wire_mm)
    after = ring.turns_kept * 2 * math.pi * ring.centreline_mm
    assert after == pytest.approx(before, rel=1e-12)


def test_wire_per_ring_is_the_length_of_the_helix():
    # The helix drawn as 20,000 straight steps.
    ring = Ring(1.6, 8.0, STEEL)
    t = np.linspace(0, 2 * np.pi, 20_001)
    points = np.stack([4.8 * np.cos(t), 4.8 * np.sin(t), 1.6 * t / (2 * np.pi)], axis=1)
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert ring.wire_per_ring_mm == pytest.approx(length, rel=1e-7)


def test_two_hundred_feet_of_sixteen_gauge():
    # Common practice, no source: before spring-back and waste, 2400 in / (π · 0.5 in).
    ring = Ring(wire.gauge_mm("us-steel", 16), 7 / 16 * 25.4, STEEL)
    assert ring.aspect_ratio == pytest.approx(7.0, rel=1e-12)
    assert math.floor(2400 * 25.4 / (2 * math.pi * ring.centreline_mm)) == 1527


def test_fourteen_gauge_on_the_same_rod():
    # Common practice, no source: aspect ratio 5.5 and 1.70 times the weight of each ring.
    thin = Ring(wire.gauge_mm("us-steel", 16), 7 / 16 * 25.4, STEEL)
    thick = Ring(wire.gauge_mm("us-steel", 14), 7 / 16 * 25.4, STEEL)
    assert thick.aspect_ratio == pytest.approx(5.47, abs=0.005)
    assert thick.mass_g / thin.mass_g == pytest.approx(1.70, abs=0.005)


def test_efforts_follow_their_powers():
    thin, thick = Ring(1.0, 6.0, STEEL), Ring(2.0, 12.0, STEEL)
    assert thick.cut_effort / thin.cut_effort == pytest.approx(4)
    assert thick.close_effort / thin.close_effort == pytest.approx(8)
    assert thick.opening_pull_n / thin.opening_pull_n == pytest.approx(4)
    # By hand: 350 N/mm² · 1 mm³ / (6 · 3.5 mm) = 16.67 N.
    assert thin.opening_pull_n == pytest.approx(16.667, abs=1e-3)


def test_the_opening_pull_is_the_plastic_moment_of_a_round_bar_over_its_arm():
    # My = σy·πd³/32, times the shape factor 16/(3π) (strength-of-materials handbooks).
    ring = Ring(1.6, 8.0, STEEL)
    plastic_nmm = 350 * math.pi * 1.6**3 / 32 * 16 / (3 * math.pi)
    assert ring.opening_pull_n == pytest.approx(plastic_nmm / 4.8, rel=1e-12)


# --- the trial coil ----------------------------------------------------------------------------


def coil(*inner_mm, mandrel_mm=8.0, wire_mm=1.6, metal="steel-galvanized"):
    return TrialCoil(mandrel_mm, inner_mm, wire_mm, metal)


def test_a_trial_on_the_rings_own_rod_is_the_ring():
    made = resolve(spec(trial=coil(8.3, 8.34, 8.26)))
    assert made.measured and made.inner_mm == pytest.approx(8.3, abs=1e-12)
    assert made.inner_range_mm == (made.inner_mm, made.inner_mm)
    said = " ".join(made.how())
    assert "mean of 3 rings of the trial coil on 8.000 mm, 8.26 to 8.34 mm" in said
    sawn = resolve(spec(trial=coil(8.3, 8.34, 8.26), kerf_mm=0.5))
    assert sawn.inner_mm == pytest.approx(8.3 - 0.5 / math.pi)


def test_the_same_wire_by_its_gauge_keeps_the_trial_and_the_next_gauge_does_not():
    # 16 US steel is 1.5875 mm and 17 is 1.3716 mm (Machinery's Handbook, as in tests of core.wire).
    trial = coil(8.3, 8.34, 8.26)
    assert resolve(spec(trial=trial, wire_mm=1.5875)).measured
    assert not resolve(spec(trial=trial, wire_mm=1.3716)).measured
    assert not resolve(spec(trial=trial, mandrel_mm=7.9375)).measured


def test_a_typed_measure_comes_before_the_trial():
    made = resolve(spec(trial=coil(8.3, 8.3, 8.3), inner_measured_mm=8.4))
    assert made.inner_mm == 8.4 and made.measured
    assert "trial coil on" not in " ".join(made.how())


@given(winds, st.floats(0.7, 1.4), st.floats(0.7, 1.4))
def test_a_trial_calibrates_another_rod_and_another_wire_of_its_metal(wind, rod, wire_share):
    wire_mm, mandrel_mm, yield_mpa, _modulus = wind
    e = STEEL.modulus_gpa
    other_wire, other_rod = wire_mm * wire_share, mandrel_mm * rod
    assume(winds_to_a_ring(wire_mm, mandrel_mm, yield_mpa, e))
    assume(winds_to_a_ring(other_wire, other_rod, yield_mpa, e))
    assume(abs(other_rod - mandrel_mm) > 0.01)
    inner = released_inner_mm(mandrel_mm, wire_mm, yield_mpa, e)
    trial = coil(inner, inner, inner, mandrel_mm=mandrel_mm, wire_mm=wire_mm)
    made = resolve(spec(wire_mm=other_wire, mandrel_mm=other_rod, trial=trial))
    assert not made.measured
    assert made.winding_yield_mpa == pytest.approx(yield_mpa, rel=1e-6)
    assert made.inner_mm == pytest.approx(
        released_inner_mm(other_rod, other_wire, yield_mpa, e), rel=1e-6
    )
    # What is drawn, cut and closed is judged by the metal's table, so that rings compare.
    assert made.close_effort == resolve(spec(wire_mm=other_wire, mandrel_mm=other_rod)).close_effort


def test_how_names_the_trial_that_calibrated_the_model():
    inner = released_inner_mm(8.0, 1.6, 550, 200)
    said = " ".join(resolve(spec(mandrel_mm=9.0, trial=coil(inner, inner, inner))).how())
    assert "yield 550 MPa as the trial coil of 1.60 mm wire on 8.000 mm shows" in said


def test_after_a_trial_the_band_is_of_the_difference_to_it():
    # Our rule: 40 % of what the growth differs from the trial's, and the trial's sd, 0.02.
    trial = coil(8.28, 8.30, 8.26)
    near, far = (resolve(spec(mandrel_mm=rod, trial=trial)) for rod in (8.05, 12.0))
    for made in (near, far):
        low, high = made.inner_range_mm
        play = 0.4 * abs(made.growth_mm - 0.28) + 0.02
        assert (low, high) == pytest.approx((made.inner_mm - play, made.inner_mm + play))
        assert "our rule, no source" in " ".join(made.how())
    plain = resolve(spec(mandrel_mm=8.05)).inner_range_mm
    assert near.inner_range_mm[1] - near.inner_range_mm[0] < (plain[1] - plain[0]) / 3


def test_a_trial_of_another_metal_changes_nothing():
    plain = resolve(spec(metal="copper"))
    assert resolve(spec(metal="copper", trial=coil(8.9, 8.9, 8.9))) == plain


def test_a_trial_no_wider_than_its_rod_is_believed_there_and_calibrates_nothing():
    trial = coil(7.98, 7.99, 8.0)
    assert resolve(spec(trial=trial)).inner_mm == pytest.approx(7.99)
    assert resolve(spec(mandrel_mm=9.0, trial=trial)) == resolve(spec(mandrel_mm=9.0))


def test_the_spread_of_a_trial_by_hand():
    # By hand: mean 8.3; deviations -0.1, 0, 0.1; sd √(0.02 / 2) = 0.1; range 0.2 / 8.3 = 2.4 %.
    trial = coil(8.2, 8.3, 8.4)
    assert trial.mean_mm == pytest.approx(8.3)
    assert trial.sd_mm == pytest.approx(0.1)
    assert trial.range_mm == (8.2, 8.4)
    assert trial.spread_ratio == pytest.approx(0.2 / 8.3)
    assert trial.uneven and not coil(8.25, 8.3, 8.35).uneven


@pytest.mark.parametrize(
    ("trial", "words"),
    [
        (coil(8.3, 8.3), "2 rings are measured"),
        (coil(*[8.3] * 101), "101 rings are measured"),
        (coil(8.3, 7.5, 8.3), "ring 2 of the trial coil: a coil of 7.50 mm is narrower"),
        (coil(8.3, float("nan"), 8.3), "ring 2 of the trial coil"),
        (coil(8.3, 8.3, float("inf")), "ring 3 of the trial coil"),
        (coil(8.3, 8.3, 8.3, mandrel_mm=0.0), "mandrel of the trial coil"),
        (coil(8.3, 8.3, 8.3, wire_mm=-1.0), "wire diameter"),
    ],
)
def test_a_trial_nothing_can_be_learnt_from_is_refused_in_one_line(trial, words):
    with pytest.raises(BadValue) as caught:
        resolve(spec(trial=trial))
    assert words in str(caught.value)
    assert caught.value.do and "\n" not in str(caught.value)


def file_with(**changes):
    project = Project("x", rings=(spec(**changes),), next_id=2)
    return project, project_file.dumps(project)


def test_a_trial_is_saved_and_opens_equal():
    project, text = file_with(trial=coil(8.3, 8.34, 8.26, mandrel_mm=7.9375))
    assert project_file.loads(text) == project
    bare, text = file_with()
    del (data := json.loads(text))["project"]["rings"][0]["trial"]
    assert project_file.loads(json.dumps(data)) == bare


@pytest.mark.parametrize(
    ("trial", "place"),
    [
        (coil(*[8.3] * 101), "rings.0.trial.inner_mm"),
        (coil(), "rings.0.trial.inner_mm"),
        (coil(8.3, -8.3, 8.3), "rings.0.trial"),
        (coil(8.3, 8.3, 8.3, mandrel_mm=0.0), "rings.0.trial"),
        (coil(8.3, 8.3, 8.3, wire_mm=-1.6), "rings.0.trial"),
        (coil(8.3, 8.3, 1e9), "rings.0.trial"),
    ],
)
def test_a_file_with_a_trial_that_cannot_be_is_refused_with_its_place(trial, place):
    with pytest.raises(FileTrouble) as caught:
        project_file.loads(file_with(trial=trial)[1], "x.ringloft")
    assert f"{place} (" in str(caught.value) and "\n" not in str(caught.value)


def test_a_trial_places_centred_rows_as_the_same_measure_does():
    project = project_file.load(SAMPLE)
    ring = project.rings[0]
    panels = {p.id for p in project.panels if p.ring_id == ring.id and p.placing == "centred"}
    assert panels
    bare = replace(ring, inner_measured_mm=None)
    placed = []
    for change in ({"trial": coil(9.2, 9.2, 9.2)}, {"inner_measured_mm": 9.2}):
        before = edits.set_ring(bare)(project)
        after = settled(before, edits.set_ring(replace(bare, **change))(before))
        placed.append([(p.origin_x_mm, p.origin_y_mm) for p in after.panels if p.id in panels])
    assert (
        placed[0]
        == placed[1]
        != [(p.origin_x_mm, p.origin_y_mm) for p in project.panels if p.id in panels]
    )
