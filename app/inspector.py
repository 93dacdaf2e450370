"""The inspector: everything about the selected panel, each number typed over where it stands."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app import fields
from app import theme as look
from app.document import Document
from app.edge_list import EdgeList
from app.explain import explain
from app.figures import Unknown, count_range, how_panel, panel_figures
from app.messages import Remarks
from app.new_ring import NewRing
from app.ring_form import add_row, form_layout, note
from app.swatch_fields import SwatchFields
from core import edits, units
from core.edits import Edit
from core.errors import RingloftError
from core.panel import MAX_COPIES, Panel
from core.project import Project
from core.ring import RingSpec
from core.tally import PanelTally
from core.texts import _
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch

NEW_RING = "new"


def rule(parent: QWidget | None = None) -> QFrame:
    """A hairline across the column."""
    line = QFrame(parent)
    line.setFixedHeight(1)
    line.setObjectName("hairline")
    line.setProperty("kind", "rule")
    return line


def section(text: str) -> QLabel:
    """The head of a section."""
    label = QLabel(text)
    label.setProperty("kind", "section")
    return label


class Lines(QWidget):
    """Rows of a label and a right-aligned number."""

    def __init__(self, rows: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        self._labels: dict[str, tuple[QLabel, QLabel]] = {}
        for key, text in rows:
            row = QHBoxLayout()
            row.setContentsMargins(0, 0, 0, 0)
            left, right = note(text), QLabel()
            right.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            # A number that grows must not lay the whole column out again at each frame.
            right.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            row.addWidget(left)
            row.addWidget(right, 1)
            column.addLayout(row)
            self._labels[key] = (left, right)

    def put(self, key: str, text: str) -> None:
        """Show a number."""
        left, right = self._labels[key]
        if right.text() != text:
            right.setText(text)
            right.setAccessibleName(f"{left.text()}: {text}")

    def text(self, key: str) -> str:
        """What is shown."""
        return self._labels[key][1].text()

    def bold(self, key: str) -> None:
        """Set a row as the total."""
        for label in self._labels[key]:
            label.setProperty("kind", "section")


class Inspector(QWidget):
    """The right column of the Panels page."""

    new_ring_wanted = Signal()

    def __init__(self, document: Document, hub: look.ThemeHub, remarks: Remarks) -> None:
        super().__init__()
        self._document, self._remarks = document, remarks
        self._swatches: dict[int, Swatch] = {}
        self._asking_swatch: int | None = None
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
        self._body = self._build_body()
        self.new_ring = NewRing(remarks)
        self.new_ring.finished.connect(self._ring_made)
        for page in (self._empty, self._body, self.new_ring):
            self._stack.addWidget(page)

        document.changed.connect(self.refresh)
        document.selection_changed.connect(self.refresh)
        self.refresh()

    # --- building ------------------------------------------------------------------------------

    def _build_body(self) -> QWidget:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        head = QHBoxLayout()
        head.setContentsMargins(9, 6, 16, 6)
        self.name = fields.TextField(_("Name of the panel"))
        self.name.setProperty("kind", "title")
        self.name.setFont(look.font(look.PX_SECTION, bold=True))
        self.name.committed.connect(self._rename)
        self.pairing = note("")
        self.pairing.setFont(look.font(look.PX_UNIT))
        head.addWidget(self.name, 1)
        head.addWidget(self.pairing)
        column.addLayout(head)
        column.addWidget(rule())
        area = QScrollArea()
        area.setAccessibleName(_("Properties of the panel"))
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inner = QWidget()
        inner.setProperty("kind", "panel")
        self._column = QVBoxLayout(inner)
        self._column.setContentsMargins(0, 0, 0, 16)
        self._column.setSpacing(0)
        self._build_form()
        self._build_edges()
        self._build_counts()
        self._column.addStretch(1)
        area.setWidget(inner)
        column.addWidget(area, 1)
        self._area = area
        return body

    def _padded(self, top: int = 12, bottom: int = 12) -> QVBoxLayout:
        box = QVBoxLayout()
        box.setContentsMargins(16, top, 16, bottom)
        box.setSpacing(6)
        self._column.addLayout(box)
        return box

    def _build_form(self) -> None:
        box = self._padded()
        form = form_layout()
        box.addLayout(form)
        self.weave = fields.Combo(_("Weave"), tuple((w.id, _(w.name)) for w in WEAVES.values()))
        self.ring = fields.Combo(_("Ring"))
        self.ring.chosen.connect(self._choose_ring)
        self.lay = fields.Combo(
            _("Lay"),
            (
                ("laid", _("Laid")),
                ("spread", _("Spread")),
                ("along", _("Drawn along")),
                ("across", _("Drawn across")),
                ("swatch", _("As measured on a swatch")),
            ),
        )
        self.lay.chosen.connect(self._choose_lay)
        self.swatch = SwatchFields()
        self.swatch.measured.connect(self._measured)
        self.swatch.refused.connect(self._remarks.warn)
        self.grain = fields.QuantityField(_("Grain, the angle of the rows"), fields.ANGLE)
        self.grain.valued.connect(
            lambda v: self._try(lambda i: edits.set_grain(i, v), _("grain"), self.grain, "grain")
        )
        self.grain.refused.connect(self._remarks.warn)
        self.rings_lie = fields.Combo(
            _("Rings lie"), (("whole", _("Whole inside")), ("centre", _("Centres inside")))
        )
        self.rings_lie.chosen.connect(
            lambda v: self._try(lambda i: edits.set_rule(i, v), _("where rings lie"))
        )
        self.held = fields.Combo(
            _("Held"), ((True, _("Glued or sewn to a pad")), (False, _("Hanging free")))
        )
        self.held.chosen.connect(
            lambda v: self._try(lambda i: edits.set_glued(i, v), _("how it is held"))
        )
        self.copies = fields.QuantityField(_("Copies"), fields.count(1, MAX_COPIES))
        self.copies.valued.connect(self._set_copies)
        self.copies.refused.connect(self._remarks.warn)
        self.mirrored = QCheckBox(_("As mirrored pairs"))
        self.mirrored.setAccessibleName(_("As mirrored pairs"))
        self.mirrored.clicked.connect(self._set_mirrored)
        for text, field in (
            (_("Weave"), self.weave),
            (_("Ring"), self.ring),
            (_("Lay"), self.lay),
        ):
            add_row(form, text, field)
        form.addRow(self.swatch)
        for text, field in (
            (_("Grain"), self.grain),
            (_("Rings lie"), self.rings_lie),
            (_("Held"), self.held),
            (_("Copies"), self.copies),
            ("", self.mirrored),
        ):
            add_row(form, text, field)
        self._form = form
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "warn")
        self.trouble.setWordWrap(True)
        self.trouble.hide()
        box.addWidget(self.trouble)
        self._column.addWidget(rule())

    def _build_edges(self) -> None:
        head = QHBoxLayout()
        head.setContentsMargins(16, 10, 16, 4)
        head.addWidget(section(_("Edges")))
        head.addStretch(1)
        hint = note(_("rings"))
        hint.setFont(look.font(look.PX_UNIT))
        head.addWidget(hint)
        self._column.addLayout(head)
        self.edges = EdgeList(self._document)
        self._column.addWidget(self.edges)
        self.edge_note = note("")
        self.edge_note.setFont(look.font(look.PX_UNIT))
        self.edge_note.setContentsMargins(16, 4, 16, 10)
        self.edge_note.setWordWrap(True)
        self._column.addWidget(self.edge_note)
        self._column.addWidget(rule())

    def _build_counts(self) -> None:
        box = self._padded(10, 10)
        self.counts_head = section(_("Rings in one"))
        box.addWidget(self.counts_head)
        self.counts = Lines(
            (
                ("body", _("Body")),
                ("dangling", _("Left out, would hang by one link")),
                ("edge", _("Edges")),
            )
        )
        box.addWidget(self.counts)
        box.addWidget(rule())
        self.total = Lines((("all", _("All")),))
        self.total.bold("all")
        box.addWidget(self.total)
        self.range = note("")
        self.range.setFont(look.font(look.PX_UNIT))
        self.range.setWordWrap(True)
        box.addWidget(self.range)
        self.how = QPushButton(_("How this came about"))
        self.how.setProperty("kind", "link")
        self.how.setAccessibleName(_("How the count came about"))
        self.how.clicked.connect(self._explain)
        box.addWidget(self.how, 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addWidget(rule())
        box = self._padded(10, 0)
        box.addWidget(section(_("The sheet")))
        self.sheet = Lines(
            (
                ("along", _("Ring to ring along a row")),
                ("across", _("Row to row")),
                ("thickness", _("Thickness")),
                ("cover", _("Hidden by metal")),
            )
        )
        box.addWidget(self.sheet)

    # --- showing -------------------------------------------------------------------------------

    def panel(self) -> Panel | None:
        """The selected panel as it is shown."""
        wanted = self._document.panel_id
        return next((p for p in self._document.shown.panels if p.id == wanted), None)

    def refresh(self) -> None:
        """Show the selected panel."""
        project, panel = self._document.shown, self.panel()
        if self._stack.currentWidget() is not self.new_ring:
            self._stack.setCurrentWidget(self._empty if panel is None else self._body)
        if panel is None:
            return
        key = (panel, project.rings, project.unit, project.practice)
        if len(key) == len(self._shown) and all(
            a is b for a, b in zip(key, self._shown, strict=True)
        ):
            self._note_edge()
            return
        self._shown = key
        if panel.id != self._asking_swatch:
            self._asking_swatch = None
        self._show_form(project, panel)
        found = panel_figures(project, panel)
        if isinstance(found, Unknown):
            self._show_unknown(found.why)
        else:
            self._show_tally(project, panel, found.tally)
        self._note_edge()

    def _show_form(self, project: Project, panel: Panel) -> None:
        self.name.put(panel.name)
        if panel.mirrored:
            pairs = panel.copies // 2
            pairing = _("Mirrored pair") if pairs == 1 else _("{n} mirrored pairs").format(n=pairs)
        else:
            pairing = "" if panel.copies == 1 else _("× {n}").format(n=panel.copies)
        self.pairing.setText(pairing)
        self.weave.put(panel.weave)
        choices = tuple((r.id, r.name) for r in project.rings)
        self.ring.set_choices((*choices, (NEW_RING, _("New ring…"))))
        self.ring.put(panel.ring_id)
        if panel.lay.swatch is not None:
            self._swatches[panel.id] = panel.lay.swatch
        by_swatch = panel.lay.kind == "swatch" or self._asking_swatch == panel.id
        self.lay.put("swatch" if by_swatch else panel.lay.kind)
        self._form.setRowVisible(self.swatch, by_swatch)
        self.swatch.show_swatch(self._swatches.get(panel.id), project.unit, panel.id)
        self.grain.show_value(panel.grain_deg, project.unit)
        self.rings_lie.put(panel.rule)
        self.held.put(panel.glued)
        self.copies.show_value(float(panel.copies), project.unit)
        self.mirrored.setChecked(panel.mirrored)

    def _show_unknown(self, why: str) -> None:
        self._warn(why)
        for key in ("body", "dangling", "edge"):
            self.counts.put(key, "—")
        self.total.put("all", "—")
        self.range.setText("")
        for key in ("along", "across", "thickness", "cover"):
            self.sheet.put(key, "—")

    def _warn(self, text: str) -> None:
        shown = f"⚠ {text}" if text else ""
        if self.trouble.text() != shown:
            self.trouble.setText(shown)
        self.trouble.setVisible(bool(text))

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
        self.edges.put(tally.edges)
        count = units.format_count
        self.counts_head.setText(_("Rings in one") if panel.copies > 1 else _("Rings"))
        self.counts.put("body", count(tally.body))
        self.counts.put("dangling", count(-tally.dangling) if tally.dangling else "0")
        self.counts.put("edge", count(tally.edge))
        self.total.put("all", count(tally.per_copy))
        self.range.setText(self._range_text(panel, tally))
        for key, value in (
            ("along", units.format_length(solved.along_mm, unit)),
            ("across", units.format_length(solved.across_mm, unit)),
            ("thickness", units.format_length(solved.thickness_mm, unit)),
            ("cover", f"{solved.cover * 100:.0f}{units.SPACE}%"),
        ):
            self.sheet.put(key, value)

    @staticmethod
    def _range_text(panel: Panel, tally: PanelTally) -> str:
        if tally.low is None or tally.high is None:
            return _("As measured on the swatch.")
        lead = count_range(tally.low, tally.high)
        if panel.copies > 1:
            return _("{range} for all {n}, by lay, until a swatch is measured.").format(
                range=lead, n=panel.copies
            )
        return _("{range} by lay, until a swatch is measured.").format(range=lead)

    def _note_edge(self) -> None:
        edge_id, unit = self._document.edge_id, self._document.shown.unit
        found = next((e for e in self.edges.edge_model.edges if e.node_id == edge_id), None)
        if found is None:
            text = _("Click an edge's mark, or press F on it, to change its edging.")
        else:
            text = _("{name}: {length} long").format(
                name=found.name, length=units.format_length(found.length_mm, unit)
            )
        self.edge_note.setText(text)

    # --- changing ------------------------------------------------------------------------------

    def _try(
        self,
        make: Callable[[int], Edit],
        text: str,
        field: fields.TextField | None = None,
        merge_key: str | None = None,
    ) -> bool:
        panel_id = self._document.panel_id
        if panel_id is None:
            return False
        try:
            self._document.apply(make(panel_id), text, merge_key and f"{merge_key}-{panel_id}")
        except RingloftError as error:
            self._remarks.warn(error)
            self._shown = ()
            if field is not None:
                field.set_bad(True)
            self.refresh()
            return False
        self._remarks.clear()
        self._shown = ()
        self.refresh()
        return True

    def _rename(self, name: str) -> None:
        self._try(lambda i: edits.rename_panel(i, name), _("rename panel"), self.name)

    def _choose_ring(self, key: object) -> None:
        if key == NEW_RING:
            self.start_new_ring()
        elif isinstance(key, int):
            self._try(lambda i: edits.set_panel_ring(i, key), _("ring of the panel"))

    def _choose_lay(self, kind: object) -> None:
        panel = self.panel()
        if panel is None:
            return
        if kind == "swatch":
            known = self._swatches.get(panel.id)
            self._asking_swatch = panel.id
            if known is None:
                self._shown = ()
                self.refresh()
                self.swatch.setFocus()
                return
            self._try(lambda i: edits.set_lay(i, Lay("swatch", known)), _("lay"))
            return
        self._asking_swatch = None
        self._try(lambda i: edits.set_lay(i, Lay(kind)), _("lay"))  # type: ignore[arg-type]

    def _measured(self, swatch: Swatch) -> None:
        self._try(lambda i: edits.set_lay(i, Lay("swatch", swatch)), _("swatch"))

    def _set_copies(self, value: float) -> None:
        panel = self.panel()
        if panel is not None:
            copies, mirrored = int(value), panel.mirrored
            self._try(
                lambda i: edits.set_copies(i, copies, mirrored), _("copies"), self.copies, "copies"
            )

    def _set_mirrored(self, on: bool) -> None:
        panel = self.panel()
        if panel is not None:
            copies = panel.copies + (panel.copies % 2 if on else 0)
            self._try(lambda i: edits.set_copies(i, copies, on), _("mirrored pairs"))

    # --- a new ring ----------------------------------------------------------------------------

    def start_new_ring(self) -> None:
        """Show the form for a new ring, begun from the panel's ring."""
        panel, project = self.panel(), self._document.project
        self.ring.put(panel.ring_id if panel else None)
        used = [r for r in project.rings if panel is None or r.id == panel.ring_id]
        self.new_ring.begin(used[0] if used else None, project.unit)
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

            try:
                self._document.apply(edit, _("new ring"))
            except RingloftError as error:
                self.new_ring.refuse(error)
                return
            self._remarks.clear()
        self._stack.setCurrentWidget(self._body)
        self._shown = ()
        self.refresh()
        self.ring.setFocus()

    def _explain(self) -> None:
        panel = self.panel()
        if panel is not None:
            lines = how_panel(self._document.shown, panel)
            explain(self.how, _("How the count came about"), lines)

    def changeEvent(self, event: QEvent) -> None:
        """Bold heads come from the sheet; nothing is kept that a theme changes."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "edges"):
            self.edges.viewport().update()
