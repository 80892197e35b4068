"""A plan is made of values: its states are small, frozen, and travel as they are."""

from __future__ import annotations

import pickle
from dataclasses import fields, replace
from pathlib import Path

import pytest

import analyser
from analyser.language.parsing import Document
from analyser.rig.bench import Bench
from analyser.rig.model import Rig
from analyser.rig.plan import Plan

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").rglob("*.rig"))


def pieces(value: object, seen: set[int]) -> set[type]:
    """The types of everything in a value, nothing twice."""
    if id(value) in seen:
        return set()
    seen.add(id(value))
    found = {type(value)}
    if isinstance(value, dict):
        inside = [*value.keys(), *value.values()]
    elif isinstance(value, (tuple, frozenset, list, set)):
        inside = list(value)
    else:
        inside = [getattr(value, one.name) for one in fields(value)] if hasattr(value, "__dataclass_fields__") else []
    return found.union(*(pieces(one, seen) for one in inside))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_a_state_pickles_to_itself_and_holds_nothing_of_the_file(path: Path) -> None:
    plan = analyser.read(path)
    for state in plan.states:
        assert type(state) is Rig
        assert pickle.loads(pickle.dumps(state)) == state
        assert not pieces(state, set()) & {Plan, Document, Bench, list, set}
    again = pickle.loads(pickle.dumps(plan))
    assert again == plan and again.document == plan.document and again.presents == plan.presents


def test_what_was_looked_up_does_not_travel() -> None:
    state = analyser.read(EXAMPLES[0]).first
    before = len(pickle.dumps(state))
    assert state.index.touching and state.bodies is not None and state.graph.nodes
    assert len(pickle.dumps(state)) == before


def test_a_plan_is_its_rig_as_first_attached() -> None:
    plan = analyser.read(next(path for path in EXAMPLES if path.name == "litter-tilt.rig"))
    assert {one.name: getattr(plan, one.name) for one in fields(Rig)} == {
        one.name: getattr(plan.first, one.name) for one in fields(Rig)
    }
    assert plan.states == (plan.first, *(step.rig for step in plan.steps)) and len(plan.states) == len(plan.presents)
    assert replace(plan, title="Another").alone is plan.first and plan.first.alone is plan.first
    assert plan.first.stages == () and plan.stages
