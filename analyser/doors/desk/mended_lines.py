"""Lines that a finding says to write, as lines that can be put in at a press: only what is a whole statement, and
with which the finding is really gone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from analyser.checking.asking import Seen
from analyser.checking.finding import Finding
from analyser.checking.registry import findings as findings_of
from analyser.doors.editor.readings import Held, Reading, read
from analyser.holding.outcome import assess
from analyser.language.source import shown_name

WRITTEN = re.compile(r"`([^`\n]+)`")
MOST_TRIED = 8
"""Texts that are read and looked at again for one check."""


@dataclass(frozen=True, slots=True)
class Put:
    """A line to put in after another (1-based)."""

    after: int
    text: str


def lines_to_put(reading: Reading, findings: Iterable[Finding]) -> dict[int, Put]:
    """For the findings, by their place in the list, the line that mends each, where it names one."""
    shown = shown_name(reading.path.name)
    if reading.path not in reading.texts:
        return {}
    lines = reading.texts[reading.path].text.split("\n")
    found: dict[int, Put] = {}
    left: dict[Put, set[tuple[str, tuple[str, ...]]] | None] = {}
    for number, finding in enumerate(findings):
        if finding.mend is None or finding.accepted is not None or finding.place.file != shown:
            continue
        end = _end_of_block(lines, finding.place.line)
        for put in (one for text in WRITTEN.findall(finding.mend) for one in _puts(text, finding.place.line, end)):
            if put not in left and len(left) < MOST_TRIED:
                left[put] = None if "…" in put.text else _left(reading, lines, put)
            still = left.get(put)
            if still is not None and (finding.rule, finding.about) not in still:
                found[number] = put
                break
    return found


def _puts(text: str, line: int, end: int) -> Iterator[Put]:
    """Where a text may be put: under the block; of one with lines of its own, first or last in it."""
    yield Put(end, text)
    if end > line:
        yield Put(line, f"    {text}")
        yield Put(end, f"    {text}")


def _end_of_block(lines: list[str], line: int) -> int:
    """The last line of the statement in which a line stands."""
    last = line
    for number in range(line, len(lines)):
        if lines[number].strip() and not lines[number][0].isspace():
            break
        if lines[number].strip():
            last = number + 1
    return last


def _left(reading: Reading, lines: list[str], put: Put) -> set[tuple[str, tuple[str, ...]]] | None:
    """What is found of the text with a line put in, by rule and parts; None where it can't be read."""
    held = reading.texts[reading.path]
    text = "\n".join([*lines[: put.after], put.text, *lines[put.after :]])
    plan = read(reading.path, {reading.path: Held(held.uri, held.version, text)}).rig
    if plan is None:
        return None
    rig = plan.alone
    outcome = assess(rig)
    (found,) = findings_of([Seen(rig, outcome, rig, outcome)])
    return {(one.rule, one.about) for one in found}
