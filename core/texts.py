"""One catalogue of words for core and app.

Every text a person reads passes through `_` or `ngettext`, written as a literal so that the
catalogue can be extracted; values are put in afterwards with ``str.format``.
"""

from __future__ import annotations

import gettext
from importlib import resources

DOMAIN = "ringloft"

_current: gettext.NullTranslations = gettext.NullTranslations()


def use_language(languages: list[str]) -> None:
    """Switch to the first language of the list that has a catalogue; English when none has."""
    global _current
    folder = resources.files("resources").joinpath("locale")
    _current = gettext.translation(DOMAIN, str(folder), languages=languages, fallback=True)


def use_catalogue(catalogue: gettext.NullTranslations) -> None:
    """Switch to a catalogue already in memory (tests use a pseudo-translation)."""
    global _current
    _current = catalogue


def _(text: str) -> str:
    """The text in the current language."""
    return _current.gettext(text)


def mark(text: str) -> str:
    """Marks a text for the catalogue that is kept in data and looked up where it is shown."""
    return text


def ngettext(one: str, many: str, n: int) -> str:
    """The singular or plural form that suits n, in the current language."""
    return _current.ngettext(one, many, n)
