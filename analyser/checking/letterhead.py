"""What stands on everything that goes out: its form, the cautions, and which rig it is about."""

from __future__ import annotations

from typing import Any, Literal

from analyser.language.identities import Revision
from analyser.rig.figures import Units, units

FORMAT: Literal["stillheld/2"] = "stillheld/2"

CAUTIONS = (
    "A model of what was written, not of the rope in the hand.",
    "Local codes, makers' instructions and licensed or qualified practice come first.",
)


def title_of(result: Any) -> str:
    """The title of the rig that a result is about: its own, or that of its rig."""
    title: str = result.title if hasattr(result, "title") else _rig(result).title
    return title


def revision_of(result: Any) -> str | None:
    found = _revision(result)
    return found.number if found else None


def dated_of(result: Any) -> str | None:
    """The date of that revision, where the file gives one."""
    found = _revision(result)
    return found.dated if found else None


def _revision(result: Any) -> Revision | None:
    found: Revision | None = result.revision if hasattr(result, "revision") else _rig(result).revision
    return found


def units_of(result: Any) -> Units:
    """What its figures are printed in: its rig's; of what knows no rig, those in use."""
    known = any(hasattr(result, one) for one in ("rig", "result", "new"))
    asked: Units = _rig(result).units if known else units()
    return asked


def _rig(result: Any) -> Any:
    """Its rig; of what rests on a check, that one's; of two revisions the new one."""
    if hasattr(result, "rig"):
        return result.rig
    return _rig(result.result if hasattr(result, "result") else result.new)
