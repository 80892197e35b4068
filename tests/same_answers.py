"""What may change of a text without changing any answer: `python tests/same_answers.py --count 500 --seed 1`.

Each random rig is told again with its statements in another order (as far as it reads so), with every name another
one, laid out by the formatter, and with its second half in a file of its own. Everything that is said of it must be
the same: who is held and by how many, every failure and set of failures and what each does, every finding, and
whether what is asked is met.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path

from random_rigs import random_rig_text

import analyser
from analyser.language.formatting import laid_out
from analyser.language.mistakes import Unreadable
from analyser.rig.catalogue import catalogue
from analyser.rig.plan import Plan

Answers = Mapping[str, object]


def answers(rig: Plan, back: Callable[[str], str] = str) -> Answers:
    """Everything that is said of a rig, without order; `back`: the first names for those that it has."""
    result = analyser.check(rig, 2)
    outcome = result.states[0].outcome
    return {
        "met": [(one.requirement.rule, one.met) for one in result.requirements],
        "bodies": {back(b.name): (b.fate.kind, b.independent, b.attachments) for b in outcome.bodies},
        "failures": {
            back(one.id): frozenset((back(n), f.kind, frozenset(map(back, f.to))) for n, f in one.fates)
            for one in outcome.failures
        },
        "sets": {
            back(name): frozenset(frozenset(map(back, cut)) for cut in cuts)
            for name, cuts in outcome.failure_sets.items()
        },
        "findings": Counter((f.rule, frozenset(map(back, f.bodies))) for f in result.states[0].findings),
    }


def statements(text: str) -> list[str]:
    """The text in pieces: a line with those that are indented under it."""
    found: list[str] = []
    for line in text.splitlines():
        if found and line[:1].isspace():
            found[-1] += f"\n{line}"
        elif line.strip():
            found.append(line)
    return found


def in_another_order(text: str, rng: random.Random) -> str:
    """As many of the statements moved as can be: each to a place at which the text still reads."""
    title, *rest = statements(text)
    for _ in range(6):
        other = list(rest)
        other.insert(rng.randrange(len(rest)), other.pop(rng.randrange(len(rest))))
        if _reads("\n".join([title, *other])):
            rest = other
    return "\n".join([title, *rest]) + "\n"


def _reads(text: str) -> bool:
    try:
        analyser.read_text(text)
    except Unreadable:
        return False
    return True


def with_other_names(text: str, rng: random.Random) -> tuple[str, Callable[[str], str]]:
    """Every declared name another one, and the way back. What is made of a name begins with it, and follows."""
    rig = analyser.read_text(text)
    ropes = [rope.name for rope in rig.ropes]
    named = [
        n for n in {*rig.parts, *ropes} if "." not in n and not any(n.startswith(f"{r}-") for r in ropes if r != n)
    ]
    own = [n for n in named if re.search(rf"(?<![\w-])(?<![^.]\.){re.escape(n)}(?![\w-])", text)]
    new = {name: f"{rng.choice('bhmqx')}{rng.randrange(10)}{name}" for name in sorted(own)}
    ends = {name: r"(?!\w)" if name in ropes else r"(?![\w-])" for name in own}  # what a rope's knots are called
    longest = sorted(own, key=len, reverse=True)
    told = re.compile("|".join(rf"(?<![\w-])(?<![^.]\.){re.escape(n)}{ends[n]}" for n in longest))
    title, _, rest = text.partition("\n")
    old = {name: first for first, name in new.items()}
    made = re.compile(
        "|".join(rf"(?<![\w-])(?<![^.]\.){re.escape(name)}" for name in sorted(old, key=len, reverse=True))
    )
    return f"{title}\n{told.sub(lambda m: new[m[0]], rest)}", lambda words: made.sub(lambda m: old[m[0]], words)


def in_two_files(text: str, folder: Path) -> Plan:
    """The second half of the statements in a file that is included."""
    title, *rest = statements(text)
    half = len(rest) // 2
    (folder / "second.rig").write_text("\n".join(rest[half:]) + "\n")
    whole = folder / "whole.rig"
    whole.write_text("\n".join([title, *rest[:half], 'include "second.rig"']) + "\n")
    return analyser.read(whole)


def differences(seed: int) -> list[str]:
    """How the answers of one rig differ when it is told otherwise: nothing when all is well."""
    rng = random.Random(f"same {seed}")
    text = random_rig_text(rng, 1 + seed % 4)
    first = answers(analyser.read_text(text))
    renamed, back = with_other_names(text, rng)
    with tempfile.TemporaryDirectory() as folder:
        told = {
            "in another order": answers(analyser.read_text(in_another_order(text, rng))),
            "with other names": answers(analyser.read_text(renamed), back),
            "laid out": answers(analyser.read_text(laid_out(text.encode(), "a.rig", catalogue()))),
            "in two files": answers(in_two_files(text, Path(folder))),
        }
    return [
        f"{way}: {key}: {_apart(first[key], other[key])}"
        for way, other in told.items()
        for key in first
        if first[key] != other[key]
    ]


def _apart(one: object, two: object) -> str:
    if isinstance(one, dict) and isinstance(two, dict):
        keys = sorted({*one, *two}, key=str)
        return "; ".join(f"{k}: {one.get(k)} / {two.get(k)}" for k in keys if one.get(k) != two.get(k))[:400]
    return f"{one} / {two}"[:400]


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=100)
    options.add_argument("--seed", type=int, default=1)
    chosen = options.parse_args()
    wrong = 0
    for seed in range(chosen.seed, chosen.seed + chosen.count):
        for told in differences(seed):
            wrong += 1
            print(f"--seed {seed} --count 1: {told}", flush=True)
    print(f"{chosen.count} rigs, {wrong} differences")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
