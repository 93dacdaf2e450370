"""The inspector: everything about the selected panel, each number typed over where it stands."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QLabel, QStackedWidget, QVBoxLayout, QWidget

from app import theme as look
from app.document import Document
from app.figures import Unknown, how_panel, panel_figures
from app.messages import Remarks, sentence
from app.pages.inspector_body import InspectorBody
from app.pages.inspector_lay import LayPart
from app.pages.new_ring import NewRing
from app.pages.weave_combo import ring_trouble
from app.widgets.explain import explain
from core import edits, units
from core.edits import Edit
from core.errors import RingloftError
from core.panel import Panel
from core.project import Project
from core.ring import RingSpec
from core.tally import (
    PanelTally,
    kinds_text,
    lay_text,
    no_edge_rings_text,
    pitch_names,
    tally_edges,
)
from core.texts import _

NEW_RING = "new"
SAME_RING = "same"


class Inspector(QWidget):
    """The right column of the Panels page."""

    def __init__(self, document: Document, remarks: Remarks) -> None:
        super().__init__()
        self._document, self._remarks = document, remarks
        self._shown: tuple[object, ...] = ()
        self.setFixedWidth(look.INSPECTOR_WIDTH)
        self.setProperty("kind", "panel")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName(_("Inspector"))
        self._stack = QStackedWidget(self)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._stack)

        empty = QLabel(_("Select or draw a panel to see what it takes."))
        empty.setProperty("kind", "note")
        empty.setWordWrap(True)
        empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        empty.setContentsMargins(16, 16, 16, 16)
        self._empty = empty
        self.body = InspectorBody(document)
        self.new_ring = NewRing(remarks)
        self.new_ring.finished.connect(self._ring_made)
        for page in (self._empty, self.body, self.new_ring):
            self._stack.addWidget(page)

        document.loaded.connect(self._loaded)
        document.changed.connect(self.refresh)
        document.selection_changed.connect(self.refresh)
        self.lay_part = LayPart(document, self.body, remarks, self._try)
        self._new_for: Callable[[int, int], Edit] = edits.set_panel_ring
        self._connect()
        self.refresh()

    def _connect(self) -> None:
        body, warn = self.body, self._remarks.warn
        body.name.committed.connect(self._rename)
        body.weave.chosen.connect(self._choose_weave)
        body.ring.chosen.connect(self._choose_ring)
        body.upright.chosen.connect(self._choose_upright)
        body.rings_lie.chosen.connect(
            lambda v: self._try(lambda i: edits.set_rule(i, v), _("where rings lie"))
        )
        body.copies.valued.connect(self._set_copies)
        body.mirrored.clicked.connect(self._set_mirrored)
        body.how.clicked.connect(self._explain)
        body.copies.refused.connect(warn)
        body.edges.said.connect(self._remarks.say)

    def _loaded(self) -> None:
        """Forget what belonged to the costume before."""
        self.lay_part.forget()
        if self._stack.currentWidget() is self.new_ring:
            self._stack.setCurrentWidget(self.body)
        self.refresh()

    # --- showing -------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the selected panel."""
        project, panel = self._document.shown, self._document.selected_panel
        if self._stack.currentWidget() is not self.new_ring:
            self._stack.setCurrentWidget(self._empty if panel is None else self.body)
        elif self.new_ring.form.unit != project.unit:
            self.new_ring.use_unit(project.unit)
        if panel is None:
            return
        key = (panel, project.rings, project.unit, project.practice)
        if len(key) == len(self._shown) and all(
            a is b for a, b in zip(key, self._shown, strict=True)
        ):
            self._note_edge()
            return
        self._shown = key
        self._show_form(project, panel)
        found = panel_figures(project, panel)
        if isinstance(found, Unknown):
            self._show_unknown(panel, found.why)
        else:
            self._show_tally(project, panel, found.tally)
        self._note_edge()

    def _show_form(self, project: Project, panel: Panel) -> None:
        self.body.name.put(panel.name)
        if panel.mirrored:
            pairs = panel.copies // 2
            pairing = _("Mirrored pair") if pairs == 1 else _("{n} mirrored pairs").format(n=pairs)
        else:
            pairing = "" if panel.copies == 1 else _("× {n}").format(n=panel.copies)
        self.body.pairing.setText(pairing)
        self.body.weave.show_panel(project, panel)
        self._show_rings(project, panel)
        self.lay_part.show(project, panel, self._again)
        self.body.rings_lie.put(panel.rule)
        self.body.copies.show_value(float(panel.copies), project.unit)
        self.body.mirrored.setChecked(panel.mirrored)

    def _show_rings(self, project: Project, panel: Panel) -> None:
        body, choices = self.body, tuple((r.id, r.name) for r in project.rings)
        new = (NEW_RING, _("New ring…"))
        same = (SAME_RING, _("The same ring"))
        others = tuple(c for c in choices if c[0] != panel.ring_id)
        for combo, offered in (
            (body.ring, (*choices, new)),
            (body.upright, (same, *others, new)),
        ):
            if not combo.set_choices(offered):
                continue
            for row, (key, _name) in enumerate(offered):
                if isinstance(key, int):
                    spec = project.ring(key)
                    wire = units.format_wire(spec.wire_mm, spec.wire_label, project.unit)
                    combo.setItemData(row, wire, Qt.ItemDataRole.ToolTipRole)
        body.ring.put(panel.ring_id)
        upright = panel.upright_ring_id
        body.upright.put(SAME_RING if upright in (None, panel.ring_id) else upright)
        two = len(panel.ring_ids) > 1
        body.form.setRowVisible(body.upright, two)
        body.name_ring(_("Flat ring") if two else _("Ring"))

    def _again(self) -> None:
        self._shown = ()
        self.refresh()

    def _show_unknown(self, panel: Panel, why: str) -> None:
        self._warn(why)
        self.body.edges.put(tally_edges(panel, {}), counted=False)
        for key in ("body", "dangling", "edge"):
            self.body.counts.put(key, "—")
        self.body.total.put("all", "—")
        self.body.range.setText("")
        self.body.kinds.hide()
        for key in ("along", "across", "thickness", "cover"):
            self.body.sheet.put(key, "—")

    def _warn(self, text: str) -> None:
        shown = f"⚠ {text}" if text else ""
        if self.body.trouble.text() != shown:
            self.body.trouble.setText(shown)
        self.body.trouble.setVisible(bool(text))

    def _show_tally(self, project: Project, panel: Panel, tally: PanelTally) -> None:
        solved, unit = tally.solved, project.unit
        if solved.feasible or solved.nearest_mm is None:
            self._warn("")
        else:
            along, across = (units.format_length(v, unit) for v in solved.nearest_mm)
            self._warn(
                _(
                    "No sheet of these rings has the swatch's pitches; the nearest has {along}"
                    " along and {across} across. Measure the swatch or the ring again?"
                ).format(along=along, across=across)
            )
        self.body.edges.put(tally.edges)
        count = units.format_count
        self.body.counts_head.setText(_("Rings in one") if panel.copies > 1 else _("Rings"))
        self.body.counts.put("body", count(tally.body))
        self.body.counts.put("dangling", count(-tally.dangling) if tally.dangling else "0")
        self.body.counts.put("edge", count(tally.edge))
        self.body.total.put("all", count(tally.per_copy))
        one = tuple(n // panel.copies for n in tally.by_kind)
        kinds = kinds_text(tally.weave, one)
        self.body.kinds.setText(kinds)
        self.body.kinds.setVisible(bool(kinds))
        # Counting the range takes many times as long as the count: not while the hand moves.
        self.body.range.setText(
            _("{lay}; the range by lay follows when you let go.").format(
                lay=sentence(lay_text(panel.lay))
            )
            if self._document.previewing
            else self._range_text(panel, tally)
        )
        for key, name in zip(("along", "across"), pitch_names(tally.weave), strict=True):
            self.body.sheet.name(key, name)
        for key, value in (
            ("along", units.format_length(solved.along_mm, unit)),
            ("across", units.format_length(solved.across_mm, unit)),
            ("thickness", units.format_length(solved.thickness_mm, unit)),
            ("cover", f"{solved.cover * 100:.0f}{units.SPACE}%"),
        ):
            self.body.sheet.put(key, value)

    @staticmethod
    def _range_text(panel: Panel, tally: PanelTally) -> str:
        if panel.lay.kind == "swatch":
            return _("As measured on the swatch.")
        lay = sentence(lay_text(panel.lay))
        if tally.wide_range is None:
            return _("{lay}; worn otherwise it takes as many rings.").format(lay=lay)
        words = (
            _("{lay}; {range} for all {n}, by lay, until a swatch is measured.")
            if panel.copies > 1
            else _("{lay}; {range} by lay, until a swatch is measured.")
        )
        both = units.format_count_range(*tally.wide_range)
        return words.format(lay=lay, range=both, n=panel.copies)

    def _note_edge(self) -> None:
        edge_id, unit = self._document.edge_id, self._document.shown.unit
        model = self.body.edges.edge_model
        found = next((e for e in model.edges if e.node_id == edge_id), None)
        told = ""
        if found is not None:
            told = _("{name}: {length} long.").format(
                name=found.name, length=units.format_length(found.length_mm, unit)
            )
        if not model.seats:
            text = f"{told} {no_edge_rings_text()}".strip()
        elif found is None:
            text = _("Click an edge's mark, or press F on it, to change its edging.")
        else:
            text = told
            if found.edging == "edged" and model.counted:
                text = f"{text} {self._edge_rings_text(found.rings)}"
        self.body.edge_note.setText(text)

    @staticmethod
    def _edge_rings_text(rings: int) -> str:
        if rings:
            return _("Edge rings reach past the outline.")
        return _("No vacant place along this edge links two body rings.")

    # --- changing ------------------------------------------------------------------------------

    def _try(
        self,
        make: Callable[[int], Edit],
        text: str,
        merge_key: str | None = None,
    ) -> bool:
        panel_id = self._document.panel_id
        if panel_id is None:
            return False
        # Before the edit: what the window says about its outcome must stay.
        self._remarks.clear()
        try:
            self._document.apply(make(panel_id), text, merge_key and f"{merge_key}-{panel_id}")
        except RingloftError as error:
            self._remarks.warn(error)
            self._shown = ()
            self.refresh()
            return False
        self._shown = ()
        self.refresh()
        return True

    def _rename(self, name: str) -> None:
        self._try(lambda i: edits.rename_panel(i, name), _("rename panel"))

    def _choose_ring(self, key: object) -> None:
        if key == NEW_RING:
            self.start_new_ring()
        elif isinstance(key, int):
            self._try(lambda i: edits.set_panel_ring(i, key), _("ring of the panel"))

    def _choose_weave(self, weave_id: object) -> None:
        panel = self._document.selected_panel
        if panel is None or not isinstance(weave_id, str):
            return
        if (
            self._try(lambda i: edits.set_weave(i, weave_id), _("weave"))
            and panel.lay.kind == "held"
        ):
            self._remarks.say(_("The width was held to in another weave: the panel is laid again."))

    def _choose_upright(self, key: object) -> None:
        if key == NEW_RING:
            self.start_new_ring(edits.set_upright_ring)
            return
        ring_id = key if isinstance(key, int) else None
        self._try(lambda i: edits.set_upright_ring(i, ring_id), _("upright ring"))

    def _set_copies(self, value: float) -> None:
        panel = self._document.selected_panel
        if panel is not None:
            copies, mirrored = int(value), panel.mirrored
            self._try(lambda i: edits.set_copies(i, copies, mirrored), _("copies"), "copies")

    def _set_mirrored(self, on: bool) -> None:
        panel = self._document.selected_panel
        if panel is not None:
            copies = panel.copies + (panel.copies % 2 if on else 0)
            done = self._try(lambda i: edits.set_copies(i, copies, on), _("mirrored pairs"))
            if done and copies != panel.copies:
                self._remarks.say(
                    _("Mirrored pairs need an even count: {before} became {now}.").format(
                        before=panel.copies, now=copies
                    )
                )

    # --- a new ring ----------------------------------------------------------------------------

    def start_new_ring(self, use: Callable[[int, int], Edit] = edits.set_panel_ring) -> None:
        """Show the form for a new ring, begun from the panel's.

        Args:
            use: the edit that gives the panel the ring, by their ids.
        """
        self._remarks.clear()
        self._new_for = use
        panel, project = self._document.selected_panel, self._document.project
        if panel is not None:
            self._show_rings(project, panel)
        begun = self._begun_from(panel)
        used = [r for r in project.rings if begun is None or r.id == begun]
        self.new_ring.begin(
            used[0] if used else None,
            project.unit,
            project.currency,
            lambda ring: ring_trouble(project, panel, ring, use is edits.set_upright_ring),
        )
        self._stack.setCurrentWidget(self.new_ring)
        self.new_ring.form.wire.setFocus()
        self.new_ring.form.wire.selectAll()

    def _begun_from(self, panel: Panel | None) -> int | None:
        if panel is None:
            return None
        return panel.ring_ids[-1 if self._new_for is edits.set_upright_ring else 0]

    def _ring_made(self, spec: RingSpec | None) -> None:
        if spec is not None:
            panel_id = self._document.panel_id

            def edit(project: Project) -> Project:
                after = edits.add_ring(spec)(project)
                if panel_id is None:
                    return after
                return self._new_for(panel_id, after.rings[-1].id)(after)

            self._remarks.clear()
            try:
                self._document.apply(edit, _("new ring"))
            except RingloftError as error:
                self.new_ring.refuse(error)
                return
        self._stack.setCurrentWidget(self.body)
        self._shown = ()
        self.refresh()
        at = self.body.upright if self._new_for is edits.set_upright_ring else self.body.ring
        at.setFocus()

    def _explain(self) -> None:
        panel = self._document.selected_panel
        if panel is not None:
            lines = how_panel(self._document.shown, panel)
            explain(self.body.how, _("How the count came about"), lines)

    def changeEvent(self, event: QEvent) -> None:
        """Bold heads come from the sheet; nothing is kept that a theme changes."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "body"):
            self.body.edges.viewport().update()
