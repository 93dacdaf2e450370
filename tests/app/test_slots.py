"""What lies on the bench as a value: laws that hold whatever is chosen, added, used or undone."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from app.pages.slots import LETTERS, MOST_COMPARED, BenchState, Slot, beside, has_upright
from core import edits
from core.ring import resolve
from core.weave.cells import WEAVES
from tests.core.costumes import BRASS, STEEL, small_costume

PROJECT = small_costume()
PANEL = PROJECT.panels[0]
SIX = tuple(WEAVES)


def settled(project=PROJECT, state=None):
    return (state or BenchState()).settled(project, project.panels[0])


steps = st.lists(
    st.tuples(
        st.sampled_from(("ring", "weave", "upright", "trial", "more", "fewer", "woven", "gone")),
        st.integers(0, 3),
        st.integers(0, 5),
    ),
    max_size=12,
)


def after(state, step):
    what, at, pick = step
    at %= len(state.held)
    ids = [r.id for r in state.rings(PROJECT)]
    ring_id = ids[pick % len(ids)]
    slot = state.held[at]
    if what == "ring":
        return state.with_slot(at, replace(slot, ring_id=ring_id))
    if what == "weave":
        return state.with_slot(at, replace(slot, weave=(None, *SIX)[pick]))
    if what == "upright":
        return state.with_slot(at, replace(slot, upright_id=ring_id))
    if what == "trial":
        made, new_id = state.with_new_trial(PROJECT, slot.ring_id)
        return made.with_slot(at, replace(slot, upright_id=new_id))
    if what == "more":
        return state.with_one_more(PROJECT)
    if what == "fewer":
        return state.without_slot(at)
    if what == "gone":
        return state.without_ring(ring_id)
    return state.with_woven(ring_id, SIX[pick])[0]


@given(steps)
def test_whatever_is_done_all_that_is_held_is_known(taken):
    state = settled()
    for step in taken:
        state = after(state, step).settled(PROJECT, PANEL)
        known = {r.id for r in state.rings(PROJECT)}
        assert 2 <= len(state.held) <= MOST_COMPARED
        assert state.ring_id in known
        for at, slot in enumerate(state.held):
            assert set(slot.ids) <= known
            choice = state.choice(PROJECT, at)
            assert (choice.spec.id, choice.weave) == (slot.ring_id, slot.weave)
            assert LETTERS[at] in state.letters(slot.ring_id)
        # Trials are those in use, under ids the costume will never give, and no id twice.
        assert all(i < 0 and spec.id == i for i, spec in state.trials.items())
        assert set(state.trials) <= {i for slot in state.held for i in slot.ids}
        assert state.fresh_id < min(state.trials, default=0)
        # Settling is done once and for all.
        assert state.settled(PROJECT, PANEL) == state


@given(steps)
def test_states_are_values(taken):
    state = settled()
    before = repr(state)
    for step in taken:
        after(state, step)
        assert repr(state) == before


def test_until_the_maker_chooses_the_panel_decides():
    assert settled().held == (Slot(1), Slot(2))
    other = edits.set_panel_ring(PANEL.id, 2)(PROJECT)
    assert settled(other, settled()).held == (Slot(2), Slot(1))
    chosen = settled(PROJECT, settled().with_slot(1, Slot(1, SIX[1])))
    assert settled(other, chosen).held == (Slot(1), Slot(1, SIX[1]))


def test_an_upright_ring_that_leaves_the_costume_by_undo_goes_on_as_a_trial():
    more = edits.add_ring(replace(BRASS, name="more"))(PROJECT)
    new_id = more.rings[-1].id
    state = settled(more, settled(more).with_slot(1, Slot(1, "japanese-square", new_id)))
    back = settled(PROJECT, state)
    assert back.held[1].upright_id == new_id and back.trials[new_id].name == "more"
    # Another ring that is given its id does not take its place.
    other = edits.add_ring(replace(STEEL, name="other"))(PROJECT)
    moved = settled(other, back)
    kept = moved.held[1].upright_id
    assert kept < 0 and moved.trials[kept].name == "more"
    # Redone, it is the costume's own again.
    again = settled(more, back)
    assert again.held[1].upright_id == new_id and not again.trials


def test_a_ring_used_upright_joins_the_costume_under_its_new_id():
    state, made = settled().with_new_trial(PROJECT, 1)
    state = state.with_slot(1, Slot(made, "japanese-square", made)).renumbered(made, 40)
    assert state.held[1] == Slot(40, "japanese-square", 40) and not state.trials


def test_a_weave_is_compared_in_the_place_it_has():
    state, at = settled().with_woven(1, SIX[2])
    # B was there only for want of something else.
    assert at == 1 and state.held == (Slot(1), Slot(1, SIX[2]))
    same, where = state.with_woven(1, SIX[2])
    assert where == 1 and same is state
    more, where = state.with_woven(1, SIX[3])
    assert where == 2 and more.held[:2] == state.held


def test_a_ring_beside_another_can_be_wound():
    made = beside(STEEL, -7)
    assert made.id == -7 and made.wire_mm < STEEL.wire_mm
    assert resolve(made).mandrel_mm == STEEL.mandrel_mm


def test_which_weaves_have_upright_rings():
    assert [w for w in SIX if has_upright(w)] == ["japanese-square", "japanese-hexagonal"]
    assert not has_upright(None) and not has_upright("no such weave")


WIDE = replace(STEEL, name="wide", mandrel_mm=None, inner_measured_mm=12.0)


def test_b_is_a_ring_that_can_make_the_weave_where_there_is_one():
    # 8-in-1 asks for 5.78: 8.17 ÷ 1.6 and 7.17 ÷ 1.2 against 12 ÷ 1.6.
    project = edits.add_ring(replace(STEEL, name="tight", mandrel_mm=6.0))(PROJECT)
    project = edits.add_ring(WIDE)(project)
    wide = project.rings[-1].id
    panel = replace(PANEL, weave="european-8-in-1", ring_id=BRASS.id)
    woven = replace(project, panels=(panel,))
    assert BenchState().settled(woven, panel).held == (Slot(BRASS.id), Slot(wide))
    assert BenchState().settled(PROJECT, PANEL).held == (Slot(STEEL.id), Slot(BRASS.id))


def test_where_no_other_ring_can_the_same_ring_is_compared_in_another_weave():
    panel = replace(PANEL, weave="european-8-in-1", ring_id=BRASS.id)
    woven = replace(PROJECT, panels=(panel,))
    first, other = BenchState().settled(woven, panel).held
    assert first == Slot(BRASS.id)
    assert other.ring_id == BRASS.id and other.weave not in (None, "european-8-in-1")
