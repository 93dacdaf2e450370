"""What a measured swatch settles: the lay, the pace, the spare rings, how it holds."""

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import edits, project_file
from core.errors import BadValue, FileTrouble, RingTooTight
from core.estimate import estimate, how_alone, how_hold, how_totals, panel_estimate, spare_rings
from core.labour import PACES, how, nearest_trial, weaving_pace
from core.panel import Panel
from core.project import Project
from core.ring import resolve
from core.swatches import Rejects, SwatchTrial, check_trial, ring_rejects, swatch_sheet
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch, solve_lay
from tests.core.costumes import BRASS, STEEL, small_costume, trials
from tests.core.shapes import WEAVE, rectangle

OTHER, FACTOR = "slow-weave", 1.5
TIMED = SwatchTrial(1, WEAVE, minutes=9.0, rings_woven=24)


@pytest.fixture(autouse=True)
def _slow_weave(monkeypatch):
    """A second weave that takes half as long again."""
    slow = replace(WEAVES[WEAVE], id=OTHER, name="Slow weave", weave_time_factor=FACTOR)
    monkeypatch.setitem(WEAVES, OTHER, slow)


def laid_piece(spec=STEEL, wider=1.0):
    """A swatch of 10 rings and 12 rows as the model lays it, or that much longer each way."""
    ring = resolve(spec)
    laid = solve_lay(WEAVE, ring.wire_mm, ring.inner_mm, Lay("laid"))
    return Swatch(10, 12, 10 * laid.along_mm * wider, 12 * laid.across_mm * wider)


def with_swatches(*trials_, **changes):
    return replace(small_costume(), swatches=trials_, **changes)


# --- what is refused --------------------------------------------------------------------------


@given(trials(1, WEAVE))
def test_a_trial_with_any_of_its_parts_is_taken(trial):
    check_trial(trial)


@pytest.mark.parametrize(
    "changes, words",
    [
        ({}, "tells nothing"),
        ({"swatch": Swatch(1, 1, 5.0, 4.0)}, "at least 3 rings and 3 rows, better 10"),
        ({"swatch": Swatch(10, 2, 50.0, 8.0)}, "one or two rings"),
        ({"swatch": Swatch(10, 10, 0.0, 8.0)}, "greater than zero"),
        ({"swatch": Swatch(10, 10, math.inf, 8.0)}, "greater than zero"),
        ({"swatch": Swatch(10**6, 10, 5.0, 8.0)}, "up to 10000 rings"),
        ({"minutes": 9.0}, "needs both"),
        ({"rings_woven": 24, "hold": "firm"}, "needs both"),
        ({"minutes": 0.0, "rings_woven": 24}, "more than nothing"),
        ({"minutes": math.nan, "rings_woven": 24}, "more than nothing"),
        ({"minutes": 9.0, "rings_woven": 0}, "between 1 and"),
        ({"bad": 2, "hold": "firm"}, "needs both"),
        ({"bad": 3, "inspected": 2}, "3 bad rings cannot be among 2"),
        ({"bad": 0, "inspected": 0}, "between 1 and"),
        ({"bad": -1, "inspected": 5}, "between 1 and"),
    ],
)
def test_a_trial_that_cannot_be_is_refused_in_words(changes, words):
    trial = replace(SwatchTrial(1, WEAVE), **changes)
    with pytest.raises(BadValue, match=words) as caught:
        check_trial(trial)
    assert caught.value.do
    with pytest.raises(BadValue, match=words):
        edits.put_swatch(trial)


# --- pace -------------------------------------------------------------------------------------


def test_the_pace_of_the_maker_replaces_the_default():
    # By hand: 24 rings in 9 minutes are 22.5 s a ring.
    pace = weaving_pace("novice", (TIMED,), 1, WEAVE)
    assert (pace.body_s, pace.trial, pace.like) == (22.5, TIMED, "same")
    default = weaving_pace("novice", (), 1, WEAVE)
    assert (default.body_s, default.trial) == (32.0, None)
    assert pace.edge_s / pace.body_s == pytest.approx(default.edge_s / default.body_s)
    plain, timed = (panel_estimate(p, p.panels[0]) for p in (small_costume(), with_swatches(TIMED)))
    assert timed.weaving_h == pytest.approx(plain.weaving_h * 22.5 / 32.0)
    assert (timed.making_h, timed.fixing_h) == (plain.making_h, plain.fixing_h)
    assert timed.tally is plain.tally or timed.tally.total == plain.tally.total


def test_the_nearest_trial_is_of_the_same_weave_then_of_the_same_ring():
    same_weave = SwatchTrial(2, WEAVE, minutes=5.0, rings_woven=10)
    same_ring = SwatchTrial(1, OTHER, minutes=6.0, rings_woven=10)
    neither = SwatchTrial(2, OTHER, minutes=7.0, rings_woven=10)
    untimed = SwatchTrial(1, WEAVE, hold="firm")
    every = [untimed, neither, same_ring, same_weave, TIMED]
    for like in ("same", "weave", "ring", "other"):
        trial = every.pop()
        for order in ([*every, trial], [trial, *every]):
            assert nearest_trial(order, 1, WEAVE) == (trial, like)
    assert nearest_trial([untimed], 1, WEAVE) is None


def test_of_equally_like_trials_the_weave_that_takes_nearly_as_long_counts():
    # By their factors: 6-in-1 lies nearer to 8-in-1 than 4-in-1 does, whichever came last.
    near, far = (SwatchTrial(1, f"european-{n}-in-1", minutes=9, rings_woven=24) for n in (6, 4))
    for order in ((near, far), (far, near)):
        assert nearest_trial(order, 1, "european-8-in-1") == (near, "ring")


def test_of_trials_in_one_weave_the_one_with_more_rings_counts():
    few, many = (SwatchTrial(i, WEAVE, minutes=9, rings_woven=n) for i, n in ((1, 10), (2, 40)))
    for order in ((few, many), (many, few)):
        assert nearest_trial(order, 7, WEAVE) == (many, "weave")


def test_of_equally_near_trials_the_latest_counts():
    older, newer = TIMED, SwatchTrial(2, WEAVE, minutes=5.0, rings_woven=24)
    assert nearest_trial((older, newer), 7, WEAVE) == (newer, "weave")
    assert nearest_trial((newer, older), 7, WEAVE) == (older, "weave")


def test_another_weave_is_scaled_by_how_long_weaves_take():
    # Opening and closing, 3.5 s, take as long in every weave; weaving, 10 s, half as long again.
    there = weaving_pace("practised", (TIMED,), 1, OTHER)
    assert there.body_s == pytest.approx(22.5 * 18.5 / 13.5)
    assert (there.like, there.factor) == ("ring", pytest.approx(18.5 / 13.5))
    back = weaving_pace("practised", (replace(TIMED, weave=OTHER),), 1, WEAVE)
    assert back.body_s == pytest.approx(22.5 * 13.5 / 18.5)
    assert weaving_pace("practised", (TIMED,), 2, WEAVE).body_s == 22.5


@pytest.mark.parametrize("practice", list(PACES))
@pytest.mark.parametrize("timed", list(WEAVES))
def test_who_weaves_at_the_common_pace_does_so_in_every_weave(practice, timed):
    common = {weave: weaving_pace(practice, (), 1, weave) for weave in WEAVES}
    trial = SwatchTrial(1, timed, minutes=common[timed].body_s, rings_woven=60)
    for weave, pace in common.items():
        mine = weaving_pace(practice, (trial,), 1, weave)
        assert (mine.body_s, mine.edge_s) == pytest.approx((pace.body_s, pace.edge_s))


def test_the_words_say_what_was_measured_and_what_was_not():
    plain = how(small_costume())
    assert "Not yet your pace" in plain and "weave 25 s" in plain
    # The collar is of ring 1 and was timed; the cuff, of ring 2, borrows the pace.
    words = how(with_swatches(TIMED))
    assert "Steel 1.6, European 4-in-1: 22.5 s a ring" in words
    assert "your pace from a swatch of 24 rings in 9 min." in words
    assert "Brass 1.2, European 4-in-1: 22.5 s a ring" in words
    assert "in the ring “Steel 1.6”" in words
    assert "weave 25 s" not in words and "open or close" not in words
    assert "coil 200 s" in words and "common practice, no source" in words
    assert "In those not yet your pace" in words
    scaled = how(with_swatches(replace(TIMED, weave=OTHER)), small_costume().panels[:1])
    assert "16.2 s a ring" in scaled  # 22.5 × (7 + 25) / (7 + 37.5)
    assert "in Slow weave, times 0.72 for the weave (common practice, no source)" in scaled
    assert how(with_swatches(SwatchTrial(1, WEAVE, hold="firm"))) == plain


def test_a_new_trial_is_counted_at_once():
    project = small_costume()
    before = estimate(project).totals.hours
    faster = edits.put_swatch(replace(TIMED, minutes=1.0))(project)
    slower = edits.put_swatch(replace(TIMED, minutes=90.0))(faster)
    assert estimate(faster).totals.hours < before < estimate(slower).totals.hours
    assert estimate(edits.remove_swatch(1, WEAVE)(slower)).totals.hours == before


# --- rejects ----------------------------------------------------------------------------------


def test_spare_follows_from_rejects():
    # Source: Laplace's rule of succession; 2 bad of 48: p = 3/50, spare = N * 3/47.
    rejects = Rejects(2, 48)
    assert rejects.chance == pytest.approx(0.06)
    trial = SwatchTrial(1, WEAVE, bad=2, inspected=48)
    for practice in ("novice", "practised"):
        project = Project(rings=(STEEL, BRASS), practice=practice, swatches=(trial,))
        assert spare_rings(1000, project, 1) == math.ceil(1000 * 3 / 47) == 64
        assert spare_rings(10, project, 1) == 1
        assert spare_rings(0, project, 1) == 0
        assert spare_rings(1000, project, 2) == spare_rings(1000, Project(practice=practice))
        assert spare_rings(1000, replace(project, spare_percent=7.0), 1) == 70


@given(st.integers(1, 10_000), st.integers(0, 200), st.integers(1, 200))
def test_so_many_spare_that_as_many_good_ones_are_left_as_wanted(rings, bad, more):
    project = Project(swatches=(SwatchTrial(1, WEAVE, bad=bad, inspected=bad + more),))
    spare = spare_rings(rings, project, 1)
    p = Rejects(bad, bad + more).chance
    assert (rings + spare) * (1 - p) >= rings - 1e-6 > (rings + spare - 1) * (1 - p) - 1e-6


def test_rejects_of_a_ring_are_counted_over_its_weaves():
    one = SwatchTrial(1, WEAVE, bad=1, inspected=20)
    two = SwatchTrial(1, OTHER, bad=3, inspected=30)
    other_ring = SwatchTrial(2, WEAVE, bad=9, inspected=9)
    assert ring_rejects((one, two, other_ring, TIMED), 1) == Rejects(4, 50)
    assert ring_rejects((TIMED,), 1) is None


def test_the_words_name_the_rejects_of_the_ring_they_decide():
    project = with_swatches(SwatchTrial(1, WEAVE, bad=2, inspected=48))
    words = "\n".join(how_totals(project, estimate(project)))
    assert "Steel 1.6: 6.4 % spare, from your 2 bad of 48 inspected" in words
    assert "rule of succession" in words
    assert "Spare: 12 % of the rings" in words  # the brass ring's, which nobody inspected
    alone = replace(project, panels=project.panels[:1])
    assert "Spare: 12 %" not in "\n".join(how_totals(alone, estimate(alone)))
    assert "2 bad of 48 inspected" in "\n".join(how_alone(project, project.panels[0]))
    assert [need.rejects for need in estimate(project).rings] == [Rejects(2, 48), None]
    own = replace(project, spare_percent=7.0)
    assert [need.rejects for need in estimate(own).rings] == [None, None]
    words = "\n".join(how_totals(own, estimate(own)))
    assert "Spare: 7 % of the rings, as you set it" in words and "inspected" not in words


# --- holding ----------------------------------------------------------------------------------


def test_how_it_holds_is_said_of_panels_on_a_pad():
    def told(hold, **changes):
        project = with_swatches(SwatchTrial(1, WEAVE, hold=hold), **changes)
        return "\n".join(how_hold(project, project.panels))

    assert told("firm") == "Collar: your swatch holds firmly on the pad."
    for hold, words in (("lifts", "lifts from the pad in places"), ("off", "comes off the pad")):
        assert words in told(hold)
        assert "degrease it first, as the glue’s maker says" in told(hold)
        assert "another glue" in told(hold) and "sew it down" in told(hold)
    hung = tuple(replace(p, holding="hanging") for p in small_costume().panels)
    assert told("off", panels=hung) == ""
    plated = (replace(STEEL, metal="steel-black"), BRASS)
    assert "Galvanized" not in told("off", rings=plated)
    assert "Degrease the rings first" in told("off", rings=plated)
    timed = with_swatches(TIMED)
    assert how_hold(timed, timed.panels) == ()


# --- edits ------------------------------------------------------------------------------------


def test_one_trial_for_each_ring_and_weave_the_latest_last():
    project = small_costume()
    one = edits.put_swatch(TIMED)(project)
    brass = SwatchTrial(2, WEAVE, bad=0, inspected=9)
    two = edits.put_swatch(brass)(one)
    assert two.swatches == (TIMED, brass)
    assert two.panels is project.panels and two.rings is project.rings
    newer = replace(TIMED, hold="firm")
    assert edits.put_swatch(newer)(two).swatches == (brass, newer)
    assert edits.put_swatch(brass)(two) is two
    assert two.swatch(2, WEAVE) is brass and two.swatch(2, OTHER) is None
    gone = edits.remove_swatch(1, WEAVE)(two)
    assert gone.swatches == (brass,)
    assert edits.remove_swatch(1, WEAVE)(gone) is gone
    with pytest.raises(KeyError):
        edits.put_swatch(replace(TIMED, ring_id=9))(project)
    with pytest.raises(BadValue):
        edits.put_swatch(replace(TIMED, weave="no such weave"))(project)


def test_the_size_is_given_to_the_panels_that_ask_for_it():
    project = small_costume()
    trial = replace(TIMED, swatch=laid_piece(wider=0.98))
    after = edits.put_swatch(trial, (3,))(project)
    assert after.panel(3).lay == Lay("swatch", trial.swatch)
    assert after.panels[1] is project.panels[1]
    assert edits.put_swatch(trial)(project).panels is project.panels
    # Saved again for one more panel, the trial itself stays as it was.
    again = edits.put_swatch(trial, (3,))(edits.put_swatch(trial)(project))
    assert again == after
    for wrong in (11,), (3, 11):
        with pytest.raises(BadValue, match="no size for “Cuff”"):
            edits.put_swatch(trial, wrong)(project)
    with pytest.raises(BadValue, match="no size for “Collar”"):
        edits.put_swatch(TIMED, (3,))(project)


def test_a_size_no_mail_of_that_ring_can_have():
    project = small_costume()
    with pytest.raises(BadValue):
        edits.put_swatch(SwatchTrial(1, WEAVE, Swatch(10, 10, 900.0, 600.0)))(project)
    tight = edits.add_ring(replace(STEEL, mandrel_mm=4.0))(project)
    with pytest.raises(RingTooTight):
        edits.put_swatch(SwatchTrial(tight.rings[-1].id, WEAVE, laid_piece()))(tight)
    # A little too wide, and the maker keeps it: the nearest sheet is told, nothing is refused.
    wide = SwatchTrial(1, WEAVE, laid_piece(wider=1.15))
    after = edits.put_swatch(wide, (3,))(project)
    assert panel_estimate(after, after.panel(3)).tally.solved.nearest_mm is not None


def test_another_ring_makes_its_swatch_stale():
    piece = replace(TIMED, swatch=laid_piece(), bad=1, inspected=24, hold="firm")
    brass = replace(TIMED, ring_id=2, swatch=laid_piece(BRASS))
    project = with_swatches(piece, brass)
    for changes in (
        {"wire_mm": 1.5}, {"mandrel_mm": 8.5}, {"metal": "brass"},
        {"mandrel_mm": None, "inner_measured_mm": 8.2},
    ):  # fmt: skip
        after = edits.set_ring(replace(STEEL, **changes))(project)
        assert after.swatches == (replace(piece, swatch=None, hold="not tried"), brass)
    for changes in ({"name": "Mine"}, {"wire_label": "16 ga"}, {"inner_measured_mm": 8.2}):
        assert edits.set_ring(replace(STEEL, **changes))(project).swatches is project.swatches
    only_size = with_swatches(replace(brass, minutes=None, rings_woven=None))
    assert edits.set_ring(replace(BRASS, mandrel_mm=7.5))(only_size).swatches == ()


def test_a_panel_laid_by_the_swatch_of_another_ring_is_laid_again():
    swatch = SwatchTrial(1, WEAVE, laid_piece())
    project = edits.put_swatch(swatch, (3,))(small_costume())
    measured = project.panel(3)
    assert measured.lay.kind == "swatch"
    for changes in ({"wire_mm": 1.4}, {"mandrel_mm": 8.5}, {"metal": "brass"}):
        after = edits.set_ring(replace(STEEL, **changes))(project)
        assert after.panel(3) == replace(measured, lay=Lay("laid")), changes
        assert after.panels[1:] == project.panels[1:]
    # The same rod measured better, another name, or rings that come to the very same size.
    inner_mm = resolve(STEEL).inner_mm
    for changes in (
        {"name": "Mine"}, {"inner_measured_mm": 8.2},
        {"mandrel_mm": None, "inner_measured_mm": inner_mm},
    ):  # fmt: skip
        assert edits.set_ring(replace(STEEL, **changes))(project).panel(3) is measured, changes
    other = edits.set_ring(replace(BRASS, mandrel_mm=7.5))(project)
    assert other.panel(3) is measured


def test_a_ring_takes_its_swatches_with_it():
    project = edits.add_ring(replace(STEEL, name="Third"))(with_swatches(TIMED))
    third = project.rings[-1].id
    tried = edits.put_swatch(replace(TIMED, ring_id=third))(project)
    assert edits.remove_ring(third)(tried).swatches == (TIMED,)
    assert edits.remove_ring(third)(project).swatches is project.swatches


# --- flat and upright rings -------------------------------------------------------------------

SQUARE = "japanese-square"


def flat_and_upright():
    """The collar of steel rings with brass ones upright, the cuff of brass ones alone."""
    project = small_costume()
    collar = replace(project.panels[0], weave=SQUARE, upright_ring_id=2)
    return replace(project, panels=(collar, replace(project.panels[1], weave=SQUARE)))


def square_piece(*specs):
    laid = swatch_sheet(SQUARE, specs, Lay("laid"))
    return Swatch(10, 10, 9.9 * laid.along_mm, 9.9 * laid.across_mm)


def test_a_size_belongs_to_both_rings_of_the_weave():
    project = flat_and_upright()
    trial = SwatchTrial(1, SQUARE, square_piece(STEEL, BRASS), upright_ring_id=2)
    assert trial.ring_ids == project.panel(3).ring_ids == (1, 2)
    after = edits.put_swatch(trial, (3,))(project)
    assert after.panel(3).lay == Lay("swatch", trial.swatch)
    assert panel_estimate(after, after.panel(3)).tally.solved.feasible
    alone = SwatchTrial(1, SQUARE, square_piece(STEEL, STEEL))
    with pytest.raises(BadValue, match="no size for “Collar”"):
        edits.put_swatch(alone, (3,))(project)
    assert SwatchTrial(1, WEAVE, upright_ring_id=2).ring_ids == (1,)


def test_another_or_no_upright_ring_makes_a_size_stale():
    trial = replace(
        TIMED, weave=SQUARE, swatch=square_piece(STEEL, BRASS), hold="firm", upright_ring_id=2
    )
    project = replace(flat_and_upright(), swatches=(trial,))
    stale = replace(trial, swatch=None, hold="not tried")
    after = edits.set_ring(replace(BRASS, wire_mm=1.1))(project)
    assert after.swatches == (stale,)
    bare = replace(project, panels=())
    gone = edits.remove_ring(2)(bare)
    assert gone.swatches == (replace(stale, upright_ring_id=None),)
    assert project_file.loads(project_file.dumps(project)) == project
    assert edits.remove_ring(1)(bare).swatches == ()


# --- files ------------------------------------------------------------------------------------


def test_swatches_are_saved_and_opened_again():
    piece = replace(TIMED, swatch=laid_piece(), bad=1, inspected=24, hold="lifts")
    project = with_swatches(piece, SwatchTrial(2, WEAVE, hold="off"))
    assert project_file.loads(project_file.dumps(project)) == project


@pytest.mark.parametrize(
    "changes, place",
    [
        ({"ring_id": 99}, r"swatches\.0\.ring_id"),
        ({"upright_ring_id": 99}, r"swatches\.0\.upright_ring_id"),
        ({"bad": 5, "inspected": 4}, r"swatches\.0 "),
        ({"minutes": -1.0}, r"swatches\.0 "),
        ({"minutes": None}, r"swatches\.0 "),
        ({"hold": "well"}, r"swatches\.0\.hold"),
        ({"rings_woven": 2.5}, r"swatches\.0\.rings_woven"),
        ({"pitch": 3}, r"swatches\.0\.pitch"),
    ],
)
def test_a_file_with_a_swatch_that_cannot_be_is_refused(changes, place):
    data = json.loads(project_file.dumps(with_swatches(TIMED)))
    data["project"]["swatches"][0].update(changes)
    with pytest.raises(FileTrouble, match=place):
        project_file.loads(json.dumps(data))


def test_a_file_with_two_swatches_of_one_ring_and_weave_is_refused():
    with pytest.raises(FileTrouble, match=r"swatches\.1 \(two swatches share"):
        project_file.loads(project_file.dumps(with_swatches(TIMED, TIMED)))


def test_paces_without_a_source_stay_as_they_are_listed():
    panel = Panel(3, "Plate", rectangle(200.0, 150.0, first_id=4), 1)
    project = Project("", (STEEL,), (panel,), next_id=99)
    for practice, pace in PACES.items():
        told = panel_estimate(replace(project, practice=practice), panel).pace
        assert told.body_s == pace.open_close_s + pace.weave_ring_s
