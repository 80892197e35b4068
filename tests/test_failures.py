"""The failure worksheet: a row for each item and mode, severity by our mapping, a CSV that nothing runs."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rigs import rig_of, shipped
from staged_lower import STAGED

from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.doors.commands.main import main
from analyser.language.identities import FailureId, Span
from analyser.pages.writers.hypertext import whole
from analyser.pages.writers.markdown import markdown
from analyser.pages.writing.worksheet_page import (
    IN_CSV,
    SHEET,
    _no_formula,
    _row,
    merged,
    worksheet_csv,
    worksheet_page,
)
from analyser.uses.procedure.worksheet import CATEGORIES, Row, Worksheet, worksheet

EXAMPLES = Path(__file__).parent.parent / "examples"
LEFT_OFF = EXAMPLES / "litter-lower-strap-left-off.rig"


@pytest.fixture(scope="module")
def result() -> Result:
    return analyse(rig_of(STAGED))


def row(made: Worksheet, item: str, mode: str) -> Row:
    return next(one for one in made.rows if (one.item, one.mode) == (item, mode))


def test_every_single_failure_of_every_state_has_its_row_once(result: Result) -> None:
    made = worksheet(result, "a.rig")
    told = Counter((state, f"{one.item} {one.mode}") for one in made.rows for state in one.states)
    events = Counter((s.number, f.id) for s in result.states for f in s.outcome.failures)
    sound = Counter((s.number, one.failure) for s in result.states for one in s.rig.sound)
    assert told == events + sound
    assert made.rows[0].states == (0, 1)


def test_the_singles_of_class_i_are_the_one_item_failure_sets(result: Result) -> None:
    """The inductive and the deductive pass agree (facts 9.14)."""
    for state in result.states:
        made = worksheet(result, "a.rig", str(state.number))
        singles = {cut[0] for sets in state.outcome.failure_sets.values() for cut in sets if len(cut) == 1}
        assert {f"{one.item} {one.mode}" for one in made.rows if one.severity == "I"} == singles


THREE = """
    anchor a, b, c, loose
    person sam: points waist, chest, back
    attach a - strap s - sam.waist
    attach b - strap t - sam.chest
    attach c - strap u - sam.back
"""
ONE = """
    anchor bolt
    person sam: points waist
    attach bolt - strap s - sam.waist
"""
TWO = """
    anchor left, right
    person sam: points waist, chest
    attach left - strap s - sam.waist
    attach right - strap t - sam.chest
"""
HANDS = """
    anchor bolt
    person jo: standing
    person sam: points waist
    rope line
        held by jo
        tied to sam.waist
"""
LITTER = """
    anchor left, right
    litter basket: points head, foot
    attach left - strap s - basket.head
    attach right - strap t - basket.foot
"""
CRATE = """
    anchor bolt
    load crate
    attach bolt - strap s - crate
"""


@pytest.mark.parametrize(
    ("text", "item", "mode", "category"),
    [
        (ONE, "s", "fails", "I"),
        (CRATE, "s", "fails", "I"),
        (TWO, "s", "fails", "II"),
        (LITTER, "s", "fails", "II"),
        (THREE, "s", "fails", "III"),
        (THREE, "loose", "fails", "IV"),
    ],
)
def test_severity_by_our_mapping(text: str, item: str, mode: str, category: str) -> None:
    assert row(worksheet(analyse(rig_of(text)), "a.rig"), item, mode).severity == category


def test_who_falls_with_nothing_failed_has_a_row_of_their_own() -> None:
    made = worksheet(analyse(rig_of(HANDS)), "a.rig")
    first = made.rows[0]
    assert (first.mode, first.severity, first.end_effect) == (
        "as rigged",
        "I",
        "sam is NOT HELD: hangs only from a person",
    )


def test_a_row_says_function_effects_and_what_still_holds(result: Result) -> None:
    made = worksheet(result, "a.rig", "0")
    device = row(made, "left-device", "slips")
    assert device.function == "grips red, worked by jo"
    assert device.local_effect == "left-device no longer grips"
    assert device.end_effect == "leaves basket and vic on one"
    assert device.still_holds == "vic and basket: right-bolt – right-crab – right-device – green"
    assert device.accepted == "=HYPERLINK(1) | <i>watched</i>"
    assert device.detection == ""
    assert device.action == (
        "if it fails: Somebody is left on one: open nothing. They get another attachment, or firm ground, before "
        "anything goes on."
    )
    assert row(made, "mat", "shifts").function == "keeps red and green off an edge"
    assert row(made, "left-crab", "fails").shows.endswith("the gate of left-crab is left unlocked")
    assert row(made, "master", "fails").end_effect == "not looked at: the file takes it as impossible"
    assert row(made, "red[lip..red-bowline]", "is cut").kind == "stretch of rope"


def test_the_worst_state_is_the_one_that_breaks_a_requirement(result: Result) -> None:
    made = worksheet(result, "a.rig", "worst")
    assert result.broken_states == (10,)
    assert [number for number, _ in made.states] == [10]
    assert {one.states for one in made.rows} == {(10,)}


def test_the_csv_is_rfc_4180_and_complete(result: Result) -> None:
    made = worksheet(result, "a.rig")
    text = worksheet_csv(made)
    assert text.count("\r\n") == len(made.rows) + 1 and "\n" not in text.replace("\r\n", "")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert tuple(rows[0]) == IN_CSV and len(rows) == len(made.rows)
    assert rows[0]["state"] == "0 to 1"
    assert all(one["category"] == CATEGORIES.get(one["severity"], "") for one in rows)
    assert all("mapping ours" in one["rests on"] for one in rows)
    accepted = {one["accepted because"] for one in rows}
    assert "'=HYPERLINK(1) | <i>watched</i>" in accepted and not any(one.startswith("=") for one in accepted)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "  =", "\t@", "＝", "\u00a0-"])
def test_no_cell_is_run_as_a_formula(start: str) -> None:
    assert _no_formula(f"{start}1+1") == f"'{start}1+1"


@given(st.text())
def test_a_cell_never_begins_as_a_formula(text: str) -> None:
    cell = _no_formula(text)
    assert cell.lstrip()[:1] not in ("=", "+", "-", "@") or not cell.lstrip()
    assert cell[:1] not in ("\t", "\r", "\n")
    assert cell.removeprefix("'") == text.removeprefix("'")


def test_pages_are_escaped_and_name_their_sources(result: Result) -> None:
    made = worksheet(result, "a.rig")
    page, text = whole(worksheet_page(made), SHEET), markdown(worksheet_page(made))
    for one in (page, text):
        assert "MIL-STD-882E" in one and "our own mapping" in one and "IEC 60812" in one
        assert "<i>" not in one and "<b>staged" not in one and "not of the rope in the hand" in one


def test_on_paper_the_gravest_come_first_and_no_row_is_lost(result: Result) -> None:
    """Every item and mode of every state stands there once, beside those with the same answer."""
    made = worksheet(result, "a.rig")
    told = merged(made)
    places = [[*CATEGORIES, ""].index(one.row.severity) for one in told]
    assert places == sorted(places)
    found = sorted((state, item, mode) for one in told for state in one.states for item, mode in one.items)
    assert found == sorted((state, row.item, row.mode) for row in made.rows for state in row.states)
    assert len(told) < len(made.rows) / 2
    text = markdown(worksheet_page(made))
    assert text.index("Severity I:") < text.index("Severity II:") < text.index("How it was made")
    assert all(
        (FailureId(row.item, row.mode).spoken if isinstance(row.item, Span) else row.item) in text for row in made.rows
    )


def test_the_worst_off_stand_together_and_first_with_what_mends_it() -> None:
    made = worksheet(shipped(LEFT_OFF), "a.rig")
    told = merged(made)
    falls = [one.row.falls for one in told if one.row.falls]
    assert falls == [("sam",)] * 3 + [("basket",)], "what is accepted comes last"
    assert {one.row.action for one in told if one.row.falls == ("sam",)} == {"mend: a strap from master to sam-chest"}
    assert row(made, "master", "fails").action == "look: no crack or bend; pulled the way it is made for"
    assert all(one.action for one in made.rows)
    text = markdown(worksheet_page(made))
    assert text.index("NOT MET: sam hangs on ONE") < text.index("Look at sam-chest") < text.index("Severity I")
    assert text.index("sam is NOT HELD after any one of these") < text.index("basket is NOT HELD after this, accepted")


def test_of_the_rows_of_the_worst_off_what_drops_most_with_them_stands_first() -> None:
    made = worksheet(shipped("incidents/one-sling"), "a.rig")
    falls = list(dict.fromkeys(one.row.falls for one in merged(made) if one.row.falls))
    assert falls == [("ann", "kim", "log"), ("ann", "log"), ("ann",), ("kim",), ("log",)]


def test_a_row_without_a_known_mend_says_what_to_do() -> None:
    made = worksheet(analyse(rig_of(HANDS)), "a.rig")
    assert made.rows[0].action == "nobody goes on it before it is mended and checked again"
    made = worksheet(shipped("crossings/lower-to-raise-wrong"), "a.rig", "3")
    assert row(made, "main-knot", "slips").action == "stop before step 1.3: see above", "no look at a part mends a step"


def test_steps_are_told_in_runs() -> None:
    made = worksheet(shipped("crossings/pick-off-wrong"), "a.rig")
    assert made.steps == ("0", *(f"1.{k}" for k in range(1, 9)))
    row = replace(merged(made)[0], states=(0, 1, 2, 5, 7, 8), during=())
    assert "at first to 1.2, 1.5, 1.7 to 1.8" in str(_row(made, row)[1])


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "a.rig"
    rig.write_text(STAGED)
    for ending in ("csv", "md", "html"):
        target = tmp_path / f"a.{ending}"
        assert main(["failures", str(rig), "-o", str(target), "--state", "worst"]) == 1
        assert target.read_bytes().startswith(b"\xef\xbb\xbf") is (ending == "csv")
    capsys.readouterr()
    assert main(["failures", str(rig), "--state", "worst"]) == 1
    assert capsys.readouterr().out.encode() == (tmp_path / "a.csv").read_bytes()[3:]
    assert main(["failures", str(rig), "--json", "--state", "2"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert (data["document"], data["shown"], data["rows"][0]["states"]) == ("failures", "2", [2])
    assert main(["failures", str(rig), "--state", "99"]) == 2
    assert capsys.readouterr().err == "there is no state 99: this rig has states 0 to 13\n"
    with pytest.raises(SystemExit) as ended:
        main(["failures", str(rig), "--state", "last"])
    assert ended.value.code == 2


def test_the_command_ends_with_0_where_all_is_met(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "a.rig"
    rig.write_text('rig "Two"\n' + "".join(f"{line.strip()}\n" for line in TWO.strip().splitlines()))
    assert main(["failures", str(rig), "-o", str(tmp_path / "a.csv")]) == 0
    assert capsys.readouterr() == ("", "")
