"""How frames and bodies fare by the forces, as data: a piece of the documents of forces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from analyser.checking.contract import Degrees, Metres, Newtons, Shape

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.faring import Fares, Faring
    from analyser.forces.frames import FrameForce
    from analyser.forces.missing import Wanted


class ToAdd(Shape):
    add: Annotated[str, "line"]
    why: str
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]


def _margin(one: FrameForce) -> float | None:
    return one.footprint.margin


def _over(one: FrameForce) -> tuple[str, ...]:
    return one.footprint.over


class FrameStanding(Shape):
    """A frame under its load: does it stand, what its legs push and its guys pull with (of many shares the smallest
    by sum of squares), and how far within its feet the line of the load meets the ground (below nought: outside),
    nearest to which of them."""

    name: str
    stand: Literal["stands", "on edge", "tips", "untold"]
    """`on edge`: only by exact balance; `untold`: the place of a foot or guy is missing."""
    legs: dict[str, Newtons]
    guys: dict[str, Newtons]
    unbalanced: Newtons
    inside_feet: Annotated[Metres | None, _margin]
    over: Annotated[tuple[str, ...], _over]


class FaresThen(Shape):
    """How one body fares after some failures (none: as it hangs)."""

    body: str
    turned_over: Annotated[bool, "over"]
    may_turn_over: bool
    head_up: Annotated[Degrees | None, "lies.head_up"]
    roll: Annotated[Degrees | None, "lies.roll"]
    on_tipping_frames: Annotated[tuple[str, ...], "tipping"]
    on_frames_in_exact_balance: Annotated[tuple[str, ...], "on_edge"]


def _fare(one: Faring) -> list[Fares]:
    """Those of whom the forces tell anything but that they hang."""
    return [body for body in one.bodies if body.lies or body.tipping or body.on_edge]


def _lacks(one: Faring) -> list[Wanted]:
    return [ask.wanted for ask in one.asks]


class FaringThen(Shape):
    """How bodies and frames fare after some failures (none: as everything hangs)."""

    failures: tuple[str, ...]
    bodies: Annotated[tuple[FaresThen, ...], _fare]
    frames: tuple[FrameStanding, ...]
    in_question: Annotated[tuple[ToAdd, ...], _lacks]
    """Facts that would decide, and that the file doesn't give."""
