"""`stillheld report RIG -o FILE`: one page that a reviewer opens, questions and signs; of many rigs a page each,
and an index of them."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import analyser
from analyser.checking.calling import not_there
from analyser.doors.commands.getting_out import NotDone, Paper, unmet
from analyser.doors.commands.opening import files_of, open_rig, open_text, shown
from analyser.doors.commands.options import RIG, as_json, order, output, several_rigs
from analyser.doors.commands.several import Named, each, ended, rigs_named, wrong
from analyser.doors.live.whole import put_whole
from analyser.language.mistakes import Mistake, Place, Unreadable

if TYPE_CHECKING:  # loaded only where a report is made
    from analyser.checking.brief import Brief
    from analyser.rig.model import Rig
    from analyser.uses.review.answered_page import Report
    from analyser.uses.review.sheet import Review
    from analyser.uses.review.shelf import Reviewed


REVIEW = ".review.json"
"""How the review is called that lies beside a rig of a library: `lower.rig`, `lower.review.json`."""


def options(one: ArgumentParser) -> None:
    several_rigs(one, f"{RIG}; several, or a folder: a page each and an index, into -o DIR")
    words = "FILE.html, or FILE.md for a comment; - for standard output, as HTML (default); of several a folder"
    output(one, words)
    order(one, "failures together, 1 to 4 (default 3; .md: 2)", None)
    words = "the answers of a reviewer, as the page has exported them, baked in"
    one.add_argument("--with", dest="review", metavar="REVIEW.json", help=words)
    as_json(one, "the page's data as JSON, for scripts")


def run(asked: Namespace) -> int | Paper:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written, or, of many,
    some rig could not be read."""
    rigs = rigs_named(asked.rigs)
    if len(rigs) > 1 or rigs[0].name not in asked.rigs:
        return _library(asked, rigs)
    comment = asked.output.lower().endswith(".md") and not asked.json
    name = rigs[0].name
    made = _made(name, asked.order or (2 if comment else 3), asked.review)
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.report_page import comment_page, report_html

    writers = {".html": lambda: report_html(made), ".md": lambda: markdown(comment_page(made))}
    beside = (Path(asked.review),) if asked.review else ()
    inputs = (*files_of(name, made.result.rig), *beside)
    return Paper(made.result.exit_status, made, writers, unmet(made.result), inputs)


def _made(name: str, order: int, review: str | None) -> Report:
    """The report of one rig, with a review's file laid beside it; raises `Unreadable`."""
    from analyser.checking.analysing import analyse
    from analyser.uses.review.answered_page import included_files, report

    lines, folder, rig = _opened(name)
    given = read_beside(review) if review else None
    return report(
        analyse(rig, order, processes=None), shown(name), lines, included_files(rig, shown(name), folder), given
    )


@dataclass(frozen=True, slots=True)
class Paged:
    """One rig of a library: its page, and how it stands."""

    status: int
    html: str = ""
    brief: Brief | None = None
    reviewed: Reviewed | None = None
    wrong: str = ""
    said: str = ""


def _library(asked: Namespace, rigs: Sequence[Named]) -> int:
    """A page each and an index, into a folder that is new, empty, or holds such an index already."""
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writing.library_page import METAS, STYLES, library_page
    from analyser.uses.review.shelf import Entry

    folder = _folder(asked)
    root = Path(os.path.commonpath([Path(one.name).absolute().parent for one in rigs]))
    files = [Path(one.name).absolute().relative_to(root) for one in rigs]
    pages = [Path("index-rig.html") if file == Path("index.rig") else file.with_suffix(".html") for file in files]
    told = list(each(partial(paged, asked.order or 3), rigs, asked.jobs, lost, reviews))
    entries = [
        Entry(file.as_posix(), page.as_posix() if one.html else None, one.brief, one.wrong, one.reviewed)
        for file, page, one in zip(files, pages, told, strict=True)
    ]
    try:
        for page, one in zip(pages, told, strict=True):
            sys.stderr.write(one.said)
            if one.html:
                (folder / page).parent.mkdir(parents=True, exist_ok=True)
                put_whole(folder / page, one.html.encode())
        folder.mkdir(parents=True, exist_ok=True)
        index = whole(library_page(root.name, entries), STYLES, metas=METAS)
        put_whole(folder / "index.html", index.encode())
    except OSError as error:
        raise NotDone(f"{asked.output}: cannot be written: {error.strerror}") from None
    if asked.json:
        from analyser.checking.contract import as_text

        sys.stdout.write(as_text([one.document_of() for one in entries]) + "\n")
    return max(one.status for one in told)


def _folder(asked: Namespace) -> Path:
    """Where a library goes; raises `Refused` where it can't."""
    from analyser.pages.writing.library_page import MARK

    if asked.review:
        raise not_there("`--with` is for one rig", f"of many, each one's review lies beside it: NAME{REVIEW}")
    folder = Path(asked.output)
    index = folder / "index.html"
    try:
        is_there = folder.exists()
    except OSError as error:  # a name that no folder can have
        raise not_there(f"{asked.output}: no folder can be named so: {error.strerror}", "name another one") from None
    if asked.output == "-" or (is_there and not folder.is_dir()):
        raise not_there(f"{asked.output}: reports of several rigs go into a folder", "name a new one: `-o reports`")
    if folder.is_dir() and any(folder.iterdir()):
        ours = index.is_file() and MARK in index.read_text(encoding="utf-8", errors="replace")
        if not ours:
            raise not_there(f"{asked.output}: there are files in it that are not ours", "name a new folder")
    return folder


def reviews(name: str) -> tuple[Path, ...]:
    """The review that lies beside a rig of a library, where one does."""
    beside = Path(name).with_suffix(REVIEW)
    return (beside,) if beside.is_file() else ()


def paged(order: int, name: str) -> Paged:
    """One rig of a library, in whatever process, with the review that lies beside it."""
    from analyser.checking.brief import brief_of
    from analyser.pages.writing.report_page import report_html
    from analyser.uses.review.shelf import reviewed

    try:
        made = _made(name, order, next(map(str, reviews(name)), None))
    except Unreadable as error:
        first = error.mistakes[0]
        told = f"{first.text} ({first.place.file}, line {first.place.line})"
        return Paged(2, wrong=told, said=wrong(error, as_json=False)[0])
    return Paged(made.result.exit_status, report_html(made), brief_of(made.result), reviewed(made))


def lost(name: str) -> Paged:
    """The answer for a rig whose process ended without one."""
    text, _ = ended(name)
    return Paged(2, wrong=text.strip(), said=text)


def _opened(name: str) -> tuple[list[str], Path, Rig]:
    """A rig with the lines of its text and its folder; raises `Unreadable`."""
    from analyser.language.source import lines_of

    if name == "-":
        text, file, folder = open_text(name)
        data = text.encode("utf-8")
        rig = analyser.read_text(data, file, folder)
    else:
        rig, folder = open_rig(name), Path(name).parent
        data = Path(name).read_bytes()
    lines, _ = lines_of(data, shown(name))
    return lines if lines[-1:] != [""] else lines[:-1], folder, rig


def read_beside(name: str) -> Review:
    """A review's file; raises `Unreadable` where it can't be read."""
    from analyser.uses.review.sheet import MOST_BYTES, read_review

    try:
        path = Path(name)
        if path.exists() and not path.is_file() and not path.is_dir():
            raise OSError(0, "this is not an ordinary file")
        with path.open("rb") as file:
            return read_review(file.read(MOST_BYTES + 1), shown(name))
    except OSError as error:
        text = f"{shown(name)}: this can't be read: {error.strerror}"
        raise Unreadable([Mistake(Place(shown(name), 1), text)], {}) from None
