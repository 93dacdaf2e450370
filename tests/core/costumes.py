"""Whole costumes for tests: a small fixed one, and random ones."""

from __future__ import annotations

from hypothesis import strategies as st

from core.outline import Curve, Loop, Node, Outline, edge_ids
from core.panel import HOLDINGS, EdgeFinish, Panel
from core.project import Project
from core.ring import RingSpec, Spool
from core.swatches import HOLDS, SwatchTrial
from core.weave.cells import WEAVES
from core.weave.lay import LAY_KINDS, Lay, Swatch

STEEL = RingSpec(
    1, "Steel 1.6", "steel-galvanized", 1.6, 8.0, spool=Spool(50_000.0, None, 12.5)
)  # fmt: skip
BRASS = RingSpec(2, "Brass 1.2", "brass", 1.2, 7.0, None, 0.3, "", Spool(None, 500.0, 9.0))

SPRING_BACK = (
    # wire, mandrel, yield, modulus, inner diameter after; derived, checked by quadrature
    (1.6, 8.0, 350, 200, 8.174),
    (1.6, 8.0, 550, 200, 8.277),
    (1.6, 8.0, 1100, 193, 8.591),
    (1.6, 8.0, 250, 70, 8.362),
    (1.6, 8.0, 345, 105, 8.332),
    (1.0, 10.0, 1100, 193, 11.307),
)


def small_costume():
    """Two panels, curved and holed, edged and mirrored, in two rings."""
    collar = Loop(
        (
            Node(4, 0.0, 0.0),
            Node(5, 120.0, 0.0, curve=Curve(20.0, 25.0, 20.0, -25.0)),
            Node(6, 120.0, 90.0),
            Node(7, 0.0, 90.0),
        )
    )
    hole = Loop((Node(8, 40.0, 30.0), Node(9, 70.0, 30.0), Node(10, 55.0, 60.0)))
    cuff = Loop(
        (Node(12, 0.0, 0.0), Node(13, 80.0, 0.0), Node(14, 80.0, 60.0), Node(15, 0.0, 60.0))
    )
    return Project(
        "Tide warden",
        (STEEL, BRASS),
        (
            Panel(
                3, "Collar", Outline(collar, (hole,)), 1, grain_deg=20.0, origin_x_mm=5.0,
                edges=(EdgeFinish(4, "edged", "Neck"), EdgeFinish(6, "edged")),
            ),
            Panel(
                11, "Cuff", Outline(cuff), 2, lay=Lay("spread"), rule="centre", copies=2,
                mirrored=True, holding="hanging",
            ),
        ),
        next_id=16,
    )  # fmt: skip


numbers = st.floats(-9_999, 9_999)
lengths = st.floats(0.01, 9_999)
names = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
bends = st.builds(Curve, numbers, numbers, numbers, numbers)


@st.composite
def loops(draw, ids):
    return Loop(
        tuple(
            Node(
                next(ids),
                draw(numbers),
                draw(numbers),
                draw(st.booleans()),
                draw(st.none() | bends),
            )
            for _ in range(draw(st.integers(1, 4)))
        )
    )


@st.composite
def rings(draw, ids):
    return RingSpec(
        next(ids),
        draw(names),
        draw(st.sampled_from(["brass", "copper", "steel-black", "no such metal"])),
        draw(lengths),
        draw(st.none() | lengths),
        draw(st.none() | lengths),
        draw(st.floats(0, 2)),
        draw(names),
        Spool(draw(st.none() | lengths), draw(st.none() | lengths), draw(st.none() | lengths)),
    )


swatches = st.builds(Swatch, st.integers(0, 99), st.integers(0, 99), lengths, lengths)


@st.composite
def panels(draw, ids, ring_ids):
    panel_id = next(ids)
    holes = tuple(draw(loops(ids)) for _ in range(draw(st.integers(0, 2))))
    outline = Outline(draw(loops(ids)), holes)
    starts = edge_ids(outline)
    pairs = draw(st.booleans())
    edges = tuple(
        EdgeFinish(i, draw(st.sampled_from(["plain", "edged"])), draw(names))
        for i in starts
        if draw(st.booleans())
    )
    return Panel(
        panel_id,
        draw(names),
        outline,
        draw(st.sampled_from(ring_ids)),
        draw(st.sampled_from([*WEAVES, "no such weave"])),
        Lay(
            draw(st.sampled_from(LAY_KINDS)),
            draw(st.none() | swatches),
            draw(st.none() | st.floats(0, 200)),
        ),
        draw(st.floats(-90, 90)),
        draw(numbers),
        draw(numbers),
        draw(st.sampled_from(["whole", "centre"])),
        draw(st.integers(1, 20)) * (2 if pairs else 1),
        pairs,
        edges,
        draw(st.sampled_from(HOLDINGS)),
        draw(st.sampled_from(["centred", "by hand"])),
        draw(st.none() | st.sampled_from(ring_ids)),
    )


pieces = st.builds(Swatch, st.integers(3, 99), st.integers(3, 99), lengths, lengths)


@st.composite
def trials(draw, ring_id, weave):
    """A swatch trial with any of its parts, none of them impossible."""
    timed, looked_at = draw(st.booleans()), draw(st.booleans())
    inspected = draw(st.integers(1, 500)) if looked_at else None
    return SwatchTrial(
        ring_id,
        weave,
        draw(st.none() | pieces),
        draw(st.floats(0.1, 500)) if timed else None,
        draw(st.integers(1, 500)) if timed else None,
        draw(st.integers(0, inspected)) if looked_at else None,
        inspected,
        draw(st.sampled_from(HOLDS if looked_at or timed else HOLDS[1:])),
    )


@st.composite
def some_trials(draw, ring_ids):
    weaves = ["european-4-in-1", "no such weave"]
    pairs = st.tuples(st.sampled_from(ring_ids), st.sampled_from(weaves))
    keys = draw(st.lists(pairs, max_size=2, unique=True))
    return tuple(draw(trials(*key)) for key in keys)


@st.composite
def projects(draw):
    """Any costume a file may hold, sensible or not: what a file keeps is not judged by it."""
    ids = iter(range(draw(st.integers(1, 50)), 10**6))
    some_rings = tuple(draw(rings(ids)) for _ in range(draw(st.integers(1, 3))))
    ring_ids = [r.id for r in some_rings]
    some_panels = tuple(draw(panels(ids, ring_ids)) for _ in range(draw(st.integers(0, 3))))
    return Project(
        draw(names),
        some_rings,
        some_panels,
        draw(st.sampled_from(["novice", "practised"])),
        draw(st.none() | st.floats(0, 100)),
        draw(st.sampled_from(["mm", "in"])),
        draw(names),
        next(ids) + draw(st.integers(0, 5)),
        draw(some_trials(ring_ids)),
    )
