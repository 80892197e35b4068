"""What each line of a found file makes worse by itself: the rig as written with that one line, compared with it.

Lines of something extra that speak of one another (a rope, and what is clipped to its knot) count as one. A line
that can't be read without others has no answer of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from analyser.language.mistakes import Unreadable
from analyser.language.syntax import Declaration, RopeLine, Statement, links_of, words_in
from analyser.rig.plan import Plan
from analyser.uses.field.as_found import AsFound, as_found


@dataclass(frozen=True, slots=True)
class Told:
    """A difference as it was written down, and its line."""

    words: str
    line: int


@dataclass(frozen=True, slots=True)
class ByLine:
    """What was found on one line, or on several that belong together, and what that alone makes worse."""

    found: tuple[Told, ...]
    worse: tuple[str, ...]
    by_itself: bool = True
    """Can the rig be read with these lines alone?"""
    on_one: tuple[str, ...] = ()
    """Who hangs on one, or is not held, for these lines alone."""


def by_line(
    plan: Plan,
    found: AsFound,
    told: Sequence[Told],
    whole: tuple[str, ...],
    worse: Callable[[AsFound], tuple[str, ...]],
    on_one: Callable[[AsFound], tuple[str, ...]],
) -> tuple[ByLine, ...]:
    """Each line by itself, in their order; `worse` tells what a rig as found makes worse, `whole` what all do, `on_one`
    who hangs on one as found and did not."""
    words = {one.line: one for one in told}
    alone = replace(found.found, differences=(), extra=(), notes=())
    parts = [(replace(alone, differences=(one,)), {one.place.line}) for one in found.found.differences]
    groups = _together(found.found.extra)
    parts += [(replace(alone, extra=tuple(group)), {one.place.line for one in group}) for group in groups]
    made = []
    for part, lines in sorted(parts, key=lambda one: min(one[1])):
        mine = tuple(words[line] for line in sorted(lines))
        try:
            alone_so = found if len(parts) == 1 else as_found(plan, part)
            made.append(ByLine(mine, whole if len(parts) == 1 else worse(alone_so), on_one=on_one(alone_so)))
        except Unreadable:
            made.append(ByLine(mine, (), by_itself=False))
    return tuple(made)


def _together(extra: Sequence[Statement]) -> list[list[Statement]]:
    """Statements of which one names what another brings, in groups."""
    groups: list[list[Statement]] = []
    for one in extra:
        touched = [group for group in groups if any(_speaks(one, other) or _speaks(other, one) for other in group)]
        groups = [group for group in groups if group not in touched]
        groups.append([*(other for group in touched for other in group), one])
    return groups


def _speaks(one: Statement, other: Statement) -> bool:
    """Does a statement name what another brings?"""
    return not {word.text for word in words_in(one)}.isdisjoint(_brought(other))


def _brought(one: Statement) -> Iterator[str]:
    if isinstance(one, Declaration):
        yield from (name.text for name in one.names)
    if isinstance(one, RopeLine):
        yield one.name.text
        yield from (station.name.text for station in one.stations if station.name)
    yield from (link.name.text for link in links_of(one) if link.kind and link.name)
