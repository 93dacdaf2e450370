"""The ring command: what it asks first, what it refuses, and answers that cannot be written."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from app import cli

WIRE = ("ring", "--wire", "1.6mm", "--mandrel", "8mm")


def test_own_figures_beside_a_metal_are_wrong_usage(capsys):
    with pytest.raises(SystemExit) as stopped:
        cli.main([*WIRE, "--metal", "copper", "--yield-mpa", "90"])
    assert stopped.value.code == 2
    assert "not both" in capsys.readouterr().err


def test_a_bad_wire_is_said_before_a_missing_metal(capsys):
    assert cli.main(["ring", "--wire", "16 ga", "--mandrel", "8mm"]) == 1
    assert "different wire in each gauge system" in capsys.readouterr().err


def test_a_missing_metal_lists_the_metals(capsys):
    assert cli.main([*WIRE]) == 1
    assert "steel-galvanized" in capsys.readouterr().err


def test_a_ring_that_nothing_can_be_woven_from_says_so(capsys):
    assert cli.main(["ring", "--wire", "3mm", "--mandrel", "7mm", "--metal", "brass"]) == 0
    assert "too tight: no weave of like rings can be made below 2.41" in capsys.readouterr().out
    assert cli.main([*WIRE, "--metal", "brass"]) == 0
    assert "too tight" not in capsys.readouterr().out


@pytest.mark.skipif(sys.platform != "linux", reason="needs /dev/full")
def test_a_full_disk_is_said_in_one_line():
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "app.cli", *WIRE, "--metal", "brass"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
        )
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1 and "could not be written" in done.stderr
