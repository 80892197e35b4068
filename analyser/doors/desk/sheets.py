"""The papers beside the rig: made by the commands that make them, each in a process of its own.

What was written here before is written anew as long as nobody has changed it since (it carries a digest of
itself); any other file of that name stays as it is, and the paper gets the next name.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import re
import secrets
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

from analyser.doors.live.whole import put_new, put_whole

PAPERS = {
    "report": ("report", ".html"),
    "procedure": ("procedure", ".html"),
    "cards": ("card", ".html"),
    "walkdown": ("walkdown", ".html"),
    "diagram": ("draw", ".svg"),
}
"""What can be made: the command that makes it, and how its file's name ends."""
IN_A_LANGUAGE = ("card", "walkdown")
LANGUAGES = ("en", "de")
PATIENCE = 300.0
"""Seconds that a paper may take."""
MARK = re.compile(rb"<!-- written by stillheld from a desk: ([0-9a-f]{64}) -->\n\Z")
MOST_NAMES = 20
MAIN = "import sys; from analyser.doors.commands.main import main; sys.exit(main())"
_one_at_a_time = asyncio.Lock()


class NotMade(Exception):
    """No paper was written; the message says why."""


async def make(rig: Path, which: str, language: str) -> Path:
    """Make one paper of the rig as it is saved; its file. Raises `NotMade`."""
    if which not in PAPERS or language not in LANGUAGES:
        raise NotMade(f"there is no paper called {which}")
    command, ending = PAPERS[which]
    with tempfile.TemporaryDirectory(prefix="stillheld-") as folder:
        out = Path(folder) / f"paper{ending}"
        told = ["--language", language] if command in IN_A_LANGUAGE else []
        async with _one_at_a_time:
            status, _, said = await _run(rig.parent, None, command, str(rig), "-o", str(out), *told)
        if status not in (0, 1) or not out.is_file():
            raise NotMade(said.strip() or f"`stillheld {command}` ended with {status}")
        data = out.read_bytes()
    try:
        return put(rig.with_name(f"{rig.stem}-{which}{ending}"), data)
    except OSError as error:
        raise NotMade(f"the paper cannot be written: {error.strerror}") from None


def put(path: Path, data: bytes) -> Path:
    """Write a paper, over nothing but an older one that was written here; the path it got."""
    if not data.endswith(b"\n"):
        data += b"\n"
    digest = hashlib.sha256(data).hexdigest().encode()
    data += b"<!-- written by stillheld from a desk: " + digest + b" -->\n"
    for number in range(1, MOST_NAMES + 1):
        name = path if number == 1 else path.with_stem(f"{path.stem}-{number}")
        if ours(name):
            put_whole(name, data)
            return name
        with suppress(FileExistsError):
            put_new(name, data)
            return name
    raise FileExistsError(17, f"{path.name} and {MOST_NAMES - 1} names like it are other files")


def ours(path: Path) -> bool:
    """Was this file written here, and is it as it was written?"""
    return as_written(path) is not None


def as_written(path: Path) -> bytes | None:
    """A paper that was written here; None for any other file, and where somebody has changed it since."""
    try:
        data = path.read_bytes() if path.is_file() and not path.is_symlink() else b""
    except OSError:
        return None
    found = MARK.search(data)
    kept = found is not None and hashlib.sha256(data[: found.start()]).hexdigest().encode() == found[1]
    return data if kept else None


class Shelf:
    """The papers made at one desk, each at an address that only its pages are told.

    A paper tells all of the rig, so that a cookie alone, which any program's page on this machine might learn, is not
    enough to read one. What was changed since it was written is no longer shown.
    """

    def __init__(self) -> None:
        self.papers: dict[str, Path] = {}

    def put(self, paper: Path) -> str:
        """The address of a paper; of the newest of its name where it is made anew."""
        known = next((secret for secret, one in self.papers.items() if one == paper), None)
        secret = known or secrets.token_urlsafe(24)
        self.papers[secret] = paper
        return f"/paper/{secret}"

    def find(self, secret: str) -> tuple[bytes, str] | None:
        """A paper and its sort (`.html`, `.svg`)."""
        paper = self.papers.get(secret)
        data = None if paper is None else as_written(paper)
        return None if paper is None or data is None else (data, paper.suffix)


async def mends(rig: Path, text: str) -> dict[str, Any]:
    """What `stillheld mend` says of a text: each addition with its lines. `why` where it says nothing."""
    status, out, said = await _run(rig.parent, text, "mend", "-", "--json")
    try:
        data = json.loads(out)
    except ValueError:
        return {"why": said.strip(), "mends": []}
    if status or "mends" not in data:
        return {"why": "", "mends": []}
    return {
        "why": data["nothing"] or "",
        "mends": [{key: one[key] for key in ("what", "does", "add", "change")} for one in data["mends"]],
    }


async def _run(folder: Path, given: str | None, *arguments: str) -> tuple[int, str, str]:
    """Run one of our commands; its exit status, output and messages."""
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-c", MAIN, *arguments),
        cwd=folder,
        stdin=asyncio.subprocess.DEVNULL if given is None else asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        data = None if given is None else given.encode("utf-8", "replace")
        out, said = await asyncio.wait_for(process.communicate(data), PATIENCE)
    except TimeoutError:
        return 2, "", f"given up after {PATIENCE:g} seconds"
    finally:
        with suppress(ProcessLookupError):
            process.kill()
    return process.returncode or 0, out.decode("utf-8", "replace"), said.decode("utf-8", "replace")
