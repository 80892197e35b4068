"""The words shown to people on walk-downs and cards, in one table for each language (`words/*.toml`).

Keys are ours; names of parts, titles, calls and lines of the rig language are never translated.
"""

from __future__ import annotations

import string
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from analyser.checking.results import Result
from analyser.language.identities import Revision
from analyser.pages.tree import Piece, Span, beside, given, pieces
from analyser.uses.field.said import Gap, Said, said

LANGUAGES = ("en", "de")
"""English first: it is complete, and the others are held to it by a test."""
Entry = str | dict[str, str]


@dataclass(frozen=True)
class Catalogue:
    """The words of one language. A gap that holds a number called `count` chooses between `one` and
    `other`; several names are listed as the language lists them."""

    language: str
    entries: dict[str, Entry]

    def words(self, what: Said | str, **gaps: Gap) -> tuple[Piece, ...]:
        """A sentence for a page: what was put in is marked as given. KeyError for a key or a gap that isn't
        there."""
        one = what if isinstance(what, Said) else said(what, **gaps)
        told = dict(one.gaps)
        entry = self.entries[one.key]
        pattern = entry if isinstance(entry, str) else entry["one" if told["count"] == 1 else "other"]
        return self._filled(pattern, {name: self._gap(gap) for name, gap in told.items()})

    def text(self, what: Said | str, **gaps: Gap) -> str:
        """The same as plain text."""
        return "".join(one.text for one in pieces(self.words(what, **gaps)) if isinstance(one, Span))

    def _filled(self, pattern: str, gaps: dict[str, tuple[Piece, ...]]) -> tuple[Piece, ...]:
        told: list[Piece] = []
        for text, name, _, _ in string.Formatter().parse(pattern):
            told += (text, *(gaps[name] if name else ()))
        return tuple(one for one in told if one)

    def _gap(self, gap: Gap) -> tuple[Piece, ...]:
        if isinstance(gap, Said):
            return self.words(gap)
        if not isinstance(gap, tuple):
            return (given(str(gap)),)
        *others, last = map(given, gap or ("",))
        pattern = self.entries["and"]
        assert isinstance(pattern, str)
        return self._filled(pattern, {"first": beside(others), "last": (last,)}) if others else (last,)

    def gaps(self, key: str) -> set[str]:
        """The names of an entry's gaps."""
        entry = self.entries[key]
        texts = [entry] if isinstance(entry, str) else list(entry.values())
        return {name for text in texts for _, name, _, _ in string.Formatter().parse(text) if name}


@lru_cache(maxsize=len(LANGUAGES))
def catalogue(language: str) -> Catalogue:
    """One of `LANGUAGES`."""
    source = files(__package__).joinpath("words", f"{language}.toml").read_text(encoding="utf-8")
    return Catalogue(language, tomllib.loads(source))


def of_revision(one: Revision) -> Said:
    """Which state of the plan it is, and of when."""
    if one.dated:
        return said("revision-dated", revision=one.number, date=one.dated)
    return said("revision", revision=one.number)


def verdict(result: Result, *, otherwise: bool = False) -> Said:
    """The closing line of a result (`Result.closing`), in no language yet. A verdict never stands bare.
    `otherwise`: every requirement that can be asked is met, and what was found otherwise still says no."""
    on = said("on-forces" if result.on == "connections and forces" else "on-connections")
    if otherwise:
        return said("verdict-otherwise", on=on)
    accepted = len(result.rig.accepted) + len(result.rig.waived)
    behind: dict[str, Gap] = {
        "on": on,
        "risks": said("risks", count=accepted),
        "assumptions": said("assumptions", count=len(result.rig.sound)),
    }
    if not result.met:
        return said("verdict-not-met", counts=_joined(list(_counts(result))), **behind)
    dangers = sum(f.severity == "danger" and not f.accepted for state in result.states for f in state.findings)
    more: Gap = said("dangers", count=dangers) if dangers else ""
    return said("verdict-met", dangers=more, **behind)


def rests(result: Result, *, otherwise: bool = False) -> Said:
    """On what a verdict that stands above it rests; `otherwise` as for `verdict`."""
    on = said("on-forces" if result.on == "connections and forces" else "on-connections")
    if otherwise:
        return said("rests-otherwise", on=on)
    counts = list(_counts(result)) or [said("all-met", count=len(result.requirements))]
    return said("rests", counts=_joined(counts), on=on, accepted=result.accepted, assumed=result.assumed)


def _counts(result: Result) -> Iterator[Said]:
    broken = sum(one.met is False for one in result.requirements)
    unchecked = sum(one.met is None for one in result.requirements)
    if broken:
        yield said("broken", count=broken, all=len(result.requirements))
    if unchecked:
        yield said("unchecked", count=unchecked)


def _joined(several: list[Said]) -> Gap:
    return several[0] if len(several) == 1 else said("both", one=several[0], other=several[1])
