"""`stillheld report RIG -o FILE`: one page that a reviewer opens, questions and signs."""

from __future__ import annotations

import argparse
from pathlib import Path

import analyser
from analyser.commands.documents import closing, put
from analyser.commands.opening import open_rig, open_text, show_mistakes, shown
from analyser.reading.mistakes import Mistake, Place, Unreadable
from analyser.reading.source import lines_of
from analyser.results import analyse
from analyser.rig.model import Rig


def run(options: argparse.Namespace) -> int:
    """Write it; 1 when it was written and some requirement isn't met, 2 when nothing was written."""
    from analyser.review.report import included_files, report
    from analyser.review.sheet import read_review

    try:
        lines, folder, rig = _opened(options.rig)
        review = read_review(_read(options.review), shown(options.review)) if options.review else None
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    from analyser.writing.report import report_html, report_markdown

    comment = options.output.lower().endswith(".md") and not options.json
    result = analyse(rig, options.order or (2 if comment else 3))
    included = included_files(rig, shown(options.rig), folder)
    made = report(result, shown(options.rig), lines, included, review)
    writers = {".html": lambda: report_html(made), ".md": lambda: report_markdown(made)}
    return closing(result) if put(options.output, writers, made.as_data, as_json=options.json) else 2


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
