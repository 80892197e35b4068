"""The search for an order: best first over sets of done steps, the written order being the nearest.

An order costs, first to last: the states in which a requirement is broken or to which a step drops
somebody; the steps that open what may still carry a litter or a load, nothing having been taken in;
the steps that leave the written order (all but a longest run of steps that keep it). Of equals
the one with the smaller numbers comes first. Costs only grow along an order, so the first whole order
that comes up is the best (Dijkstra 1959, from memory).
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import combinations

from analyser.checking.step_orders import Key, States

MOST_STATES = 4_000
"""After so many states analysed the search ends by itself; so the same file gives the same answer."""
SMALLEST = 3
"""Steps that can never all be done are looked for up to so many together."""


@dataclass(frozen=True, slots=True)
class Way:
    """An order of the steps (numbers from 0, as written): which of them keep to the written order, how many
    states are bad and how many steps open what may carry."""

    steps: tuple[int, ...]
    kept: tuple[bool, ...]
    bad: int
    carrying: int


@dataclass(slots=True)
class Searched:
    """`best` is None where no whole order came up before the search was stopped, or none leaves the same rig.

    `least` is the smallest number of bad states that any order can have, as far as it was searched."""

    best: Way | None
    least: int
    complete: bool
    kept: set[Key] = field(default_factory=set)
    """The states that can be reached with no bad state on the way."""


@dataclass(frozen=True, slots=True)
class Impossible:
    """Why no order keeps everything: `steps` that can never (all) be done, and what breaks then."""

    steps: tuple[int, ...]
    how: str
    """`end`, `step`, `together` or `another rig`."""
    reasons: tuple[str, ...]
    others: tuple[int, ...] = ()
    """More steps that by themselves make it impossible."""


def search(
    states: States,
    budget: float | None = None,
    most: int = MOST_STATES,
    accept: Callable[[Way], bool] = lambda way: True,
) -> Searched:
    """The best order, unless `budget` (seconds) or `most` states end the search before. An order for which
    `accept` is False is passed over."""
    started = time.monotonic()
    begun = states.count
    size = len(states.groups)
    due = (1 + len(states.last)) * bool(states.broken(states.end))  # every order ends there: told from the start
    heap: list[tuple[int, int, int, tuple[int, ...], tuple[bool, ...], Key, int, bool]] = [
        (due, 0, 0, (), (), (0, 0), -1, True)
    ]
    seen: set[tuple[Key, int]] = set()
    found = Searched(None, 0, complete=True)
    while heap:
        bad, carrying, moved, steps, kept, key, last, looked = heapq.heappop(heap)
        found.least = max(found.least, bad)
        if not looked:
            if states.count - begun >= most or (budget is not None and time.monotonic() - started > budget):
                found.complete = False
                return found
            before, k = key, steps[-1]
            after = states.after(before, k)
            if after is None:
                continue
            told = due and after == states.end
            worse = int(not told and bool(states.broken(after) or states.drops(before, k)))
            heavy = bool(states.carried(before, k)) and not states.taken_in(before[0])
            worse += len(states.groups[k].after) * bool(states.groups[k].after and states.broken(after))
            entry = (bad + worse, carrying + heavy, moved, steps, kept, after, last, True)
            if worse or heavy:
                heapq.heappush(heap, entry)
                continue
            key = after
        if (key, last) in seen:
            continue
        seen.add((key, last))
        if bad == due:
            found.kept.add(key)
        if len(steps) == size:
            way = Way(steps, kept, bad, carrying)
            if key == states.end and accept(way):
                found.best = way
                return found
            if key == states.end:
                found.complete = False
            continue
        lowest = next(k for k in range(size) if not key[0] >> k & 1)
        for k in range(size):
            if key[0] >> k & 1 or states.after(key, k) is None:
                continue
            waiting = len(states.groups[k].before) * bool(states.groups[k].before and states.broken(key))
            choices = [(k, True)] if k > last else []
            if not choices or k > lowest:
                choices.append((last, False))
            for then, stays in choices:
                entry = (
                    *(bad + waiting, carrying, moved + (not stays)),
                    *((*steps, k), (*kept, stays), key, then, False),
                )
                heapq.heappush(heap, entry)
    return found


def why_none(states: States, found: Searched) -> Impossible:
    """The smallest reason that was found why no order keeps everything, once all that keep it so far are known."""
    if states.broken(states.end):
        return Impossible((), "end", states.broken(states.end))
    done = sorted({mask for mask, _ in found.kept})
    never = [k for k in range(len(states.groups)) if not any(mask >> k & 1 for mask in done)]
    named = [(k, reasons) for k in never if (reasons := _breaks(states, found, k))]
    if named:
        return Impossible((named[0][0],), "step", named[0][1], tuple(k for k, _ in named[1:]))
    for together in range(2, SMALLEST + 1):
        for some in combinations(range(len(states.groups)), together):
            wanted = sum(1 << k for k in some)
            if not any(mask & wanted == wanted for mask in done):
                return Impossible(some, "together", tuple(_last_of(states, found, some)))
    whole = states.end[0]
    if whole in done:
        return Impossible((), "another rig", ())
    furthest = max(done, key=lambda mask: (mask.bit_count(), -mask))
    rest = tuple(k for k in range(len(states.groups)) if not furthest >> k & 1)
    return Impossible(rest, "together", tuple(_last_of(states, found, rest)))


def _breaks(states: States, found: Searched, k: int) -> tuple[str, ...]:
    """What a step breaks wherever it can be taken, told where most else is done; nothing where it never can."""
    where = [key for key in found.kept if states.after(key, k) is not None]
    if not where:
        return ()
    most = max(where, key=lambda key: (key[0].bit_count(), -key[0], -key[1]))
    return reasons_after(states, most, k)


def reasons_after(states: States, key: Key, k: int) -> tuple[str, ...]:
    """What is wrong in the state after a step, and in taking it."""
    after = states.after(key, k)
    return () if after is None else (*states.broken(after), *states.drops(key, k))


def _last_of(states: States, found: Searched, some: tuple[int, ...]) -> Iterator[str]:
    """What each of some steps breaks when all the others of them are done."""
    for k in some:
        others = sum(1 << other for other in some if other != k)
        where = [key for key in found.kept if key[0] & others == others and states.after(key, k) is not None]
        if where:
            most = max(where, key=lambda key: (key[0].bit_count(), -key[0], -key[1]))
            for reason in reasons_after(states, most, k)[:1]:
                yield f"after `{states.groups[k].step.words}` last: {reason}"
