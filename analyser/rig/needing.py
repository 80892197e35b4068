"""What frames stand on: feet, guys, whatever their needs name, in one state of a rig."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from analyser.language.mistakes import with_article
from analyser.language.syntax import Word
from analyser.rig.drafting import Bench, Draft
from analyser.rig.model import Contact, Nature, Need, Role, Rope

Pairs = Mapping[tuple[str, str], Contact]
Needs = dict[str, tuple[Need, ...]]
Stood = tuple[Needs, Pairs]
"""What frames stood on in a state, and what touched in it."""


def needs_of(
    bench: Bench, drafts: Mapping[str, Draft], ropes: Iterable[Rope], contacts: Pairs, before: Stood | None = None
) -> Needs:
    """What each frame stands on; a rope counts by its knot on the frame.

    A frame that stood in the state `before` may have lost some of it since: a guy that was taken out,
    or off the frame, holds it no more.
    """
    laid = {rope.name: rope for rope in ropes}
    known, touched = before or ({}, {})
    needs: dict[str, tuple[Need, ...]] = {}
    for draft in drafts.values():
        if draft.nature is not Nature.FRAME:
            continue
        groups = []
        for count, words, spelt in draft.needs:
            names = [_needed(bench, draft, word, laid, contacts, lost=draft.name in known) for word in words]
            was = {name for need in known.get(draft.name, ()) for name in need.parts}
            there = tuple(
                name
                for name in names
                if name
                and (
                    draft.name not in known
                    or _pair(name, draft.name) in contacts
                    or (name in was and _pair(name, draft.name) not in touched)
                )
            )
            bench.used |= set(there)
            groups.append(Need(count or len(words), there, spelt))
        if not groups and draft.name not in known and not bench.doubtful(draft.name):
            bench.wrong(
                draft.place,
                f"`{draft.name}` is {with_article(draft.kind.name)}, and stands on nothing",
                f"say what holds it: `{draft.name}: feet a, b, c` or `{draft.name}: needs 2 of a, b, c`",
            )
        needs[draft.name] = tuple(groups)
    return needs


def _pair(a: str, b: str) -> tuple[str, str]:
    return (a, b) if a < b else (b, a)


def _needed(
    bench: Bench, frame: Draft, word: Word, laid: dict[str, Rope], contacts: Pairs, *, lost: bool
) -> str | None:
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
