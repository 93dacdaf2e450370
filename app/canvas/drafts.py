"""What is being drawn: its points, the loop through them, and the panel it would make."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath

from app.canvas.view import View
from app.starter import first_ring
from core.edits import Edit, add_panel, add_ring
from core.outline import Curve, Loop, Node, Outline, polygon
from core.panel import Panel
from core.project import Project
from core.texts import _


@dataclass(frozen=True, slots=True)
class Draft:
    """A point being drawn; `out` is its outgoing handle, whose mirror is the incoming one."""

    x_mm: float
    y_mm: float
    out: tuple[float, float] = (0.0, 0.0)


def draft_loop(points: list[Draft]) -> Loop:
    """The closed loop through drawn points; node ids count from 1."""
    nodes = []
    for i, a in enumerate(points):
        b = points[(i + 1) % len(points)]
        curve = None
        if any(a.out) or any(b.out):
            curve = Curve(*a.out, -b.out[0], -b.out[1])
        nodes.append(Node(i + 1, a.x_mm, a.y_mm, not any(a.out), curve))
    return Loop(tuple(nodes))


def squared(x_mm: float, y_mm: float, last: Draft, before: Draft | None) -> tuple[float, float]:
    """The place moved so that the line from `last` runs level, upright or square to the one
    before it, whichever is nearest.
    """
    dx, dy = x_mm - last.x_mm, y_mm - last.y_mm
    ways = [(1.0, 0.0), (0.0, 1.0)]
    if before is not None:
        bx, by = last.x_mm - before.x_mm, last.y_mm - before.y_mm
        reach = math.hypot(bx, by)
        if reach > 1e-9:
            ways += [(bx / reach, by / reach), (-by / reach, bx / reach)]
    ux, uy = max(ways, key=lambda w: abs(dx * w[0] + dy * w[1]))
    along = dx * ux + dy * uy
    return last.x_mm + along * ux, last.y_mm + along * uy


def fresh_name(project: Project) -> str:
    """The first of "Panel 1", "Panel 2" and so on that is not yet taken."""
    taken = {p.name for p in project.panels}
    n = 1
    while (name := _("Panel {n}").format(n=n)) in taken:
        n += 1
    return name


def new_panel(
    project: Project, like: int | None, outline: Outline, x_mm: float, y_mm: float
) -> Edit:
    """An edit that adds a panel with a fresh name.

    Args:
        project: the costume, for names and rings.
        like: id of a panel whose ring and weave to take; None takes the first ring, and adds one
            when there is none.
        outline: of the new panel.
        x_mm: where the panel's row 0 has a ring.
        y_mm: the same, down.
    """
    panel = Panel(0, fresh_name(project), outline, 0, origin_x_mm=x_mm, origin_y_mm=y_mm)
    if like is not None:
        model = project.panel(like)
        return add_panel(replace(panel, ring_id=model.ring_id, weave=model.weave))
    if project.rings:
        return add_panel(replace(panel, ring_id=project.rings[0].id))
    # Checked at once, like the edits themselves.
    polygon(outline)
    ring = add_ring(first_ring())

    def edit(before: Project) -> Project:
        wound = ring(before)
        return add_panel(replace(panel, ring_id=wound.rings[-1].id))(wound)

    return edit


def unsound_panel(project: Project, like: int | None, loop: Loop) -> Edit:
    """An edit, only to be shown, that adds a panel whose outline encloses no clear area."""
    corners = ((0.0, 0.0), (10.0, 0.0), (0.0, 10.0))
    sound = Outline(Loop(tuple(Node(i + 1, *at) for i, at in enumerate(corners))))
    add = new_panel(project, like, sound, 0.0, 0.0)

    def edit(before: Project) -> Project:
        after = add(before)
        first = after.next_id
        rim = Loop(tuple(replace(n, id=first + i) for i, n in enumerate(loop.nodes)))
        drawn = replace(after.panels[-1], outline=Outline(rim))
        return replace(after, panels=(*after.panels[:-1], drawn), next_id=first + len(rim.nodes))

    return edit


def draft_paths(points: list[Draft], view: View) -> tuple[QPainterPath, QPainterPath]:
    """The drawn lines, and the one that would close them, in pixels."""

    def px(x_mm: float, y_mm: float) -> QPointF:
        return QPointF(*view.to_px(x_mm, y_mm))

    def join(path: QPainterPath, a: Draft, b: Draft) -> None:
        path.cubicTo(
            px(a.x_mm + a.out[0], a.y_mm + a.out[1]),
            px(b.x_mm - b.out[0], b.y_mm - b.out[1]),
            px(b.x_mm, b.y_mm),
        )

    line = QPainterPath(px(points[0].x_mm, points[0].y_mm))
    for a, b in pairwise(points):
        join(line, a, b)
    closing = QPainterPath(px(points[-1].x_mm, points[-1].y_mm))
    join(closing, points[-1], points[0])
    return line, closing
