"""The three readings of one balance: where else a rope counts as cut, by section 2 of the design's page.

What the page leaves open is numbered at the head of `balance.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from analyser.rig.model import Effects, Role, Rope, Station

if TYPE_CHECKING:
    from balance_view import View

CAUGHT, HELD, STILL = "caught", "held", "still"
"""Three readings of one balance, differing in where a rope counts as cut. Other people are left out of
all that *held* and *still* ask."""

START, END = -1, 1
"""The two ways along a rope."""


def cut_stations(view: View, rope: Rope) -> frozenset[int]:
    """The stations at which a reading cuts the rope, by index. *Caught*: nowhere."""
    if view.scene.reading == CAUGHT:
        return frozenset()
    cut = _cut_in_held if view.scene.reading == HELD else _cut_in_still
    return frozenset(k for k in range(len(rope.stations) - rope.closed) if cut(view, rope, k))


def _cut_in_held(view: View, rope: Rope, k: int) -> bool:
    """*Held*: also at a lost grip, and at every bare hand, unless the next thing beyond, away from the
    loaded side, that holds the rope is a working grip that itself stands apart now or moves with
    the body."""
    role = rope.stations[k].role
    if role is Role.HAND or (role is Role.GRIP and _grip_lost(view, rope, k)):
        return not all(_holds_instead(view, rope, other) for other in _next_holders(view, rope, k))
    return role is Role.TIE and _end_lost(view, rope, k)


def _end_lost(view: View, rope: Rope, k: int) -> bool:
    """What a rope ends at that runs through something has lost its hold, and holds no body: it goes with the rope
    until it jams (29). Not asked of a rig without some of its ropes, or without bodies."""
    if view.scene.without or view.scene.bodiless or rope.closed or 0 < k < len(rope.stations) - 1:
        return False
    knot = rope.stations[k].part
    runs = any(station.role in (Role.RUN, Role.GRIP) for station in rope.stations)
    if not runs or not view.joined.has(knot) or view.before.on_a_body(knot):
        return False
    if (
        sum(
            view.joined.cluster.get(s.part) == view.joined.cluster[knot]
            for r in view.ropes.values()
            for s in r.stations
        )
        < 2
    ):
        return False
    bodies = [part for part in view.parts.values() if part.is_body]
    gone = frozenset(name for body in bodies for name in (body.name, *body.points))
    before, now = Effects(gone=gone), replace(view.effects, gone=view.effects.gone | gone)
    stood, stands = (
        view.other(effects=laid, reading=HELD, bodiless=True).carries(knot, anchored=True) for laid in (before, now)
    )
    return stood and not stands


def _holds_instead(view: View, rope: Rope, holder: int | None) -> bool:
    if holder is None or not view.grips(rope.stations[holder]):
        return False
    return _does(view, rope, rope.stations[holder].part)


def _cut_in_still(view: View, rope: Rope, k: int) -> bool:
    """*Still*: also at a lost grip (not at a hand) whose next holder is a grip that doesn't hang from
    the same place; at a lost bend; at a mid-rope knot that no longer ties what it tied."""
    held, station = view.held, rope.stations[k]
    if k in held.cuts(rope):
        return True
    if station.role is Role.GRIP and _grip_lost(held, rope, k):
        others = [rope.stations[n].part for n in _next_holders(held, rope, k) if n is not None]
        return not all(_hang_alike(held.before, station.part, other) for other in others)
    if station.role is Role.GRIP and _bight_lost(held, rope, k):
        return True
    mid_rope = station.role is Role.TIE and (rope.closed or 0 < k < len(rope.stations) - 1)
    if mid_rope and held.before.tied_to(station.part) and not held.tied_to(station.part):
        return True
    return (mid_rope or station.role is Role.RUN) and _bend_lost(held, rope, station.part)


def _hang_alike(view: View, one: str, other: str) -> bool:
    """Do both hang from the same place: one cluster, or one ground part that both touch?"""
    joined = view.joined
    a, b = joined.cluster.get(one), joined.cluster.get(other)
    return a is not None and b is not None and (a == b or bool(joined.touched[a] & joined.touched[b]))


def _grip_lost(view: View, rope: Rope, k: int) -> bool:
    """A grip is lost if, with nothing failed, it stood apart or moved with the body, and now it is
    gone, doesn't grip, or no longer does what it did."""
    station, before = rope.stations[k], view.before
    stood, moved = before.stands_apart(rope, station.part), before.moves_with_body(station.part)
    if not stood and not moved:
        return False
    if not view.grips(station):
        return True
    part = station.part
    return not ((moved and view.moves_with_body(part)) or (stood and view.stands_apart(rope, part)))


def _bend_lost(view: View, rope: Rope, part: str) -> bool:
    """A bend, at a pulley, ring or mid-rope knot whose cluster holds no body, is lost when it stood
    apart with nothing failed and now is gone or doesn't."""
    before = view.before
    if before.on_a_body(part):
        return False
    if view.scene.within:  # asked about another bend
        return before.stands_apart(rope, part) and not view.stands_apart(rope, part)
    return before.keeps_place(rope, part) and not view.keeps_place(rope, part)


def _bight_lost(view: View, rope: Rope, k: int) -> bool:
    """A grip that with nothing failed gripped, and hung on that very rope alone, held up what lies between it and where
    the rope, away from its loaded side, comes back to its cluster. That has run out once the two are no longer one, or
    it grips no more; but for where a knot, or a working grip that does, holds the rope before it comes back (36)."""
    before, station = view.before, rope.stations[k]
    if not before.grips(station) or _does(before, rope, station.part):
        return False
    was, now = before.joined.cluster, view.joined.cluster
    for side in _loaded_sides(before, rope, k):
        for n in view.beyond(rope, k, -side):
            other = rope.stations[n]
            if other.role in (Role.RUN, Role.GRIP, Role.TIE) and was.get(other.part) == was.get(station.part, -1):
                one = station.part in now and now[station.part] == now.get(other.part)
                if not (one and view.grips(station)):
                    return True
                break
            if _holds_rope(view, rope, other, side):
                break
    return False


def _next_holders(view: View, rope: Rope, k: int) -> Iterator[int | None]:
    """For every loaded side of a grip or hand: the next station, away from it, that holds the rope."""
    for side in _loaded_sides(view.before, rope, k):
        yield next((n for n in view.beyond(rope, k, -side) if _holds_rope(view, rope, rope.stations[n], side)), None)


def _holds_rope(view: View, rope: Rope, station: Station, side: int) -> bool:
    """Does this hold rope that is drawn that way? (A knot that ties nothing, or only somebody who
    isn't there, holds no rope.)"""
    if station.role is Role.TIE:
        return view.ties(station.part)
    if station.role is Role.STOPPER:
        return False
    against = station.to_start if side == START else station.to_end
    return view.grips(station) and against and _does(view, rope, station.part)


def _does(view: View, rope: Rope, part: str) -> bool:
    return view.moves_with_body(part) or view.stands_apart(rope, part)


def _loaded_sides(view: View, rope: Rope, k: int) -> list[int]:
    """From which ways a grip or hand is loaded. One that works both ways is loaded, on a body's own
    cluster, from each side on which something not on that cluster ties or grips the rope; elsewhere
    from each side on which the next knot moves with a body."""
    station = rope.stations[k]
    to_start, to_end = station.loaded or (station.to_start, station.to_end)
    if to_start != to_end:
        return [START if to_start else END]
    by = _loaded_on_body if view.moves_with_body(station.part) else _loaded_by_body
    return [way for way in (START, END) if by(view, rope, k, way)] or [START, END]


def _loaded_on_body(view: View, rope: Rope, k: int, way: int) -> bool:
    cluster = view.joined.cluster
    own = cluster[rope.stations[k].part]
    met = [rope.stations[n] for n in view.beyond(rope, k, way)]
    holding = [s.part for s in met if (s.role is Role.TIE and view.ties(s.part)) or view.grips(s)]
    return any(cluster.get(part) != own for part in holding)


def _loaded_by_body(view: View, rope: Rope, k: int, way: int) -> bool:
    met = [rope.stations[n] for n in view.beyond(rope, k, way)]
    knot = next((s.part for s in met if s.role is Role.TIE and view.ties(s.part)), None)
    return knot is not None and view.moves_with_body(knot)
