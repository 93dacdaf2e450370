"""What the comparison says in words, without a window."""

from dataclasses import replace

from app.compare_report import compare_data, compare_text
from app.pages.compare_words import how_measure, pace_note, row_name, verdict
from core.compare import Choice, compare
from core.swatches import SwatchTrial
from tests.core.costumes import STEEL, small_costume
from tests.core.shapes import WEAVE

TIMED = SwatchTrial(STEEL.id, WEAVE, minutes=9.0, rings_woven=24)
WIDE = replace(STEEL, id=-1, name="wide", mandrel_mm=None, inner_measured_mm=12.0)


def columns(project, *choices):
    return compare(project, choices, project.panels[0].id)


def test_a_pace_carried_over_from_another_weave_is_named_as_such():
    project = replace(small_costume(), swatches=(TIMED,))
    same = columns(project, Choice(STEEL), Choice(STEEL))
    assert "at your pace" in pace_note(same) and "carried" not in pace_note(same)
    other = columns(project, Choice(STEEL), Choice(WIDE, "european-6-in-1"))
    assert pace_note(other).startswith("B: your pace, carried over from another weave")
    plain = columns(small_costume(), Choice(STEEL), Choice(WIDE, "european-6-in-1"))
    assert "common practice, no source; not yet your pace" in pace_note(plain)


def test_hours_are_explained_by_a_short_line_for_each_weave_and_operation():
    project = replace(small_costume(), swatches=(TIMED,))
    lines = how_measure(
        "hours", columns(project, Choice(STEEL), Choice(WIDE, "european-6-in-1")), project
    )
    # By hand: 22.5 s, times (7 + 25 × 1.5) / (7 + 25) for the novice's other weave.
    assert lines[0] == "A, European 4-in-1: 22.5 s a ring, your pace"
    assert lines[1] == (
        "B, European 6-in-1: 31.3 s a ring, carried over from European 4-in-1, × 1.39"
    )
    assert "no source" in lines[-1] and max(map(len, lines)) < 90


def test_what_speaks_of_one_panel_of_several_names_it():
    project = small_costume()
    cuff = replace(project.panels[1], weave="japanese-square")
    mixed = replace(project, panels=(project.panels[0], cuff))
    every = compare(mixed, (Choice(STEEL), Choice(STEEL)))
    for row in ("cover", "thickness_mm", "stretch_across", "stretch_along"):
        assert row_name(row, every).endswith(f", {project.panels[0].name}")
    assert row_name("mass_g", every) == "Weight"
    assert "Cover, Collar" in compare_text("x", every, mixed)
    assert compare_data("x", every)["sheet_panel"] == "Collar"
    one = compare(mixed, (Choice(STEEL), Choice(STEEL)), cuff.id)
    assert row_name("cover", one) == "Cover"


def test_with_only_one_that_can_be_woven_there_is_no_list_of_the_best():
    project = small_costume()
    tight = replace(STEEL, id=-1, mandrel_mm=None, inner_measured_mm=3.0)
    every = columns(project, Choice(STEEL), Choice(tight), Choice(tight))
    assert verdict(every, project) == ("Only A can be woven here, so there is nothing to compare.")


def test_the_pull_says_why_it_keeps_the_tables_yield():
    project = small_costume()
    both = columns(project, Choice(STEEL), Choice(STEEL))
    said = " ".join(how_measure("opening_pull_n", both, project))
    assert "table value" in said and "no strength" in said
