"""Probabilities and importances against published and hand-worked figures."""

from __future__ import annotations

from itertools import product as every

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyser.holding.importance import importances, probability


def cuts(*words: str) -> list[frozenset[str]]:
    return [frozenset(word.split()) for word in words]


TANK = cuts("T", "K2", "S S1", "S K1", "S R")
TANK_CHANCES = {"T": 5e-6, "K2": 3e-5, "S": 1e-4, "S1": 3e-5, "K1": 5e-6, "R": 1e-4}
MOORING = {
    "load": 1.73e-5,
    "top": 4.20e-3,
    "line": 9.31e-3,
    "hook": 8.64e-3,
    "human-1": 8.95e-6,
    "human-2": 8.95e-6,
    "cable-1": 9.93e-5,
    "cable-2": 4.37e-5,
    "cable-3": 5.46e-8,
    "cable-4": 4.17e-3,
}


def test_pressure_tank() -> None:
    """Published 3.50133e-5. Source: public test file after the fault tree handbook (facts 9.6, S87)."""
    found = probability(TANK, TANK_CHANCES)
    assert found.exact
    assert found.value == pytest.approx(3.50133e-5, abs=1e-9)


def test_seals() -> None:
    """Published 1.000001e-6. Source: as above, after the NASA fault tree handbook (facts 9.7, S87)."""
    chances = {"tape": 1e-1, "common": 1e-5, "m": 1e-3, "s1": 1e-3, "s2": 1e-3, "plug": 1e-3}
    found = probability(cuts("tape common", "m s1 s2 plug"), chances)
    assert found.value == pytest.approx(1.000001e-6, abs=1e-12)


def test_spread_mooring() -> None:
    """Published 0.0262463898. Source: as above, after Mentes and Helvacioglu 2011 (facts 9.8, S87)."""
    found = probability([frozenset({name}) for name in MOORING], MOORING)
    assert found.value == pytest.approx(0.0262463898, abs=1e-8)


@pytest.mark.parametrize(("q", "expected"), [(0.1, 0.02152), (0.05, 0.005219), (0.01, 0.00020195)])
def test_bridge(q: float, expected: float) -> None:
    """The bridge network with every item failing at q (facts 9.4, computed there)."""
    found = probability(cuts("1 2", "4 5", "1 3 5", "2 3 4"), dict.fromkeys("12345", q))
    assert found.value == pytest.approx(expected, rel=5e-4)


def test_importances_of_the_pressure_tank() -> None:
    """Worked by hand from the definitions: for T, in OR with all the rest, Birnbaum is the chance that
    nothing else brings the tank down, and Fussell-Vesely is P(T) / P(rupture)."""
    found = {one.event: one for one in importances(TANK, TANK_CHANCES)}
    inner = 1 - (1 - 3e-5) * (1 - 5e-6) * (1 - 1e-4)  # S1 or K1 or R
    rest = 1 - (1 - 3e-5) * (1 - 1e-4 * inner)  # K2, or S with one of them
    total = 1 - (1 - 5e-6) * (1 - rest)
    assert found["T"].birnbaum == pytest.approx(1 - rest, abs=1e-15)
    assert found["T"].fussell_vesely == pytest.approx(5e-6 / total, rel=1e-12)
    assert found["S"].birnbaum == pytest.approx((1 - 5e-6) * (1 - 3e-5) * inner, rel=1e-9)
    assert found["S"].fussell_vesely == pytest.approx(1e-4 * inner / total, rel=1e-9)
    assert next(iter(found)) == "K2"


EVENTS = "abcdef"


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    st.lists(st.frozensets(st.sampled_from(EVENTS), min_size=1, max_size=4), max_size=8),
    st.tuples(*[st.floats(0, 1) for _ in EVENTS]),
)
def test_against_full_enumeration(sets: list[frozenset[str]], chances: tuple[float, ...]) -> None:
    given_ = dict(zip(EVENTS, chances, strict=True))
    total = 0.0
    for happens in every((0, 1), repeat=len(EVENTS)):
        happened = {event for event, bit in zip(EVENTS, happens, strict=True) if bit}
        weight = 1.0
        for event, bit in zip(EVENTS, happens, strict=True):
            weight *= given_[event] if bit else 1 - given_[event]
        total += weight * any(cut <= happened for cut in sets)
    found = probability(sets, given_)
    assert found.exact
    assert found.value == pytest.approx(total, abs=1e-12)
    bound = probability(sets, given_, most_steps=0)
    assert bound.value >= total - 1e-12


def test_a_missing_chance_is_an_error() -> None:
    with pytest.raises(KeyError):
        probability(cuts("a b"), {"a": 0.5})
