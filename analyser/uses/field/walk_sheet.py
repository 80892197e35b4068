"""The walk-down as plain data: what is looked at, in which order, what was found, and the tests before weighting."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyser.checking.analysing import analyse
from analyser.checking.delivered import Delivered
from analyser.checking.finding import listed, verb
from analyser.checking.first_look import FirstLook, first_look
from analyser.checking.results import Result
from analyser.holding.outcome import assess
from analyser.rig.plan import Plan
from analyser.uses.comparing.body_figures import ORDER
from analyser.uses.comparing.comparison import compare
from analyser.uses.field.as_found import AsFound, Running
from analyser.uses.field.at_first import mending
from analyser.uses.field.by_line import ByLine, Told, by_line
from analyser.uses.field.found import without_comment
from analyser.uses.field.said import Said
from analyser.uses.field.trying import Trials, trials
from analyser.uses.field.walking import Item, walk

BUILT, WRITTEN = "as built", "as written"
"""What a verdict is about: the rig as it was found, or only its file."""


@dataclass(frozen=True, repr=False)
class Walkdown(Delivered):
    """The sheet. `built` says what the verdict is about; `differences` and `left_out` are those of the rig
    as found, `worse` what they made worse than the rig as written."""

    SHAPE = "analyser.uses.field.field_shapes.WalkdownTold"

    result: Result
    file: str
    built: str
    items: tuple[Item, ...]
    tests: Trials
    look: FirstLook
    """Who hangs on one, and on what."""
    mend: Said | None
    """What would mend that for the worst off, by the connections."""
    found_in: str | None = None
    notes: tuple[str, ...] = ()
    differences: tuple[Told, ...] = ()
    left_out: tuple[Told, ...] = ()
    asked_no_more: bool = False
    by_line: tuple[ByLine, ...] = ()
    """What each line that was found makes worse by itself."""
    worse: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()
    """Who runs down a rope before anything catches, as a device was found."""
    stands_no_more: tuple[str, ...] = ()
    """Frames that have not what they stand on, as it was found."""

    @property
    def met(self) -> bool:
        """Is every requirement met, none of them left out of the rig as found, does nobody run first, and does every
        frame stand?"""
        return self.result.met and not self.asked_no_more and not self.runs and not self.stands_no_more

    @property
    def exit_status(self) -> int:
        return 0 if self.met else 1

    @property
    def made_worse(self) -> tuple[str, ...]:
        """All that what was found makes worse, a sentence each."""
        return (*self.stands_no_more, *self.runs, *self.worse)

    @property
    def only_together(self) -> tuple[str, ...]:
        """Of that, what no line makes so by itself."""
        alone = {one for line in self.by_line for one in line.worse}
        return tuple(one for one in self.made_worse if one not in alone)

    @property
    def grades(self) -> dict[int, tuple[Item, ...]]:
        """The points by grade (1 single points, 2 those that leave somebody on one, 3 the rest), in the
        order of the walk; what later steps bring is not among them."""
        now = [item for item in self.items if item.step is None]
        return {grade: tuple(item for item in now if item.critical.grade == grade) for grade in (1, 2, 3)}

    @property
    def causes(self) -> tuple[Item, ...]:
        """What is looked at before all else: where something seems to be missing, or faces the wrong way."""
        names = {name for one in self.look.endangered if one.at is None for name in (*one.free, *one.turned)}
        return tuple(item for item in self.items if item.name in names and item.step is None)

    @property
    def found_first(self) -> tuple[Told, ...]:
        """The lines that were found of which each, by itself, brings the worst off on to one."""
        worst = {name for one in self.look.endangered[:1] for name in one.bodies}
        return tuple(told for one in self.by_line if worst & {*one.on_one} for told in one.found)

    @property
    def check(self) -> Result | None:
        """The check of the rig as found; None where nothing was found otherwise."""
        return self.result if self.found_in else None

    @property
    def short(self) -> str:
        verdict = "met" if self.met else "not met"
        return f"{self.built}, {len(self.items)} points to look at, {verdict}"


def walkdown(result: Result, file: str) -> Walkdown:
    """The sheet of a rig as written; `file` is how its file is called."""
    look = first_look(result)
    return Walkdown(result, file, WRITTEN, walk(result), trials(result.rig), look, mending(result.rig, look))


def walked(written: Plan, found: AsFound, result: Result, file: str) -> Walkdown:
    """The sheet of a rig as found: `result` is that of `found.rig`."""
    words = tuple(_told(found))
    was = analyse(written, ORDER)

    def worse(one: AsFound) -> Worse:
        """All that a rig as found makes worse, a sentence each."""
        return Worse(
            tuple(map(_stands_no_more, one.stands_no_more)),
            tuple(map(_runs, one.running(written))),
            compare(written, one.rig, was).worse,
        )

    whole = worse(found)
    look = first_look(result)
    before = _on_one(written)

    def on_one(one: AsFound) -> tuple[str, ...]:
        return tuple(name for name in _on_one(one.rig) if name not in before)

    alone = by_line(written, found, words, whole.every, lambda one: worse(one).every, on_one)
    return Walkdown(
        result,
        file,
        BUILT,
        walk(result),
        trials(result.rig),
        look,
        mending(found.rig, look),
        found.found.file,
        found.found.notes,
        words,
        tuple(Told(one.words, one.place.line) for one in found.left_out),
        found.asked_no_more,
        alone,
        whole.turned,
        whole.runs,
        whole.stands_no_more,
    )


def _on_one(plan: Plan) -> tuple[str, ...]:
    """Who, as first attached, hangs on one or is not held."""
    return tuple(body.name for body in assess(plan.alone).bodies if body.smallest_failure_set in (0, 1))


@dataclass(frozen=True, slots=True)
class Worse:
    """What a rig as found makes worse: frames that don't stand, who runs, and what the comparison tells."""

    stands_no_more: tuple[str, ...]
    runs: tuple[str, ...]
    turned: tuple[str, ...]

    @property
    def every(self) -> tuple[str, ...]:
        return (*self.stands_no_more, *self.runs, *self.turned)


def _runs(one: Running) -> str:
    after = f" after “{one.step}”" if one.step else ""
    run = verb(one.bodies, "runs", "run")
    return f"{listed(one.bodies)} {run} down the rope in {one.device} before anything catches{after}"


def _stands_no_more(one: tuple[str, tuple[str, ...]]) -> str:
    frame, away = one
    return f"{frame} does not stand: {listed(away)} {verb(away, 'is', 'are')} not there; the check leaves it out"


def _told(found: AsFound) -> Iterator[Told]:
    """Every difference and everything extra, as written, by line."""
    lines = found.found.lines
    own = [one.place.line for one in found.found.differences] + [one.place.line for one in found.found.extra]
    for number in sorted(own):
        yield Told(" ".join(without_comment(lines[number - 1]).split()), number)
