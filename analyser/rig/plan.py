"""A plan: the rig as first attached, with all that is to come and the file that says so.

`Document` (statements) → `Plan` (kinds, states, steps) → one `Rig` a state. Nothing of it is ever
changed: another order of steps makes other states (`other_orders.py`), an edit another document.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from analyser.language.identities import FailureId
from analyser.language.parsing import Document
from analyser.rig.bench import Known
from analyser.rig.catalogue import Kind
from analyser.rig.composing import Said, in_a_basket
from analyser.rig.laying import Within, within
from analyser.rig.model import Observation, Rig, Stage, Step
from analyser.rig.present import Present


@dataclass(frozen=True, kw_only=True)
class Plan(Rig):
    """A whole file: what its rig is as first attached, and after each step."""

    first: Rig
    """The rig as first attached, by itself."""
    stages: tuple[Stage, ...] = ()  # type: ignore[misc]
    observations: tuple[Observation, ...] = ()  # type: ignore[misc]
    # how it was written, not what it is: two files may say the same
    document: Document = field(repr=False, compare=False)
    kinds: Mapping[str, Kind] = field(repr=False, compare=False)
    presents: tuple[Present, ...] = field(repr=False, compare=False)
    """What the states were put together from: as first attached, then after each step."""
    said: Said = field(repr=False, compare=False)
    known: Known = field(repr=False, compare=False)
    possible: frozenset[FailureId] = field(repr=False, compare=False)
    """What can fail in some state."""
    folder: Path | None = field(default=None, repr=False, compare=False)
    """Where what it includes is, if it was read from a text."""

    @property
    def alone(self) -> Rig:
        return self.first

    @cached_property
    def digest(self) -> str:
        """Eight characters of a digest of the text with all that it includes: what a signature names."""
        texts = ("\n".join(lines).encode() for lines in self.document.sources.values())
        return hashlib.sha256(b"\0".join(texts)).hexdigest()[:8]

    @cached_property
    def in_baskets(self) -> frozenset[str]:
        """What lies in a basket by two ends in some state."""
        return frozenset[str]().union(*map(in_a_basket, self.presents))

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        return tuple(step for stage in self.stages for step in stage.steps)

    @cached_property
    def states(self) -> tuple[Rig, ...]:
        """The rig as first attached, then as each step leaves it: `steps[k]` makes `states[k + 1]`."""
        return (self.first, *(step.rig for step in self.steps))

    @cached_property
    def during(self) -> tuple[tuple[Within, ...], ...]:
        """What is true within each step."""
        return tuple(within(before, step) for before, step in zip(self.states, self.steps, strict=False))
