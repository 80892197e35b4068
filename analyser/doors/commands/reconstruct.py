"""`stillheld reconstruct RIG`: which smallest failures are consistent with what was observed."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import analyser
from analyser.doors.commands.getting_out import NotDone, put_file, put_json
from analyser.doors.commands.opening import files_of, open_text, shown
from analyser.doors.commands.options import RIG, as_json, one_rig, order
from analyser.language.mistakes import Mistake, Place, Unreadable

if TYPE_CHECKING:
    from analyser.pages.writing.pieces import Figure
    from analyser.pages.writing.reconstructing import Drawn
    from analyser.rig.model import Rig
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
    text, file, folder = open_text(asked.rig)
    rig = supposing(text, file, folder, asked.suppose)
    from analyser.uses.incident.case import open_case

    case = open_case(rig, text, file, folder, order=asked.order, slips=asked.including_slips, supposed=asked.suppose)
    if asked.json:
        put_json(case.document_of())
    elif not target:
        page(case, shown(asked.rig))
    if target:
        made = _html(case, shown(asked.rig)) if target.suffix.lower() == ".html" else _markdown(case, asked.rig)
        put_file(asked.output, made.encode(), files_of(asked.rig, rig))
    return 0


def page(case: Case, file: str) -> None:
    from analyser.pages.writing.reconstructing import show_case

    show_case(case, file)


def supposing(text: str, file: str, folder: Path, supposed: Sequence[str]) -> Rig:
    """The rig with further facts that are only supposed; raises `Unreadable`, also where nothing is observed."""
    lines = text.count("\n") + 1
    more = "".join(f"    {_fact(one)}\n" for one in supposed)
    try:
        rig = analyser.read_text(f"{text.rstrip()}\nobserved\n{more}" if more else text, file, folder)
    except Unreadable as error:
        raise Unreadable([_of_the_call(one, file, text) for one in error.mistakes], error.sources) from None
    if not any(fact.names for fact in rig.observations):
        words = "nothing was observed: there is no `observed` block in this file with who fell, or what was found"
        hint = "write at its end `observed`, and indented under it for example `fell sam, seen by jo`"
        raise Unreadable([Mistake(Place(file, lines), words, hint)], {file: text.split("\n")})
    return rig


def _fact(words: str) -> str:
    """A fact of the language; a bare failure is taken as found."""
    from analyser.language.vocabulary import FACTS

    words = " ".join(words.split())
    if words.split(" ")[0] not in FACTS:
        words = f"found {words}"
    if words.startswith("not ") and '"' not in words:
        words += ': "supposed"'
    return words


def _of_the_call(one: Mistake, file: str, text: str) -> Mistake:
    """A mistake in a fact of the command line has no line of the file."""
    from analyser.checking.calling import COMMAND_LINE

    own = one.place.file == file and one.place.line > text.rstrip().count("\n") + 1
    return replace(one, place=Place(COMMAND_LINE, 1)) if own else one


def _markdown(case: Case, name: str) -> str:
    from analyser.pages.writing.markdown_pages import markdown
    from analyser.pages.writing.reconstructing import document

    return markdown(document(case, shown(name)))


def _html(case: Case, file: str) -> str:
    from analyser.pages.writing.page import document_html
    from analyser.pages.writing.reconstructing import document

    return document_html(case.rig.title, document(case, file, _drawn(case)))


def _drawn(case: Case) -> Drawn:
    """Pictures: of the rig, and of what is left after the first explanations of it."""
    first: tuple[Explanation | Chain, ...] = (
        *case.made.explanations[:MOST_DRAWN],
        *case.sequences.chains[:MOST_DRAWN],
    )
    return partial(_picture, case, first)


def _picture(case: Case, first: tuple[Explanation | Chain, ...], one: Explanation | Chain | None) -> Sequence[Figure]:
    from analyser.checking.analysing import analyse
    from analyser.pages.drawing.diagram import dot_source
    from analyser.pages.drawing.rendering import NotDrawn, render
    from analyser.pages.writing.page import CAPTION
    from analyser.pages.writing.pieces import Figure
    from analyser.uses.incident.sequences import Chain

    if one is not None and one not in first:
        return ()
    states = [case.rig, *(step.rig for stage in case.rig.stages for step in stage.steps)]
    rig = states[one.states[0] if one else 0]
    known = {failure.id: failure for failure in rig.failures}
    chosen = one.every if isinstance(one, Chain) else one.first if one else ()
    if not known.keys() >= set(chosen) or (one and not chosen):
        return ()  # a slip is no part of the drawing
    caption = f"What is left after {' and '.join(chosen)}, {one.words}." if one else CAPTION
    try:
        picture = render(dot_source(analyse(replace(rig, stages=())), [known[name] for name in chosen]), "svg")
    except NotDrawn as error:
        return (Figure(error, caption),)
    return (Figure(picture, caption),)
