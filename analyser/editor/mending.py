"""Quick fixes: what a message suggests, put in the place of what it is about.

Only what a message says to write is offered, and only where the text was read again with it: the
message has gone and nothing new is wrong on that line.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

from analyser.editor.columns import LINE_END
from analyser.editor.desk import Reading, read
from analyser.reading.mistakes import Mistake

MOST_SECONDS = 1.0
"""For all the fixes of one request; what could not be tried by then is not offered."""
SAID = re.compile(r"(?:did you mean|\bwrite) (`[^`]+`(?:(?:, | or |, or )`[^`]+`)*)")


@dataclass(frozen=True, slots=True)
class Fix:
    """A mistake, and the text to stand where it points."""

    mistake: Mistake
    text: str


def suggestions(mistake: Mistake) -> Iterator[str]:
    """What a message says to write. `…` in it stands for words that only a person knows.

    >>> from analyser.reading.mistakes import Place
    >>> list(suggestions(Mistake(Place("rig", 1), "no `b`", "did you mean `a` or `c`?")))
    ['a', 'c']
    """
    for found in SAID.findall(mistake.help):
        yield from (one for one in re.findall(r"`([^`]+)`", found) if "…" not in one)


def fixes(reading: Reading, shown: str, first: int, last: int) -> list[Fix]:
    """The fixes for the mistakes on these lines of one of the rig's files (1-based, both included)."""
    end = time.monotonic() + MOST_SECONDS
    found: list[Fix] = []
    for mistake in reading.mistakes:
        if mistake.place.file != shown or not first <= mistake.place.line <= last:
            continue
        for said in suggestions(mistake):
            if time.monotonic() > end:
                return found
            text = _rest(reading, mistake, said)
            if _mends(reading, mistake, text):
                found.append(Fix(mistake, text))
    return found


def _rest(reading: Reading, mistake: Mistake, said: str) -> str:
    """What is left of a suggestion where its body stands already: `waist` of `ann.waist`."""
    place = mistake.place
    before = reading.document.sources[place.file][place.line - 1][: place.column - 1]
    body, dot, point = said.partition(".")
    return point if dot and before.endswith(body + dot) else said


def _mends(reading: Reading, mistake: Mistake, text: str) -> bool:
    path, place = reading.path_of(mistake.place.file), mistake.place
    held = reading.texts.get(path)
    if held is None or place.end <= place.column:
        return False
    lines = LINE_END.split(held.text.removeprefix("\ufeff"))
    line = lines[place.line - 1]
    lines[place.line - 1] = line[: place.column - 1] + text + line[place.end - 1 :]
    again = read(reading.path, {**reading.texts, path: replace(held, text="\n".join(lines))})
    before = {(one.place.line, one.text) for one in reading.mistakes if one.place.file == place.file}
    after = {(one.place.line, one.text) for one in again.mistakes if one.place.file == place.file}
    new = {line for line, _ in after - before}
    return (place.line, mistake.text) not in after and place.line not in new
