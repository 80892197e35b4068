"""What happens in time, in words: two lines for one failure, a table for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from analyser.checking.finding import in_few, listed, verb
from analyser.checking.overloaded import LEFT_OUT_IN_TIME, why_not_told
from analyser.pages.writing.grouping import in_brief
from analyser.pages.writing.terminal import hanging, heading
from analyser.rig.model import Rig

if TYPE_CHECKING:
    from analyser.forces.aftermath import Aftermath
    from analyser.forces.motion import Course, Motion, Peak

LEAST = 0.01
"""Metres under which a body is said not to move."""


def in_time_lines(motion: Motion, called: dict[str, str] | None = None) -> list[RenderableType]:
    """One failure in two lines: the drop and the pulls; what is struck, slips and breaks. `called`: lines as one
    speaks of them."""
    rows: list[RenderableType] = [hanging("in time", f"{moving_words(motion, called)}")]
    follows = follows_words(motion)
    if follows:
        rows.append(hanging("", Text(follows, style="bold red" if motion.broken or motion.strikes else "")))
    return rows


def moving_words(motion: Motion, called: dict[str, str] | None = None) -> str:
    """`sam 1.20 m down and 0.41 m aside; backup up to 4.51 kN (4.42 to 4.60) after 0.71 s; followed for 1.7 s`."""
    if not motion.told:
        return f"not told: {why_not_told(motion)}"
    bodies = [body for body in motion.bodies if body.down >= LEAST or body.aside >= LEAST]
    if not bodies and not motion.broken:
        return "nothing moves by a centimetre"
    words = [_course(body) for body in sorted(bodies, key=lambda body: -body.down)]
    hardest = hardest_line(motion)
    if hardest is not None:
        words.append(f"{(called or {}).get(hardest.name, hardest.name)} {pull_words(hardest)}")
    pulled = max((body for body in motion.bodies), key=lambda body: body.pull, default=None)
    if pulled is not None:
        words.append(f"{pulled.pull / 1000:.2f} kN on {pulled.name}")
    return f"{'; '.join(words)}; followed for {motion.until:.1f} s"


def _course(body: Course) -> str:
    aside = f" and {body.aside:.2f} m aside" if body.aside >= LEAST else ""
    return f"{body.name} {body.down:.2f} m down{aside}"


def hardest_line(motion: Motion) -> Peak | None:
    """The line whose pull grows most."""
    told = [one for one in motion.lines if one.most is not None and one.most > one.before * 1.05 + 1]
    return max(told, key=lambda one: (one.most or 0.0) - one.before, default=None)


def pull_words(one: Peak) -> str:
    """`up to 4.51 kN (4.42 to 4.60) after 0.71 s`."""
    if one.most is None:
        return "peak not told"
    low, high = (f"{(end or one.most) / 1000:.2f}" for end in (one.low, one.high))
    band = f" ({low} to {high})" if low != high else ""
    return f"up to {one.most / 1000:.2f} kN{band} after {one.when:.2f} s"


def follows_words(motion: Motion) -> str:
    """What is struck, slips, breaks, in order; empty where nothing is."""
    told: list[tuple[float, str]] = []
    for hit in motion.strikes:
        towards = "the ground" if hit.struck.value == "ground" else hit.what
        how = "strikes" if hit.struck.value != "body" else "comes within half a metre of"
        told.append((hit.when, f"{hit.body} {how} {towards} at {hit.speed:.1f} m/s after {hit.when:.2f} s"))
    for broke in motion.broken:
        row = broke.broken.factor
        told.append(
            (
                broke.when,
                f"{broke.broken.name} breaks at {row.strength * row.kept / 1000:.3g} kN after {broke.when:.2f} s",
            )
        )
    words = [text for _, text in sorted(told)]
    for ran in motion.ran:
        words.append(
            f"{ran.metres:.2f} m slips through {ran.by}" if ran.line != ran.by else f"{ran.by} tears {ran.metres:.2f} m"
        )
    if motion.falls and motion.broken:
        words.append(f"{listed(motion.falls)} {verb(motion.falls, 'falls', 'fall')}")
    others = [one for one in motion.aside if one.broken != tuple(b.broken.name for b in motion.broken)]
    if others:
        names = sorted({name for one in others for name in one.broken})
        what = f"{listed(names)} {verb(names, 'breaks', 'break')}" if names else "nothing breaks"
        words.append(f"from {len(others)} of {len(motion.aside)} starts a centimetre aside {what}")
    return "; ".join(words)


def motion_table(rig: Rig, after: Sequence[Aftermath], called: dict[str, str]) -> list[RenderableType]:
    """Every single failure that was followed: what moves how far, the hardest pull, what it strikes and breaks;
    failures that move alike together, the hardest pull first."""
    alike: dict[tuple[str, ...], list[str]] = {}
    pulls: dict[tuple[str, ...], float] = {}
    still: list[str] = []
    untold: dict[str, list[str]] = {}
    for one in after:
        motion, name = one.motion, "; ".join(one.failures)
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
    rows: list[RenderableType] = [heading("What happens in time, after every single failure")]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in ("  after", "moves", "hardest on", "kN", "at", ""):
        table.add_column(column, header_style="", justify="right" if column in ("kN", "at") else "left")
    for row in sorted(alike, key=lambda row: (-pulls[row], row)):
        table.add_row(Text(f"  {in_brief(rig, alike[row])}", style="bold"), *row)
    if alike:
        rows.append(table)
    if still:
        rows.append(hanging("nothing", f"moves by a centimetre after {in_few(still, 5)}"))
    rows += [hanging("not told", f"after {in_few(names, 5)}: {why}") for why, names in untold.items()]
    rows.append(hanging("in time", in_time_words([one.motion for one in after if one.motion is not None])))
    return rows


def _band(one: Peak) -> str:
    if one.most is None:
        return "not told"
    low, high = (f"{(end or one.most) / 1000:.2f}" for end in (one.low, one.high))
    return f"{one.most / 1000:.2f}" + (f" ({low}-{high})" if low != high else "")


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
