"""Small pictures of the weaves, in the panel's own rings where they can make them."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtGui import QIcon

from core.panel import Panel
from core.project import Project

PICTURE = QSize(48, 30)


def pictures(project: Project, panel: Panel, dpr: float) -> dict[str, QIcon]:
    """A picture of each weave, by its id."""
    return {}
