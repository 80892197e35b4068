"""Small helpers that let a test speak in rigs: read a text, ask who falls."""

from __future__ import annotations

import hashlib
import os
import pickle
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from textwrap import dedent

import analyser
from analyser.checking.results import Result
from analyser.holding.fate import Fate, Kind
from analyser.holding.outcome import Outcome, what_if
from analyser.language.edit import Change
from analyser.rig.figures import use
from analyser.rig.model import Rig
from analyser.rig.plan import Plan

EXAMPLES = Path(__file__).parent.parent / "examples"
GULLY = [str(EXAMPLES / "revisions" / f"gully-lower-{number}.rig") for number in (1, 2)]
"""Two revisions of one example."""
PLAIN = """
    anchor left, right
    person ann: standing
    person sam: points waist, chest
    carabiner crab: locking
    edge lip
    pad mat
    brake works: operated by ann, self-locking
    attach left - crab - works
    rope red: 11 mm, 40 m
        stopper
        gripped by works
        over lip, padded by mat
        tied to sam.waist with bowline as red-low
    attach right - strap back - sam.chest
"""
BRAKED = """
    anchor bolt: at (0, 0, 10)
    person jo: standing
    load bag: 80 kg, at (0, 0, 7), points eye
    attach bolt - brake works
    works: operated by jo, self-locking
    rope main: 11 mm, 30 m
        stopper
        gripped by works
        tied to bag.eye with bowline as low
    {require}
    stage "Moved"
        take works in hand
        {step}
        lock off works
"""
"""A load on one rope that a step lets out, or takes in."""
TWO_BRAKES = """
    anchor left, right
    person vic: points waist
    person jo: standing
    ring master
    attach left - brake left-brake
    attach right - brake right-brake
    left-brake, right-brake: operated by jo
    {more}
    rope red
        {left}
        gripped by left-brake, load from red-knot
        tied to master as red-knot
    rope green
        {right}
        gripped by right-brake, load from green-knot
        tied to master as green-knot
    attach master - strap waist-strap - vic.waist
"""
shared: Path | None = None
"""Where the processes of one run of the tests leave results for each other (`conftest.py`)."""


def shipped(rig: Path | str) -> Result:
    """The check of a file as it is shipped (an example by its name), for tests that only read it.

    Worked out once for all of them: not where reading, checking or its repetition is what is tested.
    """
    result = _checked_once(rig if isinstance(rig, Path) else EXAMPLES / f"{rig}.rig")
    use(result.rig.units)
    return result


@cache
def _checked_once(path: Path) -> Result:
    kept = shared and shared / f"{hashlib.sha256(os.fsencode(path)).hexdigest()}.result"
    if not kept:
        return analyser.check(analyser.read(path))
    if not kept.exists():
        own = kept.with_suffix(f".{os.getpid()}")
        own.write_bytes(pickle.dumps(analyser.check(analyser.read(path))))
        own.replace(kept)
    result = pickle.loads(kept.read_bytes())
    assert isinstance(result, Result)
    return result


def rig_of(text: str) -> Plan:
    """A rig from an indented text; a title is put before it when it has none."""
    text = dedent(text).strip() + "\n"
    return analyser.read_text(text if text.startswith("rig ") else 'rig "a test"\n' + text)


def checked(text: str, order: int = 2) -> Result:
    return analyser.check(rig_of(text), order)


def criticals(result: Result, body: str) -> set[str]:
    """The single failures that drop a body."""
    return {cut[0] for cut in result.failure_sets[body] if len(cut) == 1}


def sets_of(result: Result, body: str, size: int) -> set[frozenset[str]]:
    """The body's minimal failure sets of one size."""
    return {frozenset(cut) for cut in result.failure_sets[body] if len(cut) == size}


def counts(result: Result, body: str, up_to: int) -> tuple[int, ...]:
    """How many minimal failure sets of each size 1…up_to a body has."""
    return tuple(len(sets_of(result, body, size)) for size in range(1, up_to + 1))


def falls(result: Result, failure: str) -> tuple[str, ...]:
    return next(one.falls for one in result.failures if one.id == failure)


def pasted_into(text: str, added: Iterable[str], changes: Iterable[Change] = ()) -> str:
    """The text of a rig with lines pasted in as an addition tells: what is read then is what was judged.

    >>> pasted_into('rig "x"\\nrope r\\n', ["attach a - b"], [Change(2, "after", "  stopper")])
    'rig "x"\\nrope r\\n  stopper\\nattach a - b\\n'
    """
    lines: list[str] = []
    for number, line in enumerate(re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff")), 1):
        mine = [change for change in changes if change.line == number]
        lines += [change.text for change in mine if change.how == "before"]
        lines += [change.text for change in mine if change.how == "becomes"][:1] or [line]
        lines += [change.text for change in mine if change.how == "after"]
    while lines and not lines[-1].strip():
        lines.pop()
    return "\n".join([*lines, *added]) + "\n"


def kind(rig: Rig, body: str, *failures: str) -> Kind:
    """What happens to a body after these failures together."""
    return fate(rig, body, *failures).kind


def fate(rig: Rig, body: str, *failures: str) -> Fate:
    """The same, with to what they run and how far they drop."""
    known = {failure.id: failure for failure in rig.failures}
    return what_if(rig, [known[one] for one in failures]).fate(body)


def alone(rig: Rig, outcome: Outcome, body: str) -> dict[str, Kind]:
    """What happens to a body after each single failure, where it isn't simply held."""
    found = {failure.id: failure.fate(body).kind for failure in outcome.failures}
    return {name: one for name, one in found.items() if one is not Kind.HELD}
