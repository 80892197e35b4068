"""What a part is given: each attribute looked at, and kept where it can be meant.

Which attribute is for what sort of part, what its figures measure, and what was most likely meant where
one is out of place. A band (`80 to 110 kg`) is for figures that are known only so far.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from analyser.language.broken import kinds_of_standard
from analyser.language.mistakes import Place, did_you_mean, near, with_article
from analyser.language.syntax import Attribute, Measure
from analyser.language.vocabulary import ATTRIBUTES, FLAGS, SYNONYMS
from analyser.rig.model import BODIES, Nature, Quantity
from analyser.rig.quantities import GRAVITY, ends, measures, quantity
from analyser.rig.sizes import doubt

if TYPE_CHECKING:
    from analyser.rig.drafting import Bench, Draft

SHARING = (
    Nature.GROUND, Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.FRAME, Nature.PAD, Nature.STRUCTURE,
)  # fmt: skip
"""What can be part of something, and go with it."""
ONLY_FOR: dict[str, tuple[tuple[Nature, ...], str]] = {
    "standing": ((Nature.PERSON,), "a person"),
    "exposed": ((Nature.PERSON,), "a person"),
    "points": (BODIES, "a person, a litter or a load"),
    "ends": (BODIES, "a person, a litter or a load"),
    "below": ((Nature.GROUND, Nature.PERSON), "an anchor, a footing or a person"),
    "not_below": ((Nature.GROUND, Nature.PERSON), "an anchor, a footing or a person"),
    "self_locking": ((Nature.GRIP,), "a device that grips rope"),
    "both_ways": ((Nature.GRIP,), "a device that grips rope"),
    "operated_by": ((Nature.GRIP,), "a device that grips rope"),
    "minded_by": ((Nature.GRIP,), "a device that grips rope"),
    "worn_by": ((Nature.HARNESS,), "a harness"),
    "feet": ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)"),
    "guyed_by": ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)"),
    "needs": ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)"),
    "guarded_by": ((Nature.EDGE,), "an edge"),
    "locking": ((Nature.JOINT,), "a connector"),
    "not_locking": ((Nature.JOINT,), "a connector"),
    "gate_open": ((Nature.JOINT,), "a connector"),
    "minor_axis": ((Nature.JOINT,), "a connector"),
    "room": ((Nature.JOINT, Nature.PULLEY), "a connector, a ring, a pulley"),
    "across": ((Nature.JOINT, Nature.PULLEY, Nature.GRIP), "a connector, a device or a pulley"),
    "adjustable": ((Nature.JOINT,), "a lanyard or a strap"),
    "textile": ((Nature.JOINT,), "a sling, a strap or the like"),
    "gear_only": ((Nature.JOINT, Nature.POINT, Nature.HARNESS), "a ring, a loop or a point of a body"),
    "takes": ((Nature.GRIP, Nature.PULLEY), "what a rope passes"),
    "slips_at": ((Nature.GRIP, Nature.JOINT), "a device, a hitch or an absorber"),
    "slips_up_to": ((Nature.GRIP, Nature.JOINT), "a device, a hitch or an absorber"),
    "loss": ((Nature.ROPE, Nature.JOINT), "a rope, a sling or the like"),
    "directions": ((Nature.GROUND,), "an anchor"),
    "part_of": (SHARING, "an anchor, a frame or hardware"),
    "near": ((*SHARING, Nature.ROPE), "a rope, an anchor, a frame or hardware"),
    "inside": ((Nature.ROPE,), "a rope"),
    "alike": ((Nature.ROPE,), "a rope"),
    "drop_height": ((Nature.ROPE,), "a rope"),
    "start_on_ground": ((Nature.ROPE,), "a rope"),
    "end_on_ground": ((Nature.ROPE,), "a rope"),
}
SPELT = {
    "not_below": "not below",
    "self_locking": "self-locking",
    "both_ways": "both ways",
    "operated_by": "operated by",
    "minded_by": "minded by",
    "worn_by": "worn by",
    "guyed_by": "guyed by",
    "guarded_by": "padded by",
    "not_locking": "not locking",
    "gate_open": "gate open",
    "minor_axis": "minor axis",
    "gear_only": "gear only",
    "room": "room for",
    "part_of": "part of",
    "alike": "like",
    "drop_height": "drop",
    "slips_at": "slips at",
    "slips_up_to": "slips up to",
    "start_on_ground": "start on ground",
    "end_on_ground": "end on ground",
}
LISTS = (
    "points", "ends", "operated_by", "minded_by", "worn_by", "guarded_by", "feet", "guyed_by", "needs",
    "part_of", "near", "inside", "across", "alike",
)  # fmt: skip
"""Attributes that name things; the others stand alone or with a number."""
MEASURED = {
    "strength": "force", "length": "length", "width": "length",
    "minor_axis": "force", "gate_open": "force", "drop_height": "length",
    "slips_at": "force", "slips_up_to": "length",
}  # fmt: skip
KEPT_AS = {
    "minor_axis": "minor axis", "gate_open": "gate open", "drop_height": "drop",
    "slips_at": "slips at", "slips_up_to": "slips up to",
}  # fmt: skip
"""Under which name a quantity is kept, where it is not its attribute's."""
SPREADS = ("mass", "length", "width", "strength", "slips_at")
"""Figures that may be a band, beside a rope's slack and stretch, and places."""
BARE = {"mass": "mass", "length": "length", "force": "strength"}
"""What a bare measure is: `85 kg` a mass, `60 m` a length; `11 mm` a diameter (see `_measured`)."""


def apply(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    key = attribute.key
    natures, whose = ONLY_FOR.get(key, ((), ""))
    words = list(attribute.words)
    if natures and draft.nature not in natures:
        bench.wrong(
            attribute.place.piece(0, len(SPELT.get(key, key))),
            f"`{SPELT.get(key, key)}` is for {whose}, not for {with_article(draft.kind.name)}",
            _rather(bench, draft, attribute),
        )
        bench.document.doubtful |= {word.text for word in words}
        return
    if key not in LISTS and words:
        _not_an_attribute(bench, draft, attribute)
    match key:
        case "measured" | "strength" | "length" | "width" | "stretch" | "friction" | "efficiency" | "likelihood":
            _measured(bench, draft, attribute)
        case "minor_axis" | "gate_open" | "drop_height" | "slips_at" | "slips_up_to" | "loss":
            _measured(bench, draft, attribute)
        case "locking" | "not_locking":
            draft.locking = key == "locking"
        case "part_of" | "near" | "inside" | "across":
            _swallowed(bench, attribute)
            getattr(draft, key).extend(words)
        case "room":
            _room(bench, draft, attribute)
        case "takes":
            _takes(bench, draft, attribute)
        case "directions":
            _directions(bench, draft, attribute)
        case "source":
            draft.source = attribute.text
        case "at":
            _at(bench, draft, attribute)
        case "points":
            draft.points += words
        case "ends":
            draft.ends = (words, list(attribute.far))
            if not attribute.far:
                bench.wrong(attribute.place, "`ends` names two ends", "write `ends a, b | c, d`")
        case "operated_by" | "minded_by" | "worn_by":
            if len(words) > 1:
                other = SYNONYMS.get(words[1].text.lower(), "")
                hint = f"did you mean `{other}`?" if other in ATTRIBUTES else ""
                hint = hint or did_you_mean(words[1].text, ATTRIBUTES) or f"take `{words[1].text}` out"
                bench.wrong(words[1].place, f"`{SPELT[key]}` names one person", hint)
            setattr(draft, key, words[0])
        case "guarded_by":
            draft.guards += words
        case "feet" | "guyed_by" | "needs":
            written = attribute.numbers[0] if attribute.numbers else ""
            count = int(written) if written.isdecimal() and len(written) < 6 else None
            if written and count is None:
                text = f"{written} is not a number of things to count"
                bench.wrong(attribute.place, text, "write a whole number, 1 or more")
            elif count is not None and not 1 <= count <= len(words):
                bench.wrong(
                    attribute.place,
                    f"{written} of {len(words)} cannot be",
                    f"write a number from 1 to {len(words)}, or name more",
                )
            names = ", ".join(word.text for word in words)
            spelt = SPELT.get(key, key)
            draft.needs.append((count, words, f"{spelt} {f'{count} of ' if count else ''}{names}"))
        case "below":
            draft.below = True
        case "not_below":
            draft.below = False
        case "called":
            draft.note = attribute.text
        case _:
            draft.flags.add(key)


def _rather(bench: Bench, draft: Draft, attribute: Attribute) -> str:
    """What an attribute on the wrong sort of part was most likely meant to say."""
    key, nature = attribute.key, draft.nature
    if key == "self_locking" and nature is Nature.JOINT:
        return "a gate that locks is `locking`"
    if key == "locking" and nature is Nature.GRIP:
        return "a device that grips by itself is `self-locking`"
    if key == "across" and nature is Nature.ROPE and attribute.words:
        return f"a rope passes an edge at a station: `over {attribute.words[0].text}`"
    if key == "alike" and attribute.words:
        return f"a part's kind comes first: `{attribute.words[0].text} {draft.name}`"
    if key in ("locking", "textile", "adjustable") and draft.points:
        return f"if it is a point, name it first: `points {key}, {draft.points[0].text}`"
    if key in ("part_of", "near") and nature is Nature.PERSON:
        return "give it to what holds the person, or take it out"
    return "take it out, or give it to the part it belongs to"


def _swallowed(bench: Bench, attribute: Attribute) -> None:
    """`part of block, locked`: the list of names took a word that was meant as an attribute."""
    for word in attribute.words[1:]:
        told = SYNONYMS.get(word.text.lower(), "")
        told = told if told in (*FLAGS, "not locking") else next(iter(near(word.text, FLAGS, 1)), "")
        if told and word.text not in bench.names:
            bench.wrong(word.place, f"`{word.text}` is not an attribute", f"did you mean `{told}`?")


def _at(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    """A place; a coordinate that is a band counts as its middle, and how far it may be off is kept."""
    middle, off = [], []
    for number, upper in zip(attribute.numbers, attribute.upper, strict=True):
        if not in_order(bench, number, upper, attribute.place):
            return
        low, high = float(number), float(number if upper is None else upper)
        middle.append((low + high) / 2)
        off.append((high - low) / 2)
    x, y, z = middle
    dx, dy, dz = off
    draft.at, draft.off = (x, y, z), (dx, dy, dz)


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


def _room(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    written = attribute.numbers[0]
    if written.isdecimal() and 1 <= int(written) < 100:
        draft.room = int(written)
    else:
        text = f"{written} is not a number of parts"
        bench.wrong(attribute.place, text, "write a whole number, 1 or more: `room for 3`")


def _takes(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    """`takes 10 to 11.5 mm`: the thinnest and the thickest rope."""
    measure = attribute.measure
    assert measure is not None
    low, high = (Measure(number, measure.unit, measure.place) for number in attribute.numbers)
    if measures(measure) != "length":
        text = f"`takes` tells rope diameters, and {measure.unit} measures {with_article(measures(measure))}"
        bench.wrong(measure.place, text, "for example `takes 10 to 11.5 mm`")
    elif not 0 <= float(low.number) <= float(high.number):
        text = f"from {low.number} to {high.number} there is nothing: the thinnest rope comes first"
        bench.wrong(attribute.place, text, f"write `takes {high.number} to {low.number} {measure.unit}`")
    else:
        draft.takes = (quantity(low), quantity(high))


def _directions(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    """`directions down within 30 deg`: unit vectors, and how far from them a pull may be."""
    measure = attribute.measure
    assert measure is not None
    if measures(measure) != "angle":
        text = f"`within` takes an angle, and {measure.unit} measures {with_article(measures(measure))}"
        bench.wrong(measure.place, text, "for example `directions down within 30 deg`")
        return
    numbers = [float(number) for number in attribute.numbers]
    rows = list(zip(numbers[::3], numbers[1::3], numbers[2::3], strict=True))
    lengths = [sum(x * x for x in row) ** 0.5 for row in rows]
    if not all(lengths):
        bench.wrong(attribute.place, "(0, 0, 0) is no direction", "write where the pull goes: `(0, 0, -1)` is down")
        return
    draft.directions = tuple((x / n, y / n, z / n) for (x, y, z), n in zip(rows, lengths, strict=True))
    if one_figure(bench, measure):
        draft.within = quantity(measure).si


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
    bench.document.doubtful |= {f"{draft.name}.{word.text}" for word in names}


def likely(bench: Bench, number: str, place: Place) -> bool:
    """Is this a probability, from 0 to 1?"""
    if 0 <= float(number) <= 1:
        return True
    bench.wrong(place, f"{number} is not a likelihood", "write a probability from 0 to 1, for example `1e-4`")
    return False


def _measured(bench: Bench, draft: Draft, attribute: Attribute) -> None:
    key, measure = attribute.key, attribute.measure
    written = measure.number if measure else attribute.numbers[0]
    place = measure.place if measure else attribute.place
    unit = f" {measure.unit}" if measure else ""
    if float(written) < 0:
        bench.wrong(place, f"{written} is less than nothing", f"write `{written.lstrip('-')}{unit}`")
        return
    if measure and not in_order(bench, written, measure.upper, place, measure.unit):
        return
    if key in ("friction", "efficiency", "likelihood"):
        number = attribute.numbers[0]
        if key == "likelihood" and not likely(bench, number, attribute.place):
            return
        _kept(bench, draft, key, Quantity(number, float(number), ""), attribute.place)
        return
    if key == "loss":
        number = attribute.numbers[0]
        _kept(bench, draft, key, Quantity(f"{number} %", float(number) / 100, "%"), attribute.place)
        return
    assert measure is not None
    found, what = quantity(measure), measures(measure)
    if key == "stretch":
        number = attribute.numbers[0]
        if what not in ("mass", "force"):
            text = f"a stretch is given at a mass or a force, and {measure.unit} measures {with_article(what)}"
            bench.wrong(measure.place, text, "for example `stretch 3 % at 150 kg`")
        if one_figure(bench, measure) and in_order(bench, number, attribute.upper[0], attribute.place, "%"):
            share = quantity(Measure(number, "%", attribute.place, attribute.upper[0]))
            _kept(bench, draft, key, replace(share, percent_at=found), attribute.place)
        return
    if key == "measured":
        key = "diameter" if measure.unit in ("mm", "in") else BARE.get(what, "")
        if not key:
            hint = "alone stand a mass `85 kg`, a length `60 m`, a diameter `11 mm` and a strength `22 kN`"
            bench.wrong(attribute.place, f"`{found.text}` alone says nothing of a part", hint)
            return
    elif MEASURED[key] != what:
        spelt = SPELT.get(key, key)
        usual = {"minor_axis": "7 kN", "gate_open": "7 kN", "drop_height": "45 m", "strength": "22 kN"}
        usual["slips_at"] = "9 kN"
        hint = f"for example `{spelt} {usual.get(key, '1.2 m')}`"
        if MEASURED[key] == "force" and what == "mass":
            hint = f"`{spelt} {found.si * GRAVITY / 1000:.3g} kN`, if the mark means the weight of {found.text}"
        wanted = with_article(MEASURED[key])
        text = f"`{spelt}` takes {wanted}, and {measure.unit} measures {with_article(what)}"
        bench.wrong(measure.place, text, hint)
        return
    if key in SPREADS or one_figure(bench, measure):
        _kept(bench, draft, KEPT_AS.get(key, key), found, measure.place)


def _kept(bench: Bench, draft: Draft, key: str, given: Quantity, place: Place) -> None:
    """Keep a figure, unless no rig can have it."""
    for end in ends(given):
        if doubted := doubt(draft.nature, key, end):
            bench.wrong(place, *doubted)
            return
    draft.quantities[key] = given
