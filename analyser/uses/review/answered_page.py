"""One rig for one reviewer, as plain data: the result, every answer stored, the text, the sheet."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.checking.overloaded import breaks_words
from analyser.checking.results import FORMAT, Result, State
from analyser.rig.model import Rig
from analyser.uses.review.answers import Answers, answers
from analyser.uses.review.sheet import REVIEW, Item, Placed, Review, items, placed

if TYPE_CHECKING:
    from analyser.forces.loads import Loads


@dataclass(frozen=True, slots=True)
class Report:
    """`failures` are those of every state, in order of name: all other lists speak of them by number. `shown`
    gives for each state its place in `answers`; states that a step left as they were share one."""

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

    @property
    def complete_to(self) -> int:
        return min(one.complete_to for one in self.answers)

    def at(self, state: int) -> Answers:
        """What is stored of a state."""
        return self.answers[self.shown[state]]

    def number(self, failure: str) -> int:
        """A failure's place in the list of all; ValueError where no state has it."""
        return self.failures.index(failure)

    def as_data(self) -> dict[str, object]:
        rig = self.result.rig
        return {
            "format": FORMAT,
            "review_format": REVIEW,
            "rig": rig.title,
            "revision": rig.revision,
            "file": self.file,
            "content": self.content,
            "closing": self.result.closing,
            "complete_to": self.complete_to,
            "failures": list(self.failures),
            "parts": {name: list(numbers) for name, numbers in self.parts.items()},
            "states": [
                {
                    "number": state.number,
                    "stage": state.stage,
                    "step": state.step,
                    "line": state.line,
                    "answers": self.shown[state.number],
                    "broken": state.number in self.result.broken_states,
                    "after": self._forces(state),
                }
                for state in self.result.states
            ],
            "answers": [one.as_data() for one in self.answers],
            "items": [one.as_data() for one in self.items],
            "review": self.placed.as_data() if self.placed else None,
        }

    def _forces(self, state: State) -> dict[str, object]:
        """What follows single failures, by number, where forces were worked out in this state."""
        found: dict[str, object] = {}
        loads = state.loads
        if loads is None or not loads.now.accepted:
            return found
        numbers = {name: k for k, name in enumerate(self.failures)}
        for one in loads.after or ():
            if len(one.failures) == 1 and one.failures[0] in numbers and one.accepted:
                found[str(numbers[one.failures[0]])] = {
                    "moved": {
                        m.name: {"drop_m": round(m.drop, 2) + 0.0, "swing_m": round(m.swing, 2) + 0.0}
                        for m in one.moved
                    },
                    "lines": [
                        {
                            "name": b.name,
                            "before": _kn(b.before),
                            "static": _kn(b.static),
                            "peak": None if b.peak is None else _kn(b.peak),
                        }
                        for b in one.lines
                        if _kn(b.before) != _kn(b.static) or (b.peak is not None and _kn(b.peak) > _kn(b.before))
                    ],
                    "breaks": _breaks(loads, one.failures[0]),
                }
        return found


def report(
    result: Result, file: str, text: Sequence[str], included: Sequence[bytes] = (), review: Review | None = None
) -> Report:
    """Everything the page of a rig shows. `text` are the lines of its file, `included` the files that it includes."""
    names = sorted({one.id for state in result.states for one in state.outcome.failures})
    numbers = {name: k for k, name in enumerate(names)}
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


def _breaks(loads: Loads, failure: str) -> str:
    return "; ".join(breaks_words(one) for one in loads.overloads if one.failures == (failure,))


def _kn(newtons: float) -> float:
    return round(newtons / 1000, 2) + 0.0
