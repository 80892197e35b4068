"""What following the motion costs: one failure of a litter lower of about 60 parts with two litters, without its
spread; the same with the compiled functions as plain Python; all its single failures with spread, on the cores
that are there.

Generated rigs are invented.
"""

from __future__ import annotations

import subprocess
import sys

from analyser.forces import Case
from analyser.forces.aftermath import after
from analyser.forces.alike import Follow, in_time
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.motion import Motion, motion

from .measuring import against, duration, heading, median, once, table
from .statics import lower, statics_of

NAME = "following"

ONE, ALL = 0.3, 20.0
"""Seconds that one failure, and all of them, may take."""
LOST = "near-leg-1"
PLAIN = """
from tests.bench.following import plainly
plainly()
"""


def _one(statics: Statics, base: Equilibrium) -> Motion:
    return motion(statics, [f"{LOST} fails"], base, starts=0)


def plainly() -> None:
    """Run where nothing is compiled: prints the seconds and the hardest pull."""
    statics = statics_of(lower())
    took, told = once(_one, statics, statics.equilibrium(Case()))
    print(took, max(line.most or 0.0 for line in told.lines))


def run(*, quick: bool) -> None:
    statics = statics_of(lower())
    base = statics.equilibrium(Case())
    heading(NAME, f"{len(statics.rig.parts)} parts, {len(statics.rig.failures)} single failures, two litters")
    first, _ = once(_one, statics, base)  # what is compiled is compiled, or read
    took, told = median(_one, statics, base)
    rows: list[list[object]] = [
        ["one failure, no spread", duration(took), against(took, ONE, above=False)],
        ["the first time in this process", duration(first), ""],
    ]
    plain = subprocess.run(
        [sys.executable, "-c", PLAIN], capture_output=True, text=True, check=True, env={"NUMBA_DISABLE_JIT": "1"}
    )
    slow, most = map(float, plain.stdout.split())
    hardest = max(line.most or 0.0 for line in told.lines)
    assert abs(most - hardest) < 1e-9 * hardest, (most, hardest)
    rows.append(["the same in plain Python, the same figures", duration(slow), f"{slow / took:.0f} times"])
    if not quick:
        singles = [after(statics, [failure.id], base) for failure in statics.rig.failures]
        follow = Follow(every=True, processes=None)
        every, moved = once(in_time, statics, base, singles, None, follow)
        followed = len({id(one.motion.way) for one in moved if one.motion})
        rows.append([f"all, with spread ({followed} followed)", duration(every), against(every, ALL, above=False)])
    table(["", "took", "wanted"], rows)
    print(f"\n  {told.until:.2f} s followed after {LOST} fails")
