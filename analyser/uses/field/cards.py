"""A card for each role: what you work, what you watch, what you say and hear, what is critical near you, what
to do if it fails. Small enough for a pocket: the walk-down and the procedure say the rest."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from analyser.checking.delivered import Delivered
from analyser.checking.finding import listed
from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.hung_on import Thing
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.language.identities import Revision
from analyser.language.spelling import listed as commas
from analyser.language.spelling import spelt_chain, spelt_position
from analyser.language.syntax import StepLine
from analyser.rig.model import Nature, Part, Rig, Role, Step
from analyser.uses.field.at_first import at_steps, mending
from analyser.uses.field.critical import Critical, Told, criticals, followed
from analyser.uses.field.grounded import grounded
from analyser.uses.field.named_things import CUTS, all_of
from analyser.uses.field.roles import ATTENDANT, CONTROLLER, EDGE, OPERATOR, Taken, guarded_by, patients, roles
from analyser.uses.field.said import Said, said
from analyser.uses.procedure.stopping import stops

DOING = {
    "rerig": ("do-rerig", ("rope",)),
    "derig": ("do-derig", ("rope",)),
    "rope": ("do-rope", ("rope",)),
    "lock off": ("do-lock-off", ("what",)),
    "take in hand": ("do-take-in-hand", ("what",)),
    "take in": ("do-take-in", ("what", "length")),
    "pay out": ("do-pay-out", ("what", "length")),
    "open": ("do-open", ("what",)),
    "hold open": ("do-hold-open", ("what",)),
    "let grip": ("do-let-grip", ("what",)),
    "slide": ("do-slide", ("what", "rope", "past")),
    "land": ("do-land", ("what",)),
    "lift": ("do-lift", ("what",)),
    "move": ("do-move", ("what", "to")),
}
"""What each kind of step is called on a card, and what stands in its gaps."""
HOLDING = ("work-device-hand", "work-device-in-hand", "work-device-locks", "work-device-open")
"""How a device that somebody works holds: what asks most of their hand is told, of all the states."""
MOST = 18
"""Parts named in one line of a card: the walk-down names all."""
MOST_ON_ONE = 3
"""Lines of who hangs on one, at the head of a card."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the calls, by `sort`: stage, say, check, do (one's own), or all (somebody's)."""

    sort: str
    number: str
    words: Said


@dataclass(frozen=True, slots=True)
class Card:
    role: str
    person: str | None
    works: tuple[Said, ...]
    watches: tuple[Said, ...]
    calls: tuple[Line, ...]
    critical: tuple[Said, ...]
    fails: tuple[Said, ...]
    look: FirstLook
    """Who hangs on one, whoever has the card before others; as many as a card has room for."""
    more_on_one: int
    """How many bodies more do."""
    besides: tuple[Said, ...]
    """What is critical but for what `look` tells."""


@dataclass(frozen=True, slots=True, repr=False)
class Cards(Delivered):
    SHAPE = "analyser.uses.field.field_shapes.CardsTold"

    title: str
    revision: Revision | None
    file: str
    cards: tuple[Card, ...]
    stages: bool
    cautions: tuple[str, ...]
    result: Result
    worst: tuple[str, ...]
    """The worst off of those who hang on one."""
    mend: Said | None
    """What would take away all on which these hang, as first attached."""

    @property
    def short(self) -> str:
        return f"{len(self.cards)} cards"

    def of(self, name: str) -> tuple[Card, ...]:
        """The cards of a person or a role."""
        return tuple(card for card in self.cards if name in (card.role, card.person))


def cards(result: Result, file: str) -> Cards:
    """A card for everybody who has a part in the work, and for the edge and whoever leads."""
    rig = result.rig
    told = followed(result)
    grades = criticals(told)
    look = first_look(result)
    made = tuple(_Making(result, taken, told, grades, look).card() for taken in roles(result))
    worst = look.endangered[0].bodies if look.endangered else ()
    mend = mending(rig, look)
    return Cards(rig.title, rig.revision, file, made, bool(rig.stages), CAUTIONS, result, worst, mend)


_Alike = tuple[tuple[str, ...], tuple[str, ...]]
"""Bodies, and the parts that do the same to them, from the same state on and until the same."""


class _Making:
    def __init__(
        self,
        result: Result,
        taken: Taken,
        told: Sequence[Told],
        grades: Mapping[str, Critical],
        look: FirstLook,
    ) -> None:
        self.result = result
        self.told = told
        self.rig = result.states[0].rig
        self.rigs = [state.rig for state in result.states]
        self.role = taken.role
        self.person = taken.person
        self.grades = grades
        self.numbers = tuple(state.numbered for state in result.states)
        self.near = self._near()
        self.look, self.more_on_one = self._first(look)

    def _first(self, look: FirstLook) -> tuple[FirstLook, int]:
        """As much of the first look as there is room for, and how many bodies more hang on one: whoever has the card
        first, and what the file accepts last, where there is room. What comes nearest to it is told below, as far as it
        is near them."""
        on_one = sorted(look.endangered or look.on_one, key=lambda one: self.person not in one.bodies)
        if look.endangered and len(look.on_one) <= MOST_ON_ONE:
            on_one += [replace(one, also=()) for one in look.on_one if one.accepted]
        left = sum(len(one.bodies) for one in on_one[MOST_ON_ONE:])
        return replace(look, on_one=tuple(on_one[:MOST_ON_ONE]), next=(), left=(), shaken=()), left

    def card(self) -> Card:
        return Card(
            self.role,
            self.person,
            tuple(dict.fromkeys(self._works())),
            tuple(dict.fromkeys(self._watches())),
            tuple(self._calls()),
            tuple(self._critical()),
            tuple(self._fails()),
            self.look,
            self.more_on_one,
            tuple(self._critical(told=True)),
        )

    # -- what is theirs, and what is near them

    def _devices(self, rig: Rig) -> list[Part]:
        person = self.person
        return [p for p in rig.parts.values() if person and person in (p.operated_by, p.minded_by)]

    def _near(self) -> dict[str, None]:
        """Parts and ropes within somebody's reach or sight, in the order of the file."""
        found: set[str] = set()
        for rig in self.rigs:
            found |= set(self._near_in(rig))
        order = [name for rig in self.rigs for name in (*rig.parts, *(rope.name for rope in rig.ropes))]
        return {name: None for name in order if name in found or self.role == CONTROLLER}

    def _near_in(self, rig: Rig) -> Iterator[str]:
        base = grounded(rig)
        if self.person in rig.parts:
            part = rig.parts[self.person]
            yield from self._beside(rig, [part.name, *part.points], set(rig.parts) - base | set(part.points))
        for device in self._devices(rig):
            yield device.name
            if device.name in base:
                yield from self._beside(rig, [device.name], base)
            yield from (r.name for r in rig.ropes if any(s.part == device.name for s in r.stations))
        for rope in rig.ropes:
            if any(s.role is Role.HAND and s.part == self.person for s in rope.stations):
                yield rope.name
            over = [s for s in rope.stations if s.role is Role.OVER]
            if over and self.role == EDGE:
                yield from (rope.name, *(s.part for s in over), *(g for s in over for g in s.guards))
                yield from (guard for s in over for guard in rig.parts[s.part].guards)
        if self.role == ATTENDANT:
            for litter in rig.parts.values():
                if litter.nature is Nature.LITTER:
                    yield from self._beside(rig, [litter.name, *litter.points], set(rig.parts) - base)
            for name in patients(rig):
                yield from self._beside(rig, [name, *rig.parts[name].points], set(rig.parts) - base)

    def _beside(self, rig: Rig, start: list[str], inside: Collection[str]) -> Iterator[str]:
        """What is joined to something, link by link, as far as knots, rings with several things on, and people."""
        seen = set(start)
        stack = list(start)
        while stack:
            here = stack.pop()
            yield here
            part = rig.parts[here]
            ends = part.nature in (Nature.KNOT, Nature.GROUND) or (len(rig.touching[here]) > 2 and here not in start)
            for other in () if ends else rig.touching[here]:
                if other not in seen and other in inside:
                    seen.add(other)
                    stack.append(other)

    # -- what they work and watch

    def _works(self) -> Iterator[Said]:
        found: dict[str, Said] = {}
        for rig in self.rigs:
            for device in self._devices(rig):
                ropes = tuple(r.name for r in rig.ropes if any(s.part == device.name for s in r.stations))
                if device.minded_by == self.person:
                    found.setdefault(device.name, said("work-minds", device=device.name))
                elif ropes:
                    now = said(_how_it_holds(rig, device), device=device.name, ropes=ropes)
                    was = found.setdefault(device.name, now)
                    if HOLDING.index(now.key) < HOLDING.index(was.key) or now.key == HOLDING[0]:
                        found[device.name] = now
            for rope in rig.ropes:
                if any(s.role is Role.HAND and s.part == self.person for s in rope.stations):
                    found[rope.name] = said("work-holds", rope=rope.name)
        yield from found.values()
        if self.role == CONTROLLER:
            yield said("work-leads")
        if self.role == EDGE:
            for edge, guards in self._guards().items():
                yield said("work-edge", edge=edge, guards=guards) if guards else said("work-edge-bare", edge=edge)
        if self.role == ATTENDANT and patients(self.rig):
            yield said("work-care", people=patients(self.rig))

    def _guards(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, dict[str, None]] = {}
        for rig in self.rigs:
            own = set(guarded_by(rig, self.person)) if self.person else set()
            for rope in rig.ropes:
                for station in rope.stations:
                    if station.role is Role.OVER and (not own or station.part in own):
                        guards = (*station.guards, *rig.parts[station.part].guards)
                        found.setdefault(station.part, {}).update(dict.fromkeys(g for g in guards if g != self.person))
        return {edge: tuple(guards) for edge, guards in found.items()}

    def _watches(self) -> Iterator[Said]:
        person = self.rig.parts.get(self.person or "")
        if self.role == OPERATOR or (person and not person.standing):
            for device in self._devices(self.rig):
                chain = tuple(n for n in self._beside(self.rig, [device.name], grounded(self.rig)) if n != device.name)
                if chain and device.name in grounded(self.rig):
                    gates = tuple(name for name in chain if "connector" in self.rig.parts[name].family)
                    others = tuple(name for name in chain if name not in gates)
                    yield from (said("watch-anchor", parts=others),) if others else ()
                    yield from (said("watch-gates", parts=gates),) if gates else ()
        if person and (not person.standing or person.exposed):
            yield from self._own_hold(person.name)
        if self.role == EDGE:
            ropes = [r.name for r in self.rig.ropes if any(s.role is Role.OVER for s in r.stations)]
            if ropes:
                yield said("watch-ropes-over", ropes=tuple(ropes))
        if self.role == ATTENDANT:
            for name in patients(self.rig):
                yield from self._hold(name)
            for litter in self.rig.parts.values():
                if litter.nature is Nature.LITTER:
                    yield from self._hold(litter.name)
        if self.role == CONTROLLER:
            for name in (part.name for part in self.rig.parts.values() if part.nature is Nature.PERSON):
                devices = tuple(p.name for p in self.rig.parts.values() if p.operated_by == name)
                if devices:
                    yield said("watch-person", person=name, devices=devices)
            may = [stop.state for stop in stops(self.result) if stop.may_stop]
            states = len(self.result.states)
            if states > 1 and len(may) == states:
                yield said("watch-stops-any")
            elif states > 1 and self.look.step is None:  # else the head says where to stop
                no = [k for k in range(states) if k not in may]
                yield said("watch-stops-not", steps=self._steps(no)) if may else said("watch-stops-never")

    def _steps(self, states: Iterable[int]) -> tuple[str, ...]:
        return tuple(self.result.states[state].numbered for state in states)

    def _own_hold(self, name: str) -> Iterator[Said]:
        clips = self._clips(name)
        if clips:
            yield said("watch-own", clips=clips)

    def _hold(self, name: str) -> Iterator[Said]:
        clips = self._clips(name)
        if clips:
            yield said("watch-held", body=name, clips=clips)

    def _clips(self, name: str) -> tuple[str, ...]:
        part = self.rig.parts[name]
        own = (name, *part.points)
        found = [other for point in own for other in self.rig.touching[point] if other not in own]
        bodies = self.rig.index.with_points()  # what only joins one to another holds neither of them up
        return tuple(dict.fromkeys(one for one in found if not set(self.rig.touching[one]) <= bodies))

    # -- what they say, hear and do

    def _calls(self) -> Iterator[Line]:
        """What is said, heard and done, step by step; what the head says of a step stands there once more."""
        before, marks = self.rig, {} if self.result.met else at_steps(self.look)
        for at, stage in enumerate(self.result.rig.stages, 1):
            lines = []
            for k, step in enumerate(stage.steps, 1):
                line = self._step(f"{at}.{k}", step, before)
                before = step.rig
                if line and line.number in marks:
                    line = replace(line, words=said("call-marked", words=line.words, mark=marks[line.number]))
                lines += [line] if line else []
            if lines:
                yield Line("stage", str(at), said("call-stage", title=stage.title))
                yield from lines

    def _step(self, number: str, step: Step, before: Rig) -> Line | None:
        if step.verb == "note":
            return None
        if step.still:
            return Line(step.verb, number, said("call-words", words=step.text))
        by = step.done_by(before)
        words = doing(step.line)
        if self.person and self.person in by:
            return Line("do", number, words)
        if self.role == CONTROLLER:
            return Line("all", number, said("call-by", person=listed(by), words=words) if by else words)
        if not by and self.near.keys() & step.line.named:
            return Line("all", number, words)
        return None

    # -- what is critical, and what to do

    def _graded(self, grade: int) -> list[tuple[str, Critical]]:
        """What is near them, and what their own hold hangs on, or that of whom they care for, wherever it is."""
        mine = {self.person} | ({*patients(self.rig)} if self.role == ATTENDANT else set())
        theirs = {name: None for name, one in self.grades.items() if mine & {*one.falls, *one.left, *one.shaken}}
        graded = [(name, self.grades[name]) for name in self.near | theirs if name in self.grades]
        return [(name, one) for name, one in graded if one.grade == grade]

    def _critical(self, *, told: bool = False) -> Iterator[Said]:
        """What drops somebody alone, what leaves somebody on one, then what else moves them: parts with the same
        effect together, what the file accepts after what it doesn't. `told`: without what stands at the head."""
        first, second = self._graded(1), self._graded(2)
        alone = [(name, one) for name, one in first if not (told and self._at_the_head(name, one))]
        for key, several in (
            ("critical-falls", [(one.falls, name) for name, one in alone if not one.accepted]),
            ("critical-accepted", [(one.falls, name) for name, one in alone if one.accepted]),
            ("critical-left", [(self._newly(one), name) for name, one in second]),
            ("critical-shaken", [(self._only_shaken(one), name) for name, one in second]),
        ):
            for bodies, names in self._together(one for one in several if one[0]):
                at = self._when(self.grades[names[0]])
                yield said(key, parts=self._few(names), bodies=bodies, count=len(bodies), at=at)
        if not first and not told:
            yield said("critical-no-single")

    def _when(self, one: Critical) -> Said | str:
        """From which step on, and until which, something is so."""
        over = said("critical-until", step=self.numbers[one.until]) if one.until else ""
        return said("critical-from", step=self.numbers[one.state], until=over) if one.state else over

    def _at_the_head(self, name: str, one: Critical) -> bool:
        """Is all that a part drops told at the head of the card with it?"""
        there = {body for on in self.look.on_one for thing in on.things if thing.name == name for body in on.bodies}
        return {*one.falls} <= there

    def _newly(self, one: Critical) -> tuple[str, ...]:
        """Those whom it leaves on one and who don't hang on one in that state anyway: of the others that stands at the
        head."""
        before = [told for told in self.told if told.state.number <= one.state]
        accepted = {judged.failure for judged in before[-1].state.rig.accepted}
        on_one = {name for failure, _, loss in before[-1].rows if failure not in accepted for name in loss.falls}
        return tuple(body for body in one.left if body not in on_one)

    @staticmethod
    def _only_shaken(one: Critical) -> tuple[str, ...]:
        """Those who tip, drop or run along and aren't left on one by it, which is worse and told."""
        return tuple(body for body in one.shaken if body not in one.left)

    def _together(self, pairs: Iterable[tuple[tuple[str, ...], str]]) -> list[_Alike]:
        """Parts by the bodies that they bring down, from which state on, and until which: the most people
        first, then the most bodies."""
        groups: dict[tuple[tuple[str, ...], int, int | None], list[str]] = {}
        for bodies, name in pairs:
            one = self.grades[name]
            groups.setdefault((bodies, one.state, one.until), []).append(name)
        every = {name: part.nature for rig in self.rigs for name, part in rig.parts.items()}

        def key(one: tuple[_Alike, int]) -> tuple[object, ...]:
            (bodies, names), state = one
            return (-sum(every[name] is Nature.PERSON for name in bodies), -len(bodies), bodies, names, state)

        alike = [((bodies, tuple(names)), state) for (bodies, state, _), names in groups.items()]
        return [one for one, _ in sorted(alike, key=key)]

    def _few(self, names: tuple[str, ...]) -> Said:
        """The first names, and how many more there are; of a rope the stretches, where not all of it counts."""
        edges = {name for rig in self.rigs for name, part in rig.parts.items() if part.nature is Nature.EDGE}
        told = [
            thing
            for name in names
            for thing in self.grades[name].stretches or (Thing(name, mode=CUTS if name in edges else ""),)
        ]
        return all_of(told, MOST)

    def _fails(self) -> Iterator[Said]:
        if self._graded(1):
            yield said("fail-falls")
        for device, causes in self._on_my_device().items():
            yield said("fail-load-on-you", device=device, parts=_few(tuple(causes)), count=len(causes))
        if self._graded(2):
            yield said("fail-left")
        if self.role == EDGE:
            yield said("fail-edge")
        if self.role == CONTROLLER:
            yield said("fail-lead")

    def _on_my_device(self) -> dict[str, dict[str, None]]:
        """My devices on which somebody hangs alone after another part fails, and those parts."""
        found: dict[str, dict[str, None]] = {}
        for one in self.told if self.person else ():
            for _, part, effect in one.rows:
                for left in effect.left:
                    for mine in left.devices:
                        if mine.person == self.person:
                            found.setdefault(mine.device, {})[part] = None
        return found


def _how_it_holds(rig: Rig, device: Part) -> str:
    stations = rig.index.at(device.name, Role.GRIP)
    if device.held_open or not any(at.station.to_start or at.station.to_end for at in stations):
        return "work-device-open"
    if not device.self_locking:
        return "work-device-hand"
    return "work-device-in-hand" if device.in_hand and not device.anti_panic else "work-device-locks"


def doing(line: StepLine) -> Said:
    """A step as an order: what is done, in no language yet."""
    if line.onto:
        chain, rope = spelt_chain(line.chain, " – "), line.onto.rope.text
        one, other = (word.text for word in line.onto.between)
        return said("do-attach-to", chain=chain, rope=rope, one=one, other=other)
    if line.verb == "attach":
        return said("do-attach", chain=spelt_chain(line.chain, " – "))
    if line.verb == "detach" and line.others:
        return said("do-detach-from", what=commas(line.names), where=commas(line.others))
    if line.verb == "detach":
        return said("do-detach", what=commas(line.names))
    if line.declaration:
        return said("do-declare", what=f"{line.declaration.kind.text} {commas(line.declaration.names)}")
    key, gaps = DOING[line.verb]
    along, past = (word.text for word in line.others) if line.others else (line.about, "")
    length = line.measure.text if line.measure else ""
    known = {
        "what": commas(line.names) or line.about,
        "rope": along,
        "past": past,
        "length": length,
        "to": spelt_position(line),
    }
    return said(key, **{gap: known[gap] for gap in gaps})


def _few(names: tuple[str, ...]) -> Said:
    """The first names, and how many more there are."""
    if len(names) <= MOST + 1:
        return said("names", names=names)
    return said("names-and-more", names=", ".join(names[:MOST]), more=len(names) - MOST)
