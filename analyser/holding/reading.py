"""The readings of one balance (`rules.md` section 3)."""

from __future__ import annotations

from enum import StrEnum


class Reading(StrEnum):
    """In how many places a rope counts as cut; and those that are told and never counted."""

    CAUGHT = "caught"
    HELD = "held"
    STILL = "still"
    BY_A_PERSON = "by a person"
    BY_ANOTHERS_WEIGHT = "by another's weight"
    OUTWEIGHED = "by another's weight, with no other people there"

    @property
    def loose(self) -> bool:
        return self in (Reading.BY_A_PERSON, Reading.BY_ANOTHERS_WEIGHT, Reading.OUTWEIGHED)

    @property
    def cuts(self) -> bool:
        """Does a rope count as cut anywhere beside where it is?"""
        return self in (Reading.HELD, Reading.STILL)
