"""The pages of `explain`: one rule, or the list of them."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from analyser.checking.finding import Rule
from analyser.pages.writing.terminal import hanging, heading


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
    """Every rule by name, in a reviewer's order, with its source."""
    width = max(len(rule.name) for rule in rules) + 3
    rows: list[RenderableType] = []
    for rule in rules:
        rows.append(hanging(rule.name, f"{rule.severity}: {rule.means}", width=width))
        rows.append(hanging("", Text(f"source: {rule.source}", style="dim"), width=width))
    return Group(*rows)


def rules_markdown(rules: Sequence[Rule]) -> str:
    """Every rule with its whole page, as a Markdown document."""
    lines = [
        "# What the findings say",
        "",
        "Made by `stillheld rules --markdown` from the rules themselves: each fires on its first rig and is silent on",
        "its second, its nearest neighbour (both go without their title line). Every rig is invented. A finding is",
        "about what was written, not about the rope in the hand; that nothing is found says only that no rule fired.",
        "",
        "| rule | severity | it says |",
        "|---|---|---|",
        *(f"| [`{rule.name}`](#{rule.name}) | {rule.severity} | {rule.means} |" for rule in rules),
    ]
    for rule in rules:
        lines += ["", f"## {rule.name}", "", f"*{rule.severity}.* {rule.means}", "", rule.matters, ""]
        lines += [f"To mend: {rule.mends}", "", f"Source: {rule.source}.", ""]
        lines += ["```rig", *rule.wrong.strip().splitlines(), "```", "", "and silent on", ""]
        lines += ["```rig", *rule.right.strip().splitlines(), "```"]
    return "\n".join(lines) + "\n"
