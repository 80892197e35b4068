"""Where a rope comes to that runs: the stoppers and knots by which somebody is caught at last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import islice
from typing import Protocol

from analyser.holding.batch import Rows
from analyser.holding.reading import Reading
from analyser.rig.model import Effects, Failure, Rig, Role

MOST_TOGETHER = 1 << 14
"""Scenarios that are asked in one go."""


class Reader(Protocol):
    """A rig that can be asked who is held (`system.RigSystem`)."""

    rig: Rig
    failures: tuple[Failure, ...]
    already: Effects
    had: Mapping[str, list[tuple[bool, bool]]]

    def read(self, reading: Reading, rows: Rows, width: int, asked: Mapping[str, int]) -> dict[str, int]: ...

    def level(self, rows: Rows, width: int, asked: Mapping[str, int]) -> dict[str, int]: ...

    def tails(self, body: str, effects: Effects) -> list[str]: ...

    def like(self, rig: Rig, already: Effects) -> Reader: ...

    def as_load(self, rig: Rig, bar: str) -> Reader: ...

    def part(self, rig: Rig, already: Effects, body: str) -> Reader: ...

    def by_itself(self) -> Reader: ...


class Portioned(Protocol):
    """A rig in portions (`reviewing.Review`)."""

    def around(self, body: str, effects: Effects) -> tuple[Reader, Effects]: ...


class Running:
    """What catches the bodies of a system."""

    def __init__(self, system: Reader, portions: Portioned | None = None) -> None:
        """`portions`: the same rig in portions, each asked by itself."""
        self.system = system
        self.portions = portions
        self.known: dict[tuple[str, Effects], tuple[str, ...]] = {}

    def to(self, body: str, effects: Effects) -> tuple[str, ...]:
        """Of the stoppers, and of the knots and grips that hold a tail: those without which the body would not be
        caught; where any of several would do, each that does alone. Empty where it can't be told so."""
        return self.each(body, [effects])[0]

    def each(self, body: str, scenarios: Sequence[Effects]) -> list[tuple[str, ...]]:
        """The same in several scenarios, asked together."""
        system, mine = self.system, list(scenarios)
        if self.portions:
            around = [self.portions.around(body, effects) for effects in scenarios]
            mine = [effects for _, effects in around]
            system = around[0][0] if around else system
        new = [one for one in dict.fromkeys(mine) if (body, one) not in self.known]
        for effects, caught in zip(new, _Caught(system, body, new).by() if new else (), strict=True):
            self.known[body, effects] = caught
        return [self.known[body, effects] for effects in mine]


class _Caught:
    """One body in some scenarios."""

    def __init__(self, system: Reader, body: str, scenarios: Sequence[Effects]) -> None:
        self.system, self.body, self.scenarios = system, body, scenarios

    def by(self) -> list[tuple[str, ...]]:
        stoppers = [s.part for r in self.system.rig.ropes for s in r.stations if s.role is Role.STOPPER]
        names = []
        for effects in self.scenarios:
            every = dict.fromkeys([*stoppers, *self.system.tails(self.body, effects)])
            names.append([name for name in every if name not in effects.gone | effects.ungripped])
        return self._among(self._spared(names))

    def _spared(self, names: list[list[str]]) -> list[list[str]]:
        """Those without which the body is held with nothing else failed (all, where it isn't to begin with): what is
        needed anyhow is not what a rope runs to."""
        every = list(dict.fromkeys(name for several in names for name in several))
        first, *held = self._read(Reading.HELD, [Effects(), *(Effects(gone=frozenset({name})) for name in every)])
        if not first:
            return names
        needless = {name for name, so in zip(every, held, strict=True) if so}
        return [[name for name in several if name in needless] for several in names]

    def _among(self, names: list[list[str]]) -> list[tuple[str, ...]]:
        asked = []
        for effects, several in zip(self.scenarios, names, strict=True):
            every = frozenset(several)
            asked += [effects | Effects(gone=frozenset({name})) for name in several]
            asked += [effects | Effects(gone=every - {name}) for name in several]
        caught = iter(self._read(Reading.CAUGHT, asked))
        found = []
        for several in names:
            without, alone = list(islice(caught, len(several))), list(islice(caught, len(several)))
            needed = tuple(name for name, so in zip(several, without, strict=True) if not so)
            found.append(needed or tuple(name for name, so in zip(several, alone, strict=True) if so))
        return found

    def _read(self, reading: Reading, scenarios: list[Effects]) -> list[bool]:
        """Is the body held after each of these?"""
        found: list[bool] = []
        for start in range(0, len(scenarios), MOST_TOGETHER):
            some = scenarios[start : start + MOST_TOGETHER]
            rows = [(effects, 1 << k) for k, effects in enumerate(some)]
            bits = self.system.read(reading, rows, len(some), {self.body: (1 << len(some)) - 1})[self.body]
            found += [bool(bits >> k & 1) for k in range(len(some))]
        return found
