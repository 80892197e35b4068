"""Small random rigs in the rig language, for comparing the engine with the second opinion.

One writer serves both uses: `rig_texts` draws its choices from hypothesis (so that a failing rig
shrinks, towards fewer and plainer parts), `random_rig_text` from a `random.Random`. `size` is a
plain number, 1 (a handful of parts) to about 6; up to 3 keeps most rigs near ten parts.
The rigs are nonsense as rigging, and valid as files.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import pairwise
from typing import Protocol, TypeVar

from hypothesis import strategies as st

T = TypeVar("T")


class Choices(Protocol):
    """Where the writer gets its choices from."""

    def number(self, low: int, high: int) -> int:
        """A whole number from low to high, both included; low is the plain choice."""

    def pick(self, options: Sequence[T]) -> T:
        """One of the options; the first is the plain choice."""

    def chance(self, percent: int) -> bool:
        """True in about that many cases of a hundred; False is the plain choice."""


class FromRandom:
    """Choices from a random number generator."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng

    def number(self, low: int, high: int) -> int:
        return self.rng.randint(low, high)

    def pick(self, options: Sequence[T]) -> T:
        return self.rng.choice(options)

    def chance(self, percent: int) -> bool:
        return self.rng.randrange(100) < percent


class FromHypothesis:
    """Choices from hypothesis, drawn so that shrinking makes the rig plainer."""

    def __init__(self, draw) -> None:
        self.draw = draw

    def number(self, low: int, high: int) -> int:
        return self.draw(st.integers(low, high))

    def pick(self, options: Sequence[T]) -> T:
        return self.draw(st.sampled_from(options))

    def chance(self, percent: int) -> bool:
        return self.draw(st.integers(0, 99)) >= 100 - percent


class Writer:
    """Writes one random rig, from the ground up: what comes later hangs on what is there."""

    def __init__(self, choices: Choices, size: int) -> None:
        self.choices = choices
        self.size = size
        self.lines: list[str] = ['rig "Random"']
        self.solid: list[str] = []
        """What a chain or rope may be fastened to and that is there already."""
        self.parts: list[str] = []
        """Everything that rope may run through: solid parts and points."""
        self.points: list[str] = []
        self.dangling: list[str] = []
        """Hardware that touches nothing yet: ropes and bodies may meet in it."""
        self.grips: dict[str, bool] = {}
        """Grips, and whether they grip both ways by their kind."""
        self.edges: list[str] = []
        self.guards: list[str] = []
        self.people: list[str] = []
        self.knots: list[str] = []
        self.failures: list[str] = []
        self.touching: set[frozenset[str]] = set()

    def write(self) -> str:
        """The whole text of a random rig."""
        self.ground()
        self.edges_and_pads()
        self.hardware()
        if self.choices.chance(12):
            self.frame()
        self.bodies()
        ropes = int(self.choices.chance(80)) + self.choices.number(0, 1 + self.size // 3)
        for number in range(ropes):
            self.rope(f"r{number + 1}")
        self.hang_bodies()
        self.extras()
        return "\n".join(self.lines) + "\n"

    def add(self, *lines: str) -> None:
        self.lines.extend(lines)

    def some(self, options: Sequence[str], count: int) -> list[str]:
        """Up to that many different options."""
        left, chosen = list(options), []
        while left and len(chosen) < count:
            chosen.append(self.choices.pick(left))
            left.remove(chosen[-1])
        return chosen

    def touch(self, a: str, b: str, link: str | None = None) -> bool:
        """Attach two parts, or two parts by a link in between, unless they touch already."""
        if a == b or (link is None and frozenset((a, b)) in self.touching):
            return False
        if link is None:
            self.touching.add(frozenset((a, b)))
            self.add(f"attach {a} - {b}")
        else:
            self.add(f"attach {a} - {link} - {b}")
        return True

    def declare_solid(self, kind: str, name: str, attributes: str = "") -> str:
        self.add(f"{kind} {name}" + (f": {attributes}" if attributes else ""))
        self.solid.append(name)
        self.parts.append(name)
        self.failures.append(f"{name} fails")
        return name

    def ground(self) -> None:
        for number in range(self.choices.number(1, min(3, 1 + self.size))):
            below = number > 0 and self.choices.chance(30)
            self.declare_solid("anchor", f"a{number + 1}", "below" if below else "")

    def edges_and_pads(self) -> None:
        if self.choices.chance(25):
            self.guards = [f"mat{n + 1}" for n in range(self.choices.number(0, 2))]
            self.add(*(f"pad {pad}" for pad in self.guards))
            for number in range(self.choices.number(1, 2)):
                name = f"edge{number + 1}"
                padded = self.guards and self.choices.chance(30)
                self.add(f"edge {name}" + (f": padded by {self.choices.pick(self.guards)}" if padded else ""))
                self.edges.append(name)

    def operators(self) -> list[str]:
        """Standing people who may work grips: declared when first asked for."""
        if not self.people:
            attributes = self.choices.pick(["standing", "standing, below", "standing, exposed"])
            self.add(f"person jo: {attributes}")
            self.people.append("jo")
        return self.people

    def grip(self, name: str) -> str:
        both_ways = self.choices.chance(35)
        kinds = ["friction-hitch"] if both_ways else ["descender", "rope-grab", "cam-pulley", "brake"]
        attributes = []
        if self.choices.chance(30):
            attributes.append(f"operated by {self.choices.pick(self.operators())}")
            if self.choices.chance(40):
                attributes.append("self-locking")
        elif self.choices.chance(15):
            attributes.append(f"minded by {self.choices.pick(self.operators())}")
        self.grips[name] = both_ways
        return self.declare_solid(self.choices.pick(kinds), name, ", ".join(attributes))

    def hardware(self) -> None:
        for number in range(self.choices.number(0, self.size + 1)):
            above = list(self.solid)
            kind = self.choices.pick(["ring", "carabiner", "pulley", "grip", "strap"])
            name = f"{kind}{number + 1}"
            name = self.grip(name) if kind == "grip" else self.declare_solid(kind, name)
            if self.choices.chance(35):
                self.dangling.append(name)
                continue
            self.touch(self.choices.pick(above), name)
            if self.choices.chance(15):
                self.touch(self.choices.pick(above), name)

    def frame(self) -> None:
        count = self.choices.number(1, 3)
        feet = [f"foot{n + 1}" for n in range(count)]
        below = self.choices.pick(["", ": below"])
        self.add(f"footing {', '.join(feet)}{below}")
        attributes = [f"feet {', '.join(feet)}"]
        if count > 1 and self.choices.chance(25):
            attributes = [f"in line {', '.join(feet)}"]
        if self.choices.chance(50):
            guys = self.some([*self.solid, "tri-guy"], 2)
            words = f"{self.choices.number(1, len(guys))} of " if self.choices.chance(50) else ""
            if "tri-guy" in guys:
                guys = ["guy" if guy == "tri-guy" else guy for guy in guys]
                far = self.choices.pick(self.solid)
                self.knots += ["guy-k1", "guy-k2"]
                self.add("rope guy", "    tied to tri as guy-k1", f"    tied to {far} as guy-k2")
            attributes.append(f"guyed by {words}{', '.join(guys)}")
        self.failures += [f"{foot} fails" for foot in feet]
        self.declare_solid("frame", "tri", ", ".join(attributes))
        hung = self.declare_solid("pulley", "tri-wheel")
        self.touch("tri", hung)

    def bodies(self) -> None:
        """One to three bodies with their points, not hung on anything yet."""
        names = {"person": ["sam", "vic", "pat"], "litter": ["basket"], "load": ["rock"]}
        kinds = ["person", "person", "litter", "load"]
        wanted = self.choices.number(1, min(3, 1 + self.size // 2))
        for _ in range(wanted):
            kind = self.choices.pick(kinds)
            if not names[kind]:
                continue
            name = names[kind].pop(0)
            points = {
                "person": self.some(["waist", "chest"], self.choices.number(1, 2)),
                "litter": ["head", "foot"],
                "load": ["eye", "lug"][: self.choices.number(1, 2)],
            }[kind]
            attributes = f"points {', '.join(points)}"
            if kind == "person":
                if self.choices.chance(25):
                    attributes += self.choices.pick([", standing, exposed", ", standing", ", below"])
                self.people.append(name)
            if kind == "litter":
                self.failures.append(f"{name} fails")
            self.add(f"{kind} {name}: {attributes}")
            mine = [f"{name}.{point}" for point in points]
            if kind == "person" and self.choices.chance(20):
                self.add(f"harness {name}-harness: worn by {name}")
                self.failures.append(f"{name}-harness fails")
                mine.append(f"{name}-harness")
            self.points += mine
            self.parts += mine

    def hang_bodies(self) -> None:
        """Hang the points on what is there; now and then on another body, or nowhere."""
        for number, point in enumerate(self.points):
            if self.choices.chance(45):
                continue
            upper = self.solid if self.choices.chance(85) else [*self.points, *self.solid]
            if self.dangling and self.choices.chance(60):
                upper = self.dangling
            above = self.choices.pick(upper)
            link = f"carabiner link{number + 1}" if self.choices.chance(50) else None
            if self.touch(above, point, link) and link:
                self.failures.append(f"link{number + 1} fails")

    def rope(self, name: str) -> None:
        """One rope of two to six stations, or closed into a loop."""
        closed = self.choices.chance(10)
        count = self.choices.number(2, 4 if closed else min(6, 2 + self.size))
        stations: list[tuple[str, str, str]] = []  # role, label, text up to the loaded side
        seen: dict[str, int] = {}
        if closed:
            seen[f"{name}-loop"] = 1

        def label(part: str) -> str:
            seen[part] = seen.get(part, 0) + 1
            return part if seen[part] == 1 else f"{part}#{seen[part]}"

        roles = ["tied", "tied", "tied", "through", "through", "gripped", "gripped", "over", "held", "stopper"]
        before = ""
        for place in range(count):
            role = self.choices.pick(["through", "gripped", "tied", "over"] if closed else roles)
            if place == 0 and not closed and self.choices.chance(60):
                role = "tied"
            if place == count - 1 and not closed and self.choices.chance(25):
                role = "stopper"
            if role == "gripped" and not self.grips:
                role = "through"
            if role == "over" and (not self.edges or place in (0, count - 1)):
                role = "through"
            if role == "stopper" and f"{name}-stopper" in seen:
                role = "tied"
            if role == "held" and not self.people:
                role = "tied"

            if role == "tied":
                knot = f"{name}-k{place + 1}"
                self.knots.append(knot)
                self.failures.append(f"{knot} slips")
                usual = self.solid if place == 0 else [*self.points, *self.dangling]
                target = self.choices.pick(usual if usual and self.choices.chance(60) else self.parts)
                if self.choices.chance(15):
                    target = f"carabiner {knot}-crab - {target}"
                how = " with bowline" if self.choices.chance(30) else ""
                stations.append(("tied", label(knot), f"tied to {target}{how} as {knot}"))
            elif role == "through":
                part = self.choices.pick([p for p in self.parts if p != before])
                stations.append(("through", label(part), f"through {part}"))
                before = part
            elif role == "gripped":
                grip = self.choices.pick(list(self.grips))
                stations.append(("gripped", label(grip), f"gripped by {grip}"))
                self.failures.append(f"{grip} slips")
            elif role == "over":
                edge = self.choices.pick(self.edges)
                guard = ""
                if self.guards and self.choices.chance(50):
                    guard = f", padded by {self.choices.pick(self.guards)}"
                elif self.choices.chance(15):
                    guard = f", kept clear by {self.choices.pick(self.solid)}"
                stations.append(("over", label(edge), f"over {edge}{guard}"))
                self.failures.append(f"{edge} cuts")
            elif role == "held":
                person = self.choices.pick(self.people)
                stations.append(("held", label(person), f"held by {person}"))
                self.failures.append(f"{person} lets go")
            else:
                stations.append(("stopper", label(f"{name}-stopper"), "stopper"))
                self.failures.append(f"{name}-stopper slips")

        self.add(f"rope {name}")
        labels = [at for _, at, _ in stations]
        for place, (role, _, text) in enumerate(stations):
            if role == "gripped" and self.choices.chance(10):
                text += ", both ways"
            elif role == "held" or (role == "gripped" and not self.gripped_both_ways(text)):
                sides = [*labels[:place], *labels[place + 1 :]]
                if not closed and place == 0:
                    sides.append("start")
                if not closed and place == count - 1:
                    sides.append("end")
                text += f", load from {self.choices.pick(sides)}"
            self.add(f"    {text}")
        if closed:
            self.add(f"    closed with double-fishermans as {name}-loop")
            self.failures.append(f"{name}-loop slips")
        self.failures += [f"{name}[{a}..{b}] is cut" for a, b in pairwise(labels)]

    def gripped_both_ways(self, text: str) -> bool:
        """Left to be both ways, which only a grip of such a kind is."""
        return self.grips[text.removeprefix("gripped by ")] and self.choices.chance(75)

    def extras(self) -> None:
        """Interlocked knots, people touching people, causes, sound parts."""
        if len(self.knots) > 1 and self.choices.chance(15):
            one, other = self.some(self.knots, 2)
            self.add(f"interlock {one}, {other}")
        if len(self.points) > 1 and self.choices.chance(15):
            one, other = self.some(self.points, 2)
            if one.split(".")[0].split("-")[0] != other.split(".")[0].split("-")[0]:
                self.touch(one, other, self.choices.pick([None, "strap between"]))
        possible = sorted(set(self.failures))
        if self.choices.chance(15):
            self.add(f"cause storm: {', '.join(self.some(possible, self.choices.number(1, 3)))}")
        self.shared()
        if self.choices.chance(15):
            for failure in self.some(possible, self.choices.number(1, 2)):
                self.add(f'sound {failure}: "taken so for the test"')

    def shared(self) -> None:
        """Structures, hazards, loops made for gear."""
        if self.choices.chance(15):
            for part in self.some(self.solid, self.choices.number(1, 2)):
                if "." not in part:
                    self.add(f"{part}: part of {self.choices.pick(['block', 'wall'])}")
        if self.choices.chance(15):
            for part in self.some(self.solid, self.choices.number(1, 2)):
                if "." not in part:
                    self.add(f"{part}: near pipe")
        if self.points and self.choices.chance(10):
            point = self.choices.pick(self.points)
            if "." in point:
                self.add(f"{point}: gear only")


class PlainWriter(Writer):
    """Writes rigs in which every part has one failure and no rope has a station between its ties.

    Anchors, joints, ropes tied at both ends and people; the only way between people is through a
    person. A person's points do not fail: in a graph they are one with the person.
    """

    def write(self) -> str:
        for number in range(self.choices.number(1, 1 + self.size)):
            self.declare_solid("anchor", f"a{number + 1}")
        for number in range(self.choices.number(0, self.size + 2)):
            above = list(self.solid)
            name = self.declare_solid(self.choices.pick(["ring", "carabiner", "strap"]), f"j{number + 1}")
            for _ in range(self.choices.number(0, 2)):
                self.touch(self.choices.pick(above), name)
        for name in ["sam", "vic"][: self.choices.number(1, 2)]:
            points = ["waist", "chest"][: self.choices.number(1, 2)]
            self.add(f"person {name}: points {', '.join(points)}")
            self.points += [f"{name}.{point}" for point in points]
        for number in range(self.choices.number(0, 1 + self.size)):
            one = self.choices.pick(self.solid)
            other = self.choices.pick([part for part in [*self.points, *self.solid] if part != one])
            knots = (f"r{number + 1}-k1", f"r{number + 1}-k2")
            self.add(f"rope r{number + 1}")
            self.add(f"    tied to {one} as {knots[0]}", f"    tied to {other} as {knots[1]}")
            self.knots += knots
        for point in self.points:
            for _ in range(self.choices.number(0, 2)):
                self.touch(self.choices.pick(self.solid), point)
        if len(self.knots) > 1 and self.choices.chance(20):
            one, other = self.some(self.knots, 2)
            self.add(f"interlock {one}, {other}")
        return "\n".join(self.lines) + "\n"


def random_rig_text(rng: random.Random, size: int) -> str:
    """The text of one random rig."""
    return Writer(FromRandom(rng), size).write()


def random_plain_rig_text(rng: random.Random, size: int) -> str:
    """The text of one random rig for comparing with node-disjoint paths."""
    return PlainWriter(FromRandom(rng), size).write()


@st.composite
def rig_texts(draw, max_size: int = 3) -> str:
    """Texts of small random rigs with everything the holding rules speak of."""
    return Writer(FromHypothesis(draw), draw(st.integers(1, max_size))).write()


@st.composite
def plain_rig_texts(draw, max_size: int = 3) -> str:
    """Texts of small rigs in which independent attachments are node-disjoint paths."""
    return PlainWriter(FromHypothesis(draw), draw(st.integers(1, max_size))).write()
