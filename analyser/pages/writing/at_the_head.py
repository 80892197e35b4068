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
from analyser.uses.field.at_first import TOO_LATE, first_lines, mending, what_first, what_now
from analyser.uses.field.said import Said

MOST_IN_PICTURES = 3
"""So many lines of who hangs on what stand over a picture."""
MENDED_AT_ONCE = 60
"""Up to so many parts a terminal waits for what would mend it: a few tenths of a second."""

MENDED = ("first-besides", "first-check", "first-mended")
"""The orders that say that it is to be mended: left out where it is told what says how."""


def verdict_box(result: Result, cautions: str, look: FirstLook, mend: Said | None) -> Verdict:
    """The verdict, everybody who hangs on one and on what, what is done or looked at first; and in small what it rests
    on. `mend`: what would mend it, where that is known."""
    first = first_lines(replace(look, shaken=()), met=result.met, mend=mend)  # the head tells those
    head = verdict_head(result, told_below=True)
    return Verdict(head, f"{verdict_rest(result)}. {cautions}", tuple(first_facts(first, _english())))


def looked_at_first(result: Result, look: FirstLook) -> tuple[Words, ...]:
    """What to do now, an order each, or where to look first; nothing where there is nothing to begin with. What is done
    where it is too late is for who stands there with a paper."""
    orders = [one for one in _what_first(result, look) if one.key not in TOO_LATE]
    asked = look.endangered and look.step is None and len(result.rig.parts) > MENDED_AT_ONCE
    if asked and not result.met:
        orders = [one for one in orders if not any(isinstance(gap, Said) and gap.key in MENDED for _, gap in one.gaps)]
    told = tuple(map(_english().words, orders))
    return (*told, "What would mend it: `stillheld mend`.") if asked else told


def to_do_now(result: Result) -> tuple[tuple[str, str], ...]:
    """The same for a picture, under who hangs on what, a line each, with what stands out before
    it; orders stand out whole. Empty where nobody is in danger."""
    look = first_look(result)
    if not look.endangered:
        return ()
    few = replace(look, on_one=look.on_one[:MOST_IN_PICTURES], next=(), left=(), shaken=())
    text = _english().text
    answers = first_lines(few, met=result.met).answers[: len(few.on_one)]
    told = [(f"{text(one.label)}:", " ".join(map(text, one.words))) for one in answers]
    first, *orders = (text(one) for one in _what_first(result, look))
    return (*told, (f"Do now: {first}", ""), *((one, "") for one in orders))


def _what_first(result: Result, look: FirstLook) -> Iterator[Said]:
    few = len(result.rig.parts) <= MENDED_AT_ONCE
    mend = mending(result.rig, look) if few and look.endangered else None
    yield from (what_first if result.met or not look.endangered else what_now)(look, mend=mend)


def hangs_on(look: FirstLook, *, met: bool) -> tuple[Fact, ...]:
    """On what the worst off hang, with their names, where they are held and a single failure drops them that isn't
    accepted, or by which straps they hang from a person: who is not held at all the verdict tells. Then the others
    of whom it isn't accepted, as many as there are on a picture."""
    if not look.endangered or (look.endangered[0].unheld and not look.endangered[0].by):
        return ()
    first = first_lines(look, met=met)
    told = first.answers[: min(MOST_IN_PICTURES, len(look.endangered))]
    return tuple(first_facts(replace(first, answers=told), _english()))


def _english() -> Catalogue:
    return catalogue("en")
