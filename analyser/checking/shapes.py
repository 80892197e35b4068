"""The documents of a check, a scenario, a why and a ranking, and the shapes that other documents share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from msgspec.structs import replace

from analyser.checking.contract import Document, OfRig, Shape, lay
from analyser.checking.faring_shapes import FaringThen
from analyser.checking.finding import Severity
from analyser.checking.force_shapes import Followed, Forces, Overloaded
from analyser.checking.glance import Glance
from analyser.language.mistakes import Mistake

Sets = dict[str, tuple[tuple[str, ...], ...]]
"""By body: its minimal failure sets, the smallest first."""


class Wrong(Shape, kw_only=True):
    """A mistake in a file or in the call."""

    of: Literal["old", "new"] | None = None
    """Where two revisions are compared, in which it is."""
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]
    column: Annotated[int, "place.column"]
    end_column: Annotated[int, "place.end"]
    text: str
    help: str
    """What to write instead; empty where that isn't plain."""


class Glanced(Shape):
    """Who is held, where there was no time for more."""

    body: str
    fate: FateTold
    not_held_after: Annotated[tuple[str, ...] | None, "alone"]
    """Which single failures alone; null where there was no time to ask."""
    moved_by_some: Annotated[bool, "shaken"]
    """Does some single failure tip or drop it, held all the same?"""


class Errors(Document, kw_only=True):
    """Why nothing could be worked out."""

    document: Literal["errors"] = "errors"
    errors: tuple[Wrong, ...]
    held: tuple[Glanced, ...] = ()
    """Where a budget was spent: who is held in the rig as first attached, as far as was seen by then."""


def errors(mistakes: Iterable[Mistake], of: Literal["old", "new"] | None = None) -> Errors:
    """Mistakes as a document."""
    return Errors(errors=tuple(replace(lay(Wrong, one), of=of) for one in mistakes))


def stopped(mistake: Mistake, seen: Iterable[Glance]) -> Errors:
    """What was seen of a rig before the time was spent, as a document."""
    return replace(errors((mistake,)), held=tuple(lay(Glanced, one) for one in seen))


class Taken(Shape):
    """A failure that the file takes as impossible, or accepts."""

    failure: str
    reason: str
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]


class Waived(Shape):
    """A finding that the file accepts."""

    rule: str
    about: str
    reason: str
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]


What = Literal[
    "falls",
    "only by a person",
    "only by another's weight",
    "runs",
    "to the ground",
    "turns over",
    "tips",
    "drops",
    "slackens",
    "held",
]
"""What happens, the worst first; the first five are *not held*."""


class FateTold(Shape):
    """What happens to a body."""

    fate: Annotated[What, "kind"]
    to: tuple[str, ...]
    """Where it runs: the stoppers, knots or grips that it comes to; empty where it comes to nothing that is told."""
    drop_m: Annotated[float | None, "drop"]
    """By how much it comes to rest lower, where forces or lengths tell."""


class Holding(Shape):
    """A body, and how it is held with nothing more failed."""

    name: str
    kind: str
    held: bool
    only_by_person: bool
    tips: bool
    fate: FateTold
    attachments: int
    independent: int | None
    """None where no failure can drop it."""
    independent_exact: bool
    """False where there may be more: the search was cut short."""
    smallest_failure_set: int | None
    """0: it falls with nothing failed. None: no set exists up to the order searched."""


class WayHeld(Shape):
    """One way of being held."""

    legs: tuple[tuple[str, ...], ...]
    """The first runs to the body, each further one to a part of a leg before."""
    while_none_of: Annotated[tuple[str, ...], "needs"]
    """The failures that must not happen."""


class Body(Holding, kw_only=True):
    held_by: tuple[WayHeld, ...]
    """As many ways as are independent."""


class FailureTold(Shape):
    """One single failure, and what follows by the connections."""

    id: str
    part: str
    mode: str
    falls: tuple[str, ...]
    """Those *not held*: they fall, run, or hang only from a person or by another's weight."""
    runs: tuple[str, ...]
    only_by_person: tuple[str, ...]
    tips: tuple[str, ...]
    slackens: tuple[str, ...]
    down_to_one: tuple[str, ...]
    fate: Annotated[dict[str, FateTold], "fated"]
    """By body, of all that are not simply held."""


class HandsOff(Shape):
    """What follows when every hand lets go at once."""

    falls: Annotated[tuple[str, ...], "hands_off_falls"]
    only_by_person: Annotated[tuple[str, ...], "hands_off_only_by_person"]
    fate: Annotated[dict[str, FateTold], "hands_off.fated"]
    """By body, of all that are not simply held: the worst of what some hands, or all, let go of."""


class FindingTold(Shape):
    rule: str
    severity: Severity
    about: tuple[str, ...]
    bodies: tuple[str, ...]
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]
    accepted: str | None
    """The reason for which the file accepts it."""
    text: str
    mend: str | None


class StateWithinTold(Shape, kw_only=True):
    """A state within a step: a rope laid anew, a device off its rope, a rope out of what it runs through."""

    during: Literal[True] = True
    when: str
    """`while grab is off red`."""
    bodies: tuple[Body, ...]
    failures: tuple[FailureTold, ...]
    failure_sets: Sets
    hands_off: Annotated[HandsOff, "outcome"]


class StateTold(Shape):
    """One state: as first attached (0), or after a step of a stage."""

    number: int
    stage: str | None
    step: str | None
    line: int
    bodies: tuple[Body, ...]
    failures: tuple[FailureTold, ...]
    failure_sets: Sets
    hands_off: Annotated[HandsOff, "outcome"]
    findings: tuple[FindingTold, ...]
    forces: Annotated[Forces | None, "loads"]
    forces_missing: Annotated[tuple[str, ...], "lacking"]
    """What to add before the forces can be worked out, where they were asked for."""
    meanwhile: tuple[StateWithinTold, ...]
    """What is true while its step is being done, in that order: requirements are judged there too."""


class Required(Shape):
    """A requirement, and whether it is met in all states that it speaks of."""

    text: Annotated[str, "requirement.text"]
    file: str | None
    """None where it is assumed."""
    line: int | None
    met: bool | None
    """None where it was not, or not fully, checked."""
    because: tuple[str, ...]
    sought: str
    """How its worst was sought, where figures are bands; else empty."""
    states: tuple[int, ...]
    """Those in which it is broken."""
    unchecked: tuple[int, ...]
    """Those in which it was not, or not fully, checked."""
    assumed: Annotated[bool, "requirement.assumed"]
    of_nobody: bool
    """Has nobody that it speaks of to be held? Met so, or not checked, it says nothing of anybody."""


class Moved(Shape):
    """The step on one line, taken just before or after the one on another."""

    line: Annotated[int, "move"]
    where: Literal["before", "after"]
    of: int


class Between(Shape):
    """States that break something which holds before and after them."""

    stage: str
    states: tuple[int, ...]
    before: int
    after: int
    move: Annotated[Moved | None, "moving"]
    tension_not_computed: Annotated[tuple[int, ...], "opens"]
    text: str


class Deadly(Shape):
    failure: Annotated[str, "0"]
    falls: Annotated[tuple[str, ...], "1"]


class SlipTold(Shape):
    """A slip that may be there unseen, and which single failure it makes deadly."""

    slip: Annotated[str, "words"]
    failure: str
    """The failure that it amounts to."""
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]
    alone: tuple[str, ...]
    deadly: tuple[Deadly, ...]


class NotTold(Shape):
    """A fact that rules need and the file does not state."""

    fact: str
    part: str
    add: str


class FindingsOf(Shape):
    only: tuple[str, ...]
    without: tuple[str, ...]


class CarryingTold(Shape):
    """One statement, and what is met only with it."""

    statement: Annotated[str, "words"]
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]
    requirements: tuple[str, ...]
    why: str
    unread: bool
    """Without it the file can't be read, so that nothing is told."""


class RestingTold(Shape):
    """The statements without which the verdict turns, the one on which most rests first."""

    carrying: tuple[CarryingTold, ...]
    denied: int
    """How many statements were denied in turn."""


class Check(OfRig, kw_only=True):
    """`check`: every state of a rig, its requirements, and the verdict, which never stands without what it rests on."""

    table = "states.bodies"
    document: Literal["check"] = "check"
    verdict: Literal["met", "not met"]
    on: Literal["connections only", "connections and forces"]
    closing: str
    """The verdict for people, with what it rests on."""
    assumptions: Annotated[tuple[Taken, ...], "rig.sound"]
    accepted_risks: Annotated[tuple[Taken, ...], "rig.accepted"]
    accepted_findings: Annotated[tuple[Waived, ...], "rig.waived"]
    accepted: int
    assumed: int
    states: tuple[StateTold, ...]
    requirements: tuple[Required, ...]
    in_between: tuple[Between, ...]
    declared: dict[str, int]
    """How many of each thing the file declares: what it has none of was not checked."""
    complete_to_order: int
    next_order_searched: float | None
    """The share of the next order's candidates that was searched, where a budget stopped it."""
    taken_as_not_failing: tuple[str, ...]
    not_told: tuple[NotTold, ...]
    house_not_told: tuple[str, ...]
    """What the house would ask of the forces where the file asks nothing, and why it isn't judged."""
    findings_of: Annotated[FindingsOf, ""]
    not_analysed: dict[str, int]
    latent: tuple[SlipTold, ...] | None
    """Where asked for (`--latent`), those first that matter most."""
    resting: Annotated[RestingTold | None, "rests"]
    """Where asked for (`--resting-on`)."""


class InTurn(Shape):
    """One span of a rope that was said to be cut."""

    failed: tuple[str, ...]
    falls: tuple[str, ...]


class FreeThen(Shape):
    bodies: tuple[str, ...]
    along: tuple[str, ...]
    """The ropes along which nothing keeps their place."""


class WhatIf(OfRig, kw_only=True):
    """`whatif`: a rig after some failures, as if they were how it is rigged."""

    table = "bodies"
    document: Literal["whatif"] = "whatif"
    state: Annotated[int, "at.number"]
    during: Annotated[str, "at.when"]
    """Where the state within that step is asked for: `while red is laid anew`."""
    failed: tuple[str, ...]
    in_turn: tuple[InTurn, ...]
    """Where `red is cut` was asked, of a rope: each of its spans, the worst first; all else here is told of that."""
    bodies: tuple[Body, ...]
    falls: tuple[str, ...]
    """By the connections, or once what is overloaded has broken as well, from a start a centimetre aside too."""
    falls_by_connections: tuple[str, ...]
    failure_sets: Sets
    free: tuple[FreeThen, ...]
    """Who is held all the same, and only runs along a line then."""
    bars_that_tip: tuple[str, ...]
    """Structure with ends, or sides, of which one has lost what held it."""
    forces: Annotated[Followed | None, "aftermath"]
    overload: Overloaded | None
    fares: Annotated[FaringThen | None, "faring"]
    on: Literal["connections only", "connections and forces"]


class NumberedWay(WayHeld, kw_only=True):
    number: int


class Broken(Shape):
    failures: tuple[str, ...]
    breaks: dict[str, tuple[int, ...]]
    """By failure: the ways that it breaks, by number."""


class BodyWhy(Shape):
    body: str
    ways: tuple[NumberedWay, ...]
    all_ways: bool
    """False where there are more ways than are listed: a set then breaks more."""
    failure_sets: Annotated[tuple[Broken, ...], "sets"]


class Why(OfRig, kw_only=True):
    """`why`: every way in which bodies are held, and what breaks each."""

    table = "bodies.ways"
    document: Literal["why"] = "why"
    state: Annotated[int, "at.number"]
    during: Annotated[str, "at.when"]
    """As in `whatif`."""
    bodies: tuple[BodyWhy, ...]


class RankedPart(Shape):
    part: str
    drops_alone: Annotated[tuple[str, ...], "alone"]
    failure_sets_by_size: Annotated[tuple[int, ...], "counts"]
    """Of one failure, of two, and so on, each body's own counted."""
    bodies: tuple[str, ...]


class Important(Shape):
    failure: Annotated[str, "event"]
    birnbaum: float
    fussell_vesely: float


class BodyLikely(Shape):
    body: str
    falls_with_probability: Annotated[float | None, "value"]
    exact: bool
    """Of the sets searched; False: an upper bound of that."""
    without_likelihood: Annotated[tuple[str, ...], "missing"]
    importances: tuple[Important, ...]


class Rank(OfRig, kw_only=True):
    """`rank`: on which parts the most hangs, and how likely bodies fall."""

    table = "parts"
    document: Literal["rank"] = "rank"
    state: Annotated[int, "at.number"]
    during: Annotated[str, "at.when"]
    """As in `whatif`."""
    complete_to_order: int
    parts: tuple[RankedPart, ...]
    likelihoods: tuple[BodyLikely, ...]
