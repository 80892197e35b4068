"""`stillheld start [FILE]`: a first rig from a template. A file that is there is never touched."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from shlex import quote
from typing import TypeVar

import grammar
from analyser.checking.results import FORMAT
from analyser.language.mistakes import did_you_mean
from grammar import TEMPLATES, about, template

Answer = TypeVar("Answer")

QUESTIONS = 3
"""How often a question is asked before it is taken that nobody can answer it."""


class NotStarted(Exception):
    """Nothing was written; the message says why and what to do instead."""


def run(options: argparse.Namespace) -> int:
    """0 when the rig was written (or the list printed), 2 when nothing was."""
    if options.list:
        _list(as_json=options.json)
        return 0
    try:
        if options.lessons:
            return _lessons(Path(options.lessons))
        name = options.template or TEMPLATES[0]
        if name not in TEMPLATES:
            hint = did_you_mean(name, TEMPLATES, f"there are: {', '.join(TEMPLATES)}")
            raise NotStarted(f"there is no template called `{name}`\n        {hint}")
        if options.file == "-":
            sys.stdout.write(template(name))
            return 0
        target = Path(options.file) if options.file else None
        if sys.stdin.isatty() and sys.stdout.isatty():
            if not options.template:
                name = _asked(f"{_menu()}which one? [1] ", _chosen)
            target = target or _asked(f"file name? [{name}.rig] ", lambda answer: _free(answer or f"{name}.rig"))
        path = write(name, target or Path(f"{name}.rig"))
    except NotStarted as error:
        sys.stderr.write(f"{error}\n")
        return 2
    except EOFError:
        sys.stderr.write("\nstopped: nothing was written\n")
        return 2
    sys.stdout.write(
        f"wrote {path}: {about(name)}\nnow put your own names in, and: stillheld check {quote(str(path))}\n"
    )
    return 0


def _lessons(folder: Path) -> int:
    """Every lesson and their page into a folder. Raises `NotStarted`, with nothing written, where one is there."""
    lessons = grammar.lessons()
    there = [name for name in lessons if (folder / name).exists()]
    if there:
        raise NotStarted(f"{folder / there[0]} is there already, and is never overwritten\n        name another folder")
    try:
        folder.mkdir(exist_ok=True)
        for name, text in lessons.items():
            with (folder / name).open("x", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except FileNotFoundError:
        raise NotStarted(f"there is no folder {folder.parent}\n        make it first, or name another one") from None
    except OSError as error:
        raise NotStarted(f"{folder} cannot be written: {error.strerror}") from None
    first = next(name for name in lessons if name.endswith(".rig") and not name.endswith("-mended.rig"))
    sys.stdout.write(
        f"wrote {len(lessons)} files into {folder}: twelve lessons, each wrong and mended; README.md leads on\n"
        f"now: stillheld drill {quote(str(folder / first))}\n"
    )
    return 0


def write(name: str, path: Path) -> Path:
    """Write a template where no file is yet; the path written. Raises `NotStarted`.

    The file is created and found absent in one step, so that nothing that appears meanwhile is lost.
    """
    path = _ending(path)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(template(name))
    except FileExistsError:
        what = "a folder" if path.is_dir() else "there already, and is never overwritten"
        other = quote(str(path / f"{name}.rig" if path.is_dir() else _other(path)))
        raise NotStarted(f"{path} is {what}\n        write `stillheld start {other} --from {name}`") from None
    except FileNotFoundError:
        raise NotStarted(f"there is no folder {path.parent}\n        make it first, or name another one") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise NotStarted(f"{path} cannot be written: {reason}") from None
    return path


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
    path = _ending(Path(answer))
    if path.exists():
        raise NotStarted(f"{path} is there already, and is never overwritten; {_other(path)} is free")
    return path


def _chosen(answer: str) -> str:
    """The template that an answer names, by number or by name."""
    numbers = {str(number): name for number, name in enumerate(TEMPLATES, 1)}
    name = numbers.get(answer or "1", answer)
    if name not in TEMPLATES:
        raise NotStarted(f"write a number from 1 to {len(TEMPLATES)}")
    return name


def _asked(question: str, understood: Callable[[str], Answer]) -> Answer:
    """The answer to a question, asked again where it can't be used. Raises `NotStarted`, `EOFError`."""
    for again in range(QUESTIONS):
        try:
            return understood(input(question).strip())
        except NotStarted as error:
            if again == QUESTIONS - 1:
                raise
            print(error)
    raise AssertionError("not reached")


def _menu() -> str:
    return "".join(f"{number}  {name:<18}{about(name)}\n" for number, name in enumerate(TEMPLATES, 1))


def _list(*, as_json: bool) -> None:
    if as_json:
        data = {"format": FORMAT, "templates": [{"template": name, "about": about(name)} for name in TEMPLATES]}
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        sys.stdout.write("".join(f"{name:<18}{about(name)}\n" for name in TEMPLATES))
        sys.stdout.write("twelve lessons to drill: stillheld start --lessons FOLDER\n")
