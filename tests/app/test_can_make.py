"""The ladder of weaves on the Rings page: what it says, what it offers, by real keys and clicks."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel

from app.pages.ladder import bands, comfort_word, heads, rungs
from app.pages.ladder_rows import LOWEST_ROW, RUNG_ROLE, columns
from app.pages.swatch_card import SwatchCard
from app.widgets.explain import Explanation
from core import edits, project_file
from core.errors import RingloftError
from core.mandrels import SERIES
from core.ring import RingSpec, resolve
from core.weave.cells import WEAVES
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.wire import gauge_label, gauge_mm
from tests.app.shell_board import Shell

SAMPLE = Path(__file__).parents[2] / "sample_projects" / "shoulder_pair.ringloft"
SIX = tuple(WEAVES)
EIGHT = SIX.index("european-8-in-1")
RODS = {key: [r.mm for s in SERIES if s.key == key for r in s.rods()]
        for key in ("whole", "half", "sixteenth")}  # fmt: skip


# --- values -----------------------------------------------------------------------------------

specs = st.builds(
    lambda wire, ratio, metal: RingSpec(1, "x", metal, wire, round(wire * ratio, 1)),
    st.sampled_from((0.8, 1.2, 1.6, 2.0)),
    st.floats(2.3, 9.0),
    st.sampled_from(("steel-galvanized", "aluminium-5056", "brass")),
)


@given(specs, st.sampled_from(("mm", "in")))
def test_a_rung_says_what_the_ring_can_and_each_offer_really_can(spec, unit):
    ring = resolve(spec)
    found = rungs(spec, unit)
    assert [rung.weave.id for rung in found] == list(SIX)
    for rung in found:
        limit = limit_aspect_ratio(rung.weave.id)
        assert rung.limit == limit
        assert rung.can == (ring.aspect_ratio >= limit)
        assert bool(rung.needs) != rung.can
        if rung.can:
            assert rung.word != "cannot" and not rung.offers
            continue
        assert rung.word == "cannot" and not rung.rings
        for offer in rung.offers:
            made = resolve(offer.spec)
            solve_lay(rung.weave.id, made.wire_mm, made.inner_mm, Lay("laid"))
            assert offer.spec.id == spec.id and offer.spec.name == spec.name
            # One thing changes: the rod or the wire.
            assert (offer.spec.mandrel_mm == spec.mandrel_mm) != (
                offer.spec.wire_mm == spec.wire_mm
            )


@given(specs, st.sampled_from(("mm", "in")))
def test_the_rod_offered_is_the_thinnest_that_exists_and_does(spec, unit):
    rods = RODS["sixteenth"] if unit == "in" else RODS["whole"] + RODS["half"]
    for rung in rungs(spec, unit):
        offered = [o.spec.mandrel_mm for o in rung.offers if o.spec.wire_mm == spec.wire_mm]
        if not offered:
            continue
        (rod,) = offered
        assert rod in rods
        for thinner in (mm for mm in rods if spec.mandrel_mm < mm < rod - 1e-6):
            try:
                made = resolve(replace(spec, mandrel_mm=thinner))
            except RingloftError:
                continue
            assert made.aspect_ratio < rung.limit


def test_wire_is_offered_of_the_gauge_in_use():
    spec = RingSpec(1, "x", "brass", gauge_mm("awg", 14), 5.0, wire_label=gauge_label("awg", 14))
    label = rungs(spec, "mm")[EIGHT].offers[1].spec.wire_label
    assert label in {gauge_label("awg", n) for n in range(15, 37)}
    plain = rungs(replace(spec, wire_mm=1.6, wire_label=""), "mm")[EIGHT].offers[1].spec
    # ISO 3, R20, from memory: 0.8 is the next below 0.9.
    assert plain.wire_mm in (0.8, 0.9, 1.0) and plain.wire_label == ""
    inch = rungs(replace(spec, wire_mm=1.6, wire_label=""), "in")[EIGHT].offers[1].spec
    assert "US steel" in inch.wire_label


@pytest.mark.parametrize("weave_id", SIX)
def test_words_follow_the_bands(weave_id):
    weave, limit = WEAVES[weave_id], limit_aspect_ratio(weave_id)
    comfort = weave.comfort
    said = [comfort_word(limit + i / 100, comfort) for i in range(1000)]
    order = ["tight", "tight to easy", "easy", "easy to loose", "loose"]
    ranks = [order.index(word) for word in said]
    assert ranks == sorted(ranks) and ranks[0] == 0 and ranks[-1] == 4
    for word, low, high in bands(weave, limit):
        middle = (low + min(high, 20.0)) / 2
        assert comfort_word(middle, comfort) == word


def test_numbers_of_a_rung_are_those_of_the_laid_sheet():
    spec = project_file.load(SAMPLE).rings[0]
    ring = resolve(spec)
    for metric, inch in zip(rungs(spec, "mm"), rungs(spec, "in"), strict=True):
        if not metric.can:
            continue
        sheet = solve_lay(metric.weave.id, ring.wire_mm, ring.inner_mm, Lay("laid"))
        assert metric.rings == f"{10_000 / sheet.area_per_ring_mm2:.0f}"
        assert metric.weight == f"{ring.mass_g / sheet.area_per_ring_mm2 * 1000:.1f}"
        assert inch.rings == f"{25.4**2 / sheet.area_per_ring_mm2:.1f}"
        # 1 lb = 453.59237 g, 1 ft = 304.8 mm, both exact.
        pounds = ring.mass_g / sheet.area_per_ring_mm2 / 453.59237 * 304.8**2
        assert inch.weight == f"{pounds:.2f}"


@given(st.floats(0.8, 2.4), st.floats(2.5, 9.0), st.sampled_from(SIX[4:]))
def test_the_upright_ring_told_of_really_stands(wire_mm, ratio, weave_id):
    spec = RingSpec(1, "x", "brass", wire_mm, None, wire_mm * ratio)
    (rung,) = (r for r in rungs(spec, "mm") if r.weave.id == weave_id)
    words = rung.upright.replace("\u202f", " ").replace("\u00a0", " ").split()
    least, most = (float(words[words.index(key) + 1]) for key in ("⌀", "wire"))
    assert least >= 2 * wire_mm - 1e-9
    # As thick as told and with room for two flat wires, it stands; a tenth thicker it does not.
    room = max(least, 12 * most)
    solve_lay(weave_id, wire_mm, wire_mm * ratio, Lay("spread"), (most, room))
    with pytest.raises(RingloftError):
        solve_lay(weave_id, wire_mm, wire_mm * ratio, Lay("spread"), (1.1 * most, room))
    with pytest.raises(RingloftError):
        solve_lay(weave_id, wire_mm, wire_mm * ratio, Lay("spread"), (0.2, 0.95 * least))


@given(st.integers(560, 1400), st.booleans(), st.floats(0.5, 30.0), st.integers(60, 400))
def test_parts_of_a_row_do_not_overlap(width, full, ratio, answer):
    spread = columns(width, full, 250, answer, ratio)
    parts = (spread.names, spread.bar, spread.word, spread.weight)
    for (_start, end), (start, _end) in pairwise(parts):
        assert end <= start
    assert spread.low <= max(ratio, 1.0)
    assert spread.bar[0] <= spread.x(ratio) <= spread.bar[1]


# --- the page ---------------------------------------------------------------------------------


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch, project_file.load(SAMPLE), SAMPLE)


@pytest.fixture
def page(shell):
    shell.click(shell.window.header.pages["rings"])
    return next(p.widget for p in shell.window.pages if p.id == "rings")


def in_hand(page):
    return page.bench.spec(page.bench.ring_id)


def go_to(page, weave_id):
    """Go to a row with the keyboard alone."""
    ladder = page.can_make.ladder
    ladder.setFocus()
    QTest.keyClick(ladder, Qt.Key.Key_Home)
    for _step in range(SIX.index(weave_id)):
        QTest.keyClick(ladder, Qt.Key.Key_Down)
    assert ladder.rung().weave.id == weave_id
    return ladder


def click_link(page, weave_id, link):
    ladder = page.can_make.ladder
    index = ladder.model().index(SIX.index(weave_id), 0)
    ladder.scrollTo(index)
    box, _text = ladder.links(index.row(), ladder.visualRect(index))[link]
    QTest.mouseClick(ladder.viewport(), Qt.MouseButton.LeftButton, pos=box.center())


def test_enter_takes_the_offer_and_undo_brings_the_ring_back(shell, page):
    before = shell.document.project
    ladder = go_to(page, "european-8-in-1")
    rung = ladder.rung()
    assert not rung.can and "9.26" in rung.needs
    assert rung.offers[0].text == "Use mandrel 9.5\u00a0mm"
    QTest.keyClick(ladder, Qt.Key.Key_Return)
    ring = shell.document.project.rings[0]
    assert (ring.mandrel_mm, ring.inner_measured_mm) == (9.5, None)
    assert shell.document.undo_stack.count() == 1
    # The keyboard stays where it was, and the row now says how the ring feels.
    assert ladder.hasFocus() and ladder.rung().can and ladder.rung().word == "tight"
    shell.press(Qt.Key.Key_Z)
    assert shell.document.project == before
    assert not ladder.rung().can


def test_right_and_enter_take_the_second_offer(shell, page):
    ladder = go_to(page, "european-8-in-1")
    QTest.keyClick(ladder, Qt.Key.Key_Right)
    QTest.keyClick(ladder, Qt.Key.Key_Return)
    ring = shell.document.project.rings[0]
    assert (ring.wire_mm, ring.mandrel_mm) == (1.4, 8.0)
    assert shell.document.undo_stack.count() == 1


@pytest.mark.parametrize("size", [(1280, 800), (1440, 900)])
def test_a_click_on_an_offer_takes_it(shell, page, size, qtbot):
    shell.window.resize(*size)
    qtbot.wait(1)
    click_link(page, "european-8-in-1", 1)
    assert shell.document.project.rings[0].wire_mm == 1.4
    # A click beside the links only goes to the row.
    project, ladder = shell.document.project, page.can_make.ladder
    spot = ladder.visualRect(ladder.model().index(1, 0)).topLeft()
    QTest.mouseClick(ladder.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert ladder.rung().weave.id == SIX[1] and shell.document.project is project


def test_enter_on_a_weave_that_can_be_made_compares_it(shell, page):
    before, project = page.bench.held, shell.document.project
    ladder = go_to(page, "japanese-hexagonal")
    QTest.keyClick(ladder, Qt.Key.Key_Return)
    # Nothing was chosen yet: B was only there for want of something to compare with.
    assert page.bench.held[0] == before[0] and len(page.bench.held) == 2
    held = page.bench.held[1]
    assert (held.ring_id, held.weave) == (page.bench.ring_id, "japanese-hexagonal")
    assert shell.window.focusWidget() is page.compare.cards[1].weave
    assert page.compare.columns[1].weave.id == "japanese-hexagonal"
    assert shell.document.project is project
    # What is chosen stays: the next one is one more, up to four; then the last gives way.
    for weave_id in ("european-6-in-1", "japanese-square", "doubled-4-in-1"):
        QTest.keyClick(go_to(page, weave_id), Qt.Key.Key_Return)
    woven = [slot.weave for slot in page.bench.held]
    assert woven == [None, "japanese-hexagonal", "european-6-in-1", "doubled-4-in-1"]
    # What is compared already is gone to.
    QTest.keyClick(go_to(page, "european-6-in-1"), Qt.Key.Key_Return)
    assert [slot.weave for slot in page.bench.held] == woven
    assert shell.window.focusWidget() is page.compare.cards[2].weave


def test_the_ladder_says_all_to_those_who_cannot_see_it(shell, page):
    model = page.can_make.ladder.model()
    for unit in ("mm", "in"):
        shell.document.apply(edits.set_unit(unit), "unit")
        for row, weave in enumerate(WEAVES.values()):
            index = model.index(row, 0)
            rung = index.data(RUNG_ROLE)
            said = index.data(Qt.ItemDataRole.AccessibleTextRole)
            assert said.startswith(f"{weave.name}, from {rung.limit:.2f}, {rung.word}")
            if rung.can:
                assert f"{rung.rings} {heads(unit)[0]}" in said and "Enter compares" in said
            else:
                assert all(offer.text in said for offer in rung.offers)
                assert "needs inner" in said and "Enter takes" in said
            assert ("upright ring" in said) == (len(weave.kinds) > 1)


def test_how_tells_the_source_of_limits_and_bands(shell, page):
    shell.click(page.can_make.how)
    (sheet,) = page.can_make.how.findChildren(Explanation)
    said = " ".join(label.text() for label in sheet.findChildren(QLabel))
    sheet.close()
    assert "solved from contact" in said and "common practice, no source" in said
    for weave in WEAVES.values():
        assert f"{weave.name}: tight to {weave.comfort.tight_to:g}" in said


def test_the_swatch_card_opens_for_the_ring_in_hand_and_the_row(shell, page):
    go_to(page, "japanese-square")
    shell.click(page.can_make.measure)
    (card,) = shell.window.findChildren(SwatchCard)
    assert card.ring_id == page.bench.ring_id
    assert card.weave_id == "japanese-square"
    card.close()


def test_a_ring_only_compared_cannot_be_measured_yet(shell, page):
    shell.choose(page.compare.cards[1].ring, "another")
    assert not page.can_make.measure.isEnabled()
    assert "add this one first" in page.can_make.measure.toolTip()


def test_a_ring_that_cannot_be_wound_says_so_instead(shell, page):
    QTest.keyClick(page.list, Qt.Key.Key_Down)
    shell.choose(page.compare.cards[1].ring, "another")
    trial = in_hand(page)
    page.bench.change(replace(trial, wire_mm=0.4, mandrel_mm=150.0, inner_measured_mm=None))
    assert page.can_make.trouble.isVisible() and not page.can_make.ladder.isVisible()
    assert "springs back" in page.can_make.trouble.text()
    page.bench.change(replace(trial, wire_mm=1.4))
    assert page.can_make.ladder.isVisible() and not page.can_make.trouble.isVisible()


def test_folding_gives_the_room_to_compare(shell, page, qtbot):
    height = page.compare.height()
    page.can_make.fold.setFocus()
    QTest.keyClick(page.can_make.fold, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: page.compare.height() > height + 100)
    assert not page.can_make.ladder.isVisible() and page.can_make.fold.text() == "Unfold"
    shell.click(page.can_make.fold)
    qtbot.waitUntil(lambda: page.compare.height() == height)
    assert page.can_make.ladder.isVisible()


@pytest.mark.parametrize("size", [(1280, 800), (1440, 900), (1920, 1080)])
def test_six_rows_fit_beside_two_rings(shell, page, size, qtbot):
    shell.window.resize(*size)
    qtbot.wait(1)
    ladder = page.can_make.ladder
    assert ladder.verticalScrollBar().maximum() == 0
    assert ladder.row_px >= LOWEST_ROW
    assert ladder.full == (size[1] >= 900)
    metrics = ladder.fontMetrics()
    spread = ladder.columns()
    name = max(metrics.horizontalAdvance(w.name) for w in WEAVES.values())
    assert spread.names[1] - spread.names[0] >= name * 12 / 13
    assert spread.bar[1] - spread.bar[0] >= 170


def test_a_low_window_scrolls_the_ladder_to_the_row_in_hand(shell, page, qtbot):
    shell.window.resize(1024, 700)
    qtbot.wait(1)
    ladder = go_to(page, "japanese-hexagonal")
    assert ladder.verticalScrollBar().value() > 0
    rect = ladder.visualRect(ladder.currentIndex())
    assert ladder.viewport().rect().contains(rect.center())


def test_in_low_rows_the_link_to_compare_stands_beside_the_word(shell, page):
    ladder = page.can_make.ladder
    ladder.set_room(6 * 24)
    assert not ladder.full
    at = next(i for i, r in enumerate(ladder.ladder_model.rungs) if r.can)
    ladder.setCurrentIndex(ladder.ladder_model.index(at))
    rect = ladder.visualRect(ladder.currentIndex())
    ((box, _text),) = ladder.links(at, rect)
    assert rect.contains(box) and box.left() > ladder.columns().word[0] + 10
    asked = []
    ladder.compare.connect(asked.append)
    QTest.mouseClick(ladder.viewport(), Qt.MouseButton.LeftButton, pos=box.center())
    assert asked == [ladder.ladder_model.rungs[at].weave.id]


def test_nothing_moves_under_the_mouse_as_a_ring_is_added(shell, page, qtbot):
    before = page.compare.add.mapTo(page, page.compare.add.rect().topLeft())
    shell.click(page.compare.add)
    qtbot.wait(1)
    assert page.compare.add.mapTo(page, page.compare.add.rect().topLeft()) == before
