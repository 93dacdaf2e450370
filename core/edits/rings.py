"""Edits of rings."""

from __future__ import annotations

import math
from dataclasses import replace

from core.coils import spool_length_mm
from core.edits.common import Edit
from core.errors import BadValue, RingloftError
from core.panel import sheet_of
from core.project import Project
from core.ring import Ring, RingSpec, resolve
from core.swatches import SwatchTrial
from core.texts import _, ngettext
from core.weave.lay import Lay


def add_ring(ring: RingSpec) -> Edit:
    """Add a ring; its id is given here. Raises when it cannot be wound, or its spool is empty."""
    _check_spool(ring, resolve(ring))

    def edit(project: Project) -> Project:
        new = replace(ring, id=project.next_id)
        return replace(project, rings=(*project.rings, new), next_id=project.next_id + 1)

    return edit


def set_ring(ring: RingSpec) -> Edit:
    """Replace the ring of the same id.

    Another wire, metal or mandrel makes another ring: what its swatches told about the lay and
    about holding on the pad is dropped, while pace and rejects, which tell about the maker's
    hands, are kept. So it is with another inner diameter of a ring without a mandrel; with one, it
    is a better measure of the same ring, and all is kept. A panel laid by a swatch of a ring that
    is another now is laid again, unless wire and inner diameter come to the same; others keep the
    lay they have.

    Raises when it cannot be wound, or when a panel's weave cannot be made from it.
    """
    made = resolve(ring)
    _check_spool(ring, made)

    def edit(project: Project) -> Project:
        before = project.ring(ring.id)
        if before == ring:
            return project
        after = replace(project, rings=tuple(ring if r.id == ring.id else r for r in project.rings))
        if not (_same_ring(before, ring) or _same_size(before, made)):
            after = _laid_again(after, ring.id)
        for panel in after.panels:
            if ring.id in panel.ring_ids:
                sheet_of(panel, tuple(resolve(spec) for spec in after.rings_of(panel)))
        return after if _same_ring(before, ring) else _with_stale_swatches(after, ring.id)

    return edit


def _same_ring(before: RingSpec, now: RingSpec) -> bool:
    """Whether both state one and the same ring, perhaps measured or named anew."""

    def key(spec: RingSpec) -> tuple[object, ...]:
        inner = spec.inner_measured_mm if spec.mandrel_mm is None else None
        return spec.metal, spec.wire_mm, spec.mandrel_mm, inner

    return key(before) == key(now)


def _same_size(before: RingSpec, made: Ring) -> bool:
    """Whether a ring comes out as wide and as thick as it did."""
    try:
        old = resolve(before)
    except RingloftError:
        return False
    return all(
        math.isclose(a, b, rel_tol=1e-9)
        for a, b in ((old.wire_mm, made.wire_mm), (old.inner_mm, made.inner_mm))
    )


def _laid_again(project: Project, ring_id: int) -> Project:
    """With panels of that ring laid, where a swatch of it told how they lie."""
    panels = tuple(
        replace(p, lay=Lay("laid")) if p.lay.kind == "swatch" and ring_id in p.ring_ids else p
        for p in project.panels
    )
    return replace(project, panels=panels)


def _with_stale_swatches(project: Project, ring_id: int) -> Project:
    """Without what swatches of that ring, flat or upright, told about the ring itself."""
    kept: list[SwatchTrial] = []
    for trial in project.swatches:
        if ring_id in (trial.ring_id, trial.upright_ring_id):
            trial = replace(trial, swatch=None, hold="not tried")
            if trial.empty:
                continue
        kept.append(trial)
    if tuple(kept) == project.swatches:
        return project
    return replace(project, swatches=tuple(kept))


def _check_spool(ring: RingSpec, made: Ring) -> None:
    spool_length_mm(ring.spool, made)
    price = ring.spool.price
    if price is not None and not (math.isfinite(price) and price >= 0):
        raise BadValue(_("A price cannot be below zero"), do=_("Type what one spool costs"))


def remove_ring(ring_id: int) -> Edit:
    """Remove a ring no panel is woven from.

    Its swatches go with it; where it stood upright in those of another ring, what they told about
    lay and hold.
    """

    def edit(project: Project) -> Project:
        project.ring(ring_id)
        users = [p.name for p in project.panels if ring_id in p.ring_ids]
        if users:
            raise BadValue(
                _("The ring is used by {panels}").format(panels=_listed(users)),
                do=ngettext(
                    "Give that panel another ring first",
                    "Give those panels another ring first",
                    len(users),
                ),
            )
        swatches = tuple(
            replace(t, upright_ring_id=None) if t.upright_ring_id == ring_id else t
            for t in _with_stale_swatches(project, ring_id).swatches
            if t.ring_id != ring_id
        )
        return replace(
            project,
            rings=tuple(r for r in project.rings if r.id != ring_id),
            swatches=project.swatches if swatches == project.swatches else swatches,
        )

    return edit


def _listed(names: list[str]) -> str:
    """Up to three names, and how many more there are."""
    shown = ", ".join(names[:3])
    rest = len(names) - 3
    if rest <= 0:
        return shown
    return ngettext("{names} and {n} more", "{names} and {n} more", rest).format(
        names=shown, n=rest
    )
