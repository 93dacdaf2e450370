"""The mandrel finder on the Rings page, by real keys and clicks."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLabel, QLineEdit, QTableWidget

from app.pages.mandrel_card import MandrelCard
from core import edits, project_file
from core.ring import released_inner_mm, resolve
from core.trial_coil import TrialCoil
from core.wire import metal
from tests.app.shell_board import Shell

SAMPLE = Path(__file__).parents[2] / "sample_projects" / "shoulder_pair.ringloft"
NBSP = "\u00a0"


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, project_file.load(SAMPLE), SAMPLE)


@pytest.fixture
def page(shell):
    shell.click(shell.window.header.pages["rings"])
    return shell.window.rings


def card_of(page, kind=MandrelCard):
    found = [c for c in page.form.findChildren(kind) if c.isVisible()]
    assert len(found) == 1
    return found[0]


@pytest.fixture
def card(shell, page, qtbot):
    shell.click(page.form.find_link)
    return card_of(page)


def undo(shell, page):
    # Without a window manager nobody brings the window back to the front.
    with shell.qtbot.waitActive(shell.window):
        shell.window.activateWindow()
    page.list.setFocus()
    shell.press(Qt.Key.Key_Z)


def ring(shell):
    return shell.document.project.rings[0]


def rows(card):
    table = card.table
    return [
        [table.item(row, at).text() for at in range(table.columnCount())]
        for row in range(table.rowCount())
    ]


def type_over(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)


def test_it_opens_on_the_ring_in_hand_with_its_own_ratio(shell, card):
    assert card.ratio.text() == "5.16"
    assert card.wire.text() == f"1.60{NBSP}mm" and card.metal.key() == ring(shell).metal
    assert card.ratio.hasFocus()


def test_the_list_follows_each_key(card):
    # 350 MPa and 200 GPa wind 1.6 mm on 8 mm to 8.174 mm: derived, the round-bar analogue of
    # Gardiner 1957 (Trans. ASME 79).
    type_over(card.ratio, "5.1")
    best = rows(card)[0]
    assert best == [
        f"8{NBSP}mm", f"8.17{NBSP}mm", f"8.10 to 8.24{NBSP}mm", "5.11", f"+0.01{NBSP}mm",
        f"+0.2{NBSP}%",
    ]  # fmt: skip
    QTest.keyClick(card.ratio, Qt.Key.Key_Backspace)
    assert card.ratio.text() == "5." and rows(card)[0] != best
    misses = [abs(fit.error_mm) for fit in card._found.fits]
    assert misses == sorted(misses)


def test_enter_uses_the_best_rod_and_one_undo_brings_all_back(shell, page, card):
    before = shell.document.project
    assert ring(shell).inner_measured_mm == 8.25
    type_over(card.ratio, "4.2")
    best = card._found.fits[0].rod.mm
    QTest.keyClick(card.ratio, Qt.Key.Key_Return)
    assert not card.isVisible()
    assert ring(shell).mandrel_mm == best
    # What was measured on the 8 mm rod does not go with the new one, and the form says so.
    assert ring(shell).inner_measured_mm is None
    assert page.form.inner.text() == "" and "8.25" in page.form.cleared.text()
    assert page.form.cleared.isVisible()
    assert shell.document.undo_stack.count() == 1
    undo(shell, page)
    assert shell.document.project == before
    assert page.form.inner.text() == "8.25" and not page.form.cleared.isVisible()


def test_use_is_a_step_of_its_own_after_a_typed_rod(shell, page):
    shell.write(page.form.mandrel, "9 mm")
    shell.click(page.form.find_link)
    card = card_of(page)
    type_over(card.ratio, "4.2")
    shell.click(card.use)
    assert shell.document.undo_stack.count() == 2
    undo(shell, page)
    assert ring(shell).mandrel_mm == 9.0


def test_another_row_by_the_keyboard(shell, card):
    type_over(card.ratio, "5")
    rod = card._found.fits[1].rod.mm
    card.table.setFocus()
    QTest.keyClick(card.table, Qt.Key.Key_Down)
    QTest.keyClick(card.table, Qt.Key.Key_Return)
    assert ring(shell).mandrel_mm == rod


def test_wire_metal_and_kerf_go_with_the_rod(shell, card):
    type_over(card.wire, "14 ga US steel")
    shell.choose(card.metal, "copper")
    type_over(card.kerf, "0.5")
    type_over(card.ratio, "5")
    card.use.click()
    made = ring(shell)
    assert (made.wire_mm, made.wire_label, made.metal, made.kerf_mm) == (
        2.032, "14 ga US steel", "copper", 0.5,
    )  # fmt: skip
    assert resolve(made).aspect_ratio == pytest.approx(5, abs=0.2)
    assert shell.document.undo_stack.count() == 1


def test_the_wish_turns_from_ratio_to_diameter_and_back(shell, card):
    type_over(card.ratio, "5")
    QTest.keyClick(card.kind.button("ratio"), Qt.Key.Key_Right)
    assert card.inner.isVisible() and not card.ratio.isVisible()
    assert card.inner.text() == "8"
    type_over(card.inner, "5/16 in")
    assert card._found.inner_mm == 7.9375
    QTest.keyClick(card.kind.button("inner"), Qt.Key.Key_Left)
    assert card.ratio.text() == "4.96"


def test_sixteenths_are_fractions_in_both_units(shell, page):
    wish = released_inner_mm(7.9375, 1.6, metal("steel-galvanized").yield_mpa, 200)
    shell.document.apply(edits.set_unit("in"), "unit")
    shell.click(page.form.find_link)
    card = card_of(page)
    card.kind.button("inner").click()
    type_over(card.inner, f"{wish} mm")
    best = rows(card)[0]
    assert best[0] == f"5/16{NBSP}in" and best[4:] == [f"0.0000{NBSP}in", f"0.0{NBSP}%"]
    assert all("in" in cell for row in rows(card) for cell in (*row[:3], row[4]))
    assert f"8{NBSP}mm (0.315{NBSP}in)" in [row[0] for row in rows(card)]
    card.use.click()
    assert ring(shell).mandrel_mm == 7.9375
    assert page.form.mandrel.text() == "5/16"


@pytest.mark.parametrize("bad", ["abc", "0", "-3", "900", ""])
def test_a_wish_that_is_none_is_said_in_one_sentence_and_mended(shell, card, bad):
    before = shell.document.project
    type_over(card.ratio, bad)
    if not bad:
        QTest.keyClick(card.ratio, Qt.Key.Key_Backspace)
    assert card.trouble.isVisible() and not card.use.isEnabled()
    assert "\n" not in card.trouble.text() and card.table.rowCount() == 0
    QTest.keyClick(card.ratio, Qt.Key.Key_Return)
    assert card.isVisible() and shell.document.project is before
    type_over(card.ratio, "4.5")
    assert not card.trouble.isVisible() and card.use.isEnabled() and card.table.rowCount() > 4


def test_a_ring_the_panel_cannot_be_woven_from_stays_in_the_card(shell, card):
    before = shell.document.project
    type_over(card.ratio, "2.5")
    shell.click(card.use)
    assert card.isVisible() and card.trouble.isVisible() and "2.98" in card.trouble.text()
    assert shell.document.project is before and card.ratio.text() == "2.50"


def test_esc_puts_it_off(shell, card):
    before = shell.document.project
    QTest.keyClick(card.ratio, Qt.Key.Key_Escape)
    assert not card.isVisible() and shell.document.project is before


def test_a_trial_coil_decides_the_spring_back(shell, page):
    trial = TrialCoil(8.0, (8.3, 8.32, 8.34), 1.6, "steel-galvanized")
    spec = replace(ring(shell), trial=trial, inner_measured_mm=None)
    shell.document.apply(edits.set_ring(spec), "trial")
    shell.click(page.form.find_link)
    card = card_of(page)
    assert "trial coil shows" in card.basis.text()
    card.kind.button("inner").click()
    type_over(card.inner, "8.32")
    best = rows(card)[0]
    assert best[0] == f"8{NBSP}mm" and best[2] == "measured" and best[5] == f"0.0{NBSP}%"


def test_a_ring_only_compared_takes_its_rod_too(shell, page):
    shell.choose(page.compare.cards[1].ring, "another")
    trial_id = page.bench.ring_id
    before = shell.document.project
    assert not page.bench.in_costume(trial_id)
    shell.click(page.form.find_link)
    card = card_of(page)
    type_over(card.ratio, "6")
    rod = card._found.fits[0].rod.mm
    shell.click(card.use)
    assert page.bench.spec(trial_id).mandrel_mm == rod
    assert page.form.mandrel.value == rod
    assert shell.document.project is before


def test_the_menu_goes_to_the_rings_page_and_opens_it(shell):
    shell.window.show_page("panels")
    shell.window.actions_made["ring.find_mandrel"].trigger()
    assert shell.window.page_id == "rings"
    card_of(shell.window.rings)


def test_the_new_ring_on_the_panels_page_has_it_too(shell):
    before = shell.document.project
    shell.window.actions_made["ring.new"].trigger()
    form = shell.inspector.new_ring.form
    shell.key(form.find_link, Qt.Key.Key_Return)
    assert shell.document.project is before
    (card,) = form.findChildren(MandrelCard)
    type_over(card.ratio, "6")
    rod = card._found.fits[0].rod.mm
    shell.click(card.use)
    assert form.mandrel.value == rod and shell.document.project is before
    shell.click(shell.inspector.new_ring.add)
    assert shell.document.project.rings[-1].mandrel_mm == rod


def test_the_same_wire_named_by_its_gauge_keeps_the_measure_and_another_does_not(shell, page):
    # 16 US steel is 1.5875 mm, 14 is 2.032 mm (Machinery's Handbook, as in tests of core.wire).
    shell.write(page.form.wire, "16 ga US steel")
    assert ring(shell).inner_measured_mm == 8.25 and not page.form.cleared.isVisible()
    shell.write(page.form.wire, "14 ga US steel")
    assert ring(shell).inner_measured_mm is None and page.form.cleared.isVisible()
    shell.write(page.form.inner, "8.2")
    shell.write(page.form.price, "7")
    assert ring(shell).inner_measured_mm == 8.2 and not page.form.cleared.isVisible()


def test_stepping_the_rod_clears_the_measure_once_and_is_one_undo(shell, page):
    before = shell.document.project
    page.form.mandrel.setFocus()
    for _time in range(3):
        QTest.keyClick(page.form.mandrel, Qt.Key.Key_Up)
    assert ring(shell).mandrel_mm == pytest.approx(8.3) and ring(shell).inner_measured_mm is None
    assert page.form.cleared.isVisible() and shell.document.undo_stack.count() == 1
    undo(shell, page)
    assert shell.document.project == before and not page.form.cleared.isVisible()


def test_a_rod_being_typed_shows_no_measure_of_another(shell, page):
    type_over(page.form.mandrel, "9")
    assert "expected" in page.readouts.values["inner"].text()
    QTest.keyClick(page.form.mandrel, Qt.Key.Key_Escape)
    assert ring(shell).inner_measured_mm == 8.25 and page.form.inner.text() == "8.25"


def test_every_control_has_a_name_and_tab_goes_in_reading_order(card):
    controls = [
        w for kind in (QAbstractButton, QComboBox, QLineEdit, QTableWidget)
        for w in card.findChildren(kind) if w.isVisible()
    ]  # fmt: skip
    nameless = [w for w in controls if not w.accessibleName()]
    assert [w for w in nameless if w.parent() is not card.table] == []
    order = []
    card.kind.button("ratio").setFocus()
    for _step in range(8):
        order.append(card.focusWidget())
        QTest.keyClick(card.focusWidget(), Qt.Key.Key_Tab)
    wanted = [card.ratio, card.metal, card.wire, card.kerf, card.table, card.use, card.cancel]
    assert [w for w in order if w in wanted] == wanted


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_nothing_is_cut_off(shell, page, unit):
    shell.document.apply(edits.set_unit(unit), "unit")
    shell.click(page.form.find_link)
    card = card_of(page)
    metrics = card.table.fontMetrics()
    for row, cells in enumerate(rows(card)):
        for at, text in enumerate(cells):
            box = card.table.visualItemRect(card.table.item(row, at))
            assert metrics.horizontalAdvance(text) <= box.width() - 12, text
            assert box.bottom() <= card.table.viewport().height()
    for label in card.findChildren(QLabel):
        if label.isVisible() and label.wordWrap():
            assert label.height() >= label.heightForWidth(label.width())
