"""A small SVG writer for pictures to scale: lines, polygons, marks and words, in black on white.

Coordinates are points of the page, y downwards, told to a tenth: the same figures give the same bytes.
Words from a rig are escaped, so that they come out as they stand.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable

from analyser.pages.drawing.colours import INK, PAPER
from analyser.pages.drawing.words import CONTROL
from analyser.rig.figures import units, value

Spot = tuple[float, float]
FONT = "Arial, Helvetica, sans-serif"
WIDE = 0.56
"""Width of a letter over its height, on average: how much room words take."""


def escaped(text: str) -> str:
    """Text that comes out literally, on one line."""
    return html.escape(CONTROL.sub("\ufffd", " ".join(text.split())))


def room(words: str, size: float) -> float:
    """About how wide words are."""
    return len(words) * size * WIDE


class Sheet:
    """One picture, drawn in the order of the calls."""

    def __init__(self, width: float, height: float, title: str, description: str = "") -> None:
        self.width, self.height = width, height
        self.pieces = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{told(width)}" height="{told(height)}" '
            f'viewBox="0 0 {told(width)} {told(height)}" font-family="{FONT}" role="img">',
            f"<title>{escaped(title)}</title>",
        ]
        if description:
            self.pieces.append(f"<desc>{escaped(description)}</desc>")
        self.pieces.append(f'<rect width="100%" height="100%" fill="{PAPER}"/>')

    def line(self, spots: Iterable[Spot], wide: float = 1.0, colour: str = INK, dashes: str = "") -> None:
        """A line through all the spots; `dashes` as lengths of stroke and gap."""
        through = " ".join(f"{told(x)},{told(y)}" for x, y in spots)
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.pieces.append(
            f'<polyline points="{through}" fill="none" stroke="{colour}" stroke-width="{told(wide)}" '
            f'stroke-linejoin="round" stroke-linecap="{"butt" if dashes else "round"}"{dashed}/>'
        )

    def shape(self, spots: Iterable[Spot], fill: str = PAPER, colour: str = INK, wide: float = 1.0) -> None:
        """A closed shape."""
        through = " ".join(f"{told(x)},{told(y)}" for x, y in spots)
        self.pieces.append(
            f'<polygon points="{through}" fill="{fill}" stroke="{colour}" stroke-width="{told(wide)}" '
            'stroke-linejoin="round"/>'
        )

    def circle(self, at: Spot, radius: float, fill: str = PAPER, colour: str = INK, wide: float = 1.0) -> None:
        self.pieces.append(
            f'<circle cx="{told(at[0])}" cy="{told(at[1])}" r="{told(radius)}" fill="{fill}" stroke="{colour}" '
            f'stroke-width="{told(wide)}"/>'
        )

    def words(
        self, at: Spot, text: str, size: float = 11, anchor: str = "start", colour: str = INK, bold: bool = False
    ) -> None:
        """Words whose baseline starts (`start`), is centred (`middle`) or ends (`end`) at a spot. A rim of
        paper keeps them legible where they cross a line."""
        heavy = ' font-weight="bold"' if bold else ""
        self.pieces.append(
            f'<text x="{told(at[0])}" y="{told(at[1])}" font-size="{told(size)}" text-anchor="{anchor}" '
            f'fill="{colour}" stroke="{PAPER}" stroke-width="3" paint-order="stroke"{heavy}>{escaped(text)}</text>'
        )

    def svg(self) -> str:
        return "\n".join([*self.pieces, "</svg>"]) + "\n"


def told(number: float) -> str:
    """A number to a tenth, without a minus before nought."""
    text = f"{number:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def scale_bar(points_a_metre: float) -> tuple[float, str]:
    """How long a scale's bar is, in points, and what it says: a round length of some 60 to 120 points."""
    unit = units().length
    points = points_a_metre / value(1.0, unit)
    told = ticks(0, 120 / points, 2)[-1]
    return told * points, f"{told:g} {unit}"


def ticks(least: float, most: float, about: int = 6) -> list[float]:
    """Round numbers from one end to the other, about so many.

    >>> ticks(-3, 12)
    [0.0, 5.0, 10.0]
    """
    rough = max(most - least, 1e-9) / about
    ten = 10.0 ** math.floor(math.log10(rough))
    step = next(ten * k for k in (1, 2, 5, 10) if ten * k >= rough * (1 - 1e-9))
    first, last = math.ceil(least / step - 1e-9), math.floor(most / step + 1e-9)
    return [round(k * step, 9) for k in range(first, last + 1)]
