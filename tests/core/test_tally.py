"""The tally of a panel: its parts, its range, the names of its edges."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core.edits import set_lay
from core.errors import RingloftError
from core.estimate import estimate, estimate_for
from core.fill import BODY, DROPPED, EDGE
from core.outline import Outline
from core.panel import EdgeFinish, Panel
from core.placing import settled
from core.project import Project
from core.tally import kinds_text, lay_text, pitch_names, tally_panel
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
        for other in {kind, "spread", "across"}
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
    along, across = (f"{v:.3f} mm from" for v in (told.solved.along_mm, told.solved.across_mm))
    assert along in told.how()[0] and across in told.how()[0]


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
    assert "Edge rings: none" in " ".join(woven("japanese-square", edges=edged).how())
    assert "Edge rings: a pair" in " ".join(woven("doubled-4-in-1", edges=edged).how())
    told = woven("european-6-in-1", edges=edged)
    assert f"past the outline: {told.edge}." in " ".join(told.how())


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
    if (weave, kind) == ("japanese-square", "spread"):
        assert low == high, "square mail is as long as it gets either way"


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
