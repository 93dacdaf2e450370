"""The fill of every weave against hand counts and against rings placed and linked one by one."""

from __future__ import annotations

import math

import networkx as nx
import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.errors import BadOutline
from core.fill import BODY, DROPPED, EDGE, MIN_LINKS, fill_panel
from core.outline import polygon
from core.panel import Panel
from core.rows import chords_of, cut_rows, lattice_of
from core.weave.cells import WEAVES
from core.weave.contact import linked
from core.weave.families import Circles, Places, family_of
from core.weave.lay import Lay, limit_aspect_ratio, solve_lay
from core.weave.sheet import poses
from tests.core.shapes import all_edged, outlines, rectangle

FLAT = ("japanese-square", "japanese-hexagonal")


def sheet(weave_id, kind="spread"):
    """A sheet of wire 1 a little above the weave's limit; upright rings are smaller and thinner."""
    aspect = limit_aspect_ratio(weave_id) * 1.2
    upright = (0.9, 2.4) if weave_id in FLAT else None
    return solve_lay(weave_id, 1.0, aspect, Lay(kind), upright)


def fill(outline, weave_id, edges=(), grain=0.0, rule="whole", origin=(0.0, 0.0), solved=None):
    panel = Panel(
        1, "", outline, 1, weave_id, grain_deg=grain, rule=rule, edges=edges,
        origin_x_mm=origin[0], origin_y_mm=origin[1],
    )  # fmt: skip
    return fill_panel(panel, solved or sheet(weave_id))


# --- hand counts -------------------------------------------------------------------------------


def counts(result):
    return result.count(BODY), result.count(DROPPED), result.count(EDGE)


def test_six_in_one_by_hand():
    """Five rows of seven, one above the other. A ring holds the one right below and its two
    neighbours: 7 + 6 + 6 = 19 links between rows, 4 times.
    """
    solved = sheet("european-6-in-1")
    p, q = solved.along_mm, solved.across_mm
    outline = rectangle(6 * p, 4 * q)
    plain = fill(outline, "european-6-in-1", rule="centre")
    assert counts(plain) == (35, 0, 0)
    assert plain.links() == 4 * 19
    edged = fill(outline, "european-6-in-1", all_edged(outline), rule="centre")
    # Above: site k of the vacant row holds k - 1, k, k + 1 of the top row, so 7 of them hold two
    # or more. Left and right: the three inner rows; the top and bottom rows' ends hold one below.
    assert counts(edged) == (35, 0, 7 + 7 + 3 + 3)


def test_eight_in_one_by_hand():
    """Three rows of 6, 5 and 6, staggered: ring k of the middle one lies between k and k + 1 above
    and holds k - 1 to k + 2 there: 3, 4, 4, 4, 3 = 18 links up, and as many down.
    """
    solved = sheet("european-8-in-1")
    p, q = solved.along_mm, solved.across_mm
    result = fill(rectangle(5 * p, 2 * q), "european-8-in-1", rule="centre")
    assert counts(result) == (17, 0, 0)
    assert result.links() == 36


def test_doubled_mail_is_the_single_weave_with_pairs():
    """Nine rows, 11 and 10 pairs in turn, as counted on paper for the single weave: 95 places, 160
    links, 4 dangling; each place is two rings and each link four.
    """
    solved = sheet("doubled-4-in-1")
    p, q = solved.along_mm, solved.across_mm
    outline = rectangle(10 * p, 8 * q)
    plain = fill(outline, "doubled-4-in-1", rule="centre")
    assert counts(plain) == (2 * 91, 2 * 4, 0)
    assert plain.links() == 4 * 160
    edged = fill(outline, "doubled-4-in-1", all_edged(outline), rule="centre")
    assert counts(edged) == (2 * 95, 0, 2 * 28)


def test_japanese_square_by_hand():
    """Five by four flat rings: 4 upright ones in each of 4 rows, 5 in each of 3 gaps; two links
    each. The corners hold two uprights, so nothing dangles, and no vacant place is a seat.
    """
    solved = sheet("japanese-square")
    p, q = solved.along_mm, solved.across_mm
    outline = rectangle(4 * p, 3 * q)
    result = fill(outline, "japanese-square", all_edged(outline), rule="centre")
    assert (result.count(BODY, 0), result.count(BODY, 1)) == (20, 4 * 4 + 5 * 3)
    assert result.links() == 2 * 31
    assert (result.count(DROPPED), result.count(EDGE)) == (0, 0)


def test_japanese_hexagonal_by_hand():
    """Rows of 4, 3 and 4 flat rings: 3 + 2 + 3 uprights in the rows, and each of the 3 middle
    rings holds two above and two below.
    """
    solved = sheet("japanese-hexagonal")
    p, q = solved.along_mm, solved.across_mm
    result = fill(rectangle(3 * p, 2 * q), "japanese-hexagonal", rule="centre")
    assert (result.count(BODY, 0), result.count(BODY, 1)) == (11, 8 + 12)
    assert result.count(DROPPED) == 0


def test_a_row_of_flat_rings_unravels():
    """In a single row each flat ring but the last two holds two uprights; the ends let go."""
    solved = sheet("japanese-square")
    result = fill(rectangle(9 * solved.along_mm, 0.5), "japanese-square", rule="centre")
    assert result.count(BODY) == 0
    assert (result.count(DROPPED, 0), result.count(DROPPED, 1)) == (10, 9)


def test_a_slit_between_flat_rings_leaves_out_the_uprights_that_would_bridge_it():
    """A slit cut across the gap between two columns of flat rings, off its middle."""
    solved = sheet("japanese-square")
    p, q = solved.along_mm, solved.across_mm
    whole = rectangle(10 * p, 4 * q, -p, -q / 2)
    result = fill(whole, "japanese-square", solved=solved)
    slit = rectangle(0.02, 3.8 * q, 2.5 * p + 0.1, -0.4 * q, first_id=50).rim
    cut = fill(type(whole)(whole.rim, (slit,)), "japanese-square", solved=solved)
    assert cut.count(BODY, 0) == result.count(BODY, 0)
    assert cut.count(BODY, 1) == result.count(BODY, 1) - 4


# --- outside: placed and linked one by one -------------------------------------------------------


def every_ring(weave, solved, grain, origin, reach):
    """All sites near the origin: keys, and the circles of their rings in the panel frame."""
    rows = math.ceil(reach / solved.across_mm / weave.height + 1) * len(weave.courses)
    ks = math.ceil(reach / solved.along_mm) + 2
    row, site = (
        g.ravel() for g in np.meshgrid(np.arange(-rows, rows), np.arange(-ks, ks), indexing="ij")
    )
    made = []
    c, s = math.cos(math.radians(grain)), math.sin(math.radians(grain))
    turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    for ply in range(weave.plies):
        places = Places(row, site, np.full(len(row), ply))
        at = family_of(weave).place(weave, np.array(solved.unknowns), solved.rings_mm, places)
        made.append(
            Circles(at.centre @ turn + (*origin, 0.0), at.u @ turn, at.v @ turn, at.radius, at.wire)
        )
    return list(zip(row.tolist(), site.tolist(), strict=True)), made


def footprints(weave, solved, grain, keys, made):
    """What each site's rings cover, as shapely polygons, from how each ring lies alone."""
    shapes = []
    for course in range(len(weave.courses)):
        parts = []
        for pose in (p for p in poses(solved) if p.course == course):
            thick = pose.wire_mm / 2
            if abs(pose.v[2]) > 0.99:
                arm = pose.radius_mm * np.array(pose.u[:2])
                parts.append(shapely.LineString([-arm, arm]).buffer(thick, quad_segs=64))
            else:
                disc = shapely.Point(0, 0).buffer(1.0, quad_segs=128)
                lean = pose.radius_mm * math.hypot(*pose.u[:2]) + thick
                ring = shapely.affinity.scale(disc, lean, pose.radius_mm + thick)
                parts.append(shapely.affinity.translate(ring, *pose.centre[:2]))
        hull = shapely.convex_hull(shapely.union_all(parts))
        shapes.append(shapely.affinity.rotate(hull, grain, origin=(0, 0)))
    sites = np.mean([c.centre[:, :2] for c in made], axis=0)
    return [
        shapely.affinity.translate(shapes[weave.course_of(row)], x, y)
        for (row, _k), (x, y) in zip(keys, sites.tolist(), strict=True)
    ]


def graph_of(weave, keys, made, near):
    """Which sites are linked, by whether their circles are."""
    graph = nx.Graph()
    graph.add_nodes_from(keys)
    if not keys:
        return graph
    tree = shapely.STRtree(shapely.points(made[0].centre[:, :2]))
    a, b = tree.query(shapely.points(made[0].centre[:, :2]), "dwithin", near)
    a, b = a[a < b], b[a < b]
    one, other = (
        Circles(*(getattr(made[0], n)[i] for n in ("centre", "u", "v", "radius", "wire")))
        for i in (a, b)
    )
    for i, j, yes in zip(a.tolist(), b.tolist(), linked(one, other).tolist(), strict=True):
        if yes:
            graph.add_edge(keys[i], keys[j])
    return graph


def found_keys(result, roles):
    keys = set()
    for run, row in zip(result.runs.tolist(), result.rows.tolist(), strict=True):
        if run[2] in roles:
            keys |= {(row, run[3] + i) for i in range(run[4])}
    return keys


@pytest.mark.parametrize("weave_id", list(WEAVES))
@given(data=st.data())
@settings(max_examples=12, deadline=None)
def test_fill_equals_rings_placed_and_linked_one_by_one(weave_id, data):
    """Source: shapely for what lies inside, the linking of circles for links, networkx for the
    graph: none of the fill's own arithmetic.
    """
    weave = WEAVES[weave_id]
    outline = data.draw(outlines())
    grain = data.draw(st.floats(-90, 90))
    rule = data.draw(st.sampled_from(["whole", "centre"]))
    kind = data.draw(st.sampled_from(["laid", "spread", "across"]))
    origin = (data.draw(st.floats(-3, 3)), data.draw(st.floats(-3, 3)))
    try:
        shape = polygon(outline)
    except BadOutline:
        assume(False)
    solved = sheet(weave_id, kind)
    keys, made = every_ring(weave, solved, grain, origin, 60.0)
    if rule == "whole":
        covered = footprints(weave, solved, grain, keys, made)
    else:
        covered = shapely.points(np.mean([c.centre[:, :2] for c in made], axis=0))
    inside = shapely.contains(shape, covered)
    # What lies within a hair of the line may fall either way in another code.
    hair = 1e-3
    sure = shapely.contains(shape.buffer(hair), covered) == shapely.contains(
        shape.buffer(-hair), covered
    )
    assume(sure.all())
    wanted = {key for key, yes in zip(keys, inside.tolist(), strict=True) if yes}
    reach = 2 * solved.reach_mm
    graph = graph_of(weave, keys, made, reach)
    flat = {key for key in wanted if weave.courses[weave.course_of(key[0])].kind == 0}
    upright = {k for k in wanted - flat if sum(n in flat for n in graph[k]) == MIN_LINKS}
    body = flat | upright
    result = fill(outline, weave_id, grain=grain, rule=rule, origin=origin, solved=solved)
    assert found_keys(result, (BODY, DROPPED)) == body
    # Links: every linked pair of sites inside stands once in the ties.
    assert result.links() == graph.subgraph(body).number_of_edges() * weave.plies**2
    # Dangling, one by one until nothing changes.
    left = graph.subgraph(body).copy()
    while loose := [k for k in left if left.degree(k) < MIN_LINKS]:
        left.remove_nodes_from(loose)
    assert found_keys(result, (BODY,)) == set(left)
    # Seats: all edges edged take every vacant site that links two body rings.
    edged = fill(
        outline, weave_id, all_edged(outline), grain=grain, rule=rule, origin=origin, solved=solved
    )
    seats = {
        k
        for key in body
        for k in graph[key]
        if k not in body and sum(n in body for n in graph[k]) >= MIN_LINKS
    }
    full = graph.subgraph(body | seats).copy()
    while loose := [k for k in full if full.degree(k) < MIN_LINKS]:
        full.remove_nodes_from(loose)
    assert found_keys(edged, (BODY, EDGE)) == set(full)


@given(outlines(), st.floats(-90, 90), st.sampled_from([1, 2, 3, 6, 7]))
@settings(max_examples=25, deadline=None)
def test_upright_rings_alone_keep_within_the_outline(outline, grain, course):
    """Source: shapely, capsules in polygons; here the flat rings do not decide first."""
    try:
        shape = polygon(outline)
    except BadOutline:
        assume(False)
    weave, solved = WEAVES["japanese-hexagonal"], sheet("japanese-hexagonal")
    lattice = lattice_of(weave, solved, grain, 0.4, -0.3)
    rows = cut_rows(chords_of(outline, lattice), lattice, (course,), solved.footprint(course))
    found = {
        (row, k)
        for row, first, last in zip(*(a.tolist() for a in (rows.row, rows.first, rows.last)),
                                    strict=True)
        for k in range(first, last + 1)
    }  # fmt: skip
    keys, made = every_ring(weave, solved, grain, (0.4, -0.3), 60.0)
    covered = footprints(weave, solved, grain, keys, made)
    for key, capsule in zip(keys, covered, strict=True):
        if weave.course_of(key[0]) == course:
            surely = shape.buffer(-1e-3).contains(capsule)
            perhaps = shape.buffer(1e-3).contains(capsule)
            assert not surely or key in found
            assert perhaps or key not in found
