"""Names and numbers of a call, as text: failures, bodies, states, orders; where one can't be used, what to write.

The command line and `import analyser` understand the same words, and refuse others with the same sentence.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.language.identities import CUT, Cut, FailureId
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean, near
from analyser.rig.figures import use
from analyser.rig.index import spans_of

if TYPE_CHECKING:
    from analyser.checking.force_shapes import Lacking
    from analyser.forces.missing import Missing
    from analyser.rig.laying import Within
    from analyser.rig.model import Failure, Rig, Stage

COMMAND_LINE = "command line"
MOST_ORDER = 4


class Refused(Unreadable, ValueError):
    """Words of a call that can't be used: each mistake says why, and what to write instead."""

    def __init__(self, *mistakes: Mistake) -> None:
        super().__init__(mistakes, {})

    def __str__(self) -> str:
        return "; ".join(f"{one.text}: {one.help}" if one.help else one.text for one in self.mistakes)


class FactsMissing(ValueError):
    """What a file must still say, or put right, before forces can be told."""

    def __init__(self, rig: Rig, missing: Missing) -> None:
        super().__init__(missing)
        self.rig, self.missing = rig, missing
        self.title, self.revision = rig.title, rig.revision

    def __str__(self) -> str:
        wrong = [one.why for one in self.missing.contradictions]
        wanted = [one.line for one in self.missing.wanted]
        told = [f"this cannot be as it is written: {'; '.join(wrong)}"] if wrong else []
        told += [f"these facts are missing: {'; '.join(wanted)}"] if wanted else []
        return f"no forces are told: {'; '.join(told)}"

    def document_of(self) -> Lacking:
        from analyser.checking.contract import lay
        from analyser.checking.force_shapes import Lacking

        return lay(Lacking, self)


def refused(text: str, help: str = "") -> Refused:
    """One word of a call that can't be used, and what to write instead."""
    return Refused(Mistake(Place(COMMAND_LINE, 1), text, help))


def not_there(text: str, hint: str = "", among: Sequence[str] = ("",)) -> Refused:
    """Something named is not there; `hint` where there is anything among which it could be."""
    return refused(text, hint if among else "")


def order_of(order: str | int) -> int:
    """How many failures are looked at together; raises `Refused`."""
    text = str(order)
    if isinstance(order, bool) or not text.isdigit() or not 1 <= int(text) <= MOST_ORDER:
        raise refused(f"{order!r} is not a number of failures from 1 to {MOST_ORDER}")
    return int(text)


def count_of(count: str | int) -> int:
    """How many of something are asked for; raises `Refused`."""
    text = str(count)
    if isinstance(count, bool) or not text.isdigit() or not 1 <= int(text) <= 100:
        raise refused(f"{count!r} is not a number from 1 to 100")
    return int(text)


def body_called(rig: Rig, name: str) -> str:
    """The body of that name; raises `Refused` with those that there are."""
    names = [body.name for body in rig.bodies]
    if name not in names:
        text = f"there is no person, litter or load called `{name}` that could fall"
        raise refused(text, did_you_mean(name, names, f"there are: {', '.join(names)}"))
    return name


def stage_called(rig: Rig, title: str) -> Stage:
    """The stage of that title; raises `Refused` with those that there are."""
    for stage in rig.stages:
        if stage.title == title:
            return stage
    titles = [stage.title for stage in rig.stages]
    hint = did_you_mean(title, titles) or "there are: " + ", ".join(f'"{one}"' for one in titles)
    raise not_there(f'this rig has no stage called "{title}"' if titles else "this rig has no stages", hint, titles)


@dataclass(frozen=True, slots=True)
class At:
    """Which rig is asked about: as first attached (0), after a step, or (`during` 1, 2 …) while the step to that
    state is being done, `within`."""

    rig: Rig
    number: int = 0
    during: int = 0
    within: Within | None = None

    @property
    def when(self) -> str:
        """`while red is laid anew`; empty after the step."""
        from analyser.checking.meanwhile import in_words

        return in_words(self.within) if self.within else ""


def at(
    rig: Rig, state: int | None = None, stage: str | None = None, step: int | None = None, during: int | None = None
) -> At:
    """The rig in the state asked for, or in the first, second … within the step that leads to it. Raises `Refused`."""
    use(rig.units)
    number = state_number(rig, state, stage, step)
    if during is None:
        return At(rig_in(rig, number), number)
    from analyser.checking.meanwhile import in_words
    from analyser.rig.plan import Plan

    found = rig.during[number - 1] if number and isinstance(rig, Plan) else ()
    if not 1 <= during <= len(found):
        if not number:
            raise refused("`--during` asks for what is true within a step", "say which: `--state N --during 1`")
        if not found:
            text = f"nothing within the step to state {number} is a state of its own"
            raise refused(text, "only where a step lays a rope anew, or slides a device past something, is there one")
        told = "; ".join(f"{k} is {in_words(one)}" for k, one in enumerate(found, 1))
        raise refused(f"within the step to state {number} there is no state {during} of its own", told)
    one = found[during - 1]
    return At(one.rig, number, during, one)


def state_number(rig: Rig, state: int | None = None, stage: str | None = None, step: int | None = None) -> int:
    """The state asked for by its number, or by a stage and a step of it (1 is its first step; without it the
    stage's last): 0, the rig as first attached, where nothing is asked. Raises `Refused`."""
    if state is not None:
        if stage is not None or step is not None:
            raise not_there("`--state` numbers all states, `--stage` and `--step` one stage's", "give one of the two")
        last = sum(len(one.steps) for one in rig.stages)
        if not 0 <= state <= last:
            hint = f"its states are 0 to {last}" if last else "it has no stages: only state 0, as first attached"
            raise not_there(f"this rig has no state {state}", hint)
        return state
    if stage is None and step is None:
        return 0
    if stage is None and len(rig.stages) > 1:
        titles = ", ".join(f'"{one.title}"' for one in rig.stages)
        raise not_there("`--step` numbers the steps of one stage", f"say which with `--stage`: {titles}")
    title = stage if stage is not None else rig.stages[0].title if rig.stages else ""
    called = stage_called(rig, title)
    step = len(called.steps) if step is None else step
    if not 1 <= step <= len(called.steps):
        hint = f"its steps are 1 to {len(called.steps)}"
        raise not_there(f'the stage "{called.title}" has no step {step}', hint)
    before = rig.stages[: rig.stages.index(called)]
    return sum(len(one.steps) for one in before) + step


def rig_in(rig: Rig, number: int) -> Rig:
    """The rig in one of its states."""
    return rig if number == 0 else [step.rig for stage in rig.stages for step in stage.steps][number - 1]


def chosen(rig: Rig, ids: Sequence[str]) -> list[tuple[Failure, ...]]:
    """The failures that are named: of each those that its name stands for, a cut of each of its spans where a rope
    is said to be cut. Raises `Refused` for one that cannot be."""
    known = rig.index.failures
    sound = {str(one.failure): one for one in rig.sound}
    found: list[tuple[Failure, ...]] = []
    wrong: list[Mistake] = []
    names = [" ".join(one.split()) for one in ids]
    while names:
        name = names.pop(0)
        name = f"{name} is cut" if name in rig.index.spans else name
        parted = _parted(name, names, known, rig)
        if parted and (parted in known or _cuts(rig, parted)):
            text = f"`{name}` alone is not a failure of this rig"
            wrong.append(Mistake(Place(COMMAND_LINE, 1), text, f'put it in quotes: "{parted}"'))
        if parted:
            names = names[parted.count(" ") - name.count(" ") :]
            if parted in known or _cuts(rig, parted):
                continue
            name = parted
        if name in known:
            found.append((known[name],))
        elif cuts := _cuts(rig, name):
            found.append(cuts)
        elif name in sound:
            text = f"`{name}` is taken as impossible (line {sound[name].place.line}): {sound[name].reason}"
            hint = "take that `sound` line out to see what it would do"
            wrong.append(Mistake(Place(COMMAND_LINE, 1), text, hint))
        else:
            part = name.split(" ")[0]
            own = _own(part, known)
            hint = did_you_mean(name, known)
            if own and (not hint or part in rig.parts):
                hint = "what can fail of it: " + ", ".join(own)
            if not hint and not own and part in rig.parts:
                hint = f"nothing of `{part}` fails in this rig"
            for other in near(part, rig.parts, 1) if not hint and not own else ():
                hint = f"did you mean `{other}`?"
                if more := _own(other, known):
                    hint += " what can fail of it: " + ", ".join(more)
            wrong.append(Mistake(Place(COMMAND_LINE, 1), f"`{name}` is not a failure of this rig", hint))
    if wrong:
        raise Refused(*wrong)
    return found


def _cuts(rig: Rig, name: str) -> tuple[Failure, ...]:
    """`red is cut`, `red is cut between lip and ring`: the cuts of its spans that the file does not take as
    impossible; none where no rope is meant."""
    said = re.fullmatch(r"(\S+) is cut(?: between (\S+) and (\S+))?", name)
    rope = rig.index.ropes.get(said[1]) if said else None
    if said is None or rope is None:
        return ()
    ids = (FailureId(span, CUT) for span in spans_of(rope, Cut(rope.name, said[2] or "", said[3] or "")))
    return tuple(rig.index.failures[one] for one in ids if one in rig.index.failures)


def _own(part: str, known: Mapping[str, Failure]) -> list[str]:
    """What can fail of a part, or of the spans of a rope."""
    return [one for one, failure in known.items() if part in (failure.part, failure.id.owner)]


def _parted(name: str, after: Sequence[str], known: Collection[str], rig: Rig) -> str:
    """`master`, then `fails`: one failure that lost its quotes, with the words that belong to it."""
    if name in known or name.split(" ")[0] != name:
        return ""
    for count in (1, 2):
        joined = " ".join([name, *after[:count]])
        if joined in known:
            return joined
    parts = rig.parts
    if name not in parts and not _own(name, rig.index.failures):
        return ""
    count = 0
    while count < min(2, len(after)) and after[count] not in known and after[count].split(" ")[0] not in parts:
        count += 1
    return " ".join([name, *after[:count]]) if count else ""
