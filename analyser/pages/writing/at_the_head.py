"""What stands at the head of a page: who hangs on one, on what, what is looked at first; then what that rests on."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.first_look import first_look
from analyser.checking.foremost import verdict_head, verdict_rest
from analyser.checking.results import Result
from analyser.pages.tree import Fact, Piece, Verdict, Words
from analyser.pages.writing.translation import Catalogue, catalogue
from analyser.uses.field.at_first import Answer, FirstLines, first_lines, what_first


def verdict_box(result: Result, cautions: str) -> Verdict:
    """The verdict, everybody who hangs on one and on what, what is looked at first; and in small what it rests on."""
    first = first_lines(first_look(result), met=result.met, shaken=False)
    head = verdict_head(result, told_below=True)
    return Verdict(head, f"{verdict_rest(result)}. {cautions}", tuple(first_facts(first, _english())))


def first_facts(first: FirstLines, words: Catalogue) -> Iterator[Fact]:
    """The first answers, each with its label."""
    yield from (_fact(one, words) for one in first.answers)


def looked_at_first(result: Result) -> Words:
    """Where to look first, in few words; nothing where there is nothing to begin with."""
    told = [piece for one in what_first(first_look(result)) for piece in (" ", *_english().words(one))]
    return tuple(told[1:])


def _english() -> Catalogue:
    return catalogue("en")


def _fact(one: Answer, words: Catalogue) -> Fact:
    told: list[Piece] = [piece for each in one.words for piece in (" ", *words.words(each))]
    return Fact(words.words(one.label), tuple(told[1:]))
