"""A question about a rig with its answer, and the whole drill: plain data, which every view shows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from analyser.checking.delivered import Delivered
from analyser.checking.results import Result
from analyser.rig.model import Rig

NOBODY = "nobody"
"""The answer where no body is named, and where no part is."""


class Kind(StrEnum):
    """What a question asks; in the order in which a class meets them."""

    AS_IT_STANDS = "as it stands"
    ALONE = "one failure"
    CRITICAL = "critical point"
    BY_WHAT = "by what"
    PAIR = "two failures"
    TIPS = "tips"
    IN_BETWEEN = "in between"
    HANDS_OFF = "hands off"
    MEND = "mend"


class Asks(StrEnum):
    """How an answer is judged."""

    ALL = "all of them"
    """Every name of `right`, and no other."""
    ONE = "one of them"
    """Any one name of `right`."""
    WAY = "a way"
    """Names that stand together on one of `ways`."""
    OPTION = "an option"
    """The letter of the one right option."""


@dataclass(frozen=True, slots=True)
class Told:
    """What becomes of one body and why: a sentence, and the ways that carry or were broken."""

    body: str
    fate: str
    ways: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `right` is what the analysis says, never what a view works out."""

    kind: Kind
    asks: Asks
    text: str
    rig: Rig
    """The rig in the state that is asked about."""
    state: int
    right: tuple[str, ...]
    names: tuple[str, ...]
    """What an answer can name."""
    why: tuple[Told, ...]
    hint: str
    failures: tuple[str, ...] = ()
    body: str | None = None
    stage: str | None = None
    step: str | None = None
    line: int = 0
    ways: tuple[tuple[str, ...], ...] = ()
    """For `by what`: the names on each way of being held."""
    options: tuple[str, ...] = ()
    paste: tuple[str, ...] = ()
    """For `mend`: the lines of the right option."""

    @property
    def answer(self) -> str:
        """The right answer in words."""
        if self.asks is Asks.OPTION:
            letter = self.right[0]
            return f"{letter}: {self.options[ord(letter) - ord('a')]}"
        if self.asks is Asks.ALL:
            return ", ".join(self.right) or ("nothing" if self.kind is Kind.TIPS else NOBODY)
        if not self.right:
            return "none: no single failure does it"
        return self.right[0] if len(self.right) == 1 else f"any of: {'; '.join(self.right)}"


@dataclass(frozen=True, slots=True, repr=False)
class Drill(Delivered):
    """Questions in the order in which they are asked. `wished` is how many were asked for."""

    SHAPE = "analyser.uses.teaching.drill_shapes.DrillTold"

    result: Result
    file: str
    seed: int
    wished: int
    questions: tuple[Question, ...]

    @property
    def few(self) -> str:
        """Where there are fewer than were asked for, that and why."""
        count = len(self.questions)
        if count >= self.wished:
            return ""
        return f"{count} of {self.wished} questions: this rig gives no more that teach something new"

    @property
    def numbered(self) -> tuple[tuple[int, Question], ...]:
        return tuple(enumerate(self.questions, 1))

    @property
    def assumed(self) -> tuple[str, ...]:
        """Failures that the file takes as impossible: none is asked about."""
        return tuple(one.failure for one in self.result.rig.sound)

    @property
    def short(self) -> str:
        return f"{len(self.questions)} questions"
