"""What a person reads when a rig is wrong: `tests/messages/NAME.rig` and, exactly, `NAME.txt`.

A file whose name does not begin with `several-` holds one mistake and earns one message.
`STILLHELD_ACCEPT=1` writes the `.txt` files anew; read what changed before you commit it.
"""

from __future__ import annotations

import os
import re
from functools import cache
from pathlib import Path

import pytest

import analyser
from analyser.checking.calling import chosen
from analyser.doors.commands.main import main
from analyser.language.mistakes import Mistake, Unreadable
from analyser.language.vocabulary import KNOTS_MEANT

FOLDER = Path(__file__).parent / "messages"
CASES = sorted(FOLDER.glob("*.rig"))


@cache
def mistakes_in(path: Path, text: str | None = None) -> tuple[Mistake, ...]:
    """Every mistake in a file, or in `text` read as if it stood in its place."""
    try:
        if text is None:
            analyser.read(path)
        else:
            analyser.read_text(text, path.name, path.parent)
    except Unreadable as error:
        return error.mistakes
    return ()


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_exactly_this_is_said(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["check", str(path)])
    said = capsys.readouterr()
    expected = path.with_suffix(".txt")
    if os.environ.get("STILLHELD_ACCEPT") == "1":
        expected.write_text(said.err, encoding="utf-8")
    assert status == 2
    assert said.out == ""
    assert said.err == expected.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_one_mistake_earns_one_message(path: Path) -> None:
    found = mistakes_in(path)
    assert (len(found) > 1) == path.stem.startswith("several-"), [one.text for one in found]


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_the_carets_stand_under_the_line(path: Path) -> None:
    for one in mistakes_in(path):
        lines = (FOLDER / one.place.file).read_text(encoding="utf-8").split("\n")
        assert 1 <= one.place.line <= len(lines)
        line = lines[one.place.line - 1]
        whole_file = one.place.line == one.place.column == one.place.end == 1
        assert whole_file or 1 <= one.place.column < one.place.end <= len(line) + 2, one
        if one.place.column <= len(line) and not line[one.place.column - 1 : one.place.end - 1].isspace():
            marked = line[one.place.column - 1 : one.place.end - 1]
            assert marked == marked.strip(), f"the carets take in blanks: {marked!r}"


def pasted(path: Path) -> tuple[int, str] | None:
    """The line and the file's text once the suggestion is pasted, where a whole line is suggested."""
    found = mistakes_in(path)
    one = found[0]
    written = re.match(r"(?:did you mean `[^`]*`\? )?write `([^`]+)`", one.help)
    if len(found) > 1 or not written or one.place.file != path.name or "…" in one.help:
        return None
    lines = path.read_text(encoding="utf-8").split("\n")
    line = lines[one.place.line - 1]
    old, new = line.split(), written.group(1).split()
    if old[0] != new[0] and old[1:] != new[1:] and (len(new) < 3 or old[-2:] != new[-2:]):
        return None  # a piece of the line, not the line
    more = re.findall(r"and, on a line of its own, `([^`]+)`", one.help)
    indent = line[: len(line) - len(line.lstrip())]
    lines[one.place.line - 1] = "\n".join(indent + piece for piece in (written.group(1), *more))
    return one.place.line, "\n".join(lines)


def test_a_pasted_suggestion_mends_its_line() -> None:
    whole_lines = 0
    for path in CASES:
        mended = pasted(path)
        if mended is None:
            continue
        whole_lines += 1
        line, text = mended
        before = mistakes_in(path)[0].text
        after = mistakes_in(path, text)
        assert not [one for one in after if one.place.line == line], (path.name, after)
        assert before not in [one.text for one in after], path.name
    assert whole_lines >= 60


def test_every_case_has_its_text_and_every_text_its_case() -> None:
    assert {path.stem for path in FOLDER.glob("*.txt")} == {path.stem for path in CASES}


def test_the_words_of_the_house() -> None:
    """Headlines begin small and end without a full stop; nothing is ever called safe."""
    for path in CASES:
        for one in mistakes_in(path):
            assert one.text[0].islower() or not one.text[0].isalpha(), one.text
            assert not one.text.endswith("."), one.text
            assert not re.search(r"\b(un)?safe", one.text + one.help, re.IGNORECASE)


MAY_HANG_ON_THE_BROKEN_LINE = {
    "failure-jo-lets-go",
    "failure-device-grips-nothing",
    "failure-edge-nothing-over-it",
    "several-failures",
    "include-itself",
    "stage-no-steps",
}
"""Text that is read without its file can include that file once. The others: whether a device grips or an
edge is passed, when a line that could not be read may be that very rope; whether a stage has steps, when it
may be one."""


MAY_FOLLOW_FROM_THE_BROKEN_LINE = {
    "failure-span-unknown", "gripped-by-unknown", "gripped-by-unknown-grab",
    "gripped-by-unknown-hitch", "let-grip-grips-already", "let-grip-needs-the-hand", "name-unknown",
    "over-padded-by-unknown", "pay-out-through-locked", "over-unknown", "require-plural-subject",
    "stage-derig-twice", "stage-detach-not-attached", "stage-detach-twice", "stage-land-twice", "stage-later-stage",
    "stage-slide-no-station", "stage-step-too-early", "through-unknown",
}  # fmt: skip
"""A name with none near it, which that line may have declared; what does not fit the state before a step, which
that line may have been a step towards. They are told once the line reads."""


@pytest.mark.parametrize("name", sorted(MAY_FOLLOW_FROM_THE_BROKEN_LINE))
def test_what_may_follow_from_a_line_that_cannot_be_read_waits(name: str) -> None:
    path = FOLDER / f"{name}.rig"
    before = {one.text for one in mistakes_in(path)}
    after = {one.text for one in mistakes_in(path, f"{path.read_text(encoding='utf-8').rstrip()}\nzzqq kk - - vv\n")}
    assert after - before == {"`zzqq` is neither a statement nor a kind of part"}
    assert len(before - after) == 1


def test_a_line_that_cannot_be_read_hides_no_other_mistake() -> None:
    """Put such a line at the end of each case: its own mistakes are all still told."""
    for path in CASES:
        text = path.read_text(encoding="utf-8")
        before = [one.text for one in mistakes_in(path)]
        if (
            path.stem in MAY_HANG_ON_THE_BROKEN_LINE | MAY_FOLLOW_FROM_THE_BROKEN_LINE
            or not text.strip()
            or text.startswith("#")
        ):
            continue
        after = [one.text for one in mistakes_in(path, f"{text.rstrip()}\nzzqq kk - - vv\n")]
        assert sorted(after) == sorted([*before, "`zzqq` is neither a statement nor a kind of part"]), path.stem


RIG = """rig "One ring, two bolts"
anchor left, right
ring master
attach left - sling left-sling - master
attach right - sling right-sling - master
person jo: standing
rope red
    tied to master with KNOT as red-knot
    held by jo
"""


@pytest.mark.parametrize(
    ("written", "meant"),
    [("figure-8", "figure-eight"), ("figure-of-eight", "figure-eight"), ("alpine-butterfly", "butterfly")],
)
def test_what_people_call_a_knot_is_known(written: str, meant: str) -> None:
    rig = analyser.read_text(RIG.replace("KNOT", written), "rig.rig", FOLDER)
    said = [one.text for one in rig.cautions if one.rule == "unknown-knot"]
    assert said == [f"the knot `{written}` is not in the catalogue: did you mean `{meant}`?"]


@pytest.mark.parametrize("knot", sorted({*KNOTS_MEANT.values()}))
def test_every_knot_meant_is_in_the_catalogue(knot: str) -> None:
    rig = analyser.read_text(RIG.replace("KNOT", knot), "rig.rig", FOLDER)
    assert not [one for one in rig.cautions if one.rule == "unknown-knot"]


@pytest.mark.parametrize(
    ("given", "text", "hint"),
    [
        (["master", "fails"], "`master` alone is not a failure of this rig", 'put it in quotes: "master fails"'),
        (["jo", "lets", "go"], "`jo` alone is not a failure of this rig", 'put it in quotes: "jo lets go"'),
        (["master falls"], "`master falls` is not a failure of this rig", "what can fail of it: master fails"),
        (["master", "falls"], "`master falls` is not a failure of this rig", "what can fail of it: master fails"),
        (["master"], "`master` is not a failure of this rig", "what can fail of it: master fails"),
    ],
)
def test_a_failure_on_the_command_line_that_cannot_be_found(given: list[str], text: str, hint: str) -> None:
    rig = analyser.read_text(RIG.replace("KNOT", "bowline"), "rig.rig", FOLDER)
    with pytest.raises(Unreadable) as told:
        chosen(rig, given)
    assert [(one.text, one.help) for one in told.value.mistakes] == [(text, hint)]
