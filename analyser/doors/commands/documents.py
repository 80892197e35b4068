"""Where a document goes: into a file whose ending says how it is written, or to standard output."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from analyser.checking.results import Result

Writer = Callable[[], str]


def put(target: str, writers: Mapping[str, Writer], data: Callable[[], object], *, as_json: bool) -> bool:
    """Write a document; False (and why, on standard error) where that can't be.

    `writers` are by the ending of a file's name; the first is that of standard output (`-`). With
    `as_json` the data goes there instead, whatever the ending. What is written is whole or not at all.
    """
    ending = Path(target).suffix.lower()
    if target != "-" and not as_json and ending not in writers:
        *others, last = writers
        sys.stderr.write(f"{target}: write a name that ends in {', '.join(others)} or {last}\n")
        return False
    if as_json:
        text = json.dumps(data(), indent=2, ensure_ascii=False) + "\n"
    else:
        text = (next(iter(writers.values())) if target == "-" else writers[ending])()
    if target == "-":
        sys.stdout.write(text)
        return True
    try:
        Path(target).write_bytes(text.encode("utf-8-sig" if ending == ".csv" and not as_json else "utf-8"))
    except OSError as error:
        sys.stderr.write(f"{target}: cannot be written: {error.strerror}\n")
        return False
    return True


def closing(result: Result) -> int:
    """Say on standard error where a requirement isn't met; returns the exit status."""
    if not result.met:
        sys.stderr.write(f"{result.closing}\n")
    return result.exit_status
