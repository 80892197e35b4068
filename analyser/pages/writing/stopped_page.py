"""The page of a check that was stopped before it had an answer: who is held, as far as was seen by then."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.fates import standing
from analyser.checking.glance import Glance
from analyser.checking.sentences import counted, in_few
from analyser.holding.fate import Kind
from analyser.pages.tree import Block, Fact, Note, Page, alarm, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.grouping import any_of
from analyser.rig.model import Rig

MOST_LINES = 24
"""Lines of who is held; the rest are counted."""
FEW_NAMES = 4
NOT_ASKED = "No verdict: pairs, requirements, findings, forces and later states were not looked at."


def stopped_page(rig: Rig, seen: Sequence[Glance], file: str) -> Page:
    alone = "" if any(one.alone is None for one in seen) else ", and after each failure alone"
    found = strong(f"NOT KNOWN: stopped before it was checked; told is who is held as first attached{alone}")
    held = section("Who is held, as far as was seen", _bodies(rig, seen))
    return Page((rig_title(rig, file), Note(found), held, *closing(found, Note(NOT_ASKED))), rig.title)


def _bodies(rig: Rig, seen: Sequence[Glance]) -> Iterator[Block]:
    """Those of whom the same is told in one line, the worst first."""
    alike: dict[tuple[object, ...], list[Glance]] = {}
    for one in sorted(seen, key=lambda one: (one.fate.kind.rank, not one.alone)):
        alike.setdefault((one.fate, one.alone, one.shaken), []).append(one)
    for one, *more in list(alike.values())[:MOST_LINES]:
        names = in_few([one.body, *(other.body for other in more)])
        if one.fate.kind is not Kind.HELD:
            yield Fact(names, alarm(standing(one.fate)))
            continue
        if one.alone is None:
            told = "held; what single failures do was not reached"
        elif one.alone:
            alone = any_of(rig, one.alone, FEW_NAMES)
            yield Fact(names, (strong("held"), "; ", alarm(f"not held after 1 ALONE: {alone}")))
            continue
        else:
            told = "held, and after any single failure"
        yield Fact(names, f"{told}{'; some tip or drop it first' if one.shaken else ''}")
    left = [one for several in list(alike.values())[MOST_LINES:] for one in several]
    if left:
        yield Note(f"{counted(len(left), 'body', 'bodies')} more: a longer budget tells them")
