"""One clock for the whole program, so that a run can be repeated as of a given day."""

from __future__ import annotations

import datetime as dt

_as_of: dt.date | None = None


def set_as_of(day: dt.date | None) -> None:
    """Hold the clock at noon of a day; None lets it run again."""
    global _as_of
    _as_of = day


def today() -> dt.date:
    """The local date, or the date the clock is held at."""
    return _as_of if _as_of is not None else dt.date.today()


def now() -> dt.datetime:
    """The local time without zone; noon of the held date when the clock is held."""
    if _as_of is not None:
        return dt.datetime.combine(_as_of, dt.time(12))
    return dt.datetime.now()
