"""Random small rope systems in which each construction of the holding rules shows often.

Put together as one rigs: anchors, directionals, brakes with something behind them, blocked and doubled
ropes, frames, guards, litters on two lines, endless lines. Then, in a share of them, one name is put in
another's place: nonsense as rigging, and what finds mistakes. Some rigs come from `random_rigs`, which
knows nothing of practice. All of it is invented.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from altered_systems import mutated, with_bend, with_sling, with_tail
from random_rigs import Choices, FromRandom, random_rig_text

import analyser
from analyser.language.mistakes import Unreadable
from analyser.rig.model import Nature, Rig

MOST_FAILURES = 26
"""A rig with more is made anew: small ones show as much, and are quicker."""


def read_system(text: str) -> Rig:
    """The rig of a text after its last step."""
    return last_state(analyser.read_text(text))


@dataclass
class Met:
    """A station while a rope is written: its line, its label, and for a grip the loaded side."""

    text: str
    label: str
    loaded: str = ""
    """`start`, `end` or nothing."""


class Systems:
    """Writes one random system."""

    def __init__(self, choices: Choices) -> None:
        self.choices = choices
        self.lines = ['rig "Random system"  # invented']
        self.count = 0
        self.anchors: list[str] = []
        self.ropes = 0
        self.failures: list[str] = []
        self.placed: dict[str, str] = {}
        """Where each part would lie: `low`, `body` or `high`."""
        self.edge = ""
        self.person = ""
        self.walker = ""
        """Who stands, of the body that is written."""

    # ---- small pieces

    def chance(self, percent: int) -> bool:
        return self.choices.chance(percent)

    def name(self, stem: str) -> str:
        self.count += 1
        return f"{stem}{self.count}"

    def add(self, *lines: str) -> None:
        self.lines.extend(lines)

    def part(self, kind: str, stem: str, attributes: str = "", level: str = "high") -> str:
        name = self.name(stem)
        self.add(f"{kind} {name}" + (f": {attributes}" if attributes else ""))
        self.placed[name] = level
        if kind not in ("person", "edge", "pad", "load"):
            self.failures.append(f"{name} fails")
        return name

    def anchor(self, *, below: bool | None = None) -> str:
        """An anchor, often one that is there already."""
        if self.anchors and below is None and self.chance(30):
            return self.choices.pick(self.anchors)
        if below is None and self.chance(8):
            return self.frame()
        if below or (below is None and self.chance(5)):
            return self.part("anchor", "base", "below", "low")
        self.anchors.append(self.part("anchor", "a"))
        return self.anchors[-1]

    def hung(self, kind: str, stem: str, attributes: str = "", *, below: bool | None = None) -> str:
        """A part on an anchor, by itself or by what is usual between."""
        ground = self.anchor(below=below)
        level = "low" if below else "high"
        name = self.part(kind, stem, attributes, level)
        link = self.choices.pick(["", "carabiner", "sling", "strap"] if not below else ["", "carabiner", "strap"])
        middle = f"{link} {self.name('k')} - " if link else ""
        self.add(f"attach {ground} - {middle}{name}")
        return name

    def place_to_tie(self) -> str:
        """Where a rope may be tied: an anchor, or a ring or connector on one."""
        kind = self.choices.pick(["", "", "carabiner", "ring"])
        return self.hung(kind, "h") if kind else self.anchor()

    def operator(self) -> str:
        """Somebody who works devices."""
        if not self.person:
            how = self.choices.pick(["standing", "standing", "standing, below", "standing, exposed", ""])
            self.person = self.part("person", "jo", f"{how}, points loop" if how else "points loop", "high")
            if not how:
                self.on_perch()
        return self.person

    def on_perch(self) -> None:
        """An operator who hangs, or stands on what hangs."""
        if self.chance(50):
            deck = self.part("load", "perch", "points one, two, ends one | two", "high")
            for end in ("one", "two"):
                self.on_strap(f"{deck}.{end}")
            own = next(k for k, line in enumerate(self.lines) if line.startswith(f"person {self.person}:"))
            self.lines[own] += f", stands on {deck}"
        else:
            self.on_strap(f"{self.person}.loop")

    def belt(self) -> str:
        """Where something hangs on the operator: a point, or a harness that may be tied in behind."""
        who = self.operator()
        if self.chance(50):
            return f"{who}.loop"
        belt = self.name("seat")
        self.add(f"harness {belt}: worn by {who}" + (", carries through" if self.chance(70) else ""))
        if self.chance(50):
            self.add(f"attach {self.anchor()} - sling {self.name('k')} - {belt}")
        return belt

    def worked(self) -> str:
        """How a device is worked."""
        how = self.choices.pick(["", "self-locking", "operated", "operated self-locking", "minded"])
        if how in ("", "self-locking"):
            return how
        who = self.operator()
        if how == "minded":
            self.failures.append(f"{who} holds on")
            return f"minded by {who}"
        if how == "operated":
            self.failures.append(f"{who} lets go")
        if "self" in how:
            return f"operated by {who}, self-locking"
        return f"operated by {who}"

    def frame(self) -> str:
        """A tripod, A-frame or gin pole."""
        kind = self.choices.pick(["tripod", "tripod", "a-frame", "gin-pole"])
        below = ": below" if self.chance(30) else ""
        feet = [self.name("foot") for _ in range({"tripod": 3, "a-frame": 2, "gin-pole": 1}[kind])]
        if kind == "tripod" and self.chance(50):
            feet = feet[:2]
        self.add(f"footing {', '.join(feet)}{below}")
        self.placed |= dict.fromkeys(feet, "low")
        needs = [f"{'in line' if len(feet) > 1 and self.chance(20) else 'feet'} {', '.join(feet)}"]
        name = self.name("frame")
        if kind != "tripod" or self.chance(20):
            guy, stake = self.name("guy"), self.part("anchor", "stake", self.choices.pick(["", "below"]), "low")
            needs.append(f"guyed by {guy}")
            how = f"tied to {stake}"
            if self.chance(30):
                how = f"gripped by {self.hung('brake', 'b')}, load from {guy}-top"
            self.add(f"rope {guy}", f"    {how}" + (f" as {guy}-low" if how.startswith("tied") else ""))
            self.add(f"    tied to {name} as {guy}-top")
        self.add(f"{kind} {name}: {', '.join(needs)}")
        self.placed[name] = "high"
        self.failures += [f"{foot} fails" for foot in feet]
        return name

    # ---- ropes

    def rope(self, stations: Sequence[Met], closed: bool = False) -> None:
        """Write a rope; every one-way grip says which side is loaded."""
        self.ropes += 1
        name = self.name("r")
        self.add(f"rope {name}")
        seen: dict[str, int] = {}
        labels = []
        for met in stations:
            seen[met.label] = seen.get(met.label, 0) + 1
            labels.append(met.label if seen[met.label] == 1 else f"{met.label}#{seen[met.label]}")
        for k, met in enumerate(stations):
            text = met.text
            if met.loaded == "both":
                text += ", both ways"
            elif met.loaded:
                other = k - 1 if met.loaded == "start" else k + 1
                known = 0 <= other < len(stations) and not closed
                text += f", load from {labels[other] if known else met.loaded}"
            if k and self.chance(3):
                text += ", slack 0.4 m"
            self.add(f"    {text}")
        if closed:
            self.add(f"    closed with double-fishermans as {name}-bend")

    def tied(self, part: str) -> Met:
        knot = self.name("k")
        self.failures.append(f"{knot} slips")
        if self.chance(15):
            part = f"carabiner {self.name('c')} - {part}"
        return Met(f"tied to {part} as {knot}", knot)

    def through(self, part: str) -> Met:
        return Met(f"through {part}", part)

    def gripped(self, part: str, loaded: str) -> Met:
        self.failures.append(f"{part} slips")
        return Met(f"gripped by {part}", part, loaded)

    def stopper(self) -> Met:
        name = self.name("s")
        self.failures.append(f"{name} slips")
        return Met(f"stopper as {name}", name)

    def over(self) -> Met:
        """Over an edge, with or without a guard."""
        if not self.edge or self.chance(40):
            self.edge = self.part("edge", "lip")
        guard = ""
        if self.chance(35):
            guard = f", padded by {self.part('pad', 'mat')}"
        self.failures.append(f"{self.edge} cuts")
        return Met(f"over {self.edge}{guard}", self.edge)

    def directional(self) -> list[Met]:
        """A pulley or ring that bends the rope; often it also keeps the rope off an edge."""
        below = self.chance(12)
        wheel = self.hung(self.choices.pick(["pulley", "ring", "carabiner"]), "w", below=below or None)
        if not self.chance(50):
            return [self.through(wheel)]
        edge = self.over()
        edge.text += f", kept clear by {wheel}"
        return [self.through(wheel), edge]

    def middle(self) -> list[Met]:
        """What a rope meets between its two ends."""
        found: list[Met] = []
        if self.chance(35):
            found += self.directional()
        if self.chance(25):
            found.append(self.over())
        if self.chance(12):
            found.append(self.tied(self.place_to_tie()))
        if self.chance(6):
            found.append(self.stopper())
        return found

    def device(self, kinds: Sequence[str] = ("brake", "descender", "munter", "cam-pulley")) -> str:
        return self.hung(self.choices.pick(kinds), "d", self.worked())

    def behind(self, device: str) -> list[Met]:
        """What stands on the tail of a device, from the device outwards: the last of it first written."""
        how = self.choices.pick(["nothing", "stopper", "tied", "hitch", "hitch there", "harness", "hand", "grip"])
        if how == "stopper":
            return [self.stopper()]
        if how == "tied":
            return [self.tied(self.place_to_tie())]
        if how == "hand":
            who = self.operator()
            self.failures.append(f"{who} lets go")
            return [Met(f"held by {who}", who, "end")]
        if how == "nothing":
            return []
        if how == "grip":
            return [self.gripped(self.device(), "end")]
        hitch = self.part("friction-hitch", "hitch", self.worked())
        ground = {"hitch": self.anchor(), "hitch there": "", "harness": ""}[how]
        if how == "hitch there":
            self.add(f"attach {device} - {hitch}" if self.chance(30) else f"attach {self.anchors_of(device)} - {hitch}")
        elif how == "harness":
            self.add(f"attach {self.belt()} - {hitch}")
        else:
            self.add(f"attach {ground} - sling {self.name('k')} - {hitch}")
        found = [self.gripped(hitch, self.choices.pick(["", "", "end"]))]
        if found[0].loaded == "":
            found[0].text += ", both ways" if self.chance(50) else ""
        if self.chance(40):
            found.insert(0, self.stopper() if self.chance(50) else self.tied(self.place_to_tie()))
        return found

    def anchors_of(self, device: str) -> str:
        """The anchor that a device was hung from."""
        for line in reversed(self.lines):
            if line.startswith("attach ") and line.endswith(f" - {device}"):
                return line.split()[1]
        return self.anchor()

    def far_end(self) -> list[Met]:
        """The end of a rope away from the body: a knot, or a device with something behind it."""
        if self.chance(50):
            return [self.tied(self.place_to_tie())]
        device = self.device()
        return [*self.behind(device), self.gripped(device, "end")]

    def near_end(self, point: str) -> list[Met]:
        """The end of a rope at the body: a knot, or the body's own device with its tail."""
        if self.chance(60):
            return [self.tied(point)]
        device = self.part(self.choices.pick(["descender", "rope-grab", "ascender"]), "d", self.worked(), "body")
        self.add(f"attach {device} - {point}")
        found = [self.gripped(device, "start")]
        if self.chance(25):
            upper = self.part("ascender", "d", "", "body")
            self.add(f"attach {upper} - lanyard {self.name('k')} - {point}")
            found.insert(0, self.gripped(upper, "start"))
        return [*found, self.stopper()] if self.chance(50) else found

    # ---- ways of being held

    def on_rope(self, point: str) -> None:
        self.rope([*self.far_end(), *self.middle(), *self.near_end(point)])

    def on_belayer(self, point: str) -> None:
        """Through something above, down to a device on the harness of somebody who may be tied in."""
        device = self.part("brake", "d", self.worked(), "body")
        self.add(f"attach {self.belt()} - carabiner {self.name('k')} - {device}")
        self.rope([self.tied(point), self.through(self.hung("ring", "eye")), self.gripped(device, "start")])

    def on_strap(self, point: str) -> None:
        above = self.place_to_tie()
        links = [self.choices.pick(["strap", "lanyard", "carabiner"])]
        if self.chance(35):
            links.append("absorber")
        chain = " - ".join(f"{kind} {self.name('k')}" for kind in links)
        self.add(f"attach {above} - {chain} - {point}")

    def on_blocked_rope(self, point: str) -> None:
        ring = self.hung("ring", "eye")
        device = self.part("descender", "d", self.worked(), "body")
        self.add(f"attach {device} - {point}")
        tail = [self.stopper()] if self.chance(50) else []
        second = [self.through(self.hung("ring", "eye"))] if self.chance(20) else []
        self.rope([self.stopper(), self.through(ring), *second, self.gripped(device, "start"), *tail])

    def on_doubled_rope(self, point: str) -> None:
        ring = self.hung("ring", "eye")
        hitch = self.part("friction-hitch", "hitch", "", "body")
        self.add(f"attach {hitch} - {point}")
        self.rope([self.tied(point), self.through(ring), self.gripped(hitch, ""), *self.middle()[:1]])

    def on_haul(self, point: str) -> None:
        capture = self.device(["cam-pulley", "rope-grab"])
        grab = self.part("friction-hitch", "hitch", "", "body")
        wheel = self.part("pulley", "w", "", "body")
        who = self.operator()
        self.add(f"attach {grab} - {wheel}")
        rest = [self.through(self.hung("pulley", "w"))] if self.chance(40) else []
        self.failures.append(f"{who} lets go")
        self.rope(
            [self.tied(point), self.gripped(grab, ""), self.gripped(capture, "start"), self.through(wheel), *rest,
             Met(f"held by {who}", who, "start")]
        )  # fmt: skip

    def on_two_to_one(self, point: str) -> None:
        wheel = self.part("pulley", "w", "", "body")
        self.add(f"attach {wheel} - {point}")
        capture = self.device(["cam-pulley", "rope-grab", "brake"])
        tail = list(reversed(self.behind(capture)))
        for met in tail:
            met.loaded = {"end": "start", "start": "end"}.get(met.loaded, met.loaded)
        self.rope([self.tied(self.place_to_tie()), self.through(wheel), self.gripped(capture, "start"), *tail])

    def on_track(self, point: str) -> None:
        wheel = self.part("pulley", "w", "", "body")
        self.add(f"attach {wheel} - {point}")
        self.rope([*self.far_end(), self.through(wheel), self.tied(self.place_to_tie())])
        if self.chance(40):
            self.rope([self.tied(self.place_to_tie()), self.tied(wheel)])

    def on_closed_sling(self, point: str) -> None:
        master = self.part("carabiner", "m", "", "body")
        self.add(f"attach {master} - {point}")
        met: list[Met] = []
        for _ in range(self.choices.number(1, 3)):
            met += [self.through(self.place_to_tie()), self.through(master)]
        if self.chance(20):
            met.insert(1, self.gripped(self.device(["rope-grab", "friction-hitch"]), "both"))
        if self.chance(35):
            met.insert(self.choices.number(0, len(met)), self.tied(self.choices.pick([master, self.place_to_tie()])))
        self.rope(met, closed=True)

    def on_endless_line(self, point: str) -> None:
        head = self.hung("pulley", "w")
        low = self.hung("pulley", "w", below=True)
        met = [self.through(head), self.through(low)]
        if self.chance(50):
            met.insert(self.choices.number(0, 2), self.gripped(self.device(["rope-grab", "cam-pulley"]), "both"))
        if self.chance(50):
            met.insert(self.choices.number(0, 2), self.tied(point))
            self.rope(met, closed=True)
        else:
            self.rope(met, closed=True)
            bend = next(line.split()[-1] for line in reversed(self.lines) if "closed with" in line)
            self.add(f"attach {self.choices.pick([point, head])} - {bend}")

    def on_limb(self, point: str) -> None:
        ring = self.hung("ring", "eye")
        base = self.anchor(below=True) if self.chance(70) else self.anchor()
        end = [self.tied(base)]
        if self.chance(40):
            brake = self.part("brake", "d", self.worked(), "low")
            self.add(f"attach {base} - {brake}")
            end = [self.gripped(brake, "start")] + ([self.stopper()] if self.chance(50) else [])
        self.rope([self.tied(point), self.through(ring), *end])

    def on_low_redirect(self, point: str) -> None:
        wheel = self.hung("pulley", "w", below=True)
        more = [self.through(self.hung("pulley", "w"))] if self.chance(40) else []
        self.rope([self.tied(self.place_to_tie()), self.through(wheel), *more, self.tied(point)])

    def on_counterweight(self, point: str) -> None:
        load = self.part("load", "rock", "points eye", "body")
        self.rope([self.tied(f"{load}.eye"), self.through(self.hung("pulley", "w")), self.tied(point)])

    def on_interlocked(self, point: str) -> None:
        master = self.part("ring", "m", "", "body")
        knots = [self.tied(master), self.tied(master)]
        for knot in knots:
            tail = [self.tied(point)] if self.chance(50) else []
            self.rope([*self.far_end(), knot, *tail])
        self.add(f"interlock {knots[0].label}, {knots[1].label}")
        if self.chance(70):
            self.add(f"attach {master} - strap {self.name('k')} - {point}")

    def on_bar(self, point: str) -> None:
        """Under a bar or spreader that hangs by its two ends."""
        bar = self.part("bar", "beam", "points one, mid, two, ends one | two", "body")
        for end in ("one", "two"):
            self.on_strap(f"{bar}.{end}") if self.chance(60) else self.on_rope(f"{bar}.{end}")
        where = self.choices.pick([".one", ".mid", ".two", ""])
        self.add(f"attach {bar}{where} - strap {self.name('k')} - {point}")

    def on_load(self, point: str) -> None:
        load = self.part("load", "deck", "points one, two, rail, ends one | two", "body")
        for end in ("one", "two"):
            self.on_strap(f"{load}.{end}") if self.chance(60) else self.on_rope(f"{load}.{end}")
        self.add(f"attach {load}.rail - {self.choices.pick(['lanyard', 'strap'])} {self.name('k')} - {point}")
        if self.walker and self.chance(70):
            own = next(k for k, line in enumerate(self.lines) if line.startswith(f"person {self.walker}:"))
            self.lines[own] = self.lines[own].replace("standing, exposed", f"stands on {load}")

    def on_tripod_on_deck(self, point: str) -> None:
        """A frame whose feet are a deck, or points of one, that hangs."""
        deck = self.part("load", "deck", "points one, two, ends one | two", "body")
        for end in ("one", "two"):
            self.on_strap(f"{deck}.{end}") if self.chance(60) else self.on_rope(f"{deck}.{end}")
        frame = self.name("frame")
        feet = deck if self.chance(50) else f"{deck}.one, {deck}.two"
        self.add(f"tripod {frame}: feet {feet}")
        self.failures.append(f"{frame} fails")
        self.add(f"attach {frame} - strap {self.name('k')} - {point}")

    def on_focal_point(self, point: str) -> None:
        ring = self.part("ring", "focus")
        for _ in range(self.choices.number(1, 2)):
            self.rope([self.tied(self.place_to_tie()), self.tied(ring)])
        wheel = self.part("pulley", "w")
        self.add(f"attach {ring} - {wheel}")
        self.rope([*self.far_end(), self.through(wheel), *self.near_end(point)])

    def on_clew(self, point: str) -> None:
        """Lines over wheels to one ring, and what hauls or keeps that."""
        clew = self.part("ring", "clew")
        for _ in range(self.choices.number(1, 2)):
            self.rope([self.tied(point), self.through(self.hung("pulley", "w")), self.tied(clew)])
        if self.walker == "" and self.chance(50):
            self.rope(
                [self.tied(self.choices.pick(self.points)), self.through(self.hung("pulley", "w")), self.tied(clew)]
            )
        for _ in range(self.choices.number(1, 2)):
            self.on_strap(clew) if self.chance(30) else self.rope([*self.far_end(), self.tied(clew)])

    def on_tie_back(self, point: str) -> None:
        front, rear = self.hung("ring", "front"), self.hung("carabiner", "rear")
        wheels = [self.through(rear), *([self.through(front)] if self.chance(60) else [])]
        self.rope([self.tied(front), *wheels, self.tied(self.choices.pick([front, rear]))])
        self.rope([self.tied(front), *self.near_end(point)])

    def on_held_down(self, point: str) -> None:
        """A line or strap to ground below: it steers, or it holds down."""
        if self.chance(50):
            base = self.anchor(below=True)
            self.add(f"attach {base} - {self.choices.pick(['strap', 'sling', 'carabiner'])} {self.name('k')} - {point}")
        elif self.chance(50):
            self.rope([self.tied(point), self.tied(self.anchor(below=True))])
        else:
            who = self.operator()
            self.failures.append(f"{who} lets go")
            self.rope([self.tied(point), Met(f"held by {who}", who, "start")])
        ropes = [k for k, line in enumerate(self.lines) if line.startswith("rope ")]
        if ropes and self.chance(50):
            self.lines[ropes[-1]] += ": tag line"

    WAYS: Sequence[Callable[[Systems, str], None]]

    # ---- the whole

    def write(self) -> str:
        """The text of one random system."""
        for _ in range(2 if self.chance(20) else 1):
            self.body()
        self.extras()
        return "\n".join(self.lines) + "\n"

    def body(self) -> None:
        kind = self.choices.pick(["person", "person", "litter", "load"])
        self.walker = ""
        if kind == "person":
            how = self.choices.pick(["", "", "", ", standing, exposed", ", standing, exposed, below"])
            name = self.part("person", "sam", f"points waist, chest{how}", "body")
            self.walker = name if how else ""
            points = [f"{name}.waist", f"{name}.chest"]
            if how:
                self.failures.append(f"{name} loses footing")
            if self.chance(30):
                harness = self.name("seat")
                self.add(f"harness {harness}: worn by {name}")
                self.failures.append(f"{harness} fails")
                points[0] = harness
        elif kind == "litter":
            name = self.part("litter", "basket", "points head, foot", "body")
            points = [f"{name}.head", f"{name}.foot"]
        else:
            ends = ", ends one | two" if self.chance(60) else ""
            sides = self.chance(40)
            if sides:
                ends = ", three, four, ends one, three | two, four, sides one, two | three, four"
            name = self.part("load", "crate", f"points one, two{ends}", "body")
            points = [f"{name}.one", f"{name}.two"]
            if sides:
                points += [f"{name}.three", f"{name}.four"]
        self.points = points
        if kind == "litter" and self.chance(30):
            self.bridle(points)
            return
        for n in range(self.choices.number(1, 2) if len(points) == 2 else self.choices.number(2, 4)):
            self.choices.pick(self.WAYS)(self, points[n])
        if self.walker and self.chance(75):
            self.on_load(points[0])
        if self.chance(12):
            self.on_held_down(points[0])

    def wheel_at(self, point: str) -> str:
        wheel = self.part("pulley", "w")
        self.add(f"attach {wheel} - {point}")
        return wheel

    def bridle(self, points: list[str]) -> None:
        """A litter on one ring."""
        master = self.part("ring", "m", "", "body")
        slings = self.chance(30)
        if slings:  # one sling through both ends, that comes back to the ring or to another
            wheels = self.chance(50)
            met = [self.wheel_at(point) if wheels else point for point in points]
            other = master if self.chance(70) else self.place_to_tie()
            self.rope([self.tied(master), *map(self.through, met), self.tied(other)])
        for point in points if not slings or self.chance(40) else ():
            self.add(f"attach {master} - strap {self.name('leg')} - {point}")
        self.choices.pick(self.WAYS)(self, master)
        if self.chance(50):
            self.choices.pick(self.WAYS)(self, self.choices.pick([master, *points]))

    def extras(self) -> None:
        """Causes, structures, hazards, places, a device that a step opens."""
        possible = sorted(set(self.failures))
        if len(possible) > 1 and self.chance(12):
            first = self.choices.pick(possible)
            second = self.choices.pick([one for one in possible if one != first])
            self.add(f"cause storm: {first}, {second}")
        solid = [name for name in self.placed if re.fullmatch(r"(a|h|w|d|eye|m|base)\d+", name)]
        if len(solid) > 1 and self.chance(8):
            self.add(f"{self.choices.pick(solid)}, {self.choices.pick(solid)}: part of block")
        if solid and self.chance(4):
            self.add(f"{self.choices.pick(solid)}: near pipe")
        bodies = [name for name in self.placed if re.match(r"sam|basket|crate", name)]
        if self.anchors and self.chance(5):
            self.add(f"{self.choices.pick(self.anchors)}: below {self.choices.pick(bodies)}")
        if self.chance(25):
            self.places()
        devices = [name for name in self.placed if re.fullmatch(r"d\d+", name)]
        if devices and self.chance(35):
            device, done = self.choices.pick(devices), self.choices.pick(["hold open {}", "open {}", "take {} in hand"])
            if done.startswith("take"):
                more = ", anti-panic" if self.chance(60) else ""
                self.add(f"{device}: operated by {self.operator()}, self-locking{more}")
                self.failures.append(f"{self.person} holds on")
            self.add('stage "Later"', f"    {done.format(device)}")

    def places(self) -> None:
        """Heights for some parts: as they would lie, or anyhow."""
        bands = {"low": (0, 3), "body": (4, 7), "high": (8, 12)}
        anyhow = self.chance(30)
        for name, level in self.placed.items():
            if self.chance(60) and not re.match(r"(lip|mat|guy)", name):
                low, high = (4, 12) if level != "low" and (anyhow or self.chance(8)) else bands[level]
                self.add(f"{name}: at (0, 0, {self.choices.number(low, high)})")


Systems.WAYS = (
    Systems.on_rope,
    Systems.on_rope,
    Systems.on_rope,
    Systems.on_rope,
    Systems.on_strap,
    Systems.on_belayer,
    Systems.on_belayer,
    Systems.on_blocked_rope,
    Systems.on_doubled_rope,
    Systems.on_haul,
    Systems.on_two_to_one,
    Systems.on_track,
    Systems.on_closed_sling,
    Systems.on_endless_line,
    Systems.on_limb,
    Systems.on_low_redirect,
    Systems.on_counterweight,
    Systems.on_interlocked,
    Systems.on_load,
    Systems.on_load,
    Systems.on_bar,
    Systems.on_bar,
    Systems.on_clew,
    Systems.on_clew,
    Systems.on_tripod_on_deck,
    Systems.on_focal_point,
    Systems.on_tie_back,
    Systems.on_held_down,
)


def last_state(rig: Rig) -> Rig:
    """The rig after its last step."""
    return rig.stages[-1].steps[-1].rig if rig.stages else rig


def random_system(seed: int) -> tuple[str, Rig]:
    """The text and the rig (after its last step) of one random system: the same for the same seed.

    Nothing is attached to a stopper: what that would mean is said nowhere.
    """
    rng = random.Random(seed)
    bending, joining, lashing = (random.Random(f"{how} {seed}") for how in ("bend", "sling", "tail"))
    choices = FromRandom(rng)
    while True:
        if rng.random() < 0.12:
            text = random_rig_text(rng, rng.randint(1, 3))
        else:
            text = Systems(choices).write()
            for _ in range(rng.choice((0, 0, 0, 1, 1, 2))):
                text = mutated(text, choices)
            if bending.random() < 0.1:
                text = with_bend(text, bending)
            if joining.random() < 0.1:
                text = with_sling(text, joining)
            if lashing.random() < 0.1:
                text = with_tail(text, lashing)
        try:
            rig = read_system(text)
        except Unreadable:
            continue
        stoppers = any(Nature.STOPPER in (rig.parts[c.a].nature, rig.parts[c.b].nature) for c in rig.contacts)
        if rig.bodies and 0 < len(rig.failures) <= MOST_FAILURES and not stoppers:
            return text, rig
