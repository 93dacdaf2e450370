"""The list of weaves, each with a small picture, and what it needs that the ring has not."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from app import theme as look
from app.pages.weave_pictures import PICTURE, pictures
from app.widgets.fields import Combo
from app.widgets.lists import Index
from core import units
from core.errors import RingloftError, RingTooTight
from core.panel import Panel, sheet_of
from core.project import Project
from core.ring import Ring, resolve
from core.texts import _
from core.weave.cells import WEAVES, Weave
from core.weave.families import RingSize
from core.weave.lay import Lay, least_inner_mm, limit_aspect_ratio, solve_lay

PICTURE_ROLE = Qt.ItemDataRole.UserRole + 1
TIGHT_ROLE = Qt.ItemDataRole.UserRole + 2
LINE = PICTURE.height() + 6


def tightness(project: Project, panel: Panel, weave_id: str) -> str:
    """What a weave needs of the panel's rings, and what they have; empty when they can make it.

    Empty, too, where nothing can be said, because a ring cannot be wound at all.
    """
    other = replace(panel, weave=weave_id, lay=Lay("spread"))
    try:
        rings = tuple(resolve(spec) for spec in project.rings_of(other))
    except RingloftError:
        return ""
    try:
        sheet_of(other, rings)
    except RingTooTight:
        return _needs(WEAVES[weave_id], rings, project.unit)
    except RingloftError:
        return _("not with this ring")
    return ""


def _needs(weave: Weave, rings: tuple[Ring, ...], unit: str) -> str:
    if len(rings) == 1:
        limit, has = limit_aspect_ratio(weave.id), rings[0].aspect_ratio
        places = 2 if f"{limit:.2f}" != f"{has:.2f}" else 4
        return _("needs inner ÷ wire {limit}, this ring {has}").format(
            limit=f"{limit:.{places}f}", has=f"{has:.{places}f}"
        )
    sizes = tuple(RingSize(r.wire_mm, (r.inner_mm + r.wire_mm) / 2) for r in rings)
    for kind, ring, least_mm in zip(weave.kinds, rings, least_inner_mm(weave, sizes), strict=True):
        if ring.inner_mm < least_mm:
            return _("{kind} needs {least} inside, has {has}").format(
                kind=_(kind),
                least=units.format_length(least_mm, unit),
                has=units.format_length(ring.inner_mm, unit),
            )
    return _("not with this ring")


def ring_trouble(project: Project, panel: Panel | None, ring: Ring, upright: bool) -> str:
    """Why a panel cannot be woven from a ring that is not in the costume yet; empty when it can.

    Args:
        project: the panel's costume.
        panel: None asks about the first of the weaves.
        ring: the new ring.
        upright: whether it is to stand upright, rather than be the panel's ring.
    """
    weave = WEAVES.get(panel.weave if panel is not None else next(iter(WEAVES)))
    if weave is None:
        return ""
    rings: tuple[Ring, ...] = (ring,)
    if len(weave.kinds) > 1:
        other = ring
        if panel is not None and (upright or panel.upright_ring_id is not None):
            try:
                other = resolve(project.ring(panel.ring_ids[0 if upright else 1]))
            except RingloftError:
                return ""
        rings = (other, ring) if upright else (ring, other)
    elif ring.aspect_ratio < (limit := limit_aspect_ratio(weave.id)):
        return _("Below {limit:.2f}: cannot make {weave}.").format(limit=limit, weave=_(weave.name))
    sizes = [(r.wire_mm, r.inner_mm) for r in rings]
    try:
        solve_lay(weave.id, *sizes[0], Lay("spread"), *sizes[1:])
    except RingloftError as error:
        return str(error)
    return ""


class WeaveLines(QStyledItemDelegate):
    """A picture, then the weave's name; what cannot be made in the second ink."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Room for the picture."""
        return QSize(super().sizeHint(option, index).width(), LINE)

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        """Put the picture before the words."""
        super().initStyleOption(option, index)
        icon = index.data(PICTURE_ROLE)
        if icon is not None:
            option.icon = icon
            option.decorationSize = PICTURE
            option.features |= QStyleOptionViewItem.ViewItemFeature.HasDecoration
        if index.data(TIGHT_ROLE):
            option.palette.setColor(QPalette.ColorRole.Text, look.current().ink2)


class WeaveCombo(Combo):
    """All weaves; one that the panel's rings cannot make is marked, and passed over by arrows."""

    def __init__(self) -> None:
        super().__init__(_("Weave"), tuple((w.id, _(w.name)) for w in WEAVES.values()))
        self.line_height, self.picture_width = LINE, PICTURE.width() + 8
        self.setItemDelegate(WeaveLines(self))
        self._tight: dict[str, str] = {}
        self._asked: tuple[Project, Panel] | None = None
        self._key: tuple[object, ...] = ()

    def show_panel(self, project: Project, panel: Panel) -> None:
        """Show a panel's weave, and mark what its rings cannot make."""
        self._asked = (project, panel)
        # A drag shows the panel anew at each frame, and leaves its rings.
        key = (panel.ring_id, panel.upright_ring_id, project.rings, project.unit)
        if key != self._key:
            self._key = key
            self._mark(project, panel)
        self.put(panel.weave)
        known = WEAVES.get(panel.weave)
        self.setToolTip("" if known is None else self._line(known))

    def _mark(self, project: Project, panel: Panel) -> None:
        self._tight = {key: tightness(project, panel, key) for key in WEAVES}
        self.set_choices(tuple((w.id, self._line(w)) for w in WEAVES.values()))
        for row, key in enumerate(WEAVES):
            self.setItemData(row, self._tight[key], TIGHT_ROLE)

    def _line(self, weave: Weave) -> str:
        tight = self._tight.get(weave.id)
        name = _(weave.name)
        return _("{weave}: {needs}").format(weave=name, needs=tight) if tight else name

    def showPopup(self) -> None:
        """Open the list, its pictures made by then."""
        if self._asked is not None:
            found = pictures(*self._asked, self.devicePixelRatioF())
            for row, key in enumerate(WEAVES):
                self.setItemData(row, found.get(key), PICTURE_ROLE)
        super().showPopup()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down go to the next weave that can be made."""
        way = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if way is None or event.modifiers() & Qt.KeyboardModifier.AltModifier:
            super().keyPressEvent(event)
            return
        keys, row = list(WEAVES), self.currentIndex() + way
        while 0 <= row < len(keys) and self._tight.get(keys[row]):
            row += way
        if 0 <= row < len(keys):
            self.setCurrentIndex(row)
            self.activated.emit(row)
        event.accept()
