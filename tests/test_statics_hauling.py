"""Hauling: advantages, friction and travel, out of the statics of rigs that are drawn, not named."""

from __future__ import annotations

import pytest
from rigs import rig_of
from statics import STIFF

from analyser.forces import Missing, Statics
from analyser.forces.hauling import Advantage, NoHaul, advantage
from analyser.forces.stiffness import GRAVITY

W = 100 * GRAVITY


def hauled(text: str, rope: str = "main") -> Advantage:
    statics = Statics.of(rig_of(text), hands=True)
    assert not isinstance(statics, Missing), statics.text
    found = advantage(statics, rope)
    assert isinstance(found, Advantage), found
    assert found.residual < 1e-6
    return found


HEAD = """
anchor head: at (0, 0, 20)
load block: 100 kg, points eye, at (0, 0, 5)
person up: standing, at (0, 0, 20)
person down: standing, at (0, 0, -5)
"""


def tackle(stations: str, efficiency: float = 1.0, more: str = "", **own: float) -> str:
    """A rig in one plumb line: rope `main` with stations such as `load`, `head`, `@4 low` ...

    `load` and `head` tie the rope there, `+load` and `+head` run over a pulley there (named w1, w2,
    ... in order), `=7` is a hitch at a height on the rope, `*` runs over the pulley on the latest
    hitch, `up` and `down` are the hands. `own` gives pulleys efficiencies of their own.
    """
    text, rope, wheel, hitch = HEAD, f"rope main: {STIFF}\n", 0, 0
    for word in stations.split():
        if word in ("up", "down"):
            rope += f"    held by {word}\n"
        elif word in ("load", "head"):
            rope += f"    tied to {'block.eye' if word == 'load' else 'head'} with bowline\n"
        elif word.startswith("="):
            hitch += 1
            text += f"friction-hitch h{hitch}: at (0, 0, {word[1:]})\n"
            rope += f"    gripped by h{hitch}\n"
        else:
            wheel += 1
            on = {"+load": "block.eye", "+head": "head"}.get(word, f"h{hitch}" if word == "*" else word[1:])
            text += f"pulley w{wheel}: efficiency {own.get(f'w{wheel}', efficiency)}\nattach w{wheel} - {on}\n"
            rope += f"    through w{wheel}\n"
    return text + rope + more


SYSTEMS = {
    # name: stations, ideal, what the anchors carry in all over W (facts 3.3), formula of 3.9 in e
    "1:1 redirect": ("load +head down", 1, 2.0, lambda e: e),
    "2:1": ("head +load up", 2, 0.5, lambda e: 1 + e),
    "2:1 + redirect": ("head +load +head down", 2, 1.5, lambda e: e * (1 + e)),
    "3:1": ("load =8 +head * up", 3, 2 / 3, lambda e: 1 + e + e**2),
    "3:1 + redirect": ("load =8 +head * +head down", 3, 4 / 3, lambda e: e * (1 + e + e**2)),
    "4:1 simple": ("head +load +head +load +head down", 4, 1.25, lambda e: e + e**2 + e**3 + e**4),
    "5:1 simple": ("load +head +load +head +load up", 5, 0.8, lambda e: 1 + e + e**2 + e**3 + e**4),
    "9:1": ("load =8 +head * =12 +head * up", 9, 8 / 9, lambda e: (1 + e + e**2) ** 2),
}


@pytest.mark.parametrize("name", SYSTEMS)
def test_ideal_advantage_anchor_load_and_travel(name: str) -> None:
    # facts 3.3 [computed: balance of the whole]: pull up W (1 - 1/MA) on the anchors, pull down W (1 + 1/MA)
    stations, ideal, anchors, _ = SYSTEMS[name]
    found = hauled(tackle(stations))
    assert found.ideal == pytest.approx(ideal, rel=1e-6)
    assert found.travel == pytest.approx(ideal, rel=1e-3)  # facts 3.1 [source: S16]: rope pulled in = MA x lift
    assert found.hold.hand == pytest.approx(W / ideal)
    assert found.hold.anchors["head"] == pytest.approx(anchors * W)


# facts 3.9 [computed], all the rows that are one rope
PRACTICAL = {
    "1:1 redirect": (1, 0.950, 0.900, 0.850, 0.800, 0.750, 0.500),
    "2:1": (2, 1.950, 1.900, 1.850, 1.800, 1.750, 1.500),
    "2:1 + redirect": (2, 1.853, 1.710, 1.573, 1.440, 1.313, 0.750),
    "3:1": (3, 2.853, 2.710, 2.573, 2.440, 2.313, 1.750),
    "3:1 + redirect": (3, 2.710, 2.439, 2.187, 1.952, 1.734, 0.875),
    "4:1 simple": (4, 3.524, 3.095, 2.709, 2.362, 2.051, 0.938),
    "5:1 simple": (5, 4.524, 4.095, 3.709, 3.362, 3.051, 1.938),
    "9:1": (9, 8.137, 7.344, 6.618, 5.954, 5.348, 3.063),
}


@pytest.mark.parametrize("name", SYSTEMS)
def test_practical_advantage_with_efficiency(name: str) -> None:
    stations, _, _, formula = SYSTEMS[name]
    for e, told in zip((1.0, 0.95, 0.90, 0.85, 0.80, 0.75, 0.50), PRACTICAL[name], strict=True):
        found = hauled(tackle(stations, e))
        assert found.practical == pytest.approx(told, abs=0.001)
        assert found.practical == pytest.approx(formula(e), rel=1e-6)
        assert found.lowering is not None and found.raising is not None
        # going down every wheel helps the hand: the same formula with 1/e
        assert W / found.lowering.hand == pytest.approx(formula(1 / e), rel=1e-6)
        assert found.lowering.hand <= found.hold.hand * (1 + 1e-9) <= found.raising.hand * (1 + 2e-9)


COMPOUND = {
    # a second rope pulls the first: the first one's end is tied to what the second one moves
    "4:1 compound": ("2:1 on 2:1, both ends anchored", 4, lambda e: (1 + e) ** 2),
    "6:1": ("2:1 on 3:1", 6, lambda e: (1 + e) * (1 + e + e**2)),
    "8:1": ("2:1 on 2:1 on 2:1", 8, lambda e: (1 + e) ** 3),
}


def compound(name: str, e: float) -> str:
    second = f"""
pulley x1: at (0, 0, 14), efficiency {e}
rope second: {STIFF}
    tied to head with bowline
    through x1
"""
    if name == "8:1":
        second += f"""    tied to ring x2-ring with bowline
x2-ring: at (0, 0, 17)
pulley x2: efficiency {e}
attach x2 - x2-ring
rope third: {STIFF}
    tied to head with bowline
    through x2
    held by up
"""
    else:
        second += "    held by up\n"
    first = "load =8 +head * " if name == "6:1" else "head +load "
    return tackle(first, e) + "    tied to x1 with bowline\n" + second


@pytest.mark.parametrize("name", COMPOUND)
def test_stages_multiply(name: str) -> None:
    # facts 3.3, 3.9 and "stages multiply" [source: S18]; a 2:1 on a 2:1 with both ends anchored is 4, not 3 (3.4)
    _, ideal, formula = COMPOUND[name]
    rope = "third" if name == "8:1" else "second"
    assert hauled(compound(name, 1.0), rope).ideal == pytest.approx(ideal, rel=1e-6)
    for e, told in ((0.95, None), (0.9, {"4:1 compound": 3.610, "6:1": 5.149}.get(name)), (0.5, None)):
        found = hauled(compound(name, e), rope)
        assert found.practical == pytest.approx(formula(e), rel=1e-6)
        if told:
            assert found.practical == pytest.approx(told, abs=0.001)


def test_burton_with_the_runners_end_on_the_load() -> None:
    # facts 3.4 [source: S18; from memory: seamanship manuals]: two single blocks, power trebled
    found = hauled(
        HEAD
        + f"""
pulley fixed
attach fixed - head
pulley runner: at (0, 0, 12)
rope first: {STIFF}
    tied to block.eye with bowline
    through fixed
    tied to runner with bowline
rope main: {STIFF}
    tied to block.eye with bowline
    through runner
    held by down
"""
    )
    assert found.ideal == pytest.approx(3, rel=1e-6)


@pytest.mark.parametrize(
    ("stations", "ideal"),
    # facts 3.5 [source: S19, S20, S21]: single whip 1, runner 2, gun tackle 2 and inverted 3, single luff 3,
    # luff "to advantage" 4, double tackle 5 (inverted: the hauling part leads from the moving block)
    [
        ("load +head down", 1),
        ("head +load up", 2),
        ("head +load +head down", 2),
        ("load +head +load up", 3),
        ("load +head +load +head down", 3),
        ("head +load +head +load up", 4),
        ("load +head +load +head +load up", 5),
    ],
)
def test_named_tackles(stations: str, ideal: float) -> None:
    assert hauled(tackle(stations)).ideal == pytest.approx(ideal, rel=1e-6)


def reeved(parts: int) -> str:
    """So many parts of line at the moving block, the lead line down off the last fixed sheave."""
    words = ["load" if parts % 2 else "head"]
    words += ["+head" if (k + parts) % 2 == 0 else "+load" for k in range(1, parts + 1)]
    return " ".join(words) + " down"


@pytest.mark.parametrize(
    ("friction", "printed"),
    # facts 3.6 [source: S22]: ratios for 1 to 10 parts, plain bronze K 1.045, rolling bearings K 1.02
    [
        (1.045, (0.96, 1.87, 2.75, 3.59, 4.39, 5.16, 5.90, 6.60, 7.27, 7.91)),
        (1.02, (0.98, 1.94, 2.88, 3.81, 4.71, 5.60, 6.47, 7.32, 8.16, 8.98)),
    ],
)
def test_reeving_ratios(friction: float, printed: tuple[float, ...]) -> None:
    for parts, ratio in enumerate(printed, 1):
        found = hauled(tackle(reeved(parts), 1 / friction))
        assert found.practical == pytest.approx(ratio, abs=0.01)
        assert found.ideal == pytest.approx(parts, rel=1e-6)
        exact = (friction**parts - 1) / (friction**parts * (friction - 1))
        assert found.practical == pytest.approx(exact, rel=1e-6)


@pytest.mark.parametrize(
    ("load", "stations", "sheaves", "pull"),
    # facts 3.7 [source: S23]: seamen's rule, 10 % of the load more for each sheave, over the parts at the
    # moving block: 4 t gun tackle 2.4; 12 t threefold 3.2 and (to advantage) 2.743; 15 t luff 6.5; 40 t 9.143
    [
        (4, reeved(2), 2, 2.4),
        (12, reeved(6), 6, 3.2),
        (12, "load +head +load +head +load +head +load up", 6, 2.743),
        (15, reeved(3), 3, 6.5),
        (40, "load +head +load +head +load +head +load up", 6, 9.143),
        (20, "load +head +load +head +load up", 4, 5.6),
    ],
)
def test_seamens_rule_on_the_parts_and_sheaves_found(load: float, stations: str, sheaves: int, pull: float) -> None:
    found = hauled(tackle(stations))
    assert len(found.wheels) == sheaves
    assert load * (1 + 0.1 * len(found.wheels)) / found.ideal == pytest.approx(pull, abs=0.01)


def test_the_poorest_pulley_belongs_farthest_from_the_hand() -> None:
    # facts 3.10 [computed]: sheaves 0.9 and 0.5 in a 3:1: good one nearest the hand 2.35, poor one 1.95
    stations = SYSTEMS["3:1"][0]  # w1 is at the anchor, w2 nearest the hand
    assert hauled(tackle(stations, w1=0.5, w2=0.9)).practical == pytest.approx(2.35, rel=1e-6)
    assert hauled(tackle(stations, w1=0.9, w2=0.5)).practical == pytest.approx(1.95, rel=1e-6)


def test_a_haul_without_rescue_pulleys() -> None:
    # facts 3.9 [source: S16]: 180 lbf on a 3:1 takes 60 in theory; without rescue pulleys about 2:1 (e 0.6: 1.96)
    assert hauled(tackle(SYSTEMS["3:1"][0], 0.6)).practical == pytest.approx(1.96, abs=0.001)
    # facts 13, spares [e: source: S24; rest computed]: bare carabiners of 0.53: 1 + .53 + .28 = 1.81
    assert hauled(tackle(SYSTEMS["3:1"][0], 0.53)).practical == pytest.approx(1.81, abs=0.005)


def test_the_anchor_of_a_redirect_with_friction() -> None:
    # facts 2.5 [computed]: e 0.9: 2.111 W on the anchor going up, 1.900 W going down; e 0.5: 3.0 and 1.5
    for e, up, down in ((0.9, 2.111, 1.900), (0.5, 3.0, 1.5)):
        found = hauled(tackle("load +head down", e))
        assert found.raising and found.lowering
        assert found.raising.anchors["head"] / W == pytest.approx(up, abs=0.001)
        assert found.lowering.anchors["head"] / W == pytest.approx(down, abs=0.001)
        assert found.raising.hand == pytest.approx(W / e) and found.lowering.hand == pytest.approx(W * e)


def test_which_grip_holds_at_rest() -> None:
    text = """
        anchor head, side: at (0, 0, 20)
        person ola: 100 kg, points chest, at (0, 0, 5)
        person rey: standing, at (0, 0, 20)
        attach head - cam-pulley capture
        capture: efficiency 0.85
        friction-hitch grab: at (0, 0, 9)
        attach grab - pulley wheel
        wheel: efficiency 0.9
        rope main: stretch 0 % at 100 kg
            tied to ola.chest with bowline as knot
            gripped by grab
            gripped by capture, load from knot
            through wheel
            held by rey
    """
    found = hauled(text)
    assert found.ideal == pytest.approx(3, rel=1e-6)
    assert found.practical == pytest.approx(1 + 0.9 + 0.9 * 0.85, rel=1e-6)
    assert found.holds_at_rest == ("capture",) and found.falls == ()
    without = hauled(text.replace("gripped by capture, load from knot", "through capture"))
    assert without.holds_at_rest == () and without.falls == ("ola",)


def test_no_efficiency_given_is_said() -> None:
    found = hauled(tackle("load +head down").replace(": efficiency 1.0", ""))
    assert found.without == ("w1",)


def test_capstan_friction_of_an_edge() -> None:
    # facts 3.12 [computed]: hold = load / exp(mu angle): mu 0.3 over a right angle
    found = hauled("""
        anchor head: at (9, 9, 9)
        edge lip: at (0, 0, 10), friction 0.3
        load block: 100 kg, points eye, at (0, 0, 5)
        person rey: standing, at (-5, 0, 10)
        rope main: stretch 0 % at 100 kg
            tied to block.eye with bowline
            over lip
            held by rey
    """)
    import math

    assert found.raising and found.lowering
    assert found.raising.hand == pytest.approx(W * math.exp(0.3 * math.pi / 2), rel=1e-4)
    assert found.lowering.hand == pytest.approx(W / math.exp(0.3 * math.pi / 2), rel=1e-4)


def test_what_cannot_be_told() -> None:
    statics = Statics.of(rig_of(tackle("load +head down")), hands=True)
    assert not isinstance(statics, Missing)
    assert isinstance(advantage(statics, "nothing"), NoHaul)
    statics = Statics.of(rig_of(tackle("load head")), hands=True)
    assert not isinstance(statics, Missing)
    told = advantage(statics, "main")
    assert isinstance(told, NoHaul) and "nobody holds main" in told.why
