"""Failure sets of orders 2, 3 and 4 on ordinary rigs: time, columns and memory.

Each search runs in a fresh process, so that its memory is its own; "before" is what the process
held with the rig read. On the smallest rig every scenario up to order 3 is also tried one by one
(all of them as columns of plain sweeps) and the minimal sets compared.
"""

from __future__ import annotations

import json
import statistics
from itertools import combinations, islice

from analyser.holding.reviewing import Review
from analyser.holding.system import RigSystem

from .generating import made
from .measuring import against, counting, duration, heading, in_a_child, memory, once, table

NAME = "failure-sets"
LIMIT = 40.0
"""Seconds after which a process is stopped."""
RUNS, BUDGET = 5, 4.0
"""Runs (each with a fresh set-up) of which the median is told: fewer once they took that long."""
CHUNK = 1 << 16
MEMORY = ("before", "peak")


def run(*, quick: bool) -> None:
    heading(NAME, "every minimal failure set of every body, complete up to an order (each in its own process)")
    jobs: list[tuple[str, int, int]] = [("ordinary", 60, order) for order in (2, 3, 4)]
    jobs += [("joined", 60, order) for order in (2, 3, 4)]
    jobs += [(kind, 300, order) for kind in ("ordinary", "joined") for order in (2, 3)]
    if not quick:
        jobs += [("ordinary", 3000, 2), ("ordinary", 3000, 3), ("joined", 3000, 2), ("joined", 3000, 3)]
        jobs += [("ordinary", 10000, 2), ("ordinary", 10000, 3), ("joined", 10000, 2)]
    rows, notes = [], []
    for kind, size, order in jobs:
        said = in_a_child([kind, size, order], LIMIT)
        if said is None:
            rows.append([kind, size, "", "", order, f"over {LIMIT:.0f} s", *[""] * 6])
            notes.append(f"{kind}, {size} parts, order {order}: stopped after {LIMIT:.0f} s, not finished")
            continue
        total = said["set up"] + said["search"]
        rows.append(
            [
                kind,
                said["parts"],
                said["failures"],
                said["bodies"],
                order,
                duration(said["set up"]),
                duration(said["search"]),
                f"{said['columns']:,}",
                said["sweeps"],
                f"{said['sets']:,}",
                f"{said['before']:.0f} MB",
                f"{said['peak']:.0f} MB",
            ]
        )
        what = f"{kind}, {said['parts']} parts, order {order}"
        if (size, order) == (300, 3):
            notes.append(f"target {what}, under 0.5 s: {duration(total)}, {against(total, 0.5, above=False)}")
        if (size, order) == (3000, 3):
            peak = said["peak"]
            notes.append(f"target {what}, in seconds (under 10): {duration(total)}, {against(total, 10, above=False)}")
            notes.append(f"target {what}, under 300 MB: {peak:.0f} MB, {against(peak, 300, above=False)}")
    table(
        ("rig", "parts", "failures", "bodies", "order", "set up", "search", "columns", "sweeps", "sets", *MEMORY),
        rows,
    )
    print()
    for note in notes:
        print(f"  {note}")
    for kind in ("ordinary", "joined"):
        count, tried = checked(kind, 60, 2 if quick else 3)
        print(f"  {kind}, 60 parts: {count:,} sets equal those found by trying all {tried:,} scenarios one by one")


def child(kind: str, size: int, order: int) -> None:
    """Search one rig and say what it took."""
    one = made(kind, size)
    bodies = [body.name for body in one.rig.bodies]
    before = memory()
    times: list[tuple[float, float]] = []
    while len(times) < RUNS and sum(map(sum, times)) < BUDGET:
        set_up, review = once(Review, one.rig)
        with counting() as counted:
            search, found = once(review.failure_sets, bodies, order)
        times.append((set_up, search))
    said = {
        "parts": one.parts,
        "failures": one.failures,
        "bodies": one.bodies,
        "set up": statistics.median(one for one, _ in times),
        "search": statistics.median(other for _, other in times),
        "sets": sum(map(len, found.found.values())),
        "before": before,
        "peak": memory(),
        **counted,
    }
    print(json.dumps(said))


def checked(kind: str, size: int, order: int) -> tuple[int, int]:
    """Compare with plain sweeps over every scenario: the number of sets, and of scenarios."""
    one = made(kind, size)
    system = RigSystem(one.rig)
    found = Review(one.rig).failure_sets(system.goals, order).found
    expected: dict[str, set[frozenset[str]]] = {goal: set() for goal in system.goals}
    tried = 0
    for count in range(order + 1):
        scenarios = combinations(range(len(system.events)), count)
        while group := list(islice(scenarios, CHUNK)):
            tried += len(group)
            rows = [bytearray(len(group) // 8 + 1) for _ in system.events]
            for column, scenario in enumerate(group):
                for event in scenario:
                    rows[event][column >> 3] |= 1 << (column & 7)
            bits = [int.from_bytes(row, "little") for row in rows]
            for goal, held in system.sweep(
                bits, len(group), dict.fromkeys(system.goals, (1 << len(group)) - 1)
            ).items():
                down = bin(held | 1 << len(group))[:2:-1]
                for column, scenario in enumerate(group):
                    if down[column] == "0":
                        names = frozenset(system.events[event] for event in scenario)
                        if not any(cut <= names for cut in expected[goal]):
                            expected[goal].add(names)
    for goal, sets in found.items():
        if {frozenset(cut) for cut in sets} != expected[goal]:
            raise AssertionError(f"{kind}, {size} parts: the sets of {goal} differ from trying every scenario")
    return sum(map(len, found.values())), tried
