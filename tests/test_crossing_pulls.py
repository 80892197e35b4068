"""What a ring, a plate, a link carries: the largest sum that crosses it, against every split tried one by one."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statics import statics_of

from analyser.forces import crossing as module
from analyser.forces.carried import part_forces
from analyser.forces.crossing import crossing
from analyser.forces.stiffness import GRAVITY
from analyser.forces.strength import factors

W = 100 * GRAVITY


def by_every_split(pulls: np.ndarray) -> float:
    """The largest of the lesser of the two sides, each split tried by itself."""
    best = 0.0
    for size in range(1, len(pulls)):
        for side in itertools.combinations(range(len(pulls)), size):
            rest = [k for k in range(len(pulls)) if k not in side]
            one, other = pulls[list(side)].sum(axis=0), pulls[rest].sum(axis=0)
            best = max(best, min(float(np.linalg.norm(one)), float(np.linalg.norm(other))))
    return best


NUMBERS = st.integers(-4, 4)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(NUMBERS, NUMBERS, NUMBERS), min_size=2, max_size=8), st.sampled_from(["3d", "flat", "line"]))
def test_the_largest_sum_of_every_split(rows: list[tuple[int, int, int]], kind: str) -> None:
    """Both ways, up to ten lines and beyond, also where pulls lie in one plane or along one line, or are alike."""
    pulls = np.array(rows, dtype=float)
    if kind != "3d":
        pulls[:, 1] = 0
    if kind == "line":
        pulls[:, 0] = 0
    pulls = np.vstack([pulls, -pulls.sum(axis=0)])
    best = by_every_split(pulls)
    assert np.linalg.norm(crossing(list(pulls))) == pytest.approx(best, abs=1e-9)
    few, module.FEW = module.FEW, 1
    try:
        assert np.linalg.norm(crossing(list(pulls))) == pytest.approx(best, abs=1e-9)
    finally:
        module.FEW = few


def test_sixty_lines_are_no_trouble() -> None:
    """In one plane, evenly round: half of them on one side, their sum by the chord of a half circle [computed]."""
    count = 60
    pulls = [
        np.array([math.cos(2 * math.pi * k / count), 0.0, math.sin(2 * math.pi * k / count)]) for k in range(count)
    ]
    assert np.linalg.norm(crossing(pulls)) == pytest.approx(1 / math.sin(math.pi / count), rel=1e-9)


def carried(text: str) -> dict[str, float]:
    statics = statics_of(text)
    return {one.name: one.force for one in part_forces(statics.rig, statics.equilibrium())}


def test_a_ring_under_four_people_carries_all_four() -> None:
    """Four lines up, four people below: 3.92 kN crosses it, which it is 3 kN strong for [balance of the four]."""
    text = "ring master: at (0, 0, 4), strength 3 kN\n"
    for k, (x, y) in enumerate(((-1, 0), (1, 0), (0, -1), (0, 1))):
        text += f"anchor a{k}: at ({x}, {y}, 5)\nattach a{k} - strap s{k} - master\n"
        text += f"person p{k}: 100 kg\nattach master - strap t{k} - p{k}\nt{k}: length 1 m\n"
    statics = statics_of(text)
    found = statics.equilibrium()
    forces = {one.name: one.force for one in part_forces(statics.rig, found)}
    assert forces["master"] == pytest.approx(4 * W, rel=1e-6)
    (row,) = factors(statics.rig, found).rows
    assert row.name == "master" and row.factor == pytest.approx(3000 / (4 * W), rel=1e-6)


def test_opposite_pairs_cross_at_right_angles() -> None:
    """Two taut lines across each other through a plate, one load: by the largest of all splits [computed]."""
    found = carried("""
        anchor n: at (0, 3, 0)
        anchor s: at (0, -3, 0)
        anchor e: at (3, 0, 0)
        anchor w: at (-3, 0, 0)
        plate hub: at (0, 0, 0)
        load crate: 100 kg, points eye
        attach n - strap a - hub
        attach s - strap b - hub
        attach e - strap c - hub
        attach w - strap d - hub
        attach hub - strap low - crate.eye
        low: length 1 m
    """)
    legs = [found[name] for name in "abcd"]
    assert max(legs) == pytest.approx(min(legs), rel=1e-6)
    leg = legs[0]
    up = W / 4 / leg  # the sine of each leg's slope
    level = leg * math.sqrt(1 - up**2)
    # two neighbours against the rest: their level parts add at right angles
    pair = math.hypot(math.sqrt(2) * level, 2 * leg * up)
    three = math.hypot(level, 3 * leg * up)
    assert found["hub"] == pytest.approx(max(leg, pair, three, W), rel=1e-6)


def test_interlocked_bowlines_carry_what_their_own_rope_brings() -> None:
    text = """
        anchor left: at (-1, 0, 5)
        anchor right: at (1, 0, 5)
        ring master: at (0, 0, 3)
        person sam: 100 kg, at (0, 0, 1)
        person vic: 80 kg, at (0, 0.1, 1)
        rope red
            tied to left with figure-eight
            tied to master with bowline as red-bowline
            tied to sam with figure-eight as red-tail
        rope green
            tied to right with figure-eight
            tied to master with bowline as green-bowline
            tied to vic with figure-eight as green-tail
        {}
    """
    apart, laced = carried(text.format("")), carried(text.format("interlock red-bowline, green-bowline"))
    for name in ("red-bowline", "green-bowline", "master", "left", "right"):
        assert laced[name] == pytest.approx(apart[name], rel=1e-9), name
    top = apart["left"]
    assert laced["red-bowline"] == pytest.approx(max(top, W), rel=1e-6)
    assert laced["green-bowline"] == pytest.approx(top, rel=1e-6)


def test_once_the_ring_has_gone_one_loop_hangs_in_the_other() -> None:
    statics = statics_of("""
        anchor left: at (-1, 0, 5)
        anchor right: at (1, 0, 5)
        person sam: 100 kg, at (0, 0, 1)
        rope red
            tied to left with figure-eight
            tied to carabiner hook with bowline as red-bowline
        rope green
            tied to hook with bowline as green-bowline
            tied to sam with figure-eight as green-tail
        hook: at (0, 0, 3)
        interlock red-bowline, green-bowline
    """)
    from analyser.forces.assembling import Case
    from analyser.rig.model import Effects

    found = statics.equilibrium(Case(Effects(gone=frozenset({"hook"}))))
    forces = {one.name: one.force for one in part_forces(statics.rig, found)}
    assert found.falls == ()
    assert forces["red-bowline"] == pytest.approx(W, rel=1e-6)
    assert forces["green-bowline"] == pytest.approx(W, rel=1e-6)


@pytest.mark.parametrize("between", [0, 60, 90, 120, 180])
def test_a_pulley_still_carries_the_sum_of_its_strands(between: float) -> None:
    # facts 2.1 [computed]: 2 T cos(b/2); a rope that runs straight past puts nothing on it
    half = math.radians(between / 2)
    pulls = [W * np.array([math.sin(s * half), 0.0, -math.cos(half)]) for s in (1, -1)]
    bend = sum(pulls, np.zeros(3))
    # the two strands bend round it as one: they are one pull for the split
    assert np.linalg.norm(crossing([bend, -bend])) == pytest.approx(2 * W * math.cos(half), abs=1e-9)
