"""What columns of widgets are built from: hairlines, heads, labelled fields, scrolling parts."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from app import theme as look

LABEL_WIDTH = 92


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


def form_layout(parent: QWidget | None = None) -> QFormLayout:
    """A column of labels and fields as all side columns have it."""
    form = QFormLayout()
    if parent is not None:
        parent.setLayout(form)
    form.setContentsMargins(0, 0, 0, 0)
    form.setHorizontalSpacing(12)
    form.setVerticalSpacing(6)
    form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form


def note(text: str, parent: QWidget | None = None) -> QLabel:
    """A label in ink2."""
    label = QLabel(text, parent)
    label.setProperty("kind", "note")
    return label


def add_row(form: QFormLayout, text: str, field: QWidget) -> None:
    """A labelled field; the label carries the keyboard focus to it."""
    label = note(text)
    label.setFixedWidth(LABEL_WIDTH)
    label.setMinimumHeight(look.CONTROL_HEIGHT)
    label.setBuddy(field)
    form.addRow(label, field)
