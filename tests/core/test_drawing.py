"""The display list: complete, in the right order, in the right place."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing import fill_arcs, place_arcs, ring_arcs, sheet_sites
from core.fill import BODY, DROPPED, EDGE, Fill, sites
from core.weave.cells import EUROPEAN_4_IN_1 as WEAVE
from core.weave.cells import leaning_rows
from core.weave.contact import points
from core.weave.lay import Lay, solve_lay

aspects = st.floats(3.3, 9.0)
kinds = st.sampled_from(["laid", "spread", "along", "across"])


def sheet(aspect=5.0, kind="laid", wire=1.25):
    return solve_lay(WEAVE.id, wire, aspect * wire, Lay(kind))


def sheet_arcs(solved, weave, rings_along, rows):
    x, y, course = sheet_sites(solved, weave, rings_along, rows)
    return place_arcs(solved, weave, 0.0, x, y, course, np.full(len(x), BODY, dtype=np.int8))


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


def crossings(p, q):
    """Where two closed polylines (n, 3) cross on screen: index on each, height on each."""
    a, b = p, np.roll(p, -1, axis=0)
    c, d = q, np.roll(q, -1, axis=0)
    r, s = (b - a)[:, None], (d - c)[None, :]
    gap = c[None, :] - a[:, None]
    area = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[..., 0] * s[..., 1] - gap[..., 1] * s[..., 0]) / area
        u = (gap[..., 0] * r[..., 1] - gap[..., 1] * r[..., 0]) / area
    i, j = np.nonzero((t >= 0) & (t < 1) & (u >= 0) & (u < 1))
    t, u = t[i, j], u[i, j]
    return (i + t, j + u, a[i, 2] + t * (b - a)[i, 2], c[j, 2] + u * (d - c)[j, 2])


def level_at(arcs, course, angle):
    """The level drawn at an angle of a ring."""
    found = [
        a.level
        for a in arcs
        if a.course == course and (angle - a.from_rad) % (2 * math.pi) < a.to_rad - a.from_rad
    ]
    assert len(found) == 1
    return found[0]


@settings(max_examples=12)
@given(aspects, kinds)
def test_at_every_crossing_the_higher_ring_is_drawn_later(aspect, kind):
    solved = sheet(aspect, kind)
    arcs = ring_arcs(solved)
    n = 240
    rows, at = (g.ravel() for g in np.meshgrid(np.arange(-3, 5), np.arange(-3, 4), indexing="ij"))
    rings = points(
        leaning_rows(
            WEAVE,
            solved.along_mm,
            solved.across_mm,
            solved.lean_rad,
            solved.centreline_mm,
            rows,
            at,
        ),
        n,
    )
    seen = 0
    for row in (0, 1):
        me = int(np.nonzero((rows == row) & (at == 0))[0][0])
        for other in range(len(rows)):
            if other == me:
                continue
            for i, j, z, z_other in zip(*crossings(rings[me], rings[other]), strict=True):
                # Rings of like lean meet at one height; they only touch, side by side.
                if abs(z - z_other) < 0.1 * solved.wire_mm:
                    continue
                mine = level_at(arcs, row, 2 * math.pi * i / n)
                its = level_at(arcs, int(rows[other]) % 2, 2 * math.pi * j / n)
                assert (z > z_other) == (mine > its)
                seen += 1
    assert seen >= 2 * 8  # two crossings with each of four linked rings


@given(aspects, kinds)
def test_arcs_cover_each_ring_once(aspect, kind):
    arcs = ring_arcs(sheet(aspect, kind))
    for course in range(len(WEAVE.courses)):
        mine = [a for a in arcs if a.course == course]
        assert sum(a.to_rad - a.from_rad for a in mine) == pytest.approx(2 * math.pi)
        for angle in np.linspace(0.001, 6.28, 50):
            level_at(arcs, course, angle)


def test_arcs_lie_on_the_rings_they_belong_to():
    solved = sheet()
    arcs = sheet_arcs(solved, WEAVE, 3, 4)
    for i in range(len(arcs)):
        x, y, z = arcs.points(i, 9).T
        off = np.stack([x - arcs.x_mm[i], y - arcs.y_mm[i], z])
        assert np.allclose(np.linalg.norm(off, axis=0), solved.centreline_mm)
        # The side a course's lean lifts is the one nearer the viewer.
        sign = WEAVE.courses[arcs.course[i]].lean_sign
        assert np.allclose(z, sign * off[0] * math.tan(solved.lean_rad))


def test_list_is_drawn_from_the_lowest_level_up():
    arcs = sheet_arcs(sheet(), WEAVE, 3, 4)
    assert (np.diff(arcs.level) >= 0).all()
    parts = list(arcs.levels())
    assert [level for level, _part in parts] == sorted(set(arcs.level.tolist()))
    assert sum(part.stop - part.start for _level, part in parts) == len(arcs)


def test_sheet_has_its_rings_once_at_the_solved_pitch():
    solved = sheet()
    x, y, course = sheet_sites(solved, WEAVE, 5, 4)
    assert len({*zip(x.round(9).tolist(), y.round(9).tolist(), strict=True)}) == 20
    assert x[1] - x[0] == pytest.approx(solved.along_mm)
    assert y[5] - y[0] == pytest.approx(solved.across_mm)
    assert x[5] - x[0] == pytest.approx(solved.along_mm / 2)
    assert course.tolist() == [0] * 5 + [1] * 5 + [0] * 5 + [1] * 5


@pytest.mark.parametrize("grain", [0.0, 17.0, 45.0])
def test_fill_gives_every_ring_its_arcs_and_dropped_ones_a_single_turn(grain):
    solved = sheet()
    fill = a_fill(solved, grain)
    arcs = fill_arcs(fill, solved, WEAVE, grain)
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
    every = fill_arcs(fill, solved, WEAVE, grain)
    kept = fill_arcs(fill, solved, WEAVE, grain, box)
    inside = {
        (round(float(every.x_mm[i]), 9), round(float(every.y_mm[i]), 9))
        for i in range(len(every))
        if any(box[0] <= p[0] <= box[2] and box[1] <= p[1] <= box[3] for p in every.points(i, 40))
    }
    assert inside <= {
        (round(float(a), 9), round(float(b), 9)) for a, b in zip(kept.x_mm, kept.y_mm, strict=True)
    }


def test_drawing_list_reads_as_agreed(golden):
    """One cell, as text: what a page or an SVG would draw, in order."""
    arcs = sheet_arcs(sheet(5.0, "spread", 1.0), WEAVE, 1, 2)
    lines = [
        f"level {arcs.level[i]} course {arcs.course[i]} at {arcs.x_mm[i]:.3f} {arcs.y_mm[i]:.3f}"
        f" from {math.degrees(arcs.from_rad[i]):.0f} to {math.degrees(arcs.to_rad[i]):.0f}"
        for i in range(len(arcs))
    ]
    golden.check("drawing_cell.txt", "\n".join(lines) + "\n")
