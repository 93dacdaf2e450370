"""The display list: complete, in the right order, in the right place."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing import (
    fill_arcs,
    place_arcs,
    ring_arcs,
    rings_at,
    sheet_arcs,
    sheet_sites,
)
from core.fill import BODY, DROPPED, EDGE, Fill, sites
from core.weave.cells import EUROPEAN_4_IN_1 as WEAVE
from core.weave.cells import WEAVES, weave
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.sheet import patch, poses

aspects = st.floats(3.3, 9.0)
kinds = st.sampled_from(["laid", "spread", "along", "across"])
weaves = st.sampled_from(sorted(WEAVES))


def sheet(aspect=5.0, kind="laid", wire=1.25):
    return solve_lay(WEAVE.id, wire, aspect * wire, Lay(kind))


def any_sheet(weave_id, aspect, kind, wire=1.25):
    """A sheet of any weave, no tighter than it can be made."""
    ratio = max(aspect, 1.02 * limit_aspect_ratio(weave_id))
    return solve_lay(weave_id, wire, ratio * wire, Lay(kind))


def cell_arcs(solved):
    """One ring of each pose, at its place in the cell."""
    courses = weave(solved.weave).courses
    x = np.array([c.phase * solved.along_mm for c in courses])
    y = np.array([c.rise * solved.across_mm for c in courses])
    course = np.arange(len(courses), dtype=np.int8)
    rings = rings_at(solved, 0.0, x, y, course, np.full(len(x), BODY, dtype=np.int8))
    return place_arcs(solved, 0.0, rings)


def a_fill(solved, grain_deg=0.0, rings=6, rows=5):
    """Rows of rings from (3, 2) mm on; the first ring of row 0 dropped, row 1 an edge."""
    turn = math.radians(grain_deg)
    c, s = math.cos(turn), math.sin(turn)
    runs, lines, place = [], [], []
    for row in range(rows):
        parts = (
            [(0, 1, DROPPED), (1, rings - 1, BODY)]
            if row == 0
            else [(0, rings, EDGE if row == 1 else BODY)]
        )
        for first, count, role in parts:
            u = (first + WEAVE.courses[row % 2].phase) * solved.along_mm
            v = row * solved.across_mm
            runs.append((row % 2, 0, role, first, count))
            lines.append(row)
            place.append(
                (3 + u * c - v * s, 2 + u * s + v * c, solved.along_mm * c, solved.along_mm * s)
            )
    return Fill(
        np.array(runs, dtype=np.int32),
        np.array(lines, dtype=np.int32),
        np.array(place),
        np.zeros((0, 5), dtype=np.int32),
        np.full(len(runs), -1),
    )


def level_at(arcs, pose, angle):
    """The level drawn at an angle of a ring."""
    found = [
        a.level
        for a in arcs
        if a.pose == pose and (angle - a.from_rad) % (2 * math.pi) < a.to_rad - a.from_rad
    ]
    assert len(found) == 1
    return found[0]


@settings(max_examples=25)
@given(weaves, aspects, kinds)
def test_arcs_cover_each_ring_once(weave_id, aspect, kind):
    solved = any_sheet(weave_id, aspect, kind)
    arcs = ring_arcs(solved)
    assert [a.level for a in arcs] == sorted(a.level for a in arcs)
    for pose in range(len(poses(solved))):
        mine = [a for a in arcs if a.pose == pose]
        assert sum(a.to_rad - a.from_rad for a in mine) == pytest.approx(2 * math.pi)
        for angle in np.linspace(0.001, 6.28, 50):
            level_at(arcs, pose, angle)


@settings(max_examples=25)
@given(weaves, aspects, kinds, st.sampled_from([0.0, 17.0, -60.0]))
def test_arcs_lie_on_the_rings_they_belong_to(weave_id, aspect, kind, grain):
    solved = any_sheet(weave_id, aspect, kind)
    turn = math.radians(grain)
    x, y, course = sheet_sites(solved, 1.0, 1.0)
    c, s = math.cos(turn), math.sin(turn)
    rings = rings_at(solved, turn, x * c - y * s, x * s + y * c, course, np.zeros_like(course))
    arcs = place_arcs(solved, turn, rings)
    near = patch(solved)
    # The sheet's own rings, from the family that places them, turned by hand.
    for i in range(0, len(arcs), 7):
        points = arcs.points(i, 5)
        flat = np.column_stack(
            [points[:, 0] * c + points[:, 1] * s, points[:, 1] * c - points[:, 0] * s, points[:, 2]]
        )
        cell = np.array(near.size_mm)
        flat[:, :2] -= np.floor((flat[0, :2] + 1e-9) / cell) * cell
        like = np.nonzero(near.pose == arcs.pose[i])[0]
        away = flat[None] - near.circles.centre[like][:, None]
        axis = np.cross(near.circles.u[like], near.circles.v[like])[:, None]
        radius = near.circles.radius[like][:, None]
        off = np.abs(np.linalg.norm(away, axis=2) - radius) + np.abs((away * axis).sum(axis=2))
        assert off.max(axis=1).min() < 1e-6


def test_list_is_drawn_from_the_lowest_level_up():
    arcs = sheet_arcs(sheet(), 30.0, 20.0)
    assert (np.diff(arcs.level) >= 0).all()
    parts = list(arcs.levels())
    assert [level for level, _part in parts] == sorted(set(arcs.level.tolist()))
    assert sum(part.stop - part.start for _level, part in parts) == len(arcs)


@settings(max_examples=25)
@given(weaves, aspects, kinds, st.floats(1.0, 60.0), st.floats(1.0, 60.0))
def test_a_sheet_has_every_ring_that_shows_in_the_rectangle_once(
    weave_id, aspect, kind, width, height
):
    solved = any_sheet(weave_id, aspect, kind)
    x, y, course = sheet_sites(solved, width, height)
    found = set(zip(x.round(6).tolist(), y.round(6).tolist(), course.tolist(), strict=True))
    assert len(found) == len(x)
    courses = weave(weave_id).courses
    cell = solved.across_mm * weave(weave_id).height
    reach = solved.reach_mm
    for number, one in enumerate(courses):
        for i in range(-30, 60):
            for j in range(-30, 60):
                at = (i + one.phase) * solved.along_mm, one.rise * solved.across_mm + j * cell
                if -reach < at[0] < width + reach and -reach < at[1] < height + reach:
                    assert (round(at[0], 6), round(at[1], 6), number) in found


def test_two_rings_lie_at_each_site_of_a_doubled_weave():
    solved = any_sheet("doubled-4-in-1", 6.0, "spread")
    at = np.array([3.0]), np.array([2.0])
    course, role = np.array([1], dtype=np.int8), np.array([EDGE], dtype=np.int8)
    rings = rings_at(solved, 0.5, *at, course, role)
    assert rings.pose.tolist() == [2, 3]
    assert rings.role.tolist() == [EDGE, EDGE]
    # The pair lies about its site, side by side along the row.
    assert [rings.x_mm.mean(), rings.y_mm.mean()] == pytest.approx([3.0, 2.0])
    apart = np.diff(rings.x_mm)[0], np.diff(rings.y_mm)[0]
    assert math.hypot(*apart) > 0.1
    assert math.atan(apart[1] / apart[0]) == pytest.approx(0.5)


@pytest.mark.parametrize("grain", [0.0, 17.0, 45.0])
def test_fill_gives_every_ring_its_arcs_and_dropped_ones_a_single_turn(grain):
    solved = sheet()
    fill = a_fill(solved, grain)
    arcs = fill_arcs(fill, solved, grain)
    at = sites(fill)
    per_ring = len(ring_arcs(solved)) // 2
    assert (arcs.role == DROPPED).sum() == 1
    gone = int(np.nonzero(arcs.role == DROPPED)[0][0])
    assert arcs.to_rad[gone] - arcs.from_rad[gone] == pytest.approx(2 * math.pi)
    assert len(arcs) == per_ring * (len(at.x_mm) - 1) + 1
    assert (arcs.role == EDGE).sum() == per_ring * 6


@given(st.floats(0, 40), st.floats(0, 25), st.floats(0.5, 30), st.sampled_from([0.0, 17.0, 45.0]))
def test_box_keeps_every_ring_that_shows_in_it(x, y, size, grain):
    solved = sheet()
    fill = a_fill(solved, grain)
    box = (x, y, x + size, y + size)
    every = fill_arcs(fill, solved, grain)
    kept = fill_arcs(fill, solved, grain, box)
    inside = {
        (round(float(every.x_mm[i]), 9), round(float(every.y_mm[i]), 9))
        for i in range(len(every))
        if any(box[0] <= p[0] <= box[2] and box[1] <= p[1] <= box[3] for p in every.points(i, 40))
    }
    assert inside <= {
        (round(float(a), 9), round(float(b), 9)) for a, b in zip(kept.x_mm, kept.y_mm, strict=True)
    }


def test_drawing_list_reads_as_agreed(golden):
    """One cell of each weave, as text: what a page or an SVG would draw, in order."""
    lines = []
    for weave_id in WEAVES:
        arcs = cell_arcs(any_sheet(weave_id, 5.0, "spread", 1.0))
        lines.append(weave_id)
        lines += [
            f"  level {arcs.level[i]} pose {arcs.pose[i]} at {arcs.x_mm[i]:.3f} {arcs.y_mm[i]:.3f}"
            f" from {math.degrees(arcs.from_rad[i]):.0f} to {math.degrees(arcs.to_rad[i]):.0f}"
            for i in range(len(arcs))
        ]
    golden.check("drawing_cell.txt", "\n".join(lines) + "\n")
