"""The catalogue reaches core and app, and every text is written so that it can be extracted."""

from __future__ import annotations

import ast
import gettext
from pathlib import Path

import pytest

from core import texts
from core.errors import RingTooTight
from core.weave.lay import Lay, solve_lay

ROOT = Path(__file__).resolve().parents[2]


class Shouting(gettext.NullTranslations):
    """A pseudo-translation: every text in capitals, its fields left alone."""

    def gettext(self, message):
        parts = message.replace("{", "\0{").replace("}", "}\0").split("\0")
        return "".join(p if p.startswith("{") else p.upper() for p in parts)

    def ngettext(self, one, many, n):
        return self.gettext(one if n == 1 else many)


@pytest.fixture
def shouting():
    texts.use_catalogue(Shouting())
    yield
    texts.use_catalogue(gettext.NullTranslations())


def test_core_speaks_the_current_language(shouting):
    with pytest.raises(RingTooTight) as told:
        solve_lay("european-4-in-1", 1.6, 4.0, Lay("laid"))
    assert "TIMES AS WIDE AS ITS WIRE" in str(told.value)


def test_app_speaks_the_current_language(shouting):
    from app.reports import spools_text

    assert spools_text(1) == "1 SPOOL"
    assert spools_text(3) == "3 SPOOLS"


def test_a_language_without_a_catalogue_falls_back_to_english():
    texts.use_language(["xx"])
    assert texts._("Rings") == "Rings"


def calls_of(tree):
    for node in ast.walk(tree):
        named = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        if named and node.func.id in ("_", "ngettext"):
            yield node


def sources():
    return sorted(p for folder in ("core", "app") for p in (ROOT / folder).rglob("*.py"))


@pytest.mark.parametrize("path", sources(), ids=lambda p: str(p.relative_to(ROOT)))
def test_texts_are_literals_and_looked_up_when_shown(path):
    """An f-string cannot be extracted; a text looked up at import stays in the first language."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    inside = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            inside |= {id(n) for n in ast.walk(node)}
    for call in calls_of(tree):
        where = f"{path.name}:{call.lineno}"
        assert not any(isinstance(a, ast.JoinedStr) for a in call.args), f"{where}: f-string"
        assert id(call) in inside, f"{where}: looked up at import"


def test_the_template_of_texts_is_up_to_date():
    """Source: babel, a general message-catalogue library, reads the file back."""
    from babel.messages import pofile

    from resources.catalogue import TEMPLATE, collect

    with TEMPLATE.open("rb") as file:
        kept = pofile.read_po(file)
    ids = {m.id for m in kept if m.id}
    assert ids == {m.id for m in collect() if m.id}, "run: python -m resources.catalogue"
