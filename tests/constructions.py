"""Which constructions of the holding rules a rig has, told by looking at the rig."""

from __future__ import annotations

from analyser.rig.model import Nature, Rig, Role


def constructions(rig: Rig) -> set[str]:
    """The constructions that a rig has, by name."""
    parts = rig.parts.values()
    natures = {part.nature for part in parts}
    stations = [s for rope in rig.ropes for s in rope.stations]
    bodies = {body.name for body in rig.bodies}
    guards = {g for s in stations for g in (*s.guards, *(rig.parts[s.part].guards if s.role is Role.OVER else ()))}
    found = {
        "frame": Nature.FRAME in natures,
        "tripod": any(p.kind == "tripod" for p in parts),
        "frame with a guy": any("guyed" in need.words for p in parts for need in p.needs),
        "pad": any(rig.parts[g].nature is Nature.PAD for g in guards),
        "guard that is a part": any(rig.parts[g].nature is not Nature.PAD for g in guards),
        "ground below": any(p.below for p in parts),
        "strap to ground below": _strap_below(rig),
        "ends": any(rig.parts[b].ends for b in bodies),
        "cause": any(f.mode == "strikes" for f in rig.failures),
        "part of a structure": any(p.part_of for p in parts),
        "harness": Nature.HARNESS in natures,
        "standing person": any(p.standing for p in parts),
        "may lose footing": any(p.exposed for p in parts),
        "minded device": any(p.minded_by for p in parts),
        "operated device": any(p.operated_by and not p.self_locking for p in parts),
        "self-locking device": any(p.operated_by and p.self_locking for p in parts),
        "load as structure": _load_carries(rig),
        "litter": Nature.LITTER in natures,
        "interlock": any({rig.parts[c.a].nature, rig.parts[c.b].nature} == {Nature.KNOT} for c in rig.contacts),
        "places": sum(p.at is not None for p in parts) > 1,
        "bare hand": any(s.role is Role.HAND for s in stations),
        "slack": any(s.slack for s in stations),
        "absorber": any(p.kind == "absorber" for p in parts),
        "bend of two ropes": any(len(rig.index.ropes_at(p.name, Role.TIE)) > 1 for p in parts),
        "several bodies": len(bodies) > 1,
        "sides": any(p.sides for p in parts),
        "bar": any((p.ends or p.sides) and not p.is_body for p in parts),
        "standing on a load": any(p.stands_on for p in parts),
        "ground below one body": any(p.below_for for p in parts),
        "load through a harness": any(p.carries_through for p in parts),
        "tag line": any(rope.tag_line for rope in rig.ropes),
        "device held open": any(p.held_open for p in parts),
        "self-locking in hand": any(p.in_hand and p.self_locking and p.operated_by for p in parts),
        "anti-panic": any(p.in_hand and p.anti_panic for p in parts),
        "opened device": any(s.role is Role.GRIP and not (s.to_start or s.to_end) for s in stations),
    }
    found |= _on_ropes(rig)
    return {name for name, there in found.items() if there}


def _strap_below(rig: Rig) -> bool:
    below = {p.name for p in rig.parts.values() if p.nature is Nature.GROUND and p.below}
    straps = {p.name for p in rig.parts.values() if {"strap", "sling", "lanyard"} & {p.kind, *p.family}}
    return any(
        (a in below and b in straps) or (b in below and a in straps) for a, b in ((c.a, c.b) for c in rig.contacts)
    )


def _load_carries(rig: Rig) -> bool:
    """Is another body joined to a load by a link of one or two parts?"""
    owner = {p.name: p.body or p.name for p in rig.parts.values()}
    loads = {p.name for p in rig.parts.values() if p.nature is Nature.LOAD}
    for first, near in rig.touching.items():
        if owner[first] in loads:
            further = {n for one in near for n in (one, *rig.touching[one])}
            if any(owner[n] != owner[first] and rig.parts[owner[n]].is_body for n in further):
                return True
    return False


def _on_ropes(rig: Rig) -> dict[str, bool]:
    found = dict.fromkeys(
        ("ring without ends", "closed rope that ties", "stopper at an end", "stopper in mid-rope", "knot in mid-rope",
         "blocked rope", "back-up grip", "tied tail", "stopper behind a grip", "floating grip", "line to ground below"),
        False,
    )  # fmt: skip
    for rope in rig.ropes:
        roles = [s.role for s in rope.stations]
        if rope.closed:
            ties = rig.touching[rope.stations[0].part] or Role.TIE in roles[1:-1]
            found["closed rope that ties" if ties else "ring without ends"] = True
            continue
        ends = [k for k in (0, len(roles) - 1) if roles[k] is Role.STOPPER]
        found["stopper at an end"] |= bool(ends)
        found["stopper in mid-rope"] |= Role.STOPPER in roles[1:-1]
        found["knot in mid-rope"] |= Role.TIE in roles[1:-1]
        beside = {0: 1, len(roles) - 1: len(roles) - 2}
        found["blocked rope"] |= any(roles[beside[k]] is Role.RUN for k in ends)
        for k, station in enumerate(rope.stations):
            if station.role is not Role.GRIP:
                continue
            behind = roles[:k] if station.to_end and not station.to_start else roles[k + 1 :]
            found["back-up grip"] |= Role.GRIP in behind
            found["tied tail"] |= Role.TIE in behind
            found["stopper behind a grip"] |= Role.STOPPER in behind
            found["floating grip"] |= not _reaches_ground(rig, station.part)
        below = {p.name for p in rig.parts.values() if p.below}
        tied = {n for s in rope.stations if s.role is Role.TIE for n in rig.touching[s.part]}
        found["line to ground below"] |= bool(below & tied)
    return found


def _reaches_ground(rig: Rig, part: str) -> bool:
    seen, todo = {part}, [part]
    while todo:
        for other in rig.touching[todo.pop()]:
            if rig.parts[other].nature in (Nature.GROUND, Nature.FRAME) or rig.parts[other].is_body:
                return True
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return False
