"""Looking back: which one addition would have kept people held in given scenarios."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.holding.reading import Reading
from analyser.holding.system import RigSystem
from analyser.language.edit import edited, without
from analyser.language.parsing import Document
from analyser.language.syntax import ObservedBlock
from analyser.rig.building import build
from analyser.rig.model import Rig
from analyser.rig.plan import Plan
from analyser.uses.mending.around import Around, Set
from analyser.uses.mending.proposal import Proposal
from analyser.uses.mending.ranking import MOST_SETS, most_tried, proposed, rows_of, staying


@dataclass(frozen=True, slots=True)
class Scenario:
    """What failed, who fell, and the number of the state: 0 is the rig as first attached."""

    failures: Set
    bodies: tuple[str, ...]
    state: int = 0


@dataclass(frozen=True, slots=True)
class Kept:
    """One addition, and in how many of the scenarios everyone who fell would have been held."""

    proposal: Proposal
    scenarios: int


@dataclass(frozen=True, slots=True)
class Keeping:
    """The additions, those first that keep everyone held in the most of `scenarios`; `untried` more were
    left out, as were scenarios after the first `MOST_SETS`."""

    kept: tuple[Kept, ...]
    scenarios: int
    tried: int
    untried: int


def keeping(plan: Plan, scenarios: Sequence[Scenario]) -> Keeping:
    """Every addition of the mend search that would have kept everyone held in some scenario.

    An addition is made to the rig as first attached, and is there in every later state. What can no longer
    happen with an addition counts as kept.
    """
    scenarios = list(scenarios)[:MOST_SETS]
    fallen: dict[str, list[Set]] = {}
    for one in scenarios:
        for body in one.bodies:
            fallen.setdefault(body, []).append(one.failures)
    proposals = proposed(Around(plan, fallen, staying(plan.alone, fallen)))
    tried = proposals[: most_tried(plan)]
    # with an addition, what was observed may no longer be able to happen
    document = without(plan.document, ObservedBlock)
    found = [kept for proposal in tried if (kept := _kept(proposal, document, scenarios))]
    found.sort(key=lambda k: (-k.scenarios, k.proposal.size, k.proposal.lines, k.proposal.taste, k.proposal.words))
    return Keeping(tuple(found), len(scenarios), len(tried), len(proposals) - len(tried))


def _kept(proposal: Proposal, document: Document, scenarios: Sequence[Scenario]) -> Kept | None:
    new, _ = build(edited(document, proposal.edit))
    if new is None:
        return None
    numbers = {one.state for one in scenarios}
    count = sum(_held_in(new.states[k], [one for one in scenarios if one.state == k]) for k in numbers)
    return Kept(proposal, count) if count else None


def _held_in(rig: Rig, scenarios: Sequence[Scenario]) -> int:
    """In how many scenarios of one state everybody asked after is held."""
    system = RigSystem(rig)
    rows, kept = rows_of(rig, [one.failures for one in scenarios])
    asked: dict[str, int] = {}
    for k, one in enumerate(scenarios):
        for body in one.bodies:
            asked[body] = asked.get(body, 0) | 1 << k
    held = system.read(Reading.HELD, rows, len(scenarios), asked)
    for k, one in enumerate(scenarios):
        if all(held[body] >> k & 1 for body in one.bodies):
            kept |= 1 << k
    return kept.bit_count()
