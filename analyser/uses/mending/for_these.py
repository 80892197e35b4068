"""The additions that would help those who hang on one."""

from __future__ import annotations

from collections.abc import Collection

from analyser.checking.first_look import FirstLook, OnOne
from analyser.rig.model import Rig
from analyser.rig.plan import Plan
from analyser.uses.mending.ranking import Mend, mend

MOST_PARTS = 200
"""Parts of a rig up to which additions are tried for a paper, as each is read and analysed; `stillheld mend` tries them
for any."""


def mends_for(rig: Rig, look: FirstLook) -> tuple[Mend, ...]:
    """The best additions where somebody hangs on one as first attached: later states need another order of steps, of
    which none is sought here."""
    now = any(one.at is None for one in look.endangered)
    few = len(rig.parts) <= MOST_PARTS
    return mend(rig).mends if now and few and isinstance(rig, Plan) else ()


def takes(one: Mend, bodies: Collection[str], failures: Collection[str]) -> bool:
    """Are these all held after each of these failures with the addition, by the connections, and now as well?"""
    gains = {gain.name: gain for gain in one.gains}
    mine = [gains[name] for name in bodies if name in gains]
    if len(mine) < len(bodies) or not all(gain.after.held for gain in mine):
        return False
    return all({*failures} <= {*gain.singles_gone} and (failures or not gain.singles_left) for gain in mine)


def best_for(mends: Collection[Mend], one: OnOne) -> Mend | None:
    """The first that takes away all on which somebody hangs, as first attached."""
    return next((mend for mend in mends if one.at is None and takes(mend, one.bodies, one.failures)), None)
