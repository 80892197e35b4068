"""The pages of `explain`, `rules` and `kinds`: one rule, kind or word of the language, and the lists of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from analyser.checking.finding import Rule
from analyser.pages.tree import Block, Code, Column, Fact, Gap, Note, Page, Table, quiet, section, strong
from analyser.uses.teaching.entries import Entry

LISTED = {
    "rule": "rules of the findings",
    "kind": "kinds of parts and knots",
    "nature": "natures, on which every kind stands",
    "link of a chain": "links of a chain",
    "step of a stage": "steps of a stage",
    "rule of writing": "how a file is written",
    "word of the answers": "words of the answers",
}
"""The headings of the list; the other groups add an `s`."""
WIDEST = 34
"""Columns for the names of a group; where one is wider, each stands before its meaning."""
BETWEEN = {"like": " – ", "written": "  ·  "}
"""What stands between several of them; else a comma."""
NO_FACTS = ("name", "group", "rule", "severity", "rig", "example", "wrong", "right")
"""What of an entry isn't a label with a text."""
IN_LINES = (("example", "For example"), ("wrong", "It says so here"), ("right", "and is silent here"))
"""What of it is lines of a rig, and their heading."""


def entry_page(entry: Entry) -> Page:
    """One entry: what it is, then its examples as they stand in a rig."""
    what = entry.data["severity"] if entry.group == "rule" else entry.group
    blocks: list[Block] = [Note(strong(f"{entry.name}  ({what})")), Gap()]
    for label, said in entry.data.items():
        if label not in NO_FACTS and said:
            blocks.append(Fact(label, said if isinstance(said, str) else BETWEEN.get(label, ", ").join(said)))
    for key, title in IN_LINES:
        if key in entry.data:
            blocks.append(section(title, [Code(tuple(str(entry.data[key]).splitlines()), indent=2)]))
    return Page(tuple(blocks), entry.name)


def see_also(names: Sequence[str]) -> Page:
    return Page((Fact("see also", ", ".join(names)),))


def entries_page(entries: Sequence[Entry]) -> Page:
    """The names by group, each with its meaning: of the kinds, which have a list of their own, the names alone."""
    groups = list(dict.fromkeys(entry.group for entry in entries))
    ordered = sorted(entries, key=lambda entry: groups.index(entry.group))
    return Page(
        tuple(
            section(LISTED.get(group, f"{group}s"), _members(group, list(members)))
            for group, members in groupby(ordered, key=lambda entry: entry.group)
        )
    )


def _members(group: str, members: Sequence[Entry]) -> Iterator[Block]:
    if group in ("kind", "nature"):
        yield Fact("", ", ".join(entry.name for entry in members), wide=2)
        return
    wide = max(len(entry.name) for entry in members) + 3
    for entry in members:
        said = (f"{entry.data['severity']}: " if group == "rule" else "") + str(entry.data["means"])
        if wide > WIDEST:
            yield Fact("", f"{entry.name}: {said}" if said else entry.name, wide=2)
        else:
            yield Fact(entry.name, said, wide)


def rules_page(rules: Sequence[Rule]) -> Page:
    """Every rule by name, in a reviewer's order, with its source."""
    wide = max(len(rule.name) for rule in rules) + 3
    blocks: list[Block] = []
    for rule in rules:
        blocks.append(Fact(rule.name, f"{rule.severity}: {rule.means}", wide))
        blocks.append(Fact("", quiet(f"source: {rule.source}"), wide))
    return Page(tuple(blocks))


def kinds_page(rows: Iterable[tuple[str, str, str]]) -> Page:
    """The catalogue of kinds: name, what it stands on, what it is."""
    return Page((Table(tuple(map(Column, ("kind", "like", "what it is"))), tuple(rows), flush=True),))


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
