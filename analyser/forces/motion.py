"""What happens in time after a failure: the drop, each line's peak and when, what it strikes, what it breaks.

The masses are followed from the rest before (`followed.py`); what breaks on the way is taken out at that moment
and the motion goes on: that is the cascade. The same again from starts that lie a centimetre aside: undamped
motion of several masses is partly chaotic, and a peak is worth no more than the band over those.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from analyser.forces.assembling import Case
from analyser.forces.bearing import as_pulled, bounds, carried_then
from analyser.forces.breaking import TOGETHER, Broken, breaks, effects_of
from analyser.forces.carried import part_forces
from analyser.forces.equilibrium import Equilibrium, Statics
from analyser.forces.followed import Followed, Path, follow
from analyser.forces.grounds import Ground
from analyser.forces.network import Array
from analyser.forces.phases import Going, Phase, Ways, gone_on, moment_of, names_at, phase_of, start_at
from analyser.forces.points import as_point
from analyser.forces.retained import Retained
from analyser.forces.stepping import Moment
from analyser.forces.strength import Factor, factors
from analyser.forces.striking import Strike, Way, landings, strikes
from analyser.forces.threads import one_thread
from analyser.rig.model import Effects, Failure

STARTS = 8
"""Starts a centimetre aside that each peak is told as a band over, beside the one as drawn."""
ASIDE = 0.01
"""Metres by which they lie aside."""
LONGEST_CASCADE = 30
"""Breaks one after the other that are followed."""


@dataclass(frozen=True, slots=True)
class Peak:
    """One line: newtons before, at the most (the start as drawn) and when in seconds; `low` and `high` over
    starts that lie a centimetre aside. `most` is None where it can't be told."""

    name: str
    before: float
    most: float | None
    when: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Course:
    """How one body moved: metres down and aside at the most, newtons its lines pulled on it together at the most
    and when; `high` is that over all starts."""

    name: str
    down: float
    aside: float
    pull: float
    when: float
    high: float
    lowest: float


@dataclass(frozen=True, slots=True)
class Carried:
    """What one part, or line, came nearest to breaking under, over all starts; `factor` as in `strength.py`."""

    name: str
    factor: Factor
    when: float
    high: float
    """Newtons at the most over all starts; `factor.force` is of the start as drawn."""

    @property
    def at_worst(self) -> Factor:
        """The factor over all starts."""
        row = self.factor
        return replace(row, force=self.high, factor=row.strength * row.kept / self.high) if self.high > 0 else row


@dataclass(frozen=True, slots=True)
class Broke:
    """What broke, in order, and when."""

    broken: Broken
    when: float


@dataclass(frozen=True, slots=True)
class Aside:
    """One start that lay a centimetre aside: what broke in it, and who fell."""

    broken: tuple[str, ...]
    falls: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ran:
    """A line that slipped: by what, how many metres, and how many there were (None: not told)."""

    by: str
    line: str
    metres: float
    room: float | None

    @property
    def out(self) -> bool:
        return self.room is not None and self.metres > self.room


@dataclass(frozen=True, slots=True)
class Motion:
    """What followed some failures in time, `until` so many seconds after.

    `told` is False where a line was too stiff to be followed (`stiff` names it), or what slips ran out: then its peaks
    are None. `aside`: what became of each start that lies aside (none: they weren't followed). `drift`: share of the
    energy that came or went by reckoning alone. `small`: parts that kept their weight and had no inertia.
    `falls`: who isn't held in the end."""

    failures: tuple[str, ...]
    told: bool
    stiff: str | None
    until: float
    lines: tuple[Peak, ...]
    bodies: tuple[Course, ...]
    parts: dict[str, tuple[float, float, float]]
    """For each part that carried more than before: newtons at the most, over all starts, and when."""
    weakest: tuple[Carried, ...]
    """What comes nearest to breaking, weakest first, as if nothing broke."""
    without: tuple[str, ...]
    """What carried load on the way and has no strength given."""
    broken: tuple[Broke, ...]
    strikes: tuple[Strike, ...]
    ran: tuple[Ran, ...]
    falls: tuple[str, ...]
    drift: float
    aside: tuple[Aside, ...]
    small: tuple[str, ...]
    end: Equilibrium = field(repr=False, compare=False)
    """The rest that the rig would come to as it is in the end."""
    way: Way = field(repr=False, compare=False)

    @property
    def moved(self) -> bool:
        return bool(self.bodies) or bool(self.broken)

    @property
    def perhaps(self) -> tuple[str, ...]:
        """Who falls in some start that lies aside, and not in the one as drawn."""
        return tuple(sorted({name for one in self.aside for name in one.falls} - {*self.falls}))

    def line(self, name: str) -> Peak:
        return next(one for one in self.lines if one.name == name)

    def body(self, name: str) -> Course | None:
        return next((one for one in self.bodies if one.name == name), None)


def motion(
    statics: Statics,
    failures: Iterable[str | Failure],
    base: Equilibrium | None = None,
    *,
    already: Effects | None = None,
    ground: Ground | None = None,
    starts: int = STARTS,
    breaking: bool = True,
    knots: Mapping[str, Retained] | None = None,
    raised: Equilibrium | None = None,
    until: float | None = None,
    ways: Ways | None = None,
) -> Motion:
    """What happens when `failures` happen together to the rig at rest (`base`, where it is known).

    `starts` a centimetre aside are followed as well; `breaking`: what is overloaded breaks on the way; `raised`:
    the places to start from, where somebody is let go from above; `until`: seconds, in place of the horizon
    of `followed.follow`; `ways`: how masses are taken. Raises KeyError for a failure that the rig has not.
    """
    names, effects = effects_of(statics, failures)
    before = already or Effects()
    base = base or statics.equilibrium(Case(before))
    return motion_of(
        statics, names, effects | before, base, ground=ground, starts=starts, breaking=breaking, knots=knots,
        raised=raised, until=until, ways=ways,
    )  # fmt: skip


def motion_of(
    statics: Statics,
    names: tuple[str, ...],
    effects: Effects,
    base: Equilibrium,
    *,
    ground: Ground | None = None,
    starts: int = STARTS,
    breaking: bool = True,
    knots: Mapping[str, Retained] | None = None,
    raised: Equilibrium | None = None,
    until: float | None = None,
    ways: Ways | None = None,
) -> Motion:
    """As `motion`, of effects: `names` are what they are called."""
    with one_thread():
        run = _Run(statics, names, effects, base, knots, breaking, raised, until, ways or Ways())
        return run.told(ground, starts)


@dataclass(slots=True)
class _Stretch:
    """A phase as one start went through it."""

    phase: Phase
    went: Followed[tuple[Factor, ...]] | None


class _Run:
    def __init__(
        self,
        statics: Statics,
        names: tuple[str, ...],
        effects: Effects,
        base: Equilibrium,
        knots: Mapping[str, Retained] | None,
        breaking: bool,
        raised: Equilibrium | None,
        until: float | None,
        ways: Ways,
    ) -> None:
        self.ways = ways
        self.statics = statics
        self.names = names
        self.effects = effects
        self.base = base
        self.knots = knots
        self.breaking = breaking
        self.raised = raised
        self.until = until

    # -- following

    def _judge(self, phase: Phase, moment: Moment) -> tuple[float, tuple[Factor, ...]]:
        """The largest share of a strength that anything carries at one moment, and all that is at that or over."""
        path = Path()
        path.add(moment, 0)
        _, told = carried_then(self.statics.rig, phase, path, 0, 1.0, self.knots)
        rows = [row for row in told.rows if row.factor < 2 and self._loses(phase.effects, row)]
        if not rows:
            return 0.0, ()
        return 1 / rows[0].factor, tuple(row for row in rows if row.factor <= rows[0].factor * (1 + TOGETHER))

    def _loses(self, effects: Effects, row: Factor) -> bool:
        return (effects | breaks(self.statics, row)) != effects

    def follow(self, starts: list[Going], until: float | None) -> tuple[list[list[_Stretch]], list[tuple[Broke, ...]]]:
        """Every start through all its phases."""
        stretches: list[list[_Stretch]] = [[] for _ in starts]
        broken: list[tuple[Broke, ...]] = [() for _ in starts]
        going = list(starts)
        ended = [self.effects for _ in starts]
        todo: list[tuple[Effects, Phase | None, tuple[int, ...]]] = [(self.effects, None, tuple(range(len(starts))))]
        while todo:
            effects, before, which = todo.pop(0)
            everything = self.raised is not None and before is None
            near = before.found if before else self.base
            phase = phase_of(self.statics, effects, near, [going[k] for k in which], before, everything, self.ways)
            if phase.small is None or not self._moves(phase, [going[k] for k in which]):
                for k in which:
                    stretches[k].append(_Stretch(phase, None))
                continue
            moment = moment_of(phase, [going[k] for k in which])
            limits = bounds(self.statics.rig, phase, self.knots) if self.breaking else None
            went = follow(
                phase.small.masses,
                moment,
                until=until,
                bounds=limits,
                judge=lambda _, now, phase=phase: self._judge(phase, now),  # type: ignore[misc]
                together=which[0] == 0,
            )
            after: dict[Effects, list[int]] = {}
            for k, one in zip(which, went, strict=True):
                stretches[k].append(_Stretch(phase, one))
                if one.why != "breaks" or not one.broken or len(broken[k]) >= LONGEST_CASCADE:
                    continue
                going[k] = gone_on(phase, going[k], one.path, one.end)
                lost = [(row, breaks(self.statics, row)) for row in one.broken]
                when = float(one.end.time[0])
                broken[k] += tuple(Broke(Broken(row.name, row, effects_), when) for row, effects_ in lost)
                ended[k] = Effects.joint([ended[k], *(effects_ for _, effects_ in lost)])
                after.setdefault(ended[k], []).append(k)
            todo += [(effects_, phase, tuple(ks)) for effects_, ks in after.items()]
        return stretches, broken

    def _moves(self, phase: Phase, starts: list[Going]) -> bool:
        """Is anything out of balance there?"""
        if any(start.speed or start.turning for start in starts):
            return True
        assert phase.small is not None
        moment = moment_of(phase, starts[:1])
        seen = moment.seen
        worst = max(float(np.abs(one).max(initial=0.0)) for one in (seen.pushes, seen.on_bodies, seen.twists))
        return worst > 1e-5 * phase.small.masses.load

    # -- telling

    def told(self, ground: Ground | None, starts: int) -> Motion:
        first = start_at(self.raised or self.base)
        going = [first, *self._aside(first, starts)]
        every, breaks_ = self.follow(going, self.until)
        (mine, *aside), (broken, *others) = every, breaks_
        end = max((float(s.went.end.time[0]) for s in mine if s.went), default=0.0)
        stiff = next((s for s in mine if s.went and s.went.why == "steps"), None)
        rig = self.statics.rig
        lines = self._lines(mine, aside, stiff is None)
        way = Way(tuple((s.phase, s.went.path) for s in mine if s.went))
        last = mine[-1].phase
        bodies = self._bodies(mine, aside, way)
        ran = _ran(mine)
        parts, weakest, without = self._parts(mine, lines) if stiff is None else ({}, (), ())
        if broken or any(others):
            whole = _Run(
                self.statics, self.names, self.effects, self.base, self.knots, False, self.raised, self.until, self.ways
            ).told(ground, 0)
            weakest = whole.weakest or weakest
        gains = [abs(s.went.gain) for s in mine if s.went]
        most = max([s.went.most_moving for s in mine if s.went], default=0.0)
        return Motion(
            failures=self.names,
            told=stiff is None and not any(one.out for one in ran),
            stiff=_stiffest(stiff.phase) if stiff else None,
            until=end,
            lines=lines,
            bodies=bodies,
            parts=parts,
            weakest=weakest,
            without=without,
            broken=broken,
            strikes=(*strikes(rig, way, ground), *landings(rig, way, ground, last.found.falls, self.base.at)),
            ran=ran,
            falls=last.found.falls,
            drift=sum(gains) / most if most > 0 else 0.0,
            aside=tuple(
                Aside(_names(one), stretches[-1].phase.found.falls)
                for one, stretches in zip(others, aside, strict=True)
            ),
            small=_small(mine),
            end=last.found,
            way=way,
        )

    def _aside(self, first: Going, count: int) -> list[Going]:
        """Starts with every mass a centimetre aside, each another way; what was tight stays as tight as it was
        (its line is longer or shorter by as much), what was slack has more or less of it."""
        phase = phase_of(self.statics, self.effects, self.base, [first], None, self.raised is not None, self.ways)
        small = phase.small
        if not count or small is None or not self._moves(phase, [first]):
            return []
        assembly = phase.assembly
        moment = moment_of(phase, [first])
        masses = small.masses
        heavy = [(names_at(assembly, n), k) for k, n in enumerate(small.points)]
        ways = _ways(count, [names[0] for names, _ in heavy] + [assembly.body_names[b] for b in small.bodies])
        found = []
        was = {line.name: line.tension for line in self.base.lines}
        for row in ways:
            start = replace(first, at=dict(first.at), turning=dict(first.turning), longer={})
            at = moment.seen.at[0].copy()
            for (names, k), off in zip(heavy, row, strict=False):
                at[k] += off
                start.at |= dict.fromkeys(names, as_point(at[k]))
            for k, body in enumerate(small.bodies):
                off = row[len(heavy) + k]
                mine = np.flatnonzero(masses.carrier == k) + masses.points + masses.light
                at[mine] += off
                centre, turn = phase.begin.centres[body] + off, phase.begin.turns[body]
                start.turning[assembly.body_names[body]] = (centre, turn, np.zeros(3), np.zeros(3))
            apart = at[masses.end] - at[masses.start]
            lengths = np.sqrt((apart**2).sum(axis=1) + masses.soft)
            more = np.add.reduceat(lengths, masses.first) - moment.seen.lines.total[0]
            for number, strand in enumerate(small.strands):
                names_ = [assembly.lines[line].name for line, _ in strand.lines]
                if all(was.get(name, 0.0) > 1.0 for name in names_):
                    start.longer[names_[0]] = float(more[number])
            found.append(start)
        return found

    def _lines(self, mine: list[_Stretch], aside: list[list[_Stretch]], told: bool) -> tuple[Peak, ...]:
        was = {line.name: line.tension for line in self.base.lines}
        first, moves = _peaks(mine)
        bands = [_peaks(one)[0] for one in aside]
        rows = []
        for name in dict.fromkeys([*(line.name for line in mine[0].phase.assembly.lines), *first]):
            before = was.get(name, 0.0)
            most, when = first.get(name, (before, 0.0))
            most = max(most, before)
            if name in moves and not told:
                rows.append(Peak(name, before, None, when, None, None))
                continue
            over = [max(one.get(name, (before, 0.0))[0], before) for one in bands]
            rows.append(Peak(name, before, most, when, min([most, *over]), max([most, *over])))
        return tuple(rows)

    def _bodies(self, mine: list[_Stretch], aside: list[list[_Stretch]], way: Way) -> tuple[Course, ...]:
        rows = []
        pulls = _pulls(mine)
        highs = [_pulls(one) for one in aside]
        for body in self.statics.rig.bodies:
            track = way.of(body.name)
            if track is None or body.name not in pulls:
                continue
            off = track - track[0]
            down, across = float(-off[:, 2].min()), float(np.hypot(off[:, 0], off[:, 1]).max())
            if max(float(np.abs(off).max()), down, across) < 1e-3:
                continue
            pull, when = pulls[body.name]
            high = max([pull, *(one.get(body.name, (0.0, 0.0))[0] for one in highs)])
            lowest = float(track[:, 2].min())
            rows.append(Course(body.name, max(down, 0.0), across, pull, when, high, lowest))
        return tuple(rows)

    def _parts(
        self, mine: list[_Stretch], lines: tuple[Peak, ...]
    ) -> tuple[dict[str, tuple[float, float, float]], tuple[Carried, ...], tuple[str, ...]]:
        """What each part carries at the looks at which lines, and the sums at places, are at their most."""
        rig = self.statics.rig
        ratio = {one.name: (one.high or 0.0) / one.most for one in lines if one.most}
        parts: dict[str, tuple[float, float, float]] = {}
        rows: dict[str, Carried] = {}
        without: set[str] = set()
        for one in mine:
            if one.went is None or one.phase.small is None:
                continue
            near = _ratios(one.phase, ratio)
            for k, more in _looks(one):
                path = one.went.path
                tension = one.phase.tension(path, k) * more
                then = as_pulled(one.phase.found, one.phase.state(path, k), tension)
                forces = part_forces(rig, then, tension, angles=False)
                for part in forces:
                    high = part.force * near.get(part.name, 1.0)
                    if part.force > parts.get(part.name, (0.0, 0.0, 0.0))[0]:
                        parts[part.name] = (part.force, high, path.times[k])
                told = factors(rig, then, tension, self.knots, forces)
                without |= {*told.without}
                for row in told.rows:
                    if row.name not in rows or row.factor < rows[row.name].factor.factor:
                        high = row.force * near.get(row.name, ratio.get(row.name, 1.0))
                        rows[row.name] = Carried(row.name, row, path.times[k], high)
        weakest = tuple(sorted(rows.values(), key=lambda row: (row.factor.factor, row.name)))
        return parts, weakest, tuple(sorted(without))


def _ways(count: int, names: list[str]) -> list[list[Array]]:
    """For each start and each mass a way to lie aside, by the mass's name: the same for everybody."""
    return [[ASIDE * _direction(f"{k} {name}") for name in names] for k in range(count)]


def _direction(seed: str) -> Array:
    """A unit vector out of a name."""
    digest = hashlib.blake2b(seed.encode(), digest_size=8).digest()
    a, b = (int.from_bytes(piece, "big") / 2**32 for piece in (digest[:4], digest[4:]))
    z, turn = 2 * a - 1, 2 * math.pi * b
    flat = math.sqrt(max(0.0, 1 - z * z))
    return np.array([flat * math.cos(turn), flat * math.sin(turn), z])


def _peaks(stretches: list[_Stretch]) -> tuple[dict[str, tuple[float, float]], set[str]]:
    """For each line the most it pulled and when, over all phases; and the lines that are followed in any."""
    found: dict[str, tuple[float, float]] = {}
    moves: set[str] = set()
    for one in stretches:
        small = one.phase.small
        if one.went is None or small is None:
            continue
        for line, strand in zip(one.phase.assembly.lines, small.of_line, strict=True):
            if strand == -2:
                continue
            moves.add(line.name)
            if strand >= 0 and one.went.peak[strand] > found.get(line.name, (-1.0, 0.0))[0]:
                found[line.name] = float(one.went.peak[strand]), float(one.went.when[strand])
    return found, moves


def _pulls(stretches: list[_Stretch]) -> dict[str, tuple[float, float]]:
    """For each body the most that its lines pulled on it together, and when."""
    found: dict[str, tuple[float, float]] = {}
    for one in stretches:
        small = one.phase.small
        if one.went is None or small is None:
            continue
        names = [names_at(one.phase.assembly, n) for n in small.points]
        bodies = [one.phase.assembly.body_names[body] for body in small.bodies]
        riders = [
            tuple(
                name
                for c, carrier in enumerate(one.phase.assembly.network.carrier)
                if carrier == body
                for name in names_at(one.phase.assembly, one.phase.assembly.network.free + c)
            )
            for body in small.bodies
        ]
        for k, group in enumerate([*names, *((name, *rode) for name, rode in zip(bodies, riders, strict=True))]):
            for name in group:
                if one.went.pull[k] > found.get(name, (-1.0, 0.0))[0]:
                    found[name] = float(one.went.pull[k]), float(one.went.pulled_when[k])
    return found


def _looks(one: _Stretch) -> list[tuple[int, float]]:
    """Looks at which some line, or what pulls at some place, is at its most; and by how much the top between two
    looks is more than at the look."""
    assert one.went is not None and one.phase.small is not None
    small, path = one.phase.small, one.went.path
    tension = np.array(path.tension)
    found: dict[int, float] = {0: 1.0} if not len(tension) else {}
    top = tension.argmax(axis=0)
    for line, k in enumerate(top):
        if tension[k, line] > 1.0:
            found[int(k)] = max(found.get(int(k), 1.0), float(one.went.peak[line] / tension[k, line]))
    touching = np.zeros((len(small.masses.fixed) + small.masses.moving, small.masses.lines))
    for s, line in enumerate(small.masses.line):
        touching[small.masses.start[s], line] += 1
        touching[small.masses.end[s], line] += 1
    sums = tension @ touching.T
    for k in sums.argmax(axis=0):
        found.setdefault(int(k), 1.0)
    return sorted(found.items())


def _ratios(phase: Phase, ratio: Mapping[str, float]) -> dict[str, float]:
    """By how much more each part may carry over the other starts than in the first: as its lines do at most."""
    found: dict[str, float] = {}
    for line in phase.assembly.lines:
        for n in line.path:
            for name in names_at(phase.assembly, n):
                found[name] = max(found.get(name, 1.0), ratio.get(line.name, 1.0))
        if line.part is not None:
            found[line.part] = ratio.get(line.name, 1.0)
    return found


def _ran(stretches: list[_Stretch]) -> tuple[Ran, ...]:
    found: dict[str, Ran] = {}
    for one in stretches:
        small = one.phase.small
        if one.went is None or small is None:
            continue
        for number, strand in enumerate(small.strands):
            slipped = float(one.went.end.held.slipped[0, number])
            if strand.slip and slipped > 1e-4:
                name = one.phase.assembly.lines[strand.slip.line].name
                found[name] = Ran(strand.slip.by, name, slipped, strand.slip.room)
    return tuple(found.values())


def _stiffest(phase: Phase) -> str:
    """The line that is hardest to follow."""
    small = phase.small
    assert small is not None
    strand = small.strands[int(np.argmin(small.masses.compliance))]
    return phase.assembly.lines[strand.lines[0][0]].name


def _small(stretches: list[_Stretch]) -> tuple[str, ...]:
    found: set[str] = set()
    for one in stretches:
        if one.went is not None and one.phase.small is not None:
            for n in one.phase.small.small:
                found |= {name for name in names_at(one.phase.assembly, n) if "|" not in name}
    return tuple(sorted(found))


def _names(broken: tuple[Broke, ...]) -> tuple[str, ...]:
    return tuple(one.broken.name for one in broken)
