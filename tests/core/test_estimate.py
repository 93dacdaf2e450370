"""What to buy and how long it takes, against hand-worked examples and brute force."""

import itertools
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.coils import CoilPlan, coil_plan, spool_length_mm, spools_needed
from core.errors import BadValue, RingloftError
from core.estimate import (
    SPARE_AT_LEAST,
    estimate,
    estimate_panel,
    how_alone,
    how_totals,
    panel_estimate,
    spare_rings,
)
from core.labour import PACES, making_s, weaving_pace
from core.outline import Outline
from core.panel import Panel
from core.project import Project
from core.ring import RingSpec, Spool, resolve
from core.units import format_mass, parse_length
from core.weave.cells import WEAVES
from core.weave.lay import Lay, solve_lay
from core.wire import gauge_mm, metal
from tests.core.costumes import BRASS, STEEL, projects, small_costume
from tests.core.shapes import WEAVE, rectangle

MEASURED = replace(STEEL, mandrel_mm=None, inner_measured_mm=8.0)


def project_of(*panels, **changes):
    return replace(small_costume(), panels=panels, **changes)


def plate(width=200.0, height=150.0, **changes):
    values = {"id": 3, "name": "Plate", "outline": rectangle(width, height, first_id=4)}
    return Panel(**{**values, "ring_id": 1, **changes})


# --- coils ------------------------------------------------------------------------------------


def test_a_coil_worked_by_hand():
    # Common practice, no source: a novice uses 150 mm of a rod, 93 turns of 1.6 mm wire.
    ring = resolve(STEEL)
    plan = coil_plan(ring, 1000, "novice")
    assert plan.turns == 93
    # 8 mm rod: each turn as wound takes hypot(pi * 9.6, 1.6) = 30.2016 mm; 120 mm of tails.
    assert plan.feed_mm == pytest.approx(93 * math.hypot(math.pi * 9.6, 1.6) + 120)
    assert plan.feed_mm == pytest.approx(2928.8, abs=0.1)
    # The coil opens from 9.6 to a little more across its centreline, so it has fewer turns.
    kept = 9.6 / (ring.inner_mm + 1.6)
    assert plan.rings_per_coil == math.floor(93 * kept) - 1
    assert plan.coils == math.ceil(1000 / plan.rings_per_coil)


def test_a_coil_of_a_measured_ring_loses_only_its_end_ring():
    plan = coil_plan(resolve(MEASURED), 2 * 92 + 10, "novice")
    assert (plan.turns, plan.rings_per_coil, plan.coils) == (93, 92, 3)
    turn = math.hypot(math.pi * 9.6, 1.6)
    assert plan.last_feed_mm == pytest.approx(11 * turn + 120)
    assert plan.wire_mm == pytest.approx(2 * (93 * turn + 120) + 11 * turn + 120)
    assert coil_plan(resolve(MEASURED), 0, "novice").wire_mm == 0
    assert coil_plan(resolve(MEASURED), 92, "novice").coils == 1
    assert coil_plan(resolve(MEASURED), 93, "novice").coils == 2


specs = st.builds(
    RingSpec, st.just(1), st.just("r"), st.sampled_from(["copper", "steel-galvanized", "brass"]),
    st.floats(0.5, 3.0), st.floats(3.0, 20.0), st.none(), st.floats(0.0, 0.8),
)  # fmt: skip


@given(specs, st.integers(1, 20_000), st.sampled_from(["novice", "practised"]))
def test_coils_give_enough_rings_and_no_coil_too_many(spec, rings, practice):
    try:
        ring = resolve(spec)
        plan = coil_plan(ring, rings, practice)
    except RingloftError:
        return
    kept = ring.turns_kept
    tails = {"novice": 120, "practised": 60}[practice]
    last_turns = (plan.last_feed_mm - tails) / ring.turn_on_mandrel_mm
    from_last = math.floor(last_turns * kept + 1e-6) - 1
    given_rings = (plan.coils - 1) * plan.rings_per_coil + from_last
    assert given_rings >= rings > (plan.coils - 1) * plan.rings_per_coil
    assert given_rings - rings <= 1 / kept + 1
    assert plan.last_feed_mm <= plan.feed_mm
    assert plan.wire_mm >= rings * ring.turn_on_mandrel_mm / kept * (1 - 1e-9)


def test_a_rod_that_gives_no_ring():
    wide = replace(MEASURED, wire_mm=9.9, inner_measured_mm=40.0)
    assert coil_plan(resolve(wide), 10, "novice").turns == 15
    springy = replace(resolve(replace(STEEL, wire_mm=9.0, mandrel_mm=60.0)), inner_mm=199.0)
    short = replace(springy, mandrel_mm=2.0)
    with pytest.raises(BadValue, match="no whole ring"):
        coil_plan(short, 10, "novice")


# --- spools -----------------------------------------------------------------------------------


def test_a_spool_by_length_and_by_mass():
    ring = resolve(STEEL)
    assert spool_length_mm(Spool(50_000.0), ring) == 50_000
    # Common practice, no source: 1.6 mm steel wire runs about 63 m to the kilogram.
    assert spool_length_mm(Spool(None, 1000.0), ring) == pytest.approx(63_000, rel=0.01)
    # By hand: 1 kg / (7.85 g/cm3 * pi/4 * 0.16^2 cm2) = 6336 cm.
    assert spool_length_mm(Spool(None, 1000.0), ring) == pytest.approx(63_358, rel=1e-3)
    assert spool_length_mm(Spool(50_000.0, 1000.0), ring) == 50_000
    for bad in (Spool(None), Spool(0.0), Spool(-5.0), Spool(None, 0.0), Spool(math.nan)):
        with pytest.raises(BadValue):
            spool_length_mm(bad, ring)


def fewest_spools(pieces, spool):
    """Bins by trying every way to share the pieces out; None when a piece fits no bin."""
    if any(p > spool for p in pieces):
        return None
    for n in range(len(pieces) + 1):
        for where in itertools.product(range(n), repeat=len(pieces)):
            load = [0.0] * n
            for piece, bin_ in zip(pieces, where, strict=True):
                load[bin_] += piece
            if max(load, default=0) <= spool:
                return n
    raise AssertionError


@given(st.integers(0, 5), st.integers(2, 40), st.integers(1, 40), st.integers(1, 130))
def test_spools_are_the_fewest_that_hold_whole_coils(coils, feed, last, spool):
    last = min(last, feed)
    plan = CoilPlan(9, 8, float(feed), coils, float(last) if coils else 0.0)
    pieces = [feed] * (coils - 1) + [last] * (coils > 0)
    fewest = fewest_spools(pieces, spool)
    if fewest is None:
        with pytest.raises(BadValue, match="shorter than one coil"):
            spools_needed(plan, float(spool))
    else:
        assert spools_needed(plan, float(spool)) == fewest


def test_spools_worked_by_hand():
    # 17 coils of 2.93 m fit 50 m without a join; a short one of 0.19 m more does, too.
    assert spools_needed(CoilPlan(93, 90, 2930.0, 17, 2930.0), 50_000) == 1
    assert spools_needed(CoilPlan(93, 90, 2930.0, 18, 190.0), 50_000) == 1
    assert spools_needed(CoilPlan(93, 90, 2930.0, 18, 191.0), 50_000) == 2
    assert spools_needed(CoilPlan(93, 90, 2930.0, 35, 2930.0), 50_000) == 3


# --- the costume ------------------------------------------------------------------------------


def test_spare_rings():
    # Common practice, no source: 5 % practised, 10 to 15 % novice and 50 at least.
    novice, practised = Project(), Project(practice="practised")
    assert spare_rings(1000, practised) == 50
    assert spare_rings(1000, novice) == 120
    assert spare_rings(1001, practised) == 51
    assert spare_rings(100, novice) == SPARE_AT_LEAST["novice"] == 50
    assert spare_rings(0, novice) == 0
    for practice in ("novice", "practised"):
        own = Project(practice=practice, spare_percent=7.0)
        assert spare_rings(1000, own) == 70
        assert spare_rings(10, own) == 1
        assert spare_rings(1000, replace(own, spare_percent=0.0)) == 0


@given(
    st.floats(30, 400), st.floats(30, 400), st.integers(1, 6),
    st.sampled_from(["novice", "practised"]), st.sampled_from([STEEL, BRASS]),
)  # fmt: skip
def test_totals_hang_together(width, height, copies, practice, spec):
    panel = plate(width, height, copies=copies, ring_id=spec.id)
    project = project_of(panel, practice=practice)
    result = estimate(project)
    (part,) = result.panels
    totals = result.totals
    need = next(r for r in result.rings if r.ring_id == spec.id)
    ring = resolve(spec)
    assert totals.rings == part.tally.total == part.tally.per_copy * copies
    assert result.range is None or result.range[0] <= totals.rings <= result.range[1]
    assert totals.spare == need.spare == spare_rings(totals.rings, project)
    assert totals.mass_g == pytest.approx(totals.rings * ring.mass_g)
    assert part.wire_mm == pytest.approx(totals.rings * ring.wire_per_ring_mm)
    assert totals.wire_mm >= (totals.rings + totals.spare) * ring.wire_per_ring_mm * (1 - 1e-4)
    assert need.spools * need.spool_mm >= totals.wire_mm * (1 - 1e-9)
    assert totals.spools == need.spools
    assert totals.cost == pytest.approx(need.spools * spec.spool.price)
    assert totals.hours >= part.hours > 0
    assert totals.area_mm2 == pytest.approx(width * height * copies)


def test_mass_is_metal_of_the_rings():
    # Source: Pappus, volume of a torus 2 pi^2 R r^2; density of iron wire as tabled.
    project = project_of(plate(copies=3))
    totals = estimate(project).totals
    ring = resolve(STEEL)
    torus = 2 * math.pi**2 * (ring.inner_mm + 1.6) / 2 * 0.8**2
    assert totals.mass_g == pytest.approx(
        totals.rings * torus * metal("steel-galvanized").density_g_cm3 / 1000
    )


def test_each_ring_is_bought_for_its_own_panels():
    result = estimate(small_costume())
    collar, cuff = (p.tally.total for p in result.panels)
    assert [(r.ring_id, r.rings) for r in result.rings] == [(1, collar), (2, cuff)]
    assert result.totals.spools == sum(r.spools for r in result.rings)
    assert result.totals.cost == result.rings[0].spools * 12.5 + result.rings[1].spools * 9.0


def test_cost_is_unknown_while_a_price_is_missing():
    unpriced = replace(BRASS, spool=Spool(50_000.0))
    project = replace(small_costume(), rings=(STEEL, unpriced))
    assert estimate(project).totals.cost is None
    assert estimate(replace(project, panels=project.panels[:1])).totals.cost == 12.5
    assert estimate(replace(project, panels=())).totals.cost is None


def test_an_empty_costume_needs_nothing():
    totals = estimate(Project()).totals
    assert (totals.rings, totals.wire_mm, totals.spools, totals.hours) == (0, 0, 0, 0)


def test_estimates_of_untouched_panels_are_remembered():
    project = small_costume()
    first = estimate(project).panels
    other = replace(project, panels=(project.panels[0], replace(project.panels[1], copies=4)))
    again = estimate(other).panels
    assert again[0] is first[0]
    assert again[1] is not first[1]
    assert estimate_panel(project.panels[0], "novice", project.swatches, STEEL) is first[0]


def test_errors_name_the_panel_or_the_ring():
    project = small_costume()
    crossed = Outline(replace(rectangle(9, 9).rim, nodes=rectangle(9, 9).rim.nodes[:2]))
    for name in ("Collar", ""):
        bad = replace(project.panels[0], outline=crossed, edges=(), name=name)
        with pytest.raises(RingloftError) as caught:
            panel_estimate(project, bad)
        assert caught.value.where == name
    short = replace(STEEL, spool=Spool(100.0))
    with pytest.raises(BadValue, match=r"^Steel 1\.6: One spool of 0\.1 m is shorter"):
        estimate(replace(project, rings=(short, BRASS)))


@given(projects())
def test_any_costume_a_file_may_hold_counts_or_says_why(project):
    for panel in project.panels:
        try:
            panel_estimate(project, panel)
        except RingloftError as error:
            assert panel.name in error.where
    try:
        result = estimate(project)
    except RingloftError as error:
        assert "\n" not in str(error)
    else:
        assert result.totals.rings >= 0


# --- hours ------------------------------------------------------------------------------------


def thousand_rings_h(practice):
    """Hours to make 1,000 body rings and weave them, without fixing them to a base."""
    pace = PACES[practice]
    coil = coil_plan(resolve(STEEL), 0, practice)
    weaving = weaving_pace(practice, (), 1, WEAVE)
    return (making_s(pace, 1000, coil.rings_per_coil) + weaving.weaving_s(1000, 0)) / 3600


def test_a_thousand_rings():
    # Common practice, no source: 4 to 5 h for practised hands, 8 to 12 h for new ones.
    assert 4 <= thousand_rings_h("practised") <= 5
    assert 8 <= thousand_rings_h("novice") <= 12


def test_hours_grow_with_edge_rings_weave_and_glue():
    pace = PACES["novice"]
    plain = weaving_pace("novice", (), 1, WEAVE)
    assert plain.weaving_s(100, 0) == 100 * (pace.open_close_s + pace.weave_ring_s)
    assert plain.weaving_s(100, 10) - plain.weaving_s(110, 0) == pytest.approx(
        10 * (pace.edge_factor - 1) * pace.weave_ring_s
    )
    for weave in WEAVES.values():
        slower = weaving_pace("novice", (), 1, weave.id).weaving_s(100, 0)
        assert slower - plain.weaving_s(100, 0) == pytest.approx(
            100 * (weave.weave_time_factor - 1) * pace.weave_ring_s
        )
    assert making_s(pace, 100, 10) - making_s(pace, 100, 100) == pytest.approx(
        100 * pace.coil_setup_s * (1 / 10 - 1 / 100)
    )
    # Common practice, no source: a novice fixes 500 cm2 in an hour.
    loose, fixed = (
        estimate_panel(plate(250, 200, holding=holding, copies=2), "novice", (), STEEL).hours
        for holding in ("hanging", "glued")
    )
    assert fixed - loose == pytest.approx(2.0)


def test_spare_rings_are_made_but_not_woven():
    project = project_of(plate(), spare_percent=0.0)
    more = replace(project, spare_percent=50.0)
    a, b = estimate(project), estimate(more)
    pace = PACES["novice"]
    coil = coil_plan(resolve(STEEL), 0, "novice")
    extra = making_s(pace, b.totals.spare, coil.rings_per_coil) / 3600
    assert b.totals.hours - a.totals.hours == pytest.approx(extra)
    assert b.totals.mass_g == a.totals.mass_g


# --- two gauges on one rod --------------------------------------------------------------------

ROD_MM = 7 / 16 * 25.4


def on_the_rod(number):
    wire_mm = gauge_mm("us-steel", number)
    return RingSpec(1, f"{number} ga", "steel-black", wire_mm, None, ROD_MM)


def test_fourteen_and_sixteen_gauge_on_the_same_rod():
    # Common practice, no source: on a 7/16 in rod, before spring-back, 16 gauge US steel makes
    # rings of aspect ratio 7.0 and 14 gauge 5.5; a ring weighs 1.70 times, a panel 1.76 times.
    sixteen, fourteen = resolve(on_the_rod(16)), resolve(on_the_rod(14))
    assert sixteen.aspect_ratio == pytest.approx(7.0, abs=0.005)
    assert fourteen.aspect_ratio == pytest.approx(5.47, abs=0.005)
    per_ring = fourteen.mass_g / sixteen.mass_g
    assert per_ring == pytest.approx(1.70, abs=0.005)
    areas = [
        solve_lay(WEAVE, r.wire_mm, r.inner_mm, Lay("spread")).area_per_ring_mm2
        for r in (sixteen, fourteen)
    ]
    assert per_ring * areas[0] / areas[1] == pytest.approx(1.76, abs=0.005)


def test_a_large_panel_weighs_as_its_area_says():
    panel = plate(1500, 1500, lay=Lay("spread"))
    heavy, light = (estimate_panel(panel, "novice", (), on_the_rod(n)).mass_g for n in (14, 16))
    assert heavy / light == pytest.approx(1.76, abs=0.01)


def test_two_hundred_feet_of_wire():
    # Common practice, no source: 200 ft of 16 gauge on a 7/16 in rod, before spring-back and
    # waste, is 2400 in / (pi * 0.5 in) = 1527 whole rings.
    ring = resolve(on_the_rod(16))
    assert math.floor(2400 * 25.4 / (math.pi * (ring.inner_mm + ring.wire_mm))) == 1527


# --- words ------------------------------------------------------------------------------------


def test_the_explanation_carries_the_numbers():
    project = small_costume()
    result = estimate(project)
    words = "\n".join(how_totals(project, result))
    for need in result.rings:
        for number in (need.rings, need.spare, need.coils.turns, need.coils.coils, need.spools):
            assert f" {number}" in words
    assert "common practice, no source" in words
    assert "Not yet your pace" in words


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("side", [30.0, 260.0])
def test_the_coils_that_are_told_add_up_to_the_wire(unit, side):
    """Full coils and the last, shorter one: within what three digits leave open."""
    costume = replace(small_costume(), unit=unit)
    panel = replace(costume.panels[0], outline=rectangle(side, side), edges=())
    costume = replace(costume, panels=(panel,))
    need = next(n for n in estimate(costume).rings if n.rings)
    said = " ".join(how_alone(costume, panel)).replace("\u00a0", " ")
    assert " ".join(how_totals(costume, estimate(costume))).count("coil") > 1
    if need.coils.coils == 1:
        assert re.search(r"1 coil of at most \d+ turns takes", said)
        return
    told = re.search(
        r"(\d+) coils? of \d+ turns takes? ([\d.]+ \w+)(?: each)?, the last, shorter one"
        r" ([\d.]+ \w+): ([\d.]+ \w+)",
        said,
    )
    feed, last, whole = (parse_length(told[n]) for n in (2, 3, 4))
    assert int(told[1]) == need.coils.coils - 1
    assert int(told[1]) * feed + last == pytest.approx(whole, rel=0.006)


def test_totals_are_explained_in_the_costumes_unit():
    costume = replace(small_costume(), unit="in")
    said = " ".join(how_totals(costume, estimate(costume)))
    # The default paces are told per area fixed, as their table has them.
    assert not re.search(r"[0-9]\s(mm|m|g|kg)\b", said)


def test_hours_of_a_small_panel_are_told_in_minutes():
    costume = small_costume()
    panel = replace(costume.panels[0], outline=rectangle(30.0, 30.0), edges=(), copies=1)
    said = panel_estimate(costume, panel).how("mm")[-1]
    assert "min to wind" in said and "0.0" not in said


def test_two_ring_kinds_are_told_apart_and_their_weight_is_summed():
    costume = small_costume()
    wide = replace(costume.rings[0], mandrel_mm=None, inner_measured_mm=9.0)
    panel = replace(costume.panels[0], weave="japanese-square", ring_id=wide.id)
    costume = replace(costume, rings=(wide, *costume.rings[1:]), panels=(panel,))
    found = panel_estimate(costume, panel)
    lines = found.how("mm")
    assert lines[0].startswith("Flat ring: ") and lines[2].startswith("Upright ring: ")
    assert lines[4].startswith(f"Together {format_mass(found.mass_g)} as worn")
