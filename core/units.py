"""Text to number and back, at the border only; inside the program every number is mm, g, degrees.

Everyday spellings ("1.6 mm", "7/8 in", "5 ft 6 in", "1,6 mm") are read here; rarer units go to
pint, loaded only then because it takes longer to import than the rest of core.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from core.errors import BadValue
from core.texts import _
from core.wire import (
    GAUGE_SYSTEMS,
    MM_PER_IN,
    check_wire_mm,
    gauge_label,
    gauge_mm,
    gauge_numbers,
)

if TYPE_CHECKING:
    import pint

MM_PER_FT = 304.8
MM2_PER_DM2 = 10_000.0

G_PER_OZ = 28.349523125
"""Avoirdupois ounce, exact by the 1959 yard and pound agreement."""

SPACE = "\u00a0"
"""Stands between a number and its unit, so that they are never parted at a line's end."""
MINUS = "\u2212"

MAX_LENGTH_MM = 1e8
MAX_MASS_G = 1e7
MAX_ANGLE_DEG = 3600.0
MAX_COUNT = 10**9
_MAX_TEXT = 80

_LENGTHS: Mapping[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_IN,
    "inch": MM_PER_IN,
    "inches": MM_PER_IN,
    '"': MM_PER_IN,
    "ft": MM_PER_FT,
    "foot": MM_PER_FT,
    "feet": MM_PER_FT,
    "'": MM_PER_FT,
    "yd": 914.4,
    "yard": 914.4,
    "yards": 914.4,
}
_MASSES: Mapping[str, float] = {
    "g": 1.0,
    "kg": 1000.0,
    "oz": G_PER_OZ,
    "lb": 16 * G_PER_OZ,
    "lbs": 16 * G_PER_OZ,
}
_ANGLES: Mapping[str, float] = {
    "°": 1.0,
    "deg": 1.0,
    "degree": 1.0,
    "degrees": 1.0,
    "rad": 180.0 / math.pi,
}

_SPELLINGS = {
    **dict.fromkeys(map(ord, "\u00a0\u2009\u202f\u2007\t\n\r"), " "),
    **dict.fromkeys(map(ord, "\u2212\u2013\u2012"), "-"),
    **dict.fromkeys(map(ord, "\u2033\u201d\u201c"), '"'),
    **dict.fromkeys(map(ord, "\u2032\u2019\u2018"), "'"),
    ord("\u2044"): "/",
    ord("\u03bc"): "\u00b5",
    **{
        ord(sign): f" {part}"
        for sign, part in {
            "¼": "1/4",
            "½": "1/2",
            "¾": "3/4",
            "⅛": "1/8",
            "⅜": "3/8",
            "⅝": "5/8",
            "⅞": "7/8",
            "⅓": "1/3",
            "⅔": "2/3",
        }.items()
    },
}

_PLAIN = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_FRACTION = r"(?:\d+[ -]+)?\d+ ?/ ?\d+"
_NUMBER = rf"{_FRACTION}|{_PLAIN}"
_VALUE = re.compile(rf"([+-]?) ?({_NUMBER}) ?([A-Za-zµ°]*|''|[\"'])", re.ASCII)
_FEET_INCHES = re.compile(
    rf"([+-]?) ?({_NUMBER}) ?(?:'|ft|foot|feet) ?({_NUMBER}) ?(?:\"|''|in|inch|inches)?", re.ASCII
)
_GROUPED = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+", re.ASCII)


def _clean(text: str) -> str:
    return " ".join(text.translate(_SPELLINGS).split())


def _shown(text: str) -> str:
    short = " ".join(text.split())
    return short if len(short) <= 40 else short[:39] + "…"


def _to_float(number: str, text: str, where: str) -> float:
    if "/" in number:
        parts = re.fullmatch(r"(?:(\d+)[ -]+)?(\d+) ?/ ?(\d+)", number)
        assert parts is not None, "the caller matched a number with a slash"
        whole, top, bottom = parts.groups()
        if int(bottom) == 0:
            raise BadValue(
                _("“{text}” divides by zero").format(text=_shown(text)),
                where=where,
                do=_("Write a fraction such as 7/8"),
            )
        return int(whole or 0) + int(top) / int(bottom)
    if _GROUPED.fullmatch(number):
        raise BadValue(
            _("“{text}” can be read in two ways").format(text=_shown(text)),
            where=where,
            do=_("Leave the comma out, or write the decimals with a point"),
        )
    return float(number.replace(",", "."))


@dataclass(frozen=True, slots=True)
class _Kind:
    """A dimension with its everyday units; `base` is pint's name for the unit inside."""

    base: str
    units: Mapping[str, float]
    limit: float
    what: str
    do: str


def _length() -> _Kind:
    return _Kind(
        "mm",
        _LENGTHS,
        MAX_LENGTH_MM,
        _("“{text}” is not a length"),
        _("Write a number and a unit, such as 8 mm, 5/16 in or 150 ft"),
    )


def _mass() -> _Kind:
    return _Kind(
        "g",
        _MASSES,
        MAX_MASS_G,
        _("“{text}” is not a mass"),
        _("Write a number and a unit, such as 500 g, 2.5 kg or 5 lb"),
    )


def _angle() -> _Kind:
    return _Kind(
        "degree",
        _ANGLES,
        MAX_ANGLE_DEG,
        _("“{text}” is not an angle"),
        _("Write a number of degrees, such as 17.5°"),
    )


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry()


@cache
def _rare_factor(unit: str, base: str) -> float | None:
    """What pint makes of a unit: how many `base` it holds; None when it is something else."""
    from pint.errors import PintError

    try:
        return float(_registry().Quantity(1.0, unit).to(base).magnitude)
    except (PintError, ArithmeticError, AssertionError, TypeError, ValueError):
        return None


def _parse(text: str, default: str, kind: _Kind, signed: bool, where: str) -> float:
    """A quantity in the kind's base unit."""

    def refuse(what: str) -> BadValue:
        return BadValue(what.format(text=_shown(text)), where=where, do=kind.do)

    if not text.strip():
        raise refuse(_("nothing is written"))
    cleaned = _clean(text) if len(text) <= _MAX_TEXT else ""
    both = _FEET_INCHES.fullmatch(cleaned) if kind.base == "mm" else None
    if both:
        sign = both[1]
        value = MM_PER_FT * _to_float(both[2], text, where) + MM_PER_IN * _to_float(
            both[3], text, where
        )
    else:
        found = _VALUE.fullmatch(cleaned)
        if not found:
            raise refuse(kind.what)
        sign = found[1]
        unit = {"''": '"'}.get(found[3], found[3]) or default
        factor = kind.units.get(unit.lower())
        if factor is None:
            factor = _rare_factor(unit, kind.base) if len(unit) <= 30 else None
        if factor is None:
            raise refuse(kind.what)
        value = factor * _to_float(found[2], text, where)
    if sign == "-" and value != 0.0:
        if not signed:
            raise refuse(_("“{text}” is below zero"))
        value = -value
    if not (math.isfinite(value) and abs(value) <= kind.limit):
        raise refuse(_("“{text}” is too large to be meant"))
    # Inches are exact to a few decimals of a mm: drop the noise of the product.
    return round(value, 9)


def parse_length(text: str, default: str = "mm", *, signed: bool = False, where: str = "") -> float:
    """A length in mm.

    Args:
        text: "7/8 in", "1 1/2 in", "1.6mm", "1,6 mm", "150 ft", "5 ft 6 in", "⌀8 mm", "8".
        default: unit of a number without one.
        signed: whether a length below zero has a meaning (a margin).
        where: the field, named in the refusal.

    Raises:
        BadValue: not a length, below zero, or absurd.
    """
    bare = text.strip().strip("⌀øØ∅") if len(text) <= _MAX_TEXT else text
    return _parse(bare if bare.strip() else text, default, _length(), signed, where)


def parse_mass(text: str, default: str = "g", *, where: str = "") -> float:
    """A mass in g, from "500 g", "2.5 kg", "5 lb". Raises BadValue as `parse_length`."""
    return _parse(text, default, _mass(), False, where)


def parse_angle(text: str, default: str = "deg", *, where: str = "") -> float:
    """An angle in degrees, from "17.5°", "-30", "0.3 rad". Raises BadValue as `parse_length`."""
    return _parse(text, default, _angle(), True, where)


def parse_count(text: str, low: int = 0, high: int = MAX_COUNT, *, where: str = "") -> int:
    """A whole number from low to high; spaces between thousands are allowed.

    Raises:
        BadValue: not a whole number, or out of range.
    """
    digits = _clean(text).replace(" ", "") if len(text) <= _MAX_TEXT else ""
    if not re.fullmatch(r"[+-]?\d{1,20}", digits, re.ASCII) or not low <= int(digits) <= high:
        raise BadValue(
            _("“{text}” is not a count").format(text=_shown(text)),
            where=where,
            do=_("Write a whole number from {low} to {high}").format(low=low, high=high),
        )
    return int(digits)


@dataclass(frozen=True, slots=True)
class WireText:
    """A wire as read: its diameter in mm and, when a gauge was written, the gauge's label."""

    wire_mm: float
    label: str = ""


_FILLERS = frozenset({"ga", "gauge", "gage", "g", "no", "number", "nr", "wire", "standard"})
_SYSTEM_WORDS: Mapping[frozenset[str], str] = {
    frozenset(words.split()): system
    for system, spellings in {
        "awg": ("awg", "american", "b&s", "brown&sharpe", "us awg"),
        "us-steel": ("us steel", "american steel", "us swg", "washburn moen", "w&m", "us-steel"),
        "imperial": ("imperial", "imperial swg", "british", "british swg", "uk swg", "uk", "iwg"),
        "bwg": ("bwg", "birmingham"),
    }.items()
    for words in spellings
}
_GAUGE_WORDS = frozenset().union(*_SYSTEM_WORDS) | {"swg"} | (_FILLERS - {"g"})


def parse_wire(text: str, default: str = "mm", *, where: str = "") -> WireText:
    """A wire's diameter and, when one was written, its gauge.

    Args:
        text: "1.6 mm", "0.0625 in", "18 awg", "16 ga US steel", "20 ga imperial", or what
            `format_wire` shows. A decimal number without unit is read in `default`; a whole
            number without unit is refused, since it may be a gauge.
        default: unit of a decimal number without one.
        where: the field, named in the refusal.

    Raises:
        BadValue: a gauge without its system, an unknown gauge, no length, or a wire outside 0.2
            to 10 mm.
    """
    where = where or _("wire diameter")
    cleaned = _clean(text) if len(text) <= _MAX_TEXT else ""
    pair = re.fullmatch(r"([^()]+) ?\(([^()]+)\)", cleaned)
    if pair:
        beside, gauge = parse_length(pair[1], default, where=where), parse_wire(pair[2])
        if abs(beside - gauge.wire_mm) > 0.0051:
            raise BadValue(
                _("“{text}” says two different diameters").format(text=_shown(text)),
                where=where,
                do=_("Keep either the gauge or the diameter"),
            )
        return gauge
    words = [w for w in re.findall(r"[^\W\d_]+(?:[&-][^\W\d_]+)*", cleaned.lower()) if w != "and"]
    numbers = re.findall(r"\d[\d.,/]*", cleaned)
    bare = re.fullmatch(r"[#+]? ?\d{1,3}", cleaned)
    if bare or _GAUGE_WORDS.intersection(words):
        if len(numbers) != 1 or not re.fullmatch(r"\d{1,3}\.?", numbers[0], re.ASCII):
            raise BadValue(
                _("“{text}” is not a gauge in the tables").format(text=_shown(text)),
                where=where,
                do=_("Write one whole number and its system, such as 16 ga US steel"),
            )
        number = int(numbers[0].rstrip("."))
        system = _SYSTEM_WORDS.get(frozenset(words) - _FILLERS)
        if system is None:
            raise _which_gauge(number, text, "swg" in words, where)
        return WireText(check_wire_mm(gauge_mm(system, number)), gauge_label(system, number))
    return WireText(check_wire_mm(parse_length(text, default, where=where)))


def _which_gauge(number: int, text: str, swg: bool, where: str) -> BadValue:
    """The refusal of a gauge number without its system, with what each system would make of it."""
    names = {"awg": "AWG", "us-steel": "US steel", "imperial": "Imperial", "bwg": "BWG"}
    each = ", ".join(
        f"{names[system]} {format_length(gauge_mm(system, number))}"
        for system in (("us-steel", "imperial") if swg else GAUGE_SYSTEMS)
        if number in gauge_numbers(system)
    )
    if not each:
        what = _("“{text}” names neither a unit nor a gauge in the tables")
    elif swg:
        what = _("SWG is two systems, US steel and Imperial, and “{text}” names neither: {each}")
    else:
        what = _("“{text}” is a different wire in each gauge system: {each}")
    return BadValue(
        what.format(text=_shown(text), each=each),
        where=where,
        do=_("Name the system, as in 16 ga US steel, or write millimetres, as in 1.6 mm"),
    )


def _decimal(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def _three_digits(value: float) -> str:
    """Three significant digits, at least the whole number."""
    if value == 0.0:
        return "0"
    places = 2 - math.floor(math.log10(abs(value)))
    # Rounding can carry into one more digit: 9.996 is shown as 10.0.
    places = 2 - math.floor(math.log10(abs(round(value, places))))
    return _decimal(value, max(0, min(places, 6)))


def format_length(mm: float, unit: str = "mm", places: int | None = None) -> str:
    """A length as shown: "1.60 mm"; in inches "7/8 in" where exact to 1/64, else "0.830 in".

    Args:
        mm: the length.
        unit: "mm" or "in".
        places: decimals; 2 for mm and 3 for inches unless given.
    """
    if unit != "in":
        return f"{_decimal(mm, 2 if places is None else places)}{SPACE}mm"
    parts = round(abs(mm) / MM_PER_IN * 64)
    if abs(parts * MM_PER_IN / 64 - abs(mm)) > 5e-4:
        return f"{_decimal(mm / MM_PER_IN, 3 if places is None else places)}{SPACE}in"
    whole, rest = divmod(parts, 64)
    shared = math.gcd(rest, 64)
    fraction = f"{rest // shared}/{64 // shared}" if rest else ""
    number = SPACE.join(part for part in (str(whole) if whole else "", fraction) if part) or "0"
    return f"{MINUS if mm < 0 and parts else ''}{number}{SPACE}in"


def format_wire(wire_mm: float, label: str = "", unit: str = "mm") -> str:
    """A wire as shown, the diameter always beside the gauge: "1.59 mm (16 ga US steel)"."""
    shown = format_length(wire_mm, unit, 4 if unit == "in" else 2)
    return f"{shown} ({label})" if label else shown


def format_wire_length(mm: float, unit: str = "mm") -> str:
    """A length of wire to three digits: "310 mm", "31.9 m"; or "1.22 in", "105 ft"."""
    if unit == "in":
        if abs(mm) < MM_PER_FT:
            return f"{_three_digits(mm / MM_PER_IN)}{SPACE}in"
        return f"{_three_digits(mm / MM_PER_FT)}{SPACE}ft"
    if abs(mm) < 999.5:
        return f"{_three_digits(mm)}{SPACE}mm"
    return f"{_three_digits(mm / 1000.0)}{SPACE}m"


def format_mass(g: float, unit: str = "mm") -> str:
    """A mass to three digits: "0.165 g", "3.47 kg"; in the inch system "5.82 oz", "7.65 lb"."""
    if unit == "in":
        ounces = g / G_PER_OZ
        if abs(ounces) < 15.995:
            return f"{_three_digits(ounces)}{SPACE}oz"
        return f"{_three_digits(ounces / 16.0)}{SPACE}lb"
    if abs(g) < 999.5:
        return f"{_three_digits(g)}{SPACE}g"
    return f"{_three_digits(g / 1000.0)}{SPACE}kg"


def format_area(mm2: float, unit: str = "mm") -> str:
    """An area to three digits: "87.0 mm²", "412 cm²", "1.20 m²"; or "63.9 in²", "12.9 ft²"."""
    if unit == "in":
        inches2 = mm2 / MM_PER_IN**2
        if abs(inches2) < 999.5:
            return f"{_three_digits(inches2)}{SPACE}in²"
        return f"{_three_digits(inches2 / 144.0)}{SPACE}ft²"
    if abs(mm2) < 99.95:
        return f"{_three_digits(mm2)}{SPACE}mm²"
    if abs(mm2) < 999_500.0:
        return f"{_three_digits(mm2 / 100.0)}{SPACE}cm²"
    return f"{_three_digits(mm2 / 1e6)}{SPACE}m²"


def format_angle(deg: float, places: int = 1) -> str:
    """An angle as shown: "17.5°"."""
    return f"{_decimal(deg, places)}°"


def format_hours(h: float) -> str:
    """A working time: "45 min", "4.5 h", "31 h"."""
    if abs(h) < 0.9917:
        return f"{_decimal(h * 60.0, 0)}{SPACE}min"
    return f"{_decimal(h, 1 if abs(h) < 9.95 else 0)}{SPACE}h"


def format_count(n: int) -> str:
    """A count, thousands parted from 10,000 up by a narrow no-break space."""
    text = f"{n:,}".replace(",", "\u202f") if abs(n) >= 10_000 else str(n)
    return text.replace("-", MINUS)


def format_count_range(low: int, high: int, words: str = "") -> str:
    """Both ends of a range of counts, "5099 to 7142", or the one number when they are alike.

    Args:
        low: the fewest.
        high: the most.
        words: a text with {low} and {high}, instead of "{low} to {high}".
    """
    if low == high:
        return format_count(low)
    words = words or _("{low} to {high}")
    return words.format(low=format_count(low), high=format_count(high))
