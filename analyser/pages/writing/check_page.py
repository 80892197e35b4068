"""The page of `check`: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from analyser.checking.consequences import (
    Effect,
    after_alike,
    not_held,
    only_accepted,
    singles,
    unsettling,
    worst_hands_off,
)
from analyser.checking.fates import already, in_words, standing, together
from analyser.checking.foremost import verdict_line, worst_state
from analyser.checking.free_along import freed_with_hands_off
from analyser.checking.hanging_from import holder
from analyser.checking.held_by import way_in_words
from analyser.checking.requirements import asks_for_forces
from analyser.checking.results import Result, State
from analyser.checking.sentences import counted, listed, more
from analyser.checking.standing import amiss
from analyser.holding.by_class import Groups
from analyser.holding.fate import Kind
from analyser.holding.outcome import BodyOutcome, Outcome
from analyser.language.identities import spoken
from analyser.pages.tree import (
    Block,
    Column,
    Fact,
    Figure,
    Gap,
    Line,
    Look,
    Note,
    Page,
    Section,
    Span,
    Table,
    Words,
    alarm,
    marked,
    section,
    strong,
)
from analyser.pages.writing.ends import closing, rig_title, where
from analyser.pages.writing.findings_lines import findings_sections, slips_lines
from analyser.pages.writing.forces_page import forces_sections, not_worked_out
from analyser.pages.writing.grouping import groups_with_groups, in_brief, number_of, one_by_one
from analyser.pages.writing.states_page import states_sections
from analyser.rig.model import Nature, Rig

if TYPE_CHECKING:
    from analyser.checking.carried_verdict import Resting
    from analyser.forces.loads import Loads

MOST_LINES = 14
REQUIRED = "Required"
LEFT_ON_ONE = "once one of a pair has failed, whoever is named with it hangs on ONE until it is mended"


def check_page(
    result: Result, file: str, *, latent: bool = False, about: str = "", figure: Figure | None = None
) -> Page:
    """The verdict first and last; who is held and what brings them down, where that is worst and as first attached;
    then what was asked and assumed. `about` says what the verdict is about, where it is not the rig as written; a
    `figure` stands behind the first answer."""
    rig = result.rig
    verdict = f"{about}{verdict_line(result)}"
    first = f", {result.states[0].at_step}" if len(result.states) > 1 else ""
    blocks: list[Block] = [rig_title(rig, file), Note(strong(verdict))]
    worst = worst_state(result)
    if worst.step:
        blocks += _standing(worst, f", {worst.at_step}", figure)
    blocks += _standing(result.states[0], first, None if worst.step else figure)
    if latent:
        first = " (as first attached)" if first else ""
        blocks.append(section(f"Slips that nobody sees before weighting{first}", slips_lines(result)))
    blocks += (*findings_sections(result), *states_sections(result), *forces_sections(result))
    blocks.append(_required(result))
    if result.rests:
        blocks.append(section("What the verdict rests on", resting_lines(rig, result.rests)))
    blocks.append(section("Taken as given", _assumed(result)))
    return Page((*blocks, *closing(strong(verdict))), rig.title)


def _standing(state: State, when: str, figure: Figure | None) -> Iterator[Block]:
    """Who is held in a state, what brings them down alone, and what does so together."""
    yield section(f"Who is held, and by what{when}", _people(state.rig, state.outcome, state.loads))
    if figure:
        yield figure
    yield section(
        f"What brings them down{when}", (*_downfalls(state.rig, state.outcome), hands_off(state.rig, state.outcome))
    )
    if state.outcome.order > 1:
        sets = (block for k in range(2, state.outcome.order + 1) for block in _sets(state.rig, state.outcome, k))
        yield section(f"What two together bring down{when}", sets)


def _people(rig: Rig, outcome: Outcome, loads: Loads | None) -> Iterator[Block]:
    if not outcome.bodies:
        yield Line("nobody and nothing in this file has to be held")
        return
    columns = (
        Column("who"),
        Column("state"),
        Column("attachments", True),
        Column("independent", True),
        Column("not held after"),
    )
    yield Table(columns, tuple(_row(rig, body, outcome, loads) for body in outcome.bodies))
    yield Gap()
    for body in outcome.bodies:
        for number, way in enumerate(outcome.review.enough_ways(body.name, 1) if body.held else ()):
            by = "by" if number < len(body.ways) else "or by"
            yield Fact(body.name if not number else "", f"{by} {way_in_words(rig, body.name, way)}")


def _row(rig: Rig, body: BodyOutcome, outcome: Outcome, loads: Loads | None) -> tuple[Words, ...]:
    feet = " + feet" if rig.parts[body.name].standing else ""
    alone = body.smallest_failure_set == 1
    accepted = alone and only_accepted(outcome, body.name, (one.failure for one in rig.accepted))
    told = state_words(rig, body, loads, "held" if not alone else "on ONE, accepted" if accepted else "ON ONE")
    plain = body.fate.kind in (Kind.HELD, Kind.SLACKENS) and (accepted or not alone)
    return (
        strong(f"{body.name} ({rig.parts[body.name].kind})"),
        Span(told, Look.PLAIN if plain else Look.ALARM),
        f"{body.attachments}{feet}",
        independent(body),
        _falls_after(body, outcome, accepted=accepted),
    )


def state_words(rig: Rig, body: BodyOutcome, loads: Loads | None, held: str = "held") -> str:
    """How a body is held with nothing failed, in a few words; `held`: what is said where it is."""
    if body.fate.kind is Kind.BY_A_PERSON:
        return standing(body.fate, holder(rig, body.name))
    if body.fate.kind is not Kind.HELD:
        return standing(body.fate)
    if loads and (words := amiss(loads.fares(body.name))):
        return f"{held}, but {words}"
    return f"{held}; forces balance" if balances(body, loads) else f"{held}; drop not checked"


def balances(body: BodyOutcome, loads: Loads | None) -> bool:
    """Do the forces say too that a body is held?"""
    if loads is None or not loads.now.accepted or body.name in loads.now.falls:
        return False
    return not amiss(loads.fares(body.name))


def independent(body: BodyOutcome, none: str = "–") -> str:
    """How many of a body's attachments are independent of each other."""
    if body.independent is None:
        return none
    return f"{body.independent}" if body.independent_exact else f"≥ {body.independent}"


def _falls_after(body: BodyOutcome, outcome: Outcome, *, accepted: bool) -> Words:
    size = body.smallest_failure_set
    if size is None:
        return "nothing that can fail" if body.independent is None else f"more than {outcome.order}"
    if size == 0:
        return alarm("AS RIGGED")
    if size == 1:
        return "1 ALONE (accepted)" if accepted else alarm("1 ALONE")
    return f"{size} together"


# -- what brings them down


def _downfalls(rig: Rig, outcome: Outcome) -> Iterator[Block]:
    fallen, alone = not_held(outcome), singles(outcome)
    accepted = {one.failure for one in rig.accepted}
    if fallen:
        now = together((name, outcome.body(name).fate) for name in fallen)
        yield Fact(alarm("as rigged"), already(now, partial(holder, rig)))
    for taken in (False, True):
        for effect, failures in alone:
            mine = [one for one in failures if (one in accepted) is taken]
            if mine:
                told = (strong(effect_words(effect)), f" if {in_brief(rig, mine)}")
                yield Fact("accepted" if taken else alarm("one alone"), told)
    if not alone and not fallen:
        yield Line("one alone: everybody is held after any single failure that this file can express")
    for effect, failures in unsettling(outcome):
        yield Fact(effect.label, (strong(effect_words(effect)), f" if {in_brief(rig, failures)}"))


def _sets(rig: Rig, outcome: Outcome, size: int) -> Iterator[Block]:
    """The failure sets of one size, in few lines."""
    lines: list[Block] = []
    sets = after_alike(outcome, size)
    alike: dict[str, list[Groups]] = {}
    for one, what in sets.items():
        alike.setdefault(in_words(what), []).append(one)
    for words, mine in sorted(alike.items(), key=lambda item: (-number_of(item[1]), item[0])):
        if size == 2:
            pairs = ((in_brief(rig, one), in_brief(rig, two)) for one, two in groups_with_groups(mine))
            lines += [Fact("two together", (strong(words), f" if {one}\nand also {two}")) for one, two in pairs]
        else:
            several = [(strong(words), f" if {' + '.join(map(spoken, one))}") for one in one_by_one(mine)]
            lines += [Fact(f"{size} together", told) for told in several]
    if not lines:
        yield Line(f"{size} together: nobody else is brought down by any {size}")
    yield from lines[:MOST_LINES]
    if len(lines) > MOST_LINES:
        yield Line(more(len(lines) - MOST_LINES, f"{number_of(sets)} sets in all: `--json` lists each", "lines"))
    if size == 2 and lines:
        yield Fact("then on one", LEFT_ON_ONE)


def effect_words(effect: Effect) -> str:
    """`the basket falls; leaves vic on one` after one failure."""
    told = [in_words(effect.what)] if effect.what else []
    left = [f"leaves {listed(effect.on_one)} on one"] if effect.on_one else []
    return "; ".join([*told, *left])


def worse_with_hands_off(rig: Rig, outcome: Outcome) -> bool:
    return bool(worst_hands_off(outcome) or freed_with_hands_off(rig, outcome))


def hands_off(rig: Rig, outcome: Outcome) -> Fact:
    """What happens to whom with hands off."""
    hands = worst_hands_off(outcome)
    told = [*([in_words(hands)] if hands else []), *(one.text for one in freed_with_hands_off(rig, outcome))]
    label = Span("hands off", Look.STRONG if told else Look.PLAIN)
    none = "the same as above" if not_held(outcome) else "nobody is worse off"
    return Fact(label, f"with every hand off at once: {'; '.join(told) or none}")


# -- what was asked, and what it rests on


def _required(result: Result) -> Section:
    assumed = f" (house defaults: {nothing})" if (nothing := result.asks_for_nothing) else ""
    rows: list[Block] = []
    for one in result.requirements:
        word = {True: "met", False: "NOT MET", None: "NOT CHECKED"}[one.met]
        rows.append(Fact(Span(word, Look.PLAIN if one.met else Look.STRONG), one.asked))
        rows += [Fact("", marked(words)) for words in (*one.because, one.sought) if words]
    return section(f"{REQUIRED}{assumed}", rows)


def resting_lines(rig: Rig, resting: Resting) -> Iterator[Block]:
    for one in resting.carrying:
        what = strong(one.words)
        if one.unread:
            yield Fact(where(rig, one.place), (what, ": without it the file can't be read"))
            continue
        yield Fact(where(rig, one.place), (what, f": without it {listed(one.requirements)} would not be met"))
        yield Fact("", one.why)
    yield Line(f"denied in turn: {counted(resting.denied, 'statement')}")


def _assumed(result: Result) -> Iterator[Block]:
    rig = result.rig
    for one in rig.sound:
        yield Fact("sound", f"{spoken(one.failure)} is taken as impossible: {one.reason} ({where(rig, one.place)})")
    for one in rig.accepted:
        yield Fact("accepted", f"{spoken(one.failure)}: {one.reason} ({where(rig, one.place)})")
    standing = [p.name for p in rig.parts.values() if p.nature is Nature.PERSON and p.standing and not p.exposed]
    if standing:
        yield Fact("standing", f"{listed(standing)}: on ground where they cannot fall, as the file says")
    for jam in result.jammed:
        yield Fact("stopper", f"{jam.words}: no rope runs before it holds ({where(rig, jam.place)})")
    if rig.observations:
        yield Fact(
            "observed", marked(f"{len(rig.observations)} facts: for `stillheld reconstruct`, not looked at here")
        )
    lacking = result.states[0].lacking
    if lacking and not asks_for_forces(rig):
        yield Fact("forces", marked(f"{not_worked_out(lacking)} (`stillheld forces` lists what to add)"))
    yield from (Fact("not told", marked(f"asked by the house: {words}")) for words in result.house_not_told)
    none = [f"0 {name}" for name, count in result.declared.items() if not count]
    if none:
        yield Fact("not declared", f"{', '.join(none)} declared: none checked")
    yield Fact("searched", f"{result.complete}. Strength, knots, rope condition and skill are not judged.")
