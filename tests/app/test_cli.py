"""The command line: its answers, its exit codes, and that it always answers in words."""

import contextlib
import errno
import io
import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app import cli, reports
from core.compare import MEASURES
from core.project_file import save
from core.ring import resolve
from core.version import VERSION
from tests.core.costumes import BRASS, STEEL, small_costume

ROOT = Path(__file__).resolve().parents[2]
SPACES = str.maketrans({"\u202f": " ", "\u00a0": " "})


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
    """Runs a command line that must succeed, with --json; returns the answer."""

    def go(*arguments):
        status, out, err = run(*arguments, "--json")
        assert (status, err) == (0, "")
        data = json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} is no JSON"))
        assert data.pop("schema") == reports.SCHEMA == 1
        return data

    return go


def one_line(err):
    """A refusal: one line with what, where and what to do."""
    assert err.startswith("ringloft: ")
    assert err.count("\n") == 1
    assert err.endswith(".\n")
    return err


# --- ring and pitch ---------------------------------------------------------------------------

RING_KEYS = [
    "wire_mm", "mandrel_mm", "inner_mm", "outer_mm", "aspect_ratio", "wire_per_ring_mm", "mass_g",
]  # fmt: skip
PITCH_KEYS = [
    "aspect_ratio", "limit_aspect_ratio", "feasible", "along_mm", "across_mm", "lean_deg",
    "thickness_mm", "area_per_ring_mm2", "cover", "weave", "lay", "width_percent", "held_percent",
    "kinds", "rings_per_dm2", "kg_per_m2",
]  # fmt: skip


def test_ring(answer):
    own = ("--yield-mpa", "350", "--modulus-gpa", "200", "--density", "7.85")
    data = answer("ring", "--wire", "1.6mm", "--mandrel", "8mm", *own)
    assert set(data) == {*RING_KEYS, "inner_low_mm", "inner_high_mm"}
    # Source: derived, round-bar spring-back (see tests/core/test_ring.py).
    assert data["inner_mm"] == pytest.approx(8.174, abs=1e-3)
    assert data["outer_mm"] == data["inner_mm"] + 3.2
    assert data["aspect_ratio"] == pytest.approx(data["inner_mm"] / 1.6)
    assert data["inner_low_mm"] < data["inner_mm"] < data["inner_high_mm"]


def test_ring_of_a_metal_in_the_table_in_any_unit(answer):
    metric = answer("ring", "--wire", "1.6mm", "--mandrel", "8mm", "--metal", "steel-galvanized")
    made = resolve(STEEL)
    assert (metric["inner_mm"], metric["mass_g"]) == (made.inner_mm, made.mass_g)
    inch = answer("ring", "--wire", "1/16 in", "--mandrel", "5/16 in", "--metal", "brass")
    assert (inch["wire_mm"], inch["mandrel_mm"]) == (1.5875, 7.9375)
    sawn = answer(
        "ring", "--wire", "1.6mm", "--mandrel", "8mm", "--metal", "steel-galvanized",
        "--kerf", "0.5mm",
    )  # fmt: skip
    assert sawn["inner_mm"] < metric["inner_mm"]


@pytest.mark.parametrize("lay", ["laid", "spread", "along", "across"])
def test_pitch(answer, lay):
    data = answer(
        "pitch", "--weave", "european-4-in-1", "--wire", "1.6mm", "--inner", "8mm", "--lay", lay
    )
    assert list(data) == PITCH_KEYS
    assert data["feasible"] is True
    assert data["aspect_ratio"] == pytest.approx(5)
    assert data["area_per_ring_mm2"] == pytest.approx(data["along_mm"] * data["across_mm"])
    assert 0 < data["cover"] < 1


def test_a_ring_below_the_limit_is_an_answer_in_json_and_a_refusal_in_words(answer, run):
    data = answer("pitch", "--wire", "2mm", "--inner", "5mm")
    assert list(data) == PITCH_KEYS
    assert data["feasible"] is False
    assert data["aspect_ratio"] == 2.5 < data["limit_aspect_ratio"]
    assert data["along_mm"] is None
    status, out, err = run("pitch", "--wire", "2mm", "--inner", "5mm")
    assert (status, out) == (1, "")
    assert "inner diameter of at least" in one_line(err)


def test_ring_and_pitch_in_words(run):
    for arguments, words in (
        (("ring", "--wire", "1.6mm", "--mandrel", "8mm", "--metal", "copper"), "Inner ÷ wire"),
        (("pitch", "--wire", "1.6mm", "--inner", "8mm"), "Limit of the weave"),
    ):
        status, out, _err = run(*arguments)
        assert status == 0
        assert words in out


# --- tally, plan, compare ---------------------------------------------------------------------


def test_tally(answer, costume):
    data = answer("tally", costume)
    assert list(data) == ["project", "panels", "seams", "swatches", "totals"]
    assert (data["project"], data["seams"]) == ("Tide warden", [])
    for panel in data["panels"]:
        asked = "name copies area_mm2 perimeter_mm rings edges mass_g wire_mm hours links"
        asked += " weaving_hours pace hold weave lay width_percent kinds"
        assert set(panel) == set(asked.split())
        asked = ["body", "edge", "dangling", "per_copy", "total"]
        assert set(panel["rings"]) == {*asked, "low", "high"}
        rings = panel["rings"]
        assert rings["per_copy"] == rings["body"] + rings["edge"] - rings["dangling"]
        assert rings["total"] == rings["per_copy"] * panel["copies"]
        assert rings["edge"] == sum(edge["rings"] for edge in panel["edges"])
        assert panel["perimeter_mm"] == pytest.approx(sum(e["length_mm"] for e in panel["edges"]))
        for edge in panel["edges"]:
            assert set(edge) == {"length_mm", "edging", "rings", "name"}
    totals = data["totals"]
    asked = ["rings", "spare", "wire_mm", "spools", "mass_g", "cost", "hours"]
    assert set(totals) == {*asked, "low", "high"}
    for key in ("rings", "mass_g"):
        parts = [p["rings"]["total"] if key == "rings" else p[key] for p in data["panels"]]
        assert totals[key] == pytest.approx(sum(parts))


def test_explanations_carry_the_counts_of_the_answer(answer, run, costume):
    data = answer("tally", costume, "--explain")
    status, out, _err = run("tally", costume, "--explain")
    assert status == 0
    lines = data["explain"]
    assert all(line in out for line in lines)
    words = "\n".join(lines)
    for panel in data["panels"]:
        r = panel["rings"]
        sum_line = (
            f"{r['body']} − {r['dangling']} + {r['edge']} = {r['per_copy']} rings,"
            f" × {panel['copies']} = {r['total']}."
        )
        assert sum_line in words
        assert f"{r['low']} to {r['high']}: counted laid, spread" in words
    plan = answer("plan", costume)
    for need in plan["buy"]:
        assert f"{need['ring']}: {need['rings']} rings + {need['spare']} spare" in words
        assert re.search(rf"{need['coils'] - 1} coils? of|1 coil of at most", words)
        assert f": {need['spools']}." in words


def test_plan(answer, costume):
    data = answer("plan", costume)
    tally = answer("tally", costume)
    buy = data.pop("buy")
    assert data == tally
    assert [b["ring"] for b in buy] == ["Steel 1.6", "Brass 1.2"]
    assert sum(b["spools"] for b in buy) == data["totals"]["spools"]
    assert sum(b["wire_mm"] for b in buy) == pytest.approx(data["totals"]["wire_mm"])
    for b in buy:
        whole = (b["coils"] - 1) * b["feed_mm"] + b["last_feed_mm"]
        assert b["wire_mm"] == pytest.approx(whole)


def test_compare(answer, costume):
    data = answer("compare", costume, "--ring", "Steel 1.6", "--ring", "Brass 1.2")
    assert list(data) == ["compared", "weave", "lay", "sheet_panel", "rings"]
    first, second = data["rings"]
    for column in (first, second):
        assert set(column["values"]) == set(column["ratio"]) == set(MEASURES)
        assert column["problem"] is None
    for measure in MEASURES:
        ratio = second["values"][measure] / first["values"][measure]
        assert second["ratio"][measure] == pytest.approx(ratio)
        assert first["ratio"][measure] == 1


def test_compare_one_panel_in_rings_described_in_words(answer, costume):
    named = answer(
        "compare", costume, "--panel", "Cuff", "--ring", "Steel 1.6", "--ring", "Brass 1.2"
    )
    text = "wire=1.6mm, mandrel=8mm, metal=steel-galvanized"
    told = answer("compare", costume, "--panel", "Cuff", "--ring", text, "--ring", "Brass 1.2")
    assert told["compared"] == named["compared"] == "Cuff"
    assert told["rings"][0]["name"] == text
    for measure in set(MEASURES) - {"cost"}:  # a ring in words has no price
        assert told["rings"][0]["values"][measure] == named["rings"][0]["values"][measure]
    tally = answer("tally", costume)
    assert named["rings"][1]["values"]["rings"] == tally["panels"][1]["rings"]["total"]


def test_compare_with_a_ring_that_cannot_be(answer, run, costume):
    rings = ("--ring", "Steel 1.6", "--ring", "wire=2mm, inner=5mm, metal=brass")
    data = answer("compare", costume, *rings)
    assert "2.50 times" in data["rings"][1]["problem"]
    assert set(data["rings"][1]["values"].values()) == {None}
    status, out, err = run("compare", costume, *rings)
    assert (status, out) == (1, "")
    assert "wire=2mm, inner=5mm, metal=brass: the ring is 2.50 times" in one_line(err)


@pytest.mark.parametrize("command", ["tally", "plan", "compare"])
def test_words_on_a_fixed_costume(run, golden, costume, command):
    more = ("--ring", "Steel 1.6", "--ring", "Brass 1.2") if command == "compare" else ()
    status, out, err = run(command, costume, *more)
    assert (status, err) == (0, "")
    golden.check(f"{command}.txt", out.translate(SPACES))


def test_an_unpriced_inch_costume(run, tmp_path):
    rings = tuple(replace(r, spool=replace(r.spool, price=None)) for r in (STEEL, BRASS))
    save(replace(small_costume(), unit="in", rings=rings), tmp_path / "x.ringloft")
    status, out, _err = run("plan", str(tmp_path / "x.ringloft"))
    assert status == 0
    assert "Wire cost —" in out
    assert "in²" in out
    assert " mm" not in out


def test_an_empty_costume(run, answer, tmp_path):
    path = str(tmp_path / "x.ringloft")
    save(replace(small_costume(), name="", panels=(), rings=()), Path(path))
    assert answer("tally", path)["totals"]["rings"] == 0
    for command in ("tally", "plan"):
        status, out, _err = run(command, path)
        assert status == 0
        assert "All: 0 rings" in out
    status, _out, err = run("compare", path, "--ring", "a", "--ring", "b")
    assert status == 1
    one_line(err)


# --- refusals ---------------------------------------------------------------------------------

WIRE = ("--wire", "1.6mm", "--mandrel", "8mm")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("ring", *WIRE), "--metal"),
        (("ring", *WIRE, "--metal", "cheese"), "not a metal"),
        (("ring", *WIRE, "--yield-mpa", "350"), "--metal"),
        (("ring", *WIRE, "--yield-mpa", "nan", "--modulus-gpa", "1", "--density", "1"), "nan"),
        (("ring", "--wire", "16", "--mandrel", "8mm", "--metal", "brass"), "gauge"),
        (("ring", "--wire", "1.6 parsec", "--mandrel", "8mm", "--metal", "brass"), "--wire"),
        (("ring", "--wire", "1.6mm", "--mandrel", "", "--metal", "brass"), "--mandrel"),
        (("ring", "--wire", "0.4mm", "--mandrel", "150mm", "--metal", "brass"), "straight"),
        (("pitch", "--wire", "1.6mm", "--inner", "8mm", "--weave", "knit"), "no weave"),
        (("pitch", "--wire", "1.6mm", "--inner", "900mm"), "1.6 mm|beyond|times as wide"),
        (("tally", "no such file"), "No such file"),
        (("tally", "x" * 300), "too long"),
        (("tally", "a\0b"), "null"),
        (("tally", ""), "directory"),
        (("tally", "."), "directory"),
        (("compare", "{costume}", "--ring", "Steel 1.6"), "two to four"),
        (("compare", "{costume}", "--ring", "Gold", "--ring", "Brass 1.2"), "“Steel 1.6”"),
        (("compare", "{costume}", "--ring", "Brass 1.2", "--ring", "Brass 1.2", "--panel", "Hat"),
         "Collar, Cuff"),
        (("no such file",), "no such file"),
        (("x" * 300,), "no such file"),
    ],
)  # fmt: skip
def test_what_could_not_be_done_is_one_line_and_status_1(run, costume, arguments, words):
    status, out, err = run(*(a.format(costume=costume) for a in arguments))
    assert (status, out) == (1, "")
    assert any(word.lower() in one_line(err).lower() for word in words.split("|"))


@pytest.mark.parametrize(
    "arguments",
    [
        ("ring",),
        ("ring", "--wire", "1.6mm"),
        ("ring", *WIRE, "--yield-mpa", "many"),
        ("pitch", "--wire", "1.6mm", "--inner", "8mm", "--lay", "loose"),
        ("tally",),
        ("compare", "x"),
        ("--no-such-option",),
        ("one", "two"),
    ],
)
def test_wrong_usage_is_status_2(run, arguments):
    status, out, err = run(*arguments)
    assert (status, out) == (2, "")
    assert err.startswith("usage: ringloft")


def test_version_and_help(run):
    assert run("--version")[:2] == (0, f"ringloft {VERSION}\n")
    status, out, _err = run("--help")
    assert status == 0
    for name in ("ring", "pitch", "tally", "plan", "compare"):
        assert name in out
        status, own, _err = run(name, "--help")
        assert status == 0
        assert f"usage: ringloft {name}" in own


words = st.sampled_from(
    ["ring", "pitch", "tally", "plan", "compare", "--wire", "--mandrel", "--inner", "--metal",
     "--yield-mpa", "--modulus-gpa", "--density", "--kerf", "--lay", "--weave", "--json",
     "--explain", "--ring", "--panel", "--", "-", "brass", "1.6mm", "8 mm", "7/16 in", "1/0",
     "spread", "european-4-in-1", "-1", "0", "1e400", "nan", "inf", "16 ga US steel", "{costume}",
     "wire=1mm, inner=5mm", "wire=,mandrel=", "wire=1mm, inner=5mm, metal=",
     "wire=1mm,inner=5mm,inner"],
)  # fmt: skip
commands = st.one_of(
    st.lists(st.text(max_size=10) | words, max_size=6),
    st.tuples(
        st.just("ring"), st.just("--wire"), st.text(max_size=8) | words, st.just("--mandrel"),
        st.text(max_size=8) | words, st.just("--metal"), words,
    ),
    st.tuples(
        st.just("pitch"), st.just("--wire"), st.text("0123456789./emin ", max_size=8),
        st.just("--inner"), st.text("0123456789./emin ", max_size=8), st.just("--json"),
    ),
    st.tuples(
        st.just("compare"), st.just("{costume}"), st.just("--ring"), st.text(max_size=8) | words,
        st.just("--ring"), words,
    ),
)  # fmt: skip


@settings(max_examples=250)
@given(arguments=commands)
def test_never_a_traceback(monkeypatch, costume, arguments):
    monkeypatch.setattr(cli, "display_trouble", lambda: "none here")
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            status = cli.main([a.replace("{costume}", costume) for a in arguments])
        except SystemExit as stop:
            status = stop.code
    assert status in (0, 1, 2)
    if status == 1:
        assert out.getvalue() == ""
        one_line(err.getvalue())
    elif (
        status == 0
        and "--json" in arguments
        and "--help" not in arguments
        and out.getvalue()[:1] == "{"
    ):
        json.loads(out.getvalue(), parse_constant=lambda name: pytest.fail(name))


# --- without Qt, without a display ------------------------------------------------------------


def started(*arguments, code="sys.exit(main(sys.argv[1:]))", stdout=subprocess.PIPE, **more):
    """Runs the command line in a process of its own, without any display unless one is given."""
    gone = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "PYTHONIOENCODING")
    return subprocess.run(
        [sys.executable, "-c", f"import sys; from app.cli import main; {code}", *arguments],
        cwd=ROOT, env={k: v for k, v in os.environ.items() if k not in gone} | more,
        stdout=stdout, stderr=subprocess.PIPE, encoding="utf-8", timeout=120,
    )  # fmt: skip


LOADED = (
    "status = main(sys.argv[1:]); "
    "heavy = {m.partition('.')[0] for m in sys.modules}"
    " & {'PySide6', 'shiboken6', 'pint', 'scipy', 'matplotlib'}; "
    "print(sorted(heavy), file=sys.stderr); sys.exit(status)"
)


@pytest.mark.parametrize("more", [("tally",), ("plan",), ("tally", "--json"), ()])
def test_counting_loads_neither_qt_nor_units(costume, more):
    done = started(*more[:1], costume, *more[1:], code=LOADED)
    assert (done.returncode, done.stderr) == (0, "[]\n")


def test_no_display_gives_the_plan_and_the_reason(run, costume):
    done = started(costume)
    assert done.returncode == 0
    plan = run("plan", costume)[1]
    assert done.stdout.startswith(plan)
    assert "No window was opened: there is no display" in done.stdout[len(plan) :]
    bare = started()
    assert bare.returncode == 0
    assert "No window was opened" in bare.stdout
    assert "ringloft --help" in bare.stdout


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="displays of X11")
def test_a_dead_display_gives_the_plan_and_the_reason(run, costume):
    done = started(costume, DISPLAY=":93")
    assert done.returncode == 0, done.stderr
    plan = run("plan", costume)[1]
    assert done.stdout.startswith(plan)
    reason = done.stdout[len(plan) :]
    assert "No window was opened: the display cannot be used (" in reason
    assert "Traceback" not in reason


def test_a_missing_library_is_named(monkeypatch):
    told = (
        'Traceback (most recent call last):\n  File "x"\nImportError: libEGL.so.1: no such file\n'
    )
    monkeypatch.setenv("QT_QPA_PLATFORM", "xcb")
    monkeypatch.setattr(
        cli.subprocess, "run", lambda *a, **k: subprocess.CompletedProcess(a, 1, "", told)
    )
    assert "ImportError: libEGL.so.1" in cli.display_trouble()


def test_a_display_that_hangs_and_one_that_works(monkeypatch):
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert cli.display_trouble() is None

    def hangs(*_args, **_keywords):
        raise subprocess.TimeoutExpired("x", 1)

    monkeypatch.setattr(cli.subprocess, "run", hangs)
    assert "does not answer" in cli.display_trouble()


def test_a_damaged_file_without_display(tmp_path):
    (tmp_path / "x.ringloft").write_text("{", encoding="utf-8")
    done = started(str(tmp_path / "x.ringloft"))
    assert (done.returncode, done.stdout) == (1, "")
    assert "damaged" in one_line(done.stderr)


def test_a_terminal_without_the_signs(costume):
    done = started(
        "compare", costume, "--ring", "Steel 1.6", "--ring", "Brass 1.2", PYTHONIOENCODING="ascii"
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "?1.60" in done.stdout


@pytest.mark.skipif(os.name == "nt", reason="pipes of POSIX")
def test_a_reader_that_has_gone(costume):
    reader, writer = os.pipe()
    os.close(reader)
    done = started("tally", costume, stdout=writer, PYTHONUNBUFFERED="")
    os.close(writer)
    assert done.stderr == ""
    assert done.returncode == 1


def test_packaged_samples_open_by_name(answer):
    samples = sorted(p.stem for p in (ROOT / "sample_projects").glob("*.ringloft"))
    assert samples
    for name in samples:
        assert answer("tally", name)["totals"]["rings"] > 0


def test_a_file_that_may_not_be_looked_at(run, monkeypatch):
    def denied(*_args, **_keywords):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "open", denied)
    monkeypatch.setattr(Path, "exists", denied)
    status, _out, err = run("tally", "/locked/costume.ringloft")
    assert status == 1
    assert "Permission denied" in one_line(err)
