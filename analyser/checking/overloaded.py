"""Parts that break under what they come to carry, at rest or after one failure, and who falls then.

Told where forces are worked out. What follows at rest, or in time from the start as drawn, is a danger; what
follows only from a start a centimetre aside is a caution.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyser.checking.finding import Finding, Rule, Severity, in_few, listed, place_of, verb
from analyser.language.identities import owner
from analyser.rig.figures import as_force, as_length
from analyser.rig.model import Rig

if TYPE_CHECKING:  # the forces are worked out elsewhere: this room never loads what solves them
    from analyser.forces.loads import Loads
    from analyser.forces.motion import Motion
    from analyser.forces.overloads import Overload
    from analyser.forces.strength import Factor


LEFT_OUT_IN_TIME = (
    "the rope's own mass",
    "friction, at edges too",
    "rock and structure between",
    "people's bodies, which give way",
    "the age and wear of ropes",
)
"""What is not in figures of what happens in time."""


def find(rig: Rig, loads: Loads) -> Iterator[Finding]:
    """The overloads of one state; failures with the same outcome together."""
    alike: dict[tuple[object, ...], list[Overload]] = {}
    for one in loads.overloads:
        names = tuple(broken.name for broken in one.broken)
        alike.setdefault((bool(one.failures), names, one.aside, one.surely, one.perhaps), []).append(one)
    for group in alike.values():
        worst = min(group, key=lambda one: min(row.factor for row in _rows(one)))
        first, *rest = dict.fromkeys((*worst.failures, *(name for one in group for name in one.failures)), None) or [""]
        also = f" (alike after {in_few(rest)})" if rest else ""
        text = f"{f'after {first}{also}' if first else 'at rest'}: {breaks_words(worst)}"
        weak = owner((*(one.name for one in worst.broken), *worst.aside)[0])
        severity = Severity.DANGER if worst.broken else Severity.CAUTION
        bodies = (*worst.surely, *worst.perhaps)
        mend = f"give {weak} less to carry, or more strength, or put another way beside it"
        yield RULE.told(text, (weak,), place_of(rig, weak), bodies, severity=severity, mend=mend)


def _rows(one: Overload) -> list[Factor]:
    """What each part that breaks would have carried, against its strength."""
    told = {row.name: row.at_worst for row in one.motion.weakest} if one.motion else {}
    rows = [told.get(broken.name, broken.factor) for broken in one.broken]
    rows += [told[name] for name in one.aside if name in told]
    return rows or [broken.factor for broken in one.rest.broken]


def breaks_words(one: Overload) -> str:
    """`right-crab breaks, 0.42 s after: 21.3 kN on 20 kN; then sam falls`."""
    row = _rows(one)[0]
    names = [broken.name for broken in one.broken]
    when = one.motion.broken[0].when if one.motion and one.motion.broken else None
    kept = f" ({row.knot} keeps {row.kept:.0%})" if row.knot else ""
    carries = f"{as_force(row.force, '.3g')} on {as_force(row.strength * row.kept, '.3g')}{kept}"
    if not names:
        count = sum(bool(aside.broken) for aside in one.motion.aside) if one.motion else 0
        starts = f"from {count} of {len(one.motion.aside)} starts a centimetre aside" if one.motion else ""
        text = f"{listed(one.aside)} {verb(one.aside, 'breaks', 'break')} {starts}: {carries}"
    else:
        first, *more = names
        text = f"{first} breaks{f', {when:.2f} s after' if when is not None else ''}: {carries}"
        text += f", then {listed(more)} {verb(more, 'breaks', 'break')}" if more else ""
    if one.surely:
        text += f"; {listed(one.surely)} {verb(one.surely, 'falls', 'fall')}"
    if one.perhaps:
        also = ", and from a start a centimetre aside " if one.surely else "; from a start a centimetre aside "
        text += f"{also}{listed(one.perhaps)} {verb(one.perhaps, 'falls', 'fall')}"
    if not one.surely and not one.perhaps:
        text += "; everybody is still held then"
    return text


def why_not_told(motion: Motion | None) -> str:
    """Why it isn't told what happens in time."""
    if motion is None:
        return "it was not followed"
    if motion.stiff is not None:
        return f"{motion.stiff} is too stiff to be followed; give its `stretch`"
    out = next((one for one in motion.ran if one.out), None)
    if out is not None and out.room is not None:
        return f"{as_length(out.metres)} would slip through {out.by}, which has {as_length(out.room)}"
    return "it was not followed"


RULE = Rule(
    name="overloaded",
    severity=Severity.DANGER,
    means=(
        "A part carries more than its strength, at rest or at some moment after one failure (a danger); or only where "
        "the drop starts a centimetre aside of where the file says (a caution)."
    ),
    matters=(
        "What holds by its connections breaks by its load: one failure becomes two, and the second one may be the "
        "last. The failure sets above count connections, and know nothing of it."
    ),
    mends="Less load, shorter drops (less slack), a stronger part, a stronger knot, or another way beside it.",
    source="common practice, no source; how what happens in time is followed: forces/statics.md",
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
