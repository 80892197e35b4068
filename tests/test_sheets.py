"""A rig of many parts on sheets: an overview, and one sheet a body with what holds it, each large enough to read."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from rigs import shipped
from sized import checked_of_seven

from analyser.checking.results import Result
from analyser.doors.commands.main import main
from analyser.pages.drawing.by_body import holding, sheets
from analyser.pages.drawing.rendering import render, rendered_largest, scale
from analyser.pages.drawing.words import SMALL

EXAMPLES = Path(__file__).parent.parent / "examples"


@pytest.fixture(scope="module")
def eighty() -> Result:
    return checked_of_seven("80 parts")


def words(source: str) -> str:
    svg = render(source, "svg").decode()
    return html.unescape("\n".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg)))


def test_an_overview_and_a_sheet_for_everybody(eighty: Result) -> None:
    leaves = list(sheets(eighty))
    assert [leaf.body for leaf in leaves] == ["", *(body.name for body in eighty.rig.bodies)]
    assert [leaf.name for leaf in leaves] == sorted(leaf.name for leaf in leaves)
    written = words(leaves[0].sources[0])
    assert all(body.name in written for body in eighty.rig.bodies)
    assert "t3-master" in written and "SINGLE POINT: t3-basket not held" in written
    assert f"Sheet 1 of {len(leaves)}" in written


@pytest.mark.parametrize("k", range(7))
def test_each_is_large_enough_to_read(eighty: Result, k: int) -> None:
    """Names at 8 points and details at 7 on A4 (design, papers.md), of a rig of which one sheet has 3."""
    picture = rendered_largest(list(sheets(eighty))[k].sources, "svg")
    assert 12 * scale(picture) >= 8 and SMALL * scale(picture) >= 6.9


@pytest.mark.parametrize("name", ["litter-lower", "tripod-raise", "track-line", "facade-work", "haul-three-to-one"])
def test_everything_that_holds_a_body_is_on_its_sheet(name: str) -> None:
    """Each part and span of each way in which it is held; and what leads on from there is named."""
    result = shipped(name)
    for body in result.rig.bodies:
        mine, elsewhere = holding(result, body.name)
        drawn = {*mine.parts, *(span for rope in mine.ropes for span in rope.spans)}
        for way in result.states[0].outcome.review.ways(body.name, 60)[0]:
            parts = {result.rig.index.failures[one].part for one in way if one.endswith(("fails", "slips", "is cut"))}
            assert parts <= drawn, (body.name, parts - drawn)
        for contact in result.rig.contacts:
            if contact.given and (contact.a in drawn) is not (contact.b in drawn):
                inside, outside = (contact.a, contact.b) if contact.a in drawn else (contact.b, contact.a)
                assert outside in elsewhere[inside]
        assert all(one.part in mine.parts for rope in mine.ropes for one in rope.stations)


def test_the_command_writes_them_into_a_new_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig, folder = str(EXAMPLES / "litter-lower.rig"), tmp_path / "sheets"
    assert main(["draw", rig, "--sheets", str(folder), "--as", "png"]) == 0
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["00-overview.png", "01-sam.png", "02-vic.png", "03-basket.png"]
    assert (folder / names[0]).read_bytes().startswith(b"\x89PNG")
    assert main(["draw", rig, "--sheets", str(folder)]) == 2
    assert "a set of sheets overwrites none" in capsys.readouterr().err
    assert main(["draw", rig, "--sheets", str(tmp_path / "b"), "--failing", "left-bolt fails"]) == 2
    assert "leave `--failing`" in capsys.readouterr().err and not (tmp_path / "b").exists()
    assert main(["draw", rig, "--film", str(tmp_path / "film"), "--as", "png"]) == 0
    assert {path.suffix for path in (tmp_path / "film").iterdir()} == {".png"}
