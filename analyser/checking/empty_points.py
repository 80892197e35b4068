"""Where somebody may be attached and nothing is: what is looked at first where they hang on one."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from analyser.checking.foremost import foremost, on_one
from analyser.checking.results import Result
from analyser.language.mistakes import Place
from analyser.rig.model import Nature, Rig


@dataclass(frozen=True, slots=True)
class Empty:
    """A point, or a harness, of a person or a litter that nothing touches; one that is for gear only is none."""

    point: str
    body: str
    harness: bool
    place: Place

    @property
    def words(self) -> str:
        """`sam-chest, harness of sam`; a point says itself whose it is."""
        return f"{self.point}, harness of {self.body}" if self.harness else self.point


@dataclass(frozen=True, slots=True)
class FirstLook:
    """What a reader looks at first: points with nothing on them of those who hang on one or aren't held; in which
    state, where that is not the first."""

    empty: tuple[Empty, ...]
    state: int

    @property
    def points(self) -> frozenset[str]:
        """The points by name."""
        return frozenset(one.point for one in self.empty)


def empty_points(rig: Rig, bodies: Collection[str]) -> tuple[Empty, ...]:
    """The points of those of these bodies that are people or litters that nothing touches, people first, in the order
    of the file."""
    met = rig.index.meeting
    found = []
    mine = [body for body in rig.bodies if body.name in bodies and body.nature in (Nature.PERSON, Nature.LITTER)]
    for body in sorted(mine, key=lambda one: one.nature is not Nature.PERSON):
        own = {body.name, *body.points}
        for name in body.points:
            part = rig.parts[name]
            if not part.gear_only and own.issuperset(met.get(name, ())):
                found.append(Empty(name, body.name, part.nature is Nature.HARNESS, part.place))
    return tuple(found)


def first_look(result: Result) -> FirstLook | None:
    """Where whoever hangs on one, or isn't held, could be attached and isn't: in the state that is worst."""
    drop = foremost(result)
    if drop is None or drop.accepted:
        return None
    empty = empty_points(drop.state.rig, {*drop.names, *on_one(result)})
    return FirstLook(empty, drop.state.number) if empty else None
