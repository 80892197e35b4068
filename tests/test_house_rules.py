"""What a house asks of its parts; findings chosen, accepted and asked for; slips that nobody sees."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from rigs import checked, rig_of

import analyser
from analyser.checking.first_look import first_look
from analyser.checking.foremost import verdict_head
from analyser.checking.latent import Slip
from analyser.doors.commands.main import main
from analyser.holding.system import RigSystem
from analyser.pages.writing.translation import catalogue
from analyser.uses.field.at_first import first_lines

RIG = """
    anchor left, right{anchor}
    person sam: points waist, chest
    carabiner crab{crab}
    attach left - crab
    edge lip
    pad mat
    descender d
    d: operated by sam, self-locking
    attach sam.waist - d
    rope red
        tied to crab
        over lip{pad}
        gripped by d
        {stopper}
    attach right - strap s - sam.chest
    require {requirement}
"""


def met(requirement: str, *, anchor: str = "", crab: str = "", pad: str = "", stopper: str = "") -> bool | None:
    text = RIG.format(requirement=requirement, anchor=anchor, crab=crab, pad=pad, stopper=stopper)
    (judged,) = checked(text).requirements
    return judged.met


def test_every_connector_is_locking() -> None:
    asked = "every connector is locking"
    assert met(asked, crab=": locking") is True
    assert met(asked, crab=": not locking") is False
    assert met(asked) is None  # not told is not met


def test_every_edge_is_padded() -> None:
    assert met("every edge is padded", pad=", padded by mat") is True
    assert met("every edge is padded") is False


def test_every_rope_end_has_a_stopper() -> None:
    assert met("every rope end has a stopper", stopper="stopper") is True
    assert met("every rope end has a stopper", stopper="end on ground") is True
    assert met("every rope end has a stopper") is False


def test_every_anchor_has_a_strength() -> None:
    asked = "every anchor has strength at least 15 kN"
    assert met(asked, anchor=": strength 15 kN") is True
    assert met(asked, anchor=": strength 14.9 kN") is False
    assert met(asked) is None


def rules_of(text: str) -> set[str]:
    return {finding.rule for finding in checked(text).findings}


def test_a_gate_is_asked_for_once_in_one_list() -> None:
    text = RIG.format(requirement="sam held after any 1 failure", anchor="", crab="", pad="", stopper="stopper")
    asked = checked(text).states[0].asked
    assert [(one.fact, one.part) for one in asked] == [("gate", "crab")]
    told = text.replace("carabiner crab", "carabiner crab: locking")
    assert checked(told).states[0].asked == ()


def test_a_finding_is_accepted_with_its_reason_and_still_shown() -> None:
    text = RIG.format(requirement="every edge is padded", anchor="", crab="", pad="", stopper="stopper")
    text += '    accept bare-edge on lip: "rounded, looked at by two"\n'
    result = checked(text)
    assert {f.accepted for f in result.findings if f.rule == "bare-edge"} == {"rounded, looked at by two"}
    assert "1 accepted risk" in result.closing
    assert result.requirements[0].met is False  # a requirement asks for itself


def test_check_shows_the_rules_that_are_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.rig"
    path.write_text('rig "a"\nanchor bolt\nperson sam\nring idle\nattach bolt - strap s - sam\n')
    assert main(["check", str(path), "--json", "--only", "unused-part"]) == 1
    only = json.loads(capsys.readouterr().out)
    assert {f["rule"] for f in only["states"][0]["findings"]} == {"unused-part"}
    assert only["findings_of"] == {"only": ["unused-part"], "without": []}
    main(["check", str(path), "--json", "--without", "unused-part"])
    without = json.loads(capsys.readouterr().out)
    assert "unused-part" not in {f["rule"] for f in without["states"][0]["findings"]}
    assert without["states"][0]["failure_sets"] == only["states"][0]["failure_sets"]
    main(["check", str(path), "--only", "unused-part"])
    page = capsys.readouterr().out
    assert "FINDINGS OF UNUSED-PART ONLY" in page and "1 ALONE" in page
    assert main(["check", str(path), "--only", "unused-prat"]) == 2
    assert "did you mean `unused-part`?" in capsys.readouterr().err


def test_rules_are_listed_with_their_sources(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)["rules"]
    assert len(listed) > 40 and all(rule["source"] for rule in listed)
    assert main(["rules"]) == 0
    page = capsys.readouterr().out
    assert all(rule["rule"] in page for rule in listed) and "source: common practice, no source" in page


def slips_of(text: str) -> dict[str, Slip]:
    return {slip.words: slip for slip in checked(text).slips}


def test_an_unlocked_gate_makes_the_other_line_deadly() -> None:
    text = RIG.format(
        requirement="sam held after any 1 failure", anchor="", crab=": locking", pad="", stopper="stopper"
    )
    slips = slips_of(text)
    gate = slips["the gate of crab is left unlocked"]
    assert gate.alone == ()
    assert set(gate.deadly) == {("right fails", ("sam",)), ("s fails", ("sam",))}
    assert slips["red-stopper was never tied"].deadly == ()  # a stopper is a last catch: nobody counts on it
    assert set(slips["d is fitted the wrong way round"].deadly) == {("right fails", ("sam",)), ("s fails", ("sam",))}


def test_a_slip_on_a_single_line_is_deadly_alone() -> None:
    slips = slips_of("""
        anchor bolt
        person sam
        rope red
            tied to bolt as top
            tied to sam as low
    """)
    assert {slip.words: slip.alone for slip in slips.values()} == {
        "low is left half tied": ("sam",),
        "top is left half tied": ("sam",),
    }


def test_a_slip_of_ones_own() -> None:
    slips = slips_of("""
        anchor bolt, post
        person sam: points waist, chest
        attach bolt - strap s - sam.waist
        attach post - strap t - sam.chest
        latent s fails: "its stitching is cut where nobody looks"
    """)
    assert slips["its stitching is cut where nobody looks"].deadly == (("post fails", ("sam",)), ("t fails", ("sam",)))


def test_slips_are_shown_and_stand_in_the_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.rig"
    path.write_text('rig "a"\nanchor bolt\nperson sam\nattach bolt - carabiner crab - sam\n')
    main(["check", str(path), "--latent", "--order", "1"])
    page = " ".join(capsys.readouterr().out.split())
    assert "check first the gate of crab is left unlocked (line 4) with nothing else failed sam falls" in page
    main(["check", str(path), "--latent", "--json"])
    (slip,) = json.loads(capsys.readouterr().out)["latent"]
    assert slip["failure"] == "crab fails" and slip["alone"] == ["sam"] and slip["line"] == 4


TWO_BRAKES = """
anchor left, right
person vic: points waist, chest
person jo: standing
rope red
    tied to vic.waist with bowline
    gripped by brake main - left, load from start
    stopper
rope blue
    tied to vic.chest with bowline
    gripped by brake second - right, load from start
    stopper
main: operated by jo
second: operated by jo
require everyone held after any 1 failure
require everyone held with hands off
require every person has 2 independent attachments
"""


def test_who_first_runs_to_a_stopper_does_not_meet_what_is_required() -> None:
    result = analyser.check(analyser.read_text('rig "Two brakes, one pair of hands"' + TWO_BRAKES))
    assert [one.met for one in result.requirements] == [False, False, False]
    assert result.requirements[0].because == (
        "jo lets go: vic runs to red-stopper or blue-stopper, how far isn't told",
    )
    assert "runs to red-stopper or blue-stopper" in result.requirements[1].because[0]
    assert "vic has 1, and isn't held after jo lets go alone" in result.requirements[2].because[0]


def test_a_knot_block_that_the_weight_rests_on_is_not_run_to() -> None:
    blocked = """
anchor bolt
ring eye
attach bolt - eye
person sam: points waist
rope line
    stopper
    through eye
    gripped by descender dev - sam.waist, load from start
dev: operated by sam, self-locking
sound eye fails, bolt fails: "given"
require sam held with hands off
"""
    (judged,) = analyser.check(analyser.read_text('rig "Blocked"' + blocked)).requirements
    assert judged.met


LOG = """
    anchor hook, beam
    load log: 300 kg, ends butt | top
    attach hook - sling one - log{one}
    attach beam - sling two - log{two}
    require log level after any 1 failure
"""


@pytest.mark.parametrize(
    ("one", "two", "met", "cautions"),
    [("", "", None, 1), (".butt", ".top", False, 0), (".butt", "", False, 0)],
)
def test_level_is_not_checked_where_what_holds_is_at_neither_end(
    one: str, two: str, met: bool | None, cautions: int
) -> None:
    result = checked(LOG.format(one=one, two=two))
    (judged,) = result.requirements
    assert judged.met is met and result.met is False
    told = [found for found in result.states[0].findings if found.rule == "level-by-its-middle"]
    assert len(told) == cautions
    if met is None:
        assert judged.because[0].startswith("not checked: nothing holds log at log.butt or log.top")
        assert "`attach … - log.butt`" in judged.because[0]
        assert told[0].about == ("log", "one", "two") and told[0].mend and "attach one - log.butt" in told[0].mend


def test_what_hangs_by_one_end_alone_is_not_level() -> None:
    """Also where two attachments hold it there, so that no one failure moves it."""
    result = checked(LOG.format(one=".butt", two=".butt"))
    (judged,) = result.requirements
    assert judged.met is False
    assert judged.because == ("with nothing failed log hangs by log.butt alone: it doesn't lie level",)
    assert "log hangs by log.butt alone, with nothing failed" in " ".join(one.text for one in result.states[0].findings)
    for one, two in ((".butt", ".top"), (".butt", ""), ("", "")):
        (judged,) = checked(LOG.format(one=one, two=two)).requirements
        assert not any("alone: it doesn't lie level" in reason for reason in judged.because)


def test_a_load_set_down_or_on_a_bridle_is_no_caution() -> None:
    down = LOG.format(one="", two="") + '    stage "Down"\n        land log on ground\n'
    first, after = checked(down).states
    assert any(one.rule == "level-by-its-middle" for one in first.findings)
    assert not any(one.rule == "level-by-its-middle" for one in after.findings)
    bridle = LOG.format(one="", two="").replace("sling", "bridle")
    assert not any(one.rule == "level-by-its-middle" for one in checked(bridle).states[0].findings)


FEET = (Path(__file__).parent / "found" / "bolts-at-the-feet.rig").read_text(encoding="utf-8")


def test_what_is_said_to_be_not_below_holds_whatever_its_place() -> None:
    held = analyser.check(analyser.read_text(FEET)).states[0]
    assert held.outcome.body("lee").attachments == 2 and not any(one.rule == "holds-nobody" for one in held.findings)
    untold = analyser.check(analyser.read_text(FEET.replace(", not below", ""))).states[0]
    assert untold.outcome.body("lee").attachments == 0
    mends = [one.mend for one in untold.findings if one.rule == "holds-nobody"]
    assert mends == [f"`g{k}: not below`, if lee hangs under it once over the edge" for k in (1, 2)]


def test_a_word_that_its_place_belies_by_far_is_a_danger() -> None:
    """Six metres under who hangs there: the word counts, and one of the two is wrong."""
    far = FEET.replace("(-0.5, 0, 21)", "(-0.5, 0, 26)")
    told = [one for one in analyser.check(analyser.read_text(far)).states[0].findings if one.rule == "below-and-above"]
    assert {one.about for one in told} == {("g1",), ("g2",)} and all(one.severity == "danger" for one in told)
    near = analyser.check(analyser.read_text(FEET)).states[0].findings
    assert not any(one.rule == "below-and-above" for one in near)


def test_where_nobody_is_placed_such_a_place_tells_its_height() -> None:
    """Below nought too: it lies under nobody."""
    rig = rig_of("anchor deep: at (0, 0, -5), not below\nperson sam: points waist\nattach deep - strap s - sam.waist\n")
    structure = RigSystem(rig).strict
    assert structure.heights == {structure.index["deep"]: (-5.0, -5.0)}


def test_a_danger_stands_before_who_is_held() -> None:
    """More is paid out than there is of the rope: 20 m and 15 m of 30."""
    text = """
        anchor a: at (0, 0, 30)
        anchor b: at (0.5, 0, 30)
        person jo, kim: standing
        person vic: points waist, chest, at (0, 0, 10)
        attach a - brake mb
        attach b - brake bb
        mb: operated by jo, self-locking
        bb: operated by kim, self-locking
        rope main: 30 m
            gripped by mb, load from mk
            tied to vic.waist with figure-eight as mk
        rope belay: 40 m
            gripped by bb, load from bk
            tied to vic.chest with figure-eight as bk
        stage "Down"
            pay out main, belay by 15 m
    """
    result = checked(text)
    assert result.met
    assert verdict_head(result).startswith(
        "met, 1 danger to look at: after step 1.1 (line 17) main is 30 m long, and the places of its stations"
    )
    first = first_lines(first_look(result), met=True)
    assert "1 danger is to be looked at" in catalogue("en").text(first.head)


def test_who_is_beside_an_edge_with_one_moment_to_follow_is_told() -> None:
    """Was a traceback: of one moment alone there is nothing between. By the places the lanyard is far too long."""
    result = checked("""
        anchor post: at (0, 0, 10)
        footing ground: at (12, 0, 0), below
        person ann: 80 kg, standing, exposed, points back, at (5, 0, 11)
        edge eave: at (7, 0, 10)
        rope line: like low-stretch-a, 11 mm, 9 m
            tied to post with figure-eight
            over eave
            tied to ann.back with figure-eight
    """)
    assert not result.met and "ann" in verdict_head(result)


DECK = """
    anchor wb, eb, le: not below
    person lou: stands on deck, points chest
    load deck: points west, east{ends}
    attach wb - wire ww - deck.west
    attach eb - wire ew - deck.east
    attach le - lanyard ll - lou.chest
"""


def test_where_no_ends_are_written_it_is_said_that_nothing_is_told_to_tip() -> None:
    result = checked(DECK.format(ends=""))
    (told,) = [one for one in result.states[0].findings if one.rule == "ends-not-written"]
    assert told.severity == "danger" and told.bodies == ("deck", "lou")
    assert "lou counts as held there all the same" in told.text and told.mend == "`deck: ends west | east`"
    assert "1 danger to look at: deck is held at deck.west and deck.east" in verdict_head(result)
    written = checked(DECK.format(ends=", ends west | east")).states[0]
    assert not any(one.rule == "ends-not-written" for one in written.findings)
    assert next(one for one in written.failures if one.id == "ww fails").tips == ("deck",)
