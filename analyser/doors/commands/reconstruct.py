"""`stillheld reconstruct RIG`: which smallest failures are consistent with what was observed."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import analyser
from analyser.doors.commands.opening import COMMAND_LINE, open_text, show_mistakes, shown
from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.vocabulary import FACTS
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.pages.tree import Figure
    from analyser.pages.writing.reconstruct_page import Drawn
    from analyser.uses.incident.case import Case
    from analyser.uses.incident.reconstruction import Explanation
    from analyser.uses.incident.sequences import Chain

ENDINGS = (".html", ".md")
MOST_DRAWN = 6
"""Explanations, and sequences, that are drawn in the document."""


def run(options: argparse.Namespace) -> int:
    """0 when the question could be answered, whatever the answer; 2 when the rig can't be read."""
    target = Path(options.output) if options.output else None
    if target and target.suffix.lower() not in ENDINGS:
        sys.stderr.write(f"{options.output}: write a name that ends in .html or .md\n")
        return 2
    try:
        text, file, folder = open_text(options.rig)
        rig = _supposing(text, file, folder, options.suppose)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.uses.incident.case import open_case

    case = open_case(
        rig, text, file, folder, order=options.order, slips=options.including_slips, supposed=options.suppose
    )
    if options.json:
        sys.stdout.write(case.as_json() + "\n")
    elif not target:
        from analyser.pages.writers.terminal import show
        from analyser.pages.writing.reconstruct_page import reconstruct_page

        show(reconstruct_page(case, shown(options.rig)))
    if target:
        made = _html(case, shown(options.rig)) if target.suffix.lower() == ".html" else _markdown(case, options.rig)
        try:
            target.write_text(made, encoding="utf-8")
        except OSError as error:
            sys.stderr.write(f"{options.output}: cannot be written: {error.strerror}\n")
            return 2
    return 0


def _supposing(text: str, file: str, folder: Path, supposed: Sequence[str]) -> Rig:
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
    words = " ".join(words.split())
    if words.split(" ")[0] not in FACTS:
        words = f"found {words}"
    if words.startswith("not ") and '"' not in words:
        words += ': "supposed"'
    return words


def _of_the_call(one: Mistake, file: str, text: str) -> Mistake:
    """A mistake in a fact of the command line has no line of the file."""
    own = one.place.file == file and one.place.line > text.rstrip().count("\n") + 1
    return replace(one, place=Place(COMMAND_LINE, 1)) if own else one


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
    from analyser.checking.results import analyse
    from analyser.pages.drawing.diagram import dot_source
    from analyser.pages.writing.pictures import CAPTION, drawing
    from analyser.uses.incident.sequences import Chain

    states = [case.rig, *(step.rig for stage in case.rig.stages for step in stage.steps)]
    first = (*case.made.explanations[:MOST_DRAWN], *case.sequences.chains[:MOST_DRAWN])

    def drawn(one: Explanation | Chain | None) -> Sequence[Figure]:
        if one is not None and one not in first:
            return ()
        rig = states[one.states[0] if one else 0]
        known = {failure.id: failure for failure in rig.failures}
        chosen = one.every if isinstance(one, Chain) else one.first if one else ()
        if not known.keys() >= set(chosen) or (one and not chosen):
            return ()  # a slip is no part of the drawing
        caption = CAPTION
        if one:
            caption = f"What is left after {' and '.join(chosen)}, {one.words}."
        source = dot_source(analyse(replace(rig, stages=())), [known[name] for name in chosen])
        return (drawing(source, caption),)

    return drawn
