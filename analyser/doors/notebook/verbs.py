"""The verbs of `import analyser` as functions of what was asked: names and numbers understood, then worked out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from analyser.checking.calling import at, body_called, chosen, count_of, order_of, refused, stage_called
from analyser.language.mistakes import did_you_mean
from analyser.rig.building import build
from analyser.rig.plan import Plan

if TYPE_CHECKING:
    from analyser.checking.all_forces import AllForces
    from analyser.checking.rankings import Ranking, Reasoning
    from analyser.checking.results import Result
    from analyser.checking.scenario import After
    from analyser.doors.notebook.picture import Picture
    from analyser.rig.model import Rig
    from analyser.uses.field.walk_sheet import Walkdown
    from analyser.uses.incident.case import Case
    from analyser.uses.mending.ranking import Mending
    from analyser.uses.ordering.answer import Answer
    from analyser.uses.procedure.document import Procedure
    from analyser.uses.review.answered_page import Report

When = tuple[int | None, str | None, int | None, int | None]
"""A state by its number, or by a stage and a step of it; and which state within the step that leads to it."""


def check(
    rig: Rig, order: int, only: Sequence[str], without: Sequence[str], *, latent: bool, resting_on: bool
) -> Result:
    from analyser.checking.analysing import analyse
    from analyser.checking.registry import RULES

    known = [rule.name for rule in RULES]
    for name in (*only, *without):
        if name not in known:
            raise refused(f"there is no rule called `{name}`", did_you_mean(name, known))
    result = analyse(rig, max(order_of(order), 2) if latent else order_of(order)).showing(only, without)
    if resting_on:
        from analyser.checking.resting_on import resting_on as rests

        result = replace(result, rests=rests(_whole(rig), result))
    return result.with_latent() if latent else result


def whatif(rig: Rig, failures: Sequence[str], when: When) -> After:
    from analyser.checking.scenario import after_asked

    of = at(rig, *when)
    return after_asked(of, chosen(of.rig, failures))


def why(rig: Rig, body: str | None, order: int, when: When) -> Reasoning:
    from analyser.checking.rankings import reasoning

    of = at(rig, *when)
    names = (body_called(of.rig, body),) if body is not None else tuple(part.name for part in of.rig.bodies)
    return reasoning(of, names, order_of(order))


def rank(rig: Rig, order: int, when: When) -> Ranking:
    from analyser.checking.analysing import analyse
    from analyser.checking.rankings import ranking

    return ranking(analyse(rig, order_of(order)), at(rig, *when))


def forces(rig: Rig, samples: int) -> AllForces:
    from analyser.checking.all_forces import all_forces
    from analyser.forces.loads import Samples

    if not 1 <= samples <= 100_000:
        raise refused(f"{samples!r} is not a number of cases from 1 to 100000")
    return all_forces(rig, Samples(samples, max(samples // 5, 1)))


def mend(rig: Rig, most: int) -> Mending:
    from analyser.uses.mending.ranking import mend

    return mend(_whole(rig), count_of(most))


def reorder(rig: Rig, stage: str, budget: float | None) -> Answer:
    from analyser.uses.ordering.answer import reorder

    return reorder(rig, stage_called(rig, stage).title, budget)


def reconstruct(rig: Rig, order: int, slips: bool, suppose: Sequence[str]) -> Case:
    from analyser.doors.commands.reconstruct import supposing
    from analyser.uses.incident.case import open_case

    return open_case(supposing(_whole(rig), suppose), order=order_of(order), slips=slips, supposed=suppose)


def procedure(rig: Rig) -> Procedure:
    from analyser.checking.analysing import analyse
    from analyser.uses.procedure.document import procedure

    return procedure(analyse(rig), rig.place.file)


def walkdown(rig: Rig, found: str | Path | None) -> Walkdown:
    from analyser.checking.analysing import analyse
    from analyser.doors.commands.walkdown import as_it_was_found
    from analyser.uses.field.walk_sheet import walkdown

    if found is not None:
        return as_it_was_found(_whole(rig), Path(found), rig.place.file)
    return walkdown(analyse(rig), rig.place.file)


def report(rig: Rig, order: int, review: str | Path | None) -> Report:
    from analyser.checking.analysing import analyse
    from analyser.doors.commands.report import read_beside
    from analyser.uses.review.answered_page import included_files, report

    text, file, folder = _written(rig)
    given = read_beside(str(review)) if review is not None else None
    lines = text.split("\n")
    lines = lines if lines[-1:] != [""] else lines[:-1]
    return report(analyse(rig, order_of(order)), file, lines, included_files(rig, file, folder), given)


def draw(
    rig: Rig,
    failures: Sequence[str],
    view: Literal["diagram", "side", "front"],
    when: When,
    *,
    forces: bool,
) -> Picture:
    from analyser.checking.scenario import the_worst
    from analyser.doors.commands.draw import drawn, drawn_to_scale
    from analyser.doors.commands.getting_out import NotDone
    from analyser.doors.notebook.picture import Picture

    if view not in ("diagram", "side", "front"):
        raise refused(f"{view!r} is not a view", "there are: diagram, side, front")
    of = at(rig, *when)
    named = the_worst(of.rig, chosen(of.rig, failures))
    try:
        if view == "diagram":
            made = drawn(rig, of, named, "svg", forces=forces)
        else:
            made = drawn_to_scale(of.rig, named, front=view == "front")
    except NotDone as error:
        raise refused(str(error)) from None
    after = f" after {', '.join(failures)}" if failures else ""
    return Picture(f"{rig.title}{after}", made.decode())


def _written(rig: Rig) -> tuple[str, str, Path]:
    """The text that a rig was read from, how it is called, and its folder; raises `Refused`."""
    plan = _whole(rig)
    if plan.folder is None:
        raise refused("this rig was not read from a text", "use what `read` or `read_text` gave")
    return "\n".join(plan.document.sources[plan.place.file]), plan.place.file, plan.folder


def _whole(rig: Rig) -> Plan:
    """A rig that still is what was read, with its statements; raises `Refused` for a state or a changed rig."""
    if not isinstance(rig, Plan) or build(rig.document)[0] != rig:
        raise refused("this rig was not read from a text", "use what `read` or `read_text` gave")
    return rig
