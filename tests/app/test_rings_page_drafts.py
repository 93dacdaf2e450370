"""The Rings page while something is unfinished: free wire, a panel still being drawn."""

from __future__ import annotations

from dataclasses import replace

from app.pages.compare_words import verdict
from core import edits
from core.compare import Choice, compare
from core.ring import Spool
from tests.app.shell_board import Shell
from tests.core.costumes import BRASS, STEEL, small_costume
from tests.core.shapes import rectangle


def test_wire_that_costs_nothing_has_a_verdict():
    free = [
        replace(spec, id=-i, spool=Spool(50_000.0, None, 0.0))
        for i, spec in enumerate((STEEL, BRASS, replace(STEEL, wire_mm=1.4)), start=1)
    ]
    costume = small_costume()
    said = verdict(compare(costume, tuple(map(Choice, free))), costume)
    assert "cheapest A, B and C" in said


def test_use_takes_only_panels_that_are_there(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch)
    document = shell.document
    other = edits.add_ring(replace(BRASS, name="Other"))
    document.apply(other, "add a ring")
    ring_id = document.project.rings[-1].id
    (woven,) = document.project.panels
    draft = replace(woven, name="Draft", outline=rectangle(60.0, 50.0), edges=())
    document.show_preview(edits.add_panel(draft))
    bench = shell.window.pages[1].widget.bench
    assert bench.slots[1] == ring_id
    bench.use(1, document.shown.panels)
    (kept,) = document.project.panels
    assert kept.ring_id == ring_id
    document.undo_stack.undo()
    assert document.project.panels == (woven,)


def test_a_ring_only_compared_says_that_undo_does_not_reach_it(qtbot, monkeypatch):
    shell = Shell(qtbot, monkeypatch)
    shell.click(shell.window.header.pages["rings"])
    bench = shell.window.rings.bench
    bench.choose(1, None)
    spec = bench.spec(bench.ring_id)
    count = shell.document.undo_stack.count()
    bench.change(replace(spec, wire_mm=spec.wire_mm * 0.9))
    assert shell.document.undo_stack.count() == count
    assert "not part of the costume: Undo" in shell.remarks[-1][0]
    # A ring of the costume is undone, and nothing is said of it.
    own = shell.document.project.rings[0]
    bench.change(replace(own, name="Mine"))
    assert "not part of the costume" not in shell.remarks[-1][0]
    # Leaving asks about it once; the costume itself is asked about as ever.
    shell.document.undo_stack.undo()
    shell.asked.clear()
    shell.answers.extend(["cancel", "leave", "leave"])
    files = shell.window.files
    assert [files.may_leave(), files.may_leave()] == [False, True]
    assert [q.title for q in shell.asked] == ["Rings only compared"] * 2
    files.new()
    shell.asked.clear()
    assert files.may_leave() and shell.asked == []
