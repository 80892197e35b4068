"""Documents are written whole or not at all: beside their place, on to the disk, then put into it.

Whatever goes wrong on the way (a full disk, a limit, the process killed), what was there before is there
still, byte for byte.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import stat
import time
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

LEFT_AFTER = 60.0
"""Seconds after which nobody is still writing what lies beside a file."""


class OwnInput(OSError):
    """The place of a document is that of a file which it was made from."""

    def __init__(self) -> None:
        super().__init__(errno.EEXIST, "the answer was made from this file: name another one")


class Changed(OSError):
    """A file is no longer what was to be replaced."""


def put_whole(target: str | Path, data: bytes, inputs: Iterable[Path] = (), *, instead_of: bytes | None = None) -> None:
    """Write a file, in the place of what is there: its permissions stay, a link stays and leads to what is new.

    What is no ordinary file (a pipe, a terminal) is written to as it is. Raises OSError where it can't be
    written, and the file is as it was; `OwnInput` where the answer was made from it, `Changed` where there is
    something else now than `instead_of`.
    """
    path = Path(target)
    before = _ordinary(path, inputs)
    if before is None and path.exists():
        path.write_bytes(data)
        return
    real = path.resolve()
    beside = _beside(real, data, before)
    try:
        if instead_of is not None and real.read_bytes() != instead_of:
            raise Changed(errno.EEXIST, "it was changed meanwhile")
        beside.replace(real)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    _settle(real.parent)


def put_new(target: Path, data: bytes) -> None:
    """Write a file where none is, found absent and put there in one step: nothing that appears meanwhile is lost.

    Raises FileExistsError where there is one, OSError where it can't be written; then nothing is left behind.
    """
    if target.exists() or target.is_symlink():
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
    beside = _beside(target, data, None)
    try:
        os.link(beside, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        with target.open("xb"):
            pass
        beside.replace(target)
        return
    finally:
        beside.unlink(missing_ok=True)
    _settle(target.parent)


def sweep(real: Path) -> None:
    """Take away what writers of a file that were killed have left beside it."""
    ours = re.compile(re.escape(f".{real.name[:40]}.") + r"[0-9a-f]{8}\.new")
    with suppress(OSError):
        for left in list(real.parent.iterdir()):
            if ours.fullmatch(left.name) and time.time() - left.lstat().st_mtime > LEFT_AFTER:
                left.unlink()


def _ordinary(path: Path, inputs: Iterable[Path]) -> os.stat_result | None:
    """What is there already, where that is an ordinary file; None where nothing is, or something else."""
    try:
        there = path.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(there.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if not stat.S_ISREG(there.st_mode):
        return None
    for one in inputs:
        if one.exists() and os.path.samestat(there, one.stat()):
            raise OwnInput
    if not os.access(path, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    return there


def _beside(real: Path, data: bytes, like: os.stat_result | None) -> Path:
    """A new file of these bytes beside another, on the disk, with the permissions and owner of `like`."""
    beside = real.with_name(f".{real.name[:40]}.{secrets.token_hex(4)}.new")
    number = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666 if like is None else 0o600)
    try:
        with os.fdopen(number, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if like is not None:
            with suppress(OSError):  # only root may give a file to somebody else
                os.chown(beside, like.st_uid, like.st_gid)
            with suppress(PermissionError):  # a file system without permissions
                beside.chmod(stat.S_IMODE(like.st_mode))
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    return beside


def _settle(folder: Path) -> None:
    """The new name on to the disk too, where the system can do that."""
    with suppress(OSError):
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
