"""What must hold for every rig: random rigs, the engine against the rules and against networkx."""

from __future__ import annotations

import random
from pathlib import Path

import networkx
import pytest
from differential import MOST_FAILURES, differences, union
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from random_rigs import plain_rig_texts, random_rig_text, rig_texts

import analyser
from analyser.holding.reviewing import Review
from analyser.holding.search import Search
from analyser.holding.system import RigSystem, sets_with
from analyser.rig.model import Effects, Nature, Rig

QUICK = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def some_failures(data: st.DataObject, rig: Rig) -> list[int]:
    return data.draw(st.lists(st.integers(0, len(rig.failures) - 1), max_size=4, unique=True)) if rig.failures else []


def effects_of(rig: Rig, chosen: list[int]) -> Effects:
    return union(rig.failures[k] for k in chosen)


@QUICK
@given(st.data())
def test_strict_is_in_loose_and_held_in_anchored(data: st.DataObject) -> None:
    rig = analyser.read_text(data.draw(rig_texts()))
    effects = effects_of(rig, some_failures(data, rig))
    anchored, held = sets_with(rig, effects)
    loosely_anchored, loosely_held = sets_with(rig, effects, loose=True)
    assert held <= anchored
    assert loosely_held <= loosely_anchored
    assert anchored <= loosely_anchored
    bodies = {body.name for body in rig.bodies}
    assert held & bodies <= loosely_held & bodies


@QUICK
@given(st.data())
def test_another_failure_never_holds_a_body_up(data: st.DataObject) -> None:
    rig = analyser.read_text(data.draw(rig_texts()))
    fewer = some_failures(data, rig)
    more = [*fewer, *some_failures(data, rig)]
    bodies = {body.name for body in rig.bodies}
    to_begin_with = sets_with(rig, Effects())[1]
    assume(bodies & to_begin_with)
    before = sets_with(rig, effects_of(rig, fewer))[1]
    after = sets_with(rig, effects_of(rig, more))[1]
    assert after & bodies & to_begin_with <= before


@pytest.mark.parametrize("seed", range(40))
def test_the_naive_evaluator_agrees(seed: int) -> None:
    """Written from the rules alone, sharing no code. A long run: python tests/differential.py."""
    rng = random.Random(seed)
    rig = analyser.read_text(random_rig_text(rng, rng.randint(1, 3)))
    if len(rig.failures) > MOST_FAILURES:
        rig = analyser.read_text(random_rig_text(rng, 1))
    if len(rig.failures) <= MOST_FAILURES:
        assert list(differences(rig, rng)) == []


@pytest.mark.parametrize("path", sorted((Path(__file__).parent / "found").glob("*.rig")), ids=lambda p: p.stem)
def test_rigs_that_once_differed(path: Path) -> None:
    assert list(differences(analyser.read(path), random.Random(1))) == []


@QUICK
@given(rig_texts())
def test_independent_is_at_most_the_smallest_failure_set(text: str) -> None:
    result = analyser.check(analyser.read_text(text), order=3)
    for body in result.bodies:
        assert body.independent_exact
        if body.independent is not None and body.smallest_failure_set is not None:
            assert body.independent <= body.smallest_failure_set
        assert (body.independent == 0) == (not body.held)
        assert (body.smallest_failure_set == 0) == (not body.held)


@QUICK
@given(rig_texts())
def test_portions_and_series_change_nothing(text: str) -> None:
    """The search in portions with series taken as one against the plain search over the whole rig."""
    rig = analyser.read_text(text)
    system = RigSystem(rig)
    plain = Search(system).failure_sets(system.goals, 3)
    review = Review(rig).failure_sets(system.goals, 3).found
    for goal in system.goals:
        cuts = {tuple(sorted(system.events[event] for event in cut)) for cut in plain[goal]}
        assert set(review[goal]) == cuts
        assert len(review[goal]) == len(cuts)


@QUICK
@given(rig_texts())
def test_independent_ways_are_ways_and_share_nothing(text: str) -> None:
    rig = analyser.read_text(text)
    for body in analyser.check(rig).bodies:
        told = [set(way) for way in body.ways]
        assert len(told) == (body.independent or 0)
        for k, way in enumerate(told):
            assert not any(way & other for other in told[k + 1 :])
            others = [f for f in rig.failures if f.id not in way]
            system = RigSystem(rig, others)
            assert system.sweep([1] * len(others), 1, {body.name: 1})[body.name] == 1


def ground_graph(rig: Rig, body: str) -> networkx.Graph:
    """A plain rig as a graph: a node for each part that can fail, people other than the body left out."""
    graph = networkx.Graph()
    own = {body, *rig.parts[body].points}
    name = {part: (body if part in own else part) for part in rig.parts}
    others = {p.name for p in rig.parts.values() if p.nature is Nature.PERSON and p.name != body}
    gone = {p.name for p in rig.parts.values() if p.name in others or p.body in others}
    for contact in rig.contacts:
        if contact.a not in gone and contact.b not in gone and name[contact.a] != name[contact.b]:
            graph.add_edge(name[contact.a], name[contact.b])
    for rope in rig.ropes:
        for k, span in enumerate(rope.spans):
            graph.add_edge(rope.stations[k].part, span)
            graph.add_edge(span, rope.stations[k + 1].part)
    for part in rig.parts.values():
        if part.nature is Nature.GROUND:
            graph.add_edge(part.name, "the ground")
    return graph


@QUICK
@given(plain_rig_texts())
def test_menger_against_networkx(text: str) -> None:
    """On plain rigs independent attachments equal the node-disjoint ways and the smallest cut.

    Source: Menger's theorem; networkx 3, connectivity.node_connectivity and minimum_node_cut.
    """
    rig = analyser.read_text(text)
    result = analyser.check(rig, order=4)
    for body in result.bodies:
        if body.kind != "person":
            continue
        graph = ground_graph(rig, body.name)
        reached = body.name in graph and "the ground" in graph and networkx.has_path(graph, body.name, "the ground")
        assert body.held == reached
        if reached and body.independent is not None:
            assert body.independent == networkx.node_connectivity(graph, body.name, "the ground")
            if body.smallest_failure_set is not None:
                cut = networkx.minimum_node_cut(graph, body.name, "the ground")
                assert body.smallest_failure_set == len(cut) == body.independent


@QUICK
@given(rig_texts())
def test_same_rig_same_bytes(text: str) -> None:
    first = analyser.check(analyser.read_text(text)).to_json()
    assert analyser.check(analyser.read_text(text)).to_json() == first
