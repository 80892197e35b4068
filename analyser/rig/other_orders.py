"""The steps of a plan in another order: the state after one more step, the rig in it, the whole file so ordered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyser.language.edit import Edit, edited
from analyser.language.syntax import StageBlock, StepLine
from analyser.rig.bench import Bench
from analyser.rig.building import build, in_states
from analyser.rig.composing import composed, in_a_basket, rig_of
from analyser.rig.model import Rig
from analyser.rig.naming import judgements, likelihoods
from analyser.rig.plan import Plan
from analyser.rig.present import Present
from analyser.rig.staging import brought_in
from analyser.rig.taking import step


def taken(plan: Plan, present: Present, line: StepLine) -> Present | None:
    """The state after a step, in whatever order; None where it cannot be taken there."""
    bench = Bench.knowing(plan.document, plan.kinds, plan.known)
    bench.parts = dict(present.parts)
    ropes = {**plan.presents[0].ropes, **present.ropes_off, **present.ropes}
    bench.ropes = {name: rope.place for name, rope in ropes.items()}
    after = step(bench, present, brought_in(bench), line)
    return None if bench.mistakes else after


def rig_in(plan: Plan, present: Present) -> Rig:
    """The rig in a state that steps left: what the file's own order does not lead to is looked up with it."""
    had_two = plan.in_baskets | in_a_basket(present)
    one = composed(present, had_two)
    if one.failures.keys() <= plan.possible:
        return rig_of(one, plan.said, plan.first)
    bench = Bench.knowing(plan.document, plan.kinds, plan.known)
    asked, causes = in_states(bench, [*(composed(each, had_two) for each in plan.presents), one])
    judged = judgements(bench, asked)
    said = replace(
        plan.said, causes=causes, sound=judged["sound"], accepted=judged["accept"],
        latent=judged["latent"], likely=likelihoods(bench, asked),
    )  # fmt: skip
    return rig_of(one, said, plan.first)


def ordered(plan: Plan, title: str, lines: Sequence[StepLine]) -> Plan | None:
    """The plan of the same file with the steps of one stage in this order; None where it then has mistakes."""
    blocks = (one for one in plan.document.statements if isinstance(one, StageBlock) and one.title == title)
    edit = Edit(becomes={block.place: (replace(block, steps=tuple(lines)),) for block in blocks})
    return build(edited(plan.document, edit))[0]
