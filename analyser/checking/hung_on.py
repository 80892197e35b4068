"""On what somebody hangs: parts, ropes and stretches of ropes, as values."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from analyser.language.identities import Span
from analyser.rig.model import Nature, Rig

FAILS = ("fails", "is cut")
"""Modes that go without saying where it is said on what somebody hangs."""
FEW_WITH_KINDS = 2
"""So many things on which somebody hangs are told with what each is."""


@dataclass(frozen=True, slots=True)
class Thing:
    """A part, a rope, or of a rope the stretch between `a` and `b`; `mode` is how it fails, where that is not simply
    that it fails; `kind` what it is, where it is told alone or with few."""

    name: str
    a: str = ""
    b: str = ""
    mode: str = ""
    kind: str = ""


def of_kinds(rig: Rig, several: tuple[Thing, ...]) -> Iterator[Thing]:
    """The same with what each is, where they are few and their names don't say it."""
    for one in several:
        part = rig.parts.get(one.name)
        tells = part and len(several) <= FEW_WITH_KINDS and part.kind not in one.name and not part.is_body
        yield replace(one, kind=part.kind) if part and tells else one


def things(rig: Rig, failures: Iterable[str], order: Sequence[str] = ()) -> Iterator[Thing]:
    """What these failures happen to, each once, in an order of names where one is given; of a rope the stretches that
    are among them, as few as that takes, and the rope where all of it is."""
    modes: dict[str, set[str]] = {}
    cut: dict[str, set[str]] = {}
    for one in failures:
        failure = rig.index.failures[one]
        if isinstance(failure.id.part, Span):
            cut.setdefault(failure.id.part.rope, set()).add(failure.id.part)
        else:
            modes.setdefault(failure.id.part, set()).add(failure.id.mode)
    place = {name: k for k, name in enumerate(order)}
    last = len(place)
    file = rig.index.place

    def key(name: str) -> tuple[int, int, str]:
        part = rig.parts.get(name)
        return place.get(name, place.get(part.rope or "", last) if part else last), file.get(name, len(file)), name

    for name in sorted({*modes, *cut}, key=key):
        if name in modes:
            others = sorted(modes[name] - set(FAILS))
            part = rig.parts.get(name)  # of a knot it goes without saying, too
            plain = modes[name] & set(FAILS) or (part and part.nature in (Nature.KNOT, Nature.STOPPER))
            yield Thing(name, mode="" if plain else others[0])
        else:
            yield from stretches(rig, name, cut[name])


def stretches(rig: Rig, rope: str, spans: Collection[str]) -> Iterator[Thing]:
    """The stretches that these spans of a rope make, each as far as it goes; the rope, where they are all of it."""
    laid = rig.index.ropes[rope]
    able = [span for span in laid.spans if span in rig.index.can_fail]
    if set(able) <= set(spans):
        yield Thing(rope)
        return
    at = 0
    for mine, run in groupby(laid.spans, lambda span: span in spans):
        length = len(list(run))
        if mine:
            yield Thing(rope, laid.stations[at].label, laid.stations[at + length].label)
        at += length
