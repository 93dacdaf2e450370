"""Edits: laws that hold for every change of a costume, and the changes one by one."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import edits as e
from core.errors import BadOutline, BadValue, RingloftError, RingTooTight
from core.outline import Curve, Loop, Node, Outline, edge_ids, polygon
from core.panel import EdgeFinish, Panel
from core.project import Project
from core.ring import RingSpec, Spool
from core.weave.lay import Lay, Swatch
from tests.core.costumes import small_costume
from tests.core.shapes import circle_loop, rectangle

RING = RingSpec(0, "plain", "steel-galvanized", 1.6, 9.0)
TIGHT = RingSpec(0, "tight", "copper", 2.0, None, 5.0)  # aspect ratio 2.5, below the limit


def start():
    """Two panels, the second with a hole and a circle's edge, and two rings."""
    project = e.add_ring(RING)(Project("Test"))
    project = e.add_ring(replace(RING, name="other", wire_mm=1.2))(project)
    ring = project.rings[0].id
    project = e.add_panel(Panel(0, "Front", rectangle(80, 60), ring))(project)
    rim = rectangle(90, 90, -10, -10).rim
    holed = Outline(rim, (circle_loop(12, 30, 30, first_id=1),))
    return e.add_panel(Panel(0, "Back", holed, ring, holding="hanging"))(project)


def front(project):
    return project.panels[0]


def back(project):
    return project.panels[1]


def all_ids(project):
    ids = [r.id for r in project.rings]
    for panel in project.panels:
        ids += [panel.id, *(n.id for n in panel.outline.nodes())]
    return ids


def smooth(loop):
    return Loop(tuple(replace(n, corner=False) for n in loop.nodes))


def refused(project, kind, make):
    """The words of a refusal, whether the edit refuses when it is made or when it runs."""
    before = repr(project)
    with pytest.raises(kind) as caught:
        make()(project)
    assert repr(project) == before
    return str(caught.value)


# --- laws -------------------------------------------------------------------------------------


def same_again(project):
    """Edits that set what is already so."""
    panel, ring = front(project), project.rings[0]
    node = panel.outline.rim.nodes[0]
    return [
        e.rename_project(project.name),
        e.set_unit(project.unit),
        e.set_practice(project.practice),
        e.set_spare(project.spare_percent),
        e.set_ring(ring),
        e.set_ring(replace(ring)),
        e.rename_panel(panel.id, f" {panel.name} "),
        e.set_panel_ring(panel.id, panel.ring_id),
        e.set_lay(panel.id, Lay("laid")),
        e.set_grain(panel.id, panel.grain_deg),
        e.set_grain(panel.id, panel.grain_deg + 180),
        e.set_rule(panel.id, panel.rule),
        e.set_copies(panel.id, panel.copies, panel.mirrored),
        e.set_holding(panel.id, panel.holding),
        e.centre_rows(panel.id),
        e.set_edge(panel.id, node.id, "plain"),
        e.set_edge(panel.id, node.id, "plain", ""),
        e.set_outline(panel.id, panel.outline),
        e.set_outline(panel.id, e.moved_nodes(panel.outline, frozenset({node.id}), 0, 0)),
        e.set_outline(panel.id, e.moved_nodes(panel.outline, frozenset(), 5, 5)),
        e.set_outline(panel.id, e.with_curve(panel.outline, node.id, None)),
        e.set_outline(panel.id, e.with_corner(panel.outline, node.id, True)),
        e.set_outline(panel.id, e.without_nodes(panel.outline, frozenset())),
    ]


def test_an_edit_that_changes_nothing_returns_the_project_itself():
    project = e.centre_rows(front(start()).id)(start())
    for number, edit in enumerate(same_again(project)):
        assert edit(project) is project, number


def real_changes(project):
    panel, other = front(project), project.rings[1]
    node = panel.outline.rim.nodes[1]
    moved = e.moved_nodes(panel.outline, frozenset({node.id}), 7, -3)
    return [
        e.rename_project("New"),
        e.set_unit("in"),
        e.set_practice("practised"),
        e.set_spare(7),
        e.add_ring(RING),
        e.set_ring(replace(other, wire_mm=1.1)),
        e.remove_ring(other.id),
        e.add_panel(panel),
        e.duplicate_panel(panel.id, "Copy"),
        e.remove_panel(panel.id),
        e.rename_panel(panel.id, "New"),
        e.set_panel_ring(panel.id, other.id),
        e.set_lay(panel.id, Lay("across")),
        e.set_grain(panel.id, 30),
        e.set_rule(panel.id, "centre"),
        e.set_copies(panel.id, 2, True),
        e.set_holding(panel.id, "held"),
        e.set_origin(panel.id, 1, 2),
        e.set_edge(panel.id, node.id, "edged", "Hem"),
        e.set_outline(panel.id, moved),
        e.add_node(panel.id, node.id, 0.5),
        e.add_hole(panel.id, rectangle(9, 9, 20, 20).rim),
    ]


def test_untouched_parts_stay_the_same_object_and_ids_stay_unique():
    project = start()
    before = repr(project)
    for number, edit in enumerate(real_changes(project)):
        after = edit(project)
        assert after is not project, number
        assert after != project, number
        assert back(project) in [p for p in after.panels if p is back(project)], number
        kept = {id(r) for r in project.rings} & {id(r) for r in after.rings}
        assert len(kept) >= len(project.rings) - 1, number
        ids = all_ids(after)
        assert len(set(ids)) == len(ids), number
        assert max(ids) < after.next_id, number
    assert repr(project) == before


def test_loops_and_nodes_that_an_edit_leaves_alone_stay_the_same_object():
    outline = back(start()).outline
    node = outline.rim.nodes[2]
    for after in (
        e.moved_nodes(outline, frozenset({node.id}), 1, 1),
        e.with_curve(outline, node.id, Curve(1, 2, 3, 4)),
        e.with_corner(outline, node.id, False),
        e.with_added_node(outline, node.id, 0.5, 999),
        e.without_nodes(outline, frozenset({node.id})),
    ):
        assert after.holes[0] is outline.holes[0]
        assert after.rim is not outline.rim
        assert after.rim.nodes[0] is outline.rim.nodes[0]


def test_a_chain_of_edits_never_gives_an_id_twice():
    project = start()
    seen = set(all_ids(project))
    for _round in range(3):
        panel = front(project)
        for edit in (
            e.add_ring(RING),
            e.duplicate_panel(panel.id, "Copy"),
            e.add_node(panel.id, panel.outline.rim.nodes[0].id, 0.5),
            e.remove_panel(project.panels[-1].id),
        ):
            after = edit(project)
            new = set(all_ids(after)) - set(all_ids(project))
            assert not new & seen
            seen |= new
            project = after


# --- rings ------------------------------------------------------------------------------------


def test_a_ring_below_the_limit_is_refused_wherever_it_could_come_in():
    project = e.add_ring(TIGHT)(start())
    panel, tight = front(project), project.rings[-1]
    for make in (
        lambda: e.set_ring(replace(TIGHT, id=panel.ring_id)),
        lambda: e.set_panel_ring(panel.id, tight.id),
    ):
        words = refused(project, RingTooTight, make)
        assert "2.50 times" in words
        assert "inner diameter of at least" in words
    stuck = replace(project, panels=(replace(panel, ring_id=tight.id),))
    refused(stuck, RingTooTight, lambda: e.set_lay(panel.id, Lay("spread")))


@pytest.mark.parametrize(
    "change",
    [
        {"wire_mm": 0.0},
        {"wire_mm": math.nan},
        {"wire_mm": 1e9},
        {"mandrel_mm": -3.0},
        {"mandrel_mm": None},
        {"metal": "cheese"},
        {"kerf_mm": 50.0},
        {"spool": Spool(None, None)},
        {"spool": Spool(0.0)},
        {"spool": Spool(math.inf)},
        {"spool": Spool(None, math.nan)},
        {"spool": Spool(50_000, None, math.nan)},
        {"spool": Spool(50_000, None, -1.0)},
    ],
)
def test_a_ring_that_cannot_be_is_refused(change):
    project = start()
    bad = replace(project.rings[0], **change)
    refused(project, RingloftError, lambda: e.add_ring(bad))
    refused(project, RingloftError, lambda: e.set_ring(bad))


def test_a_ring_in_use_stays():
    project = start()
    assert "Front" in refused(project, BadValue, lambda: e.remove_ring(project.rings[0].id))


def test_what_is_not_there_cannot_be_edited():
    project = start()
    for edit in (
        e.remove_ring(999),
        e.remove_panel(999),
        e.rename_panel(999, "x"),
        e.set_panel_ring(front(project).id, 999),
        e.set_edge(front(project).id, 999, "edged"),
        e.add_node(front(project).id, 999, 0.5),
        e.add_panel(Panel(0, "No ring", rectangle(9, 9), 999)),
        e.set_ring(replace(RING, id=999)),
    ):
        with pytest.raises(KeyError):
            edit(project)


# --- panels -----------------------------------------------------------------------------------


@given(st.floats(-3600, 3600))
def test_grain_is_kept_where_it_means_the_same_rows(grain):
    project = start()
    panel = front(project)
    kept = front(e.set_grain(panel.id, grain)(project)).grain_deg
    assert -90 < kept <= 90
    assert math.isclose(math.sin(math.radians(2 * (kept - grain))), 0, abs_tol=1e-9)
    assert math.isclose(math.cos(math.radians(2 * (kept - grain))), 1, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [(0, 0), (90, 90), (-90, 90), (91, -89), (180, 0), (math.nextafter(90, 91), 90), (-45, -45)],
)
def test_grain_at_the_turning_points(typed, kept):
    project = start()
    assert front(e.set_grain(front(project).id, typed)(project)).grain_deg == kept


def test_copies_as_mirrored_pairs_are_even():
    project = start()
    panel = front(project)
    for copies, mirrored in ((3, True), (0, False), (-1, False), (1001, False)):
        refused(project, BadValue, lambda c=copies, m=mirrored: e.set_copies(panel.id, c, m))
    after = front(e.set_copies(panel.id, 4, True)(project))
    assert (after.copies, after.mirrored) == (4, True)


@pytest.mark.parametrize(
    "make",
    [
        lambda i: e.rename_panel(i, "  "),
        lambda i: e.set_grain(i, math.nan),
        lambda i: e.set_grain(i, math.inf),
        lambda i: e.set_origin(i, math.nan, 0),
        lambda i: e.set_origin(i, 0, 1e6),
        lambda i: e.set_spare(-1),
        lambda i: e.set_spare(101),
        lambda i: e.set_spare(math.nan),
        lambda i: e.add_node(i, 1, 0.0),
        lambda i: e.add_node(i, 1, 1.0),
        lambda i: e.add_node(i, 1, math.nan),
        lambda i: e.set_lay(i, Lay("swatch")),
        lambda i: e.set_lay(i, Lay("swatch", Swatch(0, 5, 10, 10))),
        lambda i: e.set_lay(i, Lay("swatch", Swatch(5, 5, math.nan, 10))),
    ],
)
def test_refused_input_leaves_everything_unchanged(make):
    project = start()
    words = refused(project, BadValue, lambda: make(front(project).id))
    assert words.count(". ") == 1, "what is wrong, then what to do"


def test_at_most_500_panels():
    project = start()
    full = replace(project, panels=(front(project),) * 500)
    refused(full, BadValue, lambda: e.add_panel(front(project)))


def test_a_new_panel_gets_ids_of_its_own_even_when_its_loops_share_some():
    panel = back(start())  # drawn with ids 1 to 4 in the rim and again in the hole
    ids = [n.id for n in panel.outline.nodes()]
    assert len(set(ids)) == len(ids) == 8


def test_a_new_panel_keeps_the_finish_of_edges_and_forgets_that_of_none():
    project = start()
    project = e.set_edge(front(project).id, edge_ids(front(project).outline)[1], "edged", "Hem")(
        project
    )
    copy = e.duplicate_panel(front(project).id, "Copy")(project).panels[-1]
    assert copy.name == "Copy"
    assert copy.edges == (EdgeFinish(edge_ids(copy.outline)[1], "edged", "Hem"),)
    stray = replace(front(project), outline=Outline(smooth(front(project).outline.rim)))
    assert e.add_panel(stray)(project).panels[-1].edges == ()


# --- edges and outlines -----------------------------------------------------------------------


def edged():
    """Front with its second edge edged and named, and the ids of its edges."""
    project = start()
    ids = edge_ids(front(project).outline)
    return e.set_edge(front(project).id, ids[1], "edged", "Hem")(project), ids


def test_edges_keep_their_finish_when_points_move_or_are_split_or_removed_elsewhere():
    project, ids = edged()
    panel = front(project)
    hem = (EdgeFinish(ids[1], "edged", "Hem"),)
    outline = panel.outline
    split = front(e.add_node(panel.id, ids[1], 0.4)(project))
    changes = (
        e.set_outline(panel.id, e.moved_nodes(outline, frozenset({ids[1], ids[2]}), 5, 5)),
        e.set_outline(panel.id, e.with_curve(outline, ids[1], Curve(5, 5, 5, -5))),
        e.add_node(panel.id, ids[0], 0.5),
        e.add_node(panel.id, ids[1], 0.5),
        e.set_outline(panel.id, e.without_nodes(outline, frozenset({ids[3]}))),
        e.set_outline(panel.id, e.without_nodes(outline, frozenset({ids[0]}))),
        e.set_outline(panel.id, e.with_corner(outline, ids[2], False)),
        e.add_hole(panel.id, rectangle(9, 9, 20, 20).rim),
    )
    for number, edit in enumerate(changes):
        assert front(edit(project)).edges == hem, number
    # The split point is no corner, so the edge is still one.
    assert edge_ids(split.outline) == ids
    assert not split.outline.rim.nodes[2].corner


def test_the_finish_goes_with_the_corner_that_names_the_edge():
    project, ids = edged()
    gone = e.without_nodes(front(project).outline, frozenset({ids[1]}))
    assert front(e.set_outline(front(project).id, gone)(project)).edges == ()


def test_the_only_edge_of_a_boundary_keeps_its_finish_whatever_names_it():
    project = start()
    loop = smooth(circle_loop(40))
    project = e.add_panel(Panel(0, "Disc", Outline(loop), project.rings[0].id))(project)
    disc = project.panels[-1]
    (edge,) = edge_ids(disc.outline)
    project = e.set_edge(disc.id, edge, "edged")(project)
    disc = project.panels[-1]
    third = disc.outline.rim.nodes[2].id
    for outline, name in (
        (e.without_nodes(disc.outline, frozenset({edge})), disc.outline.rim.nodes[1].id),
        (e.with_corner(disc.outline, third, True), third),
    ):
        after = e.set_outline(disc.id, outline)(project).panels[-1]
        assert after.edges == (EdgeFinish(name, "edged"),)
        assert edge_ids(after.outline) == (name,)


def test_finishes_stand_in_drawing_order_and_plain_unnamed_ones_are_not_kept():
    project, ids = edged()
    panel_id = front(project).id
    project = e.set_edge(panel_id, ids[3], "edged")(project)
    project = e.set_edge(panel_id, ids[0], "plain", "Top")(project)
    assert [x.node_id for x in front(project).edges] == [ids[0], ids[1], ids[3]]
    project = e.set_edge(panel_id, ids[0], "edged")(project)
    assert front(project).finish(ids[0]) == EdgeFinish(ids[0], "edged", "Top")
    project = e.set_edge(panel_id, ids[3], "plain")(project)
    assert [x.node_id for x in front(project).edges] == [ids[0], ids[1]]


def test_removing_points_keeps_the_ends_of_curves():
    outline = Outline(circle_loop(40))
    a, b, c, d = outline.rim.nodes
    kept = e.without_nodes(outline, frozenset({b.id})).rim.nodes
    assert [n.id for n in kept] == [a.id, c.id, d.id]
    ends = (a.curve.out_x_mm, a.curve.out_y_mm, b.curve.in_x_mm, b.curve.in_y_mm)
    assert kept[0].curve == Curve(*ends)
    # Points at the start of the list are joined to the last one kept.
    kept = e.without_nodes(outline, frozenset({a.id})).rim.nodes
    ends = (d.curve.out_x_mm, d.curve.out_y_mm, a.curve.in_x_mm, a.curve.in_y_mm)
    assert kept[-1].curve == Curve(*ends)
    flat = e.with_curve(outline, a.id, None)
    ends = (0, 0, b.curve.in_x_mm, b.curve.in_y_mm)
    assert e.without_nodes(flat, frozenset({b.id})).rim.nodes[0].curve == Curve(*ends)


def test_removing_too_many_points():
    outline = back(start()).outline
    rim, hole = ([n.id for n in loop.nodes] for loop in outline.loops())
    with pytest.raises(BadValue, match="three points"):
        e.without_nodes(outline, frozenset(rim[:2]))
    assert e.without_nodes(outline, frozenset(hole[:2])).holes == ()
    assert len(e.without_nodes(outline, frozenset(hole[:1])).holes[0].nodes) == 3


def test_a_hole_of_two_curved_points_stays_when_points_go_elsewhere():
    a, b = (
        Node(11, 30, 30, curve=Curve(0, 15, 0, 15)),
        Node(12, 50, 30, curve=Curve(0, -15, 0, -15)),
    )
    outline = Outline(rectangle(80, 60).rim, (Loop((a, b)),))
    polygon(outline)
    after = e.without_nodes(outline, frozenset({outline.rim.nodes[0].id}))
    assert after.holes == outline.holes


def test_a_split_keeps_the_line_and_the_rings_origin():
    project = start()
    disc = back(project)
    start_id = disc.outline.holes[0].nodes[3].id  # the segment that closes the loop
    after = back(e.add_node(disc.id, start_id, 0.3)(project))
    assert len(after.outline.holes[0].nodes) == 5
    assert polygon(after.outline).area == pytest.approx(polygon(disc.outline).area, abs=0.1)
    assert after.outline.holes[0].nodes[4].id == project.next_id
    assert (after.origin_x_mm, after.origin_y_mm) == (disc.origin_x_mm, disc.origin_y_mm)


@pytest.mark.parametrize("dx", [math.nan, math.inf, 1e9])
def test_points_cannot_be_moved_beyond_reach(dx):
    outline = front(start()).outline
    with pytest.raises(BadValue):
        e.moved_nodes(outline, frozenset({outline.rim.nodes[0].id}), dx, 0)
    with pytest.raises(BadValue):
        e.with_curve(outline, outline.rim.nodes[0].id, Curve(dx, 0, 0, 0))


def test_outlines_without_clear_area_are_refused():
    project = start()
    panel = front(project)
    first = panel.outline.rim.nodes[0].id
    crossed = e.moved_nodes(panel.outline, frozenset({first}), 200, 30)
    refused(project, BadOutline, lambda: e.set_outline(panel.id, crossed))
    refused(project, BadOutline, lambda: e.add_panel(replace(panel, outline=crossed)))
    refused(project, BadOutline, lambda: e.add_hole(panel.id, rectangle(9, 9, 500, 500).rim))
    refused(project, BadOutline, lambda: e.add_hole(panel.id, Loop(())))


def test_an_outline_with_points_numbered_ahead_moves_the_next_free_id():
    project = start()
    ahead = rectangle(50, 50, first_id=project.next_id + 10)
    after = e.set_outline(front(project).id, ahead)(project)
    assert after.next_id > max(all_ids(after))


def test_another_ring_takes_a_swatch_away_and_the_same_ring_does_not():
    """A swatch tells about the ring it was woven from."""
    costume = small_costume()
    first, second = costume.rings[0].id, costume.rings[1].id
    panel_id = costume.panels[0].id
    lay = Lay("swatch", Swatch(10, 10, 89.0, 60.0))
    measured = e.set_lay(panel_id, lay)(costume)
    assert e.set_panel_ring(panel_id, first)(measured) is measured
    assert e.set_panel_ring(panel_id, second)(measured).panel(panel_id).lay == Lay("laid")
    drawn = e.set_lay(panel_id, Lay("across"))(costume)
    assert e.set_panel_ring(panel_id, second)(drawn).panel(panel_id).lay == Lay("across")


def test_a_ring_in_use_names_the_panels_that_use_it():
    costume = small_costume()
    ring_id, first = costume.panels[0].ring_id, costume.panels[0].id
    for name in ("Bib", "Hood", "Sash"):
        costume = e.duplicate_panel(first, name)(costume)
    with pytest.raises(BadValue, match=r"used by Collar, Bib, Hood and 1 more.*those panels"):
        e.remove_ring(ring_id)(costume)


def test_rows_placed_by_hand_stay_and_may_be_let_go():
    costume = small_costume()
    panel_id = costume.panels[0].id
    placed = e.set_origin(panel_id, 3.0, 4.0)(costume)
    assert placed.panel(panel_id).placing == "by hand"
    assert e.set_origin(panel_id, 3.0, 4.0)(placed) is placed
    assert e.centre_rows(panel_id)(placed).panel(panel_id).placing == "centred"
