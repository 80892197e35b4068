"""Feet hold on a deck that lies level: not on one that hangs by an end, or by its middle, alone."""

from __future__ import annotations

import balance
import pytest
from rigs import rig_of

from analyser.checking.analysing import analyse
from analyser.holding.outcome import after_each
from analyser.rig.model import Effects

PEOPLE = "person lou: stands on deck, points w\n"
ONE_END = "anchor one, other\nload deck: points l, r, ends l | r\nattach one - wire near - deck.l\n"
DECKS = {
    "by one end": (ONE_END, "falls"),
    "by both ends": (ONE_END + "attach other - wire far - deck.r\n", "held"),
    "its other end by hands": (
        ONE_END + "person jo: standing\nrope r\n    tied to deck.r\n    through pulley p - other\n    held by jo\n",
        "falls",
    ),
    "its other end by somebody's weight": (
        ONE_END
        + "person sam: points w, c\nattach one - lanyard up - sam.c\n"
        + "rope r\n    tied to deck.r\n    through pulley p - other\n    tied to sam.w\n",
        "falls",
    ),
    "its other end by a loose wire": (ONE_END + "wire far\nattach far - deck.r\n", "falls"),
    "by its middle": ("anchor one\nload deck: points l, m, r, ends l | r\nattach one - wire w - deck.m\n", "falls"),
    "by two places between its ends": (
        "anchor one, other\nload deck: points l, m, n, r, ends l | r\n"
        "attach one - wire w - deck.m\nattach other - wire v - deck.n\n",
        "held",
    ),
    "by one end and its middle": (
        "anchor one, other\nload deck: points l, m, r, ends l | m\n"
        "attach one - wire w - deck.l\nattach other - wire v - deck.m\n",
        "held",
    ),
    "by one side": (
        "anchor one, other\nload deck: points a, b, c, d, ends a, b | c, d, sides a, c | b, d\n"
        "attach one - wire w - deck.a\nattach other - wire v - deck.c\n",
        "falls",
    ),
    "by three of four corners": (
        "anchor one, other\nload deck: points a, b, c, d, ends a, b | c, d, sides a, c | b, d\n"
        "attach one - wire w - deck.a\nattach other - wire v - deck.c\nattach one - wire u - deck.b\n",
        "falls",
    ),
    "by its name, as no ends are written": ("anchor one\nload deck\nattach one - wire w - deck\n", "held"),
}


@pytest.mark.parametrize("deck", DECKS)
def test_who_stands_on_it_with_nothing_failed(deck: str) -> None:
    text, told = DECKS[deck]
    rig = rig_of(text + PEOPLE)
    (scenario,) = after_each(rig, [Effects()])
    assert (scenario.fate("lou").kind.value, balance.fate(rig, "lou", [])) == (told, told)


def test_a_line_of_their_own_holds_who_would_stand_there_and_it_is_their_only_one() -> None:
    rig = rig_of(ONE_END + PEOPLE + "attach other - lanyard up - lou.w\n")
    by_name = {failure.id: failure for failure in rig.failures}
    (scenario,) = after_each(rig, [by_name["up fails"].effects])
    assert scenario.fate("lou").kind.value == balance.fate(rig, "lou", [by_name["up fails"]]) == "falls"


def test_why_is_told_and_where_a_line_is_missing() -> None:
    result = analyse(rig_of(ONE_END + PEOPLE))
    told = [one.text for one in result.findings if one.rule == "by-one-end-underfoot"]
    assert told == ["lou stands on deck, which hangs by deck.l alone: it doesn't lie level, and no feet hold there"]
