"""A second opinion on contact: meshes of tori in a collision library.

Source: FCL, the Flexible Collision Library (Pan, Chitta, Manocha 2012), on tori by trimesh.
"""

import fcl
import numpy as np
import pytest
import trimesh

from core.weave.cells import EUROPEAN_4_IN_1, leaning_rows
from core.weave.lay import Lay, solve_lay

STRETCH = {"spread": (1.01, 1.01), "along": (1.01, 1.0), "across": (1.0, 1.01)}


def collide(lay, wire, stretch=(1.0, 1.0)):
    """Whether any two rings of a 5 x 5 patch collide."""
    mesh = trimesh.creation.torus(
        major_radius=lay.centreline_mm,
        minor_radius=wire / 2,
        major_sections=256,
        minor_sections=64,
    )
    body = fcl.BVHModel()
    body.beginModel(len(mesh.vertices), len(mesh.faces))
    body.addSubModel(mesh.vertices, mesh.faces)
    body.endModel()
    rows, sites = (g.ravel() for g in np.meshgrid(np.arange(5), np.arange(5), indexing="ij"))
    placed = leaning_rows(
        EUROPEAN_4_IN_1,
        lay.along_mm * stretch[0],
        lay.across_mm * stretch[1],
        lay.lean_rad,
        lay.centreline_mm,
        rows,
        sites,
    )
    manager = fcl.DynamicAABBTreeCollisionManager()
    things = []
    for centre, u, v in zip(placed.centre, placed.u, placed.v, strict=True):
        turned = np.column_stack([u, v, np.cross(u, v)])
        things.append(fcl.CollisionObject(body, fcl.Transform(turned, centre)))
    manager.registerObjects(things)
    manager.setup()
    data = fcl.CollisionData(request=fcl.CollisionRequest(num_max_contacts=1))
    manager.collide(data, fcl.defaultCollisionCallback)
    return data.result.is_collision


@pytest.mark.parametrize("kind", ["spread", "along", "across"])
@pytest.mark.parametrize("aspect", [3.3, 5.0, 8.0])
def test_solved_sheets_just_clear_and_stretched_sheets_collide(kind, aspect):
    lay = solve_lay("european-4-in-1", 1.0, aspect, Lay(kind))
    assert not collide(lay, 0.995)
    assert collide(lay, 1.0, STRETCH[kind])


def test_laid_mail_has_room_to_spare():
    lay = solve_lay("european-4-in-1", 1.0, 5.0, Lay("laid"))
    assert not collide(lay, 1.04)
    assert collide(lay, 1.06)
