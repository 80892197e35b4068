"""What there is to explain: every rule, every kind, every word of the language, each as one entry."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from analyser.checking.finding import Rule
from analyser.checking.registry import RULES
from analyser.language.reference import Topic, example_of_kind, natures, topics
from analyser.rig.catalogue import Kind, catalogue


@dataclass(frozen=True, slots=True)
class Entry:
    """What is known of one name, as it stands in the JSON: `data` has its keys in the order in which they are told."""

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
        """Does each of these words stand somewhere in it?"""
        texts = (str(self.data.get(key, "")) for key in ("name", "rule", "means", "matters", "mends"))
        there = set(re.findall(r"[\w-]+", " ".join(texts).lower()))
        return there.issuperset(words)


@lru_cache(maxsize=1)
def entries() -> tuple[Entry, ...]:
    """Every entry: the rules in a reviewer's order, the kinds in the catalogue's, the words in the reference's."""
    kinds = catalogue()
    return (
        *map(_of_rule, RULES),
        *(_of_kind(kind, kinds) for kind in kinds.values()),
        *map(_of_topic, topics()),
    )


def _of_rule(rule: Rule) -> Entry:
    data: dict[str, str | list[str]] = {"group": "rule", "name": rule.name, "rule": rule.name}
    data |= {"severity": str(rule.severity), "means": rule.means, "matters": rule.matters, "mends": rule.mends}
    data |= {"source": rule.source, "wrong": rule.wrong.strip(), "right": rule.right.strip()}
    return Entry("rule", rule.name, data)


def _of_kind(kind: Kind, kinds: dict[str, Kind]) -> Entry:
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
    return Entry(group, kind.name, data)


def _chain(kind: Kind, kinds: dict[str, Kind]) -> list[str]:
    """What a kind stands on, nearest first."""
    found: list[str] = []
    while kind.like:
        found.append(kind.like)
        kind = kinds[kind.like]
    return found


def _of_topic(topic: Topic) -> Entry:
    data: dict[str, str | list[str]] = {"group": topic.group, "name": topic.name}
    if topic.forms and topic.forms != (topic.name,):
        data["written"] = list(topic.forms)
    if topic.on:
        data["on"] = topic.on
    data["means"] = topic.means
    if topic.example:
        data |= {"example": topic.example.lines, "rig": topic.example.rig}
    data["source"] = topic.source
    return Entry(topic.group, topic.name, data)
