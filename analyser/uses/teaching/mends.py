"""What one addition mends this? Additions of the mend search beside plausible others, each tried by the analysis."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256
from pathlib import Path

import analyser
from analyser.checking.results import State
from analyser.holding.reviewing import Review
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Nature, Rig
from analyser.uses.mending.around import Around, Set
from analyser.uses.mending.proposal import BECOMES, Change, Names, Proposal, lines_of_text, with_proposal
from analyser.uses.mending.ranking import PROPOSERS, staying, what_it_joins
from analyser.uses.teaching.question import Asks, Kind, Question, Told
from analyser.uses.teaching.telling import any_of, spoken

MOST_OPTIONS = 4
MOST_TRIED = 12
"""Additions of each of the two sorts that are tried for a question."""


def mend_questions(
    state: State, text: str, file: str, folder: Path
) -> Iterator[tuple[str, str, Callable[[], Question | None]]]:
    """For each body that a single failure drops: after which addition does none? A key, the body, the maker."""
    for body in state.outcome.bodies:
        singles = [cut[0] for cut in state.outcome.failure_sets[body.name] if len(cut) == 1]
        if body.held and singles:

            def make(body: str = body.name, singles: Sequence[str] = singles) -> Question | None:
                return _question(state, body, singles, text, file, folder)

            yield f"mend {body.name}", body.name, make


def _question(state: State, body: str, singles: Sequence[str], text: str, file: str, folder: Path) -> Question | None:
    rig = state.rig
    text = as_first_attached(text, file, folder)
    right: list[Proposal] = []
    wrong: list[tuple[Proposal, int]] = []
    for one in [*_proposed(body, singles, text, file, folder), *_beside(rig)]:
        left = _left(one, body, text, file, folder)
        if left == 0:
            right.append(one)
        elif left is not None:
            wrong.append((one, left))
    if not right or not wrong:
        return None
    best = right[0]
    left_by = {one.words: count for one, count in wrong}
    shown = sorted([best.words, *list(left_by)[: MOST_OPTIONS - 1]], key=lambda one: sha256(one.encode()).digest())
    letter = chr(ord("a") + shown.index(best.words))
    why = [Told(body, f"falls now if one thing fails: {any_of([spoken(rig, one) for one in singles])}")]
    for k, words in enumerate(shown):
        count = left_by.get(words, 0)
        said = (
            f"{count} single failure{'' if count == 1 else 's'} would still drop {body}"
            if count
            else (f"no single failure drops {body} then; it is judged by structure, not by practice")
        )
        why.append(Told(chr(ord("a") + k), said))
    return Question(
        kind=Kind.MEND,
        asks=Asks.OPTION,
        text=f"After which one addition does no single failure drop {body} any more?",
        rig=rig,
        state=0,
        right=(letter,),
        names=(),
        why=tuple(why),
        hint=f"find what drops {body} alone, and look which addition leads past it to the ground",
        body=body,
        options=tuple(shown),
        paste=(*map(_changed, best.changes), *best.added),
    )


def _changed(change: Change) -> str:
    if change.how == BECOMES:
        return f"line {change.line} becomes: {change.text.strip()}"
    return f"{change.how} line {change.line}: {change.text.strip()}"


def _proposed(body: str, singles: Sequence[str], text: str, file: str, folder: Path) -> list[Proposal]:
    """What the mend search would try for a body, the plainest first."""
    rig = analyser.read_text(text, file, folder)
    need: dict[str, list[Set]] = {body: [(one,) for one in singles]}
    around = Around(rig, text, file, folder, need, staying(rig, need))
    found: dict[object, Proposal] = {}
    for propose in PROPOSERS:
        for one in propose(around):
            if body in one.bodies:
                found.setdefault(what_it_joins(one), one)
    return sorted(found.values(), key=lambda one: (one.size, one.lines, one.taste, one.words))[:MOST_TRIED]


def _left(proposal: Proposal, body: str, text: str, file: str, folder: Path) -> int | None:
    """How many single failures drop a body with an addition; None where it does not read as a rig."""
    try:
        new = analyser.read_text(with_proposal(text, proposal), file, folder)
    except Unreadable:
        return None
    return len(Review(new).failure_sets([body], 1).found[body])


def as_first_attached(text: str, file: str, folder: Path) -> str:
    """The same lines, those of stages and of what is asked left empty, so that many additions are soon tried.
    Where that can't be read, the text as it is."""
    lines = lines_of_text(text)
    inside = False
    for number, line in enumerate(lines):
        if line.strip() and not line[0].isspace():
            inside = re.match(r"(stage|observed|require)(?![\w-])", line) is not None
        if inside:
            lines[number] = ""
    short = "\n".join(lines)
    try:
        analyser.read_text(short, file, folder)
    except Unreadable:
        return text
    return short


def _beside(rig: Rig) -> Iterator[Proposal]:
    """A second strap beside each part that joins two others: what comes to mind first, whether it helps or not."""
    found = 0
    names = Names(rig.index.names)
    for part in rig.parts.values():
        ends = [one for one in rig.touching[part.name] if rig.parts[one].nature is not Nature.KNOT]
        if found < MOST_TRIED and part.nature is Nature.JOINT and len(ends) == 2 and part.place.file == rig.place.file:
            found += 1
            line = f"attach {ends[0]} - strap {names.fresh(f'second-{part.name}')} - {ends[1]}"
            yield Proposal("beside", f"a second strap beside {part.name}, from {ends[0]} to {ends[1]}", 0, (), (line,))
