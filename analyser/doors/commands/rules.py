"""`stillheld rules`: every rule, with its severity and its source."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace

from analyser.doors.commands.getting_out import put_json
from analyser.doors.commands.options import as_json


def options(one: ArgumentParser) -> None:
    one.add_argument("--markdown", action="store_true", help="every rule with its page, as grammar/findings.md")
    as_json(one)


def run(asked: Namespace) -> int:
    from analyser.checking.registry import RULES

    if asked.json:
        from analyser.checking.contract import lay
        from analyser.uses.teaching.language_shapes import Rules

        put_json(lay(Rules, RULES))
    elif asked.markdown:
        from analyser.pages.writing.explain_page import rules_markdown

        sys.stdout.write(rules_markdown(RULES))
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.explain_page import rules_page

        show(rules_page(RULES))
    return 0
