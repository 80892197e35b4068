"""Drops of several masses: our upper end of each line's peak against MuJoCo with nothing damped.

The upper end is an estimate (`statics.md`). This tells of random nets how often and by how much a line
is pulled harder than it says. The same seeds, the same nets; generated rigs are invented.
"""

from __future__ import annotations

import statistics

from analyser.forces import Missing, Statics
from analyser.forces.aftermath import after
from tests.mujoco_world import random_net
from tests.rigs import rig_of

from .measuring import heading, table

NAME = "drops"

CLEARLY = 0.01
"""A peak counts as above the upper end by more than this share."""


def run(*, quick: bool) -> None:
    seeds = range(1000, 1010 if quick else 1200)
    seconds = 4.0
    heading(NAME, f"random nets of 1 to 4 masses, each line let go in turn, {seconds:.0f} s with nothing damped")
    lines: list[float] = []
    worst: list[float] = []
    for seed in seeds:
        text, world = random_net(seed)
        statics = Statics.of(rig_of(text))
        assert not isinstance(statics, Missing)
        found, begin = statics.equilibrium(), world.at_rest()
        for lost in [name for name in world.lines if name != "runs" and begin.tension[name] > 0.05 * found.load]:
            told = after(statics, [f"{lost} fails"], found)
            if told.falls:
                continue
            peaks = world.drop([lost], begin, seconds)
            bands = {name: told.equilibrium.line(name) for name in peaks}
            ends = {name: told.line(line.name).peak for name, line in bands.items()}
            lines += [peaks[name] / ends[name] for name in peaks if ends[name] > 0.1 * found.load]
            hardest = max(peaks, key=lambda name: peaks[name])
            worst.append(peaks[hardest] / max(ends.values()))
    rows = []
    for title, ratios in (("the hardest pull of a drop, over our highest", worst), ("every line, over its own", lines)):
        over = sorted(ratio - 1 for ratio in ratios if ratio > 1 + CLEARLY)
        most = f"{over[-1]:.0%}" if over else "-"
        middle = f"{statistics.median(over):.0%}" if over else "-"
        rows.append([title, len(ratios), f"{len(over) / len(ratios):.0%}", middle, most, f"{min(ratios) - 1:+.0%}"])
    table(["", "count", "above the upper end", "by, half of them", "by, at most", "lowest"], rows)
    print(f"\n  seeds {seeds.start} to {seeds.stop - 1}; above: by more than {CLEARLY:.0%}")
