"""What is fed to the reader by accident or on purpose: refused with a reason, quickly, never with a
traceback, and with nothing written anywhere."""

from __future__ import annotations

import io
import json
import os
import random
import re
import sys
from functools import partial
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from pace import soon

import analyser
from analyser.doors.commands.main import main
from analyser.language.mistakes import Mistake, Unreadable, edits, near
from analyser.language.source import MOST_BYTES

HERE = Path(__file__).parent
GOOD = """rig "Two bolts, one ring"
anchor left, right
ring master
person jo: standing
person sam: 80 kg, points waist, chest
edge lip
pad mat
attach left - sling left-sling - master
attach right - sling right-sling - master
attach left - descender rack
rack: operated by jo, self-locking
rope red: 11 mm, 60 m
    gripped by rack, load from red-tail
    over lip, padded by mat
    tied to sam.waist with figure-eight as red-tail
attach master - strap tether - sam.chest
cause rockfall: red[lip..red-tail] is cut, left fails
sound master fails: "forged ring, inspected"
accept lip cuts: "rounded and padded"
require every person has 2 independent attachments
stage "Lower"
    detach tether from master
    say "down slow"
"""


def read(data: str | bytes) -> tuple[Mistake, ...]:
    """What is wrong with a rig; nothing when it reads."""
    try:
        analyser.read_text(data, "a.rig", HERE / "no-such-folder")
    except Unreadable as error:
        assert_places(error)
        return error.mistakes
    return ()


def assert_places(error: Unreadable) -> None:
    """At least one mistake, each at a place that exists in its file, each with words."""
    assert error.mistakes
    for one in error.mistakes:
        lines = error.sources.get(one.place.file, [])
        assert one.text.strip()
        assert one.place.line >= 1
        assert one.place.column >= 1
        assert one.place.end >= one.place.column
        if lines:
            assert one.place.line <= len(lines), one
            assert one.place.column <= len(lines[one.place.line - 1]) + 1, one


def checked(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(["check", *arguments])
    said = capsys.readouterr()
    return status, said.out, said.err


def file_of(folder: Path, data: str | bytes, name: str = "a.rig") -> str:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return str(path)


# -- what is not text, or too much of it


@pytest.mark.parametrize(
    ("data", "line", "text"),
    [
        (b"", 1, "this file is empty"),
        (b"\n  \n\t\n", 1, "this file is empty"),
        (b"\xef\xbb\xbf", 1, "this file is empty"),
        (b"# later\n", 1, "there is no statement here"),
        (bytes(range(256)) * 40, 2, "this is not UTF-8 text"),
        (b'rig "a"\nanchor b\nring \xff\n', 3, "this is not UTF-8 text"),
        (b'rig "a"\r\n# caf\xe9\r\nring b\r\n', 2, "this is not UTF-8 text"),
        (b'rig "a"\nanchor b\0c\n', 2, "this is not text: it holds a zero byte"),
        ('rig "a"\n'.encode("utf-16"), 1, "this is not UTF-8 text"),
        (b'rig "a"\nanchor ' + b"x" * 5000, 2, "this line is longer than 2,000 characters"),
        (b'rig "a"\nanchor ' + b"[" * 10_000, 2, "this line is longer than 2,000 characters"),
    ],
)
def test_what_is_not_a_rig_is_refused_at_the_right_line(data: bytes, line: int, text: str) -> None:
    (one,) = read(data)
    assert (one.place.line, one.text) == (line, text)


@pytest.mark.parametrize(
    "data", [b"x" * 10_000_000, b"anchor a\n" * 1_200_000, b"\xff" * 10_000_000, b"\0" * 10_000_000]
)
def test_ten_megabytes_are_refused_at_once(tmp_path: Path, data: bytes) -> None:
    path = file_of(tmp_path, data)

    def refused() -> Unreadable:
        with pytest.raises(Unreadable) as caught:
            analyser.read(path)
        return caught.value

    (mistake,) = soon(refused).mistakes
    assert "larger than 2 MB" in mistake.text


def test_no_more_than_the_limit_is_read_from_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    class Endless(io.RawIOBase):
        taken = 0

        def readable(self) -> bool:
            return True

        def read(self, size: int = -1) -> bytes:
            assert size > 0
            self.taken += size
            return b"#" * size

    class Stdin:
        buffer = Endless()

    monkeypatch.setattr(sys, "stdin", Stdin())
    assert main(["check", "-"]) == 2
    assert Stdin.buffer.taken <= MOST_BYTES + 1


@pytest.mark.parametrize(
    "data",
    [
        "".join(" " * depth + "a:\n" for depth in range(10_000)),
        "".join(" " * depth + "anchor a\n" for depth in range(1_900)),
        "a:\n" + "".join(" " * depth + "b: strength 2 kN\n" for depth in range(1, 1_900)),
        'rig "a"\nrope red\n' + "  tide to x\n" * 20_000,
        'rig "a"\nstage "b"\n' + "  " + "\n  ".join("(" * (n % 50) for n in range(20_000)),
        'rig "a"\n' + "zzz yy xx\n" * 20_000,
        'rig "a"\n' + "    zzz yy xx\n" * 20_000,
        'rig "a"\n' + "\t x\n  \ty\n" * 20_000,
        'rig "a"\nanchor '
        + ", ".join(f"a{n}" for n in range(250))
        + "\n"
        + "attach "
        + " - ".join(["a1"] * 300)
        + "\n",
        'rig "a"\n' + "[" * 1_900 + "\n",
        'rig "a"\n' + "accept " + "a[" * 900 + ': "b"\n',
        'rig "a"\nattach ' + "- " * 900 + "\n",
        'rig "a"\nattach ' + "a b " * 450 + "\n",
        'rig "a"\nattach ' + "a-" * 900 + "b\n",
        'rig "a"\n' + "".join(f"attach n{n} - m{n}\n" for n in range(3_000)),
        'rig "a"\nanchor b\n' + "".join(f"ring part-{n}\nattach b - prat-{n}\n" for n in range(1_000)),
    ],
    ids=lambda data: re.sub(r"\s+", " ", data)[:24],
)
def test_deep_long_and_endless_mistakes_take_no_longer_than_good_texts(data: str) -> None:
    assert 1 <= len(soon(partial(read, data))) <= 50


def test_a_text_takes_as_long_as_its_parts() -> None:
    """16 times as long as what it is measured with: if each line looked at all others, it would take 256 times."""
    lines = "".join(f"anchor a{n}\nring r{n}\nattach a{n} - r{n}\n" for n in range(1_600))
    assert len(soon(lambda: analyser.read_text(f'rig "a"\n{lines}')).parts) == 3_200


def test_a_cause_that_lists_causes_that_list_causes_does_not_run_away() -> None:
    """Each of 40 causes lists the two after it: 2^40 paths, and still read at once."""
    causes = "".join(f"cause c{n}: c{n + 1} strikes, c{n + 2} strikes\n" for n in range(40))
    text = f'rig "a"\nanchor b\n{causes}cause c40: b fails\ncause c41: b fails\n'
    assert soon(partial(read, text)) == ()


def test_a_long_chain_of_causes_is_read() -> None:
    causes = "".join(f"cause c{n}: c{n + 1} strikes\n" for n in range(2_000))
    assert read(f'rig "a"\nanchor b\n{causes}cause c2000: b fails\n') == ()


# -- what text editors do


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: "\ufeff" + text,
        lambda text: "\ufeff" + text.replace("\n", "\r\n"),
        lambda text: text.rstrip("\n"),
        lambda text: text + "\n\n   \n\t\n# the end",
        lambda text: text.replace("    ", "\t"),
        lambda text: text.replace("\n", "   \n"),
        lambda text: text.replace("\n    ", "\n  "),
    ],
    ids=["crlf", "cr", "bom", "bom and crlf", "no last newline", "blank end", "tabs", "trailing blanks", "two blanks"],
)
def test_what_an_editor_does_to_a_file_changes_nothing(change: object) -> None:
    assert callable(change)
    was, now = analyser.read_text(GOOD), analyser.read_text(change(GOOD))
    assert was.title == now.title
    assert list(was.parts) == list(now.parts)
    assert [rope.spans for rope in was.ropes] == [rope.spans for rope in now.ropes]
    assert [failure.id for failure in was.failures] == [failure.id for failure in now.failures]


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_lines_are_counted_alike_whatever_ends_them(ends: str) -> None:
    (one,) = read(GOOD.replace("ring master", "rong master").replace("\n", ends))
    assert (one.place.line, one.place.column, one.place.end) == (3, 1, 5)


def test_columns_count_letters_not_bytes() -> None:
    (one,) = read('rig "a"\nanchor été, b\nattach été - c\n'.replace("c\n", "mâitre\n"))
    assert (one.place.line, one.place.column, one.place.end) == (3, 14, 20)


def test_the_caret_stands_under_the_word_behind_tabs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = 'rig "a"\nanchor b\nrope red\n\ttied to b\n\ttied to\t\tzed\n'
    _, _, said = checked(capsys, file_of(tmp_path, text))
    line, carets = said.split("\n")[1:3]
    assert line.index("zed") == carets.index("^")
    assert carets.count("^") == 3


# -- files that are not files


def test_a_folder_a_missing_file_and_a_device(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, text in (
        (str(tmp_path), "there is no .rig file in this folder or below"),
        (str(tmp_path / "none.rig"), "there is no such file"),
        ("/dev/null", "this is not an ordinary file"),
        ("x" * 5000, "this file cannot be read: File name too long"),
    ):
        status, out, said = checked(capsys, name)
        assert (status, out) == (2, "")
        assert text in said


def test_a_pipe_without_a_writer_is_not_waited_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "pipe.rig")
    status, _, said = checked(capsys, str(tmp_path / "pipe.rig"))
    assert (status, "not an ordinary file" in said) == (2, True)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name = file_of(tmp_path, GOOD)
    Path(name).chmod(0)
    status, _, said = checked(capsys, name)
    assert (status, "cannot be read: Permission denied" in said) == (2, True)


def test_the_machine_refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same, for root too: opening fails as it does without permission."""
    name = file_of(tmp_path, GOOD)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    status, out, said = checked(capsys, name)
    assert (status, out) == (2, "")
    assert "a.rig:1:1: this file cannot be read: Permission denied" in said


# -- includes


def test_a_long_ring_of_includes_is_told_once(tmp_path: Path) -> None:
    for n in range(15):
        file_of(tmp_path, f'include "{(n + 1) % 15}.rig"\n', f"{n}.rig")
    name = file_of(tmp_path, f'rig "a"\ninclude "0.rig"\n{GOOD.split(chr(10), 1)[1]}')
    with pytest.raises(Unreadable) as caught:
        analyser.read(name)
    assert [(one.place.file, one.place.line) for one in caught.value.mistakes] == [("14.rig", 1)]


def test_a_thousand_includes_inside_one_another(tmp_path: Path) -> None:
    for n in range(1_000):
        file_of(tmp_path, f'include "{n + 1}.rig"\n', f"{n}.rig")
    file_of(tmp_path, "anchor deepest\n", "1000.rig")
    name = file_of(tmp_path, 'rig "a"\ninclude "0.rig"\n')
    with pytest.raises(Unreadable) as caught:
        analyser.read(name)
    assert "deep" in caught.value.mistakes[0].text


@pytest.mark.parametrize(
    "name",
    ["../out.rig", "/etc/hostname", "kit/../../out.rig", "link.rig", "linked/out.rig", "..", "~/out.rig", "a\0b"],
)
def test_nothing_outside_the_folder_is_read(tmp_path: Path, name: str) -> None:
    inside = tmp_path / "in"
    (inside / "kit").mkdir(parents=True)
    file_of(tmp_path, "anchor secret\n", "out.rig")
    (inside / "link.rig").symlink_to(tmp_path / "out.rig")
    (inside / "linked").symlink_to(tmp_path)
    text = f'rig "a"\ninclude "{name}"\nanchor b\n'
    with pytest.raises(Unreadable) as caught:
        analyser.read_text(text, "a.rig", inside)
    assert "secret" not in str(caught.value.sources)
    assert [one.place.line for one in caught.value.mistakes][:1] == [2]


def test_a_kit_included_twice_is_read_once(tmp_path: Path) -> None:
    file_of(tmp_path, "kind big-ring like ring\nanchor b\n", "kit.rig")
    rig = analyser.read(file_of(tmp_path, 'rig "a"\ninclude "kit.rig"\ninclude "kit.rig"\ninclude "./kit.rig"\n'))
    assert list(rig.parts) == ["b"]


def test_nothing_is_written_where_the_rig_lies(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file_of(tmp_path, "kind big-ring like ring\n", "kit.rig")
    good = file_of(tmp_path, GOOD.replace("anchor", 'include "kit.rig"\nanchor', 1))
    bad = file_of(tmp_path, GOOD.replace("ring", "rong"), "b.rig")
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in tmp_path.rglob("*")}
    checked(capsys, good, bad)
    checked(capsys, "--json", good, bad)
    assert {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in tmp_path.rglob("*")} == before


# -- the command line


def test_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    class Stdin:
        buffer = io.BytesIO(GOOD.replace("ring master", "rong master").encode())

    monkeypatch.setattr(sys, "stdin", Stdin())
    status, out, said = checked(capsys, "-")
    assert (status, out) == (2, "")
    assert said.startswith("standard input:3:1: there is no kind of part called `rong`\n")


def test_mistakes_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = GOOD.replace("ring master", "rong master").replace("80 kg", "80kg")
    status, out, said = checked(capsys, "--json", file_of(tmp_path, text))
    assert (status, said) == (2, "")
    document = json.loads(out)
    assert document["format"] == "stillheld/2"
    assert set(document) == {"format", "document", "errors", "held"} and document["held"] == []
    assert [(one["file"], one["line"], one["column"], one["end_column"]) for one in document["errors"]] == [
        ("a.rig", 3, 1, 5),
        ("a.rig", 5, 13, 17),
    ]
    for one in document["errors"]:
        assert set(one) == {"of", "file", "line", "column", "end_column", "text", "help"}
        assert all(type(one[key]) is int for key in ("line", "column", "end_column"))
        assert all(type(one[key]) is str for key in ("file", "text", "help"))


def test_of_several_files_the_good_ones_are_still_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good, bad = file_of(tmp_path, GOOD), file_of(tmp_path, "ring", "b.rig")
    also = file_of(tmp_path, GOOD.replace("Two bolts", "Three bolts"), "c.rig")
    status, out, said = checked(capsys, good, bad, also)
    assert status == 2
    assert "Two bolts, one ring" in out
    assert "Three bolts, one ring" in out
    assert re.findall(r"^[\w.]+:\d+:\d+", said, re.MULTILINE) == ["b.rig:1:1", "b.rig:1:1"][: said.count("b.rig:1:1")]
    status, out, said = checked(capsys, "--json", good, bad, also)
    documents = json.loads(out)
    assert (status, said) == (2, "")
    assert ["errors" in one for one in documents] == [False, True, False]


HOSTILE = [
    "[/b]", "[red]x[/red]", "<b>", "</td>", "a:b", "{0}", "%s%n", "\\", "\\n", "\\u0041", "'; rm", "$(x)", "`x`",
    "&amp;", ":anchor:", "\u202egnir", "\u200f", "\u2028", "e\u0301", "\U0001f9d7",
]  # fmt: skip


@pytest.mark.parametrize("odd", HOSTILE)
def test_odd_titles_and_names_stay_what_they_are(odd: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In a title, a reason, a name, an unknown word: nothing is taken for markup or for a command."""
    good = GOOD.replace("Two bolts", odd).replace("forged ring", odd)
    status, out, said = checked(capsys, file_of(tmp_path, good))
    assert status in (0, 1), said
    if odd.isprintable():
        assert odd in out
    for bad in (
        good.replace("ring master", f"ring {odd} master"),
        good.replace("attach left", f"attach {odd}", 1),
        good.replace("anchor left", f"anchor {odd}left", 1),
        good.replace("ring master", f"{odd} master"),
        good.replace("in stage", odd),
        good + f'require everyone held after any 1 failure in stage "{odd}"\n',
        good + f'include "{odd}"\n',
    ):
        status, out, said = checked(capsys, file_of(tmp_path, bad))
        assert status in (0, 1, 2)
        assert "Traceback" not in said
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", said), "a control character reached the terminal"
        status, out, said = checked(capsys, "--json", file_of(tmp_path, bad))
        json.loads(out)


@pytest.mark.parametrize("odd", ["\x1b[31m", "\x07", "\x08", "\x0c", "\x7f", "\x85", "\x9b"])
def test_what_steers_a_terminal_never_reaches_it(odd: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for text in (GOOD.replace("Two bolts", odd), GOOD.replace("ring master", f"ring {odd}")):
        status, out, said = checked(capsys, file_of(tmp_path, text))
        assert (status, out) == (2, "")
        assert f"it holds the control character U+{ord(odd[0]):04X}" in said
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", said)


def test_the_line_that_is_shown_is_the_line_as_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = 'rig "a"\nanchor b # [/b] <i> \\ {x} %s\nattach b - [/b]\n'
    _, _, said = checked(capsys, file_of(tmp_path, text))
    assert "    3 | attach b - [/b]\n" in said


# -- anything at all


def rigs() -> list[str]:
    found = [path.read_text(encoding="utf-8") for path in sorted((HERE.parent / "examples").glob("*.rig"))]
    return [GOOD, GOOD, *sorted(found, key=len)[:2]]


def mutated(text: str, dice: random.Random) -> str:
    """A rig with one to four slips: lines lost, doubled, moved, indented; letters lost, doubled, changed."""
    for _ in range(dice.randint(1, 4)):
        lines = text.split("\n")
        at, other = dice.randrange(len(lines)), dice.randrange(len(lines))
        letter = dice.randrange(max(1, len(text)))
        match dice.randrange(10):
            case 0:
                del lines[at]
            case 1:
                lines.insert(at, lines[other])
            case 2:
                lines[at], lines[other] = lines[other], lines[at]
            case 3:
                lines[at] = dice.choice(["  ", "\t", "        "]) + lines[at]
            case 4:
                lines[at] = lines[at].lstrip()
            case 5:
                words = lines[at].split(" ")
                dice.shuffle(words)
                lines[at] = " ".join(words)
            case 6:
                words = lines[at].split(" ")
                words[dice.randrange(len(words))] = dice.choice(lines[other].split(" "))
                lines[at] = " ".join(words)
            case 7:
                text = text[:letter] + text[letter + 1 :]
            case 8:
                text = text[:letter] + dice.choice("-–:,;.#\"'()[]|%=é0a_ \t\n") + text[letter:]
            case _:
                text = text[:letter] + dice.choice("-–:,;.#\"'()[]|%=é0a_ \t\n") + text[letter + 1 :]
        if text.count("\n") + 1 == len(lines) or "\n".join(lines) != text:
            text = "\n".join(lines) if dice.random() < 0.7 else text
        if not text:
            text = "\n"
    return text


@pytest.mark.parametrize("part", range(4))
def test_700_rigs_with_slips_of_the_hand(part: int) -> None:
    dice = random.Random(20_260 + part)
    kept = rigs()
    unreadable = 0
    for number in range(170):
        text = mutated(dice.choice(kept), dice)
        try:
            found = soon(partial(read, text))
        except Exception as error:
            raise AssertionError(f"part {part}, rig {number}: {error!r}\n{text}") from error
        unreadable += bool(found)
    assert 17 < unreadable < 170, "the slips should break many rigs and not all"


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=300))
@example("\x85")
@example("\x0c")
@example('rig "a"\x0canchor b')
@example(" \u2028 x")
@example("a\u3000b")
def test_any_text(text: str) -> None:
    soon(partial(read, text))


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes(data: bytes) -> None:
    soon(partial(read, data))


WORDS = sorted(
    {*GOOD.split(), "-", ",", ":", "..", "[", "]", "(", ")", "\n", "\n    ", "\n  ", "#", '"', "|", "a", "1", "%"}
)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.sampled_from([*WORDS, "\n", "\n    ", "\n"]), max_size=40))
def test_any_order_of_the_words_of_a_rig(words: list[str]) -> None:
    soon(partial(read, 'rig "a"\n' + " ".join(words)))


@settings(max_examples=300, deadline=None)
@given(st.text("abcde-", min_size=1, max_size=8), st.text("abcde-", min_size=1, max_size=8))
def test_slips_are_counted_alike_both_ways(a: str, b: str) -> None:
    assert edits(a, b, 9) == edits(b, a, 9)
    assert (edits(a, b, 9) == 0) == (a == b)
    assert edits(a, b, 9) <= max(len(a), len(b))
    assert edits(a, b, 2) == min(edits(a, b, 9), 3)


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(["left-brake", "carabiner", "master", "figure-eight"]), st.integers(0, 8), st.sampled_from("xyz")
)
def test_one_slip_in_a_long_word_is_recognised(word: str, at: int, letter: str) -> None:
    known = ["left-brake", "carabiner", "master", "figure-eight", "sam"]
    at %= len(word)
    slips = {word[:at] + word[at + 1 :], word[:at] + letter + word[at:], word[:at] + letter + word[at + 1 :]}
    for slip in slips:
        assert near(slip, known)[:1] == [word]


# -- names that no disk has, characters that nobody sees


def test_an_included_name_too_long_for_the_disk_is_a_message(tmp_path: Path) -> None:
    long = GOOD.replace("anchor left, right\n", f'include "{"x" * 300}.rig"\nanchor left, right\n')
    with pytest.raises(Unreadable) as caught:
        analyser.read_text(long, "a.rig", tmp_path)
    (one,) = caught.value.mistakes
    assert (one.place.line, "cannot be read" in one.text) == (2, True)


@pytest.mark.parametrize("unseen", ["\u200b", "\u200d", "\u202e", "\u2066", "\u061c", "\u2060"])
def test_what_is_not_seen_is_refused_outside_texts_and_comments(unseen: str) -> None:
    (one,) = read(GOOD.replace("ring master", f"ring mas{unseen}ter"))
    assert (one.place.line, one.place.column) == (3, 9)
    assert one.text == f"the character U+{ord(unseen):04X} is not seen, and changes what is read"
    assert read(GOOD.replace("ring master", f'ring master  # "as {unseen} drawn"', 1)) == ()
    assert read(GOOD.replace("forged ring", f"forged{unseen} ring # 4")) == ()


# -- one mistake is one message


def test_a_rope_that_cannot_be_laid_is_not_told_again_by_the_steps_that_speak_of_it() -> None:
    rig = GOOD + "    detach rack from red\n    pay out red by 1 m\n    derig red\n"
    assert read(rig) == ()
    (one,) = read(rig.replace("over lip, padded by mat", "over lip, padded by"))
    assert one.place.line == 14
