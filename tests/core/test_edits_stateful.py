"""Edits, undo, redo and saving in any order: what is saved always reopens equal."""

import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from core import edits as e
from core.errors import RingloftError
from core.outline import Curve, edge_ids
from core.panel import HOLDINGS, Panel
from core.project import Project
from core.project_file import load, save
from core.weave.lay import Lay, Swatch
from tests.core.costumes import STEEL, names, trials
from tests.core.shapes import WEAVE, circle_loop, rectangle

places = st.floats(-150, 150)
lays = st.sampled_from(
    [Lay(), Lay("spread"), Lay("across"), Lay("swatch"), Lay("swatch", Swatch(9, 9, 60.0, 45.0)),
     Lay("held", width_percent=80.0), Lay("held", width_percent=5.0)]
)  # fmt: skip


class Maker(RuleBasedStateMachine):
    """Someone at work on a costume, with an undo stack and a file."""

    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.done = [e.add_ring(STEEL)(Project("Start"))]
        self.undone = []

    def teardown(self):
        shutil.rmtree(self.folder)

    @property
    def project(self):
        return self.done[-1]

    def edit(self, make):
        before, words = self.project, repr(self.project)
        try:
            after = make()(before)
        except RingloftError:
            assert repr(before) == words
            return
        assert repr(before) == words
        assert (after is before) == (after == before)
        if after is not before:
            self.done.append(after)
            self.undone.clear()

    def panel(self, n):
        return self.project.panels[n % len(self.project.panels)] if self.project.panels else None

    @rule(name=names, w=st.floats(1, 200), h=st.floats(1, 200), disc=st.booleans())
    def draw(self, name, w, h, disc):
        outline = rectangle(w, h)
        outline = replace(outline, rim=circle_loop(w)) if disc else outline
        ring = self.project.rings[-1].id
        self.edit(lambda: e.add_panel(Panel(0, name, outline, ring)))

    @rule(n=st.integers(0, 9), k=st.integers(0, 9), dx=places, dy=places)
    def move_point(self, n, k, dx, dy):
        if panel := self.panel(n):
            ids = [x.id for x in panel.outline.nodes()]
            moved = e.moved_nodes(panel.outline, frozenset(ids[k % len(ids) :][:2]), dx, dy)
            self.edit(lambda: e.set_outline(panel.id, moved))

    @rule(
        n=st.integers(0, 9),
        k=st.integers(0, 9),
        change=st.sampled_from(["add", "drop", "bend", "turn", "hole"]),
    )
    def change_outline(self, n, k, change):
        if panel := self.panel(n):
            nodes = [*panel.outline.nodes()]
            node, old = nodes[k % len(nodes)], panel.outline
            self.edit(
                {
                    "add": lambda: e.add_node(panel.id, node.id, 0.3),
                    "drop": lambda: e.set_outline(
                        panel.id, e.without_nodes(old, frozenset({node.id}))
                    ),
                    "bend": lambda: e.set_outline(
                        panel.id, e.with_curve(old, node.id, Curve(4, 4, 2, -3))
                    ),
                    "turn": lambda: e.set_outline(
                        panel.id, e.with_corner(old, node.id, not node.corner)
                    ),
                    "hole": lambda: e.add_hole(
                        panel.id, circle_loop(4, node.x_mm + 9, node.y_mm + 9)
                    ),
                }[change]
            )

    @rule(
        n=st.integers(0, 9),
        k=st.integers(0, 9),
        edging=st.sampled_from(["plain", "edged"]),
        name=names,
    )
    def finish_edge(self, n, k, edging, name):
        if panel := self.panel(n):
            ids = edge_ids(panel.outline)
            self.edit(lambda: e.set_edge(panel.id, ids[k % len(ids)], edging, name))

    @rule(
        n=st.integers(0, 9),
        lay=lays,
        grain=st.floats(-400, 400),
        copies=st.integers(-1, 6),
        pairs=st.booleans(),
    )
    def set_panel(self, n, lay, grain, copies, pairs):
        if panel := self.panel(n):
            self.edit(lambda: e.set_lay(panel.id, lay))
            self.edit(lambda: e.set_grain(panel.id, grain))
            self.edit(lambda: e.set_copies(panel.id, copies, pairs))

    @rule(
        n=st.integers(0, 9),
        what=st.sampled_from(["copy", "remove", "name", "hold", "rule"]),
        name=names,
        holding=st.sampled_from(HOLDINGS),
    )
    def set_list(self, n, what, name, holding):
        if panel := self.panel(n):
            self.edit(
                {
                    "copy": lambda: e.duplicate_panel(panel.id, name),
                    "remove": lambda: e.remove_panel(panel.id),
                    "name": lambda: e.rename_panel(panel.id, name),
                    "hold": lambda: e.set_holding(panel.id, holding),
                    "rule": lambda: e.set_rule(panel.id, "centre"),
                }[what]
            )

    @rule(
        n=st.integers(0, 9),
        wire=st.floats(0.1, 3),
        mandrel=st.floats(1, 20),
        what=st.sampled_from(["add", "set", "remove", "use"]),
    )
    def change_rings(self, n, wire, mandrel, what):
        ring = self.project.rings[n % len(self.project.rings)]
        new = replace(ring, wire_mm=wire, mandrel_mm=mandrel)
        panel = self.panel(n)
        self.edit(
            {
                "add": lambda: e.add_ring(new),
                "set": lambda: e.set_ring(new),
                "remove": lambda: (
                    e.remove_ring(ring.id) if len(self.project.rings) > 1 else lambda p: p
                ),
                "use": lambda: e.set_panel_ring(panel.id, ring.id) if panel else lambda p: p,
            }[what]
        )

    @rule(
        n=st.integers(0, 9),
        trial=st.sampled_from([WEAVE, "japanese-square"]).flatmap(lambda w: trials(1, w)),
        upright=st.none() | st.integers(0, 9),
        k=st.integers(0, 9),
        forget=st.booleans(),
    )
    def measure(self, n, trial, upright, k, forget):
        ids = [ring.id for ring in self.project.rings]
        if not ids:
            return
        ring_id = ids[n % len(ids)]
        if forget:
            self.edit(lambda: e.remove_swatch(ring_id, trial.weave))
            return
        stands = None if upright is None else ids[upright % len(ids)]
        trial = replace(trial, ring_id=ring_id, upright_ring_id=stands)
        panel = self.panel(k)
        self.edit(lambda: e.put_swatch(trial, () if panel is None else (panel.id,)))
        self.edit(lambda: e.put_swatch(trial))

    @rule(name=names, spare=st.none() | st.floats(-1, 101), unit=st.sampled_from(["mm", "in"]))
    def set_costume(self, name, spare, unit):
        for make in (
            lambda: e.rename_project(name),
            lambda: e.set_spare(spare),
            lambda: e.set_unit(unit),
        ):
            self.edit(make)

    @rule(steps=st.integers(1, 4))
    def undo(self, steps):
        for _ in range(min(steps, len(self.done) - 1)):
            self.undone.append(self.done.pop())

    @rule(steps=st.integers(1, 4))
    def redo(self, steps):
        for _ in range(min(steps, len(self.undone))):
            self.done.append(self.undone.pop())

    @rule()
    def go_on_from_the_file(self):
        save(self.project, self.folder / "costume.ringloft")
        self.done, self.undone = [load(self.folder / "costume.ringloft")], []

    @invariant()
    def reopens_equal(self):
        save(self.project, self.folder / "now.ringloft")
        assert load(self.folder / "now.ringloft") == self.project


TestMaker = Maker.TestCase
TestMaker.settings = settings(max_examples=40, stateful_step_count=25)
