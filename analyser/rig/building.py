"""From statements to a rig: names resolved, ropes laid, what can fail listed, oddities noted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from analyser.language.identities import FailureId
from analyser.language.mistakes import Mistake, Place, with_article
from analyser.language.parsing import MOST_MISTAKES, Document
from analyser.language.syntax import (
    Attach,
    Declaration,
    Detail,
    Heading,
    Interlock,
    More,
    NewKind,
    RopeLine,
    StageBlock,
    StepLine,
    Word,
)
from analyser.language.vocabulary import FLAGS, STATEMENTS
from analyser.rig.attributes import apply
from analyser.rig.catalogue import add, catalogue
from analyser.rig.drafting import Bench
from analyser.rig.failing import hands_off, what_fails
from analyser.rig.model import (
    Contact,
    Effects,
    Failure,
    Judged,
    Nature,
    Part,
    Rig,
    Rope,
    Stage,
    Step,
)
from analyser.rig.naming import Asked, Written, causes_of, judgements, likelihoods, striking, waivers
from analyser.rig.needing import needs_of
from analyser.rig.observing import observations
from analyser.rig.oddities import odd
from analyser.rig.requiring import requirements
from analyser.rig.roping import declare_knots, make_rope
from analyser.rig.settling import add_points, look_up, touch_body
from analyser.rig.sharing import share
from analyser.rig.staging import Present, StageMade, contacts_in, parts_in, ropes_in, states, taken, undying


class Site:
    """What a rig was put together with: its steps can be taken in another order (`Rig.site`)."""

    def __init__(
        self,
        bench: Bench,
        ropes: dict[str, Place],
        first: Present,
        stages: list[StageMade],
        at: Callable[[Present], Rig],
    ) -> None:
        self.bench = bench
        self.first = first
        self.stages = stages
        self.at = at
        """The whole rig in a state that steps left."""
        self._ropes = ropes

    def take(self, present: Present, line: StepLine) -> Present | None:
        """The state after one more step; None where that step cannot be taken."""
        return taken(self.bench, self._ropes, present, line)

    def ordered(self, title: str, lines: Sequence[StepLine]) -> Rig | None:
        """The rig of the same file with the steps of one stage in this order; None where the file then has
        mistakes."""
        changed = [
            replace(s, steps=tuple(lines)) if isinstance(s, StageBlock) and s.title == title else s
            for s in self.bench.document.statements
        ]
        document = self.bench.document
        fresh = replace(document, statements=changed, doubtful=set(document.doubtful), mistakes=[])
        return build(fresh)[0]


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
    for draft in list(bench.parts.values()):
        look_up(bench, draft)
    for draft in bench.parts.values():
        touch_body(bench, draft)
    share(bench)
    ropes = _connect(bench, knots)
    laid = dict(bench.ropes)
    first, stages = states(bench, ropes, needs_of(bench, bench.parts, ropes, bench.contacts))
    composed = [_Composed.of(bench, one) for one in (first, *(s.present for g in stages for s in g.steps))]
    asked, causes = _with_causes(_asked(bench, composed), composed)
    judged = judgements(bench, asked)
    waived = waivers(bench, asked)
    likely = likelihoods(bench, asked)
    required = requirements(bench)
    observed = observations(bench, asked, judged["sound"], [one.parts for one in composed], stages)
    if bench.mistakes:
        return None, sorted(set(bench.mistakes))[:MOST_MISTAKES]
    later = [(one.contacts, one.ropes) for one in composed[1:]]
    odd(bench, composed[0].parts, list(composed[0].ropes), later)
    place = next(s.place for s in document.statements if isinstance(s, Heading) and s.key == "rig")

    def whole(
        one: _Composed,
        causes: dict[str, Written] = causes,
        judged: dict[str, tuple[Judged, ...]] = judged,
        likely: dict[str, float] = likely,
    ) -> Rig:
        impossible = {one.failure for one in judged["sound"]}
        possible = [f for f in (*one.failures.values(), *one.struck(causes).values()) if f.id not in impossible]
        return Rig(
            title=title,
            revision=revision,
            place=place,
            parts=one.parts,
            contacts=one.contacts,
            ropes=one.ropes,
            failures=tuple(
                replace(f, likelihood=likely.get(f.id, f.likelihood)) for f in sorted(possible, key=lambda f: f.id)
            ),
            sound=judged["sound"],
            accepted=judged["accept"],
            waived=waived,
            latent=judged["latent"],
            requirements=required,
            notes=tuple(notes),
            hands_off=hands_off(one.parts),
        )

    def at(present: Present) -> Rig:
        """A state that the file's own order does not lead to: what it alone has is looked up with it."""
        one = _Composed.of(bench, present)
        if one.failures.keys() <= asked.failures.keys():
            return whole(one)
        every, more = _with_causes(_asked(bench, [*composed, one]), [*composed, one])
        return whole(one, more, judgements(bench, every), likelihoods(bench, every))

    rigs = iter([whole(one) for one in composed])
    rig = next(rigs)
    return (
        replace(
            rig,
            stages=tuple(
                Stage(
                    made.block.title,
                    made.block.place,
                    tuple(Step(s.line.verb, s.line.words, s.line.place, s.line.text, next(rigs)) for s in made.steps),
                )
                for made in stages
            ),
            site=Site(bench, laid, first, stages, at),
            observations=observed,
            cautions=tuple(sorted(bench.cautions, key=lambda c: (c.place, c.rule, c.about))),
        ),
        [],
    )


@dataclass(frozen=True)
class _Composed:
    """One state put together: what is there, and what of it can fail."""

    parts: dict[str, Part]
    contacts: tuple[Contact, ...]
    ropes: tuple[Rope, ...]
    failures: dict[FailureId, Failure]

    @classmethod
    def of(cls, bench: Bench, present: Present) -> _Composed:
        parts = parts_in(present, bench.finish(present.needs, present.parts))
        ropes = ropes_in(present)
        failures = what_fails(parts, ropes) if parts else {}
        for one in undying(present):
            failures.pop(one, None)
        return cls(parts, contacts_in(present), ropes, failures)

    def struck(self, causes: dict[str, Written]) -> dict[FailureId, Failure]:
        return striking(causes, self.failures, self.parts, self.ropes)


def _asked(bench: Bench, composed: list[_Composed]) -> Asked:
    """Everything of every state, as written failures may speak of any of them."""
    parts = {name: part for one in reversed(composed) for name, part in one.parts.items()}
    failures = {name: failure for one in reversed(composed) for name, failure in one.failures.items()}
    return Asked(bench, parts, failures, bool(bench.mistakes))


def _with_causes(asked: Asked, composed: list[_Composed]) -> tuple[Asked, dict[str, Written]]:
    """Causes too: what they do is told as in the first state in which they strike."""
    causes = causes_of(asked.bench, asked)
    strikes = {
        (struck_by := FailureId(name, "strikes")): Failure(struck_by, Effects(), cause.place)
        for name, cause in causes.items()
    }
    for one in reversed(composed):
        strikes |= one.struck(causes)
    return replace(asked, failures={**asked.failures, **strikes}), causes


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
            before = bench.ropes.get(name.text) or (bench.parts[name.text].place if name.text in bench.parts else None)
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
        add_points(bench, draft)
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
            apply(bench, draft, attribute)


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
