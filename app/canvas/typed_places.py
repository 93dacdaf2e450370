"""The cards of the canvas at work: what is typed becomes a preview, then one edit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QPointF, Qt

from app.canvas import cards
from app.canvas.draw_tools import DrawTool
from app.canvas.guard import guarded
from core.edits import Edit, moved_nodes, set_outline
from core.errors import RingloftError
from core.texts import _, ngettext

if TYPE_CHECKING:
    from app.canvas.canvas import Canvas


class CanvasCards:
    """The place card and the length card of one canvas."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.document = canvas.document
        self.place = cards.place_card(canvas)
        self.place.entered.connect(self._take_place)
        self.place.edited.connect(self._try_place)
        self.place.dropped.connect(self._drop_place)
        self.length = cards.length_card(canvas)
        self.length.entered.connect(self._take_length)
        self.length.dropped.connect(self._drop_length)

    def close(self) -> None:
        """Hide both cards; the keyboard goes back to the canvas."""
        for card in (self.place, self.length):
            if not card.isHidden():
                if card is self.place and not self.canvas.tool.active:
                    # What was typed but not entered is dropped.
                    self.document.show_preview(None)
                held = any(field.hasFocus() for field in card.fields)
                card.hide()
                if held:
                    self.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def hide_place(self) -> None:
        """Take away the place shown during a drag."""
        if not any(field.hasFocus() for field in self.place.fields):
            self.place.hide()

    def _near(self, x_mm: float, y_mm: float) -> QPoint:
        return QPointF(*self.canvas.view.to_px(x_mm, y_mm)).toPoint()

    def _node_texts(self) -> tuple[str, str]:
        panel = self.canvas.select_tool.panel()
        assert panel is not None
        node = panel.outline.node(min(self.document.node_ids))
        return cards.place_texts(node.x_mm, node.y_mm, self.document.project.unit)

    def show_place(self, x_mm: float, y_mm: float) -> None:
        """Show a place beside the pointer, not to be typed into."""
        texts = cards.place_texts(x_mm, y_mm, self.document.project.unit)
        self.place.open_at(self._near(x_mm, y_mm), texts, focus=False)

    def open_place(self) -> None:
        """Let the maker type the place of the chosen point."""
        panel = self.canvas.select_tool.panel()
        if panel is None or not self.document.node_ids:
            self.canvas.say(_("Choose a point first: click it, or press Tab."))
            return
        node = panel.outline.node(min(self.document.node_ids))
        self.canvas.reveal(node.x_mm, node.y_mm)
        self.place.open_at(self._near(node.x_mm, node.y_mm), self._node_texts(), focus=True)

    def open_length(self, first: str) -> None:
        """Let the maker type the length and angle of the line being drawn."""
        tool = self.canvas.tool
        if not isinstance(tool, DrawTool) or not tool.points:
            return
        last = tool.points[-1]
        at = self._near(*(tool.at or (last.x_mm, last.y_mm)))
        self.length.open_at(at, cards.line_texts(first, tool.heading_deg()), focus=True)
        self.length.fields[0].end(False)

    def _place_edit(self) -> Edit | str:
        """The edit that moves the chosen points so that the first lies where the card says.

        Returns:
            The edit, or what is wrong with the card. Raises BadOutline.
        """
        panel, ids = self.canvas.select_tool.panel(), self.document.node_ids
        if panel is None or not ids:
            return _("No point is chosen.")
        place = cards.read_place(self.place, self.document.project.unit)
        if isinstance(place, str):
            return place
        node = panel.outline.node(min(ids))
        # A field left as it was keeps the exact place, which it shows rounded.
        same = [a == b for a, b in zip(self.place.texts(), self._node_texts(), strict=True)]
        dx = 0.0 if same[0] else place[0] - node.x_mm
        dy = 0.0 if same[1] else place[1] - node.y_mm
        return set_outline(panel.id, moved_nodes(panel.outline, ids, dx, dy))

    @guarded
    def _try_place(self, _x: str, _y: str) -> None:
        try:
            edit = self._place_edit()
        except RingloftError as error:
            self.canvas.warn(str(error))
            return
        # Half a number is no fault yet.
        self.place.set_bad(None)
        if not isinstance(edit, str):
            self.canvas.say("")
            self.document.show_preview(edit)

    @guarded
    def _take_place(self, _x: str, _y: str) -> None:
        try:
            edit = self._place_edit()
        except RingloftError as error:
            self.place.set_bad(0, str(error))
            edit = str(error)
        if isinstance(edit, str):
            self.canvas.warn(edit)
            return
        n = len(self.document.node_ids)
        self.close()
        self.canvas.say("")
        self.canvas.tool.do(edit, ngettext("Move point", "Move {n} points", n).format(n=n))

    @guarded
    def _drop_place(self) -> None:
        self.close()
        self.canvas.say("")

    @guarded
    def _take_length(self, _length: str, _angle: str) -> None:
        line = cards.read_line(self.length, self.document.project.unit)
        if isinstance(line, str):
            self.canvas.warn(line)
            return
        self._drop_length()
        if isinstance(self.canvas.tool, DrawTool):
            self.canvas.tool.add_by_length(*line)

    @guarded
    def _drop_length(self) -> None:
        self.close()
        if isinstance(self.canvas.tool, DrawTool):
            # The way on stays in sight, in place of what was wrong with the card.
            self.canvas.tool.remark()
