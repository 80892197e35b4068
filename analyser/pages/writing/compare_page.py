"""The page of `compare`: whether anything is worse, what changed, and what each change did."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.delivered import CAUTIONS
from analyser.checking.finding import Finding, Severity, listed, verb
from analyser.holding.outcome import BodyOutcome
from analyser.pages.writing.findings import ORDER as SEVERITIES
from analyser.pages.writing.findings import TOLD_ABOVE
from analyser.pages.writing.grouping import any_with_any, in_brief
from analyser.pages.writing.terminal import hanging, heading, line
from analyser.rig.model import Rig
from analyser.uses.comparing.comparison import ORDER, Comparison, Figures, SetTurned, turn_words
from analyser.uses.comparing.mixing import Doing

MOST_LINES = 14
WIDE = 23


def compare_page(compared: Comparison, old: str, new: str) -> RenderableType:
    """What is worse first; then the changes by number, to which everything after them refers."""
    rows: list[RenderableType] = [_title(compared, old, new)]
    worse = compared.worse
    rows.append(heading("Worse" if worse else "Nothing is worse"))
    rows += [hanging("worse", one, "bold red") for one in worse]
    if not worse:
        words = "than in the old revision, as far as this compares them: `stillheld check` says how anybody is held"
        rows.append(line(words))
    rows += [heading("What changed"), *_changes(compared)]
    rows += [heading("What it did"), _figures(compared)]
    rows += _sets("Brings somebody down now", compared, compared.gained, compared.new.rig, "falls", "fall")
    rows += _sets("Brings nobody down any more", compared, compared.lost, compared.old.rig, "is held", "are held")
    rows += _states(compared)
    rows += _required(compared)
    rows += _given(compared)
    rows += _found(compared)
    count = f"{len(worse)} {'thing is' if len(worse) == 1 else 'things are'} worse" if worse else "nothing is worse"
    last = (
        f"{count}; {'not met' if not compared.new.met else 'met'} in the new revision: compared on connections only, "
        f"complete to {ORDER} failures together for what the two files can express; strength, knots, rope condition "
        "and skill are not compared"
    )
    rows += [Text(), Text(" ".join(CAUTIONS), style="italic"), Text(last, style="bold")]
    return Group(*rows)


def _title(compared: Comparison, old: str, new: str) -> Text:
    was, now = compared.old.rig, compared.new.rig
    title = now.title if was.title == now.title else f"{was.title} → {now.title}"
    text = Text(title, style="bold")
    if was.revision is not None or now.revision is not None:
        text.append(f"  revision {was.revision or 'not given'} → {now.revision or 'not given'}", style="not bold")
    text.append(f"  {old} → {new}", style="not bold dim")
    return text


def _changes(compared: Comparison) -> list[RenderableType]:
    rows: list[RenderableType] = []
    for one in compared.matching.renamed:
        words = f"`{one.old}` is now called `{one.new}` ({one.what}): {one.why}"
        rows.append(hanging("called otherwise", words, width=WIDE + 4))
    for number, change in enumerate(compared.changes, 1):
        rows.append(hanging(f"{number:>2} {change.sort}", change.text, width=WIDE + 4))
    for step in compared.stepped:
        words = f"“{step.stage}”" if step.step is not None or step.change != "stages in another order" else step.stage
        rows.append(
            hanging(f"   {step.change}", words if step.step is None else f"{words}: {step.step}", width=WIDE + 4)
        )
    if not rows:
        words = "nothing of the rig as first attached or of its steps"
        rows.append(line(words if compared.different else f"{words}, and nothing else either"))
    return rows


def _figures(compared: Comparison) -> RenderableType:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  who", "attachments", "independent", "falls after", ""):
        table.add_column(column, header_style="")
    for one in compared.figures:
        row = [_attachments, _independent, _falls_after]
        table.add_row(
            Text(f"  {one.name} ({one.kind})", style="bold"), *(_turn(one, told) for told in row), _remark(one)
        )
    if not compared.figures:
        return line("nobody and nothing has to be held in either revision")
    return table


def _turn(one: Figures, told: Callable[[BodyOutcome], str]) -> str:
    was, now = told(one.was) if one.was else None, told(one.now) if one.now else None
    if was is None or now is None or was == now:
        return str(now or was)
    return f"{was} → {now}"


def _remark(one: Figures) -> Text:
    if one.was is None:
        return Text("new", style="bold")
    if one.now is None:
        return Text("need not be held any more", style="bold")
    words = []
    if one.was.held != one.now.held:
        words.append("HELD NOW" if one.now.held else "ONLY BY A PERSON" if one.now.only_by_person else "NOT HELD")
    if one.was.tips != one.now.tips:
        words.append("TIPS" if one.now.tips else "tips no more")
    return Text(", ".join(words), style="bold")


def _attachments(body: BodyOutcome) -> str:
    return str(body.attachments)


def _independent(body: BodyOutcome) -> str:
    if body.independent is None:
        return "any"
    return f"{'' if body.independent_exact else '≥ '}{body.independent}"


def _falls_after(body: BodyOutcome) -> str:
    size = body.smallest_failure_set
    if size is None:
        return "nothing that can fail" if body.independent is None else f"more than {ORDER}"
    return {0: "nothing failed", 1: "1 alone"}.get(size, f"{size} together")


# -- failure sets


def _sets(
    title: str, compared: Comparison, turned: Sequence[SetTurned], rig: Rig, one: str, many: str
) -> list[RenderableType]:
    """The sets that matter by size, bodies and changes; the rest only counted."""
    bodies: dict[tuple[tuple[str, ...], bool, Doing | None], list[str]] = {}
    for turn in turned:
        if not turn.within:  # where it isn't worse, nobody asks what did it (`--json` says it)
            bodies.setdefault((turn.failures, turn.in_line, None if turn.in_line else turn.did), []).append(turn.body)
    groups: dict[tuple[bool, int, tuple[str, ...], Doing | None], list[tuple[str, ...]]] = {}
    for (failures, in_line, did), who_too in bodies.items():
        groups.setdefault((in_line, len(failures), tuple(who_too), did), []).append(failures)
    rows: list[RenderableType] = []
    ordered = sorted(groups.items(), key=lambda item: (item[0][:2], -len(item[1]), item[0][2], item[1]))
    for (in_line, size, names, did), sets in ordered:
        who = f": {listed(names)} {verb(names, one, many)}"
        by = f"\nby {_did(did)}" if did and did.sets else ""
        same = "not worse" if one == "falls" else "not better"
        label = same if in_line else {0: "nothing failed", 1: "one alone", 2: "two together"}[size]
        if size < 2:
            told = [Text.assemble((in_brief(rig, [cut[0] for cut in sets]) if size else "", "bold"), who, by)]
        else:
            pairs = any_with_any(sets)
            told = [
                Text.assemble(in_brief(rig, x), "\nwith ", in_brief(rig, y), who, by if k == len(pairs) - 1 else "")
                for k, (x, y) in enumerate(pairs)
            ]
        style = "bold red" if one == "falls" and size < 2 else ""
        rows += [hanging(label, words, style) for words in told]
    if len(rows) > MOST_LINES:
        rest = len(rows) - MOST_LINES
        rows = [*rows[:MOST_LINES], line(f"… and {rest} more lines (`--json` lists each set)")]
    if any(turn.in_line for turn in turned) and one == "falls":
        words = "is a pair with something new in it, where as few failures or fewer brought the same body down before"
        rows.append(hanging("“not worse”", words))
    inside = sum(turn.within for turn in turned)
    if inside and one == "falls":
        words = f"{inside} set{'s' if inside > 1 else ''} of which fewer failures were enough before"
        rows.append(hanging("not worse", words))
    return [heading(title), *rows] if rows else []


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


def _states(compared: Comparison) -> list[RenderableType]:
    rows: list[RenderableType] = []
    stage = ""
    for one in compared.states:
        if one.stage != stage:
            rows.append(line((f"“{one.stage}”", "bold")))
        stage = one.stage
        figures = "; ".join(
            f"{label} {told}"
            for label, tell in (
                ("attachments", _attachments),
                ("independent", _independent),
                ("falls after", _falls_after),
            )
            if "→" in (told := _turn(one.figures, tell))
        )
        held = _remark(one.figures).plain
        fallen = f"now {in_brief(compared.new.states[one.number].rig, one.fallen)}" if one.fallen else ""
        words = "; ".join(word for word in (held, figures, fallen) if word)
        rows.append(hanging(f"state {one.number}", f"{one.step}: {one.figures.name}: {words}"))
    if len(rows) > 2 * MOST_LINES:
        rest = len(rows) - 2 * MOST_LINES
        rows = [*rows[: 2 * MOST_LINES], line(f"… and {rest} more lines (`--json` lists each state)")]
    return [heading("After the steps of the stages"), *rows] if rows else []


def _required(compared: Comparison) -> list[RenderableType]:
    rows: list[RenderableType] = []
    for one in compared.requirements:
        if one.asked == (True, True) and one.was.met is one.now.met:
            if one.now.met is not True:
                rows.append(hanging("as before", f"{one.text}: {turn_words(one)}"))
            continue
        rows.append(hanging("WORSE" if one.worse else "", f"{one.text}: {turn_words(one)}", "bold red"))
        if one.worse:
            rows += [hanging("", reason) for reason in one.now.because]
    return [heading("Required"), *rows] if rows else []


def _given(compared: Comparison) -> list[RenderableType]:
    rows: list[RenderableType] = []
    for one in compared.given:
        if one.was is None:
            rows.append(hanging("added", f"{one.sort}: {one.what}: {one.now}", "bold red"))
        elif one.now is None:
            rows.append(hanging("dropped", f"{one.sort}: {one.what}: {one.was}"))
        else:
            rows.append(hanging("other reason", f"{one.sort}: {one.what}: {one.now} (was: {one.was})"))
    return [heading("Taken as given"), *rows] if rows else []


def _found(compared: Comparison) -> list[RenderableType]:
    rows: list[RenderableType] = []
    still = {(one.rule, one.about) for state in compared.new.states for one in state.findings}
    no_more = [one for one in compared.found_no_more if (one.rule, one.about) not in still]
    for label, findings in (("found now", list(compared.found)), ("no more", no_more)):
        for one in sorted(findings, key=lambda f: SEVERITIES.index(f.severity)):
            if one.rule not in TOLD_ABOVE:
                style = "bold red" if label == "found now" and _bad(one) else ""
                accepted = f"; accepted: {one.accepted}" if one.accepted else ""
                rows.append(hanging(label, f"{one.severity}: {one.text} ({one.rule}){accepted}", style))
    if len(rows) > 2 * MOST_LINES:
        rest = len(rows) - 2 * MOST_LINES
        rows = [*rows[: 2 * MOST_LINES], line(f"… and {rest} more (`--json` lists each)")]
    return [heading("Worth a look"), *rows] if rows else []


def _bad(one: Finding) -> bool:
    return one.severity is Severity.DANGER and not one.accepted
