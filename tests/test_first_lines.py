"""The first lines of a paper: who hangs on one, on what, what first; in every language, of every example."""

from __future__ import annotations

from pathlib import Path

import pytest
from rigs import checked, shipped

import analyser
from analyser.checking.first_look import first_look
from analyser.checking.foremost import about_holding, broken, foremost, verdict_head
from analyser.checking.hanging_from import holder_and_straps
from analyser.checking.hung_on import Thing, things
from analyser.checking.results import Result
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.card_page import card_page
from analyser.pages.writing.procedure_page import procedure_page
from analyser.pages.writing.translation import LANGUAGES, catalogue
from analyser.uses.field.at_first import at_steps, first_lines, mending, tried
from analyser.uses.field.cards import cards
from analyser.uses.procedure.document import procedure

EXAMPLES = Path(__file__).parent.parent / "examples"
STOP = "1. STOP: no further step, open nothing that holds, brake hands stay on the rope."
ON_IT = "1. STOP: nobody else gets on, open nothing that holds, brake hands stay on the rope."
LEFT_OFF = EXAMPLES / "litter-lower-strap-left-off.rig"


def told(result: Result, language: str = "en") -> tuple[str, dict[str, str]]:
    """The head, and the answers by their labels."""
    words, look = catalogue(language), first_look(result)
    first = first_lines(look, met=result.met, mend=mending(result.rig, look))
    return words.text(first.head), {
        words.text(one.label): " ".join(words.text(each) for each in one.words) for one in first.answers
    }


def tried_words(result: Result) -> str:
    look = first_look(result)
    found = tried(look, mend=mending(result.rig, look))
    return catalogue("en").text(found) if found else ""


def test_who_hangs_on_one_on_what_and_what_first() -> None:
    head, answers = told(shipped("litter-lower-strap-left-off"))
    assert head == "NOT MET: sam hangs on ONE"
    labels = ["sam hangs on", "Do now", "Mend it", "On it already?", "Not for use", "Accepted"]
    assert list(answers) == labels, "what is accepted last"
    assert answers["sam hangs on"] == (
        "ONE chain: rope green (green-bowline to sam-descender) → sam-descender → sam-crab → sam-waist; "
        "not held if any one of them fails"
    ), "from the ground down, and of the rope only its single stretch"
    assert answers["Do now"] == "STOP. Nobody gets on; load nothing."
    assert answers["Mend it"] == (
        "Look at sam-chest: nothing is attached there. Add for sam: a strap from master to sam-chest."
    )
    assert answers["On it already?"] == f"{ON_IT} 2. Add a strap from master to sam-chest."
    assert answers["Not for use"] == "until mended and checked again."


def test_in_german_too() -> None:
    head, answers = told(shipped("litter-lower-strap-left-off"), "de")
    assert head == "NICHT ERFÜLLT: sam hängt an EINEM"
    assert answers["Jetzt"] == "HALT. Niemand daran, nichts belasten."
    assert answers["Beheben"].startswith("sam-chest ansehen: Dort ist nichts eingehängt. Für sam dazu: ")


def test_where_everybody_is_held_that_is_said_and_what_it_rests_on() -> None:
    head, answers = told(shipped("facade-work"))
    assert head == "Met: by the connections everybody is still held after any one failure in the file"
    assert answers["Look first"].endswith("leaves nia on one.")
    head, answers = told(shipped("litter-lower"))
    assert head.endswith("but for what is accepted: basket") and "accepted" in answers["basket hangs on"]
    assert answers["Look first"].startswith(
        "look at master. Then at left-bolt, right-bolt, lip (if it cuts) and 7 more: "
    )
    assert told(shipped("confined-space-entry"))[1]["Look first"] == "look at foot-1, head, foot-2 and foot-3."


def test_what_a_step_brings_is_told_with_that_step() -> None:
    head, answers = told(shipped("crossings/lower-to-raise-wrong"))
    assert head == "NOT MET: mia hangs on ONE after step 1.3"
    assert answers["Do now"] == "STOP before step 1.3, “open safety-brake”: after it mia hangs on ONE."
    assert answers["Before step 1.3"] == "Put on first what shall hold next, to an anchor and not to a person."
    assert answers["Past step 1.3"] == (
        f"{STOP} 2. Step 2.5 done too? Put nothing back: nobody hangs on ONE for this any more. 3. Step 2.4 done, 2.5 "
        "not? main-brake back on main. 4. Step 1.3 done? Let safety-brake grip again. 5. Then as before step 1.3."
    )
    assert answers["In the plan"] == "Not for use until rewritten and checked again."


def test_one_state_alone_is_told_as_it_stands() -> None:
    head, answers = told(shipped("crossings/lower-to-raise-wrong").at(3))
    assert head == "NOT MET: mia hangs on ONE" and "step" not in "".join(answers.values())


def test_who_is_not_held_with_nothing_failed_comes_first() -> None:
    head, answers = told(shipped("lessons/10-hanging-from-a-person"))
    assert head == "NOT MET: sam is NOT HELD as rigged: hangs only from vic"
    assert answers["sam hangs on"] == "only vic, by short: a person is no anchor"


def test_what_faces_the_wrong_way_is_looked_at_first() -> None:
    assert told(shipped("lessons/04-grip-reversed"))[1]["Mend it"].startswith("Look at grab: the way")


def test_a_broken_requirement_is_named_where_nobody_hangs_on_one() -> None:
    head, _ = told(shipped("incidents/anchor-pulls"))
    assert head.startswith("NOT MET: drop at most 1 m after any 1 failure")
    assert head.endswith("; ann drops 2.5 m if this fails: left-bolt; held in the end")


def test_nobody_to_hold() -> None:
    assert told(checked("anchor bolt\nperson jo: standing\n"))[0].endswith(
        "nobody and nothing in this file has to be held"
    )


def test_of_many_the_first_are_named_and_the_others_counted() -> None:
    names = [f"p{k:02}" for k in range(12)]
    text = "anchor bolt\n" + "".join(f"person {n}\nattach bolt - strap {n}-strap - {n}\n" for n in names)
    head, answers = told(checked(text))
    assert head == "NOT MET: p00, p01, p02, p03, p04, p05, p06, p07 and 4 more hang on ONE each"
    assert list(answers) == [*(f"{name} hangs on" for name in names[:6]), "and 6 more", *list(answers)[-4:]]
    assert answers["and 6 more"] == "on ONE as well: told below"


def test_stretches_stand_together_and_a_whole_rope_is_a_rope() -> None:
    rig = analyser.read(LEFT_OFF)
    green = [f"{span} is cut" for span in rig.index.ropes["green"].spans if f"{span} is cut" in rig.index.failures]
    assert list(things(rig.first, green)) == [Thing("green")]
    assert list(things(rig.first, green[:2])) == [Thing("green", "right-brake", "green-bowline")]
    assert list(things(rig.first, (green[0], green[2]))) == [
        *(Thing("green", "right-brake", "lip"), Thing("green", "green-bowline", "sam-descender")),
    ]


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.rig")), ids=lambda p: str(p.relative_to(EXAMPLES)))
def test_of_every_example_the_worst_off_stand_in_the_head(path: Path) -> None:
    result = shipped(path)
    drop, look = foremost(result), first_look(result)
    for language in LANGUAGES:
        head, answers = told(result, language)
        assert "safe" not in head.lower() and "sicher" not in head.lower() and "[" not in f"{head}{answers}"
        if drop and not drop.accepted:
            assert set(drop.names) <= {name for one in look.endangered for name in one.bodies}
            assert all(name in head for name in drop.names)
        else:
            assert not look.endangered
        if language == "en" and look.endangered and any(map(about_holding, broken(result))):
            assert verdict_head(result, told_below=True).startswith(head), "one form of the headline on all papers"
            assert "(line" not in head


def test_past_the_first_of_several_bad_steps_all_of_them_are_undone() -> None:
    """The litter hangs on one after 1.5, the rescuer after 1.6: what both took off goes back on."""
    _, answers = told(shipped("crossings/raise-to-track-wrong"))
    assert answers["Past step 1.5"] == (
        f"{STOP} 2. Step 1.6 done? main-tail-crab back on vic-seat. 3. Step 1.5 done? main-crab back on master. "
        "4. Then as before step 1.5."
    )


@pytest.mark.parametrize(
    ("rig", "marks"),
    [
        ("crossings/pick-off-wrong", {"1.2": "step-otherwise", "1.3": "step-otherwise", "1.6": "step-stop"}),
        ("crossings/rebelay-wrong", {"1.4": "step-otherwise", "1.9": "step-stop"}),
        ("crossings/pick-off", {}),
        ("litter-lower-strap-left-off", {}),
    ],
)
def test_what_the_first_sheet_says_of_a_step_stands_there_once_more(rig: str, marks: dict[str, str]) -> None:
    """As sheets come apart: on the cards of whoever has the step, and in the procedure."""
    result = shipped(rig)
    found = {} if result.met else at_steps(first_look(result))
    assert {number: one.key for number, one in found.items()} == marks
    words = catalogue("en")
    page = " ".join(plain(procedure_page(procedure(result, "a.rig"), result)).split())
    on_cards = plain(card_page(cards(result, "a.rig"), words))
    for one in found.values():
        assert page.count(words.text(one)) == 1 and words.text(one) in " ".join(on_cards.split())


def test_all_on_one_thing_is_told_as_the_cause() -> None:
    _, answers = told(shipped("two-lines-one-ring"))
    assert (
        answers["ann hangs on"]
        == "master (ring), which alone holds waist-strap and chest-strap: not held if that fails"
    )


def test_who_goes_with_a_litter_is_told_with_it() -> None:
    _, answers = told(shipped("litter-lower-strap-left-off"))
    assert answers["Accepted"].startswith("basket hangs on master (ring): not held if that fails; ")
    assert answers["Accepted"].endswith("; sam and vic drop or tip with it, still held; vic on ONE then")


RING = """
    anchor left, right
    ring master
    person sam, vic: points waist, chest
    attach left - strap a - master
    attach right - strap b - master
    attach master - strap s - sam.waist
    attach master - strap t - sam.chest
    attach master - strap u - vic.waist
    attach master - strap v - vic.chest
"""


def test_where_no_mend_was_found_it_says_what_a_mend_must_not_need() -> None:
    result, look = checked(RING), first_look(checked(RING))
    for language, order in (
        ("en", "Attach sam and vic to something else as well, by a way that does not need master."),
        (
            "de",
            "sam und vic noch an etwas anderem befestigen, ohne master.",
        ),
    ):
        words = catalogue(language)
        first = first_lines(look, met=result.met)
        assert order in " ".join(words.text(one) for one in first.look[-1].words)
    alone = told(checked(RING.replace("sam, vic", "sam").split("    attach master - strap u")[0]))[1]
    assert "Add for sam: " in alone["Mend it"]


def test_who_hangs_only_on_their_feet_is_not_told_to_need_none_of_themselves() -> None:
    (now,) = [
        w for label, w in told(checked("person pat: standing, exposed, points waist"))[1].items() if label == "Mend it"
    ]
    assert "does not need" not in now


CARRIED = """
    anchor bolt
    person lea: standing, exposed
    harness loop: worn by lea, carries through
    person sec: points waist
    attach bolt - sling s - loop
    attach loop - strap t - sec.waist
"""


def test_what_hangs_by_a_harness_that_carries_through_counts_and_is_not_told_otherwise() -> None:
    rules = {one.rule for one in checked(CARRIED).states[0].findings}
    assert "person-as-anchor" not in rules
    bare = checked(CARRIED.replace(", carries through", "")).states[0]
    assert not bare.outcome.body("sec").held and {one.rule for one in bare.findings} & {"only-by-person"}


def test_who_hangs_from_somebody_past_a_litter_is_told_by_what_they_are_clipped() -> None:
    text = """
        anchor bolt
        person vic, att: points waist
        litter basket: points top
        ring eye
        attach basket - strap lash - vic.waist
        attach eye - strap leg - basket.top
        attach eye - lanyard own - att.waist
        attach bolt - strap s - vic.waist
    """
    rig = checked(text).rig
    assert holder_and_straps(rig, "att") == ("vic", ("own",))
    short = checked(text + "    attach att.waist - carabiner c - strap t - vic.waist\n").rig
    assert holder_and_straps(short, "att") == ("vic", ("t",)), "what ends at them, where nothing held is between"


TWO_BAD = """
anchor a, b, c: not below
person vic, sam: points waist, chest
attach a - lanyard va - vic.waist
attach b - lanyard vb - vic.chest
attach a - lanyard sa - sam.waist
attach b - lanyard sb - sam.chest
require every person has 2 independent attachments
stage "One"
    detach va from a
    attach va - c
stage "Two"
    detach sa from a
    detach sb from b
    attach sa - a
    attach sb - b
"""


def test_the_first_step_that_leaves_anybody_on_one_is_the_one_to_stop_before() -> None:
    """Somebody else is worse off later."""
    head, answers = told(checked(TWO_BAD))
    assert "sam is NOT HELD after step 2.2" in head and "vic hangs on ONE" in head
    assert answers["Do now"].startswith("STOP before step 1.1, “detach va from a”: after it vic hangs on ONE.")
    assert answers["Past step 1.1"] == (
        f"{STOP} 2. Step 2.2 done, 2.4 not? sb back on b. 3. Step 2.1 done, 2.4 not? sa back on a. "
        "4. Step 1.1 done, 1.2 not? va back on a. 5. Then as before step 1.1."
    )


def test_whoever_hangs_on_one_besides_the_worst_off_is_named() -> None:
    people = "anchor a, b, c\nperson ann, bob: points waist\n"
    head, answers = told(checked(people + "attach a - lanyard p - ann.waist\nattach b - lanyard q - bob.waist\n"))
    assert head.endswith("ann and bob hang on ONE each")
    assert "bob hangs on ONE too: mend that as well, and check again." in answers["Mend it"]
    assert answers["On it already?"] == f"{ON_IT} 2. Clip ann and bob to another anchor, by a further strap."


def test_what_would_mend_a_plan_was_tried_as_first_attached() -> None:
    plain = "anchor a, b\nperson ann: points waist, chest\nattach a - lanyard p - ann.waist\n"
    assert "as first attached" not in tried_words(checked(plain))
    staged = plain + 'stage "On"\n    say "on"\n'
    assert "tried on the connections alone, as first attached and not after each step" in tried_words(checked(staged))


def test_causes_stand_in_the_same_order_whatever_the_order_of_a_set() -> None:
    """They are no parts, and have no place among them."""
    text = "anchor bolt\nperson ann: points waist\nattach bolt - strap s - ann.waist\n"
    rig = checked(text + "cause storm: s fails\ncause pipe: bolt fails\ncause ash: bolt fails\n").rig
    found = [one for one in rig.index.failures if one.endswith("strikes")]
    assert len(found) == 3
    for several in (found, found[::-1]):
        assert [one.name for one in things(rig.first, several)] == ["ash", "pipe", "storm"]


LAND_AND_LIFT = """
anchor one, two
person sam: points w, c
attach one - strap s - sam.w
attach two - lanyard lan - sam.c
stage "down"
    say "ready"
    detach s from sam.w
    say "go"
    land sam on ground
    detach lan from sam.c
    lift sam off
"""


def test_an_order_that_mends_one_step_says_which_is_bad_all_the_same() -> None:
    """Landed first, taking the strap off is right; lifting off with nothing attached is deadly in any order."""
    result = checked(LAND_AND_LIFT)
    _, answers = told(result)
    assert answers["Before step 1.2"] == (
        "First step 1.4, “land sam on ground”; then step 1.2. STOP before step 1.6, “lift sam off”, all the same: what "
        "is asked for isn't met after it either."
    )
    assert at_steps(first_look(result)).keys() == {"1.2", "1.6"}


def test_a_step_that_tips_a_litter_is_stopped_before_though_nobody_hangs_on_one() -> None:
    _, answers = told(
        checked(
            """
            anchor a, b, c
            litter lit: points head, foot
            attach a - strap hs - lit.head
            attach b - strap fs - lit.foot
            attach c - strap hx - lit.head
            attach c - strap fx - lit.foot
            require lit level after any 1 failure
            stage "over"
                detach hs from lit.head
                attach b - strap hs2 - lit.head
                detach fs from b
                detach fx from c
            """
        )
    )
    assert answers["Do now"] == (
        "STOP before step 1.1, “detach hs from lit.head”: after it this is asked for and not met: lit level after any "
        "1 failure."
    )
    assert answers["Past step 1.1"] == (
        f"{STOP} 2. Step 1.4 done? fx back on c. 3. Step 1.3 done? fs back on b. 4. Step 1.1 done? hs back on lit.head."
    )


def test_both_lines_in_one_hand_is_mended_by_locking_one_and_not_by_holding_on() -> None:
    """A frightened hand on both opens both."""
    _, answers = told(
        checked(
            """
            anchor a, b
            person jo: standing
            person sam: points w, c
            rope main
                stopper as ms
                gripped by brake b1 - a
                tied to sam.w
            rope back
                stopper as bs
                gripped by brake b2 - b
                tied to sam.c
            b1, b2: operated by jo, self-locking
            stage "lower"
                take b1 in hand
                take b2 in hand
                pay out main, back by 5 m
                lock off b1
                lock off b2
            """
        )
    )
    assert answers["Past step 1.2"] == (
        "1. STOP: nothing more is let out. 2. jo locks off every device in hand but one, or lets it lock. "
        "3. Then as before step 1.2."
    )


TWO_LINES = """
anchor a, b, c
person jo: standing
person sam: points w, k
attach a - descender d
attach b - descender e
d, e: operated by jo, self-locking
rope red
    stopper
    gripped by d
    tied to sam.w as red-low
rope green
    stopper
    gripped by e
    tied to sam.k as green-low
stage "x"
    detach green-low from sam.k
"""


@pytest.mark.parametrize(
    ("steps", "past"),
    [
        (  # put on one again after nothing: that is no reason to put nothing back
            ("detach red-low from sam.w", "attach c - sling hold - sam.w"),
            "2. Step 1.2 done? red-low back on sam.w. 3. Step 1.1 done? green-low back on sam.k. 4. Then as before "
            "step 1.1.",
        ),
        (  # what was opened grips first
            ("open d", 'say "hm"'),
            "2. Step 1.2 done? Let d grip again. 3. Step 1.1 done? green-low back on sam.k. "
            "4. Then as before step 1.1.",
        ),
        (  # the rope is away: what comes on later comes on at once
            ("derig green", "attach c - sling hold - sam.k"),
            "2. Step 1.3 done too? Put nothing back: nobody hangs on ONE for this any more. 3. Step 1.1 done, 1.3 not? "
            "green-low back on sam.k. 4. Not possible? Step 1.3 at once. 5. Then as before step 1.1.",
        ),
    ],
)
def test_past_a_step_what_is_told_is_right_wherever_the_reader_stands(steps: tuple[str, ...], past: str) -> None:
    _, answers = told(checked(TWO_LINES + "".join(f"    {step}\n" for step in steps)))
    assert answers["Past step 1.1"] == f"{STOP} {past}"


def test_what_is_put_on_to_somebody_who_hangs_is_not_on_again() -> None:
    text = """
        anchor a, b, c, f
        person sam, vic: points w, k
        attach a - strap sa - sam.w
        attach sam.k - lanyard cow - carabiner crab - b
        attach c - strap va - vic.w
        attach f - strap vb - vic.k
        stage "x"
            detach crab from b
            attach crab - vic.w
    """
    _, answers = told(checked(text))
    assert "2. Put crab back on b." in answers["Past step 1.1"]


def test_what_is_needed_together_is_no_chain() -> None:
    """A deck on two slings: whoever stands there needs both at once."""
    _, answers = told(
        checked(
            """
            anchor a, b
            load deck: points l, r, ends l | r
            attach a - sling s - deck.l
            attach b - sling t - deck.r
            person lou: stands on deck
            """
        )
    )
    assert answers["lou hangs on"].startswith("all of a, s, ")
