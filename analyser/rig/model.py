"""What a rig is once it has been read: its pieces, and what is asked of them.

A rig is never edited; a failure is a set of effects laid over it.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from analyser.language.identities import FailureId
from analyser.language.mistakes import Place
from analyser.rig.index import Index
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

if TYPE_CHECKING:
    import networkx

    from analyser.rig.building import Site

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
    def index(self) -> Index:
        """Its pieces by name, what touches what, and how far something reaches."""
        return Index(self.parts, self.contacts, self.ropes, self.failures)

    @property
    def bearing(self) -> tuple[Contact, ...]:
        return self.index.bearing

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
