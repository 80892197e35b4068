"""How much hangs on each part: what drops somebody by itself, then what leaves somebody on one."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from analyser.checking.hung_on import Thing, things
from analyser.checking.results import Result, State
from analyser.rig.model import Rig
from analyser.uses.procedure.holds import Loss, losses


@dataclass(frozen=True, slots=True)
class Critical:
    """`falls` are not held after a failure of the part alone, `left` are left on one by it, `shaken` are held and tip,
    drop first or run along a line; `state` is the first state in which it is as grave as it gets. `accepted`: the file
    accepts what falls. `stretches`: of a rope of which not every stretch is as grave, those that are. `until`: the
    first later state in which it is so no more, where it isn't so again later."""

    falls: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    shaken: tuple[str, ...] = ()
    state: int = 0
    accepted: bool = False
    stretches: tuple[Thing, ...] = ()
    until: int | None = None

    @property
    def grade(self) -> int:
        """1: a single point; 2: leaves somebody on one, tips, drops or frees them; 3: neither."""
        return 1 if self.falls else 2 if self.left or self.shaken else 3

    def like(self, later: Critical, unheld: Collection[str]) -> bool:
        """Is it as grave for all of these in a later state, or graver? `unheld` are not held then with nothing
        failed."""
        graver = {*later.falls, *unheld}
        if self.falls:
            return {*self.falls} <= graver
        return {*self.left, *self.shaken} <= {*later.left, *later.shaken, *graver}

    @property
    def weight(self) -> tuple[int, int, int]:
        return (self.grade, -len(self.falls), -len({*self.left, *self.shaken}))


@dataclass(frozen=True, slots=True)
class Told:
    """What each single failure does in one state, on the part or rope where it is looked for."""

    state: State
    rows: tuple[tuple[str, str, Loss], ...]
    """The failure, its part or rope, its loss."""


def followed(result: Result) -> tuple[Told, ...]:
    """The effects of every state that is held otherwise than the one before."""
    found = []
    before = None
    for state in result.states:
        if state.outcome is not before:
            where = owners(state.rig)
            rows = tuple((one, where[one], loss) for one, loss in losses(state) if one in where)
            found.append(Told(state, rows))
        before = state.outcome
    return tuple(found)


def criticals(told: Iterable[Told]) -> Mapping[str, Critical]:
    """Every part and rope on which anything hangs in any state, at its gravest, and until when that is so."""
    found: dict[str, Critical] = {}
    until: dict[str, int | None] = {}
    for one in told:
        now, unheld = _in_one(one), {body.name for body in one.state.outcome.bodies if not body.held}
        for part, critical in found.items():
            if not critical.like(now.get(part, Critical()), unheld):
                until.setdefault(part, one.state.number)
            elif part in until:
                until[part] = None  # it is so again
        for part, critical in now.items():
            if part not in found or critical.weight < found[part].weight:
                found[part] = critical
                until.pop(part, None)
    return {part: replace(critical, until=until.get(part)) for part, critical in found.items()}


def _in_one(one: Told) -> dict[str, Critical]:
    """The same of one state."""
    found: dict[str, Critical] = {}
    accepted = {judged.failure for judged in one.state.rig.accepted}
    falls: dict[str, set[str]] = {}
    left: dict[str, set[str]] = {}
    shaken: dict[str, set[str]] = {}
    unaccepted: set[str] = set()
    grave: dict[str, tuple[list[str], list[str]]] = {}
    for failure, part, loss in one.rows:
        alone, then = grave.setdefault(part, ([], []))
        alone += [failure] if loss.falls else []
        then += [failure] if loss.left or loss.shaken else []
        falls.setdefault(part, set()).update(loss.falls)
        left.setdefault(part, set()).update(loss.left_on_one)
        shaken.setdefault(part, set()).update(loss.shaken)
        if loss.falls and failure not in accepted:
            unaccepted.add(part)
    for part in falls:
        critical = Critical(
            tuple(sorted(falls[part])),
            tuple(sorted(left[part] - falls[part])),
            tuple(sorted(shaken[part] - falls[part])),
            one.state.number,
            bool(falls[part]) and part not in unaccepted,
            _stretches(one.state.rig, grave[part]),
        )
        if critical.grade < 3:
            found[part] = critical
    return found


def _stretches(rig: Rig, grave: tuple[list[str], list[str]]) -> tuple[Thing, ...]:
    """Of a rope the stretches that bring somebody down, or else those that leave somebody on one; none where that is
    all of it."""
    alone, then = grave
    return tuple(one for one in things(rig, alone or then) if one.a)


def owners(rig: Rig) -> dict[str, str]:
    """On which part or rope each failure is looked for: a stretch on its rope, a cause on nothing."""
    known = set(rig.index.names)
    return {failure.id: failure.id.owner for failure in rig.failures if failure.id.owner in known}
