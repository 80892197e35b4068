"""Papers by their budgets, as printed on A4: sheets are counted and type is measured in the PDF of Chromium."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from browsing import needs_chromium
from printed import Sheet, printed
from rigs import shipped
from sized import EXAMPLES, SEVEN, checked_of_seven

import analyser
from analyser.checking.first_look import first_look
from analyser.checking.foremost import verdict_head, verdict_rest
from analyser.doors.commands.main import main
from analyser.pages.writers.hypertext import whole
from analyser.pages.writing.card_page import STYLES as CARD_STYLES
from analyser.pages.writing.card_page import card_page
from analyser.pages.writing.procedure_page import procedure_page
from analyser.pages.writing.report_page import report_html
from analyser.pages.writing.translation import LANGUAGES, catalogue
from analyser.pages.writing.walkdown_page import SCRIPT, STYLES, walkdown_page
from analyser.pages.writing.worksheet_page import SHEET, worksheet_page
from analyser.rig.plan import Plan
from analyser.uses.field.cards import cards
from analyser.uses.field.named_things import MOST
from analyser.uses.field.walk_sheet import walkdown
from analyser.uses.procedure.document import procedure
from analyser.uses.procedure.worksheet import worksheet
from analyser.uses.review.answered_page import report

pytestmark = needs_chromium
ORDINARY = [name for name in SEVEN if name != "150 parts"]


def running(sheets: list[Sheet], head: str) -> None:
    """Title, and n of N, on every sheet that can come loose."""
    for number, sheet in enumerate(sheets, 1):
        assert head in sheet.words
        assert f"{number} / {len(sheets)}" in sheet.words


# -- the report


@pytest.mark.parametrize("name", SEVEN)
def test_a_report_of_an_ordinary_rig_prints_on_eight_sheets(name: str, browser: Any, tmp_path: Path) -> None:
    result = analyser.check(analyser.read_text(SEVEN[name]), 3)
    made = report(result, "a.rig", SEVEN[name].splitlines())
    sheets = printed(browser, report_html(made), tmp_path)
    assert len(sheets) <= (8 if name in ORDINARY else 12)
    running(sheets, f"Report: {result.rig.title}")
    assert isinstance(made.result.rig, Plan)
    assert all(f"text {made.result.rig.digest}" in sheet.words for sheet in sheets), "as on every paper of that text"
    for said in (verdict_head(result, told_below=True), verdict_rest(result)):
        words = "".join(said.split())  # a name may be parted at its hyphen
        assert words in sheets[0].words.replace(" ", ""), "the verdict with a name, on the first sheet"
    assert not any("Failure sets" in sheet.words for sheet in sheets), "grouped, not one by one"


def test_findings_of_one_step_stand_under_one_another(browser: Any, tmp_path: Path) -> None:
    """Two dangers from one step, the second without a label of its own, were printed over each other."""
    text = Path("examples/crossings/pick-off-wrong.rig").read_text(encoding="utf-8")
    sheets = printed(
        browser, report_html(report(analyser.check(analyser.read_text(text), 3), "a.rig", text.splitlines())), tmp_path
    )
    assert any("long-strap, at cas-chest, ends at ron" in sheet.words for sheet in sheets)
    assert any("NOT HELD: hangs only from ron" in sheet.words for sheet in sheets), "the picture of that state alone"


def test_what_is_not_met_is_shown_on_the_first_sheet(browser: Any, tmp_path: Path) -> None:
    """The verdict, then the picture with what would mend it; where that would be too small to read, on a sheet of its
    own."""
    first, *_ = reported("crossings/rebelay-wrong", browser, tmp_path)
    assert first.words.index("Do now") < first.words.index("SINGLE POINT") and "PUT chest-tail HERE" in first.words
    assert "Held: in balance on what is left" in first.words, "how it is read stands under it"
    first, *more = reported("litter-lower-strap-left-off", browser, tmp_path)
    assert "The picture has a sheet of its own." in first.words and "PUT a strap HERE" not in first.words
    assert any("PUT a strap HERE" in one.words for one in more)


def reported(name: str, browser: Any, tmp_path: Path) -> list[Sheet]:
    text = Path(f"examples/{name}.rig").read_text(encoding="utf-8")
    told = report(analyser.check(analyser.read_text(text), 2), "a.rig", text.splitlines())
    return printed(browser, report_html(told), tmp_path)


# -- the procedure


def test_long_reasons_leave_the_people_on_the_first_sheet(browser: Any, tmp_path: Path) -> None:
    """Where requirements are broken for many reasons, those share the room, and the rest of them is counted."""
    result = shipped("litter-lower-strap-left-off")
    made = procedure(result, "a.rig")
    sheets = printed(browser, whole(procedure_page(made, result), ("paper.css",)), tmp_path)
    words = sheets[0].words
    assert "and 4 more: see “If a part fails”" in words and words.count("NOT MET") == 3
    people = words[words.index("People Called") :]
    assert all(one.name in people for one in made.people)


@pytest.mark.parametrize("name", SEVEN)
def test_a_procedure_begins_with_who_hangs_on_one_scope_and_people(name: str, browser: Any, tmp_path: Path) -> None:
    """What is needed fills the first sheets; the picture stands on its own, before the steps."""
    result = checked_of_seven(name)
    made = procedure(result, "a.rig")
    sheets = printed(browser, whole(procedure_page(made, result), ("paper.css",)), tmp_path)
    running(sheets, f"Procedure: {result.rig.title}")
    system = next(k for k, sheet in enumerate(sheets) if sheet.across)
    assert system <= {"80 parts": 5, "150 parts": 7}.get(name, 2)
    assert any("Before the first load" in sheet.words for sheet in sheets[:system])
    assert "Scope" in sheets[0].words and any("Kit" in sheet.words for sheet in sheets[:system])
    for said in (verdict_head(result, told_below=True), verdict_rest(result)):
        assert "".join(said.split()) in sheets[0].words.replace(" ", ""), "the verdict with a name, on the first sheet"
    for one in first_look(result).on_one:
        assert all(name in sheets[0].words for name in one.bodies), "and everybody who hangs on one"
        things = [one.things, one.things[:MOST]][len(one.things) > MOST + 1]
        assert all(thing.name in sheets[0].words for thing in things), "and on what"
    assert any("People" in sheet.words for sheet in sheets[:system])
    assert "The system" in sheets[system].words
    assert [sheet.across for sheet in sheets].count(True) == 1


def test_the_steps_of_a_changeover_print_ten_to_a_sheet(browser: Any, tmp_path: Path) -> None:
    result = checked_of_seven("changeover")
    made = procedure(result, "a.rig")
    steps = [step for stage in made.stages for step in stage.steps]
    assert len(steps) == 21
    sheets = printed(browser, whole(procedure_page(made, result), ("paper.css",)), tmp_path)
    assert len(sheets) <= 8
    first = next(k for k, sheet in enumerate(sheets) if "Stage 1: Working side" in sheet.words)
    last = next(k for k, sheet in enumerate(sheets) if "rebelay free" in sheet.words)
    assert last - first <= 2, "and the first of these has what is looked at before the first load"
    assert next(sheet for sheet in sheets if "Pay out working" in sheet.words).size_of("Pay out working") >= 11
    assert sheets[last + 1].words.count("Table") >= 1, "what to do if a part fails begins a sheet of its own"
    back = " ".join(sheet.words for sheet in sheets[last + 1 :])
    assert "The way back" in back and "Signed" in back


# -- the worksheet


@pytest.mark.parametrize("name", SEVEN)
def test_a_worksheet_prints_on_eight_sheets_across(name: str, browser: Any, tmp_path: Path) -> None:
    made = worksheet(checked_of_seven(name), "a.rig")
    sheets = printed(browser, whole(worksheet_page(made), SHEET, sort="sheet"), tmp_path)
    assert len(sheets) <= (8 if name in ORDINARY else 10)
    assert all(sheet.across for sheet in sheets)
    running(sheets, f"Failure worksheet: {checked_of_seven(name).rig.title}")
    text = " ".join(sheet.words for sheet in sheets)
    assert text.index("Severity I") < text.index("How it was made"), "the gravest first"
    assert min(sheet.smallest for sheet in sheets) >= 7.9


# -- the walk-down


def test_a_walk_down_is_read_at_the_wall(browser: Any, tmp_path: Path) -> None:
    """Names at 10.5 points, what is looked at on them at 9; what is graver on the first sheet; a title on each."""
    made = walkdown(checked_of_seven("25 parts"), "a.rig")
    sheets = printed(browser, whole(walkdown_page(made, catalogue("en")), STYLES, SCRIPT), tmp_path)
    running(sheets, f"Walk-down: {made.result.rig.title}")
    first = (*made.grades[1], *made.grades[2])[0]
    assert "1. Single points" in sheets[0].words and first.name in sheets[0].words
    assert sheets[0].size_of(first.name) >= 10.5
    details = [sheet for sheet in sheets if "gate shut and locked" in sheet.words]
    assert details and all(sheet.size_of("gate shut and locked") >= 8.9 for sheet in details)


# -- the cards


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ["litter-lower", "litter-lower-strap-left-off", "incidents/one-sling"])
def test_a_card_without_calls_is_one_leaf(name: str, language: str, browser: Any, tmp_path: Path) -> None:
    """A6, two sides; what is graver on the first, in type of 9 points or more."""
    made = cards(shipped(name), "a.rig")
    words = catalogue(language)
    sheets = printed(browser, whole(card_page(made, words), CARD_STYLES["a6"]), tmp_path)
    assert len(sheets) <= 2 * len(made.cards)
    first = [sheet for sheet in sheets if words.text("card-stop") in sheet.words]
    assert len(first) == len(made.cards) and all(
        any(words.text(label) in sheet.words for label in ("first-label-now", "first-label-look")) for sheet in first
    )
    assert min(sheet.smallest for sheet in sheets) >= 8.9


# -- the reconstruction


def test_a_reconstruction_prints_on_six_sheets_and_its_pictures_are_read(browser: Any, tmp_path: Path) -> None:
    """The longest of the examples; the smallest words are those of its pictures."""
    rig, page = EXAMPLES / "incidents" / "slack-lanyard.rig", tmp_path / "reconstruction.html"
    assert main(["reconstruct", str(rig), "-o", str(page)]) == 0
    sheets = printed(browser, page.read_text(encoding="utf-8"), tmp_path)
    assert len(sheets) <= 6
    running(sheets, "Lanyard left long")
    assert "What was observed".upper() in sheets[0].words.upper(), "no sheet with a title alone"
    assert min(sheet.smallest for sheet in sheets) >= 6.9
