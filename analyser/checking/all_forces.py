"""The forces of every state of a rig, and what each part may come to carry at worst."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from analyser.checking.analysing import analyse
from analyser.checking.calling import At, refused
from analyser.checking.delivered import Delivered
from analyser.checking.results import Result, State
from analyser.checking.worst_loads import LEFT_OUT, WorstLoad, worst_loads
from analyser.language.mistakes import did_you_mean
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.alike import Follow
    from analyser.forces.belaying import Belayed
    from analyser.forces.loads import Loads, Samples
    from analyser.forces.tracks import Track


@dataclass(frozen=True, slots=True, repr=False)
class AllForces(Delivered):
    """`result` is the whole check, its forces worked out wherever the file tells what they need; `worst_loads` only
    where they aren't in the first state: one figure a part."""

    SHAPE = "analyser.checking.force_shapes.ForcesTold"

    result: Result
    worst_loads: tuple[WorstLoad, ...]
    held_along: tuple[Track, ...] = ()
    """The tracks with what runs on them held at the places asked for."""
    in_hands: tuple[Belayed, ...] = ()
    """What bare hands would have to hold, closed."""
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


def all_forces(
    rig: Rig, samples: Samples, follow: Follow | None = None, at: At | None = None,
    along: Mapping[str, float] | None = None,
) -> AllForces:  # fmt: skip
    """Forces in newtons, places in metres; `samples` says in how many cases bands are looked at, `follow` which single
    failures are followed in time. `at`: of that state alone, with all that follows failures there;
    `along`: how far along its track something is held, in metres. Raises `Refused` for what runs on none."""
    if at is not None:
        rig = at.rig.alone
    result = analyse(rig, forces=True, samples=samples, follow=follow, processes=samples.processes)
    if at is not None:
        result = replace(result, states=(replace(result.states[0], number=at.number, within=at.within),))
    loads = result.states[0].loads
    told = loads is not None and loads.now.accepted
    held = _held_along(rig, loads if told else None, along or {})
    return AllForces(result, () if told else worst_loads(rig), held, _in_hands(rig) if told else ())


def _held_along(rig: Rig, loads: Loads | None, along: Mapping[str, float]) -> tuple[Track, ...]:
    """The tracks with what runs on them held at the places asked for."""
    if not along or loads is None:
        return ()
    from analyser.forces.tracks import tracks_at

    told: list[Track] = []
    for name, metres in along.items():
        try:
            told += tracks_at(rig, loads.now, name, metres)
        except KeyError:
            running = sorted({one for track in loads.tracks for one in track.runs})
            hint = did_you_mean(name, running, f"on one: {', '.join(running)}" if running else "")
            raise refused(f"`{name}` runs on no track that leads from ground to ground", hint) from None
        except ValueError as error:
            raise refused(str(error)) from None
    return tuple(told)


def _in_hands(rig: Rig) -> tuple[Belayed, ...]:
    """What bare hands would have to hold in the first state, where the file tells enough of who holds."""
    from analyser.forces.belaying import in_hands
    from analyser.forces.equilibrium import Statics

    statics = Statics.of(rig, hands=True)
    return in_hands(statics) if isinstance(statics, Statics) else ()
