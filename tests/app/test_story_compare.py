"""The story: two wire gauges side by side, then the lighter one for the panel, then back."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.pages.compare_words import ROWS
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
