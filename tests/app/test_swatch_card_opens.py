"""The swatch card: where it opens, its keys and names, other weaves."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QToolButton

from app.document import Document
from app.pages.swatch_card import SwatchCard
from core import edits
from core.swatches import SwatchTrial, swatch_sheet
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch
from tests.app.shell_board import Shell
from tests.app.swatch_board import (
    fill,
    fill_pace,
    fill_size,
    find_card,
    opened,
)
from tests.core.costumes import BRASS, STEEL, small_costume
from tests.core.shapes import WEAVE


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, small_costume())


@pytest.fixture
def card(shell):
    """The card for the steel ring, opened from the menu with the collar selected."""
    shell.document.select_panel(3)
    return opened(shell)


# --- where it opens ---------------------------------------------------------------------------


def test_it_opens_for_the_ring_in_hand(shell):
    shell.document.select_panel(11)
    card = opened(shell)
    assert (card.ring_id, card.weave_id) == (2, WEAVE)
    assert "Brass 1.2" in card.head.ring.text()
    assert card.size_part.uses.box(11).text() == "Cuff"
    card.close()
    shell.window.show_page("rings")
    bench = shell.window.panels.window().pages[1].widget.bench
    bench.take(1)
    assert opened(shell).ring_id == 1


def test_without_a_ring_it_says_what_to_do(qtbot, monkeypatch):
    from core.project import Project

    shell = Shell(qtbot, monkeypatch, Project())
    shell.window.actions_made["ring.swatch"].trigger()
    assert not shell.window.findChildren(SwatchCard)
    assert "Add the ring to the costume" in shell.cautions[-1]


def test_the_inspector_leads_to_it_and_is_filled_by_it(shell):
    shell.document.select_panel(3)
    body = shell.body
    body.lay.setFocus()
    body.lay.chosen.emit("swatch")
    shell.click(body.swatch.card)
    card = find_card(shell)
    assert card.size_part.uses.box(3).isChecked()
    fill_size(card, wider=0.98)
    shell.click(card.save)
    assert shell.panel.lay.kind == "swatch"
    assert body.swatch.rings.text() == "10" and body.swatch.isVisible()


def test_the_inspector_offers_a_size_measured_before(shell):
    trial = SwatchTrial(1, WEAVE, Swatch(10, 10, 88.0, 58.0))
    shell.document.apply(edits.put_swatch(trial), "swatch")
    shell.document.select_panel(3)
    assert shell.panel.lay.kind == "laid"
    shell.body.lay.chosen.emit("swatch")
    assert shell.panel.lay == Lay("swatch", trial.swatch)


def test_the_inspector_refuses_a_swatch_of_one_ring(shell):
    shell.document.select_panel(3)
    shell.body.lay.chosen.emit("swatch")
    fields = shell.body.swatch
    for field, text in zip(fields.entries(), ("1", "9", "1", "6"), strict=True):
        shell.write(field, text)
    assert shell.panel.lay.kind == "laid"
    assert "at least 3 rings and 3 rows" in shell.cautions[-1]


def test_gluing_mail_whose_swatch_came_off_is_remarked_on(shell):
    trial = SwatchTrial(2, WEAVE, hold="off")
    shell.document.apply(edits.put_swatch(trial), "swatch")
    shell.document.select_panel(11)
    shell.body.held.chosen.emit("glued")
    assert shell.panel.glued
    assert any("comes off the pad" in text for text, _bad in shell.remarks)


# --- keyboard and names -----------------------------------------------------------------------


def test_the_keyboard_reaches_everything_in_reading_order(shell, card):
    fill_size(card, wider=0.98)
    card.size_part.swatch.rings.setFocus()
    names = []
    for _turn in range(40):
        names.append(QApplication.focusWidget().accessibleName())
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        if QApplication.focusWidget() is card.size_part.swatch.rings:
            break
    assert names == [
        "Rings along the swatch",
        "Width of the swatch",
        "Rows of the swatch",
        "Height of the swatch",
        "Use this size for Collar",
        "Rings woven",
        "Minutes for those rings",
        "Start the stopwatch",
        "Bad rings",
        "Rings inspected",
        "How it holds on the pad: Not tried",
        "Save the swatch",
        "Cancel",
        "Weave",
    ]


def test_every_control_has_a_name(shell, card):
    for kind in (QLineEdit, QPushButton, QToolButton):
        for widget in card.findChildren(kind):
            if widget.isVisible():
                assert widget.accessibleName(), widget


def test_it_speaks_the_unit_of_the_costume(shell):
    shell.document.apply(edits.set_unit("in"), "unit")
    card = opened(shell)
    fields = card.size_part.swatch
    for field, text in zip(fields.entries(), ("10", "3 1/2", "10", "58 mm"), strict=True):
        fill(field, text)
    card.answer()
    assert "in: 5 % less area" in card.size_part.said[0]
    shell.click(card.save)
    (trial,) = shell.document.project.swatches
    assert trial.swatch == Swatch(10, 10, pytest.approx(88.9), pytest.approx(58.0))


@pytest.fixture
def slow_weave(monkeypatch):
    slow = replace(WEAVES[WEAVE], id="slow-weave", name="Slow weave", weave_time_factor=1.5)
    monkeypatch.setitem(WEAVES, slow.id, slow)
    return slow.id


def choose(combo, key):
    combo.put(key)
    combo.chosen.emit(key)


def test_another_weave_takes_along_what_was_typed(shell, slow_weave):
    known = SwatchTrial(1, WEAVE, minutes=5.0, rings_woven=10)
    shell.document.apply(edits.put_swatch(known), "swatch")
    card = opened(shell)
    fill_pace(card, "24", "9")
    choose(card.head.weave, slow_weave)
    assert card.pace_part.rings.text() == "24" and not card.forget.isVisible()
    assert "of the 44.5 s of common practice" in card.pace_part.said[0]  # 7 + 25 × 1.5
    shell.click(card.save)
    trial = SwatchTrial(1, slow_weave, minutes=9.0, rings_woven=24)
    assert shell.document.project.swatches == (known, trial)


def test_another_weave_shows_what_is_known_of_it(shell, slow_weave):
    known = SwatchTrial(1, slow_weave, minutes=5.0, rings_woven=10)
    shell.document.apply(edits.put_swatch(known), "swatch")
    card = opened(shell)
    assert card.pace_part.rings.text() == "" and not card.forget.isVisible()
    choose(card.head.weave, slow_weave)
    assert card.pace_part.rings.text() == "10" and card.forget.isVisible()
    assert not card.size_part.uses.isVisible(), "no panel is of that weave"
    choose(card.head.weave, WEAVE)
    assert card.pace_part.rings.text() == ""


def test_a_weave_of_flat_and_upright_rings_asks_which_ring_stands(shell):
    weave = "japanese-square"
    assert not opened(shell).head.upright.isVisible()
    find_card(shell).close()
    collar, cuff = shell.document.project.panels
    collar = replace(collar, weave=weave, upright_ring_id=2)
    shell.document.load(replace(shell.document.project, panels=(collar, cuff)), None)
    card = opened(shell)
    assert card.weave_id == weave and card.head.upright.isVisible()
    assert card.head.upright.key() == 2
    laid = swatch_sheet(weave, (STEEL, BRASS), Lay("laid"))
    size = f"{9.9 * laid.along_mm:.2f}"
    for field, text in zip(card.size_part.swatch.entries(), ("10", size, "10", size), strict=True):
        fill(field, text)
    choose(card.head.upright, 1)
    assert not card.size_part.uses.isVisible(), "no panel is of steel rings alone"
    choose(card.head.upright, 2)
    shell.key(card.size_part.uses.box(3), Qt.Key.Key_Space)
    shell.click(card.save)
    (trial,) = shell.document.project.swatches
    assert trial.ring_ids == (1, 2)
    assert shell.document.project.panel(3).lay == Lay("swatch", trial.swatch)


def test_it_stands_alone_over_any_document(qtbot):
    document = Document(small_costume())
    card = SwatchCard(document, BRASS.id, WEAVE, None)
    qtbot.addWidget(card)
    card.show()
    fill_pace(card)
    shown = []
    card.kept.connect(shown.append)
    card.save.click()
    assert shown == [SwatchTrial(2, WEAVE, minutes=9.0, rings_woven=24)]
    document.undo_stack.setClean()
