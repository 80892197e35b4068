"""What a step opens while somebody still hangs on it.

Without forces nobody knows what a leg carries. What is known: whether anything else holds whoever
hangs on it, and whether anything was taken in before it was opened, so that the load could shift.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.findings.finding import Finding, Rule, Severity, listed, verb
from analyser.holding.outcome import Outcome, what_if
from analyser.rig.model import Effects, Failure, Nature, Rig, Role, Step

OPENING = ("detach", "derig", "rerig", "open", "slide")
SHIFTING = ("take in", "lock off")
"""Steps by which something else can come to carry."""


def opened(before: Rig, was: Outcome, step: Step, now: Outcome, earlier: Sequence[Step]) -> Iterator[Finding]:
    """The findings of one step: `was` and `now` are the outcomes before and after it, `earlier` the
    steps of its stage before it."""
    if step.verb not in OPENING:
        return
    held = {body.name for body in was.bodies if body.held}
    after = {body.name: body for body in now.bodies}
    falls = sorted(name for name in held if name in after and not after[name].held)
    dropped = set(falls)
    if falls:
        text = f"`{step.words}`: nothing else holds {listed(falls)}, who {verb(falls, 'falls', 'fall')}"
        mend = "attach what shall hold next before this is opened"
        yield NEEDED.told(text, (step.words,), step.place, falls, mend=mend)
    if step.verb == "rerig" and any(rope.name == _rope(step) for rope in before.ropes):
        between = [name for name in _without_the_rope(before, step) if name in held and name not in dropped]
        if between:
            text = (
                f"while {_rope(step)} is laid anew, nothing else holds {listed(between)}, who "
                f"{verb(between, 'falls', 'fall')}"
            )
            mend = "put another line on first, or land whoever hangs on it"
            yield NEEDED.told(text, (_rope(step),), step.place, between, mend=mend)
            dropped |= set(between)
    if any(one.verb in SHIFTING for one in earlier):
        return
    for body in was.bodies:
        part = before.parts[body.name]
        later = after.get(body.name)
        if part.nature is Nature.PERSON or later is None or body.name in dropped or not body.held:
            continue
        if later.attachments < body.attachments or _fewer(body.independent, later.independent):
            text = f"`{step.words}`: it may still carry {body.name}, since nothing was taken in before in this stage"
            mend = "take in what shall carry instead, see that this one is slack, then open it"
            yield LOADED.told(text, (step.words,), step.place, (body.name,), mend=mend)


def _fewer(before: int | None, after: int | None) -> bool:
    return after is not None and (before is None or after < before)


def _rope(step: Step) -> str:
    return step.words.split()[1]


def _without_the_rope(before: Rig, step: Step) -> tuple[str, ...]:
    """Who falls while the rope is off altogether."""
    rope = next(one for one in before.ropes if one.name == _rope(step))
    knots = frozenset(s.part for s in rope.stations if s.role in (Role.TIE, Role.STOPPER))
    off = Effects(gone=knots, cut=frozenset(rope.spans))
    return what_if(before, [Failure(step.words, rope.name, "is off", off, step.place)]).falls


def _told_by_states(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    """Told where states are compared (`results.analyse`)."""
    return iter(())


NEEDED = Rule(
    name="detached-while-needed",
    severity=Severity.DANGER,
    means="A step opens, takes off or lays anew the only thing that holds somebody.",
    matters="Most people are dropped between two good states: one line comes off before the next is on.",
    mends="On before off: attach the next one, weight it, then open this one.",
    source="common practice, no source (facts 12.5: on before off)",
    wrong="""
anchor bolt, post
person sam: points waist, chest
attach bolt - strap s - sam.waist
stage "Change over"
    detach s from bolt   # here
    attach post - s
""",
    right="""
anchor bolt, post
person sam: points waist, chest
attach bolt - strap s - sam.waist
stage "Change over"
    attach post - strap t - sam.chest
    detach s from bolt
""",
    find=_told_by_states,
)

LOADED = Rule(
    name="may-still-carry",
    severity=Severity.CAUTION,
    means="A step opens what a litter or a load hangs on, and nothing was taken in before in that stage.",
    matters=(
        "A leg that still carries cannot be opened, or flies open and lets the load drop on what is left. "
        "Each leg is opened only with its tension off."
    ),
    mends="Take in what shall carry instead (`take in tilt by 0.2 m`), check that this one is slack, then open it.",
    source="common practice, no source (facts 10.7)",
    wrong="""
anchor bolt
ring eye
load crate: points a, b
attach bolt - eye
attach eye - strap s - crate.a
attach eye - strap t - crate.b
stage "Change a strap"
    detach s from crate   # here
""",
    right="""
anchor bolt
ring eye
load crate: points a, b
attach bolt - eye
attach eye - strap s - crate.a
attach eye - strap t - crate.b
stage "Change a strap"
    take in t by 0.1 m
    check "s hangs slack"
    detach s from crate
""",
    find=_told_by_states,
)
