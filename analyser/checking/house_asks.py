"""What the house asks of how everybody fares, where a file requires nothing and gives what that needs.

No frame tips as it hangs (a tripod always does once a foot is gone: what that does to people is told by drops);
nobody turns over and nobody drops by more than a metre, with nothing failed and after any one failure.
The limit is ours and has no source: the usual belay test is another (200 kg, 1 m on 3 m of rope; facts 6.11, from
memory). Where facts are missing for one of them, that is told in a line, and changes no exit status: the file asked
for nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyser.checking.judging import Judged, Moment
from analyser.checking.requirements import judge
from analyser.checking.sentences import counted
from analyser.rig.figures import as_length
from analyser.rig.model import Nature, Requirement, Rig

ASKED = (
    ("no-frame-tips", "no frame tips", 0, ()),
    ("no-turning-over", "no one turns over after any 1 failure", 1, ()),
    ("drop", "drop at most {} after any 1 failure (limit ours, no source)", 1, (1.0,)),
)
"""By rule: its words, after how many failures, and its limit in metres."""


def house_requirements(rig: Rig) -> tuple[Requirement, ...]:
    """What is asked of a rig that asks for nothing itself, and gives places; nothing of any other."""
    placed = any(part.at is not None for part in rig.parts.values())
    if not placed or not all(one.assumed for one in rig.requirements):
        return ()
    place = rig.requirements[0].place
    frames = any(not need.laced for part in rig.parts.values() for need in part.needs)
    lying = any(part.nature in (Nature.LITTER, Nature.LOAD) and len(part.points) > 1 for part in rig.bodies)
    wanted = {"no-frame-tips": frames, "no-turning-over": lying, "drop": bool(rig.bodies)}
    return tuple(
        Requirement(rule, _words(text, limits), place, number=number, limits=limits, assumed=True)
        for rule, text, number, limits in ASKED
        if wanted[rule]
    )


def _words(text: str, limits: tuple[float, ...]) -> str:
    return text.format(*(as_length(one, "g") for one in limits))


def judged_for_the_house(
    asked: Sequence[Requirement], moments: Sequence[Moment]
) -> tuple[tuple[Judged, ...], tuple[str, ...]]:
    """What the house asks, judged where it could be; and of the rest a line each, which says what is missing.
    Only the states whose failures were followed are judged."""
    followed = [one for one in moments if one.loads is not None and one.loads.after is not None]
    if not asked or not moments:
        return (), ()
    if not followed:
        return (), (f"{', '.join(one.text for one in asked)}: forces aren't worked out",)
    followed = [replace(one, rig=replace(one.rig, requirements=tuple(asked))) for one in followed]
    judged = judge(followed)
    told = tuple(one for one in judged if one.met is not None)
    untold = [f"{one.requirement.text}: {one.because[0]}" for one in judged if one.met is None]
    other = {one.number for one in moments} - {one.number for one in followed}
    if told and other:
        states = counted(len(other), "state")
        untold.append(
            f"{', '.join(one.requirement.text for one in told)}: not looked at in {states}, without such forces"
        )
    return told, tuple(untold)
