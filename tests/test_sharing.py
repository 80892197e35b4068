"""What several parts share beside what they touch: structures, hazards, sleeves; and loops made for gear."""

from __future__ import annotations

import pytest
from rigs import checked, criticals, falls, rig_of, sets_of

from analyser.checking.results import Result
from analyser.language.mistakes import Unreadable


def on_two_bolts(*lines: str) -> Result:
    """Sam on a strap from each of two bolts, with these lines before."""
    return checked(
        "\n".join(
            [
                *lines,
                "person sam: points waist, chest",
                "attach left - strap a - sam.waist",
                "attach right - strap b - sam.chest",
            ]
        )
    )


def test_two_bolts_in_one_block_are_one_anchor() -> None:
    result = on_two_bolts("anchor left, right: part of loose-block")
    assert criticals(result, "sam") == {"loose-block fails"}
    assert result.body("sam").independent == 1
    assert result.declared["structures"] == 1


def test_a_structure_of_one_of_them_is_no_more_than_that_bolt() -> None:
    result = on_two_bolts("anchor left: part of loose-block", "anchor right")
    assert criticals(result, "sam") == set()
    assert {"loose-block fails", "right fails"} in sets_of(result, "sam", 2)


def test_a_structure_in_a_structure_takes_all_along() -> None:
    result = on_two_bolts("structure block: part of cliff", "anchor left: part of block", "anchor right: part of cliff")
    assert criticals(result, "sam") == {"cliff fails"}


def test_a_part_may_be_the_whole_that_others_are_part_of() -> None:
    result = on_two_bolts("ring big", "anchor right", "anchor left: part of right", "attach right - big")
    assert falls(result, "right fails") == ("sam",)
    assert falls(result, "left fails") == ()


def test_a_sound_structure_leaves_its_bolts_to_fail_by_themselves() -> None:
    result = on_two_bolts("anchor left, right: part of block", 'sound block fails: "bedrock"')
    assert criticals(result, "sam") == set()
    assert {"left fails", "right fails"} in sets_of(result, "sam", 2)


def test_a_hazard_near_both_ropes_is_one_failure() -> None:
    text = """
        anchor left, right
        person sam: points waist, chest
        rope red
            tied to left as red-top
            near steam-pipe
            tied to sam.waist as red-low
        rope green{}
            tied to right as green-top
            tied to sam.chest as green-low
    """
    both = checked(text.format(": near steam-pipe"))
    assert criticals(both, "sam") == {"steam-pipe strikes"}
    one = checked(text.format(""))
    assert criticals(one, "sam") == set()
    assert {"steam-pipe strikes", "green[green-top..green-low] is cut"} in sets_of(one, "sam", 2)


def test_a_hazard_adds_to_the_cause_of_that_name() -> None:
    result = on_two_bolts("anchor left: near rockfall", "anchor right", "cause rockfall: right fails")
    assert criticals(result, "sam") == {"rockfall strikes"}


def test_two_ropes_in_one_sleeve_share_it() -> None:
    result = checked("""
        anchor left, right
        sleeve tube
        person sam: points waist, chest
        rope red: inside tube
            tied to left
            tied to sam.waist
        rope green
            tied to right
            inside tube
            tied to sam.chest
    """)
    assert criticals(result, "sam") == {"tube fails"}
    assert [f.about for f in result.findings if f.rule == "one-sleeve"] == [("tube", "red", "green")]


def test_a_gear_loop_is_no_attachment() -> None:
    result = checked("""
        anchor left, right
        person sam: points waist, hip
        gear-loop loop: worn by sam
        attach left - strap a - sam.waist
        attach right - strap b - loop
    """)
    sam = result.body("sam")
    assert (sam.attachments, sam.independent) == (1, 1)
    assert {f.about[0] for f in result.findings if f.rule == "gear-only"} == {"loop"}


def test_an_accessory_ring_in_a_chain_holds_nobody() -> None:
    result = checked("""
        anchor bolt
        person sam
        attach bolt - accessory-ring small - strap s - sam
    """)
    assert not result.body("sam").held


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("anchor left: part of left", "part of itself"),
        ("anchor left: part of sam", "is a person"),
        ("anchor left: part of red", "is a rope"),
        ("ring low\n            anchor left: part of low", "no anchor is part of it"),
        ("pulley low\n            anchor left: part of low", "`attach low - …`"),
        ("bar low\n            anchor left: part of low", "`attach low.left - …`"),
        ("ring left: across right", "not an edge"),
        ("person left: part of block", "for an anchor"),
        ("anchor left: inside tube", "for a rope"),
        ("anchor left: drop 4 m", "for a rope"),
        ("descender left: takes 11 to 10 mm", "the thinnest rope comes first"),
        ("descender left: takes 10 to 11 kN", "rope diameters"),
        ("anchor left: directions (0, 0, 0) within 3 deg", "no direction"),
        ("ring left: room for 0", "not a number of parts"),
        ("low-stretch-a left", "what a rope is like"),
    ],
)
def test_what_cannot_be_is_told(line: str, words: str) -> None:
    with pytest.raises(Unreadable) as caught:
        rig_of(f"""
            {line}
            anchor right
            person sam: points waist
            rope red
                tied to right
                tied to sam.waist
            attach left - right
        """)
    assert words in caught.value.mistakes[0].text + caught.value.mistakes[0].help
