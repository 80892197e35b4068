"""From statements to a plan: names resolved, ropes laid, states made, what can fail listed, oddities noted."""

from __future__ import annotations

from dataclasses import fields, replace
from itertools import accumulate
from operator import or_

from analyser.language.identities import FailureId
from analyser.language.mistakes import Mistake
from analyser.language.parsing import MOST_MISTAKES, Document
from analyser.language.syntax import Heading, NewKind
from analyser.rig.bench import Bench
from analyser.rig.catalogue import add, catalogue
from analyser.rig.composing import Composed, Said, composed, in_a_basket, rig_of
from analyser.rig.connecting import connect
from analyser.rig.declaring import finish, look_up, touch_body
from analyser.rig.elements import Effects, Failure
from analyser.rig.figures import use
from analyser.rig.gathering import declare_names, describe, heading, looked_at, printed_in
from analyser.rig.model import Rig, Stage, Step
from analyser.rig.naming import Asked, Written, causes_of, judgements, likelihoods, waivers
from analyser.rig.needing import needs_of
from analyser.rig.observing import observations
from analyser.rig.oddities import odd
from analyser.rig.plan import Plan
from analyser.rig.present import Present
from analyser.rig.requiring import requirements
from analyser.rig.sharing import share
from analyser.rig.staging import staged


def build(document: Document) -> tuple[Plan | None, list[Mistake]]:
    """The plan that a document describes, or every independent mistake that stands in its way."""
    kinds = dict(catalogue())
    bench = Bench(document, kinds)
    bench.mistakes += document.mistakes
    for statement in document.statements:
        if isinstance(statement, NewKind):
            bench.mistakes += add(kinds, statement)
    title, revision, notes = heading(bench)
    asked_for = printed_in(bench)
    use(asked_for)
    first = _first(bench)
    stages = staged(bench, first)
    bench.built = True
    presents = (first, *(present for one in stages for present in one.after))
    so_far = accumulate(map(in_a_basket, presents), or_)
    states = [composed(one, had_two) for one, had_two in zip(presents, so_far, strict=True)]
    asked, causes = in_states(bench, states)
    judged = judgements(bench, asked)
    waived = waivers(bench, asked)
    likely = likelihoods(bench, asked)
    required = requirements(bench)
    observed = observations(bench, asked, judged["sound"], [one.parts for one in states], [s.block for s in stages])
    looked_at(bench)
    if bench.mistakes:
        return None, bench.told()[:MOST_MISTAKES]
    odd(bench, states)
    place = next(s.place for s in document.statements if isinstance(s, Heading) and s.key == "rig")
    said = Said(
        *(title, revision, place, tuple(notes), required, causes),
        *(judged["sound"], judged["accept"], judged["latent"], waived, likely, asked_for),
    )
    as_attached = rig_of(states[0], said)
    cautions = tuple(sorted(bench.cautions, key=lambda c: (c.place, c.rule, c.about)))
    as_attached = replace(as_attached, cautions=cautions)
    later = iter([rig_of(one, said, as_attached) for one in states[1:]])
    made = Plan(
        **{one.name: getattr(as_attached, one.name) for one in fields(Rig)},
        first=as_attached,
        stages=tuple(
            Stage(one.block.title, one.block.place, tuple(Step(line, next(later)) for line in one.block.steps))
            for one in stages
        ),
        observations=observed,
        document=document,
        kinds=kinds,
        presents=presents,
        said=said,
        known=bench.known(),
        possible=frozenset(asked.failures),
    )
    return made, []


def _first(bench: Bench) -> Present:
    """The rig as first attached: names first, then what is said of them, then what touches what."""
    knots = declare_names(bench)
    describe(bench)
    for draft in list(bench.drafts.values()):
        look_up(bench, draft)
    for part in list(bench.parts.values()):
        touch_body(bench, part)
    share(bench)
    finish(bench)
    ropes = connect(bench, knots)
    needs = needs_of(bench, bench.parts, ropes, bench.contacts)
    return Present(dict(bench.parts), dict(bench.contacts), {rope.name: rope for rope in ropes}, needs=needs)


def in_states(bench: Bench, states: list[Composed]) -> tuple[Asked, dict[str, Written]]:
    """Everything of every state, as written failures may speak of any of them; and the causes: what they do is
    told as in the first state in which they strike."""
    parts = {name: part for one in reversed(states) for name, part in one.parts.items()}
    failures = {name: failure for one in reversed(states) for name, failure in one.failures.items()}
    ropes = [rope for one in states for rope in one.ropes]
    asked = Asked(bench, parts, failures, bool(bench.mistakes), ropes)
    causes = causes_of(bench, asked)
    strikes = {(by := FailureId(name, "strikes")): Failure(by, Effects(), one.place) for name, one in causes.items()}
    for state in reversed(states):
        strikes |= state.struck(causes)
    return replace(asked, failures={**asked.failures, **strikes}), causes
