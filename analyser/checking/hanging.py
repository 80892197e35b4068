"""How a litter hangs, and how long its legs must be for a wished attitude; what hauling on ropes gains."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyser.checking.calling import At, FactsMissing, refused
from analyser.checking.delivered import Delivered
from analyser.checking.sentences import listed
from analyser.forces import Missing, NoHaul, OutOfReach, Statics, advantage
from analyser.forces.assembling import Case
from analyser.forces.levelling import Hung, Wished, adjusted, ends_of, from_foot, hung, sweep, wished
from analyser.language.mistakes import did_you_mean
from analyser.rig.figures import as_length
from analyser.rig.model import Rig, Role

if TYPE_CHECKING:
    from analyser.forces import Advantage, Equilibrium

BOUNDS = (-3.0, 10.0)
"""Metres of line taken in and let out within which a wished attitude is looked for."""
STEPS = 24
"""Rows of a sweep after its first."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A wished attitude in degrees of head over feet: how it is reached (`hung`, with the lengths of the legs in
    metres), or the lowest and highest that let-out lengths reach."""

    head_up: float
    lengths: dict[str, float] | None = None
    hung: Hung | None = None
    lowest: float | None = None
    highest: float | None = None

    @property
    def reached(self) -> bool:
        return self.hung is not None


@dataclass(frozen=True, slots=True, repr=False)
class Attitude(Delivered):
    """How a litter hangs as written, with a wished attitude, and with `let_out` (lines) let out step by step."""

    SHAPE = "analyser.checking.force_shapes.AttitudeTold"

    at: At
    litter: str
    let_out: tuple[str, ...]
    as_written: Hung
    wish: Wished | OutOfReach | None
    sweep: tuple[Hung, ...]
    hands: bool = False
    """Is it told with what hands hold held?"""

    @property
    def rig(self) -> Rig:
        return self.at.rig

    @property
    def wished(self) -> Wish | None:
        """What was wished, where anything was."""
        if isinstance(self.wish, OutOfReach):
            return Wish(self.wish.wished, lowest=self.wish.lowest, highest=self.wish.highest)
        if self.wish is None:
            return None
        return Wish(self.wish.hung.head_up, dict(sorted(self.wish.lengths.items())), self.wish.hung)

    @property
    def taken(self) -> tuple[str, ...]:
        """What the file does not say and is taken so."""
        hands = {s.part for rope in self.rig.ropes for s in rope.stations if s.role is Role.HAND}
        held = f"held by the hands of {listed(sorted(hands))}" if self.hands and hands else ""
        return (*self.as_written.equilibrium.assumed, *([held] if held else []))

    @property
    def short(self) -> str:
        now = self.as_written.head_up
        return f"{self.litter} hangs with its head {now:.3g} deg up"


@dataclass(frozen=True, slots=True)
class RopeHauled:
    """One rope: what hauling on it gains, or why nothing is told."""

    rope: str
    told: Advantage | NoHaul

    @property
    def advantage(self) -> Advantage | None:
        return None if isinstance(self.told, NoHaul) else self.told

    @property
    def why(self) -> str | None:
        return self.told.why if isinstance(self.told, NoHaul) else None


@dataclass(frozen=True, slots=True, repr=False)
class Hauling(Delivered):
    """What hauling on some ropes gains; `at_rest` is the rig with them held."""

    SHAPE = "analyser.checking.force_shapes.Haul"

    at: At
    told: Mapping[str, Advantage | NoHaul]
    at_rest: Equilibrium

    @property
    def rig(self) -> Rig:
        return self.at.rig

    @property
    def ropes(self) -> tuple[RopeHauled, ...]:
        return tuple(RopeHauled(name, one) for name, one in sorted(self.told.items()))

    @property
    def short(self) -> str:
        told = [f"{one.rope} {one.advantage.ideal:.3g}:1" for one in self.ropes if one.advantage]
        return f"{', '.join(told) or 'nothing is told'}"


def statics_of(rig: Rig, along: Mapping[str, float], *, hands: bool = False) -> Statics:
    """The statics of a rig; `along` says how far from the foot end of their litter people's centres of mass lie,
    in metres. Raises `FactsMissing`, and `Refused` for somebody who lies in no litter, or would lie outside."""
    found = Statics.of(rig, hands=hands)
    if isinstance(found, Missing):
        raise FactsMissing(rig, found)
    if not along:
        return found
    moved: dict[str, float] = {}
    for name, metres in along.items():
        told = from_foot(rig, found.said, name, metres)
        if told is None:
            inside = [one for one in rig.parts if from_foot(rig, found.said, one, 0.0)]
            hint = did_you_mean(name, inside, f"in one: {', '.join(inside)}" if inside else "")
            raise refused(f"`{name}` lies in no litter with a head and a foot", hint)
        litter, by, length = told
        if not 0 <= metres <= length:
            far, long = as_length(metres, "g"), as_length(length, "g")
            text = f"{name} would lie outside {litter}, {far} from its foot: it is {long} long"
            raise refused(text, f"a number from 0 (at the foot) to {long} (at the head)")
        moved[name] = by
    shifted = Statics.of(rig, moved, hands=hands)
    if isinstance(shifted, Missing):
        raise FactsMissing(rig, shifted)
    return shifted


def attitude(
    at: At,
    litter: str,
    *,
    head_up: float | None = None,
    lines: Sequence[str] = (),
    reach: tuple[float, float] | None = None,
    along: Mapping[str, float] | None = None,
) -> Attitude:
    """How a litter hangs; with `head_up` (degrees), how long its legs must be for that; with `reach` (metres),
    how it hangs with so much let out, step by step. `lines` are what is let out: by default the legs at the
    foot end, or the tackle that they hang from. Raises `FactsMissing`, and `Refused` where no rest is found."""
    statics, case = _with_hands(at.rig, along or {})
    named = _lines(statics, litter, lines, case)
    named = named or adjusted(statics, litter, case)
    if not named and (head_up is not None or reach):
        raise refused(f"no leg is at the foot of {litter}", "name what is let out: --lines leg-3,leg-4")
    now = hung(statics, litter, (), 0.0, case)
    if litter in now.equilibrium.falls:
        raise refused(f"{litter} isn't held: nothing in the statics keeps it from falling")
    _accepted(now)
    wish = wished(statics, litter, named, head_up, case, BOUNDS) if head_up is not None else None
    if wish is not None and not isinstance(wish, OutOfReach):
        _accepted(wish.hung)
    table: Sequence[Hung] = ()
    if reach:
        first, last = reach
        shortest = min(now.equilibrium.line(name).rest for name in named)
        if shortest + first <= 0:
            raise refused(f"{named[0]} is {as_length(shortest)} long: {as_length(-first, 'g')} can't be taken in")
        table = sweep(statics, litter, named, [first + (last - first) * k / STEPS for k in range(STEPS + 1)], case)
        for one in table:
            _accepted(one)
    return Attitude(at, litter, tuple(named), now, wish, tuple(table), case.hands)


def _with_hands(rig: Rig, along: Mapping[str, float]) -> tuple[Statics, Case]:
    """The statics with what hands hold held, where the file says enough of them; else without."""
    if any(station.role is Role.HAND for rope in rig.ropes for station in rope.stations):
        try:
            return statics_of(rig, along, hands=True), Case(hands=True)
        except FactsMissing:
            pass
    return statics_of(rig, along), Case()


def _lines(statics: Statics, body: str, named: Sequence[str], case: Case) -> tuple[str, ...]:
    """The lines that are named; raises `Refused` for what is no litter or no line."""
    rig = statics.rig
    litters = [name for name in sorted(statics.said.shapes) if all(ends_of(rig, name))]
    if body not in litters:
        hint = did_you_mean(body, litters, f"there are: {', '.join(litters)}" if litters else "")
        raise refused(f"`{body}` is no litter with a head and a foot in use", hint)
    known = statics.equilibrium(case).lines
    found = []
    for name in named:
        mine = [one.name for one in known if name in (one.name, one.part)]
        mine = mine or [one.name for one in known if one.rope == name]
        if len(mine) != 1:
            names = [one.name for one in known]
            hint = f"name one of them: {', '.join(mine)}" if mine else did_you_mean(name, names, ", ".join(names))
            raise refused(f"`{name}` is {'several lines' if mine else 'no line of this rig'}", hint)
        found.append(mine[0])
    return tuple(found)


def _accepted(one: Hung) -> None:
    if not one.equilibrium.accepted:
        raise refused(
            f"no rest was found with {as_length(one.out)} let out: forces are off by {one.residual:.0e} of the load",
            "no figure counts then: look for a place or length that can't be",
        )


def haul(at: At, rope: str | None = None, along: Mapping[str, float] | None = None) -> Hauling:
    """What hauling on a rope gains (by default on each rope that hands hold), and what the hand pulls to raise,
    hold and lower. Raises `FactsMissing`, and `Refused` for what is no rope, or where nobody holds one."""
    rig = at.rig
    ropes = [one.name for one in rig.ropes if any(station.role is Role.HAND for station in one.stations)]
    if rope and rope not in (one.name for one in rig.ropes):
        hint = did_you_mean(rope, ropes, f"hauled by hand: {', '.join(ropes)}" if ropes else "")
        raise refused(f"there is no rope called `{rope}`", hint)
    if not rope and not ropes:
        raise refused("no rope of this rig is in anybody's hands", "write `held by NAME` where it is hauled")
    found = statics_of(rig, along or {}, hands=True)
    told = {name: advantage(found, name) for name in ([rope] if rope else ropes)}
    return Hauling(at, told, found.equilibrium())
