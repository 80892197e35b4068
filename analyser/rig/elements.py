"""What a rig is made of: parts, contacts, ropes, and what can happen to them.

Everything here is frozen and complete: names are resolved, loaded sides are known, every number
carries its unit. Lengths are metres, masses kilograms, forces newtons, angles degrees inside `Quantity.si`.
"""

from __future__ import annotations

import functools
import operator
from collections.abc import Collection, Iterable
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import takewhile

from analyser.language.identities import FailureId, Label, Span
from analyser.language.mistakes import Place
from analyser.language.natures import BODIES as BODIES
from analyser.language.natures import Nature as Nature
from analyser.rig.figures import as_place


class Maker(StrEnum):
    """What put a part into the rig."""

    FILE = "file"
    LANDING = "landing"
    """A step that lands a body: the ground under it, which does not fail."""
    SLIP = "slip"
    """A contact taken as a part of its own, so that it can be missing (`uses/incident/slips.py`)."""


class Role(StrEnum):
    """What a rope does at one of its stations."""

    TIE = "tie"
    RUN = "run"
    OVER = "over"
    GRIP = "grip"
    HAND = "hand"
    STOPPER = "stopper"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number as written, with its unit, and the same in SI.

    `percent_at` is set for `stretch 3 % at 150 kg`: the load at which the stretch was measured.
    `band` is set for `80 to 110 kg`: its two ends in SI; `si` is then their middle.
    """

    text: str
    si: float
    unit: str
    percent_at: Quantity | None = None
    band: tuple[float, float] | None = None
    numbers: tuple[str, ...] = ()
    """As written: of a band its two ends."""

    @property
    def least(self) -> float:
        """The lower end of a band; of one figure, the figure."""
        return self.band[0] if self.band else self.si

    @property
    def most(self) -> float:
        """The upper end of a band; of one figure, the figure."""
        return self.band[1] if self.band else self.si


@dataclass(frozen=True, slots=True)
class Need:
    """A group of which a part with needs must have at least `count` anchored."""

    count: int
    parts: tuple[str, ...]
    words: str
    laced: bool = False
    """Named by `needs` or `in line`: no leg that pushes and no guy that pulls tells how it shares the load."""
    row: bool = False
    """Each is laced back to the next: the frame stands while the first does, and gives with any other gone."""

    @property
    def bearing(self) -> tuple[str, ...]:
        """Those of which `count` must be anchored for the frame to stand at all: of a row the first."""
        return self.parts[:1] if self.row else self.parts

    def asked(self, *, still: bool) -> tuple[int, tuple[str, ...]]:
        """How many of which must be anchored: to stand, and (`still`) to stand without giving."""
        return (len(self.parts) or 1, self.parts) if self.row and still else (self.count, self.bearing)

    def without(self, off: Collection[str]) -> Need:
        """What is left of it: behind a gap in a row nothing is laced to the rest."""
        kept = (takewhile if self.row else filter)(lambda one: one not in off, self.parts)
        return replace(self, parts=tuple(kept))


MADE_EYES = frozenset({"splice", "sewn-eye"})
"""Kinds of eyes that come with the rope."""


@dataclass(frozen=True, slots=True)
class Part:
    """One thing in the rig. Names of other parts are full names (`sam.waist`)."""

    name: str
    kind: str
    nature: Nature
    place: Place
    body: str | None = None
    """The body a point or harness belongs to."""
    point: str = ""
    """A plain point's own name, without its body's: `waist`."""
    made_by: Maker = Maker.FILE
    points: tuple[str, ...] = ()
    """A body's points and harnesses, by full name."""
    ends: tuple[tuple[str, ...], tuple[str, ...]] | None = None
    """The two ends of a body (or bar) that can tip, as full point names."""
    sides: tuple[tuple[str, ...], tuple[str, ...]] | None = None
    """Its two sides, likewise: it tips over a side as over an end."""
    below: bool | None = None
    """Under the bodies? None when the file does not say."""
    below_for: tuple[str, ...] = ()
    """Bodies under which this ground lies, where it is told for them alone."""
    holds_only: tuple[str, ...] = ()
    """Of the ground under what has landed, the bodies on it: it holds nobody else."""
    standing: bool = False
    exposed: bool = False
    operated_by: str | None = None
    minded_by: str | None = None
    self_locking: bool = False
    in_hand: bool = False
    """A device that its operator has in hand: a self-locking one grips when let go, not while held on to."""
    anti_panic: bool = False
    """A device that grips as well when its operator holds on."""
    held_open: bool = False
    lowers: bool = False
    """By itself, at a limited speed: until it is locked off, what hangs on its rope alone is let down."""
    """A device that does not grip in this state, whoever lets go."""
    stands_on: str | None = None
    """What hangs, and a person stands on: their feet hold them while it is held and level."""
    hitch: str = ""
    """How a sling lies round what it is attached to: `choked`, in a `basket`, or nobody says."""
    laid_round: str | None = None
    """What it lies in a basket round: it holds there while both its ends are attached."""
    carries_through: bool = False
    """A harness that holds, as a joint, what is attached to it (its wearer still holds nobody)."""
    arrests: bool = False
    """Carries nothing until somebody falls on it: a fall arrester, an absorber that deploys."""
    both_ways: bool = False
    """Does it grip either way, whichever side is loaded?"""
    needs: tuple[Need, ...] = ()
    guards: tuple[str, ...] = ()
    """For an edge: what keeps every rope off it."""
    at: tuple[float, float, float] | None = None
    off: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Metres by which its place may be off either way, where it is given as a band."""
    quantities: tuple[tuple[str, Quantity], ...] = ()
    """Strength, length, diameter, mass, stretch, slips at, slips up to, loss, friction, efficiency,
    likelihood, minor axis, gate open, as given or by kind."""
    note: str | None = None
    source: str | None = None
    """Where its figures come from."""
    rope: str | None = None
    """For a knot or stopper: the rope it is in."""
    family: tuple[str, ...] = ()
    """Its kind and the kinds that it stands on, nearest first."""
    locking: bool | None = None
    """Does its gate lock? None when the file does not say."""
    part_of: tuple[str, ...] = ()
    """Structures (or other parts) with which it goes."""
    near: tuple[str, ...] = ()
    """Hazards that can reach it."""
    across: tuple[str, ...] = ()
    """Edges that it lies across."""
    gear_only: bool = False
    """Made for gear: it bears nobody (`holding/rules.md` section 1)."""
    adjustable: bool = False
    textile: bool = False
    room: int | None = None
    """The most parts it is made to hold."""
    takes: tuple[Quantity, Quantity] | None = None
    """The thinnest and the thickest rope it is made for."""
    directions: tuple[tuple[float, float, float], ...] = ()
    """The directions in which it may be pulled, as unit vectors, each within `within` degrees."""
    within: float = 0.0

    @property
    def place_words(self) -> str:
        """Where it is, as one writes it: `(0, 1.5, 12)`, `(-0.7 to -0.5, 0, 12)`."""
        return as_place(self.at or (), self.off)

    @property
    def made_before(self) -> bool:
        """An eye that is spliced or sewn at the works: nobody ties it on the day."""
        return self.nature is Nature.KNOT and not MADE_EYES.isdisjoint(self.family)

    @property
    def is_body(self) -> bool:
        return self.nature in BODIES

    @property
    def needed(self) -> tuple[str, ...]:
        """What it needs to stand, each once."""
        return tuple(dict.fromkeys(name for need in self.needs for name in need.parts))

    @property
    def holds_up(self) -> bool:
        """Ground that isn't `below`: it holds by itself what hangs from it."""
        return self.nature is Nature.GROUND and not self.below


@dataclass(frozen=True, slots=True)
class Contact:
    """Two parts that touch. `given` is False for a point on its body (a permanent contact)."""

    a: str
    b: str
    place: Place
    given: bool = True


@dataclass(frozen=True, slots=True)
class Station:
    """One station of a rope.

    `label` is its name in spans (`master#2` the second time). `to_start` and `to_end` say against
    which way of leaving the rope is gripped here: a tie grips both, a run neither, a one-way grip
    only towards its loaded side.
    """

    role: Role
    part: str
    label: Label
    place: Place
    to_start: bool = False
    to_end: bool = False
    guards: tuple[str, ...] = ()
    slack: Quantity | None = None
    """Slack in the span before this station."""
    tail: Quantity | None = None
    """The rope left over beyond a knot."""
    near: tuple[str, ...] = ()
    """Hazards that can reach the span before this station."""
    inside: tuple[str, ...] = ()
    """Sleeves round the span before this station."""
    loaded: tuple[bool, bool] | None = None
    """Of a device that a step opened: against which ways of leaving it gripped (to the start, to the end)."""
    ran_through: tuple[str, ...] = ()
    """Guards of this passage through which the rope ran until a step took it off them."""
    opened_by: str | None = None
    """Whose opening (`Effects.open_hands`) takes the rope off its part here: how a rope that runs
    through a body's point is detached when attachments are counted."""

    @property
    def one_way(self) -> bool:
        """Does it grip against one way of leaving only?"""
        return self.to_start != self.to_end


@dataclass(frozen=True, slots=True)
class Rope:
    """A rope from its start to its end. `spans[k]` is the stretch from station k to station k+1."""

    name: str
    place: Place
    stations: tuple[Station, ...]
    spans: tuple[Span, ...]
    closed: bool = False
    quantities: tuple[tuple[str, Quantity], ...] = ()
    note: str | None = None
    kind: str = "rope"
    source: str | None = None
    """Where its figures come from."""
    grounded: tuple[bool, bool] = (False, False)
    """Is the free end at its start, at its end, on the ground?"""
    spare_below: bool | None = None
    """Does rope in reserve lie below its lower end (False: in the bag above)? None where the file doesn't say."""
    tag_line: bool = False
    """It steers: nobody is ever held by it."""

    def ends_at(self, k: int) -> bool:
        """Is this the first or the last of its stations?"""
        return not self.closed and k in (0, len(self.stations) - 1)


@dataclass(frozen=True)
class Effects:
    """What a failure does. Each field is a set of names; the union of effects is fieldwise."""

    gone: frozenset[str] = frozenset()
    """Parts that are no longer there."""
    ungripped: frozenset[str] = frozenset()
    """Grips that no longer grip rope."""
    open_hands: frozenset[str] = frozenset()
    """People whose bare hands are open."""
    unfooted: frozenset[str] = frozenset()
    """People who no longer stand."""
    cut: frozenset[str] = frozenset()
    """Spans that are severed."""
    cutting: frozenset[str] = frozenset()
    """Edges that sever what is not guarded from them."""

    @property
    def groups(self) -> tuple[frozenset[str], ...]:
        """The fields, in their order."""
        return (self.gone, self.ungripped, self.open_hands, self.unfooted, self.cut, self.cutting)

    @functools.cached_property
    def befallen(self) -> tuple[tuple[int, str], ...]:
        """Everything that it does: the number of the field, and a name in it."""
        return tuple((k, name) for k, group in enumerate(self.groups) for name in sorted(group))

    @property
    def anything(self) -> bool:
        return any(self.groups)

    def touch(self, names: AbstractSet[str]) -> bool:
        """Does any effect befall one of these parts or spans?"""
        return not all(names.isdisjoint(group) for group in self.groups)

    def within(self, names: AbstractSet[str]) -> Effects:
        """What befalls these parts and spans."""
        return Effects(*(group & names for group in self.groups))

    def __or__(self, other: Effects) -> Effects:
        return Effects(*(mine | theirs for mine, theirs in zip(self.groups, other.groups, strict=True)))

    @classmethod
    def joint(cls, several: Iterable[Effects]) -> Effects:
        """All of these together."""
        return functools.reduce(operator.or_, several, cls())


@dataclass(frozen=True, slots=True)
class Failure:
    """One event with one name (`left-bolt fails`), and what it does."""

    id: FailureId
    effects: Effects
    place: Place
    likelihood: float | None = None
    """Its probability, where the file gives one; nothing is ever assumed."""

    @property
    def part(self) -> str:
        return self.id.part

    @property
    def mode(self) -> str:
        return self.id.mode
