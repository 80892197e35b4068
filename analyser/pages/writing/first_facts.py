"""The first lines of a paper as facts with their labels, in the words of a language."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from analyser.pages.tree import Fact, Piece, emphasised
from analyser.pages.writing.translation import Catalogue
from analyser.uses.field.at_first import NUMBER, TIGHT, Answer, FirstLines
from analyser.uses.field.said import Said

APART = (NUMBER, TIGHT)
"""Sentences that begin a line of their own."""


def first_facts(first: FirstLines, words: Catalogue, *, lines: bool = False) -> Iterator[Fact]:
    """The first answers, each with its label; `lines`: orders one after the other each on a line of its own."""
    return answer_facts(first.answers, words, lines=lines)


def tried_words(first: FirstLines, words: Catalogue) -> tuple[Piece, ...]:
    """What was looked at for what would mend it, to stand before other small print; nothing where nothing is told."""
    return (*words.words(first.tried), " ") if first.tried else ()


def in_lines(one: Answer, text: Callable[[Said], str]) -> list[str]:
    """The words of an answer, orders one after the other each on a line of its own."""
    told: list[str] = []
    for each in one.words:
        if told and each.key not in APART:
            told[-1] += f" {text(each)}"
        else:
            told.append(text(each))
    return told


def answer_facts(answers: Iterable[Answer], words: Catalogue, *, lines: bool = False) -> Iterator[Fact]:
    """Some of them; orders strong."""
    for one in answers:
        told: tuple[Piece, ...] = ()
        for each in one.words:
            apart = "\n" if lines and each.key in APART else " "
            told = (*told, apart, *words.words(each)) if told else tuple(words.words(each))
        yield Fact(words.words(one.label), emphasised(told) if one.orders else told)
