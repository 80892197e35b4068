"""One desk a file: a lock that ends with its process, and says where the file is open already."""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path


class Taken(Exception):
    """The file is open on another desk; the message is that desk's address, or empty."""


class OneWriter:
    """The lock on a file's name, kept in a folder of this user's own, so that nothing is left beside the rig."""

    def __init__(self, path: Path) -> None:
        """Raises `Taken`; OSError where no lock can be kept."""
        folder = Path(tempfile.gettempdir(), f"stillheld-{os.getuid() if hasattr(os, 'getuid') else 'desk'}")
        folder.mkdir(mode=0o700, exist_ok=True)
        told = folder.lstat()
        if hasattr(os, "getuid") and (folder.is_symlink() or told.st_uid != os.getuid()):
            raise PermissionError(13, f"{folder} is not this user's own")
        name = hashlib.sha256(os.fsencode(path.resolve())).hexdigest()[:32]
        self.file = folder / f"{name}.desk"
        while True:
            self.number = os.open(self.file, os.O_RDWR | os.O_CREAT, 0o600)
            if not _locked(self.number):
                os.lseek(self.number, 1, os.SEEK_SET)
                address = os.read(self.number, 200).decode("ascii", "replace").strip()
                os.close(self.number)
                raise Taken(address)
            if _same(self.number, self.file):
                return
            os.close(self.number)  # the desk that had it took its lock away in between: lock the new one

    def say(self, address: str) -> None:
        """Where this desk is, for whoever finds the file taken. The first byte is the lock's."""
        os.ftruncate(self.number, 0)
        os.lseek(self.number, 0, os.SEEK_SET)
        os.write(self.number, f" {address}\n".encode())

    def release(self) -> None:
        with suppress(OSError):
            self.file.unlink()
        os.close(self.number)


def _same(number: int, file: Path) -> bool:
    """Is what is open still what stands under the name?"""
    try:
        return os.path.samestat(os.fstat(number), file.stat())
    except OSError:
        return False


def _locked(number: int) -> bool:
    """Is the lock ours? The system takes it back when the process ends, however that ends."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(number, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
