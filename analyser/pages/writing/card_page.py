"""The cards as a page to print and carry: each begins a sheet of its own, in the words of a language.

Type of 11.5 pt on A6: its capitals are 16 minutes of arc high at an arm's length of 0.6 m, the least that
is asked of text on displays; 14 pt on A5 is 20, what is preferred (NUREG-0700 rev. 2, guideline 1.3.1-4, an
extract seen; common practice for paper by head lamp: none found). Black on white, no grey.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from analyser.pages.tree import (
    Block,
    Fact,
    Leaf,
    Note,
    Page,
    Section,
    Step,
    Verdict,
    Warn,
    Words,
    given,
    listing,
    section,
    strong,
)
from analyser.pages.writing.first_facts import first_facts, tried_words
from analyser.pages.writing.translation import Catalogue, of_revision, rests
from analyser.uses.field.at_first import OTHERS, PLAN, WHEN, FirstLines, first_lines
from analyser.uses.field.cards import Card, Cards
from analyser.uses.field.cards import Line as Call
from analyser.uses.field.said import Said, said

ROLE_WORD = {
    "controller": "role-controller",
    "operator": "role-operator",
    "hands": "role-hands",
    "edge": "role-edge",
    "attendant": "role-attendant",
    "rope": "role-rope",
    "helper": "role-helper",
}
MARK_WORD = {"say": "mark-say", "check": "mark-check", "do": "mark-do"}
STYLES = {paper: ("card.css", f"card-{paper}.css") for paper in ("a6", "a5")}
"""By the paper."""


def card_page(made: Cards, words: Catalogue) -> Page:
    """Every card."""
    return Page(
        tuple(_card(made, card, words) for card in made.cards), f"{words.text('cards')}: {made.title}", words.language
    )


def _card(made: Cards, card: Card, words: Catalogue) -> Leaf:
    t = words.words
    who = given(card.person) if card.person else t("nobody-named")
    revision = (", ", *t(of_revision(made.revision))) if made.revision else ()
    mark = made.result.rig.digest
    revision += (", ", *t("text-mark", mark=mark)) if mark else ()
    lists = (
        ("card-fails", card.fails),
        ("card-work", card.works or (said("card-nothing"),)),
        ("card-watch", card.watches),
        ("card-critical-too" if card.look.endangered else "card-critical", card.besides),
    )
    calls = Section(words.text("card-calls"), tuple(_calls(card.calls, words)))
    told: tuple[Block, ...] = (calls,) if card.calls else () if made.stages else (Note(t("card-no-calls")),)
    first = _first(made, card)
    blocks: tuple[Block, ...] = (
        _verdict(first, card, words),
        Warn("", t("card-stop")),
        Note(_rests(made, first, words), small=True),
        *_plan(made, card, words),
        *(_list(title, several, words) for title, several in lists if several),
        *told,
    )
    stop = (strong(words.text("card-not-for-use")), ". ") if first.rest else ()  # on both sides of it
    return Leaf(t(ROLE_WORD[card.role]), who, (*stop, given(made.title), *revision), blocks)


def _first(made: Cards, card: Card) -> FirstLines:
    """The first lines of a card: of a rig without stages as many as one of a leaf's two sides has room for;
    that others hang on one too the head tells."""
    theirs = bool(card.look.endangered) and card.look.endangered[0].bodies == made.worst
    first = first_lines(card.look, met=made.result.met, mend=made.mend if theirs else None, you=card.person)
    if made.stages and first.rest:  # what is done says before which step
        hangs = tuple(one for one in first.hangs if one.label.key != WHEN)
        return replace(first, hangs=hangs, rest=tuple(one for one in first.rest if one.label.key != PLAN))
    if made.stages:
        return first
    return replace(first, look=tuple(one.without((OTHERS,)) for one in first.look), rest=first.rest[:1])


def _plan(made: Cards, card: Card, words: Catalogue) -> Iterator[Block]:
    """What is written otherwise in the plan: no work for who reads the first side on the rope."""
    rest = first_lines(card.look, met=made.result.met, you=card.person).rest if made.stages else ()
    yield from (_list(PLAN, one.words, words) for one in rest if one.label.key == PLAN)


def _verdict(first: FirstLines, card: Card, words: Catalogue) -> Verdict:
    """Who hangs on one, on what and what first."""
    know = list(first_facts(first, words, lines=True))
    if not card.look.endangered and card.besides:
        look = words.words("first-label-look")
        know = [*(one for one in know if one.label != look), Fact(look, words.words("card-first-near"))]
    if card.more_on_one:
        know.insert(len(first.hangs), Fact("", words.words("card-more-on-one", count=card.more_on_one)))
    return Verdict(words.words(first.head), (), tuple(know))


def _rests(made: Cards, first: FirstLines, words: Catalogue) -> Words:
    """On what the verdict rests, and the cautions: under what is called aloud, which stays beside it."""
    t = words.words
    rest, tried = t("as-written", verdict=rests(made.result)), tried_words(first, words)
    return (*rest, ". ", *tried, *t("caution-model"), " ", *t("caution-first"))


def _list(title: str, several: Sequence[Said], words: Catalogue) -> Section:
    return section(words.text(title), [listing(map(words.words, several))])


def _calls(calls: Sequence[Call], words: Catalogue) -> Iterator[Block]:
    """The calls stage by stage; one's own are to be seen from afar."""
    for one in calls:
        if one.sort == "stage":
            yield section(f"{one.number}. {words.text(one.words)}", ())
        else:
            mark = words.text(MARK_WORD[one.sort]) if one.sort in MARK_WORD else ""
            yield Step(one.number, words.words(one.words), mark=mark, point=one.sort == "do", note=True)
