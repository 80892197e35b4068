"""`stillheld start [FILE]`: a first rig from a template. A file that is there is never touched."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from pathlib import Path
from shlex import quote
from typing import TypeVar

import grammar
from analyser.doors.commands.getting_out import NotDone, put_json
from analyser.doors.commands.options import as_json
from analyser.doors.live.whole import put_new
from analyser.language.mistakes import did_you_mean
from analyser.language.source import shown_name
from grammar import TEMPLATES, about, template

Answer = TypeVar("Answer")

QUESTIONS = 3
"""How often a question is asked before it is taken that nobody can answer it."""


def options(one: ArgumentParser) -> None:
    one.add_argument("file", nargs="?", metavar="FILE", help="the file to write, or - for standard output")
    one.add_argument("--from", dest="template", metavar="TEMPLATE", help="which template (--list names them)")
    one.add_argument("--list", action="store_true", help="list the templates and stop")
    words = "twelve short lessons with their page, into a new folder: each a rig to drill, and its mend"
    one.add_argument("--lessons", metavar="FOLDER", help=words)
    as_json(one, "with --list: as JSON, for scripts")


def run(asked: Namespace) -> int:
    """0 when the rig was written (or the list printed), 2 when nothing was."""
    if asked.list:
        _list(as_json=asked.json)
        return 0
    if asked.json:
        raise NotDone("`--json` goes with `--list`: a template is a rig, and is written as its text")
    if asked.lessons:
        return _lessons(Path(asked.lessons))
    name = asked.template or TEMPLATES[0]
    if name not in TEMPLATES:
        hint = did_you_mean(name, TEMPLATES, f"there are: {', '.join(TEMPLATES)}")
        raise NotDone(f"there is no template called `{name}`\n        {hint}")
    if asked.file == "-":
        sys.stdout.write(template(name))
        return 0
    target = Path(asked.file) if asked.file else None
    try:
        if sys.stdin.isatty() and sys.stdout.isatty():
            if not asked.template:
                name = _asked(f"{_menu()}which one? [1] ", _chosen)
            target = target or _asked(f"file name? [{name}.rig] ", lambda answer: _free(answer or f"{name}.rig"))
    except EOFError:
        raise NotDone("\nstopped: nothing was written") from None
    path = write(name, target or Path(f"{name}.rig"))
    where = shown_name(str(path))
    sys.stdout.write(f"wrote {where}: {about(name)}\nnow put your own names in, and: stillheld check {quote(where)}\n")
    return 0


def _lessons(folder: Path) -> int:
    """Every lesson and their page into a folder. Raises `NotDone`, with nothing written, where one is there."""
    lessons = grammar.lessons()
    try:
        there = [name for name in lessons if (folder / name).exists()]
        if there:
            raise NotDone(
                f"{folder / there[0]} is there already, and is never overwritten\n        name another folder"
            )
        folder.mkdir(exist_ok=True)
        for name, text in lessons.items():
            put_new(folder / name, text.encode())
    except FileNotFoundError:
        raise NotDone(f"there is no folder {folder.parent}\n        make it first, or name another one") from None
    except (OSError, ValueError) as error:
        raise NotDone(f"{folder} cannot be written: {_why(error)}") from None
    first = next(name for name in lessons if name.endswith(".rig") and not name.endswith("-mended.rig"))
    sys.stdout.write(
        f"wrote {len(lessons)} files into {shown_name(str(folder))}: twelve lessons, each wrong and mended; "
        f"README.md leads on\nnow: stillheld drill {quote(shown_name(str(folder / first)))}\n"
    )
    return 0


def write(name: str, path: Path) -> Path:
    """Write a template where no file is yet; the path written. Raises `NotDone`."""
    try:
        path = _ending(path)
        put_new(path, template(name).encode())
    except FileExistsError:
        what = "a folder" if path.is_dir() else "there already, and is never overwritten"
        other = quote(str(path / f"{name}.rig" if path.is_dir() else _other(path)))
        raise NotDone(f"{path} is {what}\n        write `stillheld start {other} --from {name}`") from None
    except FileNotFoundError:
        raise NotDone(f"there is no folder {path.parent}\n        make it first, or name another one") from None
    except (OSError, ValueError) as error:
        raise NotDone(f"{path} cannot be written: {_why(error)}") from None
    return path


def _why(error: OSError | ValueError) -> str:
    return getattr(error, "strerror", None) or "the name cannot be used"


def _ending(path: Path) -> Path:
    """A rig's name ends in .rig, unless another ending, or a folder, is named."""
    return path if path.suffix or path.is_dir() else path.with_name(f"{path.name}.rig")


def _other(path: Path) -> Path:
    """A name beside `path` that is free."""
    number = 2
    while (other := path.with_stem(f"{path.stem}-{number}")).exists():
        number += 1
    return other


def _free(answer: str) -> Path:
    """The file that an answer names, if it can still be written."""
    try:
        path = _ending(Path(answer))
        is_there = path.exists()
    except (OSError, ValueError) as error:
        raise NotDone(f"{answer} cannot be written: {_why(error)}") from None
    if is_there:
        raise NotDone(f"{path} is there already, and is never overwritten; {_other(path)} is free")
    return path


def _chosen(answer: str) -> str:
    """The template that an answer names, by number or by name."""
    numbers = {str(number): name for number, name in enumerate(TEMPLATES, 1)}
    name = numbers.get(answer or "1", answer)
    if name not in TEMPLATES:
        raise NotDone(f"write a number from 1 to {len(TEMPLATES)}")
    return name


def _asked(question: str, understood: Callable[[str], Answer]) -> Answer:
    """The answer to a question, asked again where it can't be used. Raises `NotDone`, `EOFError`."""
    for again in range(QUESTIONS):
        try:
            return understood(input(question).strip())
        except NotDone as error:
            if again == QUESTIONS - 1:
                raise
            print(error)
    raise AssertionError("not reached")


def _menu() -> str:
    return "".join(f"{number}  {name:<18}{about(name)}\n" for number, name in enumerate(TEMPLATES, 1))


def _list(*, as_json: bool) -> None:
    if as_json:
        from analyser.checking.contract import lay
        from analyser.uses.teaching.language_shapes import Templates

        put_json(lay(Templates, [(name, about(name)) for name in TEMPLATES]))
    else:
        sys.stdout.write("".join(f"{name:<18}{about(name)}\n" for name in TEMPLATES))
        sys.stdout.write("twelve lessons to drill: stillheld start --lessons FOLDER\n")
