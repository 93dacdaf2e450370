"""What the swatch card answers while the maker types."""

from __future__ import annotations

from dataclasses import dataclass

from app.figures import split_unit
from app.messages import sentence
from core import units
from core.estimate import SPARE_PERCENT, hold_text
from core.labour import practice_name, weaving_pace
from core.project import Project
from core.swatches import (
    Hold,
    Rejects,
    SwatchTrial,
    check_trial,
    ring_rejects,
    swatch_sheet,
)
from core.texts import _
from core.weave.lay import Lay, Swatch

QUICKEST_S, SLOWEST_S = 2.0, 600.0
"""Paces beyond which a maker is asked whether they are meant. Our rule, no source."""

ALIKE = 0.005
"""Areas that differ by less than this share are called alike."""


@dataclass(frozen=True, slots=True)
class SizeAnswer:
    """What a size says.

    Attributes:
        text: in words.
        nearest: the nearest size that mail of these rings can have; None when this one can be.
    """

    text: str
    nearest: Swatch | None = None


def size_answer(project: Project, trial: SwatchTrial) -> SizeAnswer | None:
    """The pitch of a trial's size and how open it is, or the nearest that can be.

    None without a size.

    Raises:
        RingloftError: the ring cannot be wound or cannot make the weave, or a size so far from
            any mail that a count or a unit must be wrong.
    """
    swatch, unit = trial.swatch, project.unit
    if swatch is None:
        return None
    specs = tuple(project.ring(ring_id) for ring_id in trial.ring_ids)
    solved = swatch_sheet(trial.weave, specs, Lay("swatch", swatch))
    pitch = _pitch(solved.along_mm, solved.across_mm, unit)
    if solved.nearest_mm is not None:
        along, across = solved.nearest_mm
        return SizeAnswer(
            _("No sheet of these rings can have {pitch}; the nearest has {nearest}.").format(
                pitch=pitch, nearest=_pitch(along, across, unit)
            ),
            Swatch(
                swatch.rings_along, swatch.rows, along * swatch.rings_along, across * swatch.rows
            ),
        )
    laid = swatch_sheet(trial.weave, specs, Lay("laid"))
    more = solved.area_per_ring_mm2 / laid.area_per_ring_mm2 - 1
    if abs(more) < ALIKE:
        text = _("{pitch}: as open as laid.")
    elif more > 0:
        text = _("{pitch}: {percent:.0f} % more area a ring than laid, so fewer rings.")
    else:
        text = _("{pitch}: {percent:.0f} % less area a ring than laid, so more rings.")
    return SizeAnswer(text.format(pitch=pitch, percent=max(abs(more) * 100, 1)))


def _pitch(along_mm: float, across_mm: float, unit: str) -> str:
    along = units.format_length(along_mm, unit)
    if unit != "in":
        along = split_unit(along)[0]
    return _("{along} × {across}").format(along=along, across=units.format_length(across_mm, unit))


def pace_answer(project: Project, trial: SwatchTrial) -> str:
    """Seconds a ring beside common practice; `trial` holds rings and minutes.

    Raises:
        BadValue: numbers that cannot be.
    """
    check_trial(trial)
    common = weaving_pace(project.practice, (), trial.ring_id, trial.weave).body_s
    own = trial.ring_s or 0.0
    who = practice_name(project.practice)
    return _(
        "{own:.1f} s a ring, {times:.2f} of the {common:g} s of common practice ({who}, no source)."
    ).format(own=own, times=own / common, common=round(common, 1), who=who)


def pace_doubt(trial: SwatchTrial) -> str:
    """What is unlikely about a pace; empty when nothing is, or when it was not timed."""
    own = trial.ring_s
    if own is None:
        return ""
    if own < QUICKEST_S:
        words = _("{own:.1f} s a ring is quicker than hands are: are rings and minutes right?")
        return words.format(own=own)
    if own > SLOWEST_S:
        words = _("{own:.0f} min a ring is very slow: are rings and minutes right?")
        return words.format(own=own / 60)
    return ""


def rejects_answer(project: Project, trial: SwatchTrial) -> str:
    """The spare share beside common practice; `trial` holds bad and inspected.

    Raises:
        BadValue: numbers that cannot be.
    """
    check_trial(trial)
    others = (t for t in project.swatches if (t.ring_id, t.weave) != (trial.ring_id, trial.weave))
    all_weaves = ring_rejects((*others, trial), trial.ring_id) or Rejects(0, 0)
    text = _("{share:.1f} % spare, against {default:g} % of common practice (no source).").format(
        share=all_weaves.spare_share * 100, default=SPARE_PERCENT[project.practice]
    )
    if all_weaves.inspected != trial.inspected:
        text += " " + _("{bad} of {inspected} over all weaves.").format(
            bad=all_weaves.bad, inspected=all_weaves.inspected
        )
    if project.spare_percent is not None:
        text += " " + _("The {share:g} % you set for the costume goes first.").format(
            share=project.spare_percent
        )
    return text


def hold_answer(project: Project, ring_id: int, hold: Hold) -> str:
    """What to do about how it holds."""
    return sentence(hold_text(hold, project.ring(ring_id).metal))
