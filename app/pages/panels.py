"""The Panels page: the list at the left, the drawing in the middle, the inspector at the right."""

from __future__ import annotations

import math

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app import settings
from app import theme as look
from app.actions import ActionSet
from app.canvas.canvas import Canvas, ShowMode
from app.canvas.viewport import ZOOM_STEP
from app.document import Document
from app.figures import Unknown, panel_figures
from app.header import action_button
from app.measuring import Measuring
from app.messages import Remarks
from app.pages.inspector import Inspector
from app.pages.panel_list import PanelList
from app.starter import copy_name, first_ring, free_name, rectangle
from app.widgets.columns import rule, section, upright
from app.widgets.segment import Segment
from core import edits, units
from core.errors import RingloftError
from core.outline import polygon
from core.project import Project
from core.texts import _

SNAP_FROM, SIZES_FROM = 1180, 1080


class PanelsPage(QWidget):
    """Draw panels and see what they take."""

    def __init__(self, document: Document, hub: look.ThemeHub, remarks: Remarks) -> None:
        super().__init__()
        self._document, self._remarks = document, remarks
        self.list = PanelList(document)
        self.canvas = Canvas(document, hub)
        self.inspector = Inspector(document, remarks)
        self.measuring = Measuring(document, remarks, self)
        self.list.panel_model.refused.connect(remarks.warn)
        self.canvas.status.connect(remarks.say)
        self.canvas.caution.connect(remarks.warn)

    def build(self, actions: ActionSet) -> None:
        """Lay the page out, once the actions exist."""
        self._actions = actions
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._left())
        row.addWidget(upright())
        row.addWidget(self._middle(), 1)
        row.addWidget(upright())
        row.addWidget(self.inspector)
        self.canvas.tool_changed.connect(self._tool_changed)
        self.canvas.view_changed.connect(self._view_changed)
        self._document.changed.connect(self._follow)
        self._set_show(settings.get("view/show"))
        self.set_snap(bool(settings.get("view/snap")))
        self._tool_changed(self.canvas.tool_name)
        self._view_changed()
        self._follow()

    def _left(self) -> QWidget:
        left = QWidget()
        left.setProperty("kind", "panel")
        left.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        left.setFixedWidth(look.LIST_WIDTH)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        head = QHBoxLayout()
        head.setContentsMargins(16, 5, 8, 5)
        head.setSpacing(0)
        head.addWidget(section(_("Panels")))
        head.addStretch(1)
        for action_id in ("panel.duplicate", "panel.rename", "panel.delete"):
            head.addWidget(action_button(self._actions[action_id]))
        column.addLayout(head)
        column.addWidget(rule())
        self.card = self._empty_card()
        column.addWidget(self.card)
        column.addWidget(self.list, 1)
        foot = QHBoxLayout()
        foot.setContentsMargins(16, 8, 16, 12)
        self.draw = QPushButton(_("Draw a panel"))
        self.draw.setAccessibleName(_("Draw a panel"))
        self.draw.clicked.connect(self._actions["panel.outline"].trigger)
        foot.addWidget(self.draw)
        column.addLayout(foot)
        return left

    def _empty_card(self) -> QFrame:
        card = QFrame()
        card.setProperty("kind", "card")
        holder = QFrame()
        around = QVBoxLayout(holder)
        around.setContentsMargins(16, 16, 16, 0)
        around.addWidget(card)
        column = QVBoxLayout(card)
        column.setContentsMargins(12, 12, 12, 12)
        text = QLabel(_("To look around first, open a finished costume."))
        text.setProperty("kind", "note")
        text.setWordWrap(True)
        text.setAlignment(Qt.AlignmentFlag.AlignCenter)
        column.addWidget(text)
        self.sample = QPushButton(_("Open a sample"))
        self.sample.setAccessibleName(_("Open a sample"))
        self.sample.clicked.connect(self._actions["file.sample"].trigger)
        column.addWidget(self.sample)
        return holder

    def _middle(self) -> QWidget:
        middle = QWidget()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        bar = QWidget()
        bar.setAccessibleName(_("Drawing tools"))
        bar.setFixedHeight(41)
        row = QHBoxLayout(bar)
        row.setContentsMargins(10, 0, 12, 0)
        row.setSpacing(4)
        for action_id in ("panel.select", "panel.outline", "panel.hole"):
            row.addWidget(action_button(self._actions[action_id]))
        row.addSpacing(8)
        self.show_segment = Segment(
            _("Show"), (("rings", _("Rings")), ("rows", _("Rows")), ("outline", _("Outline")))
        )
        self.show_segment.chosen.connect(self._set_show)
        row.addWidget(self.show_segment)
        row.addSpacing(12)
        self.snap = QCheckBox()
        self.snap.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.snap.clicked.connect(self.set_snap)
        row.addWidget(self.snap)
        row.addStretch(1)
        row.addWidget(action_button(self._actions["view.zoom_out"]))
        self.zoom = QLabel("100 %")
        self.zoom.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.zoom.setMinimumWidth(52)
        self.zoom.setAccessibleName(_("Zoom"))
        row.addWidget(self.zoom)
        row.addWidget(action_button(self._actions["view.zoom_in"]))
        row.addSpacing(4)
        self._sizes = tuple(
            action_button(self._actions[key]) for key in ("view.true_size", "view.fit")
        )
        for button in self._sizes:
            row.addWidget(button)
        column.addWidget(bar)
        column.addWidget(rule())
        column.addWidget(self.canvas, 1)
        return middle

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In a narrow window, what the View menu also offers gives way."""
        super().resizeEvent(event)
        self.snap.setVisible(self.width() >= SNAP_FROM)
        for button in self._sizes:
            button.setVisible(self.width() >= SIZES_FROM)

    # --- following -----------------------------------------------------------------------------

    def _follow(self) -> None:
        project = self._document.shown
        self.card.setVisible(not project.panels and self._actions["file.sample"].isEnabled())
        self.draw.setVisible(bool(project.panels))
        text = _("Snap to 1/16 in") if project.unit == "in" else _("Snap to 1 mm")
        if self.snap.text() != text:
            self.snap.setText(text)
            self.snap.setAccessibleName(text)

    def _tool_changed(self, name: str) -> None:
        self._actions[f"panel.{name}"].setChecked(True)

    def _view_changed(self) -> None:
        self.zoom.setText(f"{self.canvas.zoom_ratio() * 100:.0f} %")

    def parts(self) -> tuple[QWidget, ...]:
        """The parts F6 goes through."""
        return (self.list, self.canvas, self.inspector.body.ring)

    # --- what actions call ---------------------------------------------------------------------

    def _set_show(self, mode: ShowMode) -> None:
        self.canvas.show_mode = mode
        self.show_segment.put(mode)
        self._actions[f"view.{mode}"].setChecked(True)
        settings.put("view/show", mode)

    def show_rings(self) -> None:
        """Fill the outline with rings."""
        self._set_show("rings")

    def show_rows(self) -> None:
        """Fill the outline with its rows."""
        self._set_show("rows")

    def show_outline(self) -> None:
        """Show the outline alone."""
        self._set_show("outline")

    def set_snap(self, on: bool) -> None:
        """Snap points to the grid, or not."""
        self.canvas.snap_mm = 1.0 if on else 0.0
        self.snap.setChecked(on)
        self._actions["view.snap"].setChecked(on)
        settings.put("view/snap", on)

    def zoom_in(self) -> None:
        """Magnify about the middle."""
        self.canvas.zoom_by(ZOOM_STEP)

    def zoom_out(self) -> None:
        """Show more of the drawing."""
        self.canvas.zoom_by(1 / ZOOM_STEP)

    def true_size(self) -> None:
        """Show things at their own size."""
        self.canvas.true_size()

    def fit(self) -> None:
        """Show the whole panel."""
        self.canvas.fit()

    def _tool(self, name: str) -> None:
        self.canvas.set_tool(name)
        self._tool_changed(self.canvas.tool_name)
        self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def select_tool(self) -> None:
        """Choose and move points."""
        self._tool("select")

    def outline_tool(self) -> None:
        """Draw a new panel."""
        self._tool("outline")

    def hole_tool(self) -> None:
        """Cut a hole into the selected panel."""
        self._tool("hole")

    def add_rectangle(self) -> None:
        """Add a rectangle to be reshaped; it can be done with the keyboard alone."""

        def edit(project: Project) -> Project:
            if not project.rings:
                project = edits.add_ring(first_ring())(project)
            current = next(
                (p.ring_id for p in project.panels if p.id == self._document.panel_id),
                project.rings[0].id,
            )
            name = free_name(project.panels, _("Panel"))
            return edits.add_panel(rectangle(current, name))(project)

        self._try(edit, _("add a rectangle"))

    def duplicate(self) -> None:
        """Add a copy of the selected panel."""
        panel_id, project = self._document.panel_id, self._document.project
        if panel_id is not None:
            name = copy_name(project.panels, project.panel(panel_id).name)
            # A copy counts as its original does, even where that was nudged.
            self._try(edits.duplicate_panel(panel_id, name), _("duplicate the panel"), settle=False)

    def centre_rows(self) -> None:
        """Place the rows evenly where most rings lie, now and later; say what that did."""
        panel_id = self._document.panel_id
        if panel_id is None:
            return
        before = self._document.project.panel(panel_id)
        self._try(edits.centre_rows(panel_id), _("place the rows"))
        after = self._document.project.panel(panel_id)
        counts = [
            found.tally.per_copy
            for found in (panel_figures(self._document.project, p) for p in (before, after))
            if not isinstance(found, Unknown)
        ]
        at = [(p.origin_x_mm, p.origin_y_mm) for p in (before, after)]
        if len(counts) < 2:
            self._remarks.say(_("Rows are placed evenly once the panel can be counted."))
        elif at[0] == at[1]:
            self._remarks.say(_("The rows lie evenly already."))
        else:
            self._remarks.say(
                _("Rows placed evenly: {before} rings in one before, {now} now.").format(
                    before=units.format_count(counts[0]), now=units.format_count(counts[1])
                )
            )

    def centre_ring(self) -> None:
        """Move the mesh so that a ring lies in the middle of the panel."""
        self._centre(0.0)

    def centre_gap(self) -> None:
        """Move the mesh so that the middle lies between two rings of a row."""
        self._centre(0.5)

    def _centre(self, share: float) -> None:
        panel_id, project = self._document.panel_id, self._document.project
        if panel_id is None:
            return
        panel = project.panel(panel_id)
        found = panel_figures(project, panel)
        if isinstance(found, Unknown):
            self._remarks.warn(found.why)
            return
        x0, y0, x1, y1 = polygon(panel.outline).bounds
        grain, off = math.radians(panel.grain_deg), share * found.tally.solved.along_mm
        place = ((x0 + x1) / 2 + off * math.cos(grain), (y0 + y1) / 2 + off * math.sin(grain))
        self._try(edits.set_origin(panel_id, *place), _("centre the rings"))

    def rename(self) -> None:
        """Type over the selected panel's name."""
        self.list.rename()

    def delete(self) -> None:
        """Delete the selected panel, or what is being drawn; undo brings a panel back."""
        # The selected panel is out of sight while another is drawn.
        if self.canvas.drop():
            return
        panel_id = self._document.panel_id
        if panel_id is not None:
            name = self._document.project.panel(panel_id).name
            self._try(edits.remove_panel(panel_id), _("delete the panel"))
            self._remarks.say(_("“{name}” deleted; Ctrl+Z brings it back.").format(name=name))

    def new_ring(self) -> None:
        """Show the form for a new ring."""
        self.inspector.start_new_ring()

    def _try(self, edit: edits.Edit, text: str, settle: bool = True) -> None:
        try:
            self._document.apply(edit, text, settle=settle)
        except RingloftError as error:
            self._remarks.warn(error)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Delete in the list deletes the panel."""
        if event.key() == Qt.Key.Key_Delete and self.list.hasFocus():
            self.delete()
            event.accept()
            return
        super().keyPressEvent(event)
