"""What was found at a walk-down: read with its mistakes, made into a rig, checked like any other.

The rig as found is made by changing statements and reading them anew; the engine knows the same slips as
failures of the rig as written. Two ways to one answer: both must hold the same bodies.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from textwrap import dedent

import pytest
from rigs import shipped

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.foremost import verdict_head
from analyser.doors.commands.main import main
from analyser.holding.outcome import after_each
from analyser.language.mistakes import Unreadable
from analyser.pages.writing.mistakes_page import mistakes_text
from analyser.rig.model import Effects, Failure, Nature, Rig, Role
from analyser.rig.plan import Plan
from analyser.uses.field.as_found import AsFound, as_found
from analyser.uses.field.found import STATES, found_in
from analyser.uses.field.walking import walk
from analyser.uses.incident.slips import NEVER_MADE, with_slips

EXAMPLES = Path(__file__).parent.parent / "examples"
LOWER = EXAMPLES / "litter-lower.rig"


def found(rig: Plan, text: str) -> AsFound:
    return as_found(rig, found_in(text.encode(), "day.found", set(rig.kinds)))


def wrong(rig: Plan, text: str) -> str:
    with pytest.raises(Unreadable) as told:
        found(rig, text)
    return mistakes_text(told.value.mistakes, told.value.sources)


@pytest.fixture(scope="module")
def lower() -> Plan:
    return analyser.read(LOWER)


def held(rig: Rig) -> tuple[str, ...]:
    (one,) = after_each(replace(rig, stages=()), [Effects()])
    return one.held


# -- two ways to one answer


def lines_of(rig: Rig, failures: list[Failure]) -> dict[str, Failure]:
    """The line in which each slip would be written down, with the failure that it amounts to."""
    lines: dict[str, Failure] = {}
    for one in failures:
        part = rig.parts.get(one.part)
        if one.mode == NEVER_MADE:
            a, b = one.part.split(" to ")
            lines[f"found {a} not on {b}"] = one
        elif part is None or part.is_body or part.nature is Nature.POINT:
            continue
        elif one.mode == "slips" and part.nature is Nature.GRIP:
            lines[f"found {part.name} loose"] = one
        elif one.mode in ("fails", "slips", "shifts") and part.nature is not Nature.PAD:
            lines[f"found {part.name} missing"] = one
            if part.nature in (Nature.KNOT, Nature.STOPPER):
                lines[f"found {part.name} loose"] = one
            if "connector" in part.family and part.locking is not False:
                lines[f"found {part.name} unlocked"] = one
    return lines


@pytest.mark.parametrize(
    "name",
    [
        *("litter-lower", "litter-tilt", "tripod-raise", "track-line", "tree-climb", "haul-three-to-one"),
        *("facade-work", "crossings/deviation", "crossings/pick-off", "crossings/raise-to-track"),
    ],
)
def test_what_was_found_holds_whom_the_failure_leaves_held(name: str) -> None:
    rig = analyser.read(EXAMPLES / f"{name}.rig")
    slipping = with_slips(replace(rig, stages=())).rig
    lines = lines_of(rig, list(slipping.failures))
    assert len(lines) > 15
    for line, failure in lines.items():
        (left,) = after_each(slipping, [failure.effects])
        assert held(found(rig, line).rig) == left.held, line


@pytest.mark.parametrize("name", ["litter-lower", "crossings/rebelay", "tripod-raise", "two-lines-one-ring"])
def test_every_difference_that_the_sheet_offers_can_be_read(name: str) -> None:
    rig = analyser.read(EXAMPLES / f"{name}.rig")
    offered = [line for item in walk(shipped(name)) for line in item.otherwise]
    assert {line.split()[2] for line in offered} <= {*STATES, "not"}
    for line in dict.fromkeys(offered):
        assert found(rig, line).rig.title == rig.title, line


# -- what each difference does


def test_a_rig_found_as_written_is_the_rig_as_written(lower: Plan) -> None:
    made = found(lower, 'rig "Two-rope litter lower"\nrevision 2\n')
    assert made.left_out == ()
    assert analyse(made.rig).to_json() == shipped(LOWER).to_json()


def test_a_missing_guard_bares_its_rope_and_its_failure_is_left_out(lower: Plan) -> None:
    made = found(lower, "found red-mat missing")
    over = [s.guards for rope in made.rig.ropes for s in rope.stations if s.role is Role.OVER]
    assert over == [(), ("green-mat",)]
    assert [(one.words, one.place.line, one.asked) for one in made.left_out] == [("red-mat shifts", 60, False)]
    assert "stumble strikes" in {failure.id for failure in made.rig.failures}  # of green-mat, which is there


def test_a_device_the_other_way_round_lets_its_line_go(lower: Plan) -> None:
    made = found(lower, "found left-brake reversed").rig
    (grip,) = [s for rope in made.ropes for s in rope.stations if s.part == "left-brake"]
    assert (grip.to_start, grip.to_end) == (True, False)
    result = analyse(made)
    assert {body.name: body.independent for body in result.bodies} == {"sam": 1, "vic": 1, "basket": 1}


def test_who_runs_before_anything_catches_is_never_met(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By the rules eva is held from below, by the lower anchor: a device found reversed is not passed for that."""
    day = tmp_path / "day.found"
    for name, line, words in (
        ("crossings/rebelay", "found eva-descender reversed", "eva runs down the rope in eva-descender"),
    ):
        day.write_text(f"{line}\n")
        rig = str(EXAMPLES / f"{name}.rig")
        assert main(["walkdown", rig, "--found", str(day)]) == 1
        page = " ".join(capsys.readouterr().out.split())
        assert f"{words} before anything catches" in page
        assert main(["walkdown", rig, "--found", str(day), "--json"]) == 1
        data = json.loads(capsys.readouterr().out)
        assert data["met"] is False and len(data["runs"]) == 1
        main(["walkdown", rig, "--found", str(day), "-o", str(tmp_path / "w.html")])
        assert words in (tmp_path / "w.html").read_text(encoding="utf-8")


def test_a_missing_stopper_lets_the_end_run_out() -> None:
    rig = analyser.read(EXAMPLES / "facade-work.rig")
    before = {(f.rule, f.about) for f in shipped("facade-work").findings}
    after = {(f.rule, f.about) for f in analyse(found(rig, "found working-stopper missing").rig).findings}
    assert {rule for rule, _ in after - before} == {"no-stopper"}


def test_another_kind_and_other_figures(lower: Plan) -> None:
    text = "found leg-1 is sling: strength 12 kN, length 1.1 m\nfound left-bolt: strength 12 kN\nfound red: 9 mm"
    made = found(lower, text).rig
    leg, bolt = made.parts["leg-1"], made.parts["left-bolt"]
    assert leg.kind == "sling" and dict(leg.quantities)["strength"].text == "12 kN"
    assert dict(bolt.quantities)["strength"].text == "12 kN" and bolt.at == (-0.8, 0.0, 12.4)
    assert dict(made.parts["right-bolt"].quantities)["strength"].text == "25 kN"
    red = next(rope for rope in made.ropes if rope.name == "red")
    figures = {key: value.text for key, value in red.quantities}
    assert (figures["diameter"], figures["length"]) == ("9 mm", "60 m")
    knot = found(lower, "found red-tail is overhand").rig.parts["red-tail"]
    assert knot.kind == "overhand"


def test_a_gate_that_does_not_lock_is_another_figure() -> None:
    rig = analyser.read_text(
        'rig "a"\nanchor bolt\nperson sam\ncarabiner crab: locking\nattach bolt - crab - sam\n'
        "require every connector is locking\n"
    )
    assert analyse(rig).met
    made = found(rig, "found crab: not locking").rig
    assert made.parts["crab"].locking is False and not analyse(made).met


def test_something_extra_is_written_in_the_rig_language(lower: Plan) -> None:
    text = """
        found lashing missing
        attach master - strap extra - vic-seat
        rope third: 11 mm
            tied to left-bolt with figure-eight as third-top
            tied to vic-seat with figure-eight as third-low
    """
    text = "\n".join(line.removeprefix("        ") for line in text.splitlines())
    made = found(lower, text).rig
    assert {"extra", "third-top", "third-low"} <= set(made.parts)
    assert analyse(made).body("vic").attachments == 3


def test_a_foot_that_is_missing_takes_what_stands_on_it() -> None:
    rig = analyser.read(EXAMPLES / "tripod-raise.rig")
    assert "head" not in found(rig, "found east-foot missing").rig.parts


def test_a_step_that_the_rig_as_found_cannot_take_is_left_out_and_told() -> None:
    rig = analyser.read(EXAMPLES / "crossings/deviation.rig")
    made = found(rig, "found waist-tail missing")
    assert [one.words for one in made.left_out] == ["attach waist-tail - wall-work", "detach waist-tail from wall-work"]
    states = analyse(made.rig).states
    assert len(states) == len(shipped("crossings/deviation").states) - 2


AIDED = """
    rig "Aided"
    anchor one, two, three
    person vic: points waist, chest
    attach one - sling left - vic.waist
    attach two - sling right - vic.chest
    attach three - sling tail - vic.waist
    sling aid
    attach aid - vic.chest
    require every person has 2 independent attachments
    stage "On"
        attach aid - three
        detach right from two
    stage "Off"
        detach aid from three
    stage "Back"
        attach right - two
        detach tail from three
"""


def test_a_step_that_can_be_taken_is_not_left_out_for_a_later_one() -> None:
    """The last step of a stage ends where the next stage begins: what is wrong there is none of its business."""
    plan = analyser.read_text(dedent(AIDED))
    made = found(plan, "found tail not on three")
    assert [one.words for one in made.left_out] == ["detach tail from three"]
    result = analyse(made.rig)
    assert not result.met and "hangs on ONE after step 2.1" in verdict_head(result)


def test_a_requirement_that_cannot_be_asked_is_never_met(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, day = tmp_path / "a.rig", tmp_path / "day.found"
    path.write_text(
        'rig "a"\nanchor bolt, post\nperson sam: points waist, chest\nring eye: strength 30 kN\n'
        "attach bolt - strap s - sam.waist\nattach post - strap t - sam.chest\n"
        "load bag: 5 kg\nattach bolt - eye - bag\n"
        "require sam held after any 1 failure\nrequire strength factor at least 2 on eye\n"
    )
    day.write_text("found eye missing\n")
    assert main(["walkdown", str(path), "--found", str(day), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [one["words"] for one in data["left_out"]] == ["require strength factor at least 2 on eye"]
    assert data["met"] is False


# -- parts of later steps

PICK_OFF = """rig "A clip that comes later"
anchor left, right
person ron: points waist, chest
person cas: points waist, chest
ring hub
attach left - strap ron-strap - ron.waist
attach right - strap ron-second - ron.chest
attach left - hub
attach right - strap cas-strap - cas.waist
attach right - strap cas-second - cas.chest
rope spare: 11 mm
    tied to left with figure-eight as spare-top
    stopper
stage "Over"
    attach hub - strap short (22 kN) - carabiner clip (locking) - cas.waist
    rope extra: 10 mm
        tied to right with figure-eight as extra-top
        tied to cas.chest with bowline as extra-low
    attach cas.chest - rope-grab follower to spare between spare-top and spare-stopper, load from spare-top
    detach cas-strap from right
    detach cas-second from right
"""


def counts(rig: Plan, body: str) -> list[int]:
    """In how many attachments a body is held, state by state."""
    return [state.outcome.body(body).attachments for state in analyse(rig).states]


@pytest.mark.parametrize(
    ("line", "attachments", "left_out"),
    [
        ("found hub: strength 30 kN", [2, 3, 4, 5, 4, 3], 0),
        ("found clip missing", [2, 2, 3, 4, 3, 2], 0),
        ("found clip not on cas.waist", [2, 2, 3, 4, 3, 2], 0),
        ("found short unlocked", [], 0),
        ("found extra-low loose", [2, 3, 4, 3, 2], 1),
        ("found extra missing", [2, 3, 4, 3, 2], 1),
        ("found follower missing", [2, 3, 4, 3, 2], 1),
        ("found follower loose", [2, 3, 4, 5, 4, 3], 0),
        ("found follower reversed", [2, 3, 4, 4, 3, 2], 0),
        ("found spare-top missing", [2, 3, 4, 4, 3, 2], 0),
        ("found cas-second missing", [1, 2, 3, 4, 3], 1),
    ],
)
def test_what_a_later_step_brings_can_be_found_otherwise(line: str, attachments: list[int], left_out: int) -> None:
    rig = analyser.read_text(PICK_OFF)
    if not attachments:
        assert "only a connector has a gate to lock" in wrong(rig, line)
        return
    made = found(rig, line)
    assert counts(made.rig, "cas") == attachments
    assert len(made.left_out) == left_out
    runs = [(one.device, one.bodies) for one in made.running(rig)]
    assert runs == ([("follower", ("cas",))] if "follower loose" in line else [])


def test_other_figures_of_what_a_later_step_brings() -> None:
    text = "found short is sling: strength 4 kN\nfound extra: 8 mm\nclip: strength 9 kN, not locking\n"
    last = found(analyser.read_text(PICK_OFF), text).rig.states[-1]
    short, clip = last.parts["short"], last.parts["clip"]
    assert (short.kind, dict(short.quantities)["strength"].text) == ("sling", "4 kN")
    assert (dict(clip.quantities)["strength"].text, clip.locking) == ("9 kN", False)
    assert dict(last.index.ropes["extra"].quantities)["diameter"].text == "8 mm"


def test_a_bend_that_nothing_was_found_of_stays() -> None:
    """A knot that joins two ropes touches nothing: that is no sign that it ties nothing."""
    rig = analyser.read_text(
        'rig "Two lengths"\nanchor bolt\nperson sam: points waist, chest\n'
        "rope first\n    tied to bolt with figure-eight\n"
        "rope second\n    joined to end of first with double-fishermans as bend\n    tied to sam.waist with bowline\n"
        "attach bolt - strap s - sam.chest\n"
    )
    made = found(rig, "found s missing").rig
    assert "bend" in made.parts and held(made) == ("sam",)


# -- each line by itself


def test_each_line_says_what_it_alone_makes_worse(
    lower: Plan, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    day = tmp_path / "day.found"
    day.write_text(
        "found sam-strap missing\nfound red: 12 mm\nrope third: 11 mm\n"
        "    tied to left-bolt with figure-eight as third-top\n    tied to master with bowline as third-low\n"
        "interlock third-low, red-bowline\n"
    )
    main(["walkdown", str(LOWER), "--found", str(day), "--json"])
    told = json.loads(capsys.readouterr().out)["worse_by_line"]
    assert [[one["line"] for one in row["found"]] for row in told] == [[1], [2], [3, 6]]
    assert [bool(row["worse"]) for row in told] == [True, False, False] and all(row["by_itself"] for row in told)
    assert any("sam has 1 attachment" in one for one in told[0]["worse"])
    main(["walkdown", str(LOWER), "--found", str(day)])
    page = " ".join(capsys.readouterr().out.split())
    assert page.index("sam has 1 attachment") < page.index("line 2 found red: 12 mm this line alone: nothing worse")


# -- mistakes, each with its line


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("found left-carb unlocked", "no part or rope called `left-carb`"),
        ("found left-crab unlokced", "did you mean `unlocked`?"),
        ("found left-crab", "how was `left-crab` found?"),
        ("found", "`found` names nothing"),
        ("found left-crab unlocked now", "`now` is one thing too much here"),
        ("found left-bolt unlocked", "only a connector has a gate to lock"),
        ("found master reversed", "no rope is gripped by `master`"),
        ("found vic missing", "whether people, loads and their points are there is seen"),
        ("found leg-1 not on left-bolt", "`leg-1` is on basket.head-left and master"),
        ("found leg-1 not on lef-bolt", "did you mean `left-bolt`?"),
        ("found leg-1 is slign", "did you mean `sling`?"),
        ("found leg-1 is bowline", "cannot have been a bowline"),
        ("found leg-1: strength 12 knots", "day.found:1:26: `knots` is not a unit"),
        ("found leg-1: ", "after the colon nothing is said"),
        ("found red-tail: strength 3 kN", "it has no figures of its own"),
        ("found leg-1 loose", "knots, hitches, stoppers and buckles are left loose"),
        ('rig "Another"\n', "this was found on “Another”, and the rig is “Two-rope litter lower”"),
        ("revision 1\nfound leg-1 missing", "found on revision 1, and the rig is revision 2"),
        ('accept master fails: "no"', "this line is none of them"),
        ("attach master - strap leg-1 - vic", "declared twice"),
        ("attach master - leg-9", "day.found:1"),
        ("", "nothing is written here"),
        ("# only a remark\n", "nothing is written here"),
    ],
)
def test_a_mistake_is_told_with_its_line_and_what_to_write(lower: Rig, text: str, told: str) -> None:
    page = wrong(lower, text)
    assert told in page and page.startswith("day.found:")
    assert "Traceback" not in page


def test_every_independent_mistake_is_told_in_one_run(lower: Plan) -> None:
    page = wrong(lower, "found a missing\nfound left-crab loose\nfound leg-1 upside\nring ring ring\n")
    assert page.count("day.found:") == 4


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["walkdown", str(LOWER), "--found", str(tmp_path / "none.found")]) == 2
    assert "there is no such file" in capsys.readouterr().err
    (tmp_path / "bad.found").write_bytes(b"found \xff")
    assert main(["walkdown", str(LOWER), "--found", str(tmp_path / "bad.found"), "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["errors"][0]["text"] == "this is not UTF-8 text"


# -- the command


def test_the_verdict_says_as_built(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    day = tmp_path / "day.found"
    day.write_text('note "rain since noon"\nfound left-brake reversed\n')
    assert main(["walkdown", str(LOWER), "--found", str(day)]) == 1
    page = capsys.readouterr().out
    assert "found left-brake reversed" in page and "rain since noon" in page
    assert "\nas built: not met (3 of 4 requirements broken)" in page
    assert "vic has 1 independent attachment" in " ".join(page.split())
    assert main(["walkdown", str(LOWER), "--json"]) == 0
    written = json.loads(capsys.readouterr().out)
    assert (written["verdict_on"], written["found_in"], written["check"]) == ("as written", None, None)
    main(["walkdown", str(LOWER), "--found", str(day), "--json"])
    built = json.loads(capsys.readouterr().out)
    assert built["verdict_on"] == "as built" and built["differences"] == [
        {"words": "found left-brake reversed", "line": 2}
    ]
    assert built["check"]["verdict"] == "not met" and built["worse"]


def test_nothing_found_otherwise_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    day = tmp_path / "day.found"
    day.write_text('rig "Two-rope litter lower"\n')
    assert main(["walkdown", str(LOWER), "--found", str(day)]) == 0
    page = capsys.readouterr().out
    assert "nothing was found otherwise" in page
    assert page.rstrip().splitlines()[-1].startswith("as built: met, on connections only")


def test_the_example_that_the_readme_shows() -> None:
    rig = analyser.read(LOWER)
    text = (EXAMPLES / "found/litter-lower.found").read_text(encoding="utf-8")
    sam = analyse(found(rig, text).rig).body("sam")
    assert (sam.attachments, sam.smallest_failure_set) == (1, 1)
    alone = [one for one in analyse(found(rig, text).rig).failure_sets["sam"] if len(one) == 1]
    assert len(alone) == 5 and ("sam-descender slips",) in alone


def test_a_number_sign_inside_quotes_is_no_comment(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    day = tmp_path / "day.found"
    day.write_text('left-crab: is "crab #7"    # from the truck\n')
    main(["walkdown", str(LOWER), "--found", str(day), "--json"])
    built = json.loads(capsys.readouterr().out)
    assert built["differences"] == [{"words": 'left-crab: is "crab #7"', "line": 1}]
