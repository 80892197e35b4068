"""Bodies that may reach the ground after one failure, though the rest of the system catches them, or before any."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.finding import Finding, Rule, Severity, in_few
from analyser.holding.fate import Kind
from analyser.holding.outcome import Outcome
from analyser.rig.figures import as_speed
from analyser.rig.model import Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads


def find(rig: Rig, outcome: Outcome, loads: Loads) -> Iterator[Finding]:
    """Of each body that comes as low as the ground below: after which failures, and whether it comes to rest there,
    strikes it on the way (how fast), or may, where that was not followed in time. Whoever was let down there on purpose
    is no find."""
    if loads.ground is None:
        return
    for body in rig.bodies if loads.now.accepted else ():
        if body.name in outcome.failure_sets and outcome.body(body.name).fate.kind is Kind.TO_THE_GROUND:
            text = f"with nothing failed: {body.name} comes to rest on the ground ({loads.ground.words})"
            yield RULE.told(text, (body.name,), body.place, (body.name,), mend="shorter lines, or hang higher")
    lies: dict[str, list[str]] = {}
    strikes: dict[str, dict[str, float]] = {}
    may: dict[str, list[str]] = {}
    for one in loads.after or ():
        for name in one.reaches_ground if one.accepted else ():
            speed = one.struck_ground(name)
            if name in one.on_ground:
                lies.setdefault(name, []).append(one.failures[0])
            elif speed is None:
                may.setdefault(name, []).append(one.failures[0])
            if speed is not None:
                strikes.setdefault(name, {})[one.failures[0]] = speed
    for name in dict.fromkeys([*lies, *strikes, *may]):
        fast = strikes.get(name, {})
        told = []
        if name in lies:
            told.append((lies[name], "comes to rest on the ground", Severity.DANGER))
        only = [failure for failure in fast if failure not in lies.get(name, ())]
        if only:
            most = max(fast[failure] for failure in only)
            told.append((only, f"strikes the ground at {as_speed(most)} before it is caught", Severity.DANGER))
        if name in may:
            how = "may reach the ground before it is caught (a quick figure: not followed in time)"
            told.append((may[name], how, Severity.CAUTION))
        for failures, how, severity in told:
            if failures is lies.get(name) and fast:
                how += f", which it strikes at {as_speed(max(fast.values()))}"
            text = f"after {in_few(failures)}: {name} {how} ({loads.ground.words})"
            mend = "less slack, a stiffer or shorter line, or hang higher"
            yield RULE.told(text, (name,), rig.parts[name].place, (name,), severity=severity, mend=mend)


RULE = Rule(
    name="reaches-ground",
    severity=Severity.DANGER,
    means=(
        "With nothing failed, or after one failure, somebody drops as low as the ground: comes to rest there, or "
        "strikes it on the way (a danger), or may by a quick figure where that was not followed in time (a "
        "caution). Told where a part that lies `below` has a place."
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
