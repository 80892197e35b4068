"""What the additions do not look at: later states of a rig in which one failure is enough for somebody."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.finding import listed
from analyser.checking.sentences import counted
from analyser.holding.outcome import assess
from analyser.language.syntax import STILL
from analyser.rig.plan import Plan


def falling_later(rig: Plan) -> Iterator[tuple[int, str, tuple[str, ...]]]:
    """Each state after a step in which somebody falls with nothing failed, or after one failure that the file doesn't
    accept: its number, the step, and who."""
    accepted = {one.failure for one in rig.accepted}
    before = assess(rig.alone, 1)
    names: tuple[str, ...] = ()
    for number, step in enumerate(rig.steps, 1):
        if step.verb not in STILL:
            before = assess(step.rig, 1, before=before)
            sets = before.failure_sets
            names = tuple(sorted(n for n, cuts in sets.items() if any(not accepted & {*cut} for cut in cuts)))
        if names:
            yield number, step.words, names


def later_words(rig: Plan) -> str:
    """`; but in state 2 (after “detach s1”) one failure or none is enough for dan`; empty where there is none."""
    found = list(falling_later(rig))
    if not found:
        return ""
    number, words, names = found[0]
    more = f", and so it is in {counted(len(found) - 1, 'more state')}" if len(found) > 1 else ""
    return f"; but in state {number} (after “{words}”) one failure or none is enough for {listed(names)}{more}"
