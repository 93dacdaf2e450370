"""Everything the maker can do, in one table; menus, toolbars, the list of keys and a test read it.

`slot` is a dotted path from the main window: "files.save" is `window.files.save`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from app import theme as look
from app.widgets import icons
from core.texts import _

Menu = Literal["file", "edit", "view", "panel", "ring", "help"]
When = Literal["always", "panel", "undo", "redo", "panels_page", "canvas", "samples", "ring"]


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do.

    Attributes:
        id: "menu.verb".
        text: as the menu shows it.
        slot: dotted path from the main window; called without arguments, or with True or False
            when `group` is "" and the action is checkable.
        shortcut: portable key sequence, "" for none.
        icon: name in `app.widgets.icons`, "" for none.
        when: when it can be done.
        checkable: shows a state.
        group: actions of one group exclude each other.
        apart: a rule stands before it in the menu.
    """

    id: str
    text: str
    slot: str
    shortcut: str = ""
    icon: str = ""
    when: When = "always"
    checkable: bool = False
    group: str = ""
    apart: bool = False

    @property
    def menu(self) -> Menu:
        """The menu it stands in."""
        return cast(Menu, self.id.partition(".")[0])


def menus() -> tuple[tuple[Menu, str], ...]:
    """The menus from left to right."""
    return (
        ("file", _("&File")),
        ("edit", _("&Edit")),
        ("view", _("&View")),
        ("panel", _("&Panel")),
        ("ring", _("&Ring")),
        ("help", _("&Help")),
    )


@cache
def table() -> tuple[Action, ...]:
    """All actions, menu by menu, in their order."""
    panel: When = "panel"
    return (
        Action("file.new", _("New costume"), "files.new", "Ctrl+N", "new"),
        Action("file.open", _("Open…"), "files.open", "Ctrl+O", "open"),
        Action("file.sample", _("Open a sample"), "files.open_sample", when="samples"),
        Action("file.save", _("Save"), "files.save", "Ctrl+S", "save", apart=True),
        Action("file.save_as", _("Save as…"), "files.save_as", "Ctrl+Shift+S"),
        Action("file.picture", _("Save picture…"), "files.pictures.save", "Ctrl+Shift+P"),
        Action("file.rename", _("Name of the costume…"), "files.rename", apart=True),
        Action("file.quit", _("Quit"), "close", "Ctrl+Q", apart=True),
        Action("edit.undo", _("Undo"), "document.undo_stack.undo", "Ctrl+Z", "undo", "undo"),
        Action("edit.redo", _("Redo"), "document.undo_stack.redo", "Ctrl+Shift+Z", "redo", "redo"),
        Action(
            "edit.novice",
            _("Count as a novice"),
            "counting.novice",
            "",
            "",
            "always",
            True,
            "practice",
            True,
        ),
        Action(
            "edit.practised",
            _("Count as a practised maker"),
            "counting.practised",
            "",
            "",
            "always",
            True,
            "practice",
        ),
        Action("edit.spare", _("Spare rings…"), "counting.ask_spare"),
        Action(
            "view.rings",
            _("Show rings"),
            "panels.show_rings",
            "Ctrl+Shift+1",
            "",
            "panels_page",
            True,
            "show",
        ),
        Action(
            "view.rows",
            _("Show rows"),
            "panels.show_rows",
            "Ctrl+Shift+2",
            "",
            "panels_page",
            True,
            "show",
        ),
        Action(
            "view.outline",
            _("Show the outline alone"),
            "panels.show_outline",
            "Ctrl+Shift+3",
            "",
            "panels_page",
            True,
            "show",
        ),
        Action(
            "view.snap", _("Snap to the grid"), "panels.set_snap", "Ctrl+G", "", "panels_page", True
        ),
        Action(
            "view.zoom_in",
            _("Zoom in"),
            "panels.zoom_in",
            "Ctrl++",
            "add",
            "panels_page",
            apart=True,
        ),
        Action(
            "view.zoom_out", _("Zoom out"), "panels.zoom_out", "Ctrl+-", "remove", "panels_page"
        ),
        Action(
            "view.true_size",
            _("True size"),
            "panels.true_size",
            "Ctrl+0",
            "true-size",
            "panels_page",
        ),
        Action("view.fit", _("Fit the panel"), "panels.fit", "Ctrl+9", "fit", "panels_page"),
        Action("view.check_size", _("Check the size on screen…"), "size_on_screen.check"),
        Action("view.mm", _("Millimetres"), "use_mm", "", "", "always", True, "unit", True),
        Action("view.in", _("Inches"), "use_in", "", "", "always", True, "unit"),
        Action(
            "view.system",
            _("Light or dark as the system"),
            "use_system_theme",
            "",
            "",
            "always",
            True,
            "theme",
            True,
        ),
        Action("view.light", _("Light"), "use_light_theme", "", "", "always", True, "theme"),
        Action("view.dark", _("Dark"), "use_dark_theme", "", "", "always", True, "theme"),
        Action("view.next", _("Next part of the window"), "next_part", "F6", apart=True),
        Action("view.previous", _("Previous part of the window"), "previous_part", "Shift+F6"),
        Action(
            "panel.select",
            _("Select and move"),
            "panels.select_tool",
            "V",
            "select",
            "panels_page",
            True,
            "tool",
        ),
        Action(
            "panel.outline",
            _("Draw a panel’s outline"),
            "panels.outline_tool",
            "O",
            "outline",
            "panels_page",
            True,
            "tool",
        ),
        Action(
            "panel.hole", _("Cut a hole"), "panels.hole_tool", "H", "hole", "canvas", True, "tool"
        ),
        Action(
            "panel.rectangle",
            _("Add a rectangle"),
            "panels.add_rectangle",
            "Ctrl+Shift+N",
            apart=True,
        ),
        Action(
            "panel.duplicate", _("Duplicate the panel"), "panels.duplicate", "Ctrl+D", "copy", panel
        ),
        Action(
            "panel.rename", _("Rename the panel"), "panels.rename", "Ctrl+F2", "rename", "canvas"
        ),
        Action("panel.delete", _("Delete the panel"), "panels.delete", "Ctrl+Del", "delete", panel),
        Action(
            "panel.centre_rows",
            _("Place the rows evenly"),
            "panels.centre_rows",
            when=panel,
            apart=True,
        ),
        Action("panel.centre_ring", _("Centre on a ring"), "panels.centre_ring", when=panel),
        Action("panel.centre_gap", _("Centre between two rings"), "panels.centre_gap", when=panel),
        Action(
            "panel.explain",
            _("How the count came about"),
            "explain_panel",
            "F1",
            "info",
            panel,
            apart=True,
        ),
        Action("ring.new", _("New ring…"), "panels.new_ring", "Ctrl+R", "ring", "canvas"),
        Action("ring.swatch", _("Measure a swatch…"), "panels.measuring.measure", "Ctrl+Shift+M"),
        Action(
            "ring.find_mandrel", _("Find a mandrel…"), "rings.find_mandrel", when="ring", apart=True
        ),
        Action("ring.trial_coil", _("Trial coil…"), "rings.trial_coil", when="ring"),
        Action("help.keys", _("Keys"), "show_keys", "Ctrl+F1"),
        Action("help.costume", _("How the costume’s numbers came about"), "explain_costume"),
        Action("help.about", _("About Ringloft"), "show_about", apart=True),
    )


def find_slot(window: object, slot: str) -> Callable[..., object]:
    """The callable a dotted path names; raises AttributeError when there is none."""
    target = window
    for part in slot.split("."):
        target = getattr(target, part)
    if not callable(target):
        raise AttributeError(slot)
    return target


class ActionSet:
    """The table made into QActions of one window."""

    def __init__(self, window: QWidget) -> None:
        self._made: dict[str, QAction] = {}
        groups: dict[str, QActionGroup] = {}
        for action in table():
            made = QAction(action.text, window)
            made.setObjectName(action.id)
            tip = action.text.rstrip("…")
            if action.shortcut:
                keys = QKeySequence(action.shortcut)
                made.setShortcut(keys)
                tip += f" ({keys.toString(QKeySequence.SequenceFormat.NativeText)})"
            made.setToolTip(tip)
            made.setCheckable(action.checkable)
            if action.group:
                group = groups.setdefault(action.group, QActionGroup(window))
                group.addAction(made)
            slot = find_slot(window, action.slot)
            if action.checkable and not action.group:
                made.triggered.connect(slot)
            else:
                made.triggered.connect(lambda _on=False, slot=slot: slot())
            window.addAction(made)
            self._made[action.id] = made
        self.paint_icons()

    def __getitem__(self, action_id: str) -> QAction:
        return self._made[action_id]

    def paint_icons(self) -> None:
        """Draw all icons in the colours of the theme."""
        for action in table():
            if action.icon:
                self._made[action.id].setIcon(icons.icon(action.icon, look.current()))

    def enable(self, holds: dict[When, bool]) -> None:
        """Enable what can be done now."""
        for action in table():
            self._made[action.id].setEnabled(holds[action.when])

    def fill(self, menu: QMenu, key: Menu) -> None:
        """Put a menu's actions into it."""
        for action in table():
            if action.menu == key:
                if action.apart:
                    menu.addSeparator()
                menu.addAction(self._made[action.id])
