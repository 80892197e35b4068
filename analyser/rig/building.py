"""From statements to a rig: names resolved, ropes laid, what can fail listed, oddities noted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from analyser.reading.mistakes import Mistake, Place, did_you_mean
from analyser.reading.parsing import Document
from analyser.reading.syntax import (
    Attach,
    Cause,
    Declaration,
    Detail,
    FailureName,
    Heading,
    Interlock,
    Judgement,
    More,
    NewKind,
    ObservedBlock,
    Require,
    RopeLine,
    StageBlock,
    Word,
)
from analyser.rig.drafting import Bench, Draft
from analyser.rig.failing import hands_off, what_fails
from analyser.rig.kinds import Kind, add, catalogue
from analyser.rig.model import (
    BODIES,
    Caution,
    Effects,
    Failure,
    Judged,
    Nature,
    Need,
    Observation,
    Part,
    Requirement,
    Rig,
    Role,
    Rope,
    Stage,
    Step,
)
from analyser.rig.roping import declare_knots, make_rope

HOUSE_DEFAULTS = (
    ("independent", "every person has 2 independent attachments", 2),
    ("held", "everyone held after any 1 failure", 1),
)
"""What is asked of a rig that asks for nothing itself."""

POINT = Kind("point", None, Nature.POINT, (), "a named point of a body")


def build(document: Document) -> tuple[Rig | None, list[Mistake]]:
    """The rig that a document describes, or every independent mistake that stands in its way."""
    kinds = dict(catalogue())
    bench = Bench(document, kinds)
    bench.mistakes += document.mistakes
    for statement in document.statements:
        if isinstance(statement, NewKind):
            bench.mistakes += add(kinds, statement)
    title, revision, notes = _heading(bench)
    knots = _declare(bench)
    _describe(bench)
    _points(bench)
    ropes = _connect(bench, knots)
    needs = _needs(bench, ropes)
    if bench.mistakes:
        _judgements(bench, {}, {})  # names no failure can be checked against: only the shape was
    parts = bench.finish(needs) if not bench.mistakes else {}
    everything = what_fails(parts, ropes)
    causes = _causes(bench, everything) if not bench.mistakes else {}
    judged = _judgements(bench, everything, causes) if not bench.mistakes else ([], [])
    requirements = _requirements(bench)
    if bench.mistakes:
        return None, sorted(set(bench.mistakes))
    sound, accepted = judged
    impossible = {one.failure for one in sound}
    possible = [f for f in (*everything.values(), *causes.values()) if f.id not in impossible]
    _odd(bench, parts, ropes)
    place = next(s.place for s in document.statements if isinstance(s, Heading) and s.key == "rig")
    stages, seen = _later(document)
    rig = Rig(
        title=title,
        revision=revision,
        place=place,
        parts=parts,
        contacts=tuple(bench.contacts.values()),
        ropes=tuple(ropes),
        failures=tuple(sorted(possible, key=lambda failure: failure.id)),
        sound=tuple(sound),
        accepted=tuple(accepted),
        requirements=requirements,
        stages=stages,
        observations=seen,
        notes=tuple(notes),
        cautions=tuple(sorted(bench.cautions, key=lambda c: (c.place, c.rule, c.about))),
        hands_off=hands_off(parts),
    )
    return rig, []


def _heading(bench: Bench) -> tuple[str, str | None, list[str]]:
    statements = bench.document.statements
    titles = [s for s in statements if isinstance(s, Heading) and s.key == "rig"]
    main = next(iter(bench.document.sources))
    hint = 'begin with a title: `rig "Two-rope lower"`'
    if not titles:
        if not any(m.place.file == main for m in bench.document.mistakes) or statements:
            first = statements[0].place if statements else Place(main, 1)
            if not bench.doubtful("rig"):
                bench.wrong(Place(main, first.line if first.file == main else 1), "the rig has no title", hint)
        return "", None, []
    if statements[0] is not titles[0]:
        bench.wrong(titles[0].place, "the title must come first", "move this line to the top of the file")
    for second in titles[1:]:
        bench.wrong(second.place, f"a second title: the first is on line {titles[0].place.line}", "take it out")
    revisions = [s for s in statements if isinstance(s, Heading) and s.key == "revision"]
    notes = [s.text for s in statements if isinstance(s, Heading) and s.key == "note"]
    return titles[0].text, revisions[-1].text if revisions else None, notes


def _declare(bench: Bench) -> list[tuple[RopeLine, list[Word | None]]]:
    """Every name that the file gives, wherever it stands, so that the order of lines is free."""
    ropes: list[RopeLine] = []
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            for name in statement.names:
                bench.declare(statement.kind, name)
        elif isinstance(statement, Attach):
            bench.declare_links(statement.chain)
        elif isinstance(statement, RopeLine):
            name = statement.name
            before = bench.ropes.get(name.text) or (
                bench.parts[name.text].place if name.text in bench.parts else None
            )
            if before:
                bench.wrong(
                    name.place,
                    f"`{name.text}` is declared twice: the first is on line {before.line}",
                    "give this rope a name of its own",
                )
            else:
                bench.ropes[name.text] = name.place
                ropes.append(statement)
    return [(rope, declare_knots(bench, rope)) for rope in ropes]


def _describe(bench: Bench) -> None:
    """Apply attributes, those of the declarations first; points become parts as they are named."""
    blocks: list[Detail] = []
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            blocks += [replace(d, names=d.names or statement.names) for d in statement.details]
        elif isinstance(statement, More):
            blocks += statement.details
    late: list[Detail] = []
    for detail in blocks:
        if any("." in name.text for name in detail.names):
            late.append(detail)
        else:
            _apply(bench, detail)
    for draft in list(bench.parts.values()):
        for point in draft.points:
            if f"{draft.name}.{point.text}" in bench.parts:
                continue
            word = Word(f"{draft.name}.{point.text}", point.place)
            bench.add(word, POINT, body=draft.name)
    for detail in late:
        _apply(bench, detail)


def _apply(bench: Bench, detail: Detail) -> None:
    for name in detail.names:
        draft = bench.part(name) if name.text not in bench.ropes else None
        if name.text in bench.ropes:
            bench.wrong(name.place, f"`{name.text}` is a rope", "write its attributes after `rope NAME:`")
        if draft is None:
            continue
        if not detail.attributes:
            known = [*bench.parts]
            bench.wrong(
                name.place,
                f"`{name.text}` stands alone: nothing is said of it",
                did_you_mean(name.text, known, f"`{name.text}: strength 22 kN`"),
            )
        for attribute in detail.attributes:
            bench.apply(draft, attribute)


def _points(bench: Bench) -> None:
    """Points and harnesses touch their bodies for good; who works, minds and wears is looked up."""
    for draft in list(bench.parts.values()):
        if draft.nature is Nature.HARNESS:
            if draft.worn_by is None:
                bench.wrong(
                    draft.place, f"nobody wears the harness `{draft.name}`", f"`harness {draft.name}: worn by sam`"
                )
            else:
                draft.body = bench.person(draft.worn_by)
        for word in (draft.operated_by, draft.minded_by):
            if word:
                bench.person(word)
        if draft.operated_by or draft.minded_by:
            bench.used.add(draft.name)
        for guard in draft.guards:
            if bench.part(guard):
                bench.used.add(guard.text)
    for draft in bench.parts.values():
        if draft.body and draft.body in bench.parts:
            bench.touch(draft.name, draft.body, draft.place, given=False)


def _connect(bench: Bench, knots: list[tuple[RopeLine, list[Word | None]]]) -> list[Rope]:
    """Contacts of chains, stations and interlocks."""
    ropes: list[Rope] = []
    made: dict[str, Rope | None] = {}
    by_name = dict((line.name.text, (line, names)) for line, names in knots)
    for statement in bench.document.statements:
        if isinstance(statement, Attach):
            if len(statement.chain) < 2:
                bench.wrong(
                    statement.chain[0].place,
                    "only one part: nothing touches it here",
                    "write what it touches: `attach left-bolt - left-crab`",
                )
            bench.chain(statement.chain)
        elif isinstance(statement, RopeLine) and statement.name.text in by_name:
            line, names = by_name[statement.name.text]
            if line is statement:
                made[line.name.text] = make_rope(bench, line, names)
    ropes = [rope for rope in made.values() if rope]
    for statement in bench.document.statements:
        if not isinstance(statement, Interlock):
            continue
        found = [bench.part(word, "knot") for word in statement.knots]
        for draft, word in zip(found, statement.knots, strict=True):
            if draft and draft.nature is not Nature.KNOT:
                bench.wrong(word.place, f"`{word.text}` is a {draft.kind.name}, not a knot", "name two knots")
        if len(found) < 2:
            bench.wrong(statement.place, "one knot cannot interlock alone", "`interlock red-bowline, green-bowline`")
        for a, b in zip(found, found[1:], strict=False):
            if a and b and a.nature is b.nature is Nature.KNOT:
                bench.touch(a.name, b.name, statement.place)
    return ropes


def _needs(bench: Bench, ropes: Iterable[Rope]) -> dict[str, tuple[Need, ...]]:
    """What each frame stands on; a rope counts by its knot on the frame."""
    laid = {rope.name: rope for rope in ropes}
    needs: dict[str, tuple[Need, ...]] = {}
    for draft in bench.parts.values():
        if draft.nature is not Nature.FRAME:
            continue
        groups = []
        for count, words, spelt in draft.needs:
            names = [_needed(bench, draft, word, laid) for word in words]
            known = tuple(name for name in names if name)
            bench.used |= set(known)
            groups.append(Need(count or len(words), known, spelt))
        if not groups:
            bench.wrong(
                draft.place,
                f"`{draft.name}` is a {draft.kind.name} and stands on nothing",
                f"say what holds it: `{draft.name}: feet a, b, c` or `needs 2 of a, b, c`",
            )
        needs[draft.name] = tuple(groups)
    return needs


def _needed(bench: Bench, frame: Draft, word: Word, laid: dict[str, Rope]) -> str | None:
    if word.text == frame.name:
        bench.wrong(word.place, f"`{frame.name}` cannot stand on itself", "name its feet or guys")
        return None
    if word.text not in bench.ropes:
        found = bench.part(word)
        return found.name if found else None
    rope = laid.get(word.text)
    if rope is None:
        return None
    touching = {name for pair in bench.contacts for name in pair if frame.name in pair}
    knots = sorted({s.part for s in rope.stations if s.role is Role.TIE and s.part in touching})
    if len(knots) == 1:
        return knots[0]
    if knots:
        text = f"the rope `{word.text}` has several knots on `{frame.name}`"
        bench.wrong(word.place, text, "name the knot: " + " or ".join(f"`{one}`" for one in knots))
    else:
        text = f"the rope `{word.text}` has no knot on `{frame.name}`"
        bench.wrong(word.place, text, f"tie it there: `tied to {frame.name} with bowline`")
    return None


def _causes(bench: Bench, failures: dict[str, Failure]) -> dict[str, Failure]:
    """Common causes: each the union of what its failures do, those of other causes included."""
    statements = {s.name.text: s for s in bench.document.statements if isinstance(s, Cause)}
    made: dict[str, Failure] = {}

    def make(name: str, above: tuple[str, ...]) -> Effects:
        effects = Effects()
        for failure in statements[name].failures:
            if failure.mode == "strikes" and failure.part in statements:
                if failure.part in above:
                    bench.wrong(failure.place, f"the cause `{failure.part}` lists itself", "take it out")
                    continue
                effects |= make(failure.part, (*above, failure.part))
                continue
            for one in _meant(bench, failure, failures, {}):
                effects |= failures[one].effects
        return effects

    for statement in bench.document.statements:
        if not isinstance(statement, Cause):
            continue
        name = statement.name.text
        if statements[name] is not statement:
            bench.wrong(statement.name.place, f"the cause `{name}` is declared twice", "give it a name of its own")
            continue
        known = len(bench.mistakes)
        effects = make(name, (name,))
        if len(bench.mistakes) == known:
            made[f"{name} strikes"] = Failure(f"{name} strikes", name, "strikes", effects, statement.name.place)
    return made


def _meant(
    bench: Bench, name: FailureName, failures: dict[str, Failure], causes: dict[str, Failure]
) -> list[str]:
    """The ids that a written failure stands for; a bare name stands for all of that part's."""
    everything = {**failures, **causes}
    if name.id in everything and name.mode:
        return [name.id]
    own = sorted(f.id for f in everything.values() if f.part == name.part)
    if not name.mode:
        spans = sorted(f.id for f in failures.values() if f.part.startswith(f"{name.part}["))
        if own or (spans and name.part in bench.ropes):
            return own or spans
    known = [*bench.parts, *bench.ropes, *(f.part for f in everything.values())]
    if bench.doubtful(name.part):
        return []
    if name.part not in known:
        spans = [f.part for f in everything.values() if f.mode == "is cut"]
        if "[" in name.part:
            rope = name.part.split("[")[0]
            mine = [s for s in spans if s.startswith(f"{rope}[")]
            hint = did_you_mean(name.part, mine) or f"its spans are {', '.join(mine)}"
            if not mine:
                hint = did_you_mean(rope, bench.ropes, "the ropes are " + ", ".join(bench.ropes))
            bench.wrong(name.place, f"there is no span `{name.part}`", hint)
        else:
            bench.wrong(name.place, f"there is no part called `{name.part}`", did_you_mean(name.part, known))
        return []
    hint = "what can fail of it: " + ", ".join(own) if own else "nothing of it can fail in this model"
    bench.wrong(name.place, f"`{name.id}` is not a failure of this rig", hint)
    return []


def _judgements(
    bench: Bench, failures: dict[str, Failure], causes: dict[str, Failure]
) -> tuple[list[Judged], list[Judged]]:
    found: dict[str, list[Judged]] = {"sound": [], "accept": []}
    for statement in bench.document.statements:
        if not isinstance(statement, Judgement):
            continue
        if not statement.reason.strip():
            bench.wrong(
                statement.place,
                f"`{statement.key}` must give a reason",
                f'`{statement.key} master fails: "forged ring, inspected this season"`',
            )
        if not failures:
            continue
        for name in statement.failures:
            for one in _meant(bench, name, failures, causes):
                found[statement.key].append(Judged(one, statement.reason, name.place))
    unique = {key: list({one.failure: one for one in rows}.values()) for key, rows in found.items()}
    return (
        sorted(unique["sound"], key=lambda one: one.failure),
        sorted(unique["accept"], key=lambda one: one.failure),
    )


def _requirements(bench: Bench) -> tuple[Requirement, ...]:
    made: list[Requirement] = []
    stages = [s.title for s in bench.document.statements if isinstance(s, StageBlock)]
    for statement in bench.document.statements:
        if not isinstance(statement, Require):
            continue
        names = []
        for word in statement.names:
            draft = bench.part(word) if statement.rule not in ("strength",) else bench.part(word)
            if draft and statement.rule != "strength" and draft.nature not in BODIES:
                bench.wrong(
                    word.place,
                    f"`{word.text}` is a {draft.kind.name}: only people, litters and loads are asked after",
                    "name a body, or `everyone`",
                )
            elif draft:
                names.append(draft.name)
        for title in (statement.stage, statement.except_stage):
            if title and title.text not in stages and not bench.document.doubtful & {title.text}:
                bench.wrong(title.place, f'there is no stage "{title.text}"', did_you_mean(title.text, stages))
        number = _whole(bench, statement)
        made.append(
            Requirement(
                rule=statement.rule,
                text=statement.text,
                place=statement.place,
                names=tuple(names),
                number=number,
                stage=statement.stage.text if statement.stage else None,
                except_stage=statement.except_stage.text if statement.except_stage else None,
            )
        )
    if made or any(isinstance(s, Require) for s in bench.document.statements):
        return tuple(made)
    place = Place(next(iter(bench.document.sources)), 1)
    return tuple(
        Requirement(rule, text, place, number=number, assumed=True) for rule, text, number in HOUSE_DEFAULTS
    )


def _whole(bench: Bench, statement: Require) -> int:
    """The number of a counting requirement: a whole one, at least 1."""
    counting = ("independent", "independent-everyone", "held", "held-people", "level")
    if statement.rule not in counting or statement.number is None:
        return 0
    text = statement.number.text
    if not text.isdigit() or int(text) < 1:
        bench.wrong(statement.number.place, f"{text} is not a number of things", "write a whole number, 1 or more")
        return 1
    if int(text) > 6:
        bench.wrong(statement.number.place, f"{text} is more than can be searched", "ask for 6 at most")
        return 1
    return int(text)


def _later(document: Document) -> tuple[tuple[Stage, ...], tuple[Observation, ...]]:
    """Stages and observations, kept as read."""
    stages: list[Stage] = []
    seen: list[Observation] = []
    for statement in document.statements:
        if isinstance(statement, StageBlock):
            steps = tuple(Step(line.verb, line.words, line.place) for line in statement.steps)
            stages.append(Stage(statement.title, statement.place, steps))
        elif isinstance(statement, ObservedBlock):
            seen += [Observation(line.verb, line.words, line.place) for line in statement.facts]
    return tuple(stages), tuple(seen)


def _odd(bench: Bench, parts: dict[str, Part], ropes: Iterable[Rope]) -> None:
    """What is not a mistake but ought to be seen: idle parts, ends that may lie below."""
    idle_apart = (Nature.POINT, Nature.HARNESS, Nature.KNOT, Nature.STOPPER)
    for part in parts.values():
        if part.name in bench.used or part.nature in idle_apart or part.needs:
            continue
        if any(point in bench.used for point in part.points):
            continue
        if part.is_body:
            text = f"nothing is attached to `{part.name}`"
            if part.standing and not part.exposed:
                continue
        else:
            text = f"nothing touches `{part.name}`: it holds nobody"
        bench.cautions.append(Caution("unused-part", (part.name,), text, part.place))
    if any(part.below is not None or part.at for part in parts.values()):
        return
    for rope in ropes:
        end = _end_worked_from_the_ground(rope, parts, bench)
        if end:
            text = (
                f"`{end}`, at an end of `{rope.name}`, is worked from the ground with a pulley between: if what it "
                "is anchored to lies under the bodies, write `below` on that anchor (or `not below`). "
                "Until told, it counts as above"
            )
            bench.cautions.append(Caution("below-not-said", (rope.name, end), text, rope.place))


def _end_worked_from_the_ground(rope: Rope, parts: dict[str, Part], bench: Bench) -> str | None:
    """The part at a rope's end that a standing person works, or a footing, behind a pulley."""
    ends = [s for s in rope.stations if s.to_start or s.to_end or s.role is Role.HAND]
    if len(ends) < 2:
        return None
    pulleys = [i for i, s in enumerate(rope.stations) if parts[s.part].nature is Nature.PULLEY]
    for end in (ends[0], ends[-1]):
        here = rope.stations.index(end)
        beyond = [i for i in pulleys if i != here]
        if not beyond:
            continue
        part = parts[end.part]
        worker = part.name if part.nature is Nature.PERSON else part.operated_by
        if worker and parts[worker].standing:
            return part.name
        touched = {name for pair in bench.contacts if end.part in pair for name in pair}
        if any(bench.parts[name].kind.name == "footing" for name in touched):
            return part.name
    return None
