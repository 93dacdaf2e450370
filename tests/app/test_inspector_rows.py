"""The inspector's rows: what a held width answers, what moves, what has room, what is marked."""

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication

from app import theme as look
from core import edits
from core.estimate import panel_estimate
from core.panel import sheet_of
from core.ring import resolve
from core.use import width_range_percent
from core.weave.cells import WEAVES
from core.weave.lay import Lay
from tests.app.canvas_board import RING
from tests.app.shell_board import Shell, costume

ROOMY = replace(RING, wire_mm=1.2, mandrel_mm=None, inner_measured_mm=8.4)
"""Wide enough for every weave."""


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, replace(costume(), rings=(ROOMY,)))


def tally(shell):
    return panel_estimate(shell.document.project, shell.panel).tally


def rings(shell):
    return tuple(resolve(s) for s in shell.document.project.rings_of(shell.panel))


def weave(shell, weave_id):
    shell.document.apply(edits.set_weave(shell.panel.id, weave_id), "weave")


def test_no_ring_marks_are_painted_where_a_weave_has_no_edge_rings(shell):
    canvas = shell.window.panels.canvas
    shell.window.panels.canvas.show_mode = "outline"

    def blue():
        image = canvas.grab().toImage()
        wanted = look.current().role_edged.rgb()
        return sum(
            image.pixel(x, y) == wanted for x in range(image.width()) for y in range(image.height())
        )

    assert blue() > 20
    weave(shell, "japanese-square")
    assert blue() == 0


@pytest.mark.parametrize(("unit", "typed"), [("mm", "25 mm"), ("in", "1 in"), ("in", "25.4 mm")])
def test_a_pitch_that_cannot_be_is_answered_in_pitches(shell, unit, typed):
    shell.document.apply(edits.set_unit(unit), "unit")
    shell.choose(shell.body.lay, "held")
    shell.write(shell.body.held_width.field, typed)
    per, places = (25.4, 3) if unit == "in" else (1.0, 2)
    spread = sheet_of(shell.panel, rings(shell), Lay("spread")).along_mm
    low, high = (spread * end / 100 / per for end in width_range_percent(shell.panel, rings(shell)))
    said = shell.cautions[0].replace("\u00a0", " ")
    assert f"{low:.{places}f} to {high:.{places}f} {unit} is possible" in said
    assert "%" not in said
    # Each end can be typed as it is told.
    for end in (low, high):
        shell.write(shell.body.held_width.field, f"{end:.{places}f} {unit}")
        assert not shell.body.held_width.field.bad
        assert tally(shell).solved.along_mm == pytest.approx(end * per, abs=0.6 * per / 10**places)


def test_the_pitch_of_flat_and_upright_rings_is_named_for_the_flat_ones(shell):
    weave(shell, "japanese-hexagonal")
    shell.choose(shell.body.lay, "held")
    held = shell.body.held_width
    assert held.pitch.text().endswith("flat ring to flat ring")
    for label in (held.pitch, held.possible):
        assert label.sizeHint().width() <= label.width()
    assert shell.body.weave.geometry().right() <= shell.inspector.width() - 16


@pytest.mark.parametrize("key", list(WEAVES))
def test_the_name_of_the_weave_is_not_cut_in_the_closed_list(shell, key):
    combo = shell.body.weave
    combo.put(key)
    room = combo.width() - 2 * 8 - 20
    assert combo.fontMetrics().horizontalAdvance(combo.currentText()) <= room


def test_no_field_moves_when_a_lay_is_offered(shell):
    body = shell.body
    fields = (body.lay, body.grain, body.rings_lie, body.held, body.copies)
    places = [f.mapTo(body, f.rect().topLeft()) for f in fields]
    shell.choose(body.held, "hanging")
    QApplication.processEvents()
    assert body.offer.isVisible()
    assert [f.mapTo(body, f.rect().topLeft()) for f in fields] == places


def test_placing_the_rows_evenly_says_what_it_did(shell):
    action = shell.window.actions_made["panel.centre_rows"]
    action.trigger()
    action.trigger()
    assert shell.window.header.message.text() == "The rows lie evenly already."
    panel = shell.panel
    moved = edits.moved_nodes(panel.outline, frozenset({panel.outline.rim.nodes[1].id}), 3.0, 0.0)
    shell.document.apply(edits.set_outline(panel.id, moved), "outline", settle=False)
    left, before = shell.panel, tally(shell).per_copy
    assert left.placing == "centred"
    action.trigger()
    assert shell.panel.origin_x_mm != left.origin_x_mm
    said = f"{before} rings in one before, {tally(shell).per_copy} now"
    assert said in shell.window.header.message.text()
