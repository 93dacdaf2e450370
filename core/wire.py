"""Wire: gauge systems and metals, each figure with its source.

A gauge number means nothing without its system: number 16 is four different wires, up to 64 %
apart in weight. Millimetres always stand beside a gauge.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from core.errors import BadValue
from core.texts import _

MM_PER_IN = 25.4
MIN_WIRE_MM, MAX_WIRE_MM = 0.2, 10.0

R20_MM = (
    0.5, 0.56, 0.63, 0.71, 0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5, 2.8, 3.15
)  # fmt: skip
"""Preferred wire diameters. Source: ISO 3, series R20; from memory."""

GAUGE_SYSTEMS = ("awg", "us-steel", "imperial", "bwg")

_LABELS = {
    "awg": "{n} AWG",
    "us-steel": "{n} ga US steel",
    "imperial": "{n} ga Imperial",
    "bwg": "{n} BWG",
}


def _read_table(name: str) -> dict[str, Any]:
    text = resources.files("resources").joinpath(name).read_text(encoding="utf-8")
    table: dict[str, Any] = json.loads(text)
    return table


@cache
def _gauge_tables() -> Mapping[str, Mapping[int, float]]:
    """Diameters in mm by system and whole gauge number."""
    tables: dict[str, Mapping[int, float]] = {
        "awg": MappingProxyType({n: awg_mm(n) for n in range(1, 37)})
    }
    for system, entry in _read_table("gauges.json")["systems"].items():
        tables[system] = MappingProxyType(
            {int(n): round(inches * MM_PER_IN, 9) for n, inches in entry["inches"].items()}
        )
    return MappingProxyType(tables)


def awg_mm(number: float) -> float:
    """Diameter in mm of an American wire gauge number.

    Source: ASTM B258, 0.005 in · 92^((36 − n)/39); formula from memory, agrees with the table in
    Machinery's Handbook to 0.2 %.
    """
    return float(0.127 * 92.0 ** ((36.0 - number) / 39.0))


def system_name(system: str) -> str:
    """The gauge system's name as shown."""
    names = {
        "awg": _("AWG (American wire gauge)"),
        "us-steel": _("US steel wire gauge"),
        "imperial": _("Imperial standard wire gauge"),
        "bwg": _("BWG (Birmingham wire gauge)"),
    }
    return names[_known_system(system)]


def _known_system(system: str) -> str:
    if system not in GAUGE_SYSTEMS:
        raise BadValue(
            _("“{system}” is not a gauge system").format(system=system),
            do=_("Use one of: {systems}").format(systems=", ".join(GAUGE_SYSTEMS)),
        )
    return system


def gauge_numbers(system: str) -> tuple[int, ...]:
    """The whole numbers the system's table holds, thickest wire first."""
    return tuple(_gauge_tables()[_known_system(system)])


def gauge_mm(system: str, number: int) -> float:
    """Wire diameter in mm of a gauge number.

    Args:
        system: "awg", "us-steel", "imperial" or "bwg".
        number: whole gauge number, 1 to 36.

    Raises:
        BadValue: no such system, or the number is not in its table.

    Source: `awg_mm`; else Machinery's Handbook, Industrial Press 2012 (see resources/gauges.json).
    """
    table = _gauge_tables()[_known_system(system)]
    if number not in table:
        raise BadValue(
            _("{name} has no number {number} here").format(name=system_name(system), number=number),
            do=_("Give a number from {low} to {high}, or the diameter in mm").format(
                low=min(table), high=max(table)
            ),
        )
    return table[number]


def gauge_label(system: str, number: int) -> str:
    """The gauge as written beside the millimetres, for example "16 ga US steel".

    A notation stored in project files and read back by `core.units.parse_wire`, so it is the same
    in every language.
    """
    return _LABELS[_known_system(system)].format(n=number)


@dataclass(frozen=True, slots=True)
class NearestGauge:
    """The gauge closest to a wire, and how far off it is.

    Attributes:
        number: gauge number.
        system: gauge system.
        gauge_mm: diameter of that gauge.
        residual_mm: gauge less wire; negative when the gauge is the thinner wire.
        residual_ratio: residual over the wire's diameter.
    """

    number: int
    system: str
    gauge_mm: float
    residual_mm: float
    residual_ratio: float

    @property
    def label(self) -> str:
        """For example "16 ga US steel"."""
        return gauge_label(self.system, self.number)


def nearest_gauge(wire_mm: float, system: str) -> NearestGauge:
    """The gauge of a system whose diameter is closest to a wire's.

    The residual is part of the answer and is to be shown: the nearest gauge may be thinner.

    Raises:
        BadValue: unknown system, or a wire outside 0.2 to 10 mm.
    """
    check_wire_mm(wire_mm)
    table = _gauge_tables()[_known_system(system)]
    number = min(table, key=lambda n: abs(table[n] - wire_mm))
    residual = table[number] - wire_mm
    return NearestGauge(number, system, table[number], residual, residual / wire_mm)


def check_wire_mm(wire_mm: float) -> float:
    """The diameter itself when it is a wire a person can weave.

    Raises:
        BadValue: not a number, or outside 0.2 to 10 mm.
    """
    if not (math.isfinite(wire_mm) and MIN_WIRE_MM <= wire_mm <= MAX_WIRE_MM):
        raise BadValue(
            _("a wire of {mm:.4g} mm cannot be used").format(mm=wire_mm),
            where=_("wire diameter"),
            do=_("Give a diameter from {low:g} to {high:g} mm").format(
                low=MIN_WIRE_MM, high=MAX_WIRE_MM
            ),
        )
    return wire_mm


@dataclass(frozen=True, slots=True)
class Metal:
    """A wire metal.

    Attributes:
        key: name in files and on the command line.
        name: name in words, English; pass through `core.texts._` where shown.
        density_g_cm3: density.
        modulus_gpa: Young's modulus.
        yield_mpa: yield stress used for winding until a trial coil says better.
        strength_mpa: tensile strength used for cutting.
        look: "steel", "stainless", "aluminium", "brass", "copper" or "black".
        source: where the figures come from.
        yield_range_mpa: softest and hardest temper known.
        strength_range_mpa: the same for the strength.
        density_spread: relative uncertainty of the density.
    """

    key: str
    name: str
    density_g_cm3: float
    modulus_gpa: float
    yield_mpa: float
    strength_mpa: float
    look: str
    source: str
    yield_range_mpa: tuple[float, float]
    strength_range_mpa: tuple[float, float]
    density_spread: float = 0.01


@cache
def metals() -> Mapping[str, Metal]:
    """All metals by key, in the table's order. Source: resources/metals.json, one per metal."""
    found = {}
    for key, row in _read_table("metals.json")["metals"].items():
        found[key] = Metal(
            key=key,
            name=row["name"],
            density_g_cm3=float(row["density_g_cm3"]),
            modulus_gpa=float(row["modulus_gpa"]),
            yield_mpa=float(row["yield_mpa"]),
            strength_mpa=float(row["strength_mpa"]),
            look=row["look"],
            source=row["source"],
            yield_range_mpa=(float(row["yield_range_mpa"][0]), float(row["yield_range_mpa"][1])),
            strength_range_mpa=(
                float(row["strength_range_mpa"][0]),
                float(row["strength_range_mpa"][1]),
            ),
            density_spread=float(row["density_spread"]),
        )
    return MappingProxyType(found)


def metal(key: str) -> Metal:
    """The metal of that key.

    Raises:
        BadValue: no such metal; the sentence names the closest keys, or all of them.
    """
    table = metals()
    if key in table:
        return table[key]
    import difflib

    wanted = key.strip().lower()
    if wanted in table:
        return table[wanted]
    close = [k for k in table if wanted and (wanted in k or k in wanted)]
    close += [k for k in difflib.get_close_matches(wanted, table, n=3) if k not in close]
    raise BadValue(
        _("“{key}” is not a metal in the table").format(key=key[:40]),
        where=_("metal"),
        do=_("Use one of: {keys}").format(keys=", ".join(close or table)),
    )


def custom_metal(yield_mpa: float, modulus_gpa: float, density_g_cm3: float) -> Metal:
    """A metal from the maker's own three figures; its strength is taken as the yield.

    Raises:
        BadValue: a figure that no wire metal has.
    """
    limits = (
        (yield_mpa, 1.0, 5000.0, _("yield stress in MPa")),
        (modulus_gpa, 1.0, 500.0, _("elastic modulus in GPa")),
        (density_g_cm3, 0.5, 25.0, _("density in g/cm³")),
    )
    for value, low, high, where in limits:
        if not (math.isfinite(value) and low <= value <= high):
            raise BadValue(
                _("{value:g} is no figure for a wire metal").format(value=value),
                where=where,
                do=_("Give a number from {low:g} to {high:g}").format(low=low, high=high),
            )
    return Metal(
        key="own",
        name=_("own figures"),
        density_g_cm3=density_g_cm3,
        modulus_gpa=modulus_gpa,
        yield_mpa=yield_mpa,
        strength_mpa=yield_mpa,
        look="steel",
        source=_("given by the maker"),
        yield_range_mpa=(yield_mpa, yield_mpa),
        strength_range_mpa=(yield_mpa, yield_mpa),
    )
