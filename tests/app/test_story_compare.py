"""Stories: wire gauges or weaves side by side, then one of them for the panel, then back."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.pages.compare_words import ROWS
from app.pages.slots import Slot
from core import project_file
from core.compare import MEASURES, Choice, compare, ratios
from core.wire import gauge_mm
from tests.app.shell_board import Shell

SAMPLE = Path(__file__).parents[2] / "sample_projects" / "shoulder_pair.ringloft"


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, project_file.load(SAMPLE), SAMPLE)


def rings_page(shell):
    return next(p.widget for p in shell.window.pages if p.id == "rings")


def shown_table(page):
    model = page.compare.table.compare_model
    return [
        [model.index(row, at).data() for at in range(model.columnCount())]
        for row in range(model.rowCount())
    ]


def test_two_wire_gauges_are_compared_and_one_is_used(shell):
    document, page = shell.document, rings_page(shell)
    before = document.project
    panel_id = document.panel_id

    shell.click(shell.window.header.pages["rings"])
    assert page.isVisible()

    # B becomes a new ring, typed as a gauge; the keyboard is already in its wire field.
    shell.choose(page.compare.cards[1].ring, "another")
    assert shell.window.focusWidget() is page.form.wire
    QTest.keyClicks(page.form.wire, "18 ga US steel")
    QTest.keyClick(page.form.wire, Qt.Key.Key_Return)
    # A too: the same again, with 14 gauge.
    shell.choose(page.compare.cards[0].ring, "another")
    QTest.keyClicks(page.form.wire, "14 ga US steel")
    QTest.keyClick(page.form.wire, Qt.Key.Key_Return)

    # Nothing of the costume changed by comparing.
    assert document.project is before
    a, b = (page.bench.spec(i) for i in page.bench.slots)
    assert (a.wire_label, b.wire_label) == ("14 ga US steel", "18 ga US steel")
    assert a.wire_mm == gauge_mm("us-steel", 14)
    assert b.wire_mm == gauge_mm("us-steel", 18)

    # Both swatches are in sight at one scale, and say what they are.
    left, right = (page.compare.cards[i].swatch for i in (0, 1))
    assert left.isVisible() and right.isVisible()
    assert left.px_per_mm == right.px_per_mm > 0
    assert "2.03" in left.accessibleName() and "1.21" in right.accessibleName()
    assert left.grab().toImage() != right.grab().toImage()

    # The table holds what core says.
    columns = compare(document.project, (Choice(a), Choice(b)), panel_id)
    rows = dict(zip(ROWS, shown_table(page), strict=True))
    assert rows["rings"][1:3] == [f"{columns[0].values['rings']}", f"{columns[1].values['rings']}"]
    for measure in MEASURES:
        assert rows[measure][3] == f"{ratios(columns, measure)[1]:.2f}", measure
    # A thinner wire on the same rod: smaller rings by little, lighter by much.
    assert ratios(columns, "mass_g")[1] < 0.6
    assert "lighter" in page.compare.verdict.text()

    # "Use B for Shoulder cap" is one undoable edit that brings the ring along.
    button = page.compare.use[0]
    assert button.text() == "Use B for Shoulder cap"
    shell.click(button)
    after = document.project
    used = after.ring(after.panel(panel_id).ring_id)
    assert used.wire_label == "18 ga US steel"
    assert len(after.rings) == len(before.rings) + 1
    assert document.undo_stack.count() == 1
    assert not button.isEnabled()
    # The rest of the costume stays in its own ring.
    assert [p for p in after.panels if p.id != panel_id] == [
        p for p in before.panels if p.id != panel_id
    ]

    shell.press(Qt.Key.Key_Z)
    assert document.project == before
    # The comparison is still there.
    assert page.bench.spec(page.bench.slots[1]).wire_label == "18 ga US steel"
    assert button.isEnabled()
    assert page.compare.table.compare_model.index(0, 2).data() == rows["rings"][2]


def test_two_weaves_side_by_side_and_one_is_used(shell):
    """The same ring in two weaves: seen, weighed, used with an upright ring of its own, undone."""
    document, page = shell.document, rings_page(shell)
    before, panel_id = document.project, document.panel_id
    body, light = document.project.rings
    shell.click(shell.window.header.pages["rings"])
    view = page.compare
    a, b = view.cards[:2]
    shell.choose(b.ring, body.id)
    shell.choose(b.weave, "japanese-square")
    assert document.project is before
    assert a.weave.currentText() == "European 4-in-1, as now" and a.weave.key() is None

    # Both are seen, and only the one with upright rings asks for one.
    assert a.swatch.isVisible() and b.swatch.isVisible()
    assert a.swatch.grab().toImage() != b.swatch.grab().toImage()
    assert b.upright.isVisible() and not a.upright.isVisible()
    assert b.upright.currentText() == "Upright: the same ring"

    # The table and the verdict say what core says.
    asked = (Choice(body), Choice(body, "japanese-square"))
    columns = compare(before, asked, panel_id)
    rows = dict(zip(ROWS, shown_table(page), strict=True))
    for measure in MEASURES:
        ratio = ratios(columns, measure)[1]
        assert rows[measure][3] == ("—" if ratio is None else f"{ratio:.2f}"), measure
    said = view.verdict.text()
    assert said.startswith("Japanese square (B) is ") and "lighter" in said.partition(", but ")[0]
    a_hides, b_hides = (f"{c.values['cover'] * 100:.0f}" for c in columns)
    assert f"It hides {b_hides}\u202f% of what lies beneath, A {a_hides}\u202f%." in said
    assert view.subtitle.text() == "laid"

    # The upright ring: the costume's other one.
    shell.choose(b.upright, light.id)
    assert [slot.upright_id for slot in page.bench.held] == [None, light.id]
    with_light = compare(before, (asked[0], Choice(body, "japanese-square", light)), panel_id)
    assert view.columns[1].values == with_light[1].values != columns[1].values

    # It is told by its size, and seen in its own metal.
    assert "upright ⌀1.60 × 8.36\u00a0mm" in b.more.text().replace("\u202f", "\u00a0")
    assert b.more.text() in b.swatch.accessibleName()

    # Used: ring, weave and upright ring at once.
    shell.click(view.use[0])
    panel = document.project.panel(panel_id)
    assert (panel.weave, panel.ring_ids) == ("japanese-square", (body.id, light.id))
    assert document.undo_stack.count() == 1
    assert view.columns[1].values["rings"] == with_light[1].values["rings"]
    assert not view.use[0].isEnabled() and "woven as B now" in view.why.text()
    assert a.weave.currentText() == "Japanese square, as now"
    shell.press(Qt.Key.Key_Z)
    assert document.project == before
    assert view.use[0].isEnabled()
    assert page.bench.held[1] == Slot(body.id, "japanese-square", light.id)


def test_a_weave_that_cannot_be_made_says_so(shell):
    document, page = shell.document, rings_page(shell)
    shell.click(shell.window.header.pages["rings"])
    view = page.compare
    before = document.project
    shell.choose(view.cards[1].weave, "european-8-in-1")
    card = view.cards[1]
    assert card.problem.isVisible() and not card.swatch.isVisible()
    assert "European 8-in-1 needs 5.78" in card.problem.text()
    assert "Use an inner diameter of at least" in card.problem.text()
    assert not view.use[0].isEnabled() and "5.78" in view.use[0].toolTip()
    assert "B cannot be woven here" in view.verdict.text()
    assert view.why.text() == "", "the verdict says it"
    assert {row[2] for row in shown_table(page)} == {"—"}
    # Another weave, and all is well again.
    shell.choose(card.weave, "european-6-in-1")
    assert card.swatch.isVisible() and not card.problem.isVisible()
    assert view.use[0].isEnabled() and document.project is before


def test_a_new_upright_ring_joins_the_costume_with_the_panel(shell):
    document, page = shell.document, rings_page(shell)
    before = document.project
    shell.click(shell.window.header.pages["rings"])
    view = page.compare
    shell.choose(view.cards[1].weave, "japanese-hexagonal")
    shell.choose(view.cards[1].upright, "another")
    # It is in hand, and the keyboard in its wire field.
    assert shell.window.focusWidget() is page.form.wire
    QTest.keyClicks(page.form.wire, "1.1 mm")
    QTest.keyClick(page.form.wire, Qt.Key.Key_Return)
    assert document.project is before
    trial = page.bench.spec(page.bench.held[1].upright_id)
    assert trial.wire_mm == 1.1 and trial.id < 0
    assert "B" in page.bench.letters(trial.id)
    promised = view.columns[1].values["rings"]
    shell.click(view.use[0])
    panel = document.project.panel(document.panel_id)
    flat, upright = (document.project.ring(i) for i in panel.ring_ids)
    assert (flat.name, upright.wire_mm) == ("Lighter ring", 1.1)
    assert page.bench.held[1].upright_id == upright.id
    assert view.columns[1].values["rings"] == promised
    shell.press(Qt.Key.Key_Z)
    assert document.project == before


def test_three_weaves_have_a_verdict_that_names_the_most_closed(shell, qtbot):
    page = rings_page(shell)
    shell.click(shell.window.header.pages["rings"])
    view = page.compare
    shell.click(view.add)
    body = shell.document.project.rings[0].id
    for at, weave in enumerate(("european-4-in-1", "doubled-4-in-1", "japanese-square")):
        shell.choose(view.cards[at].ring, body)
        shell.choose(view.cards[at].weave, weave)
    assert view.verdict.text().startswith("Lightest C;")
    assert "most closed B" in view.verdict.text()
    # The range comes a moment later, so that choosing is never held up.
    row, model = ROWS.index("lay"), view.table.compare_model
    assert model.index(row, 0).data() == "Range, laid"
    qtbot.waitUntil(lambda: "–" in model.index(row, 1).data())
    low, high = view.columns[0].range
    assert model.index(row, 1).data() == f"{low}–{high}"
    assert low <= view.columns[0].values["rings"] <= high
