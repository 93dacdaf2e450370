"""What a new costume begins with."""

from __future__ import annotations

import re
from collections.abc import Iterable

from core.outline import Loop, Node, Outline
from core.panel import Panel
from core.project import Project, Unit
from core.ring import RingSpec
from core.texts import _


def first_ring() -> RingSpec:
    """A ring that is easy to weave: the maker changes it before buying anything."""
    return RingSpec(1, _("Steel 1.6 × 8"), "steel-galvanized", 1.6, 8.0)


def new_costume(unit: Unit = "mm") -> Project:
    """A costume without panels and with one ring to weave them from."""
    return Project(name="", rings=(first_ring(),), unit=unit, next_id=2)


def rectangle(ring_id: int, name: str, width_mm: float = 120.0, height_mm: float = 90.0) -> Panel:
    """A rectangle about the frame's zero; node ids are given when it is added."""
    x, y = width_mm / 2, height_mm / 2
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    nodes = tuple(Node(i, a, b) for i, (a, b) in enumerate(corners, start=1))
    return Panel(0, name, Outline(Loop(nodes)), ring_id)


def free_name(named: Iterable[Panel | RingSpec], stem: str) -> str:
    """The stem, or the stem with the first number that none of those has for a name."""
    taken = {n.name for n in named}
    if stem not in taken:
        return stem
    n = 2
    while f"{stem} {n}" in taken:
        n += 1
    return f"{stem} {n}"


def copy_name(named: Iterable[Panel | RingSpec], name: str) -> str:
    """A free name for a copy; the copy of a copy gets the next number."""
    before, after = _("{name} copy").split("{name}")
    ending = re.escape(before) + "(.+)" + re.escape(after) + r"( \d+)?"
    found = re.fullmatch(ending, name)
    return free_name(named, _("{name} copy").format(name=found[1] if found else name))
