"""A finding: one rule, what it is about, whom it concerns, one sentence."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from analyser.checking.asking import wanted
from analyser.checking.sentences import in_few as in_few
from analyser.checking.sentences import listed as listed
from analyser.checking.sentences import verb as verb
from analyser.language.mistakes import Place
from analyser.rig.model import Rig


class Severity(StrEnum):
    DANGER = "danger"
    CAUTION = "caution"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """`accepted` is the reason for which the file accepts it, or None; `mend` what to write or do,
    where that is plain."""

    rule: str
    severity: Severity
    about: tuple[str, ...]
    bodies: tuple[str, ...]
    place: Place
    text: str
    accepted: str | None = None
    mend: str | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A fact that a rule needs and the file does not state: of which part, and what to add."""

    fact: str
    part: str
    add: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing worth saying, and its page: `stillheld explain NAME` prints it, the tests run it.

    The rule fires on the rig `wrong` (on the line that ends in `# here`, where there is one) and is
    silent on `right`, its nearest neighbour. Both go without their title line.

    `find`, and `asks` (what the file doesn't state and the rule needs), ask for what they look at by the
    names of their parameters: `asking.py` lists the names, and says in which states a check is asked.
    """

    name: str
    severity: Severity
    means: str
    matters: str
    mends: str
    source: str
    wrong: str
    right: str
    find: Callable[..., Iterator[Finding]]
    asks: Callable[..., Iterator[Asked]] | None = None

    def __post_init__(self) -> None:
        wanted(self.find)

    def told(
        self,
        text: str,
        about: Iterable[str],
        place: Place,
        bodies: Iterable[str] = (),
        *,
        severity: Severity | None = None,
        mend: str | None = None,
    ) -> Finding:
        """A finding of this rule."""
        return Finding(self.name, severity or self.severity, tuple(about), tuple(bodies), place, text, None, mend)


def place_of(rig: Rig, name: str) -> Place:
    """Where a part, a span's rope or a cause stands in the file."""
    if name in rig.parts:
        return rig.parts[name].place
    for rope in rig.ropes:
        if name == rope.name or name in rope.spans:
            return rope.place
    for failure in rig.failures:
        if failure.part == name:
            return failure.place
    return rig.place
