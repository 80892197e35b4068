"""The strokes of a picture to scale as DOT with every place given: for the renderer that makes a PNG of it.

The same calls as `svg.Sheet`, in the same order; y of the page goes down, and up in DOT.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from itertools import pairwise

from analyser.pages.drawing.colours import INK, PAPER
from analyser.pages.drawing.svg import Spot, room, told
from analyser.pages.drawing.words import CONTROL

INCH = 72.0


class Placed:
    """One picture as DOT; `source` gives it, to be rendered with every place as given."""

    def __init__(self, width: float, height: float, title: str, description: str = "") -> None:
        self.width, self.height = width, height
        self.title = title
        self.pieces: list[str] = []
        self.count = 0
        self._node((0, 0), 'shape=point, style=invis, label=""')
        self._node((width, height), 'shape=point, style=invis, label=""')

    def line(self, spots: Iterable[Spot], wide: float = 1.0, colour: str = INK, dashes: str = "") -> None:
        through = [self._at(spot) for spot in spots]
        if len(through) < 2:
            return
        way = [through[0]]
        for a, b in pairwise(through):
            way += [a, b, b]
        style = ', style="dashed"' if dashes == "5 4" else ', style="dotted"' if dashes else ""
        ends = [
            self._node_at(spot, 'shape=point, style=invis, label="", width=0.01') for spot in (through[0], through[-1])
        ]
        self.pieces.append(
            f'{ends[0]} -- {ends[1]} [pos="{" ".join(way)}", penwidth={told(wide)}, color="{colour}"{style}]'
        )

    def shape(self, spots: Iterable[Spot], fill: str = PAPER, colour: str = INK, wide: float = 1.0) -> None:
        corners = list(spots)
        x = [spot[0] for spot in corners]
        y = [spot[1] for spot in corners]
        middle = ((min(x) + max(x)) / 2, (min(y) + max(y)) / 2)
        kind = "invtriangle" if len(corners) == 3 else "box"
        size = f"width={(max(x) - min(x)) / INCH:.3f}, height={(max(y) - min(y)) / INCH:.3f}, fixedsize=true"
        self._node(middle, f'shape={kind}, {size}, style=filled, fillcolor="{fill}", color="{colour}", '
                           f'penwidth={told(wide)}, label=""')  # fmt: skip

    def circle(self, at: Spot, radius: float, fill: str = PAPER, colour: str = INK, wide: float = 1.0) -> None:
        size = f"width={2 * radius / INCH:.3f}, fixedsize=true"
        self._node(at, f'shape=circle, {size}, style=filled, fillcolor="{fill}", color="{colour}", '
                       f'penwidth={told(wide)}, label=""')  # fmt: skip

    def words(
        self, at: Spot, text: str, size: float = 11, anchor: str = "start", colour: str = INK, bold: bool = False
    ) -> None:
        plain = CONTROL.sub("\ufffd", " ".join(text.split()))
        wide = 1.2 * room(plain, size) + 4
        x = at[0] + {"start": wide / 2, "middle": 0.0, "end": -wide / 2}[anchor]
        side = {"start": "\\l", "middle": "", "end": "\\r"}[anchor]
        label = json.dumps(plain.replace("\\", "\\\\"), ensure_ascii=False)[:-1] + side + '"'
        box = f"width={wide / INCH:.3f}, height={1.4 * size / INCH:.3f}, fixedsize=true, margin=0"
        face = "Helvetica-Bold" if bold else "Arial"
        given = f'shape=plaintext, {box}, fontname="{face}", fontsize={size}, fontcolor="{colour}", label={label}'
        self._node((x, at[1] - size / 3), given)

    def _at(self, spot: Spot) -> str:
        return f"{told(spot[0])},{told(self.height - spot[1])}"

    def _node(self, at: Spot, given: str) -> str:
        return self._node_at(self._at(at), given)

    def _node_at(self, at: str, given: str) -> str:
        name = f"n{self.count}"
        self.count += 1
        self.pieces.append(f'{name} [pos="{at}!", {given}]')
        return name

    def source(self) -> str:
        inner = "\n".join(f"    {piece}" for piece in self.pieces)
        head = 'graph { splines=line; outputorder="edgesfirst"; pad=0; bgcolor="white"; node [label=""]'
        return f"{head}\n{inner}\n}}\n"
