"""Who has lost what kept their place along a line (design, section 2: "along a line"), by hand."""

from __future__ import annotations

import pytest
from rigs import checked, rig_of

import analyser
from analyser.checking import free_along
from analyser.checking.first_look import first_look
from analyser.checking.foremost import verdict_head
from analyser.checking.free_along import freed_with_hands_off
from analyser.holding.fate import Kind
from analyser.holding.outcome import assess
from analyser.uses.procedure.responding import tables

TRACK = """
anchor near, far, post, edge-post
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight as near-knot
    through wheel
    tied to far with figure-eight as far-knot
"""
CONTROL = """
rope control
    tied to max.waist with bowline as knot
    gripped by descender brake - post
    stopper
brake: self-locking
"""
IN_HAND = """
person ash: standing
rope tag
    tied to max.waist with bowline as tag-knot
    held by ash
"""
FREES = {
    "brake fails",
    "brake slips",
    "post fails",
    "knot slips",
    "control[knot..brake] is cut",
}


def freed(text: str) -> dict[tuple[str, ...], set[str]]:
    """By who is free to run: the failures after which they are."""
    state = checked(text).states[0]
    found: dict[tuple[str, ...], set[str]] = {}
    for one in state.findings:
        if one.rule == "free-to-run" and not any(word in one.text for word in ("isn't told", "only runs")):
            about = {str(f.id) for name in one.about for f in state.rig.index.failures_of(name)}
            found.setdefault(one.bodies, set()).update(about)
    return found


def test_a_control_line_lost_frees_what_runs() -> None:
    (found,) = freed(TRACK + CONTROL).values()
    assert found >= FREES and not any(name.startswith(("near", "far", "track", "wheel", "s ")) for name in found)


@pytest.mark.parametrize(
    ("why", "beside"),
    [
        ("nothing ever kept the place", ""),
        ("hands kept it, and are no less there", IN_HAND.replace("held by ash", "held by ash\n    stopper")),
    ],
)
def test_what_was_never_kept_is_not_told_of_what_else_fails(why: str, beside: str) -> None:
    found = freed(TRACK + beside)
    assert all("track" not in name and "near" not in name for names in found.values() for name in names), why


def test_hands_that_let_go_free_what_only_they_kept() -> None:
    (found,) = freed(TRACK + IN_HAND).values()
    assert "ash lets go" in found and "tag-knot slips" in found


def test_hands_and_tag_lines_keep_no_place_where_a_brake_did() -> None:
    for beside in (IN_HAND, IN_HAND.replace("rope tag\n", "rope tag: tag line\n")):
        (found,) = freed(TRACK + CONTROL + beside).values()
        assert found >= FREES and "ash lets go" not in found


@pytest.mark.parametrize(
    ("why", "more"),
    [
        ("a second line", "rope second\n    tied to max.waist with bowline\n    tied to edge-post with bowline\n"),
        ("a strap to the ground", "attach max.waist - strap short - edge-post\n"),
    ],
)
def test_what_else_keeps_the_place_is_enough(why: str, more: str) -> None:
    assert not freed(TRACK + CONTROL + more), why


def test_a_grip_on_the_line_itself_keeps_the_place() -> None:
    """While the hitch grips, the control line may go; once it slips, max is told to run to the far knot."""
    hitch = "    through wheel\n    gripped by friction-hitch hitch - max.waist, load from near-knot\n"
    held = TRACK.replace("    through wheel\n", hitch)
    assert not freed(held) and not freed(held + CONTROL)
    (slipped,) = [one for one in checked(held).failures if one.id == "hitch slips"]
    assert slipped.fate("max").kind is Kind.RUNS


def test_twin_tracks_are_named_together() -> None:
    twin = (
        TRACK[TRACK.index("attach") :]
        .replace("wheel", "wheel-2")
        .replace("track", "track-2")
        .replace("strap s", "strap s-2")
    )
    twin = twin.replace("-knot", "-knot-2")
    state = checked(TRACK + twin + CONTROL).states[0]
    (told,) = [one.text for one in state.findings if one.rule == "free-to-run"]
    assert "max is free to run along track and track-2" in told


def test_an_edge_that_cuts_the_control_line_frees_too() -> None:
    over = CONTROL.replace("    gripped by descender", "    over lip\n    gripped by descender")
    found = freed("edge lip\n" + TRACK + over + "cause rubbing: lip cuts\n")
    assert any("lip cuts" in names or "rubbing strikes" in names for names in found.values())


def test_it_stands_in_the_verdict_the_scenario_and_the_procedures_table():
    """Who is held and free to run is never told as held as before."""
    rig = rig_of(TRACK + CONTROL + 'accept near fails: "looked at"\n')
    result = analyser.check(rig)
    assert verdict_head(result).endswith(
        "max is free to run along track; everybody is held in the end, after any single failure in the file"
    )
    for failure in FREES:
        (free,) = analyser.whatif(rig, failure).free
        assert (free.bodies, free.along) == (("max",), ("track",))
    assert analyser.whatif(rig, "near fails").free == ()
    (table,) = tables(result)
    freeing = [one for answer in table.answers for one in answer.responses if one.effect.free]
    assert {failure for one in freeing for failure in one.failures} >= FREES
    assert {free.text for one in freeing for free in one.effect.free} == {"max is free to run along track"}


PLACED = """
anchor near: at (0, 0, 20)
anchor far: at (40, 0, 20)
anchor near-post: at (-2, 0, 20)
anchor far-post: at (42, 0, 20)
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
rope one
    tied to max.waist with figure-eight as one-knot
    gripped by descender one-brake - near-post
rope two
    tied to max.waist with figure-eight as two-knot
    gripped by descender two-brake - far-post
one-brake, two-brake: self-locking
"""
"""Lines to both ends of a level track: each keeps from running away from its own end alone."""


def text_of(text: str) -> str:
    return " | ".join(one.text for one in checked(text).states[0].findings if one.rule == "free-to-run")


def test_of_lines_to_both_ends_one_alone_keeps_no_place() -> None:
    told = text_of(PLACED)
    assert "one-brake" in told and "max is free to run along track towards two-brake:" in told
    assert "max is free to run along track towards one-brake:" in told and "isn't told" not in told
    shared = PLACED.replace("descender two-brake - far-post", "descender two-brake - near-post")
    assert "towards" not in text_of(shared), "both lead to one place"


def test_by_what_the_far_ends_share_the_sides_are_told_too() -> None:
    bare = "\n".join(line.partition(": at")[0] for line in PLACED.splitlines())
    assert "several lines keep max where they are along track, and whether they pull the same way" in text_of(bare)
    told = text_of(bare.replace("- near-post", "- near").replace("- far-post", "- far"))
    assert "towards two-brake" in told and "isn't told" not in told


def test_down_a_slope_its_weight_keeps_what_runs_against_the_upper_line() -> None:
    sloping = PLACED.replace("(40, 0, 20)", "(40, 0, 10)").replace("(42, 0, 20)", "(42, 0, 10)")
    told = text_of(sloping)
    assert "towards two-brake" in told and "towards one-brake" not in told


HIGH_AND_LOW = """
anchor near: at (0, 0, 20)
anchor far: at (40, 0, 10)
anchor near-post: at (-2, 0, 20)
anchor far-post: at (42, 0, 10)
person max: points waist
attach pulley wheel - strap s - max.waist
rope track
    tied to near with figure-eight
    through wheel
    tied to far with figure-eight
"""
RUNS = "with nothing failed max is free to run along track towards far: nothing keeps them from it"


def held_to(post: str) -> str:
    return f"rope side\n    tied to max.waist with bowline\n    gripped by descender d - {post}\nd: self-locking\n"


def test_on_a_line_that_slopes_they_run_with_nothing_failed() -> None:
    """Held, and not still: nothing keeps them from the lower end, or only a line to that end does."""
    for text in (HIGH_AND_LOW, HIGH_AND_LOW + held_to("far-post")):
        result = checked(text)
        (told,) = [one for one in result.states[0].findings if one.rule == "free-to-run"]
        assert (told.text, told.severity) == (RUNS, "danger")
        assert verdict_head(result).count("with nothing failed max is free to run along track towards far") == 1
        assert first_look(result).shaken == ("max",)
    assert RUNS not in text_of(HIGH_AND_LOW + held_to("near-post"))


def test_at_its_lower_end_already_nobody_runs() -> None:
    assert not text_of(HIGH_AND_LOW.replace("max: points waist", "max: points waist, at (39, 0, 9.5)"))


def test_on_a_level_line_that_nothing_keeps_their_place_is_a_caution() -> None:
    level = HIGH_AND_LOW.replace("(40, 0, 10)", "(40, 0, 20)")
    (told,) = [one for one in checked(level).states[0].findings if one.rule == "free-to-run"]
    assert (told.text, told.severity) == ("max only runs along track: no other line keeps the place", "caution")


@pytest.mark.parametrize(
    "rope",
    [
        "tied to master with bowline\n    through wheel\n    gripped by cam-pulley capture - master",
        "tied to master\n    through wheel\n    through pulley top - master\n    gripped by ascender a - low",
        "tied to beside with bowline\n    through wheel\n    tied to master with bowline",
    ],
)
def test_a_rope_doubled_at_the_load_is_no_line_along_which_it_runs(rope: str) -> None:
    """Nor one whose ends are beside each other: what holds it there is no track."""
    told = text_of(f"""
anchor master: at (0, 0, 20)
anchor beside: at (0.5, 0, 20)
anchor low: at (3, 0, 0)
person max: points waist
attach pulley wheel - strap s - max.waist
rope main
    {rope}
{held_to("low")}""")
    assert not told


def test_with_every_hand_off_at_once_it_is_told() -> None:
    hands = PLACED.replace(
        "one-brake, two-brake: self-locking",
        "person jo, kim: standing\none-brake: operated by jo\ntwo-brake: operated by kim",
    )
    state = checked(hands.replace("descender", "brake")).states[0]
    assert [one.text for one in freed_with_hands_off(state.rig, state.outcome)] == ["max is free to run along track"]


def test_a_step_that_takes_off_what_kept_the_place_is_a_danger() -> None:
    """With nothing failed; where the line was never kept, as one hangs on it from the first, there is no such step."""
    result = checked(TRACK + CONTROL + 'stage "Off"\n    derig control\n    note "gone"\n')
    found = [(state.number, one.severity, one.text) for state in result.states for one in state.findings]
    (told,) = [one for one in found if "`derig control`: max is free to run along track" in one[2]]
    assert told[:2] == (1, "danger")
    kept = checked(TRACK + CONTROL + 'stage "Off"\n    note "still on"\n')
    assert not [one for state in kept.states for one in state.findings if one.severity == "danger"]


def test_what_hangs_below_a_shuttle_tells_no_height_of_the_line() -> None:
    """Two workers on a level line: the height of one is not that of the shuttle beside the other."""
    told = text_of("""
        anchor p1: at (0, 0, 3)
        anchor p2: at (12, 0, 3)
        person ann: points back, at (4, 0.5, 1.5)
        person ben: points back, at (8, 0.5, 1.5)
        rope line
            tied to p1 with figure-eight
            through ring ra
            through ring rb
            tied to p2 with figure-eight
        attach ra - lanyard aa - ann.back
        attach rb - lanyard ab - ben.back
    """)
    assert "free to run" not in told


LOOP = """
    anchor near, far: not below
    person jo: standing
    load bag: points eye
    pulley carriage
    attach carriage - bag.eye
    attach near - descender works
    works: operated by jo, self-locking
    attach far - pulley wheel
    rope track
        tied to near
        through carriage
        tied to far
    rope control
        tied to carriage as first
        gripped by works, both ways
        through wheel
        tied to carriage as second
"""


@pytest.mark.parametrize(
    ("failure", "towards"),
    [
        ("works slips", ()),
        ("works fails", ()),
        ("first slips", ("wheel",)),
        ("control[first..works] is cut", ("wheel",)),
        ("second slips", ("works",)),
        ("wheel fails", ("works",)),
        ("control[wheel..second] is cut", ("works",)),
    ],
)
def test_an_endless_loop_pulls_towards_the_wheel_that_it_comes_to_first(failure: str, towards: tuple[str, ...]) -> None:
    """One rope, both ends at the carriage: each strand keeps it from one side only (statics)."""
    rig = rig_of(LOOP)
    told = {failure: one for one, failures in free_along.freed(rig, assess(rig)).items() for failure in failures}
    assert told[failure].bodies == ("bag",) and told[failure].towards == towards


def test_a_line_over_a_wheel_at_the_far_end_keeps_from_that_side() -> None:
    """Both devices stand at the near end, one line goes there by the far end: with the other gone it runs that way."""
    rig = rig_of("""
        anchor near, far: not below
        load bag: points eye
        pulley carriage
        attach carriage - bag.eye
        attach near - ring plate
        attach plate - descender here
        attach plate - descender there
        here, there: self-locking
        attach far - pulley wheel
        rope track
            tied to near
            through carriage
            tied to far
        rope hauling
            tied to carriage as hauling-low
            through wheel
            gripped by there, load from hauling-low
            stopper
        rope lowering
            tied to carriage as lowering-low
            gripped by here, load from lowering-low
            stopper
    """)
    told = {failure: one for one, failures in free_along.freed(rig, assess(rig)).items() for failure in failures}
    assert told["here slips"].towards == ("wheel",)
    assert {*told["wheel fails"].towards} == {"here", "there"}
