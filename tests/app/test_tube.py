"""What of a ring shows where: the highest of all the balls that make up its tube."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rings.tube import Tube, surface
from core.weave.sheet import Pose

RADIUS, WIRE = 20.0, 6.0

leans = st.sampled_from([0.0, 90.0, -90.0, 89.0]) | st.floats(-90, 90)
turns = st.floats(-180, 180)


def a_tube(lean_deg, turn_deg, start_deg):
    """A ring that leans about an axis in the sheet, with its own angle begun anywhere."""
    lean, turn, start = (math.radians(a) for a in (lean_deg, turn_deg, start_deg))
    up = np.array(
        [math.cos(lean) * math.cos(turn), math.cos(lean) * math.sin(turn), math.sin(lean)]
    )
    level = np.array([-math.sin(turn), math.cos(turn), 0.0])
    c, s = math.cos(start), math.sin(start)
    return Tube(tuple(c * up + s * level), tuple(c * level - s * up), RADIUS, WIRE)


def balls(tube, x, y):
    """By brute force: how far points lie from the line, how high metal reaches, on which ball."""
    angle = np.linspace(0, 2 * math.pi, 2000, endpoint=False)
    line = tube.at(angle)
    away = np.hypot(x[:, None] - line[0], y[:, None] - line[1])
    rise = np.sqrt(np.maximum((WIRE / 2) ** 2 - away**2, 0.0))
    top = np.where(away < WIRE / 2, line[2] + rise, -np.inf)
    return away.min(axis=1), top.max(axis=1), angle[top.argmax(axis=1)]


@given(leans, turns, turns)
def test_the_surface_is_the_highest_ball_at_every_point(lean, turn, start):
    tube = a_tube(lean, turn, start)
    x, y = np.random.default_rng(3).uniform(-25, 25, (2, 300))
    dist, top, angle = balls(tube, x, y)
    on = surface(tube, x, y, 3.5)
    assert set(np.nonzero(dist < 3.3)[0]) <= set(on.where.tolist())
    near = dist[on.where] < 3.3
    assert np.abs(on.dist - dist[on.where])[near].max(initial=0) < 0.04
    assert np.allclose(np.linalg.norm(on.normal, axis=1), 1.0)
    metal = dist[on.where] < 0.93 * WIRE / 2
    high = on.height + WIRE / 2 * on.normal[:, 2]
    # A point or two at the hem of a steep ring, under which another part lies, may be missed.
    assert np.sort(np.abs(high - top[on.where])[metal])[:-2].max(initial=0) < 0.05
    assert (on.normal[:, 2] >= 0).all()
    turned = np.abs(np.angle(np.exp(1j * (on.angle - angle[on.where]))))[metal]
    if tube.hides_itself:
        assert np.sort(turned)[:-2].max(initial=0) < 0.02


def test_an_upright_ring_is_a_wire_that_arches_over():
    tube = Tube.of(upright())
    x = np.linspace(-23.0, 23.0, 93)
    on = surface(tube, x, np.zeros_like(x), 3.5)
    assert len(on.where) == len(x)
    metal = np.abs(x) < 22.5
    # On its back the torus is a circle of radius R + r in the plane of the ring.
    assert on.normal[metal, 0] == pytest.approx(x[metal] / 23.0, abs=1e-3)
    assert on.normal[metal, 2] == pytest.approx(np.sqrt(1 - (x[metal] / 23.0) ** 2), abs=2e-3)
    # Seen from the front it is a capsule.
    assert surface(tube, np.array([22.0]), np.array([2.5]), 9.0).dist[0] == pytest.approx(
        math.hypot(2.0, 2.5)
    )


def upright():
    return Pose(1, 0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 20.0, 6.0)


def test_a_pose_turns_clockwise_with_the_grain_and_grows_with_the_scale():
    tube = Tube.of(upright(), math.radians(90), 2.0)
    assert tube.u == pytest.approx((0.0, 1.0, 0.0))
    assert tube.v == (0.0, 0.0, 1.0)
    assert (tube.radius, tube.wire) == (40.0, 12.0)
    assert tube.extent == pytest.approx((0.0, 40.0))
