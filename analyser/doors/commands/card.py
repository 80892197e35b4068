"""`stillheld card RIG -o FILE.html`: a card for each role, to print and carry."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace

from analyser.checking.results import analyse
from analyser.doors.commands.documents import closing, put
from analyser.doors.commands.opening import COMMAND_LINE, open_rig, show_mistakes, shown
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean


def run(options: argparse.Namespace) -> int:
    """Write them; 1 when they were written and some requirement isn't met, 2 when nothing was written."""
    try:
        rig = open_rig(options.rig)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writing.card_page import STYLES, card_page
    from analyser.pages.writing.translation import catalogue
    from analyser.uses.field.cards import cards

    result = analyse(rig)
    made = cards(result, shown(options.rig))
    if options.role is not None:
        names = dict.fromkeys(name for card in made.cards for name in (card.role, card.person) if name)
        if options.role not in names:
            hint = did_you_mean(options.role, names, f"there are: {', '.join(names)}")
            wrong = Mistake(Place(COMMAND_LINE, 1), f"this rig has no role or person called `{options.role}`", hint)
            return show_mistakes(Unreadable([wrong], {}), as_json=options.json)
        made = replace(made, cards=made.of(options.role))
    words = catalogue(options.language)
    writers = {".html": lambda: whole(card_page(made, words), STYLES[options.paper])}
    if not options.json and options.output == "-":
        sys.stderr.write("cards are printed from a page: write `-o FILE.html`, or --json\n")
        return 2
    return closing(result) if put(options.output, writers, made.as_data, as_json=options.json) else 2
