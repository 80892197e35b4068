"""What two revisions carry: what the file says of masses and strengths, and what the forces say where both tell them.

A figure is worse only where it is so by more than `MORE` of it, a drop by more than `DEEPER`: what follows from
laying a rope a hand's breadth elsewhere isn't worse. Limits ours, no source. Of strength factors the least counts,
and each under `LITTLE` (static systems are often built for ten to one: common practice, no source); of what is
carried the most, since parts that share a load share it otherwise in every revision.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from analyser.checking.results import State
from analyser.rig.figures import as_force, as_length, as_mass, as_small
from analyser.rig.model import BODIES, Part, Quantity, Rig, Rope

if TYPE_CHECKING:
    from analyser.forces.loads import Loads

MORE, DEEPER, LITTLE = 0.05, 0.1, 10.0
Sort = Literal["mass", "strength", "diameter", "strength factor", "carried at rest", "drop", "pull on a person"]


@dataclass(frozen=True, slots=True)
class LoadTurned:
    """A figure that differs: of what, in which state (`where`; empty: as first attached) and after which failure (None:
    at rest), in SI, before and after (None: not told)."""

    sort: Sort
    name: str
    where: str
    failure: str | None
    was: float | None
    now: float | None
    worse: bool

    @property
    def words(self) -> str:
        after = f" after {self.failure}" if self.failure else ""
        told = f"{SAID[self.sort]} {_told(self.sort, self.now)}{after} (was {_told(self.sort, self.was)})"
        return f"{self.name} {told}{self.where}"


SAID: dict[Sort, str] = {
    "mass": "weighs",
    "strength": "has a strength of",
    "diameter": "has a diameter of",
    "strength factor": "has a strength factor of",
    "carried at rest": "carries",
    "drop": "drops",
    "pull on a person": "is pulled by",
}


def _told(sort: Sort, figure: float | None) -> str:
    if figure is None:
        return "not told"
    match sort:
        case "mass":
            return as_mass(figure)
        case "diameter":
            return as_small(figure)
        case "strength":
            return as_force(figure, "g")
        case "strength factor":
            return f"{figure:.3g}"
        case "drop":
            return as_length(figure, ".2g")
    return as_force(figure, ".3g")


def said(old: Rig, new: Rig) -> Iterator[LoadTurned]:
    """What the files say: a body's mass, how strong a part or rope is, how thick a rope. The cautious end of a band:
    the heavier, the weaker, the thinner."""
    before: dict[str, Part | Rope] = {**old.parts, **{one.name: one for one in old.ropes}}
    after: dict[str, Part | Rope] = {**new.parts, **{one.name: one for one in new.ropes}}
    for name, now in after.items():
        was = before.get(name)
        if was is None or isinstance(was, Rope) is not isinstance(now, Rope):
            continue
        figures, others = dict(was.quantities), dict(now.quantities)
        sorts: tuple[tuple[Sort, str], ...] = (("mass", "mass"), ("strength", "strength"), ("diameter", "diameter"))
        for sort, key in sorts:
            heavy = sort == "mass"
            if heavy and (isinstance(now, Rope) or now.nature not in BODIES):
                continue
            first, last = _end(figures.get(key), most=heavy), _end(others.get(key), most=heavy)
            if first != last:
                lost = last is None or (first is not None and (last > first if heavy else last < first))
                worse = lost if sort != "diameter" else isinstance(now, Rope) and last is not None and lost
                yield LoadTurned(sort, name, "", None, first, last, worse)


def _end(figure: Quantity | None, *, most: bool) -> float | None:
    return None if figure is None else round(figure.most if most else figure.least, 9)


def loaded(was: State, now: State, where: str) -> Iterator[LoadTurned]:
    """What the forces say of a state of both revisions: what befalls people before what parts carry."""
    before, after = was.loads, now.loads
    if before is None or after is None or not (before.now.accepted and after.now.accepted):
        return
    lost = {str(one.id): {name for name, fate in one.fates if fate.not_held} for one in now.outcome.failures}
    yield from _following("drop", _drops(before), _drops(after), lost, where)
    yield from _following("pull on a person", _pulls(before), _pulls(after), lost, where)
    yield from _factors(before, after, where)
    yield from _carried(before, after, where)


def _factors(before: Loads, after: Loads, where: str) -> Iterator[LoadTurned]:
    was, now = _least(before), _least(after)
    least = min(was.values(), default=None)
    weakest = min(now, key=lambda name: (now[name], name), default=None)
    for name, figure in now.items():
        known = was.get(name)
        if known is not None and abs(figure - known) <= MORE * known:
            continue
        less = known is not None and figure < known
        worse = less and figure < LITTLE
        if name == weakest and least is not None and figure < least * (1 - MORE):
            worse = True
        if known is not None or worse:
            yield LoadTurned("strength factor", name, where, None, known, figure, worse)


def _least(loads: Loads) -> dict[str, float]:
    """Strength factors at rest, over the bands."""
    found = {row.name: row.factor for row in loads.factors.rows}
    for (name,), band in loads.spread.each("factor") if loads.spread else ():
        found[name] = min(band.least, found.get(name, band.least))
    return found


def _carried(before: Loads, after: Loads, where: str) -> Iterator[LoadTurned]:
    was, now = _most(before), _most(after)
    most = max(was.values(), default=0.0)
    hardest = max(now, key=lambda name: now[name], default=None)
    for name, figure in now.items():
        known = was.get(name)
        if known is not None and abs(figure - known) <= max(MORE * known, 10.0):
            continue
        worse = name == hardest and figure > most * (1 + MORE)
        if known is not None or worse:
            yield LoadTurned("carried at rest", name, where, None, known, figure, worse)


def _most(loads: Loads) -> dict[str, float]:
    found = {part.name: part.force for part in loads.parts}
    for (name,), band in loads.spread.each("carries") if loads.spread else ():
        found[name] = max(band.most, found.get(name, band.most))
    return found


After = dict[tuple[str, str], float]
"""By body and failure."""


def _drops(loads: Loads) -> After:
    found = {
        (moved.name, one.failures[0]): moved.drop
        for one in loads.after or ()
        if one.accepted and len(one.failures) == 1
        for moved in one.moved
    }
    for (name, failure), band in loads.spread.each("drop") if loads.spread else ():
        found[name, failure] = max(band.most, found.get((name, failure), band.most))
    return found


def _pulls(loads: Loads) -> After:
    found = {(name, failure): pull for name, pulls in loads.people_after.items() for failure, pull in pulls.items()}
    for (name, failure), band in loads.spread.each("peak") if loads.spread else ():
        if name in loads.people_after:
            found[name, failure] = max(band.most, found.get((name, failure), band.most))
    return found


def _following(sort: Sort, was: After, now: After, lost: dict[str, set[str]], where: str) -> Iterator[LoadTurned]:
    """What follows single failures, body by body: the failure after which it grew by most, held against the same
    failure before, or against the worst of all where it is new."""
    for body in dict.fromkeys(name for name, _ in now):
        known = {failure: figure for (name, failure), figure in was.items() if name == body}
        if not known and sort != "drop":
            continue
        worst = max(known.values(), default=0.0)
        grew: list[tuple[float, str, float, float]] = []
        for (name, failure), figure in now.items():
            if name != body or body in lost.get(failure, ()):
                continue
            before = known.get(failure, worst)
            least = DEEPER if sort == "drop" else max(MORE * before, 100.0)
            if figure > before + least:
                grew.append((figure - before, failure, before, figure))
        if grew:
            _, failure, before, figure = max(grew)
            yield LoadTurned(sort, body, where, failure, before, figure, True)
