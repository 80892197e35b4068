"""The page of `mend`: what drops somebody now, and the additions, each with its lines to paste."""

from __future__ import annotations

from collections.abc import Iterator

from analyser.checking.sentences import counted
from analyser.language.edit import AFTER, BECOMES, Change
from analyser.language.identities import spoken
from analyser.pages.tree import Block, Code, Fact, Gap, Note, Page, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.uses.mending.ranking import STRUCTURE_ONLY, Mend, Mending


def mend_page(mending: Mending, file: str) -> Page:
    """The need, then one addition after another, then what was taken as given."""
    rig = mending.rig
    need = [Fact("now", mending.need), *([Fact("", mending.nothing)] if mending.nothing else [])]
    blocks: list[Block] = [rig_title(rig, file), section("What there is to mend", need)]
    if mending.mends:
        additions = (block for number, one in enumerate(mending.mends, 1) for block in _one(number, one))
        blocks.append(section("One addition, and what it takes away", additions))
    given = f"{len(rig.accepted)} accepted and {len(rig.sound)} assumed"
    last = f"on connections only, with {given}: held does not say how far anybody drops before that"
    blocks += (section("Taken as given", _given(mending)), *closing(strong(last), Note(STRUCTURE_ONLY)))
    return Page(tuple(blocks), rig.title)


def _one(number: int, one: Mend) -> Iterator[Block]:
    if number > 1:
        yield Gap()
    yield Fact(f"{number}", strong(one.proposal.words), wide=4)
    yield Fact("", one.words(), wide=4)
    if one.as_much:
        yield Fact("", f"does as much: {'; '.join(one.as_much)}", wide=4)
    for change in one.proposal.changes:
        yield from changed(change)
    if one.proposal.added:
        yield Fact("", "at the end of the file, add:", wide=4)
        yield Code(tuple(one.proposal.added))


def changed(change: Change) -> tuple[Block, ...]:
    """A line of the file to change, or to put in: where, and the line to paste."""
    where = f"line {change.line} becomes:"
    if change.how != BECOMES:
        where = f"{'after' if change.how == AFTER else 'before'} line {change.line}, a new line:"
    return (Fact("", where, wide=4), Code((change.text,)))


def _given(mending: Mending) -> Iterator[Block]:
    rig = mending.rig
    if rig.accepted:
        left_out = ", ".join(spoken(one.failure) for one in rig.accepted)
        yield Fact("accepted", f"{left_out}: accepted in the file, and not counted here")
    if rig.sound:
        yield Fact("sound", f"{', '.join(spoken(one.failure) for one in rig.sound)}: taken as impossible")
    if rig.stages:
        titles = ", ".join(f"“{stage.title}”" for stage in rig.stages)
        yield Fact("stages", f"{titles}: not looked at; all above is the rig as first attached")
    yield Fact("tried", _tried(mending))


def _tried(mending: Mending) -> str:
    if not mending.tried:
        return "nothing"
    rest = f"; {mending.untried} more left untried in a rig of this size" if mending.untried else ""
    return (
        f"{counted(mending.tried, 'addition')}, one at a time, each read and analysed as "
        f"printed; others may be better that this list does not know{rest}"
    )
