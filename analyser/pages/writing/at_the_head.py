"""What stands at the head of a page: who hangs on one, on what, what is looked at first; then what that rests on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.foremost import verdict_head, verdict_rest
from analyser.checking.results import Result
from analyser.pages.tree import Fact, Verdict, Words
from analyser.pages.writing.first_facts import first_facts
from analyser.pages.writing.translation import Catalogue, catalogue
from analyser.uses.field.at_first import first_lines, mending, what_first, what_instead
from analyser.uses.field.said import Said

MENDED_AT_ONCE = 60
"""Up to so many parts a terminal waits for what would mend it: a few tenths of a second."""


def verdict_box(result: Result, cautions: str) -> Verdict:
    """The verdict, everybody who hangs on one and on what, what is looked at first; and in small what it rests on."""
    look = replace(first_look(result), shaken=())  # which the head tells
    first = first_lines(look, met=result.met, mend=mending(result.rig, look))
    head = verdict_head(result, told_below=True)
    return Verdict(head, f"{verdict_rest(result)}. {cautions}", tuple(first_facts(first, _english())))


def looked_at_first(result: Result, look: FirstLook) -> Words:
    """What to do now, or where to look first, in few words; nothing where there is nothing to begin with."""
    told = [piece for one in _what_first(result, look) for piece in (" ", *_english().words(one))]
    if look.endangered and look.step is None and len(result.rig.parts) > MENDED_AT_ONCE:
        told.append(" What would mend it: `stillheld mend`.")
    return tuple(told[1:])


def to_do_now(result: Result) -> str:
    """The same as a sentence, for a picture; empty where nobody is in danger."""
    look = first_look(result)
    told = " ".join(_english().text(one) for one in _what_first(result, look))
    return f"Do now: {told}" if look.endangered else ""


def _what_first(result: Result, look: FirstLook) -> Iterator[Said]:
    few = len(result.rig.parts) <= MENDED_AT_ONCE
    yield from what_first(look, mend=mending(result.rig, look) if few and look.endangered else None)
    if look.step or look.ends:
        yield from what_instead(look)


def hangs_on(look: FirstLook, *, met: bool) -> tuple[Fact, ...]:
    """On what the worst off hang, with their names, where they are held and a single failure drops them that isn't
    accepted, or by which straps they hang from a person: who is not held at all the verdict tells."""
    if not look.endangered or (look.endangered[0].unheld and not look.endangered[0].by):
        return ()
    first = first_lines(look, met=met)
    return tuple(first_facts(replace(first, answers=first.answers[:1]), _english()))


def _english() -> Catalogue:
    return catalogue("en")
