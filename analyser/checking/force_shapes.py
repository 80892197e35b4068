"""The documents of forces, attitudes and hauls, and of what is missing for them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from analyser.checking.band_shapes import Bands
from analyser.checking.contract import (
    Degrees,
    Metres,
    Newtons,
    OfRig,
    Ratio,
    Residual,
    Seconds,
    Shape,
    Speed,
)
from analyser.checking.faring_shapes import FaringThen, ToAdd
from analyser.checking.overloaded import LEFT_OUT_IN_TIME, breaks_words, why_not_told

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.equilibrium import LineForce
    from analyser.forces.hauling import Pull
    from analyser.forces.levelling import Hung
    from analyser.forces.motion import Broke, Motion
    from analyser.forces.overloads import Overload


class LinePull(Shape):
    name: str
    force: Annotated[Newtons, "tension"]
    slack: bool
    length: Metres


class PartPull(Shape):
    name: str
    force: Newtons
    direction: tuple[Ratio, ...]
    included: Degrees | None
    at_most: bool


class StrengthFactor(Shape):
    name: str
    strength: Newtons
    kept: Ratio
    """The share of it that the knot leaves."""
    knot: str | None
    source: str | None
    force: Newtons
    factor: Ratio | None
    """None where nothing pulls."""


class AnchorForce(Shape):
    name: str
    force: Newtons
    share: Ratio
    from_plumb: Degrees | None
    without: dict[str, Newtons | None]
    """By another anchor that goes: what comes on this one."""


class Short(Shape):
    """What breaks under its load."""

    name: str
    strength: Annotated[Newtons, "factor.strength"]
    kept: Annotated[Ratio, "factor.kept"]
    force: Annotated[Newtons, "factor.force"]
    factor: Annotated[Ratio, "factor.factor"]


class ShortInTime(Shape):
    """What breaks on the way, and when."""

    name: Annotated[str, "broken.name"]
    strength: Annotated[Newtons, "broken.factor.strength"]
    kept: Annotated[Ratio, "broken.factor.kept"]
    after: Annotated[Seconds, "when"]


def _in_time(one: Overload) -> tuple[Broke, ...]:
    return one.motion.broken if one.motion else ()


class Overloaded(Shape):
    """What breaks under its load after some failures (none: as it hangs), and who falls then."""

    failures: tuple[str, ...]
    breaks_at_rest: Annotated[tuple[Short, ...], "rest.broken"]
    breaks_in_time: Annotated[tuple[ShortInTime, ...], _in_time]
    breaks_from_a_start_aside: Annotated[tuple[str, ...], "aside"]
    falls: Annotated[tuple[str, ...], "surely"]
    falls_from_a_start_aside: Annotated[tuple[str, ...], "perhaps"]
    text: Annotated[str, breaks_words]


class Pose(Shape):
    name: str
    head_up: Degrees | None
    roll: Degrees | None


class BodyMoved(Shape):
    body: Annotated[str, "name"]
    drop: Metres
    swing: Metres


class NearEdge(Shape):
    line: Annotated[str, "0"]
    edge: Annotated[str, "1"]
    distance: Annotated[Metres, "2"]


class ArrestTold(Shape):
    line: str
    free_fall: Metres
    rope: Metres
    fall_factor: Ratio
    peak: Newtons


class LineBand(Shape):
    """`peak` by following the motion (None: not followed, or not told), `low` and `high` over starts a centimetre
    aside; `quick` out of the energy alone: no peak and no bound, it only ranks what is followed."""

    name: str
    before: Newtons
    static: Newtons
    peak: Newtons | None
    low: Newtons | None
    high: Newtons | None
    quick: Newtons


class LineInTime(Shape):
    name: str
    before: Newtons
    peak: Annotated[Newtons | None, "most"]
    low: Newtons | None
    high: Newtons | None
    after: Annotated[Seconds, "when"]


class BodyInTime(Shape):
    name: str
    down: Metres
    aside: Metres
    pull: Newtons
    pull_high: Annotated[Newtons, "high"]
    after: Annotated[Seconds, "when"]


class StrikeTold(Shape):
    body: str
    what: str
    kind: Annotated[Literal["ground", "edge", "body"], "struck.value"]
    speed: Speed
    after: Annotated[Seconds, "when"]


class RopeGiven(Shape):
    at: Annotated[str, "by"]
    line: str
    slipped: Annotated[Metres, "metres"]
    there_is: Annotated[Metres | None, "room"]


def _why_not(one: Motion) -> str | None:
    return None if one.told else why_not_told(one)


def _starts(one: Motion) -> int:
    return len(one.aside)


def _aside(one: Motion) -> tuple[tuple[str, ...], ...]:
    return tuple(aside.broken for aside in one.aside)


def _left_out(one: Motion) -> tuple[str, ...]:
    return LEFT_OUT_IN_TIME


class InTime(Shape):
    """What happens in time after some failures."""

    told: bool
    why_not: Annotated[str | None, _why_not]
    until: Seconds
    starts_aside: Annotated[int, _starts]
    bodies: tuple[BodyInTime, ...]
    lines: tuple[LineInTime, ...]
    strikes: tuple[StrikeTold, ...]
    breaks: Annotated[tuple[ShortInTime, ...], "broken"]
    breaks_from_starts_aside: Annotated[tuple[tuple[str, ...], ...], _aside]
    slips: Annotated[tuple[RopeGiven, ...], "ran"]
    falls: tuple[str, ...]
    energy_drift: Annotated[Ratio, "drift"]
    weight_alone: Annotated[tuple[str, ...], "small"]
    """Parts that keep their weight and have no inertia."""
    left_out: Annotated[tuple[str, ...], _left_out]


class Followed(Shape):
    """A rig at its new rest after some failures."""

    failures: tuple[str, ...]
    balanced: Annotated[bool, "accepted"]
    falls: tuple[str, ...]
    moved: tuple[BodyMoved, ...]
    reaches_ground: tuple[str, ...]
    near_edges: tuple[NearEdge, ...]
    arrest: ArrestTold | None
    lines: tuple[LineBand, ...]
    motion: InTime | None


class HeldOtherwise(Shape):
    """A body that the rules and the statics tell otherwise of."""

    body: str
    by_rules: Annotated[bool, "held_by_rules"]
    by_statics: Annotated[bool, "held_by_statics"]
    why: str


class Jam(Shape):
    what: Annotated[str, "0"]
    at: Annotated[str, "1"]


class Doubtful(Shape):
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]
    why: str
    write: Annotated[str, "line"]


class TrackEndTold(Shape):
    at: str
    level: Newtons
    """What the track pulls it with, level."""
    below_level: Degrees


class TrackTold(Shape):
    """A track line with its load at one place, `along` the straight line between its ends from the first."""

    rope: str
    line: Annotated[str, "name"]
    runs: tuple[str, ...]
    """What runs on it."""
    span: Metres
    along: Metres
    sag: Metres
    force: Annotated[Newtons, "tension"]
    ends: tuple[TrackEndTold, ...]


class ArrivingTold(Shape):
    """What arrives after one failure: at the new rest, and on the way there (None: not followed in time)."""

    failure: str
    rest: Newtons
    peak: Newtons | None


class BelayedTold(Shape):
    """Where a rope comes to somebody: a device that they work or mind, or bare hands (`device` None)."""

    person: str
    device: str | None
    rope: str
    before: Newtons
    after: tuple[ArrivingTold, ...]


class Forces(Shape):
    """What carries what in one state, at rest, and what follows single failures where that was looked at."""

    balanced: Annotated[bool, "now.accepted"]
    lines: Annotated[tuple[LinePull, ...], "now.lines"]
    parts: tuple[PartPull, ...]
    factors: Annotated[tuple[StrengthFactor, ...], "factors.rows"]
    anchors: tuple[AnchorForce, ...]
    no_strength_given: Annotated[tuple[str, ...], "factors.without"]
    overloads: tuple[Overloaded, ...]
    litters: Annotated[tuple[Pose, ...], "now.poses"]
    fares: Annotated[tuple[FaringThen, ...], "faring"]
    tracks: tuple[TrackTold, ...]
    tracks_at_worst: Annotated[tuple[TrackTold, ...], "worst_places"]
    """The same with their load where each pulls hardest."""
    belayed: tuple[BelayedTold, ...]
    after: tuple[Followed, ...] | None
    otherwise_held: Annotated[tuple[HeldOtherwise, ...], "disagreements"]
    falls: Annotated[tuple[str, ...], "now.falls"]
    jammed: Annotated[tuple[Jam, ...], "now.jammed"]
    in_doubt: Annotated[tuple[Doubtful, ...], "now.doubts"]
    assumed: Annotated[tuple[str, ...], "now.assumed"]
    bands: Annotated[Bands | None, "spread"]


class StateForces(Shape):
    number: int
    during: Annotated[str, "when"]
    """As in `whatif`."""
    stage: str | None
    step: str | None
    forces: Annotated[Forces | None, "loads"]
    forces_missing: Annotated[tuple[str, ...], "lacking"]


class WorstCase(Shape):
    """The most plumb weight that may come on a part, by the ways that lead over it."""

    name: str
    line: Annotated[int, "of.place.line"]
    at_most: Annotated[Newtons, "load.newtons"]
    bodies: Annotated[tuple[str, ...], "load.bodies"]
    gear: Annotated[tuple[str, ...], "load.gear"]
    without_mass: Annotated[tuple[str, ...], "load.unknown"]
    strength: Annotated[Newtons | None, "least_strength"]
    strength_over_load: Annotated[Ratio | None, "factor"]


class ForcesTold(OfRig, kw_only=True):
    """`forces`: the forces of every state, and what each part may come to carry at worst."""

    table = "states.forces.parts"
    document: Literal["forces"] = "forces"
    states: tuple[StateForces, ...]
    held_along: tuple[TrackTold, ...]
    """The tracks with what runs on them held where it was asked."""
    in_hands: tuple[BelayedTold, ...]
    """What bare hands would have to hold in the first of these states, closed."""
    worst_loads: tuple[WorstCase, ...]
    """Only where the forces of the first state aren't worked out."""
    worst_loads_leave_out: str


def _by_name(hung: Hung) -> list[LineForce]:
    return sorted(hung.equilibrium.lines, key=lambda line: line.name)


def _sorted(pull: Pull) -> list[tuple[str, float]]:
    return sorted(pull.anchors.items())


class HungLine(Shape):
    name: str
    force: Annotated[Newtons, "tension"]
    slack: bool
    length: Metres
    rest: Metres


class HungTold(Shape):
    """How the litter hangs with so much let out."""

    let_out: Annotated[Metres, "out"]
    head_up: Degrees
    roll: Annotated[Degrees | None, "pose.roll"]
    lines: Annotated[tuple[HungLine, ...], _by_name]
    residual: Residual


class WishTold(Shape):
    """A wished attitude: how it is reached, or between which it isn't."""

    head_up: Degrees
    reached: bool
    lengths: dict[str, Metres] | None
    hung: HungTold | None
    lowest: Degrees | None
    highest: Degrees | None


class AttitudeTold(OfRig, kw_only=True):
    """`attitude`: how a litter hangs, and leg lengths for a wished attitude."""

    table = "sweep"
    document: Literal["attitude"] = "attitude"
    state: Annotated[int, "at.number"]
    during: Annotated[str, "at.when"]
    """As in `whatif`."""
    litter: str
    let_out: tuple[str, ...]
    """The lines that are let out."""
    as_written: HungTold
    wished: WishTold | None
    sweep: tuple[HungTold, ...]
    taken: tuple[str, ...]
    """What the file does not say and is taken so."""


def _tipping(pull: Pull) -> list[str]:
    return [one.name for one in pull.frames if not one.stands]


class HandPull(Shape):
    hand: Newtons
    anchors: Annotated[dict[str, Newtons], _sorted]
    """Anchors, heads of frames and edges."""
    frames_that_tip: Annotated[tuple[str, ...], _tipping]


class StrandAngle(Shape):
    part: Annotated[str, "0"]
    apart: Annotated[Degrees, "1"]
    """Between the two strands at it: 0 where they are parallel, 180 where rope runs straight past."""


class Efficiency(Shape):
    part: Annotated[str, "0"]
    efficiency: Annotated[Ratio, "1"]


class HaulTold(Shape):
    """What hauling on a rope gains."""

    hauled_by: Annotated[str, "person"]
    lifted: tuple[str, ...]
    weight: Newtons
    ideal_advantage: Annotated[Ratio, "ideal"]
    counted_advantage: Annotated[Ratio | None, "counted"]
    """With all strands parallel, as one counts it; None where that can't be counted."""
    rope_in_per_rise: Annotated[Ratio, "travel"]
    hold_without_friction: Annotated[HandPull, "hold"]
    raising: HandPull | None
    lowering: HandPull | None
    why_not: str | None
    practical_advantage: Annotated[Ratio | None, "practical"]
    efficiencies: Annotated[tuple[Efficiency, ...], "wheels"]
    between_strands: Annotated[tuple[StrandAngle, ...], "angles"]
    without_efficiency: Annotated[tuple[str, ...], "without"]
    kept_open: Annotated[tuple[str, ...], "opened"]
    holds_with_hands_off: Annotated[tuple[str, ...], "holds_at_rest"]
    tied_to: tuple[str, ...]
    """Where no device holds it with hands off: what the lines that hold it are tied to."""
    falls_with_hands_off: Annotated[tuple[str, ...], "falls"]
    residual: Residual


class RopeHauled(Shape):
    rope: str
    advantage: HaulTold | None
    why: str | None
    """Why nothing can be told of it."""


class Haul(OfRig, kw_only=True):
    """`haul`: what hauling on ropes gains, and what the hand pulls."""

    table = "ropes"
    document: Literal["haul"] = "haul"
    state: Annotated[int, "at.number"]
    during: Annotated[str, "at.when"]
    """As in `whatif`."""
    ropes: tuple[RopeHauled, ...]


class Contradiction(Shape):
    why: str
    instead: Annotated[str, "line"]
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]


class Lacking(OfRig, kw_only=True):
    """What a file must still say, or put right, before forces can be told."""

    document: Literal["missing"] = "missing"
    wanted: Annotated[tuple[ToAdd, ...], "missing.wanted"]
    contradictions: Annotated[tuple[Contradiction, ...], "missing.contradictions"]
