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
from core.texts import _
from core.weave.cells import Weave
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay
from core.weave.sheet import LayKind, SolvedLay


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
        """The fewest and most rings, all copies, among this lay, spread and drawn across.

        Those bound what mail can do as worn; None once a swatch settles the lay. Counted as if
        the panel were given that lay, its rows centred anew unless they were placed by hand; only
        when asked for, since it takes many times as long as the count itself.
        """
        panel = self.panel
        if panel.lay.kind == "swatch":
            return None
        counts = [self.total]
        for kind in ("spread", "across"):
            if kind != panel.lay.kind:
                lay = Lay(kind)
                solved = sheet_of(panel, self.rings, lay)
                other = replace(panel, lay=lay)
                if panel.placing == "centred":
                    other = centred(other, solved)
                counts.append(count_rings(other, solved) * panel.copies)
        return min(counts), max(counts)

    def how(self) -> tuple[str, ...]:
        """Sentences that say how the count came about."""
        rule = _("whole rings inside") if self.panel.rule == "whole" else _("ring centres inside")
        lines = [
            *_how_lay(self.weave, self.solved),
            _(
                "{body} places of the weave lie on the outline ({rule}, rows turned {grain:g}°);"
                " area {area:.1f} cm² ÷ {each:.2f} mm² a ring would give {rough:.0f}."
            ).format(
                body=self.body,
                rule=rule,
                grain=self.panel.grain_deg,
                area=self.area_mm2 / 100,
                each=self.solved.area_per_ring_mm2,
                rough=self.area_mm2 / self.solved.area_per_ring_mm2,
            ),
            _("Places left empty, as a ring there would hang by fewer than two links: {n}.").format(
                n=self.dangling
            ),
            _(
                "Edge rings: one in every seat of an edged edge, a vacant place that links two"
                " body rings; they reach past the outline: {n}."
            ).format(n=self.edge),
            _("{body} − {dangling} + {edge} = {one} rings, × {copies} = {total}.").format(
                body=self.body,
                dangling=self.dangling,
                edge=self.edge,
                one=self.per_copy,
                copies=self.panel.copies,
                total=self.total,
            ),
        ]
        if self.range is not None:
            lines.append(
                _(
                    "Until a swatch is measured the count may be {low} to {high}: counted spread,"
                    " drawn across and in this lay."
                ).format(low=self.range[0], high=self.range[1])
            )
        return tuple(lines)


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


def _how_lay(weave: Weave, solved: SolvedLay) -> list[str]:
    source = (
        _("measured")
        if solved.kind == "swatch"
        else _("solved from contact between the rings at inner ÷ wire {ratio:.2f}").format(
            ratio=solved.aspect_ratio
        )
    )
    lines = [
        _(
            "{weave}, {lay}: {along:.3f} mm from ring to ring along a row, {across:.3f} mm from"
            " row to row, {source}."
        ).format(
            weave=_(weave.name),
            lay=lay_names()[solved.kind],
            along=solved.along_mm,
            across=solved.across_mm,
            source=source,
        )
    ]
    if solved.nearest_mm is not None:
        lines.append(
            _(
                "No sheet of these rings can have the swatch's pitch; the nearest has"
                " {along:.3f} × {across:.3f} mm: measure the swatch again."
            ).format(along=solved.nearest_mm[0], across=solved.nearest_mm[1])
        )
    return lines


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
