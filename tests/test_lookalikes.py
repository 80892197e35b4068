"""Names that look alike, by Unicode Technical Standard 39. What looks like what is from that standard's confusables.txt
(rows checked by hand against its table: Cyrillic U+0441 and Latin c, digit one and l, rn and m); the rest follows."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import analyser
from analyser.language.lookalikes import ASCII, mixed, skeleton
from analyser.language.mistakes import Unreadable

CYRILLIC = "\u0441rab"  # its first letter is not a c


def wrong(text: str) -> list[tuple[int, str, str]]:
    try:
        analyser.read_text(f'rig "Words"\n{text}\n', "words.rig", Path())
    except Unreadable as error:
        return [(one.place.line, one.text, one.help) for one in error.mistakes]
    return []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("bolt-1", "bolt-l"),
        ("left-0", "left-O"),
        ("rn", "m"),
        ("\u0441op", "cop"),
        ("\uff41b", "ab"),
        ("stern", "stem"),
    ],
)
def test_alike(one: str, other: str) -> None:
    assert skeleton(one) == skeleton(other)
    told = wrong(f"anchor {one}, x\nanchor {other}\nperson jo\nattach {one} - jo\nattach {other} - jo\nattach x - jo")
    assert len(told) == 1 and told[0][0] in (2, 3), told


@pytest.mark.parametrize(
    "names", ["a, b", "left-1, left-2", "Master, master", "\u30ea\u30f3\u30b0, \u5ca9", "\u00b5-ring, m-ring"]
)
def test_not_alike(names: str) -> None:
    assert wrong(f"anchor {names}") == []


@pytest.mark.parametrize(
    ("name", "goes"),
    [
        ("crab", True), ("\u30ea\u30f3\u30b0", True), ("\u5ca9\u306e\u30ea\u30f3\u30b0a", True),
        ("\ud55c\u5ca9b", True),
        ("\u00b5-ring", True), ("\u0448\u043b\u044f\u043c\u0431\u0443\u0440-2", True), (CYRILLIC, False),
        ("\u03b1\u30ea", False), ("k\u03b1", False), ("gr\u00f6\u00dfe", True),
    ],
)  # fmt: skip
def test_scripts_that_go_together(name: str, goes: bool) -> None:
    assert (mixed(name) is None) is goes
    assert [one[1].startswith(f"`{name}` has letters of two scripts") for one in wrong(f"anchor {name}")] == [True] * (
        not goes
    )


def test_both_are_shown_with_their_code_points() -> None:
    assert wrong("anchor cop, x\nring \u0441\u043e\u0440\nattach cop - \u0441\u043e\u0440") == [
        (3, "`\u0441\u043e\u0440` looks like `cop` (line 2): it has `\u0441` (U+0441) for `c` (U+0063)",
         "give it a name that nobody takes for the other"),
    ]  # fmt: skip
    assert wrong(f"anchor x\nring crab\nperson jo\nattach x - {CYRILLIC} - jo") == [
        (5, f"`{CYRILLIC}` is not `crab`: it has `\u0441` (U+0441) for `c` (U+0063)", "write `crab`"),
    ]


@given(st.text(alphabet=st.characters(categories=("L", "N"))))
def test_a_skeleton_is_its_own(text: str) -> None:
    assert skeleton(skeleton(text)) == skeleton(text)


@given(st.text(alphabet="abcmnrlI10O-"))
def test_plain_letters_are_as_in_the_table(text: str) -> None:
    assert skeleton(text) == skeleton(text + "\u00e9")[: len(text.translate(ASCII))]
