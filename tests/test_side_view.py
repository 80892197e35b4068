"""The view to scale: places on the page against metres, widths against pulls, and nothing by colour alone."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from statics import statics_of

from analyser.doors.commands.main import main
from analyser.forces import Case
from analyser.pages.drawing.side import FRONT, side_view
from analyser.rig.model import Effects

EXAMPLES = Path(__file__).parent.parent / "examples"
SVG = "{http://www.w3.org/2000/svg}"
TWO = """
    anchor left: at (-3, 1, 10)
    anchor right: at (3, 1, 10)
    person sam: 80 kg, at (0, 0, 6)
    ring master: at (0, 1, 8)
    edge lip: at (4, 1, 9)
    rope red
        tied to left with bowline
        tied to master with bowline
    rope green
        tied to right with bowline
        tied to master with bowline, slack 1 m
    attach master - strap drop - sam
    attach master - strap idle - sam
    drop: length 2 m
    idle: length 3 m
"""


def lines_of(svg: str) -> list[tuple[list[tuple[float, float]], float, bool]]:
    """Each polyline: its spots, its width, and whether it is dashed."""
    found = []
    for one in ElementTree.fromstring(svg).iter(f"{SVG}polyline"):
        spots = [tuple(map(float, pair.split(","))) for pair in one.attrib["points"].split()]
        found.append((spots, float(one.attrib["stroke-width"]), "stroke-dasharray" in one.attrib))
    return found


def words_of(svg: str) -> list[str]:
    return ["".join(one.itertext()) for one in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_it_is_to_scale_and_width_follows_the_pull() -> None:
    statics = statics_of(TWO)
    found = statics.equilibrium()
    svg = side_view(statics.rig, found)
    words = words_of(svg)
    scale_bar = next(spots for spots, width, _ in lines_of(svg) if len(spots) == 4 and width == 1.5)
    metres = float(next(re.fullmatch(r"([\d.]+) m", w)[1] for w in words if re.fullmatch(r"[\d.]+ m", w)))
    scale = (scale_bar[2][0] - scale_bar[1][0]) / metres
    red, idle, drop = (found.line(name) for name in ("red", "idle", "drop"))
    assert idle.slack and not red.slack
    widest = max(width for _, width, dashed in lines_of(svg) if not dashed)
    for line in (red, drop):
        a, b = line.places[0], line.places[-1]
        wide, high = scale * abs(a[0] - b[0]), scale * abs(a[2] - b[2])
        same = [
            width
            for spots, width, dashed in lines_of(svg)
            if not dashed
            and abs(abs(spots[0][0] - spots[-1][0]) - wide) < 0.3
            and abs(abs(spots[0][1] - spots[-1][1]) - high) < 0.3
        ]
        most = max(one.tension for one in found.lines)
        assert any(width == pytest.approx(1 + 5 * line.tension / most, abs=0.06) for width in same), line.name
    assert widest == pytest.approx(6)
    assert "idle slack" in words and any(re.fullmatch(r"red \d\.\d\d kN", one) for one in words)
    assert "edge lip" in words and "left" in words and "sam" in words
    assert "A model of what was written, not of the rope in the hand." in words


def test_before_and_after_a_failure() -> None:
    statics = statics_of(TWO)
    base = statics.equilibrium()
    after = statics.equilibrium(Case(Effects(gone=frozenset({"left"}))), base)
    svg = side_view(statics.rig, after, base, ["left fails"], FRONT)
    words = words_of(svg)
    assert "from the front, to scale, after left fails: pull in kN" in words
    assert "sam" in words and "sam before" in words
    assert any("before the failure" in one for one in words)
    gone = statics.equilibrium(Case(Effects(gone=frozenset({"left", "right"}))), base)
    assert "sam FALLS: not drawn" in words_of(side_view(statics.rig, gone, base, ["left fails", "right fails"]))


def test_a_litter_on_its_head_legs_is_drawn_whole(tmp_path: Path) -> None:
    target = tmp_path / "after.svg"
    rig = str(EXAMPLES / "litter-tilt.rig")
    assert main(["draw", rig, "--side", "-o", str(target), "--failing", "low fails"]) == 0
    bars = [spots for spots, width, _ in lines_of(target.read_text(encoding="utf-8")) if width == 9]
    height = float(ElementTree.parse(target).getroot().attrib["height"])
    down = [abs(a[1] - b[1]) for a, b in bars]
    across = [abs(a[0] - b[0]) for a, b in bars]
    assert max(y for spots in bars for _, y in spots) < height - 60  # all of it is on the page
    assert len(bars) == 2 and max(down) == pytest.approx(max(across), rel=0.05)  # level before, upright after


def test_same_bytes_escaped_words_and_no_meaning_by_colour_alone(tmp_path: Path) -> None:
    text = TWO.strip()
    path = tmp_path / "odd.rig"
    path.write_text(
        f'rig "A <b> & \\"C"\n{re.sub("(?m)^    ", "", "    " + text)}\n'.replace('\\"', ""), encoding="utf-8"
    )
    pictures = []
    for name in ("one.svg", "two.svg"):
        assert main(["draw", str(path), "--side", "-o", str(tmp_path / name)]) == 0
        pictures.append((tmp_path / name).read_text(encoding="utf-8"))
    assert pictures[0] == pictures[1]
    assert "A <b> & C" in words_of(pictures[0])
    greys = {"#1a1a1a", "#5f5f5f", "#8a8a8a", "#ffffff", "#ececec"}
    assert set(re.findall(r'(?:stroke|fill)="(#\w+)"', pictures[0])) <= greys


def test_words_stand_clear_of_each_other() -> None:
    statics = statics_of(TWO)
    svg = side_view(statics.rig, statics.equilibrium())
    spots = [
        (float(one.attrib["x"]), float(one.attrib["y"]), one.attrib["text-anchor"])
        for one in ElementTree.fromstring(svg).iter(f"{SVG}text")
    ]
    assert len(spots) == len(set(spots))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["-o", "x.png", "--side"], "a view to scale is an .svg file"),
        (["-o", "/nowhere/at/all.svg", "--side"], "cannot be written"),
        (["-o", "x.svg", "--side", "--failing", "nothing fails"], "is not a failure of this rig"),
    ],
)
def test_what_cannot_be_drawn_is_said(capsys: pytest.CaptureFixture[str], words: list[str], said: str) -> None:
    assert main(["draw", str(EXAMPLES / "litter-tilt.rig"), *words]) == 2
    assert said in capsys.readouterr().err


def test_a_rig_without_places_is_asked_for_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "x.svg"
    assert main(["draw", str(EXAMPLES / "two-lines-one-ring.rig"), "--side", "-o", str(target)]) == 2
    assert "left-bolt: at (x, y, z)" in capsys.readouterr().err
    assert not target.exists()


def test_the_ground_below_is_drawn_at_its_height() -> None:
    """Seven metres under the anchors, by the picture's own scale."""
    statics = statics_of(TWO + "    footing yard: at (0, 0, 3), below\n")
    found = statics.equilibrium()
    svg = side_view(statics.rig, found)
    bar = next(spots for spots, width, _ in lines_of(svg) if len(spots) == 4 and width == 1.5)
    metres = float(next(m[1] for w in words_of(svg) if (m := re.fullmatch(r"([\d.]+) m", w))))
    scale = (bar[2][0] - bar[1][0]) / metres
    (ground,) = [s for s, _, _ in lines_of(svg) if len(s) == 2 and s[0][1] == s[1][1] and s[1][0] - s[0][0] > 300]
    top = min(spot[1] for spots, _, dashed in lines_of(svg) if not dashed for spot in spots)  # where a rope is tied
    assert ground[0][1] - top == pytest.approx(7 * scale, abs=0.5)
    assert "ground, at the height of yard" in words_of(svg)
    bare = statics_of(TWO)
    assert not [w for w in words_of(side_view(bare.rig, bare.equilibrium())) if w.startswith("ground")]
