"""`ringloft picture`: a panel or a piece of mail as SVG or PDF at true size. Never imports Qt."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from core.errors import BadValue
from core.project import Project
from core.ring import RingSpec
from core.texts import _, ngettext
from core.units import format_count
from core.weave.cells import WEAVES
from core.weave.lay import Lay
from core.whole_file import write_whole
from core.wire import metal, metals

if TYPE_CHECKING:
    from core.picture import Picture


def purpose() -> str:
    """What the command is for."""
    return _("A panel, or a piece of mail, as an SVG or PDF file at true size.")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "file", nargs="?", help=_("a .ringloft project, or the name of a sample; or use --weave")
    )
    parser.add_argument("--panel", help=_("which panel of the project; may be left out for one"))
    parser.add_argument(
        "--weave", choices=tuple(WEAVES), metavar="WEAVE",
        help=_("a piece of this weave instead: {names}").format(names=", ".join(WEAVES)),
    )  # fmt: skip
    parser.add_argument("--wire", help=_("with --weave: such as 1.6mm or “16 ga US steel”"))
    parser.add_argument("--inner", help=_("with --weave: inner diameter of the ring"))
    parser.add_argument(
        "--lay",
        default="laid",
        choices=("laid", "spread", "along", "across"),
        help=_("with --weave: how far the mail is opened; unless given: %(default)s"),
    )
    parser.add_argument(
        "--metal", help=_("with --weave: one of {keys}").format(keys=", ".join(metals()))
    )
    parser.add_argument("--width", default="100mm", help=_("with --weave: of the piece"))
    parser.add_argument("--height", default="70mm", help=_("with --weave: of the piece"))
    parser.add_argument(
        "-o", "--output", required=True, metavar="OUT", help=_("a file ending in .svg or .pdf")
    )


def run(options: argparse.Namespace, project: Project | None) -> dict[str, Any]:
    """Write the picture.

    Args:
        options: what `add_arguments` understands.
        project: the project of ``options.file``, opened; None when there is none.

    Returns:
        what was written: file, width_mm, height_mm, rings.

    Raises:
        RingloftError: what is asked for cannot be shown, or the file not be written.
    """
    # Only here: the other commands need no pictures, and start without them.
    from app import pictures

    out = Path(options.output)
    if pictures.suffix_of(out) not in (".svg", ".pdf"):
        raise BadValue(
            _("“{name}” ends in neither .svg nor .pdf").format(name=out.name),
            "--output",
            _("End the file’s name in .svg or .pdf"),
        )
    shown = _piece(options) if project is None else _panel(project, options.panel)
    write_whole(out, pictures.picture_bytes(shown, pictures.suffix_of(out)))
    width, height = shown.size_mm
    return {
        "file": str(out),
        "width_mm": round(width, 3),
        "height_mm": round(height, 3),
        "rings": shown.rings,
    }


def text(done: dict[str, Any]) -> str:
    """What was written, as a line."""
    rings = ngettext("{n} ring", "{n} rings", done["rings"]).format(n=format_count(done["rings"]))
    return _("{file}: {rings}, {width:.1f} × {height:.1f} mm at true size").format(
        file=done["file"], rings=rings, width=done["width_mm"], height=done["height_mm"]
    )


def _panel(project: Project, name: str | None) -> Picture:
    from app.pictures import panel_picture

    found = [p for p in project.panels if name in (None, p.name)]
    if len(found) != 1:
        names = ", ".join(f"“{p.name}”" for p in project.panels) or _("none yet")
        raise BadValue(
            _("The costume has no panel “{name}”").format(name=name)
            if name is not None and not found
            else _("It is not clear which panel is meant"),
            "--panel",
            _("Its panels: {names}").format(names=names),
        )
    return panel_picture(project, found[0])


def _piece(options: argparse.Namespace) -> Picture:
    from app.pictures import swatch_picture
    from core.units import parse_length, parse_wire

    if options.weave is None or options.wire is None or options.inner is None:
        raise BadValue(
            _("There is nothing to show"),
            do=_("Name a project and --panel; or give --weave, --wire and --inner"),
        )
    wire = parse_wire(options.wire, where="--wire")
    key = "steel-galvanized" if options.metal is None else metal(options.metal).key
    inner_mm = parse_length(options.inner, where="--inner")
    spec = RingSpec(-1, "", key, wire.wire_mm, None, inner_mm, 0.0, wire.label)
    size = (
        parse_length(options.width, where="--width"),
        parse_length(options.height, where="--height"),
    )
    return swatch_picture((spec,), options.weave, Lay(options.lay), size)
