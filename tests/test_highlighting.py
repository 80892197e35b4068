"""Highlighting: the words of the language are known, every valid rig is coloured whole, editors too."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pygments.lexers import get_lexer_by_name, get_lexer_for_filename
from pygments.token import Comment, Error, Keyword, Name, Number, String
from random_rigs import rig_texts

import analyser
import grammar
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Nature
from grammar.highlighting import EDITORS, RigLexer, keywords, kinds, rules, textmate

ROOT = Path(__file__).parent.parent
LEXER = RigLexer(stripnl=False, ensurenl=False)
TEMPLATES = Path(grammar.__file__).parent / "templates"


RIGS = sorted(
    [
        *(ROOT / "examples").glob("*.rig"),
        *TEMPLATES.glob("*.rig"),
        *(ROOT / "tests" / "found").glob("*.rig"),
        Path(grammar.__file__).parent / "kinds.rig",
    ]
)
REFERENCE = re.findall(r"^```rig(?:-part|-kit|-with-kit)?\n(.*?)^```$", grammar.text("reference.md"), re.M | re.S)


def tokens(text: str) -> list[tuple[object, str]]:
    return list(LEXER.get_tokens(text))


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_a_valid_rig_has_no_error_token(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not [piece for kind, piece in tokens(text) if kind is Error]


@pytest.mark.parametrize("number", range(len(REFERENCE)))
def test_the_reference_has_no_error_token(number: int) -> None:
    assert not [piece for kind, piece in tokens(REFERENCE[number]) if kind is Error]


@settings(max_examples=40, deadline=None)
@given(rig_texts(2))
def test_random_rigs_have_no_error_token(text: str) -> None:
    assert not [piece for kind, piece in tokens(text) if kind is Error]


@given(st.text())
def test_no_text_is_lost_or_changed(text: str) -> None:
    text = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff")  # Pygments' own reading
    assert "".join(piece for _, piece in tokens(text)) == text


@pytest.mark.parametrize("path", sorted((ROOT / "tests" / "messages").glob("*.rig")), ids=lambda path: path.stem)
def test_rigs_with_mistakes_keep_their_text(path: Path) -> None:
    text = path.read_bytes().decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff")
    assert "".join(piece for _, piece in tokens(text)) == text


def test_what_is_not_of_the_language_is_an_error() -> None:
    assert [piece for kind, piece in tokens("rig “Quotes from a word processor”\n") if kind is Error] == ["“", "”"]
    assert [piece for kind, piece in tokens("attach a – b\n") if kind is Error] == ["–"]


def test_the_words_are_those_of_the_language() -> None:
    """Guards the reading of the grammar's text: nothing is listed here a second time."""
    assert set(kinds()) == set(catalogue()) - {"rope"}  # a statement first of all
    lark = re.findall(r"^([A-Z_]+)\.2: ", grammar.text("rig.lark"), re.MULTILINE)
    twice = {"ROPE_END", "SLIPPING", "LINED"}  # the words `end`, `slips` and `in`, as END, SLIPS and IN are
    assert len(keywords()) == len(set(lark) - {"UNIT"} - twice) > 90
    assert all(re.compile(one) for one in keywords())


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.rig")), ids=lambda path: path.stem)
def test_names_kinds_and_words_are_told_apart(path: Path) -> None:
    rig = analyser.read(path)
    word = re.compile(f"(?:{'|'.join(keywords())})")
    names = {part.name for part in rig.parts.values() if part.nature is not Nature.POINT}
    names = {name for name in names if not word.fullmatch(name) and name not in kinds()}
    told = tokens(path.read_text(encoding="utf-8"))
    for (kind, piece), (_, after) in zip(told, [*told[1:], (None, "")], strict=True):
        if kind in (Comment.Single, String.Double):
            continue
        if piece in names or after == ".":  # `basket.head` is a point of a litter, `basket round` a word
            assert kind is Name, piece
        elif piece in kinds() and not word.fullmatch(piece):
            assert kind is Keyword.Type, piece
        elif word.fullmatch(piece) and piece not in kinds():
            assert kind is Keyword or (piece == "in" and kind is Keyword.Constant), piece  # inches
    assert {piece for kind, piece in told if kind is Name} & names


def test_units_a_place_in_feet_and_a_day() -> None:
    text = "units lbf, ft, lb\nrevision 4, dated 2026-11-28\nanchor bolt: at (0, 0, 40) ft\n"
    told = [(kind, piece) for kind, piece in tokens(text) if piece.strip(" ,()\n")]
    assert [piece for kind, piece in told if kind is Keyword.Constant] == ["lbf", "ft", "lb", "ft"]
    assert [piece for kind, piece in told if kind is Number] == ["4", "2026-11-28", "0", "0", "40"]
    assert not [piece for kind, piece in told if kind is Name and piece != "bolt"]


def test_a_line_piece_by_piece() -> None:
    line = "rope red: 11 mm\n    tied to carabiner load - sam.waist with bowline # end\nteam-ring big, small\n"
    shown = [(str(kind).removeprefix("Token."), piece) for kind, piece in tokens(line) if piece.strip()]
    assert shown == [
        ("Keyword", "rope"), ("Name", "red"), ("Punctuation", ":"),
        ("Literal.Number", "11"), ("Keyword.Constant", "mm"),
        ("Keyword", "tied"), ("Keyword", "to"), ("Keyword.Type", "carabiner"), ("Keyword", "load"),
        ("Punctuation", "-"), ("Name", "sam"), ("Punctuation", "."), ("Name.Attribute", "waist"),
        ("Keyword", "with"), ("Keyword.Type", "bowline"), ("Comment.Single", "# end"),
        ("Keyword.Type", "team-ring"), ("Name", "big"), ("Punctuation", ","), ("Name", "small"),
    ]  # fmt: skip


def test_pygments_finds_the_lexer() -> None:
    """By its entry point: the package has to be installed."""
    assert isinstance(get_lexer_by_name("rig"), RigLexer)
    assert isinstance(get_lexer_for_filename("plan.rig"), RigLexer)


def test_the_editors_grammar_is_up_to_date() -> None:
    shown = EDITORS.read_text(encoding="utf-8")
    assert shown == textmate(), "the language has changed: write it anew with `python -m grammar.highlighting`"
    data = json.loads(shown)
    assert (data["scopeName"], data["fileTypes"]) == ("source.rig", ["rig"])
    for one in data["patterns"]:
        assert re.compile(one["match"]).groups >= max(map(int, one["captures"]))
        assert all(scope["name"].endswith(".rig") for scope in one["captures"].values())


def test_each_piece_of_a_match_is_coloured() -> None:
    assert all(re.compile(rule.pattern).groups == len(rule.pieces) for rule in rules())


def test_the_language_stands_without_the_analyser() -> None:
    code = "import sys, grammar; a = set(sys.modules); import grammar.highlighting; print(*a, '|', *sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    before, after = run.stdout.split("|")
    assert "pygments" not in before.split()
    assert not [module for module in after.split() if module.startswith("analyser")]
