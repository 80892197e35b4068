"""What a rig is once it has been read: its pieces, and what is asked of them.

A rig is never edited; a failure is a set of effects laid over it.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar

from analyser.language.identities import FailureId, Revision
from analyser.language.mistakes import Place
from analyser.language.syntax import STILL, StepLine
from analyser.rig.elements import (
    BODIES,
    Contact,
    Effects,
    Failure,
    Maker,
    Nature,
    Need,
    Part,
    Quantity,
    Role,
    Rope,
    Station,
)
from analyser.rig.figures import USUAL, Units
from analyser.rig.index import Index

if TYPE_CHECKING:
    import networkx

__all__ = [
    "BODIES", "Caution", "Contact", "Effects", "Failure", "Judged", "Maker", "Nature", "Need", "Observation", "Part",
    "Quantity", "Requirement", "Rig", "Role", "Rope", "Stage", "Station", "Step", "Waived", "Witness",
    "reasons",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Judged:
    """A failure that the file takes as impossible (`sound`) or as accepted, and why."""

    failure: FailureId
    reason: str
    place: Place


def reasons(judged: Iterable[Judged]) -> dict[str, str]:
    """The reason for each failure that was judged."""
    return {one.failure: one.reason for one in judged}


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
    `no-frame-tips`, `no-turning-over`, `drop`, `force`, `head-up`, `connectors-lock`, `edges-padded`, `ends-stopped`,
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
    """One step of a stage as the file has it, and the rig after it."""

    line: StepLine
    rig: Rig

    @property
    def verb(self) -> str:
        return self.line.verb

    @property
    def words(self) -> str:
        """As written."""
        return self.line.words

    @property
    def place(self) -> Place:
        return self.line.place

    @property
    def text(self) -> str:
        """What a hold point, a call or a remark says."""
        return self.line.text

    @property
    def about(self) -> str:
        """The part, body or rope that the step is done to."""
        return self.line.about

    @property
    def still(self) -> bool:
        """Does it change nothing?"""
        return self.line.verb in STILL

    def done_by(self, before: Rig) -> tuple[str, ...]:
        """Who does it, where the file says: who is named, else who works the device, or the devices and hands
        on a rope."""
        if self.line.by:
            return tuple(word.text for word in self.line.by)
        if self.verb not in BY_HAND:
            return ()
        found: list[str | None] = []
        for name in self.line.lengthened or (self.about,):
            part, rope = before.parts.get(name), before.index.ropes.get(name)
            found += [part.operated_by] if part else []
            stations = rope.stations if rope and not part else ()
            found += [before.parts[s.part].operated_by for s in stations if s.role is Role.GRIP]
            found += [s.part for s in stations if s.role is Role.HAND]
        return tuple(dict.fromkeys(one for one in found if one))


BY_HAND = ("lock off", "take in hand", "open", "hold open", "let grip", "take in", "pay out", "slide")
"""Steps that whoever works a device, or holds a rope, does themselves."""


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
    """One state of a rig, complete.

    >>> import analyser
    >>> rig = analyser.read_text('rig "One bolt"\\nanchor bolt\\nperson sam: points waist\\n'
    ...                          'attach bolt - carabiner crab - sam.waist\\n')
    >>> [failure.id for failure in rig.failures]
    ['bolt fails', 'crab fails']
    >>> sorted(rig.graph.nodes)
    ['bolt', 'crab', 'sam', 'sam.waist']
    """

    title: str
    revision: Revision | None
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
    notes: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    """What is odd in the file: told of the rig as first attached."""
    units: Units = USUAL
    """What its figures are printed in."""
    hands_off: Effects = field(default_factory=Effects)
    """What happens when every person lets go at once."""
    origin: Rig | None = field(default=None, repr=False, compare=False)
    """The rig as first attached, where this is a later state of it: what held an end once is asked there."""
    stages: ClassVar[tuple[Stage, ...]] = ()
    """What is to come: a plan's alone (`plan.py`), as is what was observed."""
    observations: ClassVar[tuple[Observation, ...]] = ()

    @property
    def alone(self) -> Rig:
        """This state by itself: what is sent to another process, or looked at without what is to come."""
        return self

    @property
    def digest(self) -> str:
        """Of a plan: what a signature names. Empty of a state by itself."""
        return ""

    def __getstate__(self) -> dict[str, object]:
        """What was read, without what was looked up in it."""
        return {one.name: getattr(self, one.name) for one in fields(self)}

    @functools.cached_property
    def bodies(self) -> tuple[Part, ...]:
        """What must stay held: people first, then litters and loads, each by name.

        People who stand where they cannot fall (`standing`, not `exposed`) are not among them.
        """
        found = [p for p in self.parts.values() if p.is_body and not (p.standing and not p.exposed)]
        return tuple(sorted(found, key=lambda p: (BODIES.index(p.nature), p.name)))

    @functools.cached_property
    def index(self) -> Index:
        """Its pieces by name, what touches what, and how far something reaches."""
        return Index(self.parts, self.contacts, self.ropes, self.failures)

    @property
    def bearing(self) -> tuple[Contact, ...]:
        return self.index.bearing

    @functools.cached_property
    def stood_on(self) -> frozenset[str]:
        """What any frame needs to stand."""
        return frozenset(name for part in self.parts.values() for name in part.needed)

    @property
    def touching(self) -> Mapping[str, tuple[str, ...]]:
        return self.index.touching

    @functools.cached_property
    def graph(self) -> networkx.MultiGraph:
        """The rig as a networkx graph: parts as nodes, contacts and rope spans as edges.

        Nodes carry `kind`, `nature`, `line`, `body`; edges carry `via` ("contact", "point" for a body's own
        point, "needs" or a span between the parts of two neighbouring stations) and `rope` (its name or None).
        For notebooks, drawing and the algorithms networkx has: the failure search does not run on it.
        """
        import networkx

        graph = networkx.MultiGraph(title=self.title, revision=self.revision)
        for part in self.parts.values():
            graph.add_node(part.name, kind=part.kind, nature=str(part.nature), line=part.place.line, body=part.body)
        for contact in self.contacts:
            graph.add_edge(contact.a, contact.b, via="contact" if contact.given else "point", rope=None)
        for part in self.parts.values():
            for need in part.needs:
                for foot in need.parts:
                    graph.add_edge(part.name, foot, via="needs", rope=None)
        for rope in self.ropes:
            for span, (one, other) in zip(rope.spans, pairwise(rope.stations), strict=True):
                graph.add_edge(one.part, other.part, via=span, rope=rope.name)
        return graph
