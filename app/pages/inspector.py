"""The inspector: everything about the selected panel, each number typed over where it stands."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QLabel, QStackedWidget, QVBoxLayout, QWidget

from app import theme as look
from app.document import Document
from app.figures import Unknown, count_range, how_panel, panel_figures
from app.measuring import measure_swatch
from app.messages import Remarks
from app.pages.inspector_body import InspectorBody
from app.pages.new_ring import NewRing
from app.widgets.explain import explain
from core import edits, units
from core.edits import Edit
from core.errors import RingloftError
from core.estimate import hold_text
from core.panel import Panel
from core.project import Project
from core.ring import RingSpec
from core.tally import PanelTally, tally_edges
from core.texts import _
from core.weave.lay import Lay, LayKind, Swatch

NEW_RING = "new"


class Inspector(QWidget):
    """The right column of the Panels page."""

    def __init__(self, document: Document, hub: look.ThemeHub, remarks: Remarks) -> None:
        super().__init__()
        self._document, self._remarks = document, remarks
        self._swatches: dict[tuple[int, int], Swatch] = {}
        self._asking: tuple[int, int, Lay] | None = None
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
        self._connect()
        self.refresh()

    def _connect(self) -> None:
        body, warn = self.body, self._remarks.warn
        body.name.committed.connect(self._rename)
        body.ring.chosen.connect(self._choose_ring)
        body.lay.chosen.connect(self._choose_lay)
        body.swatch.measured.connect(self._measured)
        body.grain.valued.connect(
            lambda v: self._try(lambda i: edits.set_grain(i, v), _("grain"), "grain")
        )
        body.rings_lie.chosen.connect(
            lambda v: self._try(lambda i: edits.set_rule(i, v), _("where rings lie"))
        )
        body.held.chosen.connect(self._choose_held)
        body.copies.valued.connect(self._set_copies)
        body.mirrored.clicked.connect(self._set_mirrored)
        body.how.clicked.connect(self._explain)
        body.swatch.card_wanted.connect(self._open_card)
        for field in (body.swatch, body.grain, body.copies):
            field.refused.connect(warn)

    def _loaded(self) -> None:
        """Forget what belonged to the costume before."""
        self._swatches.clear()
        self._asking = None
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
        self.body.weave.put(panel.weave)
        choices = tuple((r.id, r.name) for r in project.rings)
        if self.body.ring.set_choices((*choices, (NEW_RING, _("New ring…")))):
            for row, spec in enumerate(project.rings):
                wire = units.format_wire(spec.wire_mm, spec.wire_label, project.unit)
                self.body.ring.setItemData(row, wire, Qt.ItemDataRole.ToolTipRole)
        self.body.ring.put(panel.ring_id)
        if panel.lay.swatch is not None:
            self._swatches[panel.id, panel.ring_id] = panel.lay.swatch
        if self._asking != (panel.id, panel.ring_id, panel.lay):
            self._asking = None
        by_swatch = panel.lay.kind == "swatch" or self._asking is not None
        self.body.lay.put("swatch" if by_swatch else panel.lay.kind)
        self.body.form.setRowVisible(self.body.swatch, by_swatch)
        if by_swatch:
            self.body.swatch.show_swatch(panel.lay.swatch, project.unit)
        else:
            self.body.swatch.forget()
        self.body.grain.show_value(panel.grain_deg, project.unit)
        self.body.rings_lie.put(panel.rule)
        self.body.held.put(panel.glued)
        self.body.copies.show_value(float(panel.copies), project.unit)
        self.body.mirrored.setChecked(panel.mirrored)

    def _show_unknown(self, panel: Panel, why: str) -> None:
        self._warn(why)
        self.body.edges.put(tally_edges(panel, {}), counted=False)
        for key in ("body", "dangling", "edge"):
            self.body.counts.put(key, "—")
        self.body.total.put("all", "—")
        self.body.range.setText("")
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
        # Counting the range takes as long as the count itself, twice: not while the hand moves.
        self.body.range.setText(
            _("The range by lay follows when you let go.")
            if self._document.previewing
            else self._range_text(panel, tally)
        )
        for key, value in (
            ("along", units.format_length(solved.along_mm, unit)),
            ("across", units.format_length(solved.across_mm, unit)),
            ("thickness", units.format_length(solved.thickness_mm, unit)),
            ("cover", f"{solved.cover * 100:.0f}{units.SPACE}%"),
        ):
            self.body.sheet.put(key, value)

    @staticmethod
    def _range_text(panel: Panel, tally: PanelTally) -> str:
        if tally.range is None:
            return _("As measured on the swatch.")
        lead = count_range(*tally.range)
        if panel.copies > 1:
            return _("{range} for all {n}, by lay, until a swatch is measured.").format(
                range=lead, n=panel.copies
            )
        return _("{range} by lay, until a swatch is measured.").format(range=lead)

    def _note_edge(self) -> None:
        edge_id, unit = self._document.edge_id, self._document.shown.unit
        found = next((e for e in self.body.edges.edge_model.edges if e.node_id == edge_id), None)
        if found is None:
            text = _("Click an edge's mark, or press F on it, to change its edging.")
        else:
            text = _("{name}: {length} long.").format(
                name=found.name, length=units.format_length(found.length_mm, unit)
            )
            if found.edging == "edged" and self.body.edges.edge_model.counted:
                why = (
                    _("Edge rings reach past the outline.")
                    if found.rings
                    else _("No vacant place along this edge links two body rings.")
                )
                text = f"{text} {why}"
        self.body.edge_note.setText(text)

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

    def _choose_lay(self, kind: object) -> None:
        panel = self._document.selected_panel
        if panel is None:
            return
        if kind == "swatch":
            # A swatch is known only in the ring it was measured in.
            known = self._swatches.get((panel.id, panel.ring_id))
            if known is None:
                trial = self._document.project.swatch(panel.ring_id, panel.weave)
                known = None if trial is None else trial.swatch
            if known is not None:
                self._try(lambda i: edits.set_lay(i, Lay("swatch", known)), _("lay"))
                return
            if self._asking is None:
                self.body.swatch.forget()
            self._asking = (panel.id, panel.ring_id, panel.lay)
            self._shown = ()
            self.refresh()
            self.body.swatch.setFocus()
            return
        self._asking = None
        self._try(lambda i: edits.set_lay(i, Lay(cast(LayKind, kind))), _("lay"))

    def _choose_held(self, glued: object) -> None:
        self._try(lambda i: edits.set_holding(i, "glued" if glued else "hanging"), _("how it is held"))
        panel = self._document.selected_panel
        if panel is None:
            return
        trial = self._document.project.swatch(panel.ring_id, panel.weave)
        if glued and trial is not None and trial.hold in ("lifts", "off"):
            metal = self._document.project.ring(panel.ring_id).metal
            self._remarks.say(hold_text(trial.hold, metal))
        if panel.lay.kind == "swatch":
            return
        if not glued and panel.lay.kind in ("laid", "spread"):
            self._remarks.say(
                _(
                    "Hanging mail draws together: choose the lay “Drawn across” when the rows lie"
                    " level as worn, “Drawn along” when they stand upright."
                )
            )

    def _open_card(self) -> None:
        """Measure a whole swatch of the panel's ring and weave."""
        panel = self._document.selected_panel
        if panel is not None:
            measure_swatch(
                self._document, panel.ring_id, panel.weave, self.window(), self._remarks, panel.id
            )

    def _measured(self, swatch: Swatch) -> None:
        self._try(lambda i: edits.set_lay(i, Lay("swatch", swatch)), _("swatch"))

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

    def start_new_ring(self) -> None:
        """Show the form for a new ring, begun from the panel's ring."""
        self._remarks.clear()
        panel, project = self._document.selected_panel, self._document.project
        self.body.ring.put(panel.ring_id if panel else None)
        used = [r for r in project.rings if panel is None or r.id == panel.ring_id]
        self.new_ring.begin(used[0] if used else None, project.unit, project.currency)
        self._stack.setCurrentWidget(self.new_ring)
        self.new_ring.form.wire.setFocus()
        self.new_ring.form.wire.selectAll()

    def _ring_made(self, spec: RingSpec | None) -> None:
        if spec is not None:
            panel_id = self._document.panel_id

            def edit(project: Project) -> Project:
                after = edits.add_ring(spec)(project)
                if panel_id is None:
                    return after
                return edits.set_panel_ring(panel_id, after.rings[-1].id)(after)

            self._remarks.clear()
            try:
                self._document.apply(edit, _("new ring"))
            except RingloftError as error:
                self.new_ring.refuse(error)
                return
        self._stack.setCurrentWidget(self.body)
        self._shown = ()
        self.refresh()
        self.body.ring.setFocus()

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
