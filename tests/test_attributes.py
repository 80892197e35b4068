"""The rows of the attributes: each has its alternative in the grammar, is kept somewhere, and can be read."""

from __future__ import annotations

import re
from dataclasses import fields

import pytest
from rigs import rig_of

from analyser.language.attributes import ATTRIBUTES, ROWS, Row, Shape
from analyser.language.natures import Nature
from analyser.language.parsing import parser
from analyser.rig.catalogue import catalogue
from analyser.rig.elements import Part

OF_ROPES = ("inside", "alike", "start_on_ground", "end_on_ground", "spare_below", "drop", "tag_line")
"""What a rope keeps: its spans, its kind, its two ends, its figures."""
ELSEWHERE = ("points", "worn_by", "likelihood", "choked_round", "basket_round")
"""Points become parts, who wears a harness its body; likelihoods are kept among figures; what a sling lies round
is what it touches, and how it lies its `hitch`."""
FIGURES = (Shape.FIGURE, Shape.NUMBER, Shape.SHARE, Shape.STRETCH)


def test_every_alternative_of_the_grammar_has_its_row() -> None:
    rules = {str(rule.alias) for rule in parser().rules if rule.origin.name == "attribute"}
    assert {row.key for row in ROWS} == rules and len({row.key for row in ROWS}) == len(ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_what_it_says_is_kept(row: Row) -> None:
    known = {one.name for one in fields(Part)}
    assert row.kept in known or row.shape in FIGURES or row.kept in (*OF_ROPES, *ELSEWHERE)


@pytest.mark.parametrize("word", ATTRIBUTES)
def test_its_words_are_words_of_the_grammar(word: str) -> None:
    words = {re.split(r"[(?]", one.pattern.value)[0] for one in parser().terminals}
    assert all(piece in words or f"{piece}s" in words for piece in word.split()), word


@pytest.mark.parametrize("row", [row for row in ROWS if row.usual], ids=lambda row: row.key)
def test_its_example_can_be_read(row: Row) -> None:
    """On every part that may carry it; which kinds there are for each nature is the catalogue's."""
    kinds = {"locking": "carabiner", "minor_axis": "carabiner", "gate_open": "carabiner"}
    for nature in row.natures or (Nature.GROUND,):
        if nature is Nature.ROPE:
            rig_of(f"sleeve tube\nanchor x, y\nrope red: {row.example}\n    tied to x\n    tied to y")
            continue
        own = [kind.name for kind in catalogue().values() if kind.nature is nature]
        stands = "needs x, y, " if nature is Nature.FRAME else ""
        kind = row.joint if nature is Nature.JOINT and row.joint else kinds.get(row.key, own[-1])
        rig_of(f"edge lip\nanchor x, y, beam, front, middle, rear\n{kind} part: {stands}{row.example}")
