"""The words of the language, of the trade, and of what people write instead of them."""

from __future__ import annotations

from analyser.language.attributes import ROWS

STATEMENTS = [
    "rig",
    "revision",
    "note",
    "include",
    "units",
    "kind",
    "attach",
    "rope",
    "interlock",
    "cause",
    "sound",
    "accept",
    "latent",
    "likelihood",
    "require",
    "stage",
    "observed",
]
"""The words that begin a statement, beside the names of kinds."""
ALONE = (
    "rig",
    "revision",
    "note",
    "include",
    "units",
    "attach",
    "interlock",
    "sound",
    "accept",
    "latent",
    "likelihood",
    "require",
)
"""Statements of one line: nothing is indented under them."""
STATIONS = {
    "tied": "tied to",
    "again": "again",
    "through": "through",
    "over": "over",
    "gripped": "gripped by",
    "held": "held by",
    "stopper": "stopper",
    "joined": "joined to",
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
    "hold",
    "let",
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
FACTS = ["fell", "stayed", "found", "intact", "not", "at", "between", "before", "note"]
ATTRIBUTE_EXAMPLES = {
    **{row.word.split()[0]: row.example for row in ROWS if row.usual}, "direction": "direction down within 30 deg",
    "gear": "gear only", "start": "start on ground", "end": "end on ground", "spare": "spare below",
    "not": "not locking",
}  # fmt: skip
"""An attribute written out, by its first word."""
WAYS_TO_FAIL = (
    "a part `fails`, a knot or a grip `slips`, an edge `cuts`, a pad `shifts`, a person `lets go`, "
    "`red is cut`, a cause `strikes`"
)
SYNONYMS = {
    "connect": "attach", "clip": "attach", "join": "attach", "hang": "attach", "attached": "attach",
    "line": "rope", "title": "rig", "import": "include", "requires": "require", "must": "require",
    "tie": "tied to", "knotted": "tied to", "fixed": "tied to", "anchored": "tied to",
    "via": "through", "thru": "through", "runs": "through", "passes": "through", "threaded": "through",
    "across": "over", "grip": "gripped by", "clamped": "gripped by", "hold": "held by", "close": "closed with",
    "remove": "detach", "disconnect": "detach", "unclip": "detach", "tell": "say", "shout": "say",
    "survived": "stayed", "remained": "stayed", "dropped": "fell", "fallen": "fell", "undamaged": "intact",
    "failed": "fails",
    "breaks": "fails",
    "broken": "fails",
    "slipped": "slips",
    "everybody": "everyone", "all": "everyone", "anyone": "everyone", "breaking": "strength", "mbs": "strength",
    "autolock": "self-locking", "auto-lock": "self-locking", "autolocking": "self-locking",
    "auto-locking": "self-locking", "selflock": "self-locking", "self-lock": "self-locking",
    "selflocking": "self-locking", "self_locking": "self-locking",
    "waive": "accept", "ignore": "accept", "allow": "accept", "suppress": "accept", "permit": "accept",
    "disregard": "accept", "tolerate": "accept",
    "hidden": "latent", "unseen": "latent", "dormant": "latent", "unnoticed": "latent", "slip": "latent",
    "locked": "locking", "lockable": "locking", "screwgate": "locking", "screw-gate": "locking",
    "screw-lock": "locking", "screwlock": "locking", "twist-lock": "locking", "twistlock": "locking",
    "triple-lock": "locking", "double-lock": "locking", "triple-action": "locking", "double-action": "locking",
    "non-locking": "not locking", "nonlocking": "not locking", "not-locking": "not locking",
    "unlocked": "not locking", "unlocking": "not locking", "snapgate": "not locking", "snap-gate": "not locking",
    "wiregate": "not locking", "wire-gate": "not locking",
    "gear-only": "gear only", "accessory": "gear only", "gear": "gear only",
    "fabric": "textile", "webbing": "textile", "textiles": "textile", "sewn": "textile",
    "adjust": "adjustable", "adjusts": "adjustable", "adjusting": "adjustable",
    "weight": "a mass alone: 80 kg", "mass": "a mass alone: 80 kg", "diameter": "a diameter alone: 11 mm",
}  # fmt: skip
LET_OUT = {
    "lower": "pay out", "slacken": "pay out", "release": "pay out", "loosen": "pay out",
    "raise": "take in", "haul": "take in", "pull": "take in", "tension": "take in", "tighten": "take in",
}  # fmt: skip
"""What people call letting a rope out and taking it in."""
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
    "prusik": "friction-hitch", "prussik": "friction-hitch", "hitch": "friction-hitch", "klemheist": "friction-hitch",
    "bachmann": "friction-hitch", "autoblock": "friction-hitch", "jammer": "ascender", "toothed": "ascender",
    "screwgate": "carabiner", "snapgate": "carabiner", "hook": "carabiner", "quicklink": "screw-link",
    "van": "vehicle", "truck": "vehicle", "car": "vehicle", "lorry": "vehicle", "trailer": "vehicle",
    "stretcher": "litter", "basket": "litter", "patient": "person", "casualty": "person", "rescuer": "person",
    "climber": "person", "worker": "person", "attendant": "person", "cowstail": "lanyard", "tape": "sling",
    "webbing": "strap", "protector": "pad", "piton": "anchor", "picket": "anchor", "column": "anchor",
    "grab": "rope-grab", "rack": "descender", "auto-descender": "automatic-descender",
    "descent-device": "automatic-descender", "controlled-descent-device": "automatic-descender",
    "brake": "brake", "munter": "munter", "ascender": "ascender", "cam": "cam-pulley", "capture": "cam-pulley",
    "ratchet": "cam-pulley",
    "bolt": "anchor", "bolts": "anchor", "boulder": "anchor", "tree": "anchor", "beam": "anchor", "stake": "anchor",
    "crab": "carabiner", "krab": "carabiner", "biner": "carabiner", "shackle": "shackle", "sling": "sling",
    "hoist": "winch", "drum": "winch", "windlass": "winch", "retractable": "fall-arrester", "arrester": "fall-arrester",
    "inertia-reel": "fall-arrester", "footloop": "foot-loop", "foot-ladder": "foot-loop", "snatchblock": "snatch-block",
    "strap": "strap", "ring": "ring", "plate": "plate", "swivel": "swivel", "lanyard": "lanyard", "block": "block",
    "pulley": "pulley",
}  # fmt: skip
"""A piece of a part's name, or a word of the trade, and the kind of part that it tells of."""
STANDARD_ROPES = {
    "en1891": ("low-stretch-a", "low-stretch-b"), "en1891a": ("low-stretch-a",), "en1891b": ("low-stretch-b",),
    "en892": ("dynamic-rope",), "static": ("low-stretch-a", "low-stretch-b"), "dynamic": ("dynamic-rope",),
    "semistatic": ("low-stretch-a", "low-stretch-b"), "lowstretch": ("low-stretch-a", "low-stretch-b"),
    "kernmantel": ("low-stretch-a", "low-stretch-b"),
}  # fmt: skip
"""What people call a kind of rope (letters and digits only), and what the catalogue has of it."""
GATE = r"(?:gate|gates)"
LOCKING = (
    r"(?:screw[ -]?(?:gate|lock)(?:ed)?|twist[ -]?lock|(?:double|triple|two|three)[ -](?:lock|action)|"
    r"lockable|locked|lockers?|locks)"
)
AUTO_LOCKING = r"(?:auto|self)[ -]?lock(?:ing|ed|s)?"
NOT_LOCKING = (
    r"(?:(?:non|un|not?)[ -]?lock(?:ing|ed|able)|unlocked|no lock|without (?:a )?lock|"
    r"(?:snap|wire|plain)[ -]?gate)"
)
_N = r"(\d+(?:\.\d+)?)"
_KN = rf"({_N[1:-1]} ?(?:kN|N|lbf))"
_LONG = rf"({_N[1:-1]} ?(?:mm|m|ft|in))"
_ONE = r"(?:an? |the )?"
_NOT_A_NAME = r"(?!(?:of|to|by|the|an?|in|on|at|for)(?![\w-]))"
_NAME = rf"{_NOT_A_NAME}([a-z][\w-]*)"
_TWO = rf"{_NOT_A_NAME}(\w+) {_NOT_A_NAME}(\w+)"
_ALL = r"(?:(?:all|every|each|any)(?: of)? )?(?:the )?"
_BE = r"(?: (?:is|are|be|to be|(?:must|should|shall) (?:be|have)|has|have|with|needs?))?"
PART_PHRASES = (
    (r"(?:left )?unlocked", "not locking"),
    (rf"{GATE} {NOT_LOCKING}|{NOT_LOCKING}(?: {GATE})?|locking ?[:=] ?(?:no|false)", "not locking"),
    (rf"(?P<keep>.*(?:carabiner|connector|crab|link|shackle|hook)(?![\w]).*[:,] ?)(?:{AUTO_LOCKING}(?: {GATE})?)",
     "locking"),
    (rf"{GATE} (?:{LOCKING}|locking)|{LOCKING}(?: {GATE})?|locking {GATE}|(?:with )?(?:a )?lock(?:ing {GATE})?|"
     r"locking ?[:=] ?(?:yes|true)", "locking"),
    (rf"(?:(?:takes?|fits|accepts|for|grips|holds|ropes?|diameters?|range)[:=]? )?(?:ropes? )?(?:of |from )?"
     rf"{_N} ?(?:mm)? ?(?:-|–|to|\.\.|…|and|up to) ?{_N} ?mm(?: ropes?)?", r"takes \1 to \2 mm"),
    (rf"(?:takes?|fits|accepts|for|grips)[:=]? (?:ropes? )?(?:of )?{_N} ?mm(?: ropes?)?", r"takes \1 to \1 mm"),
    (r"takes (\d+),(\d+) to", r"takes \1.\2 to"),
    (rf"takes {_N} to (\d+),(\d+)", r"takes \1 to \2.\3"),
    (rf"(?:parts? ?-?of|parts?|belongs to|belonging to|member of|built into|in|on) {_ONE}(?:structure|vehicle) {_NAME}",
     r"part of \1"),
    (rf"(?:parts? ?-?of|parts?|belongs to|belonging to|member of|built into|on|"
     rf"in(?! (?:an? )?(?:line|row)s?\b))[:=]? {_ONE}{_NAME}", r"part of \1"),
    (rf"part of {_ONE}{_TWO}", r"part of \1-\2"),
    (r"gear[- ]only|only (?:for )?(?:gear|tools)|for (?:gear|tools)(?: only)?|gear[- ]loop|(?:gear|tools|accessory)"
     r"(?: only)?", "gear only"),
    (rf"(?:room|space|holes|eyes)[:=]?(?: for)? {_N}(?: (?:parts|connectors|things|carabiners|holes))?",
     r"room for \1"),
    (rf"(?:holds|takes) {_N}(?: (?:parts|connectors|things|carabiners))?|{_N} (?:holes|eyes|parts|connectors)",
     r"room for \1\2"),
    (rf"(?:minor(?:[- ]axis)?|short axis|cross(?:[ -](?:load(?:ed)?|axis))?|across|sideways)(?: strength)?[:=]? {_KN}",
     r"minor axis \1"),
    (rf"(?:strength )?{_KN} (?:minor(?: axis)?|across|sideways)", r"minor axis \1"),
    (rf"(?:with )?(?:gate[ -]open|open[ -]gate|open)(?: strength)?[:=]? {_KN}", r"gate open \1"),
    (rf"(?:major(?:[- ]axis)?|long axis|along)(?: strength)?[:=]? {_KN}", r"strength \1"),
    (rf"strength {_KN} (?:major(?: axis)?|along)", r"strength \1"),
    (r"(?:directions?|direction of pull|pull(?:s|ed)?(?: from)?|loads?|loaded)[:=]? (?=down\b|\()", "directions "),
    (r"(directions? [^\"]*?(?:down|\))), (?=within)", r"\1 "),
    (rf"directions? {_N}, ?{_N}, ?(-?\d+(?:\.\d+)?)", r"directions (\1, \2, \3)"),
    (r"(directions?) (?:downwards?|straight down|vertical(?:ly)?)", r"\1 down"),
    (r"(directions?) (?:upwards?|up|straight up)", r"\1 (0, 0, 1)"),
    (r"(directions? .*(?:down|\))) ?(?:\+/-|±|up to|to|\+-|plus or minus) ?(\d+ ?deg)", r"\1 within \2"),
    (r"(directions? .*\)) ?(?:,|and|,? or) ?(?=\()", r"\1 or "),
    (r"(directions? (?:down|\([^()]*\)))$", r"\1 within 30 deg"),
    (r'(?:sources?|standards?|certified to|certified|from|to|ref)[:=]? ?("[^"]*")', r"source \1"),
    (r"(?:sources?|standards?)[:=]? ?['`]?([A-Za-z][^\"',:]*?)['`]?(?= ?(?:,|$))", r'source "\1"'),
    (r"(EN ?\d+(?: (?:class|type) \w)?)", r'source "\1"'),
    (r"carries[- ](?:the )?(?:loads? |weight )?through|loads? (?:goes )?through|through[- ]load", "carries through"),
    (rf"(?:choked|choker|girthed|girth-hitched|in a choker(?: hitch)?) (?:round|around|over|on|to) {_ONE}{_NAME}",
     r"choked round \1"),
    (rf"(?:in a )?basket(?:ed| hitch)? (?:round|around|over|under|on) {_ONE}{_NAME}", r"basket round \1"),
    (r"(?:lowers?|lets? (?:down|out)|pays? out|comes down|runs)(?: slowly)? (?:by )?itself|"
     r"(?:speed|rate)[- ](?:limited|limiting|controlled)|(?:controlled|constant)[- ](?:descent|rate|speed)"
     r"(?: descender)?", "lowers by itself"),
    (rf"not below {_NAME}(?:, {_NAME})*", "not below"),
    (rf"(?:under|beneath|underneath|lies (?:below|under)) {_ONE}{_NAME}", r"below \1"),
    (rf"(?:stand(?:s|ing)?|stood|feet) (?:on|in|upon) {_ONE}(?:load |litter )?{_NAME}", r"stands on \1"),
    (rf"(?:lies |laid |over |loaded )+(?:across )?(?:{_ONE}edge )?{_ONE}{_NAME}|across {_ONE}edge {_NAME}",
     r"across \1\2"),
)  # fmt: skip
"""What people write of a part (a regular expression over a line with single blanks), and how the language says it."""
NEAR_PHRASES = (
    (r'near[:=]? ?"(\w+)"', r"near \1"),
    (r'near[:=]? ?"(\w+) (\w+)"', r"near \1-\2"),
    (rf"(?:near(?:by| to| by| of)?|next to|close (?:to|by)|beside|alongside|adjacent to|by|past)[:=]? {_ONE}{_TWO}",
     r"near \1-\2"),
    (rf"(?:near(?:by| to| by| of)?|next to|close (?:to|by)|beside|alongside|adjacent to|by|past)[:=]? {_ONE}{_NAME}",
     r"near \1"),
)  # fmt: skip
ROPE_PHRASES = (
    (r"(?P<keep>^\s*)(?:joined|bent|spliced|knotted)(?: up)? (?:to|with|onto) (?:the )?(start|end) of the ([\w-]+)",
     r"joined to \2 of \3"),
    (r"(?P<keep>^\s*)(?:joined|bent|spliced|knotted|tied)(?: up)? (?:to|with|onto) (?:the )?([\w-]+)(?:'s)? "
     r"(start|end)\b", r"joined to \3 of \2"),
    (r"(?P<keep>^\s*)(?:joined|bent|spliced)(?: up)? (with [\w-]+) (to (?:start|end) of [\w-]+)", r"joined \3 \2"),
    (r"(?P<keep>^\s*)(?:joined|bent|spliced)(?: up)? (?:to|onto) (?:the )?([\w-]+)(?= with | as |,|$)",
     r"joined to end of \2"),
    (r"tag[-_]?lines?|(?:steering|guide|side|swing|control)[ -]line|(?:only )?steers(?: only)?|holds nobody",
     "tag line"),
    (r"(?:the )?(?:(?:lower|bottom|free|far|rope) )?(?:ends?|bottom|foot)[:=]?(?: (?:is|lies|hangs|rests|goes|reaches|"
     r"touches))?(?: (?:on|at|in|to|onto))? (?:the )?(?:ground|floor|deck)|ends? grounded", "end on ground"),
    (r"(?:the )?(?:start|top|(?:upper|top|near) end)[:=]?(?: (?:is|lies|rests|reaches|touches))?(?: (?:on|at|in|to))? "
     r"(?:the )?(?:ground|floor|deck)", "start on ground"),
    (r"(?P<keep>^\s*|.*, )on (?:the )?(?:ground|floor|deck)", "end on ground"),
    (rf"(?:drop|height|depth|descent|fall)(?: ?[:=]| of| is)? {_LONG}", r"drop \1"),
    (rf"{_LONG} (?:drop|high|deep|height)", r"drop \1"),
    (rf"(?:inside(?: of)?|in|within|through|sleeved (?:by|in|with)|covered by|protected by) {_ONE}sleeve {_NAME}",
     r"inside \1"),
    (rf"(?:inside(?: of)?|in|within|sleeved (?:by|in|with)|sleeve)[:=]? {_ONE}{_NAME}", r"inside \1"),
    (rf",? ?(?:with )?{_ONE}tail(?: of| length| ?[:=])? {_LONG}", r", tail \1"),
    (rf", {_LONG} (?:of )?tail", r", tail \1"),
    (rf"(, tail {_LONG}),? (as [\w-]+)", r" \3\1"),
    (rf"(?:like|kind|type|of kind|of type|is)[:=]? {_ONE}{_NAME}", r"like \1"),
)  # fmt: skip
STEP_PHRASES = (
    (rf"(?:hold|keep|holding|keeping) {_ONE}{_NAME} open", r"hold open \1"),
    (rf"(?:hold|keep) open the {_NAME}", r"hold open \1"),
    (rf"let (?:go of )?{_ONE}{_NAME}(?: (?:go|grip|lock|bite|hold|catch))?", r"let \1 grip"),
)
"""What people write of a step."""
_CONNECTORS = r"(?:connectors?|carabiners?|karabiners?|crabs?|gates?)"
REQUIRE_PHRASES = (
    (rf"{_ALL}{_CONNECTORS}(?: {GATE})?{_BE} {_ONE}(?:{LOCKING}|locking|lock|{AUTO_LOCKING})(?: {GATE})?|"
     rf"{_ALL}(?:only )?(?:locking|lockable|locked) {_CONNECTORS}(?: only)?", "every connector is locking"),
    (rf"{_ALL}(?:rope )?edges?{_BE} {_ONE}(?:padded|protected|guarded|covered|padding|pads?|protection|protectors?|"
     r"guards?)(?: by [\w-]+)?", "every edge is padded"),
    (rf"{_ALL}(?:ropes?(?:'s|')? ?ends?|ropes?|ends?(?: of {_ALL}ropes?)?){_BE} {_ONE}"
     r"(?:stopper[ -]?(?:knots?)?s?|stopped|knots?|knotted)(?: (?:at|in|on) (?:the |its |their )?ends?)?",
     "every rope end has a stopper"),
    (rf"{_ONE}(?:stopper[ -]knots?|stoppers?|end knots?)(?: (?:at|in|on|for) {_ALL}(?:rope )?(?:ends?|ropes?)"
     rf"(?: of {_ALL}ropes?)?)?", "every rope end has a stopper"),
    (rf"{_ALL}anchors?(?: bolts?| points?)?{_BE}(?: (?:holds?|takes?|bears?))?(?: {_ONE}(?:minimum )?strength)?"
     rf"(?: (?:of|is))?(?: (?:at least|minimum(?: of)?|min|>=?|over|more than|above))?(?: strength)? {_N} ?(kN|N|lbf)",
     r"every anchor has strength at least \1 \2"),
    (r"(?:(?:all|each|any|every) )?(?:people|persons) have|(?:all|each|any) person has", "every person has"),
    (r"(?:all|each|any) (?:person|people|persons)|every people|people|persons", "every person"),
    (r"(?:each|any) body|all bodies", "everyone"),
)  # fmt: skip
ACCEPT_PHRASES = (
    (r"(?P<keep>.* (?:on|for|at|of|in) )(?:the )?(?:rope|knot|part|anchor|connector|carabiner|edge) (?=[\w-])", ""),
    (r"(?P<keep>.* on .*)(?: because| since| as|,|;| -)", ":"),
    (r'(?P<keep>(?:accept|sound|latent) .*[^: ]) (?="[^"]*"$)', ": "),
    (r"(?P<keep>latent )(?:failure|fault|slip) ", ""),
    (r"(?:is |was |with )?(?:the )?(?:gate )?(?:is )?(?:left )?(?:open|unlocked|unscrewed|broken|missing|"
     r"loose)", "fails"),
    (r"(?:is |was )?(?:not|never|badly|wrongly) tied|untied|(?:is |comes |came )?undone", "slips"),
)  # fmt: skip
EVERYTHING = ("everything", "everywhere", "all", "any", "anything", "every", "rig")
"""What people write for all parts at once, where one is named."""
WHY = {
    r"(?:left )?unlocked": (
        "a gate left unlocked is a slip: `latent left-crab fails`", "for a gate without a lock write",
    ),
    "gear only": ("a part for tools alone is `gear only`", "write"),
    r"takes \1 to \1 mm": ("`takes` tells the thinnest rope and the thickest: two numbers", "write"),
    r"\1 within 30 deg": ("it is not said how far from that direction a pull may be", "for example"),
}  # fmt: skip
"""What is said, and how the correction begins, where `… is written …` would not tell enough; by
phrase or by how the language says it."""
REQUIREMENTS_ABOUT = {
    "connector": "every connector is locking", "connectors": "every connector is locking",
    "carabiner": "every connector is locking", "carabiners": "every connector is locking",
    "gate": "every connector is locking", "gates": "every connector is locking",
    "edge": "every edge is padded", "edges": "every edge is padded",
    "rope": "every rope end has a stopper", "ropes": "every rope end has a stopper",
    "end": "every rope end has a stopper", "ends": "every rope end has a stopper",
    "stopper": "every rope end has a stopper", "stoppers": "every rope end has a stopper",
    "anchor": "every anchor has strength at least 15 kN", "anchors": "every anchor has strength at least 15 kN",
}  # fmt: skip
"""What can be asked of a thing that is not a body."""
UNITS = "kN, N, lbf, kg, lb, m, mm, ft, in, deg"
UNITS_OF = {
    "strength": "kN N lbf", "force": "kN N lbf", "length": "m mm ft in", "width": "mm in", "slack": "m ft",
    "drop": "m ft", "by": "m ft", "stretch": "kg kN", "person": "kg lb", "litter": "kg lb", "load": "kg lb",
    "rope": "mm m", "and": "deg", "axis": "kN lbf", "open": "kN lbf", "least": "kN lbf", "to": "mm", "within": "deg",
    "tail": "mm", "units": "lbf ft lb kN m kg",
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
    "diameters": "write a length: 10 diameters of an 11 mm rope are 110 mm",
    "diameter": "write a length: 10 diameters of an 11 mm rope are 110 mm",
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
    "revision": "revision 4, dated 2026-11-28",
    "note": 'note "drawn from the north side"',
    "include": 'include "kit.rig"',
    "units": "units lbf, ft, lb",
    "kind": "kind steel-ring like ring: strength 50 kN",
    "attach": "attach left-bolt - carabiner left-crab - left-brake",
    "interlock": "interlock red-bowline, green-bowline",
    "tied": "tied to master with bowline as red-bowline",
    "again": "again master-knot",
    "through": "through pulley-1",
    "over": "over lip, padded by mat",
    "gripped": "gripped by left-brake, load from red-bowline",
    "held": "held by jo, load from pulley-1",
    "stopper": "stopper as red-end",
    "joined": "joined to end of blue with double-fishermans as bend",
    "closed": "closed with double-fishermans",
    "slack": "slack 0.4 m",
    "rope": "rope red: 11 mm, 60 m",
    "cause": "cause rockfall: red[lip..red-bowline] is cut, left-bolt fails",
    "likelihood": "likelihood left-brake slips: 1e-3",
    "sound": 'sound master fails: "forged ring, inspected this season"',
    "accept": 'accept lip cuts: "rounded, padded, watched"',
    "latent": 'latent left-crab fails: "gate left unlocked"',
    "require": "require every person has 2 independent attachments",
    "stage": 'stage "Tilt the litter"',
    "detach": "detach leg-3 from master",
    "rerig": "rerig red",
    "lock": "lock off left-brake",
    "take": "take left-brake in hand",
    "hold": "hold open capture",
    "let": "let capture grip",
    "take in": "take in red by 0.3 m",
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
    "DONE_BY": "`, by` and who does it",
    "NUMBER": "a number",
    "DATE": "a day (2026-11-28)",
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
