"""The worst that happens after a single failure to somebody who is held all the same: who tips or drops, how far, after
which."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.consequences import by_kind, effects
from analyser.checking.fates import Together
from analyser.checking.results import Result, State
from analyser.holding.fate import Fate
from analyser.language.identities import FailureId
from analyser.rig.model import Nature, Rig


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


def people_first(rig: Rig, names: Sequence[str]) -> tuple[int, int]:
    """Fewer is worse: how many people, then how many bodies, with their signs turned."""
    return -sum(rig.parts[name].nature is Nature.PERSON for name in names), -len(names)


def _each(result: Result, without: Collection[str]) -> Iterator[tuple[tuple[float, ...], State, Together, FailureId]]:
    for number, state in enumerate(result.held_otherwise):
        for nth, (failure, effect) in enumerate(effects(state.outcome)):
            for one in effect.what if failure.id not in without else ():
                if not one.fate.not_held:
                    fate, most = by_kind(one.fate), people_first(state.rig, one.bodies)
                    rank = (fate.kind.rank, -round(fate.drop or 0, 2), *most, number, nth)
                    yield rank, state, Together(fate, one.bodies), failure.id


def _also(fates: dict[str, Fate], what: Together) -> bool:
    return all(name in fates and fates[name].kind is what.fate.kind for name in what.bodies)
