"""Comparing rings: laws of ratios, rings that cannot be, swatches, and what is remembered."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import compare as module
from core.compare import MEASURES, Choice, ratios, scope_panels
from core.errors import BadValue, RingTooTight, WireNeverYields
from core.estimate import estimate
from core.placing import settled, with_rows_centred
from core.project import Project
from core.ring import Spool, resolve
from core.tally import tally_panel
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch, solve_lay
from tests.core.costumes import BRASS, STEEL, small_costume
from tests.core.shapes import WEAVE

TIGHT = replace(STEEL, id=7, name="tight", wire_mm=2.0, mandrel_mm=None, inner_measured_mm=5.0)
STIFF = replace(STEEL, id=8, name="stiff", wire_mm=0.4, mandrel_mm=150.0)


def compare(project, specs, panel_id=None):
    """Compare rings in the weaves the panels have."""
    return module.compare(project, tuple(Choice(spec) for spec in specs), panel_id)


def placed_by_hand():
    """The small costume with rows that stay where they are in any ring."""
    costume = small_costume()
    return replace(costume, panels=tuple(replace(p, placing="by hand") for p in costume.panels))


@pytest.mark.parametrize("costume", [placed_by_hand(), settled(Project(), small_costume())])
def test_identical_rings_are_one_to_one(costume):
    columns = compare(costume, (STEEL, replace(STEEL, id=-1), replace(STEEL, name="x")))
    for measure in MEASURES:
        assert ratios(columns, measure) == (1.0, 1.0, 1.0)


wires = st.builds(lambda d, a: replace(STEEL, id=-1, wire_mm=d, mandrel_mm=d * a),
                  st.floats(0.8, 2.2), st.floats(4.0, 7.0))  # fmt: skip


@given(wires, wires)
def test_ratios_turn_round(a, b):
    there, back = compare(small_costume(), (a, b)), compare(small_costume(), (b, a))
    for measure in MEASURES:
        one, other = ratios(there, measure)[1], ratios(back, measure)[1]
        assert one * other == pytest.approx(1.0)
        assert one == there[1].values[measure] / there[0].values[measure]
        assert ratios(there, measure)[0] == 1.0


def test_a_ring_twice_as_large_all_over():
    # Similarity: lengths double, so effort to cut grows 4 times, to close 8 times, the pull that
    # opens a ring 4 times; the sheet is twice as thick and covers the same share.
    small = replace(STEEL, mandrel_mm=None, inner_measured_mm=8.0)
    large = replace(small, id=-1, wire_mm=3.2, inner_measured_mm=16.0)
    columns = compare(small_costume(), (small, large), 3)
    by = {m: ratios(columns, m)[1] for m in MEASURES}
    assert by["cut_effort"] == pytest.approx(4)
    assert by["close_effort"] == pytest.approx(8)
    assert by["opening_pull_n"] == pytest.approx(4)
    assert by["thickness_mm"] == pytest.approx(2)
    assert by["cover"] == pytest.approx(1)
    assert 0.15 < by["rings"] < 0.25


def test_centred_rows_are_placed_for_each_ring():
    """Otherwise the ring whose pitch happens to suit the old place would win."""
    project = settled(Project(), small_costume())
    columns = compare(project, (STEEL, BRASS))
    for spec, column in zip((STEEL, BRASS), columns, strict=True):
        panels = tuple(
            with_rows_centred(replace(p, ring_id=spec.id), (spec,)) for p in project.panels
        )
        assert column.values["rings"] == estimate(replace(project, panels=panels)).totals.rings


def test_every_panel_is_woven_from_each_ring():
    project = placed_by_hand()
    columns = compare(project, (STEEL, BRASS))
    for spec, column in zip((STEEL, BRASS), columns, strict=True):
        panels = tuple(replace(p, ring_id=spec.id) for p in project.panels)
        totals = estimate(replace(project, panels=panels)).totals
        for measure in ("rings", "mass_g", "wire_mm", "spools", "cost", "hours"):
            assert column.values[measure] == getattr(totals, measure)
        assert column.problem is None
        assert column.solved == solve_lay(WEAVE, spec.wire_mm, resolve(spec).inner_mm, Lay("laid"))


def test_one_panel_or_all():
    project = small_costume()
    whole = compare(project, (STEEL, BRASS))
    parts = [compare(project, (STEEL, BRASS), p.id) for p in project.panels]
    for i in range(2):
        assert whole[i].values["rings"] == sum(part[i].values["rings"] for part in parts)
    assert parts[1][0].lay == Lay("spread")
    assert scope_panels(project, 11) == (project.panels[1],)


def test_the_costume_itself_stays_as_it_is():
    project = small_costume()
    before = repr(project)
    compare(project, (BRASS, TIGHT))
    assert repr(project) == before


@pytest.mark.parametrize(("bad", "kind"), [(TIGHT, RingTooTight), (STIFF, WireNeverYields)])
def test_a_ring_that_cannot_be_gives_its_reason_beside_the_others(bad, kind):
    columns = compare(small_costume(), (STEEL, bad, BRASS))
    assert isinstance(columns[1].problem, kind)
    assert set(columns[1].values) == set(MEASURES)
    assert set(columns[1].values.values()) == {None}
    assert columns[1].solved is None
    assert (columns[1].ring is None) == (bad is STIFF)
    assert columns[0].problem is columns[2].problem is None
    for measure in MEASURES:
        assert ratios(columns, measure)[1] is None
        assert ratios(columns, measure)[2] > 0
    # As the first it leaves nothing to hold the others against.
    first = compare(small_costume(), (bad, STEEL))
    assert ratios(first, "rings") == (None, None)
    assert first[1].values["rings"] == columns[0].values["rings"]


def test_a_swatch_counts_only_for_its_own_ring():
    project = small_costume()
    lay = Lay("swatch", Swatch(10, 10, 70.0, 55.0))
    project = replace(project, panels=(replace(project.panels[0], lay=lay),))
    own, other = compare(project, (STEEL, replace(STEEL, id=-1)))
    laid = solve_lay(WEAVE, 1.6, resolve(STEEL).inner_mm, Lay("laid"))
    assert own.lay == lay
    assert own.solved.along_mm == 7.0
    assert own.solved.across_mm == 5.5
    assert own.values["rings"] == tally_panel(project.panels[0], STEEL).total
    assert other.lay == Lay("laid")
    assert other.solved == laid
    assert other.values["rings"] != own.values["rings"]


def test_a_missing_price_leaves_only_the_cost_open():
    unpriced = replace(BRASS, spool=Spool(50_000.0))
    columns = compare(small_costume(), (unpriced, STEEL))
    assert columns[0].values["cost"] is None
    assert ratios(columns, "cost") == (None, None)
    assert ratios(columns, "hours")[1] > 0


def test_a_price_of_nothing_has_no_ratio():
    columns = compare(small_costume(), (replace(BRASS, spool=Spool(50_000.0, None, 0.0)), STEEL))
    assert columns[0].values["cost"] == 0
    assert ratios(columns, "cost") == (None, None)


def test_counts_of_the_same_panel_in_the_same_ring_are_remembered(monkeypatch):
    project = small_costume()
    other = replace(BRASS, id=-1)
    seen = []
    real = module.estimate

    def watched(costume):
        result = real(costume)
        seen.append([p.tally for p in result.panels])
        return result

    monkeypatch.setattr(module, "estimate", watched)
    compare(project, (STEEL, other))
    compare(replace(project, name="Renamed"), (STEEL, other))
    for before, after in zip(seen[0] + seen[1], seen[2] + seen[3], strict=True):
        assert before is after


# --- weaves -----------------------------------------------------------------------------------


def test_one_ring_in_several_weaves():
    ring = replace(STEEL, mandrel_mm=None, inner_measured_mm=12.0)
    project = placed_by_hand()
    ids = ("european-4-in-1", "european-6-in-1", "japanese-square", "japanese-hexagonal")
    columns = module.compare(project, tuple(Choice(ring, weave) for weave in ids))
    for weave_id, column in zip(ids, columns, strict=True):
        assert column.weave is WEAVES[weave_id]
        panels = tuple(replace(p, ring_id=ring.id, weave=weave_id) for p in project.panels)
        rings = tuple(ring if r.id == ring.id else r for r in project.rings)
        whole = estimate(replace(project, panels=panels, rings=rings))
        assert column.values["rings"] == whole.totals.rings
        assert column.range == whole.range
        assert column.lays == ("laid", "spread")


def test_an_upright_ring_that_is_not_in_the_costume():
    small = replace(BRASS, id=-5, mandrel_mm=None, inner_measured_mm=5.0)
    choices = (
        Choice(STEEL, "japanese-square"),
        Choice(STEEL, "japanese-square", small),
        Choice(STEEL, "european-4-in-1", small),
    )
    like, own, plain = module.compare(small_costume(), choices)
    # Nearer rings, more of them; the weaker one of the two is pulled open.
    assert own.values["rings"] > like.values["rings"]
    pulls = resolve(STEEL).opening_pull_n, resolve(small).opening_pull_n
    assert own.values["opening_pull_n"] == min(pulls)
    assert own.solved.rings_mm[1].wire == small.wire_mm
    # Where nothing stands upright, it is not looked at.
    assert plain.values == compare(small_costume(), (STEEL, STEEL))[0].values


def test_a_weave_that_cannot_be_gives_its_reason_beside_the_others():
    four, eight = module.compare(
        small_costume(), (Choice(STEEL, "european-4-in-1"), Choice(STEEL, "european-8-in-1"))
    )
    assert four.problem is None
    assert isinstance(eight.problem, RingTooTight) and eight.weave.id == "european-8-in-1"
    assert eight.ring == resolve(STEEL)
    assert eight.range is None and eight.lays == ()


@given(st.sampled_from(sorted(WEAVES)), st.floats(0.5, 3.0), st.floats(6.0, 12.0))
def test_stretch_does_not_depend_on_the_lay_or_on_the_size(weave_id, wire_mm, aspect):
    one = solve_lay(weave_id, wire_mm, aspect * wire_mm, Lay("spread"))
    other = solve_lay(weave_id, 1.0, aspect, Lay("across"))
    across, along = module.stretch(one)
    assert module.stretch(other) == (pytest.approx(across), pytest.approx(along))
    assert across >= -1e-9 and along >= -1e-9


def test_stretch_of_japanese_square_is_the_play():
    # Taut, flat rings are 2R + 2Rc - 2d apart; laid, each of two contacts keeps 0.05 d.
    sheet = solve_lay("japanese-square", 1.0, 5.0, Lay("laid"))
    taut = 6.0 + 6.0 - 2.0
    assert module.stretch(sheet) == (pytest.approx(taut / (taut - 0.1) - 1),) * 2


def test_mass_of_a_sheet_of_two_ring_kinds():
    flat, small = resolve(STEEL), resolve(BRASS)
    sheet = solve_lay("japanese-square", flat.wire_mm, flat.inner_mm, Lay("spread"),
                      (small.wire_mm, small.inner_mm))  # fmt: skip
    # A cell holds one flat ring and two upright ones, in a square of one pitch.
    cell_g = flat.mass_g + 2 * small.mass_g
    assert module.sheet_kg_m2(sheet, (flat, small)) == pytest.approx(
        1000 * cell_g / (sheet.along_mm * sheet.across_mm)
    )


@pytest.mark.parametrize("n", [0, 1, 5])
def test_two_to_four_rings(n):
    with pytest.raises(BadValue, match="two to four"):
        compare(small_costume(), (STEEL,) * n)


def test_nothing_to_compare():
    with pytest.raises(BadValue, match="no panel"):
        compare(Project(), (STEEL, BRASS))
    with pytest.raises(KeyError):
        compare(small_costume(), (STEEL, BRASS), 99)


def test_values_are_numbers():
    for column in compare(small_costume(), (STEEL, BRASS, replace(STEEL, id=-3), BRASS)):
        assert list(column.values) == list(MEASURES)
        assert all(math.isfinite(v) and v > 0 for v in column.values.values())
        assert column.values["cover"] <= 1
