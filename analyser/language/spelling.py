"""How a statement is written: from the plain data of `syntax.py` back to lines of the language.

What is spelt reads as the same statement again (but for places). It is laid out as `formatting.py` lays out a file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import singledispatch
from itertools import groupby

from analyser.language.attributes import BY_KEY, Shape
from analyser.language.mistakes import with_article
from analyser.language.syntax import (
    Attach,
    Attribute,
    Cause,
    Chance,
    Declaration,
    Detail,
    Fact,
    FailureName,
    Heading,
    Include,
    Interlock,
    Judgement,
    Link,
    More,
    NewKind,
    ObservedBlock,
    Onto,
    Require,
    RopeLine,
    RopeStation,
    StageBlock,
    Statement,
    StepLine,
    Told,
    UnitsAsked,
    Waiver,
    Word,
    written,
)
from analyser.language.vocabulary import STATIONS

DEEPER = "    "
BARE = re.compile(r"\w+(?:-\w+)*|\d+(?:\.\d+)?")


def listed(words: Iterable[Word]) -> str:
    return ", ".join(word.text for word in words)


def spelt_link(link: Link) -> str:
    """`left-bolt`, `carabiner left-crab`, `a carabiner`."""
    if link.kind is None:
        return link.name.text if link.name else ""
    own = f" ({spelt_attributes(link.attributes)})" if link.attributes else ""
    return (f"{link.kind.text} {link.name.text}" if link.name else with_article(link.kind.text)) + own


def spelt_chain(chain: Iterable[Link], dash: str = " - ") -> str:
    return dash.join(map(spelt_link, chain))


def spelt_attribute(one: Attribute) -> str:
    """`strength 22 kN`, `points waist, chest`, `85 kg`."""
    row = BY_KEY[one.key]
    numbers = [
        written(low, high) for low, high in zip(one.numbers, one.upper or [None] * len(one.numbers), strict=True)
    ]
    measure = one.measure.text if one.measure else ""
    match row.shape:
        case Shape.FLAG:
            after = ""
        case Shape.NUMBER | Shape.COUNT:
            after = numbers[0]
        case Shape.SHARE:
            after = f"{numbers[0]} %"
        case Shape.STRETCH:
            after = f"{numbers[0]} % at {measure}"
        case Shape.PLACE:
            after = f"({', '.join(numbers)})" + (f" {one.unit.text}" if one.unit else "")
        case Shape.RANGE:
            after = f"{' to '.join(numbers)} {one.measure.unit if one.measure else ''}"
        case Shape.DIRECTIONS:
            ways = (tuple(numbers[k : k + 3]) for k in range(0, len(numbers), 3))
            after = " or ".join("down" if way == ("0", "0", "-1") else f"({', '.join(way)})" for way in ways)
            after += f" within {measure}"
        case Shape.TEXT:
            after = f'"{one.text}"'
        case Shape.GROUP if numbers:
            after = f"{numbers[0]} of {listed(one.words)}"
        case Shape.FIGURE:
            after = measure
        case _:
            after = listed(one.words) + (f" | {listed(one.far)}" if one.far else "")
    return f"{row.word} {after}".strip()


def spelt_attributes(several: Iterable[Attribute]) -> str:
    return ", ".join(map(spelt_attribute, several))


def spelt_failure(one: FailureName) -> str:
    return str(one.id)


def spelt_failures(several: Iterable[FailureName]) -> str:
    return ", ".join(map(spelt_failure, several))


# -- stations


def spelt_station(one: RopeStation) -> Iterator[str]:
    """A station, and before it what stands round the span that leads to it."""
    for word, names in (("near", one.near), ("inside", one.inside)):
        if names:
            yield f"{word} {listed(names)}"
    head = STATIONS[one.role] if one.role != "closed" or one.knot else "closed"
    if one.role == "closed":
        head += f" {one.knot.text}" if one.knot else ""
    elif one.chain or one.to:
        head += f" {one.side} of {one.to.text}" if one.to else ""
        head += f" {' and '.join(map(spelt_chain, (one.chain, *one.also)))}" if one.chain else ""
        head += f" with {one.knot.text}" if one.knot else ""
    head += f" as {one.name.text}" if one.name else ""
    yield ", ".join([head, *_options(one)])


def _options(one: RopeStation) -> Iterator[str]:
    for clear, names in groupby(one.guards, lambda name: name.text in one.clear):
        yield f"{'kept clear by' if clear else 'padded by'} {listed(names)}"
    for word, label in (("load from", one.load_from), ("tail towards", one.tail_towards)):
        if label:
            yield f"{word} {label.text}"
    if one.both_ways:
        yield "both ways"
    for word, measure in (("tail", one.tail), ("slack", one.slack)):
        if measure:
            yield f"{word} {measure.text}"


def _rope_lines(rope: RopeLine) -> Iterator[str]:
    for station in rope.stations:
        yield from spelt_station(station)
    yield from map(spelt_attribute, rope.loose)


# -- statements


@singledispatch
def spelt(one: Statement) -> list[str]:
    """The lines of a statement, what is indented under it with four blanks more."""
    raise TypeError(type(one).__name__)


def _under(head: str, lines: Iterable[str]) -> list[str]:
    return [head, *(DEEPER + line for line in lines)]


def _headed(head: str, attributes: Iterable[Attribute]) -> str:
    told = spelt_attributes(attributes)
    return f"{head}: {told}" if told else head


@spelt.register
def _(one: Heading) -> list[str]:
    plain = one.key == "revision" and BARE.fullmatch(one.text)
    dated = f", dated {one.dated.text}" if one.dated else ""
    return [(f"{one.key} {one.text}" if plain else f'{one.key} "{one.text}"') + dated]


@spelt.register
def _(one: Include) -> list[str]:
    return [f'include "{one.file.text}"']


@spelt.register
def _(one: UnitsAsked) -> list[str]:
    return [f"units {listed(one.units)}"]


@spelt.register
def _(one: NewKind) -> list[str]:
    return [_headed(f"kind {one.name.text} like {one.like.text}", one.attributes)]


@spelt.register
def _(one: Declaration) -> list[str]:
    own = one.details[:1] if one.details and not one.details[0].names else ()
    head = _headed(f"{one.kind.text} {listed(one.names)}", own[0].attributes if own else ())
    return _under(head, map(_detail, one.details[len(own) :]))


def _detail(one: Detail) -> str:
    return _headed(listed(one.names), one.attributes) if one.names else spelt_attributes(one.attributes)


@spelt.register
def _(one: More) -> list[str]:
    return [_detail(detail) for detail in one.details]


@spelt.register
def _(one: Attach) -> list[str]:
    return [f"attach {spelt_chain(one.chain)}"]


@spelt.register
def _(one: Interlock) -> list[str]:
    return [f"interlock {listed(one.knots)}"]


@spelt.register
def _(one: RopeLine) -> list[str]:
    return _under(_headed(f"rope {one.name.text}", one.attributes), _rope_lines(one))


@spelt.register
def _(one: Cause) -> list[str]:
    likely = f" likelihood {one.likelihood.text}" if one.likelihood else ""
    return [f"cause {one.name.text}{likely}: {spelt_failures(one.failures)}"]


@spelt.register
def _(one: Chance) -> list[str]:
    return [f"likelihood {spelt_failures(one.failures)}: {one.likelihood.text}"]


@spelt.register
def _(one: Judgement) -> list[str]:
    return [f'{one.key} {spelt_failures(one.failures)}: "{one.reason}"']


@spelt.register
def _(one: Waiver) -> list[str]:
    return [f'accept {one.rule.text} on {listed(one.names)}: "{one.reason}"']


@spelt.register
def _(one: Require) -> list[str]:
    return [f"require {one.text}"]


@spelt.register
def _(one: StageBlock) -> list[str]:
    return _under(f'stage "{one.title}"', (line for step in one.steps for line in spelt(step)))


STEPS = {
    "derig": "derig {names}",
    "lock off": "lock off {names}",
    "take in hand": "take {names} in hand",
    "open": "open {names}",
    "hold open": "hold open {names}",
    "let grip": "let {names} grip",
    "take in": "take in {names} by {measure}",
    "pay out": "pay out {names} by {measure}",
    "slide": "slide {names} along {along} past {past}",
    "land": "land {names} on ground",
    "lift": "lift {names} off",
    "move": "move {names} to {position}",
    "check": 'check "{text}"',
    "say": 'say "{text}"',
    "note": 'note "{text}"',
}


@spelt.register
def _(one: StepLine) -> list[str]:
    if one.declaration:
        return spelt(one.declaration)
    by = f", by {listed(one.by)}" if one.by else ""
    if one.rope:
        lines = spelt(one.rope)
        return lines if one.verb == "rope" else [f"rerig {one.rope.name.text}{by}", *lines[1:]]
    return [f"{spelt_done(one)}{by}"]


def spelt_done(one: StepLine) -> str:
    """What is done, without who does it."""
    if one.verb == "attach":
        return f"attach {spelt_chain(one.chain)}" + (f" {spelt_onto(one.onto)}" if one.onto else "")
    if one.verb == "detach":
        return f"detach {listed(one.names)}" + (f" from {listed(one.others)}" if one.others else "")
    along, past = (word.text for word in one.others) if len(one.others) == 2 else ("", "")
    measure = one.measure.text if one.measure else ""
    gaps = {"names": listed(one.names), "along": along, "past": past, "measure": measure, "text": one.text}
    return STEPS[one.verb].format(**gaps, position=spelt_position(one))


def spelt_position(one: StepLine) -> str:
    return f"({', '.join(one.position)})" + (f" {one.unit.text}" if one.unit else "")


def spelt_onto(onto: Onto) -> str:
    """`to main between top and low with butterfly as loop, load from low`."""
    one, other = onto.between
    words = f"to {onto.rope.text} between {one.text} and {other.text}"
    words += f" with {onto.station.knot.text}" if onto.station.knot else ""
    words += f" as {onto.station.name.text}" if onto.station.name else ""
    return ", ".join([words, *_options(onto.station), *(f"clear of {one.text}" for one in onto.clear_of)])


@spelt.register
def _(one: ObservedBlock) -> list[str]:
    return _under("observed", map(spelt_fact, one.facts))


def spelt_fact(one: Fact) -> str:
    """`found red-bowline slips, said by jo`."""
    title = f'"{one.text.text}"' if one.text else ""
    numbers = " and ".join(word.text for word in one.numbers)
    what = {
        "found": spelt_failure(one.failure) if one.failure else "",
        "not": f"{spelt_failure(one.failure) if one.failure else ''}: {title}",
        "at": f"step {numbers} of {title}",
        "between": f"step {numbers} of {title}",
        "before": "any step",
        "note": title,
    }.get(one.verb, listed(one.names))
    said = [f"fell {what}", "then held"] if one.verb == "caught" else [f"{one.verb} {what}"]
    return ", ".join([*said, *map(_told, one.told)])


def _told(one: Told) -> str:
    if one.by is None:
        return one.sure
    return f"{one.sure} by {one.by}" if BARE.fullmatch(one.by) else f'{one.sure} by "{one.by}"'
