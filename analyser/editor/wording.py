"""What the reference says of a word of the language, for one who points at it."""

from __future__ import annotations

import re
from functools import cache

import grammar
from analyser.editor.names import Keyword
from analyser.reading.vocabulary import EXAMPLES


def of_the_language(keyword: Keyword) -> str:
    """What grammar/reference.md says of a keyword: the row or sentence that has it, with an example."""
    for length in range(len(keyword.phrase), 0, -1):
        phrase = " ".join(keyword.phrase[:length])
        found = [text for codes, text in _reference() if any(_begins(code, phrase) for code in codes)]
        if found:
            break
    else:
        return ""
    example = EXAMPLES.get(keyword.text)
    return f"**{phrase}**: {found[0]}" + (f"\n\nfor example `{example}`" if example else "")


def _begins(code: str, phrase: str) -> bool:
    return code == phrase or code.startswith((f"{phrase} ", f"{phrase}:"))


@cache
def _reference() -> list[tuple[list[str], str]]:
    """The reference's table rows and sentences: the code in each (of a row, in its first cell) and its words.

    Rows come first, then sentences that begin with code, then other sentences, then the lines of examples
    with what stands before the example or behind the line."""
    text = grammar.text("reference.md")
    examples: list[tuple[list[str], str]] = []
    for example in re.finditer(r"```rig[\w-]*\n(.*?)```", text, flags=re.DOTALL):
        before = " ".join(text[: example.start()].rstrip().rpartition("\n\n")[2].split())
        for line in example[1].splitlines():
            code, _, comment = line.partition("#")
            if code.strip():
                examples.append(([code.strip()], comment.strip() or before))
    text = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    text = re.sub(r"\[([^]]*)]\([^)]*\)", r"\1", re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL))
    rows: list[tuple[list[str], str]] = []
    first: list[tuple[list[str], str]] = []
    rest: list[tuple[list[str], str]] = []
    paragraphs: list[str] = []
    for block in text.split("\n\n"):
        if block.lstrip().startswith("| mistake"):
            continue  # what is wrong with a word is not what it says
        if block.lstrip().startswith("|"):
            for line in block.strip().splitlines()[2:]:
                cells = [cell.strip().replace("\\|", "|") for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
                codes = _codes(cells[0])
                if codes and len(cells) > 1:
                    rows.append((codes, f"{cells[0]}: {': '.join(cell for cell in cells[1:] if cell)}"))
        elif not block.lstrip().startswith("#"):
            paragraphs.append(" ".join(block.split()))
    for paragraph in paragraphs:
        for sentence in re.split(r"(?<=[.:)]) (?=[A-Z`*])", paragraph):
            codes = _codes(sentence)
            if codes:
                (first if sentence.startswith("`") else rest).append((codes, sentence))
    return rows + first + rest + examples


def _codes(text: str) -> list[str]:
    return [one.strip() for one in re.findall(r"`([^`]+)`", text)]
