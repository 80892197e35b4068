"""The parser's tables, kept beside Python's compiled files: reading them back takes a tenth of the time of making them.

What is kept is data (JSON): nothing in it can be run. It begins with a digest of the grammar, of who made the
tables of it, and of themselves; what doesn't fit is made anew.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import Any

import lark
from lark import Lark
from lark.grammar import Rule
from lark.indenter import Indenter
from lark.lexer import TerminalDef

DIGEST = 32


def kept(place: Path, text: str, postlex: Indenter, make: Callable[[], Lark]) -> Lark:
    """The parser of a grammar's text: of what is kept at `place`, else as `make` makes it, and then kept."""
    with suppress(OSError, LookupError, TypeError, ValueError, AttributeError, AssertionError):
        return _read(place.read_bytes(), text, postlex)
    made = make()
    with suppress(OSError, LookupError, TypeError):
        _put(place, _written(made, text))
    return made


def _written(parser: Lark, text: str) -> bytes:
    data, memo = parser.memo_serialize([TerminalDef, Rule])
    options = {name: value for name, value in data["options"].items() if name != "postlex"}
    body = json.dumps({"data": {**data, "options": options}, "memo": memo}, separators=(",", ":")).encode()
    return _digest(text, body) + body


def _read(kept: bytes, text: str, postlex: Indenter) -> Lark:
    """Raises one of the errors that `kept` forgives where these aren't the tables of that text."""
    head, body = kept[:DIGEST], kept[DIGEST:]
    if head != _digest(text, body):
        raise ValueError("tables of something else")
    told: Any = json.loads(body)
    automaton = told["data"]["parser"]["parser"]
    automaton["tokens"] = _numbered(automaton["tokens"])
    automaton["states"] = {state: _numbered(row) for state, row in _numbered(automaton["states"]).items()}
    return Lark._load_from_dict(  # type: ignore[no-any-return,no-untyped-call]
        told["data"], _numbered(told["memo"]), postlex=postlex
    )


def _numbered(told: dict[str, Any]) -> dict[int, Any]:
    """What JSON has under the texts of numbers."""
    return {int(number): one for number, one in told.items()}


def _digest(text: str, body: bytes) -> bytes:
    made_by = f"{lark.__version__} {sys.version} {text}\0"
    return blake2b(made_by.encode() + body, digest_size=DIGEST).digest()


def _put(place: Path, data: bytes) -> None:
    beside = place.with_name(f"{place.name}.{os.getpid()}")
    try:
        beside.write_bytes(data)
        beside.replace(place)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
