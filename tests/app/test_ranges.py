"""Ranges by lay in the list of panels and the strip: counted when idle, kept where they hold."""

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication

from app.figures import panel_figures
from core import edits
from core.tally import PanelTally
from tests.app.canvas_board import RING
from tests.app.shell_board import Shell, costume

WIDE = replace(RING, wire_mm=1.2, mandrel_mm=None, inner_measured_mm=8.4)


@pytest.fixture
def shell(qtbot, monkeypatch):
    """Three panels, the first one selected."""
    made = Shell(qtbot, monkeypatch, replace(costume(), rings=(WIDE,)))
    for name in ("Second", "Third"):
        made.document.apply(edits.duplicate_panel(made.panel.id, name), "duplicate")
    made.document.select_panel(made.document.project.panels[0].id)
    return made


def tallies(shell):
    project = shell.document.shown
    return [panel_figures(project, panel).tally for panel in project.panels]


def model(shell):
    return shell.window.panels.list.panel_model


def words(shell):
    return [model(shell).lay_words(panel)[0] for panel in shell.document.shown.panels]


def test_painting_the_list_counts_no_range(shell, monkeypatch):
    shell.document.apply(edits.set_ring(replace(WIDE, inner_measured_mm=8.5)), "ring")
    asked = []
    whole = PanelTally.range.func

    def noted(tally):
        asked.append(tally.panel.name)
        return whole(tally)

    monkeypatch.setattr(PanelTally.range, "func", noted)
    shell.window.panels.list.viewport().grab()
    assert asked == []
    assert " to " not in words(shell)[1]


def test_ranges_come_one_by_one_and_are_then_shown(qtbot, shell):
    shell.document.apply(edits.set_ring(replace(WIDE, inner_measured_mm=8.5)), "ring")
    assert not all(tally.range_known for tally in tallies(shell))
    renewed = []
    model(shell).dataChanged.connect(lambda top, _bottom: renewed.append(top.row()))
    qtbot.waitUntil(lambda: all(tally.range_known for tally in tallies(shell)))
    assert 1 in renewed and 2 in renewed
    for tally, said in zip(tallies(shell), words(shell), strict=True):
        assert said == "laid, {} to {}".format(*tally.range)


def test_the_strip_shows_the_costumes_range_once_every_panels_is_known(qtbot, shell):
    shell.click(shell.window.strip.scope.button("costume"))
    shell.document.apply(edits.set_ring(replace(WIDE, inner_measured_mm=8.5)), "ring")
    cell = shell.window.strip.cells["rings"]
    assert " to " not in cell.note
    qtbot.waitUntil(lambda: " to " in cell.note)
    ends = [sum(tally.range[i] for tally in tallies(shell)) for i in (0, 1)]
    assert cell.note == "laid, {} to {}".format(*ends)


def test_only_the_panel_that_is_dragged_loses_its_range(qtbot, shell):
    qtbot.waitUntil(lambda: all(tally.range_known for tally in tallies(shell)))
    before = words(shell)
    panel = shell.document.project.panels[0]
    node = panel.outline.rim.nodes[0].id
    moved = edits.moved_nodes(panel.outline, frozenset({node}), 3.0, 3.0)
    shell.document.show_preview(edits.set_outline(panel.id, moved))
    QApplication.processEvents()
    assert words(shell) == ["laid", *before[1:]]
    shell.document.show_preview(None)
    assert words(shell) == before
