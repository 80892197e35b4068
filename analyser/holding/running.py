"""Where a rope comes to that runs: the stoppers and knots by which somebody is caught at last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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


class Portioned(Protocol):
    """A rig in portions (`reviewing.Review`)."""

    def held_in(self, body: str, reading: Reading, scenarios: Sequence[Effects]) -> int: ...


class Running:
    """What catches the bodies of a system."""

    def __init__(self, system: Reader, portions: Portioned | None = None) -> None:
        """`portions`: the same rig in portions, each asked by itself."""
        self.system = system
        self.portions = portions
        self.known: dict[tuple[str, Effects], tuple[str, ...]] = {}
        rig = system.rig
        self.stoppers = [s.part for r in rig.ropes for s in r.stations if s.role is Role.STOPPER]

    def to(self, body: str, effects: Effects) -> tuple[str, ...]:
        """Of the stoppers, and of the knots and grips that hold a tail: those without which the body would not be
        caught; where any of several would do, each that does alone. Empty where it can't be told so."""
        key = body, effects
        if key not in self.known:
            names = [*self.stoppers, *self.system.tails(body, effects)]
            names = [name for name in dict.fromkeys(names) if name not in effects.gone]
            self.known[key] = self._among(body, effects, self._spared(body, names))
        return self.known[key]

    def _spared(self, body: str, names: list[str]) -> list[str]:
        """Those without which the body is held with nothing else failed (all, where it isn't to begin with): what is
        needed anyhow is not what a rope runs to."""
        bits = self._read(Reading.HELD, body, [Effects(gone=frozenset({name})) for name in names])
        return [name for k, name in enumerate(names) if bits >> k + 1 & 1] if bits & 1 else names

    def _among(self, body: str, effects: Effects, names: list[str]) -> tuple[str, ...]:
        if not names:
            return ()
        every = frozenset(names)
        without = [Effects(gone=frozenset({name})) for name in names]
        alone = [Effects(gone=every - {name}) for name in names]
        caught = self._caught(body, effects, [*without, *alone])
        needed = tuple(name for name, so in zip(names, caught, strict=False) if not so)
        return needed or tuple(name for name, so in zip(names, caught[len(names) :], strict=True) if so)

    def _caught(self, body: str, effects: Effects, more: list[Effects]) -> list[bool]:
        bits = self._read(Reading.CAUGHT, body, [effects | one for one in more])
        return [bool(bits >> k + 1 & 1) for k in range(len(more))]

    def _read(self, reading: Reading, body: str, scenarios: list[Effects]) -> int:
        """Where a body is held with nothing failed (the first bit), and after each of these."""
        if self.portions:
            return self.portions.held_in(body, reading, [Effects(), *scenarios])
        width = len(scenarios) + 1
        rows = [(effects, 2 << k) for k, effects in enumerate(scenarios)]
        return self.system.read(reading, rows, width, {body: (1 << width) - 1})[body]
