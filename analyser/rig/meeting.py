"""What a rope meets at one of its stations: the part found, and what is wrong with meeting it so."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.language.mistakes import with_article
from analyser.language.spelling import spelt_link
from analyser.language.syntax import Link, RopeLine, RopeStation, Word
from analyser.rig.bench import Bench, is_a
from analyser.rig.catalogue import Kind, family
from analyser.rig.declaring import lay_chain
from analyser.rig.describing import in_order, one_figure
from analyser.rig.elements import Nature, Part, Role
from analyser.rig.quantities import measures

ROLES = {
    "tied": Role.TIE,
    "again": Role.TIE,
    "through": Role.RUN,
    "over": Role.OVER,
    "gripped": Role.GRIP,
    "held": Role.HAND,
    "stopper": Role.STOPPER,
    "joined": Role.TIE,
    "met": Role.TIE,
    "closed": Role.TIE,
}
MOST_LIKELY = {Role.GRIP: "descender", Role.RUN: "pulley", Role.OVER: "edge"}
"""What a part that nobody declared most likely is, by how the rope meets it."""


@dataclass(frozen=True, slots=True)
class Met:
    """A station with its part known and its loaded side not yet."""

    station: RopeStation
    role: Role
    part: str
    guards: tuple[str, ...] = ()


def meet(bench: Bench, line: RopeLine, station: RopeStation, knot: Word | None) -> Met | None:
    """The part at a station; None where something was wrong with it. `knot` is its own, where it has one."""
    role = ROLES[station.role]
    _lengths(bench, station, role)
    _sides(bench, station, role)
    if role is Role.STOPPER or station.role in ("joined", "met", "closed"):
        return Met(station, role, knot.text) if knot else None
    if role is Role.HAND:
        return _hands(bench, station)
    if station.role == "again":
        return _again(bench, line, station)
    first = station.chain[0]
    if first.name and first.name.text == line.name.text and first.name.text not in bench.parts:
        verb, hint = "run through", "name the part that it runs through"
        if role is Role.TIE:
            verb, hint = "tied to", "a loop is `closed with double-fishermans` as the last station"
        bench.wrong(first.name.place, f"the rope `{first.name.text}` cannot be {verb} itself", hint)
        return None
    if _sleeved(bench, station) or _two_ropes(bench, station, role):
        return None
    if role is Role.OVER and first.name and bench.part(first.name, "edge", (Nature.EDGE,), "edge") is None:
        return None
    near = knot.text if knot else line.name.text
    chain = lay_chain(bench, station.chain, near, MOST_LIKELY.get(role, "carabiner"))
    if not chain or (role is Role.TIE and knot is None):
        return None
    if role is Role.OVER:
        return _edge(bench, station, chain[0])
    if not _can_meet(bench, first, chain[0], role):
        return None
    bench.used.add(chain[0].name)
    if role is Role.TIE:
        assert knot is not None
        bench.touch(knot.text, chain[0].name, first.place)
        return Met(station, role, knot.text) if _also(bench, station, knot) else None
    return Met(station, role, chain[0].name)


def _two_ropes(bench: Bench, station: RopeStation, role: Role) -> bool:
    """A rope that is said to be tied to another one, by that one's name."""
    word = station.chain[0].name
    if role is not Role.TIE or not word or word.text in bench.parts or word.text not in bench.ropes:
        return False
    knots = [one.name for one in bench.parts.values() if one.rope == word.text and one.nature is Nature.KNOT]
    said = f" with {station.knot.text}" if station.knot else ""
    said += f" as {station.name.text}" if station.name else ""
    hint = f"write `joined to end of {word.text}{said}`"
    hint += f", or tie it to a knot there: {' or '.join(f'`{one}`' for one in knots)}" if knots else ""
    bench.wrong(word.place, f"`{word.text}` is a rope: two ropes are joined at an end of each", hint)
    return True


def _also(bench: Bench, station: RopeStation, knot: Word) -> bool:
    """What else the same knot is tied to."""
    fine = True
    for further in station.also:
        chain = lay_chain(bench, further, knot.text)
        if chain and _can_meet(bench, further[0], chain[0], Role.TIE):
            bench.used.add(chain[0].name)
            bench.touch(knot.text, chain[0].name, further[0].place)
        else:
            fine = False
    return fine


def _again(bench: Bench, line: RopeLine, station: RopeStation) -> Met | None:
    """A knot that the rope comes to once more."""
    word = station.chain[0].name
    assert word is not None
    above = [one.name.text for one in line.stations if one.name and one.place < station.place]
    before = [one for one in line.stations if one.place < station.place][-1:]
    names = [one.name if one.role == "tied" else one.chain[0].name for one in before if one.role in ("tied", "again")]
    if any(one and one.text == word.text for one in names):
        text = f"the rope comes to `{word.text}` right after `{word.text}`: there is no loop between"
        bench.wrong(word.place, text, "say what the loop runs through: `through left-crab`, or take this line out")
        return None
    found = bench.parts.get(word.text)
    if found and found.nature is Nature.KNOT and found.rope == line.name.text and word.text in above:
        return Met(station, Role.TIE, word.text)
    hint = f"name one: `again {above[0]}`" if above else "name it where it is tied: `tied to a1 as master`"
    text = f"the rope `{line.name.text}` has no knot called `{word.text}` above this station"
    bench.misnamed(word, above, text, hint, follows=line.name.text in bench.broken)
    return None


def _lengths(bench: Bench, station: RopeStation, role: Role) -> None:
    """A tail where a knot is, and slack in its order."""
    tail, slack = station.tail, station.slack
    if tail and role is not Role.TIE:
        bench.wrong(tail.place, "a tail is what a knot leaves over", "give it where the rope is `tied to`")
    elif tail and measures(tail) != "length":
        text = f"a tail is a length, and {tail.unit} measures {with_article(measures(tail))}"
        bench.wrong(tail.place, text, "for example `tail 150 mm`")
    elif tail:
        one_figure(bench, tail)
    if slack:
        in_order(bench, slack.number, slack.upper, slack.place, slack.unit)


def _sides(bench: Bench, station: RopeStation, role: Role) -> None:
    """A loaded side where nothing grips, or where a knot does."""
    told = station.load_from or station.tail_towards
    if role not in (Role.TIE, Role.RUN) or not (told or station.both_ways):
        return
    said = "load from" if station.load_from else "tail towards" if station.tail_towards else "both ways"
    why = "a knot holds whichever side is loaded" if role is Role.TIE else "a rope runs free `through` a part"
    hint = f"take `, {said}{f' {told.text}' if told else ''}` out"
    if role is Role.RUN:
        hint += ", or write `gripped by` if the part grips"
    bench.wrong(told.place if told else station.place, f"{why}: `{said}` says nothing here", hint)


def _hands(bench: Bench, station: RopeStation) -> Met | None:
    word = station.chain[0].name
    if word and word.text in bench.parts and bench.parts[word.text].nature is not Nature.PERSON:
        found = bench.parts[word.text]
        verb = "gripped by" if found.nature is Nature.GRIP else "through"
        text = f"`held by` is for a person's bare hands, and {is_a(found)}"
        bench.wrong(word.place, text, f"name a person, or write `{verb} {found.name}`")
        return None
    name = bench.person(word) if word else None
    return Met(station, Role.HAND, name) if name else None


def sleeve(bench: Bench, station: RopeStation) -> tuple[str, Kind] | None:
    """The sleeve or pad that a rope is said to run `through`, and its kind."""
    if station.role != "through":
        return None
    link = station.chain[0]
    part = bench.parts.get(link.name.text) if link.name and not link.kind else None
    kind = bench.kinds.get(link.kind.text if link.kind else part.kind if part else "")
    return (link.name.text if link.name else "tube", kind) if kind and kind.nature is Nature.PAD else None


def _sleeved(bench: Bench, station: RopeStation) -> bool:
    found = sleeve(bench, station)
    if not found:
        return False
    name, kind = found
    text = f"`{name}` lies round the rope or under it: the rope does not run through it as a part"
    hint = f"write `inside {name}` instead, above the station at the span's far end"
    if "sleeve" not in family(kind, bench.kinds):
        hint = f"write it at the edge that the rope passes: `over lip, padded by {name}`"
    bench.wrong(station.chain[0].place, text, hint)
    return True


def _edge(bench: Bench, station: RopeStation, edge: Part) -> Met | None:
    if edge.nature is not Nature.EDGE:
        hint = f"write `through {edge.name}` if the rope runs through it, or name an edge"
        bench.wrong(station.chain[0].place, f"{is_a(edge)}, not an edge", hint)
        return None
    bench.used.add(edge.name)
    found = [bench.part(word, "pad or guard", (Nature.PAD,), "pad") for word in station.guards]
    guards = tuple(guard.name for guard in found if guard)
    bench.used.update(guards)
    return Met(station, Role.OVER, edge.name, guards)


def _can_meet(bench: Bench, link: Link, part: Part, role: Role) -> bool:
    """Can a rope be tied to this part, run through it or be gripped by it? Otherwise told why not."""
    if part.nature is Nature.EDGE:
        text, hint = f"`{part.name}` is an edge: a rope passes over it", f"write `over {part.name}`"
    elif not bench.touchable(part, link.place):
        return False
    elif role is Role.RUN and part.nature in (Nature.KNOT, Nature.STOPPER):
        met = sorted({other for pair in bench.contacts if part.name in pair for other in pair} - {part.name})
        hint = f"write `through {met[0]}`, which the knot is tied to" if met else "name the part that it runs through"
        text = f"a rope cannot run through the knot `{part.name}`"
    elif role is Role.GRIP and part.nature is not Nature.GRIP:
        text = f"{is_a(part)}: it does not grip a rope"
        hint = f"write `through {spelt_link(link)}`, or name a device or hitch that grips"
    else:
        return True
    bench.wrong(link.place, text, hint)
    return False
