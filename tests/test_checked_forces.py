"""What `check` says of forces: the table, the requirements, the JSON, and what to add where they can't be told."""

from __future__ import annotations

import json
from pathlib import Path
from textwrap import dedent

import pytest
from rigs import checked

import analyser
from analyser.doors.commands.main import main
from analyser.holding.fate import Kind

BRIDLE = """
    anchor left: at (-1, 0, 10), strength 22 kN
    anchor right: at (1, 0, 10), strength 22 kN
    ring eye: at (0, 0, {height}), strength 40 kN
    load block: 100 kg, at (0, 0, 5)
    attach left - strap a - eye
    attach right - strap b - eye
    attach eye - strap c - block
    a, b, c: strength 10 kN, stretch 0 % at 150 kg
    accept eye fails, c fails: "this test"
    require {requirement}
"""


def judged(requirement: str, height: str = "9") -> tuple[bool | None, tuple[str, ...]]:
    (one,) = checked(BRIDLE.format(requirement=requirement, height=height)).requirements
    return one.met, one.because


def test_two_legs_at_ninety_degrees_carry_what_the_printed_table_says() -> None:
    """71 lbf a leg for 100 lbf at 90 degrees: Rappelling (handbook) p. 61, an extract seen (facts 1.2, S1)."""
    result = checked(BRIDLE.format(requirement="drop at most 1 m", height="9"))
    loads = result.states[0].loads
    assert loads is not None
    share = {row.name: row.force / (100 * 9.80665) for row in loads.factors.rows}
    assert share["a"] == pytest.approx(0.7071, abs=0.001)
    assert share["left"] == pytest.approx(0.7071, abs=0.001)
    assert {one.name: one.included for one in loads.parts}["eye"] == pytest.approx(90, abs=0.1)


def test_strength_factors_are_compared_with_the_figure_and_the_reason() -> None:
    assert judged("strength factor at least 10")[0] is True  # c: 10 kN over 0.98 kN
    met, because = judged("strength factor at least 11")
    assert met is False
    assert because == ("c has 10.2: 10 kN, under 0.981 kN",)
    assert judged("strength factor at least 14 on a, b")[0] is True
    assert judged("strength factor at least 15 on a")[0] is False


def test_a_drop_is_judged_after_each_single_failure() -> None:
    """One leg lost, the ring hangs plumb under the other anchor: from 1 m below it to 1.414 m."""
    met, because = judged("drop at most 0.4 m after any 1 failure")
    assert met is False
    assert set(because) == {f"{one} fails: block drops about 0.41 m" for one in ("a", "b", "left", "right")}
    assert judged("drop at most 0.42 m after any 1 failure")[0] is True  # that c and eye drop it is accepted


def test_what_is_missing_is_named_and_nothing_is_passed() -> None:
    text = BRIDLE.format(requirement="strength factor at least 2", height="9").replace(
        ": at (0, 0, 9), strength", ": strength"
    )
    result = checked(text)
    assert result.requirements[0].met is None
    assert "`a: length 1.2 m`" in result.requirements[0].because[0]
    assert result.on == "connections only"


def test_no_strength_is_never_passed_silently() -> None:
    text = BRIDLE.format(requirement="strength factor at least 2", height="9").replace(
        "a, b, c: strength 10 kN, ", "a, b, c: "
    )
    (one,) = checked(text).requirements
    assert one.met is None and "no strength given" in one.because[0]


def test_the_verdict_says_what_it_rests_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.rig"
    path.write_text(
        'rig "a"\n' + BRIDLE.format(requirement="strength factor at least 10", height="9").replace("\n    ", "\n")
    )
    assert main(["check", str(path)]) == 0
    page = capsys.readouterr().out
    assert "on ONE, accepted, forces balance, by" in page and "on connections and forces" in page
    assert "Friction and the weight of the rope" in " ".join(page.split())
    assert main(["check", str(path), "--full"]) == 0
    page = capsys.readouterr().out
    assert "on ONE, accepted; forces balance" in page and "on connections and forces" in page
    assert "Friction, the weight of the rope" in page
    main(["check", str(path), "--json"])
    data = json.loads(capsys.readouterr().out)
    assert data["on"] == "connections and forces"
    assert data["states"][0]["forces"]["balanced"] is True
    main(["whatif", str(path), "a fails"])
    assert "caught after a drop of about 0.41 m and a swing of 1.00 m" in " ".join(capsys.readouterr().out.split())
    assert main(["forces", str(path)]) == 0
    assert "b from 0.69 to 0.98 kN" in " ".join(capsys.readouterr().out.split())


def test_a_rig_that_asks_for_no_forces_gets_none() -> None:
    result = checked("""
        anchor bolt: at (0, 0, 3)
        person sam
        attach bolt - strap s - sam
    """)
    assert result.states[0].loads is None and result.states[0].lacking == ()


def test_lengths_taken_in_and_let_out_change_the_attitude() -> None:
    text = """
        anchor bolt: at (0, 0, 10)
        litter basket: 20 kg, points head, foot, at (0, 0, 8), length 2 m
        attach bolt - strap at-head - basket.head
        attach bolt - strap at-foot - basket.foot
        at-head, at-foot: length 1.8 m, stretch 0 % at 100 kg
        require head-up between -1 and 1 deg on basket
        stage "Tilt"
            pay out at-foot by 0.3 m
    """
    result = checked(text)
    assert [one.states for one in result.requirements] == [(1,)]
    poses = [state.loads.now.poses[0].head_up for state in result.states if state.loads]
    assert poses[0] == pytest.approx(0, abs=0.2) and poses[1] is not None and poses[1] > 5


def test_a_backup_that_nothing_loads_yet_needs_a_place_too() -> None:
    """Once the first anchor has failed, its ring hangs on the other one."""
    text = """
        anchor one: at (0, 0, 9)
        anchor two{}
        ring eye
        person sam: 80 kg
        attach one - eye
        attach two - strap backup - eye
        attach eye - strap main - sam
        main, backup: length 2 m, stretch 0 % at 100 kg
        accept eye fails, main fails: "this test"
        require drop at most 1 m
    """
    (asked,) = checked(text.format("")).requirements
    assert asked.met is None and "`two: at (x, y, z)`" in asked.because[0]
    (judged_now,) = checked(text.format(": at (0, 0, 9)")).requirements
    assert judged_now.because == ("one fails: sam drops about 2 m",)


def test_a_body_on_its_anchor_itself_may_come_to_hang_on_its_rope() -> None:
    result = checked("""
        anchor one, two
        load rock: points eye, 80 kg
        rope red
            tied to one
            tied to rock.eye
        attach two - rock.eye
        require drop at most 1 m
    """)
    assert "`one: at (x, y, z)`" in result.requirements[0].because[0]


def test_who_may_lose_their_footing_must_be_weighed() -> None:
    result = checked("""
        anchor bolt: at (0, 0, 3)
        person sam: points waist, standing, exposed, at (0, 0, 2)
        attach bolt - strap s - sam.waist
        require drop at most 1 m
    """)
    assert "`sam: 80 kg`" in result.requirements[0].because[0]


def test_a_litter_that_fails_does_not_rise() -> None:
    result = checked("""
        anchor bolt: at (0, 0, 9)
        litter basket: points head, foot, 80 kg, at (-1, 0, 4)
        rope red
            tied to bolt
            tied to basket.foot
        require drop at most 1 m
    """)
    loads = result.states[0].loads
    assert loads is not None and loads.after is not None
    assert all(moved.drop > -0.001 for one in loads.after for moved in one.moved)


def test_a_matrix_that_is_only_just_definite_stops_nothing() -> None:
    """A random rig on which the curvature passed one factorisation and failed the other."""
    result = checked("""
        anchor a1: at (-3, 0, 3)
        pulley pulley2
        friction-hitch grip3
        footing foot1, foot2: below
        frame tri: feet foot1, foot2, at (1, 0, 6)
        pulley tri-wheel
        attach tri - tri-wheel
        load rock: points eye, lug, 80 kg, at (2, 0, 2)
        rock.eye: at (1, 0, 8)
        rock.lug: at (-2, 0, 5)
        person sam: points waist, chest, 80 kg
        rope r1
            tied to a1 as r1-k1
            through tri-wheel
            gripped by grip3, both ways
        attach grip3 - rock.eye
        attach pulley2 - carabiner link2 - rock.lug
        require drop at most 1 m
    """)
    assert result.states[0].loads is not None


UNDER_LOAD = """
anchor bolt: at (0, 0, 6)
ring eye: at (0, 0, 6)
load crate: 100 kg, points hook, at (0, 0, 4)
attach bolt - eye
attach eye - strap s - crate.hook
attach eye - strap t - crate.hook
s, t: length 2 m
stage "Change a strap"
    {first}
    detach s from crate.hook
"""


@pytest.mark.parametrize(
    ("first", "words"),
    [
        ('say "now"', "`detach s from crate.hook`: it still carries 0.49 kN, and crate hangs on it"),
        ("take in t by 0.3 m", ""),  # s hangs slack: nothing is said
        ("take in t by 0.002 m", "`detach s from crate.hook`: it still carries 0.44 kN, and crate hangs on it"),
        ("pay out s by 0.1 m", ""),
    ],
)
def test_what_a_step_opens_is_told_with_its_load(first: str, words: str) -> None:
    """Half of 100 kg on each of two alike; with t shorter by 2 mm: 100 kN / 2 m x 1 mm less, 50 N (derivation)."""
    state = checked(UNDER_LOAD.format(first=first)).states[-1]
    told = [f.text for f in state.findings if f.rule == "may-still-carry"]
    assert told == ([words] if words else [])


def test_without_forces_it_is_told_as_not_known() -> None:
    text = UNDER_LOAD.format(first='say "now"').replace(": at (0, 0, 6)", "").replace(", at (0, 0, 4)", "")
    told = [f.text for f in checked(text).states[-1].findings if f.rule == "may-still-carry"]
    assert told == [
        "`detach s from crate.hook`: it may still carry crate, since nothing has been taken in so far in this stage"
    ]


OVER_GROUND = """
anchor left: at (0, 0, 10), strength 20 kN
anchor right: at (0, 0, 10), strength 20 kN
{floor}
person sam: 100 kg, at (0, 0, 4), points waist, chest
attach left - strap tight - sam.waist
attach right - cord loose - sam.chest
tight: length 6 m, strength 20 kN
loose: length {length} m, strength 20 kN
"""


@pytest.mark.parametrize(
    ("length", "severity", "words"),
    [
        (7, None, ""),
        # at rest 10 - 8.85 - 0.43 = 0.72 m up, under the metre to the feet (derivation: stretch W l / EA)
        (8.85, "danger", "sam comes to rest on the ground"),
        (7.9, "danger", "sam strikes the ground at"),
    ],
)
def test_who_may_reach_the_ground_is_told(length: float, severity: str | None, words: str) -> None:
    text = OVER_GROUND.format(floor="footing floor: at (0, 0, 0), below", length=length)
    told = [f for f in checked(text).states[0].findings if f.rule == "reaches-ground"]
    assert [str(f.severity) for f in told] == ([severity] if severity else [])
    assert all(words in f.text and "at the height of floor, 0 m" in f.text for f in told)
    nothing = checked(OVER_GROUND.format(floor="", length=length)).states[0].findings
    assert not [f for f in nothing if f.rule == "reaches-ground"]


def test_the_fall_factor_is_told_where_it_is_one_mass_on_one_line(capsys, tmp_path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "fall.rig"
    file.write_text('rig "Fall"\n' + OVER_GROUND.format(floor="", length=8).strip() + "\n")
    assert main(["forces", str(file)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    # the tight strap is stretched by W l / EA = 59 mm when it goes
    assert "1.94 m free on 8.00 m, fall factor 0.24" in page
    assert main(["forces", str(file), "--json"]) == 0
    after = json.loads(capsys.readouterr().out)["states"][0]["forces"]["after"]
    (fall,) = [one["arrest"] for one in after if one["failures"] == ["tight fails"]]
    assert fall["line"] == "loose" and fall["free_fall_m"] == pytest.approx(2 - 980.665 * 6 / 100e3, abs=1e-3)


def test_each_anchors_share_follows_from_moments(capsys, tmp_path) -> None:  # type: ignore[no-untyped-def]
    """Two level anchors 4 m apart, the load drawn 1 m from the left one: by moments about either anchor the
    left one holds 3/4 of the weight, the right one 1/4 (derivation), whatever the legs."""
    file = tmp_path / "share.rig"
    file.write_text(
        'rig "Share"\nanchor left: at (0, 0, 10)\nanchor right: at (4, 0, 10)\n'
        "load block: 100 kg, at (1, 0, 8), points eye\n"
        "attach left - wire a - block.eye\nattach right - wire b - block.eye\na, b: stretch 0 % at 100 kg\n"
    )
    assert main(["forces", str(file), "--json"]) == 0
    left, right = json.loads(capsys.readouterr().out)["states"][0]["forces"]["anchors"]
    assert (left["share"], right["share"]) == (pytest.approx(0.75, abs=2e-4), pytest.approx(0.25, abs=2e-4))
    # the pull of each leg lies along it: atan(1/2) and atan(3/2) off plumb
    assert (left["from_plumb_deg"], right["from_plumb_deg"]) == (
        pytest.approx(26.57, abs=0.02),
        pytest.approx(56.31, abs=0.02),
    )
    assert left["without_kN"] == {"right": pytest.approx(0.9807, abs=1e-4)}
    assert main(["forces", str(file)]) == 0
    page = capsys.readouterr().out
    assert "without right" in page and "27 deg" in page and "75%" in page


def test_who_falls_by_the_rules_is_not_told_as_caught_by_a_jam(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its anchor gone, the rope's knot would run up to the pulley of a deviation and might jam there: the
    rules count on no jam, and no requirement is met by one."""
    rig = """
        anchor top: at (0, 0, 12)
        anchor side: at (2, 0, 10)
        person sam: 100 kg, points waist, at (1, 0, 6)
        attach side - sling turn-sling - pulley turn
        turn-sling: length 0.6 m
        turn: at (1.4, 0, 10)
        rope red
            tied to top with figure-eight
            through turn
            gripped by descender d - sam.waist
            stopper
        d: self-locking
        require drop at most 20 m after any 1 failure
    """
    (judged,) = checked(rig).requirements
    assert judged.met is False
    assert len(judged.because) == 6 and all("sam falls" in reason for reason in judged.because[:5])
    path = tmp_path / "turn.rig"
    path.write_text('rig "Turned"\n' + dedent(rig), encoding="utf-8")
    assert main(["forces", str(path)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "top fails: sam falls by the rules, which count on no jam and no guide" in page


LOOSE = """
    anchor near: at (0, 0, 10)
    anchor other: at (0.3, 0, 10)
    person sam: 80 kg, at (0, 0, 9), points waist, chest
    lanyard long
    attach near - lanyard short - sam.waist
    attach other - long - sam.chest
    short: length 1 m
    long: length {long} m
    require drop at most 1 m after any 1 failure
"""
"""By hand: 2 m of lanyard instead of 1 m, from 0.3 m beside, let somebody drop 0.98 m, and the stretch."""


def test_a_drop_just_over_what_is_asked_is_told_by_digits_that_show_it() -> None:
    told = [checked(LOOSE.format(long=long)).requirements[0].because for long in ("2", "3")]
    assert [one[0] for one in told] == ["near fails: sam drops about 1.01 m", "near fails: sam drops about 2 m"]


def test_by_the_lengths_in_the_file_a_line_that_hangs_loose_lets_somebody_drop() -> None:
    """The connections know of no slack here; a snug line only stretches."""
    for long, drop in ("1.98", 0.99), ("1.05", None):
        result = checked(LOOSE.format(long=long))
        (fails,) = [one for one in result.failures if one.id == "near fails"]
        fate = fails.fate("sam")
        assert (fate.kind is Kind.DROPS) == bool(drop) and (not drop or abs((fate.drop or 0) - drop) < 0.02)
        asked = analyser.whatif(analyser.read_text(f'rig "x"\n{dedent(LOOSE.format(long=long))}'), "near fails")
        assert {body.name: body.fate for body in asked.outcome.bodies}["sam"] == fate
