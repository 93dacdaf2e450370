"""The widgets of the inspector, laid out; what they show and do is in `app.pages.inspector`."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme as look
from app.document import Document
from app.pages.edge_list import EdgeList
from app.pages.lay_rows import HeldWidth, LayOffer
from app.pages.swatch_fields import SwatchFields
from app.pages.weave_combo import WeaveCombo
from app.widgets import fields
from app.widgets.columns import add_row, form_layout, note, rule, scrolled, section
from core.panel import MAX_COPIES
from core.texts import _

BAR_WIDTH = 10
EDGE_PAD = 16 - BAR_WIDTH


class Lines(QWidget):
    """Rows of a label and a right-aligned number."""

    def __init__(self, rows: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        self._labels: dict[str, tuple[QLabel, QLabel]] = {}
        for key, text in rows:
            row = QHBoxLayout()
            row.setContentsMargins(0, 0, 0, 0)
            left, right = note(text), QLabel()
            right.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            # A number that grows must not lay the whole column out again at each frame.
            right.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            row.addWidget(left)
            row.addWidget(right, 1)
            column.addLayout(row)
            self._labels[key] = (left, right)

    def put(self, key: str, text: str) -> None:
        """Show a number."""
        left, right = self._labels[key]
        if right.text() != text:
            right.setText(text)
            right.setAccessibleName(f"{left.text()}: {text}")

    def name(self, key: str, text: str) -> None:
        """Call a number something else."""
        left, right = self._labels[key]
        if left.text() != text:
            left.setText(text)
            right.setAccessibleName(f"{text}: {right.text()}")

    def text(self, key: str) -> str:
        """What is shown."""
        return self._labels[key][1].text()

    def bold(self, key: str) -> None:
        """Set a row as the total."""
        for label in self._labels[key]:
            label.setProperty("kind", "section")


def _side_by_side(field: QWidget, beside: QWidget) -> QWidget:
    """A field with a little more at its right."""
    both = QWidget()
    pair = QHBoxLayout(both)
    pair.setContentsMargins(0, 0, 0, 0)
    pair.setSpacing(8)
    pair.addWidget(field, 1)
    pair.addWidget(beside)
    both.setFocusProxy(field)
    return both


class InspectorBody(QWidget):
    """Fields, edges and counts of one panel."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._build_body()

    def _build_body(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        head = QHBoxLayout()
        head.setContentsMargins(9, 6, 16, 6)
        self.name = fields.TextField(_("Name of the panel"))
        self.name.setProperty("kind", "title")
        self.name.setFont(look.font(look.PX_SECTION, bold=True))
        self.pairing = note("")
        self.pairing.setFont(look.font(look.PX_UNIT))
        head.addWidget(self.name, 1)
        head.addWidget(self.pairing)
        column.addLayout(head)
        column.addWidget(rule())
        area, self._column = scrolled(_("Properties of the panel"))
        self._column.setContentsMargins(0, 0, 0, 16)
        self._column.setSpacing(0)
        self._build_form()
        self._build_edges()
        self._build_counts()
        self._column.addStretch(1)
        column.addWidget(area, 1)
        self._bar = area.verticalScrollBar()
        self._bar.rangeChanged.connect(self._make_room)
        self._make_room()

    def _make_room(self, *_range: int) -> None:
        """Keep the numbers' right edge in place whether or not the scroll bar shows."""
        room = 0 if self._bar.maximum() > 0 else BAR_WIDTH
        self._column.setContentsMargins(0, 0, room, 16)

    def _padded(self, top: int = 12, bottom: int = 12) -> QVBoxLayout:
        box = QVBoxLayout()
        box.setContentsMargins(16, top, EDGE_PAD, bottom)
        box.setSpacing(6)
        self._column.addLayout(box)
        return box

    def _build_form(self) -> None:
        box = self._padded()
        form = form_layout()
        box.addLayout(form)
        self.weave = WeaveCombo()
        self.ring = fields.Combo(_("Ring"))
        self.upright = fields.Combo(_("Upright ring"))
        self.lay = fields.Combo(
            _("Lay"),
            (
                ("laid", _("Laid")),
                ("spread", _("Spread")),
                ("along", _("Drawn along")),
                ("across", _("Drawn across")),
                ("held", _("Held to a width")),
                ("swatch", _("Measured swatch")),
            ),
        )
        self.swatch = SwatchFields()
        self.held_width = HeldWidth()
        self.offer = LayOffer()
        self.grain = fields.QuantityField(_("Grain, the angle of the rows"), fields.ANGLE)
        self.rings_lie = fields.Combo(
            _("Rings lie"), (("whole", _("Whole inside")), ("centre", _("Centres inside")))
        )
        self.held = fields.Combo(
            _("Held"),
            (
                ("glued", _("Glued or sewn")),
                ("hanging", _("Hanging free")),
                ("held", _("Hung to a width")),
            ),
        )
        self.copies = fields.QuantityField(_("Copies"), fields.count(1, MAX_COPIES))
        self.mirrored = QCheckBox(_("Mirrored"))
        self.mirrored.setAccessibleName(_("As mirrored pairs"))
        # The longest name of a weave needs the whole row, and says itself what it is.
        form.addRow(self.weave)
        field: QWidget
        for text, field in (
            (_("Ring"), self.ring),
            (_("Upright ring"), self.upright),
            (_("Lay"), self.lay),
            (_("Width"), self.held_width),
        ):
            add_row(form, text, field)
        form.addRow(self.held_width.notes)
        form.addRow(self.swatch)
        self.rows = note("")
        self.rows.setFont(look.font(look.PX_UNIT))
        turned = _side_by_side(self.grain, self.rows)
        for text, field in (
            (_("Grain"), turned),
            (_("Rings lie"), self.rings_lie),
            (_("Held"), self.held),
        ):
            add_row(form, text, field)
        add_row(form, _("Copies"), _side_by_side(self.copies, self.mirrored))
        # Last, so that no field moves under the mouse when it comes or goes.
        form.addRow(self.offer)
        self.form = form
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "warn")
        self.trouble.setWordWrap(True)
        self.trouble.hide()
        box.addWidget(self.trouble)
        self._column.addWidget(rule())

    def name_ring(self, text: str) -> None:
        """Call the ring something else, in weaves of more than one."""
        label = self.form.labelForField(self.ring)
        if isinstance(label, QLabel):
            label.setText(text)
        self.ring.setAccessibleName(text)

    def _build_edges(self) -> None:
        head = QHBoxLayout()
        head.setContentsMargins(16, 10, EDGE_PAD, 4)
        head.addWidget(section(_("Edges")))
        head.addStretch(1)
        hint = note(_("rings"))
        hint.setFont(look.font(look.PX_UNIT))
        head.addWidget(hint)
        self._column.addLayout(head)
        self.edges = EdgeList(self._document)
        self._column.addWidget(self.edges)
        self.edge_note = note("")
        self.edge_note.setFont(look.font(look.PX_UNIT))
        self.edge_note.setContentsMargins(16, 4, EDGE_PAD, 10)
        self.edge_note.setWordWrap(True)
        self._column.addWidget(self.edge_note)
        self._column.addWidget(rule())

    def _build_counts(self) -> None:
        box = self._padded(10, 10)
        self.counts_head = section(_("Rings in one"))
        box.addWidget(self.counts_head)
        self.counts = Lines(
            (
                ("body", _("Body")),
                ("dangling", _("Left out, would hang by one link")),
                ("edge", _("Edges")),
            )
        )
        box.addWidget(self.counts)
        box.addWidget(rule())
        self.total = Lines((("all", _("All")),))
        self.total.bold("all")
        box.addWidget(self.total)
        self.kinds = note("")
        self.kinds.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.kinds.hide()
        box.addWidget(self.kinds)
        self.range = note("")
        self.range.setFont(look.font(look.PX_UNIT))
        self.range.setWordWrap(True)
        box.addWidget(self.range)
        self.how = QPushButton(_("How this came about"))
        self.how.setProperty("kind", "link")
        self.how.setAccessibleName(_("How the count came about"))
        box.addWidget(self.how, 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addWidget(rule())
        box = self._padded(10, 0)
        box.addWidget(section(_("The sheet")))
        self.sheet = Lines(
            (
                ("along", _("Ring to ring along a row")),
                ("across", _("Row to row")),
                ("thickness", _("Thickness")),
                ("cover", _("Hidden by metal")),
            )
        )
        box.addWidget(self.sheet)
