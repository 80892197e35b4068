"""The walk-down as a page to print and walk with, and to be written on, in the words of a language."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from analyser.checking.step_to_stop import At
from analyser.pages.tree import (
    Block,
    Choice,
    Column,
    Fields,
    Fill,
    Item,
    Line,
    Listing,
    Look,
    Note,
    Page,
    Piece,
    Row,
    Section,
    Span,
    Step,
    Table,
    Tick,
    Title,
    Under,
    Verdict,
    Words,
    Write,
    beside,
    given,
    listing,
    quiet,
    section,
    strong,
)
from analyser.pages.writing.first_facts import first_facts, tried_words
from analyser.pages.writing.translation import Catalogue, of_revision, rests
from analyser.rig.figures import as_force
from analyser.uses.field.at_first import as_seen, first_lines
from analyser.uses.field.by_line import Told
from analyser.uses.field.critical import Critical
from analyser.uses.field.named_things import all_of
from analyser.uses.field.said import Said, said
from analyser.uses.field.trying import MAY_HOLD, NEVER_JOINED, TOLD, Slip, Trial
from analyser.uses.field.walk_sheet import BUILT, Walkdown
from analyser.uses.field.walking import EDGE, GROUND, LATER, LOAD, ROPE
from analyser.uses.field.walking import Item as Point

STYLES, SCRIPT = ("paper.css", "walkdown.css"), "walkdown.js"
GRADES = ((1, "grade-1", "grade-1-means"), (2, "grade-2", "grade-2-means"), (3, "grade-3", "grade-3-means"))
SECTION_WORD = {
    GROUND: "section-ground",
    ROPE: "section-rope",
    EDGE: "section-edge",
    LOAD: "section-load",
    LATER: "later-step",
}
SLIP_WORD = {
    "unlocked": "slip-unlocked",
    "undone": "slip-undone",
    "not placed": "slip-not-placed",
    "not tied": "slip-not-tied",
    "half tied": "slip-half-tied",
    "wrong way": "slip-wrong-way",
    "loose": "slip-loose",
}
"""How the slips of `checking.latent.UNSEEN` are told."""
HEADS = ("head-box", "head-part", "head-touches", "head-see", "head-initials")
LACKING = ("see-open-end-device", "walk-mended", "walk-clipped")
SIGNING = ("sign-walked", "sign-mended", "sign-charge")
LINES = 4


def walkdown_page(made: Walkdown, words: Catalogue) -> Page:
    """The sheet in the words of one language."""
    t, rig = _Sheet(made, words), made.result.rig
    name = words.text("walkdown")
    about = "as-built" if made.built == BUILT else "as-written"
    found = said(about, verdict=rests(made.result, otherwise=made.result.met and not made.met))
    blocks: tuple[Block, ...] = (
        Title(rig.title, tuple(t.made_from()), tuple(map(given, rig.notes)), name),
        t.verdict(found),
        Fields(tuple(map(words.text, ("date", "walked-by", "second-eyes")))),
        *((section(words.text("found-otherwise"), t.found()),) if made.found_in else ()),
        Note((*words.words("walk-how"), " ", strong(words.text("walk-short")))),
        *t.causes(),
        *(t.grade(*grade) for grade in GRADES),
        *t.later(),
        Note(words.words("practice"), small=True),
        section(words.text("tests"), t.tests()),
        Section(words.text("found-otherwise"), tuple(t.to_write()), sheet="whole"),
        Section(words.text("signed"), (t.signing(),), sheet="whole"),
    )
    return Page(blocks, f"{name}: {rig.title}", words.language)


def _told(sentences: Iterable[str]) -> Listing:
    return Listing(tuple(Item(given(one)) for one in sentences), language="en")


class _Sheet:
    """The pieces of one sheet."""

    def __init__(self, made: Walkdown, words: Catalogue) -> None:
        self.made, self.words = made, words
        self.slips = {slip.failure: slip for slip in made.tests.slips}

    def made_from(self) -> Iterator[Words]:
        if self.made.result.rig.revision:
            yield self.words.words(of_revision(self.made.result.rig.revision))
        yield self.words.words("made-from", file=self.made.file)
        if mark := self.made.result.rig.digest:
            yield self.words.words("text-mark", mark=mark)
        if self.made.found_in:
            yield self.words.words("found-in", file=self.made.found_in)

    def verdict(self, closing: Said) -> Verdict:
        """Who hangs on one, on what and what first; then what that rests on, and the cautions."""
        t, made = self.words.words, self.made
        lines = [said("first-found-line", words=one.words, line=one.line) for one in made.found_first]
        cause = said("first-found", lines=_listed(lines)) if lines else None
        first = first_lines(made.look, met=made.met, mend=made.mend, cause=cause)
        tried = tried_words(first, self.words)
        cautions = (*t(closing), ". ", *tried, *t("caution-model"), " ", *t("caution-first"))
        return Verdict(t(first.head), cautions, tuple(first_facts(first, self.words, lines=True)))

    # -- what was found otherwise

    def found(self) -> Iterator[Block]:
        made, t = self.made, self.words.words
        yield Listing(tuple(self._otherwise())) if made.by_line else Note(t("found-none"))
        yield from (Note(t("found-note", words=one)) for one in made.notes)
        if made.left_out:
            yield Note((*t("found-left-out"), ":"))
            yield Listing(tuple(Item(self._line(one)) for one in made.left_out))
        worse: Block = Note(t("found-worse-lines" if made.made_worse else "found-worse-none"))
        if made.only_together:
            worse = _told(made.only_together)
        yield section(self.words.text("found-worse"), [worse])

    def _otherwise(self) -> Iterator[Item]:
        """Every line that was found, with what it makes worse by itself."""
        for one in self.made.by_line:
            *others, last = one.found
            yield from (Item(self._line(line)) for line in others)
            alone = Note(self.words.words("found-nothing" if one.by_itself else "found-not-alone"), small=True)
            yield Item(self._line(last), (_told(one.worse) if one.worse else alone,))

    def _line(self, one: Told) -> Words:
        """A line of a file of differences, with its number."""
        words = Span(one.words, Look.CODE, given=True)
        return (words, " ", quiet(self.words.text("found-line", line=one.line)))

    # -- what to see and touch

    def causes(self) -> Iterator[Section]:
        """Where something seems to be missing, or the wrong way round: before the list of single points."""
        points, step = self.made.causes, self.made.look.step
        if not points and step is None:
            return
        title = self.words.text("causes", count=len(points) + (step is not None))
        blocks: list[Block] = list(self._stop(step)) if step else []
        if points:
            blocks += [Note(self.words.words("causes-mean")), self._table(points, sections=False)]
            blocks += [] if step else [Note(strong(self.words.text("walk-releases")))]
        yield section(title, blocks)

    def _stop(self, step: At) -> Iterator[Block]:
        """What is written otherwise before anybody goes on to a step that leaves somebody on one, or on nothing."""
        yield Note(strong(self.words.text("walk-stop", step=step.number, words=step.words)))
        done = list(as_seen(self.made.look)) or [said("walk-on-first")]
        yield Listing(tuple(Item(self.words.words(one)) for one in done), ticked=True)
        yield Note(strong(self.words.text("walk-releases")))
        yield Note((self.words.text("head-initials"), " ", Fill(short=True)))

    def grade(self, number: int, title: str, means: str) -> Section:
        """Those of a grade; what the file accepts last."""
        told = [point for point in self.made.grades[number] if point not in self.made.causes]
        points = sorted(told, key=lambda point: point.critical.accepted)
        table = self._table(points) if points else Note(strong(self.words.text("none-of-these")))
        return section(self.words.text(title, count=len(points)), (Note(self.words.words(means)), table))

    def later(self) -> Iterator[Section]:
        points = [point for point in self.made.items if point.step is not None]
        if points:
            yield section(self.words.text("later", count=len(points)), [self._table(points, sections=False)])

    def _table(self, points: Iterable[Point], *, sections: bool = True) -> Table:
        rows: list[Row | Under] = []
        for place, several in groupby(points, lambda point: point.section):
            rows += (Under(self.words.words(SECTION_WORD[place])),) if sections else ()
            rows += map(self._row, several)
        return Table(tuple(Column(self.words.text(head)) for head in HEADS), tuple(rows), sort="walk", about=1)

    def _row(self, point: Point) -> Row:
        see = listing(map(self._seen, (*self._missing(point), *point.see)))
        return (Tick(), tuple(self._point(point)), tuple(self._touching(point)), see, "")

    def _seen(self, one: Said) -> Words:
        """What is to be seen; what the file itself lacks stands out."""
        return strong(self.words.text(one)) if one.key in LACKING else self.words.words(one)

    def _touching(self, point: Point) -> Iterator[Piece]:
        """What it touches: where a strap is to end elsewhere, as it is when that is mended."""
        off, on, told = self._mended(point.name)
        yield from beside(map(given, (*(name for name in point.touches if name not in off), *on))) or ("–",)
        if point.then:
            step = self.made.result.states[point.critical.state].numbered
            then = tuple(name for name in point.then if name not in off)
            yield from ("\n", strong(self.words.text("touches-then", step=step, names=then)))
        if told:
            yield from ("\n", strong(self.words.text("touches-mended", told=", ".join(map(self.words.text, told)))))

    def _mended(self, name: str) -> tuple[set[str], tuple[str, ...], list[Said]]:
        """What a part touches no more and touches besides, when straps end where nothing is broken; and what is said
        of it."""
        ends = self.made.look.ends
        off = {one.now for one in ends if one.strap == name} | {one.strap for one in ends if one.now == name}
        on = [one.to for one in ends if one.strap == name] + [one.strap for one in ends if one.to == name]
        told = [said("touches-not", names=tuple(sorted(off)))] if off else []
        told += [said("touches-too", names=tuple(on))] if on and not off else []
        return off, tuple(on), told

    def _missing(self, point: Point) -> Iterator[Said]:
        """Of a point at which nothing is attached: that this is mended, before how its buckles are."""
        one = self.made.look.endangered[0] if self.made.look.endangered else None
        if one and point in self.made.causes and point.name in one.free:
            yield said("walk-mended", order=self.made.mend) if self.made.mend else said("walk-clipped")

    def _point(self, point: Point) -> Iterator[Piece]:
        yield from (Span(point.name, Look.STRONG, given=True), " ", quiet(point.kind))
        told = [self.words.words(one) for one in point.figures]
        if told:
            yield from ("\n", quiet(", ".join(map(self.words.text, point.figures))))
        if point.step:
            yield from ("\n", quiet(self.words.text("later-step", step=point.step)))
        if point.critical.stretches:
            yield from ("\n", strong(self.words.text("mark-stretch", stretches=all_of(point.critical.stretches))))
        if marks := "; ".join(self.words.text(mark) for mark in self._marks(point)):
            yield from ("\n", strong(marks + self._when(point.critical)))
        if point.otherwise:
            yield Choice(point.name, self.words.text("found-choose"), point.otherwise)

    def _when(self, one: Critical) -> str:
        """From which step on, and until which, a point is critical."""
        states, text = self.made.result.states, self.words.text
        start = f", {text('mark-state', step=states[one.state].numbered)}" if one.state else ""
        return start + (text("critical-until", step=states[one.until].numbered) if one.until else "")

    def _marks(self, point: Point) -> Iterator[Said]:
        """How a critical point is marked."""
        one = point.critical
        if point in self.made.causes:
            turned = point.name in {name for one in self.made.look.endangered for name in one.turned}
            yield said("mark-turned" if turned else "mark-free")
        if one.falls:
            yield said("mark-single-accepted" if one.accepted else "mark-single", bodies=one.falls)
            return
        if one.left:
            yield said("mark-one", bodies=one.left)
        if one.shaken:
            yield said("mark-shaken", bodies=one.shaken)

    # -- the tests before weighting

    def tests(self) -> Iterator[Block]:
        tests = self.made.tests
        if tests.tests:
            yield Note(self.words.words("tests-how"))
            yield from map(self._test, tests.tests)
        else:
            yield Note(strong(self.words.text("tests-none")))
        look = [self.words.words(one) for one in _slips_said([self.slips[one] for one in tests.look])]
        if look:
            yield section(self.words.text("tests-look"), [Listing(tuple(map(Item, look)), ticked=True)])
        yield Note(self.words.words("tests-limit"), small=True)

    def _test(self, test: Trial) -> Step:
        t = self.words.words
        what = said("test-own", person=test.of, line=test.line) if test.of else said("test-line", line=test.line)
        slack = said("test-slack", lines=test.slack) if test.slack else said("test-only")
        then: list[Block] = [
            Line((*t(slack), "; ", *t("test-bodies", bodies=test.bodies))),
            Line(t("test-along", parts=test.along)),
        ]
        fresh = [self.slips[one] for one in test.fresh]
        groups = (
            ("test-shows", [slip for slip in fresh if slip.how not in MAY_HOLD]),
            ("test-may", [slip for slip in fresh if slip.how in MAY_HOLD]),
            ("test-uncaught", [self.slips[one] for one in test.uncaught]),
        )
        then += (Line(strong(self.words.text("test-new"))),) if not fresh else ()
        for title, several in groups:
            if several:
                then += (Line(strong(self.words.text(title))), listing(map(t, _slips_said(several))))
        who = (*t("test-held"), " ", Fill(short=True))
        return Step(str(test.number), t(what), who, tick=True, then=tuple(then))

    # -- what is written by hand

    def to_write(self) -> Iterator[Block]:
        made = self.made
        rig = made.result.rig
        yield Note(self.words.words("found-how", file=made.file, strength=as_force(12000, ".2g")), small=True)
        begins = f'rig "{rig.title}"' + (f'\nrevision "{rig.revision}"' if rig.revision is not None else "")
        save = self.words.text("found-save")
        yield Write(LINES, begins, save, f"{made.file.removesuffix('.rig')}.found")

    def signing(self) -> Fields:
        asked = (self.words.text("signature"), self.words.text("date"))
        return Fields(asked, tuple(map(self.words.text, SIGNING)))


def _slips_said(slips: Sequence[Slip]) -> Iterator[Said]:
    """Slips of one sort together, as the sheet tells them."""
    for how, key in SLIP_WORD.items():
        parts = tuple(slip.part for slip in slips if slip.how == how)
        if parts:
            yield said(key, parts=parts)
    pairs = [said("pair", part=slip.part, other=slip.other or "") for slip in slips if slip.how == NEVER_JOINED]
    if pairs:
        yield said("slip-never-joined", pairs=_listed(pairs))
    for slip in slips:
        if slip.how == TOLD:
            yield said("slip-told", part=slip.part, reason=slip.reason or "")


def _listed(several: Sequence[Said]) -> Said:
    """Things said one after another, parted by semicolons."""
    whole = several[0]
    for one in several[1:]:
        whole = said("then", one=whole, other=one)
    return whole
