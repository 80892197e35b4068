"""What one addition mends this? Additions of the mend search beside plausible others, each tried by the analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256

from analyser.checking.results import State
from analyser.holding.reviewing import Review
from analyser.language.edit import BECOMES, Change, Edit, attach, edited, link, without
from analyser.language.syntax import ObservedBlock, Require, StageBlock
from analyser.rig.building import build
from analyser.rig.model import Nature
from analyser.rig.plan import Plan
from analyser.uses.mending.around import Around, Set
from analyser.uses.mending.proposal import Names, Proposal
from analyser.uses.mending.ranking import proposed, staying
from analyser.uses.teaching.question import Asks, Kind, Question, Told
from analyser.uses.teaching.telling import any_of, spoken

MOST_OPTIONS = 4
MOST_TRIED = 12
"""Additions of each of the two sorts that are tried for a question."""


def mend_questions(state: State, plan: Plan) -> Iterator[tuple[str, str, Callable[[], Question | None]]]:
    """For each body that a single failure drops: after which addition does none? A key, the body, the maker."""
    for body in state.outcome.bodies:
        singles = [cut[0] for cut in state.outcome.failure_sets[body.name] if len(cut) == 1]
        if body.held and singles:

            def make(body: str = body.name, singles: Sequence[str] = singles) -> Question | None:
                return _question(state, body, singles, as_first_attached(plan))

            yield f"mend {body.name}", body.name, make


def _question(state: State, body: str, singles: Sequence[str], plan: Plan) -> Question | None:
    rig = state.rig
    right: list[Proposal] = []
    wrong: list[tuple[Proposal, int]] = []
    for one in [*_proposed(body, singles, plan), *_beside(plan)]:
        left = _left(one, body, plan)
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


def _proposed(body: str, singles: Sequence[str], plan: Plan) -> list[Proposal]:
    """What the mend search would try for a body, the plainest first."""
    need: dict[str, list[Set]] = {body: [(one,) for one in singles]}
    found = [one for one in proposed(Around(plan, need, staying(plan.alone, need))) if body in one.bodies]
    return sorted(found, key=lambda one: (one.size, one.lines, one.taste, one.words))[:MOST_TRIED]


def _left(proposal: Proposal, body: str, plan: Plan) -> int | None:
    """How many single failures drop a body with an addition; None where it does not read as a rig."""
    new, _ = build(edited(plan.document, proposal.edit))
    return len(Review(new.alone).failure_sets([body], 1).found[body]) if new else None


def as_first_attached(plan: Plan) -> Plan:
    """The plan without stages and what is asked, so that many additions are soon tried; itself, where what is
    left cannot be read."""
    short, _ = build(without(plan.document, StageBlock, ObservedBlock, Require))
    return short or plan


def _beside(plan: Plan) -> Iterator[Proposal]:
    """A second strap beside each part that joins two others: what comes to mind first, whether it helps or not."""
    found, rig = 0, plan.alone
    names = Names(rig.index.names)
    for part in rig.parts.values():
        ends = [one for one in rig.touching[part.name] if rig.parts[one].nature is not Nature.KNOT]
        if found < MOST_TRIED and part.nature is Nature.JOINT and len(ends) == 2 and part.place.file == rig.place.file:
            found += 1
            words = f"a second strap beside {part.name}, from {ends[0]} to {ends[1]}"
            edit = Edit((attach(ends[0], link(names.fresh(f"second-{part.name}"), "strap"), ends[1]),))
            yield Proposal.of(plan.document, "beside", words, 0, (), edit)
