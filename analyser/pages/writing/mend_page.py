"""The page of `mend`: what drops somebody now, and the additions, each with its lines to paste."""

from __future__ import annotations

import sys

from rich.console import Group, RenderableType
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.language.edit import AFTER, BECOMES, Change
from analyser.pages.writing.pieces import Lines, Words
from analyser.pages.writing.terminal import hanging, heading, show, title
from analyser.uses.mending.ranking import STRUCTURE_ONLY, Mend, Mending


def show_mending(mending: Mending, file: str) -> None:
    """Print the page: the need, then one addition after another, then what was taken as given."""
    for piece in pieces(mending, file):
        if isinstance(piece, list):
            sys.stdout.write("".join(f"          {line}\n" for line in piece))
        else:
            show(piece)


def pieces(mending: Mending, file: str) -> list[Words | Lines]:
    rig = mending.rig
    found: list[Words | Lines] = [
        Group(title(rig, file), heading("What there is to mend"), hanging("now", mending.need))
    ]
    if mending.nothing:
        found.append(hanging("", mending.nothing))
    if mending.mends:
        found.append(heading("One addition, and what it takes away"))
    for number, one in enumerate(mending.mends, 1):
        found += _one(number, one)
    return [*found, Group(*_given(mending))]


def _one(number: int, one: Mend) -> list[Words | Lines]:
    proposal = one.proposal
    found: list[Words | Lines] = [Text()] if number > 1 else []
    found.append(hanging(f"{number}", Text(proposal.words, style="bold"), width=4))
    found.append(hanging("", one.words(), width=4))
    if one.as_much:
        found.append(hanging("", f"does as much: {'; '.join(one.as_much)}", width=4))
    for change in proposal.changes:
        found += [hanging("", _where(change), width=4), [change.text]]
    if proposal.added:
        found += [hanging("", "at the end of the file, add:", width=4), list(proposal.added)]
    return found


def _where(change: Change) -> str:
    if change.how == BECOMES:
        return f"line {change.line} becomes:"
    return f"{'after' if change.how == AFTER else 'before'} line {change.line}, a new line:"


def _given(mending: Mending) -> list[RenderableType]:
    rig = mending.rig
    rows: list[RenderableType] = [heading("Taken as given")]
    if rig.accepted:
        left_out = ", ".join(one.failure for one in rig.accepted)
        rows.append(hanging("accepted", f"{left_out}: accepted in the file, and not counted here"))
    if rig.sound:
        rows.append(hanging("sound", f"{', '.join(one.failure for one in rig.sound)}: taken as impossible"))
    if rig.stages:
        titles = ", ".join(f"“{stage.title}”" for stage in rig.stages)
        rows.append(hanging("stages", f"{titles}: not looked at; all above is the rig as first attached"))
    rows.append(hanging("tried", _tried(mending)))
    given = f"{len(rig.accepted)} accepted and {len(rig.sound)} assumed"
    last = f"on connections only, with {given}: still connected does not say how far anybody drops first"
    return [*rows, Text(), Text(STRUCTURE_ONLY), Text(" ".join(CAUTIONS), style="italic"), Text(last, style="bold")]


def _tried(mending: Mending) -> str:
    if not mending.tried:
        return "nothing"
    rest = f"; {mending.untried} more left untried in a rig of this size" if mending.untried else ""
    return (
        f"{mending.tried} addition{'' if mending.tried == 1 else 's'}, one at a time, each read and analysed as "
        f"printed; others may be better that this list does not know{rest}"
    )
