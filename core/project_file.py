"""Project files: `.ringloft`, UTF-8 JSON.

    {
      "format": "ringloft-project",
      "version": 3,
      "saved_by": "0.1.0",              the program's version, as information
      "project": {...},                 `core.project.Project`, field by field
      "last_counts": [{"panel": 3, "name": "Cap", "rings": 812}]
    }

The values' own field names are the keys; tuples are lists, an absent optional value is null.
Lengths are mm, masses g, angles degrees. `last_counts` is what the saving program counted per
panel, all copies; it is information only and never read as input.

History:
    1: a ring carried `spool_length_mm` and `spool_price`.
    2: a ring carries a `spool` with `length_mm`, `mass_g` and `price`.
    3: a panel says `holding` where it said `glued`, true or false; it may name a second ring, a
       lay may be held to a width, a ring may carry its trial coil, and the costume its swatches;
       these may be absent.

A file of an older version is brought up to date step by step through `MIGRATIONS`, each step with
an old file in tests/old_projects. A newer one is refused in words and left untouched.
"""

from __future__ import annotations

import contextlib
import json
import shutil
from collections.abc import Callable
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from core.edits import MAX_PANELS
from core.errors import BadOutline, BadValue, FileTrouble, RingloftError
from core.estimate import panel_estimate
from core.outline import MAX_SPAN_MM, Curve, Loop, Node, Outline, check_reach, edge_ids
from core.panel import MAX_COPIES, EdgeFinish, Panel
from core.project import Project
from core.ring import RingSpec, Spool
from core.swatches import SwatchTrial, check_trial
from core.texts import _
from core.trial_coil import MAX_INNER_MM, MAX_RINGS, MIN_RINGS, TrialCoil
from core.version import VERSION
from core.weave.lay import Lay, Swatch
from core.whole_file import reason, write_whole

if TYPE_CHECKING:
    from pydantic import TypeAdapter, ValidationError

FORMAT = "ringloft-project"
FILE_VERSION = 3
SUFFIX = ".ringloft"
MAX_BYTES = 64 * 2**20
MAX_ID = 2**53
"""Whole numbers up to here survive every reader of JSON."""

_Json = dict[str, Any]


# --- versions --------------------------------------------------------------------------------


def _one_to_two(data: _Json) -> _Json:
    for ring in data.get("project", {}).get("rings", []):
        ring["spool"] = {
            "length_mm": ring.pop("spool_length_mm", None),
            "mass_g": None,
            "price": ring.pop("spool_price", None),
        }
    return data


def _two_to_three(data: _Json) -> _Json:
    for panel in data.get("project", {}).get("panels", []):
        # What is neither true nor false stays, to be reported where it stands.
        if isinstance(panel.get("glued"), bool):
            panel["holding"] = "glued" if panel.pop("glued") else "hanging"
    return data


MIGRATIONS: dict[int, Callable[[_Json], _Json]] = {1: _one_to_two, 2: _two_to_three}
"""Step from each old version to the next; a step may change the dict it is given."""


# --- reading ---------------------------------------------------------------------------------


def load(path: Path) -> Project:
    """Read a project file.

    Raises:
        FileTrouble: the file is missing, unreadable, damaged, of another kind or newer; the words
            say which field is wrong.
    """
    name = path.name or str(path)
    try:
        with path.open("rb") as file:
            # A device has no size to ask for, and may never end.
            data = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise FileTrouble(
            _("The file cannot be read ({reason})").format(reason=reason(error)),
            name,
            _("Check the name and that you may read it"),
        ) from error
    if len(data) > MAX_BYTES:
        raise FileTrouble(
            _("The file is larger than {n} MB").format(n=MAX_BYTES // 2**20),
            name,
            _("Choose a Ringloft project"),
        )
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_ours(name) from error
    return loads(text, name)


def loads(text: str, name: str = "") -> Project:
    """Read a project from the text of a file; `name` stands in the words of errors.

    Raises:
        FileTrouble: as `load`.
    """
    try:
        data = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        place = ""
        if isinstance(error, json.JSONDecodeError):
            place = _("line {line}, column {column}").format(line=error.lineno, column=error.colno)
        raise FileTrouble(
            _("The file is damaged"),
            f"{name}, {place}" if place else name,
            _("Open its .bak copy, if one lies beside it"),
        ) from error
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise _not_ours(name)
    version = data.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise FileTrouble(
            _("The file does not say its version"),
            name,
            _("Open its .bak copy, if one lies beside it"),
        )
    if version > FILE_VERSION:
        raise FileTrouble(
            _("The file was written by a newer Ringloft (file version {n})").format(n=version),
            name,
            _("Update Ringloft; the file was left as it is"),
        )
    try:
        for step in range(version, FILE_VERSION):
            data = MIGRATIONS[step](data)
    except (AttributeError, TypeError, KeyError) as error:
        raise FileTrouble(
            _("The file is damaged"), name, _("Open its .bak copy, if one lies beside it")
        ) from error
    known = {"format", "version", "saved_by", "project", "last_counts"}
    if unknown := sorted(set(data) - known):
        raise FileTrouble(
            _("The file holds an unknown entry “{key}”").format(key=unknown[0]),
            name,
            _("Remove it, or update Ringloft"),
        )
    return _decoded(data.get("project"), name)


def _not_ours(name: str) -> FileTrouble:
    return FileTrouble(
        _("This is not a Ringloft project"), name, _("Choose a file that ends in .ringloft")
    )


def _refuse_constant(constant: str) -> float:
    raise ValueError(f"{constant} is not a number a file may hold")


@cache
def _adapter() -> TypeAdapter[Project]:
    """Reads a project and reports every fault with its path; loaded late, for it is slow to."""
    from pydantic import ConfigDict, TypeAdapter

    strict = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)
    for value in (
        Curve, Node, Loop, Outline, EdgeFinish, Swatch, Lay, Panel, Spool, TrialCoil, RingSpec,
        SwatchTrial, Project,
    ):  # fmt: skip
        setattr(value, "__pydantic_config__", strict)  # noqa: B010 (the values know no pydantic)
    return TypeAdapter(Project)


def _decoded(data: object, name: str) -> Project:
    from pydantic import ValidationError

    try:
        project = _adapter().validate_json(json.dumps(data))
    except ValidationError as error:
        raise _fault(error, name) from error
    except RecursionError as error:
        raise FileTrouble(
            _("The file is damaged"), name, _("Open its .bak copy, if one lies beside it")
        ) from error
    _check_whole(project, name)
    return project


def _fault(error: ValidationError, name: str) -> FileTrouble:
    faults = error.errors(include_url=False, include_context=False, include_input=False)
    place = ".".join(str(part) for part in faults[0]["loc"]) or "project"
    what = _("The file is damaged at {place} ({reason})").format(
        place=place, reason=faults[0]["msg"].lower()
    )
    if len(faults) > 1:
        what += " " + _("and in {n} more places").format(n=len(faults) - 1)
    return FileTrouble(what, name, _("Open its .bak copy, if one lies beside it"))


def _check_whole(project: Project, name: str) -> None:
    """What single fields cannot tell: that ids are unique and point at something."""

    def fail(place: str, what: str) -> None:
        raise FileTrouble(
            _("The file is damaged at {place} ({reason})").format(place=place, reason=what),
            name,
            _("Open its .bak copy, if one lies beside it"),
        )

    if len(project.panels) > MAX_PANELS:
        fail("panels", _("there are more than {n}").format(n=MAX_PANELS))
    if project.spare_percent is not None and not 0 <= project.spare_percent <= 100:
        fail("spare_percent", _("it must lie between 0 and 100"))
    ring_ids = [r.id for r in project.rings]
    panel_ids = [p.id for p in project.panels]
    if len(set(ring_ids)) < len(ring_ids):
        fail("rings", _("two rings share an id"))
    if len(set(panel_ids)) < len(panel_ids):
        fail("panels", _("two panels share an id"))
    ids = [*ring_ids, *panel_ids]
    for i, coil in enumerate(r.trial for r in project.rings):
        if coil is None:
            continue
        if not MIN_RINGS <= coil.count <= MAX_RINGS:
            fail(f"rings.{i}.trial.inner_mm", _("that count cannot be made"))
        if not all(0 < mm < MAX_INNER_MM for mm in (coil.mandrel_mm, coil.wire_mm, *coil.inner_mm)):
            fail(f"rings.{i}.trial", _("no ring has such a diameter"))
    for i, panel in enumerate(project.panels):
        place = f"panels.{i}"
        if panel.ring_id not in ring_ids:
            fail(f"{place}.ring_id", _("there is no such ring"))
        if panel.upright_ring_id not in (None, *ring_ids):
            fail(f"{place}.upright_ring_id", _("there is no such ring"))
        if not 1 <= panel.copies <= MAX_COPIES or (panel.mirrored and panel.copies % 2):
            fail(f"{place}.copies", _("that count cannot be made"))
        if any(len(loop.nodes) < 1 for loop in panel.outline.loops()):
            fail(f"{place}.outline", _("a boundary has no points"))
        try:
            check_reach(panel.outline)
        except BadOutline as error:
            fail(f"{place}.outline", error.what.lower())
        if max(abs(panel.origin_x_mm), abs(panel.origin_y_mm)) > MAX_SPAN_MM:
            fail(f"{place}.origin_x_mm", _("it lies too far out"))
        swatch = panel.lay.swatch
        if swatch is not None and max(swatch.rings_along, swatch.rows) > MAX_ID:
            fail(f"{place}.lay.swatch", _("that count cannot be made"))
        node_ids = [n.id for n in panel.outline.nodes()]
        if len(set(node_ids)) < len(node_ids):
            fail(f"{place}.outline", _("two points share an id"))
        if not {e.node_id for e in panel.edges} <= set(edge_ids(panel.outline)):
            fail(f"{place}.edges", _("an edge starts at no corner"))
        ids += node_ids
    pairs = [(t.ring_id, t.weave) for t in project.swatches]
    for i, trial in enumerate(project.swatches):
        place = f"swatches.{i}"
        if trial.ring_id not in ring_ids:
            fail(f"{place}.ring_id", _("there is no such ring"))
        if trial.upright_ring_id is not None and trial.upright_ring_id not in ring_ids:
            fail(f"{place}.upright_ring_id", _("there is no such ring"))
        if pairs.index(pairs[i]) < i:
            fail(place, _("two swatches share a ring and a weave"))
        try:
            check_trial(trial)
        except BadValue as error:
            fail(place, error.what.lower())
    if ids and min(ids) < 1:
        fail("rings" if min(ring_ids, default=1) < 1 else "panels", _("an id is below 1"))
    if not max([0, *ids]) < project.next_id <= MAX_ID:
        fail("next_id", _("it must exceed every id, up to {n}").format(n=MAX_ID))


# --- writing ---------------------------------------------------------------------------------


def dumps(project: Project) -> str:
    """The text of a project file."""
    counts = []
    for panel in project.panels:
        with contextlib.suppress(RingloftError):
            rings = panel_estimate(project, panel).tally.total
            counts.append({"panel": panel.id, "name": panel.name, "rings": rings})
    data = {
        "format": FORMAT,
        "version": FILE_VERSION,
        "saved_by": VERSION,
        "project": asdict(project),
        "last_counts": counts,
    }
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


_backed_up: set[Path] = set()


def save(project: Project, path: Path) -> None:
    """Write a project file whole or not at all.

    The first save of a session over an existing file leaves that file beside it as `.bak`.

    Raises:
        FileTrouble: the folder cannot be written to or the disk is full; the old file is whole.
    """
    data = _encoded(project, path.name)
    target = write_whole(path, data, lambda old: None if old in _backed_up else _back_up(old))
    _backed_up.add(target)


def _encoded(project: Project, name: str) -> bytes:
    try:
        return dumps(project).encode("utf-8")
    except ValueError as error:
        raise FileTrouble(
            _("The costume holds a character or a number that no file can hold"),
            name,
            _("Look for it in the names and prices and type it again"),
        ) from error


def _back_up(target: Path) -> None:
    """Copy the file beside itself as `.bak`; a copy that fails leaves the last one whole."""
    backup = target.with_name(target.name + ".bak")
    partial = backup.with_name(f".{backup.name}.part")
    try:
        shutil.copy2(target, partial)
        partial.replace(backup)
    except OSError:
        with contextlib.suppress(OSError):
            partial.unlink()
        raise
