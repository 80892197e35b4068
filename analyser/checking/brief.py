"""A result in a line, for a list of many rigs."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.checking.foremost import verdict_count, worst_words
from analyser.checking.results import Result


@dataclass(frozen=True, slots=True)
class Brief:
    """A result in a line. `falls`: who isn't held in some state with nothing failed; `alone`: whom some single
    failure drops in some state, and `single_points` how many such failures there are. `count` and `worst` are
    the two halves of its first sentence; `cautions` and `dangers` are findings that aren't accepted."""

    title: str
    revision: str | None
    met: bool
    closing: str
    count: str
    worst: str
    states: int
    falls: tuple[str, ...]
    alone: tuple[str, ...]
    single_points: int
    dangers: int
    cautions: int


def brief_of(result: Result) -> Brief:
    """The answer in a line, over all states; accepted failures and findings left out."""
    accepted = {one.failure for one in result.rig.accepted}
    outcomes = [state.outcome for state in result.every_state]
    alone = {name for o in outcomes for f in o.failures if f.id not in accepted for name in f.falls}
    fresh = [f for state in result.states for f in result.fresh(state) if not f.accepted]
    return Brief(
        result.rig.title,
        result.rig.revision,
        result.met,
        result.closing,
        verdict_count(result),
        worst_words(result),
        len(result.states),
        tuple(sorted({body.name for o in outcomes for body in o.bodies if not body.held})),
        tuple(sorted(alone)),
        len({f.id for o in outcomes for f in o.failures if f.falls and f.id not in accepted}),
        sum(f.severity == "danger" for f in fresh),
        sum(f.severity == "caution" for f in fresh),
    )
