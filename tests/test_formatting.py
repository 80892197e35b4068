"""One layout for every rig: what is written stays written, what it means stays the same, twice is once."""

from __future__ import annotations

import io
import os
import random
import re
import sys
from dataclasses import fields, is_dataclass
from pathlib import Path
from textwrap import dedent

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_rigs import rig_texts

import analyser
import grammar
from analyser.doors.commands.main import main
from analyser.language import formatting
from analyser.language.formatting import laid_out
from analyser.language.mistakes import Place, Unreadable
from analyser.rig.catalogue import catalogue
from analyser.rig.model import Rig

ROOT = Path(__file__).parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("*.rig"))
REFERENCE = Path(grammar.__file__).parent / "reference.md"
BLOCK = re.compile(r"^```(rig(?!-wrong)(?:-[a-z]+)?)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
PIECES = BLOCK.findall(REFERENCE.read_text(encoding="utf-8"))
AS_WRITTEN = ("text", "words")
"""What a rig keeps in the words of its file: compared without blanks."""


def layout(text: str | bytes) -> str:
    return laid_out(text.encode() if isinstance(text, str) else text, "a.rig", catalogue())


def without_places(thing: object) -> object:
    """A rig, or a piece of one, as nested tuples that know nothing of lines and columns."""
    if isinstance(thing, Place):
        return "somewhere"
    if is_dataclass(thing):
        found = []
        for one in (one for one in fields(thing) if one.compare):
            value = getattr(thing, one.name)
            written = one.name in AS_WRITTEN and isinstance(value, str)
            found.append((one.name, re.sub(r"\s", "", value) if written else without_places(value)))
        return type(thing).__name__, tuple(found)
    if isinstance(thing, dict):
        return tuple((key, without_places(value)) for key, value in thing.items())
    if isinstance(thing, (tuple, list)):
        return tuple(map(without_places, thing))
    return thing


def same_rig(a: Rig, b: Rig) -> bool:
    return without_places(a) == without_places(b)


def comments_and_quotes(text: str) -> tuple[list[str], list[str]]:
    """Every comment and every quoted text, in order, told without the parser."""
    comments, quotes = [], []
    for line in re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff")):
        kept = re.sub(r"[\w-]#\d+", "", line)
        for one in re.finditer(r'"[^"]*"|#.*', kept):
            (comments if one[0].startswith("#") else quotes).append(one[0].rstrip())
    return comments, quotes


def hold(text: str) -> None:
    """What must be true of every layout."""
    once = layout(text)
    assert layout(once) == once
    assert comments_and_quotes(once) == comments_and_quotes(text)
    assert same_rig(
        analyser.read_text(once, folder=ROOT / "examples"), analyser.read_text(text, folder=ROOT / "examples")
    )
    assert not re.search(r"[ \t\r]\n|\n\n\n|^\n|\n\n$|\n *\t", once) and once.endswith("\n")


LAID_OUT = {
    "blanks": (
        'rig   "A  b"\nanchor left ,right:strength 25   kN,  is "x ,y"\nattach left-carabiner\t crab -a.b\n'
        "likelihood left fails,right fails :1e-3",
        'rig "A  b"\nanchor left, right: strength 25 kN, is "x ,y"\nattach left-carabiner crab - a.b\n'
        "likelihood left fails, right fails: 1e-3\n",
    ),
    "marks": (
        "load crate: points a,b,c,d,ends a,b|c,d,at(1 ,-2,3)\nrope red:stretch 3% at 150 kg\n"
        "cause x: red [ a .. b#2 ] is cut",
        "load crate: points a, b, c, d, ends a, b | c, d, at (1, -2, 3)\nrope red: stretch 3 % at 150 kg\n"
        "cause x: red[a..b#2] is cut\n",
    ),
    "depths": (
        'stage "x"\n  rerig red\n     through a\n     # of the rope\n  # of the stage\n  open b\n'
        " # of the margin\nring c\n# last\n",
        'stage "x"\n    rerig red\n        through a\n        # of the rope\n    # of the stage\n    open b\n'
        "# of the margin\nring c\n# last\n",
    ),
    "a comment goes with what follows, however little it is indented": (
        "rope red\n# first\n    tied to a\n# second\n    tied to b\n# apart\nring c\n",
        "rope red\n    # first\n    tied to a\n    # second\n    tied to b\n# apart\nring c\n",
    ),
    "a block of comments alone stays where it is": (
        'stage "later"\n   # lower, then turn\n   #   twice\nring a',
        'stage "later"\n    # lower, then turn\n    #   twice\nring a\n',
    ),
    "blank lines": ("\n\n# one\n\n\n\nring a\n \t\nring b\n\n\n", "# one\n\nring a\n\nring b\n"),
    "columns of details": (
        "anchor a, long-name, c: strength 25 kN\n  a: at (0, 0, 12)\n  long-name: at (1, 0, 12)\n\n  c: at (1, 1, 1)\n",
        "anchor a, long-name, c: strength 25 kN\n    a:         at (0, 0, 12)\n    long-name: at (1, 0, 12)\n\n"
        "    c: at (1, 1, 1)\n",
    ),
    "names that differ too much make no column": (
        f"ring a, {'b' * 40}\n  a: 1 kg\n  {'b' * 40}: 1 kg\n",
        f"ring a, {'b' * 40}\n    a: 1 kg\n    {'b' * 40}: 1 kg\n",
    ),
    "comments at line ends": (
        "ring a # one\nring abcdef   # two\nring x\nring abc# three\nring alone\nring alone-too\nring b #four\n",
        "ring a       # one\nring abcdef  # two\nring x\nring abc     # three\nring alone\n"
        "ring alone-too\nring b  #four\n",
    ),
    "comments that go on below": (
        "person vic: 80 kg    # the patient,\n                     # on oxygen\nring a\n",
        "person vic: 80 kg  # the patient,\n                   # on oxygen\nring a\n",
    ),
    "a new column where lines differ too much": (
        f"ring a # one\nring bc # two\nring {'b' * 40} # three\nring {'c' * 41} # four\n",
        f"ring a   # one\nring bc  # two\nring {'b' * 40}   # three\nring {'c' * 41}  # four\n",
    ),
    "comments too far apart": (
        f"ring a # one\nring {'b' * 40} # two\n",
        f"ring a  # one\nring {'b' * 40}  # two\n",
    ),
    "other systems' files": ("\ufeffring a\r\n\r\n\r\nring b\rring c # x\r\n", "ring a\n\nring b\nring c  # x\n"),
}


@pytest.mark.parametrize("name", LAID_OUT)
def test_laid_out(name: str) -> None:
    before, after = LAID_OUT[name]
    assert layout(before) == after
    assert layout(after) == after


def test_what_it_looks_like() -> None:
    text = """
    rig "Two lines"
    anchor left, right-bolt # sound rock
      left:at(0,0,12)
      right-bolt:at(1,0,12)
    person ann:points waist,chest


    rope red:11 mm,60 m
     tied to left with figure-eight as red-top
     gripped by descender rack  -carabiner crab -ann.waist , load from red-top
     stopper
    require everyone held  after any 1 failure
    """
    assert layout(dedent(text)) == dedent("""\
    rig "Two lines"
    anchor left, right-bolt  # sound rock
        left:       at (0, 0, 12)
        right-bolt: at (1, 0, 12)
    person ann: points waist, chest

    rope red: 11 mm, 60 m
        tied to left with figure-eight as red-top
        gripped by descender rack - carabiner crab - ann.waist, load from red-top
        stopper
    require everyone held after any 1 failure
    """)


@pytest.mark.parametrize("path", [*EXAMPLES, REFERENCE.with_name("kinds.rig")], ids=lambda path: path.name)
def test_our_own_rigs_are_laid_out(path: Path) -> None:
    """`stillheld format examples/*.rig grammar/kinds.rig` mends this."""
    assert layout(path.read_bytes()) == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("language, text", PIECES)
def test_the_reference_is_laid_out(language: str, text: str) -> None:
    """`python tests/test_formatting.py` mends this."""
    assert layout(text) == text


def test_an_included_kit_is_not_followed(tmp_path: Path) -> None:
    """A kit has no title, and its rig may not be there: each file is laid out by itself."""
    assert layout('include   "../nowhere.rig"\nring a') == 'include "../nowhere.rig"\nring a\n'


@settings(max_examples=60, deadline=None)
@given(rig_texts(2))
def test_random_rigs(text: str) -> None:
    hold(text)


def shaken(rng: random.Random, text: str) -> str:
    """The same rig in another layout: blanks, tabs, blank lines, comments, line ends, a byte order mark."""
    text = layout(text)  # so that every level is four blanks
    width = rng.choice(("  ", "   ", "\t", " \t", "        "))
    lines = []
    for line in text.splitlines():
        indent = width * ((len(line) - len(line.lstrip())) // 4)
        code = line.strip()
        pieces = re.split(r'("[^"]*"|#(?!\d).*)', code)
        for n in range(0, len(pieces), 2):
            pieces[n] = re.sub(" ", lambda _: rng.choice((" ", " ", "  ", "\t", " \t ")), pieces[n])
            pieces[n] = re.sub(r"(?<=[,:)|])(?! )|(?=[,:(|\[\]])", lambda _: rng.choice(("", "", " ")), pieces[n])
            if rng.randrange(4) == 0:
                pieces[n] = re.sub(r"(?<=[,:)|(])[ \t]+", "", pieces[n])
        code = "".join(pieces)
        if code and "#" not in code and rng.randrange(5) == 0:
            code += rng.choice((" ", "", "\t", "   ")) + rng.choice(
                ("# note", "#note", '# a "quoted" word', "# #3 , :")
            )
        lines.append((indent if code else "") + code + rng.choice(("", "", " ", "\t")))
        while rng.randrange(8) == 0:
            lines.append(rng.choice(("", "  ", "\t", "# between", "   # between  ", "\t\t#\tbetween", "#")))
    return rng.choice(("", "\ufeff")) + rng.choice(("\n", "\r\n", "\r")).join(lines) + rng.choice(("", "\n", "\n\n"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_examples_in_any_other_layout(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for seed in range(4):
        other = shaken(random.Random(seed), text)
        assert same_rig(analyser.read_text(other), analyser.read_text(text)), "shaking changed the rig itself"
        hold(other)


@pytest.mark.parametrize("text", [text for language, text in PIECES if language == "rig-part"])
def test_every_statement_in_any_other_layout(text: str) -> None:
    """The pieces of the reference hold every word of the language; they are read after its yard."""
    yard = next(piece for _, piece in PIECES if piece.startswith('rig "The yard"'))
    for seed in range(2):
        hold(shaken(random.Random(seed), yard + text))


@settings(max_examples=40, deadline=None)
@given(rig_texts(2), st.integers(0, 10**6))
def test_random_rigs_in_any_other_layout(text: str, seed: int) -> None:
    hold(shaken(random.Random(seed), text))


def test_the_comparison_of_rigs_sees_a_change() -> None:
    """Guards the tests above: two rigs that differ in a name, a number or an order are not the same."""
    one = analyser.read_text('rig "a"\nanchor b: strength 22 kN\nring c\nattach b - c\n')
    other = analyser.read_text('rig "a"\n\nanchor  b:  strength 22 kN\nring c\nattach b - c\n')
    assert same_rig(one, other) and one != other
    for text in (
        'rig "a"\nanchor b: strength 21 kN\nring c\nattach b - c\n',
        'rig "a"\nring c\nanchor b: 22 kN\nattach c - b\n',
    ):
        assert not same_rig(one, analyser.read_text(text))


def test_what_cannot_be_read_is_refused() -> None:
    with pytest.raises(Unreadable) as caught:
        layout('rig "a"\nattach left -\nrequire everyone has two attachments\n')
    assert [one.place.line for one in caught.value.mistakes] == [2, 3]


def test_a_line_that_would_be_too_long_is_refused() -> None:
    text = "ring " + ",".join(f"r{n}" for n in range(400)) + "\n"
    assert len(text) < 2000
    with pytest.raises(Unreadable, match="longer than 2,000"):
        layout(text)


def test_a_layout_that_would_say_something_else_is_not_given(monkeypatch: pytest.MonkeyPatch) -> None:
    """The last look before a text is handed out: here the layout runs words together, or loses a depth."""
    text = 'rig "a"\nrope red  # x\n  tied to a\n  tied to b\n'
    for name, value in (("TIGHT_AFTER", {"tied", "to"}), ("DEEPER", 0)):
        with monkeypatch.context() as broken, pytest.raises(Unreadable, match="would change what it says"):
            broken.setattr(formatting, name, value)
            layout(text)


# ---- the command

UGLY = 'rig  "a"\nring   b\n'
FAIR = 'rig "a"\nring b\n'


def test_writing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.rig"
    path.write_text(UGLY)
    path.chmod(0o640)
    assert main(["format", str(path)]) == 0
    assert path.read_text() == FAIR and path.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [path]
    assert capsys.readouterr().out == f"{path}: laid out\n"


def test_what_is_laid_out_is_not_touched(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.rig"
    path.write_text(FAIR)
    before = path.stat()
    assert main(["format", str(path)]) == 0
    after = path.stat()
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    assert capsys.readouterr().out == ""


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.rig", tmp_path / "link.rig"
    real.write_text(UGLY)
    link.symlink_to(real)
    assert main(["format", str(link)]) == 0
    assert link.is_symlink() and real.read_text() == FAIR


def test_looking_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ugly, fair = tmp_path / "ugly.rig", tmp_path / "fair.rig"
    ugly.write_text(UGLY)
    fair.write_text(FAIR)
    assert main(["format", "--check", str(ugly), str(fair)]) == 1
    assert capsys.readouterr().out == f"{ugly}\n"
    assert main(["format", "--check", str(fair)]) == 0
    assert main(["format", "--diff", str(ugly), str(fair)]) == 1
    shown = capsys.readouterr().out
    assert '-rig  "a"\n-ring   b\n+rig "a"\n+ring b\n' in shown and "fair" not in shown
    assert ugly.read_text() == UGLY


def test_a_file_with_a_mistake_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad, ugly = tmp_path / "bad.rig", tmp_path / "ugly.rig"
    bad.write_text('rig  "a"\nattach b -\n')
    ugly.write_text(UGLY)
    assert main(["format", str(bad), str(ugly), str(tmp_path / "none.rig")]) == 2
    said = capsys.readouterr().err
    assert "bad.rig:2:" in said and "none.rig:1:1: there is no such file" in said
    assert bad.read_text() == 'rig  "a"\nattach b -\n' and ugly.read_text() == FAIR


def test_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    for arguments, status, out in (((), 0, FAIR), (("--check",), 1, "standard input\n")):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(UGLY.encode())))
        assert main(["format", "-", *arguments]) == status
        assert capsys.readouterr().out == out


def test_the_original_is_never_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever step of the writing fails, the file is whole and no other file is left behind."""
    path = tmp_path / "a.rig"
    path.write_text(UGLY)

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    for module, name in ((os, "fsync"), (Path, "replace"), (Path, "chmod"), (os, "fdopen")):
        with monkeypatch.context() as broken:
            broken.setattr(module, name, full)
            assert main(["format", str(path)]) == 2
        assert path.read_text() == UGLY
        assert list(tmp_path.iterdir()) == [path]


def test_what_was_saved_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.rig"
    path.write_text(UGLY)
    sync = os.fsync

    def save(number: int) -> None:
        sync(number)
        path.write_text('rig "newer"\n')

    monkeypatch.setattr(os, "fsync", save)
    assert main(["format", str(path)]) == 2
    assert path.read_text() == 'rig "newer"\n' and list(tmp_path.iterdir()) == [path]


if __name__ == "__main__":
    page = REFERENCE.read_text(encoding="utf-8")
    REFERENCE.write_text(BLOCK.sub(lambda one: f"```{one[1]}\n{layout(one[2])}```", page), encoding="utf-8")
