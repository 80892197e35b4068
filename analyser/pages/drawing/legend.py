"""What stands above and below the drawing: title and cautions, ropes, common causes, the legend."""

from __future__ import annotations

from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.pages.drawing import colours
from analyser.pages.drawing.marks import Marks
from analyser.pages.drawing.parts import marked
from analyser.pages.drawing.words import SMALL, bold, folded, html_label, lines, literal, sized, who_falls
from analyser.rig.model import Failure, Rope

Entry = tuple[str, str]
"""A sample and what it means."""
LEFT = 'ALIGN="LEFT" BALIGN="LEFT"'
SHAPES = (
    ("stacked boxes", "each touches the next"),
    ("filled box", "ground"),
    ("box", "joint: holds what it touches"),
    ("box between black jaws", "grip: holds the rope"),
    ("rounded, in the rope's colour", "knot, stopper"),
    ("oval", "pulley: rope runs through"),
    ("grey box", "edge, a box for each rope over it"),
    ("slanted box", "pad"),
    ("roofed box", "stands on its feet and guys"),
    ("large box, rounded or square", "person; litter or load"),
)
HOLDING = "What holds is drawn above what it holds: feet above the frame that stands on them."
MANY = 40
"""From so many parts on the drawing is wide enough for long lines."""
CAUSE_WIDE = 190
ROWS, WIDEST = 5, 4


def heading(result: Result, marks: Marks, tall: int = 0) -> str:
    """Title, revision, what is shown, and the cautions; `tall`: as many rows at least say what is shown."""
    rig = result.rig
    revision = f"   revision {literal(rig.revision)}" if rig.revision else ""
    shown = _shown(result, marks)
    rows = [bold(sized(literal(rig.title), 20)) + sized(revision, 13)]
    rows += [bold(sized(literal(row), 12)) for row in shown] + [sized("&#160;", 12)] * (tall - len(shown))
    held = "Held means in balance on what is left; drop not checked. Nothing here is drawn to scale."
    for text in (" ".join(CAUTIONS), held):
        rows += [sized(literal(row), 10) for row in folded(text, int(200 * _wide(result)))]
    cells = "".join(f'<TR><TD ALIGN="LEFT">{row}</TD></TR>' for row in rows)
    cells += '<TR><TD HEIGHT="10"></TD></TR>'
    return html_label(f'<TABLE BORDER="0" CELLPADDING="1" CELLSPACING="0">{cells}</TABLE>')


def heading_rows(result: Result, marks: Marks) -> int:
    """In how many rows a heading says what is shown."""
    return len(_shown(result, marks))


def _wide(result: Result) -> float:
    return 1.0 if len(result.rig.parts) < MANY else 1.5


def _shown(result: Result, marks: Marks) -> list[str]:
    """What is drawn: which state, and what has failed."""
    if marks.shown:
        shown = marks.shown
    elif marks.asking:
        shown = f"{_state(result)}: what is held, and by what?"
    elif marks.failing:
        falls = marks.dropped
        end = who_falls(falls, len(marks.fates)) if falls else "everybody is held; drop not checked"
        state = "" if result.states[0].step is None else f"{_state(result)}. "
        shown = f"{state}What is left after: {'; '.join(marks.failing)}. Then {end}."
    else:
        shown = f"{_state(result)}, nothing failed. Requirements: {result.closing}"
    return _evenly(shown, int(150 * _wide(result)))


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


def footing(result: Result, marks: Marks, rope_colours: dict[str, str]) -> str:
    """Ropes, lines, shapes and common causes, in one strip under the drawing."""
    shapes = [(sized(f"<I>{literal(look)}</I>", SMALL), sized(word, SMALL)) for look, word in SHAPES]
    groups = (
        ("Ropes", _ropes(result.rig.ropes, rope_colours, marks)),
        ("Lines", _line_kinds(marks)),
        ("Shapes", shapes),
    )
    high = max(ROWS, len(result.rig.ropes) // WIDEST)
    columns = [
        ("" if start else title, entries[start : start + high])
        for title, entries in groups
        for start in range(0, len(entries), high)
    ]
    heads = "".join(f'<TD COLSPAN="2" {LEFT}>{bold(sized(title, 10)) or " "}</TD>' for title, _ in columns)
    rows = [f"<TR>{heads}</TR>"]
    for k in range(high):
        pairs = [entries[k] if k < len(entries) else (" ", " ") for _, entries in columns]
        cells = "".join(f"<TD {LEFT}>{sample}</TD><TD {LEFT}>&#160;{words}&#160;&#160;</TD>" for sample, words in pairs)
        rows.append(f"<TR>{cells}</TR>")
    rows.append(f'<TR><TD COLSPAN="{2 * len(columns)}" {LEFT}>{sized(HOLDING, SMALL)}</TD></TR>')
    for cause in result.rig.failures:
        if cause.mode == "strikes":
            rows.append(f'<TR><TD COLSPAN="{2 * len(columns)}" {LEFT}>{_cause(cause, marks)}</TD></TR>')
    table = f'BORDER="1" COLOR="{colours.QUIET}" CELLBORDER="0" CELLSPACING="0" CELLPADDING="1"'
    return html_label(f"<TABLE {table}>{''.join(rows)}</TABLE>")


def _ropes(ropes: tuple[Rope, ...], tints: dict[str, str], marks: Marks) -> list[Entry]:
    entries = []
    for rope in reversed({rope.name: rope for rope in reversed(ropes)}.values()):
        sizes = [quantity.text for key, quantity in rope.quantities if key in ("diameter", "length")]
        words = bold(sized(literal(rope.name), SMALL)) + sized(f"  {literal(', '.join(sizes))}", SMALL)
        notes = marked(rope.name, marks, colours.ALARM, colours.QUIET)
        entries.append((_bars(tints[rope.name], 4), lines(words, *notes)))
    return entries


def _line_kinds(marks: Marks) -> list[Entry]:
    if marks.asking:
        last = (" ", " ")
    elif marks.shown:
        last = (_dots(colours.LOST, 3), "GONE: dashed grey; NEW: heavy")
    elif marks.failing:
        last = (_dots(colours.LOST, 3), "lost: dashed grey, with a word")
    else:
        last = (_bars(colours.INK, 2, 2), "SINGLE POINT: double line or outline")
    words = [
        (_bars(colours.INK, 4), "rope, with its name"),
        last,
        (_bars(colours.INK, 1), "contact"),
        (_bars(colours.QUIET, 2), "stands on, is guyed by (crossbar there)"),
        (_dots(colours.QUIET, 6), "works or minds; keeps ropes off an edge"),
    ]
    if marks.forces:
        words.append(
            (bold(sized("1.23 kN", SMALL)), "the largest pull on it, at rest; ≤: what is beside it takes a share")
        )
    if marks.room:
        words += [
            (_bars(colours.INK, 3), "NEW, CHANGED: by the step that this state is after"),
            (_dots(colours.LOST, 3), "OFF, TAKEN OUT by it: dashed grey, with the word"),
        ]
    return [(sample, sized(text, SMALL)) for sample, text in words]


def _cause(cause: Failure, marks: Marks) -> str:
    effects = cause.effects
    struck = (
        (effects.gone, "gone"),
        (effects.cut, "cut"),
        (effects.ungripped, "no longer grip"),
        (effects.open_hands, "let go"),
        (effects.unfooted, "lose footing"),
        (effects.cutting, "cut what is bare"),
    )
    told = "; ".join(f"{word}: {', '.join(sorted(names))}" for names, word in struck if names)
    first, *more = folded(f"{cause.part} strikes. {told}", CAUSE_WIDE)
    head = bold(sized("Common cause ", SMALL)) + sized(literal(first), SMALL)
    marking = "&#160;&#160;".join(marked(cause.part, marks, colours.ALARM, colours.QUIET, CAUSE_WIDE))
    rows = [head, *(sized(literal(row), SMALL) for row in more)]
    rows[-1] += f"&#160;&#160;{marking}" if marking else ""
    return '<BR ALIGN="LEFT"/>'.join([*rows, ""])


def _bars(colour: str, thick: int, count: int = 1) -> str:
    """A sample of a line, single or double, made of filled cells."""
    bar = f'<TR><TD WIDTH="30" HEIGHT="{thick}" FIXEDSIZE="TRUE" BGCOLOR="{colour}"></TD></TR>'
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="1" CELLPADDING="0">{bar * count}</TABLE>'


def _dots(colour: str, count: int) -> str:
    wide = 30 // (2 * count - 1)
    cells = "<TD></TD>".join(
        f'<TD WIDTH="{wide}" HEIGHT="2" FIXEDSIZE="TRUE" BGCOLOR="{colour}"></TD>' for _ in range(count)
    )
    gap = f'CELLSPACING="{max(wide // 2, 1)}"'
    return f'<TABLE BORDER="0" CELLBORDER="0" {gap} CELLPADDING="0"><TR>{cells}</TR></TABLE>'
