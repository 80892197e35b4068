"""The document of a reconstruction."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from analyser.checking.contract import Metres, Newtons, OfRig, Ratio, Shape
from analyser.language.edit import Change
from analyser.rig.model import Witness
from analyser.uses.incident.evidence import Item
from analyser.uses.incident.sequences import Overloaded, Tested, Weighed

if TYPE_CHECKING:
    from analyser.forces.dropping import Raised
    from analyser.uses.incident import case


def _of(item: Item) -> str:
    return item.name or item.fact.words


def _text(item: Item) -> str | None:
    return item.fact.text or None


def _witnesses(item: Item) -> tuple[Witness, ...]:
    return tuple(one for fact in item.facts for one in fact.told)


class Fact(Shape):
    """Something observed. `caught`: fell, and was then held."""

    fact: Annotated[str, "verb"]
    of: Annotated[str, _of]
    text: Annotated[str | None, _text]
    told: Annotated[tuple[Witness, ...], _witnesses]
    """Everybody who told it, were it on several lines; `line` is that of the first."""
    file: Annotated[str, "fact.place.file"]
    line: Annotated[int, "fact.place.line"]


class Remark(Shape):
    text: str
    told: tuple[Witness, ...]


class StatesMeant(Shape):
    numbers: tuple[int, ...]
    words: str


class Explained(Shape):
    """Failures that are consistent with what was observed."""

    one_of_each: Annotated[tuple[tuple[str, ...], ...], "explanation.choices"]
    sets: Annotated[int, "explanation.sets"]
    size: Annotated[int, "explanation.size"]
    assumed: Annotated[int, "explanation.assumed"]
    states: Annotated[tuple[int, ...], "explanation.states"]
    stayed_only_by_a_person: Annotated[tuple[str, ...], "explanation.by_person"]
    fall_as_well: Annotated[tuple[str, ...], "explanation.others"]
    run_until_caught: Annotated[tuple[str, ...], "explanation.runs"]
    """Not held: they run until a stopper or a knot catches them."""
    likelihood: Annotated[float | None, "explanation.likelihood"]
    as_slips: dict[str, str]
    facts: dict[str, str]
    """How each fact stands to it."""


class WithoutFact(Shape):
    """One fact of each group is given up: what explains all the rest."""

    facts: tuple[Fact, ...]
    sets: int
    first: Explained | None


class Contradicts(Shape):
    """Facts that cannot all be, in groups, and what there is without one of each."""

    cannot_all_be: tuple[tuple[Fact, ...], ...]
    enough: int | None
    """With so many failures together everything is explained: nothing is contradicted then."""
    with_any_number_of_failures: bool
    without: tuple[WithoutFact, ...]


class LoadBetween(Shape):
    """At the rest afterwards, and at the most in time."""

    rest: Annotated[Newtons | None, "0"]
    peak: Annotated[Newtons | None, "1"]


class TimesBetween(Shape):
    rest: Annotated[Ratio, "0"]
    peak: Annotated[Ratio, "1"]


def _force(one: Overloaded) -> tuple[float, float]:
    return one.force, one.most


def _others_gone(one: Weighed) -> tuple[float | None, float | None]:
    return one.left, one.peak


def _when(one: Weighed) -> str | None:
    return one.words or None


def _fits(one: Tested) -> tuple[str, ...]:
    return tuple("in time" if share else "at rest" for share in one.shares)


def _rests(one: case.Consistent) -> tuple[str, ...]:
    """At rest, in time, or both."""
    return tuple("in time" if share else "at rest" for share in one.chain.shares)


def _not_even(drop: Raised) -> float | None:
    return None if drop.height else drop.most


class LinkOverloaded(Shape):
    failure: str
    part: Annotated[str, "name"]
    knot: str | None
    strength: Newtons
    kept: Ratio
    force: Annotated[LoadBetween, _force]
    times_its_strength: Annotated[TimesBetween, "times"]


class Consistent(Shape):
    """A sequence of overloads that leads to what was observed."""

    begins_with_one_of_each: Annotated[tuple[tuple[str, ...], ...], "chain.begins"]
    assumed: Annotated[int, "chain.assumed"]
    overloads: Annotated[tuple[LinkOverloaded, ...], "chain.overloads"]
    follows: Annotated[str, "chain.verdict"]
    breaks: Annotated[tuple[str, ...], _rests]
    states: Annotated[tuple[int, ...], "chain.states"]
    stayed_only_by_a_person: Annotated[tuple[str, ...], "chain.fits.by_person"]
    fall_as_well: Annotated[tuple[str, ...], "chain.fits.others"]
    run_until_caught: Annotated[tuple[str, ...], "chain.fits.runs"]
    explanation: Annotated[int | None, "chain.explanation"]
    facts: dict[str, str]


class Drop(Shape):
    """The drop that would have broken it."""

    body: str
    height: Metres | None
    not_even_from: Annotated[Metres | None, _not_even]
    free_fall: Metres | None
    fall_factor: Ratio | None


class PartWeighed(Shape):
    failure: str
    by_load: bool
    state: Annotated[str | None, _when]
    no_strength_given: Annotated[bool, "lacks_strength"]
    knot: str | None
    strength: Newtons | None
    kept: Ratio
    as_it_hung: Annotated[Newtons | None, "resting"]
    others_gone: Annotated[LoadBetween, _others_gone]
    times_needed: Annotated[Ratio | None, "needed"]
    drop: Drop | None


class UnderLoad(Shape):
    explanation: int
    breaks_as_well_at_rest: Annotated[tuple[str, ...], "resting"]
    breaks_as_well_in_time: Annotated[tuple[str, ...], "upper"]
    fits: Annotated[tuple[str, ...], _fits]
    parts: tuple[PartWeighed, ...]


class SequencesTold(Shape):
    not_looked_at: Annotated[str | None, "why_none"]
    """Why no loads were looked at."""
    to_add: Annotated[tuple[str, ...], "sequences.wanted"]
    consistent: tuple[Consistent, ...]
    explanations_under_load: Annotated[tuple[UnderLoad, ...], "sequences.tested"]
    beginnings_looked_at: Annotated[int, "sequences.looked_at"]
    beginnings_left_out: Annotated[int, "sequences.left_out"]
    drops_left_out: Annotated[int, "sequences.unweighed"]
    no_strength_given: Annotated[tuple[str, ...], "sequences.without"]
    bands_at_their_middle: Annotated[bool, "sequences.middles"]


class LookNext(Shape):
    question: str
    as_good: Annotated[tuple[str, ...], "also"]
    yes_leaves: Annotated[int, "yes"]
    no_leaves: Annotated[int, "no"]
    expected_left: Annotated[Ratio, "left"]


class KeptBy(Shape):
    """An addition that would have kept whom."""

    what: Annotated[str, "proposal.words"]
    keeps_in: Annotated[int, "scenarios"]
    add: Annotated[tuple[str, ...], "proposal.added"]
    change: Annotated[tuple[Change, ...], "proposal.changes"]


class WouldHaveKept(Shape):
    sets_looked_at: Annotated[int, "kept.scenarios"]
    sets_left_out: Annotated[int, "left_out"]
    tried: Annotated[int, "kept.tried"]
    untried: Annotated[int, "kept.untried"]
    additions: Annotated[tuple[KeptBy, ...], "kept.kept"]


class Reconstructed(OfRig, kw_only=True):
    """`reconstruct`: which smallest failures are consistent with what was observed."""

    table = "explanations"
    document: Literal["reconstruct"] = "reconstruct"
    observed: Annotated[tuple[Fact, ...], "made.observed"]
    remarks: tuple[Remark, ...]
    supposed: tuple[str, ...]
    states: Annotated[tuple[StatesMeant, ...], "made.moments"]
    order: Annotated[int, "made.order"]
    including_slips: bool
    explanations: Annotated[tuple[Explained, ...], "explained"]
    sets: Annotated[int, "made.sets"]
    sequences: Annotated[SequencesTold, ""]
    contradiction: Contradicts | None
    look_at_next: Annotated[tuple[LookNext, ...], "looks"]
    would_have_kept: Annotated[WouldHaveKept | None, "lessons"]
    complete: Annotated[str, "made.complete"]
    on: Literal["connections only", "connections and forces"]
    limits: str
