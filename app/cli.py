"""The command line: numbers without a window. Never imports Qt.

Exit status: 0 done, 1 could not (one line: what, where, next step), 2 wrong usage.
"""

from __future__ import annotations

import argparse
import importlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from app import pictures_cli, reports
from app.compare_report import compare_data, compare_text
from app.pitch_report import infeasible_data, pitch_data, pitch_text
from core.compare import Choice, compare
from core.errors import BadValue, FileTrouble, RingloftError, RingTooTight
from core.estimate import estimate
from core.project import Project
from core.project_file import SUFFIX, load
from core.ring import Ring, RingSpec, resolve, ring_from_mandrel
from core.texts import _, use_language
from core.version import VERSION
from core.weave.cells import WEAVES
from core.weave.cells import weave as find_weave
from core.weave.families import RingSize
from core.weave.lay import Lay, solve_lay
from core.wire import custom_metal, metals

PROBE_SECONDS = 20


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line; the console script's entry point."""
    language = os.environ.get("LANGUAGE") or os.environ.get("LC_ALL") or os.environ.get("LANG")
    use_language([part.split(".")[0] for part in (language or "en").split(":")])
    arguments = list(sys.argv[1:] if argv is None else argv)
    commands = _commands()
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal that lacks a sign such as ⌀ shows “?” rather than nothing at all.
        sys.stdout.reconfigure(errors="replace")
    try:
        if arguments and arguments[0] in commands:
            options = commands[arguments[0]].parse_args(arguments[1:])
            run: Callable[[argparse.Namespace], str] = options.run
            print(run(options), flush=True)
            return 0
        return _open_window(_window_parser(commands).parse_args(arguments))
    except RingloftError as error:
        print(f"ringloft: {error}", file=sys.stderr)
        return 1
    except OSError as error:
        # The reader (`head`, a pager) has gone or the disk is full: Python must not try again at
        # exit, and only the second is news.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if not isinstance(error, BrokenPipeError):
            told = FileTrouble(
                _("The answer could not be written ({reason})").format(reason=error.strerror),
                do=_("Send it somewhere else"),
            )
            print(f"ringloft: {told}", file=sys.stderr)
        return 1


# --- what can be asked -----------------------------------------------------------------------


def _window_parser(commands: dict[str, argparse.ArgumentParser]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="ringloft",
        description=_("Plan costume mail: rings, wire, spools, weight, cost and hours."),
        epilog=_("Numbers without a window: ringloft {names}; each takes --help.").format(
            names=" | ".join(commands)
        ),
    )
    parser.add_argument("file", nargs="?", help=_("a .ringloft project to open in the window"))
    parser.add_argument("--version", action="version", version=f"ringloft {VERSION}")
    return parser


def _commands() -> dict[str, argparse.ArgumentParser]:
    made: dict[str, argparse.ArgumentParser] = {}
    project = _("a .ringloft project, or the name of a sample")

    def command(
        name: str, run: Callable[[argparse.Namespace], str], text: str
    ) -> argparse.ArgumentParser:
        parser = argparse.ArgumentParser(prog=f"ringloft {name}", description=text)
        parser.add_argument("--json", action="store_true", help=_("answer as JSON"))
        parser.set_defaults(run=run, parser=parser)
        made[name] = parser
        return parser

    ring = command("ring", _ring, _("The ring that a wire wound on a mandrel becomes."))
    ring.add_argument("--wire", required=True, help=_("such as 1.6mm or “16 ga US steel”"))
    ring.add_argument("--mandrel", required=True, help=_("such as 8mm or “7/16 in”"))
    ring.add_argument("--metal", help=_("one of: {keys}").format(keys=", ".join(metals())))
    ring.add_argument("--yield-mpa", type=float, help=_("instead of --metal: yield stress, MPa"))
    ring.add_argument("--modulus-gpa", type=float, help=_("with it: elastic modulus, GPa"))
    ring.add_argument("--density", type=float, help=_("with it: density, g/cm³"))
    ring.add_argument("--kerf", default="0", help=_("width the saw takes; 0 for pinch cutters"))

    pitch = command("pitch", _pitch, _("The sheet a ring makes in a weave and a lay."))
    pitch.add_argument(
        "--weave",
        default="european-4-in-1",
        help=_("one of: {keys}; unless given: {first}").format(
            keys=", ".join(WEAVES), first="%(default)s"
        ),
    )
    pitch.add_argument("--wire", required=True, help=_("such as 1.6mm or “16 ga US steel”"))
    pitch.add_argument("--inner", required=True, help=_("inner diameter of the ring"))
    pitch.add_argument(
        "--upright-wire", help=_("wire of the rings that stand upright, in weaves that have such")
    )
    pitch.add_argument(
        "--upright-inner", help=_("inner diameter of those; both as the flat ring’s")
    )
    pitch.add_argument(
        "--lay",
        default="laid",
        choices=("laid", "spread", "along", "across", "held"),
        help=_("how far the mail is opened; unless given: %(default)s"),
    )
    pitch.add_argument(
        "--width",
        type=_percent,
        metavar="PERCENT",
        help=_("with --lay held: the width it is held to, in percent of its spread width"),
    )
    pitch.add_argument(
        "--metal", help=_("for the weight; one of: {keys}").format(keys=", ".join(metals()))
    )

    tally = command("tally", _tally, _("Count a costume: rings, weight, wire, cost, hours."))
    tally.add_argument("file", help=project)
    tally.add_argument("--explain", action="store_true", help=_("say how each number came about"))

    plan = command("plan", _plan, _("The whole plan of a costume: counts and what to buy."))
    plan.add_argument("file", help=project)

    picture = command("picture", _picture, pictures_cli.purpose())
    pictures_cli.add_arguments(picture)

    both = command("compare", _compare, _("A costume or panel in two to four rings or weaves."))
    both.add_argument("file", help=project)
    both.add_argument(
        "--ring",
        action="append",
        required=True,
        metavar="RING",
        help=_(
            "two to four times, or once with several --weave: a ring of the costume by name, or"
            " wire, mandrel (or inner) and metal as “wire=1.6mm, mandrel=8mm, metal=brass”; after"
            " either “, weave=japanese-square, upright=1.2mm x 6mm” (or a ring’s name) if wanted"
        ),
    )
    both.add_argument(
        "--weave",
        action="append",
        default=[],
        help=_("weave every ring so; with one --ring, two to four times: one of {keys}").format(
            keys=", ".join(WEAVES)
        ),
    )
    both.add_argument("--panel", help=_("compare this panel only"))
    return made


def _percent(text: str) -> float:
    """A share such as 90 or 90%."""
    try:
        return float(text.strip().removesuffix("%"))
    except ValueError:
        raise argparse.ArgumentTypeError(
            _("“{text}” is no share of a width: write percent such as 90").format(text=text[:20])
        ) from None


def _as_json(data: dict[str, Any]) -> str:
    return json.dumps({"schema": reports.SCHEMA, **data}, ensure_ascii=False, indent=2)


def _ring(options: argparse.Namespace) -> str:
    from core.units import parse_length, parse_wire

    wire_mm = parse_wire(options.wire, where="--wire").wire_mm
    mandrel_mm = parse_length(options.mandrel, where="--mandrel")
    kerf_mm = parse_length(options.kerf, where="--kerf")
    own = (options.yield_mpa, options.modulus_gpa, options.density)
    if options.metal is not None:
        if any(figure is not None for figure in own):
            options.parser.error(
                _("give --metal, or your own --yield-mpa, --modulus-gpa and --density, not both")
            )
        of = pictures_cli.known_metal(options.metal)
    elif None in own:
        raise BadValue(
            _("The metal is not known"),
            "--metal",
            _("Name one of {keys}; or give --yield-mpa, --modulus-gpa and --density").format(
                keys=", ".join(metals())
            ),
        )
    else:
        of = custom_metal(*own)
    made = ring_from_mandrel(wire_mm, mandrel_mm, of, kerf_mm)
    return _as_json(reports.ring_data(made)) if options.json else reports.ring_text(made)


def _pitch(options: argparse.Namespace) -> str:
    from core.units import parse_length, parse_wire

    weave = find_weave(options.weave)
    sizes = [
        (
            parse_wire(options.wire, where="--wire").wire_mm,
            parse_length(options.inner, where="--inner"),
        )
    ]
    if len(weave.kinds) > 1:
        wire_mm, inner_mm = sizes[0]
        if options.upright_wire is not None:
            wire_mm = parse_wire(options.upright_wire, where="--upright-wire").wire_mm
        if options.upright_inner is not None:
            inner_mm = parse_length(options.upright_inner, where="--upright-inner")
        sizes.append((wire_mm, inner_mm))
    elif options.upright_wire is not None or options.upright_inner is not None:
        options.parser.error(
            _("{weave} has no upright rings: leave out --upright-wire and --upright-inner").format(
                weave=weave.id
            )
        )
    if options.width is not None and options.lay != "held":
        options.parser.error(_("--width goes with --lay held"))
    lay = Lay(options.lay, width_percent=options.width)
    if options.metal is not None:
        pictures_cli.known_metal(options.metal)
    rings = None if options.metal is None else tuple(_given(options.metal, *s) for s in sizes)
    try:
        solved = solve_lay(weave.id, *sizes[0], lay, *sizes[1:])
    except RingTooTight:
        if not options.json:
            raise
        # A script that asks whether a ring is feasible gets an answer, not an error.
        small = tuple(RingSize(wire, (inner + wire) / 2) for wire, inner in sizes)
        return _as_json(infeasible_data(weave, small, lay))
    return (
        _as_json(pitch_data(solved, lay, rings)) if options.json else pitch_text(solved, lay, rings)
    )


def _given(metal_key: str, wire_mm: float, inner_mm: float) -> Ring:
    """The ring of that size."""
    return resolve(RingSpec(0, "", metal_key, wire_mm, None, inner_mm))


def _tally(options: argparse.Namespace) -> str:
    project = open_project(options.file)
    result = estimate(project)
    if options.json:
        data = reports.tally_data(project, result)
        if options.explain:
            data["explain"] = reports.explain(project, result)
        return _as_json(data)
    lines = [reports.tally_text(project, result)]
    if options.explain:
        lines += ["", *reports.explain(project, result)]
    return "\n".join(lines)


def _plan(options: argparse.Namespace) -> str:
    project = open_project(options.file)
    result = estimate(project)
    if options.json:
        return _as_json(reports.plan_data(project, result))
    return reports.plan_text(project, result)


def _picture(options: argparse.Namespace) -> str:
    pictures_cli.check_usage(options)
    project = None if options.file is None else open_project(options.file)
    done = pictures_cli.run(options, project)
    return _as_json(done) if options.json else pictures_cli.text(done)


def _compare(options: argparse.Namespace) -> str:
    project = open_project(options.file)
    panel_id = None
    if options.panel is not None:
        found = [p.id for p in project.panels if p.name == options.panel]
        if not found:
            names = ", ".join(p.name for p in project.panels) or _("none yet")
            raise BadValue(
                _("The costume has no panel “{name}”").format(name=options.panel),
                "--panel",
                _("Its panels: {names}").format(names=names),
            )
        panel_id = found[0]
    columns = compare(project, _choices(project, options), panel_id)
    for column in columns:
        if column.problem is not None and not options.json:
            raise type(column.problem)(
                column.problem.what, column.spec.name, column.problem.do
            ) from column.problem
    scope = project.name if panel_id is None else project.panel(panel_id).name
    if options.json:
        return _as_json(compare_data(scope, columns))
    return compare_text(scope, columns, project)


def _choices(project: Project, options: argparse.Namespace) -> tuple[Choice, ...]:
    """What is compared: each ring in its weave, or one ring in each weave."""
    choices = [choice_by_text(project, text, i) for i, text in enumerate(options.ring)]
    weaves: list[str] = options.weave
    for weave_id in weaves:
        find_weave(weave_id)
    if not weaves:
        return tuple(choices)
    if any(choice.weave for choice in choices):
        options.parser.error(_("give --weave, or “weave=…” within --ring, not both"))
    if len(choices) > 1 and len(weaves) > 1:
        options.parser.error(_("several --weave go with one --ring"))
    return tuple(replace(choice, weave=w) for choice in choices for w in weaves)


def choice_by_text(project: Project, text: str, index: int) -> Choice:
    """A ring of the costume by its name, or one described as “wire=…, mandrel=…, metal=…”.

    After either may follow “weave=…” and “upright=…”: a ring by name, or as “1.2mm x 6mm”.

    Raises:
        BadValue: no ring has that name, or the description is not understood.
    """
    named = _ring_named(project, text)
    if named is not None:
        return Choice(named)
    starts = [spec for spec in project.rings if text.startswith(f"{spec.name},")]
    like = max(starts, key=lambda spec: len(spec.name), default=None)
    rest = text if like is None else text[len(like.name) + 1 :]
    pairs = [part.partition("=") for part in rest.split(",")]
    parts = {key.strip(): value.strip() for key, _equals, value in pairs}
    woven = {key: parts.pop(key) for key in ("weave", "upright") if key in parts}
    if like is None or parts:
        like = _ring_described(project, text, parts, index)
    weave_id = woven.get("weave")
    if weave_id is not None:
        find_weave(weave_id)
    upright = None
    if "upright" in woven:
        if weave_id is not None and len(find_weave(weave_id).kinds) == 1:
            raise BadValue(
                _("{weave} has no upright rings").format(weave=weave_id),
                "--ring upright",
                _("Leave it out, or name a weave that has such"),
            )
        upright = _upright_by_text(project, woven["upright"], like, index)
    return Choice(like, weave_id, upright)


def _ring_named(project: Project, name: str) -> RingSpec | None:
    return next((spec for spec in project.rings if spec.name == name), None)


def _ring_described(project: Project, text: str, parts: dict[str, str], index: int) -> RingSpec:
    """The ring that “wire=…, mandrel=…, metal=…” stands for."""
    from core.units import parse_length, parse_wire

    known = {"wire", "mandrel", "inner", "metal", "kerf"}
    if "wire" not in parts or not set(parts) <= known or not parts.keys() & {"mandrel", "inner"}:
        names = ", ".join(f"“{r.name}”" for r in project.rings)
        raise BadValue(
            _("“{text}” is not a ring of the costume").format(text=text),
            "--ring",
            _("Use {names}, or write “wire=1.6mm, mandrel=8mm, metal=brass”").format(names=names),
        )
    like = project.rings[0] if project.rings else None
    wire = parse_wire(parts["wire"], where="--ring wire")
    key = parts.get("metal") or (like.metal if like else "steel-galvanized")
    mandrel = parse_length(parts["mandrel"], where="--ring mandrel") if "mandrel" in parts else None
    inner = parse_length(parts["inner"], where="--ring inner") if "inner" in parts else None
    return RingSpec(
        -1 - index,
        text,
        pictures_cli.known_metal(key, "--ring metal").key,
        wire.wire_mm,
        mandrel,
        inner,
        parse_length(parts.get("kerf", "0"), where="--ring kerf"),
        wire.label,
    )


def _upright_by_text(project: Project, text: str, like: RingSpec, index: int) -> RingSpec:
    """The ring that “1.2mm x 6mm” (wire, inner) or a name stands for; of the flat ring's metal."""
    from core.units import parse_length, parse_wire

    named = _ring_named(project, text)
    if named is not None:
        return named
    wire_text, times, inner_text = text.replace("×", " x ").partition(" x ")
    if not times:
        raise BadValue(
            _("“{text}” is not a ring of the costume").format(text=text),
            "--ring upright",
            _("Use a ring’s name, or write wire and inner diameter as “1.2mm x 6mm”"),
        )
    wire = parse_wire(wire_text, where="--ring upright")
    inner_mm = parse_length(inner_text, where="--ring upright")
    return RingSpec(-101 - index, text, like.metal, wire.wire_mm, None, inner_mm, 0.0, wire.label)


# --- files and the window --------------------------------------------------------------------


def open_project(name: str) -> Project:
    """Read a project by path, or a packaged sample by its bare name.

    Raises:
        FileTrouble: it cannot be read.
    """
    path = Path(name)
    if not _exists(path) and path.name == name:
        wanted = name if name.endswith(SUFFIX) else name + SUFFIX
        for sample in resources.files("sample_projects").iterdir():
            if sample.name == wanted:
                with resources.as_file(sample) as real:
                    return load(real)
    return load(path)


def _exists(path: Path) -> bool:
    """Whether there is such a file; a name no file can have is simply not there."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _open_window(options: argparse.Namespace) -> int:
    """Open the window, or print the plan and say why there is none."""
    path = None if options.file is None else Path(options.file)
    if path is not None and not _exists(path):
        raise FileTrouble(_("There is no such file"), str(path), _("Check the name"))
    reason = display_trouble()
    if reason is None:
        # Not a plain import: nothing else on the command line may load Qt.
        status: int = importlib.import_module("app.main").run(path)
        return status
    if path is not None:
        project = open_project(str(path))
        print(reports.plan_text(project, estimate(project)))
        print()
    print(_("No window was opened: {reason}").format(reason=reason), flush=True)
    if path is None:
        print(_("For numbers without a window, see ringloft --help."), flush=True)
    return 0


def display_trouble() -> str | None:
    """Why no window can be shown here, or None.

    A display that is set but dead makes Qt abort the process, so a child process tries it first.
    """
    platform = os.environ.get("QT_QPA_PLATFORM", "")
    needs_display = sys.platform.startswith("linux") and not platform
    if needs_display and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return _("there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set)")
    code = "from PySide6.QtGui import QGuiApplication as A; A([]); print('shown')"
    try:
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, timeout=PROBE_SECONDS
        )
    except subprocess.TimeoutExpired:
        return _("the display does not answer")
    if "shown" in done.stdout:
        return None
    told = [line for line in done.stderr.splitlines() if line.strip()]
    # A library that is missing shows as a Python error, whose last line says which.
    line = -1 if told and told[0].startswith("Traceback") else 0
    detail = told[line].strip() if told else _("the window system stopped")
    return _("the display cannot be used ({detail})").format(detail=detail)


if __name__ == "__main__":
    sys.exit(main())
