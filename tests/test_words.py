"""The words of the language beside the words of people: names stay free, and what is suggested can be read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import analyser
import grammar
from analyser.language.attributes import ATTRIBUTES
from analyser.language.broken import kinds_of_standard
from analyser.language.mistakes import Unreadable
from analyser.language.vocabulary import (
    ATTRIBUTE_EXAMPLES,
    EXAMPLES,
    KINDS_MEANT,
    REQUIREMENTS_ABOUT,
    STANDARD_ROPES,
    STATEMENTS,
    SYNONYMS,
)
from analyser.rig.catalogue import catalogue

NAMES = [
    "near", "far", "end", "start", "gate", "room", "part", "source", "minor", "axis", "down", "up", "or", "for",
    "inside", "across", "edge", "anchor", "connector", "textile", "directions", "direction", "takes", "drop", "gear",
    "only", "adjustable", "locking", "ground", "within", "stopper", "tail", "on", "structure", "vehicle",
    "by", "and", "to", "between", "again", "clear", "of", "joined", "cut",
    "units", "dated", "lowers", "itself", "choked", "basket", "round", "in", "line", "laced",
]  # fmt: skip
PLACES = {
    "a part": "anchor {w}: 22 kN",
    "the second of two parts": "anchor x, {w}",
    "more of a part": "anchor {w}\n{w}: 22 kN",
    "one of several": "anchor {w}, y\n    {w}: 22 kN",
    "a point": "person sam: points {w}, waist, 80 kg",
    "a later point": "person sam: points waist, {w}, chest",
    "the last point": "person sam: points waist, {w}",
    "an end": "load box: points b, {w}, ends b | {w}",
    "a link": "anchor {w}\nperson sam\nattach {w} - sling s - sam",
    "a link between": "anchor x\nring {w}\nperson sam\nattach x - {w} - sam",
    "a link declared there": "anchor x\nperson sam\nattach x - sling {w} - sam",
    "a point in a chain": "anchor x\nperson sam: points {w}\nattach x - sling s - sam.{w}",
    "an operator": "person {w}: standing\nanchor x\nattach x - descender d\nd: operated by {w}, self-locking",
    "a foot": "anchor {w}, x\ntripod t: feet x, {w}",
    "a guy": "anchor {w}, x, y\ngin-pole t: guyed by 1 of y, {w}, x",
    "a structure": "anchor x: part of {w}",
    "a hazard": "anchor x: near {w}",
    "an edge": "edge {w}\nanchor x, y\nrope red\n    tied to x\n    over {w}\n    tied to y",
    "a pad": "edge lip\npad {w}\nanchor x, y\nrope red\n    tied to x\n    over lip, padded by {w}\n    tied to y",
    "a rope": "anchor x, y\nrope {w}: 11 mm\n    tied to x\n    tied to y",
    "a knot": "anchor x, y\nrope red\n    tied to x with bowline as {w}, tail 120 mm\n    tied to y",
    "a tie": "anchor {w}, y\nrope red\n    tied to {w} with bowline\n    tied to y",
    "a pulley": "anchor x, y\nattach x - pulley {w}\nrope red\n    tied to x\n    through {w}\n    tied to y",
    "hands": "anchor x\nperson {w}: standing\nrope red\n    tied to x as k\n    held by {w}, load from k",
    "a loaded side": "anchor x, y\nattach x - descender d\n"
    "rope red\n    gripped by d, load from {w}\n    tied to y as {w}",
    "a stopper": "anchor x, y\nrope red\n    tied to x\n    tied to y\n    stopper as {w}",
    "a sleeve": "anchor x, y\nsleeve {w}\nrope red\n    tied to x\n    inside {w}\n    tied to y",
    "a span": 'anchor x, y\nrope red\n    tied to x as {w}\n    tied to y as k\naccept red[{w}..k] is cut: "seen"',
    "a rope that is cut": 'anchor x, y\nrope {w}\n    tied to x\n    tied to y\naccept {w} is cut: "seen"',
    "a stretch that is cut": "anchor x, y\nedge lip\nrope red\n    tied to x as {w}\n    over lip\n    tied to y as k\n"
    "cause c: red is cut between {w} and k",
    "a failure": 'anchor {w}, x\naccept x fails, {w} fails: "seen"',
    "a bare name": 'anchor {w}, x\nsound x, {w}: "seen"',
    "a latent failure": 'anchor {w}\nlatent {w} fails: "never looked at"',
    "a likelihood": "anchor {w}\nlikelihood {w} fails: 1e-4",
    "in a cause": "anchor {w}, x\ncause storm: x fails, {w} fails",
    "a cause": "anchor x, y\ncause {w}: x fails, y fails",
    "a finding's part": 'anchor {w}, x\naccept short-tail on x, {w}: "seen"',
    "a body": "anchor x\nperson {w}\nattach x - {w}\nrequire {w} has 1 independent attachment",
    "a body of two": "anchor x\nperson {w}, y\nattach x - {w}\nattach x - y\nrequire y, {w} held after any 1 failure",
    "a level body": "anchor x\nlitter {w}\nattach x - {w}\nrequire {w} level after any 1 failure",
    "a knot come to again": "anchor x, y\nrope red\n    tied to x as {w}\n    through y\n    again {w}\n    tied to y",
    "a rope joined to": "anchor x, y\nrope {w}\n    tied to x\nrope red\n    tied to y\n    joined to end of {w}",
    "a knot that joins": "anchor x, y\nrope blue\n    tied to x\n"
    "rope red\n    tied to y\n    joined to end of blue as {w}",
    "tied to two": "anchor {w}, x, y\nrope red\n    tied to x and {w} with bowline\n    tied to y",
    "the first of two": "anchor {w}, x, y\nrope red\n    tied to {w} and x with bowline\n    tied to y",
    "a link with attributes": "anchor x\nperson sam\nattach x - sling {w} (1 m) - sam",
    "put on a rope": 'anchor {w}, x, y\nrope red\n    tied to x as a1\n    tied to y as b1\nstage "Up"\n'
    "    attach {w} to red between a1 and b1",
    "declared and put on a rope": 'anchor x, y\nrope red\n    tied to x as a1\n    tied to y as b1\nstage "Up"\n'
    "    attach x - sling {w} to red between a1 and b1",
    "a rope that is put on": 'anchor x, y, z\nrope {w}\n    tied to x as a1\n    tied to y as b1\nstage "Up"\n'
    "    attach z to {w} between a1 and b1",
    "stations between": 'anchor x, y, z\nrope red\n    tied to x as {w}\n    tied to y as b1\nstage "Up"\n'
    "    attach z to red between {w} and b1",
    "who does it": 'anchor x, y\nperson {w}: standing\nsling s\nstage "Up"\n    attach x - s - y, by {w}',
    "the second who does it": 'anchor x, y\nperson {w}, jo: standing\nsling s\nstage "Up"\n'
    "    attach x - s - y, by jo, {w}",
    "taken off in a list": 'anchor {w}, x, y\nring r\nattach r - {w}\nattach r - y\nstage "Up"\n'
    "    detach y, {w} from r",
    "taken off, by someone": "anchor {w}, x\nring r\nperson jo: standing\nattach r - {w}\nattach r - x\n"
    'stage "Up"\n    detach x, {w}, by jo',
    "a kept name": 'anchor x\nperson {w}\nattach x - {w}\nstage "Up"\n    detach {w} from x\nobserved\n    fell {w}',
}
DOUBTFUL = {"the second of two parts", "a later point", "the last point", "an end", "a foot", "a guy"}
"""After a comma `locking`, `textile` and `adjustable` are attributes."""
CASES = [
    (place, name)
    for place in PLACES
    for name in NAMES
    if not (place in DOUBTFUL and name in ("locking", "textile", "adjustable"))
]


def read(text: str) -> analyser.Rig:
    return analyser.read_text(f'rig "Words"\n{text}\n', "words.rig", Path())


@pytest.mark.parametrize("place", PLACES)
def test_a_keyword_is_still_a_name(place: str) -> None:
    stolen = {}
    for name in [name for where, name in CASES if where == place]:
        try:
            read(PLACES[place].replace("{w}", name))
        except Unreadable as error:
            stolen[name] = str(error)
    assert not stolen


def test_every_attribute_of_the_grammar_is_known_to_the_messages() -> None:
    text = grammar.text("rig.lark")
    rule = text[text.index("attribute: measure") : text.index("measure: NUMBER")]
    words = dict(re.findall(r"^([A-Z_]+)\.\d: /([a-z-]+)", text, re.MULTILINE))
    for line in re.findall(r"^\s+\| (.*?)\s+->", rule, re.MULTILINE):
        spelt = []
        for token in line.split():
            if token not in words:
                break
            spelt.append(words[token])
        assert any(known == " ".join(spelt)[: len(known)] or known.split()[0] == spelt[0] for known in ATTRIBUTES), line


def test_every_statement_of_the_grammar_is_known_to_the_messages() -> None:
    text = grammar.text("rig.lark")
    rule = text[text.index("?statement:") : text.index("// ---- heading")]
    rules = set(re.findall(r"\b[a-z_]+\b", rule)) - {"statement", "declaration", "more", "harness_note"}
    named = {"chance": "likelihood"}
    assert {named.get(one, one) for one in rules} == set(STATEMENTS)


@pytest.mark.parametrize("kind", sorted({*KINDS_MEANT.values()}))
def test_every_kind_meant_is_in_the_catalogue(kind: str) -> None:
    assert kind in catalogue()


def test_every_kind_of_rope_meant_is_in_the_catalogue() -> None:
    assert {one for meant in STANDARD_ROPES.values() for one in meant} <= set(catalogue())


@pytest.mark.parametrize("requirement", sorted({*REQUIREMENTS_ABOUT.values()}))
def test_what_can_be_asked_can_be_read(requirement: str) -> None:
    assert [one.text for one in read(f"anchor x\nperson jo\nattach x - jo\nrequire {requirement}").requirements] == [
        requirement
    ]


@pytest.mark.parametrize("word", [word for word in ATTRIBUTE_EXAMPLES if word not in ("points", "at")])
def test_an_example_of_an_attribute_can_be_read(word: str) -> None:
    given = ATTRIBUTE_EXAMPLES[word]
    kinds = {"takes": "rope-grab", "minor": "carabiner", "gate": "carabiner", "room": "ring", "across": "ring"}
    kinds |= {
        "gear": "ring",
        "not": "carabiner",
        "slips": "brake",
        "loss": "sling",
        "choked": "sling",
        "basket": "sling",
        "in": "holdfast",
    }
    if word in ("inside", "like", "drop", "start", "end", "pretension", "sag", "spare"):
        read(f"sleeve tube\nanchor x, y\nrope red: {given}\n    tied to x\n    tied to y")
    else:
        read(f"edge lip\nanchor beam, front, middle, rear\n{kinds.get(word, 'anchor')} part: {given}")


@pytest.mark.parametrize(
    ("spelt", "meant"),
    [
        ("carabiner EN362 B", ["carabiner-en362-b"]),
        ("en-362-b", ["carabiner-en362-b"]),
        ("EN 362 class M", ["carabiner-en362-m"]),
        ("EN 1891 type A", ["low-stretch-a"]),
        ("static", ["low-stretch-a", "low-stretch-b"]),
        ("NFPA general", ["carabiner-nfpa-general", "rope-nfpa-general"]),
        ("harness-en-361", ["harness-en361"]),
        ("steel-ring", []),
        ("open", []),
    ],
)
def test_a_standard_is_known_however_it_is_spelt(spelt: str, meant: list[str]) -> None:
    found = kinds_of_standard(spelt, catalogue())
    assert found == meant


def test_a_standard_without_its_class_names_them_all() -> None:
    assert kinds_of_standard("carabiner-en362", catalogue()) == [f"carabiner-en362-{one}" for one in "bmta"]


@pytest.mark.parametrize("statement", ["latent", "accept", "rope", "cause", "likelihood", "sound"])
def test_a_synonym_stands_for_a_word_of_the_language(statement: str) -> None:
    assert statement in EXAMPLES and statement in STATEMENTS
    assert statement not in SYNONYMS
