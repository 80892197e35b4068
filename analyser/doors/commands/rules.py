"""`stillheld rules`: every rule, with its severity and its source."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.checking.registry import RULES
from analyser.checking.results import FORMAT


def run(options: argparse.Namespace) -> int:
    if options.json:
        rows = [{"rule": r.name, "severity": str(r.severity), "means": r.means, "source": r.source} for r in RULES]
        sys.stdout.write(json.dumps({"format": FORMAT, "rules": rows}, indent=2, ensure_ascii=False) + "\n")
    elif options.markdown:
        from analyser.pages.writing.explain_page import rules_markdown

        sys.stdout.write(rules_markdown(RULES))
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.explain_page import rules_page

        show(rules_page(RULES))
    return 0
