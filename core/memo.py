"""Remember derived results by the identity of their arguments.

Values are frozen and edits keep untouched parts the same object, so "same object" is "same
question" and costs one look-up however large the value. The memo holds its arguments, so an id
cannot be given to another object while the memo remembers it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")

KEPT = 1024
"""Results kept per function: every panel of the largest costume, with room for its edges."""


def memo_by_identity(function: Callable[P, R]) -> Callable[P, R]:
    """Remember the function's last results; arguments are told apart by identity.

    Plain numbers and strings are told apart by value, since equal ones may be different objects.
    Call the wrapped function with positional arguments only.
    """
    kept: OrderedDict[tuple[object, ...], tuple[object, R]] = OrderedDict()

    @wraps(function)
    def wrapper(*args: P.args, **kwargs: P.kwargs) -> R:
        assert not kwargs, "memoised functions take positional arguments"
        key = tuple(a if isinstance(a, int | float | str) else id(a) for a in args)
        hit = kept.get(key)
        if hit is not None:
            kept.move_to_end(key)
            return hit[1]
        result = function(*args, **kwargs)
        kept[key] = (args, result)
        if len(kept) > KEPT:
            kept.popitem(last=False)
        return result

    return wrapper
