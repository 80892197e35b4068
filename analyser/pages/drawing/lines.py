"""The lines of the drawing: spans of rope, contacts, what stands on what, who works what.

Every line runs from the higher part to the lower, so that the layout keeps the ground at the top.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from analyser.pages.drawing import colours
from analyser.pages.drawing.colours import Stroke
from analyser.pages.drawing.marks import GONE, Marks, contact_name
from analyser.pages.drawing.parts import NOT_SO, marked
from analyser.pages.drawing.rebelays import part_way
from analyser.pages.drawing.watched import Watching
from analyser.pages.drawing.words import SMALL, beside, bold, html_label, literal, sized
from analyser.rig.model import Nature, Part, Rig, Rope

FAINT = {"style": "dotted", "color": colours.QUIET, "penwidth": "1", "arrowhead": "vee", "arrowsize": "0.5"}
MENDING = {"style": "dashed", "color": colours.INK, "penwidth": "3", "constraint": "false"}
LOST = {"style": "dashed", "color": colours.LOST, "penwidth": "1.4"}


@dataclass(frozen=True, slots=True)
class Line:
    """One line from `tail`, drawn higher, to `head`."""

    tail: str
    head: str
    label: str = ""
    attributes: dict[str, str] = field(default_factory=dict)


Meeting = Callable[[str, str], str]
"""Where a line meets a part on its way to another part: a node, or a cell of one."""


def span_lines(
    rope: Rope, colour: str, stroke: Stroke, marks: Marks, depth: dict[str, int], at: Callable[[Rope, int, str], str]
) -> Iterator[Line]:
    """One thick line for each span, all in the rope's colour and stroke, and with its name."""
    for k, span in enumerate(rope.spans):
        before, later = rope.stations[k], rope.stations[k + 1]
        rising = depth[later.part] < depth[before.part]
        a, b = at(rope, k, later.part), at(rope, k + 1, before.part)
        rows = [bold(sized(literal(rope.name), SMALL + 1))]
        rows += marked(span, marks, colours.QUIET)
        if later.slack:
            rows.append(sized(literal(f"slack {later.slack.text}"), SMALL, colours.QUIET))
        look = stroke.drawn(colour) | {"weight": "2"}
        if not marks.alive(span):
            look = dict(LOST)
        elif span in marks.fresh:
            look |= {"penwidth": f"{2 * stroke.wide:g}"}
        elif span in marks.single:
            look = {"color": marks.ink(span), "penwidth": "7", "weight": "2"}
        if span in marks.hidden:
            look["style"] = "invis"
        look |= marks.called(span)
        label = html_label(beside(*rows))
        yield Line(b, a, label, look) if rising else Line(a, b, label, look)


def contact_lines(
    rig: Rig, marks: Marks, depth: dict[str, int], at: Meeting, stacked: Callable[[str, str], bool]
) -> Iterator[Line]:
    """A thin line for each contact; a body's own points and stacked tiles need none."""
    for contact in rig.contacts:
        if not contact.given or stacked(contact.a, contact.b):
            continue
        upper, lower = _by_height(contact.a, contact.b, depth)
        gone = {GONE, "SLIPPED"}
        lost = any(_is_gone(rig.parts[name], marks) and marks.lost[name] in gone for name in (upper, lower))
        lost = lost or not marks.dead.isdisjoint((upper, lower))
        look = dict(LOST) if lost else {"color": colours.INK, "penwidth": "1.2"}
        pair = (upper, lower) if upper < lower else (lower, upper)
        word = marks.contacts.get(pair, "")
        name = contact_name(upper, lower)
        words = [bold(sized(literal(word), SMALL, colours.INK))] if word else []
        if {*pair} in map(set, marks.do.wrong):
            words.append(bold(sized(NOT_SO, 2 * SMALL, colours.INK)))
        if all(rig.parts[one].nature is Nature.KNOT for one in pair):
            words.append(sized("interlocked", SMALL, colours.QUIET))
        words += marked(name, marks, colours.QUIET)
        if word == GONE or name in marks.lost:
            look = dict(LOST)
        elif word or name in marks.changes:
            look = {"color": colours.INK, "penwidth": "3"}
        if name in marks.hidden:
            look["style"] = "invis"
        look |= marks.called(name, upper, lower)
        label = html_label(beside(*words)) if words else ""
        yield Line(at(upper, lower), at(lower, upper), label, look)


def _by_height(a: str, b: str, depth: dict[str, int]) -> tuple[str, str]:
    return (b, a) if depth[b] < depth[a] else (a, b)


def _is_gone(part: Part, marks: Marks) -> bool:
    """A grip that slipped is still a joint: its contacts are not lost."""
    return part.name in marks.lost and not (part.nature is Nature.GRIP and marks.lost[part.name] == "SLIPPED")


def standing_lines(rig: Rig, marks: Marks, depth: dict[str, int], at: Meeting) -> Iterator[Line]:
    """A grey line with a crossbar from a part with needs to each thing it stands on."""
    for part in rig.parts.values():
        for foot in part.needed:
            lost = not (marks.alive(part.name) and marks.alive(foot))
            hidden = {"style": "invis"} if {part.name, foot} & marks.hidden else {}
            look = dict(LOST) if lost else {"color": colours.QUIET, "penwidth": "2"}
            bar = {"arrowhead": "none", "arrowtail": "none", "dir": "both", "arrowsize": "0.8"} | hidden
            look |= marks.called(part.name, foot)
            if depth[part.name] < depth[foot]:
                yield Line(at(part.name, foot), at(foot, part.name), "", look | bar | {"arrowhead": "tee"})
            else:
                yield Line(at(foot, part.name), at(part.name, foot), "", look | bar | {"arrowtail": "tee"})


def watching_lines(
    watching: Sequence[Watching], marks: Marks, start: Callable[[Watching], str], end: Callable[[Watching], str]
) -> Iterator[Line]:
    """A thin dotted arrow from who works a device to the device, and from a guard to what it keeps off."""
    for one in watching:
        hidden = {"style": "invis"} if {one.watcher, one.watched} & marks.hidden else {}
        look = FAINT | {"constraint": "true" if one.loose else "false"} | hidden
        yield Line(start(one), end(one), "", look | marks.called(one.watcher, one.watched))


def part_way_lines(
    rig: Rig, depth: dict[str, int], at: Callable[[Rope, int, str], str], ids: dict[str, str]
) -> Iterator[Line]:
    """Not seen: they keep ground part way, from which more hangs than the knot, below what its rope comes down from."""
    for ground, (*_, knot) in part_way(rig).items():
        if len(rig.touching[ground]) < 2:
            continue
        for rope in rig.ropes:
            for k, station in enumerate(rope.stations):
                beside = [j for j in (k - 1, k + 1) if station.part == knot and 0 <= j < len(rope.stations)]
                for j in beside:
                    if depth[rope.stations[j].part] < depth[ground]:
                        yield Line(at(rope, j, knot), ids[ground], "", {"style": "invis"})


def mending_lines(rig: Rig, marks: Marks, depth: dict[str, int], at: Meeting) -> Iterator[Line]:
    """A heavy broken line between what would be attached to each other, with a head where it is put on. The layout is
    that of what is there."""
    for a, b in marks.do.between:
        if a in rig.parts and b in rig.parts:
            upper, lower = _by_height(a, b, depth)
            head = {"arrowhead": "normal"} if lower == b else {"dir": "back", "arrowtail": "normal"}
            yield Line(at(upper, lower), at(lower, upper), "", MENDING | head)
