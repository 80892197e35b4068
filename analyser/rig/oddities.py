"""What is not a mistake but ought to be seen: idle parts, ends that may lie below the bodies."""

from __future__ import annotations

from collections.abc import Iterable

from analyser.rig.drafting import Bench
from analyser.rig.model import (
    Caution,
    Nature,
    Part,
    Role,
    Rope,
)


def odd(bench: Bench, parts: dict[str, Part], ropes: Iterable[Rope]) -> None:
    """What is not a mistake but ought to be seen: idle parts, ends that may lie below."""
    idle_apart = (Nature.POINT, Nature.KNOT, Nature.STOPPER)
    for part in parts.values():
        if part.name in bench.used or part.nature in idle_apart or part.needs:
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
    if any(part.below is not None or part.at for part in parts.values()):
        return
    for rope in ropes:
        end = _end_worked_from_the_ground(rope, parts, bench)
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
        if any(bench.parts[name].kind.name == "footing" for name in touched):
            return part.name
    return None
