"""The inspector's weave, rings and lay, by keys and clicks: what is chosen, refused and offered."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import theme as look
from app.pages.weave_combo import PICTURE_ROLE, TIGHT_ROLE
from app.pages.weave_pictures import PICTURE
from core import edits, units
from core.estimate import panel_estimate
from core.panel import sheet_of
from core.ring import resolve
from core.use import width_range_percent
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch, limit_aspect_ratio
from tests.app.canvas_board import RING
from tests.app.shell_board import Shell, costume

ROOMY = replace(RING, wire_mm=1.2, mandrel_mm=None, inner_measured_mm=8.4)
"""Wide enough for every weave."""
SMALL = replace(RING, id=40, name="Upright", wire_mm=1.2, inner_measured_mm=6.0, mandrel_mm=None)


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, replace(costume(), rings=(ROOMY, SMALL)))


@pytest.fixture
def tight(qtbot, monkeypatch):
    """A panel in a ring that European 8-in-1 cannot be made from."""
    narrow = replace(ROOMY, inner_measured_mm=6.24)
    return Shell(qtbot, monkeypatch, replace(costume(), rings=(narrow, SMALL)))


def tally(shell):
    return panel_estimate(shell.document.project, shell.panel).tally


def rings(shell):
    return tuple(resolve(s) for s in shell.document.project.rings_of(shell.panel))


def pick(combo, key):
    """Open the list with a key, go to a line and take it."""
    combo.setFocus()
    QTest.keyClick(combo, Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    view = combo.view()
    assert view.isVisible()
    QTest.keyClick(view, Qt.Key.Key_Home)
    for _step in range([k for k, _text in combo._choices].index(key)):
        QTest.keyClick(view, Qt.Key.Key_Down)
    QTest.keyClick(view, Qt.Key.Key_Return)
    QApplication.processEvents()


def shown(widget):
    return widget.isVisible()


# --- weaves ----------------------------------------------------------------------------------


@pytest.mark.parametrize("weave", [w for w in WEAVES if w != "european-4-in-1"])
def test_a_weave_is_chosen_by_keys_counted_and_undone(shell, weave):
    before, total = shell.document.project, shell.body.total.text("all")
    pick(shell.body.weave, weave)
    assert shell.panel.weave == weave
    assert not shell.cautions
    assert shell.body.total.text("all") == units.format_count(tally(shell).per_copy)
    assert shell.body.total.text("all") != total
    kinds = shell.body.kinds
    assert shown(kinds) is (len(WEAVES[weave].kinds) > 1 or WEAVES[weave].plies > 1)
    shell.document.undo_stack.undo()
    assert shell.document.project == before
    assert shell.body.total.text("all") == total
    assert shell.body.weave.key() == "european-4-in-1"


def test_arrows_choose_the_next_weave_that_can_be_made(tight):
    combo = tight.body.weave
    tight.key(combo, Qt.Key.Key_Down)
    assert tight.panel.weave == "european-6-in-1"
    tight.key(combo, Qt.Key.Key_Down)
    assert tight.panel.weave == "doubled-4-in-1", "8-in-1 is passed over"
    tight.key(combo, Qt.Key.Key_Up)
    assert tight.panel.weave == "european-6-in-1"
    assert not tight.cautions


def test_a_weave_the_ring_cannot_make_says_what_it_needs_and_changes_nothing(tight):
    before, combo = tight.document.project, tight.body.weave
    lines = {key: combo.itemText(row) for row, key in enumerate(WEAVES)}
    # 6.24 ÷ 1.2; the limit is that of the weave's table.
    assert lines["european-8-in-1"] == ("European 8-in-1: needs inner ÷ wire 5.78, this ring 5.20")
    assert lines["european-6-in-1"] == "European 6-in-1"
    count = tight.body.total.text("all")
    pick(combo, "european-8-in-1")
    assert tight.document.project is before
    assert combo.key() == "european-4-in-1"
    assert tight.body.total.text("all") == count
    said = tight.cautions[-1]
    assert "European 8-in-1 needs 5.78" in said
    assert "Use an inner diameter of at least" in said


def test_marks_follow_the_ring(tight):
    row = list(WEAVES).index("european-8-in-1")
    assert tight.body.weave.itemData(row, TIGHT_ROLE)
    wider = replace(tight.document.project.rings[0], inner_measured_mm=8.4)
    tight.document.apply(edits.set_ring(wider), "ring")
    assert not tight.body.weave.itemData(row, TIGHT_ROLE)
    assert tight.body.weave.itemText(row) == "European 8-in-1"


def test_flat_rings_too_narrow_for_their_upright_ones_are_marked_in_mm(qtbot, monkeypatch):
    # Two or three wires abreast inside a flat ring: 1 + √2 and 3 wires.
    narrow = replace(ROOMY, inner_measured_mm=3.5)
    shell = Shell(qtbot, monkeypatch, replace(costume(), rings=(narrow,)))
    combo, rows = shell.body.weave, list(WEAVES)
    said = combo.itemText(rows.index("japanese-hexagonal"))
    assert "flat ring needs 3.60" in said and "has 3.50" in said
    assert combo.itemText(rows.index("japanese-square")) == "Japanese square"


def test_a_measured_panel_is_laid_again_in_another_weave_and_says_so(shell):
    shell.document.apply(
        edits.set_lay(shell.panel.id, Lay("swatch", Swatch(10, 10, 92.0, 62.0))), "swatch"
    )
    pick(shell.body.weave, "european-6-in-1")
    assert shell.panel.lay == Lay("laid")
    assert "another ring or weave" in shell.window.header.message.text()
    # What was measured in one weave says nothing about another.
    pick(shell.body.lay, "swatch")
    assert shell.panel.lay == Lay("laid")
    assert shell.body.swatch.rings.text() == ""


# --- upright rings ---------------------------------------------------------------------------


def test_an_upright_ring_is_chosen_where_the_weave_has_one(shell):
    body = shell.body
    assert not shown(body.upright)
    pick(body.weave, "japanese-square")
    assert shown(body.upright)
    assert body.upright.key() == "same"
    wide = tally(shell)
    shell.choose(body.upright, SMALL.id)
    assert shell.panel.upright_ring_id == SMALL.id
    assert tally(shell).solved.along_mm < wide.solved.along_mm
    flat, upright = tally(shell).by_kind
    assert body.kinds.text() == f"flat {flat}, upright {upright}"
    shell.choose(body.upright, "same")
    assert shell.panel.upright_ring_id is None
    assert tally(shell).by_kind == wide.by_kind
    pick(body.weave, "european-4-in-1")
    assert not shown(body.upright)


def test_a_new_upright_ring_leaves_the_flat_one(shell):
    pick(shell.body.weave, "japanese-square")
    shell.choose(shell.body.upright, "new")
    ask = shell.inspector.new_ring
    assert ask.isVisible()
    shell.write(ask.form.wire, "1.2 mm", Qt.Key.Key_Tab)
    shell.write(ask.form.inner, "5 mm", Qt.Key.Key_Tab)
    shell.click(ask.add)
    made = shell.document.project.rings[-1]
    assert (shell.panel.ring_id, shell.panel.upright_ring_id) == (ROOMY.id, made.id)
    assert shell.body.upright.key() == made.id
    # The same form, called from the menu, is again for the ring itself.
    shell.window.actions_made["ring.new"].trigger()
    shell.click(ask.add)
    assert shell.panel.ring_id == shell.document.project.rings[-1].id != made.id


def test_an_upright_ring_too_narrow_is_refused(qtbot, monkeypatch):
    thin = replace(SMALL, inner_measured_mm=2.0)
    shell = Shell(qtbot, monkeypatch, replace(costume(), rings=(ROOMY, thin)))
    pick(shell.body.weave, "japanese-square")
    before = shell.document.project
    shell.choose(shell.body.upright, thin.id)
    assert shell.document.project is before
    assert shell.body.upright.key() == "same"
    assert "upright ring is 2.00 mm inside" in shell.cautions[-1]


def test_edged_edges_of_flat_and_upright_rings_say_why_they_add_nothing(shell):
    pick(shell.body.weave, "japanese-square")
    shell.document.select_edge(13)
    assert shell.panel.finish(13).edging == "edged"
    assert shell.body.edges.edge_model.edges[2].rings == 0
    none = "This weave has no edge rings: its edge is whole rings already."
    assert none in shell.body.edge_note.text()
    model = shell.body.edges.edge_model
    assert [(model.edging(e), model.rings(e)) for e in model.edges] == [("", "—")] * 4
    before = shell.document.project
    shell.key(shell.body.edges, Qt.Key.Key_F)
    assert shell.window.header.message.text() == none
    shell.window.remarks.clear()
    shell.key(shell.window.panels.canvas, Qt.Key.Key_F)
    assert shell.window.header.message.text() == none
    assert shell.document.project is before
    # What was chosen for another weave is kept for it.
    pick(shell.body.weave, "european-4-in-1")
    assert model.edging(model.edges[2]) == "Edged"


# --- held to a width -------------------------------------------------------------------------


def test_a_held_width_begins_at_a_sensible_share_and_is_typed_over(shell):
    body = shell.body
    assert not shown(body.held_width)
    shell.choose(body.lay, "held")
    assert shell.panel.lay == Lay("held", width_percent=90.0)
    assert shown(body.held_width)
    before = tally(shell).total
    shell.write(body.held_width.field, "75 %")
    assert shell.panel.lay == Lay("held", width_percent=75.0)
    assert tally(shell).total > before, "narrower mail takes more rings"
    spread = sheet_of(shell.panel, rings(shell), Lay("spread")).along_mm
    assert units.format_length(0.75 * spread) in body.held_width.pitch.text()
    low, high = width_range_percent(shell.panel, rings(shell))
    assert body.held_width.possible.text() == f"{-(-low // 1):.0f} to {high // 1:.0f} % is possible"
    assert "held to 75 %" in body.range.text().lower()
    shell.document.undo_stack.undo()
    assert shell.panel.lay == Lay("held", width_percent=90.0)
    assert body.held_width.field.text() == "90"


def test_steps_of_a_held_width_are_one_edit(shell):
    shell.choose(shell.body.lay, "held")
    for _step in range(3):
        shell.key(shell.body.held_width.field, Qt.Key.Key_Down)
    assert shell.panel.lay.width_percent == 87.0
    shell.document.undo_stack.undo()
    assert shell.panel.lay.width_percent == 90.0


@pytest.mark.parametrize(("typed", "unit"), [("8 mm", "mm"), ("0.3 in", "in"), ('5/16"', "mm")])
def test_a_pitch_along_may_be_typed_instead(shell, typed, unit):
    shell.document.apply(edits.set_unit(unit), "unit")
    shell.choose(shell.body.lay, "held")
    shell.write(shell.body.held_width.field, typed)
    along = units.parse_length(typed)
    assert tally(shell).solved.along_mm == pytest.approx(along)
    assert units.format_length(along, unit) in shell.body.held_width.pitch.text()


@pytest.mark.parametrize("typed", ["20", "130", "100 mm", "wide", "9 apples", "-80"])
def test_a_width_that_cannot_be_is_refused_with_what_can(shell, typed):
    shell.choose(shell.body.lay, "held")
    before = shell.document.project
    shell.write(shell.body.held_width.field, typed)
    assert shell.document.project is before
    assert len(shell.cautions) == 1
    assert ("is possible" if typed in ("20", "130", "100 mm") else "Type a share") in (
        shell.cautions[0]
    )
    field = shell.body.held_width.field
    assert (field.text(), field.bad) == (typed, True), "it stays in sight, to be mended"


def test_a_held_width_comes_back_and_another_panel_has_its_own(shell):
    shell.choose(shell.body.lay, "held")
    shell.write(shell.body.held_width.field, "70")
    shell.choose(shell.body.lay, "laid")
    assert not shown(shell.body.held_width)
    shell.choose(shell.body.lay, "held")
    assert shell.panel.lay == Lay("held", width_percent=70.0)
    first = shell.panel.id
    shell.press(Qt.Key.Key_D)
    assert shell.panel.id != first
    shell.write(shell.body.held_width.field, "95")
    shell.document.select_panel(first)
    assert shell.body.held_width.field.text() == "70"


def test_where_ninety_percent_cannot_be_the_nearest_width_is_taken(qtbot, monkeypatch):
    # European 6-in-1 at 5.0 cannot be held narrower than 92 % of its spread width.
    ring = replace(ROOMY, wire_mm=1.6, inner_measured_mm=8.0)
    shell = Shell(qtbot, monkeypatch, replace(costume(), rings=(ring,)))
    pick(shell.body.weave, "european-6-in-1")
    shell.choose(shell.body.lay, "held")
    assert shell.panel.lay == Lay("held", width_percent=92.0)
    assert not shell.cautions


def test_another_weave_lets_a_held_width_go_and_says_so(shell):
    shell.choose(shell.body.lay, "held")
    pick(shell.body.weave, "european-6-in-1")
    assert shell.panel.lay == Lay("laid")
    assert "another weave" in shell.window.header.message.text()


# --- the lay follows from use ----------------------------------------------------------------


def test_hanging_offers_drawn_across_and_one_click_takes_it(shell):
    body = shell.body
    assert not shown(body.offer), "a new panel is laid as it is usual on a pad"
    shell.choose(body.held, "hanging")
    assert shell.panel.lay == Lay("laid"), "nothing is forced"
    assert shown(body.offer)
    assert body.offer.words.text() == "Hanging, rows level: drawn across is usual."
    shell.click(body.offer.use)
    assert shell.panel.lay == Lay("across")
    assert not shown(body.offer)
    shell.document.undo_stack.undo()
    assert shell.panel.lay == Lay("laid")
    assert shown(body.offer)


def test_the_offer_follows_the_grain_and_is_taken_by_keys(shell):
    body = shell.body
    shell.choose(body.held, "hanging")
    shell.choose(body.lay, "across")
    assert not shown(body.offer)
    shell.write(body.grain, "90")
    assert "rows upright: drawn along" in body.offer.words.text()
    body.offer.use.setFocus()
    QTest.keyClick(body.offer.use, Qt.Key.Key_Space)
    assert shell.panel.lay == Lay("along")
    assert not shown(body.offer)


def test_mail_from_a_held_width_is_offered_that_width(shell):
    shell.choose(shell.body.held, "held")
    assert shell.panel.holding == "held"
    assert "held to that width" in shell.body.offer.words.text()
    shell.click(shell.body.offer.use)
    assert shell.panel.lay == Lay("held", width_percent=90.0)
    assert shown(shell.body.held_width)
    shell.choose(shell.body.held, "glued")
    assert "laid is usual" in shell.body.offer.words.text()


def test_a_measured_swatch_is_offered_nothing(shell):
    measured = Lay("swatch", Swatch(10, 10, 92.0, 62.0))
    shell.document.apply(edits.set_lay(shell.panel.id, measured), "swatch")
    shell.choose(shell.body.held, "hanging")
    assert shell.panel.holding == "hanging"
    assert not shown(shell.body.offer)


def test_rows_as_worn_follow_what_is_typed(shell):
    grain, rows = shell.body.grain, shell.body.rows
    assert rows.text() == "rows level"
    grain.setFocus()
    grain.selectAll()
    QTest.keyClicks(grain, "4")
    assert rows.text() == "rows level"
    QTest.keyClicks(grain, "5")
    assert rows.text() == "rows slanted"
    assert shell.panel.grain_deg == 0, "nothing is committed yet"
    QTest.keyClicks(grain, "x")
    assert rows.text() == ""
    QTest.keyClick(grain, Qt.Key.Key_Escape)
    assert rows.text() == "rows level"
    shell.write(grain, "-90")
    assert rows.text() == "rows upright"
    shell.document.undo_stack.undo()
    assert rows.text() == "rows level"


# --- counts with their lay -------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["laid", "spread", "across"])
def test_beside_every_count_stand_its_lay_and_range(shell, kind):
    if kind != "laid":
        shell.choose(shell.body.lay, kind)
    name = {"laid": "laid", "spread": "spread", "across": "drawn across"}[kind]
    low, high = tally(shell).range
    both = f"{low} to {high}"
    assert shell.window.strip.cells["rings"].note == f"{name}, {both}"
    assert shell.window.panels.list.panel_model.lay_words(shell.panel) == (f"{name}, {both}", name)
    assert shell.body.range.text().lower().startswith(f"{name}; {both} by lay")


def test_copies_are_counted_by_one_in_the_list_and_by_all_in_the_strip(shell):
    shell.write(shell.body.copies, "2")
    low, high = tally(shell).range
    assert shell.window.strip.cells["rings"].note == f"laid, {low} to {high}"
    words = shell.window.panels.list.panel_model.lay_words(shell.panel)[0]
    assert words == f"laid, {low // 2} to {high // 2}"


def test_a_long_lay_leaves_the_range_to_its_own_line_and_nothing_is_cut(shell):
    model = shell.window.panels.list.panel_model
    metrics = QFontMetrics(look.font(look.PX_UNIT))
    room = look.LIST_WIDTH - 98
    for lay in (Lay("along"), Lay("across"), Lay("held", width_percent=87.55)):
        shell.document.apply(edits.set_lay(shell.panel.id, lay), "lay")
        whole, alone = model.lay_words(shell.panel)
        lines = model.lines(shell.panel, lambda w: metrics.horizontalAdvance(w) <= room)
        assert all(metrics.horizontalAdvance(line) <= room for line in lines)
        low, high = tally(shell).range
        assert str(low) in lines[-1] and str(high) in lines[-1]
        tip = model.index(0).data(Qt.ItemDataRole.ToolTipRole)
        assert whole in tip
        cell = shell.window.strip.cells["rings"]
        assert cell.note == f"{alone}, {cell.brief}"
        assert cell.brief == " to ".join(str(n) for n in tally(shell).range)


def test_panels_of_unlike_lays_have_none_in_common(shell):
    shell.press(Qt.Key.Key_D)
    shell.choose(shell.body.lay, "spread")
    shell.click(shell.window.strip.scope.button("costume"))
    assert shell.window.strip.cells["rings"].note.startswith("by lay, ")


def test_a_count_without_a_range_shows_its_lay_alone(shell):
    least_mm = limit_aspect_ratio("european-4-in-1") * ROOMY.wire_mm * (1 + 1e-9)
    tight = replace(ROOMY, inner_measured_mm=least_mm)
    shell.document.apply(edits.set_ring(tight), "a ring so tight that nothing can be drawn")
    shell.choose(shell.body.lay, "spread")
    assert tally(shell).wide_range is None
    assert shell.window.strip.cells["rings"].note == "spread"
    assert " to " not in shell.body.range.text()
    assert shell.body.range.text().startswith("Spread")


def test_the_sheet_names_what_each_pitch_leads_to(shell):
    def labels():
        return {left.text() for left, _right in shell.body.sheet._labels.values()}

    assert "Ring to ring along a row" in labels()
    pick(shell.body.weave, "japanese-hexagonal")
    assert {"Flat ring to flat ring along a row", "Row of flat rings to the next"} <= labels()
    pick(shell.body.weave, "doubled-4-in-1")
    assert {"Pair to pair along a row", "Row to row"} <= labels()


def test_every_line_of_the_weaves_has_a_picture_of_its_own(tight):
    combo = tight.body.weave
    QTest.keyClick(combo, Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    icons = [combo.itemData(row, PICTURE_ROLE) for row in range(combo.count())]
    images = [icon.pixmap(PICTURE).toImage() for icon in icons]
    assert all(image.size() == PICTURE * image.devicePixelRatio() for image in images)
    assert all(a != b for i, a in enumerate(images) for b in images[:i])
    assert combo.view().sizeHintForRow(0) >= PICTURE.height()
    combo.hidePopup()


def test_a_new_ring_is_warned_about_for_the_panels_own_weave(tight):
    pick(tight.body.weave, "european-6-in-1")
    tight.window.actions_made["ring.new"].trigger()
    form = tight.inspector.new_ring.form
    tight.write(form.wire, "1.2 mm", Qt.Key.Key_Tab)
    tight.write(form.inner, "4.8 mm", Qt.Key.Key_Tab)
    assert form.trouble.text().endswith("cannot make European 6-in-1.")
    tight.write(form.inner, "6 mm", Qt.Key.Key_Tab)
    assert not form.trouble.isVisible(), "that European 8-in-1 needs more is no trouble here"


def test_a_new_upright_ring_is_warned_about_as_such(shell):
    pick(shell.body.weave, "japanese-square")
    shell.choose(shell.body.upright, "new")
    form = shell.inspector.new_ring.form
    shell.write(form.wire, "1 mm", Qt.Key.Key_Tab)
    shell.write(form.inner, "2 mm", Qt.Key.Key_Tab)
    # Two of the flat rings' wires go through an upright one.
    assert "The upright ring is 2.00 mm inside" in form.trouble.text()
    assert "2.40 mm" in form.trouble.text()
    shell.write(form.inner, "2.5 mm", Qt.Key.Key_Tab)
    assert not form.trouble.isVisible()


def test_upright_rings_are_drawn_in_their_own_metal(shell):
    """The same rings, the upright ones of brass: the drawing shows a metal more."""
    brass = replace(SMALL, metal="brass")
    pick(shell.body.weave, "japanese-square")
    shell.choose(shell.body.upright, SMALL.id)

    def warm():
        image = shell.window.panels.canvas.grab().toImage()
        box = [(x, y) for x in range(150, 450, 2) for y in range(150, 450, 2)]
        colours = [image.pixelColor(x, y) for x, y in box]
        return sum(c.red() - c.blue() > 60 for c in colours)

    before = warm()
    shell.document.apply(edits.set_ring(brass), "metal")
    assert warm() > before + 20
