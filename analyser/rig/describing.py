"""What a part is given: each attribute looked at, and kept where it can be meant.

Which attribute is for what sort of part and what its figures measure stands in its row
(`language/attributes.py`); here is how each shape of attribute is read, and what was most likely meant
where one is out of place. A band (`80 to 110 kg`) is for figures that are known only so far.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from analyser.language.attributes import ATTRIBUTES, BY_KEY, FLAGS, Row, Shape
from analyser.language.broken import kinds_of_standard
from analyser.language.mistakes import Place, did_you_mean, near, with_article
from analyser.language.syntax import Attribute, Measure, Word
from analyser.language.vocabulary import SYNONYMS
from analyser.rig.bench import Bench, Draft, Stand
from analyser.rig.catalogue import family
from analyser.rig.elements import BODIES, Nature, Quantity
from analyser.rig.figures import FACTORS, as_force, units
from analyser.rig.model import Caution
from analyser.rig.quantities import GRAVITY, ends, measures, quantity
from analyser.rig.sizes import doubt

BARE = {"mass": "mass", "length": "length", "force": "strength"}
"""What a bare measure is: `85 kg` a mass, `60 m` a length; `11 mm` a diameter (see `kept_as`)."""
ADDED = (Shape.NAMES, Shape.GROUP)
"""What may be said several times: each adds to what was said."""


def apply(bench: Bench, draft: Draft, attribute: Attribute, *, by_kind: bool = False) -> None:
    """Keep what an attribute says of a part; what is wrong with it is told. What its kind says is only what is so
    where nothing else is said of the part itself."""
    row = BY_KEY[attribute.key]
    kinds = family(draft.kind, bench.kinds) if draft.nature is Nature.JOINT and (row.joint or row.never) else ()
    bars = bool(kinds) and ((row.joint and row.joint not in kinds) or not {*row.never}.isdisjoint(kinds))
    if bars or (row.natures and draft.nature not in row.natures):
        bench.wrong(
            attribute.place.piece(0, len(row.word)),
            f"`{row.word}` is for {row.whose}, not for {with_article(draft.kind.name)}",
            _rather(draft, attribute),
        )
        bench.doubt(*(word.text for word in attribute.words))
        return
    if not row.shape.lists and attribute.words:
        _not_an_attribute(bench, draft, attribute)
    if not by_kind and row.shape not in ADDED:
        _once(bench, draft, row, attribute)
    KEEPING[row.shape](bench, draft, row, attribute)


def kept_as(attribute: Attribute) -> str:
    """In what an attribute is kept: of a bare measure the figure that it is, empty where it is none."""
    if attribute.key == "measured" and attribute.measure:
        return "diameter" if attribute.measure.unit in ("mm", "in") else BARE.get(measures(attribute.measure), "")
    return BY_KEY[attribute.key].kept


def _once(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    """Is it said once? Where two lines say it otherwise, nobody can tell which counts: told at the second."""
    kept = kept_as(attribute)
    before = draft.said.setdefault(kept, attribute)
    if _alike(before, attribute):
        return
    first, second = before.place, attribute.place
    if first.file == second.file:
        first, second = sorted((first, second))
    if any(one.place == second for one in bench.mistakes):
        return
    where = f"line {first.line}" + ("" if first.file == second.file else f" of {first.file}")
    if row.shape is Shape.FLAG:
        bench.wrong(second, f"the opposite is said of `{draft.name}` on {where}", "take one of them out")
        return
    what = kept.replace("_", " ") if row.key == "measured" else row.word
    hint = "leave the one that is so" + ("; what lies between two figures is a band: `12 to 15 kN`" if row.band else "")
    bench.wrong(second, f"`{what}` of `{draft.name}` is told twice, and otherwise on {where}", hint)


def _alike(one: Attribute, other: Attribute) -> bool:
    """Do two attributes say the same?"""

    def said(it: Attribute) -> tuple[object, ...]:
        words = tuple(word.text for word in (*it.words, *it.far))
        return BY_KEY[it.key].value, words, len(it.far), it.measure and it.measure.text, it.numbers, it.upper, it.text

    return said(one) == said(other)


def _rather(draft: Draft, attribute: Attribute) -> str:
    """What an attribute on the wrong sort of part was most likely meant to say."""
    key, nature, points = attribute.key, draft.nature, draft.named("points")
    if key == "self_locking" and nature is Nature.JOINT:
        return "a gate that locks is `locking`"
    if key == "locking" and nature is Nature.GRIP:
        return "a device that grips by itself is `self-locking`"
    if key in ("choked_round", "basket_round") and nature in (Nature.JOINT, Nature.PULLEY) and attribute.words:
        return f"what is clipped or hung there is attached: `attach {attribute.words[0].text} - {draft.name}`"
    if key == "across" and nature is Nature.ROPE and attribute.words:
        return f"a rope passes an edge at a station: `over {attribute.words[0].text}`"
    if key == "alike" and attribute.words:
        return f"a part's kind comes first: `{attribute.words[0].text} {draft.name}`"
    if key in ("locking", "textile", "adjustable") and points:
        return f"if it is a point, name it first: `points {key}, {points[0].text}`"
    if key in ("part_of", "near") and nature is Nature.PERSON:
        return "give it to what holds the person, or take it out"
    return "take it out, or give it to the part it belongs to"


def _not_an_attribute(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    """A bare word after an attribute that takes no list: `80 kg, waist`."""
    names = [*attribute.words, *attribute.far]
    first = names[0]
    told = SYNONYMS.get(first.text.lower(), "")
    hint = f"did you mean `{told}`?" if told in ATTRIBUTES else did_you_mean(first.text, ATTRIBUTES)
    own = bench.kinds.get(first.text)
    ropes = (first.text,) if own and own.nature is Nature.ROPE else kinds_of_standard(first.text, bench.kinds)
    if draft.nature is Nature.ROPE and ropes:
        hint = "write " + " or ".join(f"`like {one}`" for one in ropes)
    if not hint and draft.nature in BODIES:
        hint = f"if these are points, write `points {', '.join(word.text for word in names)}`"
    elif not hint:
        hint = "for example `strength 22 kN`, `length 1.2 m`"
    bench.wrong(first.place, f"`{first.text}` is not an attribute", hint)
    bench.doubt(*(f"{draft.name}.{word.text}" for word in names))


# -- names


def _flag(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    draft.fields[row.kept] = row.value


def _text(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    draft.fields[row.kept] = attribute.text


def _names(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    if row.key in ("part_of", "near", "inside", "across", "below_for"):
        _swallowed(bench, attribute)
    draft.words.setdefault(row.kept, []).extend(attribute.words)


def _swallowed(bench: Bench, attribute: Attribute) -> None:
    """`part of block, locked`: the list of names took a word that was meant as an attribute."""
    for word in attribute.words[1:]:
        told = SYNONYMS.get(word.text.lower(), "")
        told = told if told in (*FLAGS, "not locking") else next(iter(near(word.text, FLAGS, 1)), "")
        if told and word.text not in bench.names:
            bench.wrong(word.place, f"`{word.text}` is not an attribute", f"did you mean `{told}`?")


def _name(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    first, *more = attribute.words
    if more:
        other = SYNONYMS.get(more[0].text.lower(), "")
        hint = f"did you mean `{other}`?" if other in ATTRIBUTES else ""
        guess = "" if more[0].text in bench.names else did_you_mean(more[0].text, ATTRIBUTES)
        hint = hint or guess or f"take `{more[0].text}` out"
        one = "person" if row.key in ("worn_by", "operated_by", "minded_by") else "thing"
        bench.wrong(more[0].place, f"`{row.word}` names one {one}", hint)
    draft.words[row.kept] = [first]


def _pair(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    draft.pairs[row.kept] = (list(attribute.words), list(attribute.far))
    if not attribute.far:
        bench.wrong(attribute.place, f"`{row.word}` names two {row.word}", f"write `{row.word} a, b | c, d`")


def _group(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    words = attribute.words
    if row.key == "in_line":
        _row_of(bench, attribute)
    written = attribute.numbers[0] if attribute.numbers else ""
    count = int(written) if written.isdecimal() and len(written) < 6 else None
    if written and count is None:
        text = f"{written} is not a number of things to count"
        bench.wrong(attribute.place, text, "write a whole number, 1 or more")
    elif count is not None and not 1 <= count <= len(words):
        hint = f"write a number from 1 to {len(words)}, or name more"
        bench.wrong(attribute.place, f"{written} of {len(words)} cannot be", hint)
    names = ", ".join(word.text for word in words)
    spelt = f"{row.word} {f'{count} of ' if count else ''}{names}"
    draft.stands.append(Stand(count, words, spelt, row.key in ("needs", "in_line"), row.key == "in_line"))


def _row_of(bench: Bench, attribute: Attribute) -> None:
    """A line has two or more, each once."""
    first, *more = attribute.words
    if attribute.far:
        names = ", ".join(word.text for word in (*attribute.words, *attribute.far))
        bench.wrong(attribute.place, "a line is one list", f"write `in line {names}`, the one that is pulled on first")
    elif not more:
        text = "a line has two or more, the one that is pulled on first"
        bench.wrong(attribute.place, text, f"name the next behind it, or write `needs {first.text}`")
    names_before: set[str] = set()
    for word in attribute.words:
        if word.text in names_before:
            bench.wrong(word.place, f"`{word.text}` is in this line already", "name each once")
        names_before.add(word.text)


# -- figures


def in_order(bench: Bench, number: str, upper: str | None, place: Place, unit: str = "") -> bool:
    """Is a band written with its smaller end first? One figure always is."""
    if upper is None or float(number) < float(upper):
        return True
    unit = f" {unit}" if unit else ""
    if float(number) == float(upper):
        bench.wrong(place, f"from {number} to {upper} is one figure", f"write `{number}{unit}`")
    else:
        text = f"from {number} to {upper} there is nothing: the smaller end comes first"
        bench.wrong(place, text, f"write `{upper} to {number}{unit}`")
    return False


def one_figure(bench: Bench, measure: Measure) -> bool:
    """Is this one figure? A band is told to be out of place."""
    if measure.upper is None:
        return True
    text = f"`{measure.text}` is a band, and here one figure is asked"
    bench.wrong(measure.place, text, f"write `{measure.number} {measure.unit}` or `{measure.upper} {measure.unit}`")
    return False


def likely(bench: Bench, number: str, place: Place) -> bool:
    """Is this a probability, from 0 to 1?"""
    if 0 <= float(number) <= 1:
        return True
    bench.wrong(place, f"{number} is not a likelihood", "write a probability from 0 to 1, for example `1e-4`")
    return False


def _not_negative(bench: Bench, written: str, place: Place, unit: str = "") -> bool:
    if float(written) >= 0:
        return True
    bench.wrong(place, f"{written} is less than nothing", f"write `{written.lstrip('-')}{unit}`")
    return False


def _number(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    number = attribute.numbers[0]
    if _not_negative(bench, number, attribute.place):
        if row.key == "likelihood" and not likely(bench, number, attribute.place):
            return
        _kept(bench, draft, row.kept, Quantity(number, float(number), ""), attribute.place)


def _share(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    number = attribute.numbers[0]
    if _not_negative(bench, number, attribute.place, " %"):
        _kept(bench, draft, row.kept, Quantity(f"{number} %", float(number) / 100, "%"), attribute.place)


def _stretch(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    measure = attribute.measure
    assert measure is not None
    if not _sound(bench, measure):
        return
    number, what = attribute.numbers[0], measures(measure)
    if float(number) < 0:
        hint = f"write `{row.word} {number.lstrip('-')} % at {measure.number} {measure.unit}`"
        bench.wrong(attribute.place, f"a stretch of {number} % is less than nothing", hint)
        return
    if what not in ("mass", "force"):
        text = f"a stretch is given at a mass or a force, and {measure.unit} measures {with_article(what)}"
        bench.wrong(measure.place, text, f"for example `{row.example}`")
    if one_figure(bench, measure) and in_order(bench, number, attribute.upper[0], attribute.place, "%"):
        share = quantity(Measure(number, "%", attribute.place, attribute.upper[0]))
        _kept(bench, draft, row.kept, replace(share, percent_at=quantity(measure)), attribute.place)


def _sound(bench: Bench, measure: Measure) -> bool:
    """Is it no less than nothing, and its smaller end first?"""
    number, place = measure.number, measure.place
    sound = _not_negative(bench, number, place, f" {measure.unit}")
    return sound and in_order(bench, number, measure.upper, place, measure.unit)


def _figure(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    measure = attribute.measure
    assert measure is not None
    if not _sound(bench, measure):
        return
    found, what = quantity(measure), measures(measure)
    key, band = row.kept, row.band
    if not row.word:
        key = kept_as(attribute)
        band = key != "diameter"
        if not key:
            hint = "alone stand a mass `85 kg`, a length `60 m`, a diameter `11 mm` and a strength `22 kN`"
            bench.wrong(attribute.place, f"`{found.text}` alone says nothing of a part", hint)
            return
    elif row.measures != what:
        hint = f"for example `{row.word} {'1.2 m' if row.key == 'width' else row.usual}`"
        if row.measures == "force" and what == "mass":
            hint = f"`{row.word} {as_force(found.si * GRAVITY, '.3g')}`, if the mark means the weight of {found.text}"
        wanted = with_article(row.measures)
        text = f"`{row.word}` takes {wanted}, and {measure.unit} measures {with_article(what)}"
        bench.wrong(measure.place, text, hint)
        return
    if band or one_figure(bench, measure):
        _kept(bench, draft, key, found, measure.place)


def _kept(bench: Bench, draft: Draft, key: str, given: Quantity, place: Place) -> None:
    """Keep a figure, unless no rig can have it."""
    for end in ends(given):
        if doubted := doubt(draft.nature, key, end):
            bench.wrong(place, *doubted)
            return
    draft.quantities[key] = given


def _at(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    """A place; a coordinate that is a band counts as its middle, and how far it may be off is kept."""
    middle, off = [], []
    metres = place_unit(bench, draft.name, attribute.unit, attribute.place)
    for number, upper in zip(attribute.numbers, attribute.upper, strict=True):
        if not in_order(bench, number, upper, attribute.place):
            return
        low, high = float(number), float(number if upper is None else upper)
        middle.append((low + high) / 2 * metres)
        off.append((high - low) / 2 * metres)
    draft.fields |= {"at": tuple(middle), "off": tuple(off)}


def place_unit(bench: Bench, name: str, unit: Word | None, place: Place) -> float:
    """How many metres the unit behind a place's brackets is; without one they are metres, which is worth a word
    where the file prints lengths in another."""
    what, metres = FACTORS[unit.text] if unit else FACTORS["m"]
    if unit and what != "length":
        bench.wrong(unit.place, f"`{unit.text}` is no unit of a place", "write `m` or `ft`, or nothing: metres")
    elif not unit and units().length != "m":
        text = f"the place of `{name}` has no unit and is read in metres: write `m` or `{units().length}` behind it"
        bench.cautions.append(Caution("place-without-unit", (name,), text, place))
    return metres if what == "length" else 1.0


def _room(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    written = attribute.numbers[0]
    if written.isdecimal() and 1 <= int(written) < 100:
        draft.fields[row.kept] = int(written)
    else:
        text = f"{written} is not a number of parts"
        bench.wrong(attribute.place, text, f"write a whole number, 1 or more: `{row.example}`")


def _takes(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    """`takes 10 to 11.5 mm`: the thinnest and the thickest rope."""
    measure = attribute.measure
    assert measure is not None
    low, high = (Measure(number, measure.unit, measure.place) for number in attribute.numbers)
    if measures(measure) != "length":
        text = f"`takes` tells rope diameters, and {measure.unit} measures {with_article(measures(measure))}"
        bench.wrong(measure.place, text, f"for example `{row.example}`")
    elif not 0 <= float(low.number) <= float(high.number):
        text = f"from {low.number} to {high.number} there is nothing: the thinnest rope comes first"
        bench.wrong(attribute.place, text, f"write `takes {high.number} to {low.number} {measure.unit}`")
    else:
        draft.fields[row.kept] = (quantity(low), quantity(high))


def _directions(bench: Bench, draft: Draft, row: Row, attribute: Attribute) -> None:
    """`directions down within 30 deg`: unit vectors, and how far from them a pull may be."""
    measure = attribute.measure
    assert measure is not None
    if measures(measure) != "angle":
        text = f"`within` takes an angle, and {measure.unit} measures {with_article(measures(measure))}"
        bench.wrong(measure.place, text, f"for example `{row.example}`")
        return
    numbers = [float(number) for number in attribute.numbers]
    rows = list(zip(numbers[::3], numbers[1::3], numbers[2::3], strict=True))
    lengths = [sum(x * x for x in row) ** 0.5 for row in rows]
    if not all(lengths):
        bench.wrong(attribute.place, "(0, 0, 0) is no direction", "write where the pull goes: `(0, 0, -1)` is down")
        return
    draft.fields["directions"] = tuple((x / n, y / n, z / n) for (x, y, z), n in zip(rows, lengths, strict=True))
    if one_figure(bench, measure):
        draft.fields["within"] = quantity(measure).si


KEEPING: dict[Shape, Callable[[Bench, Draft, Row, Attribute], None]] = {
    Shape.FLAG: _flag,
    Shape.NAMES: _names,
    Shape.NAME: _name,
    Shape.GROUP: _group,
    Shape.PAIR: _pair,
    Shape.FIGURE: _figure,
    Shape.NUMBER: _number,
    Shape.SHARE: _share,
    Shape.STRETCH: _stretch,
    Shape.COUNT: _room,
    Shape.RANGE: _takes,
    Shape.PLACE: _at,
    Shape.DIRECTIONS: _directions,
    Shape.TEXT: _text,
}
"""How each shape of attribute is read."""
