"""Swatch trials: what a small piece, woven by the maker and laid on the pad, tells.

A trial belongs to one ring in one weave. Each of its four parts may be missing; each settles
another part of the plan: the lay, the pace, the share of spare rings, and how well it holds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from core.errors import BadValue
from core.ring import RingSpec, resolve
from core.texts import _
from core.weave.cells import kind_ring_ids
from core.weave.lay import Lay, Swatch, solve_lay
from core.weave.sheet import SolvedLay

Hold = Literal["not tried", "firm", "lifts", "off"]
HOLDS: tuple[Hold, ...] = ("not tried", "firm", "lifts", "off")
"""Every answer to how the swatch holds on the pad, from the best to the worst but the first."""

LEAST_COUNT = 3
"""Rings and rows a lay may be measured over."""

GOOD_COUNT = 10
"""Rings and rows to measure over, so that the ruler's error is shared by many."""

MOST_COUNT = 10_000
MOST_MINUTES = 100_000.0


@dataclass(frozen=True, slots=True)
class SwatchTrial:
    """What the maker measured on one swatch.

    Attributes:
        ring_id: which of the project's rings it was woven from.
        weave: key of the weave.
        swatch: counts and sizes; None when it was not measured.
        minutes: time taken to open, close and weave `rings_woven` rings; both or neither.
        rings_woven: rings woven in that time.
        bad: rings that had to be thrown away among `inspected` ones; both or neither.
        inspected: rings looked at.
        hold: how it holds on the pad it was fixed to.
        upright_ring_id: which ring stood upright, in weaves of flat and upright rings; None for
            the same ring.
    """

    ring_id: int
    weave: str
    swatch: Swatch | None = None
    minutes: float | None = None
    rings_woven: int | None = None
    bad: int | None = None
    inspected: int | None = None
    hold: Hold = "not tried"
    upright_ring_id: int | None = None

    @property
    def ring_ids(self) -> tuple[int, ...]:
        """The ring of each of the weave's ring kinds; of an unknown weave, the one ring."""
        return kind_ring_ids(self.weave, self.ring_id, self.upright_ring_id)

    @property
    def ring_s(self) -> float | None:
        """Seconds to open, close and weave a ring; None when it was not timed."""
        if self.minutes is None or self.rings_woven is None:
            return None
        return self.minutes * 60 / self.rings_woven

    @property
    def empty(self) -> bool:
        """Whether it tells nothing."""
        parts = (self.swatch, self.minutes, self.rings_woven, self.bad, self.inspected)
        return self.hold == "not tried" and all(part is None for part in parts)


def check_counts(swatch: Swatch) -> None:
    """Refuse a lay measured over too few rings to mean anything, or sizes that cannot be.

    Raises:
        BadValue: fewer than `LEAST_COUNT` rings along or rows, more than `MOST_COUNT`, or a size
            that is no length.
    """
    if min(swatch.rings_along, swatch.rows) < LEAST_COUNT:
        raise BadValue(
            _(
                "A lay measured over one or two rings is mostly the play between them and the"
                " ruler’s error"
            ),
            do=_("Measure over at least {least} rings and {least} rows, better {good}").format(
                least=LEAST_COUNT, good=GOOD_COUNT
            ),
        )
    sizes = (swatch.width_mm, swatch.height_mm)
    if max(swatch.rings_along, swatch.rows) > MOST_COUNT or not all(
        math.isfinite(v) and v > 0 for v in sizes
    ):
        raise BadValue(
            _("A swatch has up to {n} rings and rows, and sizes greater than zero").format(
                n=MOST_COUNT
            ),
            do=_("Count the rings and rows again and measure the piece"),
        )


def check_trial(trial: SwatchTrial) -> None:
    """Refuse numbers that cannot be; whether rings can lie as measured is not asked here.

    Raises:
        BadValue: a pair of which one is missing, a count or a time that cannot be, more bad rings
            than were inspected, or a trial that tells nothing.
    """
    if trial.empty:
        raise BadValue(
            _("The swatch tells nothing yet"),
            do=_("Fill in its size, its pace, its rejects or how it holds"),
        )
    if trial.swatch is not None:
        check_counts(trial.swatch)
    if (trial.minutes is None) != (trial.rings_woven is None):
        raise BadValue(
            _("A pace needs both the rings woven and the minutes they took"),
            where=_("pace"),
            do=_("Type the other one too, or empty both"),
        )
    if trial.minutes is not None and not (
        math.isfinite(trial.minutes) and 0 < trial.minutes <= MOST_MINUTES
    ):
        raise BadValue(
            _("The time must be more than nothing"), where=_("pace"), do=_("Type minutes such as 9")
        )
    if trial.rings_woven is not None and not 1 <= trial.rings_woven <= MOST_COUNT:
        raise BadValue(
            _("The rings woven must lie between 1 and {n}").format(n=MOST_COUNT),
            where=_("pace"),
            do=_("Count the rings woven while the time ran"),
        )
    if (trial.bad is None) != (trial.inspected is None):
        raise BadValue(
            _("A share of rejects needs both the bad rings and those inspected"),
            where=_("rejects"),
            do=_("Type the other one too, or empty both"),
        )
    if trial.bad is not None and trial.inspected is not None:
        if not 1 <= trial.inspected <= MOST_COUNT or trial.bad < 0:
            raise BadValue(
                _("The rings inspected must lie between 1 and {n}").format(n=MOST_COUNT),
                where=_("rejects"),
                do=_("Count the rings you looked at"),
            )
        if trial.bad > trial.inspected:
            raise BadValue(
                _("{bad} bad rings cannot be among {all} inspected").format(
                    bad=trial.bad, all=trial.inspected
                ),
                where=_("rejects"),
                do=_("Count all the rings you looked at, the good ones too"),
            )


def swatch_sheet(weave: str, specs: tuple[RingSpec, ...], lay: Lay) -> SolvedLay:
    """The sheet some rings make in a lay.

    Args:
        weave: the weave.
        specs: the ring of each of its ring kinds.
        lay: the lay.

    Raises:
        RingloftError: a ring cannot be wound or cannot make the weave, or the lay cannot be.
    """
    sizes = [(ring.wire_mm, ring.inner_mm) for ring in map(resolve, specs)]
    return solve_lay(weave, *sizes[0], lay, *sizes[1:])


def find_trial(trials: Iterable[SwatchTrial], ring_id: int, weave: str) -> SwatchTrial | None:
    """The trial of that ring in that weave; None when there is none."""
    return next((t for t in trials if t.ring_id == ring_id and t.weave == weave), None)


@dataclass(frozen=True, slots=True)
class Rejects:
    """Bad rings among inspected ones."""

    bad: int
    inspected: int

    @property
    def chance(self) -> float:
        """The chance that the next ring is bad, (bad + 1) / (inspected + 2).

        Source: Laplace's rule of succession.
        """
        return (self.bad + 1) / (self.inspected + 2)

    @property
    def spare_share(self) -> float:
        """Spare rings for each good ring wanted: of p bad, N good ones need N·p / (1 − p) more."""
        return self.chance / (1 - self.chance)


def ring_rejects(trials: Iterable[SwatchTrial], ring_id: int) -> Rejects | None:
    """Rejects of a ring over all the weaves it was tried in; None when none was inspected."""
    bad = inspected = 0
    for trial in trials:
        if trial.ring_id == ring_id and trial.bad is not None and trial.inspected is not None:
            bad, inspected = bad + trial.bad, inspected + trial.inspected
    return Rejects(bad, inspected) if inspected else None
