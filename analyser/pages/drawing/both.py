"""Both revisions in one diagram: the new one, with what is gone drawn in, and what is new marked.

What is gone is dashed and grey with the word GONE, what is new is heavy with the word NEW, and what
changed says so: line style and word, never colour alone. A rope that was laid differently shows its old
spans dashed beside the new ones.
"""

from __future__ import annotations

from dataclasses import replace

from analyser.pages.drawing.diagram import drawn
from analyser.pages.drawing.marks import GONE, Marks
from analyser.rig.model import Contact, Rig, Rope
from analyser.uses.comparing.changes import pair_of
from analyser.uses.comparing.comparison import Comparison

NEW, CHANGED = "NEW", "changed"


def both_source(compared: Comparison) -> str:
    """The diagram as DOT source."""
    rig, marks = _both(compared)
    state = replace(compared.new.states[0], rig=rig)
    result = replace(compared.new, rig=rig, states=(state, *compared.new.states[1:]))
    return drawn(result, marks)


def _both(compared: Comparison) -> tuple[Rig, Marks]:
    """The new rig with what only the old one had, and what is to be marked."""
    old, new = compared.old.rig, compared.new.rig
    worse = len(compared.worse)
    words = f"{worse} {'thing is' if worse == 1 else 'things are'} worse" if worse else "nothing is worse"
    marks = Marks(shown=f"Two revisions in one: what is gone is dashed, what is new is heavy. Compared: {words}.")
    gone = {name: part for name, part in old.parts.items() if name not in new.parts}
    parts = new.parts | gone
    for part in new.parts.values():
        points = [p.name for p in gone.values() if p.body == part.name]
        if points:
            parts[part.name] = replace(part, points=(*part.points, *points))
    marks.lost = dict.fromkeys(gone, GONE)
    marks.fresh = {name: NEW for name in new.parts if name not in old.parts}
    for named in compared.matching.renamed:
        marks.notes.setdefault(named.new, []).append(f"was called {named.old}")
    for change in compared.changes:
        for sort, name in change.keys:
            if sort == "part" and name in old.parts and name in new.parts:
                marks.notes.setdefault(str(name), []).append(CHANGED)
    was, now = ({pair_of(one): one for one in rig.contacts} for rig in (old, new))
    contacts: list[Contact] = [*new.contacts, *(one for pair, one in was.items() if pair not in now)]
    marks.contacts = {pair: GONE for pair in was if pair not in now} | {pair: NEW for pair in now if pair not in was}
    ropes: list[Rope] = list(new.ropes)
    for rope in old.ropes:
        there = {span for one in new.ropes for span in one.spans}
        for k, span in enumerate(rope.spans):
            if span not in there:
                ropes.append(replace(rope, stations=rope.stations[k : k + 2], spans=(span,), closed=False))
                marks.lost[span] = GONE
    before = {span for rope in old.ropes for span in rope.spans}
    marks.fresh |= {span: NEW for rope in new.ropes for span in rope.spans if span not in before}
    for one in compared.figures:
        marks.fates |= _fate(one.name, compared)
    return replace(new.alone, parts=parts, contacts=tuple(contacts), ropes=tuple(ropes)), marks


def _fate(name: str, compared: Comparison) -> dict[str, str]:
    """What became of a body: its figures before and after."""
    one = next(one for one in compared.figures if one.name == name)
    if one.was is None or one.now is None:
        return {name: "new" if one.now else "gone, or need not be held"}
    turned = [
        f"{word} {before} → {after}"
        for word, before, after in (
            ("attachments", one.was.attachments, one.now.attachments),
            ("independent", one.was.independent, one.now.independent),
            ("smallest failure set", one.was.smallest_failure_set, one.now.smallest_failure_set),
        )
        if before != after
    ]
    return {name: ", ".join(turned)} if turned else {}
