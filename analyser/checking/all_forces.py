"""The forces of every state of a rig, and what each part may come to carry at worst."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.checking.analysing import analyse
from analyser.checking.delivered import Delivered
from analyser.checking.results import Result, State
from analyser.checking.worst_loads import LEFT_OUT, WorstLoad, worst_loads
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.alike import Follow
    from analyser.forces.loads import Samples


@dataclass(frozen=True, slots=True, repr=False)
class AllForces(Delivered):
    """`result` is the whole check, its forces worked out wherever the file tells what they need; without them
    only the worst case is told."""

    SHAPE = "analyser.checking.force_shapes.ForcesTold"

    result: Result
    worst_loads: tuple[WorstLoad, ...]
    worst_loads_leave_out: str = LEFT_OUT

    @property
    def states(self) -> tuple[State, ...]:
        return self.result.states

    @property
    def told(self) -> bool:
        """Could they be worked out in the first state?"""
        return self.states[0].loads is not None

    @property
    def short(self) -> str:
        told = sum(state.loads is not None for state in self.states)
        return f"forces of {told} of {len(self.states)} states"


def all_forces(rig: Rig, samples: Samples, follow: Follow | None = None) -> AllForces:
    """Forces in newtons, places in metres; `samples` says in how many cases bands are looked at, `follow` which single
    failures are followed in time."""
    result = analyse(rig, forces=True, samples=samples, follow=follow, processes=samples.processes)
    return AllForces(result, worst_loads(rig))
