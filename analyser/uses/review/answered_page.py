"""One rig for one reviewer, as plain data: the result, every answer stored, the text, the sheet."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.checking.delivered import Delivered
from analyser.checking.foremost import worst_state
from analyser.checking.overloaded import breaks_words
from analyser.checking.results import Result, State
from analyser.rig.model import Rig
from analyser.uses.review.answers import Answers, answers
from analyser.uses.review.sheet import Item, Placed, Review, items, placed

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath, Band, Moved
    from analyser.forces.loads import Loads


@dataclass(frozen=True, slots=True)
class AfterOne:
    """What follows one failure by the forces: `changed` are the lines that carry something else then."""

    moved: tuple[Moved, ...]
    changed: tuple[Band, ...]
    breaks: str


@dataclass(frozen=True, slots=True)
class ReportedState:
    """A state, the place of its stored answers, and what follows single failures, by their numbers."""

    state: State
    answers: int
    broken: bool
    after: Mapping[int, AfterOne]


@dataclass(frozen=True, slots=True, repr=False)
class Report(Delivered):
    """`failures` are those of every state, in order of name: all other lists speak of them by number. `shown`
    gives for each state its place in `answers`; states that a step left as they were share one."""

    SHAPE = "analyser.uses.review.review_shapes.ReportTold"

    result: Result
    file: str
    text: tuple[str, ...]
    content: str
    """A digest of the text and of what it includes: a review says by it what it was made of."""
    failures: tuple[str, ...]
    parts: Mapping[str, tuple[int, ...]]
    """What can fail of each part, span, edge or cause, and of each person."""
    answers: tuple[Answers, ...]
    shown: tuple[int, ...]
    items: tuple[Item, ...]
    placed: Placed | None
    begins: int
    """The state that is shown first: the worst."""

    @property
    def complete_to(self) -> int:
        return min(one.complete_to for one in self.answers)

    @property
    def mark(self) -> str:
        """Eight characters that stand for the text, the same on every paper that is made of it."""
        rig = self.result.rig
        return rig.digest or self.content[:8]

    def at(self, state: int) -> Answers:
        """What is stored of a state."""
        return self.answers[self.shown[state]]

    @property
    def single_points(self) -> tuple[str, ...]:
        """Parts of which one failure alone drops a body that is held, in the state that is shown first."""
        now = self.at(self.begins)
        lonely = {cut[0] for body in now.bodies if body.held for cut in now.sets[body.name] if len(cut) == 1}
        return tuple(name for name, numbers in self.parts.items() if lonely.intersection(numbers))

    @property
    def sets(self) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
        """The failure sets of the state that is shown first and who falls after each, the smallest first."""
        falls: dict[tuple[int, ...], list[str]] = {}
        for name, sets in self.at(self.begins).sets.items():
            for cut in sets:
                falls.setdefault(cut, []).append(name)
        ordered = sorted((cut for cut in falls if cut), key=lambda cut: (len(cut), cut))
        return tuple((tuple(self.failures[k] for k in cut), tuple(falls[cut])) for cut in ordered)

    def number(self, failure: str) -> int:
        """A failure's place in the list of all; ValueError where no state has it."""
        return self.failures.index(failure)

    @property
    def states(self) -> tuple[ReportedState, ...]:
        broken = self.result.broken_states
        return tuple(
            ReportedState(state, self.shown[state.number], state.number in broken, self._after(state))
            for state in self.result.states
        )

    def _after(self, state: State) -> dict[int, AfterOne]:
        """What follows single failures, by number, where forces were worked out in this state."""
        loads = state.loads
        if loads is None or not loads.now.accepted:
            return {}
        numbers = {name: k for k, name in enumerate(self.failures)}
        return {
            numbers[one.failures[0]]: AfterOne(one.moved, tuple(filter(_changes, one.lines)), _breaks(loads, one))
            for one in loads.after or ()
            if len(one.failures) == 1 and one.failures[0] in numbers and one.accepted
        }

    @property
    def short(self) -> str:
        return f"{len(self.items)} to answer; {self.result.closing}"


def report(
    result: Result, file: str, text: Sequence[str], included: Sequence[bytes] = (), review: Review | None = None
) -> Report:
    """Everything the page of a rig shows. `text` are the lines of its file, `included` the files that it includes."""
    names = sorted({one.id for state in result.states for one in state.outcome.failures})
    numbers = {str(name): k for k, name in enumerate(names)}
    parts: dict[str, dict[int, None]] = {}
    for state in result.states:
        for failure in state.outcome.failures:
            parts.setdefault(failure.part, {})[numbers[failure.id]] = None
    made: list[Answers] = []
    shown: list[int] = []
    for state in result.states:
        before = result.states[state.number - 1] if state.number else None
        if before and state.outcome is before.outcome and state.rig.bodies == before.rig.bodies:
            shown.append(shown[-1])
            continue
        one = answers(state.rig, state.outcome, numbers)
        if one not in made:
            made.append(one)
        shown.append(made.index(one))
    digest = hashlib.sha256("\n".join(text).encode())
    for one_file in included:
        digest.update(b"\0" + one_file)
    content = digest.hexdigest()[:32]
    todo = items(result)
    return Report(
        result=result,
        file=file,
        text=tuple(text),
        content=content,
        failures=tuple(names),
        parts={name: tuple(sorted(of)) for name, of in sorted(parts.items())},
        answers=tuple(made),
        shown=tuple(shown),
        items=todo,
        placed=placed(review, todo, content) if review else None,
        begins=worst_state(result).number,
    )


def included_files(rig: Rig, file: str, folder: Path) -> list[bytes]:
    """The files that a rig includes, as they are on disk, in order of name: those in which some part stands."""
    places = [*(part.place for part in rig.parts.values()), *(one.place for one in rig.requirements)]
    found = []
    for name in sorted({place.file for place in places} - {file}):
        path = folder / name
        if path.is_file():
            found.append(path.read_bytes())
    return found


def _breaks(loads: Loads, one: Aftermath) -> str:
    return "; ".join(breaks_words(other) for other in loads.overloads if other.failures == one.failures)


def _changes(line: Band) -> bool:
    """Does its tension change by a hundredth of a kN, at rest or on the way?"""
    before, static, peak = (round(newtons / 1000, 2) for newtons in (line.before, line.static, line.most))
    return before != static or peak > before
