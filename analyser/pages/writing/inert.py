"""Data for a page's script, put into the page as text that nothing runs."""

from __future__ import annotations

import json

from markupsafe import Markup


def inert(data: object) -> Markup:
    """JSON for an element that is read, never run: nothing in it can end the element or begin another."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"))
    for mark in "<>&":
        text = text.replace(mark, f"\\u{ord(mark):04x}")
    return Markup(text)
