"""Where a rope comes to that runs: the stoppers and knots by which somebody is caught at last."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from analyser.holding.batch import Rows
from analyser.holding.cuts import Reading
from analyser.rig.model import Effects, Failure, Rig, Role


class Reader(Protocol):
    """A rig that can be asked who is held (`system.RigSystem`)."""

    rig: Rig
    failures: tuple[Failure, ...]
    already: Effects

    def read(self, reading: Reading, rows: Rows, width: int, asked: Mapping[str, int]) -> dict[str, int]: ...

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
        system = self.system
        if self.portions:
            system, effects = self.portions.around(body, effects)
        key = body, effects
        if key not in self.known:
            self.known[key] = _Caught(system, body, effects).by()
        return self.known[key]


class _Caught:
    """One body in one scenario."""

    def __init__(self, system: Reader, body: str, effects: Effects) -> None:
        self.system, self.body, self.effects = system, body, effects

    def by(self) -> tuple[str, ...]:
        stoppers = [s.part for r in self.system.rig.ropes for s in r.stations if s.role is Role.STOPPER]
        names = dict.fromkeys([*stoppers, *self.system.tails(self.body, self.effects)])
        return self._among(
            self._spared([name for name in names if name not in self.effects.gone | self.effects.ungripped])
        )

    def _spared(self, names: list[str]) -> list[str]:
        """Those without which the body is held with nothing else failed (all, where it isn't to begin with): what is
        needed anyhow is not what a rope runs to."""
        bits = self._read(Reading.HELD, [Effects(gone=frozenset({name})) for name in names])
        return [name for k, name in enumerate(names) if bits >> k + 1 & 1] if bits & 1 else names

    def _among(self, names: list[str]) -> tuple[str, ...]:
        if not names:
            return ()
        every = frozenset(names)
        without = [Effects(gone=frozenset({name})) for name in names]
        alone = [Effects(gone=every - {name}) for name in names]
        bits = self._read(Reading.CAUGHT, [self.effects | one for one in (*without, *alone)])
        caught = [bool(bits >> k + 1 & 1) for k in range(2 * len(names))]
        needed = tuple(name for name, so in zip(names, caught, strict=False) if not so)
        return needed or tuple(name for name, so in zip(names, caught[len(names) :], strict=True) if so)

    def _read(self, reading: Reading, scenarios: list[Effects]) -> int:
        """Where the body is held with nothing failed (the first bit), and after each of these."""
        width = len(scenarios) + 1
        rows = [(effects, 2 << k) for k, effects in enumerate(scenarios)]
        return self.system.read(reading, rows, width, {self.body: (1 << width) - 1})[self.body]
