"""The bench: the ring in hand, and what is compared, of the costume or not."""

from __future__ import annotations

from dataclasses import fields as spec_fields
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from app.document import Document
from app.figures import split_unit
from app.pages.slots import BenchState, Slot, has_upright, metal_name, trial_name
from app.starter import first_ring, free_name
from core import edits, units
from core.compare import Choice, woven_from
from core.errors import RingloftError
from core.panel import Panel
from core.project import Project
from core.ring import Ring, RingSpec, resolve
from core.texts import _, ngettext
from core.wire import metals

__all__ = [
    "ANOTHER",
    "Bench",
    "gauge_lead",
    "metal_look",
    "metal_name",
    "ring_size_text",
    "size_text",
]

ANOTHER = "another"
"""Stands for a ring yet to be made, where rings are chosen from."""


def size_text(spec: RingSpec, unit: str) -> str:
    """Wire and inner diameter, such as "⌀1.60 × 8.25 mm"; the rod when it makes no ring."""
    wire = split_unit(units.format_length(spec.wire_mm, unit))[0]
    try:
        inner = units.format_length(resolve(spec).inner_mm, unit)
    except RingloftError:
        inner = "—"
    return _("⌀{wire} × {inner}").format(wire=wire, inner=inner)


def ring_size_text(ring: Ring, unit: str) -> str:
    """The same of a ring that is known."""
    wire = split_unit(units.format_length(ring.wire_mm, unit))[0]
    inner = units.format_length(ring.inner_mm, unit)
    return _("⌀{wire} × {inner}").format(wire=wire, inner=inner)


def gauge_lead(spec: RingSpec) -> str:
    """The gauge the wire was given by and a comma, such as "16 ga US steel, "; else nothing."""
    return f"{spec.wire_label}, " if spec.wire_label else ""


def metal_look(spec: RingSpec) -> str:
    """The key of the metal's colours."""
    found = metals().get(spec.metal)
    return found.look if found else "steel"


class Bench(QObject):
    """Which ring is in hand, and what is compared; `BenchState` is its whole memory.

    Signals:
        changed: rings, the ring in hand, what is compared or the selected panel.
        aside: the name of a ring only compared that was changed, which no undo reaches.
    """

    changed = Signal()
    aside = Signal(str)

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._state = BenchState()
        self._edited: set[int] = set()
        self._reset()
        document.changed.connect(self._follow)
        document.selection_changed.connect(self._selected)
        document.loaded.connect(self._reset)

    # --- what views read -----------------------------------------------------------------------

    @property
    def project(self) -> Project:
        """The costume as shown."""
        return self._document.shown

    @property
    def document(self) -> Document:
        """The costume's document."""
        return self._document

    @property
    def ring_id(self) -> int | None:
        """The ring in hand; None when there is no ring at all."""
        return self._state.ring_id

    @property
    def held(self) -> tuple[Slot, ...]:
        """What is compared, A first."""
        return self._state.held

    @property
    def slots(self) -> tuple[int, ...]:
        """Ids of the compared rings, A first."""
        return tuple(slot.ring_id for slot in self._state.held)

    def choices(self) -> tuple[Choice, ...]:
        """What is compared, as `core.compare` takes it."""
        return tuple(self._state.choice(self.project, at) for at in range(len(self.held)))

    def in_costume(self, ring_id: int) -> bool:
        """Whether the costume has that ring."""
        return any(r.id == ring_id for r in self.project.rings)

    def spec(self, ring_id: int) -> RingSpec:
        """The ring of that id, of the costume or only compared; raises KeyError for neither."""
        return self._state.spec(self.project, ring_id)

    def rings(self) -> tuple[RingSpec, ...]:
        """The costume's rings, then those only compared."""
        return self._state.rings(self.project)

    def suggested(self, ring_id: int) -> bool:
        """Whether a ring is compared only because there is no other to compare with."""
        return self._state.is_suggested(ring_id)

    def loose(self) -> tuple[str, ...]:
        """Names of rings the maker changed that no costume holds: leaving loses them."""
        return tuple(spec.name for i, spec in self._state.trials.items() if i in self._edited)

    def letters(self, ring_id: int) -> str:
        """The letters under which a ring is compared."""
        return self._state.letters(ring_id)

    def panel(self) -> Panel | None:
        """The selected panel."""
        return self._document.selected_panel

    # --- choosing ------------------------------------------------------------------------------

    def take(self, ring_id: int) -> None:
        """Take a ring in hand."""
        if ring_id != self.ring_id:
            self._put(replace(self._state, ring_id=ring_id))

    def choose(self, at: int, ring_id: int | None) -> None:
        """Compare another ring in a place; None makes a new one, only compared, in hand."""
        state, slot = self._state, self.held[at]
        if ring_id is None:
            state, ring_id = state.with_new_trial(self.project, slot.ring_id)
            state = replace(state, ring_id=ring_id)
        self._put(state.with_slot(at, replace(slot, ring_id=ring_id)))

    def choose_weave(self, at: int, weave_id: str | None) -> None:
        """Compare another weave in a place; None means as each panel is woven."""
        self._put(self._state.with_slot(at, replace(self.held[at], weave=weave_id)))

    def choose_upright(self, at: int, key: int | str | None) -> None:
        """Stand another ring upright in a place.

        Args:
            at: the place.
            key: a ring's id; None as each panel has it; `ANOTHER` makes a new one, in hand.
        """
        state, slot = self._state, self.held[at]
        if key == ANOTHER:
            state, key = state.with_new_trial(self.project, slot.ring_id)
            state = replace(state, ring_id=key)
        upright_id = key if isinstance(key, int) else None
        self._put(state.with_slot(at, replace(slot, upright_id=upright_id)))

    def compare_woven(self, weave_id: str) -> int:
        """Compare the ring in hand in a weave; the place it has or gets."""
        assert self.ring_id is not None
        state, at = self._state.with_woven(self.ring_id, weave_id)
        self._put(state)
        return at

    def add_slot(self) -> None:
        """Compare one more ring: one of the costume's that is not shown yet, else a new one."""
        self._put(self._state.with_one_more(self.project))

    def drop_slot(self, at: int) -> None:
        """Compare one ring fewer; two stay."""
        self._put(self._state.without_slot(at))

    # --- changing ------------------------------------------------------------------------------

    def change(self, spec: RingSpec, alone: bool = False) -> None:
        """Take a ring's new values: of a costume's ring as an undoable edit. Raises as it does.

        Args:
            spec: the ring.
            alone: the edit is a step of its own, even after another of the same field.
        """
        if self.in_costume(spec.id):
            old = self.project.ring(spec.id)
            what = [f.name for f in spec_fields(RingSpec)
                    if getattr(old, f.name) != getattr(spec, f.name)]  # fmt: skip
            if len(what) > 1 and spec.inner_measured_mm is None:
                # A measure left behind by the first step of a field: the next steps still merge.
                what = [name for name in what if name != "inner_measured_mm"]
            key = f"ring {spec.id}: {', '.join(what)}"
            self._document.apply(edits.set_ring(spec), _("change the ring"), None if alone else key)
            return
        old = self._state.trials[spec.id]
        if spec.name == trial_name(old):
            spec = replace(spec, name=trial_name(spec))
        trials = {**self._state.trials, spec.id: spec}
        self._put(replace(self._state, trials=trials, chosen=True))
        self._edited.add(spec.id)
        self.aside.emit(spec.name)

    def add(self) -> None:
        """Add a ring to the costume, like the one in hand but not measured yet, and take it."""
        like = first_ring() if self.ring_id is None else self.spec(self.ring_id)
        new = replace(like, name=free_name(self.project.rings, _("New ring")))
        if new.mandrel_mm is not None:
            new = replace(new, inner_measured_mm=None)
        self._add(new, _("add a ring"))

    def keep(self, ring_id: int) -> None:
        """Add a ring that was only compared to the costume."""
        if not self.in_costume(ring_id):
            spec = self.spec(ring_id)
            self._state = replace(self._state, chosen=True)
            new_id = self._add(spec, _("add a ring"))
            self._put(self._state.renumbered(ring_id, new_id))

    def remove(self, ring_id: int) -> None:
        """Remove a ring; raises when a panel is woven from it."""
        if self.in_costume(ring_id):
            edits.remove_ring(ring_id)(self._document.project)
            self._state = self._state.without_ring(ring_id)
            self._document.apply(edits.remove_ring(ring_id), _("remove the ring"))
            return
        self._put(self._state.without_ring(ring_id))

    def use(self, at: int, panels: tuple[Panel, ...]) -> tuple[Panel, ...]:
        """Weave panels as compared in a place: ring, weave and upright ring in one undoable edit.

        Rings only compared join the costume first.

        Returns:
            The panels that were measured on a swatch and are laid from now on: the measure
            belongs to their old ring or weave.
        """
        # A panel that is still being drawn is shown, but is not yet there to be changed.
        there = {p.id for p in self._document.project.panels}
        panels = tuple(p for p in panels if p.id in there)
        choice, slot = self._state.choice(self.project, at), self.held[at]
        woven = tuple(woven_from(self.project, panel, choice) for panel in panels)
        ids = slot.ids if any(has_upright(p.weave) for p in woven) else slot.ids[:1]
        fresh = [i for i in dict.fromkeys(ids) if not self.in_costume(i)]
        new = {i: self._document.project.next_id + n for n, i in enumerate(fresh)}
        relaid = tuple(
            p
            for p, now in zip(panels, woven, strict=True)
            if p.lay.kind == "swatch" and now.lay.kind != "swatch"
        )

        def edit(project: Project) -> Project:
            for ring_id in fresh:
                project = edits.add_ring(self.spec(ring_id))(project)
            for now in woven:
                upright_id = now.upright_ring_id
                project = edits.set_woven(
                    now.id,
                    new.get(now.ring_id, now.ring_id),
                    now.weave,
                    None if upright_id is None else new.get(upright_id, upright_id),
                )(project)
            return project

        text = ngettext(
            "weave {n} panel from another ring", "weave {n} panels from another ring", len(panels)
        )
        if any(p.weave != now.weave for p, now in zip(panels, woven, strict=True)):
            text = ngettext("weave {n} panel another way", "weave {n} panels another way",
                            len(panels))  # fmt: skip
        # The comparison stays as it is, with the ring now used in its place.
        before, self._state = self._state, replace(self._state, chosen=True)
        try:
            self._document.apply(edit, text.format(n=len(panels)))
        except RingloftError:
            self._state = before
            raise
        state = self._state
        for old_id, new_id in new.items():
            state = state.renumbered(old_id, new_id)
        self._put(state)
        return relaid

    # --- within --------------------------------------------------------------------------------

    def _add(self, spec: RingSpec, text: str) -> int:
        new_id = self._document.project.next_id
        self._document.apply(edits.add_ring(spec), text)
        self._put(replace(self._state, ring_id=new_id))
        return new_id

    def _put(self, state: BenchState) -> None:
        """Keep a state, brought in line with the costume, and tell."""
        self._state = state.settled(self.project, self.panel())
        self.changed.emit()

    def _reset(self) -> None:
        self._edited.clear()
        self._put(BenchState(fresh_id=self._state.fresh_id))

    def _follow(self) -> None:
        # A drag on the drawing changes no ring; the bench looks again when it ends.
        if not self._document.previewing:
            self._put(self._state)

    def _selected(self) -> None:
        if self._document.previewing:
            self.changed.emit()
        else:
            self._put(self._state)
