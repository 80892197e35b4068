"""An earlier revision of a rig, from git: its text and that of what it includes, nothing written to disk.

git is asked for objects only (`cat-file`), so that no filter, hook or viewer that a repository sets up
is run; nothing goes over the network.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.parsing import Document, parse_earlier
from analyser.language.source import MOST_BYTES
from analyser.rig.building import build
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Rig

COMMAND_LINE = "command line"
PATIENCE = 20.0
"""Seconds for one answer of git."""


def read_revision(revision: str, file: Path) -> Rig:
    """The rig as it stood in a commit. Raises `Unreadable`, also where git or the revision isn't there."""
    folder = file.parent.resolve()
    commit = _commit(revision, folder)

    def earlier(path: Path, shown: str) -> tuple[bytes, Mistake | None]:
        data = _asked(folder, ["cat-file", "blob", f"{commit}:./{os.path.relpath(path, folder)}"])
        if data.returncode:
            text = f"revision {revision} has no such file"
            return b"", Mistake(Place(shown, 1), text, "name a revision in which it is: `git log -- FILE` lists them")
        return data.stdout[: MOST_BYTES + 1], None

    document: Document = parse_earlier(folder / file.name, set(catalogue()), earlier)
    rig, mistakes = build(document)
    if rig is None:
        raise Unreadable(mistakes, document.sources)
    return rig


def _commit(revision: str, folder: Path) -> str:
    """The commit's own name; a revision that looks like an option is never handed on as one."""
    if not folder.is_dir():
        raise _unreadable(f"{folder.name}: there is no such folder", "check the name of the file")
    if _asked(folder, ["rev-parse", "--is-inside-work-tree"]).stdout.strip() != b"true":
        raise _unreadable("the file is not in the working tree of a git repository", "compare two files instead")
    known = _asked(folder, ["rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}"])
    if known.returncode:
        shown = "".join(c if c.isprintable() else "?" for c in revision)[:80]
        raise _unreadable(f"git knows no revision `{shown}` here", "`git log --oneline -- FILE` lists those of a file")
    return known.stdout.decode("ascii", "replace").strip().splitlines()[-1]


def _asked(folder: Path, words: list[str]) -> subprocess.CompletedProcess[bytes]:
    """What git answers. Without a shell, a pager, optional locks, or fetching what is missing."""
    surroundings = os.environ | {"GIT_OPTIONAL_LOCKS": "0", "GIT_NO_LAZY_FETCH": "1", "GIT_TERMINAL_PROMPT": "0"}
    try:
        return subprocess.run(
            ["git", "--no-pager", *words],
            cwd=folder,
            env=surroundings,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=PATIENCE,
            check=False,
        )
    except FileNotFoundError:
        raise _unreadable("git is not installed here", "install it, or compare two files") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise _unreadable(f"git could not be asked: {reason}", "compare two files instead") from None
    except subprocess.TimeoutExpired:
        raise _unreadable(f"git gave no answer in {PATIENCE:g} seconds", "compare two files instead") from None


def _unreadable(text: str, help: str) -> Unreadable:
    return Unreadable([Mistake(Place(COMMAND_LINE, 1), text, help)], {})
