"""Where statics and the rules of holding differ on who stays up: worth a look, never passed over.

The rules know nothing of weight: a rope through a pulley holds nobody by itself, though in the statics
its knot may run up to the pulley and jam there; and what the rules call held may run away where nothing
but friction holds it.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.forces.equilibrium import Equilibrium
from analyser.holding.reading import Reading
from analyser.holding.system import RigSystem
from analyser.rig.model import Effects, Rig


@dataclass(frozen=True, slots=True)
class Disagreement:
    body: str
    held_by_rules: bool
    held_by_statics: bool
    why: str


def disagreements(rig: Rig, found: Equilibrium, already: Effects | None = None) -> tuple[Disagreement, ...]:
    """Bodies on which the two differ, by name. `already` is what had befallen the rig in `found`.

    The rules' strict reading is asked: bare hands hold nobody, in either.
    """
    system = RigSystem(rig, already=already)
    held = system.read(Reading.HELD, [], 1, dict.fromkeys(system.goals, 1))
    loosely: dict[str, int] = {}
    if any(not held[body] and body not in found.falls for body in system.goals):
        loosely = system.read(Reading.BY_A_PERSON, [], 1, dict.fromkeys(system.goals, 1))
    told = []
    for body in system.goals:
        by_rules, by_statics = bool(held[body]), body not in found.falls
        if by_rules == by_statics:
            continue
        if by_rules:
            why = f"without friction {body} runs away: what the rules count on holds by friction alone"
        elif loosely.get(body):
            why = f"{body} hangs from a person, and the rules count nobody as holding anyone"
        elif found.jammed:
            pairs = "; ".join(f"{a} runs up to {b}" for a, b in found.jammed)
            why = f"in the statics something jams ({pairs}), and the rules count on no jam"
        else:
            why = f"the statics find a balance for {body} that the rules don't count on: it may not stay in it"
        told.append(Disagreement(body, by_rules, by_statics, why))
    return tuple(told)
