"""A sling choked or in a basket round something: attached to it, and weaker where it is drawn tight."""

from __future__ import annotations

import pytest

import analyser
from analyser.forces.retained import HITCHES
from analyser.language.mistakes import Unreadable

RIG = """rig "A choked sling"
anchor beam: at (0, 0, 5), strength 30 kN
load crate: 80 kg, at (0, 0, 3), points eye
sling upper: {} beam, strength 22 kN, length 1 m
attach upper - shackle pin (30 kN) - sling lower (1 m, 22 kN) - crate.eye
"""
HOWS = {"choked round": 0.75, "basket round": 1.0}


@pytest.mark.parametrize("how", HOWS)
def test_it_is_attached_to_what_it_lies_round(how: str) -> None:
    rig = analyser.read_text(RIG.format(how))
    assert {"beam", "upper"} in [{one.a, one.b} for one in rig.contacts]
    assert "beam fails" in {one.id for one in analyser.check(rig).failures if one.falls}


@pytest.mark.parametrize(("how", "kept"), HOWS.items())
def test_choked_it_keeps_three_quarters_and_in_a_basket_counts_as_one_leg(how: str, kept: float) -> None:
    """0.75: choker, 120 degrees or more (Choker hitch angles, fulcrumlifting.com, an extract). A basket's two legs
    carry 1.0 together with 90 to 120 degrees between them (Sling angles and SWL, cpcsmastery.co.uk, an extract)."""
    loads = analyser.check(analyser.read_text(RIG.format(how))).states[0].loads
    assert loads is not None
    row = next(one for one in loads.factors.rows if one.name == "upper")
    assert row.kept == kept
    assert row.factor == pytest.approx(22_000 * kept / (80 * 9.80665), rel=1e-3)
    assert row.source == (HITCHES["choked"].source if kept < 1 else None)


def test_it_breaks_at_what_it_keeps() -> None:
    text = RIG.format("choked round").replace("22 kN, length 1 m", "1 kN, length 1 m")
    for how, met in (("choked round", False), ("basket round", True)):
        told = analyser.check(
            analyser.read_text(text.replace("choked round", how) + "require strength factor at least 1\n")
        )
        assert told.requirements[0].met is met, how


def test_the_same_said_in_a_chain_too_is_one_contact() -> None:
    rig = analyser.read_text(RIG.format("choked round") + "attach beam - upper\n")
    assert [one.rule for one in rig.cautions] == ["repeated-contact"]


@pytest.mark.parametrize(
    ("said", "advice"),
    [
        ("choker around", "write `sling upper: choked round beam`"),
        ("girth-hitched to", "write `sling upper: choked round beam`"),
        ("basket around", "write `sling upper: basket round beam`"),
    ],
)
def test_said_otherwise(said: str, advice: str) -> None:
    with pytest.raises(Unreadable) as caught:
        analyser.read_text(f'rig "A"\nanchor beam\nsling upper: {said} beam\n')
    assert [one.help for one in caught.value.mistakes] == [advice]


def test_basket_and_choked_stay_names() -> None:
    rig = analyser.read_text('rig "A"\nanchor choked\nlitter basket\nring round\nattach choked - round - basket\n')
    assert {"choked", "basket", "round"} <= set(rig.parts)
