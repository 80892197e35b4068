"""`stillheld check RIG…`: the main job."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.commands.opening import mistakes, open_rig, show_mistakes, shown
from analyser.commands.watching import Watching
from analyser.findings.rules import RULES
from analyser.reading.mistakes import Unreadable, did_you_mean
from analyser.results import analyse, slips_as_data


def run(options: argparse.Namespace) -> int:
    """Check every rig; the worst exit status counts (2 before 1 before 0)."""
    only, without = options.only or (), options.without or ()
    known = [rule.name for rule in RULES]
    for name in (*only, *without):
        if name not in known:
            hint = did_you_mean(name, known, "`stillheld rules` lists them all")
            sys.stderr.write(f"there is no rule called `{name}`\n        {hint}\n")
            return 2
    worst = 0
    documents: list[dict[str, object]] = []
    for number, name in enumerate(options.rigs):
        try:
            rig = open_rig(name)
            with Watching(options.budget) as watch:
                order = max(options.order, 2) if options.latent else options.order
                result = analyse(rig, order, watch).showing(only, without)
        except Unreadable as error:
            worst = 2
            if options.json:
                documents.append(mistakes(error))
            else:
                show_mistakes(error, as_json=False)
            continue
        worst = max(worst, result.exit_status)
        if options.json:
            document = result.as_data()
            documents.append({**document, "latent": slips_as_data(result)} if options.latent else document)
        else:
            from analyser.writing.checking import check_page
            from analyser.writing.terminal import show

            if number:
                sys.stdout.write("\n")
            show(check_page(result, shown(name), latent=options.latent))
    if options.json:
        whole = documents[0] if len(options.rigs) == 1 else documents
        sys.stdout.write(json.dumps(whole, indent=2, ensure_ascii=False) + "\n")
    return worst
