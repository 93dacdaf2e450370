"""Files: save, reopen equal, what is unsaved, damaged and newer files, a disk that refuses."""

import json

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu

from app import messages, settings
from app.messages import Question
from core import project_file
from core.units import format_count, format_count_range
from tests.app.shell_board import Shell, costume

CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def shell(qtbot, monkeypatch):
    return Shell(qtbot, monkeypatch)


def change(shell):
    shell.write(shell.body.grain, "30")


def test_save_close_reopen_equal(shell, qtbot, monkeypatch, tmp_path):
    path = tmp_path / "heron.ringloft"
    change(shell)
    shell.click(shell.window.header.unit.button("in"))
    shell.answers = [str(path)]
    shell.press(Qt.Key.Key_S)
    saved = shell.document.project
    assert shell.window.close()
    assert [q.kind for q in shell.asked] == ["save"], "nothing unsaved, so nothing to ask"
    again = Shell(qtbot, monkeypatch)
    again.answers = [str(path)]
    again.press(Qt.Key.Key_O)
    assert again.document.project == saved
    assert again.document.path == path
    assert again.body.grain.text() == "30"
    assert again.window.strip.cells["rings"].figure.text == (
        shell.window.strip.cells["rings"].figure.text
    )


def test_title_and_header_say_what_is_not_saved(shell, tmp_path):
    window = shell.window
    assert window.windowTitle() == "Heron guard[*] — Ringloft"
    assert not window.isWindowModified()
    change(shell)
    assert window.isWindowModified()
    assert window.header.saved.text() == "Not saved: grain"
    shell.answers = [str(tmp_path / "h.ringloft")]
    shell.press(Qt.Key.Key_S, CTRL | Qt.KeyboardModifier.ShiftModifier)
    assert not window.isWindowModified()
    assert window.header.saved.text().startswith("Saved ")
    shell.document.undo_stack.undo()
    assert window.isWindowModified(), "undoing past the save is a change, too"
    shell.document.undo_stack.redo()
    assert not window.isWindowModified()


def test_costume_is_renamed_from_the_bar(shell):
    shell.answers = ["Tide watch"]
    shell.click(shell.window.name_button)
    assert shell.document.project.name == "Tide watch"
    assert shell.window.windowTitle().startswith("Tide watch")
    assert "Tide watch" in shell.window.name_button.accessibleName()


@pytest.mark.parametrize(
    ("answers", "stays", "written"),
    [
        (["cancel"], True, False),
        ([None], True, False),
        (["discard"], False, False),
        (["save", "PATH"], False, True),
        (["save", None], True, False),
    ],
)
@pytest.mark.parametrize("way", ["close", "new", "open"])
def test_unsaved_changes_are_asked_about(shell, tmp_path, way, answers, stays, written):
    path, other = tmp_path / "kept.ringloft", tmp_path / "other.ringloft"
    project_file.save(costume(), other)
    change(shell)
    mine = shell.document.project
    shell.answers = [str(path) if a == "PATH" else a for a in answers]
    if way == "close":
        closed = shell.window.close()
        assert closed is not stays
    elif way == "new":
        shell.press(Qt.Key.Key_N)
    else:
        shell.answers.append(str(other))
        shell.press(Qt.Key.Key_O)
    assert shell.asked[0].text.startswith("Save the changes to “Heron guard”")
    if way != "close":
        assert (shell.document.project is mine) is stays
    assert path.exists() is written
    if written:
        assert project_file.load(path) == mine


def test_nothing_is_asked_when_nothing_changed(shell):
    shell.press(Qt.Key.Key_N)
    assert shell.asked == []
    assert shell.document.project.panels == ()


def newer():
    return json.dumps({"format": "ringloft", "version": 10**6, "project": {}})


@pytest.mark.parametrize("content", ["{", "", "not a costume", "[]", newer(), "\x00\xff"])
def test_a_file_that_cannot_be_read_leaves_everything_as_it_was(shell, tmp_path, content):
    bad = tmp_path / "bad.ringloft"
    bad.write_bytes(content.encode("latin-1"))
    before, kept = shell.document.project, bad.read_bytes()
    shell.answers = [str(bad), "close"]
    shell.press(Qt.Key.Key_O)
    told = shell.asked[-1]
    assert told.kind == "choice"
    assert "bad.ringloft" in told.text
    assert told.more, "says what to do next"
    assert shell.document.project is before
    assert shell.document.path is None
    assert bad.read_bytes() == kept


def test_a_failed_save_is_told_and_nothing_is_lost(shell, tmp_path):
    change(shell)
    before = shell.document.project
    shell.answers = [str(tmp_path / "no such folder" / "x.ringloft"), "close"]
    shell.press(Qt.Key.Key_S)
    assert shell.asked[-1].kind == "choice"
    assert shell.document.project is before
    assert shell.document.dirty
    assert shell.document.path is None


def test_recent_files_are_listed_opened_and_forgotten(shell, tmp_path):
    first, second = tmp_path / "a.ringloft", tmp_path / "b.ringloft"
    for path in (first, second):
        project_file.save(costume(), path)
        assert shell.window.files.open_path(path)
    menu = next(m for m in shell.window.findChildren(QMenu) if m.title() == "Open recent")
    assert [a.text() for a in menu.actions()] == [str(second), str(first)]
    menu.actions()[1].trigger()
    assert shell.document.path == first
    second.unlink()
    assert not shell.window.files.open_path(second)
    assert settings.get("files/recent") == (str(first),)
    assert shell.document.path == first


def test_a_suffix_is_offered_in_the_name(shell):
    shell.press(Qt.Key.Key_S)
    assert shell.asked[-1].text.endswith("Heron guard.ringloft")


# --- the one way to ask ----------------------------------------------------------------------


def in_box(qtbot, act):
    """Do something to the open box as soon as it is shown."""
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QMessageBox

    def go():
        box = QApplication.activeModalWidget()
        if not isinstance(box, QMessageBox):
            QTimer.singleShot(10, go)
            return
        act(box)

    QTimer.singleShot(0, go)


THREE = Question(
    "choice",
    "Unsaved",
    "Save?",
    "Or lose it.",
    (("save", "Save"), ("discard", "Discard"), ("cancel", "Cancel")),
)


@pytest.mark.parametrize(
    ("key", "answer"), [(Qt.Key.Key_Return, "save"), (Qt.Key.Key_Escape, "cancel")]
)
def test_enter_takes_the_first_choice_and_esc_the_last(qtbot, key, answer):
    in_box(qtbot, lambda box: QTest.keyClick(box, key))
    assert messages.ask(None, THREE) == answer
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def test_a_click_takes_its_choice(qtbot):
    def discard(box):
        button = next(b for b in box.buttons() if b.text() == "Discard")
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)

    in_box(qtbot, discard)
    assert messages.ask(None, THREE) == "discard"


# --- settings and log ------------------------------------------------------------------------


def test_settings_survive_damage_and_refuse_unknown_names(own_folders):
    assert settings.get("view/theme") == "system"
    settings.put("view/theme", "dark")
    assert settings.get("view/theme") == "dark"
    settings.put("view/theme", "plaid")
    assert settings.get("view/theme") == "system"
    settings.put("files/recent", ("a", "b"))
    assert settings.get("files/recent") == ("a", "b")
    settings.put("files/recent", ("a",))
    assert settings.get("files/recent") == ("a",)
    settings.put("files/recent", ())
    assert settings.get("files/recent") == ()
    with pytest.raises(KeyError):
        settings.get("view/nothing")
    with pytest.raises(KeyError):
        settings.put("view/nothing", 1)
    assert list(own_folders.rglob("ringloft.ini"))


def test_every_option_reads_back_what_was_put(own_folders):
    for option in settings.OPTIONS:
        settings.put(option.key, option.default)
        assert settings.get(option.key) == option.default, option.key


def test_recent_files_are_few_and_the_latest_first(own_folders):
    for n in range(20):
        settings.add_recent(f"/somewhere/{n}")
    settings.add_recent("/somewhere/15")
    kept = settings.get("files/recent")
    assert kept[:2] == ("/somewhere/15", "/somewhere/19")
    assert len(kept) == settings.RECENT_KEPT
    assert len(set(kept)) == len(kept)


def test_what_qt_says_is_written_to_the_log(own_folders):
    from PySide6.QtCore import qInfo

    from app import log

    path = log.start()
    try:
        qInfo("a word from Qt")
    finally:
        log.stop()
    assert path.is_relative_to(own_folders)
    assert "a word from Qt" in path.read_text(encoding="utf-8")


def test_a_handler_that_fails_is_written_to_the_log(own_folders):
    from app import log
    from app.canvas.guard import guarded

    @guarded
    def handler():
        raise RuntimeError("a handler went wrong")

    path = log.start()
    try:
        assert handler() is False
    finally:
        log.stop()
    assert "a handler went wrong" in path.read_text(encoding="utf-8")


def test_a_state_folder_that_cannot_be_made_does_not_stop_the_program(own_folders, monkeypatch):
    from app import log

    block = own_folders / "file"
    block.parent.mkdir(parents=True, exist_ok=True)
    block.write_text("in the way")
    monkeypatch.setenv("XDG_STATE_HOME", str(block))
    try:
        assert log.start() is None
    finally:
        log.stop()


def test_counts_in_words():
    assert format_count_range(3950, 4300) == "3950 to 4300"
    assert format_count_range(3950, 4300, "{low}–{high}") == "3950–4300"
    assert format_count_range(12_345, 12_345) == format_count(12_345)
