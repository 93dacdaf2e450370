"""Edits of swatch trials."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from core.edits.common import Edit
from core.edits.panels import set_lay
from core.errors import BadValue
from core.project import Project
from core.swatches import SwatchTrial, check_trial, swatch_sheet
from core.texts import _
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay


def put_swatch(trial: SwatchTrial, panel_ids: Iterable[int] = ()) -> Edit:
    """Keep what a swatch told, in place of an older one of that ring and weave.

    Args:
        trial: the swatch.
        panel_ids: panels of those rings and that weave to give its size as their lay; the others
            keep the lay they have.

    Raises:
        BadValue: counts or sizes that cannot be, or a size to use that was not measured.
        RingTooTight: the ring cannot make the weave it was measured in.
    """
    check_trial(trial)
    find_weave(trial.weave)
    wanted = tuple(panel_ids)

    def edit(project: Project) -> Project:
        specs = tuple(project.ring(ring_id) for ring_id in trial.ring_ids)
        if trial.swatch is not None:
            swatch_sheet(trial.weave, specs, Lay("swatch", trial.swatch))
        after = project
        if project.swatch(trial.ring_id, trial.weave) != trial:
            after = replace(project, swatches=(*_others(project, trial), trial))
        for panel_id in wanted:
            panel = project.panel(panel_id)
            ours = (panel.ring_ids, panel.weave) == (trial.ring_ids, trial.weave)
            if trial.swatch is None or not ours:
                raise BadValue(
                    _("This swatch has no size for “{panel}”").format(panel=panel.name),
                    do=_("Measure a swatch of the panel’s own rings and weave"),
                )
            after = set_lay(panel_id, Lay("swatch", trial.swatch))(after)
        return after

    return edit


def remove_swatch(ring_id: int, weave: str) -> Edit:
    """Forget what a swatch of that ring in that weave told; panels keep the lay they have."""

    def edit(project: Project) -> Project:
        found = project.swatch(ring_id, weave)
        return project if found is None else replace(project, swatches=_others(project, found))

    return edit


def _key(trial: SwatchTrial) -> tuple[int, str]:
    return trial.ring_id, trial.weave


def _others(project: Project, trial: SwatchTrial) -> tuple[SwatchTrial, ...]:
    return tuple(t for t in project.swatches if _key(t) != _key(trial))
