"""What one addition mends this? Additions of the mend search beside plausible others, each tried by the analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

import analyser
from analyser.holding.outcome import assess
from analyser.mending.proposal import Names, Proposal, with_proposal
from analyser.mending.ranking import mend
from analyser.reading.mistakes import Unreadable
from analyser.results import State
from analyser.rig.model import Nature, Rig
from analyser.teaching.question import Asks, Kind, Question, Told
from analyser.teaching.telling import any_of, spoken

MOST_OPTIONS = 4
MOST_TRIED = 24
"""Additions that are tried for a question."""
MOST_PROPOSED = 8


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
    proposed = _proposed(text, file, folder)
    right: list[Proposal] = []
    wrong: list[tuple[Proposal, int]] = []
    for one in [*proposed, *_beside(rig)][:MOST_TRIED]:
        left = _left(one, body, text, file, folder)
        if left == 0:
            right.append(one)
        elif left is not None:
            wrong.append((one, left))
    if not right or not wrong:
        return None
    best = next((one for one in right if one in proposed), right[0])
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
        paste=(*(change.text for change in best.changes), *best.added),
    )


@lru_cache(maxsize=4)
def _proposed(text: str, file: str, folder: Path) -> tuple[Proposal, ...]:
    return tuple(one.proposal for one in mend(text, file, folder, MOST_PROPOSED).mends)


def _left(proposal: Proposal, body: str, text: str, file: str, folder: Path) -> int | None:
    """How many single failures drop a body with an addition; None where it does not read as a rig."""
    try:
        new = analyser.read_text(with_proposal(text, proposal), file, folder)
    except Unreadable:
        return None
    sets = assess(new).failure_sets[body]
    return sum(len(cut) < 2 for cut in sets)


def _beside(rig: Rig) -> Iterator[Proposal]:
    """A second strap beside each part that joins two others: what comes to mind first, whether it helps or not."""
    names = Names([*rig.parts, *(rope.name for rope in rig.ropes)])
    for part in rig.parts.values():
        ends = [one for one in rig.touching[part.name] if rig.parts[one].nature is not Nature.KNOT]
        if part.nature is Nature.JOINT and len(ends) == 2 and part.place.file == rig.place.file:
            line = f"attach {ends[0]} - strap {names.fresh(f'second-{part.name}')} - {ends[1]}"
            yield Proposal("beside", f"a second strap beside {part.name}, from {ends[0]} to {ends[1]}", 0, (), (line,))
