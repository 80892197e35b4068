"""Ropes: stations become parts and contacts, names in spans, and the loaded side of what grips."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import pairwise

from analyser.language.identities import Label, Span
from analyser.language.mistakes import Place, did_you_mean, with_article
from analyser.language.syntax import Link, RopeLine, RopeStation, Word
from analyser.language.vocabulary import KNOTS_MEANT
from analyser.rig.attributes import apply, in_order, one_figure
from analyser.rig.catalogue import Kind, family
from analyser.rig.drafting import Bench, Draft
from analyser.rig.model import Caution, Nature, Role, Rope, Station
from analyser.rig.quantities import measures, quantity

ROLES = {
    "tied": Role.TIE,
    "through": Role.RUN,
    "over": Role.OVER,
    "gripped": Role.GRIP,
    "held": Role.HAND,
    "stopper": Role.STOPPER,
    "closed": Role.TIE,
}
MOST_LIKELY = {Role.GRIP: "descender", Role.RUN: "pulley", Role.OVER: "edge"}
"""What a part that nobody declared most likely is, by how the rope meets it."""
STOPPER_KIND = Kind("stopper", None, Nature.STOPPER, (), "a knot in the rope that can't pass the parts on it")


def declare_knots(bench: Bench, line: RopeLine) -> list[Word | None]:
    """Declare a rope's knots and stoppers; their names, station by station."""
    names: list[Word | None] = []
    taken: Counter[str] = Counter()
    for station in line.stations:
        if not _sleeve(bench, station):
            bench.declare_links(station.chain)
        if station.role in ("tied", "closed"):
            knot = station.knot.text if station.knot else "knot"
            base = f"{line.name.text}-{knot}"
            kind = _knot_kind(bench, station, knot)
        elif station.role == "stopper":
            base, kind = f"{line.name.text}-stopper", STOPPER_KIND
        else:
            names.append(None)
            continue
        if station.name:
            name = station.name
        else:
            taken[base] += 1
            name = Word(base if taken[base] == 1 else f"{base}-{taken[base]}", station.place)
        names.append(name if bench.add(name, kind, rope=line.name.text) else None)
    return names


def _sleeve(bench: Bench, station: RopeStation) -> str:
    """The sleeve or pad that a rope is said to run `through`, or nothing."""
    if station.role != "through":
        return ""
    link = station.chain[0]
    kind = bench.kinds.get(link.kind.text) if link.kind else None
    part = bench.parts.get(link.name.text) if link.name and not link.kind else None
    runs = (kind and kind.nature is Nature.PAD) or (part and part.nature is Nature.PAD)
    return (link.name.text if link.name else "tube") if runs else ""


def _knot_kind(bench: Bench, station: RopeStation, knot: str) -> Kind:
    plain = Kind(knot, "knot", Nature.KNOT, (), "a knot")
    if station.knot is None:
        return plain
    kind = bench.kinds.get(knot)
    if kind is None:
        known = [name for name, one in bench.kinds.items() if one.nature is Nature.KNOT]
        meant = KNOTS_MEANT.get(knot.lower(), "")
        hint = f"did you mean `{meant}`?" if meant in known else did_you_mean(knot, known)
        text = f"the knot `{knot}` is not in the catalogue" + (f": {hint}" if hint else "")
        bench.cautions.append(Caution("unknown-knot", (knot,), text, station.knot.place))
        return plain
    if kind.nature is not Nature.KNOT:
        text = f"{with_article(knot)} is not a knot"
        bench.wrong(station.knot.place, text, "name the knot, for example `with bowline`, or take `with` out")
        return plain
    return kind


def make_rope(bench: Bench, line: RopeLine, knots: list[Word | None]) -> Rope | None:
    """The rope with its stations resolved, or None when something in it was wrong."""
    before = len(bench.mistakes)
    name = line.name.text
    broken = name in bench.document.broken_ropes
    rows = list(zip(line.stations, knots, strict=True))
    closed = bool(rows) and rows[-1][0].role == "closed"
    for station, _ in rows[:-1]:
        if station.role == "closed":
            text = f"`closed` closes the rope `{name}`, and stations follow it"
            bench.wrong(station.place, text, f"move this line to the end of `rope {name}`")
    if len(rows) < 2 and not broken:
        bench.wrong(
            line.name.place,
            f"the rope `{name}` has {'one station' if rows else 'no stations'}, and a rope has two at least",
            "indent under it, in order, what it meets: `tied to …`, `through …`, `gripped by …`",
        )
        return None
    made: list[_Row] = []
    for station, knot in rows:
        row = _resolve(bench, line, station, knot)
        if row:
            made.append(row)
    holder = _described(bench, line)
    around = [_around(bench, line, row.station, holder) for row in made]
    for attribute in line.loose:
        text = f"`{attribute.key}` speaks of the span before a station, and no station follows it"
        bench.wrong(attribute.place, text, "move this line above the station at the span's far end")
    if len(bench.mistakes) > before or len(made) < len(rows) or broken:
        return None
    if closed:
        last = made[-1]
        made.insert(0, _Row(last.station, Role.TIE, last.part, ()))
        around.insert(0, ((), ()))
    labels = labelled([row.part for row in made])
    stations: list[Station] = []
    for index, row in enumerate(made):
        to_start, to_end = _grips(bench, line, made, labels, index)
        slack, tail = (quantity(one) if one else None for one in (row.station.slack, row.station.tail))
        place, (hazards, sleeves) = row.station.place, around[index]
        stations.append(
            Station(
                row.role, row.part, labels[index], place, to_start, to_end, row.guards, slack, tail, hazards, sleeves
            )
        )
    spans = spanned(name, labels)
    if len(bench.mistakes) > before:
        return None
    return Rope(
        name,
        line.name.place,
        tuple(stations),
        spans,
        closed,
        tuple(holder.quantities.items()),
        holder.note,
        holder.kind.name,
        holder.source,
        ("start_on_ground" in holder.flags, "end_on_ground" in holder.flags),
    )


def _described(bench: Bench, line: RopeLine) -> Draft:
    """What is said of the rope itself: what it is like first, then its own."""
    holder = Draft(line.name.text, bench.kinds["rope"], line.name.place)
    for attribute in line.attributes:
        if attribute.key != "alike":
            continue
        word = attribute.words[0]
        kind = bench.kind(word)
        if kind is None:
            continue
        if kind.nature is not Nature.ROPE:
            ropes = [f"`{one.name}`" for one in bench.kinds.values() if one.nature is Nature.ROPE and one.like]
            text = f"{with_article(kind.name)} is not a kind of rope"
            bench.wrong(word.place, text, f"kinds of rope are {', '.join(ropes[:3])}; `stillheld kinds` lists them all")
            continue
        holder.kind = kind
        for given in kind.attributes:
            apply(bench, holder, given)
    for attribute in line.attributes:
        if attribute.key != "alike":
            apply(bench, holder, attribute)
    return holder


def _around(
    bench: Bench, line: RopeLine, station: RopeStation, holder: Draft
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The hazards near the span before a station, and the sleeves round it."""
    hazards = [word.text for word in (*holder.near, *station.near)]
    sleeves = []
    for word in (*holder.inside, *station.inside):
        pad = bench.part(word, "sleeve", (Nature.PAD,), "sleeve")
        if pad and "sleeve" not in family(pad.kind, bench.kinds):
            text = f"`{pad.name}` is {with_article(pad.kind.name)}: no rope runs inside it"
            names = [f"`{one.name}`" for one in bench.parts.values() if "sleeve" in family(one.kind, bench.kinds)]
            hint = f"name a sleeve: {' or '.join(names[:3])}" if names else "declare a sleeve: `sleeve tube`"
            if pad.nature is Nature.PAD:
                hint += f"; a pad lies at the edge: `over lip, padded by {pad.name}`"
            bench.wrong(word.place, text, hint)
        elif pad:
            bench.used.add(pad.name)
            sleeves.append(pad.name)
    if (station.near or station.inside) and station is line.stations[0]:
        word = (*station.near, *station.inside)[0]
        text = f"before its first station the rope `{line.name.text}` has no span"
        bench.wrong(word.place, text, "move this line below the first station")
    return tuple(dict.fromkeys(hazards)), tuple(dict.fromkeys(sleeves))


class _Row:
    """A station with its part known and its loaded side not yet."""

    def __init__(self, station: RopeStation, role: Role, part: str, guards: tuple[str, ...]) -> None:
        self.station = station
        self.role = role
        self.part = part
        self.guards = guards


def _resolve(bench: Bench, line: RopeLine, station: RopeStation, knot: Word | None) -> _Row | None:
    role = ROLES[station.role]
    side = "load from" if station.load_from else "tail towards" if station.tail_towards else ""
    if station.tail and role is not Role.TIE:
        bench.wrong(station.tail.place, "a tail is what a knot leaves over", "give it where the rope is `tied to`")
    elif station.tail and measures(station.tail) != "length":
        measured = with_article(measures(station.tail))
        text = f"a tail is a length, and {station.tail.unit} measures {measured}"
        bench.wrong(station.tail.place, text, "for example `tail 150 mm`")
    elif station.tail:
        one_figure(bench, station.tail)
    if station.slack:
        in_order(bench, station.slack.number, station.slack.upper, station.slack.place, station.slack.unit)
    if role in (Role.TIE, Role.RUN) and (side or station.both_ways):
        told = station.load_from or station.tail_towards
        place = told.place if told else station.place
        why = "a knot holds whichever side is loaded" if role is Role.TIE else "a rope runs free `through` a part"
        hint = f"take `, {side or 'both ways'}{f' {told.text}' if told else ''}` out"
        if role is Role.RUN:
            hint += ", or write `gripped by` if the part grips"
        bench.wrong(place, f"{why}: `{side or 'both ways'}` says nothing here", hint)
    if role is Role.STOPPER or station.role == "closed":
        return _Row(station, role, knot.text, ()) if knot else None
    if role is Role.HAND:
        word = station.chain[0].name
        if word and word.text in bench.parts and bench.parts[word.text].nature is not Nature.PERSON:
            found = bench.parts[word.text]
            verb = "gripped by" if found.nature is Nature.GRIP else "through"
            text = f"`held by` is for a person's bare hands, and `{found.name}` is {with_article(found.kind.name)}"
            bench.wrong(word.place, text, f"name a person, or write `{verb} {found.name}`")
            return None
        name = bench.person(word) if word else None
        return _Row(station, role, name, ()) if name else None
    near = knot.text if knot else line.name.text
    meets = station.chain[0].name
    if meets and meets.text == line.name.text and meets.text not in bench.parts:
        verb = "tied to" if role is Role.TIE else "run through"
        hint = (
            "a loop is `closed with double-fishermans` as the last station"
            if role is Role.TIE
            else ("name the part that it runs through")
        )
        bench.wrong(meets.place, f"the rope `{meets.text}` cannot be {verb} itself", hint)
        return None
    sleeve = _sleeve(bench, station)
    if sleeve:
        text = f"`{sleeve}` lies round the rope or under it: the rope does not run through it as a part"
        hint = f"write `inside {sleeve}` instead, above the station at the span's far end"
        link = station.chain[0]
        kind = bench.kinds[link.kind.text] if link.kind else bench.parts[sleeve].kind
        if "sleeve" not in family(kind, bench.kinds):
            hint = f"write it at the edge that the rope passes: `over lip, padded by {sleeve}`"
        bench.wrong(station.chain[0].place, text, hint)
        return None
    if role is Role.OVER and meets and bench.part(meets, "edge", (Nature.EDGE,), "edge") is None:
        return None
    chain = bench.chain(station.chain, near, MOST_LIKELY.get(role, "carabiner"))
    if not chain or (role is Role.TIE and knot is None):
        return None
    first, place = chain[0], station.chain[0].place
    if role is Role.OVER:
        if first.nature is not Nature.EDGE:
            text = f"`{first.name}` is {with_article(first.kind.name)}, not an edge"
            bench.wrong(place, text, f"write `through {first.name}` if the rope runs through it, or name an edge")
            return None
        bench.used.add(first.name)
        guards = [bench.part(word, "pad or guard", (Nature.PAD,), "pad") for word in station.guards]
        bench.used |= {guard.name for guard in guards if guard}
        return _Row(station, role, first.name, tuple(guard.name for guard in guards if guard))
    if first.nature is Nature.EDGE:
        bench.wrong(place, f"`{first.name}` is an edge: a rope passes over it", f"write `over {first.name}`")
        return None
    if not bench.touchable(first, place):
        return None
    if role is Role.RUN and first.nature in (Nature.KNOT, Nature.STOPPER):
        met = sorted({part for pair in bench.contacts if first.name in pair for part in pair} - {first.name})
        hint = f"write `through {met[0]}`, which the knot is tied to" if met else "name the part that it runs through"
        bench.wrong(place, f"a rope cannot run through the knot `{first.name}`", hint)
        return None
    if role is Role.GRIP and first.nature is not Nature.GRIP:
        bench.wrong(
            place,
            f"`{first.name}` is {with_article(first.kind.name)}: it does not grip a rope",
            f"write `through {_written(station.chain[0])}`, or name a device or hitch that grips",
        )
        return None
    bench.used.add(first.name)
    if role is Role.TIE:
        assert knot is not None
        bench.touch(knot.text, first.name, place)
        return _Row(station, role, knot.text, ())
    return _Row(station, role, first.name, ())


def labelled(parts: Iterable[str]) -> list[Label]:
    """The stations at these parts, in their order, as spans call them."""
    seen: Counter[str] = Counter()
    labels = []
    for part in parts:
        seen[part] += 1
        labels.append(Label(part, seen[part]))
    return labels


def spanned(rope: str, labels: Iterable[Label]) -> tuple[Span, ...]:
    """The stretches of a rope between its stations."""
    return tuple(Span(rope, a, b) for a, b in pairwise(labels))


def _written(link: Link) -> str:
    """A link as it stands in the file."""
    if link.kind is None:
        return link.name.text if link.name else ""
    return f"{link.kind.text} {link.name.text}" if link.name else with_article(link.kind.text)


def _grips(bench: Bench, line: RopeLine, rows: list[_Row], labels: Sequence[Label], index: int) -> tuple[bool, bool]:
    """(towards the start, towards the end): against which way of leaving the rope is gripped."""
    row = rows[index]
    if row.role in (Role.TIE, Role.STOPPER):
        return True, True
    if row.role in (Role.RUN, Role.OVER):
        return False, False
    station = row.station
    told = station.load_from or station.tail_towards
    if told is None:
        part = bench.parts[row.part]
        if station.both_ways or (row.role is Role.GRIP and "both_ways" in part.flags):
            return True, True
        return _tight_side(bench, line, rows, labels, index)
    side = _side(bench, line, told, rows, labels, index)
    if side is None:
        return False, False
    towards_end = side == "end" if station.load_from else side == "start"
    return not towards_end, towards_end


def _side(
    bench: Bench, line: RopeLine, told: Word, rows: list[_Row], labels: Sequence[Label], index: int
) -> str | None:
    """On which side of station `index` the named station lies."""
    if told.text in ("start", "end") and told.text not in labels:
        return told.text
    others = [label for label in labels if label != labels[index]]
    if told.text not in labels:
        knots = [label for row, label in zip(rows, labels, strict=True) if _tied_to(row, told.text)]
        if knots:
            said = "load from" if rows[index].station.load_from else "tail towards"
            bench.wrong(
                told.place,
                f"the rope `{line.name.text}` meets `{told.text}` by its knot {' and '.join(f'`{k}`' for k in knots)}",
                "write " + " or ".join(f"`{said} {knot}`" for knot in knots),
            )
            return None
        bench.wrong(
            told.place,
            f"the rope `{line.name.text}` has no station called `{told.text}`",
            did_you_mean(told.text, labels, f"its other stations are {', '.join(others)}; its ends `start` and `end`"),
        )
        return None
    at = labels.index(told.text)
    if at == index:
        sides = [labels[i] for i in (index - 1, index + 1) if 0 <= i < len(labels)]
        text = f"`{told.text}` is this station itself: it lies on neither side"
        bench.wrong(told.place, text, "name a station to one side: " + " or ".join(f"`{one}`" for one in sides))
        return None
    return "start" if at < index else "end"


def _tied_to(row: _Row, name: str) -> bool:
    """Is this a knot tied to a part of that name, or to what a chain joins to it?"""
    return row.role is Role.TIE and any(link.name and link.name.text == name for link in row.station.chain)


def _tight_side(
    bench: Bench, line: RopeLine, rows: list[_Row], labels: Sequence[Label], index: int
) -> tuple[bool, bool]:
    """The loaded side where the rope itself tells it (`holding/rules.md` section 1)."""
    for roles in ((Role.TIE, Role.GRIP, Role.HAND), (Role.TIE,)):
        start = any(row.role in roles for row in rows[:index])
        end = any(row.role in roles for row in rows[index + 1 :])
        if start != end:
            return start, end
    before = labels[index - 1] if index else "start"
    after = labels[index + 1] if index + 1 < len(labels) else "end"
    row = rows[index]
    verb = "held by" if row.role is Role.HAND else "gripped by"
    place = row.station.place
    bench.wrong(
        Place(place.file, place.line, place.column, place.end),
        f"it can't be told on which side of `{row.part}` the rope `{line.name.text}` is loaded",
        f"write `{verb} {row.part}, load from {before}` or `{verb} {row.part}, load from {after}`",
    )
    return False, False
