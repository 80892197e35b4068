"""One picture of all states in which every part can be found, pressed and written on.

Everything that is there in any state is drawn once, unmarked, with a slot on each part for one word. What a state
lacks is hidden; what stands in the slots (a single point, who falls) is put there by whoever shows the picture.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from analyser.checking.results import Result, State
from analyser.pages.drawing.diagram import Drawing, sheet_of
from analyser.pages.drawing.film import everything
from analyser.pages.drawing.heights import depths
from analyser.pages.drawing.marks import Marks, contact_name, held_rows
from analyser.pages.drawing.places import Places
from analyser.pages.drawing.svg import escaped
from analyser.pages.drawing.tables import WIDE
from analyser.rig.model import Rig

SLOT, FATE = "@@{:03}@@", "@@@@@@{:03}@@@@@@"
"""What keeps the room of a slot in the layout, a part's and a body's. No name of a rig can hold it."""
KEPT = re.compile(
    r'<text [^>]*x="([-\d.]+)" y="([-\d.]+)"[^>]*font-size="([\d.]+)"[^>]*>(@+)(\d{3,})(?::(\d))?(@+)</text>'
)
AT_SIGN, DIGIT, COLON, LETTER = 0.975, 0.556, 0.3, 0.53
"""Their widths over the height of the letters, as the layout measures them; and that of words, on average."""
ROWS = 3
"""Rows in a body's box for by what it is held."""
GROUP = re.compile(r'<g id="[^"]*" class="(node|edge)(?: ([^"]*))?">\n<title>([^<]*)</title>')
CELL = re.compile(r'<g id="a_(p\d+)"><a [^>]*>(.*?)</a>\n</g>', re.DOTALL)
FOLLOWED = re.compile(
    r'<text [^>]*x="([-\d.]+)" y="([-\d.]+)"[^>]*>(?=[^<]*[^\s<\xa0][^<]*</text>\n<text [^>]*x="([-\d.]+)" y="\2")'
)
"""Words that others follow in the same row: they are kept as wide as the layout took them, whatever the font."""
HEAD = re.compile(r'<svg width="[^"]*" height="[^"]*"\s+viewBox="([^"]*)"[^>]*>')
BOX = re.compile(r"e\d+x\d+")


@dataclass(frozen=True, slots=True)
class Answering:
    """The picture as DOT source; `ids` are what each name is called in it, `absent` what each state lacks."""

    source: str
    ids: dict[str, str]
    absent: tuple[tuple[str, ...], ...]


def answering(result: Result) -> Answering:
    """The picture of a result's rig in all its states."""
    always = [{pair for contact in s.rig.contacts for pair in [_pair(contact.a, contact.b)]} for s in result.states]
    staged = len(result.states) > 1
    whole = everything(result) if staged else result.rig
    apart = {pair for pairs in always for pair in pairs if not all(pair in other for other in always)}
    names = [*whole.parts, *(span for rope in whole.ropes for span in rope.spans)]
    names += [contact_name(c.a, c.b) for c in whole.contacts if c.given]
    ids = {name: f"p{k}" for k, name in enumerate(dict.fromkeys(names))}
    bodies = {body.name for state in result.states for body in state.rig.bodies}
    failing = {one.part for state in result.states for one in state.outcome.failures}
    marks = Marks(
        ids=ids,
        forces={name: SLOT.format(int(ids[name][1:])) for name in failing - bodies if name in ids},
        fates={name: FATE.format(int(ids[name][1:])) for name in bodies},
        held={name: _rows(int(ids[name][1:]), held_in) for name, held_in in _held(result).items() if name in ids},
    )
    drawing = Drawing(result, marks, whole, Places(whole, depths(whole), apart))
    return Answering(
        sheet_of(drawing, bare=True), ids, tuple(_absent(whole, state, ids) for state in result.states if staged)
    )


def _held(result: Result) -> dict[str, list[list[str]]]:
    """By what each body is held in each state."""
    found: dict[str, list[list[str]]] = {}
    for state in result.states:
        for name, rows in held_rows(state.rig, state.outcome).items():
            found.setdefault(name, []).append(rows)
    return found


def _rows(number: int, held_in: Sequence[Sequence[str]]) -> list[str]:
    """Slots for by what a body is held: as many as it takes in any state, as wide as the longest."""
    letters = min(WIDE, max((len(row) for rows in held_in for row in rows), default=0))
    signs = max(2, math.ceil((LETTER * letters - 4 * DIGIT - COLON) / (2 * AT_SIGN)))
    most = min(ROWS, max(map(len, held_in)))
    return [f"{'@' * signs}{number:03}:{row}{'@' * signs}" for row in range(most)]


def _pair(a: str, b: str) -> tuple[str, str]:
    return min(a, b), max(a, b)


def _absent(whole: Rig, state: State, ids: Mapping[str, str]) -> tuple[str, ...]:
    """What is drawn and isn't there in a state."""
    rig = state.rig
    there = {*rig.parts, *(span for rope in rig.ropes for span in rope.spans)}
    there |= {contact_name(contact.a, contact.b) for contact in rig.contacts}
    found = [told for name, told in ids.items() if name not in there]
    for number, rope in enumerate(whole.ropes):
        for k in range(len(rope.stations)):
            if not any(span in there for span in rope.spans[max(k - 1, 0) : k + 1]):
                found.append(f"e{number}x{k}")
    return tuple(found)


def inlined(
    picture: bytes,
    words: Mapping[str, tuple[str, str]],
    classes: Mapping[str, str],
    absent: frozenset[str],
    told: str,
    held: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> str:
    """The rendered picture as an element of a page: no ids, links or tooltips, the slots ready.

    `words` are for the slots (a word, and a class for how it looks), `held` for those that say by what a body is held,
    `classes` for what is drawn; `absent` is hidden to begin with; `told` is said to who can't see it.
    """
    svg = picture.decode("utf-8")
    svg = re.sub(r"<!--.*?-->\n?", "", svg[svg.index("<svg") :], flags=re.DOTALL)

    def group(match: re.Match[str]) -> str:
        kind, tokens, title = match[1], (match[2] or "").split(), match[3]
        if BOX.fullmatch(title):
            tokens.append(title)
        gone = ["absent"] if not absent.isdisjoint(tokens) else []
        more = [classes[one] for one in tokens[:1] if one in classes]
        return f'<g class="{" ".join([kind, *tokens, *more, *gone])}">'

    def cell(match: re.Match[str]) -> str:
        more = [classes[match[1]]] if match[1] in classes else []
        gone = ["absent"] if match[1] in absent else []
        return f'<g class="{" ".join(["node", match[1], *more, *gone])}">{match[2]}</g>'

    def slot(match: re.Match[str]) -> str:
        x, y, high = (float(match[k]) for k in (1, 2, 3))
        wide = high * (AT_SIGN * (len(match[4]) + len(match[7])) + DIGIT * len(match[5]))
        name = f"p{int(match[5])}"
        word, look = words.get(name, ("", ""))
        if match[6]:
            wide += high * (DIGIT + COLON)
            rows = held.get(name, ())
            letters = int(wide / high / LETTER)
            word = cut_to(rows[int(match[6])], letters) if int(match[6]) < len(rows) else ""
            look, letters_told = "by", f' data-letters="{letters}"'
        else:
            letters_told = ""
        top, middle = y - high * 0.86, x + wide / 2
        return (
            f'<g class="slot {name}{f" {look}" if look else ""}"{letters_told}>'
            f'<rect x="{x - 1:.2f}" y="{top:.2f}" width="{wide + 2:.2f}" height="{high * 1.14:.2f}" rx="2"/>'
            f'<text text-anchor="middle" x="{middle:.2f}" y="{y:.2f}" font-size="{high:g}">{escaped(word)}</text></g>'
        )

    def fitted(match: re.Match[str]) -> str:
        wide = float(match[3]) - float(match[1])
        fit = f' textLength="{wide:.2f}" lengthAdjust="spacingAndGlyphs"' if wide > 0 else ""
        return f"<text{fit}{match[0].removeprefix('<text')}"

    svg = FOLLOWED.sub(fitted, svg)
    svg = CELL.sub(cell, GROUP.sub(group, svg))
    svg = KEPT.sub(slot, svg).replace(' xml:space="preserve"', "").replace(' id="graph0" class="graph"', "")
    return HEAD.sub(rf'<svg viewBox="\1" role="img" aria-label="{escaped(told)}">', svg, count=1)


def cut_to(words: str, letters: int) -> str:
    """Words that keep to so many letters."""
    return words if len(words) <= letters else f"{words[: letters - 1]}…"
