"""Statics against printed tables and worked answers. Sources are those of the trade facts page
(section, and the mark of its source); `[computed]` is the formula named beside it."""

from __future__ import annotations

import math

import pytest
from statics import STIFF, at_rest

from analyser.forces.stiffness import GRAVITY

LBF = 0.45359237  # kg whose weight is one pound-force


def two_legs(included: float, kg: float = 100) -> str:
    half = math.radians(included / 2)
    x, z = 2 * math.sin(half), 2 * math.cos(half)
    return f"""
        anchor left: at ({-x:.9f}, 0, {z:.9f})
        anchor right: at ({x:.9f}, 0, {z:.9f})
        load block: {kg} kg, points eye
        attach left - strap a - block.eye
        attach right - strap b - block.eye
        a, b: length 2 m, {STIFF}
    """


@pytest.mark.parametrize(
    ("included", "share", "printed"),
    # facts 1.2: T/W by T = W / (2 cos(t/2)); printed per 100 lbf [source: S1], 175: "about 11" [S4]
    [
        (30, 0.5176, 52),
        (45, 0.5412, None),
        (60, 0.5774, 58),
        (90, 0.7071, 71),
        (120, 1.0000, 100),
        (135, 1.3066, None),
        (150, 1.9319, 193),
        (160, 2.8794, None),
        (170, 5.7369, None),
        (175, 11.463, None),
    ],
)
def test_two_legs_by_included_angle(included: float, share: float, printed: float | None) -> None:
    found = at_rest(two_legs(included, LBF))  # light, so that flat legs don't sag by their own stretch
    weight = LBF * GRAVITY
    assert found.tension("a") / weight == pytest.approx(share, rel=3e-4)
    if printed:
        assert 100 * found.tension("a") / weight == pytest.approx(printed, abs=0.5)


def test_two_legs_by_horizontal_angle() -> None:
    # facts 1.3 [source: S2]: multiplier on W/2 = 1/sin a; 40 degrees is printed cut off
    printed = (1.004, 1.015, 1.035, 1.064, 1.104, 1.155, 1.221, 1.305, 1.414, 1.555, 1.742, 2.000)
    for angle, factor in zip(range(85, 25, -5), printed, strict=True):
        found = at_rest(two_legs(180 - 2 * angle))
        assert found.tension("a") / (50 * GRAVITY) == pytest.approx(factor, abs=0.002)


@pytest.mark.parametrize(
    ("kg", "angle", "told"),
    # facts 1.4 [source: S5, S6]: pounds on each leg
    [(1000 * LBF, 60, 577), (1000 * LBF, 45, 707), (200 * LBF, 45, 141.4)],
)
def test_two_legs_worked(kg: float, angle: float, told: float) -> None:
    found = at_rest(two_legs(180 - 2 * angle, kg))
    assert found.tension("a") / (LBF * GRAVITY) == pytest.approx(told, abs=0.6)


@pytest.mark.parametrize(
    ("included", "printed", "computed"),
    # facts 1.5 [source: S1], per 100 lbf on each anchor; 150 is printed 380 and computes as 383.1
    [(30, 82, 82.1), (60, 100, 100.0), (90, 131, 130.7), (120, 193, 193.2), (150, None, 383.1)],
)
def test_closed_triangle(included: float, printed: float | None, computed: float) -> None:
    half = math.radians(included / 2)
    x, z = 2 * math.sin(half), 2 * math.cos(half)
    found = at_rest(f"""
        anchor left: at ({-x:.9f}, 0, {z:.9f})
        anchor right: at ({x:.9f}, 0, {z:.9f})
        load block: 100 kg, points eye, at (0, 0, 0)
        rope hoop: {STIFF}
            through left
            through carabiner low - block.eye
            through right
            closed with double-fishermans as hoop-knot
        hoop-knot: at (0, 0, {z:.9f})
    """)
    for anchor in ("left", "right"):
        share = 100 * math.hypot(*found.reactions[anchor]) / (100 * GRAVITY)
        assert share == pytest.approx(computed, rel=1e-3)
        if printed:
            assert share == pytest.approx(printed, abs=1)


# facts 2.2 [source: S10]: block angle factors, angle between the two strands; allowed: 0.01
BLOCKS = {
    10: (1.99, 1.992),
    20: (1.97, 1.970),
    30: (1.93, 1.932),
    40: (1.87, 1.879),
    45: (1.84, 1.848),
    50: (1.81, 1.813),
    60: (1.73, 1.732),
    70: (1.64, 1.638),
    80: (1.53, 1.532),
    90: (1.41, 1.414),
    100: (1.29, 1.286),
    110: (1.15, 1.147),
    120: (1.00, 1.000),
    130: (0.84, 0.845),
    135: (0.76, 0.765),
    140: (0.68, 0.684),
    150: (0.52, 0.518),
    160: (0.35, 0.347),
    170: (0.17, 0.174),
}


def redirect(between: float) -> str:
    """A load on a rope that a fixed block turns to an anchor, with so many degrees between strands."""
    turn = math.radians(between)
    x, z = 3 * math.sin(turn), 10 - 3 * math.cos(turn)
    return f"""
        anchor head: at (0, 0, 10)
        anchor stay: at ({x:.9f}, 0, {z:.9f})
        load block: 100 kg, points eye, at (0, 0, 4)
        rope line: {STIFF}
            tied to block.eye with bowline
            through pulley turn - head
            tied to stay with bowline
    """


@pytest.mark.parametrize("between", BLOCKS)
def test_redirect(between: float) -> None:
    printed, computed = BLOCKS[between]
    found = at_rest(redirect(between))
    share = math.hypot(*found.reactions["head"]) / (100 * GRAVITY)
    assert share == pytest.approx(computed, abs=0.001)
    assert share == pytest.approx(printed, abs=0.01)


def test_redirect_worked() -> None:
    # facts 2.3: 1,000 lbf at 50 and 135 degrees [source: S10]; 150 kgf at 100: print 194, exact 192.8 [S11]
    for between, line, told, off in ((50, 1000, 1810, 10), (135, 1000, 760, 10), (100, 150, 192.8, 0.1)):
        share = math.hypot(*at_rest(redirect(between)).reactions["head"]) / (100 * GRAVITY)
        assert share * line == pytest.approx(told, abs=off)


def hung_from(left: tuple[float, float], right: tuple[float, float], kg: float) -> str:
    """A load at (0, 0, 0) on two stiff legs to two anchors (x, z)."""
    text = f"load block: {kg} kg, points eye\n"
    for name, (x, z) in (("a", left), ("b", right)):
        text += f"anchor on-{name}: at ({x:.9f}, 0, {z:.9f})\nattach on-{name} - strap {name} - block.eye\n"
        text += f"{name}: length {math.hypot(x, z):.9f} m, {STIFF}\n"
    return text


@pytest.mark.parametrize(
    ("weight", "d1", "d2", "height", "t1", "t2"),
    # facts 4.3 by the formula of 4.1 [source: S27]
    [
        (1000, 3, 1, 4, 312.5, 773.1),
        (1000, 6, 3, 4, 600.9, 833.3),
        (1000, 8, 2, 6, 333.3, 843.3),
        (10000, 8, 2, 8, 2828, 8246),
        (2000, 4, 4, 3, 1667, 1667),
    ],
)
def test_off_centre(weight: float, d1: float, d2: float, height: float, t1: float, t2: float) -> None:
    found = at_rest(hung_from((-d1, height), (d2, height), weight / 10))
    unit = weight / 10 * GRAVITY / weight
    assert found.tension("a") / unit == pytest.approx(t1, rel=5e-4)
    assert found.tension("b") / unit == pytest.approx(t2, rel=5e-4)


@pytest.mark.parametrize(
    ("a1", "a2", "t1", "t2"),
    # facts 4.3 by 4.2 [computed]: angles from the vertical, shares of W; the last is a slanted leg gone idle
    [
        (30, 55, 0.8223, 0.5019),
        (30, 60, 0.8660, 0.5000),
        (20, 70, 0.9397, 0.3420),
        (15, 75, 0.9659, 0.2588),
        (0, 45, 1.0, 0.0),
    ],
)
def test_unequal_angles(a1: float, a2: float, t1: float, t2: float) -> None:
    places = [(side * 3 * math.sin(math.radians(a)), 3 * math.cos(math.radians(a))) for side, a in ((-1, a1), (1, a2))]
    found = at_rest(hung_from(places[0], places[1], 100))
    assert found.tension("a") / (100 * GRAVITY) == pytest.approx(t1, abs=2e-4)
    assert found.tension("b") / (100 * GRAVITY) == pytest.approx(t2, abs=2e-4)


def test_printed_answers_for_two_unequal_ropes() -> None:
    # facts 4.3a [source: S123]: 1,400 kg, 20 and 30 degrees off plumb, g 9.8: 8,955 and 6,126 N
    places = [(side * 5 * math.sin(math.radians(a)), 5 * math.cos(math.radians(a))) for side, a in ((-1, 20), (1, 30))]
    found = at_rest(hung_from(places[0], places[1], 1400))
    assert found.tension("a") * 9.8 / GRAVITY == pytest.approx(8955, abs=1)
    assert found.tension("b") * 9.8 / GRAVITY == pytest.approx(6126, abs=1)
    # [source: S124]: 122 N on cables 37 and 53 degrees above the level: 73.4 and 97.4 N
    places = [(side * 5 * math.cos(math.radians(a)), 5 * math.sin(math.radians(a))) for side, a in ((-1, 37), (1, 53))]
    found = at_rest(hung_from(places[0], places[1], 122 / GRAVITY))
    assert found.tension("a") == pytest.approx(73.4, abs=0.1)
    assert found.tension("b") == pytest.approx(97.4, abs=0.1)


def test_three_tonnes_on_two_six_foot_slings() -> None:
    # facts 4.3a [source: S23, p. 280]: with 2 t allowed on each, the shackles may be 7.9 ft apart (exact 7.937)
    half = 7.937 / 2 * 0.3048
    height = math.sqrt((6 * 0.3048) ** 2 - half**2)
    found = at_rest(hung_from((-half, height), (half, height), 3000))
    assert found.tension("a") / (1000 * GRAVITY) == pytest.approx(2.0, abs=0.001)


def test_tray_on_one_diagonal_pair() -> None:
    # facts 4.3a [source: S23, p. 280-282]: 20 cwt, tray 4 x 4 ft, four 7 ft legs, ONE pair taking all: 10.9 cwt
    half, leg = 4 / 2 * 0.3048, 7 * 0.3048
    height = math.sqrt(leg**2 - 2 * half**2)
    corners = {"ne": (half, half), "sw": (-half, -half), "nw": (-half, half), "se": (half, -half)}
    text = f"""
        anchor hook: at (0, 0, {height:.9f})
        load tray: 1016 kg, points {", ".join(corners)}, at (0, 0, 0)
    """
    for name, (x, y) in corners.items():
        longer = 0 if name in ("ne", "sw") else 0.05  # the other pair hangs a little loose
        text += f"""
        tray.{name}: at ({x:.9f}, {y:.9f}, 0)
        attach hook - strap leg-{name} - tray.{name}
        leg-{name}: length {leg + longer:.9f} m, {STIFF}
        """
    found = at_rest(text)
    assert found.slack == ("leg-nw", "leg-se")
    for name in ("leg-ne", "leg-sw"):
        assert 20 * found.tension(name) / (1016 * GRAVITY) == pytest.approx(10.93, abs=0.02)


@pytest.mark.parametrize(
    ("x", "sag", "near", "far"),
    # facts 7.1, 7.2 [computed]: span 30 m, a load x from one end, sag s: tension either side over W
    [
        (15, 3.0, 2.5495, 2.5495),
        (10, 3.0, 2.3201, 2.2471),
        (5, 3.0, 1.6197, 1.3989),
        (15, 1.5, 5.0249, 5.0249),
    ],
)
def test_sagging_line_with_a_fixed_load(x: float, sag: float, near: float, far: float) -> None:
    found = at_rest(hung_from((-x, sag), (30 - x, sag), 1))
    assert found.tension("a") / GRAVITY == pytest.approx(near, rel=5e-4)
    assert found.tension("b") / GRAVITY == pytest.approx(far, rel=5e-4)


@pytest.mark.parametrize(
    ("share", "tension"),
    # facts 7.1 [computed]: sag over span, T/W for a load mid-span
    [(0.02, 12.51), (0.05, 5.025), (0.10, 2.550), (0.15, 1.740), (0.20, 1.346), (0.25, 1.118)],
)
def test_sagging_line_under_a_running_pulley(share: float, tension: float) -> None:
    """The load runs on the line: it comes to rest mid-span by itself, wherever it is drawn."""
    length = 2 * math.hypot(15, 30 * share)
    # drawn off the middle and nearly straight; the slack makes the line as long as it is with that sag
    drawn = math.hypot(12, 0.1) + math.hypot(18, 0.1)
    found = at_rest(f"""
        anchor near: at (0, 0, 0)
        anchor far: at (30, 0, 0)
        load max: 1 kg, points waist, at (12, 0, -0.1)
        rope track: {STIFF}
            tied to near with bowline
            through pulley wheel - max.waist
            tied to far with bowline, slack {length - drawn:.9f} m
    """)
    assert found.tension("track") / GRAVITY == pytest.approx(tension, rel=1e-3)
    assert found.at["max"][0] == pytest.approx(15, abs=1e-4)


def test_the_shortest_arm_takes_most() -> None:
    # facts 4.5 [computed]: two plumb arms of the same cord, 1 m and 2 m: two thirds and one third
    found = at_rest("""
        anchor low: at (0, 0, 1)
        anchor high: at (0, 0, 2)
        load block: 100 kg, points eye
        attach low - cord short - block.eye
        attach high - cord long - block.eye
        short: length 1 m
        long: length 2 m
    """)
    assert found.tension("short") / (100 * GRAVITY) == pytest.approx(2 / 3, rel=1e-9)
    assert found.tension("long") / (100 * GRAVITY) == pytest.approx(1 / 3, rel=1e-9)


def test_a_tension_grows_as_cosine_squared_over_length() -> None:
    # facts 4.5 [computed]: an arm's share of the drop goes as (EA/L) cos2 of its angle, for small drops
    half = math.radians(30)
    x, z = 2 * math.sin(half), 2 * math.cos(half)
    found = at_rest(f"""
        anchor left: at ({-x:.9f}, 0, {z:.9f})
        anchor right: at ({x:.9f}, 0, {z:.9f})
        anchor over: at (0, 0, 2)
        load block: 1 kg, points eye
        attach left - cord a - block.eye
        attach right - cord b - block.eye
        attach over - cord c - block.eye
        a, b, c: length 2 m
    """)
    share = math.cos(half) ** 2
    assert found.tension("c") / GRAVITY == pytest.approx(1 / (1 + 2 * share), rel=1e-3)
    assert found.tension("a") / found.tension("c") == pytest.approx(math.cos(half), rel=1e-3)
