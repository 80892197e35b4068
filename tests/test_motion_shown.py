"""What happens in time, as it is shown: `whatif` in two lines, `forces --motion` as a table, JSON, films and strips."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from statics import statics_of

from analyser.doors.commands.main import main
from analyser.forces.aftermath import every_single
from analyser.forces.alike import Follow, in_time

TWO = """anchor left: at (0, 0, 10), strength 20 kN
anchor right: at (0, 0, 10), strength 20 kN
cord loose: length 2 m, strength {strength} kN
person sam: 100 kg, at (0, 0, 9), points waist, chest
attach left - carabiner crab - strap tight - sam.waist
attach right - loose - sam.chest
tight: length 1 m, strength 22 kN
"""


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    path = tmp_path / "two.rig"
    path.write_text('rig "Two"  # invented\n' + TWO.format(strength=9), encoding="utf-8")
    return path


def test_whatif_tells_it_and_what_is_not_in_it(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["whatif", str(rig), "left fails"]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "sam 1.54 m down; loose up to 5.50 kN (5.47 to 5.51) after 0.63 s" in page
    assert "friction, at edges too" in page and "people's bodies" in page
    assert main(["whatif", str(rig), "left fails", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["forces"]["motion"]
    assert told["told"] and told["starts_aside"] == 8
    (loose,) = [line for line in told["lines"] if line["name"] == "loose"]
    assert loose["low_kN"] < loose["peak_kN"] < loose["high_kN"]


def test_the_table_of_every_single_failure(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["forces", "--motion", str(rig)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "WHAT HAPPENS IN TIME, AFTER EVERY SINGLE FAILURE" in page
    assert "5.50 (5.47-5.51)" in page and "moves by a centimetre after" in page


def test_failures_in_series_are_followed_once() -> None:
    statics = statics_of(TWO.format(strength=9))
    base = statics.equilibrium()
    after = in_time(statics, base, every_single(statics), None, Follow(every=True, starts=0))
    told = {one.failures[0]: one.motion for one in after}
    assert told["left fails"] and told["tight fails"] and told["crab fails"]
    assert told["left fails"].lines == told["crab fails"].lines == told["tight fails"].lines
    assert told["crab fails"].failures == ("crab fails",)
    kept = [one for one in statics.remembered.answers.values() if type(one).__name__ == "Motion"]
    assert len(kept) < len(told)


def test_only_what_ranks_first_is_followed_where_nothing_asks_for_all() -> None:
    statics = statics_of(TWO.format(strength=9))
    after = in_time(statics, statics.equilibrium(), every_single(statics), None, Follow(first=1, starts=0))
    assert {one.failures[0] for one in after if one.motion} == {"left fails", "crab fails", "tight fails"}


def test_a_film_moves_without_script(rig: Path, tmp_path: Path) -> None:
    film = tmp_path / "film.svg"
    assert main(["draw", str(rig), "--failing", "left fails", "--motion", str(film)]) == 0
    text = film.read_text(encoding="utf-8")
    root = ET.fromstring(text)
    moving = [one for one in root.iter() if one.tag.endswith("animate")]
    assert moving and "script" not in text and "sam" in text and "loose pulls 5.50 kN" in text
    for one in moving:
        assert len(one.attrib["values"].split(";")) == len(one.attrib["keyTimes"].split(";"))
    again = tmp_path / "again.svg"
    main(["draw", str(rig), "--failing", "left fails", "--motion", str(again)])
    assert again.read_bytes() == film.read_bytes()
    strip = tmp_path / "strip.png"
    assert main(["draw", str(rig), "--failing", "left fails", "--motion", str(strip)]) == 0
    assert strip.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--motion", "film.gif", "--failing", "left fails"), "write a name that ends in .svg or .png"),
        (("--motion", "film.svg"), "name it with `--failing`"),
        (("--motion", "film.svg", "--failing", "right fails"), "nothing moves"),
    ],
)
def test_what_cannot_be_drawn_is_said(
    more: tuple[str, ...], words: str, rig: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["draw", str(rig), *more]) == 2
    assert words in capsys.readouterr().err


def test_the_report_has_a_film_and_a_strip_for_paper(rig: Path, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    main(["report", str(rig), "-o", str(page)])
    text = page.read_text(encoding="utf-8")
    assert 'id="play1"' in text and 'begin="play1.click"' in text and 'class="drawn print"' in text
