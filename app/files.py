"""New, open, save: what stands between the document and the disk."""

from __future__ import annotations

import logging
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app import messages, settings
from app.document import Document
from app.messages import Question, Remarks
from app.pages.bench import Bench
from app.pictures_menu import Pictures
from app.starter import new_costume
from core import clock, edits, project_file
from core.errors import RingloftError
from core.project_file import SUFFIX
from core.texts import _, ngettext

log = logging.getLogger("ringloft.files")


def sample_files() -> tuple[Path, ...]:
    """The costumes that come with the program, by name."""
    folder = resources.files("sample_projects")
    found = (item for item in folder.iterdir() if item.name.endswith(SUFFIX))
    return tuple(sorted(Path(str(item)) for item in found))


class Files(QObject):
    """Moves costumes between document and disk; the document changes only when all went well.

    Signals:
        recent_changed: the list of recent files changed.
        saved_changed: what `saved_text` says changed.
    """

    recent_changed = Signal()
    saved_changed = Signal()

    def __init__(self, document: Document, remarks: Remarks, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._remarks, self._window = document, remarks, window
        self._saved_at = ""
        self.pictures = Pictures(document, remarks, window)
        document.file_changed.connect(self.saved_changed)

    # --- words ---------------------------------------------------------------------------------

    def title(self) -> str:
        """The costume's name, else its file's, else that it is untitled."""
        document = self._document
        if document.project.name:
            return document.project.name
        return document.path.stem if document.path else _("Untitled costume")

    def saved_text(self) -> str:
        """Whether what is on screen is on disk, too."""
        document = self._document
        if document.dirty:
            return (
                _("Not saved: {what}").format(what=self._latest())
                if self._latest()
                else _("Not saved")
            )
        if document.path is None:
            return _("Nothing to save yet")
        return _("Saved {time}").format(time=self._saved_at) if self._saved_at else _("Saved")

    def _latest(self) -> str:
        return self._document.undo_stack.undoText()

    # --- costumes ------------------------------------------------------------------------------

    def may_leave(self) -> bool:
        """Ask what to do with unsaved changes; False when the maker would rather stay."""
        return self._may_leave_costume() and self._may_leave_bench()

    def _may_leave_bench(self) -> bool:
        """Ask about rings that were changed and are in no costume."""
        bench = self._window.findChild(Bench)
        loose = () if bench is None else bench.loose()
        if not loose:
            return True
        question = Question(
            "choice",
            _("Rings only compared"),
            ngettext(
                "{names} is not part of the costume. Leave it behind?",
                "{names} are not part of the costume. Leave them behind?",
                len(loose),
            ).format(names=", ".join(f"“{name}”" for name in loose)),
            _("To keep a ring, add it to the costume on the Rings page."),
            (("leave", _("Leave behind")), ("cancel", _("Cancel"))),
        )
        return messages.ask(self._window, question) == "leave"

    def _may_leave_costume(self) -> bool:
        if not self._document.dirty:
            return True
        question = Question(
            "choice",
            _("Unsaved changes"),
            _("Save the changes to “{name}” first?").format(name=self.title()),
            _("What is not saved is lost."),
            (("save", _("Save")), ("discard", _("Discard")), ("cancel", _("Cancel"))),
        )
        answer = messages.ask(self._window, question)
        if answer == "save":
            return self.save()
        return answer == "discard"

    def new(self) -> None:
        """Begin an empty costume."""
        if self.may_leave():
            self._saved_at = ""
            self._document.load(new_costume(settings.get("view/unit")), None)
            self._remarks.clear()

    def open(self) -> None:
        """Ask for a file and open it."""
        if not self.may_leave():
            return
        start = settings.get("files/folder")
        found = messages.ask(self._window, Question("open", _("Open a costume"), start))
        if found:
            self._load(Path(found))

    def open_path(self, path: Path) -> bool:
        """Open a file, unsaved changes permitting."""
        return self.may_leave() and self._load(path)

    def open_sample(self) -> None:
        """Open a costume that comes with the program, as one not yet saved anywhere."""
        found = sample_files()
        if not found or not self.may_leave():
            return
        path = found[0]
        if len(found) > 1:
            choices = (*((str(p), p.stem.replace("_", " ")) for p in found), ("", _("Cancel")))
            question = Question("choice", _("Open a sample"), _("Which one?"), "", choices)
            answer = messages.ask(self._window, question)
            if not answer:
                return
            path = Path(answer)
        try:
            project = project_file.load(path)
        except RingloftError as error:
            messages.tell(self._window, _("The sample was not opened"), error)
            return
        self._saved_at = ""
        self._document.load(project, None)
        self._remarks.say(_("This is a sample: save it under a name of your own."))

    def _load(self, path: Path) -> bool:
        try:
            project = project_file.load(path)
        except RingloftError as error:
            messages.tell(self._window, _("The file was not opened"), error)
            if not path.exists():
                settings.drop_recent(str(path))
                self.recent_changed.emit()
            return False
        self._saved_at = ""
        self._document.load(project, path)
        self._note(path)
        self._remarks.clear()
        log.info("opened %s", path)
        return True

    def save(self) -> bool:
        """Write the costume where it lies; ask for a place when it has none."""
        path = self._document.path
        return self.save_as() if path is None else self._write(path)

    def save_as(self) -> bool:
        """Ask for a place and write the costume there."""
        name = "".join(c if c.isalnum() or c in " -_" else "_" for c in self.title()).strip()
        path = self._document.path or Path(settings.get("files/folder")) / f"{name}{SUFFIX}"
        found = messages.ask(self._window, Question("save", _("Save the costume"), str(path)))
        return bool(found) and self._write(Path(str(found)))

    def _write(self, path: Path) -> bool:
        try:
            project_file.save(self._document.project, path)
        except RingloftError as error:
            messages.tell(self._window, _("The costume was not saved"), error)
            return False
        self._saved_at = clock.now().strftime("%H:%M")
        self._document.mark_saved(path)
        self._note(path)
        self._remarks.clear()
        log.info("saved %s", path)
        return True

    def _note(self, path: Path) -> None:
        settings.put("files/folder", str(path.resolve().parent))
        settings.add_recent(str(path.resolve()))
        self.recent_changed.emit()

    def rename(self) -> None:
        """Ask for the costume's name."""
        question = Question(
            "text", _("Name of the costume"), self._document.project.name, _("Name")
        )
        typed = messages.ask(self._window, question)
        if typed is not None:
            self._document.apply(edits.rename_project(typed.strip()), _("name of the costume"))
