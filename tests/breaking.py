"""Lines broken one at a time: what a slip of the hand makes of a line of a rig, in ten ways.

    python tests/breaking.py [--show N] [RIG …]

breaks each line of each example and counts messages: how many cases have one message, on that line.
A line that still reads after a slip, and leaves nothing wrong elsewhere, is no case.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import analyser
from analyser.language.mistakes import Mistake, Unreadable

EXAMPLES = Path(__file__).parent.parent / "examples"
Slip = Callable[[random.Random, str], str]


def _words(line: str) -> list[re.Match[str]]:
    """The words of a line outside its texts and its comment."""
    masked = re.sub(r'"[^"]*"', lambda one: "\0" * len(one[0]), line)
    return list(re.finditer(r"[\w.-]*\w", masked.split("#")[0]))


def _instead(line: str, found: re.Match[str], word: str) -> str:
    return line[: found.start()] + word + line[found.end() :]


def swapped_letters(rng: random.Random, line: str) -> str:
    """Two letters of a word change places."""
    long = [one for one in _words(line) if len(one[0]) > 3 and one[0].isalpha()]
    if not long:
        return line
    one = rng.choice(long)
    at = rng.randrange(len(one[0]) - 1)
    word = one[0]
    return _instead(line, one, word[:at] + word[at + 1] + word[at] + word[at + 2 :])


def letter_lost(rng: random.Random, line: str) -> str:
    long = [one for one in _words(line) if len(one[0]) > 3]
    if not long:
        return line
    one = rng.choice(long)
    at = rng.randrange(len(one[0]))
    return _instead(line, one, one[0][:at] + one[0][at + 1 :])


def word_lost(rng: random.Random, line: str) -> str:
    """A word is missing, and the blank behind it."""
    found = _words(line)
    if not found:
        return line
    one = rng.choice(found)
    return (line[: one.start()] + line[one.end() :].removeprefix(" ")).rstrip()


def word_twice(rng: random.Random, line: str) -> str:
    found = _words(line)
    if not found:
        return line
    one = rng.choice(found)
    return _instead(line, one, f"{one[0]} {one[0]}")


def words_swapped(rng: random.Random, line: str) -> str:
    found = _words(line)
    if len(found) < 2:
        return line
    at = rng.randrange(len(found) - 1)
    one, two = found[at], found[at + 1]
    return line[: one.start()] + two[0] + line[one.end() : two.start()] + one[0] + line[two.end() :]


def mark_lost(rng: random.Random, line: str) -> str:
    """A comma, colon, dash, bracket or quotation mark is missing."""
    found = list(re.finditer(r'[,:()"|]|(?<= )-(?= )', line.split("#")[0]))
    return _instead(line, rng.choice(found), "") if found else line


def mark_strayed(rng: random.Random, line: str) -> str:
    found = _words(line)
    if not found:
        return line
    one = rng.choice(found)
    return line[: one.end()] + rng.choice((";", ",", ":", " -", "!", ")")) + line[one.end() :]


def broken_off(rng: random.Random, line: str) -> str:
    """The line ends before a word of it."""
    found = _words(line)
    return line[: rng.choice(found[1:]).start()].rstrip() if len(found) > 1 else line


def indented(rng: random.Random, line: str) -> str:
    depth = len(line) - len(line.lstrip())
    return " " * (depth + rng.choice((2, 3, 4))) + line.lstrip() if not depth else line[rng.choice((1, 2, depth)) :]


def strange_word(rng: random.Random, line: str) -> str:
    """A word that is not the language's stands before another."""
    found = _words(line)
    if not found:
        return line
    one = rng.choice(found)
    return line[: one.start()] + rng.choice(("the ", "please ", "via ", "12 ", "about ")) + line[one.start() :]


SLIPS: tuple[Slip, ...] = (
    swapped_letters, letter_lost, word_lost, word_twice, words_swapped, mark_lost, mark_strayed, broken_off, indented,
    strange_word,
)  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One line broken, and what was said of it."""

    path: Path
    number: int
    slip: str
    was: str
    line: str
    told: tuple[Mistake, ...]

    @property
    def well(self) -> bool:
        """One message, on that line of that file."""
        return len(self.told) == 1 and (self.told[0].place.file, self.told[0].place.line) == (
            self.path.name, self.number,
        )  # fmt: skip


def cases(path: Path, slips: tuple[Slip, ...] = SLIPS, every: int = 1) -> Iterator[Case]:
    """Every line of a rig broken in every way; `every`: one in so many."""
    lines = path.read_text(encoding="utf-8").split("\n")
    count = 0
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        for slip in slips:
            count += 1
            if count % every:
                continue
            broken = slip(random.Random(f"{path.name} {number} {slip.__name__}"), line)
            if broken == line:
                continue
            text = "\n".join([*lines[: number - 1], broken, *lines[number:]])
            try:
                analyser.read_text(text, path.name, path.parent)
            except Unreadable as error:
                yield Case(path, number, slip.__name__, line, broken, error.mistakes)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("rigs", nargs="*", type=Path)
    asked.add_argument("--show", type=int, default=0)
    asked.add_argument("--every", type=int, default=1)
    given = asked.parse_args()
    tried = well = shown = 0
    for path in given.rigs or sorted(EXAMPLES.rglob("*.rig")):
        for one in cases(path, every=given.every):
            tried += 1
            well += one.well
            if not one.well and shown < given.show:
                shown += 1
                print(f"{one.path.name}:{one.number} {one.slip}\n  - {one.was}\n  + {one.line}")
                for mistake in one.told:
                    print(f"    {mistake.place.file}:{mistake.place.line}: {mistake.text} | {mistake.help}")
    print(f"{well} of {tried} ({100 * well / max(tried, 1):.1f} %)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
