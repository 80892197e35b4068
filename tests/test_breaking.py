"""One mistake, one message: lines of examples broken in ten ways, and what is wrong with them told where they are."""

from __future__ import annotations

from pathlib import Path

import pytest
from breaking import EXAMPLES, cases

import analyser
from analyser.language.mistakes import Mistake, Unreadable

RIGS = sorted(EXAMPLES.rglob("*.rig"))
EVERY = 23
"""One line broken in one way of so many: all of them take minutes (`python tests/breaking.py`)."""


def test_a_broken_line_earns_one_message_on_that_line() -> None:
    tried = [one for path in RIGS for one in cases(path, every=EVERY)]
    told = [one for one in tried if not one.well]
    assert len(tried) > 600
    assert len(told) <= 0.03 * len(tried), [(one.path.name, one.number, one.line, one.told) for one in told]


def wrong(text: str) -> list[tuple[int, str, str]]:
    try:
        analyser.read_text(f'rig "Words"\n{text}\n', "words.rig", Path())
    except Unreadable as error:
        return [told(one) for one in error.mistakes]
    return []


def told(one: Mistake) -> tuple[int, str, str]:
    return one.place.line, one.text, one.help


TWO_LINES = """anchor x, y
attach x - descender d
person jo
d: operated by jo
rope red
    tied to x as top
    tied to y as low
stage "Over"
    rerig red
        tied to x as top
        gripped by d, load from top
        tied to y as low
    open d
    detach d from red"""


@pytest.mark.parametrize(
    ("old", "new", "line", "text", "hint"),
    [
        ("edge", "", 0, "", ""),
        ("    rerig red\n", "    errig red\n", 10, "`errig` is not a step of a stage, nor a kind of part",
         "did you mean `rerig`?"),
        ("    rerig red\n", "    red rerig\n", 10, "`red` is not a step of a stage, nor a kind of part",
         "write `rerig red`"),
        ("        tied to x as top\n        gripped", "       tied to x as top\n        gripped", 11,
         "this line is not indented as those below it", "line it up with the lines below it"),
        ("    open d\n", "open d\n", 14, "`open` is a step: it stands under its stage",
         'indent it under `stage "Over"`'),
        ("    rerig red\n", "  rerig red\n", 10, "this line is not indented as those below it",
         "line it up with the lines below it"),
        ("rope red\n", "red\n", 6, "stations stand under a rope, and this line begins none", "write `rope red`"),
        ("rope red\n", "    rope red\n", 6,
         "`rope` does not belong under `d`", "move this line left"),
        ("descender d", "descender dd\nd: self-locking", 3, "", ""),
        ("        gripped by d, load from top", "        griped by d, load from top", 12,
         "`griped` does not begin a station", "write `gripped by d, load from top`"),
        ("    tied to x as top\n    tied to y as low\nstage", "    tied to x as top\ntied to y as low\nstage", 8,
         "`tied` is a station: it stands under its rope", "indent it under `rope red`"),
    ],
)  # fmt: skip
def test_one_message_where_the_slip_is(old: str, new: str, line: int, text: str, hint: str) -> None:
    assert wrong(TWO_LINES) == []
    if text:
        assert TWO_LINES.count(old) == 1
        assert wrong(TWO_LINES.replace(old, new)) == [(line, text, hint)]


def test_a_name_misspelt_where_it_is_declared_is_told_there() -> None:
    text = "anchor lefft\nperson jo\nattach left - jo\nleft: strength 20 kN"
    assert wrong(text) == [
        (2, "`lefft` is named only here, and `left` is not declared (line 4)", "did you mean `left`?")
    ]


def test_what_may_follow_from_another_mistake_waits_for_it() -> None:
    """`derig` twice, and a name nobody declared: told alone, and not beside a line that does not read."""
    text = 'anchor x, y\nrope red\n    tied to x\n    tied to y\nstage "A"\n    derig red\n    derig red'
    assert [one[:2] for one in wrong(text)] == [(8, "the rope `red` was taken out before")]
    assert [one[0] for one in wrong(text.replace("    derig red\n", "    derig the red\n", 1))] == [7]
