"""What the inspector does about the lay: choosing one, a swatch, a held width, the usual one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, cast

from PySide6.QtCore import QObject

from app.document import Document
from app.measuring import measure_swatch
from app.messages import Remarks
from app.pages.inspector_body import InspectorBody
from core import edits
from core.edits import Edit
from core.errors import RingloftError
from core.estimate import hold_text
from core.panel import Holding, Panel, sheet_of
from core.project import Project
from core.ring import Ring, resolve
from core.texts import _
from core.use import first_width_percent, offered_lay, rows_text, why_lay, width_range_percent
from core.weave.lay import Lay, Swatch
from core.weave.sheet import LayKind

_Woven = tuple[int, tuple[int, ...], str]
"""A panel with its rings and weave: what is known of a lay is known of these."""


class TryEdit(Protocol):
    """Apply an edit of the selected panel; False when it was refused, and said so."""

    def __call__(
        self, make: Callable[[int], Edit], text: str, merge_key: str | None = None
    ) -> bool:
        """Apply it, as one step with others of that merge key."""
        ...


def _woven(panel: Panel) -> _Woven:
    return panel.id, panel.ring_ids, panel.weave


def _rings(project: Project, panel: Panel) -> tuple[Ring, ...]:
    return tuple(resolve(spec) for spec in project.rings_of(panel))


class LayPart(QObject):
    """The lay, grain and holding of the selected panel."""

    def __init__(
        self, document: Document, body: InspectorBody, remarks: Remarks, try_edit: TryEdit
    ) -> None:
        super().__init__(body)
        self._document, self._body = document, body
        self._remarks, self._try = remarks, try_edit
        self._swatches: dict[_Woven, Swatch] = {}
        self._widths: dict[_Woven, float] = {}
        self._asking: tuple[_Woven, Lay] | None = None
        self._again: Callable[[], None] = lambda: None
        body.lay.chosen.connect(self._choose)
        body.swatch.measured.connect(self._measured)
        body.swatch.card_wanted.connect(self._open_card)
        body.held_width.valued.connect(self._set_width)
        body.offer.taken.connect(self._take)
        body.held.chosen.connect(self._choose_held)
        body.grain.valued.connect(
            lambda v: self._try(lambda i: edits.set_grain(i, v), _("grain"), "grain")
        )
        body.grain.textChanged.connect(self._say_rows)
        for field in (body.swatch, body.held_width, body.grain):
            field.refused.connect(remarks.warn)

    def forget(self) -> None:
        """Forget what belonged to the costume before."""
        self._swatches.clear()
        self._widths.clear()
        self._asking = None

    # --- showing -------------------------------------------------------------------------------

    def show(self, project: Project, panel: Panel, again: Callable[[], None]) -> None:
        """Show the panel's lay, grain and holding; `again` shows the whole panel anew."""
        self._again = again
        body, lay, key = self._body, panel.lay, _woven(panel)
        if lay.swatch is not None:
            self._swatches[key] = lay.swatch
        if lay.kind == "held" and lay.width_percent is not None:
            self._widths[key] = lay.width_percent
        if self._asking != (key, lay):
            self._asking = None
        by_swatch = lay.kind == "swatch" or self._asking is not None
        body.lay.put("swatch" if by_swatch else lay.kind)
        body.form.setRowVisible(body.swatch, by_swatch)
        if by_swatch:
            body.swatch.show_swatch(lay.swatch, project.unit)
        else:
            body.swatch.forget()
        body.grain.show_value(panel.grain_deg, project.unit)
        body.held.put(panel.holding)
        self._show_width(project, panel, lay.kind == "held" and not by_swatch)
        self._show_offer(project, panel, by_swatch)

    def _show_width(self, project: Project, panel: Panel, wanted: bool) -> None:
        shown = False
        if wanted:
            try:
                rings = _rings(project, panel)
                between = width_range_percent(panel, rings)
                spread_mm = sheet_of(panel, rings, Lay("spread")).along_mm
            except RingloftError:
                pass  # the panel's trouble is told under the form
            else:
                percent = panel.lay.width_percent
                shown = percent is not None
                if percent is not None:
                    self._body.held_width.put(
                        percent, spread_mm, between, project.unit, flat=len(rings) > 1
                    )
        if not shown:
            self._body.held_width.forget()
        for part in (self._body.held_width, self._body.held_width.notes):
            self._body.form.setRowVisible(part, shown)

    def _show_offer(self, project: Project, panel: Panel, by_swatch: bool) -> None:
        lay = None
        if not by_swatch:
            try:
                lay = offered_lay(panel, _rings(project, panel))
            except RingloftError:
                lay = None
        self._body.offer.put(lay, "" if lay is None else why_lay(panel))
        self._body.form.setRowVisible(self._body.offer, lay is not None)

    def _say_rows(self) -> None:
        """How rows of the angle in the field, typed or set, run as worn."""
        try:
            angle = self._body.grain.read()
        except RingloftError:
            angle = None
        self._body.rows.setText("" if angle is None else rows_text(angle))

    # --- changing ------------------------------------------------------------------------------

    def _choose(self, kind: object) -> None:
        panel = self._document.selected_panel
        if panel is None:
            return
        if kind == "swatch":
            self._choose_swatch(panel)
            return
        self._asking = None
        if kind == "held":
            self._try(lambda i: edits.set_lay(i, self._held_lay(panel)), _("lay"))
            return
        self._try(lambda i: edits.set_lay(i, Lay(cast(LayKind, kind))), _("lay"))

    def _held_lay(self, panel: Panel) -> Lay:
        """The width this mail was held to before, or a sensible one."""
        known = self._widths.get(_woven(panel))
        rings = _rings(self._document.project, panel)
        low, high = width_range_percent(panel, rings)
        if known is None or not low <= known <= high:
            known = first_width_percent(panel, rings)
        return Lay("held", width_percent=known)

    def _choose_swatch(self, panel: Panel) -> None:
        # A swatch is known only in the rings and the weave it was measured in.
        known = self._swatches.get(_woven(panel))
        if known is None:
            trial = self._document.project.swatch(panel.ring_id, panel.weave)
            alike = trial is not None and trial.ring_ids == panel.ring_ids
            known = trial.swatch if trial is not None and alike else None
        if known is not None:
            self._try(lambda i: edits.set_lay(i, Lay("swatch", known)), _("lay"))
            return
        if self._asking is None:
            self._body.swatch.forget()
        self._asking = (_woven(panel), panel.lay)
        self._again()
        self._body.swatch.setFocus()

    def _measured(self, swatch: Swatch) -> None:
        self._try(lambda i: edits.set_lay(i, Lay("swatch", swatch)), _("swatch"))

    def _set_width(self, percent: float) -> None:
        lay = Lay("held", width_percent=percent)
        self._try(lambda i: edits.set_lay(i, lay), _("width held to"), "width")

    def _take(self, lay: Lay) -> None:
        if self._try(lambda i: edits.set_lay(i, lay), _("lay")):
            self._body.lay.setFocus()

    def _choose_held(self, holding: object) -> None:
        self._try(lambda i: edits.set_holding(i, cast(Holding, holding)), _("how it is held"))
        panel = self._document.selected_panel
        if panel is None:
            return
        trial = self._document.project.swatch(panel.ring_id, panel.weave)
        if panel.glued and trial is not None and trial.hold in ("lifts", "off"):
            metal = self._document.project.ring(panel.ring_id).metal
            self._remarks.say(hold_text(trial.hold, metal))

    def _open_card(self) -> None:
        """Measure a whole swatch of the panel's ring and weave."""
        panel = self._document.selected_panel
        if panel is not None:
            measure_swatch(
                self._document,
                panel.ring_id,
                panel.weave,
                self._body.window(),
                self._remarks,
                panel.id,
            )
