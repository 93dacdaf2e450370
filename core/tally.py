"""Counts: the rings of one panel, where they lie and how sure the number is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from core.fill import BODY, DROPPED, EDGE, Fill, count_rings, fill_panel
from core.memo import memo_by_identity
from core.outline import Outline, edge_lengths_mm, edge_starts, polygon
from core.panel import Edging, Panel, sheet_of
from core.placing import centred
from core.ring import Ring, RingSpec, resolve
from core.texts import _, ngettext
from core.units import SPACE, format_count, format_count_range, format_length
from core.use import width_range_percent
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay
from core.weave.sheet import LayKind, SolvedLay
from core.wire import MM_PER_IN

_WORN: tuple[LayKind, ...] = ("laid", "spread", "along", "across")


@dataclass(frozen=True, slots=True)
class EdgeTally:
    """One edge: its length and the rings set in its seats, for one copy of the panel."""

    node_id: int
    name: str
    length_mm: float
    edging: Edging
    rings: int


@dataclass(frozen=True, eq=False)
class PanelTally:
    """What one panel holds.

    Attributes:
        body: places of the weave that lie on the panel.
        edge: edge rings in the seats of edged edges.
        dangling: places left empty, because a ring there would hang by fewer than two links.
        rings: the ring of each of the weave's ring kinds.
    """

    panel: Panel
    rings: tuple[Ring, ...]
    weave: Weave
    solved: SolvedLay
    fill: Fill
    body: int
    edge: int
    dangling: int
    area_mm2: float
    perimeter_mm: float
    edges: tuple[EdgeTally, ...]

    @property
    def ring(self) -> Ring:
        """The ring the weave is named by."""
        return self.rings[0]

    @property
    def by_kind(self) -> tuple[int, ...]:
        """Rings to weave of each ring kind, all copies."""
        one = (
            sum(self.fill.count(role, kind) for role in (BODY, EDGE))
            for kind in range(len(self.rings))
        )
        return tuple(n * self.panel.copies for n in one)

    @property
    def per_copy(self) -> int:
        """Rings to weave for one copy."""
        return self.body + self.edge - self.dangling

    @property
    def total(self) -> int:
        """Rings to weave for all copies."""
        return self.per_copy * self.panel.copies

    @cached_property
    def range(self) -> tuple[int, int] | None:
        """The fewest and most rings, all copies, among the lays mail can be worn in.

        These are this lay, laid, spread, drawn along and drawn across, and for weaves of flat and
        upright rings also pushed together as far as they go. The ends may be one number; None once
        a swatch settles the lay. Counted as if the panel were given that lay, its rows centred
        anew unless they were placed by hand; only when asked for, since it takes many times as
        long as the count itself (`range_known`).
        """
        panel = self.panel
        if panel.lay.kind == "swatch":
            return None
        counts = [self.total]
        for lay in worn_lays(panel, self.rings):
            if lay != panel.lay:
                solved = sheet_of(panel, self.rings, lay)
                other = replace(panel, lay=lay)
                if panel.placing == "centred":
                    other = centred(other, solved)
                counts.append(count_rings(other, solved) * panel.copies)
        return min(counts), max(counts)

    @property
    def range_known(self) -> bool:
        """Whether the range was counted already, or needs no counting."""
        return self.panel.lay.kind == "swatch" or "range" in self.__dict__

    @property
    def wide_range(self) -> tuple[int, int] | None:
        """The range, where its ends differ; else there is nothing to say beside the count."""
        both = self.range
        return None if both is None or both[0] == both[1] else both

    def how(self, unit: str = "mm") -> tuple[str, ...]:
        """Sentences that say how the count came about, in the unit "mm" or "in"."""
        lines = [
            *_how_lay(self, unit),
            *_how_places(self, unit),
            _how_edges(self),
            _how_total(self),
        ]
        if self.panel.lay.kind == "swatch":
            lines.append(_("A swatch settles the lay, so the count has no range."))
        elif self.wide_range is not None:
            lines.append(
                _("Until a swatch is measured the count may be {range}: counted {lays}.").format(
                    range=format_count_range(*self.wide_range), lays=_counted_lays(self)
                )
            )
        else:
            lines.append(
                _("It takes as many rings worn otherwise: counted {lays}.").format(
                    lays=_counted_lays(self)
                )
            )
        return tuple(lines)


def worn_lays(panel: Panel, rings: tuple[Ring, ...]) -> tuple[Lay, ...]:
    """The lays mail can be worn in, from which the range of a panel's count is taken.

    Raises as `core.weave.lay.solve_lay`.

    Args:
        panel: its weave matters.
        rings: the ring of each of its weave's ring kinds.
    """
    lays = tuple(Lay(kind) for kind in _WORN)
    if len(rings) == 1:
        return lays
    # Row-built mail is narrowest drawn across; flat and upright rings can be pushed closer.
    return (*lays, Lay("held", width_percent=width_range_percent(panel, rings)[0]))


def has_edge_rings(panel: Panel) -> bool:
    """Whether the panel's weave leaves seats for edge rings.

    At an edge of flat and upright rings every upright ring holds its two flat ones already.
    """
    return len(panel.ring_ids) == 1


def no_edge_rings_text() -> str:
    """What to say where edge rings are asked of a weave that has none."""
    return _("This weave has no edge rings: its edge is whole rings already.")


def lay_names() -> dict[LayKind, str]:
    """What each lay is called, in the order it is offered."""
    return {
        "laid": _("laid"),
        "spread": _("spread"),
        "along": _("drawn along"),
        "across": _("drawn across"),
        "held": _("held to a width"),
        "swatch": _("as measured on a swatch"),
    }


def lay_text(lay: Lay) -> str:
    """A lay in the fewest words, as it stands beside a count."""
    if lay.kind == "held" and lay.width_percent is not None:
        return _("held to {percent} %").format(percent=f"{lay.width_percent:.4g}")
    return _("by swatch") if lay.kind == "swatch" else lay_names()[lay.kind]


def kinds_text(weave: Weave, by_kind: tuple[int, ...]) -> str:
    """Counts by ring kind, or in pairs; empty for a weave of single rings of one kind.

    Args:
        weave: the weave.
        by_kind: rings of each of its kinds.
    """
    if len(by_kind) > 1:
        names = {"flat ring": _("flat {n}"), "upright ring": _("upright {n}")}
        said = (
            names[kind].format(n=format_count(n)) if kind in names else f"{_(kind)} {n}"
            for kind, n in zip(weave.kinds, by_kind, strict=True)
        )
        return ", ".join(said)
    if weave.plies == 2:
        pairs = sum(by_kind) // 2
        return ngettext("{n} pair", "{n} pairs", pairs).format(n=format_count(pairs))
    return ""


def pitch_names(weave: Weave) -> tuple[str, str]:
    """What the pitch along and the pitch across lead from and to."""
    if len(weave.kinds) > 1:
        return (
            _("Flat ring to flat ring along a row"),
            _("Row of flat rings to the next"),
        )
    if weave.plies == 2:
        return _("Pair to pair along a row"), _("Row to row")
    return _("Ring to ring along a row"), _("Row to row")


def _counted_lays(tally: PanelTally) -> str:
    """The lays the range was counted in, as part of a sentence."""
    if len(tally.rings) > 1:
        return _("laid, spread, drawn along, drawn across, pushed together and in this lay")
    if tally.panel.lay.kind in _WORN:
        return _("laid, spread, drawn along and drawn across")
    return _("laid, spread, drawn along, drawn across and in this lay")


def _pitch(mm: float, unit: str) -> str:
    """A pitch, finely enough to be multiplied by a count of rings."""
    return format_length(mm, unit, 4 if unit == "in" else 3)


def _how_lay(tally: PanelTally, unit: str) -> list[str]:
    weave, solved, lay = tally.weave, tally.solved, tally.panel.lay
    if solved.kind == "swatch":
        source = _("measured")
    elif len(tally.rings) > 1:
        source = _(
            "solved from contact between the rings at inner ÷ wire {flat} and {other}"
        ).format(
            flat=f"{tally.rings[0].aspect_ratio:.2f}", other=f"{tally.rings[1].aspect_ratio:.2f}"
        )
    else:
        source = _("solved from contact between the rings at inner ÷ wire {ratio:.2f}").format(
            ratio=solved.aspect_ratio
        )
    pitches = {"along": _pitch(solved.along_mm, unit), "across": _pitch(solved.across_mm, unit)}
    if len(weave.kinds) > 1:
        apart = _(
            "{along} from flat ring to flat ring along a row, {across} from a row of flat rings"
            " to the next"
        ).format(**pitches)
    elif weave.plies == 2:
        apart = _("{along} from pair to pair along a row, {across} from row to row").format(
            **pitches
        )
    else:
        apart = _("{along} from ring to ring along a row, {across} from row to row").format(
            **pitches
        )
    name = lay_names()[solved.kind]
    if lay.kind == "held" and lay.width_percent is not None:
        name = _("held to {percent} % of its spread width").format(
            percent=f"{lay.width_percent:.4g}"
        )
    lines = [
        _("{weave}, {lay}: {apart}, {source}.").format(
            weave=_(weave.name), lay=name, apart=apart, source=source
        )
    ]
    if solved.nearest_mm is not None:
        lines.append(
            _(
                "No sheet of these rings can have the swatch's pitch; the nearest has"
                " {along} × {across}: measure the swatch again."
            ).format(
                along=_pitch(solved.nearest_mm[0], unit), across=_pitch(solved.nearest_mm[1], unit)
            )
        )
    return lines


def _how_places(tally: PanelTally, unit: str) -> list[str]:
    panel, each_mm2 = tally.panel, tally.solved.area_per_ring_mm2
    rule = _("whole rings inside") if panel.rule == "whole" else _("ring centres inside")
    words = (
        _(
            "{places} places of the weave, each of a pair, lie on the outline ({rule}, rows turned"
            " {grain:g}°): {body} rings; area {area} ÷ {each} a ring would give {rough:.0f}."
        )
        if tally.weave.plies == 2
        else _(
            "{body} places of the weave lie on the outline ({rule}, rows turned {grain:g}°);"
            " area {area} ÷ {each} a ring would give {rough:.0f}."
        )
    )
    lines = [
        words.format(
            places=tally.body // tally.weave.plies,
            body=tally.body,
            rule=rule,
            grain=panel.grain_deg,
            area=f"{tally.area_mm2 / MM_PER_IN**2:.2f}{SPACE}in²"
            if unit == "in"
            else f"{tally.area_mm2 / 100:.1f}{SPACE}cm²",
            each=f"{each_mm2 / MM_PER_IN**2:.5f}{SPACE}in²"
            if unit == "in"
            else f"{each_mm2:.2f}{SPACE}mm²",
            rough=tally.area_mm2 / each_mm2,
        )
    ]
    if len(tally.rings) > 1:
        lines.append(_("An upright ring is placed only where both its flat rings are."))
    empty = (
        _("Rings left out, as their pair would hang by fewer than two places: {n}.")
        if tally.weave.plies == 2
        else _("Places left empty, as a ring there would hang by fewer than two links: {n}.")
    )
    lines.append(empty.format(n=tally.dangling))
    return lines


def _how_edges(tally: PanelTally) -> str:
    if has_edge_rings(tally.panel) and all(edge.edging == "plain" for edge in tally.edges):
        return _("Edge rings: none, as no edge is edged.")
    if not has_edge_rings(tally.panel):
        return _(
            "Edge rings: none. At an edge of this weave every upright ring already holds two flat"
            " ones, and no vacant place links two rings."
        )
    if tally.weave.plies == 2:
        return _(
            "Edge rings: a pair in every seat of an edged edge, a vacant place that links two"
            " pairs of the body; they reach past the outline: {n}."
        ).format(n=tally.edge)
    return _(
        "Edge rings: one in every seat of an edged edge, a vacant place that links two"
        " body rings; they reach past the outline: {n}."
    ).format(n=tally.edge)


def _how_total(tally: PanelTally) -> str:
    total = _("{body} − {dangling} + {edge} = {one} rings, × {copies} = {total}.").format(
        body=tally.body,
        dangling=tally.dangling,
        edge=tally.edge,
        one=tally.per_copy,
        copies=tally.panel.copies,
        total=tally.total,
    )
    kinds = kinds_text(tally.weave, tally.by_kind)
    if not kinds:
        return total
    return _("{total} That is {kinds}.").format(total=total, kinds=kinds)


@memo_by_identity
def tally_panel(panel: Panel, *specs: RingSpec) -> PanelTally:
    """Count one panel woven from the ring of each of its weave's ring kinds.

    Raises:
        RingloftError: the ring cannot be wound or cannot make the weave, or the outline encloses
            no clear area; the words name the panel.
    """
    rings = tuple(resolve(spec) for spec in specs)
    weave = find_weave(panel.weave)
    solved = sheet_of(panel, rings)
    fill = fill_panel(panel, solved)
    shape = polygon(panel.outline)
    edges = tally_edges(panel, fill.edge_rings())
    dangling = fill.count(DROPPED)
    body, edge = fill.count(BODY) + dangling, fill.count(EDGE)
    return PanelTally(
        panel,
        rings,
        weave,
        solved,
        fill,
        body,
        edge,
        dangling,
        float(shape.area),
        float(np.sum([edge.length_mm for edge in edges])),
        edges,
    )


def tally_edges(panel: Panel, rings: Mapping[int, int]) -> tuple[EdgeTally, ...]:
    """A panel's edges in drawing order, given the rings of each by its id; none means 0."""
    lengths = edge_lengths_mm(panel.outline)
    edges = []
    for node_id, given in _edge_names(panel.outline).items():
        finish = panel.finish(node_id)
        name = finish.name or given
        count = rings.get(node_id, 0)
        edges.append(EdgeTally(node_id, name, lengths[node_id], finish.edging, count))
    return tuple(edges)


def _edge_names(outline: Outline) -> dict[int, str]:
    """What edges without a name of their own are called, by the id of their first node."""
    names = {
        node_id: _("Edge {n}").format(n=n)
        for n, node_id in enumerate(edge_starts(outline.rim), start=1)
    }
    for h, hole in enumerate(outline.holes, start=1):
        for n, node_id in enumerate(edge_starts(hole), start=1):
            names[node_id] = _("Hole {h}, edge {n}").format(h=h, n=n)
    return names
