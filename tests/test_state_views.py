"""One state of a rig with stages: picked by number or by stage and step, drawn, asked about; a film of all."""

from __future__ import annotations

import json
import re
from functools import partial
from pathlib import Path

import pytest

import analyser
from analyser.doors.commands.main import main
from analyser.pages.drawing.film import everything, film, slug
from analyser.pages.drawing.rendering import lay_out, render

TWO_STAGES = """rig "Change of legs"
anchor left, right
ring master
person sam: points waist, chest
litter basket: points head, foot
attach left - master
attach right - strap tie - master
attach master - strap leg-1 - basket.head
attach master - strap leg-2 - basket.foot
attach left - strap s - sam.waist
attach right - strap t - sam.chest
rope red
    tied to right as top
    tied to sam.chest as low
stage "Lengthen"
    attach master - strap long - basket.foot
    detach leg-2
stage "Back"
    check "all well"
    rerig red
        tied to left as top
        tied to sam.chest as low
    land sam on ground
"""


@pytest.fixture
def rig_file(tmp_path: Path) -> str:
    path = tmp_path / "legs.rig"
    path.write_text(TWO_STAGES)
    return str(path)


@pytest.mark.parametrize(
    ("picked", "number"),
    [
        ([], 0),
        (["--state", "0"], 0),
        (["--state", "2"], 2),
        (["--stage", "Lengthen", "--step", "2"], 2),
        (["--stage", "Lengthen"], 2),
        (["--stage", "Back", "--step", "1"], 3),
        (["--stage", "Back"], 5),
    ],
)
@pytest.mark.parametrize("command", [["whatif", "left fails"], ["why", "basket"], ["rank"]])
def test_a_state_is_picked_by_its_number_or_its_stage_and_step(
    rig_file: str, command: list[str], picked: list[str], number: int, capsys: pytest.CaptureFixture[str]
) -> None:
    name, *rest = command
    assert main([name, rig_file, *rest, *picked, "--json"]) in (0, 1)
    assert json.loads(capsys.readouterr().out)["state"] == number
    main([name, rig_file, *rest, *picked])
    assert (f"state {number}, after" in capsys.readouterr().out) == (number > 0)


@pytest.mark.parametrize(
    ("picked", "said"),
    [
        (["--state", "9"], ("no state 9", "0 to 5")),
        (["--stage", "Lenghten"], ('no stage called "Lenghten"', "did you mean `Lengthen`?")),
        (["--stage", "Elsewhere"], ('"Elsewhere"', 'there are: "Lengthen", "Back"')),
        (["--stage", "Back", "--step", "4"], ("no step 4", "1 to 3")),
        (["--stage", "Back", "--step", "0"], ("no step 0", "1 to 3")),
        (["--step", "1"], ("steps of one stage", '"Lengthen", "Back"')),
        (["--state", "1", "--stage", "Back"], ("--state", "give one of the two")),
    ],
)
@pytest.mark.parametrize("command", ["whatif", "why", "rank", "draw"])
def test_a_state_that_is_not_there_is_told_with_what_there_is(
    rig_file: str, command: str, picked: list[str], said: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    rest = {"whatif": ["left fails"], "draw": ["-o", "never.svg"]}.get(command, [])
    assert main([command, rig_file, *rest, *picked]) == 2
    error = capsys.readouterr().err
    assert all(words in error for words in said), error
    assert not Path("never.svg").exists()


def test_a_rig_without_stages_has_one_state(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "one.rig"
    path.write_text('rig "One"\nanchor bolt\nperson sam: points waist\nattach bolt - strap s - sam.waist\n')
    assert main(["why", str(path), "--state", "1"]) == 2
    assert "it has no stages: only state 0" in capsys.readouterr().err
    assert main(["why", str(path), "--stage", "Back"]) == 2
    assert "this rig has no stages" in capsys.readouterr().err
    assert main(["why", str(path), "--step", "1"]) == 2
    assert "this rig has no stages" in capsys.readouterr().err


def test_what_if_in_a_state_is_what_the_check_says_of_that_state(
    rig_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    result = analyser.check(analyser.read(rig_file))
    for state in result.states:
        for failure in state.outcome.failures:
            assert main(["whatif", rig_file, failure.id, "--state", str(state.number), "--json"]) in (0, 1)
            assert tuple(json.loads(capsys.readouterr().out)["falls"]) == failure.falls


def test_a_failure_of_what_is_not_there_in_that_state_is_told(rig_file: str, capsys) -> None:
    assert main(["whatif", rig_file, "long fails"]) == 2
    assert main(["whatif", rig_file, "long fails", "--state", "1"]) == 0
    capsys.readouterr()


def test_one_state_is_drawn_with_its_step_in_the_heading(rig_file: str, tmp_path: Path) -> None:
    target = tmp_path / "state.dot"
    assert main(["draw", rig_file, "-o", str(target), "--stage", "Lengthen", "--step", "1"]) == 0
    source = target.read_text()
    assert "State 1, after step 1.1, nothing failed" in source
    assert "<B>long</B>" in source
    assert main(["draw", rig_file, "-o", str(target), "--state", "5", "--failing", "left fails"]) == 0
    drawn = re.sub(r"</FONT></B></TD></TR><TR><TD[^>]*><B><FONT[^>]*>", " ", target.read_text())
    assert "State 5, stage “Back”" in drawn and "What is left after: left fails." in drawn
    assert main(["draw", rig_file, "-o", str(target)]) == 0
    assert "As first attached, nothing failed." in target.read_text()


# -- the film


def text_of(svg: str) -> str:
    return " ".join(re.findall(r">([^<>\n]+)<", svg))


def test_a_film_has_one_picture_a_state_named_in_order_and_the_same_every_time(rig_file: str, tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert main(["draw", rig_file, "--film", str(tmp_path / name)]) == 0
    names = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert names == [
        "00-as-first-attached.svg",
        "01-attach-master-strap-long-basket-foot.svg",
        "02-detach-leg-2.svg",
        "03-check-all-well.svg",
        "03.1-while-red-is-laid-anew.svg",
        "04-rerig-red.svg",
        "05-land-sam-on-ground.svg",
    ]
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_the_pictures_of_a_film_are_laid_out_alike(rig_file: str) -> None:
    result = analyser.check(analyser.read(rig_file))
    pictures = list(film(result, lay_out))
    places = [dict(re.findall(r"^\t(n\d+) \[.*?pos=\"([^\"]+)\"", one.source, re.M)) for one in pictures]
    assert len(places[0]) > 8 and all(one == places[0] for one in places)
    frames = {re.search(r'<svg width="[^"]+" height="[^"]+"', _svg(one.source)) for one in pictures}
    assert len({match[0] for match in frames if match}) == 1


def _svg(source: str) -> str:
    return render(source, "svg", placed=True).decode()


def test_what_a_step_changes_is_marked_by_a_word_and_a_line(rig_file: str) -> None:
    result = analyser.check(analyser.read(rig_file))
    svgs = [_svg(one.source) for one in film(result, lay_out)]
    first, attached, detached, checked, meanwhile, rerigged, landed = (text_of(one) for one in svgs)
    legend = "NEW, CHANGED: by the step that this state is after"
    counts = [re.sub(legend, "", one).count("NEW") for one in (first, attached, detached, checked)]
    assert counts == [0, 3, 0, 0]  # the strap and its two contacts
    assert "long" not in first.split() and "long" in attached.split()
    assert [one.split().count("OFF") for one in (attached, detached, checked)] == [0, 2, 0]
    assert svgs[2].count("stroke-dasharray") > svgs[3].count("stroke-dasharray")
    assert "TAKEN OUT" in meanwhile.replace("OFF, TAKEN OUT by it", "")
    assert "NEW" in rerigged.replace(legend, "") and "OFF" not in rerigged.replace("OFF, TAKEN OUT by it", "").split()
    assert "CHANGED" in landed.replace(legend, "")


def test_a_film_overwrites_nothing(rig_file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "film"
    folder.mkdir()
    kept = folder / "00-as-first-attached.svg"
    kept.write_text("mine")
    assert main(["draw", rig_file, "--film", str(folder)]) == 2
    assert "a film overwrites none" in capsys.readouterr().err
    assert kept.read_text() == "mine" and list(folder.iterdir()) == [kept]
    assert main(["draw", rig_file, "--film", str(kept)]) == 2
    assert main(["draw", rig_file, "--film", str(tmp_path / "new"), "--state", "1"]) == 2
    assert "every state" in capsys.readouterr().err and not (tmp_path / "new").exists()


def test_a_rope_laid_anew_is_there_once_for_each_way_it_is_laid(rig_file: str) -> None:
    whole = everything(analyser.check(analyser.read(rig_file)))
    assert [rope.spans for rope in whole.ropes if rope.name == "red"] == [("red[top..low]",)]
    assert "long" in whole.parts and "leg-2" in whole.parts


@pytest.mark.parametrize(
    ("words", "name"),
    [("lock off left-brake", "lock-off-left-brake"), ('say "…"', "say"), ("§", "step"), ("x" * 90, "x" * 48)],
)
def test_steps_make_names_of_files(words: str, name: str) -> None:
    assert slug(words) == name


def test_a_film_of_a_rig_without_stages_is_one_picture() -> None:
    rig = analyser.read_text('rig "One"\nanchor bolt\nperson sam: points waist\nattach bolt - strap s - sam.waist\n')
    (picture,) = film(analyser.check(rig), partial(lay_out, system=False))
    assert picture.name == "00-as-first-attached" and "<svg" in _svg(picture.source)


# -- what is true only while a step is being done

PAST_A_KNOT = """rig "Past a knot"
anchor bolt, post
person sam: points waist, chest
attach post - strap s - sam.chest
rope red
    tied to bolt as top
    gripped by descender brake - sam.waist, load from top
    through turn
    tied to post as foot
    stopper
pulley turn
attach post - turn
require everyone held after any 1 failure
stage "On"
    slide brake along red past foot
"""
NOW = ["--state", "1", "--during", "1"]


@pytest.fixture
def slid(tmp_path: Path) -> str:
    path = tmp_path / "slid.rig"
    path.write_text(PAST_A_KNOT)
    return str(path)


def test_within_a_step_every_command_answers(slid: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The brake is off red: sam hangs from one strap, and is told so by each."""
    assert main(["whatif", slid, "s fails", *NOW]) == 1
    heading, *_ = capsys.readouterr().out.split("\n\n")
    assert "state 1, during “slide brake along red past foot”" in " ".join(heading.split())
    assert "while brake is off red" in " ".join(heading.split())
    assert main(["whatif", slid, "s fails", "--state", "1"]) == 0
    capsys.readouterr()
    for command in (["why", slid, "sam"], ["rank", slid]):
        assert main([*command, *NOW, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["state"], told["during"]) == (1, "while brake is off red")
    (sam,) = analyser.why(analyser.read(slid), state=1, during=1).bodies
    assert ("s fails",) in [one.failures for one in sam.sets]
    target = tmp_path / "a.svg"
    assert main(["draw", slid, *NOW, "-o", str(target)]) == 0
    assert "while brake is off red" in " ".join(re.findall(r">([^<>]+)</text>", target.read_text()))


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["--during", "1"], "`--during` asks for what is true within a step\n        say which: `--state N"),
        (
            ["--state", "1", "--during", "3"],
            "within the step to state 1 there is no state 3 of its own\n"
            "        1 is while brake is off red; 2 is while red is out of turn",
        ),
    ],
)
def test_what_is_not_within_a_step_is_told(
    slid: str, asked: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["why", slid, *asked]) == 2
    assert told in capsys.readouterr().err


def test_a_step_with_nothing_of_its_own_within(rig_file: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["why", rig_file, "--state", "2", "--during", "1"]) == 2
    assert "nothing within the step to state 2 is a state of its own" in capsys.readouterr().err


def test_a_film_shows_what_is_true_within_a_step_before_where_it_leads(slid: str) -> None:
    pictures = list(film(analyser.check(analyser.read(slid)), lay_out))
    assert [one.name for one in pictures] == [
        "00-as-first-attached",
        "00.1-while-brake-is-off-red",
        "00.2-while-red-is-out-of-turn",
        "01-slide-brake-along-red-past-foot",
    ]
    assert [one.name for one in pictures] == sorted(one.name for one in pictures)


def test_the_worksheet_has_the_rows_within_a_step(slid: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["failures", slid, "--state", "worst", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["states"] == []
    assert [one["words"] for one in told["during"]] == [
        "On: during slide brake along red past foot (line 15), while brake is off red"
    ]
    falls = [row for row in told["rows"] if row["item"] == "s" and row["mode"] == "fails"]
    assert [(row["during"], row["severity"]) for row in falls] == [(True, "I")]
    assert main(["failures", slid, "-o", "-"]) == 1
    assert '"during 1","s"' in capsys.readouterr().out


def test_who_falls_within_a_step_is_in_the_verdict(slid: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", slid, "--summary"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "sam hangs on ONE during step 1.1 (line 15), while brake is off red: falls when" in told


def test_a_revision_is_worse_for_what_is_true_only_within_a_step() -> None:
    """In the new one the strap's anchor is the very knot's post no more: while the brake is off, nothing holds."""
    kept = analyser.read_text(PAST_A_KNOT)
    gone = analyser.read_text(PAST_A_KNOT.replace("attach post - strap s - sam.chest\n", ""))
    told = analyser.compare(kept, gone).worse
    assert any("during “slide brake along red past foot”, while brake is off red" in one for one in told), told


def test_a_state_of_which_nothing_is_asked_is_held_to_the_house_defaults(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not to nothing at all, and not to what is asked of another stage."""
    path = tmp_path / "change.rig"
    path.write_text(TWO_STAGES + 'require everyone held after any 1 failure in stage "Lengthen"\n')
    main(["check", str(path), "--state", "0", "--json"])
    told = json.loads(capsys.readouterr().out)
    assert [(one["text"], one["assumed"]) for one in told["requirements"]] == [
        ("every person has 2 independent attachments", True),
        ("everyone held after any 1 failure", True),
    ]
    main(["check", str(path), "--state", "0"])
    assert "requirements are house defaults, as the file asks for nothing of this state" in " ".join(
        capsys.readouterr().out.split()
    )
    main(["check", str(path), "--state", "1", "--json"])
    (asked,) = json.loads(capsys.readouterr().out)["requirements"]
    assert not asked["assumed"]
