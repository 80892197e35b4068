"""What is not a mistake but ought to be seen: idle parts, ends that may lie below the bodies."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from analyser.language.mistakes import with_article
from analyser.rig.bench import Bench
from analyser.rig.composing import Composed
from analyser.rig.elements import Nature, Part, Role, Rope
from analyser.rig.model import Caution

HARDWARE = (Nature.JOINT, Nature.PULLEY, Nature.GRIP)


def odd(bench: Bench, states: Sequence[Composed]) -> None:
    """Note everything odd: parts that nothing touches, or one thing only in every state; ends that may lie below."""
    first, *later = states
    _idle(bench, first.parts)
    _loose(bench, first, later)
    _grip_nothing(bench, first, states)
    _below_not_said(bench, first)


def _loose(bench: Bench, first: Composed, later: Iterable[Composed]) -> None:
    """Hardware that touches one thing only, whatever the stages bring: a chain that ends in the air."""
    touching = _touching(first)
    apart = {name for part in first.parts.values() for name in part.needed}
    apart |= {name for part in first.parts.values() for name in part.guards}
    apart |= {name for rope in first.ropes for station in rope.stations for name in station.guards}
    apart |= {name for one in later for name, around in _touching(one).items() if len(around) > 1}
    for part in first.parts.values():
        around = touching.get(part.name, [])
        if "foot-loop" in part.family:  # somebody steps in it
            continue
        if part.nature in HARDWARE and len(around) == 1 and part.name not in apart:
            text = f"only `{around[0]}` touches `{part.name}`: nothing beyond it holds, nothing hangs from it"
            bench.cautions.append(Caution("hangs-loose", (part.name,), text, part.place))


def _grip_nothing(bench: Bench, first: Composed, states: Sequence[Composed]) -> None:
    """Devices that stand in a chain, or have a rope tied to them, and grip none in any state."""
    touching = _touching(first)
    gripping = {s.part for one in states for rope in one.ropes for s in rope.stations if s.role is Role.GRIP}
    tied = {name for knot in first.parts.values() if knot.nature is Nature.KNOT for name in touching.get(knot.name, [])}
    for part in first.parts.values():
        if part.nature is not Nature.GRIP or part.name in gripping or len(touching.get(part.name, [])) < 2:
            continue
        rather = f"write `gripped by {part.name}` where it grips one"
        if part.name in tied:
            rather = f"a rope that winds on it is tied to it and then `gripped by {part.name}`"
        text = (
            f"`{part.name}` is {with_article(part.kind)} and grips no rope: that it slips, or is let go, is not asked"
        )
        bench.cautions.append(Caution("grips-nothing", (part.name,), f"{text}; {rather}", part.place))


def _touching(state: Composed) -> dict[str, list[str]]:
    """What touches each part, ropes that run through it or that it grips among them."""
    found: dict[str, list[str]] = {}
    for contact in state.contacts:
        found.setdefault(contact.a, []).append(contact.b)
        found.setdefault(contact.b, []).append(contact.a)
    for rope in state.ropes:
        for station in rope.stations:
            if station.role in (Role.RUN, Role.GRIP):
                found.setdefault(station.part, []).append(rope.name)
    return found


def _idle(bench: Bench, parts: dict[str, Part]) -> None:
    idle_apart = (Nature.POINT, Nature.KNOT, Nature.STOPPER)
    for part in parts.values():
        if part.name in bench.used or part.nature in idle_apart or part.needs:
            continue
        if part.below and part.at:  # it tells how high the ground is
            continue
        if any(point in bench.used for point in part.points):
            continue
        if part.is_body:
            text = f"nothing is attached to `{part.name}`"
            if part.standing and not part.exposed:
                continue
        elif part.nature is Nature.EDGE:
            text = f"no rope passes the edge `{part.name}`"
        elif part.nature is Nature.PAD:
            text = f"`{part.name}` guards nothing"
        elif part.nature is Nature.HARNESS:
            text = f"nothing is attached to the harness point `{part.name}` of {part.body}"
        else:
            text = f"nothing touches `{part.name}`: it holds nobody"
        bench.cautions.append(Caution("unused-part", (part.name,), text, part.place))


def _below_not_said(bench: Bench, first: Composed) -> None:
    if any(part.below is not None or part.below_for or part.at for part in first.parts.values()):
        return
    for rope in first.ropes:
        end = _end_worked_from_the_ground(rope, first.parts, bench)
        if end:
            text = (
                f"`{end}`, at an end of `{rope.name}`, is worked from the ground with a pulley between: if what it "
                "is anchored to lies under the bodies, write `below` on that anchor (or `not below`). "
                "Until told, it counts as above"
            )
            bench.cautions.append(Caution("below-not-said", (rope.name, end), text, rope.place))


def _end_worked_from_the_ground(rope: Rope, parts: dict[str, Part], bench: Bench) -> str | None:
    """The part at a rope's end that a standing person works, or a footing, behind a pulley."""
    ends = [s for s in rope.stations if s.to_start or s.to_end or s.role is Role.HAND]
    if len(ends) < 2:
        return None
    pulleys = [i for i, s in enumerate(rope.stations) if parts[s.part].nature is Nature.PULLEY]
    for end in (ends[0], ends[-1]):
        here = rope.stations.index(end)
        beyond = [i for i in pulleys if i != here]
        if not beyond:
            continue
        part = parts[end.part]
        worker = part.name if part.nature is Nature.PERSON else part.operated_by
        if worker and parts[worker].standing:
            return part.name
        touched = {name for pair in bench.contacts if end.part in pair for name in pair}
        if any(bench.parts[name].kind == "footing" for name in touched):
            return part.name
    return None
