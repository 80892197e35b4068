"""Track lines by pretension, by sag and by a short length; held at a place; the worst place. Closed forms, each with
its derivation; the general place by a solver of our own (scipy's root of one equation)."""

from __future__ import annotations

import json
import math

import pytest
from scipy.optimize import brentq

import analyser
from analyser.doors.commands.main import main
from analyser.forces import Missing, Statics
from analyser.forces.assembling import Case
from analyser.forces.equilibrium import Equilibrium
from analyser.forces.stiffness import GRAVITY
from analyser.forces.tracks import tracks, tracks_at, worst_places
from analyser.rig.model import Effects

W = 100 * GRAVITY
SPAN = 30.0
EA = 150 * GRAVITY / 0.03
TRACK = """
rig "A track"
anchor near: at (0, 0, 10), strength 30 kN
anchor far: at (30, 0, {high}), strength 30 kN
load bag: 100 kg, at (15, 0, 8)
attach bag - pulley carriage
{more}rope track: stretch 3 % at 150 kg, {tight}
    tied to near with figure-eight
    through carriage
    tied to far with figure-eight
"""


def rest(text: str) -> tuple[analyser.Rig, Equilibrium]:
    rig = analyser.read_text(text)
    statics = Statics.of(rig)
    assert not isinstance(statics, Missing), statics.text
    found = statics.equilibrium()
    assert found.accepted
    return rig, found


def pull(rest_length: float, sag: float, share: float = 0.5) -> float:
    sides = math.hypot(share * SPAN, sag) + math.hypot((1 - share) * SPAN, sag)
    return EA * max(sides - rest_length, 0) / rest_length


def sag_of(rest_length: float, load: float, share: float = 0.5) -> float:
    """The sag at which the track's two sides carry the load square to the line between its ends."""

    def missing(sag: float) -> float:
        slopes = sum(sag / math.hypot(part * SPAN, sag) for part in (share, 1 - share))
        return pull(rest_length, sag, share) * slopes - load

    return float(brentq(missing, 1e-9, SPAN, xtol=1e-12))


@pytest.mark.parametrize("kilonewtons", [0.5, 2, 6])
def test_a_pretension_is_what_it_pulls_with_before_anything_hangs_on_it(kilonewtons: float) -> None:
    """At rest it is D / (1 + T/EA) long; then the load hangs in the middle."""
    length = SPAN / (1 + 1000 * kilonewtons / EA)
    rig, found = rest(TRACK.format(high=10, more="", tight=f"pretension {kilonewtons} kN"))
    (one,) = tracks(rig, found)
    sag = sag_of(length, W)
    assert one.sag == pytest.approx(sag, abs=1e-4)
    assert one.tension == pytest.approx(pull(length, sag), rel=1e-4)
    assert one.runs == ("bag", "carriage") and one.along == pytest.approx(SPAN / 2, abs=1e-3)


def test_with_nothing_on_it_it_pulls_with_its_pretension() -> None:
    text = TRACK.format(high=10, more="", tight="pretension 2 kN").replace("    through carriage\n", "")
    text = text.replace("attach bag - pulley carriage\n", "attach near - strap tether - bag\ntether: length 3 m\n")
    _, found = rest(text)
    assert found.line("track").tension == pytest.approx(2000, rel=1e-4)


@pytest.mark.parametrize("sag", [0.6, 1.5, 4])
def test_a_sag_is_met_under_the_load(sag: float) -> None:
    """Tension by the force triangle: W / (2 sin a), tan a = sag / half the span."""
    rig, found = rest(TRACK.format(high=10, more="", tight=f"sag {sag} m"))
    (one,) = tracks(rig, found)
    assert one.sag == pytest.approx(sag, abs=1e-3)
    slope = math.atan2(sag, SPAN / 2)
    assert one.tension == pytest.approx(W / (2 * math.sin(slope)), rel=2e-3)
    for end in one.ends:
        assert end.below_level == pytest.approx(math.degrees(slope), abs=0.05)
        assert end.level == pytest.approx(W / (2 * math.tan(slope)), rel=2e-3)


TWIN = """
rig "Twin tracks"
anchor near-a: at (0, 0.1, 10)
anchor near-b: at (0, -0.1, 10)
anchor far-a: at (30, 0.1, 10)
anchor far-b: at (30, -0.1, 10)
load bag: 100 kg, at (15, 0, 8)
attach bag - plate carriage
attach carriage - pulley one
attach carriage - pulley two
rope left: stretch 3 % at 150 kg, sag {a} m
    tied to near-a with figure-eight
    through one
    tied to far-a with figure-eight
rope right: stretch 3 % at 150 kg, sag {b} m
    tied to near-b with figure-eight
    through two
    tied to far-b with figure-eight
"""


@pytest.mark.parametrize("sag", [0.6, 1.5])
def test_twin_tracks_that_sag_alike_share_their_load(sag: float) -> None:
    """Each has half of the force triangle; with one gone the other has all of it, at the sag of its own length."""
    _, found = rest(TWIN.format(a=sag, b=sag))
    slope = math.atan2(sag, SPAN / 2)
    for name in ("left", "right"):
        assert found.line(name).tension == pytest.approx(W / 2 / (2 * math.sin(slope)), rel=5e-3)
    statics = Statics.of(analyser.read_text(TWIN.format(a=sag, b=sag)))
    assert not isinstance(statics, Missing)
    alone = statics.equilibrium(Case(Effects(gone=frozenset({"near-a"}))))
    strained = 2 * math.hypot(SPAN / 2, sag)
    length = strained / (1 + W / 2 / (2 * math.sin(slope)) / EA)
    assert alone.line("right").tension == pytest.approx(pull(length, sag_of(length, W)), rel=1e-2)


def test_ropes_with_one_load_that_say_different_sags_are_asked_about() -> None:
    told = Statics.of(analyser.read_text(TWIN.format(a=1, b=2)))
    assert isinstance(told, Missing) and "left and right carry one load and can't sag 1 m and 2 m" in told.text


def test_a_length_shorter_than_the_way_stands_as_written() -> None:
    rig, found = rest(TRACK.format(high=10, more="", tight="29.5 m"))
    (one,) = tracks(rig, found)
    assert one.tension == pytest.approx(pull(29.5, sag_of(29.5, W)), rel=1e-4)


@pytest.mark.parametrize("metres", [3.0, 10.0, 22.5])
def test_held_at_a_place_by_control_lines(metres: float) -> None:
    rig, found = rest(TRACK.format(high=10, more="", tight="pretension 2 kN"))
    (one,) = tracks_at(rig, found, "carriage", metres)
    length, share = SPAN / (1 + 2000 / EA), metres / SPAN
    sag = sag_of(length, W, share)
    assert one.sag == pytest.approx(sag, abs=1e-4)
    assert one.tension == pytest.approx(pull(length, sag, share), rel=1e-5)


def test_the_worst_place_of_a_level_track_is_its_middle() -> None:
    rig, found = rest(TRACK.format(high=10, more="", tight="pretension 2 kN"))
    (worst,) = worst_places(rig, found)
    assert worst.along == pytest.approx(SPAN / 2, abs=0.05)
    every = [tracks_at(rig, found, "carriage", metres)[0].tension for metres in range(1, 30)]
    assert worst.tension >= max(every) - 1e-6


def test_two_tracks_share_a_load() -> None:
    """Two alike side by side: half the load each."""
    more = "rope twin: stretch 3 % at 150 kg, pretension 2 kN\n    tied to near with figure-eight\n"
    more += "    through carriage\n    tied to far with figure-eight\n"
    rig, found = rest(TRACK.format(high=10, more=more, tight="pretension 2 kN"))
    one, two = tracks(rig, found)
    length = SPAN / (1 + 2000 / EA)
    assert one.tension == pytest.approx(two.tension, rel=1e-6)
    assert one.tension == pytest.approx(pull(length, sag_of(length, W / 2)), rel=1e-4)


def test_what_cannot_be_meant_is_said() -> None:
    for tight, why in (
        ("pretension 2 kN, sag 1 m", "either follows from the other"),
        ("sag 1 mm", "no length of track makes it sag 1 mm under its load"),
    ):
        told = Statics.of(analyser.read_text(TRACK.format(high=10, more="", tight=tight)))
        assert isinstance(told, Missing) and any(why in one.why for one in told.contradictions)
    hung = TRACK.format(high=10, more="", tight="pretension 2 kN").replace("tied to far", "tied to bag")
    told = Statics.of(analyser.read_text(hung.replace("    through carriage\n", "")))
    assert isinstance(told, Missing) and any(
        "doesn't lead from ground to ground" in one.why for one in told.contradictions
    )


def test_the_command_holds_it_where_it_is_asked(tmp_path, capsys) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "track.rig"
    file.write_text(TRACK.format(high=12, more="", tight="sag 2 m").lstrip())
    assert main(["forces", str(file), "--along", "carriage=5", "m", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    (held,) = data["held_along"]
    assert held["along_m"] == pytest.approx(5, abs=0.2)  # along the line between the ends: 5 m from the first
    (track,) = data["states"][0]["forces"]["tracks"]
    assert track["sag_m"] == pytest.approx(2, abs=0.002)
    assert main(["forces", str(file)]) == 0
    assert "TRACK LINES" in capsys.readouterr().out
    assert main(["forces", str(file), "--along", "cariage=5", "m"]) == 2
    assert "did you mean `carriage`" in capsys.readouterr().err
