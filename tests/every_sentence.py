"""Every sentence that the product prints about the rigs of the repository, once, for reading aloud.

    python tests/every_sentence.py              all of them
    python tests/every_sentence.py check card   of some commands

Names of a rig are printed as the first rig that said the sentence has them; sentences that differ by names and
figures alone are one. Not a test: what a rigger wouldn't say is mended where it is made, and gets one there.
"""

from __future__ import annotations

import contextlib
import html
import io
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import analyser
from analyser.doors.commands.main import main
from analyser.language.mistakes import Unreadable

ROOT = Path(__file__).parent.parent
RIGS = sorted((ROOT / "examples").rglob("*.rig"))
UNSEEN, TAG = re.compile(r"<(style|script|svg)\b.*?</\1>", re.DOTALL), re.compile(r"<[^>]*>")
SAID = re.compile(r"(?<=[.;:])\s+|\n\s*\n|\n\s*[-|#]\s*|\s*\|\s*")
COMMANDS = {
    "check": ["check", "RIG", "--full", "--latent", "--resting-on"],
    "short": ["check", "RIG"],
    "why": ["why", "RIG"],
    "rank": ["rank", "RIG"],
    "forces": ["forces", "RIG"],
    "haul": ["haul", "RIG"],
    "mend": ["mend", "RIG"],
    "reconstruct": ["reconstruct", "RIG"],
    "procedure": ["procedure", "RIG", "-o", "OUT.md"],
    "failures": ["failures", "RIG", "-o", "OUT.md"],
    "walkdown": ["walkdown", "RIG", "-o", "OUT.md"],
    "card": ["card", "RIG", "-o", "OUT.html"],
    "Karte": ["card", "RIG", "-o", "OUT.html", "--language", "de"],
    "Kontrolle": ["walkdown", "RIG", "-o", "OUT.md", "--language", "de"],
    "report": ["report", "RIG", "-o", "OUT.md"],
    "drill": ["drill", "RIG", "--paper", "1", "-o", "OUT.md"],
}


def printed(words: list[str], rig: Path, folder: Path) -> str:
    """What a command prints, or writes."""
    named = next((one for one in words if one.startswith("OUT.")), "OUT.md")
    out = folder / named.lower()
    out.unlink(missing_ok=True)
    asked = [str(rig) if one == "RIG" else str(out) if one == named else one for one in words]
    told, wrong = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(wrong), contextlib.suppress(SystemExit):
        main(asked)
    text = out.read_text(encoding="utf-8") if out.exists() else told.getvalue()
    if out.suffix == ".html":
        text = html.unescape(TAG.sub("\n\n", UNSEEN.sub("", text)))
    return text + wrong.getvalue()


def names(rig: Path) -> re.Pattern[str]:
    """Whatever the rig calls by name."""
    try:
        read = analyser.read(rig)
    except Unreadable:
        return re.compile("$^")
    known = {name for one in read.states for name in (*one.parts, *one.index.ropes)}
    known |= {name.split(".")[-1] for name in known} | {failure.part for one in read.states for failure in one.failures}
    found = sorted(map(re.escape, known), key=len, reverse=True)
    return re.compile(rf"(?<![\w-])({'|'.join(found)})(?![\w-])")


def sentences(asked: list[str]) -> Iterator[tuple[str, str]]:
    """(command, sentence), each kind of sentence once."""
    seen: set[str] = set()
    with tempfile.TemporaryDirectory() as folder:
        for rig in RIGS:
            called = names(rig)
            for command in asked:
                for sentence in SAID.split(printed(COMMANDS[command], rig, Path(folder))):
                    words = " ".join(sentence.split())
                    kind = re.sub(r"(N(, N)*( and N)?)", "N", re.sub(r"\d+([.,]\d+)?", "0", called.sub("N", words)))
                    if words and kind not in seen:
                        seen.add(kind)
                        yield command, words


if __name__ == "__main__":
    for command, sentence in sentences(sys.argv[1:] or [*COMMANDS]):
        print(f"{command:11} {sentence}")
