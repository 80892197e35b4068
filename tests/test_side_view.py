"""The view to scale: places on the page against metres, widths against pulls, and nothing by colour alone."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from statics import statics_of

import analyser
from analyser.doors.commands.main import main
from analyser.forces import Case, Statics
from analyser.forces.carried import part_forces
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
        assert any(width == pytest.approx(1 + 4 * line.tension / most, abs=0.06) for width in same), line.name
    assert widest == pytest.approx(5)
    assert "idle slack" in words and any(re.fullmatch(r"red \d\.\d\d kN", one) for one in words)
    assert "edge lip" in words and "sam" in words
    pull = found.reactions["left"]
    plumb = math.degrees(math.atan2(math.hypot(pull[0], pull[1]), -pull[2]))
    assert f"left {math.hypot(*pull) / 1000:.2f} kN, {plumb:.0f} deg off plumb" in words
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


def test_a_litter_is_drawn_as_it_lies(tmp_path: Path) -> None:
    """Level before, upright after its foot legs have gone: the corners of its rail by the picture's own scale."""
    target = tmp_path / "after.svg"
    rig = str(EXAMPLES / "litter-tilt.rig")
    assert main(["draw", rig, "--side", "-o", str(target), "--failing", "low fails"]) == 0
    svg = target.read_text(encoding="utf-8")
    height = float(ElementTree.parse(target).getroot().attrib["height"])
    outlines = [
        [tuple(map(float, pair.split(","))) for pair in one.attrib["points"].split()]
        for one in ElementTree.fromstring(svg).iter(f"{SVG}polygon")
        if one.attrib["fill"] == "none"
    ]
    assert len(outlines) == 2  # before, and as it lies now
    wide = [max(x for x, _ in one) - min(x for x, _ in one) for one in outlines]
    tall = [max(y for _, y in one) - min(y for _, y in one) for one in outlines]
    assert wide[0] > 5 * tall[0] and tall[1] > 5 * wide[1]
    assert tall[1] == pytest.approx(wide[0], rel=0.02)
    assert max(y for one in outlines for _, y in one) < height - 60  # all of it is on the page
    assert any(words.startswith("basket, head 90 deg up") for words in words_of(svg))


def test_a_litter_that_turned_over_says_so_and_lies_so() -> None:
    """The head is drawn on its upper side: below the rail once that side has come to lie below."""
    text = (
        "anchor bolt: at (0, 0, 10)\nlitter basket: 95 kg, at (0, 0, 7.15), points head-left, head-right, foot-left, "
        "foot-right\nbasket.head-left: at (1, 0.25, 7)\nbasket.head-right: at (1, -0.25, 7)\n"
        "basket.foot-left: at (-1, 0.25, 7)\nbasket.foot-right: at (-1, -0.25, 7)\nring master\n"
        "attach bolt - strap main - master\nmain: length 2 m\nleg-1, leg-2, leg-3, leg-4: length 1.4 m\n"
    )
    for k, point in enumerate(("head-left", "head-right", "foot-left", "foot-right"), 1):
        text += f"attach master - strap leg-{k} - basket.{point}\n"
    statics = statics_of(text)
    base = statics.equilibrium()
    after = statics.equilibrium(Case(Effects(gone=frozenset({"leg-1"}))), base)
    for found, over in ((base, False), (after, True)):
        svg = side_view(statics.rig, found)
        tree = ElementTree.fromstring(svg)
        (head,) = [c for c in tree.iter(f"{SVG}circle") if c.attrib["fill"] == "#ececec"]
        rail = next(spots for spots, width, _ in lines_of(svg) if width == 2.4)
        level = sum(y for _, y in rail) / len(rail)
        assert (float(head.attrib["cy"]) > level) is over
        assert any("TURNED OVER" in words for words in words_of(svg)) is over


FRAME = """
    footing left-foot: at (0.4, 1, 0)
    footing right-foot: at (0.4, -1, 0)
    anchor back-stake: at (-4, 0, 0.1)
    anchor tree: at (-6, 0, 0.6)
    edge brow: at (0.6, 0, -0.1)
    a-frame head: feet left-foot, right-foot, guyed by back, at (1, 0, 2.6)
    rope back: 11 mm
        tied to back-stake with round-turn
        tied to head with clove-hitch
    person jo: standing, at (-5.5, 0, 0.2)
    load crate: 80 kg, at (1, 0, -4), points eye
    attach head - pulley top-wheel
    attach tree - cam-pulley capture
    attach friction-hitch haul-hitch - pulley haul-wheel
    haul-hitch: at (-2, 0, 1.5)
    rope main: 11 mm
        tied to crate.eye with bowline
        through top-wheel
        gripped by haul-hitch
        gripped by capture, load from main-bowline
        through haul-wheel
        held by jo
"""


def test_frames_stand_on_their_legs_and_strands_run_over_wheels() -> None:
    statics = statics_of(FRAME)
    found = statics.equilibrium()
    svg = side_view(statics.rig, found)
    words = words_of(svg)
    tubes = [spots for spots, width, _ in lines_of(svg) if width == 3.6]
    assert len(tubes) == 2  # a leg to each foot
    assert any(
        "8 3" in one.attrib.get("stroke-dasharray", "") or "9 3" in one.attrib.get("stroke-dasharray", "")
        for one in ElementTree.fromstring(svg).iter(f"{SVG}polyline")
    )
    rings = [c for c in ElementTree.fromstring(svg).iter(f"{SVG}circle") if c.attrib["r"] == "5.5"]
    assert len(rings) == 2  # the two wheels
    assert any(re.fullmatch(r"(head TIPS: )?load [\d.]+ m (inside|OUTSIDE) the feet", one) for one in words)
    assert any(one.startswith("left-foot ") and one.endswith(" kN") for one in words) or any("TIPS" in w for w in words)
    assert "jo, standing" in words and any(one.startswith("edge brow") for one in words)
    assert any(re.fullmatch(r"tree [\d.]+ kN, \d+ deg off plumb", one) for one in words)


def example(name: str) -> Statics:
    found = Statics.of(analyser.read(EXAMPLES / f"{name}.rig"))
    assert isinstance(found, Statics)
    return found


def boxes_of(svg: str) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Each text with the room it takes, reckoned from the letters (0.5 of their height wide: less than most)."""
    found = []
    for one in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        x, y, size = (float(one.attrib[key]) for key in ("x", "y", "font-size"))
        words = "".join(one.itertext())
        wide = 0.5 * size * len(words)
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[one.attrib["text-anchor"]]
        found.append((words, (left, y - 0.7 * size, left + wide, y)))
    return found


def crosses(box: tuple[float, float, float, float], a: tuple[float, float], b: tuple[float, float]) -> bool:
    """Does a stroke pass through a box? By points along it, half a point apart."""
    count = int(2 * max(abs(a[0] - b[0]), abs(a[1] - b[1]))) + 1
    for k in range(count + 1):
        x, y = a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count
        if box[0] < x < box[2] and box[1] < y < box[3]:
            return True
    return False


@pytest.mark.parametrize(
    "name", ["litter-bridle", "litter-tilt", "tree-climb", "haul-three-to-one", "slack-second-line", ""]
)
def test_no_words_stand_on_a_stroke_or_on_each_other(name: str) -> None:
    statics = example(name) if name else statics_of(FRAME)
    svg = side_view(statics.rig, statics.equilibrium())
    boxes = boxes_of(svg)
    strokes = [(a, b) for spots, width, _ in lines_of(svg) if width > 0.5 for a, b in pairwise(spots)]
    for words, box in boxes:
        assert not any(crosses(box, a, b) for a, b in strokes), words
    for k, (one, a) in enumerate(boxes):
        for other, b in boxes[:k]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]), (one, other)


def test_the_view_and_what_each_part_carries_together(tmp_path: Path) -> None:
    """The column beside the picture says of each part what `forces` says of it."""
    target = tmp_path / "both.svg"
    rig = EXAMPLES / "litter-bridle.rig"
    assert main(["draw", str(rig), "--side", "--forces", "-o", str(target)]) == 0
    words = words_of(target.read_text(encoding="utf-8"))
    statics = example("litter-bridle")
    for one in part_forces(statics.rig, statics.equilibrium()):
        if one.name in ("master", "left-crab", "leg-1", "right-bolt"):
            assert words[words.index(one.name) + 1] == f"{one.force / 1000:.2f}", one.name


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
    wedges = ElementTree.fromstring(svg).iter(f"{SVG}polygon")
    points = [[tuple(map(float, pair.split(","))) for pair in one.attrib["points"].split()] for one in wedges]
    top = min(one[0][1] for one in points if one[1][1] == one[2][1] < one[0][1])  # the tip of an anchor's wedge
    assert ground[0][1] - top == pytest.approx(7 * scale, abs=0.5)
    assert "ground, at the height of yard" in words_of(svg)
    bare = statics_of(TWO)
    assert not [w for w in words_of(side_view(bare.rig, bare.equilibrium())) if w.startswith("ground")]
