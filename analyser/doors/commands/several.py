"""One command over many rigs: files and folders named, each rig worked on in a process of its own, here or elsewhere.

The answers come in the order of the names, the same whatever the number of processes. What goes wrong with
one rig is told in its place, and stops no other.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from analyser.checking.calling import not_there
from analyser.doors.commands.along import files_along
from analyser.doors.commands.opening import shown
from analyser.doors.commands.progress import Progress
from analyser.language.mistakes import Mistake, Place, Unreadable
from analyser.language.source import shown_name
from analyser.working.place import Workplace, by_itself, place

if TYPE_CHECKING:  # what starts processes is loaded only where there are rigs for several
    from concurrent.futures import Executor, Future

    from analyser.checking.contract import Document

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Named:
    """A rig as it is opened (`-`: standard input), and as it is called where there are several."""

    name: str
    shown: str


def rigs_named(names: Sequence[str]) -> list[Named]:
    """Every file named, and every `.rig` file in every folder named and the folders below, each once.

    In order of the names; of a folder by its parts. Hidden folders, and those that a link leads to, are left
    out. Raises `Refused` for a folder without any.
    """
    found: dict[str, Named] = {}
    for name in names:
        if not _is_folder(name):
            found.setdefault(name, Named(name, "standard input" if name == "-" else shown_name(name)))
            continue
        inside = sorted(_inside(Path(name)), key=lambda path: path.parts)
        if not inside:
            raise not_there(f"{name}: there is no .rig file in this folder or below", "name a file, or another folder")
        for path in inside:
            found.setdefault(str(path), Named(str(path), shown_name(str(path))))
    return list(found.values())


def _is_folder(name: str) -> bool:
    try:
        return name != "-" and Path(name).is_dir()
    except (OSError, ValueError):  # no name of a file at all: told when it is opened
        return False


def _inside(folder: Path) -> Iterator[Path]:
    for root, folders, files in os.walk(folder):
        folders[:] = [one for one in folders if not one.startswith(".") and one != "__pycache__"]
        yield from (Path(root) / one for one in files if one.endswith(".rig") and not one.startswith("."))


def each(
    task: Callable[[str], Answer],
    rigs: Sequence[Named],
    processes: int,
    lost: Callable[[str], Answer],
    more: Callable[[str], Sequence[Path]] = lambda _: (),
) -> Iterator[Answer]:
    """What `task` answers for each rig, in order; `lost` for a rig whose process ended without an answer.

    In this process where there is one rig, or one process is asked for; standard input always. Both are sent
    to other processes: they hold nothing that only this one has. Where those have other disks, the rig's files go
    along, `more` of them than it includes where a task reads those; a rig of which they can't is worked on here.
    """
    there = place()
    workers = there.workers(processes)
    apart = [one.name for one in rigs if one.name != "-"] if (workers > 1 or there.far) and len(rigs) > 1 else []
    sent = {name: files_along(name, more(name)) for name in apart} if there.far else {}
    apart = [name for name in apart if sent.get(name, {}) is not None]
    with Progress("rigs") as progress:
        own = partial(by_itself, task) if not there.far and len(apart) >= workers else task
        waiting = _apart(own, apart, sent, there, min(workers, len(apart)), lost)
        away = {*apart}
        for done, one in enumerate(rigs, 1):
            yield next(waiting) if one.name in away else task(one.name)
            progress(done, len(rigs))
        if apart:
            next(waiting, None)  # past its last answer: the processes end by themselves, and are waited for


def _apart(
    task: Callable[[str], Answer],
    names: Sequence[str],
    sent: Mapping[str, Mapping[str, bytes] | None],
    there: Workplace,
    workers: int,
    lost: Callable[[str], Answer],
) -> Iterator[Answer]:
    """The answers of other processes, in order; a rig that ends its process is found by itself."""
    from concurrent.futures import BrokenExecutor

    with there.pool(workers) as pool:
        jobs: list[Future[Answer]] = [_given(pool, task, name, sent.get(name)) for name in names]
        for name, job in zip(names, jobs, strict=True):
            try:
                answer = job.result()
            except BrokenExecutor:  # one of those at work did it: asked again alone
                answer = _alone(task, name, sent.get(name), there, lost)
            yield answer


def _alone(
    task: Callable[[str], Answer],
    name: str,
    files: Mapping[str, bytes] | None,
    there: Workplace,
    lost: Callable[[str], Answer],
) -> Answer:
    from concurrent.futures import BrokenExecutor

    try:
        with there.pool(1) as pool:
            return _given(pool, task, name, files).result()
    except BrokenExecutor:
        return lost(name)


def _given(
    pool: Executor, task: Callable[[str], Answer], name: str, files: Mapping[str, bytes] | None
) -> Future[Answer]:
    if files is None:
        return pool.submit(task, name)
    from analyser.working.errands import beside

    return pool.submit(beside, task, files, Path(name).name)


def ended(name: str) -> tuple[str, Document]:
    """What is told of a rig whose process ended without an answer: as text, and as a document."""
    from analyser.checking.shapes import errors

    text = "the process that worked on it was ended, and there is no answer (not enough memory?)"
    return f"{shown(name)}: {text}\n", errors((Mistake(Place(shown(name), 1), text, ""),))


def wrong(error: Unreadable, *, as_json: bool) -> tuple[str, Document | None]:
    """What is told of a rig that can't be read: as text, or as a document."""
    if as_json:
        from analyser.checking.shapes import errors

        return "", errors(error.mistakes)
    from analyser.pages.writing.mistakes_page import mistakes_text

    return mistakes_text(error.mistakes, error.sources), None
