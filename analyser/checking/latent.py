"""Slips that nobody sees before weighting: each taken as there already, while every single failure follows.

A single failure on top of one that is there unseen is a pair, so nothing is searched anew: what
makes a slip deadly stands in the failure sets of two (facts 9.2, S92: undetectable failures already
present are assumed on top of the single one).
"""

from __future__ import annotations

from dataclasses import dataclass

from analyser.holding.outcome import Outcome
from analyser.language.identities import FailureId
from analyser.language.mistakes import Place
from analyser.rig.model import Failure, Nature, Rig, Role


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip that may be there unseen, as the failure it amounts to.

    `alone` are the bodies that fall with it and nothing else; `deadly` pairs each single failure
    that it makes deadly with the bodies that then fall.
    """

    failure: FailureId
    words: str
    place: Place
    alone: tuple[str, ...]
    deadly: tuple[tuple[str, tuple[str, ...]], ...]


def slips(rig: Rig, outcome: Outcome) -> tuple[Slip, ...]:
    """Every slip, those first that matter most: deadly alone, then by how many failures they make
    deadly. The outcome must be searched to order 2 at least."""
    alone: dict[str, list[str]] = {}
    pairs: dict[str, dict[str, list[str]]] = {}
    for body, sets in outcome.failure_sets.items():
        for cut in sets:
            if len(cut) == 1:
                alone.setdefault(cut[0], []).append(body)
            elif len(cut) == 2:
                for one, other in (cut, cut[::-1]):
                    pairs.setdefault(one, {}).setdefault(other, []).append(body)
    told = {one.failure: one.reason for one in rig.latent}
    found = []
    for failure in rig.failures:
        words = told.get(failure.id) or unseen(rig, failure)
        if words:
            deadly = tuple((other, tuple(sorted(b))) for other, b in sorted(pairs.get(failure.id, {}).items()))
            found.append(Slip(failure.id, words, failure.place, tuple(sorted(alone.get(failure.id, ()))), deadly))
    return tuple(sorted(found, key=lambda s: (-len(s.alone), -len(s.deadly), s.place, s.failure)))


UNSEEN = {
    "unlocked": "the gate of {} is left unlocked",
    "undone": "the buckle of {} is left undone",
    "not placed": "{} was never placed",
    "not tied": "{} was never tied",
    "half tied": "{} is left half tied",
    "wrong way": "{} is fitted the wrong way round",
    "loose": "{} is tied loosely",
}
"""How a part can be wrong with nobody seeing it, in words."""


def unseen(rig: Rig, failure: Failure) -> str | None:
    """How a failure can be there from the beginning with nobody seeing it; None where it can't."""
    how = slipped(rig, failure)
    return UNSEEN[how].format(failure.part) if how else None


def slipped(rig: Rig, failure: Failure) -> str | None:
    """The same as one of `UNSEEN`."""
    part = rig.parts.get(failure.part)
    if part is None:
        return None
    mode = failure.mode
    if mode == "fails" and "connector" in part.family and part.locking is not False:
        return "unlocked"
    if mode == "fails" and part.nature is Nature.HARNESS and not part.gear_only:
        return "undone"
    if mode == "shifts":
        return "not placed"
    if mode == "slips" and part.nature is Nature.STOPPER:
        return "not tied"
    if mode == "slips" and part.nature is Nature.KNOT:
        return None if part.made_before else "half tied"
    if mode == "slips" and part.nature is Nature.GRIP:
        return "wrong way" if any(at.station.one_way for at in rig.index.at(part.name, Role.GRIP)) else "loose"
    return None
