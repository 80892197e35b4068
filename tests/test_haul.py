"""`stillheld haul`: the page and its JSON against tension counting by hand; what can't be told is said."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from analyser.doors.commands.main import main
from analyser.forces.stiffness import GRAVITY

HAUL = Path(__file__).parent.parent / "examples" / "haul-three-to-one.rig"
W = 80 * GRAVITY


def rope(capsys: pytest.CaptureFixture[str], path: Path, *words: str) -> dict:
    assert main(["haul", str(path), *words, "--json"]) in (0, 1)
    return json.loads(capsys.readouterr().out)["ropes"][0]["advantage"]


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> Path:
    text = HAUL.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "haul.rig"
    path.write_text(text, encoding="utf-8")
    return path


STIFF = ("strength 30 kN\n    tied to vic-crab", "strength 30 kN, stretch 0 % at 100 kg\n    tied to vic-crab")
PLUMB = ("lee: at (0.3, 0, 10.5)", "lee: at (0, 0, 10.5)")


@pytest.mark.parametrize("e", [1.0, 0.9, 0.75, 0.5])
def test_three_to_one_by_tension_counting(tmp_path: Path, capsys: pytest.CaptureFixture[str], e: float) -> None:
    # facts 3.3 and 3.9 [computed: tension counting, S15]: 3 : 1 ideal, 1 + e + e^2 with sheaves of efficiency e;
    # rope pulled in = MA x lift (3.1, S16); anchors and hauler carry the load together (3.3)
    path = changed(tmp_path, STIFF, PLUMB, ("efficiency 0.85", f"efficiency {e}"))
    path.write_text(path.read_text(encoding="utf-8") + f"haul-wheel: efficiency {e}\n", encoding="utf-8")
    found = rope(capsys, path, "main")
    assert found["ideal_advantage"] == pytest.approx(3, abs=1e-3)
    assert found["rope_in_per_rise"] == pytest.approx(3, abs=5e-3)
    assert found["practical_advantage"] == pytest.approx(1 + e + e**2, abs=2e-3)
    assert found["raising"]["hand_kN"] * 1000 == pytest.approx(W / (1 + e + e**2), rel=1e-3)
    assert found["lowering"]["hand_kN"] * 1000 == pytest.approx(W / (1 + 1 / e + 1 / e**2), rel=1e-3)
    for pull in (found["raising"], found["hold_without_friction"], found["lowering"]):
        assert pull["hand_kN"] * 1000 + 1000 * pull["anchors_kN"]["main-bolt"] == pytest.approx(W, rel=1e-3)
    assert found["without_efficiency"] == []


def test_what_is_missing_open_and_holding_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["haul", str(HAUL)]) == 0
    page = capsys.readouterr().out
    assert re.search(r"ideal +3\.00 : 1", page) and re.search(r"practical +2\.85 : 1", page)
    assert "haul-wheel: no efficiency given, taken as 1" in page
    assert "capture lets rope in; to lower, somebody must keep it open" in page
    assert re.search(r"hands off +held by capture", page)
    assert "Local codes" in page


def test_without_a_capture_the_load_falls_with_hands_off(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = HAUL.read_text(encoding="utf-8").replace("gripped by capture, load from main-knot", "through capture")
    path = tmp_path / "bare.rig"
    path.write_text(re.sub(r"rope back:(.|\n)*?stopper\n", "", text), encoding="utf-8")
    found = rope(capsys, path)
    assert found["falls_with_hands_off"] == ["vic"] and found["holds_with_hands_off"] == []
    main(["haul", str(path)])
    page = capsys.readouterr().out
    assert "VIC FALLS" in page


def test_a_rope_in_nobodys_hands(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["haul", str(HAUL), "back"]) == 1
    assert "nobody holds back: write `held by`" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [(["mian"], "did you mean `main`?"), (["main", "--along", "vic=1", "m"], "`vic` lies in no litter")],
)
def test_what_cannot_be_asked_is_said(capsys: pytest.CaptureFixture[str], words: list[str], said: str) -> None:
    assert main(["haul", str(HAUL), *words]) == 2
    assert said in capsys.readouterr().err


def test_nothing_to_haul_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = changed(tmp_path, ("    held by lee\n", ""))
    assert main(["haul", str(path)]) == 2
    assert "no rope of this rig is in anybody's hands" in capsys.readouterr().err


def test_missing_places_are_json_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = changed(tmp_path, ("haul-hitch: at (0, 0, 6)\n", ""))
    assert main(["haul", str(path), "--json"]) == 2
    data = json.loads(capsys.readouterr().out)
    assert [one["add"] for one in data["wanted"]] == ["haul-hitch: at (x, y, z)"]
    assert data["wanted"][0]["line"] > 1


REVERSED = """
rig "A capture turned round"
anchor bolt, back: not below
    bolt: at (0, 0, 20)
    back: at (0.3, 0, 20)
person jo, kim: standing
    jo: at (3, 0, 20)
person vic: 100 kg, at (0.1, 0, 10), points waist, chest
attach bolt - cam-pulley capture
attach back - brake belay-brake
belay-brake: operated by kim, self-locking
pulley mover
rope-grab grab: at (0.1, 0, 14)
attach grab - mover
rope main: 11 mm, 60 m, stretch 3 % at 150 kg
    tied to vic.waist with figure-eight as knot
    gripped by grab, load from knot
    gripped by capture, load from {side}
    through mover
    held by jo, tail towards end
rope belay: 11 mm, 60 m, stretch 3 % at 150 kg
    stopper
    gripped by belay-brake
    slack 0.2 m
    tied to vic.chest with figure-eight
"""


@pytest.mark.parametrize(("side", "raises"), [("knot", True), ("end", False)])
def test_a_capture_that_grips_what_is_hauled_in_raises_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], side: str, raises: bool
) -> None:
    path = tmp_path / "haul.rig"
    path.write_text(REVERSED.format(side=side), encoding="utf-8")
    main(["haul", str(path)])
    told = " ".join(capsys.readouterr().out.split())
    assert ("jo pulls" in told) is raises
    assert ("capture grips rope that is hauled in, so nothing comes up: turn it round" in told) is not raises
