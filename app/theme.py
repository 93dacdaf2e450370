"""Colours, fonts and the style sheet of the window, light and dark.

Palette and sheet are set on the QApplication: a sheet on a parent widget keeps the palette from
its children.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

from PySide6.QtCore import QByteArray, QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication, QStyleFactory, QToolTip

from core.shading import INKS

Scheme = Literal["light", "dark"]
SchemeChoice = Literal["system", "light", "dark"]

FAMILY = "DejaVu Sans"

PX_RULER, PX_LABEL, PX_UNIT, PX_BODY, PX_TAB, PX_SECTION = 10, 11, 12, 13, 14, 15
PX_STRIP = 21

SPACE = (4, 8, 12, 16, 24, 32)
LIST_WIDTH, INSPECTOR_WIDTH, STRIP_HEIGHT = 216, 292, 68
CONTROL_HEIGHT = 28


@dataclass(frozen=True, slots=True)
class MetalLook:
    """The four colours a ring of one metal is drawn with, darkest first."""

    edge: QColor
    shade: QColor
    body: QColor
    light: QColor

    def __iter__(self) -> Iterator[QColor]:
        return iter((self.edge, self.shade, self.body, self.light))


@dataclass(frozen=True, slots=True)
class Theme:
    """One set of colours; attributes are the design tokens."""

    scheme: Scheme
    chrome: QColor
    panel: QColor
    canvas: QColor
    canvas_out: QColor
    field: QColor
    hover: QColor
    ink: QColor
    ink2: QColor
    ink3: QColor
    line: QColor
    line2: QColor
    grid1: QColor
    grid2: QColor
    grid3: QColor
    accent: QColor
    on_accent: QColor
    accent_wash: QColor
    warn: QColor
    warn_wash: QColor
    role_edged: QColor
    role_joined: QColor
    role_glued: QColor
    role_hung: QColor
    role_inlay: QColor
    metals: Mapping[str, MetalLook]

    @property
    def dark(self) -> bool:
        """Whether this is the graphite theme."""
        return self.scheme == "dark"


_TOKENS: dict[str, tuple[str, str]] = {
    "chrome": ("#EFE9DD", "#1B1D1E"),
    "panel": ("#F7F2E8", "#232627"),
    "canvas": ("#FBF8F0", "#1F2223"),
    "canvas_out": ("#F4EFE4", "#1A1C1D"),
    "field": ("#FFFDF8", "#191B1C"),
    "hover": ("#E9E1D1", "#2D3132"),
    "ink": ("#25211B", "#EDE8DD"),
    "ink2": ("#5A5246", "#B9B2A4"),
    "ink3": ("#746B5C", "#948D80"),
    "line": ("#DBD2C1", "#383C3D"),
    "line2": ("#8D8270", "#7E7F7B"),
    "grid1": ("#F1EBDD", "#26292A"),
    "grid2": ("#E4DBC8", "#2E3233"),
    "grid3": ("#D3C8B1", "#3D4243"),
    "accent": ("#00694F", "#57C7A3"),
    "on_accent": ("#FFFFFF", "#0C1F19"),
    "accent_wash": ("#DCEBE1", "#1F3A32"),
    "warn": ("#A83F00", "#F08A4B"),
    "warn_wash": ("#F9E6D6", "#3A2A1F"),
    "role_edged": ("#0067A3", "#6FBDEB"),
    "role_joined": ("#9A6200", "#E6A93A"),
    "role_glued": ("#97406F", "#DB93BE"),
    "role_hung": ("#B84A00", "#F0874A"),
    "role_inlay": ("#1F6F9E", "#9AD0EE"),
}

_BLACK_ON_DARK = "#0E0F10 #43464B #62666C #CFD3D8"


def _build(scheme: Scheme) -> Theme:
    at = 0 if scheme == "light" else 1
    metals = {
        name: MetalLook(*(QColor(*part) for part in (ink.edge, ink.shade, ink.body, ink.light)))
        for name, ink in INKS.items()
    }
    if scheme == "dark":
        metals["black"] = MetalLook(*(QColor(part) for part in _BLACK_ON_DARK.split()))
    return Theme(
        scheme,
        **{name: QColor(pair[at]) for name, pair in _TOKENS.items()},
        metals=MappingProxyType(metals),
    )


LIGHT = _build("light")
DARK = _build("dark")


@cache
def _load_fonts() -> None:
    folder = resources.files("resources").joinpath("fonts")
    for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"):
        QFontDatabase.addApplicationFontFromData(QByteArray(folder.joinpath(name).read_bytes()))


@cache
def _font(px: int, bold: bool) -> QFont:
    _load_fonts()
    made = QFont(FAMILY)
    made.setPixelSize(px)
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    made.setBold(bold)
    return made


def font(px: int = PX_BODY, bold: bool = False) -> QFont:
    """The bundled face at a pixel size; a copy the caller may change."""
    return QFont(_font(px, bold))


class ThemeHub(QObject):
    """Chooses light or dark, and tells views when to rebuild what they have cached.

    Signals:
        theme_changed: palette, sheet and `theme` are new.
    """

    theme_changed = Signal()

    def __init__(self, app: QApplication, choice: SchemeChoice = "system") -> None:
        super().__init__(app)
        self._app = app
        self._choice: SchemeChoice = choice
        app.styleHints().colorSchemeChanged.connect(self._system_changed)
        apply(app, self._wanted())

    @property
    def theme(self) -> Theme:
        """The theme in use."""
        return current()

    @property
    def choice(self) -> SchemeChoice:
        """What the maker chose: one scheme, or to follow the system."""
        return self._choice

    def choose(self, choice: SchemeChoice) -> None:
        """Follow the system, or keep one scheme."""
        self._choice = choice
        self._update()

    def _wanted(self) -> Theme:
        if self._choice != "system":
            return DARK if self._choice == "dark" else LIGHT
        dark = self._app.styleHints().colorScheme() == Qt.ColorScheme.Dark
        return DARK if dark else LIGHT

    def _system_changed(self, _scheme: Qt.ColorScheme) -> None:
        self._update()

    def _update(self) -> None:
        if self._wanted() is not current():
            apply(self._app, self._wanted())
            self.theme_changed.emit()


_current: Theme = LIGHT
_MARK = "ringloft_scheme"


def current() -> Theme:
    """The theme in use."""
    return _current


def apply(app: QApplication, theme: Theme = LIGHT) -> None:
    """Set style, font, palette and sheet of the application."""
    global _current
    _current = theme
    if app.property(_MARK) == theme.scheme:
        return
    app.setProperty(_MARK, theme.scheme)
    app.setStyle(QStyleFactory.create("Fusion"))
    app.setFont(font())
    app.setPalette(palette(theme))
    app.setStyleSheet(sheet(theme))
    QToolTip.setFont(font(PX_UNIT))
    QToolTip.setPalette(palette(theme))


def palette(theme: Theme) -> QPalette:
    """The QPalette of a theme."""
    made = QPalette()
    role = QPalette.ColorRole
    pairs = {
        role.Window: theme.panel,
        role.WindowText: theme.ink,
        role.Base: theme.field,
        role.AlternateBase: theme.panel,
        role.ToolTipBase: theme.chrome,
        role.ToolTipText: theme.ink,
        role.PlaceholderText: theme.ink3,
        role.Text: theme.ink,
        role.Button: theme.panel,
        role.ButtonText: theme.ink,
        role.BrightText: theme.on_accent,
        role.Light: theme.field,
        role.Midlight: theme.hover,
        role.Mid: theme.line2,
        role.Dark: theme.line2,
        role.Shadow: theme.line2,
        role.Highlight: theme.accent_wash,
        role.HighlightedText: theme.ink,
        role.Link: theme.accent,
        role.LinkVisited: theme.accent,
        role.Accent: theme.accent,
    }
    for key, colour in pairs.items():
        made.setColor(key, colour)
    off = QPalette.ColorGroup.Disabled
    for key in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(off, key, theme.ink3)
    return made


def _icon_path(name: str) -> str:
    return str(resources.files("resources").joinpath("icons").joinpath(name)).replace("\\", "/")


def sheet(theme: Theme) -> str:
    """The style sheet of a theme; widgets opt in by the dynamic property `kind`."""
    t = {name: getattr(theme, name).name() for name in _TOKENS}
    t["chevron"] = _icon_path("chevron-down.svg")
    t["tick"] = _icon_path("check-dark.svg" if theme.dark else "check.svg")
    text = _SHEET
    for name, value in t.items():
        text = text.replace(f"@{name};", f"{value};").replace(f"@{name} ", f"{value} ")
        text = text.replace(f"@{name})", f"{value})")
    return text


_SHEET = """
QMenuBar { background: @chrome; padding: 2px 8px; border: none; }
QMenuBar::item { padding: 4px 9px; background: transparent; border-radius: 4px; }
QMenuBar::item:selected { background: @hover; }
QMenu { background: @panel; border: 1px solid @line2; padding: 4px; }
QMenu::item { padding: 5px 24px 5px 24px; border-radius: 4px; }
QMenu::item:selected { background: @accent_wash; }
QMenu::item:disabled { color: @ink3; }
QMenu::separator { height: 1px; background: @line; margin: 4px 8px; }
QToolTip { background: @chrome; color: @ink; border: 1px solid @line2; padding: 3px 6px; }
QLineEdit, QComboBox, QPlainTextEdit { background: @field; color: @ink; border: 1px solid @line2;
  border-radius: 4px; padding: 2px 7px; min-height: 22px; }
QComboBox { combobox-popup: 0; }
QLineEdit, QPlainTextEdit { selection-background-color: @accent; selection-color: @on_accent; }
QLineEdit:focus, QComboBox:focus { border: 2px solid @accent; padding: 1px 6px; }
QLineEdit:disabled, QComboBox:disabled { color: @ink3; background: @panel; }
QLineEdit[bad="true"] { border: 2px solid @warn; padding: 1px 6px; }
QLineEdit[kind="title"] { background: transparent; border: 1px solid transparent;
  padding: 2px 5px; }
QLineEdit[kind="title"]:hover { border: 1px solid @line2; }
QLineEdit[kind="title"]:focus { background: @field; border: 2px solid @accent; padding: 1px 4px; }
QComboBox::drop-down { border: none; width: 24px; }
QComboBox::down-arrow { image: url(@chevron); width: 12px; height: 12px; }
QComboBox QAbstractItemView { background: @field; color: @ink; border: 1px solid @line2;
  selection-background-color: @accent_wash; selection-color: @ink; outline: none; }
QComboBox QAbstractItemView::item { min-height: 26px; padding: 0px 6px; }
QComboBox QAbstractItemView::item:selected { background: @accent_wash; color: @ink; }
QPushButton { background: @panel; color: @ink; border: 1px solid @line2; border-radius: 4px;
  padding: 4px 12px; min-height: 22px; }
QPushButton:hover { background: @hover; }
QPushButton:focus { border: 2px solid @accent; padding: 3px 11px; }
QPushButton:disabled { color: @ink3; border-color: @line; }
QPushButton[kind="primary"], QPushButton:default { background: @accent; color: @on_accent;
  border: 1px solid @accent; }
QPushButton[kind="primary"]:focus, QPushButton:default:focus { border: 2px solid @ink; }
QPushButton[kind="link"] { background: transparent; border: 1px solid transparent;
  color: @accent; padding: 2px 4px 2px 0px; text-align: left; min-height: 18px; }
QPushButton[kind="link"]:hover { text-decoration: underline; }
QPushButton[kind="link"]:focus { border: 2px solid @accent; padding: 1px 3px 1px 0px; }
QPushButton[kind="name"] { background: transparent; border: 1px solid transparent; color: @ink2;
  padding: 1px 8px; margin: 1px 8px 1px 0px; min-height: 18px;
  text-align: right; }
QPushButton[kind="name"]:hover { background: @hover; }
QPushButton[kind="name"]:focus { border: 2px solid @accent; padding: 0px 7px; }
QToolButton { background: transparent; color: @ink; border: 1px solid transparent;
  border-radius: 4px; padding: 4px; }
QToolButton:hover { background: @hover; }
QToolButton:checked { background: @accent_wash; border: 1px solid @accent; }
QToolButton:focus { border: 2px solid @accent; padding: 3px; }
QToolButton:disabled { color: @ink3; }
QToolButton[kind="page"] { color: @ink2; border: none; border-radius: 0px; padding: 0px 18px;
  border-bottom: 3px solid transparent; }
QToolButton[kind="page"]:hover { background: @hover; }
QToolButton[kind="page"]:checked { background: @canvas; color: @ink;
  border-bottom: 3px solid @accent; }
QToolButton[kind="page"]:focus { border: 2px solid @accent; padding: 0px 16px; }
QFrame[kind="segments"] { background: @field; border: 1px solid @line2; border-radius: 4px; }
QToolButton[kind="segment"] { background: transparent; color: @ink2; border: 1px solid transparent;
  border-radius: 4px; padding: 2px 9px; }
QToolButton[kind="segment"]:hover { background: @hover; }
QToolButton[kind="segment"]:checked { background: @accent_wash; color: @accent;
  border: 1px solid @accent; }
QToolButton[kind="segment"]:focus { border: 2px solid @accent; padding: 1px 8px; }
QToolButton[kind="segment"]:disabled { color: @ink3; }
QCheckBox { spacing: 8px; border: 2px solid transparent; border-radius: 4px; padding: 1px; }
QCheckBox:focus { border: 2px solid @accent; }
QCheckBox::indicator { width: 14px; height: 14px; border: 1px solid @line2; border-radius: 3px;
  background: @field; }
QCheckBox::indicator:checked { background: @accent; border: 1px solid @accent;
  image: url(@tick); }
QListView { background: @panel; border: none; outline: none; }
QHeaderView, QHeaderView::section { background: @panel; color: @ink2; border: none;
  font-weight: normal; padding: 3px 6px; }
QTableView { background: @panel; border: none; gridline-color: @line; outline: none;
  selection-background-color: @accent_wash; selection-color: @ink; }
QScrollArea { border: none; background: transparent; }
QScrollBar:vertical { background: transparent; width: 10px; margin: 0; }
QScrollBar:horizontal { background: transparent; height: 10px; margin: 0; }
QScrollBar::handle { background: @line2; border-radius: 3px; margin: 2px; min-height: 24px;
  min-width: 24px; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QLabel[kind="section"] { font-weight: bold; }
QLabel[kind="note"] { color: @ink2; }
QLabel[kind="warn"] { color: @warn; background: @warn_wash; border-radius: 4px; padding: 6px 8px; }
QLabel[kind="caution"] { color: @warn; background: @warn_wash; border-radius: 4px;
  padding: 2px 8px; }
QLabel[kind="remark"] { color: @ink2; padding: 2px 8px; }
QLabel[kind="card"] { color: @ink; }
QFrame[kind="card"] { border: 1px dashed @line2; border-radius: 6px; background: transparent; }
QFrame[kind="sheet"] { background: @panel; border: 1px solid @line2; border-radius: 6px; }
QWidget[kind="panel"] { background: @panel; }
QWidget[kind="canvas"] { background: @canvas; }
QFrame[kind="rule"] { background: @line; border: none; }
"""
