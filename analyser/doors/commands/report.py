"""`stillheld report RIG -o FILE`: one page that a reviewer opens, questions and signs; of many rigs a page each,
and an index of them."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import analyser
from analyser.checking.results import Brief, analyse
from analyser.doors.commands.documents import closing, put
from analyser.doors.commands.opening import not_there, open_rig, open_text, show_mistakes, shown
from analyser.doors.commands.several import Named, each, ended, rigs_named
from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.source import lines_of
from analyser.rig.model import Rig

if TYPE_CHECKING:  # loaded only where a report is made
    from analyser.uses.review.answered_page import Report
    from analyser.uses.review.shelf import Reviewed


REVIEW = ".review.json"
"""How the review is called that lies beside a rig of a library: `lower.rig`, `lower.review.json`."""


def run(options: argparse.Namespace) -> int:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written, or, of many,
    some rig could not be read."""
    try:
        rigs = rigs_named(options.rigs)
        if len(rigs) > 1 or rigs[0].name not in options.rigs:
            return _library(options, rigs)
        comment = options.output.lower().endswith(".md") and not options.json
        made = _made(options.rigs[0], options.order or (2 if comment else 3), options.review)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.pages.writers.markdown import markdown
    from analyser.pages.writing.report_page import comment_page, report_html

    writers = {".html": lambda: report_html(made), ".md": lambda: markdown(comment_page(made))}
    return closing(made.result) if put(options.output, writers, made.as_data, as_json=options.json) else 2


def _made(name: str, order: int, review: str | None) -> Report:
    """The report of one rig, with a review's file laid beside it; raises `Unreadable`."""
    from analyser.uses.review.answered_page import included_files, report
    from analyser.uses.review.sheet import read_review

    lines, folder, rig = _opened(name)
    given = read_review(_read(review), shown(review)) if review else None
    return report(analyse(rig, order), shown(name), lines, included_files(rig, shown(name), folder), given)


@dataclass(frozen=True, slots=True)
class Paged:
    """One rig of a library: its page, and how it stands."""

    status: int
    html: str = ""
    brief: Brief | None = None
    reviewed: Reviewed | None = None
    wrong: str = ""
    said: str = ""


def _library(options: argparse.Namespace, rigs: Sequence[Named]) -> int:
    """A page each and an index, into a folder that is new, empty, or holds such an index already."""
    from analyser.pages.writers.hypertext import whole
    from analyser.pages.writing.library_page import MARK, METAS, STYLES, library_page
    from analyser.uses.review.shelf import Entry

    if options.review:
        raise not_there("`--with` is for one rig", f"of many, each one's review lies beside it: NAME{REVIEW}")
    folder = Path(options.output)
    index = folder / "index.html"
    if options.output == "-" or (folder.exists() and not folder.is_dir()):
        raise not_there(f"{options.output}: reports of several rigs go into a folder", "name a new one: `-o reports`")
    if folder.is_dir() and any(folder.iterdir()):
        ours = index.is_file() and MARK in index.read_text(encoding="utf-8", errors="replace")
        if not ours:
            raise not_there(f"{options.output}: there are files in it that are not ours", "name a new folder")
    root = Path(os.path.commonpath([Path(one.name).absolute().parent for one in rigs]))
    files = [Path(one.name).absolute().relative_to(root) for one in rigs]
    pages = [Path("index-rig.html") if file == Path("index.rig") else file.with_suffix(".html") for file in files]
    told = list(each(partial(paged, options.order or 3), rigs, options.jobs, lost))
    entries = [
        Entry(file.as_posix(), page.as_posix() if one.html else None, one.brief, one.wrong, one.reviewed)
        for file, page, one in zip(files, pages, told, strict=True)
    ]
    try:
        for page, one in zip(pages, told, strict=True):
            sys.stderr.write(one.said)
            if one.html:
                (folder / page).parent.mkdir(parents=True, exist_ok=True)
                (folder / page).write_text(one.html, encoding="utf-8")
        folder.mkdir(parents=True, exist_ok=True)
        index.write_text(whole(library_page(root.name, entries), STYLES, metas=METAS), encoding="utf-8")
    except OSError as error:
        sys.stderr.write(f"{options.output}: cannot be written: {error.strerror}\n")
        return 2
    if options.json:
        sys.stdout.write(json.dumps([one.as_data() for one in entries], indent=2, ensure_ascii=False) + "\n")
    return max(one.status for one in told)


def paged(order: int, name: str) -> Paged:
    """One rig of a library, in whatever process, with the review that lies beside it."""
    from analyser.pages.writing.mistakes_page import mistakes_text
    from analyser.pages.writing.report_page import report_html
    from analyser.uses.review.shelf import reviewed

    beside = Path(name).with_suffix(REVIEW)
    try:
        made = _made(name, order, str(beside) if beside.is_file() else None)
    except Unreadable as error:
        first = error.mistakes[0]
        wrong = f"{first.text} ({first.place.file}, line {first.place.line})"
        return Paged(2, wrong=wrong, said=mistakes_text(error.mistakes, error.sources))
    return Paged(made.result.exit_status, report_html(made), made.result.brief, reviewed(made))


def lost(name: str) -> Paged:
    """The answer for a rig whose process ended without one."""
    text, _ = ended(name)
    return Paged(2, wrong=text.strip(), said=text)


def _opened(name: str) -> tuple[list[str], Path, Rig]:
    """A rig with the lines of its text and its folder; raises `Unreadable`."""
    if name == "-":
        text, file, folder = open_text(name)
        data = text.encode("utf-8")
        rig = analyser.read_text(data, file, folder)
    else:
        rig, folder = open_rig(name), Path(name).parent
        data = Path(name).read_bytes()
    lines, _ = lines_of(data, shown(name))
    return lines if lines[-1:] != [""] else lines[:-1], folder, rig


def _read(name: str) -> bytes:
    """A review's file; raises `Unreadable` where it can't be read."""
    try:
        return Path(name).read_bytes()
    except OSError as error:
        text = f"{shown(name)}: this can't be read: {error.strerror}"
        raise Unreadable([Mistake(Place(shown(name), 1), text)], {}) from None
