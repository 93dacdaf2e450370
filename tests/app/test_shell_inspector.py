"""The inspector: fields in any unit, refusals that keep the last good state, edges, new rings."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.widgets import fields
from core import edits, units
from core.estimate import panel_estimate
from core.panel import sheet_of
from core.ring import resolve
from core.weave.lay import Lay, Swatch
from tests.app.shell_board import Shell

SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch)


def tally(shell):
    return panel_estimate(shell.document.project, shell.panel).tally


def test_counts_shown_are_those_of_core_and_sum_up(shell):
    made, shown = tally(shell), shell.body.counts.text
    number = {
        k: int(shown(k).replace("\u202f", "").replace("−", "-"))
        for k in ("body", "dangling", "edge")
    }
    assert number == {"body": made.body, "dangling": -made.dangling, "edge": made.edge}
    assert sum(number.values()) == int(shell.body.total.text("all").replace("\u202f", ""))
    assert [e.rings for e in shell.body.edges.edge_model.edges] == [e.rings for e in made.edges]


def test_pitches_carry_their_unit(shell):
    solved = tally(shell).solved
    assert shell.body.sheet.text("along") == units.format_length(solved.along_mm)
    assert shell.body.sheet.text("cover").endswith("%")


def test_range_is_shown_until_a_swatch_is_measured(shell):
    made = tally(shell)
    for end in made.range:
        assert units.format_count(end) in shell.body.range.text()
    assert "swatch" in shell.body.range.text()


@pytest.mark.parametrize(
    ("typed", "degrees"), [("45", 45.0), ("17.5°", 17.5), ("-30 deg", -30.0), ("100", -80.0)]
)
def test_grain_takes_any_angle(shell, typed, degrees):
    shell.write(shell.body.grain, typed)
    assert shell.panel.grain_deg == pytest.approx(degrees)


def test_what_cannot_be_read_is_refused_and_nothing_changes(shell):
    before = shell.document.project
    shell.write(shell.body.grain, "abc")
    assert shell.document.project is before
    assert shell.body.grain.bad
    assert len(shell.cautions) == 1
    assert "abc" in shell.cautions[0]
    QTest.keyClick(shell.body.grain, Qt.Key.Key_Escape)
    assert shell.body.grain.text() == "0"
    assert not shell.body.grain.bad


def test_arrows_step_and_shift_steps_farther(shell):
    shell.key(shell.body.grain, Qt.Key.Key_Up)
    assert shell.panel.grain_deg == 5
    shell.key(shell.body.grain, Qt.Key.Key_Up, SHIFT)
    assert shell.panel.grain_deg == 55
    shell.key(shell.body.grain, Qt.Key.Key_Down)
    assert shell.panel.grain_deg == 50
    shell.document.undo_stack.undo()
    assert shell.panel.grain_deg == 0, "steps in a row are one edit"


def wheel(widget, turns=1):
    at = QPointF(widget.rect().center())
    event = QWheelEvent(
        at,
        widget.mapToGlobal(at),
        QPoint(),
        QPoint(0, 120 * turns),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)


def test_wheel_changes_a_field_only_with_the_focus(shell):
    shell.window.panels.canvas.setFocus()
    before = shell.document.project
    for widget in (shell.body.grain, shell.body.lay, shell.body.copies):
        wheel(widget)
    assert shell.document.project is before
    shell.body.grain.setFocus()
    wheel(shell.body.grain)
    assert shell.panel.grain_deg == 5
    shell.body.lay.setFocus()
    wheel(shell.body.lay, -1)
    assert shell.panel.lay == Lay("spread")


@pytest.mark.parametrize("kind", ["spread", "along", "across"])
def test_lay_is_chosen_by_keys_and_recounted(shell, kind):
    before = tally(shell).total
    shell.choose(shell.body.lay, kind)
    assert shell.panel.lay == Lay(kind)
    assert tally(shell).total != before
    assert shell.body.total.text("all") == units.format_count(tally(shell).per_copy)


def test_a_swatch_needs_all_four_numbers(shell):
    solved = tally(shell).solved
    shell.choose(shell.body.lay, "swatch")
    swatch = shell.body.swatch
    assert swatch.isVisible()
    assert shell.panel.lay.kind != "swatch", "nothing is measured yet"
    shell.write(swatch.rings, "10")
    shell.write(swatch.width_mm, f"{solved.along_mm * 10:.2f} mm")
    shell.write(swatch.rows, "8")
    assert shell.panel.lay.kind != "swatch"
    height = f"{solved.across_mm * 8 / 25.4:.4f} in"
    shell.write(swatch.height_mm, height)
    assert shell.panel.lay.kind == "swatch"
    measured = shell.panel.lay.swatch
    assert (measured.rings_along, measured.rows) == (10, 8)
    assert measured.height_mm == pytest.approx(solved.across_mm * 8, abs=0.01)
    assert "swatch" in shell.body.range.text()
    assert "to" not in shell.body.range.text().split()


def test_a_swatch_no_such_rings_can_make_is_shown_with_a_question(shell):
    shell.choose(shell.body.lay, "swatch")
    for field, text in zip(
        (
            shell.body.swatch.rings,
            shell.body.swatch.width_mm,
            shell.body.swatch.rows,
            shell.body.swatch.height_mm,
        ),
        ("10", "40", "10", "20"),
        strict=True,
    ):
        shell.write(field, text)
    assert shell.panel.lay.swatch == Swatch(10, 10, 40.0, 20.0)
    assert shell.body.trouble.isVisible()
    assert "nearest" in shell.body.trouble.text()


def test_a_known_swatch_comes_back(shell):
    solved = tally(shell).solved
    shell.choose(shell.body.lay, "swatch")
    texts = ("10", f"{solved.along_mm * 10:.3f}", "8", f"{solved.across_mm * 8:.3f}")
    for field, text in zip(shell.body.swatch._fields, texts, strict=True):
        shell.write(field, text)
    measured = shell.panel.lay
    shell.choose(shell.body.lay, "laid")
    assert shell.panel.lay == Lay("laid")
    assert not shell.body.swatch.isVisible()
    shell.choose(shell.body.lay, "swatch")
    assert shell.panel.lay == measured


def test_rule_and_holding_are_edits(shell):
    shell.choose(shell.body.rings_lie, "centre")
    assert shell.panel.rule == "centre"
    hours = panel_estimate(shell.document.project, shell.panel).hours
    shell.choose(shell.body.held, "hanging")
    assert not shell.panel.glued
    assert panel_estimate(shell.document.project, shell.panel).hours < hours


def test_mirrored_pairs_are_even_and_odd_ones_refused(shell):
    shell.click(shell.body.mirrored)
    assert (shell.panel.copies, shell.panel.mirrored) == (2, True)
    assert shell.body.pairing.text() == "Mirrored pair"
    shell.write(shell.body.copies, "3")
    assert shell.panel.copies == 2
    assert shell.body.copies.text() == "2"
    assert "even" in shell.cautions[-1]
    shell.write(shell.body.copies, "4")
    assert shell.body.pairing.text() == "2 mirrored pairs"
    shell.write(shell.body.copies, "0")
    assert shell.panel.copies == 4


def test_edges_cycle_by_key_and_by_click_and_follow_the_canvas(shell):
    edges, document = shell.body.edges, shell.document
    assert [e.edging for e in edges.edge_model.edges] == ["plain", "plain", "edged", "plain"]
    document.select_edge(12)
    assert edges.currentIndex().row() == 1
    shell.key(edges, Qt.Key.Key_F)
    assert shell.panel.finish(12).edging == "edged"
    assert edges.edge_model.edges[1].rings > 0
    shell.key(edges, Qt.Key.Key_Down)
    assert document.edge_id == 13
    rect = edges.visualRect(edges.edge_model.index(0))
    QTest.mouseClick(
        edges.viewport(),
        Qt.MouseButton.LeftButton,
        pos=QPoint(rect.right() - 80, rect.center().y()),
    )
    assert document.edge_id == 11
    assert shell.panel.finish(11).edging == "edged"
    QTest.mouseClick(
        edges.viewport(),
        Qt.MouseButton.LeftButton,
        pos=QPoint(rect.left() + 80, rect.center().y()),
    )
    assert shell.panel.finish(11).edging == "edged", "a click on the name only selects"


def test_edges_are_renamed_in_place(shell):
    edges = shell.body.edges
    shell.document.select_edge(12)
    shell.key(edges, Qt.Key.Key_F2)
    editor = edges.findChild(QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, "Fold")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    shell.qtbot.waitUntil(lambda: shell.panel.finish(12).name == "Fold")
    assert shell.panel.finish(12).edging == "plain", "the letter F was part of the name"


# --- a new ring ------------------------------------------------------------------------------


def start_ring(shell):
    shell.window.actions_made["ring.new"].trigger()
    return shell.inspector.new_ring


def test_a_new_ring_is_woven_at_once_and_is_one_edit(shell):
    ask = start_ring(shell)
    assert ask.isVisible()
    shell.write(ask.form.wire, "18 awg", Qt.Key.Key_Tab)
    shell.write(ask.form.mandrel, "3/16 in", Qt.Key.Key_Tab)
    shell.click(ask.add)
    ring = shell.document.project.rings[-1]
    assert ring.wire_label == "18 AWG"
    # Source: ASTM B258: 0.005 in · 92^((36 − n)/39).
    assert ring.wire_mm == pytest.approx(25.4 * 0.005 * 92 ** (18 / 39), rel=1e-4)
    assert ring.mandrel_mm == pytest.approx(25.4 * 3 / 16)
    assert shell.panel.ring_id == ring.id
    assert shell.body.isVisible()
    assert shell.body.ring.currentText() == ring.name
    shell.document.undo_stack.undo()
    assert len(shell.document.project.rings) == 1


def test_a_gauge_without_its_system_is_refused_with_what_each_would_be(shell):
    ask = start_ring(shell)
    shell.write(ask.form.wire, "18", Qt.Key.Key_Tab)
    assert ask.form.trouble.isVisible()
    assert all(name in ask.form.trouble.text() for name in ("AWG", "US steel", "Imperial", "BWG"))
    shell.click(ask.add)
    assert len(shell.document.project.rings) == 1
    assert ask.isVisible()


def test_a_ring_too_tight_for_the_weave_is_refused_and_the_panel_keeps_its_own(shell):
    before = shell.document.project
    ask = start_ring(shell)
    shell.write(ask.form.wire, "2 mm", Qt.Key.Key_Tab)
    shell.write(ask.form.mandrel, "4 mm", Qt.Key.Key_Tab)
    shell.click(ask.add)
    assert shell.document.project is before
    assert "wide as its wire" in shell.cautions[-1]
    assert ask.isVisible()


def test_enter_adds_and_esc_puts_off(shell):
    ask = start_ring(shell)
    QTest.keyClick(ask.form.wire, Qt.Key.Key_Escape)
    assert shell.body.isVisible()
    assert len(shell.document.project.rings) == 1
    ask = start_ring(shell)
    shell.write(ask.form.name, "Trim ring")
    assert [r.name for r in shell.document.project.rings] == ["Body", "Trim ring"]


def test_new_ring_in_the_list_opens_the_form_and_leaves_the_choice(shell):
    shell.body.ring.setFocus()
    QTest.keyClick(shell.body.ring, Qt.Key.Key_End)
    assert shell.inspector.new_ring.isVisible()
    assert shell.body.ring.key() == 1


def test_measured_inner_diameter_wins_and_says_so(shell):
    form = start_ring(shell).form
    assert "expected" in form.facts.text()
    shell.write(form.inner, "6.25", Qt.Key.Key_Tab)
    assert "measured" in form.facts.text()
    assert "5.00" in form.ratio.text()
    assert form.spec().inner_measured_mm == 6.25


def test_spools_are_sold_by_length_or_by_mass(shell):
    form = start_ring(shell).form
    shell.choose(form.sold, "mass")
    shell.write(form.spool_mass, "2.5 kg", Qt.Key.Key_Tab)
    shell.write(form.price, "19,50", Qt.Key.Key_Tab)
    spool = form.spec().spool
    assert (spool.length_mm, spool.mass_g, spool.price) == (None, 2500.0, 19.5)
    shell.write(form.price, "cheap", Qt.Key.Key_Tab)
    assert "cheap" in form.trouble.text()


# --- fields on their own ---------------------------------------------------------------------


@given(mm=st.floats(0.01, 5000), unit=st.sampled_from(["mm", "in"]))
def test_a_length_shown_is_read_back_within_what_is_shown(mm, unit):
    text = fields.LENGTH.show(mm, unit)
    assert fields.LENGTH.read(text, unit) == pytest.approx(mm, abs=0.013)


def test_leaving_an_untouched_field_changes_nothing(qtbot):
    field = fields.QuantityField("Width", fields.LENGTH)
    qtbot.addWidget(field)
    seen = []
    field.valued.connect(seen.append)
    field.show_value(1.23456, "in")
    field.show()
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert seen == []
    assert field.read() == 1.23456, "the value keeps the digits that are not shown"


def test_an_optional_field_may_be_emptied_and_another_may_not(qtbot):
    for optional in (True, False):
        field = fields.QuantityField("Width", fields.LENGTH, optional=optional)
        qtbot.addWidget(field)
        seen, refused = [], []
        field.valued.connect(seen.append)
        field.refused.connect(refused.append)
        field.show_value(3.0, "mm")
        field.clear()
        QTest.keyClick(field, Qt.Key.Key_Return)
        assert (seen, len(refused)) == (([None], 0) if optional else ([], 1))


def test_undo_right_after_enter_in_a_field_undoes_the_edit(shell):
    before = shell.panel.grain_deg
    shell.write(shell.body.grain, "30")
    assert shell.panel.grain_deg == 30
    QTest.keyClick(shell.body.grain, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert shell.panel.grain_deg == before


def test_the_range_waits_while_a_hand_moves_a_point(shell):
    still = shell.body.range.text()
    outline = edits.moved_nodes(shell.panel.outline, frozenset({12}), 20.0, 0.0)
    shell.document.show_preview(edits.set_outline(shell.panel.id, outline))
    assert not any(sign.isdigit() for sign in shell.body.range.text())
    shell.document.show_preview(None)
    assert shell.body.range.text() == still


def test_the_focused_row_of_a_list_shows_it(shell):
    rows = shell.window.panels.list
    rows.setFocus()
    QTest.qWait(0)
    with_focus = rows.grab().toImage()
    shell.window.panels.canvas.setFocus()
    QTest.qWait(0)
    assert rows.grab().toImage() != with_focus


def test_another_ring_under_a_measured_panel_lays_it_again_and_says_so(shell):
    panel, spec = shell.panel, shell.document.project.ring(shell.panel.ring_id)
    solved = sheet_of(panel, (resolve(spec),))
    size = Swatch(10, 10, solved.along_mm * 10, solved.across_mm * 10)
    shell.document.apply(edits.set_lay(panel.id, Lay("swatch", size)), "lay")
    shell.document.apply(edits.set_ring(replace(spec, wire_mm=spec.wire_mm * 0.95)), "ring")
    assert shell.panel.lay.kind == "laid"
    text, bad = shell.remarks[-1]
    assert f"“{panel.name}”: laid again" in text and not bad
    shell.document.undo_stack.undo()
    assert shell.panel.lay.kind == "swatch" and "laid again" not in shell.remarks[-1][0]
