"""Drops of several masses: each line's peak by following the motion, against MuJoCo with nothing damped.

The same nets from the same start, four seconds long. Undamped motion of several masses is partly chaotic: lines
whose peak in MuJoCo itself changes by more than 3 % when the masses start a millimetre aside are counted apart.
The upper end of the band out of the energy, a quick figure, stands beside it. Generated rigs are invented.
"""

from __future__ import annotations

import statistics
from dataclasses import replace
from time import perf_counter

from analyser.forces import Missing, Statics
from analyser.forces.aftermath import after
from analyser.forces.equilibrium import Equilibrium
from analyser.forces.motion import motion
from tests.mujoco_world import Rest, World, aside, random_net
from tests.rigs import rig_of

from .measuring import duration, heading, table

NAME = "drops"

CLOSE = 0.03
SECONDS = 4.0


def placed(found: Equilibrium, begin: Rest) -> Equilibrium:
    """The same start as there: masses where they are in MuJoCo."""
    at = {name: begin.at.get(name.split(".")[0], place) for name, place in found.at.items()}
    return replace(found, at=at)


def dropped(
    world: World, statics: Statics, found: Equilibrium, begin: Rest, lost: str
) -> tuple[list[tuple[str, float, float, bool]], float] | None:
    """For each line that carries: its peak here and in MuJoCo, and whether that one is chaotic; and how long it
    took here. None where somebody falls."""
    name = f"{lost} fails"
    quick = after(statics, [name], found)
    if quick.falls:
        return None
    began = perf_counter()
    told = motion(statics, [name], found, starts=0, breaking=False, raised=placed(found, begin), until=SECONDS)
    took = perf_counter() - began
    peaks = world.drop([lost], begin, SECONDS)
    others = [world.drop([lost], aside(begin, world.masses, 1e-3, seed), SECONDS) for seed in (1, 2)]
    rows = []
    for line, peak in peaks.items():
        called = quick.equilibrium.line(line).name
        ours = told.line(called).most
        assert ours is not None, told.stiff
        if max(peak, ours) > 0.1 * found.load:
            chaotic = any(abs(other[line] / peak - 1) > CLOSE for other in others) if peak else True
            # what a line pulls before is part of its peak on both sides
            rows.append((line, ours, max(peak, begin.tension[line]), chaotic))
    return rows, took


def run(*, quick: bool) -> None:
    seeds = range(1000, 1010 if quick else 1200)
    heading(NAME, f"random nets of 1 to 4 masses, each line let go in turn, {SECONDS:.0f} s with nothing damped")
    lines: list[float] = []
    chaotic: list[float] = []
    bounds: list[float] = []
    times: list[float] = []
    out: list[list[object]] = []
    for seed in seeds:
        text, world = random_net(seed)
        statics = Statics.of(rig_of(text))
        assert not isinstance(statics, Missing)
        found, begin = statics.equilibrium(), world.at_rest()
        for lost in [name for name in world.lines if name != "runs" and begin.tension[name] > 0.05 * found.load]:
            told = dropped(world, statics, found, begin, lost)
            if told is None:
                continue
            rows, took = told
            times.append(took)
            ends = after(statics, [f"{lost} fails"], found)
            for line, ours, peak, wild in rows:
                (chaotic if wild else lines).append(ours / peak)
                bounds.append(ends.line(ends.equilibrium.line(line).name).quick / peak)
                if not wild and abs(ours / peak - 1) > CLOSE:
                    out.append([seed, lost, line, f"{ours / peak - 1:+.1%}"])
    table(
        ["", "lines", f"within {CLOSE:.0%}", "lowest", "highest"],
        [
            ["by motion", *_told(lines)],
            ["by motion, chaotic there", *_told(chaotic)],
            ["the energy's upper end, all lines", *_told(bounds)],
        ],
    )
    if out:
        print()
        table(["seed", "let go", "line", "off by"], out)
    middle = duration(statistics.median(times))
    print(f"\n  seeds {seeds.start} to {seeds.stop - 1}; {len(times)} drops, a drop took {middle} (middle of all)")


def _told(ratios: list[float]) -> list[object]:
    if not ratios:
        return [0, "-", "-", "-"]
    close = sum(abs(ratio - 1) <= CLOSE for ratio in ratios)
    return [len(ratios), f"{close / len(ratios):.2%}", f"{min(ratios) - 1:+.1%}", f"{max(ratios) - 1:+.1%}"]
