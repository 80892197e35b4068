"""`stillheld check RIG…`: the main job, for one rig or for many."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from analyser.doors.commands.getting_out import NotDone, put_documents
from analyser.doors.commands.opening import one_state, open_rig, shown, shown_state, state_asked
from analyser.doors.commands.options import RIG, as_json, budget, order, several_rigs, state
from analyser.doors.commands.several import Named, each, ended, rigs_named, wrong
from analyser.language.mistakes import Mistake, Place, Unreadable, did_you_mean

if TYPE_CHECKING:  # what writes pages is loaded only where a page is asked for
    from analyser.checking.brief import Brief
    from analyser.checking.contract import Document
    from analyser.checking.glance import Glance
    from analyser.checking.results import Result
    from analyser.pages.tree import Page
    from analyser.pages.writers.terminal import Screen
    from analyser.rig.model import Rig


def options(one: ArgumentParser) -> None:
    several_rigs(one, f"{RIG}; a folder: all .rig files in it and below")
    one.add_argument("--summary", action="store_true", help="of many rigs: a line each, and no more")
    as_json(one, "the results contract, for scripts; of many an array")
    order(one)
    one.add_argument("--only", action="append", metavar="RULE", help="findings of this rule only (repeatable)")
    one.add_argument("--without", action="append", metavar="RULE", help="no findings of this rule (repeatable)")
    one.add_argument("--latent", action="store_true", help="which unseen slip makes which single failure deadly")
    one.add_argument(
        "--resting-on", action="store_true", help="deny each statement taken at its word: which carry the verdict?"
    )
    one.add_argument("--full", action="store_true", help="everything: each way, set, state and finding")
    budget(one)
    state(one)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of each rig."""

    order: int
    budget: float | None
    only: tuple[str, ...]
    without: tuple[str, ...]
    latent: bool
    resting: bool
    full: bool
    as_json: bool
    screen: Screen | None
    alone: Namespace | None = None
    """Of which state alone, where one is asked for."""


@dataclass(frozen=True, slots=True)
class Checked:
    """The answer for one rig, ready to be shown: `document` for `--json`, else `page`, or `wrong` where it
    could not be read; `told` is the line of it where there are many."""

    status: int
    told: Brief | str
    document: Document | None = None
    page: str = ""
    wrong: str = ""

    def show(self) -> None:
        sys.stdout.write(self.page)
        sys.stderr.write(self.wrong)


def run(asked: Namespace) -> int:
    """Check every rig; the worst exit status counts (2 before 1 before 0)."""
    only, without = tuple(asked.only or ()), tuple(asked.without or ())
    _known((*only, *without))
    rigs = rigs_named(asked.rigs)
    order = max(asked.order, 2) if asked.latent else asked.order
    wanted = Wanted(
        *(order, asked.budget, only, without, asked.latent, asked.resting_on, asked.full, asked.json),
        _screen(asked),
        asked if one_state(asked) else None,
    )
    if wanted.alone and len(rigs) > 1:
        raise NotDone("one state is asked of one rig: name a single file")
    if wanted.alone and wanted.resting:
        raise NotDone("`--resting-on` denies statements of the whole file: leave out `--state`")
    answers = each(partial(checked, wanted), rigs, asked.jobs, lost)
    one_file = len(rigs) == 1 and rigs[0].name in asked.rigs
    told = list(answers)
    status = max(one.status for one in told)
    if asked.json:
        put_documents([one.document for one in told], None if one_file else [rig.shown for rig in rigs])
    elif one_file:
        told[0].show()
    else:
        _show_many(rigs, told, summary=asked.summary)
    return status


def _known(names: Sequence[str]) -> None:
    from analyser.checking.registry import RULES

    known = [rule.name for rule in RULES]
    for name in names:
        if name not in known:
            hint = did_you_mean(name, known, "`stillheld rules` lists them all")
            raise NotDone(f"there is no rule called `{name}`\n        {hint}")


def _screen(asked: Namespace) -> Screen | None:
    if asked.json:
        return None
    from analyser.pages.writers.terminal import Screen

    return Screen.here()


def _show_many(rigs: Sequence[Named], told: Sequence[Checked], *, summary: bool) -> None:
    from analyser.pages.writers.terminal import written
    from analyser.pages.writing.summary_page import summary_page, worst_first

    briefs = [one.told for one in told]
    sys.stdout.write(written(summary_page([one.shown for one in rigs], briefs)))
    for one in () if summary else (told[number] for number in worst_first(briefs)):
        sys.stdout.write("\n")
        sys.stdout.flush()
        one.show()


@dataclass(slots=True)
class SoFar:
    """How far the work on one rig is: what is being done, and who was seen to be held before all else is known."""

    doing: str = "it was read"
    rig: Rig | None = None
    seen: tuple[Glance, ...] = ()


def checked(wanted: Wanted, name: str) -> Checked:
    """One rig, in whatever process, within the budget."""
    from analyser.doors.commands.watching import OutOfTime, bounded

    far = SoFar()
    try:
        with bounded(wanted.budget):
            return _checked(wanted, name, far)
    except OutOfTime:
        return _stopped(wanted, name, far)


def _stopped(wanted: Wanted, name: str, far: SoFar) -> Checked:
    """The answer where there was no time for one: what was seen at a glance, where that far it came."""
    from analyser.checking.shapes import stopped
    from analyser.doors.commands.watching import spent

    text, hint = spent(wanted.budget, far.doing, at_least=bool(far.seen))
    mistake = Mistake(Place(shown(name), 1), text, hint)
    error, _ = wrong(Unreadable([mistake], {shown(name): []}), as_json=False)
    if wanted.as_json:
        return Checked(2, text, stopped(mistake, far.seen))
    if far.rig is None or not far.seen:
        return Checked(2, text, wrong=error)
    from analyser.pages.writers.terminal import written
    from analyser.pages.writing.stopped_page import stopped_page

    return Checked(2, text, page=written(stopped_page(far.rig, far.seen, shown(name)), wanted.screen), wrong=error)


def _checked(wanted: Wanted, name: str, far: SoFar) -> Checked:
    from analyser.checking.analysing import analyse
    from analyser.checking.brief import brief_of
    from analyser.checking.glance import as_it_is, at_a_glance
    from analyser.doors.commands.watching import Watching

    try:
        rig = open_rig(name)
    except Unreadable as error:
        first = error.mistakes[0]
        told = f"{first.text} (line {first.place.line})"
        text, errors = wrong(error, as_json=wanted.as_json)
        return Checked(2, told, errors, wrong=text)
    if wanted.budget is not None:
        far.doing, far.rig = "who is held was looked at", rig
        for look in (as_it_is, at_a_glance):
            far.seen = look(rig.alone)
    far.doing = "its failures were worked out and its rules were asked"
    with Watching(wanted.budget) as watch:
        result = analyse(rig, wanted.order, watch, processes=None).showing(wanted.only, wanted.without)
    file = shown(name)
    if wanted.alone:
        at = state_asked(rig, wanted.alone)
        result, file = result.at(at.number, at.during), shown_state(name, rig, at)
    if wanted.resting:
        from analyser.checking.resting_on import resting_on

        far.doing = "each statement taken at its word was denied"
        result = replace(result, rests=resting_on(rig, result))
    far.doing = "the answer was written"
    if wanted.as_json:
        result = result.with_latent() if wanted.latent else result
        return Checked(result.exit_status, brief_of(result), result.document_of())
    from analyser.pages.writers.terminal import written

    told = written(page(result, file, latent=wanted.latent, full=wanted.full), wanted.screen)
    return Checked(result.exit_status, brief_of(result), page=told)


def page(result: Result, file: str, *, latent: bool = False, full: bool = False) -> Page:
    from analyser.pages.writing.check_page import check_page
    from analyser.pages.writing.short_check import short_page

    return check_page(result, file, latent=latent) if full else short_page(result, file, latent=latent)


def lost(name: str) -> Checked:
    """The answer for a rig whose process ended without one."""
    text, errors = ended(name)
    return Checked(2, text.strip(), errors, wrong=text)
