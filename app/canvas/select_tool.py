"""The tool that picks and moves points, lines and curve handles, and edits what is chosen."""

from __future__ import annotations

import math

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen

from app.canvas import hits
from app.canvas.bends import bulge, moved_handle
from app.canvas.tools import ARROWS, DRAG_PX, Board, Pointer, Tool
from app.canvas.view import View
from app.theme import Theme
from core.edits import (
    add_node,
    moved_nodes,
    set_edge,
    set_outline,
    with_corner,
    with_curve,
    without_nodes,
)
from core.errors import RingloftError
from core.outline import Node, Outline, polygon
from core.panel import Panel, next_edging
from core.tally import has_edge_rings, no_edge_rings_text
from core.texts import _, ngettext

_Key = Qt.Key
_Mod = Qt.KeyboardModifier


class SelectTool(Tool):
    """Picks and moves points, lines and curve handles; selects with a box."""

    name = "select"

    def __init__(self, board: Board) -> None:
        super().__init__(board)
        self.hovered: int | None = None
        self.dragged: frozenset[int] = frozenset()
        self._press: Pointer | None = None
        self._base: Outline | None = None
        self._anchor: Node | None = None
        self._handle: hits.Handle | None = None
        self._box: QRectF | None = None
        self._boxed: frozenset[int] = frozenset()
        self._moving = False
        self._bad: Outline | None = None
        self._last: Outline | None = None
        self._segment: int | None = None
        self._single: int | None = None
        self._toggled: int | None = None
        self._run = 0
        self._chosen: tuple[int | None, int | None, frozenset[int]] | None = None

    # --- what is chosen ----------------------------------------------------------------------

    @property
    def active(self) -> bool:
        """See `Tool.active`."""
        return self._press is not None

    @property
    def bad_outline(self) -> Outline | None:
        """See `Tool.bad_outline`."""
        return self._bad

    def segment(self) -> int | None:
        """First node of the chosen line: the one clicked, or the first of the chosen edge."""
        panel, edge = self.panel(), self.document.edge_id
        if panel is None or edge is None:
            return None
        segments = hits.edge_segments(panel.outline, edge)
        return self._segment if self._segment in segments else edge

    def segment_ids(self) -> frozenset[int]:
        """The chosen line, as a set, for drawing its handles."""
        chosen = self.segment()
        return frozenset() if chosen is None else frozenset({chosen})

    def selection_changed(self) -> None:
        """Something was selected, here or elsewhere: if it is another thing, a run of nudges
        ends.
        """
        document = self.document
        chosen = (document.panel_id, document.edge_id, document.node_ids)
        if chosen != self._chosen:
            self._chosen = chosen
            self._run += 1

    # --- pointer -----------------------------------------------------------------------------

    def press(self, at: Pointer) -> None:
        """See `Tool.press`."""
        panel = self.panel()
        self._reset()
        if panel is None:
            return
        outline, document = panel.outline, self.document
        self._press, self._base = at, outline
        place = {"x_mm": at.x_mm, "y_mm": at.y_mm, "tolerance_mm": self.tolerance_mm}
        node_id = hits.hit_node(outline, **place)
        handle = None
        if node_id is None:
            handle = hits.hit_handle(
                outline, **place, node_ids=document.node_ids, segment_ids=self.segment_ids()
            )
        if node_id is not None:
            self._anchor = outline.node(node_id)
            self._press_node(node_id, at.shift)
        elif handle is not None:
            self._handle = handle
        elif (line := hits.hit_line(outline, **place)) is not None:
            self._press_line(outline, line, at.shift)
        else:
            self._box = QRectF(at.x_mm, at.y_mm, 0, 0)
            self._boxed = document.node_ids if at.shift else frozenset()
            if not at.shift:
                document.select_nodes(frozenset())
                document.select_edge(None)

    def _press_node(self, node_id: int, shift: bool) -> None:
        chosen = self.document.node_ids
        if shift and node_id in chosen:
            self._toggled = node_id
        elif shift:
            self.document.select_nodes(chosen | {node_id})
        elif node_id not in chosen:
            self.document.select_nodes(frozenset({node_id}))
        else:
            # A click on one of several keeps only that one; a drag moves them all.
            self._single = node_id

    def _press_line(self, outline: Outline, line: hits.OnLine, shift: bool) -> None:
        self._segment = line.node_id
        self.document.select_edge(line.edge_id)
        ends = frozenset({line.node_id, hits.after(outline, line.node_id)})
        self.document.select_nodes(self.document.node_ids | ends if shift else frozenset())
        self._anchor = outline.node(line.node_id)
        self.board.update()

    def move(self, at: Pointer) -> None:
        """See `Tool.move`."""
        if self._press is None:
            self._hover(at)
            return
        far = math.hypot(at.x_px - self._press.x_px, at.y_px - self._press.y_px)
        if not self._moving and far < DRAG_PX:
            return
        self._moving = True
        if self._box is not None:
            self._drag_box(at)
        elif self._handle is not None:
            self._drag_handle(at)
        elif self._anchor is not None:
            self._drag_nodes(at)

    def _hover(self, at: Pointer) -> None:
        panel = self.panel()
        found = None
        if panel is not None:
            found = hits.hit_node(
                panel.outline, x_mm=at.x_mm, y_mm=at.y_mm, tolerance_mm=self.tolerance_mm
            )
        if found != self.hovered:
            self.hovered = found
            self.board.update()

    def _drag_box(self, at: Pointer) -> None:
        assert self._press is not None and self._base is not None
        start = self._press
        self._box = QRectF(start.x_mm, start.y_mm, at.x_mm - start.x_mm, at.y_mm - start.y_mm)
        found = hits.nodes_in_box(
            self._base, x0_mm=start.x_mm, y0_mm=start.y_mm, x1_mm=at.x_mm, y1_mm=at.y_mm
        )
        self.document.select_nodes(self._boxed | found)
        self.board.update()

    def _grabbed(self) -> frozenset[int]:
        assert self._base is not None and self._anchor is not None
        chosen = self.document.node_ids
        if chosen:
            return chosen
        segment = self.segment()
        if segment is None:
            return frozenset({self._anchor.id})
        return frozenset({segment, hits.after(self._base, segment)})

    def _drag_nodes(self, at: Pointer) -> None:
        assert self._press is not None and self._base is not None and self._anchor is not None
        anchor = self._anchor
        dx, dy = at.x_mm - self._press.x_mm, at.y_mm - self._press.y_mm
        if at.shift:
            dx, dy = (dx, 0.0) if abs(dx) >= abs(dy) else (0.0, dy)
        x, y = anchor.x_mm + dx, anchor.y_mm + dy
        if not at.alt:
            sx, sy = self.board.snap(x, y)
            # A direction that Shift holds still is not snapped either.
            x, y = sx if dx else x, sy if dy else y
        self.dragged = self._grabbed()
        self._try(moved_nodes(self._base, self.dragged, x - anchor.x_mm, y - anchor.y_mm))
        self.board.show_place(x, y)

    def _drag_handle(self, at: Pointer) -> None:
        assert self._base is not None and self._handle is not None
        x, y = (at.x_mm, at.y_mm) if at.alt else self.board.snap(at.x_mm, at.y_mm)
        self._try(moved_handle(self._base, self._handle, x, y, alone=at.alt))
        self.board.show_place(x, y)

    def _try(self, outline: Outline) -> None:
        panel_id = self.document.panel_id
        if panel_id is None:
            return
        self._last = outline
        try:
            self.document.show_preview(set_outline(panel_id, outline))
        except RingloftError as error:
            self._bad = outline
            self.board.warn(str(error))
            self.board.update()
            return
        if self._bad is not None:
            self._bad = None
            self.board.say("")

    def release(self, at: Pointer) -> None:
        """See `Tool.release`."""
        if self._press is None:
            return
        moved, bad, outline = self._moving, self._bad, self._last
        single, handle, grabbed = self._single, self._handle, self.dragged
        toggled = self._toggled
        self._reset()
        if not moved:
            if single is not None:
                self.document.select_nodes(frozenset({single}))
            elif toggled is not None:
                self.document.select_nodes(self.document.node_ids - {toggled})
            return
        if outline is None or self.document.panel_id is None:
            self.board.update()
            return
        if bad is not None:
            self.document.show_preview(None)
            _refuse(self.board, bad)
            return
        if handle is not None:
            text = _("Bend line")
        else:
            text = ngettext("Move point", "Move {n} points", len(grabbed)).format(n=len(grabbed))
        self.do(set_outline(self.document.panel_id, outline), text)
        self.board.update()

    def double(self, at: Pointer) -> None:
        """See `Tool.double`."""
        panel = self.panel()
        if panel is None:
            return
        place = {"x_mm": at.x_mm, "y_mm": at.y_mm, "tolerance_mm": self.tolerance_mm}
        node_id = hits.hit_node(panel.outline, **place)
        if node_id is not None:
            self.document.select_nodes(frozenset({node_id}))
            self.board.open_place_card()
        elif (line := hits.hit_line(panel.outline, **place)) is not None:
            self._add_point(panel, line.node_id, line.t)

    def _add_point(self, panel: Panel, start_id: int, t: float) -> None:
        new_id = self.document.project.next_id
        if self.do(add_node(panel.id, start_id, min(max(t, 0.01), 0.99)), _("Add point")):
            self.document.select_nodes(frozenset({new_id}))

    def _reset(self) -> None:
        self._press = self._base = self._anchor = self._handle = self._box = None
        self._bad = self._last = self._single = self._toggled = None
        self._moving = False
        self.dragged = frozenset()

    def cancel(self) -> bool:
        """See `Tool.cancel`."""
        if self._press is None:
            return False
        self._reset()
        self.document.show_preview(None)
        self.board.say("")
        self.board.update()
        return True

    def let_go(self) -> bool:
        """See `Tool.let_go`: every gesture of this tool hangs on the button."""
        return self.cancel()

    # --- keys --------------------------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        """See `Tool.key`."""
        key, held = event.key(), event.modifiers()
        shift, alt = bool(held & _Mod.ShiftModifier), bool(held & _Mod.AltModifier)
        if key == _Key.Key_Escape:
            return self.cancel() or self._clear()
        panel = self.panel()
        if panel is None or self.active:
            return False
        if key == _Key.Key_A and held & _Mod.ControlModifier:
            self.document.select_nodes(frozenset(n.id for n in panel.outline.nodes()))
            return True
        if held & _Mod.ControlModifier:
            return False
        if key in ARROWS:
            return self._nudge(panel, ARROWS[key], shift, alt)
        if key in (_Key.Key_Return, _Key.Key_Enter):
            self.board.open_place_card()
            return True
        if key in (_Key.Key_Delete, _Key.Key_Backspace):
            return self._delete(panel)
        acts = {
            _Key.Key_F: self._edging,
            _Key.Key_A: self._add_middle,
            _Key.Key_B: self._bend,
            _Key.Key_C: self._corner,
        }
        act = acts.get(_Key(key)) if key in acts else None
        return act is not None and not alt and act(panel)

    def _clear(self) -> bool:
        if not self.document.node_ids and self.document.edge_id is None:
            return False
        self.document.select_nodes(frozenset())
        self.document.select_edge(None)
        return True

    def _nudge(self, panel: Panel, way: tuple[int, int], shift: bool, alt: bool) -> bool:
        chosen = self.document.node_ids
        segment = self.segment()
        if not chosen and segment is not None:
            chosen = frozenset({segment, hits.after(panel.outline, segment)})
        if not chosen:
            return False
        step = self.board.step_mm(shift, alt)
        try:
            moved = moved_nodes(panel.outline, chosen, way[0] * step, way[1] * step)
            edit = set_outline(panel.id, moved)
        except RingloftError as error:
            self.board.warn(str(error))
            return True
        text = ngettext("Move point", "Move {n} points", len(chosen)).format(n=len(chosen))
        if self.do(edit, text, f"nudge {panel.id} {sorted(chosen)} {self._run}", settle=False):
            node = moved.node(min(chosen))
            self.board.reveal(node.x_mm, node.y_mm)
        return True

    def _delete(self, panel: Panel) -> bool:
        chosen = self.document.node_ids
        if not chosen:
            self.board.say(_("Choose the points to delete first."))
            return True
        try:
            edit = set_outline(panel.id, without_nodes(panel.outline, chosen))
        except RingloftError as error:
            self.board.warn(str(error))
            return True
        text = ngettext("Delete point", "Delete {n} points", len(chosen))
        self.do(edit, text.format(n=len(chosen)))
        return True

    def _edging(self, panel: Panel) -> bool:
        edge = self.document.edge_id
        if edge is None:
            self.board.say(_("Choose an edge first: click it, or press Tab."))
            return True
        if not has_edge_rings(panel):
            self.board.say(no_edge_rings_text())
            return True
        edging = next_edging(panel.finish(edge).edging)
        text = _("Edge with rings") if edging == "edged" else _("Leave edge plain")
        self.do(set_edge(panel.id, edge, edging), text)
        return True

    def _add_middle(self, panel: Panel) -> bool:
        segment = self.segment()
        if segment is None:
            self.board.say(_("Choose the line that takes the point first."))
        else:
            self._add_point(panel, segment, 0.5)
        return True

    def _corner(self, panel: Panel) -> bool:
        chosen = self.document.node_ids
        if not chosen:
            self.board.say(_("Choose the points to turn into corners first."))
            return True
        # One smooth point among several makes all of them corners.
        corner = not all(panel.outline.node(i).corner for i in chosen)
        outline = panel.outline
        for node_id in chosen:
            outline = with_corner(outline, node_id, corner)
        self.do(
            set_outline(panel.id, outline), _("Make a corner") if corner else _("Smooth a corner")
        )
        return True

    def _bend(self, panel: Panel) -> bool:
        segment = self.segment()
        if segment is None:
            self.board.say(_("Choose the line to bend first: click it, or press Tab."))
            return True
        a = panel.outline.node(segment)
        if a.curve is not None:
            outline, text = with_curve(panel.outline, segment, None), _("Straighten line")
        else:
            b = panel.outline.node(hits.after(panel.outline, segment))
            outline = with_curve(panel.outline, segment, bulge(panel.outline, a, b))
            text = _("Bend line")
        try:
            self.do(set_outline(panel.id, outline), text)
        except RingloftError as error:
            self.board.warn(str(error))
        return True

    def walk(self, forward: bool) -> bool:
        """See `Tool.walk`."""
        panel = self.panel()
        if panel is None or self.active:
            return False
        ids = [n.id for n in panel.outline.nodes()]
        stops = [*((i, False) for i in ids), *((i, True) for i in ids)]
        here: int | None = None
        if len(self.document.node_ids) == 1:
            here = stops.index((next(iter(self.document.node_ids)), False))
        elif not self.document.node_ids and (segment := self.segment()) is not None:
            here = stops.index((segment, True))
        if here is None:
            there = 0 if forward else len(stops) - 1
        else:
            there = here + (1 if forward else -1)
        if not 0 <= there < len(stops):
            self._clear()
            return False
        self._choose(panel.outline, *stops[there])
        return True

    def _choose(self, outline: Outline, node_id: int, line: bool) -> None:
        a = outline.node(node_id)
        x, y = a.x_mm, a.y_mm
        if line:
            b = outline.node(hits.after(outline, node_id))
            x, y = (x + b.x_mm) / 2, (y + b.y_mm) / 2
            self._segment = node_id
            self.document.select_nodes(frozenset())
            self.document.select_edge(hits.edge_of(outline, node_id))
        else:
            self.document.select_edge(None)
            self.document.select_nodes(frozenset({node_id}))
        self.board.reveal(x, y)
        self.board.update()

    def paint(self, painter: QPainter, view: View, theme: Theme) -> None:
        """See `Tool.paint`."""
        if self._box is None or not self._moving:
            return
        box = self._box.normalized()
        corner = view.to_px(box.left(), box.top())
        wash = QColor(theme.accent)
        wash.setAlpha(28)
        painter.setPen(QPen(theme.accent, 1.0, Qt.PenStyle.DashLine))
        painter.setBrush(wash)
        painter.drawRect(QRectF(*corner, box.width() * view.scale, box.height() * view.scale))


def _refuse(board: Board, outline: Outline) -> None:
    """Say why an outline was not taken."""
    try:
        polygon(outline)
    except RingloftError as error:
        board.warn(_("Not moved. {why}").format(why=error))
