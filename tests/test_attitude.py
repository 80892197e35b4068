"""`stillheld attitude`: leg lengths for a wish, the small 4:1 let out, against triangles drawn by hand."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest
from statics import STIFF, statics_of

import analyser
from analyser.doors.commands.main import main
from analyser.forces.levelling import adjusted
from analyser.forces.stiffness import GRAVITY

TILT = Path(__file__).parent.parent / "examples" / "litter-tilt.rig"
LEGS = f"""rig "Four legs"
anchor bolt: at (0, 0, 10)
person vic: 80 kg
litter basket: 15 kg, length 2 m, width 0.5 m, points head-left, head-right, foot-left, foot-right
ring master
attach bolt - strap main - master
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach master - strap leg-3 - basket.foot-left
attach master - strap leg-4 - basket.foot-right
attach basket - strap lashing - vic
main: length 2 m
leg-1, leg-2, leg-3, leg-4: length 1.4 m, {STIFF}
"""


def triangle(head: float, foot: float, centre: float = 0.0) -> tuple[float, float]:
    """Head up in degrees, and what the head side carries over the weight [computed].

    Ring, head and foot of a 2 m litter make a triangle with the sides `head` and `foot`, which hangs
    with its centre of mass (`centre` metres from the middle towards the head) plumb under the ring:
    law of cosines for its shape, moments about the foot for the head side.
    """
    along = (foot**2 - head**2) / 4  # of the ring over the litter, from its middle to the head
    high = math.sqrt(head**2 - (1 - along) ** 2)
    angle = math.atan2(along - centre, high)
    lever = 2 * high / head  # of the head side about the foot
    return math.degrees(angle), (1 + centre) * math.cos(angle) / lever


def told(capsys: pytest.CaptureFixture[str], *words: str | Path) -> dict[str, object]:
    assert main(["attitude", *map(str, words), "--json"]) in (0, 1)
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


@pytest.fixture
def legs(tmp_path: Path) -> Path:
    path = tmp_path / "legs.rig"
    path.write_text(LEGS, encoding="utf-8")
    return path


def tension(of: dict, name: str) -> float:
    return next(line["force_kN"] * 1000 for line in of["lines"] if line["name"].startswith(name))


@pytest.mark.parametrize("wish", [-10.0, 5.0, 30.0])
def test_leg_lengths_for_a_wished_attitude(legs: Path, capsys: pytest.CaptureFixture[str], wish: float) -> None:
    found = told(capsys, legs, "basket", "--head-up", f"{wish:g}", "deg")
    assert found["let_out"] == ["leg-3", "leg-4"]
    wished = found["wished"]
    assert isinstance(wished, dict) and wished["reached"]
    assert wished["head_up_deg"] == pytest.approx(wish, abs=1e-3)
    head, foot = (math.sqrt(leg**2 - 0.25**2) for leg in (1.4, wished["lengths_m"]["leg-3"]))
    angle, share = triangle(head, foot)
    assert angle == pytest.approx(wish, abs=0.05)  # lengths are told to a millimetre
    assert tension(wished["hung"], "leg-1") == pytest.approx(95 * GRAVITY * share / 2 * 1.4 / head, rel=2e-3)
    hung = analyser.attitude(analyser.read(legs), "basket", head_up=wish).wished
    assert hung and hung.hung  # the document is rounded to a tenth of a newton, the result is not
    (main_line,) = (line for line in hung.hung.equilibrium.lines if line.name.startswith("main"))
    assert main_line.tension == pytest.approx(95 * GRAVITY, rel=1e-6)


@pytest.mark.parametrize("metres", [0.8, 0.9, 1.1])
def test_the_patient_lies_so_far_from_the_foot(legs: Path, capsys: pytest.CaptureFixture[str], metres: float) -> None:
    found = told(capsys, legs, "basket", "--along", f"vic={metres} m")["as_written"]
    assert isinstance(found, dict)
    side = math.sqrt(1.4**2 - 0.25**2)
    angle, share = triangle(side, side, (metres - 1) * 80 / 95)
    assert found["head_up_deg"] == pytest.approx(angle, abs=0.01)
    assert tension(found, "leg-1") == pytest.approx(95 * GRAVITY * share / 2 * 1.4 / side, rel=1e-3)


def test_a_small_tackle_in_place_of_the_foot_legs_is_what_is_let_out(capsys: pytest.CaptureFixture[str]) -> None:
    """The moving block hangs in line between ring and feet: that side is a quarter of the rope, and the two
    slings' share. Lengths as they are under load go into the triangle."""
    found = told(capsys, TILT, "basket", "--head-up", "30 deg", "--sweep", "0..9.5 m")
    assert found["let_out"] == ["fours[fours-end..tilt-brake]"]
    rows = found["sweep"]
    assert isinstance(rows, list)
    for row in rows[:20]:
        long = {line["name"][:10]: line["length_m"] for line in row["lines"]}
        head = math.sqrt(long["head-leg-1"] ** 2 - 0.25**2)
        foot = long["fours[four"] / 4 + math.sqrt(long["foot-leg-1"] ** 2 - 0.25**2)
        angle, share = triangle(head, foot)
        assert row["head_up_deg"] == pytest.approx(angle, abs=0.1)  # lengths are told to a millimetre
        assert tension(row, "head-leg-1") == pytest.approx(95 * GRAVITY * share / 2 * long["head-leg-1"] / head, 5e-3)
        assert 4 * tension(row, "fours") == pytest.approx(
            2 * tension(row, "foot-leg-1") * math.sqrt(1 - (0.25 / long["foot-leg-1"]) ** 2), rel=5e-3
        )
    # upright at last: the foot legs and the tackle slack, the head legs carry all of it
    last = rows[-1]
    assert last["head_up_deg"] == pytest.approx(90, abs=0.1)
    assert {line["name"][:5] for line in last["lines"] if line["slack"]} >= {"foot-", "fours"}
    assert 2 * tension(last, "head-leg-1") * math.sqrt(1 - (0.25 / 1.42) ** 2) == pytest.approx(95 * GRAVITY, rel=5e-3)
    assert all(row["residual"] < 1e-6 for row in rows)


def test_what_is_adjusted_without_being_named() -> None:
    assert adjusted(statics_of(LEGS), "basket") == ("leg-3", "leg-4")
    drawn = LEGS.replace("ring master", "ring master: at (0, 0, 8)").replace(
        "15 kg, length", "15 kg, at (0, 0, 7), length"
    )
    roped = drawn.replace("attach master - strap leg-3 - basket.foot-left\n", "").replace(", leg-3,", ",")
    roped += (
        "rope foot-line\n    tied to master with bowline as top\n    tied to basket.foot-left with bowline as low\n"
    )
    assert adjusted(statics_of(roped), "basket") == ("foot-line[top..low]", "leg-4")


def test_the_page_names_slack_lines_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["attitude", str(TILT), "basket", "--head-up", "30", "deg"]) == 0
    page = capsys.readouterr().out
    assert re.search(r"vic-strap +SLACK", page) and re.search(r"fours +let out by 3\.44", page)
    assert "Local codes" in page and "not of the rope in the hand" in page
    assert "of the largest load" in page and "stretch taken from the kind" in page


def test_an_attitude_out_of_reach_says_what_was_reached(legs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["attitude", str(legs), "basket", "--head-up", "-89", "deg", "--lines", "main"]) == 1
    assert "out of reach" in capsys.readouterr().out


def test_a_plot_is_the_same_bytes_each_time_and_told_without_colour(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["attitude", str(TILT), "basket", "--sweep", "0..7", "m", "--plot"]
    pictures = []
    for name in ("one.svg", "two.svg"):
        assert main([*words, str(tmp_path / name)]) == 0
        pictures.append((tmp_path / name).read_bytes())
    capsys.readouterr()
    assert pictures[0] == pictures[1]
    text = pictures[0].decode()
    assert "head-leg-1 and head-leg-2" in text and "fours let out, m" in text
    assert text.count("stroke-dasharray") >= 3  # curves differ in dashes and marks
    assert set(re.findall(r'stroke="(#\w+)"', text)) <= {"#1a1a1a", "#5f5f5f", "#ececec", "#ffffff"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["basket", "--head-up", "5"], "`5` has no unit"),
        (["basket", "--head-up", "5", "m"], "`m` is a unit of length, and an angle is asked for"),
        (["basket", "--head-up", "lots"], "`lots` is not an angle"),
        (["baskte", "--head-up", "5", "deg"], "did you mean `basket`?"),
        (["vic", "--head-up", "5", "deg"], "`vic` is no litter with a head and a foot in use"),
        (["basket", "--lines", "leg-9"], "`leg-9` is no line of this rig"),
        (["basket", "--along", "vic=3", "m"], "vic would lie outside basket"),
        (["basket", "--along", "bolt=1", "m"], "`bolt` lies in no litter"),
        (["basket", "--along", "vic"], "does not say of whom"),
        (["basket", "--sweep", "3..1", "m"], "the smaller first"),
        (["basket", "--sweep", "-9..1 m"], "can't be taken in"),
        (["basket", "--plot", "a.svg"], "--plot draws a sweep"),
        (["basket", "--sweep", "0..1", "m", "--plot", "a.png"], "the plot is an .svg file"),
    ],
)
def test_what_cannot_be_asked_is_said(
    legs: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["attitude", str(legs), *words]) == 2
    assert said in capsys.readouterr().err


def test_missing_places_are_asked_for_line_by_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "short.rig"
    path.write_text(LEGS.replace("main: length 2 m\n", ""), encoding="utf-8")
    assert main(["attitude", str(path), "basket"]) == 2
    said = capsys.readouterr().err
    assert "these facts are missing" in said and "main: length 1.2 m" in said and "short.rig:6" in said
