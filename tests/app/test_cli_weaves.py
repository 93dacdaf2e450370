"""The command line over six weaves: pitch, tally and compare, and what each refuses."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from app import cli
from core import edits
from core.project_file import save
from core.weave.cells import WEAVES
from core.weave.lay import limit_aspect_ratio
from tests.core.costumes import small_costume

SIX = tuple(WEAVES)
TWO_KINDS = ("japanese-square", "japanese-hexagonal")


@pytest.fixture
def costume(tmp_path):
    path = tmp_path / "warden.ringloft"
    save(small_costume(), path)
    return str(path)


@pytest.fixture
def run(capsys):
    """Runs a command line; returns exit status, output and errors."""

    def go(*arguments):
        try:
            status = cli.main(arguments)
        except SystemExit as stop:
            status = stop.code
        told = capsys.readouterr()
        return status, told.out, told.err

    return go


@pytest.fixture
def answer(run):
    def go(*arguments):
        status, out, err = run(*arguments, "--json")
        assert (status, err) == (0, "")
        return json.loads(out)

    return go


# --- pitch ------------------------------------------------------------------------------------


@pytest.mark.parametrize("lay", ["laid", "spread", "along", "across", "held"])
@pytest.mark.parametrize("weave", SIX)
def test_pitch_of_every_weave_and_lay(answer, run, weave, lay):
    asked = ("pitch", "--weave", weave, "--wire", "1mm", "--inner", "7mm", "--lay", lay)
    if lay == "held":
        asked += ("--width", "98")
    data = answer(*asked, "--metal", "brass")
    assert (data["weave"], data["lay"]) == (weave, lay)
    assert data["width_percent"] == (98 if lay == "held" else None)
    assert data["feasible"] is True and 0 < data["cover"] <= 1
    assert data["rings_per_dm2"] * data["area_per_ring_mm2"] == pytest.approx(10_000)
    assert sum(kind["share"] for kind in data["kinds"]) == pytest.approx(1)
    # All rings alike: the mass of a torus, 2π²Rr²ρ, times rings a square metre.
    mass_g = 2 * math.pi**2 * 4.0 * 0.5**2 * 8.53e-3
    assert data["kg_per_m2"] == pytest.approx(mass_g * data["rings_per_dm2"] / 10, rel=2e-3)
    low, high = data["held_percent"]
    assert low < 98 < high
    assert answer(*asked)["kg_per_m2"] is None
    status, out, _err = run(*asked)
    assert status == 0 and "Rings per dm²" in out and "kg per m²" not in out


def test_held_width_lies_between_its_ends(answer, run):
    ask = ("pitch", "--wire", "1.6mm", "--inner", "8mm", "--lay")
    spread, held = answer(*ask, "spread"), answer(*ask, "held", "--width", "80%")
    assert held["along_mm"] == pytest.approx(0.8 * spread["along_mm"])
    for wrong in ("20", "180", "nan"):
        status, out, err = run(*ask, "held", "--width", wrong)
        assert (status, out) == (1, "") and "%" in err and err.count("\n") == 1
    status, out, err = run(*ask, "held")
    assert (status, out) == (1, "") and "from 57 to 105 %" in err


@pytest.mark.parametrize("weave", TWO_KINDS)
def test_upright_rings_of_their_own_size(answer, weave):
    ask = ("pitch", "--weave", weave, "--wire", "1.6mm", "--inner", "8mm", "--lay", "spread")
    like = answer(*ask)
    own = answer(*ask, "--upright-wire", "1.2mm", "--upright-inner", "5mm")
    assert [(k["wire_mm"], k["inner_mm"]) for k in own["kinds"]] == [
        (1.6, pytest.approx(8)),
        (1.2, pytest.approx(5)),
    ]
    # Taut: linked flat rings are 2R + 2Rc - 2d apart, d half the sum of the wires.
    assert like["along_mm"] == pytest.approx(9.6 + 9.6 - 3.2)
    assert own["along_mm"] == pytest.approx(9.6 + 6.2 - 2.8)
    # One of the two may be left out: it is then as the flat ring's.
    half = answer(*ask, "--upright-inner", "5mm")
    assert half["kinds"][1]["wire_mm"] == 1.6


@pytest.mark.parametrize("weave", SIX)
def test_a_ring_too_tight_is_an_answer_for_each_kind(answer, run, weave):
    inner = f"{0.97 * limit_aspect_ratio(weave):.4f}mm"
    ask = ("pitch", "--weave", weave, "--wire", "1mm", "--inner", inner)
    data = answer(*ask)
    assert data["feasible"] is False and data["along_mm"] is None
    assert data["kinds"][0]["feasible"] is False
    assert data["kinds"][0]["inner_mm"] < data["kinds"][0]["least_inner_mm"]
    status, out, err = run(*ask)
    assert (status, out) == (1, "") and err.count("\n") == 1 and "at least" in err


def test_an_upright_ring_too_tight_is_told_from_the_flat_one(answer, run):
    ask = ("pitch", "--weave", "japanese-square", "--wire", "1.6mm", "--inner", "8mm",
           "--upright-wire", "1mm", "--upright-inner", "3mm")  # fmt: skip
    flat, upright = answer(*ask)["kinds"]
    assert flat["feasible"] is True and upright["feasible"] is False
    # Two flat wires of 1.6 mm pass through it.
    assert upright["least_inner_mm"] == pytest.approx(3.2)
    status, _out, err = run(*ask)
    assert status == 1 and "upright ring is 3.00 mm inside" in err


@pytest.mark.parametrize(
    "more",
    [
        ("--upright-wire", "1mm"),
        ("--upright-inner", "5mm"),
        ("--width", "90"),
        ("--lay", "held", "--width", "wide"),
    ],
)
def test_options_that_do_not_belong_are_wrong_usage(run, more):
    status, out, err = run("pitch", "--wire", "1.6mm", "--inner", "8mm", *more)
    assert (status, out) == (2, "")
    assert err.startswith("usage: ringloft pitch")


# --- tally ------------------------------------------------------------------------------------


@pytest.fixture
def two_kinds(tmp_path):
    """The small costume, its first panel with flat rings of steel and upright ones of brass."""
    project = small_costume()
    panel, (flat, upright) = project.panels[0], project.rings
    project = edits.set_weave(panel.id, "japanese-square")(project)
    project = edits.set_upright_ring(panel.id, upright.id)(project)
    assert project.panel(panel.id).ring_ids == (flat.id, upright.id)
    path = tmp_path / "two.ringloft"
    save(project, path)
    return str(path)


def test_tally_gives_weave_lay_and_rings_of_each_kind(answer, run, two_kinds):
    first, second = answer("tally", two_kinds)["panels"]
    assert (first["weave"], first["lay"]) == ("japanese-square", "laid")
    assert [k["ring"] for k in first["kinds"]] == ["Steel 1.6", "Brass 1.2"]
    for panel in (first, second):
        assert sum(k["rings"] for k in panel["kinds"]) == panel["rings"]["total"]
    (only,) = second["kinds"]
    assert (second["weave"], only["kind"]) == ("european-4-in-1", "ring")
    status, out, _err = run("tally", two_kinds)
    flat, upright = (k["rings"] for k in first["kinds"])
    line = f"{flat} × flat ring (Steel 1.6), {upright} × upright ring (Brass 1.2)"
    assert status == 0 and f"Collar: Japanese square, laid; {line}" in out
    assert "Cuff: European 4-in-1, spread\n" in out


def test_plan_buys_and_explains_both_rings(answer, run, two_kinds):
    data = answer("plan", two_kinds)
    woven = {b["ring"]: b["rings"] for b in data["buy"]}
    asked = [k for p in data["panels"] for k in p["kinds"]]
    for name, rings in woven.items():
        assert rings == sum(k["rings"] for k in asked if k["ring"] == name)
    status, out, _err = run("plan", two_kinds)
    assert status == 0 and "Brass 1.2: brass C260" in out
    _status, out, _err = run("tally", two_kinds, "--explain")
    collar = out.partition("Collar:\n")[2].partition("Cuff:")[0]
    assert "Wire 1.600 mm" in collar and "Wire 1.200 mm" in collar


# --- compare ----------------------------------------------------------------------------------


def test_one_ring_in_several_weaves(answer, run, costume):
    weaves = ("european-4-in-1", "japanese-square", "japanese-hexagonal")
    asked = [part for weave in weaves for part in ("--weave", weave)]
    data = answer("compare", costume, "--ring", "Steel 1.6", *asked)
    assert [column["weave"] for column in data["rings"]] == list(weaves)
    assert {column["name"] for column in data["rings"]} == {"Steel 1.6"}
    for column in data["rings"]:
        assert column["low"] <= column["values"]["rings"] <= column["high"]
    counts = [column["values"]["rings"] for column in data["rings"]]
    assert len(set(counts)) == 3
    status, out, _err = run("compare", costume, "--ring", "Steel 1.6", *asked)
    assert status == 0
    assert "B  ⌀1.60 × 8.17 mm" in out and "5.11; Japanese square" in out
    assert "Stretch across" in out and "Rings by lay" in out


def test_a_ring_in_words_brings_its_weave_and_upright_ring(answer, costume):
    told = "Steel 1.6, weave=japanese-square, upright="
    data = answer("compare", costume, "--ring", told + "Brass 1.2", "--ring", told + "1.2mm x 5mm")
    assert [column["upright"] for column in data["rings"]] == ["Brass 1.2", "1.2mm x 5mm"]
    assert {column["weave"] for column in data["rings"]} == {"japanese-square"}
    assert {column["name"] for column in data["rings"]} == {"Steel 1.6"}
    # The smaller upright ring draws the flat ones nearer: more of them go on the panel.
    assert data["rings"][1]["values"]["rings"] > data["rings"][0]["values"]["rings"]


def test_every_ring_in_one_weave(answer, costume):
    two = ("--ring", "Steel 1.6", "--ring", "wire=1.2mm, inner=8mm, metal=brass")
    data = answer("compare", costume, *two, "--weave", "european-6-in-1")
    assert [column["weave"] for column in data["rings"]] == ["european-6-in-1"] * 2
    assert data["weave"] == "european-6-in-1"


def test_a_weave_that_cannot_be_made_says_why(answer, run, costume):
    asked = ("compare", costume, "--ring", "Steel 1.6", "--weave", "european-4-in-1",
             "--weave", "european-8-in-1")  # fmt: skip
    data = answer(*asked)
    assert "needs 5.78" in data["rings"][1]["problem"]
    assert data["rings"][1]["low"] is None and data["rings"][1]["lays"] == []
    status, out, err = run(*asked)
    assert (status, out) == (1, "") and "needs 5.78" in err


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--ring", "Steel 1.6, weave=knit", "--ring", "Brass 1.2"), "no weave called"),
        (("--ring", "Steel 1.6", "--weave", "knit"), "no weave called"),
        (("--ring", "Steel 1.6, weave=european-4-in-1, upright=Brass 1.2", "--ring", "Brass 1.2"),
         "no upright rings"),
        (("--ring", "Steel 1.6, upright=Gold", "--ring", "Brass 1.2"), "not a ring of the costume"),
        (("--ring", "Steel 1.6, upright=1mm x", "--ring", "Brass 1.2"), "--ring upright"),
        (("--ring", "Steel 1.6, metal=brass", "--ring", "Brass 1.2"), "not a ring of the costume"),
        (("--ring", "Steel 1.6", "--weave", "european-4-in-1"), "two to four"),
    ],
)  # fmt: skip
def test_what_compare_refuses_is_one_line(run, costume, more, words):
    status, out, err = run("compare", costume, *more)
    assert (status, out) == (1, "")
    assert words in err and err.count("\n") == 1


@pytest.mark.parametrize(
    "more",
    [
        ("--ring", "Steel 1.6", "--ring", "Brass 1.2", "--weave", SIX[0], "--weave", SIX[1]),
        ("--ring", f"Steel 1.6, weave={SIX[0]}", "--weave", SIX[1]),
    ],
)
def test_weaves_given_twice_over_are_wrong_usage(run, costume, more):
    status, out, err = run("compare", costume, *more)
    assert (status, out) == (2, "") and err.startswith("usage: ringloft compare")


def test_a_name_with_a_comma_is_still_a_ring(answer, tmp_path):
    project = small_costume()
    rings = (replace(project.rings[0], name="Steel, soft"), project.rings[1])
    save(replace(project, rings=rings), tmp_path / "x.ringloft")
    data = answer("compare", str(tmp_path / "x.ringloft"), "--ring", "Steel, soft",
                  "--ring", "Steel, soft, weave=japanese-square")  # fmt: skip
    assert [column["name"] for column in data["rings"]] == ["Steel, soft"] * 2
    assert [column["weave"] for column in data["rings"]] == [None, "japanese-square"]


# --- wrong usage ------------------------------------------------------------------------------


@pytest.mark.parametrize("asked, words", [
    (("pitch", "--wire", "1.6mm", "--inner", "8mm", "--lay", "held", "--width", "abc"),
     "“abc” is no share of a width"),
    (("picture", "{costume}", "--panel", "Collar", "--weave", "european-4-in-1", "-o", "a.svg"),
     "--weave: for a piece of mail"),
    (("picture", "{costume}", "--width", "50mm", "-o", "a.svg"), "--width: for a piece"),
    (("picture", "--weave", "european-4-in-1", "--panel", "Collar", "-o", "a.svg"),
     "name its FILE"),
    (("picture", "--weave", "european-4-in-1", "--upright-wire", "1mm", "-o", "a.svg"),
     "no upright rings"),
])  # fmt: skip
def test_what_does_not_go_together_is_wrong_usage(run, costume, asked, words):
    status, out, err = run(*(part.format(costume=costume) for part in asked))
    assert (status, out) == (2, "")
    assert words in err and "_percent" not in err


@pytest.mark.parametrize("asked, words", [
    (("ring", "--wire", "1.6mm", "--mandrel", "8mm", "--metal", "gold"), "--metal: “gold”"),
    (("picture", "--weave", "european-4-in-1", "--wire", "1mm", "--inner", "6mm", "--metal", "gold",
      "-o", "a.svg"), "--metal: “gold”"),
    (("picture", "--weave", "european-4-in-1", "-o", "/nowhere/at/all/a.svg"),
     "no folder “/nowhere/at/all”"),
    (("picture", "--weave", "european-4-in-1", "-o", "a.png"), "painted by the window alone"),
    (("compare", "{costume}", "--ring", "Steel 1.6", "--weave", "european-4-in-1"),
     "another weave"),
])  # fmt: skip
def test_a_refusal_names_the_option_or_the_next_step(run, costume, asked, words):
    status, out, err = run(*(part.format(costume=costume) for part in asked))
    assert (status, out, err.count("\n")) == (1, "", 1)
    assert words in err


def test_a_piece_takes_its_own_upright_rings(run, tmp_path):
    made = {}
    upright = ("--upright-wire", "1mm", "--upright-inner", "7mm")
    for name, more in (("same", ()), ("other", upright)):
        out = tmp_path / f"{name}.svg"
        asked = ("--weave", "japanese-square", "--wire", "1.6mm", "--inner", "9mm", "-o", str(out))
        assert run("picture", *asked, *more)[0] == 0
        made[name] = out.read_text("utf-8")
    assert made["same"] != made["other"]
    assert "wire 1.00 mm, inner ⌀ 7.00 mm" in made["other"]
