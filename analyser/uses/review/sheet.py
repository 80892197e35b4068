"""The reviewer's sheet: what there is to answer, what was answered, and which answers still fit.

A review is a small JSON file, written by the page and read here. Its answers are matched to what a rig has to be
answered by rule, parts and bodies, not by line; none is ever dropped: what fits nothing any more is told.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from analyser.checking.finding import Finding
from analyser.checking.judging import Judged
from analyser.checking.results import Result
from analyser.language.mistakes import Mistake, Place, Unreadable

REVIEW = "stillheld-review/1"
ANSWERS = {
    "agree": "it is so, and nothing has to be changed for it",
    "change": "the rig has to be changed",
    "accept": "the risk is taken knowingly, for the reason in the note",
}
MOST_BYTES = 2_000_000
LONGEST = {"item": 1000, "text": 4000, "note": 4000, "name": 200, "date": 40}
DATE = re.compile(r"(\d{4}-\d\d-\d\d)?")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to be answered: a finding, or a requirement that isn't met. `id` stays the same from one revision
    to the next as long as rule, parts and bodies do."""

    id: str
    kind: str
    severity: str
    text: str
    file: str | None
    line: int | None
    bodies: tuple[str, ...]
    state: int
    accepted: str | None = None
    mend: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One answer of a reviewer. `text` is what was answered, in its words at that time."""

    item: str
    text: str
    answer: str
    note: str
    name: str
    date: str


@dataclass(frozen=True, slots=True)
class Review:
    """A review as it was written: of which rig, and its answers."""

    rig: str
    revision: str | None
    content: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """A review laid beside what a rig has to be answered today."""

    review: Review
    same: bool
    """Was it made of exactly this text?"""
    fits: tuple[Entry, ...]
    reworded: tuple[tuple[Entry, str], ...]
    """Those of `fits` whose words have changed since, with the words of today."""
    gone: tuple[Entry, ...]
    """Answers to what is no longer there."""


def items(result: Result) -> tuple[Item, ...]:
    """Requirements that aren't met, then the findings of every state, each once."""
    found: list[Item] = []
    taken: set[str] = set()

    asked = [_required(one) for one in result.requirements if not one.met]
    seen = [_found(finding, state.number) for state in result.states for finding in result.fresh(state)]
    for one in [*asked, *seen]:
        name, n = one.id, 1
        while name in taken:
            n += 1
            name = f"{one.id} #{n}"
        taken.add(name)
        found.append(replace(one, id=name))
    return tuple(found)


def _required(one: Judged) -> Item:
    asked = one.requirement
    word = "not met" if one.met is False else "not fully checked"
    because = f": {'; '.join(one.because)}" if one.because else ""
    return Item(
        id=f"requirement: {asked.text}",
        kind="requirement",
        severity=word,
        text=f"{asked.text}{because}",
        file=None if asked.assumed else asked.place.file,
        line=None if asked.assumed else asked.place.line,
        bodies=(),
        state=one.states[0] if one.states else 0,
    )


def _found(one: Finding, state: int) -> Item:
    about = f" {', '.join(one.about)}" if one.about else ""
    bodies = f" for {', '.join(one.bodies)}" if one.bodies else ""
    return Item(
        id=f"{one.rule}:{about}{bodies}",
        kind="finding",
        severity=str(one.severity),
        text=one.text,
        file=one.place.file,
        line=one.place.line,
        bodies=one.bodies,
        state=state,
        accepted=one.accepted,
        mend=one.mend,
    )


def placed(review: Review, todo: Sequence[Item], content: str) -> Placed:
    """Which answers of a review fit what there is to answer, and which fit nothing any more."""
    now = {one.id: one.text for one in todo}
    fits = tuple(one for one in review.entries if one.item in now)
    return Placed(
        review=review,
        same=review.content == content,
        fits=fits,
        reworded=tuple((one, now[one.item]) for one in fits if one.text != now[one.item]),
        gone=tuple(one for one in review.entries if one.item not in now),
    )


def read_review(data: bytes, file: str) -> Review:
    """A review from its file's bytes. Raises `Unreadable`, with the place where there is one."""
    if len(data) > MOST_BYTES:
        raise _wrong(file, "this is larger than any review", "give the file that a report page has exported")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _wrong(file, "this is not a text in UTF-8", "give the file that a report page has exported") from None
    try:
        told = json.loads(text)
    except json.JSONDecodeError as error:
        raise Unreadable(
            [Mistake(Place(file, error.lineno, error.colno), f"this is not JSON: {error.msg}", "export it anew")],
            {file: text.split("\n")},
        ) from None
    except RecursionError:
        raise _wrong(file, "this is not a review: it is nested too deep", "export it anew from a report page") from None
    wrong = list(_shape(told))
    if wrong:
        raise Unreadable([Mistake(Place(file, 1), f"{file}: {text}", hint) for text, hint in wrong[:8]], {})
    revision = told.get("revision")
    entries = tuple(Entry(**{name: one.get(name, "") for name in Entry.__slots__}) for one in told["entries"])
    return Review(told["rig"], revision, told["content"], entries)


def _shape(told: object) -> Iterator[tuple[str, str]]:
    """What is wrong with the shape of a review, and what to do about it."""
    if not isinstance(told, dict) or told.get("format") != REVIEW:
        yield f'this is not a review: it does not begin with "format": "{REVIEW}"', "export it from a report page"
        return
    for name in ("rig", "content"):
        if not isinstance(told.get(name), str):
            yield f'"{name}" must be a text', "export it anew from a report page"
    if not isinstance(told.get("revision"), str | None):
        yield '"revision" must be a text or null', "export it anew from a report page"
    entries = told.get("entries")
    if not isinstance(entries, list):
        yield '"entries" must be a list of answers', "export it anew from a report page"
        return
    seen: set[str] = set()
    for number, one in enumerate(entries, 1):
        if not isinstance(one, dict):
            yield f"answer {number} is not an answer", 'write {"item": …, "answer": …, "note": …, "name": …, "date": …}'
            continue
        for name, longest in LONGEST.items():
            value = one.get(name, "")
            if not isinstance(value, str) or len(value) > longest or not (value or name != "item"):
                yield f'answer {number}: "{name}" must be a text of at most {longest} letters', "write it shorter"
        if one.get("answer") not in ANSWERS:
            yield f'answer {number}: "answer" must be one of {", ".join(ANSWERS)}', "say which of the three it is"
        date = one.get("date", "")
        if isinstance(date, str) and not DATE.fullmatch(date):
            yield f'answer {number}: "{date[:40]}" is not a date', "write year, month and day: 2026-03-31"
        item = one.get("item")
        if isinstance(item, str) and item in seen:
            yield f"answer {number}: `{item}` is answered twice", "keep the answer that holds"
        seen.add(item if isinstance(item, str) else "")


def _wrong(file: str, text: str, hint: str) -> Unreadable:
    return Unreadable([Mistake(Place(file, 1), f"{file}: {text}", hint)], {})


def _plain(value: object) -> object:
    return list(value) if isinstance(value, tuple) else value
