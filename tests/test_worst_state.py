"""Where a plan is worst is what its pages and its picture show first."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from random_stages import random_stage

import analyser
from analyser.checking.first_look import first_look
from analyser.checking.foremost import worst_place, worst_state, worst_words
from analyser.checking.results import Result, State
from analyser.doors.commands.main import main
from analyser.pages.drawing.colours import ALARM
from analyser.pages.tree import Section
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.check_page import check_page
from analyser.pages.writing.short_check import short_page
from analyser.rig.model import Nature
from analyser.uses.field.at_first import what_first

PLAN = """rig "Off one after the other"
anchor left, right
person sam: points waist, chest
attach left - strap s - sam.waist
attach right - strap t - sam.chest
require everyone held after any 1 failure
stage "Off"
    detach s from sam.waist
    detach t from right
    attach right - t
    attach s - sam.waist
"""
MET = PLAN.replace("    detach t from right\n    attach right - t\n", "").replace("    detach s from sam.waist\n", "")


def of(text: str) -> Result:
    return analyser.check(analyser.read_text(text))


def flowing(told: str) -> str:
    return " ".join(told.split())


def test_the_pages_begin_with_the_worst_state() -> None:
    result = of(PLAN)
    verdict = "NOT MET: sam is NOT HELD after step 1.2 (line 9)"
    short, whole = flowing(plain(short_page(result, "a.rig"))), plain(check_page(result, "a.rig"))
    assert short.count(verdict) == 2 and flowing(whole).count(verdict) == 2
    assert "WHAT BRINGS THEM DOWN, AFTER STEP 1.2 sam NOT HELD" in short
    assert "before as first attached: fewest independent 2 (sam)" in short and "who is held in 4 other states" in short
    heads = [one.title for one in check_page(result, "a.rig").blocks if isinstance(one, Section)]
    assert heads[:6] == [
        "Who is held, and by what, after step 1.2",
        "What brings them down, after step 1.2",
        "What two together bring down, after step 1.2",
        "Who is held, and by what, as first attached",
        "What brings them down, as first attached",
        "What two together bring down, as first attached",
    ]


def test_of_a_plan_that_is_met_the_first_state_comes_first() -> None:
    result = of(MET)
    assert result.met and worst_place(result) == (0, 0)
    assert "WHAT BRINGS THEM DOWN, AS FIRST ATTACHED" in plain(short_page(result, "a.rig"))


def test_the_picture_is_of_the_worst_state_and_another_can_be_asked_for(tmp_path: Path) -> None:
    rig, made = tmp_path / "a.rig", tmp_path / "a.dot"
    rig.write_text(PLAN, encoding="utf-8")
    drawn = {}
    for state in ((), ("--state", "0"), ("--state", "3")):
        assert main(["draw", str(rig), "-o", str(made), *state]) == 0
        drawn[state] = made.read_text(encoding="utf-8")
    assert "State 2, after step 1.2, nothing failed" in drawn[()] and "NOT HELD" in drawn[()]
    assert "Drawn where it is worst." in flowing(drawn[()])
    assert "As first attached, nothing failed." in drawn["--state", "0"]
    assert "State 3" in drawn["--state", "3"] and "where it is worst" not in drawn["--state", "3"]
    assert drawn["--state", "3"].count(ALARM) and not drawn["--state", "0"].count(ALARM), "only where one is missing"


def test_the_report_begins_with_it(tmp_path: Path) -> None:
    rig, made = tmp_path / "a.rig", tmp_path / "a.html"
    for text, begins, title in ((PLAN, 2, "after step 1.2"), (MET, 0, "as first attached")):
        rig.write_text(text, encoding="utf-8")
        made.unlink(missing_ok=True)
        main(["report", str(rig), "-o", str(made)])
        page = made.read_text(encoding="utf-8")
        assert re.findall(r"<h2>(Who is held[^<]*)</h2>", page) == [f"Who is held, and by what, {title}"]
        assert f'id="state" min="0" max="{4 if begins else 1}" value="{begins}"' in page
        assert f'"begins":{begins}' in page.replace(" ", "")


def test_a_procedure_says_after_which_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "a.rig"
    rig.write_text(PLAN, encoding="utf-8")
    main(["procedure", str(rig), "-o", "-"])
    assert (
        "| everyone held after any 1 failure | **NOT MET** after steps 1.1, 1.2 and 1.3: see" in capsys.readouterr().out
    )
    main(["procedure", str(rig), "--json"])
    assert json.loads(capsys.readouterr().out)["requirements"][0]["steps"] == ["1.1", "1.2", "1.3"]


def test_within_a_step() -> None:
    text = (Path(__file__).parent / "test_state_views.py").read_text(encoding="utf-8")
    slid = re.search(r'PAST_A_KNOT = """(.*?)"""', text, re.DOTALL)
    assert slid
    result = of(slid[1])
    number, during = worst_place(result)
    assert (number, worst_state(result).when) == (1, "while brake is off red")
    assert result.at(number, during).states[0].when == "while brake is off red"


@pytest.mark.parametrize("seed", range(25))
def test_nowhere_else_are_more_people_unheld(seed: int) -> None:
    result = of(random_stage(seed, 5))

    def unheld(state: object) -> int:
        return sum(not body.held and body.kind == "person" for body in state.outcome.bodies)  # type: ignore[attr-defined]

    most = max(map(unheld, result.every_state))
    worst = worst_state(result)
    if not result.met and most:
        assert unheld(worst) == most
        first = next(state for state in result.every_state if unheld(state) == most)
        assert worst.number <= first.number or sum(not b.held for b in worst.outcome.bodies) > sum(
            not b.held for b in first.outcome.bodies
        )
    assert Nature.PERSON in {body.nature for body in worst.rig.bodies}


def falling(result: Result, numbered: str) -> dict[str, bool]:
    """Of everybody after a step, or while it is done, whether they are held with nothing failed: those who are not, or
    hang on one."""
    found: dict[str, bool] = {}
    accepted = {one.failure for one in result.rig.accepted}
    for state in result.every_state:
        if state.numbered == numbered and state.step:
            for body in state.outcome.bodies:
                if not body.held:
                    found[body.name] = False
                elif any(body.name in one.falls and one.id not in accepted for one in state.outcome.failures):
                    found.setdefault(body.name, True)
    return found


@pytest.mark.parametrize("seed", range(900, 930))
def test_the_step_to_stop_before_is_the_first_after_which_they_hang_on_one(seed: int) -> None:
    """Told again from the states alone: whoever is named hangs on one, or isn't held, after that step."""
    result = of(random_stage(seed, 6))
    look = first_look(result)
    step = look.step
    if step is None:
        return
    numbers = [state.numbered for state in result.states]
    if look.stopped_by_rule:  # it breaks something else that is asked for, and nothing is broken before it
        assert result.broken_states[0] == numbers.index(step.number)
        return
    one = look.endangered[0]
    named = one.already if one.earlier else one.bodies
    after = falling(result, step.number)
    held = one.earlier is not None or not one.unheld
    assert named and all(after.get(name) is held or (held and name in after) for name in named)
    for before in numbers[1 : numbers.index(step.number)]:
        assert not {*named} & {*falling(result, before)}, "not before it"
    told = dict(next(iter(what_first(look))).gaps)
    assert (told["step"], told["count"]) == (step.number, len(named))


def level(state: State, name: str) -> int:
    """How bad it is: not held; on one; on one, accepted; better."""
    body = next((one for one in state.outcome.bodies if one.name == name), None)
    accepted = {one.failure for one in state.rig.accepted}
    alone = {one.id in accepted for one in state.outcome.failures if body and name in one.falls}
    if body is None or (body.held and not alone):
        return 3
    return 0 if not body.held else 1 if False in alone else 2


@pytest.mark.parametrize("seed", range(900, 925))
def test_until_when_is_told_from_the_states(seed: int) -> None:
    result = of(random_stage(seed, 6))
    states = list(result.every_state)
    for one in first_look(result).on_one:
        if one.until is None or one.until.during or (one.at and one.at.during):
            continue
        worst = 0 if one.unheld else 2 if one.accepted else 1
        numbers = [(state.numbered, bool(state.when)) for state in states]
        start = numbers.index((one.at.number if one.at else "0", False))
        end = numbers.index((one.until.number, False))
        for name in one.bodies:
            assert all(level(state, name) == worst for state in states[start:end])
            assert all(level(state, name) > worst for state in states[end:]), "and not again"


TIPS = """rig "A leg off and on"
anchor beam, post
litter basket: points head, foot
person sam: points waist
attach beam - strap one - basket.head
attach beam - strap two - basket.foot
attach post - strap s - sam.waist
stage "Off"
    detach two from basket.foot
    attach two - basket.foot
"""
RUNS = """rope red
    tied to basket.head
    through wheel
    tied to basket.foot
"""


def test_what_tips_only_after_a_step_is_told_with_that_step() -> None:
    later = flowing(plain(short_page(of(TIPS), "a.rig")))
    assert "with nothing failed basket tips after step 1.1" in later
    runs = TIPS.replace("attach beam - strap one - basket.head\n", "pulley wheel\nattach beam - wheel\n" + RUNS)
    tipping = worst_words(of(runs.replace("attach beam - strap two - basket.foot\n", "strap two\n").split("stage")[0]))
    assert "with nothing failed basket tips" in tipping and "tips after" not in tipping


def test_the_reasons_of_a_requirement_begin_with_the_worst_state() -> None:
    asked = "require every person has 2 independent attachments\n"
    result = of(PLAN.replace("require everyone held", f"{asked}require everyone held"))
    many, after = (one.because for one in result.requirements)
    assert many[0].endswith(": sam has 0")
    assert "sam has 1" in many[1]
    assert after[0].endswith("nothing failed: sam falls") and "after step 1.2" in after[0]


def test_only_in_between_is_not_said_where_more_is_broken() -> None:
    later = PLAN + "    detach t\n"
    for text, only in ((PLAN, True), (later, False)):
        result = of(text)
        assert [one.only for one in result.in_between] == [only]
        assert ("broken only in between" in flowing(plain(check_page(result, "a.rig")))) is only
        assert "broken in between" in flowing(plain(check_page(result, "a.rig"))) or only
