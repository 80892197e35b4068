"""The first lines of a paper as facts with their labels, in the words of a language."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.pages.tree import Fact
from analyser.pages.writing.translation import Catalogue
from analyser.uses.field.at_first import FirstLines


def first_facts(first: FirstLines, words: Catalogue) -> Iterator[Fact]:
    """The first answers, each with its label; orders one under the other."""
    for one in first.answers:
        between = "\n" if one.orders else " "
        told = [piece for each in one.words for piece in (between, *words.words(each))]
        yield Fact(words.words(one.label), tuple(told[1:]))
