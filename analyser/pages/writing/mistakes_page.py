"""What stands in the place of a result where a file can't be read: each mistake with its line and a caret."""

from __future__ import annotations

from collections.abc import Sequence

from analyser.checking.sentences import counted
from analyser.language.mistakes import Mistake
from analyser.language.source import shown_name
from analyser.pages.tree import Code, Page, Title, legible


def mistakes_page(file: str, mistakes: Sequence[Mistake], sources: dict[str, list[str]]) -> Page:
    count = "one mistake" if len(mistakes) == 1 else counted(len(mistakes), "mistake")
    text = mistakes_text(mistakes, sources)
    return Page((Title(f"{file} can't be understood: {count}"), Code(tuple(text.splitlines()), "text")), file)


def mistakes_text(mistakes: Sequence[Mistake], sources: dict[str, list[str]]) -> str:
    """Each mistake with its line and a caret under exactly the wrong piece."""
    return legible("\n".join(_mistake_text(one, sources) for one in mistakes))


def _mistake_text(one: Mistake, sources: dict[str, list[str]]) -> str:
    place = one.place
    if place.file not in sources:  # a word of the command line, which the reader has before them
        return f"{one.text}\n" + (f"        {one.help}\n" if one.help else "")
    lines = [f"{shown_name(place.file)}:{place.line}:{place.column}: {one.text}"]
    source = sources.get(place.file, [])
    if 0 < place.line <= len(source) and source[place.line - 1].strip():
        line = source[place.line - 1]
        start, end = place.column - 1, min(max(place.end - 1, place.column), len(line) + 1)
        if len(line) > 160:  # show the piece around the mistake
            cut = max(0, start - 60)
            line, start, end = line[cut : cut + 120], start - cut, min(end - cut, 120)
        shown = "".join(c if c.isprintable() or c == "\t" else "?" for c in line).replace("\t", "    ")
        tabs = line[:start].count("\t") * 3
        gutter = f"{place.line:>5} | "
        lines.append(gutter + shown)
        lines.append(" " * (len(gutter) - 2) + "| " + " " * (start + tabs) + "^" * max(1, end - start))
    if one.help:
        lines.append(f"        {one.help}")
    return "\n".join(lines) + "\n"
