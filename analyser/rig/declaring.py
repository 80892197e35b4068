"""Parts declared: each name becomes a bare part on the bench, and a whole one when all is said of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from analyser.language.broken import kinds_of_standard
from analyser.language.mistakes import Place, did_you_mean, near, with_article
from analyser.language.syntax import Link, Word
from analyser.rig.bench import Bench, Draft
from analyser.rig.catalogue import Kind, family
from analyser.rig.describing import apply
from analyser.rig.elements import BODIES, Nature, Part

POINT = Kind("point", None, Nature.POINT, (), "a named point of a body")


def declare(bench: Bench, kind_word: Word, name: Word, *, begins: bool = False) -> Draft | None:
    """A part of some kind, described as its kind is; None with a mistake told."""
    kind = bench.kind(kind_word, begins=begins)
    wrong = _not_declared(kind, kind_word, name, bench) if kind else None
    if kind is None or wrong:
        if wrong:
            bench.wrong(*wrong)
        bench.doubt(name.text)
        return None
    return add(bench, name, kind)


def _not_declared(kind: Kind, word: Word, name: Word, bench: Bench) -> tuple[Place, str, str] | None:
    """Why a part of that kind and name is none."""
    if kind.nature is Nature.ROPE:
        hint = f"write `rope {name.text}: like {kind.name}`, its stations indented under it"
        return word.place, f"`{kind.name}` tells what a rope is like: it is not a part", hint
    if kind.nature is Nature.KNOT:
        text = f"{with_article(kind.name)} is tied in a rope, not declared"
        return word.place, text, f"write it in its rope: `tied to master with {kind.name} as {name.text}`"
    standard = f"{kind.name}-{name.text}".lower()
    if standard in kinds_of_standard(standard, bench.kinds):
        what = with_article(kind.name)
        text = f"`{name.text}` is read as the name of {what}, and the standard's kind is one word"
        return name.place, text, f"give the part a name too: `{standard} left-{kind.name}`"
    return None


def add(
    bench: Bench, name: Word, kind: Kind, *, body: str | None = None, rope: str | None = None, point: str = ""
) -> Draft | None:
    """A part by its name, unless there is one already; its draft, with what its kind says."""
    before = bench.parts[name.text].place if name.text in bench.parts else bench.ropes.get(name.text)
    if before is not None:
        here = "" if before.file == name.place.file else f" of {before.file}"
        hint = "give this one a name of its own"
        if kind.nature not in BODIES:
            hint += f", or write only `{name.text}` where the first is meant"
        text = f"`{name.text}` is declared twice: the first is on line {before.line}{here}"
        bench.wrong(name.place, text, hint, follows=bench.stepping)
        return None
    draft = bench.drafts[name.text] = Draft(name.text, kind, name.place)
    bench.parts[name.text] = Part(
        name.text, kind.name, kind.nature, name.place, body, point, rope=rope, family=family(kind, bench.kinds)
    )
    for attribute in kind.attributes:
        apply(bench, draft, attribute, by_kind=True)
    return draft


HITCHES = {"choked": "choked_round", "basket": "basket_round"}
"""How a sling lies round something, and where it is kept what that is."""


def finish(bench: Bench) -> None:
    """Give every part that was being described all that was said of it."""
    for draft in bench.drafts.values():
        part = bench.parts[draft.name]
        if draft.nature is Nature.FRAME:
            bench.stands[draft.name] = tuple(draft.stands)
        names = {
            kept: tuple(dict.fromkeys(w.text for w in draft.named(kept)))
            for kept in ("part_of", "near", "across", "below_for")
        }
        given = {**names, **draft.fields, "guards": tuple(w.text for w in draft.named("guards"))}
        given |= {
            kept: draft.named(kept)[0].text for kept in ("operated_by", "minded_by", "stands_on") if draft.named(kept)
        }
        for kept, pair in draft.pairs.items():
            given[kept] = tuple(tuple(f"{draft.name}.{word.text}" for word in one) for one in pair)
        if draft.named("stands_on"):
            given |= {"standing": True, "exposed": True}
        given["hitch"] = next((hitch for hitch, kept in HITCHES.items() if draft.named(kept)), "")
        given["laid_round"] = next((word.text for word in draft.named(HITCHES["basket"])), None)
        bench.parts[draft.name] = replace(part, quantities=tuple(draft.quantities.items()), **given)
    bench.drafts.clear()


# -- chains


def declare_links(bench: Bench, chain: tuple[Link, ...]) -> None:
    """Declare `carabiner left-crab` where it stands in a chain."""
    for link in chain:
        if link.kind and link.name and not _no_dash(bench, link.kind, link.name):
            _described(bench, declare(bench, link.kind, link.name), link)


def _described(bench: Bench, draft: Draft | None, link: Link) -> None:
    """What is said of a part where it stands in a chain."""
    if draft is None:
        return
    for attribute in link.attributes:
        apply(bench, draft, attribute)
    if bench.stepping or not link.name:
        settle(bench, draft)


def _no_dash(bench: Bench, first: Word, second: Word) -> bool:
    """Two links with no dash between them, or a name before its kind; told, and then let be."""
    if first.text in bench.kinds or first.text in bench.doubts:
        return False
    place = Place(first.place.file, first.place.line, first.place.column, second.place.end)
    if second.text in bench.kinds and not near(first.text, bench.kinds):
        bench.wrong(place, "the kind comes before the name", f"write `{second.text} {first.text}`")
    elif first.text in bench.names and second.text not in bench.names and bench.is_body(first.text):
        bench.wrong(place, "a point is written with a dot", f"write `{first.text}.{second.text}`")
        bench.doubt(f"{first.text}.{second.text}")
    elif first.text in bench.names and (second.text in bench.names or near(second.text, bench.names)):
        text = f"a dash is missing between `{first.text}` and `{second.text}`"
        bench.wrong(place, text, f"write `{first.text} - {second.text}`")
    else:
        return False
    bench.doubt(first.text, second.text)
    return True


def lay_chain(bench: Bench, links: tuple[Link, ...], near: str = "", kind: str = "carabiner") -> list[Part] | None:
    """The parts of a chain, its unnamed ones named, each touching the next; None if unknown.

    `kind` is what its first part most likely is, should nobody have declared it."""
    here = links[0].place
    if any((one.place.file, one.place.line) == (here.file, here.line) for one in bench.mistakes[-3:]):
        return None  # what is wrong with this line was told
    found: list[Part | None] = []
    for position, link in enumerate(links):
        if link.name:
            wanted = "carabiner" if position else kind
            found.append(None if _glued(bench, link.name) else bench.part(link.name, kind=wanted))
            continue
        assert link.kind is not None
        before = found[-1].name if found and found[-1] else near
        after = next((one.name.text for one in links[position + 1 :] if one.name), "")
        found.append(_unnamed(bench, link, before or after or "rig"))
    for (a, first), (b, second) in pairwise(zip(found, links, strict=True)):
        if a and b and bench.touchable(a, first.place) and bench.touchable(b, second.place):
            bench.touch(a.name, b.name, second.place)
    return [one for one in found if one] if all(found) else None


def _unnamed(bench: Bench, link: Link, near: str) -> Part | None:
    """`a carabiner`, declared: named for the part before it in the chain (or after it)."""
    kind = link.kind
    assert kind is not None
    base = f"{near.replace('.', '-')}-{kind.text}"
    name, count = base, 1
    while name in bench.parts or name in bench.ropes:
        count += 1
        name = f"{base}-{count}"
    draft = declare(bench, kind, Word(name, link.place))
    if not draft:
        return None
    _described(bench, draft, link)
    finish(bench)
    return bench.parts[name]


def _glued(bench: Bench, word: Word) -> bool:
    """`left-bolt-master`: a chain written without spaces is read as one name; told."""
    if word.text in bench.parts or word.text in bench.ropes or bench.doubtful(word.text):
        return False

    def links(text: str) -> list[str]:
        if text in bench.parts:
            return [text]
        for cut in (place for place, letter in enumerate(text) if letter == "-"):
            rest = links(text[cut + 1 :]) if text[:cut] in bench.parts else []
            if rest:
                return [text[:cut], *rest]
        return []

    found = links(word.text)
    if found:
        text = f"`{word.text}` is read as one name: a dash between two links has a space on each side"
        bench.wrong(word.place, text, f"write `{' - '.join(found)}`")
        bench.doubt(word.text)
    return bool(found)


# -- what belongs to a part


def settle(bench: Bench, draft: Draft) -> None:
    """All of it, for a part that a step brings in."""
    add_points(bench, draft)
    for one in [draft, *(d for d in bench.drafts.values() if bench.parts[d.name].body == draft.name)]:
        look_up(bench, one)
        touch_body(bench, bench.parts[one.name])


def add_points(bench: Bench, draft: Draft) -> None:
    """A body's points become parts."""
    _pairs(bench, draft)
    for point in draft.named("points"):
        name = f"{draft.name}.{point.text}"
        if name not in bench.parts:
            add(bench, Word(name, point.place), POINT, body=draft.name, point=point.text)


def _pairs(bench: Bench, draft: Draft) -> None:
    """The points at a body's two ends, or sides: each at one of them, and among its points where it names any."""
    known = [point.text for point in draft.named("points")]
    for kept, (one, two) in draft.pairs.items():
        for word in (*one, *two):
            if known and word.text not in known:
                hint = did_you_mean(word.text, known, f"its points are {', '.join(known)}")
                bench.wrong(word.place, f"`{draft.name}` has no point `{word.text}`", hint)
        for word in two:
            if word.text in {w.text for w in one}:
                bench.wrong(word.place, f"`{word.text}` stands at both {kept}", "name it at one of them")
    if not known and draft.pairs:
        words = (word for pair in draft.pairs.values() for one in pair for word in one)
        draft.words["points"] = list({word.text: word for word in words}.values())


def look_up(bench: Bench, draft: Draft) -> None:
    """Who wears a harness, works and minds a device; what guards an edge."""
    worn_by = draft.named("worn_by")
    if worn_by and draft.nature is Nature.HARNESS:
        body = bench.person(worn_by[0])
        bench.parts[draft.name] = replace(bench.parts[draft.name], body=body)
    elif draft.nature is Nature.HARNESS and not bench.doubtful(draft.name):
        people = [one.name for one in bench.parts.values() if one.nature is Nature.PERSON]
        hint = f"say who: `{draft.name}: worn by {people[0] if people else 'sam'}`"
        bench.wrong(draft.place, f"nobody wears the harness `{draft.name}`", hint)
    hands = [*draft.named("operated_by"), *draft.named("minded_by")]
    for word in hands:
        bench.person(word)
    if hands:
        bench.used.add(draft.name)
    for word in draft.named("below_for"):
        hint = "name who or what hangs above it; `below` alone is for all of them"
        bench.one_of(word, BODIES, "body", "person", ": ground lies below people, litters and loads", hint)
    for deck in draft.named("stands_on"):
        _under_foot(bench, draft, deck)
    for word in (one for kept in HITCHES.values() for one in draft.named(kept)):
        around = bench.part(word, kind="anchor")
        if around and bench.touchable(around, word.place):
            bench.touch(draft.name, around.name, word.place)
    for guard in draft.named("guards"):
        if bench.part(guard, "pad or guard", (Nature.PAD,), "pad"):
            bench.used.add(guard.text)


def _under_foot(bench: Bench, draft: Draft, word: Word) -> None:
    """What somebody stands on: a load or a litter; ground is another thing."""
    named = bench.parts.get(word.text)
    hint = "what people stand on and hangs is a `load`"
    if named and named.nature in (Nature.GROUND, Nature.FRAME):
        hint = f"write `{draft.name}: standing`, with `exposed` where there is a fall"
    elif named and named.nature is Nature.POINT:
        hint = f"write `stands on {named.body}`"
    deck = bench.one_of(word, (Nature.LOAD, Nature.LITTER), "deck", "load", ": nobody stands on it as on a deck", hint)
    if deck:
        bench.used |= {deck.name, draft.name}
        if draft.fields.get("standing"):
            text = f"`standing` is on ground where there is no fall, and `{deck.name}` hangs"
            bench.wrong(word.place, text, "take one of the two out")


def touch_body(bench: Bench, part: Part) -> None:
    """A point touches its body for good."""
    if part.body and part.body in bench.parts:
        bench.touch(part.name, part.body, part.place, given=False)
