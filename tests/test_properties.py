"""What must hold for every rig: random rigs, the engine against itself and against networkx."""

from __future__ import annotations

from itertools import chain, combinations, pairwise
from pathlib import Path

import networkx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_rigs import plain_rig_texts, rig_texts

import analyser
from analyser.holding.outcome import assess, what_if
from analyser.holding.reading import Reading
from analyser.holding.reviewing import Review
from analyser.holding.search import Search
from analyser.holding.system import RigSystem
from analyser.rig.model import Effects, Nature, Rig

QUICK = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def some_failures(data: st.DataObject, rig: Rig) -> list[int]:
    return data.draw(st.lists(st.integers(0, len(rig.failures) - 1), max_size=4, unique=True)) if rig.failures else []


def after_all(system: RigSystem, sets: list[tuple[int, ...]], reading: Reading = Reading.HELD) -> dict[str, list[bool]]:
    """For each body, whether it is held after each set of failures, all sets asked together."""
    width = len(sets)
    rows = [
        (failure.effects, sum(1 << column for column, chosen in enumerate(sets) if event in chosen))
        for event, failure in enumerate(system.failures)
    ]
    held = system.read(reading, rows, width, dict.fromkeys(system.goals, (1 << width) - 1))
    return {name: [bool(bits >> column & 1) for column in range(width)] for name, bits in held.items()}


def subsets(chosen: list[int]) -> list[tuple[int, ...]]:
    return [*chain.from_iterable(combinations(sorted(chosen), size) for size in range(len(chosen) + 1))]


@QUICK
@given(st.data())
def test_still_is_in_held_in_caught_and_strict_in_loose(data: st.DataObject) -> None:
    rig = analyser.read_text(data.draw(rig_texts()))
    system = RigSystem(rig)
    sets = [tuple(some_failures(data, rig)) for _ in range(4)]
    readings = (Reading.STILL, Reading.HELD, Reading.CAUGHT, Reading.BY_A_PERSON, Reading.BY_ANOTHERS_WEIGHT)
    found = [after_all(system, sets, reading) for reading in readings]
    for less, more in (*pairwise(found),):
        for name in system.goals:
            assert all(b or not a for a, b in zip(less[name], more[name], strict=True))


@QUICK
@given(st.data())
def test_what_holds_after_several_failures_holds_after_each_subset_to_the_letter(data: st.DataObject) -> None:
    """The worst of each of its subsets: no set of failures is survived of which some subset is not."""
    rig = analyser.read_text(data.draw(rig_texts()))
    system = RigSystem(rig)
    chosen = some_failures(data, rig)
    together = after_all(system, [tuple(chosen)])
    for some in subsets(chosen):
        effects = Effects.joint(system.failures[event].effects for event in some)
        letter = system.read(Reading.HELD, [(effects, 1)], 1, dict.fromkeys(system.goals, 1))
        for name, held in together.items():
            base = system.read(Reading.HELD, [], 1, {name: 1})[name]
            assert letter[name] or not (held[0] and base)


@QUICK
@given(st.data())
def test_another_failure_never_holds_a_body_up(data: st.DataObject) -> None:
    rig = analyser.read_text(data.draw(rig_texts()))
    system = RigSystem(rig)
    chosen = some_failures(data, rig)
    sets = subsets(chosen)
    base = after_all(system, [()])
    found = after_all(system, sets)
    for name in system.goals:
        for k, less in enumerate(sets):
            for j, more in enumerate(sets):
                if set(less) < set(more) and base[name][0] and (len(less) > 0):
                    assert found[name][k] or not found[name][j]


@QUICK
@given(st.data())
def test_what_happens_is_never_better_than_after_less(data: st.DataObject) -> None:
    rig = analyser.read_text(data.draw(rig_texts()))
    chosen = some_failures(data, rig)[:3]
    whole = what_if(rig, [rig.failures[k] for k in chosen])
    for some in subsets(chosen):
        part = what_if(rig, [rig.failures[k] for k in some])
        for name, fate in whole.fates:
            assert fate.kind.rank <= part.fate(name).kind.rank


@QUICK
@given(rig_texts())
def test_single_failures_are_told_as_they_are_searched(text: str) -> None:
    """Scenarios, which are asked portion by portion and told as fates, and failure sets, which are counted."""
    rig = analyser.read_text(text)
    outcome = assess(rig)
    for body in outcome.bodies:
        alone = {cut[0] for cut in outcome.failure_sets[body.name] if len(cut) == 1}
        down = {failure.id for failure in outcome.failures if body.name in failure.falls}
        assert down == (alone if body.held else {failure.id for failure in rig.failures})
        assert body.held == (outcome.hold(body.name) is not None) or body.fate.kind.not_held


@pytest.mark.parametrize("path", sorted((Path(__file__).parent / "found").glob("*.rig")), ids=lambda p: p.stem)
def test_rigs_that_once_were_wrong(path: Path) -> None:
    """Small rigs on which the first edition's engine and its second opinion once differed."""
    rig = analyser.read(path)
    system = RigSystem(rig)
    singles = [(event,) for event in range(len(rig.failures))]
    base, after = after_all(system, [()]), after_all(system, singles)
    for name, sets in Search(system).failure_sets(system.goals, 2).items():
        down = {event for event, held in enumerate(after[name]) if not held}
        assert {event for cut in sets if len(cut) == 1 for event in cut} == (down if base[name][0] else set())


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
