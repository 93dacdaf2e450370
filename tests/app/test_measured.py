"""What the command line tells of measured swatches."""

import json

import pytest

from app.cli import main
from core import edits, project_file
from core.estimate import estimate
from core.swatches import SwatchTrial
from core.weave.lay import Swatch
from tests.core.costumes import small_costume
from tests.core.shapes import WEAVE

TRIAL = SwatchTrial(1, WEAVE, Swatch(10, 10, 88.0, 58.0), 9.0, 24, 2, 48, "lifts")


@pytest.fixture
def told(tmp_path, capsys):
    """The output of a command for a costume whose steel ring was measured."""
    project = edits.put_swatch(TRIAL, (3,))(small_costume())
    path = tmp_path / "costume.ringloft"
    project_file.save(project, path)

    def run(command, *options):
        assert main([command, str(path), *options]) == 0
        return capsys.readouterr().out

    run.project = project
    return run


@pytest.mark.parametrize("command", ["tally", "plan"])
def test_json_lists_trials_and_where_paces_come_from(told, command):
    data = json.loads(told(command, "--json"))
    (swatch,) = data["swatches"]
    assert (swatch["ring"], swatch["weave"], swatch["hold"]) == ("Steel 1.6", WEAVE, "lifts")
    assert (swatch["along_mm"], swatch["across_mm"]) == (8.8, 5.8)
    assert swatch["ring_s"] == 22.5 and swatch["reject_chance"] == 0.06
    collar, cuff = data["panels"]
    assert collar["pace"]["source"] == cuff["pace"]["source"] == "swatch"
    assert (collar["pace"]["like"], cuff["pace"]["like"]) == ("same", "weave")
    assert (collar["hold"], cuff["hold"]) == ("lifts", None)
    hours = [p.weaving_h for p in estimate(told.project).panels]
    assert [p["weaving_hours"] for p in data["panels"]] == hours


def test_the_plan_says_what_decides_the_spare(told):
    steel, brass = json.loads(told("plan", "--json"))["buy"]
    assert (steel["spare_source"], brass["spare_source"]) == ("swatch", "common practice")


def test_the_text_says_what_was_measured_and_what_was_not(told):
    text = told("plan")
    assert "woven at your pace, the rest by common practice, not yet your pace" in text
    assert "your pace from a swatch of 24 rings in 9 min" in text
    assert "Collar: your swatch lifts from the pad in places" in text
    assert "2 bad of 48 inspected" in told("tally", "--explain")
