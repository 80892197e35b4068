"""Pages as Chromium prints them on A4: how many sheets, the words on each, how large the type is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium

SLACK = 1.2
"""Points by which two letters may reach into each other."""
WIDE = 688
"""Pixels of a sheet of A4 upright between its margins."""
IN_PICTURES = 7.9
"""Letters up to so many points are in pictures: what stands over what is tested there."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed sheet: its words, and each letter with its size in points; `across`: wider than it is high."""

    words: str
    letters: tuple[tuple[str, float], ...]
    across: bool
    boxes: tuple[tuple[float, float, float, float], ...] = ()
    """Where each letter stands: left, bottom, right, top, in points."""

    @property
    def smallest(self) -> float:
        return min(size for letter, size in self.letters if letter.strip())

    @property
    def printed_over(self) -> set[str]:
        """The letters, with what stands beside them, that are printed over others."""
        marked = [k for k, (letter, size) in enumerate(self.letters) if letter.strip() and size > IN_PICTURES]
        left, bottom, right, top = np.array([self.boxes[k] for k in marked]).reshape(-1, 4).T
        wide = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
        high = np.minimum(top[:, None], top) - np.maximum(bottom[:, None], bottom)
        over = (wide > SLACK) & (high > SLACK)
        for beside in range(-3, 4):  # kerning, and of what has a halo too
            over &= ~np.eye(len(marked), k=beside, dtype=bool)
        code = np.array([ord(self.letters[k][0]) for k in marked])
        over &= code[:, None] != code  # a letter and its halo
        text = "".join(letter for letter, _ in self.letters)
        return {text[max(0, marked[k] - 12) : marked[k] + 12] for k in np.flatnonzero(over.any(axis=1))}

    def size_of(self, words: str) -> float:
        """The size in points of the first letter of some words."""
        text = "".join(letter for letter, _ in self.letters)
        return self.letters[text.index(words)][1]


def printed(browser: Any, html: str, folder: Path) -> list[Sheet]:
    """What the print button of a browser gives of a page: nothing is printed over anything."""
    file = folder / "page.html"
    file.write_text(html, encoding="utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    page.set_viewport_size({"width": WIDE, "height": 1000})
    page.emulate_media(media="print")
    over = page.evaluate("document.documentElement.scrollWidth") - WIDE
    assert over <= 1, f"{over} pixels wider than a sheet: all of it would be printed smaller"
    data = page.pdf(format="A4")
    page.close()
    document = pypdfium2.PdfDocument(data)
    sheets = [_sheet(page) for page in document]
    for number, sheet in enumerate(sheets, 1):
        assert not sheet.printed_over, f"on sheet {number} words stand over words"
    return sheets


def _sheet(page: Any) -> Sheet:
    text = page.get_textpage()
    width, height = page.get_size()
    letters, boxes = [], []
    for k in range(text.count_chars()):
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFText_GetMatrix(text, k, matrix)
        size = pdfium.FPDFText_GetFontSize(text, k) * (matrix.c**2 + matrix.d**2) ** 0.5
        letters.append((chr(pdfium.FPDFText_GetUnicode(text, k)), size))
        boxes.append(text.get_charbox(k))
    return Sheet(" ".join(text.get_text_bounded().split()), tuple(letters), width > height, tuple(boxes))
