"""Pictures of panels and of pieces of mail, as the files they are saved in. Never imports Qt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from core.drawing import fill_arcs, sheet_arcs
from core.errors import BadValue
from core.fill import count_rings, fill_panel
from core.panel import Panel, sheet_of
from core.picture import Picture, picture
from core.project import Project
from core.ring import RingSpec, resolve
from core.shading import INKS, Ink
from core.texts import _, ngettext
from core.units import format_count
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay, solve_lay
from core.weave.sheet import SolvedLay
from core.wire import metals
from core.write_pdf import pdf_picture
from core.write_svg import svg_picture

MOST_RINGS = 200_000
"""What programs that show such files still bear."""

PDF_MARGIN_MM = 5.0
SWATCH_MM = (100.0, 70.0)


def inks_of(specs: Sequence[RingSpec]) -> tuple[Ink, ...]:
    """The colours of each ring kind's metal."""
    known = metals()
    return tuple(INKS[known[s.metal].look if s.metal in known else "steel"] for s in specs)


def panel_picture(project: Project, panel: Panel) -> Picture:
    """A panel's rings as they lie.

    Raises:
        RingloftError: there is no sheet of such rings, the outline cannot be filled, no ring
            fits, or there are too many to show.
    """
    specs = project.rings_of(panel)
    rings = tuple(resolve(spec) for spec in specs)
    solved = sheet_of(panel, rings)
    count = count_rings(panel, solved)
    if not count:
        raise BadValue(
            _("No ring fits, so there is nothing to show"),
            panel.name,
            _("Make the panel larger or the ring smaller"),
        )
    _check_count(count, panel.name)
    arcs = fill_arcs(fill_panel(panel, solved), solved, panel.grain_deg)
    return picture(
        arcs, inks_of(specs), title=panel.name, about=about(solved, specs, count, project.name)
    )


def swatch_picture(
    specs: Sequence[RingSpec], weave_id: str, lay: Lay, size_mm: tuple[float, float] = SWATCH_MM
) -> Picture:
    """A rectangle cut out of an endless sheet.

    Args:
        specs: the ring of each of the weave's ring kinds; the last serves all further ones.
        weave_id: the weave.
        lay: how far it is opened.
        size_mm: width and height.

    Raises:
        RingloftError: there is no such weave, no sheet of such rings, or too much of it.
    """
    rings = [resolve(spec) for spec in specs]
    upright = None
    if len(find_weave(weave_id).kinds) > 1:
        upright = (rings[-1].wire_mm, rings[-1].inner_mm)
    solved = solve_lay(weave_id, rings[0].wire_mm, rings[0].inner_mm, lay, upright)
    width, height = size_mm
    if not (0 < width < math.inf and 0 < height < math.inf):
        raise BadValue(_("A picture needs a width and a height"), do=_("Use lengths above zero"))
    count = width * height / solved.area_per_ring_mm2
    name = _(find_weave(weave_id).name)
    _check_count(math.ceil(min(count, 1e12)), name)
    return picture(
        sheet_arcs(solved, width, height),
        inks_of(specs),
        (0.0, 0.0, width, height),
        title=name,
        about=about(solved, specs, None),
    )


def _check_count(count: int, where: str) -> None:
    if count > MOST_RINGS:
        raise BadValue(
            _("A picture of {n} rings is more than other programs can show").format(
                n=format_count(count)
            ),
            where,
            _("Save a piece of at most {n} rings").format(n=format_count(MOST_RINGS)),
        )


def about(
    solved: SolvedLay, specs: Sequence[RingSpec], count: int | None, costume: str = ""
) -> str:
    """What a picture shows, in sentences."""
    known = metals()
    sizes = dict.fromkeys(
        _("{metal}, wire {wire:.2f} mm, inner ⌀ {inner:.2f} mm").format(
            metal=_(known[spec.metal].name) if spec.metal in known else spec.metal,
            wire=spec.wire_mm,
            inner=resolve(spec).inner_mm,
        )
        for spec in specs
    )
    parts = [costume] if costume else []
    parts += [_(find_weave(solved.weave).name), *sizes]
    if count is not None:
        parts.append(ngettext("{n} ring", "{n} rings", count).format(n=format_count(count)))
    parts.append(_("True size: print it at 100 %"))
    return ". ".join(parts) + "."


def picture_bytes(shown: Picture, suffix: str) -> bytes:
    """The picture as a file.

    Args:
        shown: the picture.
        suffix: of the file's name, ".svg" or ".pdf".

    Raises:
        BadValue: for another suffix; or no PDF page is as large.
    """
    if suffix.lower() == ".svg":
        return svg_picture(shown).encode("utf-8")
    if suffix.lower() == ".pdf":
        return pdf_picture(shown, PDF_MARGIN_MM)
    raise BadValue(
        _("“{suffix}” is no kind of picture").format(suffix=suffix or _("no ending")),
        do=_("End the file’s name in .svg or .pdf"),
    )


def suffix_of(path: Path) -> str:
    """The ending that says which kind of picture a file is, in small letters."""
    return path.suffix.lower()
