"""Second opinions on contact and links: solid rings in a collision library, and Gauss's integral.

Sources: FCL, the Flexible Collision Library (Pan, Chitta, Manocha 2012), on tori by trimesh;
K. Klenin and J. Langowski, Biopolymers 54 (2000), for the linking number of polygons.
"""

import math
from functools import lru_cache

import fcl
import numpy as np
import pytest
import trimesh

from core.weave.cells import WEAVES
from core.weave.contact import linking_number, points
from core.weave.families import Places
from tests.core.sheets import (
    JAPANESE,
    STRETCH,
    Case,
    cases,
    cell_and_around,
    links_of,
    placed,
    play_of,
    stretched,
)

AROUND, TUBE = 192, 48


@lru_cache(maxsize=16)
def body(radius, wire):
    # A flat-sided tube is as thick in the mean as the round one it stands for.
    mesh = trimesh.creation.torus(
        major_radius=radius / math.sqrt(math.cos(math.pi / AROUND)),
        minor_radius=wire / 2 / math.sqrt(math.cos(math.pi / TUBE)),
        major_sections=AROUND,
        minor_sections=TUBE,
    )
    made = fcl.BVHModel()
    made.beginModel(len(mesh.vertices), len(mesh.faces))
    made.addSubModel(mesh.vertices, mesh.faces)
    made.endModel()
    return made


def collide(solved, wire, stretch=(1.0, 1.0)):
    """Whether a ring of a cell collides with any other, wires that many times as thick."""
    sheet = stretched(solved, *stretch)
    places, base = cell_and_around(sheet)
    circles = placed(sheet, places, wire)
    things = []
    for i in range(len(places.row)):
        u, v = circles.u[i], circles.v[i]
        turn = fcl.Transform(np.column_stack([u, v, np.cross(u, v)]), circles.centre[i])
        shape = body(float(circles.radius[i]), float(circles.wire[i]))
        things.append(fcl.CollisionObject(shape, turn))
    request = fcl.CollisionRequest(num_max_contacts=1)
    for i in base:
        for j in range(len(things)):
            near = np.linalg.norm(circles.centre[i] - circles.centre[j])
            reach = circles.radius[i] + circles.radius[j] + circles.wire[i]
            if j == i or (j in base and j < i) or near > reach:
                continue
            if fcl.collide(things[i], things[j], request, fcl.CollisionResult()):
                return True
    return False


SOME = [c for i, c in enumerate(cases()) if c.upright is None or i % 3 == 0]


@pytest.mark.parametrize("case", SOME, ids=str)
def test_solved_sheets_just_clear_and_stretched_sheets_collide(case):
    solved = case.solve()
    along, across = STRETCH[solved.kind]
    play, thick = play_of(solved), 1.0
    if case.weave in JAPANESE:  # only the taut contact of a laid sheet has all of the play
        along, across = (v * (1 + 2 * play / solved.along_mm) for v in (along, across))
    else:
        thick += play
    assert not collide(solved, 0.995 * thick)
    assert collide(solved, thick, (along, across))


@pytest.mark.parametrize("case", cases(), ids=str)
def test_exactly_the_intended_rings_are_linked(case):
    solved = case.solve()
    weave = WEAVES[solved.weave]
    places, base = cell_and_around(solved)
    circles = placed(solved, places)
    rings = points(circles, 36)
    found = dict.fromkeys(range(len(weave.courses)), 0)
    for i in base:
        row = int(places.row[i])
        for j in range(len(rings)):
            if i == j:
                continue
            step, shift = int(places.row[j]) - row, int(places.site[j])
            wanted = int(weave.linked(row, step, shift))
            near = np.linalg.norm(circles.centre[i] - circles.centre[j])
            if near > circles.radius[i] + circles.radius[j]:
                assert not wanted  # too far apart to be linked at all
                continue
            got = abs(linking_number(rings[i], rings[j]))
            assert got == pytest.approx(wanted, abs=1e-6), (case, row, step, shift)
            found[row] += wanted
    for course, count in found.items():
        assert count == links_of(weave, course) * weave.plies


def test_the_engine_tells_linked_from_apart():
    """That the checks above can fail: the same rings with pitches that unlink them."""
    solved = stretched(Case("european-4-in-1", 5.0, "spread").solve(), 2.0, 1.0)
    two = Places(*(np.array(v) for v in ([0, 1], [0, 0], [0, 0])))
    rings = points(placed(solved, two), 36)
    assert linking_number(*rings) == pytest.approx(0, abs=1e-9)
