"""What the program remembers between runs: one table, kept in an ini file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QByteArray, QSettings


def _truth(value: object) -> bool:
    return value in (True, "true", 1, "1")


def _texts(value: object) -> tuple[str, ...]:
    if isinstance(value, str):
        return (value,) if value else ()
    return tuple(str(v) for v in value) if isinstance(value, list | tuple) else ()


def _bytes(value: object) -> QByteArray:
    return value if isinstance(value, QByteArray) else QByteArray()


@dataclass(frozen=True, slots=True)
class Option:
    """One remembered value.

    Attributes:
        key: name in the file.
        default: what it is until set.
        read: from what the file holds to the value; raises ValueError when it cannot be used.
    """

    key: str
    default: Any
    read: Callable[[Any], Any]


def _one_of(*allowed: str) -> Callable[[object], str]:
    def read(value: object) -> str:
        if value not in allowed:
            raise ValueError(value)
        return str(value)

    return read


OPTIONS: tuple[Option, ...] = (
    Option("window/geometry", QByteArray(), _bytes),
    Option("window/page", "panels", str),
    Option("view/theme", "system", _one_of("system", "light", "dark")),
    Option("view/show", "rings", _one_of("rings", "rows", "outline")),
    Option("view/snap", True, _truth),
    Option("view/unit", "mm", _one_of("mm", "in")),
    Option("view/true_size", (), _texts),
    Option("files/recent", (), _texts),
    Option("files/folder", "", str),
)

_BY_KEY = {option.key: option for option in OPTIONS}

RECENT_KEPT = 8
SCREENS_KEPT = 16


def _store() -> QSettings:
    return QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "Ringloft", "ringloft")


def get(key: str) -> Any:  # noqa: ANN401
    """The value of an option; its default when unset or unreadable. KeyError for an unknown."""
    option = _BY_KEY[key]
    raw = _store().value(key)
    if raw is None:
        return option.default
    try:
        return option.read(raw)
    except (ValueError, TypeError):
        return option.default


def put(key: str, value: Any) -> None:  # noqa: ANN401
    """Remember a value. KeyError for an unknown option."""
    if get(key) == value:
        return
    store = _store()
    store.setValue(key, list(value) if isinstance(value, tuple) else value)
    store.sync()


def add_recent(path: str) -> None:
    """Put a file at the head of the recent ones."""
    kept = (path, *(p for p in get("files/recent") if p != path))[:RECENT_KEPT]
    put("files/recent", kept)


def drop_recent(path: str) -> None:
    """Forget a file that is no longer there."""
    kept = tuple(p for p in get("files/recent") if p != path)
    put("files/recent", kept)


def _screen_scales() -> dict[str, float]:
    """Corrected scales by screen, the latest first; damaged entries are passed over."""
    found: dict[str, float] = {}
    for line in get("view/true_size"):
        number, _space, key = line.partition(" ")
        try:
            found.setdefault(key, float(number))
        except ValueError:
            continue
    return found


def screen_scale(key: str) -> float | None:
    """The logical pixels a mm measured on a screen; None when nobody did."""
    return _screen_scales().get(key)


def keep_screen_scale(key: str, px_per_mm: float | None) -> None:
    """Remember, or with None forget, the logical pixels a mm measured on a screen."""
    others = {k: v for k, v in _screen_scales().items() if k != key}
    kept = others if px_per_mm is None else {key: px_per_mm, **others}
    lines = tuple(f"{value!r} {name}" for name, value in kept.items())
    put("view/true_size", lines[:SCREENS_KEPT])
