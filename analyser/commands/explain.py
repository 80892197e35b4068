"""`stillheld explain [RULE]`: what a finding means, why it matters, what mends it, its source."""

from __future__ import annotations

import argparse
import json
import sys

from analyser.findings.rules import RULES
from analyser.reading.mistakes import did_you_mean
from analyser.results import FORMAT


def run(options: argparse.Namespace) -> int:
    rules = {rule.name: rule for rule in RULES}
    if options.name and options.name not in rules:
        hint = did_you_mean(options.name, rules, "`stillheld explain` lists them all")
        sys.stderr.write(f"there is no rule called `{options.name}`\n        {hint}\n")
        return 2
    rule = rules.get(options.name)
    if options.json:
        data: dict[str, object] = {"format": FORMAT}
        if rule:
            data |= {"rule": rule.name, "severity": str(rule.severity), "means": rule.means}
            data |= {"matters": rule.matters, "mends": rule.mends, "source": rule.source}
            data |= {"wrong": rule.wrong.strip(), "right": rule.right.strip()}
        else:
            data["rules"] = [{"rule": r.name, "severity": str(r.severity), "means": r.means} for r in RULES]
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
        return 0
    from analyser.writing.explaining import rule_page, rules_page
    from analyser.writing.terminal import show

    show(rule_page(rule) if rule else rules_page(RULES))
    return 0
