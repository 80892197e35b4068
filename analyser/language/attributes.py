"""The attributes of the language, a row each: how it is written, what may carry it, what it says, where it goes.

Reading, messages, laying out, completing, comparing and the rig itself ask these rows. A new attribute is a
row here, its terminal and its alternative in `grammar/rig.lark`, and what it is kept in, where nothing is
there yet (a field of `Part`; a figure needs none).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from analyser.language.natures import BODIES, HARDWARE, Nature


class Shape(StrEnum):
    """What stands after the word."""

    FLAG = "nothing"
    NAMES = "names"
    NAME = "one name"
    GROUP = "names, and of how many of them"
    PAIR = "two lists of names"
    FIGURE = "a number and its unit"
    NUMBER = "a number"
    SHARE = "a share in percent"
    STRETCH = "a share, and at which load"
    COUNT = "a whole number"
    RANGE = "two numbers and their unit"
    PLACE = "three numbers"
    DIRECTIONS = "directions, and an angle"
    TEXT = "a text in quotes"

    @property
    def lists(self) -> bool:
        """Do names stand after it?"""
        return self in (Shape.NAMES, Shape.NAME, Shape.GROUP, Shape.PAIR)


@dataclass(frozen=True, slots=True)
class Row:
    """One attribute. `key` is its rule in the grammar; `word` how it is written."""

    key: str
    word: str
    shape: Shape
    natures: tuple[Nature, ...] = ()
    """What may carry it (none: anything)."""
    whose: str = ""
    """The same in words."""
    field: str = ""
    """In what it is kept: a field of the part or rope, or the name of a figure. Else its key."""
    value: bool = True
    """What a flag says."""
    measures: str = ""
    """What its unit measures: force, length."""
    usual: str = ""
    """What stands after it in an example."""
    band: bool = False
    """May its figure be a band?"""
    told: str = ""
    """What it is called where two revisions of a part are compared by it."""
    joint: str = ""
    """Of joints, only what is of this kind, or stands on it."""
    never: tuple[str, ...] = ()
    """Nor any of these kinds, or what stands on one."""

    @property
    def kept(self) -> str:
        return self.field or self.key

    @property
    def example(self) -> str:
        return f"{self.word} {self.usual}".rstrip()


_FRAME = ((Nature.FRAME,), "a frame (a tripod, a gin pole, a holdfast)")
_GRIP = ((Nature.GRIP,), "a device that grips rope")
_SLIPS = ((Nature.GRIP, Nature.JOINT), "a device, a hitch or an absorber")
_GATE = ((Nature.JOINT,), "a connector")
_BODY = ((*BODIES, Nature.JOINT), "a person, a litter, a load or a bar")
_PERSON = ((Nature.PERSON,), "a person")
_ROPE = ((Nature.ROPE,), "a rope")
_LOW = ((Nature.GROUND, Nature.PERSON), "an anchor, a footing or a person")
_METAL = ((Nature.JOINT, Nature.PULLEY), "a connector, a ring, a pulley")
_LAID = ((Nature.JOINT, Nature.PULLEY, Nature.GRIP), "a connector, a device or a pulley")
_TOOLS = ((Nature.JOINT, Nature.POINT, Nature.HARNESS), "a ring, a loop or a point of a body")

_LIES_ROUND = ((Nature.JOINT,), "a sling, a strap or the like")
_STIFF = ("connector", "ring", "plate", "swivel", "link", "bar", "buckle", "fall-arrester")

ROWS: tuple[Row, ...] = (
    Row("measured", "", Shape.FIGURE, band=True),
    Row("strength", "strength", Shape.FIGURE, measures="force", usual="22 kN", band=True),
    Row("length", "length", Shape.FIGURE, measures="length", usual="1.2 m", band=True),
    Row("width", "width", Shape.FIGURE, measures="length", usual="120 mm", band=True),
    Row("stretch", "stretch", Shape.STRETCH, usual="3 % at 150 kg"),
    Row("slips_at", "slips at", Shape.FIGURE, *_SLIPS, "slips at", measures="force", usual="9 kN", band=True),
    Row("slips_up_to", "slips up to", Shape.FIGURE, *_SLIPS, "slips up to", measures="length", usual="1.2 m"),
    Row("loss", "loss", Shape.SHARE, (Nature.ROPE, Nature.JOINT), "a rope, a sling or the like", usual="30 %"),
    Row("friction", "friction", Shape.NUMBER, usual="0.3"),
    Row("efficiency", "efficiency", Shape.NUMBER, usual="0.9"),
    Row("likelihood", "likelihood", Shape.NUMBER),
    Row("minor_axis", "minor axis", Shape.FIGURE, *_GATE, "minor axis", measures="force", usual="7 kN"),
    Row("gate_open", "gate open", Shape.FIGURE, *_GATE, "gate open", measures="force", usual="7 kN"),
    Row("drop_height", "drop", Shape.FIGURE, *_ROPE, "drop", measures="length", usual="45 m"),
    Row("pretension", "pretension", Shape.FIGURE, *_ROPE, measures="force", usual="2 kN", band=True),
    Row("sag", "sag", Shape.FIGURE, *_ROPE, measures="length", usual="1.5 m", band=True),
    Row("at", "at", Shape.PLACE, usual="(0, 1.5, 12)", told="at"),
    Row("standing", "standing", Shape.FLAG, *_PERSON, told="standing"),
    Row("exposed", "exposed", Shape.FLAG, *_PERSON, told="exposed"),
    Row("self_locking", "self-locking", Shape.FLAG, *_GRIP, told="self-locking"),
    Row("anti_panic", "anti-panic", Shape.FLAG, *_GRIP, told="anti-panic"),
    Row("both_ways", "both ways", Shape.FLAG, *_GRIP),
    Row("lowers", "lowers by itself", Shape.FLAG, *_GRIP, told="lowers by itself"),
    Row("adjustable", "adjustable", Shape.FLAG, (Nature.JOINT,), "a lanyard or a strap", told="adjustable"),
    Row("textile", "textile", Shape.FLAG, (Nature.JOINT,), "a sling, a strap or the like", told="textile"),
    Row("gear_only", "gear only", Shape.FLAG, *_TOOLS, told="for gear only"),
    Row("carries_through", "carries through", Shape.FLAG, (Nature.HARNESS,), "a harness", told="carries through"),
    Row("start_on_ground", "start on ground", Shape.FLAG, *_ROPE, told="start on the ground"),
    Row("end_on_ground", "end on ground", Shape.FLAG, *_ROPE, told="end on the ground"),
    Row("spare_below", "spare below", Shape.FLAG, *_ROPE),
    Row("spare_above", "spare in the bag above", Shape.FLAG, *_ROPE, "spare_below", value=False),
    Row("tag_line", "tag line", Shape.FLAG, *_ROPE, told="tag line"),
    Row("below", "below", Shape.FLAG, *_LOW, told="below the bodies"),
    Row("not_below", "not below", Shape.FLAG, *_LOW, "below", value=False),
    Row("locking", "locking", Shape.FLAG, *_GATE, told="locking"),
    Row("not_locking", "not locking", Shape.FLAG, *_GATE, "locking", value=False),
    Row("room", "room for", Shape.COUNT, *_METAL, usual="3", told="room for"),
    Row("takes", "takes", Shape.RANGE, (Nature.GRIP, Nature.PULLEY), "what a rope passes", usual="10 to 11.5 mm",
        told="takes rope of"),
    Row("directions", "directions", Shape.DIRECTIONS, (Nature.GROUND,), "an anchor", usual="down within 30 deg",
        told="may be pulled"),
    Row("called", "is", Shape.TEXT, field="note", told="note"),
    Row("source", "source", Shape.TEXT, usual='"EN 362, stamped on it"', told="figures from"),
    Row("points", "points", Shape.NAMES, *_BODY, usual="waist, chest", joint="bar"),
    Row("ends", "ends", Shape.PAIR, *_BODY, joint="bar"),
    Row("sides", "sides", Shape.PAIR, *_BODY, joint="bar"),
    Row("below_for", "below", Shape.NAMES, *_LOW, told="below"),
    Row("worn_by", "worn by", Shape.NAME, (Nature.HARNESS,), "a harness"),
    Row("stands_on", "stands on", Shape.NAME, *_PERSON, told="stands on"),
    Row("operated_by", "operated by", Shape.NAME, *_GRIP, told="operated by"),
    Row("minded_by", "minded by", Shape.NAME, *_GRIP, told="minded by"),
    Row("guarded_by", "padded by", Shape.NAMES, (Nature.EDGE,), "an edge", "guards", told="kept clear by"),
    Row("kept_clear_by", "kept clear by", Shape.NAMES, (Nature.EDGE,), "an edge", "guards"),
    Row("feet", "feet", Shape.GROUP, *_FRAME, "needs"),
    Row("guyed_by", "guyed by", Shape.GROUP, *_FRAME, "needs"),
    Row("needs", "needs", Shape.GROUP, *_FRAME),
    Row("in_line", "in line", Shape.GROUP, *_FRAME, "needs", usual="front, middle, rear"),
    Row("part_of", "part of", Shape.NAMES, HARDWARE, "an anchor, a frame or hardware", usual="loose-block",
        told="part of"),
    Row("near", "near", Shape.NAMES, (*HARDWARE, Nature.ROPE), "a rope, an anchor, a frame or hardware",
        usual="steam-pipe", told="near"),
    Row("across", "across", Shape.NAMES, *_LAID, usual="lip", told="across"),
    Row("choked_round", "choked round", Shape.NAME, *_LIES_ROUND, usual="beam", never=_STIFF),
    Row("basket_round", "basket round", Shape.NAME, *_LIES_ROUND, usual="beam", never=_STIFF),
    Row("inside", "inside", Shape.NAMES, *_ROPE, usual="tube"),
    Row("alike", "like", Shape.NAME, *_ROPE, usual="low-stretch-a"),
)  # fmt: skip
BY_KEY = {row.key: row for row in ROWS}
ATTRIBUTES = tuple(row.word for row in ROWS if row.word)
"""How the attributes are written."""
FLAGS = tuple(row.word for row in ROWS if row.shape is Shape.FLAG and " " not in row.word)
"""Attributes of a single word."""
STARTS = frozenset(word.split()[0] for word in ATTRIBUTES)
"""The words with which an attribute begins."""
