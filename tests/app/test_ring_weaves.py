"""Rings of every weave on screen: which is on top, how bright, what is painted again."""

import math

import numpy as np
import pytest
from PySide6.QtGui import QImage, QPainter

from app import theme
from app.canvas.view import View
from app.rings.painter import draw_arcs
from app.rings.ring_changes import changed_places
from app.rings.ring_layer import RingLayer, Sheet
from core.drawing import RingPlaces, place_arcs
from core.fill import fill_panel, sites
from core.outline import Loop, Node, Outline
from core.panel import Panel
from core.weave.cells import WEAVES
from core.weave.contact import points
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.sheet import patch
from tests.app.ring_board import alike, at_ring_px, picture

pytestmark = pytest.mark.usefixtures("qapp")

every_weave = pytest.mark.parametrize("weave_id", sorted(WEAVES))


def any_sheet(weave_id, aspect=5.5, kind="laid", wire=1.25):
    """A sheet of any weave, no tighter than it can be made."""
    ratio = max(aspect, 1.1 * limit_aspect_ratio(weave_id))
    return solve_lay(weave_id, wire, ratio * wire, Lay(kind))


def a_panel(solved, cells=9, grain=0.0):
    """The fill of a square of a sheet."""
    side = cells * solved.along_mm
    corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
    nodes = tuple(Node(i, x, y, True, None) for i, (x, y) in enumerate(corners, 1))
    panel = Panel(1, "Square", Outline(Loop(nodes)), 1, grain_deg=grain, weave=solved.weave)
    return fill_panel(panel, solved)


def some_rings(solved, which, middle, scale, by_arcs, grain, layer=None):
    """Rings of a sheet's patch, (320, 320, 3) BGR, about the centre of one."""
    near, turn = patch(solved), math.radians(grain)
    c, s = math.cos(turn), math.sin(turn)
    u, v = (near.circles.centre[which, :2] - near.circles.centre[middle, :2]).T
    x, y = u * c - v * s + 160 / scale, u * s + v * c + 160 / scale
    role = np.zeros(len(which), dtype=np.int8)
    rings = RingPlaces(x, y, near.pose[which].astype(np.int8), role)
    image = QImage(320, 320, QImage.Format.Format_RGB32)
    image.fill(theme.LIGHT.canvas)
    painter = QPainter(image)
    if by_arcs:
        painter.scale(scale, scale)
        draw_arcs(
            painter, place_arcs(solved, turn, rings), ("copper",), theme.LIGHT, scale, None, False
        )
    else:
        (layer or RingLayer()).paint_rings(
            painter, Sheet(solved, ("copper",), theme.LIGHT, grain), rings, scale
        )
    painter.end()
    return np.array(image.constBits()).reshape(320, 320, 4)[..., :3].astype(int)


def over_and_under(solved):
    """Pairs of rings that hide one another: both, and the places, mm from the first's centre,
    where they do, with whether the first is on top."""
    near = patch(solved)
    line = points(near.circles, 240)
    for me in near.base.tolist():
        for other in range(len(line)):
            between = (near.circles.wire[me] + near.circles.wire[other]) / 2
            gap = np.hypot(*(line[me, :, None, :2] - line[other, None, :, :2]).transpose(2, 0, 1))
            low = gap <= np.minimum.reduce([np.roll(gap, k, a) for k in (1, -1) for a in (0, 1)])
            i, j = np.nonzero(low & (gap < 0.1 * between))
            if other == me or len(i) == 0:
                continue
            # Of the two ways past a spot that an upright ring has, the upper one.
            at: dict[tuple[int, int], tuple[float, float]] = {}
            for a, b in zip(i, j, strict=True):
                spot = line[me, a, :2] - near.circles.centre[me, :2]
                key = tuple((spot / (0.7 * between)).round().astype(int).tolist())
                z, z_other, _spot = at.get(key, (-9e9, -9e9, spot))
                at[key] = (max(z, line[me, a, 2]), max(z_other, line[other, b, 2]), spot)
            yield me, other, [(spot, z > z_other) for z, z_other, spot in at.values()]


@every_weave
@pytest.mark.parametrize(
    ("by_arcs", "grain"), [(False, 0.0), (True, 17.0)], ids=["sprites", "arcs, turned"]
)
def test_in_every_weave_the_higher_ring_hides_the_lower(weave_id, by_arcs, grain):
    solved = any_sheet(weave_id)
    scale = 240 / max(2 * ring.radius + ring.wire for ring in solved.rings_mm)
    turn, seen, told, layer = math.radians(grain), 0, 0, RingLayer()
    for me, other, places in over_and_under(solved):
        alone = [
            some_rings(solved, [ring], me, scale, by_arcs, grain, layer) for ring in (me, other)
        ]
        both = some_rings(solved, [me, other], me, scale, by_arcs, grain, layer)
        for spot, first_on_top in places:
            x = spot[0] * math.cos(turn) - spot[1] * math.sin(turn)
            y = spot[0] * math.sin(turn) + spot[1] * math.cos(turn)
            at = (int(y * scale + 160), int(x * scale + 160))
            if not all(0 <= n < 320 for n in at):
                continue
            seen += 1
            top, low = alone if first_on_top else alone[::-1]
            if np.abs(top[at] - low[at]).max() > 12:
                assert np.abs(both[at] - top[at]).max() <= 6
                told += 1
    assert seen >= 8
    assert told > 0.5 * seen


@every_weave
@pytest.mark.parametrize("scheme", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_every_weave_thins_to_a_tint_without_a_jump_in_brightness(weave_id, scheme):
    solved = any_sheet(weave_id)
    fill = a_panel(solved, 110)

    def mean(wire_px):
        view = View(wire_px / 1.25, (-20.0, -20.0))
        seen = picture(fill, view, (100, 80), scheme=scheme, look="steel", solved=solved)
        return seen.mean(axis=(0, 1))

    assert np.abs(mean(0.49) - mean(0.51)).max() < 6
    assert np.abs(mean(1.45) - mean(1.55)).max() < 10


@every_weave
@pytest.mark.parametrize("ring_px", [8.0, 30.0, 130.0])
def test_in_every_weave_a_part_of_the_view_shows_what_the_whole_shows(weave_id, ring_px):
    solved = any_sheet(weave_id)
    fill = a_panel(solved, 9 if ring_px > 8 else 30, 17.0)
    scale = ring_px / (2 * solved.centreline_mm + solved.wire_mm)
    whole = picture(fill, View(scale, (90.0, 0.0)), (400, 300), grain=17.0, solved=solved)
    part = picture(fill, View(scale, (-10.0, -60.0)), (180, 130), grain=17.0, solved=solved)
    assert (whole != whole[0, 0]).any(axis=2).mean() > 0.02
    assert np.array_equal(part, whole[60:190, 100:280])


@every_weave
@pytest.mark.parametrize("ring_px", [3.2, 26.0])
def test_in_every_weave_a_dragged_panel_is_painted_as_if_anew(weave_id, ring_px):
    solved = any_sheet(weave_id)
    scale = ring_px / (2 * solved.centreline_mm + solved.wire_mm)
    layer, view = RingLayer(), View(scale, (20.0, 20.0))
    for cells in (8, 8, 9, 8, 7):
        fill = a_panel(solved, cells)
        kept = picture(fill, view, (240, 200), layer=layer, solved=solved)
        assert alike(kept, picture(fill, view, (240, 200), solved=solved))


@every_weave
@pytest.mark.parametrize("grain", [0.0, 17.0])
def test_only_the_sites_that_came_or_went_count_as_changed(weave_id, grain):
    solved = any_sheet(weave_id)
    fills = [a_panel(solved, cells, grain) for cells in (8, 9)]
    at = [
        {(round(x, 6), round(y, 6)) for x, y in zip(s.x_mm, s.y_mm, strict=True)}
        for s in map(sites, fills)
    ]
    changed = changed_places(*fills, solved, math.radians(grain))
    found = {(round(x, 6), round(y, 6)) for x, y in changed}
    assert at[0] ^ at[1] <= found
    assert found <= at[0] | at[1]
    assert len(found) < len(at[1])


def test_each_ring_kind_has_its_own_metal():
    solved = solve_lay("japanese-square", 1.25, 6.25, Lay("laid"), (1.0, 3.5))
    fill, view = a_panel(solved, 6), at_ring_px(60.0, (-50.0, -50.0))

    def shown(*looks):
        return picture(fill, view, (300, 300), look=looks, solved=solved).astype(int)

    # Copper is red, steel is grey; the flat rings show more of their metal.
    red = {
        looks: float((shown(*looks)[..., 2] - shown(*looks)[..., 0] > 60).mean())
        for looks in (("copper",), ("copper", "steel"), ("steel", "copper"), ("steel",))
    }
    assert red["steel",] == 0
    assert 0 < red["steel", "copper"] < red["copper", "steel"] < red["copper",]


@pytest.mark.parametrize("ring_px", [60.0, 200.0])
def test_an_upright_ring_is_a_wire_with_round_ends_that_is_lightest_on_its_back(ring_px):
    solved = any_sheet("japanese-square")
    near = patch(solved)
    scale = ring_px / (2 * solved.centreline_mm + solved.wire_mm)
    ring = int(near.base[1])
    shown = some_rings(solved, [ring], ring, scale, ring_px > 100, 0.0)
    ground = np.array([240, 248, 251])
    metal = (np.abs(shown - ground).max(axis=2) > 80).nonzero()
    wire, radius = 1.25 * scale, solved.centreline_mm * scale
    assert np.ptp(metal[1]) + 1 == pytest.approx(2 * radius + 1.06 * wire, abs=2)
    assert np.ptp(metal[0]) + 1 == pytest.approx(1.06 * wire, abs=2)
    # The corners of its ends are free.
    assert not (
        (np.abs(metal[1] - 160) > radius + 0.45 * wire) & (np.abs(metal[0] - 160) > 0.45 * wire)
    ).any()
    # Its ends are whole.
    inside = np.zeros((320, 320), dtype=bool)
    inside[metal] = True
    for side in (-1, 1):
        for angle in np.linspace(0, 2 * math.pi, 24, endpoint=False):
            x, y = side * radius + 0.4 * wire * math.cos(angle), 0.4 * wire * math.sin(angle)
            assert inside[int(160 + y), int(160 + x)]
    back = shown[160, 155:165].mean()
    ends = shown[160, [round(160 - radius), round(160 + radius)]].mean(axis=1)
    assert (back > ends + 6).all()
