"""The twelve lessons: each teaches the one thing it says, and its mend takes that away.

What is expected here was worked out by hand from the rules of holding (`analyser/holding/rules.md`), rig by rig:
walk from each body up to the ground, and note what every way passes.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from rigs import criticals, shipped

import grammar
from analyser.checking.results import Result
from analyser.doors.commands.main import main

LESSONS = Path(__file__).parent.parent / "examples" / "lessons"


@dataclass(frozen=True)
class Lesson:
    """By body: what drops it alone, and its attachments and independent ones."""

    singles: dict[str, set[str]]
    counts: dict[str, tuple[int, int]]
    findings: set[str] = field(default_factory=set)
    """Rules that must speak."""
    pairs: tuple[tuple[str, str, str], ...] = ()
    """(body, failure, failure): falls after both, and after neither alone."""
    hands_off: set[str] = field(default_factory=set)
    tips: set[str] = field(default_factory=set)
    """Single failures after which something tips."""
    exit_status: int = 1


def ropes_and(*own: str) -> set[str]:
    """What fails of two lines: bolts, knots, spans, beside what is named."""
    return {
        *(f"{side}-bolt fails" for side in ("left", "right")),
        *(f"{rope}-{end} slips" for rope in ("red", "green") for end in ("top", "low")),
        *(f"{rope}[{rope}-top..{rope}-low] is cut" for rope in ("red", "green")),
        *own,
    }


LONG = {"long[tie-in..wheel] is cut", "long[wheel..ground-brake] is cut"}
HOOP = {f"hoop[{a}..{b}] is cut" for a, b in (("hoop-knot", "tree"), ("tree", "eye"), ("eye", "hoop-knot#2"))}
WANTED = {
    "01-shared-ring": Lesson(
        {"ann": {"master fails"}},
        {"ann": (2, 1)},
        {"fewer-independent"},
        (("ann", "left-bolt fails", "right-bolt fails"), ("ann", "waist-strap fails", "chest-strap fails")),
    ),
    "01-shared-ring-mended": Lesson(
        {"ann": set()}, {"ann": (2, 2)}, set(), (("ann", "red-ring fails", "green-ring fails"),), exit_status=0
    ),
    "02-tails": Lesson(
        {"vic": {"master fails", "basket fails", "lashing fails"}, "basket": {"master fails"}},
        {"vic": (1, 1), "basket": (2, 1)},
        {"tied-to-litter-only"},
        (("basket", "head-leg fails", "foot-leg fails"),),
        tips={"head-leg fails", "foot-leg fails"},
    ),
    "02-tails-mended": Lesson(
        {"vic": set(), "basket": {"master fails"}},
        {"vic": (2, 2), "basket": (2, 1)},
        set(),
        (("vic", "master fails", "red-tail slips"), ("vic", "lashing fails", "red-tail slips")),
        tips={"head-leg fails", "foot-leg fails"},
    ),
    "03-edge-and-guard": Lesson(
        {"ann": {"lip cuts"}}, {"ann": (2, 1)}, {"bare-edge"}, (("ann", "left-bolt fails", "green-low slips"),)
    ),
    "03-edge-and-guard-mended": Lesson(
        {"ann": set()}, {"ann": (2, 2)}, set(), (("ann", "left-bolt fails", "right-bolt fails"),), exit_status=0
    ),
    "04-grip-reversed": Lesson(
        {
            "nia": {
                *("post fails", "working-top slips", "works fails", "works slips"),
                "working[working-top..works] is cut",
            }
        },
        {"nia": (1, 1)},
        {"holds-nobody", "one-attachment"},
    ),
    "04-grip-reversed-mended": Lesson(
        {"nia": set()}, {"nia": (2, 2)}, set(), (("nia", "post fails", "grab slips"),), exit_status=0
    ),
    "05-ground-brake": Lesson(
        {
            "ola": {
                *("top-bolt fails", "wheel fails", "stake fails", "ground-brake fails", "ground-brake slips"),
                *("tie-in slips", *LONG),
            }
        },
        {"ola": (1, 1)},
        {"one-attachment"},
    ),
    "05-ground-brake-mended": Lesson(
        {"ola": set()}, {"ola": (2, 2)}, set(), (("ola", "stake fails", "second-bolt fails"),), exit_status=0
    ),
    "06-closed-loop": Lesson(
        {"max": {"tree fails", "eye fails", "hang fails", "hoop-knot slips", *HOOP}},
        {"max": (1, 1)},
        {"one-attachment"},
    ),
    "06-closed-loop-mended": Lesson(
        {"max": set()}, {"max": (2, 2)}, set(), (("max", "tree fails", "other-knot slips"),), exit_status=0
    ),
    "07-tripod-foot": Lesson(
        {"rey": {"foot-1 fails", "foot-2 fails", "foot-3 fails", "head fails", "hang fails"}},
        {"rey": (1, 1)},
        {"one-attachment"},
    ),
    "07-tripod-foot-mended": Lesson(
        {"rey": set()}, {"rey": (2, 2)}, set(), (("rey", "foot-2 fails", "back-wall fails"),), exit_status=0
    ),
    "08-hands-off": Lesson(
        {"vic": {"jo lets go"}},
        {"vic": (2, 1)},
        {"needed-twice"},
        (("vic", "left-bolt fails", "right-brake slips"),),
        hands_off={"vic"},
    ),
    "08-hands-off-mended": Lesson(
        {"vic": set()}, {"vic": (2, 2)}, set(), (("vic", "left-brake slips", "right-brake slips"),), exit_status=0
    ),
    "09-changeover-gap": Lesson({"eva": set()}, {"eva": (2, 2)}, set(), (("eva", "bolt-1 fails", "right-tail fails"),)),
    "09-changeover-gap-mended": Lesson(
        {"eva": set()}, {"eva": (2, 2)}, set(), (("eva", "bolt-1 fails", "bolt-2 fails"),), exit_status=0
    ),
    "10-hanging-from-a-person": Lesson(
        {"vic": set(), "sam": set()},
        {"vic": (2, 2), "sam": (0, 0)},
        {"person-as-anchor"},
        (("vic", "left-bolt fails", "vic-right fails"),),
        hands_off={"sam"},
    ),
    "10-hanging-from-a-person-mended": Lesson(
        {"vic": set(), "sam": set()},
        {"vic": (2, 2), "sam": (2, 2)},
        set(),
        (("sam", "sam-left fails", "right-bolt fails"),),
        exit_status=0,
    ),
    "11-litter-tips": Lesson(
        {"basket": set()},
        {"basket": (2, 2)},
        {"litter-tips"},
        (("basket", "head-leg fails", "foot-leg fails"),),
        tips=ropes_and("red-ring fails", "green-ring fails", "head-leg fails", "foot-leg fails"),
    ),
    "11-litter-tips-mended": Lesson(
        {"basket": set()}, {"basket": (4, 2)}, set(), (("basket", "red-ring fails", "green-ring fails"),), exit_status=0
    ),
    "12-common-structure": Lesson(
        {"ann": {"block fails"}},
        {"ann": (2, 1)},
        {"one-structure"},
        (("ann", "left-bolt fails", "right-tail fails"),),
    ),
    "12-common-structure-mended": Lesson(
        {"ann": set()}, {"ann": (2, 2)}, set(), (("ann", "block fails", "buttress fails"),), exit_status=0
    ),
}


def test_twelve_lessons_each_with_its_mend() -> None:
    assert sorted(path.stem for path in LESSONS.glob("*.rig")) == sorted(WANTED)
    assert len([name for name in WANTED if not name.endswith("-mended")]) == 12


@pytest.fixture(scope="module", params=sorted(WANTED))
def lesson(request: pytest.FixtureRequest) -> tuple[Lesson, Result]:
    return WANTED[request.param], shipped(LESSONS / f"{request.param}.rig")


def test_single_points(lesson: tuple[Lesson, Result]) -> None:
    wanted, result = lesson
    assert {body.name: criticals(result, body.name) for body in result.bodies} == wanted.singles


def test_attachments_and_smallest_sets(lesson: tuple[Lesson, Result]) -> None:
    wanted, result = lesson
    assert {body.name: (body.attachments, body.independent) for body in result.bodies} == wanted.counts
    for body in result.bodies:
        smallest = 0 if wanted.counts[body.name] == (0, 0) else 1 if wanted.singles[body.name] else 2
        if wanted.pairs or smallest < 2:
            assert body.smallest_failure_set == smallest


def test_pairs_tips_hands_off_and_verdict(lesson: tuple[Lesson, Result]) -> None:
    wanted, result = lesson
    for body, one, two in wanted.pairs:
        assert tuple(sorted((one, two))) in result.failure_sets[body]
    assert {failure.id for failure in result.failures if failure.tips} == wanted.tips
    assert set(result.states[0].outcome.hands_off_falls) == wanted.hands_off
    assert result.exit_status == wanted.exit_status


def test_findings(lesson: tuple[Lesson, Result]) -> None:
    wanted, result = lesson
    rules = {finding.rule for finding in result.findings}
    assert wanted.findings <= rules
    if wanted.exit_status == 0:
        assert not any(finding.severity == "danger" for finding in result.findings)


def test_the_gap_is_between_the_steps() -> None:
    """Two, one, none, one, two independent attachments; with the third tail never fewer than two."""
    for name, wanted in (("09-changeover-gap", [2, 1, 0, 1, 2]), ("09-changeover-gap-mended", [2, 3, 2, 3, 2])):
        result = shipped(LESSONS / f"{name}.rig")
        assert [state.outcome.body("eva").independent for state in result.states] == wanted


def test_sam_is_held_only_by_vic() -> None:
    result = shipped(LESSONS / "10-hanging-from-a-person.rig")
    sam = result.body("sam")
    assert not sam.held and sam.only_by_person


@pytest.mark.parametrize("name", sorted(WANTED))
def test_how_it_is_written(name: str) -> None:
    """Short, laid out, and with its text at the top."""
    text = (LESSONS / f"{name}.rig").read_text(encoding="utf-8")
    lines = text.splitlines()
    number = int(name[:2])
    assert lines[0].startswith(f"# Lesson {number}, ") and "Invented: no real" in lines[1]
    assert 9 <= len(lines) <= 25 and max(map(len, lines)) <= 110
    assert main(["format", "--check", str(LESSONS / f"{name}.rig")]) == 0


WRONG = sorted(name for name in WANTED if not name.endswith("-mended"))


@pytest.mark.parametrize("name", WRONG)
def test_the_drill_of_a_lesson_asks_what_it_teaches(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """With the seed of the page; each answer is the one worked out by hand above."""
    assert main(["drill", str(LESSONS / f"{name}.rig"), "--seed", str(int(name[:2])), "--json"]) == 0
    questions = json.loads(capsys.readouterr().out)["questions"]
    wanted = WANTED[name]
    assert 5 <= len(questions) <= 8
    for one in questions:
        if one["kind"] == "one failure":
            (failure,) = one["failures"]
            held = [body for body in wanted.singles if wanted.counts[body] != (0, 0)]
            assert one["right"] == sorted(body for body in held if failure in wanted.singles[body]), failure
        elif one["kind"] == "critical point" and one["state"] == 0:
            assert set(one["right"]) == wanted.singles[one["body"]]
        elif one["kind"] == "hands off":
            assert set(one["right"]) == wanted.hands_off
    teaches = {"09": "in between", "10": "as it stands", "11": "tips", "08": "hands off"}
    assert teaches.get(name[:2], "critical point") in {one["kind"] for one in questions}


def test_the_page_leads_through_them_in_order() -> None:
    page = (LESSONS / "README.md").read_text(encoding="utf-8")
    places = [page.index(f"[`{name}.rig`]") for name in WRONG]
    assert places == sorted(places)
    for name in WRONG:
        assert f"stillheld drill {name}.rig --seed {int(name[:2])}" in page


def test_the_lessons_come_with_the_package(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`start --lessons` writes every file as it is, and touches nothing that is there."""
    assert set(grammar.lessons()) == {path.name for path in LESSONS.iterdir()}
    folder = tmp_path / "lessons"
    assert main(["start", "--lessons", str(folder)]) == 0
    for path in LESSONS.iterdir():
        assert (folder / path.name).read_bytes() == path.read_bytes()
    (folder / "01-shared-ring.rig").write_text("mine")
    (folder / "02-tails.rig").unlink()
    assert main(["start", "--lessons", str(folder)]) == 2
    assert (folder / "01-shared-ring.rig").read_text() == "mine"
    assert not (folder / "02-tails.rig").exists()
    assert main(["start", "--lessons", str(tmp_path / "no" / "where")]) == 2
    assert "never overwritten" in capsys.readouterr().err
