"""Feet hold on a deck that lies level: not on one that hangs by an end, or by its middle, alone."""

from __future__ import annotations

from random import Random

import balance
import pytest
from rigs import rig_of

from analyser.checking.analysing import analyse
from analyser.checking.off_their_feet import off_their_feet
from analyser.forces.equilibrium import Statics
from analyser.forces.faring import faring
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


# -- by the forces: who would hold up what they stand on is off it, and so is who stands on what goes down under them

STRETCH = "stretch 1 % at 2000 kg"
PLANK = f"""
anchor A: at (0, 0, 10)
anchor B: at (2, 0, 10)
load deck: 30 kg, at (2, 0, 5), points l, m, r, ends l | m
    deck.l: at (0, 0, 5)
    deck.m: at (2, 0, 5)
    deck.r: at (4, 0, 5)
attach A - strap sa - deck.l
attach B - strap sb - deck.m
sa, sb: length 5 m, {STRETCH}
person lou: 80 kg, at (3.5, 0, 6), stands on deck
require everyone held after any 1 failure
accept A fails, B fails, sa fails, sb fails, deck fails, lou loses footing: "one plank"
"""
"""Two slings at 0 and 2 m, Lou over air at 3.5: about the second 80 kg times 1.5 m, against what is at the first."""
MAX = "person max: 80 kg, at (0, 0, 6), stands on deck\n"
BOX = "load box: 80 kg, at (0, 0, 4)\nattach deck.l - strap sc - box\nsc: length 1 m\n"
LANYARD = "anchor C: at (3.5, 0, 10)\nattach C - lanyard ll - lou\nll: length 4.4 m\n"


def fates(text: str, failure: str | None = None) -> dict[str, str]:
    state = analyse(rig_of(text)).states[0]
    if failure is None:
        return {body.name: body.fate.kind.value for body in state.outcome.bodies}
    (told,) = [one for one in state.outcome.failures if one.id == failure]
    return {body.name: told.fate(body.name).kind.value for body in state.outcome.bodies}


def test_nobody_stands_beyond_the_last_sling_of_a_light_plank() -> None:
    assert fates(PLANK)["lou"] == "falls"


def test_with_a_line_of_their_own_that_is_all_that_holds_them() -> None:
    assert fates(PLANK + LANYARD)["lou"] in ("held", "drops")
    assert fates(PLANK + LANYARD, "C fails")["lou"] == "falls"


def test_who_stands_at_the_other_end_is_a_counterweight_and_stepping_off_drops_the_first() -> None:
    """About the second sling: 80 kg times 2 m against 80 times 1.5; once that is gone nothing is against it."""
    assert fates(PLANK + MAX) == {"deck": "held", "lou": "held", "max": "held"}
    assert fates(PLANK + MAX, "max loses footing")["lou"] == "falls"
    assert fates(PLANK + MAX.replace("80 kg", "50 kg"))["lou"] == "falls"


def test_then_they_hang_on_their_own_line_alone() -> None:
    state = analyse(rig_of(PLANK + MAX + LANYARD)).states[0]
    assert ("C fails", "max loses footing") in state.outcome.failure_sets["lou"]
    (stepped,) = [one for one in state.outcome.failures if one.id == "max loses footing"]
    assert "lou" in stepped.down_to_one and "lou" not in stepped.falls


def test_so_is_a_load_hung_there() -> None:
    assert fates(PLANK + BOX)["lou"] == "held"
    assert fates(PLANK + BOX, "sc fails")["lou"] == "falls"


def test_people_over_a_plank_do_not_make_it_top_heavy() -> None:
    """They keep upright over their feet: bolted to it a metre up, Lou would roll it over."""
    state = analyse(rig_of(PLANK + BOX)).states[0]
    assert state.loads is not None and state.loads.now.accepted
    deck = state.loads.fares("deck")
    assert deck is not None and deck.lies is not None and deck.lies.off_level < 1.0
    assert not any(one.rule == "sloping-underfoot" for one in state.findings)


def random_plank(rng: Random) -> tuple[str, float]:
    """A plank on two plumb slings, with one to three people on it; and by moments about each sling the smaller load on
    the other, in kg: under nought it would have to push, and the plank tips."""
    span, over, under = round(rng.uniform(1, 4), 2), round(rng.uniform(0, 1.5), 2), round(-rng.uniform(0, 1.5), 2)
    deck, middle = rng.choice((20, 30, 60, 120)), round((under + span + over) / 2, 2)
    people = [
        (rng.choice((50, 65, 80, 100)), round(rng.uniform(under, span + over), 2)) for _ in range(rng.randint(1, 3))
    ]
    text = f"""
anchor A: at (0, 0, 10)
anchor B: at ({span}, 0, 10)
load deck: {deck} kg, at ({middle}, 0, 5), points l, m, p, q, ends l | m
    deck.l: at (0, 0, 5)
    deck.m: at ({span}, 0, 5)
    deck.p: at ({under}, 0, 5)
    deck.q: at ({span + over}, 0, 5)
attach A - strap sa - deck.l
attach B - strap sb - deck.m
sa, sb: length 5 m, {STRETCH}
"""
    text += "".join(f"person p{k}: {m} kg, at ({x}, 0, 6), stands on deck\n" for k, (m, x) in enumerate(people))
    on_second = (deck * middle + sum(m * x for m, x in people)) / span
    return text, min(on_second, deck + sum(m for m, _ in people) - on_second)


def test_planks_tip_where_the_moments_say_so() -> None:
    """By the moments of the weights about each sling (statics of a beam on two supports); 3,000 were run by hand."""
    rng, tipped = Random(7), 0
    for _ in range(80):
        text, least = random_plank(rng)
        if abs(least) < 3:
            continue
        rig = rig_of(text)
        statics = Statics.of(rig)
        assert isinstance(statics, Statics)
        now = statics.equilibrium()
        off = [one.name for one, _ in off_their_feet(rig, now, faring(statics, now))]
        assert bool(off) == (least < 0), text
        tipped += least < 0
    assert tipped > 3


# -- what isn't written


def told(text: str, rule: str) -> list[str]:
    return [one.text for one in analyse(rig_of(text)).findings if one.rule == rule and one.severity == "danger"]


CORNERS = """
anchor a, b
load deck: points nw, ne, sw, se, ends nw, ne | sw, se
attach a - sling s1 - deck.nw
attach a - sling s2 - deck.ne
attach b - sling s3 - deck.sw
attach b - sling s4 - deck.se
person lou: stands on deck
"""


def test_sides_that_are_not_written_are_asked_for_where_somebody_stands() -> None:
    """Four slings and only ends: one gone, the deck goes over its corner, and nothing of that would be told."""
    (text,) = told(CORNERS, "ends-not-written")
    assert text.endswith(
        "goes over sideways when one of them lets go isn't told: lou counts as held there all the same"
    )
    assert not told(CORNERS + "deck: sides nw, sw | ne, se\n", "ends-not-written")
    assert not told(CORNERS.replace("person lou: stands on deck", ""), "ends-not-written")


def test_a_needle_without_ends_is_asked_for_them() -> None:
    """A bar over a parapet, held down at the back, with a load at the front: once that is gone it flips."""
    text = """
    anchor parapet, roof
    bar needle: points out, mid, rear
    attach parapet - needle.mid
    attach roof - cord hold-down - needle.rear
    load bag: points eye
    attach needle.out - sling s - bag.eye
    """
    (asked,) = told(text, "ends-not-written")
    assert asked.startswith("needle is held at needle.mid and needle.rear, and the file names no ends of it")
