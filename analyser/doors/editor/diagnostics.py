"""What is wrong with a text, and what its rig's check finds, as an editor's diagnostics.

Only what can't be understood is an error. A finding is told of a rig that was read: danger is a
warning, caution an information, a note a hint. So no editor's count of errors ever speaks of the
rope system, and "no errors" never says more than that the text was read.
"""

from __future__ import annotations

from collections.abc import Iterable

from lsprotocol import types

from analyser.checking.finding import Severity
from analyser.checking.letterhead import CAUTIONS
from analyser.checking.results import Result
from analyser.doors.editor.columns import Columns
from analyser.doors.editor.readings import Reading
from analyser.language.mistakes import Mistake, Place

SOURCE = "stillheld"
SEVERITY = {
    Severity.DANGER: types.DiagnosticSeverity.Warning,
    Severity.CAUTION: types.DiagnosticSeverity.Information,
    Severity.NOTE: types.DiagnosticSeverity.Hint,
}
Told = dict[str, list[types.Diagnostic]]
"""Diagnostics by the URI of their file; every file that was read has its entry, empty or not."""


def words(mistake: Mistake) -> str:
    """A mistake's text and its help, as the command line has them."""
    return f"{mistake.text}\n{mistake.help}" if mistake.help else mistake.text


class _Telling:
    """Diagnostics being gathered, file by file."""

    def __init__(self, reading: Reading, encoding: str) -> None:
        self.reading = reading
        self.columns: dict[str, Columns] = {}
        self.encoding = encoding
        self.told: Told = {reading.uri(shown): [] for shown in reading.document.sources}

    def tell(self, place: Place, text: str, severity: types.DiagnosticSeverity, code: str | None = None) -> None:
        if place.file not in self.columns:
            self.columns[place.file] = self.reading.columns(place.file, self.encoding)
        where = self.columns[place.file].range(place)
        one = types.Diagnostic(where, text, severity=severity, code=code, source=SOURCE)
        self.told[self.reading.uri(place.file)].append(one)


def of_text(reading: Reading, encoding: str) -> Told:
    """Every mistake of a rig's text, in each of its files."""
    telling = _Telling(reading, encoding)
    for mistake in reading.mistakes:
        telling.tell(mistake.place, words(mistake), types.DiagnosticSeverity.Error)
    return telling.told


def of_check(reading: Reading, result: Result, encoding: str) -> Told:
    """What the check finds: its findings, the requirements that are not met, how far it searched."""
    telling = _Telling(reading, encoding)
    for finding in result.findings:
        text = finding.text
        severity = SEVERITY[finding.severity]
        if finding.accepted is not None:
            text, severity = f"{text}\naccepted: {finding.accepted}", types.DiagnosticSeverity.Hint
        telling.tell(finding.place, text, severity, finding.rule)
    for judged in result.requirements:
        if judged.met is True or judged.requirement.assumed:
            continue
        state = "not met" if judged.met is False else "not fully checked"
        text = "\n".join([f"{state}: {judged.requirement.text}", *judged.because])
        severity = types.DiagnosticSeverity.Warning if judged.met is False else types.DiagnosticSeverity.Information
        telling.tell(judged.requirement.place, text, severity, f"require-{judged.requirement.rule}")
    if result.states[0].outcome.share is not None:
        text = "\n".join([f"{result.complete}.", *CAUTIONS])
        telling.tell(result.rig.place, text, types.DiagnosticSeverity.Information, "not-fully-searched")
    return telling.told


def together(told: Iterable[Told], uri: str) -> list[types.Diagnostic]:
    """The diagnostics of one file from several rigs that include it, each told once."""
    found: list[types.Diagnostic] = []
    for one in told:
        found += [diagnostic for diagnostic in one.get(uri, ()) if diagnostic not in found]
    return found


def left_alone(most: int) -> types.Diagnostic:
    """What stands on the first line of a text that is too large to be read while it is written."""
    text = f"this text is larger than {most // 1000} kB: it is not checked while it is written\n"
    text += "`stillheld check` reads it; or split it with `include`"
    start = types.Range(types.Position(0, 0), types.Position(0, 1))
    severity = types.DiagnosticSeverity.Information
    return types.Diagnostic(start, text, severity=severity, code="not-checked", source=SOURCE)
