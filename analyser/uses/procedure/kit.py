"""What is brought, counted over every state: kit with its figures, ropes with the length they need, anchors."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.results import Result
from analyser.checking.rope_too_short import lengths_needed
from analyser.rig.model import Maker, Nature, Part, Quantity, Rig

BROUGHT = (
    *(Nature.JOINT, Nature.PULLEY, Nature.GRIP, Nature.FRAME),
    *(Nature.LITTER, Nature.HARNESS, Nature.PAD),
)
"""What is carried to the work, in the order of the list. Ropes and anchors stand apart."""
NOT_FIGURES = ("let out", "likelihood")


@dataclass(frozen=True, slots=True)
class Kit:
    """Parts of one kind with the same figures. `source`: where the figures come from."""

    count: int
    kind: str
    names: tuple[str, ...]
    figures: tuple[str, ...]
    source: str | None


@dataclass(frozen=True, slots=True)
class RopeNeeded:
    name: str
    kind: str
    figures: tuple[str, ...]
    length: str | None
    """As the file gives it."""
    needed: float | None
    """Metres, the most that any state needs; None where neither a drop nor places are given."""
    because: str | None
    source: str | None
    knots: tuple[str, ...]
    """The knots and stoppers tied in it, each with its kind."""


@dataclass(frozen=True, slots=True)
class AnchorNeeded:
    name: str
    kind: str
    figures: tuple[str, ...]
    least: str | None
    """What the file asks of every anchor."""
    source: str | None


def every_part(result: Result) -> dict[str, Part]:
    """The parts of all states, as they first are."""
    found: dict[str, Part] = {}
    for state in result.states:
        for name, part in state.rig.parts.items():
            found.setdefault(name, part)
    return found


def kit(result: Result) -> tuple[Kit, ...]:
    """The kit, in groups by what it does, kind and figures; `Counter` keeps the file's order."""
    groups: dict[tuple[object, ...], list[Part]] = {}
    for part in every_part(result).values():
        if part.nature in BROUGHT:
            key = (BROUGHT.index(part.nature), part.kind, figures(part), part.source)
            groups.setdefault(key, []).append(part)
    lines = sorted(groups.values(), key=lambda parts: (BROUGHT.index(parts[0].nature), parts[0].kind, parts[0].name))
    return tuple(
        Kit(_count(parts), parts[0].kind, tuple(sorted(p.name for p in parts)), figures(parts[0]), parts[0].source)
        for parts in lines
    )


def _count(parts: Sequence[Part]) -> int:
    """How many are brought: of harnesses one for each who wears them, whatever their points."""
    worn = parts[0].nature is Nature.HARNESS
    return len({part.body for part in parts}) if worn else len(parts)


def figures(part: Part) -> tuple[str, ...]:
    """What is known of a part, as it must be found on the part in the hand."""
    found = _quantities(part.quantities)
    if part.takes:
        found.append(f"takes ropes of {part.takes[0].text} to {part.takes[1].text}")
    if part.room is not None:
        found.append(f"room for {part.room}")
    if "connector" in part.family:
        found.append({True: "locking", False: "not locking", None: "gate not given"}[part.locking])
    if part.gear_only:
        found.append("for gear only")
    return tuple(found)


def _quantities(quantities: tuple[tuple[str, Quantity], ...]) -> list[str]:
    return [f"{key} {value.text}" for key, value in quantities if key not in NOT_FIGURES]


def ropes(result: Result) -> tuple[RopeNeeded, ...]:
    """Every rope of every state, with the most length that any state needs of it."""
    found: dict[str, RopeNeeded] = {}
    knots: dict[str, Counter[str]] = {}
    for state in result.states:
        fixed = state.rig.index.fixed
        for rope in state.rig.ropes:
            tied = knots.setdefault(rope.name, Counter())
            tied.update(_knots(state.rig, rope.name))
            needs = sorted(lengths_needed(state.rig, rope, fixed), key=lambda one: (-one.metres, one.words))
            metres, why = (needs[0].metres, needs[0].words) if needs else (None, None)
            known = found.get(rope.name)
            if known and (metres is None or (known.needed or 0) >= metres):
                metres, why = known.needed, known.because
            given = dict(rope.quantities).get("length")
            said = tuple(_quantities(tuple((k, v) for k, v in rope.quantities if k not in ("length", "drop"))))
            length = given.text if given else None
            found[rope.name] = RopeNeeded(
                rope.name, rope.kind, said, length, metres, why, rope.source, tuple(sorted(tied))
            )
    return tuple(sorted(found.values(), key=lambda one: one.name))


def _knots(rig: Rig, rope: str) -> Iterator[str]:
    for part in rig.index.natured(Nature.KNOT, Nature.STOPPER):
        if part.rope == rope:
            yield f"{part.kind} {part.name}" if part.kind != part.name else part.name


def anchors(result: Result) -> tuple[AnchorNeeded, ...]:
    """The ground that is relied on, with what the file asks of it."""
    asked = [one for one in result.rig.requirements if one.rule == "anchors-strong"]
    words = asked[0].text if asked else None
    return tuple(
        AnchorNeeded(p.name, p.kind, figures(p), words if "anchor" in p.family else None, p.source)
        for p in sorted(every_part(result).values(), key=lambda p: p.name)
        if p.nature is Nature.GROUND and p.made_by is Maker.FILE
    )
