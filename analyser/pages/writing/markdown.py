"""Text as Markdown that shows it as it stands: no mark of Markdown or HTML in it means anything."""

from __future__ import annotations

import re

from markupsafe import Markup

ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}
MARKS = re.compile(r"[\\`*_{}\[\]|~#$!^]")
"""What means something wherever it stands."""
AT_THE_START = re.compile(r"^(\d*)([-+=:.)])")
"""What would begin a list, a heading or a rule."""
ADDRESSES = re.compile(r"(?i)(?<=:)//|(?<=www)\.|@")
"""What many readers turn into a link by itself."""


def literal(value: object) -> Markup:
    r"""What is put into a Markdown document: on one line, every mark escaped.

    >>> print(literal("a *bold* | <b>leg-1</b>"))
    a \*bold\* \| &lt;b&gt;leg-1&lt;/b&gt;
    """
    if isinstance(value, Markup):  # put together by a template, from what was escaped
        return value
    text = MARKS.sub(r"\\\g<0>", " ".join(str(value).split()))
    text = AT_THE_START.sub(r"\1\\\2", text)
    text = ADDRESSES.sub(lambda found: "".join(f"\\{mark}" for mark in found[0]), text)
    return Markup("".join(ENTITIES.get(mark, mark) for mark in text))
