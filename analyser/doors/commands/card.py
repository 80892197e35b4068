"""`stillheld card RIG -o FILE.html`: a card for each role, to print and carry."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace

from analyser.doors.commands.getting_out import NotDone, Paper, unmet
from analyser.doors.commands.opening import files_of, open_rig, shown
from analyser.doors.commands.options import as_json, language, on, one_rig, output


def options(one: ArgumentParser) -> None:
    one_rig(one)
    output(one, "FILE.html")
    one.add_argument("--role", metavar="NAME", help="one role, or one person's card (default: all)")
    one.add_argument("--paper", choices=("a6", "a5"), default="a6", help="the card's size (default a6)")
    language(one)
    on(one)
    as_json(one)


def run(asked: Namespace) -> Paper:
    """Write them; 1 when they were written and some requirement isn't met, 2 when nothing was written."""
    rig = open_rig(asked.rig)
    from analyser.checking.analysing import analyse
    from analyser.checking.calling import refused
    from analyser.language.mistakes import did_you_mean
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writing.card_page import STYLES, card_page
    from analyser.pages.writing.translation import catalogue
    from analyser.uses.field.cards import cards

    result = analyse(rig, processes=None)
    made = cards(result, shown(asked.rig))
    if asked.role is not None:
        names = dict.fromkeys(name for card in made.cards for name in (card.role, card.person) if name)
        if asked.role not in names:
            hint = did_you_mean(asked.role, names, f"there are: {', '.join(names)}")
            raise refused(f"this rig has no role or person called `{asked.role}`", hint)
        made = replace(made, cards=made.of(asked.role))
    if not asked.json and asked.output == "-":
        raise NotDone("cards are printed from a page: write `-o FILE.html`, or --json")
    words = catalogue(asked.language)
    writers = {".html": lambda: whole(card_page(made, words), STYLES[asked.paper])}
    return Paper(result.exit_status, made, writers, unmet(result), files_of(asked.rig, rig))
