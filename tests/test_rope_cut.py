"""`red is cut`, and nobody says where: each span in turn, in every place where a failure is named."""

from __future__ import annotations

import json
import re
from itertools import product
from pathlib import Path

import pytest
from test_examples import EXAMPLES

import analyser
from analyser.checking.calling import At, Refused, chosen
from analyser.checking.scenario import after_asked
from analyser.doors.commands.main import main
from analyser.pages.writing.grouping import alike
from analyser.rig.plan import Plan
from analyser.uses.incident.case import open_case

TWO = """rig "Two on one rope"  # invented
anchor top, side
person sam: points waist, chest
person vic: points waist
edge lip
rope red
    tied to top as red-top
    over lip
    gripped by ascender grab - sam.waist, load from red-top
    tied to vic.waist as red-low
    stopper as red-end
rope green
    tied to side as green-top
    tied to sam.chest as green-low
"""
SPANS = ["red[red-top..lip]", "red[lip..grab]", "red[grab..red-low]", "red[red-low..red-end]"]


def read(*lines: str) -> Plan:
    return analyser.read_text(TWO + "".join(f"{line}\n" for line in lines), "cut.rig", Path())


def test_each_span_in_turn_and_the_worst_told() -> None:
    """Above the grab sam is left on green alone and vic falls; under it only vic falls; the tail carries nobody."""
    rig = read()
    after = after_asked(At(rig), chosen(rig, ["red is cut"]))
    told = {one.failed: one.falls for one in after.in_turn}
    assert told == {(f"{span} is cut",): ("vic",) if span != SPANS[3] else () for span in SPANS}
    assert after.in_turn[0].failures == after.failures and after.failed[0] in {f"{one} is cut" for one in SPANS[:2]}
    assert after.outcome.body("sam").independent == 1
    assert after.in_turn[-1].failed == (f"{SPANS[3]} is cut",)


@pytest.mark.parametrize(
    ("said", "spans"),
    [
        ("red is cut", SPANS),
        ("red is cut between red-top and grab", SPANS[:2]),
        ("red is cut between grab and red-top", SPANS[:2]),
        ("red is cut between lip and grab", SPANS[1:2]),
        ("red[lip..grab]", SPANS[1:2]),
        ("red[lip..grab] is cut", SPANS[1:2]),
    ],
)
def test_what_a_rope_that_is_cut_stands_for(said: str, spans: list[str]) -> None:
    (found,) = chosen(read(), [said])
    assert [one.part for one in found] == spans


@pytest.mark.parametrize("said", ["red is cut between lip and k", "blue is cut", "top is cut"])
def test_what_no_rope_is_cut_by(said: str) -> None:
    with pytest.raises(Refused):
        chosen(read(), [said])


def test_with_another_failure_every_pair_is_asked() -> None:
    rig = read()
    after = after_asked(At(rig), chosen(rig, ["green-top slips", "red is cut"]))
    assert len(after.in_turn) == 4 and after.falls == ("sam", "vic")
    assert after.in_turn[0].failed[0] == "green-top slips"


def test_a_span_taken_as_sound_is_not_asked() -> None:
    rig = read('sound red is cut between red-top and lip: "in a steel tube"')
    assert [one.part for one in chosen(rig, ["red is cut"])[0]] == SPANS[1:]


def test_what_is_said_of_the_whole_rope_is_said_of_each_span() -> None:
    rig = read('accept red is cut: "watched"', 'latent red is cut: "an old cut"', "likelihood red is cut: 1e-4")
    assert [one.failure for one in rig.accepted] == sorted(f"{span} is cut" for span in SPANS)
    assert [one.failure for one in rig.latent] == sorted(f"{span} is cut" for span in SPANS)
    assert {one.likelihood for one in rig.failures if one.id.owner == "red"} == {1e-4}


def test_a_cause_cuts_all_of_it_and_is_no_better_than_any_one_cut() -> None:
    rig = read("cause wheel: red is cut between red-top and grab")
    assert rig.index.failures["wheel strikes"].effects.cut == set(SPANS[:2])


# -- after an accident


def explained(*lines: str) -> set[tuple[str, ...]]:
    made = open_case(read("observed", *(f"    {line}" for line in lines))).made
    return {tuple(sorted(one)) for told in made.explanations for one in product(*told.choices)}


def test_a_rope_found_cut_was_cut_somewhere() -> None:
    """Whichever span it was: what explains that span found cut explains the rope found cut, and nothing else does."""
    facts = ("fell vic", "stayed sam")
    each = {one for span in SPANS for one in explained(*facts, f"found {span} is cut")}
    assert {(f"{span} is cut",) for span in SPANS[:3]} <= explained(*facts, "found red is cut") <= each
    low = explained(*facts, "found red is cut between grab and red-low")
    assert low == explained(*facts, f"found {SPANS[2]} is cut") and (f"{SPANS[2]} is cut",) in low


def test_a_rope_that_was_not_cut_was_cut_nowhere() -> None:
    told = explained("fell vic", 'not red is cut: "whole, by hand and eye"')
    assert told and not any("is cut" in name for one in told for name in one)


def test_found_cut_and_every_span_found_whole() -> None:
    """Two who contradict each other: both sides are shown, and what each would explain."""
    case = open_case(read("observed", "    found red is cut", "    intact red"))
    assert case.conflict and not case.made.explanations and case.conflict.at_any_order
    sides = {(one.verb, one.name): side.explanations for side in case.conflict.sides for one in side.given_up}
    assert set(sides) == {("found", "red is cut"), *(("intact", str(span)) for span in SPANS)}
    assert all(sides.values())


# -- what is printed is taken back


def test_every_cut_that_an_example_prints_in_few_words_is_taken_back() -> None:
    """`red is cut between a and b`: as `check` groups them, `whatif` understands them; each stands for those spans."""
    said = 0
    for path in sorted(EXAMPLES.glob("*.rig")):
        rig = analyser.read(path)
        words = alike(rig, [str(one.id) for one in rig.failures])
        for piece in words.split("; "):
            if re.search(r"\S is cut", piece):
                (found,) = chosen(rig, [piece])
                assert alike(rig, [str(one.id) for one in found]) == piece
                said += 1
    assert said > 10


def test_the_page_and_the_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "cut.rig"
    path.write_text(TWO, encoding="utf-8")
    assert main(["whatif", str(path), "red is cut"]) == 1
    page = capsys.readouterr().out
    assert (
        "THE WORST OF" in page
        and re.search(r"vic falls +red is cut between", page)
        and re.search(r"all held +red is cut between red-low", page)
    )
    main(["whatif", str(path), "red is cut", "--json"])
    assert [len(one["falls"]) for one in json.loads(capsys.readouterr().out)["in_turn"]] == [1, 1, 1, 0]
    assert main(["draw", str(path), "--failing", "red is cut", "-o", str(tmp_path / "cut.svg")]) == 0
