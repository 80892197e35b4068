"""`revision 4, dated 2026-11-28`: the day of a plan stands on every sheet, and goes out as a key of its own."""

from __future__ import annotations

import json
import pickle
import re
from pathlib import Path

import pytest

import analyser
from analyser.doors.commands.main import main
from analyser.language.identities import Revision
from analyser.language.mistakes import Unreadable

RIG = """rig "Two straps"
revision 4, dated 2026-11-28
anchor left, right
person jo: standing
person ann: points waist, chest
attach left - strap one - ann.waist
attach right - strap two - ann.chest
stage "Down"
    detach one, by jo
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "straps.rig"
    path.write_text(RIG, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "call",
    [
        "check",
        "whatif",
        "procedure",
        "failures -o {}.html",
        "walkdown",
        "card -o {}.html",
        "report -o -",
        "draw -o {}.dot",
    ],
)
def test_the_day_stands_on_every_sheet(call: str, file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command, *more = call.format(file).split()
    main([command, str(file), *(["left fails"] if command == "whatif" else more)])
    told = capsys.readouterr().out + "".join(one.read_text() for one in file.parent.glob("*.rig.*"))
    assert "4, dated 2026-11-28" in re.sub(r"</?\w+>", "", told)


def test_in_german(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["walkdown", "--lang", "de", str(file)])
    assert "Stand 4 vom 2026-11-28" in capsys.readouterr().out


def test_documents_have_both(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "--json", str(file)])
    told = json.loads(capsys.readouterr().out)
    assert (told["revision"], told["dated"]) == ("4", "2026-11-28")


def test_what_was_found_fits_it_by_its_number_or_whole(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = file.with_suffix(".found")
    for line, status in (("revision 4", 0), ("revision 4, dated 2026-11-28", 0), ("revision 3", 2)):
        found.write_text(f"{line}\nfound one missing\n", encoding="utf-8")
        assert (main(["walkdown", str(file), "--found", str(found)]) == 2) is (status == 2), line
        capsys.readouterr()


def test_a_revision_knows_its_pieces_and_travels() -> None:
    one = Revision("4", "2026-11-28")
    assert pickle.loads(pickle.dumps(one)).dated == "2026-11-28"
    assert analyser.read_text(RIG.replace(", dated 2026-11-28", "")).revision == "4"


@pytest.mark.parametrize(
    ("line", "text", "advice"),
    [
        ("revision 4, dated 2026-02-30", "there is no day 2026-02-30", "write year, month and day: `dated 2026-11-28`"),
        ("revision 4 dated 2026-11-28", "a comma is missing before `dated`", "write `revision 4, dated 2026-11-28`"),
        ("revision 4, dated 28.11.2026", "`28` is not understood here", "for example `revision 4, dated 2026-11-28`"),
    ],
)
def test_one_mistake_one_message(line: str, text: str, advice: str) -> None:
    with pytest.raises(Unreadable) as caught:
        analyser.read_text(f'rig "A"\n{line}\n')
    assert [(one.text, one.help) for one in caught.value.mistakes] == [(text, advice)]
