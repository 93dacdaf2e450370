"""The count strip: the numbers of core, the difference during a gesture, the costume."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import theme as look
from app.count_strip import CELLS, Figure, difference, labels
from app.widgets.explain import Explanation
from core import edits, units
from core.estimate import estimate, estimate_for, panel_estimate
from tests.app.canvas_board import RING
from tests.app.shell_board import Shell, costume


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch)


def shown(shell):
    return {
        key: f"{c.figure.text} {c.figure.unit}".strip()
        for key, c in shell.window.strip.cells.items()
    }


def spaced(text):
    return text.replace(units.SPACE, " ")


def test_numbers_of_a_panel_are_those_of_core(shell):
    found = panel_estimate(shell.document.project, shell.panel)
    text = shown(shell)
    assert text["rings"] == units.format_count(found.tally.total)
    assert text["area"] == spaced(units.format_area(found.tally.area_mm2))
    assert text["edge"] == units.format_count(found.tally.edge)
    assert text["mass"] == spaced(units.format_mass(found.mass_g))
    alone = estimate_for(shell.document.project, (shell.panel,)).totals
    assert alone.wire_mm > found.wire_mm, "spare rings and tails are bought too"
    assert text["wire"] == spaced(units.format_wire_length(alone.wire_mm))
    assert text["hours"] == spaced(units.format_hours(alone.hours))


@pytest.mark.parametrize("price", [None, 5.9])
def test_a_costume_of_one_panel_reads_alike_in_both_scopes(qtbot, monkeypatch, price):
    ring = replace(RING, spool=replace(RING.spool, price=price))
    shell = Shell(qtbot, monkeypatch, replace(costume(), rings=(ring,)))
    alike = ("rings", "area", "edge", "mass", "wire", "spools", "hours")
    cells = shell.window.strip.cells
    panel = {key: cells[key].figure.text for key in alike}
    notes = {key: cells[key].note for key in ("mass", "wire", "spools", "hours")}
    shell.click(shell.window.strip.scope.button("costume"))
    assert shell.window.strip.whole
    assert {key: cells[key].figure.text for key in alike} == panel
    assert {key: cells[key].note for key in notes} == notes
    spools = int(panel["spools"])
    assert notes["spools"] == ("no price yet" if price is None else f"€{5.9 * spools:.2f}")
    assert "spare" in notes["wire"]


def test_weight_follows_the_unit(shell):
    assert shell.window.strip.cells["mass"].figure.unit == "g"
    shell.document.apply(edits.set_unit("in"), "unit")
    assert shell.window.strip.cells["mass"].figure.unit == "oz"


def test_costume_counts_all_panels_and_copies(shell):
    shell.press(Qt.Key.Key_D)
    shell.write(shell.body.copies, "3")
    shell.click(shell.window.strip.scope.button("costume"))
    totals = estimate(shell.document.project).totals
    text = shown(shell)
    one = panel_estimate(shell.document.project, shell.document.project.panels[0]).tally
    assert totals.rings == 4 * one.per_copy
    assert text["rings"] == units.format_count(totals.rings)
    assert text["wire"] == spaced(units.format_wire_length(totals.wire_mm))
    assert text["spools"] == str(totals.spools)


def preview(shell, dx_mm):
    panel = shell.document.project.panel(shell.document.panel_id)
    outline = edits.moved_nodes(panel.outline, frozenset({12, 13}), dx_mm, 0.0)
    shell.document.show_preview(edits.set_outline(panel.id, outline))


@pytest.mark.parametrize("dx_mm", [30.0, -30.0])
def test_a_gesture_shows_the_signed_difference_and_the_fact_returns(shell, dx_mm):
    cells, document = shell.window.strip.cells, shell.document
    fact = cells["rings"].note
    before = panel_estimate(document.project, shell.panel).tally.total
    preview(shell, dx_mm)
    after = panel_estimate(document.shown, document.shown.panels[0]).tally.total
    sign = "+" if dx_mm > 0 else "−"
    assert cells["rings"].note == f"{sign}{abs(after - before)}"
    assert cells["rings"].changing
    assert cells["area"].note.startswith(sign)
    assert "." not in cells["area"].note or "." in cells["area"].figure.text
    assert shell.body.total.text("all") == units.format_count(after)
    document.show_preview(None)
    assert cells["rings"].note == fact
    assert not cells["rings"].changing


def test_the_difference_counts_from_where_the_gesture_began(shell):
    preview(shell, 30.0)
    first = shell.window.strip.cells["rings"].note
    preview(shell, 60.0)
    preview(shell, 30.0)
    assert shell.window.strip.cells["rings"].note == first


def test_difference_is_in_the_unit_shown():
    def kg(g):
        text, unit = units.format_mass(g).split(units.SPACE)
        return Figure(g, text, unit)

    assert difference(kg(1500.0), kg(1250.0)) == "+0.25"
    assert difference(kg(1250.0), kg(1500.0)) == "−0.25"
    assert difference(kg(1500.0), kg(1500.0)) == "±0"
    assert difference(Figure(None, "—"), kg(1.0)) == ""
    # 249.6 shows 250 and 243.4 shows 243: the difference of what is read is 7, not 6.
    assert difference(kg(249.6), kg(243.4)) == "+7"
    many = Figure(12_034.0, units.format_count(12_034))
    assert difference(many, Figure(12_000.0, units.format_count(12_000))) == "+34"


def test_difference_where_the_unit_changes_between_feet_and_inches():
    def wire(mm):
        text, unit = units.format_wire_length(mm, "in").split(units.SPACE)
        return Figure(mm, text, unit)

    assert (wire(304.8).unit, wire(254.0).unit) == ("ft", "in")
    assert difference(wire(254.0), wire(304.8)) == "−2.0"
    assert difference(wire(609.6), wire(254.0)) == "+1.17"


def test_what_cannot_be_counted_is_a_dash_with_its_reason(qtbot, monkeypatch):
    # A loaded file may hold a ring no weave can be made from.
    tight = replace(RING, wire_mm=3.0, inner_measured_mm=6.5)
    shell = Shell(qtbot, monkeypatch, replace(costume(), rings=(tight,)))
    for key in CELLS:
        cell = shell.window.strip.cells[key]
        assert cell.figure.text == "—"
        assert "wide as its wire" in cell.figure.why
        assert "wide as its wire" in cell.accessibleName()
    assert "wide as its wire" in shell.body.trouble.text()
    said = shell.window.panels.list.panel_model.count_text(shell.panel)
    assert said == "cannot be counted"
    room = look.LIST_WIDTH - 98
    assert QFontMetrics(look.font(look.PX_UNIT)).horizontalAdvance(said) <= room
    shell.window.grab()
    # On the other page nothing else says why.
    shell.click(shell.window.header.pages["rings"])
    assert "wide as its wire" in shell.window.header.message.text()


def test_a_dash_stands_alone_in_its_cell(qtbot, monkeypatch):
    tight = replace(RING, wire_mm=3.0, inner_measured_mm=6.5)
    shell = Shell(qtbot, monkeypatch, replace(costume(), rings=(tight,)))
    cell = shell.window.strip.cells["rings"]
    image = cell.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    right = {image.pixel(x, y) for x in range(60, image.width()) for y in range(28, 64)}
    assert len(right) == 1


def test_each_number_says_how_it_came_about(shell):
    for key in CELLS:
        cell = shell.window.strip.cells[key]
        cell.setFocus()
        QTest.keyClick(cell, Qt.Key.Key_Space)
        sheet = cell.findChild(Explanation)
        assert sheet.isVisible(), key
        assert cell.figure.text in " ".join(
            w.text().replace("\u202f", "")
            for w in sheet.findChildren(object)
            if hasattr(w, "wordWrap")
        ), key
        sheet.close()
        QApplication.processEvents()


@pytest.mark.parametrize("width", [1280, 1100, 1024])
def test_numbers_are_never_cut(shell, width):
    shell.window.resize(width, 700)
    QApplication.processEvents()
    strip = shell.window.strip
    for cell in strip.cells.values():
        if cell.isVisible():
            metrics = cell.fontMetrics()
            assert metrics.horizontalAdvance("Edge rings") <= cell.width() - 12
            image = cell.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
            edge = {image.pixel(image.width() - 1, y) for y in range(40, 60)}
            assert len(edge) == 1, "the number reaches the cell's end"
    assert strip.cells["rings"].notes_shown is (width >= 1180)
    if width >= 1280:
        metrics = QFontMetrics(look.font(look.PX_LABEL))
        for key, cell in strip.cells.items():
            needs = metrics.horizontalAdvance(labels()[key] + cell.note)
            assert needs <= cell.width() - 24, f"no room for {cell.note}"
    assert strip.cells["area"].isVisible() is (width >= 1080)
