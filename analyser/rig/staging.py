"""The states of a rig: what each step of a stage changes, and the whole rig after it.

The rig as first attached is state 0. A step never edits a rig: it makes the next one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from copy import copy
from dataclasses import dataclass, field, replace

from analyser.language.identities import FailureId
from analyser.language.mistakes import Place, did_you_mean, with_article
from analyser.language.syntax import Link, StageBlock, StepLine, Word
from analyser.language.vocabulary import STEPS as VERBS
from analyser.rig.attributes import apply, one_figure
from analyser.rig.drafting import Bench, Draft
from analyser.rig.model import BODIES, Caution, Contact, Maker, Nature, Part, Quantity, Role, Rope, Station
from analyser.rig.needing import Needs, needs_of
from analyser.rig.quantities import measures, quantity
from analyser.rig.roping import declare_knots, labelled, make_rope, spanned
from analyser.rig.settling import settle
from analyser.rig.sharing import near_rope, share_part

Pair = tuple[str, str]


@dataclass
class Off:
    """What steps took out: each rope as it was, and each of its knots with the step that took it out."""

    ropes: dict[str, Rope] = field(default_factory=dict)
    knots: dict[str, StepLine] = field(default_factory=dict)


@dataclass
class Present:
    """One state while stages are read: what is there, what touches, how each device is left."""

    parts: dict[str, Draft]
    contacts: dict[Pair, Contact]
    ropes: dict[str, Rope]
    modes: dict[str, str] = field(default_factory=dict)
    """Devices that a step locked off, took in hand or opened: the step's verb."""
    standing: dict[str, bool] = field(default_factory=dict)
    """People whom a step put on the ground, or off it again."""
    landed: frozenset[str] = frozenset()
    """Litters and loads on the ground."""
    moved: dict[str, tuple[float, float, float]] = field(default_factory=dict)
    let_out: dict[str, float] = field(default_factory=dict)
    """Metres let out of a rope or a sling since the beginning; taken in counts less than nothing."""
    needs: Needs = field(default_factory=dict)
    """What each frame stands on."""
    off: Off = field(default_factory=Off)

    def after(self) -> Present:
        return Present(
            dict(self.parts),
            dict(self.contacts),
            dict(self.ropes),
            dict(self.modes),
            dict(self.standing),
            self.landed,
            dict(self.moved),
            dict(self.let_out),
            self.needs,
            Off(dict(self.off.ropes), dict(self.off.knots)),
        )


@dataclass
class StepMade:
    line: StepLine
    present: Present


@dataclass
class StageMade:
    block: StageBlock
    steps: list[StepMade]


def states(bench: Bench, ropes: list[Rope], needs: Needs) -> tuple[Present, list[StageMade]]:
    """The first state, and every stage with the state after each of its steps. `needs`: what each
    frame stands on first."""
    start = Present(dict(bench.parts), dict(bench.contacts), {rope.name: rope for rope in ropes}, needs=needs)
    first, rope_places = start, dict(bench.ropes)
    later = _brought_in(bench)
    made: list[StageMade] = []
    titles: dict[str, Place] = {}
    for block in bench.document.statements:
        if not isinstance(block, StageBlock):
            continue
        if block.title in titles:
            text = f'a second stage "{block.title}": the first is on line {titles[block.title].line}'
            bench.wrong(block.place, text, "give each stage a title of its own")
        titles.setdefault(block.title, block.place)
        if not block.steps and not any(m.place > block.place for m in bench.document.mistakes):
            text = f'the stage "{block.title}" has no steps'
            bench.wrong(block.place, text, "indent its steps under it: `attach …`, `detach …`, `lock off …`")
        steps = []
        for line in block.steps:
            start = _next(bench, start, later, line)
            steps.append(StepMade(line, start))
        made.append(StageMade(block, steps))
    bench.contacts = dict(first.contacts)
    bench.parts = {name: draft for one in (*_all(made), first) for name, draft in one.parts.items()}
    bench.ropes = {**bench.ropes, **rope_places}
    return first, made


def taken(bench: Bench, ropes: dict[str, Place], present: Present, line: StepLine) -> Present | None:
    """The state after a step, in whatever order; None where it cannot be taken there. Nothing that was read
    before is changed by trying; `ropes` are those laid before any step."""
    own = copy(bench)
    own.document = replace(bench.document, doubtful=set(bench.document.doubtful))
    own.parts = dict(present.parts)
    own.ropes = {**ropes, **{name: rope.place for name, rope in {**present.off.ropes, **present.ropes}.items()}}
    own.hazards = dict(bench.hazards)
    own.used, own.mistakes, own.cautions, own.pointless = set(), [], [], set()
    after = _next(own, present, _brought_in(own), line)
    return None if own.mistakes else after


def _next(bench: Bench, before: Present, later: dict[str, Place], line: StepLine) -> Present:
    after = before.after()
    _Stepping(bench, after, later, line).take()
    stood = before.needs, before.contacts
    after.needs = needs_of(bench, after.parts, after.ropes.values(), after.contacts, stood)
    return after


def _all(made: list[StageMade]) -> Iterator[Present]:
    return (step.present for stage in made for step in stage.steps)


def _brought_in(bench: Bench) -> dict[str, Place]:
    """Names that some step brings in, and where."""
    found: dict[str, Place] = {}
    for block in bench.document.statements:
        for line in block.steps if isinstance(block, StageBlock) else ():
            words = list(line.declaration.names) if line.declaration else []
            words += [link.name for link in line.chain if link.kind and link.name]
            if line.rope:
                words += [line.rope.name] if line.verb == "rope" else []
                words += [s.name for s in line.rope.stations if s.name]
                words += [li.name for s in line.rope.stations for li in s.chain if li.kind and li.name]
            for word in words:
                if word.text not in bench.parts and word.text not in bench.ropes:
                    found.setdefault(word.text, word.place)
    return found


class _Stepping:
    """One step, done to one state."""

    def __init__(self, bench: Bench, present: Present, later: dict[str, Place], line: StepLine) -> None:
        self.bench = bench
        self.present = present
        self.later = later
        self.off = present.off
        self.line = line

    def take(self) -> None:
        self.bench.contacts = self.present.contacts
        before = set(self.bench.parts)
        STEPS[self.line.verb](self)
        for name in self.bench.parts.keys() - before:
            self.present.parts[name] = self.bench.parts[name]

    # -- names

    def _early(self, word: Word) -> bool:
        """Is this the name of something that a later step brings in, or that an earlier one took out? Told."""
        if word.text in self.bench.parts or word.text in self.bench.ropes:
            return False
        if word.text in self.off.knots:
            taken = self.off.knots[word.text]
            text = f"the knot `{word.text}` went when `{taken.words}` took its rope off (line {taken.place.line})"
            self.bench.wrong(word.place, text, "name a knot that is there")
            return True
        place = self.later.get(word.text)
        if place is None:
            return False
        text = f"`{word.text}` is not there yet: it is brought in on line {place.line}"
        self.bench.wrong(word.place, text, "move this step below that one")
        return True

    def _part(self, word: Word, what: str = "part", natures: tuple[Nature, ...] = ()) -> Draft | None:
        return None if self._early(word) else self.bench.part(word, what, natures)

    def _rope(self, word: Word) -> Rope | None:
        if word.text in self.present.ropes:
            return self.present.ropes[word.text]
        if self._early(word) or self.bench.doubtful(word.text):
            return None
        if word.text in self.bench.ropes:
            self.bench.wrong(word.place, f"the rope `{word.text}` was taken out before", "take this step out")
        else:
            hint = did_you_mean(word.text, self.present.ropes)
            self.bench.wrong(word.place, f"there is no rope called `{word.text}`", hint)
        return None

    def _chain(self, chain: tuple[Link, ...]) -> None:
        if any(link.name and not link.kind and self._early(link.name) for link in chain):
            return
        self.bench.declare_links(chain)
        self.bench.chain(chain)

    # -- what is brought in

    def _declare(self) -> None:
        declaration = self.line.declaration
        assert declaration is not None
        verb = declaration.kind
        if verb.text not in self.bench.kinds:  # a misspelt verb reads like a declaration
            if not self.bench.doubtful(verb.text):
                steps = "a step begins with a verb (`attach`, `detach`) or a kind"
                hint = did_you_mean(verb.text, [*VERBS, *self.bench.kinds], steps)
                text = f"`{verb.text}` is not a step of a stage, nor a kind of part"
                self.bench.wrong(verb.place, text, hint)
            return
        for name in declaration.names:
            draft = self.bench.declare(declaration.kind, name, begins=True)
            for detail in declaration.details:
                if draft and (not detail.names or name.text in {word.text for word in detail.names}):
                    for attribute in detail.attributes:
                        apply(self.bench, draft, attribute)
            if draft:
                settle(self.bench, draft)
                share_part(self.bench, draft)

    def _attach(self) -> None:
        known = len(self.bench.mistakes)
        self._chain(self.line.chain)
        if len(self.line.chain) < 2 and len(self.bench.mistakes) == known:
            text = "a single link: it is attached to nothing"
            self.bench.wrong(self.line.chain[0].place, text, "write what it touches, after ` - `")

    def _rope_laid(self, *, again: bool) -> None:
        line = self.line.rope
        assert line is not None
        name = line.name
        on = self.present.ropes.get(name.text)
        before: Rope | None = None
        if again:
            before = on or self.off.ropes.get(name.text)
            if before is None and self._rope(name) is None:
                return
            if on:
                self._take_out(name.text)
        elif name.text in self.bench.ropes or name.text in self.bench.parts:
            first = self.bench.ropes.get(name.text) or self.bench.parts[name.text].place
            text = f"`{name.text}` is there already (line {first.line})"
            if name.text in self.off.ropes:
                text = f"the rope `{name.text}` (line {first.line}) was taken out before"
            hint = f"`rerig {name.text}` lays it anew"
            self.bench.wrong(name.place, text, hint if name.text in self.bench.ropes else "give it another name")
            return
        words = [link.name for s in line.stations for link in s.chain if link.name and not link.kind]
        if any(self._early(word) for word in words):
            return
        self.bench.ropes[name.text] = name.place
        near_rope(self.bench, line)
        rope = make_rope(self.bench, line, declare_knots(self.bench, line))
        if rope:
            self._in_devices(rope, on)
            self.off.ropes.pop(name.text, None)
            self.present.let_out.pop(name.text, None)
            rope = _same(rope, before) if before else rope
            self.present.ropes[name.text] = rope
            for station in rope.stations:
                self.present.parts[station.part] = self.bench.parts[station.part]

    def _in_devices(self, rope: Rope, before: Rope | None) -> None:
        """A device that a rope is laid in anew grips it as its own lines say: one that was opened, or
        that was locked off on another rope, is no more. What it was locked off on, it stays on."""
        kept = {s.part for s in before.stations} if before else set()
        for station in rope.stations:
            mode = self.present.modes.get(station.part)
            if station.role is Role.GRIP and (mode == "open" or station.part not in kept):
                self.present.modes.pop(station.part, None)

    def _rerig(self) -> None:
        self._rope_laid(again=True)

    def _rope_step(self) -> None:
        self._rope_laid(again=False)

    # -- what is taken out

    def _detach(self) -> None:
        for word in self.line.names:
            if word.text in self.present.ropes:
                text = f"`{word.text}` is a rope: it is taken out with `derig {word.text}`, or laid anew with `rerig`"
                self.bench.wrong(word.place, text, f"write `derig {word.text}`")
                continue
            one = self._part(word)
            if one is None:
                continue
            if not self.line.others:
                self._detach_all(word, one)
            for other in self.line.others:
                self._detach_from(word, one, other)

    def _own(self, draft: Draft) -> set[str]:
        return {draft.name} | {n for n, d in self.present.parts.items() if d.body == draft.name}

    def _between(self, mine: set[str], theirs: set[str]) -> list[Pair]:
        """The contacts that were made between two groups of parts."""
        return [
            pair
            for pair, contact in self.present.contacts.items()
            if contact.given
            and ((pair[0] in mine and pair[1] in theirs) or (pair[1] in mine and pair[0] in theirs))
            and not (set(pair) <= mine)
        ]

    def _detach_all(self, word: Word, draft: Draft) -> None:
        mine = self._own(draft)
        pairs = self._between(mine, set(self.present.parts) - mine)
        on_ropes = [name for name in self.present.ropes if self._off_rope(name, mine)]
        if not pairs and not on_ropes:
            self.bench.wrong(word.place, f"`{word.text}` is attached to nothing here", "take this step out")
        for pair in pairs:
            del self.present.contacts[pair]

    def _detach_from(self, word: Word, one: Draft, other: Word) -> None:
        if other.text in self.present.ropes:
            if not self._off_rope(other.text, self._own(one)):
                text = f"`{one.name}` is not on the rope `{other.text}` here"
                self.bench.wrong(word.place, text, self._attached_to(one))
            return
        two = self._part(other)
        if two is None:
            return
        pairs = self._between(self._own(one), self._own(two))
        if not pairs:
            text = f"`{one.name}` is not attached to `{two.name}` here"
            place = replace(word.place, end=other.place.end) if word.place.line == other.place.line else word.place
            self.bench.wrong(place, text, self._attached_to(one))
        for pair in pairs:
            del self.present.contacts[pair]

    def _attached_to(self, draft: Draft) -> str:
        mine = self._own(draft)
        pairs = self._between(mine, set(self.present.parts) - mine)
        names = sorted({name for pair in pairs for name in pair} - mine)
        names += [r.name for r in self.present.ropes.values() if any(s.part in mine for s in r.stations)]
        if not names:
            return "nothing is attached to it here"
        return f"here it is attached to {', '.join(names[:5])}"

    def _off_rope(self, name: str, mine: set[str]) -> bool:
        """Take parts off a rope that they grip or that runs through them: nor do they keep it clear of an
        edge any longer, they or what they are joined to."""
        rope = self.present.ropes[name]
        off = [k for k, s in enumerate(rope.stations) if s.part in mine and s.role in (Role.RUN, Role.GRIP, Role.HAND)]
        if not off:
            return False
        left = list(rope.stations)
        for k in reversed(off):
            left = without(left, k)
        unguarded = self._joined(mine) - self._joined({s.part for s in left if s.role in (Role.RUN, Role.GRIP)})
        left = [replace(s, guards=tuple(guard for guard in s.guards if guard not in unguarded)) for s in left]
        self.present.ropes[name] = relaid(rope, left)
        if not left:  # it lies on nothing any more
            self.off.ropes[name] = self.present.ropes.pop(name)
        return True

    def _joined(self, parts: set[str]) -> set[str]:
        """Parts, and the connectors and slings that they hang in one with the other."""
        found, stack = set(parts), list(parts)
        while stack:
            one = stack.pop()
            for pair in self.present.contacts:
                other = pair[1] if pair[0] == one else pair[0]
                if (
                    one in pair
                    and other not in found
                    and self.bench.parts[other].nature in (Nature.JOINT, Nature.PULLEY)
                ):
                    found.add(other)
                    stack.append(other)
        return found

    def _take_out(self, name: str) -> None:
        """A rope with its knots and stoppers, and what those touched."""
        rope = self.off.ropes[name] = self.present.ropes.pop(name)
        own = {s.part for s in rope.stations if s.role in (Role.TIE, Role.STOPPER)}
        for pair in [pair for pair in self.present.contacts if own & set(pair)]:
            del self.present.contacts[pair]
        for part in own:
            self.present.parts.pop(part, None)
            self.bench.parts.pop(part, None)
            self.off.knots[part] = self.line

    def _derig(self) -> None:
        if self._rope(self.line.names[0]):
            self._take_out(self.line.names[0].text)

    # -- devices

    def _device(self) -> Draft | None:
        word = self.line.names[0]
        draft = self._part(word, "device", (Nature.GRIP,))
        if draft and draft.nature is not Nature.GRIP:
            text = f"`{draft.name}` is {with_article(draft.kind.name)}: it grips no rope"
            self.bench.wrong(word.place, text, "name the device")
            return None
        return draft

    def _lock_off(self) -> None:
        if draft := self._device():
            self.present.modes[draft.name] = "lock off"

    def _take_in_hand(self) -> None:
        draft = self._device()
        if draft is None:
            return
        if draft.operated_by is None:
            text = f"`{draft.name}` is taken in hand, and nobody operates it: say who, `{draft.name}: operated by jo`. "
            text += "Until told, it grips as if locked off"
            self.bench.cautions.append(Caution("no-operator", (draft.name,), text, self.line.place))
        self.present.modes[draft.name] = "take in hand"

    def _open(self) -> None:
        if draft := self._device():
            self.present.modes[draft.name] = "open"

    def _slide(self) -> None:
        draft, past = self._device(), self.line.others[1]
        rope = self._rope(self.line.others[0])
        if draft is None or rope is None:
            return
        labels = [str(s.label) for s in rope.stations]
        at = next((k for k, s in enumerate(rope.stations) if s.part == draft.name), None)
        if at is None:
            text = f"`{draft.name}` is not on the rope `{rope.name}` here"
            self.bench.wrong(self.line.names[0].place, text, self._attached_to(draft))
        elif past.text not in labels or labels[at] == past.text:
            others = [label for label in labels if label != labels[at]]
            hint = did_you_mean(past.text, others, f"its other stations are {', '.join(others)}")
            self.bench.wrong(
                past.place, f"the rope `{rope.name}` has no station called `{past.text}` to slide past", hint
            )
        else:
            stations = without(list(rope.stations), at)
            beyond = labels.index(past.text)
            slid = replace(rope.stations[at], near=_along(rope, "near"), inside=_along(rope, "inside"), slack=None)
            if beyond < len(stations):  # it divides a span: what is said of that is said of both halves
                halved = stations[beyond]
                if beyond == 0:
                    stations[0] = replace(halved, near=_along(rope, "near"), inside=_along(rope, "inside"), slack=None)
                else:
                    slid = replace(slid, near=halved.near, inside=halved.inside)
            self.present.ropes[rope.name] = relaid(rope, [*stations[:beyond], slid, *stations[beyond:]])

    # -- lengths, places, the ground

    def _length(self, sign: float) -> None:
        word, measure = self.line.names[0], self.line.measure
        assert measure is not None
        if measures(measure) != "length":
            text = f"a length is taken in or paid out, and {measure.unit} measures {with_article(measures(measure))}"
            self.bench.wrong(measure.place, text, "for example `by 0.3 m`")
            return
        if not one_figure(self.bench, measure):
            return
        if word.text not in self.present.ropes:
            draft = self._part(word)
            if draft is None:
                return
            if draft.nature not in (Nature.JOINT, Nature.GRIP):
                text = f"`{draft.name}` is {with_article(draft.kind.name)}: it has no length to change"
                self.bench.wrong(word.place, text, "name a rope, a sling or a strap")
                return
        before = self.present.let_out.get(word.text, 0.0)
        self.present.let_out[word.text] = before + sign * quantity(measure).si

    def _take_in(self) -> None:
        self._length(-1.0)

    def _pay_out(self) -> None:
        self._length(1.0)

    def _move(self) -> None:
        draft = self._part(self.line.names[0])
        if draft:
            x, y, z = (float(number) for number in self.line.position)
            self.present.moved[draft.name] = (x, y, z)

    def _land(self, *, down: bool = True) -> None:
        word = self.line.names[0]
        draft = self._part(word, "body", BODIES)
        if draft is None:
            return
        if draft.nature not in BODIES:
            text = f"`{draft.name}` is {with_article(draft.kind.name)}: people, litters and loads are landed and lifted"
            self.bench.wrong(word.place, text, "name a body")
            return
        on = draft.name in self.present.landed or self._stands(draft)
        if on is down:
            state = "is on the ground already" if down else "is not on the ground here"
            self.bench.wrong(word.place, f"`{draft.name}` {state}", "take this step out")
            return
        for person in [draft.name, *self._lying_in(draft)]:
            if self.bench.parts[person].nature is Nature.PERSON:
                self.present.standing[person] = down
        if draft.nature is not Nature.PERSON:
            self.present.landed = self.present.landed | {draft.name} if down else self.present.landed - {draft.name}

    def _stands(self, draft: Draft) -> bool:
        return self.present.standing.get(draft.name, "standing" in draft.flags)

    def _lying_in(self, litter: Draft) -> list[str]:
        """Whoever is tied to a litter: a strap's length away from it."""
        if litter.nature is Nature.PERSON:
            return []
        own = self._own(litter)
        near = {name for pair in self._between(own, set(self.present.parts) - own) for name in pair} - own
        straps = {n for n in near if self.bench.parts[n].nature in (Nature.JOINT, Nature.KNOT)}
        further = {name for pair in self._between(straps, set(self.present.parts) - straps) for name in pair} | near
        owners = {self.bench.parts[name].body or name for name in further - own}
        return sorted(name for name in owners if self.bench.parts[name].nature is Nature.PERSON)

    def _lift(self) -> None:
        self._land(down=False)

    def _check(self) -> None:
        """A hold point changes nothing."""


STEPS: dict[str, Callable[[_Stepping], None]] = {
    "declare": _Stepping._declare,
    "attach": _Stepping._attach,
    "rope": _Stepping._rope_step,
    "rerig": _Stepping._rerig,
    "derig": _Stepping._derig,
    "detach": _Stepping._detach,
    "lock off": _Stepping._lock_off,
    "take in hand": _Stepping._take_in_hand,
    "open": _Stepping._open,
    "slide": _Stepping._slide,
    "take in": _Stepping._take_in,
    "pay out": _Stepping._pay_out,
    "move": _Stepping._move,
    "land": _Stepping._land,
    "lift": _Stepping._lift,
    "check": _Stepping._check,
    "say": _Stepping._check,
    "note": _Stepping._check,
}


def without(stations: list[Station], k: int) -> list[Station]:
    """Stations less one: what was said of the span before it is said of the longer span that is left."""
    gone, left = stations[k], [*stations[:k], *stations[k + 1 :]]
    if 0 < k < len(left):
        after = left[k]
        left[k] = replace(
            after,
            near=tuple(dict.fromkeys((*gone.near, *after.near))),
            inside=tuple(dict.fromkeys((*gone.inside, *after.inside))),
            slack=_together(gone.slack, after.slack),
        )
    return left


def _together(one: Quantity | None, two: Quantity | None) -> Quantity | None:
    if one is None or two is None:
        return one or two
    total = one.si + two.si
    band = (one.least + two.least, one.most + two.most) if one.band or two.band else None
    return Quantity(f"{total:.4g} m", total, "m", band=band)


def _along(rope: Rope, what: str) -> tuple[str, ...]:
    """The hazards or sleeves of every span of a rope: those of the rope itself."""
    rows: list[tuple[str, ...]] = [getattr(station, what) for station in rope.stations[1:]]
    return tuple(name for name in rows[0] if all(name in row for row in rows)) if rows else ()


def _same(rope: Rope, before: Rope) -> Rope:
    """A rope laid anew is the same rope: what was said of it holds, unless it is said anew."""
    quantities = {key: one for key, one in (*before.quantities, *rope.quantities) if key != "let out"}
    return replace(
        rope,
        quantities=tuple(quantities.items()),
        note=rope.note or before.note,
        kind=before.kind if rope.kind == "rope" else rope.kind,
        source=rope.source or before.source,
    )


def relaid(rope: Rope, stations: list[Station]) -> Rope:
    """A rope with other stations, its labels and spans told anew."""
    labels = labelled(station.part for station in stations)
    made = tuple(replace(station, label=label) for station, label in zip(stations, labels, strict=True))
    return replace(rope, stations=made, spans=spanned(rope.name, labels))


def parts_in(present: Present, frozen: dict[str, Part]) -> dict[str, Part]:
    """The parts of one state, as its steps left them. What stands on the ground touches ground that
    does not fail (`ground-under-basket`)."""
    parts: dict[str, Part] = {}
    for name, part in frozen.items():
        mode = present.modes.get(name)
        if mode:
            part = replace(part, self_locking=mode == "lock off")
        if name in present.standing:
            part = replace(part, standing=present.standing[name], exposed=part.exposed and not present.standing[name])
        if name in present.moved:
            part = replace(part, at=present.moved[name], off=(0.0, 0.0, 0.0))
        if name in present.let_out:
            metres = present.let_out[name]
            part = replace(part, quantities=(*part.quantities, ("let out", Quantity(f"{metres:.4g} m", metres, "m"))))
        parts[name] = part
    for name in sorted(present.landed):
        ground = ground_under(name, frozen)
        parts[ground] = Part(
            ground, "footing", Nature.GROUND, frozen[name].place, made_by=Maker.LANDING, family=("footing", "ground")
        )
    return parts


def contacts_in(present: Present) -> tuple[Contact, ...]:
    landed = [
        Contact(one, ground_under(name, present.parts), present.parts[name].place)
        for name in sorted(present.landed)
        for one, draft in present.parts.items()
        if one == name or draft.body == name
    ]
    return (*present.contacts.values(), *landed)


def ropes_in(present: Present) -> tuple[Rope, ...]:
    """The ropes of one state: an opened device grips none of them."""
    opened = {name for name, mode in present.modes.items() if mode == "open"}
    ropes = (_ungripped(rope, opened) for rope in present.ropes.values())
    return tuple(_let_out(rope, present.let_out[rope.name]) if rope.name in present.let_out else rope for rope in ropes)


def _let_out(rope: Rope, metres: float) -> Rope:
    return replace(rope, quantities=(*rope.quantities, ("let out", Quantity(f"{metres:.4g} m", metres, "m"))))


def _ungripped(rope: Rope, opened: set[str]) -> Rope:
    if not any(s.part in opened and s.role is Role.GRIP for s in rope.stations):
        return rope
    stations = tuple(
        replace(s, to_start=False, to_end=False) if s.part in opened and s.role is Role.GRIP else s
        for s in rope.stations
    )
    return replace(rope, stations=stations)


def undying(present: Present) -> Iterator[FailureId]:
    """The failures that don't exist: of the ground under what was landed."""
    return (FailureId(ground_under(name, present.parts), "fails") for name in present.landed)


def ground_under(body: str, parts: Iterable[str]) -> str:
    """The name of the ground under a body that was landed, which no part has."""
    name = f"ground-under-{body}"
    return f"{name}-landed" if name in parts else name
