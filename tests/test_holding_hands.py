"""Where the work may stop, what a card says of one's own hold, where a hold point belongs. Scenarios are invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from rigs import rig_of

from analyser.checking.analysing import analyse
from analyser.doors.commands.main import main
from analyser.uses.field.cards import cards
from analyser.uses.mending.ranking import mend
from analyser.uses.ordering.answer import reorder
from analyser.uses.procedure.stopping import stops

ONE_BOLT = """
rig "Two lines, one bolt"
anchor a-bolt, b-bolt
person dan: points seat, breast
person lea: standing
attach a-bolt - carabiner a-crab (locking) - descender a-dev
a-dev: operated by lea, self-locking
rope red
    gripped by a-dev
    tied to dan.seat with figure-eight as red-knot
    stopper as red-stop
attach a-bolt - carabiner b-crab (locking) - rope-grab b-dev
b-dev: minded by lea
rope green
    gripped by b-dev
    tied to dan.breast with figure-eight as green-knot
    stopper as green-stop
require everyone held with hands off
"""
SWAP = """
rig "Over to the new pair"
anchor old-1, old-2, new-1, new-2
person dan: points seat, breast
strap n1
strap n2
attach old-1 - strap s1 - dan.seat
attach old-2 - strap s2 - dan.breast
require dan held after any 1 failure
stage "Swap"
    detach s1
    say "first one over"
    attach new-1 - n1 - dan.seat
    check "n1 is loaded and holds"
    detach s2
    attach new-2 - n2 - dan.breast
    say "look at it"
    check "n2 holds"
"""


def test_the_card_of_whoever_hangs_tells_what_alone_drops_them_wherever_it_is() -> None:
    (own,) = cards(analyse(rig_of(ONE_BOLT)), "one.rig").of("dan")
    falls = {one.key: one.gaps for one in own.critical}
    assert "critical-no-single" not in falls
    assert "a-bolt" in str(falls["critical-falls"])


def test_the_work_stops_nowhere_with_a_device_held_open_or_a_brake_in_hand() -> None:
    open_ = ONE_BOLT + 'stage "Look"\n    hold open b-dev, by lea\n    let b-dev grip, by lea\n'
    told = stops(analyse(rig_of(open_)))
    assert [one.may_stop for one in told] == [True, False, True] and told[1].in_hands == ("b-dev",)
    hand = ONE_BOLT.replace("operated by lea, self-locking", "operated by lea") + (
        'stage "Look"\n    lock off a-dev, by lea\n    take a-dev in hand, by lea\n    lock off a-dev, by lea\n'
    )
    told = [one.in_hands for one in stops(analyse(rig_of(hand)))]
    assert told == [("a-dev",), (), ("a-dev",), ()], "as first attached it is in the hand too"


def test_a_hold_point_stays_with_the_step_that_it_confirms() -> None:
    answer = reorder(rig_of(SWAP), "Swap")
    assert answer.best is not None and answer.best.bad == 0
    words = [one.line.words for one in answer.best.lines]
    for step, check in (("attach new-1", "n1 is loaded"), ("attach new-2", "n2 holds")):
        (at,) = (k for k, one in enumerate(words) if one.startswith(step))
        rest = words[at + 1 :]
        first = next(k for k, one in enumerate(rest) if check in one)
        assert all(one.startswith("say") for one in rest[:first])


def test_what_breaks_while_a_rope_is_laid_anew_is_not_told_as_after_it() -> None:
    rig = rig_of("""
rig "Laid anew"
anchor a-1, b-1, c-1
person dan: points seat, breast
strap t
rope red
    tied to a-1 with figure-eight as red-top
    tied to dan.seat with figure-eight as red-low
attach b-1 - strap s - dan.breast
require dan held after any 1 failure
stage "Move"
    rerig red
        tied to c-1 with figure-eight as red-top
        tied to dan.seat with figure-eight as red-low
    attach c-1 - t - dan.breast
""")
    (wrong,) = reorder(rig, "Move").written.lines[0].wrong
    assert wrong.startswith("while red is laid anew: dan held after any 1 failure")


def test_mend_tells_that_later_states_need_something() -> None:
    early = SWAP.replace("    detach s1\n", "    attach new-1 - n1 - dan.seat\n    detach s1\n    detach n1\n", 1)
    assert "but in state 1 (after “detach s1”) one failure or none is enough for dan" in mend(rig_of(SWAP)).need
    assert "but in state 3 (after “detach n1”) one failure or none is enough for dan" in mend(rig_of(early)).need
    assert "state" not in mend(rig_of(SWAP.split("stage")[0])).need


def test_a_state_is_checked_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "swap.rig"
    path.write_text(SWAP)
    assert main(["check", str(path)]) == 1 and capsys.readouterr().out
    assert main(["check", str(path), "--state", "0"]) == 0 and "state" not in capsys.readouterr().out.splitlines()[0]
    assert main(["check", str(path), "--stage", "Swap", "--step", "1"]) == 1
    page = capsys.readouterr().out
    assert "state 1, after “detach s1”" in page.splitlines()[0] and "ON ONE by 1 attachment" in page
    assert main(["check", str(path), "--state", "9"]) == 2
    assert main(["check", str(path), "--state", "1", "--resting-on"]) == 2


def test_a_line_to_paste_has_the_stopper_that_its_own_rule_asks_for() -> None:
    text = """
rig "One brake"
anchor a-bolt
person op: standing
person vic: points seat, chest
attach a-bolt - brake a-brake
a-brake: operated by op
rope red
    gripped by a-brake
    tied to vic.seat with figure-eight
    start on ground
"""
    best = next(one for one in mend(rig_of(text)).mends if "a new anchor" in one.proposal.words)
    mended = text + "\n".join(best.proposal.added) + "\n"
    told = analyse(rig_of(mended)).states[0]
    assert "no-stopper" not in {one.rule for one in told.findings}
    assert not [cut for cut in told.failure_sets["vic"] if len(cut) < 2]
