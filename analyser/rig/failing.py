"""What can fail in a rig: one event, one name, one set of effects (`holding/rules.md` section 2)."""

from __future__ import annotations

from collections.abc import Iterable

from analyser.rig.model import Effects, Failure, Nature, Part, Role, Rope

MODES = {
    Nature.GROUND: "fails",
    Nature.JOINT: "fails",
    Nature.PULLEY: "fails",
    Nature.GRIP: "fails",
    Nature.FRAME: "fails",
    Nature.HARNESS: "fails",
    Nature.LITTER: "fails",
    Nature.KNOT: "slips",
    Nature.STOPPER: "slips",
}
"""Parts that can be gone, and the word for it. People, loads and plain points do not fail."""


def lets_go(person: str, parts: dict[str, Part]) -> Effects:
    """What happens when a person lets go: bare hands open, devices that need the hand run."""
    worked = {p.name for p in parts.values() if p.operated_by == person and not p.self_locking}
    return Effects(open_hands=frozenset({person}), ungripped=frozenset(worked))


def hands_off(parts: dict[str, Part]) -> Effects:
    """Every person lets go at once (the whistle test)."""
    effects = Effects()
    for part in parts.values():
        if part.nature is Nature.PERSON:
            effects |= lets_go(part.name, parts)
    return effects


def what_fails(parts: dict[str, Part], ropes: Iterable[Rope]) -> dict[str, Failure]:
    """Every failure of a part, a span, an edge or a person, by id (common causes come on top)."""
    gripping: set[str] = set()
    holding: set[str] = set()
    edges: set[str] = set()
    guards: set[str] = set()
    found: list[Failure] = []

    def add(part: str, mode: str, of: Part | Rope, effects: Effects, *, own: bool = True) -> None:
        """`own`: the failure that the part's own `likelihood` speaks of."""
        chance = dict(of.quantities).get("likelihood") if own else None
        likelihood = chance.si if chance else None
        found.append(Failure(f"{part} {mode}", part, mode, effects, of.place, likelihood))

    for rope in ropes:
        for station in rope.stations:
            if station.role is Role.GRIP:
                gripping.add(station.part)
            elif station.role is Role.HAND:
                holding.add(station.part)
            elif station.role is Role.OVER:
                edges.add(station.part)
                guards |= {*station.guards, *parts[station.part].guards}
        for span in rope.spans:
            add(span, "is cut", rope, Effects(cut=frozenset({span})))
    working = {p.operated_by for p in parts.values() if p.name in gripping and not p.self_locking}
    for part in parts.values():
        mode = MODES.get(part.nature)
        if mode:
            add(part.name, mode, part, Effects(gone=frozenset({part.name, *part.points})))
        elif part.nature is Nature.PAD and part.name in guards:
            add(part.name, "shifts", part, Effects(gone=frozenset({part.name})))
        elif part.nature is Nature.EDGE and part.name in edges:
            add(part.name, "cuts", part, Effects(cutting=frozenset({part.name})))
        if part.name in gripping:
            add(part.name, "slips", part, Effects(ungripped=frozenset({part.name})), own=False)
        if part.nature is not Nature.PERSON:
            continue
        if part.name in holding or part.name in working:
            add(part.name, "lets go", part, lets_go(part.name, parts), own=False)
        minded = frozenset(p.name for p in parts.values() if p.minded_by == part.name)
        if minded:
            add(part.name, "holds on", part, Effects(ungripped=minded), own=False)
        if part.standing and part.exposed:
            unfooted = Effects(unfooted=frozenset({part.name})) | lets_go(part.name, parts)
            add(part.name, "loses footing", part, unfooted, own=False)
    return {failure.id: failure for failure in found}
