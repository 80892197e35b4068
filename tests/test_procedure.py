"""The procedure: what is brought, who does what, where the work may stop, the way back, what if a part fails."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from rigs import rig_of, shipped
from staged_lower import STAGED

from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.doors.commands.main import main
from analyser.pages.writers.hypertext import whole
from analyser.pages.writers.markdown import markdown
from analyser.pages.writing.procedure_page import procedure_page
from analyser.rig.taking import STEPS
from analyser.uses.procedure.document import Procedure, StepToDo, procedure
from analyser.uses.procedure.holds import losses
from analyser.uses.procedure.steps import LEFT_LYING, UNDOING
from analyser.uses.procedure.stopping import stops


def procedure_html(made: Procedure, result: Result) -> str:
    return whole(procedure_page(made, result), ("paper.css",))


def procedure_markdown(made: Procedure, result: Result) -> str:
    return markdown(procedure_page(made, result))


OPENED = "2.2"
"""The step that breaks a requirement."""


@pytest.fixture(scope="module")
def result() -> Result:
    return analyse(rig_of(STAGED))


@pytest.fixture(scope="module")
def made(result: Result) -> Procedure:
    return procedure(result, "staged.rig")


def step(made: Procedure, number: str) -> StepToDo:
    return next(one for stage in made.stages for one in stage.steps if one.number == number)


def test_the_kit_is_counted_over_every_state_with_its_figures_and_their_source(made: Procedure) -> None:
    counted = {one.kind: (one.count, one.names) for one in made.kit}
    assert counted["strap"] == (7, ("lashing", "later", "leg-1", "leg-2", "leg-3", "leg-4", "vic-strap"))
    assert counted["rope-grab"] == (1, ("tilt-grab",))
    assert not {"person", "anchor", "edge", "bowline"} & set(counted)
    crabs = next(one for one in made.kit if one.kind == "carabiner-en362-b")
    assert crabs.count == 2 and crabs.figures == ("strength 20 kN", "minor axis 7 kN", "locking")
    assert crabs.source and crabs.source.startswith("EN 362:2004 class B")
    assert [(one.name, one.source, one.least) for one in made.anchors][:2] == [
        ("left-bolt", "mark on the plate", "every anchor has strength at least 12 kN"),
        ("right-bolt", "mark on the plate", "every anchor has strength at least 12 kN"),
    ]


def test_what_would_mend_it_is_told_as_not_in_the_kit() -> None:
    result = shipped("litter-lower-strap-left-off")
    told = procedure_markdown(procedure(result, "a.rig"), result)
    assert "| 1 | strap | **MISSING: from master to sam-chest** | not in the file |" in told


def test_ropes_say_the_length_they_need(made: Procedure) -> None:
    lengths = {one.name: (one.length, one.needed) for one in made.ropes}
    assert lengths == {"red": ("60 m", 27.0), "green": ("60 m", 27.0), "tilt": ("10 m", None)}


def test_people_and_what_they_work(made: Procedure) -> None:
    jo, kim, vic = made.people
    assert (jo.name, jo.does) == ("jo", ("works left-device (locks by itself)",))
    assert (kim.name, vic.wears, vic.does) == ("kim", ("vic-seat",), ())
    assert vic.place == "on the rope; steps change this"


@pytest.mark.parametrize(
    ("number", "words", "by"),
    [
        ("1.1", "stop <all>", ()),
        (
            "1.2",
            "Bring in the rope tilt: tied to basket.foot-left with figure-eight tilt-figure-eight; "
            "gripped by tilt-grab; stopper tilt-stopper at the end",
            (),
        ),
        ("1.4", "leg-3 and leg-4 hang slack", ()),
        ("1.5", "Detach leg-3 from basket.foot-left", ()),
        ("2.1", "Take left-device in hand", ("jo",)),
        ("2.2", "Open left-device", ("jo",)),
        ("2.3", "Attach third-bolt – strap later – master", ()),
        ("2.5", "Land basket on ground", ()),
    ],
)
def test_steps_in_plain_words_and_who_does_them(made: Procedure, number: str, words: str, by: tuple[str, ...]) -> None:
    assert (step(made, number).words, step(made, number).by) == (words, by)


def test_the_work_may_stop_only_where_every_requirement_is_met(made: Procedure, result: Result) -> None:
    assert result.broken_states == (step(made, OPENED).after.number,) == (10,)
    may = {one.number: one.after.stop.may_stop for stage in made.stages for one in stage.steps}
    assert [number for number, yes in may.items() if not yes] == [OPENED]
    assert step(made, OPENED).after.stop.broken == ("everyone held after any 1 failure",)
    assert step(made, OPENED).after.back.onward == step(made, "2.3").after.number


def test_a_state_of_which_nothing_is_asked_or_not_all_is_checked_is_no_stop() -> None:
    unasked = STAGED.replace("any 1 failure", 'any 1 failure in stage "Tilt"').replace(
        "require every anchor has strength at least 12 kN\n", ""
    )
    made = procedure(analyse(rig_of(unasked)), "a.rig")
    assert (made.start.stop.may_stop, made.start.stop.asked) == (False, 0)
    assert step(made, "1.5").after.stop.may_stop
    unchecked = STAGED.replace("third-bolt: strength 15 kN", "third-bolt")
    stop = step(procedure(analyse(rig_of(unchecked)), "a.rig"), "1.5").after.stop
    assert (stop.may_stop, stop.broken, stop.unchecked) == (False, (), ("every anchor has strength at least 12 kN",))


def test_a_requirement_broken_elsewhere_and_not_fully_checked_here_is_not_called_met() -> None:
    text = """
        anchor bolt
        person sam: points waist
        ring eye
        attach bolt - eye - strap s - sam.waist
        carabiner old
        require every connector is locking
        stage "Add one"
            carabiner late: not locking
            attach bolt - late - eye
    """
    made = procedure(analyse(rig_of(text)), "a.rig")
    assert (made.start.stop.may_stop, bool(made.start.stop.unchecked)) == (False, True)
    assert step(made, "1.2").after.stop.broken == ("every connector is locking",)


@pytest.mark.parametrize(
    ("number", "to", "undo"),
    [
        ("1.2", 1, ["Once it is slack, take the rope tilt out again"]),
        ("1.3", 2, ["Pay out tilt by 0.2 m"]),
        ("1.6", 5, ["Attach leg-4 to basket.foot-right again"]),
        ("2.1", 8, ["Lock off left-device again"]),
        ("2.2", 9, ["Take left-device in hand again"]),
        (
            "2.3",
            9,
            ["Once it is slack, take off again: third-bolt – strap later – master", "Take left-device in hand again"],
        ),
        ("2.4", 11, ["Attach red-tail again to vic-seat"]),
        ("2.5", 12, ["Lift basket off the ground again"]),
    ],
)
def test_the_way_back_undoes_steps_to_the_nearest_state_that_may_be_stopped_in(
    made: Procedure, number: str, to: int, undo: list[str]
) -> None:
    back = step(made, number).after.back
    assert (back.to, [one.words for one in back.undo], back.sure) == (to, undo, True)


def test_every_kind_of_step_can_be_taken_back() -> None:
    assert set(UNDOING) | set(LEFT_LYING) == set(STEPS)


def test_with_a_plain_brake_in_a_hand_the_work_may_not_stop() -> None:
    """From the first, as after it was taken in hand again; locked off it may."""
    plain = """
        anchor one, two
        person jo: standing
        person vic: points waist, chest
        attach one - brake front
        attach two - brake back
        front, back: operated by jo
        rope main
            gripped by front
            tied to vic.waist with figure-eight
        rope belay
            gripped by back
            tied to vic.chest with figure-eight
        accept jo lets go: "watched"
        require everyone held after any 1 failure
        stage "Lower"
            lock off front
            lock off back
            take front in hand
            take back in hand
    """
    told = stops(analyse(rig_of(plain)))
    assert [one.in_hands for one in told] == [("front", "back"), ("back",), (), ("front",), ("front", "back")]
    assert [one.may_stop for one in told] == [False, False, True, False, False]


CHANGES = """
    anchor left, right: at (0, 0, 9)
    person jo: standing
    person sam: points waist, chest
    attach left - brake device
    device: operated by jo
    rope red
        gripped by device
        tied to sam.waist as red-knot
    rope green
        tied to right as top
        gripped by rope-grab grab - sam.chest, load from top
        tied to left as low
    require every person has 2 independent attachments
    stage "Change"
        {}
"""


@pytest.mark.parametrize(
    ("steps", "words", "undo", "by"),
    [
        ("lock off device", "Lock off device", "Take device in hand again", ("jo",)),
        (
            "slide grab along green past low",
            "Slide grab along green past low",
            "Slide grab back along green past low",
            (),
        ),
        ("pay out red by 0.3 m", "Pay out red by 0.3 m", "Take in red by 0.3 m", ("jo",)),
        ("move left to (1, 0, 3)", "Move left to (1, 0, 3)", "Move left back to (0, 0, 9)", ()),
        (
            "derig green",
            "Take the rope green out",
            "Lay green again: tied to right with knot top; gripped by grab; tied to left with knot low",
            (),
        ),
        (
            "rerig red\n            tied to right as r\n            tied to sam.waist as red-knot",
            "Lay red anew: tied to right with knot r; tied to sam.waist with knot red-knot",
            "Lay red as it was: gripped by device; tied to sam.waist with knot red-knot",
            (),
        ),
        ("sling spare", "Bring in: sling spare", None, ()),
        ("detach grab", "Detach grab", "Attach grab again to sam.chest and green", ()),
        ("land sam on ground", "Land sam on ground", "Lift sam off the ground again", ()),
    ],
)
def test_other_steps_in_words(steps: str, words: str, undo: str | None, by: tuple[str, ...]) -> None:
    made = procedure(analyse(rig_of(CHANGES.format(steps))), "a.rig")
    one = step(made, "1.1")
    assert (one.words, one.by) == (words, by)
    assert [back.words for back in one.after.back.undo] == ([undo] if undo else [])
    assert one.after.back.to == 0


def test_a_rope_that_was_taken_out_and_laid_anew_is_taken_out_again() -> None:
    steps = "derig green\n        rerig green\n            tied to left as top\n            tied to sam.chest as low"
    undo = step(procedure(analyse(rig_of(CHANGES.format(steps))), "a.rig"), "1.2").after.back.undo
    assert undo[0].words == "Once it is slack, take the rope green out again"


def test_the_tables_say_everything_that_a_failure_does(made: Procedure, result: Result) -> None:
    """Every failure that harms anybody is in the table of its state, with who falls, and no other is."""
    assert sorted(state for table in made.tables for state in table.states) == list(range(len(result.states)))
    for table in made.tables:
        for state in table.states:
            told = {f: one for a in table.answers for one in a.responses for f in one.failures}
            outcome = result.states[state].outcome
            assert {f for f, loss in losses(result.states[state]) if loss.anything} == set(told)
            for failure in outcome.failures:
                pairs = {n for n, sets in outcome.failure_sets.items() for c in sets if len(c) == 2 and failure.id in c}
                assert (told[failure.id].effect.falls if failure.id in told else ()) == failure.falls
                assert set(told[failure.id].effect.left_on_one if failure.id in told else ()) == pairs


def test_after_a_failure_is_told_who_hangs_on_what_and_who_has_the_load(made: Procedure) -> None:
    (response,) = [one for a in made.tables[0].answers for one in a.responses if "left-bolt fails" in one.failures]
    assert {"left-crab fails", "left-device slips", "red[left-device..lip] is cut"} <= set(response.failures)
    assert response.then == (
        "vic and basket hang on right-bolt – right-crab – right-device – green alone",
        "kim has the load on right-device",
    )
    opened = next(table for table in made.tables if 10 in table.states)
    assert opened.answers[0].do == "Somebody is not held: the rescue plan begins."
    assert "right-bolt fails" in opened.answers[0].responses[0].failures


def test_who_loses_one_way_of_three_is_told_apart_from_who_is_left_on_one() -> None:
    text = """
        anchor a, b, c
        person sam: points waist, chest, back
        attach a - strap s - sam.waist
        attach b - strap t - sam.chest
        attach c - strap u - sam.back
    """
    made = procedure(analyse(rig_of(text)), "a.rig")
    ((answer,),) = [table.answers for table in made.tables]
    assert answer.do.startswith("A way of being held is lost")
    assert [one.then for one in answer.responses] == [("sam loses one way of being held",)]


def test_assumptions_and_accepted_risks_stand_with_their_reasons(made: Procedure) -> None:
    given = {(one.word, one.what): one.reason for one in made.given}
    assert given["taken as impossible", "master fails"] == "forged ring, looked at each year"
    assert given["accepted risk", "left-device slips"] == "=HYPERLINK(1) | <i>watched</i>"


def test_what_is_looked_at_is_what_the_rig_has(made: Procedure) -> None:
    assert [one.of for one in made.looks][:3] == ["Ropes", "Anchors", "Connectors"]
    assert not {"Pulleys", "Frames", "Structures"} & {one.of for one in made.looks}
    assert next(one.names for one in made.looks if one.of == "Stoppers") == ("tilt-stopper",)


class _Elements(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.add(tag)
        if tag not in ("meta", "br", "col"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: object) -> None:
        self.seen.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, tag


def test_the_page_is_whole_escaped_and_needs_nothing_else(made: Procedure, result: Result) -> None:
    page = procedure_html(made, result)
    reader = _Elements()
    reader.feed(page)
    assert reader.open == [] and not {"script", "i", "b", "link", "img"} & reader.seen
    assert "&lt;b&gt;staged&lt;/b&gt;" in page and "<svg" in page
    assert not re.search(r"(src|href)=\"?https?:", page)
    assert page == procedure_html(procedure(analyse(rig_of(STAGED)), "staged.rig"), result)


def test_page_and_markdown_say_what_a_team_needs(made: Procedure, result: Result) -> None:
    for text in (procedure_html(made, result), procedure_markdown(made, result)):
        for words in (
            "Hold point",
            "Call",
            "signed",
            "May stop here",
            "Do not stop here",
            "Rescue plan",
            "Signed",
            "Date",
        ):
            assert words in text
        assert "A model of what was written, not of the rope in the hand." in text
        assert "not met (1 of 2 requirements broken)" in text
        assert not re.search(r"\bsafe", text, re.IGNORECASE)
        assert "✓" not in text and "✔" not in text


def test_markdown_shows_text_as_it_stands(made: Procedure, result: Result) -> None:
    text = procedure_markdown(made, result)
    assert "# Procedure: Litter tilt, &lt;b&gt;staged&lt;/b&gt; \\| \\*once\\*" in text
    assert "<" not in text
    rows = [line for line in text.splitlines() if line.startswith("|")]
    columns = [len(re.findall(r"(?<!\\)\|", row)) for row in rows]
    starts = [k for k, row in enumerate(rows) if set(row) <= set("|-:")]
    for at, until in zip(starts, [k - 1 for k in starts[1:]] + [len(rows)], strict=True):
        assert len(set(columns[at - 1 : until])) == 1, rows[at - 1]


def test_the_command_writes_and_tells_its_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "a.rig"
    rig.write_text(STAGED)
    page, text = tmp_path / "a.html", tmp_path / "a.md"
    assert main(["procedure", str(rig), "-o", str(page)]) == 1
    assert capsys.readouterr().err.startswith("not met (1 of 2 requirements broken)")
    assert main(["procedure", str(rig), "-o", str(text)]) == 1
    first = page.read_bytes(), text.read_bytes()
    main(["procedure", str(rig), "-o", str(page)])
    main(["procedure", str(rig), "-o", str(text)])
    assert first == (page.read_bytes(), text.read_bytes())
    capsys.readouterr()
    assert main(["procedure", str(rig), "-o", "-"]) == 1
    assert capsys.readouterr().out == text.read_text()
    assert main(["procedure", str(rig), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert (data["format"], data["document"], data["revision"]) == ("stillheld/2", "procedure", "3")
    assert data["stages"][1]["steps"][1]["after"]["stop"]["may_stop"] is False
    one = ["anchor a: strength 2 kN", "attach a - ring r", "require every anchor has strength at least 1 kN"]
    rig.write_text("\n".join(['rig "One"', *one, ""]))
    assert main(["procedure", str(rig)]) == 0
    assert "the file has no stages" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["procedure", "failures"])
def test_what_cannot_be_written_is_told_and_loses_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    rig, kept = tmp_path / "a.rig", tmp_path / "kept.md"
    rig.write_text(STAGED)
    kept.write_text("mine")
    assert main([command, str(rig), "-o", str(tmp_path / "a.pdf")]) == 2
    assert "write a name that ends in" in capsys.readouterr().err
    assert main([command, str(rig), "-o", str(tmp_path / "none" / "a.md")]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert main([command, str(rig), "-o", str(rig)]) == 2
    assert rig.read_text() == STAGED
    rig.write_text('rig "broken"\nancor bolt\n')
    assert main([command, str(rig), "-o", str(kept)]) == 2
    assert kept.read_text() == "mine"
    assert main([command, str(rig), "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["errors"][0]["line"] == 2
