"""`check --resting-on`: each statement taken at its word is denied in turn."""

from __future__ import annotations

import json

import pytest

import analyser
from analyser.checking.resting_on import resting_on
from analyser.doors.commands.main import main

TWO_LINES = """rig "Two lines and a mat"  # invented
anchor left, right
edge lip
pad mat
person jo: standing
person sam: points waist, chest
attach left - brake one
attach right - brake two
one: operated by jo
two: operated by jo, self-locking
rope red
    gripped by one
    over lip, padded by mat
    tied to sam.waist
rope green
    gripped by two
    over lip, padded by mat
    tied to sam.chest
cause gust: mat shifts
sound mat shifts: "pinned"
require sam held after any 1 failure
require everyone held with hands off
"""


def carried(text: str) -> dict[str, tuple[str, ...]]:
    plan = analyser.read_text(text)
    told = resting_on(plan, analyser.check(plan))
    assert not any(one.unread for one in told.carrying)
    return {one.words: one.requirements for one in told.carrying}


def test_each_statement_by_what_turns_without_it() -> None:
    """By hand: without the mat on one rope, the lip cuts it and the other holds; the brake that needs the hand is
    what `self-locking` on the other one makes good; and a hand of somebody who stands nowhere holds nothing."""
    hands, one = "everyone held with hands off", "sam held after any 1 failure"
    assert carried(TWO_LINES.replace("cause gust: mat shifts\n", "")) == {
        "two: self-locking": (one, hands),
        "jo: standing": (one, hands),
    }


def test_what_keeps_both_ropes_off_an_edge_carries_it() -> None:
    """The mat on the edge itself guards every passage: without it the lip cuts both ropes at once."""
    text = TWO_LINES.replace("over lip, padded by mat", "over lip").replace("edge lip", "edge lip: padded by mat")
    told = carried(text)
    assert told["lip: padded by mat"] == ("sam held after any 1 failure",)
    assert "sound mat shifts" not in told  # one failure more is needed: the mat and the lip


def test_what_is_denied_is_counted_and_told(tmp_path, capsys: pytest.CaptureFixture[str]) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "two.rig"
    file.write_text(TWO_LINES.replace("cause gust: mat shifts\n", ""), encoding="utf-8")
    assert main(["check", str(file), "--resting-on"]) == 0
    page = capsys.readouterr().out
    assert "two: self-locking: without it" in page
    assert "denied in turn: 5 statements" in page
    assert main(["check", str(file), "--resting-on", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["resting"]
    assert told["denied"] == 5
    assert [one["statement"] for one in told["carrying"]] == ["jo: standing", "two: self-locking"]


def test_the_face_tells_it_too() -> None:
    result = analyser.check(analyser.read_text(TWO_LINES.replace("cause gust: mat shifts\n", "")), resting_on=True)
    assert result.rests is not None
    assert result.rests.carrying[0].words == "jo: standing"
