"""Start of the window."""

from __future__ import annotations

import logging
import sys
from importlib import resources
from pathlib import Path
from types import TracebackType

from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from app import log as logs
from app import messages, settings
from app.document import Document
from app.main_window import MainWindow
from app.starter import new_costume
from app.theme import ThemeHub
from core import project_file
from core.errors import RingloftError
from core.texts import _
from core.version import VERSION

log = logging.getLogger("ringloft")


def application() -> QApplication:
    """The one QApplication, named."""
    existing = QApplication.instance()
    app = existing if isinstance(existing, QApplication) else QApplication(sys.argv[:1])
    app.setApplicationName("Ringloft")
    app.setApplicationVersion(VERSION)
    app.setDesktopFileName("ringloft")
    picture = resources.files("resources").joinpath("icons", "ringloft.svg")
    app.setWindowIcon(QIcon(str(picture)))
    return app


def build(app: QApplication, path: Path | None = None) -> tuple[MainWindow, RingloftError | None]:
    """The window on a file, or on a new costume; the error when the file could not be opened."""
    trouble: RingloftError | None = None
    document = Document(new_costume(settings.get("view/unit")))
    if path is not None:
        try:
            document.load(project_file.load(path), path)
            settings.add_recent(str(path.resolve()))
        except RingloftError as error:
            trouble = error
    hub = ThemeHub(app, settings.get("view/theme"))
    return MainWindow(document, hub), trouble


def run(path: Path | None = None) -> int:
    """Open the window and stay until it is closed; the exit status."""
    app = application()
    logs.start()
    before = sys.excepthook
    sys.excepthook = _log_crash
    try:
        window, trouble = build(app, path)
        window.show()
        if trouble is not None:
            messages.tell(window, _("The file was not opened"), trouble)
        return app.exec()
    finally:
        sys.excepthook = before
        logs.stop()


def _log_crash(
    kind: type[BaseException], error: BaseException, trace: TracebackType | None
) -> None:
    """Write down what nobody caught; the window stays, so that work can be saved."""
    sys.excepthook = sys.__excepthook__
    try:
        log.critical("not caught", exc_info=(kind, error, trace))
        for window in QApplication.topLevelWidgets():
            if isinstance(window, MainWindow):
                window.remarks.warn(
                    _("Something went wrong inside Ringloft; the log has it. Save under a new name")
                )
    finally:
        sys.excepthook = _log_crash
