"""What to look at next: which question leaves the fewest explanations, whatever the answer.

A question asks whether one failure happened, or whether somebody fell of whom nothing is said. Of the
sets of failures that are left, `yes` keeps those with that failure (or with one that does as much) and
`no` the others. If every set is as good as every other, a question with y and n of them leaves
(y² + n²) / (y + n) on average: by that the questions are chosen. What a `yes` and a `no` really leave is then asked of
each: with an answer taken as a fact, smallest sets come up that stood behind smaller ones before, and others go.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from analyser.rig.model import Failure
from analyser.uses.incident.evidence import includes
from analyser.uses.incident.reconstruction import Explanation, Reconstruction, explained, sets_of
from analyser.uses.incident.slips import NEVER_MADE


@dataclass(frozen=True, slots=True)
class Look:
    """A question: how many sets of failures a `yes` and a `no` leave. `also` are questions that leave as
    many. `suppose` is what to give to `--suppose`, empty for a contact that may never have been made."""

    question: str
    suppose: str
    yes: int
    no: int
    also: tuple[str, ...] = ()
    body: str = ""
    """Of whom it asks whether they fell; empty where it asks for a failure."""

    @property
    def left(self) -> float:
        """The expected number left, if each answer is as likely as the sets that it leaves."""
        return (self.yes**2 + self.no**2) / max(self.yes + self.no, 1)


def looks(made: Reconstruction, most: int = 10) -> list[Look]:
    """Questions that would narrow what is left, the best first; those that leave as many are told once."""
    known: dict[str, Failure] = {f.id: f for moment in made.moments for f in moment.rig.failures}
    settled = {item.name for item in made.observed if item.verb in ("found", "not")}
    asked: dict[str, tuple[str, str, list[int]]] = {}
    named = sorted({one for e in made.explanations for choice in e.choices for one in choice} - settled)
    for name in named:
        doing = {one for one in named if includes(known[one], known[name])} | {name}
        doing |= {one for one in settled if one in known and includes(known[one], known[name])}
        suppose = "" if known[name].mode == NEVER_MADE else name
        asked[name] = (suppose, "", [_with(one, doing) for one in made.explanations])
    for body in made.unsaid:
        asked[f"fell {body}"] = (
            f"fell {body}",
            body,
            [one.sets * (body in {*one.others, *one.runs}) for one in made.explanations],
        )
    found: dict[tuple[int, ...], Look] = {}
    for question, (suppose, body, counts) in asked.items():
        yes = sum(counts)
        no = made.sets - yes
        if not yes or not no:
            continue
        key = tuple(counts)
        if key in found:
            before = found[key]
            found[key] = replace(before, also=(*before.also, question))
        else:
            found[key] = Look(question, suppose, yes, no, body=body)
    chosen = sorted(found.values(), key=lambda look: (look.left, look.question))[:most]
    answered = [replace(one, yes=_left(made, one, yes=True), no=_left(made, one, yes=False)) for one in chosen]
    return sorted(answered, key=lambda look: (look.left, look.question))


def _left(made: Reconstruction, one: Look, *, yes: bool) -> int:
    """How many sets of failures an answer leaves, taken as a fact and searched to the end."""
    asked = made.asked
    body = one.body
    if body:
        told = replace(asked, fell=(*asked.fell, body)) if yes else replace(asked, stayed=(*asked.stayed, body))
    elif yes:
        told = replace(asked, happened=(*asked.happened, one.question))
    else:
        told = replace(asked, ruled_out=(*asked.ruled_out, one.question))
    return sets_of(explained(made.moments, told, made.order))


def _with(one: Explanation, doing: set[str]) -> int:
    """For how many sets of an explanation one of these failures happened."""
    without = math.prod(sum(failure not in doing for failure in choice) for choice in one.choices)
    return one.sets - without
