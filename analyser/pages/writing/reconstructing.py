"""The pages of `reconstruct`: facts and who told them, explanations, what to look at, what would have kept.

The terminal's page and the document are made of the same pieces; the document has more of them.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence

from rich.table import Table
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import listed
from analyser.language.edit import AFTER, BECOMES
from analyser.pages.writing.pieces import Figure, Piece
from analyser.pages.writing.terminal import hanging, heading, show, title, where
from analyser.rig.model import Nature, Observation, Role, Witness
from analyser.uses.incident.case import Case
from analyser.uses.incident.evidence import Item
from analyser.uses.incident.next_looks import Look
from analyser.uses.incident.reconstruction import Explanation
from analyser.uses.incident.sequences import Chain, Overloaded, Tested, Weighed

MOST_ON_TERMINAL, MOST_IN_DOCUMENT = 8, 40
MOST_COLUMNS = 8
"""Explanations that stand beside one another in the evidence matrix."""
MOST_ADDITIONS = 3
MOST_CHAINS = 6
MOST_NAMED = 8
"""Failures of one choice that are named on the terminal."""
CONSISTENT = (
    "Each is a smallest set of failures that is consistent with everything observed. The order is by the number of "
    "failures, then by how much of it was found: it is an order of reading, and the first is not the cause."
)


Drawn = Callable[[Explanation | Chain | None], Sequence[Figure]]
"""Gives a picture of the rig (None), or of what is left after an explanation or a sequence; or none."""


def _undrawn(one: Explanation | Chain | None) -> Sequence[Figure]:
    return ()


def show_case(case: Case, file: str) -> None:
    """Print the page."""
    for piece in pieces(case, file):
        if isinstance(piece, Figure):
            continue
        if isinstance(piece, list):
            sys.stdout.write("".join(f"          {line}\n" for line in piece))
        else:
            show(piece)


def pieces(case: Case, file: str) -> list[Piece]:
    """The terminal's page."""
    return [
        title(case.rig, file),
        *_facts(case),
        *_sequences(case),
        *(_conflict(case) if case.conflict else _explanations(case, MOST_ON_TERMINAL)),
        *_against_strength(case),
        *_looks(case),
        *_lessons(case),
        *_given(case),
    ]


def document(case: Case, file: str, drawn: Drawn = _undrawn) -> list[Piece]:
    """The document's pieces."""
    told = _conflict(case) if case.conflict else _explanations(case, MOST_IN_DOCUMENT, drawn)
    return [
        title(case.rig, file),
        *_facts(case),
        *_rig(case),
        *drawn(None),
        *_sequences(case, drawn),
        *told,
        *_matrix(case),
        *_against_strength(case),
        *_looks(case),
        *_lessons(case),
        *_given(case),
    ]


# -- the facts


def _facts(case: Case) -> list[Piece]:
    rows: list[Piece] = [heading("What was observed")]
    when = [fact for fact in case.rig.observations if fact.verb == "at"]
    if not when:
        states = sum(len(moment.numbers) for moment in case.made.moments)
        every = "the rig as first attached" if states == 1 else f"not said: all {states} states are tried"
        rows.append(hanging("when", every))
    for fact in (*when, *(one for one in case.rig.observations if one.verb != "at")):
        label = {"at": "when", "not": "ruled out", "note": "remark"}.get(fact.verb, fact.verb)
        names = listed(fact.names) or fact.text or fact.words
        why = f": “{fact.text}”" if fact.names and fact.text else ""
        rows.append(hanging(label, f"{names}{why} ({_told(case, fact)})"))
    if case.made.unsaid:
        rows.append(hanging("nobody says", f"whether {listed(case.made.unsaid)} fell or stayed"))
    return rows


def _told(case: Case, fact: Observation) -> str:
    if case.is_supposed(fact):
        return "supposed, on the command line"
    told = [_witness(one) for one in fact.told] or ["not said by whom"]
    return f"{'; '.join(told)}; {where(case.rig, fact.place)}"


def _witness(one: Witness) -> str:
    return f"{one.sure} by {one.by}" if one.by else one.sure


# -- the rig, in words


def _rig(case: Case) -> list[Piece]:
    rig = case.rig
    rows: list[Piece] = [heading("The rig as described")]
    for label, natures in (
        ("ground", (Nature.GROUND,)),
        ("people", (Nature.PERSON,)),
        ("litters, loads", (Nature.LITTER, Nature.LOAD)),
        ("edges", (Nature.EDGE,)),
    ):
        names = [part.name for part in rig.parts.values() if part.nature in natures]
        if names:
            rows.append(hanging(label, ", ".join(names)))
    for rope in rig.ropes:
        stations = ", ".join(f"{'over ' if s.role is Role.OVER else ''}{s.label}" for s in rope.stations)
        rows.append(hanging(f"rope {rope.name}", stations))
    for stage in rig.stages:
        steps = "; ".join(f"{n} {step.words.splitlines()[0]}" for n, step in enumerate(stage.steps, 1))
        rows.append(hanging("stage", f"“{stage.title}”: {steps}"))
    if rig.sound:
        rows.append(hanging("sound", f"{', '.join(one.failure for one in rig.sound)}: taken as impossible in the file"))
    return rows


# -- sequences: what a failure overloads next


SEQUENCE = (
    "Each begins as told, and what its load then breaks follows: together they are consistent with everything "
    "observed. Fewest failures at the beginning come first, then what was found, then what follows most readily; the "
    "first is not the cause."
)


def _sequences(case: Case, drawn: Drawn = _undrawn) -> list[Piece]:
    told = case.sequences
    if told.why_not:
        return []
    count = len(told.chains)
    rows: list[Piece] = [heading(f"{_counted(count, 'sequence')} of overloads consistent with it")]
    if count:
        rows.append(Text(SEQUENCE))
    for number, one in enumerate(told.chains[:MOST_CHAINS], 1):
        rows += [Text(), *_chain(case, number, one), *drawn(one)]
    if count > MOST_CHAINS:
        rows += [Text(), hanging("", f"and {count - MOST_CHAINS} more: --json lists them all")]
    if not count:
        rows.append(hanging("", f"{_counted(told.looked_at, 'beginning')} tried: none leads through overloads to it"))
    if told.left_out:
        rows.append(hanging("", f"not looked at, too much work: {_counted(told.left_out, 'further beginning')}"))
    if told.without:
        named = ", ".join(told.without[:MOST_NAMED]) + (" and more" if len(told.without) > MOST_NAMED else "")
        rows.append(hanging("", f"no strength given, so never breaking here: {named}"))
    return rows


def _chain(case: Case, number: int, one: Chain) -> list[Piece]:
    rows: list[Piece] = []
    for k, choice in enumerate(one.begins):
        words = Text("and " if k else "")
        words.append(_choice(choice), style="bold")
        words.append(_found(case, choice))
        rows.append(hanging("" if k else str(number), words, width=4))
    if not one.begins:
        rows.append(hanging(str(number), Text("as it hung, with nothing failed", style="bold"), width=4))
    for over in one.overloads:
        words = Text("then ")
        words.append(over.failure, style="bold")
        words.append(f"{_found(case, (over.failure,))}: {_overload(over)}")
        rows.append(hanging("", words, width=4))
    said = [f"follows {one.verdict}"]
    if one.explanation:
        size = case.made.explanations[one.explanation - 1].size
        said.append(
            f"by the connections alone this takes {_counted(size, 'failure')} at once (explanation {one.explanation})"
        )
    if one.assumed:
        said.append("its beginning is assumed: nothing found speaks of it")
    said += _when_and_who(case, one)
    return [*rows, *(hanging("", words, width=4) for words in said)]


def _overload(one: Overloaded) -> str:
    times = _band(*(f"{times:.2f}" for times in one.times))
    return f"{times} times its strength, {_band(_kn(one.force), _kn(one.most))} on {_strength_of(one)}"


def _band(least: str, most: str) -> str:
    return least if least == most else f"{least} to {most}"


def _strength_of(one: Overloaded | Weighed) -> str:
    strength = one.strength or 0.0
    return f"{_kn(strength)}, of which {one.knot} leaves {_kn(strength * one.kept)}" if one.knot else _kn(strength)


def _kn(newtons: float) -> str:
    return f"{newtons / 1000:.1f} kN"


# -- the explanations under load


def _against_strength(case: Case) -> list[Piece]:
    """For each explanation, what the forces say of it; for several failures, the force that each would have needed."""
    told = case.sequences
    if not told.tested:
        return []
    rows: list[Piece] = [heading("The explanations under load")]
    for one in told.tested:
        rows.append(hanging(str(one.explanation), Text(_under_load(case, one)), width=4))
        rows += [hanging("", _weighed(case, part), width=4) for part in one.parts]
    left = len(case.made.explanations) - len(told.tested)
    if left > 0:
        rows.append(hanging("", f"{_counted(left, 'further explanation')} not put under load"))
    if told.unweighed:
        rows.append(hanging("", f"for {_counted(told.unweighed, 'part')} no drop was looked for: too much work"))
    return rows


def _under_load(case: Case, one: Tested) -> str:
    names = " and ".join(case.made.explanations[one.explanation - 1].first)
    if not one.upper:
        return f"{names}: nothing more breaks, not on the way either"
    if one.resting:
        more = f"{listed(one.resting)} would break as well, already at rest"
    else:
        more = f"{listed(one.upper)} would break as well on the way, and nothing more at rest"
    fits = "" if 1.0 in one.shares else "; that does not fit what was observed"
    return f"{names}: {more}{fits}"


def _weighed(case: Case, one: Weighed) -> str:
    if not one.by_load:
        return f"{one.failure}: no load is told at which that happens"
    if one.lacks_strength:
        return f"{one.failure}: no strength given"
    if one.strength is None or one.needed is None:
        return f"{one.failure}: it carries nothing here"
    hung = f"{_kn(one.resting or 0)} as it hung"
    then = f"{_band(_kn(one.left or 0), _kn(one.peak or 0))} with the rest of it gone"
    against = _strength_of(one)
    if case.rig.stages:
        then += f" ({one.words})"
    if one.needed < 1:
        enough = "already at rest" if (one.left or 0) > one.strength * one.kept else "on the way"
        return f"{one.failure}: strength {against}; {hung}, {then}: enough {enough}"
    said = f"{one.failure}: strength {against}; {hung}, {then}: it would have needed {one.needed:.2g} times as much"
    drop = one.drop
    if drop is None:
        return said
    if drop.height is None:
        return f"{said}; a drop of {drop.body} would not do it, from as high as the line lets them ({drop.most:.1f} m)"
    fall = ""
    if drop.free_fall is not None and drop.fall_factor is not None:
        fall = f", a free fall of {drop.free_fall:.1f} m, fall factor {drop.fall_factor:.2f}"
    return f"{said}, or {drop.body} let go {drop.height:.2f} m above where they hung{fall}"


# -- the explanations


def _explanations(case: Case, most: int, drawn: Drawn = _undrawn) -> list[Piece]:
    made = case.made
    count = len(made.explanations)
    sets = "" if made.sets == count else f", which stand for {made.sets} sets of failures"
    rows: list[Piece] = [
        heading(f"{_counted(count, 'explanation')} consistent with it{sets}"),
        Text(CONSISTENT),
    ]
    for number, one in enumerate(made.explanations[:most], 1):
        rows += [Text(), *_explanation(case, number, one)]
        rows += drawn(one)
    if count > most:
        rows += [Text(), hanging("", f"and {count - most} more, with as many failures or more: --json lists them all")]
    return rows


def _explanation(case: Case, number: int, one: Explanation) -> list[Piece]:
    if not one.choices:
        rows: list[Piece] = [hanging(str(number), Text("nothing need have failed", style="bold"), width=4)]
    else:
        rows = []
        for k, choice in enumerate(one.choices):
            words = Text("and " if k else "")
            words.append(_choice(choice), style="bold")
            words.append(_found(case, choice))
            rows.append(hanging("" if k else str(number), words, width=4))
    rows += [hanging("", said, width=4) for said in _further(case, one)]
    return rows


def _choice(choice: Sequence[str]) -> str:
    if len(choice) == 1:
        return choice[0]
    more = f", or {len(choice) - MOST_NAMED} more" if len(choice) > MOST_NAMED else ""
    return f"one of: {', '.join(choice[:MOST_NAMED])}{more}"


def _found(case: Case, choice: Sequence[str]) -> str:
    found = set(case.made.asked.happened)
    return " (found)" if len(choice) == 1 and choice[0] in found else ""


def _further(case: Case, one: Explanation) -> list[str]:
    """What else belongs to an explanation, a sentence each."""
    said = []
    brought = [item.name for item in case.made.observed if item.verb == "found" and (item.name,) not in one.choices]
    if brought:
        said.append(f"{listed(brought)}: found, and brought about by it")
    if one.assumed:
        said.append(f"{one.assumed} of {_counted(one.size, 'failure')} assumed: nothing found speaks of it")
    said += _when_and_who(case, one)
    if one.likelihood is not None and len(case.made.explanations) > 1:
        said.append(f"by the file's own likelihoods: {one.likelihood:.3g}")
    slips = list(dict.fromkeys(slip for choice in one.choices for name in choice if (slip := case.slip(name))))
    if slips:
        said.append(f"as a slip in the rigging: {'; '.join(slips[:MOST_NAMED])}")
    return said


def _conflict(case: Case) -> list[Piece]:
    assert case.conflict is not None
    how_many = "any number of failures" if case.conflict.at_any_order else f"up to {case.made.order} failures"
    rows: list[Piece] = [
        heading(f"{'By the connections alone, nothing' if case.sequences.chains else 'Nothing'} explains all of it"),
        Text(f"These cannot all be so in the rig as described, with {how_many} assumed:"),
        Text(),
    ]
    rows += [hanging(item.words.split(" ")[0], _item(case, item)) for item in case.conflict.core]
    rows += [Text(), Text("Left out one at a time, the others are consistent with:"), Text()]
    for doubt in case.conflict.doubts:
        if doubt.explanations:
            more = (
                f", and {doubt.sets - doubt.explanations[0].sets} further sets" if len(doubt.explanations) > 1 else ""
            )
            kept = " and ".join(map(_choice, doubt.explanations[0].choices)) or "nothing failed at all"
            rows.append(hanging("", f"without “{doubt.item.words}”: {kept}{more}", width=4))
        else:
            rows.append(hanging("", f"without “{doubt.item.words}”: still nothing", width=4))
    hint = "Look again at each of these facts; look whether the rig of the file is the rig of the day"
    if case.made.slipped is None:
        hint += " (--including-slips tries knots not tied, connectors not clipped, devices the wrong way round)"
    if not case.conflict.at_any_order:
        hint += "; and more failures together may be tried with --order"
    return [*rows, Text(), Text(f"{hint}.")]


def _item(case: Case, item: Item) -> str:
    name = item.name or item.fact.words
    return f"{name} ({_told(case, item.fact)})"


# -- the evidence matrix


def _matrix(case: Case) -> list[Piece]:
    chains = case.sequences.chains[: MOST_COLUMNS // 2]
    shown = case.shown[: MOST_COLUMNS - len(chains)]
    if not (shown or chains) or not case.made.observed:
        return []
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("observed", header_style="", overflow="fold")
    for number, _ in enumerate(chains, 1):
        table.add_column(f"sequence {number}", header_style="")
    for number, (_, against) in enumerate(shown, 1):
        table.add_column(f"without “{against.words}”" if against else f"explanation {number}", header_style="")
    for item in case.made.observed:
        led = (one.standing(item) for one in chains)
        table.add_row(Text(item.words), *led, *(case.standing(one, item, against) for one, against in shown))
    assumed = [*(one.assumed for one in chains), *(one.assumed for one, _ in shown)]
    table.add_row(Text("assumed besides"), *map(str, assumed))
    rows: list[Piece] = [heading("Evidence"), table]
    further = len(case.shown) - len(shown) + len(case.sequences.chains) - len(chains)
    if further:
        rows.append(Text(f"{further} further explanations and sequences are not in this table."))
    return rows


# -- what to look at, what to learn


def _looks(case: Case) -> list[Piece]:
    if not case.looks:
        return []
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("  did it happen?", header_style="", overflow="fold")
    for column in ("if yes", "if no", "expected left"):
        table.add_column(column, header_style="", justify="right")
    for one in case.looks:
        table.add_row(Text(f"  {_question(one)}"), str(one.yes), str(one.no), f"{one.left:.1f}")
    words = f"  sets of failures left, of {case.made.sets}, as if each were as likely as every other"
    narrows = next((one.suppose for one in case.looks if one.suppose), "")
    if narrows:
        words += f'; --suppose "{narrows}" narrows it'
    return [heading("What to look at next"), table, Text(words)]


def _question(one: Look) -> str:
    if not one.also:
        return one.question
    named = ", ".join(one.also[:2]) + (f" or {len(one.also) - 2} more" if len(one.also) > 2 else "")
    return f"{one.question} (as good to ask: {named})"


def _lessons(case: Case) -> list[Piece]:
    if case.lessons is None:
        return []
    rows: list[Piece] = [heading("One addition that would have kept people held")]
    kept = case.lessons.keeping
    if kept is None:
        return [
            *rows,
            hanging("", "not looked for: nobody is said to have fallen, or only contacts never made explain it"),
        ]
    every = [one for one in kept.kept if one.scenarios == kept.scenarios]
    for number, one in enumerate((every or kept.kept)[:MOST_ADDITIONS], 1):
        in_ = "in every explanation" if one in every else f"in {one.scenarios} of {kept.scenarios} sets of failures"
        rows.append(hanging(str(number), Text(f"{one.proposal.words}: {in_}"), width=4))
        for change in one.proposal.changes:
            how = f"line {change.line} becomes:"
            if change.how != BECOMES:
                how = f"{'after' if change.how == AFTER else 'before'} line {change.line}, a new line:"
            rows += [hanging("", how, width=4), [change.text]]
        if one.proposal.added:
            rows.append(list(one.proposal.added))
    if not kept.kept:
        rows.append(hanging("", f"{kept.tried} were tried, one at a time, and none would have: it needs more than one"))
    elif not every:
        rows.append(hanging("", "no single addition that was tried keeps them held in every explanation"))
    left = f"; {case.lessons.left_out} sets of failures were left out (too many, or with a contact never made)"
    tried = f"{_counted(kept.tried, 'addition')} tried{left if case.lessons.left_out else ''}"
    return [*rows, hanging("", f"{tried}. By structure only: whether it can be rigged is for the people on the ground")]


def _given(case: Case) -> list[Piece]:
    rows: list[Piece] = [heading("Taken as given")]
    if case.rig.sound:
        names = ", ".join(one.failure for one in case.rig.sound)
        again = "; where a slip can do the same, it was tried" if case.made.slipped else ""
        rows.append(hanging("sound", f"{names}: taken as impossible in the file{again}"))
    rows.append(hanging("searched", case.made.complete))
    if case.sequences.wanted:
        rows.append(hanging("to add", f"for what overloads lead to: {'; '.join(case.sequences.wanted[:MOST_NAMED])}"))
    return [*rows, Text(), Text(case.limits), Text(" ".join(CAUTIONS), style="italic")]


def _when_and_who(case: Case, one: Explanation | Chain) -> list[str]:
    """In which states it fits, who stayed by a person alone, and who fell of whom nothing is said."""
    said = []
    if case.rig.stages:
        others = len(one.states) - 1
        said.append(one.words + (f" (and {_counted(others, 'further state')})" if others else ""))
    if one.by_person:
        said.append(f"{listed(one.by_person)} stayed only because a person held on, which is never counted as held")
    if one.others:
        said.append(f"then {listed(one.others)} fell as well, of which nothing is said")
    return said


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
