"""The page of `compare`: whether anything is worse, what changed, and what each change did."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from analyser.checking.fates import standing
from analyser.checking.sentences import counted, do, listed, more
from analyser.holding.outcome import BodyOutcome
from analyser.pages.tree import (
    Block,
    Column,
    Fact,
    Line,
    Look,
    Page,
    Row,
    Span,
    Table,
    Title,
    Words,
    alarm,
    quiet,
    section,
    strong,
)
from analyser.pages.writing.check_page import MOST_LINES, independent
from analyser.pages.writing.ends import closing
from analyser.pages.writing.findings_lines import ORDER as SEVERITIES
from analyser.pages.writing.findings_lines import TOLD_ABOVE, finding_words
from analyser.pages.writing.grouping import any_with_any, in_brief
from analyser.pages.writing.one_sheet import one_sheet
from analyser.rig.model import Rig
from analyser.uses.comparing.body_figures import ORDER, Figures
from analyser.uses.comparing.comparison import Comparison, turn_words
from analyser.uses.comparing.later_states import StateTurned
from analyser.uses.comparing.mixing import Doing
from analyser.uses.comparing.sets_turned import SetTurned

WIDE = 27
FEWER = "is a pair with something new in it, where as few failures or fewer brought the same body down before"


def compare_page(compared: Comparison, old: str, new: str, *, full: bool = False) -> Page:
    """What is worse first; then who is held how; then the changes by number, to which everything after them refers.
    `full`: all of it, on more than a sheet."""
    worse = compared.worse
    told: list[Block] = [Fact(alarm("worse"), one) for one in worse]
    if not worse:
        words = "than in the old revision, as far as this compares them: `stillheld check` says how anybody is held"
        told.append(Line(words))
    falls = _sets(compared, compared.gained, compared.new.rig, "falls", "fall")
    held = _sets(compared, compared.lost, compared.old.rig, "is held", "are held")
    more_of: tuple[tuple[str, Iterable[Block]], ...] = (
        ("Brings somebody down now", falls),
        ("Brings nobody down any more", held),
        ("After the steps of the stages", _shortened(list(_states(compared)), "`--json` lists each state", "lines")),
        ("What it carries", _shortened(list(_carried(compared)), "`--json` lists each", "figures")),
        ("Required", _required(compared)),
        ("Taken as given", _given(compared)),
        ("Worth a look", _shortened(list(_found(compared)), "`--json` lists each")),
    )
    blocks: tuple[Block, ...] = (
        _title(compared, old, new),
        section("Worse" if worse else "Nothing is worse", told),
        section("What it did", [_figures(compared)]),
        section("What changed", _changes(compared)),
        *(one for title, rows in more_of if (one := section(title, rows)).blocks),
    )
    page = Page((*blocks, *closing(strong(_last(compared)))), compared.new.rig.title)
    return one_sheet(page, _verdict(compared), first=3, by_section=True, full=full)


def _verdict(compared: Comparison) -> Span:
    """What is worst of all that is worse, or that nothing is."""
    if not compared.worse:
        return strong(f"Nothing is worse; {'met' if compared.new.met else 'NOT MET'} in the new revision")
    first, *others = compared.worse
    return alarm(f"WORSE: {first}" + (f"; {counted(len(others), 'thing')} more" if others else ""))


def _last(compared: Comparison) -> str:
    met = "met" if compared.new.met else "not met"
    forces = compared.on == "connections and forces"
    figures = "knots, rope condition" if forces else "forces, drops, knots, rope condition"
    return (
        f"{worse_words(compared)}; {met} in the new revision: compared on {compared.on}, "
        f"complete to {ORDER} failures together for what the two files can express; {figures} and skill are not "
        "compared"
    )


def worse_words(compared: Comparison) -> str:
    """`3 things are worse`, `nothing is worse`."""
    return counted(len(compared.worse), "thing is worse", "things are worse") if compared.worse else "nothing is worse"


def _title(compared: Comparison, old: str, new: str) -> Title:
    was, now = compared.old.rig, compared.new.rig
    title = now.title if was.title == now.title else f"{was.title} → {now.title}"
    revisions = was.revision is not None or now.revision is not None
    turn = f"revision {was.revision or 'not given'} → {now.revision or 'not given'}"
    return Title(title, (*((turn,) if revisions else ()), quiet(f"{old} → {new}")))


def _changes(compared: Comparison) -> Iterator[Block]:
    for one in compared.matching.renamed:
        yield Fact("called otherwise", f"`{one.old}` is now called `{one.new}` ({one.what}): {one.why}", WIDE)
    for number, change in enumerate(compared.changes, 1):
        yield Fact(f"{number:>2} {change.sort}", change.text, WIDE)
    for step in compared.stepped:
        words = f"“{step.stage}”" if step.step is not None or step.change != "stages in another order" else step.stage
        yield Fact(f"   {step.change}", words if step.step is None else f"{words}: {step.step}", WIDE)
    if not (compared.matching.renamed or compared.changes or compared.stepped):
        words = "nothing of the rig as first attached or of its steps"
        yield Line(words if compared.different else f"{words}, and nothing else either")


# -- figures


def _figures(compared: Comparison) -> Block:
    if not compared.figures:
        return Line("nobody and nothing has to be held in either revision")
    heads = ("who", *(label for label, _ in FIGURES), "")
    return Table(tuple(map(Column, heads)), tuple(map(_row, compared.figures)))


def _row(one: Figures) -> Row:
    told = (_turn(one, tell) for _, tell in FIGURES)
    return (strong(f"{one.name} ({one.kind})"), *told, strong(_remark(one)))


def _turn(one: Figures, told: Callable[[BodyOutcome], str]) -> str:
    was, now = told(one.was) if one.was else None, told(one.now) if one.now else None
    if was is None or now is None or was == now:
        return str(now or was)
    return f"{was} → {now}"


def _remark(one: Figures) -> str:
    if one.was is None:
        return "new"
    if one.now is None:
        return "need not be held any more"
    return "" if one.was.fate == one.now.fate else f"{standing(one.was.fate)} → {standing(one.now.fate)}"


def _falls_after(body: BodyOutcome) -> str:
    size = body.smallest_failure_set
    if size is None:
        return "nothing that can fail" if body.independent is None else f"more than {ORDER}"
    return {0: "nothing failed", 1: "1 alone"}.get(size, f"{size} together")


FIGURES: tuple[tuple[str, Callable[[BodyOutcome], str]], ...] = (
    ("attachments", lambda body: str(body.attachments)),
    ("independent", lambda body: independent(body, "any")),
    ("not held after", _falls_after),
)


# -- failure sets


def _sets(compared: Comparison, turned: Sequence[SetTurned], rig: Rig, one: str, many: str) -> list[Block]:
    """The sets that matter by size, bodies and changes; the rest only counted."""
    rows: list[Block] = []
    for (in_line, size, names, did), sets in _alike(turned):
        who = f": {do(names, one, many)}"
        by = f"\nby {_did(did)}" if did and did.sets else ""
        same = "not worse" if one == "falls" else "not better"
        label = same if in_line else {0: "nothing failed", 1: "one alone", 2: "two together"}[size]
        told: list[Words] = [(strong(in_brief(rig, [cut[0] for cut in sets]) if size else ""), who, by)]
        if size == 2:
            pairs = [f"{in_brief(rig, x)}\nwith {in_brief(rig, y)}{who}" for x, y in any_with_any(sets)]
            told = [*pairs[:-1], pairs[-1] + by]
        look = Look.ALARM if one == "falls" and size < 2 else Look.PLAIN
        rows += [Fact(Span(label, look), words) for words in told]
    rows = _shortened(rows, "`--json` lists each set", "lines", MOST_LINES)
    if one == "falls" and any(turn.in_line for turn in turned):
        rows.append(Fact("“not worse”", FEWER))
    if one == "falls" and (inside := sum(turn.within for turn in turned)):
        rows.append(Fact("not worse", f"{counted(inside, 'set')} of which fewer failures were enough before"))
    return rows


Alike = tuple[bool, int, tuple[str, ...], Doing | None]


def _alike(turned: Sequence[SetTurned]) -> list[tuple[Alike, list[tuple[str, ...]]]]:
    """Sets of one size that the same changes brought to the same bodies."""
    bodies: dict[tuple[tuple[str, ...], bool, Doing | None], list[str]] = {}
    for turn in turned:
        if not turn.within:  # where it isn't worse, nobody asks what did it (`--json` says it)
            bodies.setdefault((turn.failures, turn.in_line, None if turn.in_line else turn.did), []).append(turn.body)
    groups: dict[Alike, list[tuple[str, ...]]] = {}
    for (failures, in_line, did), who_too in bodies.items():
        groups.setdefault((in_line, len(failures), tuple(who_too), did), []).append(failures)
    return sorted(groups.items(), key=lambda item: (item[0][:2], -len(item[1]), item[0][2], item[1]))


def _shortened(rows: list[Block], where: str, what: str = "", most: int = 2 * MOST_LINES) -> list[Block]:
    return rows if len(rows) <= most else [*rows[:most], Line(more(len(rows) - most, where, what))]


def _did(did: Doing) -> str:
    """`change 4`; `changes 1, 3 and 6 together`; `changes 1 and 2 together, or 3 and 4 together`."""
    told = []
    for numbers in did.sets:
        names = [str(number + 1) for number in numbers]
        told.append(names[0] if len(names) == 1 else f"{listed(names)} together")
    word = "change" if len(did.sets) == 1 and len(did.sets[0]) == 1 else "changes"
    sure = "" if did.smallest else " (none of these can be left out; other sets of changes were not all tried)"
    if len(did.sets) > 1:
        return f"{word} {', or '.join(told)}: each is enough{sure}"
    return f"{word} {told[0]}{sure}"


# -- states, requirements, what is given, findings


def _states(compared: Comparison) -> Iterator[Block]:
    stage = ""
    for one in compared.states:
        if one.stage != stage:
            yield Line(strong(f"“{one.stage}”"))
        stage = one.stage
        when = f", {one.when}" if one.when else ""
        label = f"during {one.number}" if one.when else f"state {one.number}"
        yield Fact(label, f"{one.step}{when}: {one.figures.name}: {_turned(one)}")


def _turned(one: StateTurned) -> str:
    """What became of a body in a state: how it is held, its figures, what newly brings it down."""
    figures = (f"{label} {told}" for label, tell in FIGURES if "→" in (told := _turn(one.figures, tell)))
    fallen = f"now {in_brief(one.rig, one.fallen)}" if one.fallen else ""
    pairs = f"now {counted(len(one.pairs), 'pair')} more of failures" if one.pairs else ""
    return "; ".join(filter(None, (_remark(one.figures), *figures, fallen, pairs)))


def _carried(compared: Comparison) -> Iterator[Block]:
    """What is worse stands above already."""
    for one in compared.carried:
        if not one.worse:
            yield Fact("", one.words)


def _required(compared: Comparison) -> Iterator[Block]:
    for one in compared.requirements:
        if one.asked == (True, True) and one.was.met is one.now.met:
            if one.now.met is not True:
                yield Fact("as before", f"{one.text}: {turn_words(one)}")
            continue
        yield Fact(alarm("WORSE" if one.worse else ""), f"{one.text}: {turn_words(one)}")
        if one.worse:
            yield from (Fact("", reason) for reason in one.now.because)


def _given(compared: Comparison) -> Iterator[Block]:
    for one in compared.given:
        about = f"{one.sort}: {one.what}"
        if one.was is None:
            yield Fact(alarm("added"), f"{about}: {one.now}")
        elif one.now is None:
            yield Fact("dropped", f"{about}: {one.was}")
        else:
            yield Fact("other reason", f"{about}: {one.now} (was: {one.was})")


def _found(compared: Comparison) -> Iterator[Block]:
    for label, findings in (("found now", compared.found), ("no more", compared.gone)):
        for one in sorted(findings, key=lambda f: SEVERITIES.index(f.severity)):
            if one.rule not in TOLD_ABOVE:
                words = finding_words(one)
                yield Fact(Span(label, words.look if label == "found now" else Look.PLAIN), words.text)
