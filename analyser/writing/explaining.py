"""The pages of `explain`: one rule, or the list of them."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from analyser.findings.finding import Rule
from analyser.writing.terminal import hanging, heading


def rule_page(rule: Rule) -> RenderableType:
    """What a rule means, why it matters, what mends it, two rigs, its source."""
    rows: list[RenderableType] = [Text(f"{rule.name}  ({rule.severity})", style="bold"), Text()]
    rows += [hanging("means", rule.means), hanging("matters", rule.matters), hanging("mends", rule.mends)]
    rows.append(hanging("source", rule.source))
    for name, text in (("It says so here", rule.wrong), ("and is silent here", rule.right)):
        rows.append(heading(name))
        rows += [Text(f"  {line}") for line in text.strip().splitlines()]
    return Group(*rows)


def rules_page(rules: Sequence[Rule]) -> RenderableType:
    """Every rule by name, in a reviewer's order."""
    width = max(len(rule.name) for rule in rules) + 3
    return Group(*(hanging(rule.name, f"{rule.severity}: {rule.means}", width=width) for rule in rules))
