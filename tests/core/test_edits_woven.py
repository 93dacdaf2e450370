"""Giving a panel ring, weave and upright ring at once."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import edits
from core.compare import Choice, woven_from
from core.errors import BadValue, RingTooTight
from core.weave.cells import WEAVES
from core.weave.lay import Lay, Swatch
from tests.core.costumes import BRASS, STEEL, small_costume

WIDE = replace(STEEL, name="wide", mandrel_mm=None, inner_measured_mm=12.0)


def costume():
    project = edits.add_ring(WIDE)(small_costume())
    return project, project.panels[0], project.rings[-1].id


def test_what_no_two_steps_could_do_is_done_at_once():
    """The present ring cannot make the weave; nor can the new ring's weave be had before it."""
    project, panel, wide = costume()
    with pytest.raises(RingTooTight):
        edits.set_weave(panel.id, "european-8-in-1")(project)
    after = edits.set_woven(panel.id, wide, "european-8-in-1", None)(project).panel(panel.id)
    assert (after.weave, after.ring_id) == ("european-8-in-1", wide)
    assert replace(after, weave=panel.weave, ring_id=panel.ring_id) == panel


def test_rings_that_do_not_go_together_are_refused():
    project, panel, _wide = costume()
    with pytest.raises(RingTooTight):
        edits.set_woven(panel.id, STEEL.id, "european-8-in-1", None)(project)
    with pytest.raises(BadValue, match="no weave"):
        edits.set_woven(panel.id, STEEL.id, "knit", None)
    with pytest.raises(KeyError):
        edits.set_woven(panel.id, 99, "european-4-in-1", None)(project)


@given(st.sampled_from(sorted(WEAVES)), st.booleans(), st.booleans())
def test_a_choice_used_is_the_panel_compared(weave_id, own_weave, with_upright):
    project, panel, wide = costume()
    choice = Choice(
        project.ring(wide), None if own_weave else weave_id, BRASS if with_upright else None
    )
    asked = woven_from(project, panel, choice)
    done = edits.set_woven(panel.id, asked.ring_id, asked.weave, asked.upright_ring_id)(project)
    after = done.panel(panel.id)
    assert (after.ring_ids, after.weave, after.lay) == (asked.ring_ids, asked.weave, asked.lay)
    # Woven so, it is its own answer, the very object.
    assert woven_from(done, after, choice) is after


@pytest.mark.parametrize("lay", [Lay("swatch", Swatch(10, 10, 70.0, 55.0)),
                                 Lay("held", width_percent=90.0)])  # fmt: skip
def test_a_measured_or_held_panel_is_laid_again_in_another_weave(lay):
    project, panel, _wide = costume()
    project = edits.set_lay(panel.id, lay)(project)
    same = edits.set_woven(panel.id, panel.ring_id, panel.weave, panel.upright_ring_id)
    assert same(project) is project
    other = edits.set_woven(panel.id, panel.ring_id, "japanese-square", None)(project)
    assert other.panel(panel.id).lay == Lay("laid")
    asked = woven_from(project, project.panel(panel.id), Choice(STEEL, "japanese-square"))
    assert asked.lay == Lay("laid")


def test_the_same_ring_upright_needs_no_name():
    project, panel, _wide = costume()
    made = edits.set_woven(panel.id, STEEL.id, "japanese-square", STEEL.id)(project)
    assert made.panel(panel.id).upright_ring_id is None
