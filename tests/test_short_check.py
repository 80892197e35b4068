"""The page of `check` by its budget: verdict and name in line 2 and again last, worst first, nothing cut uncounted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rigs import checked, shipped
from sized import SEVEN, checked_of_seven

import analyser
from analyser.checking.brief import brief_of
from analyser.checking.foremost import foremost, verdict_head, verdict_line, worst_state
from analyser.checking.results import Result
from analyser.doors.commands.main import main
from analyser.language.identities import spoken
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.check_page import check_page
from analyser.pages.writing.findings_lines import TOLD_ABOVE
from analyser.pages.writing.procedure_page import procedure_page
from analyser.pages.writing.short_check import MOST, MOST_WHERE_NOTHING_IS_WRONG, short_page
from analyser.pages.writing.states_page import TOLD_BY_STATES
from analyser.pages.writing.summary_page import summary_page, worst_first
from analyser.uses.procedure.document import procedure
from tests.bench.generating import joined

ROOT = Path(__file__).parent.parent
SHIPPED = sorted(
    path for folder in ("examples", "tests/incidents", "tests/found") for path in (ROOT / folder).rglob("*.rig")
)


@pytest.fixture(scope="module", params=SHIPPED, ids=lambda path: path.stem)
def each(request: pytest.FixtureRequest) -> tuple[str, Result, str]:
    """The name of a file that is shipped, its check, and the page of it."""
    name, result = request.param.name, shipped(request.param)
    return name, result, plain(short_page(result, name))


@pytest.fixture(scope="module", params=SEVEN)
def of_seven(request: pytest.FixtureRequest) -> Result:
    return checked_of_seven(request.param)


def lines_of(result: Result) -> list[str]:
    return plain(short_page(result, "a.rig")).splitlines()


def budget(result: Result) -> int:
    """25 lines where nothing is wrong and nothing is worth a look."""
    found = [one for state in result.states for one in state.findings if not one.accepted]
    return MOST if not result.met or found else MOST_WHERE_NOTHING_IS_WRONG


def test_the_budget_on_seven_rigs(of_seven: Result) -> None:
    result = of_seven
    lines = lines_of(result)
    assert len(lines) <= budget(result)
    assert max(map(len, lines)) <= 100


@pytest.mark.parametrize("size", (10, 25, 40, 80, 150))
def test_the_budget_where_everybody_hangs_on_one(size: int) -> None:
    result = analyser.check(analyser.read_text(joined(size)))
    assert not result.met
    assert len(lines_of(result)) <= MOST


def test_the_budget_on_what_is_shipped(each: tuple[str, Result, str]) -> None:
    _, result, page = each
    assert len(page.splitlines()) <= budget(result)


def test_verdict_and_name_come_first_and_last(each: tuple[str, Result, str]) -> None:
    name, result, page = each
    text = " ".join(page.split())
    verdict, head = " ".join(verdict_line(result).split()), " ".join(verdict_head(result).split())
    assert text.endswith(verdict), "last"
    title, _, rest = page.partition("\n")
    assert result.rig.title.split()[0] in title
    told = " ".join(rest.split())
    first = verdict if result.met else head
    assert told.startswith((first, f"{name} {first}")), "in line 2, under a title of one line; on what it rests is last"
    assert verdict.startswith(("met: ", "met, ") if result.met else "NOT MET: ")
    drop = foremost(result)
    if drop and not drop.accepted and result.met is False and "falls when" in verdict:
        assert drop.names[0] in verdict and spoken(drop.failure or "") in verdict


def test_nothing_that_changes_a_decision_is_cut(of_seven: Result) -> None:
    """Every requirement that is broken, every danger, everybody who hangs on one: by name, or counted there."""
    result = of_seven
    text = " ".join(plain(short_page(result, "a.rig")).split())
    for one in result.requirements:
        assert one.met or one.requirement.text in text
    for state in result.states:
        for finding in result.fresh(state):
            if finding.severity == "danger" and not finding.accepted:
                assert finding.bodies[0] in text
    accepted = {one.failure for one in result.rig.accepted}
    for body in result.bodies:
        alone = [cut[0] for cut in result.failure_sets[body.name] if len(cut) == 1 and cut[0] not in accepted]
        if alone:
            told = re.search(rf"\b{re.escape(body.name)}\b.*?(?:falls|not held) after 1 ALONE: (.*?)(?:; by|$)", text)
            assert told, body.name


def test_what_is_left_out_is_counted(each: tuple[str, Result, str]) -> None:
    """Each finding stands there, or beside one like it, or in a number; so does each set of two."""
    _, result, page = each
    text = " ".join(page.split())
    for severity in ("caution", "note"):
        found = [
            one
            for state in result.states
            for one in result.fresh(state)
            if one.severity == severity and not one.accepted and one.rule not in (*TOLD_ABOVE, *TOLD_BY_STATES)
        ]
        rules = {one.rule for one in found if f"({one.rule}" in text}
        left = sum(one.rule not in rules for one in found)
        assert f"{left} {severity}" in text if left else True, severity
    pairs = {cut for cuts in worst_state(result).failure_sets.values() for cut in cuts if len(cut) == 2}
    shown = text.count(", and also ")
    assert f"of the {len(pairs)} sets of 2" in text or shown or not pairs


def test_it_is_the_page_of_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.rig"
    path.write_text('rig "One strap"\nanchor bolt\nperson sam\nattach bolt - strap s - sam\n')
    assert main(["check", str(path)]) == 1
    short = capsys.readouterr().out
    first, last = short.splitlines()[1], short.splitlines()[-2:]
    verdict = "NOT MET: sam hangs on ONE: falls when bolt fails, or one more"
    assert first == verdict
    assert " ".join(last) == f"{verdict} (2 of 2 requirements broken; on connections only; 0 accepted, 0 assumed)"
    assert main(["check", str(path), "--full"]) == 1
    full = capsys.readouterr().out
    assert "WHAT BRINGS THEM DOWN" in full and "WHAT BRINGS THEM DOWN" in short and "ALONE" in full


def test_worst_is_who_falls_with_nothing_failed() -> None:
    result = checked("""
        anchor bolt
        person ann, sam
        attach bolt - strap s - ann
    """)
    assert verdict_head(result) == "NOT MET: sam is NOT HELD as rigged; ann hangs on ONE"


def test_people_come_before_loads_and_many_before_few() -> None:
    result = checked("""
        anchor bolt, other
        ring ring
        load bag
        person ann, sam
        attach other - strap hook - bag
        attach bolt - strap top - ring
        attach ring - strap a - ann
        attach ring - strap b - sam
    """)
    drop = foremost(result)
    assert drop is not None
    assert drop.names == ("ann", "sam") and drop.failure == "bolt fails"
    assert drop.others == 2, "ring and top; a strap of each drops one of them"
    assert verdict_head(result) == "NOT MET: ann, sam and bag hang on ONE each: ann and sam fall when bolt fails, " + (
        "or any one of 2 more"
    )


def test_a_requirement_that_asks_for_no_holding_names_itself() -> None:
    result = checked("""
        anchor left, right
        person ann: points a, b
        attach left - carabiner c - strap s - ann.a
        c, d: not locking
        attach right - carabiner d - strap t - ann.b
        require every connector is locking
    """)
    verdict = verdict_line(result)
    assert verdict.startswith("NOT MET: every connector is locking: c")
    assert verdict.endswith("(1 of 1 requirements broken; on connections only; 0 accepted, 0 assumed)")


def test_an_accepted_failure_is_told_as_accepted() -> None:
    result = checked("""
        anchor bolt
        person ann
        attach bolt - strap s - ann
        accept bolt fails: "a rock as big as a house"
        accept s fails: "new"
        require everyone held after any 1 failure
    """)
    assert result.met
    assert verdict_head(result) == (
        "met: accepted that ann falls when bolt fails, or one more; after any other everybody is held"
    )


def test_a_verdict_says_what_is_accepted_and_what_happens_else() -> None:
    """What drops first only after an accepted failure is no answer to what happens after the others."""
    text = """
        anchor a, b
        ring master
        litter basket: points head, foot, ends head | foot
        attach a - strap top - master
        attach b - strap back - master
        attach master - strap s - basket.head
        attach master - strap t - basket.foot
        accept master fails: "looked at before each use"
        {more}
        require everyone held after any 1 failure
    """
    tips = (
        "met: accepted that basket falls when master fails; basket tips when s fails, or one more; after any other "
        "everybody is held in the end"
    )
    assert verdict_head(checked(text.format(more=""))) == tips
    more = 'accept s fails, t fails: "new"'
    assert verdict_head(checked(text.format(more=more))) == (
        "met: accepted that basket falls when master fails; after any other everybody is held"
    )


def test_who_hangs_on_one_is_named_whatever_is_required() -> None:
    result = checked("""
        anchor left
        person ann
        attach left - carabiner c - strap s - ann
        c: not locking
        require every connector is locking
    """)
    head = verdict_head(result)
    assert head.startswith("NOT MET: every connector is locking: c") and "; ann hangs on ONE: falls when" in head


def test_failures_that_do_otherwise_are_not_told_as_if_they_did_the_same() -> None:
    """A descender that slips lets sam run to the stopper; one that breaks drops him."""
    result = checked("""
        anchor left
        person sam
        rope red
            tied to left with figure-eight as top
            gripped by d
            stopper
        descender d: operated by sam, self-locking
        attach d - sam
    """)
    assert verdict_head(result).endswith("sam hangs on ONE: falls when d fails; not held after any one of 4 more")


def test_where_to_look_first_stands_under_the_verdict() -> None:
    text = """
        anchor left
        person sam
        harness seat, vest: worn by sam
        attach left - strap s - seat
    """
    lines = lines_of(checked(text))
    assert lines[2].split()[:3] == ["sam", "hangs", "on"] and "left" in lines[2]
    assert " ".join(" ".join(lines[3:7]).split()).startswith(
        "do now STOP. Nobody gets on; load nothing. mend it Look at vest: nothing is attached there. Add for sam: "
    )


def test_a_verdict_that_is_met_says_who_is_held_and_not_still() -> None:
    result = checked("""
        anchor a, b
        litter basket: points head, foot, ends head | foot
        attach a - strap s - basket.head
        attach b - strap t - basket.foot
        require everyone held after any 1 failure
    """)
    assert result.met
    assert verdict_head(result).endswith(
        "basket tips when a fails, or any one of 3 more; everybody is held in the end, after any single failure in "
        "the file"
    )


# -- many rigs


def test_the_summary_has_the_worst_first_and_last() -> None:
    good = checked("anchor a, b\nperson ann: points p, q\nattach a - strap s - ann.p\nattach b - strap t - ann.q")
    bad = checked("anchor a\nperson sam\nattach a - strap s - sam")
    none = checked("anchor a\nperson sam, tom\nattach a - strap s - sam")
    told = [brief_of(good), brief_of(bad), "no such kind (line 3)", brief_of(none)]
    assert worst_first(told) == [2, 3, 1, 0]
    lines = plain(summary_page(["good", "bad", "unread", "none"], told)).splitlines()
    assert lines[0] == "4 rigs: 1 met, 2 not met, 1 could not be read"
    assert lines[-1].startswith(f"{lines[0]}; first unread: no such kind")
    verdicts = [line[:8].strip() for line in lines[2:6]]
    assert verdicts == ["NOT READ", "NOT MET", "NOT MET", "met"]
    assert "tom is NOT HELD" in lines[3]


def test_all_that_hold_equally_are_told() -> None:
    """Each of three lines holds the hub: none of them is told as if it were the way."""
    text = """
        anchor near, far, near-2, far-2
        ring hub
        person pat: points waist
        attach hub - pulley wheel
        attach hub - strap s - pat.waist
        rope track
            tied to near with figure-eight
            through wheel
            tied to far with figure-eight
        rope near-line
            tied to hub with figure-eight
            tied to near-2 with figure-eight
        rope far-line
            tied to hub with figure-eight
            tied to far-2 with figure-eight
    """
    told = " ".join(" ".join(lines_of(checked(text))).split())
    for way in ("near-2 – near-line – hub – s", "far-line → far-2", "track → far and near"):
        assert way in told, told


SPAN = re.compile(r"[\w-]+\[[\w#.-]+\.\.[\w#.-]+\]")


@pytest.mark.parametrize(
    "name", ("litter-lower-strap-left-off", "litter-tilt", "tripod-raise", "highline", "crossings/raise-to-track-wrong")
)
def test_no_page_says_a_stretch_of_rope_as_code(name: str) -> None:
    """`red[lip..ring]` is typed and stands in JSON; a page says `red between lip and ring`."""
    result = shipped(name)
    pages = (
        short_page(result, "a.rig"),
        check_page(result, "a.rig", latent=True),
        procedure_page(procedure(result, "a.rig"), result),
    )
    for page in pages:
        assert not SPAN.findall(plain(page))
    assert not SPAN.findall(dot_source(result))


def test_the_table_of_people_says_who_is_on_one() -> None:
    page = " ".join(plain(check_page(shipped("litter-lower-strap-left-off"), "a.rig")).split())
    assert "sam (person) ON ONE; drop not checked 1 1 1 ALONE" in page
    assert "basket (litter) on ONE, accepted; drop not checked 4 1 1 ALONE (accepted)" in page
    short = " ".join(plain(short_page(shipped("litter-lower-strap-left-off"), "a.rig")).split())
    assert "3 accepted, 0 assumed" in short and "3 accepted: master fails and 2 findings" in short
