"""The first lines of a paper as facts with their labels, in the words of a language."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from analyser.pages.tree import Fact, Piece, emphasised
from analyser.pages.writing.translation import Catalogue
from analyser.uses.field.at_first import Answer, FirstLines


def first_facts(first: FirstLines, words: Catalogue) -> Iterator[Fact]:
    """The first answers, each with its label."""
    return answer_facts(first.answers, words)


def tried_words(first: FirstLines, words: Catalogue) -> tuple[Piece, ...]:
    """What was looked at for what would mend it, to stand before other small print; nothing where nothing is told."""
    return (*words.words(first.tried), " ") if first.tried else ()


def answer_facts(answers: Iterable[Answer], words: Catalogue) -> Iterator[Fact]:
    """Some of them; orders strong."""
    for one in answers:
        told = tuple(piece for each in one.words for piece in (" ", *words.words(each)))[1:]
        yield Fact(words.words(one.label), emphasised(told) if one.orders else told)
