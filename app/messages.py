"""How the program speaks: questions in windows, remarks in the window's message line.

Every dialog sits behind `ask`, so that tests answer in one place; errors become windows only
here, through `tell`.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QInputDialog, QLineEdit, QMessageBox, QWidget

from core.errors import RingloftError
from core.project_file import SUFFIX
from core.texts import _

log = logging.getLogger("ringloft.messages")


@dataclass(frozen=True, slots=True)
class Question:
    """What a dialog asks.

    Attributes:
        kind: "choice" shows buttons, "text" one line to type, "open" and "save" pick a file.
        title: of the window.
        text: one sentence; for files the folder or file to start from.
        more: a second sentence in smaller type.
        choices: pairs of key and label; the first is the one Enter takes, the last Esc.
        files: kinds of file to save as, in words and by suffix; empty for a costume.
    """

    kind: Literal["choice", "text", "open", "save"]
    title: str
    text: str = ""
    more: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    warning: bool = False
    files: tuple[tuple[str, str], ...] = ()


def ask(parent: QWidget | None, question: Question) -> str | None:
    """Put a question and wait: a choice's key, the text typed, or a path; None when put off."""
    if question.kind == "choice":
        return _ask_choice(parent, question)
    if question.kind == "text":
        typed, taken = QInputDialog.getText(
            parent, question.title, question.more, QLineEdit.EchoMode.Normal, question.text
        )
        return typed if taken else None
    if question.kind == "open":
        costumes, everything = _filter(_costumes(), SUFFIX), _("All files (*)")
        found, _chosen = QFileDialog.getOpenFileName(
            parent, question.title, question.text, f"{costumes};;{everything}"
        )
        return found or None
    return _ask_save(parent, question)


def _costumes() -> str:
    return _("Ringloft costumes")


def _filter(words: str, suffix: str) -> str:
    return f"{words} (*{suffix})"


def _ask_save(parent: QWidget | None, question: Question) -> str | None:
    """A path to save under; what is chosen in the list of kinds ends a name without a suffix."""
    suffixes = {_filter(*kind): kind[1] for kind in question.files or ((_costumes(), SUFFIX),)}
    found, chosen = QFileDialog.getSaveFileName(
        parent, question.title, question.text, ";;".join(suffixes)
    )
    if found and not Path(found).suffix:
        found += suffixes.get(chosen, next(iter(suffixes.values())))
        if Path(found).exists() and not _may_replace(parent, question.title, Path(found).name):
            return None
    return found or None


def _may_replace(parent: QWidget | None, title: str, name: str) -> bool:
    """Ask about a file that the file dialog could not know of, as it lacked its suffix there."""
    text = _("“{name}” already exists. Replace it?").format(name=name)
    choices = (("replace", _("Replace")), ("cancel", _("Cancel")))
    return _ask_choice(parent, Question("choice", title, text, "", choices)) == "replace"


def _ask_choice(parent: QWidget | None, question: Question) -> str | None:
    box = QMessageBox(parent)
    box.setWindowTitle(question.title)
    box.setText(question.text)
    box.setInformativeText(question.more)
    box.setIcon(QMessageBox.Icon.Warning if question.warning else QMessageBox.Icon.NoIcon)
    buttons = {}
    last = len(question.choices) - 1
    for i, (key, label) in enumerate(question.choices):
        role = QMessageBox.ButtonRole.AcceptRole
        if i == last:
            role = QMessageBox.ButtonRole.RejectRole
        elif i:
            role = QMessageBox.ButtonRole.DestructiveRole
        button = box.addButton(label, role)
        buttons[key] = button
        if i == 0:
            box.setDefaultButton(button)
        if i == last:
            box.setEscapeButton(button)
    box.exec()
    clicked = box.clickedButton()
    return next((key for key, button in buttons.items() if button is clicked), None)


def tell(parent: QWidget | None, title: str, error: RingloftError) -> None:
    """Show an error in a window of its own: what happened, where, and what to do."""
    log.info("%s: %s", title, error)
    lead = f"{error.where}: {error.what}." if error.where else f"{error.what}."
    more = f"{error.do}." if error.do else ""
    close = (("close", _("Close")),)
    ask(parent, Question("choice", title, lead, more, close, warning=True))


def sentence(text: str) -> str:
    """The text with a capital at its start, as a sentence has it."""
    return text[:1].upper() + text[1:]


class Remarks(QObject):
    """The window's message line; anything may speak on it.

    Signals:
        said: text and whether it is a caution; an empty text clears the line.
    """

    said = Signal(str, bool)

    def say(self, text: str) -> None:
        """Show a remark, or clear the line with an empty text."""
        self.said.emit(sentence(text), False)

    def warn(self, error: RingloftError | str) -> None:
        """Show why something could not be done."""
        log.info("refused: %s", error)
        self.said.emit(sentence(str(error)), True)

    def clear(self) -> None:
        """Clear the line."""
        self.said.emit("", False)
