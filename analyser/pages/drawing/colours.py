"""What colour a rope is drawn in. Colour only helps the eye: every span carries its rope's name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

INK = "#1a1a1a"
ACCEPTED = "#5c5c5c"
"""For a single point that the file accepts: still dark enough for white type."""
QUIET = "#5f5f5f"
LOST = "#8a8a8a"
ALARM = "#9c1200"
"""For what is wrong, and nothing else."""
PAPER = "#ffffff"
SHADE = "#ececec"
ON_INK = "#d8d8d8"
"""Quiet words on what is filled with ink."""

NAMED = {
    "red": "#c8261d",
    "green": "#2c8a3c",
    "blue": "#1f5fbf",
    "orange": "#e07b00",
    "yellow": "#c9a400",
    "black": "#1a1a1a",
    "white": "#a9a9a9",
    "grey": "#777777",
    "gray": "#777777",
    "purple": "#7a3fa0",
    "violet": "#7a3fa0",
    "pink": "#d6559a",
    "brown": "#7b4b27",
    "turquoise": "#148f8f",
    "gold": "#b58900",
    "silver": "#9a9a9a",
    "lime": "#7aa51a",
    "navy": "#1b2f6b",
    "olive": "#71731f",
    "maroon": "#7a1f2b",
}
"""Shades that stand out on white paper, whatever the dye."""

UNNAMED = ("#37618e", "#8a5a00", "#6a4c93", "#00736d", "#a0445c", "#4f6d1f")
"""For ropes whose names say no colour, in order of the file."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn: side by side `count` lines of `wide` points, whole or broken (`dashed`, `dotted`)."""

    count: int
    wide: float
    style: str = ""

    def drawn(self, colour: str) -> dict[str, str]:
        """For the layout program."""
        look = {"color": f":{PAPER}:".join([colour] * self.count), "penwidth": f"{self.wide:g}"}
        return look | {"style": self.style} if self.style else look


STROKES = (Stroke(1, 3), Stroke(2, 1.8), Stroke(3, 1.4), Stroke(1, 3.5, "dotted"), Stroke(1, 3.5, "dashed"))
"""By which ropes are told apart without their colour, in the order of the file."""


def rope_strokes(names: Iterable[str]) -> dict[str, Stroke]:
    return {name: STROKES[k % len(STROKES)] for k, name in enumerate(dict.fromkeys(names))}


def rope_colours(names: Iterable[str]) -> dict[str, str]:
    """One colour for each rope: the one in its name, else the next that no name has claimed."""
    ropes = list(names)
    said = {name: _said(name) for name in ropes}
    taken = {colour for colour in said.values() if colour}
    free = [colour for colour in UNNAMED if colour not in taken]
    found: dict[str, str] = {}
    plain = 0
    for name in ropes:
        colour = said[name]
        if colour is None:
            colour = free[plain % len(free)]
            plain += 1
        found[name] = colour
    return found


def _said(name: str) -> str | None:
    """The first colour word in a name: `orange-line`, `main_red`, `Blue2`."""
    for word in name.lower().replace("_", "-").split("-"):
        if word.rstrip("0123456789") in NAMED:
            return NAMED[word.rstrip("0123456789")]
    return None
