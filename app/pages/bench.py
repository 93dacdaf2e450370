"""The bench: the ring in hand, and the rings compared, of the costume or not."""

from __future__ import annotations

from dataclasses import fields as spec_fields
from dataclasses import replace
from itertools import count

from PySide6.QtCore import QObject, Signal

from app.document import Document
from app.figures import split_unit
from app.starter import first_ring, free_name
from core import edits, units
from core.errors import RingloftError
from core.panel import Panel
from core.project import Project
from core.ring import RingSpec, resolve
from core.texts import _, ngettext
from core.wire import metals

MOST_COMPARED = 4
LETTERS = "ABCD"
R20_MM = (0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5, 2.8, 3.15)
"""Preferred wire diameters. Source: ISO 3, series R20; from memory."""


def size_text(spec: RingSpec, unit: str) -> str:
    """Wire and inner diameter, such as "⌀1.60 × 8.25 mm"; the rod when it makes no ring."""
    wire = split_unit(units.format_length(spec.wire_mm, unit))[0]
    try:
        inner = units.format_length(resolve(spec).inner_mm, unit)
    except RingloftError:
        inner = "—"
    return _("⌀{wire} × {inner}").format(wire=wire, inner=inner)


def gauge_lead(spec: RingSpec) -> str:
    """The gauge the wire was given by and a comma, such as "16 ga US steel, "; else nothing."""
    return f"{spec.wire_label}, " if spec.wire_label else ""


def metal_name(spec: RingSpec) -> str:
    """The ring's metal in words."""
    found = metals().get(spec.metal)
    return _(found.name) if found else spec.metal


def metal_look(spec: RingSpec) -> str:
    """The key of the metal's colours."""
    found = metals().get(spec.metal)
    return found.look if found else "steel"


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


class Bench(QObject):
    """Which ring is in hand, and which are compared.

    A ring that is only compared is kept here, under an id the costume does not have, until it is
    added to the costume. A compared ring that leaves the costume by undo stays here as such.

    Signals:
        changed: rings, the ring in hand, what is compared or the selected panel.
    """

    changed = Signal()

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._trials: dict[int, RingSpec] = {}
        self._seen: dict[int, RingSpec] = {}
        self._slots: list[int] = []
        self._chosen = False
        self._suggested: tuple[int, RingSpec] | None = None
        self._ring_id: int | None = None
        self._fresh = count(-1, -1)
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
    def ring_id(self) -> int | None:
        """The ring in hand; None when there is no ring at all."""
        return self._ring_id

    @property
    def slots(self) -> tuple[int, ...]:
        """Ids of the compared rings, A first."""
        return tuple(self._slots)

    def in_costume(self, ring_id: int) -> bool:
        """Whether the costume has that ring."""
        return any(r.id == ring_id for r in self.project.rings)

    def spec(self, ring_id: int) -> RingSpec:
        """The ring of that id, of the costume or only compared; raises KeyError for neither."""
        if self.in_costume(ring_id):
            return self.project.ring(ring_id)
        return self._trials[ring_id]

    def rings(self) -> tuple[RingSpec, ...]:
        """The costume's rings, then those only compared."""
        return (*self.project.rings, *self._trials.values())

    def suggested(self, ring_id: int) -> bool:
        """Whether a ring is compared only because there is no other to compare with."""
        made = self._suggested
        return (
            made is not None and made[0] == ring_id and ring_id in self._trials and not self._chosen
        )

    def letters(self, ring_id: int) -> str:
        """The letters under which a ring is compared."""
        return "".join(LETTERS[i] for i, held in enumerate(self._slots) if held == ring_id)

    def panel(self) -> Panel | None:
        """The selected panel."""
        return self._document.selected_panel

    # --- choosing ------------------------------------------------------------------------------

    def take(self, ring_id: int) -> None:
        """Take a ring in hand."""
        if ring_id != self._ring_id:
            self._ring_id = ring_id
            self._settle()

    def choose(self, at: int, ring_id: int | None) -> None:
        """Compare another ring in a place; None makes a new one, only compared, in hand."""
        self._chosen = True
        if ring_id is None:
            ring_id = self._new_trial(self._slots[at])
            self._ring_id = ring_id
        self._slots[at] = ring_id
        self._settle()

    def add_slot(self) -> None:
        """Compare one more ring: one of the costume's that is not shown yet, else a new one."""
        if len(self._slots) < MOST_COMPARED:
            self._chosen = True
            rest = [r.id for r in self.project.rings if r.id not in self._slots]
            self._slots.append(rest[0] if rest else self._new_trial(self._slots[-1]))
            self._settle()

    def drop_slot(self, at: int) -> None:
        """Compare one ring fewer; two stay."""
        if len(self._slots) > 2:
            self._chosen = True
            del self._slots[at]
            self._settle()

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
        self._chosen = True
        old = self._trials[spec.id]
        if spec.name == trial_name(old):
            spec = replace(spec, name=trial_name(spec))
        self._trials[spec.id] = spec
        self._settle()

    def add(self) -> None:
        """Add a ring to the costume, like the one in hand but not measured yet, and take it."""
        like = first_ring() if self._ring_id is None else self.spec(self._ring_id)
        new = replace(like, name=free_name(self.project.rings, _("New ring")))
        if new.mandrel_mm is not None:
            new = replace(new, inner_measured_mm=None)
        self._add(new, _("add a ring"))

    def keep(self, ring_id: int) -> None:
        """Add a ring that was only compared to the costume."""
        if not self.in_costume(ring_id):
            self._chosen = True
            new_id = self._add(self._trials[ring_id], _("add a ring"))
            self._renumber(ring_id, new_id)
            self._settle()

    def remove(self, ring_id: int) -> None:
        """Remove a ring; raises when a panel is woven from it."""
        if self.in_costume(ring_id):
            edits.remove_ring(ring_id)(self._document.project)
            self._forget(ring_id)
            self._document.apply(edits.remove_ring(ring_id), _("remove the ring"))
            return
        self._forget(ring_id)
        self._settle()

    def use(self, ring_id: int, panels: tuple[Panel, ...]) -> tuple[Panel, ...]:
        """Weave panels from a ring, in one undoable edit; a new ring joins the costume first.

        Returns:
            The panels that were measured on a swatch and are laid from now on: the measure
            belongs to their old ring.
        """
        # A panel that is still being drawn is shown, but is not yet there to be changed.
        there = {p.id for p in self._document.project.panels}
        panels = tuple(p for p in panels if p.id in there)
        spec, known = self.spec(ring_id), self.in_costume(ring_id)
        new_id = ring_id if known else self._document.project.next_id
        relaid = tuple(p for p in panels if p.lay.kind == "swatch" and p.ring_id != new_id)

        def edit(project: Project) -> Project:
            if not known:
                project = edits.add_ring(spec)(project)
            for panel in panels:
                project = edits.set_panel_ring(panel.id, new_id)(project)
            return project

        text = ngettext(
            "weave {n} panel from another ring", "weave {n} panels from another ring", len(panels)
        )
        # The comparison stays as it is, with the ring now used in its place.
        before, self._chosen = self._chosen, True
        try:
            self._document.apply(edit, text.format(n=len(panels)))
        except RingloftError:
            self._chosen = before
            raise
        if not known:
            self._renumber(ring_id, new_id)
        self._settle()
        return relaid

    # --- within --------------------------------------------------------------------------------

    def _add(self, spec: RingSpec, text: str) -> int:
        new_id = self._document.project.next_id
        self._document.apply(edits.add_ring(spec), text)
        self._ring_id = new_id
        self._settle()
        return new_id

    def _new_trial(self, like: int) -> int:
        made = beside(self.spec(like), next(self._fresh))
        self._trials[made.id] = made
        return made.id

    def _renumber(self, old_id: int, new_id: int) -> None:
        self._trials.pop(old_id, None)
        self._slots = [new_id if i == old_id else i for i in self._slots]
        if self._ring_id == old_id:
            self._ring_id = new_id

    def _forget(self, ring_id: int) -> None:
        self._trials.pop(ring_id, None)
        self._seen.pop(ring_id, None)
        self._slots = [i for i in self._slots if i != ring_id]
        if self._ring_id == ring_id:
            self._ring_id = None

    def _reset(self) -> None:
        self._trials.clear()
        self._seen.clear()
        self._slots, self._ring_id = [], None
        self._chosen, self._suggested = False, None
        self._settle()

    def _settle(self) -> None:
        """Bring ids in line with the costume, then tell."""
        in_use = set(self._slots)
        if self._ring_id is not None:
            in_use.add(self._ring_id)
        for held in in_use:
            if self.in_costume(held):
                now = self.project.ring(held)
                if held in self._trials and self._trials[held] != now:
                    other = next(self._fresh)
                    trial = replace(self._trials[held], id=other)
                    self._renumber(held, other)
                    self._trials[other] = trial
                else:
                    self._trials.pop(held, None)
                    self._seen[held] = now
            elif held not in self._trials and held in self._seen:
                self._trials[held] = self._seen[held]
        known = {r.id for r in self.rings()}
        self._slots = [i for i in self._slots if i in known]
        self._fill_slots(self.project.rings)
        self._trials = {i: t for i, t in self._trials.items() if i in self._slots}
        if self._ring_id not in {r.id for r in self.rings()}:
            self._ring_id = self._slots[0] if self._slots else None
        self.changed.emit()

    def _fill_slots(self, rings: tuple[RingSpec, ...]) -> None:
        """Until the maker chooses: the selected panel's ring, then another of the costume."""
        if not rings:
            self._slots = []
            return
        if not self._chosen or not self._slots:
            panel = self.panel()
            self._slots = [panel.ring_id if panel else rings[0].id]
        if len(self._slots) < 2:
            rest = [r.id for r in rings if r.id not in self._slots]
            if rest:
                self._slots.append(rest[0])
            elif self.project.panels:
                self._slots.append(self._suggestion(self._slots[0]))

    def _suggestion(self, like: int) -> int:
        """The ring to compare with a costume's only one: the same until that one changes."""
        spec = self.spec(like)
        made = self._suggested
        if made is None or made[1] != spec or made[0] not in self._trials:
            made = self._suggested = (self._new_trial(like), spec)
        return made[0]

    def _follow(self) -> None:
        # A drag on the drawing changes no ring; the bench looks again when it ends.
        if not self._document.previewing:
            self._settle()

    def _selected(self) -> None:
        if self._document.previewing:
            self.changed.emit()
        else:
            self._settle()
