"""A stage of 40 steps of a 60-part rig: read, checked and judged in every state; and an order searched for it."""

from __future__ import annotations

import cProfile
import pstats

import analyser
from analyser.rig.model import Nature
from analyser.uses.ordering.answer import reorder

from .generating import ordinary
from .measuring import against, duration, heading, median, table

NAME = "stages"
STEPS, PARTS, TARGET = 40, 60, 2.0
"""Issue 8: 40 steps of a 60-part rig check in under 2 s."""


def staged(size: int, steps: int) -> str:
    """Teams side by side, and steps that move one thing after another: straps, ropes, devices, calls."""
    lines = [ordinary(size), "anchor spare-bolt", 'stage "Change over"']
    teams = [n for n in range(1, 100) if f"person t{n}-sam\n" in lines[0]]
    made: list[str] = []
    n = 0
    while len(made) < steps:
        t = f"t{teams[n % len(teams)]}"
        made += [
            f"attach spare-bolt - sling extra-{n} - {t}-sam",
            'check "the sling is closed and taut"',
            f"detach extra-{n} from spare-bolt",
            f"attach spare-bolt - extra-{n}",
            f"rope line-{n}\n        tied to spare-bolt as line-{n}-top\n        tied to extra-{n} as line-{n}-low",
            f"lock off {t}-device",
            f"take {t}-device in hand",
            'say "slack off"',
            f"detach extra-{n}",
            f"derig line-{n}",
        ]
        n += 1
    return "\n".join([*lines, *(f"    {line}" for line in made[:steps])]) + "\n"


def run(*, quick: bool) -> None:
    heading(NAME, f"a stage of {STEPS} steps, every state analysed and judged (target {TARGET:g} s)")
    rows = []
    for size, steps in ((PARTS, 10), (PARTS, STEPS)) if quick else ((PARTS, 10), (PARTS, STEPS), (2 * PARTS, STEPS)):
        text = staged(size, steps)
        reading, rig = median(analyser.read_text, text, runs=3)
        checking, result = median(analyser.check, rig, runs=3)
        parts = sum(part.nature is not Nature.POINT for part in rig.parts.values())
        whole = reading + checking
        verdict = against(whole, TARGET, above=False) if (size, steps) == (PARTS, STEPS) else ""
        states, bad = len(result.states), len(result.broken_states)
        rows.append([parts, steps, states, bad, duration(reading), duration(checking), duration(whole), verdict])
    table(("parts", "steps", "states", "broken", "reading", "checking", "both", "target"), rows)
    rig = analyser.read_text(staged(PARTS, STEPS))
    profile = cProfile.Profile()
    profile.runcall(analyser.check, rig)
    spent = pstats.Stats(profile).stats  # type: ignore[attr-defined]
    own = sorted(((row[2], row[1], key) for key, row in spent.items()), reverse=True)[:8]
    print("\n  where the time of one check goes (profiled, which slows it):\n")
    table(
        ("function", "calls", "own"),
        [[f"{key[0].rpartition('/')[2]}:{key[2]}", calls, duration(time)] for time, calls, key in own],
    )
    print()
    rows = []
    for steps in (6, 8) if quick else (6, 8, 10, 14):
        rig = analyser.read_text(staged(20, steps))
        taken, found = median(reorder, rig, "Change over", runs=1)
        proven = "proven best" if found.proven else "stopped"
        bad = found.best.bad if found.best else "-"
        rows.append([len(found.steps), found.analysed, found.written.bad, bad, duration(taken), proven])
    table(("steps that may change places", "states analysed", "bad as written", "bad at best", "time", ""), rows)
