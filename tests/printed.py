"""Pages as Chromium prints them on A4: how many sheets, the words on each, how large the type is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pypdfium2
import pypdfium2.raw as pdfium


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed sheet: its words, and each letter with its size in points; `across`: wider than it is high."""

    words: str
    letters: tuple[tuple[str, float], ...]
    across: bool

    @property
    def smallest(self) -> float:
        return min(size for letter, size in self.letters if letter.strip())

    def size_of(self, words: str) -> float:
        """The size in points of the first letter of some words."""
        text = "".join(letter for letter, _ in self.letters)
        return self.letters[text.index(words)][1]


def printed(browser: Any, html: str, folder: Path) -> list[Sheet]:
    """What the print button of a browser gives of a page."""
    file = folder / "page.html"
    file.write_text(html, encoding="utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    data = page.pdf(format="A4")
    page.close()
    document = pypdfium2.PdfDocument(data)
    return [_sheet(page) for page in document]


def _sheet(page: Any) -> Sheet:
    text = page.get_textpage()
    width, height = page.get_size()
    letters = []
    for k in range(text.count_chars()):
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFText_GetMatrix(text, k, matrix)
        size = pdfium.FPDFText_GetFontSize(text, k) * (matrix.c**2 + matrix.d**2) ** 0.5
        letters.append((chr(pdfium.FPDFText_GetUnicode(text, k)), size))
    return Sheet(" ".join(text.get_text_bounded().split()), tuple(letters), width > height)
