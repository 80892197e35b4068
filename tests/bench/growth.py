"""How time grows with the size of the rig, the order of the sets and the depth: a table and a plot."""

from __future__ import annotations

import math
from collections.abc import Callable

import analyser
from analyser.holding.reviewing import Review
from analyser.holding.system import RigSystem

from .generating import Made, made
from .measuring import FOLDER, OUTPUT, duration, heading, median, table
from .removing_nodes import swept

NAME = "growth"
TOO_LONG = 20.0
"""A measurement is not tried at the next size if it is expected to take longer than this, in seconds."""
COLOURS = ("#1b6ca8", "#c8553d", "#3a7d44", "#8e5aa8", "#b8860b", "#444444")

TEAMS = ("ordinary", "joined")

Measurement = Callable[[Made], object]
MEASURED: dict[str, Measurement] = {
    "read": lambda one: analyser.read_text(one.text),
    "singles": lambda one: swept(RigSystem(one.rig), 1),
    "order 2": lambda one: Review(one.rig).failure_sets([b.name for b in one.rig.bodies], 2),
    "order 3": lambda one: Review(one.rig).failure_sets([b.name for b in one.rig.bodies], 3),
    "check": lambda one: analyser.check(one.rig),
}


def run(*, quick: bool) -> None:
    heading(NAME, "how time grows with the number of parts, the order, and the depth")
    sizes = (50, 300) if quick else (50, 300, 1000, 3000, 10000)
    deep = (50, 300) if quick else (50, 300, 1000, 3000)
    curves: dict[tuple[str, str], list[tuple[int, float]]] = {}
    rows = []
    for kind in ("plain", "ordinary", "joined", "chain", "ladder", "hung ropes"):
        for size in sizes if kind in ("plain", "ordinary", "joined") else deep:
            one = made(kind, size)
            row: list[object] = [kind, one.parts, one.failures, one.bodies]
            for what, measurement in MEASURED.items():
                # sets of three in one network are a number of sets that nobody reads
                curve = curves.setdefault((kind, what), [])
                if _expected(curve, one.parts) > TOO_LONG or (what == "order 3" and kind not in TEAMS):
                    row.append("-")
                    continue
                seconds, _ = median(measurement, one, runs=3, budget=3)
                curve.append((one.parts, seconds))
                row.append(duration(seconds))
            rows.append(row)
    table(("rig", "parts", "failures", "bodies", *MEASURED), rows)
    print(f"\n  -: not measured (expected to take over {TOO_LONG:.0f} s, or sets of three in one network)")
    print("  growth (time as a power of the number of parts, last step):")
    for (kind, what), points in curves.items():
        if len(points) > 1 and kind in ("plain", "ordinary", "joined"):
            (n, a), (m, b) = points[-2:]
            print(f"    {kind}, {what}: {math.log(b / a) / math.log(m / n):.1f}")
    OUTPUT.mkdir(exist_ok=True)
    path = OUTPUT / "growth.svg"
    shown = {
        f"{kind}, {what}": points
        for (kind, what), points in curves.items()
        if points and (what == "singles" or (kind == "ordinary" and what != "read"))
    }
    path.write_text(plotted(shown))
    print(f"  plot: {path.relative_to(FOLDER)}")


def _expected(curve: list[tuple[int, float]], parts: int) -> float:
    """How long the next size may take: by the last step's growth, taken as at least quadratic."""
    if not curve:
        return 0.0
    (n, a), (m, b) = curve[-2:] if len(curve) > 1 else (curve[-1], curve[-1])
    power = math.log(b / a) / math.log(m / n) if m > n else 2.0
    return float(b * (parts / m) ** max(2.0, power))


def plotted(curves: dict[str, list[tuple[int, float]]]) -> str:
    """Times over parts, both on logarithmic axes, as SVG."""
    points = [point for curve in curves.values() for point in curve]
    left, right = math.log10(min(n for n, _ in points)), math.log10(max(n for n, _ in points))
    low = math.floor(math.log10(min(t for _, t in points)))
    high = math.ceil(math.log10(max(t for _, t in points)))
    right = max(right, left + 0.1)

    def x(n: float) -> float:
        return 70 + 470 * (math.log10(n) - left) / (right - left)

    def y(seconds: float) -> float:
        return 390 - 350 * (math.log10(seconds) - low) / max(1, high - low)

    lines = [
        '<svg xmlns="http://www.w3.org/2000/svg" width="760" height="450" font-family="sans-serif" font-size="12">',
        '<rect width="760" height="450" fill="white"/>',
        '<text x="305" y="435" text-anchor="middle">parts</text>',
        '<text x="70" y="25">time</text>',
    ]
    for power in range(low, high + 1):
        at = y(10.0**power)
        lines += [
            f'<line x1="70" x2="540" y1="{at:.1f}" y2="{at:.1f}" stroke="#dddddd"/>',
            f'<text x="64" y="{at + 4:.1f}" text-anchor="end">{duration(10.0**power)}</text>',
        ]
    for n in sorted({n for n in (50, 100, 300, 1000, 3000, 10000) if left <= math.log10(n) <= right + 0.01}):
        lines += [
            f'<line x1="{x(n):.1f}" x2="{x(n):.1f}" y1="40" y2="390" stroke="#eeeeee"/>',
            f'<text x="{x(n):.1f}" y="408" text-anchor="middle">{n}</text>',
        ]
    for k, (name, curve) in enumerate(curves.items()):
        colour = COLOURS[k % len(COLOURS)]
        dashed = ' stroke-dasharray="5 3"' if k >= len(COLOURS) else ""
        path = " ".join(f"{x(n):.1f},{y(t):.1f}" for n, t in curve)
        lines += [
            f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"{dashed}/>',
            *(f'<circle cx="{x(n):.1f}" cy="{y(t):.1f}" r="3" fill="{colour}"/>' for n, t in curve),
            f'<line x1="560" x2="590" y1="{50 + 20 * k}" y2="{50 + 20 * k}" stroke="{colour}" '
            f'stroke-width="2"{dashed}/>',
            f'<text x="596" y="{54 + 20 * k}">{name}</text>',
        ]
    return "\n".join([*lines, "</svg>"]) + "\n"
