"""One state while stages are read: what is there, what touches, how each device is left; and its pieces."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, field, replace

from analyser.language.identities import FailureId
from analyser.language.syntax import StepLine
from analyser.rig.elements import BODIES, Contact, Maker, Nature, Need, Part, Quantity, Role, Rope
from analyser.rig.figures import as_length

Pair = tuple[str, str]
OPENED = ("open", "hold open")
"""Steps after which a device does not grip."""


@dataclass(frozen=True)
class Present:
    """One state. A step makes the next one; nothing here is changed."""

    parts: Mapping[str, Part]
    """As they were declared: what steps did to them is below."""
    contacts: Mapping[Pair, Contact]
    ropes: Mapping[str, Rope]
    modes: Mapping[str, str] = field(default_factory=dict)
    """Devices that a step locked off, took in hand, opened or held open: the step's verb."""
    standing: Mapping[str, bool] = field(default_factory=dict)
    """People whom a step put on the ground, or off it again."""
    landed: frozenset[str] = frozenset()
    """Litters and loads on the ground."""
    moved: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    let_out: Mapping[str, float] = field(default_factory=dict)
    """Metres let out of a rope or a sling since the beginning; taken in counts less than nothing."""
    needs: Mapping[str, tuple[Need, ...]] = field(default_factory=dict)
    """What each frame stands on."""
    ropes_off: Mapping[str, Rope] = field(default_factory=dict)
    """What steps took out: each rope as it was,"""
    knots_off: Mapping[str, StepLine] = field(default_factory=dict)
    """and each of their knots, with the step that took it out."""
    worked_by: Mapping[str, str] = field(default_factory=dict)
    """Devices that a step put into somebody's hand: whose."""

    def like(self, other: Present) -> bool:
        """Does another order of steps leave the same? Metres let out are compared to a hair's breadth."""
        return (
            self.contacts == other.contacts
            and self.ropes == other.ropes
            and (self.modes, self.standing, self.landed) == (other.modes, other.standing, other.landed)
            and (self.moved, self.worked_by) == (other.moved, other.worked_by)
            and {k: round(m, 6) for k, m in self.let_out.items()} == {k: round(m, 6) for k, m in other.let_out.items()}
            and self.parts == other.parts
            and self.needs == other.needs
        )


def parts_in(present: Present) -> dict[str, Part]:
    """The parts of one state, as its steps left them. What stands on the ground touches ground that does not fail
    (`ground-under-basket`) and holds nobody else: a line from a landed load to somebody above hangs slack, and one
    over a wheel lifts it off."""
    own: dict[str, list[Part]] = {}
    for part in present.parts.values():
        if part.body:
            own.setdefault(part.body, []).append(part)
    parts = {name: _left(present, part, own.get(name, [])) for name, part in present.parts.items()}
    for name in sorted(present.landed):
        ground = ground_under(name, present.parts)
        place, family = present.parts[name].place, ("footing", "ground")
        lying = (name, *sorted(part.name for part in parts.values() if part.stands_on == name))
        parts[ground] = Part(
            ground, "footing", Nature.GROUND, place, made_by=Maker.LANDING, family=family, holds_only=lying
        )
    return parts


def _left(present: Present, part: Part, points: list[Part]) -> Part:
    """A part as the steps left it, with its points."""
    name = part.name
    given: dict[str, object] = {}
    if points:
        given["points"] = tuple(point.name for point in points)
    if part.nature in BODIES and part.ends is None:
        head, foot = (tuple(p.name for p in points if p.point.startswith(word)) for word in ("head", "foot"))
        given["ends"] = (head, foot) if head and foot else None
    if name in present.needs:
        given["needs"] = present.needs[name]
    mode = present.modes.get(name)
    if mode == "take in hand":
        given["in_hand"] = True
    elif mode == "hold open":
        given["held_open"] = True
    elif mode:
        given["self_locking"] = mode == "lock off"
    if name in present.worked_by:
        given["operated_by"] = present.worked_by[name]
    if name in present.standing:
        stands = present.standing[name]
        given |= {"standing": stands, "exposed": part.exposed and not stands, "stands_on": None}
    if name in present.moved:
        given |= {"at": present.moved[name], "off": (0.0, 0.0, 0.0)}
    if name in present.let_out:
        given["quantities"] = (*part.quantities, _let_out(present.let_out[name]))
    return replace(part, **given) if given else part  # type: ignore[arg-type]


def contacts_in(present: Present) -> tuple[Contact, ...]:
    """The contacts of one state: a body on the ground touches the ground with all its points."""
    landed = [
        Contact(one, ground_under(name, present.parts), present.parts[name].place)
        for name in sorted(present.landed)
        for one, part in present.parts.items()
        if name in (one, part.body)
    ]
    return (*present.contacts.values(), *landed)


def ropes_in(present: Present) -> tuple[Rope, ...]:
    """The ropes of one state: an opened device grips none of them."""
    opened = {name for name, mode in present.modes.items() if mode in OPENED}
    opened |= {name for name, part in present.parts.items() if part.lowers and name not in present.modes}
    found = []
    for name, rope in present.ropes.items():
        if any(s.part in opened and s.role is Role.GRIP for s in rope.stations):
            stations = (
                replace(s, to_start=False, to_end=False, loaded=(s.to_start, s.to_end))
                if s.part in opened and s.role is Role.GRIP
                else s
                for s in rope.stations
            )
            rope = replace(rope, stations=tuple(stations))
        if name in present.let_out:
            rope = replace(rope, quantities=(*rope.quantities, _let_out(present.let_out[name])))
        found.append(rope)
    return tuple(found)


def _let_out(metres: float) -> tuple[str, Quantity]:
    return "let out", Quantity(as_length(metres, ".4g"), metres, "m")


def undying(present: Present) -> Iterator[FailureId]:
    """The failures that don't exist: of the ground under what was landed."""
    return (FailureId(ground_under(name, present.parts), "fails") for name in present.landed)


def ground_under(body: str, parts: Container[str]) -> str:
    """The name of the ground under a body that was landed, which no part has."""
    name = f"ground-under-{body}"
    return f"{name}-landed" if name in parts else name
