"""From lark's tree to the statements of `syntax.py`: one method a grammar rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from lark import Token, Tree

from analyser.language.identities import Label, Span
from analyser.language.placing import Node, Placing, rule_of, tokens_of, trees_of, words_within
from analyser.language.syntax import (
    Attach,
    Attribute,
    Cause,
    Chance,
    Declaration,
    Detail,
    Fact,
    FailureName,
    Heading,
    Include,
    Interlock,
    Judgement,
    Link,
    Measure,
    More,
    NewKind,
    ObservedBlock,
    Onto,
    Require,
    RopeLine,
    RopeStation,
    StageBlock,
    Statement,
    StepLine,
    Told,
    UnitsAsked,
    Waiver,
    Word,
)

MODES = {
    "fails": "fails",
    "slips": "slips",
    "lets_go": "lets go",
    "holds_on": "holds on",
    "loses_footing": "loses footing",
    "cuts": "cuts",
    "shifts": "shifts",
    "strikes": "strikes",
}
RULES = {
    "independent": "independent",
    "held_after": "held",
    "held_through": "held-through",
    "hands_off": "hands-off",
    "not_by_person": "not-by-person",
    "level": "level",
    "no_frame_tips": "no-frame-tips",
    "no_one_turns_over": "no-turning-over",
    "strength_factor": "strength",
    "strength_after": "strength-after",
    "drop": "drop",
    "force": "force",
    "head_up": "head-up",
    "every_connector_locks": "connectors-lock",
    "every_anchor_strong": "anchors-strong",
    "every_edge_padded": "edges-padded",
    "every_end_stopped": "ends-stopped",
}


VERBS = {
    **{(word.upper(), False): word for word in ("attach", "detach", "rerig", "derig", "open", "slide", "land", "lift")},
    **{(word.upper(), False): word for word in ("move", "check", "say", "note")},
    ("LOCK", False): "lock off",
    ("TAKE", False): "take in hand",
    ("TAKE", True): "take in",
    ("PAY", False): "pay out",
    ("HOLD", False): "hold open",
    ("LET", False): "let grip",
}
"""A step's verb, by its first word and whether the second is `in`."""
DOWN = ["0", "0", "-1"]
"""The direction `down`: z is up."""


class Statements(Placing):
    """Builds the statements of one block."""

    def statement(self, start: Tree[Token]) -> Statement:
        tree = cast("Tree[Token]", start.children[-1])
        return cast(Statement, getattr(self, str(tree.data))(tree))

    # -- heading, kinds, parts

    def rig(self, tree: Tree[Token]) -> Statement:
        key, text = cast("list[Token]", tree.children[:2])
        return Heading(self.place(key, text), str(key), self.word(text).text)

    note = rig

    def revision(self, tree: Tree[Token]) -> Statement:
        key, text, *_ = cast("list[Token]", tree.children)
        date = next((t for t in tokens_of(tree) if t.type == "DATE"), None)
        return Heading(self.place(key, date or text), str(key), self.word(text).text, self.word(date) if date else None)

    def include(self, tree: Tree[Token]) -> Statement:
        key, text = cast("list[Token]", tree.children[:2])
        return Include(self.place(key, text), self.word(text))

    def units(self, tree: Tree[Token]) -> Statement:
        key, *units = [one for one in tokens_of(tree) if not one.type.startswith("_")]
        return UnitsAsked(self.place(key, units[-1]), tuple(map(self.word, units)))

    def kind(self, tree: Tree[Token]) -> Statement:
        key, name, _, like = cast("list[Token]", tree.children[:4])
        attributes = [a for t in tree.find_data("attributes") for a in self.attributes(t)]
        return NewKind(self.place(key, like), self.word(name), self.word(like), tuple(attributes))

    def declaration(self, tree: Tree[Token]) -> Statement:
        kind, names, attributes, details = tree.children[0], *tree.children[1:3], tree.children[-1]
        told = self.names(cast("Tree[Token]", names))
        own = self.attributes(cast("Tree[Token]", attributes)) if attributes else ()
        return Declaration(
            self.place(cast(Token, kind)),
            self.word(cast(Token, kind)),
            told,
            ((Detail((), own),) if own else ()) + self.details(cast("Tree[Token]", details)),
        )

    def more(self, tree: Tree[Token]) -> Statement:
        refs = self.refs(cast("Tree[Token]", tree.children[0]))
        own: list[Attribute] = []
        further: list[Detail] = []
        for child in trees_of(tree.children[1:]):
            if child.data == "attributes":
                own += self.attributes(child)
            else:
                found = self.details(child) if child.data == "details" else (self.detail(child),)
                further += [Detail(d.names or refs, d.attributes) for d in found]
        details = ([Detail(refs, tuple(own))] if own else []) + further
        return More(self.spread(cast("Tree[Token]", tree.children[0])), tuple(details))

    def harness_note(self, tree: Tree[Token]) -> Statement:
        refs = self.refs(cast("Tree[Token]", tree.children[0]))
        return More(refs[0].place, (Detail(refs, ()),))

    def details(self, tree: Tree[Token]) -> tuple[Detail, ...]:
        return tuple(self.detail(child) for child in trees_of(tree.children))

    def detail(self, tree: Tree[Token]) -> Detail:
        trees = list(trees_of(tree.children))
        names = self.refs(trees[0]) if tree.data == "named_detail" else ()
        return Detail(names, self.attributes(trees[-1]))

    def names(self, tree: Tree[Token]) -> tuple[Word, ...]:
        return tuple(self.word(token) for token in tokens_of(tree))

    labels = names

    def refs(self, tree: Tree[Token]) -> tuple[Word, ...]:
        return tuple(self.ref(child) for child in trees_of(tree.children))

    def attributes(self, tree: Tree[Token]) -> tuple[Attribute, ...]:
        found: list[Attribute] = []
        for child in trees_of(tree.children):
            if child.data == "listed":
                near, far = self.listed(child)
                last = found.pop()
                if last.far:
                    last = replace(last, far=(*last.far, *near, *far))
                else:
                    last = replace(last, words=(*last.words, *near), far=far)
                found.append(last)
            else:
                found.append(self.attribute(child))
        return tuple(found)

    def listed(self, tree: Tree[Token]) -> tuple[tuple[Word, ...], tuple[Word, ...]]:
        refs = [self.ref(child) for child in trees_of(tree.children)]
        return tuple(refs[:1]), tuple(refs[1:])

    def attribute(self, tree: Tree[Token]) -> Attribute:
        words: tuple[Word, ...] = ()
        far: tuple[Word, ...] = ()
        measure: Measure | None = None
        numbers: list[str] = []
        text: str | None = None
        upper: tuple[str | None, ...] = ()
        unit: Word | None = None
        for child in tree.children:
            if isinstance(child, Token):
                if child.type in ("NUMBER", "PROBABILITY"):
                    numbers.append(str(child))
                elif child.type == "TEXT":
                    text = self.word(child).text
                elif child.type == "NAME":
                    words = (self.word(child),)
                elif child.type == "UNIT":
                    measure = Measure(numbers[-1], str(child), self.place(child))
            elif child is not None and child.data == "measure":
                measure = self.measure(child)
            elif child is not None and child.data == "position":
                ends = [[str(t) for t in tokens_of(one) if t.type == "NUMBER"] for one in trees_of(child.children)]
                numbers = [low for low, *_ in ends]
                upper = tuple(next(iter(high), None) for _, *high in ends)
                unit = self.unit(child)
            elif child is not None and child.data == "direction":
                numbers += [str(token) for token in tokens_of(child) if token.type == "NUMBER"] or DOWN
            elif child is not None:
                words, far = self.listed(child)
        place = self.spread(tree)
        if tree.data == "stretch":
            numbers, upper = numbers[:1], (next(iter(numbers[1:]), None),)
        return Attribute(str(tree.data), place, words, far, measure, tuple(numbers), text, upper, unit)

    def unit(self, tree: Tree[Token]) -> Word | None:
        """The unit behind a place's brackets."""
        return next((self.word(t) for t in tree.children if isinstance(t, Token) and t.type == "UNIT"), None)

    def measure(self, tree: Tree[Token]) -> Measure:
        number, *upper, unit = tokens_of(tree)
        other = str(upper[-1]) if upper else None
        return Measure(str(number), str(unit), self.place(number, unit), other)

    # -- contacts and ropes

    def attach(self, tree: Tree[Token]) -> Statement:
        key = cast(Token, tree.children[0])
        return Attach(self.place(key), self.chain(cast("Tree[Token]", tree.children[1])))

    def chain(self, tree: Tree[Token]) -> tuple[Link, ...]:
        links = []
        for child in trees_of(tree.children):
            place = self.spread(child)
            tokens = list(tokens_of(child))
            if child.data == "known":
                links.append(Link(place, name=self.ref(child)))
            else:
                inner = next((one for one in trees_of(child.children) if one.data == "attributes"), None)
                own = self.attributes(inner) if inner else ()
                place = self.place(tokens[0], tokens[1])
                if child.data == "inline":
                    links.append(Link(place, self.word(tokens[1]), self.word(tokens[0]), own))
                else:
                    links.append(Link(place, None, self.word(tokens[1]), own))
        return tuple(links)

    def interlock(self, tree: Tree[Token]) -> Statement:
        key = cast(Token, tree.children[0])
        return Interlock(self.place(key), self.names(cast("Tree[Token]", tree.children[1])))

    def rope(self, tree: Tree[Token]) -> Statement:
        key, name = cast("list[Token]", tree.children[:2])
        attributes: list[Attribute] = []
        stations: list[RopeStation] = []
        slack: Measure | None = None
        around: list[Attribute] = []
        for child in trees_of(tree.children[2:]):
            if child.data == "attributes":
                attributes += self.attributes(child)
            elif child.data == "rope_attributes":
                for attribute in self.attributes(next(iter(trees_of(child.children)))):
                    (around if attribute.key in ("near", "inside") else attributes).append(attribute)
            elif child.data == "slack_before":
                slack = self.measure(next(iter(trees_of(child.children))))
            else:
                station = self.station(child)
                if slack and not station.slack:
                    station = replace(station, slack=slack)
                near, inside = (
                    tuple(word for one in around if one.key == key for word in one.words) for key in ("near", "inside")
                )
                stations.append(replace(station, near=near, inside=inside))
                slack, around = None, []
        said, laid = tuple(attributes), tuple(stations)
        return RopeLine(self.place(key, name), self.word(name), said, laid, tuple(around))

    def station(self, tree: Tree[Token]) -> RopeStation:
        made = RopeStation(str(tree.data), self.spread(tree))
        return self.met(made, tree.children)

    def met(self, made: RopeStation, children: Sequence[Node]) -> RopeStation:
        """A station with all that is written of it."""
        after = ""
        for child in children:
            if isinstance(child, Token):
                if child.type == "NAME":
                    word = self.word(child)
                    if after == "WITH":
                        made = replace(made, knot=word)
                    elif after == "AS":
                        made = replace(made, name=word)
                    elif after == "OF":
                        made = replace(made, to=word)
                    else:
                        made = replace(made, chain=(Link(word.place, name=word),))
                elif child.type in ("START", "ROPE_END"):
                    made = replace(made, side=str(child))
                after = child.type
            elif child is None:
                continue
            elif child.data == "chain" and made.chain:
                made = replace(made, also=(*made.also, self.chain(child)))
            elif child.data == "chain":
                made = replace(made, chain=self.chain(child))
            elif child.data == "guard":
                listed = next(iter(trees_of(child.children)))
                names = self.listed(listed)[0]
                clear = (
                    {one.text for one in names} if any(token.type == "CLEAR" for token in tokens_of(child)) else set()
                )
                made = replace(made, guards=(*made.guards, *names), clear=made.clear | clear)
            elif child.data == "listed":
                made = replace(made, guards=(*made.guards, *self.listed(child)[0]))
            elif child.data == "slack":
                made = replace(made, slack=self.measure(next(iter(trees_of(child.children)))))
            elif child.data == "grips_both":
                made = replace(made, both_ways=True)
            elif child.data == "tail":
                made = replace(made, tail=self.measure(next(iter(trees_of(child.children)))))
            elif child.data == "load_from":
                made = replace(made, load_from=self.word(list(tokens_of(child))[-1]))
            else:  # tail_towards
                made = replace(made, tail_towards=self.word(list(tokens_of(child))[-1]))
        return made

    # -- failures and requirements

    def failure(self, tree: Tree[Token]) -> FailureName:
        tokens = list(tokens_of(tree))
        place = self.spread(tree)
        if tree.data == "is_cut":
            rope, a, b = tokens[:3]
            return FailureName(Span(str(rope), label(a), label(b)), "is cut", place)
        if tree.data == "rope_is_cut":
            owner, *between = (str(token) for token in tokens if token.type == "LABEL")
            return FailureName(owner, "is cut", place, tuple(between))
        mode = "" if tree.data == "whole" else MODES[str(tree.data)]
        return FailureName(str(tokens[0]), mode, place)

    def cause(self, tree: Tree[Token]) -> Statement:
        key, name = cast("list[Token]", tree.children[:2])
        failures = [self.failure(one) for group in tree.find_data("failures") for one in trees_of(group.children)]
        failures.sort(key=lambda one: one.place)
        chance = next((c for c in tree.children if isinstance(c, Token) and c.type == "PROBABILITY"), None)
        likelihood = self.word(chance) if chance else None
        return Cause(self.place(key, name), self.word(name), tuple(failures), likelihood)

    def chance(self, tree: Tree[Token]) -> Statement:
        key, subjects, likelihood = tree.children[:3]
        failures = [self.failure(one) for one in trees_of(cast("Tree[Token]", subjects).children)]
        return Chance(self.place(cast(Token, key)), tuple(failures), self.word(cast(Token, likelihood)))

    def sound(self, tree: Tree[Token]) -> Statement:
        key, subjects, reason = tree.children[:3]
        failures = [self.failure(one) for one in trees_of(cast("Tree[Token]", subjects).children)]
        token = cast(Token, key)
        return Judgement(self.place(token), str(token), tuple(failures), self.word(cast(Token, reason)).text)

    accept = latent = sound

    def accept_finding(self, tree: Tree[Token]) -> Statement:
        key, rule, _, about, reason = tree.children[:5]
        names = self.names(cast("Tree[Token]", about))
        text = self.word(cast(Token, reason)).text
        return Waiver(self.place(cast(Token, key)), self.word(cast(Token, rule)), names, text)

    def require(self, tree: Tree[Token]) -> Statement:
        key = cast(Token, tree.children[0])
        body = cast("Tree[Token]", tree.children[1])
        scope = cast("Tree[Token] | None", tree.children[2])
        names: tuple[Word, ...] = ()
        number: Word | None = None
        measure: Measure | None = None
        between: list[Word] = []
        for child in body.children:
            if isinstance(child, Token):
                if child.type == "NUMBER":
                    number = self.word(child)
                if child.type in ("NUMBER", "UNIT"):
                    between.append(self.word(child))
                elif child.type == "NAME":
                    names = (self.word(child),)
            elif child is not None and child.data == "measure":
                measure = self.measure(child)
            elif child is not None and child.data == "names":
                names = self.names(child)
            elif child is not None and child.data == "these":
                names = self.names(cast("Tree[Token]", child.children[0]))
        rule = RULES[str(body.data)]
        if rule == "independent" and any(isinstance(c, Tree) and c.data == "everyone" for c in body.children):
            rule = "independent-everyone"
        if rule in ("held", "held-through"):
            people = any(isinstance(c, Tree) and c.data == "every_person" for c in body.children)
            rule += "-people" if people else ""
        title = self.word(list(tokens_of(scope))[-1]) if scope else None
        within = title if scope and scope.data == "in_stage" else None
        outside = title if scope and scope.data == "except_stage" else None
        text = self.written(body) + (f" {self.written(scope)}" if scope else "")
        place = self.place(key, list(tokens_of(tree))[-2])
        limits = tuple(between) if rule in ("head-up", "strength-after") else ()
        return Require(place, rule, text, names, number, within, outside, measure, limits)

    # -- stages and observations

    def stage(self, tree: Tree[Token]) -> Statement:
        key, title = cast("list[Token]", tree.children[:2])
        steps = tuple(self.step(child) for child in trees_of(tree.children))
        return StageBlock(self.place(key, title), self.word(title).text, steps)

    def step(self, tree: Tree[Token]) -> StepLine:
        """A rope and parts that are brought in are whole statements; all else is read by its words."""
        first = next(iter(trees_of(tree.children)), None)
        tokens = [token for token in tokens_of(tree) if not token.type.startswith("_")]
        place, words = self.place(tokens[0], tokens[-1]), self.written(tree)
        words += ")" if tokens[0].type == "MOVE" and tokens[-1].type == "NUMBER" else ""  # the tree keeps no brackets
        if tokens[-1].line != tokens[0].line:
            place = self.place(tokens[0], [t for t in tokens if t.line == tokens[0].line][-1])
        if first is not None and first.data == "rope":
            return StepLine(place, "rope", words, rope=cast(RopeLine, self.rope(first)))
        if first is not None and first.data == "declaration":
            return StepLine(place, "declare", words, declaration=cast(Declaration, self.declaration(first)))
        verb = VERBS[tokens[0].type, tokens[1].type == "IN" if len(tokens) > 1 else False]
        by = next((self.names(one) for one in trees_of(tree.children) if one.data == "done_by"), ())
        made = StepLine(place, verb, words, by=by[1:])
        if verb == "attach":
            chain = self.chain(cast("Tree[Token]", first))
            onto = next((self.onto(one, chain) for one in trees_of(tree.children) if one.data == "onto"), None)
            return replace(made, chain=chain, onto=onto)
        if verb == "detach":
            groups = [self.refs(one) for one in trees_of(tree.children) if one.data == "refs"]
            return replace(made, names=groups[0], others=groups[1] if len(groups) > 1 else ())
        if verb == "rerig":
            return replace(made, names=(self.word(tokens[1]),), rope=cast(RopeLine, self.rope(tree)))
        own = [one for one in tree.children if isinstance(one, Token)]
        named = tuple(self.word(token) for token in own if token.type in ("NAME", "LABEL"))
        text = self.word(tokens[1]).text if verb in ("check", "say", "note") else ""
        measure = next((self.measure(one) for one in tree.find_data("measure")), None)
        position = tuple(str(t) for one in tree.find_data("spot") for t in tokens_of(one))
        unit = self.unit(tree) if verb == "move" else None
        several = next((self.names(one) for one in trees_of(tree.children) if one.data == "names"), ())
        made = replace(made, names=several or named[:1], others=named[1:], measure=measure, text=text)
        return replace(made, position=position, unit=unit)

    def onto(self, tree: Tree[Token], chain: tuple[Link, ...]) -> Onto:
        """The last link is what goes onto the rope: it is where the station's own chain begins."""
        labels = [self.word(one) for one in tree.children if isinstance(one, Token) and one.type == "LABEL"]
        at = next(k for k, one in enumerate(tree.children) if isinstance(one, Token) and one.type == "NAME")
        rope = self.word(cast(Token, tree.children[at]))
        station = RopeStation("", chain[-1].place, tuple(reversed(chain)))
        clear = tuple(self.names(one)[-1] for one in trees_of(tree.children) if one.data == "clear_of")
        met = self.met(station, [one for one in tree.children[at + 1 :] if rule_of(one) != "clear_of"])
        return Onto(rope, (labels[0], labels[1]), replace(met, role="tied" if met.knot or met.name else ""), clear)

    def observed(self, tree: Tree[Token]) -> Statement:
        facts = tuple(self.fact(child) for child in trees_of(tree.children))
        return ObservedBlock(self.place(cast(Token, tree.children[0])), facts)

    def fact(self, tree: Tree[Token]) -> Fact:
        own = [one for one in tree.children if isinstance(one, Token) and not one.type.startswith("_")]
        trees = list(trees_of(tree.children))
        sources = [one for one in trees if one.data == "source"]
        told = tuple(self.told(one) for one in sources)
        whole = [one for one in trees if one.data == "found_whole"]
        caught = [one for one in trees if one.data == "then_held"]
        failure = next((self.failure(one) for one in trees if one not in (*sources, *whole, *caught)), None)
        tokens = [token for one in tree.children if one is not None for token in words_within(one)]
        text = next((self.word(one) for one in own if one.type == "TEXT"), None)
        names = tuple(self.word(one) for one in own if one.type == "NAME") or tuple(map(self.found_whole, whole))
        numbers = tuple(self.word(one) for one in own if one.type == "NUMBER")
        place = self.place(tokens[0], tokens[-1])
        words = self.written(Tree(tree.data, [one for one in tree.children if one not in sources]))
        return Fact(place, "caught" if caught else str(own[0]), words, names, failure, numbers, text, told)

    def found_whole(self, tree: Tree[Token]) -> Word:
        """A part, a rope or a span."""
        name, *ends = tokens_of(tree)
        return Word(Span(str(name), *map(label, ends)) if ends else str(name), self.spread(tree))

    def told(self, tree: Tree[Token]) -> Told:
        sure, *by = tokens_of(tree)
        return Told(self.spread(tree), str(sure), self.word(by[-1]).text if by else None)


def label(written: str) -> Label:
    """A station as a person writes it: `master`, `master#2`."""
    part, _, number = written.partition("#")
    again = number.isdecimal() and str(int(number)) == number and int(number) > 1
    return Label(part, int(number)) if again else Label(str(written))
