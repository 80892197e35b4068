"""From a file on disk to lines of text, or one message why not."""

from __future__ import annotations

import re
from pathlib import Path

from analyser.language.mistakes import Mistake, Place

MOST_BYTES = 2_000_000
"""A rig of 10,000 parts is a quarter of this."""
MOST_COLUMNS = 2_000
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
"""What steers a terminal instead of being read; a tab is not among them."""

UNSEEN = re.compile("[\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u2069\ufeff]")
"""What has no width, or turns round the order in which a line is shown (Unicode's bidirectional controls)."""
STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""What a file's name may hold and no line that shows it: controls, ends of lines, turns of direction, broken bytes."""
BESIDE = re.compile(r'"[^"]*"|#.*')
"""What is no word of the language: texts (what shows them keeps their direction apart) and the comment."""


def shown_name(name: str) -> str:
    """A file's name as it is shown: nothing in it steers a terminal or turns a line round."""
    return STEERING.sub("\ufffd", name)


def read_bytes(path: Path, shown: str) -> tuple[bytes, Mistake | None]:
    """The bytes of a file, or the mistake that explains why it cannot be read."""
    place = Place(shown, 1)
    try:
        if path.is_dir():
            return b"", Mistake(place, "this is a folder, not a rig", "name a file that ends in .rig")
        if not path.exists():
            return b"", Mistake(place, "there is no such file", "check the name and the folder")
        if not path.is_file():
            return b"", Mistake(place, "this is not an ordinary file", "name a file that ends in .rig")
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1), None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        return b"", Mistake(place, f"this file cannot be read: {reason}", "")


def lines_of(data: bytes, shown: str) -> tuple[list[str], Mistake | None]:
    """The lines of a rig file: UTF-8, a BOM and CRLF accepted, with a limit on size."""
    place = Place(shown, 1)
    if len(data) > MOST_BYTES:
        return [], Mistake(
            place,
            f"this file is larger than {MOST_BYTES // 1_000_000} MB, too large for a rig",
            "split it with `include`, or check that it is the right file",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return [], Mistake(Place(shown, line), "this is not UTF-8 text", "save the file as plain text, UTF-8")
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        return [], Mistake(Place(shown, line), "this is not text: it holds a zero byte", "name a plain-text .rig file")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, one in enumerate(lines, 1):
        control = CONTROL.search(one)
        if control:
            column = control.start() + 1
            return [], Mistake(
                Place(shown, number, column, column + 1),
                f"this is not plain text: it holds the control character U+{ord(control[0]):04X}",
                "take it out, or type the line anew",
            )
        unseen = UNSEEN.search(one) and UNSEEN.search(BESIDE.sub(lambda found: " " * len(found[0]), one))
        if unseen:
            column = unseen.start() + 1
            return [], Mistake(
                Place(shown, number, column, column + 1),
                f"the character U+{ord(unseen[0]):04X} is not seen, and changes what is read",
                "take it out, or type the line anew",
            )
        if len(one) > MOST_COLUMNS:
            return [], Mistake(
                Place(shown, number, MOST_COLUMNS, MOST_COLUMNS + 1),
                f"this line is longer than {MOST_COLUMNS:,} characters",
                "put each station, part or attribute on a line of its own",
            )
    return lines, None
