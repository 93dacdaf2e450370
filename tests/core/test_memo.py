"""The memo: same object, same answer; what it remembers it holds."""

import gc
import weakref

import pytest

from core import memo
from core.memo import memo_by_identity


class Value:
    """Equal to every other one, as frozen values with the same fields are."""

    def __eq__(self, other):
        return isinstance(other, Value)

    __hash__ = None


@pytest.fixture
def asked():
    calls = []

    @memo_by_identity
    def answer(*args):
        calls.append(args)
        return [len(calls)]

    return answer, calls


def test_same_object_gives_the_same_result_object(asked):
    answer, calls = asked
    value = Value()
    assert answer(value) is answer(value)
    assert len(calls) == 1


def test_an_equal_but_different_object_is_a_new_question(asked):
    answer, calls = asked
    first, second = Value(), Value()
    assert first == second
    assert answer(first) is not answer(second)
    assert len(calls) == 2


def test_plain_numbers_and_words_are_told_apart_by_value(asked):
    answer, _calls = asked
    value = Value()
    long = "a ring of a costume"
    again = " ".join(["a", "ring", "of", "a", "costume"])
    assert long is not again
    assert answer(value, 123456.5, long) is answer(value, float("123456.5"), again)
    assert answer(value, 1.0) is not answer(value, 2.0)


def test_arguments_are_told_apart_by_place(asked):
    answer, _calls = asked
    a, b = Value(), Value()
    assert answer(a, b) is not answer(b, a)
    assert answer(a) is not answer(a, a)


def test_arguments_live_as_long_as_their_result_is_remembered(monkeypatch, asked):
    monkeypatch.setattr(memo, "KEPT", 2)
    answer, calls = asked
    value = Value()
    watch = weakref.ref(value)
    answer(value)
    del value
    calls.clear()
    gc.collect()
    assert watch() is not None
    answer(Value())
    answer(Value())
    calls.clear()
    gc.collect()
    assert watch() is None


def test_the_longest_unused_result_goes_first(monkeypatch, asked):
    monkeypatch.setattr(memo, "KEPT", 2)
    answer, calls = asked
    a, b, c = Value(), Value(), Value()
    first = answer(a)
    answer(b)
    assert answer(a) is first
    answer(c)  # b goes
    assert answer(a) is first
    assert len(calls) == 3
    answer(b)
    assert len(calls) == 4


def test_an_error_is_not_remembered():
    tries = []

    @memo_by_identity
    def fails_once(value):
        tries.append(value)
        if len(tries) == 1:
            raise ValueError
        return "made"

    value = Value()
    with pytest.raises(ValueError):
        fails_once(value)
    assert fails_once(value) == "made"


def test_keywords_are_refused_rather_than_mixed_up(asked):
    answer, _calls = asked
    with pytest.raises(AssertionError):
        answer(value=Value())


def test_two_functions_keep_their_own_results():
    value = Value()
    assert memo_by_identity(lambda _v: "one")(value) == "one"
    assert memo_by_identity(lambda _v: "two")(value) == "two"
