"""What a check may ask for, by the names of its parameters, and the asking itself.

A check that asks for anything of a state is asked in every state that has it: one with `step` after every
step, one with `loads` wherever the forces were worked out. A check that asks for things of the whole alone
is asked once, with the rig as first attached. What has a default is given where it is there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from types import FunctionType
from typing import TYPE_CHECKING, TypeVar, cast

from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig, Step

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.checking.meanwhile import Meanwhile
    from analyser.forces.loads import Loads

OF_A_STATE = {
    "rig": "the rig in this state; its stages are the plan's alone",
    "outcome": "how everybody is held in it",
    "step": "the step after which it is",
    "before": "the rig before that step",
    "was": "how everybody was held before it",
    "earlier": "the steps of its stage before it",
    "during": "how everybody is held while the step is being done, where that is a state too",
    "loads": "the forces of this state, where they were worked out",
    "loads_before": "the forces before the step, where they were worked out",
}
OF_THE_WHOLE = {
    "plan": "the rig as first attached, with all its stages",
    "first": "how everybody is held as first attached",
    "found": "every finding of every state",
    "rules": "the names of all rules",
}

Told = TypeVar("Told")


@dataclass(frozen=True, slots=True)
class Seen:
    """One state as checks see it; None is what it hasn't."""

    rig: Rig
    outcome: Outcome
    plan: Rig
    first: Outcome
    step: Step | None = None
    before: Rig | None = None
    was: Outcome | None = None
    earlier: tuple[Step, ...] | None = None
    during: tuple[Meanwhile, ...] = ()
    loads: Loads | None = None
    loads_before: Loads | None = None
    found: tuple[object, ...] | None = None
    """Every finding of every state (`finding.py`)."""
    rules: tuple[str, ...] = ()

    def given(self, check: Callable[..., object]) -> tuple[object, ...] | None:
        """What the check asks for, in its order; None where it can't be asked here: something is not there,
        or it is about the whole and this is a later state."""
        names, needed = wanted(check)
        if self.step is not None and not any(name in OF_A_STATE for name in names):
            return None
        values = tuple(getattr(self, name) for name in names)
        return None if any(value is None for value in values[:needed]) else values


@cache
def wanted(check: Callable[..., object]) -> tuple[tuple[str, ...], int]:
    """The names that a check asks for, and how many of them, the first ones, it can't do without.

    Raises TypeError for a name that there isn't: when the rule is registered, not when it is first needed.
    """
    function = cast(FunctionType, check)
    code = function.__code__
    names = code.co_varnames[: code.co_argcount]
    for name in names:
        if name not in OF_A_STATE and name not in OF_THE_WHOLE:
            there = ", ".join([*OF_A_STATE, *OF_THE_WHOLE])
            raise TypeError(f"{check.__module__}.{code.co_name} asks for `{name}`: there are {there}")
    return names, len(names) - len(function.__defaults__ or ())


class Asking:
    """Checks asked state by state; one that gets the very same things as in the state before answers the same."""

    def __init__(self) -> None:
        self.last: dict[Callable[..., object], tuple[tuple[object, ...], tuple[object, ...]]] = {}

    def __call__(self, check: Callable[..., Iterable[Told]], seen: Seen) -> tuple[Told, ...]:
        values = seen.given(check)
        if values is None:
            return ()
        known = self.last.get(check)
        if known and all(one is other for one, other in zip(known[0], values, strict=True)):
            return cast("tuple[Told, ...]", known[1])
        told = tuple(check(*values))
        self.last[check] = values, told
        return told
