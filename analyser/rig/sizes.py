"""Figures that no rig has: nought where something must be, a person of 9,000 kg. Asked about, not believed.

The limits are wide on purpose (common practice, no source): they catch a wrong unit or a slip of the
pen, and never judge an unusual rig.
"""

from __future__ import annotations

from analyser.rig.figures import FACTORS, as_mass, mass_number
from analyser.rig.model import Nature, Quantity

PERSON = (2.0, 400.0)
"""Kilograms that a person may have."""
LITTER = 1000.0
MOST = {
    "mass": 1e6, "length": 1e5, "width": 1e3, "diameter": 1.0, "strength": 1e9, "drop": 1e4,
    "slips at": 1e9, "slips up to": 1e3,
}  # fmt: skip
"""Kilograms, metres and newtons above which a figure is a slip of the pen."""
STRETCH = 1.0
"""A rope that gets more than twice as long is none."""
MOST_IN_POUNDS = 250.0
"""Kilograms up to which pounds are the likelier slip."""


def doubt(nature: Nature, key: str, given: Quantity) -> tuple[str, str] | None:
    """Why a figure can't be meant, and what to write instead; None for one that can.

    >>> doubt(Nature.PERSON, "mass", Quantity("9000 kg", 9000.0, "kg", numbers=("9000",)))
    ('a person of 9000 kg: lb or kg?', 'a mass from 2 to 400 kg, for example `85 kg`')
    """
    if key == "efficiency":
        words = "what share of the pull gets past it: a number above 0 and up to 1, for example `efficiency 0.9`"
        return None if 0 < given.si <= 1 else (f"{given.text} is not an efficiency", words)
    if key == "loss":
        words = "the share of a stretch's energy that doesn't come back: for example `loss 30 %`"
        return None if given.si < 1 else (f"a loss of {given.text} gives nothing back", words)
    if key == "stretch":
        if given.percent_at is not None and given.percent_at.si == 0:
            return f"a stretch at {given.percent_at.text} says nothing", "for example `stretch 3 % at 150 kg`"
        more = "a rope's stretch is some 1 to 40 %: for example `stretch 3 % at 150 kg`"
        return None if given.si <= STRETCH else (f"a stretch of {given.text} is more than any rope has", more)
    if given.si == 0 and key == "slips at":
        rather = "the pull at which it begins to slip: for example `slips at 9 kN`"
        return f"what slips at {given.text} holds nothing", rather
    if given.si == 0 and key in ("mass", "diameter", "strength", "length", "width"):
        return f"a {key} of {given.text} is none", "write what it really is, or leave it out"
    least, most = PERSON
    if key == "mass" and nature is Nature.PERSON and not least <= given.si <= most:
        number = given.numbers[0]
        pounds = float(number) * FACTORS["lb"][1]
        if given.unit == "kg" and given.si > most and pounds <= MOST_IN_POUNDS:
            return f"a person of {given.text}: lb or kg?", f"`{number} lb`, if pounds were meant"
        return (
            f"a person of {given.text}: lb or kg?",
            f"a mass from {mass_number(least, 'g')} to {as_mass(most)}, for example `85 kg`",
        )
    if key == "mass" and nature is Nature.LITTER and given.si > LITTER:
        return f"a litter of {given.text}", "its own mass, without who lies in it: for example `15 kg`"
    if given.si > MOST.get(key, float("inf")):
        return f"a {key} of {given.text} is more than any rig has", "look at its unit, and at its noughts"
    return None
