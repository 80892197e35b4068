"""The document of mending."""

from __future__ import annotations

from typing import Annotated, Literal

from analyser.checking.contract import OfRig, Shape
from analyser.checking.results import TAKEN
from analyser.language.edit import Change
from analyser.uses.mending.ranking import STRUCTURE_ONLY, Mending


class BodyInNeed(Shape):
    """A body, its single points and its pairs, those with accepted failures left out."""

    name: Annotated[str, "body.name"]
    kind: Annotated[str, "body.kind"]
    held: Annotated[bool, "body.held"]
    attachments: Annotated[int, "body.attachments"]
    independent: Annotated[int | None, "body.independent"]
    singles: tuple[str, ...]
    pairs: int


class GainTold(Shape):
    """What an addition does for one body."""

    name: str
    held_before: Annotated[bool, "before.held"]
    held_after: Annotated[bool, "after.held"]
    singles_gone: tuple[str, ...]
    singles_left: tuple[str, ...]
    pairs_gone: int
    pairs_new: int
    independent_before: Annotated[int | None, "before.independent"]
    independent_after: Annotated[int | None, "after.independent"]
    attachments_before: Annotated[int, "before.attachments"]
    attachments_after: Annotated[int, "after.attachments"]


class Addition(Shape):
    """One addition: what to paste, and what it takes away."""

    sort: Annotated[str, "proposal.sort"]
    what: Annotated[str, "proposal.words"]
    does: Annotated[str, "words()"]
    add: Annotated[tuple[str, ...], "proposal.added"]
    change: Annotated[tuple[Change, ...], "proposal.changes"]
    bodies: Annotated[tuple[GainTold, ...], "gains"]
    hands_off_gone: tuple[str, ...]
    as_much: tuple[str, ...]
    """Other additions that do as much."""


def _nothing(mending: Mending) -> str | None:
    return mending.nothing or None


class MendTold(OfRig, kw_only=True):
    """`mend`: which one addition takes away the most small failure sets."""

    table = "mends"
    document: Literal["mend"] = "mend"
    need: str
    nothing: Annotated[str | None, _nothing]
    """Why no addition is named, where none is."""
    bodies: tuple[BodyInNeed, ...]
    accepted: tuple[str, ...]
    assumed: tuple[str, ...]
    mends: tuple[Addition, ...]
    tried: int
    untried: int
    on: Literal["connections only"] = "connections only"
    stages_not_analysed: tuple[str, ...]
    taken: str = TAKEN
    ranked_by: str = STRUCTURE_ONLY
