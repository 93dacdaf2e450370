"""Collects every text of core and app into resources/locale/ringloft.pot.

Run ``python -m resources.catalogue`` after changing texts; a test tells when it was forgotten.
Needs Babel, which the development extra brings.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from pathlib import Path

from babel.messages import pofile
from babel.messages.catalog import Catalog

ROOT = Path(__file__).resolve().parents[1]
TEMPLATE = ROOT / "resources/locale/ringloft.pot"
LOOKUPS = {"_": 1, "mark": 1, "ngettext": 2}
"""Functions that look a text up, and how many of their arguments are texts."""

Text = str | tuple[str, str]


def texts_of(path: Path) -> Iterator[Text]:
    """Every text literal that a source file looks up or marks."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            wanted = LOOKUPS.get(node.func.id, 0)
            found = [
                a.value
                for a in node.args[:wanted]
                if isinstance(a, ast.Constant) and isinstance(a.value, str)
            ]
            if wanted and len(found) == wanted:
                yield found[0] if wanted == 1 else (found[0], found[1])


def collect() -> Catalog:
    """The catalogue of all texts, in a steady order and with the files they stand in."""
    catalogue = Catalog(project="Ringloft", charset="utf-8")
    for folder in ("core", "app"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for text in sorted(set(texts_of(path)), key=str):
                catalogue.add(text, locations=[(path.relative_to(ROOT).as_posix(), 0)])
    metals = json.loads((ROOT / "resources/metals.json").read_text(encoding="utf-8"))["metals"]
    for row in metals.values():
        catalogue.add(row["name"], locations=[("resources/metals.json", 0)])
    return catalogue


def main() -> None:
    """Write the template."""
    TEMPLATE.parent.mkdir(exist_ok=True)
    with TEMPLATE.open("wb") as file:
        pofile.write_po(
            file, collect(), width=100, omit_header=True, include_lineno=False, sort_output=True
        )


if __name__ == "__main__":
    main()
