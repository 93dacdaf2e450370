"""Handlers called by Qt must not raise: the binding may abort, or swallow what came after."""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

log = logging.getLogger("ringloft.canvas")

F = TypeVar("F", bound=Callable[..., Any])


def guarded(handler: F) -> F:
    """An event handler that logs what it cannot handle instead of raising it; it then returns
    False, which suits handlers that say whether they took an event.
    """

    @wraps(handler)
    def wrapper(*args: Any, **kwargs: Any) -> Any:  # noqa: ANN401
        try:
            return handler(*args, **kwargs)
        except Exception:
            log.exception("in %s", handler.__qualname__)
            return False

    return cast(F, wrapper)
