"""Hours: what each operation takes, by the maker's own swatches or the craft's default paces.

The default paces are common practice without a published source, and every screen that shows
hours says so. A timed swatch replaces the pace of opening, closing and weaving.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from core.panel import Panel
from core.project import Practice, Project
from core.swatches import SwatchTrial
from core.texts import _, ngettext
from core.weave.cells import WEAVES, Weave
from core.weave.cells import weave as find_weave


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds for each operation; `edge_factor` times the weaving of a body ring for an edge ring.

    Source: common practice, no source.
    """

    coil_setup_s: float
    wind_turn_s: float
    cut_ring_s: float
    open_close_s: float
    weave_ring_s: float
    edge_factor: float
    fix_s_per_mm2: float


PACES: dict[Practice, Pace] = {
    "practised": Pace(90, 0.4, 1.8, 3.5, 10, 1.5, 1800 / 50_000),
    "novice": Pace(200, 1.0, 4.0, 7.0, 25, 2.0, 3600 / 50_000),
}

Like = Literal["same", "weave", "ring", "other"]
"""What a timed swatch has in common with the mail it tells about: ring and weave, the weave alone,
the ring alone, or neither."""


@dataclass(frozen=True, slots=True)
class WeavingPace:
    """How long a ring takes to open, close and weave, and how that is known.

    Attributes:
        body_s: seconds for a ring of the body.
        edge_s: seconds for an edge ring.
        trial: the timed swatch it comes from; None for common practice.
        like: what that swatch has in common with the mail; None for common practice.
        factor: by how much the swatch's own pace was multiplied, for another weave.
    """

    body_s: float
    edge_s: float
    trial: SwatchTrial | None = None
    like: Like | None = None
    factor: float = 1.0

    @property
    def carried(self) -> bool:
        """Whether it was timed in another weave, and so follows in part from common practice."""
        return self.like in ("ring", "other")

    def weaving_s(self, body: int, edge: int) -> float:
        """Seconds for that many rings."""
        return body * self.body_s + edge * self.edge_s


def nearest_trial(
    swatches: Iterable[SwatchTrial], ring_id: int, weave: str
) -> tuple[SwatchTrial, Like] | None:
    """The timed swatch that tells most about a ring in a weave.

    The same ring and weave first, then the same weave, then the same ring, then any other. Of
    those equally like, the weave that takes most nearly as long, then the one with more rings
    timed, then the latest.
    """
    best: tuple[tuple[int, float, int], SwatchTrial, Like] | None = None
    for trial in swatches:
        if trial.ring_s is None:
            continue
        rank, like = _LIKENESS[trial.ring_id == ring_id, trial.weave == weave]
        score = rank, _apart(trial.weave, weave), -(trial.rings_woven or 0)
        if best is None or score <= best[0]:
            best = score, trial, like
    return None if best is None else best[1:]


def _apart(one: str, other: str) -> float:
    """How far two weaves lie apart in the time they take; 0 for those that take as long."""
    if one == other:
        return 0.0
    if one not in WEAVES or other not in WEAVES:
        return math.inf
    ratio = WEAVES[one].weave_time_factor / WEAVES[other].weave_time_factor
    return abs(math.log(ratio))


_LIKENESS: dict[tuple[bool, bool], tuple[int, Like]] = {
    (True, True): (0, "same"),
    (False, True): (1, "weave"),
    (True, False): (2, "ring"),
    (False, False): (3, "other"),
}


def weaving_pace(
    practice: Practice, swatches: Iterable[SwatchTrial], ring_id: int, weave: str
) -> WeavingPace:
    """The pace of weaving that ring in that weave.

    A swatch in another weave is scaled as common practice has it: opening and closing take as long
    in every weave, weaving goes by its `weave_time_factor`. An edge ring takes as much longer than
    a body ring as it does by common practice.

    Raises:
        BadValue: there is no such weave.
    """
    pace, woven = PACES[practice], find_weave(weave)
    body_s, edge_s = _common_s(pace, woven), _common_s(pace, woven, pace.edge_factor)
    found = nearest_trial((t for t in swatches if t.weave in WEAVES), ring_id, weave)
    if found is None:
        return WeavingPace(body_s, edge_s)
    trial, like = found
    scale = body_s / _common_s(pace, WEAVES[trial.weave])
    own_s = (trial.ring_s or 0.0) * scale
    return WeavingPace(own_s, own_s * edge_s / body_s, trial, like, scale)


def _common_s(pace: Pace, weave: Weave, longer: float = 1.0) -> float:
    """Seconds to open, close and weave a ring, the weaving `longer` times as long."""
    return pace.open_close_s + pace.weave_ring_s * weave.weave_time_factor * longer


def making_s(pace: Pace, rings: float, rings_per_coil: int) -> float:
    """Seconds to wind and cut that many rings, with their share of setting up coils."""
    each = pace.wind_turn_s + pace.cut_ring_s + pace.coil_setup_s / rings_per_coil
    return rings * each


def practice_name(practice: Practice) -> str:
    """What that practice is called."""
    return _("novice") if practice == "novice" else _("practised")


def own_pace(project: Project) -> bool:
    """Whether hours of weaving follow from a timed swatch."""
    return any(t.ring_s is not None and t.weave in WEAVES for t in project.swatches)


def how(project: Project, panels: Iterable[Panel] | None = None) -> str:
    """Where the hours of some panels come from, or of all; a few sentences."""
    return " ".join(how_lines(project, panels))


def how_lines(project: Project, panels: Iterable[Panel] | None = None) -> tuple[str, ...]:
    """The same, a paragraph for each ring and weave and one for the other operations."""
    pace = PACES[project.practice]
    values = {
        "name": practice_name(project.practice),
        "setup": pace.coil_setup_s,
        "turn": pace.wind_turn_s,
        "cut": pace.cut_ring_s,
        "close": pace.open_close_s,
        "weave": pace.weave_ring_s,
        "edge": pace.edge_factor,
        "fix": pace.fix_s_per_mm2 * 50_000 / 60,
    }
    measured = how_weaving(project, panels)
    if not measured:
        common = _(
            "Hours by common practice, no source ({name}): coil {setup:g} s, turn {turn:g} s, cut"
            " {cut:g} s, open or close {close:g} s, weave {weave:g} s, edge ring × {edge:g}, fix"
            " {fix:g} min per 500 cm². Not yet your pace."
        )
        return (common.format(**values),)
    rest = _(
        "The rest by common practice, no source ({name}): coil {setup:g} s, turn {turn:g} s, cut"
        " {cut:g} s, how much longer an edge ring takes, fix {fix:g} min per 500 cm². In those not"
        " yet your pace."
    ).format(**values)
    return (*measured, rest)


def how_rows(practice: Practice, paces: Iterable[tuple[str, WeavingPace]]) -> tuple[str, ...]:
    """Where hours come from, a short line for each weave and operation.

    Args:
        practice: whose common pace serves where nothing was timed.
        paces: what each pace of weaving is for, in words, and the pace.
    """
    pace, lines = PACES[practice], []
    for words, found in paces:
        lines.append(
            _("{what}: {each:.1f} s a ring, {source}").format(
                what=words, each=found.body_s, source=_source_text(found)
            )
        )
    return (
        *dict.fromkeys(lines),
        _("Edge ring: {edge:g} × the weaving").format(edge=pace.edge_factor),
        _("Wind: {turn:g} s a turn, {setup:g} s a coil").format(
            turn=pace.wind_turn_s, setup=pace.coil_setup_s
        ),
        _("Cut: {cut:g} s a ring").format(cut=pace.cut_ring_s),
        _("Fix to a pad: {fix:g} min per 500 cm²").format(fix=pace.fix_s_per_mm2 * 50_000 / 60),
        _("What was not timed is common practice, no source ({name}); not yet your pace.").format(
            name=practice_name(practice)
        ),
    )


def _source_text(pace: WeavingPace) -> str:
    """Where a pace comes from, in few words."""
    if pace.trial is None:
        return _("common practice")
    if pace.carried:
        return _("carried over from {weave}, × {factor:.2f}").format(
            weave=_(WEAVES[pace.trial.weave].name), factor=pace.factor
        )
    return _("your pace")


def how_weaving(project: Project, panels: Iterable[Panel] | None = None) -> tuple[str, ...]:
    """Where the pace of weaving comes from, a sentence for each ring and weave of the panels.

    Empty while no swatch was timed: then it is common practice.
    """
    if not own_pace(project):
        return ()
    lines = []
    for ring_id, weave in dict.fromkeys(
        (p.ring_id, p.weave) for p in (project.panels if panels is None else panels)
    ):
        if weave not in WEAVES:
            continue
        pace = weaving_pace(project.practice, project.swatches, ring_id, weave)
        if pace.trial is not None:
            lines.append(_how_pace(project, ring_id, weave, pace, pace.trial))
    return tuple(lines)


def timed_text(trial: SwatchTrial) -> str:
    """A timed swatch in words, such as "a swatch of 24 rings in 9 min"."""
    rings = trial.rings_woven or 0
    return ngettext(
        "a swatch of {n} ring in {minutes:g} min", "a swatch of {n} rings in {minutes:g} min", rings
    ).format(n=rings, minutes=round(trial.minutes or 0.0, 2))


def _how_pace(
    project: Project, ring_id: int, weave: str, pace: WeavingPace, trial: SwatchTrial
) -> str:
    lead = _("{ring}, {weave}: {each:.1f} s a ring to open, close and weave").format(
        ring=_ring_name(project, ring_id), weave=_(WEAVES[weave].name), each=pace.body_s
    )
    timed = _("your pace from {swatch}").format(swatch=timed_text(trial))
    if pace.like == "same":
        return f"{lead}, {timed}."
    woven_in = {
        "weave": _("in the ring “{ring}”"),
        "ring": _("in {weave}"),
        "other": _("in {weave}, in the ring “{ring}”"),
    }[pace.like or "other"].format(
        ring=_ring_name(project, trial.ring_id), weave=_(WEAVES[trial.weave].name)
    )
    if pace.factor == 1:
        return f"{lead}, {timed} {woven_in}."
    scaled = _("times {factor:.2f} for the weave (common practice, no source)").format(
        factor=pace.factor
    )
    return f"{lead}, {timed} {woven_in}, {scaled}."


def _ring_name(project: Project, ring_id: int) -> str:
    """The ring's name; "this ring" for one that is only being compared."""
    return next((r.name for r in project.rings if r.id == ring_id), _("this ring"))
