"""What a command answers, and how the answer gets out: on the terminal, as JSON, into a file; its exit status.

A command's `run` returns an `Answer` or a `Paper` (or, where it does its own talking, an exit status), and
raises what was wrong: `Unreadable` for a rig or for words of the call, `NotDone` for the rest.
"""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from analyser.checking.calling import FactsMissing, refused
from analyser.doors.commands.opening import show_mistakes
from analyser.doors.live.whole import put_whole
from analyser.language.mistakes import Unreadable
from analyser.language.source import shown_name
from analyser.working.place import NoWork, working

if TYPE_CHECKING:
    from analyser.checking.contract import Document
    from analyser.checking.results import Result
    from analyser.pages.tree import Page

Writer = Callable[[], str]


class Told(Protocol):
    """A result that goes out as a document."""

    def document_of(self) -> Document: ...


class NotDone(Exception):
    """Nothing was done; the words say why, and what to do instead."""

    def __str__(self) -> str:
        return "\n".join(map(shown_name, super().__str__().split("\n")))


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: `told` for `--json`, else `page` for the terminal."""

    status: int
    told: Told
    page: Callable[[], Page]

    def deliver(self, asked: Namespace) -> int:
        if asked.json:
            put_json(self.told.document_of())
        else:
            from analyser.pages.writers.terminal import show

            show(self.page())
        return self.status


@dataclass(frozen=True, slots=True)
class Paper:
    """One document. `writers` are by the ending of a file's name; the first is that of standard output (`-`).
    With `--json` the data goes there instead, whatever the ending. `said` goes to standard error once it is
    written; `made_from` are the files that it never overwrites."""

    status: int
    told: Told
    writers: Mapping[str, Writer]
    said: str = ""
    made_from: tuple[Path, ...] = ()

    def deliver(self, asked: Namespace) -> int:
        json = getattr(asked, "json", False)
        put(asked.output, self.writers, lambda: as_json(self.told.document_of()), self.made_from, as_json=json)
        sys.stderr.write(self.said)
        return self.status


def answered(run: Callable[[Namespace], int | Answer | Paper], asked: Namespace) -> int:
    """Run a command and get its answer out, or what was wrong; returns the exit status."""
    as_json = getattr(asked, "json", False)
    try:
        with ExitStack() as there:
            if getattr(asked, "on", None) is not None:
                from analyser.working.cluster import opened

                there.enter_context(working(there.enter_context(opened(asked.on))))
            answer = run(asked)
            return answer if isinstance(answer, int) else answer.deliver(asked)
    except NoWork as error:
        return show_mistakes(refused(error.text, error.hint), as_json=as_json)
    except Unreadable as error:
        return show_mistakes(error, as_json=as_json)
    except FactsMissing as error:
        return _show_missing(error, as_json=as_json)
    except NotDone as error:
        sys.stderr.write(f"{error}\n")
        return 2


def _show_missing(error: FactsMissing, *, as_json: bool) -> int:
    """Say what must be added or put right; returns the exit status 2."""
    if as_json:
        put_json(error.document_of())
    else:
        from analyser.pages.writing.wanting import wanting_text

        sys.stderr.write(wanting_text(error.missing))
    return 2


def put(
    target: str, writers: Mapping[str, Writer], data: Writer, made_from: tuple[Path, ...] = (), *, as_json: bool
) -> None:
    """Write a document whole; raises `NotDone` where that can't be."""
    ending = Path(target).suffix.lower()
    if target != "-" and not as_json and ending not in writers:
        *others, last = (one for one in writers if one)
        endings = f"{', '.join(others)} or {last}" if others else last
        raise NotDone(f"{target}: write a name that ends in {endings}")
    text = data() if as_json else (next(iter(writers.values())) if target == "-" else writers[ending])()
    if target == "-":
        sys.stdout.write(text)
    else:
        put_file(target, text.encode("utf-8-sig" if ending == ".csv" and not as_json else "utf-8"), made_from)


def put_file(target: str, data: bytes, made_from: tuple[Path, ...] = ()) -> None:
    """Write a file whole; never where a rig stands, or would be looked for. Raises `NotDone`."""
    if Path(target).suffix.lower() == ".rig":
        raise NotDone(f"{target}: that is the name of a rig, and this is none\n        write another ending")
    try:
        put_whole(target, data, made_from)
    except OSError as error:
        raise NotDone(f"{target}: cannot be written: {error.strerror}") from None


def as_json(document: Document) -> str:
    from analyser.checking.contract import as_text

    return as_text(document) + "\n"


def put_json(document: Document) -> None:
    sys.stdout.write(as_json(document))


def put_documents(documents: Sequence[Document | None], files: Sequence[str] | None) -> None:
    """One document for one file; for a folder or several files an array, each with its file."""
    sys.stdout.write(documents_text(documents, files))


def documents_text(documents: Sequence[Document | None], files: Sequence[str] | None) -> str:
    from msgspec.structs import replace

    from analyser.checking.contract import as_text

    there = [one for one in documents if one is not None]
    if files is None:
        return as_text(there[0]) + "\n"
    return as_text([replace(one, file=file) for one, file in zip(there, files, strict=True)]) + "\n"


def unmet(result: Result) -> str:
    """What to say on standard error where a requirement isn't met."""
    return "" if result.met else f"{result.closing}\n"
