"""The documents of the procedure and of the failure mode and effects worksheet."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import Metres, OfRig, Shape
from analyser.uses.procedure.crew import Person
from analyser.uses.procedure.document import Asked, Given, StageToDo, StateAfter, Warned
from analyser.uses.procedure.inspecting import Look
from analyser.uses.procedure.kit import AnchorNeeded, Kit
from analyser.uses.procedure.responding import Table
from analyser.uses.procedure.worksheet import Row


class RopeToBring(Shape):
    name: str
    kind: str
    figures: tuple[str, ...]
    length: Annotated[str | None, "length"]
    """As the file gives it."""
    needed: Metres | None
    """What the stages take of it."""
    because: str | None
    source: str | None
    knots: tuple[str, ...]


class ProcedureTold(OfRig, kw_only=True):
    """`procedure`: the working document."""

    table = "stages.steps"
    document: Literal["procedure"] = "procedure"
    file: str
    digest: str
    """Eight characters of a digest of the text with its includes: what a signature names."""
    notes: tuple[str, ...]
    bodies: tuple[str, ...]
    closing: str
    met: bool
    complete: str
    not_declared: tuple[str, ...]
    requirements: tuple[Asked, ...]
    warned: tuple[Warned, ...]
    """Dangers and cautions of the rig as first attached."""
    given: tuple[Given, ...]
    kit: tuple[Kit, ...]
    ropes: tuple[RopeToBring, ...]
    anchors: tuple[AnchorNeeded, ...]
    least: tuple[str, ...]
    """What the file asks of strengths, as written."""
    people: tuple[Person, ...]
    looks: tuple[Look, ...]
    start: StateAfter
    stages: tuple[StageToDo, ...]
    tables: tuple[Table, ...]


class StateNamed(Shape):
    number: Annotated[int, "0"]
    words: Annotated[str, "1"]


class Category(Shape):
    category: Annotated[str, "0"]
    name: Annotated[str, "1"]
    """Its published name."""
    counts: Annotated[str, "2"]
    """What is counted into it here."""


class WorksheetTold(OfRig, kw_only=True):
    """`failures`: the failure mode and effects worksheet."""

    table = "rows"
    document: Literal["failures"] = "failures"
    file: str
    shown: str
    states: tuple[StateNamed, ...]
    during: tuple[StateNamed, ...]
    """What is true only while a step is being done, by the state that the step leads to."""
    method: tuple[str, ...]
    categories: tuple[Category, ...]
    rows: tuple[Row, ...]
    closing: str
