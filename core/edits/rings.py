"""Edits of rings."""

from __future__ import annotations

import math
from dataclasses import replace

from core.edits.common import Edit
from core.errors import BadValue
from core.estimate import spool_length_mm
from core.project import Project
from core.ring import Ring, RingSpec, resolve
from core.texts import _, ngettext
from core.weave.lay import solve_lay


def add_ring(ring: RingSpec) -> Edit:
    """Add a ring; its id is given here. Raises when it cannot be wound, or its spool is empty."""
    _check_spool(ring, resolve(ring))

    def edit(project: Project) -> Project:
        new = replace(ring, id=project.next_id)
        return replace(project, rings=(*project.rings, new), next_id=project.next_id + 1)

    return edit


def set_ring(ring: RingSpec) -> Edit:
    """Replace the ring of the same id.

    Raises when it cannot be wound, or when a panel's weave cannot be made from it.
    """
    made = resolve(ring)
    _check_spool(ring, made)

    def edit(project: Project) -> Project:
        if project.ring(ring.id) == ring:
            return project
        for panel in project.panels:
            if panel.ring_id == ring.id:
                solve_lay(panel.weave, made.wire_mm, made.inner_mm, panel.lay)
        return replace(project, rings=tuple(ring if r.id == ring.id else r for r in project.rings))

    return edit


def _check_spool(ring: RingSpec, made: Ring) -> None:
    spool_length_mm(ring.spool, made)
    price = ring.spool.price
    if price is not None and not (math.isfinite(price) and price >= 0):
        raise BadValue(_("A price cannot be below zero"), do=_("Type what one spool costs"))


def remove_ring(ring_id: int) -> Edit:
    """Remove a ring no panel is woven from."""

    def edit(project: Project) -> Project:
        project.ring(ring_id)
        users = [p.name for p in project.panels if p.ring_id == ring_id]
        if users:
            raise BadValue(
                _("The ring is used by {panels}").format(panels=_listed(users)),
                do=ngettext(
                    "Give that panel another ring first",
                    "Give those panels another ring first",
                    len(users),
                ),
            )
        return replace(project, rings=tuple(r for r in project.rings if r.id != ring_id))

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
