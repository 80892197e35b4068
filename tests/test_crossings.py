"""The crossings in `examples/crossings/`: each done right, and done wrong beside it.

What must come out was derived by hand before the check was run: how many states, which of them break
a requirement, who is worst off there, and what each step newly tells.

Outside rules, through every step: at least two separately anchored lines, the harness joined to both
(Ireland 2007, reg. 111; UK maritime 2010, sch. 3: facts 8.1, sources S77, S78); attachments never fewer
than two, four while going from rope to rope (facts 8.7, common practice, no source); a step fails where
the count is below two, or where something is opened while it carries (facts 12.5, common practice, no
source).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from rigs import shipped

from analyser.checking.results import Result
from analyser.doors.commands.main import main

FOLDER = Path(__file__).parent.parent / "examples" / "crossings"
TOLD_OF_HOLDING = ("single-point", "down-to-one", "not-held")
"""Findings that repeat what the counts say: those stand in the columns here."""


@dataclass(frozen=True)
class Expected:
    states: int
    exit_status: int = 0
    broken: tuple[int, ...] = ()
    """The states in which a requirement is broken."""
    worst: str = ""
    """Who has the fewest independent attachments in them."""
    alone: tuple[str, ...] = ()
    """What drops that person alone in the first of them."""
    told: tuple[tuple[int, str, str], ...] = ()
    """What is newly told: the state, the rule, and the text of the line that it points at."""


TILTS = tuple(
    (rule, line)
    for rule, line in (
        ("litter-tips", "attach master - block tilt-top"),
        ("litter-tips", "attach basket.foot-bar - block tilt-foot"),
        ("litter-tips", "cam-pulley tilt-cam: operated by sam, self-locking"),
        *(("litter-tips", "rope tilt: 8 mm, 15 m"),) * 4,
        ("litter-tips", "tied to tilt-top with bowline as tilt-becket"),
    )
)
"""While the foot end rests on the four to one alone: its blocks, its cam, its four strands, its becket's knot.
Without the cam the foot end runs until the stopper jams in the foot block."""
THREE_BOLTS = ("main-bolt fails", "main-brake fails", "main-crab fails")

BOLTS = "anchor main-bolt, safety-bolt, near-tree, far-tree"
WANTED = {
    "knot-pass": Expected(14, told=((3, "fewer-independent", "person ned: 80 kg"),)),
    "knot-pass-wrong": Expected(
        8,
        1,
        (4, 5),
        "ned",
        (
            *("back-up-bolt fails", "back-up-top slips", "back-up[back-up-top..follower] is cut"),
            *("follower fails", "follower slips", "ned-absorber fails", "ned-chest fails"),
        ),
        (
            (4, "one-attachment", "person ned: 80 kg"),
            (4, "runs-to-stopper", "stopper as back-up-end"),
            (5, "no-stopper", "rerig working"),
        ),
    ),
    "lower-to-raise": Expected(26, told=((0, "runs-to-stopper", "stopper as main-end"),)),
    "lower-to-raise-wrong": Expected(
        10,
        1,
        (3, 4, 5, 6, 7, 8),
        "mia",
        (*THREE_BOLTS, "main-brake slips", "main-knot slips", "main[main-brake..main-knot] is cut", "mia-waist fails"),
        (
            (0, "no-stopper", "rope safety: 11 mm, 60 m"),
            (0, "runs-to-stopper", "stopper as main-end"),
            (3, "may-still-carry", "open safety-brake"),
            (3, "one-attachment", "person mia: 85 kg"),
        ),
    ),
    "rebelay": Expected(22, told=((3, "fewer-independent", "person eva: 70 kg"),)),
    "rebelay-wrong": Expected(
        16,
        1,
        (9,),
        "eva",
        ("low-work fails",),
        (
            (0, "holds-nobody", "anchor top-work, top-back-up, low-work, low-back-up: not below"),
            (3, "fewer-independent", "person eva: 70 kg"),
        ),
    ),
    "deviation": Expected(
        16, told=((3, "fewer-independent", "person lou: 75 kg"), (8, "half-padded-edge", "edge ledge"))
    ),
    "deviation-wrong": Expected(
        10,
        1,
        (8, 9),
        "lou",
        ("ledge cuts",),
        (
            (3, "fewer-independent", "person lou: 75 kg"),
            (5, "bare-edge", "edge ledge"),
            (7, "bare-edge", "edge ledge"),
        ),
    ),
    "raise-to-track": Expected(
        16,
        told=(
            (0, "fewer-independent", "person vic: 80 kg"),
            (3, "free-to-run", f"{BOLTS}: not below"),  # whether main and safety pull the same way isn't told
            (6, "free-to-run", "person jo, kim: standing"),
            (9, "free-to-run", "person jo, kim: standing"),
            (10, "free-to-run", f"{BOLTS}: not below"),  # the safety is the only line left that keeps its place
            (13, "free-to-run", "person jo, kim: standing"),
        ),
    ),
    "raise-to-track-wrong": Expected(
        11,
        1,
        (5, 6, 7),
        "vic",
        (),  # in the first of them it is the litter that has one way left
        (
            (0, "fewer-independent", "person vic: 80 kg"),
            (5, "runs-to-stopper", "stopper as safety-end"),
            (6, "one-harness-point", "person vic: 80 kg"),
            (6, "runs-to-stopper", "stopper as safety-end"),
            (7, "free-to-run", f"{BOLTS}: not below"),
        ),
    ),
    "pick-off": Expected(14, told=((2, "fewer-independent", "person cas: 70 kg"),)),
    "pick-off-wrong": Expected(
        9,
        1,
        (6, 7, 8),
        "cas",
        (
            *("cas-absorber fails", "cas-back-up-bolt fails", "cas-back-up-top slips"),
            *(
                "cas-back-up[cas-back-up-top..cas-follower] is cut",
                "cas-chest fails",
                "cas-follower fails",
                "cas-follower slips",
            ),
        ),
        (
            (2, "person-as-anchor", "attach ron-waist - strap short-strap - cas-waist"),
            (3, "person-as-anchor", "attach ron-chest - strap long-strap - cas-chest"),
            (6, "one-attachment", "person cas: 70 kg"),
            (6, "runs-to-stopper", "stopper as cas-back-up-end"),
            (7, "detached-while-needed", "detach cas-follower from cas-back-up"),
            (7, "only-by-person", "person cas: 70 kg"),
        ),
    ),
    "litter-tilt": Expected(30, told=(*((14, *one) for one in TILTS), (16, "litter-tips", "person sam: 85 kg"))),
    "litter-tilt-wrong": Expected(
        17,
        told=(
            (10, "may-still-carry", "detach leg-3 from basket.foot-left"),
            *((11, *one) for one in TILTS),
            (11, "may-still-carry", "detach leg-4 from basket.foot-right"),
            (13, "litter-tips", "person sam: 85 kg"),  # who has the cam in hand may hold on to it
        ),
    ),
}
RIGHT = sorted(name for name in WANTED if not name.endswith("-wrong"))
WRONG = sorted(name for name in WANTED if name.endswith("-wrong"))


def result_of(name: str) -> Result:
    return shipped(FOLDER / f"{name}.rig")


def newly_told(name: str) -> list[tuple[int, str, str]]:
    result = result_of(name)
    lines = (FOLDER / f"{name}.rig").read_text(encoding="utf-8").splitlines()
    known: set[tuple[object, ...]] = set()
    told = []
    for state in result.states:
        for one in state.findings:
            key = (one.rule, one.about, one.bodies)
            if key not in known and one.rule not in TOLD_OF_HOLDING:
                told.append((state.number, one.rule, lines[one.place.line - 1].strip()))
            known.add(key)
    return told


def test_every_crossing_is_named_here_right_and_wrong() -> None:
    assert sorted(path.stem for path in FOLDER.glob("*.rig")) == sorted(WANTED)
    assert [f"{name}-wrong" for name in RIGHT] == WRONG


@pytest.mark.parametrize("name", sorted(WANTED))
def test_states_and_verdict(name: str) -> None:
    wanted, result = WANTED[name], result_of(name)
    assert (len(result.states), result.exit_status) == (wanted.states, wanted.exit_status)
    assert result.broken_states == wanted.broken
    assert not result.rig.cautions and not result.rig.sound
    assert result.order == min(state.outcome.complete_to for state in result.states)


@pytest.mark.parametrize("name", sorted(WANTED))
def test_what_each_step_tells_and_nothing_else(name: str) -> None:
    assert sorted(newly_told(name)) == sorted(WANTED[name].told)


@pytest.mark.parametrize("name", RIGHT)
def test_two_independent_attachments_for_everybody_in_every_state(name: str) -> None:
    """Facts 8.1 (S77, S78), 8.7, 12.5; also while a step is being done, where that is told apart."""
    for state in result_of(name).states:
        for outcome in [state.outcome, *(one.outcome for one in state.during)]:
            for body in outcome.bodies:
                assert body.held and not body.tips and not body.only_by_person, (state.number, body.name)
                if body.kind == "person":
                    assert body.independent is not None and body.independent >= 2, (state.number, body.name)
                    assert body.attachments >= 2
                    assert all(len(cut) > 1 for cut in outcome.failure_sets[body.name]), "an only way"
        by_hand = ("mia",) if name == "lower-to-raise" and state.number < 2 else ()  # two brakes, two pairs of hands
        assert state.outcome.hands_off_falls == by_hand


@pytest.mark.parametrize("name", [name for name in WRONG if WANTED[name].broken])
def test_who_is_worst_off_in_the_wrong_version_and_by_what(name: str) -> None:
    wanted, result = WANTED[name], result_of(name)
    people = [b for k in wanted.broken for b in result.states[k].outcome.bodies if b.kind == "person"]
    people += [
        b for k in wanted.broken for d in result.states[k].during for b in d.outcome.bodies if b.kind == "person"
    ]
    least = min(body.independent or 0 for body in people)
    assert {body.name for body in people if (body.independent or 0) == least} == {wanted.worst}
    assert least < 2
    sets = result.states[wanted.broken[0]].outcome.failure_sets[wanted.worst]
    assert sorted(cut[0] for cut in sets if len(cut) == 1) == sorted(wanted.alone)


ROPE_TO_ROPE = {
    ("rebelay", "eva"): [2, 2, 2, 3, 3, 3, 3, 3, 2, 3, 3, 3, 4, 4, 3, 4, 4, 3, 3, 3, 2, 2],
    ("pick-off", "cas"): [2, 2, 3, 4, 4, 4, 4, 4, 3, 3, 2, 2, 2, 2],
    ("knot-pass", "ned"): [2, 2, 2, 3, 4, 4, 4, 4, 4, 3, 3, 3, 2, 2],
}
"""Attachments, state by state: one on before one off; four where two ropes meet two (facts 8.7)."""


@pytest.mark.parametrize(("name", "person"), sorted(ROPE_TO_ROPE))
def test_one_on_before_one_off(name: str, person: str) -> None:
    outcomes = [state.outcome.body(person) for state in result_of(name).states]
    assert [body.attachments for body in outcomes] == ROPE_TO_ROPE[name, person]


def test_the_tilt_rests_on_the_four_to_one_only_while_the_legs_are_off() -> None:
    """Facts 10.7: its loss swings the litter, and drops nobody."""
    result = result_of("litter-tilt")
    on_it = [
        state.number
        for state in result.states
        if any(f.id == "tilt-top fails" and "basket" in f.tips for f in state.outcome.failures)
    ]
    off, on = (next(s.number for s in result.states if s.step == words) for words in LEGS)
    assert on_it == list(range(off, on))
    for state in result.states:
        assert not [f.id for f in state.outcome.failures if f.part.startswith("tilt") and f.falls]


LEGS = ("detach leg-4 from basket.foot-right", "attach leg-3 - basket.foot-left")
"""The step by which the last foot leg comes off, and that by which the first is on again."""

SAID = {
    "knot-pass-wrong": "(line 39) and in 1 state more: ned has 1, and isn't held after any one of 7",
    "lower-to-raise-wrong": "(line 35) and in 1 state more: mia has 1, and isn't held after any one of 7",
    "rebelay-wrong": "“detach follower from back-up” (line 42): eva has 1, and isn't held after low-work fails alone",
    "deviation-wrong": "in 1 state more: lou has 1, and isn't held after ledge cuts alone",
    "raise-to-track-wrong": "from vic-seat” (line 56): vic has 1, and isn't held after any one of 6",
    "pick-off-wrong": "after step 1.7, “detach cas-follower from cas-back-up” (line 51) and in 1 state more: cas has 0",
    "litter-tilt-wrong": "`detach leg-3 from basket.foot-left`: it may still carry basket, since nothing has been",
}
"""What the check says of each wrong version, in so many words."""


@pytest.mark.parametrize("name", WRONG)
def test_the_words_in_which_it_is_told(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(FOLDER / f"{name}.rig"), "--full"]) == WANTED[name].exit_status
    assert SAID[name] in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("name", RIGHT)
def test_hold_points_and_calls(name: str) -> None:
    """Every crossing has a hold point before something comes off, and calls (facts 12.3 H4, 12.4)."""
    steps = [step for stage in result_of(name).rig.stages for step in stage.steps]
    opening = next(k for k, step in enumerate(steps) if step.verb == "detach")
    assert any(step.verb == "check" for step in steps[:opening])
    assert any(step.verb == "say" for step in steps)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.rig")), ids=lambda path: path.stem)
def test_each_says_that_it_is_invented_and_what_it_shows(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "Invented" in text.split("\n")[0] and "# What it shows: " in text
    assert main(["format", "--check", str(path)]) == 0
