"""What a rig is once it has been read: parts, contacts, ropes, and what is asked of them.

Everything here is frozen and complete: names are resolved, loaded sides are known, every number
carries its unit. A rig is never edited; a failure is a set of effects laid over it.
Lengths are metres, masses kilograms, forces newtons, angles degrees inside `Quantity.si`.
"""

from __future__ import annotations

import functools
import operator
from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from analyser.language.mistakes import Place

if TYPE_CHECKING:
    import networkx

    from analyser.rig.building import Site


class Nature(StrEnum):
    """What a part does, whatever its kind is called (`holding/rules.md` section 1)."""

    GROUND = "ground"
    JOINT = "joint"
    PULLEY = "pulley"
    GRIP = "grip"
    KNOT = "knot"
    STOPPER = "stopper"
    EDGE = "edge"
    PAD = "pad"
    FRAME = "frame"
    PERSON = "person"
    LITTER = "litter"
    LOAD = "load"
    POINT = "point"
    HARNESS = "harness"
    STRUCTURE = "structure"
    ROPE = "rope"


BODIES = (Nature.PERSON, Nature.LITTER, Nature.LOAD)
"""The natures of what must stay held."""


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


@dataclass(frozen=True, slots=True)
class Part:
    """One thing in the rig. Names of other parts are full names (`sam.waist`)."""

    name: str
    kind: str
    nature: Nature
    place: Place
    body: str | None = None
    """The body a point or harness belongs to."""
    points: tuple[str, ...] = ()
    """A body's points and harnesses, by full name."""
    ends: tuple[tuple[str, ...], tuple[str, ...]] | None = None
    """The two ends of a body that can tip, as full point names."""
    below: bool | None = None
    """Under the bodies? None when the file does not say."""
    standing: bool = False
    exposed: bool = False
    operated_by: str | None = None
    minded_by: str | None = None
    self_locking: bool = False
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
        ends = zip(self.at or (), self.off, strict=True)
        return "({})".format(", ".join(f"{x - d:g} to {x + d:g}" if d else f"{x:g}" for x, d in ends))

    @property
    def is_body(self) -> bool:
        return self.nature in BODIES

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
    label: str
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
    opened_by: str | None = None
    """Whose opening (`Effects.open_hands`) takes the rope off its part here: how a rope that runs
    through a body's point is detached when attachments are counted."""


@dataclass(frozen=True, slots=True)
class Rope:
    """A rope from its start to its end. `spans[k]` is the stretch from station k to station k+1."""

    name: str
    place: Place
    stations: tuple[Station, ...]
    spans: tuple[str, ...]
    closed: bool = False
    quantities: tuple[tuple[str, Quantity], ...] = ()
    note: str | None = None
    kind: str = "rope"
    source: str | None = None
    """Where its figures come from."""
    grounded: tuple[bool, bool] = (False, False)
    """Is the free end at its start, at its end, on the ground?"""


@dataclass(frozen=True, slots=True)
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

    id: str
    part: str
    mode: str
    effects: Effects
    place: Place
    likelihood: float | None = None
    """Its probability, where the file gives one; nothing is ever assumed."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A failure that the file takes as impossible (`sound`) or as accepted, and why."""

    failure: str
    reason: str
    place: Place


@dataclass(frozen=True, slots=True)
class Waived:
    """A finding that the file accepts: the rule, the part it is about, and why."""

    rule: str
    about: str
    reason: str
    place: Place


@dataclass(frozen=True, slots=True)
class Requirement:
    """One `require` line.

    `rule` is one of `independent`, `held`, `hands-off`, `not-by-person`, `level`, `strength`,
    `drop`, `force`, `head-up`, `connectors-lock`, `edges-padded`, `ends-stopped`,
    `anchors-strong`. `names` is empty for everyone (or every person for `independent`).
    """

    rule: str
    text: str
    place: Place
    names: tuple[str, ...] = ()
    number: int = 0
    limits: tuple[float, ...] = ()
    """Its figures in SI: a factor, a length, a force, or two angles in degrees."""
    stage: str | None = None
    except_stage: str | None = None
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a stage (`words` as written; `text` of a hold point, a call or a remark), and the
    whole rig after it."""

    verb: str
    words: str
    place: Place
    text: str
    rig: Rig


@dataclass(frozen=True, slots=True)
class Stage:
    title: str
    place: Place
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Witness:
    """Who told a fact (None: not said), and how sure: `seen`, `said` or `inferred`."""

    sure: str
    by: str | None


@dataclass(frozen=True, slots=True)
class Observation:
    """One fact of an `observed` block.

    `verb` is fell, stayed, found, intact, not, note, or `at` for when it happened. `names` are the
    bodies, the parts and spans, or the failures (by id) that it speaks of; `text` is a reason or a
    remark; `states` are the numbers of the states in which it can have happened, for `at`: 0 is the
    rig as first attached.
    """

    verb: str
    words: str
    place: Place
    names: tuple[str, ...] = ()
    text: str = ""
    told: tuple[Witness, ...] = ()
    states: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Caution:
    """Something odd in the file that is not an error. `rule` names the finding it becomes."""

    rule: str
    about: tuple[str, ...]
    text: str
    place: Place


@dataclass(frozen=True)
class Rig:
    """A complete rig.

    >>> import analyser
    >>> rig = analyser.read_text('rig "One bolt"\\nanchor bolt\\nperson sam: points waist\\n'
    ...                          'attach bolt - carabiner crab - sam.waist\\n')
    >>> [failure.id for failure in rig.failures]
    ['bolt fails', 'crab fails']
    >>> sorted(rig.graph.nodes)
    ['bolt', 'crab', 'sam', 'sam.waist']
    """

    title: str
    revision: str | None
    place: Place
    parts: dict[str, Part]
    contacts: tuple[Contact, ...]
    ropes: tuple[Rope, ...]
    failures: tuple[Failure, ...]
    """Every single failure that is possible, in order of id: sound ones left out."""
    sound: tuple[Judged, ...] = ()
    accepted: tuple[Judged, ...] = ()
    waived: tuple[Waived, ...] = ()
    latent: tuple[Judged, ...] = ()
    """Failures that may be there unseen, beside those that `findings/latent.py` knows."""
    requirements: tuple[Requirement, ...] = ()
    stages: tuple[Stage, ...] = ()
    observations: tuple[Observation, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    hands_off: Effects = field(default_factory=Effects)
    """What happens when every person lets go at once."""
    site: Site | None = field(default=None, repr=False, compare=False)
    """What it was put together with, of a whole rig with stages: its steps can be taken in another order."""

    @functools.cached_property
    def bodies(self) -> tuple[Part, ...]:
        """What must stay held: people first, then litters and loads, each by name.

        People who stand where they cannot fall (`standing`, not `exposed`) are not among them.
        """
        found = [p for p in self.parts.values() if p.is_body and not (p.standing and not p.exposed)]
        return tuple(sorted(found, key=lambda p: (BODIES.index(p.nature), p.name)))

    @functools.cached_property
    def bearing(self) -> tuple[Contact, ...]:
        """The contacts over which anything holds: none of a part that is made for gear only.

        A person's gear loop still hangs from the person, but the person never from it.
        """
        if not any(part.gear_only for part in self.parts.values()):
            return self.contacts
        return tuple(c for c in self.contacts if not (self.parts[c.a].gear_only or self.parts[c.b].gear_only))

    @functools.cached_property
    def touching(self) -> dict[str, tuple[str, ...]]:
        """What each part touches over contacts that were made and that bear: no body its own points."""
        found: dict[str, list[str]] = {name: [] for name in self.parts}
        for contact in self.bearing:
            if contact.given:
                found[contact.a].append(contact.b)
                found[contact.b].append(contact.a)
        return {name: tuple(sorted(others)) for name, others in found.items()}

    @functools.cached_property
    def graph(self) -> networkx.MultiGraph:
        """The rig as a networkx graph: parts as nodes, contacts and rope spans as edges.

        Nodes carry `kind`, `nature`, `line`; edges carry `via` ("contact", "point", "needs" or a span)
        and `rope`. For notebooks, drawing and the algorithms networkx has: the failure search
        does not run on it.
        """
        from analyser.rig.graph import as_graph

        return as_graph(self)
