"""The tally of a panel: its parts, its range, the names of its edges."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core.edits import set_lay
from core.errors import RingloftError
from core.estimate import estimate, estimate_for
from core.fill import BODY, DROPPED, EDGE, count_rings
from core.outline import Outline
from core.panel import EdgeFinish, Panel, sheet_of
from core.placing import settled
from core.project import Project
from core.tally import kinds_text, lay_text, pitch_names, tally_panel, worn_lays
from core.use import width_range_percent
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch
from tests.core.costumes import STEEL, small_costume
from tests.core.shapes import circle_loop, outlines, rectangle

SQUARE = Panel(2, "Square", rectangle(110.0, 95.0), STEEL.id)


@pytest.mark.parametrize("kind", ["laid", "spread", "along", "across"])
@pytest.mark.parametrize("copies", [1, 4])
@pytest.mark.parametrize("placing", ["centred", "by hand"])
def test_the_range_is_counted_not_scaled(kind, copies, placing):
    """Its ends are what the same panel counts once it is given the other lays, to the ring."""
    panel = replace(SQUARE, copies=copies, lay=Lay(kind), edges=(EdgeFinish(1, "edged"),))
    panel = replace(panel, placing=placing, origin_x_mm=1.0, origin_y_mm=2.0)
    told = tally_panel(panel, STEEL)
    before = Project("Moor", (STEEL,), (panel,), next_id=90)
    counts = [
        tally_panel(settled(before, set_lay(panel.id, Lay(other))(before)).panels[0], STEEL).total
        for other in ("laid", "spread", "along", "across")
    ]
    assert told.range == (min(counts), max(counts))


def test_a_swatch_settles_the_range():
    told = tally_panel(replace(SQUARE, lay=Lay("swatch", Swatch(10, 10, 89.0, 60.0))), STEEL)
    assert told.range is None
    assert told.solved.along_mm == pytest.approx(8.9)


@given(outlines(), st.floats(-90, 90), st.integers(1, 9))
def test_the_parts_sum_to_the_fill(outline, grain, copies):
    panel = Panel(2, "Any", outline, STEEL.id, grain_deg=grain, copies=copies)
    try:
        told = tally_panel(panel, STEEL)
    except RingloftError:
        assume(False)
    fill = told.fill
    assert told.body == fill.count(BODY) + fill.count(DROPPED)
    assert told.edge == fill.count(EDGE) == sum(e.rings for e in told.edges)
    assert told.per_copy == told.body + told.edge - told.dangling
    assert told.total == told.per_copy * copies
    assert told.perimeter_mm == pytest.approx(sum(e.length_mm for e in told.edges))


def woven(weave, **changes):
    """The square in a ring wide enough for every weave."""
    roomy = replace(STEEL, mandrel_mm=None, inner_measured_mm=11.0)
    panel = replace(SQUARE, weave=weave, **changes)
    return tally_panel(panel, *(roomy,) * len(panel.ring_ids))


@pytest.mark.parametrize("weave", list(WEAVES))
def test_kinds_sum_to_the_total_and_how_names_lay_and_count(weave):
    told = woven(weave, copies=2, edges=(EdgeFinish(1, "edged"),))
    assert sum(told.by_kind) == told.total
    said = " ".join(told.how())
    assert "laid" in told.how()[0]
    assert str(told.total) in said
    assert kinds_text(told.weave, told.by_kind) in said
    along, across = (f"{v:.3f}\u00a0mm from" for v in (told.solved.along_mm, told.solved.across_mm))
    assert along in told.how()[0] and across in told.how()[0]


@pytest.mark.parametrize("weave", list(WEAVES))
def test_how_speaks_inches_to_whoever_plans_in_inches(weave):
    """The product the sentence shows is right in either unit, to the ring."""
    told = woven(weave)
    said = " ".join(told.how("in"))
    assert not re.search(r"[0-9]\s?(mm|cm)", said)
    along = float(re.search(r"([0-9.]+)\s?in from", said)[1])
    assert along * 25.4 == pytest.approx(told.solved.along_mm, abs=0.002)
    area, each, rough = map(
        float,
        re.search(
            r"area ([0-9.]+)\sin² ÷ ([0-9.]+)\sin² a ring would give ([0-9]+)", said
        ).groups(),
    )
    assert area / each == pytest.approx(rough, rel=0.002, abs=0.6)
    assert f"area {told.area_mm2 / 100:.1f}\u00a0cm²" in " ".join(told.how("mm"))


def test_flat_and_upright_rings_are_counted_apart_and_pairs_as_pairs():
    square = woven("japanese-square")
    flat, upright = square.by_kind
    assert kinds_text(square.weave, square.by_kind) == f"flat {flat}, upright {upright}"
    pairs = woven("doubled-4-in-1")
    assert kinds_text(pairs.weave, pairs.by_kind) == f"{pairs.total // 2} pairs"
    assert pairs.total % 2 == 0
    assert kinds_text(pairs.weave, (2,)) == "1 pair"
    assert kinds_text(WEAVES["european-4-in-1"], (353,)) == ""


@pytest.mark.parametrize("weave", list(WEAVES))
def test_how_says_from_what_to_what_a_pitch_leads(weave):
    told = woven(weave)
    what = "flat ring" if len(told.rings) > 1 else "pair" if told.weave.plies == 2 else "ring"
    assert f"from {what} to {what} along a row" in told.how()[0]
    assert pitch_names(told.weave)[0].lower() == f"{what} to {what} along a row"
    # Rows of flat rings are one pitch across apart, though upright rings lie between.
    rows = sorted({c.rise for c in told.weave.courses if c.kind == 0})
    assert [b - a for a, b in zip(rows, [*rows[1:], told.weave.height], strict=True)] == [1] * len(
        rows
    )


def test_how_says_why_flat_and_upright_rings_get_no_edge_rings():
    edged = (EdgeFinish(1, "edged"),)
    said = " ".join(woven("japanese-square", edges=edged).how())
    assert "Edge rings: none" in said and "no vacant place" in said
    assert "Edge rings: a pair" in " ".join(woven("doubled-4-in-1", edges=edged).how())
    told = woven("european-6-in-1", edges=edged)
    assert f"past the outline: {told.edge}." in " ".join(told.how())


@pytest.mark.parametrize("weave", ["european-4-in-1", "doubled-4-in-1"])
def test_where_no_edge_is_edged_how_says_just_that(weave):
    said = " ".join(woven(weave).how())
    assert "no edge is edged" in said
    assert "no vacant place" not in said


def test_a_held_width_is_named_beside_the_count():
    lay = Lay("held", width_percent=87.5)
    assert lay_text(lay) == "held to 87.5 %"
    assert "held to 87.5 % of its spread width" in woven("european-4-in-1", lay=lay).how()[0]
    assert [lay_text(Lay(k)) for k in ("laid", "across", "swatch")] == [
        "laid",
        "drawn across",
        "by swatch",
    ]


@pytest.mark.parametrize("weave", list(WEAVES))
@pytest.mark.parametrize("kind", ["spread", "laid"])
def test_the_range_is_shown_only_where_it_is_one(weave, kind):
    told = woven(weave, lay=Lay(kind), placing="by hand")
    low, high = told.range
    assert low <= told.total <= high
    assert told.wide_range == (None if low == high else (low, high))
    assert ("may be" in " ".join(told.how())) is (low < high)


def offered(told):
    """Every lay that is offered, held widths in ten steps from end to end."""
    low, high = width_range_percent(told.panel, told.rings)
    widths = [low + share / 10 * (high - low) for share in range(11)]
    held = [Lay("held", width_percent=w) for w in widths]
    return [*(Lay(kind) for kind in ("laid", "spread", "along", "across")), *held]


@pytest.mark.parametrize("weave", list(WEAVES))
def test_no_lay_that_is_offered_lies_denser_or_wider_than_those_counted(weave):
    """8-in-1 lies densest drawn along; flat and upright rings lie densest pushed together."""
    told = woven(weave)
    counted, every = (
        [sheet_of(told.panel, told.rings, lay).area_per_ring_mm2 for lay in lays]
        for lays in (worn_lays(told.panel, told.rings), offered(told))
    )
    assert min(counted) == pytest.approx(min(every), rel=1e-6)
    assert max(counted) == pytest.approx(max(every), rel=1e-6)


@pytest.mark.parametrize("weave", list(WEAVES))
@pytest.mark.parametrize("grain", [0.0, 90.0])
def test_the_range_holds_every_named_lay_and_both_ends_of_a_held_width(weave, grain):
    told = woven(weave, grain_deg=grain, placing="by hand", copies=2)
    every = offered(told)
    counts = [
        count_rings(replace(told.panel, lay=lay), sheet_of(told.panel, told.rings, lay)) * 2
        for lay in (*every[:5], every[-1])
    ]
    assert (min(counts), max(counts)) == told.range


def test_the_range_of_8_in_1_reaches_to_drawn_along():
    along = woven("european-8-in-1", lay=Lay("along"))
    assert woven("european-8-in-1").range[1] >= along.total
    assert woven("european-8-in-1", lay=Lay("across")).range == along.range


def test_the_range_is_known_once_it_was_asked_for():
    told = woven("european-4-in-1")
    assert not told.range_known
    assert told.range
    assert told.range_known
    settled_by = Lay("swatch", Swatch(10, 10, 89.0, 60.0))
    assert tally_panel(replace(SQUARE, lay=settled_by), STEEL).range_known


def test_rings_too_tight_to_be_drawn_count_alike_in_every_lay():
    tight = replace(STEEL, mandrel_mm=None, inner_measured_mm=STEEL.wire_mm * 2.9815)
    told = tally_panel(replace(SQUARE, outline=rectangle(60.0, 60.0)), tight)
    assert told.wide_range is None
    assert "worn otherwise" in " ".join(told.how())


def test_edges_of_holes_are_told_from_those_of_the_rim():
    outline = Outline(rectangle(110.0, 95.0).rim, (circle_loop(20.0, 55.0, 47.0, first_id=50),))
    panel = replace(SQUARE, outline=outline, edges=(EdgeFinish(52, "plain", "Buckle side"),))
    names = [e.name for e in tally_panel(panel, STEEL).edges]
    assert names[:4] == ["Edge 1", "Edge 2", "Edge 3", "Edge 4"]
    assert names[4:] == ["Hole 1, edge 1", "Hole 1, edge 2", "Buckle side", "Hole 1, edge 4"]


def test_a_costume_of_one_panel_is_that_panel_alone():
    costume = small_costume()
    for panel in costume.panels:
        alone = estimate_for(costume, (panel,)).totals
        whole = estimate(replace(costume, panels=(panel,))).totals
        assert alone == whole
    assert estimate_for(costume, costume.panels).totals == estimate(costume).totals


def test_an_empty_costume_needs_nothing():
    totals = estimate(Project()).totals
    assert (totals.rings, totals.spare, totals.wire_mm, totals.spools, totals.cost) == (
        0,
        0,
        0,
        0,
        None,
    )
