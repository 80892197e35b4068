"""Figures given as bands: the forces over all of them."""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import analyser
from analyser.checking.analysing import analyse
from analyser.forces import Statics
from analyser.forces.aftermath import after
from analyser.forces.banding import Banded, at_point, bands, sampled
from analyser.forces.spreading import _share, spread
from analyser.forces.strength import factors
from analyser.rig.quantities import GRAVITY

HUNG = """
rig "One strap"
anchor bolt: at (0, 0, 5), strength 18 to 22 kN
person sam: 60 to 110 kg, points waist
attach bolt - strap line - sam.waist
line: length 1.4 to 1.6 m, strength 22 kN
"""
BRIDLE = """
rig "Two bolts, one ring"
anchor left-bolt: at ({x}, 0, 12), strength 22 kN
anchor right-bolt: at (0.8, 0, 12), strength {strength} kN
ring master: at (0, 0, 10), strength 40 kN
person sam: {mass} kg, at (0, 0, 8.5)
rope red: like low-stretch-a, 11 mm, stretch {stretch} % at 150 kg
    tied to left-bolt with figure-eight
    tied to master with bowline, slack {slack} m
rope green: like low-stretch-a, 11 mm, stretch 3 % at 150 kg
    tied to right-bolt with figure-eight
    tied to master with bowline
attach master - strap sam-strap - sam
sam-strap: length {length} m, strength 22 kN
"""
BANDS = {
    "strength": (18, 22), "x": (-0.9, -0.7), "mass": (60, 110), "length": (1.4, 1.6), "stretch": (2, 4),
    "slack": (0, 0.1),
}  # fmt: skip


def written(values: dict[str, object]) -> analyser.Rig:
    return analyser.read_text(BRIDLE.format(**values))


def banded_bridle() -> analyser.Rig:
    return written({name: f"{low:g} to {high:g}" for name, (low, high) in BANDS.items()})


def test_a_weight_on_one_strap_is_between_its_two_ends() -> None:
    found = spread(analyser.read_text(HUNG), 40)
    assert found is not None and found.lost == 0
    carried = found.of("carries", "line")
    assert carried is not None
    assert carried.least == pytest.approx(60 * GRAVITY, rel=1e-9)  # a corner: derivation, weight is mass times g
    assert carried.most == pytest.approx(110 * GRAVITY, rel=1e-9)
    slice_of_it = 50 * GRAVITY / 40  # one of 40 equal slices holds each sample
    assert carried.low == pytest.approx((60 + 50 * 0.05) * GRAVITY, abs=slice_of_it)
    assert carried.high == pytest.approx((60 + 50 * 0.95) * GRAVITY, abs=slice_of_it)
    weakest = found.of("factor", "bolt")
    assert weakest is not None
    assert weakest.least == pytest.approx(18_000 / (110 * GRAVITY), rel=1e-9)
    assert weakest.most == pytest.approx(22_000 / (60 * GRAVITY), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=6, max_size=6))
def test_a_case_is_the_rig_written_with_those_figures(shares: list[float]) -> None:
    rig = banded_bridle()
    order = [(one.of, one.figure) for one in bands(rig)]
    assert order == [
        ("left-bolt", "x"), ("right-bolt", "strength"), ("sam", "mass"), ("sam-strap", "length"), ("red", "stretch"),
        ("red", "slack before red-bowline"),
    ]  # fmt: skip
    names = ("x", "strength", "mass", "length", "stretch", "slack")
    values = {n: BANDS[n][0] + s * (BANDS[n][1] - BANDS[n][0]) for n, s in zip(names, shares, strict=True)}
    plain = written({name: f"{value:.12f}" for name, value in values.items()})
    mine, theirs = Statics.of(at_point(rig, bands(rig), tuple(shares))), Statics.of(plain)
    assert isinstance(mine, Statics) and isinstance(theirs, Statics)
    a, b = mine.equilibrium(), theirs.equilibrium()
    assert [one.name for one in a.lines] == [one.name for one in b.lines]
    assert [one.tension for one in a.lines] == pytest.approx([one.tension for one in b.lines], abs=1e-5)
    told = [(row.name, row.factor) for row in factors(plain, b).rows]
    assert {row.name: row.factor for row in factors(mine.rig, a).rows} == pytest.approx(dict(told), rel=1e-6)


def test_every_case_lies_between_least_and_most() -> None:
    rig = banded_bridle()
    found = spread(rig, 12, 3, most_corners=64)
    assert found is not None
    # the strength of the right bolt changes no force: 2^5 corners of the other bands, all brought to rest, and what
    # is worst there worked out in full
    assert (found.samples, found.corners, found.after) == (12, 32, 3 + 4)
    assert found.every and found.sought > 0
    banded = bands(rig)
    every = list(itertools.product((0.0, 1.0), repeat=len(banded)))
    for point in (*sampled(12, banded), *every):
        statics = Statics.of(at_point(rig, banded, point))
        assert isinstance(statics, Statics)
        for line in statics.equilibrium().lines:
            over = found.of("carries", line.name)
            assert over is not None and over.least - 1e-6 <= line.tension <= over.most + 1e-6
    for point in every:
        statics = Statics.of(at_point(rig, banded, point))
        assert isinstance(statics, Statics)
        then = after(statics, ["right-bolt fails"])
        down = found.of("drop", "sam", "right-bolt fails")
        assert down is not None and down.least - 1e-9 <= then.body("sam").drop <= down.most + 1e-9
    assert found.of("falls", "sam", "master fails") is not None


@given(st.integers(1, 60), st.integers(1, 8), st.integers(0, 9))
def test_each_slice_of_each_band_is_used_once(count: int, width: int, seed: int) -> None:
    banded = [Banded(f"part-{k}", "mass", 1, 2, "1 to 2 kg") for k in range(width)]
    points = sampled(count, banded, seed)
    assert len(points) == count
    for column in zip(*points, strict=True):
        assert sorted(int(value * count) for value in column) == list(range(count))
    assert points == sampled(count, banded, seed)
    # by the band's own name: the same whatever else there is, in whatever order
    backwards = sampled(count, banded[::-1], seed)
    assert [point[::-1] for point in backwards] == points


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=50), st.floats(0, 1))
def test_shares_are_those_of_numpy(values: list[float], share: float) -> None:
    """Outside: numpy.percentile, method "linear"."""
    assert _share(sorted(values), share) == pytest.approx(float(np.percentile(values, 100 * share)), abs=1e-6)


def test_the_same_in_one_process_and_in_two() -> None:
    rig = banded_bridle()
    one, two = spread(rig, 100, 12, processes=1), spread(rig, 100, 12, processes=2)
    assert one is not None and two is not None
    assert one.ranges == two.ranges


def test_a_rig_without_bands_has_no_spread() -> None:
    assert spread(written({"strength": 20, "x": -0.8, "mass": 80, "length": 1.5, "stretch": 3, "slack": 0}), 5) is None


@pytest.mark.parametrize(
    ("requirement", "reason"),
    [
        ("strength factor at least 18 on bolt", "bolt has 16.7 at worst within the bands"),
        ("force on any person at most 1 kN", "1.08 kN on sam with nothing failed, at worst within the bands"),
    ],
)
def test_a_requirement_is_broken_by_the_worst_of_the_bands(requirement: str, reason: str) -> None:
    result = analyse(analyser.read_text(HUNG + f"require {requirement}\n"))
    assert result.requirements[0].met is False
    assert reason in result.requirements[0].because
    middle = HUNG.replace("18 to 22", "20").replace("60 to 110", "85").replace("1.4 to 1.6", "1.5")
    assert analyse(analyser.read_text(middle + f"require {requirement}\n")).requirements[0].met is True


BASKET = """
rig "A basket on four legs"
anchor bolt: at (0, 0, 10), strength 30 kN
litter basket: 95 kg, at (0, 0, 6.85), points head-left, head-right, foot-left, foot-right
basket.head-left: at (1, 0.25, 7)
basket.head-right: at (1, -0.25, 7)
basket.foot-left: at (-1, 0.25, 7)
basket.foot-right: at (-1, -0.25, 7)
ring master: strength 30 kN
attach bolt - strap main - master
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach master - strap leg-3 - basket.foot-left
attach master - strap leg-4 - basket.foot-right
main: length 2 m, strength 20 kN
leg-1, leg-2: length {head} m, strength 20 kN
leg-3, leg-4: length 1.4 m, strength 20 kN
"""


def test_level_is_judged_over_the_bands() -> None:
    """In the middle all legs are alike; half a metre off them the litter is no more level."""
    require = 'require basket level after any 1 failure\naccept bolt fails, main fails, master fails: "one"\n'
    found = {}
    for head in ("1.0 to 1.8", "1.39 to 1.41"):
        judged = analyse(analyser.read_text(BASKET.format(head=head) + require)).requirements[0]
        found[head] = [why for why in judged.because if "at worst within the bands (limit 15 deg" in why]
        assert judged.sought.startswith("worst sought: all 4 corners of 2 bands brought to rest")
    assert found["1.0 to 1.8"] and not found["1.39 to 1.41"]


TWO = """
rig "Two straps of one length"
anchor one: at (0, 0, 5), strength 22 kN
anchor two: at (0, 0, 5), strength 22 kN
person sam: {mass} kg, points waist
attach one - strap first - sam.waist
attach two - strap second - sam.waist
first, second: length 1.5 m, strength 22 kN
require strength factor at least {least} on second after any 1 failure
"""


def test_a_factor_after_failures_is_judged_over_the_bands() -> None:
    """Half the weight comes on the other strap at once: a peak of 1.5 times the weight (energy of a linear spring,
    half of it stretched already: derivation)."""
    middle, worst = (22_000 / (1.5 * mass * GRAVITY) for mass in (85, 110))
    for mass, least, met in (("85", 0.99 * middle, True), ("60 to 110", 0.99 * middle, False),
                             ("60 to 110", 0.99 * worst, True)):  # fmt: skip
        judged = analyse(analyser.read_text(TWO.format(mass=mass, least=f"{least:.3f}"))).requirements[0]
        assert judged.met is met, judged.because
        if not met:
            assert f"first fails: second has {worst:.3g} at worst within the bands" in judged.because


def test_a_drop_is_judged_over_the_bands() -> None:
    rig = banded_bridle()
    middle = after_right_bolt(written({n: (low + high) / 2 for n, (low, high) in BANDS.items()}))
    for least, met in ((middle + 0.02, False), (middle + 1.0, True)):
        text = BRIDLE.format(**{name: f"{low:g} to {high:g}" for name, (low, high) in BANDS.items()})
        text += f"require drop at most {least:.3f} m after any 1 failure\n"
        text += 'accept master fails, sam-strap fails: "one of each"\n'
        judged = analyse(analyser.read_text(text)).requirements[0]
        assert judged.met is met, judged.because
        if not met:
            assert any("at worst within the bands" in why for why in judged.because)
    assert rig.failures


def after_right_bolt(rig: analyser.Rig) -> float:
    statics = Statics.of(rig)
    assert isinstance(statics, Statics)
    return after(statics, ["right-bolt fails"]).body("sam").drop


def test_what_is_compared_without_forces_takes_the_safe_end() -> None:
    text = HUNG + "require every anchor has strength at least 19 kN\n"
    assert analyse(analyser.read_text(text)).requirements[0].met is False
    from analyser.checking.worst_loads import worst_loads

    row = next(one for one in worst_loads(analyser.read_text(HUNG)) if one.name == "bolt")
    assert row.load.newtons == pytest.approx(110 * GRAVITY)
    assert row.factor == pytest.approx(18_000 / (110 * GRAVITY))


def test_the_command_says_what_was_looked_at(tmp_path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "hung.rig"
    file.write_text(HUNG.lstrip())
    command = [sys.executable, "-m", "analyser.doors.commands.main", "forces", str(file), "--samples", "10"]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    assert "Looked at: 10 samples" in " ".join(told.stdout.split())
    assert told.stderr == ""
    data = json.loads(subprocess.run([*command, "--json"], capture_output=True, text=True, check=False).stdout)
    over = data["states"][0]["forces"]["bands"]
    assert [one["band"] for one in over["of"]] == ["18 to 22 kN", "60 to 110 kg", "1.4 to 1.6 m"]
    assert over["samples"] == 10 and over["corners"] == 4
    assert over["how"] == (
        "all 4 corners of 2 bands, strengths at their lower end, brought to rest, the worst worked out in full"
    )
    rows = [(row["figure"], row["of"], row.get("after", "")) for row in over["figures"]]
    assert all(a < b for a, b in pairwise(rows))
    again = subprocess.run([*command, "--json"], capture_output=True, text=True, check=False).stdout
    assert json.loads(again) == data
