"""Project files: what is saved opens equal; nothing damaged gets in; nothing good is lost."""

import errno
import json
import os
import shutil
import stat
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core import project_file
from core.errors import FileTrouble
from core.outline import Outline
from core.panel import Panel
from core.project import Project
from core.project_file import FILE_VERSION, MIGRATIONS, dumps, load, loads, save
from core.ring import Spool
from tests.core.costumes import STEEL, projects, small_costume
from tests.core.shapes import rectangle

OLD = Path(__file__).resolve().parents[1] / "old_projects"


@pytest.fixture(autouse=True)
def new_session(monkeypatch):
    monkeypatch.setattr(project_file, "_backed_up", set())


@pytest.fixture
def saved(tmp_path):
    path = tmp_path / "costume.ringloft"
    save(small_costume(), path)
    project_file._backed_up.clear()
    return path


def refusal(text, name="costume.ringloft"):
    with pytest.raises(FileTrouble) as caught:
        loads(text, name)
    return sentence(caught.value)


def sentence(error):
    """The one line a person reads: what and where, then what to do."""
    line = str(error)
    assert "\n" not in line
    assert error.what
    assert error.do
    assert line.endswith(f"{error.do}.")
    assert len(error.what + error.do) < 250
    return line


def with_change(change):
    """The text of the small costume after a change of its data."""
    data = json.loads(dumps(small_costume()))
    change(data)
    return json.dumps(data)


# --- reopens equal ----------------------------------------------------------------------------


@given(projects())
def test_saved_and_read_again_is_equal(project):
    text = dumps(project)
    again = loads(text)
    assert again == project
    assert dumps(again) == text


def test_an_empty_costume_and_awkward_names(tmp_path):
    for project in (
        Project(),
        Project('„Ärmel" \\ \n\t\x00 ⌀ 🛡 \u2028'),
        replace(small_costume(), currency="", name=" "),
    ):
        save(project, tmp_path / "x.ringloft")
        assert load(tmp_path / "x.ringloft") == project


def test_load_and_save_again_keeps_every_byte(saved, tmp_path):
    before = saved.read_bytes()
    save(load(saved), tmp_path / "again.ringloft")
    assert (tmp_path / "again.ringloft").read_bytes() == before
    assert b"\r" not in before


def test_the_file_is_plain_json_that_names_its_format_and_version(saved):
    data = json.loads(saved.read_text(encoding="utf-8"))
    assert list(data) == ["format", "version", "saved_by", "project", "last_counts"]
    assert (data["format"], data["version"]) == ("ringloft-project", FILE_VERSION)
    assert [c["name"] for c in data["last_counts"]] == ["Collar", "Cuff"]
    assert all(c["rings"] > 0 for c in data["last_counts"])


def test_last_counts_are_information_only_and_left_out_where_nothing_can_be_counted():
    project = small_costume()
    crossed = Outline(replace(rectangle(9, 9).rim, nodes=rectangle(9, 9).rim.nodes[:2]))
    bad = replace(project, panels=(replace(project.panels[0], outline=crossed, edges=()),))
    data = json.loads(dumps(bad))
    assert data["last_counts"] == []
    data["last_counts"] = "anything"
    assert loads(json.dumps(data)) == bad


def test_whole_numbers_stand_for_floats():
    project = replace(small_costume(), rings=(replace(STEEL, wire_mm=2, mandrel_mm=9),), panels=())
    assert loads(dumps(project)) == project


# --- older and newer versions -----------------------------------------------------------------


def test_every_migration_has_an_old_file_and_every_old_version_a_migration():
    assert sorted(MIGRATIONS) == list(range(1, FILE_VERSION))
    assert {p.name for p in OLD.glob("*.ringloft")} >= {f"v{n}.ringloft" for n in MIGRATIONS}
    for version in MIGRATIONS:
        data = json.loads((OLD / f"v{version}.ringloft").read_text(encoding="utf-8"))
        assert data["version"] == version


@pytest.mark.parametrize("version", sorted(MIGRATIONS))
def test_an_old_file_opens_and_written_again_reopens_equal(version, tmp_path):
    project = load(OLD / f"v{version}.ringloft")
    save(project, tmp_path / "new.ringloft")
    assert json.loads((tmp_path / "new.ringloft").read_text("utf-8"))["version"] == FILE_VERSION
    assert load(tmp_path / "new.ringloft") == project


def test_version_1_spools_are_carried_over():
    project = load(OLD / "v1.ringloft")
    assert [r.spool for r in project.rings] == [
        Spool(40_000.0, None, 15.5),
        Spool(50_000.0, None, None),
    ]
    assert project.panels[0].edges[0].name == "Hem"


def test_what_was_glued_or_not_before_version_3_says_how_it_is_held():
    assert [p.holding for p in load(OLD / "v1.ringloft").panels] == ["hanging"]
    assert [p.holding for p in load(OLD / "v2.ringloft").panels] == ["glued", "glued"]
    data = json.loads((OLD / "v2.ringloft").read_text(encoding="utf-8"))
    data["project"]["panels"][1]["glued"] = 0
    with pytest.raises(FileTrouble, match=r"panels\.1\.glued"):
        loads(json.dumps(data))


def test_a_newer_file_is_refused_and_left_untouched(tmp_path):
    path = tmp_path / "new.ringloft"
    path.write_text(with_change(lambda d: d.update(version=FILE_VERSION + 1, extra=[])), "utf-8")
    before = path.read_bytes()
    with pytest.raises(FileTrouble, match="newer Ringloft") as caught:
        load(path)
    assert "Update Ringloft" in sentence(caught.value)
    assert path.read_bytes() == before


# --- damaged files ----------------------------------------------------------------------------

GOOD = dumps(small_costume())


def put(*path):
    """A change that puts the last of `path` at the place the others name."""
    *way, last, value = path

    def change(data):
        for step in way:
            data = data[step]
        data[last] = value

    return change


PANEL = ("project", "panels", 0)
RING = ("project", "rings", 0)
NODE = (*PANEL, "outline", "rim", "nodes", 1)

DAMAGE = {
    "no project": (put("project", None), "damaged at project"),
    "list": (put("project", []), "damaged at project"),
    "unknown key": (put("project", "colour", "red"), "colour"),
    "unknown key deep": (put(*PANEL, "bend", 1), "panels.0.bend"),
    "unknown top key": (put("extra", 1), "extra"),
    "text for number": (put(*RING, "wire_mm", "1.6"), "rings.0.wire_mm"),
    "number for text": (put(*RING, "name", 5), "rings.0.name"),
    "truth for number": (put(*RING, "wire_mm", True), "rings.0.wire_mm"),
    "number for truth": (put(*PANEL, "mirrored", 1), "panels.0.mirrored"),
    "null": (put(*NODE, "x_mm", None), "panels.0.outline.rim.nodes.1.x_mm"),
    "object": (put(*NODE, "curve", {}), "panels.0.outline.rim.nodes.1.curve"),
    "no nodes": (put(*PANEL, "outline", "rim", "nodes", []), "panels.0.outline"),
    "unknown lay": (put(*PANEL, "lay", "kind", "loose"), "panels.0.lay.kind"),
    "unknown rule": (put(*PANEL, "rule", "any"), "panels.0.rule"),
    "copies 0": (put(*PANEL, "copies", 0), "panels.0.copies"),
    "copies 10^30": (put(*PANEL, "copies", 10**30), "panels.0.copies"),
    "odd pairs": (put("project", "panels", 1, "copies", 3), "panels.1.copies"),
    "no such ring": (put(*PANEL, "ring_id", 77), "panels.0.ring_id"),
    "no such edge": (put(*PANEL, "edges", 0, "node_id", 77), "panels.0.edges"),
    "twin rings": (put("project", "rings", 1, "id", 1), "rings"),
    "twin panels": (put("project", "panels", 1, "id", 3), "panels"),
    "twin points": (put(*NODE, "id", 4), "panels.0.outline"),
    "low next id": (put("project", "next_id", 15), "next_id"),
    "huge id": (put(*NODE, "id", 10**30), "next_id"),
    "huge next id": (put("project", "next_id", 10**30), "next_id"),
    "negative id": (
        lambda d: (put(*RING, "id", -1)(d), put(*PANEL, "ring_id", -1)(d)), "rings",
    ),
    "negative point id": (put(*NODE, "id", -5), "panels"),
    "far point": (put(*NODE, "x_mm", 1e300), "panels.0.outline"),
    "far handle": (
        put(*NODE, "curve", dict.fromkeys(("out_x_mm", "out_y_mm", "in_x_mm", "in_y_mm"), 1e300)),
        "panels.0.outline",
    ),
    "far origin": (put(*PANEL, "origin_x_mm", 1e300), "panels.0.origin_x_mm"),
    "spare": (put("project", "spare_percent", -5), "spare_percent"),
    "swatch": (
        put(*PANEL, "lay", {"kind": "swatch", "swatch": {
            "rings_along": 10**400, "rows": 1, "width_mm": 5, "height_mm": 5}}),
        "panels.0.lay.swatch",
    ),
    "many panels": (
        lambda d: d["project"].update(panels=d["project"]["panels"][:1] * 501), "panels",
    ),
    "another format": (put("format", "ringlift"), "not a Ringloft project"),
    "no version": (lambda d: d.pop("version"), "version"),
    "version 0": (put("version", 0), "version"),
    "version true": (put("version", True), "version"),
    "version 2.5": (put("version", 2.5), "version"),
    "old rings": (lambda d: (d.update(version=1), d["project"].update(rings="x")), "damaged"),
    "old nothing": (lambda d: d.update(version=1, project=None), "damaged"),
}  # fmt: skip


@pytest.mark.parametrize("name", DAMAGE)
def test_damage_is_told_with_its_place_in_one_sentence(name):
    change, place = DAMAGE[name]
    assert place in refusal(with_change(change))


@pytest.mark.parametrize(
    "text",
    ["", " ", "{", "[]", "null", "7", '"x"', "{}", "ringloft", GOOD[: len(GOOD) // 2], GOOD[:-3],
     GOOD + "{}", "\ufeff" + GOOD, "[" * 10_000, '{"a":' * 10_000, "1" * 10_000],
)  # fmt: skip
def test_what_is_no_project_is_refused(text):
    assert refusal(text).startswith("costume.ringloft")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999"])
def test_what_is_no_number_is_refused(number):
    assert '"wire_mm": 1.6' in GOOD
    refusal(GOOD.replace('"wire_mm": 1.6', f'"wire_mm": {number}', 1))


@pytest.mark.parametrize("depth", [100, 300, 500, 800, 900, 950, 1000, 10_000, 100_000])
def test_nesting_of_any_depth_is_refused_in_words(depth):
    refusal(GOOD.replace('"project": {', '"project": {"x": ' + "[" * depth + "]" * depth + ",", 1))
    refusal(GOOD.replace('"last_counts": [', '"last_counts": [' + "[" * depth, 1))


def test_nesting_near_the_interpreters_own_limit():
    here = len([*iter_frames()])
    for depth in range(sys.getrecursionlimit() - here - 60, sys.getrecursionlimit() - here + 20):
        refusal(
            GOOD.replace('"project": {', '"project": {"x":' + "[" * depth + "]" * depth + ",", 1)
        )


def iter_frames():
    frame = sys._getframe()
    while frame:
        yield frame
        frame = frame.f_back


@given(st.data())
def test_a_file_with_some_bytes_changed_opens_or_says_why(tmp_path_factory, data):
    raw = bytearray(GOOD.encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at : at + data.draw(st.integers(0, 30))] = data.draw(st.binary(max_size=4))
    path = tmp_path_factory.getbasetemp() / "changed.ringloft"
    path.write_bytes(raw)
    try:
        project = load(path)
    except FileTrouble as error:
        sentence(error)
    else:
        assert loads(dumps(project)) == project


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
        max_leaves=5,
    ),
    st.data(),
)
def test_any_value_anywhere_opens_or_says_why(value, data):
    tree = json.loads(GOOD)
    place = tree
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        key = data.draw(st.sampled_from(keys))
        if not isinstance(place[key], dict | list) or not place[key] or data.draw(st.booleans()):
            break
        place = place[key]
    place[key] = value
    try:
        project = loads(json.dumps(tree), "x")
    except FileTrouble as error:
        sentence(error)
    else:
        assert loads(dumps(project)) == project


def test_files_that_cannot_be_read(tmp_path):
    (tmp_path / "latin.ringloft").write_bytes(GOOD.replace("€", "$").encode() + b"\xe4")
    (tmp_path / "picture.ringloft").write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff")
    cases = {
        tmp_path / "missing.ringloft": "No such file",
        tmp_path: "directory",
        tmp_path / "latin.ringloft": "not a Ringloft project",
        tmp_path / "picture.ringloft": "not a Ringloft project",
        tmp_path / ("x" * 300): "too long",
        tmp_path / "nul\0": "null byte",
        Path(): "directory",
    }
    for path, words in cases.items():
        with pytest.raises(FileTrouble) as caught:
            load(path)
        assert words.lower() in sentence(caught.value).lower()
        assert caught.value.where


def test_a_file_without_end_is_refused(monkeypatch, tmp_path):
    monkeypatch.setattr(project_file, "MAX_BYTES", 2**20)
    with pytest.raises(FileTrouble, match="larger than 1 MB"):
        load(Path("/dev/zero") if Path("/dev/zero").exists() else _big(tmp_path))
    with pytest.raises(FileTrouble, match="larger than 1 MB"):
        load(_big(tmp_path))


def _big(folder):
    path = folder / "big.ringloft"
    path.write_bytes(b" " * (2**20 + 1))
    return path


# --- saving -----------------------------------------------------------------------------------


def changed():
    return replace(small_costume(), name="Changed")


def full_disk(*_args, **_keywords):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def no_words(*_args, **_keywords):
    raise OSError("the cable was pulled")


@pytest.mark.parametrize("what", ["replace", "fsync", "fdopen", "chmod"])
@pytest.mark.parametrize("fault", [full_disk, no_words])
def test_when_the_disk_fails_the_old_file_stays_whole(saved, monkeypatch, what, fault):
    before = saved.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(os, what, fault)
        with pytest.raises(FileTrouble) as caught:
            save(changed(), saved)
    assert "None" not in sentence(caught.value)
    assert "costume.ringloft" in str(caught.value)
    assert saved.read_bytes() == before
    left = {p.name for p in saved.parent.iterdir()}
    assert left <= {"costume.ringloft", "costume.ringloft.bak"}


def test_when_there_is_no_room_for_the_copy_the_last_one_stays(saved, monkeypatch):
    backup = saved.with_name("costume.ringloft.bak")
    backup.write_text("last session", encoding="utf-8")

    def half(_source, target):
        Path(target).write_text("ha", encoding="utf-8")
        full_disk()

    before = saved.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(shutil, "copy2", half)
        with pytest.raises(FileTrouble, match="No space"):
            save(changed(), saved)
    assert saved.read_bytes() == before
    assert backup.read_text(encoding="utf-8") == "last session"
    assert {p.name for p in saved.parent.iterdir()} == {saved.name, backup.name}


def test_a_folder_that_is_missing_or_is_a_file(tmp_path, saved):
    for path in (tmp_path / "no" / "x.ringloft", saved / "x.ringloft", tmp_path / "nul\0"):
        with pytest.raises(FileTrouble) as caught:
            save(small_costume(), path)
        sentence(caught.value)


def test_a_folder_that_may_not_be_written(saved, monkeypatch):
    # Simulated, for nothing is forbidden to the user who runs tests in a container.
    def denied(*_args, **_keywords):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    before = saved.read_bytes()
    monkeypatch.setattr(tempfile, "mkstemp", denied)
    with pytest.raises(FileTrouble, match="denied"):
        save(changed(), saved)
    assert saved.read_bytes() == before
    assert [p.name for p in saved.parent.iterdir()] == [saved.name]


def test_a_folder_in_place_of_the_file_is_left_alone(tmp_path):
    (tmp_path / "x.ringloft").mkdir()
    with pytest.raises(FileTrouble):
        save(small_costume(), tmp_path / "x.ringloft")
    assert [p.name for p in tmp_path.iterdir()] == ["x.ringloft"]


@pytest.mark.parametrize("project", [
    replace(small_costume(), name="half a sign \ud83d"),
    replace(small_costume(), rings=(replace(STEEL, wire_mm=float("nan")),), panels=()),
])  # fmt: skip
def test_what_no_file_can_hold_is_refused_before_anything_is_written(saved, project):
    before = saved.read_bytes()
    with pytest.raises(FileTrouble) as caught:
        save(project, saved)
    sentence(caught.value)
    assert saved.read_bytes() == before
    assert [p.name for p in saved.parent.iterdir()] == [saved.name]


@pytest.mark.skipif(os.name == "nt", reason="modes are a matter of POSIX")
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_the_mode_of_the_file_is_kept(saved, mode):
    saved.chmod(mode)
    save(changed(), saved)
    assert stat.S_IMODE(saved.stat().st_mode) == mode


@pytest.mark.skipif(os.name == "nt", reason="modes are a matter of POSIX")
def test_a_new_file_has_the_mode_any_program_gives(tmp_path):
    (tmp_path / "plain").write_text("x", encoding="utf-8")
    save(small_costume(), tmp_path / "x.ringloft")
    assert (tmp_path / "x.ringloft").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_a_link_is_followed(saved, tmp_path):
    folder = tmp_path / "links"
    folder.mkdir()
    link = folder / "link.ringloft"
    link.symlink_to(saved)
    save(changed(), link)
    assert link.is_symlink()
    assert load(saved).name == "Changed"
    assert [p.name for p in folder.iterdir()] == ["link.ringloft"]


def test_the_first_save_of_a_session_leaves_the_file_before_it_as_bak(saved):
    backup = saved.with_name("costume.ringloft.bak")
    save(changed(), saved)
    assert load(backup) == small_costume()
    save(replace(changed(), name="Changed twice"), saved)
    assert load(backup) == small_costume()
    project_file._backed_up.clear()
    save(changed(), saved)
    assert load(backup).name == "Changed twice"


def test_a_new_file_has_no_bak(tmp_path):
    save(small_costume(), tmp_path / "x.ringloft")
    save(changed(), tmp_path / "x.ringloft")
    assert [p.name for p in tmp_path.iterdir()] == ["x.ringloft"]


def test_a_panel_of_a_ring_that_cannot_be_woven_is_still_saved(tmp_path):
    tight = replace(STEEL, wire_mm=3.0, mandrel_mm=5.0)
    project = Project("x", (tight,), (Panel(2, "P", rectangle(50, 50, first_id=3), 1),), next_id=9)
    save(project, tmp_path / "x.ringloft")
    assert load(tmp_path / "x.ringloft") == project
