"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from core.errors import FileTrouble
from core.texts import _


def write_whole(path: Path, data: bytes, before: Callable[[Path], None] | None = None) -> Path:
    """Write a file so that under its name there is always a whole one, the old or the new.

    The bytes go to a temporary file in the same folder, are flushed to disk and then take the
    name; links are followed and the file's mode is kept.

    Args:
        path: where to.
        data: what.
        before: called with the real file, if there is one, just before it is replaced.

    Returns:
        The real file that was written.

    Raises:
        FileTrouble: the folder cannot be written to or the disk is full; the old file is whole.
    """
    temporary: str | None = None
    try:
        target = Path(os.path.realpath(path))
        handle, temporary = tempfile.mkstemp(
            dir=target.parent, prefix=f".{target.name}.", suffix=".part"
        )
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, temporary)
            if before is not None:
                before(target)
        else:
            umask = os.umask(0)
            os.umask(umask)
            Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(target)
        temporary = None
        _flush_folder(target.parent)
    except (OSError, ValueError) as error:
        raise FileTrouble(
            _("The file could not be saved ({reason})").format(reason=reason(error)),
            path.name,
            _("Save it under another name or in another folder"),
        ) from error
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                Path(temporary).unlink()
    return target


def reason(error: Exception) -> str:
    """The system's own word for what went wrong."""
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


def _flush_folder(folder: Path) -> None:
    """Flush the rename itself; where folders cannot be opened (Windows) the system does it."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
