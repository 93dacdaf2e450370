"""True size: one scale a screen, corrected by a card or a ruler, kept, and read by every view."""

import json
import os
import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QToolButton, QWidget

from app import settings, true_size
from app.pages.true_size_card import TrueSizeCard
from app.pages.true_size_sheet import CARD_MM, MARGIN
from app.true_size import ScreenFacts
from core import units
from core.errors import BadValue
from core.wire import MM_PER_IN
from tests.app.canvas_board import Hands
from tests.app.shell_board import Shell

DESK = ScreenFacts("DP-1", "Ashlar", "Pane 24", "0071", (1920, 1080), 1.0, 92.0, 96.0)


def here(widget):
    return true_size.facts(widget.screen())


@pytest.fixture
def shell(qtbot, monkeypatch):
    made = Shell(qtbot, monkeypatch)
    made.window.show_page("rings")
    return made


@pytest.fixture
def card(shell):
    shell.window.actions_made["view.check_size"].trigger()
    (made,) = shell.window.findChildren(TrueSizeCard)
    return made


def drag(sheet, handle, by):
    start = sheet.handle_px(handle).center().toPoint()
    QTest.mousePress(sheet, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(sheet, start + QPoint(1, 1))
    QTest.mouseMove(sheet, start + by)
    QTest.mouseRelease(sheet, Qt.MouseButton.LeftButton, pos=start + by)


# --- the scale ---------------------------------------------------------------------------------


@given(st.floats(20, 2000), st.floats(1.01, 39.9))
def test_a_measure_and_the_scale_it_gives_undo_each_other(length_px, scale):
    read = true_size.measured_mm(length_px, scale)
    assert true_size.scale_from_measure(length_px, read) == pytest.approx(scale)


@given(st.floats(1.01, 39.9), st.sampled_from([16, 32, 64]))
def test_inches_typed_in_fractions_give_the_scale_the_ruler_was_read_at(scale, parts):
    n = 4 * parts - 1
    text = f"{n // parts} {n % parts}/{parts} in"
    read = units.parse_length(text)
    assert read == pytest.approx(n / parts * MM_PER_IN)
    length_px = n / parts * MM_PER_IN * scale
    assert true_size.scale_from_measure(length_px, read) == pytest.approx(scale)


@pytest.mark.parametrize(("px", "mm"), [(100, 101), (100, 0), (500, 12), (100, float("nan"))])
def test_a_scale_no_screen_has_is_refused_in_words(px, mm):
    with pytest.raises(BadValue) as caught:
        true_size.scale_from_measure(px, mm)
    assert caught.value.do and "nan" not in str(caught.value)


@pytest.mark.parametrize(
    ("physical", "logical", "scale", "origin"),
    [
        (92.0, 96.0, 92 / 25.4, "screen"),
        (0.0, 96.0, 96 / 25.4, "system"),
        (5000.0, 120.0, 120 / 25.4, "system"),
        (float("inf"), 96.0, 96 / 25.4, "system"),
    ],
)
def test_an_unchecked_screen_is_believed_only_when_it_can_be_right(
    physical, logical, scale, origin
):
    told = replace(DESK, physical_dpi=physical, logical_dpi=logical)
    found = true_size.scale_of(told)
    assert found.px_per_mm == pytest.approx(scale) and found.origin == origin
    assert not found.checked


@pytest.mark.parametrize(
    "change",
    [
        {"name": "DP-2"},
        {"maker": "Corbel"},
        {"model": "Pane 27"},
        {"serial": "0072"},
        {"size_px": (1280, 720)},
        {"ratio": 1.5},
    ],
)
def test_another_screen_does_not_take_the_first_ones_correction(change):
    other = replace(DESK, **change)
    true_size.use(DESK, 3.3)
    assert true_size.scale_of(DESK) == true_size.TrueScale(3.3, "checked")
    assert true_size.scale_of(other).origin == "screen"
    true_size.use(other, 7.7)
    assert true_size.scale_of(DESK).px_per_mm == 3.3
    true_size.forget(other)
    assert true_size.scale_of(DESK).checked and not true_size.scale_of(other).checked


@given(st.text('ab|,;%=\\"@ \u00e9', max_size=12), st.text("ab|,; ", max_size=5), st.floats(1, 40))
def test_whatever_a_screen_is_called_its_correction_comes_back(name, serial, scale):
    told = replace(DESK, name=name, serial=serial)
    true_size.use(told, scale)
    QSettings(settings._store().fileName(), QSettings.Format.IniFormat).sync()
    assert true_size.scale_of(told) == true_size.TrueScale(scale, "checked")


@pytest.mark.parametrize("junk", ["", "x", "nan ", "-3 ", "0 ", "400 ", "1e999 "])
def test_a_damaged_correction_is_passed_over(junk):
    settings.put("view/true_size", (f"{junk}{DESK.key}", "3.5 other"))
    assert true_size.scale_of(DESK).origin == "screen"
    true_size.use(DESK, 3.4)
    assert true_size.scale_of(DESK).px_per_mm == 3.4


def test_only_so_many_screens_are_remembered_the_latest_first():
    screens = [replace(DESK, serial=str(n)) for n in range(settings.SCREENS_KEPT + 3)]
    for told in screens:
        true_size.use(told, 4.0)
    kept = [true_size.scale_of(told).checked for told in screens]
    assert kept == [False] * 3 + [True] * settings.SCREENS_KEPT


# --- the views ---------------------------------------------------------------------------------


@pytest.mark.parametrize("scale", [1.0, 3.21, 12.5, 40.0])
def test_at_true_size_a_panel_of_100_mm_spans_what_was_measured(qtbot, scale):
    hands = Hands(qtbot)
    true_size.use(here(hands.canvas), scale)
    hands.key(Qt.Key.Key_1)
    left, top = hands.canvas.view.to_px(0, 0)
    right, bottom = hands.canvas.view.to_px(100, 100)
    assert right - left == pytest.approx(100 * scale)
    assert bottom - top == pytest.approx(100 * scale)
    assert hands.canvas.zoom_ratio() == pytest.approx(1)


def test_what_is_at_true_size_stays_so_and_nothing_else_moves(qtbot):
    hands = Hands(qtbot)
    told = here(hands.canvas)
    fitted = hands.canvas.view
    true_size.use(told, 5.0)
    assert hands.canvas.view == fitted
    # A fitted panel that happens to be at its own size is there to be seen whole.
    true_size.use(told, fitted.scale)
    true_size.use(told, 5.0)
    assert hands.canvas.view == fitted
    hands.key(Qt.Key.Key_1)
    middle = hands.canvas.view.to_mm(*hands.canvas.middle())
    true_size.use(told, 6.0)
    assert hands.canvas.view.scale == pytest.approx(6.0)
    assert hands.canvas.view.to_mm(*hands.canvas.middle()) == pytest.approx(middle)
    hands.key(Qt.Key.Key_Plus)
    zoomed = hands.canvas.view
    true_size.use(told, 7.0)
    assert hands.canvas.view == zoomed


def test_the_zoom_shown_is_counted_from_the_corrected_size(shell):
    shell.window.show_page("panels")
    panels = shell.window.panels
    shell.window.actions_made["view.true_size"].trigger()
    shell.press(Qt.Key.Key_Plus)
    assert panels.zoom.text() == "125 %"
    true_size.use(here(panels), panels.canvas.view.scale * 2)
    assert panels.zoom.text() == "50 %"


def test_swatches_scale_bar_and_canvas_share_one_scale(shell):
    compare = shell.window.pages[1].widget.compare
    true_size.use(here(shell.window), 5.5)
    assert {c.swatch.px_per_mm for c in compare.cards} == {5.5}
    assert compare.bar.bar.width() == 110
    assert shell.window.panels.canvas.true_scale() == 5.5
    shell.window.use_in()
    assert compare.bar.bar.width() == round(5.5 * 25.4)


def test_the_scale_bar_says_whether_to_believe_it(shell):
    bar = shell.window.pages[1].widget.compare.bar
    said = bar.accessibleName()
    assert said == "20 mm, by the screen’s own word: check it"
    assert f"{bar.caption.text()} {bar.link.text()}" == said
    true_size.use(here(bar), 4.0)
    assert bar.accessibleName() == bar.caption.text() == "20 mm, true size"
    true_size.forget(here(bar))
    assert bar.accessibleName() == said


@pytest.mark.parametrize("width", [150, 190, 240, 400])
def test_in_a_narrow_place_the_bar_keeps_its_length_and_the_words_give_way(shell, width):
    bar = shell.window.pages[1].widget.compare.bar
    true_size.use(here(bar), 4.0)
    true_size.forget(here(bar))
    length = bar.bar.width()
    bar.setFixedWidth(width)
    QApplication.processEvents()
    assert bar.bar.width() == length == bar.bar.length_px
    words = bar.caption.fontMetrics().horizontalAdvance(bar.caption.text())
    assert words <= bar.caption.width()
    assert bar.caption.geometry().right() < bar.link.x()
    assert bar.link.geometry().right() <= bar.width() and "20 mm" in bar.caption.text()


# --- the card ----------------------------------------------------------------------------------


def test_the_link_beside_the_scale_bar_opens_the_same_card_once(shell):
    compare = shell.window.pages[1].widget.compare
    shell.click(compare.bar.link)
    shell.window.actions_made["view.check_size"].trigger()
    (made,) = shell.window.findChildren(TrueSizeCard)
    assert made.isVisible()


def test_a_card_dragged_to_a_real_one_corrects_the_screen(shell, card):
    before = card.scale
    drag(card.sheet, "card", QPoint(round(CARD_MM[0]), round(CARD_MM[1])))
    assert card.scale == pytest.approx(before + 1, abs=0.02)
    box = card.sheet.card_px()
    assert (box.width(), box.height()) == pytest.approx(
        (85.60 * card.scale, 53.98 * card.scale)
    )  # ISO/IEC 7810, format ID-1
    assert not true_size.scale_for(shell.window).checked
    tried = card.scale
    shell.click(card.use)
    assert true_size.scale_for(shell.window) == true_size.TrueScale(tried, "checked")
    assert shell.document.undo_stack.count() == 0


def test_the_bars_end_can_be_dragged_too(card):
    before, bar = card.scale, card.sheet.bar_mm
    drag(card.sheet, "bar", QPoint(-50, 0))
    assert card.scale == pytest.approx(before - 50 / bar)
    drag(card.sheet, "bar", QPoint(-5000, 0))
    assert card.scale == true_size.LIMITS_PX_PER_MM[0]


def test_arrow_keys_size_it_in_fine_steps_and_enter_uses_it(shell, card):
    sheet, start = card.sheet, card.scale
    pixel = 1 / sheet.bar_mm
    QTest.keyClick(sheet, Qt.Key.Key_Right)
    assert card.scale == pytest.approx(start + pixel)
    QTest.keyClick(sheet, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert card.scale == pytest.approx(start + 11 * pixel)
    QTest.keyClick(sheet, Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    assert card.scale == pytest.approx(start + 10.9 * pixel)
    QTest.keyClick(sheet, Qt.Key.Key_Left)
    tried = card.scale
    assert tried == pytest.approx(start + 9.9 * pixel)
    QTest.keyClick(sheet, Qt.Key.Key_Return)
    assert not card.isVisible()
    assert true_size.scale_for(shell.window).px_per_mm == tried


@pytest.mark.parametrize(
    ("unit", "text", "share"),
    [
        ("mm", "98 mm", 0.98),
        ("mm", "98", 0.98),
        ("in", "3 15/16 in", 63 / 64),
        ("in", "4.1", 1.025),
    ],
)
def test_a_typed_measure_redraws_the_bar_and_waits_to_be_used(shell, card, unit, text, share):
    shell.click(card.unit.button(unit))
    before, length = card.scale, card.sheet.bar_px
    shell.write(card.measure, text)
    assert card.isVisible() and card.measure.text() == ""
    assert card.scale == pytest.approx(before / share)
    read = true_size.measured_mm(length, card.scale)
    assert read == pytest.approx(card.sheet.bar_mm * share)
    assert not true_size.scale_for(shell.window).checked
    shell.click(card.use)
    assert true_size.scale_for(shell.window).px_per_mm == pytest.approx(before / share)


@pytest.mark.parametrize("text", ["ninety", "1000 mm", "0", "1 mm"])
def test_a_measure_that_cannot_be_is_refused_and_not_used(shell, card, text):
    before = card.scale
    shell.write(card.measure, text)
    assert card.scale == before and card.measure.bad and card.trouble.isVisible()
    shell.click(card.use)
    assert card.isVisible() and not true_size.scale_for(shell.window).checked
    QTest.keyClick(card.sheet, Qt.Key.Key_Right)
    assert not card.measure.bad and not card.trouble.isVisible()


def test_keys_stop_at_a_scale_no_screen_has(card):
    card.try_scale(1.0)
    QTest.keyClick(card.sheet, Qt.Key.Key_Left)
    assert card.scale == 1.0 and "1 to 40" in card.trouble.text()


def test_esc_and_cancel_change_nothing(shell, card):
    QTest.keyClick(card.sheet, Qt.Key.Key_Right)
    QTest.keyClick(card.sheet, Qt.Key.Key_Escape)
    assert not card.isVisible() and not true_size.scale_for(shell.window).checked
    again = shell.window.size_on_screen.check()
    QTest.keyClick(again.sheet, Qt.Key.Key_Right)
    shell.click(again.cancel)
    assert not again.isVisible() and not true_size.scale_for(shell.window).checked


def test_the_screens_own_size_can_be_put_back(shell, card):
    own = card.scale
    assert not card.own.isEnabled() and "the screen says of itself" in card.state.text()
    QTest.keyClick(card.sheet, Qt.Key.Key_Right)
    shell.click(card.use)
    again = shell.window.size_on_screen.check()
    assert again.scale != own and "has been checked" in again.state.text()
    shell.key(again.own, Qt.Key.Key_Space)
    assert again.scale == own and "the screen says of itself" in again.state.text()
    assert again.focusWidget() is again.sheet and not again.own.isEnabled()
    assert not true_size.scale_for(shell.window).checked
    assert again.cancel.text() == "Close"


def test_the_card_stays_within_a_small_screen(shell):
    free = shell.window.screen().availableGeometry()
    for scale in (1.0, 3.9, 8.0, 40.0):
        true_size.use(here(shell.window), scale)
        made = shell.window.size_on_screen.check()
        assert made.width() <= free.width() and made.height() <= free.height()
        assert made.minimumSizeHint().width() < 1200 and made.minimumSizeHint().height() < 700
        made.reject()


def test_a_correction_is_there_in_a_new_window(qtbot, monkeypatch, shell, card):
    shell.write(card.measure, "90")
    shell.click(card.use)
    kept = true_size.scale_for(shell.window)
    again = Shell(qtbot, monkeypatch)
    again.window.show_page("rings")
    compare = again.window.pages[1].widget.compare
    assert kept.checked and compare.cards[0].swatch.px_per_mm == kept.px_per_mm
    assert compare.bar.accessibleName() == "20 mm, true size"


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("scale", [1.0, 3.9, 6.5, 9.0, 20.0, 40.0])
def test_what_is_drawn_fits_and_a_shorter_bar_stands_in(card, unit, scale):
    card.unit.button(unit).click()
    card.try_scale(scale)
    sheet = card.sheet
    assert sheet.rect().contains(sheet.handle_px("bar").toRect())
    if sheet.card_fits:
        assert sheet.handle_px("card").bottom() < sheet._bar_top()
        assert sheet.card_px().right() <= sheet.width() - MARGIN
    longest = {"mm": 100.0, "in": 4 * MM_PER_IN}[unit]
    assert sheet.bar_mm <= longest
    assert (sheet.bar_mm < longest) == (longest * scale > sheet.width() - 2 * MARGIN)


def test_the_bar_drawn_is_as_long_as_it_says(card):
    card.try_scale(4.0)
    sheet = card.sheet
    image = sheet.grab().toImage()
    ratio = image.devicePixelRatio()
    y = round((sheet._bar_top() + 18) * ratio)
    ground = image.pixelColor(round(8 * ratio), y).lightness()
    dark = [
        x
        for x in range(round(8 * ratio), round((MARGIN + sheet.bar_px + 3) * ratio))
        if abs(image.pixelColor(x, y).lightness() - ground) > 60
    ]
    assert (dark[-1] - dark[0]) / ratio == pytest.approx(400, abs=1.5)


def test_everything_in_the_card_has_a_name_and_the_keyboard_reaches_it(card):
    parts = [card.sheet, card.measure, card.use, card.cancel, card.unit.button("mm")]
    for part in card.findChildren(QWidget):
        if isinstance(part, (QLineEdit, QPushButton, QToolButton)) or part is card.sheet:
            assert part.accessibleName(), part
    card.sheet.setFocus()
    seen = set()
    for _step in range(10):
        seen.add(QApplication.focusWidget())
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    assert set(parts) <= seen


# --- from screen to screen ---------------------------------------------------------------------

TWO_SCREENS = """
from app import main, true_size
app = main.application()
first, second = app.screens()
true_size.use(true_size.facts(first), 4.0)
true_size.use(true_size.facts(second), 9.0)
window, _trouble = main.build(app)
window.show()
app.processEvents()
canvas = window.panels.canvas
canvas.true_size()
card = window.size_on_screen.check()
def look():
    app.processEvents()
    print(canvas.view.scale, window.panels.zoom.text(), card.scale, sep=";")
look()
window.windowHandle().setScreen(second)
card.windowHandle().setScreen(second)
look()
true_size.forget(true_size.facts(second))
app.processEvents()
print(true_size.scale_for(window).checked, true_size.scale_of(true_size.facts(first)).checked)
"""


def test_views_follow_the_window_to_another_screen(tmp_path):
    screens = [
        {"name": "left", "x": 0, "y": 0, "width": 1280, "height": 800},
        {"name": "right", "x": 1280, "y": 0, "width": 1600, "height": 1000},
    ]
    config = tmp_path / "screens.json"
    config.write_text(json.dumps({"screens": screens}))
    env = os.environ | {"QT_QPA_PLATFORM": f"offscreen:configfile={config}", "PYTHONPATH": "."}
    done = subprocess.run(
        [sys.executable, "-c", TWO_SCREENS], env=env, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    first, second, kept = done.stdout.splitlines()
    for line, expected in ((first, 4.0), (second, 9.0)):
        scale, zoom, tried = line.split(";")
        assert float(scale) == pytest.approx(expected) and zoom == "100 %"
        assert float(tried) == expected
    assert kept == "False True"
