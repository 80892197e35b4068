"""Who is held, by statics: a second evaluator that shares nothing with the engine.

Written from the design's page on balance and fates (sections 1 to 3) alone: its sentences stand here
and in `balance_view.py` (what is there), `balance_question.py` (what pulls) and `balance_cuts.py` (the three
readings), each beside what it becomes. One body and one scenario at a
time; every question is whether a weight can be balanced, answered by a small mixed-integer program
(`pulls.py`).

    fate(rig, "sam", [failure, …])     what happens to sam: the worst of every subset of the failures

Fates are those that follow from connections: `falls`, `only by a person`, `only by another's weight`,
`runs`, `tips`, `slackens`, `held`. What lengths and forces decide (to the ground, turns over, drops)
is not asked here.

What the page leaves open was decided so, by statics and caution:

 1. A body's own failure (`basket fails`) counts for what hangs from it, never against itself.
 2. *Anchored* asks whether something can be pulled away: ground parts count as above, and no place
    decides an order there. (A guy runs down to its stake, and holds the frame all the same.)
 3. Frames stand by the least fixed point: none stands at first, then those whose needs are anchored by
    what stands already. In *held* and *still* their needs are asked with the cuts of that reading.
 4. Which parts form one cluster, for *lost*, *moves with*, *stands apart* and *ties*, is asked with
    the frames that stand in *caught*; else cuts and frames would ask each other.
 5. Without a rope, or with a tag line: it carries nothing; its knots stay, as parts that touch.
 6. Equal or overlapping heights, told by places, tell no order. A point or harness without a place of
    its own lies where its body lies; a carabiner on it has no place. The body under which ground may
    lie is where its own place says, else at the lowest of its points' places.
 7. Where places and *low* speak of the same two parts, places decide. Where all that is told makes no
    one order (ground `below` written higher than something), *low under what isn't* goes before *ground
    below under everything*, and what contradicts is left out.
 8. A knot whose tie is gone, and whose loop passes through another's, lies where that one lies.
 9. A stopper jams, on either of its sides, at the first part further in that the rope runs through, is
    gripped by (no hand) or is tied to. What no ground touches is taken along, if ropes only run through it or
    nothing else of it is on a rope: the stopper jams there or beyond. In *held* the first device (working or
    not) or hand ends that.
10. *The next thing that holds the rope* is a knot that ties something that is there, or a working grip that
    grips against the rope's being drawn towards where it slipped, and stands apart or moves with the body: one
    that hangs on that very rope is a lump on it. A stopper ties the rope to nothing: with a
    grip behind it (a joining knot between two devices) it only jams sooner than that takes the load.
11. A grip is *lost* when nothing of what it did is left: one that stood apart and moved with the body
    is kept while it does either. One that never gripped in this state (opened, held open) is lost
    where it stands apart or moves with the body.
12. A both-ways grip, or an opened one, none of whose sides is loaded by the page's words, counts as
    loaded from both.
13. *Hangs from the same place* is asked of the rig with nothing failed: one of the two may be gone now.
14. *With nothing failed*, inside a question about a rig without some ropes, means that rig.
15. A mid-rope knot *no longer ties what it tied* when it is gone itself, or nothing of what its rope's
    line ties it to is there; what else was attached to it does not count. The knot that closes a rope
    is a mid-rope knot.
16. `slack` cuts its span in *still*; an absorber or a fall arrester is not there in *still*. (Whoever
    hangs on an absorber alone slackens with nothing failed.)
17. *Only by another's weight*: every other body may weigh anything, in the strict reading or with
    people there as joints (people are bodies too).
18. An end of a body is supported when the weight, hung on that end's points, can be balanced in *held* in the
    rig without the body's other points (and so without what hangs from those). Both ends are on one
    rope that runs freely when neither is supported, but each would be by ropes with the other held fast.
19. A guard of the kind pad guards while it is there. Of any other, *a rope runs through it* means a
    station of that rope at that very part, with whole rope between there and the edge.
20. In the loose reading somebody who stands is ground, with all points and harnesses that are there; on ground
    below, a joint that touches that: who is tied in above is held there all the same.
21. Feet on a deck that hangs (`standing` too) hold while the deck is held, doesn't tip and doesn't slacken.
22. *Still* means held and still, *held* means caught and held: a cut that happens to help counts nothing.
23. What touches ground below by a connector is low also where a strap follows the connector.
24. *Still* is asked of ends too: an end held only by what is not still (an arrester, a slack strap, a hitch elsewhere)
    drops, and so its body slackens. Where ropes count as cut is asked for that twice: of the body, and of the rig in
    which that end alone of it is attached (a bend from which the rest of the body hangs is none on the body for it).
25. What hangs from an end that has lost its support drops with it: it is not *still*. Nor is what hangs from a bar or
    a body that has lost one, at a point that is at no end or side and could not hold that weight by itself. Nor is
    what hangs from an end of another that itself hangs from there.
26. The support that an end had is also that in the rig as first attached, where this is a later state of it.
27. A bar that is gone, by itself or with others at once, tips no more: it is structure, and what it held falls.
28. What has ends and sides has corners: what is at one end and one side, or at one of the two and not across from it.
    Two corners across from each other are a pair as the ends are: with one of four lines gone the other three leave
    the middle on the line between two of them, and it turns about that.
29. In *held* a rope that runs through something is cut also at an end that is tied to what with nothing failed was
    anchored, were there no bodies, and held none, and now would not be: a ring to which several lines and the one
    that hauls are tied goes up with them until it jams.
30. A rope that runs through both ends of a body, and on both sides comes next to one place, holds neither end up: it
    is cut at the other points where one end is asked after. (What hangs by it slides along.)
31. Somebody who works a device or holds a rope, and stands on no ground of their own, lets go once they are not held,
    or are off the deck that they stand on.
32. A bend keeps its place, and a guard guards, while it is anchored in *still*: what it hangs from must not come down
    first. For a bend without its own rope (what runs through its cluster beside counts: a carriage hangs on its
    track); bends that this comes upon in turn are asked in *held*, by *stands apart*.
33. What is attached to the bare name of a bar or load is between its ends; and what keeps a point there keeps it
    *still*, ends that drop aside.
34. A frame that stands on a body, or on its point, goes over where that is not held, level and still; on a bar, where
    that tips, or is not level (38).
35. Of a grip, and of a knot that loads one, *moves with the body* also what is lashed to it by rope alone, as a hitch
    on a tied split tail: as the rig is written, no ground and no body touches its cluster, and every rope tied there
    goes from that knot straight to the next, on a body's cluster; one such tail is whole, and both its knots tie.
36. *Still* also cuts at a grip that hangs on the very rope it grips (a haul grab), once what it drew up has run out:
    the rope between it and where that comes back to its cluster, with nothing before that holds it.
37. An end that supports nobody, and is kept up all the same (by another's weight, as a counterweight does, or by what
    would first run; people left out), is lost with that: then the body tips, as with any end that it had.
38. Level is a deck for the feet on it while both ends of each pair are supported, or neither is and it hangs from two
    other places, each of which would hold it: by one end, or by its middle alone, nobody stands on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import chain, combinations

from balance_cuts import CAUGHT, HELD, STILL
from balance_view import Scene, View
from rigs import rig_of

from analyser.rig.model import Effects, Failure, Nature, Part, Rig, Role, Rope, Station

FALLS, BY_PERSON, BY_WEIGHT, RUNS = "falls", "only by a person", "only by another's weight", "runs"
TIPS, SLACKENS, HOLDS = "tips", "slackens", "held"
FATES = (FALLS, BY_PERSON, BY_WEIGHT, RUNS, TIPS, SLACKENS, HOLDS)
"""Worst first."""
NOT_HELD = FATES[:4]
NOTHING = Effects()
Pair = tuple[tuple[str, ...], tuple[str, ...]]


def fate(rig: Rig, body: str, failures: Iterable[Failure]) -> str:
    """What happens to the body: the worst of what happens after each subset of the failures."""
    return Case.of(rig, body).fate(tuple(failures))


def fates(rig: Rig, failures: Iterable[Failure]) -> dict[str, str]:
    """The same for every body of the rig, by name."""
    failures = tuple(failures)
    return {body.name: fate(rig, body.name, failures) for body in rig.bodies}


def falls(rig: Rig, failures: Iterable[Failure]) -> list[str]:
    """The bodies that are not held after these failures, by name."""
    return sorted(body for body, told in fates(rig, failures).items() if told in NOT_HELD)


def bars_that_tip(rig: Rig, failures: Iterable[Failure]) -> list[str]:
    """The bars with ends or sides that are held and tip: a bar is structure, no body."""
    subsets = [Effects.joint(one.effects for one in subset) for subset in _subsets(tuple(failures))]
    return [
        name
        for name, case in _bars(rig).items()
        if any(name not in laid.gone and case.after(laid) == TIPS for laid in subsets)
    ]


def _bars(rig: Rig) -> dict[str, Case]:
    """What has ends or sides and is no body, each by name, as a load."""
    bars: dict[str, Case] = rig.__dict__.setdefault("_balance_bars", {})
    for name, part in sorted(rig.parts.items()):
        if (part.ends or part.sides) and not part.is_body and name not in bars:
            bars[name] = Case(replace(rig, parts={**rig.parts, name: replace(part, nature=Nature.LOAD)}), name)
    return bars


def _subsets(failures: tuple[Failure, ...]) -> Iterable[tuple[Failure, ...]]:
    return chain.from_iterable(combinations(failures, size) for size in range(len(failures) + 1))


def _pairs(part: Part) -> list[Pair]:
    """The ends, the sides, and the corners across from each other (28)."""
    pairs = [pair for pair in (part.ends, part.sides) if pair]
    if len(pairs) < 2:
        return pairs
    corners: dict[tuple[int, int], list[str]] = {(x, y): [] for x in (0, 1) for y in (0, 1)}
    for point in part.points:
        along = [{k for k in (0, 1) if point in pair[k]} for pair in pairs]
        if any(along):
            for x, y in corners:
                if along[0] <= {x} and along[1] <= {y}:
                    corners[x, y].append(point)
    for one, other in (((0, 0), (1, 1)), ((0, 1), (1, 0))):
        if corners[one] and corners[other]:
            pairs.append((tuple(corners[one]), tuple(corners[other])))
    return pairs


def _bends(rig: Rig) -> frozenset[str]:
    """The knots that join two ropes: each is tied in both."""
    tied: dict[str, set[str]] = {}
    for rope in rig.ropes:
        for station in rope.stations:
            if station.role is Role.TIE:
                tied.setdefault(station.part, set()).add(rope.name)
    return frozenset(knot for knot, ropes in tied.items() if len(ropes) > 1)


class Case:
    """One rig and one of its bodies."""

    def __init__(self, rig: Rig, body: str) -> None:
        self.rig = rig
        self.name = body
        self.body = rig.parts[body]
        self.ropes = {rope.name: rope for rope in rig.ropes if not rope.tag_line}
        """A tag line steers: it is never a way of being held."""
        self.touching: dict[str, set[str]] = {name: set() for name in rig.parts}
        """What touches what; what is made for gear only touches nothing."""
        for contact in rig.bearing:
            self.touching[contact.a].add(contact.b)
            self.touching[contact.b].add(contact.a)
        self.bends = _bends(rig)
        """Knots that tie two ropes to each other, and need nothing else to tie."""
        self.ties = {s.part: self._tied(s) for rope in rig.ropes for s in rope.stations if s.role is Role.TIE}
        """What each knot is tied to."""
        self._views: dict[Scene, View] = {}
        self._fates: dict[Effects, str] = {}
        self._alone: dict[tuple[str, ...], Case] = {}
        self._back: dict[tuple[str, ...], frozenset[tuple[str, int]]] = {}

    @classmethod
    def of(cls, rig: Rig, body: str) -> Case:
        """One case for each rig and body: what was worked out is kept with the rig."""
        cases: dict[str, Case] = rig.__dict__.setdefault("_balance_cases", {})
        if body not in cases:
            cases[body] = cls(rig, body)
        return cases[body]

    def _tied(self, station: Station) -> frozenset[str]:
        """What a knot is tied to: what it touches by the line of its own station."""
        knot, line = station.part, (station.place.file, station.place.line)
        own = [c for c in self.rig.contacts if knot in (c.a, c.b)]
        here = [c for c in own if (c.place.file, c.place.line) == line]
        if here:
            return frozenset({c.a if c.b == knot else c.b for c in here}) & self.touching[knot]
        knots = {name for name in self.touching[knot] if self.rig.parts[name].nature is Nature.KNOT}
        return frozenset(self.touching[knot] - knots or knots)

    def view(self, scene: Scene) -> View:
        """The rig with a scene laid over it."""
        if scene not in self._views:
            self._views[scene] = View(self, scene)
        return self._views[scene]

    def fate(self, failures: tuple[Failure, ...]) -> str:
        """What happens after a set of failures is the worst of what happens after each of its subsets,
        the empty one included (failures by their names; a cause is one): a failure that happens to
        help is never counted on."""
        worst = HOLDS
        for subset in _subsets(failures):
            worst = min(worst, self.after(Effects.joint(one.effects for one in subset)), key=FATES.index)
            if worst == FALLS:
                break
        return worst

    def after(self, effects: Effects) -> str:
        """What happens after exactly these effects."""
        own = {self.name} | {p for p in self.body.points if self.rig.parts[p].nature is Nature.POINT}
        effects = self._with_hands(effects)
        effects = replace(effects, gone=effects.gone - own)
        if effects not in self._fates:
            self._fates[effects] = self._after(effects)
        return self._fates[effects]

    def _with_hands(self, effects: Effects) -> Effects:
        """Those let go on whose hands others hang, and who stand on no ground, once they are not held or are off the
        deck that they stand on (31)."""
        if self.rig.__dict__.get("_balance_hands"):
            return effects  # asked on the way: is this one steady?
        self.rig.__dict__["_balance_hands"] = True
        try:
            people = [
                p for p in self.rig.parts.values() if p.nature is Nature.PERSON and (p.stands_on or not p.standing)
            ]
            while True:
                more = effects
                for person in people:
                    worked = {
                        d.name
                        for d in self.rig.parts.values()
                        if d.operated_by == person.name and not d.self_locking and not d.held_open
                    }
                    if not self._others_near(person.name, worked):
                        continue
                    if person.name not in effects.open_hands and not Case.of(self.rig, person.name)._steady(effects):
                        hands = Effects(open_hands=frozenset({person.name}), ungripped=frozenset(worked))
                        more = Effects.joint((more, hands))
                for frame in self.rig.parts.values():
                    if (
                        frame.nature is Nature.FRAME
                        and frame.name not in effects.gone
                        and self._goes_over(frame, effects)
                    ):
                        more = Effects.joint((more, Effects(gone=frozenset({frame.name, *frame.points}))))
                if more == effects:
                    return effects
                effects = more
        finally:
            self.rig.__dict__["_balance_hands"] = False

    def _goes_over(self, frame: Part, effects: Effects) -> bool:
        """Does a frame stand on a body or bar that isn't held, level and still?"""
        for foot in {foot for need in frame.needs for foot in need.parts}:
            deck = self.rig.parts[self.rig.parts[foot].body or foot]
            if deck.is_body and deck.nature is not Nature.PERSON:
                if not Case.of(self.rig, deck.name)._underfoot(effects):
                    return True
            elif deck.name in _bars(self.rig).keys() - effects.gone:
                bar = _bars(self.rig)[deck.name]
                if bar.after(effects) == TIPS or not bar._level(effects):
                    return True
        return False

    def _others_near(self, person: str, worked: set[str]) -> bool:
        """Does another body hang together with what somebody works or holds, ground and that person left out?"""
        held = [r for r in self.ropes.values() if any(s.part == person and s.role is Role.HAND for s in r.stations)]
        found, todo = set(worked), list(worked)
        ropes = {rope.name: rope for rope in held}
        todo += [s.part for rope in held for s in rope.stations if s.role in (Role.TIE, Role.RUN, Role.GRIP)]
        found |= set(todo)
        while todo:
            name = todo.pop()
            if name == person or self.rig.parts[name].nature in (Nature.GROUND, Nature.FRAME):
                continue
            near = set(self.touching[name])
            for rope in self.ropes.values():
                at = {
                    s.part for s in rope.stations if s.role in (Role.TIE, Role.RUN, Role.GRIP, Role.HAND, Role.STOPPER)
                }
                if name in at and rope.name not in ropes:
                    ropes[rope.name] = rope
                    near |= at
            todo += near - found
            found |= near
        return any(body.name in found and body.name != person for body in self.rig.bodies)

    def _steady(self, effects: Effects) -> bool:
        if self.body.stands_on:
            return self._feet(effects)
        own = {self.name} | {p for p in self.body.points if self.rig.parts[p].nature is Nature.POINT}
        return self._carried(replace(effects, gone=effects.gone - own), HELD)

    def _after(self, effects: Effects) -> str:
        if self._feet(effects):  # a body that stands and has not lost its footing is held by it
            return HOLDS
        if not self._carried(effects, CAUGHT):
            return self._fallen(effects)
        if not self._carried(effects, HELD):  # caught and not held: runs
            return RUNS
        if self.tips(effects):
            return TIPS
        if self.body.standing:  # somebody who loses footing never does better than slackens
            return SLACKENS
        if not self._carried(self._with_what_tips(effects), STILL) or self.sinks(effects):  # held and not still
            return SLACKENS
        return HOLDS

    def _fallen(self, effects: Effects) -> str:
        """Not caught: falls and only by …"""
        if self._carried(effects, CAUGHT, loose=True):
            return BY_PERSON
        if any(self._carried(effects, CAUGHT, loose=loose, others_weigh=True) for loose in (False, True)):
            return BY_WEIGHT
        return FALLS

    def _carried(self, effects: Effects, reading: str, *, loose: bool = False, others_weigh: bool = False) -> bool:
        """Can the body's own weight be balanced, with everything else weightless?"""
        return self.view(Scene(effects, reading, loose)).carries(self.name, others_weigh=others_weigh)

    def _feet(self, effects: Effects) -> bool:
        """Do the feet alone hold the body?

        Who stands on a deck is held by the feet only while the deck is held, level and still.
        """
        if self.name in effects.unfooted:
            return False
        deck = self.body.stands_on
        if deck is None:
            return self.body.standing
        return Case.of(self.rig, deck)._underfoot(effects)

    def _underfoot(self, effects: Effects) -> bool:
        """Can somebody stand on it?"""
        return self.name not in effects.gone and self.after(effects) == HOLDS and self._level(effects)

    def _level(self, effects: Effects) -> bool:
        """Is each pair of ends or sides up, or what is between them held at two places (38)?"""
        own = {self.name} | {p for p in self.body.points if self.rig.parts[p].nature is Nature.POINT}
        now = self.view(Scene(replace(effects, gone=effects.gone - own), HELD))
        for pair in _pairs(self.body):
            up = {now.supports(end) for end in pair}
            if up == {False}:
                others = [point for point in self.body.points if point not in {*pair[0], *pair[1]}]
                holding = sum(now.supports((point,)) for point in others)
                if holding + sum(now.bears_up(other) for other in self._on_bare_name()) < 2:
                    return False
            elif False in up:
                return False
        return True

    # A body with ends (and, if given, sides) tips when one of the two has lost the support it had; both
    # ends on one rope that runs freely tip.

    def tips(self, effects: Effects) -> bool:
        """Has an end or a side lost the support that it had, or do both hang on one free rope?"""
        return any(self._tips(effects, *pair) for pair in _pairs(self.body))

    def _once(self, end: tuple[str, ...]) -> bool:
        """Was an end supported in the rig as first attached, of which this is a later state?"""
        first = self.rig.origin
        if first is None or self.name not in first.parts or not {*end} <= {*first.parts}:
            return False
        case = Case.of(first, self.name) if first.parts[self.name].is_body else _bars(first).get(self.name)
        return case is not None and case.view(Scene(NOTHING, HELD)).supports(end)

    def _with_what_tips(self, effects: Effects, *, once: bool = False) -> Effects:
        """In *still*, an end that has lost its support is not there for what hangs from it; nor, unless it is asked
        `once`, is an end of what hangs from there."""
        gone: set[str] = set()
        for case, pairs, laid in self._others_with_ends(effects):
            before, now = case.view(Scene(NOTHING, HELD)), case.view(Scene(laid, HELD))
            still = case.view(Scene(laid, STILL))
            between = {*case.body.points}.difference(*(end for pair in pairs for end in pair))
            had = [end for pair in pairs for end in pair if before.supports(end) or case._once(end)]
            lost = [end for end in had if not now.supports(end)]
            lost += [end for pair in pairs for end in pair if case._outweighed(end, laid)]
            if not once:
                dropping = case._with_what_tips(laid, once=True)
                lost += [end for pair in pairs for end in pair if case._sinks(end, dropping)]
            for end in lost:
                gone |= {*end, *(p for p in between if not (now.supports((p,)) and still.supports((p,))))}
            for other in case._on_bare_name() if lost else ():
                if not (now.bears_up(other) and still.bears_up(other)):
                    gone.add(other)
        return replace(effects, gone=effects.gone | gone)

    def _on_bare_name(self) -> list[str]:
        """What touches the body itself, at no point of it; nothing where it is a litter (33)."""
        if self.body.nature is Nature.LITTER:
            return []
        fixed = (Nature.GROUND, Nature.FRAME, Nature.PERSON)
        near = self.touching[self.name] - {*self.body.points}
        return [other for other in near if self.rig.parts[other].nature not in fixed]

    def _others_with_ends(self, effects: Effects) -> Iterator[tuple[Case, list[Pair], Effects]]:
        for name, part in self.rig.parts.items():
            pairs = _pairs(part)
            if name != self.name and pairs:
                case = Case.of(self.rig, name) if part.is_body else _bars(self.rig)[name]
                yield case, pairs, replace(effects, gone=effects.gone - {name, *part.points})

    def sinks(self, effects: Effects) -> bool:
        """Has an end or a side lost the support that it had in *still*?"""
        dropping = self._with_what_tips(effects, once=True)
        return any(self._sinks(end, dropping) for pair in _pairs(self.body) for end in pair)

    def _sinks(self, end: tuple[str, ...], effects: Effects) -> bool:
        alone = self.alone(end)
        beside = alone._with_what_tips(effects, once=True)  # what the rest of the body would hold up
        lost = replace(effects, gone=effects.gone | beside.gone)
        for case in (self, alone):
            before, now = (case.view(Scene(laid, STILL)) for laid in (NOTHING, lost))
            if before.supports(end) and not now.supports(end):
                return True
        return False

    def alone(self, end: tuple[str, ...]) -> Case:
        """The rig in which nothing of the body is attached but this end."""
        if end not in self._alone:
            others = {*self.body.points} - {*end}
            contacts = tuple(c for c in self.rig.contacts if others.isdisjoint((c.a, c.b)))
            parts = {**self.rig.parts, self.name: replace(self.body, points=end, ends=None, sides=None)}
            self._alone[end] = Case(replace(self.rig, parts=parts, contacts=contacts), self.name)
            self._alone[end]._back[end] = self.comes_back(end)
        return self._alone[end]

    def comes_back(self, end: tuple[str, ...]) -> frozenset[tuple[str, int]]:
        """Where ropes run through other points of the body than this end's, and through this end too, and both ways
        come next to one place (30)."""
        if end not in self._back:
            by = {point: self._hung_on(point) for point in self.body.points}
            mine = {part for point in end for part in by[point]}
            others = {part for point, parts in by.items() if point not in end for part in parts}
            # what hangs on two of them is on no point alone
            both = mine & others
            found = set()
            for rope in self.ropes.values():
                for k in range(len(rope.stations) - rope.closed):
                    if rope.stations[k].part in others - both and self._slides(
                        rope, k, mine - both, (mine | others) - both
                    ):
                        found.add((rope.name, k))
            self._back[end] = frozenset(found)
        return self._back[end]

    def _hung_on(self, point: str) -> set[str]:
        """What touches a point, one thing by another, the body and people left out; nothing where ground is touched, or
        a rope is tied or gripped."""
        found, todo = {point}, [point]
        while todo:
            for other in self.touching[todo.pop()] - found:
                part = self.rig.parts[other]
                if part.nature in (Nature.GROUND, Nature.FRAME):
                    return set()
                if other != self.name and part.nature is not Nature.PERSON:
                    found.add(other)
                    todo.append(other)
        held = {s.part for rope in self.ropes.values() for s in rope.stations if s.role is not Role.RUN}
        return found if found.isdisjoint(held) else set()

    def _slides(self, rope: Rope, k: int, mine: set[str], body: set[str]) -> bool:
        count = len(rope.stations) - rope.closed
        met, outer = [], []
        for way in (-1, 1):
            at = k
            for _ in range(count):
                if not (rope.stations[at].part in body and rope.stations[at].role is Role.RUN):
                    outer.append(rope.stations[at].part)
                    break
                met.append(rope.stations[at].part)
                at += way
                if not rope.closed and not 0 <= at < count:
                    return False
                at %= count
        if len(outer) < 2 or not mine & set(met):
            return False
        one, other = (self._with_ground(part) for part in outer)
        return bool(one & other)

    def _with_ground(self, part: str) -> set[str]:
        """What is together with a part, and the ground parts that any of it touches."""
        found, todo = {part}, [part]
        while todo:
            name = todo.pop()
            if self.rig.parts[name].nature in (Nature.GROUND, Nature.FRAME) and name != part:
                continue
            for other in self.touching[name] - found:
                if other != self.name and self.rig.parts[other].nature not in (Nature.PERSON, Nature.FRAME):
                    found.add(other)
                    todo.append(other)
        return found

    def _outweighed(self, end: tuple[str, ...], effects: Effects) -> bool:
        """Was an end, which supports nobody with nothing failed, kept up all the same, and is no more?"""
        if self.view(Scene(NOTHING, HELD)).supports(end):
            return False
        before, now = (
            any(self.view(Scene(laid, CAUGHT)).supports(end, others_weigh=weigh) for weigh in (False, True))
            for laid in (NOTHING, effects)
        )
        return before and not now

    def _tips(self, effects: Effects, one: tuple[str, ...], two: tuple[str, ...]) -> bool:
        before, now = (self.view(Scene(laid, HELD)) for laid in (NOTHING, effects))
        supported = [now.supports(end) for end in (one, two)]
        had = [before.supports(end) or self._once(end) for end in (one, two)]
        if any(once and not is_now for once, is_now in zip(had, supported, strict=True)):
            return True
        if any(self._outweighed(end, effects) for end in (one, two)):
            return True
        return not any(supported) and now.supports_with(one, two) and now.supports_with(two, one)


def told(rig: Rig | str, body: str, *failures: str) -> str:
    """What happens to a body after failures, by their names."""
    rig = rig_of(rig) if isinstance(rig, str) else rig
    by_name = {failure.id: failure for failure in rig.failures}
    return fate(rig, body, [by_name[name] for name in failures])
