"""What a step opens while somebody still hangs on it.

Without forces nobody knows what a leg carries. What is known: whether anything else holds whoever
hangs on it, and whether anything was taken in before it was opened, so that the load could shift. With
forces, what it carries is known, and takes the place of that.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.fates import in_words, together
from analyser.checking.finding import Finding, Rule, Severity, listed, verb
from analyser.checking.meanwhile import Meanwhile
from analyser.holding.outcome import Outcome
from analyser.rig.figures import as_force
from analyser.rig.index import reached
from analyser.rig.model import Nature, Rig, Role, Step

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads

BY_HAND = 50.0
"""Newtons that a hand can take off while it opens something: common practice, no source."""
OPENING = ("detach", "derig", "rerig", "open", "hold open", "slide")
ON_A_DEVICE = ("open", "hold open")


def needed(was: Outcome, step: Step, outcome: Outcome, during: Sequence[Meanwhile] = ()) -> Iterator[Finding]:
    """Who falls after a step that opens something, or while it is being done (`during`)."""
    if step.verb not in OPENING:
        return
    falls = _dropped(was, outcome)
    if falls:
        then = together((name, outcome.body(name).fate) for name in falls)
        text = f"`{step.words}`: nothing else holds {listed(falls)}: {in_words(then)}"
        mend = "attach what shall hold next before this is opened"
        yield NEEDED.told(text, (step.words,), step.place, falls, mend=mend)
    for one in during:
        between = [name for name in _dropped(was, one.outcome) if name not in falls]
        if between:
            then = together((name, one.outcome.body(name).fate) for name in between)
            text = f"{one.words}, nothing else holds {listed(between)}: {in_words(then)}"
            mend = "put another line on first, or land whoever hangs on it"
            yield NEEDED.told(text, (one.within.rope,), step.place, between, mend=mend)
            falls = [*falls, *between]


def _dropped(was: Outcome, then: Outcome) -> list[str]:
    """Who was held and isn't then, by name."""
    after = {body.name: body for body in then.bodies}
    return sorted(body.name for body in was.bodies if body.held and body.name in after and not after[body.name].held)


def _find_loaded(
    before: Rig,
    was: Outcome,
    step: Step,
    outcome: Outcome,
    earlier: Sequence[Step],
    during: Sequence[Meanwhile] = (),
    loads_before: Loads | None = None,
) -> Iterator[Finding]:
    """By the forces before the step, where these tell what it opens; else by what was taken in before."""
    if step.verb not in OPENING:
        return
    balanced = loads_before is not None and loads_before.now.accepted
    told = _carrying(before, was, step, outcome, loads_before) if loads_before and balanced else None
    if told is not None:
        yield from told
        return
    if _shifted(before, step, earlier):
        return
    dropped = {*_dropped(was, outcome), *(name for one in during for name in _dropped(was, one.outcome))}
    less = [name for name in less_held(before, was, outcome, step) if name not in dropped]
    if not less and _paid_onto(before, step, earlier):
        text = f"`{step.words}`: what was paid out put the load on it, and nothing was taken in since"
        mend = "take in what shall carry instead, see that this one is slack, then open it"
        yield LOADED.told(text, (step.words,), step.place, (), mend=mend)
    for name in less:
        text = f"`{step.words}`: it may still carry {name}, since nothing has been taken in so far in this stage"
        mend = "take in what shall carry instead, see that this one is slack, then open it"
        yield LOADED.told(text, (step.words,), step.place, (name,), mend=mend)


def _carrying(before: Rig, was: Outcome, step: Step, now: Outcome, loads: Loads) -> list[Finding] | None:
    """What a step opens under load, by the forces before it; None where these don't tell what it carries."""
    after = {body.name: body for body in now.bodies}
    names = [name for name in less_held(before, was, now, step) if after[name].held]
    if not names and _by_their_own_hand(before, step):
        return []
    newtons = _opened_force(before, step, loads)
    if newtons is None:
        return None if names else []
    if newtons <= BY_HAND:
        return []
    hang = f", and {listed(names)} {verb(names, 'hangs', 'hang')} on it" if names else ""
    text = f"`{step.words}`: it still carries {as_force(newtons, '.2g')}{hang}"
    mend = "take in what shall carry instead until this one is slack, then open it"
    return [LOADED.told(text, (step.words,), step.place, names, mend=mend)]


def _opened_force(rig: Rig, step: Step, loads: Loads) -> float | None:
    """Newtons that what a step opens carries: of a rope, of the part, or, of a contact, what passes through
    both its parts at most. None where a part is not in the forces."""
    named = _opened(step)
    found: list[float] = []
    for name in named:
        lines = [line.tension for line in loads.now.lines if line.rope == name]
        part = loads.on(name)
        if name in rig.index.ropes:
            found.append(max(lines, default=0.0))
        elif part is not None and not part.at_most:
            found.append(part.force)
        elif name in loads.now.slack:
            found.append(0.0)
        elif name in rig.parts:
            return None
    return min(found, default=None)


def less_held(before: Rig, was: Outcome, now: Outcome, step: Step) -> Iterator[str]:
    """Who was held, and is held by less after a step: litters and loads, and, of a device that is opened, who hangs
    and works nothing. Other people shift their weight."""
    after = {body.name: body for body in now.bodies}
    for body in was.bodies:
        later = after.get(body.name)
        shifts = before.parts[body.name].nature is Nature.PERSON and not (
            step.verb in ON_A_DEVICE and _passive(before, body.name)
        )
        if shifts or later is None or not body.held:
            continue
        if later.attachments < body.attachments or _fewer(body.independent, later.independent):
            yield body.name


def _opened(step: Step) -> list[str]:
    """What a step names, but for who does it."""
    by = {word.text for word in step.line.by}
    return [name for name in step.line.named if name not in by]


def _by_their_own_hand(rig: Rig, step: Step) -> bool:
    """Does a step open what hangs together with somebody who can shift their weight?"""
    ground = {part.name for part in rig.index.natured(Nature.GROUND, Nature.FRAME)}
    named = {name for name in _opened(step) if name in rig.parts} - ground
    near = reached(rig.index.joined, named, ground) if named else set()
    people = {rig.parts[name].body or name for name in near}
    return any(rig.parts[name].nature is Nature.PERSON and not _passive(rig, name) for name in people)


def _passive(rig: Rig, name: str) -> bool:
    """Does a person hang, and work and hold nothing?"""
    part = rig.parts[name]
    works = any(name in (one.operated_by, one.minded_by) for one in rig.parts.values())
    return not (part.standing or works or rig.index.at(name, Role.HAND))


def _fewer(before: int | None, after: int | None) -> bool:
    return after is not None and (before is None or after < before)


def _shifted(before: Rig, step: Step, earlier: Sequence[Step]) -> bool:
    """Was the load moved off what this step opens? Something else was taken in last, or it was paid out."""
    named, on, last = _opened_on(before, step, earlier)
    behind = {rope for rope in on if _behind(before, rope, named)}
    return any((verb == "pay out") is (name in (named | on) - behind) for name, verb in last.items())


def _paid_onto(before: Rig, step: Step, earlier: Sequence[Step]) -> bool:
    """Was rope last paid out past a grip that a step opens, from a device behind it?"""
    named, on, last = _opened_on(before, step, earlier)
    return any(last.get(rope) == "pay out" and _behind(before, rope, named) for rope in on)


def _opened_on(before: Rig, step: Step, earlier: Sequence[Step]) -> tuple[set[str], set[str], dict[str, str]]:
    """What a step opens, the ropes that it is on, and what was last done to the length of any."""
    named = set(_opened(step))
    on = {rope for name in named for rope in before.index.ropes_at(name)}
    return named, on, {name: one.verb for one in earlier for name in one.line.lengthened}


def _behind(rig: Rig, name: str, opened: Collection[str]) -> bool:
    """Is what is opened a grip on a rope between the device that lets rope out and the load? What is paid out puts the
    load on it, and what is taken in takes it off."""
    rope = rig.index.ropes[name]
    grips = [k for k, one in enumerate(rope.stations) if one.role is Role.GRIP and rig.parts[one.part].operated_by]
    mine = [k for k, one in enumerate(rope.stations) if one.part in opened and one.role is Role.GRIP]
    for device in grips:
        one = rope.stations[device]
        if one.part not in opened and any(one.to_end if k > device else one.to_start for k in mine):
            return True
    return False


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
    find=needed,
)

LOADED = Rule(
    name="may-still-carry",
    severity=Severity.CAUTION,
    means=(
        "A step opens what a litter or a load hangs on, or a device on which somebody hangs who works nothing: while "
        "it still carries by the forces, where the file gives what they need, else where nothing was taken in before "
        "in that stage."
    ),
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
    find=_find_loaded,
)
