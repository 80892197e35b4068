"""Curves against one number, panel under panel: dashes, marks and a word at its end tell each apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from analyser.pages.drawing.colours import INK, QUIET, SHADE
from analyser.pages.drawing.svg import Sheet, Spot, room, ticks

WIDTH, HIGH = 780, 240
"""Points of the page, and of one panel."""
LEFT, RIGHT, TOP, GAP = 62, 200, 74, 62
SIZE = 11
STYLES = ("", "7 3", "2 3", "10 3 2 3", "4 4", "12 4")
"""Dashes of the first curve, the second, and so on."""


@dataclass(frozen=True, slots=True)
class Panel:
    """Curves over the same numbers: what goes up, with its unit, and each curve's name and values."""

    up: str
    curves: tuple[tuple[str, tuple[float, ...]], ...]


def plot(title: str, across: str, numbers: Sequence[float], panels: Sequence[Panel], note: str = "") -> str:
    """An SVG of panels over the same `numbers` (in order), which `across` names with their unit."""
    high = TOP + len(panels) * (HIGH + GAP) + 26
    sheet = Sheet(WIDTH, high, title, note)
    sheet.words((LEFT - 40, 24), title, 15, bold=True)
    sheet.words((LEFT - 40, 42), note, SIZE, colour=QUIET)
    for k, panel in enumerate(panels):
        _panel(sheet, TOP + k * (HIGH + GAP), across, numbers, panel)
    return sheet.svg()


def _panel(sheet: Sheet, top: float, across: str, numbers: Sequence[float], panel: Panel) -> None:
    values = [value for _, row in panel.curves for value in row]
    low, most = min([0.0, *values]), max([0.0, *values])
    most = most if most > low else low + 1
    first, last = numbers[0], numbers[-1]

    def at(x: float, y: float) -> Spot:
        wide = WIDTH - LEFT - RIGHT
        return LEFT + wide * (x - first) / ((last - first) or 1), top + HIGH - HIGH * (y - low) / (most - low)

    sheet.words((LEFT - 40, top - 8), panel.up, SIZE, bold=True)
    for y in ticks(low, most):
        sheet.line([at(first, y), at(last, y)], 0.7, SHADE)
        sheet.words((LEFT - 6, at(first, y)[1] + 4), f"{y:g}", SIZE, "end")
    for x in ticks(first, last, 8):
        sheet.line([at(x, low), (at(x, low)[0], at(x, low)[1] + 4)])
        sheet.words((at(x, low)[0], at(x, low)[1] + 17), f"{x:g}", SIZE, "middle")
    sheet.words((WIDTH - RIGHT, top + HIGH + 33), across, SIZE, "end")
    sheet.line([at(first, most), at(first, low), at(last, low)])
    ends = _apart([at(last, row[-1])[1] for _, row in panel.curves], SIZE + 4, top + HIGH)
    for k, (name, row) in enumerate(panel.curves):
        spots = [at(x, y) for x, y in zip(numbers, row, strict=True)]
        sheet.line(spots, 1.6, INK, STYLES[k % len(STYLES)])
        for spot in spots[k % 3 :: max(1, len(spots) // 6)]:
            _mark(sheet, spot, k)
        beside = (WIDTH - RIGHT + 20, ends[k])
        sheet.line([spots[-1], (beside[0] - 4, beside[1])], 0.5, QUIET)
        _mark(sheet, (beside[0] + 4, beside[1]), k)
        sheet.words((beside[0] + 13, beside[1] + 4), _fitting(name, RIGHT - 40), SIZE)


def _mark(sheet: Sheet, at: Spot, k: int) -> None:
    """A mark of its own for each curve: disc, ring, square, triangle, lozenge, in turn."""
    x, y = at
    kind, fill = k % 5, INK if k % 2 == 0 else "#ffffff"
    if kind < 2:
        sheet.circle(at, 3, fill)
        return
    corners: dict[int, list[Spot]] = {
        2: [(-3, -3), (3, -3), (3, 3), (-3, 3)],
        3: [(0, -4), (3.5, 3), (-3.5, 3)],
        4: [(0, -4), (4, 0), (0, 4), (-4, 0)],
    }
    sheet.shape([(x + a, y + b) for a, b in corners[kind]], fill)


def _apart(heights: Sequence[float], least: float, floor: float) -> list[float]:
    """Heights moved down, and up again from the floor, until words there stand clear of each other."""
    order = sorted(range(len(heights)), key=lambda k: (heights[k], k))
    placed = list(heights)
    for one, two in pairwise(order):
        placed[two] = max(placed[two], placed[one] + least)
    for k, height in zip(order[::-1], (floor - least * n for n in range(len(order))), strict=True):
        placed[k] = min(placed[k], height)
    return placed


def _fitting(words: str, wide: float) -> str:
    """Words cut to a width."""
    if room(words, SIZE) <= wide:
        return words
    letters = int(wide / room("x", SIZE)) - 2
    return words[:letters] + " …"
