"""Two revisions compared: what changed, what it did, what is worse, and that nothing else is said.

The reviewer's example is `examples/revisions/`: a shared ring mended, and a strap silently lost.
"""

from __future__ import annotations

import json
import random
import re

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from random_rigs import random_rig_text
from rigs import GULLY, PLAIN, rig_of

import analyser
from analyser.checking.analysing import analyse
from analyser.doors.commands.main import main
from analyser.pages.drawing.both import both_source
from analyser.pages.writing.compare_page import compare_page
from analyser.rig.model import Rig
from analyser.uses.comparing.comparison import Comparison, compare
from analyser.uses.comparing.mixing import Mixing

PAGE = """\
Litter lower, north gully  revision 1 → 2  gully-lower-1.rig → gully-lower-2.rig
WORSE: lou is not held after any of head-ring fails, lou-waist fails, lou-waist-strap fails alone,
and was; 1 thing more

WORSE
  worse         lou is not held after any of head-ring fails, lou-waist fails, lou-waist-strap fails
                alone, and was
  worse         lou has 1 attachment (was 2)

WHAT IT DID
  who                 attachments  independent  not held after
  kit (person)        2            1 → 2        1 alone → 2 together
  lou (person)        2 → 1        1            1 alone
  stretcher (litter)  2            1 → 2        1 alone → 2 together

WHAT CHANGED
  called otherwise          `left-crab` is now called `port-crab` (carabiner): same kind, same
                            neighbours
   1 part added             ring foot-ring
   2 part added             ring head-ring
   3 part added             strap tie-strap, between foot-ring and head-ring
   4 part gone              strap lou-chest-strap, between lou-chest and low-ring
   5 part gone              ring low-ring
   6 attached elsewhere     figure-eight blue-eight: tied to head-ring instead of low-ring
   7 attached elsewhere     strap foot-leg: attached to foot-ring instead of low-ring
   8 attached elsewhere     strap head-leg: attached to head-ring instead of low-ring
   9 attached elsewhere     strap kit-strap: attached to foot-ring instead of low-ring
  10 attached elsewhere     strap lou-waist-strap: attached to head-ring instead of low-ring
  11 attached elsewhere     figure-eight white-eight: tied to foot-ring instead of low-ring

BRINGS SOMEBODY DOWN NOW
  one alone     lou-waist or lou-waist-strap fails: lou falls
                by change 4
  one alone     head-ring fails: lou falls
                by changes 2, 4, 6 and 10 together, or 2, 4, 8 and 10 together, or 2, 5, 6 and 10
                together: each is enough
  not worse     any of: foot-ring, right-bolt, right-brake or right-crab fails; right-brake or
                white-eight slips; white is cut between right-brake and white-eight
                with head-ring fails: kit and stretcher fall
  not worse     foot-ring fails
                with head-leg fails: kit and stretcher fall
  not worse     any of: left-bolt, left-brake or port-crab fails; blue-eight or left-brake slips;
                blue is cut between left-brake and blue-eight
                with foot-ring fails: kit, lou and stretcher fall
  not worse     foot-ring fails
                with lashing or stretcher fails: kit falls
  not worse     foot-leg fails
                with head-ring fails: stretcher falls
  “not worse”   is a pair with something new in it, where as few failures or fewer brought the same
                body down before

BRINGS NOBODY DOWN ANY MORE
  one alone     low-ring fails: kit is held
                by changes 1, 7 and 11 together, or 1, 9 and 11 together, or 2, 6 and 8 together:
                each is enough
  one alone     low-ring fails: lou is held
                by changes 2, 6 and 10 together
  one alone     low-ring fails: stretcher is held
                by changes 1, 7 and 11 together, or 2, 6 and 8 together: each is enough

REQUIRED
  as before     every person has 2 independent attachments: was NOT MET, is NOT MET
  as before     everyone held after any 1 failure: was NOT MET, is NOT MET

WORTH A LOOK
  found now     caution: lou has one attachment (one-attachment)
  found now     caution: nothing is attached to the harness point `lou-chest` of lou (unused-part)
  found now     caution: head-ring fails: stretcher tips (litter-tips)
  found now     caution: foot-ring fails: stretcher tips (litter-tips)
  no more       caution: kit has 2 attachments, 1 independent: all of them need the ring low-ring
                (fewer-independent)
  no more       caution: lou has 2 attachments, 1 independent: all of them need the ring low-ring
                (fewer-independent)

A model of what was written, not of the rope in the hand. Local codes, makers' instructions and
licensed or qualified practice come first.
2 things are worse; not met in the new revision: compared on connections only, complete to 2
failures together for what the two files can express; forces, drops, knots, rope condition and skill
are not compared
"""


def compared(old: str, new: str) -> Comparison:
    return compare(rig_of(old), rig_of(new))


def texts(one: Comparison) -> list[str]:
    return [f"{change.sort}: {change.text}" for change in one.changes]


def did(one: Comparison, body: str, *failures: str) -> list[list[str]]:
    """The changes, in words, that brought a gained failure set about: each list is enough."""
    (turned,) = [t for t in one.gained if (t.body, t.failures) == (body, failures)]
    return [[one.changes[number].text for number in numbers] for numbers in turned.did.sets]


# -- the reviewer's example


def test_the_page_of_the_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", *GULLY, "--full"]) == 1
    assert capsys.readouterr().out == PAGE


def test_the_example_mends_the_ring_and_loses_a_strap() -> None:
    one = compare(*(analyser.read(path) for path in GULLY))
    figures = {f.name: (f.was and f.was.independent, f.now and f.now.independent) for f in one.figures}
    assert figures == {"kit": (1, 2), "stretcher": (1, 2), "lou": (1, 1)}
    strap = "strap lou-chest-strap, between lou-chest and low-ring"
    assert did(one, "lou", "lou-waist fails") == [[strap]]
    assert ("kit", ("low-ring fails",)) in [(t.body, t.failures) for t in one.lost]
    assert not any(t.worse for t in one.gained if t.body != "lou")
    assert all("lou" in words for words in one.worse)


def test_several_changes_together_are_named_together() -> None:
    """The new ring is deadly only once the other strap is gone, and the lines are moved to it."""
    one = compare(*(analyser.read(path) for path in GULLY))
    ways = did(one, "lou", "head-ring fails")
    assert all(len(way) == 4 for way in ways)
    assert any("strap lou-chest-strap, between lou-chest and low-ring" in way for way in ways)
    assert all("ring head-ring" in way for way in ways)


def test_the_examples_are_in_the_one_layout(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["format", "--check", *GULLY]) == 0
    assert capsys.readouterr().out == ""


# -- what changed, in the trade's words


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        ("carabiner crab: locking", "carabiner crab: not locking", "part changed: crab: locking no (was yes)"),
        ("carabiner crab: locking", "carabiner crab", "part changed: crab: locking not said (was yes)"),
        ("carabiner crab: locking", "shackle crab", None),
        (", self-locking", "", "part changed: works: self-locking not said (was yes)"),
        (", padded by mat", "", "rope laid differently: red: over lip: kept clear by not said (was mat)"),
        ("        stopper\n", "",
         "rope laid differently: red: no longer stopper red-stopper before works, at its start"),
        ("11 mm, 40 m", "10 mm, 40 m", "rope changed: red: diameter 10 mm (was 11 mm)"),
        ("with bowline", "with figure-eight", "part changed: red-low: kind figure-eight (was bowline)"),
        ("strap back - sam.chest", "strap back - sam.waist",
         "attached elsewhere: strap back: attached to sam.waist instead of sam.chest"),
        ("    attach right - strap back - sam.chest\n", "", "part gone: strap back, between right and sam.chest"),
        ("anchor left, right", "anchor left, right: strength 20 kN",
         "part changed: left: strength 20 kN (was not said)"),
        ("    edge lip\n", "    edge lip\n    cause slip: mat shifts\n", "cause added: slip: gone: mat"),
        ("    edge lip\n", "    edge lip\n    sound left fails: \"cast in\"\n",
         "assumption added: left fails taken as impossible: cast in"),
    ],
)  # fmt: skip
def test_a_change_in_words(was: str, now: str, words: str | None) -> None:
    assert was in PLAIN
    one = compared(PLAIN, PLAIN.replace(was, now))
    if words is None:
        assert any("kind shackle (was carabiner)" in text for text in texts(one))
    else:
        assert words in texts(one)


def test_a_figure_in_other_units_is_no_change() -> None:
    one = compared(PLAIN.replace("40 m", "40 m, strength 20 kN"), PLAIN.replace("40 m", "40.0 m, strength 20000 N"))
    assert not one.different


def test_a_renamed_part_is_known_by_its_place() -> None:
    one = compared(PLAIN, PLAIN.replace("crab", "port-crab"))
    assert [(r.old, r.new, r.why) for r in one.matching.renamed] == [
        ("crab", "port-crab", "same kind, same neighbours")
    ]
    assert not one.different and not one.worse


def test_a_renamed_rope_takes_its_knots_along() -> None:
    one = compared(PLAIN.replace(" as red-low", ""), PLAIN.replace(" as red-low", "").replace("rope red", "rope blue"))
    assert {(r.old, r.new) for r in one.matching.renamed} == {
        ("red", "blue"),
        ("red-bowline", "blue-bowline"),
        ("red-stopper", "blue-stopper"),
    }
    assert not one.different


def test_a_renamed_part_of_other_strength_is_both() -> None:
    one = compared(
        PLAIN, PLAIN.replace("carabiner crab: locking", "carabiner hook: not locking").replace("- crab", "- hook")
    )
    assert [(r.old, r.new) for r in one.matching.renamed] == [("crab", "hook")]
    assert "other things said of it changed" in one.matching.renamed[0].why
    assert texts(one) == ["part changed: hook: locking no (was yes)"]


def test_another_kind_in_the_same_place_is_not_a_new_weakness() -> None:
    alone = PLAIN.replace("    attach right - strap back - sam.chest\n", "")
    one = compared(alone, alone.replace("carabiner crab: locking", "strap loop").replace("- crab", "- loop"))
    assert [(r.old, r.new) for r in one.matching.renamed] == [("crab", "loop")]
    assert texts(one) == [
        "part changed: loop: kind strap (was carabiner), locking not said (was yes), textile yes (was not said)"
    ]
    assert not one.worse


def test_two_people_who_change_names_are_not_told_as_a_rename() -> None:
    """A name that both files have is the same one, wherever it is now."""
    swapped = PLAIN.replace("left", "@").replace("right", "left").replace("@", "right")
    one = compared(PLAIN, swapped)
    assert not one.matching.renamed
    assert one.different


FROM_THE_TOP = """
rig "From either end"
anchor left, right
person sam: points waist, chest
person jo: standing
edge lip
rope red: 11 mm, 30 m, start on ground
    over lip
    tied to left with figure-eight
    near pipe
    gripped by descender works - sam.waist, load from red-figure-eight
    slack 0.4 m
    tied to sam.chest with figure-eight, tail 0.3 m
attach right - strap back - sam.chest
works: operated by sam
sound red[lip..red-figure-eight] is cut: "invented"
stage "Anew"
    rerig red
        over lip
        tied to left with figure-eight as red-figure-eight
        tied to sam.chest with figure-eight as red-figure-eight-2
"""
FROM_THE_END = (
    FROM_THE_TOP.split("rope red")[0]
    + """rope red: 11 mm, 30 m, end on ground
    tied to sam.chest with figure-eight, tail 0.3 m
    slack 0.4 m
    gripped by descender works - sam.waist, load from red-figure-eight-2
    near pipe
    tied to left with figure-eight
    over lip
attach right - strap back - sam.chest
works: operated by sam
sound red[red-figure-eight-2..lip] is cut: "invented"
stage "Anew"
    rerig red
        tied to sam.chest with figure-eight as red-figure-eight
        tied to left with figure-eight as red-figure-eight-2
        over lip
"""
)


def test_a_rope_written_from_its_other_end_is_no_change() -> None:
    """Knots numbered the other way round, sides, spans, slack and hazards told from the other end."""
    for old, new in ((FROM_THE_TOP, FROM_THE_END), (FROM_THE_END, FROM_THE_TOP)):
        one = compared(old, new)
        assert texts(one) == [] and not one.worse
        assert not one.gained and not one.lost and not one.states and not one.given
    (slacker,) = texts(compared(FROM_THE_TOP, FROM_THE_END.replace("slack 0.4 m", "slack 0.6 m")))
    assert "slack before it 0.6 m (was 0.4 m)" in slacker


# -- worse


def worse(old: str, new: str) -> tuple[str, ...]:
    one = compared(old, new)
    assert one.exit_status == (1 if one.worse else 0)
    return one.worse


THIRD = """
    anchor more
    rope blue
        tied to more with bowline as blue-top
        tied to sam.chest with bowline as blue-low
"""


def test_a_third_line_is_not_worse() -> None:
    """Its parts stand in new pairs and triples only where others stood in smaller ones."""
    alone = PLAIN.replace("    attach right - strap back - sam.chest\n", "")
    one = compared(alone, alone + THIRD)
    assert any(t.failures == ("blue-low slips", "red-low slips") for t in one.gained)
    assert all(t.within for t in one.gained)
    assert not one.worse
    assert not worse(PLAIN, PLAIN + THIRD)


def test_one_more_link_in_a_line_is_told_and_not_worse() -> None:
    one = compared(PLAIN, PLAIN.replace("attach right - strap", "attach right - ring extra - strap"))
    assert any("extra fails" in t.failures and t.in_line for t in one.gained)
    assert not one.worse


def test_one_more_link_in_the_only_line_is_worse() -> None:
    alone = PLAIN.replace("    attach right - strap back - sam.chest\n", "")
    assert worse(alone, alone.replace("attach left - crab", "attach left - ring extra - crab")) == (
        "sam is not held after extra fails alone, and was",
    )


def test_a_hand_that_is_needed_now_is_worse() -> None:
    """As one more thing that can fail it stands in line with the device; a hand isn't one more link."""
    free = PLAIN.replace("        stopper\n", "")
    one = compared(free, free.replace(", self-locking", ""))
    assert any(t.failures == ("ann lets go", "right fails") and t.worse for t in one.gained)
    assert did(one, "sam", "ann lets go", "right fails") == [["works: self-locking not said (was yes)"]]


def test_a_stretch_of_rope_divided_is_not_a_new_weakness() -> None:
    """A station more on a rope: what its spans answer to is the old span."""
    laid = PLAIN.replace("over lip, padded by mat\n", "through pulley wheel\n        over lip, padded by mat\n")
    alone = (one.replace("    attach right - strap back - sam.chest\n", "") for one in (PLAIN, laid))
    one = compared(*alone)
    assert any("now through wheel between works and lip" in text for text in texts(one))
    assert not [t for t in one.gained if "is cut" in t.failures[0]]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("", "sound left fails: \"cast in\"", "assumption added: left fails"),
        ("", "accept left fails: \"watched\"", "accepted risk added: left fails"),
        ("require everyone held after any 1 failure", "require everyone held after any 2 failures", None),
        ("require everyone held after any 2 failures", "require everyone held after any 1 failure",
         "required: everyone held after any 2 failures: asked for no more; it would be NOT MET"),
        ("sound left fails: \"cast in\"", "", None),
    ],
)  # fmt: skip
def test_what_is_asked_and_taken_as_given(old: str, new: str, words: str | None) -> None:
    found = worse(PLAIN + f"    {old}\n", PLAIN + f"    {new}\n")
    assert words in found if words else not found


def test_a_requirement_that_turned() -> None:
    found = worse(PLAIN, PLAIN.replace("    attach right - strap back - sam.chest\n", ""))
    assert "sam has 1 attachment (was 2)" in found
    assert "sam has 1 independent attachment (was 2)" in found
    assert "sam is not held after 1 failure (was 2)" in found
    assert any(words.startswith("required: everyone held after any 1 failure: was met, is NOT MET") for words in found)


def test_standing_where_nobody_falls_is_taken_as_given() -> None:
    assert "standing added: sam" in worse(PLAIN, PLAIN.replace("person sam: ", "person sam: standing, "))


STEPS = """
    stage "Change over"
        attach left - strap short - sam.waist
        detach back from sam.chest
        attach back - sam.chest
"""


def test_states_are_matched_by_stage_and_step() -> None:
    one = compared(PLAIN + STEPS, PLAIN + STEPS.replace("        attach left - strap short - sam.waist\n", ""))
    assert [(s.change, s.step) for s in one.stepped] == [("step gone", "attach left - strap short - sam.waist")]
    (state,) = [state for state in one.states if state.step == "detach back from sam.chest"]
    assert state.figures.was and state.figures.now
    assert (state.figures.was.attachments, state.figures.now.attachments) == (2, 1)
    assert any("after “detach back from sam.chest”" in words for words in one.worse)


def test_what_stays_worse_over_several_states_is_told_once() -> None:
    old = (
        PLAIN
        + """
    stage "Go"
        say "one"
        say "two"
        check "three"
        attach left - strap more - sam.chest
"""
    )
    lost = [
        one for one in worse(old, old.replace("    attach right - strap back - sam.chest\n", "")) if "in “Go”" in one
    ]
    (first,) = [one for one in lost if 'after “say "one"” and on, till after “check "three"”' in one]
    assert "sam has 1 attachment (was 2)" in first


def test_a_new_state_is_held_against_the_least_of_the_old() -> None:
    found = worse(PLAIN, PLAIN + '    stage "Off"\n        detach back from sam.chest\n')
    assert any(
        one.startswith("in “Off”, after “detach back from sam.chest”: ")
        and "sam has 1 independent attachment (was 2)" in one
        for one in found
    )
    assert not worse(PLAIN + '    stage "Off"\n        detach back from sam.chest\n', PLAIN)


def test_a_pair_that_is_new_in_a_later_state_is_told() -> None:
    """What is doubled there goes to the same anchor once more."""
    doubled = """
    anchor one, two, three: not below
    person vic: points waist, chest
    ring master
    attach one - strap first - master
    attach master - sling front - vic.waist
    attach two - sling back - vic.chest
    stage "Doubled"
        attach three - strap second - master
        note "work"
"""
    same = doubled.replace("attach three - strap", "attach one - strap")
    assert worse(doubled, same) == (
        'in “Doubled”, after “note "work"”: vic is not held after 2 pairs of failures, and was',
    )
    assert not worse(same, doubled)


# -- what must hold for every pair of rigs

EVERY = settings(
    max_examples=10,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
NAME = re.compile(r"(?<![\w-])[A-Za-z0-9_]+(?:-[A-Za-z0-9_]+)*(?:\.[A-Za-z0-9_-]+)?")


def a_line_less(data: st.DataObject) -> tuple[Rig, Rig]:
    """A random rig, and the same without one of its lines, where that still reads."""
    lines = random_rig_text(random.Random(data.draw(st.integers(0, 5000))), 3).splitlines()
    at = data.draw(st.integers(1, len(lines) - 1))
    try:
        return analyser.read_text("\n".join(lines)), analyser.read_text("\n".join(lines[:at] + lines[at + 1 :]))
    except analyser.language.mistakes.Unreadable:
        assume(False)
        raise


def blocks_shuffled(text: str, rng: random.Random) -> str:
    """The same statements in another order, with other blanks and comments."""
    head, *rest = re.split(r"\n(?=\S)", text.strip())
    chains = [block for block in rest if block.startswith(("attach", "interlock", "stage", "observed"))]
    others = [block for block in rest if block not in chains]
    rng.shuffle(others)
    spaced = [f"\n# {number}\n" + re.sub(r"(?m)^ +", "      ", block) for number, block in enumerate(others)]
    return "\n".join([head, *spaced, *chains]) + "\n"


@EVERY
@given(st.integers(0, 5000))
def test_a_rig_is_not_different_from_itself(seed: int) -> None:
    rig = analyser.read_text(random_rig_text(random.Random(seed), 3))
    one = compare(rig, rig)
    assert not one.different and not one.worse and not one.matching.renamed


@EVERY
@given(st.integers(0, 5000))
def test_other_order_and_layout_is_no_difference(seed: int) -> None:
    text = random_rig_text(random.Random(seed), 2)
    try:
        other = analyser.read_text(blocks_shuffled(text, random.Random(seed)))
    except analyser.language.mistakes.Unreadable:
        assume(False)
    one = compare(analyser.read_text(text), other)
    assert not one.changes and not one.gained and not one.lost and not one.worse


@EVERY
@given(st.integers(0, 5000))
def test_a_renamed_copy_differs_by_its_names_only(seed: int) -> None:
    text = random_rig_text(random.Random(seed), 3)
    rig = analyser.read_text(text)
    names = {name.split(".")[0] for name in rig.parts} | {rope.name for rope in rig.ropes}

    def other(found: re.Match[str]) -> str:
        return f"zz-{found[0]}" if found[0].split(".")[0] in names else found[0]

    one = compare(rig, analyser.read_text(NAME.sub(other, text)))
    assert one.matching.renamed
    assert not one.different and not one.worse


@EVERY
@given(st.data())
def test_swapped_revisions_mirror_what_is_gained_and_lost(data: st.DataObject) -> None:
    old, new = a_line_less(data)
    forth, back = compare(old, new), compare(new, old)
    assume(not forth.matching.renamed)
    assert {change.keys for change in forth.changes} == {change.keys for change in back.changes}
    assert [(t.body, t.failures) for t in forth.gained] == [(t.body, t.failures) for t in back.lost]
    assert [(t.body, t.failures) for t in forth.lost] == [(t.body, t.failures) for t in back.gained]
    assert [(f.rule, f.about) for f in forth.found] == [(f.rule, f.about) for f in back.found_no_more]
    assert {(g.what, g.was, g.now) for g in forth.given} == {(g.what, g.now, g.was) for g in back.given}


@EVERY
@given(st.data())
def test_no_change_made_is_the_old_rig_and_all_of_them_the_new(data: st.DataObject) -> None:
    """What the mixed rigs say at both ends is what the analysis says."""
    one = compare(*a_line_less(data))
    mixing = Mixing(one.old.rig, one.new.rig, one.changes)
    assert analyse(mixing.rig(frozenset())).failure_sets == one.old.failure_sets
    every = mixing.closed(range(len(one.changes)))
    assert analyse(mixing.rig(every)).failure_sets == one.new.failure_sets


@EVERY
@given(st.data())
def test_the_changes_named_bring_the_set_about(data: st.DataObject) -> None:
    """Each gained set is a failure set of the rig with just the named changes, by the whole analysis."""
    one = compare(*a_line_less(data))
    mixing = Mixing(one.old.rig, one.new.rig, one.changes)
    for turned in one.gained[:6]:
        assert turned.did.sets
        for numbers in turned.did.sets:
            made = frozenset(numbers)
            assert mixing.closed(made) == made
            assert turned.failures in analyse(mixing.rig(made)).failure_sets[turned.body]
        assert turned.failures not in analyse(mixing.rig(frozenset())).failure_sets[turned.body]


@EVERY
@given(st.data())
def test_a_page_a_document_and_a_drawing_of_every_pair(data: st.DataObject) -> None:
    one = compare(*a_line_less(data))
    compare_page(one, "old.rig", "new.rig")
    json.loads(one.to_json())
    assert both_source(one).startswith("digraph")
