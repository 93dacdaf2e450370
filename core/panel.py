"""A panel: an outline, and how mail lies on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.outline import Outline
from core.ring import Ring
from core.weave.cells import kind_ring_ids
from core.weave.lay import Lay, solve_lay
from core.weave.sheet import SolvedLay

Edging = Literal["plain", "edged"]
PlacingRule = Literal["whole", "centre"]
Placing = Literal["centred", "by hand"]
Holding = Literal["glued", "hanging", "held"]

MAX_COPIES = 1000

EDGINGS: tuple[Edging, ...] = ("plain", "edged")
"""Every edging, in the order they are gone through."""

HOLDINGS: tuple[Holding, ...] = ("glued", "hanging", "held")
"""Every holding, in the order they are offered."""


def next_edging(edging: Edging) -> Edging:
    """The edging after that one; the first after the last."""
    return EDGINGS[(EDGINGS.index(edging) + 1) % len(EDGINGS)]


@dataclass(frozen=True, slots=True)
class EdgeFinish:
    """How one edge is finished; the edge is named by the node it starts at."""

    node_id: int
    edging: Edging = "plain"
    name: str = ""


@dataclass(frozen=True, slots=True)
class Panel:
    """A piece of mail and the shape it covers.

    Attributes:
        id: unique in the project.
        outline: panel frame, mm, x right, y down.
        ring_id: which of the project's rings it is woven from.
        upright_ring_id: which ring stands upright, in weaves of flat and upright rings; None for
            the same as `ring_id`.
        weave: key of the weave.
        grain_deg: angle of the rows, degrees, clockwise on screen from level.
        origin_x_mm: a ring of row 0 is centred here; stays put while the outline is dragged.
        placing: "centred": the origin is chosen anew when an edit changes what it hangs on; "by
            hand": it stays where the maker put it.
        rule: "whole": rings lie wholly inside; "centre": their centres do.
        copies: how many to make; with `mirrored`, half of them are mirror images.
        edges: finishes of the edges that are not plain and unnamed, in node order.
        holding: "glued": glued or sewn all over a pad; "hanging": hung from its top, its sides
            free; "held": hung from a top and sides that keep it to a width.
    """

    id: int
    name: str
    outline: Outline
    ring_id: int
    weave: str = "european-4-in-1"
    lay: Lay = Lay()
    grain_deg: float = 0.0
    origin_x_mm: float = 0.0
    origin_y_mm: float = 0.0
    rule: PlacingRule = "whole"
    copies: int = 1
    mirrored: bool = False
    edges: tuple[EdgeFinish, ...] = ()
    holding: Holding = "glued"
    placing: Placing = "centred"
    upright_ring_id: int | None = None

    def finish(self, node_id: int) -> EdgeFinish:
        """The finish of the edge that starts at that node; plain when nothing was set."""
        for edge in self.edges:
            if edge.node_id == node_id:
                return edge
        return EdgeFinish(node_id)

    @property
    def glued(self) -> bool:
        """Whether it is fixed to a pad all over, which takes time and glue or thread."""
        return self.holding == "glued"

    @property
    def ring_ids(self) -> tuple[int, ...]:
        """The ring of each of the weave's ring kinds; of an unknown weave, the one ring."""
        return kind_ring_ids(self.weave, self.ring_id, self.upright_ring_id)


def sheet_of(panel: Panel, rings: tuple[Ring, ...], lay: Lay | None = None) -> SolvedLay:
    """The sheet a panel's rings make, by its own lay or another.

    Args:
        panel: the panel.
        rings: the ring of each of its weave's ring kinds.
        lay: instead of the panel's.

    Raises as `solve_lay`.
    """
    sizes = [(ring.wire_mm, ring.inner_mm) for ring in rings]
    return solve_lay(panel.weave, *sizes[0], lay or panel.lay, *sizes[1:])
