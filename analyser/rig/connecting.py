"""Contacts of chains, stations and interlocks, in the order of the file."""

from __future__ import annotations

from itertools import pairwise

from analyser.language.syntax import Attach, Interlock, RopeLine, Word
from analyser.rig.bench import Bench
from analyser.rig.declaring import lay_chain
from analyser.rig.elements import Nature, Rope
from analyser.rig.joining import joined
from analyser.rig.roping import make_rope


def connect(bench: Bench, knots: list[tuple[RopeLine, list[Word | None]]]) -> list[Rope]:
    """Everything that touches; the ropes come back. `knots` are the names of each rope's knots."""
    ropes: list[Rope] = []
    laid = joined(bench, knots)
    for statement in bench.document.statements:
        if isinstance(statement, Attach):
            _attach(bench, statement)
        elif isinstance(statement, RopeLine) and id(statement) in laid:
            rope = make_rope(bench, *laid[id(statement)])
            ropes += [rope] if rope else []
    for statement in bench.document.statements:
        if isinstance(statement, Interlock):
            _interlock(bench, statement)
    return ropes


def _attach(bench: Bench, statement: Attach) -> None:
    known = len(bench.mistakes)
    lay_chain(bench, statement.chain)
    only = statement.chain[0]
    name = only.name.text if only.name else ""
    if len(statement.chain) < 2 and len(bench.mistakes) == known and not bench.doubtful(name):
        hint = f"write what it touches: `attach {name or 'left-bolt'} - a carabiner - …`"
        bench.wrong(only.place, "a single link: it is attached to nothing", hint)


def _interlock(bench: Bench, statement: Interlock) -> None:
    hint = "name two knots: each one's loop passes through the other's"
    found = [bench.one_of(word, (Nature.KNOT,), "knot", "", ", not a knot", hint) for word in statement.knots]
    if len(found) < 2:
        alone = statement.knots[0]
        hint = f"name the other: `interlock {alone.text}, green-bowline`"
        bench.wrong(alone.place, "a single knot: it interlocks with nothing", hint)
    for (a, b), word in zip(pairwise(found), statement.knots[1:], strict=True):
        if a and a is b:
            bench.wrong(word.place, f"`{a.name}` cannot interlock with itself", "name two different knots")
        elif a and b:
            bench.touch(a.name, b.name, statement.place)
