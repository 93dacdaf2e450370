"""What the small windows of a ring have in common: a column, a line for trouble, two buttons."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.messages import sentence
from core import units
from core.errors import RingloftError
from core.mandrels import Rod
from core.ring import RingSpec
from core.texts import _

TALLEST = 0.9
"""Share of the screen a card may take."""

Take = Callable[[RingSpec], None]
"""Takes a ring that was made in a card; raises RingloftError with nothing changed."""


class RingCard(QDialog):
    """A question about one ring whose answer makes another ring of it.

    Enter is "Use", Esc puts it off. When the ring is refused the card stays as it is.
    """

    def __init__(self, parent: QWidget, title: str, spec: RingSpec, unit: str, take: Take) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        self.setAccessibleName(title)
        self.spec, self.unit, self._take = spec, unit, take
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(24, 16, 24, 16)
        self.column.setSpacing(12)
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "warn")
        self.trouble.setWordWrap(True)
        self.trouble.setTextFormat(Qt.TextFormat.PlainText)
        keep_room(self.trouble)
        self.trouble.hide()
        self.use, self.cancel = QPushButton(), QPushButton(_("Cancel"))
        self.cancel.setAccessibleName(_("Cancel"))
        self.use.setDefault(True)
        self.use.clicked.connect(self._use)
        self.cancel.clicked.connect(self.reject)

    def add_foot(self, use: str, *between: QWidget) -> None:
        """The line for trouble and the buttons, at the column's end."""
        self.use.setText(use)
        self.use.setAccessibleName(use)
        row = QHBoxLayout()
        row.setSpacing(8)
        for button in (self.use, *between):
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(self.cancel)
        self.column.addWidget(self.trouble)
        self.column.addLayout(row)

    def say_trouble(self, error: RingloftError | None) -> None:
        """Say why it cannot be done, in one line; None clears it."""
        text = "" if error is None else sentence(str(error))
        self.trouble.setText(f"⚠ {text}" if text else "")
        self.trouble.setAccessibleName(text)
        self.trouble.setVisible(bool(text))
        self.grow()

    def grow(self) -> None:
        """Become as high as the words need; a line that goes again leaves its room."""
        self.column.activate()
        need = self.column.totalHeightForWidth(self.width())
        if need > 0:
            self.setMinimumHeight(min(need, self._tallest()))

    def _tallest(self) -> int:
        return round(self.screen().availableGeometry().height() * TALLEST)

    def made(self) -> RingSpec:
        """The ring the card stands for; raises RingloftError with the reason."""
        raise NotImplementedError

    def give(self, spec: RingSpec) -> None:
        """Hand a ring over and close, or say why it was refused and stay."""
        try:
            self._take(spec)
        except RingloftError as error:
            self.say_trouble(error)
            return
        self.accept()

    def _use(self) -> None:
        try:
            spec = self.made()
        except RingloftError as error:
            self.say_trouble(error)
            return
        self.give(spec)


def keep_room(label: QLabel, padding_px: int = 0, lines: int = 2) -> None:
    """Let a label keep the room of its words while hidden, so that nothing moves as it comes."""
    policy = label.sizePolicy()
    policy.setRetainSizeWhenHidden(True)
    label.setSizePolicy(policy)
    label.setMinimumHeight(lines * label.fontMetrics().lineSpacing() + padding_px)
    label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


def tidy_length(mm: float, unit: str, places: int = 2) -> str:
    """A length with its unit, without noughts at its end: "8 mm", "7.5 mm", "5/16 in"."""
    number, _space, name = units.format_length(
        mm, unit, None if unit == "in" else places
    ).rpartition(units.SPACE)
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number}{units.SPACE}{name}"


def rod_text(rod: Rod, unit: str) -> str:
    """A rod as it is sold, with its size in the unit shown where that is another one."""
    if rod.series == "sixteenth":
        sold = units.format_length(rod.mm, "in")
        return sold if unit == "in" else f"{sold} ({tidy_length(rod.mm + 1e-9, 'mm', 3)})"
    sold = tidy_length(rod.mm, "mm", 1)
    if unit != "in":
        return sold
    return f"{sold} ({units.format_length(rod.mm, 'in')})"
