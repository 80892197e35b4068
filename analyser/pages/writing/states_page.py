"""The states of a rig as a strip: one line a step, those that break a requirement opened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.consequences import newly_dropping
from analyser.checking.fates import in_words
from analyser.checking.finding import Finding
from analyser.checking.instead import InBetween
from analyser.checking.results import Result, State
from analyser.checking.sentences import in_few, listed, verb
from analyser.checking.strip import falls_after, fewest
from analyser.holding.outcome import Outcome
from analyser.language.identities import spoken
from analyser.pages.tree import Block, Column, Fact, Row, Section, Span, Table, Under, alarm, marked, section, strong
from analyser.pages.writing.ends import where
from analyser.pages.writing.findings_lines import TOLD_ABOVE, finding_words, in_full
from analyser.pages.writing.grouping import in_brief

TOLD_BY_STATES = tuple(rule for rule in TOLD_ABOVE if rule not in ("only-by-person", "held-by-hands"))
"""Rules that the strip tells by its columns, or by who newly falls: who is held only by a person it doesn't."""


def states_sections(result: Result) -> list[Section]:
    """Nothing for a rig without stages."""
    if len(result.states) == 1:
        return []
    broken = result.broken_states
    breaks = f"{len(broken)} of {len(result.states)} {verb(broken, 'breaks', 'break')}" if broken else "none breaks"
    columns = tuple(map(Column, ("state", "after step", "fewest independent", "not held after", "")))
    rows: list[Block] = [Table(columns, tuple(_rows(result)))]
    for before, state in zip(result.states, result.states[1:], strict=False):
        rows += _opened(result, before, state)
        rows += [row for one in result.in_between if one.last == state.number for row in _instead(result, one)]
    return [section(f"States: {breaks} a requirement", rows)]


def _rows(result: Result) -> Iterator[Row | Under]:
    stage: str | None = None
    for state in result.states:
        if state.stage != stage and state.stage is not None:
            yield Under(strong(f"“{state.stage}”"))
        stage = state.stage
        bad = state.number in result.broken_states
        yield (
            alarm(f"{state.number}") if bad else f"{state.number}",
            "as first attached" if state.step is None else f"{state.numbered} {state.step} (line {state.line})",
            _fewest(state),
            _falls_after(state),
            alarm("BREAKS A REQUIREMENT") if bad else "",
        )


def _instead(result: Result, one: InBetween) -> Iterator[Fact]:
    """What to do first instead of a step that breaks something in between, and the states on both sides of it."""
    states = f"state {one.first}" if one.first == one.last else f"states {one.first}–{one.last}"
    yield Fact(states, marked(f"{one.broken}: {one.text}"))
    for word, number in (("before", one.first - 1), ("after", one.last + 1)):
        yield Fact("", f"{word}: {state_in_short(result.states[number])}")


def after_steps(steps: Sequence[str]) -> str:
    """`as first attached and after steps 1.6, 1.7 and 1.8`: steps by their numbers."""
    later = [step for step in steps if step != "0"]
    after = [f"after {'step' if len(later) == 1 else 'steps'} {in_few(later)}"] if later else []
    return listed(["as first attached"] * ("0" in steps) + after)


def state_in_short(state: State) -> str:
    """A state in one short line: which, and how it stands."""
    step = "as first attached" if state.step is None else f"after {state.step}"
    return f"state {state.number}, {step}: {standing_in_short(state)}"


def standing_in_short(state: State) -> str:
    """How a state stands: fewest independent, not held after."""
    least = fewest(state.outcome)
    if least.fallen:
        return f"{listed(least.fallen)} {verb(least.fallen, 'is', 'are')} NOT HELD as rigged"
    return f"fewest independent {_fewest(state)}; not held after: {_falls_after(state)}"


def _fewest(state: State) -> str:
    """Who has the fewest independent attachments in a state, and while its step is being done where that is
    told apart."""
    words = _fewest_of(state.outcome)
    meanwhile = [told for one in state.during if (told := _fewest_of(one.outcome)) != words]
    return f"meanwhile {', then '.join((*meanwhile, words))}" if meanwhile else words


def _fewest_of(outcome: Outcome) -> str:
    least = fewest(outcome)
    if least.nobody:
        return "nobody has to be held"
    if least.fallen:
        return f"{listed(least.fallen)}: NOT HELD"
    return "–" if least.number is None else f"{least.number} ({listed(least.names)})"


def _falls_after(state: State) -> str:
    """After how few failures somebody falls, and who."""
    told = falls_after(state.outcome, {one.failure for one in state.rig.accepted})
    if told.size is None:
        return f"more than {state.outcome.order}" if state.outcome.bodies else "–"
    words = {0: "AS RIGGED", 1: "1 ALONE"}.get(told.size, f"{told.size} together")
    return words if told.every else f"{listed(told.names)}: {words}{' (accepted)' if told.accepted else ''}"


def _opened(result: Result, before: State, state: State) -> Iterator[Fact]:
    """What a step brings that was not there before it: who newly falls after one failure, and findings."""
    label = f"state {state.number}"
    for falls, failures in newly_dropping(before.outcome, state.outcome):
        yield Fact(label, strong(f"now {in_brief(state.rig, failures)}: {in_words(falls)}"))
        label = ""
    alike: dict[tuple[str, bool], list[Finding]] = {}
    for finding in result.fresh(state):
        if finding.rule not in TOLD_BY_STATES:
            alike.setdefault((finding.rule, bool(finding.accepted)), []).append(finding)
    for group in alike.values():
        full = in_full(group)
        for finding in full:
            words = finding_words(finding, f", {where(result.rig, finding.place)}")
            yield Fact(Span(label, words.look), marked(words.text))
            label = ""
            if finding.mend and not finding.accepted:
                yield Fact("", marked(f"to mend: {finding.mend}"))
        if rest := group[len(full) :]:
            names = ", ".join(map(spoken, sorted({name for finding in rest for name in finding.about})))
            yield Fact("", f"and {len(rest)} more ({group[0].rule}): {names}")
