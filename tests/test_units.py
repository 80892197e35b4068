"""`units lbf, ft, lb`: every page in what the file asks for, every document in SI, and read back as written."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

import analyser
from analyser.doors.commands.main import main
from analyser.language.mistakes import Unreadable
from analyser.rig.figures import (
    USUAL,
    Units,
    as_force,
    as_length,
    as_mass,
    as_place,
    as_small,
    as_speed,
    use,
    using,
)

EXAMPLES = Path(__file__).parent.parent / "examples"
TREE = EXAMPLES / "tree-climb.rig"
AMERICAN = Units("lbf", "ft", "lb")
SI = re.compile(r"(?<![\w.(])\(?-?\d[\d.]* (?:kN|N|kg|m|mm|m/s)(?![\w/)-])")
"""A figure in SI that doesn't stand in brackets behind another."""
CHANGED = """
rig "A load on a track"
units lbf, ft, lb
anchor near: at (0, 0, 33) ft, strength 6000 lbf
anchor far: at (100, 0, 36) ft, strength 30 kN
load bag: 220 lb, at (50, 0, 30) ft
attach bag - pulley carriage
rope track: like low-stretch-a, 11 mm, stretch 3 % at 330 lb, sag 5 ft
    tied to near with figure-eight
    through carriage
    tied to far with figure-eight
rope twin: like low-stretch-a, 11 mm, stretch 3 % at 150 kg, pretension 400 lbf, spare in the bag above
    tied to near with figure-eight
    through carriage
    tied to far with figure-eight
"""


@pytest.fixture(autouse=True)
def _as_before() -> None:
    use(USUAL)


@pytest.mark.parametrize(
    ("told", "usual", "american"),
    [
        (lambda: as_force(4321.3), "4.32 kN", "971 lbf"),
        (lambda: as_force(22_000, "g"), "22 kN", "4946 lbf"),
        (lambda: as_force(22241.108076302, "g"), "22.2411 kN", "5000 lbf"),
        (lambda: as_force(0), "0.00 kN", "0 lbf"),
        (lambda: as_length(1.234), "1.23 m", "4.0 ft"),
        (lambda: as_length(12.3, ".2g"), "12 m", "40 ft"),
        (lambda: as_length(1234.5, ".2g"), "1.2e+03 m", "4100 ft"),
        (lambda: as_mass(85), "85 kg", "187.4 lb"),
        (lambda: as_mass(90.718474), "90.7185 kg", "200 lb"),
        (lambda: as_small(0.11, ".4g"), "110 mm", "4.331 in"),
        (lambda: as_speed(6.3), "6.3 m/s", "21 ft/s"),
        (lambda: as_place((0.0, 1.5, 12.0), (0.0, 0.3, 0.0)), "(0, 1.2 to 1.8, 12)", "(0, 3.937 to 5.906, 39.37) ft"),
    ],
)
def test_a_figure_in_both(told: Callable[[], str], usual: str, american: str) -> None:
    assert told() == usual
    with using(AMERICAN):
        assert told() == american
    assert told() == usual


@pytest.mark.parametrize(
    ("command", "more"),
    [
        ("check", ["--full"]),
        ("forces", []),
        ("whatif", ["fork fails"]),
        ("procedure", []),
        ("walkdown", []),
        ("draw", ["--side", "-o", "{}/tree.svg"]),
        ("draw", ["--forces", "-o", "{}/tree.dot"]),
    ],
    ids=["check", "forces", "whatif", "procedure", "walkdown", "side", "diagram"],
)
def test_no_page_tells_a_figure_in_si(
    command: str, more: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main([command, str(TREE), *(one.format(tmp_path) for one in more)]) in (0, 1)
    told = capsys.readouterr().out + "".join(one.read_text(encoding="utf-8") for one in tmp_path.iterdir())
    assert not SI.findall(told)
    if command not in ("walkdown",):
        assert re.search(r"\d (lbf|ft|lb)\b", told)


def test_what_is_written_in_another_unit_stands_beside_it() -> None:
    rig = analyser.read_text(CHANGED)
    strength = dict(rig.parts["far"].quantities)["strength"]
    assert (strength.text, strength.si) == ("6744 lbf (30 kN)", 30_000)
    rope = next(one for one in rig.ropes if one.name == "track")
    given = {key: one.text for key, one in rope.quantities}
    assert given["strength"] == "4946 lbf (22 kN)", "of a standard's kind"
    assert given["diameter"] == "11 mm", "ropes are sold so"
    assert dict(rig.parts["bag"].quantities)["mass"].text == "220 lb"


def test_documents_are_in_si(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The same rig with and without the line gives the same figures under the same keys."""
    here = tmp_path / "a.rig"
    told = []
    for text in (CHANGED, CHANGED.replace("units lbf, ft, lb", "# units")):
        here.write_text(text, encoding="utf-8")
        main(["forces", "--json", str(here)])
        told.append(json.loads(capsys.readouterr().out))
    one, other = (list(_figures(document)) for document in told)
    assert one == other
    assert any(key.endswith("_kN") for key, _ in one)


def _figures(told: object, key: str = "") -> list[tuple[str, float]]:
    if isinstance(told, dict):
        return [found for name, value in told.items() for found in _figures(value, name)]
    if isinstance(told, list):
        return [found for value in told for found in _figures(value, key)]
    return [(key, told)] if isinstance(told, float) else []


def test_a_place_in_feet_is_the_place_in_metres() -> None:
    rig = analyser.read_text('rig "A"\nanchor bolt: at (0, 1 to 2, 10) ft\nperson sam\nattach bolt - sling s - sam\n')
    bolt = rig.parts["bolt"]
    assert bolt.at == pytest.approx((0, 1.5 * 0.3048, 3.048))
    assert bolt.off == pytest.approx((0, 0.5 * 0.3048, 0))


def test_a_step_moves_to_a_place_in_feet() -> None:
    text = 'rig "A"\nanchor bolt: at (0, 0, 3)\nperson sam\nattach bolt - sling s - sam\nstage "Over"\n'
    rig = analyser.read_text(text + "    move bolt to (0, 10, 10) ft\n")
    assert rig.stages[0].steps[0].rig.parts["bolt"].at == pytest.approx((0, 3.048, 3.048))


def test_units_of_a_kit_count_where_the_rig_asks_for_none(tmp_path: Path) -> None:
    (tmp_path / "house.rig").write_text("units lbf, ft\n", encoding="utf-8")
    text = 'rig "A"\ninclude "house.rig"\nanchor bolt\nperson sam\nattach bolt - sling s - sam\n'
    assert analyser.read_text(text, folder=tmp_path).units == Units("lbf", "ft", "kg")
    assert analyser.read_text(text + "units m\n", folder=tmp_path).units == Units()


def test_two_rigs_beside_each_other_keep_their_own() -> None:
    """What is shown later is told in the units of its own rig."""
    one, other = analyser.read_text(CHANGED), analyser.read_text(CHANGED.replace("units lbf, ft, lb", ""))
    first, second = analyser.check(one), analyser.check(other)
    assert " lbf" in analyser.shown(first) and not re.search(r"\d kN(?!\))", analyser.shown(first))
    assert " kN" in analyser.shown(second)


def test_no_page_prints_a_unit_of_its_own() -> None:
    """Figures have one home: `rig/figures.py`."""
    own = re.compile(r"\{[^{}]*(?::\.?\d?[fg]|/ 1000[^{}]*)\} ?(?:kN|kg|m/s|mm|m)\b")
    found = [
        f"{path.name}: {line.strip()}"
        for path in sorted(Path(analyser.__file__).parent.rglob("*.py"))
        if path.name != "figures.py"
        for line in path.read_text(encoding="utf-8").split("\n")
        if own.search(line)
    ]
    assert not found


@pytest.mark.parametrize(
    ("line", "text", "advice"),
    [
        ("units pounds", "`pounds` is no unit that figures are printed in", "write `units lbf, ft, lb`"),
        ("units metric", "`metric` is no unit that figures are printed in", "write `units kN, m, kg`"),
        ("units feet", "`feet` is no unit that figures are printed in", "write `units ft`"),
        ("units mm", "figures of a length are not printed in `mm`", "they are printed in `m` or `ft`"),
        ("units lbf, kN", "`lbf` and `kN` both print a force", "keep one of them"),
        ("units lbf\nunits ft", "units are asked for on line 2 too", "write one line for all"),
        ("anchor b: at (0, 1, 2) kg", "`kg` is no unit of a place", "write `m` or `ft`, or nothing: metres"),
        ("anchor b: at (0, 1, 2) feet", "`feet` is not a unit that can be read", "write `anchor b: at (0, 1, 2) ft`"),
        (
            "anchor b: at (0 ft, 1 ft, 2 ft)",
            "the unit of a position stands once, behind its bracket",
            "write `anchor b: at (0, 1, 2) ft`",
        ),
    ],
)
def test_one_mistake_one_message(line: str, text: str, advice: str) -> None:
    with pytest.raises(Unreadable) as caught:
        analyser.read_text(f'rig "A"\n{line}\n')
    assert [(one.text, one.help) for one in caught.value.mistakes] == [(text, advice)]
