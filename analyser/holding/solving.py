"""Rules 1-5 of holding, for many scenarios at once, exactly.

Rule 5 asks what its ends are held by *without the section's own spans*. Two plain fixed points
bound that. The careful one remembers, for each part and column, the spans that its first way of
being held uses, and lets a part hold a section only where that way uses none of the section's
spans: all it finds is true. If the generous one (no such care) finds nothing beyond it, both are
the answer. Only where they differ is the definition followed to the letter: a rig without a
section's spans is the same scenario with those spans cut, so the columns in question are solved
again so, all sections together, as deep as it takes (the whole spans grow ever fewer).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyser.holding.monotone import AtLeast, Gate, least
from analyser.holding.structure import Batch, Section, Structure, positions, spread
from analyser.rig.model import Nature, Role, Station

MOST_COLUMNS = 1 << 16
"""Columns of inner scenarios solved together where the definition has to be followed."""

Used = list[dict[str, int]]
"""For each variable, the spans that its first way of being held uses, and in which columns."""


@dataclass(frozen=True, slots=True)
class Sets:
    """The columns in which each variable is anchored, and held."""

    anchored: list[int]
    held: list[int]


@dataclass(slots=True)
class _Grip:
    """Rule 5 for one part p on one section, its fixed conditions worked out for every column."""

    section: Section
    part: int
    base: int
    """The section is there, and p is on it or moves with a part of it."""
    exempt: tuple[int, int]
    """Where each end moves with p."""
    loop: int
    """Where neither end moves with p and the ends are one, or move with each other (a')."""
    loop_wide: int
    """The same wherever the ends move with each other."""
    near: tuple[list[tuple[int, int]], list[tuple[int, int]]]
    """For each end: parts strictly between it and the nearest that moves with p, and where."""
    wide: tuple[list[tuple[int, int]], list[tuple[int, int]]]
    """The same up to any part that moves with p: never less than `near`."""
    others: list[tuple[int, int]]
    """Parts on the section that don't move with p, and where."""
    leans: tuple[int, int, int]
    """Where each exemption, and the loop, is known only over tracked joint spans."""
    lean_spans: frozenset[str]


class _SectionGate:
    """A `_Grip` as a gate of the anchored or the held system."""

    def __init__(
        self,
        grip: _Grip,
        bears: Sequence[bool],
        fixed: Sequence[int] | None,
        used: Used | None,
        fixed_used: Used | None,
    ) -> None:
        """`fixed` is None for the anchored set itself; `used` is None for the generous reading."""
        self.grip = grip
        self.target = grip.part
        self.bears = bears
        self.fixed = fixed
        self.used = used
        self.fixed_used = fixed_used
        near = grip.near if used is not None else grip.wide
        self.loop = grip.loop if used is not None else grip.loop_wide
        sources = {*grip.section.ends, *(q for q, _ in grip.others)}
        if fixed is not None:
            sources |= {q for side in near for q, _ in side}
        self.near = near
        self.sources = sorted(sources)

    def _free(self, v: int, values: Sequence[int], used: Used | None) -> int:
        """Where v bears, by a way that uses none of the section's spans."""
        bits = values[v]
        if not bits or not self.bears[v]:
            return 0
        if used is not None and used[v]:
            mine = used[v]
            spans = self.grip.section.spans
            for span in spans if len(spans) < len(mine) else list(mine):
                if span in mine and span in spans:
                    bits &= ~mine[span]
        return bits

    def fires(self, values: Sequence[int]) -> int:
        grip = self.grip
        bits = grip.base
        ends = -1
        for side, end in enumerate(grip.section.ends):
            if self.fixed is None:
                ok = self._free(end, values, self.used)
            else:
                ok = self._fixed(end)
                if ok & ~grip.exempt[side]:
                    firm = self._free(end, values, self.used)
                    for q, where in self.near[side]:
                        if not ok & ~firm:
                            break
                        firm |= self._free(q, values, self.used) & where
                    ok &= firm
            ends &= ok | grip.exempt[side]
        bits &= ends | self.loop
        if not bits:
            return 0
        firm = 0
        for q, where in grip.others:
            firm |= self._free(q, values, self.used) & where
        return bits & firm

    def _fixed(self, end: int) -> int:
        """Where an end part bears in the anchored set, without this section's spans."""
        assert self.fixed is not None
        # a person marked `below` bears in anchored though not in held: `fixed` is masked already
        bits = self.fixed[end]
        if bits and self.fixed_used is not None:
            mine = self.fixed_used[end]
            for span in self.grip.section.spans & mine.keys():
                bits &= ~mine[span]
        return bits

    def fired(self, new: int) -> None:
        if self.used is None:
            return
        grip, mine = self.grip, self.used[self.target]
        for span in grip.section.spans:
            mine[span] = mine.get(span, 0) | new
        lean = grip.leans[0] | grip.leans[1] | grip.leans[2]
        if new & lean:
            for span in grip.lean_spans:
                mine[span] = mine.get(span, 0) | (new & lean)
        sources = [(v, self.used) for v in self.sources]
        if self.fixed_used is not None:
            sources += [(v, self.fixed_used) for v in grip.section.ends]
        for v, theirs in sources:
            for span, where in theirs[v].items():
                both = new & where
                if both and v != self.target:
                    mine[span] = mine.get(span, 0) | both


class _FrameGate(AtLeast):
    """Rule 4, remembering the spans by which the needs are anchored."""

    def __init__(self, target: int, groups: Sequence[tuple[int, Sequence[int]]], used: Used | None) -> None:
        super().__init__(target, groups)
        self.used = used

    def fired(self, new: int) -> None:
        if self.used is not None:
            _remember(self.used, self.target, self.sources, self.used, new)


def _remember(used: Used, target: int, sources: Sequence[int], theirs: Used, new: int) -> None:
    mine = used[target]
    for source in sources:
        for span, where in list(theirs[source].items()):
            if new & where:
                mine[span] = mine.get(span, 0) | (new & where)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Of which variables, and in which columns, the exact answer is asked for."""

    anchored: list[int]
    held: list[int]


class Solver:
    """One structure under one batch of scenarios."""

    def __init__(self, structure: Structure, batch: Batch) -> None:
        self.structure = structure
        self.batch = batch
        self.guards = self._guards()
        self.grips = self._grips()

    def solve(self, wanted: Wanted | None = None) -> Sets:
        """Anchored and held, exactly for all that is wanted (everything by default)."""
        structure = self.structure
        careful_a, used_a = self._fixpoint(structure.links_anchored, None, None, careful=True)
        generous_a = careful_a
        if self._grows(careful_a, None, held=False):
            generous_a, _ = self._fixpoint(structure.links_anchored, None, None, careful=False, start=careful_a)
        if not structure.any_below:
            careful_h, generous_h = careful_a, generous_a
        else:
            careful_h, _ = self._fixpoint(structure.links_held, careful_a, used_a, careful=True)
            generous_h = careful_h
            if generous_a is not careful_a or self._grows(careful_h, generous_a, held=True):
                generous_h, _ = self._fixpoint(structure.links_held, generous_a, None, careful=False, start=careful_h)
        careful, generous = Sets(careful_a, careful_h), Sets(generous_a, generous_h)
        if generous_a is careful_a and generous_h is careful_h:
            return careful
        return self._exactly(careful, generous, wanted)

    def _exactly(self, careful: Sets, generous: Sets, wanted: Wanted | None) -> Sets:
        """Follow the definition where it matters: ask for a section's ends and its firm parts in
        the rig without the section's spans, which is the same scenario with those spans cut."""
        structure = self.structure
        open_a = [g & ~c for g, c in zip(generous.anchored, careful.anchored, strict=True)]
        open_h = [g & ~c for g, c in zip(generous.held, careful.held, strict=True)]
        want_a, want_h = self._matter(open_a, open_h, wanted)
        asked: dict[Section, int] = {}
        in_a = self._in_question(want_a, generous.anchored, None, asked)
        in_h = self._in_question(want_h, generous.held, generous.anchored, asked) if structure.any_below else []
        answers = self._without_their_spans(asked)
        frames = self._frames(None)
        seeds = list(careful.anchored)
        for grip, columns in in_a:
            apart = answers[grip.section]
            gate = _SectionGate(grip, structure.bears_anchored, None, None, None)
            seeds[grip.part] |= self._to_the_letter(gate, apart.anchored) & columns
        anchored = least(seeds, self.guards, structure.links_anchored, frames)
        if not structure.any_below:
            return Sets(anchored, anchored)
        seeds = list(careful.held)
        for frame in frames:
            seeds[frame.target] |= frame.fires(anchored) & self.guards[frame.target]
        for grip, columns in in_h:
            apart = answers[grip.section]
            gate = _SectionGate(grip, structure.bears_held, self._fixed(apart.anchored), None, None)
            seeds[grip.part] |= self._to_the_letter(gate, apart.held) & columns
        return Sets(anchored, least(seeds, self.guards, structure.links_held))

    def _in_question(
        self, want: list[int], values: list[int], anchored: list[int] | None, asked: dict[Section, int]
    ) -> list[tuple[_Grip, int]]:
        """The grips that the generous reading fires for what matters, and in which columns.

        Only there is the section whole, so what is asked next has fewer whole spans than this.
        """
        bears = self.structure.bears_anchored if anchored is None else self.structure.bears_held
        fixed = None if anchored is None else self._fixed(anchored)
        found = []
        for grip in self.grips:
            columns = want[grip.part] & self.guards[grip.part]
            if columns:
                columns &= _SectionGate(grip, bears, fixed, None, None).fires(values)
            if columns:
                found.append((grip, columns))
                asked[grip.section] = asked.get(grip.section, 0) | columns
        return found

    def _matter(self, open_a: list[int], open_h: list[int], wanted: Wanted | None) -> tuple[list[int], list[int]]:
        """Of what is still open, what bears on the variables that are wanted."""
        structure = self.structure
        if wanted is None:
            return open_a, open_h
        want_h = [w & o for w, o in zip(wanted.held, open_h, strict=True)]
        self._backwards(want_h, open_h, structure.links_held)
        want_a = [w & o for w, o in zip(wanted.anchored, open_a, strict=True)]
        if structure.any_below:
            for frame in self._frames(None):
                for need in frame.sources:
                    want_a[need] |= want_h[frame.target] & open_a[need]
        else:
            want_a = [a | h for a, h in zip(want_a, want_h, strict=True)]
        self._backwards(want_a, open_a, structure.links_anchored)
        return want_a, want_h

    def _backwards(self, want: list[int], still_open: list[int], links: list[list[int]]) -> None:
        """Add whatever could make a wanted variable true by touching it or by standing under it."""
        before: dict[int, set[int]] = {}
        for v, targets in enumerate(links):
            for t in targets:
                before.setdefault(t, set()).add(v)
        for frame in self._frames(None):
            before.setdefault(frame.target, set()).update(frame.sources)
        stack = [v for v, bits in enumerate(want) if bits]
        while stack:
            t = stack.pop()
            for v in before.get(t, ()):
                new = want[t] & still_open[v] & ~want[v]
                if new:
                    want[v] |= new
                    stack.append(v)

    def _without_their_spans(self, asked: dict[Section, int]) -> dict[Section, Sets]:
        """For each section, everything its rule asks, in the columns asked, without its spans."""
        structure = self.structure
        answers: dict[Section, Sets] = {}
        sections = list(asked)
        while sections:
            columns: list[int] = []
            blocks: list[tuple[Section, int, list[int]]] = []
            while sections and (not columns or len(columns) + asked[sections[0]].bit_count() <= MOST_COLUMNS):
                section = sections.pop(0)
                mine = positions(asked[section])
                blocks.append((section, len(columns), mine))
                columns += mine
            batch = self.batch.select(columns)
            wanted = Wanted([0] * structure.count, [0] * structure.count)
            for section, start, mine in blocks:
                block = ((1 << len(mine)) - 1) << start
                for span in section.spans:
                    batch.cut[span] = batch.cut.get(span, 0) | block
                for v, _ in section.parts:
                    wanted.anchored[v] |= block
                    wanted.held[v] |= block
            inner = Solver(structure, batch).solve(wanted)
            for section, start, mine in blocks:
                on = {v for v, _ in section.parts}
                answers[section] = self._placed(inner, on, start, mine)
        return answers

    def _placed(self, inner: Sets, on: set[int], start: int, columns: list[int]) -> Sets:
        block = (1 << len(columns)) - 1
        anchored, held = [0] * self.structure.count, [0] * self.structure.count
        for v in on:
            anchored[v] = spread(inner.anchored[v] >> start & block, columns)
            held[v] = spread(inner.held[v] >> start & block, columns)
        return Sets(anchored, held)

    def _to_the_letter(self, gate: _SectionGate, values: list[int]) -> int:
        gate.near, gate.loop = gate.grip.near, gate.grip.loop
        return gate.fires(values)

    def _fixed(self, anchored: list[int]) -> list[int]:
        bears = self.structure.bears_anchored
        return [value if bears[v] else 0 for v, value in enumerate(anchored)]

    # -- the plain fixed points

    def _fixpoint(
        self,
        links: list[list[int]],
        anchored: list[int] | None,
        anchored_used: Used | None,
        *,
        careful: bool,
        start: list[int] | None = None,
    ) -> tuple[list[int], Used]:
        """The anchored set (`anchored` None) or the held set, carefully or generously."""
        structure, guards, grips = self.structure, self.guards, self.grips
        held = anchored is not None
        bears = structure.bears_held if held else structure.bears_anchored
        used: Used = [{} for _ in range(structure.count)]
        track = used if careful else None
        seeds = self._seeds(held=held)
        if start:
            seeds = [seed | more for seed, more in zip(seeds, start, strict=True)]
        gates: list[Gate] = []
        frames = self._frames(track)
        if anchored is None:
            gates += frames
        else:
            for frame in frames:
                bits = frame.fires(anchored) & guards[frame.target]
                seeds[frame.target] |= bits
                if track is not None and anchored_used is not None:
                    _remember(used, frame.target, frame.sources, anchored_used, bits)
        fixed = self._fixed(anchored) if anchored is not None else None
        gates += [_SectionGate(g, bears, fixed, track, anchored_used if careful else None) for g in grips]
        if track is None or not structure.tracked:
            return least(seeds, guards, links, gates), used
        span_of = {v: span for v, span in structure.joint_spans.items() if span in structure.tracked}

        def carried(v: int, t: int, new: int) -> None:
            mine = used[t]
            if used[v]:
                for span, where in used[v].items():
                    both = where & new
                    if both:
                        mine[span] = mine.get(span, 0) | both
            crossed = span_of.get(t)
            if crossed is not None:
                mine[crossed] = mine.get(crossed, 0) | new

        return least(seeds, guards, links, gates, carried), used

    def _grows(self, values: list[int], anchored: list[int] | None, *, held: bool) -> bool:
        """Would the generous reading add anything to a set that the careful one has closed?"""
        bears = self.structure.bears_held if held else self.structure.bears_anchored
        fixed = self._fixed(anchored) if anchored is not None else None
        for grip in self.grips:
            room = self.guards[grip.part] & ~values[grip.part]
            if room and _SectionGate(grip, bears, fixed, None, None).fires(values) & room:
                return True
        return False

    # -- what is there

    def _guards(self) -> list[int]:
        """The columns in which each variable is there at all."""
        structure, batch = self.structure, self.batch
        full, gone = batch.full, batch.gone
        guards = [full & ~gone.get(name, 0) for name in structure.names[: len(structure.parts)]]
        for span in structure.joint_spans.values():
            guards.append(full & ~batch.cut.get(span, 0))
        return guards

    def _seeds(self, *, held: bool) -> list[int]:
        """Rule 1: ground parts, and people on their feet."""
        full = self.batch.full
        seeds = [0] * self.structure.count
        for v, part in enumerate(self.structure.parts):
            if part.nature is Nature.GROUND and not (held and part.below):
                seeds[v] = full
            elif part.standing and part.nature is Nature.PERSON:
                seeds[v] = full & ~self.batch.unfooted.get(part.name, 0)
        return seeds

    def _frames(self, used: Used | None) -> list[_FrameGate]:
        index = self.structure.index
        return [
            _FrameGate(
                v,
                [(need.count, [index[p] for p in need.parts if p in index]) for need in self.structure.parts[v].needs],
                used,
            )
            for v in sorted(self.structure.frames)
        ]

    # -- rule 5, prepared

    def _grips(self) -> list[_Grip]:
        structure, guards = self.structure, self.guards
        moving: dict[int, dict[int, int]] = {}
        bare: dict[int, dict[int, int]] = {}
        found: list[_Grip] = []
        for section in structure.sections:
            there = self._there(section, guards)
            if not there:
                continue
            on = [(v, self._gripped(hand)) for v, hand in section.parts]
            for p in structure.movers(section):
                self._know(p, guards, moving, bare)
                grip = self._grip(section, p, there, on, moving, bare, guards)
                if grip:
                    found.append(grip)
        return found

    def _know(
        self, p: int, guards: list[int], moving: dict[int, dict[int, int]], bare: dict[int, dict[int, int]]
    ) -> None:
        """Work out once what moves with p, and what does so without tracked joint spans."""
        if p not in moving:
            moving[p] = self._moving(p, guards, frozenset())
            leans = self.structure.tracked_joints & self.structure.reach(p)
            bare[p] = self._moving(p, guards, self.structure.tracked_joints) if leans else moving[p]

    def _gripped(self, hand: str | None) -> int:
        full = self.batch.full
        return full if hand is None else full & ~self.batch.open_hands.get(hand, 0)

    def _there(self, section: Section, guards: list[int]) -> int:
        """The columns in which the section exists: gripped at both ends, whole between them."""
        batch, stations = self.batch, section.rope.stations
        bits = self._grips_at(stations[section.first], guards) & self._grips_at(stations[section.last], guards)
        for v, hand in (section.parts[0], section.parts[-1]):
            bits &= guards[v] & self._gripped(hand)
        for span in section.spans:
            bits &= ~batch.cut.get(span, 0)
        for station in stations[section.first + 1 : section.last]:
            if station.role is Role.OVER and batch.cutting.get(station.part, 0):
                severed = batch.cutting[station.part]
                for guard in (*station.guards, *self.structure.rig.parts[station.part].guards):
                    severed &= batch.gone.get(guard, 0)
                bits &= ~severed
        return bits

    def _grips_at(self, station: Station, guards: list[int]) -> int:
        batch = self.batch
        if station.role is Role.HAND:
            return self._gripped(station.part)
        if station.role is Role.STOPPER:
            return batch.full & ~batch.gone.get(station.part, 0)
        bits = guards[self.structure.index[station.part]]
        if station.role is Role.GRIP:
            bits &= ~batch.ungripped.get(station.part, 0)
        return bits

    def _moving(self, origin: int, guards: list[int], left_out: frozenset[int]) -> dict[int, int]:
        """What moves with `origin`, and in which columns."""
        structure, batch = self.structure, self.batch
        worth = structure.ways_between(origin)
        moving = {origin: guards[origin]}
        stack = [origin] if len(worth) > 1 else []
        while stack:
            v = stack.pop()
            bits = moving[v]
            if v != origin:
                bits &= structure.passes(v, origin, batch)
            if not bits:
                continue
            for t in structure.neighbours[v]:
                if t in left_out or t not in worth:
                    continue
                before = moving.get(t, 0)
                new = bits & guards[t] & ~before
                if new:
                    moving[t] = before | new
                    stack.append(t)
        return moving

    def _grip(
        self,
        section: Section,
        p: int,
        there: int,
        on: list[tuple[int, int]],
        moving: dict[int, dict[int, int]],
        bare: dict[int, dict[int, int]],
        guards: list[int],
    ) -> _Grip | None:
        mine = moving[p]
        along = [mine.get(v, 0) & where for v, where in on]
        person = p < len(self.structure.parts) and self.structure.parts[p].nature is Nature.PERSON
        base = 0
        for (v, where), bits in zip(on, along, strict=True):
            if person or v == p:  # a part has to be on the section itself; a person only to move with one
                base |= bits & where
        base &= there & guards[p]
        if not base:
            return None
        low, high = section.ends
        exempt = (mine.get(low, 0), mine.get(high, 0))
        loop = there & ~exempt[0] & ~exempt[1]
        bare_loop = loop
        loop_wide = there
        if low != high:
            for end in (low, high):
                self._know(end, guards, moving, bare)
            loop_wide &= moving[low].get(high, 0) | moving[high].get(low, 0)
            loop &= loop_wide
            bare_loop &= bare[low].get(high, 0) | bare[high].get(low, 0)
        near, wide = [], []
        for sequence in (range(len(on)), range(len(on) - 1, -1, -1)):
            closest, any_ = self._between(list(sequence), on, along)
            near.append(closest)
            wide.append(any_)
        others: dict[int, int] = {}
        for v, where in on:
            apart = where & ~mine.get(v, 0) & base
            if apart:
                others[v] = others.get(v, 0) | apart
        if not others:
            return None
        lean = (
            exempt[0] & ~bare[p].get(low, 0),
            exempt[1] & ~bare[p].get(high, 0),
            loop & ~bare_loop,
        )
        spans = frozenset(
            self.structure.joint_spans[v]
            for v in self.structure.tracked_joints
            if any(lean) and any(v in self.structure.reach(one) for one in (p, low, high))
        )
        return _Grip(
            section,
            p,
            base,
            exempt,
            loop,
            loop_wide,
            (near[0], near[1]),
            (wide[0], wide[1]),
            sorted(others.items()),
            lean,
            spans,
        )

    def _between(
        self, order: list[int], on: list[tuple[int, int]], along: list[int]
    ) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
        """Parts strictly between an end and the nearest (or any) station that moves with p."""
        near: list[tuple[int, int]] = []
        wide: list[tuple[int, int]] = []
        clear = self.batch.full & ~along[order[0]]
        for position, k in enumerate(order[1:], 1):
            v, where = on[k]
            clear &= ~along[k]
            if clear & where:
                near.append((v, clear & where))
            beyond = 0
            for later in order[position + 1 :]:
                beyond |= along[later]
            if beyond & where:
                wide.append((v, beyond & where))
        return near, wide
