"""User text as label text: whatever a rig calls its things is drawn literally.

Labels are HTML-like tables and lines. Two layers read them: one for tags and entities, one for
backslash sequences (`\\N`, `\\n`), and control characters are refused by both.
"""

from __future__ import annotations

import html
import re
from collections.abc import Sequence

CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
BREAK = "<BR/>"
SMALL = 10
FEW = 4


def literal(text: str) -> str:
    """Text that comes out as it stands, on one line."""
    seen = CONTROL.sub("\ufffd", " ".join(text.split()))
    return html.escape(seen).replace("\\", "\\\\")


def bold(label: str) -> str:
    return f"<B>{label}</B>" if label else ""


def sized(label: str, points: int, colour: str | None = None) -> str:
    if not label:  # empty tags are refused
        return ""
    tint = f' COLOR="{colour}"' if colour else ""
    return f'<FONT POINT-SIZE="{points}"{tint}>{label}</FONT>'


def lines(*labels: str) -> str:
    return BREAK.join(label for label in labels if label)


def beside(*labels: str) -> str:
    """Rows that stand a little to the right of a line."""
    return "".join(f'&#160;{label}&#160;<BR ALIGN="LEFT"/>' for label in labels if label)


def html_label(label: str) -> str:
    """The label as the layout program wants it."""
    return f"<{label}>"


def folded(text: str, width: int) -> list[str]:
    """Words gathered into lines of about `width` characters; a long word is never split."""
    found: list[str] = []
    for word in text.split():
        if found and len(found[-1]) + 1 + len(word) <= width:
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


def together(names: Sequence[str]) -> str:
    """`a`, `a and b`, and no more than a few: `a, b, c and 5 more`."""
    shown = list(names)
    if len(shown) > FEW:
        return f"{', '.join(shown[: FEW - 1])} and {len(shown) - FEW + 1} more"
    return f"{', '.join(shown[:-1])} and {shown[-1]}" if len(shown) > 1 else "".join(shown)


def who_falls(falls: Sequence[str], bodies: int) -> str:
    """`vic not held`, `sam and vic not held`; `none held` where nobody is left of several."""
    if len(falls) == bodies > 1:
        return "neither held" if bodies == 2 else f"none of {bodies} held"
    return f"{together(falls)} not held"
