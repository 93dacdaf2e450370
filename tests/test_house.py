"""The house itself: its layout, its contracts, its set-up script, and the wheel it ships as."""

from __future__ import annotations

import fnmatch
import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("app", "core", "resources", "sample_projects")
RUN_COMMAND = re.compile(r"^sh resources/setup\.sh && \.venv/bin/ringloft (\S+)$", re.MULTILINE)
TEST_COMMAND = "sh resources/setup.sh dev && .venv/bin/pytest"


def ignored_names():
    lines = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    return [line.strip("/") for line in lines] + [".git"]


def ours(folder):
    """The files below a folder that belong to the project, without what tools leave behind."""
    skip = ignored_names()
    for path in sorted(folder.rglob("*")):
        parts = path.relative_to(ROOT).parts
        if path.is_file() and not any(fnmatch.fnmatch(p, s) for p in parts for s in skip):
            yield path


# --- layout -----------------------------------------------------------------------------------


def test_top_level_is_exactly_the_house():
    skip = ignored_names()
    found = {p.name for p in ROOT.iterdir() if not any(fnmatch.fnmatch(p.name, s) for s in skip)}
    assert found == {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        ".ci",
        ".gitignore",
        *PACKAGES,
        "tests",
    }


def test_no_source_file_is_longer_than_500_lines():
    long = {}
    for folder in ("app", "core", "tests"):
        for path in ours(ROOT / folder):
            if path.suffix == ".py":
                count = len(path.read_text(encoding="utf-8").splitlines())
                if count > 500:
                    long[str(path.relative_to(ROOT))] = count
    assert not long


def test_readme_gives_two_commands_and_ci_runs_the_second():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shell = "\n".join(re.findall(r"```sh\n(.*?)```", readme, re.DOTALL))
    assert RUN_COMMAND.search(shell)
    assert TEST_COMMAND in shell.splitlines()
    assert f"check '{TEST_COMMAND}'" in (ROOT / ".ci/run").read_text(encoding="utf-8")


def test_files_that_the_documents_point_at_exist():
    missing = []
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        links = re.findall(r"\]\(([^)#:]+)\)", text)
        samples = re.findall(r"sample_projects/\w+\.ringloft", text)
        missing += [f"{name}: {x}" for x in {*links, *samples} if not (ROOT / x).exists()]
    assert not missing


# --- contracts --------------------------------------------------------------------------------


def test_import_contracts_hold(capsys, monkeypatch):
    from importlinter.cli import lint_imports

    monkeypatch.chdir(ROOT)
    monkeypatch.syspath_prepend(str(ROOT))
    code = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == 0, capsys.readouterr().out


@pytest.mark.parametrize(
    ("module", "kept_out"),
    [
        ("app.cli", {"PySide6", "shiboken6", "pydantic", "pint", "scipy", "matplotlib"}),
        ("core.project_file", {"PySide6", "shiboken6", "pydantic", "pint", "scipy"}),
    ],
)
def test_importing_stays_light(module, kept_out):
    """Start-up time: the slow and the graphical libraries load only when they are used."""
    code = f"import {module}, sys; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    loaded = {name.partition(".")[0] for name in done.stdout.split()}
    assert "core" in loaded
    assert not loaded & kept_out


def test_every_core_module_has_its_place_in_the_layers():
    with (ROOT / "pyproject.toml").open("rb") as file:
        contracts = tomllib.load(file)["tool"]["importlinter"]["contracts"]
    (layered,) = (c for c in contracts if c.get("containers") == ["core"])
    placed = set(re.findall(r"\w+", " ".join(layered["layers"])))
    there = {p.stem for p in (ROOT / "core").iterdir() if p.suffix == ".py" or p.is_dir()}
    assert there - {"__init__", "__pycache__"} <= placed


def test_qt_binding_keeps_its_references():
    """Source: PySide6 6.12.0 on Python 3.11 drops a reference to None at each call."""
    from PySide6.QtGui import QImage, QPainter

    image = QImage(8, 8, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    before = sys.getrefcount(None)
    for _ in range(500):
        painter.save()
        painter.drawPoint(1, 1)
        painter.restore()
    after = sys.getrefcount(None)
    painter.end()
    assert abs(after - before) < 100


# --- set-up script ----------------------------------------------------------------------------

FAKE_PYTHON = """#!/bin/sh
case "$*" in
"-m venv "*)
    for last; do :; done
    mkdir -p "$last/bin" && cp "$0" "$last/bin/python"
    echo venv >>"$LOG" ;;
*"-m pip install"*) echo "pip $*" >>"$LOG" ;;
*version_info*) exec "$REAL" -c "import sys; sys.version_info = (${HAS:-3, 11, 2}); $2" ;;
*sys.version*) echo 3.11 ;;
--version) echo "Python 3.9.2" ;;
esac
"""


@pytest.fixture
def bench(tmp_path):
    """A checkout with the real script on a machine of stand-ins that write down each call."""
    house, tools, log = tmp_path / "a house", tmp_path / "bin", tmp_path / "log"
    for name in ("resources/setup.sh", "pyproject.toml", "core/version.py"):
        (house / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, house / name)
    tools.mkdir()
    log.touch()

    def tool(name, text):
        path = tools / name
        path.write_text(text if text.startswith("#!") else f"#!/bin/sh\n{text}\n", "utf-8")
        path.chmod(0o755)

    tool("python3", FAKE_PYTHON)
    tool("dpkg-query", "echo installed")  # called as: dpkg-query -W -f FORMAT NAME
    tool("apt-get", 'echo "apt-get $*" >>"$LOG"')
    tool("id", "echo 1000")
    tool("sudo", "exit 1")

    def run(*args, **env):
        done = subprocess.run(
            ["/bin/sh", str(house / "resources/setup.sh"), *args],
            cwd=tmp_path,
            env={
                "PATH": f"{tools}:{os.environ['PATH']}",
                "LOG": str(log),
                "REAL": sys.executable,
                **env,
            },
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
        )
        return done, log.read_text(encoding="utf-8").splitlines()

    run.tool = tool
    run.house = house
    return run


def test_setup_runs_pip_once_and_again_only_for_a_reason(bench):
    done, log = bench()
    assert done.returncode == 0, done.stderr
    assert "MB" in done.stdout
    assert len(log) == 2 and log[0] == "venv" and log[1].endswith(f"-e {bench.house}")
    assert bench()[1] == log, "nothing had changed"

    done, log = bench("dev")
    assert len(log) == 3 and log[2].endswith(f"-e {bench.house}[dev]")
    assert bench("dev")[1] == log
    assert bench()[1] == log, "the developers' set-up holds all that the program needs"

    with (bench.house / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    assert len(bench("dev")[1]) == 4


def test_setup_that_failed_is_not_taken_for_done(bench):
    bench.tool("python3", FAKE_PYTHON.replace('echo "pip', 'exit 1; echo "pip'))
    assert bench()[0].returncode == 1
    bench.tool("python3", FAKE_PYTHON)
    shutil.copy(bench.house.parent / "bin/python3", bench.house / ".venv/bin/python")
    done, log = bench()
    assert done.returncode == 0
    assert log[-1].startswith("pip ")


def test_setup_prints_the_exact_line_when_it_may_not_install(bench):
    bench.tool("dpkg-query", "case $4 in libxcb-cursor0* | xauth*) exit 1 ;; esac; echo installed")
    done, log = bench()
    assert done.returncode == 1
    line = "apt-get update && apt-get install -y --no-install-recommends libxcb-cursor0"
    assert line in done.stderr.splitlines()[-1]
    assert not log
    assert bench("dev")[0].stderr.rstrip().endswith(f"{line} xauth")


@pytest.mark.parametrize("user", ["root", "sudo"])
def test_setup_installs_only_what_is_missing_when_it_may(bench, user):
    bench.tool("dpkg-query", "case $4 in libegl1*) exit 1 ;; esac; echo installed")
    if user == "root":
        bench.tool("id", "echo 0")
    else:
        bench.tool("sudo", '[ "$1" = -n ] && shift; [ "$1" = true ] || "$@"')
    done, log = bench()
    assert done.returncode == 0, done.stderr
    assert log[0].startswith("apt-get update")
    assert log[1] == "apt-get install -y --no-install-recommends libegl1"


def test_setup_refuses_an_old_python_and_an_unknown_word(bench):
    done, log = bench(HAS="3, 9, 2")
    assert done.returncode == 1
    assert "Python 3.9.2 is too old" in done.stderr and "3.11" in done.stderr
    done, log = bench("devel")
    assert done.returncode == 2
    assert not log


# --- the wheel --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """A wheel built from a copy of the sources, so that the checkout stays clean."""
    base = tmp_path_factory.mktemp("wheel")
    source = base / "source"
    skip = shutil.ignore_patterns(*ignored_names(), "tests")
    shutil.copytree(ROOT, source, ignore=skip)
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(base)]
    done = subprocess.run([*command, str(source)], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = base.glob("*.whl")
    return path


@pytest.mark.slow
def test_wheel_holds_every_file_of_the_packages_and_nothing_else(wheel):
    names = {n for n in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in n}
    expected = {p.relative_to(ROOT).as_posix() for name in PACKAGES for p in ours(ROOT / name)}
    assert names == expected


@pytest.mark.slow
def test_wheel_tallies_a_packaged_sample_away_from_the_checkout(wheel, tmp_path):
    env = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    place, elsewhere = tmp_path / "venv", tmp_path / "elsewhere"
    elsewhere.mkdir()

    def run(*command):
        done = subprocess.run(command, cwd=elsewhere, env=env, capture_output=True, text=True)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    run(sys.executable, "-m", "venv", "--without-pip", str(place))
    python = str(place / "bin/python")
    # --isolated would also drop the user's pip settings, which are no use offline anyway.
    run(
        *f"{sys.executable} -m pip --python {python} install -q --no-deps --no-index".split(), wheel
    )
    # The libraries come from this environment: a plain path line makes them importable without
    # running the .pth files there, so the editable checkout stays out of reach.
    site = Path(sysconfig.get_path("purelib", vars={"base": str(place)}))
    libraries = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (site / "libraries.pth").write_text("\n".join(sorted(libraries)) + "\n", encoding="utf-8")

    code = (
        f"import {', '.join(PACKAGES)}\n"
        f"for package in ({', '.join(PACKAGES)}): print(package.__file__)\n"
        "from importlib.resources import files\n"
        "print(files('sample_projects') / 'shoulder_pair.ringloft')"
    )
    *homes, sample = run(python, "-c", code).splitlines()
    assert [Path(h).parent for h in homes] == [site / name for name in PACKAGES]
    assert Path(sample).parent == site / "sample_projects"

    told = json.loads(run(str(place / "bin/ringloft"), "tally", sample, "--json"))
    assert {"project", "panels", "seams", "totals"} <= told.keys()
    assert told["panels"]
    assert told["totals"]["rings"] == sum(p["rings"]["total"] for p in told["panels"]) > 0
    with (ROOT / "core/version.py").open(encoding="utf-8") as file:
        version = re.search(r'VERSION = "(.+)"', file.read()).group(1)
    assert version in run(str(place / "bin/ringloft"), "--version")


# --- what every test gets ---------------------------------------------------------------------


def test_golden_files_compare_and_renew(golden, tmp_path):
    Golden = type(golden)
    Golden(renew=True, folder=tmp_path).check("deep/one.txt", "a\nb\n")
    compare = Golden(renew=False, folder=tmp_path)
    compare.check("deep/one.txt", "a\nb\n")
    with pytest.raises(pytest.fail.Exception, match=r"(?s)-b.*\+c"):
        compare.check("deep/one.txt", "a\nc\n")
    with pytest.raises(pytest.fail.Exception, match="renew-golden"):
        compare.check("none.txt", "a\n")


@pytest.mark.parametrize("turn", [1, 2])
def test_each_test_has_settings_of_its_own(turn, own_folders):
    from PySide6.QtCore import QSettings

    settings = QSettings("Ringloft", "house test")
    assert settings.fileName().startswith(str(own_folders))
    assert settings.value("seen") is None
    settings.setValue("seen", turn)
    settings.sync()
    assert list(own_folders.rglob("house test.conf"))
