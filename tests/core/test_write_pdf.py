"""Pictures as PDF: the page exact, the metal where it belongs, as read back by pdfplumber."""

import hashlib
import io

import pdfplumber
import pytest
from pdfplumber.utils.pdfinternals import resolve_and_decode

from core.drawing import sheet_arcs
from core.errors import BadValue
from core.picture import picture
from core.shading import INKS
from core.weave.cells import WEAVES
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.write_pdf import MAX_PAGE_MM, PT_PER_MM, pdf_picture
from tests.core.drawn import hashes_under_other_seeds

WIRE = 1.6
MM = 25.4 / 72
"""Source: ISO 32000-1, 8.3.2.3: a unit of user space is 1/72 inch."""


def piece(weave="european-4-in-1", width=20.0, height=12.0, clipped=True, **more):
    solved = solve_lay(weave, WIRE, WIRE * 1.25 * limit_aspect_ratio(weave), Lay("laid"))
    box = (0.0, 0.0, width, height) if clipped else None
    return picture(sheet_arcs(solved, width, height), [INKS["steel"]], box, **more)


def read(data):
    return pdfplumber.open(io.BytesIO(data))


def metal(page):
    """Filled shapes as mm boxes from the page's upper left: x0, y0, x1, y1."""
    return [
        tuple(MM * float(o[k]) for k in ("x0", "top", "x1", "bottom"))
        for o in (*page.curves, *page.rects, *page.lines)
        if o["fill"]
    ]


@pytest.mark.parametrize("weave", list(WEAVES))
def test_page_is_as_large_as_the_picture_and_its_border(weave):
    shown = piece(weave, 33.3, 21.7)
    with read(pdf_picture(shown, 5.0)) as pdf:
        (page,) = pdf.pages
        assert (page.width * MM, page.height * MM) == pytest.approx((43.3, 31.7), abs=1e-4)
        assert page.rotation == 0


@pytest.mark.parametrize("margin", [3.7])
@pytest.mark.parametrize("weave", ["european-4-in-1", "doubled-4-in-1", "japanese-square"])
def test_every_shape_lies_where_the_picture_has_it(weave, margin):
    shown = piece(weave, 2.0, 2.0, clipped=False)
    with read(pdf_picture(shown, margin)) as pdf:
        found = metal(pdf.pages[0])
    placed = [
        (x + loops[:, 0].min(), y + loops[:, 1].min(), x + loops[:, 0].max(), y + loops[:, 1].max())
        for layer in shown.layers
        for x, y in zip(layer.x_mm, layer.y_mm, strict=True)
        for loops in [layer.stamp.shapes[0].loops[0]]
    ]
    x0, y0 = shown.box_mm[0] - margin, shown.box_mm[1] - margin
    loops = [sum(len(s.loops) for s in m.stamp.shapes) * len(m.x_mm) for m in shown.layers]
    assert len(found) == sum(loops), "the reader tells the loops of a shape one by one"
    for a, b, c, d in placed[:: max(1, len(placed) // 12)]:
        true = (a - x0, b - y0, c - x0, d - y0)
        assert min(max(abs(p - q) for p, q in zip(true, box, strict=True)) for box in found) < 0.01
    assert min(box[0] for box in found) == pytest.approx(margin, abs=0.01)


def test_a_picture_larger_than_any_page_is_refused():
    with pytest.raises(BadValue, match="larger than a PDF page"):
        pdf_picture(piece(width=1.0, height=MAX_PAGE_MM), 1.0)


def test_largest_page_is_that_of_the_standard():
    # Source: ISO 32000-1, annex C.2: at most 14,400 units.
    assert round(MAX_PAGE_MM * PT_PER_MM, 6) == 14_400


def test_viewers_are_asked_not_to_scale_it_and_are_told_what_it_is():
    with read(pdf_picture(piece(title="Cuff (left) “é”", about="⌀ 8"))) as pdf:
        preferences = resolve_and_decode(pdf.doc.catalog["ViewerPreferences"])
        assert preferences == {"PrintScaling": "None"}
        assert pdf.metadata["Title"] == "Cuff (left) “é”"
        assert pdf.metadata["Subject"] == "⌀ 8"


def test_each_arc_is_written_once_however_many_rings_there_are():
    small, large = (pdf_picture(piece(width=side, height=side)) for side in (40.0, 160.0))
    rings = [piece(width=side, height=side).rings for side in (40.0, 160.0)]
    assert rings[1] > 10 * rings[0]
    assert len(large) < 1.5 * len(small)


def test_the_same_picture_gives_the_same_bytes_in_any_run():
    code = """if True:
        import hashlib
        from tests.core.test_write_pdf import pdf_picture, piece
        print(hashlib.sha256(pdf_picture(piece("japanese-hexagonal"))).hexdigest())
    """
    found = hashes_under_other_seeds(code)
    found.add(hashlib.sha256(pdf_picture(piece("japanese-hexagonal"))).hexdigest())
    assert len(found) == 1
