"""The forces over the bands of a file, as data: a piece of the documents of forces."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Literal

from analyser.checking.contract import Degrees, Figure, Metres, Newtons, Ratio, Shape
from analyser.checking.worst_sought import how_after, how_at_rest, how_in_time

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.spreading import Spread


class BandGiven(Shape):
    of: str
    figure: str
    band: Annotated[str, "text"]


class MayFall(Shape):
    body: Annotated[str, "0"]
    after: Annotated[str, "1"]
    """Empty at rest."""


class BandFigure(Shape):
    """One figure over the bands. `unit` says in what: kN, m, deg, or None for a number without one."""

    figure: str
    of: str
    after: str | None
    unit: Literal["kN", "m", "deg"] | None
    from_5_percent: Ratio
    to_95_percent: Ratio
    least: Ratio
    most: Ratio


IN_UNIT: dict[str, type[Figure]] = {
    "carries": Newtons,
    "peak": Newtons,
    "drop": Metres,
    "factor": Ratio,
    "factor-after": Ratio,
    "overload": Ratio,
    "head-up": Degrees,
    "roll": Degrees,
    "off-level": Degrees,
}


def _may_fall(spread: Spread) -> list[tuple[str, ...]]:
    return [names for names, _ in spread.each("falls")]


def _figures(spread: Spread) -> Iterator[BandFigure]:
    for (what, *names), one in sorted(spread.ranges.items()):
        if what != "falls":
            unit = IN_UNIT[what]
            low, high, least, most = (Ratio(end / unit.per) for end in (one.low, one.high, one.least, one.most))
            yield BandFigure(
                figure=what,
                of=names[0],
                after=names[1] if len(names) > 1 else None,
                unit=unit.unit or None,  # type: ignore[arg-type]  # one of the three, or none
                from_5_percent=low,
                to_95_percent=high,
                least=least,
                most=most,
            )


class Bands(Shape):
    """The forces over the bands that the file gives."""

    of: Annotated[tuple[BandGiven, ...], "banded"]
    samples: int
    corners: int
    followed_after_failures: Annotated[int, "after"]
    sought: int
    """Cases worked out because they might be the worst."""
    how: Annotated[str, how_at_rest]
    """How the worst was sought."""
    how_after_failures: Annotated[str | None, how_after]
    how_in_time: Annotated[str | None, how_in_time]
    in_time: Annotated[tuple[str, ...], "moving"]
    not_balanced: Annotated[int, "lost"]
    falls: Annotated[tuple[MayFall, ...], _may_fall]
    figures: Annotated[tuple[BandFigure, ...], _figures]
