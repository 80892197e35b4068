"""Columns: the reader counts characters from 1, an editor counts code units of its encoding from 0."""

from __future__ import annotations

import re

from lsprotocol import types
from pygls.workspace import PositionCodec, ServerTextPosition

from analyser.language.mistakes import Place

LINE_END = re.compile("\r\n|\n|\r")
"""What the protocol calls the end of a line, and nothing else: Python's `splitlines` knows more."""


class Columns:
    """The lines of one text, and its places in the client's units."""

    def __init__(self, text: str, encoding: str = "utf-16") -> None:
        self.codec = PositionCodec(encoding)
        self.lines = LINE_END.split(text)
        self.marked = text.startswith("\ufeff")
        """A byte-order mark: the editor counts it, the reader has taken it off."""

    def position(self, line: int, column: int) -> types.Position:
        """The client's position of a 1-based line and column; one that isn't there is brought inside."""
        at = min(max(line, 1), len(self.lines)) - 1
        index = max(column, 1) - 1 + (self.marked and at == 0)
        return self.codec.position_to_client_units(self.lines, ServerTextPosition(at, index))

    def range(self, place: Place) -> types.Range:
        """Exactly the place; one of no width takes the character under its caret, where there is one."""
        end = place.end if place.end > place.column else place.column + 1
        return types.Range(self.position(place.line, place.column), self.position(place.line, end))

    def line(self, number: int) -> types.Range:
        """A whole line, without its end."""
        return types.Range(self.position(number, 1), self.position(number, len(self.lines[number - 1]) + 1))

    def place(self, position: types.Position) -> tuple[int, int]:
        """The 1-based line and column of a client's position."""
        if position.line >= len(self.lines):
            return len(self.lines), len(self.lines[-1]) + 1
        line = self.lines[position.line]
        units = index = 0
        while index < len(line) and units < position.character:
            units += self.codec.client_num_units(line[index])
            index += 1
        return position.line + 1, max(index - (self.marked and position.line == 0), 0) + 1
