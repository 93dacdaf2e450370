"""The swatch card: four optional parts, live answers, one undoable step."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.figures import how_panel_numbers
from app.pages.swatch_parts import read_minutes
from core import edits
from core.errors import BadValue
from core.estimate import estimate
from core.ring import resolve
from core.swatches import SwatchTrial
from core.weave.lay import Lay, Swatch, solve_lay
from tests.app.shell_board import Shell
from tests.app.swatch_board import (
    choose_hold,
    enter,
    fill,
    fill_pace,
    fill_rejects,
    fill_size,
    laid_pitch,
    opened,
)
from tests.core.costumes import STEEL, small_costume
from tests.core.shapes import WEAVE


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, small_costume())


@pytest.fixture
def card(shell):
    """The card for the steel ring, opened from the menu with the collar selected."""
    shell.document.select_panel(3)
    return opened(shell)


# --- one step ---------------------------------------------------------------------------------


def test_all_four_parts_are_kept_in_one_undoable_step(shell, card):
    fill_size(card, wider=0.98)
    fill_pace(card)
    fill_rejects(card)
    choose_hold(shell, card, "lifts")
    shell.key(card.size_part.uses.box(3), Qt.Key.Key_Space)
    before = shell.document.project
    enter(card.rejects_part.bad)
    assert not card.isVisible()
    project = shell.document.project
    (trial,) = project.swatches
    along, across = laid_pitch()
    assert trial.swatch.width_mm == pytest.approx(9.8 * along, abs=0.006)
    assert trial.swatch.height_mm == pytest.approx(9.8 * across, abs=0.006)
    assert (trial.minutes, trial.rings_woven) == (9.0, 24)
    assert (trial.bad, trial.inspected, trial.hold) == (2, 48, "lifts")
    assert project.panel(3).lay == Lay("swatch", trial.swatch)
    assert project.panel(11) is before.panel(11)
    assert shell.document.undo_stack.count() == 1
    assert any("sew it down" in text for text, _bad in shell.remarks)
    shell.document.undo_stack.undo()
    assert shell.document.project is before


@pytest.mark.parametrize("part", ["pace", "rejects", "hold", "size"])
def test_any_part_alone_is_enough(shell, card, part):
    {
        "pace": lambda: fill_pace(card),
        "rejects": lambda: fill_rejects(card),
        "hold": lambda: choose_hold(shell, card, "firm"),
        "size": lambda: fill_size(card, wider=0.98),
    }[part]()
    shell.click(card.save)
    (trial,) = shell.document.project.swatches
    told = {
        "pace": trial.ring_s is not None,
        "rejects": trial.inspected is not None,
        "hold": trial.hold == "firm",
        "size": trial.swatch is not None,
    }
    assert [key for key, there in told.items() if there] == [part]


def test_the_hours_and_their_label_follow(shell, card):
    cell = shell.window.strip.cells["hours"]
    before = estimate(shell.document.project).totals.hours
    fill_pace(card, "24", "2")
    shell.click(card.save)
    assert estimate(shell.document.project).totals.hours < before
    assert cell.note == "woven at your pace"
    words = "\n".join(how_panel_numbers(shell.document.project, shell.panel))
    assert "your pace from a swatch of 24 rings in 2 min" in words


def test_compare_says_whose_pace_it_is(shell):
    shell.window.show_page("rings")
    note = shell.window.rings.compare.note
    assert "not yet your pace" in note.text()
    card = opened(shell)
    fill_pace(card)
    shell.click(card.save)
    assert note.text().startswith("Woven at your pace")


def test_how_it_holds_is_told_beside_the_panel_numbers(shell, card):
    choose_hold(shell, card, "lifts")
    shell.click(card.save)
    words = how_panel_numbers(shell.document.project, shell.panel)
    assert words[-1].startswith("Collar: your swatch lifts from the pad in places:")


def test_what_is_known_is_shown_and_can_be_forgotten(shell):
    piece = Swatch(12, 10, 105.0, 60.0)
    trial = SwatchTrial(1, WEAVE, piece, 9.5, 24, 2, 48, "firm")
    shell.document.apply(edits.put_swatch(trial), "swatch")
    card = opened(shell)
    texts = [field.text() for part in card.parts for field in part.entries()]
    assert texts == ["12", "105", "10", "60", "24", "9.5", "2", "48"]
    assert card.hold_part.key == "firm"
    assert not card.touched
    shell.click(card.forget)
    assert shell.document.project.swatches == ()
    assert not opened(shell).forget.isVisible()


def test_saving_it_unchanged_changes_nothing(shell):
    trial = SwatchTrial(1, WEAVE, Swatch(12, 10, 105.0, 60.0), 9.5, 24, 2, 48, "firm")
    shell.document.apply(edits.put_swatch(trial), "swatch")
    before = shell.document.project
    shell.click(opened(shell).save)
    assert shell.document.project is before


# --- live answers -----------------------------------------------------------------------------


def test_answers_while_typing(shell, card):
    fill_pace(card)
    assert "22.5 s a ring, 0.70 of the 32 s of common practice" in card.pace_part.said[0]
    fill_rejects(card)
    assert "6.4 % spare, against 12 %" in card.rejects_part.said[0]
    fill_size(card)
    assert "as open as laid" in card.size_part.said[0]
    fill_size(card, wider=0.97)
    assert "6 % less area a ring than laid, so more rings" in card.size_part.said[0]
    choose_hold(shell, card, "off")
    assert card.hold_part.said[1] and "degrease" in card.hold_part.said[0]


def test_the_size_answers_by_itself_after_a_moment(qtbot, shell, card):
    fill(card.size_part.swatch.rings, "1")
    for field in card.size_part.swatch.entries()[1:]:
        fill(field, "1")
    qtbot.waitUntil(lambda: "one or two rings" in card.size_part.said[0])


def test_panels_are_offered_a_size_once_there_is_one(shell, card):
    box = card.size_part.uses.box(3)
    assert not box.isEnabled()
    fill_size(card, wider=0.98)
    assert box.isEnabled() and not box.isChecked(), "offered, not forced"


def test_the_share_set_for_the_costume_is_said_to_go_first(shell):
    shell.document.apply(edits.set_spare(7.0), "spare")
    card = opened(shell)
    fill_rejects(card)
    assert "7 % you set for the costume goes first" in card.rejects_part.said[0]


# --- what is refused or asked -----------------------------------------------------------------


def refused(shell, card, part, words):
    """The card stays, says why, and has not changed anything."""
    before = shell.document.project
    shell.click(card.save)
    assert card.isVisible() and shell.document.project is before
    text, caution = part.said
    assert caution and words in text
    assert QApplication.focusWidget() in part.entries()


def test_a_swatch_of_one_ring_is_refused(shell, card):
    fill_size(card, rings=1, rows=1)
    refused(shell, card, card.size_part, "at least 3 rings and 3 rows, better 10")
    assert card.size_part.swatch.rings.text() == "1"


def test_more_bad_rings_than_were_inspected_are_refused(shell, card):
    fill_rejects(card, "60", "48")
    assert card.rejects_part.said[1]
    refused(shell, card, card.rejects_part, "60 bad rings cannot be among 48")


def test_half_a_part_is_refused(shell, card):
    fill(card.pace_part.rings, "24")
    refused(shell, card, card.pace_part, "both the rings woven and the minutes")
    fill(card.pace_part.minutes, "soon")
    refused(shell, card, card.pace_part, "not a time in minutes")
    fill_pace(card)
    fill(card.size_part.swatch.rings, "10")
    refused(shell, card, card.size_part, "rings, rows, width and height")
    assert card.pace_part.rings.text() == "24"


def test_a_size_in_the_wrong_unit_is_refused(shell, card):
    fill_size(card, wider=25.4)
    refused(shell, card, card.size_part, "count the rings and rows again".capitalize())


def test_nothing_at_all_is_refused(shell, card):
    shell.click(card.save)
    assert card.isVisible() and "tells nothing yet" in card.trouble.text()
    fill_pace(card)
    assert not card.trouble.isVisible()


@pytest.mark.parametrize("answer", ["nearest", "keep", "again", None])
def test_a_pitch_that_cannot_be_is_asked_about(shell, card, answer):
    fill_size(card, wider=1.12)
    assert card.size_part.said[1] and "the nearest has" in card.size_part.said[0]
    assert card.size_part.nearest.isVisible()
    shell.answers.append(answer)
    shell.click(card.save)
    assert "No sheet of these rings can have" in shell.asked[-1].text
    along, _across = laid_pitch()
    if answer in ("again", None):
        assert card.isVisible() and shell.document.project.swatches == ()
        assert QApplication.focusWidget() is card.size_part.swatch.width_mm
        return
    (trial,) = shell.document.project.swatches
    ring = resolve(STEEL)
    kept = solve_lay(WEAVE, ring.wire_mm, ring.inner_mm, Lay("swatch", trial.swatch))
    assert kept.feasible == (answer == "nearest")
    if answer == "keep":
        assert trial.swatch.width_mm == pytest.approx(11.2 * along, abs=0.006)


@pytest.mark.parametrize("rings, minutes", [("300", "9"), ("2", "60")])
@pytest.mark.parametrize("answer", ["keep", "again"])
def test_an_unlikely_pace_is_asked_about_and_never_refused(shell, card, rings, minutes, answer):
    # 1.8 s and 30 min a ring.
    fill_pace(card, rings, minutes)
    card.answer()
    assert card.pace_part.said[1] and "are rings and minutes right?" in card.pace_part.said[0]
    shell.answers.append(answer)
    shell.click(card.save)
    assert len(shell.asked) == 1
    assert len(shell.document.project.swatches) == (answer == "keep")
    assert card.isVisible() == (answer == "again")


def test_rejects_say_what_all_weaves_come_to(shell, card):
    other = SwatchTrial(card.ring_id, "european-6-in-1", bad=4, inspected=122)
    shell.document.apply(edits.put_swatch(other), "swatch")
    fill_rejects(card)
    card.answer()
    # By hand: 2 + 4 of 48 + 122.
    assert "6 of 170 over all weaves" in card.rejects_part.said[0]


def test_the_nearest_size_is_a_click_away(shell, card):
    fill_size(card, wider=1.12)
    shell.click(card.size_part.nearest)
    assert not card.size_part.said[1] and not card.size_part.nearest.isVisible()
    shell.click(card.save)
    assert shell.asked == [] and len(shell.document.project.swatches) == 1


@pytest.mark.parametrize("answer, stays, kept", [
    ("save", False, 1), ("drop", False, 0), ("back", True, 0), (None, True, 0),
])  # fmt: skip
def test_what_was_typed_is_not_lost_by_escape(shell, card, answer, stays, kept):
    fill_pace(card)
    card.save.setFocus()
    shell.answers.append(answer)
    QTest.keyClick(card, Qt.Key.Key_Escape)
    assert card.isVisible() == stays
    assert len(shell.document.project.swatches) == kept
    assert len(shell.asked) == 1


def test_escape_leaves_an_untouched_card_unasked(shell, card):
    QTest.keyClick(card, Qt.Key.Key_Escape)
    assert not card.isVisible() and shell.asked == []


# --- the stopwatch ----------------------------------------------------------------------------


def test_the_stopwatch_fills_in_the_minutes_and_goes_on(shell, card):
    now = [100.0]
    card.pace_part.clock = lambda: now[0]
    pace = card.pace_part
    shell.key(pace.watch, Qt.Key.Key_Space)
    assert pace.running and pace.minutes.isReadOnly()
    now[0] += 270.0
    shell.key(pace.watch, Qt.Key.Key_Space)
    assert pace.minutes.text() == "4.5" and not pace.minutes.isReadOnly()
    shell.key(pace.watch, Qt.Key.Key_Return)
    assert pace.running and card.isVisible(), "Enter presses the button that has the focus"
    now[0] += 90.0
    fill(pace.rings, "10")
    shell.click(card.save)
    (trial,) = shell.document.project.swatches
    assert (trial.minutes, trial.rings_woven) == (6.0, 10)


def test_a_running_stopwatch_is_not_lost_by_escape(shell, card):
    shell.click(card.pace_part.watch)
    QTest.keyClick(card, Qt.Key.Key_Escape)
    assert card.isVisible() and len(shell.asked) == 1
    card.pace_part.stop()


@pytest.mark.parametrize(
    "text, minutes", [("9", 9), ("9,5 min", 9.5), ("9:30", 9.5), ("0:45", 0.75), (" .5", 0.5)]
)
def test_minutes_are_read(text, minutes):
    assert read_minutes(text) == minutes


@pytest.mark.parametrize("text", ["0", "-3", "9:75", "1e9", "soon", "nan", "9 h", "999999"])
def test_minutes_that_cannot_be(text):
    with pytest.raises(BadValue):
        read_minutes(text)
