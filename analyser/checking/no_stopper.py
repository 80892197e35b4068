"""A rope end that nothing keeps from running out of the device that lets it down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.checking.finding import Finding, Rule, Severity
from analyser.checking.tracing import concerned, may_matter
from analyser.holding.outcome import Outcome
from analyser.language.mistakes import Place
from analyser.rig.model import Rig, Role, Station

DESCENDING = {"descender", "brake", "munter"}


@dataclass(frozen=True, slots=True)
class End:
    """A free end of a rope without a stopper: its side, and the device that would run off it."""

    rope: str
    side: str
    device: str | None
    place: Place


def open_ends(rig: Rig) -> Iterator[End]:
    """Every rope end that is free, not on the ground, and without a knot or stopper beyond the last
    thing that grips the rope."""
    for rope in rig.ropes:
        for at_end in (False, True):
            stations = rope.stations[::-1] if at_end else rope.stations
            closing = next((k for k, s in enumerate(stations) if s.role in (Role.TIE, Role.STOPPER)), len(stations))
            gripping = next((k for k, s in enumerate(stations) if s.role is Role.GRIP), len(stations))
            if rope.closed or rope.grounded[at_end] or closing < gripping or closing == 0:
                continue
            side = "end" if at_end else "start"
            yield End(rope.name, side, _runs_off(rig, stations, closing, at_end=at_end), rope.place)


def _runs_off(rig: Rig, stations: tuple[Station, ...], closing: int, *, at_end: bool) -> str | None:
    """The device between a free end and the first knot, with that end on its unloaded side."""
    for station in stations[:closing]:
        loaded = station.to_end if at_end else station.to_start
        part = rig.parts[station.part]
        both = station.to_start and station.to_end
        if station.role is Role.GRIP and (not loaded or both) and (DESCENDING & set(part.family) or part.operated_by):
            return part.name
    return None


def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
    fixed = rig.index.fixed
    for end in open_ends(rig):
        if end.device is None or not may_matter(outcome, f"{end.device} fails", f"{end.device} slips"):
            continue
        text = f"nothing keeps the {end.side} of {end.rope} from running out of {end.device}"
        where = "last" if end.side == "end" else "first"
        bodies = concerned(outcome, f"{end.device} fails", f"{end.device} slips")
        mend = f"`stopper` as the {where} station of {end.rope}"
        if end.device not in fixed:  # it goes down with somebody, to where the end may lie
            mend += f", or `{end.side} on ground` if it lies there"
        yield RULE.told(text, (end.rope, end.device), end.place, bodies, mend=mend)


RULE = Rule(
    name="no-stopper",
    severity=Severity.CAUTION,
    means="A rope end is free behind a device that lets somebody down, without a stopper and not on the ground.",
    matters=(
        "Run past the end, the rope leaves the device and nobody is held by it. It happens on descents with "
        "uneven ends and on lowers with a rope shorter than twice the height."
    ),
    mends="A stopper knot in the end, or write `end on ground` where it lies there in sight.",
    source=(
        "reports of mountaineering accidents and an article on lowering accidents, extracts seen (facts 11.11, "
        "11.22, S105, S106, S117)"
    ),
    wrong="""
anchor bolt, post
person sam: points waist, chest
attach post - strap s - sam.chest
attach sam.waist - descender d
d: operated by sam, self-locking
rope red   # here
    tied to bolt
    gripped by d
""",
    right="""
anchor bolt, post
person sam: points waist, chest
attach post - strap s - sam.chest
attach sam.waist - descender d
d: operated by sam, self-locking
rope red
    tied to bolt
    gripped by d
    stopper
""",
    find=find,
)
