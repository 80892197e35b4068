"""The statements of a rig file as plain data, each word with its place. Names follow rig.lark."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass

from analyser.language.identities import CUT, Cut, FailureId, Span
from analyser.language.mistakes import Place


@dataclass(frozen=True, slots=True)
class Word:
    """A name, number or text as written (quotes taken off)."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Measure:
    """A number and its unit. `upper` is the other end of a band: `80 to 110 kg`."""

    number: str
    unit: str
    place: Place
    upper: str | None = None

    @property
    def text(self) -> str:
        return f"{written(self.number, self.upper)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Attribute:
    """One attribute. `words` is its list (`points waist, chest`), `far` the list behind a `|`, `upper`
    for each of its numbers the other end of a band (None: it is one figure), `unit` that of a place where one is
    written."""

    key: str
    place: Place
    words: tuple[Word, ...] = ()
    far: tuple[Word, ...] = ()
    measure: Measure | None = None
    numbers: tuple[str, ...] = ()
    text: str | None = None
    upper: tuple[str | None, ...] = ()
    unit: Word | None = None


def written(number: str, upper: str | None) -> str:
    """A number, or a band of them, as it stands in a file."""
    return number if upper is None else f"{number} to {upper}"


@dataclass(frozen=True, slots=True)
class Link:
    """One link of a chain: a known name, `carabiner left-crab (locking)`, or `a carabiner`."""

    place: Place
    name: Word | None = None
    kind: Word | None = None
    attributes: tuple[Attribute, ...] = ()


@dataclass(frozen=True, slots=True)
class Statement:
    place: Place


@dataclass(frozen=True, slots=True)
class Heading(Statement):
    """`rig`, `revision` or `note`, by `key`; `dated` is a revision's date as written."""

    key: str
    text: str
    dated: Word | None = None


@dataclass(frozen=True, slots=True)
class Include(Statement):
    file: Word


@dataclass(frozen=True, slots=True)
class UnitsAsked(Statement):
    """`units lbf, ft, lb`: what figures are printed in."""

    units: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class NewKind(Statement):
    name: Word
    like: Word
    attributes: tuple[Attribute, ...]


@dataclass(frozen=True, slots=True)
class Detail:
    """Attributes for some of the declared parts (`names` empty: for all of them)."""

    names: tuple[Word, ...]
    attributes: tuple[Attribute, ...]


@dataclass(frozen=True, slots=True)
class Declaration(Statement):
    kind: Word
    names: tuple[Word, ...]
    details: tuple[Detail, ...]


@dataclass(frozen=True, slots=True)
class More(Statement):
    """More attributes for parts that are declared elsewhere."""

    details: tuple[Detail, ...]


@dataclass(frozen=True, slots=True)
class Attach(Statement):
    chain: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Interlock(Statement):
    knots: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class RopeStation:
    """`role` is the first word: tied, again, through, over, gripped, held, stopper, joined, closed; empty where a
    step puts a part on a rope, and what the part is tells it. `also` are further chains that the same knot is tied to,
    `to` the rope that this one is joined to, at its `side`: start or end.

    `near` and `inside` are the hazards near the span before it, and the sleeves round it; `clear` are
    those of its guards that were written `kept clear by`."""

    role: str
    place: Place
    chain: tuple[Link, ...] = ()
    knot: Word | None = None
    name: Word | None = None
    guards: tuple[Word, ...] = ()
    clear: frozenset[str] = frozenset()
    load_from: Word | None = None
    tail_towards: Word | None = None
    both_ways: bool = False
    slack: Measure | None = None
    tail: Measure | None = None
    near: tuple[Word, ...] = ()
    inside: tuple[Word, ...] = ()
    also: tuple[tuple[Link, ...], ...] = ()
    to: Word | None = None
    side: str = ""

    @property
    def links(self) -> tuple[Link, ...]:
        """The links of all its chains."""
        return tuple(link for chain in (self.chain, *self.also) for link in chain)


@dataclass(frozen=True, slots=True)
class Onto:
    """Where on a rope a step puts a part: between two stations of it, and how the rope meets it there. The
    station's chain begins with that part. `clear_of` are edges that it keeps the rope clear of."""

    rope: Word
    between: tuple[Word, Word]
    station: RopeStation
    clear_of: tuple[Word, ...] = ()


@dataclass(frozen=True, slots=True)
class RopeLine(Statement):
    """`loose` are lines about a span that no station follows."""

    name: Word
    attributes: tuple[Attribute, ...]
    stations: tuple[RopeStation, ...]
    loose: tuple[Attribute, ...] = ()


@dataclass(frozen=True, slots=True)
class FailureName:
    """A failure as written; `mode` is empty for a bare name (every failure of that part). Of a rope that is cut
    `between` are the two stations between which, where that is said."""

    part: str
    mode: str
    place: Place
    between: tuple[str, ...] = ()

    @property
    def id(self) -> FailureId:
        if self.mode == CUT and not isinstance(self.part, Span):
            return Cut(self.part, *self.between)
        return FailureId(self.part, self.mode)


@dataclass(frozen=True, slots=True)
class Cause(Statement):
    name: Word
    failures: tuple[FailureName, ...]
    likelihood: Word | None = None


@dataclass(frozen=True, slots=True)
class Chance(Statement):
    """`likelihood FAILURE…: 1e-4`."""

    failures: tuple[FailureName, ...]
    likelihood: Word


@dataclass(frozen=True, slots=True)
class Judgement(Statement):
    """`sound`, `accept` or `latent`, by `key`."""

    key: str
    failures: tuple[FailureName, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Waiver(Statement):
    """`accept RULE on PART…: "reason"`: a finding that is accepted."""

    rule: Word
    names: tuple[Word, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Require(Statement):
    """A requirement; `rule` names it, `text` is the line as written. `measure` is its limit with a
    unit (`1 m`, `6 kN`), `between` the two numbers of `head-up` and their unit."""

    rule: str
    text: str
    names: tuple[Word, ...]
    number: Word | None
    stage: Word | None
    except_stage: Word | None
    measure: Measure | None = None
    between: tuple[Word, ...] = ()


@dataclass(frozen=True, slots=True)
class Told(Statement):
    """Who told an observed fact, and how sure: `seen`, `said` or `inferred`."""

    sure: str
    by: str | None


@dataclass(frozen=True, slots=True)
class Fact(Statement):
    """An observed fact, by `verb`: fell, caught (`fell NAME, then held`), stayed, found, intact, not, at, between,
    before, note.

    `names` are those of fell, caught, stayed and intact; `failure` that of found and not; `numbers` the steps
    of at and between; `text` a reason, a stage's title or a remark; `words` are without who told it.
    """

    verb: str
    words: str
    names: tuple[Word, ...] = ()
    failure: FailureName | None = None
    numbers: tuple[Word, ...] = ()
    text: Word | None = None
    told: tuple[Told, ...] = ()


STILL = ("check", "say", "note")
"""The verbs of steps that change nothing."""
LENGTHS = ("take in", "pay out")
"""Of those that change lengths, of one rope or of several together."""


@dataclass(frozen=True, slots=True)
class StepLine(Statement):
    """A step of a stage, by `verb`: attach, detach, rerig, derig, lock off, take in hand, open, hold open, let
    grip, take in, pay out, slide, land, lift, move, check, say, note, rope, declare. `names` are what it is done
    to, `others` what to detach from, the rope to slide along, or the station to slide past; `onto` where an
    attached part goes on a rope; `unit` that of a position where one is written; `by` who does it."""

    verb: str
    words: str
    names: tuple[Word, ...] = ()
    others: tuple[Word, ...] = ()
    chain: tuple[Link, ...] = ()
    measure: Measure | None = None
    position: tuple[str, ...] = ()
    unit: Word | None = None
    text: str = ""
    rope: RopeLine | None = None
    declaration: Declaration | None = None
    onto: Onto | None = None
    by: tuple[Word, ...] = ()

    @property
    def about(self) -> str:
        """The part, body or rope that the step is done to; empty where it changes nothing."""
        if self.rope:
            return self.rope.name.text
        names = self.declaration.names if self.declaration else self.names
        return names[0].text if names else ""

    @property
    def lengthened(self) -> tuple[str, ...]:
        """The ropes and straps whose length it changes, all by as much."""
        return tuple(word.text for word in self.names) if self.verb in LENGTHS else ()

    @property
    def named(self) -> tuple[str, ...]:
        """Every name in the step's own line."""
        return tuple(word.text for word in words_in(self) if word.place.line == self.place.line)


@dataclass(frozen=True, slots=True)
class StageBlock(Statement):
    title: str
    steps: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class ObservedBlock(Statement):
    facts: tuple[Fact, ...]


def links_of(statement: Statement) -> Iterator[Link]:
    """The links of a chain, or of all chains of a rope."""
    if isinstance(statement, Attach):
        yield from statement.chain
    elif isinstance(statement, RopeLine):
        for station in statement.stations:
            yield from station.links


def words_in(value: object) -> Iterator[Word]:
    """Every word of a statement, or of a piece of one, in the order of its fields."""
    if isinstance(value, Word):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from words_in(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from words_in(getattr(value, field.name))
