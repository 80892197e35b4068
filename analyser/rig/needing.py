"""What frames stand on: feet, guys, whatever their needs name, in one state of a rig."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from analyser.language.syntax import Word
from analyser.rig.bench import Bench, is_a
from analyser.rig.elements import Contact, Nature, Need, Part, Role, Rope

Pairs = Mapping[tuple[str, str], Contact]
Needs = Mapping[str, tuple[Need, ...]]
Stood = tuple[Needs, Pairs]
"""What frames stood on in a state, and what touched in it."""


def needs_of(
    bench: Bench, parts: Mapping[str, Part], ropes: Iterable[Rope], contacts: Pairs, before: Stood | None = None
) -> Needs:
    """What each frame stands on; a rope counts by its knot on the frame.

    A frame that stood in the state `before` may have lost some of it since: a guy that was taken out,
    or off the frame, holds it no more.
    """
    laid = {rope.name: rope for rope in ropes}
    known, touched = before or ({}, {})
    needs: dict[str, tuple[Need, ...]] = {}
    for frame in parts.values():
        if frame.nature is not Nature.FRAME:
            continue
        stood = frame.name in known
        was = {name for need in known.get(frame.name, ()) for name in need.parts}
        groups = []
        for stand in bench.stands[frame.name]:
            names = [_needed(bench, frame, word, laid, contacts, lost=stood) or "" for word in stand.words]
            off = {name for name in names if not name or (stood and not _stands(name, frame, was, contacts, touched))}
            count = stand.count or (1 if stand.row else len(stand.words))
            groups.append(Need(count, tuple(names), stand.spelt, stand.laced, stand.row).without(off))
            bench.used |= {*groups[-1].parts}
        if not groups and not stood and not bench.doubtful(frame.name):
            hint = f"say what holds it: `{frame.name}: feet a, b, c` or `{frame.name}: needs 2 of a, b, c`"
            bench.wrong(frame.place, f"{is_a(frame)}, and stands on nothing", hint)
        needs[frame.name] = tuple(groups)
    return needs


def _stands(name: str, frame: Part, was: set[str], contacts: Pairs, touched: Pairs) -> bool:
    """Does a frame still stand on a part: touching it, or never having touched it and named all the while?"""
    pair = _pair(name, frame.name)
    return pair in contacts or (name in was and pair not in touched)


def _pair(a: str, b: str) -> tuple[str, str]:
    return (a, b) if a < b else (b, a)


def _needed(bench: Bench, frame: Part, word: Word, laid: dict[str, Rope], contacts: Pairs, *, lost: bool) -> str | None:
    """The part that a frame stands on, or None with a mistake told; `lost`: it may be gone since."""
    if word.text == frame.name:
        bench.wrong(word.place, f"`{frame.name}` cannot stand on itself", "name its feet or guys")
        return None
    if word.text not in bench.ropes:
        if lost and word.text not in bench.parts:
            return None
        found = bench.part(word, "part", (), "footing")
        return found.name if found else None
    rope = laid.get(word.text)
    if rope is None:
        return None
    touching = {name for pair in contacts for name in pair if frame.name in pair}
    knots = sorted({s.part for s in rope.stations if s.role is Role.TIE and s.part in touching})
    if len(knots) == 1:
        return knots[0]
    if knots:
        text = f"the rope `{word.text}` has several knots on `{frame.name}`"
        bench.wrong(word.place, text, "name the knot: " + " or ".join(f"`{one}`" for one in knots))
    elif not lost:
        text = f"the rope `{word.text}` has no knot on `{frame.name}`"
        bench.wrong(word.place, text, f"tie it there: `tied to {frame.name} with bowline`")
    return None
