"""What stands at the head of a page: who hangs on one, on what, what is looked at first; then what that rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.foremost import verdict_head, verdict_rest
from analyser.checking.results import Result
from analyser.pages.drawing.marks import NOTHING_TO_DO, ToDo
from analyser.pages.drawing.parts import PUT
from analyser.pages.tree import Fact, Span, Verdict, pieces
from analyser.pages.writing.first_facts import answer_facts, first_facts, in_lines, tried_words
from analyser.pages.writing.translation import Catalogue, catalogue
from analyser.uses.field.at_first import OTHERS, WHEN, Answer, between, first_lines, mending
from analyser.uses.field.said import Said

MOST_IN_PICTURES = 3
"""So many lines of who hangs on what stand over a picture."""
WIDE = 17
"""Room for the labels of the first lines on a terminal."""
MENDED_AT_ONCE = 60
"""Up to so many parts a terminal waits for what would mend it: a few tenths of a second."""

MENDED = ("first-besides", OTHERS)
"""The orders that say only that it is to be mended: left out where it is told what says how."""


def verdict_box(result: Result, cautions: str, look: FirstLook, mend: Said | None) -> Verdict:
    """The verdict, everybody who hangs on one and on what, what is done or looked at first; and in small what it rests
    on. `mend`: what would mend it, where that is known."""
    first = first_lines(replace(look, shaken=()), met=result.met, mend=mend)  # the head tells those
    head = verdict_head(result, told_below=True)
    rest = (f"{verdict_rest(result)}. ", *tried_words(first, _english()), cautions)
    return Verdict(head, rest, tuple(first_facts(first, _english(), lines=True)))


@dataclass(frozen=True, slots=True)
class Rows:
    """The first lines of a page on a terminal: on what the worst `hang`, where the verdict doesn't tell it; what to
    `do` now, or where to look first; and the `rest`, for whom it is too late for that."""

    hang: tuple[Fact, ...]
    when_left_out: tuple[Fact, ...]
    """The same without after which step it is so, of which the verdict tells the number."""
    do: tuple[Fact, ...]
    rest: tuple[Fact, ...]
    plain_rest: tuple[Fact, ...]
    """The same without what was tried."""


def first_rows(result: Result, look: FirstLook, mend: Said | None) -> Rows:
    """Those of a result. `mend`: what would mend it, where that was looked for."""
    few = replace(_few(look), on_one=look.endangered[:MOST_IN_PICTURES])
    told_by_verdict = not look.endangered or (look.endangered[0].unheld and not look.endangered[0].by)
    hang = () if told_by_verdict else first_lines(few, met=result.met).hangs
    first = first_lines(look, met=result.met, mend=mend)
    asked = look.endangered and look.step is None and len(result.rig.parts) > MENDED_AT_ONCE and not result.met
    do = _facts(one.without(MENDED) if asked else one for one in first.look)
    if asked:
        do = (*do[:-1], replace(do[-1], words=(*pieces(do[-1].words), " What would mend it: `stillheld mend`.")))
    rest = _facts(first.rest)
    tried = (Fact("", _english().words(first.tried), WIDE),) if rest and first.tried else ()
    without = tuple(one for one in hang if one.label.key != WHEN)
    return Rows(_facts(hang), _facts(without), do, (*rest, *tried), rest)


def _facts(answers: Iterable[Answer]) -> tuple[Fact, ...]:
    return tuple(_small(one) for one in answer_facts(answers, _english()) if one.words)


def to_do_now(result: Result) -> ToDo:
    """The same for a picture, with who hangs on what, a line each, and what is said of it on the parts. Empty where
    nobody is in danger."""
    look = first_look(result)
    return to_do(result, look, mend_at_once(result, look))


def to_do(result: Result, look: FirstLook, mend: Said | None) -> ToDo:
    """The same where both are known."""
    if not (look.endangered or look.step):
        return NOTHING_TO_DO
    first = first_lines(_few(look), met=result.met, mend=mend)
    text = _english().text
    rows = tuple((text(one.label), "\n".join(in_lines(one, text)), one.orders) for one in first.answers)
    added = () if look.ends else between(mend) or ()
    joined = (added[1:],) if added else tuple((one.strap, one.to) for one in look.ends)
    wrong = () if added else tuple((one.strap, one.now) for one in look.ends)
    return ToDo(rows, tuple(_on_parts(look, added)), joined, wrong, text(first.tried) if first.tried else "")


def _on_parts(look: FirstLook, added: tuple[()] | tuple[str, str, str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What would mend it, at the parts: at a strap where it could end, and there that it does; at both ends of what
    would be `added`."""
    for one in look.ends:
        yield one.strap, (f"{PUT} on {one.to},", f"NOT on {one.now}")
        yield one.to, (f"{PUT} {one.strap} HERE",)
    if added:
        kind, a, b = added
        yield a, (f"{PUT} a {kind} HERE,", f"to {b}")
        yield b, (f"{PUT} a {kind} HERE,", f"to {a}")


def _few(look: FirstLook) -> FirstLook:
    """As many of those who hang on one as there is room for over a picture, and nothing else of the look."""
    return replace(look, on_one=look.on_one[:MOST_IN_PICTURES], next=(), left=(), shaken=(), assumed=())


def mend_at_once(result: Result, look: FirstLook) -> Said | None:
    """What would mend it, where that takes a few tenths of a second."""
    few = len(result.rig.parts) <= MENDED_AT_ONCE
    return mending(result.rig, look) if few and look.endangered else None


def _small(fact: Fact) -> Fact:
    """As labels of a terminal are: what is not a file's own begins with a small letter."""
    first, *more = pieces(fact.label)
    if isinstance(first, Span) and not first.given:
        first = replace(first, text=first.text[:1].lower() + first.text[1:])
    return replace(fact, label=(first, *more), wide=WIDE)


def _english() -> Catalogue:
    return catalogue("en")
