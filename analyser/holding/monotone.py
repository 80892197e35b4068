"""Least fixed points of monotone Boolean systems, many scenarios at once.

A variable's value is a Python integer, one bit a scenario (a *column*). `least` starts from the
seeds and adds until nothing changes: a variable becomes true through a link from one that is true
(OR), or through a gate (AND, k-of-n, or any other monotone condition), never where its guard is
off. Cycles are allowed: what only supports itself stays false.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from typing import Protocol


class Gate(Protocol):
    """A monotone condition on `sources` that makes `target` true."""

    @property
    def target(self) -> int: ...

    @property
    def sources(self) -> Sequence[int]: ...

    def fires(self, values: Sequence[int]) -> int:
        """The columns in which the condition holds."""
        ...

    def fired(self, new: int) -> None:
        """Told once for the columns in which this gate was the first to make its target true."""
        ...


class AtLeast:
    """True where at least `count` of the sources of *every* group are true."""

    def __init__(self, target: int, groups: Sequence[tuple[int, Sequence[int]]]) -> None:
        self.target = target
        self.groups = groups
        self.sources = sorted({source for _, sources in groups for source in sources})

    def fires(self, values: Sequence[int]) -> int:
        bits = -1
        for count, sources in self.groups:
            bits &= at_least(count, [values[source] for source in sources])
        return bits

    def fired(self, new: int) -> None:
        """Nothing to remember."""


def at_least(count: int, values: Iterable[int]) -> int:
    """The columns in which at least `count` of the values are true.

    >>> bin(at_least(2, [0b011, 0b101, 0b110]))
    '0b111'
    >>> bin(at_least(3, [0b011, 0b101, 0b111]))
    '0b1'
    """
    reached = [0] * count  # reached[k]: at least k + 1 so far
    for value in values:
        for k in range(count - 1, 0, -1):
            reached[k] |= reached[k - 1] & value
        if count:
            reached[0] |= value
    return reached[-1] if count else -1


def least(
    seeds: Sequence[int],
    guards: Sequence[int],
    links: Sequence[Sequence[int]],
    gates: Sequence[Gate] = (),
    carried: Callable[[int, int, int], None] | None = None,
) -> list[int]:
    """The least solution of: value = guard & (seed | any linked variable | any gate).

    `links[v]` are the variables that v makes true. `carried(v, t, new)` is told when a link from v
    is the first to make t true, in the columns `new`. Cost: each link and gate is looked at again
    only when a source of it grew.
    """
    values = [seed & guard for seed, guard in zip(seeds, guards, strict=True)]
    watching: dict[int, list[Gate]] = {}
    for gate in gates:
        for source in gate.sources:
            watching.setdefault(source, []).append(gate)
    queue = deque(v for v, value in enumerate(values) if value)
    waiting = set(queue)
    pending: deque[Gate] = deque(gates)
    queued = set(map(id, gates))
    while queue or pending:
        while queue:
            v = queue.popleft()
            waiting.discard(v)
            value = values[v]
            for t in links[v]:
                new = value & guards[t] & ~values[t]
                if new:
                    values[t] |= new
                    if carried:
                        carried(v, t, new)
                    if t not in waiting:
                        waiting.add(t)
                        queue.append(t)
            for gate in watching.get(v, ()):
                if id(gate) not in queued:
                    queued.add(id(gate))
                    pending.append(gate)
        if pending:
            gate = pending.popleft()
            queued.discard(id(gate))
            t = gate.target
            room = guards[t] & ~values[t]
            new = gate.fires(values) & room if room else 0
            if new:
                values[t] |= new
                gate.fired(new)
                if t not in waiting:
                    waiting.add(t)
                    queue.append(t)
    return values
