"""The procedure as a page, for paper and for the screen of whoever writes it on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from analyser.checking.first_look import first_look
from analyser.checking.foremost import verdict_line, verdict_rest
from analyser.checking.results import Result
from analyser.checking.sentences import listed
from analyser.language.identities import spoken
from analyser.pages.drawing.by_body import FROM, overview
from analyser.pages.drawing.diagram import dot_source
from analyser.pages.tree import (
    Block,
    Column,
    Fields,
    Fill,
    Note,
    Page,
    Row,
    Section,
    Table,
    Tick,
    Title,
    code,
    given,
    quiet,
    section,
    strong,
)
from analyser.pages.writing.at_the_head import verdict_box
from analyser.pages.writing.ends import paper_title
from analyser.pages.writing.pictures import drawing
from analyser.pages.writing.procedure_steps import Steps
from analyser.pages.writing.states_page import after_steps
from analyser.pages.writing.translation import catalogue
from analyser.rig.figures import as_length
from analyser.uses.field.at_first import between, mending
from analyser.uses.field.said import Said
from analyser.uses.procedure.document import Asked, Procedure
from analyser.uses.procedure.kit import AnchorNeeded, Kit, RopeNeeded

FIGURES = "Figures, and where they come from"
OF_THE_FILE = (
    "Figures are those of the file; a kind of a standard gives the least that the standard asks. The mark on the part "
    "in the hand comes first."
)
PICTURE = (
    *("The picture of the system: ", code("stillheld draw RIG -o FILE.svg")),
    *(", or this document as ", code(".html"), "."),
)
OVERVIEW = "Who hangs from what, by which rope: ground at the top, single points by name."
SHEETS = ("What holds each body is on a sheet of its own: ", code("stillheld draw RIG --sheets DIR"), ".")
SIGNING = ("Made by", "Checked by", "Approved by", "In charge of the work")
SIGNED_FOR = (
    "Signed for is the text of that digest, with all that it includes: another text has another digest, and is signed "
    "anew. A signature says who looked, and nothing of how the system will hold."
)
TABLES = "“If a part fails”"
"""Under which heading the tables stand."""
MOST_REASONS = 3
"""Reasons why a requirement is broken that are told on the first sheet."""


def procedure_page(made: Procedure, result: Result) -> Page:
    """The whole document."""
    return procedures([(made, result)]).page


@dataclass(frozen=True, slots=True)
class Procedures:
    """One procedure or several in one document, in the three pieces in which a team's template may place them.
    `each` are the blocks of each procedure by itself, `verdicts` how each stands, in a line, and `rests` the part of
    it that says what that rests on."""

    made: tuple[Procedure, ...]
    verdicts: tuple[str, ...]
    rests: tuple[str, ...]
    name: str
    front: tuple[Block, ...]
    each: tuple[tuple[Block, ...], ...]
    approval: tuple[Block, ...]

    @property
    def body(self) -> tuple[Block, ...]:
        return tuple(block for blocks in self.each for block in blocks)

    @property
    def given(self) -> dict[str, object]:
        """What a team's template may place: each piece, and of each procedure what it says and its own blocks."""
        rigs = [
            {
                "title": made.title,
                "revision": made.revision,
                "file": made.file,
                "digest": made.digest,
                "closing": made.closing,
                "verdict": verdict,
                "met": made.met,
                "notes": made.notes,
                "cautions": " ".join(made.cautions),
                "procedure": Page(blocks, made.title),
                "document": made.to_dict(),
            }
            for made, verdict, blocks in zip(self.made, self.verdicts, self.each, strict=True)
        ]
        pieces = {"front": self.front, "procedures": self.body, "approval": self.approval}
        return {"title": self.name, **{name: Page(blocks, name) for name, blocks in pieces.items()}, "rigs": rigs}

    @property
    def never_without(self) -> tuple[tuple[str, ...], ...]:
        """What no document goes without, each in one of these wordings: the cautions, and of each procedure whether
        what is required is met."""
        cautions = dict.fromkeys(one for made in self.made for one in made.cautions)
        stands = ((made.closing, rest) for made, rest in zip(self.made, self.rests, strict=True))
        return (*((one,) for one in cautions), *stands)

    @property
    def page(self) -> Page:
        return Page((*self.front, *self.body, *self.approval), self.name)


def procedures(several: Sequence[tuple[Procedure, Result]]) -> Procedures:
    """One procedure, or several, with one table by which all are approved."""
    verdicts, rests = (tuple(told(result) for _, result in several) for told in (verdict_line, verdict_rest))
    approval = (Section("Approval", tuple(_approval([made for made, _ in several])), sheet="whole"),)
    if len(several) == 1:
        ((made, result),) = several
        front = paper_title("Procedure", made.title, made.revision, made.file, *_text(made), notes=made.notes)
        blocks = (tuple(_procedure(made, result)),)
        return Procedures((made,), verdicts, rests, f"Procedure: {made.title}", (front,), blocks, approval)
    titles = "; ".join(made.title for made, _ in several)
    contents = Table(
        tuple(map(Column, ("", "Procedure", "Required"))),
        tuple((f"{number}", made.title, made.closing) for number, (made, _) in enumerate(several, 1)),
        sort="kit",
        about=1,
    )
    front_of_all = (Title(titles, (f"{len(several)} procedures in one document",), (), "Procedures"), contents)
    each = tuple(
        (Section(f"{number}. ", tuple(_one_of_several(made, result)), made.title),)
        for number, (made, result) in enumerate(several, 1)
    )
    every = tuple(made for made, _ in several)
    return Procedures(every, verdicts, rests, f"Procedures: {titles}", front_of_all, each, approval)


def _text(made: Procedure) -> tuple[str, ...]:
    return (f"text {made.digest}",) if made.digest else ()


def _one_of_several(made: Procedure, result: Result) -> Iterator[Block]:
    """Its steps and tables are numbered by themselves: what names them stands in this one."""
    revision = (f"Revision {made.revision}",) if made.revision else ()
    yield Note(", ".join((*revision, f"made from {made.file}", *_text(made))))
    yield from map(Note, made.notes)
    yield from _procedure(made, result)


def _procedure(made: Procedure, result: Result) -> Iterator[Block]:
    """One procedure, from who does it where to what its file takes as given."""
    look = first_look(result)
    steps = Steps(made, result, look)
    mend = mending(result.rig, look)
    yield verdict_box(result, " ".join(made.cautions), look, mend)
    yield Fields(("Date", "Place", "In charge"))
    yield section("Scope", _scope(made))
    yield section("People", [_people(made)])
    yield section("Kit", (*_not_in_it(mend), *_kit(made, mend)))
    yield section("Before the first load", _looks(made))
    yield Section("The system", tuple(_system(result)), sheet="across")
    yield section("Steps", steps.every())
    yield Section("If a part fails", tuple(steps.answers()), sheet="apart")
    yield from steps.ways_back()
    yield section("Taken as given", _given(made))


def _approval(several: Sequence[Procedure]) -> Iterator[Block]:
    """What is signed for, and by whom."""
    columns = tuple(map(Column, ("Procedure", "Revision", "Made from", "Text", "Required")))
    rows = tuple((one.title, one.revision or "–", one.file, one.digest or "–", one.closing) for one in several)
    yield Table(columns, rows, sort="kit")
    yield Note(SIGNED_FOR, small=True)
    heads = tuple(map(Column, ("Signed", "Name", "Signature", "Date")))
    yield Table(heads, tuple((who, Fill(), Fill(), Fill(short=True)) for who in SIGNING), sort="approval")


def _system(result: Result) -> Iterator[Block]:
    """The picture: of a rig of many parts the overview, and where each body's own sheet is."""
    if len(result.rig.parts) <= FROM:
        yield drawing(dot_source(result), instead=Note(PICTURE))
        return
    yield drawing(overview(result), OVERVIEW, instead=Note(PICTURE))
    yield Note(SHEETS)


def _table(heads: Iterable[str], rows: Iterable[Row]) -> Table:
    return Table(tuple(map(Column, heads)), tuple(rows), sort="kit")


# -- what it is about, with what, by whom


def _scope(made: Procedure) -> Iterator[Block]:
    stages = "; ".join(stage.title for stage in made.stages)
    told = f"Stages: {stages}." if stages else "One state: the file has no stages."
    yield Note(f"To be held: {listed(made.bodies) or 'nobody and nothing'}. {told}")
    assumed = " (house defaults: the file asks for nothing)" if made.requirements[0].assumed else ""
    open_ = [one for one in made.requirements if one.because]
    if open_:
        columns = (Column(f"Required{assumed}"), Column("Met?"))
        yield Table(
            columns, tuple(_asked(one, max(1, MOST_REASONS // len(open_))) for one in open_), sort="kit", about=None
        )
    if met := [one.text for one in made.requirements if not one.because]:
        also = "Also required" if open_ else f"Required{assumed}"
        but = " (but for what the file accepts: see the end)" if _accepts(made) else ""
        yield Note(f"{also}, and met in every state that it speaks of{but}: {'; '.join(met)}.", small=True)


def _accepts(made: Procedure) -> bool:
    return any(one.word == "accepted risk" for one in made.given)


def _asked(one: Asked, most: int) -> Row:
    """A requirement, with so many of the reasons for which it isn't met: where several are broken, they share the
    room."""
    word = one.word if one.word == "met" else strong(one.word)
    if one.steps not in ((), ("0",)):
        return (one.text, (word, f" {after_steps(one.steps)}: see {TABLES}"))
    told = one.because if len(one.because) <= most + 1 else one.because[:most]
    left = len(one.because) - len(told)
    reasons = "; ".join((*told, *((f"and {left} more: see {TABLES}",) if left else ())))
    return (one.text, (word, f": {reasons}") if reasons else word)


def _not_in_it(mend: Said | None) -> Iterator[Block]:
    """What the head says would mend it is in no list of what the file has; a part between two others has its row."""
    if mend and not between(mend):
        yield Note(strong(f"MISSING from this kit, and wanted to mend it: {catalogue('en').text(mend)}."))


def _kit(made: Procedure, mend: Said | None) -> Iterator[Block]:
    columns = (Column("Count", figures=True), *map(Column, ("Kind", "Names", FIGURES, "Marked on it", "Present")))
    yield Table(columns, (*_missing(mend), *map(_kind, made.kit)), sort="kit", about=1)
    if made.ropes:
        heads = ("Rope", "Length given", "Length needed at least", FIGURES, "Knots", "Present")
        yield _table(heads, map(_rope, made.ropes))
    yield _table(("Anchors, each ticked when there", "Kind", FIGURES, "Asked at least"), _anchors(made.anchors))
    least = f"The file asks: {'; '.join(made.least)}." if made.least else "The file asks for no strength."
    yield Note(f"{OF_THE_FILE} {least}", small=True)


def _missing(mend: Said | None) -> Iterator[Row]:
    if told := between(mend):
        kind, a, b = told
        yield ("1", kind, strong(f"MISSING: from {a} to {b}"), "not in the file", Fill(short=True), Tick())


def _kind(one: Kit) -> Row:
    points = "points " if one.count < len(one.names) else ""
    return (str(one.count), one.kind, f"{points}{', '.join(one.names)}", _figures(one), Fill(short=True), Tick())


def _rope(one: RopeNeeded) -> Row:
    needed = f"{as_length(one.needed, '.4g')} ({one.because})" if one.needed else "not told: give drop or places"
    return (given(one.name), one.length or "not given", needed, _figures(one), ", ".join(one.knots), Tick())


def _anchors(anchors: Iterable[AnchorNeeded]) -> Iterator[Row]:
    """Anchors of which the same is known stand together."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in anchors:
        alike.setdefault((one.kind, _figures(one), one.least or "nothing"), []).append(one.name)
    for known, names in alike.items():
        yield (tuple(piece for name in names for piece in (Tick(), f"\N{NO-BREAK SPACE}{name}\N{EM SPACE}")), *known)


def _figures(one: Kit | RopeNeeded | AnchorNeeded) -> str:
    source = f" ({one.source})" if one.source else ""
    return f"{', '.join(one.figures) or 'strength not given'}{source}"


def _people(made: Procedure) -> Table:
    heads = ("Called", "Where", "Job", "Harness", "Name and signature")
    told = ((one.name, one.place, "; ".join(one.does), ", ".join(one.wears)) for one in made.people)
    return _table(heads, ((name, place, does or "–", wears or "–", Fill()) for name, place, does, wears in told))


def _looks(made: Procedure) -> Iterator[Block]:
    rows = (((one.of, "\n", quiet(", ".join(one.names))), one.find, Tick()) for one in made.looks)
    yield _table(("Looked at", "Must be found", "Found"), rows)
    practice = "Common practice, no source; the makers' instructions ask for more. Looked at by "
    yield Note((practice, Fill(), " time ", Fill(short=True)), small=True)


def _given(made: Procedure) -> Iterator[Block]:
    rest = f" {'; '.join(made.not_declared)}." if made.not_declared else ""
    yield Note(f"{made.complete}. Strength, knots, rope condition and skill are not judged.{rest}", small=True)
    if not made.given:
        yield Note("The file takes nothing as impossible and accepts no risk.")
        return
    columns = (*map(Column, ("What", "How", "Because")), Column("Line", figures=True))
    rows = tuple((spoken(one.what), one.word, one.reason, str(one.line)) for one in made.given)
    yield Table(columns, rows, sort="kit")
