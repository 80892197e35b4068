"""One explanation, or one sequence of overloads, of what was observed: its failures, what else belongs to it, what the
forces say of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyser.checking.sentences import counted, listed, verb
from analyser.language.identities import spoken
from analyser.pages.tree import Fact, Piece, strong
from analyser.pages.writing.ends import where
from analyser.rig.figures import as_force, as_length
from analyser.rig.model import Observation, Witness
from analyser.uses.incident.case import Case
from analyser.uses.incident.evidence import among
from analyser.uses.incident.reconstruction import Explanation
from analyser.uses.incident.sequences import Chain, Overloaded, Tested, Weighed

MOST_NAMED = 8
"""Failures of one choice that are named."""
WIDE = 4


def told_by(case: Case, fact: Observation) -> str:
    """Who told a fact, how sure they were, and on which line it stands."""
    if case.is_supposed(fact):
        return "supposed, on the command line"
    told = [_witness(one) for one in fact.told] or ["not said by whom"]
    return f"{'; '.join(told)}; {where(case.rig, fact.place)}"


def _witness(one: Witness) -> str:
    return f"{one.sure} by {one.by}" if one.by else one.sure


def explanation(case: Case, number: int, one: Explanation) -> Iterator[Fact]:
    if not one.choices:
        yield Fact(str(number), strong("nothing need have failed"), WIDE)
    yield from _choices(case, number, one.choices)
    yield from (Fact("", said, WIDE) for said in _further(case, one))


def chain(case: Case, number: int, one: Chain) -> Iterator[Fact]:
    yield from _choices(case, number, one.begins)
    if not one.begins:
        yield Fact(str(number), strong("as it hung, with nothing failed"), WIDE)
    for over in one.overloads:
        yield Fact(
            "", ("then ", strong(spoken(over.failure)), f"{_found(case, (over.failure,))}: {_overload(over)}"), WIDE
        )
    said = [f"follows {one.verdict}"]
    if one.explanation:
        size = counted(case.made.explanations[one.explanation - 1].size, "failure")
        said.append(f"by the connections alone this takes {size} at once (explanation {one.explanation})")
    if one.assumed:
        said.append("its beginning is assumed: nothing found speaks of it")
    yield from (Fact("", words, WIDE) for words in (*said, *_when_and_who(case, one)))


def _choices(case: Case, number: int, choices: Sequence[tuple[str, ...]]) -> Iterator[Fact]:
    for k, choice in enumerate(choices):
        first: tuple[Piece, ...] = ("and ",) if k else ()
        yield Fact("" if k else str(number), (*first, strong(choice_words(choice)), _found(case, choice)), WIDE)


def choice_words(choice: Sequence[str]) -> str:
    """Failures of which any one will do."""
    if len(choice) == 1:
        return spoken(choice[0])
    more = f", or {len(choice) - MOST_NAMED} more" if len(choice) > MOST_NAMED else ""
    return f"one of: {', '.join(map(spoken, choice[:MOST_NAMED]))}{more}"


def _found(case: Case, choice: Sequence[str]) -> str:
    found = case.made.asked.happened
    return " (found)" if len(choice) == 1 and any(among(one, choice) for one in found) else ""


def _further(case: Case, one: Explanation) -> Iterator[str]:
    """What else belongs to an explanation, a sentence each."""
    alone = [choice[0] for choice in one.choices if len(choice) == 1]
    brought = [item.name for item in case.made.observed if item.verb == "found" and not among(item.name, alone)]
    if brought:
        yield f"{listed(brought)}: found, and brought about by it"
    if one.assumed:
        yield f"{one.assumed} of {counted(one.size, 'failure')} assumed: nothing found speaks of it"
    yield from _when_and_who(case, one)
    if one.likelihood is not None and len(case.made.explanations) > 1:
        yield f"by the file's own likelihoods: {one.likelihood:.3g}"
    slips = list(dict.fromkeys(slip for choice in one.choices for name in choice if (slip := case.slip(name))))
    if slips:
        yield f"as a slip in the rigging: {'; '.join(slips[:MOST_NAMED])}"


def _when_and_who(case: Case, one: Explanation | Chain) -> Iterator[str]:
    """In which states it fits, who stayed by a person alone, and who fell of whom nothing is said."""
    if case.rig.stages:
        others = len(one.states) - 1
        yield one.words + (f" (and {counted(others, 'further state')})" if others else "")
    who = one.fits if isinstance(one, Chain) else one
    if who.by_person:
        yield f"{listed(who.by_person)} stayed only because a person held on, which is never counted as held"
    if who.runs:
        runs = verb(who.runs, "runs", "run")
        yield f"{listed(who.runs)} {runs} until a stopper or a knot catches, as far as the connections tell"
    if who.others:
        yield f"then {listed(who.others)} fell as well, of which nothing is said"


# -- under load


def _overload(one: Overloaded) -> str:
    times = _band(*(f"{times:.2f}" for times in one.times))
    return f"{times} times its strength, {_band(_pull(one.force), _pull(one.most))} on {_strength_of(one)}"


def _band(least: str, most: str) -> str:
    return least if least == most else f"{least} to {most}"


def _pull(newtons: float) -> str:
    return as_force(newtons, ".1f")


def _strength_of(one: Overloaded | Weighed) -> str:
    strength = one.strength or 0.0
    return (
        f"{_pull(strength)}, of which {one.knot} leaves {_pull(strength * one.kept)}" if one.knot else _pull(strength)
    )


def under_load(case: Case, one: Tested) -> Iterator[Fact]:
    """What the forces say of one explanation, and of each of its parts."""
    yield Fact(str(one.explanation), _breaking(case, one), WIDE)
    yield from (Fact("", _weighed(case, part), WIDE) for part in one.parts)


def _breaking(case: Case, one: Tested) -> str:
    names = " and ".join(map(spoken, case.made.explanations[one.explanation - 1].first))
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
        return f"{spoken(one.failure)}: no load is told at which that happens"
    if one.lacks_strength:
        return f"{spoken(one.failure)}: no strength given"
    if one.strength is None or one.needed is None:
        return f"{spoken(one.failure)}: it carries nothing here"
    then = f"{_band(_pull(one.left or 0), _pull(one.peak or 0))} with the rest of it gone"
    then += f" ({one.words})" if case.rig.stages else ""
    weighed = f"{spoken(one.failure)}: strength {_strength_of(one)}; {_pull(one.resting or 0)} as it hung, {then}"
    if one.needed < 1:
        enough = "already at rest" if (one.left or 0) > one.strength * one.kept else "on the way"
        return f"{weighed}: enough {enough}"
    said = f"{weighed}: it would have needed {one.needed:.2g} times as much"
    drop = one.drop
    if drop is None:
        return said
    if drop.height is None:
        most = as_length(drop.most, ".1f")
        return f"{said}; a drop of {drop.body} would not do it, from as high as the line lets them ({most})"
    fall = ""
    if drop.free_fall is not None and drop.fall_factor is not None:
        fall = f", a free fall of {as_length(drop.free_fall, '.1f')}, fall factor {drop.fall_factor:.2f}"
    return f"{said}, or {drop.body} let go {as_length(drop.height)} above where they hung{fall}"
