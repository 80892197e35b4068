"""Ropes: stations become parts and contacts, names in spans, and the loaded side of what grips."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from analyser.language.identities import Label
from analyser.language.mistakes import Place, did_you_mean, with_article
from analyser.language.syntax import RopeLine, RopeStation, Word
from analyser.language.vocabulary import KNOTS_MEANT
from analyser.rig.bench import Bench, Draft, is_a
from analyser.rig.catalogue import Kind
from analyser.rig.declaring import add, declare_links
from analyser.rig.describing import apply
from analyser.rig.elements import Nature, Role, Rope, Station
from analyser.rig.meeting import Met, meet, sleeve
from analyser.rig.model import Caution
from analyser.rig.quantities import quantity
from analyser.rig.relaying import labelled, spanned

STOPPER_KIND = Kind("stopper", None, Nature.STOPPER, (), "a knot in the rope that can't pass the parts on it")


def declare_knots(bench: Bench, line: RopeLine) -> list[Word | None]:
    """Declare a rope's knots and stoppers; their names, station by station."""
    names: list[Word | None] = []
    taken: Counter[str] = Counter()
    for station in line.stations:
        if not sleeve(bench, station):
            declare_links(bench, station.links)
        if station.role in ("tied", "joined", "closed"):
            knot = station.knot.text if station.knot else "knot"
            base = f"{line.name.text}-{knot}"
            kind = _knot_kind(bench, station, knot)
        elif station.role == "again":
            names.append(station.chain[0].name)
            continue
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
        known = bench.parts.get(name.text)
        if station.role == "joined" and station.to and known and known.rope == station.to.text:
            text = f"`{name.text}` joins `{station.to.text}` and `{line.name.text}` already (line {known.place.line})"
            bench.wrong(station.place, text, "such a knot is said once, on one of the two ropes: take this line out")
            names.append(None)
            continue
        names.append(name if add(bench, name, kind, rope=line.name.text) else None)
    return names


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
    broken = name in bench.broken
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
            "indent under it, in order, what it meets: `tied to …`, `through …`, `gripped by …`"
            if [one.role for one in line.stations] != ["joined"]
            else f"say where its other end is too; joined and free, it holds nothing: leave `{name}` out",
        )
        return None
    made = [met for station, knot in rows if (met := meet(bench, line, station, knot))]
    holder = _described(bench, line)
    around = [_around(bench, line, row.station, holder) for row in made]
    for attribute in line.loose:
        text = f"`{attribute.key}` speaks of the span before a station, and no station follows it"
        bench.wrong(attribute.place, text, "move this line above the station at the span's far end")
    if len(bench.mistakes) > before or len(made) < len(rows) or broken:
        return None
    if closed:
        last = made[-1]
        made.insert(0, Met(last.station, Role.TIE, last.part))
        around.insert(0, ((), ()))
    labels = labelled([row.part for row in made])
    stations: list[Station] = []
    for index, row in enumerate(made):
        to_start, to_end = grips(bench, line, made, labels, index)
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
        holder.fields.get("note"),
        holder.kind.name,
        holder.fields.get("source"),
        ("start_on_ground" in holder.fields, "end_on_ground" in holder.fields),
        holder.fields.get("spare_below"),
        "tag_line" in holder.fields,
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
            apply(bench, holder, given, by_kind=True)
    for attribute in line.attributes:
        if attribute.key != "alike":
            apply(bench, holder, attribute)
    return holder


def _around(
    bench: Bench, line: RopeLine, station: RopeStation, holder: Draft
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The hazards near the span before a station, and the sleeves round it."""
    hazards = [word.text for word in (*holder.named("near"), *station.near)]
    sleeves = []
    for word in (*holder.named("inside"), *station.inside):
        pad = bench.part(word, "sleeve", (Nature.PAD,), "sleeve")
        if pad and "sleeve" not in pad.family:
            text = f"{is_a(pad)}: no rope runs inside it"
            names = [f"`{one.name}`" for one in bench.parts.values() if "sleeve" in one.family]
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


def grips(bench: Bench, line: RopeLine, rows: list[Met], labels: Sequence[Label], index: int) -> tuple[bool, bool]:
    """At one station (towards the start, towards the end): against which way of leaving the rope is gripped."""
    row = rows[index]
    if row.role in (Role.TIE, Role.STOPPER):
        return True, True
    if row.role in (Role.RUN, Role.OVER):
        return False, False
    station = row.station
    told = station.load_from or station.tail_towards
    if told is None:
        part = bench.parts[row.part]
        if station.both_ways or (row.role is Role.GRIP and part.both_ways):
            return True, True
        return _tight_side(bench, line, rows, labels, index)
    side = _side(bench, line, told, rows, labels, index)
    if side is None:
        return False, False
    towards_end = side == "end" if station.load_from else side == "start"
    return not towards_end, towards_end


def _side(bench: Bench, line: RopeLine, told: Word, rows: list[Met], labels: Sequence[Label], index: int) -> str | None:
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
        if line.name.text in bench.broken:
            return None
        bench.misnamed(
            told,
            labels,
            f"the rope `{line.name.text}` has no station called `{told.text}`",
            did_you_mean(told.text, labels, f"its other stations are {', '.join(others)}; its ends `start` and `end`"),
            follows=False,
        )
        return None
    at = labels.index(told.text)
    if at == index:
        sides = [labels[i] for i in (index - 1, index + 1) if 0 <= i < len(labels)]
        text = f"`{told.text}` is this station itself: it lies on neither side"
        bench.wrong(told.place, text, "name a station to one side: " + " or ".join(f"`{one}`" for one in sides))
        return None
    return "start" if at < index else "end"


def _tied_to(row: Met, name: str) -> bool:
    """Is this a knot tied to a part of that name, or to what a chain joins to it?"""
    return row.role is Role.TIE and any(link.name and link.name.text == name for link in row.station.chain)


def _tight_side(
    bench: Bench, line: RopeLine, rows: list[Met], labels: Sequence[Label], index: int
) -> tuple[bool, bool]:
    """The loaded side where the rope itself tells it (`holding/rules.md` section 1)."""
    others = [None if _tied_to(row, rows[index].part) else row.role for row in rows]  # its own drum end pulls no side
    for roles in ((Role.TIE, Role.GRIP, Role.HAND), (Role.TIE,)):
        start = any(role in roles for role in others[:index])
        end = any(role in roles for role in others[index + 1 :])
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
