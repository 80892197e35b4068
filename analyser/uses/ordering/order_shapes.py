"""The document of an order of steps."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import OfRig, Shape


class StepOf(Shape):
    step: Annotated[str, "words"]
    file: Annotated[str, "place.file"]
    line: Annotated[int, "place.line"]


class StepPlaced(Shape):
    step: Annotated[str, "line.words"]
    file: Annotated[str, "line.place.file"]
    line: Annotated[int, "line.place.line"]
    was: int
    """Its number in the order of the file, from 1."""
    moved: bool
    wrong: tuple[str, ...]
    """What is broken in the state after it."""


class Opens(Shape):
    """A step that opens what holds a litter or a load: no tension was computed."""

    step: Annotated[str, "step.words"]
    file: Annotated[str, "step.place.file"]
    line: Annotated[int, "step.place.line"]
    bodies: tuple[str, ...]
    taken_in_before: Annotated[tuple[StepOf, ...], "taken_in"]
    missing: tuple[str, ...]


class OrderTold(Shape):
    as_written: bool
    bad_states: Annotated[int, "bad"]
    steps: Annotated[tuple[StepPlaced, ...], "lines"]
    tension_not_computed: Annotated[tuple[Opens, ...], "openings"]
    lines: Annotated[tuple[str, ...], "pasted"]
    """Ready to be pasted in the place of the stage's steps."""


class NoOrder(Shape):
    """Why no order keeps everything."""

    because: Annotated[Literal["end", "step", "together", "another rig"], "how"]
    steps: tuple[StepOf, ...]
    reasons: tuple[str, ...]
    also: tuple[StepOf, ...]


class Reordered(OfRig, kw_only=True):
    """`reorder`: the best order of a stage's steps, or why none keeps what is required."""

    table = "written.steps"
    document: Literal["reorder"] = "reorder"
    stage: str
    offered: bool
    written: OrderTold
    best: OrderTold | None
    proven_best: Annotated[bool, "proven"]
    no_order_keeps_everything: Annotated[bool, "none_keeps"]
    impossible: Annotated[NoOrder | None, "none_because"]
    broken_before_the_first_step: Annotated[tuple[str, ...], "begins_broken"]
    not_checked: tuple[str, ...]
    drops: tuple[str, ...]
    """Who drops by a step of the best order, by the forces, where the file gives what they need."""
    states_analysed: Annotated[int, "analysed"]
    on: Literal["connections only"] = "connections only"
