"""What can fail in a rig: one event, one name, one set of effects (`holding/rules.md` section 2)."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping

from analyser.language.identities import FailureId
from analyser.rig.model import Contact, Effects, Failure, Nature, Part, Rig, Role, Rope

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
    Nature.STRUCTURE: "fails",
}
"""Parts that can be gone, and the word for it. People and plain points do not fail, loads only where they carry."""


def _by(parts: dict[str, Part], of: Callable[[Part], str | None]) -> dict[str, frozenset[str]]:
    """The devices of each person: those for which `of` names them."""
    found: dict[str, list[str]] = {}
    for part in parts.values():
        person = of(part)
        if person:
            found.setdefault(person, []).append(part.name)
    return {person: frozenset(names) for person, names in found.items()}


def _worked(part: Part) -> str | None:
    """Whose hand a device needs."""
    return None if part.self_locking or part.held_open else part.operated_by


def _kept_from_gripping(part: Part) -> str | None:
    """Who can keep a device from gripping by holding on: who minds it, or has one that locks by itself in hand."""
    if part.held_open:
        return None
    if part.minded_by:
        return part.minded_by
    return part.operated_by if part.in_hand and part.self_locking and not part.anti_panic else None


def _lets_go(person: str, worked: dict[str, frozenset[str]]) -> Effects:
    """What happens when a person lets go: bare hands open, devices that need the hand run."""
    return Effects(open_hands=frozenset({person}), ungripped=worked.get(person, frozenset()))


def letting_go(rig: Rig) -> dict[str, Effects]:
    """What happens when they let go, for those who work a device or hold rope and stand on no ground: they let go once
    they are not held, or are off the deck they stand on."""
    worked = _by(rig.parts, _worked)
    holding = {s.part for rope in rig.ropes for s in rope.stations if s.role is Role.HAND} | worked.keys()
    people = (p for p in rig.parts.values() if p.nature is Nature.PERSON and (not p.standing or p.stands_on))
    return {person.name: _lets_go(person.name, worked) for person in people if person.name in holding}


def hands_off(parts: dict[str, Part]) -> Effects:
    """Every person lets go at once (the whistle test)."""
    people = frozenset(part.name for part in parts.values() if part.nature is Nature.PERSON)
    worked = frozenset(part.name for part in parts.values() if _worked(part) in people)
    return Effects(open_hands=people, ungripped=worked)


def taken_along(parts: dict[str, Part]) -> dict[str, frozenset[str]]:
    """What goes with each part: what is part of it, and what is part of that."""
    members: dict[str, list[str]] = {}
    for part in parts.values():
        for whole in part.part_of:
            members.setdefault(whole, []).append(part.name)
    found: dict[str, frozenset[str]] = {}
    for whole in members:
        seen: set[str] = set()
        stack = [whole]
        while stack:
            for name in members.get(stack.pop(), ()):
                if name not in seen:
                    seen.add(name)
                    stack.append(name)
        found[whole] = frozenset(seen - {whole})
    return found


def _laid_in_baskets(
    parts: Mapping[str, Part], contacts: Iterable[Contact]
) -> tuple[dict[str, set[str]], dict[str, set[str]]]:
    """What touches each part, and of every sling and lanyard that lies in a basket what is at its ends; nothing of both
    where none does."""
    laid = {part.name: str(part.laid_round) for part in parts.values() if part.laid_round}
    near: dict[str, set[str]] = {}
    for contact in contacts if laid else ():
        near.setdefault(contact.a, set()).add(contact.b)
        near.setdefault(contact.b, set()).add(contact.a)
    return near, {name: near.get(name, set()) - {around} for name, around in laid.items()}


def _from_end(parts: Mapping[str, Part], near: Mapping[str, set[str]], name: str, end: str) -> Iterator[str]:
    """The chain from an end of it on, to the first body, rope or fork."""
    before, here = name, end
    while True:
        yield here
        further = near[here] - {before}
        if parts[here].nature is not Nature.JOINT or len(further) != 1:
            return
        before, here = here, further.pop()


def baskets(parts: Mapping[str, Part], contacts: Iterable[Contact]) -> dict[str, frozenset[str]]:
    """The slings and lanyards that lie in a basket round something and have two ends, by everything in the chain from
    either end to the first body, rope or fork: without a link of it they slide off."""
    near, laid = _laid_in_baskets(parts, contacts)
    found: dict[str, set[str]] = {}
    for name, ends in laid.items():
        links = (link for end in ends for link in _from_end(parts, near, name, end))
        for one in (name, *links) if len(ends) == 2 else ():
            found.setdefault(one, set()).add(name)
    return {one: frozenset(names) for one, names in found.items()}


def two_ended(parts: Mapping[str, Part], contacts: Iterable[Contact]) -> frozenset[str]:
    """The slings and lanyards that lie in a basket and have two ends, or more, attached."""
    _, laid = _laid_in_baskets(parts, contacts)
    return frozenset(name for name, ends in laid.items() if len(ends) > 1)


def slid_off(
    parts: Mapping[str, Part], contacts: Collection[Contact], ropes: Iterable[Rope], had_two: Collection[str]
) -> Collection[Contact]:
    """The contacts without those by which something in a basket that `had_two` ends would hold by one: it slides off
    what it lies round. What hangs in the air ends nowhere."""
    if not had_two:
        return contacts
    near, laid = _laid_in_baskets(parts, contacts)
    on_ropes = {station.part for rope in ropes for station in rope.stations}

    def attached(name: str, end: str) -> bool:
        *links, last = _from_end(parts, near, name, end)
        in_the_air = parts[last].nature is Nature.JOINT and len(near[last]) == 1
        return not in_the_air or not on_ropes.isdisjoint((*links, last))

    slid = [name for name in had_two if sum(attached(name, end) for end in laid[name]) < 2]
    off = {frozenset((name, str(parts[name].laid_round))) for name in slid}
    return [one for one in contacts if frozenset((one.a, one.b)) not in off]


def _gone_with(
    part: Part, along: Mapping[str, frozenset[str]], slides_off: Mapping[str, frozenset[str]]
) -> frozenset[str]:
    """What is gone when a part is: its points, what is part of it, and what slides off without any of these."""
    gone = {part.name, *part.points, *along.get(part.name, ())}
    return frozenset(gone.union(*(slides_off.get(one, ()) for one in gone)))


def struck(parts: dict[str, Part], ropes: Iterable[Rope]) -> dict[str, Effects]:
    """What each hazard does to what is near it: spans are cut, parts go."""
    found: dict[str, Effects] = {}
    for rope in ropes:
        for span, station in zip(rope.spans, rope.stations[1:], strict=True):
            for hazard in station.near:
                found[hazard] = found.get(hazard, Effects()) | Effects(cut=frozenset({span}))
    along = taken_along(parts)
    for part in parts.values():
        for hazard in part.near:
            gone = Effects(gone=frozenset({part.name, *along.get(part.name, ())}))
            found[hazard] = found.get(hazard, Effects()) | gone
    return found


def loads_that_carry(parts: dict[str, Part], ropes: Iterable[Rope], contacts: Iterable[Contact]) -> frozenset[str]:
    """The loads on which another body may hang or stand: it is joined to them, no ground between, and they are
    attached at more than one place."""
    beside: dict[str, set[str]] = {name: set() for name in parts}
    places: dict[str, set[str]] = {name: set() for name, part in parts.items() if part.nature is Nature.LOAD}
    if not places:
        return frozenset()

    def join(a: str, b: str) -> None:
        for one, other in ((a, b), (b, a)):
            beside.setdefault(one, set()).add(other)
            body = parts[one].body or one if one in parts else one
            if body in places and (parts[other].body if other in parts else other) != body and other != body:
                places[body].add(other)

    for contact in contacts:
        join(contact.a, contact.b)
    for rope in ropes:
        for k, station in enumerate(rope.stations):
            if station.role in (Role.TIE, Role.RUN, Role.GRIP):
                join(station.part, f"rope {rope.name}" if station.role is Role.TIE else f"rope {rope.name} {k}")
                join(f"rope {rope.name}", f"rope {rope.name} {k}")
    for part in parts.values():
        for under in (*part.needed, *([part.stands_on] if part.stands_on else [])):
            join(part.name, under)
    found = set()
    for name, several in places.items():
        seen, stack = {name}, [name]
        while stack:
            for there in beside[stack.pop()] - seen:
                seen.add(there)
                if there not in parts or parts[there].nature is not Nature.GROUND:
                    stack.append(there)
        others = any(one != name and one in parts and parts[one].is_body for one in seen)
        if others and len(several) > 1:
            found.add(name)
    return frozenset(found)


def what_fails(
    parts: dict[str, Part], ropes: Iterable[Rope], contacts: Collection[Contact] = ()
) -> dict[FailureId, Failure]:
    """Every failure of a part, a span, an edge or a person, by id (common causes come on top)."""
    gripping: set[str] = set()
    holding: set[str] = set()
    edges: set[str] = set()
    guards: set[str] = set()
    sleeved: dict[str, set[str]] = {}
    found: list[Failure] = []

    def add(part: str, mode: str, of: Part | Rope, effects: Effects, *, own: bool = True) -> None:
        """`own`: the failure that the part's own `likelihood` speaks of."""
        chance = dict(of.quantities).get("likelihood") if own else None
        likelihood = chance.si if chance else None
        found.append(Failure(FailureId(part, mode), effects, of.place, likelihood))

    for rope in ropes:
        for station in rope.stations:
            if station.role is Role.GRIP and (station.to_start or station.to_end):
                gripping.add(station.part)
            elif station.role is Role.HAND:
                holding.add(station.part)
            elif station.role is Role.OVER:
                edges.add(station.part)
                guards |= {*station.guards, *parts[station.part].guards}
        for span, station in zip(rope.spans, rope.stations[1:], strict=True):
            add(span, "is cut", rope, Effects(cut=frozenset({span})))
            for sleeve in station.inside:
                sleeved.setdefault(sleeve, set()).add(span)
    along = taken_along(parts)
    worked, minding = _by(parts, _worked), _by(parts, _kept_from_gripping)
    working = {p.operated_by for p in parts.values() if p.name in gripping and _worked(p)}
    carrying = loads_that_carry(parts, ropes, contacts)
    slides_off = baskets(parts, contacts)
    for part in parts.values():
        mode = MODES.get(part.nature) or ("fails" if part.name in carrying else None)
        if mode:
            add(part.name, mode, part, Effects(gone=_gone_with(part, along, slides_off)))
        elif part.nature is Nature.PAD and part.name in guards:
            add(part.name, "shifts", part, Effects(gone=frozenset({part.name})))
        elif part.nature is Nature.EDGE and part.name in edges:
            add(part.name, "cuts", part, Effects(cutting=frozenset({part.name})))
        if part.name in sleeved:  # what gets at a sleeve gets at every rope in it
            add(part.name, "fails", part, Effects(frozenset({part.name}), cut=frozenset(sleeved[part.name])))
        if part.name in gripping:
            add(part.name, "slips", part, Effects(ungripped=frozenset({part.name})), own=False)
        if part.nature is not Nature.PERSON:
            continue
        if part.name in holding or part.name in working:
            add(part.name, "lets go", part, _lets_go(part.name, worked), own=False)
        minded = minding.get(part.name, frozenset())
        if minded:
            add(part.name, "holds on", part, Effects(ungripped=minded), own=False)
        if part.standing and part.exposed:
            unfooted = Effects(unfooted=frozenset({part.name})) | _lets_go(part.name, worked)
            add(part.name, "loses footing", part, unfooted, own=False)
    return {failure.id: failure for failure in found}
