"""`stillheld check RIG…`: the main job."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.commands.opening import mistakes, open_rig, show_mistakes, shown
from analyser.commands.watching import Watching
from analyser.reading.mistakes import Unreadable
from analyser.results import analyse


def run(options: argparse.Namespace) -> int:
    """Check every rig; the worst exit status counts (2 before 1 before 0)."""
    worst = 0
    documents: list[dict[str, object]] = []
    for number, name in enumerate(options.rigs):
        try:
            rig = open_rig(name)
            with Watching(options.budget) as watch:
                result = analyse(rig, options.order, watch)
        except Unreadable as error:
            worst = 2
            if options.json:
                documents.append(mistakes(error))
            else:
                show_mistakes(error, as_json=False)
            continue
        worst = max(worst, result.exit_status)
        if options.json:
            documents.append(result.as_data())
        else:
            from analyser.writing.terminal import check_page, show

            if number:
                sys.stdout.write("\n")
            show(check_page(result, shown(name)))
    if options.json:
        document = documents[0] if len(options.rigs) == 1 else documents
        sys.stdout.write(json.dumps(document, indent=2, ensure_ascii=False) + "\n")
    return worst
