"""Looking back: which one addition would have kept people held in given scenarios."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import analyser
from analyser.holding.system import RigSystem
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Rig
from analyser.uses.mending.around import Around, Set
from analyser.uses.mending.proposal import Proposal, lines_of_text, with_proposal
from analyser.uses.mending.ranking import (
    FEWEST_TRIED,
    MOST_READ,
    MOST_SETS,
    MOST_TRIED,
    PROPOSERS,
    rows_of,
    staying,
    what_it_joins,
)


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


def keeping(rig: Rig, text: str, file: str, folder: Path, scenarios: Sequence[Scenario]) -> Keeping:
    """Every addition of the mend search that would have kept everyone held in some scenario.

    An addition is made to the rig as first attached, and is there in every later state. `text` is the
    rig's own file. What can no longer happen with an addition counts as kept.
    """
    scenarios = list(scenarios)[:MOST_SETS]
    text = _without_observations(text)  # with an addition, what was observed may no longer be able to happen
    fallen: dict[str, list[Set]] = {}
    for one in scenarios:
        for body in one.bodies:
            fallen.setdefault(body, []).append(one.failures)
    around = Around(rig, text, file, folder, fallen, staying(rig, fallen))
    proposals: dict[object, Proposal] = {}
    for propose in PROPOSERS:
        for proposal in propose(around):
            if proposal.bodies:
                proposals.setdefault(what_it_joins(proposal), proposal)
    tried = list(proposals.values())[: max(FEWEST_TRIED, min(MOST_TRIED, MOST_READ // len(rig.parts)))]
    found = [kept for p in tried if (kept := _kept(p, text, file, folder, scenarios))]
    found.sort(key=lambda k: (-k.scenarios, k.proposal.size, k.proposal.lines, k.proposal.taste, k.proposal.words))
    return Keeping(tuple(found), len(scenarios), len(tried), len(proposals) - len(tried))


def _kept(proposal: Proposal, text: str, file: str, folder: Path, scenarios: Sequence[Scenario]) -> Kept | None:
    try:
        new = analyser.read_text(with_proposal(text, proposal), file, folder)
    except Unreadable:
        return None
    states = new.states
    count = sum(_held_in(states[k], [one for one in scenarios if one.state == k]) for k in {o.state for o in scenarios})
    return Kept(proposal, count) if count else None


def _held_in(rig: Rig, scenarios: Sequence[Scenario]) -> int:
    """In how many scenarios of one state everybody asked after is held."""
    system = RigSystem(rig)
    rows, kept = rows_of(rig, [one.failures for one in scenarios])
    asked: dict[str, int] = {}
    for k, one in enumerate(scenarios):
        for body in one.bodies:
            asked[body] = asked.get(body, 0) | 1 << k
    held = system.read(system.strict, rows, len(scenarios), asked)
    for k, one in enumerate(scenarios):
        if all(held[body] >> k & 1 for body in one.bodies):
            kept |= 1 << k
    return kept.bit_count()


def _without_observations(text: str) -> str:
    """The same lines, those of `observed` blocks left empty."""
    lines = lines_of_text(text)
    inside = False
    for number, line in enumerate(lines):
        if line.strip() and not line[0].isspace():
            inside = re.match(r"observed(?![\w-])", line) is not None
        if inside:
            lines[number] = ""
    return "\n".join(lines)
