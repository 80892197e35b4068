"""`stillheld kinds`: the catalogue."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.rig.catalogue import catalogue


def run(options: argparse.Namespace) -> int:
    rows = [(kind.name, kind.like or "", kind.meaning) for kind in catalogue().values()]
    if options.json:
        data = [{"kind": name, "like": like or None, "meaning": meaning} for name, like, meaning in rows]
        sys.stdout.write(json.dumps({"format": "stillheld/1", "kinds": data}, indent=2, ensure_ascii=False) + "\n")
    else:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.explain_page import kinds_page

        show(kinds_page(rows))
    return 0
