"""What stands above and below the drawing: title and cautions, ropes, common causes, the legend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analyser.checking.foremost import verdict_head, verdict_rest
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.checking.sentences import listed
from analyser.language.identities import spoken
from analyser.pages.drawing import colours
from analyser.pages.drawing.colours import Stroke
from analyser.pages.drawing.marks import Marks, ToDo
from analyser.pages.drawing.parts import NOT_SO, PUT, marked
from analyser.pages.drawing.words import SMALL, bold, folded, html_label, lines, literal, sized, who_falls
from analyser.rig.figures import as_force
from analyser.rig.model import Failure, Nature, Rig

Entry = tuple[str, str]
"""A sample and what it means."""
LEFT = 'ALIGN="LEFT" BALIGN="LEFT"'
SHAPES: tuple[tuple[str, str, tuple[Nature, ...]], ...] = (
    ("stacked boxes", "each touches the next", (Nature.JOINT, Nature.GRIP)),
    ("grey under a bar", "ground", (Nature.GROUND,)),
    ("box", "joint: holds what it touches", (Nature.JOINT,)),
    ("box between jaws", "grip: holds the rope", (Nature.GRIP,)),
    ("rounded, in the rope's colour", "knot, stopper", (Nature.KNOT, Nature.STOPPER)),
    ("oval", "pulley: rope runs through", (Nature.PULLEY,)),
    ("grey box", "edge, a box for each rope over it", (Nature.EDGE,)),
    ("slanted box", "pad", (Nature.PAD,)),
    ("roofed box", "stands on its feet and guys", (Nature.FRAME,)),
    ("large box, rounded", "person", (Nature.PERSON,)),
    ("large box, square", "litter, load", (Nature.LITTER, Nature.LOAD)),
)
"""Each look, what it means, and what is drawn so."""
SAID_IN_IT = ("box", "slanted box", "large box, rounded", "large box, square")
HELD_MEANS = "Held: in balance on what is left; drop not checked."
HELD_FROM = "What holds is drawn above what it holds."
HOLDING = "What holds is drawn above what it holds: feet above the frame that stands on them."


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page of A4 or Letter with its margins: inches, letters of a heading's line, entries of its legend across."""

    size: str
    letters: int
    across: int


ACROSS, UPRIGHT = Sheet("11,7.6", 150, 5), Sheet("7.6,11", 125, 2)
IN_TEXT = Sheet("7.1,8", 110, 2)
"""A picture among the words of an upright page."""
VERDICT, AS_ASKED, ORDER = 16, 12, 10
"""Type of a verdict, of one that everything is met, and of what is done, in points before the picture is fitted to its
sheet."""
MANY = 40
"""From so many parts on the drawing is wide enough for long lines."""
ROWS = 2
"""A strip has so few rows at least."""


def heading(result: Result, marks: Marks, sheet: Sheet = ACROSS, tall: int = 0) -> str:
    """Title, revision, the verdict, and what is shown; `tall`: in a film, in which each picture has a
    row of its own for what is shown, as many rows at least say both."""
    rig = result.rig
    revision = f"   revision {literal(rig.revision)}" if rig.revision else ""
    shown, further = _shown(result, marks, sheet, apart=bool(tall))
    size = _type(result)
    told = [bold(sized(literal(row), size)) for row in shown] + [sized("&#160;", size)] * (tall - len(shown))
    if marks.do.rows:  # as on every page: what is to be known first stands in a box
        told = [_box(told, marks.do, int(sheet.letters * 12 / ORDER * _wide(result)))]
    width = sheet.letters if marks.brief else _small(rig, sheet)
    small = [sized(literal(row), 10) for words in further for row in _evenly(words, width)]
    rows = [bold(sized(literal(rig.title), 12)) + sized(revision, 12), *told, *small]
    rows = [] if marks.within else rows  # the page has said all that
    cells = "".join(f'<TR><TD ALIGN="LEFT">{row}</TD></TR>' for row in rows)
    cells += f'<TR><TD HEIGHT="{6 if marks.do.rows else 3}"></TD></TR>'
    return html_label(f'<TABLE BORDER="0" CELLPADDING="1" CELLSPACING="0">{cells}</TABLE>')


def heading_rows(result: Result, marks: Marks) -> int:
    """In how many rows a heading says what is shown."""
    return len(_shown(result, marks, ACROSS, apart=True)[0])


def _box(head: Sequence[str], do: ToDo, wide: int) -> str:
    """The verdict, and below it who hangs on what and what is done: labels, and the words beside them."""
    side, first = max(len(label) for label, *_ in do.rows), bold(sized("&#160;", ORDER))
    rows = [f'<TR><TD COLSPAN="2" ALIGN="LEFT">{row}</TD></TR>' for row in head]
    for label, words, strong in do.rows:
        orders = [folded(order, wide - side) for order in words.split("\n")]
        told = [sized(_with_room(row), ORDER) for order in orders for row in order]
        told = [bold(row) for row in told] if strong else told
        beside = lines(*(first + row for row in told))  # with it a row lies as high in its cell as its label does
        cells = f'<TD ALIGN="LEFT" VALIGN="TOP">{bold(sized(literal(label), ORDER))}</TD><TD {LEFT}>{beside}</TD>'
        rows.append(f"<TR>{cells}</TR>")
    return f'<TABLE BORDER="2" CELLBORDER="0" CELLPADDING="1" CELLSPACING="1">{"".join(rows)}</TABLE>'


def _with_room(row: str) -> str:
    """A row as wide as it is shown: the layout takes an arrow for half as wide."""
    return literal(row) + "&#160;" * (2 * row.count("→"))


def _type(result: Result) -> int:
    return AS_ASKED if result.met else VERDICT


def _wide(result: Result) -> float:
    return 1.0 if len(result.rig.parts) < MANY else 1.5


def _shown(result: Result, marks: Marks, sheet: Sheet, *, apart: bool) -> tuple[list[str], tuple[str, ...]]:
    """Who hangs on one, and on what, where the rig is drawn as it is; and what is drawn: which state, and what has
    failed, in rows, or as a sentence to put before others."""
    width = int(sheet.letters * 12 / _type(result) * _wide(result))
    words = _said(result, marks)
    if marks.shown or (marks.shown_of and not marks.brief) or marks.asking or marks.failing:
        return _evenly(words, width), ()
    head = verdict_head(result, told_below=True)
    verdict = _evenly(marks.plan, width) + _evenly(f"{_state(result)}: {head}" if marks.plan else head, width)
    return ([*verdict, *_evenly(words, width)], ()) if apart else (verdict, (words,))


def _said(result: Result, marks: Marks) -> str:
    """What is drawn."""
    if marks.shown:
        return marks.shown
    if marks.shown_of:
        return f"{marks.shown_of} {verdict_rest(result)}." if marks.brief else marks.shown_of
    if marks.asking:
        return f"{_state(result)}: what is held, and by what?"
    if marks.failing:
        falls = marks.dropped
        end = who_falls(falls, len(marks.fates)) if falls else "everybody is held; drop not checked"
        state = "" if result.states[0].step is None else f"{_state(result)}. "
        return f"{state}What is left after: {'; '.join(map(spoken, marks.failing))}. Then {end}."
    chosen = f" {marks.chosen}" if marks.chosen else ""
    one = result.states[0]
    when = f", {one.when}" if one.when else ""
    brief = f"State {one.number}, {one.at_step}{when}" if marks.do.rows and one.step else _state(result)
    tried = f" {marks.do.tried}" if marks.do.tried else ""
    return f"{brief}, nothing failed.{chosen} {verdict_rest(result)}.{tried}"


def _state(result: Result) -> str:
    """Which state is drawn."""
    state = result.states[0]
    if state.step is None:
        return "As first attached"
    return f"State {state.number}, stage “{state.stage}”, {state.after}"


def _evenly(text: str, width: int) -> list[str]:
    """As few lines as `width` allows, and no word left alone on the last."""
    rows = folded(text, width)
    even = folded(text, len(text) // max(len(rows), 1) + 10)
    return even if len(even) == len(rows) else rows


def shapes_in(rig: Rig) -> tuple[tuple[str, str], ...]:
    """The looks that are in the picture of a rig, and what each means."""
    natures = {part.nature for part in rig.parts.values()}
    return tuple((look, word) for look, word, those in SHAPES if not natures.isdisjoint(those))


def footing(rig: Rig, marks: Marks, ropes: Mapping[str, tuple[str, Stroke]], sheet: Sheet, *, watching: bool) -> str:
    """What is in the picture and means something, in one strip under it: ropes by colour and stroke, lines, common
    causes; and in small print the shapes, of which each says of what kind it is. `watching`: does anybody work or mind
    a device, or anything keep a rope off an edge?"""
    entries = [*_ropes(rig, marks, ropes), *_line_kinds(rig, marks, watching=watching)]
    if marks.room:  # the pictures of a film are as wide as each other: as their strip
        entries += [
            (sized(f"&#160;<I>{literal(look)}</I>", SMALL), sized(word, SMALL)) for look, word in shapes_in(rig)
        ]
    high = max(ROWS, -(-len(entries) // sheet.across))
    columns = [entries[start : start + high] for start in range(0, len(entries), high)]
    rows = []
    for k in range(high if entries else 0):
        pairs = [column[k] if k < len(column) else (" ", " ") for column in columns]
        cells = "".join(f"<TD {LEFT}>{sample}</TD><TD {LEFT}>&#160;{words}&#160;&#160;</TD>" for sample, words in pairs)
        rows.append(f"<TR>{cells}</TR>")
    causes = [_cause(cause, marks, sheet.letters * 5 // 4) for cause in rig.failures if cause.mode == "strikes"]
    rows += [f'<TR><TD COLSPAN="{max(2 * len(columns), 1)}" {LEFT}>{told}</TD></TR>' for told in causes]
    table = f'BORDER="1" COLOR="{colours.QUIET}" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'
    strip = f"<TR><TD><TABLE {table}>{''.join(rows)}</TABLE></TD></TR>" if rows else "<TR><TD></TD></TR>"
    small = "" if marks.within else resting(rig, sheet)  # the page says that too
    return html_label(f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">{strip}{small}</TABLE>')


def resting(rig: Rig, sheet: Sheet) -> str:
    """What every picture says at its foot, in rows of a table: the cautions, and what its words and shapes mean."""
    told = (" ".join(CAUTIONS), f"{reading(rig)} {_shapes(rig)}".strip())
    rows = [sized(literal(row), 10) for one in told for row in _evenly(one, _small(rig, sheet))]
    end = '<BR ALIGN="LEFT"/>'
    return f"<TR><TD {LEFT}>{end.join([*rows, ''])}</TD></TR>"


def reading(rig: Rig) -> str:
    """What the words of a picture mean, and what its places."""
    above = HOLDING if any(part.needs for part in rig.parts.values()) else HELD_FROM
    return f"{HELD_MEANS} {above} Nothing is to scale."


def _shapes(rig: Rig) -> str:
    """The looks in a sentence, but for those of which the box itself says what it is."""
    found = [f"{look}: {word}" for look, word in shapes_in(rig) if look not in SAID_IN_IT]
    if any(contact.given for contact in rig.contacts):
        found.insert(0, "thin line: contact")
    return f"{'; '.join(found)}.".capitalize() if found else ""


def _small(rig: Rig, sheet: Sheet) -> int:
    """Letters of a line of small print."""
    return int(sheet.letters * 4 / 3 * (1.0 if len(rig.parts) < MANY else 1.5))


def _ropes(rig: Rig, marks: Marks, ropes: Mapping[str, tuple[str, Stroke]]) -> list[Entry]:
    entries = []
    for rope in reversed({rope.name: rope for rope in reversed(rig.ropes)}.values()):
        sizes = [quantity.text for key, quantity in rope.quantities if key in ("diameter", "length")]
        words = bold(sized(literal(rope.name), SMALL)) + sized(f"  {literal(', '.join(sizes))}", SMALL)
        notes = marked(rope.name, marks, colours.QUIET)
        entries.append((_sample(*ropes[rope.name]), lines(words, *notes)))
    return entries


def _line_kinds(rig: Rig, marks: Marks, *, watching: bool) -> list[Entry]:
    """The lines and marks that are in the picture, but for the ropes."""
    words = []
    if marks.shown:
        words.append((_dots(colours.LOST, 3), "GONE: dashed grey; NEW: heavy"))
    elif marks.failing:
        words.append((_dots(colours.LOST, 3), "dashed grey: lost, with a word; or it holds nobody any more"))
    if marks.room or not marks.taken.issuperset(marks.single):  # a film has the same strip under each picture
        words.append((_bars(colours.INK, 9), "black: a SINGLE POINT"))
    if marks.room or not marks.taken.isdisjoint(marks.single):
        words.append((_bars(colours.ACCEPTED, 9), "dark grey: a SINGLE POINT that the file accepts"))
    if marks.room or marks.wanted:
        words.append((_bars(colours.ALARM, 9), "red: NOTHING ATTACHED, where something may be missing"))
    if marks.do.at:
        words.append((_dots(colours.INK, 3, 3), f"{PUT}: what would mend it"))
    if marks.do.wrong:
        words.append((bold(sized(f"&#160;&#160;{NOT_SO}", SMALL + 4)), "where it is now, and is not to be"))
    if any(part.needs for part in rig.parts.values()):
        words.append((_bars(colours.QUIET, 2), "stands on, is guyed by (crossbar there)"))
    if watching:
        words.append((_dots(colours.QUIET, 6), "works or minds; keeps ropes off an edge"))
    if marks.forces:
        words.append(
            (bold(sized(as_force(1230), SMALL)), "the largest pull on it, at rest; ≤: what is beside it takes a share")
        )
    if marks.room:
        words += [
            (_bars(colours.INK, 3), "NEW, CHANGED: by the step that this state is after"),
            (_dots(colours.LOST, 3), "OFF, TAKEN OUT by it: dashed grey, with the word"),
        ]
    return [(sample, sized(text, SMALL)) for sample, text in words]


def _cause(cause: Failure, marks: Marks, wide: int) -> str:
    effects = cause.effects
    struck = (
        (effects.gone, "gone"),
        (effects.cut, "cut"),
        (effects.ungripped, "no longer grip"),
        (effects.open_hands, "let go"),
        (effects.unfooted, "lose footing"),
        (effects.cutting, "cut what is bare"),
    )
    told = "; ".join(f"{listed(sorted(names))} {word}" for names, word in struck if names)
    first, *more = folded(f"{cause.part} strikes: {told}", wide)
    head = bold(sized("Common cause: if ", SMALL)) + sized(literal(first), SMALL)
    marking = "&#160;&#160;".join(marked(cause.part, marks, colours.QUIET, wide))
    rows = [head, *(sized(literal(row), SMALL) for row in more)]
    rows[-1] += f"&#160;&#160;{marking}" if marking else ""
    return '<BR ALIGN="LEFT"/>'.join([*rows, ""])


def _sample(colour: str, stroke: Stroke) -> str:
    """A sample of a rope's line."""
    if stroke.style:
        return _dots(colour, 4 if stroke.style == "dashed" else 8, 4)
    return _bars(colour, 4 if stroke.count == 1 else 2, stroke.count)


def _bars(colour: str, thick: int, count: int = 1) -> str:
    """A sample of a line, single or double, made of filled cells."""
    bar = f'<TR><TD WIDTH="30" HEIGHT="{thick}" FIXEDSIZE="TRUE" BGCOLOR="{colour}"></TD></TR>'
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="1" CELLPADDING="0">{bar * count}</TABLE>'


def _dots(colour: str, count: int, thick: int = 2) -> str:
    """A sample of a broken line: cells with gaps of half their width between them."""
    wide = max(60 // (3 * count - 1), 1)
    gap = f'<TD WIDTH="{max(wide // 2, 1)}" HEIGHT="{thick}" FIXEDSIZE="TRUE"></TD>'
    cells = gap.join([f'<TD WIDTH="{wide}" HEIGHT="{thick}" FIXEDSIZE="TRUE" BGCOLOR="{colour}"></TD>'] * count)
    size = f'WIDTH="32" HEIGHT="{thick + 4}" FIXEDSIZE="TRUE"'
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0" {size}><TR>{cells}</TR></TABLE>'
