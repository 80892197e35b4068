"""One failure frees somebody to run along a line on which nothing else keeps their place, or keeps it from one side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from analyser.checking.finding import Finding, Rule, Severity, in_few, place_of, verb
from analyser.checking.free_along import Free, free_already, freed, freed_by_step
from analyser.holding.outcome import Outcome
from analyser.language.identities import spoken
from analyser.rig.model import Rig, Step

UPPER = "a line from what runs to something held at the upper end, or a grip on the line itself"


def find(rig: Rig, outcome: Outcome, before: Rig | None = None, step: Step | None = None) -> Iterator[Finding]:
    if before and step:
        held = (body.name for body in outcome.bodies if body.held)
        for free in freed_by_step(before, rig, held):
            if free.sure:
                text = f"`{step.words}`: {free.text}, and nothing else keeps the place"
                yield RULE.told(text, (step.words,), step.place, free.bodies, severity=Severity.DANGER, mend=RULE.mends)
    already = tuple(free_already(rig, outcome))
    yield from (_already(rig, free) for free in already)
    every = {one: failures for one, failures in freed(rig, outcome).items() if one.bodies not in _running(already)}
    for free, failures in every.items():
        if free.sure:
            text = f"{'; '.join(map(spoken, failures))}: {free.text}, and nothing else keeps the place"
            if len(failures) > 1:
                text = f"after any of these ({in_few(failures)}) {free.text}: nothing else keeps the place"
            yield _finding(rig, free, failures, text)
    untold: dict[tuple[tuple[str, ...], tuple[str, ...]], list[tuple[Free, tuple[str, ...]]]] = {}
    for free, failures in every.items():
        if not free.sure:
            untold.setdefault((free.bodies, free.along), []).append((free, failures))
    for (bodies, along), some in untold.items():
        failures = tuple(dict.fromkeys(one for _, mine in some for one in mine))
        text = (
            f"several lines keep {in_few(bodies)} where they are along {in_few(along)}, and whether they pull the same "
            f"way isn't told (places tell it): if not, any of these frees them to run ({in_few(failures)})"
        )
        yield _finding(rig, some[0][0], failures, text)


def _running(already: Iterable[Free]) -> set[tuple[str, ...]]:
    return {one.bodies for one in already if one.sure}


def _already(rig: Rig, free: Free) -> Finding:
    at = place_of(rig, free.along[0])
    if free.sure:
        text = f"with nothing failed {free.text}: nothing keeps them from it"
        return RULE.told(text, free.along, at, free.bodies, severity=Severity.DANGER, mend=UPPER)
    runs = f"{in_few(free.bodies)} only {verb(free.bodies, 'runs', 'run')} along {in_few(free.along)}"
    text = f"{runs}: no other line keeps the place"
    return RULE.told(text, free.along, at, free.bodies, mend=RULE.mends)


def _finding(rig: Rig, free: Free, failures: tuple[str, ...], text: str) -> Finding:
    accepted = {str(one.failure): one.reason for one in rig.accepted}
    about = tuple(dict.fromkeys(rig.index.failures[one].part for one in failures))
    reason = accepted.get(failures[0]) if len(failures) == 1 else None
    return Finding(RULE.name, RULE.severity, about, free.bodies, place_of(rig, about[0]), text, reason)


RULE = Rule(
    name="free-to-run",
    severity=Severity.CAUTION,
    means=(
        "After one failure somebody hangs from a line on which they only run, and nothing keeps their place on it, or "
        "nothing keeps them from running one way; or with nothing failed: a step takes that off, or a line slopes and "
        "nothing keeps them from its lower end (a danger)."
    ),
    matters=(
        "They are held, and run along the line to where it lets them: to the lowest place of a sagging one, or against "
        "its end. How far and how fast the connections don't say; with places the forces do."
    ),
    mends=(
        "A second line that pulls the same way, or a grip on the line itself, each to an anchor of its own. Which "
        "lines pull the same way is told by places, or by what their far ends share."
    ),
    source="common practice, no source",
    wrong="""
anchor near, far, post
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope control
    tied to max.waist with figure-eight
    gripped by descender brake - post   # here
    stopper
brake: self-locking
""",
    right="""
anchor near: at (0, 0, 20)
anchor far: at (40, 0, 20)
anchor post: at (-2, 0, 20)
anchor other: at (-2, 1, 20)
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope control
    tied to max.waist with figure-eight
    gripped by descender brake - post
    stopper
brake: self-locking
rope second
    tied to max.waist with figure-eight
    tied to other with figure-eight
""",
    find=find,
)
