"""The page of `whatif`: who falls after these failures, who is down to one, and by what the rest is still held."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.consequences import left_singles
from analyser.checking.fates import in_words, loudly, together
from analyser.checking.held_by import way_in_words
from analyser.checking.overloaded import breaks_words
from analyser.checking.scenario import After
from analyser.checking.sentences import listed, resting_on
from analyser.checking.standing import amiss
from analyser.holding.fate import Fate, Kind
from analyser.holding.outcome import BodyOutcome, Outcome
from analyser.language.identities import spoken
from analyser.pages.tree import Block, Fact, Line, Look, Page, Span, alarm, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.forces_page import followed
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.motion_page import in_time_section


def whatif_page(before: Outcome, then: After, file: str) -> Page:
    blocks: list[Block] = [
        rig_title(then.rig, file),
        section("What if", (Line(one.id.spoken) for one in then.failures)),
        *([section("The worst of", _in_turn(then))] if then.in_turn else []),
        section("Then", (*(fact for body in then.outcome.bodies for fact in _body(before, then, body)), *_bars(then))),
    ]
    wanted = dict.fromkeys(ask.wanted for ask in then.faring.asks) if then.faring else {}
    if wanted:
        blocks.append(section("Not told", [Line(f"{one.why}; add `{one.line}`") for one in wanted]))
    if then.aftermath and then.aftermath.motion:
        found = then.aftermath.equilibrium
        blocks.append(in_time_section(then.aftermath.motion, {one.name: found.called(one) for one in found.lines}))
    if then.overload:
        blocks.append(section("Under that load", [Line(alarm(breaks_words(then.overload)))]))
    last = resting_on(then.on, len(then.rig.sound))
    if then.aftermath is None:
        last += ": held does not say how far anybody drops before that"
    return Page((*blocks, *closing(strong(last))), then.rig.title)


def _in_turn(then: After) -> Iterator[Fact]:
    """What a cut of each span does, by the connections, the worst first: those that do the same together."""
    found: dict[tuple[tuple[str, Fate], ...], list[str]] = {}
    for one in then.in_turn:
        found.setdefault(one.fates, []).append(listed(one.failed))
    for fates, names in found.items():
        told = together((name, fate) for name, fate in fates if fate.kind is not Kind.HELD)
        yield Fact(in_words(told) or "all held", ", or ".join(map(spoken, names)))


def _body(before: Outcome, then: After, body: BodyOutcome) -> Iterator[Fact]:
    told, fares = "", then.faring.of(body.name) if then.faring else None
    if then.aftermath:
        told = followed(body.name, then.aftermath, fares)
    yield Fact(
        body.name,
        Span(
            _then(before.body(body.name), body, told),
            Look.PLAIN if body.fate.kind in (Kind.HELD, Kind.SLACKENS) and not amiss(fares) else Look.ALARM,
        ),
    )
    for one in then.free:
        if body.name in one.bodies:
            yield Fact("", alarm(one.text))
    for way in body.ways:
        yield Fact("", f"by {way_in_words(then.rig, body.name, way)}")
    next_one = left_singles(then.outcome, body.name)
    if body.held and next_one:
        yield Fact("", f"now falls if one more follows: {in_brief(then.rig, next_one)}")


def _bars(then: After) -> Iterator[Fact]:
    for name in then.bars_that_tip:
        yield Fact(name, alarm("TIPS: one end or side has lost what held it"))


def _then(was: BodyOutcome, now: BodyOutcome, told: str) -> str:
    if now.fate.not_held:
        words = loudly(now.fate)
        return words if was.fate.kind is not now.fate.kind else f"{words.lower()}, as with nothing failed"
    words = told or "held; drop not checked" if now.fate.kind is Kind.HELD else loudly(now.fate)
    told_too = [told] if told and now.fate.kind is not Kind.HELD else []
    return "; ".join([words, *told_too, *_left(was, now)])


def _left(was: BodyOutcome, now: BodyOutcome) -> Iterator[str]:
    if now.smallest_failure_set == 1:
        yield "down to one" if was.smallest_failure_set != 1 else "on one, as before"
    elif now.independent is not None:
        yield f"{now.independent} independent"
