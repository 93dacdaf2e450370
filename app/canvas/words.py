"""What the canvas says: to those who cannot see it, and when there is nothing to see."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QVBoxLayout, QWidget

from app.document import Document
from core.panel import Panel
from core.tally import has_edge_rings
from core.texts import _
from core.units import format_length


def described(document: Document, panel: Panel | None) -> str:
    """A sentence on what is on the canvas and what of it is chosen."""
    unit, chosen = document.project.unit, document.node_ids
    if panel is None:
        return _("No panel. Choose the outline tool to draw one.")
    ids = [n.id for n in panel.outline.nodes()]
    if len(chosen) == 1 and chosen <= set(ids):
        node = panel.outline.node(next(iter(chosen)))
        return _("{panel}: point {k} of {n}, x {x}, y {y}. Enter types its place.").format(
            panel=panel.name,
            k=ids.index(node.id) + 1,
            n=len(ids),
            x=format_length(node.x_mm, unit, 1),
            y=format_length(node.y_mm, unit, 1),
        )
    if chosen:
        return _("{panel}: {n} points chosen.").format(panel=panel.name, n=len(chosen))
    if document.edge_id is not None:
        finish = panel.finish(document.edge_id)
        name = finish.name or _("without a name")
        if not has_edge_rings(panel):
            return _("{panel}: edge {name}.").format(panel=panel.name, name=name)
        return _("{panel}: edge {name}, {edging}.").format(
            panel=panel.name,
            name=name,
            edging=_("edged") if finish.edging == "edged" else _("plain"),
        )
    return _("{panel}. Tab walks its points and lines.").format(panel=panel.name)


def key_lines() -> tuple[str, ...]:
    """What the keys of the canvas do, a line each, as in the window's own list."""
    return (
        _("On the drawing, while it has the keyboard:"),
        _("Next point, then next line: Tab; the one before: Shift+Tab"),
        _("Move what is chosen, or the pointer while drawing, by 1 mm or 1/16 in: Arrows"),
        _("Move by 10 mm or 1/2 in: Shift+Arrows; by 0.1 mm or 1/128 in: Alt+Arrows"),
        _("Place a point while drawing: A or Space"),
        _("Add a point in the middle of the chosen line: A"),
        _("Type the length of the next line while drawing: a digit"),
        _("Close the drawing, or type the place of the chosen point: Enter"),
        _("Take back the last point while drawing: Backspace"),
        _("Drop the drawing or the drag, or choose nothing: Esc"),
        _("Choose all points: Ctrl+A"),
        _("Delete the chosen points: Delete"),
        _("Edge with rings, or leave plain: F"),
        _("Bend or straighten the chosen line: B"),
        _("Make a corner of the chosen point, or smooth it: C"),
        _("Zoom in, zoom out, true size, fit: +, −, 1, 0"),
        _("Pan: Ctrl+Arrows, or drag with Space held"),
    )


class EmptyCard(QFrame):
    """Shown while a costume has no panel: the next step, and the button that takes it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setProperty("kind", "card")
        box = QVBoxLayout(self)
        box.setContentsMargins(24, 20, 24, 20)
        box.setSpacing(12)
        words = QLabel(_("Draw the outline of a panel to see how many rings it takes."), self)
        words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.button = QPushButton(_("Draw an outline"), self)
        self.button.setProperty("kind", "primary")
        box.addWidget(words)
        box.addWidget(self.button, 0, Qt.AlignmentFlag.AlignHCenter)
