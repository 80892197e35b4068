"""One step of a stage, done to one state: the state after it, or what is wrong with the step.

The rig as first attached is state 0. A step never edits a rig: it makes the next one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from analyser.language.mistakes import Place, did_you_mean, with_article
from analyser.language.syntax import Link, Onto, StepLine, Word
from analyser.language.vocabulary import EXAMPLES
from analyser.language.vocabulary import STEPS as VERBS
from analyser.rig.bench import Bench, is_a
from analyser.rig.clipping import put_on
from analyser.rig.declaring import declare, declare_links, finish, lay_chain, settle
from analyser.rig.describing import apply, one_figure, place_unit
from analyser.rig.elements import BODIES, Nature, Part, Role, Rope
from analyser.rig.index import reached
from analyser.rig.joining import join_laid, joining
from analyser.rig.model import Caution
from analyser.rig.needing import needs_of
from analyser.rig.present import OPENED, Pair, Present
from analyser.rig.quantities import measures, quantity
from analyser.rig.relaying import parted, relaid, same, slid, without
from analyser.rig.roping import declare_knots, make_rope
from analyser.rig.sharing import near_rope, share_part


def step(bench: Bench, before: Present, later: Mapping[str, Place], line: StepLine) -> Present:
    """The state after a step; `later` are the names that some step brings in, and where."""
    return _Stepping(bench, before, later, line).taken()


class _Stepping:
    """One step, done to one state: what it changes is its own until it is done."""

    def __init__(self, bench: Bench, before: Present, later: Mapping[str, Place], line: StepLine) -> None:
        self.bench = bench
        self.before = before
        self.later = later
        self.line = line
        self.parts, self.contacts, self.ropes = dict(before.parts), dict(before.contacts), dict(before.ropes)
        self.modes, self.standing, self.landed = dict(before.modes), dict(before.standing), set(before.landed)
        self.moved, self.let_out = dict(before.moved), dict(before.let_out)
        self.worked_by = dict(before.worked_by)
        self.ropes_off, self.knots_off = dict(before.ropes_off), dict(before.knots_off)

    def taken(self) -> Present:
        self.bench.contacts, self.bench.stepping = self.contacts, True
        known = set(self.bench.parts)
        self._by()
        STEPS[self.line.verb](self)
        finish(self.bench)
        self.bench.stepping = False
        self.parts |= {name: part for name, part in self.bench.parts.items() if name not in known}
        stood = self.before.needs, self.before.contacts
        needs = needs_of(self.bench, self.parts, self.ropes.values(), self.contacts, stood)
        return Present(
            self.parts, self.contacts, self.ropes, self.modes, self.standing, frozenset(self.landed),
            self.moved, self.let_out, needs, self.ropes_off, self.knots_off, self.worked_by,
        )  # fmt: skip

    # -- names

    def _here(self, place: Place, text: str, hint: str) -> None:
        """Wrong as things stand before this step: they may stand so only because a line above was not read."""
        self.bench.wrong(place, text, hint, follows=True)

    def _early(self, word: Word) -> bool:
        """Is this the name of something that a later step brings in, or that an earlier one took out? Told."""
        if word.text in self.bench.parts or word.text in self.bench.ropes:
            return False
        if word.text in self.knots_off:
            taken = self.knots_off[word.text]
            text = f"the knot `{word.text}` went when `{taken.words}` took its rope off (line {taken.place.line})"
            self._here(word.place, text, "name a knot that is there")
            return True
        place = self.later.get(word.text)
        if place is None:
            return False
        text = f"`{word.text}` is not there yet: it is brought in on line {place.line}"
        self._here(word.place, text, "move this step below that one")
        return True

    def _part(self, word: Word, what: str = "part", natures: tuple[Nature, ...] = ()) -> Part | None:
        return None if self._early(word) else self.bench.part(word, what, natures)

    def _rope(self, word: Word) -> Rope | None:
        if word.text in self.ropes:
            return self.ropes[word.text]
        if self._early(word) or self.bench.doubtful(word.text):
            return None
        if word.text in self.ropes_off:
            self._here(word.place, f"the rope `{word.text}` was taken out before", "take this step out")
        elif word.text not in self.bench.ropes:  # one that could not be laid was told where it stands
            hint = did_you_mean(word.text, self.ropes)
            self.bench.misnamed(word, self.ropes, f"there is no rope called `{word.text}`", hint)
        return None

    def _chain(self, chain: tuple[Link, ...]) -> None:
        if any(link.name and not link.kind and self._early(link.name) for link in chain):
            return
        declare_links(self.bench, chain)
        lay_chain(self.bench, chain)

    def _by(self) -> None:
        """Who does it: people who are there."""
        for word in self.line.by:
            if not self._early(word):
                self.bench.person(word)

    # -- what is brought in

    def _declare(self) -> None:
        declaration = self.line.declaration
        assert declaration is not None
        verb = declaration.kind
        if verb.text not in self.bench.kinds:  # a misspelt verb reads like a declaration
            if not self.bench.doubtful(verb.text):
                steps = "a step begins with a verb (`attach`, `detach`) or a kind"
                hint = did_you_mean(verb.text, [*VERBS, *self.bench.kinds], steps)
                hint = f"for example `{EXAMPLES[verb.text]}`" if verb.text in VERBS else hint
                text = f"`{verb.text}` is not a step of a stage, nor a kind of part"
                self.bench.wrong(verb.place, text, hint)
            return
        for name in declaration.names:
            draft = declare(self.bench, declaration.kind, name, begins=True)
            for detail in declaration.details:
                if draft and (not detail.names or name.text in {word.text for word in detail.names}):
                    for attribute in detail.attributes:
                        apply(self.bench, draft, attribute)
            if draft:
                settle(self.bench, draft)
                share_part(self.bench, draft)

    def _attach(self) -> None:
        if self.line.onto:
            self._put_on(self.line.onto)
            return
        known = len(self.bench.mistakes)
        self._chain(self.line.chain)
        if len(self.line.chain) < 2 and len(self.bench.mistakes) == known:
            text = "a single link: it is attached to nothing"
            self.bench.wrong(self.line.chain[0].place, text, "write what it touches, after ` - `")

    def _put_on(self, onto: Onto) -> None:
        rope = self._rope(onto.rope)
        if rope is None or any(one.name and not one.kind and self._early(one.name) for one in self.line.chain):
            return
        made = put_on(self.bench, rope, onto, dict(self.contacts))
        if made:
            self._in_devices(made, rope)
            self.ropes[rope.name] = made
            for station in made.stations:
                self.parts[station.part] = self.bench.parts[station.part]

    def _rope_laid(self, *, again: bool) -> None:
        line = self.line.rope
        assert line is not None
        name = line.name
        on = self.ropes.get(name.text)
        before: Rope | None = None
        if again:
            before = on or self.ropes_off.get(name.text)
            if before is None and self._rope(name) is None:
                return
            if on:
                self._take_out(name.text)
        elif name.text in self.bench.ropes or name.text in self.bench.parts:
            first = self.bench.ropes.get(name.text) or self.bench.parts[name.text].place
            text = f"`{name.text}` is there already (line {first.line})"
            if name.text in self.ropes_off:
                text = f"the rope `{name.text}` (line {first.line}) was taken out before"
            hint = f"`rerig {name.text}` lays it anew"
            self._here(name.place, text, hint if name.text in self.bench.ropes else "give it another name")
            return
        words = [link.name for s in line.stations for link in s.links if link.name and not link.kind]
        if any(self._early(word) for word in words):
            self.bench.doubt(name.text)  # where it lies is not known from here on
            return
        self.bench.ropes[name.text] = name.place
        near_rope(self.bench, line)
        knots = declare_knots(self.bench, line)
        finish(self.bench)
        rope = make_rope(self.bench, line, knots)
        if rope:
            self.ropes |= join_laid(self.bench, line, knots, self.ropes)
            self._in_devices(rope, on)
            self.ropes_off.pop(name.text, None)
            self.let_out.pop(name.text, None)
            rope = same(rope, before) if before else rope
            self.ropes[name.text] = rope
            for station in rope.stations:
                self.parts[station.part] = self.bench.parts[station.part]
        else:
            self.bench.doubt(name.text)

    def _in_devices(self, rope: Rope, before: Rope | None) -> None:
        """A device that a rope is laid in anew grips it as its own lines say: one that was opened, or
        that was locked off on another rope, is no more. What it was locked off on, it stays on."""
        kept = {s.part for s in before.stations} if before else set()
        for station in rope.stations:
            mode = self.modes.get(station.part)
            if station.role is Role.GRIP and (mode in OPENED or station.part not in kept):
                self.modes.pop(station.part, None)

    # -- what is taken out

    def _detach(self) -> None:
        for word in self.line.names:
            if word.text in self.ropes:
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

    def _own(self, draft: Part) -> set[str]:
        return {draft.name} | {n for n, d in self.parts.items() if d.body == draft.name}

    def _between(self, mine: set[str], theirs: set[str]) -> list[Pair]:
        """The contacts that were made between two groups of parts."""
        return [
            pair
            for pair, contact in self.contacts.items()
            if contact.given
            and ((pair[0] in mine and pair[1] in theirs) or (pair[1] in mine and pair[0] in theirs))
            and not (set(pair) <= mine)
        ]

    def _detach_all(self, word: Word, draft: Part) -> None:
        if joining(draft.name, self.ropes):
            self._untie({draft.name})
            return
        mine = self._own(draft)
        pairs = self._between(mine, set(self.parts) - mine)
        on_ropes = [name for name in self.ropes if self._off_rope(name, mine)]
        if not pairs and not on_ropes:
            self._here(word.place, f"`{word.text}` is attached to nothing here", "take this step out")
        for pair in pairs:
            del self.contacts[pair]

    def _detach_from(self, word: Word, one: Part, other: Word) -> None:
        if other.text in self.ropes:
            if other.text in joining(one.name, self.ropes):
                self._untie({one.name})
            elif not self._off_rope(other.text, self._own(one)):
                text = f"`{one.name}` is not on the rope `{other.text}` here"
                self._here(word.place, text, self._attached_to(one))
            return
        if other.text in self.bench.ropes:
            self._rope(other)
            return
        two = self._part(other)
        if two is None:
            return
        pairs = self._between(self._own(one), self._own(two))
        if not pairs:
            text = f"`{one.name}` is not attached to `{two.name}` here"
            place = replace(word.place, end=other.place.end) if word.place.line == other.place.line else word.place
            self._here(place, text, self._attached_to(one))
        for pair in pairs:
            del self.contacts[pair]

    def _attached_to(self, draft: Part) -> str:
        mine = self._own(draft)
        pairs = self._between(mine, set(self.parts) - mine)
        names = sorted({name for pair in pairs for name in pair} - mine)
        names += [r.name for r in self.ropes.values() if any(s.part in mine for s in r.stations)]
        if not names:
            return "nothing is attached to it here"
        return f"here it is attached to {', '.join(names[:5])}"

    def _off_rope(self, name: str, mine: set[str]) -> bool:
        """Take parts off a rope that they grip or that runs through them: nor do they keep it clear of an
        edge any longer, they or what they are joined to."""
        rope = self.ropes[name]
        off = [k for k, s in enumerate(rope.stations) if s.part in mine and s.role in (Role.RUN, Role.GRIP, Role.HAND)]
        if not off:
            return False
        left = list(rope.stations)
        for k in reversed(off):
            left = without(left, k)
        unguarded = self._joined(mine) - self._joined({s.part for s in left if s.role in (Role.RUN, Role.GRIP)})
        left = [replace(s, guards=tuple(guard for guard in s.guards if guard not in unguarded)) for s in left]
        self.ropes[name] = relaid(rope, left)
        if not left:  # it lies on nothing any more
            self.ropes_off[name] = self.ropes.pop(name)
        return True

    def _joined(self, parts: set[str]) -> set[str]:
        """Parts, and the connectors and slings that they hang in one with the other."""
        beyond: dict[str, set[str]] = {}
        for one, other in (pair for a, b in self.contacts for pair in ((a, b), (b, a))):
            if self.bench.parts[other].nature in (Nature.JOINT, Nature.PULLEY):
                beyond.setdefault(one, set()).add(other)
        return reached(beyond, parts)

    def _take_out(self, name: str) -> None:
        """A rope with its knots and stoppers, and what those touched."""
        rope = self.ropes_off[name] = self.ropes.pop(name)
        self._untie({s.part for s in rope.stations if s.role in (Role.TIE, Role.STOPPER)})

    def _untie(self, own: set[str]) -> None:
        """Knots and stoppers are gone, from what else they were in too."""
        self.ropes |= parted(self.ropes, own)
        for name in [name for name, rope in self.ropes.items() if not rope.stations]:
            self.ropes_off[name] = self.ropes.pop(name)  # it lies on nothing any more
        for pair in [pair for pair in self.contacts if own & set(pair)]:
            del self.contacts[pair]
        for part in own:
            self.parts.pop(part, None)
            self.bench.parts.pop(part, None)
            self.knots_off[part] = self.line

    def _derig(self) -> None:
        if self._rope(self.line.names[0]):
            self._take_out(self.line.names[0].text)

    # -- devices

    def _device(self) -> Part | None:
        word = self.line.names[0]
        if self._early(word):
            return None
        return self.bench.one_of(word, (Nature.GRIP,), "device", "carabiner", ": it grips no rope", "name the device")

    def _lock_off(self) -> None:
        if draft := self._device():
            self.modes[draft.name] = "lock off"

    def _take_in_hand(self) -> None:
        draft = self._device()
        if draft is None:
            return
        hand = self.line.by[0].text if len(self.line.by) == 1 else None
        if hand:
            self.worked_by[draft.name] = hand
        elif draft.operated_by is None:
            text = f"`{draft.name}` is taken in hand, and nobody operates it: say who, `{draft.name}: operated by jo`. "
            text += "Until told, it grips as if locked off"
            self.bench.cautions.append(Caution("no-operator", (draft.name,), text, self.line.place))
        self.modes[draft.name] = "take in hand"

    def _open(self) -> None:
        if draft := self._device():
            self.modes[draft.name] = "open"

    def _hold_open(self) -> None:
        if draft := self._device():
            self.modes[draft.name] = "hold open"

    def _let_grip(self) -> None:
        """As it was before a hand was on it: it grips by itself, which one that needs the hand does not."""
        draft = self._device()
        if draft is None:
            return
        place, name, mode = self.line.names[0].place, draft.name, self.modes.get(draft.name)
        worked = self.worked_by.get(name) or draft.operated_by
        if worked and not (draft.self_locking or draft.minded_by):
            text = f"`{name}` grips only while {worked}'s hand is on it: by itself it doesn't"
            self._here(place, text, f"write `take {name} in hand`, or `lock off {name}`")
        elif mode is None or mode == "lock off":
            self._here(place, f"nobody keeps `{name}` from gripping here: it grips already", "take this step out")
        else:
            del self.modes[name]

    def _slide(self) -> None:
        draft, past = self._device(), self.line.others[1]
        rope = self._rope(self.line.others[0])
        if draft is None or rope is None:
            return
        labels = [str(s.label) for s in rope.stations]
        at = next((k for k, s in enumerate(rope.stations) if s.part == draft.name), None)
        if at is None:
            text = f"`{draft.name}` is not on the rope `{rope.name}` here"
            self._here(self.line.names[0].place, text, self._attached_to(draft))
        elif past.text not in labels or labels[at] == past.text:
            others = [label for label in labels if label != labels[at]]
            hint = did_you_mean(past.text, others, f"its other stations are {', '.join(others)}")
            self._here(past.place, f"the rope `{rope.name}` has no station called `{past.text}` to slide past", hint)
        else:
            self.ropes[rope.name] = slid(rope, at, labels.index(past.text))

    # -- lengths, places, the ground

    def _length(self, sign: float) -> None:
        measure = self.line.measure
        assert measure is not None
        if measures(measure) != "length":
            text = f"a length is taken in or paid out, and {measure.unit} measures {with_article(measures(measure))}"
            self.bench.wrong(measure.place, text, "for example `by 0.3 m`")
        elif one_figure(self.bench, measure):
            for word in filter(self._has_length, self.line.names):
                self.let_out[word.text] = self.let_out.get(word.text, 0.0) + sign * quantity(measure).si

    def _has_length(self, word: Word) -> bool:
        if word.text in self.bench.ropes:
            return self._rope(word) is not None
        draft = self._part(word)
        if draft and draft.nature not in (Nature.JOINT, Nature.GRIP):
            self.bench.wrong(
                word.place, f"{is_a(draft)}: it has no length to change", "name a rope, a sling or a strap"
            )
            return False
        return draft is not None

    def _take_in(self) -> None:
        self._length(-1.0)

    def _pay_out(self) -> None:
        for word in self.line.names:
            rope = self.ropes.get(word.text)
            devices = [s.part for s in rope.stations if s.role is Role.GRIP] if rope else [word.text]
            if devices and all(self.modes.get(device) == "lock off" for device in devices):
                text = f"`{' and '.join(devices)}` is locked off here: nothing runs through it"
                self._here(word.place, text, f"write `take {devices[0]} in hand` above this step")
        self._length(1.0)

    def _move(self) -> None:
        draft = self._part(self.line.names[0])
        if draft:
            metres = place_unit(self.bench, draft.name, self.line.unit, self.line.place)
            x, y, z = (float(number) * metres for number in self.line.position)
            self.moved[draft.name] = (x, y, z)

    def _land(self, *, down: bool = True) -> None:
        word = self.line.names[0]
        otherwise = ": people, litters and loads are landed and lifted"
        early = self._early(word)
        draft = None if early else self.bench.one_of(word, BODIES, "body", "carabiner", otherwise, "name a body")
        if draft is None:
            return
        on = draft.name in self.landed or self._stands(draft, down=down)
        if on is down:
            state = "is on the ground already" if down else "is not on the ground here"
            self._here(word.place, f"`{draft.name}` {state}", "take this step out")
            return
        for person in [draft.name, *self._lying_in(draft)]:
            if self.bench.parts[person].nature is Nature.PERSON:
                self.standing[person] = down
        if draft.nature is not Nature.PERSON:
            (self.landed.add if down else self.landed.discard)(draft.name)

    def _stands(self, draft: Part, *, down: bool) -> bool:
        """On ground; who is to be lifted may stand on what hangs as well."""
        return self.standing.get(draft.name, draft.standing and not (down and draft.stands_on))

    def _lying_in(self, litter: Part) -> list[str]:
        """Whoever is tied to a litter: a strap's length away from it."""
        if litter.nature is Nature.PERSON:
            return []
        own = self._own(litter)
        near = {name for pair in self._between(own, set(self.parts) - own) for name in pair} - own
        straps = {n for n in near if self.bench.parts[n].nature in (Nature.JOINT, Nature.KNOT)}
        further = {name for pair in self._between(straps, set(self.parts) - straps) for name in pair} | near
        owners = {self.bench.parts[name].body or name for name in further - own}
        return sorted(name for name in owners if self.bench.parts[name].nature is Nature.PERSON)

    def _lift(self) -> None:
        self._land(down=False)

    def _check(self) -> None:
        """A hold point changes nothing."""


STEPS: dict[str, Callable[[_Stepping], None]] = {
    "declare": _Stepping._declare,
    "attach": _Stepping._attach,
    "rope": partial(_Stepping._rope_laid, again=False),
    "rerig": partial(_Stepping._rope_laid, again=True),
    "derig": _Stepping._derig,
    "detach": _Stepping._detach,
    "lock off": _Stepping._lock_off,
    "take in hand": _Stepping._take_in_hand,
    "open": _Stepping._open,
    "hold open": _Stepping._hold_open,
    "let grip": _Stepping._let_grip,
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
