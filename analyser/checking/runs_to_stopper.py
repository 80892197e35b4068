"""After a device lets the rope run, only a stopper holds: somebody runs to the end of the rope first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.finding import Finding, Rule, Severity, listed, verb
from analyser.holding.outcome import Outcome, after_each
from analyser.rig.model import Effects, Nature, Rig

RUNNING = ("slips", "lets go", "holds on")
"""Failures after which rope may run through a device."""


def caught_by_stoppers(rig: Rig, outcome: Outcome) -> list[tuple[str, str, tuple[str, ...]]]:
    """(failure, stopper, bodies): after the failure only the stopper keeps the bodies on the rope."""
    found: dict[tuple[str, str], list[str]] = {}
    ends = rig.index.natured(Nature.STOPPER)
    stoppers = {str(one.id): part.name for part in ends for one in rig.index.failures_of(part.name)}
    running = {one.id for one in rig.failures if one.mode in RUNNING}
    for body, sets in outcome.failure_sets.items():
        for cut in sets:
            for one, other in (cut, cut[::-1]) if len(cut) == 2 else ():
                if one in running and other in stoppers:
                    found.setdefault((one, stoppers[other]), []).append(body)
    return [(one, stopper, tuple(sorted(bodies))) for (one, stopper), bodies in sorted(found.items())]


def on_stoppers(rig: Rig, several: Sequence[Effects]) -> list[frozenset[str]]:
    """Who stays connected after each of these only because stoppers jam, after running to them."""
    stoppers = frozenset(part.name for part in rig.index.natured(Nature.STOPPER))
    if not stoppers:
        return [frozenset()] * len(several)
    gone = Effects(gone=stoppers)
    alone, *after = after_each(rig, [gone, *several, *(one | gone for one in several)])
    pairs = zip(after[: len(several)], after[len(several) :], strict=True)
    return [frozenset(without.falls) - {*then.falls, *alone.falls} for then, without in pairs]


def hands_off_on_stoppers(rig: Rig, outcome: Outcome) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(bodies, stoppers): who stays connected with every hand off only because stoppers jam, after running
    to them."""
    (bodies,) = on_stoppers(rig, [rig.hands_off]) if rig.hands_off.ungripped else [frozenset()]
    if not bodies:  # no device runs with hands off, or nobody with it
        return (), ()
    stoppers = tuple(part.name for part in rig.index.natured(Nature.STOPPER))
    each = after_each(rig, [rig.hands_off | Effects(gone=frozenset({stopper})) for stopper in stoppers])
    needed = tuple(stopper for stopper, then in zip(stoppers, each, strict=True) if bodies & {*then.falls})
    return tuple(sorted(bodies)), needed or stoppers


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    bodies, stoppers = hands_off_on_stoppers(rig, outcome)
    if bodies:
        text = f"with every hand off {listed(bodies)} {verb(bodies, 'runs', 'run')} to {listed(stoppers)}: "
        text += "connected in the end, after a fall whose length is not told"
        yield RULE.told(text, stoppers, rig.parts[stoppers[0]].place, bodies)
    for failure, stopper, bodies in caught_by_stoppers(rig, outcome):
        text = f"once {failure}, only {stopper} keeps {listed(bodies)} on the rope, after running to it"
        place = rig.parts[stopper].place
        yield Finding(RULE.name, RULE.severity, (stopper,), bodies, place, text)


RULE = Rule(
    name="runs-to-stopper",
    severity=Severity.CAUTION,
    means="After a device slips or a hand lets go, only a stopper holds.",
    matters=(
        "Still connected is all that the rules say: before the stopper jams, whoever hangs there has run down "
        "the rope to it. How far and how hard is not said."
    ),
    mends="A second attachment that does not run, or a device that locks by itself.",
    source="common practice, no source",
    wrong="""
anchor bolt
person sam: points waist
rope line
    tied to bolt with figure-eight
    gripped by descender device - sam.waist
    stopper   # here
""",
    right="""
anchor bolt
person sam: points waist
rope line
    tied to bolt with figure-eight
    gripped by descender device - sam.waist
""",
    find=find,
)
