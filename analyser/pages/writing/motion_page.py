"""What happens in time, in words: two lines for one failure, a table for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analyser.checking.overloaded import LEFT_OUT_IN_TIME, why_not_told
from analyser.checking.sentences import fall, in_few, listed, verb
from analyser.language.identities import spoken
from analyser.pages.tree import Block, Column, Fact, Section, Table, alarm, section, strong
from analyser.pages.writing.grouping import in_brief
from analyser.rig.figures import as_force, as_length, as_speed, force_number, units
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.motion import Course, Motion, Peak

LEAST = 0.01
"""Metres under which a body is said not to move."""


def in_time_section(motion: Motion, called: dict[str, str]) -> Section:
    """One failure in two lines: the drop and the pulls; what is struck, slips and breaks; then what the figures are
    worth. `called`: lines as one speaks of them."""
    rows = [Fact("in time", moving_words(motion, called))]
    if follows := follows_words(motion):
        rows.append(Fact("", alarm(follows) if motion.broken or motion.strikes else follows))
    return section("In time", [*rows, Fact("", in_time_words([motion]))])


def moving_words(motion: Motion, called: dict[str, str]) -> str:
    """`sam 1.20 m down and 0.41 m aside; backup up to 4.51 kN (4.42 to 4.60) after 0.71 s; followed for 1.7 s`."""
    if not motion.told:
        return f"not told: {why_not_told(motion)}"
    bodies = [body for body in motion.bodies if body.down >= LEAST or body.aside >= LEAST]
    if not bodies and not motion.broken:
        return "nothing moves by a centimetre"
    words = [_course(body) for body in sorted(bodies, key=lambda body: -body.down)]
    hardest = hardest_line(motion)
    if hardest is not None:
        words.append(f"{called.get(hardest.name, hardest.name)} {_pulled(hardest)}")
    pulled = max((body for body in motion.bodies), key=lambda body: body.pull, default=None)
    if pulled is not None:
        words.append(f"{as_force(pulled.pull)} on {pulled.name}")
    return f"{'; '.join(words)}; followed for {motion.until:.1f} s"


def _course(body: Course) -> str:
    aside = f" and {as_length(body.aside)} aside" if body.aside >= LEAST else ""
    return f"{body.name} {as_length(body.down)} down{aside}"


def hardest_line(motion: Motion) -> Peak | None:
    """The line whose pull grows most."""
    told = [one for one in motion.lines if one.most is not None and one.most > one.before * 1.05 + 1]
    return max(told, key=lambda one: (one.most or 0.0) - one.before, default=None)


def _pulled(one: Peak) -> str:
    return "peak not told" if one.most is None else pull_words(one.most, one.low, one.high, one.when)


def pull_words(most: float, low: float | None, high: float | None, when: float) -> str:
    """`up to 4.51 kN (4.42 to 4.60) after 0.71 s`."""
    least, greatest = (force_number(end or most) for end in (low, high))
    band = f" ({least} to {greatest})" if least != greatest else ""
    return f"up to {as_force(most)}{band} after {when:.2f} s"


def follows_words(motion: Motion) -> str:
    """What is struck, slips, breaks, in order; empty where nothing is."""
    told: list[tuple[float, str]] = []
    for hit in motion.strikes:
        towards = "the ground" if hit.struck.value == "ground" else hit.what
        how = "strikes" if hit.struck.value != "body" else "comes within half a metre of"
        told.append((hit.when, f"{hit.body} {how} {towards} at {as_speed(hit.speed)} after {hit.when:.2f} s"))
    for broke in motion.broken:
        row = broke.broken.factor
        told.append(
            (
                broke.when,
                f"{broke.broken.name} breaks at {as_force(row.strength * row.kept, '.3g')} after {broke.when:.2f} s",
            )
        )
    words = [text for _, text in sorted(told)]
    for ran in motion.ran:
        words.append(
            f"{as_length(ran.metres)} slips through {ran.by}"
            if ran.line != ran.by
            else f"{ran.by} tears {as_length(ran.metres)}"
        )
    if motion.falls and motion.broken:
        words.append(fall(motion.falls))
    others = [one for one in motion.aside if one.broken != tuple(b.broken.name for b in motion.broken)]
    if others:
        names = sorted({name for one in others for name in one.broken})
        what = f"{listed(names)} {verb(names, 'breaks', 'break')}" if names else "nothing breaks"
        words.append(f"from {len(others)} of {len(motion.aside)} starts a centimetre aside {what}")
    return "; ".join(words)


def motion_section(rig: Rig, after: Sequence[Aftermath], called: dict[str, str]) -> Section:
    """Every single failure that was followed: what moves how far, the hardest pull, what it strikes and breaks;
    failures that move alike together, the hardest pull first."""
    alike: dict[tuple[str, ...], list[str]] = {}
    pulls: dict[tuple[str, ...], float] = {}
    still: list[str] = []
    untold: dict[str, list[str]] = {}
    for one in after:
        motion, name = one.motion, "; ".join(map(spoken, one.failures))
        if motion is None:
            continue
        if not motion.told:
            untold.setdefault(why_not_told(motion), []).append(name)
            continue
        hardest = hardest_line(motion)
        bodies = sorted((b for b in motion.bodies if b.down >= LEAST or b.aside >= LEAST), key=lambda b: -b.down)
        if not bodies and hardest is None and not motion.broken:
            still.append(name)
            continue
        cells: tuple[str, ...] = (
            "; ".join(_course(body) for body in bodies[:3]) or "–",
            called.get(hardest.name, hardest.name) if hardest else "–",
            _band(hardest) if hardest else "–",
            f"{hardest.when:.2f} s" if hardest else "–",
            follows_words(motion),
        )
        alike.setdefault(cells, []).append(name)
        pulls[cells] = hardest.most or 0.0 if hardest else 0.0
    blocks: list[Block] = []
    if alike:
        heads = (
            Column("after"),
            Column("moves"),
            Column("hardest on"),
            Column(units().force, True),
            Column("at", True),
            Column(""),
        )
        order = sorted(alike, key=lambda row: (-pulls[row], row))
        blocks.append(Table(heads, tuple((strong(in_brief(rig, alike[row])), *row) for row in order)))
    if still:
        blocks.append(Fact("nothing", f"moves by a centimetre after {in_few(still, 5)}"))
    blocks += [Fact("not told", f"after {in_few(names, 5)}: {why}") for why, names in untold.items()]
    blocks.append(Fact("in time", in_time_words([one.motion for one in after if one.motion is not None])))
    return section("What happens in time, after every single failure", blocks)


def _band(one: Peak) -> str:
    if one.most is None:
        return "not told"
    low, high = (force_number(end or one.most) for end in (one.low, one.high))
    return force_number(one.most) + (f" ({low}-{high})" if low != high else "")


def in_time_words(motions: Sequence[Motion]) -> str:
    """How figures in time are got, what they are worth, and what is not in them."""
    starts = max((len(one.aside) for one in motions), default=0)
    drift = max((one.drift for one in motions if one.told), default=0.0)
    band = f"; in brackets over {starts} more starts, each mass a centimetre aside" if starts else ""
    small = sorted({name for one in motions for name in one.small})
    light = f" Small masses have weight here and no inertia: {in_few(small, 5)}." if small else ""
    return (
        f"followed from the rest before, nothing damped, until one second after the first catch or through the first "
        f"swing{band}. Energy came or went by {drift:.1%} at most.{light} Not in it: {', '.join(LEFT_OUT_IN_TIME)}"
    )
