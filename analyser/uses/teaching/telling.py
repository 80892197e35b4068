"""Why: what becomes of each body after some failures, following the ropes."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from analyser.checking.fates import told
from analyser.checking.finding import listed
from analyser.checking.held_by import held_by, way_in_words
from analyser.checking.overloaded import breaks_words
from analyser.checking.scenario import After
from analyser.holding.fate import Kind
from analyser.holding.outcome import BodyOutcome, Outcome
from analyser.language.identities import Span
from analyser.rig.model import Nature, Rig
from analyser.uses.teaching.question import Told

MOST_WAYS = 3
"""Ways told of one body: the shortest ones."""
ALL_WAYS = 200


def spoken(rig: Rig, failure: str) -> str:
    """A failure as one says it: `red is cut between lip and red-knot`."""
    known = rig.index.failures.get(failure)
    span = known.part if known else None
    return f"{span.rope} is cut between {span.a} and {span.b}" if isinstance(span, Span) else failure


def after_failures_told(rig: Rig, before: Outcome, after: After) -> tuple[Told, ...]:
    """What becomes of each body after a question's failures."""
    broken = {failure.id for failure in after.failures}
    bodies = bodies_told(rig, before, after.outcome, broken)
    overload = after.overload
    if overload is None:
        return bodies
    connected = {body.name for body in after.outcome.bodies if body.held}
    return tuple(
        Told(one.body, f"falls as well, under the load that is left: {breaks_words(overload)}")
        if one.body in connected and one.body in after.falls
        else one
        for one in bodies
    )


def bodies_told(rig: Rig, before: Outcome, after: Outcome, broken: Collection[str]) -> tuple[Told, ...]:
    """What becomes of each body once `broken` has happened: whoever falls first."""
    bodies = sorted(after.bodies, key=lambda body: (body.held, body.name))
    return tuple(_told(rig, before, before.body(body.name), body, after, broken) for body in bodies)


def _told(
    rig: Rig, before: Outcome, was: BodyOutcome, now: BodyOutcome, after: Outcome, broken: Collection[str]
) -> Told:
    name = now.name
    if not was.held:
        return Told(name, f"not held, with nothing failed: {told(was.fate)}")
    if not now.held:
        fate = told(now.fate)
        ways, _ = before.review.ways(name, ALL_WAYS)
        lines = list(dict.fromkeys(_broken(rig, name, way, broken) for way in ways))
        if len(lines) > MOST_WAYS + 1:
            lines[MOST_WAYS:] = ["and so with every other way"]
        return Told(name, fate, tuple(lines))
    words = ["held; drop not checked" if now.fate.kind is Kind.HELD else told(now.fate)]
    singles = [spoken(rig, cut[0]) for cut in after.failure_sets[name] if len(cut) == 1]
    if broken and singles:
        words.append(f"not held if one more follows: {any_of(singles)}")
    lines = list(dict.fromkeys(f"by {way_in_words(rig, name, way)}" for way in now.ways))
    return Told(name, "; ".join(words), tuple(lines))


def any_of(failures: Sequence[str]) -> str:
    """A few of some failures in words, and how many there are."""
    if len(failures) == 1:
        return failures[0]
    if len(failures) <= MOST_WAYS:
        return f"any of: {'; '.join(failures)}"
    return f"any of {len(failures)} things, such as {'; '.join(failures[:2])}"


def _broken(rig: Rig, body: str, way: Sequence[str], broken: Collection[str]) -> str:
    """A way that held before, and which of the failures broke it."""
    by = [spoken(rig, one) for one in way if one in broken]
    why = f": gone, as {listed(by)}" if by else ": gone"
    return f"was held by {way_in_words(rig, body, tuple(way))}{why}"


def names_on(rig: Rig, body: str, way: Sequence[str]) -> tuple[str, ...]:
    """Every name that one may give for a way: its parts, knots, ropes, in the file's order of parts. An edge holds
    nobody, nor does what only keeps a rope off it, nor a person, though the way needs them."""
    found = {part for leg in held_by(rig, body, tuple(way)) for part in leg}
    edges = [edge.name for edge in rig.index.natured(Nature.EDGE)]
    others = {name for edge in edges for name in (edge, *rig.index.guards(edge))}
    others |= {person.name for person in rig.index.natured(Nature.PERSON)}
    found |= {rig.index.failures[one].id.owner for one in way if one in rig.index.failures} - others
    return tuple(name for name in rig.index.names if name in found and name != body)
