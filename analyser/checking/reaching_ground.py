"""Bodies that may reach the ground after one failure, though the rest of the system catches them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.finding import Finding, Rule, Severity, in_few
from analyser.rig.model import Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads


def find(rig: Rig, loads: Loads) -> Iterator[Finding]:
    """Of each body that may come as low as the ground below: after which failures, and whether it comes to
    rest there or may swing through."""
    if loads.ground is None:
        return
    rests: dict[tuple[str, bool], list[str]] = {}
    for one in loads.after or ():
        if one.accepted:
            for name in one.reaches_ground:
                low = one.body(name).after[2] - loads.ground.feet(rig.parts[name]) <= loads.ground.height
                rests.setdefault((name, low), []).append(one.failures[0])
    for (name, low), failures in rests.items():
        how = (
            "comes to rest on the ground"
            if low
            else "may reach the ground before it is caught, if the drop stretches far"
        )
        text = f"after {in_few(failures)}: {name} {how} ({loads.ground.words})"
        severity = Severity.DANGER if low else Severity.CAUTION
        mend = "less slack, a stiffer or shorter line, or hang higher"
        yield RULE.told(text, (name,), rig.parts[name].place, (name,), severity=severity, mend=mend)


RULE = Rule(
    name="reaches-ground",
    severity=Severity.DANGER,
    means=(
        "After one failure somebody drops as low as the ground: comes to rest there (a danger), or may on the way, "
        "where the drop uses the whole of its energy band (a caution). Told where a part that lies `below` has a place."
    ),
    matters="A second line that catches below the ground catches nobody.",
    mends="Less slack in the second line, a stiffer or shorter one, or work higher above the ground.",
    source="common practice, no source: clearance is free fall, stretch, and the body below its harness",
    wrong="""
anchor left: at (0, 0, 10)
anchor right: at (0, 0, 10)
footing floor: at (0, 0, 0), below
person sam: 100 kg, at (0, 0, 4), points waist, chest   # here
attach left - strap tight - sam.waist
attach right - cord loose - sam.chest
tight: length 6 m
loose: length 9.5 m
""",
    right="""
anchor left: at (0, 0, 10)
anchor right: at (0, 0, 10)
footing floor: at (0, 0, 0), below
person sam: 100 kg, at (0, 0, 4), points waist, chest
attach left - strap tight - sam.waist
attach right - cord loose - sam.chest
tight: length 6 m
loose: length 6.1 m
""",
    find=find,
)
