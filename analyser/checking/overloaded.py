"""Parts that break under what they come to carry, at rest or after one failure, and who falls then.

Told where forces are worked out. What follows at rest follows from the figures: a danger. What follows only
where the peak comes near its upper end, which is an estimate, is a caution.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.finding import Finding, Rule, Severity, in_few, listed, place_of, verb
from analyser.language.identities import owner
from analyser.rig.model import Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads
    from analyser.forces.overloads import Overload


def find(rig: Rig, loads: Loads) -> Iterator[Finding]:
    """The overloads of one state; failures with the same outcome together."""
    alike: dict[tuple[object, ...], list[Overload]] = {}
    for one in loads.overloads:
        surely = bool(one.rest.broken)
        names = tuple(broken.name for broken in one.broken)
        alike.setdefault((bool(one.failures), surely, names, one.surely, one.perhaps), []).append(one)
    for group in alike.values():
        worst = min(group, key=lambda one: one.broken[0].factor.factor)
        first, *rest = dict.fromkeys((*worst.failures, *(name for one in group for name in one.failures)), None) or [""]
        also = f" (alike after {in_few(rest)})" if rest else ""
        text = f"{f'after {first}{also}' if first else 'at rest'}: {breaks_words(worst)}"
        weak = owner(worst.broken[0].name)
        severity = Severity.DANGER if worst.rest.broken else Severity.CAUTION
        bodies = (*worst.surely, *worst.perhaps)
        mend = f"give {weak} less to carry, or more strength, or put another way beside it"
        yield RULE.told(text, (weak,), place_of(rig, weak), bodies, severity=severity, mend=mend)


def breaks_words(one: Overload) -> str:
    """`right-crab breaks: 21.3 kN on 20 kN; then sam falls`."""
    first, *more = one.broken
    row = first.factor
    kept = f" ({row.knot} keeps {row.kept:.0%})" if row.knot else ""
    carries = f"{row.force / 1000:.3g} kN on {row.strength * row.kept / 1000:.3g} kN{kept}"
    sure = bool(one.rest.broken)
    how = "" if sure else " if the peak comes near its upper end"
    then = f", then {listed([b.name for b in more])} {verb([b.name for b in more], 'breaks', 'break')}" if more else ""
    text = f"{first.name} breaks{how}: {carries}{then}"
    if one.surely:
        text += f"; {listed(one.surely)} {verb(one.surely, 'falls', 'fall')}"
    if one.perhaps:
        also = (
            f", and with the peak near its upper end {listed(one.perhaps)}"
            if one.surely
            else f"; {listed(one.perhaps)}"
        )
        text += f"{also} {verb(one.perhaps, 'falls', 'fall')}"
    if not one.surely and not one.perhaps:
        text += "; everybody is still held then"
    return text


RULE = Rule(
    name="overloaded",
    severity=Severity.DANGER,
    means=(
        "A part carries more than its strength, at rest or after one failure (a danger); or only where the peak of "
        "a drop comes near the upper end of its band, which is an estimate (a caution)."
    ),
    matters=(
        "What holds by its connections breaks by its load: one failure becomes two, and the second one may be the "
        "last. The failure sets above count connections, and know nothing of it."
    ),
    mends="Less load, shorter drops (less slack), a stronger part, a stronger knot, or another way beside it.",
    source="common practice, no source; how peaks are found: forces/statics.md",
    wrong="""
anchor left: at (0, 0, 10), strength 20 kN
anchor right: at (0, 0, 10), strength 20 kN
person sam: 100 kg, at (0, 0, 9), points waist, chest
attach left - strap tight - sam.waist
cord loose: length 2 m, strength 2 kN   # here
attach right - loose - sam.chest
tight: length 1 m, strength 22 kN
""",
    right="""
anchor left: at (0, 0, 10), strength 20 kN
anchor right: at (0, 0, 10), strength 20 kN
person sam: 100 kg, at (0, 0, 9), points waist, chest
attach left - strap tight - sam.waist
attach right - cord loose - sam.chest
tight: length 1 m, strength 22 kN
loose: length 1.05 m, strength 12 kN
""",
    find=find,
)
