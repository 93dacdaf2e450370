"""The window: menus, the header, the pages, the count strip. Logic lives in document and pages."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import shiboken6
from PySide6.QtCore import QEvent, QRect, Qt
from PySide6.QtGui import QAction, QCloseEvent, QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QMainWindow,
    QMenu,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app import actions as table
from app import settings
from app import theme as look
from app.canvas.words import key_lines
from app.count_strip import CountStrip
from app.counting import Counting
from app.document import Document
from app.figures import how_costume, how_panel
from app.files import Files, sample_files
from app.header import Header
from app.messages import Remarks
from app.pages.panels import PanelsPage
from app.pages.rings import RingsPage
from app.pages.true_size_card import SizeOnScreen
from app.widgets.explain import explain
from core import edits
from core.panel import Panel
from core.project import Project, Unit
from core.texts import _
from core.version import VERSION

NAME_WIDTH = 440
FIRST_WIDTH, FIRST_HEIGHT = 1440, 900
FRAME_PX = (16, 64)
"""Room for the title bar and borders, which the system adds and tells of only later."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the window: its id, its title and what it shows."""

    id: str
    title: str
    widget: QWidget


class MainWindow(QMainWindow):
    """One costume, on pages."""

    def __init__(self, document: Document, hub: look.ThemeHub) -> None:
        super().__init__()
        self.document, self.hub = document, hub
        self.remarks = Remarks(self)
        self.files = Files(document, self.remarks, self)
        self.counting = Counting(document, self.remarks, self)
        self.size_on_screen = SizeOnScreen(self, document)
        self.panels = PanelsPage(document, hub, self.remarks)
        self.rings = RingsPage(document, hub)
        self.pages = self._make_pages()
        self._samples = bool(sample_files())
        self.actions_made = table.ActionSet(self)
        self._enable()
        self.panels.build(self.actions_made)
        self._settled = document.project
        made = self.actions_made
        self.header = Header(
            tuple((p.id, p.title) for p in self.pages), made["edit.undo"], made["edit.redo"]
        )
        self.strip = CountStrip(document, hub)
        self._build()
        self._build_menus()
        self._connect()
        self.setMinimumSize(1024, 640)
        self._place()
        wanted = settings.get("window/page")
        self.show_page(wanted if wanted in {p.id for p in self.pages} else "panels")
        self._show_theme_choice()
        self._follow()
        self._follow_file()
        self.panels.canvas.setFocus(Qt.FocusReason.OtherFocusReason)

    def _place(self) -> None:
        """Stand where the window stood last, but never beyond the screen."""
        free = self.screen().availableGeometry()
        width, height = free.width() - FRAME_PX[0], free.height() - FRAME_PX[1]
        self.resize(min(FIRST_WIDTH, width), min(FIRST_HEIGHT, height))
        geometry = settings.get("window/geometry")
        if not geometry.isEmpty() and self.restoreGeometry(geometry):
            self.setGeometry(within(self.geometry(), self.screen().availableGeometry()))

    # --- building ------------------------------------------------------------------------------

    def _make_pages(self) -> tuple[Page, ...]:
        return (
            Page("panels", _("Panels"), self.panels),
            Page("rings", _("Rings"), self.rings),
        )

    def _build(self) -> None:
        centre = QWidget()
        column = QVBoxLayout(centre)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._stack = QStackedWidget()
        for page in self.pages:
            page.widget.setAccessibleName(page.title)
            self._stack.addWidget(page.widget)
        column.addWidget(self.header)
        column.addWidget(self._stack, 1)
        column.addWidget(self.strip)
        self.setCentralWidget(centre)
        for at, page in enumerate(self.pages, start=1):
            shortcut = QShortcut(QKeySequence(f"Ctrl+{at}"), self)
            shortcut.activated.connect(lambda key=page.id: self.show_page(key))

    def _build_menus(self) -> None:
        bar = self.menuBar()
        bar.setAccessibleName(_("Menus"))
        for key, text in table.menus():
            menu = bar.addMenu(text)
            self.actions_made.fill(menu, key)
            if key == "file":
                self._recent = QMenu(_("Open recent"), menu)
                menu.insertMenu(self.actions_made["file.sample"], self._recent)
        self.name_button = QPushButton()
        self.name_button.setProperty("kind", "name")
        # A corner widget that changes its width is not laid out again.
        self.name_button.setFixedWidth(NAME_WIDTH)
        corner = QWidget(bar)
        row = QVBoxLayout(corner)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.name_button)
        self.name_button.setCursor(Qt.CursorShape.PointingHandCursor)
        self.name_button.clicked.connect(self.actions_made["file.rename"].trigger)
        bar.setCornerWidget(corner, Qt.Corner.TopRightCorner)
        self._fill_recent()

    def _connect(self) -> None:
        document = self.document
        self.remarks.said.connect(self.header.message.show_text)
        self.header.page_chosen.connect(self.show_page)
        self.header.unit_chosen.connect(self._use_unit)
        self.hub.theme_changed.connect(self._theme_changed)
        self.rings.wanted.connect(lambda: self.show_page("rings"))
        self.rings.compare.begun.connect(self._begin)
        self.rings.bench.aside.connect(self._say_aside)
        self.files.recent_changed.connect(self._fill_recent)
        self.files.saved_changed.connect(self._follow_file)
        document.changed.connect(self._follow)
        document.selection_changed.connect(self._enable)
        document.selection_changed.connect(self._say_trouble)
        self.strip.scope.chosen.connect(self._say_trouble)
        document.undo_stack.indexChanged.connect(self._stack_moved)

    # --- following -----------------------------------------------------------------------------

    def _follow(self) -> None:
        unit = self.document.shown.unit
        self.header.unit.put(unit)
        self.actions_made["view.mm" if unit == "mm" else "view.in"].setChecked(True)
        self.actions_made[f"edit.{self.document.shown.practice}"].setChecked(True)
        if not self.document.previewing:
            self._enable()
            self._say_outcome()

    def _say_outcome(self) -> None:
        """After an edit the line says what came of it; a caution from before is over."""
        before, now = self._settled, self.document.project
        if now is before:
            return
        self._settled = now
        self.remarks.clear()
        laid = _no_longer_measured(before, now)
        if laid:
            self.remarks.say(
                _(
                    "{panels}: laid again, since the swatch was measured in another ring or weave."
                    " Undo brings it back."
                ).format(panels=", ".join(f"“{name}”" for name in laid))
            )
        self._say_trouble()

    def _say_trouble(self, *_ignored: object) -> None:
        """Say why there is no count, where no card on the canvas says it."""
        unseen = self.page_id != "panels" or self.strip.whole
        if unseen and self.strip.trouble and not self.document.previewing:
            self.remarks.warn(self.strip.trouble)

    def event(self, event: QEvent) -> bool:
        """Esc takes a caution away, whatever else it does."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
        ):
            self.remarks.clear()
        return super().event(event)

    def _stack_moved(self, _at: int) -> None:
        # A stack that is being deleted still reports that it was cleared.
        if shiboken6.isValid(self.document.undo_stack):
            self._follow_file()
            self._enable()

    def _follow_file(self) -> None:
        title = self.files.title()
        self.setWindowTitle(_("{name}[*] — Ringloft").format(name=title.replace("[*]", "")))
        self.setWindowModified(self.document.dirty)
        self.header.put_saved(self.files.saved_text())
        metrics = self.name_button.fontMetrics()
        room = NAME_WIDTH - 32
        self.name_button.setText(metrics.elidedText(title, Qt.TextElideMode.ElideRight, room))
        self.name_button.setAccessibleName(_("Name of the costume: {name}").format(name=title))
        self.name_button.setToolTip(_("Name of the costume"))

    def _enable(self) -> None:
        document = self.document
        has_panel = document.panel_id is not None
        on_panels = self.page_id == "panels"
        stack = document.undo_stack
        self.actions_made.enable(
            {
                "always": True,
                "panel": has_panel,
                "undo": stack.canUndo(),
                "redo": stack.canRedo(),
                "panels_page": on_panels,
                "canvas": on_panels and has_panel,
                "samples": self._samples,
                "ring": bool(document.shown.rings),
            }
        )
        for key, lead, text in (
            ("edit.undo", _("Undo"), stack.undoText()),
            ("edit.redo", _("Redo"), stack.redoText()),
        ):
            self.actions_made[key].setText(f"{lead}: {text}" if text else lead)

    # --- pages ---------------------------------------------------------------------------------

    @property
    def page_id(self) -> str:
        """The page in front."""
        at = self._stack.currentIndex() if hasattr(self, "_stack") else 0
        return self.pages[max(at, 0)].id

    def _say_aside(self, name: str) -> None:
        """Say what Undo will not bring back, before it takes back something else."""
        self.remarks.say(
            _("“{ring}” is not part of the costume: Undo takes back the edit before it.").format(
                ring=name
            )
        )

    def _begin(self, key: str) -> None:
        """Go to the panels and do what was asked for there."""
        self.show_page("panels")
        self.actions_made[key].trigger()

    def show_page(self, page_id: str) -> None:
        """Bring a page to the front."""
        at = [p.id for p in self.pages].index(page_id)
        self._stack.setCurrentIndex(at)
        self.header.pages[page_id].setChecked(True)
        settings.put("window/page", page_id)
        self.remarks.clear()
        self._say_trouble()
        self._enable()

    def _parts(self) -> tuple[QWidget, ...]:
        page = self.pages[self._stack.currentIndex()].widget
        parts = page.parts() if hasattr(page, "parts") else (page,)
        return (*parts, self.strip.scope.button("panel"))

    def _go(self, step: int) -> None:
        parts = [p for p in self._parts() if p.isVisibleTo(self) and not _bare(p)]
        focus = QApplication.focusWidget()
        at = next((i for i, p in enumerate(parts) if _within(focus, p)), -1 if step > 0 else 0)
        parts[(at + step) % len(parts)].setFocus(Qt.FocusReason.TabFocusReason)

    def next_part(self) -> None:
        """Carry the keyboard to the next part of the window."""
        self._go(1)

    def previous_part(self) -> None:
        """Carry the keyboard to the part before."""
        self._go(-1)

    # --- what actions call ---------------------------------------------------------------------

    def _use_unit(self, unit: str) -> None:
        wanted: Unit = "in" if unit == "in" else "mm"
        self.document.apply(edits.set_unit(wanted), _("unit of lengths"))
        settings.put("view/unit", wanted)

    def use_mm(self) -> None:
        """Show lengths in mm."""
        self._use_unit("mm")

    def use_in(self) -> None:
        """Show lengths in inches."""
        self._use_unit("in")

    def _use_theme(self, choice: look.SchemeChoice) -> None:
        self.hub.choose(choice)
        settings.put("view/theme", choice)
        self._show_theme_choice()

    def _show_theme_choice(self) -> None:
        self.actions_made[f"view.{self.hub.choice}"].setChecked(True)

    def use_system_theme(self) -> None:
        """Light or dark as the system is."""
        self._use_theme("system")

    def use_light_theme(self) -> None:
        """Paper."""
        self._use_theme("light")

    def use_dark_theme(self) -> None:
        """Graphite."""
        self._use_theme("dark")

    def _theme_changed(self) -> None:
        self.actions_made.paint_icons()
        self.update()

    def explain_panel(self) -> None:
        """Say how the selected panel's count came about."""
        if self.document.panel_id is not None:
            panel = self.document.shown.panel(self.document.panel_id)
            lines = how_panel(self.document.shown, panel)
            explain(self.strip.cells["rings"], _("How the count came about"), lines)

    def explain_costume(self) -> None:
        """Say how the costume's totals came about."""
        lines = how_costume(self.document.shown)
        explain(self.strip.cells["wire"], _("How the costume’s numbers came about"), lines)

    def show_keys(self) -> None:
        """List every action that has a key, then the keys of the pages and of the canvas."""
        made = [f"{a.text.rstrip('…')}: {_native(a.shortcut)}" for a in table.table() if a.shortcut]
        for at, page in enumerate(self.pages, start=1):
            made.append(_("Page “{name}”: {key}").format(name=page.title, key=f"Ctrl+{at}"))
        explain(self.header, _("Keys"), (*made, *key_lines()))

    def show_about(self) -> None:
        """Name, version and what it is for."""
        lines = (
            _("Ringloft {version}").format(version=VERSION),
            _("A planner for people who make costume mail by hand."),
            _("Numbers marked “common practice” have no published source: measure your own."),
        )
        explain(self.header, _("About Ringloft"), lines)

    # --- files ---------------------------------------------------------------------------------

    def _fill_recent(self) -> None:
        self._recent.clear()
        kept = settings.get("files/recent")
        for text in kept:
            action = QAction(text, self._recent)
            action.triggered.connect(lambda _on=False, p=text: self.files.open_path(Path(p)))
            self._recent.addAction(action)
        self._recent.menuAction().setEnabled(bool(kept))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes; remember where the window stood."""
        if not self.files.may_leave():
            event.ignore()
            return
        settings.put("window/geometry", self.saveGeometry())
        event.accept()


def _within(widget: QWidget | None, part: QWidget) -> bool:
    return widget is not None and (widget is part or part.isAncestorOf(widget))


def _bare(part: QWidget) -> bool:
    """Whether it is a list without rows, which would not even show the focus."""
    return isinstance(part, QAbstractItemView) and part.model().rowCount() == 0


def within(wanted: QRect, free: QRect) -> QRect:
    """The rectangle, made no larger than the free one and moved inside it."""
    width, height = min(wanted.width(), free.width()), min(wanted.height(), free.height())
    left = max(free.left(), min(wanted.left(), free.left() + free.width() - width))
    top = max(free.top(), min(wanted.top(), free.top() + free.height() - height))
    return QRect(left, top, width, height)


def _no_longer_measured(before: Project, now: Project) -> list[str]:
    """Names of panels that lost their swatch by getting another ring or weave."""

    def woven(project: Project, panel: Panel) -> tuple[object, ...]:
        return panel.weave, panel.ring_ids, project.rings_of(panel)

    were = {p.id: woven(before, p) for p in before.panels if p.lay.kind == "swatch"}
    return [
        p.name
        for p in now.panels
        if p.id in were and p.lay.kind != "swatch" and were[p.id] != woven(now, p)
    ]


def _native(shortcut: str) -> str:
    return QKeySequence(shortcut).toString(QKeySequence.SequenceFormat.NativeText)
