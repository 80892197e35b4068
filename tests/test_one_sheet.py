"""The pages of `compare`, `forces`, `haul` and `attitude` are one sheet: what was found, with a name, in line 2."""

from __future__ import annotations

import re

import pytest
from rigs import GULLY
from sized import EXAMPLES

import analyser
from analyser.checking.brief import brief_of
from analyser.doors.commands.main import main
from analyser.pages.tree import Column, Fact, Line, Page, Table, Title, alarm, section, strong
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.library_page import library_page
from analyser.pages.writing.one_sheet import MOST, one_sheet
from analyser.uses.review.shelf import Entry

CALLS = {
    "compare": ["compare", *GULLY],
    "compare back": ["compare", *reversed(GULLY)],
    "forces": ["forces", str(EXAMPLES / "litter-bridle.rig")],
    "forces of a litter that tips": ["forces", str(EXAMPLES / "litter-tilt.rig"), "--samples", "10"],
    "forces of steps, without places": ["forces", str(EXAMPLES / "crossings" / "rebelay.rig")],
    "haul": ["haul", str(EXAMPLES / "haul-three-to-one.rig")],
    "attitude": ["attitude", str(EXAMPLES / "litter-bridle.rig"), "basket"],
    "sweep": ["attitude", str(EXAMPLES / "litter-tilt.rig"), "basket", "--sweep", "0..4 m"],
}
SECOND = {
    "compare": "WORSE: lou is not held after any of head-ring fails",
    "compare back": "WORSE: kit is not held",
    "forces": "Weakest at rest: green with factor 15.7; deepest drop: vic 0.38 m when lashing fails",
    "forces of a litter that tips": "Weakest at rest: main",
    "forces of steps, without places": "forces not worked out: ",
    "haul": "lee pulls 0.28 kN on main to raise vic: 2.85 : 1",
    "attitude": "basket hangs 3.8 deg head up",
    "sweep": "basket hangs 0.2 deg head up",
}


@pytest.mark.parametrize("name", CALLS)
def test_it_is_one_sheet_with_what_was_found_in_line_2(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(CALLS[name])
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= MOST
    assert lines[1].startswith(SECOND[name])


def test_what_was_found_makes_worse_line_by_line_and_then_the_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    """On the terminal it was the whole check, 124 lines for four differences."""
    found = str(EXAMPLES / "found" / "litter-lower.found")
    assert main(["walkdown", "--found", found, str(EXAMPLES / "litter-lower.rig")]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= MOST
    assert lines[1].startswith("as built: NOT MET: sam hangs on ONE: falls when sam-crab fails")
    order = [next(k for k, one in enumerate(lines) if words in one) for words in FOUND]
    assert order == sorted(order)
    assert lines[-2].startswith("as built: not met (2 of 4 requirements broken)")


FOUND = (
    *("found red-mat missing", "half-padded-edge", "found sam-strap not on master", "sam has 1 attachment (was 2)"),
    *("found left-bolt: strength 15 kN", "weak-anchor", "spare - vic-seat", "nothing worse", "WHAT ALL OF IT TOGETHER"),
)
RIGS = {
    "stays": "attach a - strap s - sam.x\nattach b - strap t - sam.y\n",
    "hangs": "attach a - strap s - sam.x\n",
    "falls": "strap s\nattach s - sam.x\nattach a - ring r\n",
}


def test_the_index_of_a_folder_has_the_worst_first_its_verdict_in_a_word_and_its_cautions_counted() -> None:
    start = 'rig "A"\nanchor a, b\nperson sam: points x, y\n'
    several = {name: brief_of(analyser.check(analyser.read_text(start + text))) for name, text in RIGS.items()}
    page = library_page("all", [Entry(name, "p.html", one, None, None) for name, one in several.items()])
    assert plain(page.blocks).splitlines()[1].startswith("3 rigs: 1 met, 2 not met; first falls: sam is NOT HELD")
    table = next(one for one in page.blocks if isinstance(one, Table))
    rows = [[plain((Line(cell),)).strip() for cell in row] for row in table.rows]  # type: ignore[arg-type,union-attr]
    assert [row[:2] for row in rows] == [["NOT MET", "falls"], ["NOT MET", "hangs"], ["met", "stays"]]
    assert [row[5] for row in rows] == [str(several[row[1]].cautions) for row in rows]
    assert several["hangs"].cautions > several["stays"].cautions


def test_full_tells_all(capsys: pytest.CaptureFixture[str]) -> None:
    main([*CALLS["compare"], "--full"])
    text = capsys.readouterr().out
    assert len(text.splitlines()) > MOST
    assert "Left out" not in text
    assert text.splitlines()[1].startswith(SECOND["compare"])


def test_something_of_each_list_is_told_and_the_rest_is_counted() -> None:
    """A fact with a label of its own, as an alarm has, is never left out."""
    facts = [Fact(f"kind {k}", f"fact {k}-{n}") for k in range(9) for n in range(10)]
    rows = tuple((f"row {n}", "x") for n in range(20))
    table = Table((Column("part"), Column("what")), rows)
    page = Page((Title("A"), section("First", [table, *facts]), section("Last", [Fact(alarm("FALLS"), "ann")])), "A")
    text = plain(one_sheet(page, strong("found")).blocks)
    told, out = text.split("Left out here")
    assert len(text.splitlines()) <= MOST
    assert all(f"fact {k}-0" in told for k in range(9)) and "row 0" in told and "FALLS" in told
    left = sum(int(count) for count in re.findall(r"(\d+) more of", " ".join(out.split())))
    assert left == 90 + 20 - len(re.findall(r"fact \d-\d|row \d+", told))
    assert plain(one_sheet(page, strong("found"), full=True).blocks).count("fact") == 90
