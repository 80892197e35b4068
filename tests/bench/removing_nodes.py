"""All single and double failures of plain rigs, against removing nodes from a graph one by one.

The engine's time is that of setting up and sweeping all scenarios at once, the rig being read. The
reference copies the networkx graph for each scenario, removes the nodes and searches once from the
ground (not once a body, which would be slower). A second reference, written for this page, does
the same search without a copy. Where not every scenario is done by the references, a random
sample is, and its time is scaled; the answers of all scenarios done are compared.
"""

from __future__ import annotations

import random
from itertools import combinations

from analyser.holding.system import RigSystem

from .generating import Made, made
from .graphs import PlainGraph
from .measuring import against, duration, heading, median, once, table

NAME = "removing-nodes"
TARGET = 1000.0
REFERENCES = ("networkx", "ratio", "no copy", "ratio")

Scenarios = list[tuple[int, ...]]


def run(*, quick: bool) -> None:
    heading(NAME, "every single failure, and every pair, of plain rigs: the engine against networkx")
    rows = []
    jobs = [(50, 1), (300, 1), (3000, 1), (50, 2), (200, 2)]
    for size, order in jobs:
        rows.append(_compared(made("plain", size), order, sample=40 if quick else 300))
    table(
        ("parts", "failures", "bodies", "scenarios", "set up", "sweep", "compared", *REFERENCES),
        rows,
    )
    print("\n  compared: scenarios whose answers were compared, all equal; where fewer than all, times are scaled")
    for what, row in (("all singles", rows[2]), ("all pairs", rows[4])):
        ratio = float(str(row[8]).replace(",", "").rstrip("x"))
        met = against(ratio, TARGET, above=True)
        print(f"  target {what} at {row[0]} parts, at least {TARGET:,.0f}x: {row[8]}, {met}")


def _compared(one: Made, order: int, sample: int) -> list[object]:
    scenarios: Scenarios = list(combinations(range(one.failures), order))
    set_up, system = median(RigSystem, one.rig)
    sweep, held = median(swept, system, order)
    graph = PlainGraph(one.rig)
    few = sorted(random.Random(1).sample(range(len(scenarios)), min(sample, len(scenarios))))
    reference, answers = once(lambda: [graph.after(scenarios[k]) for k in few])
    by_hand, again = once(lambda: [graph.after_by_hand(scenarios[k]) for k in few])
    for k, answer, other in zip(few, answers, again, strict=True):
        engine = {body for body, bits in held.items() if bits >> k & 1}
        if not engine == answer == other:
            raise AssertionError(f"{one.parts} parts, {scenarios[k]}: {sorted(engine)} is not {sorted(answer)}")
    scale = len(scenarios) / len(few)
    engine_time = set_up + sweep
    return [
        one.parts,
        one.failures,
        one.bodies,
        f"{len(scenarios):,}",
        duration(set_up),
        duration(sweep),
        f"{len(few):,}",
        duration(reference * scale),
        f"{reference * scale / engine_time:,.0f}x",
        duration(by_hand * scale),
        f"{by_hand * scale / engine_time:,.0f}x",
    ]


def swept(system: RigSystem, order: int) -> dict[str, int]:
    """One sweep over every single failure or every pair, a column each, in the order of `combinations`."""
    size = len(system.events)
    if order == 1:
        return system.sweep([1 << event for event in range(size)], size, dict.fromkeys(system.goals, (1 << size) - 1))
    width = size * (size - 1) // 2
    bits = [0] * size
    rows = [bytearray(width // 8 + 1) for _ in range(size)]
    at = 0
    for first in range(size):
        bits[first] = ((1 << (size - 1 - first)) - 1) << at
        for second in range(first + 1, size):
            rows[second][at >> 3] |= 1 << (at & 7)
            at += 1
    bits = [block | int.from_bytes(row, "little") for block, row in zip(bits, rows, strict=True)]
    return system.sweep(bits, width, dict.fromkeys(system.goals, (1 << width) - 1))
