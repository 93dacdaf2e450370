"""A row of buttons of which one is chosen."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QFrame, QHBoxLayout, QSizePolicy, QToolButton, QWidget

from core.texts import _


class SegmentButton(QToolButton):
    """One choice; the arrow keys move to its neighbours."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and Right choose the neighbour."""
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
            return
        group = self.group()
        buttons = [b for b in group.buttons() if b.isEnabled()] if group else [self]
        beside = buttons[(buttons.index(self) + step) % len(buttons)]
        beside.setFocus(Qt.FocusReason.TabFocusReason)
        beside.click()


class Segment(QFrame):
    """A choice of few, all in sight.

    Signals:
        chosen: the key of the choice the maker made.
    """

    chosen = Signal(str)

    def __init__(
        self, name: str, choices: tuple[tuple[str, str], ...], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setProperty("kind", "segments")
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        self._buttons: dict[str, QToolButton] = {}
        for key, text in choices:
            button = SegmentButton(self)
            button.setText(text)
            button.setCheckable(True)
            button.setProperty("kind", "segment")
            button.setAccessibleName(f"{name}: {text}")
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(lambda _on=False, key=key: self.chosen.emit(key))
            self._group.addButton(button)
            self._buttons[key] = button
            row.addWidget(button)

    def button(self, key: str) -> QToolButton:
        """The button of a choice."""
        return self._buttons[key]

    def key(self) -> str | None:
        """The choice made."""
        return next((k for k, b in self._buttons.items() if b.isChecked()), None)

    def put(self, key: str) -> None:
        """Show a choice without emitting `chosen`."""
        self._buttons[key].setChecked(True)


class ScopeSegment(Segment):
    """The choice between the selected panel, by its name, and the costume.

    Args:
        name: what is asked, such as "Count for".
        named: the panel's button in words, with {name} for the panel's name.
        room_px: the longest a panel's name may be on the button.
    """

    def __init__(self, name: str, named: str, room_px: int) -> None:
        super().__init__(name, (("panel", _("Panel")), ("costume", _("Costume"))))
        self._named, self._room_px = named, room_px
        self.put("panel")

    def name_panel(self, name: str | None) -> None:
        """Name the panel; None when there is none."""
        button, name = self.button("panel"), name or _("Panel")
        if button.toolTip() == name:
            return
        metrics = QFontMetrics(button.font())
        button.setText(metrics.elidedText(name, Qt.TextElideMode.ElideRight, self._room_px))
        button.setToolTip(name)
        button.setAccessibleName(self._named.format(name=name))
