"""The engine against the naive evaluator, rig by rig: the same answers to everything counted.

A small run is part of the tests. A long one:

    python tests/differential.py --count 5000 --seed 1

A rig that differs is made smaller, line by line, while it still differs, and printed: keep it in
tests/found/ and it is tested for good.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import naive

import analyser
from analyser.holding.system import sets_with
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Effects, Failure, Rig

MOST_FAILURES = 18
"""More, and the naive evaluator takes minutes."""


def differences(rig: Rig, rng: random.Random) -> Iterator[str]:
    """Every place where the engine and the naive evaluator disagree, in words."""
    yield from _sets(rig, rng)
    order = 3 if len(rig.failures) <= 11 else 2
    result = analyser.check(rig, order)
    for failure, told in zip(rig.failures, result.failures, strict=True):
        ours = (told.falls, told.only_by_person, told.tips)
        tips = sorted(b.name for b in rig.bodies if naive.tips(rig, b.name, [failure]))
        theirs = (
            tuple(sorted(naive.falls(rig, [failure]))),
            tuple(sorted(naive.only_by_person(rig, [failure]))),
            tuple(tips),
        )
        if ours != theirs:
            yield f"{failure.id}: {ours} against {theirs}"
    for body in result.bodies:
        sets = naive.failure_sets(rig, body.name, order)
        if list(result.failure_sets[body.name]) != list(sets):
            yield f"failure sets of {body.name}: {result.failure_sets[body.name]} against {sets}"
        numbers = (naive.attachments(rig, body.name), naive.independent(rig, body.name))
        if (body.attachments, body.independent) != numbers:
            yield f"{body.name}: {body.attachments}, {body.independent} against {numbers}"
    hands = naive.hands_off(rig)
    if sorted(hands["falls"]) != list(result.states[0].outcome.hands_off_falls):
        yield f"hands off: {result.states[0].outcome.hands_off_falls} against {hands}"


def _sets(rig: Rig, rng: random.Random) -> Iterator[str]:
    """Anchored and held, part by part, in both readings, for every single and some larger sets."""
    failures = list(rig.failures)
    scenarios: list[tuple[Failure, ...]] = [(), *((one,) for one in failures)]
    for _ in range(6 if len(failures) > 1 else 0):
        scenarios.append(tuple(rng.sample(failures, rng.randint(2, min(4, len(failures))))))
    for scenario in scenarios:
        effects = union(scenario)
        for loose in (False, True):
            ours = tuple(frozenset(s & rig.parts.keys()) for s in sets_with(rig, effects, loose=loose))
            theirs = (
                naive.anchored(rig, effects, loose=loose) & rig.parts.keys(),
                naive.held(rig, effects, loose=loose) & rig.parts.keys(),
            )
            if ours != theirs:
                names = [failure.id for failure in scenario]
                apart = [sorted(a ^ b) for a, b in zip(ours, theirs, strict=True)]
                yield f"{'loose' if loose else 'strict'} after {names}: {apart}"


def union(failures: Iterable[Failure]) -> Effects:
    effects = Effects()
    for failure in failures:
        effects |= failure.effects
    return effects


def shrunk(text: str, seed: int) -> str:
    """The rig with every line left out that it can spare and still differ."""
    lines = text.splitlines()
    k = 1
    while k < len(lines):
        fewer = [*lines[:k], *lines[k + 1 :]]
        try:
            rig = analyser.read_text("\n".join(fewer) + "\n")
            still = any(True for _ in differences(rig, random.Random(seed)))
        except Unreadable:
            still = False
        if still:
            lines = fewer
        else:
            k += 1
    return "\n".join(lines) + "\n"


def main() -> int:
    from random_rigs import random_rig_text

    parser = argparse.ArgumentParser(description="Compare the engine with the naive evaluator on random rigs.")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--size", type=int, default=0, help="size of the rigs (0: from 1 to 4)")
    options = parser.parse_args()
    compared = larger = found = 0
    for seed in range(options.seed, options.seed + options.count):
        rng = random.Random(seed)
        text = random_rig_text(rng, options.size or rng.randint(1, 4))
        rig = analyser.read_text(text)
        if len(rig.failures) > MOST_FAILURES:
            larger += 1
            continue
        compared += 1
        told = list(differences(rig, random.Random(seed)))
        if told:
            found += 1
            print(f"seed {seed}: {told[0]}\n{shrunk(text, seed)}", flush=True)
    print(f"{compared} rigs compared, {larger} left out as larger than the naive evaluator copes with, {found} differ")
    return 1 if found else 0


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    sys.exit(main())
