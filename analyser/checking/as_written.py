"""What reading the file showed and no failure does: idle parts, contacts said twice, and the like."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from analyser.checking.finding import Finding, Rule, Severity
from analyser.holding.outcome import Outcome
from analyser.rig.model import Rig


def _may_be_empty(rig: Rig, name: str) -> bool:
    """A gear loop with nothing on it; or somebody exposed with nothing on, which a rule of its own tells."""
    part = rig.parts.get(name)
    return part is not None and (part.gear_only or (part.standing and part.exposed))


def _noted(name: str, severity: Severity) -> Callable[[Rig, Outcome], Iterator[Finding]]:
    """Tell the cautions of one name that were noted while the rig was read."""

    def find(rig: Rig, outcome: Outcome) -> Iterator[Finding]:
        for caution in rig.cautions:
            empty = bool(caution.about) and all(_may_be_empty(rig, part) for part in caution.about)
            if caution.rule == name and not (name == "unused-part" and empty):
                bodies = tuple(one for one in caution.about if one in outcome.failure_sets)
                yield Finding(name, severity, caution.about, bodies, caution.place, caution.text)

    return find


UNUSED_PART = Rule(
    name="unused-part",
    severity=Severity.CAUTION,
    means="Nothing touches a declared part, or nothing runs over an edge, or a pad guards nothing.",
    matters="A part that stands in the list and in no chain is often one that somebody meant to attach.",
    mends="Attach it, or take it out.",
    source="common practice, no source",
    wrong="""
anchor bolt
ring idle   # here
person sam
attach bolt - strap s - sam
""",
    right="""
anchor bolt
ring idle
person sam
attach bolt - idle - strap s - sam
""",
    find=_noted("unused-part", Severity.CAUTION),
)

GRIPS_NOTHING = Rule(
    name="grips-nothing",
    severity=Severity.CAUTION,
    means="A device that grips rope stands between two things, and no rope is gripped by it.",
    matters="It then counts as a ring: that it slips, or that its operator lets go, is asked of nobody.",
    mends="Write the rope with `gripped by` it; a winch's rope is tied to the drum first, and then gripped by it.",
    source="common practice, no source",
    wrong="""
anchor beam
person sam
attach beam - winch drum   # here
rope wire
    tied to drum with splice
    tied to sam with splice
""",
    right="""
anchor beam
person sam
attach beam - winch drum
rope wire
    tied to drum with splice
    gripped by drum
    tied to sam with splice
""",
    find=_noted("grips-nothing", Severity.CAUTION),
)

REPEATED_CONTACT = Rule(
    name="repeated-contact",
    severity=Severity.CAUTION,
    means="The same two parts are said to touch twice.",
    matters="Said twice it is still one contact: a second connector between them would be a part of its own.",
    mends="Take one of the lines out, or name the second part.",
    source="common practice, no source",
    wrong="""
anchor bolt
ring eye
person sam
attach bolt - eye - sam
attach bolt - eye   # here
""",
    right="""
anchor bolt
ring eye
person sam
attach bolt - eye - sam
attach bolt - sam
""",
    find=_noted("repeated-contact", Severity.CAUTION),
)

BELOW_NOT_SAID = Rule(
    name="below-not-said",
    severity=Severity.CAUTION,
    means="A rope end is worked from the ground behind a pulley, and it is not said whether its anchor lies below.",
    matters="An anchor under the bodies keeps a rope end but holds nothing up. Until told, it counts as above.",
    mends="Write `below` on the anchor, or `not below` to say that you have looked.",
    source="common practice, no source",
    wrong="""
anchor top, stake
person jo: standing
load bag
attach top - pulley wheel
attach stake - brake bar
bar: operated by jo, self-locking
rope line   # here
    tied to bag
    through wheel
    gripped by bar
""",
    right="""
anchor top
anchor stake: not below
person jo: standing
load bag
attach top - pulley wheel
attach stake - brake bar
bar: operated by jo, self-locking
rope line
    tied to bag
    through wheel
    gripped by bar
""",
    find=_noted("below-not-said", Severity.CAUTION),
)

PLACE_WITHOUT_UNIT = Rule(
    name="place-without-unit",
    severity=Severity.CAUTION,
    means="The file has its lengths printed in feet, and a place in it has no unit: it is read in metres.",
    matters="A place meant in feet and read in metres is more than three times too far away: every drop, swing and "
    "force that rests on it is wrong.",
    mends="Write the unit behind the bracket: `at (0, 0, 40) ft`, or `m` where metres are meant.",
    source="common practice, no source",
    wrong="""
units lbf, ft, lb
anchor bolt: at (0, 0, 40)   # here
person sam
attach bolt - strap s - sam
""",
    right="""
units lbf, ft, lb
anchor bolt: at (0, 0, 40) ft
person sam
attach bolt - strap s - sam
""",
    find=_noted("place-without-unit", Severity.CAUTION),
)

UNKNOWN_KNOT = Rule(
    name="unknown-knot",
    severity=Severity.NOTE,
    means="A knot has a name that the catalogue does not know.",
    matters="Nothing depends on a knot's name yet, but a misspelt one is no help to who reads the plan.",
    mends="Spell it as `stillheld kinds` does, or add it: `kind NAME like knot`.",
    source="common practice, no source",
    wrong="""
anchor bolt
person sam
rope line
    tied to bolt with bowlin   # here
    tied to sam
""",
    right="""
anchor bolt
person sam
rope line
    tied to bolt with bowline
    tied to sam
""",
    find=_noted("unknown-knot", Severity.NOTE),
)

HANGS_LOOSE = Rule(
    name="hangs-loose",
    severity=Severity.CAUTION,
    means="A part touches one other thing only: nothing beyond it holds, and nothing hangs from it.",
    matters=(
        "A sling that a rope is tied to and that touches nothing else, a pulley that only a rope runs through: "
        "often the contact that was meant is missing in the file."
    ),
    mends="Attach its other side: `attach tree - mast-sling`.",
    source="common practice, no source",
    wrong="""
anchor tree, bolt
sling mast-sling   # here
person sam: points waist, chest
attach bolt - strap tether - sam.chest
rope line
    tied to mast-sling
    tied to sam.waist
""",
    right="""
anchor tree, bolt
sling mast-sling
person sam: points waist, chest
attach bolt - strap tether - sam.chest
attach tree - mast-sling
rope line
    tied to mast-sling
    tied to sam.waist
""",
    find=_noted("hangs-loose", Severity.CAUTION),
)

LONE_STRUCTURE = Rule(
    name="lone-structure",
    severity=Severity.NOTE,
    means="Only one part is part of a structure whose name is nearly that of another.",
    matters="A structure misspelt is two structures: what they share is then not seen.",
    mends="Spell it as the other, or declare it: `structure loose-block`.",
    source="common practice, no source",
    wrong="""
anchor left, right: part of loose-block
anchor third: part of lose-block   # here
person sam
attach left - strap a - sam
attach right - strap b - sam
attach third - strap c - sam
""",
    right="""
anchor left, right: part of loose-block
anchor third: part of far-wall
person sam
attach left - strap a - sam
attach right - strap b - sam
attach third - strap c - sam
""",
    find=_noted("lone-structure", Severity.NOTE),
)

NO_OPERATOR = Rule(
    name="no-operator",
    severity=Severity.CAUTION,
    means="A step takes a device in hand, and the file does not say whose hand that is.",
    matters="A device in hand grips while its operator holds on: who lets go, and what falls then, can't be told.",
    mends="Say who works it: `left-brake: operated by jo`.",
    source="common practice, no source (facts 9.13)",
    wrong="""
anchor bolt
load bag
attach bolt - brake bar
rope line
    stopper
    gripped by bar
    tied to bag
stage "Lower"
    take bar in hand   # here
""",
    right="""
anchor bolt
load bag
person jo: standing
attach bolt - brake bar
bar: operated by jo
rope line
    stopper
    gripped by bar
    tied to bag
stage "Lower"
    take bar in hand
""",
    find=_noted("no-operator", Severity.CAUTION),
)
