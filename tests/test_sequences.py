"""Sequences: which beginning leads through overloads to what was observed, and what it would have taken.

The loads come from `forces`, which has its own checks; here it is what is made of them. Outside checks: the
equation of an arrest read backwards, and a cascade of three legs by hand.
"""

from __future__ import annotations

import json
import math
import random
import re
import subprocess
import sys
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_rigs import random_rig_text

import analyser
from analyser.doors.commands.main import main
from analyser.forces import Statics, cascade
from analyser.forces.arrest import fall_factor, peak
from analyser.forces.dropping import height_to_break, let_go
from analyser.forces.motion import motion
from analyser.forces.stiffness import GRAVITY
from analyser.holding.system import RigSystem
from analyser.language.formatting import laid_out
from analyser.rig.catalogue import catalogue
from analyser.uses.incident.evidence import Asked, fitting, items
from analyser.uses.incident.reconstruction import reconstruct
from analyser.uses.incident.sequences import SHARES, Sequences, sequences

INCIDENTS = Path(__file__).parent.parent / "examples" / "incidents"

TRUE = {
    "anchor-pulls": ("left-bolt fails", ["link fails"]),
    "slack-lanyard": ("tether-crab fails", ["link fails"]),
    "three-bolts": ("middle fails", ["left fails", "right fails"]),
}


def two_lines(
    *, slack: float = 2.4, mass: float = 90, at: float = 150, bolt: float = 15, link: float = 4, rope: float = 22
) -> str:
    """Somebody on two lines, the second with some slack and a weak cord in it; figures in m, kg and kN."""
    return f"""rig "Two lines"
anchor left, right: strength {bolt!r} kN
left: at (0, 0, 10)
right: at (0, 0, 10)
cord link: strength {link!r} kN, length 0.6 m, stretch 3 % at {at!r} kg
carabiner crab: strength {bolt!r} kN, at (0, 0, 5.6)
person ann: {mass!r} kg, points waist, chest, at (0, 0, 5)
rope main: strength {rope!r} kN, stretch 3 % at {at!r} kg
    tied to left with figure-eight as main-top
    tied to ann.waist with figure-eight as main-low
rope second: strength {rope!r} kN, stretch 3 % at {at!r} kg
    tied to right with figure-eight as second-top
    slack {slack!r} m
    tied to crab with bowline as second-low
attach crab - link - ann.chest
"""


def looked(text: str, *facts: str, **more: int) -> Sequences:
    rig = analyser.read_text(text + "observed\n" + "".join(f"    {fact}\n" for fact in facts))
    return sequences(reconstruct(rig), rig, **more)


def as_it_held(text: str, failure: str, part: str) -> float:
    """The most that a part carries in time, if nothing broke."""
    statics = Statics.of(analyser.read_text(text))
    assert isinstance(statics, Statics)
    told = motion(statics, [failure], starts=0, breaking=False)
    return next(one.factor.force for one in told.weakest if one.name == part)


def shape(found: Sequences) -> list[tuple[object, ...]]:
    return [(one.begins, [over.failure for over in one.overloads], one.shares, one.states) for one in found.chains]


# -- the invented incidents


@pytest.mark.parametrize("name", TRUE)
def test_the_incidents(name: str) -> None:
    """At every level the true beginning is among the sequences, with what it broke; with all of the evidence it is
    the only one and stands first, where the connections alone need several failures at once."""
    begin, broke = TRUE[name]
    text = (INCIDENTS / f"{name}.rig").read_text(encoding="utf-8")
    starts = [found.start() for found in re.finditer(r"^observed", text, re.MULTILINE)]
    assert len(starts) == 3
    for end in (*starts[1:], len(text)):
        assert laid_out(text[:end].encode(), name, catalogue()) == text[:end].rstrip() + "\n"
        rig = analyser.read_text(text[:end])
        made = reconstruct(rig)
        found = sequences(made, rig)
        assert any(
            begin in one.begins[0] and [over.failure for over in one.overloads] == broke for one in found.chains
        ), text[:end]
        assert not found.left_out
    first = found.chains[0]
    assert (first.begins, first.assumed) == (((begin,),), 0) and len(found.chains) == 1
    assert first.explanation == 1 and made.explanations[0].size == 1 + len(broke)


def test_it_follows_only_once_the_lanyard_is_long() -> None:
    rig = analyser.read_text((INCIDENTS / "slack-lanyard.rig").read_text(encoding="utf-8"))
    assert [one.states for one in sequences(reconstruct(rig), rig).chains] == [(2, 3)]


def test_where_the_connections_find_nothing_a_sequence_may(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Three failures assumed at once are more than the order; one, and two overloads, are not."""
    text = (INCIDENTS / "three-bolts.rig").read_text(encoding="utf-8")
    path = tmp_path / "three.rig"
    path.write_text(text[: text.index("observed  # examined")], encoding="utf-8")
    assert main(["reconstruct", str(path)]) == 0
    told = capsys.readouterr().out
    assert "1 SEQUENCE OF OVERLOADS" in told
    assert "IT TAKES 3 FAILURES TOGETHER" in told and "by the connections alone it takes 3 failures" in told


# -- what is a sequence


FACTS = ("fell ann", "found left fails", "found link fails", "intact right, crab, second")


def test_nothing_that_was_found_whole_breaks() -> None:
    assert len(looked(two_lines(), *FACTS).chains) == 1
    assert not looked(two_lines(), "fell ann", "found left fails", "intact link").chains
    assert not looked(two_lines(), "fell ann", "found left fails", 'not link fails: "still tied"').chains


def test_who_stayed_is_held() -> None:
    assert not looked(two_lines(), "stayed ann", "found left fails").chains
    tested = looked(two_lines(), "stayed ann", "found left fails").tested[0]
    assert (tested.resting, tested.upper) == ((), ("link fails",))
    assert tested.shares == SHARES[:1], "in time it would not fit"


def test_three_verdicts() -> None:
    """The same slack on a cord ever weaker: it holds, breaks on the way, already at rest."""
    weight = 90 * GRAVITY / 1000
    force = as_it_held(two_lines(), "left fails", "link") / 1000
    assert not looked(two_lines(link=force * 1.01), *FACTS).chains
    for link, least, words in (
        (force * 0.99, 1.0, "on the way, in time"),
        (weight + 0.6 * (force - weight), 1.0, "on the way, in time"),
        (weight * 0.99, 0.0, "already at rest"),
    ):
        one = looked(two_lines(link=link), *FACTS).chains[0]
        assert (one.least, one.verdict) == (least, words)


def test_an_overload_as_it_hung() -> None:
    """A bolt weaker than the weight on it breaks by itself, and so begins nothing but with the rig as it hung."""
    found = looked(two_lines(bolt=0.8), "fell ann", "found left fails", "found right fails")
    assert found.chains[0].begins == () and found.chains[0].overloads[0].failure == "left fails"
    assert found.chains[0].assumed == 0


def test_what_has_no_strength_is_said_and_never_breaks() -> None:
    text = two_lines().replace("cord link: strength 4 kN,", "cord link:")
    found = looked(text, *FACTS)
    assert not found.chains and "link" in found.without
    parts = {part.failure: part for part in found.tested[0].parts}
    assert parts["link fails"].lacks_strength and parts["link fails"].needed is None


def test_what_is_found_whole_was_no_beginning() -> None:
    found = looked(two_lines(), "fell ann", "intact left")
    assert found.chains and all("left fails" not in choice for one in found.chains for choice in one.begins)


@pytest.mark.parametrize("seed", range(25))
def test_a_scenario_fits_just_when_it_holds_an_explanation(seed: int) -> None:
    """`fitting` against the search: every explanation fits; and what fits holds one."""
    rng = random.Random(seed)
    rig = analyser.read_text(text := random_rig_text(rng, rng.randint(1, 3)))
    if len(rig.failures) < 2 or not rig.bodies:
        return
    true = rng.sample(rig.failures, 2)
    fell = [body.name for body in rig.bodies if rng.random() < 0.7]
    facts = [f"fell {one}" for one in fell] + [f"found {true[0].id}"]
    rig = analyser.read_text(text + "observed\n" + "".join(f"    {fact}\n" for fact in facts))
    known = {failure.id: failure for failure in rig.failures}
    asked, system = Asked.of(items(rig.observations)), RigSystem(rig)
    sets = [set(one) for e in reconstruct(rig).explanations for one in product(*e.choices)]
    for one in sets[:40]:
        assert fitting(system, asked, [known[name] for name in sorted(one)]) is not None, (facts, one)
    for _ in range(20):
        tried = rng.sample(rig.failures, 2)
        fits = fitting(system, asked, tried) is not None
        assert fits == any(one <= {f.id for f in tried} for one in sets), (facts, [f.id for f in tried])


# -- outside checks


@pytest.mark.parametrize(("strength", "mass"), [(6.0, 80.0), (8.0, 80.0), (9.0, 100.0)])
def test_the_drop_is_the_equation_of_an_arrest_read_backwards(strength: float, mass: float) -> None:
    """One mass on one line: F = W + sqrt(W2 + 2 W EA f), Wexler's form of 1950 (from memory; facts 6.2), solved for
    f = F (F - 2 W) / (2 W EA). Worked example of the forward equation: 80 kg, 30 kN, f = 1 gives 7.7 kN, by hand:
    0.7845 + sqrt(0.6155 + 47.07) = 7.690."""
    assert peak(80, 30e3, 1) == pytest.approx(7690, abs=1)
    text = f"""rig "One line"
anchor bolt: at (0, 0, 10), strength {strength} kN
person ann: {mass} kg, points waist, at (0, 0, 4)
rope line: strength 40 kN, stretch 5 % at 150 kg
    tied to bolt with figure-eight as top
    tied to ann.waist with figure-eight as low
"""
    statics = Statics.of(analyser.read_text(text))
    assert isinstance(statics, Statics)
    base = statics.equilibrium()
    told = height_to_break(statics, base, "ann", "bolt")
    line = base.line("line")
    wanted = fall_factor(strength * 1000, mass, line.ea)
    assert told and told.height and told.fall_factor is not None and told.free_fall is not None
    assert told.fall_factor == pytest.approx(wanted, rel=2e-3), "as near as the peak is by following the motion"
    assert told.free_fall == pytest.approx(told.height - (line.length - line.rest), abs=1e-6)
    then = let_go(statics, base, "ann", told.height)
    assert then.arrest and then.arrest.peak == pytest.approx(peak(mass, line.ea, told.fall_factor), rel=1e-8)


def test_no_drop_is_enough_from_as_high_as_the_line_lets_them() -> None:
    """Twice the line's length is the furthest free fall on to it, fall factor 2 (facts 6.1, common practice)."""
    statics = Statics.of(analyser.read_text(two_lines(bolt=90, rope=200)))
    assert isinstance(statics, Statics)
    base = statics.equilibrium()
    told = height_to_break(statics, base, "ann", "left")
    assert told and told.height is None
    assert told.most == pytest.approx(2 * (10 - base.at["ann"][2]))


def test_a_cascade_of_three_legs_by_hand() -> None:
    """Legs from (-2, 10), (0, 10) and (2, 10) to a ring at (0, 9.5), W = 220 kg. With the middle gone the ring sinks
    by d until 2 EA (L - L0) / L0 · (0.5 + d) / L = W, L = sqrt(4 + (0.5 + d)2), L0 = sqrt(4.25): found here by
    halving. Each bolt is given one twentieth less than that: both go at once, and everybody falls. One part in a
    hundred more, and they hold at rest."""
    ea, weight, at_rest = 100 * GRAVITY / 0.001, 220 * GRAVITY, math.sqrt(4.25)

    def lifts(d: float) -> float:
        length = math.hypot(2, 0.5 + d)
        return 2 * ea * (length - at_rest) / at_rest * (0.5 + d) / length

    low, high = 0.0, 1.0
    for _ in range(60):
        low, high = ((low + high) / 2, high) if lifts((low + high) / 2) < weight else (low, (low + high) / 2)
    force = ea * (math.hypot(2, 0.5 + low) - at_rest) / at_rest
    text = (INCIDENTS / "three-bolts.rig").read_text(encoding="utf-8")
    for share, breaks in ((0.95, True), (1.01, False)):
        given = text.replace("strength 4 kN", f"strength {force * share / 1000!r} kN")
        rig = analyser.read_text(given)
        one = sequences(reconstruct(rig), rig).chains[0]
        assert (one.least == 0) == breaks
        statics = Statics.of(rig)
        assert isinstance(statics, Statics)
        told = cascade(statics, ["middle fails"])
        assert [broken.name for broken in told.broken] == (["left", "right"] if breaks else [])
        if breaks:
            assert [over.force for over in one.overloads] == pytest.approx([force] * 2, rel=1e-5)
            assert told.final.falls == ("ann", "ben")


# -- properties


def test_without_strengths_nothing_is_added() -> None:
    text = re.sub(r"strength [\d.]+ kN,? ?", "", two_lines()).replace("right: \n", "right\n")
    found = looked(text, *FACTS)
    assert not found.chains and not found.tested and "strength" in found.why_not and found.wanted


STRENGTHS = st.floats(1.0, 30.0).map(lambda x: round(x, 2))


@settings(max_examples=12, deadline=None)
@given(st.floats(0.0, 3.0).map(lambda x: round(x, 2)), STRENGTHS, STRENGTHS, STRENGTHS, st.floats(1.0, 4.0))
def test_raising_every_strength_never_adds_an_overload(
    slack: float, bolt: float, link: float, rope: float, up: float
) -> None:
    def broken(scale: float) -> list[set[str]]:
        text = two_lines(slack=slack, bolt=bolt * scale, link=link * scale, rope=rope * scale)
        statics = Statics.of(analyser.read_text(text))
        assert isinstance(statics, Statics)
        return [
            {one.name for one in cascade(statics, failed).broken} for failed in ([], ["left fails"], ["right fails"])
        ]

    for less, more in zip(broken(up), broken(1.0), strict=True):
        assert less <= more


@pytest.mark.parametrize(
    ("scale", "slack", "link"), [(0.5, 1.0, 3.0), (0.5, 2.4, 3.0), (2.0, 2.4, 4.0), (2.0, 1.0, 9.0)]
)
def test_scaling_masses_stiffness_and_strengths_changes_no_sequence(scale: float, slack: float, link: float) -> None:
    facts = ("fell ann", "intact main, second")
    plain = looked(two_lines(slack=slack, link=link), *facts)
    text = two_lines(slack=slack, mass=90 * scale, at=150 * scale, bolt=15 * scale, link=link * scale, rope=22 * scale)
    scaled = looked(text, *facts)
    assert shape(plain) == shape(scaled)
    for one, other in zip(plain.tested, scaled.tested, strict=True):
        assert (one.resting, one.upper, one.shares) == (other.resting, other.upper, other.shares)
        for mine, theirs in zip(one.parts, other.parts, strict=True):
            assert (mine.needed is None) == (theirs.needed is None)
            if mine.needed is not None and theirs.needed is not None:
                assert mine.needed == pytest.approx(theirs.needed, rel=2e-3)  # steps are fine in metres, not in shares


# -- what is not looked at


def test_too_much_work_is_counted_and_said() -> None:
    few = looked(two_lines(), "fell ann", work=20)
    every = looked(two_lines(), "fell ann")
    assert few.left_out and few.looked_at + few.left_out >= every.looked_at
    assert not every.left_out and few.looked_at < every.looked_at


def test_what_the_forces_lack_is_said_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "two.rig"
    path.write_text(
        two_lines().replace("right: at (0, 0, 10)\n", "") + "observed\n    fell ann\n    found left fails\n"
    )
    assert main(["reconstruct", str(path)]) == 0
    told = capsys.readouterr().out
    assert told.count("right: at (x, y, z)") == 1 and "SEQUENCE" not in told
    assert main(["reconstruct", str(path), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["on"] == "connections only" and data["sequences"]["to_add"] and data["explanations"]


def test_slips_start_no_sequence(tmp_path: Path) -> None:
    path = INCIDENTS / "anchor-pulls.rig"
    assert main(["reconstruct", str(path), "--including-slips", "-o", str(tmp_path / "a.md")]) == 0
    assert "1 sequence of overloads" in (tmp_path / "a.md").read_text(encoding="utf-8").lower()


# -- the pages


@pytest.mark.parametrize("name", TRUE)
def test_pages_and_documents(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = INCIDENTS / f"{name}.rig"
    assert main(["reconstruct", str(path)]) == 0
    page = capsys.readouterr().out
    assert main(["reconstruct", str(path), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    first = data["sequences"]["consistent"][0]
    assert data["on"] == "connections and forces"
    over = first["overloads"][0]
    assert (
        f"{over['times_its_strength']['peak']:.2f} times its strength, {over['force']['rest_kN']:.1f} kN"
        in " ".join(page.split())
    )
    assert f"follows {first['follows']}" in " ".join(page.split())
    for ending in ("md", "html"):
        target = tmp_path / f"{name}.{ending}"
        assert main(["reconstruct", str(path), "-o", str(target)]) == 0
        text = target.read_text(encoding="utf-8")
        for words in ("consistent with it", "The explanations under load", "Evidence", "not a finding of fault"):
            assert words.lower() in text.lower().replace("nothing here is a finding", "not a finding"), words
        assert not re.search(r"\bsafe(ly|ty)?\b|the cause was", text, re.IGNORECASE)
    assert text.count("<figure>") == 3  # the rig, the sequence, the explanation


def test_the_same_every_time() -> None:
    runs = {
        subprocess.run(
            [sys.executable, "-m", "analyser.doors.commands.main", "reconstruct", str(INCIDENTS / "anchor-pulls.rig")],
            capture_output=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(runs) == 1 and runs.pop()
