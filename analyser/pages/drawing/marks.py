"""What is written on a part beside its name: single points, assumptions, and what a failure did.

Nothing is worked out here: single points come from the result, who falls after given failures
from the holding rules, forces from the statics.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, field

from analyser.checking.consequences import effects
from analyser.checking.fates import in_few_words, loudly
from analyser.checking.first_look import free_points, hangs_by_one
from analyser.checking.hanging_from import holder
from analyser.checking.held_by import in_short
from analyser.checking.results import Result
from analyser.holding.fate import Kind
from analyser.holding.happening import Scenario
from analyser.holding.outcome import Outcome, assess, what_if
from analyser.pages.drawing import colours
from analyser.pages.drawing.words import together, who_falls
from analyser.rig.model import Effects, Failure, Nature, Part, Rig, Role, Station

SINGLE, FALLS, GONE = "SINGLE POINT", "FALLS", "GONE"
MOST_WAYS = 3
"""Ways that are told in a body's box."""
IF_SO = {
    "fails": "gone",
    "is cut": "cut",
    "lets go": "they let go",
    "holds on": "they hold on",
    "loses footing": "they lose footing",
}
"""A failure, said of the part at which it is written; of any other: that it slips, shifts, cuts or strikes."""
NO_MORE = frozenset({"fails", "slips", "is cut"})
"""After any of these a part holds no more: `lost`, where several of them do the same."""
CARRIES = (Nature.JOINT, Nature.GRIP, Nature.KNOT, Nature.PULLEY)
PLAIN_MODES = ("fails", "is cut", "cuts", "shifts", "strikes")


@dataclass(frozen=True, slots=True)
class ToDo:
    """On what somebody hangs, and what to do now, `rows` of a label and its words, and whether these are strong; `at`:
    what is said of it on the parts themselves, by their names."""

    rows: tuple[tuple[str, str, bool], ...] = ()
    at: tuple[tuple[str, tuple[str, ...]], ...] = ()
    between: tuple[tuple[str, str], ...] = ()
    """Between which parts it goes, each a line."""
    wrong: tuple[tuple[str, str], ...] = ()
    """Between which parts it is now, and is not to be."""
    tried: str = ""
    """What was looked at for what would mend it."""


NOTHING_TO_DO = ToDo()


@dataclass(slots=True)
class Marks:
    """Words for parts, spans and common causes, by name."""

    single: dict[str, list[str]] = field(default_factory=dict)
    """Single points: the lines that say so."""
    taken: frozenset[str] = frozenset()
    """Of those, and of the bodies that hang on them, such as the file accepts all of."""
    empty: frozenset[str] = frozenset()
    """Points of people and litters at which nothing is attached."""
    wanted: frozenset[str] = frozenset()
    """Those of bodies that hang by one: something is missing there."""
    holders: dict[str, str] = field(default_factory=dict)
    """From which one person a body hangs that only a person holds; empty where it may be several."""
    notes: dict[str, list[str]] = field(default_factory=dict)
    """Assumed sound, accepted, tips, in a cause that is a single point."""
    lost: dict[str, str] = field(default_factory=dict)
    """Gone, cut, slipped: the one word for it."""
    held: dict[str, list[str]] = field(default_factory=dict)
    """By what each body is held, a way a line: `red → left-bolt`."""
    dead: frozenset[str] = frozenset()
    """Parts and spans that hold nobody any more, though nothing befell them."""
    fates: dict[str, str] = field(default_factory=dict)
    """What becomes of each body after the failures asked about."""
    dropped: list[str] = field(default_factory=list)
    """Those of them who are not held."""
    failing: tuple[str, ...] = ()
    fresh: dict[str, str] = field(default_factory=dict)
    """Where two revisions are drawn in one: what only the new one has, and the one word for it."""
    contacts: dict[tuple[str, str], str] = field(default_factory=dict)
    """Contacts, by their two parts in order of names, that only one of two revisions has."""
    shown: str = ""
    """What is shown, where it is neither a rig as it is nor what a failure left."""
    shown_of: str = ""
    """Of one sheet of several: which it is, and what it shows."""
    plan: str = ""
    """In a picture of one state: how the whole plan stands, where that is otherwise."""
    do: ToDo = NOTHING_TO_DO
    chosen: str = ""
    """Why it is this state that is drawn, where nobody asked for it."""
    within: bool = False
    """Among the words of a page that says title, verdict and cautions itself."""
    brief: bool = False
    """In an overview: after how many failures somebody is not held, and no other count."""
    asking: bool = False
    """For a drill: nothing that the analysis says is shown, neither counts nor the verdict."""
    changes: dict[str, str] = field(default_factory=dict)
    """In a film: what the step before made of a part, a span or a contact (`contact_name`), in one word."""
    forces: dict[str, str] = field(default_factory=dict)
    """What a part or a span carries, where that is asked for (`carried.py`)."""
    hidden: set[str] = field(default_factory=set)
    """In a film: what is not there in this picture, its place left free."""
    room: dict[str, int] = field(default_factory=dict)
    """In a film: how many rows are kept free for the marks of each name, so that nothing moves."""
    ids: dict[str, str] = field(default_factory=dict)
    """In a picture that is asked about: what each name is called in it. Drawn things carry it as their class."""

    def alive(self, name: str) -> bool:
        """Is it there, and does it hold, where that is told?"""
        return name not in self.lost and name not in self.dead

    def ink(self, name: str) -> str:
        """What a single point is filled with: lighter where it is accepted."""
        return colours.ACCEPTED if name in self.taken else colours.INK

    def called(self, *names: str) -> dict[str, str]:
        """What a node or line is told by, where the picture is asked about."""
        told = [self.ids[name] for name in names if name in self.ids]
        return {"class": " ".join(dict.fromkeys(told))} if told else {}

    def cell(self, name: str) -> str:
        """The same for a cell of a table."""
        return f' ID="{self.ids[name]}" HREF="#" TITLE=" "' if name in self.ids else ""


def contact_name(a: str, b: str) -> str:
    return f"{min(a, b)} - {max(a, b)}"


def intact(result: Result) -> Marks:
    """Nothing has failed: mark what would drop someone by itself."""
    marks = Marks()
    rig = result.rig
    _singles(rig, result.states[0].outcome, marks)
    _held(rig, result.states[0].outcome, marks)
    _shaking(result.states[0].outcome, marks)
    for cause in rig.failures:
        if cause.mode == "strikes" and cause.part in marks.single:
            for struck in sorted(frozenset[str]().union(*cause.effects.groups)):
                _note(marks, struck, f"in cause: {cause.part}")
    _judged(rig, marks)
    marks.taken = _taken(rig, result.states[0].outcome)
    bodies = [body for body in rig.bodies if body.nature in (Nature.PERSON, Nature.LITTER)]
    marks.empty = frozenset(point for body in bodies for point in free_points(rig, body.name))
    few = (one for one in result.states[0].outcome.bodies if hangs_by_one(one))
    marks.wanted = frozenset(point for one in few for point in free_points(rig, one.name))
    hanging = (one.name for one in result.states[0].outcome.bodies if one.fate.kind is Kind.BY_A_PERSON)
    marks.holders = {name: holder(rig, name) for name in hanging}
    return marks


def _taken(rig: Rig, outcome: Outcome) -> frozenset[str]:
    """Single points, and bodies that hang on one, of which the file accepts every failure."""
    accepted = {one.failure for one in rig.accepted}
    dropping = [one for one in outcome.failures if one.falls]
    left = [one for one in dropping if one.id not in accepted]
    found = {name for one in dropping for name in (one.part, *one.falls)}
    return frozenset(found - {name for one in left for name in (one.part, *one.falls)})


def after(result: Result, failing: Sequence[Failure]) -> Marks:
    """These failures have happened: mark what is lost and what becomes of the bodies."""
    marks = Marks(failing=tuple(failure.id for failure in failing))
    rig = result.rig
    effects = Effects.joint(failure.effects for failure in failing)
    for name in sorted(effects.gone):
        marks.lost[name] = _gone(rig.parts[name])
    for name in sorted(effects.ungripped - effects.gone):
        marks.lost[name] = "SLIPPED"
    for span in sorted(effects.cut):
        marks.lost[span] = "CUT"
    for name in sorted(effects.cutting):
        marks.lost[name] = "CUTS"
        marks.lost |= dict.fromkeys(_severed(rig, name, effects), f"CUT at {name}")
    for name in sorted(effects.open_hands):
        marks.lost[name] = "LETS GO"
    for name in sorted(effects.unfooted):
        marks.lost[name] = "LOST FOOTING, LETS GO"
    _fates(result, what_if(rig, failing), marks)
    left = assess(rig, already=effects)
    _singles(rig, left, marks, before={one.part for one in result.failures if one.falls})
    _held(rig, left, marks)
    marks.dead = _dead(rig, {*marks.lost})
    _judged(rig, marks)
    return marks


def _singles(rig: Rig, outcome: Outcome, marks: Marks, before: Set[str] | None = None) -> None:
    """What would drop somebody by itself; `before`: what would have, before anything failed."""
    for name, modes in _by_part(outcome).items():
        if name in marks.lost:
            continue
        word = SINGLE if before is None or name in before else f"NOW {SINGLE}"
        marks.single[name] = []
        for (falls, first), said in modes.items():
            how = "" if first in PLAIN_MODES or _only_slips(rig, name) else f" ({' or '.join(said)})"
            marks.single[name].append(f"{word}{how}: {who_falls(falls, len(rig.bodies))}")


def _shaking(outcome: Outcome, marks: Marks) -> None:
    """After which single failures somebody is held all the same, and not still: `if gone, sam drops, held`."""
    modes: dict[tuple[str, str], list[str]] = {}
    for one, effect in effects(outcome):
        if effect.what and not effect.drops:
            told = [f"{together(each.bodies)} {in_few_words(each.fate, len(each.bodies) > 1)}" for each in effect.what]
            modes.setdefault((one.part, "; ".join(told)), []).append(one.mode)
    for (part, words), several in modes.items():
        lost = "lost" if len(several) > 1 and NO_MORE.issuperset(several) else ""
        when = dict.fromkeys(IF_SO.get(mode, f"it {mode}") for mode in several)
        _note(marks, part, f"if {lost or ' or '.join(when)}, {words}")


def _held(rig: Rig, outcome: Outcome, marks: Marks) -> None:
    """By what everybody is held, by rope and anchor: the independent ways first, then what would hold as well after
    a failure that leaves them held."""
    marks.held |= held_rows(rig, outcome)


def held_rows(rig: Rig, outcome: Outcome) -> dict[str, list[str]]:
    """By what everybody is held, by rope and anchor, a row a way: `by red → left-bolt`, `or by green → right-bolt`."""
    found = {}
    for body in outcome.bodies:
        ways = outcome.review.enough_ways(body.name, 1) if body.held else ()
        told: dict[str, str] = {}
        for k, way in enumerate(ways):
            told.setdefault(in_short(rig, body.name, way), "by" if k < len(body.ways) else "or by")
        rows = [f"{by} {way}" for way, by in told.items()]
        more = [f"and {len(rows) - MOST_WAYS} ways more"] if len(rows) > MOST_WAYS + 1 else rows[MOST_WAYS:]
        found[body.name] = [*rows[:MOST_WAYS], *more]
    return found


def _dead(rig: Rig, lost: set[str]) -> frozenset[str]:
    """What leads from no ground to a body any more, and did before."""
    return frozenset(_loose(rig, lost) - _loose(rig, set()) - lost)


def _loose(rig: Rig, gone: set[str]) -> set[str]:
    """Parts and spans that hang on nothing at one end: cut back until what is left leads somewhere at both."""
    near: dict[str, set[str]] = {name: set() for name in (*rig.parts, *rig.index.spans) if name not in gone}

    def meet(one: str, other: str) -> None:
        if one in near and other in near:
            near[one].add(other)
            near[other].add(one)

    for contact in rig.bearing:
        meet(contact.a, contact.b)
    for span, at in rig.index.spans.items():
        meet(span, at.part)
        meet(span, at.rope.stations[at.number + 1].part)
    for part in rig.parts.values():
        for foot in part.needed:
            meet(part.name, foot)
    ends = {part.name for part in rig.parts.values() if part.is_body or part.nature is Nature.GROUND}
    carries = {name for name in near if name not in rig.parts or rig.parts[name].nature in CARRIES}
    loose: set[str] = set()
    stack = [name for name in sorted(carries - ends) if len(near[name]) < 2]
    while stack:
        name = stack.pop()
        if name in loose:
            continue
        loose.add(name)
        for other in sorted(near[name]):
            near[other].discard(name)
            if other in carries - ends and len(near[other]) < 2:
                stack.append(other)
    return loose


def _by_part(outcome: Outcome) -> dict[str, dict[tuple[tuple[str, ...], str], list[str]]]:
    """Per part: who falls, and the modes after which they do; a plain mode stands for the others."""
    found: dict[str, dict[tuple[tuple[str, ...], str], list[str]]] = {}
    held = {body.name for body in outcome.bodies if body.held}  # whoever isn't needs no failure to fall
    for one in outcome.failures:
        falls = tuple(name for name in one.falls if name in held)
        if not falls:
            continue
        modes = found.setdefault(one.part, {})
        same = next((key for key in modes if key[0] == falls), None)
        modes.setdefault(same or (falls, one.mode), []).append(one.mode)
    return found


def _only_slips(rig: Rig, name: str) -> bool:
    part = rig.parts.get(name)
    return part is not None and part.nature in (Nature.KNOT, Nature.STOPPER)


def _judged(rig: Rig, marks: Marks) -> None:
    for word, group in (("assumed sound", rig.sound), ("accepted risk", rig.accepted)):
        for one in group:
            name, _, mode = one.failure.partition(" ")
            plain = mode in PLAIN_MODES or _only_slips(rig, name)
            _note(marks, name, word if plain else f"{word} ({mode})")


def _note(marks: Marks, name: str, words: str) -> None:
    if words not in marks.notes.setdefault(name, []):
        marks.notes[name].append(words)


def _gone(part: Part) -> str:
    if part.nature in (Nature.KNOT, Nature.STOPPER):
        return "SLIPPED"
    return "SHIFTED" if part.nature is Nature.PAD else GONE


def _severed(rig: Rig, edge: str, effects: Effects) -> list[str]:
    """The spans on both sides of each bare passage over an edge that cuts."""
    found: list[str] = []
    for rope in rig.ropes:
        for k, station in enumerate(rope.stations):
            if station.part == edge and not guards_left(rig, station, effects):
                found += rope.spans[max(k - 1, 0) : k + 1]
    return found


def guards_left(rig: Rig, station: Station, effects: Effects) -> tuple[str, ...]:
    """What still keeps a rope off the edge it passes; empty for other stations."""
    if station.role is not Role.OVER:
        return ()
    guards = [*station.guards, *rig.parts[station.part].guards]
    return tuple(guard for guard in dict.fromkeys(guards) if guard not in effects.gone)


def _fates(result: Result, scenario: Scenario, marks: Marks) -> None:
    known = next((one for one in result.failures if (one.id,) == marks.failing), None)
    for name, fate in scenario.fates:
        words = "held" if fate.kind is Kind.HELD else loudly(fate)
        if known and name in known.down_to_one and not fate.not_held:
            words += ", one failure from not being held"
        marks.fates[name] = words
        if fate.not_held:
            marks.dropped.append(name)
