"""Small random stages on a small random rig: straps, ropes, devices and a basket, steps as they come.

Nonsense as rigging, and valid as files: each step is kept only where the file still reads with it.
"""

from __future__ import annotations

import random

import analyser
from analyser.language.mistakes import Unreadable

BASE = """rig "Random steps"
anchor left, right, beam
ring eye
person jo: standing
person sam: points waist, chest
litter basket: 20 kg, points head, foot
attach left - strap a - sam.waist
attach right - strap b - sam.chest
attach eye - strap leg-1 - basket.head
attach eye - strap leg-2 - basket.foot
attach right - eye
attach left - brake device
device: operated by jo, self-locking
strap spare
attach beam - spare
rope red
    gripped by device
    tied to eye with bowline as red-low
    stopper
"""
MOVABLE = ("a", "b", "leg-1", "leg-2", "spare")
PLACES = ("left", "right", "beam", "eye", "sam.waist", "sam.chest", "basket.head", "basket.foot")
ASKED = (
    "",
    "require every person has 2 independent attachments\n",
    "require everyone held after any 1 failure\n",
    "require everyone held with hands off\nrequire every person has 1 independent attachment\n",
    'require everyone held after any 1 failure in stage "Change"\n',
)


def step(draw: random.Random) -> str:
    strap, place = draw.choice(MOVABLE), draw.choice(PLACES)
    return draw.choice(
        (
            *(f"detach {strap} from {place}", f"attach {strap} - {place}"),
            *(f"attach {place} - sling {draw.choice('pqr')} - {draw.choice(PLACES)}", f"detach {draw.choice('pqr')}"),
            *("lock off device", "open device", "take device in hand", f"take in {strap} by 0.2 m"),
            *('check "seen"', 'say "on"', f"detach {strap}", "land basket on ground", "lift basket off"),
            *("derig red", "rerig red\n        gripped by device\n        tied to beam as red-low"),
            "rope blue\n        tied to beam as blue-top\n        tied to sam.chest as blue-low",
        )
    )


def random_stage(seed: int, steps: int) -> str:
    """A rig with one stage of about that many steps."""
    draw = random.Random(seed)
    text = BASE + draw.choice(ASKED) + 'stage "Change"\n'
    kept = 0
    for _ in range(steps * 8):
        longer = f"{text}    {step(draw)}\n"
        try:
            analyser.read_text(longer)
        except Unreadable:
            continue
        text, kept = longer, kept + 1
        if kept == steps:
            break
    return text
