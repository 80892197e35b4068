"""Parts settled: points touch their bodies, and who works, minds or wears a part is looked up."""

from __future__ import annotations

from analyser.language.mistakes import did_you_mean
from analyser.language.syntax import Word
from analyser.rig.catalogue import Kind
from analyser.rig.drafting import Bench, Draft
from analyser.rig.model import Nature

POINT = Kind("point", None, Nature.POINT, (), "a named point of a body")


def settle(bench: Bench, draft: Draft) -> None:
    """All of it, for a part that a step brings in."""
    add_points(bench, draft)
    for one in [draft, *(d for d in bench.parts.values() if d.body == draft.name)]:
        look_up(bench, one)
        touch_body(bench, one)


def add_points(bench: Bench, draft: Draft) -> None:
    """A body's points become parts."""
    _two_ends(bench, draft)
    for point in draft.points:
        if f"{draft.name}.{point.text}" not in bench.parts:
            bench.add(Word(f"{draft.name}.{point.text}", point.place), POINT, body=draft.name, point=point.text)


def _two_ends(bench: Bench, draft: Draft) -> None:
    """The points at a body's two ends: each at one end, and among its points where it names any."""
    if not draft.ends:
        return
    one, two = draft.ends
    known = [point.text for point in draft.points]
    for word in (*one, *two):
        if known and word.text not in known:
            hint = did_you_mean(word.text, known, f"its points are {', '.join(known)}")
            bench.wrong(word.place, f"`{draft.name}` has no point `{word.text}`", hint)
    for word in two:
        if word.text in {w.text for w in one}:
            bench.wrong(word.place, f"`{word.text}` stands at both ends", "name it at one of them")
    if not known:
        draft.points += list({word.text: word for word in (*one, *two)}.values())


def look_up(bench: Bench, draft: Draft) -> None:
    """Who wears a harness, works and minds a device; what guards an edge."""
    if draft.nature is Nature.HARNESS:
        if draft.worn_by is None:
            if not bench.doubtful(draft.name):
                people = [d.name for d in bench.parts.values() if d.nature is Nature.PERSON]
                hint = f"say who: `{draft.name}: worn by {people[0] if people else 'sam'}`"
                bench.wrong(draft.place, f"nobody wears the harness `{draft.name}`", hint)
        else:
            draft.body = bench.person(draft.worn_by)
    for word in (draft.operated_by, draft.minded_by):
        if word:
            bench.person(word)
    if draft.operated_by or draft.minded_by:
        bench.used.add(draft.name)
    for guard in draft.guards:
        if bench.part(guard, "pad or guard", (Nature.PAD,), "pad"):
            bench.used.add(guard.text)


def touch_body(bench: Bench, draft: Draft) -> None:
    """A point touches its body for good."""
    if draft.body and draft.body in bench.parts:
        bench.touch(draft.name, draft.body, draft.place, given=False)
