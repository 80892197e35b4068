"""`stillheld reconstruct RIG`: which smallest failures are consistent with what was observed."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import NotDone, put_file, put_json
from analyser.doors.commands.opening import files_of, open_rig, shown
from analyser.doors.commands.options import RIG, as_json, one_rig, order
from analyser.language.mistakes import Mistake, Place, Unreadable

if TYPE_CHECKING:
    from analyser.language.syntax import Statement
    from analyser.pages.tree import Figure, Page
    from analyser.pages.writing.reconstruct_page import Drawn
    from analyser.rig.plan import Plan
    from analyser.uses.incident.case import Case
    from analyser.uses.incident.reconstruction import Explanation
    from analyser.uses.incident.sequences import Chain

ENDINGS = (".html", ".md")
MOST_DRAWN = 6
"""Explanations, and sequences, that are drawn in the document."""


def options(one: ArgumentParser) -> None:
    one_rig(one, f"{RIG}, with its `observed` block")
    order(one, "failures assumed together, 1 to 4 (default 2)")
    words = "slips too: a knot not tied, a connector not clipped, a device the wrong way round"
    one.add_argument("--including-slips", action="store_true", help=words)
    words = 'a further fact, supposed: "lip cuts", "not lip cuts", "intact red" (repeatable)'
    one.add_argument("--suppose", action="append", default=[], metavar="FACT", help=words)
    as_json(one)
    one.add_argument("-o", "--output", metavar="FILE", help="a document: FILE.html or FILE.md")


def run(asked: Namespace) -> int:
    """0 when the question could be answered, whatever the answer; 2 when the rig can't be read."""
    target = Path(asked.output) if asked.output else None
    if target and target.suffix.lower() not in ENDINGS:
        raise NotDone(f"{asked.output}: write a name that ends in .html or .md")
    from analyser.uses.incident.case import open_case

    rig = supposing(open_rig(asked.rig), asked.suppose)

    case = open_case(rig, order=asked.order, slips=asked.including_slips, supposed=asked.suppose)
    if asked.json:
        put_json(case.document_of())
    elif not target:
        from analyser.pages.writers.terminal import show

        show(page(case, shown(asked.rig)))
    if target:
        made = _html(case, shown(asked.rig)) if target.suffix.lower() == ".html" else _markdown(case, asked.rig)
        put_file(asked.output, made.encode(), files_of(asked.rig, rig))
    return 0


def page(case: Case, file: str) -> Page:
    from analyser.pages.writing.reconstruct_page import reconstruct_page

    return reconstruct_page(case, file)


def supposing(plan: Plan, supposed: Sequence[str]) -> Plan:
    """The plan with further facts that are only supposed; raises `Unreadable`, also where nothing is observed."""
    from analyser.language.edit import Edit, edited
    from analyser.rig.building import build
    from analyser.uses.incident.case import last_line

    file = plan.place.file
    if supposed:
        document = edited(plan.document, Edit(_facts(supposed, file, last_line(plan))))
        made, mistakes = build(document)
        if made is None:
            raise _of_the_call(mistakes)
        plan = replace(made, folder=plan.folder)
    if not any(fact.names for fact in plan.observations):
        lines = plan.document.sources[file]
        words = "nothing was observed: there is no `observed` block in this file with who fell, or what was found"
        hint = "write at its end `observed`, and indented under it for example `fell sam, seen by jo`"
        raise Unreadable([Mistake(Place(file, len(lines)), words, hint)], {file: lines})
    return plan


def _facts(supposed: Sequence[str], file: str, after: int) -> tuple[Statement, ...]:
    """The facts as typed, on the lines that they would have at the end of the file."""
    from analyser.language.edit import moved
    from analyser.language.parsing import parse_text

    text = "observed\n" + "".join(f"    {_fact(one)}\n" for one in supposed)
    document = parse_text(text.encode(), file, None, set())
    if document.mistakes:
        raise _of_the_call(document.mistakes)
    return moved(document.statements, lambda place: replace(place, line=place.line + after))


def _fact(words: str) -> str:
    """A fact of the language; a bare failure is taken as found."""
    from analyser.language.vocabulary import FACTS

    words = " ".join(words.split())
    if words.split(" ")[0] not in FACTS:
        words = f"found {words}"
    if words.startswith("not ") and '"' not in words:
        words += ': "supposed"'
    return words


def _of_the_call(mistakes: Iterable[Mistake]) -> Unreadable:
    """A mistake in a fact of the command line has no line of the file."""
    from analyser.checking.calling import COMMAND_LINE

    return Unreadable([replace(one, place=Place(COMMAND_LINE, 1)) for one in mistakes], {})


def _markdown(case: Case, name: str) -> str:
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.reconstruct_page import reconstruct_page

    return markdown(reconstruct_page(case, shown(name), lambda one: ()))


def _html(case: Case, file: str) -> str:
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writing.reconstruct_page import reconstruct_page

    return whole(reconstruct_page(case, file, _drawn(case)), ("page.css",))


def _drawn(case: Case) -> Drawn:
    """Pictures: of the rig, and of what is left after the first explanations of it."""
    first: tuple[Explanation | Chain, ...] = (
        *case.made.explanations[:MOST_DRAWN],
        *case.sequences.chains[:MOST_DRAWN],
    )
    return partial(_picture, case, first)


def _picture(case: Case, first: tuple[Explanation | Chain, ...], one: Explanation | Chain | None) -> Sequence[Figure]:
    from analyser.checking.analysing import analyse
    from analyser.checking.sentences import listed
    from analyser.pages.drawing.diagram import dot_source
    from analyser.pages.drawing.legend import IN_TEXT
    from analyser.pages.writing.pictures import CAPTION, drawing
    from analyser.uses.incident.sequences import Chain

    if one is not None and one not in first:
        return ()
    rig = case.rig.states[one.states[0] if one else 0]
    known = rig.index.failures
    chosen = one.every if isinstance(one, Chain) else one.first if one else ()
    if not known.keys() >= set(chosen) or (one and not chosen):
        return ()  # a slip is no part of the drawing
    caption = f"What is left after {listed(chosen)}, {one.words}." if one else CAPTION
    source = dot_source(analyse(rig), [known[name] for name in chosen], sheet=IN_TEXT)
    return (drawing(source, caption),)
