"""The form for one ring: fields that make a RingSpec, and what follows from them, live."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFormLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app import theme as look
from app.messages import sentence
from app.pages.mandrel_card import MandrelCard
from app.pages.ring_cards import RingCard, Take
from app.pages.trial_card import TrialCard
from app.widgets import fields
from app.widgets.columns import add_row, form_layout, note
from core import units
from core.errors import BadValue, RingloftError
from core.ring import Ring, RingSpec, Spool, resolve
from core.texts import _
from core.trial_coil import same_wire
from core.wire import MM_PER_IN, NearestGauge, metals, nearest_gauge

LEAST_PLAY_MM = 0.05
"""Narrower than this no band is taken to be when a measure is held against it."""


def read_price(text: str) -> float:
    """A price of nought or more; raises BadValue with words."""
    try:
        price = float(text.replace(",", ".").strip())
    except ValueError:
        price = -1.0
    if not 0 <= price < 1e7:
        raise BadValue(
            _("“{text}” is not a price").format(text=text.strip()[:20]),
            where=_("price of a spool"),
            do=_("Type a number such as 12.50"),
        )
    return price


def price(currency: str) -> fields.Quantity:
    """Money, to two places."""
    return fields.Quantity(
        lambda text, _unit: read_price(text),
        lambda value, _unit: f"{value:.2f}",
        lambda _unit: currency,
    )


def without_stale_measure(before: RingSpec, now: RingSpec) -> RingSpec:
    """A ring without a measured diameter that belongs to the rod, wire or metal it had before.

    What was typed together with the change stays, and so does the one number a ring without a rod
    rests on. The same wire named by its gauge is no other wire.
    """
    if (
        now.inner_measured_mm is None
        or now.inner_measured_mm != before.inner_measured_mm
        or None in (before.mandrel_mm, now.mandrel_mm)
        or (
            before.mandrel_mm == now.mandrel_mm
            and before.metal == now.metal
            and same_wire(before.wire_mm, now.wire_mm)
        )
    ):
        return now
    return replace(now, inner_measured_mm=None)


def measure_doubt(spec: RingSpec) -> str:
    """What is unlikely about a measured diameter: it lies beyond twice the model's band."""
    if spec.inner_measured_mm is None or spec.mandrel_mm is None:
        return ""
    try:
        model = resolve(replace(spec, inner_measured_mm=None, kerf_mm=0.0))
    except RingloftError:
        return ""
    play_mm = max(model.inner_range_mm[1] - model.inner_mm, LEAST_PLAY_MM)
    if abs(spec.inner_measured_mm - model.inner_mm) <= 2 * play_mm:
        return ""
    return _("The measured diameter is far from what this wire, metal and rod make: is it right?")


class RingForm(QWidget):
    """Fields of a ring.

    A ring made in one of its cards goes to `taker`, which shows it here unless told otherwise.

    Signals:
        edited: the ring as it stands was made whole and may be taken; emitted when a field is
            committed and every field can be read.
        refused: why it cannot be made.
    """

    edited = Signal(object)
    refused = Signal(object)

    def __init__(
        self,
        spec: RingSpec,
        unit: str = "mm",
        parent: QWidget | None = None,
        currency: str = "",
        warning: Callable[[Ring], str] = lambda _ring: "",
    ) -> None:
        super().__init__(parent)
        self._spec, self._unit, self._warning = spec, unit, warning
        self._showing = False
        self.taker: Take = self.take
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        form = form_layout()
        column.addLayout(form)

        self.name = fields.TextField(_("Name of the ring"))
        self.metal = fields.Combo(_("Metal"), tuple((k, m.name) for k, m in metals().items()))
        self.wire = fields.CheckedField(
            _("Wire, by diameter or by gauge and system"),
            lambda text: text == wire_text(self._spec, self._unit) or self._read_wire(text),
        )
        self.wire.setPlaceholderText(_("1.6 mm or 16 ga US steel"))
        self.mandrel = fields.QuantityField(_("Mandrel"), fields.LENGTH, optional=True)
        self.inner = fields.QuantityField(
            _("Inner diameter measured on a trial coil"), fields.LENGTH, optional=True
        )
        self.inner.setPlaceholderText(_("not yet"))
        self.kerf = fields.QuantityField(_("Saw kerf"), fields.LENGTH)
        self.sold = fields.Combo(
            _("Wire is sold by"), (("length", _("Length")), ("mass", _("Mass")))
        )
        self.spool_length = fields.QuantityField(_("Length of a spool"), fields.wire_length())
        self.spool_mass = fields.QuantityField(_("Mass of a spool"), fields.mass())
        self.price = fields.QuantityField(_("Price of a spool"), price(currency), optional=True)
        self.price.setPlaceholderText(_("unknown"))
        rows: tuple[tuple[str, QWidget], ...] = (
            (_("Name"), self.name),
            (_("Metal"), self.metal),
            (_("Wire"), self.wire),
            (_("Mandrel"), self.mandrel),
            (_("Measured ⌀"), self.inner),
            (_("Saw kerf"), self.kerf),
            (_("Sold by"), self.sold),
            (_("Spool"), self.spool_length),
            (_("Spool mass"), self.spool_mass),
            (_("Price"), self.price),
        )
        self.find_link = self._link(_("Find a mandrel…"), self.find_mandrel)
        self.coil_link = self._link(_("Trial coil…"), self.trial_coil)
        for text, field in rows:
            add_row(form, text, field)
            links = ((self.mandrel, self.find_link), (self.inner, self.coil_link))
            for link in (link for beside, link in links if beside is field):
                form.setWidget(form.rowCount(), QFormLayout.ItemRole.FieldRole, link)
        self._form = form

        self.ratio = QLabel()
        self.ratio.setFont(look.font(look.PX_SECTION, bold=True))
        self.facts = note("")
        self.facts.setWordWrap(True)
        self.trouble = QLabel()
        self.trouble.setProperty("kind", "warn")
        self.trouble.setWordWrap(True)
        self.cleared = note("")
        self.cleared.setWordWrap(True)
        self.cleared.hide()
        column.addWidget(self.cleared)
        self.doubt = note("")
        self.doubt.setWordWrap(True)
        self.doubt.hide()
        column.addWidget(self.doubt)
        for label in (self.ratio, self.trouble, self.facts):
            label.setTextFormat(Qt.TextFormat.PlainText)
            column.addWidget(label)
        column.addStretch(1)

        self._texts = (
            self.name,
            self.wire,
            self.mandrel,
            self.inner,
            self.kerf,
            self.spool_length,
            self.spool_mass,
            self.price,
        )
        for field in self._texts:
            field.textEdited.connect(self._derive)
            field.committed.connect(self._commit)
            if isinstance(field, fields.QuantityField):
                field.valued.connect(self._commit)
            if isinstance(field, fields.QuantityField | fields.CheckedField):
                field.refused.connect(self._refuse)
        self.metal.chosen.connect(self._commit)
        self.sold.chosen.connect(self._sold)
        self.show_spec(spec, unit)

    # --- in and out ----------------------------------------------------------------------------

    def show_spec(self, spec: RingSpec, unit: str = "mm", currency: str | None = None) -> None:
        """Show a ring."""
        if spec.id != self._spec.id or spec.inner_measured_mm is not None or spec.trial is not None:
            self.cleared.hide()
        self._spec, self._unit = spec, unit
        self._showing = True
        if currency is not None:
            self.price.use(price(currency))
        self.name.put(spec.name)
        self.metal.put(spec.metal)
        self.wire.put(wire_text(spec, unit))
        self.mandrel.show_value(spec.mandrel_mm, unit)
        self.inner.show_value(spec.inner_measured_mm, unit)
        self.kerf.show_value(spec.kerf_mm, unit)
        by_length = spec.spool.length_mm is not None
        self.sold.put("length" if by_length else "mass")
        self.spool_length.show_value(spec.spool.length_mm, unit)
        self.spool_mass.show_value(spec.spool.mass_g, unit)
        self.price.show_value(spec.spool.price, unit)
        self._rows_for("length" if by_length else "mass")
        self._showing = False
        self._derive()

    @property
    def unit(self) -> str:
        """The unit lengths are shown in."""
        return self._unit

    def spec(self) -> RingSpec:
        """The ring as the fields stand, whether committed or not.

        Raises:
            RingloftError: a field cannot be read, or the ring cannot be wound.
        """
        made = self._read()
        resolve(made)
        return made

    def _read(self) -> RingSpec:
        """The ring as the fields stand, whether it can be wound or not."""
        wire_mm, label = self._spec.wire_mm, self._spec.wire_label
        if self.wire.text().strip() != wire_text(self._spec, self._unit):
            read = self._read_wire(self.wire.text())
            wire_mm, label = read.wire_mm, read.label
        by_length = self.sold.key() == "length"
        spool = Spool(
            self.spool_length.read() if by_length else None,
            None if by_length else self.spool_mass.read(),
            self.price.read(),
        )
        kerf = self.kerf.read()
        made = replace(
            self._spec,
            name=self.name.text().strip(),
            metal=str(self.metal.key()),
            wire_mm=wire_mm,
            wire_label=label,
            mandrel_mm=self.mandrel.read(),
            inner_measured_mm=self.inner.read(),
            kerf_mm=0.0 if kerf is None else kerf,
            spool=spool,
        )
        made = without_stale_measure(self._spec, made)
        return replace(made, name=made.name or default_name(made, self._unit))

    def _read_wire(self, text: str) -> units.WireText:
        """The wire a text names; raises BadValue, naming the field."""
        return units.parse_wire(text, self._unit, where=_("wire"))

    # --- the cards -----------------------------------------------------------------------------

    def _link(self, text: str, opens: Callable[[], RingCard]) -> QPushButton:
        button = QPushButton(text)
        button.setProperty("kind", "link")
        button.setAccessibleName(text.rstrip("…"))
        # Enter presses it, as Space does, and goes no further.
        button.setAutoDefault(True)
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        button.clicked.connect(lambda: opens())
        return button

    def find_mandrel(self) -> MandrelCard:
        """Open the mandrel finder on the ring as it stands."""
        card = MandrelCard(self, self._as_it_stands(), self._unit, self._from_card)
        card.open()
        return card

    def trial_coil(self) -> TrialCard:
        """Open the trial coil of the ring as it stands."""
        card = TrialCard(self, self._as_it_stands(), self._unit, self._from_card)
        card.open()
        return card

    def _as_it_stands(self) -> RingSpec:
        try:
            return self._read()
        except RingloftError:
            return self._spec

    def _from_card(self, spec: RingSpec) -> None:
        """Hand a card's ring on; what was measured on another rod does not go with it."""
        kept = without_stale_measure(self._as_it_stands(), spec)
        resolve(kept)
        self.taker(kept)
        self._say_cleared(spec, kept)

    def take(self, spec: RingSpec) -> None:
        """Show a ring made in a card, as if it had been typed."""
        self.show_spec(spec, self._unit)

    def _say_cleared(self, before: RingSpec, now: RingSpec) -> None:
        gone = before.inner_measured_mm if now.inner_measured_mm is None else None
        if gone is not None:
            self.cleared.setText(
                _("The {mm} measured before belonged to another coil and is cleared.").format(
                    mm=units.format_length(gone, self._unit)
                )
            )
        self.cleared.setVisible(gone is not None)

    # --- within --------------------------------------------------------------------------------

    def _rows_for(self, key: object) -> None:
        self._form.setRowVisible(self.spool_length, key == "length")
        self._form.setRowVisible(self.spool_mass, key == "mass")

    def _sold(self, key: object) -> None:
        self._rows_for(key)
        if key == "mass" and self.spool_mass.value is None:
            self.spool_mass.show_value(1000.0, self._unit)
        if key == "length" and self.spool_length.value is None:
            self.spool_length.show_value(50_000.0, self._unit)
        self._commit()

    def _commit(self, *_ignored: object) -> None:
        if self._showing:
            return
        made = self._derive()
        if made is not None and made != self._spec:
            stood = self.inner.value
            self.edited.emit(made)
            self._clear_measure(made, stood)

    def _clear_measure(self, made: RingSpec, stood: float | None) -> None:
        """Empty the field of a measure that was left behind by the change, and say so."""
        if made.inner_measured_mm is None and stood is not None:
            self.inner.show_value(None)
            self._say_cleared(replace(made, inner_measured_mm=stood), made)

    def _refuse(self, error: RingloftError) -> None:
        self._trouble(str(error))
        self.refused.emit(error)

    def _trouble(self, text: str) -> None:
        self.trouble.setText(f"⚠ {sentence(text)}" if text else "")
        self.trouble.setVisible(bool(text))

    def _derive(self, *_ignored: object) -> RingSpec | None:
        try:
            made = self.spec()
            ring = resolve(made)
        except RingloftError as error:
            self.ratio.setText(_("Inner ÷ wire —"))
            self.facts.setText("")
            self.wire.put_hint("")
            self.doubt.hide()
            self._trouble(str(error))
            return None
        self._trouble(self._warning(ring))
        self.doubt.setText(measure_doubt(made))
        self.doubt.setVisible(bool(self.doubt.text()))
        self.inner.setPlaceholderText(self._measured_words(ring))
        self.wire.put_hint(exact_length(made.wire_mm, self._unit) if made.wire_label else "")
        self.ratio.setText(_("Inner ÷ wire {ratio:.2f}").format(ratio=ring.aspect_ratio))
        facts = ring_facts(ring, self._unit)
        if made.wire_label:
            exact = exact_length(made.wire_mm, self._unit)
            first = _("{gauge} = {length}").format(gauge=made.wire_label, length=exact)
            facts = (first, *facts)
        else:
            near = nearest_gauge(made.wire_mm, "us-steel")
            facts = (gauge_text(near, self._unit), *facts)
        self.facts.setText("\n".join(facts))
        return made

    def _measured_words(self, ring: Ring) -> str:
        """What stands in the empty field of the measure: the trial coil's mean, if it counts."""
        if ring.trial is None or not ring.measured:
            return _("not yet")
        mean = fields.LENGTH.show(ring.trial.mean_mm, self._unit)
        return _("{mean}, trial coil").format(mean=mean)


def wire_text(spec: RingSpec, unit: str) -> str:
    """What stands in the wire's field: the gauge when one was given, else the diameter."""
    return spec.wire_label or units.format_wire(spec.wire_mm, "", unit)


def exact_length(mm: float, unit: str) -> str:
    """A diameter to the thousandth of a mm, in inches to the tenth of a mil."""
    if unit == "in":
        return f"{mm / MM_PER_IN:.4f}{units.SPACE}in"
    # Half a thousandth, as in 1.5875, goes up.
    return units.format_length(mm + 1e-9, unit, 3)


def _short_metal(key: str) -> str:
    """The metal without the numbers of its alloy; the commonest steel is just steel."""
    found = metals().get(key)
    words = (found.name if found else key).split()
    kept = [w for w in words if w.isalpha() and w not in ("grade", "galvanized")]
    return " ".join(kept) or key


def default_name(spec: RingSpec, unit: str = "mm") -> str:
    """A name for a ring that has none, what differs first: wire, rod, metal."""
    rod_mm = spec.mandrel_mm if spec.mandrel_mm is not None else spec.inner_measured_mm or 0.0
    rod, metal = fields.LENGTH.show(rod_mm, unit), _short_metal(spec.metal)
    if spec.wire_label:
        name = _("{gauge} × {rod} {unit}").format(gauge=spec.wire_label, rod=rod, unit=unit)
        return name if metal == "steel" else f"{name} {metal}"
    wire = fields.LENGTH.show(spec.wire_mm, unit)
    return _("{wire} × {rod} {unit} {metal}").format(wire=wire, rod=rod, unit=unit, metal=metal)


def ring_facts(ring: Ring, unit: str) -> tuple[str, ...]:
    """What follows from a ring, a line each: inner diameter, outer, wire, mass."""
    inner = units.format_length(ring.inner_mm, unit)
    low, high = (units.format_length(v, unit) for v in ring.inner_range_mm)
    if ring.measured:
        first = _("Inner ⌀ {inner}, measured").format(inner=inner)
    elif low == high:
        first = _("Inner ⌀ {inner}, expected").format(inner=inner)
    elif ring.trial is not None:
        first = _("Inner ⌀ {inner} expected from the trial coil, {low} to {high}").format(
            inner=inner, low=low, high=high
        )
    else:
        first = _("Inner ⌀ {inner} expected, {low} to {high}; one trial coil settles it").format(
            inner=inner, low=low, high=high
        )
    return (
        first,
        _("Outer ⌀ {outer}").format(outer=units.format_length(ring.outer_mm, unit)),
        _("Wire per ring {wire}").format(
            wire=units.format_wire_length(ring.wire_per_ring_mm, unit)
        ),
        _("One ring weighs {mass}").format(mass=units.format_mass(ring.mass_g, unit)),
    )


def gauge_text(near: NearestGauge, unit: str) -> str:
    """A gauge beside a wire, with what it differs by: never silently another wire."""
    shown = units.format_length(near.gauge_mm, unit, 4 if unit == "in" else 2)
    percent = abs(near.residual_ratio) * 100
    if percent < 0.05:
        return _("{gauge} is this wire, {mm}").format(gauge=near.label, mm=shown)
    text = (
        _("{gauge} is {mm}, {percent:.1f} % thinner")
        if near.residual_mm < 0
        else _("{gauge} is {mm}, {percent:.1f} % thicker")
    )
    return text.format(gauge=near.label, mm=shown, percent=percent)
