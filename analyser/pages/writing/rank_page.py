"""The pages of `rank` and `why`."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import listed
from analyser.checking.held_by import after_running, in_words
from analyser.checking.ranked import Likely, Ranked
from analyser.checking.reasons import Reasons, Way
from analyser.checking.results import Result
from analyser.pages.writing.grouping import any_with_any, in_brief
from analyser.pages.writing.terminal import hanging, heading, line, title
from analyser.rig.model import Rig

MOST_ROWS = 20
MOST_SETS = 24


def rank_page(result: Result, parts: Sequence[Ranked], chances: Sequence[Likely], file: str) -> RenderableType:
    """Parts by what hangs on them; then, with likelihoods, how likely each body falls."""
    rig = result.rig
    rows: list[RenderableType] = [title(rig, file), heading("On which parts the most hangs")]
    if parts:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        sizes = range(2, result.order + 1)
        for column in ("  part", "drops alone", *(f"in sets of {size}" for size in sizes), "concerns"):
            table.add_column(column, header_style="", justify="right" if column.startswith("in sets") else "left")
        for row in parts[:MOST_ROWS]:
            table.add_row(
                Text(f"  {row.part}", style="bold"),
                Text(listed(row.alone) or "–", style="bold red" if row.alone else ""),
                *(str(row.counts[size - 1]) for size in sizes),
                Text(listed(row.bodies)),
            )
        rows.append(table)
        if len(parts) > MOST_ROWS:
            rows.append(line(f"… and {len(parts) - MOST_ROWS} more (`--json` lists each)"))
    else:
        rows.append(line("no set of failures up to the order searched drops anybody"))
    rows.append(heading("How likely"))
    if not chances:
        rows.append(line("no likelihood is given, so none is told: structure alone is ranked"))
    for one in chances:
        rows += _likely(rig, one)
    words = (
        f"{result.complete}. Failures are taken as independent of each other, but for the causes that the file names."
    )
    rows += [Text(), hanging("searched", words), Text(" ".join(CAUTIONS), style="italic")]
    return Group(*rows)


def _likely(rig: Rig, one: Likely) -> list[RenderableType]:
    if one.value is None:
        brief = in_brief(rig, one.missing)
        return [hanging(one.body, f"not told: no likelihood for {brief}")]
    kind = "from the failure sets searched" if one.exact else "at most, from the failure sets searched"
    rows: list[RenderableType] = [hanging(one.body, f"falls with probability {one.value:.3g} ({kind})")]
    for i in one.importances[:5]:
        words = f"{i.event}: Fussell–Vesely {i.fussell_vesely:.3g}, Birnbaum {i.birnbaum:.3g}"
        rows.append(hanging("", words))
    return rows


def why_page(rig: Rig, told: Sequence[Reasons], file: str) -> RenderableType:
    """For each body its ways of being held, numbered, and what each failure set breaks of them."""
    rows: list[RenderableType] = [title(rig, file)]
    for one in told:
        rows.append(heading("Ways of being held: ", one.body))
        if not one.ways:
            rows.append(line("none: nothing holds it"))
        for way in one.ways:
            rows.append(
                hanging(str(way.number), f"by {in_words(way.legs)}{after_running(rig, way.needs)}{_guards(way)}")
            )
        if not one.all_ways:
            rows.append(line("… and more ways than are listed here; every failure set breaks those too"))
        rows.append(heading("What breaks them all: ", one.body))
        told_sets = _sets(rig, one)
        rows += [hanging(label, words) for label, words in told_sets[:MOST_SETS]]
        if len(told_sets) > MOST_SETS:
            rows.append(line(f"… and {len(told_sets) - MOST_SETS} more lines (`--json` lists each set)"))
        if not one.sets:
            rows.append(line("no set up to the order searched"))
    rows += [Text(), Text(" ".join(CAUTIONS), style="italic")]
    return Group(*rows)


def _guards(way: Way) -> str:
    """What keeps the ropes of a way whole at the edges."""
    kept = [name.removesuffix(" shifts") for name in way.needs if name.endswith(" shifts")]
    bare = [name.removesuffix(" cuts") for name in way.needs if name.endswith(" cuts")]
    words = []
    if kept:
        words.append(f"while {listed(kept)} {'stays' if len(kept) == 1 else 'stay'} in place")
    if bare:
        words.append(f"while {listed(bare)} {'does' if len(bare) == 1 else 'do'} not cut")
    return f" ({' and '.join(words)})" if words else ""


def _sets(rig: Rig, one: Reasons) -> list[tuple[str, Text]]:
    """Failure sets as lines; sets whose failures break the same ways are told together."""
    every = len(one.ways)
    lines: list[tuple[str, Text]] = []
    alike: dict[tuple[tuple[int, ...], ...], list[tuple[str, ...]]] = {}
    for reason in one.sets:
        broken = sorted(reason.breaks, key=lambda item: (item[1], item[0]))
        alike.setdefault(tuple(numbers for _, numbers in broken), []).append(tuple(name for name, _ in broken))
    for numbers, sets in alike.items():
        if not numbers:
            lines.append(("nothing", Text("has to fail")))
        elif len(numbers) == 1:
            names = sorted(names[0] for names in sets)
            lines.append(("one alone", _breaks(rig, [(names, numbers[0])], every)))
        elif len(numbers) == 2:
            for left, right in any_with_any(sets):
                first = set(left) & {names[0] for names in sets}
                sides = (left, right) if first else (right, left)
                told = list(zip(map(list, sides), numbers, strict=True))
                lines.append(("two together", _breaks(rig, told, every)))
        else:
            for several in sets:
                told = [([name], which) for name, which in zip(several, numbers, strict=True)]
                lines.append((f"{len(several)} together", _breaks(rig, told, every)))
    return lines


def _breaks(rig: Rig, sides: list[tuple[list[str], tuple[int, ...]]], every: int) -> Text:
    pieces: list[str | tuple[str, str]] = []
    for k, (names, numbers) in enumerate(sides):
        which = "every way" if len(numbers) == every else _numbers(numbers)
        pieces += ["\nwith " if k else "", (in_brief(rig, names), "bold"), f", breaks {which}"]
    return Text.assemble(*pieces)


def _numbers(numbers: Sequence[int]) -> str:
    """`1–3, 5` for 1, 2, 3, 5."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs) or "no listed way"
