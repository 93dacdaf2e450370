"""A costume: its rings, its panels and how its makers count."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.panel import Panel
from core.ring import RingSpec
from core.swatches import SwatchTrial, find_trial

Practice = Literal["novice", "practised"]
Unit = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class Project:
    """Everything one file holds.

    Attributes:
        practice: whose default paces and spare share count until there are trials.
        spare_percent: the maker's own spare share; None takes the practice's default.
        unit: the unit lengths are shown in; values are mm throughout.
        currency: sign put before prices.
        next_id: the next free id for panels, rings and nodes.
        swatches: what the maker measured, at most one for each ring and weave, the latest last.
    """

    name: str = ""
    rings: tuple[RingSpec, ...] = ()
    panels: tuple[Panel, ...] = ()
    practice: Practice = "novice"
    spare_percent: float | None = None
    unit: Unit = "mm"
    currency: str = "€"
    next_id: int = 1
    swatches: tuple[SwatchTrial, ...] = ()

    def panel(self, panel_id: int) -> Panel:
        """The panel of that id; raises KeyError when there is none."""
        for panel in self.panels:
            if panel.id == panel_id:
                return panel
        raise KeyError(panel_id)

    def ring(self, ring_id: int) -> RingSpec:
        """The ring of that id; raises KeyError when there is none."""
        for ring in self.rings:
            if ring.id == ring_id:
                return ring
        raise KeyError(ring_id)

    def rings_of(self, panel: Panel) -> tuple[RingSpec, ...]:
        """The ring of each ring kind of a panel's weave; raises KeyError when one is missing."""
        return tuple(self.ring(ring_id) for ring_id in panel.ring_ids)

    def swatch(self, ring_id: int, weave: str) -> SwatchTrial | None:
        """What was measured on a swatch of that ring in that weave; None when nothing was."""
        return find_trial(self.swatches, ring_id, weave)
