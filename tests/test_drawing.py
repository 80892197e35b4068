"""The diagram: everything is on it, in words, literally, and the same every time."""

from __future__ import annotations

import html
import json
import re
import sys
from pathlib import Path

import pytest
from rigs import shipped

import analyser
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.doors.commands.main import main
from analyser.pages.drawing import rendering
from analyser.pages.drawing.colours import STROKES
from analyser.pages.drawing.diagram import dot_source, either_way
from analyser.pages.drawing.heights import depths
from analyser.pages.drawing.rebelays import part_way
from analyser.pages.drawing.rendering import NotDrawn, render, rendered_largest, scale
from analyser.pages.drawing.words import SMALL
from analyser.pages.writing.at_the_head import to_do_now
from analyser.rig.model import Failure

EXAMPLES = Path(__file__).parent.parent / "examples"

LOWER = """
rig "Two ropes down the weir wall"
revision 3
anchor left, right
person jo: standing
person vic: 80 kg, points waist
harness sling-seat: worn by sam
person sam: points waist, chest
litter basket: points head, foot
edge lip
pad mat
ring master
attach left - carabiner left-crab - brake left-brake
attach right - carabiner right-crab - brake right-brake
left-brake, right-brake: operated by jo
rope red: 11 mm, 60 m
    gripped by left-brake
    over lip, padded by mat
    tied to master with bowline
    tied to carabiner vic-crab - vic.waist with figure-eight as red-tail
rope night-line
    gripped by right-brake
    over lip
    tied to master with bowline
    gripped by sam-descender
    stopper
interlock red-bowline, night-line-bowline
attach descender sam-descender - carabiner sam-crab - sam.waist
sam-descender: operated by sam, self-locking
attach master - strap sam-strap - sam.chest
attach sling-seat - sling spare
attach master - strap leg-1 - basket.head
attach master - strap leg-2 - basket.foot
attach basket - strap lashing - vic
cause rockfall: red[lip..red-bowline] is cut, night-line[lip..night-line-bowline] is cut
sound left fails: "bedrock"
accept lip cuts: "watched"
"""

TRIPOD = """
rig "Ladle lift"
footing left, right
anchor stake: below
load ladle: 60 kg, points lug
tripod legs: feet left, right
attach legs - pulley high
rope tag
    tied to stake with clove-hitch
    through high
    slack 0.4 m
    tied to ladle.lug with overhand
"""

CHAIN = """
rig "One bolt"
anchor bolt
person sam: points waist
attach bolt - carabiner crab - sam.waist
"""

HOSTILE = ("[/b] \\\\n \\\\N a:b", "<b>bold</b>", "<", "&amp; <<TABLE>>", "{a|b} \\\\E", "tick 'n' ☂")


def checked(text: str) -> Result:
    return analyser.check(analyser.read_text(text))


def failing(result: Result, *ids: str) -> list[Failure]:
    by_id = {failure.id: failure for failure in result.rig.failures}
    return [by_id[one] for one in ids]


def words(source: str) -> str:
    """Everything that is written on the rendered diagram, a line for each piece of text."""
    svg = render(source, "svg").decode()
    return html.unescape("\n".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg)))


@pytest.fixture(scope="module")
def lower() -> Result:
    return checked(LOWER)


def test_the_same_rig_gives_the_same_bytes(lower: Result) -> None:
    source = dot_source(lower)
    assert source == dot_source(lower)
    assert dot_source(checked(CHAIN)) == dot_source(checked(CHAIN))
    assert render(source, "svg") == render(source, "svg")
    assert render(source, "png") == render(source, "png")
    assert render(source, "dot") == source.encode()
    assert render(source, "png").startswith(b"\x89PNG")


@pytest.mark.parametrize("text", [LOWER, TRIPOD, CHAIN])
def test_every_part_and_rope_appears(text: str) -> None:
    result = checked(text)
    written = words(dot_source(result)).split("\n")
    for part in result.rig.parts.values():
        short = part.name.rpartition(".")[2]
        assert any(piece.strip().split(" (")[0] == short for piece in written), part.name
    for rope in result.rig.ropes:
        assert sum(piece.strip() == rope.name for piece in written) > len(rope.spans)


def test_title_revision_and_cautions(lower: Result) -> None:
    written = words(dot_source(lower))
    assert "Two ropes down the weir wall" in written
    assert "revision 3" in written
    assert "A model of what was written, not of the rope in the hand." in written
    assert "drop not checked" in " ".join(written.split())
    assert "safe" not in written.lower()


@pytest.mark.parametrize("title", HOSTILE)
def test_user_text_is_literal(title: str) -> None:
    written_title = title.replace("\\\\", "\\")
    rig = analyser.read_text(f'rig "{title}"\n' + CHAIN.split("\n", 2)[2])
    assert rig.title in (title, written_title)
    assert rig.title in words(dot_source(analyser.check(rig)))


def test_single_points_are_marked_by_a_word_and_are_black() -> None:
    source = dot_source(checked(CHAIN))
    written = words(source)
    assert written.count("SINGLE POINT") == 3  # bolt, crab, and the legend
    assert written.count("sam not held") == 2
    assert len(re.findall(r'<TABLE BORDER="1"[^>]*BGCOLOR="#1a1a1a"', source)) == 2
    assert "#9c1200" not in source  # the colour of danger is kept for danger


def test_a_part_that_is_no_single_point_is_not_marked(lower: Result) -> None:
    singles = [failure.part for failure in lower.failures if failure.falls]
    assert words(dot_source(lower)).count("SINGLE POINT") == 1 + len(singles)


def test_a_common_cause_says_what_it_strikes() -> None:
    written = words(dot_source(checked(CHAIN + "cause rockfall: crab fails, bolt fails\n")))
    assert "rockfall strikes: bolt and crab gone" in written
    assert written.count("SINGLE POINT") == 4


def test_a_single_span_is_a_heavy_black_line() -> None:
    rig = CHAIN.replace(
        "attach bolt - carabiner crab - sam.waist",
        "rope red\n    tied to bolt with bowline\n    over lip\n    tied to sam.waist with figure-eight\nedge lip",
    )
    source = dot_source(checked(rig))
    span = next(row for row in source.splitlines() if "->" in row and "SINGLE POINT" in row)
    assert 'color="#1a1a1a"' in span and "penwidth=7" in span


def test_people_carry_their_counts(lower: Result) -> None:
    vic = lower.body("vic")
    source = dot_source(lower)
    row = next(row for row in source.splitlines() if ">vic<" in row and "independent" in row)
    for figure in (vic.attachments, vic.independent):
        assert f">{figure}<" in row
    size = vic.smallest_failure_set
    for word in ("attachments", "independent", "1 ALONE" if size == 1 else f"{size} together", "not held after"):
        assert word in row


def test_assumed_and_accepted_are_said(lower: Result) -> None:
    written = words(dot_source(lower))
    assert "assumed sound" in written
    assert "accepted risk" in written


def test_guards_needs_workers_and_slack_are_said(lower: Result) -> None:
    written = words(dot_source(lower))
    for said in ("kept off by mat", "bare on the edge", "worked by jo", "interlocked"):
        assert said in written
    written = words(dot_source(checked(TRIPOD)))
    for said in ("feet left, right", "slack 0.4 m", "below the bodies"):
        assert said in written


def test_after_failures_what_is_lost_and_who_falls(lower: Result) -> None:
    failures = failing(lower, "master fails", "red-tail slips", "mat shifts", "lip cuts", "sam-descender slips")
    written = words(dot_source(lower, failures))
    for word in ("GONE", "SLIPPED", "SHIFTED", "CUTS", "CUT at lip", "FALLS"):
        assert word in written
    assert "What is left after: master fails" in written
    assert "kept off by mat" not in written


def test_who_stays_is_said_too() -> None:
    two = checked(CHAIN + "anchor other\nattach other - strap long - sam.waist\n")
    written = words(dot_source(two, failing(two, "bolt fails")))
    assert "FALLS" not in written
    assert "held, one failure from not being held" in written


def test_no_name_of_the_rig_is_a_name_in_the_drawing() -> None:
    source = dot_source(checked(CHAIN.replace("bolt", "node").replace("crab", "graph")))
    assert "node" in words(source) and "graph" in words(source)


def test_a_missing_renderer_is_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(NotDrawn, match="no diagram renderer: graphviz-pure is not installed"):
        render("digraph {}", "svg")
    assert render("digraph {}", "dot") == b"digraph {}"


def test_a_failing_renderer_is_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    with pytest.raises(NotDrawn, match=r"graphviz-pure failed: .*syntax error"):
        render("no graph", "svg")
    broken = tmp_path / "graphviz-pure"
    broken.write_text("not a program")
    monkeypatch.setattr(rendering, "renderer", lambda *, system=False: broken)
    with pytest.raises(NotDrawn, match="could not be started"):
        render("digraph {}", "svg")


def test_the_system_renderer_is_used_where_found_and_asked_for(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    own = tmp_path / "dot"
    own.write_text("#!/bin/sh\necho drawn\n")
    own.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/bin:/usr/bin")
    assert render("digraph {}", "svg", system=True) == b"drawn\n"
    assert render("digraph {}", "svg").startswith(b"<?xml")


def test_whoever_is_not_held_marks_no_part_as_single() -> None:
    rig = analyser.read_text(
        'rig "Unheld one"\nanchor a, b\nperson y\nperson z: points u, v\n'
        "attach a - sling s - z.u\nattach b - sling t - z.v\n"
    )
    source = dot_source(analyser.check(rig))
    assert "NOT HELD" in source
    assert "y falls" not in source


REBELAY = """
rig "A bolt part way"
anchor beam, bolt
person pia: points waist
edge parapet
rope working
    tied to beam with bowline
    over parapet
    tied to bolt with butterfly
    gripped by descender rack - pia.waist
    stopper
"""


def test_a_bolt_part_way_is_drawn_where_the_rope_reaches_it() -> None:
    rig = analyser.read_text(REBELAY)
    depth = depths(rig)
    way = ("beam", "parapet", "bolt", "working-butterfly", "rack", "pia")
    assert [depth[name] for name in way] == sorted(depth[name] for name in way)
    assert part_way(rig) == {"bolt": ("bolt", "working-butterfly")}


def test_a_rope_between_anchors_leaves_both_at_the_top() -> None:
    between = "anchor a, b\nperson pia: points waist\npulley trolley\nattach trolley - pia.waist\nrope track\n"
    track = f'rig "Track"\n{between}    tied to a with bowline\n    through trolley\n    tied to b with bowline\n'
    assert part_way(analyser.read_text(track)) == {}


def test_what_a_single_point_cause_takes_says_so() -> None:
    two = CHAIN + "anchor other\nattach other - strap long - sam.waist\n"
    assert (
        words(dot_source(checked(two + "cause rockfall: bolt fails, other fails\n"))).count("in cause: rockfall") == 2
    )
    three = two + "anchor third\nattach third - strap short - sam.waist\n"
    assert "in cause" not in words(dot_source(checked(three + "cause rockfall: bolt fails, other fails\n")))


def test_standing_people_have_their_feet_too() -> None:
    rig = CHAIN.replace("points waist", "standing, exposed, points waist")
    written = words(dot_source(checked(rig)))
    assert "1 + feet" in written and "by their own feet" in written
    assert "if they lose footing, sam" in written, "of a person, not of a thing"


def test_whoever_stands_on_what_hangs_is_held_by_that() -> None:
    written = words(dot_source(shipped("suspended-platform")))
    assert "by their own feet on deck:" in written and "can't fail" not in written
    assert "if lost, deck tips; lou and" in written


def test_forces_stand_on_the_diagram_where_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What stands on each part is what `forces --json` tells of it: no figure of the drawing's own."""
    rig, file = str(EXAMPLES / "litter-bridle.rig"), tmp_path / "forces.dot"
    assert main(["forces", rig, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["states"][0]["forces"]
    assert main(["draw", rig, "-o", str(file), "--forces"]) == 0
    text = file.read_text(encoding="utf-8")
    for name in ("left-bolt", "right-crab", "master", "leg-1"):
        (force,) = (one["force_kN"] for one in told["parts"] if one["name"] == name)
        assert re.search(rf"<B>{name}</B>.{{0,160}}?{force:.2f} kN", text, re.DOTALL), name
    (green,) = (one["force_kN"] for one in told["lines"] if one["name"].startswith("green["))
    assert re.search(rf"<B><FONT[^>]*>green</FONT></B>.{{0,80}}?{green:.2f} kN", text, re.DOTALL)
    assert re.search(r"<B>vic-strap</B>.{0,80}?slack", text, re.DOTALL)
    assert "the largest pull on it, at rest" in text
    assert main(["draw", rig, "-o", str(file), "--forces", "--failing", "lashing fails"]) == 0
    text = file.read_text(encoding="utf-8")
    assert main(["whatif", rig, "lashing fails", "--json"]) == 0
    (strap,) = (one for one in json.loads(capsys.readouterr().out)["forces"]["lines"] if one["name"] == "vic-strap")
    words = f"{strap['static_kN']:.2f} kN, peak {strap['peak_kN']:.2f}"
    assert re.search(rf"<B>vic-strap</B>.{{0,80}}?{words}", text, re.DOTALL)
    assert main(["draw", rig, "-o", str(file)]) == 0
    assert "0.84 kN" not in file.read_text(encoding="utf-8")


def test_forces_that_cannot_be_told_are_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "none.dot"
    assert main(["draw", str(EXAMPLES / "two-lines-one-ring.rig"), "-o", str(file), "--forces"]) == 2
    assert not file.exists()
    assert "at (x, y, z)" in capsys.readouterr().err


# -- read at arm's length, in grey


def test_everybodys_box_says_by_what_they_are_held() -> None:
    written = words(dot_source(shipped("litter-lower")))
    lines = [line.strip() for line in written.split("\n")]
    assert lines.count("by green → right-bolt") == 2 and lines.count("by red → left-bolt") == 3  # sam, vic; basket too
    assert "or by green → right-bolt" in lines  # the basket's other rope, by the same ring
    assert "1 ALONE" in lines and "2 together" in lines


def test_after_a_failure_new_single_points_and_dead_branches_are_told() -> None:
    result = shipped("litter-lower")
    (lost,) = failing(result, "left-bolt fails")
    source = dot_source(result, [lost])
    written = words(source)
    now = [f.part for f in analyser.whatif(result.rig, "left-bolt fails").outcome.failures if f.falls]
    assert "right-bolt" in now and written.count("NOW SINGLE POINT") == len({*now} - {"master"})
    ring = next(row for row in source.splitlines() if "<B>master</B>" in row)
    assert "SINGLE POINT</B>: basket not held" in ring and "NOW SINGLE" not in ring  # it was one before
    for dead in ("left-crab", "left-brake"):
        row = next(row for row in source.splitlines() if f"<B>{dead}</B>" in row)
        assert "DASHED" in row, dead
    alive = next(row for row in source.splitlines() if "<B>red-bowline</B>" in row)
    assert "DASHED" not in alive  # it still holds vic's crab to the green bowline


def test_ropes_are_told_apart_without_their_colour() -> None:
    source = dot_source(shipped("litter-lower"))
    looks: dict[str, set[tuple[int, str]]] = {}
    for row in source.splitlines():
        name, look = re.search(r">(red|green)</FONT>", row), re.search(r'color="([^"]+)"', row)
        if "->" in row and name and look:
            looks.setdefault(name[1], set()).add((look[1].count(":"), "dashed" if "style=dashed" in row else ""))
    assert looks == {"red": {(0, "")}, "green": {(2, "")}}
    assert len({*STROKES}) == len(STROKES) >= 5


def test_the_legend_has_what_is_in_use_and_nothing_else() -> None:
    plain = words(dot_source(checked(CHAIN)))
    for unused in ("pulley: rope runs through", "pad", "edge, a box", "feet and guys", "works or minds", "litter"):
        assert unused not in plain, unused
    assert "pulley: rope runs through" in words(dot_source(checked(TRIPOD)))


ROOMY = (
    *("litter-bridle", "litter-tilt", "tripod-raise", "track-line", "two-lines-one-ring"),
    *("facade-work", "litter-lower", "suspended-platform", "three-bolt-cord", "rope-access"),  # the widest and tallest
)


@pytest.mark.parametrize("name", ROOMY)
def test_names_and_details_are_large_enough_on_a_sheet(name: str) -> None:
    """Of up to 40 parts: names at 8 points, details at 7 (design, papers.md), upright or across, whichever is larger.
    What is written smallest is the legend and what stands beside names."""
    result = shipped(name)
    picture = rendered_largest(either_way(result), "svg")
    size = re.search(r'<svg width="([\d.]+)pt" height="([\d.]+)pt"', picture.decode())
    assert size and min(map(float, size.groups())) <= 7.6 * 72 + 1 and max(map(float, size.groups())) <= 11 * 72 + 1
    assert 12 * scale(picture) >= 8 and SMALL * scale(picture) >= 6.9


def test_the_larger_of_across_and_upright_is_taken(lower: Result) -> None:
    across, upright = (scale(render(source, "svg")) for source in either_way(lower))
    assert across != upright and scale(rendered_largest(either_way(lower), "svg")) == max(across, upright)


def test_a_picture_begins_with_what_counts_and_ends_with_the_cautions() -> None:
    result = shipped("litter-lower-strap-left-off")
    drawn = rendered_largest(either_way(result, do=to_do_now(result)), "svg").decode()
    told = " ".join(re.findall(r">([^<>]+)</text>", drawn))
    told = told.replace("&#45;", "-").replace("&#160;", " ").replace("\xa0", " ")
    order = (
        "NOT MET: sam hangs on ONE",
        "STOP. Nobody gets on; load nothing.",
        "Accepted",
        "nothing failed",
        CAUTIONS[0],
    )
    places = [told.index(one) for one in order]
    assert places == sorted(places) and told.index("NOTHING ATTACHED") < places[-1]
    assert told.count("PUT a strap HERE,") == 2, "at both ends of what would mend it"
