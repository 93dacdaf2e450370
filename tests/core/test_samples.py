"""The packaged samples: they open, count as they should, and hold what makes them samples."""

from __future__ import annotations

import math
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
import shapely

from core.estimate import estimate, panel_estimate
from core.outline import polygon
from core.project_file import FILE_VERSION, load
from tests.core.shapes import lattice_sites

FOLDER = Path(str(resources.files("sample_projects")))
PLAIN = [
    ("shoulder_pair", "Shoulder cap"),
    ("shoulder_pair", "Collar band"),
    ("whole_costume", "Lower sleeve"),  # rows upright
    ("whole_costume", "Thigh plate cover"),  # with a hole
]


def sample(name):
    return load(FOLDER / f"{name}.ringloft")


@pytest.mark.parametrize(("name", "panel_name"), PLAIN)
def test_body_rings_equal_a_count_ring_by_ring(name, panel_name):
    """Source: shapely.contains (GEOS) on the outline of every single ring, as seen from above.

    A ring's outline is its projected centreline, an ellipse, widened by half a wire; nothing of
    the fill's own arithmetic is used.
    """
    project = sample(name)
    panel = next(p for p in project.panels if p.name == panel_name)
    tally = panel_estimate(project, panel).tally
    sheet, shape = tally.solved, polygon(panel.outline)
    _row, _k, x, y = lattice_sites(
        sheet, panel.grain_deg, (panel.origin_x_mm, panel.origin_y_mm), 400.0
    )
    f = np.linspace(0, 2 * math.pi, 120, endpoint=False)
    u = sheet.centreline_mm * math.cos(sheet.lean_rad) * np.cos(f)
    v = sheet.centreline_mm * np.sin(f)
    g = math.radians(panel.grain_deg)
    line = np.column_stack([u * math.cos(g) - v * math.sin(g), u * math.sin(g) + v * math.cos(g)])
    ring = np.asarray(shapely.Polygon(line).buffer(sheet.wire_mm / 2 - 1e-6).exterior.coords)
    inside = shapely.contains_xy(shape, x, y)
    rings = shapely.polygons(np.stack([x[inside], y[inside]], -1)[:, None, :] + ring[None])
    shapely.prepare(shape)
    assert tally.body == int(shapely.contains(shape, rings).sum()) > 100


def test_the_large_sample_is_large_and_every_panel_is_edged_or_grained_somewhere():
    project = sample("whole_costume")
    result = estimate(project)
    assert result.totals.rings >= 60_000
    assert any(p.grain_deg for p in project.panels)
    assert any(p.outline.holes for p in project.panels)
    assert {p.ring_id for p in project.panels} < {r.id for r in project.rings}


def test_the_small_sample_has_two_rings_to_compare_and_a_price():
    project = sample("shoulder_pair")
    assert len(project.rings) == 2
    assert estimate(project).totals.cost is not None
    assert any(p.mirrored and p.copies == 2 for p in project.panels)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.ringloft")), ids=lambda p: p.stem)
def test_samples_are_of_this_version_and_their_stored_counts_hold(path):
    import json

    data = json.loads(path.read_text(encoding="utf-8"))
    assert data["version"] == FILE_VERSION
    counted = {p.tally.panel.id: p.tally.total for p in estimate(load(path)).panels}
    assert {c["panel"]: c["rings"] for c in data["last_counts"]} == counted
