"""Numbers that can't be meant: what is refused on its line (tests/messages) and what is told in doubt."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from rigs import checked, rig_of
from statics import STIFF, at_rest, statics_of

from analyser.doors.commands.main import main
from analyser.forces import Missing, Statics
from analyser.language.mistakes import Unreadable


def doubts(text: str) -> list[str]:
    return [one.why for one in statics_of(text).equilibrium().doubts]


@pytest.mark.parametrize(
    ("mass", "said"),
    [("9000 kg", "lb or kg?"), ("480 kg", "lb or kg?"), ("0 kg", "is none"), ("1.5 lb", "lb or kg?")],
)
def test_a_person_of_no_such_mass(mass: str, said: str) -> None:
    with pytest.raises(Unreadable) as refused:
        rig_of(f"person sam: {mass}")
    assert said in refused.value.mistakes[0].text


@pytest.mark.parametrize("mass", ["2 kg", "250 kg", "880 lb"])
def test_an_unusual_person_is_believed(mass: str) -> None:
    assert rig_of(f"person sam: {mass}").parts["sam"].quantities


def test_two_legs_that_do_not_reach_between_their_anchors() -> None:
    legs = """
        anchor left: at (0, 0, 5)
        anchor right: at (3, 0, 5)
        ring master
        person sam: 80 kg
        attach left - strap s - master
        attach right - strap t - master
        attach master - strap u - sam
        s, t, u: length {} m
    """
    (said,) = doubts(legs.format(1))
    assert said == "s and t are together 2.00 m long, and left and right are 3.00 m apart"
    assert doubts(legs.format(1.6)) == []
    assert statics_of(legs.format(1)).equilibrium().doubts[0].place.line == 6


def test_a_litter_longer_than_its_legs_reach() -> None:
    (said,) = doubts(f"""
        anchor bolt: at (0, 0, 5)
        litter basket: 15 kg, length 20 m, points head, foot
        attach bolt - strap s - basket.head
        attach bolt - strap t - basket.foot
        s, t: length 1 m, {STIFF}
    """)
    assert (
        said == "s and t are together 2.00 m long, and basket.head and basket.foot, points of basket, are 20.00 m apart"
    )


def test_a_rope_shorter_than_where_it_is_drawn_gives_no_forces() -> None:
    rig = rig_of("""
        anchor bolt: at (0, 0, 5)
        person sam: 80 kg, at (0, 0, 3)
        rope red: 1 m
            tied to bolt
            tied to sam
    """)
    found = Statics.of(rig)
    assert isinstance(found, Missing)
    assert [one.why for one in found.contradictions] == ["red is 1 m long, and is drawn over 2.00 m"]
    assert found.contradictions[0].place.line == 4


def test_a_load_that_is_not_held_and_a_runner_off_its_rope() -> None:
    found = at_rest("""
        anchor bolt: at (0, 0, 5)
        person sam: 80 kg, at (0, 0, 3)
        load box: 20 kg, points eye
        pulley wheel: at (2, 0, 4)
        attach bolt - strap s - sam
        attach wheel - box.eye
        rope track: 20 m
            tied to bolt
            through wheel
    """)
    assert found.falls == ("box",)
    assert found.tension("s") == pytest.approx(784.5, abs=0.1)


def test_what_falls_or_is_in_doubt_stands_on_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "odd.rig"
    path.write_text(
        'rig "Odd"\nanchor bolt: at (0, 0, 5)\nlitter basket: 15 kg, length 20 m, points head, foot\n'
        "person ann: 60 kg\nattach bolt - strap s - basket.head\nattach bolt - strap t - basket.foot\n"
        "s, t: length 1 m\n",
        encoding="utf-8",
    )
    assert main(["attitude", str(path), "basket"]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "FALLS nothing in the statics holds ann" in page
    assert "in doubt line 5: s and t are together 2.00 m long" in page


def test_anchors_at_one_place_are_asked_about() -> None:
    result = checked("""
        anchor left, right: at (0, 0, 10)
        person sam: points waist, chest
        attach left - strap a - sam.waist
        attach right - strap b - sam.chest
    """)
    told = [one for one in result.findings if one.rule == "anchors-at-one-place"]
    assert [one.text for one in told] == ["left and right are written at one place, (0, 0, 10)"]


def test_a_rope_between_two_parts_at_one_place_has_no_length() -> None:
    rig = """
        anchor bolt: at (0, 0, 10)
        person sam: 80 kg, points waist, at (0, 0, {})
        rope red
            tied to bolt with bowline as top
            tied to sam.waist with bowline as low
    """
    assert doubts(rig.format(10)) == ["red[top..low] has no length: bolt and sam.waist are at one place"]
    assert statics_of(rig.format(10)).equilibrium().doubts[0].place.line == 4
    assert doubts(rig.format(9)) == []


def test_what_falls_and_what_is_in_doubt_stand_with_the_forces(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "off.rig"
    path.write_text(
        'rig "Runs off"\nanchor bolt: at (0, 0, 5)\nperson sam: 80 kg, points waist, at (0, 0, 5)\n'
        "load box: 20 kg, points eye\nattach box.eye - strap b - a carabiner\nb: length 1 m\n"
        "rope red\n    tied to bolt\n    tied to sam.waist\n",
        encoding="utf-8",
    )
    assert main(["forces", str(path)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "FALLS nothing in the statics holds box" in page
    assert "in doubt line 7: red[red-knot..red-knot-2] has no length" in page
    assert main(["forces", str(path), "--json"]) == 0
    (state,) = json.loads(capsys.readouterr().out)["states"]
    assert state["forces"]["falls"] == ["box"]
    assert [one["line"] for one in state["forces"]["in_doubt"]] == [7]


def test_a_runner_with_no_knot_beyond_it_is_no_hold(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "off.rig"
    path.write_text(
        'rig "Runs off"\nanchor left: at (0, 0, 9)\nperson sam: 80 kg, points waist, at (3, 0, 7)\n'
        "rope red: 30 m\n    tied to left\n    through pulley wheel - sam.waist\n",
        encoding="utf-8",
    )
    assert main(["forces", str(path)]) == 0
    assert "FALLS nothing in the statics holds sam" in " ".join(capsys.readouterr().out.split())
