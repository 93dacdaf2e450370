"""`ringloft picture`: a panel or a piece of mail as SVG or PDF at true size. Never imports Qt."""

from __future__ import annotations

import argparse
from dataclasses import replace
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
from core.wire import Metal, metal, metals

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
        "--upright-wire", help=_("wire of the rings that stand upright, in weaves that have such")
    )
    parser.add_argument(
        "--upright-inner", help=_("inner diameter of those; both as the flat ring’s")
    )
    parser.add_argument(
        "--lay",
        choices=("laid", "spread", "along", "across"),
        help=_("with --weave: how far the mail is opened; unless given: laid"),
    )
    parser.add_argument(
        "--metal", help=_("with --weave: one of {keys}").format(keys=", ".join(metals()))
    )
    parser.add_argument("--width", help=_("with --weave: of the piece; unless given: 100mm"))
    parser.add_argument("--height", help=_("with --weave: of the piece; unless given: 70mm"))
    parser.add_argument(
        "-o", "--output", required=True, metavar="OUT", help=_("a file ending in .svg or .pdf")
    )


OF_A_PIECE = (
    "weave", "wire", "inner", "upright_wire", "upright_inner", "lay", "metal", "width", "height",
)  # fmt: skip
"""What only a piece of mail has; a panel has its own."""


def check_usage(options: argparse.Namespace) -> None:
    """Refuse what goes with a project and what goes with a piece of mail in one line."""
    names = ["--" + key.replace("_", "-") for key in OF_A_PIECE if getattr(options, key)]
    if options.file is not None and names:
        options.parser.error(
            _(
                "{names}: for a piece of mail; leave it out with a project, or leave out FILE"
            ).format(names=", ".join(names))
        )
    if options.file is None and options.panel is not None:
        options.parser.error(_("--panel goes with a project: name its FILE"))
    upright = options.upright_wire or options.upright_inner
    if upright and options.weave is not None and len(WEAVES[options.weave].kinds) == 1:
        options.parser.error(
            _("{weave} has no upright rings: leave out --upright-wire and --upright-inner").format(
                weave=options.weave
            )
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
    if pictures.suffix_of(out) == ".png":
        raise BadValue(
            _("Pixels are painted by the window alone"),
            "--output",
            _("End the file’s name in .svg or .pdf, or save the picture from the window"),
        )
    if pictures.suffix_of(out) not in (".svg", ".pdf"):
        raise BadValue(
            _("“{name}” ends in neither .svg nor .pdf").format(name=out.name),
            "--output",
            _("End the file’s name in .svg or .pdf"),
        )
    if not out.parent.is_dir():
        raise BadValue(
            _("There is no folder “{folder}”").format(folder=out.parent),
            "--output",
            _("Name a folder that exists"),
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
    key = "steel-galvanized" if options.metal is None else known_metal(options.metal).key
    inner_mm = parse_length(options.inner, where="--inner")
    spec = RingSpec(-1, "", key, wire.wire_mm, None, inner_mm, 0.0, wire.label)
    size = (
        parse_length(options.width or "100mm", where="--width"),
        parse_length(options.height or "70mm", where="--height"),
    )
    upright = spec
    if options.upright_wire is not None:
        wire = parse_wire(options.upright_wire, where="--upright-wire")
        upright = replace(upright, wire_mm=wire.wire_mm, wire_label=wire.label)
    if options.upright_inner is not None:
        inner_mm = parse_length(options.upright_inner, where="--upright-inner")
        upright = replace(upright, inner_measured_mm=inner_mm)
    specs = (spec,) if upright is spec else (spec, upright)
    return swatch_picture(specs, options.weave, Lay(options.lay or "laid"), size)


def known_metal(key: str, where: str = "--metal") -> Metal:
    """The metal of that key; raises BadValue by the name of the option."""
    try:
        return metal(key)
    except BadValue as error:
        raise BadValue(error.what, where, error.do) from error
