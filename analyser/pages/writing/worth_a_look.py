"""What is worth a look on the page of `check` on a terminal: states that break something, and the findings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from analyser.checking.finding import Finding, Severity
from analyser.checking.first_look import FirstLook
from analyser.checking.foremost import ONLY_BY_A_PERSON, OPENED, WHY_FROM_A_PERSON, worst_state
from analyser.checking.results import Result, State
from analyser.checking.sentences import counted, in_few, listed
from analyser.pages.tree import Block, Fact, Span, alarm
from analyser.pages.writing.ends import where
from analyser.pages.writing.findings_lines import TOLD_ABOVE, finding_words, groups_of
from analyser.pages.writing.fitting import Left, Room, Told
from analyser.pages.writing.states_page import TOLD_BY_STATES, standing_in_short
from analyser.rig.model import Rig


def worth_a_look(result: Result, room: Room, look: FirstLook) -> Told:
    """States that break something, what to look at (dangers first, all of them); what is done instead only where
    `look`, which stands above, doesn't tell it."""
    yield from _states(result, room, look)
    yield from _findings(result, room, look)


def _states(result: Result, room: Room, look: FirstLook) -> Told:
    """A line for each run of states that break something in the same way, and what to do first instead."""
    if len(result.states) == 1:
        return
    worst = worst_state(result)
    bad = [result.states[number] for number in result.broken_states]
    stop = look.step.number if look.step and not look.step.during else None  # which stands above
    if not bad:
        yield Left(f"{len(result.states)} states, none of which breaks a requirement")
    runs = [run for run in _runs(bad) if len(run) > 1 or run[0].numbered != stop]
    runs = [run for run in runs if not worst.step or worst not in run]
    for run in runs[: room.states]:
        first, last = run[0].numbered, run[-1].numbered
        if run[0].step is None:
            label, step = "at first", "as first attached" + (f" and on, till after step {last}" if len(run) > 1 else "")
        else:
            label = f"step {first}" if first == last else f"steps {first}–{last}"
            step = f"after “{run[0].step}” (line {run[0].line})"
        yield Fact(alarm(label), f"{step}: {standing_in_short(run[0])}")
    if left := sum(map(len, runs[room.states :])):
        yield Left(f"{left} of {counted(len(bad), 'state')} that break a requirement")
    order = look.instead
    lines = {order.first.line, order.then.line} if order else set()
    between = [one for one in result.in_between if not lines or {one.move, one.of} != lines]
    for one in between[: room.states]:
        first, last = result.states[one.first].numbered, result.states[one.last].numbered
        steps = f"after step {first}" if first == last else f"after steps {first}–{last}"
        yield Fact("instead", f"{one.broken}, {steps}: {one.text}")
    if left := len(between[room.states :]):
        yield Left(f"{counted(left, 'other order')} to try")


def _runs(states: Iterable[State]) -> Iterator[list[State]]:
    """States one after another that are told in the same words but for their step."""
    run: list[State] = []
    for state in states:
        if run and (state.number != run[-1].number + 1 or standing_in_short(state) != standing_in_short(run[0])):
            yield run
            run = []
        run.append(state)
    if run:
        yield run


def _findings(result: Result, room: Room, look: FirstLook) -> Told:
    """All dangers; of what else there is the first groups, and how much is left out. What the first lines tell already
    is named with its lines."""
    mended = OPENED if look.instead or look.ends else ""  # there the first lines tell what to do instead
    found: list[tuple[State, Finding]] = []
    known: dict[str, list[str]] = {}
    for state in result.states:
        above = TOLD_BY_STATES if state.number else TOLD_ABOVE
        for one in result.fresh(state):
            if one.rule in above:
                continue
            if not result.met and _told_first(one, look):
                known.setdefault(one.rule, []).append(where(result.rig, one.place))
            else:
                found.append((state, one))
    if known:
        told = (f"{listed(list(dict.fromkeys(places)))} ({rule})" for rule, places in known.items())
        yield Fact("as told first", f"danger: {'; '.join(told)}")
    in_state = {id(one): state for state, one in found}
    groups = groups_of(result.rig, [one for _, one in found])
    dangers = [group for group in groups if _is_danger(group[0])]
    others = [group for group in groups if not _is_danger(group[0]) and not group[0].accepted]
    shown = (*dangers, *others[: room.findings])
    for group in shown:
        yield from _alike(result.rig, group, in_state, mended)
    left = [one for group in groups if group not in shown for one in group]
    if left:
        yield Left(_counted_by_severity(left))


def _told_first(one: Finding, look: FirstLook) -> bool:
    """Is a danger what the first lines tell: who hangs only from whom, by which straps, after which step?"""
    worst = look.endangered[:1]
    if not (worst and worst[0].unheld and worst[0].by and _is_danger(one)):
        return False
    if one.rule == OPENED:
        return worst[0].at is not None and one.place.line == worst[0].at.line
    return one.about[0] in {WHY_FROM_A_PERSON: worst[0].by, ONLY_BY_A_PERSON: worst[0].bodies}.get(one.rule, ())


def _is_danger(finding: Finding) -> bool:
    return finding.severity is Severity.DANGER and not finding.accepted


def _alike(rig: Rig, group: Sequence[Finding], in_state: dict[int, State], mended: str) -> Iterator[Block]:
    """A group by its first finding, and of what else the same is said."""
    one = group[0]
    state = in_state[id(one)]
    words = finding_words(one, f", from step {state.numbered}" if state.step else "")
    rest = list(dict.fromkeys(other.about[0] for other in group[1:] if other.about[0] != one.about[0]))
    likewise = f"; likewise {in_few(rest, 6 if _is_danger(one) else 2)}" if rest else ""
    if len(group) > 1 and not rest:
        likewise = f"; {counted(len(group) - 1, 'place')} more"
    yield Fact(Span(where(rig, one.place), words.look), words.text + likewise)
    if one.mend and _is_danger(one) and one.rule != mended:
        yield Fact("", f"to mend: {one.mend}")


def _counted_by_severity(found: Sequence[Finding]) -> str:
    """`3 cautions, 1 note and 2 accepted`."""
    told = []
    for severity in Severity:
        if number := sum(one.severity is severity and not one.accepted for one in found):
            told.append(counted(number, str(severity)))
    if number := sum(bool(one.accepted) for one in found):
        told.append(counted(number, "accepted finding"))
    return listed(told)
