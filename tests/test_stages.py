"""Every step makes a state, a whole rig of its own; requirements hold in each unless they name stages."""

from __future__ import annotations

import pytest
from random_stages import random_stage
from rigs import checked, rig_of

import analyser
from analyser.checking.analysing import analyse
from analyser.checking.results import Result
from analyser.holding.outcome import assess
from analyser.language.mistakes import Unreadable
from analyser.rig.other_orders import rig_in, taken
from analyser.rig.plan import Plan

TWO_STRAPS = """
    anchor bolt, post, beam
    person sam: points waist, chest
    attach bolt - strap s - sam.waist
    attach post - strap t - sam.chest
"""


def staged(steps: str, before: str = TWO_STRAPS, after: str = "") -> Result:
    """A rig with one stage; a step's own lines are indented by five spaces or more."""
    lines = [f"{'    ' * line.startswith('     ')}{line.strip()}" for line in steps.strip().splitlines()]
    indented = "".join(f"        {line}\n" for line in lines)
    return checked(f'{before}{after}\n    stage "Change"\n{indented}')


def independent(result: Result, body: str = "sam") -> list[int | None]:
    return [next(b.independent for b in state.outcome.bodies if b.name == body) for state in result.states]


def test_each_step_is_a_state_with_its_line_and_words() -> None:
    result = staged('attach beam - strap u - sam.waist\n say "off"\n detach s from bolt')
    assert [(s.number, s.stage, s.step) for s in result.states] == [
        (0, None, None),
        (1, "Change", "attach beam - strap u - sam.waist"),
        (2, "Change", 'say "off"'),
        (3, "Change", "detach s from bolt"),
    ]
    assert [s.line for s in result.states] == [1, 8, 9, 10]
    assert independent(result) == [2, 3, 3, 2]
    assert result.met


def test_off_before_on_is_a_requirement_broken_in_between() -> None:
    result = staged("detach s from bolt\n attach beam - s")
    assert independent(result) == [2, 1, 2]
    first, second = result.requirements
    assert (first.met, first.states) == (False, (1,))
    assert first.because[0].startswith("after step 1.1, “detach s from bolt” (line 8): sam has 1")
    assert (second.met, second.states) == (False, (1,))
    assert result.broken_states == (1,)


def test_requirements_may_name_stages() -> None:
    steps = "detach s from bolt\n attach beam - s"
    asked = "    require every person has 2 independent attachments {}\n"
    assert staged(steps, after=asked.format('except in stage "Change"')).met
    within = staged(steps, after=asked.format('in stage "Change"'))
    assert [(one.met, one.states) for one in within.requirements] == [(False, (1,))]
    assert staged("attach beam - s", after=asked.format('in stage "Change"')).met


def test_what_a_stage_brings_is_not_there_before() -> None:
    result = staged("sling late\n attach beam - late - sam.waist\n detach late")
    assert ["late" in state.rig.parts for state in result.states] == [False, True, True, True]
    assert "late fails" not in {failure.id for failure in result.failures}
    assert independent(result) == [2, 2, 3, 2]


def test_a_state_is_a_rig_like_any_other() -> None:
    """The state after a step has the answers of the same rig written without stages."""
    result = staged("attach beam - strap u - sam.waist\n detach t")
    plain = checked("""
        anchor bolt, post, beam
        strap t
        person sam: points waist, chest
        attach bolt - strap s - sam.waist
        attach beam - strap u - sam.waist
    """)
    assert result.states[2].outcome.failure_sets == plain.failure_sets
    assert result.states[2].outcome.failures == plain.failures


ROPES = """
    anchor left, right
    person jo: standing
    person sam: points waist, chest
    attach left - brake device
    device: operated by jo, self-locking
    rope red
        gripped by device
        tied to sam.waist as red-knot
    rope green
        tied to right as green-top
        gripped by rope-grab grab - sam.chest
"""


def test_a_device_in_hand_a_device_locked_off_a_device_opened() -> None:
    result = staged("take device in hand\n lock off device\n open device", before=ROPES)
    sets = [{cut[0] for cut in s.outcome.failure_sets["sam"] if len(cut) == 1} for s in result.states]
    hands = [s.outcome.hands_off_falls for s in result.states]
    of_jo = [[f.id for f in s.outcome.failures if f.part == "jo"] for s in result.states]
    assert of_jo == [[], ["jo holds on"], [], []]  # it locks by itself: let go, it grips
    assert independent(result) == [2, 2, 2, 1]
    assert sets[:3] == [set()] * 3 and "grab fails" in sets[3]
    assert hands == [(), (), (), ()]


def test_a_rope_is_taken_out_laid_anew_and_brought_in() -> None:
    result = checked(f"""{ROPES}
    stage "Change"
        derig green
        rope blue
            tied to right
            tied to sam.chest
        rerig red
            gripped by device
            tied to sam.chest as red-knot
    """)
    assert independent(result) == [2, 1, 2, 2]
    assert [sorted(rope.name for rope in s.rig.ropes) for s in result.states] == [
        ["green", "red"], ["red"], ["blue", "red"], ["blue", "red"],
    ]  # fmt: skip
    assert "green-top" not in result.states[1].rig.parts


def test_a_grab_slides_past_a_station() -> None:
    result = checked("""
        anchor left, right
        person sam: points waist
        rope red
            tied to left as top
            gripped by rope-grab grab - sam.waist, load from top
            tied to right as low
        stage "Pass the knot"
            slide grab along red past low
    """)
    spans = [result.states[k].rig.ropes[0].spans for k in (0, 1)]
    assert spans == [("red[top..grab]", "red[grab..low]"), ("red[top..low]", "red[low..grab]")]


def test_who_is_landed_is_not_held_any_more_and_a_litter_takes_its_patient_along() -> None:
    result = checked("""
        anchor bolt
        litter basket: points head, foot
        person vic: points waist
        attach bolt - strap a - basket.head
        attach bolt - strap b - basket.foot
        attach basket - strap lashing - vic.waist
        stage "Down"
            land basket on ground
            detach a from basket.head
            lift basket off
    """)
    assert [[b.name for b in s.outcome.bodies] for s in result.states] == [
        ["vic", "basket"], ["basket"], ["basket"], ["vic", "basket"],
    ]  # fmt: skip
    down = result.states[2]
    assert down.outcome.bodies[0].independent is None and not down.outcome.bodies[0].tips
    assert "ground-under-basket fails" not in {f.id for f in down.outcome.failures}
    assert result.states[3].outcome.bodies[1].tips


def test_a_rope_laid_anew_holds_nobody_while_it_is_off() -> None:
    result = checked("""
        anchor bolt
        person sam: points waist
        rope red
            tied to bolt
            tied to sam.waist
        stage "Shorten it"
            rerig red
                tied to bolt with figure-eight
                tied to sam.waist
    """)
    (finding,) = [f for f in result.states[1].findings if f.rule == "detached-while-needed"]
    assert finding.text == "while red is laid anew, nothing else holds sam: sam falls"


def test_taking_in_and_moving_change_no_holding() -> None:
    result = staged("take in s by 0.2 m\n pay out s by 0.3 m\n move bolt to (0, 0, 3)")
    assert independent(result) == [2, 2, 2, 2]
    lengths = [dict(state.rig.parts["s"].quantities).get("let out") for state in result.states]
    assert [one.si if one else 0.0 for one in lengths] == pytest.approx([0.0, -0.2, 0.1, 0.1])
    assert result.states[3].rig.parts["bolt"].at == (0.0, 0.0, 3.0)


def test_a_device_put_on_a_rope_takes_nothing_off_it() -> None:
    """Laid anew with more on it and nothing less: no state in between, and nobody falls in one."""
    result = checked("""
        anchor bolt
        person sam: points waist
        attach sam.waist - descender first
        attach sam.waist - descender second
        rope red
            tied to bolt with figure-eight as top
            gripped by first, load from top
            stopper
        stage "A second one on"
            rerig red
                tied to bolt with figure-eight as top
                gripped by first, load from top
                gripped by second, load from top
                stopper
    """)
    assert result.states[1].during == ()
    assert [f.rule for f in result.states[1].findings if f.rule == "detached-while-needed"] == []
    assert [s.outcome.body("sam").attachments for s in result.states] == [1, 2]


def test_off_before_on_inside_one_step_is_seen() -> None:
    """Two before and two after, one in between: the device is off the rope before it is on again."""
    result = checked("""
        anchor bolt, post, low
        person sam: points waist, chest
        attach post - strap s - sam.chest
        attach sam.waist - descender device
        rope red
            tied to bolt with figure-eight as top
            gripped by device, load from top
            tied to low with figure-eight as foot
        stage "Past the rebelay"
            rerig red
                tied to bolt with figure-eight as top
                tied to low with figure-eight as foot
                gripped by device, load from top
                stopper
    """)
    assert independent(result) == [2, 2]
    (during,) = result.states[1].during
    assert during.outcome.body("sam").independent == 1
    assert result.broken_states == (1,) and not result.met
    assert result.requirements[0].because[0].startswith("during step 1.1, “rerig red” (line 11): sam has 1")


def test_what_is_taken_off_a_rope_guards_it_no_longer() -> None:
    """A deviation that is unclipped keeps that rope off no edge; the other rope's stays."""
    result = checked("""
        anchor bolt, side, post
        edge lip
        person sam: points waist, chest
        attach side - sling s - carabiner turn
        attach post - strap t - sam.chest
        rope red
            tied to bolt
            through turn
            over lip, kept clear by s
            tied to sam.waist
        stage "Unclip it"
            detach turn from red
    """)
    guards = [[one.guards for one in s.rig.ropes[0].stations if one.part == "lip"] for s in result.states]
    assert guards == [[("s",)], [()]]
    alone = [{f.id for f in s.outcome.failures if "sam" in f.falls} for s in result.states]
    assert alone == [set(), set()]
    assert ["lip cuts" in {n for cut in s.outcome.failure_sets["sam"] for n in cut} for s in result.states] == [
        False,
        True,
    ]


BASKET = """
    anchor bolt
    ring eye
    load crate: points a, b
    attach bolt - eye
    attach eye - strap s - crate.a
    attach eye - strap t - crate.b
"""


@pytest.mark.parametrize(
    ("before", "told"),
    [
        ("", True),
        ("take in t by 0.1 m", False),
        ("pay out s by 0.1 m", False),
        ("pay out t by 0.1 m", True),
        ("take in s by 0.1 m", True),
        ("take in t by 0.1 m\n pay out t by 0.1 m", True),
        ('take in t by 0.1 m\n check "s hangs slack"', False),
    ],
)
def test_the_load_is_moved_off_what_is_opened(before: str, told: bool) -> None:
    """By taking in another, or by paying out the one that is opened; what came last counts."""
    result = staged(f"{before}\n detach s from crate", before=BASKET)
    assert ("may-still-carry" in {f.rule for f in result.states[-1].findings}) is told


def test_locking_off_moves_no_load() -> None:
    cam = """
    attach eye - cam-pulley cam
    rope haul
        tied to crate.a
        gripped by cam
        stopper
    """
    result = staged("lock off cam\n detach s from crate", before=BASKET + cam.rstrip())
    assert "may-still-carry" in {f.rule for f in result.states[-1].findings}


def test_a_device_opened_on_to_the_stopper_is_told() -> None:
    with_stopper = ROPES.replace("gripped by device\n", "stopper as end\n        gripped by device\n", 1)
    alone = with_stopper.replace("tied to right as green-top\n        gripped by rope-grab grab - sam.chest", "stopper")
    alone = alone[: alone.index("rope green")]
    (finding,) = [f for f in staged("open device", before=alone).states[1].findings if "needed" in f.rule]
    assert finding.text == "`open device`: nothing else holds sam: sam runs to end, how far isn't told"
    both = staged("open device", before=with_stopper).states[1]  # the other line holds
    assert not [f for f in both.findings if "needed" in f.rule]


def test_what_a_stage_takes_up_is_not_idle_before() -> None:
    """No caution about hardware that hangs ready for a later step; what no step takes up is told."""
    before = f"{TWO_STRAPS}\n    attach sam.waist - lanyard tail\n    attach sam.chest - lanyard spare"
    result = staged("attach tail - beam", before=before)
    idle = {name for caution in result.rig.cautions for name in caution.about}
    idle |= {name for finding in result.findings if finding.rule == "holds-nobody" for name in finding.about}
    assert idle == {"spare"}


@pytest.mark.parametrize("seed", range(300, 320))
def test_what_states_share_changes_no_answer(seed: int) -> None:
    """Every state of a random stage, worked out with what the states before it left, and with what the first left
    alone: which ends it held up is what a state must know of those before it."""
    first, *states = analyse(analyser.read_text(random_stage(seed, 8))).states
    assert first.outcome == assess(first.rig)
    for state in states:
        assert state.outcome == assess(state.rig, before=assess(first.rig))


@pytest.mark.parametrize(
    ("steps", "line", "words"),
    [
        ("detach s from post", 7, "`s` is not attached to `post` here"),
        ("detach s\n detach s", 8, "`s` is attached to nothing here"),
        ("attach beam - late\n sling late", 7, "`late` is not there yet: it is brought in on line 8"),
        ("", 6, 'the stage "Change" has no steps'),
        ("derig red", 7, "there is no rope called `red`"),
        ("open s", 7, "`s` is a strap: it grips no rope"),
        ("land bolt on ground", 7, "`bolt` is an anchor"),
        ("lift sam off", 7, "`sam` is not on the ground here"),
        ("land sam on ground\n land sam on ground", 8, "`sam` is on the ground already"),
        ("take in s by 3 kN", 7, "a length is taken in or paid out"),
        ("detatch s from bolt", 7, "`detatch` is not a step"),
        ("attach beam - nothing", 7, "no part called `nothing`"),
        ("person sam", 7, "declared twice"),
    ],
)
def test_a_step_that_cannot_be_is_told_on_its_line(steps: str, line: int, words: str) -> None:
    indented = "".join(f"        {one.strip()}\n" for one in steps.splitlines())
    with pytest.raises(Unreadable) as caught:
        rig_of(f'{TWO_STRAPS}    stage "Change"\n{indented}')
    (mistake,) = caught.value.mistakes
    assert (mistake.place.line, words in mistake.text) == (line, True), mistake


def sets_in(result: Result, state: int, body: str = "sam") -> set[frozenset[str]]:
    return {frozenset(cut) for cut in result.states[state].outcome.failure_sets[body]}


def test_a_hazard_near_a_rope_that_a_stage_brings_in_strikes_it() -> None:
    result = staged("rope blue\n     tied to beam\n     near pipe\n     tied to sam.waist\n detach s\n detach t")
    assert frozenset({"pipe strikes"}) in sets_in(result, 3)
    assert "pipe strikes" not in {f.id for f in result.failures}


def test_a_cause_does_in_each_state_what_its_failures_do_there() -> None:
    before = TWO_STRAPS + "    cause storm: bolt fails\n"
    result = staged("anchor spike: part of bolt\n attach spike - t\n detach t from post", before=before)
    assert [frozenset({"storm strikes"}) in sets_in(result, n) for n in range(4)] == [False, False, False, True]


def test_a_cause_strikes_what_is_near_the_causes_that_it_lists() -> None:
    result = checked("""
        anchor bolt, post: near rocks
        person sam: points waist, chest
        attach bolt - strap s - sam.waist
        attach post - strap t - sam.chest
        cause rocks: s fails
        cause storm: rocks strikes
    """)
    assert {("rocks strikes",), ("storm strikes",)} <= set(result.failure_sets["sam"])


GUYED = """
    anchor bolt, post
    footing f1, f2
    person sam: points waist, chest
    attach bolt - strap s - sam.waist
    frame tri: feet f1, f2, guyed by guy
    rope guy
        tied to tri as g1
        tied to post as g2
    attach tri - strap t - sam.chest
"""


@pytest.mark.parametrize(
    ("steps", "numbers"),
    [
        ("derig guy", [2, 1]),
        ("detach tri from g1\n attach tri - g1", [2, 1, 2]),
        ("rerig guy\n     tied to tri as g3\n     tied to post as g4", [2, 2]),
    ],
)
def test_a_frame_stands_on_its_guy_while_the_guy_is_on_it(steps: str, numbers: list[int]) -> None:
    assert independent(staged(steps, before=GUYED)) == numbers


def test_a_frame_does_not_stand_on_its_guy_while_the_guy_is_laid_anew() -> None:
    result = staged("rerig guy\n     tied to tri as g3\n     tied to post as g4", before=GUYED)
    (during,) = result.states[1].during
    assert [need.parts for need in during.within.rig.parts["tri"].needs] == [("f1", "f2"), ()]
    assert during.outcome.body("sam").independent == 1


def test_in_another_order_of_the_steps_too_a_frame_stands_on_what_is_on_it() -> None:
    rig = staged("derig guy\n lock off device\n attach bolt - strap u - sam.chest", before=GUYED + BRAKE).rig
    assert isinstance(rig, Plan)
    derig, lock, attach = (step.line for step in rig.steps)
    present = rig.presents[0]
    for line, stands in ((lock, True), (derig, False), (attach, False)):
        after = taken(rig, present, line)
        assert after is not None
        present = after
        assert [bool(need.parts) for need in rig_in(rig, present).parts["tri"].needs] == [True, stands]
    assert taken(rig, rig.presents[0], derig) is not None  # trying an order changes nothing


BRAKE = """
    attach post - brake device
    device: operated by sam
    rope red
        gripped by device
        tied to sam.waist
"""


def test_a_frame_that_a_stage_brings_in_stands_on_its_feet() -> None:
    result = staged("tripod tri: feet beam, post\n attach tri - strap u - sam.waist\n detach s\n detach t")
    assert sets_in(result, 4) >= {frozenset({"beam fails"}), frozenset({"tri fails"})}
    with pytest.raises(Unreadable, match="stands on nothing"):
        staged("tripod tri")


def test_a_rope_that_was_taken_out_may_be_laid_anew() -> None:
    lines = "     tied to beam as k\n     tied to sam.chest\n"
    before = f"{TWO_STRAPS}    rope red: 11 mm, 60 m\n{lines}"
    result = staged(f"derig red\n rerig red\n{lines}", before=before)
    assert independent(result) == [3, 2, 3]
    assert [dict(state.rig.ropes[0].quantities).get("length") is None for state in result.states[::2]] == [False] * 2
    with pytest.raises(Unreadable, match="the knot `k` went when `derig red`"):
        staged("derig red\n attach k - post", before=before)
    with pytest.raises(Unreadable, match="was taken out before"):
        staged(f"derig red\n rope red\n{lines}", before=before)


def test_a_rope_keeps_what_it_is_and_loses_what_was_let_out_when_it_is_laid_anew() -> None:
    lines = "     tied to beam\n     tied to sam.chest\n"
    before = f"{TWO_STRAPS}    rope red: 11 mm\n{lines}"
    result = staged(f"pay out red by 1 m\n rerig red\n{lines}", before=before)
    assert [sorted(dict(state.rig.ropes[0].quantities)) for state in result.states] == [
        ["diameter"], ["diameter", "let out"], ["diameter"],
    ]  # fmt: skip


def test_an_opened_device_grips_a_rope_that_is_laid_in_it_anew() -> None:
    steps = "open device\n rerig red\n     gripped by device\n     tied to sam.waist as red-knot"
    assert independent(staged(steps, before=ROPES)) == [2, 1, 2]


def test_a_device_stays_locked_off_on_a_rope_that_is_laid_in_it_anew_unless_the_rope_was_off_it() -> None:
    laid = "rerig red\n     gripped by device\n     tied to sam.waist as red-knot"
    before = ROPES.replace(", self-locking", "")
    locked = [
        [state.rig.parts["device"].self_locking for state in staged(steps, before=before).states]
        for steps in (f"lock off device\n {laid}", f"lock off device\n derig red\n {laid}")
    ]
    assert locked == [[False, True, True], [False, True, True, False]]


def test_a_hazard_stays_with_the_span_when_a_station_leaves_it() -> None:
    before = """
    anchor bolt, beam
    ring eye
    person sam: points waist
    attach beam - eye
    rope red
        tied to bolt as top
        near pipe
        through eye
        tied to sam.waist as low
"""
    result = staged("detach eye from red", before=before)
    assert [frozenset({"pipe strikes"}) in sets_in(result, n) for n in (0, 1)] == [True, True]


def test_a_hazard_does_not_slide_along_with_a_device() -> None:
    before = """
    anchor left, right
    person sam: points waist
    rope red
        tied to left as top
        near pipe
        gripped by rope-grab grab - sam.waist, load from top
        tied to right as low
"""
    result = staged("slide grab along red past low", before=before)
    assert [[s.near for s in state.rig.ropes[0].stations] for state in result.states] == [
        [(), ("pipe",), ()], [(), ("pipe",), ()],
    ]  # fmt: skip
    assert result.states[1].rig.ropes[0].spans[0] == "red[top..low]"


def test_a_rope_that_lies_on_nothing_any_more_is_off() -> None:
    before = TWO_STRAPS + "    ring a, b\n    rope red\n        through a\n        through b\n"
    result = staged('detach a from red\n detach b from red\n check "it is off"', before=before)
    assert [len(state.rig.ropes) for state in result.states] == [1, 1, 0, 0]


def test_the_ground_under_a_litter_is_no_part_of_the_file() -> None:
    before = """
    anchor ground-under-basket, post
    litter basket: points head, foot
    attach ground-under-basket - basket.head
    attach post - basket.foot
"""
    result = staged("land basket on ground", before=before)
    assert "ground-under-basket fails" in {f.id for f in result.states[1].rig.failures}
    assert result.states[1].outcome.body("basket").independent is None


def test_rope_taken_in_is_not_given_the_forces_of_the_state_before() -> None:
    result = staged(
        "take in red by 1 m",
        before="""
    anchor bolt: at (0, 0, 9)
    person sam: points waist, 80 kg, at (0, 0, 4)
    rope red
        tied to bolt
        tied to sam.waist
    require force on any person at most 6 kN
""",
    )
    heights = [state.loads.now.at["sam"][2] for state in result.states if state.loads]
    assert heights[1] - heights[0] == pytest.approx(1.0, abs=0.1)


ON_A_DECK = """
    anchor left, right
    load deck: points n, s, ends n | s
    attach left - strap a - deck.n
    attach right - strap b - deck.s
    person lou: stands on deck, points waist
    attach deck - lanyard clip - lou.waist
"""


def test_who_stands_on_what_hangs_may_be_landed_and_lifted_off() -> None:
    result = staged("lift lou off\n land lou on ground\n lift lou off", before=ON_A_DECK)
    told = [(state.rig.parts["lou"].standing, state.rig.parts["lou"].stands_on) for state in result.states]
    assert told == [(True, "deck"), (False, None), (True, None), (False, None)]
    falls = [{f.id for f in state.failures if "lou" in f.falls} for state in result.states]
    assert "clip fails" not in falls[0] and "clip fails" in falls[1] and "clip fails" in falls[3]
    assert "lou loses footing" not in {f.id for f in result.states[3].failures}


PAST = """
    anchor bolt, side, low
    edge lip
    person sam: points waist, chest
    attach sam.waist - descender device
    device: self-locking
    attach side - sling turn-sling - carabiner turn
    attach low - strap s - sam.chest
    rope red
        tied to bolt with figure-eight as top
        gripped by device, load from top
        through turn
        over lip, kept clear by turn-sling
        tied to low with figure-eight as foot
        stopper
"""


@pytest.mark.parametrize(
    ("past", "when", "independent"),
    [
        ("foot", ["while device is off red", "while red is out of turn"], [1, 2]),
        ("turn", ["while red is out of turn"], [2]),
        ("lip", ["while red is out of turn"], [2]),
    ],
)
def test_what_a_device_slides_past_is_a_state_of_its_own(past: str, when: list[str], independent: list[int]) -> None:
    """Off the rope and on again at a knot; at what the rope runs through, the rope comes out of that."""
    state = staged(f"slide device along red past {past}", before=PAST).states[1]
    assert [one.words for one in state.during] == when
    assert [one.outcome.body("sam").independent for one in state.during] == independent
    out = state.during[-1].within.rig.index
    assert [s.part for s in out.ropes["red"].stations] == ["top", "device", "lip", "foot", "red-stopper"]
    assert not out.at("lip")[0].station.guards  # what the rope is out of keeps it off no edge


def test_a_requirement_is_broken_while_the_device_is_off() -> None:
    alone = PAST.replace("    attach low - strap s - sam.chest\n", "")
    result = staged("slide device along red past foot", before=alone)
    (finding,) = [f for f in result.states[1].findings if f.rule == "detached-while-needed"]
    assert finding.text == "while device is off red, nothing else holds sam: sam falls"
    assert any("while device is off red" in line for one in result.requirements for line in one.because)


def test_past_an_edge_a_device_stays_on_its_rope() -> None:
    before = PAST.replace("        through turn\n", "").replace(", kept clear by turn-sling", "")
    assert staged("slide device along red past lip", before=before).states[1].during == ()


ON_TWO_DEVICES = """
    anchor bolt, post
    person jo: standing
    person vic: points waist, chest
    attach bolt - brake left
    attach post - brake right
    left, right: operated by jo
    rope red
        gripped by left
        tied to vic.waist
    rope green
        gripped by right
        tied to vic.chest
"""


@pytest.mark.parametrize(
    ("steps", "told"),
    [
        ("open left", True),
        ("hold open left", True),
        ("pay out red by 0.2 m\n open left", False),
        ("take in green by 0.2 m\n open left", False),
    ],
)
def test_opening_a_device_under_who_works_nothing_is_judged_as_under_a_litter(steps: str, told: bool) -> None:
    found = [f for s in staged(steps, before=ON_TWO_DEVICES).states for f in s.findings if f.rule == "may-still-carry"]
    assert bool(found) is told
    own = ON_TWO_DEVICES.replace("operated by jo", "operated by vic")
    assert not [f for s in staged(steps, before=own).states for f in s.findings if f.rule == "may-still-carry"]


def test_nothing_is_paid_out_through_a_device_that_is_locked_off() -> None:
    with pytest.raises(Unreadable) as caught:
        staged("lock off left\n pay out red by 1 m", before=ON_TWO_DEVICES)
    (mistake,) = caught.value.mistakes
    assert mistake.text == "`left` is locked off here: nothing runs through it"
    staged("lock off left\n take left in hand\n pay out red by 1 m", before=ON_TWO_DEVICES)
    staged("lock off left\n take in red by 1 m", before=ON_TWO_DEVICES)
