"""The pages of `explain`: a rule, a kind, a word of the language; and the list of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from analyser.checking.finding import Rule
from analyser.checking.registry import RULES
from analyser.language.reference import Topic, example_of_kind, natures, topics
from analyser.rig.catalogue import Kind, catalogue

if TYPE_CHECKING:
    from rich.console import RenderableType

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
IN_LINES = ("name", "group", "rig", "example")
"""What of a page isn't a label with a text."""


@dataclass(frozen=True, slots=True)
class Page:
    """What is known of one name, as it stands in the JSON: `data` has its keys in the order of the page."""

    group: str
    name: str
    data: dict[str, str | list[str]]

    def is_written_with(self, words: Sequence[str]) -> bool:
        """Do these words follow each other in its name, or in a form in which it is written?"""
        for text in (self.name, *self.data.get("written", ())):
            there = re.findall(r"[\w-]+|%", text.lower())
            if any(there[n : n + len(words)] == list(words) for n in range(len(there))):
                return True
        return False

    def speaks_of(self, words: Sequence[str]) -> bool:
        """Does each of these words stand somewhere on its page?"""
        texts = (str(self.data.get(key, "")) for key in ("name", "rule", "means", "matters", "mends"))
        there = set(re.findall(r"[\w-]+", " ".join(texts).lower()))
        return there.issuperset(words)


@lru_cache(maxsize=1)
def pages() -> tuple[Page, ...]:
    """Every page: the rules in a reviewer's order, the kinds in the catalogue's, the words in the reference's."""
    kinds = catalogue()
    return (
        *map(_of_rule, RULES),
        *(_of_kind(kind, kinds) for kind in kinds.values()),
        *map(_of_topic, topics()),
    )


def _of_rule(rule: Rule) -> Page:
    data: dict[str, str | list[str]] = {"group": "rule", "name": rule.name, "rule": rule.name}
    data |= {"severity": str(rule.severity), "means": rule.means, "matters": rule.matters, "mends": rule.mends}
    data |= {"source": rule.source, "wrong": rule.wrong.strip(), "right": rule.right.strip()}
    return Page("rule", rule.name, data)


def _of_kind(kind: Kind, kinds: dict[str, Kind]) -> Page:
    group = "kind" if kind.like else "nature"
    does = natures()[str(kind.nature)]
    kin = tuple(one.name for one in kinds.values() if one.nature == kind.nature and one.like and one is not kind)
    data: dict[str, str | list[str]] = {"group": group, "name": kind.name, "means": kind.meaning if kind.like else does}
    if kind.like:
        data |= {"like": _chain(kind, kinds), "does": does}
    elif kin:
        data["kinds"] = list(kin)
    example = example_of_kind(kind.name, (*kin, str(kind.nature)))
    if example:
        data |= {"example": example.lines, "rig": example.rig}
    data["source"] = "grammar/kinds.rig; " if kind.like else ""
    data["source"] = f"{data['source']}grammar/reference.md, section 3: Parts"
    return Page(group, kind.name, data)


def _chain(kind: Kind, kinds: dict[str, Kind]) -> list[str]:
    """What a kind stands on, nearest first."""
    found: list[str] = []
    while kind.like:
        found.append(kind.like)
        kind = kinds[kind.like]
    return found


def _of_topic(topic: Topic) -> Page:
    data: dict[str, str | list[str]] = {"group": topic.group, "name": topic.name}
    if topic.forms and topic.forms != (topic.name,):
        data["written"] = list(topic.forms)
    if topic.on:
        data["on"] = topic.on
    data["means"] = topic.means
    if topic.example:
        data |= {"example": topic.example.lines, "rig": topic.example.rig}
    data["source"] = topic.source
    return Page(topic.group, topic.name, data)


def shown_page(page: Page) -> RenderableType:
    """One page: what it is, then its example as it stands in a rig."""
    from rich.console import Group
    from rich.text import Text

    from analyser.pages.writing.explain_page import rule_page
    from analyser.pages.writing.terminal import hanging, heading

    if page.group == "rule":
        return rule_page(next(rule for rule in RULES if rule.name == page.name))
    rows: list[RenderableType] = [Text(f"{page.name}  ({page.group})", style="bold"), Text()]
    for label, said in page.data.items():
        if label not in IN_LINES and said:
            between = {"like": " – ", "written": "  ·  "}.get(label, ", ")
            rows.append(hanging(label, said if isinstance(said, str) else between.join(said)))
    if "example" in page.data:
        rows.append(heading("For example"))
        rows += [Text(f"  {line}") for line in str(page.data["example"]).splitlines()]
    return Group(*rows)


def see_also(names: Sequence[str]) -> RenderableType:
    from analyser.pages.writing.terminal import hanging

    return hanging("see also", ", ".join(names))


def contents(pages: Sequence[Page]) -> RenderableType:
    """The names by group, each with its meaning: of the kinds, which have a list of their own, the names alone."""
    from rich.console import Group

    from analyser.pages.writing.terminal import hanging, heading

    rows: list[RenderableType] = []
    ordered = sorted(pages, key=lambda page: [one.group for one in pages].index(page.group))
    for group, members in groupby(ordered, key=lambda page: page.group):
        listed = list(members)
        rows.append(heading(LISTED.get(group, f"{group}s")))
        if group in ("kind", "nature"):
            rows.append(hanging("", ", ".join(page.name for page in listed), width=2))
            continue
        width = max(len(page.name) for page in listed) + 3
        for page in listed:
            severity = f"{page.data['severity']}: " if group == "rule" else ""
            said = severity + str(page.data["means"])
            if width > WIDEST:
                rows.append(hanging("", f"{page.name}: {said}" if said else page.name, width=2))
            else:
                rows.append(hanging(page.name, said, width=width))
    return Group(*rows)
