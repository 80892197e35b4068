"""Quick fixes: what a message suggests, put in the place of what it is about, or of its line.

Only what a message says to write is offered, and only where the text was read again with it: the
message has gone and nothing new is wrong on that line.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

from analyser.doors.editor.columns import LINE_END
from analyser.doors.editor.readings import Reading, read
from analyser.language.mistakes import Mistake, Place

MOST_SECONDS = 1.0
"""For all the fixes of one request; what could not be tried by then is not offered."""
SAID = re.compile(r"(?:did you mean|\bwrite) (`[^`]+`(?:(?:, | or |, or )`[^`]+`)*)")


COMMENT = re.compile(r"\s*(?<!\w)#[^\n]*\Z")


@dataclass(frozen=True, slots=True)
class Fix:
    """A mistake, and the text to stand at a place: where it points, or in the place of its whole line."""

    mistake: Mistake
    place: Place
    text: str


def suggestions(mistake: Mistake) -> Iterator[str]:
    """What a message says to write. `…` in it stands for words that only a person knows.

    >>> from analyser.language.mistakes import Place
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
        line = reading.document.sources[shown][mistake.place.line - 1 :][:1]
        for said in suggestions(mistake) if line else ():
            for fix in _ways(mistake, said, line[0]):
                if time.monotonic() > end:
                    return found
                if _mends(reading, fix):
                    found.append(fix)
                    break
    return found


def _ways(mistake: Mistake, said: str, line: str) -> Iterator[Fix]:
    """Where a suggestion may stand: in the place of what is wrong, then as the whole line."""
    place = mistake.place
    if place.end > place.column:
        body, dot, point = said.partition(".")
        standing = dot and line[: place.column - 1].endswith(body + dot)
        yield Fix(mistake, place, point if standing else said)  # `waist` of `ann.waist`
    code = COMMENT.sub("", line) if line.count('"') % 2 == 0 else line
    kept = re.findall(r"\w+", f"{code[: place.column - 1]} {code[place.end - 1 :]}")
    words = iter(re.findall(r"\w+", said))
    if all(word in words for word in kept):  # nothing that was right gets lost
        start = len(code) - len(code.lstrip()) + 1
        yield Fix(mistake, Place(place.file, place.line, start, len(code.rstrip()) + 1), said)


def _mends(reading: Reading, fix: Fix) -> bool:
    mistake, place = fix.mistake, fix.place
    path = reading.path_of(place.file)
    held = reading.texts.get(path)
    if held is None:
        return False
    lines = LINE_END.split(held.text.removeprefix("\ufeff"))
    line = lines[place.line - 1]
    lines[place.line - 1] = line[: place.column - 1] + fix.text + line[place.end - 1 :]
    again = read(reading.path, {**reading.texts, path: replace(held, text="\n".join(lines))})
    before = {(one.place.line, one.text) for one in reading.mistakes if one.place.file == place.file}
    after = {(one.place.line, one.text) for one in again.mistakes if one.place.file == place.file}
    new = {line for line, _ in after - before}
    return (place.line, mistake.text) not in after and place.line not in new
