"""Which statements of a file carry its verdict: each taken at its word is denied in turn, and the rig checked again.

Denied are what nobody works out: `sound`, `accept`, `self-locking`, `locking`, `not below`, `standing`, a strength,
what keeps rope off an edge. A statement carries the verdict where a requirement that is met with it is not met, or not
fully checked, without it. (That a claim's grounds be named and tried one by one is common practice in reviews of
safety cases, no source.)
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from analyser.checking.analysing import analyse
from analyser.checking.carried_verdict import Carrying, Resting
from analyser.checking.results import Result
from analyser.language.attributes import BY_KEY
from analyser.language.edit import Edit, edited
from analyser.language.mistakes import Place
from analyser.language.parsing import Document
from analyser.language.syntax import (
    Attribute,
    Cause,
    Declaration,
    Detail,
    Judgement,
    More,
    NewKind,
    RopeLine,
    RopeStation,
    StageBlock,
    Statement,
    Waiver,
)
from analyser.rig.building import build
from analyser.rig.plan import Plan

DENIED = ("self_locking", "locking", "not_below", "standing", "strength", "guarded_by", "kept_clear_by")
"""Attributes that are taken at their word."""


@dataclass(frozen=True, slots=True)
class _Denial:
    words: str
    place: Place
    edit: Edit


def resting_on(plan: Plan, result: Result) -> Resting:
    """What the verdict of a check rests on. As many checks as there are statements to deny."""
    met = {(one.requirement.text, one.requirement.place) for one in result.requirements if one.met}
    found = []
    denials = list(_denials(plan.document))
    for denial in denials:
        without = _built(edited(plan.document, denial.edit))
        if without is None:
            found.append(Carrying(denial.words, denial.place, (), "", unread=True))
            continue
        then = analyse(without, result.order)
        lost = [
            one for one in then.requirements if not one.met and (one.requirement.text, one.requirement.place) in met
        ]
        if lost:
            reasons = [f"{one.requirement.text}: {reason}" for one in lost for reason in one.because]
            texts = tuple(one.requirement.text for one in lost)
            found.append(Carrying(denial.words, denial.place, texts, reasons[0] if reasons else ""))
    ordered = sorted(found, key=lambda one: (one.unread, -len(one.requirements), one.place))
    return Resting(tuple(ordered), len(denials))


def _built(document: Document) -> Plan | None:
    """The plan of a document, less what is said of failures that it no longer has."""
    plan, mistakes = build(document)
    if plan is not None:
        return plan
    wrong = {(one.place.file, one.place.line, one.place.column) for one in mistakes}
    becomes: dict[Place, tuple[Statement, ...]] = {}
    for one in document.statements:
        if isinstance(one, Judgement | Cause):
            left = tuple(f for f in one.failures if (f.place.file, f.place.line, f.place.column) not in wrong)
            if left != one.failures:
                becomes[one.place] = (replace(one, failures=left),) if left else ()
    return build(edited(document, Edit(becomes=becomes)))[0] if becomes else None


def _denials(document: Document) -> Iterator[_Denial]:
    for statement in document.statements:
        if isinstance(statement, Judgement | Waiver) and _taken(statement):
            yield _Denial(_judged_words(statement), statement.place, Edit(becomes={statement.place: ()}))
            continue
        for attribute, whose in _attributes(statement):
            if attribute.key in DENIED:
                row = BY_KEY[attribute.key]
                said = f"{row.word} {', '.join(word.text for word in attribute.words)}".rstrip()
                said = f"{said} {attribute.measure.text}" if attribute.measure else said
                yield _Denial(f"{', '.join(whose)}: {said}", attribute.place, _less(statement, attribute))
        for rope, station in _guarded(statement):
            clear = {word.text for word in station.guards} <= station.clear
            said = (
                f"{rope}: {'kept clear by' if clear else 'padded by'} {', '.join(word.text for word in station.guards)}"
            )
            yield _Denial(said, station.place, _less(statement, station))


def _taken(statement: Judgement | Waiver) -> bool:
    return isinstance(statement, Waiver) or statement.key in ("sound", "accept")


def _judged_words(statement: Judgement | Waiver) -> str:
    if isinstance(statement, Waiver):
        return f"accept {statement.rule.text} on {', '.join(word.text for word in statement.names)}"
    return f"{statement.key} {', '.join(f'{one.part} {one.mode}'.strip() for one in statement.failures)}"


def _attributes(statement: Statement) -> Iterator[tuple[Attribute, tuple[str, ...]]]:
    """Every attribute that a statement gives, and to whom."""
    match statement:
        case NewKind():
            yield from ((one, (f"kind {statement.name.text}",)) for one in statement.attributes)
        case RopeLine():
            yield from ((one, (statement.name.text,)) for one in statement.attributes)
        case Declaration() | More():
            own = tuple(word.text for word in statement.names) if isinstance(statement, Declaration) else ()
            for detail in statement.details:
                whose = tuple(word.text for word in detail.names) or own
                yield from ((one, whose) for one in detail.attributes)
        case StageBlock():
            for step in statement.steps:
                for inner in (step.rope, step.declaration):
                    if inner is not None:
                        yield from _attributes(inner)


def _guarded(statement: Statement) -> Iterator[tuple[str, RopeStation]]:
    """Every passage of a rope over an edge that is said to be guarded, and the rope's name."""
    if isinstance(statement, RopeLine):
        yield from ((statement.name.text, one) for one in statement.stations if one.guards)
    elif isinstance(statement, StageBlock):
        for step in statement.steps:
            if step.rope is not None:
                yield from _guarded(step.rope)


def _less(statement: Statement, piece: Attribute | RopeStation) -> Edit:
    """The statement without one attribute, or without the guards of one station."""
    left = _without(statement, piece)
    gone = isinstance(left, More) and not left.details
    return Edit(becomes={statement.place: () if gone else (left,)})


def _without(value: Any, piece: Attribute | RopeStation) -> Any:
    if value is piece:
        return replace(value, guards=(), clear=frozenset()) if isinstance(value, RopeStation) else None
    if isinstance(value, tuple):
        left = tuple(_without(one, piece) for one in value)
        if left == value:
            return value
        return tuple(one for one in left if one is not None and not (isinstance(one, Detail) and not one.attributes))
    if is_dataclass(value) and not isinstance(value, type):
        given = {one.name: getattr(value, one.name) for one in fields(value)}
        changed = {name: left for name, one in given.items() if (left := _without(one, piece)) is not one}
        return replace(value, **changed) if changed else value
    return value
