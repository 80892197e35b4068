"""`stillheld check RIG…`: the main job, for one rig or for many."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from analyser.checking.registry import RULES
from analyser.checking.results import Brief, analyse, slips_as_data
from analyser.doors.commands.opening import mistakes, open_rig, show_mistakes, shown
from analyser.doors.commands.several import Named, each, ended, rigs_named
from analyser.doors.commands.watching import Watching
from analyser.language.mistakes import Unreadable, did_you_mean

if TYPE_CHECKING:  # what writes pages is loaded only where a page is asked for
    from analyser.pages.writing.terminal import Screen


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of each rig."""

    order: int
    budget: float | None
    only: tuple[str, ...]
    without: tuple[str, ...]
    latent: bool
    as_json: bool
    screen: Screen | None
    alone: bool


@dataclass(frozen=True, slots=True)
class Checked:
    """The answer for one rig, ready to be shown: `document` for `--json`, else `page`, or `wrong` where it
    could not be read; `told` is the line of it where there are many."""

    status: int
    told: Brief | str
    document: dict[str, object] | None = None
    page: str = ""
    wrong: str = ""


def run(options: argparse.Namespace) -> int:
    """Check every rig; the worst exit status counts (2 before 1 before 0)."""
    only, without = tuple(options.only or ()), tuple(options.without or ())
    known = [rule.name for rule in RULES]
    for name in (*only, *without):
        if name not in known:
            hint = did_you_mean(name, known, "`stillheld rules` lists them all")
            sys.stderr.write(f"there is no rule called `{name}`\n        {hint}\n")
            return 2
    try:
        rigs = rigs_named(options.rigs)
    except Unreadable as error:
        return show_mistakes(error, as_json=options.json)
    order = max(options.order, 2) if options.latent else options.order
    alone = len(rigs) == 1
    asked = Asked(order, options.budget, only, without, options.latent, options.json, _screen(options), alone)
    answers = each(partial(checked, asked), rigs, options.jobs, lost)
    one_file = len(rigs) == 1 and rigs[0].name in options.rigs
    told = list(answers)
    status = max(one.status for one in told)
    if options.json:
        _put_json(rigs, told, one_file=one_file)
        return status
    if one_file:
        _show(told[0])
        return status
    from analyser.pages.writing.summary_page import summary_page
    from analyser.pages.writing.terminal import written

    sys.stdout.write(written(summary_page([one.shown for one in rigs], [one.told for one in told])))
    for one in () if options.summary else told:
        sys.stdout.write("\n")
        sys.stdout.flush()
        _show(one)
    return status


def _screen(options: argparse.Namespace) -> Screen | None:
    if options.json:
        return None
    from analyser.pages.writing.terminal import Screen

    return Screen.here()


def checked(asked: Asked, name: str) -> Checked:
    """One rig, in whatever process."""
    try:
        rig = open_rig(name)
    except Unreadable as error:
        first = error.mistakes[0]
        told = f"{first.text} (line {first.place.line})"
        if asked.as_json:
            return Checked(2, told, mistakes(error))
        from analyser.pages.writing.terminal import mistakes_text

        return Checked(2, told, wrong=mistakes_text(error.mistakes, error.sources))
    with Watching(asked.budget) as watch:
        result = analyse(rig, asked.order, watch, processes=0 if asked.alone else 1)
        result = result.showing(asked.only, asked.without)
    if asked.as_json:
        document = result.as_data()
        latent = {"latent": slips_as_data(result)} if asked.latent else {}
        return Checked(result.exit_status, result.brief, document | latent)
    from analyser.pages.writing.checking import check_page
    from analyser.pages.writing.terminal import written

    page = written(check_page(result, shown(name), latent=asked.latent), asked.screen)
    return Checked(result.exit_status, result.brief, page=page)


def lost(name: str) -> Checked:
    """The answer for a rig whose process ended without one."""
    text, errors = ended(name)
    return Checked(2, text.strip(), errors, wrong=text)


def _show(one: Checked) -> None:
    sys.stdout.write(one.page)
    sys.stderr.write(one.wrong)


def _put_json(rigs: list[Named], answers: list[Checked], *, one_file: bool) -> None:
    """One document for one file; for a folder or several files an array, each with its file."""
    documents = [one.document or {} for one in answers]
    named = [{"file": rig.shown, **one} for rig, one in zip(rigs, documents, strict=True)]
    whole = documents[0] if one_file else named
    sys.stdout.write(json.dumps(whole, indent=2, ensure_ascii=False) + "\n")
