"""What columns of widgets are built from: hairlines, heads, a part that scrolls."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget


def rule() -> QFrame:
    """A hairline across a column."""
    line = QFrame()
    line.setProperty("kind", "rule")
    line.setFixedHeight(1)
    return line


def upright(parent: QWidget | None = None) -> QFrame:
    """A hairline between columns or groups of buttons."""
    line = QFrame(parent)
    line.setProperty("kind", "rule")
    line.setFixedWidth(1)
    return line


def section(text: str) -> QLabel:
    """The head of a section."""
    label = QLabel(text)
    label.setProperty("kind", "section")
    return label


def scrolled(name: str) -> tuple[QScrollArea, QVBoxLayout]:
    """A column that scrolls up and down when it is higher than its place.

    Args:
        name: what the part is called.

    Returns:
        The part to place, which takes no focus itself, and the column to fill.
    """
    area = QScrollArea()
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setAccessibleName(name)
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    inner = QWidget()
    inner.setProperty("kind", "panel")
    column = QVBoxLayout(inner)
    area.setWidget(inner)
    return area, column
