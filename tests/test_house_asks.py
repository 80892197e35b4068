"""No frame tips, nobody turns over, nobody drops by more than a metre: required, and asked by the house where a file
with places requires nothing (design, forces.md: the limit is ours, no source)."""

from __future__ import annotations

from pathlib import Path

import pytest
from rigs import checked

from analyser.checking.results import Result
from analyser.checking.standing import TURNS
from analyser.doors.commands.main import main

TRIPOD = """
footing a: at (1, 0, 0)
footing b: at (-0.5, 0.866, 0)
footing c: at (-0.5, -0.866, 0)
anchor wall, wall-2: at (0.4, 0, 0)
tripod head: feet a, b, c, at (0, 0, 2.4)
person vic: 80 kg, at (0, 0, -3), points waist, chest
attach head - pulley wheel
attach head - pulley wheel-2
rope main: 20 m
    tied to vic.waist with figure-eight
    through wheel
    tied to wall with round-turn
rope second: 20 m
    tied to vic.chest with figure-eight
    through wheel-2
    tied to wall-2 with round-turn
"""
"""Both lines turn at the head and leave it between the feet. A foot lost lets vic down by some five metres."""
TURNED_OUT = TRIPOD.replace("at (0.4, 0, 0)", "at (5, 0, 0)")
"""The same, towards a wall: the line of the load meets the ground outside the feet (textbook statics of three legs)."""


def house(result: Result) -> dict[str, bool | None]:
    """What is asked beyond the two defaults of every file, and how it was answered."""
    return {one.requirement.rule: one.met for one in result.requirements[2:]}


def test_a_file_with_places_that_asks_nothing_is_asked_by_the_house() -> None:
    result = checked(TRIPOD)
    assert all(one.requirement.assumed for one in result.requirements)
    assert house(result)["drop"] is False and "no-turning-over" not in house(result)
    drop = next(one for one in result.requirements if one.requirement.rule == "drop")
    assert "limit ours" in drop.requirement.text and "a fails: vic drops" in drop.because[0]
    assert house(checked(TURNED_OUT))["no-frame-tips"] is False


def test_a_litter_that_turns_over_is_asked_about() -> None:
    for text, met in ((TURNS.wrong, False), (TURNS.right, True)):
        assert house(checked(text.replace("   # here", "")))["no-turning-over"] is met, text


@pytest.mark.parametrize("more", ["require everyone held after any 1 failure", "require no frame tips"])
def test_a_file_that_asks_is_asked_nothing_more(more: str) -> None:
    assert len(checked(TRIPOD + more).requirements) == 1


def test_a_file_without_places_is_asked_nothing_more() -> None:
    result = checked("anchor a, b\nperson jo: points w\nattach a - strap s - jo.w\nattach b - strap t - jo.w\n")
    assert len(result.requirements) == 2 and not result.house_not_told


def test_what_is_missing_is_one_line_and_changes_no_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "anchor a: at (0, 0, 5)\nanchor b: at (1, 0, 5)\nperson jo: points waist, chest\n"
    text += "attach a - strap s - jo.waist\nattach b - strap t - jo.chest\n"
    result = checked(text)
    assert result.met and len(result.requirements) == 2
    assert result.house_not_told == (
        "drop at most 1 m after any 1 failure (limit ours, no source): forces aren't worked out",
    )
    rig = tmp_path / "a.rig"
    rig.write_text(f'rig "A"\n{text}')
    assert main(["check", str(rig)]) == 0
    assert "not told, and asked by the house: drop at most 1 m" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("text", "required", "met"),
    [
        (TRIPOD, "no frame tips", True),
        (TURNED_OUT, "no frame tips", False),
        (TURNED_OUT, "no frame tips after any 1 failure", False),
        (TURNS.wrong, "no one turns over", True),
        (TURNS.wrong, "no one turns over after any 1 failure", False),
        (TURNS.right, "no one turns over after any 1 failure", True),
        (TRIPOD.replace("80 kg, ", ""), "no frame tips", None),
        (TURNS.right.replace(": length 2 m", ": strength 20 kN"), "no one turns over", None),
    ],
)
def test_what_is_required_of_frames_and_litters(text: str, required: str, met: bool | None) -> None:
    (judged,) = checked(f"{text.replace('   # here', '')}\nrequire {required}\n").requirements
    assert judged.met is met, judged.because


def test_after_a_failure_is_more_than_at_rest() -> None:
    """A guy against the pull lets it stand; with the guy's stake gone it goes over."""
    guyed = TURNED_OUT.replace("tripod head: feet a, b, c,", "tripod head: feet a, b, c, guyed by back,")
    guyed = "anchor stake: at (-5, 0, 0)\n" + guyed
    guyed += "rope back\n    tied to stake with round-turn\n    tied to head with clove-hitch\n"
    assert checked(f"{guyed}\nrequire no frame tips\n").met
    (after,) = checked(f'{guyed}\nrequire no frame tips after any 1 failure\naccept a, b, c: "told"\n').requirements
    assert after.met is False and "stake fails: head goes over: a foot or a guy of it is gone" in after.because


def test_bodies_may_still_be_called_as_the_words_are() -> None:
    text = "anchor frame, tips\nperson over: points turns\nattach frame - strap one - over.turns\n"
    result = checked(text + "attach tips - strap no - over.turns\nrequire over held after any 1 failure\n")
    assert result.body("over").held
