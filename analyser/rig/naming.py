"""What a file says of failures by name: common causes, what is sound or accepted, likelihoods."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from analyser.language.identities import CUT, Cut, FailureId, Span
from analyser.language.mistakes import Place, did_you_mean
from analyser.language.syntax import (
    Cause,
    Chance,
    FailureName,
    Judgement,
    Waiver,
    Word,
)
from analyser.language.vocabulary import EVERYTHING
from analyser.rig.bench import Bench, is_a
from analyser.rig.describing import likely
from analyser.rig.failing import MODES, struck
from analyser.rig.index import spans_of
from analyser.rig.model import (
    Effects,
    Failure,
    Judged,
    Nature,
    Part,
    Rope,
    Waived,
)


@dataclass(frozen=True)
class Asked:
    """What written failures are looked up in. `partly`: the rig has mistakes, so that what is
    missing here may only be missing because of them."""

    bench: Bench
    parts: dict[str, Part]
    failures: Mapping[FailureId, Failure]
    partly: bool
    ropes: Sequence[Rope] = ()
    """Those of every state."""


@dataclass(frozen=True)
class Written:
    """A common cause as written: the failures that it lists, and its name with those of the causes
    that it lists (what is `near` any of them it strikes too)."""

    place: Place
    failures: frozenset[FailureId]
    names: frozenset[str]


def causes_of(bench: Bench, asked: Asked) -> dict[str, Written]:
    """Common causes by name, and hazards that something is `near`."""
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
    done: dict[str, frozenset[FailureId]] = {}
    for root in statements:
        if root not in done:
            _add_up(asked, root, statements, done)
    found = {
        name: Written(
            statement.name.place,
            frozenset(one for one in done[name] if one in asked.failures),
            frozenset({name, *(one.part for one in done[name] if one not in asked.failures)}),
        )
        for name, statement in statements.items()
    }
    for hazard, place in bench.hazards.items():
        found.setdefault(hazard, Written(place, frozenset(), frozenset({hazard})))
    return found


def striking(
    causes: Mapping[str, Written], failures: Mapping[FailureId, Failure], parts: dict[str, Part], ropes: Iterable[Rope]
) -> dict[FailureId, Failure]:
    """What the causes do in one state: the union of what their failures do in it, and of what happens
    to all that is near them. A cause that nothing is left for does not strike."""
    near = struck(parts, ropes)
    found: dict[FailureId, Failure] = {}
    for name, cause in causes.items():
        effects = Effects.joint(
            (
                *(failures[f].effects for f in cause.failures if f in failures),
                *(near[hazard] for hazard in cause.names if hazard in near),
            )
        )
        if effects.anything:
            struck_by = FailureId(name, "strikes")
            found[struck_by] = Failure(struck_by, effects, cause.place)
    return found


def cause_names(bench: Bench) -> list[str]:
    return [s.name.text for s in bench.document.statements if isinstance(s, Cause)] + list(bench.hazards)


def _add_up(asked: Asked, root: str, statements: dict[str, Cause], done: dict[str, frozenset[FailureId]]) -> None:
    """The failures of `root` and of every cause below it, each looked at once; and those causes themselves."""
    path, sums = [root], [frozenset[FailureId]()]
    left = [iter(statements[root].failures)]
    while path:
        failure = next(left[-1], None)
        if failure is None:
            left.pop()
            name = path.pop()
            done[name] = sums.pop()
            if sums:
                sums[-1] |= {*done[name], FailureId(name, "strikes")}
        elif failure.mode != "strikes" or failure.part not in statements:
            sums[-1] |= set(meant(asked, failure, statements))
        elif failure.part in done:
            sums[-1] |= {*done[failure.part], failure.id}
        elif failure.part in path:
            through = path[path.index(failure.part) + 1 :]
            text = f"the cause `{failure.part}` lists itself"
            text += f", through `{'`, `'.join(through)}`" if through else ""
            asked.bench.wrong(failure.place, text, "take it out here")
        else:
            path.append(failure.part)
            sums.append(frozenset())
            left.append(iter(statements[failure.part].failures))


def meant(asked: Asked, name: FailureName, causes: Iterable[str], key: str = "") -> list[FailureId]:
    """The ids that a written failure stands for; a bare name stands for all of that part's, a rope that is cut for
    each of its spans."""
    bench, everything = asked.bench, asked.failures
    if name.id in everything and name.mode:
        return [name.id]
    own = sorted(f.id for f in everything.values() if f.part == name.part)
    spans = sorted(f.id for f in everything.values() if f.part != f.id.owner == name.part)
    if not name.mode and (own or (spans and name.part in bench.ropes)):
        return own or spans
    if isinstance(name.id, Cut) and spans and name.part in bench.ropes:
        return _somewhere(asked, name, name.id)
    if bench.doubtful(name.part) or (name.part in causes and asked.partly and name.mode in ("", "strikes")):
        return []
    if isinstance(name.part, Span):
        _no_span(asked, name, name.part)
    elif name.part in bench.ropes:
        if spans or not asked.partly:
            text = f"a rope fails span by span, and `{name.id}` names no span"
            hint = f"write `{name.part} is cut`" + (", or name the span: " if spans else "")
            bench.wrong(name.place, text, hint + " or ".join(f"`{span}`" for span in spans[:3]))
    elif name.part not in bench.parts and name.part not in causes:
        hint = bench.suggest(name.part, [*bench.parts, *causes, *bench.ropes])
        if key == "accept" and not name.mode and not hint and "-" in name.part:
            hint = f'a rule is accepted on a part or a rope: `accept {name.part} on {_some_part(bench)}: "…"`'
        if not bench.nameless or hint:
            piece = name.place.piece(0, len(name.part))
            known = [*bench.parts, *causes, *bench.ropes]
            text = f"there is no part or cause called `{name.part}`"
            bench.misnamed(Word(name.part, piece), known if hint else (), text, hint, follows=not hint)
            bench.doubt(name.part)
    else:
        _cannot_fail_so(asked, name, own)
    return []


def _somewhere(asked: Asked, name: FailureName, cut: Cut) -> list[FailureId]:
    """Each span of which one is cut, in any state."""
    mine = [rope for rope in asked.ropes if rope.name == name.part]
    found = sorted({FailureId(span, CUT) for rope in mine for span in spans_of(rope, cut)})
    if not found:
        labels = list(dict.fromkeys(str(station.label) for rope in mine for station in rope.stations))
        text = f"`{name.part}` has no stretch between `{cut.a}` and `{cut.b}`"
        wrong = [one for one in (cut.a, cut.b) if one not in labels]
        hint = did_you_mean(wrong[0], labels) if wrong else ""
        asked.bench.wrong(name.place, text, hint or f"its stations are {', '.join(labels)}")
    return [one for one in found if one in asked.failures]


def _no_span(asked: Asked, name: FailureName, span: Span) -> None:
    """A span whose rope is not there, or that does not lie between neighbouring stations."""
    bench = asked.bench
    rope = span.rope
    if bench.doubtful(rope):
        return
    if rope not in bench.ropes:
        hint = did_you_mean(rope, bench.ropes) or (f"the ropes are {', '.join(bench.ropes)}" if bench.ropes else "")
        word = Word(rope, name.place.piece(0, len(rope)))
        bench.misnamed(word, bench.ropes, f"there is no rope called `{rope}`", hint)
        bench.doubt(rope)
        return
    mine = [f.part for f in asked.failures.values() if f.mode == "is cut" and f.id.owner == rope]
    if not mine:
        return  # the rope itself was wrong, and that was told
    turned = Span(rope, span.b, span.a)
    near_spans = hint = f"the rope runs the other way: write `{turned}`" if turned in mine else did_you_mean(span, mine)
    if not hint:
        hint = f"a span lies between neighbours: {' or '.join(f'`{one}`' for one in mine[:4])}"
        hint += " …" if len(mine) > 4 else ""
    bench.wrong(name.place.piece(0, len(span)), f"there is no span `{span}`", hint, follows=not near_spans)


def _cannot_fail_so(asked: Asked, name: FailureName, own: Sequence[str]) -> None:
    """A part that is there and a failure it does not have: why not."""
    bench = asked.bench
    part = bench.parts.get(name.part)
    if part is None:
        text = f"`{name.part}` is a cause, and a cause strikes"
        bench.wrong(name.place, text, f"write `{name.part} strikes`")
        return
    nature, mode = part.nature, name.mode
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
    what = is_a(part)
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
    if mode == "slips" and nature is Nature.GRIP:
        hint += f"; a rope that it grips is written `gripped by {name.part}`"
    bench.wrong(name.place, text, hint)


def judgements(bench: Bench, asked: Asked) -> dict[str, tuple[Judged, ...]]:
    """What the file takes as `sound`, what it would `accept`, what may be there unseen (`latent`)."""
    found: dict[str, list[Judged]] = {"sound": [], "accept": [], "latent": []}
    causes = cause_names(bench)
    for statement in bench.document.statements:
        if not isinstance(statement, Judgement):
            continue
        if not statement.reason.strip():
            written = ", ".join(name.id for name in statement.failures)
            text = f"`{statement.key}` must give a reason, and this one is empty"
            bench.wrong(statement.place, text, f'write `{statement.key} {written}: "…"` with your reason')
        for name in statement.failures:
            for one in meant(asked, name, causes, statement.key):
                found[statement.key].append(Judged(one, statement.reason, name.place))
    unique = {key: {one.failure: one for one in rows}.values() for key, rows in found.items()}
    return {key: tuple(sorted(rows, key=lambda one: one.failure)) for key, rows in unique.items()}


def _some_part(bench: Bench) -> str:
    """A knot of this rig, or else a rope, for an example."""
    knots = (part.name for part in bench.parts.values() if part.nature is Nature.KNOT)
    return next(knots, next(iter(bench.ropes), "red-bowline"))


def waivers(bench: Bench, asked: Asked) -> tuple[Waived, ...]:
    """Findings that the file accepts: `accept short-tail on red-bowline: "…"`."""
    spans = {one.part for one in asked.failures.values()}
    found: list[Waived] = []
    for statement in bench.document.statements:
        if not isinstance(statement, Waiver):
            continue
        names = ", ".join(word.text for word in statement.names)
        if not statement.reason.strip():
            text = "`accept` must give a reason, and this one is empty"
            bench.wrong(statement.place, text, f'write `accept {statement.rule.text} on {names}: "…"` with your reason')
        for word in statement.names:
            if word.text in EVERYTHING and word.text not in bench.names and word.text not in bench.ropes:
                text = f"`{word.text}` names no part: a finding is accepted part by part"
                bench.wrong(word.place, text, f'name one: `accept {statement.rule.text} on {_some_part(bench)}: "…"`')
                continue
            known = word.text in bench.ropes or word.text in spans or bench.part(word) is not None
            if known:
                found.append(Waived(statement.rule.text, word.text, statement.reason, word.place))
    return tuple(found)


def likelihoods(bench: Bench, asked: Asked) -> dict[FailureId, float]:
    """What `likelihood FAILURE: …` and `cause NAME likelihood …` give; nothing is assumed."""
    causes = cause_names(bench)
    found: dict[FailureId, float] = {}
    for statement in bench.document.statements:
        if isinstance(statement, Cause) and statement.likelihood:
            word, ids = statement.likelihood, [FailureId(statement.name.text, "strikes")]
        elif isinstance(statement, Chance):
            word = statement.likelihood
            ids = [one for name in statement.failures for one in meant(asked, name, causes)]
        else:
            continue
        if likely(bench, word.text, word.place):
            found |= dict.fromkeys(ids, float(word.text))
    return found
