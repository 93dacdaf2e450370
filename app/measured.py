"""What swatches told, as reports carry it in JSON."""

from __future__ import annotations

from typing import Any

from core.estimate import RingEstimate
from core.labour import WeavingPace
from core.panel import Panel
from core.project import Project
from core.swatches import SwatchTrial, ring_rejects


def pace_data(pace: WeavingPace) -> dict[str, Any]:
    """How long a ring takes to weave; `like` says what the timed swatch has in common."""
    trial = pace.trial
    return {
        "ring_s": pace.body_s,
        "edge_ring_s": pace.edge_s,
        "source": "common practice" if trial is None else "swatch",
        "like": pace.like,
        "factor": pace.factor,
        "ring_id": trial and trial.ring_id,
        "weave": trial and trial.weave,
        "rings_woven": trial and trial.rings_woven,
        "minutes": trial and trial.minutes,
    }


def swatch_data(project: Project, trial: SwatchTrial) -> dict[str, Any]:
    """One trial, its pitches and its chance of a bad ring with it."""
    swatch, rejects = trial.swatch, ring_rejects((trial,), trial.ring_id)
    return {
        "ring_id": trial.ring_id,
        "ring": project.ring(trial.ring_id).name,
        "weave": trial.weave,
        "upright_ring_id": trial.upright_ring_id,
        "along_mm": swatch and swatch.width_mm / swatch.rings_along,
        "across_mm": swatch and swatch.height_mm / swatch.rows,
        "rings_along": swatch and swatch.rings_along,
        "rows": swatch and swatch.rows,
        "width_mm": swatch and swatch.width_mm,
        "height_mm": swatch and swatch.height_mm,
        "minutes": trial.minutes,
        "rings_woven": trial.rings_woven,
        "ring_s": trial.ring_s,
        "bad": trial.bad,
        "inspected": trial.inspected,
        "reject_chance": rejects and rejects.chance,
        "hold": trial.hold,
    }


def spare_source(project: Project, need: RingEstimate) -> str:
    """What decides a ring's spare: the maker's share, a swatch, or common practice."""
    if project.spare_percent is not None:
        return "set"
    return "common practice" if need.rejects is None else "swatch"


def hold_data(project: Project, panel: Panel) -> str | None:
    """How the swatch of a panel that is fixed to a pad holds on it; None when not tried."""
    trial = project.swatch(panel.ring_id, panel.weave)
    if not panel.glued or trial is None or trial.hold == "not tried":
        return None
    return trial.hold
