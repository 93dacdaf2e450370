"""What every test gets: its own settings folders, golden files, calm hypothesis settings."""

from __future__ import annotations

import difflib
import itertools
import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# Before anything loads Qt: tests never need a screen, unless one is asked for by name.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("MPLBACKEND", "agg")

HERE = Path(__file__).parent

# The machines are shared, so a slow example says nothing; CI repeats the same examples each time.
settings.register_profile(
    "house",
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.register_profile("ci", settings.get_profile("house"), derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "house")


def pytest_addoption(parser):
    parser.addoption(
        "--renew-golden",
        action="store_true",
        help="write the golden files from what the tests produce now, instead of comparing",
    )


class Golden:
    """Compares text with a file under tests/golden, or renews that file."""

    def __init__(self, renew, folder=HERE / "golden"):
        self.renew = renew
        self.folder = folder

    def check(self, name, text):
        """Fail unless the text equals the golden file of that name."""
        path = self.folder / name
        if self.renew:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")
            return
        if not path.exists():
            pytest.fail(f"no golden file {name}; look at the text, then pytest --renew-golden")
        expected = path.read_text(encoding="utf-8")
        if text != expected:
            lines = difflib.unified_diff(
                expected.splitlines(), text.splitlines(), f"golden/{name}", "now", lineterm=""
            )
            pytest.fail("\n".join([f"{name} differs from its golden file:", *lines]))


@pytest.fixture
def golden(request):
    """Golden text files; `pytest --renew-golden` rewrites them."""
    return Golden(request.config.getoption("--renew-golden"))


@pytest.fixture(scope="session", autouse=True)
def _runtime_dir(tmp_path_factory):
    """A private runtime folder, which Qt wants to exist and to belong to us alone."""
    folder = tmp_path_factory.mktemp("runtime")
    folder.chmod(0o700)
    before = os.environ.get("XDG_RUNTIME_DIR")
    os.environ["XDG_RUNTIME_DIR"] = str(folder)
    yield
    if before is None:
        del os.environ["XDG_RUNTIME_DIR"]
    else:
        os.environ["XDG_RUNTIME_DIR"] = before


@pytest.fixture(scope="session")
def _homes(tmp_path_factory):
    base = tmp_path_factory.mktemp("homes")
    return (base / str(n) for n in itertools.count())


@pytest.fixture(autouse=True)
def own_folders(_homes, monkeypatch):
    """Settings, state, data and cache folders that belong to this test alone."""
    home = next(_homes)
    for name in ("CONFIG", "STATE", "DATA", "CACHE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(home / name.lower()))
    if "PySide6" in sys.modules:
        # QSettings reads the environment only once in a process.
        from PySide6.QtCore import QSettings

        for form in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
            QSettings.setPath(form, QSettings.Scope.UserScope, str(home / "config"))
    return home
