"""The engine against the second evaluator, rig by rig: the same fate of every body in every scenario.

    python tests/differential.py --count 20000 --seed 1 --jobs 2
    python tests/differential.py --only 4711
    python tests/differential.py --rigs examples tests/found

Every single failure of every rig, all pairs of every tenth, nothing failed too. A rig that differs is
made smaller, statement by statement, while it still differs in the same way, and printed: keep it in
tests/found/ and it is tested for good.

What is told of a difference, worst first:

* `unsafe`: the engine holds what doesn't balance;
* `better`: both hold it or neither does, and the engine tells a better fate;
* `refused`: the engine doesn't hold what balances;
* `worse`: both hold it or neither does, and the engine tells a worse fate.
"""

from __future__ import annotations

import argparse
import functools
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import chain, combinations
from pathlib import Path

from balance import FATES, HOLDS, NOT_HELD, TIPS, bars_that_tip, fate
from constructions import constructions
from random_systems import random_system, read_system

import analyser
from analyser.holding import outcome
from analyser.holding.happening import Scenario
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Effects, Failure, Rig

KINDS = ("unsafe", "better", "refused", "worse")
SHOWN = 3
"""Rigs printed of each kind of difference, in each way it shows."""
PAIRS_OF = 10
"""Of every so manieth rig all pairs of failures are asked too."""

Failures = tuple[Failure, ...]


@dataclass(frozen=True)
class Difference:
    kind: str
    body: str
    failures: tuple[str, ...]
    engine: str
    balance: str

    @property
    def way(self) -> tuple[str, str, str]:
        return self.kind, self.engine, self.balance

    def __str__(self) -> str:
        after = " and ".join(self.failures) or "nothing failed"
        return f"{self.kind}: {self.body} after {after}: engine `{self.engine}`, balance `{self.balance}`"


# ---- the two evaluators


def by_balance(rig: Rig, scenarios: Sequence[Failures]) -> list[Mapping[str, str]]:
    bodies = [{body.name: fate(rig, body.name, scenario) for body in rig.bodies} for scenario in scenarios]
    tipping = [bars_that_tip(rig, scenario) for scenario in scenarios]
    bars = [part.name for part in rig.parts.values() if (part.ends or part.sides) and not part.is_body]
    return [told | {bar: _bar(bar, tips) for bar in bars} for told, tips in zip(bodies, tipping, strict=True)]


def _bar(bar: str, tips: Collection[str]) -> str:
    """Of a bar (structure, no body) only this is told: does it tip?"""
    return TIPS if bar in tips else HOLDS


def by_engine(rig: Rig, scenarios: Sequence[Failures]) -> list[Mapping[str, str]]:
    """All at once, many scenarios a sweep, as the product asks: the worst of what happens after each subset."""
    subsets = {frozenset(some): some for scenario in scenarios for some in _subsets(scenario)}
    after = outcome.after_each(rig, [Effects.joint(one.effects for one in some) for some in subsets.values()])
    bars = [part.name for part in rig.parts.values() if (part.ends or part.sides) and not part.is_body]
    told = {some: _told(state, bars) for some, state in zip(subsets, after, strict=True)}
    return [_worst([told[frozenset(some)] for some in _subsets(scenario)]) for scenario in scenarios]


def _subsets(failures: Failures) -> Iterable[Failures]:
    return chain.from_iterable(combinations(failures, size) for size in range(len(failures) + 1))


def _worst(several: Sequence[Mapping[str, str]]) -> Mapping[str, str]:
    return {name: min((told[name] for told in several), key=FATES.index) for name in several[0]}


def _told(told: Scenario, bars: Iterable[str]) -> Mapping[str, str]:
    return {name: str(fate.kind) for name, fate in told.fates} | {bar: _bar(bar, told.tips) for bar in bars}


# ---- where they differ


def scenarios_of(rig: Rig, *, pairs: bool) -> list[Failures]:
    singles = [(), *((one,) for one in rig.failures)]
    return [*singles, *combinations(rig.failures, 2)] if pairs else singles


def differences(rig: Rig, scenarios: Sequence[Failures]) -> list[Difference]:
    """Every body and scenario for which the engine and the second evaluator tell different fates."""
    return list(compare(scenarios, by_engine(rig, scenarios), by_balance(rig, scenarios)))


def compare(
    scenarios: Sequence[Failures], engine: Sequence[Mapping[str, str]], balance: Sequence[Mapping[str, str]]
) -> Iterator[Difference]:
    """Where two tellings differ, scenario by scenario."""
    for scenario, ours, theirs in zip(scenarios, engine, balance, strict=True):
        for body, told in ours.items():
            kind = kind_of(told, theirs[body])
            if kind:
                yield Difference(kind, body, tuple(one.id for one in scenario), told, theirs[body])


def kind_of(engine: str, balance: str) -> str:
    """What kind of difference this is; nothing where there is none."""
    held = (engine not in NOT_HELD, balance not in NOT_HELD)
    if held[0] != held[1]:
        return "unsafe" if held[0] else "refused"
    if engine == balance:
        return ""
    return "better" if FATES.index(engine) > FATES.index(balance) else "worse"


def shrunk(text: str, way: tuple[str, str, str], *, pairs: bool) -> str:
    """The rig with every statement and station left out that it can spare and still differ in that way."""
    lines = text.splitlines()
    size = max(1, len(lines) // 2)
    while size:
        k = 1
        while k < len(lines):
            fewer = [*lines[:k], *lines[k + size :]]
            if any(one.way == way for one in _read_and_compared("\n".join(fewer) + "\n", pairs=pairs)):
                lines = fewer
            else:
                k += 1
        size //= 2
    return "\n".join(lines) + "\n"


def _read_and_compared(text: str, *, pairs: bool) -> list[Difference]:
    try:
        rig = read_system(text)
    except Unreadable:
        return []
    return differences(rig, scenarios_of(rig, pairs=pairs))


# ---- many rigs


@dataclass
class Tally:
    """What was compared, and what differed."""

    rigs: int = 0
    cases: int = 0
    seconds: dict[str, float] = field(default_factory=functools.partial(defaultdict, float))
    """Of one core, for making the rigs, for the second evaluator, for the engine."""
    fates: Counter[str] = field(default_factory=Counter)
    shows: Counter[str] = field(default_factory=Counter)
    """How many rigs have each construction."""
    ways: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    found: list[tuple[int, Difference]] = field(default_factory=list)
    """Of each way the first few, with their seeds."""

    def add(self, other: Tally) -> None:
        self.rigs += other.rigs
        self.cases += other.cases
        for name, seconds in other.seconds.items():
            self.seconds[name] += seconds
        self.fates += other.fates
        self.shows += other.shows
        self.ways += other.ways
        self.found += other.found


def compared(seeds: Iterable[int], alone: bool = False) -> Tally:
    """The random systems of these seeds. `alone`: the second evaluator by itself."""
    tally = Tally()
    for seed in seeds:
        begun = time.process_time()
        _, rig = random_system(seed)
        made = time.process_time()
        scenarios = scenarios_of(rig, pairs=seed % PAIRS_OF == 0)
        told = by_balance(rig, scenarios)
        asked = time.process_time()
        tally.seconds["making rigs"] += made - begun
        tally.seconds["balance"] += asked - made
        tally.rigs += 1
        tally.cases += sum(len(one) for one in told)
        tally.fates.update(one for by_body in told for one in by_body.values())
        tally.shows.update(constructions(rig))
        if alone:
            continue
        ways: dict[tuple[str, str, str], Difference] = {}
        engine = by_engine(rig, scenarios)
        tally.seconds["engine"] += time.process_time() - asked
        for one in compare(scenarios, engine, told):
            tally.ways[one.way] += 1
            ways.setdefault(one.way, one)
        tally.found += [(seed, one) for one in ways.values()]
    return tally


def many(first: int, count: int, jobs: int, *, alone: bool = False, chunk: int = 50) -> Tally:
    """Compared in several processes; the same for the same seeds, however many processes there are."""
    starts = range(first, first + count, chunk)
    batches = [range(start, min(start + chunk, first + count)) for start in starts]
    tally = Tally()
    with ProcessPoolExecutor(jobs) as pool:
        for done, part in enumerate(pool.map(compared, batches, [alone] * len(batches)), 1):
            tally.add(part)
            if done % 20 == 0:
                print(f"… {tally.rigs} rigs, {tally.cases} cases, {sum(tally.ways.values())} differ", file=sys.stderr)
    return tally


def table(tally: Tally) -> str:
    """What was compared, as text."""
    rows = [f"{tally.rigs} rigs, {tally.cases} bodies and scenarios"]
    for name, seconds in tally.seconds.items():
        each = f"{1e3 * seconds / max(1, tally.rigs):.1f} ms a rig, {1e3 * seconds / max(1, tally.cases):.2f} ms a case"
        rows.append(f"  {name}: {seconds:.0f} s of one core, {each}")
    rows += ["", "rigs with each construction"]
    rows += [f"  {count:6} {name}" for name, count in sorted(tally.shows.items(), key=lambda one: (-one[1], one[0]))]
    rows += ["", "fates, by balance"]
    rows += [f"  {tally.fates[name]:8} {name}" for name in FATES]
    rows += ["", "differences"]
    for kind in KINDS:
        total = sum(count for way, count in tally.ways.items() if way[0] == kind)
        rows.append(f"  {total:8} {kind}: {1e6 * total / max(1, tally.cases):.1f} of a million cases")
        for (one, engine, balance), count in tally.ways.most_common():
            if one == kind:
                rows.append(f"           {count:8} engine `{engine}`, balance `{balance}`")
    return "\n".join(rows)


def show_found(tally: Tally) -> None:
    """The first rigs of each way, made small; what comes out the same is shown once."""
    shown: Counter[tuple[str, str, str]] = Counter()
    printed: set[str] = set()
    for seed, one in sorted(tally.found, key=lambda pair: (KINDS.index(pair[1].kind), pair[0])):
        if shown[one.way] >= SHOWN:
            continue
        pairs = len(one.failures) > 1
        small = shrunk(random_system(seed)[0], one.way, pairs=pairs)
        told = next(told for told in _read_and_compared(small, pairs=pairs) if told.way == one.way)
        if small not in printed:
            printed.add(small)
            shown[one.way] += 1
            print(f"\nseed {seed}: {told}\n{small}", flush=True)


def only(seed: int) -> int:
    """One random system: its text, and every difference."""
    text, rig = random_system(seed)
    print(text)
    found = differences(rig, scenarios_of(rig, pairs=True))
    for one in found:
        print(one)
    print(f"{len(found)} differ")
    return 1 if found else 0


def files(paths: Iterable[str]) -> int:
    """Every state of the rigs in these files and folders."""
    found = 0
    given = [Path(path) for path in paths]
    for path in sorted({one for each in given for one in (each.rglob("*.rig") if each.is_dir() else [each])}):
        try:
            first = analyser.read(path)
        except Unreadable:
            continue
        rigs = [first, *(step.rig for stage in first.stages for step in stage.steps)]
        rigs += [one.rig for moments in first.during for one in moments]
        for number, rig in enumerate(rigs):
            for one in differences(rig, scenarios_of(rig, pairs=False)):
                found += 1
                print(f"{path}, state {number}: {one}")
    print(f"{found} differ")
    return 1 if found else 0


def main() -> int:
    parser = argparse.ArgumentParser(description="Compare the engine with the second evaluator.")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--only", type=int, help="the rig of one seed")
    parser.add_argument("--alone", action="store_true", help="the second evaluator by itself: what it tells, how fast")
    parser.add_argument("--rigs", nargs="+", help="these files, and all in these folders")
    options = parser.parse_args()
    if options.rigs:
        return files(options.rigs)
    if options.only is not None:
        return only(options.only)
    tally = many(options.seed, options.count, options.jobs, alone=options.alone)
    print(table(tally), flush=True)
    show_found(tally)
    return 1 if tally.ways else 0


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    sys.exit(main())
