"""The document of a drill, and the line that keeps an answer."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import Document, OfRig, Shape
from analyser.uses.teaching.question import Asks, Drill, Kind, Told


class QuestionTold(Shape):
    number: Annotated[int, "0"]
    kind: Annotated[Kind, "1.kind"]
    state: Annotated[int, "1.state"]
    stage: Annotated[str | None, "1.stage"]
    step: Annotated[str | None, "1.step"]
    failures: Annotated[tuple[str, ...], "1.failures"]
    body: Annotated[str | None, "1.body"]
    question: Annotated[str, "1.text"]
    options: Annotated[tuple[str, ...], "1.options"]
    hint: Annotated[str, "1.hint"]
    asks: Annotated[Asks, "1.asks"]
    right: Annotated[tuple[str, ...], "1.right"]
    ways: Annotated[tuple[tuple[str, ...], ...], "1.ways"]
    answer: Annotated[str, "1.answer"]
    why: Annotated[tuple[Told, ...], "1.why"]
    paste: Annotated[tuple[str, ...], "1.paste"]
    line: Annotated[int, "1.line"]


def _few(drill: Drill) -> str | None:
    return drill.few or None


class DrillTold(OfRig, kw_only=True):
    """`drill`: questions about a rig, with their answers."""

    table = "questions"
    document: Literal["drill"] = "drill"
    seed: int
    few: Annotated[str | None, _few]
    """Where there are fewer questions than were asked for, why."""
    questions: Annotated[tuple[QuestionTold, ...], "numbered"]
    on: Annotated[Literal["connections only", "connections and forces"], "result.on"]
    assumed: tuple[str, ...]


class Score(Document, kw_only=True):
    """One answer of a drill, as `--score` adds it to a file: a document a line."""

    document: Literal["score"] = "score"
    rig: str
    revision: str | None
    seed: int
    number: int
    kind: Kind
    question: str
    given: tuple[str, ...]
    right: bool
    hint: bool
    """Was a hint asked for?"""
