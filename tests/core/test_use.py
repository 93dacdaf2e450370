"""How a panel is worn, and the lay that is offered for it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import BadValue
from core.panel import HOLDINGS, Panel, sheet_of
from core.ring import resolve
from core.use import (
    first_width_percent,
    offered_lay,
    proposed_kind,
    proposed_lay,
    rows_as_worn,
    why_lay,
    width_range_percent,
)
from core.weave.cells import WEAVES
from core.weave.lay import LAY_KINDS, Lay, Swatch, whole_percents
from tests.core.costumes import STEEL
from tests.core.shapes import rectangle

RING = resolve(replace(STEEL, wire_mm=1.2, mandrel_mm=None, inner_measured_mm=8.4))
PANEL = Panel(2, "Bib", rectangle(120.0, 90.0), STEEL.id)
angles = st.floats(-720, 720)


def rings_of(panel):
    return (RING,) * len(panel.ring_ids)


@pytest.mark.parametrize(
    ("grain", "worn"),
    [(0, "level"), (10, "level"), (-10, "level"), (180, "level"), (90, "upright"),
     (-85, "upright"), (45, "slanted"), (-45, "slanted"), (30, "slanted"), (120, "slanted")],
)  # fmt: skip
def test_rows_as_worn(grain, worn):
    assert rows_as_worn(grain) == worn


@given(angles)
def test_rows_that_are_the_same_rows_are_worn_alike(grain):
    """A mirror image and half a turn leave level rows level; a quarter turn swaps them."""
    # Beside the bounds, where a rounding of the angle decides.
    grain = round(grain) + 0.25
    assert rows_as_worn(grain) == rows_as_worn(-grain) == rows_as_worn(grain + 180)
    swapped = {"level": "upright", "upright": "level", "slanted": "slanted"}
    assert rows_as_worn(grain + 90) == swapped[rows_as_worn(grain)]


def test_the_lay_follows_from_holding_and_grain():
    """Common practice, no source."""
    assert proposed_kind(PANEL) == "laid"
    hung = replace(PANEL, holding="hanging")
    drawn = [proposed_kind(replace(hung, grain_deg=g)) for g in (0, 44, -45, 46, -60, 90)]
    assert drawn == ["across", "across", "across", "along", "along", "along"]
    assert {proposed_kind(replace(PANEL, holding="held", grain_deg=g)) for g in (0, 60)} == {"held"}


@pytest.mark.parametrize("weave", list(WEAVES))
@given(st.floats(-90, 90))
def test_hanging_mail_is_longest_down_by_its_lay(weave, grain):
    """Of all lays, none gives a longer sheet the way that its own weight pulls."""
    panel = replace(PANEL, weave=weave, grain_deg=grain, holding="hanging")
    rings = rings_of(panel)
    lay = proposed_lay(panel, rings)
    sheet = sheet_of(panel, rings, lay)
    others = [sheet_of(panel, rings, Lay(k)) for k in ("laid", "spread", "along", "across")]
    down = "across_mm" if lay.kind == "across" else "along_mm"
    assert all(getattr(sheet, down) >= getattr(o, down) - 1e-9 for o in others)


@pytest.mark.parametrize("weave", list(WEAVES))
@given(aspect=st.floats(6.0, 12.0))
def test_a_held_width_begins_where_the_rings_can_have_it(weave, aspect):
    ring = resolve(replace(STEEL, wire_mm=1.2, mandrel_mm=None, inner_measured_mm=1.2 * aspect))
    panel = replace(PANEL, weave=weave, holding="held")
    rings = (ring,) * len(panel.ring_ids)
    low, high = width_range_percent(panel, rings)
    percent = first_width_percent(panel, rings)
    assert low <= percent <= high
    assert percent == 90.0 or not low <= 90.0 <= high
    lay = proposed_lay(panel, rings)
    spread = sheet_of(panel, rings, Lay("spread")).along_mm
    assert sheet_of(panel, rings, lay).along_mm == pytest.approx(spread * percent / 100)


@pytest.mark.parametrize("weave", list(WEAVES))
@given(aspect=st.floats(6.0, 12.0))
def test_every_whole_percent_that_is_named_can_be_had(weave, aspect):
    ring = resolve(replace(STEEL, wire_mm=1.2, mandrel_mm=None, inner_measured_mm=1.2 * aspect))
    panel = replace(PANEL, weave=weave)
    rings = (ring,) * len(panel.ring_ids)
    low, high = whole_percents(*width_range_percent(panel, rings))
    for percent in (low, high):
        sheet_of(panel, rings, Lay("held", width_percent=float(percent)))
    for percent in (low - 1, high + 1):
        with pytest.raises(BadValue):
            sheet_of(panel, rings, Lay("held", width_percent=float(percent)))


def test_a_held_width_that_is_set_stays():
    panel = replace(PANEL, holding="held", lay=Lay("held", width_percent=80.0))
    assert proposed_lay(panel, (RING,)) is panel.lay
    assert offered_lay(panel, (RING,)) is None


@given(
    st.sampled_from(list(WEAVES)), st.sampled_from(HOLDINGS), st.floats(-90, 90),
    st.sampled_from([k for k in LAY_KINDS if k != "swatch"]),
)  # fmt: skip
def test_an_offer_once_taken_is_gone(weave, holding, grain, kind):
    panel = replace(PANEL, weave=weave, holding=holding, grain_deg=grain)
    rings = rings_of(panel)
    width = first_width_percent(panel, rings) if kind == "held" else None
    panel = replace(panel, lay=Lay(kind, width_percent=width))
    offer = offered_lay(panel, rings)
    if offer is None:
        now, then = sheet_of(panel, rings), sheet_of(panel, rings, proposed_lay(panel, rings))
        assert math.isclose(now.along_mm, then.along_mm, rel_tol=1e-6)
    else:
        assert offer.kind != kind
        assert offered_lay(replace(panel, lay=offer), rings) is None


def test_a_measured_lay_is_never_argued_with():
    measured = Lay("swatch", Swatch(10, 10, 89.0, 60.0))
    for holding in HOLDINGS:
        assert offered_lay(replace(PANEL, holding=holding, lay=measured), (RING,)) is None


def test_a_sheet_that_cannot_be_drawn_longer_is_offered_nothing():
    """Square mail of flat and upright rings is taut both ways when it is spread."""
    square = replace(PANEL, weave="japanese-square", holding="hanging", lay=Lay("spread"))
    assert offered_lay(square, (RING, RING)) is None
    assert offered_lay(replace(square, weave="japanese-hexagonal"), (RING, RING)) == Lay("across")


def test_a_new_panel_begins_with_the_lay_that_is_usual():
    assert offered_lay(PANEL, (RING,)) is None


@pytest.mark.parametrize(
    ("holding", "grain", "words"),
    [("glued", 0, "laid"), ("held", 0, "held to"), ("hanging", 0, "rows level: drawn across"),
     ("hanging", 90, "rows upright: drawn along"), ("hanging", 40, "nearer level: drawn across"),
     ("hanging", 50, "nearer upright: drawn along"), ("hanging", 45, "rows slanted: drawn across"),
     ("hanging", -45, "rows slanted: drawn across")],
)  # fmt: skip
def test_the_offer_says_why(holding, grain, words):
    assert words in why_lay(replace(PANEL, holding=holding, grain_deg=grain))
