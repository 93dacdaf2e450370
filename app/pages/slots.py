"""What lies on the bench, as one value: the ring in hand, and what is compared.

Every change gives a new value; nothing here knows the window or the undo stack.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from core.compare import Choice
from core.errors import RingloftError
from core.panel import Panel
from core.project import Project
from core.ring import RingSpec, resolve
from core.texts import _
from core.weave.cells import WEAVES
from core.weave.lay import limit_aspect_ratio
from core.wire import R20_MM, metals

MOST_COMPARED = 4
LETTERS = "ABCD"


def metal_name(spec: RingSpec) -> str:
    """The ring's metal in words."""
    found = metals().get(spec.metal)
    return _(found.name) if found else spec.metal


def trial_name(spec: RingSpec) -> str:
    """What a ring is called until the maker names it."""
    return _("{metal} ⌀{wire:.2f}").format(metal=metal_name(spec), wire=spec.wire_mm)


def beside(spec: RingSpec, ring_id: int) -> RingSpec:
    """A ring to compare with another: the same rod, the next thinner wire that makes a ring."""
    thinner = [mm for mm in reversed(R20_MM) if mm < spec.wire_mm - 1e-9]
    thicker = [mm for mm in R20_MM if mm > spec.wire_mm + 1e-9]
    base = replace(spec, id=ring_id, inner_measured_mm=None, wire_label="")
    if base.mandrel_mm is None:
        base = replace(base, mandrel_mm=spec.inner_measured_mm)
    for wire_mm in (*thinner, *thicker):
        made = replace(base, wire_mm=wire_mm)
        try:
            resolve(made)
        except RingloftError:
            continue
        return replace(made, name=trial_name(made))
    return replace(spec, id=ring_id)


@dataclass(frozen=True, slots=True)
class Slot:
    """One thing compared.

    Attributes:
        ring_id: the ring.
        weave: the weave's id; None as each panel is woven.
        upright_id: the ring that stands upright, in weaves that have such; None as each panel
            has it, or where it names none, the same ring.
    """

    ring_id: int
    weave: str | None = None
    upright_id: int | None = None

    @property
    def ids(self) -> tuple[int, ...]:
        """The rings it speaks of."""
        return (self.ring_id,) if self.upright_id is None else (self.ring_id, self.upright_id)

    def renumbered(self, old_id: int, new_id: int) -> Slot:
        """With a ring under another id."""
        if old_id not in self.ids:
            return self
        ring_id = new_id if self.ring_id == old_id else self.ring_id
        upright_id = new_id if self.upright_id == old_id else self.upright_id
        return replace(self, ring_id=ring_id, upright_id=upright_id)


def has_upright(weave_id: str | None) -> bool:
    """Whether that weave has upright rings."""
    known = WEAVES.get(weave_id or "")
    return known is not None and len(known.kinds) > 1


@dataclass(frozen=True, slots=True)
class BenchState:
    """The ring in hand, what is compared, and the rings only compared.

    A ring that is only compared is kept here, under an id the costume does not have, until it is
    added to the costume. A compared ring that leaves the costume by undo stays here as such.

    Attributes:
        held: what is compared, A first.
        ring_id: the ring in hand; None when there is no ring at all.
        trials: rings only compared, by id.
        seen: the costume's rings when last in use here, by id.
        chosen: whether the maker chose what is compared.
        suggested: a ring compared for want of another, and the ring it was made from.
        fresh_id: the next id for a ring only compared.
    """

    held: tuple[Slot, ...] = ()
    ring_id: int | None = None
    trials: Mapping[int, RingSpec] = field(default_factory=dict)
    seen: Mapping[int, RingSpec] = field(default_factory=dict)
    chosen: bool = False
    suggested: tuple[int, RingSpec] | None = None
    fresh_id: int = -1

    # --- what it says --------------------------------------------------------------------------

    def rings(self, project: Project) -> tuple[RingSpec, ...]:
        """The costume's rings, then those only compared."""
        return (*project.rings, *self.trials.values())

    def spec(self, project: Project, ring_id: int) -> RingSpec:
        """The ring of that id, of the costume or only compared; raises KeyError for neither."""
        if _in_costume(project, ring_id):
            return project.ring(ring_id)
        return self.trials[ring_id]

    def choice(self, project: Project, at: int) -> Choice:
        """What is compared in a place."""
        slot = self.held[at]
        upright = None if slot.upright_id is None else self.spec(project, slot.upright_id)
        return Choice(self.spec(project, slot.ring_id), slot.weave, upright)

    def is_suggested(self, ring_id: int) -> bool:
        """Whether a ring is compared only because there is no other to compare with."""
        made = self.suggested
        return (
            made is not None and made[0] == ring_id and ring_id in self.trials and not self.chosen
        )

    def letters(self, ring_id: int) -> str:
        """The letters under which a ring is compared."""
        return "".join(LETTERS[i] for i, slot in enumerate(self.held) if ring_id in slot.ids)

    # --- choosing ------------------------------------------------------------------------------

    def with_slot(self, at: int, slot: Slot) -> BenchState:
        """Compare something else in a place, which may be just past the last one."""
        return replace(self, held=(*self.held[:at], slot, *self.held[at + 1 :]), chosen=True)

    def without_slot(self, at: int) -> BenchState:
        """Compare one fewer; two stay."""
        if len(self.held) <= 2:
            return self
        return replace(self, held=self.held[:at] + self.held[at + 1 :], chosen=True)

    def with_new_trial(self, project: Project, like: int) -> tuple[BenchState, int]:
        """Another ring, only compared, and its id."""
        made = beside(self.spec(project, like), self.fresh_id)
        trials = {**self.trials, made.id: made}
        return replace(self, trials=trials, fresh_id=self.fresh_id - 1), made.id

    def with_one_more(self, project: Project) -> BenchState:
        """Compare one more: a ring of the costume that is not shown yet, else a new one."""
        if len(self.held) >= MOST_COMPARED:
            return self
        shown = {slot.ring_id for slot in self.held}
        rest = [r.id for r in project.rings if r.id not in shown]
        if rest:
            return self.with_slot(len(self.held), Slot(rest[0]))
        made, new_id = self.with_new_trial(project, self.held[-1].ring_id)
        return made.with_slot(len(self.held), Slot(new_id))

    def with_woven(self, ring_id: int, weave_id: str) -> tuple[BenchState, int]:
        """Compare a ring in a weave, and where: in the place it has, one not chosen, or one more.

        With all places taken it takes the last.
        """
        wanted = Slot(ring_id, weave_id)
        for at, slot in enumerate(self.held):
            if (slot.ring_id, slot.weave) == (ring_id, weave_id):
                return self, at
        at = len(self.held)
        if not self.chosen and at > 1:
            at -= 1
        at = min(at, MOST_COMPARED - 1)
        return self.with_slot(at, wanted), at

    def renumbered(self, old_id: int, new_id: int) -> BenchState:
        """With a ring under another id, and not only compared."""
        return replace(
            self,
            trials={i: t for i, t in self.trials.items() if i != old_id},
            held=tuple(slot.renumbered(old_id, new_id) for slot in self.held),
            ring_id=new_id if self.ring_id == old_id else self.ring_id,
        )

    def without_ring(self, ring_id: int) -> BenchState:
        """With a ring out of sight."""
        return replace(
            self,
            trials={i: t for i, t in self.trials.items() if i != ring_id},
            seen={i: t for i, t in self.seen.items() if i != ring_id},
            held=_only_known(self.held, lambda i: i != ring_id),
            ring_id=None if self.ring_id == ring_id else self.ring_id,
        )

    # --- following the costume -----------------------------------------------------------------

    def settled(self, project: Project, panel: Panel | None) -> BenchState:
        """In line with the costume; `panel` is the selected one."""
        state = self._with_ids_in_line(project)
        known = {r.id for r in state.rings(project)}
        state = replace(state, held=_only_known(state.held, known.__contains__))
        state = state._filled(project, panel)
        used = {i for slot in state.held for i in slot.ids}
        state = replace(state, trials={i: t for i, t in state.trials.items() if i in used})
        if state.ring_id not in {r.id for r in state.rings(project)}:
            state = replace(state, ring_id=state.held[0].ring_id if state.held else None)
        return replace(state, seen={**state.seen, **state._in_use(project)})

    def _in_use(self, project: Project) -> dict[int, RingSpec]:
        """The costume's rings that are compared or in hand, by id."""
        used = {self.ring_id, *(i for slot in self.held for i in slot.ids)}
        return {spec.id: spec for spec in project.rings if spec.id in used}

    def _with_ids_in_line(self, project: Project) -> BenchState:
        state = self
        in_use = {i for slot in self.held for i in slot.ids}
        if self.ring_id is not None:
            in_use.add(self.ring_id)
        for held in sorted(in_use):
            if _in_costume(project, held):
                now = project.ring(held)
                if held in state.trials and state.trials[held] != now:
                    # Another ring took its id: it goes on under a fresh one.
                    other = state.fresh_id
                    trial = replace(state.trials[held], id=other)
                    state = state.renumbered(held, other)
                    state = replace(
                        state, trials={**state.trials, other: trial}, fresh_id=other - 1
                    )
                else:
                    trials = {i: t for i, t in state.trials.items() if i != held}
                    state = replace(state, trials=trials)
            elif held not in state.trials and held in state.seen:
                state = replace(state, trials={**state.trials, held: state.seen[held]})
        return state

    def _filled(self, project: Project, panel: Panel | None) -> BenchState:
        """Until the maker chooses: the selected panel's ring, then another of the costume."""
        rings = project.rings
        if not rings:
            return replace(self, held=())
        state = self
        if not state.chosen or not state.held:
            state = replace(state, held=(Slot(panel.ring_id if panel else rings[0].id),))
        if len(state.held) < 2:
            first = state.held[0].ring_id
            rest = [r for r in rings if r.id != first]
            if rest:
                weave_id = (panel or project.panels[0]).weave if project.panels else ""
                other = _worth_comparing(state.spec(project, first), rest, weave_id)
                state = replace(state, held=(*state.held, other))
            elif project.panels:
                state, made = state._with_suggestion(project, first)
                state = replace(state, held=(*state.held, Slot(made)))
        return state

    def _with_suggestion(self, project: Project, like: int) -> tuple[BenchState, int]:
        """The ring to compare with a costume's only one: the same until that one changes."""
        spec, made = self.spec(project, like), self.suggested
        if made is not None and made[1] == spec and made[0] in self.trials:
            return self, made[0]
        state, new_id = self.with_new_trial(project, like)
        return replace(state, suggested=(new_id, spec)), new_id


def _can_make(spec: RingSpec, weave_id: str) -> bool:
    """Whether a ring, as every ring kind, can make that weave."""
    try:
        return resolve(spec).aspect_ratio >= limit_aspect_ratio(weave_id) * (1 - 1e-9)
    except RingloftError:
        return False


def _worth_comparing(first: RingSpec, rest: list[RingSpec], weave_id: str) -> Slot:
    """What to compare a ring with: another that can make the weave, else it in another weave.

    Where neither can be woven, the first other ring, which then says why.
    """
    for spec in rest:
        if _can_make(spec, weave_id):
            return Slot(spec.id)
    others = (w for w in WEAVES if w != weave_id and weave_id and _can_make(first, w))
    other = next(others, None)
    return Slot(rest[0].id) if other is None else Slot(first.id, other)


def _in_costume(project: Project, ring_id: int) -> bool:
    return any(r.id == ring_id for r in project.rings)


def _only_known(held: tuple[Slot, ...], known: Callable[[int], bool]) -> tuple[Slot, ...]:
    """The places whose ring is known; an upright ring that is not is left to the panel."""
    return tuple(
        slot if all(map(known, slot.ids)) else replace(slot, upright_id=None)
        for slot in held
        if known(slot.ring_id)
    )
