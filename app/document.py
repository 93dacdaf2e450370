"""The one store of the window: a frozen project, its undo stack, its path, what is selected.

Views read `shown` and redraw on `changed`; nothing else changes the project. A gesture shows its
preview through `show_preview` and pushes one edit when it ends.
"""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from core.edits import Edit
from core.panel import Panel
from core.placing import settled
from core.project import Project


class _EditCommand(QUndoCommand):
    """One step: the project before and after, with the panel selected at each."""

    def __init__(
        self, document: Document, text: str, after: Project, merge_key: str | None
    ) -> None:
        super().__init__(text)
        self._document = document
        self._before = document.project
        self._after = after
        self._merge_key = merge_key
        self._panel_before = document.panel_id

    def redo(self) -> None:
        self._document._settle(self._after, None)

    def undo(self) -> None:
        self._document._settle(self._before, self._panel_before)

    def id(self) -> int:
        return -1 if self._merge_key is None else hash(self._merge_key) & 0x7FFFFFFF

    def mergeWith(self, other: QUndoCommand) -> bool:  # noqa: N802
        if not isinstance(other, _EditCommand) or other._merge_key != self._merge_key:
            return False
        self._after = other._after
        if self._after == self._before:
            self.setObsolete(True)
        return True


class Document(QObject):
    """Holds the project and everything that may change it.

    Signals:
        changed: what is shown changed (an edit, undo, redo, a preview or a load).
        selection_changed: another panel, edge or node is selected.
        loaded: another project took the place of all there was; emitted before `changed`.
        file_changed: the path or the saved state changed (the title depends on it).
    """

    changed = Signal()
    selection_changed = Signal()
    loaded = Signal()
    file_changed = Signal()

    def __init__(self, project: Project, path: Path | None = None) -> None:
        super().__init__()
        self._project = project
        self._preview: Project | None = None
        self._path = path
        self._panel_id = project.panels[0].id if project.panels else None
        self._edge_id: int | None = None
        self._node_ids: frozenset[int] = frozenset()
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._clean_changed)

    # --- what views read ---------------------------------------------------------------------

    @property
    def project(self) -> Project:
        """The project as edited so far, without any preview."""
        return self._project

    @property
    def shown(self) -> Project:
        """The project to draw: the preview of a running gesture, else the project."""
        return self._preview or self._project

    @property
    def previewing(self) -> bool:
        """Whether a gesture is showing a preview."""
        return self._preview is not None

    @property
    def path(self) -> Path | None:
        """Where the project was last loaded from or saved to."""
        return self._path

    @property
    def dirty(self) -> bool:
        """Whether there is anything to save."""
        return not self.undo_stack.isClean()

    @property
    def panel_id(self) -> int | None:
        """The selected panel."""
        return self._panel_id

    @property
    def selected_panel(self) -> Panel | None:
        """The selected panel as it is shown; None when none is, or when a preview lacks it."""
        return next((p for p in self.shown.panels if p.id == self._panel_id), None)

    @property
    def shown_panel_id(self) -> int | None:
        """The panel to answer for: one that is being drawn, else the selected one."""
        if self._preview is not None:
            known = {p.id for p in self._project.panels}
            for panel in self._preview.panels:
                if panel.id not in known:
                    return panel.id
        return self._panel_id

    @property
    def edge_id(self) -> int | None:
        """The selected edge of the selected panel, by the node it starts at."""
        return self._edge_id

    @property
    def node_ids(self) -> frozenset[int]:
        """The selected points of the selected panel."""
        return self._node_ids

    # --- changes -----------------------------------------------------------------------------

    def apply(
        self, edit: Edit, text: str, merge_key: str | None = None, settle: bool = True
    ) -> bool:
        """Run an edit and push it as one undoable step; edits of one `merge_key` in a row merge.

        Rows of centred panels are then placed anew, unless `settle` is False (a step of a gesture
        that goes on, such as a nudge).

        Returns:
            Whether anything changed. Raises whatever the edit raises, with nothing changed.
        """
        try:
            after = edit(self._project)
        except Exception:
            self.show_preview(None)
            raise
        if after is self._project:
            self.show_preview(None)
            return False
        if settle:
            after = settled(self._project, after)
        self._preview = None
        self.undo_stack.push(_EditCommand(self, text, after, merge_key))
        return True

    def show_preview(self, edit: Edit | None) -> None:
        """Show what an edit would do without making it; None shows the project again.

        Raises whatever the edit raises; the last preview then stays.
        """
        if edit is None and self._preview is None:
            return
        self._preview = None if edit is None else edit(self._project)
        self.changed.emit()

    def load(self, project: Project, path: Path | None) -> None:
        """Replace everything: another project, nothing to undo, nothing to save."""
        self._project, self._preview, self._path = project, None, path
        self._panel_id = project.panels[0].id if project.panels else None
        self._edge_id, self._node_ids = None, frozenset()
        self.undo_stack.clear()
        self.loaded.emit()
        self.changed.emit()
        self.selection_changed.emit()
        self.file_changed.emit()

    def mark_saved(self, path: Path) -> None:
        """Note that the project as it is now lies at that path."""
        self._path = path
        self.undo_stack.setClean()
        self.file_changed.emit()

    def select_panel(self, panel_id: int | None) -> None:
        """Select a panel; its edges and points start unselected."""
        if panel_id != self._panel_id:
            self._panel_id = panel_id
            self._edge_id, self._node_ids = None, frozenset()
            self.selection_changed.emit()

    def select_edge(self, node_id: int | None) -> None:
        """Select an edge of the selected panel."""
        if node_id != self._edge_id:
            self._edge_id = node_id
            self.selection_changed.emit()

    def select_nodes(self, node_ids: frozenset[int]) -> None:
        """Select points of the selected panel."""
        if node_ids != self._node_ids:
            self._node_ids = node_ids
            self.selection_changed.emit()

    def _clean_changed(self, _clean: bool) -> None:
        # A method, not a lambda: it is disconnected when the document is deleted.
        self.file_changed.emit()

    def _settle(self, project: Project, panel_id: int | None) -> None:
        before = {p.id for p in self._project.panels}
        self._project = project
        self._preview = None
        now = [p.id for p in project.panels]
        added = [i for i in now if i not in before]
        wanted: int | None
        if panel_id in now:
            wanted = panel_id
        elif added:
            wanted = added[-1]
        elif self._panel_id in now:
            wanted = self._panel_id
        else:
            wanted = now[-1] if now else None
        moved = wanted != self._panel_id
        self._panel_id = wanted
        if wanted is not None:
            ids = {n.id for n in project.panel(wanted).outline.nodes()}
            kept = self._node_ids & ids
            edge_id = self._edge_id if self._edge_id in ids else None
            moved |= kept != self._node_ids or edge_id != self._edge_id
            self._node_ids, self._edge_id = kept, edge_id
        self.changed.emit()
        if moved:
            self.selection_changed.emit()
