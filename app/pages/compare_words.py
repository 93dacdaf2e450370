"""The comparison in words: a verdict, what each row is called, and how its numbers came about."""

from __future__ import annotations

import math

from app.compare_report import listed, measure_name, measure_text, range_text
from app.pages.slots import LETTERS
from core.compare import MEASURES, Column
from core.labour import WeavingPace, how_rows
from core.project import Project
from core.tally import lay_names
from core.texts import _
from core.units import SPACE
from core.weave.cells import WEAVES
from core.weave.sheet import LayKind

ALIKE = 0.03
"""Ratios nearer to 1 than this are not worth a word in the verdict."""

ROWS = (MEASURES[0], "lay", *MEASURES[1:])
"""The rows of the table: the measures, and beside the rings their lay and range."""


def row_name(row: str, columns: tuple[Column, ...] = ()) -> str:
    """What a row is called; that of the range names the lay, where the columns have one."""
    if row != "lay":
        return measure_name(row, columns)
    lays = {lay for column in columns for lay in column.lays}
    if len(lays) != 1:
        return _("Range by lay")
    return _("Range, {lay}").format(lay=lay_words()[lays.pop()])


def lay_words() -> dict[LayKind, str]:
    """The lays in few words."""
    return {**lay_names(), "swatch": _("swatch"), "held": _("held")}


def weave_text(column: Column) -> str:
    """The weave of what is compared, or how many there are."""
    if column.counted is None:
        return _(column.weave.name)
    woven = {p.tally.weave.id for p in column.counted.panels}
    if len(woven) == 1:
        return _(WEAVES[woven.pop()].name)
    return _("{n} weaves").format(n=len(woven))


def lay_range(column: Column, known: bool) -> str:
    """The fewest and most rings by lay once they are `known`."""
    if column.counted is None:
        return "—"
    if column.lays == ("swatch",):
        return _("measured")
    return range_text(column, _("{low}–{high}")) if known else "…"


def verdict(columns: tuple[Column, ...], project: Project) -> str:
    """What the comparison comes to, in one sentence."""
    if len(columns) > 2:
        return _verdict_of_many(columns)
    a, b = columns
    for letter, column in zip(LETTERS, columns, strict=False):
        if column.problem is not None:
            return _("{letter} cannot be woven here, so there is nothing to compare.").format(
                letter=letter
            )
    words = {
        "mass_g": (_("{x} lighter"), _("{x} heavier")),
        "hours": (_("{x} quicker"), _("{x} slower")),
        "cost": (_("{x} cheaper"), _("{x} dearer")),
        "thickness_mm": (_("{x} thinner"), _("{x} thicker")),
        "opening_pull_n": (_("{x} easier to pull open"), _("{x} harder to pull open")),
    }
    good: list[str] = []
    bad: list[str] = []
    for measure, (less, more) in words.items():
        first, second = a.values[measure], b.values[measure]
        if not first or second is None or abs(second / first - 1) < ALIKE:
            continue
        if measure == "opening_pull_n":
            shown = f"{abs(second / first - 1) * 100:.0f}{SPACE}%"
        else:
            shown = measure_text(measure, abs(second - first), None, project)
        below = second < first
        wanted_less = measure != "opening_pull_n"
        (good if below == wanted_less else bad).append((less if below else more).format(x=shown))
    if good and bad:
        said = _("{b} is {good}, but {bad}.").format(
            b=_who(columns), good=listed(good), bad=listed(bad)
        )
    elif good or bad:
        said = _("{b} is {what}.").format(b=_who(columns), what=listed(good or bad))
    else:
        said = _("A and B come to nearly the same.")
    return said + _closedness(a, b)


def _who(columns: tuple[Column, ...]) -> str:
    """B by its letter, and by its weave where that is what differs."""
    a, b = (weave_text(column) for column in columns)
    return "B" if a == b else _("{weave} (B)").format(weave=b)


def _closedness(a: Column, b: Column) -> str:
    """What two weaves hide, when that differs."""
    first, second = a.values["cover"], b.values["cover"]
    if weave_text(a) == weave_text(b) or not first or second is None:
        return ""
    if abs(second / first - 1) < ALIKE:
        return ""
    words = _(" It hides {b:.0f}\u202f% of what lies beneath, A {a:.0f}\u202f%.")
    return words.format(a=first * 100, b=second * 100)


def _verdict_of_many(columns: tuple[Column, ...]) -> str:
    able = [(LETTERS[i], c) for i, c in enumerate(columns) if c.problem is None]
    if not able:
        return _("None of these can be woven here.")
    if len(able) == 1:
        return _("Only {letter} can be woven here, so there is nothing to compare.").format(
            letter=able[0][0]
        )
    unlike = len({weave_text(c) for _letter, c in able}) > 1
    parts = []
    for measure, text, most in (
        ("mass_g", _("lightest {letter}"), False),
        ("hours", _("quickest {letter}"), False),
        ("cost", _("cheapest {letter}"), False),
        ("opening_pull_n", _("hardest to pull open {letter}"), True),
        *((("cover", _("most closed {letter}"), True),) if unlike else ()),
    ):
        found = [(v, letter) for letter, c in able if (v := c.values[measure]) is not None]
        if len(found) == len(able):
            best = max(v for v, _l in found) if most else min(v for v, _l in found)
            letters = [letter for v, letter in found if math.isclose(v, best)]
            parts.append(text.format(letter=listed(letters)))
    sentence = "; ".join(parts) + "."
    return sentence[:1].upper() + sentence[1:]


def how_measure(row: str, columns: tuple[Column, ...], project: Project) -> tuple[str, ...]:
    """Sentences that say how a compared number came about, and where its formula comes from."""
    contact = _(
        "Source: solved from contact between the rings, on the sheet of the first panel compared."
    )
    words: dict[str, tuple[str, ...]] = {
        "rings": (
            _(
                "Counted place by place as if every panel in question were woven so. A panel"
                " measured on a swatch keeps that measure only in its own ring and weave; otherwise"
                " it is laid."
            ),
            _("Source: the weave’s own lattice, its pitches solved from contact."),
        ),
        "lay": (
            _(
                "How far the mail is opened, and the fewest and most rings among this lay, spread"
                " and drawn across: what mail can do until a swatch is measured."
            ),
            _("Source: the same count, with the pitches of each lay solved from contact."),
        ),
        "mass_g": (
            _(
                "The mail as worn, without spare rings. A ring weighs its centreline, π(inner +"
                " wire), times the wire’s section, π·wire²/4, times the metal’s density."
            ),
            _("Source: the volume of a torus by Pappus; densities as said with each metal."),
        ),
        "wire_mm": (
            _(
                "The wire to buy: for each ring one turn of the released coil,"
                " √((π·(inner + wire))² + wire²); spare rings and the tails of each coil are in it."
            ),
            _("Source: the length of a helix; spare and tails are common practice, no source."),
        ),
        "spools": (
            _("Whole spools: the wire of each ring over the length of its spool, rounded up,"
              " without a join inside a coil."),
            _("Source: arithmetic; the spool is as you stated it."),
        ),
        "cost": (
            _("Spools times the price of a spool; “—” while a price is missing."),
            _("Source: the prices you typed."),
        ),
        "hours": _how_hours(columns, project),
        "cover": (
            _(
                "The share of the surface hidden by metal, seen from the front: the union of the"
                " rings’ shadows over the area of one repeat."
            ),
            contact,
        ),
        "thickness_mm": (
            _(
                "From the lowest metal to the highest. Of rings that lean: twice the centreline"
                " radius times the sine of the lean, and one wire; rings in pairs add what sets"
                " them apart; of rings that stand upright, their outer diameter."
            ),
            contact,
        ),
        "stretch_across": (
            _(
                "How much longer the mail gets across its rows when drawn out that way: the pitch"
                " drawn across over the pitch laid, less one."
            ),
            contact,
        ),
        "stretch_along": (
            _(
                "How much longer the mail gets along its rows when drawn out that way: the pitch"
                " drawn along over the pitch laid, less one."
            ),
            contact,
        ),
        "cut_effort": (
            _(
                "Tensile strength times the square of the wire’s diameter. Only the ratio means"
                " anything: A is 1. Of two rings, the harder one counts."
            ),
            _("Source: force grows with strength and section; common practice, no source."),
        ),
        "close_effort": (
            _(
                "Yield stress times the cube of the wire’s diameter. Only the ratio means anything:"
                " A is 1. Of two rings, the harder one counts."
            ),
            _("Source: the full plastic moment of a round bar, σy·d³/6."),
        ),
        "opening_pull_n": (
            _(
                "Yield stress times the cube of the wire’s diameter over six centreline radii: gap"
                " at right angles to the pull; an upper bound elsewhere. Of two rings, the weaker"
                " one counts."
            ),
            _(
                "The yield is the metal’s table value, with a trial coil, too: what that shows is"
                " fitted to spring-back and holds the winder’s tension, so it is no strength."
            ),
            _("Source: the full plastic moment of a round bar, σy·d³/6, over the lever arm R."),
        ),
    }  # fmt: skip
    return (*words[row], *_values_behind(row, columns))


def paces(columns: tuple[Column, ...]) -> tuple[tuple[str, WeavingPace], ...]:
    """The pace of weaving each panel in each column, once for each weave of a column."""
    found: dict[tuple[str, str], WeavingPace] = {}
    for letter, column in zip(LETTERS, columns, strict=False):
        for panel in () if column.counted is None else column.counted.panels:
            found.setdefault((letter, panel.tally.weave.name), panel.pace)
    return tuple((f"{letter}, {_(weave)}", pace) for (letter, weave), pace in found.items())


def pace_note(columns: tuple[Column, ...]) -> str:
    """What the hours compared rest on, in a line."""
    every = paces(columns)
    carried = [words for words, pace in every if pace.carried]
    if carried:
        letters = list(dict.fromkeys(words[0] for words in carried))
        return _("{letters}: your pace, carried over from another weave; not timed in it.").format(
            letters=listed(letters)
        )
    if any(pace.trial is not None for _words, pace in every):
        return _("Woven at your pace; other hours are common practice, no source.")
    return _("Hours are common practice, no source; not yet your pace.")


def _how_hours(columns: tuple[Column, ...], project: Project) -> tuple[str, ...]:
    return how_rows(project.practice, paces(columns))


def _values_behind(row: str, columns: tuple[Column, ...]) -> list[str]:
    """What goes into the formula of each column."""
    lines = []
    for letter, column in zip(LETTERS, columns, strict=False):
        solved = column.solved
        if row in ("cut_effort", "close_effort", "opening_pull_n") and column.ring is not None:
            metal = column.ring.metal
            lines.append(
                _("{letter}: {metal}, yield {y:g} MPa, strength {s:g} MPa. {source}").format(
                    letter=letter,
                    metal=_(metal.name),
                    y=metal.yield_mpa,
                    s=metal.strength_mpa,
                    source=metal.source,
                )
            )
        if row in ("cover", "thickness_mm", "stretch_across", "stretch_along") and solved:
            lines.append(
                _("{letter}: {weave}, {lay}, {along:.2f} × {across:.2f} mm").format(
                    letter=letter,
                    weave=_(column.weave.name),
                    lay=lay_names()[solved.kind],
                    along=solved.along_mm,
                    across=solved.across_mm,
                )
            )
    return lines
