"""What is read can be written again: every statement of every rig here, and random ones."""

from __future__ import annotations

import random
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from random_rigs import random_rig_text
from random_stages import random_stage

import grammar
from analyser.language import reference
from analyser.language.mistakes import Place
from analyser.language.parsing import parse_text
from analyser.language.spelling import spelt
from analyser.language.syntax import Statement
from analyser.rig.catalogue import catalogue

ROOT = Path(__file__).parent.parent
FILES = sorted([*(ROOT / "examples").rglob("*.rig"), *(ROOT / "tests" / "incidents").glob("*.rig")])


def statements(text: str) -> tuple[Statement, ...]:
    document = parse_text(text.encode(), "a.rig", None, set(catalogue()))
    assert not document.mistakes
    return document.statements


def plain(thing: object) -> object:
    """A statement without its places, and without the blanks of what it keeps as written."""
    if isinstance(thing, Place):
        return None
    if is_dataclass(thing) and not isinstance(thing, type):
        found = [(one.name, getattr(thing, one.name)) for one in fields(thing)]
        return type(thing).__name__, [
            (name, "".join(value.split()) if name == "words" and isinstance(value, str) else plain(value))
            for name, value in found
        ]
    return [plain(one) for one in thing] if isinstance(thing, tuple) else thing


def hold(text: str) -> None:
    for one in statements(text):
        again = "\n".join(spelt(one)) + "\n"
        (read,) = statements(again) if type(one).__name__ != "More" else (one,)
        if type(one).__name__ == "More":
            details = [detail for more in statements(again) for detail in more.details]  # type: ignore[attr-defined]
            assert [plain(one) for one in details] == [plain(detail) for detail in one.details], again
        else:
            assert plain(read) == plain(one), again


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_example(path: Path) -> None:
    hold(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("text", reference.rigs())
def test_every_rig_of_the_reference(text: str) -> None:
    hold(text)


def test_the_catalogue() -> None:
    hold(grammar.text("kinds.rig"))


@given(st.integers(0, 5000))
def test_random_rigs(seed: int) -> None:
    hold(random_rig_text(random.Random(seed), 1 + seed % 4))


@pytest.mark.parametrize("seed", range(20))
def test_random_stages(seed: int) -> None:
    hold(random_stage(seed, 8))


@pytest.mark.parametrize("guards", ["kept clear by boom", "padded by mat", "kept clear by boom, padded by mat"])
def test_what_keeps_a_rope_off_an_edge_is_not_called_padding(guards: str) -> None:
    (rope,) = statements(f"rope red\n    tied to tree\n    over lip, {guards}\n    tied to ring\n")
    assert f"over lip, {guards}" in "\n".join(spelt(rope))
    (edge,) = statements("edge lip: kept clear by boom\n")
    assert spelt(edge) == ["edge lip: kept clear by boom"]
