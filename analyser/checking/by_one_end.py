"""Somebody who stands on what hangs by one end, or by its middle, alone."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import Finding, Rule, Severity, verb
from analyser.checking.sentences import listed
from analyser.holding.outcome import Outcome
from analyser.holding.system import RigSystem
from analyser.rig.model import Rig


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    on: dict[str, list[str]] = {}
    for body in rig.bodies:
        if body.stands_on in rig.parts:
            on.setdefault(str(body.stands_on), []).append(body.name)
    there = {body.name for body in outcome.bodies if body.held and not body.tips}
    decks = [deck for deck in on if deck in there and outcome.review.had.get(deck)]
    tipping = RigSystem(rig).tipping if decks else None
    for deck in decks:
        if tipping is None or tipping.level(deck, [], 1):
            continue
        part, people = rig.parts[deck], on[deck]
        up: dict[str, None] = {}
        for pair, told in zip((one for one in (part.ends, part.sides) if one), outcome.review.had[deck], strict=False):
            if told[0] != told[1]:
                up |= dict.fromkeys(pair[0 if told[0] else 1])
        by = f"by {listed(list(up))} alone" if up else "by no two places of it"
        text = f"{listed(people)} {verb(people, 'stands', 'stand')} on {deck}, which hangs {by}"
        yield RULE.told(f"{text}: it doesn't lie level, and no feet hold there", (deck,), part.place, people)


RULE = Rule(
    name="by-one-end-underfoot",
    severity=Severity.DANGER,
    means="Somebody stands on a deck that has ends, and hangs by one of them, or by its middle, alone.",
    matters=(
        "What hangs by one end hangs plumb, and by its middle it goes down under whoever steps aside: nobody stands "
        "there, and their feet hold nobody. An end that only hands, or somebody's weight, keep up counts as hung on "
        "nothing."
    ),
    mends="A line from an anchor to the other end too; whoever stands there on two lines of their own.",
    source="statics of a beam on one pick",
    wrong="""
anchor one, other
load deck: points left, right, ends left | right   # here
attach one - wire near - deck.left
wire far
attach other - far
person lou: points chest, back, stands on deck
attach one - lanyard first - lou.chest
attach other - lanyard second - lou.back
""",
    right="""
anchor one, other
load deck: points left, right, ends left | right
attach one - wire near - deck.left
attach other - wire far - deck.right
person lou: points chest, back, stands on deck
attach one - lanyard first - lou.chest
attach other - lanyard second - lou.back
""",
    find=find,
)
