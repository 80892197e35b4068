"""The page of `why`: for each body its ways of being held, numbered, and what each failure set breaks of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.held_by import way_in_words
from analyser.checking.reasons import Reasons, Way
from analyser.checking.sentences import do, more
from analyser.pages.tree import Block, Fact, Line, Page, Piece, Section, section, strong
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.grouping import any_with_any, in_brief
from analyser.rig.model import Rig

MOST_SETS = 24


def why_page(rig: Rig, told: Sequence[Reasons], file: str) -> Page:
    sections = (one for reasons in told for one in _body(rig, reasons))
    return Page((rig_title(rig, file), *sections, *closing()), rig.title)


def _body(rig: Rig, one: Reasons) -> tuple[Section, Section]:
    ways: list[Block] = [
        Fact(str(way.number), f"by {way_in_words(rig, one.body, way.needs)}{_guards(rig, way)}") for way in one.ways
    ] or [Line("none: held by nothing")]
    if not one.all_ways:
        ways.append(Line("… and more ways than are listed here; every failure set breaks those too"))
    sets: list[Block] = list(_sets(rig, one))
    if len(sets) > MOST_SETS:
        sets[MOST_SETS:] = [Line(more(len(sets) - MOST_SETS, "`--json` lists each set", "lines"))]
    if not one.sets:
        sets.append(Line("no set up to the order searched"))
    return section("Ways of being held: ", ways, one.body), section("What breaks them all: ", sets, one.body)


def _guards(rig: Rig, way: Way) -> str:
    """What keeps the ropes of a way whole at the edges."""
    known = rig.index.failures
    needed = [known[name] for name in way.needs if name in known]
    kept = [failure.part for failure in needed if failure.mode == "shifts"]
    bare = [failure.part for failure in needed if failure.mode == "cuts"]
    words = [f"while {do(kept, 'stays', 'stay')} in place"] if kept else []
    words += [f"while {do(bare, 'does', 'do')} not cut"] if bare else []
    return f" ({' and '.join(words)})" if words else ""


def _sets(rig: Rig, one: Reasons) -> Iterator[Fact]:
    """Failure sets as lines; sets whose failures break the same ways are told together."""
    alike: dict[tuple[tuple[int, ...], ...], list[tuple[str, ...]]] = {}
    for reason in one.sets:
        broken = sorted(reason.breaks, key=lambda item: (item[1], item[0]))
        alike.setdefault(tuple(numbers for _, numbers in broken), []).append(tuple(name for name, _ in broken))
    for numbers, sets in alike.items():
        for label, sides in _told(numbers, sets):
            words: list[Piece] = []
            for k, (names, ways) in enumerate(zip(sides, numbers, strict=True)):
                which = "every way" if len(ways) == len(one.ways) else _numbers(ways)
                words += ["\nwith " if k else "", strong(in_brief(rig, names)), f", breaks {which}"]
            yield Fact(label, tuple(words) or "has to fail")


def _told(
    numbers: Sequence[tuple[int, ...]], sets: list[tuple[str, ...]]
) -> Iterator[tuple[str, Sequence[Sequence[str]]]]:
    """Sets that break the same ways, as few lines: a label, and for each of `numbers` any of these failures."""
    if not numbers:
        yield "nothing", ()
    elif len(numbers) == 1:
        yield "one alone", (sorted(names[0] for names in sets),)
    elif len(numbers) == 2:
        for left, right in any_with_any(sets):
            first = set(left) & {names[0] for names in sets}
            yield "two together", (left, right) if first else (right, left)
    else:
        yield from ((f"{len(several)} together", [[name] for name in several]) for several in sets)


def _numbers(numbers: Sequence[int]) -> str:
    """`1–3, 5` for 1, 2, 3, 5."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs) or "no listed way"
