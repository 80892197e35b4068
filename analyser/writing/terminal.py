"""The pages of the terminal. User text is only ever put in as `Text`, never as markup."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from typing import TextIO

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from analyser.findings.finding import listed
from analyser.findings.held_by import after_running, held_by, in_words
from analyser.findings.runs_to_stopper import caught_by_stoppers
from analyser.holding.outcome import BodyOutcome, FailureOutcome, Outcome
from analyser.reading.mistakes import Mistake, Place
from analyser.results import CAUTIONS, Result
from analyser.rig.model import Nature, Rig
from analyser.writing.grouping import any_with_any, by_bodies, in_brief

WIDTH_OF_A_PAGE = 100
MOST_LINES = 14
WORDS_OF_SIZE = {2: "2 together", 3: "3 together", 4: "4 together"}


def console(stream: TextIO | None = None) -> Console:
    """A console without emoji, markup or colour where a person isn't looking (pipe, NO_COLOR)."""
    stream = stream or sys.stdout
    terminal = stream.isatty()
    width = None if terminal else WIDTH_OF_A_PAGE  # the same bytes into every pipe
    return Console(
        file=stream,
        width=width,
        emoji=False,
        markup=False,
        highlight=False,
        no_color=True if not terminal or os.environ.get("NO_COLOR") else None,
        force_terminal=None if terminal else False,
        legacy_windows=False,
    )


def show(page: RenderableType) -> None:
    """Print a page on standard output, without the blanks that fill its lines."""
    screen = console()
    with screen.capture() as captured:
        screen.print(page)
    text = "\n".join(line.rstrip() for line in captured.get().split("\n"))
    sys.stdout.write(text)


# -- the page of `check`


def check_page(result: Result, file: str) -> RenderableType:
    """The answer first, then what brings each body down, then what was asked and assumed."""
    rig = result.rig
    outcome = result.states[0].outcome
    rows: list[RenderableType] = [title(rig, file)]
    rows += [heading("Who is held, and by what"), _people(rig, outcome)]
    rows += [heading("What brings them down"), *_downfalls(rig, outcome)]
    rows.append(_hands_off(rig, outcome))
    others = [f for f in result.findings if f.rule not in TOLD_ABOVE]
    if others:
        rows.append(heading("Worth a look"))
        for finding in others:
            rows.append(hanging(_where(rig, finding.place), f"{finding.severity}: {finding.text} ({finding.rule})"))
    rows += [
        heading(
            "Required" if not rig.requirements[0].assumed else "Required (house defaults: the file asks for nothing)"
        )
    ]
    for one in result.requirements:
        word = {True: "met", False: "NOT MET", None: "NOT CHECKED"}[one.met]
        rows.append(hanging(word, one.requirement.text, "" if one.met else "bold"))
        rows += [hanging("", reason, "") for reason in one.because]
    rows += [heading("Taken as given"), *_assumed(result)]
    rows += [Text(), Text(" ".join(CAUTIONS), style="italic"), Text(result.closing, style="bold")]
    return Group(*rows)


TOLD_ABOVE = ("single-point", "not-held", "only-by-person", "held-by-hands")


def title(rig: Rig, file: str) -> Text:
    """The head of a page: title, revision, file, notes."""
    text = Text(rig.title, style="bold")
    if rig.revision is not None:
        text.append(f"  revision {rig.revision}", style="not bold")
    text.append(f"  {file}", style="not bold dim")
    for note in rig.notes:
        text.append(f"\n{note}", style="not bold")
    return text


def heading(words: str, name: str = "") -> RenderableType:
    """The heading of a section of a page; a name in it keeps its letters."""
    return Padding(Text(words.upper() + name, style="bold"), (1, 0, 0, 0))


def line(*pieces: str | tuple[str, str]) -> Text:
    """One line under a heading."""
    return Text.assemble("  ", *pieces)


def hanging(label: str, words: str | Text, style: str = "", width: int = 15) -> Table:
    """A label and a text that wraps beside it."""
    table = Table.grid(padding=(0, 1))
    table.add_column(min_width=width, max_width=max(width, len(label)), no_wrap=True)
    table.add_column(ratio=1)
    table.add_row(Text(f"  {label}", style=style), Text(words) if isinstance(words, str) else words)
    return table


def _people(rig: Rig, outcome: Outcome) -> RenderableType:
    if not outcome.bodies:
        return line("nobody and nothing in this file has to be held")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  who", "state", "attachments", "independent", "falls after"):
        table.add_column(
            column, header_style="", justify="right" if column in ("attachments", "independent") else "left"
        )
    for body in outcome.bodies:
        table.add_row(
            Text(f"  {body.name} ({rig.parts[body.name].kind})", style="bold"),
            Text(_state(body), style="" if body.held and not body.tips else "bold red"),
            f"{body.attachments}{' + feet' if rig.parts[body.name].standing else ''}",
            _count(body),
            _falls_after(rig, body, outcome),
        )
    rows: list[RenderableType] = [table, Text()]
    for body in outcome.bodies:
        for number, way in enumerate(body.ways):
            rows.append(hanging(body.name if not number else "", f"by {_way(rig, body, way)}"))
    return Group(*rows)


def _hands_off(rig: Rig, outcome: Outcome) -> RenderableType:
    hands = outcome.hands_off_falls
    words = f"{listed(hands)} {'falls' if len(hands) == 1 else 'fall'}" if hands else "nobody falls"
    for let_go, stopper, names in caught_by_stoppers(rig, outcome):
        if let_go.endswith(" lets go"):
            words += f"; once {let_go}, {listed(names)} {'runs' if len(names) == 1 else 'run'} to {stopper}"
    return hanging("hands off", f"with every hand off at once: {words}", "bold" if hands else "")


def _way(rig: Rig, body: BodyOutcome, way: tuple[str, ...]) -> str:
    if way == (f"{body.name} loses footing",):
        return "their own feet"
    return in_words(held_by(rig, body.name, way)) + after_running(rig, way)


def _state(body: BodyOutcome) -> str:
    if body.only_by_person:
        return "ONLY BY A PERSON"
    if not body.held:
        return "NOT HELD"
    return "TIPS" if body.tips else "still connected; drop not checked"


def _count(body: BodyOutcome) -> str:
    if body.independent is None:
        return "–"
    return f"{body.independent}" if body.independent_exact else f"≥ {body.independent}"


def _falls_after(rig: Rig, body: BodyOutcome, outcome: Outcome) -> Text:
    size = body.smallest_failure_set
    if size is None:
        return Text("nothing that can fail" if body.independent is None else f"more than {outcome.order}")
    if size == 0:
        return Text("NOTHING FAILED", style="bold red")
    if size == 1:
        accepted = {one.failure for one in rig.accepted}
        singles = [cut[0] for cut in outcome.failure_sets[body.name] if len(cut) == 1]
        if accepted.issuperset(singles):
            return Text("1 ALONE (accepted)")
        return Text("1 ALONE", style="bold red")
    return Text(WORDS_OF_SIZE.get(size, f"{size} together"))


def _downfalls(rig: Rig, outcome: Outcome) -> list[RenderableType]:
    already = {body.name for body in outcome.bodies if not body.held}
    accepted = {one.failure for one in rig.accepted}
    rows: list[RenderableType] = []
    for name in sorted(already):
        rows.append(hanging("nothing", f"{name} falls with nothing failed", "bold"))
    singles = _singles(outcome, already)
    for effect, failures in singles:
        for taken in (False, True):
            mine = [one for one in failures if (one in accepted) is taken]
            if mine:
                label = Text(in_brief(rig, mine) + (" (accepted)" if taken else ""), style="bold")
                rows.append(hanging("one alone", Text.assemble(label, f": {effect}"), "" if taken else "bold red"))
    if not singles and not already:
        rows.append(line("one alone: no single failure that this file can express drops anybody"))
    for size in range(2, outcome.order + 1):
        groups = by_bodies(outcome.failure_sets, size)
        lines: list[RenderableType] = []
        for names, sets in groups:
            falls = f": {listed(names)} {'falls' if len(names) == 1 else 'fall'}"
            if size == 2:
                for one, two in any_with_any(sets):
                    pair = (in_brief(rig, one), "\nwith ", in_brief(rig, two), falls)
                    lines.append(hanging("two together", Text.assemble(*pair)))
            else:
                lines += [hanging(WORDS_OF_SIZE.get(size, str(size)), " + ".join(one) + falls) for one in sets]
        rows += _shortened(lines, sum(len(sets) for _, sets in groups), size)
        if size == 2 and lines:
            words = (
                "either half of a pair, by itself, drops none of those named with it: it leaves them one "
                "failure from falling until it is mended"
            )
            rows.append(hanging("left on one", words))
    tips: dict[tuple[str, ...], list[str]] = {}
    for failure in outcome.failures:
        if failure.tips and not set(failure.falls) - already:
            tips.setdefault(failure.tips, []).append(failure.id)
    for names, failures in sorted(tips.items()):
        rows.append(
            hanging("tips", f"{in_brief(rig, failures)}: {listed(names)} {'tips' if len(names) == 1 else 'tip'}")
        )
    return rows


def _shortened(lines: list[RenderableType], count: int, size: int) -> list[RenderableType]:
    if not lines:
        return [line(f"{WORDS_OF_SIZE.get(size, size)}: no set of that size drops anybody")]
    if len(lines) <= MOST_LINES:
        return lines
    rest = len(lines) - MOST_LINES
    return [*lines[:MOST_LINES], line(f"… and {rest} more lines ({count} sets in all: `--json` lists each)")]


def _singles(outcome: Outcome, already: set[str]) -> list[tuple[str, list[str]]]:
    """Single failures that drop somebody, those with the same effect told together."""
    groups: dict[str, list[str]] = {}
    for failure in outcome.failures:
        falls = [name for name in failure.falls if name not in already]
        if falls:
            groups.setdefault(effect_words(failure, falls, outcome), []).append(failure.id)
    return sorted(groups.items(), key=lambda item: (-len(item[1]), item[1]))


def effect_words(failure: FailureOutcome, falls: Sequence[str], outcome: Outcome) -> str:
    """`the basket falls; vic is left on one` after one failure."""
    words = []
    by_person = [name for name in falls if name in failure.only_by_person]
    plain = [name for name in falls if name not in by_person]
    if plain:
        words.append(f"{listed(plain)} {'falls' if len(plain) == 1 else 'fall'}")
    if by_person:
        words.append(
            f"{listed(by_person)} {'falls, or hangs' if len(by_person) == 1 else 'fall, or hang'} only from a person"
        )
    if failure.tips:
        words.append(f"{listed(failure.tips)} {'tips' if len(failure.tips) == 1 else 'tip'}")
    fresh = _newly_on_one(failure, outcome)
    if fresh:
        words.append(f"{listed(fresh)} {'is' if len(fresh) == 1 else 'are'} left on one")
    return "; ".join(words)


def _newly_on_one(failure: FailureOutcome, outcome: Outcome) -> list[str]:
    smallest = {body.name: body.smallest_failure_set for body in outcome.bodies}
    return [name for name in failure.down_to_one if smallest[name] not in (0, 1)]


def _where(rig: Rig, place: Place) -> str:
    """The line, and the file where it is an included one."""
    return f"line {place.line}" if place.file == rig.place.file else f"{place.file} line {place.line}"


def _assumed(result: Result) -> list[RenderableType]:
    rig = result.rig
    rows: list[RenderableType] = []
    for one in rig.sound:
        rows.append(hanging("sound", f"{one.failure} is taken as impossible: {one.reason} ({_where(rig, one.place)})"))
    for one in rig.accepted:
        rows.append(hanging("accepted", f"{one.failure}: {one.reason} ({_where(rig, one.place)})"))
    standing = [p.name for p in rig.parts.values() if p.nature is Nature.PERSON and p.standing and not p.exposed]
    if standing:
        rows.append(hanging("standing", f"{listed(standing)}: on ground where they cannot fall, as the file says"))
    if rig.stages:
        titles = ", ".join(f"“{stage.title}”" for stage in rig.stages)
        rows.append(hanging("stages", f"{titles}: read, not analysed yet; all above is the rig as first attached"))
    if rig.observations:
        rows.append(hanging("observed", f"{len(rig.observations)} facts: read, not analysed yet"))
    none = [one.split(" declared")[0] for one in result.not_declared]
    if none:
        rows.append(hanging("not declared", f"{', '.join(none)} declared: none checked"))
    rows.append(hanging("searched", f"{result.complete}. Strength, knots, rope condition and skill are not judged."))
    return rows


# -- the page of `whatif`


def whatif_page(rig: Rig, failures: Sequence[str], before: Outcome, after: Outcome, file: str) -> RenderableType:
    """Who falls after these failures, who is down to one, and by what the rest is still held."""
    rows: list[RenderableType] = [title(rig, file), heading("What if"), *(line(one) for one in failures)]
    rows.append(heading("Then"))
    for body in after.bodies:
        was = before.body(body.name)
        rows.append(hanging(body.name, Text(_then(was, body), style="" if body.held and not body.tips else "bold red")))
        for way in body.ways:
            rows.append(hanging("", f"by {_way(rig, body, way)}"))
        singles = [one[0] for one in after.failure_sets[body.name] if len(one) == 1]
        if body.held and singles:
            rows.append(hanging("", f"now falls if one more follows: {in_brief(rig, singles)}"))
    count = len(rig.sound)
    given = f"{count} assumption{'' if count == 1 else 's'}"
    last = f"on connections only, with {given}: still connected does not say how far anybody drops first"
    rows += [Text(), Text(" ".join(CAUTIONS), style="italic"), Text(last, style="bold")]
    return Group(*rows)


def _then(was: BodyOutcome, now: BodyOutcome) -> str:
    if now.only_by_person:
        return "FALLS, or is held only by a person or by bare hands"
    if not now.held:
        return "FALLS" if was.held else "falls (as it does with nothing failed)"
    words = ["TIPS, but is still connected" if now.tips else "still connected; drop not checked"]
    if now.smallest_failure_set == 1:
        words.append("down to one" if was.smallest_failure_set != 1 else "on one, as before")
    elif now.independent is not None:
        words.append(f"{now.independent} independent")
    return "; ".join(words)


# -- the catalogue


def kinds_page(rows: Iterable[tuple[str, str, str]]) -> RenderableType:
    """The catalogue of kinds: name, what it stands on, what it is."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("kind", "like", "what it is"):
        table.add_column(column, header_style="bold")
    for name, like, meaning in rows:
        table.add_row(Text(name), Text(like), Text(meaning))
    return table


# -- mistakes


def mistakes_text(mistakes: Sequence[Mistake], sources: dict[str, list[str]]) -> str:
    """Each mistake with its line and a caret under exactly the wrong piece."""
    return "\n".join(_mistake_text(one, sources) for one in mistakes)


def _mistake_text(one: Mistake, sources: dict[str, list[str]]) -> str:
    place = one.place
    if place.file not in sources:  # a word of the command line, which the reader has before them
        return f"{one.text}\n" + (f"        {one.help}\n" if one.help else "")
    lines = [f"{place.file}:{place.line}:{place.column}: {one.text}"]
    source = sources.get(place.file, [])
    if 0 < place.line <= len(source) and source[place.line - 1].strip():
        line = source[place.line - 1]
        start, end = place.column - 1, min(max(place.end - 1, place.column), len(line) + 1)
        if len(line) > 160:  # show the piece around the mistake
            cut = max(0, start - 60)
            line, start, end = line[cut : cut + 120], start - cut, min(end - cut, 120)
        shown = "".join(c if c.isprintable() or c == "\t" else "?" for c in line).replace("\t", "    ")
        tabs = line[:start].count("\t") * 3
        gutter = f"{place.line:>5} | "
        lines.append(gutter + shown)
        lines.append(" " * (len(gutter) - 2) + "| " + " " * (start + tabs) + "^" * max(1, end - start))
    if one.help:
        lines.append(f"        {one.help}")
    return "\n".join(lines) + "\n"
