"""The log: a file that turns over, in the state folder; what Qt says goes there, too."""

from __future__ import annotations

import logging
import os
import sys
from logging.handlers import RotatingFileHandler
from pathlib import Path

from PySide6.QtCore import QMessageLogContext, QtMsgType, qInstallMessageHandler

_LEVELS = {
    QtMsgType.QtDebugMsg: logging.DEBUG,
    QtMsgType.QtInfoMsg: logging.INFO,
    QtMsgType.QtWarningMsg: logging.WARNING,
    QtMsgType.QtCriticalMsg: logging.ERROR,
    QtMsgType.QtFatalMsg: logging.CRITICAL,
}

FILE_BYTES = 500_000
FILES_KEPT = 3


def state_folder() -> Path:
    """Where the log lies: the folder for state of the person's system."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        return Path.home() / "Library" / "Logs" / "Ringloft"
    else:
        base = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    return base / "ringloft"


def start() -> Path | None:
    """Begin to log; the file's path, or None when the folder cannot be written."""
    root = logging.getLogger("ringloft")
    root.setLevel(logging.INFO)
    if root.handlers:
        return None
    path = state_folder() / "ringloft.log"
    handler: logging.Handler
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(
            path, maxBytes=FILE_BYTES, backupCount=FILES_KEPT, encoding="utf-8", delay=True
        )
    except OSError:
        handler = logging.NullHandler()
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    root.addHandler(handler)
    qInstallMessageHandler(_from_qt)
    return None if isinstance(handler, logging.NullHandler) else path


def stop() -> None:
    """End logging and give Qt its own handler back."""
    qInstallMessageHandler(None)
    root = logging.getLogger("ringloft")
    for handler in list(root.handlers):
        root.removeHandler(handler)
        handler.close()


def _from_qt(kind: QtMsgType, _context: QMessageLogContext, text: str) -> None:
    logging.getLogger("ringloft.qt").log(_LEVELS.get(kind, logging.WARNING), "%s", text)
