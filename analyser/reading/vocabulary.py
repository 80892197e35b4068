"""The words of the language, of the trade, and of what people write instead of them."""

from __future__ import annotations

STATEMENTS = [
    "rig",
    "revision",
    "note",
    "include",
    "kind",
    "attach",
    "rope",
    "interlock",
    "cause",
    "sound",
    "accept",
    "likelihood",
    "require",
    "stage",
    "observed",
]
"""The words that begin a statement, beside the names of kinds."""
ALONE = ("rig", "revision", "note", "include", "attach", "interlock", "sound", "accept", "likelihood", "require")
"""Statements of one line: nothing is indented under them."""
STATIONS = {
    "tied": "tied to",
    "through": "through",
    "over": "over",
    "gripped": "gripped by",
    "held": "held by",
    "stopper": "stopper",
    "closed": "closed with",
}
STEPS = [
    "attach",
    "detach",
    "rerig",
    "derig",
    "lock",
    "take",
    "open",
    "pay",
    "slide",
    "land",
    "lift",
    "move",
    "check",
    "say",
    "note",
    "rope",
]
FACTS = ["fell", "stayed", "found", "intact", "not", "note"]
FLAGS = ("standing", "exposed", "below", "self-locking")
"""Attributes of a single word."""
ATTRIBUTES = (
    "strength", "length", "width", "stretch", "friction", "efficiency", "likelihood", "at", "points", "ends",
    "operated by", "minded by", "worn by", "padded by", "feet", "guyed by", "needs", "both ways", "not below", "is",
    *FLAGS,
)  # fmt: skip
WAYS_TO_FAIL = (
    "a part `fails`, a knot or a grip `slips`, an edge `cuts`, a pad `shifts`, a person `lets go`, "
    "`red[a..b] is cut`, a cause `strikes`"
)
SYNONYMS = {
    "connect": "attach", "clip": "attach", "join": "attach", "hang": "attach", "attached": "attach",
    "line": "rope", "title": "rig", "import": "include", "requires": "require", "must": "require",
    "tie": "tied to", "knotted": "tied to", "fixed": "tied to", "anchored": "tied to",
    "via": "through", "thru": "through", "runs": "through", "passes": "through", "threaded": "through",
    "across": "over", "grip": "gripped by", "clamped": "gripped by", "hold": "held by", "close": "closed with",
    "remove": "detach", "disconnect": "detach", "unclip": "detach", "tell": "say", "shout": "say",
    "failed": "fails",
    "breaks": "fails",
    "broken": "fails",
    "slipped": "slips",
    "everybody": "everyone", "all": "everyone", "anyone": "everyone", "breaking": "strength", "mbs": "strength",
    "autolock": "self-locking", "auto-lock": "self-locking", "autolocking": "self-locking",
    "auto-locking": "self-locking", "selflock": "self-locking", "self-lock": "self-locking",
    "selflocking": "self-locking", "self_locking": "self-locking",
    "weight": "a mass alone: 80 kg", "mass": "a mass alone: 80 kg", "diameter": "a diameter alone: 11 mm",
}  # fmt: skip
KNOTS_MEANT = {
    "figure-8": "figure-eight", "figure-of-8": "figure-eight", "figure-of-eight": "figure-eight",
    "figure8": "figure-eight", "fig-8": "figure-eight", "fig8": "figure-eight", "eight": "figure-eight",
    "figure-eight-on-a-bight": "figure-eight", "figure-8-on-a-bight": "figure-eight",
    "figure-of-eight-on-a-bight": "figure-eight", "figure-eight-loop": "figure-eight",
    "figure-9": "figure-nine", "figure-of-9": "figure-nine", "figure-of-nine": "figure-nine",
    "alpine-butterfly": "butterfly", "butterfly-loop": "butterfly", "alpine-butterfly-loop": "butterfly",
    "clove": "clove-hitch", "barrel": "barrel-knot", "tape-knot": "water-knot", "larks-foot": "girth-hitch",
    "double-fisherman": "double-fishermans", "double-fisherman's": "double-fishermans",
    "round-turn-and-two-half-hitches": "round-turn",
}  # fmt: skip
"""What people call a knot, and the catalogue's name for it."""
KNOTTED = ("knot", "hitch", "bend", "loop", "bight", "butterfly", "bowline", "splice", "eye")
"""Words that end the name of a knot."""
KINDS_MEANT = {
    "prusik": "friction-hitch", "hitch": "friction-hitch", "grab": "rope-grab", "rack": "descender",
    "brake": "brake", "munter": "munter", "ascender": "ascender", "cam": "cam-pulley",
    "bolt": "anchor", "bolts": "anchor", "boulder": "anchor", "tree": "anchor", "beam": "anchor", "stake": "anchor",
    "crab": "carabiner", "krab": "carabiner", "biner": "carabiner", "shackle": "shackle", "sling": "sling",
    "strap": "strap", "ring": "ring", "plate": "plate", "swivel": "swivel", "lanyard": "lanyard", "block": "block",
    "pulley": "pulley",
}  # fmt: skip
"""A piece of a part's name, and the kind of part that it tells of."""
UNITS = "kN, N, lbf, kg, lb, m, mm, ft, in, deg"
UNITS_OF = {
    "strength": "kN N lbf", "force": "kN N lbf", "length": "m mm ft in", "width": "mm in", "slack": "m ft",
    "drop": "m ft", "by": "m ft", "stretch": "kg kN", "person": "kg lb", "litter": "kg lb", "load": "kg lb",
    "rope": "mm m", "and": "deg",
}  # fmt: skip
"""Which units can follow, by the word before the number or the kind of the line."""
UNIT_MEANT = {
    "kilo": "kg", "kilos": "kg", "kgs": "kg", "kilogram": "kg", "kilograms": "kg", "newton": "N", "newtons": "N",
    "kilonewton": "kN", "kilonewtons": "kN", "metre": "m", "metres": "m", "meter": "m", "meters": "m", "foot": "ft",
    "feet": "ft", "inch": "in", "inches": "in", "degree": "deg", "degrees": "deg", "°": "deg",
    "millimetre": "mm", "millimetres": "mm", "millimeters": "mm",
}  # fmt: skip
UNIT_ADVICE = {
    "lbs": "write `lb` for a mass, `lbf` for a force",
    "pounds": "write `lb` for a mass, `lbf` for a force",
    "cm": "write it in `mm` or `m`",
    "t": "write a mass in `kg`, a force in `kN`",
    "tonnes": "write a mass in `kg`, a force in `kN`",
    "ton": "write a mass in `kg`, a force in `kN`",
    "kgf": "write a force in `kN` or `lbf`",
    "dan": "write a force in `kN`: 100 daN are 1 kN",
    '"': "write `in` for inches",
    "'": "write `ft` for feet",
}
NUMBERS = {
    w: str(n) for n, w in enumerate(["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"], 1)
}
EXAMPLES = {
    "rig": 'rig "Two-rope lower"',
    "revision": "revision 4",
    "note": 'note "drawn from the north side"',
    "include": 'include "kit.rig"',
    "kind": "kind steel-ring like ring: strength 50 kN",
    "attach": "attach left-bolt - carabiner left-crab - left-brake",
    "interlock": "interlock red-bowline, green-bowline",
    "tied": "tied to master with bowline as red-bowline",
    "through": "through pulley-1",
    "over": "over lip, padded by mat",
    "gripped": "gripped by left-brake, load from red-bowline",
    "held": "held by jo, load from pulley-1",
    "stopper": "stopper as red-end",
    "closed": "closed with double-fishermans",
    "slack": "slack 0.4 m",
    "rope": "rope red: 11 mm, 60 m",
    "cause": "cause rockfall: red[lip..red-bowline] is cut, left-bolt fails",
    "likelihood": "likelihood left-brake slips: 1e-3",
    "sound": 'sound master fails: "forged ring, inspected this season"',
    "accept": 'accept lip cuts: "rounded, padded, watched"',
    "require": "require every person has 2 independent attachments",
    "stage": 'stage "Tilt the litter"',
    "detach": "detach leg-3 from master",
    "rerig": "rerig red",
    "lock": "lock off left-brake",
    "take": "take left-brake in hand",
    "pay": "pay out red by 2 m",
    "slide": "slide grab along red past red-bowline",
    "land": "land basket on ground",
    "lift": "lift basket off",
    "move": "move lip to (0, 1.5, 12)",
    "check": 'check "both brakes tended"',
    "say": 'say "down slow"',
    "fell": "fell basket, vic",
    "stayed": "stayed sam",
    "found": "found master fails",
    "intact": "intact left-bolt",
    "not": 'not left-bolt fails: "seen whole afterwards"',
}
WORDS = {
    "NAME": "a name",
    "LABEL": "a name",
    "NUMBER": "a number",
    "UNIT": f"a unit ({UNITS})",
    "TEXT": 'text in "quotes"',
    "_NL": "the end of the line",
    "$END": "the end of the line",
    "_INDENT": "indented lines",
    "COMMA": "a comma",
    "COLON": "a colon",
    "MINUS": "`-`",
    "LPAR": "`(`",
    "RPAR": "`)`",
    "LSQB": "`[`",
    "RSQB": "`]`",
    "HAS": "`has`",
    "POINTS": "`points`",
    "TOWARDS": "`towards`",
    "FAILURES": "`failures`",
    "ATTACHMENTS": "`attachments`",
}
MARKS = {"COMMA": ",", "COLON": ":", "MINUS": "-"}
FAILING = {"FAILS", "SLIPS", "CUTS", "SHIFTS"}
LINE_ENDS = ("_NL", "$END", "_INDENT", "_DEDENT")
