"""What a file must still say before forces can be told."""

from __future__ import annotations

from dataclasses import dataclass

from analyser.language.mistakes import Place


@dataclass(frozen=True, slots=True, order=True)
class Wanted:
    """One fact that is missing: the line to add to the file, why, and where the part stands."""

    line: str
    why: str
    place: Place


@dataclass(frozen=True, slots=True)
class Missing:
    """No forces are told: these facts are missing, each once, by line of the file.

    `contradictions` are facts that cannot both be (two places for one point, a rope drawn longer
    than it is): they are to be put right, not added to.
    """

    wanted: tuple[Wanted, ...]
    contradictions: tuple[Wanted, ...] = ()

    @property
    def text(self) -> str:
        """The lines to add, to be pasted; contradictions after them."""
        return "\n".join([*(one.line for one in self.wanted), *(one.why for one in self.contradictions)])
