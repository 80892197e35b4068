"""The report of one rig: a page to open, question and sign, and its short form in Markdown.

The sections of the check, and the whole of the comment, are trees. The rest has one form only, that of a browser:
the picture that is pressed, the states that are slid through and the sheet that is answered are made of ids by
which the page's script reads the stored answers of `analyser/uses/review`. They stand in `html/report.html`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from markupsafe import Markup

import analyser.pages.tree as tree
from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.pages.drawing.answering import Answering, answering, inlined
from analyser.pages.drawing.by_body import FROM
from analyser.pages.drawing.diagram import drawn as sheet_drawn
from analyser.pages.drawing.legend import HOLDING, reading, shapes_in
from analyser.pages.drawing.marks import NOTHING_TO_DO, held_rows, intact
from analyser.pages.drawing.rendering import NotDrawn, render
from analyser.pages.drawing.side import side_view
from analyser.pages.tree import Block, Column, Note, Page, Table, section
from analyser.pages.writers.hypertext import based, elements, inside
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.at_the_head import to_do, verdict_box
from analyser.pages.writing.check_page import REQUIRED, check_page
from analyser.pages.writing.forces_page import followed
from analyser.pages.writing.inert import inert
from analyser.pages.writing.motion_page import in_time_words
from analyser.rig.figures import FEWER, USUAL, as_force, units, value
from analyser.uses.field.at_first import mending
from analyser.uses.field.said import Said
from analyser.uses.review.answered_page import Report
from analyser.uses.review.sheet import ANSWERS, Entry, Item, Placed

if TYPE_CHECKING:
    from analyser.forces.motion import Motion

STYLES, SCRIPT = ("report.css",), "report.js"
METAS = {"color-scheme": "light dark"}
FIRST, OF_A_STATE = 2, 3
"""Sections of the check that stand before the picture: who is held, what brings them down; and so many tell of one
state, the last of them what sets do."""
IN_WORDS = 2
"""So many failures together are told in sentences; all sizes in the table."""
VIEWED = re.compile(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"')
"""How wide and how high a picture is."""
FITTED = re.compile(r'transform="scale\(([\d.]+)')
"""How far a picture was made smaller to fit a sheet."""
MOST_ROWS = 120
"""Failure sets in the table of a page without its script."""


@dataclass(frozen=True, slots=True)
class Section:
    """One section of the page of a check, as elements."""

    id: str
    title: str
    body: Markup


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the rig's text, and the findings that stand at it."""

    number: int
    text: str
    items: tuple[Item, ...]


def report_html(report: Report) -> str:
    """A whole page that needs nothing else: no network, no font, no script but its own."""
    drawing, drawn = _drawn(report)
    parts, brief = sections(report.result, report.file), sections(_few(report), report.file)
    further = [*brief[FIRST:OF_A_STATE], *parts[2 * OF_A_STATE if report.begins else OF_A_STATE :]]
    look = first_look(report.result)
    mend = mending(report.result.rig, look)
    verdict = verdict_box(report.result, " ".join(CAUTIONS), look, mend)
    printed = _printed(report, look, mend)
    sets = report.sets
    moving = _moving(report)
    films = [(failure, inside(film), inside(strip)) for failure, _, film, strip in moving]
    return based(
        "report.html",
        f"Report: {report.result.rig.title}",
        STYLES,
        SCRIPT,
        running=_running(report),
        metas=METAS,
        verdict=elements((verdict,)),
        r=report,
        result=report.result,
        rig=report.result.rig,
        first=brief[:FIRST],
        room_first=_room_first(report, verdict, printed or drawn),
        printed=printed,
        begins=report.begins,
        when=_when(report),
        rest=sorted(further, key=lambda one: not one.title.startswith(REQUIRED)),
        cautions=CAUTIONS,
        picture=drawn,
        shapes=shapes_in(report.result.rig),
        holding=HOLDING,
        reading=reading(report.result.rig),
        rows=list(_rows(report)),
        elsewhere=[one for one in report.items if one.file not in (report.file, None)],
        sets=sets[:MOST_ROWS],
        more=max(0, len(sets) - MOST_ROWS),
        side=_side(report),
        films=films,
        in_time=in_time_words([told for _, told, _, _ in moving]) if moving else "",
        choices=ANSWERS,
        given={one.item: one for one in report.placed.fits} if report.placed else {},
        names=sorted({body.name for one in report.answers for body in one.bodies}),
        data=inert(
            {
                **report.to_dict(),
                "words": _words(report),
                "picture": _told(report, drawing),
                "printed_in": _printed_in(),
                "begins": report.begins,
            }
        ),
    )


SHEET, A_LINE, A_SMALL_LINE, OF_A_STATE_SHOWN = 228.0, 5.2, 4.0, 8.0
"""Millimetres of a printed sheet from its verdict to its foot, but for frame and gaps; of a line of the verdict, and of
its small print; of the line that says which state is drawn."""
WIDE, MOST_HIGH, LEAST_HIGH, STEP, LEAST_TYPE, NAMES, POINTS = 182.0, 190.0, 50, 5, 6.5, 12.0, 72 / 25.4
"""Millimetres of a picture's width, of its greatest height and its least, and the steps between; the least type of its
names on a sheet with other things, and their type before the picture is fitted, in points; points of a millimetre."""


def _room_first(report: Report, verdict: tree.Verdict, drawn: Markup) -> int | None:
    """How high the picture may be on the first printed sheet under the verdict, in millimetres (as `report.css` has
    them); None where that leaves its type too small, or all is met and the verdict tells nothing of who is held: then
    that comes first."""
    size, fitted = VIEWED.search(drawn), FITTED.search(drawn)
    if report.result.met or size is None or fitted is None:
        return None
    lines = len(plain((replace(verdict, cautions=()),)).strip().splitlines())
    small = len(plain((tree.Note(verdict.cautions),)).strip().splitlines())
    room = (
        SHEET
        - A_LINE * lines
        - A_SMALL_LINE * small
        - A_SMALL_LINE
        - OF_A_STATE_SHOWN * (len(report.result.states) > 1)
    )
    whole = min(float(size[2]) / POINTS, WIDE * float(size[2]) / float(size[1]))
    high = int(min(MOST_HIGH, whole + STEP, room) // STEP) * STEP
    kept = min(high, whole) * POINTS / float(size[2])
    return high if high >= LEAST_HIGH and NAMES * float(fitted[1]) * kept >= LEAST_TYPE else None


def comment_page(report: Report) -> Page:
    """The answer first, then what it rests on, then what reviewers said: for a comment in the review of a change."""
    page = check_page(report.result, report.file)
    return replace(page, blocks=(*page.blocks, section("Review", _review(report.placed)))) if report.placed else page


def _review(placed: Placed) -> Iterator[Block]:
    fits = f"{len(placed.fits)} of its {len(placed.review.entries)} answers fit what is found today"
    yield Note(f"With a review of {'this very' if placed.same else 'another'} text: {fits}.")
    rows = (*(_reviewed(one) for one in placed.fits), *(_reviewed(one, " (no longer found)") for one in placed.gone))
    yield Table(tuple(map(Column, ("Answer", "Of", "Note", "By"))), rows)
    for entry, now in placed.reworded:
        yield Note(f"Answered when it read otherwise: {entry.text}. Today: {now}")


def _reviewed(one: Entry, gone: str = "") -> tuple[str, ...]:
    by = ", ".join(said for said in (one.name, one.date) if said)
    return (f"{one.answer}{gone}", one.text or one.item, one.note, by)


def sections(result: Result, file: str) -> list[Section]:
    """The page of a check by its headings."""
    parts = [block for block in check_page(result, file).blocks if isinstance(block, tree.Section)]
    return [Section(f"part-{number}", one.title, elements(one.blocks, 3)) for number, one in enumerate(parts, 1)]


def _when(report: Report) -> str:
    """Which state is shown first."""
    return report.result.states[report.begins].after or "as first attached"


def _running(report: Report) -> str:
    """What stands on each printed sheet: what a signature on a loose one belongs to."""
    rig = report.result.rig
    revision = (f"revision {rig.revision}",) if rig.revision is not None else ()
    return ", ".join((f"Report: {rig.title}", *revision, report.file, f"text {report.mark}"))


def _few(report: Report) -> Result:
    """The result as told in words: larger sets stand in the table and in the stored answers."""
    result = report.result
    states = tuple(replace(state, outcome=state.outcome.up_to(IN_WORDS)) for state in result.states)
    return replace(result, order=min(result.order, IN_WORDS), states=states)


def _words(report: Report) -> list[dict[str, dict[str, str]]]:
    """How bodies fare after single failures, in words, by state, failure and body: where forces tell it."""
    numbers = {name: k for k, name in enumerate(report.failures)}
    found = []
    for state in report.result.states:
        loads = state.loads
        after = (loads.after or ()) if loads and loads.now.accepted else ()
        found.append(
            {
                str(numbers[one.failures[0]]): {
                    body.name: words
                    for body in state.outcome.bodies
                    if loads and (words := followed(body.name, one, loads.fares(body.name, one.failures)))
                }
                for one in after
                if len(one.failures) == 1 and one.failures[0] in numbers
            }
        )
    return found


# -- the picture


def _drawn(report: Report) -> tuple[Answering, Markup]:
    made = answering(report.result)
    first = report.result.states[report.begins]
    now = report.at(first.number)
    told = now.told(())
    words: dict[str, tuple[str, str]] = {}
    classes: dict[str, str] = {}
    for body in now.bodies:
        if body.name in made.ids:
            words[made.ids[body.name]] = held_word(body.held, body.independent, exact=body.independent_exact)
    for name in report.single_points:
        if name in made.ids and made.ids[name] not in words:
            words[made.ids[name]] = ("SINGLE", "single")
            classes[made.ids[name]] = "single"
    falls = f"; {', '.join(told.falls)} not held" if told.falls else ""
    said = f"The system {_when(report)}{falls}. Single points: {', '.join(report.single_points) or 'none'}."
    try:
        svg = render(made.source, "svg")
        by = {made.ids[name]: rows for name, rows in held_rows(first.rig, first.outcome).items() if name in made.ids}
    except NotDrawn as error:
        return made, Markup('<p class="undrawn">{}</p>').format(error)
    absent = frozenset(made.absent[first.number] if made.absent else ())
    return made, Markup(inlined(svg, words, classes, absent, said, by))


def _printed(report: Report, look: FirstLook, mend: Said | None) -> Markup | None:
    """Of a plan with stages the one state that a sheet shows, laid out for it alone: what is pressed on a screen is
    laid out for all of them; and of what isn't met, what would mend it. Many parts stay as they are."""
    result = report.result
    if (len(result.states) == 1 and result.met) or len(result.rig.parts) > FROM:
        return None
    alone = result.at(report.begins)
    marks = intact(alone)
    marks.brief = marks.within = True
    marks.do = NOTHING_TO_DO if result.met else replace(to_do(result, look, mend), rows=())
    try:
        svg = render(sheet_drawn(alone, marks), "svg").decode()
    except NotDrawn:
        return None
    return inside(re.sub(r' id="[^"]*"', "", svg))  # which those of the other picture have


def held_word(held: bool, independent: int | None, *, exact: bool) -> tuple[str, str]:
    """What stands on a body with nothing failed, and how it looks."""
    if not held:
        return "NOT HELD", "falls"
    if independent is None:
        return "held", ""
    if independent == 1 and exact:
        return "1 independent", "one"
    return f"{independent}{'' if exact else ' or more'} independent", ""


def _told(report: Report, drawing: Answering) -> dict[str, object]:
    """What each name is called in the picture, and what each state lacks."""
    bodies = {body.name for one in report.answers for body in one.bodies}
    asked = {name: drawing.ids[name] for name in {*report.parts, *bodies} if name in drawing.ids}
    return {"ids": dict(sorted(asked.items())), "absent": [list(one) for one in drawing.absent]}


def _printed_in() -> dict[str, object]:
    """In what the page's script tells forces, which it has in kN."""
    unit = units().force
    least = "a hundredth of a kN" if unit == USUAL.force else as_force(10.0)
    return {"force": unit, "one_kN": value(1000.0, unit), "digits": 2 - FEWER.get(unit, 0), "least": least}


def _side(report: Report) -> Markup | None:
    """The first state at rest, to scale, where its forces balance."""
    state = report.result.states[0]
    if state.loads is None or not state.loads.now.accepted:
        return None
    return inside(side_view(state.rig, state.loads.now))


FILMS = 2
"""Failures of the first state that are shown in time: the hardest."""


def _moving(report: Report) -> list[tuple[str, Motion, str, str]]:
    """The hardest failures of the first state in time: what fails, how it goes, and as a film and a strip."""
    state = report.result.states[0]
    if state.loads is None or not state.loads.now.accepted or not state.loads.after:
        return []
    from analyser.forces.equilibrium import Statics
    from analyser.forces.grounds import ground_of
    from analyser.forces.loads import hardest
    from analyser.forces.motion import motion
    from analyser.pages.drawing.filmed import film_of, strip_of

    statics = Statics.of(state.rig)
    known = {failure.id for failure in state.rig.failures}
    chosen = [name for name in hardest(state.loads.after) if name in known][:FILMS]
    if not isinstance(statics, Statics):
        return []
    base, ground = statics.equilibrium(), ground_of(state.rig)
    found = []
    for number, name in enumerate(chosen, 1):
        told = motion(statics, [name], base, ground=ground, starts=0)
        if told.told and told.way.pieces:
            film = film_of(statics, base, told, ground, play=f"play{number}")
            found.append((name, told, film, strip_of(statics, base, told, ground)))
    return found


# -- the tables


def _rows(report: Report) -> Iterator[Row]:
    here: dict[int, list[Item]] = {}
    for one in report.items:
        if one.file == report.file and one.line:
            here.setdefault(one.line, []).append(one)
    for number, text in enumerate(report.text, 1):
        yield Row(number, text, tuple(here.get(number, ())))
