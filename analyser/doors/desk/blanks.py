"""What may stand in a blank that is filled already: what is like what stands there, the likeliest first.

The language server tells what may follow at a place; a blank says more: what stands in it is of the sort that is
meant. Where something of one's own is to be written (a new name, a figure, words), nothing is proposed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from analyser.doors.editor.completing import Proposal, What, completions
from analyser.doors.editor.readings import Desk, Reading, Texts
from analyser.rig.model import BODIES, Nature, Rig

REQUIREMENTS = (
    "every person has 2 independent attachments",
    "everyone held after any 1 failure",
    "everyone held with hands off",
    "no one held only by a person",
    "every connector is locking",
    "every edge is padded",
    "every rope end has a stopper",
)
"""What a first file may ask for with nothing more written than what hangs on what."""
NAMED = (What.NAME, What.POINT)


def fitting(
    desk: Desk, reading: Reading, texts: Texts, shown: str, line: int, column: int, now: str
) -> list[dict[str, str]]:
    """What may stand in a blank that begins at a place (1-based) and holds `now`: text and a word on each."""
    whole = texts[reading.path_of(shown)].text.split("\n")[line - 1]
    before, rest = whole[: column - 1], whole[column - 1 + len(now) :]
    if before.strip() == "require":
        found = [Proposal(one, What.KEYWORD) for one in dict.fromkeys((now, *REQUIREMENTS))]
    elif before.isspace():
        found = [Proposal(one, What.KEYWORD) for one in dict.fromkeys((now, *_steps(reading.rig)))]
    else:
        others = set(re.findall(r"[\w-]+(?:\.[\w-]+)?", before + rest))
        found = [
            one
            for one in _like(completions(desk, reading, texts, shown, line, column), reading, now)
            if one.text == now or one.text not in others
        ]
    return [{"text": one.text, "about": one.detail} for one in found]


def _like(found: list[Proposal], reading: Reading, now: str) -> Iterator[Proposal]:
    mine = next((one for one in found if one.text == now and one.what in (*NAMED, What.KIND)), None)
    if mine is None:
        return
    yield mine
    if mine.what is What.KIND:
        nature = reading.kinds[now].nature
        alike = [one for one in found if one.what is What.KIND and reading.kinds[one.text].nature is nature]
    else:
        alike = [one for one in found if one.what in NAMED]
        alike.sort(key=lambda one: one.detail != mine.detail)
    yield from (one for one in alike if one != mine)


def _steps(rig: Rig | None) -> Iterator[str]:
    """Steps that can be written of this rig as it is first attached."""
    yield 'say "ready"'
    for part in rig.parts.values() if rig else ():
        if part.nature is Nature.GRIP and part.operated_by:
            yield f"lock off {part.name}"
            yield f"take {part.name} in hand"
    for rope in rig.ropes if rig else ():
        yield f"pay out {rope.name} by 1 m"
        yield f"take in {rope.name} by 1 m"
    for part in rig.parts.values() if rig else ():
        if part.nature in BODIES and not part.standing:
            yield f"land {part.name} on ground"
