"""Somebody whose feet count on something that hangs far off level, by the forces."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.off_their_feet import off_their_feet
from analyser.rig.model import Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads


def find(rig: Rig, loads: Loads) -> Iterator[Finding]:
    for body, off in off_their_feet(rig, loads.now, loads.faring[0] if loads.faring else None):
        if off is None:
            text = f"{body.name} stands on {body.stands_on}, and by the forces is off it with nothing failed"
            text += ": it would have to hang on the feet, or they to cling to it"
        else:
            text = f"{body.name} stands on {body.stands_on}, which hangs {off:.0f} deg off level with nothing failed"
            text += ": no feet hold there"
        yield RULE.told(text, (body.name, body.stands_on or ""), body.place, (body.name,))


RULE = Rule(
    name="sloping-underfoot",
    severity=Severity.DANGER,
    means=(
        "Somebody stands on a deck or a litter that by the forces hangs more than 15 degrees off level, or that their "
        "feet don't press on."
    ),
    matters=(
        "Feet count as a way of being held while what they stand on is level. Let down on one side it slopes, and "
        "whoever stands there slides off, on to their line or without one: the connections know nothing of slopes. Nor "
        "do they know of somebody whose line is so short that the deck would hang on their feet: feet push only."
    ),
    mends="Let both sides down together; whoever stands there on two lines of their own, taken in.",
    source="limit ours, no source",
    wrong="""
anchor wb: at (-3, 0, 20)
anchor eb: at (3, 0, 20)
anchor le: at (0, 0.5, 20)
person lou: 80 kg, stands on deck, points chest, at (0, 0, 11)   # here
load deck: 200 kg, points west, east, ends west | east, at (0, 0, 9.8)
deck.west: at (-3, 0, 11.5)
deck.east: at (3, 0, 11.5)
attach wb - wire ww - deck.west
attach eb - wire ew - deck.east
ww: length 11 m
ew: length 8.5 m
attach le - wire ll - lou.chest
ll: length 12 m
""",
    right="""
anchor wb: at (-3, 0, 20)
anchor eb: at (3, 0, 20)
anchor le: at (0, 0.5, 20)
person lou: 80 kg, stands on deck, points chest, at (0, 0, 11)
load deck: 200 kg, points west, east, ends west | east, at (0, 0, 9.8)
deck.west: at (-3, 0, 11.5)
deck.east: at (3, 0, 11.5)
attach wb - wire ww - deck.west
attach eb - wire ew - deck.east
ww: length 8.5 m
ew: length 8.5 m
attach le - wire ll - lou.chest
ll: length 12 m
""",
    find=find,
)
