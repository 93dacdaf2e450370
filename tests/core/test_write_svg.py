"""Pictures and their SVG files: right in size, order and place, for every weave."""

import hashlib
import math
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.drawing import fill_arcs, place_arcs, rings_at, sheet_arcs, sheet_sites
from core.fill import BODY, DROPPED, EDGE, fill_panel, sites
from core.panel import Panel
from core.picture import STRING, Layer, Stamp, picture, strings
from core.shading import INKS
from core.weave.cells import WEAVES
from core.weave.cells import weave as find_weave
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.sheet import poses
from core.write_svg import svg_picture
from tests.core.drawn import SVG, Drawn, hashes_under_other_seeds, ring_number, rings_of
from tests.core.shapes import all_edged, rectangle

WIRE = 1.6
INK = (INKS["steel"], INKS["brass"])
every_weave = pytest.mark.parametrize("weave", list(WEAVES))


def sheet(weave, kind="laid", above=1.25):
    return solve_lay(weave, WIRE, WIRE * above * limit_aspect_ratio(weave), Lay(kind))


def piece(solved, width=24.0, height=18.0, **more):
    arcs = sheet_arcs(solved, width, height)
    return picture(arcs, INK, (0.0, 0.0, width, height), **more)


def panel_arcs(weave="european-4-in-1", grain=17.0, width=45.0, height=35.0, box=None):
    outline = rectangle(width, height)
    panel = Panel(1, "", outline, 1, weave, grain_deg=grain, edges=all_edged(outline))
    solved = sheet(weave)
    fill = fill_panel(panel, solved)
    return fill, solved, fill_arcs(fill, solved, grain, box)


def centrelines(arcs, n=240):
    """Of every ring of a list, from its pose alone: pose, x, y of each; (rings, n, 3); wires."""
    keys = np.unique(np.column_stack([arcs.pose, arcs.x_mm, arcs.y_mm]), axis=0)
    f = np.linspace(0, 2 * np.pi, n, endpoint=False)
    lines, wires = [], []
    c, s = math.cos(arcs.grain_rad), math.sin(arcs.grain_rad)
    for pose, x, y in keys.tolist():
        p = arcs.poses[int(pose)]
        ring = p.radius_mm * (np.outer(np.cos(f), p.u) + np.outer(np.sin(f), p.v))
        along, across, z = ring.T
        lines.append(
            np.column_stack(
                [x + along * c - across * s, y + along * s + across * c, z + p.centre[2]]
            )
        )
        wires.append(p.wire_mm)
    return keys, np.array(lines), np.array(wires)


class Seen:
    """Points of a picture: which ring is drawn there and in which fill, and which lies highest.

    Heights and normals come from the solved rings, as tubes that a ball sweeps; what is drawn from
    the file, read back. Points near a rim or between rings of like height are left out.

    Attributes:
        drawn, highest: of each point on metal, numbers of rings.
        fill: colours on top.
        normal: of the surface.
        bare: what is drawn at points that no metal hides.
    """

    def __init__(self, arcs, box, count=500):
        made = Drawn(svg_picture(picture(arcs, INK, box)))
        rings, lines, wires = centrelines(arcs)
        metal = made.metal()
        tree = shapely.STRtree([made.silhouette(u) for u in metal])
        points = np.random.default_rng(3).uniform(box[:2], box[2:], (count, 2))
        at, hit = tree.query(shapely.points(points), predicate="within")
        self.drawn, self.highest, self.fill, self.normal, self.bare = [], [], [], [], []
        for i, point in enumerate(points):
            off = np.hypot(lines[:, :, 0] - point[0], lines[:, :, 1] - point[1])
            half = wires[:, None] / 2
            if (np.abs(off.min(axis=1) - wires / 2) < 0.11).any():
                continue
            top = lines[:, :, 2] + np.sqrt(np.maximum(half**2 - off**2, 0.0))
            top[off >= half] = -np.inf
            ring, place = np.unravel_index(int(np.argmax(top)), top.shape)
            found = hit[at == i]
            if np.isneginf(top).all():
                self.bare.append(len(found))
                continue
            first, second = np.sort(top.max(axis=1))[::-1][:2]
            if first - second < 0.08:
                continue
            self.highest.append(int(ring))
            self.drawn.append(ring_number(rings, metal[found.max()]) if len(found) else -1)
            self.normal.append(np.array([*point, first]) - lines[ring, place])
            used = metal[found.max()] if len(found) else metal[0]
            here = shapely.Point(point[0] - used.x, point[1] - used.y)
            self.fill.append([f for f, area in made.stamps[used.name] if area.contains(here)][-1:])


@pytest.mark.parametrize("kind", ["laid", "across"])
@every_weave
def test_what_is_seen_at_any_point_is_the_ring_that_lies_highest_there(weave, kind):
    seen = Seen(sheet_arcs(sheet(weave, kind), 24.0, 18.0), (0.0, 0.0, 24.0, 18.0))
    assert seen.drawn == seen.highest
    assert len(seen.drawn) > 100
    assert len(seen.bare) > 5 and not any(seen.bare)


@pytest.mark.parametrize("grain", [0.0, 50.0])
@every_weave
def test_metal_is_lightest_where_it_faces_the_light(weave, grain):
    """Light from the upper left and in front, whatever way the rows run, as on screen."""
    solved, turn = sheet(weave), math.radians(grain)
    x, y, course = sheet_sites(solved, 30.0, 30.0)
    role = np.full(len(x), BODY, dtype=np.int8)
    x, y = x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
    arcs = place_arcs(solved, turn, rings_at(solved, turn, x, y, course, role))
    seen = Seen(arcs, (-8.0, 12.0, 8.0, 28.0))
    lit = np.array(seen.normal) @ np.array([-0.50, -0.66, 0.86])
    flat = [i for i, ring in enumerate(seen.drawn) if seen.fill[i]]
    bright = np.array([brightness(seen.fill[i][0]) for i in flat])
    assert np.corrcoef(lit[flat], bright)[0, 1] > 0.75


@every_weave
def test_each_ring_has_its_silhouette_to_a_hundredth_of_a_mm(weave):
    """Against shapely's buffer of the flattened centreline: what a ball on a ring sweeps."""
    solved = sheet(weave)
    arcs = sheet_arcs(solved, 20.0, 20.0)
    shown = Drawn(svg_picture(picture(arcs, INK)))
    rings, lines, wires = centrelines(arcs, 720)
    number = [ring_number(rings, u) for u in shown.metal()]
    seen = set()
    for i, (line, wire) in enumerate(zip(lines, wires, strict=True)):
        if rings[i, 0] in seen:
            continue
        seen.add(int(rings[i, 0]))
        parts = [shown.silhouette(u) for u, n in zip(shown.metal(), number, strict=True) if n == i]
        ring = shapely.union_all(parts).buffer(0.004).buffer(-0.004)
        true = shapely.LinearRing(line[:, :2]).buffer(wire / 2, quad_segs=90)
        assert shapely.hausdorff_distance(ring.boundary, true.boundary) < 0.01
        assert ring.symmetric_difference(true).area < 0.004 * true.length
    assert seen == set(range(len(poses(solved))))


@every_weave
def test_metal_covers_what_the_sheet_says_it_hides(weave):
    solved = sheet(weave)
    cell = find_weave(weave).height * solved.across_mm
    width, height = 2 * solved.along_mm, cell
    shown = Drawn(svg_picture(piece(solved, width, height)))
    metal = shapely.union_all([shown.silhouette(u) for u in shown.metal()])
    hidden = metal.intersection(shapely.box(0, 0, width, height)).area / (width * height)
    assert hidden == pytest.approx(solved.cover, abs=0.004)


@every_weave
def test_the_page_is_as_large_in_mm_as_the_metal(weave):
    fill, _solved, arcs = panel_arcs(weave)
    shown = Drawn(svg_picture(picture(arcs, INK)))
    width, height, view = shown.size
    assert (width, height) == (f"{view[2]:g}mm", f"{view[3]:g}mm")
    x0, y0, x1, y1 = shapely.union_all([shown.silhouette(u) for u in shown.metal()]).bounds
    found = (x0, y0, x1 - x0, y1 - y0)
    dropped = (sites(fill).role == DROPPED).any()
    if not dropped:
        assert found == pytest.approx(view, abs=0.01)


@settings(max_examples=4)
@given(
    st.sampled_from(list(WEAVES)), st.floats(0, 90), st.floats(30, 45), st.floats(30, 45)
)  # fmt: skip
def test_as_many_rings_are_drawn_as_the_fill_has(weave, grain, width, height):
    fill, _solved, arcs = panel_arcs(weave, grain, width, height)
    made = picture(arcs, INK)
    shown = Drawn(svg_picture(made))
    plies = find_weave(weave).plies
    at = sites(fill)
    for role, word in ((BODY, "ring"), (EDGE, "edge"), (DROPPED, "gone")):
        drawn = rings_of(u for u in shown.used if u.name.startswith(word))
        assert len(drawn) == plies * int((at.role == role).sum())
    assert made.rings == plies * int((at.role != DROPPED).sum())


@settings(max_examples=4)
@given(st.sampled_from(list(WEAVES)), st.floats(-5, 40), st.floats(-5, 30), st.floats(3, 20))
@example("doubled-4-in-1", 20.208034545120515, 13.921875, 10.0)  # an arc that ends at the box
def test_what_lies_beside_a_box_is_left_out_and_nothing_else(weave, x, y, size):
    _fill, _solved, arcs = panel_arcs(weave)
    box = (x, y, x + size, y + size)
    every, some = (Drawn(svg_picture(picture(arcs, INK, b))) for b in (None, box))
    window = shapely.box(*box)
    inside = [u for u in every.metal() if every.silhouette(u).intersects(window.buffer(-0.01))]
    for used in inside:
        assert any(same(used, other) for other in some.metal())
    for used in some.metal():
        x0, y0, x1, y1 = some.silhouette(used).bounds
        assert x0 < box[2] + 0.01 and x1 > box[0] - 0.01
        assert y0 < box[3] + 0.01 and y1 > box[1] - 0.01
    # The list itself may be asked for the box only: the same picture.
    _fill, _solved, cut = panel_arcs(weave, box=box)
    again = Drawn(svg_picture(picture(cut, INK, box)))
    assert len(again.metal()) == len(some.metal())
    for used in again.metal():
        assert any(same(used, other) for other in some.metal())


def same(a, b):
    return (a.level, a.pose) == (b.level, b.pose) and math.hypot(a.x - b.x, a.y - b.y) < 0.01


def test_levels_are_groups_from_the_ground_up():
    _fill, _solved, arcs = panel_arcs()
    shown = Drawn(svg_picture(picture(arcs, INK)))
    names = [g.get("id") for g in shown.root.find(f"{SVG}g")]
    levels = [n for n in names if n.startswith("level-")]
    assert levels == [f"level-{i}" for i in range(len(levels))] and len(levels) > 1


def test_a_dropped_ring_is_a_dashed_line_below_all_metal():
    solved = sheet("japanese-square")
    x, y, course = sheet_sites(solved, 30.0, 30.0)
    role = np.full(len(x), BODY, dtype=np.int8)
    role[::3] = DROPPED
    made = picture(place_arcs(solved, 0.3, rings_at(solved, 0.3, x, y, course, role)), INK)
    shown = Drawn(svg_picture(made))
    gone = [u for u in shown.used if u.level == "places-without-a-ring"]
    assert len(gone) == int((role == DROPPED).sum())
    assert shown.used[: len(gone)] == gone
    for name in {u.name for u in gone}:
        (path,) = shown.defs[name].findall(f"{SVG}path")
        assert path.get("fill") == "none"
        assert len(path.get("stroke-dasharray").split(",")) == 2


def brightness(code):
    return sum(int(code[i : i + 2], 16) for i in (1, 3, 5))


def test_edge_rings_are_lighter_and_outlined_in_another_colour():
    _fill, _solved, arcs = panel_arcs()
    shown = Drawn(svg_picture(picture(arcs, INK)))
    body = {n: s for n, s in shown.stamps.items() if n.startswith("ring0-")}
    edge = {n: s for n, s in shown.stamps.items() if n.startswith("edge0-")}
    assert len(body) == len(edge) > 0
    for mine, its in zip(body.values(), edge.values(), strict=True):
        assert mine[0][0] != its[0][0]
        tones = [np.mean([brightness(fill) for fill, _shape in stamp[2:]]) for stamp in (mine, its)]
        assert tones[0] < tones[1]


def test_words_are_kept_whatever_signs_they_hold():
    made = piece(sheet("european-4-in-1"), title="Cuff <left> & “right”\n\x07", about="a\tb ⌀ ]]>")
    root = ET.fromstring(svg_picture(made))
    assert root.find(f"{SVG}title").text.strip() == "Cuff <left> & “right”"
    assert root.find(f"{SVG}desc").text == "a b ⌀ ]]>"


@given(
    st.integers(0, 3), st.lists(st.integers(1, 70), min_size=1, max_size=5), st.floats(0.5, 9)
)  # fmt: skip
def test_strings_hold_every_place_once(turns, rows, step):
    c, s = math.cos(turns), math.sin(turns)
    places = [
        (k * step * c - j * s, k * step * s + j * c) for j, n in enumerate(rows) for k in range(n)
    ]
    x, y = np.array(places).T
    found = strings(Layer(0, Stamp("ring0-0", (), (0, 0, 0, 0)), x, y))
    again = [tuple(p) for p in found.singles.tolist()]
    for start in found.starts.tolist():
        again += [
            (start[0] + k * found.step_mm[0], start[1] + k * found.step_mm[1])
            for k in range(STRING)
        ]
    assert len(again) == len(places)
    off = np.linalg.norm(np.array(again)[:, None] - np.array(places)[None], axis=2)
    assert off.min(axis=0).max() < 2e-5 and off.min(axis=1).max() < 2e-5
    if max(rows) == min(rows) >= 2 * STRING:
        assert len(found.starts) == len(rows) * (rows[0] // STRING)


def test_a_picture_of_nothing_is_still_a_file():
    solved = sheet("european-4-in-1")
    none = np.zeros(0)
    small = np.zeros(0, dtype=np.int8)
    made = picture(place_arcs(solved, 0.0, rings_at(solved, 0.0, none, none, small, small)), INK)
    assert made.rings == 0
    assert Drawn(svg_picture(made)).used == []


def test_a_file_grows_by_strings_not_by_rings():
    solved = sheet("european-4-in-1")
    small, large = (svg_picture(piece(solved, side, side)) for side in (100.0, 400.0))
    rings = [piece(solved, side, side).rings for side in (100.0, 400.0)]
    assert (len(large) - len(small)) / (rings[1] - rings[0]) < 60, "bytes a ring, all levels"


def test_the_same_picture_gives_the_same_bytes_in_any_run():
    code = """if True:
        import hashlib
        from tests.core.test_write_svg import panel_arcs, picture, svg_picture, INK
        text = svg_picture(picture(panel_arcs("doubled-4-in-1")[2], INK))
        print(hashlib.sha256(text.encode()).hexdigest())
    """
    found = hashes_under_other_seeds(code)
    text = svg_picture(picture(panel_arcs("doubled-4-in-1")[2], INK))
    assert found == {hashlib.sha256(text.encode()).hexdigest()}
