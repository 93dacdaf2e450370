"""The Rings page: rings in hand, what they can make, what is compared; by real keys and clicks."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QScrollBar,
    QWidget,
)

from app.pages.compare_words import ROWS, how_measure, verdict
from app.pages.rings import RingsPage, gauge_text
from app.starter import new_costume
from app.widgets.explain import Explanation
from core import edits, project_file
from core.compare import Choice, compare
from core.ring import resolve
from core.weave.lay import Lay, Swatch, solve_lay
from core.wire import nearest_gauge
from tests.app.shell_board import Shell

SAMPLE = Path(__file__).parents[2] / "sample_projects" / "shoulder_pair.ringloft"


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, project_file.load(SAMPLE), SAMPLE)


@pytest.fixture
def page(shell):
    shell.click(shell.window.header.pages["rings"])
    found = next(p.widget for p in shell.window.pages if p.id == "rings")
    assert isinstance(found, RingsPage) and found.isVisible()
    return found


def shown(page):
    return page.bench.spec(page.bench.ring_id)


# --- the ring in hand --------------------------------------------------------------------------


def test_the_keyboard_starts_in_the_list_and_moves_the_ring_in_hand(shell, page):
    assert page.list.hasFocus()
    QTest.keyClick(page.list, Qt.Key.Key_Down)
    assert shown(page).name == "Lighter ring"
    assert page.form.name.text() == "Lighter ring"
    assert "5.22" in page.readouts.values["ratio"].text()


def test_typing_a_gauge_changes_the_ring_and_undoes_in_one_step(shell, page):
    before = shell.document.project
    shell.write(page.form.wire, "16 ga US steel")
    ring = shell.document.project.rings[0]
    assert ring.wire_mm == 1.5875 and ring.wire_label == "16 ga US steel"
    assert shell.document.undo_stack.count() == 1
    page.list.setFocus()
    shell.press(Qt.Key.Key_Z)
    assert shell.document.project == before
    assert page.form.wire.text().startswith("1.60")


def test_steps_of_one_field_merge_and_other_fields_do_not(shell, page):
    page.form.mandrel.setFocus()
    for _time in range(2):
        QTest.keyClick(page.form.mandrel, Qt.Key.Key_Up)
    assert shell.document.project.rings[0].mandrel_mm == pytest.approx(8.2)
    assert shell.document.undo_stack.count() == 1
    shell.write(page.form.price, "7")
    assert shell.document.undo_stack.count() == 2


def test_read_outs_follow_while_typing_and_name_the_gauge(shell, page):
    page.form.inner.setFocus()
    page.form.inner.selectAll()
    QTest.keyClicks(page.form.inner, "9")
    ring = resolve(replace(shell.document.project.rings[0], inner_measured_mm=9.0))
    assert page.readouts.values["inner"].text() == "9.00\u00a0mm, measured"
    assert page.readouts.values["ratio"].text() == f"{ring.aspect_ratio:.2f}"
    assert shell.document.project.rings[0].inner_measured_mm == 8.25
    page.form.inner.selectAll()
    QTest.keyClick(page.form.inner, Qt.Key.Key_Backspace)
    assert "±" in page.readouts.values["inner"].text()
    assert "expected" in page.readouts.values["inner"].text()
    assert "0.8 % thinner" in page.readouts.gauge.text()


def test_a_nearest_gauge_says_when_it_is_thinner_thicker_or_the_same():
    # Gauges by name, from memory: 16 US steel 1.5875 mm; see tests of core.wire for the source.
    for wire_mm, word in ((1.6, "0.8 % thinner"), (1.5, "5.8 % thicker"), (1.5875, "this wire")):
        assert word in gauge_text(nearest_gauge(wire_mm, "us-steel"), "mm")


def test_a_ring_too_tight_for_its_panel_is_refused_in_one_sentence(shell, page):
    before = shell.document.project
    shell.write(page.form.wire, "4 mm")
    assert shell.document.project is before
    assert page.trouble.isVisible() and "2.98" in page.trouble.text()
    assert "Traceback" not in page.trouble.text()
    shell.click(page.put_back)
    assert page.form.wire.text().startswith("1.60")
    assert not page.trouble.isVisible()


def test_a_refused_ring_is_taken_once_the_other_field_is_mended(shell, page):
    shell.write(page.form.wire, "4 mm")
    page.form.inner.setFocus()
    page.form.inner.selectAll()
    QTest.keyClick(page.form.inner, Qt.Key.Key_Delete)
    shell.write(page.form.mandrel, "16 mm")
    ring = shell.document.project.rings[0]
    assert (ring.wire_mm, ring.mandrel_mm) == (4.0, 16.0)
    assert not page.trouble.isVisible()


def test_wire_that_never_yields_is_said_in_the_column(shell, page):
    QTest.keyClick(page.list, Qt.Key.Key_Down)
    shell.write(page.form.mandrel, "180 mm")
    assert page.form.trouble.isVisible()
    assert "springs back" in page.form.trouble.text()


# --- adding and removing -----------------------------------------------------------------------


def test_a_ring_is_added_named_at_once_and_removed(shell, page):
    before = shell.document.project
    shell.click(page.add)
    assert shell.document.project.rings[-1].name == "New ring"
    assert shell.window.focusWidget() is page.form.name
    QTest.keyClicks(page.form.name, "Trim ring")
    QTest.keyClick(page.form.name, Qt.Key.Key_Return)
    assert shell.document.project.rings[-1].name == "Trim ring"
    page.list.setFocus()
    QTest.keyClick(page.list, Qt.Key.Key_Delete)
    assert shell.document.project.rings == before.rings


def test_a_ring_in_use_stays_and_the_column_says_who_uses_it(shell, page):
    shell.click(page.remove)
    assert len(shell.document.project.rings) == 2
    assert page.trouble.isVisible() and "Shoulder cap" in page.trouble.text()


def test_a_compared_ring_joins_the_costume(shell, page):
    shell.choose(page.compare.cards[1].ring, "another")
    assert page.keep.isVisible() and len(shell.document.project.rings) == 2
    shell.click(page.keep)
    new = shell.document.project.rings[-1]
    assert len(shell.document.project.rings) == 3
    assert page.bench.slots[1] == new.id and not page.keep.isVisible()


def test_removing_a_compared_ring_leaves_two_to_compare(shell, page):
    shell.choose(page.compare.cards[1].ring, "another")
    shell.click(page.remove)
    assert len(page.bench.slots) == 2
    assert all(page.bench.in_costume(i) for i in page.bench.slots)


def test_a_long_name_gives_way_to_the_rings_size_and_keeps_the_window_small(shell, page, qtbot):
    name = "Galvanized from the long roll in the shed by the gate"
    shell.write(page.form.name, name)
    shell.window.resize(1024, 700)
    qtbot.wait(1)
    assert page.minimumSizeHint().width() <= 1024
    which = page.can_make.which
    assert "…" in which.text() and "inner ÷ wire 5.16" in which.text()
    assert which.fontMetrics().horizontalAdvance(which.text()) <= which.width()
    assert name in which.toolTip()


# --- comparing ---------------------------------------------------------------------------------


def test_the_scope_turns_from_panel_to_costume(shell, page):
    of_panel = page.compare.columns[0].values["rings"]
    QTest.keyClick(page.compare.scope.button("panel"), Qt.Key.Key_Right)
    assert page.compare.scope.key() == "costume"
    assert page.compare.columns[0].values["rings"] > of_panel
    assert page.compare.use[0].text() == "Use B for the costume"
    shell.click(page.compare.use[0])
    project = shell.document.project
    assert {p.ring_id for p in project.panels} == {project.rings[1].id}
    assert shell.document.undo_stack.count() == 1


def test_up_to_four_rings_and_down_to_two(shell, page):
    for _time in range(2):
        shell.click(page.compare.add)
    assert len(page.compare.columns) == 4 and not page.compare.add.isEnabled()
    assert all(card.isVisible() for card in page.compare.cards)
    assert len({card.swatch.px_per_mm for card in page.compare.cards}) == 1
    for left in (3, 2):
        shell.click(page.compare.cards[2].drop)
        assert len(page.compare.columns) == left
    assert not page.compare.cards[0].drop.isVisible()


def test_enter_in_the_table_says_how_a_number_came_about(shell, page):
    table = page.compare.table
    table.setFocus()
    table.setCurrentIndex(table.compare_model.index(ROWS.index("opening_pull_n"), 0))
    QTest.keyClick(table, Qt.Key.Key_Return)
    (sheet,) = table.findChildren(Explanation)
    said = " ".join(label.text() for label in sheet.findChildren(QLabel))
    sheet.close()
    assert "right angles" in said and "upper bound" in said


def test_a_click_on_a_name_explains_and_a_click_on_a_number_does_not(shell, page):
    table = page.compare.table
    for at, sheets in ((1, 0), (0, 1)):
        place = table.visualRect(table.compare_model.index(ROWS.index("hours"), at)).center()
        QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=place)
        found = table.findChildren(Explanation)
        assert len(found) == sheets
        for sheet in found:
            sheet.close()


def test_every_row_has_a_formula_and_its_source(page, shell):
    columns, project = page.compare.columns, shell.document.project
    for row in ROWS:
        lines = how_measure(row, columns, project)
        assert len(lines[0]) > 20
        assert any("Source: " in line or "no source" in line for line in lines), row
    assert "no source" in how_measure("hours", columns, project)[-1]


def with_a_swatch(qtbot, monkeypatch):
    """The Rings page over the sample, its first panel measured on a swatch."""
    project = project_file.load(SAMPLE)
    panel = project.panels[0]
    made = resolve(project.ring(panel.ring_id))
    solved = solve_lay(panel.weave, made.wire_mm, made.inner_mm, Lay("spread"))
    lay = Lay("swatch", Swatch(10, 10, 9.9 * solved.along_mm, 9.9 * solved.across_mm))
    shell = Shell(qtbot, monkeypatch, edits.set_lay(panel.id, lay)(project), SAMPLE)
    shell.click(shell.window.header.pages["rings"])
    page = next(p.widget for p in shell.window.pages if p.id == "rings")
    return shell, page, panel


def test_using_another_ring_lays_a_panel_that_was_measured_on_a_swatch(qtbot, monkeypatch):
    shell, page, panel = with_a_swatch(qtbot, monkeypatch)
    promised = page.compare.columns[1].values["rings"]
    shell.click(page.compare.use[0])
    assert shell.document.project.panel(panel.id).lay == Lay("laid")
    # What the comparison promised is what the panel now takes.
    assert page.compare.columns[1].values["rings"] == promised


def test_columns_that_lie_differently_say_so_each_and_the_heading_does_not(qtbot, monkeypatch):
    shell, page, _panel = with_a_swatch(qtbot, monkeypatch)
    compare_view = page.compare
    assert compare_view.subtitle.text() == "European 4-in-1"
    a, b = (card.lay.text() for card in compare_view.cards[:2])
    assert "swatch" in a and b == "laid"
    assert compare_view.cards[0].lay.isVisible()
    shell.click(compare_view.use[0])
    # The panel is laid now: both columns lie alike, and the page says what it did.
    assert compare_view.subtitle.text() == "European 4-in-1, laid"
    assert not compare_view.cards[0].lay.isVisible()
    assert "Shoulder cap is laid now" in compare_view.why.text()
    shell.press(Qt.Key.Key_Z)
    assert "is laid now" not in compare_view.why.text()


def test_a_greyed_use_has_its_reason_beside_it(shell, page):
    compare_view = page.compare
    assert compare_view.use[0].isEnabled() and compare_view.why.text() == ""
    shell.click(compare_view.use[0])
    assert not compare_view.use[0].isEnabled()
    assert compare_view.why.isVisible()
    assert compare_view.why.text() == "Shoulder cap is woven as B now."


def test_until_the_maker_chooses_a_is_the_panels_own_ring(shell, page):
    project = shell.document.project
    panel, (first, second) = project.panels[0], (r.id for r in project.rings)
    assert page.bench.slots == (first, second)
    shell.document.apply(edits.set_panel_ring(panel.id, second), "ring")
    assert page.bench.slots == (second, first)
    other = project.panels[1]
    assert other.ring_id == first
    shell.document.select_panel(other.id)
    assert page.bench.slots == (first, second)
    shell.choose(page.compare.cards[0].ring, second)
    shell.choose(page.compare.cards[1].ring, first)
    shell.document.select_panel(panel.id)
    shell.document.select_panel(other.id)
    assert page.bench.slots == (second, first)


def test_an_only_ring_is_compared_with_a_suggestion_that_says_so(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch)
    shell.click(shell.window.header.pages["rings"])
    page = next(p.widget for p in shell.window.pages if p.id == "rings")
    assert page.bench.slots[0] == shell.panel.ring_id
    suggested = page.bench.slots[1]
    card = page.compare.cards[1]
    assert card.trial.text() == "a suggestion, not yet in the costume" and card.trial.isVisible()
    assert not page.compare.cards[0].trial.isVisible()
    model = page.list.ring_model
    assert model.second_line(page.bench.spec(suggested)).startswith("suggested")
    # A second ring of the costume takes its place.
    shell.click(page.add)
    new = shell.document.project.rings[-1].id
    assert page.bench.slots == (shell.panel.ring_id, new)
    assert not card.trial.isVisible()
    shell.press(Qt.Key.Key_Z)
    assert card.trial.isVisible()
    # What the maker asks for or changes is no suggestion any more.
    page.bench.take(page.bench.slots[1])
    shell.write(page.form.wire, "1.1 mm")
    assert card.trial.text() == "not yet in the costume"


def test_a_gauge_is_shown_where_rings_are_listed(shell, page):
    shell.write(page.form.wire, "16 ga US steel")
    ring = shell.document.project.rings[0]
    assert page.list.ring_model.second_line(ring).startswith("16 ga US steel, ⌀1.59 ×")
    assert "16 ga US steel" in page.compare.cards[0].more.text()


def test_mass_is_shown_in_the_costumes_unit(shell, page):
    assert page.readouts.values["mass"].text().endswith("g")
    shell.document.apply(edits.set_unit("in"), "unit")
    assert page.readouts.values["mass"].text().endswith("oz")
    table = page.compare.table.compare_model
    assert table.index(ROWS.index("mass_g"), 1).data().endswith(("oz", "lb"))


def test_without_a_panel_the_page_says_the_next_step(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch, new_costume())
    shell.click(shell.window.header.pages["rings"])
    page = next(p.widget for p in shell.window.pages if p.id == "rings")
    assert "Draw a panel" in page.compare.empty.text() and not page.compare.body.isVisible()
    assert 'href="file.sample"' in page.compare.empty.text()
    page.compare.empty.linkActivated.emit("panel.outline")
    assert shell.window.page_id == "panels"
    assert shell.window.actions_made["panel.outline"].isChecked()
    shell.window.show_page("rings")
    assert [r.name for r in page.bench.rings()] == [shell.document.project.rings[0].name]
    shell.window.panels.add_rectangle()
    assert page.compare.body.isVisible() and len(page.compare.columns) == 2


def test_opening_another_costume_clears_the_bench(shell, page):
    shell.choose(page.compare.cards[1].ring, "another")
    assert not page.bench.in_costume(page.bench.slots[1])
    whole = project_file.load(SAMPLE.with_name("whole_costume.ringloft"))
    shell.document.load(whole, None)
    assert page.bench.rings() == whole.rings
    assert page.form.name.text() == page.bench.spec(page.bench.slots[0]).name


def test_a_ring_added_after_undo_does_not_take_a_compared_rings_place(shell, page):
    shell.choose(page.compare.cards[1].ring, "another")
    shell.write(page.form.wire, "1.25 mm")
    shell.click(page.compare.use[0])
    shell.press(Qt.Key.Key_Z)
    shell.click(page.add)
    assert page.bench.spec(page.bench.slots[1]).wire_mm == 1.25
    assert not page.bench.in_costume(page.bench.slots[1])


# --- the verdict -------------------------------------------------------------------------------


def columns_of(wire_mm, **more):
    project = project_file.load(SAMPLE)
    a = project.rings[0]
    b = replace(a, id=-1, inner_measured_mm=a.inner_measured_mm, wire_mm=wire_mm, **more)
    return compare(project, (Choice(a), Choice(b)), project.panels[0].id), project


def test_the_verdict_weighs_gains_against_losses():
    columns, project = columns_of(1.25)
    said = verdict(columns, project)
    gains, _but, losses = said.partition(", but ")
    assert "lighter" in gains and "easier to pull open" in losses
    columns, project = columns_of(2.0)
    said = verdict(columns, project)
    gains, _but, losses = said.partition(", but ")
    assert "harder to pull open" in gains and "heavier" in losses


def test_like_rings_come_to_the_same():
    columns, project = columns_of(1.6)
    assert "nearly the same" in verdict(columns, project)


# --- for all hands and eyes --------------------------------------------------------------------


def test_every_control_has_a_name_and_is_reached_by_tab(shell, page):
    for _time in range(2):
        shell.click(page.compare.add)
    kinds = (QAbstractButton, QComboBox, QLineEdit, QAbstractItemView)
    controls = [
        w for w in page.findChildren(QWidget)
        if isinstance(w, kinds) and w.isVisible() and not isinstance(w, QScrollBar)
    ]  # fmt: skip
    nameless = [w for w in controls if not (w.accessibleName() or getattr(w, "text", str)())]
    assert not nameless
    page.list.setFocus()
    reached = set()
    for _step in range(120):
        focus = shell.window.focusWidget()
        reached.add(focus)
        QTest.keyClick(focus, Qt.Key.Key_Tab)
    wanted = [w for w in controls if w.isEnabled() and w.parentWidget() is not page.compare.scope]
    missed = [
        w.accessibleName() for w in wanted if w not in reached and not isinstance(w, QHeaderView)
    ]
    assert not missed


@pytest.mark.parametrize("size", [(1024, 700), (1280, 800), (1440, 900)])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_nothing_is_clipped(shell, page, size, unit, qtbot):
    shell.window.resize(*size)
    shell.document.apply(edits.set_unit(unit), "unit")
    qtbot.wait(1)
    table = page.compare.table
    for count in (2, 3, 4):
        if count > 2:
            shell.click(page.compare.add)
            qtbot.wait(1)
        metrics = table.fontMetrics()
        model = table.compare_model
        seen = [at for at in range(model.columnCount()) if not table.isColumnHidden(at)]
        for at in seen:
            for row in range(model.rowCount()):
                text = str(model.index(row, at).data() or "")
                assert metrics.horizontalAdvance(text) * (1 if count == 2 else 12 / 13) <= (
                    table.columnWidth(at) - 8
                ), (count, text)
        assert table.horizontalScrollBar().maximum() == 0
        assert table.rowHeight(0) * model.rowCount() <= table.viewport().height()
        assert page.compare.verdict.geometry().bottom() <= page.compare.body.height()
        for button in page.compare.use[: count - 1]:
            assert button.width() >= button.sizeHint().width()
            assert button.geometry().bottom() <= page.compare.body.height()
        for card in page.compare.cards[:count]:
            labels = (card.caption, card.more, card.trial, card.state)
            for label in (w for w in labels if w.isVisible()):
                assert label.height() >= label.heightForWidth(label.width()), label.text()
                words = label.text().split(" ")
                assert max(map(label.fontMetrics().horizontalAdvance, words)) <= label.width()
            if count == 2:
                room = card.ring.width() - 40
                assert card.ring.fontMetrics().horizontalAdvance(card.ring.currentText()) <= room
    for label in page.readouts.values.values():
        assert label.width() >= label.sizeHint().width()
