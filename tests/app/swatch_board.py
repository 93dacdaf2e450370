"""The swatch card as tests open it and fill it in, by real keys and clicks."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.pages.swatch_card import SwatchCard
from core.ring import resolve
from core.weave.lay import Lay, solve_lay
from tests.core.costumes import STEEL
from tests.core.shapes import WEAVE


def opened(shell):
    shell.window.actions_made["ring.swatch"].trigger()
    return find_card(shell)


def find_card(shell):
    (found,) = [c for c in shell.window.findChildren(SwatchCard) if c.isVisible()]
    return found


def fill(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)


def laid_pitch(spec=STEEL):
    ring = resolve(spec)
    laid = solve_lay(WEAVE, ring.wire_mm, ring.inner_mm, Lay("laid"))
    return laid.along_mm, laid.across_mm


def fill_size(card, wider=1.0, rings=10, rows=10):
    along, across = laid_pitch()
    fields = card.size_part.swatch
    for field, text in (
        (fields.rings, str(rings)),
        (fields.width_mm, f"{rings * along * wider:.2f}"),
        (fields.rows, str(rows)),
        (fields.height_mm, f"{rows * across * wider:.2f}"),
    ):
        fill(field, text)
    card.answer()


def fill_pace(card, rings="24", minutes="9"):
    fill(card.pace_part.rings, rings)
    fill(card.pace_part.minutes, minutes)


def fill_rejects(card, bad="2", inspected="48"):
    fill(card.rejects_part.bad, bad)
    fill(card.rejects_part.inspected, inspected)


def choose_hold(shell, card, key):
    shell.click(card.hold_part.hold.button(key))


def enter(widget):
    QTest.keyClick(widget, Qt.Key.Key_Return)
