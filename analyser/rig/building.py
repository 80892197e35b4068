"""From statements to a rig: names resolved, ropes laid, what can fail listed, oddities noted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from analyser.reading.mistakes import Mistake, Place, did_you_mean, near, with_article
from analyser.reading.parsing import MOST_MISTAKES, Document
from analyser.reading.syntax import (
    Attach,
    Cause,
    Chance,
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
from analyser.reading.vocabulary import FLAGS, STATEMENTS, STEPS
from analyser.rig.drafting import Bench, Draft
from analyser.rig.failing import MODES, hands_off, what_fails
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
from analyser.rig.quantities import measures
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
    parts = bench.finish(needs)
    everything = what_fails(parts, ropes) if parts else {}
    asked = Asked(bench, parts, everything, bool(bench.mistakes))
    causes = _causes(bench, asked)
    asked = replace(asked, failures={**everything, **causes})
    judged = _judgements(bench, asked)
    likely = _likelihoods(bench, asked)
    requirements = _requirements(bench)
    _check_blocks(bench)
    if bench.mistakes:
        return None, sorted(set(bench.mistakes))[:MOST_MISTAKES]
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
        failures=tuple(
            replace(f, likelihood=likely.get(f.id, f.likelihood)) for f in sorted(possible, key=lambda f: f.id)
        ),
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
                bench.wrong(first if first.file == main else Place(main, 1), "the rig has no title", hint)
        return "", None, []
    if not titles[0].text.strip():
        bench.wrong(titles[0].place, "the title is empty", 'say what this rig is: `rig "Two-rope lower"`')
    if statements[0] is not titles[0] and titles[0].place.file == main:
        bench.wrong(titles[0].place, "the title must come first", "move this line to the top of the file")
    for title in titles:
        if title.place.file != main:
            bench.wrong(title.place, "a file that is included has no title of its own", "take it out")
        elif title is not titles[0]:
            text = f"a second title: the first is on line {titles[0].place.line}"
            bench.wrong(title.place, text, 'take it out, or make it a `note "…"`')
    revisions = [s for s in statements if isinstance(s, Heading) and s.key == "revision"]
    notes = [s.text for s in statements if isinstance(s, Heading) and s.key == "note"]
    return titles[0].text, revisions[-1].text if revisions else None, notes


def _declare(bench: Bench) -> list[tuple[RopeLine, list[Word | None]]]:
    """Every name that the file gives, wherever it stands, so that the order of lines is free."""
    ropes: list[RopeLine] = []
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            bench.names |= {name.text: statement.kind.text for name in statement.names}
        elif isinstance(statement, RopeLine):
            bench.names[statement.name.text] = "rope"
        chains = [statement.chain] if isinstance(statement, Attach) else []
        if isinstance(statement, RopeLine):
            chains += [station.chain for station in statement.stations]
        bench.names |= {
            link.name.text: link.kind.text
            for chain in chains
            for link in chain
            if link.name and link.kind and link.kind.text in bench.kinds
        }
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            for name in statement.names:
                if name.text in FLAGS and name is not statement.names[0]:
                    first = statement.names[0].text
                    bench.wrong(
                        name.place,
                        f"after a comma, `{name.text}` would be another {statement.kind.text}",
                        f"attributes begin with a colon: `{statement.kind.text} {first}: {name.text}`",
                    )
                    continue
                bench.declare(statement.kind, name, begins=True)
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
                bench.document.broken_ropes.add(name.text)
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
        if name.text not in bench.parts and (name.text in bench.kinds or name.text in STATEMENTS):
            if name.text in bench.kinds:
                text = f"`{name.text}` is a kind, and no name follows it"
                bench.wrong(name.place, text, f"name it: `{name.text} spare`")
            else:
                bench.wrong(name.place, f"`{name.text}` says nothing yet", "write what it is about, or take it out")
            bench.nameless = True
            continue
        if name.text in bench.ropes:
            hint = f"write its attributes where it is declared, after `rope {name.text}:`"
            bench.wrong(name.place, f"`{name.text}` is a rope, not a part", hint)
        draft = bench.part(name) if name.text not in bench.ropes else None
        if draft is None:
            continue
        if not detail.attributes:
            hint = f"write what is to be said, as in `{name.text}: strength 22 kN`, or take the line out"
            bench.wrong(name.place, f"`{name.text}` stands alone: nothing is said of it", hint)
        for attribute in detail.attributes:
            bench.apply(draft, attribute)


def _points(bench: Bench) -> None:
    """Points and harnesses touch their bodies for good; who works, minds and wears is looked up."""
    for draft in list(bench.parts.values()):
        if draft.nature is Nature.HARNESS:
            if draft.worn_by is None:
                if not bench.doubtful(draft.name):
                    people = [d.name for d in bench.parts.values() if d.nature is Nature.PERSON]
                    hint = f"say who: `{draft.name}: worn by {people[0] if people else 'sam'}`"
                    bench.wrong(draft.place, f"nobody wears the harness `{draft.name}`", hint)
            else:
                draft.body = bench.person(draft.worn_by)
        for word in (draft.operated_by, draft.minded_by):
            if word:
                bench.person(word)
        if draft.operated_by or draft.minded_by:
            bench.used.add(draft.name)
        for guard in draft.guards:
            if bench.part(guard, "pad or guard", (Nature.PAD,), "pad"):
                bench.used.add(guard.text)
    for draft in bench.parts.values():
        if draft.body and draft.body in bench.parts:
            bench.touch(draft.name, draft.body, draft.place, given=False)


def _connect(bench: Bench, knots: list[tuple[RopeLine, list[Word | None]]]) -> list[Rope]:
    """Contacts of chains, stations and interlocks."""
    ropes: list[Rope] = []
    made: dict[str, Rope | None] = {}
    by_name = {line.name.text: (line, names) for line, names in knots}
    for statement in bench.document.statements:
        if isinstance(statement, Attach):
            known = len(bench.mistakes)
            bench.chain(statement.chain)
            only = statement.chain[0]
            name = only.name.text if only.name else ""
            if len(statement.chain) < 2 and len(bench.mistakes) == known and not bench.doubtful(name):
                bench.wrong(
                    only.place,
                    "a single link: it is attached to nothing",
                    f"write what it touches: `attach {name or 'left-bolt'} - a carabiner - …`",
                )
        elif isinstance(statement, RopeLine) and statement.name.text in by_name:
            line, names = by_name[statement.name.text]
            if line is statement:
                made[line.name.text] = make_rope(bench, line, names)
    ropes = [rope for rope in made.values() if rope]
    for statement in bench.document.statements:
        if not isinstance(statement, Interlock):
            continue
        found = [bench.part(word, "knot", (Nature.KNOT,), "") for word in statement.knots]
        for draft, word in zip(found, statement.knots, strict=True):
            if draft and draft.nature is not Nature.KNOT:
                text = f"`{word.text}` is {with_article(draft.kind.name)}, not a knot"
                bench.wrong(word.place, text, "name two knots: each one's loop passes through the other's")
        if len(found) < 2:
            text = "a single knot: it interlocks with nothing"
            alone = statement.knots[0]
            bench.wrong(alone.place, text, f"name the other: `interlock {alone.text}, green-bowline`")
        for (a, b), word in zip(pairwise(found), statement.knots[1:], strict=True):
            if a and b and a is b:
                bench.wrong(word.place, f"`{a.name}` cannot interlock with itself", "name two different knots")
            elif a and b and a.nature is b.nature is Nature.KNOT:
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
        if not groups and not bench.doubtful(draft.name):
            bench.wrong(
                draft.place,
                f"`{draft.name}` is {with_article(draft.kind.name)}, and stands on nothing",
                f"say what holds it: `{draft.name}: feet a, b, c` or `{draft.name}: needs 2 of a, b, c`",
            )
        needs[draft.name] = tuple(groups)
    return needs


def _needed(bench: Bench, frame: Draft, word: Word, laid: dict[str, Rope]) -> str | None:
    if word.text == frame.name:
        bench.wrong(word.place, f"`{frame.name}` cannot stand on itself", "name its feet or guys")
        return None
    if word.text not in bench.ropes:
        found = bench.part(word, "part", (), "footing")
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


@dataclass(frozen=True)
class Asked:
    """What written failures are looked up in. `partly`: the rig has mistakes, so that what is
    missing here may only be missing because of them."""

    bench: Bench
    parts: dict[str, Part]
    failures: dict[str, Failure]
    partly: bool


def _causes(bench: Bench, asked: Asked) -> dict[str, Failure]:
    """Common causes: each the union of what its failures do, those of other causes included."""
    statements: dict[str, Cause] = {}
    for statement in bench.document.statements:
        if not isinstance(statement, Cause):
            continue
        name = statement.name.text
        if name in statements:
            first = statements[name].place.line
            text = f"the cause `{name}` is declared twice: the first is on line {first}"
            bench.wrong(statement.name.place, text, "give it a name of its own, or add its failures to the first")
        statements.setdefault(name, statement)
    done: dict[str, Effects] = {}
    for root in statements:
        if root not in done:
            _add_up(asked, root, statements, done)
    return {
        f"{name} strikes": Failure(f"{name} strikes", name, "strikes", done[name], statement.name.place)
        for name, statement in statements.items()
    }


def _add_up(asked: Asked, root: str, statements: dict[str, Cause], done: dict[str, Effects]) -> None:
    """The effects of `root` and of every cause below it, each looked at once."""
    path, sums = [root], [Effects()]
    left = [iter(statements[root].failures)]
    while path:
        failure = next(left[-1], None)
        if failure is None:
            left.pop()
            effects = done[path.pop()] = sums.pop()
            if sums:
                sums[-1] |= effects
        elif failure.mode != "strikes" or failure.part not in statements:
            for one in _meant(asked, failure, statements):
                sums[-1] |= asked.failures[one].effects
        elif failure.part in done:
            sums[-1] |= done[failure.part]
        elif failure.part in path:
            through = path[path.index(failure.part) + 1 :]
            text = f"the cause `{failure.part}` lists itself"
            text += f", through `{'`, `'.join(through)}`" if through else ""
            asked.bench.wrong(failure.place, text, "take it out here")
        else:
            path.append(failure.part)
            sums.append(Effects())
            left.append(iter(statements[failure.part].failures))


def _meant(asked: Asked, name: FailureName, causes: Iterable[str]) -> list[str]:
    """The ids that a written failure stands for; a bare name stands for all of that part's."""
    bench, everything = asked.bench, asked.failures
    if name.id in everything and name.mode:
        return [name.id]
    own = sorted(f.id for f in everything.values() if f.part == name.part)
    spans = sorted(f.id for f in everything.values() if f.part.startswith(f"{name.part}["))
    if not name.mode and (own or (spans and name.part in bench.ropes)):
        return own or spans
    if bench.doubtful(name.part) or (name.part in causes and asked.partly and name.mode in ("", "strikes")):
        return []
    if "[" in name.part:
        _no_span(asked, name)
    elif name.part in bench.ropes:
        if spans or not asked.partly:
            text = f"a rope fails span by span, and `{name.id}` names no span"
            bench.wrong(name.place, text, "name the span: " + " or ".join(f"`{span}`" for span in spans[:3]))
    elif name.part not in bench.parts and name.part not in causes:
        hint = bench.suggest(name.part, [*bench.parts, *causes, *bench.ropes])
        if not bench.nameless or hint:
            piece = name.place.piece(0, len(name.part))
            bench.wrong(piece, f"there is no part or cause called `{name.part}`", hint)
            bench.document.doubtful.add(name.part)
    else:
        _cannot_fail_so(asked, name, own)
    return []


def _no_span(asked: Asked, name: FailureName) -> None:
    """A span whose rope is not there, or that does not lie between neighbouring stations."""
    bench = asked.bench
    rope = name.part.split("[")[0]
    if bench.doubtful(rope):
        return
    if rope not in bench.ropes:
        hint = did_you_mean(rope, bench.ropes) or (f"the ropes are {', '.join(bench.ropes)}" if bench.ropes else "")
        bench.wrong(name.place.piece(0, len(rope)), f"there is no rope called `{rope}`", hint)
        bench.document.doubtful.add(rope)
        return
    mine = [f.part for f in asked.failures.values() if f.mode == "is cut" and f.part.startswith(f"{rope}[")]
    if not mine:
        return  # the rope itself was wrong, and that was told
    a, b = name.part[len(rope) + 1 : -1].split("..")
    turned = f"{rope}[{b}..{a}]"
    hint = f"the rope runs the other way: write `{turned}`" if turned in mine else did_you_mean(name.part, mine)
    if not hint:
        hint = f"a span lies between neighbours: {' or '.join(f'`{one}`' for one in mine[:4])}"
        hint += " …" if len(mine) > 4 else ""
    bench.wrong(name.place.piece(0, len(name.part)), f"there is no span `{name.part}`", hint)


def _cannot_fail_so(asked: Asked, name: FailureName, own: list[str]) -> None:
    """A part that is there and a failure it does not have: why not."""
    bench = asked.bench
    draft = bench.parts.get(name.part)
    if draft is None:
        text = f"`{name.part}` is a cause, and a cause strikes"
        bench.wrong(name.place, text, f"write `{name.part} strikes`")
        return
    nature, mode = draft.nature, name.mode
    never = {
        "lets go": f"`{name.part}` holds no rope and works no device that needs a hand",
        "holds on": f"`{name.part}` minds no device",
        "loses footing": f"`{name.part}` is not `standing, exposed`",
        "slips": f"`{name.part}` grips no rope",
        "cuts": f"no rope passes over `{name.part}`",
        "shifts": f"`{name.part}` guards no edge that a rope passes",
    }
    at_all = {
        "fails": nature in MODES and MODES[nature] == "fails",
        "slips": nature in (Nature.KNOT, Nature.STOPPER, Nature.GRIP),
        "cuts": nature is Nature.EDGE,
        "shifts": nature is Nature.PAD,
        "": nature in MODES or nature in (Nature.EDGE, Nature.PAD, Nature.PERSON),
    }.get(mode, nature is Nature.PERSON and mode != "strikes")
    if at_all and asked.partly:
        return
    what = f"`{name.part}` is {with_article(draft.kind.name)}"
    if nature is Nature.POINT or (nature in (Nature.PERSON, Nature.LOAD) and mode in ("fails", "")):
        text = f"{what}: people, loads and plain points are taken as not failing"
        bench.wrong(name.place, text, "take it out, or name what holds them")
        return
    why = never[mode] if at_all and mode in never else what
    text = f"`{name.id}` cannot happen: {why}" if mode else f"nothing of `{name.part}` can fail"
    hint = "what can happen: " + " or ".join(f"`{one}`" for one in own) if own else ""
    one = {**MODES, Nature.EDGE: "cuts", Nature.PAD: "shifts", Nature.PERSON: "lets go"}.get(nature)
    if one and not own and not at_all:
        hint = f"what can happen: `{name.part} {one}`"
    bench.wrong(name.place, text, hint)


def _judgements(bench: Bench, asked: Asked) -> tuple[list[Judged], list[Judged]]:
    found: dict[str, list[Judged]] = {"sound": [], "accept": []}
    causes = [s.name.text for s in bench.document.statements if isinstance(s, Cause)]
    for statement in bench.document.statements:
        if not isinstance(statement, Judgement):
            continue
        if not statement.reason.strip():
            written = ", ".join(name.id for name in statement.failures)
            text = f"`{statement.key}` must give a reason, and this one is empty"
            bench.wrong(statement.place, text, f'write `{statement.key} {written}: "…"` with your reason')
        for name in statement.failures:
            for one in _meant(asked, name, causes):
                found[statement.key].append(Judged(one, statement.reason, name.place))
    unique = {key: list({one.failure: one for one in rows}.values()) for key, rows in found.items()}
    return (
        sorted(unique["sound"], key=lambda one: one.failure),
        sorted(unique["accept"], key=lambda one: one.failure),
    )


def _likelihoods(bench: Bench, asked: Asked) -> dict[str, float]:
    """What `likelihood FAILURE: …` and `cause NAME likelihood …` give; nothing is assumed."""
    causes = [s.name.text for s in bench.document.statements if isinstance(s, Cause)]
    found: dict[str, float] = {}
    for statement in bench.document.statements:
        if isinstance(statement, Cause) and statement.likelihood:
            word, ids = statement.likelihood, [f"{statement.name.text} strikes"]
        elif isinstance(statement, Chance):
            word = statement.likelihood
            ids = [one for name in statement.failures for one in _meant(asked, name, causes)]
        else:
            continue
        if bench.likely(word.text, word.place):
            found |= dict.fromkeys(ids, float(word.text))
    return found


def _requirements(bench: Bench) -> tuple[Requirement, ...]:
    made: list[Requirement] = []
    stages = [s.title for s in bench.document.statements if isinstance(s, StageBlock)]
    for statement in bench.document.statements:
        if not isinstance(statement, Require):
            continue
        names = []
        for word in statement.names:
            meant_all = word.text in ("everybody", "all", "anyone", "people") or near(word.text, ["everyone"])
            if meant_all and word.text not in bench.parts and not bench.doubtful(word.text):
                bench.wrong(word.place, f"there is nobody called `{word.text}`", "did you mean `everyone`?")
                continue
            strength = statement.rule == "strength"
            draft = bench.part(word, "part") if strength else bench.part(word, "body", BODIES, "person")
            if draft and not strength and draft.nature not in BODIES:
                what = f"`{word.text}` is {with_article(draft.kind.name)}"
                text = f"{what}, and this is asked of people, litters and loads"
                bench.wrong(word.place, text, "name a body, or `everyone`")
            elif draft:
                names.append(draft.name)
        for title in (statement.stage, statement.except_stage):
            if title and title.text not in stages and not bench.doubtful("stage"):
                near_titles = [f'"{one}"' for one in near(title.text, stages)]
                hint = f"did you mean {' or '.join(near_titles)}?" if near_titles else (
                    "the stages are " + ", ".join(f'"{one}"' for one in stages) if stages else "this rig has no stages"
                )
                bench.wrong(title.place, f'there is no stage "{title.text}"', hint)
        _limits(bench, statement)
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


def _limits(bench: Bench, statement: Require) -> None:
    """A limit with a unit measures what its requirement is about."""
    wanted = {"force": ("force", "at most 6 kN"), "drop": ("length", "at most 1 m")}
    if statement.measure and statement.rule in wanted:
        what, example = wanted[statement.rule]
        measured = measures(statement.measure)
        if measured != what:
            unit = statement.measure.unit
            text = f"`{statement.rule}` takes a {what}, and {unit} measures {with_article(measured)}"
            bench.wrong(statement.measure.place, text, f"for example `{example}`")
    if len(statement.between) == 3:
        low, high, angle = statement.between
        if angle.text != "deg":
            bench.wrong(angle.place, f"`head-up` takes an angle, and `{angle.text}` is none", "write `deg`")
        elif float(low.text) > float(high.text):
            text = f"between {low.text} and {high.text} there is nothing: the smaller number comes first"
            bench.wrong(low.place, text, f"write `between {high.text} and {low.text} deg`")


def _check_blocks(bench: Bench) -> None:
    """The verbs of stages and observed facts: a misspelt one can be read as a declaration."""
    for statement in bench.document.statements:
        if not isinstance(statement, StageBlock):
            continue
        for step in statement.steps:
            verb = step.verb.split()[0]
            if verb in STEPS or verb in bench.kinds or bench.doubtful(verb):
                continue
            steps = "a step begins with a verb (`attach`, `detach`) or a kind"
            hint = did_you_mean(verb, [*STEPS, *bench.kinds], steps)
            bench.wrong(step.place.piece(0, len(verb)), f"`{verb}` is not a step of a stage, nor a kind of part", hint)


def _whole(bench: Bench, statement: Require) -> int:
    """The number of a counting requirement: a whole one, at least 1."""
    counting = ("independent", "independent-everyone", "held", "held-people", "level")
    if statement.rule not in counting or statement.number is None:
        return 0
    text = statement.number.text
    if not text.isdigit() or int(text) < 1:
        wrong = f"{text} is not a number of things to count"
        bench.wrong(statement.number.place, wrong, "write a whole number, 1 or more")
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
    idle_apart = (Nature.POINT, Nature.KNOT, Nature.STOPPER)
    for part in parts.values():
        if part.name in bench.used or part.nature in idle_apart or part.needs:
            continue
        if any(point in bench.used for point in part.points):
            continue
        if part.is_body:
            text = f"nothing is attached to `{part.name}`"
            if part.standing and not part.exposed:
                continue
        elif part.nature is Nature.EDGE:
            text = f"no rope passes the edge `{part.name}`"
        elif part.nature is Nature.PAD:
            text = f"`{part.name}` guards nothing"
        elif part.nature is Nature.HARNESS:
            text = f"nothing is attached to the harness point `{part.name}` of {part.body}"
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
