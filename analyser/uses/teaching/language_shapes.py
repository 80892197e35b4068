"""The documents of the language: its rules, kinds and words, and the templates of a first rig."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import Document, Shape
from analyser.checking.finding import Severity
from analyser.uses.teaching.entries import Entry


def _text(key: str) -> object:
    """What a page says under a key, where it says anything."""

    def told(entry: Entry) -> object:
        return entry.data.get(key)

    return told


class RuleTold(Shape):
    rule: Annotated[str, "name"]
    severity: Severity
    means: str
    source: str


class Rules(Document, kw_only=True):
    """`rules`: every rule of the findings, in a reviewer's order."""

    document: Literal["rules"] = "rules"
    rules: Annotated[tuple[RuleTold, ...], ""]


class KindTold(Shape):
    kind: Annotated[str, "name"]
    like: str | None
    """What it stands on; None of a nature."""
    meaning: str


class Kinds(Document, kw_only=True):
    """`kinds`: the catalogue of kinds of parts."""

    document: Literal["kinds"] = "kinds"
    kinds: Annotated[tuple[KindTold, ...], ""]


class WordMeant(Shape):
    group: str
    name: str
    means: Annotated[str, _text("means")]
    severity: Annotated[Severity | None, _text("severity")]
    """Of a rule."""


class Words(Document, kw_only=True):
    """`explain` without a name: everything that has a page."""

    document: Literal["words"] = "words"
    words: Annotated[tuple[WordMeant, ...], ""]


class PageTold(Shape):
    """The page of one name. What its group hasn't is null."""

    group: str
    name: str
    written: Annotated[tuple[str, ...] | None, _text("written")]
    on: Annotated[str | None, _text("on")]
    severity: Annotated[Severity | None, _text("severity")]
    means: Annotated[str, _text("means")]
    matters: Annotated[str | None, _text("matters")]
    mends: Annotated[str | None, _text("mends")]
    like: Annotated[tuple[str, ...] | None, _text("like")]
    """Of a kind: what it stands on, nearest first."""
    does: Annotated[str | None, _text("does")]
    kinds: Annotated[tuple[str, ...] | None, _text("kinds")]
    """Of a nature: what stands on it."""
    example: Annotated[str | None, _text("example")]
    rig: Annotated[str | None, _text("rig")]
    """A whole rig in which the example stands."""
    wrong: Annotated[str | None, _text("wrong")]
    right: Annotated[str | None, _text("right")]
    source: Annotated[str, _text("source")]


class PagesTold(Document, kw_only=True):
    """`explain NAME`: the pages of that name."""

    document: Literal["explanation"] = "explanation"
    pages: tuple[PageTold, ...]
    see_also: tuple[str, ...]


class TemplateTold(Shape):
    template: Annotated[str, "0"]
    about: Annotated[str, "1"]


class Templates(Document, kw_only=True):
    """`start --list`: the templates of a first rig."""

    document: Literal["templates"] = "templates"
    templates: Annotated[tuple[TemplateTold, ...], ""]
