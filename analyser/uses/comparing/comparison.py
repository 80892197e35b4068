"""The whole comparison: what changed, what it did, and whether anything is worse.

**Worse** is exactly this, and each such thing is listed with its reason:

1. somebody or something that both revisions must hold is no longer held, is held only by a person, or
   tips; has fewer attachments or fewer independent ones; or falls after fewer failures: as first
   attached, in a state that both have, or (below the least of all old states) in a state that is new;
   or it falls, and didn't, when every hand lets go;
2. a single failure or a pair brings a body down that didn't before, as first attached or in a state that both have
   (in a state that is new: that did in no old one). A set that held an old one already
   is not worse. Neither is a pair of which everything that the old revision could express stood, for
   the same body, in an old set of no more failures (a part put in line with others, a third line), nor
   a pair with something new in it where the body fell after one failure and now never does; what is
   new there is no person who lets go, holds on or loses footing;
3. a body that is new falls after one failure or none; a body need no longer be held (it stands now);
4. a requirement that was met is not (or not fully checked), or one not checked is broken; one is asked
   no more, and nothing stricter of its sort instead; one is new, which the old revision would have
   met and the new one doesn't;
5. a danger is found, and not accepted, that was not (but for what 1 and 2 tell already);
6. an assumption (`sound`), an accepted risk or an accepted finding was added;
7. a caution about what is there (none of `TOLD_BY_FIGURES`) is found, and not accepted, that was not, and none of its
   rule went in its place;
8. the file says less of the same thing: a body is heavier, a part weaker, a rope thinner, a gate or a device locks by
   itself no more; or the forces, where both tell them, say more: `load_figures.py`.

Everything else that changed is told, and isn't called worse.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from analyser.checking.analysing import analyse
from analyser.checking.delivered import Delivered
from analyser.checking.fates import happens, together, who
from analyser.checking.finding import Finding, Severity, listed
from analyser.checking.judging import Judged as JudgedRequirement
from analyser.checking.requirements import judge
from analyser.checking.results import On, Result
from analyser.holding.fate import HELD, Fate, worst
from analyser.holding.outcome import Outcome
from analyser.language.identities import spoken
from analyser.rig.model import Part, Requirement, Rig
from analyser.uses.comparing.as_given import Given, given
from analyser.uses.comparing.body_figures import ORDER, Figures, worse_figures, worse_than
from analyser.uses.comparing.changes import Change, changes
from analyser.uses.comparing.later_states import StateTurned, by_step, states_turned
from analyser.uses.comparing.load_figures import LoadTurned, loaded, said
from analyser.uses.comparing.locking import locks_no_more
from analyser.uses.comparing.matching import Matching, match
from analyser.uses.comparing.mixing import Mixing
from analyser.uses.comparing.other_end import from_the_same_end
from analyser.uses.comparing.renamed import renamed
from analyser.uses.comparing.sets_turned import SetTurned, Told, sets_turned
from analyser.uses.comparing.stepped import Stepped, stepped
from analyser.uses.comparing.stretches import Stretches

TOLD_BY_FIGURES = frozenset(
    (
        *("single-point", "not-held", "only-by-person", "held-by-hands", "runs-to-stopper"),
        *("fewer-independent", "one-attachment", "litter-tips", "free-to-run", "down-to-one", "needed-twice"),
        *("shared-edge", "unused-part", "hangs-loose", "repeated-contact", "below-not-said"),
    )
)
"""Cautions that tell what follows a failure, which 1 and 2 compare themselves, or that say nothing of who is held."""


@dataclass(frozen=True, slots=True)
class RequirementTurned:
    """A requirement and its answers. `asked` says which revisions ask for it: (old, new)."""

    text: str
    asked: tuple[bool, bool]
    was: JudgedRequirement
    now: JudgedRequirement
    stricter: bool = False
    """Is it asked for no more because the new revision asks for more of the same?"""

    @property
    def worse(self) -> bool:
        if self.asked == (True, False):
            return not self.stricter
        return _rank(self.now.met) < _rank(self.was.met)


@dataclass(frozen=True, repr=False)
class Comparison(Delivered):
    """The old revision (in the new names), the new one, and all that differs."""

    SHAPE = "analyser.uses.comparing.compare_shapes.Compared"

    old: Result
    new: Result
    matching: Matching
    changes: tuple[Change, ...]
    figures: tuple[Figures, ...]
    gained: tuple[SetTurned, ...]
    lost: tuple[SetTurned, ...]
    requirements: tuple[RequirementTurned, ...]
    given: tuple[Given, ...]
    found: tuple[Finding, ...]
    found_no_more: tuple[Finding, ...]
    stepped: tuple[Stepped, ...]
    states: tuple[StateTurned, ...]
    carried: tuple[LoadTurned, ...] = ()
    """Masses and strengths as the files say them, and what the forces say where both revisions tell them."""
    locks_no_more: tuple[str, ...] = ()

    @property
    def on(self) -> On:
        """What was compared: forces too where both revisions tell them in a state that both have."""
        return "connections and forces" if self._told[0] and self._told[1] else "connections only"

    @property
    def _told(self) -> tuple[bool, bool]:
        """Are there forces that balance in the first state: of the old revision, of the new one?"""
        first = (result.states[0].loads for result in (self.old, self.new))
        was, now = (loads is not None and loads.now.accepted for loads in first)
        return was, now

    @property
    def different(self) -> bool:
        """Is anything different but names, layout and order?"""
        several = (self.changes, self.given, self.stepped, self.found, self.found_no_more, self.states, self.carried)
        asked = any(one.asked != (True, True) or one.was.met is not one.now.met for one in self.requirements)
        return any(several) or asked

    @property
    def gone(self) -> tuple[Finding, ...]:
        """The findings of the old revision that no state of the new one has."""
        still = {(one.rule, one.about) for state in self.new.states for one in state.findings}
        return tuple(one for one in self.found_no_more if (one.rule, one.about) not in still)

    @cached_property
    def worse(self) -> tuple[str, ...]:
        """Everything that is worse, a sentence each; each once."""
        return tuple(dict.fromkeys(self._worse()))

    @property
    def exit_status(self) -> int:
        return 1 if self.worse else 0

    def _worse_fates(self) -> Iterator[str]:
        """Single failures of both revisions after which somebody is held all the same, and worse off than before."""
        old, new = (result.states[0].outcome for result in (self.old, self.new))
        both = {one.name for one in self.figures if one.was and one.now}
        known = {one.id: one for one in old.failures}
        found: dict[tuple[str, Fate, bool], list[str]] = {}
        for failure in new.failures:
            same = known.get(failure.id)
            for name, fate in failure.fates:
                if name not in both or fate.not_held or not worse_than(fate, new.body(name).fate):
                    continue
                before = same.fate(name) if same else worst([HELD, *(one.fate(name) for one in old.failures)])
                if worse_than(fate, before):
                    found.setdefault((name, fate, same is not None), []).append(failure.id)
        for (name, fate, same_failure), failures in found.items():
            so = "and did not" if same_failure else "and did not so after any one failure"
            yield f"{who((name,), fate)} after {_any(failures)}, {so}"

    def _worse_cautions(self) -> Iterator[str]:
        """Cautions about what is there, of a rule of which more came than went."""
        went = Counter(one.rule for one in self.gone)
        came = Counter(one.rule for one in self.found if _counts(one))
        for one in self.found:
            if _counts(one) and came[one.rule] > went[one.rule]:
                yield f"caution: {one.text} ({one.rule})"

    def _worse_sets(self, size: int) -> Iterator[str]:
        """Who is not held any more after one failure, or after two together."""
        fresh = [one for one in self.gained if one.worse and len(one.failures) == size]
        for body in dict.fromkeys(one.body for one in fresh):
            sets = [one.failures for one in fresh if one.body == body]
            alone = f"{_any([one[0] for one in sets])} alone"
            yield f"{body} is not held after {alone}, and was" if size == 1 else _pairs_told(body, sets)

    def _worse(self) -> Iterator[str]:
        held = [one for one in self.figures if one.now is None or one.now.held]
        for figures in (*(one for one in self.figures if one not in held), None, *held):
            yield from worse_figures(figures) if figures else self._worse_sets(1)
        before, after = (dict(r.states[0].outcome.hands_off.fates) for r in (self.old, self.new))
        both = {one.name for one in self.figures if one.was and one.now}
        worse = ((name, fate) for name, fate in after.items() if name in both and worse_than(fate, before[name]))
        for those in together(worse):
            yield f"{happens(those)} when hands let go"
        yield from self._worse_fates()
        yield from self._worse_sets(2)
        for turned in self.requirements:
            if turned.worse:
                yield f"required: {turned.text}: {turn_words(turned)}"
        for finding in self.found:
            told = finding.rule in ("single-point", "not-held", "only-by-person")
            if finding.severity is Severity.DANGER and not finding.accepted and not told:
                yield f"danger: {finding.text} ({finding.rule})"
        yield from self._worse_cautions()
        yield from self.locks_no_more
        for one_figure in self.carried:
            if one_figure.worse:
                yield one_figure.words
        if self._told == (True, False):
            lacking = self.new.states[0].lacking
            add = f": add {listed(lacking)}" if lacking else ""
            yield f"the forces can't be worked out any more, and could{add}"
        for taken in self.given:
            if taken.was is None:
                yield f"{taken.sort} added: {taken.what}"
        yield from self._worse_states()

    def _worse_states(self) -> Iterator[str]:
        """What is worse in later states, a sentence for as many in a row as it is the same in."""
        runs: list[tuple[tuple[str, ...], list[StateTurned]]] = []
        latest: dict[str, int] = {}
        """For each body its last run."""
        for state in self.states:
            body = state.figures.name
            lines = [*worse_figures(state.figures)]
            if state.fallen:
                lines.append(f"{body} is not held after {_any(state.fallen)} alone, and was")
            if state.pairs:
                lines.append(_pairs_told(body, state.pairs))
            before = runs[latest[body]] if body in latest else ((), [])
            if lines and before[0] == tuple(lines) and state.number - before[1][-1].number <= 1:
                before[1].append(state)
            elif lines:
                latest[body] = len(runs)
                runs.append((tuple(lines), [state]))
        for told, states in runs:
            first, last = states[0], states[-1]
            more = f" and on, till {last.after}" if len(states) > 1 else ""
            yield f"in “{first.stage}”, {first.after}{more}: {'; '.join(told)}"

    @property
    def numbered(self) -> tuple[tuple[int, Change], ...]:
        """The changes by the numbers by which failure sets name them."""
        return tuple(enumerate(self.changes, 1))

    @property
    def complete_to_order(self) -> int:
        return ORDER

    @property
    def short(self) -> str:
        not_worse = f"nothing is {'worse' if self.different else 'different'}"
        return f"worse in {len(self.worse)} ways" if self.worse else not_worse


def compare(old: Rig, new: Rig, known: Result | None = None) -> Comparison:
    """Compare two revisions: sets of one and of two failures, in every state. `known` is the old one's check to
    that order, where it was made before."""
    matching = match(old, new)
    before = from_the_same_end(renamed(old, matching.names), new)
    made = changes(before, new)
    mixing = Mixing(before, new, made)
    was = known if known is not None and before is old else analyse(before, ORDER)
    now = analyse(new, ORDER)
    first, last = was.states[0].outcome, now.states[0].outcome
    stretches = Stretches(before, new)
    gained = sets_turned(first, last, stretches.of_old, stretches.of_new)
    lost = sets_turned(last, first, stretches.of_new, stretches.of_old)
    ways = mixing.did([(one.body, one.failures) for one in gained], gained=True)
    freed = [one for one in lost if not one.within]
    back = mixing.did([(one.body, one.failures) for one in freed], gained=False)
    undone = dict(zip(freed, back, strict=True))
    found, found_no_more = _findings(was, now, stretches)
    return Comparison(
        was,
        now,
        matching,
        made,
        _figures(first, last),
        tuple(replace(one, did=did) for one, did in zip(gained, ways, strict=True)),
        tuple(replace(one, did=undone.get(one, one.did)) for one in lost),
        tuple(_requirements(was, now)),
        tuple(given(before, new)),
        found,
        found_no_more,
        tuple(stepped(before, new)),
        tuple(states_turned(was, now, stretches, {(one.body, stretches.of_new(one.failures)) for one in gained})),
        tuple(_carried(was, now)),
        tuple(locks_no_more(_every_part(was), _every_part(now))),
    )


def _pairs_told(body: str, pairs: Sequence[tuple[str, ...]]) -> str:
    many = f"{len(pairs)} pairs of failures" if len(pairs) > 1 else " + ".join(map(spoken, pairs[0]))
    return f"{body} is not held after {many}, and was"


def _every_part(result: Result) -> dict[str, Part]:
    """The parts of all states, each as it first comes."""
    return {name: part for state in reversed(result.states) for name, part in state.rig.parts.items()}


def _carried(was: Result, now: Result) -> Iterator[LoadTurned]:
    yield from said(was.rig, now.rig)
    yield from loaded(was.states[0], now.states[0], "")
    before = by_step(was)
    for key, state in by_step(now).items():
        if key in before and not state.within:
            yield from loaded(before[key], state, f" in “{state.stage}”, after “{state.step}”")


def _counts(one: Finding) -> bool:
    return one.severity is Severity.CAUTION and not one.accepted and one.rule not in TOLD_BY_FIGURES


def _any(failures: Sequence[str]) -> str:
    """`lou-waist fails`; `any of lou-waist fails, lou-strap fails`."""
    return ("any of " if len(failures) > 1 else "") + ", ".join(map(spoken, failures))


def _rank(met: bool | None) -> int:
    return {True: 2, None: 1, False: 0}[met]


def turn_words(one: RequirementTurned) -> str:
    """`was met, is NOT MET`; who asks for it, where only one revision does."""
    words = {True: "met", False: "NOT MET", None: "NOT CHECKED"}
    if one.asked == (True, False):
        return f"asked for no more; it would be {words[one.now.met]}"
    if one.asked == (False, True):
        return f"newly asked for, {words[one.now.met]}; before, it would have been {words[one.was.met]}"
    return f"was {words[one.was.met]}, is {words[one.now.met]}"


# -- figures


def _figures(first: Outcome, last: Outcome) -> tuple[Figures, ...]:
    was, now = ({body.name: body for body in one.bodies} for one in (first, last))
    found = []
    for name in dict.fromkeys([*now, *was]):
        kind = (now.get(name) or was[name]).kind
        found.append(Figures(name, kind, was.get(name), now.get(name)))
    return tuple(found)


# -- failure sets


# -- requirements


def _asks(one: Requirement) -> tuple[str, tuple[str, ...], int, *tuple[object, ...]]:
    return (one.rule, tuple(sorted(one.names)), one.number, one.limits, one.stage, one.except_stage)


def _requirements(was: Result, now: Result) -> Iterator[RequirementTurned]:
    before = {_asks(one): one for one in was.rig.requirements}
    after = {_asks(one): one for one in now.rig.requirements}
    every = [*after.values(), *(one for key, one in before.items() if key not in after)]
    first, last = _judged(was, every), _judged(now, every)
    for one, old, new in zip(every, first, last, strict=True):
        key = _asks(one)
        stricter = any(other[:2] + other[3:] == key[:2] + key[3:] and other[2] > key[2] for other in after)
        yield RequirementTurned(one.text, (key in before, key in after), old, new, stricter)


def _judged(result: Result, asked: Sequence[Requirement]) -> tuple[JudgedRequirement, ...]:
    """Every requirement, also those that only the other revision asks for."""
    moments = [moment for state in result.states for moment in state.moments]
    moments[0] = replace(moments[0], words="", rig=replace(moments[0].rig, requirements=tuple(asked)))
    return judge(moments)


# -- findings


def _findings(was: Result, now: Result, stretches: Stretches) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Findings of any state that the other revision has in none, or for fewer bodies."""
    Key = tuple[str, Severity, frozenset[str], frozenset[str]]

    def every(result: Result, told: Told) -> dict[Key, Finding]:
        found: dict[Key, Finding] = {}
        for state in result.states:
            for one in state.findings:
                found.setdefault((one.rule, one.severity, told(one.about), frozenset(one.bodies)), one)
        return found

    def fresh(those: dict[Key, Finding], others: dict[Key, Finding]) -> tuple[Finding, ...]:
        known: dict[tuple[object, ...], list[frozenset[str]]] = {}
        for *what, bodies in others:
            known.setdefault(tuple(what), []).append(bodies)
        return tuple(
            one
            for (*what, bodies), one in those.items()
            if not any(bodies <= more for more in known.get(tuple(what), ()))
        )

    before, after = every(was, stretches.of_old), every(now, stretches.of_new)
    return fresh(after, before), fresh(before, after)


# -- states after steps
