"""Every change to a costume, as a pure function from project to project.

Untouched parts stay the same object, and an edit that changes nothing returns the project itself,
so that identity tells views and memos what to redo. An edit refuses bad input by raising before
anything has changed.
"""

from __future__ import annotations

from core.edits.common import (
    Edit,
)
from core.edits.costume import (
    rename_project,
    set_practice,
    set_spare,
    set_unit,
)
from core.edits.outlines import (
    add_hole,
    add_node,
    moved_nodes,
    set_outline,
    with_added_node,
    with_corner,
    with_curve,
    without_nodes,
)
from core.edits.panels import (
    MAX_PANELS,
    add_panel,
    centre_rows,
    duplicate_panel,
    remove_panel,
    rename_panel,
    set_copies,
    set_edge,
    set_grain,
    set_holding,
    set_lay,
    set_origin,
    set_panel_ring,
    set_rule,
    set_upright_ring,
    set_weave,
    set_woven,
)
from core.edits.rings import (
    add_ring,
    remove_ring,
    set_ring,
)
from core.edits.swatches import (
    put_swatch,
    remove_swatch,
)

__all__ = [
    "Edit",
    "MAX_PANELS",
    "add_hole",
    "add_node",
    "add_panel",
    "add_ring",
    "centre_rows",
    "duplicate_panel",
    "moved_nodes",
    "put_swatch",
    "remove_panel",
    "remove_ring",
    "remove_swatch",
    "rename_panel",
    "rename_project",
    "set_copies",
    "set_edge",
    "set_grain",
    "set_holding",
    "set_lay",
    "set_origin",
    "set_outline",
    "set_panel_ring",
    "set_practice",
    "set_ring",
    "set_rule",
    "set_spare",
    "set_unit",
    "set_upright_ring",
    "set_weave",
    "set_woven",
    "with_added_node",
    "with_corner",
    "with_curve",
    "without_nodes",
]
