"""From how high somebody would have had to be let go for a part to break.

Not what happened: the inverse of the peak. The body is raised plumb above where it hangs at rest, and let
go; the peak by following the motion (`motion.py`), with nothing breaking, is held against the strength.
For one mass that drops plumb on to one line this is the standard equation of an arrest, read backwards.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from analyser.forces.aftermath import Aftermath, after
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.motion import motion
from analyser.forces.strength import factors
from analyser.rig.model import Failure

HIGHEST = 20.0
"""Metres above its place of rest beyond which nobody is raised."""
CLOSE = 1e-3
"""Metres to which a height is told."""
SAME_PLACE = 1e-9


@dataclass(frozen=True, slots=True)
class Raised:
    """`height` in metres above where the body hangs at rest; None where even `most` would not do.

    `free_fall` (metres) and `fall_factor` are told where the case is that of the standard equation."""

    body: str
    height: float | None
    most: float
    free_fall: float | None = None
    fall_factor: float | None = None


def let_go(
    statics: Statics,
    base: Equilibrium,
    body: str,
    height: float,
    failures: Iterable[str | Failure] = (),
    rest: Equilibrium | None = None,
) -> Aftermath:
    """What follows when `body` is let go `height` metres above where it hangs in `base`, and `failures` happen;
    `rest` is how it comes to rest then, where that is known. Raises KeyError where the body has no place of its
    own, as a litter has not (it is turned and leans)."""
    if any(pose.name == body for pose in base.poses):
        raise KeyError(f"{body} is no point mass")
    x, y, z = base.at[body]
    names = {name for name, at in base.at.items() if math.dist(at, (x, y, z)) < SAME_PLACE}
    raised = replace(base, at=base.at | dict.fromkeys(names, (x, y, z + height)))
    failures = tuple(failures)
    then = after(statics, failures, raised, rest=rest)
    return then.moving(motion(statics, failures, base, starts=0, breaking=False, raised=raised))


def height_to_break(
    statics: Statics,
    base: Equilibrium,
    body: str,
    part: str,
    failures: Iterable[str | Failure] = (),
    *,
    count: Callable[[], bool] = lambda: True,
) -> Raised | None:
    """The least height from which `body` would break `part` (or a line of rope), to a millimetre.

    Nobody is raised higher above the highest place that anything hangs from than they hang below it: a line
    lets them no higher. `count` is asked before each try, and ends the search by False (then None). None also
    where the part carries nothing, or has no strength. By false position (with the ends' weights halved, so that
    neither stays): one aftermath where no height is enough, else about ten.
    """
    failures = tuple(failures)
    top = max((base.at[name][2] for name in base.reactions if name in base.at), default=-math.inf)
    most = min(HIGHEST, 2 * (top - base.at[body][2]))
    if most <= 0:
        return None
    tried: list[Aftermath] = []
    rest = after(statics, failures, base).equilibrium

    def excess(height: float) -> float | None:
        """The force over the strength, less one."""
        if not count():
            return None
        now = let_go(statics, base, body, height, failures, rest)
        tried.append(now)
        if not now.accepted or not now.followed or now.motion is None:
            return None
        rows = [*(one.factor for one in now.motion.weakest), *factors(statics.rig, now.equilibrium).rows]
        row = min((row for row in rows if row.name == part), key=lambda row: row.factor, default=None)
        return 1 / row.factor - 1 if row else None

    low, high = 0.0, most
    over = excess(high)
    if over is None:
        return None
    if over < 0:
        return Raised(body, None, most)
    under = excess(low)
    if under is None:
        return None
    height, last = (low, 0) if under >= 0 else (high, 0)
    while under < 0 and high - low > CLOSE:
        before = height
        height = low + (high - low) * under / (under - over)
        now = excess(height)
        if now is None:
            return None
        if now < 0:
            low, under, over, last = height, now, over / 2 if last < 0 else over, -1
        else:
            high, over, under, last = height, now, under / 2 if last > 0 else under, 1
        if abs(height - before) < CLOSE / 4:
            break
    arrest = tried[-1].arrest
    return Raised(body, height, most, arrest.free_fall if arrest else None, arrest.fall_factor if arrest else None)
