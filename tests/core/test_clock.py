"""The clock can be held at a day, so that a result can be repeated."""

import datetime as dt

import pytest

from core import clock


@pytest.fixture(autouse=True)
def running():
    yield
    clock.set_as_of(None)


def test_a_held_clock_tells_its_day_until_let_go():
    day = dt.date(2031, 2, 28)
    clock.set_as_of(day)
    assert clock.today() == day
    assert clock.now() == dt.datetime(2031, 2, 28, 12)
    clock.set_as_of(None)
    assert clock.today() != day
    assert clock.now().date() != day
