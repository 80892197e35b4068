"""Files as they are named: names that steer nothing, devices that are not read, tables in which nothing can run."""

from __future__ import annotations

import io
import os
import pickle
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

import grammar
from analyser.doors.commands.main import main
from analyser.language.parse_tables import kept
from analyser.language.parsing import _Indents, parser
from analyser.language.source import STEERING, shown_name

ROOT = Path(__file__).parent.parent
RIG = (ROOT / "examples" / "two-lines-one-ring.rig").read_text(encoding="utf-8")
NAMES = ["e\x1b]0;owned\x07.rig", "n\nl.rig", "r\rx.rig", "b\u202egir.rig", "c\x9b31m.rig", "broken\udcff.rig"]
CALLS = [
    ["check"],
    ["check", "--json"],
    ["check", "--state", "9"],
    ["whatif", "--fail", "nothing"],
    ["failures", "-o", "-"],
    ["walkdown", "-o", "-"],
    ["report", "-o", "-"],
    ["report", "--json", "-o", "-"],
    ["format", "--check"],
    ["start"],
    ["rank"],
]


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_a_name_steers_no_terminal(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path(name).write_text(RIG + "anchor   spare\n", encoding="utf-8")
    for call in CALLS:
        with suppress(SystemExit):
            main([*call, name])
        told = capsys.readouterr()
        for line in (told.out + told.err).replace("\r\n", "\n").split("\n"):
            assert not STEERING.search(line.replace("\t", "")), (call, line)


def test_words_of_the_call_steer_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["check", "x.rig", "--\x1b]0;owned\x07"])
    assert "\x1b" not in capsys.readouterr().err


def test_an_ordinary_name_is_shown_as_it_is() -> None:
    for name in ("lower.rig", "Höhle 2.rig", "大岩.rig", "a\u0301.rig"):
        assert shown_name(name) == name


@pytest.mark.parametrize("beside", ["/dev/zero", "a-pipe"])
def test_a_review_is_an_ordinary_file(
    beside: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    os.mkfifo("a-pipe")
    Path("x.rig").write_text(RIG, encoding="utf-8")
    assert main(["report", "x.rig", "-o", "x.html", "--with", beside]) == 2
    assert "not an ordinary file" in capsys.readouterr().err
    assert not Path("x.html").exists()


@pytest.mark.parametrize("name", ["a" * 300, "a/" * 900 + "b", "x" * 256 + ".rig"])
def test_a_long_name_of_a_file_is_a_mistake(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "x.rig"
    rig.write_text(f'rig "Long"\ninclude "{name}"\nanchor bolt\n', encoding="utf-8")
    assert main(["check", str(rig)]) == 2
    told = capsys.readouterr().err
    assert told.startswith("x.rig:2:9: ") and "Traceback" not in told


# -- the parser's tables


class Run:
    """What a pickle would run as it is read."""

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.system, ("touch ran",)


def spoilt(good: bytes) -> list[bytes]:
    """Tables that somebody else put there, or that a fault left behind."""
    stream = io.BytesIO()
    pickle.dump(Run(), stream)
    return [b"", b"\0", stream.getvalue(), good[:32] + stream.getvalue(), good[:-1], good[:32] + b"\x80", good + b"x"]


def test_tables_are_data_and_what_does_not_fit_is_made_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    place, text, made = tmp_path / "tables", grammar.text("rig.lark"), parser()
    calls = 0

    def make() -> object:
        nonlocal calls
        calls += 1
        return made

    kept(place, text, _Indents(), make)  # type: ignore[arg-type]
    good = place.read_bytes()
    again = kept(place, text, _Indents(), make)  # type: ignore[arg-type]
    assert calls == 1 and again is not made
    line = "attach left - strap red - ann.waist\n"
    assert again.parse(line) == made.parse(line)
    for number, wrong in enumerate(spoilt(good), 2):
        place.write_bytes(wrong)
        assert kept(place, text, _Indents(), make) is made  # type: ignore[arg-type]
        assert calls == number and place.read_bytes() == good
    kept(place, text + "\n", _Indents(), make)  # type: ignore[arg-type]
    assert place.read_bytes() != good, "another grammar has other tables"
    assert not (tmp_path / "ran").exists()
    assert [one.name for one in tmp_path.iterdir()] == ["tables"]


def test_the_program_starts_without_a_folder_for_tables() -> None:
    program = (
        "import pathlib; before = pathlib.Path.write_bytes\n"
        "def refused(self, data): raise PermissionError(13, 'no')\n"
        "pathlib.Path.write_bytes = refused; pathlib.Path.read_bytes = lambda self: refused(self, b'')\n"
        "from analyser.language.parsing import parser; parser()"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
