"""Every example in `examples/` reads, ends as its comment says, and shows what it claims."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest
from rigs import shipped

import analyser
from analyser.checking.results import Result
from analyser.holding.outcome import BodyOutcome, what_if

EXAMPLES = Path(__file__).parent.parent / "examples"


@dataclass(frozen=True)
class Expected:
    """What an example must show: its exit status and, body by body, what brings it down."""

    exit_status: int
    singles: dict[str, set[str]]
    """The failures that drop each body alone. Every body of the rig is named."""
    attachments: dict[str, tuple[int, int]]
    """Attachments and independent attachments of each person."""
    pairs: list[tuple[str, str, str]] = field(default_factory=list)
    """(body, failure, failure): falls after these two together, and after neither alone."""
    accepted: int = 0
    cautions: tuple[str, ...] = ()
    """What the file itself leaves to wonder about: the parts named in its cautions."""


SAMS_SINGLES = {
    "sam-descender slips",
    "sam-descender fails",
    "sam-crab fails",
    "sam-waist fails",
    "green[green-bowline..sam-descender] is cut",
}
LITTER_PAIRS = [
    ("vic", "lip cuts", "stumble strikes"),
    ("vic", "left-bolt fails", "right-bolt fails"),
    ("basket", "left-brake slips", "right-brake slips"),
]
WANTED = {
    "litter-lower.rig": Expected(
        0,
        {"sam": set(), "vic": set(), "basket": {"master fails"}},
        {"sam": (2, 2), "vic": (2, 2)},
        [*LITTER_PAIRS, ("sam", "sam-strap fails", "sam-descender fails"), ("vic", "master fails", "red-tail slips")],
        accepted=1,
    ),
    "litter-lower-strap-left-off.rig": Expected(
        1,
        {"sam": SAMS_SINGLES, "vic": set(), "basket": {"master fails"}},
        {"sam": (1, 1), "vic": (2, 2)},
        LITTER_PAIRS,
        accepted=1,
        cautions=("sam-chest",),
    ),
    "litter-bridle.rig": Expected(
        0,
        {"sam": set(), "vic": {"master fails"}, "basket": {"master fails"}},
        {"sam": (2, 2), "vic": (2, 1)},
        [("sam", "sam-line fails", "sam-strap fails"), ("vic", "lashing fails", "vic-strap fails")],
        accepted=1,
    ),
    "three-bolt-cord.rig": Expected(
        0,
        {"nel": set()},
        {"nel": (2, 2)},
        [("nel", "master-knot slips", "second-top slips"), ("nel", "rack fails", "follower fails")],
    ),
    "bank-on-pickets.rig": Expected(
        0,
        {"ann": set()},
        {"ann": (2, 2)},
        [("ann", "front fails", "boulder fails"), ("ann", "pickets fails", "follower slips")],
    ),
    "two-lines-one-ring.rig": Expected(
        1,
        {"ann": {"master fails"}},
        {"ann": (2, 1)},
        [("ann", "left-bolt fails", "right-bolt fails"), ("ann", "waist-strap fails", "chest-strap fails")],
    ),
    "tripod-raise.rig": Expected(
        0,
        {"ola": set(), "rey": set()},
        {"ola": (2, 2), "rey": (1, 2)},
        [
            ("ola", "north-foot fails", "back-wall fails"),
            ("ola", "hobble fails", "second-brake fails"),
            ("ola", "capture slips", "second-knot slips"),
            ("rey", "rey loses footing", "rey-lanyard fails"),
        ],
    ),
    "litter-tilt.rig": Expected(
        0,
        {"vic": {"master fails"}, "basket": {"master fails"}},
        {"vic": (2, 1)},
        [
            ("vic", "lashing fails", "vic-strap fails"),
            ("basket", "main-bolt fails", "back-bolt fails"),
        ],
        accepted=1,
    ),
    "haul-three-to-one.rig": Expected(
        0,
        {"vic": set()},
        {"vic": (2, 2)},
        [
            ("vic", "main-bolt fails", "back-bolt fails"),
            ("vic", "capture slips", "back-brake fails"),
        ],
    ),
    "facade-work.rig": Expected(
        0,
        {"nia": set()},
        {"nia": (2, 2)},
        [
            ("nia", "gust strikes", "parapet cuts"),
            ("nia", "poor-wall strikes", "ledge cuts"),
            ("nia", "work-eye fails", "nia-back-up fails"),
        ],
    ),
    "slack-second-line.rig": Expected(
        1,
        {"ros": set()},
        {"ros": (2, 2)},
        [("ros", "left-eye fails", "chest-link fails"), ("ros", "main-low slips", "second-top slips")],
    ),
    "track-line.rig": Expected(
        1,
        {"max": {"carriage fails"}},
        {"max": (2, 1)},
        [
            ("max", "near-tree fails", "control-brake fails"),
            ("max", "track[wheel..track-figure-eight] is cut", "near-boulder fails"),
            ("max", "wheel fails", "boulder-crab fails"),
        ],
    ),
    "suspended-platform.rig": Expected(
        0,
        {"lou": set(), "may": set(), "deck": set()},
        {"lou": (1, 2), "may": (1, 2)},
        [("lou", "deck fails", "lou-grab slips"), ("deck", "west-hoist slips", "east-hoist slips")],
    ),
    "twin-tension.rig": Expected(
        0,
        {"amy": set(), "vic": set(), "basket": set()},
        {"amy": (2, 2), "vic": (3, 2)},
        [
            ("amy", "left-tree fails", "right-device slips"),
            ("amy", "amy-left fails", "right-ring fails"),
            ("basket", "left-bridle fails", "right-bridle fails"),
        ],
    ),
    "highline.rig": Expected(
        0,
        {"kai": {"leash-top slips", "leash-low slips", "leash[leash-top..leash-low] is cut"}},
        {"kai": (1, 1)},
        [("kai", "near-1 fails", "far-2 fails"), ("kai", "first-ring fails", "second-ring fails")],
        accepted=3,
    ),
    "rope-access.rig": Expected(
        0,
        {"ivo": set()},
        {"ivo": (2, 2)},
        [("ivo", "back-eye fails", "ivo-descender slips"), ("ivo", "work-top slips", "follower fails")],
    ),
    "confined-space-entry.rig": Expected(
        0,
        {"pia": {"head fails", "foot-1 fails", "foot-2 fails", "foot-3 fails"}},
        {"pia": (2, 1)},
        [("pia", "arrester fails", "shaft-winch slips"), ("pia", "back fails", "front fails")],
        accepted=4,
    ),
    "tower-climb.rig": Expected(
        0,
        {"uma": set()},
        {"uma": (2, 2)},
        [("uma", "front fails", "uma loses footing"), ("uma", "mast fails", "uma loses footing")],
        accepted=1,
    ),
    "tree-climb.rig": Expected(
        0,
        {"ida": {"tree strikes"}},
        {"ida": (2, 1)},
        [
            ("ida", "climb-hitch slips", "adjuster slips"),
            ("ida", "bridge fails", "left-hip fails"),
            ("ida", "fork fails", "stem fails"),
        ],
        accepted=1,
    ),
}


def test_every_example_is_named_here() -> None:
    assert sorted(path.name for path in EXAMPLES.glob("*.rig")) == sorted(WANTED)


@pytest.fixture(scope="module", params=sorted(WANTED))
def example(request: pytest.FixtureRequest) -> tuple[Expected, Result]:
    return WANTED[request.param], shipped(EXAMPLES / request.param)


def test_exit_status(example: tuple[Expected, Result]) -> None:
    wanted, result = example
    assert result.exit_status == wanted.exit_status, result.closing
    assert len(result.rig.accepted) == wanted.accepted
    assert not result.rig.sound


def test_nothing_is_left_to_wonder_about(example: tuple[Expected, Result]) -> None:
    """No other caution about the file: no part is idle, no knot unknown, no end's place untold."""
    expected, result = example
    assert tuple(name for caution in result.rig.cautions for name in caution.about) == expected.cautions


def test_single_points(example: tuple[Expected, Result]) -> None:
    wanted, result = example
    found = {body.name: {f.id for f in result.failures if body.name in f.falls} for body in result.bodies}
    assert found == wanted.singles


def test_attachments(example: tuple[Expected, Result]) -> None:
    wanted, result = example

    def counts(body: BodyOutcome) -> tuple[int, int | None]:
        return body.attachments, body.independent

    assert {body.name: counts(body) for body in result.bodies if body.kind == "person"} == wanted.attachments


def test_pairs(example: tuple[Expected, Result]) -> None:
    wanted, result = example
    for body, one, two in wanted.pairs:
        assert tuple(sorted((one, two))) in result.failure_sets[body], (body, one, two)


def test_nobody_hangs_from_a_hand(example: tuple[Expected, Result]) -> None:
    _, result = example
    outcome = result.states[0].outcome
    assert all(body.held and not body.tips and not body.only_by_person for body in outcome.bodies)
    assert outcome.hands_off_falls == ()


def test_only_the_strap_differs() -> None:
    """The pair of litter examples differs in the strap, in words, and in nothing else."""

    def statements(name: str) -> list[str]:
        text = (EXAMPLES / name).read_text(encoding="utf-8")
        lines = [line.split("#")[0].rstrip() for line in text.splitlines()]
        return [line for line in lines if line and not line.startswith("rig ")]

    whole, without = statements("litter-lower.rig"), statements("litter-lower-strap-left-off.rig")
    assert [line for line in whole if line not in without] == ["attach master - strap sam-strap - sam-chest"]
    assert [line for line in without if line not in whole] == []


def test_slips_run_to_the_stopper() -> None:
    """Facade: a device that slips is stopped at the knot after a run, which is not held."""
    result = shipped("facade-work")
    assert ("nia-back-up slips", "nia-descender slips") in result.failure_sets["nia"]
    both = [one for one in result.rig.failures if one.id in ("nia-back-up slips", "nia-descender slips")]
    assert what_if(result.rig, both).fate("nia").to == ("working-stopper", "back-up-stopper")
    assert ("nia-back-up fails", "nia-descender fails") in result.failure_sets["nia"]


@pytest.mark.parametrize("name", sorted(WANTED))
def test_how_it_is_written(name: str) -> None:
    """A leading comment that says it is invented; a length that can be read at a glance."""
    lines = (EXAMPLES / name).read_text(encoding="utf-8").splitlines()
    heading = [line for line in lines[: lines.index("")] if line.startswith("#")]
    assert any("Invented: no real" in line for line in heading)
    assert 15 <= len(lines) <= 70
    assert max(map(len, lines)) <= 110


# -- what the examples of other trades claim


def test_a_winch_locks_by_itself_and_an_arrester_carries_nothing_until_then() -> None:
    """With the winch gone Pia drops first, into the arrester's line; its own failure changes nothing at once."""
    rig = analyser.read(EXAMPLES / "confined-space-entry.rig")
    for failing, fate in (("shaft-winch fails", "slackens"), ("arrester fails", "held"), ("wire is cut", "slackens")):
        after = analyser.whatif(rig, failing)
        assert [str(one.fate.kind) for one in after.outcome.bodies] == [fate], failing


def test_the_litter_stays_level_on_either_rope() -> None:
    rig = analyser.read(EXAMPLES / "twin-tension.rig")
    for failing in ("left is cut", "right-device slips", "left-bridle fails", "lip cuts", "l1 fails"):
        after = analyser.whatif(rig, failing)
        assert {str(one.fate.kind) for one in after.outcome.bodies} == {"held"}, failing


def test_below_the_rebelay_the_bend_carries_the_back_up_and_before_it_nothing() -> None:
    """As first attached nothing hangs below the rebelay; at the end the back-up hangs on the bend."""
    result = shipped("rope-access")
    for state, needed in ((result.states[0], False), (result.states[-1], True)):
        pairs = {pair for pair in state.outcome.failure_sets["ivo"] if len(pair) == 2}
        assert any("bend slips" in pair for pair in pairs) is needed


def test_tag_lines_hold_nobody_on_the_highline() -> None:
    rig = analyser.read(EXAMPLES / "highline.rig")
    after = analyser.whatif(rig, "near-1 fails", "near-2 fails")
    assert after.falls == ("kai",)
