"""What breaks under its load, and who falls then: findings, requirements, `whatif`.

The case: 100 kg on a tight strap of 1 m and a loose cord of 2 m from the same place. When the tight one goes,
the body drops 1 m free on to 2 m of cord with EA = 20 kN (the kind's default): the standard equation for one
mass on one line, T = W + sqrt(W^2 + 2 W EA h / l) (facts 6.2), gives the peak by hand. What the product tells
comes from following the motion, which knows nothing of that equation.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rigs import checked, shipped

import analyser
from analyser.doors.commands.main import main
from analyser.rig.quantities import GRAVITY

EXAMPLES = Path(__file__).parent.parent / "examples"
TWO = """
anchor left: at (0, 0, 10), strength 20 kN
anchor right: at (0, 0, 10), strength 20 kN
cord loose: length {length} m, strength {strength} kN
person sam: 100 kg, at (0, 0, 9), points waist, chest
attach left - strap tight - sam.waist
attach right - loose - sam.chest
tight: length 1 m, strength 22 kN
"""
WEIGHT = 100 * GRAVITY
CORD = 20e3


def peak(length: float) -> float:
    """Newtons at the lowest point; the strap stretched by its own load starts the fall a little lower."""
    stretched = WEIGHT / 100e3
    height = length - 1 - stretched
    # energy: W (h + e) = EA e^2 / (2 l)  ->  T = EA e / l
    return WEIGHT + math.sqrt(WEIGHT**2 + 2 * WEIGHT * CORD * height / length)


def test_the_peak_is_that_of_the_standard_equation() -> None:
    loads = checked(TWO.format(length=2, strength=2)).states[0].loads
    assert loads is not None
    overload = loads.overloads[0]
    assert overload.failures == ("left fails",)
    (broken,) = overload.broken
    assert broken.name == "loose" and broken.factor.force == pytest.approx(2000, rel=2e-3)
    assert overload.motion is not None and overload.rest.broken == ()
    (row,) = [row for row in overload.motion.weakest if row.name == "loose"]
    assert row.factor.force == pytest.approx(peak(2), rel=2e-3)  # as if nothing broke
    assert (overload.surely, overload.perhaps) == (("sam",), ())


@settings(max_examples=30, deadline=None)
@given(st.floats(1.05, 4), st.floats(0.5, 12))
def test_it_breaks_where_its_strength_is_under_the_peak(length: float, strength: float) -> None:
    found = checked(TWO.format(length=f"{length:.4f}", strength=f"{strength:.4f}")).states[0].loads
    assert found is not None
    after_left = [one for one in found.overloads if one.failures == ("left fails",)]
    most = peak(round(length, 4))
    near = peak(round(length, 4) + 0.02) / most - 1 + 3e-3  # starts a centimetre aside break a little more
    if abs(strength * 1000 / most - 1) < near:
        return
    assert bool(after_left) == (strength * 1000 < most)
    if after_left:
        assert after_left[0].surely == ("sam",)
        assert bool(after_left[0].rest.broken) == (strength * 1000 < WEIGHT)


def test_what_breaks_is_a_danger_and_from_a_start_aside_a_caution() -> None:
    def severities(strength: float) -> set[str]:
        state = checked(TWO.format(length=2, strength=strength)).states[0]
        return {str(f.severity) for f in state.findings if f.rule == "overloaded"}

    assert severities(6) == set()
    assert severities(peak(2) / 1000 * 1.001) == {"caution"}
    assert severities(2) == {"danger"}
    assert severities(0.9) == {"danger"}


ASKED = "require everyone held after any 1 failure, cascades included\n"


@pytest.mark.parametrize(
    ("strength", "met", "words"),
    [
        (6, True, ""),
        (2, False, "left fails: loose breaks, 0.49 s after: 5.5 kN on 2 kN; sam falls"),
        (0.9, False, "left fails: loose breaks, 0.47 s after: 5.5 kN on 0.9 kN; sam falls"),
    ],
)
def test_cascades_are_included_where_they_are_asked_for(strength: float, met: bool, words: str) -> None:
    judged = checked(TWO.format(length=2, strength=strength) + ASKED).requirements[0]
    assert judged.met is met
    assert words in ("" if met else judged.because)
    plain = checked(TWO.format(length=2, strength=strength) + "require everyone held after any 1 failure\n")
    assert plain.requirements[0].met is True  # by the connections alone; the finding and the verdict line tell


def test_a_part_without_strength_is_named_and_the_rest_is_not_met() -> None:
    text = TWO.format(length=2, strength=6).replace(", strength 20 kN", "", 1) + ASKED
    judged = checked(text).requirements[0]
    assert judged.met is None
    assert judged.because == ("not checked: left: no strength given, taken as never breaking",)


def test_a_part_that_carries_only_after_a_failure_and_has_no_strength_is_named() -> None:
    text = TWO.format(length=2, strength=6).replace(", strength 6 kN", "") + ASKED
    assert "not checked: loose: no strength given, taken as never breaking" in checked(text).requirements[0].because


def test_without_places_it_says_what_to_add() -> None:
    text = TWO.format(length=2, strength=6).replace("at (0, 0, 10), ", "").replace("at (0, 0, 9), ", "") + ASKED
    judged = checked(text).requirements[0]
    assert judged.met is None
    assert "left: at (x, y, z)" in judged.because[0]


def test_three_in_a_row_break_one_after_the_other() -> None:
    """A hand-made row: 300 kg on three slings of 2 m, side by side and shorter by 0.1 m each, of 2 kN each.

    At rest the first carries all of it, 2.94 kN on 2 kN: it breaks, then the next, then the last."""
    text = "".join(f"anchor a{k}: at (0, 0, 10), strength 30 kN\n" for k in (1, 2, 3))
    text += "load crate: 300 kg, at (0, 0, 8), points eye\n"
    for k in (1, 2, 3):
        text += f"sling s{k}: length {1.9 + 0.1 * k:.1f} m, strength 2 kN\nattach a{k} - s{k} - crate.eye\n"
    state = checked(text).states[0]
    assert state.loads is not None
    resting = state.loads.overloads[0]
    assert resting.failures == ()
    assert [one.name for one in resting.broken] == ["s1", "s2", "s3"]
    assert resting.broken[0].factor.force == pytest.approx(300 * GRAVITY, rel=1e-6)
    assert resting.surely == ("crate",)
    (finding,) = [f for f in state.findings if f.rule == "overloaded" and f.text.startswith("at rest")]
    assert finding.text == "at rest: s1 breaks: 2.94 kN on 2 kN, then s2 and s3 break; crate falls"


def test_a_strength_factor_may_be_asked_for_after_any_failure() -> None:
    text = TWO.format(length=2, strength=6)
    asks = "require strength factor at least {} after any 1 failure\n"
    assert checked(text + asks.format(1)).requirements[0].met is True  # 6 kN / 5.5 kN = 1.09, at rest 6.1
    judged = checked(text + asks.format(2)).requirements[0]
    assert judged.met is False
    assert judged.because[0].startswith("left fails: loose has 1.09, under 5.5")
    assert checked(text + asks.format(7).replace("7 after", "7 on tight after")).requirements[0].met is True


def test_whatif_follows_the_load(tmp_path, capsys) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "two.rig"
    for strength, status in ((2, 1), (6, 0)):
        file.write_text('rig "Two"\n' + TWO.format(length=2, strength=strength))
        assert main(["whatif", str(file), "left fails"]) == status
        assert ("UNDER THAT LOAD" in capsys.readouterr().out) is bool(status)
        assert main(["whatif", str(file), "left fails", "--json"]) == status
        overload = json.loads(capsys.readouterr().out)["overload"]
        if status:
            assert overload["breaks_at_rest"] == [] and overload["falls"] == ["sam"]
            assert overload["breaks_in_time"][0]["name"] == "loose"
        else:
            assert overload is None


def test_the_example_of_a_slack_second_line() -> None:
    """Its comment: by the connections nobody falls after one failure; by the forces, within the bands, somebody
    may. In the middle of the bands nothing breaks: it takes the slack and the weight near their upper ends."""
    result = shipped("slack-second-line")
    by_connections, with_forces, drop = result.requirements
    assert (by_connections.met, with_forces.met, drop.met) == (True, False, False)
    assert any(why.startswith("left-eye fails: chest-link may break") for why in with_forces.because)
    assert result.states[0].loads is not None and result.states[0].loads.overloads == ()
    strong = (EXAMPLES / "slack-second-line.rig").read_text(encoding="utf-8").replace("strength 5 kN", "strength 9 kN")
    assert analyser.check(analyser.read_text(strong)).requirements[1].met is True


def test_an_overload_is_a_finding_of_every_state_that_has_it() -> None:
    """`say` changes nothing: what is overloaded before it is overloaded after it."""
    text = TWO.format(length=2, strength=2) + 'stage "Wait"\n    say "wait"\n    check "all still"\n'
    first, *later = checked(text).states
    found = [f for f in first.findings if f.rule == "overloaded"]
    assert found and len(later) == 2
    for state in later:
        assert state.loads is first.loads
        assert [f for f in state.findings if f.rule == "overloaded"] == found


def test_over_the_bands_an_overload_is_a_share_without_a_unit(tmp_path, capsys) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "two.rig"
    file.write_text('rig "Two"\n' + TWO.format(length="1.9 to 2.1", strength=2))
    main(["forces", str(file), "--samples", "5", "--json"])
    figures = json.loads(capsys.readouterr().out)["states"][0]["forces"]["bands"]["figures"]
    units = {one["figure"]: one["unit"] for one in figures}
    assert units == {"carries": "kN", "peak": "kN", "drop": "m", "factor": None, "overload": None}
