"""The page of `check` on a terminal: the verdict first and last, worst first, and no longer than a screen.

How much there is room for is tried out: from the least, more and more of what `--full` tells is added while it fits.
Dangers, broken requirements and who hangs on one are in each of them; whatever is left out is counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from typing import Any

from analyser.checking.consequences import Effect, after_alike, left_singles, unsettling
from analyser.checking.fates import Together as Happens
from analyser.checking.fates import in_words
from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.foremost import about_holding, broken, unchecked, verdict_head, verdict_rest, worst_state
from analyser.checking.held_by import held_by, in_short, way_in_words
from analyser.checking.judging import Judged
from analyser.checking.requirements import asks_for_forces
from analyser.checking.results import Result, State
from analyser.checking.sentences import counted, in_few, listed, verb
from analyser.checking.standing import amiss
from analyser.holding.by_class import Groups
from analyser.holding.fate import Kind
from analyser.holding.outcome import BodyOutcome, Outcome
from analyser.language.identities import spoken
from analyser.pages.tree import (
    Block,
    Fact,
    Look,
    Note,
    Page,
    Span,
    Title,
    Words,
    alarm,
    given,
    section,
    several,
    strong,
)
from analyser.pages.writing.at_the_head import Rows, first_rows, mend_at_once
from analyser.pages.writing.check_page import (
    balances,
    effect_words,
    hands_off,
    independent,
    resting_lines,
    state_words,
    worse_with_hands_off,
)
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.findings_lines import slips_lines
from analyser.pages.writing.fitting import LEAST, MORE, Left, Room, Told, fits
from analyser.pages.writing.forces_in_short import forces_lines
from analyser.pages.writing.grouping import any_of, groups_with_groups, number_of, one_by_one
from analyser.pages.writing.states_page import after_steps, standing_in_short
from analyser.pages.writing.worth_a_look import worth_a_look
from analyser.rig.model import Nature, Rig

MOST, MOST_WHERE_NOTHING_IS_WRONG = 40, 25
"""Lines, at the width of a page; what is worth a look may need more than the second."""
FULL = "`--full`"
NOT_JUDGED = "Strength, knots, rope condition and skill are not judged."
NOT_IN_FORCES = " Friction and the weight of the rope are in no figure; peaks: the most that was followed, no bounds."

MOST_WAYS = 24
"""Ways among which those are looked for that hold somebody as well."""
FEW_PARTS = 60
"""Up to so many parts every way is looked for; beyond, those that hold after some single failure."""


def short_page(result: Result, file: str, *, latent: bool = False) -> Page:
    """The page with as much of it as fits; `latent`: the slips. They, and what the verdict rests on, come
    on top of that where they were asked for."""
    worst, look = worst_state(result), first_look(result)
    top = first_rows(result, look, mend_at_once(result, look))
    known = Known(worst, _together(worst.rig, worst), top.do, unsettling(worst.outcome), look)
    head = Span(verdict_head(result), Look.STRONG if result.met else Look.ALARM)
    verdict: Words = (head, f" ({verdict_rest(result)})")
    page, room = _page(result, file, LEAST, verdict, known), LEAST
    lines: dict[Block, int] = {}
    for rows in _less_and_less(top):
        if fits(_page(result, file, LEAST, verdict, replace(known, first=rows)).blocks, MOST, lines):
            known = replace(known, first=rows)
            break
    for more, most in _steps(result):
        larger = replace(room, **more)
        tried = _page(result, file, larger, verdict, known)
        if fits(tried.blocks, most, lines):
            page, room = tried, larger
    asked = []
    if latent:
        asked.append(section("Slips that nobody sees before weighting", slips_lines(result)))
    if result.rests:
        asked.append(section("What the verdict rests on", resting_lines(result.rig, result.rests)))
    title, first, *blocks = page.blocks
    return Page((title, first, *asked, *blocks), page.name)


def _less_and_less(top: Rows) -> Iterator[tuple[Fact, ...]]:
    """The first lines, all of them and then with less: who is worst off and what to do stay longest."""
    hang, short = top.hang, top.when_left_out
    for head, tail in (
        *((hang, top.rest), (hang, top.plain_rest), (short, top.plain_rest), (hang[:1], top.plain_rest)),
        *(((), top.plain_rest), (short, top.rest[:1]), (hang[:1], top.rest[:1]), (hang[:1], ()), ((), ())),
    ):
        yield (*head, *top.do, *tail)


def _steps(result: Result) -> Iterator[tuple[dict[str, Any], int]]:
    """What may be added, and up to how many lines. Where nothing is wrong, only what is worth a look goes past the
    smaller number."""
    if not result.met or result.dangers:
        yield from ((more, MOST) for more in MORE)
        return
    yield from ((more, MOST_WHERE_NOTHING_IS_WRONG) for more in MORE if "findings" not in more)
    yield from ((more, MOST) for more in MORE if "findings" in more)


def _page(result: Result, file: str, room: Room, verdict: Words, known: Known) -> Page:
    """The page within some room. The verdict is its first and last; on what one that is not met rests is told last."""
    rig, state = result.rig, known.worst
    when = f", {state.at_step}" if len(result.states) > 1 else ""
    title = rig_title(rig, file)
    asked, look = list(_required(result, room)), list(worth_a_look(result, room, known.look))
    held, forces = list(_held(state.rig, state, room, known)), list(forces_lines(result, room.forces))
    if state.step and 0 not in result.broken_states and room.states > LEAST.states:  # which are told below
        held.append(Fact("before", f"as first attached: {standing_in_short(result.states[0])}"))
    if len(result.states) > 1:
        held.append(Left(f"who is held in {counted(len(result.states) - 1, 'other state')}"))
    left = [one.words for one in (*asked, *held, *look, *_notes(rig, room)) if isinstance(one, Left)]
    blocks: list[Block] = [
        Title(title.head, title.beside),
        Note(verdict if result.met else several(verdict)[0]),
        *known.first,
        *_shown(asked),
        section(
            f"Who is held, by what, and what brings them down{when}",
            _shown(held if state.step else [*held, *forces]),
        ),
    ]
    if state.step and forces:
        blocks.append(section("Forces, as first attached", forces))
    if shown := _shown(look):
        blocks.append(section(f"Worth a look{_of_some(result)}", shown))
    out = (Note(f"Left out here, and told by {FULL}: {'; '.join(left)}."),) if left else ()
    rests = (*_shown(_notes(rig, room)), *_given(result, room), *out)
    return Page((*blocks, *closing(verdict, *rests)), rig.title)


def _shown(told: Iterable[Block | Left]) -> list[Block]:
    return [one for one in told if not isinstance(one, Left)]


def _of_some(result: Result) -> str:
    """Which findings are shown, where not all are."""
    if result.only:
        return f" (findings of {listed(result.only)} only)"
    return f" (without {listed(result.without)})" if result.without else ""


# -- what was asked for


def _required(result: Result, room: Room) -> Told:
    """What is broken, and why; what was not checked; what is met in a line."""
    wrong = [(one, _because(result, one, room)) for one in (*broken(result), *unchecked(result))]
    for (unmet, because), alike in groupby(wrong, key=lambda one: (one[0].met is False, one[1])):
        word = alarm("NOT MET") if unmet else strong("NOT CHECKED")
        asked = "; ".join(one.requirement.text for one, _ in alike)
        yield Fact(word, (strong(asked), f": {because}" if because else ""))
    for one, _ in wrong:
        most = _most_reasons(one, room)
        if most and len(one.because) > most:
            yield Left(f"{counted(len(one.because) - most, 'reason')} of “{one.requirement.text}”")
    met = [one.asked for one in result.requirements if one.met]
    if met and room.notes:
        yield Fact("met", "; ".join(met))


def _most_reasons(one: Judged, room: Room) -> int:
    """Who is held is told below: where there is little room, that is all the reason for it."""
    return room.reasons if about_holding(one) else max(room.reasons, 1)


def _because(result: Result, one: Judged, room: Room) -> str:
    most = _most_reasons(one, room)
    if not most and len(result.states) > 1:
        return after_steps([result.states[number].numbered for number in one.states])
    return "; ".join(one.because[:most])


# -- who is held


@dataclass(frozen=True, slots=True)
class _Told:
    """What is told of a body, alike for all of those in one paragraph."""

    state: str
    bad: bool
    attachments: str
    alone: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Known:
    """What is told whatever the room: made once for all the pages that are tried."""

    worst: State
    """The state of which it is told how everybody is held."""
    together: Sequence[Together]
    """The sets of two and more failures."""
    first: tuple[Fact, ...]
    """What is looked at first."""
    unsettling: Sequence[tuple[Effect, tuple[str, ...]]]
    """After which single failures somebody is held all the same, and tips or drops first."""
    look: FirstLook
    """Who hangs on one, and what is done instead."""
    told: dict[tuple[str, int, str], _Told] = field(default_factory=dict)
    """What is told of a body, by its name and by the room for names and for ways."""
    ways: dict[tuple[str, bool], tuple[str, ...]] = field(default_factory=dict)
    """By what a body is held, by its name: whole, and by its ways' ends."""


def _held(rig: Rig, state: State, room: Room, known: Known) -> Told:
    outcome = state.outcome
    if not outcome.bodies:
        yield Fact("nobody", "nobody and nothing in this file has to be held")
        return
    alike: dict[_Told, list[str]] = {}
    for body in sorted(outcome.bodies, key=_worst_first):
        key = body.name, room.names, room.ways
        if key not in known.told:
            known.told[key] = _told(rig, state, body, room, known)
        alike.setdefault(known.told[key], []).append(body.name)
    for told, names in alike.items():
        yield from _paragraph(rig, names, told)
    if room.ways != "whole":
        yield Left("ways of being held in full")
    yield from _sets(known.together, room)
    yield from _unsettled(rig, known.unsettling, room)
    if worse_with_hands_off(rig, outcome):
        yield hands_off(rig, outcome)


def _unsettled(rig: Rig, told: Sequence[tuple[Effect, tuple[str, ...]]], room: Room) -> Told:
    shown = [*(one for one in told if _grave(one[0])), *[one for one in told if not _grave(one[0])][: room.pairs]]
    for effect, failures in shown:
        label = alarm(effect.label) if effect.loud else strong(effect.label)
        yield Fact(label, f"{any_of(rig, failures, room.names)}: {effect_words(effect)}")
    if left := len(told) - len(shown):
        yield Left(f"{counted(left, 'line')} more of who drops")


def _grave(effect: Effect) -> bool:
    return bool(effect.those(Kind.TIPS, Kind.TURNS_OVER))


def _worst_first(body: BodyOutcome) -> tuple[object, ...]:
    size = body.smallest_failure_set
    number = 99 if body.independent is None else body.independent
    return (body.fate.kind.rank, 99 if size is None else size, number, body.kind != "person")


def _told(rig: Rig, state: State, body: BodyOutcome, room: Room, known: Known) -> _Told:
    cuts = left_singles(state.outcome, body.name)
    accepted = {one.failure for one in rig.accepted}
    mine = [one for one in cuts if one not in accepted]
    taken = [one for one in cuts if one in accepted]
    alone = []
    if mine:
        alone.append(f"not held after 1 ALONE: {any_of(rig, mine, max(room.names, 3))}")
    if taken:
        alone.append(f"not held after 1 alone: {any_of(rig, taken, room.names)}")
    if not cuts:
        alone.append(_after(body, state.outcome.order))
    wrong = amiss(state.loads.fares(body.name)) if state.loads else ""
    unsettled = body.fate.kind is not Kind.HELD or bool(wrong)
    bad = unsettled or bool(mine)
    ways: tuple[str, ...] = ()
    if bad or room.ways != "worst":
        key = body.name, room.ways == "whole"
        if key not in known.ways:
            known.ways[key] = _whole(rig, state.outcome, body) if key[1] else _by_ends(rig, body)
        ways = known.ways[key]
    stands = rig.parts[body.name].standing and body.fate.kind is Kind.HELD  # else the feet hold nobody
    feet = " and their own feet" if stands else ""
    number = "" if body.independent is None else f", {independent(body)} independent"
    kind = "" if body.kind == "person" else f"{rig.parts[body.name].kind}, "
    by = f"by {counted(body.attachments, 'attachment')}{feet}{number}"
    if not body.held:
        few = f", by {counted(body.attachments, 'attachment')}{feet}" if body.attachments or feet else ""
        return _Told(f"{kind}{state_words(rig, body, state.loads)}", True, few, "", ways)
    if unsettled:
        return _Told(f"{kind}{state_words(rig, body, state.loads)}", bad, f", {by}", "; ".join(alone), ways)
    how = "ON ONE" if mine else "on ONE, accepted" if taken else "held"
    balanced = balances(body, state.loads)
    how += ", forces balance," if balanced else "," if taken and not mine else ""
    return _Told(f"{kind}{how}", bad, f" {by}", "; ".join(alone), ways)


def _whole(rig: Rig, outcome: Outcome, body: BodyOutcome) -> tuple[str, ...]:
    """By what a body is held, a line a way, and by what else in the last."""
    ways = tuple(way_in_words(rig, body.name, way) for way in body.ways)
    more = _as_well(rig, outcome, body) if ways else []
    return (*ways[:-1], f"{ways[-1]}; or {', or '.join(more)}") if more else ways


def _by_ends(rig: Rig, body: BodyOutcome) -> tuple[str, ...]:
    """The first of them in one line."""
    return (", or ".join(_ends(rig, body.name, way) for way in body.ways[:3]),) if body.ways else ()


def _as_well(rig: Rig, outcome: Outcome, body: BodyOutcome) -> list[str]:
    """By what else a body is held equally, by rope and anchor, where fewer ways are independent."""
    ways = outcome.review.enough_ways(body.name, 1) if body.held else body.ways
    if len(ways) == len(body.ways):
        return []
    if len(rig.parts) <= FEW_PARTS:
        ways = tuple(outcome.review.ways(body.name, MOST_WAYS)[0])
    told = {in_short(rig, body.name, way) for way in body.ways}
    others = (in_short(rig, body.name, way) for way in ways if way not in body.ways)
    found = [one for one in dict.fromkeys(others) if one not in told]
    return found if len(found) < 4 else [*found[:3], f"{counted(len(found) - 3, 'way')} more"]


def _after(body: BodyOutcome, order: int) -> str:
    if body.smallest_failure_set is None:
        return f"not held after more than {order} together" if body.independent is not None else "nothing drops it"
    return (
        f"not held after {body.smallest_failure_set} together" if body.smallest_failure_set else "with nothing failed"
    )


def _ends(rig: Rig, name: str, way: tuple[str, ...]) -> str:
    """A way by its two ends."""
    legs = held_by(rig, name, way)
    if not legs or len(legs[0]) < 4:
        return way_in_words(rig, name, way)
    return f"{legs[0][0]} … {legs[0][-1]}"


def _paragraph(rig: Rig, names: Sequence[str], told: _Told) -> Iterator[Block]:
    label, whom = (names[0], "") if len(names) == 1 else (f"{len(names)} alike", f"{in_few(names, 6)}: ")
    way = f"; by {told.ways[0]}" if len(told.ways) == 1 else ""
    alone = f"; {told.alone}" if told.alone else ""
    words = (whom, strong(told.state) if told.bad else told.state, f"{told.attachments}{alone}{way}")
    yield Fact(alarm(label) if told.bad else strong(label), words)
    if len(told.ways) > 1:
        yield from (Fact("", f"by {way}") for way in told.ways)


@dataclass(frozen=True, slots=True)
class Together:
    """The sets of one size: how many there are, and each group of them in a line, the worst first."""

    size: int
    number: int
    lines: tuple[str, ...]


def _together(rig: Rig, state: State) -> list[Together]:
    found = []
    for size in range(2, state.outcome.order + 1):
        alike: dict[str, list[Groups]] = {}
        words: dict[tuple[Happens, ...], str] = {}
        told = after_alike(state.outcome, size)
        for one, what in told.items():
            if what not in words:
                words[what] = in_words(what)
            alike.setdefault(words[what], []).append(one)
        ordered = sorted(alike.items(), key=lambda item: (-number_of(item[1]), item[0]))
        lines = _pairs(rig, ordered) if size == 2 else _one_by_one(ordered)
        found.append(Together(size, number_of(told), tuple(lines)))
    return found


Alike = Sequence[tuple[str, list[Groups]]]
"""What happens, in words, and the sets after which it does: one of each of some groups."""


def _pairs(rig: Rig, alike: Alike) -> Iterator[str]:
    for words, sets in alike:
        for one, two in groups_with_groups(sets):
            yield f"{any_of(rig, one, 1)}, and also {any_of(rig, two, 1)}: {words}"


def _one_by_one(alike: Alike) -> Iterator[str]:
    for words, sets in alike:
        yield from (f"{' + '.join(map(spoken, one))}: {words}" for one in one_by_one(sets))


def _sets(together: Sequence[Together], room: Room) -> Told:
    """The worst groups of pairs; of larger sets the first."""
    for one in together:
        shown = one.lines[: room.pairs if one.size == 2 else 1]
        yield Fact(f"{one.size} together", shown[0] if shown else f"nobody else is brought down by any {one.size}")
        yield from (Fact("", line) for line in shown[1:])
        if left := len(one.lines) - len(shown):
            yield Left(f"{counted(left, 'line')} more of the {one.number} sets of {one.size}")


# -- what it rests on


def _notes(rig: Rig, room: Room) -> Told:
    yield from (Note(("Note: ", given(note))) for note in rig.notes[: room.notes])
    if left := len(rig.notes[room.notes :]):
        yield Left(f"{counted(left, 'note')} of the file")


def _forces(state: State) -> bool:
    return state.loads is not None and state.loads.now.accepted


def _given(result: Result, room: Room) -> Iterator[Note]:
    """What was taken as given in one paragraph, and how far the search went in another."""
    rig, state = result.rig, result.states[0]
    told = []
    if result.asks_for_nothing:
        told.append(f"requirements are house defaults, as {result.asks_for_nothing}")
    told += [f"not told, and asked by the house: {one}" for one in result.house_not_told]
    if rig.sound:
        told.append(f"taken as impossible: {in_few([one.failure for one in rig.sound], room.names)}")
    if rig.accepted or rig.waived:
        names = [in_few([one.failure for one in rig.accepted], room.names)] if rig.accepted else []
        names += [counted(len(rig.waived), "finding")] if rig.waived else []
        told.append(f"{result.accepted} accepted: {' and '.join(names)}")
    standing = [p.name for p in rig.parts.values() if p.nature is Nature.PERSON and p.standing and not p.exposed]
    if standing:
        told.append(f"{in_few(standing, room.names)} {verb(standing, 'stands', 'stand')} where they cannot fall")
    told += [f"{one.words} (no rope runs first)" for one in result.jammed]
    if rig.observations:
        told.append(f"{counted(len(rig.observations), 'observed fact')} not looked at")
    if state.lacking and not asks_for_forces(rig):
        told.append(f"forces not worked out ({counted(len(state.lacking), 'fact')} missing: `stillheld forces`)")
    if first_open := next((one for one in result.states if one.lengths_open and one.loads), None):
        told.append(f"{first_open.at_step} and later no drop is told: lengths are open once something is put on")
    if state.asked:
        told.append(f"rules ask for {counted(len(state.asked), 'fact')} not told here")
    none = [name for name, count in result.declared.items() if not count]
    if none:
        told.append(f"none declared, none checked: {', '.join(none)}")
    held = all(body.held for one in result.states for body in one.outcome.bodies)
    if held and not any(worse_with_hands_off(one.rig, one.outcome) for one in result.states):
        told.append("with every hand off at once nobody is worse off")
    if told:
        yield Note(f"Taken as given: {'; '.join(told)}.")
    yield Note(f"{result.complete}. {NOT_JUDGED}{NOT_IN_FORCES if _forces(state) else ''}")
