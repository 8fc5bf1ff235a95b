"""The bytes of a case file on the disk: read with a limit, replaced as a whole under a lock."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from diag.text import Mark, Problem, ProblemsFound
from diag.text.document import MAX_BYTES

_POLL_SECONDS = 0.01


def real_path(path: Path) -> Path:
    """The file behind ``path``, should it be a symbolic link, so that all names of a case share one lock."""
    return Path(os.path.realpath(path)) if path.is_symlink() else path


def failed(path: Path, code: str, message: str, hint: str) -> ProblemsFound:
    """The problem of a whole file, ready to be raised."""
    return ProblemsFound([Problem(Mark(path.as_posix(), 1, 1), code, message, hint)])


@contextmanager
def locked(path: Path, timeout: float) -> Iterator[None]:
    """Holds ``path``.lock, which stays on the disk afterwards: taking it away would split the waiting."""
    lock = FileLock(f"{path}.lock", timeout=timeout, poll_interval=_POLL_SECONDS)
    try:
        lock.acquire()
    except Timeout as error:
        message = f"somebody else has been writing this case for {timeout:g} seconds."
        hint = "Close the other program, or try again in a moment."
        raise failed(path, "case-locked", message, hint) from error
    except OSError as error:
        raise _not_written(path, error) from error
    try:
        yield
    finally:
        lock.release()


def read_bytes(path: Path) -> bytes:
    """What ``path`` holds, at most one byte more than the limit; ProblemsFound where it cannot be read."""
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode):  # a pipe would keep us waiting for ever
            raise failed(path, "not-a-file", "this is not an ordinary file.", "Name the case file itself.")
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except FileNotFoundError as error:
        hint = "Look at the name and the folder; 'diag new FILE' opens a case."
        raise failed(path, "no-such-file", "there is no such file.", hint) from error
    except OSError as error:
        hint = "Look at what it is and who may read it."
        raise failed(path, "unreadable", f"the file cannot be read: {_reason(error)}.", hint) from error


def replace_bytes(path: Path, old: bytes | None, new: bytes) -> None:
    """Puts ``new`` in the place of ``old`` (None: no file yet), all or nothing; the lock must be held.

    Owner and permissions are kept. ProblemsFound where the disk refuses, or where an editor saved the
    file since ``old`` was read.
    """
    fresh = path.with_name(f".{path.name}.new")  # one fixed name: a killed writer leaves one file at most
    try:
        fresh.unlink(missing_ok=True)
        _write(fresh, new, like=None if old is None else path)
        if old is not None and path.read_bytes() != old:
            hint = "Save it there, close it, and record again."
            raise failed(path, "case-changed", "another program changed the file just now.", hint)
        fresh.replace(path)
        _sync_folder(path.parent)
    except OSError as error:
        raise _not_written(path, error) from error
    finally:
        with suppress(OSError):  # what could not be written or taken away was told already
            fresh.unlink(missing_ok=True)


def _write(fresh: Path, content: bytes, like: Path | None) -> None:
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666 if like is None else 0o600)
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(content)
        stream.flush()
        if like is not None:
            _keep_rights(fresh, like)
        os.fsync(stream.fileno())


def _keep_rights(fresh: Path, like: Path) -> None:
    if not os.access(like, os.W_OK):
        raise PermissionError(0, "the file is write-protected")
    told = like.stat()
    if os.name == "posix":
        with suppress(PermissionError):  # only the administrator may give a file to somebody else
            os.chown(fresh, told.st_uid, told.st_gid)
    fresh.chmod(stat.S_IMODE(told.st_mode))


def _sync_folder(folder: Path) -> None:
    """Makes the new name last; where folders cannot be opened or synced the file is whole all the same."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _not_written(path: Path, error: OSError) -> ProblemsFound:
    hint = "Nothing was changed. Look at the folder: room on the disk, who may write."
    return failed(path, "not-written", f"the case cannot be written: {_reason(error)}.", hint)


def _reason(error: OSError) -> str:
    return error.strerror or str(error)
