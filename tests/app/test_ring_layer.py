"""Rings on screen: the right one on top, opaque, where they belong, at every zoom."""

import gc
import math
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtGui import QImage

from app import theme, true_size
from app.canvas.view import View
from app.rings import fragments, ring_layer
from app.rings.ring_layer import RingLayer
from app.rings.swatch import SwatchView
from core.fill import BODY, DROPPED, EDGE, Fill
from core.weave.cells import EUROPEAN_4_IN_1 as WEAVE
from tests.app.ring_board import SOLVED, alike, at_ring_px, picture

pytestmark = pytest.mark.usefixtures("qapp")


def a_fill(rings, grain_deg=0.0):
    """A fill of single rings: (row, k, role)."""
    turn = math.radians(grain_deg)
    c, s = math.cos(turn), math.sin(turn)
    runs, place = [], []
    for row, k, role in sorted(rings):
        u = (k + WEAVE.courses[row % 2].phase) * SOLVED.along_mm
        v = row * SOLVED.across_mm
        runs.append((row % 2, 0, role, k, 1))
        place.append((u * c - v * s, u * s + v * c, SOLVED.along_mm * c, SOLVED.along_mm * s))
    return Fill(
        np.array(runs, dtype=np.int32),
        np.array([r[0] for r in sorted(rings)], dtype=np.int32),
        np.array(place),
        np.zeros((0, 5), dtype=np.int32),
        np.full(len(runs), -1),
    )


def block(rings, rows, role=BODY):
    return [(row, k, role) for row in range(rows) for k in range(rings)]


def on_screen(view, grain, row, k, angle):
    """The pixel and the height of a point of a ring's centreline."""
    turn = math.radians(grain)
    r, lean = SOLVED.centreline_mm, SOLVED.lean_rad
    u = (k + WEAVE.courses[row % 2].phase) * SOLVED.along_mm + r * math.cos(angle) * math.cos(lean)
    v = row * SOLVED.across_mm + r * math.sin(angle)
    z = WEAVE.courses[row % 2].lean_sign * r * math.cos(angle) * math.sin(lean)
    x, y = view.to_px(
        u * math.cos(turn) - v * math.sin(turn), u * math.sin(turn) + v * math.cos(turn)
    )
    return x, y, z


def crossings(view, grain, a, b):
    """Where the centrelines of two rings cross on screen: (x, y, z of a, z of b)."""
    n = 720
    angles = 2 * math.pi * np.arange(n) / n
    p = np.array([on_screen(view, grain, *a, f) for f in angles])
    q = np.array([on_screen(view, grain, *b, f) for f in angles])
    gap = np.hypot(*(p[:, None, :2] - q[None, :, :2]).transpose(2, 0, 1))
    low = (gap <= np.roll(gap, 1, 0)) & (gap <= np.roll(gap, -1, 0))
    low &= (gap <= np.roll(gap, 1, 1)) & (gap <= np.roll(gap, -1, 1))
    i, j = np.nonzero(low & (gap < 4 * math.pi * SOLVED.centreline_mm * view.scale / n))
    return [(p[m, 0], p[m, 1], p[m, 2], q[o, 2]) for m, o in zip(i, j, strict=True)]


@pytest.mark.parametrize("grain", [0.0, 17.0, 45.0])
@pytest.mark.parametrize("ring_px", [48.0, 90.0, 300.0, 720.0])
def test_the_higher_ring_hides_the_lower_at_every_crossing(ring_px, grain):
    view = at_ring_px(ring_px, (300.0, 260.0))
    size = (900, 900)
    one, seen = (0, 0), 0
    for other in ((1, 0), (1, -1)):
        alone = [
            picture(a_fill([(*ring, BODY)], grain), view, size, grain=grain, look=look)
            for ring, look in ((one, "copper"), (other, "copper"))
        ]
        both = picture(
            a_fill([(*one, BODY), (*other, BODY)], grain), view, size, grain=grain, look="copper"
        )
        for x, y, z, z_other in crossings(view, grain, one, other):
            spot = (int(y), int(x))
            top, low = alone if z > z_other else alone[::-1]
            assert np.abs(top[spot].astype(int) - low[spot]).max() > 6  # the test can tell them
            assert np.abs(both[spot].astype(int) - top[spot]).max() <= 3
            seen += 1
    assert seen == 4


@pytest.mark.parametrize("ring_px", [14.0, 34.0, 130.0, 720.0])
def test_metal_is_opaque_all_along_so_no_seam_shows(ring_px):
    view = at_ring_px(ring_px, (400.3, 400.7))
    pictures = [
        picture(a_fill([(0, 0, BODY)]), view, (800, 800), ground=ground)
        for ground in (0xFFFF0000, 0xFF0000FF)
    ]
    angles = np.linspace(0, 2 * math.pi, 400)
    spots = [tuple(int(v) for v in on_screen(view, 0.0, 0, 0, f)[1::-1]) for f in angles]
    # Wire two pixels thick leaves the corner of a pixel free; a seam would leave all of it.
    most = 40 if ring_px < 20 else 3
    for spot in spots:
        assert np.abs(pictures[0][spot].astype(int) - pictures[1][spot]).max() <= most


def test_counted_fragments_show_what_plain_calls_show(monkeypatch):
    fill = a_fill([*block(6, 5), (5, 1, EDGE), (5, 2, DROPPED)], 17.0)
    view = at_ring_px(26.0)
    assert fragments.array_is_drawn()
    fast = picture(fill, view, grain=17.0)
    monkeypatch.setattr(ring_layer, "draw_fragments", fragments.draw_one_by_one)
    plain = picture(fill, view, grain=17.0)
    assert (fast != theme.LIGHT.canvas.blue()).any()
    assert np.array_equal(fast, plain)


def refuses(_address, _kind):
    raise TypeError("no such thing")


def reads_elsewhere(_address, kind):
    return wrap(ELSEWHERE.ctypes.data, kind)


wrap = fragments.shiboken6.wrapInstance
ELSEWHERE = np.zeros((1000, 10))


@pytest.mark.parametrize("misbehaves", [refuses, reads_elsewhere])
def test_a_binding_that_misreads_the_array_still_shows_the_rings(monkeypatch, misbehaves):
    fill, view = a_fill(block(6, 5), 17.0), at_ring_px(26.0)
    right = picture(fill, view, grain=17.0)
    fragments.array_is_drawn.cache_clear()
    try:
        monkeypatch.setattr(fragments.shiboken6, "wrapInstance", misbehaves)
        assert np.array_equal(picture(fill, view, grain=17.0), right)
    finally:
        fragments.array_is_drawn.cache_clear()


@pytest.mark.parametrize("ring_px", [8.0, 24.0, 60.0])
def test_two_device_pixels_a_pixel_is_the_same_picture_twice_the_size(ring_px):
    fill = a_fill(block(6, 5), 17.0)
    fine = picture(fill, at_ring_px(ring_px, (40.25, 30.5)), (100, 80), dpr=2, grain=17.0)
    large = picture(fill, at_ring_px(2 * ring_px, (80.5, 61.0)), (200, 160), grain=17.0)
    assert np.array_equal(fine, large)


@pytest.mark.parametrize("ring_px", [8.0, 30.0, 130.0])
def test_what_lies_out_of_view_changes_nothing_in_view(ring_px):
    fill = a_fill(block(14, 12), 17.0)
    whole = picture(fill, at_ring_px(ring_px, (150.0, 20.0)), (400, 300), grain=17.0)
    part = picture(fill, at_ring_px(ring_px, (50.0, -40.0)), (180, 130), grain=17.0)
    assert np.array_equal(part, whole[60:190, 100:280])


def test_a_new_fill_is_shown_and_an_old_one_is_remembered():
    layer, view = RingLayer(), at_ring_px(30.0)
    less, more = a_fill(block(3, 3)), a_fill(block(4, 4))
    first = picture(less, view, layer=layer)
    again = picture(less, view, layer=layer)
    other = picture(more, view, layer=layer)
    assert alike(first, again)
    assert not alike(first, other)
    assert alike(other, picture(more, view))
    assert alike(first, picture(less, view, layer=layer))


changes = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 16), st.sampled_from([None, BODY, EDGE, DROPPED])),
    max_size=3,
)
moves = st.integers(-40, 40) | st.just(0)
steps = st.lists(st.tuples(changes, moves, moves), min_size=3, max_size=6)


@settings(max_examples=15)
@given(
    steps,
    st.sampled_from([3.2, 8.0, 26.0, 60.0, 720.0]),
    st.sampled_from([0.0, 17.0]),
    st.sampled_from([1, 2]),
)
def test_a_picture_brought_up_to_date_is_the_picture_painted_anew(qapp, made, ring_px, grain, dpr):
    layer, (x, y), size = RingLayer(), (60.2, 40.7), (480, 400)
    rings = dict.fromkeys(((row, k) for row in range(21) for k in range(17)), BODY)
    for changed, dx, dy in made:
        rings |= {(row, k): role for row, k, role in changed}
        x, y = x + dx, y + dy
        fill = a_fill([(*at, role) for at, role in rings.items() if role is not None], grain)
        view = at_ring_px(ring_px, (x, y))
        kept = picture(fill, view, size, layer=layer, grain=grain, dpr=dpr)
        assert alike(kept, picture(fill, view, size, grain=grain, dpr=dpr))


def test_a_panel_moved_off_its_lattice_is_painted_anew():
    layer, view = RingLayer(), at_ring_px(26.0)
    fill = a_fill(block(5, 5))
    for shift in (0.0, 0.0, 0.4):
        moved = replace(fill, place=fill.place + np.array([shift, shift, 0.0, 0.0]))
        kept = picture(moved, view, layer=layer)
    assert alike(kept, picture(moved, view))


def test_zoom_look_and_theme_are_each_painted_anew():
    layer, fill = RingLayer(), a_fill(block(5, 5))
    for ring_px in (26.0, 26.0, 30.0, 30.0):
        for look, scheme in (
            ("brass", theme.LIGHT),
            ("copper", theme.LIGHT),
            ("copper", theme.DARK),
            ("copper", theme.DARK),
        ):
            view = at_ring_px(ring_px)
            kept = picture(fill, view, layer=layer, look=look, scheme=scheme)
            assert alike(kept, picture(fill, view, look=look, scheme=scheme))


@pytest.mark.parametrize("scheme", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_rings_thin_to_a_tint_without_a_jump_in_brightness(scheme):
    fill = a_fill(block(120, 120))

    def mean(wire_px):
        view = View(wire_px / SOLVED.wire_mm, (-40.0, -40.0))
        return picture(fill, view, (100, 80), scheme=scheme, look="steel").mean(axis=(0, 1))

    tint, sprites = mean(0.49), mean(0.51)
    assert np.abs(tint - sprites).max() < 10
    one, levels = mean(1.45), mean(1.55)
    assert np.abs(one - levels).max() < 10


@pytest.mark.parametrize("ring_px", [40.0, 720.0])
def test_dropped_places_carry_no_metal_and_edge_rings_are_told_apart(ring_px):
    view = at_ring_px(ring_px, (300.0, 300.0))
    ground = np.array(
        [theme.LIGHT.canvas.blue(), theme.LIGHT.canvas.green(), theme.LIGHT.canvas.red()]
    )
    painted = {
        role: picture(a_fill([(0, 0, role)]), view, (600, 600)) for role in (BODY, EDGE, DROPPED)
    }
    inked = {role: float((p != ground).any(axis=2).mean()) for role, p in painted.items()}
    assert 0 < inked[DROPPED] < 0.4 * inked[BODY]
    ink = np.array([theme.LIGHT.ink3.blue(), theme.LIGHT.ink3.green(), theme.LIGHT.ink3.red()])
    assert (np.abs(painted[DROPPED].astype(int) - ink).max(axis=2) < 12).any()
    body, edge = painted[BODY].astype(int), painted[EDGE].astype(int)
    assert inked[EDGE] == pytest.approx(inked[BODY], rel=0.02)
    assert (np.abs(body - edge).max(axis=2) > 25).mean() > 0.05 * inked[BODY]


def test_nothing_to_paint_paints_nothing():
    fill = a_fill([(0, 0, BODY)])
    far_off = picture(fill, at_ring_px(30.0, (-500.0, -500.0)))
    assert (far_off == far_off[0, 0]).all()
    empty = Fill(
        np.zeros((0, 5), dtype=np.int32),
        np.zeros(0, dtype=np.int32),
        np.zeros((0, 4)),
        np.zeros((0, 5), dtype=np.int32),
        np.zeros(0, dtype=np.int64),
    )
    assert np.array_equal(picture(empty, at_ring_px(30.0)), far_off)


def test_painting_leaks_no_references():
    # PySide 6.12.0 lost a reference to None at every call on Python 3.11, and aborted in time.
    layer, view, fill = RingLayer(), at_ring_px(30.0), a_fill(block(3, 3))
    picture(fill, view, layer=layer)
    gc.collect()
    before = sys.getrefcount(None)
    for _ in range(500):
        picture(fill, view, (60, 60), layer=layer)
    gc.collect()
    assert sys.getrefcount(None) > before - 100


def shot(widget):
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    return np.array(image.constBits()).reshape(image.height(), image.width(), 4)[..., :3].copy()


def test_swatch_is_at_true_scale(qtbot, monkeypatch):
    swatch = SwatchView()
    qtbot.addWidget(swatch)
    swatch.resize(240, 200)
    swatch.set_sheet(SOLVED, "steel", "steel 1.25 × 6.25")
    monkeypatch.setattr(true_size, "px_per_mm", lambda _widget: 20 / SOLVED.along_mm)
    inside = shot(swatch)[8:-8, 8:-8].astype(int)
    repeat = [np.abs(inside[:, n:] - inside[:, :-n]).mean() for n in range(1, 30)]
    assert repeat[19] == 0  # one ring on, 20 px on
    assert min(r for n, r in enumerate(repeat) if n != 19) > 3
    monkeypatch.undo()
    assert swatch.px_per_mm == pytest.approx(swatch.screen().physicalDotsPerInch() / 25.4)


def test_swatch_says_what_it_shows(qtbot):
    swatch = SwatchView()
    qtbot.addWidget(swatch)
    swatch.resize(120, 90)
    bare = shot(swatch)
    swatch.set_sheet(SOLVED, "copper", "copper 1.25 × 6.25")
    assert "copper 1.25 × 6.25" in swatch.accessibleName()
    covered = (shot(swatch) != bare).any(axis=2)
    assert covered[10:-10, 10:-10].any(axis=0).all()
    assert covered[10:-10, 10:-10].any(axis=1).all()
    swatch.clear()
    assert np.array_equal(shot(swatch), bare)
    assert "copper" not in swatch.accessibleName()


def test_sheets_seen_from_far_are_not_remembered_for_ever(monkeypatch):
    monkeypatch.setattr(ring_layer, "KEPT_TINTS", 2)
    layer, fill = RingLayer(), a_fill(block(40, 40))
    far = View(0.3 / SOLVED.wire_mm, (0.0, 0.0))
    first = picture(fill, far, (40, 40), layer=layer, look="steel")
    for look in ("brass", "copper", "black"):
        picture(fill, far, (40, 40), layer=layer, look=look)
        assert len(layer._tints) <= 2
    assert alike(picture(fill, far, (40, 40), layer=layer, look="steel"), first)
