"""The worst that happens after a single failure to somebody who is held all the same: who tips or drops, how far, after
which."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from analyser.checking.consequences import effects
from analyser.checking.fates import Together
from analyser.checking.results import Result, State
from analyser.holding.fate import Fate, Kind
from analyser.language.identities import FailureId
from analyser.rig.model import Nature


@dataclass(frozen=True, slots=True)
class Shaking:
    """`what` happens after the first of `failures`, in this state: after the others the same, as far or less."""

    state: State
    what: Together
    failures: tuple[FailureId, ...]

    @property
    def drop(self) -> float | None:
        """m; None where they tip, or how far they drop isn't told."""
        return self.what.fate.drop


def worst_shaking(result: Result, without: Collection[str] = ()) -> Shaking | None:
    """Over all states: turned over before tipped before dropped, the deepest first, then people, then most of them;
    `without`: failures that are not asked after."""
    found = min(_each(result, without), key=lambda one: one[0], default=None)
    if found is None:
        return None
    _, state, what, worst = found
    alike = (one.id for one in state.outcome.failures if one.id not in without and _also(one.fated, what))
    return Shaking(state, what, tuple(dict.fromkeys((worst, *alike))))


def _each(result: Result, without: Collection[str]) -> Iterator[tuple[tuple[float, ...], State, Together, FailureId]]:
    seen: set[int] = set()
    for number, state in enumerate(result.every_state):
        if id(state.outcome) in seen:
            continue
        seen.add(id(state.outcome))
        for nth, (failure, effect) in enumerate(effects(state.outcome)):
            for one in effect.what if failure.id not in without else ():
                if not one.fate.not_held:
                    fate = Fate(one.fate.kind, drop=one.fate.drop if one.fate.kind is Kind.DROPS else None)
                    people = sum(state.rig.parts[name].nature is Nature.PERSON for name in one.bodies)
                    rank = (fate.kind.rank, -round(fate.drop or 0, 2), -people, -len(one.bodies), number, nth)
                    yield rank, state, Together(fate, one.bodies), failure.id


def _also(fates: dict[str, Fate], what: Together) -> bool:
    return all(name in fates and fates[name].kind is what.fate.kind for name in what.bodies)
