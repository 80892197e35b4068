"""The document of a comparison."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import Cautioned, Shape
from analyser.checking.results import On
from analyser.checking.shapes import FindingTold, Holding
from analyser.uses.comparing.load_figures import Sort
from analyser.uses.comparing.matching import Renamed
from analyser.uses.comparing.stepped import Stepped


class Revision(Shape):
    rig: Annotated[str, "rig.title"]
    revision: Annotated[str | None, "rig.revision"]


class Both(Shape):
    old: Revision
    new: Revision


class ChangeTold(Shape):
    """A change of the file, by the number by which failure sets name it."""

    number: Annotated[int, "0"]
    sort: Annotated[str, "1.sort"]
    about: Annotated[tuple[str, ...], "1.about"]
    text: Annotated[str, "1.text"]


class BodyTurned(Shape):
    name: str
    kind: str
    was: Holding | None
    now: Holding | None


class SetTold(Shape):
    """A failure set that one revision has and the other hasn't."""

    body: str
    failures: tuple[str, ...]
    counts: Annotated[bool, "worse"]
    """Is it worse to have it? Not where there is a smaller one in it, or one that it stands in line with."""
    within_a_smaller_one: Annotated[bool, "within"]
    in_line: bool
    changes: Annotated[tuple[tuple[int, ...], ...], "did.numbers"]
    """Sets of changes that did it, by number."""
    fewest_changes: Annotated[bool, "did.smallest"]


class SetsTurned(Shape):
    gained: tuple[SetTold, ...]
    lost: tuple[SetTold, ...]


class AskedIn(Shape):
    old: Annotated[bool, "0"]
    new: Annotated[bool, "1"]


class RequirementTold(Shape):
    text: str
    asked: AskedIn
    was: Annotated[bool | None, "was.met"]
    now: Annotated[bool | None, "now.met"]
    because: Annotated[tuple[str, ...], "now.because"]
    worse: bool


class GivenTurned(Shape):
    """Something taken as given or accepted: its reason before and after, null where it isn't there."""

    sort: str
    what: str
    was: str | None
    now: str | None


class FindingsTurned(Shape):
    gained: Annotated[tuple[FindingTold, ...], "found"]
    lost: Annotated[tuple[FindingTold, ...], "found_no_more"]


class StateDiffers(Shape):
    """A state whose figures for a body differ."""

    stage: str
    step: str
    number: int
    during: Annotated[str, "when"]
    """Where that is within the step: `while red is laid anew`; empty after it."""
    body: Annotated[str, "figures.name"]
    was: Annotated[Holding | None, "figures.was"]
    now: Annotated[Holding | None, "figures.now"]
    falls_alone_after: Annotated[tuple[str, ...], "fallen"]


class FigureTurned(Shape):
    """A mass, a strength or a force that differs, in SI, before and after; null: not told. Forces where both revisions
    tell them."""

    sort: Sort
    name: str
    where: str
    """In which state; empty: as first attached."""
    failure: str | None
    """After which single failure; null: at rest."""
    was: float | None
    now: float | None
    worse: bool


class Compared(Cautioned, kw_only=True):
    """`compare`: two revisions of a rig: what changed, what it did, and whether anything is worse."""

    table = "bodies"
    document: Literal["compare"] = "compare"
    compared: Annotated[Both, ""]
    different: bool
    worse: tuple[str, ...]
    renamed: Annotated[tuple[Renamed, ...], "matching.renamed"]
    changes: Annotated[tuple[ChangeTold, ...], "numbered"]
    bodies: Annotated[tuple[BodyTurned, ...], "figures"]
    failure_sets: Annotated[SetsTurned, ""]
    requirements: tuple[RequirementTold, ...]
    given: tuple[GivenTurned, ...]
    findings: Annotated[FindingsTurned, ""]
    stages: Annotated[tuple[Stepped, ...], "stepped"]
    states: tuple[StateDiffers, ...]
    carried: tuple[FigureTurned, ...]
    locks_no_more: tuple[str, ...]
    on: On
    complete_to_order: int
