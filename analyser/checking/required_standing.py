"""What is required of frames and of how bodies lie: that none tips, that nobody turns over, that a litter lies level.
And what requirements of who is held count on, where forces are worked out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from analyser.checking.judging import Reason
from analyser.checking.overloaded import breaks_words
from analyser.checking.required_forces import followed
from analyser.checking.standing import frame_words, free_words, lie_words
from analyser.checking.worst_sought import AT_WORST
from analyser.language.identities import spoken
from analyser.rig.model import Requirement

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.faring import Fares, Faring
    from analyser.forces.loads import Loads

LEVEL = 15.0
"""Degrees off level, as `attitudes.py` has them."""
LIMIT = "15 deg: ours, no source"

SETTLES = "points further above its middle settle it, or its load lashed lower"
"""What keeps a body the way up that it has, where its places tell that nothing does."""


def on_tipping_frames(names: Sequence[str], accepted: Collection[str], loads: Loads) -> Iterator[Reason]:
    """Who is held only as long as a frame stands that doesn't; and what breaks under its load with nothing failed: what
    was counted on isn't there, and the next failure is the second."""
    for overload in loads.overloads:
        if not overload.failures and overload.broken:
            yield Reason(f"with nothing failed {breaks_words(overload)}")
    for after, one in _each(loads, names, accepted):
        for frame in one.tipping:
            yield Reason(f"{after}{frame} tips, and {one.body} hangs on it")


def no_balance(loads: Loads) -> Iterator[Reason]:
    """Frames that tip as they hang: no figure is worth anything then."""
    for one in loads.faring[0].tipping:
        yield Reason(f"no balance: {frame_words(one)}")


def level_by_forces(
    requirement: Requirement, names: Sequence[str], accepted: Collection[str], loads: Loads
) -> Iterator[Reason]:
    """Off level by no more than 15 degrees (limit ours, no source), with nothing failed and after each single
    failure that was followed."""
    for after, one in _each(loads, names, accepted):
        held = one.level()
        if held is False:
            yield Reason(f"{after}{one.body} {free_words(one) if one.free else lie_words(one)} (limit {LIMIT})")
        elif held is None:
            yield Reason(f"not checked: {after}{one.body} {free_words(one)}{_settled_by(loads, one)}", open=True)
    told = {(one.body, *one.failures) for _, one in _each(loads, names, accepted) if one.level() is False}
    for key, band in loads.spread.each("off-level") if loads.spread else ():
        if band.most > LEVEL and key not in told and key[0] in names and not {*key[1:]} & set(accepted):
            after = f"{key[1]}: " if len(key) > 1 else ""
            yield Reason(f"{after}{key[0]} lies {band.most:.0f} deg off level {AT_WORST} (limit {LIMIT})")


def no_frame_tips(requirement: Requirement, accepted: Collection[str], loads: Loads) -> Iterator[Reason]:
    """No frame goes over as it hangs, nor (where that is asked) after a single failure."""
    for after, faring in _cases(loads, accepted, follow=requirement.number > 0):
        for one in faring.tipping:
            yield Reason(f"{after}{frame_words(one)}")
        for name in faring.down:
            yield Reason(f"{after}{name} goes over: a foot or a guy of it is gone")
        for ask in faring.asks:
            if ask.about.value == "frame":
                yield Reason(f"not checked: {after}{ask.wanted.why}; add `{ask.wanted.line}`", open=True)
    if requirement.number:
        yield from followed(requirement, accepted, loads, "frames are")


def no_turning_over(
    requirement: Requirement, names: Sequence[str], accepted: Collection[str], loads: Loads
) -> Iterator[Reason]:
    """Nobody turns over as it hangs, nor (where that is asked) after a single failure: of who lies in a litter, the
    litter is told."""
    posed = {pose.name for pose in loads.now.poses}
    for after, one in _each(loads, names, accepted, follow=requirement.number > 0):
        if one.over and one.body in posed:
            yield Reason(f"{after}{one.body} {lie_words(one)}")
        elif one.may_turn_over and one.body in posed:
            yield Reason(f"not checked: {after}{one.body} {free_words(one)}{_settled_by(loads, one)}", open=True)
    if requirement.number:
        yield from followed(requirement, accepted, loads, "attitudes are")


def _cases(loads: Loads, accepted: Collection[str], *, follow: bool = True) -> Iterator[tuple[str, Faring]]:
    """How everybody fares with nothing failed, then (`follow`) after each failure that isn't accepted."""
    for faring in loads.faring if follow else loads.faring[:1]:
        if not set(faring.failures) & set(accepted):
            yield f"{'; '.join(map(spoken, faring.failures))}: " if faring.failures else "", faring


def _each(
    loads: Loads, names: Sequence[str], accepted: Collection[str], *, follow: bool = True
) -> Iterator[tuple[str, Fares]]:
    """The bodies of those names that the forces hold, in each case."""
    for after, faring in _cases(loads, accepted, follow=follow):
        for one in faring.bodies:
            if one.known and not one.falls and one.body in names:
                yield after, one


def _settled_by(loads: Loads, one: Fares) -> str:
    """What would settle whether a body stays as it lies: a place, else, where all are given, hanging it otherwise."""
    asks = [ask for faring in loads.faring if faring.failures == one.failures for ask in faring.asks]
    line = next((ask.wanted.line for ask in asks if ask.about.value == "attitude"), "")
    return f"; add `{line}`" if line else f"; every place of it is given: {SETTLES}"
