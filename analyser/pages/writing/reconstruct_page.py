"""The page of `reconstruct`: facts and who told them, explanations, what to look at, what would have kept.

On a terminal it is short; as a document it has the rig in words, pictures and the evidence as well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from analyser.checking.sentences import counted, listed
from analyser.language.identities import spoken
from analyser.pages.tree import (
    Block,
    Code,
    Column,
    Fact,
    Figure,
    Gap,
    Line,
    Note,
    Page,
    Section,
    Table,
    section,
)
from analyser.pages.writing.ends import closing, rig_title
from analyser.pages.writing.explanations import MOST_NAMED, chain, choice_words, explanation, told_by, under_load
from analyser.pages.writing.mend_page import changed
from analyser.rig.model import Nature, Role
from analyser.uses.incident.case import Case
from analyser.uses.incident.conflict import MOST_TOGETHER, Conflict, Side
from analyser.uses.incident.next_looks import Look
from analyser.uses.incident.reconstruction import Explanation
from analyser.uses.incident.sequences import Chain
from analyser.uses.mending.keeping import Keeping

MOST_ON_TERMINAL, MOST_IN_DOCUMENT = 8, 40
MOST_COLUMNS = 8
"""Explanations that stand beside one another in the evidence matrix."""
MOST_ADDITIONS = 3
MOST_CHAINS = 6
CONSISTENT = (
    "Each is a smallest set of failures that is consistent with everything observed. The order is by the number of "
    "failures, then by how much of it was found: it is an order of reading, and the first is not the cause."
)
SEQUENCE = (
    "Each begins as told, and what its load then breaks follows: together they are consistent with everything "
    "observed. Fewest failures at the beginning come first, then what was found, then what follows most readily; the "
    "first is not the cause."
)
LABELS = {"at": "when", "not": "ruled out", "note": "remark", "caught": "fell, held"}
"""How facts are told, where not by their verb."""
Drawn = Callable[[Explanation | Chain | None], Sequence[Figure]]
"""Gives a picture of the rig (None), or of what is left after an explanation or a sequence; or none."""


def reconstruct_page(case: Case, file: str, drawn: Drawn | None = None) -> Page:
    """Short for a terminal; a document where pictures can be `drawn`."""
    whole = drawn is not None
    picture: Drawn = drawn or (lambda one: ())
    told = (
        _conflict(case)
        if case.conflict
        else _explanations(case, MOST_IN_DOCUMENT if whole else MOST_ON_TERMINAL, picture)
    )
    blocks = (
        section("What was observed", _facts(case)),
        *((section("The rig as described", (*_rig(case), *picture(None))),) if whole else ()),
        *_sequences(case, picture),
        told,
        *(_matrix(case) if whole else ()),
        *_tested(case),
        *_looks(case),
        *_lessons(case),
        section("Taken as given", _given(case)),
    )
    return Page((rig_title(case.rig, file), *blocks, *closing("", Note(case.limits))), case.rig.title)


def _facts(case: Case) -> Iterator[Fact]:
    when = [fact for fact in case.rig.observations if fact.verb == "at"]
    if not when:
        states = sum(len(moment.numbers) for moment in case.made.moments)
        yield Fact("when", "the rig as first attached" if states == 1 else f"not said: all {states} states are tried")
    for fact in (*when, *(one for one in case.rig.observations if one.verb != "at")):
        label = LABELS.get(fact.verb, fact.verb)
        names = listed(fact.names) or fact.text or fact.words
        why = f": “{fact.text}”" if fact.names and fact.text else ""
        yield Fact(label, f"{names}{why} ({told_by(case, fact)})")
    if case.made.unsaid:
        yield Fact("nobody says", f"whether {listed(case.made.unsaid)} fell or stayed")


def _rig(case: Case) -> Iterator[Fact]:
    """The rig, in words."""
    rig = case.rig
    for label, natures in (
        ("ground", (Nature.GROUND,)),
        ("people", (Nature.PERSON,)),
        ("litters, loads", (Nature.LITTER, Nature.LOAD)),
        ("edges", (Nature.EDGE,)),
    ):
        names = [part.name for part in rig.parts.values() if part.nature in natures]
        if names:
            yield Fact(label, ", ".join(map(spoken, names)))
    for rope in rig.ropes:
        stations = ", ".join(f"{'over ' if s.role is Role.OVER else ''}{s.label}" for s in rope.stations)
        yield Fact(f"rope {rope.name}", stations)
    for stage in rig.stages:
        steps = "; ".join(f"{n} {step.words.splitlines()[0]}" for n, step in enumerate(stage.steps, 1))
        yield Fact("stage", f"“{stage.title}”: {steps}")
    if rig.sound:
        yield Fact("sound", f"{', '.join(spoken(one.failure) for one in rig.sound)}: taken as impossible in the file")


# -- what explains it


def _sequences(case: Case, drawn: Drawn) -> list[Section]:
    """What a failure overloads next."""
    told = case.sequences
    if told.why_not:
        return []
    rows: list[Block] = [Note(SEQUENCE)] if told.chains else []
    for number, one in enumerate(told.chains[:MOST_CHAINS], 1):
        rows += (Gap(), *chain(case, number, one), *drawn(one))
    left = len(told.chains) - MOST_CHAINS
    if left > 0:
        rows += (Gap(), Fact("", f"and {left} more: --json lists them all"))
    if not told.chains:
        rows.append(Fact("", f"{counted(told.looked_at, 'beginning')} tried: none leads through overloads to it"))
    if told.left_out:
        rows.append(Fact("", f"not looked at, too much work: {counted(told.left_out, 'further beginning')}"))
    if told.without:
        named = ", ".join(told.without[:MOST_NAMED]) + (" and more" if len(told.without) > MOST_NAMED else "")
        rows.append(Fact("", f"no strength given, so never breaking here: {named}"))
    return [section(f"{counted(len(told.chains), 'sequence')} of overloads consistent with it", rows)]


def _explanations(case: Case, most: int, drawn: Drawn) -> Section:
    made = case.made
    count = len(made.explanations)
    rows: list[Block] = [Note(CONSISTENT)]
    for number, one in enumerate(made.explanations[:most], 1):
        rows += (Gap(), *explanation(case, number, one), *drawn(one))
    if count > most:
        words = f"and {count - most} more, with as many failures or more: --json lists them all"
        rows += (Gap(), Fact("", words))
    sets = "" if made.sets == count else f", {made.sets} sets of failures in all"
    return section(f"{counted(count, 'explanation')} consistent with it{sets}", rows)


def _conflict(case: Case) -> Section:
    """Facts that stand against each other with both sides; or that more failures are needed than were assumed."""
    conflict = case.conflict
    assert conflict is not None
    if conflict.enough:
        return _more_needed(case, conflict, conflict.enough)
    by = "By the connections alone, nothing" if case.sequences.chains else "Nothing"
    if conflict.at_any_order:
        told = "These cannot all be so in the rig as described, with any number of failures assumed:"
    else:
        told = f"These are not explained together by up to {MOST_TOGETHER} failures; whether by more is not looked at:"
    rows: list[Block] = [Note(told), Gap()]
    for number, core in enumerate(conflict.cores):
        rows += [Gap()] if number else []
        for item in core:
            witnesses = "; ".join(told_by(case, fact) for fact in item.facts)
            rows.append(Fact(LABELS.get(item.verb, item.verb), f"{item.name or item.words} ({witnesses})"))
    rows += (Gap(), Note("With one of each given up, all the rest is consistent with:"), Gap(), *_sides(conflict))
    hint = "Look again at each of these facts; look whether the rig of the file is the rig of the day"
    if case.made.slipped is None:
        hint += " (--including-slips tries knots not tied, connectors not clipped, devices the wrong way round)"
    return section(f"{by} explains all of it", (*rows, Gap(), Note(f"{hint}.")))


def _more_needed(case: Case, conflict: Conflict, enough: int) -> Section:
    """Nothing contradicts anything: the order was too low."""
    by = "by the connections alone " if case.sequences.chains else ""
    told = (
        f"No fact stands against another: {by}it takes {counted(enough, 'failure')} together, and no more than "
        f"{case.made.order} {'was' if case.made.order == 1 else 'were'} assumed. --order {enough} tells which."
    )
    rows: list[Block] = [Note(told)]
    sides = list(_sides(conflict))
    if sides:
        rows += (Gap(), Note("Fewer would do if one of these were not so:"), Gap(), *sides)
    return section(f"It takes {counted(enough, 'failure')} together", rows)


def _sides(conflict: Conflict) -> Iterator[Fact]:
    for side in conflict.sides:
        given_up = " and ".join(f"“{one.words}”" for one in side.given_up)
        yield Fact("", f"without {given_up}: {_left(side)}", wide=4)


def _left(side: Side) -> str:
    """The first explanation of all the rest, and how many sets of failures there are besides."""
    if not side.explanations:
        return "still nothing"
    first = side.explanations[0]
    further = side.sets - first.sets
    sets = f", and {counted(further, 'other set')}" if further else ""
    return (" and ".join(map(choice_words, first.choices)) or "nothing failed at all") + sets


def _matrix(case: Case) -> list[Section]:
    """The evidence: what was observed against what explains it."""
    chains = case.sequences.chains[: MOST_COLUMNS // 2]
    shown = case.shown[: MOST_COLUMNS - len(chains)]
    if not (shown or chains) or not case.made.observed:
        return []
    heads = [f"sequence {number}" for number, _ in enumerate(chains, 1)]
    for number, (_, against) in enumerate(shown, 1):
        given_up = " and ".join(f"“{one.words}”" for one in against)
        heads.append(f"without {given_up}" if against else f"explanation {number}")
    rows: list[tuple[str, ...]] = []
    for item in case.made.observed:
        led = (one.standing(item) for one in chains)
        rows.append((item.words, *led, *(case.standing(one, item, against) for one, against in shown)))
    assumed = [*(one.assumed for one in chains), *(one.assumed for one, _ in shown)]
    rows.append(("assumed besides", *map(str, assumed)))
    blocks: list[Block] = [Table(tuple(map(Column, ("observed", *heads))), tuple(rows), flush=True)]
    further = len(case.shown) - len(shown) + len(case.sequences.chains) - len(chains)
    if further:
        blocks.append(Note(f"{further} further explanations and sequences are not in this table."))
    return [section("Evidence", blocks)]


def _tested(case: Case) -> list[Section]:
    """For each explanation, what the forces say of it; for several failures, the force that each would have needed."""
    told = case.sequences
    if not told.tested:
        return []
    rows = [fact for one in told.tested for fact in under_load(case, one)]
    left = len(case.made.explanations) - len(told.tested)
    if left > 0:
        rows.append(Fact("", f"{counted(left, 'further explanation')} not put under load"))
    if told.unweighed:
        rows.append(Fact("", f"for {counted(told.unweighed, 'part')} no drop was looked for: too much work"))
    return [section("The explanations under load", rows)]


# -- what to look at, what to learn


def _looks(case: Case) -> list[Section]:
    if not case.looks:
        return []
    figures = (Column(head, figures=True) for head in ("if yes", "if no", "expected left"))
    rows = tuple((_question(one), str(one.yes), str(one.no), f"{one.left:.1f}") for one in case.looks)
    words = f"sets of failures left, of {case.made.sets}, as if each were as likely as every other"
    narrows = next((one.suppose for one in case.looks if one.suppose), "")
    if narrows:
        words += f'; --suppose "{narrows}" narrows it'
    return [section("What to look at next", [Table((Column("did it happen?"), *figures), rows), Line(words)])]


def _question(one: Look) -> str:
    if not one.also:
        return one.question
    named = ", ".join(one.also[:2]) + (f" or {len(one.also) - 2} more" if len(one.also) > 2 else "")
    return f"{one.question} (as good to ask: {named})"


def _lessons(case: Case) -> list[Section]:
    if case.lessons is None:
        return []
    kept = case.lessons.keeping
    words = "not looked for: nobody is said to have fallen, or only contacts never made explain it"
    rows = [Fact("", words)] if kept is None else _keeping(kept, case.lessons.left_out)
    return [section("One addition that would have kept people held", rows)]


def _keeping(kept: Keeping, left_out: int) -> Iterator[Block]:
    every = [one for one in kept.kept if one.scenarios == kept.scenarios]
    for number, one in enumerate((every or kept.kept)[:MOST_ADDITIONS], 1):
        in_ = (
            "in every explanation"
            if one in every
            else f"in {one.scenarios} of {kept.scenarios} sets of failures and states"
        )
        yield Fact(str(number), f"{one.proposal.words}: {in_}", wide=4)
        for change in one.proposal.changes:
            yield from changed(change)
        if one.proposal.added:
            yield Code(tuple(one.proposal.added))
    if not kept.kept:
        yield Fact("", f"{kept.tried} were tried, one at a time, and none would have: it needs more than one")
    elif not every:
        yield Fact("", "no single addition that was tried keeps them held in every explanation")
    left = f"; {left_out} sets of failures were left out (too many, or with a contact never made)" if left_out else ""
    tried = f"{counted(kept.tried, 'addition')} tried{left}"
    yield Fact("", f"{tried}. By structure only: whether it can be rigged is for the people on the ground")


def _given(case: Case) -> Iterator[Fact]:
    if case.rig.sound:
        names = ", ".join(spoken(one.failure) for one in case.rig.sound)
        again = "; where a slip can do the same, it was tried" if case.made.slipped else ""
        yield Fact("sound", f"{names}: taken as impossible in the file{again}")
    yield Fact("searched", case.made.complete)
    if case.sequences.wanted:
        yield Fact("to add", f"for what overloads lead to: {'; '.join(case.sequences.wanted[:MOST_NAMED])}")
